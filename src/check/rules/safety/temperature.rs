//! How hot the water is kept and how hot it may reach a bath.

use crate::check::report::{Verdicts, say};
use crate::check::rule::Rule;
use crate::check::{Context, Severity, Way};
use crate::model::PartIx;

pub const RULES: &[Rule] = &[
    Rule {
        id: "SAF09",
        severity: Severity::Warning,
        title: "store too cool to keep legionella down",
        what: "Water stored below 60 °C with no pasteurising cycle, or with nothing that can do it; as \
               advice, with nothing drawn that starts it.",
        why: "Legionella bacteria grow between 20 and 45 °C and die within minutes at 60 °C.",
        source: "HSG274 Part 2; Water Supply (Water Fittings) Regulations 1999, guidance G18.2",
        mend: "store at 60 °C, `stored=60`; or state what heats it so far every week, \
               `cycle=\"weekly to 60 °C\"`",
        run: too_cool,
    },
    Rule {
        id: "SAF10",
        severity: Severity::Error,
        title: "bath of a new dwelling not limited to 48 °C",
        what: "A bath in a new dwelling that no blending valve keeps at or below 48 °C.",
        why: "Water at 60 °C scalds in seconds, and a child can't get out of a bath.",
        source: "Building Regulations 2010, requirement G3(4)",
        mend: "fit a blending valve (type 2) set to 48 °C or less near the bath",
        run: bath,
    },
];

fn too_cool(cx: &Context, out: &mut Verdicts) {
    let least = cx.limit("SAF09.stored");
    for store in &cx.stores {
        let Some(stored) = cx.number(store.cylinder, "stored") else { continue };
        let cycle = cx
            .text(store.cylinder, "cycle")
            .is_some_and(|c| !["", "none", "no"].contains(&c.trim()))
            || cx.flag(store.cylinder, "cycle") == Some(true);
        let s = say(format!("stored at {} °C, at least {} °C", stored.value, least.value))
            .on(cx, store.cylinder)
            .found(stored.value, "°C")
            .limit(&least)
            .margin(stored.value - least.value)
            .at(&stored.span);
        if stored.value >= least.value {
            out.pass(s.assumed(stored.assumed));
        } else if cycle {
            // Somebody must be able to: an element, or a source whose water is hotter than that.
            let hot = |p: PartIx| {
                let flow = cx.number(p, "hot-water-flow").or_else(|| cx.number(p, "flow"));
                flow.is_some_and(|f| f.value > least.value)
            };
            let sources = store.coils.iter().filter(|c| !c.solar).flat_map(|c| &c.sources);
            let by: Vec<PartIx> =
                store.immersions.iter().chain(sources.filter(|s| hot(**s))).copied().collect();
            let cycle = cx.text(store.cylinder, "cycle").unwrap_or("with a hot cycle");
            if by.is_empty() {
                let said = match cx.is_assumed(store.cylinder, "cycle") {
                    true => format!("{cycle}, as assumed"),
                    false => cycle.to_owned(),
                };
                let title = format!(
                    "stored at {} °C, and nothing drawn can do the cycle ({said})",
                    stored.value
                );
                // A cycle there is already: what is wanted is something that can do it.
                out.fail(say(title).on(cx, store.cylinder).found(stored.value, "°C").mend(
                    "store at 60 °C, `stored=60`, if the source can; or give the cylinder what \
                         can do the cycle: `{ immersion kw=3 }` on its line",
                ));
            } else {
                let tags: Vec<&str> = by.iter().map(|p| cx.tag(*p)).collect();
                let tags = tags.join(", ");
                let title = format!("stored at {} °C, {cycle} by {tags}", stored.value);
                let guessed = stored.assumed || cx.is_assumed(store.cylinder, "cycle");
                // A source brings its own control; an element is started by hand unless a clock does.
                let clock = cx.sources().is_empty() && !cx.of("programmer").is_empty();
                let own = clock || by.iter().any(|p| !store.immersions.contains(p));
                let s = |title: String| {
                    say(title)
                        .on(cx, store.cylinder)
                        .on_all(cx, by.clone())
                        .found(stored.value, "°C")
                };
                if own {
                    out.pass(s(title).assumed(guessed));
                } else {
                    let title = format!("{title}: nothing drawn starts it, only the hand switch");
                    let mend = "give the element a weekly time switch, or let the source's own control \
                                start it; say on the record of commissioning which, and see one cycle run";
                    out.fail(s(title).severity(Severity::Advice).mend(mend).assumed(guessed));
                }
            }
        } else {
            out.fail(s.assumed(stored.assumed));
        }
    }
}

fn bath(cx: &Context, out: &mut Verdicts) {
    let most = cx.limit("SAF10.bath");
    let new_dwelling = cx.dwelling_flag("new-dwelling");
    for bath in cx.of("bath") {
        if !(new_dwelling || cx.flag(bath, "new") == Some(true)) {
            continue;
        }
        let up = cx.walk_from(Way::Up, bath, &["hot"], |p| !cx.is(p, "blending valve"));
        let valve = up.parts.iter().copied().find(|p| cx.is(*p, "blending valve"));
        let set = cx.number(bath, "limit").or_else(|| valve.and_then(|v| cx.number(v, "setting")));
        match set {
            Some(set) => {
                let s = say(format!("bath limited to {} °C, at most {} °C", set.value, most.value))
                    .on(cx, bath)
                    .on_all(cx, valve)
                    .found(set.value, "°C")
                    .limit(&most)
                    .margin(most.value - set.value)
                    .at(&set.span);
                if set.value <= most.value {
                    out.pass(s.assumed(set.assumed));
                } else {
                    out.fail(s.assumed(set.assumed));
                }
            }
            None if valve.is_some() => {
                out.pass(say("the bath is fed through a blending valve").on(cx, bath));
            }
            None => out.fail(say("nothing limits the bath to 48 °C").on(cx, bath).limit(&most)),
        }
    }
}
