//! As few crossings as may be. In: the core of a graph. Out: a [`Map`] in which every run lies,
//! with a vertex wherever two runs cross, and for each symbol whether it must be mirrored.
//!
//! A symbol with four or more pipes becomes a wheel whose rim holds its ports in order, so that a
//! planar embedding of the wheels is a drawing without crossings in which symbols may be mirrored.
//! Runs that do not fit are led across the fewest others.

mod insert;

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use super::core::Core;
use super::left_right::embed;
use super::map::{Map, NONE};
use crate::layout::graph::{End, Graph, Pose};

#[derive(Clone, Debug, Default)]
pub struct Plane {
    pub map: Map,
    /// Per symbol: mirrored or not, or either.
    pub sense: Vec<Option<bool>>,
    /// Vertex of each symbol that stands.
    pub vertex: Vec<usize>,
}

/// What it costs to cross a run.
pub fn crossing_price(rank: u8) -> i64 {
    [130, 115, 100, 90, 80][usize::from(rank).min(4)]
}

pub struct Planariser<'a> {
    graph: &'a Graph,
    core: &'a Core,
    /// Symbols that have a mirrored posture.
    reversible: Vec<bool>,
    /// Place of each port in the clockwise order of its symbol.
    place: Vec<Vec<usize>>,
}

impl<'a> Planariser<'a> {
    pub fn new(graph: &'a Graph, core: &'a Core) -> Planariser<'a> {
        let reversible = graph
            .symbols
            .iter()
            .map(|s| Pose::allowed(s.transforms).iter().any(|p| p.reversed()))
            .collect();
        let place = graph
            .symbols
            .iter()
            .enumerate()
            .map(|(s, symbol)| {
                let mut place = vec![NONE; symbol.ports.len()];
                for (n, &p) in core.used[s].iter().enumerate() {
                    place[p] = n;
                }
                place
            })
            .collect();
        Planariser { graph, core, reversible, place }
    }

    /// Lays the runs in the given order of importance.
    pub fn lay(&self, order: &[usize]) -> Plane {
        let (accepted, sense) = self.planar_part(order);
        let mut plane = self.build(&accepted, sense);
        let mut rest: Vec<usize> = order.to_vec();
        rest.retain(|r| !accepted.contains(r));
        for &run in &rest {
            self.insert(&mut plane, run);
        }
        self.improve(&mut plane, &rest);
        plane
    }

    /// Sum of the prices of all crossings.
    pub fn price(&self, plane: &Plane) -> i64 {
        let map = &plane.map;
        map.crossings()
            .map(|c| {
                let h = map.some[c];
                let a = self.core.runs[map.run[h / 2]].rank;
                let b = self.core.runs[map.run[map.cw[h] / 2]].rank;
                crossing_price(a) + crossing_price(b)
            })
            .sum()
    }

    /// The largest part found that needs no crossing, and how its symbols are mirrored.
    fn planar_part(&self, order: &[usize]) -> (Vec<usize>, Vec<Option<bool>>) {
        if let Some((sense, wrong)) = self.try_embed(order)
            && wrong.is_empty()
        {
            return (order.to_vec(), sense);
        }
        // A spanning forest first: that always fits.
        let mut part: Vec<usize> = (0..self.graph.symbols.len()).collect();
        fn root(part: &mut [usize], mut v: usize) -> usize {
            while part[v] != v {
                part[v] = part[part[v]];
                v = part[v];
            }
            v
        }
        let mut accepted = Vec::new();
        let mut rest = Vec::new();
        for &r in order {
            let run = &self.core.runs[r];
            let (a, b) = (root(&mut part, run.from.symbol), root(&mut part, run.to.symbol));
            if a == b {
                rest.push(r);
            } else {
                part[a] = b;
                accepted.push(r);
            }
        }
        let mut sense = match self.try_embed(&accepted) {
            Some((sense, wrong)) if wrong.is_empty() => sense,
            _ => vec![Some(false); self.graph.symbols.len()],
        };
        // Whole handfuls at a time, halved where they do not fit.
        let mut stack: Vec<Vec<usize>> = Vec::new();
        if !rest.is_empty() {
            stack.push(rest);
        }
        let mut tries = 0;
        while let Some(some) = stack.pop() {
            tries += 1;
            if tries > 400 {
                break;
            }
            let mut with = accepted.clone();
            with.extend(&some);
            match self.try_embed(&with) {
                Some((s, wrong)) if wrong.is_empty() => {
                    sense = s;
                    accepted = with;
                }
                _ if some.len() > 1 => {
                    let (a, b) = some.split_at(some.len() / 2);
                    stack.push(b.to_vec());
                    stack.push(a.to_vec());
                }
                _ => {}
            }
        }
        (accepted, sense)
    }

    /// Embeds these runs; also names the symbols that would stand mirrored and must not.
    fn try_embed(&self, runs: &[usize]) -> Option<(Vec<Option<bool>>, Vec<usize>)> {
        let n = self.graph.symbols.len();
        let mut used: Vec<Vec<usize>> = vec![Vec::new(); n];
        for &r in runs {
            for end in [self.core.runs[r].from, self.core.runs[r].to] {
                used[end.symbol].push(self.place[end.symbol][end.port]);
            }
        }
        let mut vertices = n;
        let mut edges: Vec<(usize, usize)> = Vec::new();
        // Rim vertices of each wheel, by place of the port.
        let mut rim: Vec<Vec<usize>> = vec![Vec::new(); n];
        let mut spokes = vec![NONE; n];
        for s in 0..n {
            used[s].sort_unstable();
            used[s].dedup();
            if used[s].len() < 4 {
                continue;
            }
            spokes[s] = edges.len();
            rim[s] = vec![NONE; self.core.used[s].len()];
            for &place in &used[s] {
                rim[s][place] = vertices;
                edges.push((s, vertices));
                vertices += 1;
            }
            for (k, &place) in used[s].iter().enumerate() {
                let next = used[s][(k + 1) % used[s].len()];
                edges.push((rim[s][place], rim[s][next]));
            }
        }
        let mut first_half = vec![NONE; self.core.runs.len()];
        for &r in runs {
            let run = &self.core.runs[r];
            let at = |end: End| {
                if rim[end.symbol].is_empty() {
                    end.symbol
                } else {
                    rim[end.symbol][self.place[end.symbol][end.port]]
                }
            };
            let (a, b) = (at(run.from), at(run.to));
            if a == b {
                // A loop at a plain symbol goes round nothing; it is laid later.
                return None;
            }
            first_half[r] = edges.len();
            edges.push((a, vertices));
            edges.push((vertices, b));
            vertices += 1;
        }
        let rings = embed(vertices, &edges)?;
        // Port places round each symbol that has a sense, in the order of the embedding.
        let mut port_of = vec![NONE; edges.len()];
        for &r in runs {
            let run = &self.core.runs[r];
            port_of[first_half[r]] = self.place[run.from.symbol][run.from.port];
            port_of[first_half[r] + 1] = self.place[run.to.symbol][run.to.port];
        }
        let mut sense: Vec<Option<bool>> = vec![None; n];
        for s in 0..n {
            if used[s].len() < 3 {
                continue;
            }
            let ring: Vec<usize> = if spokes[s] == NONE {
                rings[s].iter().map(|&e| port_of[e]).collect()
            } else {
                rings[s].iter().map(|&e| used[s][e - spokes[s]]).collect()
            };
            let Some(zero) = ring.iter().position(|&p| p == used[s][0]) else {
                continue;
            };
            sense[s] = Some(ring[(zero + 1) % ring.len()] != used[s][1]);
        }
        // Whatever hangs by a single run may be turned over as a whole.
        let part = self.parts_without_bridges(runs);
        let mut cost = vec![[0i64; 2]; n];
        for s in 0..n {
            if let Some(reversed) = sense[s] {
                let price = if self.reversible[s] { 1 } else { 1000 };
                cost[part[s]][usize::from(!reversed)] += price;
            }
        }
        let mut wrong = Vec::new();
        for s in 0..n {
            if let Some(reversed) = sense[s] {
                let c = cost[part[s]];
                let now = if c[1] < c[0] { !reversed } else { reversed };
                sense[s] = Some(now);
                if now && !self.reversible[s] {
                    wrong.push(s);
                }
            }
        }
        Some((sense, wrong))
    }

    /// For each symbol a name of the part in which it is held by more than single runs.
    fn parts_without_bridges(&self, runs: &[usize]) -> Vec<usize> {
        let n = self.graph.symbols.len();
        let mut at: Vec<Vec<(usize, usize)>> = vec![Vec::new(); n];
        for &r in runs {
            let run = &self.core.runs[r];
            at[run.from.symbol].push((run.to.symbol, r));
            at[run.to.symbol].push((run.from.symbol, r));
        }
        let (mut order, mut low) = (vec![NONE; n], vec![NONE; n]);
        let mut part = vec![NONE; n];
        let mut count = 0;
        for root in 0..n {
            if order[root] != NONE {
                continue;
            }
            let mut path = vec![(root, NONE, 0usize)];
            let mut open = vec![root];
            order[root] = count;
            low[root] = count;
            count += 1;
            while let Some(top) = path.last_mut() {
                let (v, by, next) = *top;
                if let Some(&(w, r)) = at[v].get(next) {
                    top.2 += 1;
                    if r == by {
                        continue;
                    }
                    if order[w] == NONE {
                        order[w] = count;
                        low[w] = count;
                        count += 1;
                        open.push(w);
                        path.push((w, r, 0));
                    } else {
                        low[v] = low[v].min(order[w]);
                    }
                    continue;
                }
                path.pop();
                if let Some(&(u, _, _)) = path.last() {
                    low[u] = low[u].min(low[v]);
                }
                if low[v] == order[v] {
                    while let Some(w) = open.pop() {
                        part[w] = v;
                        if w == v {
                            break;
                        }
                    }
                }
            }
        }
        part
    }

    fn build(&self, runs: &[usize], sense: Vec<Option<bool>>) -> Plane {
        let n = self.graph.symbols.len();
        let mut plane = Plane { map: Map::default(), sense, vertex: vec![NONE; n] };
        for s in 0..n {
            if self.core.stands[s] {
                plane.vertex[s] = plane.map.add_vertex(s);
            }
        }
        let mut halves: Vec<Vec<(usize, usize)>> = vec![Vec::new(); n];
        for &r in runs {
            let run = &self.core.runs[r];
            let e = plane.map.add_edge(r);
            for (h, end) in [(2 * e, run.from), (2 * e + 1, run.to)] {
                plane.map.port[h] = end.port;
                halves[end.symbol].push((self.place[end.symbol][end.port], h));
            }
        }
        for s in 0..n {
            halves[s].sort_unstable();
            if plane.sense[s] == Some(true) {
                halves[s].reverse();
            }
            let mut last = NONE;
            for &(_, h) in &halves[s] {
                plane.map.put(h, plane.vertex[s], last);
                last = h;
            }
            if halves[s].len() < 3 {
                plane.sense[s] = (!self.reversible[s]).then_some(false);
            }
        }
        plane.map.mark_faces();
        plane
    }
}
