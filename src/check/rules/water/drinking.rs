//! Drinking water and the softener.

use crate::check::report::{Verdicts, say};
use crate::check::rule::Rule;
use crate::check::{Context, Severity, Way};
use crate::model::PartIx;

pub const RULES: &[Rule] = &[Rule {
    id: "WAT06",
    severity: Severity::Warning,
    title: "no unsoftened water for drinking",
    what: "A softener, and a drinking tap that comes after it, or no tap before it at all.",
    why: "Softened water carries sodium; a tap of hard water is kept for drinking and for babies.",
    source: "Water Supply (Water Fittings) Regulations 1999, guidance, from memory",
    mend: "feed the drinking tap from before the softener",
    run: softened,
}];

fn softened(cx: &Context, out: &mut Verdicts) {
    let softeners = cx.of("softener");
    let Some(softener) = softeners.first().copied() else { return };
    // A softener's bypass is shut in use, so the water is softened if any way leads through one.
    let after = |tap: &PartIx| {
        let up = cx.walk_from(Way::Up, *tap, &["cold"], |p| !cx.is(p, "softener"));
        up.parts.iter().any(|p| cx.is(*p, "softener"))
    };
    let hard = cx.of("hard tap");
    for tap in hard.iter().filter(|t| after(t)) {
        out.fail(say("the drinking tap comes after the softener").on(cx, *tap).on(cx, softener));
    }
    if hard.is_empty() {
        let sinks = cx.of("kitchen sink");
        let joined = |s: &PartIx| cx.pipe_on(*s, "cold").is_some();
        if !sinks.iter().any(|s| joined(s) && !after(s)) {
            out.fail(
                say("no tap before the softener")
                    .on(cx, softener)
                    .on_all(cx, sinks.into_iter().filter(joined)),
            );
            return;
        }
    }
    if !hard.iter().any(after) {
        out.pass(say("a tap before the softener for drinking").on(cx, softener));
    }
}
