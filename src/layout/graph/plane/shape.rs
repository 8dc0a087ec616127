//! Which turns each pipe takes. In: a [`Plane`]. Out: a posture for each symbol, an outer face and
//! the quarter turns of every edge, with the fewest bends for those postures.
//!
//! For fixed postures this is a flow of least cost (after Tamassia, 1987): an edge from side a to
//! side b turns clockwise by t0 + 4k quarter turns, t0 given by the sides, and each k moves four
//! quarter turns between the faces on its two sides. Walking a face that lies on the right, turns
//! of edges and of corners sum to 4, and to -4 for the outer face. Postures are then searched one
//! symbol at a time.

use std::collections::VecDeque;

use super::core::Core;
use super::map::NONE;
use super::planarise::Plane;
use crate::layout::graph::{End, Graph, Placed, Pose, Side};

#[derive(Clone, Debug, Default)]
pub struct Shape {
    /// Per symbol.
    pub pose: Vec<Pose>,
    /// Per crossing vertex of the map: the side on which its first half leaves, as quarter turns.
    pub turned: Vec<usize>,
    pub outer: usize,
    /// Clockwise quarter turns along each edge of the map.
    pub turns: Vec<i64>,
    /// Weighted bends.
    pub cost: i64,
}

/// What a bend of a run costs.
pub fn bend_price(rank: u8) -> i64 {
    [115, 108, 100, 96, 92][usize::from(rank).min(4)]
}

pub struct Shaper<'a> {
    graph: &'a Graph,
    plane: &'a Plane,
    /// Postures open to each symbol.
    poses: Vec<Vec<Pose>>,
    /// Per edge: price of a bend.
    price: Vec<i64>,
    /// Per edge: faces to the right of its first and second half.
    faces: Vec<(usize, usize)>,
    edges: Vec<usize>,
    /// Edges at each vertex.
    at: Vec<Vec<usize>>,
    /// Halves by the face on their left, for stepping from face to face.
    steps: Vec<Vec<usize>>,
    /// Flows solved so far.
    pub flows: usize,
}

impl<'a> Shaper<'a> {
    /// The plane's faces must be marked.
    pub fn new(graph: &'a Graph, core: &'a Core, plane: &'a Plane) -> Shaper<'a> {
        let map = &plane.map;
        let edges: Vec<usize> = (0..map.run.len()).filter(|&e| map.alive(e)).collect();
        let poses = (0..graph.symbols.len())
            .map(|s| {
                let mut poses = Pose::allowed(graph.symbols[s].transforms);
                if core.used[s].len() >= 3
                    && let Some(reversed) = plane.sense[s]
                {
                    poses.retain(|p| p.reversed() == reversed);
                }
                if poses.is_empty() {
                    poses.push(Pose::default());
                }
                poses
            })
            .collect();
        let mut at = vec![Vec::new(); map.symbol.len()];
        let mut steps = vec![Vec::new(); map.faces];
        let mut price = vec![0; map.run.len()];
        let mut faces = vec![(NONE, NONE); map.run.len()];
        for &e in &edges {
            at[map.org[2 * e]].push(e);
            at[map.org[2 * e + 1]].push(e);
            price[e] = bend_price(core.runs[map.run[e]].rank);
            faces[e] = (map.face[2 * e], map.face[2 * e + 1]);
            steps[map.face[2 * e + 1]].push(2 * e);
            steps[map.face[2 * e]].push(2 * e + 1);
        }
        Shaper { graph, plane, poses, price, faces, edges, at, steps, flows: 0 }
    }

    /// Side on which a half leaves its vertex.
    pub fn side(&self, shape: &Shape, h: usize) -> Side {
        let map = &self.plane.map;
        let v = map.org[h];
        let s = map.symbol[v];
        if s == NONE {
            let first = map.some[v];
            let (mut k, mut at) = (0, first);
            while at != h && k < 4 {
                at = map.cw[at];
                k += 1;
            }
            return Side::from_quarter(shape.turned[v] + k);
        }
        let placed = Placed { pose: shape.pose[s], ..Placed::default() };
        let end = End { symbol: s, port: map.port[h] };
        self.graph.port(end, &placed).0
    }

    /// A first choice: each symbol in a posture that suits a neighbour that has one.
    pub fn start(&self) -> Shape {
        let map = &self.plane.map;
        let mut shape = Shape {
            pose: self.poses.iter().map(|p| p[0]).collect(),
            turned: vec![0; map.symbol.len()],
            outer: 0,
            turns: vec![0; map.run.len()],
            cost: i64::MAX,
        };
        let mut done = vec![false; map.symbol.len()];
        let mut order: Vec<usize> =
            (0..map.symbol.len()).filter(|&v| map.some[v] != NONE).collect();
        order.sort_by_key(|&v| {
            let s = map.symbol[v];
            if s == NONE {
                (usize::MAX, 0, v)
            } else {
                (self.poses[s].len(), usize::MAX - map.ring(v).len(), v)
            }
        });
        let mut queue = VecDeque::new();
        for v in order {
            queue.push_back(v);
            while let Some(v) = queue.pop_front() {
                if std::mem::replace(&mut done[v], true) {
                    continue;
                }
                self.suit(&mut shape, v, &done);
                for h in map.ring(v) {
                    queue.push_back(map.org[h ^ 1]);
                }
            }
        }
        shape
    }

    /// Sets the posture of one vertex to that with the fewest turns to its finished neighbours.
    fn suit(&self, shape: &mut Shape, v: usize, done: &[bool]) {
        let map = &self.plane.map;
        let mut best = (i64::MAX, 0);
        for k in 0..self.choices(v) {
            self.choose(shape, v, k);
            let cost: i64 = self.at[v]
                .iter()
                .filter(|&&e| done[map.org[2 * e]] && done[map.org[2 * e + 1]])
                .map(|&e| self.least_turn(shape, e).abs() * self.price[e])
                .sum();
            if cost < best.0 {
                best = (cost, k);
            }
        }
        self.choose(shape, v, best.1);
    }

    fn choices(&self, v: usize) -> usize {
        match self.plane.map.symbol[v] {
            NONE => 4,
            s => self.poses[s].len(),
        }
    }

    fn choose(&self, shape: &mut Shape, v: usize, k: usize) {
        match self.plane.map.symbol[v] {
            NONE => shape.turned[v] = k,
            s => shape.pose[s] = self.poses[s][k],
        }
    }

    fn chosen(&self, shape: &Shape, v: usize) -> usize {
        match self.plane.map.symbol[v] {
            NONE => shape.turned[v],
            s => self.poses[s].iter().position(|&p| p == shape.pose[s]).unwrap_or(0),
        }
    }

    /// Turns of an edge as the sides at its ends demand, taken into -1 to 2.
    fn least_turn(&self, shape: &Shape, e: usize) -> i64 {
        let a = self.side(shape, 2 * e).quarter() as i64;
        let b = self.side(shape, 2 * e + 1).quarter() as i64;
        let t = (b + 2 - a).rem_euclid(4);
        if t == 3 { -1 } else { t }
    }

    /// Solves the flow for the postures and outer face of `shape`.
    pub fn flow(&mut self, shape: &mut Shape) {
        self.flows += 1;
        let map = &self.plane.map;
        let mut need = vec![4i64; map.faces];
        if let Some(outer) = need.get_mut(shape.outer) {
            *outer = -4;
        }
        let mut side = vec![0i64; map.org.len()];
        for &e in &self.edges {
            for h in [2 * e, 2 * e + 1] {
                side[h] = self.side(shape, h).quarter() as i64;
            }
        }
        for &e in &self.edges {
            let t = (side[2 * e + 1] + 2 - side[2 * e]).rem_euclid(4);
            let t = if t == 3 { -1 } else { t };
            shape.turns[e] = t;
            need[self.faces[e].0] -= t;
            need[self.faces[e].1] += t;
            // The corner clockwise after each half belongs to the face on the half's right.
            for h in [2 * e, 2 * e + 1] {
                let next = map.cw[h];
                need[map.face[h]] -= 2 - self.angle(shape, &side, h, next);
            }
        }
        for n in &mut need {
            *n = n.div_euclid(4);
        }
        self.balance(shape, &mut need);
        shape.cost = self.edges.iter().map(|&e| shape.turns[e].abs() * self.price[e]).sum();
        if need.iter().any(|&n| n != 0) {
            shape.cost = i64::MAX;
        }
    }

    /// Quarter turns clockwise from one half to the next in the ring.
    fn angle(&self, shape: &Shape, side: &[i64], h: usize, next: usize) -> i64 {
        if h == next {
            return 4;
        }
        let a = (side[next] - side[h]).rem_euclid(4);
        if a != 0 {
            return a;
        }
        // Two ports of one side: nothing between them, or the whole way round.
        let map = &self.plane.map;
        let s = map.symbol[map.org[h]];
        if s == NONE {
            return 4;
        }
        let off = |h: usize| {
            let placed = Placed { pose: shape.pose[s], ..Placed::default() };
            let end = End { symbol: s, port: map.port[h] };
            let (side, at) = self.graph.port(end, &placed);
            match side {
                Side::N => at.x,
                Side::E => at.y,
                Side::S => -at.x,
                Side::W => -at.y,
            }
        };
        if off(next) > off(h) { 0 } else { 4 }
    }

    fn balance(&self, shape: &mut Shape, need: &mut [i64]) {
        let n = need.len();
        loop {
            // From faces that have too much to one that lacks, over the cheapest edges.
            let mut dist = vec![i64::MAX; n];
            let mut by = vec![NONE; n];
            let mut waiting = vec![false; n];
            let mut queue = VecDeque::new();
            for f in 0..n {
                if need[f] < 0 {
                    dist[f] = 0;
                    queue.push_back(f);
                    waiting[f] = true;
                }
            }
            if queue.is_empty() {
                return;
            }
            while let Some(f) = queue.pop_front() {
                waiting[f] = false;
                for &h in &self.steps[f] {
                    let e = h / 2;
                    let g = if h.is_multiple_of(2) { self.faces[e].0 } else { self.faces[e].1 };
                    let t = if h.is_multiple_of(2) { shape.turns[e] } else { -shape.turns[e] };
                    let d = dist[f] + ((t + 4).abs() - t.abs()) * self.price[e];
                    if g != f && d < dist[g] {
                        dist[g] = d;
                        by[g] = h;
                        if !waiting[g] {
                            waiting[g] = true;
                            queue.push_back(g);
                        }
                    }
                }
            }
            let Some(goal) =
                (0..n).filter(|&f| need[f] > 0 && dist[f] < i64::MAX).min_by_key(|&f| (dist[f], f))
            else {
                return;
            };
            let mut f = goal;
            need[goal] -= 1;
            while by[f] != NONE {
                let h = by[f];
                let e = h / 2;
                shape.turns[e] += if h.is_multiple_of(2) { 4 } else { -4 };
                f = if h.is_multiple_of(2) { self.faces[e].1 } else { self.faces[e].0 };
            }
            need[f] += 1;
        }
    }

    /// Tries outer faces (or takes the one that is given), then postures, as long as that saves bends or flows are left.
    pub fn search(&mut self, flows: usize, outer: Option<usize>) -> Shape {
        let map = &self.plane.map;
        let mut shape = self.start();
        let mut size = vec![0usize; map.faces];
        for &e in &self.edges {
            size[self.faces[e].0] += 1;
            size[self.faces[e].1] += 1;
        }
        let mut outers: Vec<usize> = (0..map.faces).collect();
        outers.sort_by_key(|&f| (std::cmp::Reverse(size[f]), f));
        outers.truncate(8);
        if let Some(outer) = outer {
            outers = vec![outer];
            shape.outer = outer;
        }
        self.flow(&mut shape);
        let mut best = shape.clone();
        for pass in 0..6 {
            let before = best.cost;
            for &f in &outers {
                if f == best.outer && pass > 0 {
                    continue;
                }
                shape.clone_from(&best);
                shape.outer = f;
                self.flow(&mut shape);
                if shape.cost < best.cost {
                    best.clone_from(&shape);
                }
            }
            for v in 0..map.symbol.len() {
                if map.some[v] == NONE || self.choices(v) < 2 || self.flows > flows {
                    continue;
                }
                let now = self.chosen(&best, v);
                for k in 0..self.choices(v) {
                    if k == now {
                        continue;
                    }
                    shape.clone_from(&best);
                    self.choose(&mut shape, v, k);
                    self.flow(&mut shape);
                    if shape.cost < best.cost {
                        best.clone_from(&shape);
                    }
                }
            }
            // Two neighbours at once.
            for i in 0..self.edges.len() {
                let e = self.edges[i];
                let (u, v) = (map.org[2 * e], map.org[2 * e + 1]);
                if best.turns[e] == 0 || u == v || self.flows > flows {
                    continue;
                }
                for j in 0..self.choices(u) {
                    for k in 0..self.choices(v) {
                        shape.clone_from(&best);
                        self.choose(&mut shape, u, j);
                        self.choose(&mut shape, v, k);
                        if self.least_turn(&shape, e) != 0 {
                            continue;
                        }
                        self.flow(&mut shape);
                        if shape.cost < best.cost {
                            best.clone_from(&shape);
                        }
                    }
                }
            }
            if best.cost >= before {
                break;
            }
        }
        best
    }
}
