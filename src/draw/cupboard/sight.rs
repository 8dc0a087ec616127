//! What of each straight a view shows (ISO 128-3, from memory): in a full line where nothing lies
//! before it, in a broken line behind one large body, nothing elsewhere. In: runs and bodies of a
//! view. Out: stretches of each run; where a pipe would be shown nowhere because others lie before
//! it, a window broken out of those.

use std::collections::BTreeSet;

use super::bodies::covered;
use super::pipework::{BREAK, LABELLED, Layer, PIECE, Run, break_line, look, pipe_text, wide_line};
use super::spots::open_places;
use super::view::View;
use crate::draw::scene::{Ink, Mark};
use crate::draw::style::pen;
use crate::layout::cupboard::plan::Solid;
use crate::model::{P2, Rect, System};

/// A body narrower than this bears no broken line: what passes behind it is seen on both sides of
/// it (mm on paper).
const BEARS: f64 = 14.0;
/// Shorter pieces of a broken line say nothing.
const LEAST: f64 = 2.0;
/// Half of a window: room for an arrow.
const HALF: f64 = 5.0;
/// Runs of one line on paper.
const ONE: f64 = 0.5;

/// Stretches of a run along the paper, from left to right or from the top down.
#[derive(Clone, Debug, Default)]
pub struct Sight {
    pub full: Vec<(f64, f64)>,
    pub broken: Vec<(f64, f64)>,
}

impl Sight {
    /// True where it shows the run from so far before a place to as far behind it.
    pub fn shows(stretches: &[(f64, f64)], at: f64, room: f64) -> bool {
        stretches.iter().any(|(a, b)| *a <= at - room + 1e-6 && at + room <= *b + 1e-6)
    }

    fn less(&mut self, from: f64, to: f64) {
        for of in [&mut self.full, &mut self.broken] {
            let cut = |(a, b): &(f64, f64)| [(*a, b.min(from)), (a.max(to), *b)];
            let all: Vec<(f64, f64)> = of.iter().flat_map(cut).collect();
            *of = all.into_iter().filter(|(a, b)| b - a > 1e-6).collect();
        }
    }
}

/// Looks at every run: sets what is seen of it. Returns the windows, to be painted among the rest.
pub fn look_at(
    system: &System,
    runs: &mut [Run],
    bodies: &[(&Solid, Rect)],
    view: &View,
) -> Vec<Layer> {
    let seen: Vec<Sight> = runs.iter().map(|run| sight(run, bodies, view, runs)).collect();
    for (run, seen) in runs.iter_mut().zip(seen) {
        run.sight = seen;
    }
    let mut layers = broken_off(system, runs);
    let shown = |run: &Run| {
        let places = open_places(run, bodies, view);
        let long = run.real_length() > LABELLED && !places.is_empty();
        long || (run.real_length() > PIECE && !places.whole.is_empty())
    };
    let named: BTreeSet<String> =
        runs.iter().filter(|run| shown(run)).map(|run| run.id.clone()).collect();
    let mut lost: Vec<String> = Vec::new();
    for run in runs.iter().filter(|r| r.real_length() > LABELLED) {
        if !named.contains(&run.id) && !lost.contains(&run.id) {
            lost.push(run.id.clone());
        }
    }
    let mut windows: Vec<Rect> = Vec::new();
    for id in &lost {
        layers.extend(open(system, id, runs, bodies, view, &mut windows).into_iter().flatten());
    }
    layers
}

/// Where a pipe goes on behind another in its own line, the two would be read as one: there the one
/// behind is broken off before it gets there.
fn broken_off(system: &System, runs: &mut [Run]) -> Vec<Layer> {
    /// White left between the two, and the least that is left of the one behind.
    const WHITE: f64 = 1.4;
    const LEFT: f64 = 2.0;
    /// So near an end under a body is to what comes out from under it.
    const UNDER: f64 = 2.0;
    let text = |run: &Run| system.by_id(&run.id).map(pipe_text);
    let mut layers = Vec::new();
    // What lies hidden under a body ends well before another comes out from under it.
    for i in 0..runs.len() {
        let run = runs[i].clone();
        let from_under = |at: f64, towards: f64| {
            runs.iter().any(|o| {
                let seen = o.sight.full.iter();
                let mut starts = seen.map(|(low, high)| if towards > 0.0 { *low } else { *high });
                o.id != run.id
                    && in_line(o, &run)
                    && text(o) != text(&run)
                    && starts.any(|start| (start - at).abs() < UNDER)
            })
        };
        let ends = run.sight.broken.iter().flat_map(|(from, to)| [(*from, -1.0), (*to, 1.0)]);
        let met: Vec<(f64, f64)> = ends.filter(|(at, towards)| from_under(*at, *towards)).collect();
        for (at, towards) in met {
            let cut = at - towards * 1.5 * UNDER;
            runs[i].sight.less(at.min(cut), at.max(cut));
        }
    }
    for i in 0..runs.len() {
        let run = runs[i].clone();
        let Some(pipe) = system.by_id(&run.id) else { continue };
        // As the white beside the nearer one ends.
        let meets = |at: f64, towards: f64| {
            runs.iter().any(|o| {
                let (low, high) = o.span();
                let end = if towards > 0.0 { low } else { high };
                nearer(o, &run)
                    && in_line(o, &run)
                    && (end - at).abs() < o.half + BREAK + 0.3
                    && text(o) != text(&run)
            })
        };
        let ends = run.sight.full.iter().filter(|(from, to)| to - from >= WHITE + LEFT);
        let both = ends.flat_map(|(from, to)| [(*from, -1.0), (*to, 1.0)]);
        let met: Vec<(f64, f64)> = both.filter(|(at, towards)| meets(*at, *towards)).collect();
        for (at, towards) in met {
            let cut = at - towards * WHITE;
            let (low, high) = if towards > 0.0 { (cut, at) } else { (at, cut) };
            let wave = break_line(run.on(cut), run.half, run.upright(), pen(pipe.service).ink);
            let items = vec![
                wide_line((run.on(low), run.on(high)), 2.0 * run.half + 0.5, Ink::WHITE),
                wave.mark(Mark::Of(run.id.clone())).into(),
            ];
            layers.push(Layer { nearness: run.nearness + 0.05, items });
            runs[i].sight.less(low - 0.6, high + 0.6);
        }
    }
    layers
}

/// A stretch of a run from the nearest to the eye to its own depth: what lies before it there.
struct Before<'a> {
    body: Option<(&'a Solid, Rect)>,
    smaller: bool,
    depth: f64,
}

fn body_before<'a>(
    run: &Run,
    along: f64,
    covers: &[(&'a Solid, Rect, (f64, f64))],
    view: &View,
) -> Before<'a> {
    let here = || covers.iter().filter(|(_, _, (a, b))| *a < along && along < *b);
    let top = here().max_by(|a, b| view.front_of(&a.0.at).total_cmp(&view.front_of(&b.0.at)));
    let area = |r: &Rect| r.w * r.h;
    Before {
        body: top.map(|(s, r, _)| (*s, *r)),
        smaller: top.is_some_and(|(_, r, _)| here().any(|(_, o, _)| area(o) > area(r) + 1.0)),
        depth: top.map_or(run.nearness, |(s, ..)| view.front_of(&s.at)),
    }
}

fn covers<'a>(
    run: &Run,
    bodies: &[(&'a Solid, Rect)],
    view: &View,
) -> Vec<(&'a Solid, Rect, (f64, f64))> {
    let nearer = bodies.iter().filter(|(s, _)| view.front_of(&s.at) > run.nearness);
    nearer
        .filter_map(|(s, r)| Some((*s, *r, covered(s, *r, view, run.across(), run.upright())?)))
        .collect()
}

/// True where one run lies before another.
fn nearer(over: &Run, run: &Run) -> bool {
    // Another straight of the same pipe may lie before this one.
    let by = if over.id == run.id { 1.0 } else { 0.01 };
    over.nearness > run.nearness + by
}

fn on_one_line(a: &Run, b: &Run) -> bool {
    a.upright() == b.upright() && (a.across() - b.across()).abs() < ONE
}

/// So near that on paper they are one line.
fn in_line(a: &Run, b: &Run) -> bool {
    a.upright() == b.upright() && (a.across() - b.across()).abs() < 2.0 * ONE + 0.05
}

fn sight(run: &Run, bodies: &[(&Solid, Rect)], view: &View, runs: &[Run]) -> Sight {
    let (low, high) = run.span();
    let covers = covers(run, bodies, view);
    let over: Vec<(&Run, Rect)> = runs
        .iter()
        .filter(|o| nearer(o, run))
        .map(|o| (o, o.strip().grown(BREAK)))
        .filter(|(_, strip)| strip.overlaps(&run.strip()))
        .collect();
    let along = |r: &Rect| if run.upright() { (r.y, r.bottom()) } else { (r.x, r.right()) };
    let mut cuts: Vec<f64> = vec![low, high];
    cuts.extend(covers.iter().flat_map(|(_, _, (a, b))| [*a, *b]));
    cuts.extend(over.iter().map(|(_, strip)| along(strip)).flat_map(|(a, b)| [a, b]));
    cuts.retain(|c| (low..=high).contains(c));
    cuts.sort_by(f64::total_cmp);
    let mut sight = Sight::default();
    for pair in cuts.windows(2).filter(|p| p[1] - p[0] > 1e-6) {
        let middle = f64::midpoint(pair[0], pair[1]);
        let p = run.on(middle);
        let before = body_before(run, middle, &covers, view);
        let spot = Rect::at(p).grown(0.01);
        let here = || over.iter().filter(|(_, strip)| strip.overlaps(&spot)).map(|(o, _)| *o);
        let in_front = here().any(|o| before.body.is_none() || o.nearness > before.depth);
        let of = match before.body {
            _ if in_front => continue,
            None => &mut sight.full,
            // What stands before a larger body interrupts what lies hidden behind that.
            Some((_, r)) if r.w.min(r.h) < BEARS || before.smaller => continue,
            // One broken line on another would be neither's.
            Some(_) if here().any(|o| on_one_line(o, run)) => continue,
            Some(_) => &mut sight.broken,
        };
        match of.last_mut() {
            Some(last) if pair[0] - last.1 < 1e-6 => last.1 = pair[1],
            _ => of.push((pair[0], pair[1])),
        }
    }
    sight.broken.retain(|(a, b)| b - a >= LEAST);
    sight
}

/// Opens a window on a pipe that nothing shows: where least stands in the way, and off other
/// windows.
fn open(
    system: &System,
    id: &str,
    runs: &mut [Run],
    bodies: &[(&Solid, Rect)],
    view: &View,
    windows: &mut Vec<Rect>,
) -> Option<Vec<Layer>> {
    const PLACES: [f64; 9] = [0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.12, 0.88];
    let mut best: Option<(f64, usize, f64, f64)> = None;
    let own = |(_, r): &(usize, &Run)| r.id == id && r.real_length() > LABELLED;
    for (i, run) in runs.iter().enumerate().filter(own) {
        let (low, high) = run.span();
        let half = HALF.min((high - low) * 0.3);
        let covers = covers(run, bodies, view);
        for (k, t) in PLACES.into_iter().enumerate() {
            let at = low + (high - low) * t;
            let room = run.piece(at - half, at + half).grown(1.0);
            let small = bodies.iter().filter(|(s, r)| {
                view.front_of(&s.at) > run.nearness && r.overlaps(&room) && r.w.min(r.h) < BEARS
            });
            let edges = covers
                .iter()
                .flat_map(|(_, _, (a, b))| [*a, *b])
                .filter(|e| (*e - at).abs() < half + 1.0)
                .count();
            let across = runs
                .iter()
                .filter(|o| nearer(o, run) && !on_one_line(o, run) && o.strip().overlaps(&room))
                .count();
            let taken = windows.iter().filter(|w| w.grown(1.0).overlaps(&room)).count();
            let cost = 3.0 * small.count() as f64
                + 2.0 * edges as f64
                + 2.0 * across as f64
                + 100.0 * taken as f64
                + 0.1 * k as f64;
            if best.is_none_or(|b| cost < b.0) {
                best = Some((cost, i, at - half, at + half));
            }
        }
    }
    let (_, i, from, to) = best?;
    let run = runs[i].clone();
    let (ends, window) = ((run.on(from), run.on(to)), run.piece(from, to));
    windows.push(window);
    let middle = f64::midpoint(from, to);
    let before = body_before(&run, middle, &covers(&run, bodies, view), view);
    let mut layers = Vec::new();
    let mut half = 0.0_f64;
    let mut depth = f64::MIN;
    let mut cut: Vec<Run> = Vec::new();
    for (j, other) in runs.iter_mut().enumerate() {
        let strip = other.strip();
        if j == i || other.upright() != run.upright() || !strip.overlaps(&window) {
            continue;
        }
        if nearer(other, &run) && (before.body.is_none() || other.nearness > before.depth) {
            half = half.max(other.half + (other.across() - run.across()).abs());
            depth = depth.max(other.nearness);
            cut.push(other.clone());
        }
        // Broken lines bear no wave: between them white says that they are two.
        let white = if before.body.is_some() { 3.4 } else { 0.6 };
        other.sight.less(from - white, to + white);
    }
    let own = &mut runs[i].sight;
    own.less(from, to);
    if before.body.is_some() {
        own.broken.push((from, to))
    } else {
        own.full.push((from, to))
    }
    let pipe = system.by_id(id)?;
    if !cut.is_empty() {
        let mut items = vec![wide_line(ends, 2.0 * (half + BREAK), Ink::WHITE)];
        if before.body.is_none() {
            items.extend(look(pipe, &[ends.0, ends.1], 2.0 * run.half, false));
        }
        for other in &cut {
            let Some(of) = system.by_id(&other.id) else { continue };
            for at in [from, to] {
                let ink = pen(of.service).ink;
                let wave = break_line(other.on(at), other.half, run.upright(), ink);
                items.push(wave.mark(Mark::Of(of.id.clone())).into());
            }
        }
        layers.push(Layer { nearness: depth + 0.05, items });
    }
    Some(layers)
}

/// The broken lines of a run, as ends on paper.
pub fn broken(run: &Run) -> impl Iterator<Item = (P2, P2)> + '_ {
    run.sight.broken.iter().map(|(a, b)| (run.on(*a), run.on(*b)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draw::cupboard::Projection;
    use crate::model::{Box3, P3};

    fn run(id: &str, to: f64, nearness: f64) -> Run {
        let (from, to) = (P2::new(10.0, 40.0), P2::new(to, 40.0));
        let real = |p: P2| P3::new(p.x * 10.0, nearness, 1000.0);
        let (real_from, real_to) = (real(from), real(to));
        let (id, half, sight) = (id.to_owned(), 1.1, Sight::default());
        let pipe = crate::model::PipeIx(0);
        Run { id, pipe, from, to, real_from, real_to, half, nearness, sight }
    }

    fn view() -> View {
        let room = Box3 { x: 0.0, y: 0.0, z: 0.0, w: 1000.0, d: 600.0, h: 1000.0 };
        View::new(Projection::Front, 10.0, room, P2::default())
    }

    /// Nothing is seen of a pipe right behind another, and of one behind part of it the rest.
    #[test]
    fn a_nearer_pipe_hides() {
        let (far, over, part) = (run("a", 60.0, 50.0), run("b", 60.0, 90.0), run("c", 30.0, 90.0));
        let seen = sight(&far, &[], &view(), &[far.clone(), over.clone()]);
        assert!(seen.full.is_empty() && seen.broken.is_empty());
        let seen = sight(&far, &[], &view(), &[far.clone(), part.clone()]);
        assert_eq!(seen.full.len(), 1);
        assert!(seen.full[0].0 >= part.to.x && seen.full[0].1 == 60.0);
        assert_eq!(sight(&over, &[], &view(), &[far, over.clone()]).full, [(10.0, 60.0)]);
    }

    /// Behind a large body a broken line, but not through what stands before that.
    #[test]
    fn a_body_on_the_front_of_another_interrupts_what_lies_behind() {
        use crate::model::PartIx;
        let solid = |at: Box3| Solid::at_the_back(PartIx(0), format!("{}", at.x), at);
        let store = solid(Box3 { x: 200.0, y: 100.0, z: 0.0, w: 300.0, d: 300.0, h: 1000.0 });
        let stat = solid(Box3 { x: 300.0, y: 400.0, z: 550.0, w: 50.0, d: 50.0, h: 100.0 });
        let view = view();
        let bodies: Vec<(&Solid, Rect)> =
            [&store, &stat].into_iter().map(|s| (s, view.rect(&s.at))).collect();
        let pipe = run("a", 60.0, 50.0);
        let seen = sight(&pipe, &bodies, &view, std::slice::from_ref(&pipe));
        assert_eq!(seen.full, [(10.0, 20.0), (50.0, 60.0)]);
        assert_eq!(seen.broken, [(20.0, 30.0), (35.0, 50.0)]);
    }
}
