//! Small bodies at the end of a stub. In: the grid with the others' prices, the line they leave.
//! Out: the stub, straight if there is room, else round corners to where the body has room.

use super::lay::{Task, corners, open_gates, seat, tidy};
use super::search::{Gate, Rules};
use super::seats::{branch_fits, hidden, in_space, kept_free, windows};
use super::shape::{Block, Dir, V, manhattan};
use super::{End, Laid, Level, Sitting};

/// How far from its line a body may go round corners, mm.
const REACH: f64 = 350.0;

pub fn leaf_block(tip: V, way: Dir, length: f64, half: f64) -> Block {
    let mut by = [half; 3];
    by[way.axis()] = 0.0;
    Block::around(tip, way.step(tip, length)).grown_each(by)
}

/// What a mm costs that its stub begins too high, where one that it stands too high costs 1: water
/// gets over a hump, but not well.
const HUMP: f64 = 0.25;

/// Where a line goes on through the floor, nothing is gained below this height over it, mm:
/// something must go under what hangs there.
const UNDER: f64 = 110.0;

/// Lowest point of a line, and how far a point is above it.
fn lowest(floor: f64, line: &Laid) -> f64 {
    let low = line.points.iter().map(|p| p[2]).fold(f64::INFINITY, f64::min);
    if low < floor + 1.0 { floor + UNDER } else { low }
}

fn above(at: V, lowest: f64) -> f64 {
    let high = at[2] - lowest;
    if high.is_finite() { high.max(0.0) } else { 0.0 }
}

impl Level {
    /// What it costs a body to hang there from a line that goes down so deep.
    fn off(self, at: V, depth: f64) -> f64 {
        match self {
            Level::Any => 0.0,
            Level::Foot(price) => price * above(at, depth),
            Level::Between(lo, hi, price) => price * (lo - at[2]).max(at[2] - hi).max(0.0),
        }
    }

    /// What it costs that its stub begins there.
    fn rise(self, root: V, depth: f64) -> f64 {
        match self {
            Level::Foot(price) => HUMP * price * above(root, depth),
            _ => 0.0,
        }
    }
}

impl Task<'_> {
    pub fn lay_leaf(&mut self, c: usize, leaf: usize, laid: &mut [Laid]) -> bool {
        let chain = &self.p.chains[c];
        let End::Leaf { stub, length: long, half, ways, level } = &chain.ends[leaf] else {
            return false;
        };
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
                let depth = lowest(self.p.room.lo[2], line);
                let mut best: Option<(f64, V, Dir, f64)> = None;
                let mut high = true;
                for (root, dir) in self.nodes_of(&line.points, lo, hi, spec, host) {
                    for way in Dir::ALL {
                        if way.axis() == dir.axis() || !branch_fits(self.p, spec, root, dir, way) {
                            continue;
                        }
                        let seat = Sitting { at: root, along: dir, branch: Some(way) };
                        let in_space = in_space(self.p, spec, &seat);
                        let rank = ways.iter().position(|w| *w == way).unwrap_or(ways.len() + 2);
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
                            let off = level.off(body.centre(), depth) + level.rise(root, depth);
                            let cost = cost
                                + in_space
                                + kept
                                + 150.0 * rank as f64
                                + 600.0 * hits as f64
                                + off;
                            if best.is_none_or(|(b, ..)| cost < b - 1e-9) {
                                best = Some((cost, root, way, reach));
                                high = off + unseen > 0.0;
                            }
                        }
                    }
                }
                let Some((cost, root, way, reach)) = best else {
                    return self.round_a_corner(c, leaf, laid, f64::INFINITY);
                };
                // One that belongs at the foot may hang lower from a leg of its own.
                if matches!(level, Level::Foot(_))
                    && high
                    && self.round_a_corner(c, leaf, laid, cost)
                {
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
        let depth = match &chain.ends[1 - leaf] {
            End::Branch { chain: parent, .. } => lowest(self.p.room.lo[2], &laid[*parent]),
            _ => f64::INFINITY,
        };
        let mut from = self.gates(c, 1 - leaf, laid, 0.0, true);
        for gate in &mut from {
            gate.cost += level.rise(gate.root, depth);
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
                    let off = level.off(body.centre(), depth);
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
