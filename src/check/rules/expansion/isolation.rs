//! The heating's safety valve and vessel, and what could shut a source away from them.

use crate::catalogue::Closes;
use crate::check::report::{Verdicts, say};
use crate::check::rule::Rule;
use crate::check::{Context, Reached, Severity, Way};
use crate::model::PartIx;

pub const RULES: &[Rule] = &[Rule {
    id: "EXP09",
    severity: Severity::Error,
    title: "source can be shut off from safety valve or vessel",
    what: "A boiler or heat pump that stays connected to no safety valve or no vessel once every \
           valve that can shut has shut.",
    why: "A boiler that fires with its valves closed has nothing to relieve it.",
    source: "BS EN 12828, from memory; makers' instructions",
    mend: "connect safety valve and vessel on the boiler's side of every valve",
    run: isolation,
}];

fn isolation(cx: &Context, out: &mut Verdicts) {
    for source in cx.sources() {
        if cx.pipe_on(source, "flow").is_none() {
            continue;
        }
        let blocks = |p: PartIx| {
            matches!(cx.closes(p), Closes::Lifts | Closes::Check) || cx.is(p, "filling loop")
        };
        let held =
            cx.walk_from(Way::Any, source, &["flow", "return"], |p| !blocks(p) && !cx.can_shut(p));
        // A valve locked open may stand before the vessel, never before the safety valve.
        let locked = cx.walk_from(Way::Any, source, &["flow", "return"], |p| {
            !blocks(p) && (!cx.can_shut(p) || cx.is(p, "lockable valve"))
        });
        let whole = cx.walk_from(Way::Any, source, &["flow", "return"], |p| !blocks(p));
        let safe = "internal safety valve";
        judge(cx, out, source, "safety valve", safe, &held, &whole);
        judge(cx, out, source, "heating vessel", "internal vessel", &locked, &whole);
    }
}

fn judge(
    cx: &Context,
    out: &mut Verdicts,
    source: PartIx,
    kind: &str,
    inside: &str,
    held: &Reached,
    whole: &Reached,
) {
    if cx.declares(source, inside) {
        out.pass(say(format!("{kind} inside the source")).on(cx, source));
        return;
    }
    let of_kind = |r: &Reached| r.parts.iter().copied().find(|p| cx.is(*p, kind));
    if let Some(part) = of_kind(held) {
        out.pass(
            say(format!("nothing can shut the source off from its {kind}"))
                .on(cx, source)
                .on(cx, part),
        );
        return;
    }
    match of_kind(whole) {
        Some(part) => {
            let between = whole.between(part).into_iter().filter(|p| cx.can_shut(*p));
            out.fail(
                say(format!("the source can be shut off from its {kind}"))
                    .on(cx, source)
                    .on(cx, part)
                    .on_all(cx, between),
            );
        }
        None => out.fail(
            say(format!("no {kind} on the source's circuit"))
                .on(cx, source)
                .mend(format!("add a {kind} next to the source, or declare \"{inside}\"")),
        ),
    }
}
