//! The elevation, the plan, and sections that look at a side wall which has something to show. In: the
//! sized system, the cupboard plan, the title data. Out: undressed sheets.

use super::bodies::{body, silhouette};
use super::dimension::{Feature, along_the_bottom, up_the_left};
use super::labels::{LABELS, labels};
use super::lists::{key, scale_bar, tables};
use super::pipework::{LABELLED, Layer, Run, centre_line, layers};
use super::room::{accesses, door_plan, room};
use super::section::{MARK, Section, ghost_line, marks, outlined, sections, seen};
use super::view::{Projection, View, along, choose_scale, readable};
use super::walls::on_the_wall;
use crate::draw::frame::{TitleData, drawing_space, title_block};
use crate::draw::scene::{Anchor, Ink, Item, Mark, Paper, Shape, Sheet, Stroke, Words};
use crate::draw::style::{letters, pen, width};
use crate::layout::cupboard::plan::{CupboardPlan, Form, Solid};
use crate::model::{Box3, P2, P3, Rect, Side, System};
use crate::size::Sized;

/// Room beside a view for one row of dimensions, and above it for its heading.
const DIMENSIONS: f64 = 24.0;
const HEADING: f64 = 8.5;
/// The smallest scale, as 1 to so much, at which pipes side by side can be told apart.
const READABLE: u32 = 10;
/// Width of the tables.
const TABLE: f64 = 98.0;
/// Width of the lists beside a view.
const LISTS: f64 = 125.0;

/// Room below a view: a row of dimensions, and below the plan the marks of the sections.
fn foot_of(projection: Projection) -> f64 {
    if projection == Projection::Plan { 22.0 } else { 18.0 }
}

/// One drawing of the room.
struct Wanted {
    projection: Projection,
    key: String,
    title: String,
    heading: String,
    section: Option<Section>,
}

/// The elevation, the plan, and a section looking at each side wall that has something to show.
pub fn sheets(sized: &Sized, plan: &CupboardPlan, data: &TitleData) -> Vec<Sheet> {
    let cuts = sections(&sized.system, plan);
    let whole = |projection, key: &str, heading: &str| Wanted {
        projection,
        key: key.to_owned(),
        title: format!("Cupboard {key}"),
        heading: heading.to_owned(),
        section: None,
    };
    let mut wanted = vec![
        whole(Projection::Front, "elevation", "ELEVATION"),
        whole(Projection::Plan, "plan", "PLAN"),
    ];
    wanted.extend(cuts.iter().map(|section| Wanted {
        projection: if section.wall == Side::Left { Projection::Left } else { Projection::Right },
        key: format!("elevation-{}", section.wall.key()),
        title: format!("Section {}, {} wall", section.name(), section.wall.key()),
        heading: format!("SECTION {}", section.name()),
        section: Some(*section),
    }));
    wanted.into_iter().map(|w| sheet(sized, plan, data, w, &cuts)).collect()
}

fn sheet(
    sized: &Sized,
    plan: &CupboardPlan,
    data: &TitleData,
    wanted: Wanted,
    cuts: &[Section],
) -> Sheet {
    let projection = wanted.projection;
    let flat = projection == Projection::Plan;
    let real = projection.extent(&plan.room);
    let (paper, scale) = paper_and_scale(projection, &plan.room, data);
    let space = drawing_space(paper);
    let block = title_block(paper, data);
    // In the middle of what the title block leaves at its left, or above it.
    let (w, h) = (real.0 / f64::from(scale), real.1 / f64::from(scale));
    let spare = block.x - space.x - DIMENSIONS - w - LABELS;
    let lower =
        if spare >= 0.0 && !flat { space.h - foot_of(projection) - HEADING - h } else { 0.0 };
    let at = P2::new(
        space.x + DIMENSIONS + (spare / 2.0).max(0.0),
        space.y + HEADING + (lower / 2.0).max(0.0),
    );
    let mut view = View::new(projection, f64::from(scale), plan.room, at);
    view.section = wanted.section;
    let cut_down = wanted.section.map(|s| seen(&sized.system, plan, &s));
    let shown = cut_down.as_ref().unwrap_or(plan);
    let o = view.outline();
    let meets = o.right() + LABELS > block.x && o.bottom() > block.y;
    let labels_to = if meets { block.y - 3.0 } else { o.bottom() };
    let outlined = wanted.section.and_then(|s| outlined(&sized.system, plan, &s));
    let foot = view.outline().bottom() + foot_of(projection);
    let heading = format!("{}, {}", wanted.heading, projection.words());
    let marks = if flat { marks(&view, cuts) } else { Vec::new() };
    let mut words = Words::new(P2::new(at.x, at.y - 4.0), heading, letters::HEADING).bold();
    // Beside the marks of a section, not over them.
    for mark in cuts.iter().filter(|_| flat).map(|s| view.point(P3::new(s.at, 0.0, 0.0)).x) {
        let b = words.on_paper();
        if mark + MARK > b.x && mark - MARK < b.right() {
            words.at.x = mark + MARK;
        }
    }
    let mut items: Vec<Item> = vec![words.into()];
    items.extend(draw(sized, shown, &view, outlined, labels_to));
    items.extend(marks);
    // Lists stand at the right of the view, or below it where the view is wide and low.
    let right = (view.outline().right() + LABELS + 34.0).max(block.x);
    let lists = if right + LISTS <= space.right() {
        P2::new(right, space.y + HEADING)
    } else {
        P2::new(view.at.x, foot + 10.0)
    };
    items.extend(scale_bar(P2::new(lists.x, lists.y), f64::from(scale)));
    let lowest = if lists.x >= block.x { block.y } else { space.bottom() } - 3.0;
    let top = P2::new(lists.x, lists.y + 10.0);
    let (key, wide, high) = key(&sized.system, shown, &view, top, lowest);
    items.push(key);
    let beside = view.outline().right() + LABELS + 2.0;
    let (corner, lowest) = if lists.x >= block.x {
        (P2::new(lists.x, lists.y + 16.0 + high), block.y - 4.0)
    } else if beside + TABLE + 1.0 <= space.right() {
        (P2::new(beside, space.y + HEADING), block.y - 4.0)
    } else {
        (P2::new(lists.x + wide, lists.y + 10.0), space.bottom() - 4.0)
    };
    let right = if lowest < block.y { space.right() } else { block.x };
    let mut room = Rect::new(corner.x, corner.y, right - corner.x - 1.0, 0.0);
    if room.w >= TABLE {
        let (rows, end) = match wanted.section {
            Some(section) => on_the_wall(&sized.system, plan, &view, &section, room, lowest),
            None => tables(&sized.system, plan, room, lowest),
        };
        items.extend(rows);
        room.y = end;
    }
    if flat {
        let beside_it = lists.x >= block.x;
        let at_right = lowest < block.y;
        // Below the tables; under the plan, beside what stands there; right of the plan.
        let below = Rect::new(room.x, room.y, space.right() - 2.0 - room.x, lowest - room.y);
        let x = match (beside_it, at_right || room.w < TABLE) {
            (true, _) => o.x,
            (false, true) => lists.x + wide + 8.0,
            (false, false) => corner.x + TABLE + 6.0,
        };
        let y = foot + 3.0;
        let under = Rect::new(x, y, block.x - 6.0 - x, space.bottom() - 4.0 - y);
        let x = o.right() + LABELS + 4.0;
        let right = Rect::new(x, space.y + 4.0, space.right() - 2.0 - x, block.y - space.y - 8.0);
        let rooms = match (at_right, beside_it) {
            (true, _) => vec![below, under],
            (false, true) => vec![under],
            (false, false) => vec![under, right],
        };
        items.extend(door_plan(&sized.system, plan, &rooms, f64::from(scale)));
    }
    Sheet {
        key: wanted.key,
        title: wanted.title,
        description: describe(&sized.system, shown),
        paper,
        scale: Some(scale),
        items,
    }
}

/// A3, or A2 where only that shows the cupboard at [`READABLE`] or larger.
fn paper_and_scale(projection: Projection, room: &Box3, data: &TitleData) -> (Paper, u32) {
    let real = projection.extent(room);
    let around = foot_of(projection) + HEADING;
    readable(Paper::A3, Paper::A2, READABLE, |paper| {
        let space = drawing_space(paper);
        let block = title_block(paper, data);
        // The view stands to the left of the title block, or above it where it is wide and low.
        // Its column of labels may end above the block.
        let beside = (block.x - space.x - DIMENSIONS - 2.0, space.h - around);
        let above = (space.w - DIMENSIONS - LABELS - 60.0, block.y - space.y - around);
        choose_scale(real, beside).min(choose_scale(real, above))
    })
}

/// One view with its dimensions and labels.
fn draw(
    sized: &Sized,
    plan: &CupboardPlan,
    view: &View,
    outlined: Option<&Solid>,
    labels_to: f64,
) -> Vec<Item> {
    let system = &sized.system;
    let mut items: Vec<Item> = Vec::new();
    items.extend(room(system, view));
    items.extend(accesses(plan, view));
    for route in &plan.routes {
        items.push(centre_line(system, route, view));
    }
    let (painted, runs) = painted(system, plan, view);
    items.extend(painted);
    items.extend(behind(system, plan, view, &runs));
    items.extend(links(system, plan, view));
    items.extend(clips(plan, view));
    if let Some(solid) = outlined {
        let shape = silhouette(solid, view, ghost_line(), None);
        items.push(shape.mark(Mark::Of(solid.tag.clone())).into());
    }
    let (labels, arrows) = labels(system, plan, view, &runs, outlined, labels_to);
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

/// What joins what where no route was found, over everything: it is no pipe.
fn links(system: &System, plan: &CupboardPlan, view: &View) -> Vec<Item> {
    let unrouted = plan.routes.iter().filter(|r| !r.routed && r.points.len() > 1);
    unrouted
        .map(|r| {
            let points: Vec<P2> = r.points.iter().map(|p| view.point(*p)).collect();
            let stroke = Stroke::dashed(0.7, &[3.0, 1.5], Ink::ALARM);
            let of = Mark::Of(system.pipe(r.pipe).id.clone());
            Shape::line(&points, stroke).mark(of).into()
        })
        .collect()
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
    let exits = plan.routes.iter().filter_map(|r| r.exit.as_ref());
    for exit in exits.filter(|e| view.section.is_some_and(|s| s.wall == e.side)) {
        feature(exit.at, across);
        feature(exit.at, up);
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
            datum(o.right() + 1.5, o.bottom() + 17.8, Anchor::End, "BACK WALL"),
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
