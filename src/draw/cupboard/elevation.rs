//! The elevation and plan sheet, and side elevations where something hangs on a side wall. In: the
//! sized system, the cupboard plan, the title data. Out: undressed sheets.

use super::bodies::body;
use super::callouts::{Callouts, Request, kept_clear};
use super::columns::Column;
use super::dimension::{Feature, along_the_bottom, up_the_left};
use super::lists::{key, scale_bar, tables};
use super::pipework::{LABELLED, Layer, Run, arrow, centre_line, layers, pipe_text};
use super::view::{Projection, View, along, choose_scale, readable};
use crate::draw::frame::{TitleData, drawing_space, title_block};
use crate::draw::scene::{Anchor, Ink, Item, Mark, Paper, Shape, Sheet, Stroke, Words};
use crate::draw::style::{letters, pen, width};
use crate::layout::cupboard::plan::{CupboardPlan, Form, Owner, Solid};
use crate::model::{P2, P3, Rect, Side, System};
use crate::size::Sized;

/// Room beside a view for one row of dimensions, and for the column of labels.
const DIMENSIONS: f64 = 24.0;
const FOOT: f64 = 22.0;
const LABELS: f64 = 34.0;
const HEADING: f64 = 9.0;
/// The smallest scale, as 1 to so much, at which pipes side by side can be told apart.
const READABLE: u32 = 10;
/// Width of the tables.
const TABLE: f64 = 98.0;
/// Width of the lists beside a view.
const LISTS: f64 = 125.0;

/// The elevation, the plan, and a sheet for each side wall that carries something.
pub fn sheets(sized: &Sized, plan: &CupboardPlan, data: &TitleData) -> Vec<Sheet> {
    let side = |wall: Side| plan.solids.iter().any(|s| s.fixed_to == wall);
    [
        (true, Projection::Front, "elevation", "Cupboard elevation"),
        (true, Projection::Plan, "plan", "Cupboard plan"),
        (side(Side::Left), Projection::Left, "elevation-left", "Side elevation, left wall"),
        (side(Side::Right), Projection::Right, "elevation-right", "Side elevation, right wall"),
    ]
    .into_iter()
    .filter(|(wanted, ..)| *wanted)
    .map(|(_, projection, key, title)| sheet(sized, plan, data, projection, key, title))
    .collect()
}

fn sheet(
    sized: &Sized,
    plan: &CupboardPlan,
    data: &TitleData,
    projection: Projection,
    key_name: &str,
    title: &str,
) -> Sheet {
    let real = projection.extent(&plan.room);
    let (paper, scale) = paper_and_scale(real, data);
    let space = drawing_space(paper);
    let block = title_block(paper, data);
    // In the middle of what the title block leaves at its left, or above it.
    let (w, h) = (real.0 / f64::from(scale), real.1 / f64::from(scale));
    let spare = block.x - space.x - DIMENSIONS - w - LABELS;
    let lower = if spare >= 0.0 { space.h - FOOT - HEADING - h } else { 0.0 };
    let at = P2::new(
        space.x + DIMENSIONS + (spare / 2.0).max(0.0),
        space.y + HEADING + (lower / 2.0).max(0.0),
    );
    let view = View { projection, scale: f64::from(scale), room: plan.room, at };
    let heading = if projection == Projection::Plan { "PLAN" } else { "ELEVATION" };
    let mut items = draw(sized, plan, &view, heading);
    // Lists stand at the right of the view, or below it where the view is wide and low.
    let right = (view.outline().right() + LABELS + 34.0).max(block.x);
    let lists = if right + LISTS <= space.right() {
        P2::new(right, space.y + HEADING)
    } else {
        P2::new(at.x, view.outline().bottom() + FOOT + 10.0)
    };
    items.extend(scale_bar(P2::new(lists.x, lists.y), f64::from(scale)));
    let foot = if lists.x >= block.x { block.y } else { space.bottom() } - 3.0;
    let top = P2::new(lists.x, lists.y + 10.0);
    let (key, wide, high) = key(&sized.system, plan, projection, top, foot);
    items.push(key);
    let beside = view.outline().right() + LABELS + 2.0;
    let (corner, foot) = if lists.x >= block.x {
        (P2::new(lists.x, lists.y + 16.0 + high), block.y - 4.0)
    } else if beside + TABLE + 1.0 <= space.right() {
        (P2::new(beside, space.y + HEADING), block.y - 4.0)
    } else {
        (P2::new(lists.x + wide, lists.y + 10.0), space.bottom() - 4.0)
    };
    let right = if foot < block.y { space.right() } else { block.x };
    let room = Rect::new(corner.x, corner.y, right - corner.x - 1.0, 0.0);
    if room.w >= TABLE {
        items.extend(tables(&sized.system, plan, room, foot));
    }
    Sheet {
        key: key_name.to_owned(),
        title: title.to_owned(),
        description: describe(&sized.system, plan),
        paper,
        scale: Some(scale),
        items,
    }
}

/// A3, or A2 where only that shows the cupboard at [`READABLE`] or larger.
fn paper_and_scale(real: (f64, f64), data: &TitleData) -> (Paper, u32) {
    readable(Paper::A3, Paper::A2, READABLE, |paper| {
        let space = drawing_space(paper);
        let block = title_block(paper, data);
        // The view stands to the left of the title block, or above it where it is wide and low.
        let beside = (block.x - space.x - DIMENSIONS - LABELS, space.h - FOOT - HEADING);
        let above = (space.w - DIMENSIONS - LABELS - 60.0, block.y - space.y - FOOT - HEADING);
        choose_scale(real, beside).min(choose_scale(real, above))
    })
}

/// One view with its heading, dimensions and labels.
fn draw(sized: &Sized, plan: &CupboardPlan, view: &View, heading: &str) -> Vec<Item> {
    let system = &sized.system;
    let outline = view.outline();
    let mut items: Vec<Item> = Vec::new();
    let heading = format!("{heading}, {}", view.projection.words());
    let at = P2::new(outline.x, outline.y - 4.0);
    items.push(Words::new(at, heading, letters::HEADING).bold().into());
    items.extend(room(system, view));
    items.extend(accesses(plan, view));
    for route in &plan.routes {
        items.push(centre_line(system, route, view));
    }
    let (painted, runs) = painted(system, plan, view);
    items.extend(painted);
    items.extend(behind(system, plan, view, &runs));
    items.extend(clips(plan, view));
    let (labels, arrows) = labels(system, plan, view, &runs);
    items.extend(arrows);
    items.extend(labels);
    items.extend(faults(plan, view));
    items.extend(dimensions(plan, view, &runs));
    items
}

/// Everything with a depth, farthest first.
fn painted(system: &System, plan: &CupboardPlan, view: &View) -> (Vec<Item>, Vec<Run>) {
    let mut stack: Vec<Layer> = plan
        .solids
        .iter()
        .map(|s| Layer { nearness: view.front_of(&s.at), items: vec![body(system, s, view)] })
        .collect();
    let mut runs = Vec::new();
    for route in &plan.routes {
        let (layers, straights) = layers(system, route, view);
        stack.extend(layers);
        runs.extend(straights);
    }
    // Stable: equal depths keep the order of the graph.
    stack.sort_by(|a, b| a.nearness.total_cmp(&b.nearness));
    (stack.into_iter().flat_map(|l| l.items).collect(), runs)
}

fn line(a: P2, b: P2, stroke: Stroke) -> Item {
    Shape::line(&[a, b], stroke).into()
}

/// Walls, floor with joists, door opening.
fn room(system: &System, view: &View) -> Vec<Item> {
    let o = view.outline();
    let mut items: Vec<Item> = Vec::new();
    let wall = || Stroke::solid(0.7, Ink::BLACK);
    items.push(Shape::rect(o, Some(wall()), None).into());
    let Some(cupboard) = &system.site.cupboard else { return items };
    if let (Some(door), Projection::Front) = (&cupboard.door, view.projection) {
        let a = view.point(P3::new(door.from_left.value, 0.0, 0.0));
        let b = view.point(P3::new(
            door.from_left.value + door.clear_width.value,
            0.0,
            door.clear_height.value,
        ));
        let opening = Rect::new(a.x, b.y, b.x - a.x, a.y - b.y);
        let dash = Stroke::dashed(width::THIN, &[6.0, 1.5, 1.0, 1.5, 1.0, 1.5], Ink::BLACK);
        items.push(Shape::rect(opening, Some(dash), None).into());
    }
    if let (Some(door), Projection::Plan) = (&cupboard.door, view.projection) {
        items.extend(door_in_plan(view, door));
    }
    for obstacle in &cupboard.obstacles {
        let r = view.rect(&obstacle.at);
        items.push(
            Shape::rect(r, Some(Stroke::solid(width::OUTLINE, Ink::BLACK)), Some(Ink::PALE)).into(),
        );
    }
    items.extend(joists(&cupboard.floor.attrs, view));
    items
}

/// The opening as a gap in the front wall, and the leaf's sweep.
fn door_in_plan(view: &View, door: &crate::model::Door) -> Vec<Item> {
    let y = view.room.d;
    let a = view.point(P3::new(door.from_left.value, y, 0.0));
    let b = view.point(P3::new(door.from_left.value + door.clear_width.value, y, 0.0));
    let mut items = vec![line(a, b, Stroke::solid(1.2, Ink::WHITE))];
    let (hinge, free) = if door.hinge.value == Side::Left { (a, b) } else { (b, a) };
    let leaf = (a.x - b.x).abs();
    let down = if door.inward { -leaf } else { leaf };
    let thin = || Stroke::solid(width::THIN, Ink::BLACK);
    let open = P2::new(hinge.x, hinge.y + down);
    // An outward leaf would run into the dimensions: only a stub of it is shown.
    let shown = if door.inward { 1.0 } else { (2.5 / leaf).min(1.0) };
    items.push(line(hinge, P2::new(hinge.x, hinge.y + down * shown), thin()));
    if door.inward {
        let clockwise = (free.x < hinge.x) == (down < 0.0);
        let arc = Shape {
            mark: Mark::None,
            path: vec![
                crate::draw::scene::Seg::Move(free),
                crate::draw::scene::Seg::Arc { radius: leaf, large: false, clockwise, to: open },
            ],
            stroke: Some(Stroke::dashed(width::THIN, &[3.0, 1.0], Ink::BLACK)),
            fill: None,
        };
        items.push(arc.into());
    }
    items
}

/// Joists as the floor facts say, in the plan.
pub fn joists(floor: &crate::model::Attrs, view: &View) -> Vec<Item> {
    let (Some(direction), Some(centres)) = (floor.text("joists"), floor.number("centres")) else {
        return Vec::new();
    };
    if centres < 50.0 {
        return Vec::new();
    }
    let first = floor.number("first").unwrap_or(centres / 2.0);
    let chain = || Stroke::dashed(width::THIN, &[6.0, 0.75, 0.75, 0.75], Ink::GREY);
    // Joists that run left to right are met going from the back to the front, and the other way.
    let along_x = direction == "left-right";
    let span = if along_x { view.room.d } else { view.room.w };
    let places = (0..).map(|i| first + f64::from(i) * centres).take_while(|at| *at < span);
    if view.projection != Projection::Plan {
        return Vec::new();
    }
    // Both faces of the joist; without its size the centre line.
    let half = floor.number("joist-width").unwrap_or(0.0) / 2.0;
    let faces = if half > 0.0 { vec![-half, half] } else { vec![0.0] };
    let o = view.outline();
    let mut items = Vec::new();
    for at in places.flat_map(|at| faces.iter().map(move |f| at + f)).filter(|at| *at < span) {
        if along_x {
            let y = view.point(P3::new(0.0, at, 0.0)).y;
            items.push(line(P2::new(o.x, y), P2::new(o.right(), y), chain()));
        } else {
            let x = view.point(P3::new(at, 0.0, 0.0)).x;
            items.push(line(P2::new(x, o.y), P2::new(x, o.bottom()), chain()));
        }
    }
    items
}

/// Service spaces: long-dash-double-dot boxes with a diagonal.
fn accesses(plan: &CupboardPlan, view: &View) -> Vec<Item> {
    // From the front, space towards the door hides what it serves; the plan shows it.
    if view.projection == Projection::Front {
        return Vec::new();
    }
    let clear = || Stroke::dashed(width::THIN, &[6.0, 0.75, 0.5, 0.75, 0.5, 0.75], Ink::GREY);
    let mut items = Vec::new();
    for access in plan.solids.iter().flat_map(|s| &s.access) {
        let o = view.outline();
        let r = clipped(view.rect(&access.at), o);
        if r.w < 0.5 || r.h < 0.5 {
            continue;
        }
        items.push(Shape::rect(r, Some(clear()), None).into());
        items.push(line(P2::new(r.x, r.y), P2::new(r.right(), r.bottom()), clear()));
    }
    items
}

fn clipped(r: Rect, to: Rect) -> Rect {
    let (x, y) = (r.x.max(to.x), r.y.max(to.y));
    let (right, bottom) = (r.right().min(to.right()), r.bottom().min(to.bottom()));
    Rect::new(x, y, (right - x).max(0.0), (bottom - y).max(0.0))
}

/// Pipes behind a body, as hidden lines over it.
fn behind(system: &System, plan: &CupboardPlan, view: &View, runs: &[Run]) -> Vec<Item> {
    let mut items = Vec::new();
    for run in runs {
        let Some(pipe) = system.pipes.iter().find(|p| p.id == run.id) else { continue };
        for solid in plan.solids.iter().filter(|s| view.front_of(&s.at) > run.nearness) {
            let r = view.rect(&solid.at);
            let (x0, x1) = (run.from.x.min(run.to.x), run.from.x.max(run.to.x));
            let (y0, y1) = (run.from.y.min(run.to.y), run.from.y.max(run.to.y));
            let (a, b) =
                (P2::new(x0.max(r.x), y0.max(r.y)), P2::new(x1.min(r.right()), y1.min(r.bottom())));
            if b.x < a.x || b.y < a.y || (b.x - a.x) + (b.y - a.y) < 2.0 {
                continue;
            }
            let stroke = Stroke::dashed(width::THIN, &[2.4, 0.9], pen(pipe.service).ink);
            items.push(Shape::line(&[a, b], stroke).mark(Mark::Of(run.id.clone())).into());
        }
    }
    items
}

/// A short tick across the pipe at each clip.
fn clips(plan: &CupboardPlan, view: &View) -> Vec<Item> {
    let mut items = Vec::new();
    for route in &plan.routes {
        for clip in &route.clips {
            let near = nearest_segment(&route.points, *clip);
            let (a, b) = (view.point(near.0), view.point(near.1));
            let at = view.point(*clip);
            let half = route.od / view.scale / 2.0 + 0.8;
            let across = if (a.x - b.x).abs() > (a.y - b.y).abs() {
                (P2::new(at.x, at.y - half), P2::new(at.x, at.y + half))
            } else {
                (P2::new(at.x - half, at.y), P2::new(at.x + half, at.y))
            };
            items.push(line(across.0, across.1, Stroke::solid(width::SYMBOL, Ink::BLACK)));
        }
    }
    items
}

fn nearest_segment(points: &[P3], at: P3) -> (P3, P3) {
    let off = |a: &P3, b: &P3| {
        let within = |v: f64, p: f64, q: f64| (v - v.clamp(p.min(q), p.max(q))).abs();
        within(at.x, a.x, b.x) + within(at.y, a.y, b.y) + within(at.z, a.z, b.z)
    };
    points
        .windows(2)
        .min_by(|p, q| off(&p[0], &p[1]).total_cmp(&off(&q[0], &q[1])))
        .map_or((at, at), |p| (p[0], p[1]))
}

pub fn is_joint(system: &System, solid: &Solid) -> bool {
    matches!(solid.owner, Owner::Part(ix) if system.part(ix).kind.symbol.name == "tee")
}

/// Labels and arrows: a tag for each body, size and service for each long straight run.
fn labels(
    system: &System,
    plan: &CupboardPlan,
    view: &View,
    runs: &[Run],
) -> (Vec<Item>, Vec<Item>) {
    let outline = view.outline();
    let mut callouts = Callouts::default();
    let bodies: Vec<(&Solid, Rect)> = plan.solids.iter().map(|s| (s, view.rect(&s.at))).collect();
    callouts.obstacles.extend(bodies.iter().flat_map(|(_, r)| kept_clear(*r)));
    callouts.obstacles.extend(runs.iter().map(Run::strip));
    // A joint has no tag on the drawing: what meets in it is labelled.
    for (solid, r) in bodies.iter().filter(|(s, _)| !is_joint(system, s)) {
        callouts.requests.push(Request {
            of: solid.tag.clone(),
            text: solid.tag.clone(),
            anchor: r.centre(),
            also: Vec::new(),
            inside: Some(*r),
            half: r.w.min(r.h) / 2.0,
            upright: r.h > r.w,
            reach: r.w.max(r.h) / 2.0,
        });
    }
    let mut arrows = Vec::new();
    for run in runs.iter().filter(|r| r.real_length() > LABELLED) {
        let Some(pipe) = system.pipes.iter().find(|p| p.id == run.id) else { continue };
        let mut places = open_places(run, &bodies, view, runs);
        let at = places.remove(0);
        let size = (run.half * 2.0 - 0.7).clamp(1.0, 2.5);
        arrows.push(arrow(&run.id, at, run.from, run.to, pen(pipe.service).ink, size));
        callouts.requests.push(Request {
            of: run.id.clone(),
            text: pipe_text(pipe),
            anchor: at,
            also: places,
            inside: None,
            half: run.half,
            upright: run.upright(),
            reach: 8.0,
        });
    }
    for route in plan.routes.iter().filter(|r| !r.routed && r.points.len() > 1) {
        let pipe = system.pipe(route.pipe);
        let (from, to) = (view.point(route.points[0]), view.point(route.points[1]));
        let at = P2::new((from.x + to.x) / 2.0, (from.y + to.y) / 2.0);
        arrows.push(arrow(&pipe.id, at, from, to, Ink::ALARM, 1.6));
        callouts.lines.push((from, to));
        callouts.requests.push(Request {
            of: pipe.id.clone(),
            text: format!("{}, no way found", pipe_text(pipe)),
            anchor: at,
            also: Vec::new(),
            inside: None,
            half: 0.5,
            upright: false,
            reach: 0.0,
        });
    }
    let column = Rect::new(outline.right() + 1.0, outline.y, LABELS, outline.h.max(120.0));
    (callouts.place(outline, &[Column { at: column, at_left: false }]), arrows)
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

/// What can't be done, outlined in red.
fn faults(plan: &CupboardPlan, view: &View) -> Vec<Item> {
    plan.faults
        .iter()
        .filter_map(|f| f.at)
        .map(|b| {
            let red = Stroke::dashed(0.7, &[3.0, 1.5], Ink::ALARM);
            Shape::rect(view.rect(&b), Some(red), None).into()
        })
        .collect()
}

/// Running dimensions to centre lines: of pipes along their runs, of bodies at their axes.
fn dimensions(plan: &CupboardPlan, view: &View, runs: &[Run]) -> Vec<Item> {
    let o = view.outline();
    let (across, up) = view.projection.axes();
    let (mut across_of, mut heights) = (Vec::new(), Vec::new());
    let mut feature = |p: P3, axis: char| {
        let paper = view.point(p);
        if axis == across {
            across_of.push(Feature { real: along(axis, p), paper: paper.x });
        } else {
            heights.push(Feature { real: along(axis, p), paper: paper.y });
        }
    };
    let room = plan.room;
    feature(P3::new(room.w, room.d, room.h), across);
    feature(P3::new(room.w, room.d, room.h), up);
    for run in runs.iter().filter(|r| r.real_length() > LABELLED) {
        feature(run.real_from, if run.upright() { across } else { up });
    }
    for solid in plan.solids.iter().filter(|s| {
        matches!(s.form, Form::Upright | Form::Domed | Form::Lying) || s.at.w * s.at.h > 6000.0
    }) {
        let b = solid.at;
        let middle = P3::new(b.x + b.w / 2.0, b.y + b.d / 2.0, b.z + b.h / 2.0);
        feature(middle, across);
        if solid.form == Form::Box || solid.form == Form::Domed {
            feature(middle, up);
        } else {
            feature(P3::new(middle.x, middle.y, b.z + b.h), up);
        }
    }
    let mut items = Vec::new();
    // Drawings that start at the far side still measure from the datum.
    let origin = view.point(P3::new(0.0, 0.0, 0.0));
    let (left, _) = up_the_left(o.x, origin.y, up, heights);
    let (bottom, _) = along_the_bottom(o.bottom(), origin.x, across, across_of);
    items.extend(left);
    items.extend(bottom);
    items.extend(datum_words(view));
    items
}

/// What the two dimension lines measure from, in words.
pub fn datum_words(view: &View) -> Vec<Item> {
    let o = view.outline();
    let datum = |x: f64, y: f64, anchor: Anchor, text: &str| -> Item {
        Words::new(P2::new(x, y), text, letters::SMALL).anchor(anchor).bold().into()
    };
    let foot = o.bottom() + 8.0;
    let left_of = |y: f64, text: &str| datum(o.x - 6.0, y, Anchor::End, text);
    match view.projection {
        Projection::Front => vec![left_of(foot, "LEFT WALL"), left_of(foot - 4.0, "FFL")],
        Projection::Plan => {
            vec![left_of(foot, "LEFT WALL"), datum(o.x - 1.5, o.y - 2.5, Anchor::End, "BACK WALL")]
        }
        Projection::Right => vec![left_of(foot, "BACK WALL"), left_of(foot - 4.0, "FFL")],
        // Seen from inside, the back wall stands at the right.
        Projection::Left => vec![
            datum(o.right() + 3.0, foot, Anchor::Start, "BACK WALL"),
            left_of(foot - 4.0, "FFL"),
        ],
    }
}

/// The view in words.
fn describe(system: &System, plan: &CupboardPlan) -> String {
    let mut text = format!(
        "Cupboard {:.0} wide, {:.0} deep, {:.0} high, mm.",
        plan.room.w, plan.room.d, plan.room.h
    );
    for solid in &plan.solids {
        let b = solid.at;
        text.push_str(&format!(
            " {} at x {:.0}, y {:.0}, z {:.0}.",
            solid.tag,
            b.x + b.w / 2.0,
            b.y + b.d / 2.0,
            b.z
        ));
    }
    text.push_str(&format!(" {} pipes.", plan.routes.len().min(system.pipes.len())));
    text
}
