//! Pressures and flows in a network of any shape. In: nodes with heights, demands and fixed
//! pressures; links with what they lose. Out: pressure at every node, flow in every link, or a
//! sentence that says why there is none.
//!
//! Branches that end blind and chains without a choice are worked out directly ([`reduce`]); what
//! is left is solved by Newton's method on heads and flows together (the global gradient method of
//! Todini and Pilati, 1987), so flows balance at every step and losses close at the end.

mod element;
mod reduce;

use nalgebra::{Cholesky, DMatrix, DVector};

pub use element::Element;
use reduce::{Edge, Reduced};

use super::water::Properties;

/// m/s2.
pub(super) const GRAVITY: f64 = 9.806_65;
/// Largest error of loss along a link that counts as settled, Pa.
const SETTLED: f64 = 0.01;
const MOST_STEPS: usize = 200;

/// Where links meet.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Node {
    pub name: String,
    /// m above any level.
    pub height: f64,
    /// What leaves the network here, l/s; negative = what enters.
    pub demand: f64,
    /// Gauge pressure that something holds here, Pa.
    pub fixed: Option<f64>,
}

/// What joins two nodes; flow is positive from `from` to `to`.
#[derive(Clone, Debug, PartialEq)]
pub struct Link {
    pub name: String,
    pub from: usize,
    pub to: usize,
    pub element: Element,
}

/// A network filled with one liquid.
#[derive(Clone, Debug, PartialEq)]
pub struct Network {
    pub nodes: Vec<Node>,
    pub links: Vec<Link>,
    pub liquid: Properties,
}

/// A network at rest with itself.
#[derive(Clone, Debug, PartialEq)]
pub struct Solution {
    /// Gauge pressure at each node, Pa.
    pub pressure: Vec<f64>,
    /// Flow in each link, l/s.
    pub flow: Vec<f64>,
    pub steps: usize,
}

/// Why a network has no solution, in a sentence.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NoSolution(pub String);

impl std::fmt::Display for NoSolution {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for NoSolution {}

impl Network {
    /// Solves the network.
    ///
    /// # Errors
    /// Where a part of it has nothing that holds its pressure, where a number is not one, or where
    /// the sums do not settle.
    pub fn solve(&self) -> Result<Solution, NoSolution> {
        self.check()?;
        let reduced = Reduced::of(self);
        let lift = |i: usize| self.liquid.rho * GRAVITY * self.nodes[i].height;
        let mut head: Vec<f64> = vec![0.0; self.nodes.len()];
        for (i, node) in self.nodes.iter().enumerate() {
            if let Some(pressure) = node.fixed {
                head[i] = pressure + lift(i);
            }
        }
        let mut flow = vec![0.0; self.links.len()];
        let (edge_flow, steps) = self.newton(&reduced, &mut head)?;
        for (edge, q) in reduced.core.iter().zip(&edge_flow) {
            self.unfold(edge, *q, &mut head, &mut flow);
        }
        // Blind branches hang on what is known by now, the last cut first.
        for (edge, q) in reduced.leaves.iter().rev() {
            self.unfold(edge, *q, &mut head, &mut flow);
        }
        let pressure = (0..head.len()).map(|i| head[i] - lift(i)).collect();
        Ok(Solution { pressure, flow, steps })
    }

    fn check(&self) -> Result<(), NoSolution> {
        for node in &self.nodes {
            let fixed = node.fixed.unwrap_or(0.0);
            if !(node.height.is_finite() && node.demand.is_finite() && fixed.is_finite()) {
                return Err(NoSolution(format!("{}: not a number", node.name)));
            }
        }
        for link in &self.links {
            if link.from >= self.nodes.len() || link.to >= self.nodes.len() {
                return Err(NoSolution(format!("{} ends nowhere", link.name)));
            }
            if !link.element.is_sound() {
                return Err(NoSolution(format!("{}: a size that cannot be", link.name)));
            }
        }
        let mut known: Vec<bool> = self.nodes.iter().map(|n| n.fixed.is_some()).collect();
        let mut beside = vec![Vec::new(); self.nodes.len()];
        for link in &self.links {
            beside[link.from].push(link.to);
            beside[link.to].push(link.from);
        }
        let mut queue: Vec<usize> = (0..known.len()).filter(|i| known[*i]).collect();
        while let Some(at) = queue.pop() {
            for next in &beside[at] {
                if !std::mem::replace(&mut known[*next], true) {
                    queue.push(*next);
                }
            }
        }
        match known.iter().position(|k| !k) {
            Some(i) => Err(NoSolution(format!(
                "nothing holds the pressure of the part of the network with {}",
                self.nodes[i].name
            ))),
            None => Ok(()),
        }
    }

    /// Heads of the core's nodes and flows of its edges.
    fn newton(&self, reduced: &Reduced, head: &mut [f64]) -> Result<(Vec<f64>, usize), NoSolution> {
        let free: Vec<usize> =
            reduced.nodes.iter().copied().filter(|n| self.nodes[*n].fixed.is_none()).collect();
        let mut row = vec![None; self.nodes.len()];
        for (i, node) in free.iter().enumerate() {
            row[*node] = Some(i);
        }
        let mut flow = vec![0.05; reduced.core.len()];
        let mut best = f64::INFINITY;
        let mut part = 1.0;
        for step in 1..=MOST_STEPS {
            let at: Vec<(f64, f64)> =
                reduced.core.iter().zip(&flow).map(|(e, q)| self.loss(e, *q)).collect();
            if !free.is_empty() {
                let heads = self.heads(reduced, &at, &flow, &free, &row, head)?;
                for (node, h) in free.iter().zip(heads.iter()) {
                    head[*node] = *h;
                }
            }
            let mut moved: f64 = 0.0;
            for (i, edge) in reduced.core.iter().enumerate() {
                let (loss, slope) = at[i];
                let by = (loss - (head[edge.a] - head[edge.b])) / slope;
                flow[i] -= part * by;
                moved = moved.max(by.abs());
            }
            let error = reduced
                .core
                .iter()
                .zip(&flow)
                .map(|(e, q)| (self.loss(e, *q).0 - (head[e.a] - head[e.b])).abs())
                .fold(0.0, f64::max);
            if !error.is_finite() || !moved.is_finite() {
                return Err(NoSolution("the sums run away: a pressure that cannot be".to_owned()));
            }
            // A full step keeps every node in balance; a shortened one does not, so end on one.
            if error < SETTLED && part == 1.0 {
                return Ok((flow, step));
            }
            part = if error < best || step < 30 || step % 3 == 0 { 1.0 } else { 0.5 };
            best = best.min(error);
        }
        Err(NoSolution(format!(
            "the sums do not settle in {MOST_STEPS} steps; the least error is {best:.1} Pa"
        )))
    }

    fn heads(
        &self,
        reduced: &Reduced,
        at: &[(f64, f64)],
        flow: &[f64],
        free: &[usize],
        row: &[Option<usize>],
        head: &[f64],
    ) -> Result<DVector<f64>, NoSolution> {
        let n = free.len();
        let mut matrix = DMatrix::<f64>::zeros(n, n);
        let mut right = DVector::<f64>::zeros(n);
        for (i, node) in free.iter().enumerate() {
            right[i] -= reduced.demand[*node];
        }
        for (i, edge) in reduced.core.iter().enumerate() {
            let (loss, slope) = at[i];
            let ease = 1.0 / slope;
            let base = flow[i] - loss * ease;
            for (node, other, sign) in [(edge.a, edge.b, -1.0), (edge.b, edge.a, 1.0)] {
                let Some(r) = row[node] else { continue };
                right[r] += sign * base;
                matrix[(r, r)] += ease;
                match row[other] {
                    Some(c) => matrix[(r, c)] -= ease,
                    None => right[r] += ease * head[other],
                }
            }
        }
        match Cholesky::new(matrix.clone()) {
            Some(factor) => Ok(factor.solve(&right)),
            None => matrix.lu().solve(&right).ok_or_else(|| {
                NoSolution("a part of the network hangs on nothing that holds it".to_owned())
            }),
        }
    }

    /// Loss along an edge at a flow, Pa, and its slope, Pa/(l/s).
    fn loss(&self, edge: &Edge, flow: f64) -> (f64, f64) {
        let mut sum = (0.0, 0.0);
        for part in &edge.parts {
            let (loss, slope) =
                self.links[part.link].element.loss(part.sign * (flow + part.offset), &self.liquid);
            sum.0 += part.sign * loss;
            sum.1 += slope;
        }
        sum
    }

    /// Flow in each link of an edge, and heads along it from its first node.
    fn unfold(&self, edge: &Edge, flow: f64, head: &mut [f64], link_flow: &mut [f64]) {
        let mut h = head[edge.a];
        let last = edge.parts.len();
        for (i, part) in edge.parts.iter().enumerate() {
            let link = &self.links[part.link];
            let q = part.sign * (flow + part.offset);
            link_flow[part.link] = q;
            h -= part.sign * link.element.loss(q, &self.liquid).0;
            let next = if part.sign > 0.0 { link.to } else { link.from };
            // The end of an edge of the core is known already, and better.
            if i + 1 < last || edge.blind {
                head[next] = h;
            }
        }
    }
}
