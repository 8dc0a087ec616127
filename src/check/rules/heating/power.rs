//! Powers that must match.

use crate::catalogue::Closes;
use crate::check::context::Known;
use crate::check::report::{Verdicts, say};
use crate::check::rule::Rule;
use crate::check::{Context, Severity};
use crate::model::PartIx;

pub const RULES: &[Rule] = &[
    Rule {
        id: "HTG08",
        severity: Severity::Advice,
        title: "loads beyond the source",
        what: "Heating zones and coil together ask for more than the source gives, and nothing \
               gives the hot water priority; where something does, the zones alone.",
        why: "On a cold morning both come slowly.",
        source: "common practice",
        mend: "give the hot water priority, or accept a longer reheat",
        run: overloaded,
    },
    Rule {
        id: "HTG09",
        severity: Severity::Warning,
        title: "coil and source do not match",
        what: "A source that can't turn down to what the coil takes, or a coil too weak for the \
               reheat that is wanted.",
        why: "The source cycles on and off through every reheat, or the second bath is cold.",
        source: "common practice",
        mend: "take a larger coil, or a source that turns lower",
        run: mismatch,
    },
];

fn sum(all: impl Iterator<Item = Option<Known>>) -> Known {
    all.flatten().fold(Known { value: 0.0, assumed: false, span: 0..0 }, |mut sum, k| {
        sum.value += k.value;
        sum.assumed |= k.assumed;
        sum
    })
}

fn overloaded(cx: &Context, out: &mut Verdicts) {
    let sources: Vec<PartIx> = cx.sources();
    if sources.is_empty() {
        return;
    }
    let given = sum(sources.iter().map(|s| cx.number(*s, "kw")));
    let zones = sum(cx.emitters().into_iter().map(|e| cx.number(e, "kw")));
    let coils = sum(cx
        .stores
        .iter()
        .filter(|s| s.coils.iter().any(|c| !c.solar && !c.sources.is_empty()))
        .map(|s| cx.number(s.cylinder, "coil-kw")));
    let priority = cx.system.part_ixs().any(|p| cx.closes(p) == Closes::Diverts)
        || sources.iter().any(|s| cx.declares(*s, "internal diverter"));
    let wanted = zones.value + coils.value;
    if given.value <= 0.0 || wanted <= 0.0 {
        return;
    }
    // Never both at once where the hot water goes first: then the zones alone count.
    let wanted = if priority && zones.value > 0.0 { zones.value } else { wanted };
    let title = if priority {
        format!(
            "the hot water goes first; then {wanted:.1} kW are asked for, the source gives {:.1}",
            given.value
        )
    } else {
        format!("zones and coil ask for {wanted:.1} kW, the source gives {:.1}", given.value)
    };
    let mut s = say(title)
        .on_all(cx, sources)
        .found(wanted, "kW")
        .against(given.value)
        .margin(given.value - wanted);
    if priority {
        s = s.mend("take a larger source, or accept that the rooms warm slowly");
    }
    if wanted > given.value {
        out.fail(s.assumed(given.assumed || zones.assumed || coils.assumed));
    } else {
        out.pass(s.assumed(given.assumed || zones.assumed || coils.assumed));
    }
}

fn mismatch(cx: &Context, out: &mut Verdicts) {
    for store in &cx.stores {
        for coil in store.coils.iter().filter(|c| !c.solar) {
            let Some(rating) = cx.number(store.cylinder, "coil-kw") else { continue };
            for source in &coil.sources {
                let Some(least) = cx.number(*source, "min-kw") else { continue };
                let s = say(format!(
                    "source turns down to {} kW, the coil takes {} kW",
                    least.value, rating.value
                ))
                .on(cx, store.cylinder)
                .on(cx, *source)
                .found(least.value, "kW")
                .against(rating.value)
                .margin(rating.value - least.value);
                out.judge(least.value > rating.value, s, least.assumed || rating.assumed);
            }
        }
        let Some(wanted) = cx.number(store.cylinder, "reheat") else { continue };
        let Some(figure) = cx.figure("store.reheat-coil", cx.tag(store.cylinder)) else { continue };
        let s = say(format!("reheats in {:.0} min, wanted {:.0} min", figure.value, wanted.value))
            .on(cx, store.cylinder)
            .found(figure.value, "min")
            .against(wanted.value)
            .margin(wanted.value - figure.value)
            .at(&wanted.span);
        if figure.value > wanted.value {
            out.fail(s.assumed(figure.assumed || wanted.assumed));
        } else {
            out.pass(s.assumed(figure.assumed || wanted.assumed));
        }
    }
}
