//! Labels of a scaled view. In: what wants a label, and what is in the way. Out: each label beside
//! its thing, or a little off with a leader, or in a margin beside the view, whichever reads best
//! for all of them together. None is dropped but what the view says elsewhere too.

use super::around::{candidates, nearest_first, on_the_face, points_somewhere};
use super::choose::{Place, choose, within};
use super::margins::{Edge, Margin, Row};
use super::misread::end_of;
use super::request::Request;
use super::taken::Taken;
use crate::draw::scene::{Anchor, Ink, Item, Mark, Shape, Stroke, Words};
use crate::draw::style::{FACE, letters, width};
use crate::lettering::{Weight, width as text_width};
use crate::model::{P2, Rect};

pub(super) const HEIGHT: f64 = letters::LABEL;
/// Rows of a margin.
pub(super) const ROW: f64 = HEIGHT * 1.7;
/// White kept round a label.
pub(super) const CLEAR: f64 = 0.7;
/// What weighs on a label, in mm of leader: a pipe or a body under its leader, a leader at all, a
/// place away in a margin and beyond other texts there, each mm by which its leader runs aslant.
const CROSSED: f64 = 5.0;
/// Each mm by which it runs along such a thing.
const ALONG: f64 = 0.5;
const LED: f64 = 6.0;
const AWAY: f64 = 8.0;
const BEYOND: f64 = 14.0;
const ASLANT: f64 = 0.3;
/// Words with a leader that run up the sheet.
const TURNED: f64 = 3.0;
/// A thin broken line under a text.
const STRUCK: f64 = 4.0;
/// A text that is longer than its margin is deep.
const OUTSIDE: f64 = 500.0;
/// What stands on a thing hidden behind its own body.
const OVER: f64 = 7.0;
/// A label beside a body that it could stand on.
const BESIDE: f64 = 6.0;
/// A label as near to another thing as to its own, for each; a text cut short.
const BY_ANOTHER: f64 = 6.0;
const SHORT: f64 = 12.0;
/// The same of a pipe, whose broken line says it too.
const BARE: f64 = 3.0;
/// The tag of a body, or what is said of a pipe that lies elsewhere, on the face of a body.
const ON_ANOTHER: f64 = 9.0;
/// To leave out what the view says elsewhere too.
const SPARED: f64 = 20.0;
/// The second best point of a thing, the third and so on; one at which another thing is as near.
const WORSE: f64 = 0.3;
const NOT_ALONE: f64 = 60.0;
/// How many places off its thing and in the margins a label may choose from.
const CHOICE: usize = 140;
/// Places near a point that are tried for a leader, and how many of them lie as they come: the rest
/// stand apart from one another, so that where many labels crowd each finds one of its own.
const NEAREST: usize = 96;
const AS_THEY_COME: usize = 20;

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

/// What is drawn of a pipe.
pub struct Drawn {
    pub of: String,
    /// Its size and service.
    pub called: String,
    pub at: Rect,
}

/// Collects requests and obstacles of one view.
#[derive(Default)]
pub struct Callouts {
    pub requests: Vec<Request>,
    pub obstacles: Vec<Rect>,
    /// Pieces of pipe as they are drawn, which are obstacles too.
    pub pipes: Vec<Drawn>,
    /// Round outlines in pieces: no label stands on them.
    pub rings: Vec<Rect>,
    /// Faces that are wide enough to write on, by what they belong to.
    pub faces: Vec<(String, Rect)>,
    /// Links that run aslant.
    pub lines: Vec<(P2, P2)>,
    /// Thin broken lines, which a label should rather not strike: a coil, an outline, a door.
    pub faint: Vec<(P2, P2)>,
}

/// The labels of a view, placed.
#[derive(Default)]
pub struct Placed {
    pub items: Vec<Item>,
    /// How far the labels stand off and what their leaders run across, in all, mm.
    pub cost: f64,
    pub count: usize,
    /// How many others each label has near its point, on average.
    pub crowd: f64,
    /// The texts in the margins, and how deep they reach into that at the left.
    pub beside: Vec<Rect>,
    pub left: f64,
    /// What had no room for its whole text.
    pub shortened: Vec<String>,
    /// What is left out.
    pub left_out: Vec<String>,
}

impl Callouts {
    /// Places all labels. `view` is where they may stand; the margins take those that find no room.
    pub fn place(mut self, view: Rect, margins: &[Margin]) -> Placed {
        // Fixed order: what has a body of its own first, then from the top, from the left.
        self.requests.sort_by(|a, b| {
            b.inside
                .is_some()
                .cmp(&a.inside.is_some())
                .then(a.anchor.y.total_cmp(&b.anchor.y))
                .then(a.anchor.x.total_cmp(&b.anchor.x))
                .then(a.of.cmp(&b.of))
        });
        let taken = Taken::new(view, &[&self.obstacles[..], &self.rings].concat());
        let long = |r: &Request| text_width(&r.text, HEIGHT, Weight::Regular);
        let deep = self.requests.iter().map(long).fold(0.0, f64::max).min(24.0);
        let all_of = |r: &Request| {
            let mut all = self.by_it(r, view, &taken);
            let mut near = self.nearby(r, &taken);
            near.sort_by(|a, b| a.cost.total_cmp(&b.cost));
            all.extend(apart(near.into_iter(), CHOICE / 2, CHOICE, |place| place.at));
            all.extend(few(self.in_margins(r, view, margins, deep)));
            for place in &mut all {
                let near = place.at.grown(0.3);
                let passes = |(p, q): &&(P2, P2)| {
                    meets(&near, &Rect::between(*p, *q)) && near.is_passed(*p, *q)
                };
                let struck = self.faint.iter().filter(passes);
                place.cost += STRUCK * struck.count() as f64;
                place.cost += self.by_a_pipe(r, place) + self.led_astray(r, place);
            }
            all
        };
        let places: Vec<Vec<Place>> = self
            .requests
            .iter()
            .map(|r| {
                let mut all = all_of(r);
                if let Some(text) = &r.short {
                    let mut more = all_of(&Request { text: text.clone(), ..r.clone() });
                    let weight = if r.is_tag { SHORT } else { BARE };
                    more.iter_mut().for_each(|place| place.cost += weight);
                    all.extend(more);
                }
                all.extend(r.spare.then(|| Place::silent(SPARED)));
                all
            })
            .collect();
        let chosen = choose(&places, &self.lines);
        let count = self.requests.len();
        let mut placed = Placed { count, crowd: self.crowd(), ..Placed::default() };
        for ((request, places), k) in self.requests.iter().zip(&places).zip(chosen) {
            let Some(place) = places.get(k) else { continue };
            placed.cost += place.cost;
            if place.silent {
                placed.left_out.push(request.of.clone());
                continue;
            }
            if place.edge.is_some() {
                placed.beside.push(place.at);
            }
            if place.edge == Some(Edge::Left) {
                placed.left = placed.left.max(view.x - place.at.x);
            }
            if request.short.as_ref() == Some(&place.words.text) {
                placed.shortened.push(request.of.clone());
            }
            if !place.leader.is_empty() {
                placed.items.extend(leader(request, &place.leader));
            }
            // A thin broken line is interrupted for the words on it.
            let room = place.at.grown(0.4);
            if self.faint.iter().any(|(p, q)| room.is_passed(*p, *q)) {
                let white = Shape::rect(room, None, Some(Ink::WHITE));
                placed.items.push(white.mark(Mark::Of(request.of.clone())).into());
            }
            placed.items.push(labelled(place.words.clone(), &request.of));
        }
        placed
    }

    fn crowd(&self) -> f64 {
        /// So near two points compete for the same white, mm.
        const NEAR: f64 = 12.0;
        let by = |a: &Request, b: &Request| {
            (a.anchor.x - b.anchor.x).abs().max((a.anchor.y - b.anchor.y).abs()) < NEAR
        };
        let all = &self.requests;
        let near = |a: &Request| all.iter().filter(|b| by(a, b)).count() - 1;
        all.iter().map(near).sum::<usize>() as f64 / all.len().max(1) as f64
    }

    /// What it costs that a leader runs across things; out of its own, only that it runs along it.
    fn crossed(&self, anchor: P2, end: P2) -> f64 {
        const OUT: f64 = 4.0;
        let start = Rect::at(anchor).grown(0.1);
        let cost = |o: &Rect| match within(anchor, end, o) {
            l if l <= 0.0 => 0.0,
            l if o.overlaps(&start) => ALONG * (l - OUT).max(0.0),
            l => CROSSED + ALONG * l,
        };
        let near = Rect::between(anchor, end);
        self.obstacles.iter().filter(|o| meets(o, &near)).map(cost).sum()
    }

    /// How many other things stand as near to a label as its own.
    fn others_by(&self, request: &Request, at: &Rect) -> usize {
        const AS_NEAR: f64 = CLEAR + 0.7;
        let near = at.grown(AS_NEAR);
        let point = Rect::at(request.anchor).grown(0.1);
        let own = request.inside.map_or(point, |b| b.grown(0.1));
        self.obstacles.iter().filter(|o| o.overlaps(&near) && !o.overlaps(&own)).count()
    }

    /// Words by a point that stand as near to another point: read as that one's.
    fn by_another(&self, request: &Request, at: &Rect) -> bool {
        /// A label of a point slides no farther along than a drill cross is wide, mm.
        const POINT: f64 = 5.0;
        let point = |r: &Request| r.inside.is_none() && r.reach < POINT;
        let off = |p: P2| {
            let (x, y) = (p.x.clamp(at.x, at.right()), p.y.clamp(at.y, at.bottom()));
            (p.x - x).abs() + (p.y - y).abs()
        };
        let own = off(request.anchor);
        let nearer = |o: &&Request| o.of != request.of && point(o) && off(o.anchor) < own + HEIGHT;
        point(request) && self.requests.iter().any(|o| nearer(&o))
    }

    /// On the thing or right beside it, without a leader.
    fn by_it(&self, request: &Request, view: Rect, taken: &Taken) -> Vec<Place> {
        let w = text_width(&request.text, HEIGHT, Weight::Regular);
        let mut all = self.on_it(request, w);
        if request.led {
            return all;
        }
        // A body big enough to be written on is better written on: beside it may be another's place.
        let face = if request.inside.is_some_and(has_a_face) { BESIDE } else { 0.0 };
        for (k, r) in request.everywhere().enumerate() {
            if k > 0 && r.inside.is_some() {
                break;
            }
            for c in candidates(&r) {
                let mut words = Words::new(c.at, r.text.clone(), HEIGHT).anchor(c.anchor);
                words.upwards = c.upwards;
                let at = words.of_width(w);
                let b = at.grown(CLEAR);
                let hidden = r.under.iter().any(|o| o.overlaps(&b));
                if hidden || !covers(&view, &b) || !taken.free(&b) || self.by_another(&r, &at) {
                    continue;
                }
                let middle = r.inside.map_or(r.anchor, |b| b.centre());
                let (dx, dy) = (at.centre().x - middle.x, at.centre().y - middle.y);
                let off = dx.abs().min(dy.abs());
                let upwards = if c.upwards { 0.5 } else { 0.0 };
                let spot = Rect::at(r.anchor);
                let face_of = |(of, face): &(String, Rect)| *of != r.of && face.overlaps(&b);
                // A pipe before or behind the body is read there; a pipe beside it is not.
                let elsewhere = |(_, face): &(String, Rect)| !covers(face, &spot);
                let is_pipe = self.pipes.iter().any(|p| p.of == r.of);
                let another = self
                    .faces
                    .iter()
                    .any(|f| face_of(f) && (r.is_tag || (is_pipe && elsewhere(f))));
                let others = BY_ANOTHER * self.others_by(&r, &at) as f64
                    + if another { ON_ANOTHER } else { 0.0 };
                let cost = 1.0 + face + 0.1 * off + upwards + others + worse(&r, k);
                all.push(Place::new(words, at, Vec::new(), cost, None).tied(middle));
            }
        }
        all
    }

    /// On the face of its own body.
    fn on_it(&self, request: &Request, w: f64) -> Vec<Place> {
        let Some(inside) = request.inside else { return Vec::new() };
        let face = request.face.unwrap_or(inside);
        let mut all = Vec::new();
        for (k, (middle, upwards)) in on_the_face(face).enumerate() {
            let at = if upwards {
                P2::new(middle.x + HEIGHT / 2.0, middle.y)
            } else {
                P2::new(middle.x, middle.y + HEIGHT / 2.0)
            };
            let mut words = Words::new(at, request.text.clone(), HEIGHT).anchor(Anchor::Middle);
            words.upwards = upwards;
            let at = words.of_width(w);
            let b = at.grown(CLEAR);
            if !covers(&face, &b) {
                continue;
            }
            let another = |o: &Rect| o.overlaps(&b);
            if self.rings.iter().chain(&request.under).any(another) {
                continue;
            }
            let hit = |o: &&Rect| **o != inside && o.overlaps(&b) && !covers(o, &inside);
            let hidden = |o: &&Rect| request.over.iter().any(|h| h == *o);
            let (under, foreign): (Vec<&Rect>, Vec<&Rect>) =
                self.obstacles.iter().filter(hit).partition(hidden);
            if !foreign.is_empty() {
                continue;
            }
            let cost = 0.05 * k as f64 + OVER * under.len() as f64;
            all.push(Place::new(words, at, Vec::new(), cost, None));
        }
        all
    }

    /// A little farther off, with a short leader.
    fn nearby(&self, request: &Request, taken: &Taken) -> Vec<Place> {
        let w = text_width(&request.text, HEIGHT, Weight::Regular);
        let mut all = Vec::new();
        // Between upright pipes there may be room only for words that run up the sheet.
        let turned = request.upright && !request.is_tag && !points_somewhere(&request.text);
        let ways: &[bool] = if turned { &[false, true] } else { &[false] };
        let tried = request.points().enumerate().flat_map(|p| ways.iter().map(move |up| (p, *up)));
        for ((k, anchor), upwards) in tried {
            let free = nearest_first().iter().filter_map(|(dx, dy)| {
                let middle = P2::new(anchor.x + dx, anchor.y + dy);
                let mut words = Words::new(middle, String::new(), HEIGHT);
                if upwards {
                    words = words.upwards();
                    words.at = P2::new(middle.x + HEIGHT / 2.0, middle.y + w / 2.0);
                } else {
                    words.at = P2::new(middle.x - w / 2.0, middle.y + HEIGHT / 2.0);
                }
                let at = words.of_width(w);
                // A text over the very point would hide what it speaks of.
                let point = Rect::at(anchor).grown(request.half.max(0.5));
                let clear = !at.grown(CLEAR).overlaps(&point);
                (clear && taken.free(&at.grown(CLEAR))).then_some((words, at))
            });
            for (mut words, at) in apart(free, AS_THEY_COME, NEAREST, |(_, at)| *at) {
                words.text.clone_from(&request.text);
                let b = at.grown(CLEAR);
                let end = end_of(anchor, &b);
                let length = (anchor.x - end.x).abs() + (anchor.y - end.y).abs();
                let crossed = self.crossed(anchor, end);
                let turned = if upwards { TURNED } else { 0.0 };
                let cost = LED + length + crossed + turned + worse(request, k);
                all.push(Place::new(words, at, vec![anchor, end], cost, None));
            }
        }
        all
    }

    /// In a margin, with a leader that runs level or aslant in the view and straight beyond it.
    fn in_margins(
        &self,
        request: &Request,
        view: Rect,
        margins: &[Margin],
        deep: f64,
    ) -> Vec<Place> {
        // The points nearest to a margin, so that few leaders are tried.
        const POINTS: usize = 4;
        let mut rows: Vec<(Edge, Row)> = Vec::new();
        let mut likely: Vec<(f64, P2, usize)> = Vec::new();
        for margin in margins {
            let mut points: Vec<(usize, P2)> = request.points().enumerate().collect();
            let out = |p: &P2| match margin.edge {
                Edge::Left => p.x,
                Edge::Right => -p.x,
                Edge::Top => p.y,
            };
            let far = |(k, p): &(usize, P2)| out(p) + worse(request, *k);
            points.sort_by(|a, b| far(a).total_cmp(&far(b)));
            points.truncate(POINTS);
            if margin.edge == Edge::Top && points_somewhere(&request.text) {
                continue;
            }
            for row in margin.rows(&request.text, view, deep, 2) {
                let out = if margin.holds(&row) { 0.0 } else { OUTSIDE };
                for (k, from) in &points {
                    let to = row.elbow;
                    let length = (from.x - to.x).abs() + (from.y - to.y).abs();
                    let cost = out
                        + AWAY
                        + length
                        + BEYOND * row.rank as f64
                        + ASLANT * margin.off(*from, &row)
                        + worse(request, *k);
                    likely.push((cost, *from, rows.len()));
                }
                rows.push((margin.edge, row));
            }
        }
        // Only for the likely ones is it counted what they cross.
        likely.sort_by(|a, b| a.0.total_cmp(&b.0));
        likely.truncate(4 * CHOICE);
        let place = |(cost, from, n): (f64, P2, usize)| {
            let (edge, row) = &rows[n];
            let leader = vec![from, row.elbow, row.end];
            Place::new(row.words.clone(), row.at, leader, cost, Some(*edge))
        };
        let mut all: Vec<Place> = likely.into_iter().map(place).collect();
        for place in &mut all {
            place.cost += self.crossed(place.leader[0], place.leader[1]);
        }
        all
    }
}

/// What it costs that a label speaks of the point of that number.
fn worse(request: &Request, k: usize) -> f64 {
    WORSE * k as f64 + if k < request.clear { 0.0 } else { NOT_ALONE }
}

/// False where boxes lie apart: cheaper than to clip a line.
fn meets(a: &Rect, b: &Rect) -> bool {
    a.x <= b.right() && b.x <= a.right() && a.y <= b.bottom() && b.y <= a.bottom()
}

/// The first `some` of what comes, then those whose boxes hardly lie on one another, `most` in all.
fn apart<T>(
    all: impl Iterator<Item = T>,
    some: usize,
    most: usize,
    box_of: impl Fn(&T) -> Rect,
) -> Vec<T> {
    let mut boxes: Vec<Rect> = Vec::new();
    let core = |r: Rect| r.grown(-0.15 * r.w.min(r.h));
    let new = |item: &T| {
        let own = core(box_of(item));
        let free = boxes.len() < some || !boxes.iter().any(|b| b.overlaps(&own));
        if free {
            boxes.push(own);
        }
        free
    };
    all.filter(new).take(most).collect()
}

/// The cheapest.
fn few(mut places: Vec<Place>) -> Vec<Place> {
    places.sort_by(|a, b| a.cost.total_cmp(&b.cost));
    places.truncate(CHOICE);
    places
}

/// The leader's line and its dot.
fn leader(request: &Request, points: &[P2]) -> [Item; 2] {
    let of = || Mark::Of(request.of.clone());
    let line = Shape::line(points, Stroke::solid(width::THIN, Ink::BLACK)).mark(of());
    // The leader may start at another point of the thing than the first.
    let dot = Shape::circle(points[0], 0.5, None, Some(Ink::BLACK)).mark(of());
    [line.into(), dot.into()]
}

/// True where the box lies wholly on the other: the label of a small part on a big one's face.
fn covers(outer: &Rect, inner: &Rect) -> bool {
    outer.x <= inner.x
        && outer.right() >= inner.right()
        && outer.y <= inner.y
        && outer.bottom() >= inner.bottom()
}

fn labelled(mut words: Words, of: &str) -> Item {
    words.mark = Mark::Label { of: of.to_owned(), on_paper: words.on_paper() };
    words.halo = true;
    words.into()
}
