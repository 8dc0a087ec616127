//! Fewer bends where a pipe has room for it. In: routed pipes. Out: the same pipes, each as plain
//! as the others allow: straight, one bend, or two.

use super::canvas::Canvas;
use super::net::Net;
use super::pose::Edge;
use crate::model::{P2, Rect};

/// Least distance from a symbol and from a parallel pipe, mm.
const FROM_SYMBOL: f64 = 2.0;
const FROM_PIPE: f64 = 2.4;

fn leg_box(a: P2, b: P2) -> Rect {
    let (x, y) = (a.x.min(b.x), a.y.min(b.y));
    Rect::new(x, y, (a.x - b.x).abs(), (a.y - b.y).abs())
}

fn legs(points: &[P2]) -> impl Iterator<Item = (P2, P2)> + '_ {
    points.windows(2).map(|w| (w[0], w[1]))
}

fn towards(a: P2, b: P2) -> Option<Edge> {
    match (b.x - a.x, b.y - a.y) {
        (x, 0.0) if x > 0.0 => Some(Edge::E),
        (x, 0.0) if x < 0.0 => Some(Edge::W),
        (0.0, y) if y > 0.0 => Some(Edge::S),
        (0.0, y) if y < 0.0 => Some(Edge::N),
        _ => None,
    }
}

pub fn straighten(net: &Net, canvas: &Canvas, pipes: &mut [Vec<P2>]) {
    for _ in 0..2 {
        for i in 0..pipes.len() {
            if pipes[i].len() < 4 {
                continue;
            }
            let pipe = &net.system.pipes[i];
            let end = |p: crate::model::PortRef| canvas.spots.get(&p.part)?.port(p.port);
            let (Some((p, e)), Some((q, f))) = (end(pipe.from), end(pipe.to)) else { continue };
            let own = [pipe.from.part, pipe.to.part];
            let boxes: Vec<Rect> = canvas
                .spots
                .iter()
                .map(|(part, s)| s.at.grown(if own.contains(part) { -0.05 } else { FROM_SYMBOL }))
                .collect();
            let had = crossings(pipes, i, &pipes[i]);
            let old = pipes[i].len();
            let better = candidates(p, e, q, f)
                .into_iter()
                .filter(|c| c.len() < old)
                .filter(|c| leaves(c, e, f))
                .find(|c| {
                    legs(c)
                        .all(|(a, b)| !boxes.iter().any(|r| r.overlaps(&leg_box(a, b).grown(1e-3))))
                        && apart(pipes, i, c)
                        && crossings(pipes, i, c) <= had
                });
            if let Some(better) = better {
                pipes[i] = better;
            }
        }
    }
}

/// The plain ways between two ports, the plainest first.
fn candidates(p: P2, e: Edge, q: P2, f: Edge) -> Vec<Vec<P2>> {
    let mut out = Vec::new();
    if p.x == q.x || p.y == q.y {
        out.push(vec![p, q]);
    }
    match (e.horizontal(), f.horizontal()) {
        (true, false) => out.push(vec![p, P2::new(q.x, p.y), q]),
        (false, true) => out.push(vec![p, P2::new(p.x, q.y), q]),
        (true, true) => {
            for k in 1..16 {
                let x = p.x + (q.x - p.x) * f64::from(k) / 16.0;
                let x = (x / 1.25).round() * 1.25;
                out.push(vec![p, P2::new(x, p.y), P2::new(x, q.y), q]);
            }
        }
        (false, false) => {
            for k in 1..16 {
                let y = p.y + (q.y - p.y) * f64::from(k) / 16.0;
                let y = (y / 1.25).round() * 1.25;
                out.push(vec![p, P2::new(p.x, y), P2::new(q.x, y), q]);
            }
        }
    }
    out
}

fn leaves(c: &[P2], e: Edge, f: Edge) -> bool {
    let n = c.len();
    towards(c[0], c[1]) == Some(e)
        && towards(c[n - 1], c[n - 2]) == Some(f)
        && legs(c).all(|(a, b)| towards(a, b).is_some())
}

/// No leg runs along another pipe, and no corner lies on one.
fn apart(pipes: &[Vec<P2>], own: usize, c: &[P2]) -> bool {
    for (j, other) in pipes.iter().enumerate() {
        if j == own {
            continue;
        }
        for (a, b) in legs(c) {
            for (o, r) in legs(other) {
                let (flat, other_flat) = (a.y == b.y, o.y == r.y);
                if flat != other_flat {
                    continue;
                }
                let (near, over) = if flat {
                    let lo = a.x.min(b.x).max(o.x.min(r.x));
                    let hi = a.x.max(b.x).min(o.x.max(r.x));
                    ((a.y - o.y).abs(), hi - lo)
                } else {
                    let lo = a.y.min(b.y).max(o.y.min(r.y));
                    let hi = a.y.max(b.y).min(o.y.max(r.y));
                    ((a.x - o.x).abs(), hi - lo)
                };
                if near < FROM_PIPE && over > 1e-6 {
                    return false;
                }
            }
        }
        let on = |p: P2, points: &[P2]| {
            legs(points).any(|(a, b)| leg_box(a, b).grown(1.0).overlaps(&Rect::at(p).grown(0.01)))
        };
        let inner = |points: &[P2]| points[1..points.len().max(2) - 1].to_vec();
        if inner(c).into_iter().any(|p| on(p, other)) || inner(other).into_iter().any(|p| on(p, c))
        {
            return false;
        }
    }
    true
}

fn crossings(pipes: &[Vec<P2>], own: usize, c: &[P2]) -> usize {
    let mut n = 0;
    for (j, other) in pipes.iter().enumerate() {
        if j == own {
            continue;
        }
        for (a, b) in legs(c) {
            for (o, r) in legs(other) {
                let (h, v) = if a.y == b.y { ((a, b), (o, r)) } else { ((o, r), (a, b)) };
                if h.0.y != h.1.y || v.0.x != v.1.x {
                    continue;
                }
                let (l, g) = (h.0.x.min(h.1.x), h.0.x.max(h.1.x));
                let (t, d) = (v.0.y.min(v.1.y), v.0.y.max(v.1.y));
                n += usize::from(l < v.0.x && v.0.x < g && t < h.0.y && h.0.y < d);
            }
        }
    }
    n
}
