//! What the eye of an isometric view sees. In: the cupboard plan, an eye. Out: its bodies and pipes in
//! an order in which the nearer hides the farther, worked out pair by pair; what wants to be said
//! of them, only where they are seen; how much is hidden.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

use super::callouts::{Drawn, has_a_face};
use super::eye::{
    Eye, Thing, along, block_edges, block_face, block_faces, bounds, drum, drum_edges, drum_face,
    front_last,
};
use super::labels::is_joint;
use super::pipework::{LABELLED, arrow, pipe_text};
use super::request::Request;
use super::section::kind_of;
use crate::draw::scene::{Group, Ink, Item, Mark, Shape, Stroke};
use crate::draw::style::pen;
use crate::layout::cupboard::plan::{CupboardPlan, Form, Solid};
use crate::model::{Box3, P2, P3, Pipe, Rect, System};

/// White kept along the edges of a body.
const EDGE: f64 = 1.0;
/// A straight is painted in pieces about so long, mm: one before a body at its one end may lie
/// behind another at the other.
const PIECE: f64 = 120.0;

/// What is seen from one place.
pub struct Scene {
    eye: Eye,
    /// The bodies of the plan in their order, then the pieces of pipe.
    pub things: Vec<Thing>,
    bodies: usize,
    /// The farthest first, and where each stands in that order.
    order: Vec<usize>,
    place: Vec<usize>,
    /// Of each route what is named, its long straights, and its short ones.
    long: Vec<Vec<Straight>>,
    short: Vec<Straight>,
}

/// A straight of a pipe: the things that it is, its length, what wants to be said of it.
struct Straight {
    of: Range<usize>,
    length: f64,
    request: Request,
}

impl Scene {
    pub fn new(system: &System, plan: &CupboardPlan, eye: &Eye) -> Scene {
        let mut things: Vec<Thing> = plan.solids.iter().map(|s| solid(system, s, eye)).collect();
        let bodies = things.len();
        let (mut long, mut short) = (Vec::new(), Vec::new());
        for route in plan.routes.iter().filter(|r| r.routed) {
            let pipe = system.pipe(route.pipe);
            let mut own = Vec::new();
            for pair in route.points.windows(2) {
                let from = things.len();
                let (pieces, length, request) = straight(eye, pair[0], pair[1], route.od, pipe);
                things.extend(pieces);
                let straight = Straight { of: from..things.len(), length, request };
                let named = length > LABELLED || route.exit.is_some();
                if named { own.push(straight) } else { short.push(straight) }
            }
            long.push(own);
        }
        let order = front_last(eye, &things);
        let mut place = vec![0; things.len()];
        for (at, i) in order.iter().enumerate() {
            place[*i] = at;
        }
        Scene { eye: *eye, things, bodies, order, place, long, short }
    }

    /// What is painted over a thing.
    fn later(&self, of: usize) -> impl Iterator<Item = &Thing> {
        let at = self.place[of];
        self.order[at + 1..].iter().map(|j| &self.things[*j])
    }

    fn hidden(&self, p: P2, of: usize) -> bool {
        self.later(of).any(|thing| self.eye.sees(p, thing))
    }

    fn shows(&self, p: P2, of: &Range<usize>) -> bool {
        of.clone().any(|i| self.eye.sees(p, &self.things[i]) && !self.hidden(p, i))
    }

    /// The request at the points at which its thing is seen.
    fn visible(&self, of: &Range<usize>, request: &Request) -> Option<Request> {
        let mut points = request.everywhere().map(|r| r.anchor).filter(|p| self.shows(*p, of));
        let anchor = points.next()?;
        let also = points.collect();
        // On the face of what is nearer its label would be another's.
        let over = |r: &Rect| of.clone().any(|i| r.overlaps(&self.things[i].on_paper));
        let faces = self.later(of.start).map(|t| t.on_paper).filter(|r| has_a_face(*r));
        let under = faces.filter(over).collect();
        Some(Request { anchor, also, under, ..request.clone() })
    }

    /// What is said of what is seen, and the names of what is not.
    pub fn requests(&self, system: &System, plan: &CupboardPlan) -> (Vec<Request>, Vec<String>) {
        let (mut requests, mut unseen) = (Vec::new(), Vec::new());
        let tagged = plan.solids.iter().enumerate().filter(|(_, s)| !is_joint(system, s));
        for (i, solid) in tagged {
            let request = tag(&self.eye, solid, &self.things[i]);
            match self.visible(&(i..i + 1), &request) {
                Some(request) => requests.push(request),
                None => unseen.push(solid.tag.clone()),
            }
        }
        // A service that has no long straight has its name on a short one.
        let service = |s: &Straight| system.by_id(&s.request.of).map(|p| p.service);
        let long: BTreeSet<_> = self.long.iter().flatten().map(service).collect();
        let mut others: BTreeMap<_, Vec<&Straight>> = BTreeMap::new();
        for straight in self.short.iter().filter(|s| !long.contains(&service(s))) {
            others.entry(service(straight)).or_default().push(straight);
        }
        // A pipe is named once, on the longest of its straights that is seen.
        let all = self.long.iter().map(|own| own.iter().collect()).chain(others.into_values());
        for own in all {
            let text = own.first().map(|s| s.request.text.clone());
            let seen =
                own.into_iter().filter_map(|s| Some((s.length, self.visible(&s.of, &s.request)?)));
            match seen.reduce(|a, b| if b.0 > a.0 { b } else { a }) {
                Some((_, request)) => requests.push(request),
                None => unseen.extend(text.filter(|t| !unseen.contains(t))),
            }
        }
        // A pipe like one that is seen needs no mention.
        unseen.retain(|tag| !requests.iter().any(|r| r.text == *tag));
        (requests, unseen)
    }

    /// How much is hidden: of each body the share that is, of each pipe as many as it has pieces.
    pub fn hides(&self) -> f64 {
        const GRID: i32 = 4;
        let share = |i: usize| {
            let r = self.things[i].on_paper;
            let part = |v: f64, i: i32| v * (f64::from(i) + 0.5) / f64::from(GRID);
            let spots = (0..GRID).flat_map(|a| (0..GRID).map(move |b| (a, b)));
            let own = spots
                .map(|(a, b)| P2::new(r.x + part(r.w, a), r.y + part(r.h, b)))
                .filter(|p| self.eye.sees(*p, &self.things[i]));
            let (all, unseen) = own
                .fold((0, 0), |(all, unseen), p| (all + 1, unseen + u32::from(self.hidden(p, i))));
            f64::from(unseen) / f64::from(all.max(1))
        };
        (0..self.things.len()).map(share).sum()
    }

    /// What is seen of the pipes, by what they are called.
    pub fn pipes(&self, system: &System) -> Vec<Drawn> {
        let all = self.long.iter().flatten().chain(&self.short);
        let of = |s: &Straight| {
            let called = system.by_id(&s.request.of).map_or(String::new(), pipe_text);
            let seen = s.of.clone().flat_map(|i| {
                let kept = self.things[i].kept_clear.iter().copied();
                kept.filter(move |r| !self.hidden(r.centre(), i))
            });
            let named = |at| Drawn { of: s.request.of.clone(), called: called.clone(), at };
            seen.map(named).collect::<Vec<_>>()
        };
        all.flat_map(of).collect()
    }

    /// Where no label may stand: on small things and on pipes, and on the edges of larger ones.
    pub fn kept_clear(&self) -> (Vec<Rect>, Vec<Rect>) {
        let (mut obstacles, mut rings) = (Vec::new(), Vec::new());
        for (i, thing) in self.things.iter().enumerate() {
            let kept = thing.kept_clear.iter().copied();
            let edges = thing.kept_clear.len() > 1 && i < self.bodies;
            let seen = kept.filter(|r| r.w > 2.0 * EDGE || !self.hidden(r.centre(), i));
            if edges { rings.extend(seen) } else { obstacles.extend(seen) }
        }
        (obstacles, rings)
    }

    /// Everything, the farthest first.
    pub fn painted(mut self) -> Vec<Item> {
        self.order.iter().flat_map(|i| std::mem::take(&mut self.things[*i].items)).collect()
    }
}

/// True for what stands as an upright drum.
fn is_round(solid: &Solid) -> bool {
    matches!(solid.form, Form::Upright | Form::Domed)
}

fn solid(system: &System, s: &Solid, eye: &Eye) -> Thing {
    let kind = kind_of(system, s);
    let on_paper = bounds(eye, &s.at);
    let round = is_round(s);
    let shapes = if round { drum(eye, &s.at) } else { block_faces(eye, &s.at) };
    // Bodies overlap on paper here by right: no mark that rules for flat sheets count.
    let mark = Mark::Of(s.tag.clone());
    let title = Some(format!("{}: {}", s.tag, kind.words));
    let items = vec![Group { mark, title, items: shapes }.into()];
    let edges = if round { drum_edges(eye, &s.at) } else { block_edges(eye, &s.at) };
    let kept_clear = if has_a_face(on_paper) {
        edges.into_iter().flat_map(|(p, q)| along(p, q, EDGE)).collect()
    } else {
        vec![on_paper]
    };
    Thing { bounds: s.at, round, items, on_paper, kept_clear }
}

/// The tag of a body, on its face where that is wide enough.
fn tag(eye: &Eye, solid: &Solid, thing: &Thing) -> Request {
    const HALF: i32 = 3;
    let r = thing.on_paper;
    let c = r.centre();
    let mut steps: Vec<(i32, i32)> =
        (-HALF..=HALF).flat_map(|i| (-HALF..=HALF).map(move |j| (i, j))).collect();
    steps.sort_by_key(|(i, j)| (i * i + j * j, *j, *i));
    let part = |v: f64, i: i32| v * 0.42 * f64::from(i) / f64::from(HALF);
    let also = steps[1..].iter().map(|(i, j)| P2::new(c.x + part(r.w, *i), c.y + part(r.h, *j)));
    let face = if thing.round { drum_face(eye, &solid.at) } else { block_face(eye, &solid.at) };
    Request {
        also: also.collect(),
        is_tag: true,
        inside: has_a_face(r).then_some(face).filter(|f| f.w > 6.0 && f.h > 6.0),
        ..Request::new(&solid.tag, solid.tag.clone(), c)
    }
}

/// One straight of a pipe as things that hide what is behind them, its length, and its name.
fn straight(eye: &Eye, a: P3, b: P3, od: f64, pipe: &Pipe) -> (Vec<Thing>, f64, Request) {
    let length = (a.x - b.x).abs() + (a.y - b.y).abs() + (a.z - b.z).abs();
    let (p, q) = (eye.point(a), eye.point(b));
    let thick = (od / eye.scale).max(0.7);
    // An odd number, so that the arrow in the middle lies on one.
    let n = (length / PIECE).ceil().max(1.0) as usize | 1;
    let on = |i: usize| {
        let t = i as f64 / n as f64;
        P3::new(a.x + (b.x - a.x) * t, a.y + (b.y - a.y) * t, a.z + (b.z - a.z) * t)
    };
    let mut pieces: Vec<Thing> = (0..n)
        .map(|i| {
            let (a, b) = (on(i), on(i + 1));
            let ends = (i == 0, i + 1 == n);
            let (p1, q1) = (eye.point(a), eye.point(b));
            let before = libm::hypot(p1.x - p.x, p1.y - p.y);
            let bounds3 = Box3::around(a, b, od / 2.0);
            Thing {
                bounds: bounds3,
                round: false,
                items: look(pipe, (p1, q1), thick, ends, before),
                on_paper: bounds(eye, &bounds3),
                kept_clear: along(p1, q1, thick),
            }
        })
        .collect();
    let middle = P2::new((p.x + q.x) / 2.0, (p.y + q.y) / 2.0);
    if length > LABELLED {
        let ink = pen(pipe.service).ink;
        pieces[n / 2].items.push(arrow(&pipe.id, middle, p, q, ink, thick.min(1.6)));
    }
    let at = |t: f64| P2::new(p.x + (q.x - p.x) * t, p.y + (q.y - p.y) * t);
    let request = Request {
        also: [0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.1, 0.9].map(at).to_vec(),
        half: thick / 2.0,
        upright: (p.x - q.x).abs() < 0.1,
        ..Request::new(&pipe.id, pipe_text(pipe), middle)
    };
    (pieces, length, request)
}

/// How a piece of pipe looks: round where its straight ends, and its centre line as that goes on
/// `before` mm after its beginning.
fn look(pipe: &Pipe, (p, q): (P2, P2), thick: f64, ends: (bool, bool), before: f64) -> Vec<Item> {
    /// So far one piece reaches into the next: no white shows between them.
    const LAP: f64 = 0.08;
    let style = pen(pipe.service);
    let of = || Mark::Of(pipe.id.clone());
    let long = libm::hypot(q.x - p.x, q.y - p.y).max(1e-9);
    let (dx, dy) = ((q.x - p.x) / long, (q.y - p.y) / long);
    let (lap_p, lap_q) = (if ends.0 { 0.0 } else { LAP }, if ends.1 { 0.0 } else { LAP });
    let line =
        [P2::new(p.x - dx * lap_p, p.y - dy * lap_p), P2::new(q.x + dx * lap_q, q.y + dy * lap_q)];
    let mut items: Vec<Item> = Vec::new();
    let mut wide = |w: f64, ink: Ink| {
        items.push(Shape::line(&line, Stroke::solid(w, ink)).mark(of()).into());
        for (at, is_end) in [(p, ends.0), (q, ends.1)] {
            if is_end {
                items.push(Shape::circle(at, w / 2.0, None, Some(ink)).mark(of()).into());
            }
        }
    };
    wide(thick, style.ink);
    if thick > 1.0 {
        wide(thick - 0.6, Ink::WHITE);
        let stroke = Stroke::dashed(0.25, &going_on(&style.dash, before), style.ink);
        items.push(Shape::line(&[p, q], stroke).mark(of()).into());
    }
    items
}

/// A pattern of dashes that has gone on for so long.
fn going_on(dash: &[f64], before: f64) -> Vec<f64> {
    let all: f64 = dash.iter().sum();
    if all <= 0.0 {
        return Vec::new();
    }
    let mut into = before - (before / all).floor() * all;
    let mut i = 0;
    while into > dash[i] {
        into -= dash[i];
        i = (i + 1) % dash.len();
    }
    let mut rest: Vec<f64> = vec![dash[i] - into];
    rest.extend((1..dash.len()).map(|k| dash[(i + k) % dash.len()]));
    rest.push(into);
    // Dashes and gaps take turns, a dash first: what is begun in a gap has an empty dash before it.
    if i % 2 == 1 {
        rest.insert(0, 0.0);
    } else {
        rest.push(0.0);
    }
    rest
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Read on from anywhere, the pattern is the same: dash and gap at each tenth of a millimetre.
    #[test]
    fn a_pattern_goes_on_in_the_next_piece() {
        let inked = |dash: &[f64], at: f64| {
            let all: f64 = dash.iter().sum();
            let mut at = at - (at / all).floor() * all;
            for (i, d) in dash.iter().enumerate() {
                if at < *d {
                    return i % 2 == 0;
                }
                at -= d;
            }
            false
        };
        let dash = [6.0, 1.2, 1.0, 1.2];
        for before in [0.0, 3.03, 6.57, 7.28, 9.31, 40.07] {
            let on = going_on(&dash, before);
            assert_eq!(on.len() % 2, 0);
            for tenth in 0..200 {
                let at = f64::from(tenth) / 10.0 + 0.05;
                assert_eq!(inked(&on, at), inked(&dash, before + at), "{before} {at}");
            }
        }
    }
}
