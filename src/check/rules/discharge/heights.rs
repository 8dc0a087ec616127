//! Heights between relief valve, tundish and the hole in the wall.

use crate::check::context::Known;
use crate::check::discharge::Discharge;
use crate::check::report::{Verdicts, say};
use crate::check::rule::Rule;
use crate::check::{Context, Severity};
use crate::layout::cupboard::plan::{HeightChain, HeightLink};
use crate::model::{P3, PartIx, PipeIx, Side, whole_mm};

pub const FIRST_DROP: &[Rule] = &[Rule {
    id: "DIS03",
    severity: Severity::Error,
    title: "bend too close under the tundish",
    what: "Less than 300 mm of straight, upright pipe between the tundish and the first bend.",
    why: "The water needs the drop to gather speed; with less, a full discharge backs up and \
          spills from the tundish.",
    source: "Approved Document G, paragraph 3.56",
    mend: "raise the tundish, set the cylinder on a plinth, or bend lower",
    run: first_drop,
}];

pub const OUTLET_TOO_LOW: &[Rule] = &[Rule {
    id: "DIS06",
    severity: Severity::Error,
    title: "relief valve lower than its tundish",
    what: "The outlet of a relief valve that is not above the tundish it drips into.",
    why: "The pipe between can't drain: water lies against the valve and corrodes it shut.",
    source: "Approved Document G, paragraph 3.54",
    mend: "lower the tundish or raise the valve",
    run: outlet_too_low,
}];

pub const BUDGET: &[Rule] = &[Rule {
    id: "DIS13",
    severity: Severity::Error,
    title: "heights from relief valve to exit do not add up",
    what: "Relief outlet, pipe, tundish, 300 mm of drop, bend and fall together need more height \
           than there is above the hole in the wall.",
    why: "The discharge would have to run uphill, or the drop below the tundish is cut short.",
    source: "derived from Approved Document G, paragraphs 3.54 and 3.56",
    mend: "set the cylinder on a plinth, shorten the pipe above the tundish, or leave lower",
    run: budget,
}];

/// Height of the tundish's inlet or outlet, mm.
fn tundish_port(cx: &Context, tundish: PartIx, port: &str) -> Option<Known> {
    if let Some(at) = cx.port(tundish, port).and_then(|p| cx.port_place(p)) {
        return Some(Known { value: at.z, assumed: false, span: 0..0 });
    }
    let mut z = cx.system.part(tundish).place.z.as_ref().map(Known::of)?;
    let half = cx.limit("DIS13.tundish").value / 2.0;
    z.value += if port == "in" { half } else { -half };
    Some(z)
}

/// Height of a valve's outlet, mm.
fn outlet_height(cx: &Context, valve: PartIx) -> Option<Known> {
    if let Some(at) = cx.port(valve, "discharge").and_then(|p| cx.port_place(p)) {
        return Some(Known { value: at.z, assumed: false, span: 0..0 });
    }
    if let Some(z) = &cx.system.part(valve).place.z {
        return Some(Known::of(z));
    }
    let cylinder = cx.stores.iter().find(|s| s.reliefs.contains(&valve))?.cylinder;
    let mut height = cx.number(cylinder, "port.relief.height")?;
    if let Some(base) = &cx.system.part(cylinder).place.z {
        height.value += base.value;
        height.assumed |= base.origin.is_assumed();
    }
    Some(height)
}

/// Height at which the discharge leaves through a wall, mm.
fn exit_height(cx: &Context, d: &Discharge) -> Option<Known> {
    d.all_pipes().find_map(|pipe| {
        if let Some(exit) = cx.route(pipe).and_then(|r| r.exit.as_ref()) {
            let through_wall = exit.side != Side::Floor && exit.side != Side::Ceiling;
            return through_wall.then_some(Known { value: exit.at.z, assumed: false, span: 0..0 });
        }
        let tail = cx.system.pipe(pipe).tail.as_ref()?;
        let side = tail.side.as_ref()?.value;
        let through_wall = side != Side::Floor && side != Side::Ceiling;
        tail.z.as_ref().filter(|_| through_wall).map(Known::of)
    })
}

/// The upright stretch that a route starts with, mm, and whether it leaves the room within it.
fn upright(points: &[P3], from_start: bool) -> (f64, bool) {
    let mut walk: Vec<P3> = points.to_vec();
    if !from_start {
        walk.reverse();
    }
    let mut drop = 0.0;
    for (i, pair) in walk.windows(2).enumerate() {
        let sideways = (pair[0].x - pair[1].x).abs() + (pair[0].y - pair[1].y).abs();
        if sideways > 0.5 || pair[1].z > pair[0].z {
            return (drop, false);
        }
        drop += pair[0].z - pair[1].z;
        if i + 2 == walk.len() {
            return (drop, true);
        }
    }
    (drop, true)
}

/// Straight drop under the tundish: as stated, else as routed.
fn drop_below(cx: &Context, d: &Discharge) -> Option<Known> {
    let places = std::iter::once(d.tundish).chain(d.own_parts.iter().copied()).chain(d.end);
    let stated = places.filter_map(|p| cx.number(p, "first-drop")).next();
    if let Some(stated) = stated.as_ref().filter(|s| !s.assumed) {
        return Some(stated.clone());
    }
    let first: PipeIx = d.first()?;
    if let Some(route) = cx.route(first).filter(|r| r.routed && r.points.len() > 1) {
        let down = cx.system.pipe(first).from.part == d.tundish;
        let (drop, whole) = upright(&route.points, down);
        // A pipe that leaves the room still falling has its bend beyond what is drawn.
        if !whole || route.exit.is_none() {
            // The bend takes room of its own: the straight ends where it begins.
            let tag = &cx.system.part(d.tundish).tag;
            let chain = cx.cupboard?.heights.iter().find(|h| h.tundish == *tag);
            let drop = chain.and_then(HeightChain::straight).unwrap_or(drop);
            return Some(Known { value: drop, assumed: false, span: 0..0 });
        }
    }
    stated
}

fn first_drop(cx: &Context, out: &mut Verdicts) {
    let least = cx.limit("DIS03.drop");
    for d in cx.discharges.iter().filter(|d| d.is_of_store(cx)) {
        let Some(drop) = drop_below(cx, d) else { continue };
        let s = say(format!(
            "{} mm straight drop under the tundish, at least {:.0} mm",
            whole_mm(drop.value),
            least.value
        ))
        .on(cx, d.tundish)
        .found(drop.value, "mm")
        .limit(&least)
        .margin(drop.value - least.value)
        .at(&drop.span);
        if drop.value + 0.5 < least.value {
            out.fail(s.assumed(drop.assumed));
        } else {
            out.pass(s.assumed(drop.assumed || d.drawn_from_assumed(cx)));
        }
    }
}

fn outlet_too_low(cx: &Context, out: &mut Verdicts) {
    for d in cx.discharges.iter().filter(|d| d.is_of_store(cx)) {
        let Some(inlet) = tundish_port(cx, d.tundish, "in") else { continue };
        for v in d.valves.iter().filter(|v| !cx.is(v.valve, "safety valve")) {
            let Some(outlet) = outlet_height(cx, v.valve) else { continue };
            let above = outlet.value - inlet.value;
            let tag = &cx.system.part(v.valve).tag;
            let over = whole_mm(above);
            let s = say(format!("outlet of {tag} {over} mm above the tundish"))
                .on(cx, v.valve)
                .on(cx, d.tundish)
                .found(outlet.value, "mm")
                .against(inlet.value)
                .margin(above)
                .at(&inlet.span);
            if above <= 0.0 {
                let title = format!("relief outlet {:.0} mm below the tundish's inlet", -above);
                let s = say(title)
                    .on(cx, v.valve)
                    .on(cx, d.tundish)
                    .found(outlet.value, "mm")
                    .against(inlet.value)
                    .margin(above)
                    .at(&inlet.span);
                out.fail(s.assumed(outlet.assumed || inlet.assumed));
            } else {
                let drawn = cx.cupboard.is_some() && d.drawn_from_assumed(cx);
                out.pass(s.assumed(outlet.assumed || inlet.assumed || drawn));
            }
        }
    }
}

fn budget(cx: &Context, out: &mut Verdicts) {
    let drop = cx.limit("DIS03.drop");
    let (body, bend) = (cx.limit("DIS13.tundish").value, cx.limit("DIS13.bend").value);
    if let Some(plan) = cx.cupboard.filter(|p| !p.heights.is_empty()) {
        for chain in &plan.heights {
            as_laid(cx, chain, out);
        }
        return;
    }
    for d in cx.discharges.iter().filter(|d| d.is_of_store(cx)) {
        let Some(exit) = exit_height(cx, d) else { continue };
        // From the tundish where its height is known, else from the relief with the least pipe.
        let below = drop.value + bend;
        let (top, needs) = match tundish_port(cx, d.tundish, "out") {
            Some(z) => (z, below),
            None => {
                let relief = d.valves.iter().filter_map(|v| outlet_height(cx, v.valve));
                let Some(z) = relief.min_by(|a, b| a.value.total_cmp(&b.value)) else { continue };
                (z, body + below)
            }
        };
        let slack = top.value - needs - exit.value;
        let s = |title: String| {
            say(title)
                .on(cx, d.tundish)
                .found(top.value - exit.value, "mm")
                .against(needs)
                .margin(slack)
                .at(&top.span)
                .at(&exit.span)
        };
        if slack < -0.5 {
            let title = format!("{:.0} mm short between tundish and exit", -slack);
            out.fail(s(title).assumed(top.assumed || exit.assumed));
        } else {
            let title = format!("heights add up, {slack:.0} mm to spare");
            out.pass(s(title).assumed(top.assumed || exit.assumed));
        }
    }
}

/// The link of a laid chain that has least room.
fn as_laid(cx: &Context, chain: &HeightChain, out: &mut Verdicts) {
    let slack = |l: &HeightLink| l.slack.unwrap_or(f64::INFINITY);
    let worst = chain.links.iter().min_by(|a, b| slack(a).total_cmp(&slack(b)));
    let Some((worst, spare)) = worst.and_then(|l| Some((l, l.slack?))) else { return };
    let tundish = cx.by_tag(&chain.tundish);
    let s = |title: String| say(title).on_all(cx, tundish).found(spare, "mm").against(0.0);
    if spare < -0.5 {
        let title = format!("{} mm short at {}", whole_mm(-spare), worst.what);
        out.fail(s(title).margin(spare).mend(worst.mend.clone()));
    } else {
        let title = format!("heights add up, {} mm to spare", whole_mm(spare));
        let of_it = |d: &&Discharge| Some(d.tundish) == tundish;
        let guessed = cx.discharges.iter().find(of_it).is_some_and(|d| d.drawn_from_assumed(cx));
        out.pass(s(title).margin(spare).assumed(guessed));
    }
}
