//! The drawing on its sheet. In: the sized system. Out: the plan, on the smallest of A4, A3 and
//! A2 on which it can be read, spread over the room it has, in the middle of it.

use super::canvas::{Canvas, Spacing};
use super::label::{Field, place_labels};
use super::lists::{self, Lists};
use super::loose::{bounds, loose};
use super::marks;
use super::net::{Net, snap};
use super::outline::outlines;
use super::place::place;
use super::plan::{PlacedSymbol, SchematicPlan, Sheet};
use super::pose::Pose;
use super::route::{Routed, route_all};
use crate::model::{P2, Rect, System};
use crate::size::Sized;

/// White margin inside the room of the drawing, for the outermost words too, mm.
const MARGIN: f64 = 8.75;

/// From tight to wide: gap and white space across the sheet, then gap and bands down the sheet.
const ACROSS: [(f64, f64); 8] = [
    (5.0, 2.5),
    (6.25, 2.5),
    (6.25, 3.75),
    (7.5, 5.0),
    (8.75, 6.25),
    (10.0, 7.5),
    (12.5, 8.75),
    (15.0, 10.0),
];
const DOWN: [(f64, f64); 8] = [
    (5.0, 0.0),
    (6.25, 2.5),
    (7.5, 5.0),
    (8.75, 7.5),
    (8.75, 12.5),
    (10.0, 17.5),
    (11.25, 25.0),
    (12.5, 35.0),
];

fn spacing(across: usize, down: usize) -> Spacing {
    let ((gap, clear), (drop, band)) = (ACROSS[across], DOWN[down]);
    Spacing { gap, drop, clear, band }
}

struct Try {
    canvas: Canvas,
    routed: Routed,
    bounds: Rect,
}

/// The schematic of a system.
pub fn lay_out(sized: &Sized) -> SchematicPlan {
    let system = &sized.system;
    let net = Net::new(system);
    for (sheet, listed) in [(Sheet::A3, true), (Sheet::A3, false), (Sheet::A2, true)] {
        let room = drawing_room(sheet, system, listed);
        let wide = room.w - 2.0 * MARGIN;
        let high = room.h - 2.0 * MARGIN;
        let fits = |b: Rect| b.w <= wide && b.h <= high;
        // Symbols decide first: the widest spacing of each way that has room.
        let bare = |across: usize, down: usize| {
            place(&net, spacing(across, down)).bounds().unwrap_or_default()
        };
        let last_sheet = sheet == Sheet::A2;
        if !fits(bare(0, 0)) && !last_sheet {
            continue;
        }
        let across = (0..ACROSS.len()).rev().find(|a| fits(bare(*a, 0))).unwrap_or(0);
        let down = (0..DOWN.len()).rev().find(|d| fits(bare(across, *d))).unwrap_or(0);
        // Pipes round the outside may need a step less.
        for back in 0..4 {
            let s = spacing(across.saturating_sub(back), down.saturating_sub(back));
            let mut canvas = place(&net, s);
            let routed = route_all(&net, &canvas);
            loose(&net, &mut canvas, &routed.pipes);
            let bounds = bounds(&canvas, &routed.pipes);
            let found = Try { canvas, routed, bounds };
            let least = across.max(down) <= back;
            if (fits(bounds) && found.routed.failed == 0) || (last_sheet && (least || back == 3)) {
                return finished(system, &net, (sheet, listed), found, room);
            }
            if least {
                break;
            }
        }
    }
    let room = drawing_room(Sheet::A2, system, true);
    let canvas = place(&net, spacing(0, 0));
    let routed = route_all(&net, &canvas);
    let bounds = bounds(&canvas, &routed.pipes);
    finished(system, &net, (Sheet::A2, true), Try { canvas, routed, bounds }, room)
}

/// Trimmed sheet, mm.
pub fn paper(sheet: Sheet) -> (f64, f64) {
    match sheet {
        Sheet::A4 => (297.0, 210.0),
        Sheet::A3 => (420.0, 297.0),
        Sheet::A2 => (594.0, 420.0),
    }
}

fn drawing_room(sheet: Sheet, system: &System, listed: bool) -> Rect {
    let Lists { above, .. } = lists::lists(system, sheet, listed);
    above
}

fn finished(
    system: &System,
    net: &Net,
    (sheet, assumed_listed): (Sheet, bool),
    found: Try,
    room: Rect,
) -> SchematicPlan {
    let Try { mut canvas, mut routed, bounds: b } = found;
    let dx = snap(room.x + (room.w - b.w) / 2.0 - b.x);
    let dy = snap(room.y + (room.h - b.h) / 2.0 - b.y);
    canvas.shift(dx, dy);
    for p in routed.pipes.iter_mut().flatten() {
        p.x += dx;
        p.y += dy;
    }
    let jumps = marks::jumps(system, &routed.pipes);
    let crossings: Vec<P2> = jumps.iter().map(|j| j.at).collect();
    let arrows = marks::arrows(&routed.pipes, &jumps, &crossings);
    let frames = outlines(net, &canvas, &routed.pipes);
    let labels = place_labels(&Field {
        net,
        canvas: &canvas,
        pipes: &routed.pipes,
        arrows: &arrows,
        jumps: &jumps,
        frames: &frames,
        room,
    });
    let symbols = net
        .parts()
        .map(|part| match canvas.spots.get(&part) {
            Some(s) => PlacedSymbol { part, at: s.at, pose: s.pose },
            None => PlacedSymbol { part, at: Rect::default(), pose: Pose::UPRIGHT },
        })
        .collect();
    let bounds = Rect::new(b.x + dx, b.y + dy, b.w, b.h);
    let (pipes, measures) = (routed.pipes, routed.measures);
    SchematicPlan {
        sheet,
        assumed_listed,
        symbols,
        pipes,
        labels,
        arrows,
        jumps,
        frames,
        bounds,
        measures,
    }
}
