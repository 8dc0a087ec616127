//! Even spacing within channels. In: legal routes. Out: the same routes with the free pieces moved
//! to the middle of their room, or to the edge of it where that shortens the pipe.

use crate::layout::graph::measure::{merged, nets};
use crate::layout::graph::{Area, Graph, Placed, Pt};

/// A straight piece: pipe, index of its first corner, position across, extent along.
#[derive(Clone, Copy)]
struct Piece {
    pipe: usize,
    leg: usize,
    at: i64,
    lo: i64,
    hi: i64,
    /// Which way is shorter: -1 smaller, 1 greater, 0 no difference.
    pull: i64,
    fixed: bool,
}

/// Spreads the pieces of pipes in both directions; ends stay on their ports.
pub fn nudge(graph: &Graph, placed: &[Placed], routes: &mut [Vec<Pt>], pitch: i64, clearance: i64) {
    let areas: Vec<Area> = placed.iter().enumerate().map(|(i, at)| graph.area(i, at)).collect();
    let nets = nets(graph);
    let mut size = vec![0usize; graph.pipes.len()];
    for &n in &nets {
        size[n] += 1;
    }
    for route in routes.iter_mut() {
        if route.len() > 2 {
            *route = merged(route);
        }
    }
    for _ in 0..3 {
        for upright in [true, false] {
            let mut pieces = pieces(routes, upright, |p| size[nets[p]] > 1);
            settle(&mut pieces, &areas, upright, pitch, clearance);
            for piece in &pieces {
                for corner in [piece.leg, piece.leg + 1] {
                    let pt = &mut routes[piece.pipe][corner];
                    if upright {
                        pt.x = piece.at;
                    } else {
                        pt.y = piece.at;
                    }
                }
            }
        }
    }
    for route in routes.iter_mut() {
        if route.len() > 2 {
            *route = merged(route);
        }
    }
}

fn pieces(routes: &[Vec<Pt>], upright: bool, shared: impl Fn(usize) -> bool) -> Vec<Piece> {
    let mut out = Vec::new();
    // (across, along) of a point.
    let turn = |p: Pt| if upright { (p.x, p.y) } else { (p.y, p.x) };
    for (pipe, route) in routes.iter().enumerate() {
        for leg in 0..route.len().saturating_sub(1) {
            let (a, b) = (turn(route[leg]), turn(route[leg + 1]));
            if a.0 != b.0 || a.1 == b.1 {
                continue;
            }
            let fixed = leg == 0 || leg + 2 == route.len() || shared(pipe);
            let pull = if fixed {
                0
            } else {
                let before = (turn(route[leg - 1]).0 - a.0).signum();
                let after = (turn(route[leg + 2]).0 - a.0).signum();
                (before + after).signum()
            };
            out.push(Piece { pipe, leg, at: a.0, lo: a.1.min(b.1), hi: a.1.max(b.1), pull, fixed });
        }
    }
    out
}

fn settle(pieces: &mut [Piece], areas: &[Area], upright: bool, pitch: i64, clearance: i64) {
    pieces.sort_by_key(|p| (p.at, p.pipe, p.leg));
    // Room for each piece, given the others where they are; a few rounds spread them evenly.
    for round in 0..12 {
        let backwards = round % 2 == 1;
        for n in 0..pieces.len() {
            let k = if backwards { pieces.len() - 1 - n } else { n };
            let me = pieces[k];
            if me.fixed {
                continue;
            }
            let (lo, hi) = room(k, pieces, areas, upright, pitch, clearance);
            let (Some(lo), Some(hi)) = (lo, hi) else {
                // Open on one side: stay, or close up where that shortens.
                match (lo, hi, me.pull) {
                    (Some(lo), None, -1) => pieces[k].at = lo.min(me.at),
                    (None, Some(hi), 1) => pieces[k].at = hi.max(me.at),
                    _ => {}
                }
                continue;
            };
            if lo > hi {
                continue;
            }
            pieces[k].at = match me.pull {
                -1 => lo.min(me.at),
                1 => hi.max(me.at),
                _ => (lo + hi).div_euclid(2),
            };
        }
    }
}

/// How far a piece may move either way: bounded by symbols, other pieces, and its own corners.
fn room(
    k: usize,
    pieces: &[Piece],
    areas: &[Area],
    upright: bool,
    pitch: i64,
    clearance: i64,
) -> (Option<i64>, Option<i64>) {
    let me = pieces[k];
    let (mut lo, mut hi): (Option<i64>, Option<i64>) = (None, None);
    let mut low = |v: i64| lo = Some(lo.map_or(v, |l| l.max(v)));
    let mut high = |v: i64| hi = Some(hi.map_or(v, |h| h.min(v)));
    for a in areas {
        let (near, far, start, end) = if upright {
            (a.x, a.right(), a.y, a.bottom())
        } else {
            (a.y, a.bottom(), a.x, a.right())
        };
        if end + clearance <= me.lo || start - clearance >= me.hi {
            continue;
        }
        if far <= me.at {
            low((far + clearance).min(me.at));
        } else if near >= me.at {
            high((near - clearance).max(me.at));
        } else {
            low(me.at);
            high(me.at);
        }
    }
    for (n, other) in pieces.iter().enumerate() {
        // Pieces that lie end to end on one line may not pass each other's ends either.
        if n == k || other.lo >= me.hi + pitch || other.hi <= me.lo - pitch {
            continue;
        }
        let mine = other.pipe == me.pipe;
        let gap = if mine && other.leg.abs_diff(me.leg) <= 2 { 0 } else { pitch };
        if other.at < me.at || other.at == me.at && n < k {
            low((other.at + gap).min(me.at));
        } else {
            high((other.at - gap).max(me.at));
        }
    }
    (lo, hi)
}
