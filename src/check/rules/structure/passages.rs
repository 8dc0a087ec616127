//! Joists, walls, clips.

use crate::check::context::{distance, number_of};
use crate::check::report::{Verdicts, say};
use crate::check::rule::Rule;
use crate::check::{Context, Severity};
use crate::layout::cupboard::plan::Route;
use crate::model::{Cupboard, Side, Water};

pub const RULES: &[Rule] = &[
    Rule {
        id: "STR02",
        severity: Severity::Warning,
        title: "joist notched or drilled where it must not be",
        what: "A hole or notch for a pipe that is too large for its joist or outside the stretch \
               of the span in which it is allowed, or a pipe straight down through its width.",
        why: "A joist cut near its middle or near its end loses the strength it was sized for.",
        source: "guidance on notches and holes in solid timber joists, BS 5268-2 and BS EN 1995-1-1",
        mend: "move the pipe, or run it between the joists",
        run: joists,
    },
    Rule {
        id: "STR03",
        severity: Severity::Warning,
        title: "pipe through a wall without sleeve or fire stop",
        what: "A pipe through a wall with a core no wider than the pipe, or through the wall or \
               floor of a flat with no fire stop stated.",
        why: "The pipe saws itself through on masonry; a fire climbs through an open hole.",
        source: "Approved Document B, from memory; BS EN 806-4 for the sleeve, from memory",
        mend: "sleeve the pipe, seal it, and show the detail",
        run: sleeves,
    },
    Rule {
        id: "STR04",
        severity: Severity::Warning,
        title: "clips too far apart",
        what: "Clips farther apart than the table for the tube allows.",
        why: "The pipe sags, bangs and pulls on its joints.",
        source: "BS EN 806-4, from memory",
        mend: "add clips",
        run: clips,
    },
];

fn joists(cx: &Context, out: &mut Verdicts) {
    let Some(cupboard) = &cx.system.site.cupboard else { return };
    between_joists(cx, cupboard, out);
    let floor = &cupboard.floor.attrs;
    let (Some(depth), Some(span)) = (number_of(floor, "joist-depth"), number_of(floor, "span"))
    else {
        return;
    };
    let limit = |name: &str| cx.limit(&format!("STR02.{name}"));
    for (kind, size_key, at_key) in [("hole", "hole", "hole-at"), ("notch", "notch", "notch-at")] {
        let Some(size) = number_of(floor, size_key) else { continue };
        let share = limit(if kind == "hole" { "hole-diameter" } else { "notch-depth" });
        let most = limit(if kind == "hole" { "hole-most" } else { "notch-most" });
        let least_depth = limit("least-depth");
        let allowed = if depth.value <= least_depth.value {
            0.0
        } else {
            (share.value * depth.value).min(most.value)
        };
        let s = say(format!("{kind} of {} mm, at most {allowed:.0} mm in this joist", size.value))
            .on_tag("floor")
            .found(size.value, "mm")
            .limit(&share)
            .against(allowed)
            .margin(allowed - size.value)
            .at(&size.span);
        if size.value > allowed + 1e-9 {
            out.fail(s.assumed(size.assumed || depth.assumed));
            continue;
        }
        out.pass(s);
        let Some(at) = number_of(floor, at_key) else { continue };
        let from = limit(&format!("{kind}-from"));
        let to = limit(&format!("{kind}-to"));
        let near = at.value.min(span.value - at.value);
        let (lo, hi) = (from.value * span.value, to.value * span.value);
        let s = say(format!("{kind} {near:.0} mm from a support, allowed {lo:.0} to {hi:.0} mm"))
            .on_tag("floor")
            .found(near, "mm")
            .limit(&from)
            .against(if near - lo < hi - near { lo } else { hi })
            .margin((near - lo).min(hi - near))
            .at(&at.span);
        if near + 1e-9 < lo || near > hi + 1e-9 {
            out.fail(s.assumed(at.assumed || span.assumed));
        } else {
            out.pass(s.assumed(at.assumed || span.assumed));
        }
    }
}

/// A pipe that goes down through the floor goes down between two joists.
fn between_joists(cx: &Context, cupboard: &Cupboard, out: &mut Verdicts) {
    let Some(joists) = cupboard.joists() else { return };
    for route in cx.cupboard.iter().flat_map(|p| &p.routes) {
        let Some(exit) = route.exit.as_ref().filter(|e| e.side == Side::Floor) else { continue };
        let pipe = cx.system.pipe(route.pipe);
        let at = [exit.at.x, exit.at.y];
        let cut = joists.under(at, exit.core / 2.0);
        let s = match cut {
            Some(middle) => say(format!(
                "hole of {} comes down on a joist: it is {:.0} mm from the joist's middle",
                pipe.id,
                (at[joists.axis] - middle).abs()
            )),
            None => say("comes down between the joists"),
        };
        out.judge(cut.is_some(), s.on_tag(&pipe.id).assumed(joists.supposed), false);
    }
}

fn sleeves(cx: &Context, out: &mut Verdicts) {
    let site = &cx.system.site;
    for route in cx.cupboard.iter().flat_map(|p| &p.routes) {
        let Some(exit) = &route.exit else { continue };
        let pipe = cx.system.pipe(route.pipe);
        let s = |title: String| say(title).on_tag(&pipe.id);
        let through_wall = !matches!(exit.side, Side::Floor | Side::Ceiling);
        let needs = route.od + 2.0 * route.lagging;
        if through_wall && exit.core > 0.0 && exit.core <= needs {
            let title = format!("core {:.0} mm for a pipe of {needs:.0} mm", exit.core);
            out.fail(s(title).found(exit.core, "mm").against(needs).margin(exit.core - needs));
        } else if through_wall {
            out.pass(s("sleeved through the wall".to_owned()));
        }
    }
    // In a flat every wall and floor that parts it from others is a fire barrier.
    let flat = cx.dwelling_flag("flat") || site.dwelling.text("kind") == Some("flat");
    let detail = |w: &crate::model::Wall| w.attrs.get("fire").is_some();
    let stopped = cx.dwelling_flag("fire-stopped")
        || site.cupboard.as_ref().is_some_and(|c| c.walls.iter().any(detail));
    if flat && !stopped {
        let crossing = cx
            .system
            .pipes
            .iter()
            .filter(|p| p.tail.is_some() && p.service.water() != Water::Solar);
        let tags: Vec<&str> = crossing.map(|p| p.id.as_str()).collect();
        if !tags.is_empty() {
            let start = say("no fire stop stated where pipes leave the flat");
            out.fail(tags.into_iter().fold(start, |s, t| s.on_tag(t)));
        }
    }
}

/// The widest gap between neighbouring clips that stand on one straight, and whether it is upright.
fn widest(route: &Route) -> Option<(f64, bool)> {
    route
        .clips
        .windows(2)
        .filter_map(|w| {
            let (a, b) = (w[0], w[1]);
            let level = (a.z - b.z).abs() < 1.0;
            let plumb = (a.x - b.x).abs() < 1.0 && (a.y - b.y).abs() < 1.0;
            let one_way = (a.x - b.x).abs() < 1.0 || (a.y - b.y).abs() < 1.0;
            ((level && one_way) || plumb).then(|| (distance(a, b) / 1000.0, plumb))
        })
        .max_by(|a, b| a.0.total_cmp(&b.0))
}

fn clips(cx: &Context, out: &mut Verdicts) {
    let share = cx.limit("STR04.tolerance");
    for route in cx.cupboard.iter().flat_map(|p| &p.routes) {
        let (Some((gap, upright)), Some(tube)) = (widest(route), cx.tube(route.pipe)) else {
            continue;
        };
        let most = tube.clip[usize::from(upright)] * share.value;
        let s = say(format!("clips {gap:.2} m apart, at most {most:.2} m"))
            .on_tag(&cx.system.pipe(route.pipe).id)
            .found(gap, "m")
            .against(most)
            .margin(most - gap)
            .source(tube.source.clone());
        if gap > most + 0.005 {
            out.fail(s);
        } else {
            out.pass(s);
        }
    }
}
