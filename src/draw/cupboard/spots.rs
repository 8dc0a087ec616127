//! Where on a body or a pipe a label may point: at what can be seen of it. In: a view with its
//! bodies and runs. Out: points that nothing nearer hides, and what hides the rest.

use super::callouts::has_a_face;
use super::labels::is_joint;
use super::pipework::{BREAK, Run};
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
            let spot = Rect::new(p.x, p.y, 0.0, 0.0).grown(0.3);
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
    let spot = Rect::new(middle.x, middle.y, 0.0, 0.0).grown(0.1);
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

/// Places on a run that no nearer pipe hides, in each the nearest to its middle first.
#[derive(Clone, Debug, Default)]
pub struct Places {
    /// In clear sight, and off the outlines of bodies that are too small to write on: an arrow in
    /// one would be its own.
    pub whole: Vec<P2>,
    /// Before such a body, or at it.
    pub over: Vec<P2>,
    /// Behind a larger one, where a broken line shows it.
    pub broken: Vec<P2>,
}

impl Places {
    /// Where it is seen, the better first.
    pub fn seen(&self) -> Vec<P2> {
        self.whole.iter().chain(&self.over).copied().collect()
    }
}

/// Where a run may be spoken of. All are empty where other pipes hide it.
pub fn open_places(run: &Run, bodies: &[(&Solid, Rect)], view: &View, runs: &[Run]) -> Places {
    const COARSE: [f64; 9] = [0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.12, 0.88];
    const FINE: [f64; 10] = [0.45, 0.55, 0.35, 0.65, 0.25, 0.75, 0.15, 0.85, 0.06, 0.94];
    let mut places = Places::default();
    for p in COARSE.into_iter().chain(FINE).map(|t| run.at(t)) {
        let spot = |half: f64| Rect::new(p.x, p.y, 0.0, 0.0).grown(half);
        // Another straight of the same pipe may lie before this one and flow the other way.
        let over = |o: &Run| {
            if o.id == run.id {
                o.nearness > run.nearness + 1.0
            } else {
                o.nearness >= run.nearness
            }
        };
        let narrow = spot(run.half.max(0.8));
        if runs.iter().any(|o| over(o) && o.strip().overlaps(&narrow)) {
            continue;
        }
        let wide = spot(1.5);
        let nearer = |s: &Solid| view.front_of(&s.at) > run.nearness;
        let here = || bodies.iter().filter(|(_, r)| r.overlaps(&wide));
        let hidden = here().any(|(s, _)| nearer(s));
        let of = match here().find(|(_, r)| !has_a_face(*r)) {
            // Under a small body it is that one's.
            Some(_) if hidden => continue,
            Some(_) => &mut places.over,
            None if hidden => &mut places.broken,
            None => &mut places.whole,
        };
        of.push(p);
    }
    for of in [&mut places.whole, &mut places.over, &mut places.broken] {
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
    let spot = Rect::new(at.x, at.y, 0.0, 0.0).grown(0.5);
    let depth = view.nearness(exit.at);
    !bodies.iter().any(|(s, r)| view.front_of(&s.at) > depth && r.overlaps(&spot))
        && !runs.iter().any(|r| r.id != pipe && r.strip().overlaps(&spot))
}

/// A place right beside a run that nearer pipes hide, where an arrow may stand for it.
pub fn beside(run: &Run, bodies: &[Rect], runs: &[Run]) -> Option<P2> {
    const AWAY: f64 = 1.4;
    let over = runs.iter().filter(|o| o.id != run.id && o.strip().overlaps(&run.strip()));
    let half = over.map(|o| o.half).fold(run.half, f64::max);
    let at = |t: f64, side: f64| {
        let (p, off) = (run.at(t), side * (half + AWAY));
        if run.upright() { P2::new(p.x + off, p.y) } else { P2::new(p.x, p.y + off) }
    };
    let free = |p: &P2| {
        let spot = Rect::new(p.x, p.y, 0.0, 0.0).grown(1.1);
        !bodies.iter().any(|b| b.overlaps(&spot)) && !runs.iter().any(|r| r.strip().overlaps(&spot))
    };
    [0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.1, 0.9]
        .into_iter()
        .flat_map(|t| [at(t, -1.0), at(t, 1.0)])
        .find(free)
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
        Run { id: id.to_owned(), from, to, real_from, real_to, half: 1.1, nearness }
    }

    /// An arrow on a nearer pipe would give that a second flow.
    #[test]
    fn no_arrow_lies_on_a_nearer_pipe() {
        let room = Box3 { x: 0.0, y: 0.0, z: 0.0, w: 1000.0, d: 600.0, h: 1000.0 };
        let view = View::new(Projection::Front, 10.0, room, P2::default());
        let (far, over, part) = (run("a", 60.0, 50.0), run("b", 60.0, 90.0), run("c", 30.0, 90.0));
        let all = [far.clone(), over.clone()];
        let none = open_places(&far, &[], &view, &all);
        assert!(none.seen().is_empty() && none.broken.is_empty());
        let at = beside(&far, &[], &all).unwrap();
        assert!(!over.strip().overlaps(&Rect::new(at.x, at.y, 0.0, 0.0).grown(1.0)));
        let places = open_places(&far, &[], &view, &[far.clone(), part.clone()]).whole;
        assert!(!places.is_empty() && places.iter().all(|p| p.x > part.to.x));
        assert_eq!(open_places(&over, &[], &view, &all).whole[0], over.at(0.5));
    }
}
