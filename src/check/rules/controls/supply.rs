//! Fuses, circuits of their own, and who has to be told.

use crate::check::report::{Verdicts, say};
use crate::check::rule::Rule;
use crate::check::{Context, Severity};
use crate::wire::netlist::{DeviceKind, LoadRole, Supply};

pub const FUSES: &[Rule] = &[
    Rule {
        id: "CTL05",
        severity: Severity::Error,
        title: "heating controls on the wrong fuse",
        what: "Heating controls on a fuse above 3 A, or on one that the loads exceed.",
        why: "Thin valve leads are protected by no larger fuse.",
        source: "common practice, makers' instructions",
        mend: "fit a 3 A fuse",
        run: controls_fuse,
    },
    Rule {
        id: "CTL06",
        severity: Severity::Error,
        title: "immersion heater not on its own circuit",
        what: "An immersion heater without a circuit of its own, or without a double-pole switch.",
        why: "Thirteen amperes for hours overheat a shared socket circuit.",
        source: "common practice; BS 7671, from memory",
        mend: "run a 16 A circuit with a 20 A double-pole switch",
        run: immersion,
    },
];

pub const NOTICE: &[Rule] = &[Rule {
    id: "CTL14",
    severity: Severity::Advice,
    title: "new circuit, to be notified",
    what: "The work puts in a new circuit.",
    why: "A new circuit in a dwelling is notifiable; a registered electrician certifies it.",
    source: "Building Regulations 2010, Part P, from memory",
    mend: "have a registered electrician certify it, or notify building control",
    run: new_circuit,
}];

fn feeds_immersion(cx: &Context, supply: &Supply) -> bool {
    let Some(wiring) = cx.wiring else { return false };
    supply.name.contains("immersion")
        || wiring
            .loads
            .iter()
            .any(|l| l.role == LoadRole::Element && supply.name.contains(l.words.as_str()))
}

fn controls_fuse(cx: &Context, out: &mut Verdicts) {
    let Some(wiring) = cx.wiring else { return };
    let most = cx.limit("CTL05.fuse");
    for supply in wiring.supplies.iter().filter(|s| !s.inside && !feeds_immersion(cx, s)) {
        let s =
            say(format!("{} on a {} A fuse, at most {} A", supply.name, supply.fuse, most.value))
                .on_tag(wiring.tag_of(&supply.isolator))
                .found(supply.fuse, "A")
                .limit(&most)
                .margin(most.value - supply.fuse);
        if supply.fuse > most.value {
            out.fail(s);
        } else {
            out.pass(s);
        }
    }
    for fault in cx.wire_faults().iter().filter(|f| f.rule == "S15") {
        let tags = fault.parts.iter().map(|p| wiring.tag_of(crate::wire::netlist::device_of(p)));
        let what = say(fault.what.clone()).severity(fault.severity);
        out.fail(tags.fold(what, |s, t| s.on_tag(t)));
    }
}

fn immersion(cx: &Context, out: &mut Verdicts) {
    let Some(wiring) = cx.wiring else { return };
    let (circuit, switch) = (cx.limit("CTL06.circuit"), cx.limit("CTL06.switch"));
    for supply in wiring.supplies.iter().filter(|s| !s.inside && feeds_immersion(cx, s)) {
        let double_pole = wiring.device(&supply.isolator).is_some_and(|d| {
            matches!(d.kind, DeviceKind::DoublePoleSwitch | DeviceKind::ChangeoverSwitch)
        });
        let s = |title: String| {
            say(title)
                .on_tag(wiring.tag_of(&supply.isolator))
                .found(supply.fuse, "A")
                .limit(&circuit)
        };
        if !supply.new_circuit {
            out.fail(s(format!("{} shares a circuit", supply.name)));
        } else if !double_pole {
            let title = format!("{} has no {} A double-pole switch", supply.name, switch.value);
            out.fail(s(title));
        } else {
            out.pass(s(format!("{} on its own {} A circuit", supply.name, supply.fuse)));
        }
    }
}

fn new_circuit(cx: &Context, out: &mut Verdicts) {
    let Some(wiring) = cx.wiring else { return };
    let new = wiring.supplies.iter().filter(|s| s.new_circuit && !s.inside);
    let tags: Vec<&str> = new.map(|s| wiring.tag_of(&s.isolator)).collect();
    if !tags.is_empty() && !wiring.pipework.like_for_like {
        let start = say("a new circuit is notifiable work");
        out.fail(tags.into_iter().fold(start, |s, t| s.on_tag(t)));
    }
}
