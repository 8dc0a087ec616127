//! What a heat pump needs: water that stays open to it, and coil surface.

use crate::catalogue::Closes;
use crate::check::context::Known;
use crate::check::report::{Verdicts, say};
use crate::check::rule::Rule;
use crate::check::{Context, Severity, Way};
use crate::model::PartIx;
use crate::size::Figure;

pub const RULES: &[Rule] = &[
    Rule {
        id: "HTG12",
        severity: Severity::Warning,
        title: "too little open water for the heat pump",
        what: "Less water open to the heat pump, with every zone shut, than its maker asks for.",
        why: "It starts and stops every few minutes and can't defrost.",
        source: "maker's stated minimum",
        mend: "add a volumiser or a buffer, or leave one zone open",
        run: open_water,
    },
    Rule {
        id: "HTG13",
        severity: Severity::Warning,
        title: "coil too small for the heat pump",
        what: "Less than 0.25 m2 of coil for each kW of the heat pump.",
        why: "A heat pump gives its heat at a low temperature; through a small coil it trips.",
        source: "common practice",
        mend: "take a cylinder with a heat-pump coil",
        run: coil,
    },
    Rule {
        id: "HTG21",
        severity: Severity::Error,
        title: "coil no hotter than the store",
        what: "A source whose water comes into the coil no hotter than the water it is to store.",
        why: "Heat flows from hot to cold only: the store never reaches its temperature, and the \
               source runs without end.",
        source: "physics; common practice for a heat pump: 5 K above the store",
        mend: "let the source's flow rise while hot water calls, or store cooler and finish with an \
               immersion heater",
        run: cool_coil,
    },
];

/// Water that stays open to the source when every motor valve is shut, litres; from what is stated.
fn open_litres(cx: &Context, source: PartIx) -> f64 {
    let open = cx.walk_from(Way::Any, source, &["flow", "return"], |p| {
        !matches!(cx.closes(p), Closes::ByMotor | Closes::Lifts) && !cx.is(p, "filling loop")
    });
    let mut litres = cx.number(source, "water").map_or(0.0, |w| w.value);
    let mut pipes = std::collections::BTreeSet::new();
    for part in &open.parts {
        let key = if cx.is_any(*part, &["buffer", "volumiser"]) { "litres" } else { "water" };
        let vessel = cx.is_any(*part, &["heating vessel", "hot-water vessel"]);
        if !vessel && !cx.is_any(*part, &crate::check::context::CYLINDERS) {
            litres += cx.number(*part, key).map_or(0.0, |w| w.value);
        }
        if !cx.can_shut(*part) {
            pipes.extend(cx.pipes_of(*part));
        }
    }
    for pipe in pipes {
        if let (Some(tube), Some(length)) = (cx.tube(pipe), cx.length(pipe)) {
            litres += tube.content() * length.value;
        }
    }
    litres
}

fn open_water(cx: &Context, out: &mut Verdicts) {
    for pump in cx.of("heat pump") {
        let stated = cx.number(pump, "open-litres");
        let figure = cx.figure("heat-pump.open-volume", cx.tag(pump));
        let Some(least) = cx.number(pump, "min-litres") else {
            usual_water(cx, out, pump, figure);
            continue;
        };
        let (found, guessed) = match (&stated, figure) {
            (Some(k), _) => (k.value, k.assumed),
            (None, Some(f)) => (f.value, f.assumed),
            (None, None) => (open_litres(cx, pump), false),
        };
        let s = say(format!("{found:.0} l open to the heat pump, at least {:.0} l", least.value))
            .on(cx, pump)
            .found(found, "l")
            .against(least.value)
            .margin(found - least.value)
            .at(&least.span);
        if found + 1e-9 < least.value {
            out.fail(s.assumed(guessed || least.assumed));
        } else {
            out.pass(s.assumed(guessed || least.assumed));
        }
    }
}

/// The maker's least is not stated: judged by the usual share, as advice.
fn usual_water(cx: &Context, out: &mut Verdicts, pump: PartIx, figure: Option<&Figure>) {
    let Some(figure) = figure else { return };
    let wanted = figure.inputs.iter().find(|i| i.name == "wanted").map_or(0.0, |i| i.value);
    let limit = cx.limit("SIZE.buffer-heat-pump");
    let s = say(format!(
        "{:.0} l open to the heat pump, usually {wanted:.0} l ({} {}); its maker's least is not stated",
        figure.value, limit.value, limit.unit
    ))
    .on(cx, pump)
    .found(figure.value, "l")
    .against(wanted)
    .margin(figure.value - wanted)
    .source(limit.source);
    out.judge(figure.value + 1e-9 < wanted, s, true);
}

/// What comes into a coil, °C: a heat pump's flow while hot water calls, or the source's flow.
fn into_coil(cx: &Context, source: PartIx) -> Option<Known> {
    cx.number(source, "hot-water-flow").or_else(|| cx.number(source, "flow"))
}

fn cool_coil(cx: &Context, out: &mut Verdicts) {
    for store in &cx.stores {
        let Some(stored) = cx.number(store.cylinder, "stored") else { continue };
        for coil in store.coils.iter().filter(|c| !c.solar) {
            for source in coil.sources.iter().filter(|s| !cx.is_outside(**s)) {
                let Some(flow) = into_coil(cx, *source) else { continue };
                let s = say(format!(
                    "{} °C into the coil of a store at {} °C",
                    flow.value, stored.value
                ))
                .on(cx, store.cylinder)
                .on(cx, *source)
                .found(flow.value, "°C")
                .against(stored.value)
                .margin(flow.value - stored.value)
                .at(&flow.span);
                let s = if cx.is(*source, "heat pump") { s } else { s.source("physics") };
                out.judge(flow.value <= stored.value, s, flow.assumed || stored.assumed);
            }
        }
    }
}

fn coil(cx: &Context, out: &mut Verdicts) {
    let least = cx.limit("HTG13.area");
    for store in &cx.stores {
        for coil in store.coils.iter().filter(|c| !c.solar) {
            let Some(pump) = coil.sources.iter().copied().find(|s| cx.is(*s, "heat pump")) else {
                continue;
            };
            let area = cx.number(store.cylinder, "coil-area");
            let (Some(area), Some(kw)) = (area, cx.number(pump, "kw")) else { continue };
            if kw.value <= 0.0 {
                continue;
            }
            let each = area.value / kw.value;
            let s = say(format!("{each:.2} m2 of coil a kW, at least {} m2", least.value))
                .on(cx, store.cylinder)
                .on(cx, pump)
                .found(each, least.unit)
                .limit(&least)
                .margin(each - least.value)
                .at(&area.span);
            if each + 1e-9 < least.value {
                out.fail(s.assumed(area.assumed || kw.assumed));
            } else {
                out.pass(s.assumed(area.assumed || kw.assumed));
            }
        }
    }
}
