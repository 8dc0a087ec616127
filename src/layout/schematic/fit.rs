//! The drawing on its sheet. In: the sized system. Out: the plan, on the smallest of A4, A3 and
//! A2 on which it can be read, spread over the room it has, in the middle of it.

use super::canvas::{Canvas, Spacing};
use super::label::{Field, place_labels};
use super::lists::{self, Lists};
use super::marks;
use super::net::{Net, snap};
use super::place::place;
use super::plan::{PlacedSymbol, SchematicPlan, Sheet, UnitFrame};
use super::pose::Pose;
use super::route::{Routed, route_all};
use crate::model::{P2, PartIx, Rect, System, UnitIx};
use crate::size::Sized;

/// White margin inside the room of the drawing, mm.
const MARGIN: f64 = 6.0;
/// What words need beyond the outermost symbols.
const WORDS: f64 = 10.0;

/// From tight to wide; the widest that fits is taken.
const SPACINGS: [Spacing; 7] = [
    Spacing { gap: 5.0, clear: 3.75, band: 0.0 },
    Spacing { gap: 6.25, clear: 3.75, band: 2.5 },
    Spacing { gap: 7.5, clear: 5.0, band: 5.0 },
    Spacing { gap: 8.75, clear: 5.0, band: 10.0 },
    Spacing { gap: 10.0, clear: 6.25, band: 15.0 },
    Spacing { gap: 11.25, clear: 7.5, band: 20.0 },
    Spacing { gap: 12.5, clear: 8.75, band: 25.0 },
];

struct Try {
    canvas: Canvas,
    routed: Routed,
    bounds: Rect,
}

/// The schematic of a system.
pub fn lay_out(sized: &Sized) -> SchematicPlan {
    let system = &sized.system;
    let net = Net::new(system);
    let mut fallback: Option<(Sheet, Try, Rect)> = None;
    for sheet in [Sheet::A3, Sheet::A2] {
        let room = drawing_room(sheet, system);
        let wide = room.w - 2.0 * MARGIN - WORDS;
        let high = room.h - 2.0 * MARGIN - WORDS;
        let mut best: Option<Try> = None;
        for s in SPACINGS {
            let canvas = place(&net, s);
            let b = canvas.bounds().unwrap_or_default();
            if b.w > wide || b.h > high {
                if best.is_none() {
                    let routed = route_all(&net, &canvas);
                    let bounds = bounds(&canvas, &routed.pipes);
                    fallback = Some((sheet, Try { canvas, routed, bounds }, room));
                }
                break;
            }
            let routed = route_all(&net, &canvas);
            let bounds = bounds(&canvas, &routed.pipes);
            if bounds.w > wide || bounds.h > high || (routed.failed > 0 && best.is_some()) {
                break;
            }
            best = Some(Try { canvas, routed, bounds });
        }
        if let Some(found) = best {
            return finished(system, &net, sheet, found, room);
        }
    }
    let (sheet, found, room) = match fallback {
        Some(f) => f,
        None => {
            let canvas = Canvas::default();
            let routed = route_all(&net, &canvas);
            let room = drawing_room(Sheet::A3, system);
            (Sheet::A3, Try { canvas, routed, bounds: Rect::default() }, room)
        }
    };
    finished(system, &net, sheet, found, room)
}

/// Trimmed sheet, mm.
pub fn paper(sheet: Sheet) -> (f64, f64) {
    match sheet {
        Sheet::A4 => (297.0, 210.0),
        Sheet::A3 => (420.0, 297.0),
        Sheet::A2 => (594.0, 420.0),
    }
}

fn drawing_room(sheet: Sheet, system: &System) -> Rect {
    let Lists { above, .. } = lists::lists(system, sheet);
    above
}

fn bounds(canvas: &Canvas, pipes: &[Vec<P2>]) -> Rect {
    let all = canvas.bounds().unwrap_or_default();
    let (mut l, mut t, mut r, mut b) = (all.x, all.y, all.right(), all.bottom());
    for p in pipes.iter().flatten() {
        (l, t) = (l.min(p.x), t.min(p.y));
        (r, b) = (r.max(p.x), b.max(p.y));
    }
    Rect::new(l, t, r - l, b - t)
}

fn finished(system: &System, net: &Net, sheet: Sheet, found: Try, room: Rect) -> SchematicPlan {
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
    let frames = frames(net, &canvas);
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
    SchematicPlan { sheet, symbols, pipes, labels, arrows, jumps, frames, bounds, measures }
}

/// An outline round the parts of each factory-made unit; several where strangers stand between.
fn frames(net: &Net, canvas: &Canvas) -> Vec<UnitFrame> {
    const ROUND: f64 = 2.5;
    let mut out = Vec::new();
    for unit in (0..net.system.units.len()).map(UnitIx) {
        let own: Vec<PartIx> =
            net.parts().filter(|p| net.system.part(*p).unit == Some(unit)).collect();
        let others: Vec<Rect> = canvas
            .spots
            .iter()
            .filter(|(p, _)| !own.contains(p))
            .map(|(_, s)| s.at.grown(0.6))
            .collect();
        let mut boxes: Vec<Rect> =
            own.iter().filter_map(|p| canvas.spots.get(p)).map(|s| s.at.grown(ROUND)).collect();
        // Two outlines become one where nothing foreign lies in it.
        loop {
            let mut joined = None;
            'pairs: for i in 0..boxes.len() {
                for j in i + 1..boxes.len() {
                    let (a, b) = (boxes[i], boxes[j]);
                    let (x, y) = (a.x.min(b.x), a.y.min(b.y));
                    let both = Rect::new(
                        x,
                        y,
                        a.right().max(b.right()) - x,
                        a.bottom().max(b.bottom()) - y,
                    );
                    if !others.iter().any(|o| o.overlaps(&both)) {
                        joined = Some((i, j, both));
                        break 'pairs;
                    }
                }
            }
            let Some((i, j, both)) = joined else { break };
            boxes.remove(j);
            boxes[i] = both;
        }
        out.extend(boxes.into_iter().map(|at| UnitFrame { unit, at }));
    }
    out
}
