//! The main: enough, not too much, not too hard.

use crate::check::context::CYLINDERS;
use crate::check::report::{Verdicts, say};
use crate::check::rule::Rule;
use crate::check::{Context, Severity, Way};

pub const MAIN: &[Rule] = &[
    Rule {
        id: "WAT09",
        severity: Severity::Warning,
        title: "main too weak for a mains-pressure store",
        what: "A main that gives less than 1.5 bar while it flows, or less than 20 litres a \
               minute.",
        why: "The store works, but two taps at once do not.",
        source: "common practice, makers' lowest supply",
        mend: "fit an accumulator or a boosted tank, or a vented store",
        run: weak,
    },
    Rule {
        id: "WAT10",
        severity: Severity::Warning,
        title: "main too strong for the fittings",
        what: "Standing pressure above 10 bar, or above what the reducing valve's inlet takes.",
        why: "Fittings before the reducing valve are rated for 10 bar.",
        source: "common practice",
        mend: "reduce the pressure at the entry first",
        run: strong,
    },
];

pub const SCALE: &[Rule] = &[Rule {
    id: "WAT12",
    severity: Severity::Advice,
    title: "hard water and nothing against scale",
    what: "Water harder than 200 ppm that reaches a store with neither softener nor scale \
           reducer.",
    why: "Scale on an element or coil costs heat and life.",
    source: "Approved Document L, guidance on scale control",
    mend: "add a softener or a scale reducer",
    run: scale,
}];

fn weak(cx: &Context, out: &mut Verdicts) {
    let (bar, flow) = (cx.limit("WAT09.pressure"), cx.limit("WAT09.flow"));
    let helped = !cx.of_any(&["accumulator", "booster pump", "break tank"]).is_empty();
    if helped {
        return;
    }
    for main in cx.of("water main") {
        for (key, limit, what) in [("dynamic", &bar, "while flowing"), ("at", &flow, "flow")] {
            let Some(found) = cx.number(main, key) else { continue };
            let s = say(format!(
                "main {} {} {what}, at least {} {}",
                found.value, limit.unit, limit.value, limit.unit
            ))
            .on(cx, main)
            .found(found.value, limit.unit)
            .limit(limit)
            .margin(found.value - limit.value)
            .at(&found.span);
            if found.value < limit.value {
                out.fail(s.assumed(found.assumed));
            } else {
                out.pass(s);
            }
        }
    }
}

fn strong(cx: &Context, out: &mut Verdicts) {
    let (fittings, inlet) = (cx.limit("WAT10.static"), cx.limit("WAT10.inlet"));
    for main in cx.of("water main") {
        let Some(found) = cx.number(main, "static") else { continue };
        let s = say(format!("main stands at {} bar, at most {} bar", found.value, fittings.value))
            .on(cx, main)
            .found(found.value, "bar")
            .limit(&fittings)
            .margin(fittings.value - found.value)
            .at(&found.span);
        if found.value > fittings.value {
            out.fail(s.assumed(found.assumed));
            continue;
        }
        out.pass(s);
        let down = cx.walk_from(Way::Down, main, &["out"], |p| {
            !cx.is_any(p, &["reducing valve", "break tank", "booster pump"])
        });
        for valve in down.parts.iter().copied().filter(|p| cx.is(*p, "reducing valve")) {
            let own = cx.number(valve, "max-inlet");
            let most = own.as_ref().map_or(inlet.value, |o| o.value);
            if found.value > most {
                out.fail(
                    say(format!(
                        "main stands at {} bar, the reducing valve takes {most} bar",
                        found.value
                    ))
                    .on(cx, valve)
                    .on(cx, main)
                    .found(found.value, "bar")
                    .limit(&inlet)
                    .against(most)
                    .margin(most - found.value)
                    .assumed(found.assumed || own.is_some_and(|o| o.assumed)),
                );
            }
        }
    }
}

fn scale(cx: &Context, out: &mut Verdicts) {
    let most = cx.limit("WAT12.hardness");
    for main in cx.of("water main") {
        let hardness = cx.number(main, "hardness").or_else(|| cx.dwelling_number("hardness"));
        let Some(hardness) = hardness else { continue };
        let treats = ["softener", "scale reducer"];
        let down = cx.walk_from(Way::Down, main, &["out"], |p| !cx.is_any(p, &treats));
        let reached = down.parts.iter().copied().find(|p| cx.is_any(*p, &CYLINDERS));
        // Round a softener leads its shut bypass.
        let treated = down.parts.iter().any(|p| cx.is_any(*p, &treats));
        if let Some(store) = reached.filter(|_| !treated) {
            let s =
                say(format!("hardness {} ppm, untreated up to {} ppm", hardness.value, most.value))
                    .on(cx, store)
                    .found(hardness.value, "ppm")
                    .limit(&most)
                    .margin(most.value - hardness.value)
                    .at(&hardness.span);
            if hardness.value > most.value {
                out.fail(s);
            } else {
                out.pass(s);
            }
        }
    }
}
