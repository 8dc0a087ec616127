//! What is said along the pipes of a scaled view. In: the cupboard's runs and bodies as a view shows
//! them. Out: requests for size, service and fall, and arrows of flow where the pipe itself is seen.

use std::collections::{BTreeMap, BTreeSet};

use super::callouts::{Callouts, has_a_face};
use super::labels::beyond;
use super::pipework::{LABELLED, PIECE, Run, arrow, pipe_text};
use super::request::Request;
use super::spots::{Places, open_places};
use super::view::{Projection, View};
use crate::draw::scene::Item;
use crate::draw::style::pen;
use crate::layout::cupboard::plan::{CupboardPlan, Route, Solid};
use crate::model::{P2, PartIx, Pipe, PipeIx, Rect, Service, System};

/// A view whose pipes are told.
pub struct Told<'a> {
    pub system: &'a System,
    pub plan: &'a CupboardPlan,
    pub view: &'a View,
    pub bodies: &'a [(&'a Solid, Rect)],
    pub runs: &'a [Run],
}

impl Told<'_> {
    fn pipe(&self, run: &Run) -> Option<&Pipe> {
        self.system.by_id(&run.id)
    }

    fn places(&self, run: &Run) -> Places {
        open_places(run, self.bodies, self.view)
    }

    /// Sizes, services and falls of the straights. Returns the arrows of flow.
    pub fn along_the_runs(&self, callouts: &mut Callouts) -> Vec<Item> {
        let told: Vec<(&Run, Places)> = self
            .runs
            .iter()
            .filter(|run| {
                run.real_length() > LABELLED || self.always_named(run) || self.at_a_tundish(run)
            })
            .map(|run| (run, self.places(run)))
            .collect();
        let shown = |p: &Places| !p.seen().is_empty() || !p.broken.is_empty();
        let mut named: BTreeSet<&str> =
            told.iter().filter(|(_, p)| shown(p)).map(|(run, _)| run.id.as_str()).collect();
        let seen: BTreeSet<String> = told
            .iter()
            .filter(|(_, p)| shown(p))
            .filter_map(|(run, _)| Some(pipe_text(self.pipe(run)?)))
            .collect();
        // The straight of each line of pipes that is seen best is named; the others may go without.
        let lines = self.lines();
        let mut best: BTreeMap<usize, (bool, f64, *const Run)> = BTreeMap::new();
        for (run, places) in told.iter().filter(|(_, p)| shown(p)) {
            let own = (!places.seen().is_empty(), run.real_length(), std::ptr::from_ref(*run));
            let Some(line) = lines.get(run.id.as_str()) else { continue };
            let of = best.entry(*line).or_insert(own);
            if (own.0, own.1) > (of.0, of.1) {
                *of = own;
            }
        }
        let shown_somewhere =
            |run: &Run| lines.get(run.id.as_str()).is_some_and(|line| best.contains_key(line));
        let first: Vec<*const Run> = best.values().map(|(.., run)| *run).collect();
        let mut arrows = Arrows::default();
        let mut elsewhere: BTreeSet<&str> = BTreeSet::new();
        for (run, places) in &told {
            let Some(pipe) = self.pipe(run) else { continue };
            if let Some(at) = self.off_bodies(run, &places.whole) {
                arrows.put(run, pipe, at);
            }
            let (in_sight, mut text) = (places.seen(), pipe_text(pipe));
            if in_sight.is_empty() && !places.broken.is_empty() {
                text = format!("{text} {}", beyond(self.view));
            }
            let fall = fall_text(self.system, pipe, run);
            let all = if in_sight.is_empty() { &places.broken } else { &in_sight };
            let [at, also @ ..] = &all[..] else {
                // A short piece of what is seen elsewhere goes without.
                let piece = run.real_length() <= LABELLED && seen.contains(&text);
                if !piece && named.insert(&run.id) {
                    let alone = run.real_length() > LABELLED && !shown_somewhere(run);
                    self.elsewhere(run, pipe, (fall, alone), &mut arrows, callouts);
                }
                continue;
            };
            // At small bodies only: better on another straight of the pipe.
            if !in_sight.is_empty()
                && places.clear() == 0
                && fall.is_none()
                && let Some((other, points)) = self.off_small_bodies(&run.id)
            {
                if !elsewhere.insert(&run.id) {
                    continue;
                }
                let request = on(other, text, points[0], points[1..].to_vec());
                let spare = !first.contains(&std::ptr::from_ref(*run));
                callouts.requests.push(Request { spare, ..request });
                continue;
            }
            // A broken line says by itself where it lies, where there is little room.
            let short = Some(pipe_text(pipe)).filter(|short| *short != text);
            let clear = if in_sight.is_empty() { usize::MAX } else { places.clear() };
            let request = Request { clear, ..on(run, text, *at, also.to_vec()) };
            let spare = !first.contains(&std::ptr::from_ref(*run));
            callouts.requests.push(Request { short, spare, ..request });
            // The fall stands at another place of the straight.
            if let Some(text) = fall {
                let mut places = all.clone();
                let other = places.len().min(3) - 1;
                places.rotate_left(other);
                let at = places.remove(0);
                callouts.requests.push(on(run, text, at, places));
            }
        }
        let long = told.iter().filter(|(run, _)| run.real_length() > LABELLED);
        for (run, places) in long {
            let pointed = arrows.pointed.contains(&run.id);
            if let Some(pipe) = self.pipe(run).filter(|_| !pointed) {
                self.point(run, places, pipe, &mut arrows);
            }
        }
        arrows.items
    }

    /// Of the places for an arrow the first at which it does not run up to a small body that its pipe
    /// only passes: it would be read as going in.
    fn off_bodies(&self, run: &Run, places: &[P2]) -> Option<P2> {
        const UP_TO: f64 = 5.0;
        let ends = self.pipe(run).map(|p| [p.from.part, p.to.part].map(|ix| self.system.part(ix)));
        let joins = |tag: &str| ends.is_some_and(|e| e.iter().any(|p| p.tag == tag));
        let clear = |p: &&P2| {
            let at = run.along(**p);
            let way = run.piece(at - UP_TO, at + UP_TO);
            let small =
                |(s, r): &(&Solid, Rect)| !has_a_face(*r) && !joins(&s.tag) && r.overlaps(&way);
            !self.bodies.iter().any(small)
        };
        places.iter().find(clear).or(places.first()).copied()
    }

    /// Which pipes are one line: of one size and service, through fittings in which no other meets
    /// them.
    fn lines(&self) -> BTreeMap<&str, usize> {
        let shown: BTreeSet<PipeIx> = self.plan.routes.iter().map(|r| r.pipe).collect();
        let pipes: Vec<&Pipe> = shown.into_iter().map(|ix| self.system.pipe(ix)).collect();
        let mut meeting: BTreeMap<PartIx, Vec<usize>> = BTreeMap::new();
        for (i, pipe) in pipes.iter().enumerate() {
            for part in [pipe.from.part, pipe.to.part].into_iter().collect::<BTreeSet<_>>() {
                meeting.entry(part).or_default().push(i);
            }
        }
        let mut line: Vec<usize> = (0..pipes.len()).collect();
        for met in meeting.values() {
            let [a, b] = met[..] else { continue };
            if pipe_text(pipes[a]) == pipe_text(pipes[b]) {
                let (from, to) = (line[a].max(line[b]), line[a].min(line[b]));
                line.iter_mut().filter(|l| **l == from).for_each(|l| *l = to);
            }
        }
        pipes.iter().zip(line).map(|(pipe, line)| (pipe.id.as_str(), line)).collect()
    }

    /// A pipe of which no long straight is shown: named on a short one that is seen. On what hides
    /// it, an arrow and a size would be another's; there only where nothing of its line is shown, and
    /// then as what lies behind.
    fn elsewhere(
        &self,
        run: &Run,
        pipe: &Pipe,
        (fall, alone): (Option<String>, bool),
        arrows: &mut Arrows,
        callouts: &mut Callouts,
    ) {
        let Some((short, places)) = self.clearest(&run.id) else {
            if alone {
                let at = P2::new((run.from.x + run.to.x) / 2.0, (run.from.y + run.to.y) / 2.0);
                arrows.put(run, pipe, at);
                let text = format!("{} {}", pipe_text(pipe), beyond(self.view));
                callouts.requests.push(on(run, text, at, Vec::new()));
            }
            return;
        };
        arrows.put(short, pipe, places[0]);
        let fall = fall.map_or(String::new(), |f| format!(", {f}"));
        let text = format!("{}{fall}", pipe_text(pipe));
        callouts.requests.push(on(short, text, places[0], places[1..].to_vec()));
    }

    /// An arrow for a pipe that has none on its long straights: on a short one in clear sight, on a
    /// broken line; at last at a small body.
    fn point(&self, run: &Run, places: &Places, pipe: &Pipe, arrows: &mut Arrows) {
        if let Some((short, places)) = self.clearest(&run.id) {
            arrows.put(short, pipe, places[0]);
        } else if let Some(at) =
            places.broken.first().or(places.bare.first()).or(places.over.first())
        {
            arrows.put(run, pipe, *at);
        }
    }

    /// The longest straight of a pipe that is in clear sight, and where.
    fn clearest(&self, id: &str) -> Option<(&Run, Vec<P2>)> {
        let own = self.runs.iter().filter(|r| r.id == id && r.real_length() > PIECE);
        let seen = own.map(|r| (r, self.places(r).whole)).filter(|(_, at)| !at.is_empty());
        seen.reduce(|a, b| if b.0.real_length() > a.0.real_length() { b } else { a })
    }

    /// The longest straight of a pipe of which some is seen off small bodies, and where.
    fn off_small_bodies(&self, id: &str) -> Option<(&Run, Vec<P2>)> {
        let own = self.runs.iter().filter(|r| r.id == id && r.real_length() > PIECE);
        let seen = own.filter_map(|run| {
            let places = self.places(run);
            let points = [places.whole, places.bare].concat();
            (!points.is_empty()).then_some((run, points))
        });
        seen.reduce(|a, b| if b.0.real_length() > a.0.real_length() { b } else { a })
    }

    /// The longest straight of a pipe that leaves the room or carries a discharge, which has a name
    /// however short it is: there the pipework is joined, and that way hot water comes.
    fn always_named(&self, run: &Run) -> bool {
        let discharge = |p: &Pipe| matches!(p.service, Service::Discharge1 | Service::Discharge2);
        let leaves = |r: &Route| {
            let pipe = self.system.pipe(r.pipe);
            pipe.id == run.id && (r.exit.is_some() || discharge(pipe))
        };
        let own = self.runs.iter().filter(|r| r.id == run.id);
        run.real_length() > PIECE
            && self.plan.routes.iter().any(leaves)
            && own.max_by(|a, b| a.real_length().total_cmp(&b.real_length())).is_some_and(
                |longest| longest.real_length() <= LABELLED && std::ptr::eq(longest, run),
            )
    }

    /// True of a pipe that comes down right above a tundish and is no discharge: without its name it
    /// would be read as one.
    fn at_a_tundish(&self, run: &Run) -> bool {
        const NEAR: f64 = 12.0;
        let discharges = |p: &Pipe| matches!(p.service, Service::Discharge1 | Service::Discharge2);
        let mut tundishes = self.bodies.iter().filter(|(s, _)| {
            let part = |p: &&crate::model::Part| p.tag == s.tag && p.kind.key == "tundish";
            self.system.parts.iter().any(|p| part(&p))
        });
        let foot = if run.from.y > run.to.y { run.from } else { run.to };
        self.view.projection != Projection::Plan
            && run.upright()
            && run.real_length() > PIECE
            && self.pipe(run).is_some_and(|p| !discharges(p))
            && tundishes.any(|(_, r)| {
                Rect::new(r.x, r.y - NEAR, r.w, NEAR)
                    .grown(run.half)
                    .overlaps(&Rect::at(foot).grown(0.1))
            })
    }

    /// A service that bears no name in the view yet: on its longest piece that is seen, at the ring of
    /// a pipe that runs towards the eye, or where it lies hidden.
    pub fn not_yet_named(&self, callouts: &mut Callouts) {
        if self.view.section.is_some() {
            return;
        }
        let service = |id: &str| self.system.by_id(id).map(|p| p.service);
        let named: BTreeSet<Service> =
            callouts.requests.iter().filter_map(|r| service(&r.of)).collect();
        let there = self.plan.routes.iter().map(|r| self.system.pipe(r.pipe).service);
        for wanted in there.filter(|s| !named.contains(s)).collect::<BTreeSet<Service>>() {
            let own = |r: &&Run| self.pipe(r).is_some_and(|p| p.service == wanted);
            let mut own: Vec<&Run> = self.runs.iter().filter(own).collect();
            own.sort_by(|a, b| b.real_length().total_cmp(&a.real_length()));
            let text = |id: &str| self.system.by_id(id).map_or(String::new(), pipe_text);
            let seen = own.iter().map(|r| (*r, self.places(r).seen()));
            let request = if let Some((run, at)) = seen.into_iter().find(|(_, at)| !at.is_empty()) {
                Some(on(run, text(&run.id), at[0], at[1..].to_vec()))
            } else if let Some((id, at, half)) = self.ring(wanted) {
                Some(Request { half, ..Request::new(id, text(id), at) })
            } else {
                own.iter().find_map(|run| {
                    let [at, also @ ..] = &self.places(run).broken[..] else { return None };
                    let text = format!("{} {}", text(&run.id), beyond(self.view));
                    Some(on(run, text, *at, also.to_vec()))
                })
            };
            callouts.requests.extend(request);
        }
    }

    /// A pipe of a service seen end on, with nothing before it.
    fn ring(&self, wanted: Service) -> Option<(&str, P2, f64)> {
        for route in self.plan.routes.iter().filter(|r| r.routed) {
            let pipe = self.system.pipe(route.pipe);
            if pipe.service != wanted {
                continue;
            }
            for pair in route.points.windows(2) {
                let depths = [pair[0], pair[1]].map(|p| self.view.nearness(p));
                if (depths[0] - depths[1]).abs() < PIECE {
                    continue;
                }
                let at = self.view.point(pair[0]);
                let front = depths[0].max(depths[1]) + route.od / 2.0;
                let spot = Rect::at(at).grown(0.3);
                let over = |r: &Run| r.id != pipe.id && r.nearness > front;
                let hidden = self.runs.iter().any(|r| over(r) && r.strip().overlaps(&spot))
                    || self
                        .bodies
                        .iter()
                        .any(|(s, b)| self.view.front_of(&s.at) > front && b.overlaps(&spot));
                if !hidden {
                    return Some((&pipe.id, at, route.od / self.view.scale / 2.0));
                }
            }
        }
        None
    }
}

/// Arrows of flow, and the pipes that have one.
#[derive(Default)]
struct Arrows {
    items: Vec<Item>,
    pointed: BTreeSet<String>,
}

impl Arrows {
    fn put(&mut self, run: &Run, pipe: &Pipe, at: P2) {
        let size = (run.half * 2.0 - 0.7).clamp(1.0, 2.5);
        self.items.push(arrow(&run.id, at, run.from, run.to, pen(pipe.service).ink, size));
        self.pointed.insert(run.id.clone());
    }
}

/// A text at places of a run.
fn on(run: &Run, text: String, anchor: P2, also: Vec<P2>) -> Request {
    Request {
        also,
        half: run.half,
        upright: run.upright(),
        reach: 8.0,
        ..Request::new(&run.id, text, anchor)
    }
}

/// `1:100 →`: the fall of a pipe that must fall, on a level straight, and which way.
fn fall_text(system: &System, pipe: &Pipe, run: &Run) -> Option<String> {
    let level = (run.real_from.z - run.real_to.z).abs() < 0.5;
    let one_in = fall(system, pipe).filter(|_| level)?;
    let (dx, dy) = (run.to.x - run.from.x, run.to.y - run.from.y);
    let towards = match (dx.abs() > dy.abs(), dx > 0.0, dy > 0.0) {
        (true, true, _) => '→',
        (true, false, _) => '←',
        (false, _, true) => '↓',
        (false, _, false) => '↑',
    };
    Some(format!("1:{one_in:.0} {towards}"))
}

/// The fall of the pipe below a tundish, 1 in so many: what the tundish above it, a part on the way
/// or its end carries.
fn fall(system: &System, pipe: &Pipe) -> Option<f64> {
    let below = |p: &&Pipe| p.service == Service::Discharge2;
    let mut line: Vec<&Pipe> = Some(pipe).filter(below).into_iter().collect();
    let mut next = 0;
    while let Some(here) = line.get(next).copied() {
        let ends = [here.from.part, here.to.part];
        if let Some(fall) = ends.into_iter().find_map(|ix| system.part(ix).number("fall")) {
            return Some(fall);
        }
        let above = |p: &&Pipe| p.to.part == here.from.part && below(p);
        line.extend(system.pipes.iter().filter(above));
        next += 1;
        if next > system.pipes.len() {
            break;
        }
    }
    None
}
