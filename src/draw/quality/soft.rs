//! The soft figures of a sheet. In: its marks. Out: counts and lengths that should be low.

use super::marks::Marks;
use super::{HAIR, Soft, drawing_space, pairs, segments};
use crate::draw::scene::Sheet;
use crate::model::{P2, Rect};

pub fn soft(sheet: &Sheet, marks: &Marks) -> Soft {
    let mut soft = Soft {
        symbols: marks.parts.len(),
        pipes: marks.pipes.len(),
        crossings: crossings(marks),
        ..Soft::default()
    };
    let (mut customary, mut total) = (0.0, 0.0);
    for pipe in &marks.pipes {
        let straight = straightened(&pipe.points);
        soft.bends += straight.len().saturating_sub(2);
        for (a, b) in segments(&straight) {
            let l = (a.x - b.x).abs() + (a.y - b.y).abs();
            total += l;
            if b.x > a.x || b.y > a.y {
                customary += l;
            }
        }
        if let (Some(a), Some(b)) = (straight.first(), straight.last()) {
            soft.least_length += (a.x - b.x).abs() + (a.y - b.y).abs();
        }
    }
    let rounded = |v: f64| (v * 1000.0).round() / 1000.0;
    soft.length = rounded(total);
    soft.least_length = rounded(soft.least_length);
    soft.customary_direction = if total > 0.0 { rounded(customary / total) } else { 1.0 };
    soft.label_distance = rounded(label_distance(marks));
    soft.used_share = rounded(used_share(sheet, marks));
    soft
}

/// Without repeats and points in the middle of a straight.
fn straightened(points: &[P2]) -> Vec<P2> {
    let mut out: Vec<P2> = Vec::new();
    for p in points {
        if out.last().is_some_and(|q| (q.x - p.x).abs() + (q.y - p.y).abs() < 1e-9) {
            continue;
        }
        if let [.., a, b] = out[..]
            && (((a.x - b.x).abs() < 1e-9 && (b.x - p.x).abs() < 1e-9)
                || ((a.y - b.y).abs() < 1e-9 && (b.y - p.y).abs() < 1e-9))
        {
            out.pop();
        }
        out.push(*p);
    }
    out
}

/// Points where two pipes cross at a right angle away from their ends.
fn crossings(marks: &Marks) -> usize {
    pairs(&marks.pipes, |p, q| {
        p.id != q.id
            && segments(&p.points).any(|(a, b)| segments(&q.points).any(|(c, d)| cross(a, b, c, d)))
    })
}

pub fn cross(a: P2, b: P2, c: P2, d: P2) -> bool {
    let one = |a: P2, b: P2, c: P2, d: P2| {
        (a.y - b.y).abs() < HAIR
            && (c.x - d.x).abs() < HAIR
            && c.x > a.x.min(b.x) + HAIR
            && c.x < a.x.max(b.x) - HAIR
            && a.y > c.y.min(d.y) + HAIR
            && a.y < c.y.max(d.y) - HAIR
    };
    one(a, b, c, d) || one(c, d, a, b)
}

fn label_distance(marks: &Marks) -> f64 {
    let distances: Vec<f64> = marks
        .labels
        .iter()
        .filter_map(|l| {
            let parts = marks.parts.iter().filter(|p| p.tag == l.of).map(|p| p.on_paper);
            let pipes = marks
                .pipes
                .iter()
                .filter(|p| p.id == l.of)
                .flat_map(|p| segments(&p.points).map(|(a, b)| Rect::between(a, b)));
            parts.chain(pipes).map(|r| r.gap(&l.on_paper)).min_by(f64::total_cmp)
        })
        .collect();
    if distances.is_empty() { 0.0 } else { distances.iter().sum::<f64>() / distances.len() as f64 }
}

fn used_share(sheet: &Sheet, marks: &Marks) -> f64 {
    let boxes = marks
        .parts
        .iter()
        .map(|p| p.on_paper)
        .chain(marks.labels.iter().map(|l| l.on_paper))
        .chain(
            marks.pipes.iter().flat_map(|p| segments(&p.points).map(|(a, b)| Rect::between(a, b))),
        );
    let bounds = Rect::holding(boxes);
    let space = drawing_space(sheet.paper);
    bounds.map_or(0.0, |b| (b.w * b.h / (space.w * space.h)).min(1.0))
}
