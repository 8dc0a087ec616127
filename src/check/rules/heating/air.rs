//! Where air gathers in a heating circuit. In: its parts, the routes in the cupboard. Out: each high
//! point of the pipework that no vent drains of air, and how far every way from there to a vent falls.

use std::collections::BTreeMap;

use crate::check::Context;
use crate::model::{PartIx, PipeIx, Service, Side, Water};

/// Air finds its way down a short fall with the water, mm (common practice).
const FALL: f64 = 100.0;

/// A high point without a vent.
pub struct High {
    pub pipe: PipeIx,
    /// Its height, mm.
    pub top: f64,
    /// The vent that the air comes nearest to.
    pub vent: PartIx,
    /// The lowest point on the best way from the high point to a vent, the vent's own connection
    /// among them, mm.
    pub falls_to: f64,
}

/// A corner of a pipe.
struct Corner {
    pipe: PipeIx,
    z: f64,
    next: Vec<usize>,
    /// The best way to a vent: its lowest point, and the vent; `None` for what leaves through the
    /// ceiling and is vented at its radiators.
    way: Option<(f64, Option<PartIx>)>,
}

/// What a pipe joins: the parts of a factory-made unit are one body, its pipework is the maker's.
fn body(cx: &Context, part: PartIx) -> (bool, usize) {
    cx.system.part(part).unit.map_or((false, part.0), |u| (true, u.0))
}

/// The high points of the flow, highest first. Silent where it is not known where a vent is joined:
/// it may stand where it ought to.
pub fn high_points(cx: &Context, vents: &[PartIx], parts: &[PartIx]) -> Vec<High> {
    if vents.is_empty() {
        return Vec::new();
    }
    let pipes = through(cx, vents, parts);
    let routed = |p: &&PipeIx| cx.route(**p).is_some_and(|r| r.routed);
    let joined = |v: &PartIx| {
        let at = |part: PartIx| body(cx, part) == body(cx, *v);
        let touches =
            |p: &PipeIx| at(cx.system.pipe(*p).from.part) || at(cx.system.pipe(*p).to.part);
        pipes.iter().filter(routed).any(touches)
    };
    if !vents.iter().all(joined) {
        return Vec::new();
    }
    let mut corners = corners(cx, vents, &pipes);
    spread(&mut corners);
    let trapped = |c: &Corner| c.way.is_none_or(|(lowest, _)| c.z > lowest + FALL);
    let mut order: Vec<usize> = (0..corners.len()).filter(|i| trapped(&corners[*i])).collect();
    order.sort_by(|a, b| corners[*b].z.total_cmp(&corners[*a].z).then(a.cmp(b)));
    let mut seen = vec![false; corners.len()];
    let mut found = Vec::new();
    for top in order {
        if seen[top] {
            continue;
        }
        // What hangs together is one high point.
        let mut queue = vec![top];
        while let Some(i) = queue.pop() {
            if !trapped(&corners[i]) || std::mem::replace(&mut seen[i], true) {
                continue;
            }
            queue.extend(&corners[i].next);
        }
        let Corner { pipe, z, way: Some((falls_to, Some(vent))), .. } = corners[top] else {
            continue;
        };
        if cx.system.pipe(pipe).service == Service::HeatingFlow {
            found.push(High { pipe, top: z, vent, falls_to });
        }
    }
    found
}

/// Pipes through which water passes. A branch to a vessel, a gauge or a safety valve is a dead end:
/// air in it stands still and stops no flow.
fn through(cx: &Context, vents: &[PartIx], parts: &[PartIx]) -> Vec<PipeIx> {
    let primary = |p: &PipeIx| cx.system.pipe(*p).service.water() == Water::Primary;
    let mut pipes: Vec<PipeIx> =
        parts.iter().flat_map(|p| cx.pipes_of(*p)).filter(primary).collect();
    pipes.sort();
    pipes.dedup();
    let ends = |p: &PipeIx| [cx.system.pipe(*p).from.part, cx.system.pipe(*p).to.part];
    let mut at: BTreeMap<PartIx, Vec<PipeIx>> = BTreeMap::new();
    for pipe in &pipes {
        for part in ends(pipe) {
            let here = at.entry(part).or_default();
            if here.last() != Some(pipe) {
                here.push(*pipe);
            }
        }
    }
    // A part with one pipe is where a branch ends; without that pipe the next part may be.
    let mut open: Vec<PartIx> = at.keys().copied().collect();
    while let Some(part) = open.pop() {
        let Some(&[dead]) = at.get(&part).map(Vec::as_slice) else { continue };
        if vents.contains(&part) {
            continue;
        }
        for end in ends(&dead) {
            at.entry(end).or_default().retain(|p| *p != dead);
            open.push(end);
        }
    }
    pipes.retain(|p| at[&ends(p)[0]].contains(p));
    pipes
}

fn corners(cx: &Context, vents: &[PartIx], pipes: &[PipeIx]) -> Vec<Corner> {
    let mut all: Vec<Corner> = Vec::new();
    let mut at_part: Vec<(PartIx, usize)> = Vec::new();
    for pipe in pipes {
        let Some(route) = cx.route(*pipe).filter(|r| r.routed && !r.points.is_empty()) else {
            continue;
        };
        let (first, last) = (all.len(), all.len() + route.points.len() - 1);
        for (i, p) in route.points.iter().enumerate() {
            let at = first + i;
            let mut next = Vec::new();
            next.extend((at > first).then(|| at - 1));
            next.extend((at < last).then(|| at + 1));
            all.push(Corner { pipe: *pipe, z: p.z, next, way: None });
        }
        // A pipe that leaves the room has one end in it.
        let ends = cx.system.pipe(*pipe);
        if let Some(exit) = &route.exit {
            if exit.side == Side::Ceiling {
                let top = if all[first].z > all[last].z { first } else { last };
                all[top].way = Some((all[top].z, None));
            }
            let inside = |part: PartIx| cx.stands_in_cupboard(part);
            for (part, at) in [(ends.from.part, first), (ends.to.part, last)] {
                if inside(part) {
                    at_part.push((part, at));
                }
            }
            continue;
        }
        at_part.extend([(ends.from.part, first), (ends.to.part, last)]);
    }
    for (i, (part, a)) in at_part.iter().enumerate() {
        let here = body(cx, *part);
        if let Some(vent) = vents.iter().find(|v| body(cx, **v) == here) {
            let at = all[*a].z;
            if all[*a].way.is_none_or(|(z, _)| z < at) {
                all[*a].way = Some((at, Some(*vent)));
            }
        }
        for (other, b) in &at_part[i + 1..] {
            if body(cx, *other) == here {
                all[*a].next.push(*b);
                all[*b].next.push(*a);
            }
        }
    }
    all
}

/// Carries the best way to a vent from corner to corner until none gets better.
fn spread(all: &mut [Corner]) {
    let mut queue: Vec<usize> = (0..all.len()).filter(|i| all[*i].way.is_some()).collect();
    while let Some(i) = queue.pop() {
        let Some((lowest, vent)) = all[i].way else { continue };
        for n in all[i].next.clone() {
            let through = lowest.min(all[n].z);
            if all[n].way.is_none_or(|(known, _)| known < through) {
                all[n].way = Some((through, vent));
                queue.push(n);
            }
        }
    }
}
