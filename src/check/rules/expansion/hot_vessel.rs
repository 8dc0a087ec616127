//! The hot-water vessel: there, open to the store, on the right side, rightly charged.

use crate::check::report::{Verdicts, say};
use crate::check::rule::Rule;
use crate::check::store::Store;
use crate::check::{Context, Severity};
use crate::model::PartIx;

pub const PROVISION: &[Rule] = &[
    Rule {
        id: "EXP01",
        severity: Severity::Error,
        title: "store with nowhere to expand",
        what: "An unvented store with neither an expansion vessel nor a declared air gap inside.",
        why: "210 litres grow by 3.5 litres from 10 to 60 °C; with no room the relief valve opens \
              at every heat-up.",
        source: "Approved Document G, section 3, from memory",
        mend: "add an expansion vessel between check valve and cylinder",
        run: no_provision,
    },
    Rule {
        id: "EXP02",
        severity: Severity::Error,
        title: "valve on the expansion pipe",
        what: "A valve that can be shut between the store and its expansion vessel.",
        why: "Closed by mistake it takes the vessel away; the expansion relief then weeps at \
              every heat-up.",
        source: "common practice; BS 6700, from memory",
        mend: "take it out; a lockable valve with a label only where the maker allows it",
        run: isolated,
    },
];

pub const CHARGE: &[Rule] = &[
    Rule {
        id: "EXP04",
        severity: Severity::Warning,
        title: "vessel charge unlike the reducing valve",
        what: "The vessel's dry charge differs from the reducing valve's setting by more than \
               0.2 bar.",
        why: "Charged too low it is half full of cold water; too high, it takes nothing until the \
              pressure has risen.",
        source: "common practice, vessel makers",
        mend: "set the charge, with the cold side drained, to the reducing valve's setting",
        run: charge,
    },
    Rule {
        id: "EXP05",
        severity: Severity::Error,
        title: "vessel on the wrong side of the check valve",
        what: "The hot-water vessel stands upstream of the check valve or of the reducing valve.",
        why: "The expanding water can't reach it.",
        source: "common practice",
        mend: "move the vessel between check valve and cylinder",
        run: wrong_side,
    },
];

pub const FIXING: &[Rule] = &[Rule {
    id: "EXP07",
    severity: Severity::Warning,
    title: "vessel's bracket not made for its weight",
    what: "A vessel over 15 kg when full, fixed to a stud or plasterboard wall with no noggin \
           stated.",
    why: "A vessel whose membrane has failed fills right up and tears out of the board.",
    source: "common practice",
    mend: "put a noggin behind the board, or stand the vessel on the floor",
    run: fixing,
}];

pub const REDUNDANT: &[Rule] = &[Rule {
    id: "EXP10",
    severity: Severity::Advice,
    title: "vessel beside an air gap",
    what: "A cylinder with an air gap inside and an external expansion vessel as well.",
    why: "One of the two does nothing; whoever services it will ask which.",
    source: "common practice",
    mend: "leave the vessel out, or say why it is there",
    run: redundant,
}];

/// Vessels on the way to the main, wherever they stand.
fn vessels_anywhere(cx: &Context, store: &Store) -> Vec<PartIx> {
    let all = store.cold_supply.parts.iter().copied();
    all.filter(|p| cx.is(*p, "hot-water vessel")).collect()
}

fn no_provision(cx: &Context, out: &mut Verdicts) {
    for store in cx.stores.iter().filter(|s| s.needs_safety(cx)) {
        if store.air_gap(cx) {
            out.pass(say("the store expands into an air gap inside").on(cx, store.cylinder));
            continue;
        }
        let vessel = vessels_anywhere(cx, store)
            .first()
            .copied()
            .or_else(|| store.cold_side.parts.iter().copied().find(|p| cx.is(*p, "accumulator")));
        match vessel {
            Some(vessel) => out.pass(
                say("an expansion vessel serves the store").on(cx, store.cylinder).on(cx, vessel),
            ),
            None => out.fail(say("no expansion vessel and no air gap").on(cx, store.cylinder)),
        }
    }
}

/// A lockable valve that carries a label and that the maker allows.
fn allowed(cx: &Context, valve: PartIx) -> bool {
    cx.is(valve, "lockable valve")
        && cx.declares(valve, "maker allows on expansion pipe")
        && cx.text(valve, "label").is_some_and(|l| !l.trim().is_empty())
}

fn isolated(cx: &Context, out: &mut Verdicts) {
    for store in cx.stores.iter().filter(|s| s.needs_safety(cx) && !s.air_gap(cx)) {
        for vessel in store.vessels(cx) {
            let shutters: Vec<PartIx> =
                store.cold_side.between(vessel).into_iter().filter(|p| cx.can_shut(*p)).collect();
            if shutters.is_empty() {
                out.pass(say("nothing can shut the vessel out").on(cx, vessel));
            }
            for valve in shutters {
                let s = say("a valve can shut the vessel out")
                    .on(cx, valve)
                    .on(cx, vessel)
                    .on(cx, store.cylinder);
                if allowed(cx, valve) {
                    out.pass(
                        say("lockable valve at the vessel, allowed and labelled").on(cx, valve),
                    );
                } else if cx.is(valve, "lockable valve") {
                    out.fail(
                        s.mend("take it out, or declare that the maker allows it and label it"),
                    );
                } else {
                    out.fail(s);
                }
            }
        }
    }
}

fn charge(cx: &Context, out: &mut Verdicts) {
    let most = cx.limit("EXP04.charge");
    for store in &cx.stores {
        let Some(reducer) = store.reducing_valve(cx) else { continue };
        let Some(set) = cx.number_or_unit(reducer, "setting") else { continue };
        for vessel in store.vessels(cx) {
            let Some(charge) = cx.number(vessel, "charge") else { continue };
            let off = (charge.value - set.value).abs();
            let s = say(format!(
                "vessel charged to {} bar, reducing valve {} bar",
                charge.value, set.value
            ))
            .on(cx, vessel)
            .on(cx, reducer)
            .found(off, "bar")
            .limit(&most)
            .margin(most.value - off)
            .at(&charge.span);
            if off > most.value + 1e-9 {
                out.fail(s.assumed(charge.assumed || set.assumed));
            } else {
                out.pass(s.assumed(charge.assumed || set.assumed));
            }
        }
    }
}

fn wrong_side(cx: &Context, out: &mut Verdicts) {
    for store in cx.stores.iter().filter(|s| s.needs_safety(cx) && !s.air_gap(cx)) {
        if !store.vessels(cx).is_empty() {
            continue;
        }
        for vessel in vessels_anywhere(cx, store) {
            let bars = store.cold_supply.between(vessel);
            let bar = bars.into_iter().find(|p| cx.is_check(*p) || cx.is(*p, "reducing valve"));
            out.fail(
                say("the vessel stands where the expansion can't reach it")
                    .on(cx, vessel)
                    .on_all(cx, bar)
                    .on(cx, store.cylinder),
            );
        }
    }
}

fn fixing(cx: &Context, out: &mut Verdicts) {
    let most = cx.limit("EXP07.mass");
    let Some(cupboard) = &cx.system.site.cupboard else { return };
    for vessel in cx.of_any(&["hot-water vessel", "heating vessel", "solar vessel"]) {
        let part = cx.system.part(vessel);
        let side = part.place.side.as_ref().map(|s| s.value);
        let side = side.or_else(|| cx.solid(vessel).map(|s| s.fixed_to));
        let Some(wall) = cupboard.walls.iter().find(|w| Some(w.side) == side) else { continue };
        let hollow = wall
            .attrs
            .text("material")
            .is_some_and(|m| ["stud", "plasterboard", "drywall"].iter().any(|h| m.contains(h)));
        let noggin = crate::check::context::flag_of(&wall.attrs, "noggin") == Some(true);
        let Some(litres) = cx.number(vessel, "litres") else { continue };
        // Full of water, its own steel about a fifth more (common practice).
        let mass = litres.value * 1.2;
        let s = say(format!("{mass:.0} kg when full, on a stud wall without a noggin"))
            .on(cx, vessel)
            .found(mass, "kg")
            .limit(&most)
            .margin(most.value - mass);
        if hollow && !noggin && mass > most.value {
            out.fail(s.assumed(litres.assumed));
        }
    }
}

fn redundant(cx: &Context, out: &mut Verdicts) {
    for store in cx.stores.iter().filter(|s| s.air_gap(cx)) {
        for vessel in store.vessels(cx) {
            out.fail(
                say("an external vessel on a store with an air gap inside")
                    .on(cx, vessel)
                    .on(cx, store.cylinder),
            );
        }
    }
}
