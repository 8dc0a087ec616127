//! Sections that look at a wall (ISO 128-3, from memory): where the cutting plane stands and what
//! lies between it and the wall. In: the cupboard plan. Out: the sections that have something to
//! show, the plan cut down to one of them.

use super::crowd::through_the_crowd;
use super::pipework::LABELLED;
use super::surfaces::worth_marking;
use super::view::Projection;
use crate::catalogue::Kind;
use crate::draw::scene::{Ink, Stroke};
use crate::draw::style::width;
use crate::layout::cupboard::plan::{CupboardPlan, Owner, Route, Solid};
use crate::model::{Box3, P3, Side, System};

/// Least distance from the wall to the plane: pipes clipped to it lie nearer.
const LEAST: f64 = 150.0;
/// The plane may stand as much farther off where it then cuts fewer bodies and pipes.
const PLAY: f64 = 150.0;
const STEP: f64 = 10.0;
/// Where fewer pipes run along the wall, the set-out sheet, the elevation and the plan say it all.
const WORTH: usize = 3;

/// A cutting plane parallel to the wall that the section looks at: the back or a side wall.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Section {
    pub letter: char,
    pub wall: Side,
    /// Where the plane stands, from the left wall, or from the back wall if it looks at that, mm.
    pub at: f64,
    /// How far from the left wall the section is drawn, where beyond that it shows nothing, mm.
    pub upto: Option<f64>,
}

impl Section {
    /// What is drawn of the room.
    pub fn room(&self, room: &Box3) -> Box3 {
        Box3 { w: self.upto.unwrap_or(room.w), ..*room }
    }

    /// How far a point lies from the wall from which the plane is measured.
    pub fn along(&self, p: P3) -> f64 {
        if self.wall == Side::Back { p.y } else { p.x }
    }

    /// True on the wall's side of the plane.
    pub fn shows(&self, p: P3) -> bool {
        let at = self.along(p);
        if self.wall == Side::Right { at >= self.at } else { at <= self.at }
    }

    pub fn cuts(&self, p: P3) -> bool {
        (self.along(p) - self.at).abs() < 1e-6
    }

    /// What a pipe is joined to where the plane cuts it.
    pub fn end(&self) -> String {
        format!("section {}.cut", self.letter)
    }

    /// `A–A`.
    pub fn name(&self) -> String {
        format!("{0}–{0}", self.letter)
    }

    /// How far off the wall that it looks at the plane stands, mm.
    pub fn off(&self, room: &Box3) -> f64 {
        if self.wall == Side::Right { room.w - self.at } else { self.at }
    }

    pub fn projection(&self) -> Projection {
        match self.wall {
            Side::Left => Projection::Left,
            Side::Right => Projection::Right,
            _ => Projection::Front,
        }
    }

    /// From where to where a body reaches across the plane.
    fn span(&self, b: &Box3) -> (f64, f64) {
        if self.wall == Side::Back { (b.y, b.y + b.d) } else { (b.x, b.x + b.w) }
    }

    /// The point of a stretch from `p` to `q` at which the plane cuts it.
    fn point_on(&self, p: P3, q: P3) -> P3 {
        let (a, b) = (self.along(p), self.along(q));
        let t = (self.at - a) / (b - a);
        let on = |a: f64, b: f64| a + (b - a) * t;
        let at = P3::new(on(p.x, q.x), on(p.y, q.y), on(p.z, q.z));
        if self.wall == Side::Back { P3 { y: self.at, ..at } } else { P3 { x: self.at, ..at } }
    }
}

/// The sections worth drawing, lettered from A: at the side walls that have something to show, and
/// through the crowd where that is wanted.
pub fn sections(system: &System, plan: &CupboardPlan, crowd: bool) -> Vec<Section> {
    let sides = [Side::Left, Side::Right].into_iter().filter_map(|wall| plane(system, plan, wall));
    let mut all: Vec<Section> = sides.collect();
    if crowd {
        all.extend(through_the_crowd(system, plan, &all));
    }
    all.into_iter()
        .zip('A'..)
        .map(|(section, letter)| {
            let upto = empty_from(system, plan, &section);
            Section { letter, upto, ..section }
        })
        .collect()
}

/// Where a section parallel to the front is broken off: much of a wide room would stand empty.
fn empty_from(system: &System, plan: &CupboardPlan, section: &Section) -> Option<f64> {
    const EDGE: f64 = 60.0;
    const MUCH: f64 = 300.0;
    let shown = seen(system, plan, section);
    let bodies = shown.solids.iter().map(|s| s.at.x + s.at.w);
    let pipes = shown.routes.iter().flat_map(|r| r.points.iter().map(|p| p.x + r.od / 2.0));
    let upto = bodies.chain(pipes).fold(0.0, f64::max) + EDGE;
    (section.wall == Side::Back && upto + MUCH < plan.room.w).then_some(upto)
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
            upto: None,
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
pub fn spoilt(system: &System, plan: &CupboardPlan, section: &Section) -> usize {
    let cut = |s: &&Solid| {
        let (from, to) = section.span(&s.at);
        !is_cylinder(system, s) && from < section.at && section.at < to
    };
    let within = |r: &Route, p: &[P3]| {
        let (a, b) = (section.along(p[0]), section.along(p[1]));
        (a - b).abs() < 0.5 && (a - section.at).abs() < r.od
    };
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

pub fn is_cylinder(system: &System, solid: &Solid) -> bool {
    kind_of(system, solid).symbol.name == "cylinder"
}

/// What lies between the plane and the wall. A body is shown whole where most of it, or one of its
/// ports, does, or where it is fixed to the wall: a tee in a pipe's line is not, whatever wall its
/// pipe runs along, and beyond the plane it would hang in the air. A pipe ends in the plane. A
/// cylinder that does not wholly lie behind the plane is shown by its outline alone.
pub fn seen(system: &System, plan: &CupboardPlan, section: &Section) -> CupboardPlan {
    let shown = |s: &&Solid| shows_body(system, plan, section, s);
    let touches = |b: &Box3| {
        section.shows(P3::new(b.x, b.y, b.z))
            || section.shows(P3::new(b.x + b.w, b.y + b.d, b.z + b.h))
    };
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

fn shows_body(system: &System, plan: &CupboardPlan, section: &Section, s: &Solid) -> bool {
    let side = section.wall != Side::Back;
    if is_cylinder(system, s) {
        return !side && section.span(&s.at).1 <= section.at;
    }
    // Most of what is in a cupboard is held by its back wall: that alone does not bring it behind
    // the plane.
    (side && s.fixed_to == section.wall && worth_marking(system, &plan.room, s))
        || section.shows(s.at.middle())
        || s.ports.iter().any(|p| section.shows(p.at))
}

/// The stretches of a route between the plane and the wall.
fn pieces(route: &Route, section: &Section) -> Vec<Route> {
    if !route.routed {
        let whole = route.points.iter().all(|p| section.shows(*p));
        return if whole { vec![route.clone()] } else { Vec::new() };
    }
    let mut stretches: Vec<Vec<P3>> = Vec::new();
    let mut open: Vec<P3> = Vec::new();
    for (i, p) in route.points.iter().enumerate() {
        let here = section.shows(*p);
        if let Some(q) = i.checked_sub(1).map(|j| route.points[j])
            && section.shows(q) != here
        {
            open.push(section.point_on(q, *p));
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
            clips: route.clips.iter().filter(|c| section.shows(**c)).copied().collect(),
            exit: route.exit.clone().filter(|e| points.contains(&e.at)),
            points,
            ..route.clone()
        })
        .collect()
}

/// The cylinders that stand between the plane and the eye, or are cut, of which the outlines alone
/// are shown: before a side wall the nearest to it.
pub fn outlined<'a>(system: &System, plan: &'a CupboardPlan, section: &Section) -> Vec<&'a Solid> {
    let mut all: Vec<&Solid> = plan
        .solids
        .iter()
        .filter(|s| is_cylinder(system, s) && !shows_body(system, plan, section, s))
        .filter(|s| section.upto.is_none_or(|x| s.at.x + s.at.w < x))
        .collect();
    if section.wall != Side::Back {
        let off = |s: &Solid| (section.along(s.at.middle()) - section.at).abs();
        all.sort_by(|a, b| off(a).total_cmp(&off(b)).then(a.tag.cmp(&b.tag)));
        all.truncate(1);
    }
    all
}

/// A long-dashed double-dotted narrow line: what lies before the cutting plane.
pub fn ghost_line() -> Stroke {
    Stroke::dashed(width::THIN, &[6.0, 0.75, 0.5, 0.75, 0.5, 0.75], Ink::BLACK)
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
        let section = Section { letter: 'A', wall: Side::Left, at: 300.0, upto: None };
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

    /// A plane parallel to the back wall keeps what lies behind it.
    #[test]
    fn what_lies_before_a_plane_parallel_to_the_front_is_left_out() {
        let section = Section { letter: 'B', wall: Side::Back, at: 200.0, upto: None };
        let towards_the_door = route(&[(60.0, 50.0, 500.0), (60.0, 450.0, 500.0)]);
        let cut = pieces(&towards_the_door, &section);
        assert_eq!(cut[0].points, [P3::new(60.0, 50.0, 500.0), P3::new(60.0, 200.0, 500.0)]);
        assert!(pieces(&route(&[(60.0, 300.0, 0.0), (60.0, 300.0, 900.0)]), &section).is_empty());
    }
}
