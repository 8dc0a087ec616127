//! The lists on the sheet: symbols, lines, what was assumed, notes. In: the system, the sheet.
//! Out: columns of entries beside and above the title block, and what room is left for the drawing.

use super::fit::paper;
use super::label::{HEIGHT, PITCH};
use super::plan::Sheet;
use super::words;
use crate::catalogue::Kind;
use crate::lettering::{Weight, wrap};
use crate::model::{Rect, Service, System};

/// Filing margin and margin of the frame (ISO 5457, from memory), mm.
const FILING: f64 = 20.0;
const EDGE: f64 = 10.0;
const BLOCK_W: f64 = 180.0;
/// As `draw::frame` makes it; a test there and here keeps them equal.
const BLOCK_H: f64 = 53.5;
const REVISION: f64 = 5.0;
const GUTTER: f64 = 2.0;

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

/// Above what is to be ticked off, and above the rest of it in the next column.
const TICK: &str = "ASSUMED HERE: TICK OFF";
const TICK_ON: &str = "ASSUMED HERE, GOES ON";

/// The cautions stand in the title block of every sheet.
const NOTES: [&str; 2] = [
    "NOT TO SCALE: order and connections bind, lengths and places do not.",
    "Sizes are outside diameters in mm; arrows show which way the water goes.",
];

fn height(entry: &Entry) -> f64 {
    match entry {
        Entry::Heading(_) => 6.5,
        Entry::Symbol(kind) => match kind.symbol.name.as_str() {
            "control" => 7.2,
            // Letters keep their size, so the symbol can't shrink much.
            "valve-motor" | "valve-three-port" | "valve-blending" | "vessel" | "meter" => {
                kind.symbol.h * 0.72 + 0.8
            }
            _ => kind.symbol.h.clamp(4.4, 6.8) + 0.8,
        },
        Entry::Line(_) => 4.4,
        Entry::Tick(lines) | Entry::Note(lines) => PITCH * lines.len() as f64 + 0.9,
    }
}

fn content(system: &System, w: f64, with_assumed: bool) -> Vec<Entry> {
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
    let printed = words::assumed(system);
    let here: Vec<_> = system.assumptions.iter().filter(|a| printed.contains(&a.id)).collect();
    if !system.assumptions.is_empty() {
        let n = system.assumptions.len();
        let all = match n {
            1 => "The assumed value is".to_owned(),
            2 => "Both assumed values are".to_owned(),
            n => format!("All {n} assumed values are"),
        };
        // A star is explained where one can stand.
        let star = if here.is_empty() { "" } else { "* assumed, to be proved on site. " };
        let text = format!("{star}{all} on the sheet of findings.");
        out.push(Entry::Note(wrapped(&text, w)));
    }
    if with_assumed && !here.is_empty() {
        out.push(Entry::Heading(TICK));
        for a in here {
            let text = format!("{} {}: {} {}", a.id, a.what, a.value, a.unit);
            out.push(Entry::Tick(wrapped(text.trim(), w - 5.0)));
        }
    }
    out
}

/// Columns of entries on the left of the title block, as high as they need to be.
pub fn lists(system: &System, sheet: Sheet, with_assumed: bool) -> Lists {
    let (pw, ph) = paper(sheet);
    let space = Rect::new(FILING, EDGE, pw - FILING - EDGE, ph - 2.0 * EDGE);
    let rows = system.job.revisions.len().min(4);
    let block = BLOCK_H + if rows == 0 { 0.0 } else { (rows + 1) as f64 * REVISION };
    let left = space.w - BLOCK_W;
    let columns_left = (left / 52.0).floor() as usize;
    let columns_right = (BLOCK_W / 52.0).floor() as usize;
    let (wl, wr) = (left / columns_left.max(1) as f64, BLOCK_W / columns_right as f64);
    // Upright A4 has no room beside its title block.
    let w = if columns_left == 0 { wr } else { wl.min(wr) } - 2.0 * GUTTER;
    let entries = content(system, w, with_assumed);
    // As low as all entries allow.
    let mut over = 0.0;
    let most = space.h * if with_assumed { 0.25 } else { 0.6 };
    while over <= most {
        let columns: Vec<Rect> = (0..columns_left + columns_right)
            .map(|i| {
                let (x, h) = if i < columns_left {
                    (space.x + wl * i as f64, over + block)
                } else {
                    (space.x + left + wr * (i - columns_left) as f64, over)
                };
                Rect::new(x + GUTTER, space.bottom() - over - block + 1.5, w, h - 3.0)
            })
            .collect();
        if let Some(flowed) = flow(&entries, &columns) {
            return Lists { entries: flowed, above: room(space, over + block) };
        }
        over += 1.25;
    }
    if with_assumed {
        return lists(system, sheet, false);
    }
    // Too much to list: the drawing comes first.
    Lists { entries: Vec::new(), above: room(space, block) }
}

fn room(space: Rect, taken: f64) -> Rect {
    Rect::new(space.x, space.y, space.w, space.h - taken)
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
        // What is to be ticked off, and goes on in another column, has its heading there too.
        let goes_on = matches!(entry, Entry::Tick(_)) && i > 0 && {
            matches!(entries[i - 1], Entry::Tick(_))
        };
        let again = Entry::Heading(TICK_ON);
        let above = |y: f64, column: usize| match goes_on && y <= columns[column].y {
            true => height(&again),
            false => 0.0,
        };
        while y + above(y, column) + need > columns[column].bottom() {
            column += 1;
            y = columns.get(column)?.y;
        }
        let c = columns[column];
        let more = above(y, column);
        if more > 0.0 {
            out.push((Rect::new(c.x, y, c.w, more), again.clone()));
            y += more;
        }
        out.push((Rect::new(c.x, y, c.w, h), entry.clone()));
        y += h;
    }
    Some(out)
}
