//! Room to draw an element out.

use crate::check::context::Known;
use crate::check::report::{Verdicts, say};
use crate::check::rule::Rule;
use crate::check::space::axis;
use crate::check::{Context, Severity};
use crate::model::{Box3, PartIx};

pub const RULES: &[Rule] = &[Rule {
    id: "FIT03",
    severity: Severity::Error,
    title: "element that can't be drawn out",
    what: "Less free space before an immersion heater, anode or coil than its length and its \
           boss.",
    why: "It can't be changed without taking the cylinder out.",
    source: "common practice",
    mend: "turn the cylinder so that the element faces the door",
    run: withdrawal,
}];

/// The cylinder's footprint, as placed or as stated.
fn footprint(cx: &Context, cylinder: PartIx) -> Option<(Box3, bool)> {
    if let Some(solid) = cx.solid(cylinder) {
        return Some((solid.at, false));
    }
    let place = &cx.system.part(cylinder).place;
    let (x, y) = (place.x.as_ref()?, place.y.as_ref()?);
    let diameter = cx.number(cylinder, "diameter")?;
    let height = cx.number(cylinder, "height")?;
    let d = diameter.value;
    let at = Box3 { x: x.value - d / 2.0, y: y.value - d / 2.0, z: 0.0, w: d, d, h: height.value };
    Some((at, diameter.assumed || x.origin.is_assumed() || y.origin.is_assumed()))
}

/// Free way out of a round body along a clock angle to the first wall, mm; `None` = out through
/// the door. Angle 0 faces the door, clockwise from above.
fn free_way(cx: &Context, at: &Box3, angle: f64) -> Option<f64> {
    let cupboard = cx.system.site.cupboard.as_ref()?;
    let room = cupboard.room();
    let a = angle.to_radians();
    let (dx, dy) = (-libm::sin(a), libm::cos(a));
    let (cx0, cy0) = axis(at);
    let to = |origin: f64, step: f64, far: f64| {
        if step > 1e-6 {
            (far - origin) / step
        } else if step < -1e-6 {
            -origin / step
        } else {
            f64::INFINITY
        }
    };
    let (side, end) = (to(cx0, dx, room.w), to(cy0, dy, room.d));
    // Through the front it goes on into the room beyond, where the door opening lets it.
    let through_front = end < side && dy > 0.0;
    if through_front {
        let x = cx0 + dx * end;
        let opening = cupboard.door.as_ref().is_none_or(|door| {
            let left = door.from_left.value;
            x >= left - 1.0 && x <= left + door.clear_width.value + 1.0
        });
        if opening {
            return None;
        }
    }
    Some((side.min(end) - at.w / 2.0).max(0.0))
}

fn withdrawal(cx: &Context, out: &mut Verdicts) {
    let boss = cx.limit("FIT03.boss");
    let Some(cupboard) = &cx.system.site.cupboard else { return };
    for store in cx.stores.iter().filter(|s| cx.stands_in_cupboard(s.cylinder)) {
        let Some((at, place_assumed)) = footprint(cx, store.cylinder) else { continue };
        let turn = cx.system.part(store.cylinder).place.turn.as_ref().map_or(0.0, |t| t.value);
        let top_room = (cupboard.height.value - at.z - at.h).max(0.0);
        for heater in &store.immersions {
            let Some(length) = cx.number(*heater, "length") else { continue };
            let angle = cx
                .number(*heater, "angle")
                .or_else(|| cx.number(store.cylinder, "port.boss.angle"))
                .unwrap_or(Known { value: 0.0, assumed: true, span: 0..0 });
            let from_top = cx.text(*heater, "position") == Some("top");
            let free =
                if from_top { Some(top_room) } else { free_way(cx, &at, angle.value + turn) };
            judge(cx, out, store.cylinder, Some(*heater), &length, boss.value, free, place_assumed);
        }
        // An anode or a coil from the top, as the maker states it.
        if let Some(length) = cx.number(store.cylinder, "withdrawal") {
            judge(
                cx,
                out,
                store.cylinder,
                None,
                &length,
                boss.value,
                Some(top_room),
                place_assumed,
            );
        }
    }
}

#[allow(clippy::too_many_arguments, reason = "one call a withdrawal, all of it judged")]
fn judge(
    cx: &Context,
    out: &mut Verdicts,
    cylinder: PartIx,
    heater: Option<PartIx>,
    length: &Known,
    boss: f64,
    free: Option<f64>,
    place_assumed: bool,
) {
    let needs = length.value + boss;
    let s = |title: String| say(title).on_all(cx, heater).on(cx, cylinder).at(&length.span);
    match free {
        None => out.pass(s("the element draws out through the door".to_owned())),
        Some(free) => {
            let s = s(format!("element needs {needs:.0} mm to be drawn out, {free:.0} mm free"))
                .found(free, "mm")
                .against(needs)
                .margin(free - needs);
            if free < needs {
                out.fail(s.assumed(length.assumed || place_assumed));
            } else {
                out.pass(s.assumed(length.assumed || place_assumed));
            }
        }
    }
}
