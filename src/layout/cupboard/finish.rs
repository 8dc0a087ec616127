//! The last touches. In: placed bodies and routed pipes. Out: solids, clips, exits, what goes in
//! before the cylinder, the heights chain as it came out, and clashes if any are left.

use crate::catalogue::{Mount, Tube};
use crate::layout::space::{Answer, Block, Dir, V};
use crate::model::{Side, System};

use super::body::{self, Stood};
use super::chains::Strung;
use super::drawn::Drawn;
use super::place::Placed;
use super::plan::{CupboardPlan, Exit, Fault, Form, Held, Owner, PlacedPort, Solid, Trouble};
use super::tails::SLEEVE;
use super::{fitted, levels, strapped};

pub fn solids(
    sys: &System,
    strung: &Strung,
    placed: &Placed,
    drawn: &Drawn,
    plan: &mut CupboardPlan,
) {
    for s in &placed.room.stood {
        let mut solid = solid(s, held(sys, strung, s));
        solid.access = placed.room.access_list(s.body.owner);
        plan.solids.push(solid);
    }
    for s in &drawn.fittings {
        plan.solids.push(solid(s, Held::Line));
    }
}

/// What carries a body that has a place of its own.
fn held(sys: &System, strung: &Strung, s: &Stood) -> Held {
    match (s.body.mount, s.body.owner) {
        (Mount::Floor, _) => Held::To(Side::Floor),
        (Mount::Line, Owner::Part(_)) => Held::Line,
        (Mount::On, Owner::Part(ix)) => match fitted::host(sys, strung, ix) {
            Some(host) => Held::On(sys.part(host).tag.clone()),
            None => Held::To(s.fixed_to),
        },
        _ => Held::To(s.fixed_to),
    }
}

pub(super) fn solid(s: &Stood, held: Held) -> Solid {
    let ports = s
        .ports
        .iter()
        .map(|p| PlacedPort { port: p.port, at: super::to_p3(p.at), out: body::side_of(p.out) })
        .collect();
    Solid {
        owner: s.body.owner,
        tag: s.body.tag.clone(),
        form: s.body.form,
        at: super::to_box(&s.at),
        fixed_to: s.fixed_to,
        held,
        access: Vec::new(),
        ports,
    }
}

pub fn finish(sys: &System, placed: &Placed, plan: &mut CupboardPlan) {
    let cylinders: Vec<_> =
        placed.room.stood.iter().filter(|s| body::is_cylinder(&s.body.kind)).collect();
    for r in &mut plan.routes {
        let points: Vec<V> = r.points.iter().map(|p| [p.x, p.y, p.z]).collect();
        if r.routed {
            r.clips = clips(sys, r.pipe, &points).into_iter().map(super::to_p3).collect();
        }
        r.before_cylinder = cylinders.iter().any(|c| behind(&points, c));
        if let Some(t) = placed.tails.get(&r.pipe) {
            // Sleeve one size up, or a clean core round lagging (common practice).
            let core = ((r.od + 2.0 * r.lagging) / 2.0 + SLEEVE).ceil() * 2.0;
            r.exit = Some(Exit { side: t.side, at: super::to_p3(t.at), core });
        }
    }
    strapped::strap(sys, plan);
    plan.heights = levels::chains(sys, plan);
    clashes(sys, plan);
}

/// Clips along each straight: one within 300 mm of each change of direction, none further apart
/// than the table allows: a straight of length l takes ceil(l / spacing) + 1 (BS EN 806-4
/// spacing; end rule common practice). Straights under 250 mm hang on their neighbours.
fn clips(sys: &System, pipe: crate::model::PipeIx, points: &[V]) -> Vec<V> {
    let p = sys.pipe(pipe);
    let tube = p.size.as_ref().and_then(|s| Tube::called(&s.value));
    let spacing = tube.map_or([1.2, 1.8], |t| t.clip);
    let mut out = Vec::new();
    for w in points.windows(2) {
        let Some(dir) = Dir::between(w[0], w[1]) else { continue };
        let l = crate::layout::space::length(w);
        if l < 250.0 {
            continue;
        }
        let max = 1000.0 * if dir.axis() == 2 { spacing[1] } else { spacing[0] };
        let inset = (l * 0.25).min(150.0);
        let inner = l - 2.0 * inset;
        let n = clip_count(inner, max);
        for i in 0..n {
            let s = inset + inner * i as f64 / (n as f64 - 1.0);
            out.push(dir.step(w[0], s.round()));
        }
    }
    out
}

/// Clips on a straight with one at each end.
pub fn clip_count(length: f64, max: f64) -> usize {
    (length / max - 1e-9).ceil().max(1.0) as usize + 1
}

/// True where some of a pipe lies between a cylinder and a wall behind it.
fn behind(points: &[V], cylinder: &Stood) -> bool {
    let c = cylinder.at.centre();
    let shadow = Block::new(
        [cylinder.at.lo[0] + 30.0, -1.0, cylinder.at.lo[2]],
        [cylinder.at.hi[0] - 30.0, c[1], cylinder.at.hi[2]],
    );
    points.windows(2).any(|w| Block::around(w[0], w[1]).grown(1.0).overlaps(&shadow))
}

/// Length and elbows as laid, and of each chain laid alone.
pub fn figures(answer: &Answer, plan: &mut CupboardPlan) {
    for (laid, least) in answer.laid.iter().zip(&answer.least) {
        if laid.found {
            plan.length += crate::layout::space::length(&laid.points);
            plan.elbows += laid.points.len().saturating_sub(2);
            plan.least_length += least.0;
            plan.least_elbows += least.1;
        }
    }
}

/// What still touches: named, outlined, never hidden.
fn clashes(sys: &System, plan: &mut CupboardPlan) {
    let mut found = Vec::new();
    for (i, a) in plan.solids.iter().enumerate() {
        for b in &plan.solids[i + 1..] {
            if a.at.overlaps(&b.at) {
                found.push((
                    format!("{} and {} take the same space", a.tag, b.tag),
                    vec![a.tag.clone(), b.tag.clone()],
                    None,
                    a.at,
                ));
            }
        }
    }
    for r in &plan.routes {
        if !r.routed {
            continue;
        }
        let p = sys.pipe(r.pipe);
        for s in &plan.solids {
            let own = match s.owner {
                Owner::Part(x) => {
                    x == p.from.part
                        || x == p.to.part
                        || sys.part(x).on == Some(p.from.part)
                        || sys.part(x).on == Some(p.to.part)
                }
                Owner::Unit(u) => {
                    sys.part(p.from.part).unit == Some(u) || sys.part(p.to.part).unit == Some(u)
                }
            };
            if !own && r.blocks().iter().any(|b| s.holds(b)) {
                found.push((
                    format!("{} runs through {}", p.id, s.tag),
                    vec![p.id.clone(), s.tag.clone()],
                    Some(r.pipe),
                    s.at,
                ));
            }
        }
    }
    for (i, a) in plan.routes.iter().enumerate() {
        for b in &plan.routes[i + 1..] {
            if !a.routed || !b.routed {
                continue;
            }
            let (p, q) = (sys.pipe(a.pipe), sys.pipe(b.pipe));
            let joined =
                [p.from.part, p.to.part].iter().any(|x| *x == q.from.part || *x == q.to.part);
            let hit =
                a.blocks().iter().find_map(|x| b.blocks().iter().find(|y| x.overlaps(y)).copied());
            if let Some(at) = hit.filter(|_| !joined) {
                found.push((
                    format!("{} and {} touch", p.id, q.id),
                    vec![p.id.clone(), q.id.clone()],
                    Some(b.pipe),
                    at,
                ));
            }
        }
    }
    for (what, parts, pipe, at) in found {
        let trouble = if pipe.is_some() { Trouble::Way } else { Trouble::Place };
        plan.faults.push(Fault { trouble, what, parts, pipe, at: Some(at) });
    }
}

impl Solid {
    /// Boxes that together hold the body; round bodies are sliced.
    pub fn blocks(&self) -> Vec<crate::model::Box3> {
        let n = 32;
        let b = self.at;
        let (a, r) = match self.form {
            Form::Upright => (0, b.w / 2.0),
            Form::Lying => (2, b.h / 2.0),
            Form::Box | Form::Domed => return vec![b],
        };
        let cy = b.y + b.d / 2.0;
        (0..n)
            .map(|i| {
                let lo = -r + 2.0 * r * f64::from(i) / f64::from(n);
                let hi = -r + 2.0 * r * f64::from(i + 1) / f64::from(n);
                let near = if lo <= 0.0 && hi >= 0.0 { 0.0 } else { lo.abs().min(hi.abs()) };
                let half = (r * r - near * near).max(0.0).sqrt();
                let mut s = b;
                s.y = cy - half;
                s.d = 2.0 * half;
                if a == 0 {
                    s.x = b.x + r + lo;
                    s.w = hi - lo;
                } else {
                    s.z = b.z + r + lo;
                    s.h = hi - lo;
                }
                s
            })
            .collect()
    }

    /// True where two bodies share room.
    pub fn touches(&self, other: &Solid) -> bool {
        self.at.overlaps(&other.at)
            && self.blocks().iter().any(|a| other.blocks().iter().any(|b| a.overlaps(b)))
    }

    /// True where a box reaches into the body.
    pub fn holds(&self, b: &crate::model::Box3) -> bool {
        self.at.overlaps(b) && self.blocks().iter().any(|a| a.overlaps(b))
    }
}

impl super::plan::Route {
    /// Boxes round each straight, lagging and all.
    pub fn blocks(&self) -> Vec<crate::model::Box3> {
        let r = self.od / 2.0 + self.lagging;
        self.points
            .windows(2)
            .filter_map(|w| {
                let (a, b) = ([w[0].x, w[0].y, w[0].z], [w[1].x, w[1].y, w[1].z]);
                let axis = Dir::between(a, b)?.axis();
                let mut by = [r; 3];
                by[axis] = 0.0;
                Some(super::to_box(&Block::around(a, b).grown_each(by)))
            })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 6.0 m of horizontal 22 mm copper, clips at both ends, 1.8 m apart at most: 5
    /// (BS EN 806-4 spacing).
    #[test]
    fn six_metres_take_five_clips() {
        assert_eq!(clip_count(6000.0, 1800.0), 5);
    }
}
