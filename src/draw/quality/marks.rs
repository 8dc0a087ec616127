//! What a sheet shows of parts, pipes and words. In: its items. Out: their marks, flat.

use std::collections::BTreeSet;

use crate::draw::scene::{Item, Mark, Seg, Shape, Words};
use crate::model::{P2, Rect};

pub struct PartMark {
    pub tag: String,
    pub on_paper: Rect,
    pub real: Option<[f64; 6]>,
    /// Denominator of the scale of its view.
    pub scale: Option<f64>,
}

pub struct PipeMark {
    pub id: String,
    pub from: String,
    pub to: String,
    pub size: String,
    pub service: &'static str,
    pub points: Vec<P2>,
    pub real: Option<Vec<[f64; 3]>>,
    pub scale: Option<f64>,
}

pub struct LabelMark {
    pub of: String,
    pub on_paper: Rect,
}

#[derive(Default)]
pub struct Marks {
    pub parts: Vec<PartMark>,
    pub pipes: Vec<PipeMark>,
    pub labels: Vec<LabelMark>,
    pub arrows: BTreeSet<String>,
    pub words: Vec<(Rect, f64)>,
}

/// `scale` is the sheet's; a view on it may have its own.
pub fn collect(items: &[Item], scale: Option<f64>, marks: &mut Marks) {
    for item in items {
        match item {
            Item::Group(g) => {
                if let Mark::Part { tag, on_paper, real, .. } = &g.mark {
                    let part =
                        PartMark { tag: tag.clone(), on_paper: *on_paper, real: *real, scale };
                    marks.parts.push(part);
                }
                let scale = match g.mark {
                    Mark::View { scale } => Some(f64::from(scale)),
                    _ => scale,
                };
                collect(&g.items, scale, marks);
            }
            Item::Shape(s) => shape(s, scale, marks),
            Item::Words(w) => words(w, marks),
        }
    }
}

fn shape(s: &Shape, scale: Option<f64>, marks: &mut Marks) {
    match &s.mark {
        Mark::Pipe { id, from, to, size, service, real } => {
            let points = s
                .path
                .iter()
                .filter_map(|seg| match seg {
                    Seg::Move(p) | Seg::Line(p) => Some(*p),
                    _ => None,
                })
                .collect();
            marks.pipes.push(PipeMark {
                id: id.clone(),
                from: from.clone(),
                to: to.clone(),
                size: size.clone(),
                service,
                points,
                real: real.clone(),
                scale,
            });
        }
        Mark::Arrow { of, .. } => {
            marks.arrows.insert(of.clone());
        }
        _ => {}
    }
}

fn words(w: &Words, marks: &mut Marks) {
    marks.words.push((w.on_paper(), w.height));
    if let Mark::Label { of, on_paper } = &w.mark {
        marks.labels.push(LabelMark { of: of.clone(), on_paper: *on_paper });
    }
}
