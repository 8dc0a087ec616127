//! The heights chain, solved before anything is hung. In: the relief outlet's height, the exit's.
//! Out: heights of tundish and run. What was laid is told by `levels`.

use crate::catalogue::limits;
use crate::model::System;

/// Clear straight below the tundish before any bend, mm (Approved Document G 3.56).
pub const STRAIGHT: f64 = 300.0;
/// Fall of the discharge, mm in mm (Approved Document G 3.56).
pub const FALL: f64 = 1.0 / 200.0;
/// From the relief down to the tundish, at least: two elbows with their straights, mm (common
/// practice).
pub const ELBOWS: f64 = 110.0;
/// From the end of the straight to the middle of the run after a bend, mm (common practice).
pub const BEND: f64 = 30.0;

/// Longest pipe from the valve to the tundish by the rules in force, mm.
pub fn first_pipe(sys: &System) -> f64 {
    limits::find(&sys.rules, "DIS01.length").value
}

#[derive(Clone, Copy, Debug)]
pub struct Chain {
    /// Inlet and outlet of the tundish.
    pub tundish_in: f64,
    pub tundish_out: f64,
    /// Middle of the horizontal run.
    pub run: f64,
    /// Hole in the wall.
    pub exit: f64,
    /// Horizontal length it falls along, mm.
    pub level: f64,
}

/// Heights that suit: the tundish as near below the outlet as its pipe allows.
pub fn solve(outlet: f64, joins: bool, tundish: f64, exit: Option<f64>, level: f64) -> Chain {
    // Elbow, a tee where the expansion relief joins, elbow.
    let first = if joins { 170.0 } else { 150.0 };
    let lowest_in = exit.map_or(0.0, |e| e + level * FALL + BEND + STRAIGHT + tundish);
    let wanted = ((outlet - first) / 10.0).floor() * 10.0;
    let tundish_in = wanted.max(lowest_in.min(outlet - 60.0)).max(tundish + STRAIGHT + BEND + 60.0);
    let tundish_out = tundish_in - tundish;
    let run = tundish_out - STRAIGHT - BEND;
    let own = ((run - level * FALL - 20.0) / 10.0).floor() * 10.0;
    let chosen = exit.unwrap_or(own.max(60.0));
    Chain { tundish_in, tundish_out, run, exit: chosen, level }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Straight and bend fit between tundish and exit wherever the relief is high enough
    /// (Approved Document G 3.56).
    #[test]
    fn the_drop_has_its_room() {
        let c = solve(1600.0, false, 90.0, Some(200.0), 1000.0);
        assert!(c.tundish_out - STRAIGHT - BEND - c.level * FALL >= c.exit);
    }
}
