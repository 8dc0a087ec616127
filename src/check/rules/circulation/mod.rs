//! SRT: the hot-water return.

use crate::check::context::{CYLINDERS, assumed};
use crate::check::report::{Verdicts, say};
use crate::check::rule::Rule;
use crate::check::{Context, Severity, Way};
use crate::model::{PartIx, PipeIx, Service};

pub const RULES: &[&[Rule]] = &[&[
    Rule {
        id: "SRT01",
        severity: Severity::Error,
        title: "circulating pump not made for hot water",
        what: "A pump on the hot-water loop whose body is neither bronze nor stainless steel.",
        why: "An iron pump rusts into the drinking water.",
        source: "common practice",
        mend: "take a pump with a bronze or stainless body",
        run: body,
    },
    Rule {
        id: "SRT02",
        severity: Severity::Warning,
        title: "return too cool",
        what: "Water that is below 50 °C at the far end of the loop or back at the store, or a \
               pump that gives less than the loop's heat loss asks for.",
        why: "Legionella bacteria grow in a loop kept lukewarm.",
        source: "HSG274 Part 2",
        mend: "raise the flow or lag the loop better",
        run: cool,
    },
    Rule {
        id: "SRT03",
        severity: Severity::Warning,
        title: "loop without timer, lagging or balance",
        what: "A hot-water loop with neither timer nor pipe thermostat, with unlagged pipe, or \
               with several legs and nothing to balance them.",
        why: "It burns heat day and night; the shortest leg takes all the flow.",
        source: "common practice",
        mend: "add a timer and a pipe thermostat, lag the loop, balance each leg",
        run: care,
    },
    Rule {
        id: "SRT04",
        severity: Severity::Warning,
        title: "return teed into the cold feed",
        what: "A return that joins the cold feed although the store has a return port.",
        why: "Warm water enters at the bottom and stirs the store cool.",
        source: "common practice",
        mend: "use the store's return port",
        run: cold_feed,
    },
]];

fn returns(cx: &Context) -> impl Iterator<Item = PipeIx> {
    let all: Vec<PipeIx> =
        cx.system.pipe_ixs().filter(|p| cx.system.pipe(*p).service == Service::HotReturn).collect();
    all.into_iter()
}

fn pumps(cx: &Context) -> Vec<PartIx> {
    let all = cx.of_any(&["pump", "secondary pump"]);
    all.into_iter().filter(|p| cx.carries(*p, Service::HotReturn) || cx.circulates(*p)).collect()
}

fn body(cx: &Context, out: &mut Verdicts) {
    for pump in pumps(cx) {
        let stated = cx.text(pump, "body").filter(|b| !b.is_empty());
        let fit = match stated {
            Some(body) => ["bronze", "stainless", "brass"].iter().any(|m| body.contains(m)),
            // A pump named for hot water is one; a heating pump is iron unless its body is stated.
            None => cx.is(pump, "secondary pump"),
        };
        if fit {
            out.pass(say("the circulating pump is made for hot water").on(cx, pump));
        } else {
            let what = stated.unwrap_or("not stated");
            out.fail(
                say(format!("pump body on the hot-water loop: {what}"))
                    .on(cx, pump)
                    .assumed(cx.is_assumed(pump, "body")),
            );
        }
    }
}

fn cool(cx: &Context, out: &mut Verdicts) {
    let least = cx.limit("SRT02.temperature");
    let pump = pumps(cx).first().copied();
    for id in ["circulation.far-temperature", "circulation.return-temperature"] {
        for figure in cx.figures(id) {
            let s = say(format!(
                "{:.1} °C: {}, at least {} °C",
                figure.value, figure.quantity, least.value
            ))
            .on_all(cx, pump)
            .on_tag(&figure.about)
            .found(figure.value, "°C")
            .limit(&least)
            .margin(figure.value - least.value);
            if figure.value + 0.05 < least.value {
                out.fail(s.assumed(figure.assumed));
            } else {
                out.pass(s.assumed(figure.assumed));
            }
        }
    }
    for figure in cx.figures("circulation.duty") {
        let input = |name: &str| figure.inputs.iter().find(|i| i.name == name).map(|i| i.value);
        let (Some(needed), Some(given)) = (input("flow needed"), input("flow stated for the pump"))
        else {
            continue;
        };
        let s = say(format!("loop needs {needed:.3} l/s, the pump gives {given:.3} l/s"))
            .on_all(cx, pump)
            .found(given, "l/s")
            .against(needed)
            .margin(given - needed);
        if given + 1e-9 < needed {
            out.fail(s.assumed(figure.assumed));
        } else {
            out.pass(s.assumed(figure.assumed));
        }
    }
}

fn care(cx: &Context, out: &mut Verdicts) {
    let Some(first) = returns(cx).next() else { return };
    let about = |title: &str| {
        let s = say(title);
        match pumps(cx).first() {
            Some(pump) => s.on(cx, *pump),
            None => s.on_tag(&cx.system.pipe(first).id),
        }
    };
    let timed = !cx.of_any(&["circulation timer", "pipe thermostat"]).is_empty();
    if timed {
        out.pass(about("the loop is timed"));
    } else {
        out.fail(about("neither timer nor pipe thermostat on the loop"));
    }
    let bare: Vec<PipeIx> = returns(cx)
        .filter(|p| cx.system.pipe(*p).lagging.as_ref().is_some_and(|l| l.value <= 0.0))
        .collect();
    if !bare.is_empty() {
        let guessed = bare.iter().all(|p| assumed(cx.system.pipe(*p).lagging.as_ref()));
        let s = bare
            .iter()
            .fold(about("unlagged pipe on the loop"), |s, p| s.on_tag(&cx.system.pipe(*p).id));
        out.fail(s.assumed(guessed));
    }
    legs(cx, out);
}

/// Legs are the ways that come together in tees on the return.
fn legs(cx: &Context, out: &mut Verdicts) {
    let from = cx.limit("SRT03.legs");
    let mut ends: Vec<Vec<PartIx>> = Vec::new();
    let joined = |part: PartIx| {
        let returned = |p: &PipeIx| {
            let pipe = cx.system.pipe(*p);
            pipe.service == Service::HotReturn && pipe.to.part == part
        };
        cx.pipes_of(part).filter(returned).collect::<Vec<_>>()
    };
    for tee in cx.of("tee") {
        let into = joined(tee);
        if into.len() < 2 {
            continue;
        }
        for pipe in into {
            let port = cx.system.pipe(pipe).to;
            // Up the leg as far as the next joint of legs or where the return begins.
            let up = cx.walk(Way::Up, [port], |p| {
                cx.carries(p, Service::HotReturn)
                    && joined(p).len() < 2
                    && !cx.is_any(p, &CYLINDERS)
            });
            let trunk = up.parts.iter().any(|p| joined(*p).len() > 1);
            if !trunk {
                ends.push(up.parts);
            }
        }
    }
    let count = ends.len() as f64;
    if count < from.value {
        return;
    }
    let bare = ends.iter().filter(|leg| !leg.iter().any(|p| cx.is(*p, "balancing valve")));
    let bare: Vec<PartIx> = bare.filter_map(|leg| leg.first().copied()).collect();
    let s = |title: String| {
        say(title).on_all(cx, bare.iter().copied()).found(count, from.unit).limit(&from)
    };
    if bare.is_empty() {
        out.pass(s(format!("{count} legs, each balanced")));
    } else {
        out.fail(s(format!("{count} legs, {} without a balancing valve", bare.len())));
    }
}

fn cold_feed(cx: &Context, out: &mut Verdicts) {
    for store in &cx.stores {
        let Some(port) = cx.port(store.cylinder, "secondary return") else { continue };
        if cx.pipe_at(port).is_some() {
            continue;
        }
        let teed = store.cold_side.parts.iter().copied().find(|p| {
            cx.is(*p, "tee") && {
                let into = |pipe: PipeIx| {
                    let pipe = cx.system.pipe(pipe);
                    pipe.service == Service::HotReturn && pipe.to.part == *p
                };
                cx.pipes_of(*p).any(into) && cx.carries(*p, Service::ColdFeed)
            }
        });
        if let Some(tee) = teed {
            out.fail(
                say("the return joins the cold feed, the store's return port is free")
                    .on(cx, tee)
                    .on(cx, store.cylinder),
            );
        }
    }
}
