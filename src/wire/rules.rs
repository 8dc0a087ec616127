//! What no truth table shows: colours, earths, neutrals, isolation, cables, bypassed cut-outs. In:
//! a netlist. Out: faults, each with its rule, what is wrong and where. A sound netlist gives none.
//!
//! The rules are numbered S1 to S23. Sources: BS 7671 (from memory) for S1 to S3, S7, S9, S10,
//! S13 to S15; Approved Document G for S4, S6, S16, S17; Approved Document L for S5; common
//! practice for the rest.

mod protection;
mod pumps;

use std::collections::BTreeSet;

use serde::Serialize;

use super::netlist::{Actuator, DeviceKind, LoadRole, Role, Wiring};
use super::simulate::{Reached, Simulator};
use crate::diagnostic::Severity;

#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WireFault {
    /// `S4`.
    pub rule: &'static str,
    pub severity: Severity,
    /// One sentence.
    pub what: String,
    /// Designations of devices, addresses of terminals or tags of cables.
    pub parts: Vec<String>,
}

/// One line for each rule: number and what it finds.
pub const RULES: [(&str, &str); 23] = [
    ("S1", "a load whose neutral does not come back to its supply without a break"),
    ("S2", "exposed metal without a protective conductor"),
    ("S3", "a single-pole contact in a neutral"),
    ("S4", "a cut-out that does not stop the heat it guards"),
    ("S5", "a boiler or pump that can run with every valve shut"),
    ("S6", "a cylinder valve that does not close by a spring"),
    ("S7", "two supplies that meet"),
    ("S8", "mains on a terminal that must stay free of it"),
    ("S9", "a conductor that ends nowhere, or twice in one place"),
    ("S10", "a core of the wrong colour"),
    ("S11", "a valve's grey or orange core on the wrong point"),
    ("S12", "the live or the pump of an overrun boiler in the wrong place"),
    ("S13", "a circuit that its switch does not isolate on both poles"),
    ("S14", "an ordinary cable on a hot part"),
    ("S15", "a fuse smaller than the demand"),
    ("S16", "a way of heat into the store without a cut-out of its own"),
    ("S17", "a three-port valve that leaves the cylinder open at rest"),
    ("S18", "a pump overrun with no open path for the water"),
    ("S19", "a frost thermostat that calls the boiler and opens no valve"),
    ("S20", "line meets neutral or earth in some state"),
    ("S21", "a boiler that is called in every state"),
    ("S22", "a pump that no wire and no control runs"),
    ("S23", "a pump that rests while a valve behind it is open"),
];

impl Wiring {
    /// All faults, by rule.
    pub fn faults(&self) -> Vec<WireFault> {
        let mut f = Finder { w: self, sim: Simulator::new(self), found: Vec::new() };
        f.neutrals();
        f.earths();
        f.cut_outs();
        f.interlock();
        f.supplies();
        f.ends();
        f.colours();
        f.valves();
        f.overrun();
        f.isolation();
        f.cables();
        f.demand();
        f.frost();
        f.states();
        f.pumps();
        let order = |r: &str| r[1..].parse::<u32>().unwrap_or(0);
        f.found.sort_by_key(|x| order(x.rule));
        f.found
    }
}

struct Finder<'a> {
    w: &'a Wiring,
    sim: Simulator<'a>,
    found: Vec<WireFault>,
}

impl Finder<'_> {
    fn fault(&mut self, rule: &'static str, what: String, parts: &[&str]) {
        self.say(rule, Severity::Error, what, parts);
    }

    fn say(&mut self, rule: &'static str, severity: Severity, what: String, parts: &[&str]) {
        let parts = parts.iter().map(|p| (*p).to_owned()).collect();
        let fault = WireFault { rule, severity, what, parts };
        if !self.found.contains(&fault) {
            self.found.push(fault);
        }
    }

    /// The net that conductors and double-pole contacts alone join to an address.
    fn solid(&self, address: &str) -> Reached<'_> {
        self.sim.reached(address, |i| self.w.contacts[i].by == Actuator::DoublePole)
    }

    fn on_house_line(&self, address: &str) -> bool {
        self.w.supplies.iter().filter(|s| !s.inside).any(|s| self.solid(&s.line).holds(address))
    }

    fn on_neutral(&self, address: &str) -> bool {
        self.w.supplies.iter().any(|s| self.solid(&s.neutral).holds(address))
    }

    /// S4, S6, S16, S17.
    fn cut_outs(&mut self) {
        for g in &self.w.guards {
            let contact =
                self.w.contacts.iter().find(|c| c.device == g.cut_out && c.by == Actuator::CutOut);
            if contact.is_none() {
                let words = self.w.load(&g.load).map_or(g.load.as_str(), |l| l.words.as_str());
                let what = format!("{words} has no non-self-resetting cut-out of its own");
                self.fault("S16", what, &[&g.load]);
            }
        }
        for p in self.w.proofs() {
            if !p.cut_out.is_empty() && !p.holds {
                let what = if p.live > 0 {
                    format!("cut-out {} bypassed: {} is live with it open", p.cut_out, p.device)
                } else {
                    format!("a path leads from the line to {} past cut-out {}", p.device, p.cut_out)
                };
                self.fault("S4", what, &[&p.cut_out, &p.device]);
            }
        }
        let guarded: BTreeSet<&str> = self.w.guards.iter().map(|g| g.load.as_str()).collect();
        let motors: Vec<_> =
            self.w.loads.iter().filter(|l| l.role == LoadRole::CylinderMotor).collect();
        for l in &motors {
            if !guarded.contains(l.id.as_str()) {
                self.fault("S16", format!("{} has no cut-out", l.words), &[&l.device]);
            }
            if self.w.device(&l.device).is_some_and(|d| !d.spring_return) {
                let what = format!("{} does not close when the power goes", l.device);
                self.fault("S6", what, &[&l.device]);
            }
        }
        let stores: Vec<_> =
            self.w.of_kind(DeviceKind::CylinderThermostat).map(|d| d.id.clone()).collect();
        let has_valve = motors
            .iter()
            .any(|l| self.w.device(&l.device).is_some_and(|d| d.kind == DeviceKind::ZoneValve));
        let resting: Vec<String> =
            self.w.devices.iter().filter(|d| d.rests_on_cylinder).map(|d| d.id.clone()).collect();
        for d in &resting {
            if self.w.pipework.unvented && !has_valve {
                let what = format!(
                    "{d} leaves the cylinder open without power: a spring-return two-port valve is missing"
                );
                self.fault("S17", what, &[d]);
            }
        }
        // A cut-out in the cylinder's chain with no motor to stop guards nothing.
        for bt in stores {
            let cut = self.w.devices.iter().find(|d| d.housed_with.as_deref() == Some(&bt));
            if let Some(cut) = cut
                && !self.w.guards.iter().any(|g| g.cut_out == cut.id)
            {
                let what = format!("cut-out {} closes no valve: nothing shuts the coil", cut.id);
                let parts = [cut.id.clone()];
                self.fault("S16", what, &[&parts[0]]);
            }
        }
    }

    /// S5.
    fn interlock(&mut self) {
        let w = self.w;
        let relay = |d: &str| w.device(d).is_some_and(|d| d.kind == DeviceKind::Relay);
        let buffer = |d: &str| w.device(d).is_some_and(|d| d.kind == DeviceKind::BufferThermostat);
        let past = |i: usize| {
            let c = &w.contacts[i];
            !(c.by == Actuator::Position || relay(&c.device) || buffer(&c.device))
        };
        // A three-port valve's rest port is open water: its hot water call needs no switch, but it
        // must have one where the cylinder has a valve of its own.
        let motors = w.loads.iter().any(|l| l.role == LoadRole::CylinderMotor);
        let excused = !motors && w.of_kind(DeviceKind::MidPositionValve).next().is_some();
        let house: Vec<&str> =
            w.supplies.iter().filter(|s| !s.inside).map(|s| s.line.as_str()).collect();
        let mut wanted: Vec<(&str, &str)> = w
            .loads
            .iter()
            .filter(|l| l.role == LoadRole::Call)
            .filter(|l| !w.supplies.iter().any(|s| s.inside && s.neutral == l.neutral))
            .map(|l| (l.line.as_str(), l.words.as_str()))
            .collect();
        // Where a relay makes a call free of mains, its coil stands for the call.
        let free: Vec<&str> = w
            .devices
            .iter()
            .filter(|d| d.kind == DeviceKind::Relay)
            .filter(|d| d.terminals.iter().any(|t| t.role == Role::VoltFree))
            .map(|d| d.id.as_str())
            .collect();
        for l in w.loads.iter().filter(|l| l.role == LoadRole::Coil) {
            if free.contains(&l.device.as_str()) {
                wanted.push((&l.line, &l.words));
            }
        }
        for (address, words) in wanted {
            if !excused && house.iter().any(|l| self.sim.reached(l, past).holds(address)) {
                let what = format!("{words} can be called without any valve being open");
                self.fault("S5", what, &[address]);
            }
        }
    }

    /// S11.
    fn valves(&mut self) {
        let w = self.w;
        for d in w.devices.iter().filter(|d| d.kind == DeviceKind::ZoneValve) {
            let (gy, og) = (format!("{}:GY", d.id), format!("{}:OG", d.id));
            if !self.on_house_line(&gy) {
                let what = format!("the grey core of {} is not on the permanent line", d.id);
                self.fault("S11", what, &[&gy]);
            }
            let calls = |l: &&super::netlist::Load| {
                matches!(l.role, LoadRole::Call | LoadRole::Coil | LoadRole::Pump)
            };
            let mut net = self.solid(&og);
            let lands = w.loads.iter().filter(calls).any(|l| net.holds(&l.line));
            let motor = w.loads.iter().filter(|l| l.role.is_motor()).any(|l| net.holds(&l.line));
            // Where no source can be called there is nothing to land on.
            let source = w.loads.iter().any(|l| l.role == LoadRole::Call);
            if (source && !lands) || motor {
                let what = format!("the orange core of {} is not on the switched line", d.id);
                self.fault("S11", what, &[&og]);
            }
        }
        for d in w.devices.iter().filter(|d| d.kind == DeviceKind::Diverter) {
            let c = format!("{}:C", d.id);
            if !self.on_house_line(&c) {
                let what = format!("the switch of {} is not fed from the permanent line", d.id);
                self.fault("S11", what, &[&c]);
            }
        }
    }

    /// S12 and S18.
    fn overrun(&mut self) {
        for d in self.w.devices.iter().filter(|d| d.kind == DeviceKind::Boiler) {
            let has = |t: &str| d.terminals.iter().any(|x| x.name == t);
            let at = |t: &str| format!("{}:{t}", d.id);
            if !has("L") && self.w.pipework.own_water {
                let what = "the boiler heats water itself and has no permanent line";
                self.fault("S12", what.to_owned(), &[&at("SL")]);
            }
            if has("L") && !self.on_house_line(&at("L")) {
                let what = if has("PL") {
                    "an overrun boiler needs L, N, E, SL, PL: no permanent line here"
                } else {
                    "the boiler has no permanent line"
                };
                self.fault("S12", what.to_owned(), &[&at("L")]);
            }
            if !has("PL") {
                continue;
            }
            let pumps: Vec<_> = self
                .w
                .loads
                .iter()
                .filter(|l| l.role == LoadRole::Pump && l.device == "G1")
                .map(|l| l.line.clone())
                .collect();
            for p in pumps {
                if !self.solid(&at("PL")).holds(&p) {
                    let what =
                        "the pump of an overrun boiler is not fed from the boiler".to_owned();
                    self.fault("S12", what, &[&p]);
                }
            }
            if self.solid(&at("PL")).holds(&at("SL")) {
                let what =
                    "the boiler's pump output is joined to its call: it would hold itself on";
                self.fault("S12", what.to_owned(), &[&at("PL"), &at("SL")]);
            }
            if !self.w.pipework.open_with_valves_shut {
                let what = "the pump overruns with every valve shut and no bypass".to_owned();
                self.say("S18", Severity::Warning, what, &[&at("PL")]);
            }
        }
    }

    /// S19.
    fn frost(&mut self) {
        let w = self.w;
        if w.of_kind(DeviceKind::FrostThermostat).next().is_none() {
            return;
        }
        let pipe = w
            .contacts
            .iter()
            .filter(|c| c.by == Actuator::Thermostat && c.device == "BT8")
            .map(|c| c.b.clone())
            .next();
        let Some(out) = pipe else { return };
        let motor = {
            let mut net = self.solid(&out);
            w.loads.iter().filter(|l| l.role.is_motor()).any(|l| net.holds(&l.line))
        };
        if !motor {
            let what =
                format!("{out} opens no valve: boiler and pump would run against shut valves");
            self.fault("S19", what, &[&out]);
        }
    }

    /// S20 and S21: from the small tables and the states at rest and with everything calling.
    fn states(&mut self) {
        let tables = self.w.state_tables();
        let roots = self.w.inputs.len();
        let mut states = vec![vec![false; roots], vec![true; roots]];
        // One demand at a time, and all but one.
        let mut groups: Vec<&str> = self.w.inputs.iter().map(|i| i.group.as_str()).collect();
        groups.dedup();
        for g in &groups {
            for flip in [false, true] {
                states.push(self.w.inputs.iter().map(|i| (i.group == *g) != flip).collect());
            }
        }
        let short = states.iter().any(|s| self.sim.run(s).short);
        if short {
            let what = "line meets neutral or earth in some state: the fuse blows".to_owned();
            self.fault("S20", what, &[]);
        }
        for t in &tables {
            for (k, c) in t.outputs.iter().enumerate() {
                let call = self.w.load(&c.id).is_some_and(|l| l.role == LoadRole::Call);
                let always = !t.rows.is_empty() && t.rows.iter().all(|r| r.runs[k]);
                if call && always {
                    self.fault("S21", format!("{} permanently called", c.words), &[&c.id]);
                }
            }
        }
    }
}
