//! Lays one chain among the others. In: the grid, the field with the others' prices marked, the
//! chains of its net that are already laid. Out: its corners and seats for its beads.

use super::berths::{self, Berths};
use super::cost::{self, HUMP, reversals};
use super::field::Field;
use super::grid::Grid;
use super::leaf::leaf_block;
use super::runs::meets_itself;
use super::search::{Found, Gate, Prices, Rules, Search};
use super::seats::{
    BETWEEN, along, bead_block, branch_block, branch_fits, in_space, position, seats, windows,
};
use super::shape::{Block, Dir, V, length};
use super::{Bead, Chain, End, Fall, Laid, Problem, Sitting};

/// Price of a bend, mm: while a way is sought at all; where few are sought.
pub const BEND: f64 = 230.0;
const BEND_DEAR: f64 = 700.0;
/// How much more than its length the rest of a way is taken to cost.
const WEIGHT: f64 = 1.2;
/// The same round the bodies, once that is known.
const HURRY: f64 = 2.0;
/// Both where the cheapest way is wanted or nearly so, and how many times the states.
const NEARLY: f64 = 1.2;
const CAREFUL: usize = 4;
/// What a chain leaves occupied, for others to keep clear of.
#[derive(Clone, Copy, Debug)]
pub struct Piece {
    pub block: Block,
    /// The axis it runs along; `None` for a body.
    pub axis: Option<usize>,
    pub ends: (V, V),
}

/// Everything a chain occupies.
pub fn pieces(p: &Problem, chain: &Chain, laid: &Laid) -> Vec<Piece> {
    let mut out = Vec::new();
    if !laid.found {
        return out;
    }
    for w in laid.points.windows(2) {
        let Some(dir) = Dir::between(w[0], w[1]) else { continue };
        let mut by = [chain.radius; 3];
        by[dir.axis()] = 0.0;
        let block = Block::around(w[0], w[1]).grown_each(by);
        out.push(Piece { block, axis: Some(dir.axis()), ends: (w[0], w[1]) });
    }
    for (bead, seat) in chain.beads.iter().zip(&laid.beads) {
        if let Some(seat) = seat {
            let block = bead_block(&p.room, seat, bead.length, bead.half, bead.reach);
            out.push(Piece { block, axis: None, ends: (seat.at, seat.at) });
            if let Some(way) = seat.branch {
                let block = branch_block(bead, seat.at, seat.along, way);
                out.push(Piece { block, axis: None, ends: (seat.at, seat.at) });
            }
        }
    }
    for (end, tip) in chain.ends.iter().zip([laid.points.first(), laid.points.last()]) {
        if let (End::Leaf { length, half, .. }, Some(tip)) = (end, tip) {
            let n = laid.points.len();
            let before = if std::ptr::eq(end, &chain.ends[0]) { 1 } else { n - 2 };
            if let Some(way) = laid.points.get(before).and_then(|b| Dir::between(*b, *tip)) {
                out.push(Piece {
                    block: leaf_block(*tip, way, *length, *half),
                    axis: None,
                    ends: (*tip, *tip),
                });
            }
        }
    }
    out
}

/// What a way is sought for, and so what counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Aim {
    /// Some way soon, past the others, out of their way in the front view.
    Way,
    /// The fewest bends and the least length past the others.
    Short,
    /// The same with nobody else in the room.
    Alone,
}

pub struct Task<'a> {
    pub p: &'a Problem,
    pub grid: &'a Grid,
    pub field: &'a mut Field,
    pub search: &'a mut Search,
    pub aim: Aim,
    /// Which of the longer stubs to try first: another after each failure.
    pub variant: usize,
    /// What the other chains occupy, for small bodies on stubs.
    pub taken: Vec<Block>,
    /// Where else an end may be.
    pub berths: Option<&'a Berths>,
}

impl Task<'_> {
    /// Lays chain `c`; those it branches from must be laid. Marks of the parents are added by
    /// `parent_marks` after the branch stubs were found.
    pub fn lay(
        &mut self,
        c: usize,
        laid: &mut [Laid],
        parent_marks: impl FnOnce(&mut Field),
    ) -> bool {
        let chain = &self.p.chains[c];
        let backwards = !matches!(chain.ends[0], End::Branch { .. })
            && matches!(chain.ends[1], End::Branch { .. });
        let leaf = chain.ends.iter().position(|e| matches!(e, End::Leaf { .. }));
        if let Some(leaf) = leaf {
            return self.lay_leaf(c, leaf, laid);
        }
        if let Some(direct) = facing(self.p, chain) {
            laid[c] = direct;
            return true;
        }
        let (a, b) = if backwards { (1, 0) } else { (0, 1) };
        let forbidden = match (chain.fall, backwards) {
            (Fall::Free, _) => 0,
            (Fall::Down, false) | (Fall::Up, true) => 1 << Dir::UP.0,
            (Fall::Down, true) | (Fall::Up, false) => 1 << Dir::DOWN.0,
        };
        let rules = self.rules(chain, forbidden);
        // Longer stubs, where the plain way would leave no straight length for the beads.
        let need: f64 = chain.beads.iter().map(|b| b.length + BETWEEN).sum();
        let tries: &[[f64; 2]] = &[[0.0, 0.0], [1.0, 0.0], [0.0, 1.0], [0.5, 0.5], [1.0, 1.0]];
        let mut marks = Some(parent_marks);
        let mut best: Option<(Laid, [(V, Dir); 2])> = None;
        for i in 0..tries.len() {
            let extra = &tries[if need > 0.0 { (i + self.variant) % tries.len() } else { i }];
            if i > 0 && (need == 0.0 || (best.is_some() && self.aim == Aim::Way)) {
                break;
            }
            let from = self.gates(c, a, laid, extra[0] * need, true);
            let to = self.gates(c, b, laid, extra[1] * need, false);
            if let Some(marks) = marks.take() {
                marks(self.field);
            }
            let Some((mut found, mut points)) = self.seek(chain, &rules, (&from, &to)) else {
                break;
            };
            // Without going up and down again, where that is not much dearer.
            if self.aim == Aim::Short && reversals(&points) > 0 {
                let (first, last) = (points[0][2], points[points.len() - 1][2]);
                let against = if last <= first { Dir::UP } else { Dir::DOWN };
                let rules = self.rules(chain, forbidden | 1 << against.0);
                let all = |(f, points): &(Found, Vec<V>)| f.cost + HUMP * reversals(points) as f64;
                let even = self.seek(chain, &rules, (&from, &to));
                let now = (found, points);
                (found, points) = even.filter(|e| all(e) < all(&now)).unwrap_or(now);
            }
            let (s, t) = (&from[found.source], &to[found.target]);
            if backwards {
                points.reverse();
            }
            let candidate = Laid {
                points,
                beads: vec![None; chain.beads.len()],
                found: true,
                cost: found.cost,
            };
            // A longer stub may be crossed by its own line.
            let bad =
                |l: &Laid| meets_itself(chain, &l.points) || windows(self.p, chain, l).is_none();
            if self.aim != Aim::Alone && bad(&candidate) {
                continue;
            }
            if best.as_ref().is_none_or(|(b, _)| candidate.cost < b.cost - 1e-6) {
                let roots = [s, t].map(|g| (g.root, g.heading));
                best = Some((candidate, roots));
            }
        }
        let Some((done, gates)) = best else {
            let run = (need > 0.0)
                .then(|| self.by_run(c, (a, b), laid, &rules, need + chain.run))
                .flatten();
            let found = run.is_some();
            if let Some(run) = run {
                laid[c] = run;
            }
            return found;
        };
        // Seat the branch beads this chain starts or ends on.
        for (end, (root, heading)) in [a, b].into_iter().zip(gates) {
            if let End::Branch { chain: parent, bead } = &chain.ends[end] {
                let out = if end == a { heading } else { heading.opposite() };
                seat(&mut laid[*parent], *bead, root, out);
            }
        }
        laid[c] = done;
        true
    }

    /// The cheapest way from one of some gates to one of others, and its corners.
    fn seek(
        &mut self,
        chain: &Chain,
        rules: &Rules,
        (from, to): (&[Stub], &[Stub]),
    ) -> Option<(Found, Vec<V>)> {
        let (sources, targets) =
            (open_gates(from, rules.forbidden), open_gates(to, rules.forbidden));
        let prices = self.field.prices(self.grid, chain, self.aim);
        let found = self.search.run(self.grid, &prices, rules, &sources, &targets)?;
        let mut points = vec![from[found.source].root];
        points.extend(corners(self.grid, &found));
        points.push(to[found.target].root);
        tidy(&mut points);
        Some((found, points))
    }

    fn rules(&self, chain: &Chain, forbidden: u8) -> Rules {
        let (bend, states, weight, hurry) = match self.aim {
            Aim::Way => (BEND, self.p.states, WEIGHT, HURRY),
            Aim::Short => (BEND_DEAR, CAREFUL * self.p.states, NEARLY, NEARLY),
            Aim::Alone => (BEND, CAREFUL * self.p.states, 1.0, 1.0),
        };
        Rules { bend, forbidden, run: chain.run, states, weight, hurry }
    }

    /// Length and bends of the shortest way between a chain's ends as they now are, past solids
    /// alone.
    pub fn alone(&mut self, c: usize, laid: &[Laid]) -> (f64, usize) {
        let chain = &self.p.chains[c];
        let own = &laid[c];
        if !own.found {
            return (0.0, 0);
        }
        let bends = |points: &[V]| points.len().saturating_sub(2);
        let real = (length(&own.points), bends(&own.points));
        let ends = [(0, own.points.first(), own.points.get(1)), {
            let n = own.points.len();
            (1, own.points.last(), own.points.get(n.wrapping_sub(2)))
        }];
        let mut gates: [Vec<Stub>; 2] = [Vec::new(), Vec::new()];
        for (e, at, next) in ends {
            let (Some(at), Some(next)) = (at, next) else { return real };
            gates[e] = match &chain.ends[e] {
                End::Port { .. } => self.gates(c, e, laid, 0.0, e == 0),
                End::Branch { chain: parent, bead } => {
                    let prices = self.field.prices(self.grid, chain, Aim::Alone);
                    let reach = self.p.chains[*parent].beads[*bead].stub + 25.0;
                    let seat = laid[*parent].beads.get(*bead).copied().flatten();
                    let along = seat.map(|s| s.along.axis());
                    let mut out = Vec::new();
                    for way in Dir::ALL {
                        if Some(way.axis()) != along
                            && let Some((node, cost)) = self.walk(*at, way, reach, &prices)
                        {
                            let heading = if e == 0 { way } else { way.opposite() };
                            out.push(Stub { node, heading, cost, root: *at });
                        }
                    }
                    out
                }
                End::Leaf { .. } => return real,
            };
            let _ = next;
        }
        let forbidden = match chain.fall {
            Fall::Free => 0,
            Fall::Down => 1 << Dir::UP.0,
            Fall::Up => 1 << Dir::DOWN.0,
        };
        let rules = self.rules(chain, forbidden);
        let Some((_, points)) = self.seek(chain, &rules, (&gates[0], &gates[1])) else {
            return real;
        };
        (length(&points).min(real.0), bends(&points).min(real.1))
    }

    /// Where a search may start (or end) for one end of a chain.
    pub fn gates(
        &self,
        c: usize,
        end: usize,
        laid: &[Laid],
        longer: f64,
        start: bool,
    ) -> Vec<Stub> {
        let chain = &self.p.chains[c];
        let prices = self.field.prices(self.grid, chain, self.aim);
        match &chain.ends[end] {
            End::Port { at, out, straight } => {
                // The straight that every end needs was kept free for it; what goes beyond was not.
                let others = self.berths.filter(|b| b.end == (c, end));
                let stub = |root: &V| {
                    let from = out.step(*root, *straight);
                    let mut by = [chain.radius; 3];
                    by[out.axis()] = 0.0;
                    let beyond = Block::around(from, out.step(from, longer)).grown_each(by);
                    let shut = longer > 0.0 && self.p.solids.iter().any(|s| s.overlaps(&beyond));
                    let node = self.stub_end(*root, *out, straight + longer).filter(|_| !shut)?;
                    let heading = if start { *out } else { out.opposite() };
                    Some(Stub { node, heading, cost: berths::off(*at, *root), root: *root })
                };
                let places = others.map_or(std::slice::from_ref(at), |b| &b.at);
                places.iter().filter_map(stub).collect()
            }
            End::Branch { chain: parent, bead } => {
                let (line, host) = (&laid[*parent], &self.p.chains[*parent]);
                if !line.found {
                    return Vec::new();
                }
                let Some(windows) = windows(self.p, host, line) else { return Vec::new() };
                let (lo, hi) = windows[*bead];
                let spec = &host.beads[*bead];
                let reach = (spec.stub + 25.0).max(host.radius + chain.radius + chain.gap[0] + 0.5)
                    + longer;
                let mut out = Vec::new();
                for (root, along) in self.nodes_of(&line.points, lo, hi, spec, host) {
                    for way in Dir::ALL {
                        if way.axis() == along.axis()
                            || !branch_fits(self.p, spec, root, along, way)
                        {
                            continue;
                        }
                        if let Some((node, cost)) = self.walk(root, way, reach, &prices) {
                            let heading = if start { way } else { way.opposite() };
                            let seat = Sitting { at: root, along, branch: Some(way) };
                            let joins = cost::joining(host, line, root);
                            let cost = cost + in_space(self.p, spec, &seat) + joins;
                            out.push(Stub { node, heading, cost, root });
                        }
                    }
                }
                out
            }
            End::Leaf { .. } => Vec::new(),
        }
    }

    /// Grid points of a polyline between two lengths along it that leave room for a bead.
    pub fn nodes_of(
        &self,
        points: &[V],
        lo: f64,
        hi: f64,
        bead: &Bead,
        host: &Chain,
    ) -> Vec<(V, Dir)> {
        let ranges: Vec<(f64, f64)> = seats(self.p, host, points, bead)
            .into_iter()
            .map(|(a, b)| (a.max(lo), b.min(hi)))
            .filter(|(a, b)| *a <= b + 1e-6)
            .collect();
        let mut out = Vec::new();
        let mut s = 0.0;
        for w in points.windows(2) {
            let l = length(w);
            if let Some(dir) = Dir::between(w[0], w[1]) {
                for c in &self.grid.lines[dir.axis()] {
                    let mut at = w[0];
                    at[dir.axis()] = *c;
                    let t = (c - w[0][dir.axis()]) * dir.sign();
                    let inside = t >= -1e-6 && t <= l + 1e-6;
                    if inside && ranges.iter().any(|(a, b)| s + t >= a - 1e-6 && s + t <= b + 1e-6)
                    {
                        out.push((at, dir));
                    }
                }
            }
            s += l;
        }
        out
    }

    /// First node at least `min` away from a point on the grid.
    fn stub_end(&self, at: V, out: Dir, min: f64) -> Option<usize> {
        let axis = out.axis();
        let lines = &self.grid.lines[axis];
        let reach = at[axis] + out.sign() * min;
        let c = if out.sign() > 0.0 {
            lines.iter().copied().find(|c| *c >= reach - 1e-6)
        } else {
            lines.iter().rev().copied().find(|c| *c <= reach + 1e-6)
        }?;
        let mut to = at;
        to[axis] = c;
        self.grid.find(to)
    }

    /// Walks straight from a point until at least `reach` away; what it costs.
    pub fn walk(
        &self,
        root: V,
        way: Dir,
        reach: f64,
        prices: &impl Prices,
    ) -> Option<(usize, f64)> {
        let mut node = self.grid.find(root)?;
        let mut at = self.grid.index(node);
        let (mut gone, mut cost) = (0.0, 0.0);
        while gone < reach - 1e-6 {
            let s = self.grid.step(node, at, way)?;
            cost += f64::from(prices.edge(way.axis(), s.lower, s.low, s.length as f32)?);
            gone += s.length;
            (node, at) = (s.next, s.there);
        }
        (gone < reach + 160.0).then_some((node, cost))
    }
}

/// Two ports that look at each other with no more between than their straights: one straight.
fn facing(p: &Problem, chain: &Chain) -> Option<Laid> {
    let [End::Port { at: o, out, straight: s }, End::Port { at: q, out: back, straight: t }] =
        &chain.ends
    else {
        return None;
    };
    let a = out.axis();
    let gap = (q[a] - o[a]) * out.sign();
    let in_line = (0..3).all(|i| i == a || (o[i] - q[i]).abs() < 0.5);
    if *back != out.opposite() || !in_line || gap <= 0.0 || gap > s + t + 1.0 {
        return None;
    }
    let mut q = *q;
    for i in 0..3 {
        if i != a {
            q[i] = o[i];
        }
    }
    // Past the ends' own bosses nothing may stand between.
    let mut by = [chain.radius; 3];
    by[a] = -(gap / 2.0).min(60.0);
    let between = Block::around(*o, q).grown_each(by);
    if p.solids.iter().any(|s| s.overlaps(&between)) {
        return None;
    }
    let laid =
        Laid { points: vec![*o, q], beads: vec![None; chain.beads.len()], found: true, cost: gap };
    (chain.beads.is_empty() || windows(p, chain, &laid).is_some()).then_some(laid)
}

pub struct Stub {
    pub node: usize,
    pub heading: Dir,
    pub cost: f64,
    pub root: V,
}

/// Stubs as the search takes them, but for those headed a way that is forbidden.
pub fn open_gates(stubs: &[Stub], forbidden: u8) -> Vec<Gate> {
    stubs
        .iter()
        .enumerate()
        .filter(|(_, s)| forbidden >> s.heading.0 & 1 == 0)
        .map(|(tag, s)| Gate { node: s.node, heading: s.heading, cost: s.cost, tag })
        .collect()
}

pub fn seat(line: &mut Laid, bead: usize, at: V, branch: Dir) {
    let dir = position(&line.points, at).and_then(|s| along(&line.points, s)).map(|a| a.1);
    if let Some(along) = dir
        && let Some(slot) = line.beads.get_mut(bead)
    {
        *slot = Some(Sitting { at, along, branch: Some(branch) });
    }
}

pub fn corners(grid: &Grid, found: &Found) -> Vec<V> {
    found.nodes.iter().map(|n| grid.point(*n)).collect()
}

/// Drops repeated points and points in the middle of a straight.
pub fn tidy(points: &mut Vec<V>) {
    let mut out: Vec<V> = Vec::with_capacity(points.len());
    for p in points.drain(..) {
        if out.last().is_some_and(|l| length(&[*l, p]) < 1e-6) {
            continue;
        }
        if out.len() >= 2 {
            let (a, b) = (out[out.len() - 2], out[out.len() - 1]);
            if Dir::between(a, b) == Dir::between(b, p) {
                out.pop();
            }
        }
        out.push(p);
    }
    *points = out;
}
