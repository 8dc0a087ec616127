//! Sizes of the discharge pipes: Approved Document G, Table 3.1 and paragraphs 3.51 to 3.59.

use crate::catalogue::{Tube, limits, tubes};
use crate::check::context::assumed;
use crate::check::discharge::{Discharge, Inlet, narrowest, outlet_of};
use crate::check::report::{Verdicts, say};
use crate::check::rule::Rule;
use crate::check::{Context, Severity};
use crate::model::{PartIx, PipeIx};
use crate::size::discharge::{Shared, Trial, shared, tenths, trials};

pub const TOO_SMALL: &[Rule] = &[Rule {
    id: "DIS04",
    severity: Severity::Error,
    title: "discharge pipe too small",
    what: "The pipe below the tundish is smaller than the table asks for its length and elbows: \
           length and the resistance of every elbow may come to 9 m for the first size, 18 m for \
           the next, 27 m for the third.",
    why: "A relief valve that opens wide passes more than a thin pipe takes; the tundish floods \
          the cupboard with scalding water.",
    source: "Approved Document G, paragraph 3.58 and Table 3.1",
    mend: "take the next size",
    run: too_small,
}];

pub const COMMON: &[Rule] = &[
    Rule {
        id: "DIS09",
        severity: Severity::Error,
        title: "common discharge pipe too small",
        what: "A discharge pipe shared by several systems that is not at least one size larger \
               than the largest pipe that joins it, or too small by the table for the longest \
               whole way from a tundish to its end.",
        why: "Two valves may open at once.",
        source: "Approved Document G, paragraphs 3.58 and 3.59",
        mend: "take the common pipe one size up",
        run: common_pipe,
    },
    Rule {
        id: "DIS10",
        severity: Severity::Warning,
        title: "too many systems on one discharge pipe",
        what: "More than six systems share one common discharge pipe.",
        why: "Nobody can tell which store is discharging.",
        source: "Approved Document G, earlier guidance, from memory",
        mend: "split the systems over two common pipes",
        run: too_many,
    },
];

pub const ABOVE: &[Rule] = &[Rule {
    id: "DIS11",
    severity: Severity::Error,
    title: "pipe above the tundish too small or not metal",
    what: "The pipe from a relief valve to the tundish is smaller than the valve's outlet or not \
           of metal, or valves share a manifold that is no part of the package.",
    why: "It carries water near boiling and steam, and a choke there raises the pressure in the \
          store.",
    source: "Approved Document G, paragraphs 3.50 to 3.53",
    mend: "run it in copper at the size of the outlet; leave a manifold to the maker",
    run: above,
}];

pub const BEYOND: &[Rule] = &[Rule {
    id: "DIS16",
    severity: Severity::Warning,
    title: "discharge pipe beyond the table",
    what: "Length and elbows come to more than 27 m even in the largest size of the table.",
    why: "The table ends there; beyond it the flow has to be worked out.",
    source: "Approved Document G, Table 3.1",
    mend: "shorten the route, or have the pipe calculated",
    run: beyond,
}];

pub const NO_ELBOW_LEFT: &[Rule] = &[Rule {
    id: "DIS17",
    severity: Severity::Warning,
    title: "discharge pipe with no elbow to spare",
    what: "The pipe below the tundish passes, but one more elbow would fail it.",
    why: "Elbows are added on site round joists and steels, after the size was bought.",
    source: "common practice",
    mend: "go up a size now",
    run: no_elbow_left,
}];

/// What the table says of one tundish.
struct Judged {
    outlet: &'static str,
    /// The sizes tried, smallest first.
    trials: Vec<Trial>,
    /// Resistance of the size that is fitted.
    fitted: Option<Trial>,
    /// The same with what the cupboard shows, where that is more than is stated.
    drawn: Option<Trial>,
    /// Designation of the tube fitted.
    size: String,
    od: f64,
    length: f64,
    elbows: f64,
    assumed: bool,
    /// What passes with the smallest outlet need not pass with the valve's own.
    pass_assumed: bool,
    span: crate::model::Span,
}

/// Copper of that designation, by its outside diameter.
fn copper(size: &str) -> Option<&'static Tube> {
    tubes().iter().find(|t| t.material == "copper" && t.size == size)
}

fn judge(cx: &Context, d: &Discharge) -> Option<Judged> {
    let (outlet, outlet_assumed) = d.outlet(cx)?;
    let (length, elbows) = d.run(cx)?;
    let (od, size) = d.narrowest(cx)?;
    let trials = trials(outlet, tenths(length.value), elbows.round() as i64);
    let smallest = trials.first().and_then(|t| copper(&t.row.d2)).map(|t| t.od)?;
    let fits = |t: &&Trial| copper(&t.row.d2).is_some_and(|c| c.od <= od + 0.5);
    let fitted = trials.iter().rfind(fits).copied();
    let drawn = d.run_as_drawn(cx).and_then(|(long, turns)| {
        let all = crate::size::discharge::trials(outlet, tenths(long), turns.round() as i64);
        all.iter()
            .rfind(fits)
            .copied()
            .filter(|t| Some(t.resistance) > fitted.map(|f| f.resistance))
    });
    let sizes = d.own.iter().map(|p| cx.system.pipe(*p).size.as_ref());
    let stated_small = od + 0.5 < smallest;
    // The smallest outlet of the table asks for least: what fails there would fail with any other.
    let least_outlet = limits::discharge_rows("G1/2").next().is_some_and(|r| r.outlet == outlet);
    let any_outlet = outlet_assumed;
    let outlet_assumed = outlet_assumed && !least_outlet;
    let size_assumed = sizes.into_iter().any(assumed);
    // Smaller than the table's first size for its smallest outlet: too small at any length.
    let least_of_all = limits::discharge_rows("G1/2").next().and_then(|r| copper(&r.d2));
    let hopeless = least_of_all.is_some_and(|t| od + 0.5 < t.od);
    let rests = match (stated_small, hopeless) {
        (true, true) => size_assumed,
        (true, false) => size_assumed || outlet_assumed,
        _ => size_assumed || outlet_assumed || length.assumed,
    };
    Some(Judged {
        outlet,
        fitted: fitted.filter(|_| !stated_small),
        drawn,
        trials,
        size: size.to_owned(),
        od,
        length: length.value,
        elbows,
        assumed: rests,
        pass_assumed: rests || any_outlet,
        span: length.span,
    })
}

fn metres(tenths: i64) -> f64 {
    tenths as f64 / 10.0
}

fn tag_of_run<'c>(cx: &'c Context, pipe: PipeIx) -> &'c str {
    &cx.system.pipe(pipe).id
}

fn too_small(cx: &Context, out: &mut Verdicts) {
    for d in cx.discharges.iter().filter(|d| d.is_of_store(cx)) {
        let Some(j) = judge(cx, d) else { continue };
        let row = limits::discharge_rows(j.outlet).next();
        let source = row.map_or(String::new(), |r| r.source.clone());
        let next =
            j.trials.iter().find(|t| t.passes() && copper(&t.row.d2).is_some_and(|c| c.od > j.od));
        let mend = match next {
            Some(t) => format!(
                "use {} mm: {:.1} of {:.0} m, {} elbows left",
                t.row.d2,
                metres(t.resistance),
                metres(t.reach),
                t.elbows_left()
            ),
            None => "shorten the route, or have the pipe calculated".to_owned(),
        };
        let base = |title: String| {
            let s = say(title).on(cx, d.tundish).at(&j.span).source(&source).mend(&mend);
            d.first().map_or(s.clone(), |p| s.on_tag(tag_of_run(cx, p)))
        };
        match &j.fitted {
            None => {
                let least = j.trials.first().map_or("", |t| t.row.d2.as_str());
                out.fail(
                    base(format!(
                        "{} mm below the tundish, a {} outlet needs at least {least} mm",
                        j.size, j.outlet
                    ))
                    .assumed(j.assumed),
                );
            }
            Some(t) => {
                // Where more is drawn than stated, what is drawn counts.
                let (t, as_drawn) = match &j.drawn {
                    Some(shown) => (shown, " as drawn"),
                    None => (t, ""),
                };
                let (found, reach) = (metres(t.resistance), metres(t.reach));
                let s = |verdict: &str| {
                    base(format!("{} mm {verdict}: {found:.1} of {reach:.1} m", j.size))
                        .found(found, "m")
                        .against(reach)
                        .margin(reach - found)
                };
                if t.passes() {
                    let left = match t.elbows_left() {
                        0 => "no elbow left".to_owned(),
                        1 => "1 elbow left".to_owned(),
                        n => format!("{n} elbows left"),
                    };
                    let s = base(format!(
                        "{} mm passes{as_drawn}: {found:.1} of {reach:.1} m, {left}",
                        j.size
                    ));
                    let s = s.found(found, "m").against(reach).margin(reach - found);
                    out.pass(s.assumed(j.pass_assumed));
                } else {
                    out.fail(s(&format!("too small{as_drawn}")).assumed(j.assumed));
                }
            }
        }
    }
}

fn beyond(cx: &Context, out: &mut Verdicts) {
    for d in cx.discharges.iter().filter(|d| d.is_of_store(cx)) {
        let Some(j) = judge(cx, d) else { continue };
        let Some(last) = j.trials.last().filter(|t| !t.passes()) else { continue };
        let limit = cx.limit("DIS16.reach");
        out.fail(
            say(format!(
                "{:.1} m with {} elbows: {:.1} m even in {} mm",
                j.length,
                j.elbows,
                metres(last.resistance),
                last.row.d2
            ))
            .on(cx, d.tundish)
            .found(metres(last.resistance), "m")
            .limit(&limit)
            .margin(limit.value - metres(last.resistance))
            .assumed(j.assumed)
            .at(&j.span),
        );
    }
}

fn no_elbow_left(cx: &Context, out: &mut Verdicts) {
    let least = cx.limit("DIS17.elbows");
    for d in cx.discharges.iter().filter(|d| d.is_of_store(cx)) {
        let Some(j) = judge(cx, d) else { continue };
        let Some(t) = j.drawn.as_ref().or(j.fitted.as_ref()).filter(|t| t.passes()) else {
            continue;
        };
        let left = t.elbows_left() as f64;
        if left < least.value {
            out.fail(
                say(format!(
                    "{} mm passes with {:.1} of {:.1} m, but no elbow is left",
                    j.size,
                    metres(t.resistance),
                    metres(t.reach)
                ))
                .on(cx, d.tundish)
                .found(left, "elbows")
                .limit(&least)
                .margin(left - least.value)
                .assumed(j.assumed)
                .at(&j.span),
            );
        }
    }
}

/// Tundishes that share a common pipe, by its last stretch.
fn groups<'c>(cx: &'c Context) -> Vec<(PipeIx, Vec<&'c Discharge>)> {
    let mut groups = std::collections::BTreeMap::<PipeIx, Vec<&Discharge>>::new();
    for d in &cx.discharges {
        if let Some(last) = d.common.last() {
            groups.entry(*last).or_default().push(d);
        }
    }
    groups.into_iter().collect()
}

fn common_pipe(cx: &Context, out: &mut Verdicts) {
    one_size_up(cx, out);
    long_way(cx, out);
}

fn one_size_up(cx: &Context, out: &mut Verdicts) {
    for (last, members) in groups(cx) {
        let own = members.iter().filter_map(|d| narrowest(cx, &d.own));
        let Some(largest) = own.max_by(|a, b| a.0.total_cmp(&b.0)) else { continue };
        let mut pipes: Vec<PipeIx> = members.iter().flat_map(|d| d.common.clone()).collect();
        pipes.sort();
        pipes.dedup();
        let Some(fitted) = narrowest(cx, &pipes) else { continue };
        let tundishes = members.iter().map(|d| d.tundish);
        let rests = pipes.iter().chain(members.iter().flat_map(|d| &d.own));
        let guessed = rests.into_iter().any(|p| assumed(cx.system.pipe(*p).size.as_ref()));
        let above = crate::size::discharge::size_above(largest.1);
        let least = above.and_then(copper).map_or(largest.0 + 1.0, |t| t.od);
        let fails = fitted.0 + 0.5 < least;
        let s =
            say(format!("common pipe {} mm, the largest joined to it {} mm", fitted.1, largest.1))
                .on_tag(tag_of_run(cx, last))
                .on_all(cx, tundishes)
                .found(fitted.0, "mm")
                .limit(&cx.limit("DIS09.sizes-up"))
                .against(least)
                .margin(fitted.0 - least);
        let s = match above {
            Some(size) => s.mend(format!("use {size} mm for the common pipe")),
            None => s,
        };
        if fails {
            out.fail(s.assumed(guessed));
        } else {
            out.pass(s.assumed(guessed));
        }
    }
}

/// Of the ways that lead through a common pipe, the one that asks most of it: each judged from its
/// tundish to the end as if all of it had the size of the common pipe.
fn long_way(cx: &Context, out: &mut Verdicts) {
    for (last, members) in groups(cx) {
        let ways = members.iter().filter_map(|d| whole_way(cx, d));
        let Some(worst) = ways.max_by_key(|w| w.tried.resistance - w.tried.reach) else { continue };
        let (found, reach) = (metres(worst.tried.resistance), metres(worst.tried.reach));
        let s = say(format!(
            "common pipe {} mm, longest way to its end {found:.1} of {reach:.1} m",
            worst.tried.size
        ))
        .on_tag(tag_of_run(cx, last))
        .on(cx, worst.tundish)
        .found(found, "m")
        .against(reach)
        .margin(reach - found)
        .source("Approved Document G, paragraph 3.58 and Table 3.1");
        if worst.tried.passes() {
            out.pass(s);
        } else {
            let next =
                worst.larger.map_or("shorten the route, or have the pipe calculated".into(), |s| {
                    format!("use {s} mm for the common pipe")
                });
            out.fail(s.mend(next).assumed(worst.assumed));
        }
    }
}

struct WholeWay {
    tundish: PartIx,
    /// The common pipe's size with the whole way.
    tried: Shared,
    /// The least size that would do.
    larger: Option<&'static str>,
    assumed: bool,
}

fn whole_way(cx: &Context, d: &Discharge) -> Option<WholeWay> {
    let (outlet, outlet_assumed) = d.outlet(cx)?;
    let (mut length, mut elbows, mut guessed) = (0.0, 0.0, outlet_assumed && outlet != "G1/2");
    for pipe in d.all_pipes() {
        let l = cx.length(pipe)?;
        let n = cx.elbows(pipe);
        length += l.value;
        elbows += n.as_ref().map_or(0.0, |n| n.value);
        guessed |= l.assumed || n.is_some_and(|n| n.assumed);
    }
    let (od, _) = narrowest(cx, &d.common)?;
    let all = shared(outlet, tenths(length), elbows.round() as i64);
    let fits = |s: &&Shared| copper(s.size).is_some_and(|c| c.od <= od + 0.5);
    Some(WholeWay {
        tundish: d.tundish,
        tried: *all.iter().rfind(fits)?,
        larger: all.iter().find(|s| s.passes()).map(|s| s.size),
        assumed: guessed || d.common.iter().any(|p| assumed(cx.system.pipe(*p).size.as_ref())),
    })
}

fn too_many(cx: &Context, out: &mut Verdicts) {
    let most = cx.limit("DIS10.systems");
    for (last, members) in groups(cx) {
        let count = members.len() as f64;
        let s = say(format!("{count} systems on one common discharge pipe"))
            .on_tag(tag_of_run(cx, last))
            .on_all(cx, members.iter().map(|d| d.tundish))
            .found(count, most.unit)
            .limit(&most)
            .margin(most.value - count);
        if count > most.value {
            out.fail(s);
        } else {
            out.pass(s);
        }
    }
}

fn is_metal(material: &str) -> bool {
    ["copper", "steel", "stainless", "brass"].iter().any(|m| material.to_lowercase().contains(m))
}

fn above(cx: &Context, out: &mut Verdicts) {
    for d in cx.discharges.iter().filter(|d| d.is_of_store(cx)) {
        for inlet in d.valves.iter().filter(|v| !cx.is(v.valve, "safety valve")) {
            size_above(cx, out, d, inlet);
        }
        let stores = d.valves.iter().filter(|v| !cx.is(v.valve, "safety valve"));
        let mut tees: Vec<PartIx> =
            stores.flat_map(|v| v.parts.iter().copied()).filter(|p| cx.is(*p, "tee")).collect();
        tees.sort();
        tees.dedup();
        let several = d.valves.len() > 1;
        for tee in tees.into_iter().filter(|_| several) {
            let packaged = cx.factory(tee) || cx.declares(tee, "supplied with the package");
            if !packaged {
                out.fail(
                    say("relief valves share a manifold that is no part of the package")
                        .on(cx, tee)
                        .on_all(cx, d.valves.iter().map(|v| v.valve))
                        .on(cx, d.tundish)
                        .mend("give each valve its own tundish, or use the maker's manifold")
                        .assumed(cx.added(tee)),
                );
            }
        }
    }
}

fn size_above(cx: &Context, out: &mut Verdicts, d: &Discharge, inlet: &Inlet) {
    let base = |title: String| say(title).on(cx, inlet.valve).on(cx, d.tundish);
    for pipe in &inlet.pipes {
        let material = &cx.system.pipe(*pipe).material;
        if !is_metal(&material.value) {
            out.fail(
                base(format!("{} between relief valve and tundish", material.value))
                    .on_tag(tag_of_run(cx, *pipe))
                    .assumed(material.origin.is_assumed()),
            );
        }
    }
    let Some((outlet, outlet_assumed)) = outlet_of(cx, inlet.valve) else { return };
    let Some(row) = limits::discharge_rows(outlet).next() else { return };
    let Some(least) = copper(&row.d1) else { return };
    let Some((od, size)) = narrowest(cx, &inlet.pipes) else { return };
    let sizes = inlet.pipes.iter().map(|p| cx.system.pipe(*p).size.as_ref());
    let s =
        base(format!("{size} mm above the tundish on a {outlet} outlet, at least {} mm", row.d1))
            .found(od, "mm")
            .against(least.od)
            .margin(od - least.od)
            .source(row.source.clone());
    let s = s.assumed(outlet_assumed || sizes.into_iter().any(assumed));
    if od + 0.5 < least.od {
        out.fail(s);
    } else {
        out.pass(s);
    }
}
