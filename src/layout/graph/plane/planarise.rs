//! As few crossings as may be. In: the core of a graph. Out: a [`Map`] in which every run lies,
//! with a vertex wherever two runs cross, and for each symbol whether it must be mirrored.
//!
//! A symbol with four or more pipes becomes a wheel whose rim holds its ports in order, so that a
//! planar embedding of the wheels is a drawing without crossings in which symbols may be mirrored.
//! Runs that do not fit are led across the fewest others.

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

    /// Corners at which a pipe may leave this port: the half after which it comes, and what that
    /// says about the symbol.
    fn slots(&self, plane: &Plane, end: End) -> Vec<(usize, Option<bool>)> {
        let s = end.symbol;
        let v = plane.vertex[s];
        let ring = plane.map.ring(v);
        let place = |h: usize| self.place[s][plane.map.port[h]];
        let me = self.place[s][end.port];
        let n = self.core.used[s].len().max(1);
        match ring.len() {
            0 => vec![(NONE, plane.sense[s])],
            1 => vec![(ring[0], plane.sense[s])],
            _ => {
                let mut out = Vec::new();
                for &h in &ring {
                    let (a, b) = (place(h), place(plane.map.cw[h]));
                    // Clockwise from a: do I come before b?
                    let forward = (me + n - a) % n < (b + n - a) % n;
                    let backward = (a + n - me) % n < (a + n - b) % n;
                    match plane.sense[s] {
                        Some(false) if forward => out.push((h, Some(false))),
                        Some(true) if backward => out.push((h, Some(true))),
                        None if forward => out.push((h, Some(false))),
                        None if backward => out.push((h, Some(true))),
                        _ => {}
                    }
                }
                out
            }
        }
    }

    fn insert(&self, plane: &mut Plane, r: usize) {
        let run = &self.core.runs[r];
        if run.from.symbol == run.to.symbol {
            self.insert_loop(plane, r);
            return;
        }
        plane.map.mark_faces();
        let (from, to) = (self.slots(plane, run.from), self.slots(plane, run.to));
        let map = &plane.map;
        let price = crossing_price(run.rank);
        let mut dist = vec![i64::MAX; map.faces];
        let mut back = vec![NONE; map.faces];
        let mut open = BinaryHeap::new();
        let face = |h: usize| if h == NONE { NONE } else { map.face[h] };
        for &(h, _) in &from {
            if h != NONE {
                dist[face(h)] = 0;
                open.push(Reverse((0, face(h))));
            }
        }
        let mut sides: Vec<Vec<usize>> = vec![Vec::new(); map.faces];
        for h in 0..map.org.len() {
            if map.alive(h / 2) && map.face[h] != NONE {
                sides[map.face[h]].push(h);
            }
        }
        while let Some(Reverse((d, f))) = open.pop() {
            if d > dist[f] {
                continue;
            }
            for &h in &sides[f] {
                let g = map.face[h ^ 1];
                let other = self.core.runs[map.run[h / 2]].rank;
                let d2 = d + price + crossing_price(other);
                if d2 < dist[g] {
                    dist[g] = d2;
                    back[g] = h;
                    open.push(Reverse((d2, g)));
                }
            }
        }
        let goal = to
            .iter()
            .filter(|t| t.0 != NONE && dist[face(t.0)] < i64::MAX)
            .min_by_key(|t| (dist[face(t.0)], t.0))
            .copied();
        let (start, across, goal) = match goal {
            Some(goal) => {
                let mut across = Vec::new();
                let mut f = face(goal.0);
                while back[f] != NONE {
                    across.push(back[f]);
                    f = map.face[back[f]];
                }
                across.reverse();
                let start =
                    from.iter().find(|s| s.0 != NONE && face(s.0) == f).copied().unwrap_or(from[0]);
                (start, across, goal)
            }
            // The two lie in different parts, or one has no pipe yet.
            None => (from[0], Vec::new(), to[0]),
        };
        let (u, v) = (plane.vertex[run.from.symbol], plane.vertex[run.to.symbol]);
        let first = plane.map.run.len();
        let e = plane.map.add_edge(r);
        plane.map.thread(e, (u, start.0), &across, (v, goal.0));
        self.finish(plane, r, first, start.1, goal.1);
    }

    /// Names the ports of a new edge's two ends and keeps what was learnt about the symbols.
    fn finish(
        &self,
        plane: &mut Plane,
        r: usize,
        first: usize,
        from: Option<bool>,
        to: Option<bool>,
    ) {
        let run = &self.core.runs[r];
        let (u, v) = (plane.vertex[run.from.symbol], plane.vertex[run.to.symbol]);
        for e in first..plane.map.run.len() {
            if plane.map.run[e] != r {
                continue;
            }
            if plane.map.org[2 * e] == u {
                plane.map.port[2 * e] = run.from.port;
            }
            if plane.map.org[2 * e + 1] == v {
                plane.map.port[2 * e + 1] = run.to.port;
            }
        }
        for (end, sense) in [(run.from, from), (run.to, to)] {
            if plane.map.ring(plane.vertex[end.symbol]).len() >= 3 {
                plane.sense[end.symbol] = sense;
            }
        }
        plane.map.mark_faces();
    }

    /// A run from a symbol to itself: both corners are at the same symbol.
    fn insert_loop(&self, plane: &mut Plane, r: usize) {
        let run = &self.core.runs[r];
        let v = plane.vertex[run.from.symbol];
        // First as two loose ends: put the start, then look for the way of the end round it.
        plane.map.mark_faces();
        let start = self.slots(plane, run.from)[0];
        let first = plane.map.run.len();
        let e = plane.map.add_edge(r);
        let tip = plane.map.add_vertex(NONE);
        plane.map.put(2 * e, v, start.0);
        plane.map.port[2 * e] = run.from.port;
        plane.map.put(2 * e + 1, tip, NONE);
        if plane.map.ring(v).len() >= 3 {
            plane.sense[run.from.symbol] = start.1;
        }
        plane.map.mark_faces();
        let goals = self.slots(plane, run.to);
        let (across, goal) = self.way(plane, plane.map.face[2 * e], &goals, run.rank);
        let m = plane.map.add_edge(r);
        plane.map.thread(m, (tip, 2 * e + 1), &across, (v, goal.0));
        // The tip is no crossing: one edge again.
        let ring = plane.map.ring(tip);
        if let [a, b] = ring[..] {
            let (a, b) = if a == 2 * e + 1 { (a, b) } else { (b, a) };
            plane.map.merge(tip, a, b);
        }
        let mut end_half = NONE;
        for k in first..plane.map.run.len() {
            if plane.map.run[k] == r && plane.map.org[2 * k + 1] == v && plane.map.alive(k) {
                end_half = 2 * k + 1;
            }
        }
        if end_half != NONE {
            plane.map.port[end_half] = run.to.port;
        }
        if plane.map.ring(v).len() >= 3 {
            plane.sense[run.from.symbol] = goal.1;
        }
        plane.map.mark_faces();
    }

    /// The cheapest way from a face to one of the corners.
    fn way(
        &self,
        plane: &Plane,
        from: usize,
        goals: &[(usize, Option<bool>)],
        rank: u8,
    ) -> (Vec<usize>, (usize, Option<bool>)) {
        let map = &plane.map;
        let mut dist = vec![i64::MAX; map.faces];
        let mut back = vec![NONE; map.faces];
        dist[from] = 0;
        let mut open = BinaryHeap::from([Reverse((0, from))]);
        while let Some(Reverse((d, f))) = open.pop() {
            if d > dist[f] {
                continue;
            }
            for h in 0..map.org.len() {
                if !map.alive(h / 2) || map.face[h] != f {
                    continue;
                }
                let g = map.face[h ^ 1];
                let other = self.core.runs[map.run[h / 2]].rank;
                let d2 = d + crossing_price(rank) + crossing_price(other);
                if d2 < dist[g] {
                    dist[g] = d2;
                    back[g] = h;
                    open.push(Reverse((d2, g)));
                }
            }
        }
        let goal = goals
            .iter()
            .filter(|t| t.0 != NONE && dist[map.face[t.0]] < i64::MAX)
            .min_by_key(|t| (dist[map.face[t.0]], t.0))
            .copied()
            .unwrap_or(goals[0]);
        let mut across = Vec::new();
        let mut f = map.face[goal.0];
        while back[f] != NONE {
            across.push(back[f]);
            f = map.face[back[f]];
        }
        across.reverse();
        (across, goal)
    }

    /// Takes each run that crosses others out and lays it anew, as long as that helps.
    fn improve(&self, plane: &mut Plane, first: &[usize]) {
        let mut price = self.price(plane);
        for _ in 0..4 {
            if price == 0 {
                return;
            }
            let mut todo: Vec<usize> = first.to_vec();
            let map = &plane.map;
            let mut crossed: Vec<usize> =
                map.crossings().flat_map(|c| map.ring(c)).map(|h| map.run[h / 2]).collect();
            crossed.sort_unstable();
            crossed.dedup();
            todo.retain(|r| crossed.contains(r));
            todo.extend(crossed.iter().filter(|r| !first.contains(r)));
            let mut better = false;
            for r in todo {
                let run = &self.core.runs[r];
                if run.from.symbol == run.to.symbol {
                    continue;
                }
                let mut other = plane.clone();
                other.map.pull(r);
                for end in [run.from, run.to] {
                    if other.map.ring(other.vertex[end.symbol]).len() < 3 {
                        other.sense[end.symbol] = (!self.reversible[end.symbol]).then_some(false);
                    }
                }
                self.insert(&mut other, r);
                let new = self.price(&other);
                if new < price {
                    price = new;
                    *plane = other;
                    better = true;
                }
            }
            if !better {
                return;
            }
        }
    }
}
