//! Each source of heat: its own cut-out, its kind, the total it may give.

use crate::check::context::Known;
use crate::check::report::{Verdicts, say};
use crate::check::rule::Rule;
use crate::check::store::{Coil, Store};
use crate::check::{Context, Severity};
use crate::model::PartIx;

pub const CUT_OUTS: &[Rule] = &[Rule {
    id: "SAF02",
    severity: Severity::Error,
    title: "heat source without its own overheat cut-out",
    what: "An immersion heater or a coil of an unvented store that no overheat cut-out guards, \
           or one whose cut-out resets itself.",
    why: "The cut-out is the second of three defences: it stops the heat that the thermostat \
          failed to stop. One cut-out can't stop two sources.",
    source: "Approved Document G, section 3, from memory",
    mend: "add a cut-out that is reset by hand to each source",
    run: cut_outs,
}];

pub const SIZE: &[Rule] = &[
    Rule {
        id: "SAF07",
        severity: Severity::Error,
        title: "uncontrolled source on an unvented store",
        what: "A solid-fuel or gravity source that feeds the coil of an unvented store.",
        why: "Its heat can't be stopped, so a cut-out has nothing to work on.",
        source: "Approved Document G, section 3, from memory",
        mend: "put a buffer or a thermal store between, designed by a specialist",
        run: uncontrolled,
    },
    Rule {
        id: "SAF08",
        severity: Severity::Warning,
        title: "store beyond the size of a unit or package",
        what: "A store over 500 litres or with more than 45 kW of heat, and no designer named.",
        why: "Such a system is designed for the job: somebody qualified answers for its safety \
              devices.",
        source: "Approved Document G, section 3, from memory",
        mend: "name the qualified designer in the job, or split the store",
        run: beyond_package,
    },
];

pub const SECOND_CUT_OUT: &[Rule] = &[Rule {
    id: "SAF14",
    severity: Severity::Error,
    title: "solar pump not stopped by a cut-out",
    what: "A solar coil in an unvented store with no cut-out of its own.",
    why: "On a bright day the panel heats on when the boiler's cut-out has long opened.",
    source: "Approved Document G, section 3, from memory",
    mend: "add a second cut-out and wire the solar pump through it",
    run: solar_cut_out,
}];

pub const LABEL: &[Rule] = &[Rule {
    id: "SAF15",
    severity: Severity::Advice,
    title: "no warning label by the store",
    what: "An unvented store drawn without the label sheet that says what must not be removed.",
    why: "The next person may not know that the store is unvented.",
    source: "BS EN 12897 marking, from memory",
    mend: "print the label sheet and fix it by the cylinder",
    run: label,
}];

/// The sources that a cut-out says it guards: tags, names or plain words.
fn guards<'c>(cx: &'c Context, cut_out: PartIx) -> Option<&'c str> {
    cx.text(cut_out, "guards").filter(|g| !g.trim().is_empty())
}

fn guards_solar(cx: &Context, cut_out: PartIx) -> bool {
    guards(cx, cut_out).is_some_and(|g| g.to_lowercase().contains("solar"))
}

fn guards_part(cx: &Context, cut_out: PartIx, part: PartIx) -> bool {
    let p = cx.system.part(part);
    cx.system.part(cut_out).on == Some(part)
        || guards(cx, cut_out)
            .is_some_and(|g| g.split([',', ' ']).any(|w| w == p.tag) || g == p.name)
}

/// The cut-outs that act on a coil: those on the cylinder that guard no element and not the other
/// coil.
fn of_coil(cx: &Context, store: &Store, coil: &Coil) -> Vec<PartIx> {
    let of_element = |c: PartIx| store.immersions.iter().any(|i| guards_part(cx, c, *i));
    let on_store = store.cut_outs.iter().copied().filter(|c| !of_element(*c));
    on_store.filter(|c| guards_solar(cx, *c) == coil.solar).collect()
}

fn resets_itself(cx: &Context, cut_out: PartIx) -> bool {
    cx.text(cut_out, "reset").is_some_and(|r| r.contains("auto") || r.contains("self"))
}

fn fed(coil: &Coil) -> bool {
    !coil.sources.is_empty()
}

fn cut_outs(cx: &Context, out: &mut Verdicts) {
    for store in cx.stores.iter().filter(|s| s.needs_safety(cx)) {
        for heater in &store.immersions {
            let own: Vec<PartIx> =
                store.cut_outs.iter().copied().filter(|c| guards_part(cx, *c, *heater)).collect();
            judge(cx, out, *heater, &own, cx.declares(*heater, "own cut-out"), "immersion heater");
        }
        for coil in store.coils.iter().filter(|c| !c.solar && fed(c)) {
            judge(cx, out, store.cylinder, &of_coil(cx, store, coil), false, "coil");
        }
    }
}

fn judge(
    cx: &Context,
    out: &mut Verdicts,
    culprit: PartIx,
    own: &[PartIx],
    declared: bool,
    what: &str,
) {
    if let Some(bad) = own.iter().find(|c| resets_itself(cx, **c)) {
        let title = format!("the {what}'s cut-out resets itself");
        out.fail(say(title).on(cx, *bad).on(cx, culprit).mend("fit one that is reset by hand"));
    } else if !own.is_empty() || declared {
        let title = format!("the {what} has its own cut-out");
        out.pass(say(title).on(cx, culprit).on_all(cx, own.iter().copied()));
    } else {
        out.fail(say(format!("no overheat cut-out on the {what}")).on(cx, culprit));
    }
}

fn uncontrolled(cx: &Context, out: &mut Verdicts) {
    for store in &cx.stores {
        for coil in &store.coils {
            for source in coil.sources.iter().filter(|s| cx.is(**s, "uncontrolled source")) {
                out.fail(
                    say("a source that can't be shut off feeds an unvented store")
                        .on(cx, *source)
                        .on(cx, store.cylinder),
                );
            }
        }
    }
}

/// Heat into a store, kW: its elements, and each coil's rating or else its source's power.
fn power(cx: &Context, store: &Store) -> Known {
    let mut sum = Known { value: 0.0, assumed: false, span: 0..0 };
    let mut add = |k: Option<Known>| {
        if let Some(k) = k {
            sum.value += k.value;
            sum.assumed |= k.assumed;
        }
    };
    for heater in &store.immersions {
        add(cx.number(*heater, "kw"));
    }
    for coil in store.coils.iter().filter(|c| fed(c)) {
        let rating = if coil.solar { "solar-coil-kw" } else { "coil-kw" };
        let source = || coil.sources.first().and_then(|s| cx.number(*s, "kw"));
        add(cx.number(store.cylinder, rating).or_else(source));
    }
    sum
}

fn beyond_package(cx: &Context, out: &mut Verdicts) {
    let (most_litres, most_kw) = (cx.limit("SAF08.volume"), cx.limit("SAF08.power"));
    let named = cx.system.job.fields.get("designer").is_some_and(|d| !d.trim().is_empty());
    for store in &cx.stores {
        let kw = power(cx, store);
        let litres = store.litres(cx);
        let large = litres.as_ref().is_some_and(|l| l.value > most_litres.value);
        let (found, limit) = match &litres {
            Some(l) if large || kw.value <= most_kw.value => (l.clone(), &most_litres),
            _ => (kw, &most_kw),
        };
        let over = found.value > limit.value;
        let verdict = say(format!(
            "store of {} {}, a unit or package ends at {} {}",
            round(found.value),
            limit.unit,
            limit.value,
            limit.unit
        ))
        .on(cx, store.cylinder)
        .found(found.value, limit.unit)
        .limit(limit)
        .margin(limit.value - found.value);
        match (over, named) {
            (true, false) => out.fail(verdict.assumed(found.assumed).at(&found.span)),
            _ => out.pass(verdict.assumed(found.assumed)),
        }
    }
}

fn round(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}

fn solar_cut_out(cx: &Context, out: &mut Verdicts) {
    for store in cx.stores.iter().filter(|s| s.needs_safety(cx)) {
        for coil in store.coils.iter().filter(|c| c.solar && fed(c)) {
            let own = of_coil(cx, store, coil);
            if own.is_empty() {
                out.fail(
                    say("no cut-out stops the solar pump")
                        .on(cx, store.cylinder)
                        .on_all(cx, coil.sources.iter().copied()),
                );
            } else {
                out.pass(say("the solar coil has its own cut-out").on(cx, store.cylinder));
            }
        }
    }
}

fn label(cx: &Context, out: &mut Verdicts) {
    let Some(drawing) = cx.drawing else { return };
    for store in cx.stores.iter().filter(|s| s.needs_safety(cx)) {
        if drawing.labels {
            out.pass(say("the label sheet goes with the store").on(cx, store.cylinder));
        } else {
            out.fail(say("no label sheet for the store").on(cx, store.cylinder));
        }
    }
}
