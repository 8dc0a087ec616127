//! The frame and the title block that every sheet wears: ISO 5457 borders, ISO 7200 fields, the
//! trade's own fields, the revision table. In: a sheet's content, the job. Out: the dressed sheet.

use super::scene::{Anchor, Group, Ink, Item, Mark, Paper, Shape, Sheet, Stroke, Words};
use super::style::width;
use crate::lettering::{self, Weight, fitted, wrap};
use crate::model::{P2, Rect, System};

/// Filing margin on the left, and the margin elsewhere (ISO 5457:1999, from memory), mm.
const FILING: f64 = 20.0;
const MARGIN: f64 = 10.0;
/// Width of the strip for the grid reference, outside the frame.
const STRIP: f64 = 5.0;
/// Length of a grid field.
const FIELD: f64 = 50.0;

const BLOCK_WIDTH: f64 = 180.0;
const ROW: f64 = 8.5;
const TITLE_ROW: f64 = 11.0;
const CAUTION_ROW: f64 = 8.5;
const BLOCK_HEIGHT: f64 = 4.0 * ROW + TITLE_ROW + CAUTION_ROW;
const REVISION_ROW: f64 = 5.0;
/// The newest revisions that the table shows.
const REVISIONS_SHOWN: usize = 4;

const CAPTION: f64 = 2.5;
const VALUE: f64 = 2.5;

/// Keys of the sheets that wear a strip in place of the title block.
const FOR_THE_DOOR: [&str; 2] = ["householder", "labels"];

/// Every other sheet says it.
const CAUTION: [&str; 2] = [
    "Hot water under pressure, gas and mains electricity can kill: competent, certificated people only.",
    "The maker's instructions and the local code come first. Do not scale from a copy: use the figures.",
];

/// What the title block prints.
#[derive(Clone, Debug, Default)]
pub struct TitleData {
    pub owner: String,
    pub client: String,
    pub address: String,
    pub job: String,
    pub number: String,
    pub drawn: String,
    pub checked: String,
    pub approved: String,
    pub installer: String,
    pub status: String,
    pub rules: String,
    pub assumed: usize,
    /// Errors and warnings that the rules find in the design, and the rules that find them.
    pub errors: usize,
    pub error_rules: Vec<&'static str>,
    pub warnings: usize,
    pub warning_rules: Vec<&'static str>,
    /// Number of the sheet of findings, 0 where there is none.
    pub findings_sheet: usize,
    /// A drawing that bears no marks of what stands against its parts.
    pub unmarked: bool,
    /// Lines of the description of which something was not read.
    pub unread: usize,
    /// Some of it lies outside what the rules cover.
    pub out_of_scope: bool,
    pub digest: String,
    /// Index, date, note, by; oldest first.
    pub revisions: Vec<[String; 4]>,
}

impl TitleData {
    pub fn of(system: &System) -> TitleData {
        let job = &system.job;
        let field = |key: &str| job.fields.get(key).cloned().unwrap_or_default();
        let edition = &system.rules.edition.value;
        let nation = nation(&system.rules.jurisdiction.value);
        let rules = if edition.is_empty() { nation } else { format!("{nation}, {edition}") };
        TitleData {
            owner: field("owner"),
            client: field("client"),
            address: field("address"),
            job: job.name.clone(),
            number: job.number.clone(),
            drawn: field("drawn"),
            checked: field("checked"),
            approved: field("approved"),
            installer: [field("installer"), field("card")].join(" ").trim().to_owned(),
            status: job.status.clone(),
            rules,
            assumed: system.assumptions.len(),
            errors: 0,
            error_rules: Vec::new(),
            warnings: 0,
            warning_rules: Vec::new(),
            findings_sheet: 0,
            unmarked: false,
            unread: 0,
            out_of_scope: false,
            digest: system.digest(),
            revisions: job
                .revisions
                .iter()
                .map(|r| [r.index.clone(), r.date.clone(), r.note.clone(), r.by.clone()])
                .collect(),
        }
    }

    /// Mandatory fields of ISO 7200 that are blank. Sheet, title and document type are never blank.
    pub fn missing(&self) -> Vec<&'static str> {
        let (_, date) = self.last_revision();
        [
            ("owner", self.owner.as_str()),
            ("number", &self.number),
            ("date of issue", date),
            ("approved by", &self.approved),
            ("drawn by", &self.drawn),
        ]
        .into_iter()
        .filter(|(_, value)| value.trim().is_empty())
        .map(|(name, _)| name)
        .collect()
    }

    /// Where the findings stand in full.
    pub fn findings_at(&self) -> String {
        match self.findings_sheet {
            0 => "see the sheet of findings".to_owned(),
            n => format!("see sheet {n}, findings"),
        }
    }

    fn last_revision(&self) -> (&str, &str) {
        self.revisions.last().map_or(("", ""), |r| (&r[0], &r[1]))
    }

    fn revision_rows(&self) -> usize {
        self.revisions.len().min(REVISIONS_SHOWN)
    }
}

/// The first letter upper case.
pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |c| c.to_uppercase().to_string() + letters.as_str())
}

/// "northern-ireland" as a title: "Northern Ireland".
pub fn nation(word: &str) -> String {
    word.split('-').map(capital).collect::<Vec<_>>().join(" ")
}

/// The drawing space inside the frame.
pub fn drawing_space(paper: Paper) -> Rect {
    Rect::new(FILING, MARGIN, paper.w - FILING - MARGIN, paper.h - 2.0 * MARGIN)
}

/// What the title block and the revision table take of it, at the bottom right.
pub fn title_block(paper: Paper, title: &TitleData) -> Rect {
    let space = drawing_space(paper);
    let rows = title.revision_rows();
    let table = if rows == 0 { 0.0 } else { (rows + 1) as f64 * REVISION_ROW };
    let h = BLOCK_HEIGHT + table;
    Rect::new(space.right() - BLOCK_WIDTH, space.bottom() - h, BLOCK_WIDTH, h)
}

/// What is left for a drawing above the title block, over the whole width.
pub fn space_above_block(paper: Paper, title: &TitleData) -> Rect {
    let space = drawing_space(paper);
    Rect::new(space.x, space.y, space.w, title_block(paper, title).y - space.y)
}

/// What is left above the strip of a sheet for the door.
pub fn space_above_strip(paper: Paper) -> Rect {
    let space = drawing_space(paper);
    Rect::new(space.x, space.y, space.w, space.h - ROW)
}

/// One row across the foot of the sheet: whose it is, which sheet, of what date.
fn strip(sheet: &Sheet, title: &TitleData, n: usize, of: usize) -> Vec<Item> {
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

/// Puts the frame under and the title block over the content: sheet `n` of `of`.
pub fn dress(mut sheet: Sheet, title: &TitleData, n: usize, of: usize) -> Sheet {
    let mut frame = border(sheet.paper);
    // What hangs on the door or is cut out is not for the drawing office.
    if FOR_THE_DOOR.contains(&sheet.key.trim_end_matches(|c: char| c == '-' || c.is_ascii_digit()))
    {
        frame.extend(strip(&sheet, title, n, of));
    } else {
        frame.extend(block(&sheet, title, n, of));
    }
    sheet.items.insert(0, Group { mark: Mark::Layer("frame"), title: None, items: frame }.into());
    sheet
}

fn border(paper: Paper) -> Vec<Item> {
    let space = drawing_space(paper);
    let thin = || Stroke::solid(width::SYMBOL, Ink::BLACK);
    let bold = || Stroke::solid(width::FRAME, Ink::BLACK);
    let mut items: Vec<Item> = vec![Shape::rect(space, Some(bold()), None).into()];
    // Small sheets are read in the hand: no grid reference on A4.
    if paper.w.max(paper.h) < 400.0 {
        return items;
    }
    let outer = space.grown(STRIP);
    items.push(Shape::rect(outer, Some(thin()), None).into());
    let (cx, cy) = (paper.w / 2.0, paper.h / 2.0);
    for y in [space.y - STRIP, space.bottom()] {
        items.push(Shape::line(&[P2::new(cx, y), P2::new(cx, y + STRIP)], bold()).into());
        fields(cx, space.x, space.right(), |i, from, to, edge| {
            if let Some(x) = edge {
                items.push(Shape::line(&[P2::new(x, y), P2::new(x, y + STRIP)], thin()).into());
            }
            let at = P2::new((from + to) / 2.0, y + 3.75);
            items.push(Words::new(at, (i + 1).to_string(), CAPTION).anchor(Anchor::Middle).into());
        });
    }
    for x in [space.x - STRIP, space.right()] {
        items.push(Shape::line(&[P2::new(x, cy), P2::new(x + STRIP, cy)], bold()).into());
        fields(cy, space.y, space.bottom(), |i, from, to, edge| {
            if let Some(y) = edge {
                items.push(Shape::line(&[P2::new(x, y), P2::new(x + STRIP, y)], thin()).into());
            }
            // Letters I and O would read as figures.
            let letter = "ABCDEFGHJKLMNP".chars().nth(i).unwrap_or('Z').to_string();
            let at = P2::new(x + STRIP / 2.0, (from + to) / 2.0 + CAPTION / 2.0);
            items.push(Words::new(at, letter, CAPTION).anchor(Anchor::Middle).into());
        });
    }
    items
}

/// Calls back for each grid field between `from` and `to`, counted from the symmetry axis, with
/// its number, its ends, and the edge to be ticked at its start.
fn fields(axis: f64, from: f64, to: f64, mut field: impl FnMut(usize, f64, f64, Option<f64>)) {
    let before = ((axis - from) / FIELD).ceil() as i64;
    let after = ((to - axis) / FIELD).ceil() as i64;
    for (i, k) in (-before..after).enumerate() {
        let start = (axis + k as f64 * FIELD).max(from);
        let end = (axis + (k + 1) as f64 * FIELD).min(to);
        // A sliver too narrow for its letter joins its neighbour unmarked.
        if end - start < STRIP {
            continue;
        }
        field(i, start, end, (start > from).then_some(start));
    }
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

fn block(sheet: &Sheet, title: &TitleData, n: usize, of: usize) -> Vec<Item> {
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

#[cfg(test)]
mod tests {
    use super::*;

    /// ISO 5457:1999 borders, from memory: A3 landscape leaves 390 × 277 from (20, 10), A4
    /// portrait 180 × 277.
    #[test]
    fn drawing_spaces() {
        let a3 = drawing_space(Paper::A3);
        assert_eq!((a3.x, a3.y, a3.w, a3.h), (20.0, 10.0, 390.0, 277.0));
        let a4 = drawing_space(Paper::A4_PORTRAIT);
        assert_eq!((a4.x, a4.y, a4.w, a4.h), (20.0, 10.0, 180.0, 277.0));
    }

    /// ISO 7200: owner, number, date, approver and creator are mandatory; a missing one is named.
    #[test]
    fn a_missing_approver_is_named() {
        let filled = TitleData {
            owner: "Saltby Heating".to_owned(),
            number: "HC-07".to_owned(),
            drawn: "J. Marlow".to_owned(),
            revisions: vec![["A", "2026-11-25", "first issue", "JM"].map(str::to_owned)],
            ..TitleData::default()
        };
        assert_eq!(filled.missing(), ["approved by"]);
        assert_eq!(TitleData::default().missing().len(), 5);
    }

    #[test]
    fn the_block_stays_in_the_space() {
        let mut title = TitleData::default();
        for _ in 0..9 {
            title.revisions.push(["A", "2026-11-25", "moved", "KB"].map(str::to_owned));
            for paper in [Paper::A4_PORTRAIT, Paper::A4_LANDSCAPE, Paper::A3, Paper::A2] {
                let (space, block) = (drawing_space(paper), title_block(paper, &title));
                assert!(block.x >= space.x && block.y > space.y + 60.0);
                assert_eq!((block.right(), block.bottom()), (space.right(), space.bottom()));
            }
        }
    }
}
