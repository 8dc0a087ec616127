//! The safety discharge as the rules see it. In: the graph. Out: for each tundish the valves that
//! drip into it, the pipes above and below it, and where the water ends.

use super::context::Known;
use super::store::Store;
use super::{Context, Way};
use crate::catalogue::limits::{self, DischargeRow};
use crate::model::{PartIx, PipeIx};

/// One tundish with its pipes.
pub struct Discharge {
    pub tundish: PartIx,
    /// Each valve with the pipes and parts from its outlet to the tundish.
    pub valves: Vec<Inlet>,
    /// The pipes below, as far as the end or the common pipe.
    pub own: Vec<PipeIx>,
    /// The parts between the tundish and the end or the common pipe.
    pub own_parts: Vec<PartIx>,
    /// The pipes shared with other tundishes.
    pub common: Vec<PipeIx>,
    /// Where the water comes out.
    pub end: Option<PartIx>,
}

/// A valve that drips into a tundish.
pub struct Inlet {
    pub valve: PartIx,
    pub pipes: Vec<PipeIx>,
    /// The parts between, tundish left out.
    pub parts: Vec<PartIx>,
}

/// Valves whose outlet is a safety discharge.
pub const VALVES: [&str; 3] =
    ["temperature and pressure relief valve", "expansion relief valve", "safety valve"];

/// Where a discharge pipe may end.
pub const ENDS: [&str; 9] = [
    "trapped gully",
    "low-level outlet",
    "hopper",
    "roof outlet",
    "soil stack",
    "common discharge pipe",
    "open end",
    "drain point",
    "container",
];

pub fn find(cx: &Context) -> Vec<Discharge> {
    let tundishes = cx.of("tundish");
    let mut all: Vec<Discharge> = tundishes.iter().map(|t| below(cx, *t)).collect();
    // A pipe below more than one tundish is a common pipe.
    let mut users = std::collections::BTreeMap::<PipeIx, usize>::new();
    for pipe in all.iter().flat_map(|d| &d.own) {
        *users.entry(*pipe).or_default() += 1;
    }
    for d in &mut all {
        let (own, common): (Vec<PipeIx>, Vec<PipeIx>) =
            d.own.drain(..).partition(|p| users.get(p) == Some(&1));
        d.own = own;
        d.common = common;
        if d.common.is_empty() {
            continue;
        }
        let shared_part = |p: &PartIx| {
            cx.pipes_of(*p)
                .filter(|x| cx.system.pipe(*x).from.part == *p)
                .any(|x| users.get(&x) != Some(&1))
        };
        d.own_parts.retain(|p| !shared_part(p));
    }
    for valve in cx.of_any(&VALVES) {
        let down = cx.walk_from(Way::Down, valve, &["discharge"], |p| !cx.is(p, "tundish"));
        let Some(tundish) = down.parts.iter().copied().find(|p| cx.is(*p, "tundish")) else {
            continue;
        };
        if let Some(d) = all.iter_mut().find(|d| d.tundish == tundish) {
            let (pipes, parts) = (down.pipes_to(tundish), down.between(tundish));
            d.valves.push(Inlet { valve, pipes, parts });
        }
    }
    all
}

fn below(cx: &Context, tundish: PartIx) -> Discharge {
    let down = cx.walk_from(Way::Down, tundish, &["out"], |p| !cx.is_any(p, &ENDS));
    let end = down.parts.iter().copied().find(|p| cx.is_any(*p, &ENDS));
    let last = end.or_else(|| down.parts.last().copied());
    let own = last.map(|p| down.pipes_to(p)).unwrap_or_default();
    let own_parts = last.map(|p| down.between(p)).unwrap_or_default();
    Discharge { tundish, valves: Vec::new(), own, own_parts, common: Vec::new(), end }
}

impl Discharge {
    pub fn has(&self, cx: &Context, kind: &str) -> bool {
        self.valves.iter().any(|v| cx.is(v.valve, kind))
    }

    /// Speaks of a store's safety valves (not of the heating's).
    pub fn is_of_store(&self, cx: &Context) -> bool {
        self.valves.iter().any(|v| !cx.is(v.valve, "safety valve"))
    }

    /// What is drawn from the height of the store's relief outlet leans on measures that are assumed:
    /// what holds as drawn has to be proved, what fails as drawn fails.
    pub fn drawn_from_assumed(&self, cx: &Context) -> bool {
        let acts = |s: &&Store| self.valves.iter().any(|v| s.reliefs.contains(&v.valve));
        cx.stores.iter().filter(acts).any(|s| cx.body_assumed(s.cylinder))
    }

    /// The largest valve outlet, as the table of discharge pipes names it.
    pub fn outlet(&self, cx: &Context) -> Option<(&'static str, bool)> {
        let known = self.valves.iter().filter(|v| !cx.is(v.valve, "safety valve"));
        known.filter_map(|v| outlet_of(cx, v.valve)).max_by_key(|(o, _)| order(o))
    }

    /// The table's rows for this discharge, smallest pipe first.
    pub fn rows(&self, cx: &Context) -> Vec<&'static DischargeRow> {
        self.outlet(cx).map(|(o, _)| limits::discharge_rows(o).collect()).unwrap_or_default()
    }

    /// Length and elbows of the tundish's own pipe, and whether either is assumed. `None` where
    /// a length is not known.
    pub fn run(&self, cx: &Context) -> Option<(Known, f64)> {
        let mut length = Known { value: 0.0, assumed: false, span: 0..0 };
        let mut elbows = 0.0;
        for pipe in &self.own {
            let l = cx.length(*pipe)?;
            length.value += l.value;
            length.assumed |= l.assumed;
            if length.span.is_empty() {
                length.span = l.span;
            }
            if let Some(n) = cx.elbows(*pipe) {
                elbows += n.value;
                length.assumed |= n.assumed;
            }
        }
        Some((length, elbows))
    }

    /// The same where a pipe shows more within the cupboard than is stated for all of it: with what
    /// it shows.
    pub fn run_as_drawn(&self, cx: &Context) -> Option<(f64, f64)> {
        let each = self.own.iter().map(|pipe| {
            let (long, turns) = cx.inside(*pipe).unwrap_or_default();
            let elbows = cx.elbows(*pipe).map_or(0.0, |n| n.value);
            Some((cx.length(*pipe)?.value.max(long), elbows.max(turns)))
        });
        let each: Vec<(f64, f64)> = each.collect::<Option<_>>()?;
        Some((each.iter().map(|e| e.0).sum(), each.iter().map(|e| e.1).sum()))
    }

    /// Outside diameter of the narrowest pipe below the tundish, mm, and its designation.
    pub fn narrowest<'c>(&self, cx: &'c Context) -> Option<(f64, &'c str)> {
        narrowest(cx, &self.own)
    }

    /// The first pipe below the tundish.
    pub fn first(&self) -> Option<PipeIx> {
        self.own.first().or(self.common.first()).copied()
    }

    pub fn all_pipes(&self) -> impl Iterator<Item = PipeIx> + '_ {
        self.own.iter().chain(&self.common).copied()
    }
}

pub fn narrowest<'c>(cx: &'c Context, pipes: &[PipeIx]) -> Option<(f64, &'c str)> {
    pipes
        .iter()
        .filter_map(|p| {
            let tube = cx.tube(*p)?;
            Some((tube.od, tube.size.as_str()))
        })
        .min_by(|a, b| a.0.total_cmp(&b.0))
}

/// A valve's outlet thread as the table names it, and whether it is assumed.
pub fn outlet_of(cx: &Context, valve: PartIx) -> Option<(&'static str, bool)> {
    let assumed = cx.is_assumed(valve, "outlet");
    if let Some(word) = cx.text(valve, "outlet") {
        let bare = word.trim_start_matches('G').trim_end_matches("in").trim();
        return ["G1/2", "G3/4", "G1"].into_iter().find(|o| &o[1..] == bare).map(|o| (o, assumed));
    }
    let given = cx.number(valve, "outlet")?.value;
    // Inches as the trade says them, or the same thread in mm.
    let inches = if given > 4.0 { given / 25.4 } else { given };
    [("G1/2", 0.5), ("G3/4", 0.75), ("G1", 1.0)]
        .into_iter()
        .min_by(|a, b| (a.1 - inches).abs().total_cmp(&(b.1 - inches).abs()))
        .map(|(o, _)| (o, assumed))
}

fn order(outlet: &str) -> usize {
    ["G1/2", "G3/4", "G1"].iter().position(|o| *o == outlet).unwrap_or(0)
}
