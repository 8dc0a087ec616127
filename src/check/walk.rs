//! Walks over the graph. In: ports to start from, which way, which parts let the water on. Out:
//! the parts met, in the order met, and the way to each.

use std::collections::HashMap;

use super::Context;
use crate::catalogue::Flow;
use crate::model::{PartIx, PipeIx, PortRef};

/// Which way a walk goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Way {
    /// With the flow.
    Down,
    /// Against the flow.
    Up,
    /// Either way.
    Any,
}

/// The parts a walk met.
pub struct Reached {
    /// In the order met, nearest first.
    pub parts: Vec<PartIx>,
    /// How each port was come to.
    came: HashMap<PortRef, (Option<PortRef>, Option<PipeIx>)>,
    /// The port at which each part was first met.
    entry: HashMap<PartIx, PortRef>,
}

impl Reached {
    pub fn has(&self, part: PartIx) -> bool {
        self.entry.contains_key(&part)
    }

    /// The port by which the part was first met.
    pub fn entry(&self, part: PartIx) -> Option<PortRef> {
        self.entry.get(&part).copied()
    }

    /// True where the walk came to that very port.
    pub fn has_port(&self, port: PortRef) -> bool {
        self.came.contains_key(&port)
    }

    /// The parts between the start and this part, both left out, in the order met.
    pub fn between(&self, part: PartIx) -> Vec<PartIx> {
        let mut parts: Vec<PartIx> = Vec::new();
        self.back(part, |port, _| {
            if port.part != part && parts.last() != Some(&port.part) {
                parts.push(port.part);
            }
        });
        // The start itself stands last.
        parts.pop();
        parts.reverse();
        parts
    }

    /// The pipes from the start to this part, in the order met.
    pub fn pipes_to(&self, part: PartIx) -> Vec<PipeIx> {
        let mut pipes = Vec::new();
        self.back(part, |_, pipe| pipes.extend(pipe));
        pipes.reverse();
        pipes
    }

    fn back(&self, part: PartIx, mut see: impl FnMut(PortRef, Option<PipeIx>)) {
        let mut at = self.entry(part);
        while let Some(port) = at {
            let Some((from, pipe)) = self.came.get(&port).copied() else { break };
            see(port, pipe);
            at = from;
        }
    }
}

impl Context<'_> {
    /// Walks from the given ports outwards. A part that does not let the water `through` is met
    /// but not passed. Inside a part the water passes between the ports that share it.
    pub fn walk(
        &self,
        way: Way,
        start: impl IntoIterator<Item = PortRef>,
        through: impl Fn(PartIx) -> bool,
    ) -> Reached {
        let mut reached =
            Reached { parts: Vec::new(), came: HashMap::new(), entry: HashMap::new() };
        let mut queue = std::collections::VecDeque::new();
        for port in start {
            if reached.came.insert(port, (None, None)).is_none() {
                queue.push_back(port);
            }
        }
        while let Some(port) = queue.pop_front() {
            let Some(pipe_ix) = self.pipe_at(port) else { continue };
            let pipe = self.system.pipe(pipe_ix);
            let leaves = pipe.from == port;
            if (way == Way::Down && !leaves) || (way == Way::Up && leaves) {
                continue;
            }
            let far = if leaves { pipe.to } else { pipe.from };
            if reached.came.contains_key(&far) {
                continue;
            }
            reached.came.insert(far, (Some(port), Some(pipe_ix)));
            if let std::collections::hash_map::Entry::Vacant(slot) = reached.entry.entry(far.part) {
                slot.insert(far);
                reached.parts.push(far.part);
            }
            if !through(far.part) {
                continue;
            }
            let kind = self.system.part(far.part).kind;
            for next in kind.shares_water(far.port) {
                let against = match way {
                    Way::Down => kind.ports[next].flow == Flow::In,
                    Way::Up => kind.ports[next].flow == Flow::Out,
                    Way::Any => false,
                };
                let next = PortRef { part: far.part, port: next };
                if !against && !reached.came.contains_key(&next) {
                    reached.came.insert(next, (Some(far), None));
                    queue.push_back(next);
                }
            }
        }
        reached
    }

    /// Walks from every port of a part, or from the ports named.
    pub fn walk_from(
        &self,
        way: Way,
        part: PartIx,
        ports: &[&str],
        through: impl Fn(PartIx) -> bool,
    ) -> Reached {
        let kind = self.system.part(part).kind;
        let start: Vec<PortRef> = if ports.is_empty() {
            (0..kind.ports.len()).map(|port| PortRef { part, port }).collect()
        } else {
            ports.iter().filter_map(|p| self.port(part, p)).collect()
        };
        self.walk(way, start, through)
    }
}
