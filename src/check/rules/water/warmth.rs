//! Cold that stays cold, hot that comes soon.

use crate::catalogue::limits::Limit;
use crate::check::report::{Verdicts, say};
use crate::check::rule::Rule;
use crate::check::space::company;
use crate::check::{Context, Severity, Way};
use crate::model::{PartIx, PipeIx, Service, Water};

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
        what: "An outlet that takes more than 30 seconds to run hot.",
        why: "Water is wasted at every use.",
        source: "Water Supply (Water Fittings) Regulations 1999, guidance G18.4",
        mend: "take a thinner or shorter pipe, or a return loop",
        run: waiting,
    },
];

fn is_cold(service: Service) -> bool {
    matches!(service, Service::ColdMain | Service::ColdSoftened | Service::ColdBalanced)
}

fn is_hot(service: Service) -> bool {
    service.water() == Water::Primary
        || matches!(service, Service::HotWater | Service::HotReturn | Service::SolarFlow)
}

fn warmed(cx: &Context, out: &mut Verdicts) {
    let Some(plan) = cx.cupboard else { return };
    let (least, along) = (cx.limit("WAT14.distance"), cx.limit("WAT14.along"));
    let warmest = cx.limit("WAT14.cold");
    let of = |want: fn(Service) -> bool| {
        plan.routes.iter().filter(move |r| {
            let pipe = cx.system.pipe(r.pipe);
            let bare = r.lagging <= 0.0 && pipe.lagging.as_ref().is_none_or(|l| l.value <= 0.0);
            r.routed && bare && want(pipe.service)
        })
    };
    let id = |p: PipeIx| cx.system.pipe(p).id.as_str();
    for cold in of(is_cold) {
        for hot in of(is_hot) {
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

/// The pipes from what is kept hot to an outlet: from the store or from a return loop.
fn leg(cx: &Context, outlet: PartIx) -> Option<Vec<PipeIx>> {
    cx.pipe_on(outlet, "hot")?;
    let kept_hot = |p: PartIx| {
        cx.system.part(p).kind.heats
            || cx.is_any(p, &crate::check::context::CYLINDERS)
            || cx.circulates(p)
    };
    let up = cx.walk_from(Way::Up, outlet, &["hot"], |p| !kept_hot(p) && !cx.is(p, "water main"));
    let source = up.parts.iter().copied().find(|p| kept_hot(*p))?;
    Some(up.pipes_to(source))
}

fn dead_leg(cx: &Context, out: &mut Verdicts) {
    for outlet in cx.outlets() {
        let Some(pipes) = leg(cx, outlet) else { continue };
        let lagged =
            |p: &PipeIx| cx.system.pipe(*p).lagging.as_ref().is_some_and(|l| l.value > 0.0);
        let bare: Vec<PipeIx> = pipes.into_iter().filter(|p| !lagged(p)).collect();
        let lengths: Option<Vec<_>> = bare.iter().map(|p| cx.length(*p)).collect();
        let Some(lengths) = lengths.filter(|l| !l.is_empty()) else { continue };
        let metres: f64 = lengths.iter().map(|l| l.value).sum();
        let widest = bare.iter().filter_map(|p| cx.tube(*p)).map(|t| t.od).fold(0.0, f64::max);
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
            out.fail(s.assumed(lengths.iter().any(|l| l.assumed)));
        } else {
            out.pass(s);
        }
    }
}

fn waiting(cx: &Context, out: &mut Verdicts) {
    let most = cx.limit("WAT16.seconds");
    for figure in cx.figures("outlet.waiting") {
        let Some(part) = cx.by_tag(&figure.about) else { continue };
        let s = say(format!(
            "{:.0} s until hot water comes, at most {:.0} s",
            figure.value, most.value
        ))
        .on(cx, part)
        .found(figure.value, "s")
        .limit(&most)
        .margin(most.value - figure.value);
        if figure.value > most.value {
            out.fail(s.assumed(figure.assumed));
        } else {
            out.pass(s);
        }
    }
}
