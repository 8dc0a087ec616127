//! SRT, SOL, CTL, DRW, DOC and the report itself.

use firstfix::check::Severity::{Advice, Error, Warning};
use firstfix::check::{DrawingFacts, SheetFacts, catalogue, explain};
use firstfix::model::{Service, Value};
use firstfix::wire::netlist::{Colour, DeviceKind, LoadRole, Role};

use super::build::{Build, fires, silent, sound};
use super::safety::solar_store;
use super::systems::{direct, indirect};
use super::water::looped;

#[test]
fn srt01_pump_body() {
    let mut b = looped();
    b.word("SP", "body", "cast iron");
    fires(&b.check(), "SRT01", Error, "SP");
    b.word("SP", "body", "bronze");
    silent(&b.check(), "SRT01");
}

#[test]
fn srt02_return_too_cool() {
    let mut b = looped();
    b.figure("circulation.return-temperature", "SP", 47.0, &[]);
    let r = b.check();
    assert_eq!(fires(&r, "SRT02", Warning, "SP").margin, Some(-3.0));
    b.figure("circulation.return-temperature", "SP", 55.0, &[]);
    let short = [("flow needed", 0.0149), ("flow stated for the pump", 0.010)];
    b.figure("circulation.duty", "SP", 1.0, &short);
    fires(&b.check(), "SRT02", Warning, "SP");
    let ample = [("flow needed", 0.0149), ("flow stated for the pump", 0.05)];
    b.figure("circulation.duty", "SP", 1.0, &ample);
    silent(&b.check(), "SRT02");
}

#[test]
fn srt03_timer_lagging_balance() {
    let mut b = looped();
    b.get("CTM").kind = firstfix::catalogue::Kind::known("meter");
    fires(&b.check(), "SRT03", Warning, "SP");
    let mut b = looped();
    b.pipe("SP", "NRV-R").lagging = Some(Value::stated(0.0, 0..0));
    fires(&b.check(), "SRT03", Warning, "SP");
    // A second leg.
    let mut b = looped();
    b.put_before("SP", "T-legs", "tee");
    b.put_before("SINK", "T-far", "tee");
    let hot = b.pipe("T-far", "SINK").service;
    assert_eq!(hot, Service::ColdMain, "the sink's first pipe is its cold");
    b.take_out("T-far");
    b.put_before("T-sh", "T-leg2", "tee");
    let first = b.run(Service::HotReturn, &["T-leg2.branch", "T-legs.branch"]);
    for p in &mut b.system.pipes[first..] {
        p.lagging = Some(Value::stated(20.0, 0..0));
    }
    let r = b.check();
    let f = r.findings.iter().find(|f| f.rule == "SRT03").expect("two legs unbalanced");
    assert_eq!(f.severity, Warning);
    for (at, name) in [("T-legs", "BV1"), ("T-legs", "BV2")] {
        // Each leg's last pipe before the joint.
        b.put_before(at, name, "balancing valve");
        let ix = b.ix(at);
        let part = b.ix(name);
        let pos = b.system.pipes.iter().position(|p| p.from.part == part).unwrap();
        assert_eq!(b.system.pipes[pos].to.part, ix);
        b.system.pipes.rotate_left(1);
    }
}

#[test]
fn srt04_return_into_the_cold() {
    let mut b = looped();
    let cyl = b.ix("CYL");
    let port = b.system.part(cyl).kind.port("secondary return").unwrap();
    b.system.pipes.retain(|p| !(p.to.part == cyl && p.to.port == port));
    b.put_before("T-dc", "T-in", "tee");
    b.run(Service::HotReturn, &["NRV-R", "T-in.branch"]);
    fires(&b.check(), "SRT04", Warning, "T-in");
    silent(&looped().check(), "SRT04");
}

#[test]
fn sol01_no_water_for_the_sun() {
    let mut b = solar_store();
    silent(&b.check(), "SOL01");
    b.set("CYL", "solar-litres", 0.0);
    fires(&b.check(), "SOL01", Warning, "CYL");
}

#[test]
fn sol02_vessel() {
    let mut b = solar_store();
    b.figure("solar-vessel.volume", "SEV", 30.0, &[("fitted", 25.0)]);
    let r = b.check();
    assert_eq!(fires(&r, "SOL02", Warning, "SEV").margin, Some(-5.0));
    b.figure("solar-vessel.volume", "SEV", 22.0, &[("fitted", 25.0)]);
    silent(&b.check(), "SOL02");
}

#[test]
fn sol03_container() {
    let mut b = solar_store();
    silent(&b.check(), "SOL03");
    b.pipe("PSV-S", "CON").material = Value::stated("PB".to_owned(), 0..0);
    fires(&b.check(), "SOL03", Error, "PSV-S");
    let con = b.ix("CON");
    b.system.pipes.retain(|p| p.to.part != con);
    fires(&b.check(), "SOL03", Error, "PSV-S");
}

#[test]
fn sol04_plastic_pipe() {
    let mut b = solar_store();
    silent(&b.check(), "SOL04");
    let p = b.pipe("SOL", "CYL");
    p.material = Value::stated("PE-X".to_owned(), 0..0);
    let id = p.id.clone();
    fires(&b.check(), "SOL04", Error, &id);
}

// ---- controls: a netlist worked out from the system, then spoiled ----

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

fn sheet() -> SheetFacts {
    SheetFacts {
        name: "elevation".to_owned(),
        least_text: 2.5,
        scaled: true,
        scale_bar: true,
        ..SheetFacts::default()
    }
}

fn drawn(change: impl Fn(&mut DrawingFacts)) -> Build {
    let mut b = indirect();
    let mut facts = DrawingFacts {
        sheets: vec![sheet()],
        labels: true,
        householder: true,
        ..DrawingFacts::default()
    };
    change(&mut facts);
    b.drawing = Some(facts);
    b
}

#[test]
fn drw_sound_sheets_are_silent() {
    let r = drawn(|_| {}).check();
    for n in 1..=9 {
        silent(&r, &format!("DRW{n:02}"));
    }
    sound(&r);
}

#[test]
fn drw_each_fault_is_found() {
    type Spoil = fn(&mut DrawingFacts);
    let faults: [(&str, firstfix::check::Severity, &str, Spoil); 11] = [
        ("DRW01", Error, "p7", |d| d.sheets[0].unlabelled.push("p7".to_owned())),
        ("DRW02", Error, "elevation", |d| d.sheets[0].missing_fields.push("status".to_owned())),
        ("DRW03", Warning, "elevation", |d| d.sheets[0].least_text = 2.0),
        ("DRW04", Warning, "elevation", |d| d.sheets[0].colour_only.push("hot".to_owned())),
        ("DRW05", Warning, "elevation", |d| d.sheets[0].overlaps = 1),
        ("DRW05", Warning, "elevation", |d| d.sheets[0].gapless_crossings = 2),
        ("DRW06", Error, "elevation", |d| d.sheets[0].scale_bar = false),
        ("DRW06", Error, "elevation", |d| d.sheets[0].scale_error = 0.2),
        ("DRW07", Error, "EV", |d| d.missing_parts.push(("EV".into(), "elevation".into()))),
        ("DRW08", Warning, "A3", |d| d.unlisted_assumptions.push("A3".to_owned())),
        ("DRW09", Error, "TUN", |d| d.unmarked_changes.push("TUN".to_owned())),
    ];
    for (rule, severity, part, spoil) in faults {
        fires(&drawn(spoil).check(), rule, severity, part);
    }
    let r = drawn(|d| d.revision_not_raised = true).check();
    assert!(r.findings.iter().any(|f| f.rule == "DRW09"));
}

// ---- records ----

#[test]
fn doc01_route() {
    let mut b = indirect();
    fires(&b.check(), "DOC01", Advice, "CYL");
    b.system.job.status = "as-built".to_owned();
    fires(&b.check(), "DOC01", Error, "CYL");
    b.system.job.fields.insert("route".to_owned(), "registered installer".to_owned());
    silent(&b.check(), "DOC01");
}

#[test]
fn doc02_copied_readings() {
    let mut b = indirect();
    for (part, key, value) in
        [("CYL", "stored", 60.0), ("MAIN", "static", 4.0), ("EV", "charge", 3.0)]
    {
        b.set(part, &format!("{key}.measured"), value);
    }
    fires(&b.check(), "DOC02", Warning, "EV");
    b.set("CYL", "stored.measured", 61.0);
    silent(&b.check(), "DOC02");
}

#[test]
fn doc03_and_saf15_labels() {
    fires(&drawn(|d| d.labels = false).check(), "DOC03", Warning, "CYL");
    fires(&drawn(|d| d.labels = false).check(), "SAF15", Advice, "CYL");
    silent(&drawn(|_| {}).check(), "SAF15");
}

#[test]
fn doc04_householder() {
    let missing = drawn(|d| d.householder = false).check();
    assert!(missing.findings.iter().any(|f| f.rule == "DOC04" && f.severity == Warning));
    let words = drawn(|d| d.trade_words.push("tundish".to_owned())).check();
    assert!(words.findings.iter().any(|f| f.rule == "DOC04"));
    silent(&drawn(|_| {}).check(), "DOC04");
}

#[test]
fn doc05_main_not_measured() {
    let mut b = indirect();
    silent(&b.check(), "DOC05");
    b.get("MAIN").attrs.0.remove("at");
    fires(&b.check(), "DOC05", Warning, "MAIN");
    b.assume("MAIN", "at", 20.0);
    let r = b.check();
    let f = fires(&r, "DOC05", Advice, "MAIN");
    assert!(f.assumed && f.title.starts_with("NOT MEASURED"), "{}", f.title);
}

#[test]
fn doc06_pressure_test() {
    let mut b = indirect();
    silent(&b.check(), "DOC06");
    b.system.job.status = "as-built".to_owned();
    assert!(b.check().findings.iter().any(|f| f.rule == "DOC06" && f.severity == Warning));
    for (key, value) in [("test-start", "7.5 bar"), ("test-end", "7.5 bar"), ("test-time", "1 h")] {
        b.system.job.fields.insert(key.to_owned(), value.to_owned());
    }
    silent(&b.check(), "DOC06");
}

// ---- the report ----

/// Repeated findings become one line that says how many and which is worst.
#[test]
fn repeated_findings_are_grouped() {
    let mut b = super::discharge::shared(8, "35");
    for i in 1..=8 {
        let (from, to) = (format!("TUN{i}"), format!("T{i}"));
        b.long(&from, &to, 9.0 + i as f64, 2.0);
    }
    let r = b.check();
    let of: Vec<_> = r.findings.iter().filter(|f| f.rule == "DIS04").collect();
    assert_eq!(of.len(), 1, "{:?}", of);
    assert!(of[0].title.contains("8 places: TUN1, TUN2"), "{}", of[0].title);
    assert!(of[0].title.contains("worst: 22 mm too small: 18.6 of 9.0 m"), "{}", of[0].title);
    assert_eq!(of[0].parts.len(), 8);
}

#[test]
fn findings_come_gravest_first() {
    let mut b = indirect();
    b.take_out("STR");
    b.take_out("NRV");
    let r = b.check();
    let order: Vec<_> = r.findings.iter().map(|f| f.severity).collect();
    let mut sorted = order.clone();
    sorted.sort();
    assert_eq!(order, sorted);
    assert!(r.has_error());
}

#[test]
fn explain_says_what_why_source_and_mend() {
    let e = explain("DIS04").unwrap();
    let text = e.to_string();
    for head in ["DIS04 (error)", "What it finds", "Why it matters", "Source", "Mend"] {
        assert!(text.contains(head), "{text}");
    }
    assert!(explain("DIS99").is_none());
    // Each rule's figures are listed with it.
    assert!(explain("DIS01").unwrap().limits.iter().any(|l| l.contains("600 mm")));
    assert!(catalogue().len() >= 120, "{}", catalogue().len());
}
