//! Numbers that can't be right, and sizes taken to the wrong face.

use crate::check::context::{CYLINDERS, Known};
use crate::check::report::{Verdicts, say};
use crate::check::rule::Rule;
use crate::check::{Context, Severity};
use crate::model::{Datum, PartIx, Value};

pub const RULES: &[Rule] = &[Rule {
    id: "FIT11",
    severity: Severity::Error,
    title: "impossible number",
    what: "A number that no such part can have: negative, a port above its cylinder, a size in \
           the wrong unit.",
    why: "A slip of the keyboard runs through every sum and every sheet.",
    source: "common practice",
    mend: "check the figure and its unit",
    run: impossible,
}];

pub const DATUM: &[Rule] = &[Rule {
    id: "FIT13",
    severity: Severity::Warning,
    title: "sizes taken to studs, not to the finish",
    what: "A cupboard measured to its studs or joists and used as if finished.",
    why: "Lining takes 15 mm a wall and boards up to 75 mm of height.",
    source: "common practice",
    mend: "measure to the finish, or take the linings off",
    run: datum,
}];

/// Figures with a plausible range: kinds, attribute, name in the table of limits.
const RANGES: &[(&[&str], &str, &str)] = &[
    (&["system boiler", "combination boiler", "heat pump"], "kw", "source-kw"),
    (&CYLINDERS, "litres", "cylinder-litres"),
    (&CYLINDERS, "diameter", "cylinder-diameter"),
    (&CYLINDERS, "height", "cylinder-height"),
    (&CYLINDERS, "stored", "stored"),
    (&["immersion heater"], "kw", "immersion-kw"),
    (&["water main"], "static", "static"),
    (
        &[
            "reducing valve",
            "expansion relief valve",
            "temperature and pressure relief valve",
            "safety valve",
        ],
        "setting",
        "setting",
    ),
];

fn ranged(
    cx: &Context,
    out: &mut Verdicts,
    part: Option<PartIx>,
    what: &str,
    k: &Known,
    name: &str,
) {
    let least = cx.limit(&format!("FIT11.{name}-least"));
    let most = cx.limit(&format!("FIT11.{name}-most"));
    let limit = if k.value < least.value { &least } else { &most };
    if (least.value..=most.value).contains(&k.value) {
        return;
    }
    let s = say(format!(
        "{what} of {} {}, plausible {} to {}",
        k.value, limit.unit, least.value, most.value
    ))
    .found(k.value, limit.unit)
    .limit(limit)
    .margin(if k.value < least.value { k.value - least.value } else { most.value - k.value })
    .at(&k.span)
    .assumed(k.assumed);
    out.fail(match part {
        Some(part) => s.on(cx, part),
        None => s.on_tag("cupboard"),
    });
}

fn impossible(cx: &Context, out: &mut Verdicts) {
    for (kinds, key, name) in RANGES {
        for part in cx.of_any(kinds) {
            if let Some(k) = cx.number(part, key) {
                ranged(cx, out, Some(part), key, &k, name);
            }
        }
    }
    ports(cx, out);
    negatives(cx, out);
    if let Some(c) = &cx.system.site.cupboard {
        let mut side = |what: &str, v: &Value<f64>, name: &str| {
            ranged(cx, out, None, what, &Known::of(v), name);
        };
        side("cupboard width", &c.width, "cupboard");
        side("cupboard depth", &c.depth, "cupboard");
        side("cupboard height", &c.height, "cupboard");
        if let Some(door) = &c.door {
            side("door width", &door.clear_width, "door");
            side("door height", &door.clear_height, "door");
        }
    }
}

fn ports(cx: &Context, out: &mut Verdicts) {
    for cylinder in cx.of_any(&CYLINDERS) {
        let Some(height) = cx.number(cylinder, "height") else { continue };
        if cx.flag(cylinder, "horizontal") == Some(true) {
            continue;
        }
        for key in cx.system.part(cylinder).attrs.0.keys() {
            if !(key.starts_with("port.") && key.ends_with(".height")) {
                continue;
            }
            let Some(port) = cx.number(cylinder, key) else { continue };
            if port.value > height.value {
                out.fail(
                    say(format!(
                        "{} {} mm on a cylinder of {} mm",
                        key.trim_start_matches("port.").trim_end_matches(".height"),
                        port.value,
                        height.value
                    ))
                    .on(cx, cylinder)
                    .found(port.value, "mm")
                    .against(height.value)
                    .margin(height.value - port.value)
                    .assumed(port.assumed || height.assumed)
                    .at(&port.span),
                );
            }
        }
    }
}

/// Angles and offsets may be negative; nothing else may.
fn may_be_negative(key: &str) -> bool {
    key.contains("angle") || key.contains("offset") || ["x", "y", "z", "turn"].contains(&key)
}

fn negatives(cx: &Context, out: &mut Verdicts) {
    for ix in cx.system.part_ixs() {
        for (key, value) in &cx.system.part(ix).attrs.0 {
            let Datum::Number(n) = value.value else { continue };
            if n.is_finite() && (n >= 0.0 || may_be_negative(key)) {
                continue;
            }
            out.fail(
                say(format!("{key} of {n}"))
                    .on(cx, ix)
                    .found(n, "")
                    .against(0.0)
                    .margin(n)
                    .at(&value.origin.span().unwrap_or_default())
                    .assumed(value.origin.is_assumed()),
            );
        }
    }
    for pipe in &cx.system.pipes {
        for (what, value) in
            [("length", &pipe.length), ("elbows", &pipe.elbows), ("lagging", &pipe.lagging)]
        {
            let Some(v) = value.as_ref().filter(|v| v.value < 0.0) else { continue };
            out.fail(
                say(format!("{what} of {}", v.value))
                    .on_tag(&pipe.id)
                    .found(v.value, "")
                    .against(0.0)
                    .margin(v.value)
                    .at(&v.origin.span().unwrap_or_default())
                    .assumed(v.origin.is_assumed()),
            );
        }
    }
}

fn datum(cx: &Context, out: &mut Verdicts) {
    let Some(cupboard) = &cx.system.site.cupboard else { return };
    let datum = &cupboard.datum;
    if datum.value.contains("stud") || datum.value.contains("joist") {
        let lined = cupboard.walls.iter().any(|w| w.attrs.number("lining").is_some())
            || cupboard.floor.attrs.number("build-up").is_some();
        let s = say(format!("cupboard measured to {}", datum.value))
            .on_tag("cupboard")
            .at(&datum.origin.span().unwrap_or_default())
            .assumed(datum.origin.is_assumed());
        if lined {
            out.pass(say("linings are stated").on_tag("cupboard"));
        } else {
            out.fail(s);
        }
    } else if [&cupboard.width, &cupboard.depth, &cupboard.height]
        .iter()
        .any(|v| !v.origin.is_assumed())
    {
        // Of sizes that are assumed nothing was measured.
        let s = say(format!("cupboard measured to {}", datum.value)).on_tag("cupboard");
        out.pass(s.assumed(datum.origin.is_assumed()));
    }
}
