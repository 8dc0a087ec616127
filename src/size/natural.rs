//! How a circuit's flow shares among its users if nobody balances it. In: loops with their losses.
//! Out: for each user the flow it gets of the flow it needs, by the network solver.

use std::collections::BTreeMap;

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
        if of.len() < 2 {
            continue;
        }
        let network = network(work, heating, &of);
        match network.solve() {
            Ok(solved) => {
                for (i, l) in of.iter().enumerate() {
                    figure(work, heating, l, solved.flow[i]);
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
        Note::new("heating.unbalanced", &tag, "flow it gets if nobody balances the circuit")
            .by(
                "network solver",
                "flows balance at every node, losses close round every loop, all users open",
                "Todini and Pilati, global gradient method; Colebrook-White",
            )
            .with("flow needed", user.flow, "l/s")
            .with("flow it gets", flow, "l/s")
            .assumed(!l.known)
            .gives(share, "%", format!("{} % of its flow", plain(share, 0))),
    );
}

/// The users first, in the order of the loops, then the pipes; the start gives what all need.
fn network(work: &mut Work, heating: &Heating, of: &[&Loop]) -> Network {
    let mut nodes: Vec<Node> = Vec::new();
    let mut index: BTreeMap<(usize, bool), usize> = BTreeMap::new();
    let mut node = |chamber: usize, back: bool, name: String| -> usize {
        *index.entry((chamber, back)).or_insert_with(|| {
            nodes.push(Node { name, ..Node::default() });
            nodes.len() - 1
        })
    };
    let mut links: Vec<Link> = Vec::new();
    let mut ends: Vec<(usize, usize)> = Vec::new();
    let mut seen: BTreeMap<PipeIx, ()> = BTreeMap::new();
    let mut pipes: Vec<Link> = Vec::new();
    let mut all = 0.0;
    for l in of {
        let user = &heating.users[l.user];
        all += user.flow;
        let tag = work.tag(user.part);
        links.push(Link {
            name: tag.clone(),
            from: node(user.chamber, false, tag.clone()),
            to: node(user.chamber, true, tag),
            element: Element::Stated {
                pa: (l.loss - l.losses.iter().sum::<f64>() - l.source).max(1.0),
                flow: user.flow,
            },
        });
        for (i, pipe) in l.pipes.iter().enumerate() {
            if seen.insert(*pipe, ()).is_some() {
                continue;
            }
            let back = i >= l.turn;
            let (a, b) = work.graph.ends[pipe.0];
            let name = work.system.pipe(*pipe).id.clone();
            let (from, to) = (node(a, back, name.clone()), node(b, back, name.clone()));
            pipes.push(Link { name, from, to, element: element(work, l, i) });
        }
        let (first, last) = (l.pipes[0], l.pipes[l.pipes.len() - 1]);
        let out = node(work.graph.from(first), false, "start".to_owned());
        let home = node(work.graph.to(last), true, "home".to_owned());
        ends.push((out, home));
    }
    links.extend(pipes);
    if let Some((out, home)) = ends.first() {
        nodes[*out].fixed = Some(0.0);
        nodes[*home].demand = all;
    }
    let celsius = of.first().map_or(60.0, |l| heating.users[l.user].temperatures.mean());
    let liquid = work.properties(&super::liquid::Liquid::Water, celsius);
    Network { nodes, links, liquid }
}

/// A pipe of a loop with the part that goes with it: the one it splits off at, or runs into.
fn element(work: &mut Work, l: &Loop, i: usize) -> Element {
    let pipe = l.pipes[i];
    let run = work.runs[pipe.0];
    let flow = work.flow[pipe.0].max(1e-3);
    let properties = work.properties_in(pipe);
    let Some(tube) = work.tubes[pipe.0] else {
        return Element::Stated { pa: 1.0, flow };
    };
    let head = velocity_head(velocity(flow, tube.bore()), properties.rho);
    let zeta = (l.losses[i]
        - super::friction::friction(flow, tube.bore(), tube.roughness, &properties).gradient
            * run.metres)
        / head;
    Element::Pipe {
        bore: tube.bore(),
        roughness: tube.roughness,
        metres: run.metres.max(0.01),
        zeta: zeta.max(0.0),
    }
}
