//! The heating controls on the wiring centre: supply, programmer, cylinder chain, zones, source,
//! pump. In: the scheme. Out: their devices and conductors in the builder.
//!
//! The numbers of the ways are the project's own convention; a system that needs more goes on
//! after 14.

use super::build::*;
use super::netlist::{Actuator, DeviceKind, LoadRole, Role, Supply};
use super::scheme::{Named, Scheme, Store, Zone};
use super::source::{relay, zone_pump};
use crate::catalogue::electrical::electrical;

pub const L: &str = "X1:1";
pub const N: &str = "X1:2";
pub const E: &str = "X1:3";

/// Fused connection unit and wiring centre.
pub fn supply(b: &mut Builder, s: &Scheme) {
    b.device(
        "Q0",
        DeviceKind::SupplyUnit,
        "switched fused connection unit, double pole",
        &s.supply_unit,
        &[
            ("L", Role::Line, "fused line out"),
            ("N", Role::Neutral, "neutral out"),
            ("E", Role::Earth, "earth"),
        ],
    );
    let x = b.device("X1", DeviceKind::WiringCentre, "wiring centre", &s.centre, &[]);
    x.hot = true;
    b.way(1, "permanent line");
    b.way(2, "neutral");
    b.way(3, "earth");
    b.wiring.supplies.push(Supply {
        name: "heating controls".to_owned(),
        line: "Q0:L".to_owned(),
        neutral: "Q0:N".to_owned(),
        earth: "Q0:E".to_owned(),
        isolator: "Q0".to_owned(),
        fuse: s.fuse.unwrap_or_else(crate::wire::load::controls_fuse),
        volts: electrical("volts").value,
        new_circuit: false,
        inside: false,
    });
    b.cable("W1", FLEX_3, 3, 1.0).heat_resistant = true;
    b.join("W1", "Q0:L", L, BN, "permanent line");
    b.join("W1", "Q0:N", N, BU, "neutral");
    b.join("W1", "Q0:E", E, GNYE, "earth");
}

/// The programmer's supply; its outputs are joined as the demands are made.
pub fn programmer(b: &mut Builder, s: &Scheme) {
    let d = b.device(
        "K1",
        DeviceKind::Programmer,
        "programmer",
        &s.programmer,
        &[
            ("L", Role::Line, "supply and common of the outputs"),
            ("N", Role::Neutral, "neutral"),
            ("E", Role::Parked, "earth core, parked"),
        ],
    );
    d.watts = s.programmer.watts.unwrap_or(electrical("watts.programmer").value);
    d.class_one = false;
    b.cable("W2", FLEX_5, 5, 1.0);
    b.join("W2", L, "K1:L", BN, "permanent line");
    b.join("W2", N, "K1:N", BU, "neutral");
    b.park("W2", E, "K1:E", GNYE, "earth core, parked at the programmer");
    b.load("SK1", LoadRole::Supply, "programmer's clock", "K1:L", "K1:N");
}

/// An output of the programmer on its way to a timed way. One cable for up to four of them: five
/// cores for two, seven for more; what goes beyond takes a further cable with its earth parked.
fn channel(b: &mut Builder, terminal: &str, function: &str, way: &str) {
    let address = format!("K1:{terminal}");
    if let Some(k) = b.wiring.devices.iter_mut().find(|d| d.id == "K1") {
        if k.terminals.iter().any(|t| t.name == terminal) {
            return;
        }
        k.terminals.push(super::netlist::Terminal {
            name: terminal.to_owned(),
            role: Role::Switched,
            function: function.to_owned(),
        });
    }
    let in_w2 = b.wiring.conductors.iter().filter(|c| c.cable == "W2").count();
    let (cable, core) = match (in_w2, terminal) {
        (3, _) => ("W2".to_owned(), BK_BN),
        (4, _) => ("W2".to_owned(), GY_BN),
        (n @ (5 | 6), _) => {
            if let Some(w2) = b.wiring.cables.iter_mut().find(|c| c.tag == "W2") {
                (w2.construction, w2.cores) = (FLEX_7.to_owned(), 7);
            }
            ("W2".to_owned(), if n == 5 { OG_BN } else { WH_BN })
        }
        _ => {
            let full =
                |t: &String| b.wiring.conductors.iter().filter(|c| c.cable == *t).count() >= 4;
            let mut tags = ('A'..='Z').map(|l| format!("W2{l}"));
            let tag = tags.find(|t| !full(t)).unwrap_or_else(|| "W2+".to_owned());
            if b.wiring.cable(&tag).is_none() {
                b.cable(&tag, TRIPLE, 4, 1.0);
                b.park(&tag, E, "K1:E", GNYE, "earth core, parked at the programmer");
            }
            let n = b.wiring.conductors.iter().filter(|c| c.cable == tag).count();
            (tag, [BN, BK_BN, GY_BN][n.saturating_sub(1).min(2)])
        }
    };
    b.join(&cable, &address, way, core, function);
}

/// One timed output with its contact and input; made once for each terminal.
fn timed(b: &mut Builder, terminal: &str, way: &str, input: &str, group: &str, words: &str) {
    if b.wiring.inputs.iter().any(|i| i.id == input) {
        return;
    }
    channel(b, terminal, &format!("timed {words}"), way);
    b.input(input, "K1", group, &format!("{words} timer"), "on", "off");
    let out = format!("K1:{terminal}");
    b.contact("K1:L", &out, Actuator::Timer, on(input), &format!("{words} on"));
}

/// Time → thermostat → cut-out → valve motor; the valve's own switch → call.
pub fn store(b: &mut Builder, s: &Scheme, i: usize, st: &Store, call: &str) {
    let first = i == 0;
    let group = if s.stores.len() == 1 { "hot water".to_owned() } else { st.name.clone() };
    let hw = b.way(6, "hot water timed");
    timed(b, "3", &hw, "PHW", &group, "hot water");
    let bt = b.free("BT", if first { &[2] } else { &[4, 10] });
    let f = b.free("F", if first { &[2] } else { &[4, 5] });
    let nth = if first { String::new() } else { (i + 1).to_string() };
    let cyl = format!("CYL{nth}");
    let co = format!("CO{nth}");
    let stat = b.device(
        &bt,
        DeviceKind::CylinderThermostat,
        format!("{} thermostat", st.name),
        &st.thermostat,
        &[
            ("C", Role::Switched, "common"),
            ("1", Role::Switched, "call: made while the store is cold"),
            ("2", Role::Switched, "satisfied: made once the store is hot"),
            ("E", Role::Earth, "earth"),
        ],
    );
    stat.hot = true;
    b.input(&cyl, &bt, &group, &format!("{} thermostat", st.name), "calls", "satisfied");
    let at = |t: &str| format!("{bt}:{t}");
    let opens = degrees("opens at", &st.thermostat, "opens when the store is hot");
    b.contact(&at("C"), &at("1"), Actuator::Thermostat, on(&cyl), &opens);
    b.contact(&at("C"), &at("2"), Actuator::Thermostat, off(&cyl), "closes when the store is hot");
    if let Some(c) = b.wiring.contacts.last_mut() {
        c.breaks = false;
    }
    let w = b.free("W", if first { &[4] } else { &[34] });
    b.cable(&w, FLEX_4, 4, 1.0).heat_resistant = true;
    b.join(&w, &hw, &at("C"), BN, "hot water timed");
    let out = match &st.cut_out {
        Some(named) => {
            cut_out(b, &f, &bt, named, st, (&co, &group));
            b.join("", &at("1"), &format!("{f}:1"), BN, "link made at the works");
            format!("{f}:2")
        }
        None => at("1"),
    };
    let f = if st.cut_out.is_some() { f } else { String::new() };
    let demand = match first {
        true => b.way(7, "hot water demand after cut-out"),
        false => b.new_way(&format!("{} demand after cut-out", st.name)),
    };
    // Without a valve of its own the demand can only call the source: the rules then say so.
    let lands = if st.valve.is_none() && s.diverter.is_none() { call } else { demand.as_str() };
    b.join(&w, &out, lands, BK_BN, "hot water demand after cut-out");
    b.join(&w, E, &at("E"), GNYE, "earth");
    if s.mid_position.is_some() && first {
        let satisfied = b.way(9, "hot water off or satisfied");
        b.join(&w, &at("2"), &satisfied, GY_BN, "hot water satisfied");
        channel(b, "1", "hot water off", &satisfied);
        b.contact("K1:L", "K1:1", Actuator::Timer, off("PHW"), "hot water off");
    }
    if let Some(valve) = &st.valve {
        let q = b.free("Q", if first { &[1] } else { &[7, 8] });
        let w = b.free("W", if first { &[5] } else { &[35] });
        let words = format!("{} zone valve", st.name);
        zone_valve(b, &q, &w, valve, &words, &demand, call, LoadRole::CylinderMotor);
        b.guard(&format!("M{q}"), &f);
    }
    if s.diverter.is_some() && first {
        b.guard("MQ4", &f);
    }
}

/// The overheat cut-out in the thermostat's housing.
fn cut_out(b: &mut Builder, f: &str, bt: &str, named: &Named, st: &Store, input: (&str, &str)) {
    let d = b.device(
        f,
        DeviceKind::CutOut,
        format!("{} overheat cut-out", st.name),
        named,
        &[("1", Role::Switched, "in"), ("2", Role::Switched, "out")],
    );
    d.hot = true;
    d.housed_with = Some(bt.to_owned());
    let (id, group) = input;
    b.input(id, f, group, &format!("{} cut-out", st.name), "healthy", "tripped");
    if let Some(last) = b.wiring.inputs.last_mut() {
        last.cut_out = true;
    }
    let trips = degrees("opens at", named, "opens on overheat");
    let (fin, fout) = (format!("{f}:1"), format!("{f}:2"));
    b.contact(&fin, &fout, Actuator::CutOut, on(id), &format!("{trips}, hand reset"));
}

/// A two-port spring-return valve on its five-core flex.
#[allow(clippy::too_many_arguments)]
pub fn zone_valve(
    b: &mut Builder,
    q: &str,
    w: &str,
    named: &Named,
    words: &str,
    demand: &str,
    call: &str,
    role: LoadRole,
) {
    valve_device(b, q, named, words, role);
    b.cable(w, VALVE, 5, 0.75).heat_resistant = true;
    if let Some(c) = b.wiring.cables.last_mut() {
        c.makers_flex = true;
    }
    let at = |t: &str| format!("{q}:{t}");
    b.join(w, demand, &at("BN"), BN, "valve motor");
    b.join(w, N, &at("BU"), BU, "neutral");
    b.join(w, L, &at("GY"), GY, "permanent line to the valve's switch");
    b.join(w, &at("OG"), call, OG, "switched line out of the valve's switch");
    b.join(w, E, &at("GNYE"), GNYE, "earth");
}

/// The valve itself: motor, spring, position switch.
pub fn valve_device(b: &mut Builder, q: &str, named: &Named, words: &str, role: LoadRole) {
    let d = b.device(
        q,
        DeviceKind::ZoneValve,
        words,
        named,
        &[
            ("BN", Role::Switched, "motor"),
            ("BU", Role::Neutral, "neutral"),
            ("GY", Role::Switched, "permanent line to the switch"),
            ("OG", Role::Switched, "switched line out"),
            ("GNYE", Role::Earth, "earth"),
        ],
    );
    d.hot = true;
    d.spring_return = true;
    d.watts = named.watts.unwrap_or(electrical("watts.valve").value);
    let motor = format!("M{q}");
    let at = |t: &str| format!("{q}:{t}");
    b.load(&motor, role, &format!("{words} motor"), &at("BN"), &at("BU"));
    b.contact(
        &at("GY"),
        &at("OG"),
        Actuator::Position,
        runs(&motor),
        "made while the valve is open",
    );
}

/// Time → room thermostat → valve motor; returns the way its demand lands on.
pub fn zone(b: &mut Builder, s: &Scheme, i: usize, z: &Zone, call: &str) -> String {
    let timed_zones = s.zones.iter().filter(|z| z.floor.is_none()).count();
    let (time, temp) = match timed_zones {
        1 => ("PCH".to_owned(), "RM".to_owned()),
        _ => (format!("PC{}", i + 1), format!("R{}", i + 1)),
    };
    // A programmer with too few channels serves the last zones together.
    let channels = s.channels.map_or(usize::MAX, |c| c as usize);
    let most = channels.saturating_sub(usize::from(!s.stores.is_empty())).max(1);
    let shared = i.min(most - 1);
    // Named by the zone, and after the first where several share a channel.
    let first = s.zones.iter().filter(|z| z.floor.is_none()).nth(shared).unwrap_or(z);
    let function = format!("{} timed", first.name);
    let (terminal, way, time) = match shared {
        0 => (
            "4".to_owned(),
            b.way(4, &function),
            if i == 0 { time } else { first_timer(timed_zones) },
        ),
        1 if s.mid_position.is_none() => {
            let id = if i == 1 { time } else { "PC2".to_owned() };
            ("5".to_owned(), b.way(9, &function), id)
        }
        n => {
            let id = format!("PC{}", n + 1);
            let found = b.wiring.device("X1").and_then(|x| {
                x.terminals
                    .iter()
                    .find(|t| t.function == function)
                    .map(|t| format!("X1:{}", t.name))
            });
            let way = found.unwrap_or_else(|| b.new_way(&function));
            ((n + 4).to_string(), way, id)
        }
    };
    timed(b, &terminal, &way, &time, &z.name, &z.name);
    let wanted = format!("{} demand", z.name);
    let demand = match i {
        0 => b.way(5, &wanted),
        1 if s.mid_position.is_none() => b.way(10, &wanted),
        _ => b.new_way(&wanted),
    };
    let bt = b.free("BT", [&[1][..], &[3], &[4], &[10], &[13]].get(i).copied().unwrap_or(&[14]));
    let w = b.free("W", [&[3][..], &[9]].get(i).copied().unwrap_or(&[18, 19, 20, 27]));
    room_thermostat(b, &bt, &z.thermostat, &format!("{} room thermostat", z.name), !z.two_wire);
    b.cable(&w, TRIPLE, 4, 1.0);
    b.input(&temp, &bt, &z.name, &format!("{} thermostat", z.name), "calls", "satisfied");
    let at = |t: &str| format!("{bt}:{t}");
    b.join(&w, &way, &at("C"), BN, "heating timed");
    b.join(&w, &at("1"), &demand, BK_BN, "heating demand");
    if !z.two_wire {
        b.join(&w, N, &at("N"), GY_BU, "neutral");
    }
    b.park(&w, E, &at("E"), GNYE, "earth core, parked at the thermostat");
    let opens = degrees("opens at", &z.thermostat, "opens when the room is warm");
    b.contact(&at("C"), &at("1"), Actuator::Thermostat, on(&temp), &opens);
    let wanted: &[u32] = match i {
        0 => &[2],
        1 => &[3],
        _ => &[6, 7, 8, 9],
    };
    if s.mid_position.is_some() && i == 0 {
        return demand;
    }
    if let Some(valve) = &z.valve {
        let q = b.free("Q", wanted);
        let w = b.free("W", [&[6][..], &[10]].get(i).copied().unwrap_or(&[28, 29, 36, 37]));
        let words = format!("{} zone valve", z.name);
        zone_valve(b, &q, &w, valve, &words, &demand, call, LoadRole::HeatingMotor);
    } else if let Some(pump) = &z.pump {
        zone_pump(b, z, pump, &demand, call);
    } else {
        relay(b, &format!("{} call", z.name), &demand, L, call);
    }
    demand
}

fn first_timer(timed_zones: usize) -> String {
    if timed_zones == 1 { "PCH".to_owned() } else { "PC1".to_owned() }
}

fn room_thermostat(b: &mut Builder, bt: &str, named: &Named, words: &str, neutral: bool) {
    let mut terminals = vec![
        ("C", Role::Switched, "common"),
        ("1", Role::Switched, "call: made while the room is cold"),
    ];
    if neutral {
        terminals.push(("N", Role::Neutral, "neutral"));
    }
    terminals.push(("E", Role::Parked, "earth core, parked unless the case is metal"));
    b.device(bt, DeviceKind::RoomThermostat, words, named, &terminals).class_one = false;
}

/// "opens on rise at 60 °C", or the plain words where nothing is set.
pub fn degrees(words: &str, named: &Named, plain: &str) -> String {
    match named.setting {
        Some(t) => format!("{words} {t} °C"),
        None => plain.to_owned(),
    }
}
