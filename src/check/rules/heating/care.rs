//! Air, sludge and draining.

use crate::check::report::{Verdicts, say};
use crate::check::rule::Rule;
use crate::check::{Context, Severity, Way};
use crate::model::PartIx;

pub const RULES: &[Rule] = &[
    Rule {
        id: "HTG14",
        severity: Severity::Warning,
        title: "circuit that can't be vented or drained",
        what: "A heating circuit with no air vent or air separator, or with no drain cock.",
        why: "Air stays in the coil, and nobody can empty the circuit for the next repair.",
        source: "common practice",
        mend: "add an air vent at the highest point and a drain cock at the lowest",
        run: vents,
    },
    Rule {
        id: "HTG15",
        severity: Severity::Warning,
        title: "heating without a filter or a record of its inhibitor",
        what: "A heating circuit with no in-line filter; in an as-built job also one without the \
               inhibitor's name and date on record.",
        why: "Sludge settles in the coil and in the boiler; nobody knows when to dose again.",
        source: "BS 7593:2019, from memory",
        mend: "add a filter on the return next to the source, and record the inhibitor",
        run: filter,
    },
];

/// Every part of a source's own circuit.
fn circuit(cx: &Context, source: PartIx) -> Vec<PartIx> {
    let walk = cx.walk_from(Way::Any, source, &["flow", "return"], |p| {
        !cx.is(p, "filling loop") && !cx.is(p, "safety valve")
    });
    walk.parts
}

fn circuits<'c>(cx: &'c Context) -> impl Iterator<Item = (PartIx, Vec<PartIx>)> + 'c {
    cx.sources()
        .into_iter()
        .filter(|s| cx.pipe_on(*s, "flow").is_some() && cx.pipe_on(*s, "return").is_some())
        .map(|s| (s, circuit(cx, s)))
}

fn vents(cx: &Context, out: &mut Verdicts) {
    for (source, parts) in circuits(cx) {
        let vented = parts.iter().any(|p| cx.is_any(*p, &["automatic air vent", "air separator"]));
        let drained = parts.iter().any(|p| cx.is(*p, "drain cock"));
        if !vented {
            out.fail(say("no air vent on the circuit").on(cx, source));
        }
        if !drained {
            out.fail(say("no drain cock on the circuit").on(cx, source));
        }
        if vented && drained {
            out.pass(say("the circuit can be vented and drained").on(cx, source));
        }
    }
}

fn filter(cx: &Context, out: &mut Verdicts) {
    for (source, parts) in circuits(cx) {
        let filters = ["magnetic filter", "strainer"];
        match parts.iter().copied().find(|p| cx.is_any(*p, &filters)) {
            Some(filter) => out.pass(say("filter on the circuit").on(cx, filter).on(cx, source)),
            None => out.fail(say("no filter on the circuit").on(cx, source)),
        }
        let built = cx.system.job.status.to_lowercase().replace(' ', "-").contains("as-built");
        let recorded = cx.system.job.fields.get("inhibitor").is_some_and(|i| !i.trim().is_empty());
        if built && !recorded {
            let mend = "enter the inhibitor's name and the date in the job";
            out.fail(say("no inhibitor on record").on(cx, source).mend(mend));
        }
    }
}
