//! Through the door and upright.

use crate::check::context::{CYLINDERS, Known};
use crate::check::report::{Verdicts, say};
use crate::check::rule::Rule;
use crate::check::{Context, Severity};
use crate::layout::cupboard::plan::Owner;
use crate::model::{PartIx, whole_mm};

pub const RULES: &[Rule] = &[
    Rule {
        id: "FIT01",
        severity: Severity::Error,
        title: "cylinder too wide for the door",
        what: "A cylinder whose diameter and 10 mm are more than the clear width of the door, so \
               that it can't be carried in; of a factory-fitted unit the case.",
        why: "It stands in the hall with the water off.",
        source: "common practice",
        mend: "take a slim cylinder, two small ones, or the door lining out",
        run: door,
    },
    Rule {
        id: "FIT02",
        severity: Severity::Error,
        title: "cylinder that can't be stood up",
        what: "A cylinder too tall to be walked in upright, whose diagonal is more than the \
               height of the room, so that it can't be tilted up inside.",
        why: "A cylinder stands up about its lower edge; the far corner swings higher than its \
              own height.",
        source: "geometry",
        mend: "take a lower cylinder, or tilt it outside and walk it in",
        run: tilt,
    },
];

/// What is carried in.
struct Carried<'a> {
    /// "diameter", or of a unit in a case what of it has to pass.
    what: &'static str,
    /// "FU1" where it comes in a case: the tag that is on the sheets.
    case: Option<&'a str>,
    /// What of the width nobody has stated: whence it is.
    whence: String,
    /// The narrower way through a door.
    wide: Known,
    tall: Known,
}

/// The cylinder; of a factory-fitted unit its case, which comes whole.
fn carried<'a>(cx: &'a Context, cylinder: PartIx) -> Option<Carried<'a>> {
    let diameter = cx.number(cylinder, "body-diameter").or_else(|| cx.number(cylinder, "diameter"));
    let (wide, tall) = (diameter?, cx.number(cylinder, "height")?);
    let unit = cx
        .system
        .part(cylinder)
        .unit
        .filter(|u| cx.system.unit(*u).kind.key == "factory-fitted unit");
    let case = cx.solid(cylinder).filter(|s| unit.is_some_and(|u| s.owner == Owner::Unit(u)));
    let Some((case, unit)) = case.zip(unit) else {
        return Some(Carried { what: "diameter", case: None, whence: String::new(), wide, tall });
    };
    // Figures of the case that nobody states follow from the cylinder's.
    let attrs = &cx.system.unit(unit).attrs;
    let known = |value: f64, key: &str, of: &Known| Known {
        value,
        assumed: attrs.number(key).map_or(of.assumed, |_| attrs.is_assumed(key)),
        span: of.span.clone(),
    };
    let narrow = case.at.w.min(case.at.d);
    let stated = ["width", "depth"].iter().any(|key| attrs.number(key).is_some());
    let whence = match stated {
        true => String::new(),
        false => format!(
            " (its cylinder's {} mm and {} mm for pipes and frame, common practice)",
            whole_mm(wide.value),
            whole_mm(narrow - wide.value)
        ),
    };
    Some(Carried {
        what: "case",
        case: Some(&cx.system.unit(unit).tag),
        whence,
        wide: known(narrow, "width", &wide),
        tall: known(case.at.h, "height", &tall),
    })
}

fn door(cx: &Context, out: &mut Verdicts) {
    let room = cx.limit("FIT01.clearance");
    let Some(door) = cx.system.site.cupboard.as_ref().and_then(|c| c.door.as_ref()) else { return };
    let width = Known::of(&door.clear_width);
    for cylinder in cx.of_any(&CYLINDERS).into_iter().filter(|c| cx.stands_in_cupboard(*c)) {
        let Some(Carried { what, case, whence, wide: diameter, .. }) = carried(cx, cylinder) else {
            continue;
        };
        let slack = width.value - diameter.value - room.value;
        let s = say(format!(
            "{what} {:.0} mm{whence} and {:.0} mm, door {:.0} mm clear",
            diameter.value, room.value, width.value
        ));
        // What is carried in is the case: a slim cylinder makes no slim one.
        let s = match case {
            Some(tag) => s.on_tag(tag).mend(
                "take a unit whose case passes, one that its maker sends in pieces, or a cylinder \
                 with its parts fitted on site",
            ),
            None => s,
        };
        let s = s
            .on(cx, cylinder)
            .found(diameter.value, "mm")
            .limit(&room)
            .against(width.value - room.value)
            .margin(slack)
            .at(&width.span)
            .at(&diameter.span);
        if slack < 0.0 {
            out.fail(s.assumed(diameter.assumed || width.assumed));
        } else {
            out.pass(s.assumed(diameter.assumed || width.assumed));
        }
    }
}

fn tilt(cx: &Context, out: &mut Verdicts) {
    let Some(cupboard) = &cx.system.site.cupboard else { return };
    let ceiling = Known::of(&cupboard.height);
    for cylinder in cx.of_any(&CYLINDERS).into_iter().filter(|c| cx.stands_in_cupboard(*c)) {
        let Some(Carried { wide: diameter, tall: height, .. }) = carried(cx, cylinder) else {
            continue;
        };
        let lying = cx.flag(cylinder, "horizontal") == Some(true);
        let upright_through =
            cupboard.door.as_ref().is_some_and(|d| d.clear_height.value >= height.value);
        if lying {
            continue;
        }
        let diagonal = (diameter.value * diameter.value + height.value * height.value).sqrt();
        let s = say(format!("diagonal {diagonal:.0} mm, ceiling {:.0} mm", ceiling.value))
            .on(cx, cylinder)
            .found(diagonal, "mm")
            .against(ceiling.value)
            .margin(ceiling.value - diagonal)
            .at(&ceiling.span)
            .at(&height.span);
        if upright_through && height.value <= ceiling.value {
            let title = format!("{:.0} mm tall, walks in upright", height.value);
            out.pass(say(title).on(cx, cylinder).assumed(height.assumed || ceiling.assumed));
        } else if height.value > ceiling.value {
            let s = say(format!(
                "{:.0} mm tall, the room is {:.0} mm high: it does not go in at all",
                height.value, ceiling.value
            ))
            .on(cx, cylinder)
            .found(height.value, "mm")
            .against(ceiling.value)
            .margin(ceiling.value - height.value)
            .at(&ceiling.span)
            .at(&height.span)
            .mend("take a lower cylinder or a higher room: no tilting helps");
            out.fail(s.assumed(height.assumed || ceiling.assumed));
        } else if diagonal > ceiling.value {
            out.fail(s.assumed(diameter.assumed || height.assumed || ceiling.assumed));
        } else {
            out.pass(s.assumed(diameter.assumed || height.assumed || ceiling.assumed));
        }
    }
}
