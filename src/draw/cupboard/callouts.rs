//! Labels of a scaled view. In: what wants a label, and what is in the way. Out: each label beside
//! its thing where there is room, otherwise in a column beside the view with a leader to it.
//! None is dropped.

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
}

struct Candidate {
    at: P2,
    anchor: Anchor,
    upwards: bool,
}

impl Callouts {
    /// Places all labels. `view` is the room's outline; `column` the left edge of the column and
    /// the span it may use. Returns the items.
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
        let mut taken: Vec<Rect> = Vec::new();
        let mut items = Vec::new();
        let mut outside: Vec<Request> = Vec::new();
        for request in std::mem::take(&mut self.requests) {
            match self.beside(&request, view, &taken) {
                Some(words) => {
                    taken.push(words.on_paper());
                    items.push(labelled(words, &request.of));
                }
                None => outside.push(request),
            }
        }
        items.extend(in_column(outside, view, column));
        items
    }

    fn beside(&self, request: &Request, view: Rect, taken: &[Rect]) -> Option<Words> {
        let words = |c: &Candidate| {
            let mut w = Words::new(c.at, request.text.clone(), HEIGHT).anchor(c.anchor);
            w.upwards = c.upwards;
            w
        };
        if let Some(inside) = request.inside {
            let middle = P2::new(inside.centre().x, inside.centre().y + HEIGHT / 2.0);
            let w = words(&Candidate { at: middle, anchor: Anchor::Middle, upwards: false });
            let b = w.on_paper().grown(CLEAR);
            let within = b.x >= inside.x
                && b.right() <= inside.right()
                && b.y >= inside.y
                && b.bottom() <= inside.bottom();
            let own = |o: &&Rect| **o != inside;
            if within
                && !self.obstacles.iter().filter(own).any(|o| o.overlaps(&b) && !covers(o, &inside))
                && !taken.iter().any(|t| t.overlaps(&b))
            {
                return Some(w);
            }
        }
        candidates(request).iter().map(words).find(|w| {
            let b = w.on_paper().grown(CLEAR);
            b.x > view.x
                && b.right() < view.right()
                && b.y > view.y
                && b.bottom() < view.bottom()
                && !self.obstacles.iter().any(|o| o.overlaps(&b))
                && !taken.iter().any(|t| t.overlaps(&b))
        })
    }
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

/// The rest in columns to the right, in the order of their heights, with leaders.
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
    for chunk in requests.chunks(rows) {
        let wanted: Vec<f64> = chunk.iter().map(|r| r.anchor.y).collect();
        let places = within(spread(&wanted, ROW), column);
        for (request, y) in chunk.iter().zip(places) {
            let elbow = P2::new(view.right() + 3.0, y);
            let end = P2::new(x - 0.8, y);
            let stroke = Stroke::solid(width::THIN, Ink::BLACK);
            let leader = Shape::line(&[request.anchor, elbow, end], stroke);
            items.push(leader.mark(Mark::Of(request.of.clone())).into());
            let dot = Shape::circle(request.anchor, 0.5, None, Some(Ink::BLACK));
            items.push(dot.mark(Mark::Of(request.of.clone())).into());
            let words = Words::new(P2::new(x, y + HEIGHT / 2.0), request.text.clone(), HEIGHT);
            items.push(labelled(words, &request.of));
        }
        let widest =
            chunk.iter().map(|r| text_width(&r.text, HEIGHT, Weight::Regular)).fold(0.0, f64::max);
        x += widest + FAN;
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
