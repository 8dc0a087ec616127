//! Cold and hot water: demand and pipe sizes. In: the bench. Out: loading units, design flow and
//! size of every pipe of wholesome water but the circulation.

use super::demand::{self, Demand, Method};
use super::friction::{friction, velocity};
use super::note::{Note, plain};
use super::parallel;
use super::store::hot_share;
use super::work::{Known, Work, diameter_of};
use crate::catalogue::{Tube, limits::Limit};
use crate::model::{PartIx, PipeIx, Service, Water};

/// What the pipes of wholesome water must carry.
pub struct Supply {
    pub method: Method,
    pub demand: Vec<Demand>,
    /// What the outlet of a chamber asks for.
    pub own: Vec<Demand>,
    /// True for the pipes this subsystem looks after.
    pub ours: Vec<bool>,
    /// True where the water ends at an outlet.
    pub live: Vec<bool>,
    /// All pipes of ours, the outlets first.
    pub upwards: Vec<PipeIx>,
}

/// Finds the demand on every pipe and sizes it.
pub fn supply(work: &mut Work) -> Supply {
    let mut supply = demands(work, None);
    temperatures(work, &supply);
    sizes(work, &supply);
    // What stands side by side shares by its losses, so the first choice is made again.
    if let Some(shares) = parallel::shares(work, &supply) {
        for pipe in &supply.upwards {
            work.forget(*pipe);
        }
        supply = demands(work, Some(&shares));
        sizes(work, &supply);
        parallel::figures(work, &shares);
    }
    figures(work, &supply);
    blends(work);
    supply
}

fn sizes(work: &mut Work, supply: &Supply) {
    for pipe in supply.upwards.clone() {
        work.flow[pipe.0] = supply.demand[pipe.0].design_flow(supply.method);
    }
    cap(work, supply);
    let floors = least_sizes(work, supply);
    for pipe in supply.upwards.clone() {
        if supply.live[pipe.0] {
            choose(work, supply, pipe, floors[pipe.0]);
        }
    }
}

fn demands(work: &Work, shares: Option<&[Option<f64>]>) -> Supply {
    let system = &work.system;
    let graph = &work.graph;
    let method = match system.site.dwelling.text("loading-units") {
        Some(t) if t.to_uppercase().starts_with("BS") => Method::Bs8558,
        _ => Method::En806,
    };
    let ours: Vec<bool> = system
        .pipes
        .iter()
        .map(|p| {
            p.service.water() == Water::Potable
                && !matches!(p.service, Service::HotReturn | Service::Filling)
        })
        .collect();
    let mut open = ours.clone();
    for (i, keep) in open.iter_mut().enumerate() {
        let (from, to) = graph.ends[i];
        *keep = *keep && graph.open(from) && graph.open(to);
    }
    let mut ends = vec![false; graph.chambers()];
    let mut own = vec![Demand::default(); graph.chambers()];
    for chamber in 0..graph.chambers() {
        let part = system.part(graph.part[chamber]);
        let Some(row) = demand::outlet(&part.kind.key) else { continue };
        let count = part.number("count").unwrap_or(1.0).clamp(0.0, 10_000.0) as u32;
        let flow = part.number("flow").map_or(method.flow(row), |l_min| l_min / 60.0);
        own[chamber] = Demand::of(row, method, graph.part[chamber].0, flow.max(0.0), count);
        ends[chamber] = !graph.into[chamber].is_empty();
    }
    let live = graph.leads_to(&open, &ends);
    let upwards = graph.upwards(&live);
    let twice = meeting_points(work, &live, &own);
    let mut demand = vec![Demand::default(); system.pipes.len()];
    for pipe in &upwards {
        let to = graph.to(*pipe);
        let below = graph.out[to].iter().filter(|p| live[p.0]);
        let all = below.fold(own[to], |sum, p| sum.and(demand[p.0])).less(twice[to]);
        let solved = shares.and_then(|s| s[pipe.0]);
        demand[pipe.0] = all.share(solved.unwrap_or_else(|| share_of(work, &live, *pipe)));
    }
    Supply { method, demand, own, ours, live, upwards }
}

/// Where the hot and the cold of an appliance come together on the way up: what it counts twice
/// from there on.
fn meeting_points(work: &Work, live: &[bool], own: &[Demand]) -> Vec<Demand> {
    let graph = &work.graph;
    let mut twice = vec![Demand::default(); graph.chambers()];
    let mut stamp = vec![usize::MAX; graph.chambers()];
    let above = |chamber: usize| {
        let pipe = graph.into[chamber].iter().find(|p| live[p.0]);
        pipe.map(|p| graph.from(*p))
    };
    for i in 0..work.system.parts.len() {
        let port = |name| graph.named(&work.system, PartIx(i), name);
        let (Some(hot), Some(cold)) = (port("hot"), port("cold")) else { continue };
        if own[hot].outlets == 0 || own[cold].outlets == 0 || hot == cold {
            continue;
        }
        let mut at = Some(hot);
        while let Some(chamber) = at.filter(|c| stamp[*c] != i) {
            stamp[chamber] = i;
            at = above(chamber);
        }
        let mut at = Some(cold);
        let mut steps = 0;
        while let Some(chamber) = at.filter(|c| stamp[*c] != i && steps < graph.chambers()) {
            at = above(chamber);
            steps += 1;
        }
        if let Some(meet) = at.filter(|c| stamp[*c] == i) {
            twice[meet] = twice[meet].and(own[hot]);
        }
    }
    twice
}

/// The share of what a chamber passes on that comes by this pipe: all of it in a tree, an equal
/// part of pipes side by side, by temperatures at a blending valve.
fn share_of(work: &Work, live: &[bool], pipe: PipeIx) -> f64 {
    let to = work.graph.to(pipe);
    let beside = work.graph.into[to].iter().filter(|p| live[p.0]).count().max(1);
    let part = work.system.part(work.graph.part[to]);
    if part.kind.key == "blending valve" {
        let hot = blend(work, work.graph.part[to]);
        let port = &part.kind.ports[work.system.pipe(pipe).to.port].name;
        return if port == "cold" { 1.0 - hot } else { hot };
    }
    1.0 / beside as f64
}

/// Share of hot water that a blending valve draws.
pub fn blend(work: &Work, valve: PartIx) -> f64 {
    let setting = work.system.part(valve).number("setting").unwrap_or(work.aims.get("SAF10.bath"));
    hot_share(setting, stored(work), work.aims.get("SIZE.store-cold"))
}

/// Temperature of the stored water: the hottest store's, °C.
pub fn stored(work: &Work) -> f64 {
    let of = |p: &crate::model::Part| {
        p.kind.key.ends_with("cylinder").then(|| p.number("stored")).flatten()
    };
    let hottest = work.system.parts.iter().filter_map(of).fold(f64::NAN, f64::max);
    if hottest.is_nan() { work.aims.get("SIZE.store-hot") } else { hottest }
}

fn temperatures(work: &mut Work, supply: &Supply) {
    let (hot, cold) = (stored(work), work.aims.get("SIZE.store-cold"));
    for (i, ours) in supply.ours.iter().enumerate() {
        if *ours {
            let is_hot =
                matches!(work.system.pipes[i].service, Service::HotWater | Service::HotBlended);
            work.celsius[i] = if is_hot { hot } else { cold };
        }
    }
}

/// A stated simultaneous flow (l/min) is the most that any pipe is sized for.
fn cap(work: &mut Work, supply: &Supply) {
    let Some(most) = work.system.site.dwelling.number("simultaneous") else { return };
    for pipe in &supply.upwards {
        work.flow[pipe.0] = work.flow[pipe.0].min((most / 60.0).max(0.0));
    }
}

/// The size that makers' connections ask for: a run that carries one and the same demand from a
/// cylinder's connection keeps that connection's size.
fn least_sizes(work: &Work, supply: &Supply) -> Vec<f64> {
    let least = work.aims.get("SIZE.least-size");
    let mut floors = vec![least; work.system.pipes.len()];
    let graph = &work.graph;
    let single = |pipes: &[PipeIx]| {
        let mut live = pipes.iter().copied().filter(|p| supply.live[p.0]);
        live.next().filter(|_| live.next().is_none())
    };
    for (i, part) in work.system.parts.iter().enumerate() {
        if !part.kind.key.ends_with("cylinder") {
            continue;
        }
        for (port, upwards) in [("cold", true), ("hot", false)] {
            let Some(chamber) = graph.named(&work.system, PartIx(i), port) else { continue };
            let Some(spec) = part.kind.port(port).map(|p| &part.kind.ports[p]) else { continue };
            let Some(od) = diameter_of(&spec.size) else { continue };
            let here = if upwards { &graph.into[chamber] } else { &graph.out[chamber] };
            let at_port = |p: &&PipeIx| {
                let pipe = work.system.pipe(**p);
                let end = if upwards { pipe.to } else { pipe.from };
                part.kind.ports[end.port].name == port && supply.live[p.0]
            };
            let mut next = here.iter().find(at_port).copied();
            let units = next.map(|p| supply.demand[p.0].units);
            while let Some(pipe) = next {
                if Some(supply.demand[pipe.0].units) != units || floors[pipe.0] >= od {
                    break;
                }
                floors[pipe.0] = od;
                next = if upwards {
                    single(&graph.into[graph.from(pipe)])
                } else {
                    single(&graph.out[graph.to(pipe)])
                };
            }
        }
    }
    floors
}

/// Why a tube will do or will not.
struct Verdict {
    velocity: f64,
    gradient: f64,
    units: u32,
    passes: bool,
}

fn judge(work: &mut Work, supply: &Supply, pipe: PipeIx, tube: &Tube) -> Verdict {
    let demand = supply.demand[pipe.0];
    let flow = work.flow[pipe.0];
    let properties = work.properties_in(pipe);
    let f = friction(flow, tube.bore(), tube.roughness, &properties);
    let units =
        demand::carries(demand::family(&tube.material), tube.bore(), work.runs[pipe.0].metres);
    let limit = work.aims.get(if demand.outlets <= 1 { "SIZE.branch" } else { "HTG04.main" });
    let by_units = supply.method != Method::En806 || f64::from(units) >= demand.units - 1e-9;
    Verdict {
        velocity: f.velocity,
        gradient: f.gradient,
        units,
        passes: by_units && f.velocity <= limit + 1e-9,
    }
}

fn choose(work: &mut Work, supply: &Supply, pipe: PipeIx, floor: f64) {
    let choices = work.choices(pipe);
    let mut below: Option<&Tube> = None;
    for tube in choices.iter().copied() {
        // Plastic and mains tube are named by their outside diameter too, so the floor compares.
        let last = std::ptr::eq(tube, *choices.last().unwrap_or(&tube));
        if tube.od >= floor - 0.5 && (judge(work, supply, pipe, tube).passes || last) {
            let from = reasons(work, supply, pipe, tube, below);
            work.give(
                pipe,
                tube,
                "smallest size within loading units and velocity (EN 806-3)",
                from,
            );
            return;
        }
        below = Some(tube);
    }
}

fn reasons(
    work: &mut Work,
    supply: &Supply,
    pipe: PipeIx,
    tube: &Tube,
    below: Option<&Tube>,
) -> Vec<String> {
    let demand = supply.demand[pipe.0];
    let verdict = judge(work, supply, pipe, tube);
    let mut from = vec![
        format!("{} loading units", plain(demand.units, 1)),
        format!("{} l/s", plain(work.flow[pipe.0], 3)),
        format!("{} m/s in {}", plain(verdict.velocity, 2), tube.size),
    ];
    if let Some(below) = below {
        let less = judge(work, supply, pipe, below);
        from.push(format!(
            "{} would have {} m/s and carry {} units",
            below.size,
            plain(less.velocity, 2),
            less.units
        ));
    }
    from
}

fn figures(work: &mut Work, supply: &Supply) {
    let mut all = supply.upwards.clone();
    all.sort();
    for pipe in all {
        if !supply.live[pipe.0] {
            continue;
        }
        let Some(tube) = work.tubes[pipe.0] else { continue };
        let demand = supply.demand[pipe.0];
        let run = work.runs[pipe.0];
        let verdict = judge(work, supply, pipe, tube);
        let one = demand.outlets <= 1;
        let limit: Limit = work.aims.limit(if one { "HTG04.branch" } else { "HTG04.main" }).clone();
        let id = work.system.pipe(pipe).id.clone();
        let flow = work.flow[pipe.0];
        work.figures.push(
            Note::new("pipe.flow", &id, "design flow")
                .by(
                    "loading units",
                    "flow of the curve at the sum of loading units, no less than the two largest appliances, with a bath among 16 units or more no less than 0.6 l/s, no more than all at once or than a pump gives; hot and cold of one appliance count once",
                    supply.method.source(),
                )
                .with("loading units", demand.units, "")
                .with("curve", demand::curve(demand.units, supply.method), "l/s")
                .with("two largest", demand.first.flow + demand.second.flow, "l/s")
                .with("all outlets at once", demand.all, "l/s")
                .gives(flow, "l/s", format!("{} l/s", plain(flow, 3))),
        );
        let next = next_sizes(work, supply, pipe, tube);
        let word = if verdict.velocity <= limit.value + 1e-9 { "passes" } else { "FAILS" };
        work.figures.push(
            Note::new("pipe.velocity", &id, "velocity")
                .by("continuity", "v = 4 q/(pi d^2)", &limit.source)
                .with("q", flow, "l/s")
                .with("d", tube.bore(), "mm")
                .with("limit", limit.value, "m/s")
                .gives(
                    velocity(flow, tube.bore()),
                    "m/s",
                    format!(
                        "{} {word}: {} of {} m/s; {next}",
                        tube.size,
                        plain(verdict.velocity, 2),
                        plain(limit.value, 2)
                    ),
                ),
        );
        let note = Note::new("pipe.gradient", &id, "loss a metre").by(
            "Darcy-Weisbach with Colebrook-White",
            GRADIENT,
            "Colebrook-White; IAPWS-IF97",
        );
        let note = working(work, pipe, note);
        work.figures.push(
            note.with(length_word(run.known), run.metres, "m")
                .with("elbows", run.elbows, "")
                .gives(verdict.gradient, "Pa/m", format!("{} Pa/m", plain(verdict.gradient, 0))),
        );
    }
}

/// The formula of the loss a metre, with what it takes.
pub const GRADIENT: &str = "dp/L = f/d rho v^2/2, f from Re = v d/nu and k/d";

/// What it takes to follow the loss a metre of a pipe by hand.
pub fn working(work: &mut Work, pipe: PipeIx, note: Note) -> Note {
    let f = work.friction_in(pipe);
    let water = work.properties_in(pipe);
    let tube = work.tubes[pipe.0];
    note.with("v", f.velocity, "m/s")
        .with("d", tube.map_or(0.0, Tube::bore), "mm")
        .with("k", tube.map_or(0.0, |t| t.roughness), "mm")
        .with("temperature", work.celsius[pipe.0], "°C")
        .with("rho", water.rho, "kg/m3")
        .with("nu", water.nu() * 1e6, "mm2/s")
        .with("Re", f.reynolds, "")
        .with("f", f.factor, "")
}

/// What each blending valve draws from the hot side.
fn blends(work: &mut Work) {
    let (hot, cold) = (stored(work), work.aims.get("SIZE.store-cold"));
    let valves: Vec<PartIx> = work.system.of_kind("blending valve").map(|(ix, _)| ix).collect();
    for ix in valves {
        let share = blend(work, ix);
        let part = work.system.part(ix);
        let setting = part.number("setting").unwrap_or(work.aims.get("SAF10.bath"));
        let (tag, assumed) = (part.tag.clone(), part.attrs.is_assumed("setting"));
        work.figures.push(
            Note::new("blend.hot-share", &tag, "share of hot water in the blend")
                .by("heat balance", "(Tm - Tc)/(Th - Tc)", "arithmetic")
                .with("Tm", setting, "°C")
                .with("Th", hot, "°C")
                .with("Tc", cold, "°C")
                .assumed(assumed)
                .gives(
                    share,
                    "",
                    format!("{} % hot for {} °C", plain(share * 100.0, 0), plain(setting, 0)),
                ),
        );
    }
}

/// "length", or "allowance" where nothing states or measures it.
pub fn length_word(known: Known) -> &'static str {
    match known {
        Known::Yes => "length",
        Known::Allowance => "length (allowance)",
    }
}

fn next_sizes(work: &mut Work, supply: &Supply, pipe: PipeIx, tube: &Tube) -> String {
    let choices = work.choices(pipe);
    let at = choices.iter().position(|t| t.bore() >= tube.bore() - 1e-9).unwrap_or(0);
    let mut words = Vec::new();
    for i in [at.checked_sub(1), Some(at + 1)].into_iter().flatten() {
        if let Some(other) = choices.get(i).copied() {
            let v = judge(work, supply, pipe, other).velocity;
            words.push(format!("{} {} m/s", other.size, plain(v, 2)));
        }
    }
    words.join(", ")
}
