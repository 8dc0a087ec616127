//! What a line costs as it lies. In: the problem, a line as laid. Out: mm: its length, more where no
//! wall carries it or where it is in the way, its bends, humps, and the spaces its beads take.

use super::seats::{in_space, position};
use super::shape::{Block, Dir, V, length};
use super::{Chain, End, Fall, Laid, Problem};

/// What a bend is worth when two answers are weighed against each other, mm.
const BEND_WORTH: f64 = 400.0;
/// What it costs a line to turn from up to down or back, mm: air stays on top, dirt and water at the
/// bottom.
pub const HUMP: f64 = 400.0;
/// Price per mm of a run that no wall carries.
const UNCARRIED: f64 = 1.35;
/// The same of a level run across the room between these heights, mm: a lower one is stepped over,
/// under a higher one one goes (common practice, no source).
const BAR: f64 = 2.5;
/// The same below them, where a foot strikes it.
const TRIP: f64 = 1.6;
const STEP: f64 = 150.0;
const HEAD: f64 = 1900.0;
/// Price per mm that a line joins one that falls above that one's end.
const JOINING: f64 = 2.5;
/// Price per mm of a run in front of what pipes go round at the back: it could not be drawn out.
const IN_FRONT: f64 = 2.5;

impl Problem {
    /// What each mm of a line along `axis` there costs: what no wall carries costs more, and, where
    /// lines are laid for looks, a bar between those who come in and the back wall most.
    pub(super) fn rate(&self, at: V, axis: usize, looks: bool) -> f64 {
        let (low, high) = (at[2] - self.room.lo[2], self.room.hi[2] - at[2]);
        let off = |a: usize| (at[a] - self.room.lo[a]).min(self.room.hi[a] - at[a]);
        // Nothing is clipped to the door.
        let back = axis != 1 && at[1] - self.room.lo[1] <= self.near;
        if back || (axis != 0 && off(0) <= self.near) {
            return 1.0;
        }
        match looks && axis == 0 {
            true if low < STEP => TRIP,
            true if low < HEAD => BAR,
            _ if axis != 2 && low.min(high) <= self.near => 1.0,
            _ => UNCARRIED,
        }
    }

    /// Where a line costs more than its length, and what each mm costs besides: in the spaces to
    /// keep out of, in front of what is gone round at the back and, where lines are laid for looks,
    /// across the ways to what stands.
    pub(super) fn tolls(&self, looks: bool) -> Vec<(Block, f64)> {
        let front = self.front_of.map(|b| {
            let mut before = b;
            before.lo[1] = b.centre()[1];
            before.hi[1] = self.room.hi[1];
            (before, IN_FRONT)
        });
        let ways = self.ways.iter().filter(|_| looks);
        self.spaces.iter().chain(ways).copied().chain(front).collect()
    }
}

/// Length, bends and the spaces it and its beads take of a chain as laid, mm; `tolls` as the problem
/// has them.
pub fn cost(p: &Problem, tolls: &[(Block, f64)], chain: &Chain, laid: &Laid) -> f64 {
    if !laid.found {
        return 0.0;
    }
    let seated = chain.beads.iter().zip(&laid.beads);
    let spaces: f64 =
        seated.filter_map(|(bead, seat)| Some(in_space(p, bead, seat.as_ref()?))).sum();
    let runs: f64 = laid.points.windows(2).map(|w| run_cost(p, tolls, chain, w)).sum();
    let humps = HUMP * reversals(&laid.points) as f64;
    BEND_WORTH * laid.points.len().saturating_sub(2) as f64 + runs + spaces + humps
}

/// What it costs a line to join one that falls so far above that one's end, mm: it goes down beside
/// it rather than out to it and back.
pub fn joining(host: &Chain, line: &Laid, root: V) -> f64 {
    let Some(s) = position(&line.points, root) else { return 0.0 };
    match host.fall {
        Fall::Free => 0.0,
        Fall::Down => JOINING * (length(&line.points) - s),
        Fall::Up => JOINING * s,
    }
}

/// The same of a line as it lies.
pub fn joined(p: &Problem, c: usize, laid: &[Laid]) -> f64 {
    let ends = p.chains[c].ends.iter().zip([laid[c].points.first(), laid[c].points.last()]);
    let joins = ends.filter_map(|(end, at)| match (end, at) {
        (End::Branch { chain, .. }, Some(at)) if laid[c].found => {
            Some(joining(&p.chains[*chain], &laid[*chain], *at))
        }
        _ => None,
    });
    joins.sum()
}

/// True where a line passes between the door and what must be reached or seen.
pub fn is_in_the_way(p: &Problem, laid: &Laid) -> bool {
    let runs = || laid.points.windows(2).map(|w| Block::around(w[0], w[1]).grown(0.1));
    laid.found && p.ways.iter().any(|(way, _)| runs().any(|r| r.overlaps(way)))
}

/// How often a line turns from up to down or back.
pub fn reversals(points: &[V]) -> usize {
    let ways = points.windows(2).map(|w| w[1][2] - w[0][2]).filter(|d| d.abs() > 0.5);
    let ways: Vec<bool> = ways.map(|d| d > 0.0).collect();
    ways.windows(2).filter(|w| w[0] != w[1]).count()
}

/// What a straight costs with what it costs besides, mm.
fn run_cost(p: &Problem, tolls: &[(Block, f64)], chain: &Chain, ends: &[V]) -> f64 {
    let (a, b) = (ends[0], ends[1]);
    let Some(axis) = Dir::between(a, b).map(|d| d.axis()) else { return 0.0 };
    let run = Block::around(a, b);
    let long = run.size()[axis];
    let within = |t: &Block| {
        let beside = (0..3).all(|i| i == axis || (a[i] > t.lo[i] && a[i] < t.hi[i]));
        let shared = run.hi[axis].min(t.hi[axis]) - run.lo[axis].max(t.lo[axis]);
        if beside { shared.max(0.0) } else { 0.0 }
    };
    let tolls: f64 = tolls.iter().map(|(t, price)| price * within(t)).sum();
    long * p.rate(a, axis, chain.for_looks()) + tolls
}
