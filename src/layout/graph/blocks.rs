//! Many blocks on common risers, as flats hang on theirs. In: a graph whose symbols name blocks.
//! Out: a drawing with each kind of block laid out once and repeated, the blocks one above the
//! other, the risers upright at both sides; or nothing where the graph has another build.

use std::collections::BTreeMap;

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

fn parts(graph: &Graph) -> Option<Parts> {
    let n = graph.symbols.len();
    let mut by_name: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
    for (s, symbol) in graph.symbols.iter().enumerate() {
        if let Some(name) = &symbol.block {
            by_name.entry(name).or_default().push(s);
        }
    }
    let mut blocks: Vec<Vec<usize>> = by_name.into_values().collect();
    blocks.sort();
    if blocks.len() < 3 {
        return None;
    }
    let mut block_of = vec![NONE; n];
    for (b, symbols) in blocks.iter().enumerate() {
        for &s in symbols {
            block_of[s] = b;
        }
    }
    // Lines of single symbols.
    let mut at: Vec<Vec<(usize, usize)>> = vec![Vec::new(); n];
    for (i, p) in graph.pipes.iter().enumerate() {
        let (a, b) = (p.from.symbol, p.to.symbol);
        if block_of[a] != NONE && block_of[b] != NONE && block_of[a] != block_of[b] {
            return None;
        }
        if block_of[a] == NONE && block_of[b] == NONE {
            if a == b {
                return None;
            }
            at[a].push((b, i));
            at[b].push((a, i));
        }
    }
    let mut seen = vec![false; n];
    let mut risers = Vec::new();
    let mut riser_of = vec![(NONE, 0); n];
    for s in 0..n {
        if block_of[s] != NONE || seen[s] || at[s].len() > 1 {
            continue;
        }
        let mut riser = Riser { spine: Vec::new(), links: Vec::new(), taps: Vec::new() };
        let (mut v, mut by) = (s, NONE);
        loop {
            if at[v].len() > 2 {
                return None;
            }
            seen[v] = true;
            riser_of[v] = (risers.len(), riser.spine.len());
            riser.spine.push(v);
            let Some(&(w, i)) = at[v].iter().find(|e| e.1 != by) else {
                break;
            };
            riser.links.push(i);
            (v, by) = (w, i);
        }
        risers.push(riser);
    }
    if (0..n).any(|s| block_of[s] == NONE && !seen[s]) {
        return None;
    }
    let mut gate = vec![vec![NONE; risers.len()]; blocks.len()];
    for (i, p) in graph.pipes.iter().enumerate() {
        let (a, b) = (block_of[p.from.symbol], block_of[p.to.symbol]);
        let (single, block) = match (a, b) {
            (NONE, NONE) => continue,
            (NONE, b) => (p.from.symbol, b),
            (a, NONE) => (p.to.symbol, a),
            _ => continue,
        };
        let (riser, place) = riser_of[single];
        if gate[block][riser] != NONE {
            return None;
        }
        gate[block][riser] = i;
        risers[riser].taps.push((place, i, block));
    }
    // All risers meet the blocks in the same order, or in the opposite one.
    let longest = (0..risers.len()).max_by_key(|&r| (risers[r].taps.len(), NONE - r))?;
    let through = |graph: &Graph, r: &Riser, tap: &(usize, usize, usize)| {
        // The tap that goes straight on from the last symbol comes last.
        let p = &graph.pipes[tap.1];
        let end = if block_of[p.from.symbol] == NONE { p.from } else { p.to };
        usize::from(r.links.is_empty() || graph.symbols[end.symbol].ports.len() < 3)
            + usize::from(is_across(graph, r, end))
    };
    for r in 0..risers.len() {
        let mut taps = risers[r].taps.clone();
        taps.sort_by_key(|t| (t.0, through(graph, &risers[r], t), t.1));
        risers[r].taps = taps;
    }
    let mut rank = vec![NONE; blocks.len()];
    for (k, t) in risers[longest].taps.iter().enumerate() {
        rank[t.2] = k;
    }
    let mut next = risers[longest].taps.len();
    for r in &mut rank {
        if *r == NONE {
            *r = next;
            next += 1;
        }
    }
    let mut order: Vec<usize> = (0..blocks.len()).collect();
    order.sort_by_key(|&b| rank[b]);
    let place: Vec<usize> = {
        let mut place = vec![0; blocks.len()];
        for (k, &b) in order.iter().enumerate() {
            place[b] = k;
        }
        place
    };
    for riser in &mut risers {
        for t in &mut riser.taps {
            t.2 = place[t.2];
        }
        let up = riser.taps.windows(2).all(|t| t[0].2 < t[1].2);
        let down = riser.taps.windows(2).all(|t| t[0].2 > t[1].2);
        if !up && !down {
            return None;
        }
        if !up {
            riser.spine.reverse();
            riser.links.reverse();
            riser.taps.reverse();
            for t in &mut riser.taps {
                t.0 = riser.spine.len() - 1 - t.0;
            }
        }
    }
    Some(Parts {
        blocks: order.iter().map(|&b| blocks[b].clone()).collect(),
        gate: order.iter().map(|&b| gate[b].clone()).collect(),
        risers,
    })
}

/// True where a port looks along the line of the riser's last link.
fn is_across(graph: &Graph, riser: &Riser, end: End) -> bool {
    let Some(&link) = riser.links.last() else {
        return false;
    };
    let p = &graph.pipes[link];
    let other = [p.from, p.to].into_iter().find(|e| e.symbol == end.symbol);
    other.is_some_and(|other| {
        let side = |e: End| graph.symbols[e.symbol].ports[e.port].side.quarter();
        (side(other) + 2) % 4 == side(end)
    })
}

/// A text that is the same for blocks that may share a layout.
fn kinds(graph: &Graph, parts: &Parts) -> Vec<String> {
    (0..parts.blocks.len())
        .map(|b| {
            let (block, pipes) = extract(graph, &parts.blocks[b]);
            let mut text = String::new();
            for s in &block.symbols {
                let ports: Vec<_> = s.ports.iter().map(|p| (p.side, p.off)).collect();
                text += &format!("{}x{} {:?} {ports:?} {:?};", s.w, s.h, s.transforms, s.label);
            }
            for p in &block.pipes {
                text += &format!("{:?} {:?} {};", p.from, p.to, p.rank);
            }
            for &i in &parts.gate[b] {
                if i == NONE {
                    text += "-;";
                    continue;
                }
                let end = inner_end(graph, &parts.blocks[b], i);
                let local = parts.blocks[b].iter().position(|&s| s == end.symbol);
                text += &format!("{local:?}.{} {};", end.port, graph.pipes[i].rank);
            }
            debug_assert_eq!(pipes.len(), block.pipes.len());
            text
        })
        .collect()
}

fn inner_end(graph: &Graph, block: &[usize], pipe: usize) -> End {
    let p = &graph.pipes[pipe];
    if block.contains(&p.from.symbol) { p.from } else { p.to }
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

/// Sets the blocks one above the other and the risers beside them.
fn stack(
    graph: &Graph,
    o: &Options,
    parts: &Parts,
    names: &[String],
    layouts: &BTreeMap<&str, Layout>,
    west: u32,
    upwards: bool,
) -> Drawing {
    let mut out = Drawing {
        placed: vec![Placed::default(); graph.symbols.len()],
        routes: vec![Vec::new(); graph.pipes.len()],
    };
    let widest = layouts.values().map(|l| l.width).max().unwrap_or(0);
    let tap = largest_tap(graph, parts);
    let gap = 2 * o.spacing + tap;
    let blocks = parts.blocks.len();
    let mut y = 0;
    // For each block and riser: way from the block's own port to its edge.
    let mut ways: Vec<Vec<Vec<Pt>>> = vec![vec![Vec::new(); parts.risers.len()]; blocks];
    for n in 0..blocks {
        let b = if upwards { blocks - 1 - n } else { n };
        let layout = &layouts[names[b].as_str()];
        let dy = y - layout.top;
        let (_, pipes) = extract(graph, &parts.blocks[b]);
        for (k, &s) in parts.blocks[b].iter().enumerate().take(layout.symbols) {
            let p = layout.drawing.placed[k];
            out.placed[s] = Placed { y: p.y + dy, ..p };
        }
        let moved =
            |route: &[Pt]| -> Vec<Pt> { route.iter().map(|p| Pt::new(p.x, p.y + dy)).collect() };
        for (k, &i) in pipes.iter().enumerate() {
            out.routes[i] = moved(&layout.drawing.routes[k]);
        }
        let mut next = layout.inner;
        for side in [true, false] {
            for (r, &pipe) in parts.gate[b].iter().enumerate() {
                if pipe != NONE && (west >> r & 1 == 1) == side {
                    ways[b][r] = moved(&layout.drawing.routes[next]);
                    next += 1;
                }
            }
        }
        y += layout.bottom - layout.top + gap;
    }
    let (mut left, mut right) = (-o.spacing - tap, widest + o.spacing + tap);
    for (r, riser) in parts.risers.iter().enumerate() {
        let west = west >> r & 1 == 1;
        let widest = riser
            .spine
            .iter()
            .map(|&s| graph.symbols[s].w.max(graph.symbols[s].h))
            .max()
            .unwrap_or(0);
        let x = if west { left - widest / 2 } else { right + widest / 2 };
        rise(graph, o, riser, &ways, r, (x, west, upwards), &mut out);
        if west {
            left -= widest + o.spacing;
        } else {
            right += widest + o.spacing;
        }
    }
    out
}

/// Places the symbols of one riser and draws its pipes.
fn rise(
    graph: &Graph,
    o: &Options,
    riser: &Riser,
    ways: &[Vec<Vec<Pt>>],
    r: usize,
    (x, west, upwards): (i64, bool, bool),
    out: &mut Drawing,
) {
    // Along the spine downwards, or upwards where the blocks run that way.
    let onward = if upwards { Side::N } else { Side::S };
    let back = Side::from_quarter(onward.quarter() + 2);
    let toward = if west { Side::E } else { Side::W };
    let level = |tap: &(usize, usize, usize)| ways[tap.2][r].last().map_or(0, |p| p.y);
    let ends = |pipe: usize, symbol: usize| {
        let p = &graph.pipes[pipe];
        if p.from.symbol == symbol { p.from } else { p.to }
    };
    // The level of each symbol: that of its tap; those before the first follow one another.
    let n = riser.spine.len();
    let mut tap_of: Vec<Option<(usize, usize, usize)>> = vec![None; n];
    let mut last = None;
    for t in &riser.taps {
        if tap_of[t.0].is_none() {
            tap_of[t.0] = Some(*t);
        } else {
            last = Some(*t);
        }
    }
    let mut at = vec![i64::MAX; n];
    for k in 0..n {
        let s = riser.spine[k];
        let mut best = (i64::MIN, Pose::default());
        for pose in Pose::allowed(graph.symbols[s].transforms) {
            let placed = Placed { pose, ..Placed::default() };
            let side = |e: End| graph.port(e, &placed).0;
            let mut fits = 0;
            if k > 0 {
                fits += i64::from(side(ends(riser.links[k - 1], s)) == back);
            }
            if k + 1 < n {
                fits += i64::from(side(ends(riser.links[k], s)) == onward);
            }
            if let Some(t) = tap_of[k] {
                fits += i64::from(side(ends(t.1, s)) == toward);
            }
            if k + 1 == n
                && let Some(t) = last
            {
                fits += i64::from(side(ends(t.1, s)) == onward);
            }
            if fits > best.0 {
                best = (fits, pose);
            }
        }
        out.placed[s].pose = best.1;
    }
    let size = |k: usize, out: &Drawing| graph.area(riser.spine[k], &out.placed[riser.spine[k]]).h;
    for k in 0..n {
        if let Some(t) = tap_of[k] {
            let s = riser.spine[k];
            let port =
                graph.port(ends(t.1, s), &Placed { pose: out.placed[s].pose, ..Placed::default() });
            at[k] = level(&t) - port.1.y;
        }
    }
    let sign = if upwards { -1 } else { 1 };
    let first = (0..n).find(|&k| at[k] != i64::MAX);
    if let Some(first) = first {
        for k in (0..first).rev() {
            let h = size(if upwards { k + 1 } else { k }, out);
            at[k] = at[k + 1] - sign * (h + 2 * o.spacing);
        }
        for k in first + 1..n {
            if at[k] == i64::MAX {
                let h = size(if upwards { k } else { k - 1 }, out);
                at[k] = at[k - 1] + sign * (h + 2 * o.spacing);
            }
        }
    }
    for k in 0..n {
        let s = riser.spine[k];
        // The ports of the line stand on x.
        let link = if k > 0 { riser.links.get(k - 1) } else { riser.links.first() };
        let posed = Placed { pose: out.placed[s].pose, ..Placed::default() };
        let port = link.map_or(0, |&l| graph.port(ends(l, s), &posed).1.x);
        out.placed[s].x = x - port;
        out.placed[s].y = at[k];
    }
    for (k, &link) in riser.links.iter().enumerate() {
        let (a, b) = (riser.spine[k], riser.spine[k + 1]);
        let p = &graph.pipes[link];
        let route = joined(
            graph.port(ends(link, a), &out.placed[a]),
            graph.port(ends(link, b), &out.placed[b]),
            o,
        );
        out.routes[link] = if p.from.symbol == a { route } else { reversed(route) };
    }
    for t in &riser.taps {
        let s = riser.spine[t.0];
        let end = ends(t.1, s);
        let (side, from) = graph.port(end, &out.placed[s]);
        let way = &ways[t.2][r];
        let mut route = vec![from];
        if let Some(&edge) = way.last()
            && !side.is_horizontal()
        {
            route.push(Pt::new(from.x, edge.y));
        }
        route.extend(way.iter().rev());
        let route = merged(&route);
        out.routes[t.1] = if graph.pipes[t.1].from == end { route } else { reversed(route) };
    }
}

fn reversed(mut route: Vec<Pt>) -> Vec<Pt> {
    route.reverse();
    route
}

/// A short way from port to port: straight, or round one corner, or round the symbol.
fn joined((sa, a): (Side, Pt), (sb, b): (Side, Pt), o: &Options) -> Vec<Pt> {
    if a.x == b.x || a.y == b.y {
        return vec![a, b];
    }
    let out = |s: Side, p: Pt| {
        let (dx, dy) = s.step();
        Pt::new(p.x + dx * o.spacing, p.y + dy * o.spacing)
    };
    let (a2, b2) = (out(sa, a), out(sb, b));
    let corner = if sa.is_horizontal() { Pt::new(a2.x, b2.y) } else { Pt::new(b2.x, a2.y) };
    merged(&[a, a2, corner, b2, b])
}
