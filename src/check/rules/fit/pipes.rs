//! Pipes: too close together, tails off their line, the order in which they go in.

use crate::check::context::CYLINDERS;
use crate::check::report::{Verdicts, say};
use crate::check::rule::Rule;
use crate::check::space::{axis, company};
use crate::check::{Context, Severity};
use crate::layout::cupboard::plan::{Owner, Solid};
use crate::model::{PipeIx, PortRef, Side};

pub const SPACING: &[Rule] = &[Rule {
    id: "FIT07",
    severity: Severity::Warning,
    title: "pipes too close together",
    what: "Two pipes side by side whose outsides, lagging included, are less than 20 mm apart.",
    why: "Fittings and lagging do not go on.",
    source: "common practice",
    mend: "space the pipes apart",
    run: spacing,
}];

pub const TAILS: &[Rule] = &[Rule {
    id: "FIT09",
    severity: Severity::Warning,
    title: "tail off the line of its port",
    what: "A tail that comes out more than 150 mm off the line of the cylinder port it leads \
           straight to.",
    why: "It costs two elbows and a second hole.",
    source: "common practice",
    mend: "move the tail before the wall is plastered",
    run: tails,
}];

pub const ORDER: &[Rule] = &[Rule {
    id: "FIT12",
    severity: Severity::Warning,
    title: "pipe behind the cylinder not marked to go in first",
    what: "A pipe that runs behind the cylinder and is not marked to be fixed before it.",
    why: "With the cylinder in, nobody reaches it.",
    source: "common practice",
    mend: "mark it \"fix before cylinder\", or take it another way",
    run: order,
}];

fn spacing(cx: &Context, out: &mut Verdicts) {
    let Some(plan) = cx.cupboard else { return };
    let (gap, along) = (cx.limit("FIT07.gap"), cx.limit("FIT07.along"));
    let mut sound = true;
    for (i, a) in plan.routes.iter().enumerate().filter(|(_, r)| r.routed) {
        for b in plan.routes[i + 1..].iter().filter(|r| r.routed) {
            let lagging = a.lagging + b.lagging;
            let (length, bare) = company(a, b, gap.value + lagging - 0.5);
            if length > along.value {
                sound = false;
                let found = bare - lagging;
                out.fail(
                    say(format!("two pipes {found:.0} mm apart over {length:.0} mm"))
                        .on_tag(cx.pipe_id(a.pipe))
                        .on_tag(cx.pipe_id(b.pipe))
                        .found(found, "mm")
                        .limit(&gap)
                        .margin(found - gap.value),
                );
            }
        }
    }
    if sound && plan.routes.len() > 1 {
        out.pass(say(format!("pipes keep {:.0} mm apart", gap.value)).limit(&gap));
    }
}

/// How far a tail stands off the line of a port, measured across the way the tail comes out.
fn offset(cx: &Context, pipe: PipeIx, port: PortRef) -> Option<f64> {
    let tail = cx.system.pipe(pipe).tail.as_ref()?;
    let at = cx.port_place(port)?;
    let d = |v: &Option<crate::model::Value<f64>>, p: f64| v.as_ref().map(|v| v.value - p);
    let (x, y, z) = (d(&tail.x, at.x), d(&tail.y, at.y), d(&tail.z, at.z));
    let (a, b) = match tail.side.as_ref()?.value {
        Side::Floor | Side::Ceiling => (x?, y?),
        Side::Left | Side::Right => (y?, z?),
        Side::Back | Side::Front => (x?, z?),
    };
    Some((a * a + b * b).sqrt())
}

fn tails(cx: &Context, out: &mut Verdicts) {
    let most = cx.limit("FIT09.offset");
    for pipe in cx.system.pipe_ixs() {
        let p = cx.system.pipe(pipe);
        let Some(port) = [p.from, p.to].into_iter().find(|e| cx.is_any(e.part, &CYLINDERS)) else {
            continue;
        };
        let Some(off) = offset(cx, pipe, port) else { continue };
        let s = say(format!("tail {off:.0} mm off its port's line, at most {:.0} mm", most.value))
            .on(cx, port.part)
            .on_tag(&p.id)
            .found(off, "mm")
            .limit(&most)
            .margin(most.value - off);
        if off > most.value {
            out.fail(s);
        } else {
            out.pass(s);
        }
    }
}

fn order(cx: &Context, out: &mut Verdicts) {
    let Some(plan) = cx.cupboard else { return };
    for cylinder in cx.of_any(&CYLINDERS) {
        let of_itself = |s: &&Solid| s.owner == Owner::Part(cylinder);
        let Some(solid) = cx.solid(cylinder).filter(of_itself) else { continue };
        let (x, y) = axis(&solid.at);
        let reach = solid.at.w / 2.0;
        for route in plan.routes.iter().filter(|r| r.routed) {
            let behind = route.points.windows(2).any(|w| {
                let low = w[0].z.min(w[1].z);
                let within =
                    w[0].x.min(w[1].x) < x + reach * 0.7 && w[0].x.max(w[1].x) > x - reach * 0.7;
                within && w[0].y.max(w[1].y) < y - reach && low < solid.at.z + solid.at.h
            });
            if !behind {
                continue;
            }
            let s = |title: &str| say(title).on_tag(cx.pipe_id(route.pipe)).on(cx, cylinder);
            if route.before_cylinder {
                out.pass(s("runs behind the cylinder, marked to be fixed before it"));
            } else {
                out.fail(s("runs behind the cylinder and is not marked to go in first"));
            }
        }
    }
}
