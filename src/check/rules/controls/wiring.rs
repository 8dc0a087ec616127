//! What the netlist's own rules and proofs find, under the catalogue's codes.

use crate::check::report::{Verdicts, say};
use crate::check::rule::Rule;
use crate::check::{Context, Severity};
use crate::wire::netlist::LoadRole;
use crate::wire::{WireFault, Wiring};

pub const INTERLOCKS: &[Rule] = &[
    Rule {
        id: "CTL01",
        severity: Severity::Error,
        title: "open cut-out that leaves the heat on",
        what: "A cylinder's motor valve, element or pump that can be live while its cut-out is \
               open, found by trying every combination of demands.",
        why: "It is the electrical half of the cut-out: a valve wired round it protects nothing.",
        source: "Approved Document G, section 3, from memory",
        mend: "wire thermostat, cut-out and valve motor in one chain",
        run: cut_out,
    },
    Rule {
        id: "CTL02",
        severity: Severity::Error,
        title: "motor valve's switch wired to the wrong point",
        what: "The grey core of a motor valve not on the permanent line, or the orange one not on \
               the call.",
        why: "The boiler is never called, or is fed backwards through another zone.",
        source: "common practice, makers' instructions",
        mend: "take grey to the permanent line and orange to the common call",
        run: valve_switch,
    },
    Rule {
        id: "CTL03",
        severity: Severity::Error,
        title: "boiler or pump that runs with no valve open",
        what: "A boiler, heat pump or pump that can be called while no zone valve is open.",
        why: "It heats nothing but its own pipework all night.",
        source: "Approved Document L Volume 1, boiler interlock",
        mend: "call the boiler only through the valves' switches",
        run: interlock,
    },
    Rule {
        id: "CTL04",
        severity: Severity::Error,
        title: "more than one point of isolation",
        what: "Two supplies that meet in one system, or a supply that no double-pole switch \
               isolates.",
        why: "Whoever switches one off is shocked by the other.",
        source: "BS 7671, from memory",
        mend: "feed all heating controls from one fused connection unit",
        run: isolation,
    },
];

pub const BOILER: &[Rule] = &[
    Rule {
        id: "CTL07",
        severity: Severity::Error,
        title: "mains into a contact that must stay free of it",
        what: "A way from 230 V to a volt-free or extra-low-voltage terminal.",
        why: "It burns the boiler's board and puts mains on a thermostat lead.",
        source: "common practice, makers' instructions",
        mend: "put a relay between",
        run: volt_free,
    },
    Rule {
        id: "CTL08",
        severity: Severity::Warning,
        title: "pump not driven, or overrun without its live or its way",
        what: "A pump that nothing runs, or that rests while a valve behind it is open; a \
               combination or overrun boiler without a permanent live, one whose pump is not fed \
               from it or runs on against shut valves; a frost thermostat that opens no valve.",
        why: "Water that nothing moves heats nothing, and the boiler locks out on its own heat.",
        source: "common practice, makers' instructions",
        mend: "wire each pump to the calls of the users it serves; bring a permanent live and feed an \
               overrun boiler's pump from the boiler; add a bypass",
        run: overrun,
    },
    Rule {
        id: "CTL09",
        severity: Severity::Error,
        title: "core of the wrong colour",
        what: "Green-and-yellow used as anything but earth, or a line or neutral whose core is \
               neither of that colour nor oversleeved.",
        why: "The next electrician trusts the colour.",
        source: "BS 7671, from memory",
        mend: "use a cable with enough cores, or sleeve the core",
        run: colours,
    },
    Rule {
        id: "CTL10",
        severity: Severity::Warning,
        title: "metal without an earth",
        what: "A metal valve, pump, boiler or cylinder with no protective conductor back to the \
               supply.",
        why: "A fault makes the metal live.",
        source: "BS 7671, from memory",
        mend: "bring an earth to it",
        run: earths,
    },
];

pub const NEUTRAL: &[Rule] = &[Rule {
    id: "CTL15",
    severity: Severity::Warning,
    title: "neutral that is broken or borrowed",
    what: "A load whose neutral does not come straight back to its own supply, or a switch in a \
           neutral.",
    why: "Borrowed neutrals stay live when the circuit is off, and nobody finds the fault.",
    source: "BS 7671, from memory; common practice",
    mend: "bring every neutral to one rail",
    run: neutrals,
}];

/// As [`faults`], for what rests on the heating's controls: a source outside these rules is called
/// and stopped in its own way.
fn of_controls(cx: &Context, out: &mut Verdicts, numbers: &[&str], holds: &str) {
    if !cx.heating_outside() {
        faults(cx, out, numbers, holds);
    }
}

/// Speaks of each of the netlist's faults under these numbers; passes where there is none.
fn faults(cx: &Context, out: &mut Verdicts, numbers: &[&str], holds: &str) {
    let Some(wiring) = cx.wiring else { return };
    let mut sound = true;
    for fault in cx.wire_faults().iter().filter(|f| numbers.contains(&f.rule)) {
        sound = false;
        let tags = fault.parts.iter().map(|p| wiring.tag_of(device(wiring, p)));
        let mut s = tags.fold(say(as_tagged(wiring, &fault.what)), |s, t| s.on_tag(t));
        if let Some(mend) = mend(wiring, fault) {
            s = s.mend(mend);
        }
        out.fail(s);
    }
    if sound && !wiring.devices.is_empty() {
        out.pass(say(holds));
    }
}

/// The device that a load, a terminal or a designation belongs to.
fn device<'w>(wiring: &'w Wiring, part: &'w str) -> &'w str {
    match wiring.load(part) {
        Some(load) => &load.device,
        None => crate::wire::netlist::device_of(part),
    }
}

/// A sentence with the tag of the other sheets beside each designation of the wiring sheet.
fn as_tagged(wiring: &Wiring, what: &str) -> String {
    let word = |w: &str| {
        let id = w.trim_end_matches([',', ':', ';', '.']);
        match wiring.device(id).and_then(|d| d.tag.as_deref()).filter(|tag| *tag != id) {
            Some(tag) => format!("{tag} ({id} of the wiring sheet){}", &w[id.len()..]),
            None => w.to_owned(),
        }
    };
    what.split(' ').map(word).collect::<Vec<_>>().join(" ")
}

/// What mends a fault of the cut-outs: an element has no valve, a three-port valve is none that
/// shuts.
fn mend(wiring: &Wiring, fault: &WireFault) -> Option<&'static str> {
    let element = |p: &String| wiring.load(p).is_some_and(|l| l.role == LoadRole::Element);
    match fault.rule {
        "S16" if fault.parts.iter().any(element) => {
            Some("fit an immersion heater with a cut-out that is reset by hand, in its own circuit")
        }
        "S16" | "S17" => {
            Some("add a spring-return two-port valve on the coil's flow, wired through the cut-out")
        }
        _ => None,
    }
}

fn cut_out(cx: &Context, out: &mut Verdicts) {
    of_controls(cx, out, &["S4", "S6", "S16", "S17"], "an open cut-out stops every way of heat");
}

fn valve_switch(cx: &Context, out: &mut Verdicts) {
    of_controls(cx, out, &["S11"], "the valves' switches are on the right points");
}

fn interlock(cx: &Context, out: &mut Verdicts) {
    of_controls(cx, out, &["S5", "S21"], "nothing runs with every valve shut");
}

fn isolation(cx: &Context, out: &mut Verdicts) {
    faults(cx, out, &["S7", "S13", "S20"], "each supply has its one switch");
}

fn volt_free(cx: &Context, out: &mut Verdicts) {
    faults(cx, out, &["S8"], "no mains on a contact that must stay free of it");
}

fn overrun(cx: &Context, out: &mut Verdicts) {
    let own = cx.wiring.map(|w| w.pipework.pumps.iter().filter(|p| p.own)).into_iter().flatten();
    let own: Vec<&str> = own.map(|p| p.tag.as_str()).collect();
    let mut holds = "every pump runs while its valves are open; overrun and frost protection have \
                     their way"
        .to_owned();
    if !own.is_empty() {
        holds += &format!(
            "; {} is driven by the heat pump's own control and joined to its terminals, to the \
             maker's instructions",
            own.join(", ")
        );
    }
    of_controls(cx, out, &["S12", "S18", "S19", "S22", "S23"], &holds);
}

fn colours(cx: &Context, out: &mut Verdicts) {
    faults(cx, out, &["S10"], "every core has its colour");
}

fn earths(cx: &Context, out: &mut Verdicts) {
    faults(cx, out, &["S2"], "all exposed metal is earthed");
}

fn neutrals(cx: &Context, out: &mut Verdicts) {
    faults(cx, out, &["S1", "S3"], "every neutral comes back to its supply");
}
