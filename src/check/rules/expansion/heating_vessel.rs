//! Where the heating vessel joins, and the pressure it keeps.

use crate::catalogue::Closes;
use crate::check::context::{CYLINDERS, EMITTERS};
use crate::check::report::{Verdicts, say};
use crate::check::rule::Rule;
use crate::check::{Context, Severity, Way};

pub const POSITION: &[Rule] = &[Rule {
    id: "EXP08",
    severity: Severity::Warning,
    title: "heating vessel on the pressure side of the pump",
    what: "A heating vessel that joins the circuit after the pump instead of before it.",
    why: "The vessel holds its own point at rest: after the pump, the rest of the circuit falls \
          below it and draws in air.",
    source: "common practice, makers' instructions",
    mend: "join the vessel on the pump's suction side",
    run: position,
}];

pub const FILL: &[Rule] = &[Rule {
    id: "EXP12",
    severity: Severity::Warning,
    title: "heating filled too low for its height",
    what: "A charge or fill below the static head above the vessel and 0.3 bar.",
    why: "The top radiator goes under vacuum and draws air.",
    source: "BS EN 12828, from memory",
    mend: "raise charge and fill",
    run: fill,
}];

pub const WINDOW: &[Rule] = &[Rule {
    id: "EXP14",
    severity: Severity::Advice,
    title: "cold fill too narrow to hit",
    what: "Less room between the lowest and the highest cold fill than a gauge and a filling hose \
           let one keep to.",
    why: "Filled a little too low the vessel runs out of water in reserve, a little too high the \
          safety valve weeps when it is hot: the householder tops up for ever.",
    source: "common practice, no source: a gauge of 4 bar is read to a tenth",
    mend: "fit the next size of heating vessel",
    run: window,
}];

fn position(cx: &Context, out: &mut Verdicts) {
    if cx.heating_outside() {
        return;
    }
    for vessel in cx.of("heating vessel") {
        // Towards the nearest pump; loads and motor valves are no way to it.
        let way = cx.walk_from(Way::Any, vessel, &["in"], |p| {
            !cx.is(p, "pump")
                && !cx.is_any(p, &CYLINDERS)
                && !cx.is_any(p, &EMITTERS)
                && !matches!(cx.closes(p), Closes::ByMotor | Closes::Diverts | Closes::Lifts)
                && !cx.is_any(p, &["low-loss header", "buffer", "blending set", "filling loop"])
        });
        let Some(pump) = way.parts.iter().copied().find(|p| cx.is(*p, "pump")) else { continue };
        let suction = cx.port(pump, "in").is_some_and(|port| way.has_port(port));
        if suction {
            out.pass(
                say("the vessel joins on the pump's suction side").on(cx, vessel).on(cx, pump),
            );
        } else {
            out.fail(say("the vessel joins after the pump").on(cx, vessel).on(cx, pump));
        }
    }
}

fn window(cx: &Context, out: &mut Verdicts) {
    if cx.heating_outside() {
        return;
    }
    let least = cx.limit("EXP14.window");
    for figure in cx.figures("heating.fill") {
        let of = |name: &str| figure.inputs.iter().find(|i| i.name == name).map(|i| i.value);
        let (Some(from), Some(to)) = (of("lowest"), of("highest")) else {
            continue;
        };
        let vessel = cx.by_tag(&figure.about).filter(|p| cx.is(*p, "heating vessel"));
        let vessel = vessel.or_else(|| cx.of("heating vessel").first().copied());
        let Some(vessel) = vessel.filter(|_| from <= to) else { continue };
        let s = say(format!("cold fill between {from:.2} and {to:.2} bar"))
            .on(cx, vessel)
            .found(to - from, "bar")
            .limit(&least)
            .margin(to - from - least.value);
        if to - from < least.value {
            out.fail(s.assumed(figure.assumed));
        } else {
            out.pass(s.assumed(figure.assumed));
        }
    }
}

fn fill(cx: &Context, out: &mut Verdicts) {
    if cx.heating_outside() {
        return;
    }
    let margin = cx.limit("EXP12.margin");
    for figure in cx.figures("heating.least-charge") {
        let about = cx.by_tag(&figure.about);
        let vessel = about.filter(|p| cx.is(*p, "heating vessel"));
        let vessel = vessel.or_else(|| cx.of("heating vessel").first().copied());
        let Some(vessel) = vessel else { continue };
        let Some(charge) = cx.number(vessel, "charge") else { continue };
        let s = say(format!(
            "vessel charged to {} bar, at least {:.2} bar for the height above it",
            charge.value, figure.value
        ))
        .on(cx, vessel)
        .found(charge.value, "bar")
        .limit(&margin)
        .against(figure.value)
        .margin(charge.value - figure.value)
        .at(&charge.span);
        if charge.value + 0.005 < figure.value {
            out.fail(s.assumed(charge.assumed || figure.assumed));
        } else {
            out.pass(s.assumed(charge.assumed || figure.assumed));
        }
    }
}
