//! Flows gathered in a closed circuit. In: users with their flows. Out: heat, flow and temperature
//! in every pipe: flow pipes gather from the users up, return pipes give back from the users on.

use super::friction::flow_for;
use super::heating::{Heating, Temperatures, User, is_closed, is_flow, is_separator, is_source};
use super::work::Work;
use crate::model::{Part, PipeIx};

/// Flow pipes gather from the users up, return pipes from the users on.
pub fn gather(work: &mut Work, heating: &mut Heating) {
    let graph = &work.graph;
    let system = &work.system;
    let open = |i: usize| graph.open(graph.ends[i].0) && graph.open(graph.ends[i].1);
    let of_service = |flow: bool| -> Vec<bool> {
        (0..system.pipes.len())
            .map(|i| {
                let s = system.pipes[i].service;
                is_closed(s) && is_flow(s) == flow && open(i)
            })
            .collect()
    };
    let (flows, backs) = (of_service(true), of_service(false));
    let ends = |port: &dyn Fn(&Part) -> bool| -> Vec<bool> {
        (0..graph.chambers())
            .map(|c| heating.of[c].is_some() && port(system.part(graph.part[c])))
            .collect()
    };
    let users: Vec<bool> = (0..graph.chambers())
        .map(|c| heating.user_at[c].is_some() || is_separator(system.part(graph.part[c])))
        .collect();
    let homes = ends(&|p| is_source(p) || is_separator(p) || p.kind.key == "blending set");
    let flow_live = graph.leads_to(&flows, &users);
    let back_live = graph.leads_to(&backs, &homes);
    for i in 0..system.pipes.len() {
        heating.live[i] = flow_live[i] || back_live[i];
    }
    behind(work, heating);
    for pipe in work.graph.upwards(&flow_live) {
        gather_flow(work, heating, &flow_live, pipe);
    }
    let mut downwards = work.graph.upwards(&back_live);
    downwards.reverse();
    for pipe in downwards {
        give_back(work, heating, &back_live, pipe);
    }
}

/// Marks the pipes behind headers and blending sets.
fn behind(work: &Work, heating: &mut Heating) {
    let mut queue: Vec<PipeIx> = Vec::new();
    for i in 0..work.system.pipes.len() {
        let pipe = work.system.pipe(PipeIx(i));
        let name = &work.system.part(pipe.from.part).kind.ports[pipe.from.port].name;
        if name == "secondary flow" || name == "floor flow" {
            queue.push(PipeIx(i));
        }
    }
    while let Some(pipe) = queue.pop() {
        if !is_closed(work.system.pipe(pipe).service)
            || std::mem::replace(&mut heating.secondary[pipe.0], true)
        {
            continue;
        }
        let to = work.graph.to(pipe);
        let part = work.system.part(work.graph.part[to]);
        if is_separator(part) || part.kind.key == "blending set" {
            continue;
        }
        queue.extend(&work.graph.out[to]);
    }
}

fn gather_flow(work: &mut Work, heating: &mut Heating, live: &[bool], pipe: PipeIx) {
    let to = work.graph.to(pipe);
    let part = work.graph.part[to];
    let beside = work.graph.into[to].iter().filter(|p| live[p.0]).count().max(1) as f64;
    let below: Vec<PipeIx> = work.graph.out[to].iter().copied().filter(|p| live[p.0]).collect();
    let sum = |all: &[f64]| below.iter().map(|p| all[p.0]).sum::<f64>();
    let (mut kw, mut flow) = (sum(&heating.kw), sum(&work.flow));
    // One way at a time.
    if work.system.part(part).kind.key == "three-port diverter" {
        let most = |all: &[f64]| below.iter().map(|p| all[p.0]).fold(0.0, f64::max);
        (kw, flow) = (most(&heating.kw), most(&work.flow));
    }
    let circuit = heating.of[to];
    let mut mean =
        below.iter().map(|p| work.celsius[p.0] * work.flow[p.0]).sum::<f64>() / flow.max(1e-12);
    if let Some(at) = heating.user_at[to] {
        if work.system.part(part).kind.key == "blending set" {
            blend(work, heating, at, kw, &below);
        }
        let user = &heating.users[at];
        (kw, flow, mean) = (user.kw, user.flow, user.temperatures.mean());
    } else if is_separator(work.system.part(part))
        && let Some(c) = circuit
        && heating.circuits[c].flow > 0.0
    {
        (kw, flow) = (heating.circuits[c].kw, heating.circuits[c].flow);
    }
    let pipes = Pipes { pipe, beside, kw, flow, mean };
    pipes.settle(work, heating, circuit);
}

/// Pipes side by side, of which one is `pipe`, with what they carry together.
struct Pipes {
    pipe: PipeIx,
    beside: f64,
    kw: f64,
    flow: f64,
    /// °C.
    mean: f64,
}

impl Pipes {
    /// Writes a pipe's own part down: on the primary side no more than the source gives.
    fn settle(mut self, work: &mut Work, heating: &mut Heating, circuit: Option<usize>) {
        let i = self.pipe.0;
        if let Some(c) = circuit {
            let circuit = &heating.circuits[c];
            if !heating.secondary[i] && circuit.flow > 0.0 {
                self.flow = self.flow.min(circuit.flow * self.beside);
                self.kw = self.kw.min(if circuit.kw > 0.0 { circuit.kw } else { self.kw });
            }
            work.liquid[i] = circuit.liquid.clone();
            if self.flow <= 0.0 || !self.mean.is_finite() || self.mean <= 0.0 {
                self.mean = circuit.temperatures.map_or(60.0, |t| t.mean());
            }
        }
        heating.kw[i] = self.kw / self.beside;
        work.flow[i] = self.flow / self.beside;
        work.celsius[i] = self.mean;
    }
}

/// A blending set draws from the primary what its floor needs: q = P/(rho cp (Tf - Tr floor)).
fn blend(work: &mut Work, heating: &mut Heating, at: usize, kw: f64, below: &[PipeIx]) {
    let floor = below.first().and_then(|p| first_user(work, heating, *p)).map(|u| u.temperatures);
    let floor = floor.unwrap_or(Temperatures { flow: 40.0, back: 33.0, assumed: true });
    let user = &mut heating.users[at];
    let primary = Temperatures {
        flow: user.temperatures.flow,
        back: floor.back.min(user.temperatures.flow - 1.0),
        assumed: user.temperatures.assumed || floor.assumed,
    };
    let circuit = heating.of[user.chamber].map(|c| heating.circuits[c].liquid.clone());
    let properties = work.properties(&circuit.unwrap_or_default(), primary.mean());
    let user = &mut heating.users[at];
    user.kw = kw;
    user.temperatures = primary;
    user.flow = flow_for(kw, primary.fall(), &properties);
}

/// The first user that a flow pipe comes to.
fn first_user<'a>(work: &Work, heating: &'a Heating, pipe: PipeIx) -> Option<&'a User> {
    let mut at = work.graph.to(pipe);
    for _ in 0..work.graph.chambers() {
        if let Some(user) = heating.user_at[at] {
            return Some(&heating.users[user]);
        }
        let next = work.graph.out[at]
            .iter()
            .copied()
            .find(|p| heating.live[p.0] && is_flow(work.system.pipe(*p).service))?;
        at = work.graph.to(next);
    }
    None
}

fn give_back(work: &mut Work, heating: &mut Heating, live: &[bool], pipe: PipeIx) {
    let from = work.graph.from(pipe);
    let part = work.graph.part[from];
    let beside = work.graph.out[from].iter().filter(|p| live[p.0]).count().max(1) as f64;
    let above: Vec<PipeIx> = work.graph.into[from].iter().copied().filter(|p| live[p.0]).collect();
    let sum = |all: &[f64]| above.iter().map(|p| all[p.0]).sum::<f64>();
    let (mut kw, mut flow) = (sum(&heating.kw), sum(&work.flow));
    let mut mean =
        above.iter().map(|p| work.celsius[p.0] * work.flow[p.0]).sum::<f64>() / flow.max(1e-12);
    let circuit = heating.of[from];
    if let Some(at) = heating.user_at[from] {
        let user = &heating.users[at];
        (kw, flow, mean) = (user.kw, user.flow, user.temperatures.mean());
    } else if is_separator(work.system.part(part)) {
        // What the flow pipe brought goes back.
        let brought: Vec<PipeIx> = work.graph.into[from]
            .iter()
            .copied()
            .filter(|p| is_flow(work.system.pipe(*p).service) && heating.live[p.0])
            .collect();
        flow = brought.iter().map(|p| work.flow[p.0]).sum();
        kw = brought.iter().map(|p| heating.kw[p.0]).sum();
    }
    let pipes = Pipes { pipe, beside, kw, flow, mean };
    pipes.settle(work, heating, circuit);
}
