//! Where pipes pass through the cupboard's surfaces. In: tails as stated, and the bodies as
//! placed. Out: a point and a way in for each, on the floor or a wall, near what it serves.

use std::collections::BTreeMap;

use crate::catalogue::limits;
use crate::layout::space::{Block, Dir, V, manhattan};
use crate::model::{Cupboard, PipeIx, Service, Side, System};

use super::body::dir_of;
use super::chains::{Role, Strung, Tip};
use super::ends::Specs;
use super::plan::{Fault, Trouble};
use super::room::{Keep, Room, Why};

/// Price of each mm that a cold tail comes too near to a hot one.
const WARM: f64 = 6.0;

#[derive(Clone, Copy, Debug)]
pub struct TailAt {
    pub side: Side,
    pub at: V,
    pub out: Dir,
}

pub type Tails = BTreeMap<PipeIx, TailAt>;

/// A hole beyond the pipe and its lagging, mm of radius (common practice).
pub const SLEEVE: f64 = 6.0;

/// From a hole's edge to a wall for the drill that makes it, mm (common practice, no source).
pub const CHUCK: f64 = 30.0;
/// Price of a hole that would cut a joist, mm: only where there is no other place.
const JOIST: f64 = 20_000.0;

/// The surface a tail goes through.
pub fn side(sys: &System, pipe: PipeIx) -> Side {
    let p = sys.pipe(pipe);
    let Some(room) = sys.site.cupboard.as_ref().map(|c| c.room()) else { return Side::Floor };
    if let Some(t) = &p.tail {
        if let Some(s) = &t.side {
            return s.value;
        }
        let x = t.x.as_ref().map(|v| v.value);
        let y = t.y.as_ref().map(|v| v.value);
        let z = t.z.as_ref().map(|v| v.value).filter(|z| *z > 1.0);
        if let Some(z) = z {
            return match (x, y) {
                _ if z >= room.h - 1.0 => Side::Ceiling,
                (Some(x), _) if x <= 1.0 => Side::Left,
                (Some(x), _) if x >= room.w - 1.0 => Side::Right,
                (None, Some(y)) if y > 1.0 => outside(sys).unwrap_or(Side::Right),
                _ => Side::Back,
            };
        }
        if x.is_some() || y.is_some() {
            return Side::Floor;
        }
    }
    match p.service {
        Service::Discharge2 => outside(sys).unwrap_or(Side::Floor),
        Service::SolarFlow | Service::SolarReturn => Side::Ceiling,
        _ => Side::Floor,
    }
}

fn outside(sys: &System) -> Option<Side> {
    let walls = &sys.site.cupboard.as_ref()?.walls;
    walls
        .iter()
        .filter(|w| w.outside)
        .map(|w| w.side)
        .find(|s| matches!(s, Side::Back | Side::Left | Side::Right))
}

/// The coordinates that the description states, on the surface.
pub(super) fn stated(sys: &System, room: &Block, pipe: PipeIx) -> [Option<f64>; 3] {
    let side = side(sys, pipe);
    let mut out = [None; 3];
    if let Some(t) = &sys.pipe(pipe).tail {
        for (axis, v) in [&t.x, &t.y, &t.z].into_iter().enumerate() {
            out[axis] = v.as_ref().map(|v| v.value).filter(|v| v.is_finite());
        }
    }
    let d = dir_of(side);
    out[d.axis()] = Some(if d.sign() > 0.0 { room.hi[d.axis()] } else { room.lo[d.axis()] });
    out
}

/// Tails whose place the description states in full; those outside are brought in and named.
pub fn fixed(sys: &System, strung: &Strung, room: &Room, faults: &mut Vec<Fault>) -> Tails {
    let mut out = Tails::new();
    for tip in strung.chains.iter().flat_map(|c| c.tips) {
        let Tip::Tail(pipe) = tip else { continue };
        if let [Some(x), Some(y), Some(z)] = stated(sys, &room.size, pipe) {
            let side = side(sys, pipe);
            let out_dir = dir_of(side).opposite();
            let mut at = [x, y, z];
            let mut moved = false;
            for (axis, v) in at.iter_mut().enumerate() {
                if axis != out_dir.axis() {
                    let c = v.clamp(room.size.lo[axis] + 20.0, room.size.hi[axis] - 20.0);
                    moved |= (c - *v).abs() > 20.0;
                    *v = c;
                }
            }
            if moved {
                faults.push(Fault {
                    trouble: Trouble::Tail,
                    what: format!(
                        "tail of {} at x {x:.0}, y {y:.0}, z {z:.0} lies outside the cupboard",
                        sys.pipe(pipe).id
                    ),
                    parts: vec![sys.pipe(pipe).id.clone()],
                    pipe: Some(pipe),
                    at: Some(super::to_box(&Block::new(at, at).grown(30.0))),
                });
            }
            if let Some((other, _)) =
                out.iter().find(|(_, o): &(&PipeIx, &TailAt)| manhattan(o.at, at) < 20.0)
            {
                faults.push(Fault {
                    trouble: Trouble::Tail,
                    what: format!(
                        "tails of {} and {} are stated in one place",
                        sys.pipe(*other).id,
                        sys.pipe(pipe).id
                    ),
                    parts: vec![sys.pipe(*other).id.clone(), sys.pipe(pipe).id.clone()],
                    pipe: Some(pipe),
                    at: Some(super::to_box(&Block::new(at, at).grown(30.0))),
                });
                while out.values().any(|o| manhattan(o.at, at) < 40.0) {
                    let axis = if out_dir.axis() == 0 { 1 } else { 0 };
                    at[axis] += 50.0;
                    if at[axis] > room.size.hi[axis] - 20.0 {
                        at[axis] = room.size.lo[axis] + 30.0;
                        at[if axis == 0 && out_dir.axis() != 1 { 1 } else { 2 }] += 50.0;
                    }
                    if at[2] > room.size.hi[2] || at[1] > room.size.hi[1] {
                        break;
                    }
                }
            }
            out.insert(pipe, TailAt { side, at, out: out_dir });
        }
    }
    out
}

/// The stub a tail needs, as a block.
pub fn stub_block(t: &TailAt, straight: f64, radius: f64) -> Block {
    let tip = t.out.step(t.at, straight);
    let mut by = [radius; 3];
    by[t.out.axis()] = 0.0;
    Block::around(t.at, tip).grown_each(by)
}

/// Straight length inside for a tail: through a wall just into the wall plane.
pub fn straight(specs: &Specs, room: &Room, pipe: PipeIx, side: Side) -> f64 {
    let s = specs.stub(Tip::Tail(pipe)).map_or(60.0, |s| s.straight);
    let (c, e) = specs.by_tip[&Tip::Tail(pipe)];
    if matches!(side, Side::Floor | Side::Ceiling) || !specs.ends[c][e].beads.is_empty() {
        s
    } else {
        room.plane
    }
}

pub struct Placer<'a> {
    pub sys: &'a System,
    pub strung: &'a Strung,
    pub specs: &'a Specs,
    /// Preferred height of a hole in a wall.
    pub exit: f64,
    /// Where the tail was on an earlier issue.
    pub stood: Option<V>,
}

impl Placer<'_> {
    /// Where a tail would best come in. `row`: pitch of the rows on the floor, and how far from
    /// the wall plane it would rather stand.
    #[allow(clippy::too_many_arguments)]
    pub fn place(
        &self,
        room: &Room,
        tails: &Tails,
        pipe: PipeIx,
        target: Option<(V, f64)>,
        beside: Option<V>,
        row: (f64, f64),
        price: &dyn Fn(V) -> f64,
    ) -> TailAt {
        let first = side(self.sys, pipe);
        let mut sides = vec![first];
        let chosen = self.sys.pipe(pipe).tail.as_ref().is_some_and(|t| t.side.is_some());
        if !chosen && self.sys.pipe(pipe).service != Service::Discharge2 {
            for s in [Side::Floor, Side::Back, Side::Left, Side::Right, Side::Ceiling] {
                if !sides.contains(&s) {
                    sides.push(s);
                }
            }
        }
        let mut best: Option<(f64, TailAt)> = None;
        for (i, s) in sides.iter().enumerate() {
            if i > 0 && best.is_some() {
                break;
            }
            self.scan(room, tails, pipe, *s, i == 0, target, beside, row, price, &mut best);
        }
        best.map_or_else(
            || {
                let d = dir_of(first);
                let mut at = room.size.centre();
                at[d.axis()] =
                    if d.sign() > 0.0 { room.size.hi[d.axis()] } else { room.size.lo[d.axis()] };
                TailAt { side: first, at, out: d.opposite() }
            },
            |b| b.1,
        )
    }

    #[allow(clippy::too_many_arguments)]
    fn scan(
        &self,
        room: &Room,
        tails: &Tails,
        pipe: PipeIx,
        side: Side,
        own: bool,
        target: Option<(V, f64)>,
        beside: Option<V>,
        row: (f64, f64),
        price: &dyn Fn(V) -> f64,
        best: &mut Option<(f64, TailAt)>,
    ) {
        let d = dir_of(side);
        let axis = d.axis();
        let wall = if d.sign() > 0.0 { room.size.hi[axis] } else { room.size.lo[axis] };
        let given = if own { stated(self.sys, &room.size, pipe) } else { [None; 3] };
        let straight = straight(self.specs, room, pipe, side);
        let (c, _) = self.specs.by_tip[&Tip::Tail(pipe)];
        let radius = self.specs.outer(c);
        let level = matches!(side, Side::Floor | Side::Ceiling);
        let joists = self.sys.site.cupboard.as_ref().and_then(Cupboard::joists);
        let joists = joists.filter(|_| side == Side::Floor);
        let hole = radius + SLEEVE;
        let range = |a: usize| -> Vec<f64> {
            if let Some(v) = given[a] {
                return vec![v];
            }
            let (lo, hi) = (room.size.lo[a] + room.plane, room.size.hi[a] - room.plane);
            let mut out = Vec::new();
            if level && a == 1 {
                let mut v = lo;
                while v <= hi {
                    out.push(v);
                    v += row.0;
                }
                out.extend(self.stood.map(|t| t[a]).filter(|v| *v > lo && *v < hi));
                return out;
            }
            let mut v = lo;
            while v <= hi {
                out.push(v);
                v += if a == 2 { 20.0 } else { 10.0 };
            }
            let known = target.map(|t| t.0).into_iter().chain(self.stood).map(|t| t[a]);
            out.extend(known.filter(|v| *v > lo && *v < hi));
            out
        };
        let (a, b) = match axis {
            0 => (1, 2),
            1 => (0, 2),
            _ => (0, 1),
        };
        for u in range(a) {
            for v in range(b) {
                let mut at = [0.0; 3];
                at[axis] = wall;
                at[a] = u;
                at[b] = v;
                let tail = TailAt { side, at, out: d.opposite() };
                let tip = tail.out.step(at, straight);
                let mut cost = price(at);
                if let Some((to, weight)) = target {
                    let off = (0..3).filter(|i| (to[*i] - tip[*i]).abs() > 0.5).count();
                    cost += weight * (manhattan(tip, to) + 60.0 * off as f64);
                }
                if let Some(near) = beside {
                    cost += 1.5 * manhattan(at, near);
                }
                if joists.as_ref().is_some_and(|j| j.under([at[0], at[1]], hole).is_some()) {
                    cost += JOIST;
                }
                if level {
                    cost += 0.35 * (v - room.size.lo[1] - room.plane - row.1).abs();
                } else if given[2].is_none() && self.sys.pipe(pipe).service.must_fall() {
                    cost += 3.0 * (v - self.exit).abs() + if v > self.exit { 3000.0 } else { 0.0 };
                }
                cost += WARM * self.too_warm(tails, &tail, radius, pipe);
                if best.as_ref().is_some_and(|(c, _)| *c <= cost) {
                    continue;
                }
                if free(self.sys, self.strung, self.specs, (room, tails), &tail, pipe) {
                    *best = Some((cost, tail));
                }
            }
        }
    }

    /// How much nearer than it should be to a cold tail a hot one comes through the same surface,
    /// mm, where one of their lines is lagged in part: the router takes that for lagged and keeps
    /// the rest of it from nothing.
    fn too_warm(&self, tails: &Tails, tail: &TailAt, radius: f64, pipe: PipeIx) -> f64 {
        let lagged = |p: PipeIx| {
            let own = &self.strung.chains[self.specs.by_tip[&Tip::Tail(p)].0].pipes;
            let n = own.iter().filter(|(q, _)| self.sys.pipe(*q).lagging.is_some()).count();
            (n > 0, n == own.len())
        };
        let warm = |p: PipeIx| if lagged(p).1 { 0 } else { self.sys.pipe(p).service.warmth() };
        let apart = limits::find(&self.sys.rules, "WAT14.distance").value;
        let mine = warm(pipe);
        let opposed = |p: PipeIx| mine * warm(p) < 0 && (lagged(pipe).0 || lagged(p).0);
        tails
            .iter()
            .filter(|(p, o)| o.side == tail.side && opposed(**p))
            .map(|(p, o)| {
                let need = radius + self.specs.outer(self.specs.by_tip[&Tip::Tail(*p)].0) + apart;
                let off = (0..3).map(|a| (o.at[a] - tail.at[a]).abs()).fold(0.0, f64::max);
                (need - off).max(0.0)
            })
            .sum()
    }
}

/// Whether a tail may be there: clear of the bodies, of what must stay free and of the other tails.
pub fn free(
    sys: &System,
    strung: &Strung,
    specs: &Specs,
    (room, tails): (&Room, &Tails),
    tail: &TailAt,
    pipe: PipeIx,
) -> bool {
    let end = specs.by_tip[&Tip::Tail(pipe)];
    let radius = specs.outer(end.0);
    let straight = straight(specs, room, pipe, tail.side);
    let wide = (radius + 8.0).max(specs.wide[end.0][end.1] + 4.0);
    let block = stub_block(tail, straight + radius, wide);
    let chain = &strung.chains[end.0];
    let fittings = specs.end_blocks(sys, chain, end, &room.size, tail.at, tail.out);
    if !fittings.iter().all(|b| room.size.contains(b)) {
        return false;
    }
    for o in &room.stood {
        let round = |s: &Block| s.overlaps(&block);
        if fittings.iter().any(|b| b.grown(4.0).overlaps(&o.at))
            || o.at.overlaps(&block) && o.slices().iter().any(round)
        {
            return false;
        }
    }
    let hit = |k: &Keep| {
        let b = if k.why == Why::Stub { block.grown(6.0) } else { block };
        let passes = k.why == Why::Access && !k.is_solid();
        (!passes && k.block.overlaps(&b))
            || (k.why != Why::Stub && fittings.iter().any(|f| f.overlaps(&k.block)))
    };
    if room.keeps.iter().any(hit) {
        return false;
    }
    let line = |p: PipeIx| {
        let (c, e) = specs.by_tip[&Tip::Tail(p)];
        (c, !specs.ends[c][e].beads.is_empty())
    };
    let mine = line(pipe);
    tails.iter().all(|(p, o)| {
        if o.side != tail.side {
            return true;
        }
        let other = line(*p);
        let lagged = specs.lagging[mine.0] + specs.lagging[other.0] > 0.0;
        let mut need = radius + specs.outer(other.0) + if lagged { 20.0 } else { 25.0 };
        if mine.1 || other.1 {
            need = need.max(62.0);
        }
        (0..3).any(|a| (o.at[a] - tail.at[a]).abs() >= need - 0.5)
    })
}

/// The zone or other thing elsewhere that a tail's pipe serves.
pub fn serves(sys: &System, strung: &Strung, pipe: PipeIx) -> usize {
    let p = sys.pipe(pipe);
    let far = if strung.roles[p.from.part.0] == Role::Absent { p.from.part } else { p.to.part };
    far.0
}

/// Order in which tails without a place are placed.
pub fn order(service: Service) -> u8 {
    match service {
        Service::Discharge2 => 0,
        Service::Discharge1 | Service::Drain => 1,
        Service::ColdMain | Service::ColdBoosted => 2,
        Service::HeatingFlow | Service::FloorFlow | Service::SolarFlow => 3,
        Service::HeatingReturn | Service::FloorReturn | Service::SolarReturn => 4,
        _ => 5,
    }
}
