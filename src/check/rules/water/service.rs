//! What the next engineer needs: drains, stop valves, strainers.

use crate::catalogue::Closes;
use crate::check::context::OUTLETS;
use crate::check::report::{Verdicts, say};
use crate::check::rule::Rule;
use crate::check::{Context, Severity, Way};
use crate::model::PartIx;
use crate::model::dwelling::dwellings;
use crate::model::stopping::{stops_all, stored_behind};

pub const DRAIN: &[Rule] = &[Rule {
    id: "WAT08",
    severity: Severity::Warning,
    title: "store that can't be shut off or drained",
    what: "A store with no drain cock that its cold port runs to freely, or one that hangs above that \
           port; no valve to shut before the store; an outlet that no stop valve of its dwelling stops.",
    why: "Nobody can change an element without flooding the cupboard, or a tap washer without \
          shutting off the neighbours.",
    source: "Water Supply (Water Fittings) Regulations 1999, Schedule 2 paragraph 11, from memory",
    mend: "add a drain cock at the lowest port and a stop valve before the group",
    run: drain,
}];

pub const STRAINER: &[Rule] = &[Rule {
    id: "WAT11",
    severity: Severity::Warning,
    title: "no strainer before the reducing valve",
    what: "A reducing valve with no strainer upstream and none in its group.",
    why: "Grit under the seat lets the pressure creep up until the relief valve drips.",
    source: "common practice",
    mend: "add a strainer before the reducing valve",
    run: strainer,
}];

pub const SERVICE_VALVES: &[Rule] = &[Rule {
    id: "WAT17",
    severity: Severity::Warning,
    title: "no service valve on a float or blending valve",
    what: "A tank's float valve or a blending valve that can't be shut off by itself.",
    why: "It has to be serviced each year without shutting off the house.",
    source: "Water Supply (Water Fittings) Regulations 1999, Schedule 2 paragraphs 11 and 16, \
             from memory",
    mend: "add a service valve on each inlet",
    run: service_valves,
}];

/// What a pipe's own bore leaves behind is not counted, mm (common practice).
const LEVEL: f64 = 25.0;

/// The drain cock that hangs lowest, with its height, of those that the cupboard shows; none where
/// one of them is elsewhere.
pub fn lowest(cx: &Context, cocks: &[PartIx]) -> Option<(PartIx, f64)> {
    let at = |c: &PartIx| Some((*c, cx.port_place(cx.port(*c, "in")?)?.z));
    let all: Option<Vec<(PartIx, f64)>> = cocks.iter().map(at).collect();
    all?.into_iter().min_by(|a, b| a.1.total_cmp(&b.1))
}

fn drain(cx: &Context, out: &mut Verdicts) {
    stopped(cx, out);
    for store in cx.stores.iter().filter(|s| s.needs_safety(cx)) {
        if cx.pipe_on(store.cylinder, "cold").is_none() {
            continue;
        }
        // What closes or checks on the way would keep the water in the store.
        let free = cx.walk_from(Way::Any, store.cylinder, &["cold"], |p| cx.is_open(p));
        let cocks: Vec<PartIx> =
            free.parts.iter().copied().filter(|p| cx.is(*p, "drain cock")).collect();
        let drained = !cocks.is_empty();
        let cold = cx.port(store.cylinder, "cold").and_then(|port| cx.port_place(port));
        let low = lowest(cx, &cocks);
        let shuts = |p: &PartIx| cx.closes(*p) == Closes::ByHand && !cx.is(*p, "drain cock");
        let valve = store.cold_supply.parts.iter().copied().find(shuts);
        if !drained {
            out.fail(say("no drain cock on the store's cold feed").on(cx, store.cylinder));
        }
        if valve.is_none() {
            out.fail(say("no valve to shut before the store").on(cx, store.cylinder));
        }
        if let (Some((cock, at)), Some(cold)) = (low, cold)
            && at > cold.z + LEVEL
        {
            let over = "the drain cock hangs above the store's cold port: the store stays full";
            out.fail(say(over).on(cx, cock).on(cx, store.cylinder).found(at, "mm").against(cold.z));
            continue;
        }
        if let Some(valve) = valve.filter(|_| drained) {
            out.pass(
                say("the store can be shut off and drained").on(cx, store.cylinder).on(cx, valve),
            );
        }
    }
}

/// Every outlet stands behind a stop valve of its own dwelling.
fn stopped(cx: &Context, out: &mut Verdicts) {
    let flats = dwellings(cx.system);
    let of = |p: PartIx| flats.iter().position(|(_, parts)| parts.contains(&p));
    // Where there are flats, the building's own valve stops the neighbours too.
    let stops = |p: PartIx| cx.is(p, "stop valve") && (flats.is_empty() || of(p).is_some());
    let mut runs: Vec<PartIx> = Vec::new();
    for main in cx.of("water main") {
        let down = cx.walk_from(Way::Down, main, &["out"], |p| !stops(p));
        runs.extend(down.parts.iter().copied().filter(|p| cx.is_any(*p, &OUTLETS)));
    }
    let held: Vec<PartIx> =
        cx.of("stop valve").into_iter().flat_map(|v| stored_behind(cx.system, v)).collect();
    if !runs.is_empty() {
        out.fail(say("no stop valve of its dwelling stops it").on_all(cx, runs));
    } else if !cx.of("water main").is_empty() && cx.of("stop valve").iter().any(|p| stops(*p)) {
        // What is stored runs on when the street's water is stopped.
        let home = flats.first().map(|(scope, _)| scope.as_str());
        let all = stops_all(cx.system, home);
        if held.is_empty() {
            out.pass(say("a stop valve stops every tap of its dwelling"));
        } else if all.is_empty() {
            out.fail(say("no valve stops the water that is stored").on_all(cx, held));
        } else {
            out.pass(say("every tap can be stopped, the stored water too").on_all(cx, all));
        }
    }
}

fn strainer(cx: &Context, out: &mut Verdicts) {
    for valve in cx.of("reducing valve") {
        let up = cx.walk_from(Way::Up, valve, &["in"], |p| !cx.is(p, "reducing valve"));
        let strainer = up.parts.iter().copied().find(|p| cx.is(*p, "strainer"));
        let second = up.parts.iter().any(|p| cx.is(*p, "reducing valve"));
        match strainer {
            Some(strainer) => {
                out.pass(say("strainer before the reducing valve").on(cx, strainer).on(cx, valve));
            }
            // Behind another reducing valve, or in a group whose strainer is part of the valve.
            None if second || cx.factory(valve) => {}
            None => out.fail(say("no strainer before the reducing valve").on(cx, valve)),
        }
    }
}

/// True where a hand valve is met on the way to a port before the pipe divides.
fn has_own_valve(cx: &Context, part: PartIx, port: &str) -> bool {
    let divides = |p: PartIx| cx.system.part(p).kind.ports.len() > 2;
    let up =
        cx.walk_from(Way::Up, part, &[port], |p| !divides(p) && cx.closes(p) != Closes::ByHand);
    up.parts.iter().any(|p| cx.closes(*p) == Closes::ByHand)
}

fn service_valves(cx: &Context, out: &mut Verdicts) {
    let inlets: Vec<(PartIx, &[&str])> = cx
        .of_any(&["break tank", "blending valve"])
        .into_iter()
        .map(|p| {
            let ports: &[&str] = if cx.is(p, "break tank") { &["in"] } else { &["hot", "cold"] };
            (p, ports)
        })
        .collect();
    for (part, ports) in inlets {
        let joined = ports.iter().filter(|p| cx.pipe_on(part, p).is_some());
        let bare: Vec<&str> = joined.copied().filter(|p| !has_own_valve(cx, part, p)).collect();
        // Blending valves of type 2 and 3 carry strainer and isolator in their inlets (from memory).
        let typed = cx.is(part, "blending valve")
            && cx.text(part, "type").is_some_and(|t| t.contains('2') || t.contains('3'));
        if cx.factory(part) || typed {
            continue;
        }
        if bare.is_empty() {
            out.pass(say("each inlet has its service valve").on(cx, part));
        } else {
            out.fail(
                say(format!("no service valve on its {} inlet", bare.join(" and "))).on(cx, part),
            );
        }
    }
}
