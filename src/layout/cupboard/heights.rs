//! The heights chain, solved before anything is hung. In: the relief outlet's height, the exit's.
//! Out: heights of tundish and group, and the slack of each link with its mend.
//!
//! Falls are drawn level on the right-angled grid; each link's `drop` holds the true fall, and an
//! exit's height is that of the hole.

use super::plan::HeightLink;

/// Clear straight below the tundish before any bend, mm (Approved Document G 3.56).
pub const STRAIGHT: f64 = 300.0;
/// Fall of the discharge, mm in mm (Approved Document G 3.56).
pub const FALL: f64 = 1.0 / 200.0;
/// Longest pipe from the valve to the tundish, mm (Approved Document G 3.54).
pub const FIRST_PIPE: f64 = 600.0;
/// From the end of the straight to the middle of the run after a bend, mm (common practice).
pub const BEND: f64 = 30.0;

#[derive(Clone, Copy, Debug)]
pub struct Chain {
    /// Outlet of the highest relief on the cylinder.
    pub outlet: f64,
    /// Inlet and outlet of the tundish.
    pub tundish_in: f64,
    pub tundish_out: f64,
    /// Middle of the horizontal run.
    pub run: f64,
    /// Hole in the wall.
    pub exit: f64,
    /// Horizontal length it falls along, mm.
    pub level: f64,
    /// Through the floor: the fall is free.
    pub through_floor: bool,
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
    Chain { outlet, tundish_in, tundish_out, run, exit: chosen, level, through_floor: false }
}

/// The chain as printed, top first; the run falls 1 in `one_in`.
pub fn links(c: &Chain, first_pipe: f64, group: Option<f64>, one_in: f64) -> Vec<HeightLink> {
    let fall = c.level / one_in;
    let mend = |slack: f64, how: &str| if slack < 0.0 { how.to_owned() } else { String::new() };
    let mut out = Vec::new();
    let mut link = |what: &str, says: String, z: f64, [drop, slack]: [f64; 2], how: &str| {
        let mend = mend(slack, how);
        out.push(HeightLink { what: what.to_owned(), z, drop, slack, says, mend });
    };
    let above = |z: f64| format!("{:.0} above the tundish inlet", z - c.tundish_in);
    if let Some(z) = group {
        let how = "raise the inlet group above the tundish";
        let drop = z - c.tundish_in;
        link("expansion relief outlet", above(z), z, [drop, drop], how);
    }
    let how = "bring the tundish nearer, or turn the cylinder";
    let drop = c.outlet - c.tundish_in;
    link("relief outlet", above(c.outlet), c.outlet, [drop, FIRST_PIPE - first_pipe], how);
    let how = "lower the tundish below the relief outlet";
    let own = c.tundish_in - c.tundish_out;
    let says = format!("the tundish is {own:.0} high");
    link("tundish inlet", says, c.tundish_in, [own, drop], how);
    let room = if c.through_floor {
        c.tundish_out - STRAIGHT
    } else {
        c.tundish_out - STRAIGHT - BEND - fall - c.exit
    };
    let how = "stand the cylinder on a plinth, shorten the first pipe, or leave by another wall";
    let says = format!("at least {STRAIGHT:.0} straight down, {room:.0} to spare below that");
    link("tundish outlet", says, c.tundish_out, [STRAIGHT, room], how);
    if c.through_floor {
        link("through the floor", String::new(), 0.0, [0.0, room], how);
    } else {
        let bend = c.tundish_out - STRAIGHT;
        let says = format!("the bend takes {BEND:.0}");
        link("lowest end of the least straight", says, bend, [BEND, room], how);
        let says = format!("falls {fall:.0} at 1 in {one_in:.0}");
        link("run, upper end", says, c.exit + fall, [fall, room], how);
        let how = "raise the exit above the floor";
        link("exit hole, centre", String::new(), c.exit, [0.0, c.exit], how);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 10 m at 1:200 drops 50 mm (Approved Document G 3.56).
    #[test]
    fn ten_metres_fall_fifty() {
        let c = solve(1600.0, false, 90.0, Some(200.0), 10_000.0);
        let links = links(&c, 300.0, None, 200.0);
        let run = links.iter().find(|l| l.what.starts_with("run")).unwrap();
        assert_eq!(run.drop, 50.0);
        assert!(links.iter().all(|l| l.slack >= 0.0));
    }

    /// A relief outlet at 700 mm can't give 90 + 300 and a bend above an exit at 450 mm.
    #[test]
    fn a_short_chain_says_so() {
        let c = solve(700.0, false, 90.0, Some(450.0), 600.0);
        let links = links(&c, 200.0, None, 200.0);
        assert!(links.iter().any(|l| l.slack < 0.0 && !l.mend.is_empty()));
    }
}
