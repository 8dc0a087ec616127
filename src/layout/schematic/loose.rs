//! Parts without pipes: controls. In: the routed drawing. Out: a place for each in the white room
//! that the pipes leave, lower left before anywhere else.

use super::before::Before;
use super::canvas::Canvas;
use super::net::{Net, snap};
use super::pose::Pose;
use crate::model::{P2, PartIx, Rect};

/// Parts without pipes side by side in a free corner, or in a row of their own at the foot. With an
/// earlier issue and the room there is on the sheet, those of it stay.
pub fn loose(net: &Net, canvas: &mut Canvas, pipes: &[Vec<P2>], old: Option<(&Before, Rect)>) {
    const CELL: f64 = 12.5;
    if let Some((old, room)) = old {
        let stayed = stay(net, canvas, pipes, old);
        join(net, canvas, pipes, (stayed, room), CELL);
    }
    let parts: Vec<PartIx> = net.parts().filter(|p| !canvas.has(*p)).collect();
    if parts.is_empty() {
        return;
    }
    let all = bounds(canvas, pipes);
    let cell =
        parts.iter().map(|p| net.size(*p).0.max(net.size(*p).1)).fold(CELL - 2.5, f64::max) + 2.5;
    let n = parts.len();
    let mut best: Option<(f64, P2, usize)> = None;
    for rows in 1..=n.min(3) {
        let columns = n.div_ceil(rows);
        let (w, h) = (cell * columns as f64, cell * rows as f64);
        let (nx, ny) = (((all.w - w) / 5.0) as i64, ((all.h - h) / 5.0) as i64);
        for iy in 0..=ny {
            for ix in 0..=nx {
                let at = P2::new(snap(all.x + 5.0 * ix as f64), snap(all.y + 5.0 * iy as f64));
                let block = Rect::new(at.x, at.y, w, h);
                // The lower left corner is the emptiest; one row reads best.
                let cost = (ny - iy) as f64 * 1.2 + ix as f64 + rows as f64 * 12.0;
                if best.is_some_and(|(c, ..)| c <= cost) || !roomy(canvas, pipes, block) {
                    continue;
                }
                best = Some((cost, at, columns));
            }
        }
    }
    let (at, columns) = match best {
        Some((_, at, columns)) => (at, columns),
        None => {
            let y = snap(all.bottom() + 10.0);
            (P2::new(snap(all.x), y), ((all.w / cell) as usize).max(1))
        }
    };
    for (i, part) in parts.into_iter().enumerate() {
        let spot = net.spot(part, Pose::UPRIGHT);
        let x = snap(at.x + cell * (i % columns) as f64 + (cell - spot.at.w) / 2.0);
        let y = snap(at.y + cell * (i / columns) as f64 + (cell - spot.at.h) / 2.0);
        canvas.put(part, spot.moved(x, y));
    }
}

/// Those of an earlier issue stay where they stood, where nothing has come in their way.
fn stay(net: &Net, canvas: &mut Canvas, pipes: &[Vec<P2>], old: &Before) -> Vec<PartIx> {
    let mut stayed = Vec::new();
    for part in net.parts() {
        let Some(c) = old.centre(part).filter(|_| !canvas.has(part)) else { continue };
        let spot = net.spot(part, Pose::UPRIGHT);
        let spot = spot.clone().moved(c.x - spot.at.w / 2.0, c.y - spot.at.h / 2.0);
        if clear(canvas, pipes, spot.at) {
            canvas.put(part, spot);
            stayed.push(part);
        }
    }
    stayed
}

/// New ones stand beside those that stayed.
fn join(
    net: &Net,
    canvas: &mut Canvas,
    pipes: &[Vec<P2>],
    (mut stayed, room): (Vec<PartIx>, Rect),
    cell: f64,
) {
    for part in net.parts() {
        if canvas.has(part) {
            continue;
        }
        let spot = net.spot(part, Pose::UPRIGHT);
        let beside = |dx: f64, dy: f64| {
            let from = stayed.iter().rev().map(|p| canvas.spots[p].at.centre());
            from.map(|c| P2::new(c.x + dx, c.y + dy))
                .map(|c| spot.clone().moved(c.x - spot.at.w / 2.0, c.y - spot.at.h / 2.0))
                .collect::<Vec<_>>()
        };
        // At the end of a row, then at its head, then in a row of its own.
        let ways = [(cell, 0.0), (-cell, 0.0), (0.0, 1.4 * cell), (0.0, -1.4 * cell)];
        let free = ways.into_iter().flat_map(|(dx, dy)| beside(dx, dy)).find(|s| {
            // Its setting stands over it.
            let at = Rect::new(s.at.x, s.at.y - 4.0, s.at.w, s.at.h + 4.0);
            room.holds(&at) && clear(canvas, pipes, at)
        });
        if let Some(spot) = free {
            canvas.put(part, spot);
            stayed.push(part);
        }
    }
}

/// No pipe and no symbol stands in the way.
fn clear(canvas: &Canvas, pipes: &[Vec<P2>], at: Rect) -> bool {
    let crossed = pipes.iter().any(|p| {
        p.windows(2).any(|w| {
            let (x, y) = (w[0].x.min(w[1].x), w[0].y.min(w[1].y));
            let leg = Rect::new(x, y, (w[0].x - w[1].x).abs(), (w[0].y - w[1].y).abs());
            leg.grown(2.0).overlaps(&at)
        })
    });
    !crossed && canvas.spots.values().all(|s| !s.at.grown(1.0).overlaps(&at))
}

/// The box of everything drawn so far.
pub fn bounds(canvas: &Canvas, pipes: &[Vec<P2>]) -> Rect {
    let all = canvas.bounds().unwrap_or_default();
    let (mut l, mut t, mut r, mut b) = (all.x, all.y, all.right(), all.bottom());
    for p in pipes.iter().flatten() {
        (l, t) = (l.min(p.x), t.min(p.y));
        (r, b) = (r.max(p.x), b.max(p.y));
    }
    Rect::new(l, t, r - l, b - t)
}

/// Nothing stands or runs here.
fn roomy(canvas: &Canvas, pipes: &[Vec<P2>], at: Rect) -> bool {
    let wide = at.grown(6.25);
    let strip = |a: P2, b: P2| Rect::between(a, b).grown(4.0);
    canvas.spots.values().all(|s| !s.at.overlaps(&wide))
        && pipes.iter().all(|p| p.windows(2).all(|w| !strip(w[0], w[1]).overlaps(&at)))
}
