//! The take-off: what the routes need from the merchant. In: the sized system and the cupboard as
//! routed. Out: rows by size. It covers the cupboard only; what lies outside it is not routed.
//!
//! Elbows are counted where a route turns, tees and reducers where the graph has them, joints at
//! both ends of every cut length.

use std::collections::{BTreeMap, BTreeSet};

use serde::Serialize;

use super::noggins::{Noggin, noggins};
use super::plan::{CupboardPlan, Route};
use crate::catalogue::limits;
use crate::model::{Origin, P3, PartIx, Pipe, PipeIx, Service, System, Water, whole_mm};
use crate::size::Sized;

/// Straight tube comes in lengths of 3 m (common practice, no source).
const TUBE: f64 = 3000.0;

/// One row.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Line {
    pub what: String,
    pub size: String,
    pub quantity: f64,
    /// "m", "off".
    pub unit: &'static str,
    pub remark: String,
}

impl Line {
    /// As printed: what, size, quantity, unit, remark.
    pub fn row(&self) -> [String; 5] {
        let quantity = if self.unit == "m" {
            format!("{:.1}", self.quantity)
        } else {
            format!("{:.0}", self.quantity)
        };
        let unit = self.unit.to_owned();
        [self.what.clone(), self.size.clone(), quantity, unit, self.remark.clone()]
    }
}

/// Length in metres and number of elbows of each pipe that was routed, in the order of the plan.
pub fn measured_lengths(plan: &CupboardPlan) -> Vec<(PipeIx, f64, usize)> {
    plan.routes
        .iter()
        .filter(|r| r.routed)
        .map(|r| (r.pipe, length(r) / 1000.0, elbows(r)))
        .collect()
}

/// How deep tube goes into a soldered socket, by its outside diameter, mm (BS EN 1254-1, least length
/// of engagement, from memory).
const SOCKETS: [(f64, f64); 7] = [
    (12.0, 8.6),
    (15.0, 10.6),
    (22.0, 15.4),
    (28.0, 18.4),
    (35.0, 23.0),
    (42.0, 27.0),
    (54.0, 32.0),
];

/// From the middle of one fitting to the middle of the next, mm, the least that leaves tube between
/// them: half the bore of each to its stop, and a socket's depth of tube in each (common practice). Below
/// it a fitting with a plain end goes into the next one's socket.
fn least_cut(od: f64) -> f64 {
    let socket = SOCKETS.iter().find(|(d, _)| od <= d + 0.5).map_or(32.0, |(_, deep)| *deep);
    od + 2.0 * socket
}

/// Straights too short to cut a tube for.
fn close(route: &Route) -> usize {
    straights(route).iter().filter(|l| **l < least_cut(route.od)).count()
}

/// Everything the routes need, pipe first.
pub fn takeoff(sized: &Sized, plan: &CupboardPlan) -> Vec<Line> {
    let system = &sized.system;
    let routes: Vec<(&Route, &Pipe)> =
        plan.routes.iter().filter(|r| r.routed).map(|r| (r, system.pipe(r.pipe))).collect();
    let mut lines = tube(&routes);
    let fitting = |what: &str, counts: BTreeMap<String, usize>, remark: &str| {
        counts
            .into_iter()
            .filter(|(_, n)| *n > 0)
            .map(|(size, n)| off(what, size, n, remark.to_owned()))
            .collect::<Vec<Line>>()
    };
    let by_size = |count: &dyn Fn(&Route) -> usize| {
        let mut counts = BTreeMap::new();
        for (r, p) in &routes {
            *counts.entry(named(p)).or_insert(0) += count(r);
        }
        counts
    };
    let (beyond, lagged_beyond) = outside(system, plan);
    lines.extend(beyond);
    lines.extend(fitting("elbow", by_size(&elbows), "where a route turns"));
    lines.extend(fitting("tee", tees(system), "run, run, branch"));
    lines.extend(fitting("reducer", reducers(system), "where the size changes in a line"));
    lines.extend(fitting("coupling", by_size(&couplings), "straights over 3 m"));
    // Fitting into fitting is one joint instead of a tube's two.
    let joints = |r: &Route| 2 + 2 * elbows(r) + 2 * couplings(r) - close(r);
    lines.extend(fitting("joint to make", by_size(&joints), "ends of every cut length"));
    lines.extend(fitting("clip", by_size(&|r: &Route| r.clips.len()), "ends and spacing table"));
    lines.extend(lagging(&routes));
    lines.extend(lagging_of_the_circulation(system, &routes));
    lines.extend(lagged_beyond);
    lines.extend(fitting("core or sleeve", cores(plan), "hole diameter, mm"));
    lines.extend(timber(system, plan));
    lines
}

/// What a pipe outside the cupboard is known by: size, what it carries, how its length is known.
type Outside = (String, &'static str, String);

/// What lies outside the cupboard, m, by its length as stated or assumed: all of a pipe that has no
/// route, and of one that leaves the cupboard what its route does not cover.
fn rest(plan: &CupboardPlan, ix: PipeIx, pipe: &Pipe) -> f64 {
    let routed: Vec<f64> = plan
        .routes
        .iter()
        .filter(|r| r.routed && r.pipe == ix)
        .map(|r| length(r) / 1000.0)
        .collect();
    if pipe.size.is_none() || (!routed.is_empty() && pipe.tail.is_none()) {
        return 0.0;
    }
    let all = pipe.length.as_ref().map_or(0.0, |l| l.value);
    (all - routed.iter().sum::<f64>()).max(0.0)
}

/// Pipe outside the cupboard, and what it is lagged with.
fn outside(system: &System, plan: &CupboardPlan) -> (Vec<Line>, Vec<Line>) {
    let mut metres: BTreeMap<Outside, (f64, BTreeSet<&str>)> = BTreeMap::new();
    let mut lagged: BTreeMap<(String, u64), f64> = BTreeMap::new();
    for (i, pipe) in system.pipes.iter().enumerate() {
        let m = rest(plan, PipeIx(i), pipe);
        if m <= 0.0 {
            continue;
        }
        let carries = match pipe.service.water() {
            Water::Potable => "hot and cold water",
            Water::Primary => "heating",
            Water::Solar => "solar",
            _ => "discharge and drains",
        };
        let origin = pipe.length.as_ref().map(|l| &l.origin);
        let known = match origin {
            Some(Origin::Assumed(_)) => "assumed",
            _ => "stated",
        };
        let row = metres.entry((named(pipe), carries, known.to_owned())).or_default();
        row.0 += m;
        if let Some(Origin::Assumed(id)) = origin {
            row.1.insert(id);
        }
        let thick = pipe.lagging.as_ref().map_or(0.0, |l| l.value);
        if thick > 0.0 {
            *lagged.entry((named(pipe), thick.round() as u64)).or_insert(0.0) += m;
        }
    }
    let up = |m: f64| (m * 10.0 - 1e-6).ceil() / 10.0;
    let pipe = |((size, carries, known), (m, ids)): (Outside, (f64, BTreeSet<&str>))| {
        let ids: Vec<&str> = ids.into_iter().collect();
        let remark = match ids[..] {
            [] => format!("{carries}, length {known}"),
            _ => format!("{carries}, length {known} ({}): measure it", ids.join(", ")),
        };
        Line {
            what: "pipe outside the cupboard".to_owned(),
            size,
            quantity: up(m),
            unit: "m",
            remark,
        }
    };
    let lag = |((size, thick), m): ((String, u64), f64)| Line {
        what: "lagging".to_owned(),
        size,
        quantity: up(m),
        unit: "m",
        remark: format!("{thick} mm thick, outside the cupboard"),
    };
    (metres.into_iter().map(pipe).collect(), lagged.into_iter().map(lag).collect())
}

fn off(what: &str, size: String, n: usize, remark: String) -> Line {
    Line { what: what.to_owned(), size, quantity: n as f64, unit: "off", remark }
}

/// "22 copper"; sizes of other materials name the material themselves.
fn named(pipe: &Pipe) -> String {
    let size = pipe.size.as_ref().map_or("?", |s| s.value.as_str());
    if size.contains(' ') { size.to_owned() } else { format!("{size} {}", pipe.material.value) }
}

fn span(a: P3, b: P3) -> f64 {
    (a.x - b.x).abs() + (a.y - b.y).abs() + (a.z - b.z).abs()
}

fn length(route: &Route) -> f64 {
    route.points.windows(2).map(|p| span(p[0], p[1])).sum()
}

/// The axis along which a straight runs; `None` where it has no length.
fn axis(a: P3, b: P3) -> Option<u8> {
    let d = [(a.x - b.x).abs(), (a.y - b.y).abs(), (a.z - b.z).abs()];
    (0..3).max_by(|i, j| d[*i].total_cmp(&d[*j])).filter(|i| d[*i] > 0.5).map(|i| i as u8)
}

/// Straights with their axis, those that follow each other along one axis joined.
fn straights(route: &Route) -> Vec<f64> {
    let mut out: Vec<(u8, f64)> = Vec::new();
    for pair in route.points.windows(2) {
        let Some(along) = axis(pair[0], pair[1]) else { continue };
        let l = span(pair[0], pair[1]);
        match out.last_mut() {
            Some((last, sum)) if *last == along => *sum += l,
            _ => out.push((along, l)),
        }
    }
    out.into_iter().map(|(_, l)| l).collect()
}

/// Where a route turns.
pub fn elbows(route: &Route) -> usize {
    straights(route).len().saturating_sub(1)
}

fn couplings(route: &Route) -> usize {
    straights(route).iter().map(|l| (l / TUBE) as usize).sum()
}

fn tube(routes: &[(&Route, &Pipe)]) -> Vec<Line> {
    // What is cut, and how often fitting meets fitting.
    let mut by_size: BTreeMap<String, (Vec<f64>, usize)> = BTreeMap::new();
    for (r, p) in routes {
        let (cuts, met) = by_size.entry(named(p)).or_default();
        cuts.extend(straights(r).into_iter().filter(|l| *l >= least_cut(r.od)));
        *met += close(r);
    }
    by_size
        .into_iter()
        .map(|(size, (mut cuts, met))| {
            cuts.sort_by(|a, b| b.total_cmp(a));
            let total: f64 = cuts.iter().sum();
            let list: Vec<String> = cuts.iter().map(|c| format!("{c:.0}")).collect();
            let close = match met {
                0 => String::new(),
                n => format!("; {n} × fitting to fitting"),
            };
            Line {
                what: "tube".to_owned(),
                size,
                quantity: (total / 100.0).ceil() / 10.0,
                unit: "m",
                remark: match cuts.len() {
                    0 => close.trim_start_matches("; ").to_owned(),
                    n => format!("{n} lengths, mm: {}{close}", list.join(" ")),
                },
            }
        })
        .collect()
}

/// Sizes of the pipes on a part's ports, in the order of its ports.
fn sizes_at(system: &System, part: PartIx) -> Vec<String> {
    let mut at: Vec<(usize, String)> = system
        .pipes_of(part)
        .map(|ix| {
            let pipe = system.pipe(ix);
            let port = if pipe.from.part == part { pipe.from.port } else { pipe.to.port };
            (port, pipe.size.as_ref().map_or_else(|| "?".to_owned(), |s| s.value.clone()))
        })
        .collect();
    at.sort();
    at.into_iter().map(|(_, size)| size).collect()
}

fn loose_in_cupboard(system: &System) -> impl Iterator<Item = PartIx> + '_ {
    // What a factory-made unit holds is not fitted on site.
    system.part_ixs().filter(|ix| {
        let part = system.part(*ix);
        part.in_cupboard() && part.unit.is_none()
    })
}

fn tees(system: &System) -> BTreeMap<String, usize> {
    let mut counts = BTreeMap::new();
    for ix in loose_in_cupboard(system).filter(|ix| system.part(*ix).kind.key == "tee") {
        *counts.entry(sizes_at(system, ix).join(" × ")).or_insert(0) += 1;
    }
    counts
}

fn reducers(system: &System) -> BTreeMap<String, usize> {
    let mut counts = BTreeMap::new();
    for ix in loose_in_cupboard(system).filter(|ix| system.part(*ix).kind.ports.len() == 2) {
        let mut sizes = sizes_at(system, ix);
        sizes.dedup();
        if sizes.len() == 2 {
            *counts.entry(sizes.join(" × ")).or_insert(0) += 1;
        }
    }
    counts
}

fn lagging(routes: &[(&Route, &Pipe)]) -> Vec<Line> {
    let mut metres: BTreeMap<(String, u64), f64> = BTreeMap::new();
    for (r, p) in routes.iter().filter(|(r, _)| r.lagging > 0.0) {
        *metres.entry((named(p), r.lagging.round() as u64)).or_insert(0.0) += length(r);
    }
    metres
        .into_iter()
        .map(|((size, thick), mm)| Line {
            what: "lagging".to_owned(),
            size,
            quantity: (mm / 100.0).ceil() / 10.0,
            unit: "m",
            remark: format!("{thick} mm thick, in the cupboard"),
        })
        .collect()
}

/// Pipes in which hot water is kept moving: those that come back, and those that feed them.
fn circulating(system: &System) -> BTreeSet<PipeIx> {
    let of = |want: &dyn Fn(&Pipe) -> bool| -> BTreeSet<PipeIx> {
        let all = system.pipes.iter().enumerate();
        all.filter(|(_, p)| want(p)).map(|(i, _)| PipeIx(i)).collect()
    };
    let mut found = of(&|p| p.service == Service::HotReturn);
    loop {
        let starts: BTreeSet<PartIx> = found.iter().map(|p| system.pipe(*p).from.part).collect();
        let hot = |p: &Pipe| matches!(p.service, Service::HotWater | Service::HotBlended);
        let more = of(&|p| hot(p) && starts.contains(&p.to.part));
        let before = found.len();
        found.extend(more);
        if found.len() == before {
            return found;
        }
    }
}

/// The sums of a circulation suppose lagging where no thickness is given: it has to be bought.
fn lagging_of_the_circulation(system: &System, routes: &[(&Route, &Pipe)]) -> Vec<Line> {
    let thick = limits::find(&system.rules, "SIZE.lagging").value;
    let circulating = circulating(system);
    let mut metres: BTreeMap<String, f64> = BTreeMap::new();
    for (r, p) in
        routes.iter().filter(|(r, p)| p.lagging.is_none() && circulating.contains(&r.pipe))
    {
        *metres.entry(named(p)).or_insert(0.0) += length(r);
    }
    metres
        .into_iter()
        .map(|(size, mm)| Line {
            what: "lagging".to_owned(),
            size,
            quantity: (mm / 100.0).ceil() / 10.0,
            unit: "m",
            remark: format!(
                "{thick:.0} mm thick as the sums suppose, on the circulation in the cupboard: not \
                 drawn, keep the room for it"
            ),
        })
        .collect()
}

fn cores(plan: &CupboardPlan) -> BTreeMap<String, usize> {
    let mut counts = BTreeMap::new();
    for exit in plan.routes.iter().filter_map(|r| r.exit.as_ref()) {
        *counts.entry(format!("{:.0}", exit.core)).or_insert(0) += 1;
    }
    counts
}

/// A row a piece: timber is cut to its place.
fn timber(system: &System, plan: &CupboardPlan) -> Vec<Line> {
    let line = |n: Noggin| Line {
        what: "noggin".to_owned(),
        size: format!("{} × {:.0}", whole_mm(n.length()), n.deep),
        quantity: 1.0,
        unit: "off",
        remark: format!(
            "{} wall, {} {} to {}, middle at z {}: {}",
            n.wall.key(),
            n.axis(),
            whole_mm(n.from),
            whole_mm(n.to),
            whole_mm(n.z),
            n.tags.join(", ")
        ),
    };
    noggins(system, plan).into_iter().map(line).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn route(points: &[[f64; 3]]) -> Route {
        Route::new(PipeIx(0), points.iter().map(|p| P3::new(p[0], p[1], p[2])).collect(), 22.0)
    }

    #[test]
    fn turns_are_elbows_and_points_on_a_straight_are_not() {
        let r = route(&[
            [0.0, 0.0, 0.0],
            [100.0, 0.0, 0.0],
            [250.0, 0.0, 0.0],
            [250.0, 0.0, 400.0],
            [250.0, 60.0, 400.0],
        ]);
        assert_eq!(elbows(&r), 2);
        assert_eq!(straights(&r), [250.0, 400.0, 60.0]);
        assert_eq!(length(&r), 710.0);
        assert_eq!(
            measured_lengths(&CupboardPlan { routes: vec![r], ..CupboardPlan::default() }),
            [(PipeIx(0), 0.71, 2)]
        );
    }

    /// By BS EN 1254-1 a 22 mm socket takes 15.4 mm of tube: between two elbows 22 + 2 × 15.4 = 52.8 mm
    /// apart there is tube, nearer there is none.
    #[test]
    fn a_stub_within_two_fittings_is_no_tube() {
        let bent =
            |run: f64| route(&[[0.0; 3], [400.0, 0.0, 0.0], [400.0, run, 0.0], [900.0, run, 0.0]]);
        assert_eq!((close(&bent(52.0)), close(&bent(53.0))), (1, 0));
        assert!(least_cut(15.0) < 40.0 && least_cut(15.0) > 2.0 * 10.6);
    }

    /// Straights over 3 m need a coupling for each further length of tube.
    #[test]
    fn long_straights_are_coupled() {
        assert_eq!(couplings(&route(&[[0.0; 3], [2900.0, 0.0, 0.0]])), 0);
        assert_eq!(couplings(&route(&[[0.0; 3], [6500.0, 0.0, 0.0]])), 2);
    }
}
