//! The drawing of last resort: it is never pretty and always legal. In: any graph. Out: all symbols
//! in one column, each pipe upright on a lane to the right.
//!
//! What few pipes join stands far apart, so most pipes are short; short ones take the inner lanes,
//! and share them where they do not meet.

use std::collections::BTreeMap;

use super::halve::{Lump, halve};
use super::{Drawing, Graph, Options, Placed, Pt, Side};

/// One column of symbols. Every port has a level of its own, so no two pipes can meet but at a
/// right angle.
pub fn column(graph: &Graph, o: &Options) -> Drawing {
    let step = o.pitch.max(o.clearance).max(1);
    let mut drawing = Drawing {
        placed: vec![Placed::default(); graph.symbols.len()],
        routes: vec![Vec::new(); graph.pipes.len()],
    };
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
    let mut lead: Vec<Vec<Vec<Pt>>> = vec![Vec::new(); graph.symbols.len()];
    let mut y = 0;
    for k in order(graph) {
        let symbol = &graph.symbols[k];
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
        drawing.placed[k].y = top;
        lead[k] = ways;
        let below = south.len() + west.len() - half;
        y = bottom + (below as i64 + 1) * step + o.spacing;
    }
    let first = widest + o.spacing.max(step);
    let level = |end: super::End| lead[end.symbol][end.port].last().copied().unwrap_or_default().y;
    let spans: Vec<(i64, i64)> = graph
        .pipes
        .iter()
        .map(|p| (level(p.from).min(level(p.to)), level(p.from).max(level(p.to))))
        .collect();
    let real: Vec<usize> =
        (0..graph.pipes.len()).filter(|&i| graph.pipes[i].from != graph.pipes[i].to).collect();
    let lanes = lanes(&spans, real, step);
    for (i, pipe) in graph.pipes.iter().enumerate() {
        if pipe.from == pipe.to {
            let at = graph.port(pipe.from, &drawing.placed[pipe.from.symbol]).1;
            drawing.routes[i] = vec![at, at];
            continue;
        }
        let mut route = lead[pipe.from.symbol][pipe.from.port].clone();
        let back = &lead[pipe.to.symbol][pipe.to.port];
        if let (Some(&a), Some(&b)) = (route.last(), back.last()) {
            let x = first + step * lanes[i] as i64;
            route.push(Pt::new(x, a.y));
            route.push(Pt::new(x, b.y));
        }
        route.extend(back.iter().rev());
        drawing.routes[i] = super::measure::merged(&route);
    }
    drawing
}

/// A lane for each of these pipes, so that those on one lane stay a step apart: the shortest first,
/// each on the innermost that is free.
fn lanes(spans: &[(i64, i64)], mut pipes: Vec<usize>, step: i64) -> Vec<usize> {
    pipes.sort_by_key(|&i| (spans[i].1 - spans[i].0, i));
    let mut out = vec![0; spans.len()];
    // Per lane the spans on it, by their upper end.
    let mut taken: Vec<BTreeMap<i64, i64>> = Vec::new();
    for i in pipes {
        let (lo, hi) = spans[i];
        let free = |lane: &BTreeMap<i64, i64>| {
            let before = lane.range(..hi + step).next_back();
            before.is_none_or(|(_, end)| end + step <= lo)
        };
        let lane = taken.iter().position(free).unwrap_or(taken.len());
        if lane == taken.len() {
            taken.push(BTreeMap::new());
        }
        taken[lane].insert(lo, hi);
        out[i] = lane;
    }
    out
}

/// The symbols from top to bottom: halves that few pipes join one below the other, and so on, the
/// half above that has more to do with what stands above already.
fn order(graph: &Graph) -> Vec<usize> {
    let n = graph.symbols.len();
    let mut at: Vec<Vec<usize>> = vec![Vec::new(); n];
    for p in graph.pipes.iter().filter(|p| p.from.symbol != p.to.symbol) {
        at[p.from.symbol].push(p.to.symbol);
        at[p.to.symbol].push(p.from.symbol);
    }
    let mut placed = vec![false; n];
    let mut out = Vec::new();
    let mut open = vec![(0..n).collect::<Vec<usize>>()];
    // Where each symbol is among those at hand.
    let mut local = vec![usize::MAX; n];
    while let Some(members) = open.pop() {
        for (k, &s) in members.iter().enumerate() {
            local[s] = k;
        }
        let mut lumps = vec![Lump { weight: 1, ..Lump::default() }; members.len()];
        for (k, &s) in members.iter().enumerate() {
            for &t in at[s].iter().filter(|t| local[**t] != usize::MAX) {
                *lumps[k].near.entry(local[t]).or_default() += 1;
            }
        }
        let halves = if members.len() > 2 { halve(&lumps) } else { None };
        let outside: Vec<i64> = members
            .iter()
            .map(|&s| {
                let far = at[s].iter().filter(|t| local[**t] == usize::MAX);
                far.map(|&t| if placed[t] { 1 } else { -1 }).sum()
            })
            .collect();
        for &s in &members {
            local[s] = usize::MAX;
        }
        // Upwards for what stands above, downwards for what is still to come.
        let pull = |of: &[usize]| -> i64 { of.iter().map(|&k| outside[k]).sum() };
        let all: Vec<usize> = (0..members.len()).collect();
        let Some(halves) = halves else {
            let mut rest = all;
            rest.sort_by_key(|&k| (-outside[k], k));
            for k in rest {
                placed[members[k]] = true;
                out.push(members[k]);
            }
            continue;
        };
        let (second, first): (Vec<usize>, Vec<usize>) = all.into_iter().partition(|&k| halves[k]);
        let first_above = pull(&first) * second.len() as i64 >= pull(&second) * first.len() as i64;
        let (above, below) = if first_above { (first, second) } else { (second, first) };
        for half in [below, above] {
            open.push(half.into_iter().map(|k| members[k]).collect());
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What lies one above the other shares a lane; what overlaps does not.
    #[test]
    fn lanes_are_shared() {
        let spans = [(0, 10), (20, 30), (5, 25), (12, 18)];
        assert_eq!(lanes(&spans, vec![0, 1, 2, 3], 2), [0, 0, 1, 0]);
        assert_eq!(lanes(&spans, vec![0, 1, 2, 3], 3), [1, 1, 2, 0]);
    }
}
