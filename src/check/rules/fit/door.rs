//! Through the door and upright.

use crate::check::context::{CYLINDERS, Known};
use crate::check::report::{Verdicts, say};
use crate::check::rule::Rule;
use crate::check::{Context, Severity};
use crate::model::PartIx;

pub const RULES: &[Rule] = &[
    Rule {
        id: "FIT01",
        severity: Severity::Error,
        title: "cylinder too wide for the door",
        what: "A cylinder whose diameter and 10 mm are more than the clear width of the door, so \
               that it can't be carried in.",
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

/// Diameter and height as they are carried.
fn size(cx: &Context, cylinder: PartIx) -> Option<(Known, Known)> {
    let diameter = cx.number(cylinder, "body-diameter").or_else(|| cx.number(cylinder, "diameter"));
    Some((diameter?, cx.number(cylinder, "height")?))
}

fn door(cx: &Context, out: &mut Verdicts) {
    let room = cx.limit("FIT01.clearance");
    let Some(door) = cx.system.site.cupboard.as_ref().and_then(|c| c.door.as_ref()) else { return };
    let width = Known::of(&door.clear_width);
    for cylinder in cx.of_any(&CYLINDERS).into_iter().filter(|c| cx.stands_in_cupboard(*c)) {
        let Some((diameter, _)) = size(cx, cylinder) else { continue };
        let slack = width.value - diameter.value - room.value;
        let s = say(format!(
            "diameter {:.0} mm and {:.0} mm, door {:.0} mm clear",
            diameter.value, room.value, width.value
        ))
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
            out.pass(s);
        }
    }
}

fn tilt(cx: &Context, out: &mut Verdicts) {
    let Some(cupboard) = &cx.system.site.cupboard else { return };
    let ceiling = Known::of(&cupboard.height);
    for cylinder in cx.of_any(&CYLINDERS).into_iter().filter(|c| cx.stands_in_cupboard(*c)) {
        let Some((diameter, height)) = size(cx, cylinder) else { continue };
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
            out.pass(say(title).on(cx, cylinder));
        } else if diagonal > ceiling.value {
            out.fail(s.assumed(diameter.assumed || height.assumed || ceiling.assumed));
        } else {
            out.pass(s);
        }
    }
}
