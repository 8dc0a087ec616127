//! Bodies: through one another, without hand space, under the ceiling, in the door's way, hidden.

use std::collections::BTreeMap;

use crate::check::context::{CYLINDERS, Known};
use crate::check::report::{Say, Verdicts, say};
use crate::check::rule::Rule;
use crate::check::space::{gap_to_box, pierced, sunk};
use crate::check::{Context, Severity};
use crate::layout::cupboard::plan::{Fault, Owner, Solid, Trouble};
use crate::model::{Box3, PartIx, PipeIx, Side};

pub const OVERLAP: &[Rule] = &[Rule {
    id: "FIT04",
    severity: Severity::Error,
    title: "two things in one place",
    what: "A body through a body, a pipe through a body it does not join, a body through a wall, \
           or a part or pipe for which no place was found.",
    why: "It can't be built as drawn.",
    source: "geometry",
    mend: "give one of them another place, or take a smaller part",
    run: overlap,
}];

pub const ACCESS: &[Rule] = &[Rule {
    id: "FIT05",
    severity: Severity::Warning,
    title: "serviced part out of reach",
    what: "A part that has to be served without 150 mm of hand space before it, or behind the \
           cylinder.",
    why: "It is then never served.",
    source: "common practice",
    mend: "move it, or turn the cylinder",
    run: access,
}];

pub const OVERHEAD: &[Rule] = &[Rule {
    id: "FIT06",
    severity: Severity::Warning,
    title: "no room over the cylinder",
    what: "Less than 200 mm between the top of the cylinder and the ceiling.",
    why: "The hot joint can't be made nor a vent fitted.",
    source: "common practice",
    mend: "lower the plinth, or take an elbow to the side",
    run: overhead,
}];

pub const DOOR_SWEEP: &[Rule] = &[Rule {
    id: "FIT08",
    severity: Severity::Warning,
    title: "something in the way of the door",
    what: "A part or pipe within the sweep of a door that opens inwards.",
    why: "The door will not shut, or knocks it.",
    source: "common practice",
    mend: "shift the part, or hang the door outwards",
    run: sweep,
}];

pub const HIDDEN: &[Rule] = &[Rule {
    id: "FIT14",
    severity: Severity::Error,
    title: "tundish or group hidden behind something",
    what: "A tundish behind a body, a shelf or a duct as seen from the door, or an inlet group \
           behind a shelf or a duct; as advice, a tundish more than a third behind pipes.",
    why: "Nobody sees it drip.",
    source: "common practice; Approved Document G, paragraph 3.55",
    mend: "move the shelf, or cut it out",
    run: hidden,
}];

/// Overlap that rounding explains, mm.
const HAIR: f64 = 0.5;

/// The part or unit that bears a body, and what it holds or stands on.
fn kin(cx: &Context, a: &Solid, b: &Solid) -> bool {
    let host = |s: &Solid, t: &Solid| match (s.owner, t.owner) {
        (Owner::Part(p), Owner::Part(q)) => cx.system.part(p).on == Some(q),
        (Owner::Part(p), Owner::Unit(u)) => {
            let part = cx.system.part(p);
            part.unit == Some(u) || part.on.is_some_and(|h| cx.system.part(h).unit == Some(u))
        }
        _ => false,
    };
    host(a, b) || host(b, a)
}

fn overlap(cx: &Context, out: &mut Verdicts) {
    let Some(plan) = cx.cupboard else {
        stated_places(cx, out);
        return;
    };
    let mut sound = true;
    for fault in &plan.faults {
        sound = false;
        let s = fault.parts.iter().fold(of_the_layout(cx, fault), |s, t| s.on_tag(t));
        out.fail(s);
    }
    for (i, a) in plan.solids.iter().enumerate() {
        for b in plan.solids[i + 1..].iter().filter(|b| !kin(cx, a, b)) {
            let deep = sunk(a, b);
            // The layout may have said so already.
            let told =
                plan.faults.iter().any(|f| f.parts.contains(&a.tag) && f.parts.contains(&b.tag));
            if deep > HAIR && !told {
                sound = false;
                out.fail(
                    say(format!("two bodies share {deep:.0} mm"))
                        .on_tag(&a.tag)
                        .on_tag(&b.tag)
                        .found(deep, "mm")
                        .against(0.0)
                        .margin(-deep),
                );
            }
        }
        for obstacle in cx.system.site.cupboard.iter().flat_map(|c| &c.obstacles) {
            let as_solid = Solid {
                at: obstacle.at,
                form: crate::layout::cupboard::plan::Form::Box,
                ..a.clone()
            };
            let deep = sunk(a, &as_solid);
            if deep > HAIR {
                sound = false;
                let title = format!("a body runs {deep:.0} mm into \"{}\"", obstacle.name);
                out.fail(say(title).on_tag(&a.tag).found(deep, "mm").margin(-deep));
            }
        }
    }
    for route in &plan.routes {
        let pipe = cx.system.pipe(route.pipe);
        let ends = [pipe.from.part, pipe.to.part];
        let joins = |s: &Solid| {
            ends.iter().any(|e| {
                let part = cx.system.part(*e);
                s.owner == Owner::Part(*e)
                    || part.unit.is_some_and(|u| s.owner == Owner::Unit(u))
                    || part.on.is_some_and(|h| s.owner == Owner::Part(h))
            })
        };
        for solid in plan.solids.iter().filter(|s| !joins(s)) {
            let deep = pierced(route, solid);
            let told = plan
                .faults
                .iter()
                .any(|f| f.parts.contains(&pipe.id) && f.parts.contains(&solid.tag));
            if deep > HAIR && route.routed && !told {
                sound = false;
                out.fail(
                    say(format!("a pipe runs {deep:.0} mm into a body"))
                        .on_tag(&solid.tag)
                        .on_tag(&pipe.id)
                        .found(deep, "mm")
                        .against(0.0)
                        .margin(-deep),
                );
            }
        }
    }
    if sound && !plan.solids.is_empty() {
        out.pass(say("nothing stands in anything else"));
    }
}

/// What the layout could not do, under the name that fits it, and what mends that.
fn of_the_layout(cx: &Context, fault: &Fault) -> Say {
    let s = say(fault.what.clone());
    match fault.trouble {
        Trouble::Size => s.alone().mend("take a smaller one, or a larger cupboard"),
        Trouble::Place => s
            .heading("part with no place")
            .mend("give it another place, take a smaller part, or move what stands in its way"),
        Trouble::Way => s
            .heading("pipe with no free way")
            .mend("move what stands in its way, or its tail, or take a larger cupboard"),
        Trouble::Tail => of_a_tail(cx, fault, s),
    }
}

/// Its figures are the finding: each tail stands by itself, at its line of the text.
fn of_a_tail(cx: &Context, fault: &Fault, s: Say) -> Say {
    let tail = fault.pipe.and_then(|pipe| cx.system.pipe(pipe).tail.as_ref());
    let stated = tail.and_then(|t| t.x.as_ref().or(t.y.as_ref()).or(t.z.as_ref()));
    let at = stated.and_then(|v| v.origin.span()).unwrap_or_default();
    s.alone().at(&at).mend("measure it again and correct its x, y or z in the description")
}

/// What the stated places alone show: bodies through walls and through one another.
fn stated_places(cx: &Context, out: &mut Verdicts) {
    let Some(cupboard) = &cx.system.site.cupboard else { return };
    let room = cupboard.room();
    for cylinder in cx.of_any(&CYLINDERS) {
        let place = &cx.system.part(cylinder).place;
        let (Some(x), Some(y)) = (&place.x, &place.y) else { continue };
        let Some(diameter) = cx.number(cylinder, "diameter") else { continue };
        let r = diameter.value / 2.0;
        let least = [x.value - r, y.value - r, room.w - x.value - r, room.d - y.value - r]
            .into_iter()
            .fold(f64::INFINITY, f64::min);
        if least < -HAIR {
            out.fail(
                say(format!("the cylinder stands {:.0} mm in the wall", -least))
                    .on(cx, cylinder)
                    .found(least, "mm")
                    .against(0.0)
                    .margin(least)
                    .assumed(diameter.assumed || x.origin.is_assumed())
                    .at(&x.origin.span().unwrap_or_default()),
            );
        }
    }
}

fn access(cx: &Context, out: &mut Verdicts) {
    let Some(plan) = cx.cupboard else { return };
    let hand = cx.limit("FIT05.hand");
    for solid in &plan.solids {
        let mut blocked: BTreeMap<&str, f64> = BTreeMap::new();
        for access in solid.access.iter().filter(|a| a.why.contains("hand")) {
            for other in plan.solids.iter().filter(|o| o.owner != solid.owner && !kin(cx, solid, o))
            {
                let probe = Solid {
                    at: access.at,
                    form: crate::layout::cupboard::plan::Form::Box,
                    ..solid.clone()
                };
                let deep = sunk(&probe, other);
                // A hand reaches past what leaves it its width.
                let left = access.at.w.min(access.at.d).min(access.at.h) - deep;
                if deep > HAIR && left < hand.value.min(60.0) {
                    blocked.insert(&other.tag, left.max(0.0));
                }
            }
        }
        if let Some(least) = blocked.values().copied().reduce(f64::min) {
            let start = say(format!("{least:.0} mm of hand space left"))
                .on_tag(&solid.tag)
                .found(least, "mm")
                .limit(&hand)
                .margin(least - hand.value);
            out.fail(blocked.keys().fold(start, |s, t| s.on_tag(t)));
        }
    }
}

fn overhead(cx: &Context, out: &mut Verdicts) {
    let least = cx.limit("FIT06.clearance");
    let Some(cupboard) = &cx.system.site.cupboard else { return };
    for cylinder in cx.of_any(&CYLINDERS).into_iter().filter(|c| cx.stands_in_cupboard(*c)) {
        if cx.flag(cylinder, "horizontal") == Some(true) {
            continue;
        }
        let top = match cx.solid(cylinder) {
            Some(solid) => {
                Some(Known { value: solid.at.z + solid.at.h, assumed: false, span: 0..0 })
            }
            _ => cx.number(cylinder, "height"),
        };
        let Some(top) = top else { continue };
        let guessed = top.assumed || cx.is_assumed(cylinder, "height");
        let clear = cupboard.height.value - top.value;
        // One that does not go in at all is told of by the rule that says so.
        if clear < 0.0
            && cx.number(cylinder, "height").is_some_and(|h| h.value > cupboard.height.value)
        {
            continue;
        }
        let s = say(format!("{clear:.0} mm over the cylinder, at least {:.0} mm", least.value))
            .on(cx, cylinder)
            .found(clear, "mm")
            .limit(&least)
            .margin(clear - least.value)
            .at(&top.span);
        if clear < least.value {
            out.fail(s.assumed(guessed || cupboard.height.origin.is_assumed()));
        } else {
            out.pass(s.assumed(guessed || cupboard.height.origin.is_assumed()));
        }
    }
}

/// The quarter circle that an inward door sweeps, as centre, radius and height.
fn swept(cx: &Context) -> Option<(f64, f64, f64, f64)> {
    let cupboard = cx.system.site.cupboard.as_ref()?;
    let door = cupboard.door.as_ref().filter(|d| d.inward)?;
    let left = door.from_left.value;
    let hinge = if door.hinge.value == Side::Right { left + door.clear_width.value } else { left };
    Some((hinge, cupboard.depth.value, door.clear_width.value, door.clear_height.value))
}

fn sweep(cx: &Context, out: &mut Verdicts) {
    let (Some(plan), Some((x, y, radius, height))) = (cx.cupboard, swept(cx)) else { return };
    let mut hit: Vec<(&str, f64)> = Vec::new();
    for solid in plan.solids.iter().filter(|s| s.at.z < height) {
        let gap = gap_to_box(crate::model::P3::new(x, y, solid.at.z), &solid.at);
        if gap < radius - HAIR {
            hit.push((&solid.tag, radius - gap));
        }
    }
    for route in &plan.routes {
        let near = route.points.windows(2).filter(|w| w[0].z.min(w[1].z) < height).map(|w| {
            let at = Box3 {
                x: w[0].x.min(w[1].x),
                y: w[0].y.min(w[1].y),
                z: 0.0,
                w: (w[0].x - w[1].x).abs(),
                d: (w[0].y - w[1].y).abs(),
                h: 1.0,
            };
            gap_to_box(crate::model::P3::new(x, y, 0.0), &at)
        });
        let Some(gap) = near.min_by(f64::total_cmp) else { continue };
        if gap < radius - HAIR {
            hit.push((&cx.system.pipe(route.pipe).id, radius - gap));
        }
    }
    for (tag, deep) in &hit {
        out.fail(
            say(format!("{deep:.0} mm within the door's sweep"))
                .on_tag(tag)
                .found(*deep, "mm")
                .against(0.0)
                .margin(-deep),
        );
    }
    if hit.is_empty() {
        out.pass(say("the door swings free"));
    }
}

/// Width and height of `a` that `b` covers, seen from the door, as a share of `a`'s face.
fn covered(a: &Box3, b: &Box3) -> f64 {
    let along = |a0: f64, aw: f64, b0: f64, bw: f64| ((a0 + aw).min(b0 + bw) - a0.max(b0)).max(0.0);
    let in_front = b.y >= a.y + a.d - HAIR;
    let face = a.w * a.h;
    if !in_front || face <= 0.0 {
        return 0.0;
    }
    along(a.x, a.w, b.x, b.w) * along(a.z, a.h, b.z, b.h) / face
}

/// More of a face than this covered by a body, and it can't be read.
const HALF: f64 = 0.5;
/// More of a tundish than this behind pipes, and the water in it is easily missed; and what is
/// worth a word beside a pass (common practice, no source).
const THIRD: f64 = 1.0 / 3.0;
pub const SOME: f64 = 0.1;

fn hidden(cx: &Context, out: &mut Verdicts) {
    let looked_at: Vec<PartIx> = cx.of_any(&["tundish", "expansion relief valve"]);
    for part in looked_at {
        let place = match cx.solid(part) {
            Some(solid) => Some(solid.at),
            None => stated_box(cx, part),
        };
        let Some(at) = place else { continue };
        let mut sound = true;
        for obstacle in cx.system.site.cupboard.iter().flat_map(|c| &c.obstacles) {
            if covered(&at, &obstacle.at) > HALF {
                sound = false;
                out.fail(say(format!("hidden behind \"{}\"", obstacle.name)).on(cx, part));
            }
        }
        for solid in cx.cupboard.iter().flat_map(|p| &p.solids) {
            let own = cx.solid(part).is_some_and(|s| s.owner == solid.owner);
            // A group low down beside the cylinder is served from the front; a tundish is watched.
            if cx.is(part, "tundish") && !own && covered(&at, &solid.at) > HALF {
                sound = false;
                out.fail(say("hidden behind a body").on(cx, part).on_tag(&solid.tag));
            }
        }
        let mut seen = "seen from the door".to_owned();
        if sound && cx.is(part, "tundish") {
            let (share, worst) = behind_pipes(cx, part, &at);
            if share > SOME {
                seen = format!("seen from the door, {:.0} % of it behind pipes", share * 100.0);
            }
            if share > THIRD {
                sound = false;
                let title = format!("{:.0} % hidden behind pipes", share * 100.0);
                let s = say(title).on(cx, part).found(share * 100.0, "%").against(THIRD * 100.0);
                let s = worst.into_iter().fold(s, |s, p| s.on_tag(cx.pipe_id(p)));
                out.fail(s.margin((THIRD - share) * 100.0).severity(Severity::Advice).mend(
                    "see that it can be watched; take the pipe beside it, or move the tundish",
                ));
            }
        }
        if sound {
            out.pass(say(seen).on(cx, part));
        }
    }
}

/// How much of a face pipes cover, seen from the door, and the pipes that do; its own left out.
pub fn behind_pipes(cx: &Context, part: PartIx, at: &Box3) -> (f64, Vec<PipeIx>) {
    const STEPS: usize = 30;
    let Some(plan) = cx.cupboard else { return (0.0, Vec::new()) };
    let mut strips: Vec<(PipeIx, [f64; 4])> = Vec::new();
    for route in plan.routes.iter().filter(|r| r.routed) {
        if cx.pipes_of(part).any(|p| p == route.pipe) {
            continue;
        }
        let r = route.od / 2.0 + route.lagging;
        for w in route.points.windows(2).filter(|w| w[0].y.min(w[1].y) > at.y + at.d) {
            let (x0, x1) = (w[0].x.min(w[1].x) - r, w[0].x.max(w[1].x) + r);
            let (z0, z1) = (w[0].z.min(w[1].z) - r, w[0].z.max(w[1].z) + r);
            if x1 > at.x && x0 < at.x + at.w && z1 > at.z && z0 < at.z + at.h {
                strips.push((route.pipe, [x0, x1, z0, z1]));
            }
        }
    }
    let mut covered = 0;
    for i in 0..STEPS * STEPS {
        let share = |n: usize| (n as f64 + 0.5) / STEPS as f64;
        let (x, z) = (at.x + at.w * share(i % STEPS), at.z + at.h * share(i / STEPS));
        let over = |s: &[f64; 4]| s[0] < x && x < s[1] && s[2] < z && z < s[3];
        covered += usize::from(strips.iter().any(|(_, s)| over(s)));
    }
    let mut pipes: Vec<PipeIx> = strips.into_iter().map(|(p, _)| p).collect();
    pipes.sort();
    pipes.dedup();
    (covered as f64 / (STEPS * STEPS) as f64, pipes)
}

fn stated_box(cx: &Context, part: PartIx) -> Option<Box3> {
    let p = cx.system.part(part);
    let (x, y, z) = (p.place.x.as_ref()?, p.place.y.as_ref()?, p.place.z.as_ref()?);
    let [w, d, h] = p.kind.body;
    Some(Box3 { x: x.value - w / 2.0, y: y.value - d / 2.0, z: z.value - h / 2.0, w, d, h })
}
