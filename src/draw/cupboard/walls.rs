//! Setting-out sheets, one for each wall that takes a hole or a fixing and one for the floor: what
//! is marked with a pencil before anything is hung. In: the cupboard plan. Out: A4 sheets with
//! drill centres, core sizes, heights, noggins, and the outline of the cylinder's foot.

use super::callouts::{Callouts, Request};
use super::dimension::{Feature, along_the_bottom, up_the_left};
use super::elevation::{datum_words, joists, scale_bar};
use super::view::{Projection, View, choose_scale};
use crate::catalogue::Mount;
use crate::draw::frame::{TitleData, space_above_block};
use crate::draw::scene::{Ink, Item, Mark, Paper, Shape, Sheet, Stroke, Words};
use crate::draw::style::{letters, width};
use crate::layout::cupboard::plan::{CupboardPlan, Form, Owner, Solid};
use crate::model::{Box3, P2, P3, Rect, Side, System};

const DIMENSIONS: f64 = 24.0;
const LABELS: f64 = 56.0;
const HEADING: f64 = 12.0;
/// Arms of a drill cross, mm on paper.
const ARM: f64 = 2.2;
/// Size of a noggin: beyond the body on both sides, and its height, mm real.
const NOGGIN_OVER: f64 = 50.0;
const NOGGIN_HEIGHT: f64 = 95.0;

pub fn setting_out_sheets(system: &System, plan: &CupboardPlan, data: &TitleData) -> Vec<Sheet> {
    [
        (Side::Back, Projection::Front, "Set-out sheet, back wall"),
        (Side::Left, Projection::Left, "Set-out sheet, left wall"),
        (Side::Right, Projection::Right, "Set-out sheet, right wall"),
        (Side::Floor, Projection::Plan, "Set-out sheet, floor"),
        (Side::Ceiling, Projection::Plan, "Set-out sheet, ceiling"),
    ]
    .into_iter()
    .filter_map(|(side, projection, title)| surface(system, plan, data, side, projection, title))
    .collect()
}

/// What hangs by screws of its own, and what sits in a pipe but needs a hand in front of it; small
/// fittings follow the pipes.
fn worth_marking(system: &System, solid: &Solid) -> bool {
    const HAND: f64 = 90.0;
    let kind = match solid.owner {
        Owner::Part(ix) => system.part(ix).kind,
        Owner::Unit(ix) => system.unit(ix).kind,
    };
    !matches!(kind.mount, Mount::Line | Mount::On) || kind.access >= HAND
}

/// One thing to be marked.
struct Drilled {
    of: String,
    text: String,
    at: P3,
    /// Diameter of the hole, mm real; 0 for a fixing.
    core: f64,
}

fn surface(
    system: &System,
    plan: &CupboardPlan,
    data: &TitleData,
    side: Side,
    projection: Projection,
    title: &str,
) -> Option<Sheet> {
    let fixed: Vec<&Solid> =
        plan.solids.iter().filter(|s| s.fixed_to == side && worth_marking(system, s)).collect();
    let drilled = drilled(system, plan, side, &fixed);
    if drilled.is_empty() {
        return None;
    }
    let paper = Paper::A4_PORTRAIT;
    let space = space_above_block(paper, data).grown(-3.0);
    let room = (space.w - DIMENSIONS - LABELS, space.h - DIMENSIONS - HEADING);
    let real = match projection {
        Projection::Front => (plan.room.w, plan.room.h),
        Projection::Plan => (plan.room.w, plan.room.d),
        _ => (plan.room.d, plan.room.h),
    };
    let scale = choose_scale(real, room);
    let at = P2::new(space.x + DIMENSIONS, space.y + HEADING);
    let view = View { projection, scale: f64::from(scale), room: plan.room, at };
    let mut items: Vec<Item> = Vec::new();
    let heading = format!("{}, {}", title, projection.words());
    items
        .push(Words::new(P2::new(space.x, space.y + 3.5), heading, letters::HEADING).bold().into());
    let outline = view.outline();
    items.push(Shape::rect(outline, Some(Stroke::solid(0.7, Ink::BLACK)), None).into());
    if side == Side::Floor
        && let Some(cupboard) = &system.site.cupboard
    {
        items.extend(joists(&cupboard.floor.attrs, &view));
    }
    for solid in &fixed {
        items.push(foot(solid, &view));
        items.extend(noggin(system, solid, &view));
    }
    let mut callouts = Callouts::default();
    callouts.obstacles.extend(fixed.iter().map(|s| view.rect(&s.at)));
    for d in &drilled {
        let p = view.point(d.at);
        items.extend(cross(p, d.core / view.scale / 2.0, &d.of));
        callouts.obstacles.push(Rect::new(p.x - ARM, p.y - ARM, 2.0 * ARM, 2.0 * ARM));
        callouts.requests.push(Request {
            of: d.of.clone(),
            text: d.text.clone(),
            anchor: p,
            inside: None,
            half: ARM,
            upright: false,
        });
    }
    let column = Rect::new(outline.right() + 1.0, outline.y, LABELS, outline.h.max(60.0));
    items.extend(callouts.place(outline, column));
    items.extend(dimensions(&view, plan, &drilled));
    let below = outline.bottom() + DIMENSIONS;
    if below + 8.0 < space.bottom() {
        items.extend(scale_bar(P2::new(outline.x, below + 5.0), view.scale));
    }
    Some(Sheet {
        key: format!("setting-out-{}", side.key()),
        title: title.to_owned(),
        description: said(&drilled),
        paper,
        scale: Some(scale),
        items,
    })
}

fn drilled(system: &System, plan: &CupboardPlan, side: Side, fixed: &[&Solid]) -> Vec<Drilled> {
    let mut all: Vec<Drilled> = plan
        .routes
        .iter()
        .filter_map(|r| r.exit.as_ref().filter(|e| e.side == side).map(|e| (r, e)))
        .map(|(r, e)| {
            let pipe = system.pipe(r.pipe);
            let size = pipe.size.as_ref().map_or("?", |s| s.value.as_str());
            Drilled {
                of: pipe.id.clone(),
                text: format!("{size} {}, hole Ø{:.0}", pipe.service.letters(), e.core),
                at: e.at,
                core: e.core,
            }
        })
        .collect();
    all.extend(fixed.iter().map(|s| {
        let b = s.at;
        let at = P3::new(b.x + b.w / 2.0, b.y + b.d / 2.0, b.z + b.h / 2.0);
        Drilled { of: s.tag.clone(), text: format!("{} centre", s.tag), at, core: 0.0 }
    }));
    all
}

/// The outline of a body on its surface, dashed: it is not there yet.
fn foot(solid: &Solid, view: &View) -> Item {
    let r = view.rect(&solid.at);
    let stroke = Some(Stroke::dashed(width::SYMBOL, &[3.0, 1.0], Ink::BLACK));
    let round = view.projection == Projection::Plan && solid.form != Form::Box;
    let shape = if round {
        Shape::circle(r.centre(), r.w.min(r.h) / 2.0, stroke, None)
    } else {
        Shape::rect(r, stroke, None)
    };
    shape.mark(Mark::Of(solid.tag.clone())).into()
}

/// Timber in the wall behind what is heavy.
fn noggin(system: &System, solid: &Solid, view: &View) -> Vec<Item> {
    let mass = match solid.owner {
        Owner::Part(ix) => system.part(ix).kind.mass,
        Owner::Unit(ix) => system.unit(ix).kind.mass,
    };
    if mass <= 0.0 || view.projection == Projection::Plan {
        return Vec::new();
    }
    let b = solid.at;
    let across = Box3 {
        x: b.x - NOGGIN_OVER,
        y: b.y - NOGGIN_OVER,
        z: b.z + b.h * 0.6 - NOGGIN_HEIGHT / 2.0,
        w: b.w + 2.0 * NOGGIN_OVER,
        d: b.d + 2.0 * NOGGIN_OVER,
        h: NOGGIN_HEIGHT,
    };
    let (r, o) = (view.rect(&across), view.outline());
    let x = r.x.max(o.x);
    let r = Rect::new(x, r.y, r.right().min(o.right()) - x, r.h);
    let thin = || Stroke::solid(width::THIN, Ink::GREY);
    // Crossed corners: timber end to end.
    vec![
        Shape::rect(r, Some(thin()), None).mark(Mark::Of(solid.tag.clone())).into(),
        Shape::line(&[P2::new(r.x, r.y), P2::new(r.right(), r.bottom())], thin()).into(),
        Shape::line(&[P2::new(r.x, r.bottom()), P2::new(r.right(), r.y)], thin()).into(),
    ]
}

fn cross(at: P2, radius: f64, of: &str) -> Vec<Item> {
    let pen = || Stroke::solid(width::SYMBOL, Ink::BLACK);
    let mark = || Mark::Of(of.to_owned());
    let mut items = vec![
        Shape::line(&[P2::new(at.x - ARM, at.y), P2::new(at.x + ARM, at.y)], pen())
            .mark(mark())
            .into(),
        Shape::line(&[P2::new(at.x, at.y - ARM), P2::new(at.x, at.y + ARM)], pen())
            .mark(mark())
            .into(),
    ];
    if radius > 0.0 {
        items.push(Shape::circle(at, radius, Some(pen()), None).mark(mark()).into());
    }
    items
}

fn dimensions(view: &View, plan: &CupboardPlan, drilled: &[Drilled]) -> Vec<Item> {
    let (across, up) = view.projection.axes();
    let pick = |p: P3, axis: char| match axis {
        'x' => p.x,
        'y' => p.y,
        _ => p.z,
    };
    let corner = P3::new(plan.room.w, plan.room.d, plan.room.h);
    let places: Vec<P3> = drilled.iter().map(|d| d.at).chain([corner]).collect();
    let along = |axis: char, horizontal: bool| {
        places
            .iter()
            .map(|p| {
                let paper = view.point(*p);
                let at = if horizontal { paper.x } else { paper.y };
                Feature { real: pick(*p, axis), paper: at }
            })
            .collect::<Vec<_>>()
    };
    let o = view.outline();
    let origin = view.point(P3::default());
    let (mut items, _) = up_the_left(o.x, origin.y, up, along(up, false));
    items.extend(along_the_bottom(o.bottom(), origin.x, across, along(across, true)).0);
    items.extend(datum_words(view));
    items
}

fn said(drilled: &[Drilled]) -> String {
    drilled
        .iter()
        .map(|d| format!("{}: x {:.0}, y {:.0}, z {:.0}.", d.text, d.at.x, d.at.y, d.at.z))
        .collect::<Vec<_>>()
        .join(" ")
}
