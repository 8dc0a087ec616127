//! Zones and thermostats.

use std::collections::BTreeSet;

use crate::catalogue::Closes;
use crate::check::report::{Verdicts, say};
use crate::check::rule::Rule;
use crate::check::{Context, Severity, Way};
use crate::model::PartIx;

pub const RULES: &[Rule] = &[
    Rule {
        id: "HTG22",
        severity: Severity::Advice,
        title: "source of heat and no heating",
        what: "A boiler or heat pump in a description without a zone: its radiators and floors are \
               neither drawn nor sized nor wired.",
        why: "Whoever forgot the zone takes the sheets for the whole system.",
        source: "common practice",
        mend: "say what it heats, `zone \"upstairs\" kw=6 radiators=5`; for hot water alone leave it so",
        run: no_zone,
    },
    Rule {
        id: "HTG06",
        severity: Severity::Warning,
        title: "large new dwelling with one heating circuit",
        what: "A new dwelling of 150 m2 or more with fewer than two independently controlled \
               heating circuits.",
        why: "One thermostat can't keep two floors right.",
        source: "Approved Document L Volume 1, 2021 edition",
        mend: "add a zone with its own valve and thermostat",
        run: one_circuit,
    },
    Rule {
        id: "HTG07",
        severity: Severity::Warning,
        title: "radiator thermostats in the thermostat's room",
        what: "Thermostatic radiator valves in the room in which the room thermostat hangs.",
        why: "The radiator valve closes before the room thermostat is satisfied, and the boiler \
              never stops.",
        source: "common practice",
        mend: "take the thermostatic heads off in that room, or move the room thermostat",
        run: two_thermostats,
    },
];

/// What lets water to an emitter by itself: its nearest motor valve or pump.
fn control_of(cx: &Context, emitter: PartIx) -> Option<PartIx> {
    let controls =
        |p: PartIx| cx.closes(p) == Closes::ByMotor || cx.is(p, "pump") || cx.is(p, "blending set");
    let stops = |p: PartIx| controls(p) || cx.system.part(p).kind.heats;
    let up = cx.walk_from(Way::Up, emitter, &["flow"], |p| !stops(p));
    up.parts.iter().copied().find(|p| controls(*p))
}

fn no_zone(cx: &Context, out: &mut Verdicts) {
    if !cx.emitters().is_empty() || cx.sources().is_empty() {
        return;
    }
    // A coil alone is fed: hot water is all that is drawn.
    let fed = cx.stores.iter().any(|s| s.coils.iter().any(|c| !c.sources.is_empty()));
    if fed {
        out.fail(
            say("no zone is described: no heating is drawn, only hot water")
                .on_all(cx, cx.sources()),
        );
    }
}

fn one_circuit(cx: &Context, out: &mut Verdicts) {
    let (area, circuits) = (cx.limit("HTG06.area"), cx.limit("HTG06.circuits"));
    let Some(floor) = cx.dwelling_number("floor-area") else { return };
    if !cx.dwelling_flag("new-dwelling") || floor.value < area.value || cx.emitters().is_empty() {
        return;
    }
    let emitters = cx.emitters();
    let own: BTreeSet<PartIx> = emitters.iter().filter_map(|e| control_of(cx, *e)).collect();
    let count = own.len().max(1) as f64;
    let s = say(format!("{} m2 with {count} independently controlled circuits", floor.value))
        .on_all(cx, emitters)
        .found(count, circuits.unit)
        .limit(&circuits)
        .margin(count - circuits.value);
    if count < circuits.value {
        out.fail(s.assumed(floor.assumed));
    } else {
        out.pass(s.assumed(floor.assumed));
    }
}

fn two_thermostats(cx: &Context, out: &mut Verdicts) {
    for thermostat in cx.of("room thermostat") {
        let Some(room) = cx.text(thermostat, "room").filter(|r| !r.is_empty()) else { continue };
        for emitter in cx.emitters() {
            let valves = cx.flag(emitter, "thermostatic-valves") == Some(true)
                || cx
                    .text(emitter, "thermostatic-valves")
                    .is_some_and(|t| !["", "none", "no", "all but one"].contains(&t));
            if cx.text(emitter, "room") == Some(room) && valves {
                out.fail(
                    say("radiator thermostats and the room thermostat share a room")
                        .on(cx, emitter)
                        .on(cx, thermostat)
                        .assumed(
                            cx.is_assumed(emitter, "thermostatic-valves")
                                || cx.is_assumed(thermostat, "room"),
                        ),
                );
            }
        }
    }
}
