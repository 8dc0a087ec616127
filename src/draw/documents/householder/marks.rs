//! Where the numbers stand in the picture: on what is seen of a part, or beside it with a line to
//! it; beside what covers a part that is not to be seen. In: the outlines on the sheet, nearest
//! last. Out: a place for each number.

use crate::model::{P2, Rect, cross, to_segment};

/// Grid on which a part's face is judged, and on which places are tried.
const STEP: f64 = 1.2;
/// Cells from a part within which a place is sought.
const REACH: i64 = 34;
/// Between two numbers: they are read as two.
const APART: f64 = 1.6;
/// A number beside its part costs this, mm of way.
const BESIDE: f64 = 6.0;
/// Beside it, but over some of it.
const LAPS: f64 = 5.0;
/// On a part of which it covers most: what the number stands for is not to be seen any more.
const COVERS: f64 = 22.0;
/// So many times the number's own square a part is large enough to bear it.
const BEARABLE: f64 = 2.2;
/// On another part of the picture, on one that has another number, outside the cupboard.
const ON_OTHER: f64 = 11.0;
const ON_NUMBERED: f64 = 30.0;
const OUTSIDE: f64 = 4.0;
/// A line to a part across another line, or across another part with a number.
const ACROSS_LINE: f64 = 30.0;
const ACROSS_NUMBERED: f64 = 16.0;
/// Less of a face than this, mm², is not seen.
const SEEN: f64 = 2.0;

/// What the eye gets of a part.
pub enum Face {
    /// The middle of what is seen, and the points seen.
    Seen(P2, Vec<P2>),
    /// The body that stands before it.
    Behind(usize),
}

/// What is seen of `bodies[i]`; bodies from the farthest to the nearest.
pub fn face(bodies: &[Rect], i: usize) -> Face {
    let own = bodies[i];
    let hides =
        |p: &P2, r: &Rect| p.x >= r.x && p.x <= r.right() && p.y >= r.y && p.y <= r.bottom();
    // A large part needs no finer look.
    let cells = |mm: f64| (mm / 0.6).ceil().clamp(1.0, 40.0) as usize;
    let (across, down) = (cells(own.w), cells(own.h));
    let (dx, dy) = (own.w / across as f64, own.h / down as f64);
    let points = (0..across).flat_map(|a| {
        (0..down).map(move |b| P2::new((a as f64 + 0.5) * dx, (b as f64 + 0.5) * dy))
    });
    let points: Vec<P2> = points.map(|p| P2::new(own.x + p.x, own.y + p.y)).collect();
    let seen: Vec<P2> =
        points.iter().copied().filter(|p| !bodies[i + 1..].iter().any(|b| hides(p, b))).collect();
    // Half of a small part is enough.
    let least = SEEN.min(own.w * own.h / 2.0);
    if seen.len() as f64 * dx * dy < least {
        let over = |b: &Rect| points.iter().filter(|p| hides(p, b)).count();
        let most = (i + 1..bodies.len()).max_by_key(|j| (over(&bodies[*j]), *j));
        return most.map_or(Face::Seen(own.centre(), points), Face::Behind);
    }
    // The seen point that lies deepest within what is seen.
    let room = |p: &P2| {
        let edge =
            (p.x - own.x).min(own.right() - p.x).min(p.y - own.y).min(own.bottom() - p.y).max(0.0);
        let clear = bodies[i + 1..].iter().map(|b| apart(p, b)).fold(edge, f64::min);
        let c = own.centre();
        // In tenths, so that near the middle wins among those as deep.
        ((clear * 10.0) as i64, -((distance(*p, c) * 10.0) as i64))
    };
    let deepest = seen.iter().copied().max_by_key(room).unwrap_or(own.centre());
    Face::Seen(deepest, seen)
}

/// A part that wants a number.
pub struct Wanted {
    /// Where a line to it ends.
    pub at: P2,
    /// Points that are seen of it; none of a part behind another.
    pub seen: Vec<P2>,
    pub own: Rect,
    /// What stands before it.
    pub covers: Vec<Rect>,
}

impl Wanted {
    /// True where a number stands on what is seen of the part.
    pub fn bears(&self, p: P2) -> bool {
        let on = |r: &Rect| apart(&p, r) == 0.0;
        !self.seen.is_empty() && on(&self.own) && !self.covers.iter().any(on)
    }
}

/// Where a number stands, and where its line ends if it stands beside its part.
#[derive(Clone, Copy)]
pub struct Set {
    pub at: P2,
    pub end: P2,
    pub beside: bool,
}

/// Where the numbers stand, of that radius: each on its own part, or beside it.
pub fn places(wanted: &[Wanted], bodies: &[Rect], r: f64, inside: Rect, room: Rect) -> Vec<Set> {
    let mut set: Vec<Option<Set>> = vec![None; wanted.len()];
    // Those with room on their own part first: they have no other as good.
    let roomy = |w: &Wanted| w.own.w >= 2.0 * r && w.own.h >= 2.0 * r;
    let order = |first: bool| (0..wanted.len()).filter(move |i| roomy(&wanted[*i]) == first);
    for i in order(true).chain(order(false)) {
        let at = place(i, wanted, &set, bodies, r, inside, room);
        set[i] = Some(at);
    }
    let bare = |w: &Wanted| Set { at: w.at, end: w.at, beside: false };
    set.into_iter().zip(wanted).map(|(s, w)| s.unwrap_or(bare(w))).collect()
}

fn place(
    i: usize,
    wanted: &[Wanted],
    set: &[Option<Set>],
    bodies: &[Rect],
    r: f64,
    inside: Rect,
    room: Rect,
) -> Set {
    let w = &wanted[i];
    let lines: Vec<Set> = set.iter().flatten().copied().collect();
    let others = || wanted.iter().enumerate().filter(|(j, _)| *j != i).map(|(_, w)| w);
    let numbered: Vec<Rect> = others().map(|w| w.own).collect();
    // The middle of what is seen, unless another number lies on it.
    let bare = |p: &&P2| lines.iter().all(|s| distance(s.at, **p) > r + 0.8);
    let by_way = |a: &&P2, b: &&P2| distance(**a, w.at).total_cmp(&distance(**b, w.at));
    let end = std::iter::once(&w.at)
        .find(bare)
        .or_else(|| w.seen.iter().filter(bare).min_by(by_way))
        .copied()
        .unwrap_or(w.at);
    let mut best: Option<(f64, Set)> = None;
    for (a, b) in (-REACH..=REACH).flat_map(|a| (-REACH..=REACH).map(move |b| (a, b))) {
        let p = P2::new(w.at.x + a as f64 * STEP, w.at.y + b as f64 * STEP);
        let spot = Rect::new(p.x - r, p.y - r, 2.0 * r, 2.0 * r);
        let near = lines.iter().any(|s| distance(s.at, p) < 2.0 * r + APART);
        let struck = lines.iter().any(|s| s.beside && to_segment(p, s.end, s.at) < r + 0.6);
        if near || struck || !room.holds(&spot) || crosses_edge(&spot, &inside) {
            continue;
        }
        let beside = !w.bears(p);
        let mut cost = distance(p, if beside { end } else { w.at });
        if !beside && w.own.w * w.own.h < BEARABLE * 4.0 * r * r {
            cost += COVERS;
        }
        if beside {
            // The end of its line is to be seen, and the line runs through no other number.
            let through = lines.iter().any(|s| to_segment(s.at, end, p) < r + 0.6);
            if through || distance(p, end) < r + 1.2 {
                continue;
            }
            let crossed = |s: &&Set| s.beside && cross(end, p, s.end, s.at);
            let over = |o: &&Rect| !o.holds(&w.own) && segment_meets(end, p, o);
            cost += if w.own.overlaps(&spot) { LAPS } else { 0.0 };
            cost += BESIDE
                + ACROSS_LINE * lines.iter().filter(crossed).count() as f64
                + ACROSS_NUMBERED * numbered.iter().filter(over).count() as f64;
        }
        if !inside.overlaps(&spot) {
            cost += OUTSIDE;
        }
        // A part that is not to be seen has its number off what covers it.
        let hidden = w.seen.is_empty();
        let smaller = |o: &&Rect| o.w * o.h < 0.8 * w.own.w * w.own.h || beside;
        let other = |o: &&Rect| **o != w.own && o.overlaps(&spot) && (hidden || !o.holds(&w.own));
        cost += ON_OTHER * bodies.iter().filter(other).filter(smaller).count() as f64
            + ON_NUMBERED * numbered.iter().filter(other).filter(smaller).count() as f64
            + ON_NUMBERED * others().filter(|o| distance(o.at, p) < r + 0.8).count() as f64;
        if best.as_ref().is_none_or(|(c, _)| cost + 1e-9 < *c) {
            best = Some((cost, Set { at: p, end, beside }));
        }
    }
    best.map_or(Set { at: w.at, end: w.at, beside: false }, |(_, s)| s)
}

/// Half in, half out.
fn crosses_edge(spot: &Rect, inside: &Rect) -> bool {
    spot.grown(0.6).overlaps(inside) && !inside.holds(&spot.grown(0.4))
}

fn distance(a: P2, b: P2) -> f64 {
    libm::hypot(a.x - b.x, a.y - b.y)
}

/// From a point to a box.
fn apart(p: &P2, b: &Rect) -> f64 {
    let dx = (b.x - p.x).max(p.x - b.right()).max(0.0);
    let dy = (b.y - p.y).max(p.y - b.bottom()).max(0.0);
    libm::hypot(dx, dy)
}

fn segment_meets(a: P2, b: P2, o: &Rect) -> bool {
    let corner = [
        P2::new(o.x, o.y),
        P2::new(o.right(), o.y),
        P2::new(o.right(), o.bottom()),
        P2::new(o.x, o.bottom()),
    ];
    (0..4).any(|i| cross(a, b, corner[i], corner[(i + 1) % 4]))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_part_behind_another_is_not_seen() {
        let valve = Rect::new(10.0, 10.0, 6.0, 6.0);
        let cover = Rect::new(8.0, 8.0, 12.0, 20.0);
        assert!(matches!(face(&[valve, cover], 0), Face::Behind(1)));
        assert!(matches!(face(&[cover, valve], 1), Face::Seen(..)));
        // Half of it looks out at the left.
        let half = Rect::new(13.0, 8.0, 12.0, 20.0);
        let Face::Seen(at, _) = face(&[valve, half], 0) else { panic!("half is seen") };
        assert!(at.x < 13.0);
    }

    #[test]
    fn no_line_runs_through_a_number() {
        let small = |x: f64| Rect::new(x, 50.0, 3.0, 3.0);
        let bodies: Vec<Rect> = (0..6).map(|i| small(50.0 + 4.0 * f64::from(i))).collect();
        let wanted: Vec<Wanted> = bodies
            .iter()
            .map(|b| Wanted { at: b.centre(), seen: vec![b.centre()], own: *b, covers: Vec::new() })
            .collect();
        let room = Rect::new(0.0, 0.0, 120.0, 120.0);
        let set = places(&wanted, &bodies, 3.4, room, room);
        for (i, a) in set.iter().enumerate() {
            for (j, b) in set.iter().enumerate().filter(|(j, _)| *j != i) {
                assert!(distance(a.at, b.at) > 2.0 * 3.4, "{i} {j}");
                let free = !a.beside || to_segment(b.at, a.end, a.at) > 3.4;
                assert!(free, "{i}'s line through {j}");
            }
        }
    }
}
