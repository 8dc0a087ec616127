//! Secondary circulation. In: the bench with the hot pipes sized. Out: heat lost by each leg, the
//! flow that makes it good, sizes of the returns, temperatures at the far ends, head, yearly energy.
//!
//! Heat loss by EN ISO 12241; flow q = loss/(rho cp dT), shared among the legs by their losses.

use super::friction::{flow_for, friction};
use super::heat_loss::Lagged;
use super::note::{Note, plain};
use super::supply::stored;
use super::work::{Known, Work};
use crate::model::{PartIx, PipeIx, Service};

const LOSS: &str = "EN ISO 12241, horizontal pipe indoors";

/// A way out and back.
pub struct Leg {
    /// The run of its return, or the return pipe's id.
    pub name: String,
    /// Hot pipes from the store to the turn, the store's first.
    pub out: Vec<PipeIx>,
    /// Return pipes from the turn to the store.
    pub back: Vec<PipeIx>,
}

/// Sizes the returns and writes the figures of the circulation.
pub fn circulation(work: &mut Work) {
    let legs = legs(work);
    if legs.is_empty() {
        return;
    }
    let mut share = vec![0.0; work.system.pipes.len()];
    for leg in &legs {
        for pipe in leg.out.iter().chain(&leg.back) {
            share[pipe.0] += 1.0;
        }
    }
    // Returns are sized for a first guess, then for the flow that their own loss asks for.
    for leg in &legs {
        for pipe in &leg.back {
            if work.tubes[pipe.0].is_none() {
                work.tubes[pipe.0] = smallest(work, *pipe);
            }
        }
    }
    let hot = stored(work);
    let fall = work.aims.get("SRT02.difference");
    let mean = hot - fall / 2.0;
    let losses: Vec<f64> = (0..share.len())
        .map(|i| if share[i] > 0.0 { loss(work, PipeIx(i), mean) } else { 0.0 })
        .collect();
    let water = work.properties(&super::liquid::Liquid::Water, mean);
    // A pipe that several legs share belongs to each by its part.
    let of_leg = |leg: &Leg| -> f64 {
        leg.out.iter().chain(&leg.back).map(|p| losses[p.0] / share[p.0]).sum()
    };
    let all: f64 = legs.iter().map(of_leg).sum();
    let total = flow_for(all / 1000.0, fall, &water);
    let flows = shares(&legs, &share, &losses, total);
    let mut flow = vec![0.0; share.len()];
    for (leg, q) in legs.iter().zip(&flows) {
        for pipe in leg.out.iter().chain(&leg.back) {
            flow[pipe.0] += q;
        }
    }
    for leg in &legs {
        for pipe in &leg.back {
            work.flow[pipe.0] = flow[pipe.0];
            work.celsius[pipe.0] = hot - fall;
            size(work, *pipe);
        }
    }
    let heat = water.heat_per_litre() * 1000.0;
    let ends = temperatures(&legs, &flow, &losses, heat, hot);
    let assumed = assumed(work, &legs);
    for (i, leg) in legs.iter().enumerate() {
        let heats = Heats { hot, fall, mean, per_litre: water.heat_per_litre() };
        leg_figures(work, leg, (of_leg(leg), &losses), flows[i], ends[i].0, heats, assumed);
    }
    let home: f64 = legs.iter().enumerate().map(|(i, _)| ends[i].1 * flows[i]).sum::<f64>() / total;
    super::natural::circulation(work, &legs, &flows, total, assumed);
    totals(work, &legs, &flow, (all, total, home), assumed);
}

/// The flow of each leg: the whole shared by what the legs lose on their own, so that they come to
/// where they meet equally warm.
fn shares(legs: &[Leg], share: &[f64], losses: &[f64], total: f64) -> Vec<f64> {
    let own = |leg: &Leg| -> f64 {
        let pipes = leg.out.iter().chain(&leg.back);
        pipes.filter(|p| share[p.0] == 1.0).map(|p| losses[p.0]).sum()
    };
    let sum: f64 = legs.iter().map(own).sum();
    let equal = 1.0 / legs.len() as f64;
    legs.iter().map(|l| total * if sum > 0.0 { own(l) / sum } else { equal }).collect()
}

/// Every return, followed home, and the hot pipes that lead to its start.
fn legs(work: &Work) -> Vec<Leg> {
    let graph = &work.graph;
    let service = |p: PipeIx| work.system.pipe(p).service;
    let is_hot = |p: PipeIx| matches!(service(p), Service::HotWater | Service::HotBlended);
    let mut legs = Vec::new();
    for i in 0..work.system.pipes.len() {
        let first = PipeIx(i);
        let start = graph.from(first);
        let fed = graph.into[start].iter().any(|p| is_hot(*p));
        if service(first) != Service::HotReturn || !fed {
            continue;
        }
        let mut back = vec![first];
        let mut at = graph.to(first);
        while let Some(next) = graph.out[at]
            .iter()
            .copied()
            .find(|p| service(*p) == Service::HotReturn && !back.contains(p))
        {
            back.push(next);
            at = graph.to(next);
        }
        let mut out = Vec::new();
        let mut at = start;
        while let Some(above) =
            graph.into[at].iter().copied().find(|p| is_hot(*p) && !out.contains(p))
        {
            out.push(above);
            at = graph.from(above);
            if work.system.part(graph.part[at]).kind.key.ends_with("cylinder") {
                break;
            }
        }
        out.reverse();
        legs.push(Leg { name: work.system.pipe(first).run.clone(), out, back });
    }
    // Legs of one name are told apart by their pipe.
    let names: Vec<String> = legs.iter().map(|l| l.name.clone()).collect();
    for leg in &mut legs {
        if leg.name.is_empty() || names.iter().filter(|n| **n == leg.name).count() > 1 {
            leg.name = work.system.pipe(leg.back[0]).id.clone();
        }
    }
    legs
}

/// Heat lost by a pipe at `celsius`, W.
fn loss(work: &Work, pipe: PipeIx, celsius: f64) -> f64 {
    let Some(tube) = work.tubes[pipe.0] else { return 0.0 };
    let thickness = work.system.pipe(pipe).lagging.as_ref().map(|l| l.value);
    let thickness = thickness.unwrap_or(work.aims.get("SIZE.lagging")).max(0.0);
    let bare = if thickness > 0.0 { "SIZE.lagging-emissivity" } else { "SIZE.copper-emissivity" };
    let lagged = Lagged {
        od: tube.od,
        thickness,
        conductivity: work.aims.get("SIZE.lagging-conductivity"),
        emissivity: work.aims.get(bare),
        inside: celsius,
        air: work.aims.get("SIZE.floor-celsius"),
    };
    lagged.loss().0 * work.runs[pipe.0].metres
}

fn smallest(work: &Work, pipe: PipeIx) -> Option<&'static crate::catalogue::Tube> {
    let least = work.aims.get("SIZE.least-size");
    work.choices(pipe).into_iter().find(|t| t.od >= least - 0.5)
}

/// Smallest return within the velocity aimed at.
fn size(work: &mut Work, pipe: PipeIx) {
    if work.is_stated(pipe) {
        return;
    }
    work.tubes[pipe.0] = None;
    let least = work.aims.get("SIZE.least-size");
    let most = work.aims.get("SIZE.return");
    let properties = work.properties_in(pipe);
    let flow = work.flow[pipe.0];
    let fits = |t: &&'static crate::catalogue::Tube| {
        t.od >= least - 0.5 && friction(flow, t.bore(), t.roughness, &properties).velocity <= most
    };
    let choices = work.choices(pipe);
    let tube = choices.iter().copied().find(|t| fits(t)).or(choices.last().copied());
    if let Some(tube) = tube {
        let v = friction(flow, tube.bore(), tube.roughness, &properties).velocity;
        let from = vec![format!("{} l/s", plain(flow, 4)), format!("{} m/s", plain(v, 2))];
        work.give(pipe, tube, "smallest size within the velocity of a hot return", from);
    }
}

/// For each leg the temperature at its turn and where it comes home, °C.
fn temperatures(
    legs: &[Leg],
    flow: &[f64],
    losses: &[f64],
    heat: f64,
    hot: f64,
) -> Vec<(f64, f64)> {
    let drop = |p: &PipeIx| losses[p.0] / (flow[p.0] * heat).max(1e-12);
    legs.iter()
        .map(|leg| {
            let far = hot - leg.out.iter().map(drop).sum::<f64>();
            (far, far - leg.back.iter().map(drop).sum::<f64>())
        })
        .collect()
}

fn assumed(work: &Work, legs: &[Leg]) -> bool {
    legs.iter()
        .flat_map(|l| l.out.iter().chain(&l.back))
        .any(|p| work.runs[p.0].known == Known::Allowance || work.system.pipe(*p).lagging.is_none())
}

/// What the balances of the legs share.
#[derive(Clone, Copy)]
struct Heats {
    /// Of the store, °C.
    hot: f64,
    /// Allowed round a leg, K.
    fall: f64,
    mean: f64,
    /// kJ/(l K).
    per_litre: f64,
}

fn leg_figures(
    work: &mut Work,
    leg: &Leg,
    (watts, losses): (f64, &[f64]),
    flow: f64,
    far: f64,
    heats: Heats,
    assumed: bool,
) {
    let lost = |pipes: &[PipeIx]| pipes.iter().map(|p| losses[p.0]).sum::<f64>();
    let metres = |pipes: &[PipeIx]| pipes.iter().map(|p| work.runs[p.0].metres).sum::<f64>();
    let (there, home) = (metres(&leg.out), metres(&leg.back));
    let limit = work.aims.limit("SRT02.temperature").clone();
    work.figures.push(
        Note::new("circulation.loss", &leg.name, "heat lost by the leg")
            .by("heat loss of pipes", "sum of q' L, shared pipes by their part", LOSS)
            .with("hot pipe", there, "m")
            .with("hot pipe loses", lost(&leg.out) / there.max(1e-9), "W/m")
            .with("return", home, "m")
            .with("return loses", lost(&leg.back) / home.max(1e-9), "W/m")
            .with("mean temperature", heats.mean, "°C")
            .with("conductivity of lagging", work.aims.get("SIZE.lagging-conductivity"), "W/(m K)")
            .assumed(assumed)
            .gives(watts, "W", format!("{} W", plain(watts, 0))),
    );
    work.figures.push(
        Note::new("circulation.flow", &leg.name, "flow that makes the loss good")
            .by(
                "heat balance",
                "sum of P/(rho cp dT), shared by what each leg loses on its own",
                "arithmetic; dT common practice",
            )
            .with("P", watts, "W")
            .with("dT", heats.fall, "K")
            .with("rho cp", heats.per_litre, "kJ/(l K)")
            .assumed(assumed)
            .gives(flow, "l/s", format!("{} l/min", plain(flow * 60.0, 2))),
    );
    let word = if far >= limit.value { "hot enough" } else { "TOO COLD" };
    work.figures.push(
        Note::new("circulation.far-temperature", &leg.name, "temperature at the far end")
            .by(
                "heat balance",
                "T = T store - sum of P/(q rho cp) along the hot pipe, where legs share a pipe with their common q",
                &limit.source,
            )
            .with("T store", heats.hot, "°C")
            .with("P of the hot pipe", lost(&leg.out), "W")
            .with("q of the leg", flow, "l/s")
            .with("limit", limit.value, "°C")
            .assumed(assumed)
            .gives(far, "°C", format!("{} °C: {word}", plain(far, 1))),
    );
}

fn totals(
    work: &mut Work,
    legs: &[Leg],
    flow: &[f64],
    (watts, total, home): (f64, f64, f64),
    assumed: bool,
) {
    let pump = work.system.of_kind("secondary pump").next().map(|(ix, p)| (ix, p.tag.clone()));
    let about = pump.as_ref().map_or_else(|| legs[0].name.clone(), |(_, tag)| tag.clone());
    let limit = work.aims.limit("SRT02.temperature").clone();
    let word = if home >= limit.value { "hot enough" } else { "TOO COLD" };
    work.figures.push(
        Note::new("circulation.return-temperature", &about, "temperature back at the store")
            .by("heat balance", "T = T store - P/(q rho cp), legs mixed by flow", &limit.source)
            .with("P", watts, "W")
            .with("q", total, "l/s")
            .with("limit", limit.value, "°C")
            .assumed(assumed)
            .gives(home, "°C", format!("{} °C: {word}", plain(home, 1))),
    );
    let mut worst = (0.0, String::new());
    for leg in legs {
        let pa = leg_loss(work, leg, flow);
        if pa > worst.0 {
            worst = (pa, leg.name.clone());
        }
    }
    let given = pump.as_ref().and_then(|(ix, _)| work.system.part(*ix).number("flow"));
    let mut note = Note::new("circulation.duty", &about, "flow and head of the circulating pump")
        .by("index leg", "head = greatest loss round a leg at the flow needed", "Colebrook-White")
        .with("flow needed", total, "l/s")
        .assumed(assumed);
    if let Some(given) = given {
        note = note.with("flow stated for the pump", given, "l/s");
    }
    let text = format!(
        "{} l/min at {} kPa; index leg {}",
        plain(total * 60.0, 2),
        plain(worst.0 / 1000.0, 2),
        worst.1
    );
    work.figures.push(note.gives(worst.0 / 1000.0, "kPa", text));
    let hours = work
        .system
        .of_kind("circulation timer")
        .find_map(|(_, p)| p.number("hours"))
        .unwrap_or(work.aims.get("SIZE.circulation-hours"))
        .clamp(0.0, 24.0);
    let yearly = watts * hours * 365.0 / 1000.0;
    work.figures.push(
        Note::new("circulation.yearly", &about, "heat lost by the circulation in a year")
            .by("sum", "E = P h 365", LOSS)
            .with("P", watts, "W")
            .with("h", hours, "h/day")
            .assumed(assumed)
            .gives(yearly, "kWh", format!("{} kWh a year", plain(yearly, 0))),
    );
}

/// Loss of pressure round a leg at the circulation's own flow, Pa.
fn leg_loss(work: &mut Work, leg: &Leg, flow: &[f64]) -> f64 {
    let pipes: Vec<PipeIx> = leg.out.iter().chain(&leg.back).copied().collect();
    let mut sum = 0.0;
    for (i, pipe) in pipes.iter().enumerate() {
        sum += work.pipe_loss(*pipe, flow[pipe.0]);
        if let Some(next) = pipes.get(i + 1)
            && work.graph.to(*pipe) == work.graph.from(*next)
        {
            let part: PartIx = work.graph.part[work.graph.to(*pipe)];
            if work.system.part(part).kind.key != "secondary pump" {
                sum += work.part_loss(*pipe, *next, flow[next.0]);
            }
        }
    }
    sum
}
