//! A* over (node, heading). In: sources and targets, each a node with a heading and a price
//! already paid. Out: the cheapest way between any of them.

use std::cmp::Ordering;
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

/// What an edge costs; `None` where it may not be used.
pub trait Prices {
    fn edge(&self, axis: usize, lower: usize, length: f64) -> Option<f64>;
}

pub struct Rules {
    pub bend: f64,
    /// Bit i: may not head `Dir(i)`.
    pub forbidden: u8,
    /// Least straight length between two bends.
    pub run: f64,
    pub states: usize,
}

#[derive(Default)]
pub struct Search {
    stamp: u32,
    seen: Vec<u32>,
    closed: Vec<u32>,
    cost: Vec<f64>,
    from: Vec<u32>,
    target: Vec<u32>,
    open: BinaryHeap<Open>,
}

struct Open {
    estimate: f64,
    state: u32,
}

impl PartialEq for Open {
    fn eq(&self, o: &Open) -> bool {
        self.cmp(o) == Ordering::Equal
    }
}
impl Eq for Open {}
impl PartialOrd for Open {
    fn partial_cmp(&self, o: &Open) -> Option<Ordering> {
        Some(self.cmp(o))
    }
}
impl Ord for Open {
    fn cmp(&self, o: &Open) -> Ordering {
        o.estimate.total_cmp(&self.estimate).then(o.state.cmp(&self.state))
    }
}

const START: u32 = u32::MAX;

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
        if self.seen.len() != nodes * 6 {
            self.seen = vec![0; nodes * 6];
            self.closed = vec![0; nodes * 6];
            self.cost = vec![0.0; nodes * 6];
            self.from = vec![START; nodes * 6];
            self.target = vec![0; nodes];
            self.stamp = 0;
        }
        self.stamp += 1;
        let stamp = self.stamp;
        self.open.clear();
        let goal =
            targets.iter().map(|t| grid.point(t.node)).fold(None, |b: Option<Block>, p| {
                Some(match b {
                    None => Block::new(p, p),
                    Some(b) => {
                        let (a, c) = (Block::around(b.lo, p), Block::around(b.hi, p));
                        Block::new(
                            [0, 1, 2].map(|i| a.lo[i].min(c.lo[i])),
                            [0, 1, 2].map(|i| a.hi[i].max(c.hi[i])),
                        )
                    }
                })
            })?;
        for t in targets {
            self.target[t.node] = stamp;
        }
        let estimate = |node: usize, heading: Dir| -> f64 {
            let p = grid.point(node);
            let (mut away, mut axes, mut ahead) = (0.0, 0u32, false);
            for (i, c) in p.into_iter().enumerate() {
                let (below, above) = (goal.lo[i] - c, c - goal.hi[i]);
                if below > 1e-9 || above > 1e-9 {
                    away += below.max(above);
                    axes += 1;
                    ahead |= heading == Dir::of(i, below > 0.0);
                }
            }
            1.12 * away + rules.bend * f64::from(axes - u32::from(ahead).min(axes))
        };
        for s in sources {
            let state = s.node * 6 + usize::from(s.heading.0);
            if self.seen[state] == stamp && self.cost[state] <= s.cost {
                continue;
            }
            self.seen[state] = stamp;
            self.cost[state] = s.cost;
            self.from[state] = START;
            self.open
                .push(Open { estimate: s.cost + estimate(s.node, s.heading), state: state as u32 });
        }
        let dims = grid.dims();
        let strides = grid.strides();
        let mut best: Option<(f64, usize, usize)> = None;
        let mut opened = 0;
        while let Some(Open { estimate: f, state }) = self.open.pop() {
            let state = state as usize;
            if self.closed[state] == stamp {
                continue;
            }
            if best.is_some_and(|(c, ..)| c <= f) {
                break;
            }
            self.closed[state] = stamp;
            opened += 1;
            if opened > rules.states {
                break;
            }
            let (node, heading) = (state / 6, Dir((state % 6) as u8));
            let g = self.cost[state];
            // Two bends too close together: the fittings would not go in.
            let cramped = self.from[state] != START && {
                let before = self.from[state] as usize;
                let turned = before % 6 != state % 6;
                let a = grid.index(before / 6)[heading.axis()];
                let b = grid.index(node)[heading.axis()];
                let lines = &grid.lines[heading.axis()];
                turned && (lines[a] - lines[b]).abs() < rules.run
            };
            if self.target[node] == stamp {
                for (i, t) in targets.iter().enumerate() {
                    // The last bend may be where the target's straight begins.
                    let straight = t.heading == heading;
                    if t.node != node || t.heading == heading.opposite() || (cramped && !straight) {
                        continue;
                    }
                    let total = g + t.cost + if straight { 0.0 } else { rules.bend };
                    if best.is_none_or(|(c, ..)| total < c) {
                        best = Some((total, state, i));
                    }
                }
            }
            let at = grid.index(node);
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
                let lower = node.min(next);
                let lines = &grid.lines[axis];
                let i = if up { at[axis] } else { at[axis] - 1 };
                let Some(price) = prices.edge(axis, lower, lines[i + 1] - lines[i]) else {
                    continue;
                };
                let bend = if way == heading { 0.0 } else { rules.bend };
                let cost = g + price + bend;
                let to = next * 6 + usize::from(way.0);
                if self.closed[to] == stamp || (self.seen[to] == stamp && self.cost[to] <= cost) {
                    continue;
                }
                self.seen[to] = stamp;
                self.cost[to] = cost;
                self.from[to] = state as u32;
                self.open.push(Open { estimate: cost + estimate(next, way), state: to as u32 });
            }
        }
        let (cost, last, target) = best?;
        let mut nodes = vec![last / 6];
        let mut state = last;
        while self.from[state] != START {
            state = self.from[state] as usize;
            nodes.push(state / 6);
        }
        nodes.reverse();
        let first = state;
        let source = sources
            .iter()
            .filter(|s| s.node * 6 + usize::from(s.heading.0) == first)
            .min_by(|a, b| a.cost.total_cmp(&b.cost))?
            .tag;
        Some(Found { nodes, source, target: targets[target].tag, cost })
    }
}
