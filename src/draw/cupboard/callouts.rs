//! Labels of a scaled view. In: what wants a label, and what is in the way. Out: each label beside
//! its thing where there is room, otherwise in a column beside the view with a leader to it.
//! None is dropped.

use std::sync::LazyLock;

use super::dimension::spread;
use crate::draw::scene::{Anchor, Ink, Item, Mark, Shape, Stroke, Words};
use crate::draw::style::{letters, width};
use crate::lettering::{Weight, width as text_width};
use crate::model::{P2, Rect};

const HEIGHT: f64 = letters::LABEL;
/// Rows of a column.
const ROW: f64 = HEIGHT * 1.7;
/// White kept round a label.
const CLEAR: f64 = 0.7;
/// From the view to the column's text: room for the leaders to fan out.
const FAN: f64 = 12.0;

/// Something that wants a label.
#[derive(Clone, Debug)]
pub struct Request {
    /// Tag or pipe id.
    pub of: String,
    pub text: String,
    /// The point the label speaks of.
    pub anchor: P2,
    /// Its own outline: the label may stand inside it if it fits.
    pub inside: Option<Rect>,
    /// Half the thickness of the thing at the anchor: the label stands beyond it.
    pub half: f64,
    /// True: the thing runs up the sheet here, so a label may read upwards beside it.
    pub upright: bool,
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

impl Placed {
    fn free(&self, b: &Rect) -> bool {
        !self.labels.iter().any(|t| t.overlaps(b))
            && !self.leaders.iter().any(|(p, q)| passes(*p, *q, b))
    }
}

impl Callouts {
    /// Places all labels. `view` is where they may stand; `column` takes those that find no room.
    pub fn place(mut self, view: Rect, column: Rect) -> Vec<Item> {
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
            match self.beside(&request, view, &placed) {
                Some(words) => {
                    placed.labels.push(words.on_paper());
                    items.push(labelled(words, &request.of));
                }
                None => later.push(request),
            }
        }
        let mut outside: Vec<Request> = Vec::new();
        for request in later {
            match self.nearby(&request, view, &placed) {
                Some((words, end)) => {
                    placed.labels.push(words.on_paper());
                    placed.leaders.push((request.anchor, end));
                    items.extend(leader(&request, &[request.anchor, end]));
                    items.push(labelled(words, &request.of));
                }
                None => outside.push(request),
            }
        }
        items.extend(in_column(outside, view, column));
        items
    }

    /// A little farther off, with a short leader that crosses no label.
    fn nearby(&self, request: &Request, view: Rect, placed: &Placed) -> Option<(Words, P2)> {
        let w = text_width(&request.text, HEIGHT, Weight::Regular);
        nearest_first().iter().find_map(|(dx, dy)| {
            let middle = P2::new(request.anchor.x + dx, request.anchor.y + dy);
            let at = P2::new(middle.x - w / 2.0, middle.y + HEIGHT / 2.0);
            let words = Words::new(at, request.text.clone(), HEIGHT);
            let b = words.on_paper().grown(CLEAR);
            let within = b.x > view.x
                && b.right() < view.right()
                && b.y > view.y
                && b.bottom() < view.bottom();
            if !within || self.obstacles.iter().any(|o| o.overlaps(&b)) || !placed.free(&b) {
                return None;
            }
            let end = P2::new(
                request.anchor.x.clamp(b.x, b.right()),
                request.anchor.y.clamp(b.y, b.bottom()),
            );
            let crosses = placed.labels.iter().any(|l| passes(request.anchor, end, l))
                || placed.leaders.iter().any(|(p, q)| meet(request.anchor, end, *p, *q));
            (!crosses).then_some((words, end))
        })
    }

    fn beside(&self, request: &Request, view: Rect, placed: &Placed) -> Option<Words> {
        let words = |c: &Candidate| {
            let mut w = Words::new(c.at, request.text.clone(), HEIGHT).anchor(c.anchor);
            w.upwards = c.upwards;
            w
        };
        if let Some(inside) = request.inside {
            let middle = P2::new(inside.centre().x, inside.centre().y + HEIGHT / 2.0);
            let w = words(&Candidate { at: middle, anchor: Anchor::Middle, upwards: false });
            let b = w.on_paper().grown(CLEAR);
            let own = |o: &&Rect| **o != inside;
            if covers(&inside, &b)
                && !self.obstacles.iter().filter(own).any(|o| o.overlaps(&b) && !covers(o, &inside))
                && placed.free(&b)
            {
                return Some(w);
            }
        }
        candidates(request).iter().map(words).find(|w| {
            let b = w.on_paper().grown(CLEAR);
            covers(&view, &b) && !self.obstacles.iter().any(|o| o.overlaps(&b)) && placed.free(&b)
        })
    }
}

/// Offsets on a grid round a point, the nearest first; a label is wide, so up and down first.
fn nearest_first() -> &'static [(f64, f64)] {
    static OFFSETS: LazyLock<Vec<(f64, f64)>> = LazyLock::new(|| {
        const REACH: i32 = 16;
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
fn meet(a: P2, b: P2, c: P2, d: P2) -> bool {
    let turn = |p: P2, q: P2, r: P2| (q.x - p.x) * (r.y - p.y) - (q.y - p.y) * (r.x - p.x);
    turn(a, b, c) * turn(a, b, d) < 0.0 && turn(c, d, a) * turn(c, d, b) < 0.0
}

/// The leader's line and its dot.
fn leader(request: &Request, points: &[P2]) -> [Item; 2] {
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
    for slide in [0.0, 4.0, -4.0, 8.0, -8.0, 14.0, -14.0] {
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

fn labelled(mut words: Words, of: &str) -> Item {
    words.mark = Mark::Label { of: of.to_owned(), on_paper: words.on_paper() };
    words.halo = true;
    words.into()
}

/// The rest in columns to the right, in the order of their heights, with leaders. Rows of the
/// second column stand half a row lower, so that its leaders pass between the rows of the first.
fn in_column(mut requests: Vec<Request>, view: Rect, column: Rect) -> Vec<Item> {
    // Two things at one height: the one further right gets the upper row, so leaders don't cross.
    requests.sort_by(|a, b| {
        a.anchor
            .y
            .total_cmp(&b.anchor.y)
            .then(b.anchor.x.total_cmp(&a.anchor.x))
            .then(a.of.cmp(&b.of))
    });
    let mut items = Vec::new();
    let rows = ((column.h / ROW) as usize).max(1);
    let mut x = column.x + FAN;
    for (i, chunk) in requests.chunks(rows).enumerate() {
        let shift = if i % 2 == 1 { ROW / 2.0 } else { 0.0 };
        let wanted: Vec<f64> = chunk.iter().map(|r| r.anchor.y).collect();
        for (request, y) in chunk.iter().zip(within(spread(&wanted, ROW), column)) {
            let y = column.y + ((y - column.y) / ROW).round() * ROW + shift;
            let elbow = P2::new(view.right() + 3.0, y);
            let end = P2::new(x - 0.8, y);
            items.extend(leader(request, &[request.anchor, elbow, end]));
            let words = Words::new(P2::new(x, y + HEIGHT / 2.0), request.text.clone(), HEIGHT);
            items.push(labelled(words, &request.of));
        }
        let widest =
            chunk.iter().map(|r| text_width(&r.text, HEIGHT, Weight::Regular)).fold(0.0, f64::max);
        x += widest + 4.0;
    }
    items
}

/// Moves a spread column into its span without letting rows come closer.
fn within(mut places: Vec<f64>, column: Rect) -> Vec<f64> {
    let (low, high) = (column.y + ROW / 2.0, column.bottom() - ROW / 2.0);
    let n = places.len();
    for (i, p) in places.iter_mut().enumerate() {
        *p = p.max(low + i as f64 * ROW);
    }
    for (i, p) in places.iter_mut().enumerate() {
        *p = p.min(high - (n - 1 - i) as f64 * ROW);
    }
    places
}
