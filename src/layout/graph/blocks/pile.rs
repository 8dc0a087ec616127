//! Blocks one above the other. In: each kind of block as laid out. Out: the whole drawing, with the
//! risers upright beside the blocks.

use super::*;

/// Sets the blocks one above the other and the risers beside them.
pub(super) fn stack(
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
pub(super) fn rise(
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

pub(super) fn reversed(mut route: Vec<Pt>) -> Vec<Pt> {
    route.reverse();
    route
}

/// A short way from port to port: straight, or round one corner, or round the symbol.
pub(super) fn joined((sa, a): (Side, Pt), (sb, b): (Side, Pt), o: &Options) -> Vec<Pt> {
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
