//! Air, sludge and draining.

use super::air::high_points;
use crate::check::context::CYLINDERS;
use crate::check::report::{Say, Verdicts, say};
use crate::check::rule::Rule;
use crate::check::rules::water::service;
use crate::check::{Context, Severity, Way};
use crate::model::{P3, PartIx, PipeIx, Service, Side, Water, whole_mm};

pub const RULES: &[Rule] = &[
    Rule {
        id: "HTG14",
        severity: Severity::Warning,
        title: "circuit that can't be vented or drained",
        what: "A heating circuit with no air vent or air separator, or with no drain cock as low as \
               the coil, the buffer or the header in the cupboard; as advice, one whose tee stands \
               above a return that runs lower in the cupboard, and every high point of the flow there \
               from which each way to a vent falls first. A vent counts with the height at which it is \
               joined, not with that of a pipe that touches it.",
        why: "Air stays in the coil, and nobody can empty the circuit for the next repair.",
        source: "common practice",
        mend: "add an air vent at each high point and a drain cock at the lowest",
        run: vents,
    },
    Rule {
        id: "HTG15",
        severity: Severity::Warning,
        title: "heating without a filter or a record of its inhibitor",
        what: "A heating circuit with no in-line filter; in an as-built job also one without the \
               inhibitor's name and date on record.",
        why: "Sludge settles in the coil and in the boiler; nobody knows when to dose again.",
        source: "BS 7593:2019, from memory",
        mend: "add a filter on the return next to the source, and record the inhibitor",
        run: filter,
    },
];

/// Every part of a source's own circuit.
fn circuit(cx: &Context, source: PartIx) -> Vec<PartIx> {
    let walk = cx.walk_from(Way::Any, source, &["flow", "return"], |p| {
        !cx.is(p, "filling loop") && !cx.is(p, "safety valve")
    });
    walk.parts
}

fn circuits<'c>(cx: &'c Context) -> impl Iterator<Item = (PartIx, Vec<PartIx>)> + 'c {
    cx.sources()
        .into_iter()
        .filter(|s| cx.pipe_on(*s, "flow").is_some() && cx.pipe_on(*s, "return").is_some())
        .map(|s| (s, circuit(cx, s)))
}

/// What a pipe's own bore leaves behind is not counted, mm (common practice).
const LEVEL: f64 = 25.0;

/// The lowest connection to heating water, of what holds much of it in the cupboard.
fn foot(cx: &Context, parts: &[PartIx]) -> Option<(PartIx, f64)> {
    let holds = [&CYLINDERS[..], &["buffer", "volumiser", "low-loss header"]].concat();
    let holders = parts.iter().copied().filter(|p| cx.is_any(*p, &holds));
    let ports = holders.flat_map(|part| {
        let ends = cx.pipes_of(part).map(|p| cx.system.pipe(p));
        let own = ends.filter(|p| p.service.water() == Water::Primary);
        own.flat_map(move |p| [p.from, p.to].into_iter().filter(move |end| end.part == part))
    });
    let heights = ports.filter_map(|port| Some((port.part, cx.port_place(port)?.z)));
    heights.min_by(|a, b| a.1.total_cmp(&b.1))
}

/// The lowest drain cock, the height of its tee and the lowest return in the cupboard, where that
/// runs below the tee. Of a pipe that leaves through the floor its level runs count, not the way
/// down.
fn below_the_tee(
    cx: &Context,
    cocks: &[PartIx],
    parts: &[PartIx],
) -> Option<(PartIx, f64, PipeIx, f64)> {
    let own = |p: &PipeIx| {
        let pipe = cx.system.pipe(*p);
        cocks.iter().any(|c| pipe.from.part == *c || pipe.to.part == *c)
    };
    // A cock at the end of a branch is reached by what stands above the branch's beginning.
    let tee = |cock: PartIx| {
        let branch = cx.pipes_of(cock).filter_map(|p| cx.route(p)).find(|r| r.routed)?;
        branch.points.iter().map(|p| p.z).max_by(f64::total_cmp)
    };
    let tees = cocks.iter().filter_map(|c| Some((*c, tee(*c)?)));
    let (cock, at) = tees.min_by(|a, b| a.1.total_cmp(&b.1))?;
    let mut pipes: Vec<PipeIx> = parts.iter().flat_map(|p| cx.pipes_of(*p)).collect();
    pipes.sort();
    pipes.dedup();
    let lowest = |p: &PipeIx| {
        let route = cx.route(*p).filter(|r| r.routed)?;
        let away = route.exit.as_ref().is_some_and(|e| e.side == Side::Floor);
        let level = route.points.windows(2).filter(|w| !away || is_level(w[0], w[1]));
        let low = level.map(|w| w[0].z.min(w[1].z)).min_by(f64::total_cmp)?;
        Some((*p, low))
    };
    let returns = pipes.iter().filter(|p| cx.system.pipe(**p).service == Service::HeatingReturn);
    let (pipe, low) =
        returns.filter(|p| !own(p)).filter_map(lowest).min_by(|a, b| a.1.total_cmp(&b.1))?;
    (at > low + LEVEL).then_some((cock, at, pipe, low))
}

/// Advice that a part stands on the wrong side of a run of its pipework. `heights`: its own, the run's
/// and the margin, mm.
fn beyond(cx: &Context, title: String, of: (PartIx, PipeIx), heights: (f64, f64, f64)) -> Say {
    let (at, run, margin) = heights;
    let s = say(title).on(cx, of.0).on_tag(cx.pipe_id(of.1)).found(at, "mm");
    s.against(run).margin(margin).severity(Severity::Advice)
}

/// A run that holds water of its own: level, and longer than a bend.
fn is_level(a: P3, b: P3) -> bool {
    const BEND: f64 = 50.0;
    (a.z - b.z).abs() < LEVEL && (a.x - b.x).abs().max((a.y - b.y).abs()) > BEND
}

fn vents(cx: &Context, out: &mut Verdicts) {
    for (source, parts) in circuits(cx) {
        let is_vent = |p: &PartIx| cx.is_any(*p, &["automatic air vent", "air separator"]);
        let vents: Vec<PartIx> = parts.iter().copied().filter(is_vent).collect();
        let vented = !vents.is_empty();
        let cocks: Vec<PartIx> =
            parts.iter().copied().filter(|p| cx.is(*p, "drain cock")).collect();
        let drained = !cocks.is_empty();
        if !vented {
            out.fail(say("no air vent on the circuit").on(cx, source));
        }
        if !drained {
            out.fail(say("no drain cock on the circuit").on(cx, source));
        }
        if let (Some((cock, at)), Some((holder, foot))) =
            (service::lowest(cx, &cocks), foot(cx, &parts))
            && at > foot + LEVEL
        {
            let over = "the drain cock hangs above the lowest connection of what holds the \
                        heating's water: that stays full";
            out.fail(say(over).on(cx, cock).on(cx, holder).found(at, "mm").against(foot));
            continue;
        }
        if let Some((cock, tee, pipe, low)) = below_the_tee(cx, &cocks, &parts) {
            let title = format!(
                "the drain cock's tee stands at {} mm, a return runs at {} mm: what lies below the \
                 tee stays full",
                whole_mm(tee),
                whole_mm(low)
            );
            let mend = "take the drain cock's tee lower, into the lowest run of the return";
            out.fail(beyond(cx, title, (cock, pipe), (tee, low, low - tee)).mend(mend));
            continue;
        }
        let highs = high_points(cx, &vents, &parts);
        for high in &highs {
            let (top, falls_to) = (high.top, high.falls_to);
            let title = format!(
                "a flow stands at {} mm, every way from there to a vent falls to {} mm or lower: \
                 air gathers at the top",
                whole_mm(top),
                whole_mm(falls_to)
            );
            let mend =
                "add an air vent at that high point, or take the nearest vent's tee up to it";
            let s = beyond(cx, title, (high.vent, high.pipe), (falls_to, top, falls_to - top));
            out.fail(s.mend(mend));
        }
        if !highs.is_empty() {
            continue;
        }
        if vented && drained {
            out.pass(say("the circuit can be vented and drained").on(cx, source));
        }
    }
}

fn filter(cx: &Context, out: &mut Verdicts) {
    for (source, parts) in circuits(cx) {
        let filters = ["magnetic filter", "strainer"];
        match parts.iter().copied().find(|p| cx.is_any(*p, &filters)) {
            Some(filter) => out.pass(say("filter on the circuit").on(cx, filter).on(cx, source)),
            None => out.fail(say("no filter on the circuit").on(cx, source)),
        }
        let built = cx.system.job.status.to_lowercase().replace(' ', "-").contains("as-built");
        let recorded = cx.system.job.fields.get("inhibitor").is_some_and(|i| !i.trim().is_empty());
        if built && !recorded {
            let mend = "enter the inhibitor's name and the date in the job";
            out.fail(say("no inhibitor on record").on(cx, source).mend(mend));
        }
    }
}
