//! What stands on a sheet round its marks. In: the items of the sheet, in the order in which they
//! are painted. Out: bodies, words, pipes and rows of dimensions, and what of them can be marked.

use std::collections::BTreeMap;

use super::white::straights;
use crate::draw::scene::{Group, Item, Mark, Seg, Shape};
use crate::draw::style::FACE;
use crate::model::{P2, Rect};

/// A row of dimensions is so wide about its line, mm.
const ROW: f64 = 4.0;
/// What is this near a point lies on it, mm.
const ON: f64 = 0.3;

/// What a mark speaks of, as drawn.
#[derive(Clone, Debug)]
pub enum Target {
    Body(Rect),
    Line(Vec<(P2, P2)>),
}

impl Target {
    pub fn pieces(&self) -> Vec<Rect> {
        match self {
            Target::Body(r) => vec![*r],
            Target::Line(edges) => edges.iter().map(|(a, b)| Rect::between(*a, *b)).collect(),
        }
    }
}

#[derive(Debug, Default)]
pub struct Around {
    /// Bodies and symbols by tag, the lowest first.
    pub bodies: Vec<Body>,
    /// Words, and whose label they are.
    pub words: Vec<(Option<String>, Rect)>,
    /// Straights of the pipes, by id.
    pub pipes: Vec<(String, P2, P2)>,
    /// Where dimensions stand.
    pub rows: Vec<Rect>,
    pub targets: BTreeMap<String, Vec<Target>>,
    /// What is painted of each pipe.
    paint: Vec<(String, Rect, usize)>,
    /// What has been painted so far.
    order: usize,
}

#[derive(Debug)]
pub struct Body {
    pub tag: String,
    pub at: Rect,
    order: usize,
}

impl Around {
    pub fn of(items: &[Item]) -> Around {
        let mut around = Around::default();
        around.collect(items);
        around
    }

    /// True where a thing is not covered at a point by what is painted over it.
    pub fn is_seen(&self, of: &str, at: P2) -> bool {
        let on = |r: &Rect| r.gap_to(at) <= ON;
        let paint = self.paint.iter().filter(|(id, r, _)| id == of && on(r)).map(|(.., o)| *o);
        let own = self.bodies.iter().filter(|b| b.tag == of).map(|b| b.order);
        let Some(top) = paint.chain(own).max() else { return true };
        let over = |b: &Body| b.tag != of && b.order > top && b.at.grown(-ON).gap_to(at) <= 0.0;
        !self.bodies.iter().any(over)
    }

    /// Everything that is drawn of the parts.
    pub fn hull(&self) -> Option<Rect> {
        Rect::holding(self.bodies.iter().map(|b| b.at))
    }

    fn collect(&mut self, items: &[Item]) {
        for item in items {
            self.order += 1;
            match item {
                Item::Group(g) => self.group(g),
                Item::Shape(s) => self.shape(s),
                Item::Words(w) => {
                    let whose = match &w.mark {
                        Mark::Label { of, .. } => Some(of.clone()),
                        _ => None,
                    };
                    self.words.push((whose, w.on_paper()));
                }
            }
        }
    }

    fn group(&mut self, g: &Group) {
        match &g.mark {
            Mark::Part { tag, on_paper, .. } => {
                let order = self.order;
                self.bodies.push(Body { tag: tag.clone(), at: *on_paper, order });
                let wide = on_paper.w.min(on_paper.h) >= FACE;
                let face = match wide && is_round(&g.items) {
                    true => within_the_ring(on_paper),
                    false => *on_paper,
                };
                self.targets.entry(tag.clone()).or_default().push(Target::Body(face));
            }
            Mark::Of(name) => {
                let of = |item: &Item| match item {
                    Item::Shape(s) => straights(&s.path),
                    _ => Vec::new(),
                };
                let edges: Vec<(P2, P2)> = g.items.iter().flat_map(of).collect();
                self.painted(name, &edges);
                self.line(name, edges);
            }
            Mark::Dimension { .. } => self.rows.extend(extent(&g.items).map(|r| r.grown(ROW))),
            _ => {}
        }
        self.collect(&g.items);
    }

    fn shape(&mut self, s: &Shape) {
        match &s.mark {
            Mark::Pipe { id, .. } => {
                let edges = straights(&s.path);
                self.painted(id, &edges);
                self.pipes.extend(edges.iter().map(|(a, b)| (id.clone(), *a, *b)));
                self.line(id, edges);
            }
            Mark::Of(id) => self.painted(id, &straights(&s.path)),
            _ => {}
        }
    }

    fn painted(&mut self, id: &str, edges: &[(P2, P2)]) {
        let each = edges.iter().map(|(a, b)| Rect::between(*a, *b));
        self.paint.extend(Rect::holding(each).map(|r| (id.to_owned(), r, self.order)));
    }

    /// All of a pipe is one thing to mark.
    fn line(&mut self, id: &str, edges: Vec<(P2, P2)>) {
        if edges.is_empty() {
            return;
        }
        let list = self.targets.entry(id.to_owned()).or_default();
        match list.first_mut() {
            Some(Target::Line(first)) => first.extend(edges),
            _ => list.push(Target::Line(edges)),
        }
    }
}

/// True where a body is drawn as a circle: its outline is painted first.
fn is_round(items: &[Item]) -> bool {
    let outline = items.first().and_then(|item| match item {
        Item::Shape(s) => Some(&s.path),
        _ => None,
    });
    outline.is_some_and(|path| path.iter().any(|seg| matches!(seg, Seg::Arc { .. })))
}

/// In the corners of its box a round body is not.
fn within_the_ring(r: &Rect) -> Rect {
    const OFF: f64 = 0.5 - std::f64::consts::FRAC_1_SQRT_2 / 2.0;
    let (dx, dy) = (r.w * OFF, r.h * OFF);
    Rect::new(r.x + dx, r.y + dy, r.w - 2.0 * dx, r.h - 2.0 * dy)
}

fn extent(items: &[Item]) -> Option<Rect> {
    let each = items.iter().filter_map(|item| match item {
        Item::Group(g) => extent(&g.items),
        Item::Shape(s) => {
            Rect::holding(straights(&s.path).iter().map(|(a, b)| Rect::between(*a, *b)))
        }
        Item::Words(w) => Some(w.on_paper()),
    });
    Rect::holding(each)
}
