//! Large graphs of no known build: cut in two where few pipes are, until a piece can be drawn from
//! the plane; pieces set side by side so that the cut pipes are short; then all pipes routed
//! together. In: a connected graph. Out: a legal drawing, if the router finds room for all pipes.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use super::compact::compact;
use super::draw::{extract, parts, reach, shelves};
use super::halve::{Lump, halve};
use super::layered::layered;
use super::{
    Drawing, Graph, Options, Placed, Pt, RouteOptions, column, measure, plane, route, score,
};

/// Symbols of the largest piece that is drawn from the plane: lengths of larger ones are seldom
/// found.
const PIECE: usize = 40;
/// Symbols of the smallest piece that is cut.
const LEAST: usize = 6;
/// Symbols of the largest graph that is routed, and steps of the router for each try.
const LARGEST: usize = 1_500;
const STEPS: u64 = 25_000_000;
/// Larger drawings are not tightened.
const TIGHTENED: usize = 400;

/// The best of a few widths, or nothing.
pub fn draw(graph: &Graph, o: &Options) -> Option<Drawing> {
    if graph.symbols.len() > LARGEST {
        return None;
    }
    let tight = Pieces { o, known: BTreeMap::new() }.place(graph);
    let mut best: Option<(i64, Drawing)> = None;
    for per_cent in [100, 125, 160, 220] {
        let placed = spread(graph, o, &tight, per_cent);
        let options = RouteOptions { steps: STEPS, ..o.route() };
        let routing = route(graph, &placed, &options);
        if !routing.failed.is_empty() || routing.pitch < o.pitch {
            continue;
        }
        let mut drawing = Drawing { placed, routes: routing.routes };
        if measure(graph, &drawing, o.pitch).hard() > 0 {
            continue;
        }
        if graph.symbols.len() <= TIGHTENED {
            let loose = drawing.clone();
            compact(graph, &mut drawing, o, 6, &[]);
            if measure(graph, &drawing, o.pitch).hard() > 0 {
                drawing = loose;
            }
        }
        let s = score(&measure(graph, &drawing, o.pitch), o);
        if best.as_ref().is_none_or(|b| s < b.0) {
            best = Some((s, drawing));
        }
        // Of a very large one the first that goes.
        if graph.symbols.len() > TIGHTENED {
            break;
        }
    }
    best.map(|b| b.1)
}

/// Further apart from one corner, so that pipes find more room between; on the pitch, so that the
/// router has few lines to look at.
fn spread(graph: &Graph, o: &Options, placed: &[Placed], per_cent: i64) -> Vec<Placed> {
    let on = |v: i64| (v * per_cent / 100).div_euclid(o.pitch) * o.pitch;
    let mut out: Vec<Placed> =
        placed.iter().map(|p| Placed { x: on(p.x), y: on(p.y), pose: p.pose }).collect();
    // What has come too near by rounding gives way to the right.
    let mut order: Vec<usize> = (0..out.len()).collect();
    order.sort_by_key(|&s| (out[s].x, out[s].y, s));
    for n in 0..order.len() {
        let s = order[n];
        loop {
            let area = graph.area(s, &out[s]).grown(o.spacing - 1);
            let hit =
                order[..n].iter().map(|&t| graph.area(t, &out[t])).find(|a| a.overlaps(&area));
            let Some(hit) = hit else { break };
            out[s].x = on_pitch_after(hit.right() + o.spacing, o.pitch);
        }
    }
    out
}

fn on_pitch_after(v: i64, pitch: i64) -> i64 {
    -(-v).div_euclid(pitch) * pitch
}

/// Pieces being placed; like ones are laid out once and repeated.
struct Pieces<'a> {
    o: &'a Options,
    known: BTreeMap<String, Option<Vec<Placed>>>,
}

impl Pieces<'_> {
    /// Places for the symbols of any graph.
    fn place(&mut self, graph: &Graph) -> Vec<Placed> {
        let apart = parts(graph);
        if apart.len() == 1 {
            return self.connected(graph);
        }
        let drawn: Vec<Drawing> = apart
            .iter()
            .map(|symbols| {
                let placed = self.connected(&extract(graph, symbols).0);
                Drawing { placed, routes: Vec::new() }
            })
            .collect();
        let boxes: Vec<(Pt, Pt)> =
            apart.iter().zip(&drawn).map(|(symbols, d)| reach(graph, symbols, d)).collect();
        let mut out = vec![Placed::default(); graph.symbols.len()];
        let to = shelves(&boxes, self.o);
        for (k, symbols) in apart.iter().enumerate() {
            let (lo, to) = (boxes[k].0, to[k]);
            for (&s, p) in symbols.iter().zip(&drawn[k].placed) {
                out[s] = Placed { x: p.x + to.x - lo.x, y: p.y + to.y - lo.y, pose: p.pose };
            }
        }
        out
    }

    fn connected(&mut self, graph: &Graph) -> Vec<Placed> {
        let n = graph.symbols.len();
        if n == 1 {
            return vec![Placed::default()];
        }
        if n <= PIECE {
            let o = self.o;
            let drawn = || plane::draw(graph, o, None).map(|(drawing, _)| drawing.placed);
            let known = self.known.entry(likeness(graph)).or_insert_with(drawn);
            if let Some(placed) = known {
                return placed.clone();
            }
        }
        let halves = if n > LEAST { cut(graph) } else { None };
        let Some([first, second]) = halves else {
            return layered(graph, self.o).unwrap_or_else(|| column(graph, self.o)).placed;
        };
        let a = self.place(&extract(graph, &first).0);
        let b = self.place(&extract(graph, &second).0);
        beside(graph, self.o, (&first, a), (&second, b))
    }
}

/// All that decides the drawing of a graph, without names.
fn likeness(graph: &Graph) -> String {
    let mut out = String::new();
    for s in &graph.symbols {
        let _ = write!(out, "{} {} {:?} {:?};", s.w, s.h, s.transforms, s.hint);
        for p in &s.ports {
            let _ = write!(out, "{:?} {},", p.side, p.off);
        }
    }
    for p in &graph.pipes {
        let _ = write!(out, "{:?} {:?} {};", p.from, p.to, p.rank);
    }
    out
}

fn cut(graph: &Graph) -> Option<[Vec<usize>; 2]> {
    let mut lumps = vec![Lump { weight: 1, ..Lump::default() }; graph.symbols.len()];
    for p in &graph.pipes {
        let (a, b) = (p.from.symbol, p.to.symbol);
        if a != b {
            *lumps[a].near.entry(b).or_default() += 1;
            *lumps[b].near.entry(a).or_default() += 1;
        }
    }
    let halves = halve(&lumps)?;
    let (second, first): (Vec<usize>, Vec<usize>) =
        (0..graph.symbols.len()).partition(|s| halves[*s]);
    Some([first, second])
}

/// Two placed pieces beside or below each other, where the pipes between them are shortest.
fn beside(
    graph: &Graph,
    o: &Options,
    (first, a): (&[usize], Vec<Placed>),
    (second, b): (&[usize], Vec<Placed>),
) -> Vec<Placed> {
    let boxed = |symbols: &[usize], placed: &[Placed]| {
        let d = Drawing { placed: placed.to_vec(), routes: Vec::new() };
        reach(graph, symbols, &d)
    };
    let ((alo, ahi), (blo, bhi)) = (boxed(first, &a), boxed(second, &b));
    let mut out = vec![Placed::default(); graph.symbols.len()];
    for (&s, p) in first.iter().zip(&a).chain(second.iter().zip(&b)) {
        out[s] = *p;
    }
    let mut is_second = vec![false; graph.symbols.len()];
    for &s in second {
        is_second[s] = true;
    }
    // From the port in the second piece to that in the first.
    let ways: Vec<Pt> = graph
        .pipes
        .iter()
        .filter(|p| is_second[p.from.symbol] != is_second[p.to.symbol])
        .map(|p| {
            let (x, y) = if is_second[p.from.symbol] { (p.to, p.from) } else { (p.from, p.to) };
            let at = |e: super::End| graph.port(e, &out[e.symbol]).1;
            Pt::new(at(x).x - at(y).x, at(x).y - at(y).y)
        })
        .collect();
    let middle = |of: &dyn Fn(&Pt) -> i64| {
        let mut all: Vec<i64> = ways.iter().map(of).collect();
        all.sort_unstable();
        all.get(all.len() / 2).copied().unwrap_or(0)
    };
    let lanes = i64::try_from(ways.len()).unwrap_or(0).min(40);
    let gap = 2 * o.spacing + o.pitch * lanes;
    let (level, plumb) = (middle(&|w| w.y), middle(&|w| w.x));
    let shifts = [
        Pt::new(ahi.x + gap - blo.x, level),
        Pt::new(alo.x - gap - bhi.x, level),
        Pt::new(plumb, ahi.y + gap - blo.y),
        Pt::new(plumb, alo.y - gap - bhi.y),
    ];
    let count = i64::try_from(ways.len()).unwrap_or(1).max(1);
    let cost = |by: &Pt| {
        let length: i64 = ways.iter().map(|w| (w.x - by.x).abs() + (w.y - by.y).abs()).sum();
        let w = ahi.x.max(bhi.x + by.x) - alo.x.min(blo.x + by.x);
        let h = ahi.y.max(bhi.y + by.y) - alo.y.min(blo.y + by.y);
        length / count + w.max(h)
    };
    let by = shifts.iter().min_by_key(|by| cost(by)).copied().unwrap_or_default();
    for &s in second {
        out[s].x += by.x;
        out[s].y += by.y;
    }
    out
}
