//! What of a sheet is white. In: its marks. Out: a raster that tells of any rectangle whether
//! something is drawn in it, and of a line how much it would lie on.

use crate::draw::scene::{Item, Mark, Paper, Seg, Shape};
use crate::draw::style::FACE;
use crate::model::{P2, Rect};

/// Side of a cell of the raster, mm.
const CELL: f64 = 0.5;

pub struct White {
    w: usize,
    h: usize,
    /// Cells with ink above and left of each corner.
    sums: Vec<u32>,
}

impl White {
    /// `kept`: rectangles that are to be taken for drawn on.
    pub fn of(paper: Paper, items: &[Item], kept: &[Rect]) -> White {
        let (w, h) = ((paper.w / CELL).ceil() as usize, (paper.h / CELL).ceil() as usize);
        let mut white = White { w, h, sums: Vec::new() };
        let mut cells = vec![false; w * h];
        white.draw(items, &mut cells);
        for r in kept {
            white.fill(&mut cells, r);
        }
        white.sums = vec![0; (w + 1) * (h + 1)];
        for y in 0..h {
            let mut row = 0;
            for x in 0..w {
                row += u32::from(cells[y * w + x]);
                let above = white.sums[y * (w + 1) + x + 1];
                white.sums[(y + 1) * (w + 1) + x + 1] = above + row;
            }
        }
        white
    }

    /// True where nothing is drawn in it.
    pub fn is_free(&self, r: &Rect) -> bool {
        let Some([x0, y0, x1, y1]) = self.cells(r) else { return false };
        let at = |x: usize, y: usize| self.sums[y * (self.w + 1) + x];
        at(x1, y1) + at(x0, y0) == at(x0, y1) + at(x1, y0)
    }

    /// How often a line comes upon something drawn, and over what length it lies on it, mm.
    pub fn under(&self, from: P2, to: P2) -> (usize, f64) {
        let far = libm::hypot(to.x - from.x, to.y - from.y);
        let steps = (far / CELL).ceil().max(1.0) as usize;
        let (mut times, mut inked, mut before) = (0, 0, false);
        for i in 0..=steps {
            let t = i as f64 / steps as f64;
            let p = Rect::new(from.x + (to.x - from.x) * t, from.y + (to.y - from.y) * t, 0.0, 0.0);
            let on = !self.is_free(&p);
            times += usize::from(on && !before);
            inked += usize::from(on);
            before = on;
        }
        (times, inked as f64 * far / (steps + 1) as f64)
    }

    /// The cells that it touches; none where it leaves the paper.
    fn cells(&self, r: &Rect) -> Option<[usize; 4]> {
        if r.x < 0.0 || r.y < 0.0 {
            return None;
        }
        let low = |v: f64| (v / CELL).floor() as usize;
        let high = |v: f64| (v / CELL).ceil() as usize;
        let [x0, y0] = [low(r.x), low(r.y)];
        let [x1, y1] = [high(r.right()).max(x0 + 1), high(r.bottom()).max(y0 + 1)];
        (x1 <= self.w && y1 <= self.h).then_some([x0, y0, x1, y1])
    }

    fn fill(&self, cells: &mut [bool], r: &Rect) {
        let inside = Rect::new(r.x.max(0.0), r.y.max(0.0), 0.0, 0.0);
        let (right, bottom) =
            (r.right().min(self.w as f64 * CELL), r.bottom().min(self.h as f64 * CELL));
        let r = Rect::new(
            inside.x,
            inside.y,
            (right - inside.x).max(0.0),
            (bottom - inside.y).max(0.0),
        );
        let Some([x0, y0, x1, y1]) = self.cells(&r) else { return };
        for y in y0..y1.min(self.h) {
            cells[y * self.w + x0.min(self.w)..y * self.w + x1.min(self.w)].fill(true);
        }
    }

    fn draw(&self, items: &[Item], cells: &mut [bool]) {
        for item in items {
            match item {
                Item::Group(g) => {
                    if let Mark::Part { on_paper, .. } = &g.mark {
                        // On the wide face of a body something may stand.
                        if on_paper.w.min(on_paper.h) < FACE {
                            self.fill(cells, on_paper);
                        }
                    }
                    self.draw(&g.items, cells);
                }
                Item::Words(w) => self.fill(cells, &w.on_paper()),
                Item::Shape(s) => self.shape(s, cells),
            }
        }
    }

    fn shape(&self, s: &Shape, cells: &mut [bool]) {
        let half = s.stroke.as_ref().map_or(0.1, |s| s.width / 2.0);
        for (a, b) in straights(&s.path) {
            let level = (a.x - b.x).abs() < 1e-6 || (a.y - b.y).abs() < 1e-6;
            let pieces = if level {
                1
            } else {
                ((a.x - b.x).abs().max((a.y - b.y).abs()) / CELL).ceil().max(1.0) as usize
            };
            let at = |i: usize| {
                let t = i as f64 / pieces as f64;
                P2::new(a.x + (b.x - a.x) * t, a.y + (b.y - a.y) * t)
            };
            for i in 0..pieces {
                self.fill(cells, &Rect::between(at(i), at(i + 1)).grown(half));
            }
        }
    }
}

/// A path as straight pieces; what is curved is followed.
pub fn straights(path: &[Seg]) -> Vec<(P2, P2)> {
    let mut out = Vec::new();
    let (mut at, mut start) = (P2::default(), P2::default());
    for seg in path {
        match *seg {
            Seg::Move(p) => (at, start) = (p, p),
            Seg::Line(p) => {
                out.push((at, p));
                at = p;
            }
            Seg::Cubic(a, b, p) => {
                out.extend(cubic([at, a, b, p]));
                at = p;
            }
            Seg::Arc { radius, large, clockwise, to } => {
                out.extend(arc(at, to, radius, large, clockwise));
                at = to;
            }
            Seg::Close => {
                out.push((at, start));
                at = start;
            }
        }
    }
    out
}

/// In so many pieces what is curved is followed.
const PIECES: usize = 24;

/// The curve itself, by Bernstein's form: its handles lie well beside it.
fn cubic(p: [P2; 4]) -> Vec<(P2, P2)> {
    let at = |i: usize| {
        let t = i as f64 / PIECES as f64;
        let s = 1.0 - t;
        let [a, b, c, d] = [s * s * s, 3.0 * s * s * t, 3.0 * s * t * t, t * t * t];
        P2::new(
            a * p[0].x + b * p[1].x + c * p[2].x + d * p[3].x,
            a * p[0].y + b * p[1].y + c * p[2].y + d * p[3].y,
        )
    };
    (0..PIECES).map(|i| (at(i), at(i + 1))).collect()
}

fn arc(from: P2, to: P2, radius: f64, large: bool, clockwise: bool) -> Vec<(P2, P2)> {
    let (dx, dy) = ((from.x - to.x) / 2.0, (from.y - to.y) / 2.0);
    let half = dx * dx + dy * dy;
    if half < 1e-12 {
        return Vec::new();
    }
    let off = ((radius * radius - half).max(0.0) / half).sqrt();
    let off = if large == clockwise { -off } else { off };
    let centre =
        P2::new(f64::midpoint(from.x, to.x) + off * dy, f64::midpoint(from.y, to.y) - off * dx);
    let angle = |p: P2| libm::atan2(p.y - centre.y, p.x - centre.x);
    let (a, mut b) = (angle(from), angle(to));
    let round = std::f64::consts::TAU;
    if clockwise && b < a {
        b += round;
    } else if !clockwise && b > a {
        b -= round;
    }
    let radius = radius.max(half.sqrt());
    let at = |i: usize| {
        let t = a + (b - a) * i as f64 / PIECES as f64;
        P2::new(centre.x + radius * libm::cos(t), centre.y + radius * libm::sin(t))
    };
    (0..PIECES).map(|i| (at(i), at(i + 1))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draw::scene::{Ink, Stroke};

    fn pen() -> Option<Stroke> {
        Some(Stroke::solid(0.35, Ink::BLACK))
    }

    /// A circle of 10 mm about (50, 50): its rim is drawn on, its middle and what lies 2 mm outside
    /// are white.
    #[test]
    fn a_ring_is_white_within() {
        let ring = Shape::circle(P2::new(50.0, 50.0), 10.0, pen(), None);
        let white = White::of(Paper::A4_PORTRAIT, &[ring.into()], &[]);
        let at = |x: f64, y: f64| white.is_free(&Rect::new(x, y, 1.0, 1.0));
        for (x, y) in [(59.5, 49.5), (39.5, 49.5), (49.5, 39.5), (49.5, 59.5), (56.6, 56.6)] {
            assert!(!at(x, y), "{x} {y}");
        }
        assert!(at(49.5, 49.5) && at(62.0, 50.0) && at(58.5, 58.5));
        assert!(!white.is_free(&Rect::new(205.0, 10.0, 10.0, 3.0)), "off the paper");
        let across = white.under(P2::new(30.0, 50.0), P2::new(70.0, 50.0));
        assert!(across.0 == 2 && across.1 < 4.0, "the rim twice: {across:?}");
    }

    /// A dome from (20, 60) to (80, 60) with handles at 20: it peaks three quarters of the way to
    /// them, at 30.
    #[test]
    fn a_dome_lies_where_it_is_drawn() {
        let p = P2::new;
        let path =
            vec![Seg::Move(p(20.0, 60.0)), Seg::Cubic(p(20.0, 20.0), p(80.0, 20.0), p(80.0, 60.0))];
        let dome = Shape { path, stroke: pen(), ..Shape::default() };
        let white = White::of(Paper::A4_PORTRAIT, &[dome.into()], &[]);
        assert!(!white.is_free(&Rect::new(49.5, 29.5, 1.0, 1.0)));
        assert!(white.is_free(&Rect::new(49.5, 19.0, 1.0, 8.0)));
    }
}
