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

/// What a section shows of all things, by pipe or tag.
fn shown<'a>(things: &'a [Thing], section: &Section) -> BTreeSet<&'a str> {
    let plane = plane_of(section);
    let open = things.iter().filter(|t| t.near <= plane && t.seen(plane) >= SHOWN);
    open.map(|t| t.of.as_str()).collect()
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
        let there = shown(&all, section);
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
            let there = shown(&all, &section);
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::complete::complete;
    use crate::describe::read;
    use crate::layout::cupboard::plan::Solid;
    use crate::model::PartIx;

    /// A room of 1000 by 800 with boxes of 100 in it, and a board that hides most of it from the door.
    fn behind_a_board(boxes: &[(f64, f64)]) -> (System, CupboardPlan) {
        let system =
            complete(&read("cylinder \"store\" litres=210 heated=\"indirect\"").facts).system;
        let plain = |ix: &PartIx| {
            !["cylinder", "tee"].contains(&system.part(*ix).kind.symbol.name.as_str())
        };
        let part = system.part_ixs().find(plain).unwrap();
        let solid = |tag: String, at: Box3| Solid::at_the_back(part, tag, at);
        let small = |x: f64, y: f64| Box3 { x, y, z: 1000.0, w: 100.0, d: 100.0, h: 100.0 };
        let each = boxes.iter().enumerate();
        let mut solids: Vec<Solid> =
            each.map(|(i, (x, y))| solid(format!("B{i}"), small(*x, *y))).collect();
        let board = Box3 { x: 50.0, y: 700.0, z: 500.0, w: 900.0, d: 20.0, h: 1500.0 };
        solids.push(solid("BOARD".to_owned(), board));
        let room = Box3 { x: 0.0, y: 0.0, z: 0.0, w: 1000.0, d: 800.0, h: 2400.0 };
        (system, CupboardPlan { room, solids, ..CupboardPlan::default() })
    }

    /// What hangs side by side at the back is seen from the front, once the plane is between it and
    /// what hides it, and cuts nothing.
    #[test]
    fn a_row_at_the_back_is_cut_parallel_to_the_front() {
        let (system, plan) =
            behind_a_board(&[(100.0, 0.0), (300.0, 0.0), (500.0, 0.0), (700.0, 0.0)]);
        let section = through_the_crowd(&system, &plan, &[]).unwrap();
        assert_eq!(section.wall, Side::Back);
        assert!((100.0..=700.0).contains(&section.at), "{section:?}");
    }

    /// What stands one behind the other would hide itself from the front: it is seen from the side.
    #[test]
    fn a_file_to_the_back_is_cut_parallel_to_a_side_wall() {
        let file = [0.0, 120.0, 240.0, 360.0, 480.0, 600.0].map(|y| (450.0, y));
        let (system, plan) = behind_a_board(&file);
        let section = through_the_crowd(&system, &plan, &[]).unwrap();
        assert!([Side::Left, Side::Right].contains(&section.wall), "{section:?}");
        let beyond = match section.wall {
            Side::Left => section.at >= 550.0,
            _ => section.at <= 450.0,
        };
        assert!(beyond, "{section:?}");
    }

    /// Three hidden things are not worth a sheet; nor are four that another section shows.
    #[test]
    fn no_section_is_drawn_for_few_or_for_what_another_shows() {
        let row = [(100.0, 0.0), (300.0, 0.0), (500.0, 0.0), (700.0, 0.0)];
        let (system, plan) = behind_a_board(&row[..3]);
        assert!(through_the_crowd(&system, &plan, &[]).is_none());
        let (system, plan) = behind_a_board(&row);
        let there = through_the_crowd(&system, &plan, &[]).unwrap();
        assert!(through_the_crowd(&system, &plan, &[there]).is_none());
    }
}
