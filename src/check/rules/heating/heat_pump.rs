//! What a heat pump needs: water that stays open to it, and coil surface.

use crate::catalogue::Closes;
use crate::check::report::{Verdicts, say};
use crate::check::rule::Rule;
use crate::check::{Context, Severity, Way};
use crate::model::PartIx;

pub const RULES: &[Rule] = &[
    Rule {
        id: "HTG12",
        severity: Severity::Warning,
        title: "too little open water for the heat pump",
        what: "Less water open to the heat pump, with every zone shut, than its maker asks for.",
        why: "It starts and stops every few minutes and can't defrost.",
        source: "maker's stated minimum",
        mend: "add a volumiser or a buffer, or leave one zone open",
        run: open_water,
    },
    Rule {
        id: "HTG13",
        severity: Severity::Warning,
        title: "coil too small for the heat pump",
        what: "Less than 0.25 m2 of coil for each kW of the heat pump.",
        why: "A heat pump gives its heat at a low temperature; through a small coil it trips.",
        source: "common practice",
        mend: "take a cylinder with a heat-pump coil",
        run: coil,
    },
];

/// Water that stays open to the source when every motor valve is shut, litres; from what is stated.
fn open_litres(cx: &Context, source: PartIx) -> f64 {
    let open = cx.walk_from(Way::Any, source, &["flow", "return"], |p| {
        !matches!(cx.closes(p), Closes::ByMotor | Closes::Lifts) && !cx.is(p, "filling loop")
    });
    let mut litres = cx.number(source, "water").map_or(0.0, |w| w.value);
    let mut pipes = std::collections::BTreeSet::new();
    for part in &open.parts {
        let key = if cx.is_any(*part, &["buffer", "volumiser"]) { "litres" } else { "water" };
        let vessel = cx.is_any(*part, &["heating vessel", "hot-water vessel"]);
        if !vessel && !cx.is_any(*part, &crate::check::context::CYLINDERS) {
            litres += cx.number(*part, key).map_or(0.0, |w| w.value);
        }
        if !cx.can_shut(*part) {
            pipes.extend(cx.pipes_of(*part));
        }
    }
    for pipe in pipes {
        if let (Some(tube), Some(length)) = (cx.tube(pipe), cx.length(pipe)) {
            litres += tube.content() * length.value;
        }
    }
    litres
}

fn open_water(cx: &Context, out: &mut Verdicts) {
    for pump in cx.of("heat pump") {
        let Some(least) = cx.number(pump, "min-litres") else { continue };
        let stated = cx.number(pump, "open-litres");
        let figure = cx.figure("heat-pump.open-volume", cx.tag(pump));
        let (found, guessed) = match (&stated, figure) {
            (Some(k), _) => (k.value, k.assumed),
            (None, Some(f)) => (f.value, f.assumed),
            (None, None) => (open_litres(cx, pump), false),
        };
        let s = say(format!("{found:.0} l open to the heat pump, at least {:.0} l", least.value))
            .on(cx, pump)
            .found(found, "l")
            .against(least.value)
            .margin(found - least.value)
            .at(&least.span);
        if found + 1e-9 < least.value {
            out.fail(s.assumed(guessed || least.assumed));
        } else {
            out.pass(s);
        }
    }
}

fn coil(cx: &Context, out: &mut Verdicts) {
    let least = cx.limit("HTG13.area");
    for store in &cx.stores {
        for coil in store.coils.iter().filter(|c| !c.solar) {
            let Some(pump) = coil.sources.iter().copied().find(|s| cx.is(*s, "heat pump")) else {
                continue;
            };
            let area = cx.number(store.cylinder, "coil-area");
            let (Some(area), Some(kw)) = (area, cx.number(pump, "kw")) else { continue };
            if kw.value <= 0.0 {
                continue;
            }
            let each = area.value / kw.value;
            let s = say(format!("{each:.2} m2 of coil a kW, at least {} m2", least.value))
                .on(cx, store.cylinder)
                .on(cx, pump)
                .found(each, least.unit)
                .limit(&least)
                .margin(each - least.value)
                .at(&area.span);
            if each + 1e-9 < least.value {
                out.fail(s.assumed(area.assumed || kw.assumed));
            } else {
                out.pass(s);
            }
        }
    }
}
