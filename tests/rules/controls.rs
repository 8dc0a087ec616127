//! CTL: the rules that read the netlist.

use firstfix::check::Severity::{Advice, Error, Warning};
use firstfix::wire::netlist::{Colour, DeviceKind, LoadRole, Role};

use super::build::{Build, fires, silent};
use super::systems::{direct, indirect};

#[test]
fn ctl_sound_wiring_is_silent() {
    for mut b in [wired(), wired_direct()] {
        let r = b.0.check();
        for n in 1..=13 {
            silent(&r, &format!("CTL{n:02}"));
        }
        silent(&r, "CTL15");
        b.0.wiring = None;
    }
}

struct Wired(Build);

fn wired() -> Wired {
    let mut b = indirect();
    b.add("PRG", "programmer");
    for (t, zone) in [("RT1", "RAD1"), ("RT2", "RAD2")] {
        b.add(t, "room thermostat");
        b.word(t, "zone", zone);
    }
    b.add("X", "wiring centre");
    b.add("FCU", "fused connection unit");
    b.set("FCU", "fuse", 3.0);
    b.add("DPS", "double-pole switch");
    b.word("DPS", "for", "IM");
    b.wire();
    Wired(b)
}

fn wired_direct() -> Wired {
    let mut b = direct();
    b.wire();
    Wired(b)
}

#[test]
fn ctl01_open_cut_out_that_stops_nothing() {
    let mut b = wired().0;
    let w = b.wiring.as_mut().unwrap();
    assert!(!w.guards.is_empty(), "the coil's valve is guarded");
    // The cut-out's contact is bridged.
    let guard = w.guards[0].clone();
    let cut = w.contacts.iter().position(|c| c.device == guard.cut_out).unwrap();
    let (a, z) = (w.contacts[cut].a.clone(), w.contacts[cut].b.clone());
    let mut wire = w.conductors[0].clone();
    wire.from = a;
    wire.to = z;
    wire.parked = false;
    w.conductors.push(wire);
    assert!(b.check().findings.iter().any(|f| f.rule == "CTL01" && f.severity == Error));
}

/// Spoils the netlist and says which rules then speak, with their severities.
fn spoilt(
    spoil: impl Fn(&mut firstfix::wire::Wiring),
) -> Vec<(&'static str, firstfix::check::Severity)> {
    let mut b = wired().0;
    spoil(b.wiring.as_mut().unwrap());
    b.check().findings.iter().map(|f| (f.rule, f.severity)).collect()
}

/// Conductors that land on that terminal of that kind of device.
fn moved(w: &mut firstfix::wire::Wiring, kind: DeviceKind, terminal: &str, to: &str) {
    let device = w.of_kind(kind).next().unwrap().id.clone();
    let at = format!("{device}:{terminal}");
    let mut found = false;
    for c in &mut w.conductors {
        if c.from == at {
            to.clone_into(&mut c.to);
            found = true;
        } else if c.to == at {
            to.clone_into(&mut c.from);
            found = true;
        }
    }
    assert!(found, "nothing lands on {at}");
}

#[test]
fn ctl02_grey_on_the_neutral_way() {
    let said = spoilt(|w| {
        let neutral = w.supplies[0].neutral.clone();
        moved(w, DeviceKind::ZoneValve, "GY", &neutral);
    });
    assert!(said.contains(&("CTL02", Error)), "{said:?}");
}

/// The boiler's call taken straight from the permanent line.
#[test]
fn ctl03_call_with_no_valve_open() {
    let said = spoilt(|w| {
        let line = w.supplies[0].line.clone();
        let call = w.loads.iter().find(|l| l.role == LoadRole::Call).unwrap().line.clone();
        let mut wire = w.conductors[0].clone();
        wire.from = line;
        wire.to = call;
        wire.parked = false;
        w.conductors.push(wire);
    });
    assert!(said.contains(&("CTL03", Error)), "{said:?}");
}

#[test]
fn ctl04_two_supplies_that_meet() {
    let said = spoilt(|w| {
        assert!(w.supplies.len() > 1, "controls and immersion heater");
        let (a, b) = (w.supplies[0].line.clone(), w.supplies[1].line.clone());
        let mut wire = w.conductors[0].clone();
        wire.from = a;
        wire.to = b;
        wire.parked = false;
        w.conductors.push(wire);
    });
    assert!(said.contains(&("CTL04", Error)), "{said:?}");
}

#[test]
fn ctl07_mains_on_a_volt_free_contact() {
    let said = spoilt(|w| {
        let line = w.supplies[0].line.clone();
        let device = w.devices.iter_mut().find(|d| !d.terminals.is_empty()).unwrap();
        let mut contact = device.terminals[0].clone();
        contact.name = "VF".to_owned();
        contact.role = Role::VoltFree;
        device.terminals.push(contact);
        let at = format!("{}:VF", device.id);
        let mut wire = w.conductors[0].clone();
        wire.from = line;
        wire.to = at;
        wire.parked = false;
        w.conductors.push(wire);
    });
    assert!(said.contains(&("CTL07", Error)), "{said:?}");
}

/// An overrun boiler whose pump runs on against shut valves.
#[test]
fn ctl08_overrun_without_a_way() {
    let mut b = indirect();
    b.declare("BLR", "pump overrun");
    b.flag("BLR", "overrun", true);
    silent(&b.check(), "CTL08");
    let abv = b.ix("ABV");
    b.system.pipes.retain(|p| p.from.part != abv && p.to.part != abv);
    b.get("ABV").kind = firstfix::catalogue::Kind::known("meter");
    b.wire();
    assert!(b.check().findings.iter().any(|f| f.rule == "CTL08" && f.severity == Warning));
}

#[test]
fn ctl05_fuse() {
    let mut b = wired().0;
    let controls = |b: &mut Build, fuse: f64| {
        let w = b.wiring.as_mut().unwrap();
        for s in w.supplies.iter_mut().filter(|s| !s.inside && !s.name.contains("immersion")) {
            s.fuse = fuse;
        }
    };
    controls(&mut b, 13.0);
    assert!(b.check().findings.iter().any(|f| f.rule == "CTL05" && f.severity == Error));
    controls(&mut b, 3.0);
    silent(&b.check(), "CTL05");
}

#[test]
fn ctl06_immersion_on_a_shared_circuit() {
    let mut b = wired_direct().0;
    for s in &mut b.wiring.as_mut().unwrap().supplies {
        s.new_circuit = false;
    }
    assert!(b.check().findings.iter().any(|f| f.rule == "CTL06" && f.severity == Error));
}

#[test]
fn ctl09_green_and_yellow_as_line() {
    let mut b = wired().0;
    let w = b.wiring.as_mut().unwrap();
    let line = w.conductors.iter_mut().find(|c| c.core.colour == Colour::BN && !c.parked).unwrap();
    line.core.colour = Colour::GNYE;
    assert!(b.check().findings.iter().any(|f| f.rule == "CTL09" && f.severity == Error));
}

#[test]
fn ctl10_no_earth() {
    let mut b = wired().0;
    let w = b.wiring.as_mut().unwrap();
    w.conductors.retain(|c| c.core.colour != Colour::GNYE);
    assert!(b.check().findings.iter().any(|f| f.rule == "CTL10" && f.severity == Warning));
}

#[test]
fn ctl11_too_few_cores() {
    let mut b = wired().0;
    let w = b.wiring.as_mut().unwrap();
    let cable = w.cables.iter_mut().find(|c| c.used > 2).unwrap();
    cable.cores = 2;
    let tag = cable.tag.clone();
    fires(&b.check(), "CTL11", Warning, &tag);
}

#[test]
fn ctl12_too_few_ways() {
    let mut b = wired().0;
    b.set("X", "terminals", 4.0);
    fires(&b.check(), "CTL12", Warning, "X");
    b.set("X", "terminals", 40.0);
    silent(&b.check(), "CTL12");
}

#[test]
fn ctl13_ordinary_flex() {
    let mut b = wired_direct().0;
    for c in &mut b.wiring.as_mut().unwrap().cables {
        c.heat_resistant = false;
    }
    assert!(b.check().findings.iter().any(|f| f.rule == "CTL13" && f.severity == Warning));
}

#[test]
fn ctl14_new_circuit() {
    assert!(
        wired_direct().0.check().findings.iter().any(|f| f.rule == "CTL14" && f.severity == Advice)
    );
    let mut b = wired_direct().0;
    b.wiring.as_mut().unwrap().pipework.like_for_like = true;
    silent(&b.check(), "CTL14");
}

#[test]
fn ctl15_broken_neutral() {
    let mut b = wired().0;
    let w = b.wiring.as_mut().unwrap();
    let neutral = w.loads[0].neutral.clone();
    w.conductors.retain(|c| c.from != neutral && c.to != neutral);
    assert!(b.check().findings.iter().any(|f| f.rule == "CTL15" && f.severity == Warning));
}

// ---- drawings ----
