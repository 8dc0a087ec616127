//! From placed bodies to routed pipes. In: the room, the chains and their ends. Out: for every
//! pipe its centre line, for every fitting in a line its body.

use crate::layout::space::{
    self, Answer, Bead, Block, Dir, End, Fall, Laid, Problem, Sitting, V, length,
};
use crate::model::{PartIx, PipeIx, PortRef, Service, Side, System, Water};

use super::body::{self, Body, LocalPort, Pose, Stood};
use super::chains::{Chain, Role, Strung, Tip};
use super::ends::{self, NIPPLE, Specs, tee_length};
use super::fitted::BOSS;
use super::place::{Placed, standoff};
use super::plan::{Form, Owner, Route};
use super::room::Why;

/// Between a bare cold and a bare hot pipe side by side, mm (common practice, no source).
const APART: f64 = 55.0;

/// Between parallel pipes, mm: bare, lagged, and where room is short, for a joint's socket and a
/// spanner's jaw or for fingers round the lagging (common practice, no source).
const GAP: f64 = 25.0;
const LAGGED: f64 = 20.0;
const SNUG: f64 = 12.0;

/// The task as the engine takes it; `snug`: pipes nearer to one another than they would rather be.
pub fn problem(
    sys: &System,
    strung: &Strung,
    specs: &Specs,
    placed: &Placed,
    snug: bool,
) -> Problem {
    let room = &placed.room;
    let mut p = Problem {
        room: room.size,
        apart: APART,
        near: room.plane + 75.0,
        rounds: 14,
        states: 30_000,
        ..Problem::default()
    };
    for s in &room.stood {
        p.solids.extend(s.slices());
        p.boxes.push(s.at);
        if body::is_cylinder(&s.body.kind) && s.body.form == Form::Upright {
            p.front_of = Some(s.at);
        }
    }
    for k in &room.keeps {
        match k.why {
            _ if k.is_solid() => {
                p.solids.push(k.block);
                p.boxes.push(k.block);
            }
            Why::Access => p.spaces.push((k.block, 2.5)),
            _ => {}
        }
    }
    for s in room.stood.iter().filter(|s| s.body.kind == "wiring centre") {
        let mut above = s.at.grown(10.0);
        above.lo[2] = s.at.hi[2];
        above.hi[2] = room.size.hi[2];
        p.spaces.push((above, 1.5));
    }
    for c in 0..strung.chains.len() {
        let mut chain = chain(sys, strung, specs, placed, c);
        if snug {
            chain.gap[0] = SNUG;
        }
        p.chains.push(chain);
    }
    // What sits right at an end never moves either.
    for c in 0..strung.chains.len() {
        for e in 0..2 {
            for block in end_blocks(sys, strung, specs, placed, c, e) {
                p.solids.push(block);
                p.boxes.push(block);
            }
        }
    }
    // Planes along the walls, a pitch apart, for the widest pipe.
    let widest = (0..specs.od.len()).map(|c| specs.outer(c)).fold(11.0, f64::max);
    let pitch = (2.0 * widest + 25.0).ceil();
    let planes = |lo: f64, hi: f64, both: bool, n: u32| {
        let mut out = Vec::new();
        for i in 0..n {
            out.push(lo + room.plane + pitch * f64::from(i));
            if both {
                out.push(hi - room.plane - pitch * f64::from(i));
            }
        }
        out
    };
    let (lo, hi) = (room.size.lo, room.size.hi);
    p.lines = [
        planes(lo[0], hi[0], true, 4),
        planes(lo[1], hi[1], true, 4),
        planes(lo[2] + 40.0, hi[2], true, 6),
    ];
    p
}

/// Room that the fittings right at a chain's end take.
fn end_blocks(
    sys: &System,
    strung: &Strung,
    specs: &Specs,
    placed: &Placed,
    c: usize,
    e: usize,
) -> Vec<Block> {
    match end(sys, strung, specs, placed, c, e) {
        End::Port { at, out, .. } => {
            specs.end_blocks(sys, &strung.chains[c], (c, e), &placed.room.size, at, out)
        }
        _ => Vec::new(),
    }
}

/// Fittings at an end that would stand in a body, in the door's way or in one another go further
/// along their line, wherever there is room.
pub fn freed(sys: &System, strung: &Strung, specs: &Specs, placed: &Placed) -> Specs {
    let mut out = specs.clone();
    let room = &placed.room;
    let mut taken: Vec<Block> = room.stood.iter().map(|s| s.at).collect();
    taken.extend(room.keeps.iter().filter(|k| k.is_solid()).map(|k| k.block));
    for c in 0..strung.chains.len() {
        for e in 0..2 {
            let blocks = end_blocks(sys, strung, specs, placed, c, e);
            let free = |b: &Block| room.size.contains(b) && !taken.iter().any(|t| t.overlaps(b));
            if blocks.iter().all(free) {
                taken.extend(blocks);
            } else {
                out.free_end(sys, strung, c, e);
            }
        }
    }
    out
}

fn chain(sys: &System, strung: &Strung, specs: &Specs, placed: &Placed, c: usize) -> space::Chain {
    let own = &strung.chains[c];
    let od = specs.od[c];
    let lagged = specs.lagging[c] > 0.0;
    let ends = [0, 1].map(|e| end(sys, strung, specs, placed, c, e));
    let beads = specs.free[c]
        .iter()
        .map(|p| {
            let tee = strung.roles[p.0] == Role::Tee;
            let [l, d, h] = sys.part(*p).kind.body;
            let length = if tee { tee_length(od) } else { l } + NIPPLE;
            Bead {
                length,
                half: if tee { od / 2.0 + 2.0 } else { h / 2.0 },
                reach: if tee { 0.0 } else { d - h / 2.0 },
                branch: tee,
                stub: tee_length(od) / 2.0,
            }
        })
        .collect();
    let falls = own.pipes.iter().any(|(p, _)| sys.pipe(*p).service.must_fall());
    let forward = own.pipes.first().is_none_or(|(_, f)| *f);
    let fall = match (falls, forward) {
        (false, _) => Fall::Free,
        (true, true) => Fall::Down,
        (true, false) => Fall::Up,
    };
    space::Chain {
        net: own.net,
        radius: specs.outer(c),
        standoff: standoff(specs, c).min(placed.room.plane),
        gap: [if lagged { LAGGED } else { GAP }, 8.0],
        ends,
        beads,
        fall,
        run: (1.6 * od).max(30.0),
        rank: if falls { 1000 } else { od as i32 },
        warmth: if lagged { 0 } else { warmth(sys.pipe(own.pipes[0].0).service) },
    }
}

fn warmth(service: Service) -> i8 {
    match service {
        Service::ColdMain | Service::ColdSoftened | Service::ColdBalanced => -1,
        Service::HotWater | Service::HotReturn | Service::SolarFlow => 1,
        s => i8::from(s.water() == Water::Primary),
    }
}

fn end(sys: &System, strung: &Strung, specs: &Specs, placed: &Placed, c: usize, e: usize) -> End {
    let tip = strung.chains[c].tips[e];
    let spec = &specs.ends[c][e];
    let od = specs.od[c];
    let loose =
        |long: f64, half: f64, ways: Vec<Dir>| End::Leaf { stub: 30.0, length: long, half, ways };
    match tip {
        Tip::Port(owner, port) => match placed.room.find(owner).and_then(|s| s.port(port)) {
            Some(p) => End::Port { at: p.at, out: p.out, straight: spec.straight },
            None => loose(od, od / 2.0, vec![Dir::DOWN]),
        },
        Tip::Tail(pipe) => match placed.tails.get(&pipe) {
            Some(t) => {
                let straight = super::tails::straight(specs, &placed.room, pipe, t.side);
                End::Port { at: t.at, out: t.out, straight }
            }
            None => loose(od, od / 2.0, vec![Dir::DOWN]),
        },
        Tip::Branch(tee) => {
            let host = specs
                .free
                .iter()
                .enumerate()
                .find_map(|(i, beads)| Some((i, beads.iter().position(|b| *b == tee)?)));
            match host {
                Some((chain, bead)) if chain != c => End::Branch { chain, bead },
                _ => loose(od, od / 2.0, vec![Dir::DOWN, Dir::FRONT]),
            }
        }
        Tip::Leaf(part) => {
            let k = &sys.part(part).kind;
            let out = k.ports.first().and_then(|p| match p.real {
                Some(crate::catalogue::RealPort::Box { out, .. }) => Some(body::dir_of(out)),
                _ => None,
            });
            let out = out.unwrap_or(Dir::UP);
            let long = k.body[out.axis()];
            let half = [0, 1, 2]
                .into_iter()
                .filter(|a| *a != out.axis())
                .map(|a| k.body[a])
                .fold(0.0, f64::max)
                / 2.0;
            let sides = [Dir::FRONT, Dir::RIGHT, Dir::LEFT];
            let mut ways = vec![out.opposite()];
            ways.extend(sides.iter().copied().filter(|d| *d != out.opposite()));
            loose(long, half, ways)
        }
        Tip::Open(_) => loose(25.0, od / 2.0 + 4.0, vec![Dir::DOWN, Dir::FRONT, Dir::UP]),
    }
}

/// A pipe's centre line and what sits in it.
pub struct Drawn {
    pub routes: Vec<Route>,
    pub fittings: Vec<Stood>,
    /// Chain of each route.
    pub chain_of: Vec<Option<usize>>,
}

pub fn draw(
    sys: &System,
    strung: &Strung,
    specs: &Specs,
    placed: &Placed,
    p: &Problem,
    answer: &Answer,
) -> Drawn {
    let mut out = Drawn { routes: Vec::new(), fittings: Vec::new(), chain_of: Vec::new() };
    let found = |c: usize| answer.laid[c].found && answer.laid[c].points.len() > 1;
    let all = 0..strung.chains.len();
    for c in all.clone().filter(|c| found(*c)) {
        let own = &strung.chains[c];
        let laid = &answer.laid[c];
        let seats = seats(sys, strung, specs, c, laid);
        for (part, seat) in own.between.iter().zip(&seats) {
            let stood = fitting(sys, strung, specs, p, c, *part, seat, own, answer);
            out.fittings.push(stood);
        }
        for e in 0..2 {
            if let Tip::Leaf(part) = own.tips[e]
                && let Some(s) = leaf(sys, p, part, laid, e)
            {
                out.fittings.push(s);
            }
        }
        split(sys, strung, specs, c, laid, &seats, &mut out);
    }
    // What sits in a line that was not found still has to be fitted somewhere.
    for c in all.clone().filter(|c| !found(*c)) {
        stray(sys, strung, specs, placed, c, &mut out);
    }
    for c in all.filter(|c| !found(*c)) {
        bare(sys, strung, specs, placed, c, &mut out);
    }
    for pipe in &strung.direct {
        let q = sys.pipe(*pipe);
        let at = |r: crate::model::PortRef| {
            let s = placed.room.find(Owner::Part(r.part))?;
            Some(s.port(r.port)?.at)
        };
        let points = match (at(q.from), at(q.to)) {
            (Some(a), Some(b)) if length(&[a, b]) < 4.0 * BOSS => vec![a, b],
            (Some(a), None) => {
                let s = placed.room.find(Owner::Part(q.from.part));
                let out = s.and_then(|s| s.port(q.from.port)).map_or(Dir::FRONT, |p| p.out);
                vec![a, out.step(a, BOSS)]
            }
            (None, Some(b)) => {
                let s = placed.room.find(Owner::Part(q.to.part));
                let out = s.and_then(|s| s.port(q.to.port)).map_or(Dir::FRONT, |p| p.out);
                vec![out.step(b, BOSS), b]
            }
            (Some(a), Some(b)) => vec![a, b],
            (None, None) => continue,
        };
        out.routes.push(route(*pipe, points, ends::od(sys, *pipe), 0.0, true));
        out.chain_of.push(None);
    }
    out
}

fn route(pipe: PipeIx, points: Vec<V>, od: f64, lagging: f64, routed: bool) -> Route {
    let points = points.into_iter().map(super::to_p3).collect();
    Route { lagging, routed, ..Route::new(pipe, points, od) }
}

/// Where a chain's end is, if that is fixed.
fn tip_at(
    sys: &System,
    strung: &Strung,
    specs: &Specs,
    placed: &Placed,
    (c, e): (usize, usize),
    fittings: &[Stood],
) -> Option<V> {
    let port = |part: PartIx, port: usize| {
        let s = fittings.iter().find(|s| s.body.owner == Owner::Part(part))?;
        Some(s.port(port)?.at)
    };
    match strung.chains[c].tips[e] {
        Tip::Branch(tee) => port(tee, 2),
        Tip::Leaf(part) => port(part, 0),
        _ => match end(sys, strung, specs, placed, c, e) {
            End::Port { at, .. } => Some(at),
            _ => None,
        },
    }
}

/// Puts what sits in a line that was not found where there is room for it, near its place.
fn stray(sys: &System, strung: &Strung, specs: &Specs, placed: &Placed, c: usize, out: &mut Drawn) {
    let own = &strung.chains[c];
    let tips = [0, 1].map(|e| tip_at(sys, strung, specs, placed, (c, e), &out.fittings));
    let centre = placed.room.size.centre();
    let a = tips[0].or(tips[1]).unwrap_or(centre);
    let b = tips[1].unwrap_or(a);
    let mut taken: Vec<Block> = out.fittings.iter().map(|s| s.at).collect();
    for r in &out.routes {
        taken.extend(
            r.blocks()
                .iter()
                .map(|b| Block::new([b.x, b.y, b.z], [b.x + b.w, b.y + b.d, b.z + b.h]).grown(2.0)),
        );
    }
    let mut list = own.between.clone();
    for (e, tip) in own.tips.iter().enumerate() {
        if let Tip::Leaf(part) = tip {
            list.insert(if e == 0 { 0 } else { list.len() }, *part);
        }
    }
    let n = list.len();
    for (i, part) in list.into_iter().enumerate() {
        let mut body = body::of_part(sys, part, 0.0, false);
        if strung.roles[part.0] == Role::Tee {
            body = tee(body, specs.od[c]);
        }
        let t = (i as f64 + 1.0) / (n as f64 + 1.0);
        let near = [0, 1, 2].map(|k| a[k] + (b[k] - a[k]) * t);
        let stood = placed.room.spare(&body, near, &taken).unwrap_or_else(|| {
            let half = body.size.map(|s| s / 2.0);
            centred(body, Pose::against(Side::Back), near, half)
        });
        taken.push(stood.at);
        out.fittings.push(stood);
    }
}

/// The links between the ports of a line that was not found.
fn bare(sys: &System, strung: &Strung, specs: &Specs, placed: &Placed, c: usize, out: &mut Drawn) {
    let own = &strung.chains[c];
    let last = own.pipes.len() - 1;
    for (i, (pipe, forward)) in own.pipes.iter().enumerate() {
        let q = sys.pipe(*pipe);
        let (near, far) = if *forward { (q.from, q.to) } else { (q.to, q.from) };
        let fitted = |r: PortRef| {
            let s = out.fittings.iter().find(|s| s.body.owner == Owner::Part(r.part))?;
            Some(s.port(r.port)?.at)
        };
        let tip = |e: usize| tip_at(sys, strung, specs, placed, (c, e), &out.fittings);
        let a = if i == 0 { tip(0) } else { fitted(near) };
        let b = if i == last { tip(1) } else { fitted(far) };
        let centre = placed.room.size.centre();
        let from = a.or(b.map(|b| Dir::FRONT.step(b, 60.0))).unwrap_or(centre);
        let to = b.unwrap_or(Dir::FRONT.step(from, 60.0));
        let points = if *forward { vec![from, to] } else { vec![to, from] };
        let lagging = q.lagging.as_ref().map_or(0.0, |v| v.value);
        out.routes.push(route(*pipe, points, ends::od(sys, *pipe), lagging, false));
        out.chain_of.push(Some(c));
    }
}

/// Where each part between the ends sits: centre, line direction, and distance along.
fn seats(
    sys: &System,
    strung: &Strung,
    specs: &Specs,
    c: usize,
    laid: &Laid,
) -> Vec<(f64, Sitting)> {
    let own = &strung.chains[c];
    let total = length(&laid.points);
    let n = own.between.len();
    own.between
        .iter()
        .enumerate()
        .map(|(i, part)| {
            let od = specs.od[c];
            let from_end = |e: usize| -> Option<f64> {
                let beads = &specs.ends[c][e].beads;
                let k = beads.iter().position(|b| b == part)?;
                let before: f64 =
                    beads[..k].iter().map(|b| ends::line_length(sys, *b, od) + NIPPLE).sum();
                let l = ends::line_length(sys, *part, od);
                // Past the body's own nut, or the floor.
                Some(ends::start_gap(sys, own, e) + before + l / 2.0)
            };
            let s = if let Some(s) = from_end(0) {
                s
            } else if let Some(s) = from_end(1) {
                total - s
            } else {
                let k = specs.free[c].iter().position(|b| b == part);
                let seat = k.and_then(|k| laid.beads.get(k).copied().flatten());
                if let Some(seat) = seat
                    && let Some(s) = space::position(&laid.points, seat.at)
                {
                    return (s, seat);
                }
                total * (i as f64 + 1.0) / (n as f64 + 1.0)
            };
            let s = s.clamp(0.0, total);
            let (at, along) = space::along(&laid.points, s)
                .unwrap_or((laid.points.first().copied().unwrap_or_default(), Dir::RIGHT));
            (s, Sitting { at, along, branch: None })
        })
        .collect()
}

#[allow(clippy::too_many_arguments)]
fn fitting(
    sys: &System,
    strung: &Strung,
    specs: &Specs,
    p: &Problem,
    c: usize,
    part: PartIx,
    seat: &(f64, Sitting),
    own: &Chain,
    answer: &Answer,
) -> Stood {
    let seat = &seat.1;
    let at = own.between.iter().position(|b| *b == part).unwrap_or(0);
    // The chain enters the part by the port its incoming pipe is joined to.
    let (pipe, forward) = own.pipes[at];
    let q = sys.pipe(pipe);
    let enters = if forward { q.to.port } else { q.from.port };
    let along = if enters == 0 { seat.along } else { seat.along.opposite() };
    let mut body = body::of_part(sys, part, 0.0, false);
    let od = specs.od[c];
    if strung.roles[part.0] == Role::Tee {
        body = tee(body, od);
        let branch = branch_way(strung, specs, part, answer)
            .or(seat.branch)
            .filter(|b| b.axis() != along.axis())
            .unwrap_or_else(|| if along.axis() == 2 { Dir::FRONT } else { Dir::DOWN });
        let third = (0..3).find(|a| *a != along.axis() && *a != branch.axis()).unwrap_or(1);
        let pose = Pose([along, Dir::of(third, true), branch.opposite()]);
        return centred(
            body,
            pose,
            seat.at,
            [tee_length(od) / 2.0, od / 2.0 + 2.0, tee_length(od) / 2.0],
        );
    }
    let front = space::outward(&p.room, seat.at, along);
    let third = (0..3).find(|a| *a != along.axis() && *a != front.axis()).unwrap_or(2);
    let pose = Pose([along, front, Dir::of(third, true)]);
    let line = body.ports.first().map_or([body.size[0] / 2.0; 3], |q| q.at);
    let local = [body.size[0] / 2.0, line[1], line[2]];
    centred(body, pose, seat.at, local)
}

fn branch_way(strung: &Strung, specs: &Specs, tee: PartIx, answer: &Answer) -> Option<Dir> {
    let (host, k) = specs
        .free
        .iter()
        .enumerate()
        .find_map(|(i, b)| Some((i, b.iter().position(|p| *p == tee)?)))?;
    let _ = strung;
    answer.laid.get(host)?.beads.get(k).copied().flatten()?.branch
}

/// A tee cut to its tube: run along x, branch down.
pub fn tee(mut body: Body, od: f64) -> Body {
    let l = tee_length(od);
    let half = od / 2.0 + 2.0;
    body.size = [l, 2.0 * half, l / 2.0 + half];
    body.ports = vec![
        LocalPort { port: 0, at: [0.0, half, l / 2.0], out: Dir::LEFT },
        LocalPort { port: 1, at: [l, half, l / 2.0], out: Dir::RIGHT },
        LocalPort { port: 2, at: [l / 2.0, half, 0.0], out: Dir::DOWN },
    ];
    body
}

/// A body with a point of its own frame on a point of the room.
pub fn centred(body: Body, pose: Pose, at: V, local: V) -> Stood {
    let rel = pose.point(body.size, local);
    let corner = [0, 1, 2].map(|i| at[i] - rel[i]);
    let side = body::side_of(pose.0[1].opposite());
    Stood::new(body, pose, corner, side)
}

fn leaf(sys: &System, p: &Problem, part: PartIx, laid: &Laid, e: usize) -> Option<Stood> {
    let n = laid.points.len();
    let (tip, before) = if e == 0 {
        (laid.points.first()?, laid.points.get(1)?)
    } else {
        (laid.points.last()?, laid.points.get(n.checked_sub(2)?)?)
    };
    let way = Dir::between(*before, *tip)?;
    let body = body::of_part(sys, part, 0.0, false);
    let port = body.ports.first()?.clone();
    // Turn the body so that its port looks back along the stub.
    let back = way.opposite();
    let front = space::outward(&p.room, *tip, way);
    let mut dirs = [Dir::RIGHT, Dir::FRONT, Dir::UP];
    let a = port.out.axis();
    dirs[a] = if port.out.sign() > 0.0 { back } else { way };
    let f = if a == 1 { 2 } else { 1 };
    dirs[f] = front;
    let third = 3 - a - f;
    let axis = (0..3).find(|x| *x != way.axis() && *x != front.axis())?;
    dirs[third] = Dir::of(axis, true);
    Some(centred(body, Pose(dirs), *tip, port.at))
}

/// Cuts a chain's centre line into its pipes at the ports of what sits in it.
fn split(
    sys: &System,
    strung: &Strung,
    specs: &Specs,
    c: usize,
    laid: &Laid,
    seats: &[(f64, Sitting)],
    out: &mut Drawn,
) {
    let own = &strung.chains[c];
    let total = length(&laid.points);
    let od = specs.od[c];
    let stub = |e: usize| match own.tips[e] {
        Tip::Branch(tee) => {
            let host = specs.free.iter().position(|b| b.contains(&tee));
            tee_length(host.map_or(od, |h| specs.od[h])) / 2.0
        }
        _ => 0.0,
    };
    let mut from = stub(0).min(total / 2.0);
    for (i, (pipe, forward)) in own.pipes.iter().enumerate() {
        let to = match own.between.get(i) {
            Some(part) => seats[i].0 - ends::line_length(sys, *part, od) / 2.0,
            None => total - stub(1).min(total / 2.0),
        };
        let to = to.max(from).min(total);
        let mut points = cut(&laid.points, from, to);
        if !forward {
            points.reverse();
        }
        let own_od = ends::od(sys, *pipe);
        let lagging = sys.pipe(*pipe).lagging.as_ref().map_or(0.0, |v| v.value);
        out.routes.push(route(*pipe, points, own_od, lagging, laid.found));
        out.chain_of.push(Some(c));
        from = match own.between.get(i) {
            Some(part) => (seats[i].0 + ends::line_length(sys, *part, od) / 2.0).min(total),
            None => total,
        };
    }
}

/// The part of a polyline between two lengths along it.
fn cut(points: &[V], from: f64, to: f64) -> Vec<V> {
    let mut out = Vec::new();
    let mut s = 0.0;
    for w in points.windows(2) {
        let l = length(w);
        if l < 1e-9 {
            continue;
        }
        let (a, b) = ((from - s).max(0.0), (to - s).min(l));
        if a <= b + 1e-9 {
            let on = |t: f64| [0, 1, 2].map(|i| w[0][i] + (w[1][i] - w[0][i]) * t / l);
            for p in [on(a.min(l)), on(b)] {
                if out.last().is_none_or(|q: &V| length(&[*q, p]) > 1e-6) {
                    out.push(p);
                }
            }
        }
        s += l;
    }
    if out.len() == 1 {
        out.push(out[0]);
    }
    out
}

/// What an unrouted chain runs into: the first body on the bare way, if any.
pub fn blocker(placed: &Placed, points: &[V]) -> Option<(String, Block)> {
    let (a, b) = (*points.first()?, *points.last()?);
    for t in 1..20 {
        let f = f64::from(t) / 20.0;
        let at = [0, 1, 2].map(|i| a[i] + (b[i] - a[i]) * f);
        let probe = Block::new(at, at).grown(12.0);
        let hit = placed
            .room
            .stood
            .iter()
            .find(|s| s.at.overlaps(&probe) && s.slices().iter().any(|x| x.overlaps(&probe)));
        if let Some(s) = hit {
            return Some((s.body.tag.clone(), s.at));
        }
    }
    None
}
