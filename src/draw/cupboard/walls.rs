//! Setting-out sheets, one for each wall that takes a hole or a fixing and one for the floor: what
//! is marked with a pencil before anything is hung. In: the cupboard plan. Out: A4 sheets with
//! drill centres, core sizes, heights, noggins, and the outline of the cylinder's foot.

use super::callouts::{Callouts, kept_clear};
use super::dimension::{Feature, Rows, Worth, along_the_bottom, up_the_left};
use super::labels::sides;
use super::lists::{heights, scale_bar};
use super::margins::{Edge, Margin};
use super::measured::datum_words;
use super::request::Request;
use super::room::joists;
use super::section::Section;
use super::surfaces::{
    Cells, DIMENSIONS, Drilled, FOOT, READABLE, Surface, TABLE, cells, drilled, freed, heading,
    rows_in, shared, surfaces, words_room, worth_marking,
};
use super::view::{Projection, View, along};
use crate::catalogue::limits;
use crate::draw::frame::{TitleData, capital, space_above_block};
use crate::draw::scene::{Anchor, Ink, Item, Mark, Paper, Shape, Sheet, Stroke, Words};
use crate::draw::style::{letters, width};
use crate::layout::cupboard::noggins::{Noggin, noggins};
use crate::layout::cupboard::plan::{CupboardPlan, Form, Held, Route, Solid};
use crate::lettering::{Weight, fitted};
use crate::model::{Box3, P2, P3, Rect, Service, Side, System, whole_mm};

/// Between the rows of the table.
pub const STEP: f64 = 4.4;
/// Arms of a drill cross, mm on paper.
const ARM: f64 = 2.2;

pub fn setting_out_sheets(system: &System, plan: &CupboardPlan, data: &TitleData) -> Vec<Sheet> {
    shared(surfaces(system, plan), &plan.room, data)
        .iter()
        .map(|on| sheet(system, plan, data, on))
        .collect()
}

fn sheet(system: &System, plan: &CupboardPlan, data: &TitleData, on: &[Surface]) -> Sheet {
    let names: Vec<&str> = on.iter().map(|s| s.name).collect();
    let keys: Vec<&str> = on.iter().map(|s| s.side.key()).collect();
    let all_walls: Option<Vec<&str>> = names.iter().map(|n| n.strip_suffix(" wall")).collect();
    let title = match all_walls {
        Some(walls) if walls.len() > 1 => format!("Set-out sheet, {} walls", walls.join(" and ")),
        _ => format!("Set-out sheet, {}", names.join(" and ")),
    };
    let (paper, scale, own_table) = match on {
        [one] => one.alone(&plan.room, data),
        _ => (Paper::A4_PORTRAIT, READABLE, Rect::default()),
    };
    let space = space_above_block(paper, data).grown(-3.0);
    let mut items: Vec<Item> = Vec::new();
    let mut corner = P2::new(space.x, space.y);
    let mut lowest = space.y;
    for surface in on {
        let (w, h) = surface.size(&plan.room, f64::from(scale));
        let at = P2::new(corner.x + DIMENSIONS, corner.y + heading(surface.projection));
        let view = View::new(surface.projection, f64::from(scale), plan.room, at);
        let title = match on {
            [one] => format!("{}, {}", capital(one.name), one.projection.words()),
            _ => capital(surface.name),
        };
        let at = P2::new(corner.x, corner.y + 3.5);
        items.push(Words::new(at, title, letters::HEADING).bold().into());
        items.extend(marked(system, plan, &view, surface));
        let below = corner.y + h;
        let column = match on {
            [_] => own_table,
            _ if surface.projection == Projection::Plan => {
                Rect::new(corner.x, below + 2.0, TABLE, surface.rows(TABLE))
            }
            _ => {
                // Beside the last view nothing stands.
                let last = on.last().is_some_and(|s| s.side == surface.side);
                let w = if last { TABLE } else { w - 3.0 }.min(space.right() - corner.x);
                Rect::new(corner.x, below + FOOT, w, surface.rows(w))
            }
        };
        items.extend(table(&surface.drilled, &view, column, space.right()).0);
        lowest = lowest.max(below);
        if surface.projection == Projection::Plan {
            corner.y = column.bottom() + 2.0;
        } else {
            corner.x += w;
        }
    }
    let bar = match on {
        [_, ..] if on[0].projection != Projection::Plan || on.len() == 1 => lowest,
        _ => corner.y,
    };
    if bar + 8.0 < space.bottom() {
        items.extend(scale_bar(P2::new(space.x + DIMENSIONS, bar + 5.0), f64::from(scale)));
    }
    let crossed = on.iter().flat_map(|s| &s.drilled).any(|d| d.timber);
    let timber = |name: &str| limits::find(&system.rules, &format!("STR05.noggin-{name}")).value;
    let in_line = on.iter().flat_map(|s| &s.fixed).any(|s| s.held == Held::Line);
    let mut notes = Vec::new();
    if on.iter().any(|s| !s.fixed.is_empty()) {
        notes.push(if in_line {
            "Dashed: what comes later. Cross: its fixings by the maker's template. No cross: its pipes \
             hold it."
                .to_owned()
        } else {
            "Dashed: what comes later; its fixings by the maker's template.".to_owned()
        });
    }
    if crossed {
        notes.push(format!(
            "Crossed: noggin {:.0} deep, {:.0} past the body where the wall has room; the table gives \
             its middle (common practice).",
            timber("depth"),
            timber("over")
        ));
    }
    for (i, note) in notes.into_iter().rev().enumerate() {
        let at = P2::new(space.x, space.bottom() - STEP * i as f64);
        items.push(Words::new(at, note, letters::SMALL).into());
    }
    Sheet {
        key: format!("setting-out-{}", keys.join("-")),
        title,
        description: on.iter().map(|s| said(&s.drilled)).collect::<Vec<_>>().join(" "),
        paper,
        scale: Some(scale),
        items,
    }
}

/// The surface with what is marked on it, dimensioned.
fn marked(system: &System, plan: &CupboardPlan, view: &View, surface: &Surface) -> Vec<Item> {
    let outline = view.outline();
    let mut items: Vec<Item> =
        vec![Shape::rect(outline, Some(Stroke::solid(0.7, Ink::BLACK)), None).into()];
    if surface.side == Side::Floor
        && let Some(cupboard) = &system.site.cupboard
    {
        items.extend(joists(cupboard, view));
    }
    items.extend(surface.fixed.iter().map(|solid| foot(solid, view)));
    let mut callouts = Callouts::default();
    for timber in noggins(system, plan).iter().filter(|n| n.wall == surface.side) {
        items.extend(noggin(timber, plan, view));
        let r = timber_on(timber, plan, view);
        let ([a, b], [d, c]) = (sides(r), diagonals(r));
        let ends = [(a.0, b.0), (a.1, b.1)];
        callouts.faint.extend([a, b, d, c].into_iter().chain(ends));
    }
    callouts.obstacles.extend(surface.fixed.iter().flat_map(|s| kept_clear(view.rect(&s.at))));
    let marks = || surface.drilled.iter().filter(|d| !d.timber);
    for d in marks() {
        let p = view.point(d.at);
        items.extend(cross(p, d.core / view.scale / 2.0, &d.of));
        callouts.obstacles.push(Rect::new(p.x - ARM, p.y - ARM, 2.0 * ARM, 2.0 * ARM));
        callouts.requests.push(Request {
            half: ARM,
            // Straight beside its cross, or led to it: slantwise it would be another's.
            reach: 0.0,
            ..Request::new(&d.of, d.mark.clone(), p)
        });
    }
    for solid in surface.fixed.iter().filter(|s| s.held == Held::Line) {
        let r = view.rect(&solid.at);
        callouts.requests.push(Request {
            is_tag: true,
            inside: Some(r),
            half: r.w.min(r.h) / 2.0,
            upright: r.h > r.w,
            reach: r.w.max(r.h) / 2.0,
            ..Request::new(&solid.tag, solid.tag.clone(), r.centre())
        });
    }
    let high = outline.h.max(60.0);
    let column = Rect::new(outline.right() + 1.0, outline.y, surface.labels(), high);
    let margin = Margin { edge: Edge::Right, at: column, taken: Vec::new() };
    items.extend(callouts.place(outline, &[margin]).items);
    items.extend(dimensions(view, plan, marks()));
    items
}

/// True where something is marked on the wall that a section looks at.
pub fn any_on_the_wall(system: &System, plan: &CupboardPlan, section: &Section) -> bool {
    let held = |s: &Solid| s.fixed_to == section.wall && worth_marking(system, &plan.room, s);
    let hole = |r: &Route| r.exit.as_ref().is_some_and(|e| e.side == section.wall);
    plan.solids.iter().any(held) || plan.routes.iter().any(hole)
}

/// What a section shows on its wall in figures, and the heights chain that ends there, beside the
/// view, down to `foot`; and where the list ends.
pub fn on_the_wall(
    system: &System,
    plan: &CupboardPlan,
    view: &View,
    section: &Section,
    room: Rect,
    foot: f64,
) -> (Vec<Item>, f64) {
    let fixed: Vec<&Solid> = plan
        .solids
        .iter()
        .filter(|s| s.fixed_to == section.wall && worth_marking(system, &plan.room, s))
        .collect();
    let drilled = drilled(system, plan, section.wall, &fixed, &noggins(system, plan));
    let off = section.off(&plan.room);
    let head = format!("On the {} wall, seen from {off:.0} mm off it", section.wall.key());
    let mut items: Vec<Item> =
        vec![Words::new(P2::new(room.x, room.y), head, letters::SMALL).bold().into()];
    let at = Rect::new(room.x, room.y + 3.0, TABLE, foot - room.y - 3.0);
    let (table, rows) = table(&drilled, view, at, room.right());
    items.extend(table);
    let end = at.y + STEP * (rows + 3) as f64;
    let ends_here = |r: &Route| {
        r.exit.as_ref().is_some_and(|e| e.side == section.wall)
            && system.pipe(r.pipe).service == Service::Discharge2
    };
    if !plan.routes.iter().any(ends_here) {
        return (items, end);
    }
    let (chain, end) = heights(plan, Rect::new(room.x, end, room.w, 0.0), foot);
    items.extend(chain);
    (items, end)
}

/// What is marked, in figures from the two datums, in as many columns as it takes; and how many
/// rows that makes.
fn table(drilled: &[Drilled], view: &View, column: Rect, right: f64) -> (Vec<Item>, usize) {
    let (across, up) = view.projection.axes();
    let rows = rows_in(&column).max(1);
    let columns = ((right + 0.5 - column.x) / column.w).floor().max(1.0) as usize;
    let all = cells(drilled, view.projection, column.w);
    let whole = all.len() <= rows * columns;
    let holes = drilled.iter().any(|d| d.core > 0.0);
    let (freed, room) = (freed(drilled), words_room(drilled, column.w));
    let mut items: Vec<Item> = Vec::new();
    for (i, chunk) in in_columns(&all, rows, columns).into_iter().enumerate() {
        let x = column.x + i as f64 * column.w;
        if i == columns {
            break;
        }
        if i > 0 {
            // A mark right of another column's hole would be read on from it.
            let at = |rows: usize| P2::new(x - 1.6, column.y + rows as f64 * STEP);
            let rule = [at(0), at(rows.min(chunk.len().max(rows)) + 1)];
            items.push(Shape::line(&rule, Stroke::solid(width::THIN, Ink::GREY)).into());
        }
        let mut row = |y: f64, cells: [&str; 5], weight: Weight| {
            let what = fitted(cells[1], letters::SMALL, weight, room);
            let cells = [cells[0], what.as_str(), cells[2], cells[3], cells[4]];
            let ends = [(0.0, Anchor::Start), (10.0, Anchor::Start)]
                .into_iter()
                .chain([26.0, 14.5, 3.0].map(|off| (column.w - off + freed, Anchor::End)));
            let taken = ends.zip(cells).take(if holes { 5 } else { 4 });
            for ((dx, anchor), text) in taken.filter(|(_, text)| !text.is_empty()) {
                let mut words = Words::new(P2::new(x + dx, y), text, letters::SMALL).anchor(anchor);
                words.weight = weight;
                items.push(words.into());
            }
        };
        let (a, b) = (across.to_string(), up.to_string());
        row(column.y + 3.0, ["mark", "hole or middle of", &a, &b, "hole Ø"], Weight::Bold);
        for (j, cells) in chunk.iter().enumerate() {
            let y = column.y + 3.0 + (j + 1) as f64 * STEP;
            if !whole && (i + 1, j + 1) == (columns, rows) {
                row(y, ["…", "the rest: see the setting-out table", "", "", ""], Weight::Regular);
                break;
            }
            row(y, cells.each_ref().map(String::as_str), Weight::Regular);
        }
    }
    (items, all.len())
}

/// The rows of each column: none begins with the rest of a row or with a noggin, which bear no
/// mark, as long as the columns have the room for it.
fn in_columns(all: &[Cells], rows: usize, columns: usize) -> Vec<&[Cells]> {
    let mut out: Vec<&[Cells]> = Vec::new();
    let mut rest = all;
    while rest.len() > rows {
        let marked = |n: &usize| rest.get(*n).is_some_and(|row| !row[0].is_empty());
        let n = (1..=rows).rev().find(marked).unwrap_or(rows);
        out.push(&rest[..n]);
        rest = &rest[n..];
    }
    out.push(rest);
    if out.len() > columns { all.chunks(rows).collect() } else { out }
}

/// The outline of a body on its surface, dashed: it is not there yet.
fn foot(solid: &Solid, view: &View) -> Item {
    let r = view.rect(&solid.at);
    let stroke = Some(Stroke::dashed(width::SYMBOL, &[3.0, 1.0], Ink::BLACK));
    let round =
        view.projection == Projection::Plan && matches!(solid.form, Form::Upright | Form::Domed);
    let shape = if round {
        Shape::circle(r.centre(), r.w.min(r.h) / 2.0, stroke, None)
    } else {
        Shape::rect(r, stroke, None)
    };
    shape.mark(Mark::Of(solid.tag.clone())).into()
}

fn diagonals(r: Rect) -> [(P2, P2); 2] {
    let [(a, d), (b, c)] = sides(r);
    [(a, c), (d, b)]
}

/// Where timber stands in a wall, on paper.
fn timber_on(timber: &Noggin, plan: &CupboardPlan, view: &View) -> Rect {
    let (from, long) = (timber.from, timber.length());
    let (x, y, w, d) = match timber.wall {
        Side::Back => (from, 0.0, long, 0.0),
        Side::Left => (0.0, from, 0.0, long),
        _ => (plan.room.w, from, 0.0, long),
    };
    let across = Box3 { x, y, z: timber.z - timber.deep / 2.0, w, d, h: timber.deep };
    view.rect(&across)
}

/// Timber in the wall behind what is heavy.
fn noggin(timber: &Noggin, plan: &CupboardPlan, view: &View) -> Vec<Item> {
    let r = timber_on(timber, plan, view);
    let thin = || Stroke::solid(width::THIN, Ink::GREY);
    let edge = Shape::rect(r, Some(thin()), None).mark(Mark::Of(timber.tags[0].clone()));
    // Crossed corners: timber end to end.
    let crossed = diagonals(r).map(|(a, b)| Shape::line(&[a, b], thin()).into());
    std::iter::once(edge.into()).chain(crossed).collect()
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

fn dimensions<'a>(
    view: &View,
    plan: &CupboardPlan,
    marks: impl Iterator<Item = &'a Drilled>,
) -> Vec<Item> {
    let (across, up) = view.projection.axes();
    let corner = P3::new(plan.room.w, plan.room.d, plan.room.h);
    let places: Vec<P3> = marks.map(|d| d.at).chain([corner]).collect();
    let features = |axis: char, horizontal: bool| {
        places
            .iter()
            .map(|p| {
                let paper = view.point(*p);
                let at = if horizontal { paper.x } else { paper.y };
                Feature { real: along(axis, *p), paper: at, worth: Worth::Drilled }
            })
            .collect::<Vec<_>>()
    };
    let o = view.outline();
    let origin = view.point(P3::default());
    let (mut items, _) = up_the_left(o.x, 0.0, origin.y, up, features(up, false));
    items.extend(
        along_the_bottom(o.bottom(), origin.x, across, features(across, true), Rows::One).0,
    );
    items.extend(datum_words(view, 0.0));
    items
}

fn said(drilled: &[Drilled]) -> String {
    drilled
        .iter()
        .map(|d| {
            let [x, y, z] = [d.at.x, d.at.y, d.at.z].map(whole_mm);
            format!("{} {}: x {x}, y {y}, z {z}.", d.mark, d.text)
        })
        .collect::<Vec<_>>()
        .join(" ")
}
