//! From a graph to its drawing. In: any graph. Out: a legal drawing, the best of several by one
//! score.
//!
//! Parts that are not connected are drawn apart and then set side by side. Where several pipes
//! share a port they are joined by small tees first and taken apart afterwards.

use super::blocks;
use super::clusters;
use super::column::column;
use super::compact::compact;
use super::hints;
use super::layered::layered;
use super::measure::merged;
use super::{
    Drawing, End, Graph, Measures, Options, Pipe, Placed, Port, Pt, Side, Symbol, Transforms,
    measure, plane,
};

/// One number for a legal drawing, lower is better: a crossing counts as three bends and a bit, a
/// bend as a pipe of ten spacings.
pub fn score(m: &Measures, o: &Options) -> i64 {
    let units = |v: i64| v * 10 / o.spacing.max(1);
    // On a sheet of given proportions the drawing takes what the longer way needs.
    let (w, h) = match o.sheet {
        Some((w, h)) if w > 0 && h > 0 => {
            (m.width.max(m.height * w / h), m.height.max(m.width * h / w))
        }
        _ => (m.width, m.height),
    };
    (m.crossings as i64) * 400 + (m.bends as i64) * 120 + units(m.length) / 2 + units(w + h) / 2
}

/// Draws a graph.
pub fn draw(graph: &Graph, options: &Options) -> Drawing {
    let split = Split::new(graph);
    let inner = draw_parts(&split.graph, options);
    split.join(graph, inner)
}

/// A graph in which no port has more than one pipe.
struct Split {
    graph: Graph,
    /// For each pipe of the original, the pipes that make it up; true where walked backwards.
    ways: Vec<Vec<(usize, bool)>>,
}

/// Where an end of a pipe begins, and the pipes from its port to there.
type Start = (End, Vec<(usize, bool)>);

impl Split {
    fn new(graph: &Graph) -> Split {
        let mut out = Split {
            graph: Graph { symbols: graph.symbols.clone(), pipes: Vec::new() },
            ways: vec![Vec::new(); graph.pipes.len()],
        };
        let mut at_port = std::collections::BTreeMap::<End, Vec<usize>>::new();
        for (i, pipe) in graph.pipes.iter().enumerate() {
            if pipe.from != pipe.to {
                at_port.entry(pipe.from).or_default().push(i);
                at_port.entry(pipe.to).or_default().push(i);
            }
        }
        // Where each end of each pipe begins, and the way to there from its port.
        let mut start: Vec<[Start; 2]> =
            graph.pipes.iter().map(|p| [(p.from, Vec::new()), (p.to, Vec::new())]).collect();
        for (&end, pipes) in &at_port {
            if pipes.len() < 2 {
                continue;
            }
            let rank = pipes.iter().map(|&i| graph.pipes[i].rank).min().unwrap_or(0);
            let (mut from, mut way) = (end, Vec::new());
            for (n, &i) in pipes.iter().enumerate() {
                let side = usize::from(graph.pipes[i].from != end);
                if n + 1 == pipes.len() {
                    start[i][side] = (from, way.clone());
                    break;
                }
                let tee = out.graph.symbols.len();
                out.graph.symbols.push(tee_symbol(tee));
                let trunk = out.graph.pipes.len();
                out.graph.pipes.push(Pipe {
                    id: String::new(),
                    from,
                    to: End { symbol: tee, port: 0 },
                    rank,
                    label: None,
                });
                way.push((trunk, false));
                start[i][side] = (End { symbol: tee, port: 2 }, way.clone());
                from = End { symbol: tee, port: 1 };
            }
        }
        for (i, pipe) in graph.pipes.iter().enumerate() {
            let own = out.graph.pipes.len();
            let [(from, mut way), (to, back)] = start[i].clone();
            out.graph.pipes.push(Pipe { from, to, ..pipe.clone() });
            way.push((own, false));
            way.extend(back.iter().rev().map(|&(p, b)| (p, !b)));
            out.ways[i] = way;
        }
        out
    }

    fn join(&self, graph: &Graph, mut inner: Drawing) -> Drawing {
        let inner_placed = inner.placed.clone();
        let routes = self
            .ways
            .iter()
            .map(|way| {
                let mut route: Vec<Pt> = Vec::new();
                for &(p, backwards) in way {
                    let mut part = inner.routes[p].clone();
                    if backwards {
                        part.reverse();
                    }
                    // Through the middle of the tee.
                    if let (Some(&a), Some(&b)) = (route.last(), part.first()) {
                        let corner = if a.x == b.x || a.y == b.y {
                            a
                        } else {
                            let inner = &self.graph.pipes[p];
                            let end = if backwards { inner.to } else { inner.from };
                            let tee = inner_placed[end.symbol];
                            Pt::new(tee.x + 1, tee.y + 1)
                        };
                        route.push(corner);
                    }
                    route.extend(part);
                }
                if way.len() > 1 { merged(&route) } else { route }
            })
            .collect();
        inner.placed.truncate(graph.symbols.len());
        Drawing { placed: inner.placed, routes }
    }
}

/// A very small symbol where three pipes of one port meet.
fn tee_symbol(n: usize) -> Symbol {
    let port = |id: &str, side| Port { id: id.into(), side, off: 1 };
    Symbol {
        id: format!("tee {n}"),
        w: 2,
        h: 2,
        ports: vec![port("a", Side::W), port("b", Side::E), port("c", Side::S)],
        transforms: Transforms { mirror_x: true, mirror_y: true, turn: true },
        ..Symbol::default()
    }
}

/// Connected parts: symbols of each, in order.
pub(super) fn parts(graph: &Graph) -> Vec<Vec<usize>> {
    let n = graph.symbols.len();
    let mut part: Vec<usize> = (0..n).collect();
    fn root(part: &mut [usize], mut v: usize) -> usize {
        while part[v] != v {
            part[v] = part[part[v]];
            v = part[v];
        }
        v
    }
    for p in &graph.pipes {
        let (a, b) = (root(&mut part, p.from.symbol), root(&mut part, p.to.symbol));
        part[a.max(b)] = a.min(b);
    }
    let mut lists: Vec<Vec<usize>> = vec![Vec::new(); n];
    for s in 0..n {
        let r = root(&mut part, s);
        lists[r].push(s);
    }
    lists.retain(|l| !l.is_empty());
    lists
}

/// The symbols given and the pipes between them, with the numbers of those pipes.
pub(super) fn extract(graph: &Graph, symbols: &[usize]) -> (Graph, Vec<usize>) {
    let mut new = vec![usize::MAX; graph.symbols.len()];
    for (k, &s) in symbols.iter().enumerate() {
        new[s] = k;
    }
    let moved = |list: &[usize]| -> Vec<usize> {
        list.iter().map(|&s| new[s]).filter(|&s| s != usize::MAX).collect()
    };
    let mut out = Graph::default();
    for &s in symbols {
        let mut symbol = graph.symbols[s].clone();
        symbol.hint.left_of = moved(&symbol.hint.left_of);
        symbol.hint.above = moved(&symbol.hint.above);
        symbol.hint.level_with = moved(&symbol.hint.level_with);
        out.symbols.push(symbol);
    }
    let mut pipes = Vec::new();
    for (i, p) in graph.pipes.iter().enumerate() {
        if new[p.from.symbol] != usize::MAX && new[p.to.symbol] != usize::MAX {
            pipes.push(i);
            let at = |e: End| End { symbol: new[e.symbol], port: e.port };
            out.pipes.push(Pipe { from: at(p.from), to: at(p.to), ..p.clone() });
        }
    }
    (out, pipes)
}

fn draw_parts(graph: &Graph, o: &Options) -> Drawing {
    let parts = parts(graph);
    if parts.len() == 1 {
        return draw_connected(graph, o);
    }
    let mut out = Drawing {
        placed: vec![Placed::default(); graph.symbols.len()],
        routes: vec![Vec::new(); graph.pipes.len()],
    };
    let drawn: Vec<(Drawing, Vec<usize>)> = parts
        .iter()
        .map(|symbols| {
            let (part, pipes) = extract(graph, symbols);
            (draw_connected(&part, o), pipes)
        })
        .collect();
    let boxes: Vec<(Pt, Pt)> =
        drawn.iter().zip(&parts).map(|((d, _), symbols)| reach(graph, symbols, d)).collect();
    for ((symbols, (d, pipes)), (lo, to)) in
        parts.iter().zip(&drawn).zip(boxes.iter().map(|b| b.0).zip(shelves(&boxes, o)))
    {
        let (dx, dy) = (to.x - lo.x, to.y - lo.y);
        for (k, &s) in symbols.iter().enumerate() {
            let p = d.placed[k];
            out.placed[s] = Placed { x: p.x + dx, y: p.y + dy, pose: p.pose };
        }
        for (k, &p) in pipes.iter().enumerate() {
            out.routes[p] = d.routes[k].iter().map(|q| Pt::new(q.x + dx, q.y + dy)).collect();
        }
    }
    out
}

/// Least and greatest corner of a part of a drawing.
pub(super) fn reach(graph: &Graph, symbols: &[usize], d: &Drawing) -> (Pt, Pt) {
    let (mut lo, mut hi) = (Pt::new(i64::MAX, i64::MAX), Pt::new(i64::MIN, i64::MIN));
    let mut take = |p: Pt| {
        lo = Pt::new(lo.x.min(p.x), lo.y.min(p.y));
        hi = Pt::new(hi.x.max(p.x), hi.y.max(p.y));
    };
    for (k, &s) in symbols.iter().enumerate() {
        let a = graph.area(s, &d.placed[k]);
        take(Pt::new(a.x, a.y));
        take(Pt::new(a.right(), a.bottom()));
    }
    for &p in d.routes.iter().flatten() {
        take(p);
    }
    (lo, hi)
}

/// Places for boxes in rows, the tallest first, in the proportions of the sheet or about as wide
/// as high.
pub(super) fn shelves(boxes: &[(Pt, Pt)], o: &Options) -> Vec<Pt> {
    let gap = 2 * o.spacing;
    let size = |k: usize| {
        let (lo, hi) = boxes[k];
        (hi.x - lo.x + gap, hi.y - lo.y + gap)
    };
    let area: i128 = (0..boxes.len()).map(|k| i128::from(size(k).0) * i128::from(size(k).1)).sum();
    let mut width = 1i64;
    let (sw, sh) = o.sheet.filter(|(w, h)| *w > 0 && *h > 0).unwrap_or((2, 1));
    let need = area * i128::from(sw) / i128::from(sh);
    while i128::from(width) * i128::from(width) < need {
        width = width * 5 / 4 + 1;
    }
    let mut order: Vec<usize> = (0..boxes.len()).collect();
    order.sort_by_key(|&k| (std::cmp::Reverse(size(k).1), k));
    let mut out = vec![Pt::default(); boxes.len()];
    let (mut x, mut y, mut row) = (0, 0, 0);
    for k in order {
        let (w, h) = size(k);
        if x > 0 && x + w > width {
            (x, y, row) = (0, y + row, 0);
        }
        out[k] = Pt::new(x, y);
        x += w;
        row = row.max(h);
    }
    out
}

fn draw_connected(graph: &Graph, o: &Options) -> Drawing {
    if graph.pipes.iter().all(|p| p.from == p.to) {
        return column(graph, o);
    }
    // A pipe from a port to itself has no length and is laid last.
    let mut plain = graph.clone();
    let kept: Vec<usize> =
        (0..graph.pipes.len()).filter(|&i| graph.pipes[i].from != graph.pipes[i].to).collect();
    plain.pipes = kept.iter().map(|&i| graph.pipes[i].clone()).collect();
    let in_blocks = if plain.symbols.len() > 100 { blocks::draw(&plain, o) } else { None };
    let best = match in_blocks.or_else(|| plane::draw(&plain, o, None).map(|d| d.0)) {
        Some(drawing) => drawing,
        None => better(&plain, o, clusters::draw(&plain, o), tidy(&plain, o)),
    };
    let best = if hints::any(&plain) { hints::turned_over(&plain, best) } else { best };
    debug_assert_eq!(measure(&plain, &best, o.pitch).hard(), 0);
    let mut out = Drawing { routes: Vec::new(), placed: best.placed };
    let mut next = best.routes.into_iter();
    for pipe in &graph.pipes {
        if pipe.from == pipe.to {
            let at = graph.port(pipe.from, &out.placed[pipe.from.symbol]).1;
            out.routes.push(vec![at, at]);
        } else {
            out.routes.push(next.next().unwrap_or_default());
        }
    }
    out
}

/// The better of two legal drawings.
fn better(graph: &Graph, o: &Options, new: Option<Drawing>, old: Drawing) -> Drawing {
    let of = |d: &Drawing| score(&measure(graph, d, o.pitch), o);
    match new {
        Some(new) if of(&new) < of(&old) => new,
        _ => old,
    }
}

/// Columns with routed pipes, tightened; or the one column that always works.
fn tidy(graph: &Graph, o: &Options) -> Drawing {
    let Some(mut drawing) = layered(graph, o) else {
        return column(graph, o);
    };
    let loose = drawing.clone();
    if graph.symbols.len() <= 400 {
        compact(graph, &mut drawing, o, 6, &[]);
    }
    if measure(graph, &drawing, o.pitch).hard() > 0 {
        return loose;
    }
    drawing
}
