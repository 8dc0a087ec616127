//! Shortest ways on the grid, and the negotiation between them. In: the grid. Out: one way for
//! each pipe, and the list of those that could not be had without breaking a rule.

use std::cmp::Reverse;
use std::collections::{BTreeMap, BinaryHeap};

use super::RouteOptions;
use super::grid::{BLOCKED, FREE, Grid};
use crate::layout::graph::measure::{merged, nets};
use crate::layout::graph::{Graph, Placed, Pt};

/// One pipe on its way: start and goal as states (node * 2 + direction), ports it may touch.
struct Job {
    from: (u32, usize),
    to: (u32, usize),
    net: usize,
    /// Percentage on bends and crossings.
    price: i64,
    path: Vec<u32>,
}

pub(super) struct Search {
    grid: Grid,
    o: RouteOptions,
    jobs: Vec<Option<Job>>,
    mates: BTreeMap<usize, Vec<usize>>,
    /// How many pipes run through a state, and how many run nearer to it than the pitch.
    exact: Vec<u16>,
    shadow: Vec<u16>,
    history: Vec<u32>,
    // Scratch of the search, valid where `stamp` is current.
    dist: Vec<i64>,
    back: Vec<u32>,
    stamp: Vec<u32>,
    now: u32,
    steps: u64,
}

/// How other pipes are looked upon.
#[derive(Clone, Copy, PartialEq)]
enum Others {
    /// They cost this much.
    Priced(i64),
    /// They are walls.
    Walls,
}

impl Search {
    pub fn new(graph: &Graph, grid: Grid, o: RouteOptions) -> Search {
        let nets = nets(graph);
        let n = grid.owner.len();
        let mut mates: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        let jobs: Vec<Option<Job>> = graph
            .pipes
            .iter()
            .enumerate()
            .map(|(i, p)| {
                if p.from == p.to {
                    return None;
                }
                mates.entry(nets[i]).or_default().push(i);
                Some(Job {
                    from: grid.ports[&p.from],
                    to: grid.ports[&p.to],
                    net: nets[i],
                    price: [120, 110, 100, 95, 90][usize::from(p.rank).min(4)],
                    path: Vec::new(),
                })
            })
            .collect();
        Search {
            grid,
            o,
            jobs,
            mates,
            exact: vec![0; n],
            shadow: vec![0; n],
            history: vec![0; n],
            dist: vec![0; n],
            back: vec![0; n],
            stamp: vec![0; n],
            now: 0,
            steps: 0,
        }
    }

    pub fn negotiate(&mut self) {
        let mut order: Vec<usize> =
            (0..self.jobs.len()).filter(|&i| self.jobs[i].is_some()).collect();
        order.sort_by_key(|&i| (self.apart(i), i));
        let mut pressure = self.o.bend / 4;
        for pass in 0..self.o.passes {
            let mut moved = false;
            for &i in &order {
                if pass > 0 && !self.in_conflict(i) {
                    continue;
                }
                if self.steps > self.o.steps {
                    break;
                }
                moved = true;
                self.reroute(i, Others::Priced(pressure.max(1)));
            }
            if !moved || self.steps > self.o.steps {
                break;
            }
            self.remember(&order);
            pressure = (pressure * 3 / 2 + 1).min(self.o.crossing * 8);
        }
        // The history has done its work; now each pipe takes the best way that is left.
        self.history.fill(0);
        for _ in 0..2 {
            if self.steps > self.o.steps {
                break;
            }
            let mut better = false;
            for &i in &order {
                better |= self.improve(i);
            }
            if !better {
                break;
            }
        }
    }

    /// Routes as points, and the pipes still at odds with others.
    pub fn finish(&mut self, graph: &Graph, placed: &[Placed]) -> (Vec<Vec<Pt>>, Vec<usize>) {
        let mut failed = Vec::new();
        let mut routes = Vec::new();
        for (i, pipe) in graph.pipes.iter().enumerate() {
            let (a, b) = (
                graph.port(pipe.from, &placed[pipe.from.symbol]).1,
                graph.port(pipe.to, &placed[pipe.to.symbol]).1,
            );
            if self.jobs[i].is_none() {
                routes.push(vec![a, a]);
                continue;
            }
            if self.job(i).path.is_empty() {
                failed.push(i);
                routes.push(vec![a, Pt::new(b.x, a.y), b]);
                continue;
            }
            if self.in_conflict(i) {
                failed.push(i);
            }
            let points: Vec<Pt> = self.job(i).path.iter().map(|&s| self.point(s)).collect();
            let mut route = merged(&points);
            if route.len() == 1 {
                route.push(route[0]);
            }
            routes.push(route);
        }
        (routes, failed)
    }

    fn job(&self, i: usize) -> &Job {
        self.jobs[i].as_ref().expect("asked for real pipes only")
    }

    fn point(&self, state: u32) -> Pt {
        let (i, j) = self.place(state as usize);
        Pt::new(self.grid.xs[i], self.grid.ys[j])
    }

    fn place(&self, state: usize) -> (usize, usize) {
        let node = state / 2;
        (node % self.grid.xs.len(), node / self.grid.xs.len())
    }

    fn apart(&self, i: usize) -> i64 {
        let job = self.job(i);
        let (a, b) = (self.point(job.from.1 as u32), self.point(job.to.1 as u32));
        (a.x - b.x).abs() + (a.y - b.y).abs()
    }

    /// Enters (+1) or takes out (-1) a pipe's use of the grid.
    fn occupy(&mut self, i: usize, sign: i32) {
        let path = std::mem::take(&mut self.jobs[i].as_mut().expect("real pipe").path);
        for &state in &path {
            let state = state as usize;
            self.exact[state] = self.exact[state].wrapping_add_signed(sign as i16);
            let (ci, cj) = self.place(state);
            let upright = state % 2 == 1;
            let lines = if upright { &self.grid.xs } else { &self.grid.ys };
            let c = if upright { ci } else { cj };
            let stride = if upright { 2 } else { 2 * self.grid.xs.len() };
            let mut k = c;
            while k > 0 && lines[c] - lines[k - 1] < self.o.pitch {
                k -= 1;
            }
            while k < lines.len() && lines[k] - lines[c] < self.o.pitch {
                let at = state + k * stride - c * stride;
                self.shadow[at] = self.shadow[at].wrapping_add_signed(sign as i16);
                k += 1;
            }
        }
        self.jobs[i].as_mut().expect("real pipe").path = path;
    }

    fn mates_of(&self, i: usize) -> Vec<usize> {
        let net = self.job(i).net;
        self.mates[&net].iter().copied().filter(|&k| k != i).collect()
    }

    /// The stub of a port is its own; neighbours closer than the pitch cannot be helped there.
    fn is_stub(&self, state: usize) -> bool {
        !matches!(self.grid.owner[state], FREE | BLOCKED)
    }

    fn in_conflict(&mut self, i: usize) -> bool {
        if self.job(i).path.is_empty() {
            return true;
        }
        self.lift_all(i, -1);
        let hit = self
            .job(i)
            .path
            .iter()
            .any(|&s| self.shadow[s as usize] > 0 && !self.is_stub(s as usize));
        self.lift_all(i, 1);
        hit
    }

    /// Takes the pipe and those of its net out of the way, or puts them back.
    fn lift_all(&mut self, i: usize, sign: i32) {
        self.occupy(i, sign);
        for k in self.mates_of(i) {
            self.occupy(k, sign);
        }
    }

    fn reroute(&mut self, i: usize, others: Others) {
        self.lift_all(i, -1);
        if let Some((path, _)) = self.find(i, others) {
            self.jobs[i].as_mut().expect("real pipe").path = path;
        }
        self.lift_all(i, 1);
    }

    /// Looks for a cheaper way that hurts nobody.
    fn improve(&mut self, i: usize) -> bool {
        self.lift_all(i, -1);
        let old = self.cost(i);
        let mut better = false;
        if let Some((path, new)) = self.find(i, Others::Walls)
            && new < old
        {
            self.jobs[i].as_mut().expect("real pipe").path = path;
            better = true;
        }
        self.lift_all(i, 1);
        better
    }

    fn remember(&mut self, order: &[usize]) {
        for &i in order {
            self.lift_all(i, -1);
            for k in 0..self.job(i).path.len() {
                let s = self.job(i).path[k] as usize;
                if self.shadow[s] > 0 && !self.is_stub(s) {
                    self.history[s] += 1;
                }
            }
            self.lift_all(i, 1);
        }
    }

    /// Cost of the present way, unbounded where it shares room. The pipe must be lifted.
    fn cost(&self, i: usize) -> i64 {
        let job = self.job(i);
        if job.path.is_empty() {
            return i64::MAX;
        }
        let mut sum = 0;
        for pair in job.path.windows(2) {
            let (a, b) = (pair[0] as usize, pair[1] as usize);
            match self.enter(b, job.price, Others::Walls) {
                Some(extra) => sum += extra,
                None => return i64::MAX,
            }
            sum += if a / 2 == b / 2 {
                self.o.bend * job.price / 100
            } else {
                let (p, q) = (self.point(a as u32), self.point(b as u32));
                (p.x - q.x).abs() + (p.y - q.y).abs()
            };
        }
        sum
    }

    /// Extra cost of using a state, or nothing where it cannot be used.
    fn enter(&self, state: usize, price: i64, others: Others) -> Option<i64> {
        let mut extra = i64::from(self.exact[state ^ 1]) * self.o.crossing * price / 100;
        let shared = i64::from(self.shadow[state]);
        match others {
            _ if self.is_stub(state) => {}
            Others::Walls if shared > 0 => return None,
            Others::Walls => {}
            Others::Priced(p) => {
                extra += shared * p + i64::from(self.history[state]) * self.o.bend / 4;
            }
        }
        Some(extra)
    }

    fn find(&mut self, i: usize, others: Others) -> Option<(Vec<u32>, i64)> {
        let (from, to, price) = {
            let job = self.job(i);
            (job.from, job.to, job.price)
        };
        let bend = self.o.bend * price / 100;
        self.now += 1;
        let now = self.now;
        let width = self.grid.xs.len();
        let goal = self.point(to.1 as u32);
        let goal_layer = to.1 % 2;
        let ahead = |grid: &Grid, state: usize| -> i64 {
            let (x, y) = (grid.xs[state / 2 % width], grid.ys[state / 2 / width]);
            let (dx, dy) = ((x - goal.x).abs(), (y - goal.y).abs());
            let turns = if state % 2 != goal_layer {
                1
            } else if (goal_layer == 0 && dy == 0) || (goal_layer == 1 && dx == 0) {
                0
            } else {
                2
            };
            dx + dy + turns * bend
        };
        let mut open = BinaryHeap::new();
        self.dist[from.1] = 0;
        self.stamp[from.1] = now;
        self.back[from.1] = u32::MAX;
        open.push(Reverse((ahead(&self.grid, from.1), 0i64, from.1 as u32)));
        while let Some(Reverse((_, g, state))) = open.pop() {
            let state = state as usize;
            if g > self.dist[state] {
                continue;
            }
            self.steps += 1;
            if state == to.1 {
                let mut path = vec![state as u32];
                let mut at = self.back[state];
                while at != u32::MAX {
                    path.push(at);
                    at = self.back[at as usize];
                }
                path.reverse();
                return Some((path, g));
            }
            let (ci, cj) = self.place(state);
            let upright = state % 2 == 1;
            let lines = if upright { &self.grid.ys } else { &self.grid.xs };
            let c = if upright { cj } else { ci };
            let stride = if upright { 2 * width } else { 2 };
            let mut next: [Option<(usize, i64)>; 3] = [None; 3];
            if c > 0 {
                next[0] = Some((state - stride, lines[c] - lines[c - 1]));
            }
            if c + 1 < lines.len() {
                next[1] = Some((state + stride, lines[c + 1] - lines[c]));
            }
            next[2] = Some((state ^ 1, bend));
            for (to_state, step) in next.into_iter().flatten() {
                let owner = self.grid.owner[to_state];
                if owner != FREE && owner != from.0 && owner != to.0 {
                    continue;
                }
                let bends = to_state ^ 1 == state;
                // A corner on another pipe would touch it.
                let Some(mut extra) = self.enter(to_state, price, others) else {
                    continue;
                };
                if bends {
                    // Both directions are in use at a corner; what was paid as a crossing on
                    // entering is paid again as sharing.
                    if others == Others::Walls && self.exact[to_state] > 0 {
                        continue;
                    }
                    extra = extra.max(0);
                }
                let g2 = g + step + extra;
                if self.stamp[to_state] != now || g2 < self.dist[to_state] {
                    self.stamp[to_state] = now;
                    self.dist[to_state] = g2;
                    self.back[to_state] = state as u32;
                    open.push(Reverse((g2 + ahead(&self.grid, to_state), g2, to_state as u32)));
                }
            }
        }
        None
    }
}
