//! The caller's wishes. In: a graph with hints and a drawing. Out: how many of them the drawing
//! leaves unmet, and the drawing turned over where that meets more of them.

use super::{Drawing, Graph, Placed, Pose, Pt, Side, draw::reach};

/// Cost of one unmet wish: a little more than a bend.
pub const PRICE: i64 = 150;

/// True where anything is wished for.
pub fn any(graph: &Graph) -> bool {
    graph.symbols.iter().any(|s| {
        let h = &s.hint;
        h.side.is_some() || !h.left_of.is_empty() || !h.above.is_empty() || !h.level_with.is_empty()
    })
}

/// Wishes that the drawing leaves unmet.
pub fn unmet(graph: &Graph, d: &Drawing) -> usize {
    let all: Vec<usize> = (0..graph.symbols.len()).collect();
    let (lo, hi) = reach(graph, &all, d);
    // Twice the middle, so that halves stay whole.
    let middle = |k: usize| {
        let a = graph.area(k, &d.placed[k]);
        Pt::new(2 * a.x + a.w, 2 * a.y + a.h)
    };
    let mut n = 0;
    for (k, symbol) in graph.symbols.iter().enumerate() {
        let (hint, own) = (&symbol.hint, middle(k));
        n += hint.left_of.iter().filter(|o| own.x >= middle(**o).x).count();
        n += hint.above.iter().filter(|o| own.y >= middle(**o).y).count();
        n += hint.level_with.iter().filter(|o| own.y != middle(**o).y).count();
        let there = match hint.side {
            None => true,
            Some(Side::N) => own.y < lo.y + hi.y,
            Some(Side::S) => own.y > lo.y + hi.y,
            Some(Side::W) => own.x < lo.x + hi.x,
            Some(Side::E) => own.x > lo.x + hi.x,
        };
        n += usize::from(!there);
    }
    n
}

/// The drawing itself, or seen from behind or from below, whichever meets the most wishes.
pub fn turned_over(graph: &Graph, d: Drawing) -> Drawing {
    let mut best = (unmet(graph, &d), d);
    for axis in 0..2 {
        if let Some(other) = mirrored(graph, &best.1, axis) {
            let left = unmet(graph, &other);
            if left < best.0 {
                best = (left, other);
            }
        }
    }
    best.1
}

/// All exchanged left and right (axis 0) or top and bottom (axis 1), where every symbol allows a
/// posture with its ports there.
fn mirrored(graph: &Graph, d: &Drawing, axis: usize) -> Option<Drawing> {
    let flip = |p: Pt| if axis == 0 { Pt::new(-p.x, p.y) } else { Pt::new(p.x, -p.y) };
    let mut used: Vec<Vec<usize>> = vec![Vec::new(); graph.symbols.len()];
    for pipe in &graph.pipes {
        for end in [pipe.from, pipe.to] {
            used[end.symbol].push(end.port);
        }
    }
    let mut placed = Vec::with_capacity(d.placed.len());
    for (k, at) in d.placed.iter().enumerate() {
        let symbol = &graph.symbols[k];
        let area = graph.area(k, at);
        let corner = flip(Pt::new(area.x, area.y));
        let (x, y) =
            if axis == 0 { (corner.x - area.w, corner.y) } else { (corner.x, corner.y - area.h) };
        let port = |at: &Placed, port| graph.port(super::End { symbol: k, port }, at);
        let fits = |pose: &Pose| {
            let there = Placed { x, y, pose: *pose };
            pose.size(symbol.w, symbol.h) == (area.w, area.h)
                && used[k].iter().all(|p| {
                    let ((side, old), (turned, new)) = (port(at, *p), port(&there, *p));
                    let across = side.is_horizontal() == (axis == 0);
                    let wanted = if across { Side::from_quarter(side.quarter() + 2) } else { side };
                    turned == wanted && new == flip(old)
                })
        };
        let pose = Pose::allowed(symbol.transforms).into_iter().find(fits)?;
        placed.push(Placed { x, y, pose });
    }
    let routes: Vec<Vec<Pt>> =
        d.routes.iter().map(|r| r.iter().map(|p| flip(*p)).collect()).collect();
    Some(Drawing { placed, routes })
}
