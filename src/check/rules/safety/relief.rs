//! The relief valves: that they are there and that nothing stands in their way.

use crate::catalogue::Closes;
use crate::check::report::{Verdicts, say};
use crate::check::rule::Rule;
use crate::check::{Context, Severity, Way};
use crate::model::PartIx;

pub const TEMPERATURE_RELIEF: &[Rule] = &[Rule {
    id: "SAF01",
    severity: Severity::Error,
    title: "store without a temperature relief",
    what: "An unvented store over 15 litres with no temperature (or temperature and pressure) \
           relief valve on it, or one that senses below the top fifth of the water.",
    why: "It is the last thing that keeps the water below 100 °C when every control has failed; \
          water above that flashes to steam as soon as the store gives way.",
    source: "Approved Document G, requirement G3 and section 3; BS EN 1490, from memory",
    mend: "use a cylinder with its relief valve factory-fitted in the top fifth",
    run: temperature_relief,
}];

pub const FREE_WAY: &[Rule] = &[
    Rule {
        id: "SAF04",
        severity: Severity::Error,
        title: "valve in the way of the temperature relief",
        what: "A valve, a reducer or a check valve between the store and its temperature relief, \
               or on the pipe from a relief valve to its tundish.",
        why: "Once shut or stuck it leaves the store without its last protection.",
        source: "Approved Document G, section 3, from memory",
        mend: "take the valve out",
        run: valve_at_relief,
    },
    Rule {
        id: "SAF05",
        severity: Severity::Error,
        title: "store can be shut off from its expansion relief",
        what: "A valve that can be shut, or a check valve, between the store and its expansion \
               relief valve; or no expansion relief valve at all.",
        why: "With that valve shut the heated water has nowhere to go but the temperature relief, \
              which is not meant to work day by day.",
        source: "common practice; Water Supply (Water Fittings) Regulations 1999, from memory",
        mend: "move the valve upstream of the inlet group",
        run: relief_shut_off,
    },
];

fn in_factory_unit(cx: &Context, part: PartIx) -> bool {
    cx.system.part(part).unit.is_some_and(|u| cx.system.unit(u).kind.key == "factory-fitted unit")
}

fn temperature_relief(cx: &Context, out: &mut Verdicts) {
    for store in cx.stores.iter().filter(|s| s.needs_safety(cx)) {
        let Some(relief) = store.reliefs.first() else {
            if !in_factory_unit(cx, store.cylinder) {
                let volume = store.litres(cx);
                out.fail(
                    say("no temperature relief valve on the store")
                        .on(cx, store.cylinder)
                        .limit(&cx.limit("SAF01.volume"))
                        .assumed(volume.is_none_or(|v| v.assumed)),
                );
            }
            continue;
        };
        let top = cx.limit("SAF01.top-share");
        let port = cx.number(store.cylinder, "port.relief.height");
        let height = cx.number(store.cylinder, "height");
        let lying = cx.flag(store.cylinder, "horizontal") == Some(true);
        match (port, height) {
            (Some(port), Some(height)) if !lying && height.value > 0.0 => {
                let least = height.value * (1.0 - top.value);
                let verdict = say(format!(
                    "temperature relief at {:.0} mm, the top fifth starts at {least:.0}",
                    port.value
                ))
                .on(cx, store.cylinder)
                .on(cx, *relief)
                .found(port.value, "mm")
                .limit(&top)
                .against(least)
                .margin(port.value - least)
                .at(&port.span);
                if port.value < least {
                    out.fail(
                        verdict
                            .severity(Severity::Warning)
                            .assumed(port.assumed || height.assumed)
                            .mend("check the port's height; the relief senses in the top fifth"),
                    );
                } else {
                    out.pass(verdict.assumed(port.assumed || height.assumed));
                }
            }
            _ => out.pass(
                say("temperature relief valve fitted").on(cx, store.cylinder).on(cx, *relief),
            ),
        }
    }
}

fn obstructs(cx: &Context, part: PartIx) -> bool {
    (cx.closes(part) != Closes::Never && cx.closes(part) != Closes::Lifts)
        || cx.is(part, "reducing valve")
}

fn valve_at_relief(cx: &Context, out: &mut Verdicts) {
    for store in &cx.stores {
        for relief in &store.reliefs {
            let way = cx.walk_from(Way::Any, *relief, &["in"], |p| p != store.cylinder);
            for part in way.between(store.cylinder) {
                if obstructs(cx, part) {
                    out.fail(
                        say("valve between the store and its temperature relief")
                            .on(cx, part)
                            .on(cx, *relief)
                            .on(cx, store.cylinder),
                    );
                }
            }
        }
    }
    for d in &cx.discharges {
        for inlet in &d.valves {
            let mut clear = true;
            for part in inlet.parts.iter().filter(|p| obstructs(cx, **p)) {
                clear = false;
                out.fail(
                    say("valve on the pipe from a relief valve to its tundish")
                        .on(cx, *part)
                        .on(cx, inlet.valve)
                        .on(cx, d.tundish),
                );
            }
            if clear {
                out.pass(
                    say("nothing can shut the pipe from the relief valve to the tundish")
                        .on(cx, inlet.valve)
                        .on(cx, d.tundish),
                );
            }
        }
        for part in d.own_parts.iter().filter(|p| obstructs(cx, **p)) {
            out.fail(say("valve on the pipe below the tundish").on(cx, *part).on(cx, d.tundish));
        }
    }
}

fn relief_shut_off(cx: &Context, out: &mut Verdicts) {
    for store in cx.stores.iter().filter(|s| s.needs_safety(cx)) {
        if cx.pipe_on(store.cylinder, "cold").is_none() {
            continue;
        }
        let near = cx.walk_from(Way::Any, store.cylinder, &["cold"], |p| {
            cx.is_open(p) && !cx.is(p, "reducing valve")
        });
        let is_relief = |p: &PartIx| cx.is(*p, "expansion relief valve");
        if let Some(relief) = near.parts.iter().copied().find(is_relief) {
            out.pass(
                say("no valve between the store and its expansion relief")
                    .on(cx, store.cylinder)
                    .on(cx, relief),
            );
            continue;
        }
        match store.cold_supply.parts.iter().copied().find(is_relief) {
            Some(relief) => {
                let shutters = store.cold_supply.between(relief);
                let shutters: Vec<PartIx> = shutters
                    .into_iter()
                    .filter(|p| cx.can_shut(*p) || cx.is_check(*p) || cx.is(*p, "reducing valve"))
                    .collect();
                out.fail(
                    say("the store can be shut off from its expansion relief")
                        .on_all(cx, shutters)
                        .on(cx, relief)
                        .on(cx, store.cylinder),
                );
            }
            None if in_factory_unit(cx, store.cylinder) => {}
            None => out.fail(
                say("no expansion relief valve on the store's cold feed")
                    .on(cx, store.cylinder)
                    .mend("add an inlet group with its expansion relief valve"),
            ),
        }
    }
}
