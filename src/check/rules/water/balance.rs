//! Hot and cold at a mixer, and what is left at an outlet.

use crate::check::context::{CYLINDERS, Known};
use crate::check::report::{Verdicts, say};
use crate::check::rule::Rule;
use crate::check::{Context, Severity, Way};
use crate::model::PartIx;

pub const MIXERS: &[Rule] = &[
    Rule {
        id: "WAT02",
        severity: Severity::Error,
        title: "mixer's cold taken before the reducing valve",
        what: "A shower, mixer or blending valve whose hot comes from a reduced store and whose \
               cold comes straight from the main.",
        why: "The cold pushes into the hot, the temperature jumps, and the store fills at main \
              pressure.",
        source: "common practice, makers' instructions",
        mend: "take the cold from the balanced port after the reducing valve",
        run: unbalanced,
    },
    Rule {
        id: "WAT03",
        severity: Severity::Warning,
        title: "hot and cold far apart at a mixer",
        what: "Standing pressures of hot and cold at one mixer that differ by more than a bar; an \
               error where one is also more than twice the other.",
        why: "One side overruns the other; thermostatic mixers hunt.",
        source: "common practice",
        mend: "balance the two supplies",
        run: apart,
    },
];

pub const RESIDUAL: &[Rule] = &[Rule {
    id: "WAT18",
    severity: Severity::Warning,
    title: "too little pressure left at an outlet",
    what: "The pressure at an outlet, at the flow that is drawn at the same time, below the \
           least that the outlet needs.",
    why: "The shower dribbles when the kitchen tap runs.",
    source: "sum of losses from the measured main; common practice for the least pressure",
    mend: "take a larger branch or a group with less loss, or fit an accumulator",
    run: residual,
}];

/// Parts that mix hot and cold under one handle.
fn mixers(cx: &Context) -> Vec<PartIx> {
    let mut all = cx.of_any(&["shower", "blending valve"]);
    let stated = |p: &PartIx| {
        cx.flag(*p, "mixer") == Some(true)
            || cx.text(*p, "mixer").is_some_and(|m| !["", "no", "none", "separate"].contains(&m))
    };
    all.extend(cx.of_any(&["bath", "basin", "bidet", "kitchen sink"]).into_iter().filter(stated));
    all.sort();
    all
}

/// What feeds a port: the first reducing valve and the main, each if met.
struct Feed {
    reducer: Option<PartIx>,
    main: Option<PartIx>,
    boosted: bool,
    stored: bool,
}

fn feed(cx: &Context, part: PartIx, port: &str) -> Option<Feed> {
    cx.pipe_on(part, port)?;
    // Against the flow until the pressure is known: a reducer, a pump, the street.
    let ends = ["reducing valve", "booster pump", "break tank", "water main", "blending valve"];
    let up = cx.walk_from(Way::Up, part, &[port], |p| !cx.is_any(p, &ends));
    let first = |key: &str| up.parts.iter().copied().find(|p| cx.is(*p, key));
    Some(Feed {
        reducer: first("reducing valve"),
        main: first("water main"),
        boosted: first("booster pump").is_some() || first("break tank").is_some(),
        stored: up.parts.iter().any(|p| cx.is_any(*p, &CYLINDERS)),
    })
}

fn unbalanced(cx: &Context, out: &mut Verdicts) {
    for mixer in mixers(cx) {
        let (Some(hot), Some(cold)) = (feed(cx, mixer, "hot"), feed(cx, mixer, "cold")) else {
            continue;
        };
        if !hot.stored || hot.reducer.is_none() {
            continue;
        }
        if cold.reducer.is_none() && cold.main.is_some() {
            out.fail(
                say("cold straight from the main, hot through the reducing valve")
                    .on(cx, mixer)
                    .on_all(cx, hot.reducer),
            );
        } else if cold.reducer.is_some() {
            out.pass(say("hot and cold come through a reducing valve").on(cx, mixer));
        }
    }
}

/// Standing pressure, bar.
fn standing(cx: &Context, feed: &Feed) -> Option<Known> {
    if let Some(reducer) = feed.reducer {
        let mut set = cx.number_or_unit(reducer, "setting")?;
        // The main beyond it may stand lower than the setting.
        let up = cx.walk_from(Way::Up, reducer, &["in"], |p| !cx.is(p, "booster pump"));
        let boosted = up.parts.iter().any(|p| cx.is(*p, "booster pump"));
        let main = up.parts.iter().copied().find(|p| cx.is(*p, "water main"));
        if let Some(main) = main.and_then(|m| cx.number(m, "static")).filter(|_| !boosted)
            && main.value < set.value
        {
            set = main;
        }
        return Some(set);
    }
    if feed.boosted {
        return None;
    }
    cx.number(feed.main?, "static")
}

fn apart(cx: &Context, out: &mut Verdicts) {
    let (most, ratio) = (cx.limit("WAT03.difference"), cx.limit("WAT03.ratio"));
    for mixer in mixers(cx) {
        let side = |port: &str| feed(cx, mixer, port).and_then(|f| standing(cx, &f));
        let (Some(hot), Some(cold)) = (side("hot"), side("cold")) else { continue };
        let difference = (hot.value - cold.value).abs();
        let twice = difference > most.value + 1e-9
            && hot.value.max(cold.value) > ratio.value * hot.value.min(cold.value);
        let s = say(format!(
            "hot {} bar, cold {} bar, at most {} bar apart",
            hot.value, cold.value, most.value
        ))
        .on(cx, mixer)
        .found(difference, "bar")
        .limit(&most)
        .margin(most.value - difference);
        if twice {
            out.fail(s.severity(Severity::Error).assumed(hot.assumed || cold.assumed));
        } else if difference > most.value + 1e-9 {
            out.fail(s.assumed(hot.assumed || cold.assumed));
        } else {
            out.pass(s.assumed(hot.assumed || cold.assumed));
        }
    }
}

fn residual(cx: &Context, out: &mut Verdicts) {
    for id in ["outlet.pressure-hot", "outlet.pressure-cold"] {
        for figure in cx.figures(id) {
            let Some(part) = cx.by_tag(&figure.about) else { continue };
            let limit =
                cx.limit(if cx.is(part, "shower") { "WAT18.shower" } else { "WAT18.outlet" });
            let own = cx.number(part, "min-pressure");
            let least = own.as_ref().map_or(limit.value, |o| o.value);
            let side = id.rsplit('-').next().unwrap_or("");
            // Below nought the sum only says that so much does not flow.
            let left = figure.value.max(0.0);
            let title = match figure.value < 0.0 {
                true => format!(
                    "the {side} water that is counted on does not come: no pressure is left at the \
                     outlet, at least {least:.1} bar"
                ),
                false => format!("{left:.1} bar {side} at the outlet, at least {least:.1} bar"),
            };
            let mut s = say(title)
                .on(cx, part)
                .found(left, "bar")
                .limit(&limit)
                .against(least)
                .margin(left - least);
            if let Some(accumulator) = cx.of("accumulator").first() {
                s = s.mend(format!(
                    "take a larger branch or a group with less loss; give {} a lower charge or more \
                     litres, so that it holds what a peak draws",
                    cx.tag(*accumulator)
                ));
            }
            if figure.value + 1e-9 < least {
                out.fail(s.assumed(figure.assumed));
            } else {
                out.pass(s.assumed(figure.assumed));
            }
        }
    }
}
