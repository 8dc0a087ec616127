//! A floor heating controller: room thermostats in, actuators, pump and zone valve out. The valve's
//! feed passes the limit thermostat, so that heat is taken away at its source; the valve's own
//! switch calls the boiler.

use super::build::*;
use super::heating::{E, L, N, degrees, valve_device};
use super::netlist::{Actuator, DeviceKind, LoadRole, Role, Terminal, When};
use super::scheme::{Floor, Named, Zone};
use crate::catalogue::electrical::electrical;

pub fn floor(b: &mut Builder, z: &Zone, f: &Floor, call: &str) {
    let k = b.free("K", &[2, 12, 13]);
    let d = b.device(
        &k,
        DeviceKind::FloorController,
        format!("floor heating controller, {}", z.name),
        &f.controller,
        &[
            ("L", Role::Line, "supply and feed of the room thermostats"),
            ("N", Role::Neutral, "neutral"),
            ("E", Role::Earth, "earth"),
        ],
    );
    d.watts = f.controller.watts.unwrap_or(electrical("watts.floor-controller").value);
    let supply = b.free("W", &[9, 45]);
    let at = |t: &str| format!("{k}:{t}");
    // Line, neutral, earth, and the demand on its way back to the centre.
    b.cable(&supply, FLEX_5, 5, 0.75);
    let w = supply.clone();
    b.join(&w, L, &at("L"), BN, "permanent line");
    b.join(&w, N, &at("N"), BU, "neutral");
    b.join(&w, E, &at("E"), GNYE, "earth");
    b.load(&format!("S{k}"), LoadRole::Supply, "floor heating controller", &at("L"), &at("N"));

    let mut senses = Vec::new();
    for (i, room) in f.rooms.iter().enumerate() {
        let n = i + 1;
        let asks =
            b.wiring.inputs.iter().filter(|i| i.id.starts_with('U') && i.id != "ULIM").count() + 1;
        let (t, a) = (format!("T{n}"), format!("A{n}"));
        terminal(b, &k, &t, Role::Switched, "room thermostat in");
        terminal(b, &k, &a, Role::Switched, "actuator out");
        let bt = b.free("BT", &[30 + asks as u32]);
        b.device(
            &bt,
            DeviceKind::RoomThermostat,
            format!("{} room thermostat", room.name),
            &room.thermostat,
            &[
                ("C", Role::Switched, "common"),
                ("1", Role::Switched, "call: made while the room is cold"),
                ("E", Role::Parked, "earth core, parked unless the case is metal"),
            ],
        )
        .class_one = false;
        let stat = |t: &str| format!("{bt}:{t}");
        let w = b.free("W", &[30 + asks as u32]);
        b.cable(&w, TWIN, 3, 1.0);
        b.join(&w, &at("L"), &stat("C"), BN, "permanent line");
        b.join(&w, &stat("1"), &at(&t), BU_BN, "room demand");
        b.park(&w, &at("E"), &stat("E"), GNYE, "earth core, parked at the thermostat");
        let u = format!("U{asks}");
        b.input(&u, &bt, &z.name, &format!("{} thermostat", room.name), "calls", "satisfied");
        let opens = degrees("opens at", &room.thermostat, "opens when the room is warm");
        b.contact(&stat("C"), &stat("1"), Actuator::Thermostat, on(&u), &opens);
        let sense = format!("{k}{t}");
        b.load(&sense, LoadRole::Sense, &format!("{} demand", room.name), &at(&t), &at("N"));

        let y = b.free("Y", &[asks as u32]);
        let dy = b.device(
            &y,
            DeviceKind::FloorActuator,
            format!("floor actuator{}, {}", if room.actuators > 1 { "s" } else { "" }, room.name),
            &Named::default(),
            &[("1", Role::Switched, "line"), ("2", Role::Neutral, "neutral")],
        );
        dy.count = room.actuators.max(1);
        dy.watts = electrical("watts.actuator").value;
        dy.hot = true;
        let w = b.free("W", &[40 + asks as u32]);
        let cable = b.cable(&w, "2-core flex of the actuator", 2, 0.75);
        cable.makers_flex = true;
        cable.heat_resistant = true;
        cable.count = room.actuators.max(1);
        b.join(&w, &at(&a), &format!("{y}:1"), BN, "actuator");
        b.join(&w, &at("N"), &format!("{y}:2"), BU, "neutral");
        let act = format!("ACT{asks}");
        let words = format!("floor actuator, {}", room.name);
        b.load(&act, LoadRole::Actuator, &words, &format!("{y}:1"), &format!("{y}:2"));
        b.contact(&at("L"), &at(&a), Actuator::Output, runs(&sense), "while the room calls");
        senses.push(runs(&sense));
    }
    terminal(b, &k, "VO", Role::Switched, "zone valve out");
    b.contact(
        &at("L"),
        &at("VO"),
        Actuator::Output,
        When::Any(senses.clone()),
        "while any room calls",
    );
    // Every cable runs between two places: the demand, and what the limit thermostat lets through,
    // each have a way of the centre.
    let demand = b.new_way(&format!("{} demand", z.name));
    b.join(&supply, &at("VO"), &demand, BK_BN, "floor demand");

    if let Some(valve) = &z.valve {
        let limit_words = format!("floor flow limit thermostat, {}", z.name);
        let bt = b.free("BT", &[9, 19, 29]);
        let d = b.device(
            &bt,
            DeviceKind::LimitThermostat,
            limit_words.clone(),
            &f.limit,
            &[
                ("C", Role::Switched, "common"),
                ("1", Role::Switched, "made while the flow is cool enough"),
                ("E", Role::Earth, "earth"),
            ],
        );
        d.hot = true;
        let q = b.free("Q", &[if b.wiring.device("Q2").is_some() { 3 } else { 2 }, 6, 7, 8, 9]);
        let words = format!("{} zone valve", z.name);
        let wl = b.free("W", &[10, 46]);
        b.cable(&wl, FLEX_4, 4, 0.75).heat_resistant = true;
        let wv = b.free("W", &[11, 47]);
        let flex = b.cable(&wv, VALVE, 5, 0.75);
        flex.heat_resistant = true;
        flex.makers_flex = true;
        valve_device(b, &q, valve, &words, LoadRole::HeatingMotor);
        let v = |t: &str| format!("{q}:{t}");
        let limited = b.new_way(&format!("{} demand after limit", z.name));
        b.join(&wl, &demand, &format!("{bt}:C"), BN, "floor demand");
        b.join(&wl, &format!("{bt}:1"), &limited, BK_BN, "floor demand after limit");
        b.join(&wl, E, &format!("{bt}:E"), GNYE, "earth");
        b.join(&wv, &limited, &v("BN"), BN, "valve motor");
        b.join(&wv, N, &v("BU"), BU, "neutral");
        b.join(&wv, L, &v("GY"), GY, "permanent line to the valve's switch");
        b.join(&wv, &v("OG"), call, OG, "switched line out of the valve's switch");
        b.join(&wv, E, &v("GNYE"), GNYE, "earth");
        let lim =
            if b.wiring.input("ULIM").is_none() { "ULIM".to_owned() } else { format!("ULIM{q}") };
        b.input(&lim, &bt, &z.name, &limit_words, "cool enough", "too hot");
        let opens = degrees("opens at", &f.limit, "opens when the flow is too hot");
        b.contact(&format!("{bt}:C"), &format!("{bt}:1"), Actuator::Thermostat, on(&lim), &opens);
    } else {
        // No valve: the controller's demand calls through a relay.
        super::source::relay(b, &format!("{} call", z.name), &demand, L, call);
    }
    if let Some(pump) = &f.pump {
        terminal(b, &k, "PO", Role::Switched, "pump out");
        b.contact(&at("L"), &at("PO"), Actuator::Output, When::Any(senses), "while any room calls");
        let g = b.free("G", &[3, 9]);
        super::source::pump_device(b, &g, pump, &format!("floor pump, {}", z.name), false);
        let w = b.free("W", &[12, 48]);
        b.cable(&w, FLEX_3, 3, 0.75).heat_resistant = true;
        b.join(&w, &at("PO"), &format!("{g}:L"), BN, "pump");
        b.join(&w, &at("N"), &format!("{g}:N"), BU, "neutral");
        b.join(&w, &at("E"), &format!("{g}:E"), GNYE, "earth");
        if let (Some(valve), tag) = (&z.valve, pump.tag.as_deref().unwrap_or(&g)) {
            let valve = valve.tag.as_deref().unwrap_or("the zone valve");
            b.wiring.notes.push(format!(
                "{}: the flow limit thermostat shuts {valve}, which takes the heat away; {tag} runs on while a room calls and mixes out what is left.",
                z.name
            ));
        }
    }
}

fn terminal(b: &mut Builder, device: &str, name: &str, role: Role, function: &str) {
    if let Some(d) = b.wiring.devices.iter_mut().find(|d| d.id == device) {
        d.terminals.push(Terminal { name: name.to_owned(), role, function: function.to_owned() });
    }
}
