//! Where a mark stands. In: the white of a sheet, what the mark speaks of. Out: the nearest free place, with
//! a leader that crosses as little as may be.

use super::size;
use super::white::{White, between};
use crate::model::{P2, Rect};

/// How far from its part a mark may stand, mm, and the steps in which places are tried.
const REACH: f64 = 60.0;
const STEP: f64 = 1.0;
/// White kept round it, and the distance from which it needs a leader.
const APART: f64 = 0.7;
const BESIDE: f64 = 1.6;
/// What it costs a leader to cross words, a body, a line, mm.
const WORDS: f64 = 25.0;
const BODY: f64 = 6.0;
const LINE: f64 = 1.0;

/// What a mark speaks of, as drawn.
#[derive(Clone, Debug)]
pub enum Target {
    Body(Rect),
    Line(Vec<(P2, P2)>),
}

impl Target {
    fn pieces(&self) -> Vec<Rect> {
        match self {
            Target::Body(r) => vec![*r],
            Target::Line(edges) => edges.iter().map(|(a, b)| between(*a, *b)).collect(),
        }
    }
}

pub struct Flag<'a> {
    of: &'a str,
    size: (f64, f64),
    target: &'a Target,
}

impl<'a> Flag<'a> {
    pub fn new(of: &'a str, text: &str, target: &'a Target) -> Flag<'a> {
        Flag { of, size: size(text), target }
    }
}

/// A mark in its place.
pub struct Set {
    pub at: Rect,
    pub leader: Option<(P2, P2)>,
}

/// The best place inside a space, clear of what is taken already.
pub fn set(white: &White, space: Rect, taken: &[Rect], flag: &Flag) -> Option<Set> {
    let mut best: Option<(f64, Set)> = None;
    let (w, h) = flag.size;
    for piece in flag.target.pieces() {
        let window = piece.grown(REACH);
        let columns = ((window.w - w) / STEP).ceil().max(0.0) as usize;
        let rows = ((window.h - h) / STEP).ceil().max(0.0) as usize;
        for row in 0..=rows {
            for column in 0..=columns {
                let at =
                    Rect::new(window.x + column as f64 * STEP, window.y + row as f64 * STEP, w, h);
                let far = gap(&at, &piece);
                if far > REACH || best.as_ref().is_some_and(|(cost, _)| far >= *cost) {
                    continue;
                }
                let own = at.grown(APART);
                let free = space.holds(&own)
                    && white.is_free(&own)
                    && !taken.iter().any(|t| t.overlaps(&own));
                if !free {
                    continue;
                }
                let leader = (far > BESIDE).then(|| leader(&at, &piece));
                let cost = far + leader.map_or(0.0, |l| crossings(white, taken, flag, l));
                if best.as_ref().is_none_or(|(b, _)| cost < *b) {
                    best = Some((cost, Set { at, leader }));
                }
            }
        }
    }
    best.map(|(_, set)| set)
}

/// Between two boxes; 0 where they meet.
fn gap(a: &Rect, b: &Rect) -> f64 {
    let x = (a.x - b.right()).max(b.x - a.right()).max(0.0);
    let y = (a.y - b.bottom()).max(b.y - a.bottom()).max(0.0);
    (x * x + y * y).sqrt()
}

/// From a mark to what it speaks of: to the middle of what is small, to the edge of what is wide.
fn leader(at: &Rect, piece: &Rect) -> (P2, P2) {
    const SMALL: f64 = 6.0;
    let nearest = |r: &Rect, p: P2| P2::new(p.x.clamp(r.x, r.right()), p.y.clamp(r.y, r.bottom()));
    let aim =
        if piece.w.max(piece.h) < SMALL { piece.centre() } else { nearest(piece, at.centre()) };
    (nearest(at, aim), aim)
}

fn crossings(white: &White, taken: &[Rect], flag: &Flag, (from, to): (P2, P2)) -> f64 {
    let words = white.words.iter().chain(taken).filter(|r| meets(from, to, r)).count();
    let others = white.boxes.iter().filter(|(tag, _)| tag != flag.of);
    let bodies = others.filter(|(_, r)| meets(from, to, r)).count();
    let lines = white.lines.iter().filter(|(a, b)| cross(from, to, *a, *b)).count();
    WORDS * words as f64 + BODY * bodies as f64 + LINE * lines as f64
}

/// True where a line enters a box (Liang and Barsky's clipping).
fn meets(a: P2, b: P2, r: &Rect) -> bool {
    let (mut from, mut to) = (0.0_f64, 1.0_f64);
    for (p, d, low, high) in [(a.x, b.x - a.x, r.x, r.right()), (a.y, b.y - a.y, r.y, r.bottom())] {
        if d.abs() < 1e-12 {
            if p <= low || p >= high {
                return false;
            }
            continue;
        }
        let (s, t) = ((low - p) / d, (high - p) / d);
        from = from.max(s.min(t));
        to = to.min(s.max(t));
    }
    from < to
}

fn cross(a: P2, b: P2, c: P2, d: P2) -> bool {
    let side = |p: P2, q: P2, r: P2| (q.x - p.x) * (r.y - p.y) - (q.y - p.y) * (r.x - p.x);
    side(a, b, c) * side(a, b, d) < 0.0 && side(c, d, a) * side(c, d, b) < 0.0
}
