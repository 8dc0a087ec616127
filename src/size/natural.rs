//! How a circuit's flow shares among its users, or a circulation's among its legs, if nobody
//! balances it. In: loops with their losses. Out: for each the flow it gets of the flow it needs,
//! by the network solver.

use std::collections::BTreeMap;

use super::circuit::{Circuit, Drive};
use super::circulation::Leg;
use super::friction::{velocity, velocity_head};
use super::heating::Heating;
use super::index::Loop;
use super::network::{Element, Link, Network, Node};
use super::note::{Note, plain};
use super::work::Work;
use crate::model::{PartIx, PipeIx};

/// Writes the share of every user that shares its start with another.
pub fn natural(work: &mut Work, heating: &Heating, loops: &[Loop]) {
    let mut by_start: BTreeMap<PartIx, Vec<&Loop>> = BTreeMap::new();
    for l in loops {
        by_start.entry(l.start).or_default().push(l);
    }
    for (start, of) in by_start {
        // A diverter never has all ways open.
        let diverts = |l: &&Loop| {
            let ends = l.pipes.iter().map(|p| work.system.part(work.graph.part[work.graph.to(*p)]));
            ends.into_iter().any(|part| part.kind.key == "three-port diverter")
        };
        if of.len() < 2 || of.iter().any(diverts) {
            continue;
        }
        let all: f64 = of.iter().map(|l| heating.users[l.user].flow).sum();
        let open = vec![true; of.len()];
        let Some(circuit) = Circuit::of(work, heating, of) else { continue };
        let state = circuit.state(&open, Drive::Forced(all));
        match state.network.solve() {
            Ok(solved) => {
                for (l, share) in circuit.loops.iter().zip(&state.users) {
                    figure(work, heating, l, share.of(&solved));
                }
            }
            Err(why) => {
                let tag = work.tag(start);
                work.figures.push(
                    Note::new("heating.unbalanced", &tag, "flow without balancing")
                        .by(
                            "network solver",
                            "flows balance, losses close",
                            "global gradient method",
                        )
                        .gives(0.0, "%", format!("no solution: {why}")),
                );
            }
        }
    }
}

fn figure(work: &mut Work, heating: &Heating, l: &Loop, flow: f64) {
    let user = &heating.users[l.user];
    let tag = work.tag(user.part);
    let share = flow / user.flow * 100.0;
    work.figures.push(
        Note::new("heating.unbalanced", &tag, "share it gets of the design flows if nobody balances the circuit")
            .by(
                "network solver",
                "flows balance at every node, losses close round every loop, all users open; the sum of \
                 all design flows shared out, not what the pump moves: that is where it runs",
                "Todini and Pilati, global gradient method; Colebrook-White",
            )
            .with("flow needed", user.flow, "l/s")
            .with("flow it gets", flow, "l/s")
            .assumed(!l.known)
            .gives(share, "%", format!("{} % of its flow", plain(share, 0))),
    );
}

/// Writes the share of every leg of a circulation of several legs.
pub fn circulation(work: &mut Work, legs: &[Leg], needed: &[f64], total: f64, assumed: bool) {
    if legs.len() < 2 {
        return;
    }
    let network = legs_network(work, legs, total);
    let solved = network.solve();
    for (leg, need) in legs.iter().zip(needed) {
        let note = Note::new(
            "circulation.unbalanced",
            &leg.name,
            "flow the leg gets if nobody balances it",
        )
        .by(
            "network solver",
            "flows balance at every node, losses close round every loop",
            "Todini and Pilati, global gradient method; Colebrook-White",
        )
        .with("flow needed", *need, "l/s")
        .assumed(assumed);
        let first = work.system.pipe(leg.back[0]).id.as_str();
        let figure = match &solved {
            Ok(solved) => {
                let at = network.links.iter().position(|l| l.name == first);
                let flow = at.map_or(0.0, |i| solved.flow[i]);
                let share = if *need > 0.0 { flow / need * 100.0 } else { 0.0 };
                note.with("flow it gets", flow, "l/s").gives(
                    share,
                    "%",
                    format!("{} % of its flow with every balancing valve open", plain(share, 0)),
                )
            }
            Err(why) => note.gives(0.0, "%", format!("no solution: {why}")),
        };
        work.figures.push(figure);
    }
}

/// Hot pipes and returns of all legs; the store's outlet holds, its return takes the whole.
fn legs_network(work: &mut Work, legs: &[Leg], total: f64) -> Network {
    let mut nodes: Vec<Node> = Vec::new();
    let mut index: BTreeMap<(usize, bool), usize> = BTreeMap::new();
    let mut links: Vec<Link> = Vec::new();
    let mut node = |chamber: usize, home: bool| -> usize {
        *index.entry((chamber, home)).or_insert_with(|| {
            nodes.push(Node { name: format!("node {}", nodes.len()), ..Node::default() });
            nodes.len() - 1
        })
    };
    let mut seen: BTreeMap<PipeIx, ()> = BTreeMap::new();
    let (mut start, mut end) = (0, 0);
    for leg in legs {
        let pipes: Vec<PipeIx> = leg.out.iter().chain(&leg.back).copied().collect();
        let Some(last) = pipes.last().copied() else { continue };
        for (i, pipe) in pipes.iter().enumerate() {
            let (a, b) = work.graph.ends[pipe.0];
            let (from, to) = (node(a, false), node(b, *pipe == last));
            if i == 0 {
                start = from;
            }
            if *pipe == last {
                end = to;
            }
            if seen.insert(*pipe, ()).is_none() {
                let next = pipes.get(i + 1).copied();
                let name = work.system.pipe(*pipe).id.clone();
                links.push(Link { name, from, to, element: leg_element(work, *pipe, next) });
            }
        }
    }
    if let Some(n) = nodes.get_mut(start) {
        n.fixed = Some(0.0);
    }
    if let Some(n) = nodes.get_mut(end) {
        n.demand = total;
    }
    let liquid = work.properties(&super::liquid::Liquid::Water, 57.5);
    Network { nodes, links, liquid }
}

/// A flow at which loss factors of parts are read off; they do not depend on it.
const PROBE: f64 = 0.05;

fn leg_element(work: &mut Work, pipe: PipeIx, next: Option<PipeIx>) -> Element {
    let run = work.runs[pipe.0];
    let properties = work.properties_in(pipe);
    let Some(tube) = work.tubes[pipe.0] else {
        return Element::Stated { pa: 1.0, flow: PROBE };
    };
    let head = velocity_head(velocity(PROBE, tube.bore()), properties.rho);
    let driven = |part: PartIx| work.system.part(part).kind.key == "secondary pump";
    let part = match next {
        Some(next) if !driven(work.graph.part[work.graph.to(pipe)]) => {
            work.part_loss(pipe, next, PROBE) / head
        }
        _ => 0.0,
    };
    Element::Pipe {
        bore: tube.bore(),
        roughness: tube.roughness,
        metres: run.metres.max(0.01),
        zeta: part + run.elbows * crate::catalogue::hydraulics::zeta("elbow", tube.od),
    }
}
