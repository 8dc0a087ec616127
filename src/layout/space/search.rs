//! A* over (node, heading). In: sources and targets, each a node with a heading and a price
//! already paid. Out: the cheapest way between any of them.

use std::cmp::Reverse;
use std::collections::{BTreeMap, BinaryHeap};

use super::grid::Grid;
use super::shape::{Block, Dir};

/// Where a way may start or end.
#[derive(Clone, Copy, Debug)]
pub struct Gate {
    pub node: usize,
    /// The way it goes there: away from a source, into a target.
    pub heading: Dir,
    pub cost: f64,
    /// Whatever the caller wants to know it by.
    pub tag: usize,
}

pub struct Found {
    /// From source to target.
    pub nodes: Vec<usize>,
    pub source: usize,
    pub target: usize,
    pub cost: f64,
}

/// What an edge costs, known by its lower node and where that is; `None` where it may not be used.
pub trait Prices {
    fn edge(&self, axis: usize, lower: usize, at: [usize; 3], length: f32) -> Option<f32>;
    /// What an edge costs at least, with nothing but the bodies in the room; and a number for all
    /// prices that agree on it.
    fn floor(&self, axis: usize, lower: usize, length: f32) -> Option<f32>;
    fn class(&self) -> usize;
}

pub struct Rules {
    pub bend: f64,
    /// Bit i: may not head `Dir(i)`.
    pub forbidden: u8,
    /// Least straight length between two bends.
    pub run: f64,
    pub states: usize,
    /// Of what is left to go: 1 finds the cheapest way, more finds a good one sooner.
    pub weight: f64,
    /// The same once the least cost round the bodies is known.
    pub hurry: f64,
}

/// States opened before it is asked whether the targets can be come to at all, and how far they are
/// round the bodies.
const DOUBT: usize = 5_000;

/// What is known of a state: a node with a heading.
#[derive(Clone, Copy, Default)]
struct Known {
    /// Twice the search's number, and one more once its price is settled.
    stamp: u32,
    cost: f32,
    from: u32,
}

#[derive(Default)]
pub struct Search {
    /// For a class of prices and a target: the way to it from each node round the bodies.
    far: BTreeMap<(usize, usize), Vec<f32>>,
    stamp: u32,
    known: Vec<Known>,
    /// Stamps of ends of straights, on the way back from the targets.
    back: Vec<u32>,
    target: Vec<u32>,
    /// Estimate in sixteenths of a mm above, state below: the smallest first, ties by state.
    open: BinaryHeap<Reverse<u64>>,
}

const START: u32 = u32::MAX;

fn key(estimate: f32, state: usize) -> Reverse<u64> {
    Reverse((u64::from((estimate * 16.0) as u32) << 32) | state as u64)
}

/// What is left to go at least: along each axis from each line, and the heading it asks for.
struct Ahead {
    away: [Vec<f32>; 3],
    heading: [Vec<u8>; 3],
    bend: f32,
    /// The least cost from each node round the bodies, where that is known.
    far: Vec<f32>,
    hurry: f32,
}

impl Ahead {
    fn new(grid: &Grid, goal: &Block, rules: &Rules) -> Ahead {
        let weight = rules.weight as f32;
        let mut out = Ahead {
            away: Default::default(),
            heading: Default::default(),
            bend: rules.bend as f32,
            far: Vec::new(),
            hurry: rules.hurry as f32,
        };
        for axis in 0..3 {
            for c in &grid.lines[axis] {
                let (below, above) = (goal.lo[axis] - c, c - goal.hi[axis]);
                let off = below.max(above);
                let there = off <= 1e-9;
                out.away[axis].push(if there { 0.0 } else { weight * off as f32 });
                out.heading[axis].push(if there { 6 } else { Dir::of(axis, below > 0.0).0 });
            }
        }
        out
    }

    fn estimate(&self, node: usize, at: [usize; 3], heading: Dir) -> f32 {
        let (mut away, mut axes, mut ahead) = (0.0, 0u32, 0u32);
        for (axis, i) in at.into_iter().enumerate() {
            away += self.away[axis][i];
            let wanted = self.heading[axis][i];
            axes += u32::from(wanted < 6);
            ahead |= u32::from(wanted == heading.0);
        }
        if let Some(far) = self.far.get(node) {
            away = self.hurry * far;
        }
        away + self.bend * (axes - ahead.min(axes)) as f32
    }
}

impl Search {
    /// A way, the cheapest or nearly so.
    pub fn run(
        &mut self,
        grid: &Grid,
        prices: &impl Prices,
        rules: &Rules,
        sources: &[Gate],
        targets: &[Gate],
    ) -> Option<Found> {
        let points: Vec<_> = targets.iter().map(|t| grid.point(t.node)).collect();
        let goal = Block::holding(&points)?;
        let mut ahead = Ahead::new(grid, &goal, rules);
        let known = match targets {
            [only] => (prices.class(), only.node),
            _ => (prices.class(), usize::MAX),
        };
        if let Some(far) = self.far.remove(&known) {
            ahead.far = far;
        } else {
            match self.search(grid, prices, rules, sources, targets, (&ahead, DOUBT)) {
                Ok(found) => return found,
                Err(()) if self.shut_in(grid, prices, rules, targets) => return None,
                Err(()) => ahead.far = distances(grid, prices, targets),
            }
        }
        let found = self.search(grid, prices, rules, sources, targets, (&ahead, rules.states));
        if known.1 != usize::MAX {
            self.far.insert(known, ahead.far);
        }
        found.ok().flatten()
    }

    /// `Err` where it opened as many states as it may.
    fn search(
        &mut self,
        grid: &Grid,
        prices: &impl Prices,
        rules: &Rules,
        sources: &[Gate],
        targets: &[Gate],
        (ahead, states): (&Ahead, usize),
    ) -> Result<Option<Found>, ()> {
        let nodes = grid.nodes();
        if self.known.len() != nodes * 6 {
            self.known = vec![Known::default(); nodes * 6];
            self.back = vec![0; nodes * 6];
            self.target = vec![0; nodes];
            self.stamp = 0;
        }
        self.stamp += 2;
        let (stamp, settled) = (self.stamp, self.stamp + 1);
        self.open.clear();
        for t in targets {
            self.target[t.node] = stamp;
        }
        let bend = rules.bend as f32;
        for s in sources {
            let state = s.node * 6 + usize::from(s.heading.0);
            let k = &mut self.known[state];
            let cost = s.cost as f32;
            if k.stamp == stamp && k.cost <= cost {
                continue;
            }
            *k = Known { stamp, cost, from: START };
            self.open
                .push(key(cost + ahead.estimate(s.node, grid.index(s.node), s.heading), state));
        }
        let mut best: Option<(f32, usize, usize)> = None;
        let mut opened = 0;
        while let Some(Reverse(top)) = self.open.pop() {
            let state = (top & 0xffff_ffff) as usize;
            let Known { stamp: known, cost: g, .. } = self.known[state];
            if known == settled {
                continue;
            }
            if best.is_some_and(|(c, ..)| u64::from((c * 16.0) as u32) <= top >> 32) {
                break;
            }
            self.known[state].stamp = settled;
            opened += 1;
            if opened > states {
                if best.is_none() {
                    return Err(());
                }
                break;
            }
            let (node, heading) = (state / 6, Dir((state % 6) as u8));
            let at = grid.index(node);
            if self.target[node] == stamp {
                for (i, t) in targets.iter().enumerate() {
                    // The last bend may be where the target's straight begins.
                    let straight = t.heading == heading;
                    if t.node != node || t.heading == heading.opposite() {
                        continue;
                    }
                    let total = g + t.cost as f32 + if straight { 0.0 } else { bend };
                    if best.is_none_or(|(c, ..)| total < c) {
                        best = Some((total, state, i));
                    }
                }
            }
            for way in Dir::ALL {
                if way == heading.opposite() || rules.forbidden >> way.0 & 1 == 1 {
                    continue;
                }
                let (axis, lines) = (way.axis(), &grid.lines[way.axis()]);
                // After a bend at once as far as the next fitting needs, or into the target.
                let least = if way == heading { 0.0 } else { rules.run };
                let (mut there, mut next) = (at, node);
                let mut cost = g + if way == heading { 0.0 } else { bend };
                let arrived = loop {
                    let Some(s) = grid.step(next, there, way) else { break false };
                    (next, there) = (s.next, s.there);
                    let Some(price) = prices.edge(axis, s.lower, s.low, s.length as f32) else {
                        break false;
                    };
                    cost += price;
                    if (lines[there[axis]] - lines[at[axis]]).abs() >= least {
                        break true;
                    }
                    let into = |t: &Gate| t.node == next && t.heading == way;
                    if self.target[next] == stamp && targets.iter().any(into) {
                        break true;
                    }
                };
                let to = next * 6 + usize::from(way.0);
                let known = self.known[to];
                if !arrived
                    || known.stamp == settled
                    || (known.stamp == stamp && known.cost <= cost)
                {
                    continue;
                }
                self.known[to] = Known { stamp, cost, from: state as u32 };
                self.open.push(key(cost + ahead.estimate(next, there, way), to));
            }
        }
        let Some((cost, last, target)) = best else { return Ok(None) };
        let mut nodes = vec![last / 6];
        let mut state = last;
        while self.known[state].from != START {
            state = self.known[state].from as usize;
            nodes.push(state / 6);
        }
        nodes.reverse();
        let first = state;
        let source = sources
            .iter()
            .filter(|s| s.node * 6 + usize::from(s.heading.0) == first)
            .min_by(|a, b| a.cost.total_cmp(&b.cost))
            .map_or(0, |s| s.tag);
        Ok(Some(Found { nodes, source, target: targets[target].tag, cost: f64::from(cost) }))
    }

    /// True where every target lies in a pocket that the search has not entered: it would open all
    /// the rest of the room for nothing. Goes backwards from bend to bend.
    fn shut_in(
        &mut self,
        grid: &Grid,
        prices: &impl Prices,
        rules: &Rules,
        targets: &[Gate],
    ) -> bool {
        let stamp = self.stamp;
        let entered = |known: &[Known], node: usize, way: Dir| {
            known[node * 6 + usize::from(way.0)].stamp.wrapping_sub(stamp) < 2
        };
        // Where a straight ends, how it is headed, and how long it must be at least.
        let mut open: Vec<(usize, Dir, f64)> = Vec::new();
        for t in targets {
            for way in Dir::ALL.into_iter().filter(|w| *w != t.heading.opposite()) {
                self.back[t.node * 6 + usize::from(way.0)] = stamp;
                open.push((t.node, way, if way == t.heading { 0.0 } else { rules.run }));
            }
        }
        while let Some((end, heading, least)) = open.pop() {
            if rules.forbidden >> heading.0 & 1 == 1 {
                continue;
            }
            let (axis, lines) = (heading.axis(), &grid.lines[heading.axis()]);
            let (mut node, mut at, from) = (end, grid.index(end), grid.index(end)[axis]);
            loop {
                if entered(&self.known, node, heading) {
                    return false;
                }
                if (lines[at[axis]] - lines[from]).abs() >= least {
                    for way in Dir::ALL.into_iter().filter(|w| w.axis() != axis) {
                        if entered(&self.known, node, way) {
                            return false;
                        }
                        if std::mem::replace(&mut self.back[node * 6 + usize::from(way.0)], stamp)
                            != stamp
                        {
                            open.push((node, way, rules.run));
                        }
                    }
                }
                let Some(s) = grid.step(node, at, heading.opposite()) else { break };
                if prices.edge(axis, s.lower, s.low, s.length as f32).is_none() {
                    break;
                }
                (node, at) = (s.next, s.there);
            }
        }
        true
    }
}

/// From every node the least cost to the nearest target round the bodies; infinite where shut off.
fn distances(grid: &Grid, prices: &impl Prices, targets: &[Gate]) -> Vec<f32> {
    let mut far = vec![f32::INFINITY; grid.nodes()];
    let mut open = BinaryHeap::new();
    for t in targets {
        far[t.node] = 0.0;
        open.push(key(0.0, t.node));
    }
    while let Some(Reverse(top)) = open.pop() {
        let node = (top & 0xffff_ffff) as usize;
        let so_far = far[node];
        if top >> 32 > u64::from((so_far * 16.0) as u32) {
            continue;
        }
        let at = grid.index(node);
        for way in Dir::ALL {
            let Some(s) = grid.step(node, at, way) else { continue };
            let floor = prices.floor(way.axis(), s.lower, s.length as f32);
            let Some(cost) = floor.map(|f| so_far + f).filter(|c| *c < far[s.next]) else {
                continue;
            };
            far[s.next] = cost;
            open.push(key(cost, s.next));
        }
    }
    far
}
