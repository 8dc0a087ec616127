//! Immersion heaters, each on a circuit of its own: circuit-breaker, double-pole switch, time
//! switch where there is one, cut-out and thermostat in the head, element.

use super::build::*;
use super::netlist::{Actuator, DeviceKind, LoadRole, Role, Supply};
use super::scheme::{Immersion, Named, Scheme};
use crate::catalogue::electrical::electrical;

pub fn immersions(b: &mut Builder, s: &Scheme) {
    let mut seen: Vec<&str> = Vec::new();
    for (i, im) in s.immersions.iter().enumerate() {
        let shared: Vec<&Immersion> = s
            .immersions
            .iter()
            .filter(|o| !im.circuit.is_empty() && o.circuit == im.circuit)
            .collect();
        if shared.len() == 2 {
            if !seen.contains(&im.circuit.as_str()) {
                seen.push(&im.circuit);
                changeover(b, shared[0], shared[1], i as u32);
            }
        } else {
            alone(b, im, i as u32);
        }
    }
}

fn code(n: u32) -> String {
    match n {
        0 => "LO".to_owned(),
        1 => "UP".to_owned(),
        n => format!("H{}", n + 1),
    }
}

fn circuit(b: &mut Builder, n: u32, im: &Immersion, words: &str, kw: f64) -> (String, String) {
    let cu = format!("CU{}", n + 1);
    let q = format!("Q{}", 11 + n);
    b.device(
        &cu,
        DeviceKind::ConsumerUnit,
        format!("consumer unit, way {} for the {words}", n + 1),
        &Named { place: "consumer unit".to_owned(), ..Named::default() },
        &[("L", Role::Line, "line"), ("N", Role::Neutral, "neutral"), ("E", Role::Earth, "earth")],
    );
    b.device(
        &q,
        DeviceKind::DoublePoleSwitch,
        format!("double-pole switch of the {words}"),
        &im.switch,
        &[
            ("1", Role::Line, "line in"),
            ("2", Role::Switched, "line out"),
            ("3", Role::Neutral, "neutral in"),
            ("4", Role::Neutral, "neutral out"),
            ("E", Role::Earth, "earth"),
        ],
    );
    let volts = electrical("volts").value;
    let amps = super::load::element_amps(kw, im.volts.unwrap_or(volts), volts);
    b.wiring.supplies.push(Supply {
        name: words.to_owned(),
        line: format!("{cu}:L"),
        neutral: format!("{cu}:N"),
        earth: format!("{cu}:E"),
        isolator: q.clone(),
        fuse: super::load::breaker_for(amps),
        volts,
        new_circuit: true,
        inside: false,
    });
    let w = b.free("W", &[21 + 3 * n]);
    b.cable(&w, TWIN, 3, super::load::flat_for(super::load::breaker_for(amps)));
    b.join(&w, &format!("{cu}:L"), &format!("{q}:1"), BN, "line");
    b.join(&w, &format!("{cu}:N"), &format!("{q}:3"), BU, "neutral");
    b.join(&w, &format!("{cu}:E"), &format!("{q}:E"), GNYE, "earth");
    let id = format!("DP{}", code(n));
    b.input(&id, &q, words, &format!("switch of the {words}"), "on", "off");
    for (x, y) in [("1", "2"), ("3", "4")] {
        let (x, y) = (format!("{q}:{x}"), format!("{q}:{y}"));
        b.contact(&x, &y, Actuator::DoublePole, on(&id), "both poles together");
    }
    (cu, q)
}

/// The head: cut-out, where it has one, thermostat and element, linked at the works. Gives the
/// terminal that the feed lands on.
fn head(b: &mut Builder, n: u32, im: &Immersion, kw: f64) -> String {
    let (e, f, bt) = (format!("E{}", 11 + n), format!("F{}", 11 + n), format!("BT{}", 11 + n));
    let c = code(n);
    let d = b.device(
        &e,
        DeviceKind::ImmersionHeater,
        im.words.clone(),
        &im.named,
        &[
            ("1", Role::Switched, "element"),
            ("2", Role::Neutral, "element, neutral"),
            ("E", Role::Earth, "earth stud of the boss"),
        ],
    );
    d.hot = true;
    d.watts = kw * 1000.0;
    let none = Named::default();
    if im.cut_out {
        let d = b.device(
            &f,
            DeviceKind::CutOut,
            format!("cut-out of the {}", im.words),
            &none,
            &[("1", Role::Switched, "in"), ("2", Role::Switched, "out")],
        );
        d.hot = true;
        d.housed_with = Some(e.clone());
    }
    let d = b.device(
        &bt,
        DeviceKind::ImmersionThermostat,
        format!("thermostat of the {}", im.words),
        &none,
        &[("1", Role::Switched, "in"), ("2", Role::Switched, "out")],
    );
    d.hot = true;
    d.housed_with = Some(e.clone());
    b.input(&format!("ST{c}"), &bt, &im.words, "thermostat in the head", "calls", "satisfied");
    let at = |d: &str, t: &str| format!("{d}:{t}");
    if im.cut_out {
        let id = format!("CO{c}");
        b.input(&id, &f, &im.words, "cut-out in the head", "healthy", "tripped");
        if let Some(last) = b.wiring.inputs.last_mut() {
            last.cut_out = true;
        }
        let (fin, fout) = (at(&f, "1"), at(&f, "2"));
        b.contact(&fin, &fout, Actuator::CutOut, on(&id), "opens on overheat, hand reset");
        b.join("", &fout, &at(&bt, "1"), BN, "link made at the works");
    }
    b.contact(
        &at(&bt, "1"),
        &at(&bt, "2"),
        Actuator::Thermostat,
        on(&format!("ST{c}")),
        &super::heating::degrees("opens at", &im.named, "opens when the water is hot"),
    );
    b.join("", &at(&bt, "2"), &at(&e, "1"), BN, "link made at the works");
    b.load(&format!("H{c}"), LoadRole::Element, &im.words, &at(&e, "1"), &at(&e, "2"));
    b.guard(&format!("H{c}"), if im.cut_out { &f } else { "" });
    at(if im.cut_out { &f } else { &bt }, "1")
}

fn alone(b: &mut Builder, im: &Immersion, n: u32) {
    let kw = im.kw.unwrap_or(electrical("kw.immersion").value);
    let (_, q) = circuit(b, n, im, &im.words, kw);
    let timer = im.diverter.as_ref().or(im.timer.as_ref());
    let flex = b.free("W", &[23 + 3 * n]);
    let mm2 = super::load::cord_for(super::load::breaker_for(super::load::element_amps(
        kw,
        im.volts.unwrap_or(electrical("volts").value),
        electrical("volts").value,
    )));
    let at = |d: &str, t: &str| format!("{d}:{t}");
    let (feed, neutral, earth) = match timer {
        Some(named) => {
            let k = format!("K{}", 11 + n);
            let (kind, words) = match im.diverter {
                Some(_) => (
                    DeviceKind::BoostDiverter,
                    format!("surplus solar control of the {}", im.words),
                ),
                None => (DeviceKind::TimeSwitch, format!("time switch of the {}", im.words)),
            };
            b.device(
                &k,
                kind,
                words,
                named,
                &[
                    ("L", Role::Line, "line in"),
                    ("N", Role::Neutral, "neutral"),
                    ("E", Role::Earth, "earth"),
                    ("OUT", Role::Switched, "line out"),
                ],
            );
            let w = b.free("W", &[22 + 3 * n]);
            let same = b.wiring.cables.last().map_or(2.5, |c| c.mm2);
            b.cable(&w, TWIN, 3, same);
            b.join(&w, &at(&q, "2"), &at(&k, "L"), BN, "switched line");
            b.join(&w, &at(&q, "4"), &at(&k, "N"), BU, "neutral");
            b.join(&w, &at(&q, "E"), &at(&k, "E"), GNYE, "earth");
            if im.diverter.is_some() {
                clamp(b, n, &k, named);
            }
            let id = format!("TS{}", code(n));
            let what = if im.diverter.is_some() { "surplus or boost" } else { "time switch" };
            b.input(&id, &k, &im.words, what, "on", "off");
            let by = if im.diverter.is_some() { Actuator::Output } else { Actuator::Timer };
            b.contact(&at(&k, "L"), &at(&k, "OUT"), by, on(&id), what);
            (at(&k, "OUT"), at(&k, "N"), at(&k, "E"))
        }
        None => (at(&q, "2"), at(&q, "4"), at(&q, "E")),
    };
    let enters = head(b, n, im, kw);
    b.cable(&flex, FLEX_3, 3, mm2).heat_resistant = true;
    let e = format!("E{}", 11 + n);
    b.join(&flex, &feed, &enters, BN, "element feed");
    b.join(&flex, &neutral, &at(&e, "2"), BU, "neutral");
    b.join(&flex, &earth, &at(&e, "E"), GNYE, "earth");
}

/// The clamp by which a surplus control knows what goes out to the street (makers' instructions, from
/// memory): it and its lead come with the control.
fn clamp(b: &mut Builder, n: u32, k: &str, control: &Named) {
    let id = format!("B{}", 11 + n);
    let place = Named { place: "round the line tail at the meter".to_owned(), ..Named::default() };
    let own = [("S1", Role::Bus, "sensing, no mains"), ("S2", Role::Bus, "sensing, no mains")];
    b.device(&id, DeviceKind::SensingClamp, "sensing clamp", &place, &own);
    if let Some(d) = b.wiring.devices.iter_mut().find(|d| d.id == *k) {
        d.terminals.extend(own.map(|(name, role, function)| terminal(name, role, function)));
    }
    let w = b.free("W", &[24 + 3 * n, 60]);
    b.cable(&w, "sensing lead, extra-low voltage", 2, 0.5).makers_flex = true;
    b.join(&w, &format!("{id}:S1"), &format!("{k}:S1"), WH, "sensing, no mains");
    b.join(&w, &format!("{id}:S2"), &format!("{k}:S2"), BK, "sensing, no mains");
    b.wiring.notes.push(format!(
        "{id}: the clamp of {}, its arrow as the maker says. Its lead is extra-low voltage: keep it \
         apart from the mains cables.",
        control.tag.as_deref().unwrap_or("the surplus control")
    ));
}

/// Two elements on one circuit that exclude each other.
fn changeover(b: &mut Builder, lower: &Immersion, upper: &Immersion, n: u32) {
    let default = electrical("kw.immersion").value;
    let (kl, ku) = (lower.kw.unwrap_or(default), upper.kw.unwrap_or(default));
    let (_, q) = circuit(b, n, lower, "two immersion heaters", kl.max(ku));
    b.device(
        "S1",
        DeviceKind::ChangeoverSwitch,
        "changeover switch: bath or sink",
        &Named::default(),
        &[
            ("C", Role::Switched, "common"),
            ("B", Role::Switched, "bath: lower heater"),
            ("S", Role::Switched, "sink: upper heater"),
        ],
    );
    b.input("BATH", "S1", "two immersion heaters", "changeover switch", "bath", "sink");
    b.contact("S1:C", "S1:B", Actuator::Manual, on("BATH"), "at bath");
    b.contact("S1:C", "S1:S", Actuator::Manual, off("BATH"), "at sink");
    if let Some(c) = b.wiring.contacts.last_mut() {
        c.breaks = true;
    }
    let volts = electrical("volts").value;
    let amps = super::load::element_amps(kl.max(ku), lower.volts.unwrap_or(volts), volts);
    let mm2 = super::load::cord_for(super::load::breaker_for(amps));
    b.join("", &format!("{q}:2"), "S1:C", BN, "link in the switch");
    for (i, (im, kw, out)) in [(lower, kl, "B"), (upper, ku, "S")].into_iter().enumerate() {
        let m = n + i as u32;
        let enters = head(b, m, im, kw);
        let w = b.free("W", &[23 + 3 * m]);
        b.cable(&w, FLEX_3, 3, mm2).heat_resistant = true;
        b.join(&w, &format!("S1:{out}"), &enters, BN, "element feed");
        b.join(&w, &format!("{q}:4"), &format!("E{}:2", 11 + m), BU, "neutral");
        b.join(&w, &format!("{q}:E"), &format!("E{}:E", 11 + m), GNYE, "earth");
    }
}
