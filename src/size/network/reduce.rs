//! A network without its trees and chains. In: a network. Out: the core of nodes where the water
//! has a choice, edges made of links in a row, and blind branches whose flow is plain.

use super::Network;

/// A link in an edge: flow of the link = sign x (flow of the edge + offset).
#[derive(Clone, Copy, Debug)]
pub struct Part {
    pub link: usize,
    pub sign: f64,
    pub offset: f64,
}

/// Links in a row from node `a` to node `b`.
#[derive(Clone, Debug)]
pub struct Edge {
    pub a: usize,
    pub b: usize,
    pub parts: Vec<Part>,
    /// Ends in a node that nothing else joins.
    pub blind: bool,
}

impl Edge {
    /// The same edge, told from the other end.
    fn turned(mut self) -> Edge {
        std::mem::swap(&mut self.a, &mut self.b);
        self.parts.reverse();
        for part in &mut self.parts {
            part.sign = -part.sign;
            part.offset = -part.offset;
        }
        self
    }
}

pub struct Reduced {
    pub nodes: Vec<usize>,
    pub core: Vec<Edge>,
    /// Blind branches with their flow, in the order in which they were cut off.
    pub leaves: Vec<(Edge, f64)>,
    /// Demand at each node, with that of the branches cut off it.
    pub demand: Vec<f64>,
}

impl Reduced {
    pub fn of(network: &Network) -> Reduced {
        let mut work = Shrinking {
            demand: network.nodes.iter().map(|n| n.demand).collect(),
            fixed: network.nodes.iter().map(|n| n.fixed.is_some()).collect(),
            at: vec![Vec::new(); network.nodes.len()],
            edges: Vec::new(),
        };
        for (i, link) in network.links.iter().enumerate() {
            work.add(Edge {
                a: link.from,
                b: link.to,
                parts: vec![Part { link: i, sign: 1.0, offset: 0.0 }],
                blind: false,
            });
        }
        let leaves = work.cut_leaves();
        work.join_chains();
        let nodes = (0..work.at.len()).filter(|n| !work.at[*n].is_empty()).collect();
        Reduced {
            nodes,
            core: work.edges.into_iter().flatten().collect(),
            leaves,
            demand: work.demand,
        }
    }
}

struct Shrinking {
    demand: Vec<f64>,
    fixed: Vec<bool>,
    /// Edges at each node.
    at: Vec<Vec<usize>>,
    edges: Vec<Option<Edge>>,
}

impl Shrinking {
    fn add(&mut self, edge: Edge) {
        let i = self.edges.len();
        self.at[edge.a].push(i);
        if edge.b != edge.a {
            self.at[edge.b].push(i);
        }
        self.edges.push(Some(edge));
    }

    fn take(&mut self, i: usize) -> Option<Edge> {
        let edge = self.edges[i].take()?;
        self.at[edge.a].retain(|e| *e != i);
        self.at[edge.b].retain(|e| *e != i);
        Some(edge)
    }

    fn cut_leaves(&mut self) -> Vec<(Edge, f64)> {
        let mut leaves = Vec::new();
        let is_leaf = |s: &Shrinking, n: usize| s.at[n].len() == 1 && !s.fixed[n];
        let mut queue: Vec<usize> = (0..self.at.len()).filter(|n| is_leaf(self, *n)).collect();
        while let Some(node) = queue.pop() {
            if !is_leaf(self, node) {
                continue;
            }
            let Some(edge) = self.take(self.at[node][0]) else { continue };
            let mut edge = if edge.b == node { edge } else { edge.turned() };
            edge.blind = true;
            let flow = self.demand[node];
            self.demand[edge.a] += flow;
            if is_leaf(self, edge.a) {
                queue.push(edge.a);
            }
            leaves.push((edge, flow));
        }
        leaves
    }

    fn join_chains(&mut self) {
        for node in 0..self.at.len() {
            if self.fixed[node] || self.at[node].len() != 2 {
                continue;
            }
            let (i, j) = (self.at[node][0], self.at[node][1]);
            let far = |e: &Option<Edge>| e.as_ref().map(|e| if e.a == node { e.b } else { e.a });
            let ends = (far(&self.edges[i]), far(&self.edges[j]));
            // A ring that hangs on one node keeps a node of its own.
            if ends.0 == ends.1 || ends.0 == Some(node) || ends.1 == Some(node) {
                continue;
            }
            let (Some(first), Some(second)) = (self.take(i), self.take(j)) else { continue };
            let mut first = if first.b == node { first } else { first.turned() };
            let second = if second.a == node { second } else { second.turned() };
            let drawn = self.demand[node];
            // The edge is told by the flow at its first node; the last one pays what is drawn
            // between.
            self.demand[second.b] += drawn;
            first.b = second.b;
            first
                .parts
                .extend(second.parts.into_iter().map(|p| Part { offset: p.offset - drawn, ..p }));
            self.add(first);
        }
    }
}
