//! What of a sheet is white. In: its marks. Out: a raster that tells of any rectangle whether
//! something is drawn in it, and the words, boxes and lines that a leader would cross.

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
    pub words: Vec<Rect>,
    /// Bodies and symbols, by tag.
    pub boxes: Vec<(String, Rect)>,
    pub lines: Vec<(P2, P2)>,
}

impl White {
    /// `kept`: rectangles that are to be taken for drawn on.
    pub fn of(paper: Paper, items: &[Item], scaled: bool, kept: &[Rect]) -> White {
        let (w, h) = ((paper.w / CELL).ceil() as usize, (paper.h / CELL).ceil() as usize);
        let mut white = White {
            w,
            h,
            sums: Vec::new(),
            words: Vec::new(),
            boxes: Vec::new(),
            lines: Vec::new(),
        };
        let mut cells = vec![false; w * h];
        white.draw(items, scaled, &mut cells);
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

    /// The cells that it touches; none where it leaves the paper.
    fn cells(&self, r: &Rect) -> Option<[usize; 4]> {
        if r.x < 0.0 || r.y < 0.0 {
            return None;
        }
        let low = |v: f64| (v / CELL).floor() as usize;
        let high = |v: f64| (v / CELL).ceil() as usize;
        let [x0, y0, x1, y1] = [low(r.x), low(r.y), high(r.right()), high(r.bottom())];
        (x1 <= self.w && y1 <= self.h).then_some([x0, y0, x1.max(x0 + 1), y1.max(y0 + 1)])
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

    fn draw(&mut self, items: &[Item], scaled: bool, cells: &mut [bool]) {
        for item in items {
            match item {
                Item::Group(g) => {
                    if let Mark::Part { tag, on_paper, .. } = &g.mark {
                        self.boxes.push((tag.clone(), *on_paper));
                        // On the wide face of a body something may stand.
                        if !scaled || on_paper.w.min(on_paper.h) < FACE {
                            self.fill(cells, on_paper);
                        }
                    }
                    self.draw(&g.items, scaled, cells);
                }
                Item::Words(w) => {
                    let r = w.on_paper();
                    self.words.push(r);
                    self.fill(cells, &r);
                }
                Item::Shape(s) => self.shape(s, cells),
            }
        }
    }

    fn shape(&mut self, s: &Shape, cells: &mut [bool]) {
        let half = s.stroke.as_ref().map_or(0.1, |s| s.width / 2.0);
        for (a, b) in straights(&s.path) {
            self.lines.push((a, b));
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
                self.fill(cells, &between(at(i), at(i + 1)).grown(half));
            }
        }
    }
}

/// The box between two points.
pub fn between(a: P2, b: P2) -> Rect {
    Rect::new(a.x.min(b.x), a.y.min(b.y), (a.x - b.x).abs(), (a.y - b.y).abs())
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
                out.extend([(at, a), (a, b), (b, p)]);
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

fn arc(from: P2, to: P2, radius: f64, large: bool, clockwise: bool) -> Vec<(P2, P2)> {
    const PIECES: usize = 10;
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

    /// A circle of 10 mm about (50, 50): its rim is drawn on, its middle and what lies 2 mm outside
    /// are white.
    #[test]
    fn a_ring_is_white_within() {
        let ring =
            Shape::circle(P2::new(50.0, 50.0), 10.0, Some(Stroke::solid(0.35, Ink::BLACK)), None);
        let white = White::of(Paper::A4_PORTRAIT, &[ring.into()], false, &[]);
        let at = |x: f64, y: f64| white.is_free(&Rect::new(x, y, 1.0, 1.0));
        for (x, y) in [(59.5, 49.5), (39.5, 49.5), (49.5, 39.5), (49.5, 59.5), (56.6, 56.6)] {
            assert!(!at(x, y), "{x} {y}");
        }
        assert!(at(49.5, 49.5) && at(62.0, 50.0) && at(58.5, 58.5));
        assert!(!white.is_free(&Rect::new(205.0, 10.0, 10.0, 3.0)), "off the paper");
    }
}
