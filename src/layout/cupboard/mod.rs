//! The cupboard: places every part, routes every pipe, proves that it fits. In: the sized system.
//! Out: [`plan::CupboardPlan`] in real mm.
//!
//! The heights chain comes first, then bodies in the trade's order, then tails, then all pipes
//! together. A fall of 1:200 is drawn level; the heights chain tells it.

mod bank;
mod body;
mod chains;
mod discharge;
mod drawn;
mod ends;
mod finish;
mod fitted;
mod floor;
mod hang;
mod heights;
mod judge;
mod lessons;
mod levels;
pub mod noggins;
mod passage;
mod place;
pub mod plan;
mod room;
mod route;
mod strapped;
mod tails;
pub mod takeoff;
mod under;

use crate::layout::space::{self, Block, V};
use crate::model::{Box3, Cupboard, P3, System};
use crate::size::Sized;

use lessons::Lessons;
use plan::{CupboardPlan, Fault, Line, Trouble};

/// Places and routes; `None` where the description has no cupboard.
pub fn lay_out(sized: &Sized) -> Option<CupboardPlan> {
    lay_out_after(sized, None)
}

/// The same, so that what an edit does not concern stands and runs as it did on an earlier issue.
pub fn lay_out_after(sized: &Sized, earlier: Option<&CupboardPlan>) -> Option<CupboardPlan> {
    let sys = &sized.system;
    let cupboard = sys.site.cupboard.as_ref()?;
    let strung = chains::string(sys);
    let specs = ends::specs(sys, &strung);
    let mut best: Option<Try> = None;
    let mut ways: Vec<usize> = (0..place::WAYS.len()).collect();
    let mut known = Lessons::default();
    let mut before: Vec<Option<space::Laid>> = Vec::new();
    if let Some(earlier) = earlier {
        ways.sort_by_key(|w| *w != earlier.way);
        known = Lessons::of(sys, &strung, earlier);
        before = strung.chains.iter().map(|c| earlier.line(&c.joins(sys)).cloned()).collect();
    }
    let walk = |way: usize| Walk { way, specs: specs.clone(), lessons: known.clone() };
    let mut walks: Vec<Walk> = ways.into_iter().map(walk).collect();
    let mut tries = 0;
    'laps: for Lap { each, stale, few, most } in LAPS {
        for walk in &mut walks {
            let mut idle = 0;
            for _ in 0..each {
                if best.as_ref().is_some_and(|b| b.open > few) || tries >= most {
                    break 'laps;
                }
                let now = try_way(sys, &strung, walk, &before)?;
                idle += 1;
                if best.as_ref().is_none_or(|b| (now.open, now.poor) < (b.open, b.poor)) {
                    best = Some(now);
                    idle = 0;
                }
                tries += 1;
                // What stood so before is not moved for looks.
                let enough = tries >= ENOUGH || earlier.is_some();
                let settled = |b: &Try| b.wound == 0 || tries >= LONG_ENOUGH || earlier.is_some();
                let done = |b: &Try| b.open == 0 && (b.poor == 0 || (enough && settled(b)));
                if best.as_ref().is_some_and(done) {
                    break 'laps;
                }
                let far_off = tries > ENOUGH && best.as_ref().is_some_and(|b| b.open >= HOPELESS);
                if idle >= stale || far_off {
                    break;
                }
            }
        }
    }
    let mut best = best?;
    let Try { specs, placed, problem, answer, .. } = &mut best;
    under::shift(sys, &strung, specs, placed, problem, answer, &before);
    Some(finished(sys, cupboard, &strung, best))
}

/// A way of placing, and what it has learnt so far.
struct Walk {
    way: usize,
    specs: ends::Specs,
    lessons: Lessons,
}

/// Once through all ways.
struct Lap {
    /// Tries of each way, each knowing what the one before could not do, and tries in a row that may
    /// bring nothing.
    each: usize,
    stale: usize,
    /// Given up where more lines than these are open, or after so many tries.
    few: usize,
    most: usize,
}

/// The second for the last line or two: it goes on where each way of the first left off.
const LAPS: [Lap; 2] = [
    Lap { each: 4, stale: 2, few: usize::MAX, most: usize::MAX },
    Lap { each: 8, stale: 8, few: 4, most: 64 },
];
/// Tries after which a cupboard with every line found is good enough, blemished as it may be.
const ENOUGH: usize = 6;
/// The same where a discharge turns more often than is stated.
const LONG_ENOUGH: usize = 20;
/// Blemishes that a discharge is worth which turns more often than is stated.
const WOUND: usize = 5;
/// Lines left open from which, after so many, every way is tried but once.
const HOPELESS: usize = 6;

/// One placing with the lines as far as they were found.
struct Try {
    specs: ends::Specs,
    placed: place::Placed,
    problem: space::Problem,
    answer: space::Answer,
    way: usize,
    /// What found no place and no way, and what a surveyor would not like.
    open: usize,
    poor: usize,
    /// Of that, discharges that turn more often than is stated.
    wound: usize,
}

fn try_way(
    sys: &System,
    strung: &chains::Strung,
    Walk { way, specs, lessons }: &mut Walk,
    before: &[Option<space::Laid>],
) -> Option<Try> {
    let way = *way;
    let mut placed = place::place(sys, strung, specs, place::WAYS[way], lessons)?;
    let freed = route::freed(sys, strung, specs, &placed);
    let mut problem = route::problem(sys, strung, &freed, &placed, place::WAYS[way].snug);
    let mut answer = space::solve_from(&problem, before.to_vec());
    lessons.learn(sys, strung, specs, &placed, &answer);
    under::rescue(sys, strung, &freed, &mut placed, &mut problem, &mut answer);
    let lost = answer.laid.iter().zip(&strung.chains).filter(|(l, _)| !l.found);
    // A first pipe that is too long is no better than none.
    let open = placed.faults.len()
        + lost.map(|(_, c)| c.pipes.len()).sum::<usize>()
        + judge::too_far(sys, strung, &answer);
    let wound = judge::winding(sys, strung, &answer);
    let poor = judge::blemishes(&problem, &answer) + WOUND * wound;
    Some(Try { specs: freed, placed, problem, answer, way, open, poor, wound })
}

fn finished(sys: &System, cupboard: &Cupboard, strung: &chains::Strung, best: Try) -> CupboardPlan {
    let Try { specs, placed, problem, answer, way, .. } = best;
    // Shorter ways may take a hand's room; then they are not better.
    let polished = space::polish(&problem, answer.clone());
    let poor = |a: &space::Answer| {
        let wound = judge::winding(sys, strung, a);
        (judge::too_far(sys, strung, a), wound, judge::blemishes(&problem, a))
    };
    let answer = if poor(&polished) > poor(&answer) {
        space::Answer { laid: answer.laid, ..polished }
    } else {
        polished
    };
    let drawn = drawn::draw(sys, strung, &specs, &placed, &problem, &answer);
    let mut plan = CupboardPlan { room: cupboard.room(), ..CupboardPlan::default() };
    finish::solids(sys, strung, &placed, &drawn, &mut plan);
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
            let (what, at) = match route::blocker(sys, own, &placed, &points) {
                Some((tag, b)) => (format!("{tag} stands in its way"), Some(to_box(&b))),
                None => ("other pipes leave it no way".to_owned(), None),
            };
            plan.faults.push(Fault {
                trouble: Trouble::Way,
                what: format!("no way found for {}: {what}", sys.pipe(pipe).id),
                parts: own.pipes.iter().map(|(p, _)| sys.pipe(*p).id.clone()).collect(),
                pipe: Some(pipe),
                at,
            });
        }
    }
    plan.routes = drawn.routes;
    plan.way = way;
    plan.lines = answer
        .laid
        .iter()
        .zip(&strung.chains)
        .filter(|(l, _)| l.found)
        .map(|(l, c)| Line { joins: c.joins(sys), laid: l.clone() })
        .collect();
    finish::finish(sys, &placed, &mut plan);
    finish::figures(&answer, &mut plan);
    plan
}

pub(crate) fn to_box(b: &Block) -> Box3 {
    let s = b.size();
    Box3 { x: b.lo[0], y: b.lo[1], z: b.lo[2], w: s[0], d: s[1], h: s[2] }
}

pub(crate) fn to_p3(v: V) -> P3 {
    P3::new(v[0], v[1], v[2])
}
