//! The main: enough, not too much, not too hard.

use crate::check::context::{CYLINDERS, Known};
use crate::check::report::{Verdicts, say};
use crate::check::rule::Rule;
use crate::check::{Context, Severity, Way};

pub const MAIN: &[Rule] = &[
    Rule {
        id: "WAT09",
        severity: Severity::Warning,
        title: "main too weak for a mains-pressure store",
        what: "A main that gives less than 1.5 bar while 20 litres a minute flow. What was read at \
               another flow is carried to that one by the square of the flow.",
        why: "The store works, but two taps at once do not.",
        source: "common practice, makers' lowest supply",
        mend: "fit an accumulator or a boosted tank, or a vented store",
        run: weak,
    },
    Rule {
        id: "WAT10",
        severity: Severity::Warning,
        title: "main too strong for the fittings",
        what: "Standing pressure above 10 bar, or above what the reducing valve's inlet or an \
               accumulator takes.",
        why: "Fittings before the reducing valve are rated for 10 bar.",
        source: "common practice",
        mend: "reduce the pressure at the entry first",
        run: strong,
    },
];

pub const ACCUMULATOR: &[Rule] = &[Rule {
    id: "WAT20",
    severity: Severity::Warning,
    title: "accumulator that holds hardly any water",
    what: "An accumulator whose air charge is so near the pressure that fills it that less than a \
           fifth of it is water.",
    why: "It gives a bucketful and then the main alone is left, at the very peak it was bought for.",
    source: "Boyle's law at constant temperature; the share is common practice, no source",
    mend: "let the charge down, with the water side drained; leave it above what the main gives at \
           its peak",
    run: usable,
}];

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
        let Some(dynamic) = cx.number(main, "dynamic") else { continue };
        let (standing, read_at) = (cx.number(main, "static"), cx.number(main, "at"));
        // Without both ends of its curve the reading stands for itself.
        let found = match (&standing, &read_at) {
            (Some(s), Some(at)) if at.value > 0.0 && s.value > dynamic.value => {
                let share = flow.value / at.value;
                s.value - (s.value - dynamic.value) * share * share
            }
            _ => dynamic.value,
        };
        let found = (found * 100.0).round() / 100.0;
        let guessed = |k: &Option<Known>| k.as_ref().is_some_and(|k| k.assumed);
        let title = if found > 0.0 {
            format!("main {found} bar at {} l/min, at least {} bar", flow.value, bar.value)
        } else {
            format!("main can't give {} l/min", flow.value)
        };
        let s = say(title)
            .on(cx, main)
            .found(found, "bar")
            .limit(&bar)
            .margin(found - bar.value)
            .at(&dynamic.span);
        if found < bar.value {
            out.fail(s.assumed(dynamic.assumed || guessed(&standing) || guessed(&read_at)));
        } else {
            out.pass(s.assumed(dynamic.assumed || guessed(&standing) || guessed(&read_at)));
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
        for vessel in cx.of("accumulator") {
            let Some(takes) = cx.number(vessel, "max-pressure") else { continue };
            let s = say(format!(
                "main stands at {} bar, the accumulator takes {} bar",
                found.value, takes.value
            ))
            .on(cx, vessel)
            .on(cx, main)
            .found(found.value, "bar")
            .against(takes.value)
            .margin(takes.value - found.value);
            if found.value > takes.value {
                out.fail(s.assumed(found.assumed || takes.assumed));
            } else {
                out.pass(s.assumed(found.assumed || takes.assumed));
            }
        }
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

/// Water in an accumulator when the main has filled it: what the air, at its charge before, has
/// given up at that pressure.
fn usable(cx: &Context, out: &mut Verdicts) {
    let least = cx.limit("WAT20.usable");
    for vessel in cx.of("accumulator") {
        let up = cx.walk_from(Way::Up, vessel, &["in"], |p| {
            !cx.is_any(p, &["booster pump", "break tank", "reducing valve", "water main"])
        });
        let met = |key: &str| up.parts.iter().copied().find(|p| cx.is(*p, key));
        if met("booster pump").is_some() || met("break tank").is_some() {
            continue;
        }
        let main = cx.of("water main");
        let full = match (met("reducing valve"), main.as_slice()) {
            (Some(valve), _) => cx.number_or_unit(valve, "setting"),
            (None, [main]) => cx.number(*main, "static"),
            _ => None,
        };
        let (Some(full), Some(litres), Some(charge)) =
            (full, cx.number(vessel, "litres"), cx.number(vessel, "charge"))
        else {
            continue;
        };
        let share = (1.0 - (charge.value + 1.0) / (full.value + 1.0)).max(0.0);
        let water = litres.value * share;
        let s = say(format!(
            "{water:.0} of {:.0} l are water: charged to {} bar, filled at {} bar",
            litres.value, charge.value, full.value
        ))
        .on(cx, vessel)
        .found(share * 100.0, "%")
        .limit(&least)
        .margin(share * 100.0 - least.value)
        .at(&charge.span);
        out.judge(share * 100.0 < least.value, s, full.assumed || litres.assumed || charge.assumed);
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
