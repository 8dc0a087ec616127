//! The title block: ISO 7200 fields, the revision table, what stands against the design; and the strip
//! that a sheet for the door wears in its place. In: a sheet, the title data. Out: marks.

use super::{CAPTION, TitleData, drawing_space};
use crate::draw::scene::{Ink, Item, Paper, Shape, Sheet, Stroke, Words};
use crate::draw::style::width;
use crate::lettering::{self, Weight, fitted, wrap};
use crate::model::{P2, Rect};

const BLOCK_WIDTH: f64 = 180.0;
pub const ROW: f64 = 8.5;
const TITLE_ROW: f64 = 11.0;
const CAUTION_ROW: f64 = 8.5;
const BLOCK_HEIGHT: f64 = 4.0 * ROW + TITLE_ROW + CAUTION_ROW;
const REVISION_ROW: f64 = 5.0;
/// The newest revisions that the table shows.
pub const REVISIONS_SHOWN: usize = 4;

const VALUE: f64 = 2.5;

/// Every other sheet says it.
const CAUTION: [&str; 2] = [
    "Hot water under pressure, gas and mains electricity can kill: competent, certificated people only.",
    "The maker's instructions and the local code come first. Do not scale from a copy: use the figures.",
];

/// What the title block and the revision table take of it, at the bottom right.
pub fn title_block(paper: Paper, title: &TitleData) -> Rect {
    let space = drawing_space(paper);
    let rows = title.revision_rows();
    let table = if rows == 0 { 0.0 } else { (rows + 1) as f64 * REVISION_ROW };
    let h = BLOCK_HEIGHT + table;
    Rect::new(space.right() - BLOCK_WIDTH, space.bottom() - h, BLOCK_WIDTH, h)
}

/// One row across the foot of the sheet: whose it is, which sheet, of what date.
pub fn strip(sheet: &Sheet, title: &TitleData, n: usize, of: usize) -> Vec<Item> {
    let space = drawing_space(sheet.paper);
    let at = Rect::new(space.x, space.bottom() - ROW, space.w, ROW);
    let mut items = Vec::new();
    rule_above(&mut items, at, at.y);
    let (rev, date) = title.last_revision();
    let (number, issue, day, sheets, kind) = (30.0, 12.0, 24.0, 24.0, 36.0);
    let invalid = title.errors + title.unread > 0 || title.out_of_scope;
    let name = space.w - number - issue - day - sheets - kind;
    let mut y = at.y;
    let cells = [
        cell("Job", &title.job, name),
        cell("Title", if invalid { "NOT VALID" } else { &sheet.title }, kind),
        cell("Number", &title.number, number),
        cell("Rev", rev, issue),
        cell("Date", date, day),
        cell("Sheet", format!("{n} of {of}"), sheets),
    ];
    row(&mut items, at.x, &mut y, &cells);
    items.pop();
    items
}

/// One field of the block: caption, value, width.
struct Cell<'a> {
    caption: &'a str,
    value: String,
    w: f64,
}

fn cell<'a>(caption: &'a str, value: impl Into<String>, w: f64) -> Cell<'a> {
    Cell { caption, value: value.into(), w }
}

pub fn block(sheet: &Sheet, title: &TitleData, n: usize, of: usize) -> Vec<Item> {
    let at = title_block(sheet.paper, title);
    let mut items: Vec<Item> = Vec::new();
    // A white ground keeps whatever lies beneath from showing through.
    items.push(
        Shape::rect(at, Some(Stroke::solid(width::OUTLINE, Ink::BLACK)), Some(Ink::WHITE)).into(),
    );
    let mut y = at.y;
    revisions(&mut items, title, at, &mut y);
    let scale = match sheet.scale {
        Some(s) => format!("1:{s} @ {}", sheet.paper.name),
        None => format!("NOT TO SCALE @ {}", sheet.paper.name),
    };
    let (rev, date) = title.last_revision();
    row(
        &mut items,
        at.x,
        &mut y,
        &[
            cell("Owner", &title.owner, 60.0),
            cell("Client", &title.client, 60.0),
            cell("Site", if title.address.is_empty() { &title.job } else { &title.address }, 60.0),
        ],
    );
    title_row(&mut items, at, &mut y, sheet, title);
    row(
        &mut items,
        at.x,
        &mut y,
        &[
            cell("Drawn", &title.drawn, 36.0),
            cell("Checked", &title.checked, 36.0),
            cell("Approved", &title.approved, 36.0),
            cell("Installer, card no.", &title.installer, 72.0),
        ],
    );
    row(
        &mut items,
        at.x,
        &mut y,
        &[
            cell("Number", &title.number, 34.0),
            cell("Rev", rev, 12.0),
            cell("Sheet", format!("{n} of {of}"), 22.0),
            cell("Date", date, 26.0),
            cell("Scale", scale, 46.0),
            cell("Status", &title.status, 40.0),
        ],
    );
    row(
        &mut items,
        at.x,
        &mut y,
        &[
            cell("Rules", &title.rules, 62.0),
            cell("Units, datum", "mm; left wall, back wall, FFL", 54.0),
            cell("Assumed values", title.assumed.to_string(), 30.0),
            cell("Content", &title.digest, 34.0),
        ],
    );
    for (i, line) in CAUTION.iter().enumerate() {
        let at_line = P2::new(at.x + 1.25, y + 3.4 + 3.9 * i as f64);
        let stop = not_to_be_built(title).filter(|_| i > 0);
        let weight = if stop.is_some() { Weight::Bold } else { Weight::Regular };
        let said = stop.as_ref().map_or(*line, |(said, _)| said.as_str());
        let mut words = Words::new(at_line, fitted(said, CAPTION, weight, at.w - 2.5), CAPTION);
        words.weight = weight;
        let grave = stop.as_ref().is_some_and(|(_, grave)| *grave);
        items.push(if grave { words.ink(Ink::ALARM) } else { words }.into());
    }
    items
}

/// A sheet taken alone must not pass for a sound design; and whether what it says is grave.
fn not_to_be_built(title: &TitleData) -> Option<(String, bool)> {
    let count = |n: usize, one: &str, more: &str| match n {
        1 => format!("1 {one}"),
        n => format!("{n} {more}"),
    };
    let rules = |list: &[&str], shown: usize| {
        let first = list.iter().take(shown).copied().collect::<Vec<_>>().join(", ");
        let more = if list.len() > shown { ", …" } else { "" };
        if first.is_empty() { first } else { format!(" ({first}{more})") }
    };
    let said = |shown: usize| {
        let mut why = Vec::new();
        if title.errors > 0 {
            let errors = count(title.errors, "error", "errors");
            why.push(format!("{errors}{}", rules(&title.error_rules, shown)));
        }
        if title.unread > 0 {
            let lines = count(title.unread, "line", "lines");
            why.push(format!("{lines} of the description not read"));
        }
        let grave = !why.is_empty() || title.out_of_scope;
        if title.warnings > 0 {
            let warnings = count(title.warnings, "warning", "warnings");
            why.push(format!("{warnings}{}", rules(&title.warning_rules, shown)));
        }
        let mut text = why.join(", ");
        if title.out_of_scope {
            let scope = "OUT OF SCOPE in part: do not rely on these sheets";
            text = if text.is_empty() { scope.to_owned() } else { format!("{scope}; {text}") };
        } else if grave {
            text = format!("NOT TO BE BUILT AS DRAWN: {text}");
        } else {
            text.push_str(" against this design");
        }
        let here = if title.unmarked { "not marked on this sheet, " } else { "" };
        (format!("{text}; {here}{}.", title.findings_at()), grave)
    };
    if title.errors + title.unread + title.warnings == 0 && !title.out_of_scope {
        return None;
    }
    // As many rules as the line holds.
    let room = BLOCK_WIDTH - 2.5;
    let fits = |s: &(String, bool)| lettering::width(&s.0, CAPTION, Weight::Bold) <= room;
    (0..=8).rev().map(said).find(fits).or_else(|| Some(said(0)))
}

fn rule_above(items: &mut Vec<Item>, at: Rect, y: f64) {
    let ends = [P2::new(at.x, y), P2::new(at.right(), y)];
    items.push(Shape::line(&ends, Stroke::solid(width::THIN, Ink::BLACK)).into());
}

fn row(items: &mut Vec<Item>, left: f64, y: &mut f64, cells: &[Cell]) {
    let at = Rect::new(left, *y, BLOCK_WIDTH, ROW);
    let mut x = left;
    for (i, c) in cells.iter().enumerate() {
        if i > 0 {
            let ends = [P2::new(x, *y), P2::new(x, *y + ROW)];
            items.push(Shape::line(&ends, Stroke::solid(width::THIN, Ink::BLACK)).into());
        }
        let room = c.w - 2.5;
        items.push(
            Words::new(P2::new(x + 1.25, *y + 3.4), c.caption, CAPTION).ink(Ink::GREY).into(),
        );
        let mut value = c.value.clone();
        if lettering::width(&value, VALUE, Weight::Bold) > room {
            // Too long for its line: it starts beside the caption.
            let indent = lettering::width(c.caption, CAPTION, Weight::Regular) + 2.5;
            let lines = wrap(&value, VALUE, Weight::Bold, room - indent);
            let first = fitted(&lines[0], VALUE, Weight::Bold, room - indent);
            let at = P2::new(x + 1.25 + indent, *y + 3.4);
            items.push(Words::new(at, first, VALUE).bold().into());
            value = lines[1..].join(" ");
        }
        let value = fitted(&value, VALUE, Weight::Bold, room);
        items.push(Words::new(P2::new(x + 1.25, *y + 7.2), value, VALUE).bold().into());
        x += c.w;
    }
    *y += ROW;
    rule_above(items, at, *y);
}

fn title_row(items: &mut Vec<Item>, at: Rect, y: &mut f64, sheet: &Sheet, title: &TitleData) {
    const MAIN: f64 = 120.0;
    let main = Words::new(
        P2::new(at.x + 1.25, *y + 7.6),
        fitted(&sheet.title, 5.0, Weight::Bold, MAIN - 2.5),
        5.0,
    );
    items.push(main.bold().into());
    let split = at.x + MAIN;
    let ends = [P2::new(split, *y), P2::new(split, *y + TITLE_ROW)];
    items.push(Shape::line(&ends, Stroke::solid(width::THIN, Ink::BLACK)).into());
    // The job's name goes on where the title stops: the supplementary title of ISO 7200.
    let room = BLOCK_WIDTH - MAIN - 2.5;
    for (i, line) in wrap(&title.job, 3.0, Weight::Bold, room).iter().take(2).enumerate() {
        let at = P2::new(split + 1.25, *y + 4.6 + 4.6 * i as f64);
        items.push(Words::new(at, fitted(line, 3.0, Weight::Bold, room), 3.0).bold().into());
    }
    *y += TITLE_ROW;
    rule_above(items, at, *y);
}

fn revisions(items: &mut Vec<Item>, title: &TitleData, at: Rect, y: &mut f64) {
    let shown = title.revision_rows();
    if shown == 0 {
        return;
    }
    const COLUMNS: [f64; 4] = [12.0, 26.0, 112.0, 30.0];
    let heading = ["Rev", "Date", "What changed", "By"].map(str::to_owned);
    let skip = title.revisions.len() - shown;
    let rows = std::iter::once(&heading).chain(&title.revisions[skip..]);
    for (i, fields) in rows.enumerate() {
        let mut x = at.x;
        for (field, w) in fields.iter().zip(COLUMNS) {
            let text = fitted(field, VALUE, Weight::Regular, w - 2.5);
            let ink = if i == 0 { Ink::GREY } else { Ink::BLACK };
            items.push(Words::new(P2::new(x + 1.25, *y + 3.7), text, VALUE).ink(ink).into());
            x += w;
        }
        *y += REVISION_ROW;
        rule_above(items, at, *y);
    }
}
