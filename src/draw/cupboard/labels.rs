//! What stands written in a scaled view: a tag for each body, size and service for each long
//! straight, the fall where a pipe must fall, holes in the wall. In: the cupboard and a view.
//! Out: labels, placed, and arrows of flow.

use std::collections::{BTreeMap, BTreeSet};

use super::bodies::{SAG, TAPPING, WALL, arch_points, coils, face};
use super::callouts::{Callouts, Drawn, Placed, has_a_face, kept_clear};
use super::clips::ticks;
use super::lists::UNROUTED;
use super::margins::{Edge, Margin};
use super::pipework::{Run, arrow, pipe_text};
use super::request::Request;
use super::room::{access_lines, joist_lines, opening};
use super::section::kind_of;
use super::services::Told;
use super::spots::{Spots, before, hider, in_sight, open_spots};
use super::view::{Projection, View};
use crate::draw::scene::{Ink, Item};
use crate::layout::cupboard::plan::{CupboardPlan, Exit, Form, Owner, Route, Solid};
use crate::model::{P2, Rect, Side, System};

/// Room for a column of labels beside a view.
pub const LABELS: f64 = 38.0;
/// Room at its left, between it and its dimensions, and above a plan.
pub const LEFT: f64 = 18.0;
pub const TOP: f64 = 14.0;

pub fn is_joint(system: &System, solid: &Solid) -> bool {
    matches!(solid.owner, Owner::Part(ix) if system.part(ix).kind.symbol.name == "tee")
}

/// What is written in a view.
pub struct Labelled {
    pub placed: Placed,
    /// Arrows of flow.
    pub arrows: Vec<Item>,
    /// Bodies that nothing is seen of, by what hides them.
    pub hidden: Vec<(String, Vec<String>)>,
}

/// Labels and arrows: a tag for each body, size and service for each long straight run. Those that
/// find no room stand in the margins.
pub fn labels(
    system: &System,
    plan: &CupboardPlan,
    view: &View,
    runs: &[Run],
    outlined: &[&Solid],
    margins: &[Margin],
) -> Labelled {
    let outline = view.outline();
    let mut callouts = Callouts::default();
    let bodies: Vec<(&Solid, Rect)> = plan.solids.iter().map(|s| (s, view.rect(&s.at))).collect();
    callouts.obstacles.extend(bodies.iter().flat_map(|(_, r)| kept_clear(*r)));
    let faces = bodies.iter().filter(|(_, r)| has_a_face(*r));
    callouts.faces.extend(faces.map(|(s, r)| (s.tag.clone(), *r)));
    callouts.rings.extend(bodies.iter().flat_map(|(s, r)| rings(s, *r, view)));
    callouts.rings.extend(bodies.iter().flat_map(|(s, _)| tappings(system, s, view)));
    callouts.obstacles.extend(runs.iter().flat_map(|run| strips(run, &bodies, view)));
    callouts.pipes.extend(runs.iter().flat_map(|run| drawn(system, run)));
    // A tick at words would be read as their leader.
    let tick = |(a, b): (P2, P2)| Rect::between(a, b).grown(0.4);
    callouts.rings.extend(ticks(plan, view, runs).into_iter().map(tick));
    let legs = bodies.iter().flat_map(|(s, r)| coils(system, s, view, *r));
    callouts
        .faint
        .extend(legs.flat_map(|c| c.windows(2).map(|p| (p[0], p[1])).collect::<Vec<_>>()));
    callouts.faint.extend(bodies.iter().flat_map(|(s, r)| membrane(system, s, *r, view)));
    if let Some(door) = opening(system, view) {
        // It is painted first: what stands before it hides it.
        callouts.faint.extend(sides(door).into_iter().flat_map(|s| uncovered(s, &bodies)));
    }
    let boxes: Vec<Rect> = bodies.iter().map(|(_, r)| *r).collect();
    callouts.faint.extend(access_lines(plan, view, &boxes));
    callouts.faint.extend(joist_lines(system, view));
    callouts.faint.extend(outlined.iter().flat_map(|s| sides(view.rect(&s.at))));
    let mut hidden: BTreeMap<String, Vec<String>> = BTreeMap::new();
    let by = tags(system, view, &bodies, runs, &mut callouts, &mut hidden);
    callouts.requests.extend(outlined.iter().map(|solid| {
        let r = view.rect(&solid.at);
        let at = |t: f64| P2::new(r.right(), r.y + r.h * t);
        Request {
            also: [0.4, 0.5, 0.6, 0.7].map(at).to_vec(),
            inside: Some(r),
            ..Request::new(&solid.tag, format!("{}, outline", solid.tag), at(0.3))
        }
    }));
    let told = Told { system, plan, view, bodies: &bodies, runs };
    let mut arrows = told.along_the_runs(&mut callouts);
    let named: BTreeSet<String> = callouts.requests.iter().map(|r| r.of.clone()).collect();
    for (route, exit, at) in holes(plan, view) {
        let pipe = system.pipe(route.pipe);
        // The floor has many: there only what has no other name in the view.
        let once = exit.side != Side::Floor || !named.contains(&pipe.id);
        if once && in_sight(exit, at, &bodies, view, runs, &pipe.id) {
            callouts.requests.push(Request {
                half: route.od / view.scale / 2.0 + 1.0,
                reach: 4.0,
                // The list of tails tells of it too.
                spare: named.contains(&pipe.id),
                ..Request::new(&pipe.id, format!("{}, hole", pipe_text(pipe)), at)
            });
        }
    }
    told.not_yet_named(&mut callouts);
    for route in plan.routes.iter().filter(|r| !r.routed && r.points.len() > 1) {
        let pipe = system.pipe(route.pipe);
        let (from, to) = (view.point(route.points[0]), view.point(route.points[1]));
        let on = |t: f64| P2::new(from.x + (to.x - from.x) * t, from.y + (to.y - from.y) * t);
        let mut also: Vec<P2> = [0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8].map(on).to_vec();
        // A leader that ends in a small body would be that one's.
        let in_a_body =
            |p: &P2| bodies.iter().any(|(_, r)| !has_a_face(*r) && r.grown(1.0).gap_to(*p) <= 0.0);
        also.sort_by_key(in_a_body);
        let at = also.remove(0);
        arrows.push(arrow(&pipe.id, at, from, to, Ink::ALARM, 1.6));
        callouts.lines.push((from, to));
        let text = format!("{}: {UNROUTED}", pipe_text(pipe));
        callouts.requests.push(Request { half: 0.5, also, ..Request::new(&pipe.id, text, at) });
    }
    let said = |r: &Request| r.short.is_some().then(|| r.of.clone());
    let said: BTreeSet<String> = callouts.requests.iter().filter_map(said).collect();
    let placed = callouts.place(outline, margins);
    for tag in &placed.left_out {
        if let Some(by) = by.get(tag) {
            hidden.entry(by.clone()).or_default().push(tag.clone());
        }
    }
    // What is said beside a tag need not stand in the list.
    hidden.retain(|by, _| {
        let unsaid = placed.shortened.contains(by) || placed.left_out.contains(by);
        !said.contains(by) || unsaid
    });
    Labelled { placed, arrows, hidden: hidden.into_iter().collect() }
}

/// Of a body of which less is seen it is said that it lies behind; beside one of which less is seen
/// no label stands without a leader: it would be what hides it.
const HARDLY: f64 = 0.1;
const MOSTLY: f64 = 0.5;

/// A tag for each body of which something is seen; the rest by what hides them. Returns what hides
/// those of which hardly anything is seen: they may go into that list too.
fn tags(
    system: &System,
    view: &View,
    bodies: &[(&Solid, Rect)],
    runs: &[Run],
    callouts: &mut Callouts,
    hidden: &mut BTreeMap<String, Vec<String>>,
) -> BTreeMap<String, String> {
    let mut may_go = BTreeMap::new();
    let mut tagged: Vec<(&Solid, Rect, Spots)> = Vec::new();
    // A joint has no tag on the drawing: what meets in it is labelled.
    for (solid, r) in bodies.iter().filter(|(s, _)| !is_joint(system, s)) {
        let spots = open_spots(solid, *r, bodies, view, runs);
        let by = hider(system, view, bodies, solid).or_else(|| before(system, view, bodies, solid));
        if let Some(by) = by.filter(|_| spots.seen < HARDLY) {
            may_go.insert(solid.tag.clone(), by.to_owned());
        }
        match by.filter(|_| spots.at.is_empty()) {
            Some(by) => hidden.entry(by.to_owned()).or_default().push(solid.tag.clone()),
            None => tagged.push((solid, *r, spots)),
        }
    }
    for (solid, r, spots) in tagged {
        let behind = hidden.get(&solid.tag).map_or(&[][..], Vec::as_slice);
        let (mut text, mut short) = (solid.tag.clone(), None);
        if spots.seen < HARDLY {
            // Its leader ends on what hides it, or on a corner that nobody would know it by.
            text = format!("{text} {}", beyond(view));
        }
        if (1..=SAID_IN_PLACE).contains(&behind.len()) {
            let long = format!("{text} ({} {})", behind.join(", "), beyond(view));
            short = Some(std::mem::replace(&mut text, long));
        }
        let nearness = view.front_of(&solid.at);
        let over = runs
            .iter()
            .filter(|run| run.nearness < nearness)
            .flat_map(|run| strips(run, bodies, view));
        let mut places = spots.at.into_iter();
        let anchor = places.next().unwrap_or(r.centre());
        callouts.requests.push(Request {
            short,
            also: places.collect(),
            is_tag: true,
            spare: may_go.contains_key(&solid.tag),
            led: spots.seen < MOSTLY,
            inside: Some(r),
            face: Some(face(system, solid, view, r)),
            half: r.w.min(r.h) / 2.0,
            upright: r.h > r.w,
            reach: r.w.max(r.h) / 2.0,
            over: over.filter(|strip| strip.overlaps(&r)).collect(),
            under: bodies
                .iter()
                .filter(|(s, b)| view.front_of(&s.at) > nearness && b.overlaps(&r))
                .map(|(_, b)| *b)
                .collect(),
            ..Request::new(&solid.tag, text, anchor)
        });
    }
    may_go
}

/// The parts of an upright line that no body lies over.
fn uncovered((top, foot): (P2, P2), bodies: &[(&Solid, Rect)]) -> Vec<(P2, P2)> {
    let mut over: Vec<&Rect> =
        bodies.iter().map(|(_, r)| r).filter(|r| r.x < top.x && top.x < r.right()).collect();
    over.sort_by(|a, b| a.y.total_cmp(&b.y));
    let (mut parts, mut from) = (Vec::new(), top.y);
    for r in over {
        parts.push((from, r.y.min(foot.y)));
        from = from.max(r.bottom());
    }
    parts.push((from, foot.y));
    parts.retain(|(a, b)| a < b);
    parts.into_iter().map(|(a, b)| (P2::new(top.x, a), P2::new(top.x, b))).collect()
}

/// The membrane of a vessel, as a view from the side shows it.
fn membrane(system: &System, solid: &Solid, r: Rect, view: &View) -> Vec<(P2, P2)> {
    let shown = kind_of(system, solid).symbol.name == "vessel";
    if !shown || view.projection == Projection::Plan {
        return Vec::new();
    }
    let (left, right) = (P2::new(r.x, r.centre().y), P2::new(r.right(), r.centre().y));
    let low = P2::new(r.centre().x, left.y + r.h * SAG * 0.75);
    vec![(left, low), (low, right)]
}

/// The tappings of a cylinder as the view shows them: words on one would hide it.
fn tappings(system: &System, solid: &Solid, view: &View) -> Vec<Rect> {
    let shown = kind_of(system, solid).symbol.name == "cylinder";
    if !shown || view.projection == Projection::Plan {
        return Vec::new();
    }
    let dot = |at| Rect::at(view.point(at)).grown(TAPPING / view.scale + 0.3);
    solid.ports.iter().map(|p| dot(p.at)).collect()
}

/// The upright edges of what is drawn in a broken line.
pub fn sides(r: Rect) -> [(P2, P2); 2] {
    [r.x, r.right()].map(|x| (P2::new(x, r.y), P2::new(x, r.bottom())))
}

/// The round outlines of a body that is wide enough to write on, in pieces.
fn rings(solid: &Solid, r: Rect, view: &View) -> Vec<Rect> {
    const PIECES: i32 = 48;
    let round = view.projection == Projection::Plan
        && matches!(solid.form, Form::Upright | Form::Domed)
        && has_a_face(r);
    if !round {
        let arch = if has_a_face(r) { arch_points(solid, r, view) } else { Vec::new() };
        return arch.iter().map(|p| Rect::at(*p).grown(0.8)).collect();
    }
    let ring = |radius: f64| {
        let c = r.centre();
        let side = radius * 3.5 / f64::from(PIECES);
        (0..PIECES).map(move |i| {
            let angle = std::f64::consts::TAU * f64::from(i) / f64::from(PIECES);
            let at = P2::new(c.x + radius * libm::cos(angle), c.y + radius * libm::sin(angle));
            Rect::at(at).grown(side.max(0.8))
        })
    };
    let edge = ring(r.w.min(r.h) / 2.0);
    let wall = (solid.form == Form::Upright).then(|| ring(r.w.min(r.h) * WALL));
    edge.chain(wall.into_iter().flatten()).collect()
}

/// What is drawn of a run, by its pipe and what that is called.
fn drawn(system: &System, run: &Run) -> Vec<Drawn> {
    const LINE: f64 = 0.3;
    let Some(pipe) = system.by_id(&run.id) else { return Vec::new() };
    let thin = Run { half: LINE, ..run.clone() };
    let full = run.sight.full.iter().map(|(a, b)| run.piece(*a, *b));
    let broken = run.sight.broken.iter().map(|(a, b)| thin.piece(*a, *b));
    let named = |at: Rect| Drawn { of: run.id.clone(), called: pipe_text(pipe), at };
    full.chain(broken).map(named).collect()
}

/// What a run covers: its whole width where it is seen, a line where it lies behind a body.
fn strips(run: &Run, bodies: &[(&Solid, Rect)], view: &View) -> Vec<Rect> {
    const HIDDEN: f64 = 0.3;
    let whole = run.strip();
    let upright = run.upright();
    let span = |r: &Rect| if upright { (r.y, r.bottom()) } else { (r.x, r.right()) };
    let mut covered: Vec<(f64, f64)> = bodies
        .iter()
        .filter(|(s, r)| view.front_of(&s.at) > run.nearness && r.overlaps(&whole))
        .map(|(_, r)| span(r))
        .collect();
    covered.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (from, to) = span(&whole);
    let part = |a: f64, b: f64, half: f64| {
        if upright {
            Rect::new(run.from.x - half, a, 2.0 * half, b - a)
        } else {
            Rect::new(a, run.from.y - half, b - a, 2.0 * half)
        }
    };
    let mut parts = Vec::new();
    let mut at = from;
    for (a, b) in covered {
        let (a, b) = (a.clamp(at, to), b.clamp(at, to));
        parts.extend((a > at).then(|| part(at, a, run.half)));
        parts.extend((b > a).then(|| part(a, b, HIDDEN.min(run.half))));
        at = b;
    }
    parts.extend((to > at).then(|| part(at, to, run.half)));
    parts
}

/// As many hidden things are named with what hides them; more stand in a list.
const SAID_IN_PLACE: usize = 1;

/// Where what is hidden lies.
pub fn beyond(view: &View) -> &'static str {
    if view.projection == Projection::Plan { "below" } else { "behind" }
}

/// What a sheet leaves beside a view for labels.
pub struct Beside {
    /// How far down they may stand at the right, and how far out.
    pub foot: f64,
    pub right: f64,
    /// How far they may reach at the left, 0 where there is no room, and whether above a plan.
    pub left: f64,
    pub top: bool,
    /// The marks of sections above it.
    pub marks: Vec<Rect>,
}

/// The margins of a view. At the left the lines of the dimensions pass at `levels`.
pub fn margins(view: &View, beside: &Beside, levels: &[f64]) -> Vec<Margin> {
    let o = view.outline();
    let foot = beside.foot;
    let high = if foot < o.bottom() { foot - o.y } else { o.h.max(120.0) };
    let right = Rect::new(o.right(), o.y, beside.right, high);
    let mut all = vec![Margin { edge: Edge::Right, at: right, taken: Vec::new() }];
    if beside.left > 0.0 {
        let at = Rect::new(o.x - beside.left, o.y, beside.left, o.h);
        let taken = levels.iter().map(|y| Rect::new(at.x - LEFT, y - 0.4, at.w + LEFT, 0.8));
        all.push(Margin { edge: Edge::Left, at, taken: taken.collect() });
    }
    if beside.top {
        let at = Rect::new(o.x, o.y - TOP, o.w, TOP);
        all.push(Margin { edge: Edge::Top, at, taken: beside.marks.clone() });
    }
    all
}

/// Holes in what the view faces, with their places on paper.
fn holes<'a>(
    plan: &'a CupboardPlan,
    view: &'a View,
) -> impl Iterator<Item = (&'a Route, &'a Exit, P2)> {
    let faced = match (view.section, view.projection) {
        (Some(section), _) => section.wall,
        (None, Projection::Plan) => Side::Floor,
        _ => Side::Back,
    };
    plan.routes.iter().filter_map(move |r| {
        let exit = r.exit.as_ref().filter(|e| e.side == faced)?;
        Some((r, exit, view.point(exit.at)))
    })
}
