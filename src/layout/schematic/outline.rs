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
        // What fills a notch shares an edge with the rest.
        let wide = one.grown(0.01);
        let meets = |p: &Vec<Rect>| p.iter().any(|r| r.overlaps(&wide));
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
    square_up(&mut all, &clear);
    all
}

/// With more boxes than this, an outline stays as it is.
const MOST_BOXES: usize = 24;

/// For a corner less, an outline may take in so much more of the sheet, mm².
const PER_CORNER: f64 = 2500.0;

/// Fills notches and steps of the contour that hold nothing foreign, as long as that saves
/// corners: a wandering outline is not read as one thing.
fn square_up(boxes: &mut Vec<Rect>, clear: &impl Fn(&Rect) -> bool) {
    while boxes.len() <= MOST_BOXES
        && let Some(fill) = best_fill(boxes, clear)
    {
        boxes.push(fill);
    }
}

/// The box that saves the most corners, of those the smallest.
fn best_fill(boxes: &[Rect], clear: &impl Fn(&Rect) -> bool) -> Option<Rect> {
    let cells = Cells::of(boxes);
    let (nx, ny) = cells.size();
    // Corners and covered area left of and above every point of the grid.
    let mut corners = vec![vec![0usize; ny + 2]; nx + 2];
    let mut open = vec![vec![0.0; ny + 1]; nx + 1];
    for i in 0..=nx {
        for j in 0..=ny {
            let turns = cells.turns(i, j, |i, j| cells.at(i, j));
            corners[i + 1][j + 1] = turns + corners[i][j + 1] + corners[i + 1][j] - corners[i][j];
        }
    }
    for i in 0..nx {
        for j in 0..ny {
            let own = if cells.at(i, j) { 0.0 } else { cells.area(i, j) };
            open[i + 1][j + 1] = own + open[i][j + 1] + open[i + 1][j] - open[i][j];
        }
    }
    let mut best: Option<(usize, f64, Rect)> = None;
    for i0 in 0..nx {
        for j0 in 0..ny {
            let mut low = ny;
            for i1 in i0 + 1..=nx {
                for j1 in j0 + 1..=low {
                    let rect = cells.rect((i0, j0), (i1, j1));
                    if !clear(&rect) {
                        low = j1 - 1;
                        break;
                    }
                    let added = open[i1][j1] - open[i0][j1] - open[i1][j0] + open[i0][j0];
                    if added <= 0.0 {
                        continue;
                    }
                    let had = corners[i1 + 1][j1 + 1] + corners[i0][j0]
                        - corners[i0][j1 + 1]
                        - corners[i1 + 1][j0];
                    let full = |i: usize, j: usize| {
                        cells.at(i, j) || ((i0..i1).contains(&i) && (j0..j1).contains(&j))
                    };
                    let sides = (i0..=i1).flat_map(|i| [(i, j0), (i, j1)]);
                    let ends = (j0 + 1..j1).flat_map(|j| [(i0, j), (i1, j)]);
                    let has: usize = sides.chain(ends).map(|(i, j)| cells.turns(i, j, full)).sum();
                    let Some(saved) = had.checked_sub(has).filter(|n| *n > 0) else { continue };
                    if added > PER_CORNER * saved as f64 {
                        continue;
                    }
                    let better = best.as_ref().is_none_or(|(n, area, _)| {
                        saved > *n || (saved == *n && added < *area - 1e-6)
                    });
                    if better {
                        best = Some((saved, added, rect));
                    }
                }
            }
        }
    }
    best.map(|(.., rect)| rect)
}

/// The plane cut along every edge of some boxes, and which of its cells they cover.
struct Cells {
    xs: Vec<f64>,
    ys: Vec<f64>,
    filled: Vec<Vec<bool>>,
}

impl Cells {
    fn of(boxes: &[Rect]) -> Cells {
        let mut xs: Vec<f64> = boxes.iter().flat_map(|b| [b.x, b.right()]).collect();
        let mut ys: Vec<f64> = boxes.iter().flat_map(|b| [b.y, b.bottom()]).collect();
        for v in [&mut xs, &mut ys] {
            v.sort_by(f64::total_cmp);
            v.dedup_by(|a, b| *a - *b < 1e-6);
        }
        let covered = |i: usize, j: usize| {
            let p = P2::new((xs[i] + xs[i + 1]) / 2.0, (ys[j] + ys[j + 1]) / 2.0);
            boxes.iter().any(|b| b.x < p.x && p.x < b.right() && b.y < p.y && p.y < b.bottom())
        };
        let (nx, ny) = (xs.len().saturating_sub(1), ys.len().saturating_sub(1));
        let filled = (0..nx).map(|i| (0..ny).map(|j| covered(i, j)).collect()).collect();
        Cells { xs, ys, filled }
    }

    fn size(&self) -> (usize, usize) {
        (self.xs.len().saturating_sub(1), self.ys.len().saturating_sub(1))
    }

    fn at(&self, i: usize, j: usize) -> bool {
        self.filled.get(i).and_then(|column| column.get(j)).copied().unwrap_or(false)
    }

    fn rect(&self, (i0, j0): (usize, usize), (i1, j1): (usize, usize)) -> Rect {
        let (x, y) = (self.xs[i0], self.ys[j0]);
        Rect::new(x, y, self.xs[i1] - x, self.ys[j1] - y)
    }

    fn area(&self, i: usize, j: usize) -> f64 {
        let r = self.rect((i, j), (i + 1, j + 1));
        r.w * r.h
    }

    /// Corners of the contour at a point of the grid.
    fn turns(&self, i: usize, j: usize, full: impl Fn(usize, usize) -> bool) -> usize {
        let at = |left: bool, above: bool| {
            let i = if left { i.checked_sub(1) } else { Some(i) };
            let j = if above { j.checked_sub(1) } else { Some(j) };
            i.zip(j).is_some_and(|(i, j)| full(i, j))
        };
        let (nw, ne, sw, se) = (at(true, true), at(false, true), at(true, false), at(false, false));
        match [nw, ne, sw, se].into_iter().filter(|f| *f).count() {
            1 | 3 => 1,
            2 if nw == se => 2,
            _ => 0,
        }
    }
}

/// The edges of the union of boxes.
fn contour(boxes: &[Rect]) -> Vec<[P2; 2]> {
    let cells = Cells::of(boxes);
    let (nx, ny) = cells.size();
    let (xs, ys) = (&cells.xs, &cells.ys);
    let at = |i: usize, j: usize| cells.at(i, j);
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
