//! Velocities, losses, and what a header passes.

use crate::check::context::{Known, assumed};
use crate::check::report::{Verdicts, say};
use crate::check::rule::Rule;
use crate::check::{Context, Severity, Way};
use crate::model::{PartIx, PipeIx, Service, Water};

pub const VELOCITY: &[Rule] = &[
    Rule {
        id: "HTG03",
        severity: Severity::Warning,
        title: "heating pipe too small, or too slow to carry air",
        what: "Water in a heating pipe faster than 1.5 m/s, at design flow or with one zone alone \
               open, or losing more than 300 Pa a metre; or, as advice, slower than 0.3 m/s.",
        why: "Too fast, it is heard and the pump runs out of head; too slow, air stays in the \
              pipe.",
        source: "common practice",
        mend: "take the next size",
        run: heating_pipes,
    },
    Rule {
        id: "HTG04",
        severity: Severity::Warning,
        title: "hot or cold pipe too small",
        what: "Water faster than 2 m/s in a main or distribution pipe, or than 4 m/s in a pipe to \
               one outlet.",
        why: "It hums, hammers and in time wears the copper.",
        source: "BS EN 806-3, clause 4.4",
        mend: "take the next size",
        run: water_pipes,
    },
];

pub const HEAD: &[Rule] = &[Rule {
    id: "HTG05",
    severity: Severity::Warning,
    title: "pump without the head for its circuit",
    what: "The loss round the index circuit is more than the pump gives at that flow.",
    why: "The last radiator stays cold.",
    source: "sum of losses round the index circuit",
    mend: "take larger pipes on the index leg, or a stronger pump",
    run: head,
}];

pub const HEADER: &[Rule] = &[Rule {
    id: "HTG10",
    severity: Severity::Warning,
    title: "header draws more than the source gives",
    what: "The circuits beyond a low-loss header draw more water than the source sends into it.",
    why: "Return water is mixed into the flow and every emitter runs cooler than designed.",
    source: "common practice",
    mend: "give one circuit priority, or raise the source's flow",
    run: header,
}];

fn pipe_of(cx: &Context, id: &str) -> Option<PipeIx> {
    cx.pipe_called(id)
}

/// The two ends' tags, so that a pipe can be found on the sheet.
fn ends(cx: &Context, pipe: PipeIx) -> [PartIx; 2] {
    let p = cx.system.pipe(pipe);
    [p.from.part, p.to.part]
}

fn heating_pipes(cx: &Context, out: &mut Verdicts) {
    if cx.heating_outside() {
        return;
    }
    let fastest = cx.limit("HTG03.velocity");
    let slowest = cx.limit("HTG03.air");
    let steepest = cx.limit("HTG03.gradient");
    for figure in cx.figures("pipe.velocity") {
        let Some(pipe) = pipe_of(cx, &figure.about) else { continue };
        let p = cx.system.pipe(pipe);
        if p.service.water() != Water::Primary {
            continue;
        }
        let size = p.size.as_ref().map_or("", |s| s.value.as_str());
        let guessed = figure.assumed || assumed(p.size.as_ref());
        let gradient = cx.figure("pipe.gradient", &figure.about);
        // One zone alone gets all that the pump gives.
        let alone = cx.figure("pipe.velocity-alone", &figure.about);
        let about = |title: String| say(title).on_tag(&p.id).on_all(cx, ends(cx, pipe)).at(&p.span);
        if figure.value > fastest.value {
            out.fail(
                about(format!(
                    "{size} mm at {:.2} m/s, at most {} m/s",
                    figure.value, fastest.value
                ))
                .found(figure.value, "m/s")
                .limit(&fastest)
                .margin(fastest.value - figure.value)
                .assumed(guessed),
            );
        } else if let Some(g) = gradient.filter(|g| g.value > steepest.value) {
            out.fail(
                about(format!(
                    "{size} mm loses {:.0} Pa/m, at most {} Pa/m",
                    g.value, steepest.value
                ))
                .found(g.value, "Pa/m")
                .limit(&steepest)
                .margin(steepest.value - g.value)
                .assumed(guessed),
            );
        } else if let Some(alone) = alone.filter(|a| a.value > fastest.value) {
            out.fail(
                about(format!(
                    "{size} mm at {:.2} m/s where few zones are open, at most {} m/s",
                    alone.value, fastest.value
                ))
                .found(alone.value, "m/s")
                .limit(&fastest)
                .margin(fastest.value - alone.value)
                .mend("take the next size, or a pump that holds its head down by itself")
                .assumed(guessed || alone.assumed),
            );
        } else if figure.value > 0.0 && figure.value < slowest.value {
            out.fail(
                about(format!(
                    "{size} mm at {:.2} m/s, air stays below {} m/s",
                    figure.value, slowest.value
                ))
                .found(figure.value, "m/s")
                .limit(&slowest)
                .margin(figure.value - slowest.value)
                .severity(Severity::Advice)
                .mend("vent the high points well, or take the next size down"),
            );
        } else {
            out.pass(
                about(format!(
                    "{size} mm at {:.2} m/s, at most {} m/s",
                    figure.value, fastest.value
                ))
                .found(figure.value, "m/s")
                .limit(&fastest)
                .margin(fastest.value - figure.value),
            );
        }
    }
}

fn water_pipes(cx: &Context, out: &mut Verdicts) {
    let (main, branch) = (cx.limit("HTG04.main"), cx.limit("HTG04.branch"));
    let outlets = cx.outlets();
    for figure in cx.figures("pipe.velocity") {
        let Some(pipe) = pipe_of(cx, &figure.about) else { continue };
        let p = cx.system.pipe(pipe);
        let circulated = p.service == Service::HotReturn;
        if p.service.water() != Water::Potable || circulated {
            continue;
        }
        let to_one = outlets.binary_search(&p.to.part).is_ok();
        let limit = if to_one { &branch } else { &main };
        let size = p.size.as_ref().map_or("", |s| s.value.as_str());
        let s = say(format!("{size} mm at {:.2} m/s, at most {} m/s", figure.value, limit.value))
            .on_tag(&p.id)
            .on_all(cx, ends(cx, pipe))
            .found(figure.value, "m/s")
            .limit(limit)
            .margin(limit.value - figure.value)
            .at(&p.span);
        if figure.value > limit.value {
            out.fail(s.assumed(figure.assumed || assumed(p.size.as_ref())));
        } else {
            out.pass(s.assumed(figure.assumed || assumed(p.size.as_ref())));
        }
    }
}

fn head(cx: &Context, out: &mut Verdicts) {
    if cx.heating_outside() {
        return;
    }
    for figure in cx.figures("pump.duty") {
        let Some(pump) = cx.by_tag(&figure.about) else { continue };
        let given = figure.inputs.iter().find(|i| i.name == "head given").map(|i| i.value);
        let Some(given) = given else { continue };
        let s = say(format!(
            "index circuit needs {:.1} {}, the pump gives {given:.1}",
            figure.value, figure.unit
        ))
        .on(cx, pump)
        .found(figure.value, &figure.unit)
        .against(given)
        .margin(given - figure.value)
        .source(figure.source.clone());
        if figure.value > given + 1e-9 {
            out.fail(s.assumed(figure.assumed));
        } else {
            out.pass(s.assumed(figure.assumed));
        }
    }
}

/// Flow through a port of a header, l/s, from the figure of the pipe on it.
fn flow(cx: &Context, part: PartIx, port: &str) -> Option<Known> {
    let pipe = cx.pipe_on(part, port)?;
    let figure = cx.figure("pipe.flow", &pipe.id)?;
    Some(Known { value: figure.value, assumed: figure.assumed, span: 0..0 })
}

fn header(cx: &Context, out: &mut Verdicts) {
    for part in cx.of("low-loss header") {
        // What the source can give stands over what its own pipe happens to carry.
        let heats = |p: PartIx| cx.system.part(p).kind.heats;
        let up = cx.walk_from(Way::Up, part, &["primary flow"], |p| !heats(p));
        let source = up.parts.iter().copied().find(|p| heats(*p));
        let full = source.and_then(|s| cx.figure("heating.source-flow", cx.tag(s)));
        let primary = full
            .map(|f| Known { value: f.value, assumed: f.assumed, span: 0..0 })
            .or_else(|| flow(cx, part, "primary flow"));
        let (Some(primary), Some(secondary)) = (primary, flow(cx, part, "secondary flow")) else {
            continue;
        };
        let s = say(format!(
            "by design the circuits draw {:.3} l/s, the source gives {:.3} l/s",
            secondary.value, primary.value
        ))
        .on(cx, part)
        .on_all(cx, source)
        .found(secondary.value, "l/s")
        .against(primary.value)
        .margin(primary.value - secondary.value);
        if secondary.value > primary.value * 1.005 {
            out.fail(s.assumed(primary.assumed || secondary.assumed));
        } else {
            out.pass(s.assumed(primary.assumed || secondary.assumed));
            as_pumped(cx, part, out);
        }
    }
}

/// What the pumps on both sides of a header move by their curves, before anybody has balanced them.
fn as_pumped(cx: &Context, header: PartIx, out: &mut Verdicts) {
    let most = |ports: &[&str]| {
        let reached = cx.walk_from(Way::Any, header, ports, |p| p != header);
        let pumps = reached.parts.iter().copied().filter(|p| cx.system.part(*p).kind.key == "pump");
        let flow = |pump: PartIx| {
            let of = cx.figures("operating.point");
            let own =
                of.filter(|f| f.about.split_once(": ").is_some_and(|(t, _)| t == cx.tag(pump)));
            own.map(|f| (f.value, f.assumed)).max_by(|a, b| a.0.total_cmp(&b.0))
        };
        let mut flows: Vec<(PartIx, (f64, bool))> =
            pumps.filter_map(|p| Some((p, flow(p)?))).collect();
        flows.sort_by_key(|(p, _)| *p);
        flows.dedup_by_key(|(p, _)| *p);
        flows
    };
    let primary = most(&["primary flow", "primary return"]);
    let mut secondary = most(&["secondary flow", "secondary return"]);
    secondary.retain(|(p, _)| !primary.iter().any(|(q, _)| p == q));
    let sum = |of: &[(PartIx, (f64, bool))]| of.iter().map(|(_, (q, _))| q).sum::<f64>();
    let (gives, draw) = (sum(&primary), sum(&secondary));
    if gives <= 0.0 || draw <= gives {
        return;
    }
    let s = say(format!(
        "by their curves the circuits' pumps move {draw:.1} l/min together, the primary's {gives:.1} \
         l/min: until the circuits are balanced, returning water is mixed into their flow"
    ))
    .on(cx, header)
    .on_all(cx, secondary.iter().map(|(p, _)| *p))
    .found(draw, "l/min")
    .against(gives)
    .margin(gives - draw)
    .severity(Severity::Advice)
    .mend("set each circuit to its design flow at commissioning, by its pump's speed or its valve");
    out.fail(s.alone());
}
