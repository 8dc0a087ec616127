//! What stands written in a scaled view: a tag for each body, size and service for each long
//! straight, the fall where a pipe must fall, holes in the wall. In: the cupboard and a view.
//! Out: labels, placed, and arrows of flow.

use super::callouts::{Callouts, Request, kept_clear};
use super::columns::Column;
use super::lists::UNROUTED;
use super::pipework::{LABELLED, Run, arrow, pipe_text};
use super::view::View;
use crate::draw::scene::{Ink, Item};
use crate::draw::style::pen;
use crate::layout::cupboard::plan::{CupboardPlan, Owner, Route, Solid};
use crate::model::{P2, Pipe, Rect, Service, System};

/// Room for a column of labels beside a view.
pub const LABELS: f64 = 34.0;

pub fn is_joint(system: &System, solid: &Solid) -> bool {
    matches!(solid.owner, Owner::Part(ix) if system.part(ix).kind.symbol.name == "tee")
}

/// Labels and arrows: a tag for each body, size and service for each long straight run. Those that
/// find no room stand in a column at the right, down to `foot`.
pub fn labels(
    system: &System,
    plan: &CupboardPlan,
    view: &View,
    runs: &[Run],
    outlined: Option<&Solid>,
    foot: f64,
) -> (Vec<Item>, Vec<Item>) {
    let outline = view.outline();
    let mut callouts = Callouts::default();
    let bodies: Vec<(&Solid, Rect)> = plan.solids.iter().map(|s| (s, view.rect(&s.at))).collect();
    callouts.obstacles.extend(bodies.iter().flat_map(|(_, r)| kept_clear(*r)));
    callouts.obstacles.extend(runs.iter().map(Run::strip));
    // A joint has no tag on the drawing: what meets in it is labelled.
    let tagged = |s: &Solid| !is_joint(system, s) && hider(system, view, &bodies, s).is_none();
    for (solid, r) in bodies.iter().filter(|(s, _)| tagged(s)) {
        let behind: Vec<&str> = bodies
            .iter()
            .filter(|(s, _)| {
                !is_joint(system, s) && hider(system, view, &bodies, s) == Some(&solid.tag)
            })
            .map(|(s, _)| s.tag.as_str())
            .collect();
        let text = match behind[..] {
            [] => solid.tag.clone(),
            _ => format!("{} ({} behind)", solid.tag, behind.join(", ")),
        };
        callouts.requests.push(Request {
            of: solid.tag.clone(),
            text,
            anchor: r.centre(),
            also: Vec::new(),
            inside: Some(*r),
            half: r.w.min(r.h) / 2.0,
            upright: r.h > r.w,
            reach: r.w.max(r.h) / 2.0,
        });
    }
    callouts.requests.extend(outlined.map(|solid| {
        let r = view.rect(&solid.at);
        Request {
            of: solid.tag.clone(),
            text: format!("{}, outline", solid.tag),
            anchor: P2::new(r.right(), r.y + r.h * 0.3),
            also: [0.4, 0.5, 0.6, 0.7].map(|t| P2::new(r.right(), r.y + r.h * t)).to_vec(),
            inside: Some(r),
            half: 0.0,
            upright: false,
            reach: 0.0,
        }
    }));
    callouts.requests.extend(holes(plan, view).map(|(route, at)| {
        let pipe = system.pipe(route.pipe);
        Request {
            of: pipe.id.clone(),
            text: format!("{}, hole", pipe_text(pipe)),
            anchor: at,
            also: Vec::new(),
            inside: None,
            half: route.od / view.scale / 2.0 + 1.0,
            upright: false,
            reach: 4.0,
        }
    }));
    let mut arrows = Vec::new();
    for run in runs.iter().filter(|r| r.real_length() > LABELLED) {
        let Some(pipe) = system.pipes.iter().find(|p| p.id == run.id) else { continue };
        let mut places = open_places(run, &bodies, view, runs);
        // The fall stands at another place of the straight.
        let falls = fall_text(system, pipe, run).map(|text| (text, places.clone()));
        let at = places.remove(0);
        let size = (run.half * 2.0 - 0.7).clamp(1.0, 2.5);
        arrows.push(arrow(&run.id, at, run.from, run.to, pen(pipe.service).ink, size));
        let request = |text: String, anchor: P2, also: Vec<P2>| Request {
            of: run.id.clone(),
            text,
            anchor,
            also,
            inside: None,
            half: run.half,
            upright: run.upright(),
            reach: 8.0,
        };
        callouts.requests.push(request(pipe_text(pipe), at, places));
        if let Some((text, mut places)) = falls {
            let other = places.len().min(3) - 1;
            places.rotate_left(other);
            let at = places.remove(0);
            callouts.requests.push(request(text, at, places));
        }
    }
    for route in plan.routes.iter().filter(|r| !r.routed && r.points.len() > 1) {
        let pipe = system.pipe(route.pipe);
        let (from, to) = (view.point(route.points[0]), view.point(route.points[1]));
        let at = P2::new((from.x + to.x) / 2.0, (from.y + to.y) / 2.0);
        arrows.push(arrow(&pipe.id, at, from, to, Ink::ALARM, 1.6));
        callouts.lines.push((from, to));
        callouts.requests.push(Request {
            of: pipe.id.clone(),
            text: format!("{}: {UNROUTED}", pipe_text(pipe)),
            anchor: at,
            also: Vec::new(),
            inside: None,
            half: 0.5,
            upright: false,
            reach: 0.0,
        });
    }
    let high = if foot < outline.bottom() { foot - outline.y } else { outline.h.max(120.0) };
    let column = Rect::new(outline.right() + 1.0, outline.y, LABELS, high);
    (callouts.place(outline, &[Column { at: column, at_left: false }]), arrows)
}

/// In a section: the nearest body to the eye that hides the whole of this one, which then has no
/// place of its own for a leader to end.
fn hider<'a>(
    system: &System,
    view: &View,
    bodies: &[(&'a Solid, Rect)],
    of: &Solid,
) -> Option<&'a String> {
    const HAIR: f64 = 0.2;
    view.section?;
    let own = view.rect(&of.at);
    bodies
        .iter()
        .filter(|(s, r)| {
            s.tag != of.tag
                && !is_joint(system, s)
                && view.front_of(&s.at) > view.front_of(&of.at)
                && r.x < own.x + HAIR
                && r.y < own.y + HAIR
                && r.right() > own.right() - HAIR
                && r.bottom() > own.bottom() - HAIR
        })
        .max_by(|(a, _), (b, _)| view.front_of(&a.at).total_cmp(&view.front_of(&b.at)))
        .map(|(s, _)| &s.tag)
}

/// `1:100 →`: the fall of a pipe that must fall, on a level straight, and which way.
fn fall_text(system: &System, pipe: &Pipe, run: &Run) -> Option<String> {
    let level = (run.real_from.z - run.real_to.z).abs() < 0.5;
    let one_in = fall(system, pipe).filter(|_| level)?;
    let (dx, dy) = (run.to.x - run.from.x, run.to.y - run.from.y);
    let towards = match (dx.abs() > dy.abs(), dx > 0.0, dy > 0.0) {
        (true, true, _) => '→',
        (true, false, _) => '←',
        (false, _, true) => '↓',
        (false, _, false) => '↑',
    };
    Some(format!("1:{one_in:.0} {towards}"))
}

/// The fall of the pipe below a tundish, 1 in so many: what the tundish above it, a part on the way
/// or its end carries.
fn fall(system: &System, pipe: &Pipe) -> Option<f64> {
    let below = |p: &&Pipe| p.service == Service::Discharge2;
    let mut line: Vec<&Pipe> = Some(pipe).filter(below).into_iter().collect();
    let mut next = 0;
    while let Some(here) = line.get(next).copied() {
        let ends = [here.from.part, here.to.part];
        if let Some(fall) = ends.into_iter().find_map(|ix| system.part(ix).number("fall")) {
            return Some(fall);
        }
        let above = |p: &&Pipe| p.to.part == here.from.part && below(p);
        line.extend(system.pipes.iter().filter(above));
        next += 1;
        if next > system.pipes.len() {
            break;
        }
    }
    None
}

/// Holes in the wall that the view faces, with their places on paper.
fn holes<'a>(plan: &'a CupboardPlan, view: &'a View) -> impl Iterator<Item = (&'a Route, P2)> {
    let wall = view.section.map(|s| s.wall);
    plan.routes.iter().filter_map(move |r| {
        let exit = r.exit.as_ref().filter(|e| Some(e.side) == wall)?;
        Some((r, view.point(exit.at)))
    })
}

/// Places on the run that nothing nearer hides, the nearest to its middle first; never empty.
fn open_places(run: &Run, bodies: &[(&Solid, Rect)], view: &View, runs: &[Run]) -> Vec<P2> {
    let at = |t: f64| {
        P2::new(run.from.x + (run.to.x - run.from.x) * t, run.from.y + (run.to.y - run.from.y) * t)
    };
    let hidden = |p: P2| {
        let spot = Rect::new(p.x - 1.5, p.y - 1.5, 3.0, 3.0);
        bodies.iter().any(|(s, r)| view.front_of(&s.at) > run.nearness && r.overlaps(&spot))
            || runs
                .iter()
                .any(|o| o.id != run.id && o.nearness >= run.nearness && o.strip().overlaps(&spot))
    };
    const TRIES: [f64; 9] = [0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.12, 0.88];
    let open: Vec<P2> = TRIES.into_iter().map(at).filter(|p| !hidden(*p)).collect();
    if open.is_empty() { vec![at(0.5)] } else { open }
}
