//! The tundish: how far from the valve, where, and who sees it.

use std::collections::BTreeMap;

use crate::check::context::{CYLINDERS, Known};
use crate::check::discharge::Inlet;
use crate::check::report::{Verdicts, say};
use crate::check::rule::Rule;
use crate::check::rules::fit::bodies::{SOME, behind_pipes};
use crate::check::{Context, Severity};
use crate::layout::cupboard::plan::Owner;
use crate::model::{Box3, PartIx, whole_mm};

pub const DISTANCE: &[Rule] = &[Rule {
    id: "DIS01",
    severity: Severity::Error,
    title: "tundish too far from the relief valve",
    what: "More pipe between the temperature relief's outlet and the tundish than the text in \
           force allows (600 mm; 500 mm in texts before 2010).",
    why: "A long pipe above the tundish can't be seen into; it may stand full of water or be \
          blocked.",
    source: "Approved Document G, paragraph 3.54",
    mend: "raise the tundish or move it nearer to the valve",
    run: distance,
}];

pub const PLACE: &[Rule] = &[Rule {
    id: "DIS02",
    severity: Severity::Error,
    title: "tundish out of sight or in another space",
    what: "A tundish that does not stand in the same space as its cylinder, can't be seen, or \
           is not upright.",
    why: "Dripping at the tundish is the first sign that a safety device has worked.",
    source: "Approved Document G, paragraphs 3.54 and 3.55",
    mend: "move the tundish into the cylinder's space, upright, where it is seen",
    run: place,
}];

pub const ELECTRICS: &[Rule] = &[Rule {
    id: "DIS12",
    severity: Severity::Warning,
    title: "tundish above or close to electrical parts",
    what: "An electrical part under a tundish or within a splash of it: a wiring box or control, a \
           motor, a pump, a thermostat, a cut-out, an immersion heater. What stands wholly above the \
           tundish stays dry; inside the case of a factory-fitted unit its maker has placed it.",
    why: "A tundish is open and spits when a valve opens.",
    source: "common practice, makers' instructions",
    mend: "move the tundish or the electrical part",
    run: electrics,
}];

pub const UNSEEN: &[Rule] = &[Rule {
    id: "DIS14",
    severity: Severity::Advice,
    title: "occupant may not notice the discharge",
    what: "An occupant of impaired sight or movement is stated and no discharge alarm is fitted.",
    why: "A discharge that nobody notices wastes hot water and hides a failed control.",
    source: "Approved Document G, paragraph 3.55",
    mend: "add a powered alarm at the tundish",
    run: unseen,
}];

/// Length from outlet to tundish, mm.
struct Length {
    /// As given, else as laid.
    judged: Known,
    /// Nobody gave a length: the routes tell.
    drawn_only: bool,
    /// As laid, with the bodies of the fittings on the way, where another length is given.
    laid: Option<f64>,
}

/// A length that the text gives for one stretch is given for the whole; only where none is given do
/// the routes tell.
fn pipe_length(cx: &Context, inlet: &Inlet) -> Option<Length> {
    let given: Vec<Known> = inlet
        .pipes
        .iter()
        .filter_map(|p| cx.system.pipe(*p).length.as_ref())
        .filter(|v| v.origin.span().is_some())
        .map(Known::of)
        .collect();
    let laid = cx.cupboard.and_then(|plan| plan.way(&inlet.pipes));
    if let Some(value) = laid.filter(|_| given.is_empty()) {
        let judged = Known { value, assumed: false, span: 0..0 };
        return Some(Length { judged, drawn_only: true, laid: None });
    }
    let lengths = if given.is_empty() {
        inlet.pipes.iter().map(|p| cx.length(*p)).collect::<Option<Vec<Known>>>()?
    } else {
        given
    };
    let metres: f64 = lengths.iter().map(|l| l.value).sum();
    let judged = Known {
        value: metres * 1000.0,
        assumed: lengths.iter().any(|l| l.assumed),
        span: lengths.iter().map(|l| l.span.clone()).find(|s| !s.is_empty()).unwrap_or_default(),
    };
    Some(Length { judged, drawn_only: false, laid })
}

fn distance(cx: &Context, out: &mut Verdicts) {
    let most = cx.limit("DIS01.length");
    let is_relief = |v: &&Inlet| cx.is(v.valve, "temperature and pressure relief valve");
    for d in &cx.discharges {
        for inlet in d.valves.iter().filter(is_relief) {
            let Some(found) = pipe_length(cx, inlet) else { continue };
            let Length { judged: length, drawn_only: laid_only, laid } = found;
            // A figure that the drawing itself breaks does not save it.
            let worst = laid.unwrap_or(0.0).max(length.value);
            let over = worst > most.value + 0.5;
            // Texts before 2010 said 500 mm; an inspector may still hold to them.
            let old = if !over && length.value > 500.0 && most.value == 600.0 {
                ", older guidance 500 mm"
            } else {
                ""
            };
            let stated = whole_mm(length.value);
            let drawn = laid.map(whole_mm).filter(|l| *l != stated);
            let drawn = drawn.map_or(String::new(), |l| format!(" as stated, {l} mm as drawn"));
            let s = say(format!(
                "{stated} mm{drawn} from relief valve to tundish, at most {} mm{old}",
                whole_mm(most.value)
            ))
            .on(cx, inlet.valve)
            .on(cx, d.tundish)
            .found(worst, "mm")
            .limit(&most)
            .margin(most.value - worst)
            .at(&length.span);
            if over {
                out.fail(s.assumed(length.assumed));
            } else {
                let drawn = laid_only && d.drawn_from_assumed(cx);
                out.pass(s.assumed(length.assumed || drawn));
            }
        }
    }
}

/// The cylinder on which each relief valve acts.
fn cylinders(cx: &Context) -> BTreeMap<PartIx, PartIx> {
    let mut of = BTreeMap::new();
    for store in &cx.stores {
        for valve in store.reliefs.iter().copied().chain(store.expansion_reliefs(cx)) {
            of.entry(valve).or_insert(store.cylinder);
        }
    }
    of
}

fn place(cx: &Context, out: &mut Verdicts) {
    let cylinders = cylinders(cx);
    for d in cx.discharges.iter().filter(|d| d.is_of_store(cx)) {
        let tundish = cx.system.part(d.tundish);
        let mut sound = true;
        let cylinder = d.valves.iter().find_map(|v| cylinders.get(&v.valve).copied());
        if let Some(cylinder) = cylinder {
            let there = &cx.system.part(cylinder).place.elsewhere;
            if *there != tundish.place.elsewhere {
                sound = false;
                out.fail(
                    say("the tundish is not in the cylinder's space")
                        .on(cx, d.tundish)
                        .on(cx, cylinder),
                );
            }
        }
        let hidden = cx.flag(d.tundish, "visible") == Some(false)
            || cx.text(d.tundish, "visible").is_some_and(|v| ["hidden", "nowhere"].contains(&v));
        if hidden {
            sound = false;
            out.fail(
                say("the tundish can't be seen")
                    .on(cx, d.tundish)
                    .assumed(cx.is_assumed(d.tundish, "visible")),
            );
        }
        if cx.text(d.tundish, "place").is_some_and(|p| p.contains("horizontal")) {
            sound = false;
            out.fail(say("the tundish does not stand upright").on(cx, d.tundish));
        }
        if sound {
            let share = cx.solid(d.tundish).map_or(0.0, |s| behind_pipes(cx, d.tundish, &s.at).0);
            let seen = match share > SOME {
                true => format!(", {:.0} % of it behind pipes", share * 100.0),
                false => String::new(),
            };
            out.pass(
                say(format!("the tundish stands in the cylinder's space{seen}")).on(cx, d.tundish),
            );
        }
    }
}

/// Gap between two boxes seen from above, mm; 0 where they overlap.
fn gap_from_above(a: &Box3, b: &Box3) -> f64 {
    let flat = |b: &Box3| Box3 { z: 0.0, h: 0.0, ..*b };
    gap(&flat(a), &flat(b))
}

/// Straight gap between two boxes, mm, as a tape measures it.
fn gap(a: &Box3, b: &Box3) -> f64 {
    let along = |a0: f64, aw: f64, b0: f64, bw: f64| (b0 - (a0 + aw)).max(a0 - (b0 + bw)).max(0.0);
    let (x, y) = (along(a.x, a.w, b.x, b.w), along(a.y, a.d, b.y, b.d));
    let z = along(a.z, a.h, b.z, b.h);
    (x * x + y * y + z * z).sqrt()
}

/// What a tundish may wet, and how near it is.
struct Near {
    part: PartIx,
    straight: f64,
    from_above: f64,
    /// Wholly above the tundish: it stays dry.
    above: bool,
}

/// Every electrical part that stands in the cupboard, the nearest to the tundish first.
fn electrical(cx: &Context, body: &Box3) -> Vec<Near> {
    let electric = |p: &PartIx| cx.system.part(*p).kind.electric;
    let mut all: Vec<Near> = cx
        .system
        .part_ixs()
        .filter(electric)
        .filter_map(|part| {
            // Where in its case a unit's maker has placed it nobody knows here.
            let at = cx.solid(part).filter(|s| s.owner == Owner::Part(part))?.at;
            let (straight, from_above) = (gap(body, &at), gap_from_above(body, &at));
            Some(Near { part, straight, from_above, above: at.z > body.z + body.h })
        })
        .collect();
    all.sort_by(|a, b| a.straight.total_cmp(&b.straight).then(a.part.cmp(&b.part)));
    all
}

fn electrics(cx: &Context, out: &mut Verdicts) {
    let least = cx.limit("DIS12.electrics");
    for tundish in cx.of("tundish") {
        let Some(body) = cx.solid(tundish).map(|s| s.at) else { continue };
        let all = electrical(cx, &body);
        let wetted = |n: &&Near| !n.above && n.from_above < least.value;
        for near in all.iter().filter(wetted) {
            let what = cx.key(near.part);
            let title = match near.from_above < 0.5 {
                true => format!("{what} under the tundish"),
                false => format!("{what} {:.0} mm from under the tundish", near.from_above),
            };
            out.fail(
                say(title)
                    .on(cx, tundish)
                    .on(cx, near.part)
                    .found(near.from_above, "mm")
                    .limit(&least)
                    .margin(near.from_above - least.value),
            );
        }
        if all.iter().any(|n| wetted(&n)) {
            continue;
        }
        let nearest = all.first().map(|n| {
            let above = if n.above { ", above it" } else { "" };
            let (tag, what, mm) = (cx.tag(n.part), cx.key(n.part), whole_mm(n.straight));
            format!(
                "nearest electrical part: {tag} {what}, {mm} mm straight from the tundish{above}; none \
                 below it within {:.0} mm to the side",
                least.value
            )
        });
        let encased = encased(cx, &body).map(|(tag, mm)| match mm < 0.5 {
            true => format!("the tundish stands in {tag}, whose maker has placed what is electrical"),
            false => format!(
                "what is electrical inside {tag}, whose case stands {} mm off, its maker has placed",
                whole_mm(mm)
            ),
        });
        let said: Vec<String> = nearest.into_iter().chain(encased).collect();
        if said.is_empty() {
            continue;
        }
        let s = say(said.join("; ")).on(cx, tundish);
        out.pass(match all.first() {
            Some(n) => s.on(cx, n.part).found(n.straight, "mm"),
            None => s,
        });
    }
}

/// The nearest factory-fitted unit with something electrical in its case: its tag, how far off.
fn encased(cx: &Context, body: &Box3) -> Option<(String, f64)> {
    let inside =
        cx.system.part_ixs().filter(|p| cx.system.part(*p).kind.electric).filter_map(|p| {
            let solid = cx.solid(p).filter(|s| matches!(s.owner, Owner::Unit(_)))?;
            Some((solid.tag.clone(), gap(body, &solid.at)))
        });
    inside.min_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(&b.0)))
}

fn unseen(cx: &Context, out: &mut Verdicts) {
    let impaired = ["vulnerable-occupants", "impaired"].iter().any(|k| cx.dwelling_flag(k));
    if !impaired || !cx.of("discharge alarm").is_empty() {
        return;
    }
    let cylinders = cylinders(cx);
    for cylinder in cx.of_any(&CYLINDERS) {
        let of = |d: &&crate::check::discharge::Discharge| {
            d.valves.iter().any(|v| cylinders.get(&v.valve) == Some(&cylinder))
        };
        if let Some(d) = cx.discharges.iter().find(of) {
            out.fail(say("no alarm for an occupant who may not see the tundish").on(cx, d.tundish));
        }
    }
}
