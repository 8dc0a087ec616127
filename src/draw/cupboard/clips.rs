//! Clips of pipes in a view: a short tick across the pipe at each, where the pipe itself is drawn. In:
//! the cupboard, a view with its runs. Out: the ticks.

use super::pipework::Run;
use super::sight::Sight;
use super::view::View;
use crate::layout::cupboard::plan::{CupboardPlan, Route};
use crate::model::{P2, P3, Rect};

/// How far a tick stands out on both sides.
const OUT: f64 = 0.8;

pub fn ticks(plan: &CupboardPlan, view: &View, runs: &[Run]) -> Vec<(P2, P2)> {
    let mut ticks = Vec::new();
    for route in &plan.routes {
        let own: Vec<&Run> = runs.iter().filter(|run| run.pipe == route.pipe).collect();
        for clip in &route.clips {
            let (a, b) = nearest_segment(&route.points, *clip);
            let (a, b, at) = (view.point(a), view.point(b), view.point(*clip));
            let end_on = (a.x - b.x).abs() + (a.y - b.y).abs() < 0.1;
            let shown =
                if end_on { in_front(plan, view, runs, route, *clip) } else { drawn(&own, at) };
            if !shown {
                continue;
            }
            let half = route.od / view.scale / 2.0 + OUT;
            ticks.push(if (a.x - b.x).abs() > (a.y - b.y).abs() {
                (P2::new(at.x, at.y - half), P2::new(at.x, at.y + half))
            } else {
                (P2::new(at.x - half, at.y), P2::new(at.x + half, at.y))
            });
        }
    }
    ticks
}

/// True where the pipe of a clip on a straight is drawn, in a full or a broken line.
fn drawn(runs: &[&Run], at: P2) -> bool {
    let on = |run: &&&Run| {
        let across = if run.upright() { at.x } else { at.y };
        (across - run.across()).abs() < 0.1
    };
    let shows = |run: &&Run| {
        let along = run.along(at);
        Sight::shows(&run.sight.full, along, 0.0) || Sight::shows(&run.sight.broken, along, 0.0)
    };
    runs.iter().filter(on).any(shows)
}

/// True where nothing lies before a clip of a pipe that runs towards the eye.
fn in_front(plan: &CupboardPlan, view: &View, runs: &[Run], route: &Route, clip: P3) -> bool {
    let (at, front) = (view.point(clip), view.nearness(clip) + route.od / 2.0);
    let spot = Rect::at(at).grown(0.1);
    let body = plan
        .solids
        .iter()
        .any(|s| view.front_of(&s.at) > front && view.rect(&s.at).overlaps(&spot));
    let pipe = runs.iter().any(|r| r.nearness > front + 0.5 && r.strip().overlaps(&spot));
    !body && !pipe
}

fn nearest_segment(points: &[P3], at: P3) -> (P3, P3) {
    let off = |a: &P3, b: &P3| {
        let within = |v: f64, p: f64, q: f64| (v - v.clamp(p.min(q), p.max(q))).abs();
        within(at.x, a.x, b.x) + within(at.y, a.y, b.y) + within(at.z, a.z, b.z)
    };
    points
        .windows(2)
        .min_by(|p, q| off(&p[0], &p[1]).total_cmp(&off(&q[0], &q[1])))
        .map_or((at, at), |p| (p[0], p[1]))
}
