//! Where a mark stands. In: the white of a sheet, what the mark speaks of. Out: the nearest free place, with
//! a leader that crosses as little as may be.

use super::size;
use super::white::{White, between};
use crate::model::{P2, Rect, cross};

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
/// Less than is drawn, mm.
const HAIR: f64 = 1e-6;

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
                let far = at.gap(&piece);
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

/// From a mark to what it speaks of: to the middle of what is small, to the edge of what is wide.
fn leader(at: &Rect, piece: &Rect) -> (P2, P2) {
    const SMALL: f64 = 6.0;
    let nearest = |r: &Rect, p: P2| P2::new(p.x.clamp(r.x, r.right()), p.y.clamp(r.y, r.bottom()));
    let aim =
        if piece.w.max(piece.h) < SMALL { piece.centre() } else { nearest(piece, at.centre()) };
    (nearest(at, aim), aim)
}

fn crossings(white: &White, taken: &[Rect], flag: &Flag, (from, to): (P2, P2)) -> f64 {
    // Along an edge is not through.
    let through = |r: &Rect| r.grown(-HAIR).is_passed(from, to);
    let words = white.words.iter().chain(taken).filter(|r| through(r)).count();
    let others = white.boxes.iter().filter(|(tag, _)| tag != flag.of);
    let bodies = others.filter(|(_, r)| through(r)).count();
    let lines = white.lines.iter().filter(|(a, b)| cross(from, to, *a, *b)).count();
    WORDS * words as f64 + BODY * bodies as f64 + LINE * lines as f64
}
