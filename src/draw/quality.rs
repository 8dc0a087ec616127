//! How good a drawing is, in numbers. In: a sheet's marks, nothing else. Out: hard counts that
//! must be nought and soft figures that should be low. A test counts the same again from the SVG.

mod marks;
mod soft;

use std::collections::{BTreeMap, BTreeSet};

use serde::Serialize;

use super::frame::drawing_space;
use super::scene::Sheet;
use super::style::FACE;
use crate::model::{P2, Rect};
use marks::{LabelMark, Marks, PartMark, PipeMark, collect};
use soft::soft;

/// Smallest letters on any sheet, mm (ISO 3098 on A4 to A2, from memory).
const LEAST_LETTER: f64 = 2.5;
/// A scaled length may be off by this on paper, mm.
const SCALE_TOLERANCE: f64 = 0.1;
/// What touches by less than this does not overlap, mm.
const HAIR: f64 = 0.02;

/// Counts that must all be nought.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Hard {
    pub symbol_over_symbol: usize,
    pub pipe_through_symbol: usize,
    pub label_over_label: usize,
    pub label_over_symbol: usize,
    pub label_over_pipe: usize,
    pub pipes_on_one_line: usize,
    pub text_outside_frame: usize,
    pub text_too_small: usize,
    pub run_without_label_or_arrow: usize,
    pub solid_through_solid: usize,
    pub length_off_scale: usize,
}

impl Hard {
    pub fn total(&self) -> usize {
        self.symbol_over_symbol
            + self.pipe_through_symbol
            + self.label_over_label
            + self.label_over_symbol
            + self.label_over_pipe
            + self.pipes_on_one_line
            + self.text_outside_frame
            + self.text_too_small
            + self.run_without_label_or_arrow
            + self.solid_through_solid
            + self.length_off_scale
    }
}

/// Figures that are reported, lower is better but for `used_share`.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Soft {
    pub symbols: usize,
    pub pipes: usize,
    pub crossings: usize,
    pub bends: usize,
    /// Total length of the pipes on paper, and the sum of the shortest right-angled links, mm.
    pub length: f64,
    pub least_length: f64,
    /// Share of pipe length that runs to the right or down.
    pub customary_direction: f64,
    /// Mean distance of labels from what they speak of, mm.
    pub label_distance: f64,
    /// Share of the drawing space that the marked content's bounds fill.
    pub used_share: f64,
}

#[derive(Clone, Debug, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Quality {
    pub sheet: String,
    pub hard_total: usize,
    pub hard: Hard,
    pub soft: Soft,
}

/// Measures one sheet.
pub fn measure(sheet: &Sheet) -> Quality {
    let mut marks = Marks::default();
    collect(&sheet.items, sheet.scale.map(f64::from), &mut marks);
    let scaled = sheet.scale.is_some();
    let hard = Hard {
        symbol_over_symbol: if scaled { 0 } else { symbol_over_symbol(&marks) },
        pipe_through_symbol: if scaled { 0 } else { pipe_through_symbol(&marks) },
        label_over_label: pairs(&marks.labels, |a, b| a.on_paper.overlaps(&b.on_paper)),
        label_over_symbol: label_over_symbol(&marks, scaled),
        label_over_pipe: label_over_pipe(&marks),
        pipes_on_one_line: if scaled { 0 } else { pipes_on_one_line(&marks) },
        text_outside_frame: outside(sheet, &marks),
        text_too_small: marks.words.iter().filter(|(_, h)| *h < LEAST_LETTER - 1e-9).count(),
        run_without_label_or_arrow: unlabelled(&marks),
        solid_through_solid: solids(&marks),
        length_off_scale: off_scale(&marks),
    };
    Quality { sheet: sheet.key.clone(), hard_total: hard.total(), hard, soft: soft(sheet, &marks) }
}

fn pairs<T>(all: &[T], bad: impl Fn(&T, &T) -> bool) -> usize {
    (0..all.len()).map(|i| all[i + 1..].iter().filter(|b| bad(&all[i], b)).count()).sum()
}

fn symbol_over_symbol(marks: &Marks) -> usize {
    pairs(&marks.parts, |a, b| {
        a.tag != b.tag && a.on_paper.grown(-HAIR).overlaps(&b.on_paper.grown(-HAIR))
    })
}

fn part_of(end: &str) -> &str {
    end.rsplit_once('.').map_or(end, |(tag, _)| tag)
}

fn segments(points: &[P2]) -> impl Iterator<Item = (P2, P2)> {
    points.windows(2).map(|p| (p[0], p[1]))
}

/// True where the segment enters the inside of the box.
fn enters(a: P2, b: P2, r: &Rect) -> bool {
    let inner = r.grown(-HAIR);
    inner.w > 0.0 && inner.h > 0.0 && inner.is_passed(a, b)
}

fn pipe_through_symbol(marks: &Marks) -> usize {
    let mut count = 0;
    for pipe in &marks.pipes {
        for part in &marks.parts {
            if part.tag == part_of(&pipe.from) || part.tag == part_of(&pipe.to) {
                continue;
            }
            count += segments(&pipe.points).filter(|(a, b)| enters(*a, *b, &part.on_paper)).count();
        }
    }
    count
}

fn within(inner: &Rect, outer: &Rect) -> bool {
    inner.x >= outer.x - HAIR
        && inner.right() <= outer.right() + HAIR
        && inner.y >= outer.y - HAIR
        && inner.bottom() <= outer.bottom() + HAIR
}

/// A label may stand inside the outline of its own part, whatever lies behind that part.
fn on_its_own(label: &LabelMark, marks: &Marks) -> bool {
    marks.parts.iter().any(|p| p.tag == label.of && within(&label.on_paper, &p.on_paper))
}

/// On a scaled sheet a label may stand on the wide face of another body, clear of its edge.
fn label_over_symbol(marks: &Marks, scaled: bool) -> usize {
    let mut count = 0;
    for label in marks.labels.iter().filter(|l| !on_its_own(l, marks)) {
        let on_face = |p: &PartMark| {
            scaled && p.on_paper.w.min(p.on_paper.h) >= FACE && within(&label.on_paper, &p.on_paper)
        };
        count += marks
            .parts
            .iter()
            .filter(|p| p.tag != label.of && p.on_paper.grown(-HAIR).overlaps(&label.on_paper))
            .filter(|p| !on_face(p))
            .count();
    }
    count
}

fn label_over_pipe(marks: &Marks) -> usize {
    let mut count = 0;
    for label in marks.labels.iter().filter(|l| !on_its_own(l, marks)) {
        for pipe in marks.pipes.iter().filter(|p| p.id != label.of) {
            if segments(&pipe.points).any(|(a, b)| enters(a, b, &label.on_paper)) {
                count += 1;
            }
        }
    }
    count
}

fn pipes_on_one_line(marks: &Marks) -> usize {
    pairs(&marks.pipes, |p, q| {
        p.id != q.id
            && segments(&p.points)
                .any(|(a, b)| segments(&q.points).any(|(c, d)| collinear_overlap(a, b, c, d)))
    })
}

fn collinear_overlap(a: P2, b: P2, c: P2, d: P2) -> bool {
    let share = |a0: f64, a1: f64, b0: f64, b1: f64| {
        a0.max(a1).min(b0.max(b1)) - a0.min(a1).max(b0.min(b1)) > HAIR
    };
    let level = |p: P2, q: P2| (p.y - q.y).abs() < HAIR;
    let plumb = |p: P2, q: P2| (p.x - q.x).abs() < HAIR;
    (level(a, b) && level(c, d) && level(a, c) && share(a.x, b.x, c.x, d.x))
        || (plumb(a, b) && plumb(c, d) && plumb(a, c) && share(a.y, b.y, c.y, d.y))
}

fn outside(sheet: &Sheet, marks: &Marks) -> usize {
    // The grid reference stands in a strip of 5 mm outside the frame.
    let room = drawing_space(sheet.paper).grown(5.0 + HAIR);
    marks.words.iter().filter(|(r, _)| !within(r, &room)).count()
}

/// Runs: pipes that follow each other through fittings with two pipes, same size and service. On
/// scaled sheets only what has a straight of more than 300 mm is labelled.
fn unlabelled(marks: &Marks) -> usize {
    const LABELLED: f64 = 300.0;
    let mut at_part: BTreeMap<&str, BTreeSet<usize>> = BTreeMap::new();
    let mut first: BTreeMap<&str, usize> = BTreeMap::new();
    for (i, p) in marks.pipes.iter().enumerate() {
        // The same pipe in a second view counts once.
        let i = *first.entry(&p.id).or_insert(i);
        at_part.entry(part_of(&p.from)).or_default().insert(i);
        at_part.entry(part_of(&p.to)).or_default().insert(i);
    }
    let mut run: Vec<usize> = (0..marks.pipes.len()).collect();
    fn root(run: &[usize], mut i: usize) -> usize {
        while run[i] != i {
            i = run[i];
        }
        i
    }
    for (i, p) in marks.pipes.iter().enumerate() {
        let j = first[p.id.as_str()];
        let (a, b) = (root(&run, i), root(&run, j));
        run[a.max(b)] = a.min(b);
    }
    for pipes in at_part.values().filter(|p| p.len() == 2) {
        let both: Vec<usize> = pipes.iter().copied().collect();
        let (p, q) = (&marks.pipes[both[0]], &marks.pipes[both[1]]);
        if p.size == q.size && p.service == q.service {
            let (a, b) = (root(&run, both[0]), root(&run, both[1]));
            run[a.max(b)] = a.min(b);
        }
    }
    let labelled: BTreeSet<&str> = marks.labels.iter().map(|l| l.of.as_str()).collect();
    let mut good: BTreeMap<usize, (bool, bool, bool)> = BTreeMap::new();
    for (i, p) in marks.pipes.iter().enumerate() {
        // What runs towards the eye is a dot: only straights on paper count.
        let long = p.scale.is_none_or(|s| {
            segments(&p.points)
                .any(|(a, b)| ((a.x - b.x).abs() + (a.y - b.y).abs()) * s > LABELLED + 1.0)
        });
        let entry = good.entry(root(&run, i)).or_default();
        entry.0 |= labelled.contains(p.id.as_str());
        entry.1 |= marks.arrows.contains(&p.id);
        entry.2 |= long;
    }
    let bare = |p: &PipeMark| p.size.is_empty();
    good.values().filter(|(label, arrow, long)| *long && !(*label && *arrow)).count()
        + marks.pipes.iter().filter(|p| bare(p)).count()
}

fn solids(marks: &Marks) -> usize {
    let mut boxes: BTreeMap<&str, [f64; 6]> = BTreeMap::new();
    for p in &marks.parts {
        if let Some(real) = p.real {
            boxes.insert(&p.tag, real);
        }
    }
    let boxes: Vec<[f64; 6]> = boxes.into_values().collect();
    pairs(&boxes, |a, b| {
        (0..3).all(|k| a[k] < b[k] + b[k + 3] - 0.5 && b[k] < a[k] + a[k + 3] - 0.5)
    })
}

/// Lengths that no projection explains.
fn off_scale(marks: &Marks) -> usize {
    let off = |scale: f64, paper: f64, real: f64| (paper - real / scale).abs() > SCALE_TOLERANCE;
    let parts = marks.parts.iter().filter(|p| {
        p.real.zip(p.scale).is_some_and(|([_, _, _, w, d, h], scale)| {
            let off = |paper: f64, real: f64| off(scale, paper, real);
            let (pw, ph) = (p.on_paper.w, p.on_paper.h);
            [(w, h), (w, d), (d, h)].iter().all(|(a, b)| off(pw, *a) || off(ph, *b))
        })
    });
    let pipes = marks.pipes.iter().filter(|p| {
        let (Some(real), Some(scale)) = (&p.real, p.scale) else { return false };
        let off = |paper: f64, real: f64| off(scale, paper, real);
        let extent = |k: usize| {
            let of = real.iter().map(|r| r[k]);
            of.clone().fold(f64::MIN, f64::max) - of.fold(f64::MAX, f64::min)
        };
        let xs = p.points.iter().map(|q| q.x);
        let ys = p.points.iter().map(|q| q.y);
        let w = xs.clone().fold(f64::MIN, f64::max) - xs.fold(f64::MAX, f64::min);
        let h = ys.clone().fold(f64::MIN, f64::max) - ys.fold(f64::MAX, f64::min);
        [(0, 2), (0, 1), (1, 2)].iter().all(|(a, b)| off(w, extent(*a)) || off(h, extent(*b)))
    });
    parts.count() + pipes.count()
}

#[cfg(test)]
mod tests {
    use super::soft::cross;
    use super::*;

    /// Boxes [0,10]×[0,3] and [9,15]×[2,5] share 1 mm2; moved to x ≥ 10 they share none.
    #[test]
    fn labels_overlap_by_area_only() {
        let label = |x, y, w, h| LabelMark { of: String::new(), on_paper: Rect::new(x, y, w, h) };
        let over = |a: &LabelMark, b: &LabelMark| a.on_paper.overlaps(&b.on_paper);
        assert_eq!(pairs(&[label(0.0, 0.0, 10.0, 3.0), label(9.0, 2.0, 6.0, 3.0)], over), 1);
        assert_eq!(pairs(&[label(0.0, 0.0, 10.0, 3.0), label(10.0, 2.0, 6.0, 3.0)], over), 0);
    }

    #[test]
    fn a_crossing_is_not_a_corner_and_not_a_touch() {
        let p = |x, y| P2::new(x, y);
        assert!(cross(p(0.0, 5.0), p(10.0, 5.0), p(5.0, 0.0), p(5.0, 10.0)));
        assert!(!cross(p(0.0, 5.0), p(10.0, 5.0), p(5.0, 5.0), p(5.0, 10.0)));
        assert!(collinear_overlap(p(0.0, 5.0), p(10.0, 5.0), p(8.0, 5.0), p(20.0, 5.0)));
        assert!(!collinear_overlap(p(0.0, 5.0), p(10.0, 5.0), p(10.0, 5.0), p(20.0, 5.0)));
    }
}
