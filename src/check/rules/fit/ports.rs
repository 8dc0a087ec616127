//! Ports that face a wall.

use crate::check::context::CYLINDERS;
use crate::check::report::{Verdicts, say};
use crate::check::rule::Rule;
use crate::check::{Context, Severity};
use crate::layout::cupboard::plan::Owner;
use crate::model::{PortRef, Side};

pub const RULES: &[Rule] = &[Rule {
    id: "FIT10",
    severity: Severity::Error,
    title: "port too close to the wall it faces",
    what: "A joined port of a cylinder less than 120 mm from the wall it faces.",
    why: "The joint can't be tightened.",
    source: "common practice",
    mend: "turn the cylinder, or move it off the wall",
    run: faces_wall,
}];

fn faces_wall(cx: &Context, out: &mut Verdicts) {
    let least = cx.limit("FIT10.wall");
    let Some(plan) = cx.cupboard else { return };
    let room = plan.room;
    for cylinder in cx.of_any(&CYLINDERS) {
        let Some(solid) = cx.solid(cylinder).filter(|s| s.owner == Owner::Part(cylinder)) else {
            continue;
        };
        for port in &solid.ports {
            if cx.pipe_at(PortRef { part: cylinder, port: port.port }).is_none() {
                continue;
            }
            let wall = match port.out {
                Side::Left => port.at.x - room.x,
                Side::Right => room.x + room.w - port.at.x,
                Side::Back => port.at.y - room.y,
                // Before the door and above the top there is room, or another rule speaks.
                Side::Front | Side::Floor | Side::Ceiling => continue,
            };
            let name = &cx.system.part(cylinder).kind.ports[port.port].name;
            let s = say(format!("{name} port {wall:.0} mm from the wall it faces"))
                .on(cx, cylinder)
                .found(wall, "mm")
                .limit(&least)
                .margin(wall - least.value);
            if wall + 0.5 < least.value {
                out.fail(s);
            } else {
                out.pass(s);
            }
        }
    }
}
