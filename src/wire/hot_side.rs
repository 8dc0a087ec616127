//! The other sources and valves: mid-position valve, diverter, buffer, heat pump, solar pump,
//! secondary circulation, frost.

use super::build::*;
use super::heating::{E, L, N, degrees};
use super::netlist::{Actuator, DeviceKind, LoadRole, Role, Supply, When};
use super::scheme::{Call, Frost, Named, Scheme, Secondary, Solar};
use super::source::{pump_cable, pump_device, volt_free};
use crate::catalogue::electrical::electrical;

/// The three-port valve that serves hot water at rest, both in the middle, heating at the end.
pub fn mid_position(b: &mut Builder, s: &Scheme, heating: &str, call: &str) {
    let Some(named) = &s.mid_position else { return };
    let d = b.device(
        "Q5",
        DeviceKind::MidPositionValve,
        "three-port mid-position valve",
        named,
        &[
            ("WH", Role::Switched, "heating demand"),
            ("GY", Role::Switched, "hot water off or satisfied"),
            ("OG", Role::Switched, "switched line out, heating alone"),
            ("BU", Role::Neutral, "neutral"),
            ("GNYE", Role::Earth, "earth"),
        ],
    );
    d.hot = true;
    d.spring_return = true;
    d.rests_on_cylinder = true;
    d.watts = named.watts.unwrap_or(electrical("watts.valve").value);
    let satisfied = b.way(9, "hot water off or satisfied");
    b.cable("W6", VALVE, 5, 0.75).heat_resistant = true;
    if let Some(c) = b.wiring.cables.last_mut() {
        c.makers_flex = true;
    }
    b.join("W6", heating, "Q5:WH", WH, "heating demand");
    b.join("W6", &satisfied, "Q5:GY", GY, "hot water off or satisfied");
    b.join("W6", "Q5:OG", call, OG, "switched line out, heating alone");
    b.join("W6", N, "Q5:BU", BU, "neutral");
    b.join("W6", E, "Q5:GNYE", GNYE, "earth");
    b.load(
        "WH",
        LoadRole::HeatingMotor,
        "mid-position valve off its hot water seat",
        "Q5:WH",
        "Q5:BU",
    );
    b.load("GR", LoadRole::HeatingMotor, "mid-position valve held or wound on", "Q5:GY", "Q5:BU");
    let end = When::All(vec![runs("WH"), runs("GR")]);
    b.contact("Q5:WH", "Q5:OG", Actuator::Position, end, "closed at the heating end");
}

/// The diverter: hot water when driven, heating at rest.
pub fn diverter(b: &mut Builder, s: &Scheme, call: &str) {
    let Some(dv) = &s.diverter else { return };
    let d = b.device(
        "Q4",
        DeviceKind::Diverter,
        "three-port diverter",
        &dv.named,
        &[
            ("BN", Role::Switched, "motor"),
            ("BU", Role::Neutral, "neutral"),
            ("GNYE", Role::Earth, "earth"),
            ("C", Role::Switched, "switch, common"),
            ("NO", Role::Switched, "made at the driven end"),
            ("NC", Role::Switched, "made at rest"),
        ],
    );
    d.hot = true;
    d.spring_return = true;
    d.rests_on_cylinder = dv.rests_on_cylinder;
    d.watts = dv.named.watts.unwrap_or(electrical("watts.valve").value);
    let demand = b.way(7, "hot water demand after cut-out");
    let tag = b.free("W", &[5, 41]);
    let w = tag.as_str();
    b.cable(w, "6-core valve flex", 6, 0.75).heat_resistant = true;
    if let Some(c) = b.wiring.cables.last_mut() {
        c.makers_flex = true;
    }
    b.join(w, &demand, "Q4:BN", BN, "diverter motor");
    b.join(w, N, "Q4:BU", BU, "neutral");
    b.join(w, E, "Q4:GNYE", GNYE, "earth");
    b.join(w, L, "Q4:C", GY, "permanent line to the valve's switch");
    b.load("MQ4", LoadRole::CylinderMotor, "diverter motor", "Q4:BN", "Q4:BU");
    b.contact("Q4:C", "Q4:NO", Actuator::Position, runs("MQ4"), "made at the driven end");
    b.contact("Q4:C", "Q4:NC", Actuator::Position, rests("MQ4"), "made at rest");
    if let Some(c) = b.wiring.contacts.last_mut() {
        c.breaks = true;
    }
    let pump = s.source.as_ref().is_some_and(|p| p.heat_pump);
    let to = if pump { b.way(12, "hot water call") } else { call.to_owned() };
    // Where the cylinder has a two-port valve too, that valve's switch calls: both must be open.
    if s.stores.first().is_none_or(|st| st.valve.is_none()) {
        b.join(w, "Q4:NO", &to, OG, "hot water call");
    }
    if s.buffer.is_some() {
        let rest = b.way(13, "diverter at rest");
        b.join(w, "Q4:NC", &rest, WH, "diverter at rest");
    }
}

/// The buffer's thermostat calls the source while the diverter is at rest.
pub fn buffer(b: &mut Builder, s: &Scheme) -> Option<String> {
    let named = s.buffer.as_ref()?;
    let d = b.device(
        "BT6",
        DeviceKind::BufferThermostat,
        "buffer thermostat",
        named,
        &[
            ("C", Role::Switched, "common"),
            ("1", Role::Switched, "call: made while the buffer is cold"),
            ("E", Role::Earth, "earth"),
        ],
    );
    d.hot = true;
    let feed = match s.diverter {
        Some(_) => b.way(13, "diverter at rest"),
        None => L.to_owned(),
    };
    let call = b.way(14, "space heating call");
    b.cable("W13", FLEX_4, 4, 1.0).heat_resistant = true;
    b.join("W13", &feed, "BT6:C", BN, "diverter at rest");
    b.join("W13", "BT6:1", &call, BK_BN, "space heating call");
    b.join("W13", E, "BT6:E", GNYE, "earth");
    b.input("BUF", "BT6", "buffer", "buffer thermostat", "calls", "satisfied");
    let opens = degrees("opens at", named, "opens when the buffer is hot");
    b.contact("BT6:C", "BT6:1", Actuator::Thermostat, on("BUF"), &opens);
    Some(call)
}

/// The heat pump's two calls.
pub fn heat_pump(b: &mut Builder, s: &Scheme, space: &str, water: Option<&str>) {
    let Some(source) = &s.source else { return };
    let mains = source.call == Call::Mains;
    let role = match source.call {
        Call::Mains => Role::Call,
        Call::VoltFree => Role::VoltFree,
        Call::Bus => Role::Bus,
    };
    let mut terminals = vec![("N", Role::Neutral, "neutral"), ("E", Role::Earth, "earth")];
    if mains {
        if water.is_some() {
            terminals.push(("SLHW", role, "hot water call, 230 V"));
        }
        terminals.push(("SLCH", role, "space heating call, 230 V"));
    } else {
        terminals.insert(0, ("L", Role::Line, "permanent line to the controls"));
        if water.is_some() {
            terminals.push(("H1", role, "hot water call, no mains here"));
            terminals.push(("H2", role, "hot water call, no mains here"));
        }
        terminals.push(("S1", role, "space heating call, no mains here"));
        terminals.push(("S2", role, "space heating call, no mains here"));
    }
    let d = b.device("E2", DeviceKind::HeatPump, "heat pump", &source.named, &terminals);
    d.watts = source.named.watts.unwrap_or(electrical("watts.heat-pump-controls").value);
    b.wiring.notes.push(
        "The heat pump's power supply is a circuit of its own, to the maker's instructions; only its control side is here.".to_owned(),
    );
    if mains {
        b.cable("W8", FLEX_5, 5, 1.0);
        if let Some(water) = water {
            b.join("W8", water, "E2:SLHW", BN, "hot water call");
            b.load("HPHW", LoadRole::Call, "heat pump, hot water", "E2:SLHW", "E2:N");
        }
        b.join("W8", space, "E2:SLCH", BK_BN, "space heating call");
        b.load("HPCH", LoadRole::Call, "heat pump, space heating", "E2:SLCH", "E2:N");
        b.join("W8", N, "E2:N", BU, "neutral");
        b.join("W8", E, "E2:E", GNYE, "earth");
    } else {
        b.cable("W8", FLEX_3, 3, 1.0);
        b.join("W8", L, "E2:L", BN, "permanent line to the controls");
        b.join("W8", N, "E2:N", BU, "neutral");
        b.join("W8", E, "E2:E", GNYE, "earth");
        b.load("SE2", LoadRole::Supply, "heat pump's controls", "E2:L", "E2:N");
        if let Some(water) = water {
            volt_free(b, "E2", "H", "HPHW", water, "heat pump, hot water");
        }
        volt_free(b, "E2", "S", "HPCH", space, "heat pump, space heating");
    }
}

/// The heat pump's own pump: no wire of this job runs it, the heat pump's control does. It is shown
/// fed by the heat pump itself, so that the tables say when it runs.
pub fn own_pump(b: &mut Builder, s: &Scheme) {
    let (Some(pump), Some(_)) = (&s.pump, &s.source) else { return };
    let words = "heat pump's own pump";
    let d = b.device("G1", DeviceKind::Pump, words, pump, &[]);
    (d.class_one, d.watts) = (false, 0.0);
    b.wiring.supplies.push(Supply {
        name: "heat pump's own pump, fed and driven by the heat pump's control".to_owned(),
        line: "E2:own supply".to_owned(),
        neutral: "E2:own neutral".to_owned(),
        earth: "E2:own earth".to_owned(),
        isolator: String::new(),
        fuse: 0.0,
        volts: electrical("volts").value,
        new_circuit: false,
        inside: true,
    });
    b.load("PG1", LoadRole::Pump, words, "E2:pump", "E2:own neutral");
    if let Some(l) = b.wiring.loads.last_mut() {
        l.device = "G1".to_owned();
    }
    let calls = ["HPHW", "HPCH"].into_iter().filter(|c| b.wiring.load(c).is_some()).map(runs);
    let when = When::Any(calls.collect());
    b.contact("E2:own supply", "E2:pump", Actuator::Output, when, "while the heat pump is called");
    let tag = pump.tag.clone().unwrap_or_else(|| "G1".to_owned());
    b.wiring.notes.push(format!(
        "{tag}: the heat pump's own pump. Join it to the heat pump's own terminals, to the maker's instructions; no wire of this sheet runs it."
    ));
}

/// Time and pipe thermostat in series, in the secondary pump's feed; tied to no boiler call.
pub fn secondary(b: &mut Builder, sec: &Secondary) {
    b.device(
        "K3",
        DeviceKind::TimeSwitch,
        "hot water circulation timer",
        &sec.timer,
        &[
            ("L", Role::Line, "supply and common"),
            ("N", Role::Neutral, "neutral"),
            ("E", Role::Parked, "earth core, parked"),
            ("OUT", Role::Switched, "timed line out"),
        ],
    )
    .class_one = false;
    b.cable("W14", FLEX_5, 5, 1.0);
    b.join("W14", L, "K3:L", BN, "permanent line");
    b.join("W14", N, "K3:N", BU, "neutral");
    b.park("W14", E, "K3:E", GNYE, "earth core, parked at the timer");
    let on_time = b.new_way("circulation timed");
    b.join("W14", "K3:OUT", &on_time, BK_BN, "circulation timed");
    b.load("SK3", LoadRole::Supply, "timer's clock", "K3:L", "K3:N");
    b.input("TS", "K3", "circulation", "circulation timer", "on", "off");
    b.contact("K3:L", "K3:OUT", Actuator::Timer, on("TS"), "circulation on");
    let d = b.device(
        "BT5",
        DeviceKind::PipeThermostat,
        "circulation return pipe thermostat",
        &sec.thermostat,
        &[
            ("C", Role::Switched, "common"),
            ("1", Role::Switched, "call: made while the return is cool"),
            ("E", Role::Earth, "earth"),
        ],
    );
    d.hot = true;
    b.cable("W15", FLEX_4, 4, 1.0).heat_resistant = true;
    let pump = b.new_way("circulation timed, return cool");
    b.join("W15", &on_time, "BT5:C", BN, "circulation timed");
    b.join("W15", "BT5:1", &pump, BK_BN, "circulation timed, return cool");
    b.join("W15", E, "BT5:E", GNYE, "earth");
    b.input("PIPE", "BT5", "circulation", "return pipe thermostat", "cool", "hot");
    let opens = degrees("opens at", &sec.thermostat, "opens when the return is hot");
    b.contact("BT5:C", "BT5:1", Actuator::Thermostat, on("PIPE"), &opens);
    pump_device(b, "G2", &sec.pump, "hot water circulating pump", true);
    b.cable("W16", FLEX_3, 3, 0.75).heat_resistant = true;
    b.join("W16", &pump, "G2:L", BN, "pump");
    b.join("W16", N, "G2:N", BU, "neutral");
    b.join("W16", E, "G2:E", GNYE, "earth");
}

/// Cold air and a cold pipe together open a heating valve, whose switch then calls the source.
pub fn frost(b: &mut Builder, f: &Frost, demand: &str) {
    b.device(
        "BT7",
        DeviceKind::FrostThermostat,
        "frost thermostat, air",
        &f.air,
        &[
            ("C", Role::Switched, "common"),
            ("1", Role::Switched, "made in frost"),
            ("E", Role::Earth, "earth"),
        ],
    );
    let d = b.device(
        "BT8",
        DeviceKind::PipeThermostat,
        "frost pipe thermostat",
        &f.pipe,
        &[
            ("C", Role::Switched, "common"),
            ("1", Role::Switched, "made while the pipe is cold"),
            ("E", Role::Earth, "earth"),
        ],
    );
    d.hot = true;
    b.cable("W17", TRIPLE, 4, 1.0);
    b.join("W17", L, "BT7:C", BN, "permanent line");
    let air = b.new_way("frost in the air");
    b.join("W17", "BT7:1", &air, BK_BN, "frost in the air");
    b.join("W17", E, "BT7:E", GNYE, "earth");
    let w = b.free("W", &[18]);
    b.cable(&w, FLEX_4, 4, 0.75).heat_resistant = true;
    b.join(&w, &air, "BT8:C", BN, "frost in the air");
    b.join(&w, "BT8:1", demand, BK_BN, "frost demand");
    b.join(&w, E, "BT8:E", GNYE, "earth");
    b.input("FR", "BT7", "frost", "frost thermostat", "frost", "no frost");
    b.input("PS", "BT8", "frost", "frost pipe thermostat", "cold", "warm");
    let opens = degrees("opens at", &f.air, "opens above frost");
    b.contact("BT7:C", "BT7:1", Actuator::Thermostat, on("FR"), &opens);
    let opens = degrees("opens at", &f.pipe, "opens when the pipe is warm");
    b.contact("BT8:C", "BT8:1", Actuator::Thermostat, on("PS"), &opens);
    b.wiring.notes.push(
        "Frost: while frost calls and the room thermostat is closed, the programmer's heating terminal is live backwards through it; use a programmer with relay outputs.".to_owned(),
    );
}

/// The solar pump: the controller's output, then the store's second cut-out, then the pump.
pub fn solar(b: &mut Builder, s: &Solar) {
    let d = b.device(
        "K5",
        DeviceKind::SolarController,
        "solar controller",
        &s.controller,
        &[
            ("L", Role::Line, "supply"),
            ("N", Role::Neutral, "neutral"),
            ("E", Role::Earth, "earth"),
            ("OUT", Role::Switched, "line to the pump"),
        ],
    );
    d.watts = s.controller.watts.unwrap_or(electrical("watts.programmer").value);
    let w = b.free("W", &[42]);
    b.cable(&w, FLEX_5, 5, 0.75);
    b.join(&w, L, "K5:L", BN, "permanent line");
    b.join(&w, N, "K5:N", BU, "neutral");
    b.join(&w, E, "K5:E", GNYE, "earth");
    b.load("SK5", LoadRole::Supply, "solar controller", "K5:L", "K5:N");
    b.input("SOL", "K5", "solar", "solar controller", "pumps", "rests");
    b.contact("K5:L", "K5:OUT", Actuator::Output, on("SOL"), "while the panel is hotter");
    let out = b.new_way("solar pump");
    b.join(&w, "K5:OUT", &out, BK_BN, "solar pump");
    let feed = match &s.cut_out {
        Some(named) => {
            let w = b.free("W", &[43]);
            let safe = b.new_way("solar pump after cut-out");
            solar_cut_out(b, named);
            b.cable(&w, FLEX_4, 4, 0.75).heat_resistant = true;
            b.join(&w, &out, "F3:1", BN, "solar pump");
            b.join(&w, "F3:2", &safe, BK_BN, "solar pump after cut-out");
            b.join(&w, E, "F3:E", GNYE, "earth");
            safe
        }
        None => out,
    };
    pump_device(b, "G5", &s.pump, "solar pump", false);
    b.guard("PG5", if s.cut_out.is_some() { "F3" } else { "" });
    let w = b.free("W", &[44]);
    b.cable(&w, FLEX_3, 3, 0.75).heat_resistant = true;
    b.join(&w, &feed, "G5:L", BN, "solar pump");
    b.join(&w, N, "G5:N", BU, "neutral");
    b.join(&w, E, "G5:E", GNYE, "earth");
    b.wiring.notes.push(
        "Solar sensors run at extra-low voltage: keep them apart from the mains cables.".to_owned(),
    );
}

fn solar_cut_out(b: &mut Builder, named: &Named) {
    let d = b.device(
        "F3",
        DeviceKind::CutOut,
        "solar overheat cut-out",
        named,
        &[("1", Role::Switched, "in"), ("2", Role::Switched, "out"), ("E", Role::Earth, "earth")],
    );
    d.hot = true;
    b.input("CO3", "F3", "solar", "solar cut-out", "healthy", "tripped");
    if let Some(last) = b.wiring.inputs.last_mut() {
        last.cut_out = true;
    }
    let trips = degrees("opens at", named, "opens on overheat");
    b.contact("F3:1", "F3:2", Actuator::CutOut, on("CO3"), &format!("{trips}, hand reset"));
}

/// The pump that carries heat from a buffer to its zones.
pub fn space_pump(b: &mut Builder, s: &Scheme, call: &str) {
    if let Some(pump) = &s.space_pump {
        let g = b.free("G", &[4]);
        pump_device(b, &g, pump, "space heating pump", false);
        pump_cable(b, &g, &[7], call);
    }
}
