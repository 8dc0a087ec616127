//! A way for the water when every valve has shut.

use crate::catalogue::Closes;
use crate::check::context::EMITTERS;
use crate::check::report::{Verdicts, say};
use crate::check::rule::Rule;
use crate::check::{Context, Severity, Way};
use crate::model::{PartIx, Service};

pub const RULES: &[Rule] = &[
    Rule {
        id: "HTG01",
        severity: Severity::Error,
        title: "no way for the water when all valves are shut",
        what: "A boiler or heat pump whose every way round can be closed by motor valves and \
               radiator thermostats, with no automatic bypass, no open circuit and no bypass \
               declared inside.",
        why: "The pump runs against closed valves and the heat exchanger boils.",
        source: "common practice, makers' minimum flow",
        mend: "add an automatic bypass valve after the pump and before the first zone valve",
        run: no_way,
    },
    Rule {
        id: "HTG02",
        severity: Severity::Warning,
        title: "automatic bypass where it can't work",
        what: "An automatic bypass valve that is fitted backwards, or after a zone valve, or \
               before the pump.",
        why: "Closed off by the very valve it should relieve, it never opens.",
        source: "common practice",
        mend: "fit it from the flow after the pump, before the first zone valve, to the return",
        run: misplaced,
    },
];

pub const LEAST: &[Rule] = &[Rule {
    id: "HTG20",
    severity: Severity::Warning,
    title: "source short of water when one zone alone is open",
    what: "In some combination of open zone valves the flow through the source, bypass \
           counted, stays below the least flow that its maker asks for.",
    why: "The burner cycles or locks out, a heat pump trips.",
    source: "makers' minimum flow",
    mend: "set the automatic bypass to open earlier, or take a pump with more head",
    run: short_of_water,
}];

/// Emitters that their own thermostatic valves can close.
fn closes_itself(cx: &Context, part: PartIx) -> bool {
    if !cx.is_any(part, &EMITTERS) || cx.flag(part, "always-open") == Some(true) {
        return false;
    }
    match cx.text(part, "thermostatic-valves") {
        Some(word) => !["", "none", "no", "all but one", "some"].contains(&word),
        None => {
            let stated = cx.flag(part, "thermostatic-valves") == Some(true);
            let fitted = cx.number(part, "thermostatic-valves");
            let radiators = cx.number(part, "radiators");
            match (fitted, radiators) {
                (Some(f), Some(r)) => f.value >= r.value && f.value > 0.0,
                _ => stated,
            }
        }
    }
}

fn no_way(cx: &Context, out: &mut Verdicts) {
    for source in cx.sources() {
        let Some(back) = cx.port(source, "return") else { continue };
        if cx.pipe_at(back).is_none() || cx.pipe_on(source, "flow").is_none() {
            continue;
        }
        // A check valve passes with the flow; a diverter always leaves one way open.
        let shuts = |p: PartIx| cx.closes(p) == Closes::ByMotor || closes_itself(cx, p);
        let stops = |p: PartIx| cx.is(p, "filling loop") || cx.system.part(p).kind.heats;
        let relief = |p: PartIx| cx.closes(p) == Closes::Lifts && !cx.is(p, "bypass valve");
        let bypass = |p: PartIx| cx.is(p, "bypass valve");
        let open = cx.walk_from(Way::Down, source, &["flow"], |p| {
            !shuts(p) && !stops(p) && !relief(p) && !bypass(p)
        });
        if open.has_port(back) {
            out.pass(say("one way round is always open").on(cx, source));
            continue;
        }
        let lifted =
            cx.walk_from(Way::Down, source, &["flow"], |p| !shuts(p) && !stops(p) && !relief(p));
        if lifted.has_port(back) {
            let valve = lifted.parts.iter().copied().find(|p| bypass(*p));
            out.pass(
                say("an automatic bypass opens when the valves shut")
                    .on_all(cx, valve)
                    .on(cx, source),
            );
        } else if cx.declares(source, "internal bypass") {
            out.pass(say("bypass inside the source").on(cx, source));
        } else {
            // Only speak where the circuit comes back at all.
            let round = cx.walk_from(Way::Down, source, &["flow"], |p| !stops(p) && !relief(p));
            if round.has_port(back) {
                let valves = round.parts.iter().copied().filter(|p| shuts(*p));
                // Where a way was begun and capped, there it is missing.
                let capped = round.parts.iter().copied().filter(|p| cx.is(*p, "capped end"));
                out.fail(
                    say("with every valve shut there is no way back to the source")
                        .on(cx, source)
                        .on_all(cx, capped)
                        .on_all(cx, valves),
                );
            }
        }
    }
}

/// The worst state that the sums have found.
fn short_of_water(cx: &Context, out: &mut Verdicts) {
    for figure in cx.figures("operating.least") {
        let Some(source) = cx.by_tag(&figure.about) else { continue };
        let Some(wanted) = cx.number(source, "min-flow") else { continue };
        let s = say(format!(
            "at worst, a valve still open, {:.1} l/min through the source, {} needed",
            figure.value, wanted.value
        ))
        .on(cx, source)
        .found(figure.value, "l/min")
        .against(wanted.value)
        .margin(figure.value - wanted.value)
        .source(figure.source.clone());
        if figure.value < wanted.value - 1e-9 {
            out.fail(s.assumed(figure.assumed || wanted.assumed));
        } else {
            out.pass(s.assumed(figure.assumed || wanted.assumed));
        }
    }
}

fn misplaced(cx: &Context, out: &mut Verdicts) {
    if cx.heating_outside() {
        return;
    }
    for valve in cx.of("bypass valve") {
        let Some(inlet) = cx.pipe_on(valve, "in") else { continue };
        let from_return = matches!(inlet.service, Service::HeatingReturn | Service::FloorReturn);
        if from_return || inlet.from.part == valve {
            out.fail(say("the bypass valve is fitted backwards").on(cx, valve));
            continue;
        }
        let heats = |p: PartIx| cx.system.part(p).kind.heats;
        let up = cx.walk_from(Way::Up, valve, &["in"], |p| !heats(p));
        let Some(source) = up.parts.iter().copied().find(|p| heats(*p)) else { continue };
        let between = up.between(source);
        if let Some(zone) = between.iter().copied().find(|p| cx.closes(*p) == Closes::ByMotor) {
            out.fail(say("the bypass valve stands after a zone valve").on(cx, valve).on(cx, zone));
            continue;
        }
        let pumped = cx.declares(source, "internal pump")
            || between.iter().any(|p| cx.is(*p, "pump"))
            || cx.of("pump").is_empty();
        if pumped {
            out.pass(
                say("the bypass valve stands after the pump, before the zone valves").on(cx, valve),
            );
        } else {
            out.fail(say("the bypass valve stands before the pump").on(cx, valve));
        }
    }
}
