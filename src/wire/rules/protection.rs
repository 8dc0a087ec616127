//! What protects people and cables: neutrals, earths, supplies that meet, loose ends, colours,
//! isolation, cables, fuses. In: the netlist. Out: faults S1 to S3, S7 to S10, S13 to S15.

use std::collections::BTreeSet;

use super::Finder;
use crate::catalogue::electrical::electrical;
use crate::diagnostic::Severity;
use crate::wire::netlist::{Actuator, Colour, LoadRole, Role};

impl Finder<'_> {
    /// S1 and S3.
    pub(super) fn neutrals(&mut self) {
        let house: Vec<_> = self.w.supplies.iter().filter(|s| !s.inside).collect();
        for load in &self.w.loads {
            let inside = self.w.supplies.iter().any(|s| s.inside && s.neutral == load.neutral);
            if !inside && !house.iter().any(|s| self.solid(&s.neutral).holds(&load.neutral)) {
                let what = format!("the neutral of {} does not reach its supply", load.words);
                self.fault("S1", what, &[&load.neutral]);
            }
        }
        for c in self.w.contacts.iter().filter(|c| c.by != Actuator::DoublePole) {
            if house.iter().any(|s| {
                let mut n = self.solid(&s.neutral);
                n.holds(&c.a) || n.holds(&c.b)
            }) {
                let what = format!("a contact of {} stands in a neutral", c.device);
                self.fault("S3", what, &[&c.device]);
            }
        }
    }

    /// S2.
    pub(super) fn earths(&mut self) {
        let w = self.w;
        let mut nets: BTreeSet<&str> =
            w.supplies.iter().filter(|s| !s.inside).map(|s| s.earth.as_str()).collect();
        loop {
            let before = nets.len();
            for c in w.conductors.iter().filter(|c| c.core.colour == Colour::GNYE) {
                if nets.contains(c.from.as_str()) || nets.contains(c.to.as_str()) {
                    nets.insert(&c.from);
                    nets.insert(&c.to);
                }
            }
            if nets.len() == before {
                break;
            }
        }
        for d in w.devices.iter().filter(|d| d.class_one) {
            let earthed = d
                .terminals
                .iter()
                .filter(|t| t.role == Role::Earth)
                .any(|t| nets.contains(format!("{}:{}", d.id, t.name).as_str()));
            if !earthed {
                self.fault("S2", format!("{} ({}) has no earth", d.id, d.words), &[&d.id]);
            }
        }
    }

    /// S7 and S8.
    pub(super) fn supplies(&mut self) {
        let w = self.w;
        let all = |_: usize| true;
        for (i, a) in w.supplies.iter().enumerate() {
            for b in &w.supplies[i + 1..] {
                if self.sim.reached(&a.line, all).holds(&b.line)
                    || self.sim.reached(&a.neutral, all).holds(&b.neutral)
                {
                    let what = format!("the supplies of {} and {} meet", a.name, b.name);
                    self.fault("S7", what, &[&a.line, &b.line]);
                }
            }
        }
        for d in &w.devices {
            for t in &d.terminals {
                if !matches!(t.role, Role::VoltFree | Role::Bus) {
                    continue;
                }
                let address = format!("{}:{}", d.id, t.name);
                let mains = w.supplies.iter().filter(|s| !s.inside).any(|s| {
                    self.sim.reached(&s.line, all).holds(&address)
                        || self.sim.reached(&s.neutral, all).holds(&address)
                });
                if mains {
                    let what = format!("230 V can reach {address}, which must stay free of mains");
                    self.fault("S8", what, &[&address]);
                }
            }
        }
    }

    /// S9.
    pub(super) fn ends(&mut self) {
        let mut seen = BTreeSet::new();
        for c in &self.w.conductors {
            for end in [&c.from, &c.to] {
                if self.w.terminal(end).is_none() {
                    self.fault("S9", format!("no terminal {end}"), &[end]);
                }
            }
            // Earth cores parked together are no second way for a current.
            if c.from == c.to || (!c.parked && !seen.insert((&c.from, &c.to))) {
                let what = format!("a second conductor from {} to {}", c.from, c.to);
                self.say("S9", Severity::Warning, what, &[&c.from, &c.to]);
            }
        }
    }

    /// S10.
    pub(super) fn colours(&mut self) {
        let w = self.w;
        let inside =
            |a: &str| w.terminal(a).is_some_and(|t| matches!(t.role, Role::VoltFree | Role::Bus));
        for c in &w.conductors {
            let makers = w.cable(&c.cable).is_some_and(|k| k.makers_flex);
            let earth =
                |a: &str| w.supplies.iter().any(|s| self.solid(&s.earth).holds(a)) || c.parked;
            let core = c.core;
            let green = core.colour == Colour::GNYE;
            let parts = [c.from.clone(), c.to.clone()];
            let parts: Vec<&str> = parts.iter().map(String::as_str).collect();
            if green && !earth(&c.from) && !earth(&c.to) {
                let what = format!("green-and-yellow used from {} to {}", c.from, c.to);
                self.fault("S10", what, &parts);
            } else if earth(&c.from) && !c.parked && !green {
                let what = format!("{} to {} is an earth but not green-and-yellow", c.from, c.to);
                self.fault("S10", what, &parts);
            } else if green || inside(&c.from) || inside(&c.to) {
            } else if self.on_neutral(&c.from) && core.marked() != Colour::BU {
                let what = format!("the neutral {} to {} is not blue", c.from, c.to);
                self.fault("S10", what, &parts);
            } else if !self.on_neutral(&c.from) && core.marked() != Colour::BN && !makers {
                let what = format!(
                    "the line {} to {} is {} and not sleeved brown",
                    c.from,
                    c.to,
                    core.words()
                );
                self.fault("S10", what, &parts);
            }
        }
    }

    /// S13.
    pub(super) fn isolation(&mut self) {
        let w = self.w;
        for s in w.supplies.iter().filter(|s| s.new_circuit) {
            let held = |i: usize| w.contacts[i].by != Actuator::DoublePole;
            let all = |_: usize| true;
            for l in w.loads.iter().filter(|l| l.role == LoadRole::Element) {
                let mine = self.sim.reached(&s.line, all).holds(&l.line);
                if mine
                    && (self.sim.reached(&s.line, held).holds(&l.line)
                        || self.sim.reached(&s.neutral, held).holds(&l.neutral))
                {
                    let what = format!("{} is not isolated on both poles", l.words);
                    self.fault("S13", what, &[&s.isolator, &l.device]);
                }
            }
        }
    }

    /// S14.
    pub(super) fn cables(&mut self) {
        for cable in &self.w.cables {
            let hot: Vec<&str> = cable
                .from
                .iter()
                .chain(&cable.to)
                .filter(|d| *d != "X1" && self.w.device(d).is_some_and(|d| d.hot))
                .map(String::as_str)
                .collect();
            if !cable.heat_resistant && !hot.is_empty() {
                let what = format!("cable {} on a hot part is not heat-resistant", cable.tag);
                let mut parts = vec![cable.tag.as_str()];
                parts.extend(hot);
                self.say("S14", Severity::Warning, what, &parts);
            }
            let used = self.w.conductors.iter().filter(|c| c.cable == cable.tag).count();
            if used > cable.cores as usize {
                let what = format!("cable {} has {} cores for {used}", cable.tag, cable.cores);
                self.fault("S9", what, &[&cable.tag]);
            }
        }
    }

    /// S15.
    pub(super) fn demand(&mut self) {
        for b in self.w.budgets() {
            if b.amps > b.fuse {
                let what = format!("{}: {:.2} A on {} A", b.supply, b.amps, b.fuse);
                self.fault("S15", what, &[&b.supply]);
            } else if b.fuse <= 3.0 && b.watts > electrical("controls-warn").value {
                let what = format!("{}: {:.0} W of {:.0} W", b.supply, b.watts, b.watts + b.margin);
                self.say("S15", Severity::Advice, what, &[&b.supply]);
            }
        }
    }
}
