//! The cupboard: places every part, routes every pipe, proves that it fits. In: the sized system.
//! Out: [`plan::CupboardPlan`] in real mm.
//!
//! The heights chain comes first, then bodies in the trade's order, then tails, then all pipes
//! together. A fall of 1:200 is drawn level; the heights chain tells it.

mod bank;
mod body;
mod chains;
mod ends;
mod finish;
mod fitted;
mod floor;
mod hang;
mod heights;
mod place;
pub mod plan;
mod room;
mod route;
mod tails;
pub mod takeoff;

use crate::layout::space::{self, Block, V};
use crate::model::{Box3, Cupboard, P3, System};
use crate::size::Sized;

use plan::{CupboardPlan, Fault};

/// Places and routes; `None` where the description has no cupboard.
pub fn lay_out(sized: &Sized) -> Option<CupboardPlan> {
    let sys = &sized.system;
    let cupboard = sys.site.cupboard.as_ref()?;
    let strung = chains::string(sys);
    let specs = ends::specs(sys, &strung);
    let mut best: Option<(usize, CupboardPlan)> = None;
    for way in place::WAYS {
        let plan = one_way(sys, cupboard, &strung, &specs, way)?;
        let open = plan.faults.len() + plan.routes.iter().filter(|r| !r.routed).count();
        if best.as_ref().is_none_or(|(b, _)| open < *b) {
            best = Some((open, plan));
        }
        if open == 0 {
            break;
        }
    }
    best.map(|b| b.1)
}

fn one_way(
    sys: &System,
    cupboard: &Cupboard,
    strung: &chains::Strung,
    specs: &ends::Specs,
    way: place::Way,
) -> Option<CupboardPlan> {
    let placed = place::place(sys, strung, specs, way)?;
    let specs = &route::freed(sys, strung, specs, &placed);
    let problem = route::problem(sys, strung, specs, &placed);
    let answer = space::solve(&problem);
    let drawn = route::draw(sys, strung, specs, &placed, &problem, &answer);
    let mut plan = CupboardPlan { room: cupboard.room(), ..CupboardPlan::default() };
    finish::solids(&placed, &drawn, &mut plan);
    plan.faults.clone_from(&placed.faults);
    for (c, laid) in answer.laid.iter().enumerate() {
        let own = &strung.chains[c];
        if !laid.found {
            let pipe = own.pipes[0].0;
            let points: Vec<V> = drawn
                .routes
                .iter()
                .zip(&drawn.chain_of)
                .filter(|(_, o)| **o == Some(c))
                .flat_map(|(r, _)| r.points.iter().map(|p| [p.x, p.y, p.z]))
                .collect();
            let (what, at) = match route::blocker(&placed, &points) {
                Some((tag, b)) => (format!("{tag} stands in its way"), Some(to_box(&b))),
                None => ("other pipes leave it no way".to_owned(), None),
            };
            plan.faults.push(Fault {
                what: format!("no way found for {}: {what}", sys.pipe(pipe).id),
                parts: own.pipes.iter().map(|(p, _)| sys.pipe(*p).id.clone()).collect(),
                pipe: Some(pipe),
                at,
            });
        }
    }
    plan.routes = drawn.routes;
    finish::finish(sys, strung, &placed, &mut plan);
    finish::figures(&answer, &mut plan);
    Some(plan)
}

pub(crate) fn to_box(b: &Block) -> Box3 {
    let s = b.size();
    Box3 { x: b.lo[0], y: b.lo[1], z: b.lo[2], w: s[0], d: s[1], h: s[2] }
}

pub(crate) fn to_p3(v: V) -> P3 {
    P3::new(v[0], v[1], v[2])
}
