//! The lists on the sheet: symbols, lines, what was assumed, notes. In: the system, the sheet.
//! Out: columns of entries beside and above the title block, and what room is left for the drawing.

use super::fit::paper;
use super::label::{HEIGHT, PITCH};
use super::plan::Sheet;
use crate::catalogue::Kind;
use crate::lettering::{Weight, wrap};
use crate::model::{Rect, Service, System};

/// Filing margin and margin of the frame (ISO 5457, from memory), mm.
const FILING: f64 = 20.0;
const EDGE: f64 = 10.0;
const BLOCK_W: f64 = 180.0;
const BLOCK_H: f64 = 50.0;
const REVISION: f64 = 5.0;
const GUTTER: f64 = 3.0;

#[derive(Clone, Debug)]
pub enum Entry {
    Heading(&'static str),
    Symbol(Kind),
    Line(Service),
    /// Lines with a box to tick.
    Tick(Vec<String>),
    Note(Vec<String>),
}

#[derive(Clone, Debug)]
pub struct Lists {
    /// Each entry in its box.
    pub entries: Vec<(Rect, Entry)>,
    /// What is left for the drawing.
    pub above: Rect,
}

const NOTES: [&str; 5] = [
    "NOT TO SCALE. Order and connections bind; lengths and places do not.",
    "Sizes are outside diameters in mm. Arrows show the way the water goes.",
    "Mains-pressure hot water: a competent, certificated person fits, alters and services it.",
    "Gas and mains wiring: by registered, licensed people only. Isolate and prove dead first.",
    "The maker's instructions and the local code come before this sheet.",
];

fn height(entry: &Entry) -> f64 {
    match entry {
        Entry::Heading(_) => 6.5,
        Entry::Symbol(kind) => kind.symbol.h.clamp(4.0, 11.0) + 1.5,
        Entry::Line(_) => 4.4,
        Entry::Tick(lines) | Entry::Note(lines) => PITCH * lines.len() as f64 + 0.9,
    }
}

fn content(system: &System, w: f64) -> Vec<Entry> {
    let mut out = vec![Entry::Heading("SYMBOLS")];
    let mut kinds: Vec<Kind> = Vec::new();
    for part in &system.parts {
        if !kinds.contains(&part.kind) {
            kinds.push(part.kind);
        }
    }
    let order = |k: &Kind| {
        crate::catalogue::kinds().iter().position(|row| row.key == k.key).unwrap_or(usize::MAX)
    };
    kinds.sort_by_key(order);
    out.extend(kinds.into_iter().map(Entry::Symbol));
    let services = system.services();
    if !services.is_empty() {
        out.push(Entry::Heading("LINES"));
        out.extend(services.into_iter().map(Entry::Line));
    }
    let wrapped = |text: &str, w: f64| wrap(text, HEIGHT, Weight::Regular, w);
    out.push(Entry::Heading("NOTES"));
    for note in NOTES.iter().map(|n| (*n).to_owned()).chain(system.job.notes.iter().cloned()) {
        out.push(Entry::Note(wrapped(&note, w)));
    }
    if !system.assumptions.is_empty() {
        out.push(Entry::Heading("ASSUMED: TICK WHEN PROVED ON SITE"));
        for a in &system.assumptions {
            let text = format!("{} {}: {} {}", a.id, a.what, a.value, a.unit);
            out.push(Entry::Tick(wrapped(text.trim(), w - 5.0)));
        }
    }
    out
}

/// Columns of entries on the left of the title block, as high as they need to be.
pub fn lists(system: &System, sheet: Sheet) -> Lists {
    let (pw, ph) = paper(sheet);
    let space = Rect::new(FILING, EDGE, pw - FILING - EDGE, ph - 2.0 * EDGE);
    let rows = system.job.revisions.len().min(4);
    let block = BLOCK_H + if rows == 0 { 0.0 } else { (rows + 1) as f64 * REVISION };
    let left = space.w - BLOCK_W;
    let columns_left = (left / 66.0).floor().max(1.0) as usize;
    let columns_right = (BLOCK_W / 60.0).floor() as usize;
    let (wl, wr) = (left / columns_left as f64, BLOCK_W / columns_right as f64);
    let w = wl.min(wr) - 2.0 * GUTTER;
    let entries = content(system, w);
    // As low as all entries allow.
    let mut over = 0.0;
    loop {
        let columns = (0..columns_left + columns_right).map(|i| {
            let (x, h) = if i < columns_left {
                (space.x + wl * i as f64, over + block)
            } else {
                (space.x + left + wr * (i - columns_left) as f64, over)
            };
            Rect::new(x + GUTTER, space.bottom() - over - block + 1.5, w, h - 3.0)
        });
        if let Some(flowed) = flow(&entries, &columns.collect::<Vec<_>>()) {
            let top = space.bottom() - over - block;
            let above = Rect::new(space.x, space.y, space.w, top - space.y);
            return Lists { entries: flowed, above };
        }
        over += 2.5;
        if over > space.h * 0.6 {
            // Too much to list: the drawing comes first, the rest of the list is cut with a note.
            let top = space.bottom() - over - block;
            let above = Rect::new(space.x, space.y, space.w, top - space.y);
            return Lists { entries: Vec::new(), above };
        }
    }
}

/// Entries down one column after another; a heading never stands last in its column.
fn flow(entries: &[Entry], columns: &[Rect]) -> Option<Vec<(Rect, Entry)>> {
    let mut out = Vec::new();
    let mut column = 0;
    let mut y = columns.first()?.y;
    for (i, entry) in entries.iter().enumerate() {
        let h = height(entry);
        let mut need = h;
        if matches!(entry, Entry::Heading(_)) {
            need += entries.get(i + 1).map_or(0.0, height);
        }
        while y + need > columns[column].bottom() {
            column += 1;
            y = columns.get(column)?.y;
        }
        let c = columns[column];
        out.push((Rect::new(c.x, y, c.w, h), entry.clone()));
        y += h;
    }
    Some(out)
}
