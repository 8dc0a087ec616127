//! The pipe below the tundish: its fall, its material, frost.

use crate::check::context::{Known, number_of};
use crate::check::report::{Verdicts, say};
use crate::check::rule::Rule;
use crate::check::{Context, Severity};
use crate::model::Value;

pub const FALL: &[Rule] = &[Rule {
    id: "DIS05",
    severity: Severity::Error,
    title: "discharge pipe without a steady fall",
    what: "A pipe below the tundish that falls less than 1 in 200, rises anywhere, or has a trap \
           in it.",
    why: "Water that lies in the pipe freezes, corrodes it and holds back the next discharge.",
    source: "Approved Document G, paragraph 3.56",
    mend: "regrade the pipe to fall all the way",
    run: fall,
}];

pub const MATERIAL: &[Rule] = &[Rule {
    id: "DIS07",
    severity: Severity::Error,
    title: "discharge pipe not proved for hot water",
    what: "A pipe below the tundish of waste plastic, or of another plastic that is not declared \
           proved for the temperature.",
    why: "Water near boiling softens waste pipe within minutes.",
    source: "Approved Document G, paragraphs 3.57 and 3.60",
    mend: "run it in copper, or declare the marked pipe \"proved for the temperature\"",
    run: material,
}];

pub const FROST: &[Rule] = &[Rule {
    id: "DIS18",
    severity: Severity::Warning,
    title: "discharge pipe exposed to frost",
    what: "A stretch of the pipe below the tundish that is stated to run outside, unlagged.",
    why: "A drip that freezes plugs the pipe.",
    source: "common practice, makers' instructions",
    mend: "keep the pipe indoors or lag it",
    run: frost,
}];

pub const UNDERSTATED: &[Rule] = &[Rule {
    id: "DIS19",
    severity: Severity::Warning,
    title: "more discharge pipe drawn than stated",
    what: "A pipe below the tundish that shows more elbows or more length within the cupboard alone \
           than is stated for all of it to its end. The sums keep to what is stated.",
    why: "The size is judged by what is stated: with every elbow that was left out it passes less.",
    source: "derived from Approved Document G, paragraph 3.58 and Table 3.1",
    mend: "state length and elbows of the whole way, from the tundish to the end",
    run: understated,
}];

fn understated(cx: &Context, out: &mut Verdicts) {
    for d in cx.discharges.iter().filter(|d| d.is_of_store(cx)) {
        // A stretch of which nothing is stated, as from the tundish to a common pipe, is within what
        // is stated for the whole.
        let unsaid = |pipe: &crate::model::PipeIx| {
            let elbows = &cx.system.pipe(*pipe).elbows;
            elbows.as_ref().is_none_or(|v| v.origin.span().is_none())
        };
        let besides: f64 = d
            .all_pipes()
            .filter(unsaid)
            .filter_map(|pipe| cx.inside(pipe))
            .map(|(_, turns)| turns)
            .sum();
        for pipe in d.all_pipes() {
            let of = cx.system.pipe(pipe);
            let Some((metres, turns)) = cx.inside(pipe) else { continue };
            let turns = turns + besides;
            let given = |v: &Option<Value<f64>>| {
                v.as_ref().filter(|v| v.origin.span().is_some()).map(Known::of)
            };
            let (long, elbows) = (given(&of.length), given(&of.elbows));
            let s = |title: String, at: &Known| {
                say(title).on(cx, d.tundish).on_tag(&of.id).at(&at.span)
            };
            match elbows {
                Some(n) if turns > n.value => out.fail(
                    s(
                        format!("{turns} elbows drawn in the cupboard alone, {} stated", n.value),
                        &n,
                    )
                    .found(turns, "elbows")
                    .against(n.value)
                    .margin(n.value - turns),
                ),
                Some(n) => out.pass(
                    s(
                        format!("{turns} of the {} elbows stated drawn in the cupboard", n.value),
                        &n,
                    )
                    .found(turns, "elbows")
                    .against(n.value)
                    .margin(n.value - turns),
                ),
                None => {}
            }
            // A stated length is to the next tenth.
            if let Some(l) = long.filter(|l| metres > l.value + 0.05) {
                let title =
                    format!("{metres:.1} m drawn in the cupboard alone, {:.1} m stated", l.value);
                out.fail(s(title, &l).found(metres, "m").against(l.value).margin(l.value - metres));
            }
        }
    }
}

/// What completion may hang the fall on: the tundish, a part on the way, or the end.
fn parts_below(d: &crate::check::discharge::Discharge) -> Vec<crate::model::PartIx> {
    let mut all = vec![d.tundish];
    all.extend(&d.own_parts);
    all.extend(d.end);
    all
}

fn fall(cx: &Context, out: &mut Verdicts) {
    let flattest = cx.limit("DIS05.fall");
    for d in cx.discharges.iter().filter(|d| d.is_of_store(cx)) {
        // What this one carries, else another one, as the heights chain has it.
        let stated = parts_below(d).into_iter().find_map(|p| cx.number(p, "fall"));
        let stated =
            stated.or_else(|| cx.of("tundish").into_iter().find_map(|p| cx.number(p, "fall")));
        if let Some(fall) = stated {
            let s = |title: String| {
                say(title)
                    .on(cx, d.tundish)
                    .found(fall.value, flattest.unit)
                    .limit(&flattest)
                    .margin(flattest.value - fall.value)
                    .at(&fall.span)
            };
            if fall.value <= 0.0 {
                let title = "the pipe below the tundish does not fall";
                out.fail(s(title.to_owned()).assumed(fall.assumed));
            } else if fall.value > flattest.value {
                let title = format!("fall 1 in {}, at least 1 in {}", fall.value, flattest.value);
                out.fail(s(title).assumed(fall.assumed));
            } else {
                let title = format!("fall 1 in {}, at least 1 in {}", fall.value, flattest.value);
                out.pass(s(title).assumed(fall.assumed));
            }
        } else {
            // Drawn and set out at the flattest that is allowed.
            let title = format!("no fall is stated: set out at 1 in {}", flattest.value);
            let said = say(title).on(cx, d.tundish).found(flattest.value, flattest.unit);
            out.pass(said.limit(&flattest).margin(0.0).assumed(true));
        }
        for pipe in d.all_pipes() {
            let Some(route) = cx.route(pipe).filter(|r| r.routed) else { continue };
            let rise: f64 = route.points.windows(2).map(|w| (w[1].z - w[0].z).max(0.0)).sum();
            if rise > 0.5 {
                out.fail(
                    say(format!("the pipe below the tundish rises {rise:.0} mm"))
                        .on(cx, d.tundish)
                        .on_tag(&cx.system.pipe(pipe).id)
                        .found(rise, "mm")
                        .against(0.0)
                        .margin(-rise),
                );
            }
        }
        for part in d.own_parts.iter().filter(|p| cx.key(**p).contains("trap")) {
            out.fail(say("a trap in the pipe below the tundish").on(cx, *part).on(cx, d.tundish));
        }
    }
}

const METALS: [&str; 4] = ["copper", "steel", "stainless", "brass"];
const WASTE: [&str; 5] = ["PVC", "ABS", "PP", "MUPVC", "HDPE"];

fn material(cx: &Context, out: &mut Verdicts) {
    for d in cx.discharges.iter().filter(|d| d.is_of_store(cx)) {
        let proved =
            parts_below(d).into_iter().any(|p| cx.declares(p, "proved for the temperature"));
        let mut sound = true;
        for pipe in d.all_pipes() {
            let p = cx.system.pipe(pipe);
            let name = p.material.value.as_str();
            if METALS.iter().any(|m| name.to_lowercase().contains(m)) {
                continue;
            }
            let waste =
                WASTE.iter().any(|w| name.eq_ignore_ascii_case(w)) || name.contains("waste");
            if waste || !proved {
                sound = false;
                out.fail(
                    say(format!("{name} below the tundish, not proved for near-boiling water"))
                        .on(cx, d.tundish)
                        .on_tag(&p.id)
                        .at(&p.material.origin.span().unwrap_or_default())
                        .assumed(p.material.origin.is_assumed()),
                );
            }
        }
        if sound {
            out.pass(say("the pipe below the tundish stands the temperature").on(cx, d.tundish));
        }
    }
}

fn frost(cx: &Context, out: &mut Verdicts) {
    for d in cx.discharges.iter().filter(|d| d.is_of_store(cx)) {
        let stated = parts_below(d)
            .into_iter()
            .find_map(|p| number_of(&cx.system.part(p).attrs, "exposed"))
            .filter(|e| e.value > 0.0);
        let anywhere = cx.dwelling_flag("exposed-pipes");
        if stated.is_none() && !anywhere {
            continue;
        }
        let lagged = d
            .all_pipes()
            .last()
            .is_some_and(|p| cx.system.pipe(p).lagging.as_ref().is_some_and(|l| l.value > 0.0));
        let title = match &stated {
            Some(e) => format!("{} m of the discharge pipe outside", e.value),
            None => "pipes exposed to frost, the discharge pipe among them".to_owned(),
        };
        let mut s = say(title).on(cx, d.tundish);
        if let Some(e) = &stated {
            s = s.found(e.value, "m").at(&e.span).assumed(e.assumed);
        }
        if lagged {
            out.pass(s);
        } else {
            out.fail(s);
        }
    }
}
