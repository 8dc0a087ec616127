//! What runs. In: a netlist and the state of its inputs. Out: which loads run, which terminals
//! are live, and whether line meets neutral.
//!
//! Terminals are points, conductors and closed contacts join them into nets; a load runs where one
//! end is on the line's net and the other on the neutral's of the same supply. Running loads move
//! contacts, so the nets are formed again until nothing changes. Time is not modelled.

use std::collections::BTreeMap;

use super::netlist::{When, Wiring};

/// A netlist made ready for many runs.
pub struct Simulator<'a> {
    wiring: &'a Wiring,
    points: BTreeMap<&'a str, usize>,
    wires: Vec<(usize, usize)>,
    contacts: Vec<(usize, usize, Condition)>,
    /// line, neutral, and what else must be live.
    loads: Vec<(usize, usize, Option<usize>)>,
    supplies: Vec<(usize, usize, usize)>,
}

enum Condition {
    Always,
    Never,
    Input(usize, bool),
    Runs(usize, bool),
    All(Vec<Condition>),
    Any(Vec<Condition>),
}

/// One settled state.
#[derive(Clone, Debug, PartialEq)]
pub struct State {
    /// For each load.
    pub runs: Vec<bool>,
    /// Line meets neutral or earth somewhere: the fuse blows, nothing runs.
    pub short: bool,
    /// False where the state swings for ever.
    pub settled: bool,
    /// Re-evaluations until nothing changed.
    pub rounds: u32,
    live: Vec<bool>,
}

/// More rounds than loads can change in a sound netlist.
const ROUNDS: u32 = 64;

impl<'a> Simulator<'a> {
    pub fn new(wiring: &'a Wiring) -> Simulator<'a> {
        let mut points = BTreeMap::new();
        let mut point = |address: &'a str| {
            let next = points.len();
            *points.entry(address).or_insert(next)
        };
        let wires =
            wiring.conductors.iter().map(|c| (point(&c.from), point(&c.to))).collect::<Vec<_>>();
        let contacts = wiring
            .contacts
            .iter()
            .map(|c| (point(&c.a), point(&c.b), compile(wiring, &c.when)))
            .collect::<Vec<_>>();
        let loads = wiring
            .loads
            .iter()
            .map(|l| (point(&l.line), point(&l.neutral), l.also.as_deref().map(&mut point)))
            .collect::<Vec<_>>();
        let supplies = wiring
            .supplies
            .iter()
            .map(|s| (point(&s.line), point(&s.neutral), point(&s.earth)))
            .collect::<Vec<_>>();
        Simulator { wiring, points, wires, contacts, loads, supplies }
    }

    /// The state that a set of inputs settles in, starting from rest.
    pub fn run(&self, inputs: &[bool]) -> State {
        self.run_with(inputs, &BTreeMap::new())
    }

    /// As [`Simulator::run`], with some loads' contacts held as if the load ran or did not (a
    /// valve that sticks).
    pub fn run_with(&self, inputs: &[bool], held: &BTreeMap<usize, bool>) -> State {
        let mut runs = vec![false; self.loads.len()];
        let mut rounds = 0;
        loop {
            let mut nets = Nets::new(self.points.len());
            self.wires.iter().for_each(|&(a, b)| nets.join(a, b));
            let mut moved = runs.clone();
            held.iter().for_each(|(&i, &v)| moved[i] = v);
            for (a, b, condition) in &self.contacts {
                if condition.holds(inputs, &moved) {
                    nets.join(*a, *b);
                }
            }
            let poles: Vec<(usize, usize)> =
                self.supplies.iter().map(|&(l, n, _)| (nets.find(l), nets.find(n))).collect();
            let short = poles.iter().any(|(l, n)| l == n)
                || self.supplies.iter().any(|&(l, _, e)| nets.find(l) == nets.find(e));
            let next: Vec<bool> = self
                .loads
                .iter()
                .map(|&(line, neutral, also)| {
                    let (a, b) = (nets.find(line), nets.find(neutral));
                    let also = also.map(|p| nets.find(p));
                    !short
                        && poles.iter().any(|&(l, n)| {
                            ((a == l && b == n) || (a == n && b == l))
                                && also.is_none_or(|p| poles.iter().any(|(l, _)| *l == p))
                        })
                })
                .collect();
            let settled = next == runs;
            if settled || rounds == ROUNDS {
                let live = (0..self.points.len())
                    .map(|p| {
                        let net = nets.find(p);
                        poles.iter().any(|(l, _)| *l == net)
                    })
                    .collect();
                return State { runs: next, short, settled, rounds, live };
            }
            runs = next;
            rounds += 1;
        }
    }

    /// True where a terminal is at the line's potential.
    pub fn live(&self, state: &State, address: &str) -> bool {
        self.points.get(address).is_some_and(|p| state.live[*p])
    }

    /// The index of a load.
    pub fn load(&self, id: &str) -> Option<usize> {
        self.wiring.loads.iter().position(|l| l.id == id)
    }

    /// The terminals that the conductors and the contacts `keep` lets through join to an address.
    pub fn reached(&self, from: &str, keep: impl Fn(usize) -> bool) -> Reached<'_> {
        let mut nets = Nets::new(self.points.len());
        self.wires.iter().for_each(|&(a, b)| nets.join(a, b));
        for (i, (a, b, _)) in self.contacts.iter().enumerate() {
            if keep(i) {
                nets.join(*a, *b);
            }
        }
        let net = self.points.get(from).map(|p| nets.find(*p));
        Reached { points: &self.points, nets, net }
    }
}

/// The net round one terminal.
pub struct Reached<'a> {
    points: &'a BTreeMap<&'a str, usize>,
    nets: Nets,
    net: Option<usize>,
}

impl Reached<'_> {
    pub fn holds(&mut self, address: &str) -> bool {
        match (self.points.get(address), self.net) {
            (Some(p), Some(net)) => self.nets.find(*p) == net,
            _ => false,
        }
    }
}

fn compile(wiring: &Wiring, when: &When) -> Condition {
    match when {
        When::Always => Condition::Always,
        When::Input(id, is) => match wiring.input(id) {
            Some(i) => Condition::Input(i, *is),
            None => Condition::Never,
        },
        When::Runs(id, is) => match wiring.loads.iter().position(|l| l.id == *id) {
            Some(i) => Condition::Runs(i, *is),
            None => Condition::Never,
        },
        When::All(of) => Condition::All(of.iter().map(|w| compile(wiring, w)).collect()),
        When::Any(of) => Condition::Any(of.iter().map(|w| compile(wiring, w)).collect()),
    }
}

impl Condition {
    fn holds(&self, inputs: &[bool], runs: &[bool]) -> bool {
        match self {
            Condition::Always => true,
            Condition::Never => false,
            Condition::Input(i, is) => inputs.get(*i).copied().unwrap_or(false) == *is,
            Condition::Runs(i, is) => runs[*i] == *is,
            Condition::All(of) => of.iter().all(|c| c.holds(inputs, runs)),
            Condition::Any(of) => of.iter().any(|c| c.holds(inputs, runs)),
        }
    }
}

/// Disjoint sets with path halving; the smaller root wins, so results do not depend on order.
struct Nets(Vec<usize>);

impl Nets {
    fn new(n: usize) -> Nets {
        Nets((0..n).collect())
    }

    fn find(&mut self, mut p: usize) -> usize {
        while self.0[p] != p {
            self.0[p] = self.0[self.0[p]];
            p = self.0[p];
        }
        p
    }

    fn join(&mut self, a: usize, b: usize) {
        let (a, b) = (self.find(a), self.find(b));
        if a != b {
            self.0[a.max(b)] = a.min(b);
        }
    }
}
