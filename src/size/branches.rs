//! Pipes that carry nothing in ordinary running: to vessels, relief valves, gauges, drains, the
//! filling loop, and whatever no other subsystem sized. In: the bench. Out: their sizes.

use super::work::{Work, diameter_of};
use crate::catalogue::Tube;
use crate::model::{Part, PartIx, PipeIx, Service};

/// Sizes what is left.
pub fn branches(work: &mut Work) {
    let ends = needs(work);
    for (i, end) in ends.into_iter().enumerate() {
        if work.tubes[i].is_some() {
            continue;
        }
        let pipe = PipeIx(i);
        let least = work.aims.get("SIZE.least-size");
        let (od, why) = match work.system.pipe(pipe).service {
            Service::Drain => (port_size(work, pipe).max(least), "drain: the valve's own outlet"),
            Service::Filling => (least, "filling: the loop's own size"),
            _ if end > 0.0 => (end.max(least), "branch: the connection of what it serves"),
            _ => (least, "branch that carries nothing in ordinary running: least size"),
        };
        let tube: Option<&'static Tube> = work.choices(pipe).into_iter().find(|t| t.od >= od - 0.5);
        if let Some(tube) = tube.or_else(|| Tube::called("15")) {
            work.give(pipe, tube, why, vec![]);
        }
    }
}

/// For each pipe the largest connection that hangs on it below, mm.
fn needs(work: &Work) -> Vec<f64> {
    let unsized_yet: Vec<bool> = work.tubes.iter().map(Option::is_none).collect();
    let mut need = vec![0.0_f64; work.system.pipes.len()];
    for pipe in work.graph.upwards(&unsized_yet) {
        let to = work.graph.to(pipe);
        let part = work.graph.part[to];
        let below = work.graph.out[to]
            .iter()
            .filter(|p| {
                unsized_yet[p.0]
                    && work.system.pipe(**p).service.water()
                        == work.system.pipe(pipe).service.water()
            })
            .map(|p| need[p.0])
            .fold(0.0, f64::max);
        need[pipe.0] = below.max(connection(work, part));
    }
    need
}

/// The connection of a part that hangs on a branch, mm; 0 where it has none of its own.
fn connection(work: &Work, part: PartIx) -> f64 {
    let part: &Part = work.system.part(part);
    match part.kind.key.as_str() {
        "hot-water vessel" | "heating vessel" | "solar vessel" | "accumulator" => {
            if part.number("litres").unwrap_or(0.0) > work.aims.get("SIZE.vessel-branch") {
                22.0
            } else {
                15.0
            }
        }
        "temperature and pressure relief valve" | "expansion relief valve" => {
            match part.number("outlet") {
                Some(n) if n > 0.9 => 28.0,
                Some(n) if n > 0.6 => 22.0,
                _ => 15.0,
            }
        }
        _ => 0.0,
    }
}

/// The size that a maker's port at either end asks for, mm.
fn port_size(work: &Work, pipe: PipeIx) -> f64 {
    let p = work.system.pipe(pipe);
    [p.from, p.to]
        .iter()
        .filter_map(|end| diameter_of(&work.system.part(end.part).kind.ports[end.port].size))
        .fold(0.0, f64::max)
}
