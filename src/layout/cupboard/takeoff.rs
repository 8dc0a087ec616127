//! The take-off: what the routes need from the merchant. In: the sized system and the cupboard as
//! routed. Out: rows by size. It covers the cupboard only; what lies outside it is not routed.
//!
//! Elbows are counted where a route turns, tees and reducers where the graph has them, joints at
//! both ends of every cut length.

use std::collections::BTreeMap;

use serde::Serialize;

use super::plan::{CupboardPlan, Owner, Route};
use crate::catalogue::limits;
use crate::model::{P3, PartIx, Pipe, PipeIx, Side, System};
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

/// Two sockets end to end, mm.
const SOCKETS: f64 = 20.0;

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
    lines.extend(outside(system, plan));
    lines.extend(fitting("elbow", by_size(&elbows), "where a route turns"));
    lines.extend(fitting("tee", tees(system), "run, run, branch"));
    lines.extend(fitting("reducer", reducers(system), "where the size changes in a line"));
    lines.extend(fitting("coupling", by_size(&couplings), "straights over 3 m"));
    let joints = |r: &Route| 2 + 2 * elbows(r) + 2 * couplings(r);
    lines.extend(fitting("joint to make", by_size(&joints), "ends of every cut length"));
    lines.extend(fitting("clip", by_size(&|r: &Route| r.clips.len()), "ends and spacing table"));
    lines.extend(lagging(&routes));
    lines.extend(fitting("core or sleeve", cores(plan), "hole diameter, mm"));
    lines.extend(fitting(
        "noggin",
        noggins(system, plan),
        "timber behind what hangs on a wall, mm",
    ));
    lines
}

/// Pipe outside the cupboard by its length as stated or assumed: all of what has no route, and of a
/// pipe that leaves the cupboard what its route does not cover.
fn outside(system: &System, plan: &CupboardPlan) -> Vec<Line> {
    let mut inside: BTreeMap<PipeIx, f64> = BTreeMap::new();
    for r in plan.routes.iter().filter(|r| r.routed) {
        *inside.entry(r.pipe).or_insert(0.0) += length(r) / 1000.0;
    }
    let mut metres: BTreeMap<String, f64> = BTreeMap::new();
    for (i, pipe) in system.pipes.iter().enumerate() {
        let routed = inside.get(&PipeIx(i));
        if routed.is_some() && pipe.tail.is_none() {
            continue;
        }
        let all = pipe.length.as_ref().map_or(0.0, |l| l.value);
        let rest = all - routed.copied().unwrap_or(0.0);
        if rest > 0.0 && pipe.size.is_some() {
            *metres.entry(named(pipe)).or_insert(0.0) += rest;
        }
    }
    let line = |(size, m): (String, f64)| Line {
        what: "pipe outside the cupboard".to_owned(),
        size,
        quantity: (m * 10.0 - 1e-6).ceil() / 10.0,
        unit: "m",
        remark: "by length stated or assumed".to_owned(),
    };
    metres.into_iter().map(line).collect()
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
    let mut by_size: BTreeMap<String, Vec<f64>> = BTreeMap::new();
    for (r, p) in routes {
        by_size.entry(named(p)).or_default().extend(straights(r));
    }
    by_size
        .into_iter()
        .map(|(size, mut cuts)| {
            cuts.sort_by(|a, b| b.total_cmp(a));
            let total: f64 = cuts.iter().sum();
            // Measured between the middles of the fittings: what is shorter than two sockets
            // leaves no tube between them (common practice).
            let (cuts, close): (Vec<f64>, Vec<f64>) = cuts.into_iter().partition(|c| *c >= SOCKETS);
            let list: Vec<String> = cuts.iter().map(|c| format!("{c:.0}")).collect();
            let close = match close.len() {
                0 => String::new(),
                n => format!("; {n} × fitting to fitting"),
            };
            Line {
                what: "tube".to_owned(),
                size,
                quantity: (total / 100.0).ceil() / 10.0,
                unit: "m",
                remark: format!("{} lengths, mm: {}{close}", cuts.len(), list.join(" ")),
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
            remark: format!("{thick} mm thick"),
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

fn noggins(system: &System, plan: &CupboardPlan) -> BTreeMap<String, usize> {
    let walls = [Side::Back, Side::Left, Side::Right];
    let heavy = |o: &Owner| match o {
        Owner::Part(ix) => system.part(*ix).kind.mass > 0.0,
        Owner::Unit(ix) => system.unit(*ix).kind.mass > 0.0,
    };
    let limit = |name: &str| limits::find(&system.rules, &format!("STR05.noggin-{name}")).value;
    let mut counts = BTreeMap::new();
    for s in plan.solids.iter().filter(|s| walls.contains(&s.fixed_to) && heavy(&s.owner)) {
        // Along its wall, and a little beyond the body on either side.
        let along = if s.fixed_to == Side::Back { s.at.w } else { s.at.d };
        let size = format!("{:.0} × {:.0}", along + 2.0 * limit("over"), limit("depth"));
        *counts.entry(size).or_insert(0) += 1;
    }
    counts
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

    /// Straights over 3 m need a coupling for each further length of tube.
    #[test]
    fn long_straights_are_coupled() {
        assert_eq!(couplings(&route(&[[0.0; 3], [2900.0, 0.0, 0.0]])), 0);
        assert_eq!(couplings(&route(&[[0.0; 3], [6500.0, 0.0, 0.0]])), 2);
    }
}
