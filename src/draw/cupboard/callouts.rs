//! Labels of a scaled view. In: what wants a label, and what is in the way. Out: each label beside
//! its thing where there is room, otherwise in a column beside the view with a leader to it.
//! None is dropped.

use std::sync::LazyLock;

use super::columns::{Column, in_columns};
use crate::draw::scene::{Anchor, Ink, Item, Mark, Shape, Stroke, Words};
use crate::draw::style::{FACE, letters, width};
use crate::lettering::{Weight, width as text_width};
use crate::model::{P2, Rect};

pub(super) const HEIGHT: f64 = letters::LABEL;
/// Rows of a column.
pub(super) const ROW: f64 = HEIGHT * 1.7;
/// White kept round a label.
const CLEAR: f64 = 0.7;
/// What a pipe or a body under a leader weighs, and a label away in a column, in mm of leader.
const CROSSED: f64 = 5.0;
const AWAY: f64 = 12.0;

/// Something that wants a label.
#[derive(Clone, Debug)]
pub struct Request {
    /// Tag or pipe id.
    pub of: String,
    pub text: String,
    /// The point the label speaks of.
    pub anchor: P2,
    /// Other points it may speak of as well, the better first.
    pub also: Vec<P2>,
    /// Its own outline: the label may stand inside it if it fits.
    pub inside: Option<Rect>,
    /// Half the thickness of the thing at the anchor: the label stands beyond it.
    pub half: f64,
    /// True: the thing runs up the sheet here, so a label may read upwards beside it.
    pub upright: bool,
    /// How far the label may slide along the thing, either way.
    pub reach: f64,
}

impl Request {
    /// The request at each of its points.
    pub(super) fn everywhere(&self) -> impl Iterator<Item = Request> + '_ {
        let also = self.also.iter().map(|p| Request { anchor: *p, ..self.clone() });
        std::iter::once(self.clone()).chain(also)
    }
}

/// True where labels of other things find room on a body.
pub fn has_a_face(r: Rect) -> bool {
    r.w.min(r.h) >= FACE
}

/// What a body keeps labels from: all of it, or only its edge where its face is wide enough to
/// write on.
pub fn kept_clear(r: Rect) -> Vec<Rect> {
    if !has_a_face(r) {
        return vec![r];
    }
    const EDGE: f64 = 0.8;
    let (w, h) = (r.w + 2.0 * EDGE, r.h + 2.0 * EDGE);
    let upright = |x: f64| Rect::new(x - EDGE, r.y - EDGE, 2.0 * EDGE, h);
    let level = |y: f64| Rect::new(r.x - EDGE, y - EDGE, w, 2.0 * EDGE);
    vec![upright(r.x), upright(r.right()), level(r.y), level(r.bottom())]
}

/// Collects requests and obstacles of one view.
#[derive(Default)]
pub struct Callouts {
    pub requests: Vec<Request>,
    pub obstacles: Vec<Rect>,
    /// Links that run aslant.
    pub lines: Vec<(P2, P2)>,
}

struct Candidate {
    at: P2,
    anchor: Anchor,
    upwards: bool,
}

/// What has been put down so far; lines aslant count as leaders.
struct Placed {
    labels: Vec<Rect>,
    leaders: Vec<(P2, P2)>,
}

/// A label with a leader.
struct Led {
    request: Request,
    words: Words,
    end: P2,
    /// Length of the leader and what it runs across, mm.
    cost: f64,
}

impl Placed {
    fn free(&self, b: &Rect) -> bool {
        !self.labels.iter().any(|t| t.overlaps(b))
            && !self.leaders.iter().any(|(p, q)| passes(*p, *q, b))
    }
}

impl Callouts {
    /// Places all labels. `view` is where they may stand; the columns take those that find no room.
    pub fn place(mut self, view: Rect, columns: &[Column]) -> Vec<Item> {
        // Fixed order: what has a body of its own first, then from the top, from the left.
        self.requests.sort_by(|a, b| {
            b.inside
                .is_some()
                .cmp(&a.inside.is_some())
                .then(a.anchor.y.total_cmp(&b.anchor.y))
                .then(a.anchor.x.total_cmp(&b.anchor.x))
                .then(a.of.cmp(&b.of))
        });
        let mut placed = Placed { labels: Vec::new(), leaders: std::mem::take(&mut self.lines) };
        let mut items = Vec::new();
        let mut later: Vec<Request> = Vec::new();
        for request in std::mem::take(&mut self.requests) {
            let beside = request.everywhere().find_map(|r| self.beside(&r, view, &placed));
            match beside {
                Some(words) => {
                    placed.labels.push(words.on_paper());
                    items.push(labelled(words, &request.of));
                }
                None => later.push(request),
            }
        }
        let mut outside: Vec<Request> = Vec::new();
        for request in later {
            let column = self.to_a_column(&request, view, columns, &placed);
            let nearest = request
                .everywhere()
                .filter_map(|r| self.nearby(r, view, &placed))
                .min_by(|a, b| a.cost.total_cmp(&b.cost));
            match nearest {
                Some(Led { request, words, end, cost }) if cost <= column.1 => {
                    placed.labels.push(words.on_paper());
                    placed.leaders.push((request.anchor, end));
                    items.extend(leader(&request, &[request.anchor, end]));
                    items.push(labelled(words, &request.of));
                }
                _ => outside.push(Request { anchor: column.0, ..request }),
            }
        }
        items.extend(in_columns(outside, view, columns));
        items
    }

    /// How many things a leader runs across, its own not counted.
    fn crossed(&self, anchor: P2, end: P2) -> usize {
        let foreign = |o: &&Rect| !o.overlaps(&Rect::new(anchor.x, anchor.y, 0.0, 0.0).grown(0.1));
        self.obstacles.iter().filter(foreign).filter(|o| passes(anchor, end, o)).count()
    }

    /// A little farther off, with a short leader that crosses no label and few pipes.
    fn nearby(&self, request: Request, view: Rect, placed: &Placed) -> Option<Led> {
        let w = text_width(&request.text, HEIGHT, Weight::Regular);
        let anchor = request.anchor;
        let mut best: Option<(Words, P2, f64)> = None;
        for (dx, dy) in nearest_first() {
            let enough = best.as_ref().map_or(f64::MAX, |b| b.2);
            if dx.abs().max(dy.abs()) - w / 2.0 - CLEAR > enough {
                continue;
            }
            let at = P2::new(anchor.x + dx - w / 2.0, anchor.y + dy + HEIGHT / 2.0);
            let words = Words::new(at, request.text.clone(), HEIGHT);
            let b = words.on_paper().grown(CLEAR);
            let within = b.x > view.x
                && b.right() < view.right()
                && b.y > view.y
                && b.bottom() < view.bottom();
            if !within || !placed.free(&b) || self.obstacles.iter().any(|o| o.overlaps(&b)) {
                continue;
            }
            let end = P2::new(anchor.x.clamp(b.x, b.right()), anchor.y.clamp(b.y, b.bottom()));
            let crosses = placed.labels.iter().any(|l| passes(anchor, end, l))
                || placed.leaders.iter().any(|(p, q)| meet(anchor, end, *p, *q));
            let length = (anchor.x - end.x).abs() + (anchor.y - end.y).abs();
            let cost = length + CROSSED * self.crossed(anchor, end) as f64;
            if !crosses && cost < enough {
                best = Some((words, end, cost));
            }
        }
        best.map(|(words, end, cost)| Led { request, words, end, cost })
    }

    /// From which of its points a thing's leader reaches its column best, and at what cost.
    fn to_a_column(
        &self,
        request: &Request,
        view: Rect,
        columns: &[Column],
        placed: &Placed,
    ) -> (P2, f64) {
        let cost = |p: P2| {
            let left = columns.iter().all(|c| c.at_left)
                || columns.iter().any(|c| c.at_left) && p.x < view.centre().x;
            let end = P2::new(if left { view.x } else { view.right() }, p.y);
            let labels = placed.labels.iter().filter(|l| passes(p, end, l)).count();
            let leaders = placed.leaders.iter().filter(|(a, b)| meet(p, end, *a, *b)).count();
            let spoilt = 3 * (labels + leaders) + self.crossed(p, end);
            (end.x - p.x).abs() + AWAY + CROSSED * spoilt as f64
        };
        request
            .everywhere()
            .map(|r| (r.anchor, cost(r.anchor)))
            .min_by(|a, b| a.1.total_cmp(&b.1))
            .unwrap_or((request.anchor, AWAY))
    }

    fn beside(&self, request: &Request, view: Rect, placed: &Placed) -> Option<Words> {
        let words = |c: &Candidate| {
            let mut w = Words::new(c.at, request.text.clone(), HEIGHT).anchor(c.anchor);
            w.upwards = c.upwards;
            w
        };
        if let Some(inside) = request.inside {
            let own = |o: &&Rect| **o != inside;
            let on_face = on_the_face(inside).map(|middle| {
                let at = P2::new(middle.x, middle.y + HEIGHT / 2.0);
                words(&Candidate { at, anchor: Anchor::Middle, upwards: false })
            });
            let free = on_face.into_iter().find(|w| {
                let b = w.on_paper().grown(CLEAR);
                let hit = |o: &Rect| o.overlaps(&b) && !covers(o, &inside);
                covers(&inside, &b)
                    && !self.obstacles.iter().filter(own).any(hit)
                    && placed.free(&b)
            });
            if free.is_some() {
                return free;
            }
        }
        candidates(request).iter().map(words).find(|w| {
            let b = w.on_paper().grown(CLEAR);
            covers(&view, &b) && !self.obstacles.iter().any(|o| o.overlaps(&b)) && placed.free(&b)
        })
    }
}

/// Places for a body's own tag: its middle, and on a wide face places above and below it.
fn on_the_face(r: Rect) -> impl Iterator<Item = P2> {
    let c = r.centre();
    let wide = has_a_face(r);
    let steps = if wide { (r.h / 2.0 / ROW) as i32 } else { 0 };
    let across = if wide { [0.0, -0.25, 0.25] } else { [0.0; 3] };
    (0..=steps)
        .flat_map(|i| [-i, i])
        .flat_map(move |i| across.map(|a| P2::new(c.x + a * r.w, c.y + f64::from(i) * ROW)))
}

/// Offsets on a grid round a point, the nearest first; a label is wide, so up and down first.
fn nearest_first() -> &'static [(f64, f64)] {
    static OFFSETS: LazyLock<Vec<(f64, f64)>> = LazyLock::new(|| {
        const REACH: i32 = 24;
        let mut all: Vec<(i32, i32)> =
            (-REACH..=REACH).flat_map(|i| (-REACH..=REACH).map(move |j| (i, j))).collect();
        all.sort_by_key(|(i, j)| (i * i + 2 * j * j, *j, *i));
        all.into_iter().map(|(i, j)| (f64::from(i) * 2.0, f64::from(j) * 1.5)).collect()
    });
    &OFFSETS
}

/// True where the segment enters the box.
fn passes(p: P2, q: P2, b: &Rect) -> bool {
    // Liang and Barsky: clip the segment against the four edges.
    let (dx, dy) = (q.x - p.x, q.y - p.y);
    let (mut from, mut to) = (0.0_f64, 1.0_f64);
    for (d, near, far) in [(dx, b.x - p.x, b.right() - p.x), (dy, b.y - p.y, b.bottom() - p.y)] {
        if d.abs() < 1e-12 {
            if near > 0.0 || far < 0.0 {
                return false;
            }
            continue;
        }
        let (a, c) = (near / d, far / d);
        from = from.max(a.min(c));
        to = to.min(a.max(c));
    }
    from < to
}

/// True where two segments cross.
pub(super) fn meet(a: P2, b: P2, c: P2, d: P2) -> bool {
    let turn = |p: P2, q: P2, r: P2| (q.x - p.x) * (r.y - p.y) - (q.y - p.y) * (r.x - p.x);
    turn(a, b, c) * turn(a, b, d) < 0.0 && turn(c, d, a) * turn(c, d, b) < 0.0
}

/// The leader's line and its dot.
pub(super) fn leader(request: &Request, points: &[P2]) -> [Item; 2] {
    let of = || Mark::Of(request.of.clone());
    let line = Shape::line(points, Stroke::solid(width::THIN, Ink::BLACK)).mark(of());
    let dot = Shape::circle(request.anchor, 0.5, None, Some(Ink::BLACK)).mark(of());
    [line.into(), dot.into()]
}

/// True where the box lies wholly on the other: the label of a small part on a big one's face.
fn covers(outer: &Rect, inner: &Rect) -> bool {
    outer.x <= inner.x
        && outer.right() >= inner.right()
        && outer.y <= inner.y
        && outer.bottom() >= inner.bottom()
}

fn candidates(r: &Request) -> Vec<Candidate> {
    let off = r.half + 1.2;
    let (x, y) = (r.anchor.x, r.anchor.y);
    let c = |x, y, anchor, upwards| Candidate { at: P2::new(x, y), anchor, upwards };
    let mut all = Vec::new();
    const SLIDES: [f64; 7] = [0.0, 4.0, -4.0, 8.0, -8.0, 14.0, -14.0];
    for slide in SLIDES.into_iter().filter(|s| s.abs() <= r.reach) {
        if r.upright {
            all.push(c(x + off, y + HEIGHT / 2.0 + slide, Anchor::Start, false));
            all.push(c(x - off, y + HEIGHT / 2.0 + slide, Anchor::End, false));
            all.push(c(x + off + HEIGHT, y + slide, Anchor::Middle, true));
            all.push(c(x - off, y + slide, Anchor::Middle, true));
        } else {
            all.push(c(x + slide, y - off, Anchor::Middle, false));
            all.push(c(x + slide, y + off + HEIGHT, Anchor::Middle, false));
        }
    }
    if r.inside.is_some() {
        all.push(c(x + off, y + HEIGHT / 2.0, Anchor::Start, false));
        all.push(c(x - off, y + HEIGHT / 2.0, Anchor::End, false));
    }
    all
}

pub(super) fn labelled(mut words: Words, of: &str) -> Item {
    words.mark = Mark::Label { of: of.to_owned(), on_paper: words.on_paper() };
    words.halo = true;
    words.into()
}
