//! The outline round what comes from the factory in one piece. In: symbols and pipes. Out: for
//! each unit the edges of one contour that holds its parts, and nothing foreign where that can be.

use super::canvas::Canvas;
use super::net::Net;
use super::plan::UnitFrame;
use crate::model::{P2, PartIx, Rect, UnitIx};

/// White between a symbol and the contour, mm; half of it beside a stranger.
pub const ROUND: f64 = 2.5;

pub fn outlines(net: &Net, canvas: &Canvas, pipes: &[Vec<P2>]) -> Vec<UnitFrame> {
    (0..net.system.units.len())
        .map(UnitIx)
        .filter_map(|unit| {
            let pieces = pieces(boxes(net, canvas, pipes, unit));
            let largest = pieces.iter().map(|p| around(p)).max_by(|a, b| {
                let area = |r: &Rect| r.w * r.h;
                area(a).total_cmp(&area(b)).then(b.x.total_cmp(&a.x))
            })?;
            let alone = pieces.len() == 1;
            Some(pieces.into_iter().map(move |boxes| {
                let (at, edges) = (around(&boxes), contour(&boxes));
                UnitFrame { unit, at, edges, alone, largest: at == largest }
            }))
        })
        .flatten()
        .collect()
}

/// Boxes that hang together, by contour.
fn pieces(boxes: Vec<Rect>) -> Vec<Vec<Rect>> {
    let mut pieces: Vec<Vec<Rect>> = Vec::new();
    for one in boxes {
        let meets = |p: &Vec<Rect>| p.iter().any(|r| r.overlaps(&one));
        let (mut mine, rest): (Vec<_>, Vec<_>) = pieces.into_iter().partition(meets);
        let mut piece: Vec<Rect> = mine.drain(..).flatten().collect();
        piece.push(one);
        pieces = rest;
        pieces.push(piece);
    }
    pieces
}

fn around(boxes: &[Rect]) -> Rect {
    boxes.iter().copied().reduce(|a, b| both(&a, &b)).unwrap_or_default()
}

fn both(a: &Rect, b: &Rect) -> Rect {
    let (x, y) = (a.x.min(b.x), a.y.min(b.y));
    Rect::new(x, y, a.right().max(b.right()) - x, a.bottom().max(b.bottom()) - y)
}

/// Boxes that together make the contour: symbols, pipes between them, and the larger boxes that
/// hold several of these and nothing foreign.
fn boxes(net: &Net, canvas: &Canvas, pipes: &[Vec<P2>], unit: UnitIx) -> Vec<Rect> {
    // Controls without pipes stand elsewhere on the sheet; their place says nothing.
    let is_own = |p: PartIx| {
        let part = net.system.part(p);
        part.unit == Some(unit) && (part.on.is_some() || !net.joined(p).is_empty())
    };
    let foreign: Vec<Rect> =
        canvas.spots.iter().filter(|(p, _)| !is_own(**p)).map(|(_, s)| s.at.grown(0.5)).collect();
    let clear = |r: &Rect| !foreign.iter().any(|f| f.overlaps(r));
    let round = |at: Rect| {
        let wide = at.grown(ROUND);
        if clear(&wide.grown(ROUND / 4.0)) { wide } else { at.grown(ROUND / 2.0) }
    };
    let mut all: Vec<Rect> =
        canvas.spots.iter().filter(|(p, _)| is_own(**p)).map(|(_, s)| round(s.at)).collect();
    for (pipe, points) in net.system.pipes.iter().zip(pipes) {
        if !is_own(pipe.from.part) || !is_own(pipe.to.part) {
            continue;
        }
        for leg in points.windows(2) {
            let (a, b) = (leg[0], leg[1]);
            let (x, y) = (a.x.min(b.x), a.y.min(b.y));
            let strip = Rect::new(x, y, (a.x - b.x).abs(), (a.y - b.y).abs()).grown(ROUND);
            if clear(&strip) {
                all.push(strip);
            }
        }
    }
    let joints: Vec<P2> = canvas
        .spots
        .iter()
        .filter(|(p, _)| is_own(**p) && net.is_joint(**p))
        .map(|(_, s)| s.at.centre())
        .collect();
    let symbols: Vec<P2> = canvas
        .spots
        .iter()
        .filter(|(p, _)| is_own(**p) && !net.is_joint(**p))
        .map(|(_, s)| s.at.centre())
        .collect();
    // Boxes near each other become one where nothing foreign lies in it.
    let mut i = 0;
    while i < all.len() {
        let mut j = i + 1;
        let mut grew = false;
        while j < all.len() {
            let near = all[i].grown(15.0).overlaps(&all[j]);
            let joined = both(&all[i], &all[j]);
            if near && clear(&joined) {
                all[i] = joined;
                all.remove(j);
                grew = true;
            } else {
                j += 1;
            }
        }
        if grew {
            i = 0;
        } else {
            i += 1;
        }
    }
    // The last joint of a unit may stand outside rather than on a tongue of the outline.
    let within = |r: &Rect, of: &[P2]| {
        of.iter().any(|p| r.x < p.x && p.x < r.right() && r.y < p.y && p.y < r.bottom())
    };
    if all.iter().any(|r| within(r, &symbols)) {
        let mut i = 0;
        while i < all.len() {
            let tongue = !within(&all[i], &symbols) && within(&all[i], &joints);
            let mut rest = all.clone();
            let one = rest.remove(i);
            // What holds two pieces together is no tongue.
            let others = pieces(rest.clone());
            let held = others.iter().filter(|p| p.iter().any(|r| r.overlaps(&one))).count();
            if tongue && held < 2 {
                all = rest;
                i = 0;
            } else {
                i += 1;
            }
        }
    }
    all
}

/// The edges of the union of boxes.
fn contour(boxes: &[Rect]) -> Vec<[P2; 2]> {
    let mut xs: Vec<f64> = boxes.iter().flat_map(|b| [b.x, b.right()]).collect();
    let mut ys: Vec<f64> = boxes.iter().flat_map(|b| [b.y, b.bottom()]).collect();
    for v in [&mut xs, &mut ys] {
        v.sort_by(f64::total_cmp);
        v.dedup();
    }
    let covered = |i: usize, j: usize| {
        let p = P2::new((xs[i] + xs[i + 1]) / 2.0, (ys[j] + ys[j + 1]) / 2.0);
        boxes.iter().any(|b| b.x < p.x && p.x < b.right() && b.y < p.y && p.y < b.bottom())
    };
    let (nx, ny) = (xs.len().saturating_sub(1), ys.len().saturating_sub(1));
    let filled: Vec<Vec<bool>> =
        (0..nx).map(|i| (0..ny).map(|j| covered(i, j)).collect()).collect();
    let at = |i: usize, j: usize| i < nx && j < ny && filled[i][j];
    let mut edges: Vec<[P2; 2]> = Vec::new();
    let mut push = |a: P2, b: P2| match edges.last_mut() {
        Some(last) if last[1] == a && (last[0].x == b.x || last[0].y == b.y) => last[1] = b,
        _ => edges.push([a, b]),
    };
    for (j, y) in ys.iter().enumerate() {
        for i in 0..nx {
            let above = j > 0 && at(i, j - 1);
            if above != at(i, j) {
                push(P2::new(xs[i], *y), P2::new(xs[i + 1], *y));
            }
        }
    }
    for (i, x) in xs.iter().enumerate() {
        for j in 0..ny {
            let before = i > 0 && at(i - 1, j);
            if before != at(i, j) {
                push(P2::new(*x, ys[j]), P2::new(*x, ys[j + 1]));
            }
        }
    }
    edges
}
