//! Which way things face: arrows, pumps in series, cylinders in parallel.

use std::collections::{BTreeMap, BTreeSet};

use crate::catalogue::Flow;
use crate::check::context::{CYLINDERS, EMITTERS};
use crate::check::report::{Verdicts, say};
use crate::check::rule::Rule;
use crate::check::{Context, Reached, Severity, Way};
use crate::model::PartIx;

pub const RULES: &[Rule] = &[
    Rule {
        id: "HTG17",
        severity: Severity::Warning,
        title: "parallel cylinders that do not share evenly",
        what: "Cylinders in parallel piped neither in reverse return nor with balancing valves.",
        why: "The nearer one gives all the water and the farther one stays full of hot.",
        source: "common practice",
        mend: "pipe them in reverse return, or balance each",
        run: parallel,
    },
    Rule {
        id: "HTG18",
        severity: Severity::Error,
        title: "valve or pump against the flow",
        what: "A part whose arrow points against the direction in which its pipe runs.",
        why: "A check valve or a pump the wrong way round lets nothing through.",
        source: "direction of flow in the graph",
        mend: "turn it round",
        run: reversed,
    },
    Rule {
        id: "HTG19",
        severity: Severity::Warning,
        title: "pumps in series with no header between",
        what: "A pump that feeds straight into another pump.",
        why: "The two fight: the stronger drives the weaker and the balance of every circuit is \
              lost.",
        source: "common practice",
        mend: "separate them by a low-loss header, or leave one out",
        run: series,
    },
];

fn reversed(cx: &Context, out: &mut Verdicts) {
    let mut faced: BTreeMap<PartIx, usize> = BTreeMap::new();
    for pipe in &cx.system.pipes {
        let flow = |port: crate::model::PortRef| {
            cx.system.part(port.part).kind.ports.get(port.port).map(|p| p.flow)
        };
        if flow(pipe.from) == Some(Flow::In) {
            *faced.entry(pipe.from.part).or_default() += 1;
        }
        if flow(pipe.to) == Some(Flow::Out) {
            *faced.entry(pipe.to.part).or_default() += 1;
        }
    }
    for (part, _) in faced {
        // A vessel or gauge may be named at either end; only what has a way through faces one.
        out.fail(say("its arrow points against the flow").on(cx, part));
    }
}

fn series(cx: &Context, out: &mut Verdicts) {
    let breaks = |p: PartIx| {
        cx.is_any(p, &["pump", "low-loss header", "buffer", "blending set"])
            || cx.is_any(p, &EMITTERS)
            || cx.is_any(p, &CYLINDERS)
            || cx.system.part(p).kind.heats
            || cx.is(p, "bypass valve")
            || cx.is(p, "filling loop")
    };
    for pump in cx.of("pump") {
        let down = cx.walk_from(Way::Down, pump, &["out"], |p| !breaks(p));
        for next in down.parts.iter().copied().filter(|p| cx.is(*p, "pump") && *p != pump) {
            out.fail(say("one pump feeds straight into another").on(cx, pump).on(cx, next));
        }
    }
    for source in cx.sources().into_iter().filter(|s| cx.declares(*s, "internal pump")) {
        let down = cx.walk_from(Way::Down, source, &["flow"], |p| !breaks(p));
        for next in down.parts.iter().copied().filter(|p| cx.is(*p, "pump")) {
            out.fail(
                say("the pump inside the source feeds straight into another")
                    .on(cx, next)
                    .on(cx, source),
            );
        }
    }
}

/// Tees on the way from a cylinder's port to where all ways meet.
fn tees(cx: &Context, reached: &Reached, at: PartIx) -> Vec<PartIx> {
    let mut tees: Vec<PartIx> =
        reached.between(at).into_iter().filter(|p| cx.is(*p, "tee")).collect();
    tees.push(at);
    tees
}

fn parallel(cx: &Context, out: &mut Verdicts) {
    // Cylinders whose cold comes from one tee and whose hot goes to one tee.
    let stops = |p: PartIx| {
        cx.is_any(p, &CYLINDERS)
            || cx.is_any(p, &crate::check::context::OUTLETS)
            || cx.is_any(p, &["water main", "blending valve", "filling loop"])
    };
    let ways: Vec<(PartIx, Reached, Reached)> = cx
        .stores
        .iter()
        .map(|s| {
            let cold =
                cx.walk_from(Way::Up, s.cylinder, &["cold"], |p| !stops(p) && !cx.is_check(p));
            let hot = cx.walk_from(Way::Down, s.cylinder, &["hot"], |p| !stops(p));
            (s.cylinder, cold, hot)
        })
        .collect();
    let first_tee = |r: &Reached| r.parts.iter().copied().find(|p| cx.is(*p, "tee"));
    // Only those can share whose hot comes together somewhere.
    let mut meeting: BTreeMap<PartIx, Vec<usize>> = BTreeMap::new();
    for (i, (_, _, hot)) in ways.iter().enumerate() {
        for tee in hot.parts.iter().filter(|p| cx.is(**p, "tee")) {
            meeting.entry(*tee).or_default().push(i);
        }
    }
    let mut pairs: BTreeMap<usize, BTreeSet<usize>> = BTreeMap::new();
    for of_tee in meeting.values() {
        for (n, i) in of_tee.iter().enumerate() {
            pairs.entry(*i).or_default().extend(&of_tee[n + 1..]);
        }
    }
    for (i, others) in pairs {
        let (a, a_cold, a_hot) = &ways[i];
        for (b, b_cold, b_hot) in others.into_iter().map(|j| &ways[j]) {
            let meet = |x: &Reached, y: &Reached| {
                x.parts.iter().copied().find(|p| cx.is(*p, "tee") && y.has(*p))
            };
            let (Some(cold), Some(hot)) = (meet(a_cold, b_cold), meet(a_hot, b_hot)) else {
                continue;
            };
            if first_tee(a_cold).is_none() {
                continue;
            }
            let length = |r: &Reached, at| tees(cx, r, at).len();
            let total = |c: &Reached, h: &Reached| length(c, cold) + length(h, hot);
            let balanced = |c: &Reached, h: &Reached| {
                let own = c.between(cold).into_iter().chain(h.between(hot));
                own.into_iter().any(|p| cx.is(p, "balancing valve"))
            };
            // Reverse return: the first to be fed is the last to be joined.
            let cold_first = length(a_cold, cold).cmp(&length(b_cold, cold));
            let hot_first = length(a_hot, hot).cmp(&length(b_hot, hot));
            let even =
                total(a_cold, a_hot) == total(b_cold, b_hot) && cold_first == hot_first.reverse();
            if even || (balanced(a_cold, a_hot) && balanced(b_cold, b_hot)) {
                let (what, uneven) = shares(cx, hot, &[(*a, a_hot), (*b, b_hot)]);
                out.judge(uneven, say(what).on(cx, *a).on(cx, *b), true);
            } else {
                out.fail(say("the cylinders do not share evenly").on(cx, *a).on(cx, *b));
            }
        }
    }
}

/// How the flow of cylinders side by side shares where their hot pipes meet, as worked out from
/// the loss of each way, and whether one takes more than it should. Common practice, no source:
/// with ways of equal length a share of two fifths or more each is even enough.
fn shares(cx: &Context, meet: PartIx, ways: &[(PartIx, &Reached)]) -> (String, bool) {
    const LEAST: f64 = 0.4;
    let mut found: Vec<f64> = Vec::new();
    for figure in cx.figures("parallel.share") {
        let pipe = cx.system.by_id(&figure.about);
        let on = |p: PartIx| ways.iter().any(|(store, way)| *store == p || way.has(p));
        if pipe.is_some_and(|p| p.to.part == meet && on(p.from.part)) {
            found.push(figure.value);
        }
    }
    found.sort_by(|x, y| y.total_cmp(x));
    if found.len() < 2 {
        return ("ways through the cylinders are as long".to_owned(), false);
    }
    let each: Vec<String> = found.iter().map(|s| format!("{:.0} %", s * 100.0)).collect();
    let text = format!(
        "piped in reverse return; by the losses of the ways the cylinders take {}",
        each.join(" and ")
    );
    (text, found.iter().any(|s| *s < LEAST))
}
