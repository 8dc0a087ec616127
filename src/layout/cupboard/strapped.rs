//! What is strapped to a pipe: thermostats that feel the water of a line. In: the routes as laid.
//! Out: each on the pipe beside the part it belongs to, where nothing else is.

use super::body::{Body, Pose, Stood, of_part, side_of};
use super::finish::solid;
use super::plan::{CupboardPlan, Fault, Held, Route, Trouble};
use crate::catalogue::Mount;
use crate::layout::space::{Block, Dir, V};
use crate::model::{Box3, PartIx, PipeIx, System};

/// From an elbow or a fitting to the strap, and between the places that are tried, mm (common
/// practice).
const CLEAR: f64 = 5.0;
const STEP: f64 = 10.0;

/// True for what is fitted to a part that has no body to screw into, only pipes.
pub fn to_a_pipe(sys: &System, ix: PartIx) -> bool {
    let part = sys.part(ix);
    let stated = part.place.x.is_some() || part.place.y.is_some() || part.place.z.is_some();
    let in_line = |host: PartIx| {
        let host = sys.part(host);
        host.in_cupboard() && host.unit.is_none() && host.kind.mount == Mount::Line
    };
    part.kind.mount == Mount::On && part.in_cupboard() && !stated && part.on.is_some_and(in_line)
}

/// Straps each to its pipe.
pub fn strap(sys: &System, plan: &mut CupboardPlan) {
    for ix in sys.part_ixs().filter(|ix| to_a_pipe(sys, *ix)) {
        let Some(host) = sys.part(ix).on else { continue };
        let body = of_part(sys, ix, 0.0, false);
        let held = Held::On(format!("pipe at {}", sys.part(host).tag));
        match place(sys, plan, host, &body) {
            Some(stood) => plan.solids.push(solid(&stood, held)),
            None => plan.faults.push(Fault {
                trouble: Trouble::Place,
                what: format!("no room on the pipe at {} for {}", sys.part(host).tag, body.tag),
                parts: vec![body.tag.clone()],
                pipe: None,
                at: None,
            }),
        }
    }
}

fn place(sys: &System, plan: &CupboardPlan, host: PartIx, body: &Body) -> Option<Stood> {
    // Before the host in the flow if there is room, else after it.
    [true, false].into_iter().find_map(|into| {
        line(sys, host, into).into_iter().find_map(|pipe| {
            let route = plan.route(pipe).filter(|r| r.routed)?;
            let mut points: Vec<V> = route.points.iter().map(|p| [p.x, p.y, p.z]).collect();
            if into {
                points.reverse();
            }
            points.windows(2).find_map(|w| on_straight(plan, route, body, w[0], w[1]))
        })
    })
}

/// The pipes of one line from a part on, nearest first: against the flow or with it, through what
/// sits in the line, as far as the next tee.
fn line(sys: &System, host: PartIx, into: bool) -> Vec<PipeIx> {
    let next = |part: PartIx| {
        sys.pipe_ixs().find(|p| {
            let pipe = sys.pipe(*p);
            (if into { pipe.to.part } else { pipe.from.part }) == part
        })
    };
    let mut pipes: Vec<PipeIx> = Vec::new();
    let mut part = host;
    while let Some(pipe) = next(part).filter(|p| !pipes.contains(p)) {
        pipes.push(pipe);
        part = if into { sys.pipe(pipe).from.part } else { sys.pipe(pipe).to.part };
        if sys.part(part).kind.ports.len() != 2 {
            break;
        }
    }
    pipes
}

/// The first free place along a straight, seen from its start.
fn on_straight(plan: &CupboardPlan, route: &Route, body: &Body, a: V, b: V) -> Option<Stood> {
    let along = Dir::between(a, b)?;
    let long = crate::layout::space::length(&[a, b]);
    let half = body.size[0] / 2.0 + CLEAR;
    let off = route.od / 2.0 + route.lagging + body.size[1] / 2.0;
    let sides = [Dir::FRONT, Dir::LEFT, Dir::RIGHT, Dir::UP, Dir::DOWN, Dir::BACK];
    let steps = ((long - 2.0 * half) / STEP).floor();
    if steps < 0.0 {
        return None;
    }
    (0..=steps as usize).find_map(|i| {
        let at = along.step(a, half + STEP * i as f64);
        sides.into_iter().filter(|s| s.axis() != along.axis()).find_map(|side| {
            let third = (0..3).find(|x| *x != along.axis() && *x != side.axis())?;
            let pose = Pose([along, side, Dir::of(third, true)]);
            let extent = pose.extent(body.size);
            let middle = side.step(at, off);
            let corner = [0, 1, 2].map(|k| middle[k] - extent[k] / 2.0);
            let stood = Stood::new(body.clone(), pose, corner, side_of(side.opposite()));
            free(plan, &stood.at).then_some(stood)
        })
    })
}

fn free(plan: &CupboardPlan, at: &Block) -> bool {
    let room = plan.room;
    let whole = Block::new([0.0; 3], [room.w, room.d, room.h]);
    // What only touches, as the pipe it is strapped to, is not in its way.
    let own: Box3 = super::to_box(&at.grown(-0.5));
    whole.contains(at)
        && !plan.solids.iter().any(|s| s.holds(&own))
        && !plan.routes.iter().any(|r| r.blocks().iter().any(|b| b.overlaps(&own)))
}
