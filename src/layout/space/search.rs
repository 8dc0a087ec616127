//! A* over (node, heading). In: sources and targets, each a node with a heading and a price
//! already paid. Out: the cheapest way between any of them.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

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
}

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
    stamp: u32,
    known: Vec<Known>,
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
}

impl Ahead {
    fn new(grid: &Grid, goal: &Block, bend: f32, weight: f32) -> Ahead {
        let mut out = Ahead { away: Default::default(), heading: Default::default(), bend };
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

    fn estimate(&self, at: [usize; 3], heading: Dir) -> f32 {
        let (mut away, mut axes, mut ahead) = (0.0, 0u32, 0u32);
        for (axis, i) in at.into_iter().enumerate() {
            away += self.away[axis][i];
            let wanted = self.heading[axis][i];
            axes += u32::from(wanted < 6);
            ahead |= u32::from(wanted == heading.0);
        }
        away + self.bend * (axes - ahead.min(axes)) as f32
    }
}

impl Search {
    pub fn run(
        &mut self,
        grid: &Grid,
        prices: &impl Prices,
        rules: &Rules,
        sources: &[Gate],
        targets: &[Gate],
    ) -> Option<Found> {
        let nodes = grid.nodes();
        if self.known.len() != nodes * 6 {
            self.known = vec![Known::default(); nodes * 6];
            self.target = vec![0; nodes];
            self.stamp = 0;
        }
        self.stamp += 2;
        let (stamp, settled) = (self.stamp, self.stamp + 1);
        self.open.clear();
        let points: Vec<_> = targets.iter().map(|t| grid.point(t.node)).collect();
        let goal = Block::holding(&points)?;
        for t in targets {
            self.target[t.node] = stamp;
        }
        let bend = rules.bend as f32;
        let ahead = Ahead::new(grid, &goal, bend, rules.weight as f32);
        for s in sources {
            let state = s.node * 6 + usize::from(s.heading.0);
            let k = &mut self.known[state];
            let cost = s.cost as f32;
            if k.stamp == stamp && k.cost <= cost {
                continue;
            }
            *k = Known { stamp, cost, from: START };
            self.open.push(key(cost + ahead.estimate(grid.index(s.node), s.heading), state));
        }
        let dims = grid.dims();
        let strides = grid.strides();
        let mut best: Option<(f32, usize, usize)> = None;
        let mut opened = 0;
        while let Some(Reverse(top)) = self.open.pop() {
            let state = (top & 0xffff_ffff) as usize;
            let Known { stamp: known, cost: g, from } = self.known[state];
            if known == settled {
                continue;
            }
            if best.is_some_and(|(c, ..)| u64::from((c * 16.0) as u32) <= top >> 32) {
                break;
            }
            self.known[state].stamp = settled;
            opened += 1;
            if opened > rules.states {
                break;
            }
            let (node, heading) = (state / 6, Dir((state % 6) as u8));
            let at = grid.index(node);
            // Two bends too close together: the fittings would not go in.
            let cramped = from != START && {
                let before = from as usize;
                let axis = heading.axis();
                let lines = &grid.lines[axis];
                before % 6 != state % 6 && {
                    let a = grid.index(before / 6)[axis];
                    (lines[a] - lines[at[axis]]).abs() < rules.run
                }
            };
            if self.target[node] == stamp {
                for (i, t) in targets.iter().enumerate() {
                    // The last bend may be where the target's straight begins.
                    let straight = t.heading == heading;
                    if t.node != node || t.heading == heading.opposite() || (cramped && !straight) {
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
                if cramped && way != heading {
                    continue;
                }
                let axis = way.axis();
                let up = way.sign() > 0.0;
                if (up && at[axis] + 1 >= dims[axis]) || (!up && at[axis] == 0) {
                    continue;
                }
                let next = if up { node + strides[axis] } else { node - strides[axis] };
                let to = next * 6 + usize::from(way.0);
                let known = self.known[to];
                if known.stamp == settled {
                    continue;
                }
                let lines = &grid.lines[axis];
                let (mut low, mut there) = (at, at);
                if up {
                    there[axis] += 1;
                } else {
                    low[axis] -= 1;
                    there[axis] -= 1;
                }
                let long = (lines[low[axis] + 1] - lines[low[axis]]) as f32;
                let Some(price) = prices.edge(axis, node.min(next), low, long) else {
                    continue;
                };
                let cost = g + price + if way == heading { 0.0 } else { bend };
                if known.stamp == stamp && known.cost <= cost {
                    continue;
                }
                self.known[to] = Known { stamp, cost, from: state as u32 };
                self.open.push(key(cost + ahead.estimate(there, way), to));
            }
        }
        let (cost, last, target) = best?;
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
            .min_by(|a, b| a.cost.total_cmp(&b.cost))?
            .tag;
        Some(Found { nodes, source, target: targets[target].tag, cost: f64::from(cost) })
    }
}
