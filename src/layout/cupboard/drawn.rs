//! From lines to pipes and fittings. In: the chains as laid. Out: for every pipe its centre line, for
//! every fitting in a line its body; what found no way is put near its place and joined by bare
//! links.

use crate::layout::space::{self, Answer, Block, Dir, End, Laid, Problem, Sitting, V, length};
use crate::model::{PartIx, PipeIx, PortRef, Side, System};

use super::body::{self, Body, LocalPort, Pose, Stood};
use super::chains::{Chain, Role, Strung, Tip};
use super::ends::{self, NIPPLE, Specs, tee_length};
use super::fitted::BOSS;
use super::place::Placed;
use super::plan::{Owner, Route};
use super::route::end;

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
