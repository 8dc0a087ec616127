//! The circuit diagram: a ladder for each circuit, line left, neutral right. In: netlist and
//! ladder plan. Out: undressed sheets; a ladder too tall for one goes on on the next, broken only
//! where nothing hangs together.

use super::ladder::Drawing;
use super::notes::notes;
use super::page::{Page, sheets_of};
use crate::draw::frame::TitleData;
use crate::draw::scene::Sheet;
use crate::layout::wiring::ladder::{Element, Ladder, ladders};
use crate::model::Rect;
use crate::wire::netlist::Wiring;

/// Room for the notes on a small sheet.
const SMALL_NOTES: f64 = 30.0;

/// Undressed sheets `wiring-circuit`, `wiring-circuit-2`, ….
pub fn circuit(w: &Wiring, data: &TitleData) -> Vec<Sheet> {
    // A circuit or two would stand lost on the large sheet.
    let small = || Page::small(data, SMALL_NOTES);
    let one = pages(w, &small, &small);
    let pages = if one.len() == 1 { one } else { pages(w, &|| Page::new(data), &small) };
    sheets_of(pages, "wiring-circuit", "Wiring: circuit diagram", |page| notes(page, w))
}

/// Sheets of one size; the last is a small one where what is left fits on it whole.
fn pages(w: &Wiring, new: &dyn Fn() -> Page, small: &dyn Fn() -> Page) -> Vec<Page> {
    let plans: Vec<Ladder> = ladders(w).into_iter().filter(|l| l.rows > 0).collect();
    let numbers = rungs(&plans);
    let mut pages: Vec<Page> = vec![new()];
    let mut y = pages[0].room.y;
    let mut number = 1;
    let drawn = |plan, room: &Rect| Drawing::new(w, plan, &numbers, room);
    for (i, plan) in plans.iter().enumerate() {
        let mut drawing = drawn(plan, &pages[pages.len() - 1].room);
        let mut row = 0;
        while row < plan.rows {
            let (start, left) =
                pages.last().map_or((0.0, 0.0), |p| (p.room.y, p.room.bottom() - y));
            let fits = drawing.fits(row, left);
            let end = break_before(plan, row, fits);
            if end == row && y > start {
                let page = small();
                let rest: f64 = plans[i..].iter().map(|p| drawn(p, &page.room).depth()).sum();
                let fits = row == 0 && rest <= page.room.h;
                pages.push(if fits { page } else { new() });
                drawing = drawn(plan, &pages[pages.len() - 1].room);
                y = pages[pages.len() - 1].room.y;
                continue;
            }
            // A part taller than a sheet is cut all the same.
            let end = if end == row { (row + fits.max(1)).min(plan.rows) } else { end };
            let part = pages.len() + 1;
            if let Some(page) = pages.last_mut() {
                (drawing.first, drawing.rows) = (number, (row, end));
                y = drawing.onto(page, y, (end < plan.rows).then_some(part));
            }
            number += end - row;
            row = end;
            if row < plan.rows {
                // What goes on goes on on the next sheet, whatever room is left here.
                y = pages.last().map_or(y, |p| p.room.bottom());
            }
        }
    }
    pages
}

/// The rung of each load and of each contact, for cross references.
fn rungs(plans: &[Ladder]) -> Vec<(Element, usize)> {
    let mut all = Vec::new();
    let mut base = 1;
    for p in plans {
        all.extend(p.cells.iter().map(|c| (c.element, base + c.row)));
        base += p.rows;
    }
    all
}

/// The row before which to turn over: of those where nothing hangs together the one that shares the
/// rows evenly among the sheets they take anyway.
fn break_before(plan: &Ladder, from: usize, fits: usize) -> usize {
    let left = plan.rows - from;
    if left <= fits {
        return plan.rows;
    }
    let sheets = left.div_ceil(fits.max(1));
    let even = from + left.div_ceil(sheets);
    let may = || plan.starts.iter().copied().filter(|s| *s > from && *s - from <= fits);
    let enough = may().filter(|s| plan.rows - s <= fits * (sheets - 1));
    enough.min_by_key(|s| s.abs_diff(even)).or(may().max()).unwrap_or(from)
}
