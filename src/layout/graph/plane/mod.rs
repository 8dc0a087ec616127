//! Drawings from the plane: which way round the edges meet at each symbol, where crossings cannot
//! be helped, which turns each pipe takes, and then lengths. In: a connected graph with at most one
//! pipe a port. Out: legal drawings, if any were found within the effort.

pub mod coords;
pub mod core;
mod left_right;
pub mod map;
pub mod order;
pub mod planarise;
pub mod shape;
pub mod strokes;

pub use left_right::embed;

use super::compact::compact;
use super::{Drawing, Graph, Options, measure, score};
use planarise::{Planariser, Plane};
use shape::{Shape, Shaper};

/// A small generator for orders to try; the same on every machine.
struct Shuffle(u64);

impl Shuffle {
    fn below(&mut self, n: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        ((self.0 >> 20) % n.max(1) as u64) as usize
    }

    fn mix<T>(&mut self, list: &mut [T]) {
        for k in (1..list.len()).rev() {
            list.swap(k, self.below(k + 1));
        }
    }
}

/// The best drawing found, with its score.
pub fn draw(graph: &Graph, o: &Options) -> Option<(Drawing, i64)> {
    let core = core::core(graph);
    let planariser = Planariser::new(graph, &core);
    let runs = core.runs.len();
    let effort = o.effort.max(1) as usize;
    // Many planes, each with its shape: cheap for small graphs.
    let tries = (effort * 3000 / (runs + 20)).clamp(1, 24 * effort);
    let flows = 300 + 40_000 / (runs + 10);
    let mut shuffle = Shuffle(0x2545_F491_4F6C_DD1D);
    let mut found: Vec<(i64, usize, Plane, Shape)> = Vec::new();
    for k in 0..tries {
        let mut order: Vec<usize> = (0..runs).collect();
        if k > 0 {
            shuffle.mix(&mut order);
        }
        if k % 3 != 2 {
            order.sort_by_key(|&r| core.runs[r].rank);
        }
        let mut plane = planariser.lay(&order);
        if !plane.map.is_planar() {
            continue;
        }
        let mut shaper = Shaper::new(graph, &core, &plane);
        let shape = shaper.search(flows);
        if shape.cost == i64::MAX {
            continue;
        }
        let cost = planariser.price(&plane) * 2 + shape.cost;
        if found.iter().any(|f| f.0 == cost && f.3.turns == shape.turns) {
            continue;
        }
        found.push((cost, k, plane, shape));
    }
    found.sort_by_key(|f| (f.0, f.1));
    let mut best: Option<(Drawing, i64)> = None;
    let mut steps = 150_000 * effort as u64;
    for (_, _, plane, shape) in found.iter().take(2 + 3 * effort) {
        let shaper = Shaper::new(graph, &core, plane);
        let Some(real) =
            coords::realise(graph, &core, plane, shape, &shaper, o, steps.max(100_000))
        else {
            steps = steps.saturating_sub(100_000);
            continue;
        };
        steps = steps.saturating_sub(real.steps);
        let mut drawing = real.drawing;
        let loose = drawing.clone();
        compact(graph, &mut drawing, o, 8);
        if measure(graph, &drawing, o.pitch).hard() > 0 {
            drawing = loose;
        }
        let m = measure(graph, &drawing, o.pitch);
        if m.hard() > 0 {
            continue;
        }
        let s = score(&m, o);
        if best.as_ref().is_none_or(|b| s < b.1) {
            best = Some((drawing, s));
        }
        if steps == 0 {
            break;
        }
    }
    best
}
