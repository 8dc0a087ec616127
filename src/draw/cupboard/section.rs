//! Sections that look at a side wall (ISO 128-3, from memory): where the cutting plane stands, what
//! lies between it and the wall, and the marks that say so on the plan. In: the cupboard plan.
//! Out: the sections that have something to show, the plan cut down to one of them.

use super::pipework::LABELLED;
use super::surfaces::worth_marking;
use super::view::View;
use crate::catalogue::Kind;
use crate::draw::scene::{Anchor, Ink, Item, Shape, Stroke, Words};
use crate::draw::style::{letters, width};
use crate::layout::cupboard::plan::{CupboardPlan, Owner, Route, Solid};
use crate::model::{Box3, P2, P3, Side, System};

/// Least distance from the wall to the plane: pipes clipped to it lie nearer.
const LEAST: f64 = 150.0;
/// The plane may stand as much farther off where it then cuts fewer bodies and pipes.
const PLAY: f64 = 150.0;
const STEP: f64 = 10.0;
/// Where fewer pipes run along the wall, the set-out sheet, the elevation and the plan say it all.
const WORTH: usize = 3;

/// A cutting plane parallel to a side wall.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Section {
    pub letter: char,
    pub wall: Side,
    /// Where the plane stands, from the left wall, mm.
    pub at: f64,
}

impl Section {
    /// True on the wall's side of the plane.
    fn shows(&self, x: f64) -> bool {
        if self.wall == Side::Left { x <= self.at } else { x >= self.at }
    }

    pub fn cuts(&self, p: P3) -> bool {
        (p.x - self.at).abs() < 1e-6
    }

    /// What a pipe is joined to where the plane cuts it.
    pub fn end(&self) -> String {
        format!("section {}.cut", self.letter)
    }

    /// `A-A`.
    pub fn name(&self) -> String {
        format!("{0}-{0}", self.letter)
    }
}

/// The sections worth drawing, lettered from A.
pub fn sections(system: &System, plan: &CupboardPlan) -> Vec<Section> {
    [Side::Left, Side::Right]
        .into_iter()
        .filter_map(|wall| plane(system, plan, wall))
        .zip('A'..)
        .map(|(section, letter)| Section { letter, ..section })
        .collect()
}

fn plane(system: &System, plan: &CupboardPlan, wall: Side) -> Option<Section> {
    let room = plan.room;
    let from_wall = |x: f64| if wall == Side::Left { x } else { room.w - x };
    let held: Vec<&Solid> = plan
        .solids
        .iter()
        .filter(|s| s.fixed_to == wall && worth_marking(system, &room, s))
        .collect();
    let holes = plan.routes.iter().filter(|r| r.exit.as_ref().is_some_and(|e| e.side == wall));
    if held.is_empty() && holes.count() == 0 {
        return None;
    }
    let far = |s: &&Solid| from_wall(s.at.x).max(from_wall(s.at.x + s.at.w));
    let reach = held.iter().map(far).fold(LEAST, f64::max) + STEP;
    let section = (0..=(PLAY / STEP) as usize)
        .map(|i| reach + STEP * i as f64)
        .filter(|depth| *depth < room.w)
        .map(|depth| Section {
            letter: 'A',
            wall,
            at: if wall == Side::Left { depth } else { room.w - depth },
        })
        .min_by_key(|s| spoilt(system, plan, s))?;
    let shown = seen(system, plan, &section);
    let runs = shown.routes.iter().flat_map(|r| r.points.windows(2)).filter(|p| long(p)).count();
    (runs >= WORTH).then_some(section)
}

/// A straight that the section shows as one, long enough for a label.
fn long(pair: &[P3]) -> bool {
    (pair[0].y - pair[1].y).abs() + (pair[0].z - pair[1].z).abs() > LABELLED
}

/// How many bodies the plane cuts, and how many pipes lie in it.
fn spoilt(system: &System, plan: &CupboardPlan, section: &Section) -> usize {
    let cut =
        |s: &&Solid| !is_cylinder(system, s) && s.at.x < section.at && section.at < s.at.x + s.at.w;
    let within =
        |r: &Route, p: &[P3]| (p[0].x - p[1].x).abs() < 0.5 && (p[0].x - section.at).abs() < r.od;
    let lying = |r: &&Route| {
        r.points.windows(2).any(|p| within(r, p)) || r.points.iter().any(|p| section.cuts(*p))
    };
    plan.solids.iter().filter(cut).count() + plan.routes.iter().filter(lying).count()
}

pub fn kind_of(system: &System, solid: &Solid) -> Kind {
    match solid.owner {
        Owner::Part(ix) => system.part(ix).kind,
        Owner::Unit(ix) => system.unit(ix).kind,
    }
}

fn is_cylinder(system: &System, solid: &Solid) -> bool {
    kind_of(system, solid).symbol.name == "cylinder"
}

/// What lies between the plane and the wall. A body is shown whole where most of it, or one of its
/// ports, does, or where it is fixed to the wall: a tee in a pipe's line is not, whatever wall its
/// pipe runs along, and beyond the plane it would hang in the air. A pipe ends in the plane. A
/// cylinder is shown by its outline alone.
pub fn seen(system: &System, plan: &CupboardPlan, section: &Section) -> CupboardPlan {
    let shown = |s: &&Solid| {
        !is_cylinder(system, s)
            && ((s.fixed_to == section.wall && worth_marking(system, &plan.room, s))
                || section.shows(s.at.x + s.at.w / 2.0)
                || s.ports.iter().any(|p| section.shows(p.at.x)))
    };
    let touches = |b: &Box3| section.shows(b.x) || section.shows(b.x + b.w);
    CupboardPlan {
        solids: plan.solids.iter().filter(shown).cloned().collect(),
        routes: plan.routes.iter().flat_map(|r| pieces(r, section)).collect(),
        faults: plan
            .faults
            .iter()
            .filter(|f| f.at.as_ref().is_some_and(touches))
            .cloned()
            .collect(),
        ..plan.clone()
    }
}

/// The stretches of a route between the plane and the wall.
fn pieces(route: &Route, section: &Section) -> Vec<Route> {
    if !route.routed {
        let whole = route.points.iter().all(|p| section.shows(p.x));
        return if whole { vec![route.clone()] } else { Vec::new() };
    }
    let mut stretches: Vec<Vec<P3>> = Vec::new();
    let mut open: Vec<P3> = Vec::new();
    for (i, p) in route.points.iter().enumerate() {
        let here = section.shows(p.x);
        if let Some(q) = i.checked_sub(1).map(|j| route.points[j])
            && section.shows(q.x) != here
        {
            // Routes run at right angles: what passes the plane runs along x.
            open.push(P3::new(section.at, p.y, p.z));
            if !here {
                stretches.push(std::mem::take(&mut open));
            }
        }
        if here {
            open.push(*p);
        }
    }
    stretches.push(open);
    stretches
        .into_iter()
        .filter(|points| points.len() > 1)
        .map(|points| Route {
            clips: route.clips.iter().filter(|c| section.shows(c.x)).copied().collect(),
            exit: route.exit.clone().filter(|e| points.contains(&e.at)),
            points,
            ..route.clone()
        })
        .collect()
}

/// The cylinder nearest to the wall. It stands between the plane and the eye, or is cut: its
/// outline alone is shown.
pub fn outlined<'a>(
    system: &System,
    plan: &'a CupboardPlan,
    section: &Section,
) -> Option<&'a Solid> {
    plan.solids.iter().filter(|s| is_cylinder(system, s)).min_by(|a, b| {
        let off = |s: &Solid| (s.at.x + s.at.w / 2.0 - section.at).abs();
        off(a).total_cmp(&off(b)).then(a.tag.cmp(&b.tag))
    })
}

/// A long-dashed double-dotted narrow line: what lies before the cutting plane.
pub fn ghost_line() -> Stroke {
    Stroke::dashed(width::THIN, &[6.0, 0.75, 0.5, 0.75, 0.5, 0.75], Ink::BLACK)
}

/// From a cutting line to the far side of its letter.
pub const MARK: f64 = 12.0;
/// Length of the wide end of a cutting line, of the arrow, and of its head.
const END: f64 = 5.0;
const ARROW: f64 = 7.0;
const HEAD: f64 = 3.0;
/// Depth of the dimensions below the plan.
const FIGURES: f64 = 16.5;

/// The ends of the cutting lines on the plan, with arrows that look the way the section looks and
/// its letter: above the plan, and below its dimensions.
pub fn marks(view: &View, sections: &[Section]) -> Vec<Item> {
    let mut items: Vec<Item> = Vec::new();
    for section in sections {
        let x = view.point(P3::new(section.at, 0.0, 0.0)).x;
        let towards = if section.wall == Side::Left { -1.0 } else { 1.0 };
        let (top, foot) = (view.outline().y - 1.5, view.outline().bottom() + FIGURES);
        for (inner, outer) in [(top, top - END), (foot, foot + END)] {
            let ends = [P2::new(x, inner), P2::new(x, outer)];
            items.push(Shape::line(&ends, Stroke::solid(width::FRAME, Ink::BLACK)).into());
            let tip = P2::new(x + towards * ARROW, outer);
            let base = tip.x - towards * HEAD;
            let shaft = [P2::new(x, outer), P2::new(base, outer)];
            items.push(Shape::line(&shaft, Stroke::solid(width::SYMBOL, Ink::BLACK)).into());
            let head = [tip, P2::new(base, outer - HEAD / 6.0), P2::new(base, outer + HEAD / 6.0)];
            items.push(Shape::polygon(&head, None, Some(Ink::BLACK)).into());
            let at = P2::new(tip.x + towards * 2.5, outer + letters::HEADING / 2.0);
            let letter = Words::new(at, section.letter.to_string(), letters::HEADING).bold();
            items.push(letter.anchor(Anchor::Middle).halo().into());
        }
    }
    items
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::PipeIx;

    fn route(points: &[(f64, f64, f64)]) -> Route {
        Route::new(PipeIx(0), points.iter().map(|(x, y, z)| P3::new(*x, *y, *z)).collect(), 22.0)
    }

    /// A pipe that leaves the slab and comes back is two stretches, each ending in the plane.
    #[test]
    fn a_pipe_is_cut_where_it_passes_the_plane() {
        let section = Section { letter: 'A', wall: Side::Left, at: 300.0 };
        let there_and_back = route(&[
            (60.0, 50.0, 500.0),
            (400.0, 50.0, 500.0),
            (400.0, 50.0, 900.0),
            (60.0, 50.0, 900.0),
        ]);
        let cut = pieces(&there_and_back, &section);
        assert_eq!(cut.len(), 2);
        assert!(cut.iter().all(|r| r.points.iter().any(|p| section.cuts(*p))));
        assert!(cut.iter().flat_map(|r| &r.points).all(|p| p.x <= 300.0));
        assert!(pieces(&route(&[(400.0, 50.0, 0.0), (400.0, 50.0, 900.0)]), &section).is_empty());
    }
}
