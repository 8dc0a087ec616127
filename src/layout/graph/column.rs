//! The drawing of last resort: it is never pretty and always legal. In: any graph. Out: all symbols
//! in one column, each pipe on an upright line of its own to the right.

use super::{Drawing, Graph, Options, Placed, Pt, Side};

/// One column of symbols. Every port has a level of its own, so no two pipes can meet but at a
/// right angle.
pub fn column(graph: &Graph, o: &Options) -> Drawing {
    let step = o.pitch.max(o.clearance).max(1);
    let mut drawing = Drawing::default();
    let mut used: Vec<Vec<usize>> = vec![Vec::new(); graph.symbols.len()];
    for pipe in &graph.pipes {
        if pipe.from == pipe.to {
            continue;
        }
        for end in [pipe.from, pipe.to] {
            if !used[end.symbol].contains(&end.port) {
                used[end.symbol].push(end.port);
            }
        }
    }
    // Room at the left for pipes that come round from west ports.
    let widest = graph.symbols.iter().map(|s| s.w).max().unwrap_or(0);
    let mut lead: Vec<Vec<Vec<Pt>>> = Vec::new();
    let mut y = 0;
    for (k, symbol) in graph.symbols.iter().enumerate() {
        let of = |side: Side| -> Vec<usize> {
            let mut ports: Vec<usize> =
                used[k].iter().copied().filter(|&p| symbol.ports[p].side == side).collect();
            ports.sort_by_key(|&p| (symbol.ports[p].off, p));
            ports
        };
        let (north, south, west) = (of(Side::N), of(Side::S), of(Side::W));
        let half = west.len().div_ceil(2);
        // Levels above: the left half of the west ports outermost, then north ports.
        let above = north.len() + half;
        let top = y + (above as i64 + 1) * step;
        let bottom = top + symbol.h;
        let mut ways: Vec<Vec<Pt>> = vec![Vec::new(); symbol.ports.len()];
        for (n, &p) in north.iter().enumerate() {
            // The rightmost port takes the lowest level.
            let level = top - step * (north.len() - n) as i64;
            let x = symbol.ports[p].off;
            ways[p] = vec![Pt::new(x, top), Pt::new(x, level)];
        }
        for (n, &p) in south.iter().enumerate() {
            let level = bottom + step * (south.len() - n) as i64;
            let x = symbol.ports[p].off;
            ways[p] = vec![Pt::new(x, bottom), Pt::new(x, level)];
        }
        for (n, &p) in west.iter().enumerate().skip(half) {
            let at = top + symbol.ports[p].off;
            let back = (west.len() - n) as i64;
            let level = bottom + step * (south.len() as i64 + back);
            let x = -step * back;
            ways[p] = vec![Pt::new(0, at), Pt::new(x, at), Pt::new(x, level)];
        }
        // Upper west ports: the topmost runs innermost and lowest.
        for (n, &p) in west.iter().take(half).enumerate() {
            let at = top + symbol.ports[p].off;
            let x = -step * (n as i64 + 1);
            let level = top - step * (north.len() as i64 + n as i64 + 1);
            ways[p] = vec![Pt::new(0, at), Pt::new(x, at), Pt::new(x, level)];
        }
        for p in of(Side::E) {
            ways[p] = vec![Pt::new(symbol.w, top + symbol.ports[p].off)];
        }
        drawing.placed.push(Placed { x: 0, y: top, ..Placed::default() });
        lead.push(ways);
        let below = south.len() + west.len() - half;
        y = bottom + (below as i64 + 1) * step + o.spacing;
    }
    let mut x = widest + o.spacing.max(step);
    for pipe in &graph.pipes {
        let at = |e: super::End| graph.port(e, &drawing.placed[e.symbol]).1;
        if pipe.from == pipe.to {
            drawing.routes.push(vec![at(pipe.from), at(pipe.from)]);
            continue;
        }
        let mut route = lead[pipe.from.symbol][pipe.from.port].clone();
        let back = &lead[pipe.to.symbol][pipe.to.port];
        if let (Some(&a), Some(&b)) = (route.last(), back.last()) {
            route.push(Pt::new(x, a.y));
            route.push(Pt::new(x, b.y));
        }
        route.extend(back.iter().rev());
        drawing.routes.push(super::measure::merged(&route));
        x += step;
    }
    drawing
}
