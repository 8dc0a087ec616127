//! Cold that stays cold, hot that comes soon.

use crate::catalogue::limits::Limit;
use crate::check::report::{Verdicts, say};
use crate::check::rule::Rule;
use crate::check::space::company;
use crate::check::{Context, Severity};
use crate::model::PipeIx;

pub const COLD: &[Rule] = &[Rule {
    id: "WAT14",
    severity: Severity::Warning,
    title: "cold pipe warmed by a bare hot one",
    what: "A cold pipe that runs beside a hot or heating pipe, both unlagged, closer than 50 mm.",
    why: "Cold water must stay below 25 °C (20 °C in Northern Ireland); warm, it breeds bacteria.",
    source: "Water Supply (Water Fittings) Regulations 1999, Schedule 2 paragraph 9; common \
             practice for the distance",
    mend: "space the pipes apart or lag them",
    run: warmed,
}];

pub const WAIT: &[Rule] = &[
    Rule {
        id: "WAT15",
        severity: Severity::Warning,
        title: "dead leg too long",
        what: "Unlagged hot pipe from the store or the return loop to an outlet, longer than the \
               table allows for its widest pipe.",
        why: "All of it cools after each use and is run off before hot water comes.",
        source: "Water Supply (Water Fittings) Regulations 1999, guidance Table 8.1",
        mend: "add a return loop, or bring the store nearer",
        run: dead_leg,
    },
    Rule {
        id: "WAT16",
        severity: Severity::Warning,
        title: "hot water too long in coming",
        what: "An outlet that takes more than 30 seconds to run hot; as advice, one that may do so \
               since the cold pipe takes heat first.",
        why: "Water is wasted at every use.",
        source: "Water Supply (Water Fittings) Regulations 1999, guidance G18.4",
        mend: "take a thinner or shorter pipe, or a return loop",
        run: waiting,
    },
];

fn warmed(cx: &Context, out: &mut Verdicts) {
    let Some(plan) = cx.cupboard else { return };
    let (least, along) = (cx.limit("WAT14.distance"), cx.limit("WAT14.along"));
    let warmest = cx.limit("WAT14.cold");
    let of = |warmth: i8| {
        plan.routes.iter().filter(move |r| {
            let pipe = cx.system.pipe(r.pipe);
            let bare = r.lagging <= 0.0 && pipe.lagging.as_ref().is_none_or(|l| l.value <= 0.0);
            r.routed && bare && pipe.service.warmth() == warmth
        })
    };
    let id = |p: PipeIx| cx.system.pipe(p).id.as_str();
    for cold in of(-1) {
        for hot in of(1) {
            let (length, gap) = company(cold, hot, least.value);
            if length > along.value {
                out.fail(
                    say(format!(
                        "bare cold and hot pipe {gap:.0} mm apart over {length:.0} mm; cold must \
                         stay below {:.0} °C",
                        warmest.value
                    ))
                    .on_tag(id(cold.pipe))
                    .on_tag(id(hot.pipe))
                    .found(gap, "mm")
                    .limit(&least)
                    .margin(gap - least.value),
                );
            }
        }
    }
}

fn limit_for(cx: &Context, od: f64) -> Limit {
    cx.limit(match od {
        d if d <= 12.0 => "WAT15.length-12",
        d if d <= 22.0 => "WAT15.length-22",
        d if d <= 28.0 => "WAT15.length-28",
        _ => "WAT15.length-over",
    })
}

fn dead_leg(cx: &Context, out: &mut Verdicts) {
    for outlet in cx.outlets() {
        let Some(figure) = cx.figure("outlet.dead-leg", cx.tag(outlet)) else { continue };
        let input = |name: &str| figure.inputs.iter().find(|i| i.name == name).map(|i| i.value);
        let (metres, widest) = (figure.value, input("widest pipe").unwrap_or(0.0));
        let limit = limit_for(cx, widest);
        let s = say(format!(
            "{metres:.1} m of unlagged hot pipe up to {widest:.0} mm, at most {:.0} m",
            limit.value
        ))
        .on(cx, outlet)
        .found(metres, "m")
        .limit(&limit)
        .margin(limit.value - metres);
        if metres > limit.value + 1e-9 {
            out.fail(s.assumed(figure.assumed));
        } else {
            out.pass(s.assumed(figure.assumed));
        }
    }
}

fn waiting(cx: &Context, out: &mut Verdicts) {
    let most = cx.limit("WAT16.seconds");
    for figure in cx.figures("outlet.waiting") {
        let Some(part) = cx.by_tag(&figure.about) else { continue };
        let input = |name: &str| figure.inputs.iter().find(|i| i.name == name).map(|i| i.value);
        // Beyond doubt is only what the run of the water alone takes.
        let (bare, latest) =
            (input("V/q").unwrap_or(figure.value), input("latest").unwrap_or(figure.value));
        let s = |found: f64| {
            say(format!(
                "{:.0} to {latest:.0} s until hot water comes, at most {:.0} s",
                figure.value, most.value
            ))
            .on(cx, part)
            .found(found, "s")
            .limit(&most)
            .margin(most.value - found)
        };
        if bare > most.value {
            out.fail(s(figure.value).assumed(figure.assumed));
        } else if latest > most.value {
            let mend = "time it when the system is commissioned; take a thinner or shorter pipe, or \
                        a return loop, if it is too long";
            let s = s(latest).severity(Severity::Advice).mend(mend);
            out.fail(s.assumed(figure.assumed));
        } else {
            let s = s(latest);
            out.pass(s.assumed(figure.assumed));
        }
    }
}
