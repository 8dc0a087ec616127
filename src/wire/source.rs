//! The heat source, its pumps, and the relays that keep calls apart. In: the scheme and the point that
//! calls. Out: their devices and conductors in the builder.

use super::build::*;
use super::heating::{E, L, N};
use super::netlist::{Actuator, DeviceKind, LoadRole, Role, Supply, When};
use super::scheme::{Call, Named, Scheme, SharedPump, Zone};
use crate::catalogue::electrical::electrical;

/// The boiler: a plain one on its call alone, or one with permanent line and a pump output.
pub fn boiler(b: &mut Builder, s: &Scheme, call: &str) {
    let Some(source) = &s.source else {
        unswitched(b, s, call);
        return;
    };
    let own_pump = source.overrun && s.pump.is_some();
    let mains = source.call == Call::Mains;
    let mut terminals = Vec::new();
    let permanent = source.permanent || source.overrun || !mains;
    if permanent {
        terminals.push(("L", Role::Line, "permanent line"));
    }
    terminals.push(("N", Role::Neutral, "neutral"));
    terminals.push(("E", Role::Earth, "earth"));
    if mains {
        terminals.push(("SL", Role::Call, "call for heat, 230 V"));
    } else {
        let role = if source.call == Call::Bus { Role::Bus } else { Role::VoltFree };
        terminals.push(("S1", role, "call for heat, no mains here"));
        terminals.push(("S2", role, "call for heat, no mains here"));
    }
    if own_pump {
        terminals.push(("PL", Role::Switched, "line to the pump, held after the call"));
    }
    let d = b.device("E1", DeviceKind::Boiler, "boiler", &source.named, &terminals);
    d.hot = true;
    d.watts = source.named.watts.unwrap_or(electrical("watts.boiler").value);
    let five = permanent && mains;
    if five {
        b.cable("W8", FLEX_5, 5, 1.0).heat_resistant = true;
    } else {
        b.cable("W8", FLEX_3, 3, 1.0).heat_resistant = true;
    }
    if permanent {
        b.join("W8", L, "E1:L", BN, "permanent line");
        b.load("SE1", LoadRole::Supply, "boiler's electronics", "E1:L", "E1:N");
    }
    b.join("W8", N, "E1:N", BU, "neutral");
    b.join("W8", E, "E1:E", GNYE, "earth");
    if mains {
        b.join("W8", call, "E1:SL", if five { BK_BN } else { BN }, "call for heat");
        b.load("BLR", LoadRole::Call, "boiler", "E1:SL", "E1:N");
        if let Some(l) = b.wiring.loads.last_mut()
            && permanent
        {
            l.also = Some("E1:L".to_owned());
        }
    } else {
        volt_free(b, "E1", "S", "BLR", call, "boiler");
    }
    if own_pump {
        let live = b.way(11, "pump line from the boiler");
        let (cable, core) = if five { ("W8", GY_BN) } else { ("W8P", BN) };
        if !five {
            b.cable("W8P", FLEX_3, 3, 1.0).heat_resistant = true;
        }
        b.join(cable, "E1:PL", &live, core, "pump line from the boiler");
        b.input("OVR", "E1", "boiler", "boiler's pump overrun", "holding", "ended");
        let when = When::All(vec![runs("SE1"), When::Any(vec![runs("BLR"), on("OVR")])]);
        b.contact("E1:L", "E1:PL", Actuator::Output, when, "while firing and during overrun");
    }
    let feed = if own_pump { "X1:11".to_owned() } else { call.to_owned() };
    if let Some(pump) = &s.pump {
        pump_device(b, "G1", pump, "heating pump", false);
        pump_cable(b, "G1", &[7], &feed);
    }
}

/// The pump of a source that no wire calls, such as a stove: it runs on the zones' calls, and that
/// is not enough.
fn unswitched(b: &mut Builder, s: &Scheme, call: &str) {
    let Some(pump) = &s.pump else { return };
    pump_device(b, "G1", pump, "heating pump", false);
    pump_cable(b, "G1", &[7], call);
    let tag = pump.tag.as_deref().unwrap_or("G1");
    b.wiring.notes.push(format!(
        "{tag} runs on the zones' calls only. A source that cannot be switched off needs its water moved whenever it is hot: that is for the source's own design, not on this sheet."
    ));
}

/// A relay whose contact closes a loop that the source feeds itself.
pub fn volt_free(b: &mut Builder, e: &str, s: &str, load: &str, call: &str, words: &str) {
    let k = relay(b, &format!("{words} call"), call, "", "");
    let w = b.free("W", &[30]);
    b.cable(&w, "2-core flex, double insulated", 2, 0.75).heat_resistant = true;
    let at = |d: &str, t: &str| format!("{d}:{t}");
    b.join(&w, &at(&k, "11"), &at(e, &format!("{s}1")), BN, "call loop, no mains");
    b.join(&w, &at(&k, "14"), &at(e, &format!("{s}2")), BU, "call loop, no mains");
    if let Some(d) = b.wiring.devices.iter_mut().find(|d| d.id == k) {
        for t in d.terminals.iter_mut().filter(|t| t.name == "11" || t.name == "14") {
            t.role = Role::VoltFree;
        }
    }
    // The source's own loop, as the simulation sees it.
    b.wiring.supplies.push(Supply {
        name: format!("{words}'s own call loop, no mains"),
        line: at(e, &format!("{s}1")),
        neutral: at(e, &format!("{s} loop return")),
        earth: at(e, &format!("{s} loop earth")),
        isolator: String::new(),
        fuse: 0.0,
        volts: 24.0,
        new_circuit: false,
        inside: true,
    });
    let (two, back) = (at(e, &format!("{s}2")), at(e, &format!("{s} loop return")));
    b.load(load, LoadRole::Call, words, &two, &back);
    if let Some(l) = b.wiring.loads.last_mut() {
        l.also = Some(at(e, "L"));
    }
}

/// A zone with a pump instead of a valve: the pump runs on the demand, a relay keeps the zones'
/// calls apart.
pub fn zone_pump(b: &mut Builder, z: &Zone, pump: &Named, demand: &str, call: &str) {
    let g = b.free("G", &[4, 6, 7, 8]);
    pump_device(b, &g, pump, &format!("{} pump", z.name), false);
    pump_cable(b, &g, &[], demand);
    relay(b, &format!("{} call", z.name), demand, L, call);
}

/// Pumps that only some users need: a way of the centre each, on which those users' valves call;
/// the pump runs from it, and a relay calls what stands before it.
pub struct SharedWays<'a> {
    scheme: &'a Scheme,
    ways: Vec<String>,
}

impl<'a> SharedWays<'a> {
    /// `to`: where hot water and heating call the source.
    pub fn new(b: &mut Builder, s: &'a Scheme, to: (&str, &str)) -> SharedWays<'a> {
        let mut shared = SharedWays { scheme: s, ways: Vec::new() };
        // A buffer's thermostat calls the source, not the pumps behind it.
        let buffered = s.buffer.is_some() && s.source.as_ref().is_some_and(|p| p.heat_pump);
        for (i, p) in s.pumps.iter().enumerate() {
            let before = (0..i).rev().find(|j| {
                let of = &s.pumps[*j];
                p.zones.iter().all(|z| of.zones.contains(z))
                    && p.stores.iter().all(|z| of.stores.contains(z))
            });
            let source = if p.zones.is_empty() && !p.stores.is_empty() { to.0 } else { to.1 };
            let target = before.map_or_else(|| source.to_owned(), |j| shared.ways[j].clone());
            let nobody = p.zones.is_empty() && p.stores.is_empty();
            let way = if nobody { target.clone() } else { b.new_way(&format!("{} runs", p.words)) };
            let g = b.free("G", &[4, 6, 7, 8]);
            pump_device(b, &g, &p.named, &p.words, false);
            pump_cable(b, &g, &[], &way);
            if !(nobody || buffered && p.stores.is_empty() && before.is_none()) {
                relay(b, &format!("{} call", p.words), &way, L, &target);
            }
            shared.ways.push(way);
        }
        shared
    }

    /// Where a store's valve calls.
    pub fn store(&self, i: usize, otherwise: &str) -> String {
        self.at(|p| p.stores.contains(&i), otherwise)
    }

    /// Where a zone's valve calls.
    pub fn zone(&self, i: usize, otherwise: &str) -> String {
        self.at(|p| p.zones.contains(&i), otherwise)
    }

    fn at(&self, mine: impl Fn(&SharedPump) -> bool, otherwise: &str) -> String {
        let found = self.scheme.pumps.iter().rposition(mine);
        found.map_or_else(|| otherwise.to_owned(), |i| self.ways[i].clone())
    }
}

/// A relay whose coil follows a demand and whose contact joins two other points.
pub fn relay(b: &mut Builder, words: &str, demand: &str, from: &str, to: &str) -> String {
    let k = b.free("K", &[6, 7, 8, 9]);
    let w = b.free("W", &[38, 39, 40]);
    let d = b.device(
        &k,
        DeviceKind::Relay,
        format!("relay: {words}"),
        &b.relays.clone(),
        &[
            ("A1", Role::Switched, "coil"),
            ("A2", Role::Neutral, "coil, neutral"),
            ("11", Role::Switched, "contact, common"),
            ("14", Role::Switched, "contact, made while the coil is live"),
        ],
    );
    d.watts = electrical("watts.relay").value;
    let at = |t: &str| format!("{k}:{t}");
    b.cable(&w, FLEX_5, 5, 0.75);
    b.join(&w, demand, &at("A1"), BK_BN, "relay coil");
    b.join(&w, N, &at("A2"), BU, "neutral");
    let coil = format!("C{k}");
    b.load(&coil, LoadRole::Coil, &format!("relay: {words}"), &at("A1"), &at("A2"));
    b.contact(&at("11"), &at("14"), Actuator::Output, runs(&coil), "made while the coil is live");
    if from == L {
        b.join(&w, from, &at("11"), BN, "permanent line to the contact");
        b.join(&w, &at("14"), to, GY_BN, "switched line out");
    }
    k
}

pub fn pump_device(b: &mut Builder, g: &str, named: &Named, words: &str, secondary: bool) {
    let kind = if secondary { DeviceKind::SecondaryPump } else { DeviceKind::Pump };
    let d = b.device(
        g,
        kind,
        words,
        named,
        &[
            ("L", Role::Switched, "line"),
            ("N", Role::Neutral, "neutral"),
            ("E", Role::Earth, "earth"),
        ],
    );
    d.hot = true;
    d.watts = named.watts.unwrap_or(electrical("watts.pump").value);
    let (l, n) = (format!("{g}:L"), format!("{g}:N"));
    b.load(&format!("P{g}"), LoadRole::Pump, words, &l, &n);
}

pub fn pump_cable(b: &mut Builder, g: &str, wanted: &[u32], feed: &str) {
    let w = b.free("W", wanted);
    b.cable(&w, FLEX_3, 3, 0.75).heat_resistant = true;
    b.join(&w, feed, &format!("{g}:L"), BN, "pump");
    b.join(&w, N, &format!("{g}:N"), BU, "neutral");
    b.join(&w, E, &format!("{g}:E"), GNYE, "earth");
}
