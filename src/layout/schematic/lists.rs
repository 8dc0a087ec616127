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

/// Entries, each in its box.
type Boxed = Vec<(Rect, Entry)>;

#[derive(Clone, Debug)]
pub struct Lists {
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

/// What stands under each heading.
fn content(system: &System, w: f64, with_assumed: bool) -> Vec<Vec<Entry>> {
    let mut all = Vec::new();
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
    all.push(std::mem::take(&mut out));
    let services = system.services();
    if !services.is_empty() {
        out.push(Entry::Heading("LINES"));
        out.extend(services.into_iter().map(Entry::Line));
        all.push(std::mem::take(&mut out));
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
    all.push(std::mem::take(&mut out));
    if with_assumed && !here.is_empty() {
        out.push(Entry::Heading(TICK));
        for a in here {
            let text = format!("{} {}: {} {}", a.id, a.what, a.value, a.unit);
            out.push(Entry::Tick(wrapped(text.trim(), w - 5.0)));
        }
        all.push(out);
    }
    all
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
    let orders = orders(content(system, w, with_assumed));
    let columns = |over: f64| -> Vec<Rect> {
        (0..columns_left + columns_right)
            .map(|i| {
                let (x, h) = if i < columns_left {
                    (space.x + wl * i as f64, over + block)
                } else {
                    (space.x + left + wr * (i - columns_left) as f64, over)
                };
                Rect::new(x + GUTTER, space.bottom() - over - block + 1.5, w, h - 3.0)
            })
            .collect()
    };
    // As low as all entries allow, or a little higher where a list then stays in one piece.
    let most = space.h * if with_assumed { 0.25 } else { 0.6 };
    let mut best: Option<(f64, f64, Boxed)> = None;
    let (mut over, mut more) = (0.0, 0);
    while over <= most && more <= HIGHER {
        let columns = columns(over);
        for (n, entries) in orders.iter().enumerate() {
            let Some((torn, flowed)) = flow(entries, &columns) else { continue };
            let cost = torn + STEP_COST * more as f64 + UNUSUAL * n as f64;
            if best.as_ref().is_none_or(|b| cost < b.0) {
                best = Some((cost, over, flowed));
            }
        }
        more += usize::from(best.is_some());
        over += STEP;
    }
    if let Some((_, over, entries)) = best {
        return Lists { entries, above: room(space, over + block) };
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

/// Steps by which the lists may stand higher than they must, what one is, and what it costs.
const HIGHER: usize = 3;
const STEP: f64 = 1.25;
const STEP_COST: f64 = 1.0;
/// What it costs that a heading has but one entry under it and the rest in the next column.
const ALONE: f64 = 2.0;
/// What an empty column costs before one that is not.
const EMPTY: f64 = 0.1;
/// What it costs that the lists do not follow each other as usual.
const UNUSUAL: f64 = 0.3;

/// The symbols first, then the other lists in any order, the usual one first.
fn orders(groups: Vec<Vec<Entry>>) -> Vec<Vec<Entry>> {
    let Some((first, rest)) = groups.split_first() else { return Vec::new() };
    let mut orders: Vec<Vec<usize>> = vec![Vec::new()];
    for _ in rest {
        let longer = |order: &Vec<usize>| {
            let more = (0..rest.len()).filter(|k| !order.contains(k));
            more.map(|k| order.iter().copied().chain([k]).collect()).collect::<Vec<Vec<usize>>>()
        };
        orders = orders.iter().flat_map(longer).collect();
    }
    let flat = |order: Vec<usize>| {
        let groups = std::iter::once(first).chain(order.into_iter().map(|k| &rest[k]));
        groups.flatten().cloned().collect()
    };
    orders.into_iter().map(flat).collect()
}

/// What it costs that a column ends between these two; `None` where it may not.
fn torn(before: &Entry, after: &Entry) -> Option<f64> {
    match (before, after) {
        (Entry::Heading(_), _) => None,
        (_, Entry::Heading(_)) | (Entry::Symbol(_), Entry::Symbol(_)) => Some(0.0),
        (Entry::Line(_), _) => Some(3.0),
        (Entry::Tick(_), _) => Some(2.5),
        _ => Some(1.0),
    }
}

/// Entries down one column after another, torn where it hurts least; a heading never stands last
/// in its column. With what that costs.
fn flow(entries: &[Entry], columns: &[Rect]) -> Option<(f64, Boxed)> {
    let n = entries.len();
    let again = Entry::Heading(TICK_ON);
    // What is to be ticked off, and goes on in another column, has its heading there too.
    let goes_on = |i: usize| {
        i > 0
            && matches!(entries.get(i), Some(Entry::Tick(_)))
            && matches!(entries[i - 1], Entry::Tick(_))
    };
    // One of several under its heading, and the rest elsewhere.
    let alone = |j: usize| {
        j > 1
            && matches!(entries[j - 2], Entry::Heading(_))
            && matches!(entries[j - 1], Entry::Line(_) | Entry::Tick(_))
            && !matches!(entries[j], Entry::Heading(_))
    };
    // Per column and entry: the least cost of what comes before this entry stands before this
    // column, and the entry with which the column before began.
    let mut least: Vec<Vec<Option<(f64, usize)>>> = vec![vec![None; n + 1]; columns.len() + 1];
    least[0][0] = Some((0.0, 0));
    for (c, column) in columns.iter().enumerate() {
        for i in 0..=n {
            let Some((cost, _)) = least[c][i] else { continue };
            let mut y = if goes_on(i) { height(&again) } else { 0.0 };
            for j in i..=n {
                if j > i {
                    y += height(&entries[j - 1]);
                    if y > column.h + 1e-9 {
                        break;
                    }
                }
                let tear = match j {
                    _ if j == n => Some(0.0),
                    _ if j == i => Some(EMPTY),
                    _ if alone(j) => torn(&entries[j - 1], &entries[j]).map(|t| t + ALONE),
                    _ => torn(&entries[j - 1], &entries[j]),
                };
                let Some(tear) = tear else { continue };
                let better = least[c + 1][j].is_none_or(|(known, _)| cost + tear < known - 1e-9);
                if better {
                    least[c + 1][j] = Some((cost + tear, i));
                }
            }
        }
    }
    let (cost, _) = least[columns.len()][n]?;
    let mut out = Vec::new();
    let mut end = n;
    for (c, column) in columns.iter().enumerate().rev() {
        let (_, begin) = least[c + 1][end]?;
        let mut y = column.y;
        let mut put = |entry: &Entry| {
            let h = height(entry);
            out.push((Rect::new(column.x, y, column.w, h), entry.clone()));
            y += h;
        };
        if begin < end && goes_on(begin) {
            put(&again);
        }
        entries[begin..end].iter().for_each(&mut put);
        end = begin;
    }
    Some((cost, out))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn column(h: f64) -> Rect {
        Rect::new(0.0, 0.0, 50.0, h)
    }

    fn lines(n: usize) -> Vec<Entry> {
        let lines = (0..n).map(|_| Entry::Line(Service::ColdMain));
        std::iter::once(Entry::Heading("LINES")).chain(lines).collect()
    }

    fn tick() -> Entry {
        Entry::Tick(vec!["stored temperature: 60 °C".to_owned()])
    }

    /// A list that has room in one column is not torn, even where it could begin further up.
    #[test]
    fn a_list_stays_in_one_piece() {
        let mut entries = vec![Entry::Heading("NOTES"), Entry::Note(vec![String::new(); 4])];
        entries.extend(lines(6));
        let mut columns = [column(40.0), column(40.0)];
        columns[1].x = 60.0;
        let (cost, flowed) = flow(&entries, &columns).expect("room for all");
        assert_eq!(cost, 0.0);
        let of_lines = flowed.iter().filter(|(_, e)| matches!(e, Entry::Line(_)));
        assert!(of_lines.clone().all(|(at, _)| at.x == 60.0));
        assert_eq!(of_lines.count(), 6);
    }

    /// No entry is lost, and none stands lower than its column reaches.
    #[test]
    fn all_entries_stand_in_their_columns() {
        let mut entries = lines(9);
        entries.push(Entry::Heading(TICK));
        entries.extend((0..5).map(|_| tick()));
        let columns = [column(31.0), column(25.0), column(20.0), column(20.0)];
        let (_, flowed) = flow(&entries, &columns).expect("room for all");
        let told = flowed.iter().filter(|(_, e)| !matches!(e, Entry::Heading(TICK_ON)));
        assert_eq!(told.count(), entries.len());
        assert!(flowed.iter().all(|(at, _)| at.bottom() <= 31.0 + 1e-6));
        assert!(flow(&entries, &columns[..2]).is_none());
    }
}
