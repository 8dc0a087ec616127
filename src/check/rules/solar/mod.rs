//! SOL: solar heat into the store.

use crate::check::report::{Verdicts, say};
use crate::check::rule::Rule;
use crate::check::{Context, Severity, Way};
use crate::model::Water;

pub const RULES: &[&[Rule]] = &[&[
    Rule {
        id: "SOL01",
        severity: Severity::Warning,
        title: "no water kept for the sun",
        what: "A solar coil with no water of its own below the boiler's coil.",
        why: "The boiler has already heated what the sun should heat.",
        source: "common practice",
        mend: "take a twin-coil store, or a separate one for the solar",
        run: dedicated,
    },
    Rule {
        id: "SOL02",
        severity: Severity::Warning,
        title: "solar vessel too small",
        what: "A solar vessel smaller than steam, expansion and reserve together ask for.",
        why: "On a hot day without draw-off the fluid boils out through the safety valve.",
        source: "common practice; EN 12977 leaves it to the maker",
        mend: "take the next size, and a cooling pot before it",
        run: vessel,
    },
    Rule {
        id: "SOL03",
        severity: Severity::Error,
        title: "solar safety valve not into a container",
        what: "A solar safety valve whose outlet does not lead through metal pipe into a metal \
               container.",
        why: "It blows glycol at 120 °C and more.",
        source: "common practice",
        mend: "run a metal pipe into a metal container",
        run: container,
    },
    Rule {
        id: "SOL04",
        severity: Severity::Error,
        title: "solar pipe that can't stand the heat",
        what: "Plastic pipe on the collector's circuit.",
        why: "A collector at rest passes 150 °C.",
        source: "common practice",
        mend: "use copper or stainless steel with hard or compression joints",
        run: pipe,
    },
    Rule {
        id: "SOL05",
        severity: Severity::Warning,
        title: "cut-out that trips on a sunny day",
        what: "A cut-out on a solar store set no higher than the store is allowed to get.",
        why: "It is reset by hand: on the first sunny day it stops the collector and whatever else it \
              guards until somebody comes.",
        source: "common practice, no source",
        mend: "let the solar controller stop at least 5 K below the cut-out, `max-stored=80`; the \
               cut-out itself stays below the relief valve's temperature",
        run: trips,
    },
]];

fn trips(cx: &Context, out: &mut Verdicts) {
    for store in cx.stores.iter().filter(|s| s.coils.iter().any(|c| c.solar)) {
        let Some(most) = cx.number(store.cylinder, "max-stored") else { continue };
        let on = cx.on(store.cylinder).iter().copied();
        for cut_out in on.filter(|p| cx.is(*p, "overheat cut-out")) {
            let Some(set) = cx.number(cut_out, "setting") else { continue };
            let s = say(format!(
                "trips at {} °C, reset by hand; the sun may heat the store to {} °C",
                set.value, most.value
            ))
            .on(cx, cut_out)
            .on(cx, store.cylinder)
            .found(set.value, "°C")
            .against(most.value)
            .margin(set.value - most.value)
            .at(&set.span);
            out.judge(set.value <= most.value, s, set.assumed || most.assumed);
        }
    }
}

fn dedicated(cx: &Context, out: &mut Verdicts) {
    for collector in cx.of("solar collector") {
        let to = cx.walk_from(Way::Down, collector, &["flow"], |p| {
            !cx.is_any(p, &crate::check::context::CYLINDERS)
        });
        let reached = to.parts.iter().copied();
        for store in reached.filter(|p| cx.is_any(*p, &crate::check::context::CYLINDERS)) {
            let shared = cx.port(store, "flow").is_some_and(|p| to.has_port(p));
            let litres = cx.number(store, "solar-litres");
            if shared {
                out.fail(
                    say("the collector feeds the boiler's coil").on(cx, store).on(cx, collector),
                );
            } else if litres.as_ref().is_some_and(|l| l.value <= 0.0) {
                out.fail(
                    say("no water of the store belongs to the solar coil alone")
                        .on(cx, store)
                        .found(0.0, "l")
                        .assumed(litres.is_some_and(|l| l.assumed)),
                );
            } else {
                out.pass(say("the solar coil has water of its own").on(cx, store));
            }
        }
    }
}

fn vessel(cx: &Context, out: &mut Verdicts) {
    for figure in cx.figures("solar-vessel.volume") {
        let fitted = figure.inputs.iter().find(|i| i.name == "fitted").map_or(0.0, |i| i.value);
        if fitted <= 0.0 {
            continue;
        }
        let s = say(format!("solar vessel {fitted} l, at least {:.1} l", figure.value))
            .on_all(cx, cx.by_tag(&figure.about))
            .found(fitted, "l")
            .against(figure.value)
            .margin(fitted - figure.value)
            .source(figure.source.clone());
        if fitted + 0.05 < figure.value {
            out.fail(s);
        } else {
            out.pass(s.assumed(figure.assumed));
        }
    }
}

fn is_metal(material: &str) -> bool {
    ["copper", "steel", "stainless", "brass", "metal"]
        .iter()
        .any(|m| material.to_lowercase().contains(m))
}

fn container(cx: &Context, out: &mut Verdicts) {
    for valve in cx.of("safety valve") {
        let solar = cx.pipe_on(valve, "in").is_some_and(|p| p.service.water() == Water::Solar);
        if !solar {
            continue;
        }
        let down = cx.walk_from(Way::Down, valve, &["discharge"], |p| !cx.is(p, "container"));
        match down.parts.iter().copied().find(|p| cx.is(*p, "container")) {
            None => {
                let mut ends = down.parts.iter().copied();
                let end = ends.find(|p| cx.is_any(*p, &crate::check::discharge::ENDS));
                let title = match end {
                    Some(end) => format!(
                        "the solar safety valve blows into a {}, not into a metal container",
                        cx.key(end)
                    ),
                    None => "the solar safety valve blows into nothing".to_owned(),
                };
                let mut s = say(title).on(cx, valve);
                if let Some(end) = end {
                    s = s.on(cx, end).at(&cx.system.part(end).span);
                }
                out.fail(s);
            }
            Some(can) => {
                let plastic = down
                    .pipes_to(can)
                    .into_iter()
                    .any(|p| !is_metal(&cx.system.pipe(p).material.value));
                let thin = cx.text(can, "material").is_some_and(|m| !m.is_empty() && !is_metal(m));
                let s = |title: &str| say(title).on(cx, valve).on(cx, can);
                if plastic {
                    out.fail(s("plastic pipe from the solar safety valve"));
                } else if thin {
                    out.fail(s("the solar container is not of metal"));
                } else {
                    out.pass(s("metal pipe into a container"));
                }
            }
        }
    }
}

fn pipe(cx: &Context, out: &mut Verdicts) {
    for pipe in &cx.system.pipes {
        if pipe.service.water() == Water::Solar && !is_metal(&pipe.material.value) {
            out.fail(
                say(format!("{} on the collector's circuit", pipe.material.value))
                    .on_tag(&pipe.id)
                    .on(cx, pipe.from.part)
                    .at(&pipe.span)
                    .assumed(pipe.material.origin.is_assumed()),
            );
        }
    }
}
