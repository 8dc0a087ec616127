//! Waiting for hot water. In: the bench with sizes. Out: for every hot outlet the dead leg from the
//! store, or from the circulation, and the seconds until its water has run off.

use super::demand;
use super::note::{Note, plain};
use super::supply::Supply;
use super::work::{Known, Work, is_outlet};
use crate::model::{PartIx, PipeIx, Service};

/// Writes length and waiting time for every hot outlet.
pub fn waiting(work: &mut Work, supply: &Supply) {
    let moving = circulated(work);
    for i in 0..work.system.parts.len() {
        if !is_outlet(&work.system.parts[i]) {
            continue;
        }
        let Some(chamber) = work.graph.named(&work.system, PartIx(i), "hot") else { continue };
        let leg = dead_leg(work, supply, &moving, chamber);
        if leg.is_empty() {
            continue;
        }
        let part = &work.system.parts[i];
        let Some(row) = demand::outlet(&part.kind.key) else { continue };
        let flow = part.number("flow").map_or(supply.method.flow(row), |f| f / 60.0);
        let tag = part.tag.clone();
        let (mut metres, mut litres, mut widest, mut known) = (0.0, 0.0, 0.0_f64, true);
        let mut lagged = 0.0;
        for pipe in &leg {
            let Some(tube) = work.tubes[pipe.0] else { continue };
            let run = work.runs[pipe.0];
            litres += run.metres * tube.content();
            known &= run.known == Known::Yes;
            // The limit is for unlagged pipe.
            if work.system.pipe(*pipe).lagging.as_ref().is_some_and(|l| l.value > 0.0) {
                lagged += run.metres;
                continue;
            }
            metres += run.metres;
            widest = widest.max(tube.od);
        }
        let limit = work.aims.limit(length_limit(widest)).clone();
        let word = if metres <= limit.value + 1e-9 { "within" } else { "OVER" };
        work.figures.push(
            Note::new("outlet.dead-leg", &tag, "unlagged pipe in which hot water cools")
                .by("sum", "lengths from the store or the circulation to the outlet", &limit.source)
                .with("widest pipe", widest, "mm")
                .with("lagged, not counted", lagged, "m")
                .with("limit", limit.value, "m")
                .assumed(!known)
                .gives(
                    metres,
                    "m",
                    format!("{} m, {word} {} m", plain(metres, 1), plain(limit.value, 0)),
                ),
        );
        let seconds = demand::waiting(litres, flow);
        let limit = work.aims.limit("WAT16.seconds").clone();
        // The cold pipe takes its share of the heat first.
        let soonest = seconds * work.aims.get("WAT16.pipe-least");
        let latest = seconds * work.aims.get("WAT16.pipe-most");
        let word = match limit.value {
            most if latest <= most => "within",
            most if soonest <= most => "perhaps more than",
            _ => "OVER",
        };
        work.figures.push(
            Note::new("outlet.waiting", &tag, "seconds until hot water comes")
                .by(
                    "plug flow, and the pipe's own heat",
                    "t = V/q, from 1.3 to 2 times as long for the heat that the cold pipe takes \
                     (common practice, no source)",
                    &limit.source,
                )
                .with("V", litres, "l")
                .with("q", flow, "l/s")
                .with("V/q", seconds, "s")
                .with("latest", latest, "s")
                .with("limit", limit.value, "s")
                .assumed(!known)
                .gives(
                    soonest,
                    "s",
                    format!(
                        "{} to {} s, {word} {} s",
                        plain(soonest, 0),
                        plain(latest, 0),
                        plain(limit.value, 0)
                    ),
                ),
        );
    }
}

/// Which limit on a dead leg goes with the widest pipe in it.
fn length_limit(od: f64) -> &'static str {
    match od {
        d if d <= 12.0 => "WAT15.length-12",
        d if d <= 22.0 => "WAT15.length-22",
        d if d <= 28.0 => "WAT15.length-28",
        _ => "WAT15.length-over",
    }
}

/// Chambers that a circulation keeps hot: every one upstream of the start of a return.
fn circulated(work: &Work) -> Vec<bool> {
    let mut hot = vec![false; work.graph.chambers()];
    let mut queue: Vec<usize> = (0..work.system.pipes.len())
        .filter(|i| work.system.pipes[*i].service == Service::HotReturn)
        .map(|i| work.graph.from(PipeIx(i)))
        .collect();
    while let Some(chamber) = queue.pop() {
        if std::mem::replace(&mut hot[chamber], true) {
            continue;
        }
        let above = work.graph.into[chamber].iter();
        queue.extend(above.filter(|p| is_hot(work, **p)).map(|p| work.graph.from(*p)));
    }
    hot
}

fn is_hot(work: &Work, pipe: PipeIx) -> bool {
    matches!(work.system.pipe(pipe).service, Service::HotWater | Service::HotBlended)
}

/// Pipes from the outlet up to the store or to what circulates.
fn dead_leg(work: &Work, supply: &Supply, moving: &[bool], outlet: usize) -> Vec<PipeIx> {
    let mut leg: Vec<PipeIx> = Vec::new();
    let mut chamber = outlet;
    loop {
        let part = work.system.part(work.graph.part[chamber]);
        if moving[chamber] || part.kind.key.ends_with("cylinder") {
            return leg;
        }
        let above = work.graph.into[chamber]
            .iter()
            .copied()
            .find(|p| is_hot(work, *p) && supply.live[p.0] && !leg.contains(p));
        let Some(pipe) = above else { return leg };
        leg.push(pipe);
        chamber = work.graph.from(pipe);
    }
}
