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
use super::hints;
use super::{Drawing, End, Graph, Options, Pipe, Port, Side, Symbol, Transforms, measure, score};
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

/// Symbols that must lie on the border of a drawing: those on the left edge and on the right edge.
/// They come after all others in the graph, first the left ones, and have one pipe each.
#[derive(Clone, Debug, Default)]
pub struct Frame {
    pub west: Vec<usize>,
    pub east: Vec<usize>,
}

impl Frame {
    pub fn gates(&self) -> impl Iterator<Item = usize> + '_ {
        self.west.iter().chain(&self.east).copied()
    }
}

/// Runs of the largest graph that is tried, for each unit of effort.
const LARGEST: usize = 200;

/// The best drawing found, with its score.
pub fn draw(graph: &Graph, o: &Options, frame: Option<&Frame>) -> Option<(Drawing, i64)> {
    let core = core::core(graph);
    // For the embedding, the gates of a side meet in one place outside, and the two places are
    // joined, so that all gates come to lie on one face and each side's together.
    let hubbed = frame.map(|f| hubs(graph, f));
    let hub_core = hubbed.as_ref().map(core::core);
    let planariser = match (&hubbed, &hub_core) {
        (Some(g), Some(c)) => Planariser::new(g, c),
        _ => Planariser::new(graph, &core),
    };
    let runs = hub_core.as_ref().unwrap_or(&core).runs.len();
    let effort = o.effort.max(1) as usize;
    // Coordinates of very large pieces are out of reach; blocks keep pieces small.
    if runs > LARGEST * effort {
        return None;
    }
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
            let ranks = hub_core.as_ref().unwrap_or(&core);
            order.sort_by_key(|&r| ranks.runs[r].rank);
        }
        let mut plane = planariser.lay(&order);
        if !plane.map.is_planar() {
            continue;
        }
        let price = planariser.price(&plane);
        let mut outer = None;
        if let Some(frame) = frame {
            outer = open(&core, graph, &mut plane, frame);
            if outer.is_none() {
                continue;
            }
        }
        let mut shaper = Shaper::new(graph, &core, &plane);
        let shape = shaper.search(flows, outer);
        if shape.cost == i64::MAX {
            continue;
        }
        let cost = price * 2 + shape.cost;
        if found.iter().any(|f| f.0 == cost && f.3.turns == shape.turns) {
            continue;
        }
        found.push((cost, k, plane, shape));
    }
    found.sort_by_key(|f| (f.0, f.1));
    let gates: Vec<usize> = frame.iter().flat_map(|f| f.gates()).collect();
    let mut best: Option<(Drawing, i64)> = None;
    // Inside a frame the edges are given, and nothing may be turned over.
    let wishes = frame.is_none() && hints::any(graph);
    let mut steps = 150_000 * effort as u64;
    for (_, _, plane, shape) in found.iter().take(2 + 3 * effort) {
        let shaper = Shaper::new(graph, &core, plane);
        let task = coords::Task { graph, core: &core, plane, shape, shaper: &shaper, frame };
        let Some(real) = coords::realise(&task, o, steps.max(100_000)) else {
            steps = steps.saturating_sub(100_000);
            continue;
        };
        steps = steps.saturating_sub(real.steps);
        let mut drawing = real.drawing;
        let loose = drawing.clone();
        compact(graph, &mut drawing, o, 8, &gates);
        if measure(graph, &drawing, o.pitch).hard() > 0 {
            drawing = loose;
        }
        let m = measure(graph, &drawing, o.pitch);
        if m.hard() > 0 {
            continue;
        }
        let mut s = score(&m, o);
        if wishes {
            let over = hints::turned_over(graph, drawing.clone());
            s += hints::PRICE * hints::unmet(graph, &over) as i64;
        }
        if best.as_ref().is_none_or(|b| s < b.1) {
            best = Some((drawing, s));
        }
        if steps == 0 {
            break;
        }
    }
    best
}

/// The graph with one hub a side in place of the gates, and a pipe from hub to hub.
fn hubs(graph: &Graph, frame: &Frame) -> Graph {
    let inner = graph.symbols.len() - frame.west.len() - frame.east.len();
    let mut out = Graph { symbols: graph.symbols[..inner].to_vec(), pipes: graph.pipes.clone() };
    let mut links = Vec::new();
    for side in [&frame.west, &frame.east] {
        if side.is_empty() {
            continue;
        }
        let hub = out.symbols.len();
        // Any order will do where there are three pipes at most, for then it may be mirrored.
        let ports = (0..=side.len()).map(|k| Port {
            id: String::new(),
            side: Side::from_quarter(k.min(3)),
            off: k as i64,
        });
        out.symbols.push(Symbol {
            w: side.len() as i64 + 2,
            h: side.len() as i64 + 2,
            ports: ports.collect(),
            transforms: Transforms { mirror_x: true, mirror_y: true, turn: true },
            ..Symbol::default()
        });
        for (k, &gate) in side.iter().enumerate() {
            for pipe in &mut out.pipes {
                for end in [&mut pipe.from, &mut pipe.to] {
                    if end.symbol == gate {
                        *end = End { symbol: hub, port: k };
                    }
                }
            }
        }
        links.push(End { symbol: hub, port: side.len() });
    }
    if let [from, to] = links[..] {
        out.pipes.push(Pipe { id: String::new(), from, to, rank: 0, label: None });
    }
    out
}

/// Takes the hubs out again and sets the gates at the ends of their runs. Gives the outer face, if
/// all gates lie on one.
fn open(core: &core::Core, graph: &Graph, plane: &mut Plane, frame: &Frame) -> Option<usize> {
    let inner = graph.symbols.len() - frame.west.len() - frame.east.len();
    let map = &mut plane.map;
    map.pull(core.runs.len());
    for v in 0..map.symbol.len() {
        if map.symbol[v] == map::NONE || map.symbol[v] < inner {
            continue;
        }
        for h in map.ring(v) {
            let run = &core.runs[map.run[h / 2]];
            let end = if run.from.symbol >= inner { run.from } else { run.to };
            map.take(h);
            let gate = map.add_vertex(end.symbol);
            map.put(h, gate, map::NONE);
            map.port[h] = end.port;
        }
        map.symbol[v] = map::NONE;
    }
    plane.vertex.resize(graph.symbols.len(), map::NONE);
    plane.sense.resize(graph.symbols.len(), None);
    map.mark_faces();
    let mut outer = None;
    for v in 0..map.symbol.len() {
        let s = map.symbol[v];
        if s == map::NONE || s < inner {
            continue;
        }
        plane.vertex[s] = v;
        plane.sense[s] = None;
        let face = map.face[map.some[v]];
        if outer.is_some_and(|o| o != face) {
            return None;
        }
        outer = Some(face);
    }
    outer
}
