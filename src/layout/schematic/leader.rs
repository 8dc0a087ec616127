//! Words that found no place beside what they speak of. In: what stands on the sheet. Out: a free
//! place as near as can be, and the line that leads from there.

use super::label::{Field, inside};
use crate::model::{P2, Rect, cross};

/// White round words that stand by themselves, mm.
const ROUND: f64 = 0.6;

/// A free place farther off, and the line from it to what it speaks of.
pub fn led(
    f: &Field,
    fixed: &[Rect],
    placed: &[Rect],
    anchors: &[P2],
    w: f64,
    h: f64,
) -> (Rect, [P2; 2]) {
    let free = |r: &Rect| {
        inside(f.room, *r)
            && !fixed.iter().any(|o| o.overlaps(&r.grown(ROUND)))
            && !placed.iter().any(|o| o.grown(0.5).overlaps(r))
    };
    let clear = |a: P2, b: P2| {
        // Sampled along the line: words and symbols must not be struck through.
        const APART: f64 = 0.8;
        let (x, y) = (a.x - b.x, a.y - b.y);
        let steps = ((x * x + y * y).sqrt() / APART).ceil().max(2.0);
        (1..steps as i32).all(|k| {
            let t = f64::from(k) / steps;
            let p = Rect::new(a.x + (b.x - a.x) * t, a.y + (b.y - a.y) * t, 0.0, 0.0).grown(0.4);
            !placed.iter().any(|o| o.overlaps(&p))
                && !f.canvas.spots.values().any(|s| s.at.overlaps(&p))
        })
    };
    const RAYS: [(f64, f64); 16] = [
        (1.0, -1.0),
        (-1.0, -1.0),
        (1.0, 1.0),
        (-1.0, 1.0),
        (1.0, -0.5),
        (-1.0, -0.5),
        (1.0, 0.5),
        (-1.0, 0.5),
        (0.5, -1.0),
        (-0.5, -1.0),
        (0.5, 1.0),
        (-0.5, 1.0),
        (0.0, -1.0),
        (0.0, 1.0),
        (1.0, 0.0),
        (-1.0, 0.0),
    ];
    let struck = |a: P2, b: P2| {
        let hits = |p: &Vec<P2>| p.windows(2).filter(|w| cross(a, b, w[0], w[1])).count();
        f.pipes.iter().map(hits).sum::<usize>()
    };
    // What a leader costs beyond its length, mm.
    const PIPE: f64 = 18.0;
    // Level or upright it is read as a pipe.
    const LIKE_A_PIPE: f64 = 15.0;
    const WORDS: f64 = 60.0;
    let mut best: Option<(f64, Rect, [P2; 2])> = None;
    for ring in 1..80 {
        let d = 3.0 + 2.0 * f64::from(ring);
        if best.as_ref().is_some_and(|(cost, ..)| *cost <= d) {
            break;
        }
        for a in anchors {
            for (dx, dy) in RAYS {
                let near = P2::new(a.x + dx * d, a.y + dy * d);
                let x = if dx > 0.0 {
                    near.x
                } else if dx < 0.0 {
                    near.x - w
                } else {
                    near.x - w / 2.0
                };
                let at = Rect::new(x, near.y - h / 2.0, w, h);
                if !free(&at) {
                    continue;
                }
                let end = P2::new(near.x.clamp(at.x, at.right()), near.y);
                let end = if dx == 0.0 {
                    P2::new(near.x, if dy > 0.0 { at.y } else { at.bottom() })
                } else {
                    end
                };
                let strikes = if clear(*a, end) { 0.0 } else { WORDS };
                let straight = if dx * dy == 0.0 { LIKE_A_PIPE } else { 0.0 };
                let cost = d + PIPE * struck(*a, end) as f64 + strikes + straight;
                if best.as_ref().is_none_or(|(least, ..)| cost < *least) {
                    best = Some((cost, at, [end, *a]));
                }
            }
        }
    }
    let a = anchors.first().copied().unwrap_or_default();
    best.map(|(_, at, line)| (at, line)).unwrap_or_else(|| {
        // Nowhere on the sheet: beneath it, where the sheet's caller will see that it is too small.
        let at = Rect::new(f.room.x, f.room.bottom() + 4.0 * (placed.len() + 1) as f64, w, h);
        (at, [P2::new(at.x, at.y), a])
    })
}
