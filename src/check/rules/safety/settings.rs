//! Settings of the pressure valves, in their order.

use crate::catalogue::Closes;
use crate::check::context::Known;
use crate::check::report::{Verdicts, say};
use crate::check::rule::Rule;
use crate::check::store::Coil;
use crate::check::{Context, Severity, Way};
use crate::model::PartIx;

pub const PRESSURES: &[Rule] = &[Rule {
    id: "SAF06",
    severity: Severity::Error,
    title: "pressure settings out of order",
    what: "The reducing valve not a full bar below the expansion relief, the expansion relief not \
           below the temperature and pressure relief, or that above what the cylinder is rated for.",
    why: "Too close, and a valve drips for ever; the wrong way round, and the last valve works \
          day by day or the store is not protected.",
    source: "common practice; BS EN 12897, from memory",
    mend: "correct the setting, or fit the group that belongs to the cylinder",
    run: pressures,
}];

pub const COIL: &[Rule] = &[Rule {
    id: "SAF12",
    severity: Severity::Warning,
    title: "heating safety valve above the coil's rating",
    what: "The heating's safety valve opens at a pressure higher than the coil may bear.",
    why: "The coil is the weakest part of the circuit; it would fail into the hot water.",
    source: "common practice",
    mend: "fit a safety valve to match the coil",
    run: coil_rating,
}];

fn pressures(cx: &Context, out: &mut Verdicts) {
    let step = cx.limit("SAF06.step");
    for store in cx.stores.iter().filter(|s| s.needs_safety(cx)) {
        let setting = |p: Option<PartIx>| Some((p?, cx.number_or_unit(p?, "setting")?));
        let reducing = setting(store.reducing_valve(cx));
        let expansion = store.expansion_reliefs(cx).first().copied();
        let expansion = expansion.and_then(|p| Some((p, cx.number(p, "setting")?)));
        let relief = store.reliefs.first().copied();
        let relief = relief.and_then(|p| Some((p, cx.number(p, "setting")?)));
        let rated = cx.number(store.cylinder, "working-pressure").map(|k| (store.cylinder, k));
        if let (Some(low), Some(high)) = (&reducing, &expansion) {
            let title = format!(
                "reducing valve {} bar, expansion relief {} bar: {} bar between",
                low.1.value,
                high.1.value,
                tenth(high.1.value - low.1.value)
            );
            let margin = high.1.value - low.1.value - step.value;
            verdict(cx, out, title, low, high, margin, margin < -1e-9, (Some(step.value), None));
        }
        if let (Some(low), Some(high)) = (&expansion, &relief) {
            let title = format!(
                "expansion relief {} bar, temperature and pressure relief {} bar",
                low.1.value, high.1.value
            );
            // Within a step of each other they may be meant to be so; the readings overlap.
            let margin = high.1.value - low.1.value;
            let near = margin > 1e-9 - step.value;
            let severity = near.then_some(Severity::Warning);
            verdict(cx, out, title, low, high, margin, margin <= 1e-9, (None, severity));
        }
        if let (Some(low), Some(high)) = (&relief, &rated) {
            let title = format!(
                "temperature and pressure relief {} bar, cylinder rated for {} bar",
                low.1.value, high.1.value
            );
            let margin = high.1.value - low.1.value;
            verdict(cx, out, title, low, high, margin, margin < -1e-9, (None, None));
        }
    }
}

#[allow(clippy::too_many_arguments, reason = "one call a pair of settings, all of it printed")]
fn verdict(
    cx: &Context,
    out: &mut Verdicts,
    title: String,
    low: &(PartIx, Known),
    high: &(PartIx, Known),
    margin: f64,
    fails: bool,
    (step, severity): (Option<f64>, Option<Severity>),
) {
    let (found, limit) = match step {
        Some(step) => (high.1.value - low.1.value, step),
        None => (low.1.value, high.1.value),
    };
    let s = say(title)
        .on(cx, low.0)
        .on(cx, high.0)
        .found(found, "bar")
        .against(limit)
        .margin(margin)
        .at(&high.1.span)
        .at(&low.1.span);
    let s = s.assumed(low.1.assumed || high.1.assumed);
    if fails {
        out.fail(match severity {
            Some(severity) => s.severity(severity),
            None => s,
        });
    } else {
        out.pass(s);
    }
}

fn tenth(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}

fn coil_rating(cx: &Context, out: &mut Verdicts) {
    for store in &cx.stores {
        let Some(rating) = cx.number(store.cylinder, "coil-pressure") else { continue };
        let judged = |c: &&Coil| !c.solar && !c.sources.iter().any(|s| cx.is_outside(*s));
        for coil in store.coils.iter().filter(judged) {
            let circuit =
                cx.walk(Way::Any, [coil.flow, coil.back], |p| cx.closes(p) != Closes::Lifts);
            let mut valves: Vec<(PartIx, Known)> = circuit
                .parts
                .iter()
                .filter(|p| cx.is(**p, "safety valve"))
                .filter_map(|p| Some((*p, cx.number(*p, "setting")?)))
                .collect();
            // A valve inside the boiler: by its plate, or as assumed until that is read.
            let inside = coil.sources.iter().filter(|p| cx.declares(**p, "internal safety valve"));
            valves.extend(inside.filter_map(|p| Some((*p, cx.number(*p, "valve-setting")?))));
            for (valve, set) in valves {
                // Nobody has read the valve's plate: then the coil's is what is out of the common.
                let by_the_coil = set.assumed && !rating.assumed;
                let (first, second) = match by_the_coil {
                    true => (store.cylinder, valve),
                    false => (valve, store.cylinder),
                };
                let said = if set.assumed { " as assumed" } else { "" };
                let s = say(format!(
                    "heating safety valve {} bar{said}, coil rated for {} bar",
                    set.value, rating.value
                ))
                .on(cx, first)
                .on(cx, second)
                .found(set.value, "bar")
                .against(rating.value)
                .margin(rating.value - set.value)
                .at(&rating.span)
                .at(&set.span);
                if set.value > rating.value {
                    // Every boiler's valve opens at about that much: a plate that says less of the
                    // coil counts, though nobody has read the valve's.
                    out.fail(s.assumed(rating.assumed));
                } else {
                    out.pass(s.assumed(rating.assumed || set.assumed));
                }
            }
        }
    }
}
