//! Marks from 0 to 1 for a drawing, as they are used to compare drawings of different sizes
//! (Purchase 2002, formulae from memory). In: counts. Out: 1 for the best, 0 for the worst.

use super::{Area, Drawing, Graph, Measures, measure::merged};

/// The marks of one drawing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scores {
    pub crossings: f64,
    pub bends: f64,
    pub orthogonality: f64,
    pub grid: f64,
}

/// The marks of a drawing whose grid step is `step`.
pub fn scores(graph: &Graph, drawing: &Drawing, measures: &Measures, step: i64) -> Scores {
    let mut degrees = vec![0; graph.symbols.len()];
    for pipe in &graph.pipes {
        degrees[pipe.from.symbol] += 1;
        degrees[pipe.to.symbol] += 1;
    }
    let angles: Vec<f64> = drawing
        .routes
        .iter()
        .flat_map(|r| {
            merged(r).windows(2).map(|w| (w[1].x - w[0].x, w[1].y - w[0].y)).collect::<Vec<_>>()
        })
        .map(|(dx, dy)| libm::atan2(dy as f64, dx as f64).to_degrees())
        .collect();
    let step = step.max(1);
    Scores {
        crossings: crossings(graph.pipes.len(), &degrees, measures.crossings),
        bends: bends(graph.pipes.len(), measures.bends),
        orthogonality: orthogonality(&angles),
        grid: grid(graph.symbols.len(), measures.width / step, measures.height / step),
    }
}

/// 1 - c / cmax, where pipes that share a symbol cannot cross; 1 where none can.
pub fn crossings(pipes: usize, degrees: &[usize], crossings: usize) -> f64 {
    let pairs = |n: usize| n * n.saturating_sub(1) / 2;
    let most = pairs(pipes).saturating_sub(degrees.iter().map(|d| pairs(*d)).sum());
    if most == 0 { 1.0 } else { 1.0 - crossings as f64 / most as f64 }
}

/// 1 - b / (m + b).
pub fn bends(pipes: usize, bends: usize) -> f64 {
    if pipes + bends == 0 { 1.0 } else { 1.0 - bends as f64 / (pipes + bends) as f64 }
}

/// 1 less the mean distance of every piece from the nearest axis, in half right angles.
pub fn orthogonality(degrees: &[f64]) -> f64 {
    if degrees.is_empty() {
        return 1.0;
    }
    let off = |d: &f64| {
        let a = d.rem_euclid(180.0);
        a.min((90.0 - a).abs()).min(180.0 - a) / 45.0
    };
    1.0 - degrees.iter().map(off).sum::<f64>() / degrees.len() as f64
}

/// Pieces that run in the wanted direction, of all that have one.
pub fn flow(wanted: usize, all: usize) -> f64 {
    if all == 0 { 1.0 } else { wanted as f64 / all as f64 }
}

/// Symbols over the points of the grid they are spread on, `w` by `h` steps.
pub fn grid(symbols: usize, w: i64, h: i64) -> f64 {
    let points = (1 + w.max(0)) * (1 + h.max(0));
    (symbols as f64 / points as f64).min(1.0)
}

/// What two boxes have in common, in square units.
pub fn common_area(a: &Area, b: &Area) -> i64 {
    let w = (a.right().min(b.right()) - a.x.max(b.x)).max(0);
    let h = (a.bottom().min(b.bottom()) - a.y.max(b.y)).max(0);
    w * h
}
