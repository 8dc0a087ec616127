//! Sizes of the vessels against the sums of `size`.

use crate::check::context::Known;
use crate::check::report::{Verdicts, say};
use crate::check::rule::Rule;
use crate::check::{Context, Severity};
use crate::model::PartIx;
use crate::size::Figure;

pub const HOT: &[Rule] = &[Rule {
    id: "EXP03",
    severity: Severity::Warning,
    title: "hot-water vessel too small",
    what: "A hot-water vessel smaller than the water's growth over the share of the vessel that \
           can be used.",
    why: "The rest of the growth goes out through the relief valve at every heat-up.",
    source: "BS 7074-1",
    mend: "take the next size",
    run: hot,
}];

pub const HEATING: &[Rule] = &[Rule {
    id: "EXP06",
    severity: Severity::Warning,
    title: "heating vessel too small",
    what: "Heating vessels that together hold less than the published method asks for; the two \
           methods in use disagree and both are printed.",
    why: "The safety valve drips hot and the pressure is gone when the water cools.",
    source: "BS EN 12828, Annex D, from memory; BS 7074-1 factors",
    mend: "add a second vessel or take the next size",
    run: heating,
}];

pub const LOOP: &[Rule] = &[Rule {
    id: "EXP11",
    severity: Severity::Warning,
    title: "return loop left out of the vessel's sum",
    what: "A hot-water vessel sized for the store alone although a return loop is kept hot too.",
    why: "The loop's water grows as well.",
    source: "common practice",
    mend: "add the loop's litres to the store's",
    run: loop_left_out,
}];

pub const SOLAR: &[Rule] = &[Rule {
    id: "EXP13",
    severity: Severity::Warning,
    title: "vessel too small for a solar-heated store",
    what: "A hot-water vessel that is enough at the thermostat's setting but not at the \
           temperature the sun may heat the store to.",
    why: "In summer the store reaches 85 °C and the relief valve weeps every sunny day.",
    source: "derived; common practice for the temperature",
    mend: "take the next size, or limit the solar controller",
    run: solar,
}];

/// Figures that state the least vessel, by whichever tag they speak of.
fn least<'c>(cx: &'c Context, id: &str, tags: &[&str]) -> Option<&'c Figure> {
    tags.iter().find_map(|t| cx.figure(id, t))
}

fn litres(cx: &Context, vessels: &[PartIx]) -> Option<Known> {
    let mut sum = Known { value: 0.0, assumed: false, span: 0..0 };
    for v in vessels {
        let l = cx.number(*v, "litres")?;
        sum.value += l.value;
        sum.assumed |= l.assumed;
        if sum.span.is_empty() {
            sum.span = l.span;
        }
    }
    (!vessels.is_empty()).then_some(sum)
}

fn judge(
    cx: &Context,
    out: &mut Verdicts,
    vessels: &[PartIx],
    have: &Known,
    figure: &Figure,
    what: &str,
) {
    let s = say(format!("{what} {} l, at least {:.1} l", have.value, figure.value))
        .on_all(cx, vessels.iter().copied())
        .found(have.value, "l")
        .against(figure.value)
        .margin(have.value - figure.value)
        .source(figure.source.clone())
        .at(&have.span);
    if have.value + 0.05 < figure.value {
        out.fail(s.assumed(have.assumed || figure.assumed));
    } else {
        out.pass(s.assumed(have.assumed || figure.assumed));
    }
}

fn hot(cx: &Context, out: &mut Verdicts) {
    for store in cx.stores.iter().filter(|s| !s.air_gap(cx)) {
        let vessels = store.vessels(cx);
        let Some(have) = litres(cx, &vessels) else { continue };
        let mut tags: Vec<&str> = vessels.iter().map(|v| cx.tag(*v)).collect();
        tags.push(cx.tag(store.cylinder));
        if let Some(figure) = least(cx, "hot-vessel.volume", &tags) {
            judge(cx, out, &vessels, &have, figure, "hot-water vessel");
        }
    }
}

/// Vessels on the circuit and inside the source serve it together.
fn heating(cx: &Context, out: &mut Verdicts) {
    if cx.heating_outside() {
        return;
    }
    for figure in cx.figures("heating-vessel.volume") {
        let given = |name: &str| input(figure, name).unwrap_or(0.0);
        let have = given("fitted") + given("inside the source");
        if have <= 0.0 {
            continue;
        }
        let about = cx.by_tag(&figure.about);
        let s = say(format!(
            "heating vessel {have} l, at least {:.1} l (EN 12828 {:.1} l, BS 7074-1 {:.1} l)",
            figure.value,
            given("EN 12828"),
            given("BS 7074-1")
        ))
        .on_all(cx, about)
        .found(have, "l")
        .against(figure.value)
        .margin(have - figure.value)
        .source(figure.source.clone());
        if have + 0.05 < figure.value {
            out.fail(s.assumed(figure.assumed));
        } else {
            out.pass(s.assumed(figure.assumed));
        }
    }
}

fn input(figure: &Figure, name: &str) -> Option<f64> {
    figure.inputs.iter().find(|i| i.name == name).map(|i| i.value)
}

fn loop_left_out(cx: &Context, out: &mut Verdicts) {
    for store in cx.stores.iter().filter(|s| !s.air_gap(cx)) {
        let loops =
            cx.pipe_on(store.cylinder, "secondary return").is_some() || cx.has_circulation();
        if !loops {
            continue;
        }
        let vessels = store.vessels(cx);
        let mut tags: Vec<&str> = vessels.iter().map(|v| cx.tag(*v)).collect();
        tags.push(cx.tag(store.cylinder));
        let Some(figure) = least(cx, "hot-vessel.volume", &tags) else { continue };
        let counted = figure
            .inputs
            .iter()
            .any(|i| ["loop", "return", "circulation", "pipes"].iter().any(|w| i.name.contains(w)));
        if counted {
            out.pass(say("the return loop is in the vessel's sum").on_all(cx, vessels));
        } else {
            out.fail(
                say("the vessel's sum leaves the return loop out")
                    .on_all(cx, vessels)
                    .on(cx, store.cylinder),
            );
        }
    }
}

fn solar(cx: &Context, out: &mut Verdicts) {
    let hottest = cx.limit("EXP13.solar");
    for store in cx.stores.iter().filter(|s| !s.air_gap(cx)) {
        if !store.coils.iter().any(|c| c.solar && !c.sources.is_empty()) {
            continue;
        }
        let vessels = store.vessels(cx);
        let (Some(have), Some(litres_of_store)) = (litres(cx, &vessels), store.litres(cx)) else {
            continue;
        };
        let reducer = store.reducing_valve(cx).and_then(|v| cx.number_or_unit(v, "setting"));
        let relief = store.expansion_reliefs(cx).first().and_then(|v| cx.number(*v, "setting"));
        let (Some(reducer), Some(relief)) = (reducer, relief) else { continue };
        let most = cx.number(store.cylinder, "max-stored");
        let to = most.as_ref().map_or(hottest.value, |m| m.value);
        let pe = relief.value * (1.0 - cx.limit("EXP03.relief-share").value);
        let grown = litres_of_store.value * crate::size::water::expansion(10.0, to);
        let need = crate::size::vessel::potable(grown, reducer.value, pe);
        let s = say(format!("vessel {} l, at {to:.0} °C at least {need:.1} l", have.value))
            .on_all(cx, vessels.iter().copied())
            .on(cx, store.cylinder)
            .found(have.value, "l")
            .limit(&hottest)
            .against(need)
            .margin(have.value - need)
            .at(&have.span);
        let mut tags: Vec<&str> = vessels.iter().map(|v| cx.tag(*v)).collect();
        tags.push(cx.tag(store.cylinder));
        // Said by the sum for the hottest store already.
        let told = least(cx, "hot-vessel.volume", &tags)
            .is_some_and(|f| have.value + 0.05 < f.value && f.value + 0.05 > need);
        if told {
            continue;
        }
        let guessed = have.assumed || litres_of_store.assumed || relief.assumed;
        let guessed = guessed || reducer.assumed || most.is_some_and(|m| m.assumed);
        if have.value + 0.05 < need {
            out.fail(s.assumed(guessed));
        } else {
            out.pass(s.assumed(guessed));
        }
    }
}
