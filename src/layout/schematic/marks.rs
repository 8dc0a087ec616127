//! Arrows and jumps. In: the corners of every pipe. Out: at least one arrow on every pipe, one on
//! every 100 mm, and a jump where two pipes cross, on the one of lower rank.

use super::plan::{Arrow, Jump};
use super::route::rank;
use crate::model::{P2, PipeIx, System};

/// Full length of an arrow, mm.
const ARROW: f64 = 3.75;
const EVERY: f64 = 100.0;

fn legs(points: &[P2]) -> impl Iterator<Item = (P2, P2)> + '_ {
    points.windows(2).map(|w| (w[0], w[1]))
}

fn length(a: P2, b: P2) -> f64 {
    (a.x - b.x).abs() + (a.y - b.y).abs()
}

fn along(a: P2, b: P2, share: f64) -> P2 {
    P2::new(a.x + (b.x - a.x) * share, a.y + (b.y - a.y) * share)
}

pub fn arrows(pipes: &[Vec<P2>], jumps: &[Jump], crossings: &[P2]) -> Vec<Arrow> {
    let mut out = Vec::new();
    for (i, points) in pipes.iter().enumerate() {
        let mut legs: Vec<(P2, P2)> = legs(points).collect();
        legs.sort_by(|a, b| length(b.0, b.1).total_cmp(&length(a.0, a.1)));
        let total: f64 = legs.iter().map(|(a, b)| length(*a, *b)).sum();
        let wanted = 1 + (total / EVERY) as usize;
        let mut done = 0;
        for (a, b) in &legs {
            let l = length(*a, *b);
            let here = (1 + (l / EVERY) as usize).min(wanted - done);
            for k in 0..here {
                let share = (k as f64 + 0.5) / here as f64;
                let size = ARROW.min(l * 0.75).max(1.5);
                let near = |p: P2| {
                    jumps
                        .iter()
                        .map(|j| j.at)
                        .chain(crossings.iter().copied())
                        .any(|q| length(p, q) < size / 2.0 + 2.0 && (p.x == q.x || p.y == q.y))
                };
                // Aside of the middle where a crossing is there.
                let at = [0.0, 0.12, -0.12, 0.25, -0.25]
                    .into_iter()
                    .map(|d| along(*a, *b, (share + d / here as f64).clamp(0.1, 0.9)))
                    .find(|p| !near(*p))
                    .unwrap_or(along(*a, *b, share));
                let direction = match (b.x - a.x, b.y - a.y) {
                    (x, _) if x > 0.0 => 0.0,
                    (x, _) if x < 0.0 => 180.0,
                    (_, y) if y > 0.0 => 90.0,
                    _ => 270.0,
                };
                out.push(Arrow { pipe: PipeIx(i), at, direction, length: size });
                done += 1;
            }
            if done >= wanted {
                break;
            }
        }
    }
    out
}

/// Every crossing of two pipes, with the jump there.
pub fn jumps(system: &System, pipes: &[Vec<P2>]) -> Vec<Jump> {
    let mut across: Vec<(usize, P2, P2)> = Vec::new();
    let mut down: Vec<(usize, P2, P2)> = Vec::new();
    for (i, points) in pipes.iter().enumerate() {
        for (a, b) in legs(points) {
            if a.y == b.y {
                across.push((i, P2::new(a.x.min(b.x), a.y), P2::new(a.x.max(b.x), a.y)));
            } else {
                down.push((i, P2::new(a.x, a.y.min(b.y)), P2::new(a.x, a.y.max(b.y))));
            }
        }
    }
    let mut out = Vec::new();
    for &(i, a, b) in &across {
        for &(j, c, d) in &down {
            let meets = a.x < c.x && c.x < b.x && c.y < a.y && a.y < d.y;
            if i == j || !meets {
                continue;
            }
            let of = |p: usize| rank(system.pipes[p].service);
            // The lower rank hops; of equals the horizontal one.
            let horizontal = of(i) >= of(j);
            let pipe = PipeIx(if horizontal { i } else { j });
            out.push(Jump { pipe, at: P2::new(c.x, a.y), horizontal });
        }
    }
    out
}
