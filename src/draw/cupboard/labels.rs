//! What stands written in a scaled view: a tag for each body, size and service for each long
//! straight, the fall where a pipe must fall, holes in the wall. In: the cupboard and a view.
//! Out: labels, placed, and arrows of flow.

use std::collections::BTreeMap;

use super::bodies::{WALL, coils};
use super::callouts::{Callouts, Placed, Request, has_a_face, kept_clear};
use super::lists::UNROUTED;
use super::margins::{Edge, Margin};
use super::pipework::{LABELLED, Run, arrow, pipe_text};
use super::room::opening;
use super::view::{Projection, View};
use crate::draw::scene::{Ink, Item};
use crate::draw::style::pen;
use crate::layout::cupboard::plan::{CupboardPlan, Form, Owner, Route, Solid};
use crate::model::{P2, Pipe, Rect, Service, System};

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
    outlined: Option<&Solid>,
    margins: &[Margin],
) -> Labelled {
    let outline = view.outline();
    let mut callouts = Callouts::default();
    let bodies: Vec<(&Solid, Rect)> = plan.solids.iter().map(|s| (s, view.rect(&s.at))).collect();
    callouts.obstacles.extend(bodies.iter().flat_map(|(_, r)| kept_clear(*r)));
    callouts.rings.extend(bodies.iter().flat_map(|(s, r)| rings(s, *r, view)));
    callouts.obstacles.extend(runs.iter().flat_map(|run| strips(run, &bodies, view)));
    let legs = bodies.iter().flat_map(|(s, r)| coils(system, s, view, *r));
    callouts
        .faint
        .extend(legs.flat_map(|c| c.windows(2).map(|p| (p[0], p[1])).collect::<Vec<_>>()));
    if let (Some(door), Projection::Front) = (opening(system, view), view.projection) {
        callouts.faint.extend(sides(door));
    }
    callouts.faint.extend(outlined.iter().flat_map(|s| sides(view.rect(&s.at))));
    let mut hidden: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    let mut tagged: Vec<(&Solid, Rect, Vec<P2>)> = Vec::new();
    // A joint has no tag on the drawing: what meets in it is labelled.
    for (solid, r) in bodies.iter().filter(|(s, _)| !is_joint(system, s)) {
        let spots = open_spots(solid, *r, &bodies, view, runs);
        let by = hider(system, view, &bodies, solid)
            .or_else(|| before(system, view, &bodies, solid))
            .filter(|_| spots.is_empty());
        match by {
            Some(by) => hidden.entry(by).or_default().push(&solid.tag),
            None => tagged.push((solid, *r, spots)),
        }
    }
    for (solid, r, mut spots) in tagged {
        let behind = hidden.get(solid.tag.as_str()).map_or(&[][..], Vec::as_slice);
        let mut text = solid.tag.clone();
        if (1..=SAID_IN_PLACE).contains(&behind.len()) {
            text = format!("{text} ({} {})", behind.join(", "), beyond(view));
            hidden.remove(solid.tag.as_str());
        }
        let nearness = view.front_of(&solid.at);
        let over = runs
            .iter()
            .filter(|run| run.nearness < nearness)
            .flat_map(|run| strips(run, &bodies, view));
        let anchor = if spots.is_empty() { r.centre() } else { spots.remove(0) };
        callouts.requests.push(Request {
            of: solid.tag.clone(),
            text,
            anchor,
            also: spots,
            inside: Some(r),
            half: r.w.min(r.h) / 2.0,
            upright: r.h > r.w,
            reach: r.w.max(r.h) / 2.0,
            over: over.filter(|strip| strip.overlaps(&r)).collect(),
            under: bodies
                .iter()
                .filter(|(s, b)| view.front_of(&s.at) > nearness && b.overlaps(&r))
                .map(|(_, b)| *b)
                .collect(),
        });
    }
    let hidden = hidden
        .into_iter()
        .map(|(by, tags)| (by.to_owned(), tags.into_iter().map(str::to_owned).collect()))
        .collect();
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
            over: Vec::new(),
            under: Vec::new(),
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
            over: Vec::new(),
            under: Vec::new(),
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
            over: Vec::new(),
            under: Vec::new(),
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
            over: Vec::new(),
            under: Vec::new(),
        });
    }
    Labelled { placed: callouts.place(outline, margins), arrows, hidden }
}

/// The upright edges of what is drawn in a broken line.
fn sides(r: Rect) -> [(P2, P2); 2] {
    [r.x, r.right()].map(|x| (P2::new(x, r.y), P2::new(x, r.bottom())))
}

/// The outlines of a round body that is wide enough to write on, in pieces.
fn rings(solid: &Solid, r: Rect, view: &View) -> Vec<Rect> {
    const PIECES: i32 = 48;
    let round = view.projection == Projection::Plan
        && matches!(solid.form, Form::Upright | Form::Domed)
        && has_a_face(r);
    if !round {
        return Vec::new();
    }
    let ring = |radius: f64| {
        let c = r.centre();
        let side = radius * 3.5 / f64::from(PIECES);
        (0..PIECES).map(move |i| {
            let angle = std::f64::consts::TAU * f64::from(i) / f64::from(PIECES);
            let at = P2::new(c.x + radius * libm::cos(angle), c.y + radius * libm::sin(angle));
            Rect::new(at.x, at.y, 0.0, 0.0).grown(side.max(0.8))
        })
    };
    let edge = ring(r.w.min(r.h) / 2.0);
    let wall = (solid.form == Form::Upright).then(|| ring(r.w.min(r.h) * WALL));
    edge.chain(wall.into_iter().flatten()).collect()
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
    /// True where there is room at the left.
    pub left: bool,
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
    if beside.left {
        let at = Rect::new(o.x - LEFT, o.y, LEFT, o.h);
        let taken = levels.iter().map(|y| Rect::new(at.x - LEFT, y - 0.4, 2.0 * LEFT, 0.8));
        all.push(Margin { edge: Edge::Left, at, taken: taken.collect() });
    }
    if view.projection == Projection::Plan {
        let at = Rect::new(o.x, o.y - TOP, o.w, TOP);
        all.push(Margin { edge: Edge::Top, at, taken: beside.marks.clone() });
    }
    all
}

/// Places on a body that nothing nearer hides, the nearest to its middle first.
fn open_spots(
    solid: &Solid,
    r: Rect,
    bodies: &[(&Solid, Rect)],
    view: &View,
    runs: &[Run],
) -> Vec<P2> {
    const GRID: i32 = 3;
    const SPOTS: usize = 5;
    let front = view.front_of(&solid.at);
    let nearer: Vec<Rect> = bodies
        .iter()
        .filter(|(s, b)| s.tag != solid.tag && view.front_of(&s.at) > front && b.overlaps(&r))
        .map(|(_, b)| *b)
        .chain(runs.iter().filter(|run| run.nearness > front).map(Run::strip))
        .collect();
    let c = r.centre();
    let mut steps: Vec<(i32, i32)> =
        (-GRID..=GRID).flat_map(|i| (-GRID..=GRID).map(move |j| (i, j))).collect();
    steps.sort_by_key(|(i, j)| (i * i + j * j, *j, *i));
    let part = |v: f64, i: i32| v * 0.42 * f64::from(i) / f64::from(GRID);
    steps
        .into_iter()
        .map(|(i, j)| P2::new(c.x + part(r.w, i), c.y + part(r.h, j)))
        .filter(|p| {
            let spot = Rect::new(p.x, p.y, 0.0, 0.0).grown(0.3);
            !nearer.iter().any(|n| n.overlaps(&spot))
        })
        .take(SPOTS)
        .collect()
}

/// The nearest body to the eye that hides the whole of this one, which then has no place of its own
/// for a leader to end.
fn hider<'a>(
    system: &System,
    view: &View,
    bodies: &[(&'a Solid, Rect)],
    of: &Solid,
) -> Option<&'a str> {
    const HAIR: f64 = 0.2;
    let own = view.rect(&of.at);
    nearest_before(system, view, bodies, of, &|r| {
        r.x < own.x + HAIR
            && r.y < own.y + HAIR
            && r.right() > own.right() - HAIR
            && r.bottom() > own.bottom() - HAIR
    })
}

/// The nearest body to the eye that hides the middle of another.
fn before<'a>(
    system: &System,
    view: &View,
    bodies: &[(&'a Solid, Rect)],
    of: &Solid,
) -> Option<&'a str> {
    let middle = view.rect(&of.at).centre();
    let spot = Rect::new(middle.x, middle.y, 0.0, 0.0).grown(0.1);
    nearest_before(system, view, bodies, of, &|r| r.overlaps(&spot))
}

/// The nearest body to the eye, no joint, that lies before another and covers what it must.
fn nearest_before<'a>(
    system: &System,
    view: &View,
    bodies: &[(&'a Solid, Rect)],
    of: &Solid,
    covers: &dyn Fn(&Rect) -> bool,
) -> Option<&'a str> {
    let front = view.front_of(&of.at);
    bodies
        .iter()
        .filter(|(s, r)| s.tag != of.tag && view.front_of(&s.at) > front && covers(r))
        .filter(|(s, _)| !is_joint(system, s))
        .max_by(|(a, _), (b, _)| view.front_of(&a.at).total_cmp(&view.front_of(&b.at)))
        .map(|(s, _)| s.tag.as_str())
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
