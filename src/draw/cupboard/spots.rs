//! Where on a body or a pipe a label may point: at what can be seen of it. In: a view with its
//! bodies and runs. Out: points that nothing nearer hides, and what hides the rest.

use super::callouts::has_a_face;
use super::labels::is_joint;
use super::pipework::{BREAK, Run};
use super::sight::Sight;
use super::view::View;
use crate::layout::cupboard::plan::{Exit, Solid};
use crate::model::{P2, Rect, System};

/// What is seen of a body: places that nothing nearer hides, the nearest to its middle first, and
/// its share of the whole.
pub struct Spots {
    pub at: Vec<P2>,
    pub seen: f64,
}

/// What of a body is seen.
pub fn open_spots(
    solid: &Solid,
    r: Rect,
    bodies: &[(&Solid, Rect)],
    view: &View,
    runs: &[Run],
) -> Spots {
    const GRID: i32 = 3;
    const SPOTS: usize = 5;
    let front = view.front_of(&solid.at);
    let nearer: Vec<Rect> = bodies
        .iter()
        .filter(|(s, b)| s.tag != solid.tag && view.front_of(&s.at) > front && b.overlaps(&r))
        .map(|(_, b)| *b)
        .chain(runs.iter().filter(|run| run.nearness > front).map(|run| run.strip().grown(BREAK)))
        .filter(|n| n.overlaps(&r))
        .collect();
    let c = r.centre();
    let mut steps: Vec<(i32, i32)> =
        (-GRID..=GRID).flat_map(|i| (-GRID..=GRID).map(move |j| (i, j))).collect();
    steps.sort_by_key(|(i, j)| (i * i + j * j, *j, *i));
    let part = |v: f64, i: i32| v * 0.42 * f64::from(i) / f64::from(GRID);
    let all = steps.len() as f64;
    let mut at: Vec<P2> = steps
        .into_iter()
        .map(|(i, j)| P2::new(c.x + part(r.w, i), c.y + part(r.h, j)))
        .filter(|p| {
            let spot = Rect::at(*p).grown(0.3);
            !nearer.iter().any(|n| n.overlaps(&spot))
        })
        .collect();
    let seen = at.len() as f64 / all;
    at.truncate(SPOTS);
    Spots { at, seen }
}

/// The nearest body to the eye that hides the whole of this one, which then has no place of its own
/// for a leader to end.
pub fn hider<'a>(
    system: &System,
    view: &View,
    bodies: &[(&'a Solid, Rect)],
    of: &Solid,
) -> Option<&'a str> {
    const HAIR: f64 = 0.2;
    let own = view.rect(&of.at);
    nearest_before(system, view, bodies, of, &|r| {
        r.x < own.x + HAIR
            && r.y < own.y + HAIR
            && r.right() > own.right() - HAIR
            && r.bottom() > own.bottom() - HAIR
    })
}

/// The nearest body to the eye that hides the middle of another.
pub fn before<'a>(
    system: &System,
    view: &View,
    bodies: &[(&'a Solid, Rect)],
    of: &Solid,
) -> Option<&'a str> {
    let middle = view.rect(&of.at).centre();
    let spot = Rect::at(middle).grown(0.1);
    nearest_before(system, view, bodies, of, &|r| r.overlaps(&spot))
}

/// The nearest body to the eye, no joint, that lies before another and covers what it must.
fn nearest_before<'a>(
    system: &System,
    view: &View,
    bodies: &[(&'a Solid, Rect)],
    of: &Solid,
    covers: &dyn Fn(&Rect) -> bool,
) -> Option<&'a str> {
    let front = view.front_of(&of.at);
    bodies
        .iter()
        .filter(|(s, r)| s.tag != of.tag && view.front_of(&s.at) > front && covers(r))
        .filter(|(s, _)| !is_joint(system, s))
        .max_by(|(a, _), (b, _)| view.front_of(&a.at).total_cmp(&view.front_of(&b.at)))
        .map(|(s, _)| s.tag.as_str())
}

/// Places on what a view shows of a run, in each the nearest to its middle first.
#[derive(Clone, Debug, Default)]
pub struct Places {
    /// In clear sight, and off the outlines of bodies that are too small to write on: an arrow in
    /// one would be its own.
    pub whole: Vec<P2>,
    /// The same with no room for an arrow.
    pub bare: Vec<P2>,
    /// At such a body.
    pub over: Vec<P2>,
    /// Behind a larger one, where a broken line shows it.
    pub broken: Vec<P2>,
}

impl Places {
    /// Where it is seen, the better first.
    pub fn seen(&self) -> Vec<P2> {
        self.whole.iter().chain(&self.bare).chain(&self.over).copied().collect()
    }

    /// How many of those lie off small bodies.
    pub fn clear(&self) -> usize {
        self.whole.len() + self.bare.len()
    }

    pub fn is_empty(&self) -> bool {
        self.seen().is_empty() && self.broken.is_empty()
    }
}

/// Where a run may be spoken of: only on what is drawn of it.
pub fn open_places(run: &Run, bodies: &[(&Solid, Rect)], view: &View) -> Places {
    const COARSE: [f64; 9] = [0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.12, 0.88];
    const FINE: [f64; 10] = [0.45, 0.55, 0.35, 0.65, 0.25, 0.75, 0.15, 0.85, 0.06, 0.94];
    /// Half an arrow, half the end of a leader.
    const ARROW: f64 = 1.6;
    const END: f64 = 0.5;
    /// Off a small body.
    const CLEAR: f64 = 0.6;
    let mut places = Places::default();
    let pieces = run.sight.full.iter().chain(&run.sight.broken);
    let share = |(a, b): &(f64, f64), t: f64| run.on(a + (b - a) * t);
    let middles = pieces.flat_map(|p| [0.5, 0.2, 0.8].map(|t| share(p, t)));
    let points = COARSE.into_iter().chain(FINE).map(|t| run.at(t)).chain(middles);
    for p in points {
        let (along, spot) = (run.along(p), Rect::at(p).grown(1.5));
        let shows = |of: &[(f64, f64)], room: f64| Sight::shows(of, along, room);
        let small = bodies.iter().any(|(_, r)| r.overlaps(&spot) && !has_a_face(*r));
        let nearer = |s: &Solid| view.front_of(&s.at) > run.nearness;
        let under =
            || bodies.iter().any(|(s, r)| r.overlaps(&spot) && !has_a_face(*r) && nearer(s));
        let of = if shows(&run.sight.full, ARROW) && !small {
            &mut places.whole
        } else if shows(&run.sight.full, END) && !under() {
            let near = Rect::at(p).grown(CLEAR);
            let by = bodies.iter().any(|(_, r)| !has_a_face(*r) && r.overlaps(&near));
            if by { &mut places.over } else { &mut places.bare }
        } else if shows(&run.sight.broken, ARROW) {
            &mut places.broken
        } else {
            continue;
        };
        of.push(p);
    }
    for of in [&mut places.whole, &mut places.bare, &mut places.over, &mut places.broken] {
        of.truncate(COARSE.len());
    }
    places
}

/// True where a hole, or the end of its pipe, is seen from the front.
pub fn in_sight(
    exit: &Exit,
    at: P2,
    bodies: &[(&Solid, Rect)],
    view: &View,
    runs: &[Run],
    pipe: &str,
) -> bool {
    let spot = Rect::at(at).grown(0.5);
    let depth = view.nearness(exit.at);
    !bodies.iter().any(|(s, r)| view.front_of(&s.at) > depth && r.overlaps(&spot))
        && !runs.iter().any(|r| r.id != pipe && r.strip().overlaps(&spot))
}
