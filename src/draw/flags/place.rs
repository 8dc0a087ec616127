//! Where a mark stands. In: what stands on the sheet, what the mark speaks of. Out: the white place
//! from which it reads best as its own part's, with a tail to that part.
//!
//! One sum weighs every free place, in the terms in which the placing of labels is weighed since
//! Imhof (1975) and Christensen, Marks and Shieber (1995): how near it is to its own, whether another
//! is nearer (ambiguity), what its tail lies on and crosses.

use super::around::{Around, Target};
use super::white::White;
use crate::draw::style::FACE;
use crate::model::{P2, Rect, cross, to_segment};

/// How far from its part a mark may stand, and from what is drawn of the parts, mm: the
/// next pair where the one before finds no room.
const REACHES: [(f64, f64); 4] = [(45.0, 10.0), (45.0, 25.0), (90.0, 25.0), (250.0, 400.0)];
/// Steps in which places are tried, mm.
const STEP: f64 = 1.0;
/// White kept round it, mm.
const APART: f64 = 0.5;
/// Nearer than this another body or its label is read with the mark, mm.
const CLEAR: f64 = 2.5;
/// So small a body is pointed at through its middle, mm.
const SMALL: f64 = 10.0;
/// So many points of a thing are tried from each place.
const AIMS: usize = 4;
/// A tail ends so far inside what is small, as a share of its half.
const DEEP: f64 = 0.6;

/// Of so many points of a body one is to be seen.
const PEEPS: usize = 3;

/// What it costs, in mm of tail.
mod price {
    /// Another body is nearer than its own.
    pub const NEARER: f64 = 40.0;
    /// Each mm by which another body is nearer than what reads as clear; its label.
    pub const CLOSE: f64 = 6.0;
    pub const CLOSE_WORDS: f64 = 1.5;
    /// It stands on the face of what is not its own.
    pub const ON_ANOTHER: f64 = 6.0;
    /// The tail crosses words, a body, another tail, a line; lies on a line for each mm.
    pub const WORDS: f64 = 30.0;
    pub const BODY: f64 = 12.0;
    pub const TAIL: f64 = 25.0;
    pub const LINE: f64 = 1.5;
    pub const ALONG: f64 = 1.5;
    /// It ends where another pipe is as near.
    pub const SHARED_END: f64 = 8.0;
}

/// A thing to be marked: by its own name, its host's and its unit's.
pub struct Want<'a> {
    pub of: &'a str,
    pub kin: &'a [String],
    pub target: &'a Target,
}

/// A mark in its place.
#[derive(Clone, Debug)]
pub struct Set {
    pub at: Rect,
    /// Which of the sizes it has.
    pub size: usize,
    /// From the mark to what it speaks of; none where it stands on it.
    pub tail: Option<(P2, P2)>,
}

/// What has been set before.
#[derive(Default)]
pub struct Taken {
    pub boxes: Vec<Rect>,
    pub tails: Vec<(P2, P2)>,
}

impl Taken {
    fn is_free(&self, r: &Rect) -> bool {
        !self.boxes.iter().any(|t| t.overlaps(r))
            && !self.tails.iter().any(|(a, b)| r.is_passed(*a, *b))
    }
}

/// The points at which a thing can be pointed, and whether they are to be seen.
pub fn aims(around: &Around, want: &Want) -> (Vec<P2>, bool) {
    let all = points(want.target);
    let seen: Vec<P2> = all.iter().copied().filter(|p| around.is_seen(want.of, *p)).collect();
    // Better what nothing smaller stands on.
    let bare = |p: &P2| {
        let holds = |b: &&super::around::Body| b.tag != want.of && b.at.gap_to(*p) <= 0.0;
        let wide = |r: &Rect| r.w.min(r.h) >= FACE;
        !around.bodies.iter().filter(holds).any(|b| !wide(&b.at))
    };
    let clear: Vec<P2> = seen.iter().copied().filter(bare).collect();
    // A body of which an edge peeps out is not seen for what it is.
    let shows = match want.target {
        Target::Body(_) => seen.len() * PEEPS >= all.len(),
        Target::Line(_) => !seen.is_empty(),
    };
    match (clear.is_empty(), seen.is_empty()) {
        (false, _) => (clear, shows),
        (_, false) => (seen, shows),
        _ => (all, false),
    }
}

/// Points on a body, off the corners that a round one does not fill, or along a pipe.
fn points(target: &Target) -> Vec<P2> {
    const SHARES: [f64; 5] = [0.08, 0.28, 0.5, 0.72, 0.92];
    const EVERY: f64 = 4.0;
    match target {
        Target::Body(r) if r.w.max(r.h) < SMALL => vec![r.centre()],
        Target::Body(r) => {
            let outer = |i: usize| i == 0 || i == SHARES.len() - 1;
            let all = (0..SHARES.len()).flat_map(|i| (0..SHARES.len()).map(move |k| (i, k)));
            all.filter(|(i, k)| !(outer(*i) && outer(*k)))
                .map(|(i, k)| P2::new(r.x + r.w * SHARES[i], r.y + r.h * SHARES[k]))
                .collect()
        }
        Target::Line(edges) => {
            let along = |(a, b): &(P2, P2)| {
                let pieces = (libm::hypot(b.x - a.x, b.y - a.y) / EVERY).ceil().max(2.0) as usize;
                let at = |i: usize| {
                    let t = i as f64 / pieces as f64;
                    P2::new(a.x + (b.x - a.x) * t, a.y + (b.y - a.y) * t)
                };
                (1..pieces).map(at).collect::<Vec<_>>()
            };
            edges.iter().flat_map(along).collect()
        }
    }
}

/// The best place inside a space, clear of what is taken already.
pub fn set(
    (white, around): (&White, &Around),
    space: Rect,
    taken: &Taken,
    want: &Want,
    (aims, sizes): (&[P2], &[(f64, f64)]),
) -> Option<Set> {
    let hull = around.hull()?;
    let pieces = want.target.pieces();
    let extent = Rect::holding(pieces.iter().copied())?;
    REACHES.iter().find_map(|(reach, beyond)| {
        let area = Rect::holding([hull.grown(*beyond), extent.grown(*beyond)])?;
        let mut best: Option<(f64, Set)> = None;
        for (size, (w, h)) in sizes.iter().enumerate() {
            let window = extent.grown(*reach);
            let columns = ((window.w - w) / STEP).ceil().max(0.0) as usize;
            let rows = ((window.h - h) / STEP).ceil().max(0.0) as usize;
            for (row, column) in (0..=rows).flat_map(|r| (0..=columns).map(move |c| (r, c))) {
                let (x, y) = (window.x + column as f64 * STEP, window.y + row as f64 * STEP);
                let at = Rect::new(x, y, *w, *h);
                let own = at.grown(APART);
                let free = space.holds(&own)
                    && area.holds(&own)
                    && white.is_free(&own)
                    && taken.is_free(&own)
                    && !around.rows.iter().any(|r| r.overlaps(&own));
                if !free || pieces.iter().all(|p| p.gap(&at) > *reach) {
                    continue;
                }
                let most = best.as_ref().map_or(f64::INFINITY, |(cost, _)| *cost);
                let judge = Judge { white, around, taken, want, pieces: &pieces };
                if let Some((cost, tail)) = judge.weigh(&at, aims, most) {
                    best = Some((cost, Set { at, size, tail }));
                }
            }
        }
        best.map(|(_, set)| set)
    })
}

/// True where two tails lie on each other, or so near that they are read as one.
fn on_one(a: (P2, P2), b: (P2, P2)) -> bool {
    const NEAR: f64 = 1.2;
    let off = |p: P2, (from, to): (P2, P2)| to_segment(p, from, to);
    let on = |(from, to): (P2, P2), t: f64| {
        P2::new(from.x + (to.x - from.x) * t, from.y + (to.y - from.y) * t)
    };
    // Their ends may well meet in one part.
    [0.25, 0.5, 0.7].into_iter().any(|t| off(on(a, t), b) < NEAR || off(on(b, t), a) < NEAR)
}

struct Judge<'a> {
    white: &'a White,
    around: &'a Around,
    taken: &'a Taken,
    want: &'a Want<'a>,
    pieces: &'a [Rect],
}

impl Judge<'_> {
    /// The best tail from a place, where the sum comes to less than `most`.
    fn weigh(&self, at: &Rect, aims: &[P2], most: f64) -> Option<(f64, Option<(P2, P2)>)> {
        if let Target::Body(own) = self.want.target
            && own.holds(at)
        {
            let cost = self.beside(at, own.centre());
            return (cost < most).then_some((cost, None));
        }
        let mut near: Vec<(f64, P2)> = aims.iter().map(|p| (at.gap_to(*p), *p)).collect();
        near.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut best: Option<(f64, Option<(P2, P2)>)> = None;
        for (_, aim) in near.into_iter().take(AIMS) {
            let (from, to) = self.tail(at, aim);
            let most = best.map_or(most, |(cost, _)| cost);
            let far = libm::hypot(to.x - from.x, to.y - from.y);
            if far >= most {
                continue;
            }
            let near = far + self.beside(at, to);
            if near >= most {
                continue;
            }
            let cost = near + self.crossed((from, to));
            if cost < most {
                best = Some((cost, Some((from, to))));
            }
        }
        best
    }

    /// From the edge of a mark to a point of its own; into what is small only so far that it is
    /// certainly on it.
    fn tail(&self, at: &Rect, aim: P2) -> (P2, P2) {
        let from = at.nearest(aim);
        let Target::Body(r) = self.want.target else { return (from, aim) };
        if r.w.max(r.h) >= SMALL {
            return (from, aim);
        }
        let (dx, dy) = (from.x - aim.x, from.y - aim.y);
        // On the ellipse within the box.
        let far = libm::hypot(dx / (r.w / 2.0).max(0.1), dy / (r.h / 2.0).max(0.1));
        let share = if far > DEEP { DEEP / far } else { 1.0 };
        (from, P2::new(aim.x + dx * share, aim.y + dy * share))
    }

    /// What stands beside it and may be taken for what it speaks of.
    fn beside(&self, at: &Rect, end: P2) -> f64 {
        let labels = || self.around.words.iter().map(|(of, r)| (of.as_deref(), r));
        let is_own = |of: Option<&str>| of == Some(self.want.of);
        let label = labels().filter(|(of, _)| is_own(*of)).map(|(_, r)| r.gap(at));
        let own = self.pieces.iter().map(|p| p.gap(at)).chain(label).fold(f64::INFINITY, f64::min);
        let mut cost = 0.0;
        for body in &self.around.bodies {
            let gap = body.at.gap(at);
            let kin = body.tag == self.want.of || self.want.kin.contains(&body.tag);
            if kin || gap > own.max(CLEAR) {
                continue;
            }
            // What its own stands on, or lies under, is no rival.
            if body.at.gap_to(end) <= 0.0 {
                cost += if gap <= 0.0 { price::ON_ANOTHER } else { 0.0 };
                continue;
            }
            cost += price::CLOSE * (CLEAR - gap).max(0.0);
            cost += if gap <= own { price::NEARER } else { 0.0 };
        }
        for (_, r) in labels().filter(|(of, _)| !is_own(*of)) {
            cost += price::CLOSE_WORDS * (CLEAR - r.gap(at)).max(0.0);
        }
        cost
    }

    fn crossed(&self, (from, to): (P2, P2)) -> f64 {
        let through = |r: &Rect| r.grown(-0.01).is_passed(from, to);
        let words = self.around.words.iter().filter(|(_, r)| through(r)).count()
            + self.taken.boxes.iter().filter(|r| through(r)).count();
        let rival = |tag: &str| tag != self.want.of && !self.want.kin.iter().any(|k| k == tag);
        let others = self.around.bodies.iter().filter(|b| rival(&b.tag) && b.at.gap_to(to) > 0.0);
        let bodies = others.filter(|b| through(&b.at)).count();
        let meets = |(a, b): &&(P2, P2)| cross(from, to, *a, *b) || on_one((from, to), (*a, *b));
        let tails = self.taken.tails.iter().filter(meets).count();
        let shared = match self.want.target {
            Target::Line(_) => {
                let at = |(id, a, b): &&(String, P2, P2)| {
                    id != self.want.of && Rect::between(*a, *b).gap_to(to) < 1.0
                };
                self.around.pipes.iter().any(|p| at(&p))
            }
            Target::Body(_) => false,
        };
        // Its own is drawn too where it ends.
        let far = libm::hypot(to.x - from.x, to.y - from.y);
        let short = self.own_end(from, to, far);
        let (lines, along) = if short > 0.05 {
            let end = P2::new(from.x + (to.x - from.x) * short, from.y + (to.y - from.y) * short);
            self.white.under(from, end)
        } else {
            (0, 0.0)
        };
        price::WORDS * words as f64
            + price::BODY * bodies as f64
            + price::TAIL * tails as f64
            + price::LINE * lines as f64
            + price::ALONG * along
            + if shared { price::SHARED_END } else { 0.0 }
    }

    /// What share of a tail lies outside its own.
    fn own_end(&self, from: P2, to: P2, far: f64) -> f64 {
        match self.want.target {
            Target::Body(r) => r.grown(0.6).clips(from, to).0.clamp(0.0, 1.0),
            Target::Line(_) => ((far - 1.2) / far.max(0.01)).max(0.0),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draw::scene::{Group, Ink, Item, Mark, Paper, Shape, Stroke, Words};

    const SIZE: (f64, f64) = (12.0, 4.0);

    fn part(tag: &str, at: Rect) -> Item {
        let outline = Shape::rect(at, Some(Stroke::solid(0.35, Ink::BLACK)), None);
        let mark =
            Mark::Part { tag: tag.to_owned(), kind: String::new(), on_paper: at, real: None };
        Group { mark, title: None, items: vec![outline.into()] }.into()
    }

    fn placed(items: &[Item], of: &str) -> Set {
        let around = Around::of(items);
        let white = White::of(Paper::A4_PORTRAIT, items, &[]);
        let target = &around.targets[of][0];
        let want = Want { of, kin: &[], target };
        let (aims, _) = aims(&around, &want);
        let space = Rect::new(20.0, 10.0, 180.0, 277.0);
        let taken = Taken::default();
        set((&white, &around), space, &taken, &want, (&aims, &[SIZE])).expect("there is room")
    }

    /// A valve alone: the mark stands close by, and its tail ends on the valve.
    #[test]
    fn a_mark_stands_by_its_own() {
        let own = Rect::new(100.0, 100.0, 5.0, 5.0);
        let set = placed(&[part("A", own)], "A");
        let (_, end) = set.tail.expect("a tail");
        assert!(own.gap(&set.at) < 2.0 && own.gap_to(end) <= 0.0, "{set:?}");
    }

    /// Two valves in a column, room only under the lower one and at the upper one's far right: what
    /// stands under the lower one would be read as its mark.
    #[test]
    fn a_mark_does_not_stand_by_a_neighbour() {
        let (own, other) = (Rect::new(100.0, 100.0, 5.0, 5.0), Rect::new(100.0, 106.0, 5.0, 5.0));
        let ink = |r: Rect| -> Item {
            Shape::rect(r, Some(Stroke::solid(0.35, Ink::BLACK)), Some(Ink::PALE)).into()
        };
        let far = Rect::new(150.0, 150.0, 5.0, 5.0);
        let mut items = vec![part("A", own), part("B", other), part("C", far)];
        // A hatched wall left and above, near on the right.
        items.extend((0..40).map(|i| ink(Rect::new(60.0 + f64::from(i), 60.0, 0.5, 60.0))));
        items.extend((0..40).map(|i| ink(Rect::new(98.0, 60.0 + f64::from(i), 20.0, 0.5))));
        items.extend((0..5).map(|i| ink(Rect::new(106.0, 100.0 + f64::from(i), 9.0, 0.5))));
        let set = placed(&items, "A");
        assert!(own.gap(&set.at) < other.gap(&set.at), "{set:?}");
        assert!(own.gap_to(set.tail.expect("a tail").1) <= 0.0);
    }

    /// A wide vessel with white inside bears its mark there, clear of a label on its face.
    #[test]
    fn a_wide_body_bears_its_mark() {
        let own = Rect::new(80.0, 100.0, 50.0, 90.0);
        let label = Words::new(P2::new(95.0, 145.0), "CYL1", 2.5);
        let on_paper = label.on_paper();
        let label = label.mark(Mark::Label { of: "A".to_owned(), on_paper });
        let set = placed(&[part("A", own), label.into()], "A");
        assert!(own.holds(&set.at) && set.tail.is_none() && !on_paper.overlaps(&set.at));
    }
}
