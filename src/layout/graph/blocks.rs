//! Many blocks on common risers, as flats hang on theirs. In: a graph whose symbols name blocks.
//! Out: a drawing with each kind of block laid out once and repeated, the blocks one above the
//! other, the risers upright at both sides; or nothing where the graph has another build.

mod find;
mod pile;

use std::collections::BTreeMap;

use find::{inner_end, kinds, parts};
use pile::stack;

use super::draw::{extract, reach};
use super::measure::merged;
use super::plane::{self, Frame};
use super::{
    Drawing, End, Graph, Measures, Options, Pipe, Placed, Port, Pose, Pt, Side, Symbol, measure,
    score,
};

const NONE: usize = usize::MAX;

/// A line of single symbols to which blocks are joined.
#[derive(Debug)]
struct Riser {
    /// Symbols from one end to the other.
    spine: Vec<usize>,
    /// Pipes between them.
    links: Vec<usize>,
    /// (place on the spine, pipe, block), in order.
    taps: Vec<(usize, usize, usize)>,
}

struct Parts {
    /// Symbols of each block.
    blocks: Vec<Vec<usize>>,
    risers: Vec<Riser>,
    /// Per block and riser: the pipe that joins them.
    gate: Vec<Vec<usize>>,
}

/// A kind of block as laid out: drawing of its symbols and pipes, height, gates.
struct Layout {
    drawing: Drawing,
    symbols: usize,
    /// Pipes inside, by local number; the pipes of the gates follow.
    inner: usize,
    width: i64,
    top: i64,
    bottom: i64,
    measures: Measures,
}

/// Draws the graph as blocks on risers, if it is built so.
pub fn draw(graph: &Graph, o: &Options) -> Option<Drawing> {
    let parts = parts(graph)?;
    let names = kinds(graph, &parts);
    let mut count: BTreeMap<&str, usize> = BTreeMap::new();
    for name in &names {
        *count.entry(name).or_default() += 1;
    }
    let common = (0..names.len()).max_by_key(|&b| (count[names[b].as_str()], NONE - b))?;
    let gate = largest_tap(graph, &parts);
    let mut best: Option<(i64, u32, Layout)> = None;
    for west in sides(parts.risers.len()) {
        let Some(layout) = lay(graph, o, &parts, common, west, gate) else {
            continue;
        };
        let s = score(&layout.measures, o);
        if best.as_ref().is_none_or(|b| s < b.0) {
            best = Some((s, west, layout));
        }
    }
    let (_, west, layout) = best?;
    let mut layouts: BTreeMap<&str, Layout> = BTreeMap::new();
    layouts.insert(&names[common], layout);
    for b in 0..names.len() {
        if !layouts.contains_key(names[b].as_str()) {
            layouts.insert(&names[b], lay(graph, o, &parts, b, west, gate)?);
        }
    }
    let mut drawn: Option<(i64, Drawing)> = None;
    for upwards in [false, true] {
        let drawing = stack(graph, o, &parts, &names, &layouts, west, upwards);
        let m = measure(graph, &drawing, o.pitch);
        if m.hard() > 0 {
            continue;
        }
        let s = score(&m, o);
        if drawn.as_ref().is_none_or(|d| s < d.0) {
            drawn = Some((s, drawing));
        }
    }
    drawn.map(|d| d.1)
}

/// Which risers stand at the left, as bits: about half of them.
fn sides(risers: usize) -> Vec<u32> {
    if risers == 0 || risers > 8 {
        return Vec::new();
    }
    let half = risers.div_ceil(2) as u32;
    (0..1u32 << risers)
        .filter(|w| w.count_ones() == half || w.count_ones() == risers as u32 - half)
        .collect()
}

/// Room that a symbol of a riser needs beside a gate.
fn largest_tap(graph: &Graph, parts: &Parts) -> i64 {
    parts
        .risers
        .iter()
        .flat_map(|r| r.taps.iter().map(|t| r.spine[t.0]))
        .map(|s| graph.symbols[s].w.max(graph.symbols[s].h))
        .max()
        .unwrap_or(0)
        .max(2)
}

fn lay(
    graph: &Graph,
    o: &Options,
    parts: &Parts,
    block: usize,
    west: u32,
    gate_height: i64,
) -> Option<Layout> {
    let symbols = &parts.blocks[block];
    let (mut inner, pipes) = extract(graph, symbols);
    let count = inner.symbols.len();
    let mut frame = Frame::default();
    for side in [true, false] {
        for (r, &pipe) in parts.gate[block].iter().enumerate() {
            if pipe == NONE || (west >> r & 1 == 1) != side {
                continue;
            }
            let gate = inner.symbols.len();
            let port = |side| Port { id: String::new(), side, off: gate_height / 2 };
            inner.symbols.push(Symbol {
                w: 2,
                h: gate_height,
                ports: vec![port(if side { Side::E } else { Side::W })],
                ..Symbol::default()
            });
            let end = inner_end(graph, symbols, pipe);
            let local = symbols.iter().position(|&s| s == end.symbol)?;
            inner.pipes.push(Pipe {
                id: String::new(),
                from: End { symbol: local, port: end.port },
                to: End { symbol: gate, port: 0 },
                rank: graph.pipes[pipe].rank,
                label: None,
            });
            if side {
                frame.west.push(gate);
            } else {
                frame.east.push(gate);
            }
        }
    }
    let (mut drawing, _) = plane::draw(&inner, o, Some(&frame))?;
    let measures = measure(&inner, &drawing, o.pitch);
    let all: Vec<usize> = (0..inner.symbols.len()).collect();
    let (lo, hi) = reach(&inner, &all, &drawing);
    for p in &mut drawing.placed {
        p.x -= lo.x;
    }
    for p in drawing.routes.iter_mut().flatten() {
        p.x -= lo.x;
    }
    Some(Layout {
        drawing,
        symbols: count,
        inner: pipes.len(),
        width: hi.x - lo.x,
        top: lo.y,
        bottom: hi.y,
        measures,
    })
}
