//! The proof that an open cut-out stops the heat it guards. In: a netlist. Out: for each way of
//! heat into a store, whether its motor, element or pump stays dead with the cut-out open: tried
//! in every combination of demands, and shown by the netlist itself, in which no path leads from
//! any line to the load once the cut-out's contact is taken away.

use std::collections::BTreeSet;

use serde::Serialize;

use super::netlist::{Actuator, Wiring, terminal_of};
use super::simulate::Simulator;
use super::table::{Parts, Variable};

#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Proof {
    /// The guarded load and its device.
    pub load: String,
    pub device: String,
    /// The cut-out; empty where there is none.
    pub cut_out: String,
    /// Combinations tried with the cut-out open.
    pub tried: usize,
    /// Those in which the load ran all the same.
    pub live: usize,
    /// No path from a line to the load without the cut-out's contact.
    pub no_path: bool,
    pub holds: bool,
    /// The chain from line to load, as an electrician reads it.
    pub chain: Vec<String>,
}

/// More inputs than these are left at every demand "on" in the trial; the path shows the rest.
const MOST: usize = 12;

impl Wiring {
    /// One proof for each way of heat into a store.
    pub fn proofs(&self) -> Vec<Proof> {
        let sim = Simulator::new(self);
        let parts = Parts::of(self);
        self.guards
            .iter()
            .filter_map(|g| {
                let index = sim.load(&g.load)?;
                let load = &self.loads[index];
                let contact = self
                    .contacts
                    .iter()
                    .position(|c| c.device == g.cut_out && c.by == Actuator::CutOut);
                let no_path = contact.is_some_and(|cut| {
                    self.supplies.iter().filter(|s| !s.inside).all(|s| {
                        let mut net = sim.reached(&s.line, |i| i != cut);
                        !net.holds(&load.line)
                    })
                });
                let input = self.inputs.iter().position(|i| i.cut_out && i.device == g.cut_out);
                let mut of = BTreeSet::new();
                parts.roots(Variable::Load(index), &mut of);
                let free: Vec<usize> =
                    of.into_iter().filter(|i| Some(*i) != input).take(MOST).collect();
                let mut state = vec![true; self.inputs.len()];
                if let Some(i) = input {
                    state[i] = false;
                }
                let tried = 1usize << free.len();
                let live = (0..tried)
                    .filter(|row| {
                        free.iter().enumerate().for_each(|(k, i)| state[*i] = row >> k & 1 == 1);
                        sim.run(&state).runs[index]
                    })
                    .count();
                Some(Proof {
                    load: g.load.clone(),
                    device: load.device.clone(),
                    cut_out: g.cut_out.clone(),
                    tried,
                    live,
                    no_path,
                    holds: contact.is_some() && no_path && live == 0,
                    chain: self.chain(&load.line),
                })
            })
            .collect()
    }

    /// The shortest way from a line to a terminal, as the terminals it passes.
    pub fn chain(&self, to: &str) -> Vec<String> {
        let mut from: std::collections::BTreeMap<&str, &str> = std::collections::BTreeMap::new();
        let mut queue: std::collections::VecDeque<&str> = std::collections::VecDeque::new();
        for s in self.supplies.iter().filter(|s| !s.inside) {
            from.insert(&s.line, "");
            queue.push_back(&s.line);
        }
        while let Some(at) = queue.pop_front() {
            if at == to {
                let mut chain = vec![at.to_owned()];
                let mut p = from[at];
                while !p.is_empty() {
                    chain.push(p.to_owned());
                    p = from[p];
                }
                chain.reverse();
                return chain;
            }
            let wires = self.conductors.iter().map(|c| (c.from.as_str(), c.to.as_str()));
            let closes = self.contacts.iter().map(|c| (c.a.as_str(), c.b.as_str()));
            for (a, b) in wires.chain(closes) {
                for (x, y) in [(a, b), (b, a)] {
                    if x == at && !from.contains_key(y) && terminal_of(y) != "E" {
                        from.insert(y, x);
                        queue.push_back(y);
                    }
                }
            }
        }
        Vec::new()
    }
}
