//! Where the words for a thing may stand by it: on its face, beside it, round one of its points. In:
//! a request. Out: places, the nearest first.

use std::sync::LazyLock;

use super::callouts::{CLEAR, HEIGHT, ROW, has_a_face};
use super::request::Request;
use crate::draw::scene::Anchor;
use crate::lettering::{DESCENT, font_size};
use crate::model::{P2, Rect};

/// A place for a text.
pub struct Candidate {
    pub at: P2,
    pub anchor: Anchor,
    pub upwards: bool,
}

/// Places for a body's own tag: its middle, and on a wide face places above and below it; in a slim
/// one it reads upwards.
pub fn on_the_face(r: Rect) -> impl Iterator<Item = (P2, bool)> {
    let c = r.centre();
    let wide = has_a_face(r);
    let steps = if wide { (r.h / 2.0 / ROW) as i32 } else { 0 };
    let across = if wide { [0.0, -0.25, 0.25] } else { [0.0; 3] };
    let level = (0..=steps)
        .flat_map(|i| [-i, i])
        .flat_map(move |i| across.map(|a| P2::new(c.x + a * r.w, c.y + f64::from(i) * ROW)));
    let slim = if !wide && r.h > r.w { vec![c] } else { Vec::new() };
    level.map(|p| (p, false)).chain(slim.into_iter().map(|p| (p, true)))
}

/// Offsets on a grid round a point, the nearest first; a label is wide, so up and down first.
pub fn nearest_first() -> &'static [(f64, f64)] {
    static OFFSETS: LazyLock<Vec<(f64, f64)>> = LazyLock::new(|| {
        const REACH: i32 = 24;
        // All as fine: between two lines there may be only just room.
        let mut all: Vec<(i32, i32)> =
            (-REACH..=REACH).flat_map(|i| (-REACH..=REACH).map(move |j| (i, j))).collect();
        all.sort_by_key(|(i, j)| (i * i + 2 * j * j, *j, *i));
        all.into_iter().map(|(i, j)| (f64::from(i) * 2.0, f64::from(j) * 1.5)).collect()
    });
    &OFFSETS
}

/// True where a text holds an arrow: turned, it would point elsewhere.
pub fn points_somewhere(text: &str) -> bool {
    text.contains(['→', '←', '↑', '↓'])
}

/// Beside a thing, or beside the whole of a body.
pub fn candidates(r: &Request) -> Vec<Candidate> {
    let below = font_size(HEIGHT) * DESCENT;
    let (x, y) = r.inside.map_or((r.anchor.x, r.anchor.y), |b| (b.centre().x, b.centre().y));
    let (across, up) = r.inside.map_or((r.half, r.half), |b| (b.w / 2.0, b.h / 2.0));
    let gap = CLEAR + 0.3;
    let (right, left) = (x + across + gap, x - across - gap);
    let (over, under) = (y - up - gap - below, y + up + gap + HEIGHT);
    let c = |x, y, anchor, upwards| Candidate { at: P2::new(x, y), anchor, upwards };
    let mut all = Vec::new();
    const SLIDES: [f64; 7] = [0.0, 4.0, -4.0, 8.0, -8.0, 14.0, -14.0];
    let body = r.inside.is_some();
    for slide in SLIDES.into_iter().filter(|s| s.abs() <= r.reach) {
        // Along a side of a body no farther than that is long.
        let by_it = |half: f64| !body || slide.abs() <= half;
        if (r.upright || body) && by_it(up) {
            all.push(c(right, y + HEIGHT / 2.0 + slide, Anchor::Start, false));
            all.push(c(left, y + HEIGHT / 2.0 + slide, Anchor::End, false));
        }
        if r.upright && by_it(up) && !points_somewhere(&r.text) {
            all.push(c(right + HEIGHT, y + slide, Anchor::Middle, true));
            all.push(c(left - below, y + slide, Anchor::Middle, true));
        }
        if (!r.upright || body) && by_it(across) {
            all.push(c(x + slide, over, Anchor::Middle, false));
            all.push(c(x + slide, under, Anchor::Middle, false));
        }
    }
    all
}
