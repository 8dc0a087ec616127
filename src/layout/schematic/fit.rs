//! The drawing on its sheet. In: the sized system. Out: the plan, on the smallest of A4, A3 and
//! A2 on which it can be read, spread over the room it has, in the middle of it.

use super::before::{Before, Beside};
use super::canvas::{Canvas, Spacing};
use super::label::{Field, place_labels};
use super::lists::{self, Lists};
use super::loose::{bounds, loose};
use super::marks;
use super::net::{Net, snap};
use super::outline::outlines;
use super::place::{place, place_after};
use super::plan::{Page, PlacedSymbol, SchematicPlan, Sheet};
use super::pose::Pose;
use super::route::{Routed, route_turned};
use super::views::{View, last_mark, pieces_as_before, split_until, views};
use super::words;
use crate::model::{P2, Rect, System};
use crate::size::Sized;

/// White margin inside the room of the drawing, for the outermost words too, mm.
const MARGIN: f64 = 5.0;

/// Words stay this far off the frame, mm.
const OFF_FRAME: f64 = 1.25;

/// From tight to wide: gap and white space across the sheet, then gap and bands down the sheet.
const ACROSS: [(f64, f64, f64); 19] = [
    (5.0, 2.5, 0.0),
    (5.0, 2.5, 0.4),
    (5.0, 2.5, 0.6),
    (5.0, 2.5, 0.8),
    (5.0, 2.5, 0.9),
    (5.0, 2.5, 1.0),
    (5.0, 2.5, 1.15),
    (5.0, 3.75, 1.2),
    (6.25, 2.5, 1.0),
    (6.25, 3.75, 1.05),
    (7.5, 3.75, 1.15),
    (7.5, 5.0, 1.15),
    (8.75, 6.25, 1.2),
    (10.0, 7.5, 1.2),
    (12.5, 8.75, 1.2),
    (15.0, 10.0, 1.2),
    (17.5, 12.5, 1.2),
    (20.0, 15.0, 1.2),
    (22.5, 17.5, 1.2),
];
const DOWN: [(f64, f64); 10] = [
    (5.0, 0.0),
    (6.25, 2.5),
    (7.5, 5.0),
    (8.75, 7.5),
    (8.75, 12.5),
    (10.0, 17.5),
    (11.25, 25.0),
    (12.5, 35.0),
    (13.75, 45.0),
    (15.0, 55.0),
];

fn spacing((across, down): (usize, usize), reserved: bool) -> Spacing {
    let ((gap, clear, words), (drop, band)) = (ACROSS[across], DOWN[down]);
    Spacing { gap, drop, clear, beside: clear, band, words, reserved }
}

/// With more words than this on leaders, the sheet is too small: where a larger one may be taken,
/// and where the drawing would be cut once more instead.
const MOST_LED: usize = 2;
const MOST_LED_OF_PIECE: usize = 8;
/// Where the rest can stay, a few more are borne.
const MOST_LED_BESIDE: usize = 12;

struct Try {
    canvas: Canvas,
    routed: Routed,
    bounds: Rect,
}

/// The schematic of a system.
pub fn lay_out(sized: &Sized) -> SchematicPlan {
    let views = views(&sized.system);
    let mut mark = marks_of(&views);
    let pages = views.iter().flat_map(|view| pages(view, &mut mark)).collect();
    SchematicPlan { pages }
}

/// The schematic of a system of which an earlier issue is known: what the edit does not concern
/// stands where it stood, where there is room for that.
pub fn lay_out_after(sized: &Sized, earlier: &SchematicPlan) -> SchematicPlan {
    let views = views(&sized.system);
    let mut mark = marks_of(&views);
    let mut out = Vec::new();
    for view in &views {
        let old: Vec<&Page> =
            earlier.pages.iter().filter(|p| is_piece(&p.key, &view.key)).collect();
        out.extend(beside(view, &old, mark).unwrap_or_else(|| pages(view, &mut mark)));
        mark = out.iter().map(|p| last_mark(&p.system)).fold(mark, usize::max);
    }
    SchematicPlan { pages: out }
}

/// On the sheets of the earlier issue, each as little changed as can be.
fn beside(view: &View, earlier: &[&Page], mark: usize) -> Option<Vec<Page>> {
    let after = |view: &View, old: &Page| page_after(view, &Before::of(old, &view.system));
    match earlier {
        [] => None,
        [old] => after(view, old).map(|page| vec![page]),
        _ => {
            let systems: Vec<_> = earlier.iter().map(|p| &p.system).collect();
            let pieces = pieces_as_before(view, mark, &systems);
            let page = |v: &View| {
                let old = earlier.iter().find(|p| p.key == v.key);
                old.and_then(|old| after(v, old)).or_else(|| on_some(v, &A2_AND_LESS))
            };
            pieces.iter().map(page).collect()
        }
    }
}

/// The sheet with this key shows the view, or a piece of it.
fn is_piece(key: &str, view: &str) -> bool {
    let rest = key.strip_prefix(view);
    let number = |r: &str| r.strip_prefix('-').is_some_and(|n| n.parse::<usize>().is_ok());
    rest.is_some_and(|r| r.is_empty() || number(r))
}

fn marks_of(views: &[View]) -> usize {
    views.iter().map(|v| last_mark(&v.system)).max().unwrap_or(0)
}

/// On one sheet, or, where that had to be larger than A2, on several of A3.
fn pages(view: &View, mark: &mut usize) -> Vec<Page> {
    if let Some(page) = on_some(view, &A2_AND_LESS) {
        return vec![page];
    }
    let parts = view.system.parts.len();
    let pieces = if parts > MOST_SPLIT { None } else { pieces(view, *mark) };
    let on_paper = |v: &View| {
        let small = on_some(v, &A3_AND_LESS).or_else(|| on_some(v, &A2_AND_LESS));
        small.unwrap_or_else(|| page(v))
    };
    let pages: Vec<Page> = match pieces {
        Some(pieces) => pieces.iter().map(on_paper).collect(),
        None => vec![page(view)],
    };
    *mark = pages.iter().map(|p| last_mark(&p.system)).fold(*mark, usize::max);
    pages
}

/// The view in pieces that go on A3; in one or two more, where none is a tangle then.
fn pieces(view: &View, mark: usize) -> Option<Vec<View>> {
    const TANGLE: usize = 4;
    const MORE: usize = 2;
    let fits = |v: &View| on_some(v, &A3_AND_LESS).is_some();
    let clear =
        |v: &View| on_some(v, &A3_AND_LESS).is_some_and(|page| page.measures.crossings <= TANGLE);
    let few = split_until(view, mark, &fits)?;
    let plain = split_until(view, mark, &clear);
    Some(plain.filter(|p| p.len() <= few.len() + MORE).unwrap_or(few))
}

/// The page on which the fewest parts have moved, of several ways to fit in what is new. Where the
/// sheet has no room left, on the next larger one: what stood stands as far from its corner.
fn page_after(view: &View, old: &Before) -> Option<Page> {
    let net = Net::new(&view.system);
    let s = spacing(old.spacing, old.reserved);
    let close = Spacing { words: 0.0, beside: ACROSS[0].1, ..s };
    let ways = [(s, false), (s, true), (close, false), (close, true)];
    // A crossing or words on a leader are as bad as a part or two elsewhere.
    let harm = |page: &Page| old.shifted(page) + 2 * page.measures.crossings + page.led;
    let on = |sheet: Sheet| {
        let page = |(s, firm)| beside_what_stood(view, &net, s, old, sheet, firm);
        ways.into_iter().filter_map(page).min_by_key(harm)
    };
    on(old.sheet).or_else(|| on(larger(old.sheet)?))
}

fn larger(sheet: Sheet) -> Option<Sheet> {
    match sheet {
        Sheet::A4Upright | Sheet::A4Across => Some(Sheet::A3),
        Sheet::A3 => Some(Sheet::A2),
        _ => None,
    }
}

fn beside_what_stood(
    view: &View,
    net: &Net,
    s: Spacing,
    old: &Before,
    sheet: Sheet,
    firm: bool,
) -> Option<Page> {
    let listed = old.assumed_listed;
    let room = drawing_room(sheet, &view.system, listed);
    let left = (old.bounds.x - room.x - MARGIN).max(0.0);
    let right = (room.right() - MARGIN - old.bounds.right()).max(0.0);
    let canvas = place_after(net, s, Beside { before: old, left, right, firm })?;
    let found = routed(net, canvas, Some((old, room)));
    if !room.holds(&found.bounds) || found.routed.failed > 0 {
        return None;
    }
    let step = (old.spacing, old.reserved);
    let page = finished(view, net, (sheet, listed), step, found, room, true);
    (page.led <= MOST_LED_BESIDE).then_some(page)
}

/// Sheets to try, and whether the assumed values are to be listed there.
const SMALL: [(Sheet, bool); 4] = [
    (Sheet::A4Upright, true),
    (Sheet::A4Across, true),
    (Sheet::A4Upright, false),
    (Sheet::A4Across, false),
];
const A3_AND_LESS: [(Sheet, bool); 2] = [(Sheet::A3, true), (Sheet::A3, false)];
const A2_AND_LESS: [(Sheet, bool); 3] = [A3_AND_LESS[0], A3_AND_LESS[1], (Sheet::A2, true)];
const LARGER: [(Sheet, bool); 2] = [(Sheet::A1, true), (Sheet::A0, true)];

/// With more parts than this, the sheets would be too many.
const MOST_SPLIT: usize = 1200;

/// A drawing goes on A4 where it is easily read there: at least these steps of spacing, and no
/// words on a leader.
const EASY: (usize, usize) = (5, 1);

/// On the first of the small sheets, then of these, on which it can be read.
fn on_some(view: &View, sheets: &[(Sheet, bool)]) -> Option<Page> {
    let net = Net::new(&view.system);
    let larger = sheets.iter().any(|(sheet, _)| *sheet == Sheet::A2);
    let most = if larger { MOST_LED } else { MOST_LED_OF_PIECE };
    // Either way up, and the values that nobody has proved beside it rather than on another sheet.
    for ways in SMALL.chunks(2) {
        let pages = ways.iter().filter_map(|on| on_sheet(view, &net, *on, most));
        let easy = |p: &Page| p.led == 0 && p.spacing.0 >= EASY.0 && p.spacing.1 >= EASY.1;
        let best = pages.filter(easy).max_by_key(|p| p.spacing.0.min(2 * p.spacing.1));
        if best.is_some() {
            return best;
        }
    }
    sheets.iter().find_map(|on| on_sheet(view, &net, *on, most))
}

/// On one sheet, whatever it takes.
fn page(view: &View) -> Page {
    let net = Net::new(&view.system);
    let found = LARGER.iter().find_map(|on| on_sheet(view, &net, *on, MOST_LED));
    found.unwrap_or_else(|| from_the_roll(view, &net))
}

/// The box of symbols alone.
fn bare(net: &Net, s: Spacing) -> Rect {
    let canvas = place(net, s);
    with_words(net, &canvas, canvas.bounds().unwrap_or_default())
}

/// On this sheet, spread first and the words placed after; where words then stand on leaders, also
/// with their room kept from the start: whichever is the better drawing.
fn on_sheet(view: &View, net: &Net, on: (Sheet, bool), most: usize) -> Option<Page> {
    // With room kept for words it takes more paper, not less.
    let plain = spread(view, net, on, false, 0)?;
    if plain.led == 0 {
        return Some(plain);
    }
    let kept = (0..KEPT).filter_map(|back| spread(view, net, on, true, back));
    let readable = |p: &Page| on.0 != Sheet::A3 || p.led <= most;
    std::iter::once(plain).chain(kept).filter(readable).min_by(|a, b| harm(a).total_cmp(&harm(b)))
}

/// Steps less than the widest that are tried with room kept for words.
const KEPT: usize = 4;

/// What a reader has to bear: words on a leader and how far it leads, crossings, bends.
fn harm(page: &Page) -> f64 {
    const LEADER: f64 = 8.0;
    const CROSSING: f64 = 16.0;
    const BEND: f64 = 4.0;
    let m = &page.measures;
    let pipes = m.crossings as f64 * CROSSING + m.bends as f64 * BEND;
    page.led as f64 * LEADER + page.leaders + pipes
}

/// Spread as widely as this sheet has room, or so many steps `less` across; `None` where it has too little.
fn spread(view: &View, net: &Net, on: (Sheet, bool), reserved: bool, less: usize) -> Option<Page> {
    let (sheet, listed) = on;
    let room = drawing_room(sheet, &view.system, listed);
    let fits = |b: Rect| b.w <= room.w - 2.0 * MARGIN && b.h <= room.h - 2.0 * MARGIN;
    let bare = |across, down| bare(net, spacing((across, down), reserved));
    if !fits(bare(0, 0)) {
        return None;
    }
    // Symbols decide first: the widest spacing of each way that has room.
    let across = (0..ACROSS.len()).rev().find(|a| fits(bare(*a, 0))).unwrap_or(0);
    let across = across.checked_sub(less)?;
    let down = (0..DOWN.len()).rev().find(|d| fits(bare(across, *d))).unwrap_or(0);
    // Rather a list on another sheet than pipes too short for their words.
    if listed && sheet == Sheet::A3 && down < 2 {
        return None;
    }
    // Pipes round the outside may need a step less.
    for back in 0..4 {
        let step = (across.saturating_sub(back), down.saturating_sub(back));
        let found = attempt(net, spacing(step, reserved));
        if fits(found.bounds) && found.routed.failed == 0 {
            return Some(finished(view, net, on, (step, reserved), found, room, false));
        }
        if across.max(down) <= back {
            break;
        }
    }
    None
}

/// As large as it needs to be.
fn from_the_roll(view: &View, net: &Net) -> Page {
    const FREE: (usize, usize) = (4, 1);
    let found = attempt(net, spacing(FREE, false));
    let lists = 120.0;
    let (w, h) = (found.bounds.w + 2.0 * MARGIN + 40.0, found.bounds.h + 2.0 * MARGIN + 40.0);
    let sheet = Sheet::Roll(w.max(420.0).ceil() as u32, (h + lists).max(297.0).ceil() as u32);
    let room = drawing_room(sheet, &view.system, false);
    finished(view, net, (sheet, false), (FREE, false), found, room, false)
}

fn attempt(net: &Net, s: Spacing) -> Try {
    routed(net, place(net, s), None)
}

fn routed(net: &Net, mut canvas: Canvas, old: Option<(&Before, Rect)>) -> Try {
    let routed = route_turned(net, &mut canvas);
    loose(net, &mut canvas, &routed.pipes, old);
    let bounds = with_words(net, &canvas, bounds(&canvas, &routed.pipes));
    Try { canvas, routed, bounds }
}

/// The box with the words right of the outermost symbols, as far as the margin does not hold them.
fn with_words(net: &Net, canvas: &Canvas, all: Rect) -> Rect {
    let right = canvas
        .spots
        .iter()
        .filter(|(p, _)| net.system.part(**p).kind.symbol.name == "outlet")
        .map(|(p, s)| snap(s.at.right() + words::room(net.system, *p)))
        .fold(all.right(), f64::max);
    Rect::new(all.x, all.y, right - all.x, all.h)
}

/// Trimmed sheet, mm.
pub fn paper(sheet: Sheet) -> (f64, f64) {
    match sheet {
        Sheet::A4Upright => (210.0, 297.0),
        Sheet::A4Across => (297.0, 210.0),
        Sheet::A3 => (420.0, 297.0),
        Sheet::A2 => (594.0, 420.0),
        Sheet::A1 => (841.0, 594.0),
        Sheet::A0 => (1189.0, 841.0),
        Sheet::Roll(w, h) => (f64::from(w), f64::from(h)),
    }
}

fn drawing_room(sheet: Sheet, system: &System, listed: bool) -> Rect {
    let Lists { above, .. } = lists::lists(system, sheet, listed);
    above
}

fn finished(
    view: &View,
    net: &Net,
    (sheet, assumed_listed): (Sheet, bool),
    (spacing, reserved): ((usize, usize), bool),
    found: Try,
    room: Rect,
    stays: bool,
) -> Page {
    let system = &view.system;
    let Try { mut canvas, mut routed, bounds: b } = found;
    let middle = (room.x + (room.w - b.w) / 2.0 - b.x, room.y + (room.h - b.h) / 2.0 - b.y);
    let (dx, dy) = if stays { (0.0, 0.0) } else { (snap(middle.0), snap(middle.1)) };
    canvas.shift(dx, dy);
    // Rounded, or a sum of the same lengths in another order would be another place.
    let micron = |v: f64| (v * 1000.0).round() / 1000.0;
    for p in routed.pipes.iter_mut().flatten() {
        (p.x, p.y) = (micron(p.x + dx), micron(p.y + dy));
    }
    let jumps = marks::jumps(system, &routed.pipes);
    let crossings: Vec<P2> = jumps.iter().map(|j| j.at).collect();
    let arrows = marks::arrows(&routed.pipes, &jumps, &crossings);
    let frames = outlines(net, &canvas, &routed.pipes);
    let worded = |net: &Net| {
        place_labels(&Field {
            net,
            canvas: &canvas,
            pipes: &routed.pipes,
            arrows: &arrows,
            jumps: &jumps,
            frames: &frames,
            room: room.grown(-OFF_FRAME),
        })
    };
    let labels = worded(net);
    let usual = worded(&Net::new(&words::with_usual_names(system)));
    let leaders: Vec<f64> = usual.iter().filter_map(|l| l.leader).map(length).collect();
    let symbols = net
        .parts()
        .map(|part| match canvas.spots.get(&part) {
            Some(s) => PlacedSymbol { part, at: s.at, pose: s.pose },
            None => PlacedSymbol { part, at: Rect::default(), pose: Pose::UPRIGHT },
        })
        .collect();
    let bounds = Rect::new(b.x + dx, b.y + dy, b.w, b.h);
    let (pipes, measures) = (routed.pipes, routed.measures);
    Page {
        key: view.key.clone(),
        title: view.title.clone(),
        system: system.clone(),
        sheet,
        spacing,
        reserved,
        assumed_listed,
        symbols,
        pipes,
        labels,
        arrows,
        jumps,
        frames,
        led: leaders.len(),
        leaders: leaders.iter().sum(),
        bounds,
        measures,
    }
}

fn length([a, b]: [P2; 2]) -> f64 {
    let (x, y) = (a.x - b.x, a.y - b.y);
    (x * x + y * y).sqrt()
}
