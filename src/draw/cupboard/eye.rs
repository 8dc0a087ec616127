//! Bodies under the eye of an isometric view (30° axes, after ISO 5456-3). In: boxes in the room, mm.
//! Out: their shapes and edges on paper, what the eye sees through a point, an order in which to
//! paint so that what is nearer hides what is farther.

use crate::draw::scene::{Ink, Item, Mark, Seg, Shape, Stroke};
use crate::draw::style::width;
use crate::layout::cupboard::plan::Exit;
use crate::model::{Box3, P2, P3, Rect, Side};

/// Cosine and sine of 30°, by table so that no machine differs.
pub const COS: f64 = 0.866_025_403_784_438_6;
pub const SIN: f64 = 0.5;
/// Handle length that makes a cubic follow a quarter of an ellipse.
const QUARTER: f64 = 0.552_284_749_830_793_6;
/// Half axes of a circle of radius 1 that lies level: √1.5 across, √0.5 up.
const MAJOR: f64 = 1.224_744_871_391_589;
const MINOR: f64 = std::f64::consts::FRAC_1_SQRT_2;

/// The eye stands beyond the door at the right, above. From the left it looks at the room's image
/// in a mirror, whose picture is turned over.
#[derive(Clone, Copy)]
pub struct Eye {
    pub scale: f64,
    pub at: P2,
    pub from_left: bool,
}

impl Eye {
    /// x runs right and down, y left and down; from the left the other way.
    pub fn point(&self, p: P3) -> P2 {
        let u = (p.x - p.y) * COS * self.hand();
        let v = (p.x + p.y) * SIN - p.z;
        P2::new(self.at.x + u / self.scale, self.at.y + v / self.scale)
    }

    fn hand(&self) -> f64 {
        if self.from_left { -1.0 } else { 1.0 }
    }

    /// Where the sight line through a point on paper meets the floor; it runs on by as much in x,
    /// in y and in z.
    fn foot(&self, p: P2) -> P2 {
        let u = (p.x - self.at.x) * self.hand() * self.scale / COS;
        let v = (p.y - self.at.y) * self.scale;
        P2::new((2.0 * v + u) / 2.0, (2.0 * v - u) / 2.0)
    }

    /// True where the sight line through a point on paper passes the body.
    pub fn sees(&self, p: P2, thing: &Thing) -> bool {
        self.passes(p, thing).is_some()
    }

    /// From where to where, in mm of height, the sight line through a point on paper lies in the
    /// body; what is higher is nearer.
    fn passes(&self, p: P2, thing: &Thing) -> Option<(f64, f64)> {
        let (foot, b) = (self.foot(p), &thing.bounds);
        let low = [b.x - foot.x, b.y - foot.y, b.z];
        let high = [low[0] + b.w, low[1] + b.d, low[2] + b.h];
        if !thing.round {
            let from = low.into_iter().fold(f64::MIN, f64::max);
            let to = high.into_iter().fold(f64::MAX, f64::min);
            return (from < to).then_some((from, to));
        }
        // An upright drum: the line is within its radius between the roots of a square.
        let (dx, dy) = ((low[0] + high[0]) / 2.0, (low[1] + high[1]) / 2.0);
        let radius = b.w.min(b.d) / 2.0;
        let (half, rest) = ((dx + dy) / 2.0, (dx * dx + dy * dy - radius * radius) / 2.0);
        let root = half * half - rest;
        if root <= 0.0 {
            return None;
        }
        let root = root.sqrt();
        let (from, to) = ((half - root).max(low[2]), (half + root).min(high[2]));
        (from < to).then_some((from, to))
    }

    /// True where the first lies nearer than the second, told by the sight lines that pass both.
    fn before(&self, a: &Thing, b: &Thing) -> Option<bool> {
        const STEPS: i32 = 6;
        let (p, q) = (&a.on_paper, &b.on_paper);
        let (x, y) = (p.x.max(q.x), p.y.max(q.y));
        let (w, h) = (p.right().min(q.right()) - x, p.bottom().min(q.bottom()) - y);
        let part = |v: f64, i: i32| v * (f64::from(i) + 0.5) / f64::from(STEPS);
        let spots = (0..STEPS).flat_map(|i| (0..STEPS).map(move |j| (i, j)));
        let depth = |(from, to): (f64, f64)| from + to;
        let by = spots.filter_map(|(i, j)| {
            let spot = P2::new(x + part(w, i), y + part(h, j));
            Some(depth(self.passes(spot, a)?) - depth(self.passes(spot, b)?))
        });
        by.max_by(|a, b| a.abs().total_cmp(&b.abs())).map(|by| by > 0.0)
    }
}

/// Something with extent that hides and is hidden.
pub struct Thing {
    pub bounds: Box3,
    /// An upright drum in its bounds.
    pub round: bool,
    pub items: Vec<Item>,
    pub on_paper: Rect,
    /// Where no label may stand, as far as it is seen.
    pub kept_clear: Vec<Rect>,
}

/// Boxes along a line, so that it can be told which parts of it are seen.
pub fn along(p: P2, q: P2, thick: f64) -> Vec<Rect> {
    let (dx, dy) = (q.x - p.x, q.y - p.y);
    let steps = (dx.abs().max(dy.abs()) / thick).ceil().max(1.0);
    (0..=steps as usize)
        .map(|i| {
            let t = i as f64 / steps;
            Rect::new(p.x + dx * t - thick / 2.0, p.y + dy * t - thick / 2.0, thick, thick)
        })
        .collect()
}

/// The edges that the eye sees of a block.
pub fn block_edges(eye: &Eye, b: &Box3) -> Vec<(P2, P2)> {
    let c = corners(b).map(|c| eye.point(c));
    // All that do not meet in the corner farthest from the eye.
    [(4, 5), (5, 7), (7, 6), (6, 4), (2, 3), (3, 7), (2, 6), (1, 3), (1, 5)]
        .map(|(i, j)| (c[i], c[j]))
        .to_vec()
}

/// The outline of a drum and the near edge of its lid.
pub fn drum_edges(eye: &Eye, b: &Box3) -> Vec<(P2, P2)> {
    const PIECES: usize = 48;
    let (top, bottom, a, h) = drum_measures(eye, b);
    let on = |c: P2, i: usize| {
        let angle = std::f64::consts::TAU * i as f64 / PIECES as f64;
        P2::new(c.x + a * libm::cos(angle), c.y + h * libm::sin(angle))
    };
    let lid = (0..PIECES).map(|i| (on(top, i), on(top, i + 1)));
    // Sheet y grows down: the near half is that of the first half turn.
    let foot = (0..PIECES / 2).map(|i| (on(bottom, i), on(bottom, i + 1)));
    let side = |x: f64| (P2::new(top.x + x, top.y), P2::new(bottom.x + x, bottom.y));
    lid.chain(foot).chain([side(-a), side(a)]).collect()
}

/// An upright rectangle on the nearest face of a block, the larger of the two upright ones.
pub fn block_face(eye: &Eye, b: &Box3) -> Rect {
    let near = eye.point(P3::new(b.x + b.w, b.y + b.d, b.z + b.h));
    let (across, left) = if b.w >= b.d { (b.w, true) } else { (b.d, false) };
    let w = across * COS / eye.scale;
    let slant = across * SIN / eye.scale;
    let x = if left == eye.from_left { near.x } else { near.x - w };
    Rect::new(x, near.y, w, (b.h / eye.scale - slant).max(0.0))
}

/// The same on a drum, below its lid.
pub fn drum_face(eye: &Eye, b: &Box3) -> Rect {
    let (top, bottom, a, h) = drum_measures(eye, b);
    Rect::new(top.x - a, top.y + h, 2.0 * a, (bottom.y - top.y - h).max(0.0))
}

/// Middles of lid and foot, half axes across and up.
fn drum_measures(eye: &Eye, b: &Box3) -> (P2, P2, f64, f64) {
    let radius = b.w.min(b.d) / 2.0;
    let centre = |z: f64| eye.point(P3::new(b.x + b.w / 2.0, b.y + b.d / 2.0, z));
    let (a, h) = (radius * MAJOR / eye.scale, radius * MINOR / eye.scale);
    (centre(b.z + b.h), centre(b.z), a, h)
}

/// A circle about a point of a wall, the floor or the ceiling.
pub fn hole(eye: &Eye, exit: &Exit) -> Vec<P2> {
    const PIECES: usize = 24;
    let (p, radius) = (exit.at, exit.core / 2.0);
    let on = |i: usize| {
        let angle = std::f64::consts::TAU * i as f64 / PIECES as f64;
        let (u, v) = (radius * libm::cos(angle), radius * libm::sin(angle));
        eye.point(match exit.side {
            Side::Left | Side::Right => P3::new(p.x, p.y + u, p.z + v),
            Side::Back => P3::new(p.x + u, p.y, p.z + v),
            _ => P3::new(p.x + u, p.y + v, p.z),
        })
    };
    (0..PIECES).map(on).collect()
}

pub fn corners(b: &Box3) -> [P3; 8] {
    std::array::from_fn(|i| {
        P3::new(
            b.x + if i & 1 == 1 { b.w } else { 0.0 },
            b.y + if i & 2 == 2 { b.d } else { 0.0 },
            b.z + if i & 4 == 4 { b.h } else { 0.0 },
        )
    })
}

pub fn bounds(eye: &Eye, b: &Box3) -> Rect {
    let points = corners(b).map(|c| eye.point(c));
    let xs = points.iter().map(|p| p.x);
    let ys = points.iter().map(|p| p.y);
    let (x, y) = (xs.clone().fold(f64::MAX, f64::min), ys.clone().fold(f64::MAX, f64::min));
    Rect::new(x, y, xs.fold(f64::MIN, f64::max) - x, ys.fold(f64::MIN, f64::max) - y)
}

/// The three faces that the eye sees.
pub fn block_faces(eye: &Eye, b: &Box3) -> Vec<Item> {
    let c = corners(b).map(|c| eye.point(c));
    let edge = || Some(Stroke::solid(width::SYMBOL, Ink::BLACK));
    let face = |i: [usize; 4]| -> Item {
        Shape::polygon(&i.map(|k| c[k]), edge(), Some(Ink::WHITE)).into()
    };
    // Top, the face towards the door, the face towards the right.
    vec![face([4, 5, 7, 6]), face([2, 3, 7, 6]), face([1, 3, 7, 5])]
}

/// An upright drum in its box.
pub fn drum(eye: &Eye, b: &Box3) -> Vec<Item> {
    let (top, bottom, a, h) = drum_measures(eye, b);
    let edge = || Some(Stroke::solid(width::SYMBOL, Ink::BLACK));
    let mut side =
        vec![Seg::Move(P2::new(top.x - a, top.y)), Seg::Line(P2::new(bottom.x - a, bottom.y))];
    side.extend(half_ellipse(bottom, -a, h));
    side.push(Seg::Line(P2::new(top.x + a, top.y)));
    side.push(Seg::Close);
    let mut lid = vec![Seg::Move(P2::new(top.x - a, top.y))];
    lid.extend(half_ellipse(top, -a, -h));
    lid.extend(half_ellipse(top, a, h));
    lid.push(Seg::Close);
    [side, lid]
        .map(|path| Shape { mark: Mark::None, path, stroke: edge(), fill: Some(Ink::WHITE) }.into())
        .into()
}

/// From the end at `a` round to the end at `-a`, bulging by `h`.
fn half_ellipse(c: P2, a: f64, h: f64) -> [Seg; 2] {
    let p = |x: f64, y: f64| P2::new(c.x + x, c.y + y);
    let k = QUARTER;
    [
        Seg::Cubic(p(a, h * k), p(a * k, h), p(0.0, h)),
        Seg::Cubic(p(-a * k, h), p(-a, h * k), p(-a, 0.0)),
    ]
}

/// An order in which to paint: farther before nearer for every pair that shares a sight line; as far
/// as may be for those too of which only the boxes on paper overlap.
pub fn front_last(eye: &Eye, things: &[Thing]) -> Vec<usize> {
    const HAIR: f64 = 1.0;
    // True where a is certainly before b, seen from the eye.
    let nearer = |a: &Box3, b: &Box3| {
        a.x >= b.x + b.w - HAIR || a.y >= b.y + b.d - HAIR || a.z >= b.z + b.h - HAIR
    };
    let n = things.len();
    // What each waits for: what it hides some of, and what it would hide if it lay so.
    let mut hides: Vec<Vec<usize>> = vec![Vec::new(); n];
    let mut before: Vec<Vec<usize>> = vec![Vec::new(); n];
    for i in 0..n {
        for j in i + 1..n {
            if !things[i].on_paper.overlaps(&things[j].on_paper) {
                continue;
            }
            let (a, b) = (&things[i].bounds, &things[j].bounds);
            let seen = eye.before(&things[i], &things[j]);
            let told = match (nearer(a, b), nearer(b, a)) {
                (true, false) => Some(true),
                (false, true) => Some(false),
                // Round a drum, or where each is nearer along one axis.
                _ => seen,
            };
            let of = if seen.is_some() { &mut hides } else { &mut before };
            match told {
                Some(true) => of[i].push(j),
                Some(false) => of[j].push(i),
                None => {}
            }
        }
    }
    let middle = |b: &Box3| b.x + b.y + b.z + (b.w + b.d + b.h) / 2.0;
    let mut left: Vec<usize> = (0..n).collect();
    left.sort_by(|i, j| {
        middle(&things[*i].bounds).total_cmp(&middle(&things[*j].bounds)).then(i.cmp(j))
    });
    let mut done = vec![false; n];
    let mut order = Vec::with_capacity(n);
    while !left.is_empty() {
        let ready = |of: &[Vec<usize>], i: usize| of[i].iter().all(|j| done[*j]);
        // Among those that wait for nothing the farthest; in a ring, simply the farthest.
        let next = left
            .iter()
            .position(|i| ready(&hides, *i) && ready(&before, *i))
            .or_else(|| left.iter().position(|i| ready(&hides, *i)))
            .unwrap_or(0);
        let i = left.remove(next);
        done[i] = true;
        order.push(i);
    }
    order
}

#[cfg(test)]
mod tests {
    use super::*;

    const EYE: Eye = Eye { scale: 10.0, at: P2::new(0.0, 0.0), from_left: false };

    fn thing(bounds: Box3) -> Thing {
        let eye = EYE;
        let on_paper = super::bounds(&eye, &bounds);
        Thing { bounds, round: false, items: Vec::new(), on_paper, kept_clear: Vec::new() }
    }

    /// ISO 5456-3: the three axes meet at 120° and unit lengths along them are equal on paper.
    #[test]
    fn axes_are_equal_and_120_degrees_apart() {
        let eye = Eye { scale: 1.0, ..EYE };
        let axes = [P3::new(1.0, 0.0, 0.0), P3::new(0.0, 1.0, 0.0), P3::new(0.0, 0.0, 1.0)]
            .map(|p| eye.point(p));
        for (i, a) in axes.iter().enumerate() {
            let b = axes[(i + 1) % 3];
            assert!((a.x * a.x + a.y * a.y - 1.0).abs() < 1e-12);
            assert!((a.x * b.x + a.y * b.y + 0.5).abs() < 1e-12);
        }
    }

    #[test]
    fn the_nearer_is_painted_last() {
        let far = Box3 { x: 0.0, y: 0.0, z: 0.0, w: 100.0, d: 100.0, h: 2000.0 };
        let near = Box3 { x: 100.0, y: 150.0, z: 0.0, w: 50.0, d: 50.0, h: 50.0 };
        assert_eq!(front_last(&EYE, &[thing(near), thing(far)]), [1, 0]);
        assert_eq!(front_last(&EYE, &[thing(far), thing(near)]), [0, 1]);
    }

    /// A pipe in pieces that passes round the front of a drum is painted after it, however far it
    /// runs on behind; one behind it before.
    #[test]
    fn a_pipe_along_the_front_of_a_drum_is_painted_last() {
        let tank = Box3 { x: 600.0, y: 60.0, z: 0.0, w: 600.0, d: 600.0, h: 1800.0 };
        // Before its face, behind it, and in the corners of its box, where no drum is.
        let (all, corners): (&[usize], &[usize]) = (&[0, 3, 5, 7, 9, 11], &[4, 5, 10, 11]);
        for (y, before, which) in
            [(690.0, true, all), (630.0, true, corners), (70.0, false, corners), (20.0, false, all)]
        {
            let piece = |i: i32| Box3 {
                x: 100.0 + 100.0 * f64::from(i),
                y,
                z: 250.0,
                w: 100.0,
                d: 22.0,
                h: 22.0,
            };
            let mut things: Vec<Thing> = (0..12).map(|i| thing(piece(i))).collect();
            things.push(Thing { round: true, ..thing(tank) });
            let order = front_last(&EYE, &things);
            let at = |n: usize| order.iter().position(|i| *i == n).expect("each is painted");
            let met: Vec<usize> = which
                .iter()
                .copied()
                .filter(|i| EYE.before(&things[*i], &things[12]).is_some())
                .collect();
            assert!(!met.is_empty());
            assert!(met.iter().all(|i| (at(*i) > at(12)) == before), "{met:?} at {y}");
        }
    }

    /// A pipe before the face of a drum is painted after it though the drum is told to wait, in a
    /// ring, for what only its box on paper meets.
    #[test]
    fn a_box_on_paper_hides_nothing() {
        let drum = Box3 { x: 60.0, y: 100.0, z: 0.0, w: 610.0, d: 610.0, h: 1800.0 };
        let pipe = Box3 { x: 300.0, y: 719.0, z: 240.0, w: 120.0, d: 22.0, h: 22.0 };
        let pipe = Box3 { x: 20.0, w: 400.0, ..pipe };
        // Left of the drum, which no sight line of it meets, and over the pipe.
        let aside = Box3 { x: 0.0, y: 600.0, z: 300.0, w: 50.0, d: 160.0, h: 900.0 };
        let things = [Thing { round: true, ..thing(drum) }, thing(pipe), thing(aside)];
        assert_eq!(EYE.before(&things[1], &things[0]), Some(true));
        assert_eq!(EYE.before(&things[2], &things[0]), None);
        let order = front_last(&EYE, &things);
        let at = |n: usize| order.iter().position(|i| *i == n).expect("each is painted");
        assert!(at(1) > at(0));
    }

    /// From the left the far things are the same, and left and right on paper are as they stand.
    #[test]
    fn from_the_left_nothing_is_turned_round() {
        let eye = Eye { from_left: true, ..EYE };
        let w = 1000.0;
        let image = |x: f64, y: f64| eye.point(P3::new(w - x, y, 0.0));
        assert!(image(900.0, 300.0).x > image(100.0, 300.0).x);
        assert!(image(500.0, 600.0).y > image(500.0, 100.0).y, "towards the door is lower");
        assert!(image(100.0, 300.0).y > image(900.0, 300.0).y, "the left is nearer");
        let face = block_face(&eye, &Box3 { w: 200.0, d: 50.0, h: 300.0, ..Box3::default() });
        let near = eye.point(P3::new(200.0, 50.0, 300.0));
        assert!((face.x - near.x).abs() < 1e-9, "the face towards the door lies at the right");
    }

    /// A drum does not reach into the corners of its box.
    #[test]
    fn the_eye_looks_past_a_drum() {
        let eye = Eye { at: P2::new(100.0, 100.0), ..EYE };
        let bounds = Box3 { x: 0.0, y: 0.0, z: 0.0, w: 500.0, d: 500.0, h: 1000.0 };
        let (square, drum) = (thing(bounds), Thing { round: true, ..thing(bounds) });
        let corner = eye.point(P3::new(490.0, 5.0, 500.0));
        assert!(eye.sees(corner, &square) && !eye.sees(corner, &drum));
        let middle = eye.point(P3::new(250.0, 250.0, 500.0));
        assert!(eye.sees(middle, &drum));
        for (p, _) in drum_edges(&eye, &bounds) {
            let inwards = P2::new(p.x + (middle.x - p.x) * 0.02, p.y + (middle.y - p.y) * 0.02);
            assert!(eye.sees(inwards, &drum), "{p:?}");
        }
    }
}
