//! Pipes side by side in the cold and hot water: two stores in parallel, a ring. In: the bench with
//! a first choice of sizes. Out: how the flow shares between them, by the network solver.

use super::network::{Element, Link, Network, Node};
use super::note::{Note, plain};
use super::supply::Supply;
use super::work::Work;
use crate::model::PipeIx;

/// For each pipe its share of what reaches the chamber at its end, where several pipes end there;
/// `None` where the graph is a tree or nothing solves it.
pub fn shares(work: &mut Work, supply: &Supply) -> Option<Vec<Option<f64>>> {
    let meets = meeting(work, supply);
    if meets.is_empty() {
        return None;
    }
    let (network, pipes) = network(work, supply)?;
    let solved = match network.solve() {
        Ok(solved) => solved,
        Err(why) => {
            let id = work.system.pipe(meets[0]).id.clone();
            work.figures.push(
                Note::new("parallel.share", &id, "share of pipes side by side")
                    .by("network solver", "flows balance, losses close", "global gradient method")
                    .gives(0.0, "", format!("no solution: {why}; equal shares taken")),
            );
            return None;
        }
    };
    let mut flow = vec![0.0; work.system.pipes.len()];
    for (pipe, q) in pipes.iter().zip(&solved.flow) {
        flow[pipe.0] = q.max(0.0);
    }
    let mut shares = vec![None; flow.len()];
    for pipe in meets {
        let to = work.graph.to(pipe);
        let all: f64 =
            work.graph.into[to].iter().filter(|p| supply.live[p.0]).map(|p| flow[p.0]).sum();
        if all > 0.0 {
            shares[pipe.0] = Some(flow[pipe.0] / all);
        }
    }
    Some(shares)
}

/// Pipes that end where others end too, blending valves apart.
fn meeting(work: &Work, supply: &Supply) -> Vec<PipeIx> {
    let mut found = Vec::new();
    for chamber in 0..work.graph.chambers() {
        let part = work.system.part(work.graph.part[chamber]);
        let into: Vec<PipeIx> =
            work.graph.into[chamber].iter().copied().filter(|p| supply.live[p.0]).collect();
        if into.len() > 1 && part.kind.key != "blending valve" {
            found.extend(into);
        }
    }
    found
}

/// The live pipes as a network, mains held at nought, outlets drawing the design flow by their
/// sizes.
fn network(work: &mut Work, supply: &Supply) -> Option<(Network, Vec<PipeIx>)> {
    let pipes: Vec<PipeIx> =
        (0..work.system.pipes.len()).map(PipeIx).filter(|p| supply.live[p.0]).collect();
    let mut index = vec![None; work.graph.chambers()];
    let mut nodes = Vec::new();
    for pipe in &pipes {
        for chamber in [work.graph.from(*pipe), work.graph.to(*pipe)] {
            if index[chamber].is_none() {
                index[chamber] = Some(nodes.len());
                nodes.push(node(work, supply, chamber));
            }
        }
    }
    let liquid = work.properties(&super::liquid::Liquid::Water, 30.0);
    let entering: f64 = pipes
        .iter()
        .filter(|p| !work.graph.into[work.graph.from(**p)].iter().any(|q| supply.live[q.0]))
        .map(|p| work.flow[p.0])
        .sum();
    let drawn: f64 = nodes.iter().map(|n: &Node| n.demand).sum();
    if drawn <= 0.0 {
        return None;
    }
    for node in &mut nodes {
        node.demand *= entering / drawn;
    }
    let mut links = Vec::with_capacity(pipes.len());
    for pipe in &pipes {
        let tube = work.tubes[pipe.0]?;
        let run = work.runs[pipe.0];
        let flow = work.flow[pipe.0].max(0.01);
        let head = super::friction::velocity_head(
            super::friction::velocity(flow, tube.bore()),
            liquid.rho,
        );
        // The part at the pipe's end counts as a loss factor of the pipe.
        let to = work.graph.to(*pipe);
        let next = work.graph.out[to].iter().copied().find(|p| supply.live[p.0]);
        let part = next.map_or(0.0, |next| work.part_loss(*pipe, next, flow)) / head;
        links.push(Link {
            name: work.system.pipe(*pipe).id.clone(),
            from: index[work.graph.from(*pipe)]?,
            to: index[to]?,
            element: Element::Pipe {
                bore: tube.bore(),
                roughness: tube.roughness,
                metres: run.metres.max(0.01),
                zeta: part + run.elbows * crate::catalogue::hydraulics::zeta("elbow", tube.od),
            },
        });
    }
    Some((Network { nodes, links, liquid }, pipes))
}

fn node(work: &Work, supply: &Supply, chamber: usize) -> Node {
    let entry = !work.graph.into[chamber].iter().any(|p| supply.live[p.0]);
    Node {
        name: work.tag(work.graph.part[chamber]),
        height: 0.0,
        demand: supply.own[chamber].all,
        fixed: entry.then_some(0.0),
    }
}

/// Says how pipes side by side share.
pub fn figures(work: &mut Work, shares: &[Option<f64>]) {
    for (i, share) in shares.iter().enumerate() {
        let Some(share) = share else { continue };
        let id = work.system.pipes[i].id.clone();
        let flow = work.flow[i];
        work.figures.push(
            Note::new("parallel.share", &id, "share of pipes side by side")
                .by(
                    "network solver",
                    "flows balance at every node, losses close round every loop",
                    "Todini and Pilati, global gradient method; Colebrook-White",
                )
                .with("design flow", flow, "l/s")
                .gives(*share, "", format!("{} % of the flow", plain(share * 100.0, 1))),
        );
    }
}
