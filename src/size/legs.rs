//! Further sources on the lines of a circuit. In: the pipes of its loops. Out: the way from each
//! such source to the flow and from the return back to it, with what it loses.

use super::heating::{Heating, is_flow, is_source};
use super::index::{inside_pump, is_pump, start_loss};
use super::network::Element;
use super::pump::Curve;
use super::work::Work;
use crate::model::{PartIx, PipeIx};

/// A source beside the one from which the loops are told.
pub struct Leg {
    pub source: PartIx,
    /// Flow and return chamber of the source.
    pub ends: (usize, usize),
    /// Pipes, whether they are on the return side, and the loss of each at design flow, Pa.
    pub pipes: Vec<(PipeIx, bool, f64)>,
    /// What the source loses.
    pub element: Element,
    /// The pump inside it.
    pub own: Option<Curve>,
}

/// The legs of all other sources of the circuit; `None` where one does not join the lines, and so
/// nothing can be said of any. `meets` tells a chamber of the flow (false) or return side (true).
pub fn legs(
    work: &mut Work,
    heating: &Heating,
    start: PartIx,
    circuit: usize,
    meets: &dyn Fn(usize, bool) -> bool,
) -> Option<Vec<Leg>> {
    if !is_source(work.system.part(start)) {
        return Some(Vec::new());
    }
    let others = heating.circuits[circuit].sources.iter().filter(|s| **s != start);
    others.map(|source| leg(work, heating, *source, meets)).collect()
}

fn leg(
    work: &mut Work,
    heating: &Heating,
    source: PartIx,
    meets: &dyn Fn(usize, bool) -> bool,
) -> Option<Leg> {
    let out = work.graph.named(&work.system, source, "flow")?;
    let home = work.graph.named(&work.system, source, "return")?;
    let mut pipes = Vec::new();
    for back in [false, true] {
        let mut way = way(work, heating, if back { home } else { out }, back, meets)?;
        if back {
            way.reverse();
        }
        for (i, pipe) in way.iter().enumerate() {
            let mut loss = work.pipe_loss(*pipe, work.flow[pipe.0]);
            if let Some(next) = way.get(i + 1)
                && !is_pump(work.system.part(work.graph.part[work.graph.to(*pipe)]))
            {
                loss += work.part_loss(*pipe, *next, work.flow[pipe.0]);
            }
            pipes.push((*pipe, back, loss));
        }
    }
    let flow = pipes.first().map_or(0.0, |(p, ..)| work.flow[p.0]).max(1e-3);
    let element = Element::Stated { pa: start_loss(work, source).max(1.0), flow };
    let own = inside_pump(work, source);
    Some(Leg { source, ends: (out, home), pipes, element, own })
}

/// Pipes from a port of a source to where they meet the circuit's lines.
fn way(
    work: &Work,
    heating: &Heating,
    from: usize,
    back: bool,
    meets: &dyn Fn(usize, bool) -> bool,
) -> Option<Vec<PipeIx>> {
    let mut found: Vec<PipeIx> = Vec::new();
    let mut at = from;
    while !meets(at, back) {
        let beside = if back { &work.graph.into[at] } else { &work.graph.out[at] };
        let next = beside
            .iter()
            .filter(|p| heating.live[p.0] && is_flow(work.system.pipe(**p).service) != back)
            .max_by(|a, b| work.flow[a.0].total_cmp(&work.flow[b.0]))
            .copied()?;
        if found.contains(&next) {
            return None;
        }
        found.push(next);
        at = if back { work.graph.from(next) } else { work.graph.to(next) };
    }
    Some(found)
}
