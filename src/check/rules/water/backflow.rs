//! What keeps hot water, heating water and stale water out of the drinking water.

use std::collections::BTreeSet;

use crate::check::context::{CYLINDERS, OUTLETS};
use crate::check::report::{Verdicts, say};
use crate::check::rule::Rule;
use crate::check::{Context, Severity, Way};
use crate::model::{PartIx, PortRef, Service, Water};

pub const CHECK: &[Rule] = &[Rule {
    id: "WAT01",
    severity: Severity::Error,
    title: "no check valve between main and expansion",
    what: "A store whose expanding water can push back into the main, because no check valve \
           stands between.",
    why: "Warm water would reach the cold taps, and the vessel would do nothing.",
    source: "Water Supply (Water Fittings) Regulations 1999, Schedule 2, from memory",
    mend: "add a check valve between the balanced cold tee and the expansion, or fit a group",
    run: no_check,
}];

pub const FILLING: &[Rule] = &[Rule {
    id: "WAT04",
    severity: Severity::Error,
    title: "heating filled without backflow protection",
    what: "A connection from the main to the heating with no double check valve, or one that \
           stays connected.",
    why: "Heating water is a fluid of category 3: it carries inhibitor and sludge and must not \
          reach a tap.",
    source: "Water Supply (Water Fittings) Regulations 1999, Schedule 2 paragraph 24, from memory",
    mend: "fit a filling loop with a double check valve, and take the hose off after filling",
    run: filling,
}];

pub const CIRCULATION: &[Rule] = &[Rule {
    id: "WAT05",
    severity: Severity::Error,
    title: "no check valve on the hot-water return",
    what: "A return loop of the hot water with no check valve before the store.",
    why: "When a tap opens, cold water is drawn backwards through the return and comes out of \
          the hot tap.",
    source: "common practice",
    mend: "add a check valve after the circulating pump",
    run: circulation,
}];

pub const PUMP: &[Rule] = &[Rule {
    id: "WAT07",
    severity: Severity::Error,
    title: "booster on the main without notice",
    what: "A pump of more than 12 litres a minute that draws straight from the main, with no \
           notice to the water company stated.",
    why: "It pulls the street's pressure down and may suck dirt into the main.",
    source: "Water Supply (Water Fittings) Regulations 1999, regulation 5, from memory",
    mend: "put a break tank before the pump, or get the company's consent and state it",
    run: booster,
}];

pub const CROSSED: &[Rule] = &[Rule {
    id: "WAT13",
    severity: Severity::Error,
    title: "heating water joined to drinking water",
    what: "A way from the heating or solar circuit to drinking water with neither a filling loop \
           nor a double check valve on it.",
    why: "Heating water poisons drinking water as soon as the main's pressure fails.",
    source: "Water Supply (Water Fittings) Regulations 1999, Schedule 2 paragraph 15, from memory",
    mend: "separate the two; fill through a filling loop",
    run: crossed,
}];

pub const OUTSIDE: &[Rule] = &[Rule {
    id: "WAT19",
    severity: Severity::Error,
    title: "outside tap without backflow protection",
    what: "An outside tap with no double check valve between it and the first branch before it.",
    why: "A hose that lies in a pond, a bucket or a sprayer is a fluid of category 3: when the \
          main's pressure fails it is drawn back into the drinking water.",
    source: "Water Supply (Water Fittings) Regulations 1999, Schedule 2 paragraph 15, from memory",
    mend: "add a double check valve to the tap's own pipe, indoors where it cannot freeze",
    run: outside_tap,
}];

fn no_check(cx: &Context, out: &mut Verdicts) {
    let ends = |p: PartIx| {
        cx.is_check(p)
            || cx.is_any(p, &["filling loop", "blending valve", "break tank"])
            || cx.is_any(p, &OUTLETS)
            || cx.is_any(p, &CYLINDERS)
            || cx.system.part(p).kind.heats
    };
    for store in cx.stores.iter().filter(|s| s.needs_safety(cx)) {
        let up = cx.walk_from(Way::Any, store.cylinder, &["cold"], |p| !ends(p));
        match up.parts.iter().copied().find(|p| cx.is(*p, "water main")) {
            Some(main) => out.fail(
                say("the store can expand into the main").on(cx, store.cylinder).on(cx, main),
            ),
            None => {
                if let Some(check) = up.parts.iter().copied().find(|p| cx.is_check(*p)) {
                    out.pass(
                        say("a check valve keeps the expansion out of the main")
                            .on(cx, check)
                            .on(cx, store.cylinder),
                    );
                }
            }
        }
    }
}

/// A part in which drinking water meets heating or solar water, with the port on the drinking
/// side.
struct Meeting {
    part: PartIx,
    port: PortRef,
}

fn meetings(cx: &Context) -> Vec<Meeting> {
    let mut all = Vec::new();
    for part in cx.system.part_ixs() {
        let kind = cx.system.part(part).kind;
        let water = |port: usize| {
            let pipe = cx.pipe_at(PortRef { part, port })?;
            Some(cx.system.pipe(pipe).service.water())
        };
        let potable = (0..kind.ports.len()).filter(|p| water(*p) == Some(Water::Potable));
        for port in potable {
            let foreign = kind
                .shares_water(port)
                .into_iter()
                .any(|p| matches!(water(p), Some(Water::Primary | Water::Solar)));
            if foreign {
                all.push(Meeting { part, port: PortRef { part, port } });
            }
        }
    }
    all
}

fn is_loop(cx: &Context, part: PartIx) -> bool {
    cx.is_any(part, &["filling loop", "flexible hose"])
}

fn is_double_check(cx: &Context, part: PartIx) -> bool {
    cx.is(part, "double check valve") || cx.declares(part, "double check valve inside")
}

/// What stands between a meeting and the drinking water proper.
struct Gate {
    parts: BTreeSet<PartIx>,
    guarded: bool,
    looped: bool,
}

fn gate(cx: &Context, m: &Meeting) -> Gate {
    let proper =
        |p: PartIx| cx.is(p, "water main") || cx.is_any(p, &OUTLETS) || cx.is_any(p, &CYLINDERS);
    let way = cx.walk(Way::Any, [m.port], |p| !proper(p) && !is_double_check(cx, p));
    let open = way.parts.iter().copied().find(|p| proper(*p));
    let mut parts: BTreeSet<PartIx> = match open {
        Some(end) => way.between(end).into_iter().collect(),
        // Guarded: the loop is told by what stands in one line with the check valve.
        None => {
            let in_line = |p: PartIx| !proper(p) && cx.system.part(p).kind.ports.len() <= 2;
            cx.walk(Way::Any, [m.port], in_line).parts.into_iter().collect()
        }
    };
    parts.insert(m.part);
    let guarded = open.is_none() || is_double_check(cx, m.part);
    let looped = parts.iter().any(|p| is_loop(cx, *p));
    Gate { parts, guarded, looped }
}

fn filling(cx: &Context, out: &mut Verdicts) {
    for m in meetings(cx) {
        let gate = gate(cx, &m);
        let at = || gate.parts.iter().copied().find(|p| is_loop(cx, *p)).unwrap_or(m.part);
        let permanent = gate.parts.iter().copied().find(|p| {
            is_loop(cx, *p) && cx.text(*p, "connection").is_some_and(|c| c.contains("permanent"))
        });
        if gate.looped && !gate.guarded {
            out.fail(say("no double check valve before the filling loop").on(cx, at()));
        } else if let Some(part) = permanent {
            out.fail(
                say("the filling loop stays connected")
                    .on(cx, part)
                    .assumed(cx.is_assumed(part, "connection")),
            );
        } else if gate.guarded && !gate.looped {
            out.fail(say("the heating is joined to the main for good").on(cx, m.part));
        } else if gate.guarded {
            out.pass(say("filled through a loop with a double check valve").on(cx, at()));
        }
    }
}

fn crossed(cx: &Context, out: &mut Verdicts) {
    for m in meetings(cx) {
        let gate = gate(cx, &m);
        if !gate.guarded && !gate.looped {
            out.fail(
                say("heating water meets drinking water")
                    .on(cx, m.part)
                    .on_all(cx, gate.parts.iter().copied()),
            );
        }
    }
}

/// Its own pipe: up to where the water divides.
fn outside_tap(cx: &Context, out: &mut Verdicts) {
    let divides = |p: PartIx| cx.system.part(p).kind.ports.len() > 2;
    for tap in cx.of("outside tap") {
        let up = cx.walk_from(Way::Up, tap, &["cold"], |p| !divides(p) && !is_double_check(cx, p));
        let guard = up.parts.iter().copied().find(|p| is_double_check(cx, *p));
        let guard = guard.or_else(|| is_double_check(cx, tap).then_some(tap));
        match guard {
            Some(valve) => {
                out.pass(
                    say("a double check valve guards the outside tap").on(cx, tap).on(cx, valve),
                );
            }
            None => out.fail(say("no double check valve before the outside tap").on(cx, tap)),
        }
    }
}

fn circulation(cx: &Context, out: &mut Verdicts) {
    for store in &cx.stores {
        let cylinder = store.cylinder;
        let stops = |p: PartIx| {
            cx.is_check(p)
                || cx.is_any(p, &OUTLETS)
                || cx.is_any(p, &CYLINDERS)
                || cx.is_any(p, &["blending valve", "filling loop"])
        };
        let around = cx.walk_from(Way::Down, cylinder, &["hot"], |p| !stops(p));
        let comes_back = ["secondary return", "cold"]
            .into_iter()
            .filter_map(|p| cx.port(cylinder, p))
            .any(|p| around.has_port(p));
        let returns: Vec<PartIx> = around
            .parts
            .iter()
            .copied()
            .filter(|p| cx.carries(*p, Service::HotReturn) && *p != cylinder)
            .collect();
        if comes_back {
            let pump = returns.iter().copied().filter(|p| cx.key(*p).contains("pump"));
            out.fail(
                say("nothing stops water from flowing backwards through the return")
                    .on(cx, cylinder)
                    .on_all(cx, pump),
            );
        } else if let Some(check) = returns.iter().copied().find(|p| cx.is_check(*p)) {
            out.pass(say("a check valve guards the hot-water return").on(cx, check));
        }
    }
}

fn booster(cx: &Context, out: &mut Verdicts) {
    let most = cx.limit("WAT07.flow");
    for pump in cx.of("booster pump") {
        let up = cx.walk_from(Way::Up, pump, &["in"], |p| !cx.is(p, "break tank"));
        let Some(main) = up.parts.iter().copied().find(|p| cx.is(*p, "water main")) else {
            continue;
        };
        let flow = cx.number(pump, "litres-a-minute").or_else(|| {
            cx.number(pump, "flow").map(|mut f| {
                f.value *= 60.0;
                f
            })
        });
        let Some(flow) = flow else { continue };
        let told = cx.flag(pump, "notice") == Some(true)
            || cx.text(pump, "notice").is_some_and(|n| !["", "no", "none", "false"].contains(&n));
        let s = say(format!(
            "booster of {} l/min on the main, without notice up to {} l/min",
            flow.value, most.value
        ))
        .on(cx, pump)
        .on(cx, main)
        .found(flow.value, "l/min")
        .limit(&most)
        .margin(most.value - flow.value)
        .at(&flow.span);
        if flow.value > most.value && !told {
            out.fail(s.assumed(flow.assumed));
        } else {
            out.pass(s.assumed(flow.assumed));
        }
    }
}
