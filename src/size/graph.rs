//! Who joins whom. In: a system. Out: chambers (ports that share water inside a part) with the
//! pipes that enter and leave them, built once, so that every later walk is linear.

use crate::catalogue::Closes;
use crate::model::{Part, PartIx, PipeIx, PortRef, System};

/// Chambers and pipes as indices.
#[derive(Clone, Debug, Default)]
pub struct Graph {
    /// Chamber of each port of each part.
    chamber: Vec<Vec<usize>>,
    /// Part of each chamber.
    pub part: Vec<PartIx>,
    /// Pipes that end in the chamber.
    pub into: Vec<Vec<PipeIx>>,
    /// Pipes that start in the chamber.
    pub out: Vec<Vec<PipeIx>>,
    /// Chambers of a pipe's two ends.
    pub ends: Vec<(usize, usize)>,
    /// Parts that nothing flows through in ordinary running.
    pub shut: Vec<bool>,
}

impl Graph {
    pub fn of(system: &System) -> Graph {
        let mut graph = Graph::default();
        for (i, part) in system.parts.iter().enumerate() {
            let mut of_port = vec![usize::MAX; part.kind.ports.len()];
            for port in 0..of_port.len() {
                if of_port[port] != usize::MAX {
                    continue;
                }
                let new = graph.part.len();
                graph.part.push(PartIx(i));
                of_port[port] = new;
                for other in part.kind.shares_water(port) {
                    of_port[other] = new;
                }
            }
            graph.chamber.push(of_port);
            graph.shut.push(is_shut(part));
        }
        graph.into = vec![Vec::new(); graph.part.len()];
        graph.out = vec![Vec::new(); graph.part.len()];
        for (i, pipe) in system.pipes.iter().enumerate() {
            let (from, to) = (graph.at(pipe.from), graph.at(pipe.to));
            graph.ends.push((from, to));
            graph.out[from].push(PipeIx(i));
            graph.into[to].push(PipeIx(i));
        }
        graph
    }

    /// The chamber of a port.
    pub fn at(&self, port: PortRef) -> usize {
        self.chamber[port.part.0][port.port]
    }

    /// The chamber of a named port of a part, if it has one.
    pub fn named(&self, system: &System, part: PartIx, port: &str) -> Option<usize> {
        let port = system.part(part).kind.port(port)?;
        Some(self.chamber[part.0][port])
    }

    pub fn from(&self, pipe: PipeIx) -> usize {
        self.ends[pipe.0].0
    }

    pub fn to(&self, pipe: PipeIx) -> usize {
        self.ends[pipe.0].1
    }

    pub fn chambers(&self) -> usize {
        self.part.len()
    }

    /// True where water passes the part of the chamber in ordinary running.
    pub fn open(&self, chamber: usize) -> bool {
        !self.shut[self.part[chamber].0]
    }

    /// Pipes among `keep`, so ordered that each stands after all those further down that it feeds.
    /// Pipes in a ring that never opens come last.
    pub fn upwards(&self, keep: &[bool]) -> Vec<PipeIx> {
        let mut waiting: Vec<usize> = self
            .ends
            .iter()
            .map(|(_, to)| self.out[*to].iter().filter(|p| keep[p.0]).count())
            .collect();
        let all = (0..self.ends.len()).filter(|i| keep[*i]);
        let mut order: Vec<PipeIx> = all.clone().filter(|i| waiting[*i] == 0).map(PipeIx).collect();
        let mut next = 0;
        while next < order.len() {
            let pipe = order[next];
            next += 1;
            for above in &self.into[self.from(pipe)] {
                if !keep[above.0] {
                    continue;
                }
                waiting[above.0] -= 1;
                if waiting[above.0] == 0 {
                    order.push(*above);
                }
            }
        }
        if order.len() < keep.iter().filter(|k| **k).count() {
            order.extend(all.filter(|i| waiting[*i] > 0).map(PipeIx));
        }
        order
    }

    /// True for each pipe among `keep` from which the water reaches one of the `ends`.
    pub fn leads_to(&self, keep: &[bool], ends: &[bool]) -> Vec<bool> {
        let mut leads = vec![false; self.ends.len()];
        let mut queue: Vec<usize> = (0..self.chambers()).filter(|c| ends[*c]).collect();
        let mut seen = ends.to_vec();
        while let Some(chamber) = queue.pop() {
            for pipe in &self.into[chamber] {
                if !keep[pipe.0] || leads[pipe.0] {
                    continue;
                }
                leads[pipe.0] = true;
                let from = self.from(*pipe);
                if !seen[from] {
                    seen[from] = true;
                    queue.push(from);
                }
            }
        }
        leads
    }
}

/// Drained, lifted only by a fault, joined only for filling, or a bypass that somebody opens by
/// hand: nothing passes in ordinary running.
fn is_shut(part: &Part) -> bool {
    let by_hand = part.kind.closes == Closes::ByHand;
    part.kind.closes == Closes::Lifts
        || matches!(part.kind.key.as_str(), "drain cock" | "filling loop" | "capped end")
        || (by_hand && part.name.contains("bypass"))
}
