//! What is marked on each wall, the floor and the ceiling before anything is hung, and how its
//! set-out stands on a sheet: paper, scale, table, which share one. In: the cupboard plan. Out:
//! surfaces with their marks.

use std::collections::BTreeMap;

use super::section::kind_of;
use super::view::{Projection, SCALES, along, choose_scale};
use super::walls::STEP;
use crate::catalogue::Mount;
use crate::draw::frame::{TitleData, space_above_block};
use crate::draw::scene::Paper;
use crate::draw::style::letters;
use crate::layout::cupboard::noggins::{Noggin, noggins};
use crate::layout::cupboard::plan::{CupboardPlan, Held, Solid};
use crate::lettering::{Weight, wrap};
use crate::model::{Box3, P3, Pipe, Rect, Side, System, whole_mm};

pub const DIMENSIONS: f64 = 23.0;
/// Numbers and tags are short.
pub const LABELS: f64 = 20.0;
const HEADING: f64 = 10.0;
/// A surface with as few marks may share a sheet: its labels find room beside their marks.
const FEW: usize = 8;
const FEW_LABELS: f64 = 11.0;
/// Room for the scale bar.
pub const FOOT: f64 = 13.0;
/// Widths of the table of marks, the better first.
pub const TABLE: f64 = 108.0;
const TABLES: [f64; 2] = [TABLE, 86.0];
/// The smallest scale, as 1 to so much, from which drill centres can be told apart, and how far
/// apart they then must stand on paper for their marks.
pub const READABLE: u32 = 20;
const APART: f64 = 5.0;

/// What hangs by screws of its own, and what sits in a pipe along the wall but needs a hand in front
/// of it; small fittings follow the pipes, and what is fitted to a body follows that.
pub fn worth_marking(system: &System, room: &Box3, solid: &Solid) -> bool {
    const HAND: f64 = 90.0;
    const ALONG: f64 = 150.0;
    let kind = kind_of(system, solid);
    let off = match solid.fixed_to {
        Side::Back => solid.at.y,
        Side::Left => solid.at.x,
        Side::Right => room.w - solid.at.x - solid.at.w,
        _ => f64::MAX,
    };
    match kind.mount {
        Mount::On => false,
        Mount::Line if solid.held == Held::Line => kind.access >= HAND && off < ALONG,
        _ => true,
    }
}

/// One thing to be marked.
pub struct Drilled {
    pub of: String,
    /// What stands beside the cross: the number of a hole in the table, or a tag.
    pub mark: String,
    pub text: String,
    pub at: P3,
    /// Diameter of the hole, mm real; 0 for a fixing.
    pub core: f64,
    /// Timber in the wall: it stands in the table and bears no mark.
    pub timber: bool,
}

/// A row of the table of marks: mark, what it is, across, up, hole.
pub type Cells = [String; 5];

/// The rows in a table of that width; what is long takes a second line.
pub fn cells(drilled: &[Drilled], projection: Projection, wide: f64) -> Vec<Cells> {
    let (across, up) = projection.axes();
    let room = words_room(drilled, wide);
    let mut rows: Vec<Cells> = Vec::new();
    for d in drilled {
        let [a, b] = [across, up].map(|axis| whole_mm(along(axis, d.at)));
        let hole = if d.core > 0.0 { whole_mm(d.core) } else { String::new() };
        let mut lines = lines_of(&d.text, room).into_iter();
        rows.push([d.mark.clone(), lines.next().unwrap_or_default(), a, b, hole]);
        let more = |line| [String::new(), line, String::new(), String::new(), String::new()];
        rows.extend(lines.map(more));
    }
    rows
}

/// A text's lines; a noggin's figures stay together, below its name where both have no room.
fn lines_of(text: &str, room: f64) -> Vec<String> {
    let wrapped = |text: &str| wrap(text, letters::SMALL, Weight::Regular, room);
    match text.split_once(": ").filter(|_| wrapped(text).len() > 1) {
        Some((name, figures)) => [wrapped(&format!("{name}:")), wrapped(figures)].concat(),
        None => wrapped(text),
    }
}

/// Room for the heading of a view, and for the words of its datum above a plan.
pub fn heading(projection: Projection) -> f64 {
    if projection == Projection::Plan { HEADING + 3.0 } else { HEADING }
}

/// Where nothing is drilled the column of holes stands empty: the names have the room.
pub fn freed(drilled: &[Drilled]) -> f64 {
    if drilled.iter().any(|d| d.core > 0.0) { 0.0 } else { 12.0 }
}

/// What the words of a row have, mm.
pub fn words_room(drilled: &[Drilled], wide: f64) -> f64 {
    wide - 44.0 + freed(drilled)
}

/// What a sheet leaves for the views and their tables, above two lines of notes.
fn above_the_notes(paper: Paper, data: &TitleData) -> Rect {
    let space = space_above_block(paper, data).grown(-3.0);
    Rect::new(space.x, space.y, space.w, space.h - 2.0 * STEP)
}

/// A wall, the floor or the ceiling with what is marked on it.
pub struct Surface<'a> {
    pub side: Side,
    pub projection: Projection,
    pub name: &'static str,
    pub fixed: Vec<&'a Solid>,
    pub drilled: Vec<Drilled>,
}

impl Surface<'_> {
    fn marks(&self) -> impl Iterator<Item = &Drilled> {
        self.drilled.iter().filter(|d| !d.timber)
    }

    /// Room for a column of labels where many marks crowd.
    pub fn labels(&self) -> f64 {
        if self.marks().count() > FEW { LABELS } else { FEW_LABELS }
    }

    /// What the view takes on paper with its dimensions and labels.
    pub fn size(&self, room: &Box3, scale: f64) -> (f64, f64) {
        let (w, h) = self.projection.extent(room);
        (DIMENSIONS + w / scale + self.labels(), heading(self.projection) + h / scale + DIMENSIONS)
    }

    /// Depth of its table at a width.
    pub fn rows(&self, wide: f64) -> f64 {
        STEP * (cells(&self.drilled, self.projection, wide).len() + 1) as f64
    }

    /// The smallest scale, as 1 to so much, at which no two marks crowd.
    fn readable(&self) -> u32 {
        let (across, up) = self.projection.axes();
        let off =
            |a: &Drilled, b: &Drilled, axis: char| (along(axis, a.at) - along(axis, b.at)).abs();
        let mut nearest = f64::MAX;
        let marks: Vec<&Drilled> = self.marks().collect();
        for (i, a) in marks.iter().enumerate() {
            for b in &marks[i + 1..] {
                nearest = nearest.min(off(a, b, across).max(off(a, b, up)));
            }
        }
        let clear = |s: &&u32| **s <= READABLE && nearest / f64::from(**s) >= APART;
        SCALES.iter().rev().find(clear).copied().unwrap_or(SCALES[0])
    }

    /// Where its table stands on a paper at a scale: beside the view or below it; nowhere where
    /// either has no room.
    fn table(&self, room: &Box3, paper: Paper, scale: u32, data: &TitleData) -> Option<Rect> {
        let space = above_the_notes(paper, data);
        let (w, h) = self.size(room, f64::from(scale));
        if w > space.w || h > space.h {
            return None;
        }
        let (top, below) = (space.y + heading(self.projection), space.y + h + FOOT);
        TABLES.into_iter().find_map(|wide| {
            let places = [
                Rect::new(space.x + w, top, wide, space.bottom() - top),
                Rect::new(space.x, below, wide, space.bottom() - below),
            ];
            places.into_iter().find(|at| {
                let columns = ((space.right() + 0.5 - at.x) / wide).floor().max(0.0) as usize;
                columns * rows_in(at) >= cells(&self.drilled, self.projection, wide).len()
            })
        })
    }

    /// The paper, the scale and the place of the table of a surface that has a sheet of its own.
    pub fn alone(&self, room: &Box3, data: &TitleData) -> (Paper, u32, Rect) {
        let ways = [Paper::A4_PORTRAIT, Paper::A3].into_iter().filter_map(|paper| {
            let at = |s: u32| Some((paper, s, self.table(room, paper, s, data)?));
            SCALES.into_iter().find_map(at)
        });
        let ways: Vec<(Paper, u32, Rect)> = ways.collect();
        let wanted = self.readable();
        let reads = ways.iter().find(|way| way.1 <= wanted);
        reads.or_else(|| ways.iter().min_by_key(|way| way.1)).copied().unwrap_or_else(|| {
            let (paper, space) = (Paper::A3, above_the_notes(Paper::A3, data));
            let head = heading(self.projection);
            let size = (space.w - DIMENSIONS - LABELS - TABLE, space.h - DIMENSIONS - head);
            let scale = choose_scale(self.projection.extent(room), size);
            let x = space.right() - TABLE;
            (paper, scale, Rect::new(x, space.y + head, TABLE, space.h - head))
        })
    }
}

/// How many rows of a table a column holds, below its heading.
pub fn rows_in(column: &Rect) -> usize {
    ((column.h / STEP) as usize).saturating_sub(1)
}

pub fn surfaces<'a>(system: &System, plan: &'a CupboardPlan) -> Vec<Surface<'a>> {
    let timber = noggins(system, plan);
    [
        (Side::Back, Projection::Front, "back wall"),
        (Side::Left, Projection::Left, "left wall"),
        (Side::Right, Projection::Right, "right wall"),
        (Side::Floor, Projection::Plan, "floor"),
        (Side::Ceiling, Projection::Plan, "ceiling"),
    ]
    .into_iter()
    .map(|(side, projection, name)| {
        let on = |s: &&Solid| s.fixed_to == side && worth_marking(system, &plan.room, s);
        let fixed: Vec<&Solid> = plan.solids.iter().filter(on).collect();
        let drilled = drilled(system, plan, side, &fixed, &timber);
        Surface { side, projection, name, fixed, drilled }
    })
    .filter(|s| !s.drilled.is_empty())
    .collect()
}

/// Walls with few marks share a sheet, side by side at one scale, each with its table below; floor
/// and ceiling stand one above the other.
pub fn shared<'a>(
    surfaces: Vec<Surface<'a>>,
    room: &Box3,
    data: &TitleData,
) -> Vec<Vec<Surface<'a>>> {
    let space = above_the_notes(Paper::A4_PORTRAIT, data);
    let scale = f64::from(READABLE);
    let fits = |sheet: &[Surface], next: &Surface| {
        let all = || sheet.iter().chain([next]);
        let few = all().all(|s| s.marks().count() <= FEW);
        let reads = all().all(|s| s.readable() >= READABLE);
        let level = all().all(|s| s.projection == Projection::Plan);
        let upright = all().all(|s| s.projection != Projection::Plan);
        let size = |s: &Surface| s.size(room, scale);
        let wide: f64 = all().map(|s| size(s).0).sum();
        let high = all().map(|s| size(s).1).fold(0.0, f64::max);
        let deep = all().map(|s| s.rows(size(s).0 - 3.0)).fold(0.0, f64::max);
        let stacked: f64 = all().map(|s| size(s).1 + s.rows(TABLE)).sum();
        // Labels of the last view stand beside their marks: it needs no column.
        // A wall that crowds is no larger on a sheet of its own: it is as high as the paper.
        (upright && few && wide - FEW_LABELS + 3.0 <= space.w && high + FOOT + deep <= space.h)
            || (level && reads && sheet.len() == 1 && stacked + FOOT <= space.h)
    };
    let mut sheets: Vec<Vec<Surface>> = Vec::new();
    for surface in surfaces {
        // Not only the last: a wall may join one before a crowded neighbour.
        match sheets.iter_mut().find(|sheet| fits(sheet, &surface)) {
            Some(sheet) => sheet.push(surface),
            None => sheets.push(vec![surface]),
        }
    }
    sheets
}

/// What each hole is called on the set-out sheets, by its pipe: `floor 3`.
pub fn hole_marks(system: &System, plan: &CupboardPlan) -> BTreeMap<String, String> {
    let named = |s: &Surface| -> Vec<(String, String)> {
        let holes = s.drilled.iter().filter(|d| d.core > 0.0);
        holes.map(|d| (d.of.clone(), format!("{} {}", s.side.key(), d.mark))).collect()
    };
    surfaces(system, plan).iter().flat_map(named).collect()
}

pub fn drilled(
    system: &System,
    plan: &CupboardPlan,
    side: Side,
    fixed: &[&Solid],
    timber: &[Noggin],
) -> Vec<Drilled> {
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
                timber: false,
            }
        })
        .collect();
    // What a pipe holds has no screws of its own in the wall.
    all.extend(fixed.iter().filter(|s| s.held != Held::Line).map(|s| {
        let b = s.at;
        let at = b.middle();
        Drilled {
            of: s.tag.clone(),
            mark: s.tag.clone(),
            text: kind_of(system, s).key.clone(),
            at,
            core: 0.0,
            timber: false,
        }
    }));
    let behind = |n: &&Noggin| n.wall == side && fixed.iter().any(|s| n.tags.contains(&s.tag));
    all.extend(timber.iter().filter(behind).map(|n| {
        let middle = f64::midpoint(n.from, n.to);
        let at = match side {
            Side::Back => P3::new(middle, 0.0, n.z),
            Side::Left => P3::new(0.0, middle, n.z),
            _ => P3::new(plan.room.w, middle, n.z),
        };
        let (from, to) = (whole_mm(n.from), whole_mm(n.to));
        Drilled {
            of: n.tags[0].clone(),
            mark: String::new(),
            text: format!("noggin {}: {} {from} to {to}", n.tags.join(", "), n.axis()),
            at,
            core: 0.0,
            timber: true,
        }
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
