//! Runs that do not lie in the plane. In: a plane and a run. Out: the run laid across the fewest and
//! least important others, each crossing a vertex.

use super::*;

impl Planariser<'_> {
    /// Corners at which a pipe may leave this port: the half after which it comes, and what that
    /// says about the symbol.
    pub(super) fn slots(&self, plane: &Plane, end: End) -> Vec<(usize, Option<bool>)> {
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

    pub(super) fn insert(&self, plane: &mut Plane, r: usize) {
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
    pub(super) fn finish(
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
    pub(super) fn insert_loop(&self, plane: &mut Plane, r: usize) {
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
    pub(super) fn way(
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
    pub(super) fn improve(&self, plane: &mut Plane, first: &[usize]) {
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
