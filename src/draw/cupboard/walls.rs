//! Setting-out sheets, one for each wall that takes a hole or a fixing and one for the floor: what
//! is marked with a pencil before anything is hung. In: the cupboard plan. Out: A4 sheets with
//! drill centres, core sizes, heights, noggins, and the outline of the cylinder's foot.

use super::callouts::{Callouts, Request, kept_clear};
use super::columns::Column;
use super::dimension::{Feature, along_the_bottom, up_the_left};
use super::elevation::{datum_words, joists};
use super::lists::scale_bar;
use super::view::{Projection, View, along, choose_scale, readable};
use crate::catalogue::Mount;
use crate::draw::frame::{TitleData, space_above_block};
use crate::draw::scene::{Anchor, Ink, Item, Mark, Paper, Shape, Sheet, Stroke, Words};
use crate::draw::style::{letters, width};
use crate::layout::cupboard::plan::{CupboardPlan, Form, Owner, Solid};
use crate::lettering::{Weight, fitted};
use crate::model::{Box3, P2, P3, Pipe, Rect, Side, System};

const DIMENSIONS: f64 = 24.0;
const LABELS: f64 = 34.0;
const HEADING: f64 = 12.0;
/// Width of the table of marks.
const TABLE: f64 = 108.0;
/// The smallest scale, as 1 to so much, from which two drill centres can be told apart.
const READABLE: u32 = 20;
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
    /// What stands beside the cross: the number of a hole in the table, or a tag.
    mark: String,
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
    let real = projection.extent(&plan.room);
    let (paper, scale) = paper_and_scale(real, data);
    let space = space_above_block(paper, data).grown(-3.0);
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
    callouts.obstacles.extend(fixed.iter().flat_map(|s| kept_clear(view.rect(&s.at))));
    for d in &drilled {
        let p = view.point(d.at);
        items.extend(cross(p, d.core / view.scale / 2.0, &d.of));
        callouts.obstacles.push(Rect::new(p.x - ARM, p.y - ARM, 2.0 * ARM, 2.0 * ARM));
        callouts.requests.push(Request {
            of: d.of.clone(),
            text: d.mark.clone(),
            anchor: p,
            also: Vec::new(),
            inside: None,
            half: ARM,
            upright: false,
            reach: 2.0 * ARM,
        });
    }
    let column = Rect::new(outline.right() + 1.0, outline.y, LABELS, outline.h.max(60.0));
    items.extend(callouts.place(outline, &[Column { at: column, at_left: false }]));
    items.extend(dimensions(&view, plan, &drilled));
    let below = outline.bottom() + DIMENSIONS;
    if below + 8.0 < space.bottom() {
        items.extend(scale_bar(P2::new(outline.x, below + 5.0), view.scale));
    }
    let beside = Rect::new(outline.right() + LABELS, outline.y, TABLE, space.bottom() - outline.y);
    let under = Rect::new(space.x, below + 14.0, TABLE, space.bottom() - below - 14.0);
    let column = if beside.right() <= space.right() { beside } else { under };
    items.extend(table(&drilled, &view, column, space.right()));
    Some(Sheet {
        key: format!("setting-out-{}", side.key()),
        title: title.to_owned(),
        description: said(&drilled),
        paper,
        scale: Some(scale),
        items,
    })
}

/// A4, or A3 where A4 would show the surface smaller than 1 to [`READABLE`].
fn paper_and_scale(real: (f64, f64), data: &TitleData) -> (Paper, u32) {
    readable(Paper::A4_PORTRAIT, Paper::A3, READABLE, |paper| {
        let space = space_above_block(paper, data).grown(-3.0);
        let room = (space.w - DIMENSIONS - LABELS, space.h - DIMENSIONS - HEADING);
        choose_scale(real, room)
    })
}

/// What is marked, in figures from the two datums, in as many columns as it takes.
fn table(drilled: &[Drilled], view: &View, column: Rect, right: f64) -> Vec<Item> {
    const STEP: f64 = 4.4;
    let (across, up) = view.projection.axes();
    let rows = ((column.h / STEP) as usize).saturating_sub(1).max(1);
    let mut items: Vec<Item> = Vec::new();
    for (i, chunk) in drilled.chunks(rows).enumerate() {
        let x = column.x + i as f64 * column.w;
        if x + column.w > right + 0.5 {
            break;
        }
        let mut row = |y: f64, cells: [&str; 5], weight: Weight| {
            let what = fitted(cells[1], letters::SMALL, weight, TABLE - 52.0);
            let cells = [cells[0], what.as_str(), cells[2], cells[3], cells[4]];
            let ends = [(0.0, Anchor::Start), (11.0, Anchor::Start)]
                .into_iter()
                .chain([28.0, 16.0, 4.0].map(|from_right| (TABLE - from_right, Anchor::End)));
            for ((dx, anchor), text) in ends.zip(cells) {
                let mut words = Words::new(P2::new(x + dx, y), text, letters::SMALL).anchor(anchor);
                words.weight = weight;
                items.push(words.into());
            }
        };
        let (a, b) = (across.to_string(), up.to_string());
        row(column.y + 3.0, ["mark", "what", &a, &b, "hole Ø"], Weight::Bold);
        for (j, d) in chunk.iter().enumerate() {
            let [a, b] = [across, up].map(|axis| format!("{:.0}", along(axis, d.at)));
            let hole = if d.core > 0.0 { format!("{:.0}", d.core) } else { String::new() };
            let y = column.y + 3.0 + (j + 1) as f64 * STEP;
            row(y, [&d.mark, &d.text, &a, &b, &hole], Weight::Regular);
        }
    }
    items
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
                mark: String::new(),
                text: format!("{size} {}, {}", pipe.service.letters(), tail_name(pipe)),
                at: e.at,
                core: e.core,
            }
        })
        .collect();
    all.extend(fixed.iter().map(|s| {
        let b = s.at;
        let at = P3::new(b.x + b.w / 2.0, b.y + b.d / 2.0, b.z + b.h / 2.0);
        Drilled { of: s.tag.clone(), mark: s.tag.clone(), text: "centre".to_owned(), at, core: 0.0 }
    }));
    // From the back or the floor, then from the left: the order in which a tape meets them.
    all.sort_by(|a, b| {
        let key = |d: &Drilled| [d.at.z, d.at.y, d.at.x];
        let (a, b) = (key(a), key(b));
        (0..3)
            .map(|i| a[i].total_cmp(&b[i]))
            .find(|o| o.is_ne())
            .unwrap_or(std::cmp::Ordering::Equal)
    });
    for (n, hole) in all.iter_mut().filter(|d| d.core > 0.0).enumerate() {
        hole.mark = (n + 1).to_string();
    }
    all
}

/// What the tail is called where the text or the system names it.
fn tail_name(pipe: &Pipe) -> &str {
    pipe.tail.as_ref().map_or(pipe.run.as_str(), |t| t.name.as_str())
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
    let corner = P3::new(plan.room.w, plan.room.d, plan.room.h);
    let places: Vec<P3> = drilled.iter().map(|d| d.at).chain([corner]).collect();
    let features = |axis: char, horizontal: bool| {
        places
            .iter()
            .map(|p| {
                let paper = view.point(*p);
                let at = if horizontal { paper.x } else { paper.y };
                Feature { real: along(axis, *p), paper: at }
            })
            .collect::<Vec<_>>()
    };
    let o = view.outline();
    let origin = view.point(P3::default());
    let (mut items, _) = up_the_left(o.x, origin.y, up, features(up, false));
    items.extend(along_the_bottom(o.bottom(), origin.x, across, features(across, true)).0);
    items.extend(datum_words(view));
    items
}

fn said(drilled: &[Drilled]) -> String {
    drilled
        .iter()
        .map(|d| {
            format!("{} {}: x {:.0}, y {:.0}, z {:.0}.", d.mark, d.text, d.at.x, d.at.y, d.at.z)
        })
        .collect::<Vec<_>>()
        .join(" ")
}
