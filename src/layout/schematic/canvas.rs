//! Symbols on a patch of paper, and how further symbols grow beside those that stand. In: a few
//! placed symbols. Out: all that hang on them, each near what it joins, nothing over anything.
//!
//! This is what places branches (vents up, drains down, vessels up, discharges down) and whatever
//! no habit of the trade speaks of, so it must find a place for anything.

use std::collections::BTreeMap;

use super::label::room_of_lone;
use super::net::{GRID, Net, Spot, snap};
use super::pose::{Edge, Pose};
use crate::model::{P2, PartIx, PortRef, Rect, Service};

/// Distances, mm, multiples of the grid.
#[derive(Clone, Copy, Debug)]
pub struct Spacing {
    /// Pipe between two symbols in a line across the sheet.
    pub gap: f64,
    /// Pipe between two symbols in a line down the sheet.
    pub drop: f64,
    /// White space round a symbol for its letters.
    pub clear: f64,
    /// White space between what hangs side by side.
    pub beside: f64,
    /// Added to every band between two rails.
    pub band: f64,
    /// Share of a pipe label's width that a pipe on a line is given.
    pub words: f64,
    /// Every run has one pipe long enough for its words, whatever the shares are.
    pub reserved: bool,
}

#[derive(Clone, Debug, Default)]
pub struct Canvas {
    pub spots: BTreeMap<PartIx, Spot>,
    /// Straight pipes that are already certain.
    wires: Vec<(P2, P2)>,
    /// Ways kept free for lines that turn.
    kept: Vec<(P2, P2)>,
}

fn ahead(p: P2, edge: Edge, by: f64) -> P2 {
    let (dx, dy) = edge.step();
    P2::new(p.x + dx * by, p.y + dy * by)
}

/// The box round two points, a little thick.
fn strip(a: P2, b: P2, half: f64) -> Rect {
    let (x, y) = (a.x.min(b.x), a.y.min(b.y));
    Rect::new(x, y, (a.x - b.x).abs(), (a.y - b.y).abs()).grown(half)
}

impl Canvas {
    pub fn has(&self, part: PartIx) -> bool {
        self.spots.contains_key(&part)
    }

    pub fn put(&mut self, part: PartIx, spot: Spot) {
        self.spots.insert(part, spot);
    }

    pub fn keep_free(&mut self, a: P2, b: P2) {
        self.kept.push((a, b));
    }

    /// Puts all of another canvas here, moved.
    pub fn merge(&mut self, other: &Canvas, dx: f64, dy: f64) {
        for (part, spot) in &other.spots {
            self.spots.insert(*part, spot.clone().moved(dx, dy));
        }
    }

    pub fn shift(&mut self, dx: f64, dy: f64) {
        for spot in self.spots.values_mut() {
            spot.at.x += dx;
            spot.at.y += dy;
        }
        self.wires.clear();
        for (a, b) in &mut self.kept {
            for p in [a, b] {
                p.x += dx;
                p.y += dy;
            }
        }
    }

    pub fn bounds(&self) -> Option<Rect> {
        let mut all: Option<Rect> = None;
        for spot in self.spots.values() {
            let r = spot.at;
            all = Some(match all {
                None => r,
                Some(a) => {
                    let (x, y) = (a.x.min(r.x), a.y.min(r.y));
                    Rect::new(x, y, a.right().max(r.right()) - x, a.bottom().max(r.bottom()) - y)
                }
            });
        }
        all
    }

    /// Looks again which pipes run straight between symbols that stand.
    pub fn rewire(&mut self, net: &Net) {
        self.wires.clear();
        for (part, spot) in &self.spots {
            for i in net.joined(*part) {
                let from = PortRef { part: *part, port: i };
                let Some((_, far)) = net.join(from) else { continue };
                let (Some((p, e)), Some(other)) = (spot.port(i), self.spots.get(&far.part)) else {
                    continue;
                };
                match other.port(far.port) {
                    Some((q, f)) if f == e.opposite() && (p.x == q.x || p.y == q.y) => {
                        if *part < far.part {
                            self.wires.push((p, q));
                        }
                    }
                    // A pipe that must bend needs at least a start.
                    _ => self.wires.push((p, ahead(p, e, 5.0))),
                }
            }
        }
    }

    pub fn free(&self, at: Rect, clear: f64, but: Option<PartIx>) -> bool {
        let wide = at.grown(clear);
        self.spots.iter().all(|(p, s)| Some(*p) == but || !s.at.overlaps(&wide))
            && (but.is_none_or(|p| !self.spots[&p].at.overlaps(&at.grown(GRID / 2.0))))
            && self
                .wires
                .iter()
                .chain(&self.kept)
                .all(|(a, b)| !strip(*a, *b, 1.0).overlaps(&at.grown(GRID)))
    }

    fn wire_free(&self, a: P2, b: P2, but: [PartIx; 1], ends: bool) -> bool {
        let line = strip(a, b, 1.0);
        // Pipes that leave one joint by two of its sides are near each other there; what `ends` a
        // branch may stand so, what goes on keeps that side for others.
        let here = self.spots.get(&but[0]).map_or(Rect::at(a), |s| s.at);
        let starts = |p: &P2| here.grown(0.1).overlaps(&Rect::at(*p).grown(0.05));
        self.spots.iter().all(|(p, s)| *p == but[0] || !s.at.overlaps(&line))
            && self.wires.iter().all(|(c, d)| {
                let touching = *c == a || *d == a || ends && (starts(c) || starts(d));
                touching || !strip(*c, *d, 1.0).overlaps(&line)
            })
            && self.kept.iter().all(|(c, d)| !strip(*c, *d, 0.1).overlaps(&line))
    }

    /// Places everything that hangs on what stands, as far as `may` allows.
    pub fn grow(&mut self, net: &Net, spacing: Spacing, may: &dyn Fn(PartIx) -> bool) {
        self.rewire(net);
        loop {
            let mut next: Option<((u8, bool), PortRef, PortRef)> = None;
            for part in self.spots.keys() {
                for i in net.joined(*part) {
                    let near = PortRef { part: *part, port: i };
                    let Some((pipe, far)) = net.join(near) else { continue };
                    if self.has(far.part) || !may(far.part) {
                        continue;
                    }
                    // The large things first: they find the least room.
                    let small = !net.is_store(far.part);
                    let rank = (u8::from(net.service(pipe).must_fall()), small);
                    if next.is_none_or(|(r, n, _)| (rank, near) < (r, n)) {
                        next = Some((rank, near, far));
                    }
                }
            }
            let Some((_, near, far)) = next else { return };
            let spot = self.place_beside(net, spacing, near, far);
            self.put(far.part, spot);
            self.rewire(net);
        }
    }

    /// The best place for `far`'s part beside `near`. Always finds one.
    fn place_beside(&mut self, net: &Net, s: Spacing, near: PortRef, far: PortRef) -> Spot {
        let wanted = self.wanted(net, near, far);
        let falls = net
            .join(near)
            .is_some_and(|(p, _)| net.service(p).must_fall() && net.system.pipe(p).from == near);
        let here = self.spots[&near.part].clone();
        let exits: Vec<Edge> = match here.port(near.port) {
            Some((_, e)) => vec![e],
            None => here.open_edges(),
        };
        let symbol = net.system.part(far.part).kind.symbol.name.as_str();
        let ends = matches!(symbol, "gauge" | "vessel");
        let mut best: Option<(f64, Spot, Edge)> = None;
        for exit in exits {
            let gap = match net.join(near) {
                Some((pipe, _)) if exit.horizontal() && s.reserved => {
                    s.gap.max(room_of_lone(net, pipe))
                }
                _ if exit.horizontal() => s.gap,
                _ => s.drop,
            };
            let aside = if exit.horizontal() { s.drop } else { s.gap };
            let from = match here.port(near.port) {
                Some((p, _)) => p,
                None => here.arm(exit).unwrap_or(here.at.centre()),
            };
            // Air does not gather under a pipe.
            let under = symbol == "air-vent" && exit == Edge::S;
            let off_course = match exit {
                _ if exit == wanted => 0.0,
                _ if under => 30.0,
                _ => 12.0,
            };
            for (n, pose) in net.poses(far.part).into_iter().enumerate() {
                let mut spot = net.spot(far.part, pose);
                if net.is_flexible(far.part) {
                    spot.assign(far.port, exit.opposite());
                }
                let entry = spot.port(far.port).map_or(exit.opposite(), |(_, e)| e);
                let faces = entry == exit.opposite();
                let straight = if faces { 0.0 } else { 14.0 };
                // Cylinders stand with their coils to the left, as the first does.
                let turned = n as f64 * if net.is_store(far.part) { 15.0 } else { 0.5 };
                let base = off_course + straight + turned;
                for step in 0..48 {
                    for side in 0..13 {
                        let lateral = f64::from((side + 1) / 2)
                            * 2.5
                            * if side % 2 == 0 { 1.0 } else { -1.0 };
                        let d = gap + f64::from(step) * 2.5;
                        // Into another side, the pipe needs room to turn.
                        let shift = if faces { 0.0 } else { aside };
                        let bend = if lateral != 0.0 { 9.0 } else { 0.0 };
                        let cost = base + bend + f64::from(step) * 2.5 + lateral.abs() * 0.8;
                        if best.as_ref().is_some_and(|(c, ..)| *c <= cost) {
                            continue;
                        }
                        let mut to = ahead(from, exit, d);
                        let (ex, ey) = entry.step();
                        to = if exit.horizontal() {
                            P2::new(to.x, to.y + lateral - ey * shift)
                        } else {
                            P2::new(to.x + lateral - ex * shift, to.y)
                        };
                        if falls && to.y < from.y + if faces { 0.0 } else { 3.75 } {
                            continue;
                        }
                        let tried = spot.clone().with_port_at(far.port, to);
                        if !self.free(tried.at, s.clear, Some(near.part)) {
                            continue;
                        }
                        if faces && lateral == 0.0 && !self.wire_free(from, to, [near.part], ends) {
                            continue;
                        }
                        best = Some((cost, tried, exit));
                    }
                }
            }
        }
        let (spot, exit) = match best {
            Some((_, spot, exit)) => (spot, exit),
            None => (self.far_off(net, s, far), wanted),
        };
        if here.port(near.port).is_none() {
            let open = here.open_edges();
            let edge = if open.contains(&exit) { Some(exit) } else { open.first().copied() };
            if let (Some(edge), Some(h)) = (edge, self.spots.get_mut(&near.part)) {
                h.assign(near.port, edge);
            }
        }
        spot
    }

    /// Below everything: there is always room.
    fn far_off(&self, net: &Net, s: Spacing, far: PortRef) -> Spot {
        let all = self.bounds().unwrap_or_default();
        let mut spot = net.spot(far.part, Pose::UPRIGHT);
        if net.is_flexible(far.part) {
            spot.assign(far.port, Edge::N);
        }
        spot.moved(snap(all.x), snap(all.bottom() + s.drop + s.clear))
    }

    /// Which way the trade would draw what hangs here.
    fn wanted(&self, net: &Net, near: PortRef, far: PortRef) -> Edge {
        let falls = net
            .join(near)
            .is_some_and(|(p, _)| net.service(p).must_fall() || net.service(p) == Service::Drain);
        if falls {
            return Edge::S;
        }
        match net.system.part(far.part).kind.symbol.name.as_str() {
            "air-vent" | "vessel" | "gauge" => Edge::N,
            "drain-cock" | "valve-relief" | "gully" | "tundish" => Edge::S,
            _ => {
                // Straight on, where something already arrives from the other side.
                let here = &self.spots[&near.part];
                let open = here.open_edges();
                let across = here
                    .ports
                    .iter()
                    .flatten()
                    .map(|(_, e)| e.opposite())
                    .find(|e| open.contains(e));
                across.unwrap_or(Edge::E)
            }
        }
    }
}
