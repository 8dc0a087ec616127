//! Pipes for symbols that already stand somewhere. In: graph and places. Out: right-angled routes
//! that leave each port outwards, keep clear of symbols and of one another, with few crossings and
//! bends ([`Routing`]).
//!
//! All pipes are routed at once by negotiation: sharing room is allowed at first and grows dearer
//! from pass to pass, until every pipe has a way of its own (McMurchie and Ebeling, 1995). Spacing
//! within the channels comes last.

mod grid;
mod nudge;
mod search;

pub use nudge::nudge;

use super::{Graph, Placed, Pt};
use grid::Grid;
use search::Search;

/// Distances and prices, in the unit of the graph.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RouteOptions {
    /// Least distance of parallel pipes.
    pub pitch: i64,
    /// Least distance of a pipe from a symbol that it does not join.
    pub clearance: i64,
    /// What a bend costs, as length of pipe.
    pub bend: i64,
    /// What a crossing costs, as length of pipe.
    pub crossing: i64,
    /// Room for pipes round the outside, in pitches.
    pub margin: i64,
    /// Passes of negotiation, and steps of search over all of them.
    pub passes: usize,
    pub steps: u64,
}

/// The routes, index for index with the pipes.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Routing {
    pub routes: Vec<Vec<Pt>>,
    /// Pipes that found no way without breaking a rule; their routes may overlap others.
    pub failed: Vec<usize>,
    /// The least distance kept: the wanted one, or less where there was no room for it.
    pub pitch: i64,
}

impl RouteOptions {
    /// Sensible prices for a drawing whose symbols stand `spacing` apart.
    pub fn for_spacing(spacing: i64) -> RouteOptions {
        let spacing = spacing.max(4);
        RouteOptions {
            pitch: spacing / 2,
            clearance: spacing / 4,
            bend: spacing * 5,
            crossing: spacing * 20,
            margin: 8,
            passes: 24,
            steps: 60_000_000,
        }
    }
}

/// Routes every pipe. Where there is no room, it tries again with half the distances.
pub fn route(graph: &Graph, placed: &[Placed], options: &RouteOptions) -> Routing {
    let mut best: Option<Routing> = None;
    let mut o = *options;
    for _ in 0..3 {
        let mut found = once(graph, placed, &o);
        nudge(graph, placed, &mut found.routes, o.pitch, o.clearance);
        let better = best.as_ref().is_none_or(|b| found.failed.len() < b.failed.len());
        if better {
            best = Some(found);
        }
        if best.as_ref().is_some_and(|b| b.failed.is_empty()) {
            break;
        }
        o.pitch = (o.pitch / 2).max(1);
        o.clearance = (o.clearance / 2).max(1);
        o.margin = o.margin * 2 + 4;
    }
    best.unwrap_or_default()
}

fn once(graph: &Graph, placed: &[Placed], o: &RouteOptions) -> Routing {
    let grid = Grid::new(graph, placed, o);
    let mut search = Search::new(graph, grid, *o);
    search.negotiate();
    let (routes, failed) = search.finish(graph, placed);
    Routing { routes, failed, pitch: o.pitch }
}
