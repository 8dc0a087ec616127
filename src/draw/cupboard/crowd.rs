//! Where a section shows what no other view does. In: the cupboard plan and the sections there are.
//! Out: a cutting plane before things that lie hidden behind others, if there are enough of them.

use std::collections::BTreeSet;

use super::labels::is_joint;
use super::pipework::LABELLED;
use super::section::{Section, is_cylinder, spoilt};
use super::view::{Projection, View};
use crate::layout::cupboard::plan::CupboardPlan;
use crate::model::{Box3, P2, P3, Rect, Side, System};

/// A thing is hidden where less of it is seen, and shown where more is.
const HIDDEN: f64 = 0.4;
const SHOWN: f64 = 0.75;
/// As many hidden things are worth a section.
const WORTH: usize = 4;
/// What a body that the plane cuts, or a pipe that lies in it, takes from that; and a plane parallel
/// to a side wall, from where it takes more to see what is meant.
const CUT: f64 = 0.25;
const ASIDE: f64 = 2.0;
/// Between one plane that is tried and the next; off the walls.
const STEP: f64 = 10.0;
const OFF: f64 = 60.0;

/// A body or a long straight of a pipe, as one looks at it.
struct Thing {
    /// Pipe or tag: a pipe counts once.
    of: String,
    /// How near to the eye.
    near: f64,
    /// For each spot on it how near the lowest thing over it is, if there is one.
    over: Vec<f64>,
}

impl Thing {
    /// The share of its spots that are seen when all that is nearer to the eye than that is gone.
    fn seen(&self, near: f64) -> f64 {
        let open = self.over.iter().filter(|over| **over > near).count();
        open as f64 / self.over.len().max(1) as f64
    }
}

/// All things as one view shows them, each with what lies over it.
fn things(system: &System, plan: &CupboardPlan, projection: Projection) -> Vec<Thing> {
    const GRID: i32 = 4;
    let view = View::new(projection, 1.0, plan.room, P2::default());
    let near = |p: P3| view.nearness(p);
    let mut covers: Vec<(Rect, f64)> =
        plan.solids.iter().map(|s| (view.rect(&s.at), near(s.at.middle()))).collect();
    let mut wanted: Vec<(String, Rect, f64)> = plan
        .solids
        .iter()
        .zip(&covers)
        .filter(|(s, _)| !is_joint(system, s) && !is_cylinder(system, s))
        .map(|(s, (r, near))| (s.tag.clone(), *r, *near))
        .collect();
    for route in plan.routes.iter().filter(|r| r.routed) {
        for pair in route.points.windows(2) {
            let r = view.rect(&Box3::around(pair[0], pair[1], route.od / 2.0));
            let depth = f64::midpoint(near(pair[0]), near(pair[1]));
            covers.push((r, depth));
            if r.w.max(r.h) > LABELLED {
                wanted.push((system.pipe(route.pipe).id.clone(), r, depth));
            }
        }
    }
    let spot = |r: &Rect, i: i32, j: i32| {
        let part = |n: i32| (f64::from(n) + 0.5) / f64::from(GRID);
        P2::new(r.x + r.w * part(i), r.y + r.h * part(j))
    };
    let over = |p: P2, depth: f64| {
        let nearer = covers.iter().filter(|(r, near)| *near > depth + 1.0 && r.gap_to(p) <= 0.0);
        nearer.map(|(_, near)| *near).fold(f64::INFINITY, f64::min)
    };
    wanted
        .into_iter()
        .map(|(of, r, near)| {
            let spots = (0..GRID).flat_map(|i| (0..GRID).map(move |j| (i, j)));
            let over = spots.map(|(i, j)| over(spot(&r, i, j), near)).collect();
            Thing { of, near, over }
        })
        .collect()
}

/// The plane's own nearness, as its view has it.
fn plane_of(section: &Section) -> f64 {
    if section.wall == Side::Right { -section.at } else { section.at }
}

/// What a section shows of all things.
fn shown<'a>(things: &'a [Thing], section: &Section) -> impl Iterator<Item = &'a Thing> {
    let plane = plane_of(section);
    things.iter().filter(move |t| t.near <= plane && t.seen(plane) >= SHOWN)
}

/// The plane that brings to light most of what is hidden in the elevation and in the sections that
/// there are: parallel to the front, or to a side wall where that shows more.
pub fn through_the_crowd(
    system: &System,
    plan: &CupboardPlan,
    others: &[Section],
) -> Option<Section> {
    let front = things(system, plan, Projection::Front);
    let mut hidden: Vec<&str> = Vec::new();
    let open = |t: &&Thing| t.seen(f64::MAX) >= HIDDEN;
    for t in &front {
        let seen = front.iter().filter(|o| o.of == t.of).any(|o| open(&o));
        if !seen && !hidden.contains(&t.of.as_str()) {
            hidden.push(&t.of);
        }
    }
    for section in others {
        let all = things(system, plan, section.projection());
        let there: BTreeSet<&str> = shown(&all, section).map(|t| t.of.as_str()).collect();
        hidden.retain(|of| !there.contains(of));
    }
    if hidden.len() < WORTH {
        return None;
    }
    let room = plan.room;
    let mut best: Option<(f64, Section)> = None;
    let walls = [(Side::Back, room.d), (Side::Left, room.w), (Side::Right, room.w)];
    // One section a wall: its sheet is named after it.
    let looked_at = |wall: Side| others.iter().any(|s| s.wall == wall);
    for (wall, far) in walls.into_iter().filter(|(wall, _)| !looked_at(*wall)) {
        let at = |at: f64| Section { letter: 'A', wall, at, upto: None };
        let all = things(system, plan, at(OFF).projection());
        for i in 0..((far - 2.0 * OFF) / STEP) as usize {
            let section = at(OFF + STEP * i as f64);
            let there: BTreeSet<&str> = shown(&all, &section).map(|t| t.of.as_str()).collect();
            let brought = hidden.iter().filter(|of| there.contains(**of)).count();
            let cut = spoilt(system, plan, &section);
            let aside = if wall == Side::Back { 0.0 } else { ASIDE };
            let worth = brought as f64 - CUT * cut as f64 - aside;
            if brought >= WORTH && best.as_ref().is_none_or(|(w, _)| worth > *w) {
                best = Some((worth, section));
            }
        }
    }
    best.filter(|(worth, _)| *worth > 0.0).map(|(_, section)| section)
}
