//! The room itself in a scaled view: walls, door, joists, obstacles, spaces to keep clear. In: the
//! site and a view. Out: items that stand behind everything else, and the door's swing.

use super::arrange::{Free, Wish};
use super::bodies::silhouette;
use super::view::{Projection, View};
use crate::catalogue::limits;
use crate::draw::flags::DOOR;
use crate::draw::scene::{Anchor, Group, Ink, Item, Mark, Seg, Shape, Stroke, Words};
use crate::draw::style::{letters, width};
use crate::layout::cupboard::plan::{CupboardPlan, Solid};
use crate::model::{Cupboard, Door, P2, P3, Rect, Side, System};

fn line(a: P2, b: P2, stroke: Stroke) -> Item {
    Shape::line(&[a, b], stroke).into()
}

/// Walls, floor with joists, door opening.
pub fn room(system: &System, view: &View) -> Vec<Item> {
    let o = view.outline();
    let mut items: Vec<Item> = Vec::new();
    let wall = || Stroke::solid(0.7, Ink::BLACK);
    if view.section.is_some_and(|s| s.upto.is_some()) {
        let (foot, top) = (P2::new(o.right(), o.bottom()), P2::new(o.right(), o.y));
        items.push(
            Shape::line(&[top, P2::new(o.x, o.y), P2::new(o.x, o.bottom()), foot], wall()).into(),
        );
        items.push(Shape::line(&broken_off(o), Stroke::solid(width::THIN, Ink::BLACK)).into());
    } else {
        items.push(Shape::rect(o, Some(wall()), None).into());
    }
    let Some(cupboard) = &system.site.cupboard else { return items };
    if let Some(opening) = opening(system, view) {
        let dash = Stroke::dashed(width::THIN, &[6.0, 1.5, 1.0, 1.5, 1.0, 1.5], Ink::BLACK);
        items.push(Shape::rect(opening, Some(dash), None).into());
    }
    if let (Some(door), Projection::Plan) = (&cupboard.door, view.projection) {
        items.extend(door_in_plan(view, door));
    }
    for obstacle in &cupboard.obstacles {
        let r = view.rect(&obstacle.at);
        if r.right() > o.right() + 0.1 {
            continue;
        }
        items.push(
            Shape::rect(r, Some(Stroke::solid(width::OUTLINE, Ink::BLACK)), Some(Ink::PALE)).into(),
        );
    }
    items.extend(joists(cupboard, view));
    items
}

/// The break line at the right of a view that goes no farther (ISO 128, zigzag).
fn broken_off(o: Rect) -> [P2; 6] {
    let (x, y) = (o.right(), o.centre().y);
    [
        (0.0, o.y - 2.0),
        (0.0, y - 3.0),
        (1.8, y - 1.0),
        (-1.8, y + 1.0),
        (0.0, y + 3.0),
        (0.0, o.bottom() + 2.0),
    ]
    .map(|(off, y)| P2::new(x + off, y))
}

/// The door's opening as it is seen from the front; a section leaves it out with the front wall.
pub fn opening(system: &System, view: &View) -> Option<Rect> {
    if view.projection != Projection::Front || view.section.is_some() {
        return None;
    }
    let door = system.site.cupboard.as_ref()?.door.as_ref()?;
    let a = view.point(P3::new(door.from_left.value, 0.0, 0.0));
    let far = door.from_left.value + door.clear_width.value;
    let b = view.point(P3::new(far, 0.0, door.clear_height.value));
    Some(Rect::new(a.x, b.y, b.x - a.x, a.y - b.y))
}

/// The opening as a gap in the front wall, and the sweep of a leaf that opens inwards.
fn door_in_plan(view: &View, door: &Door) -> Vec<Item> {
    if door.inward { swing(view, door) } else { vec![gap(view, door)] }
}

/// Both ends of the opening on paper, the hinge first.
fn jambs(view: &View, door: &Door) -> (P2, P2) {
    let y = view.room.d;
    let a = view.point(P3::new(door.from_left.value, y, 0.0));
    let b = view.point(P3::new(door.from_left.value + door.clear_width.value, y, 0.0));
    if door.hinge.value == Side::Left { (a, b) } else { (b, a) }
}

fn gap(view: &View, door: &Door) -> Item {
    let (hinge, free) = jambs(view, door);
    line(hinge, free, Stroke::solid(1.2, Ink::WHITE))
}

/// The opening, the leaf open at a right angle, and the arc of its free edge.
fn swing(view: &View, door: &Door) -> Vec<Item> {
    let (hinge, free) = jambs(view, door);
    let leaf = (hinge.x - free.x).abs();
    let down = if door.inward { -leaf } else { leaf };
    let open = P2::new(hinge.x, hinge.y + down);
    let clockwise = (free.x < hinge.x) == (down < 0.0);
    let arc = Shape {
        mark: Mark::None,
        path: vec![Seg::Move(free), Seg::Arc { radius: leaf, large: false, clockwise, to: open }],
        stroke: Some(Stroke::solid(width::THIN, Ink::BLACK)),
        fill: None,
    };
    vec![gap(view, door), line(hinge, open, Stroke::solid(width::OUTLINE, Ink::BLACK)), arc.into()]
}

/// A leaf that opens outwards needs more paper than the plan has: a small plan of its own, with
/// the cylinder for bearings, at the largest scale at which there is room for it.
pub fn door_plan(system: &System, plan: &CupboardPlan, free: &mut Free, most: f64) -> Vec<Item> {
    const SCALES: [f64; 4] = [10.0, 20.0, 50.0, 100.0];
    const HEADING: f64 = 8.0;
    const SKETCH: f64 = 100.0;
    // Its heading is as long.
    const WORDS: f64 = 48.0;
    let cupboard = system.site.cupboard.as_ref();
    let Some(door) = cupboard.and_then(|c| c.door.as_ref()).filter(|d| !d.inward) else {
        return Vec::new();
    };
    let (w, h) = (plan.room.w, plan.room.d + door.clear_width.value);
    let mut fits = |scale: f64| {
        let at = free.take((w / scale).max(WORDS), h / scale + HEADING, Wish::Beside)?;
        Some((scale, at))
    };
    // A sketch: the plan is the drawing.
    let small = |s: &f64| *s > most && h / s <= SKETCH;
    let Some((scale, at)) = SCALES.into_iter().filter(small).find_map(&mut fits) else {
        return Vec::new();
    };
    let view = View::new(Projection::Plan, scale, plan.room, P2::new(at.x, at.y + HEADING));
    let words = format!("DOOR, opening outwards, 1:{scale:.0}");
    let edge = Some(Stroke::solid(width::FRAME, Ink::BLACK));
    let mut items: Vec<Item> = vec![
        Words::new(P2::new(at.x, at.y + 4.0), words, letters::SMALL).bold().into(),
        Shape::rect(view.outline(), edge, None).into(),
    ];
    // What stands on the floor and is big enough to find one's bearings by.
    let big = |s: &&Solid| s.fixed_to == Side::Floor && s.at.w * s.at.d > 60_000.0;
    for solid in plan.solids.iter().filter(big) {
        let thin = Stroke::solid(width::THIN, Ink::GREY);
        items.push(silhouette(solid, &view, thin, None).into());
    }
    items.extend(swing(&view, door));
    let clear = door.clear_width.value - limits::find(&system.rules, "FIT01.clearance").value;
    let wide = |s: &&Solid| s.at.w.min(s.at.d) > clear;
    items.extend(plan.solids.iter().filter(big).filter(wide).map(|s| too_wide(s, &view)));
    let (hinge, free) = jambs(&view, door);
    let at = P2::new((hinge.x + free.x) / 2.0, hinge.y - 2.0);
    let clear = format!("{:.0} clear", door.clear_width.value);
    items.push(Words::new(at, clear, letters::SMALL).anchor(Anchor::Middle).halo().into());
    items
}

/// The outline of what does not pass the door, and how wide it is.
fn too_wide(solid: &Solid, view: &View) -> Item {
    let r = view.rect(&solid.at);
    let (a, b) = if solid.at.w <= solid.at.d {
        (P2::new(r.x, r.centre().y), P2::new(r.right(), r.centre().y))
    } else {
        (P2::new(r.centre().x, r.y), P2::new(r.centre().x, r.bottom()))
    };
    let red = || Stroke::solid(width::SYMBOL, Ink::ALARM);
    let mut items: Vec<Item> =
        vec![silhouette(solid, view, Stroke::solid(width::OUTLINE, Ink::ALARM), None).into()];
    items.push(line(a, b, red()));
    // Oblique strokes end a dimension.
    for p in [a, b] {
        items.push(line(P2::new(p.x - 0.9, p.y + 0.9), P2::new(p.x + 0.9, p.y - 0.9), red()));
    }
    let text = format!("{} {:.0}", solid.tag, solid.at.w.min(solid.at.d));
    let at = P2::new(r.centre().x, r.centre().y - 1.2);
    let words = Words::new(at, text, letters::SMALL).bold().ink(Ink::ALARM);
    items.push(words.anchor(Anchor::Middle).halo().into());
    Group { mark: Mark::Of(DOOR.to_owned()), title: None, items }.into()
}

/// Joists as the floor facts say, in the plan.
pub fn joists(cupboard: &Cupboard, view: &View) -> Vec<Item> {
    let chain = || Stroke::dashed(width::THIN, &[6.0, 0.75, 0.75, 0.75], Ink::GREY);
    faces_of_joists(cupboard, view).into_iter().map(|(a, b)| line(a, b, chain())).collect()
}

/// The lines of the joists, as far as a view shows them.
pub fn joist_lines(system: &System, view: &View) -> Vec<(P2, P2)> {
    system.site.cupboard.as_ref().map_or(Vec::new(), |c| faces_of_joists(c, view))
}

fn faces_of_joists(cupboard: &Cupboard, view: &View) -> Vec<(P2, P2)> {
    let Some(joists) = cupboard.joists().filter(|_| view.projection == Projection::Plan) else {
        return Vec::new();
    };
    // Both faces of the joist; without its size the centre line.
    let half = joists.half;
    let faces = if half > 0.0 { vec![-half, half] } else { vec![0.0] };
    let span = [view.room.w, view.room.d][joists.axis];
    let o = view.outline();
    let places = joists.middles.iter().flat_map(|at| faces.iter().map(move |f| at + f));
    places
        .filter(|at| *at > 0.0 && *at < span)
        .map(|at| {
            if joists.axis == 1 {
                let y = view.point(P3::new(0.0, at, 0.0)).y;
                (P2::new(o.x, y), P2::new(o.right(), y))
            } else {
                let x = view.point(P3::new(at, 0.0, 0.0)).x;
                (P2::new(x, o.y), P2::new(x, o.bottom()))
            }
        })
        .collect()
}

/// Service spaces: long-dash-double-dot boxes with a diagonal.
pub fn accesses(plan: &CupboardPlan, view: &View) -> Vec<Item> {
    let clear = || Stroke::dashed(width::THIN, &[6.0, 0.75, 0.5, 0.75, 0.5, 0.75], Ink::GREY);
    let mut items = Vec::new();
    for r in clear_spaces(plan, view) {
        items.push(Shape::rect(r, Some(clear()), None).into());
        items.push(line(P2::new(r.x, r.y), P2::new(r.right(), r.bottom()), clear()));
    }
    items
}

/// What is to be kept clear, as far as it lies in the view. From the front, space towards the door
/// hides what it serves; the plan shows it.
fn clear_spaces(plan: &CupboardPlan, view: &View) -> Vec<Rect> {
    if view.projection == Projection::Front {
        return Vec::new();
    }
    let access = plan.solids.iter().flat_map(|s| &s.access);
    let within = access.map(|a| clipped(view.rect(&a.at), view.outline()));
    within.filter(|r| r.w >= 0.5 && r.h >= 0.5).collect()
}

/// The lines of those spaces where no body lies over them, in short pieces.
pub fn access_lines(plan: &CupboardPlan, view: &View, bodies: &[Rect]) -> Vec<(P2, P2)> {
    const PIECE: f64 = 6.0;
    let mut lines = Vec::new();
    for r in clear_spaces(plan, view) {
        let (a, c) = (P2::new(r.x, r.y), P2::new(r.right(), r.bottom()));
        let (b, d) = (P2::new(c.x, a.y), P2::new(a.x, c.y));
        for (p, q) in [(a, b), (b, c), (c, d), (d, a), (a, c)] {
            let (dx, dy) = (q.x - p.x, q.y - p.y);
            let n = (dx.abs().max(dy.abs()) / PIECE).ceil().max(1.0) as usize;
            let at = |i: usize| {
                let t = i as f64 / n as f64;
                P2::new(p.x + dx * t, p.y + dy * t)
            };
            lines.extend((0..n).map(|i| (at(i), at(i + 1))));
        }
    }
    let under = |(p, q): &(P2, P2)| {
        let middle = Rect::new((p.x + q.x) / 2.0, (p.y + q.y) / 2.0, 0.0, 0.0).grown(0.1);
        bodies.iter().any(|b| b.overlaps(&middle))
    };
    lines.retain(|line| !under(line));
    lines
}

fn clipped(r: Rect, to: Rect) -> Rect {
    let (x, y) = (r.x.max(to.x), r.y.max(to.y));
    let (right, bottom) = (r.right().min(to.right()), r.bottom().min(to.bottom()));
    Rect::new(x, y, (right - x).max(0.0), (bottom - y).max(0.0))
}
