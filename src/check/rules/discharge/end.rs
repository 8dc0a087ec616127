//! Where the discharge comes out.

use crate::check::discharge::Discharge;
use crate::check::report::{Verdicts, say};
use crate::check::rule::Rule;
use crate::check::{Context, Severity};
use crate::model::PartIx;

pub const STACK: &[Rule] = &[Rule {
    id: "DIS08",
    severity: Severity::Error,
    title: "discharge into a soil stack that is not made for it",
    what: "A discharge pipe into a soil stack without a dry mechanical seal, without a branch of \
           its own, or into a stack not proved for the temperature.",
    why: "A water trap dries out and lets foul air in; a shared branch sends scalding water into \
          a basin; ordinary stack plastic softens.",
    source: "Approved Document G, paragraph 3.60",
    mend: "give it its own branch with a dry seal into a stack proved for the temperature",
    run: stack,
}];

pub const TERMINATION: &[Rule] = &[Rule {
    id: "DIS15",
    severity: Severity::Error,
    title: "discharge ends in an unsafe place, or nowhere",
    what: "A discharge pipe with no stated end, an unguarded or too high end at low level, an end \
           within 3 m of plastic gutters, or one into a drain that people use.",
    why: "It may blow near-boiling water and steam at any time, where somebody stands or plays.",
    source: "Approved Document G, paragraphs 3.61 to 3.63",
    mend: "end it below the grating of a trapped gully, guarded low down, or over a metal hopper",
    run: termination,
}];

fn stack(cx: &Context, out: &mut Verdicts) {
    for d in cx.discharges.iter().filter(|d| d.is_of_store(cx)) {
        let Some(end) = d.end.filter(|e| cx.is(*e, "soil stack")) else { continue };
        let declared = |fact: &str| cx.declares(end, fact) || cx.declares(d.tundish, fact);
        let mut missing = Vec::new();
        if !declared("dry mechanical seal") && !declared("dry trap") {
            missing.push("a dry mechanical seal");
        }
        if !declared("own branch") {
            missing.push("a branch of its own");
        }
        if !declared("proved for the temperature") {
            missing.push("a stack proved for the temperature");
        }
        let s = |title: String| say(title).on(cx, end).on(cx, d.tundish);
        if missing.is_empty() {
            out.pass(s("own branch with a dry seal into a stack proved for it".to_owned()));
        } else {
            out.fail(s(format!("soil stack without {}", missing.join(", "))));
        }
    }
}

fn termination(cx: &Context, out: &mut Verdicts) {
    for d in cx.discharges.iter().filter(|d| d.is_of_store(cx)) {
        match d.end {
            None => out.fail(say("the discharge pipe ends nowhere").on(cx, d.tundish)),
            Some(end) => judge(cx, out, d, end),
        }
    }
}

fn judge(cx: &Context, out: &mut Verdicts, d: &Discharge, end: PartIx) {
    let s = |title: String| say(title).on(cx, end).on(cx, d.tundish);
    match cx.key(end) {
        "open end" => {
            out.fail(
                s("the discharge pipe just ends \"outside\"".to_owned())
                    .mend("state where it ends: gully, low level with a guard, hopper, roof"),
            );
        }
        "drain point" | "container" => {
            out.fail(s(format!("a {} is no safe end for a discharge", cx.key(end))));
        }
        "low-level outlet" => low_level(cx, out, d, end),
        "hopper" | "roof outlet" if cx.declares(end, "plastic gutter within 3 m") => {
            let limit = cx.limit("DIS15.gutter");
            out.fail(s("plastic gutter within 3 m of a high end".to_owned()).limit(&limit));
        }
        kind => out.pass(s(format!("ends at a {kind}"))),
    }
}

fn low_level(cx: &Context, out: &mut Verdicts, d: &Discharge, end: PartIx) {
    let most = cx.limit("DIS15.height");
    let s = |title: String| say(title).on(cx, end).on(cx, d.tundish);
    let guarded = cx
        .flag(end, "guard")
        .unwrap_or_else(|| cx.text(end, "guard").is_some_and(|g| !["", "none", "no"].contains(&g)));
    let mut sound = true;
    if !guarded {
        sound = false;
        out.fail(s("end at low level without a cage or guard".to_owned()));
    }
    match cx.number(end, "height-above-ground") {
        Some(h) => {
            let s = s(format!("ends {:.0} mm above ground, at most {:.0} mm", h.value, most.value))
                .found(h.value, "mm")
                .limit(&most)
                .margin(most.value - h.value)
                .at(&h.span);
            if h.value > most.value {
                out.fail(s.assumed(h.assumed));
            } else if sound {
                out.pass(s.assumed(h.assumed));
            }
        }
        None => out.fail(
            s("height of the low-level end not stated".to_owned())
                .limit(&most)
                .severity(Severity::Advice),
        ),
    }
}
