//! Small bodies at the end of a stub. In: the grid with the others' prices, the line they leave.
//! Out: the stub, straight if there is room, else round corners to where the body has room.

use super::lay::{Aim, Task, corners, open_gates, seat, tidy};
use super::search::{Gate, Rules};
use super::seats::{branch_fits, hidden, in_space, kept_free, windows};
use super::shape::{Block, Dir, V, manhattan};
use super::{End, Laid, Level, Problem, Sitting};

/// How far from its line a body may go round corners, mm.
const REACH: f64 = 350.0;

pub fn leaf_block(tip: V, way: Dir, length: f64, half: f64) -> Block {
    let mut by = [half; 3];
    by[way.axis()] = 0.0;
    Block::around(tip, way.step(tip, length)).grown_each(by)
}

/// How many ways down the list one counts that is not on it: 1.8 m.
const UNFIT: usize = 12;

/// What a mm costs that its stub begins too high, where one that it stands too high costs 1: water
/// gets over a hump, but not well.
const HUMP: f64 = 0.25;

/// Where a line goes on through the floor, nothing is gained below this height over it, mm:
/// something must go under what hangs there.
const UNDER: f64 = 110.0;

/// Heights between which a line goes.
#[derive(Clone, Copy)]
struct Span {
    low: f64,
    high: f64,
}

impl Span {
    fn of(floor: f64, line: &Laid) -> Span {
        let heights = line.points.iter().map(|p| p[2]);
        let low = heights.clone().fold(f64::INFINITY, f64::min);
        let low = if low < floor + 1.0 { floor + UNDER } else { low };
        Span { low, high: heights.fold(f64::NEG_INFINITY, f64::max) }
    }

    fn above_its_foot(self, at: V) -> f64 {
        if self.low.is_finite() { (at[2] - self.low).max(0.0) } else { 0.0 }
    }

    fn below_its_top(self, at: V) -> f64 {
        if self.high.is_finite() { (self.high - at[2]).max(0.0) } else { 0.0 }
    }
}

impl Level {
    /// What it costs a body to hang there from such a line.
    fn off(self, at: V, line: Span) -> f64 {
        match self {
            Level::Any | Level::Top(_) => 0.0,
            Level::Foot(price) => price * line.above_its_foot(at),
            Level::Between(lo, hi, price) => price * (lo - at[2]).max(at[2] - hi).max(0.0),
        }
    }

    /// What it costs that its stub begins there.
    fn root(self, root: V, line: Span) -> f64 {
        match self {
            Level::Foot(price) => HUMP * price * line.above_its_foot(root),
            Level::Top(price) => price * line.below_its_top(root),
            _ => 0.0,
        }
    }
}

/// What it costs a small body that it hangs higher or lower from its line than it would rather.
pub fn level_cost(p: &Problem, c: usize, laid: &[Laid]) -> f64 {
    let chain = &p.chains[c];
    let points = &laid[c].points;
    let ends = [(&chain.ends[0], &chain.ends[1]), (&chain.ends[1], &chain.ends[0])];
    let leaf = ends.into_iter().enumerate().find_map(|(e, ends)| match ends {
        (End::Leaf { length, half, level, .. }, End::Branch { chain, .. }) => {
            Some((e, *length, *half, *level, *chain))
        }
        _ => None,
    });
    let Some((e, long, half, level, parent)) = leaf.filter(|_| laid[c].found) else { return 0.0 };
    let mut from_tip: Vec<V> = points.clone();
    if e == 1 {
        from_tip.reverse();
    }
    let way = from_tip.get(1).and_then(|before| Dir::between(*before, from_tip[0]));
    let (Some(way), Some(root)) = (way, from_tip.last()) else { return 0.0 };
    let span = Span::of(p.room.lo[2], &laid[parent]);
    let body = leaf_block(from_tip[0], way, long, half);
    level.off(body.centre(), span) + level.root(*root, span)
}

impl Task<'_> {
    /// As a level counts while only a way is sought.
    fn level(&self, level: Level) -> Level {
        match (level, self.aim) {
            (Level::Top(_), Aim::Way) => Level::Any,
            _ => level,
        }
    }

    pub fn lay_leaf(&mut self, c: usize, leaf: usize, laid: &mut [Laid]) -> bool {
        let chain = &self.p.chains[c];
        let End::Leaf { stub, length: long, half, ways, level } = &chain.ends[leaf] else {
            return false;
        };
        let level = self.level(*level);
        let done = |root: V, tip: V| {
            let mut points = vec![root, tip];
            if leaf == 0 {
                points.reverse();
            }
            Laid { points, beads: vec![None; chain.beads.len()], found: true, cost: 0.0 }
        };
        match &chain.ends[1 - leaf] {
            End::Port { at, out, straight } => {
                // Long enough for the body to stand clear of what the port is in.
                let first = stub.max(*straight);
                let free = |reach: &f64| {
                    let body = leaf_block(out.step(*at, *reach), *out, *long, *half);
                    self.p.room.contains(&body) && !self.p.boxes.iter().any(|b| b.overlaps(&body))
                };
                let reach = (0..24).map(|i| first + 5.0 * f64::from(i)).find(free);
                if let Some(reach) = reach {
                    laid[c] = done(*at, out.step(*at, reach));
                }
                reach.is_some()
            }
            End::Branch { chain: parent, bead } => {
                let host = &self.p.chains[*parent];
                let line = &laid[*parent];
                if !line.found {
                    return false;
                }
                let Some(windows) = windows(self.p, host, line) else { return false };
                let (lo, hi) = windows[*bead];
                let spec = &host.beads[*bead];
                let prices = self.field.prices(self.grid, chain, self.aim);
                let span = Span::of(self.p.room.lo[2], line);
                let mut best: Option<(f64, V, Dir, f64)> = None;
                let wants = matches!(level, Level::Foot(_) | Level::Top(_));
                let mut elsewhere = true;
                for (root, dir) in self.nodes_of(&line.points, lo, hi, spec, host) {
                    for way in Dir::ALL {
                        let rank = ways.iter().position(|w| *w == way).unwrap_or(UNFIT);
                        if way.axis() == dir.axis() || !branch_fits(self.p, spec, root, dir, way) {
                            continue;
                        }
                        let seat = Sitting { at: root, along: dir, branch: Some(way) };
                        let in_space = in_space(self.p, spec, &seat);
                        for longer in [0.0, 30.0, 70.0, 120.0, 180.0] {
                            let reach = spec.stub + stub + longer;
                            let tip = way.step(root, reach);
                            let body = leaf_block(tip, way, *long, *half);
                            let mut near = self.p.boxes.iter().chain(&self.p.solids);
                            if near.any(|s| s.overlaps(&body)) || !self.p.room.contains(&body) {
                                continue;
                            }
                            let Some((_, cost)) = self.walk(root, way, reach + long, &prices)
                            else {
                                continue;
                            };
                            let room = body.grown(4.0);
                            let hits = self.taken.iter().filter(|t| t.overlaps(&room)).count();
                            let unseen = hidden(self.p, &body);
                            let kept = kept_free(self.p, &body) + unseen;
                            let off = level.off(body.centre(), span) + level.root(root, span);
                            let cost = cost
                                + in_space
                                + kept
                                + 150.0 * rank as f64
                                + 600.0 * hits as f64
                                + off;
                            if best.is_none_or(|(b, ..)| cost < b - 1e-9) {
                                best = Some((cost, root, way, reach));
                                elsewhere = rank == UNFIT || (wants && off + unseen > 0.0);
                            }
                        }
                    }
                }
                let Some((cost, root, way, reach)) = best else {
                    return self.round_a_corner(c, leaf, laid, f64::INFINITY);
                };
                // One that belongs at the foot may hang lower from a leg of its own, one that
                // belongs at the top stand beside it, one that points the wrong way turn.
                if elsewhere && self.round_a_corner(c, leaf, laid, cost) {
                    return true;
                }
                laid[c] = done(root, way.step(root, reach));
                laid[c].cost = cost;
                seat(&mut laid[*parent], *bead, root, way);
                true
            }
            End::Leaf { .. } => false,
        }
    }

    /// Lays the stub to any place near by that has room for the body, if that costs less than so
    /// much.
    fn round_a_corner(&mut self, c: usize, leaf: usize, laid: &mut [Laid], most: f64) -> bool {
        let chain = &self.p.chains[c];
        let End::Leaf { stub, length: long, half, ways, level } = &chain.ends[leaf] else {
            return false;
        };
        let level = self.level(*level);
        let span = match &chain.ends[1 - leaf] {
            End::Branch { chain: parent, .. } => Span::of(self.p.room.lo[2], &laid[*parent]),
            _ => Span { low: f64::INFINITY, high: f64::NEG_INFINITY },
        };
        let mut from = self.gates(c, 1 - leaf, laid, 0.0, true);
        for gate in &mut from {
            gate.cost += level.root(gate.root, span);
        }
        let mut places = Vec::new();
        let roots: Vec<V> = from.iter().map(|g| g.root).collect();
        let Some(near) = Block::holding(&roots).map(|b| b.grown(REACH)) else { return false };
        let free = |b: &Block| {
            self.p.room.contains(b)
                && !self.p.boxes.iter().chain(&self.p.solids).any(|s| s.overlaps(b))
                && !self.taken.iter().any(|t| t.overlaps(&b.grown(4.0)))
        };
        for node in self.grid.within(&near) {
            let at = self.grid.point(node);
            if !roots.iter().any(|r| manhattan(*r, at) < REACH) {
                continue;
            }
            for (rank, way) in ways.iter().enumerate() {
                let tip = way.step(at, *stub);
                let tube = leaf_block(at, *way, *stub, chain.radius);
                let body = leaf_block(tip, *way, *long, *half);
                if free(&body) && free(&tube) {
                    let off = level.off(body.centre(), span);
                    let kept = kept_free(self.p, &body) + hidden(self.p, &body);
                    let cost = kept + 150.0 * rank as f64 + off;
                    if cost >= most {
                        continue;
                    }
                    places.push((at, *way, cost, node));
                }
            }
        }
        let sources = open_gates(&from, 0);
        let targets: Vec<Gate> = places
            .iter()
            .enumerate()
            .map(|(i, (_, way, cost, node))| Gate {
                node: *node,
                heading: *way,
                cost: *cost,
                tag: i,
            })
            .collect();
        let rules = Rules {
            bend: super::lay::BEND,
            forbidden: 0,
            run: chain.run,
            states: self.p.states / 4,
            weight: 1.0,
            hurry: 1.5,
        };
        let prices = self.field.prices(self.grid, chain, self.aim);
        let Some(found) = self.search.run(self.grid, &prices, &rules, &sources, &targets) else {
            return false;
        };
        if found.cost >= most {
            return false;
        }
        let (start, (at, way, ..)) = (&from[found.source], places[found.target]);
        let mut points = vec![start.root];
        points.extend(corners(self.grid, &found));
        points.push(way.step(at, *stub));
        tidy(&mut points);
        if leaf == 0 {
            points.reverse();
        }
        let beads = vec![None; chain.beads.len()];
        laid[c] = Laid { points, beads, found: true, cost: found.cost };
        if let End::Branch { chain: parent, bead } = &chain.ends[1 - leaf] {
            seat(&mut laid[*parent], *bead, start.root, start.heading);
        }
        true
    }
}
