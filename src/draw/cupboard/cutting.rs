//! The marks of the sections on the plan (ISO 128-3, from memory): the wide ends of each cutting
//! line, arrows that look the way the section looks, its letter. In: the plan's view, the sections.
//! Out: items, and what they take.

use super::section::Section;
use super::view::View;
use crate::draw::scene::{Anchor, Ink, Item, Shape, Stroke, Words};
use crate::draw::style::{letters, width};
use crate::model::{P2, P3, Rect, Side};

/// From a cutting line to the far side of its letter.
pub const MARK: f64 = 12.0;
/// What the mark of a plane parallel to the front takes beside the plan.
pub const ASIDE: f64 = 8.0;
/// Length of the wide end of a cutting line, of the arrow, and of its head.
const END: f64 = 5.0;
const ARROW: f64 = 7.0;
const HEAD: f64 = 3.0;
/// Depth of the dimensions below the plan.
const FIGURES: f64 = 16.5;
/// From a mark to what it stands beside.
const OFF: f64 = 1.5;

/// One end of a cutting line: where its wide end begins and stops, which way the arrow points.
struct End {
    inner: P2,
    outer: P2,
    towards: P2,
}

impl End {
    /// From the wide end to the far side of the letter.
    fn taken(&self) -> Rect {
        let far = ARROW + 2.0 * letters::HEADING;
        let by =
            |t: f64| P2::new(self.outer.x + self.towards.x * t, self.outer.y + self.towards.y * t);
        let line = Rect::between(self.inner, self.outer);
        let arrow = Rect::between(self.outer, by(far)).grown(letters::HEADING / 2.0);
        Rect::holding([line, arrow]).unwrap_or(line)
    }

    fn items(&self, letter: char) -> Vec<Item> {
        let End { inner, outer, towards } = self;
        let ahead = |by: f64| P2::new(outer.x + towards.x * by, outer.y + towards.y * by);
        let wide = Shape::line(&[*inner, *outer], Stroke::solid(width::FRAME, Ink::BLACK));
        let (tip, base) = (ahead(ARROW), ahead(ARROW - HEAD));
        let shaft = Shape::line(&[*outer, base], Stroke::solid(width::SYMBOL, Ink::BLACK));
        let half = HEAD / 6.0;
        let side = |by: f64| P2::new(base.x + towards.y * by, base.y + towards.x * by);
        let head = Shape::polygon(&[tip, side(half), side(-half)], None, Some(Ink::BLACK));
        // The letter stands upright before the arrow.
        let at = ahead(ARROW + if towards.x == 0.0 { 1.5 } else { 2.5 });
        let down = if towards.x == 0.0 { 0.0 } else { letters::HEADING / 2.0 };
        let letter = Words::new(P2::new(at.x, at.y + down), letter.to_string(), letters::HEADING);
        vec![
            wide.into(),
            shaft.into(),
            head.into(),
            letter.bold().anchor(Anchor::Middle).halo().into(),
        ]
    }
}

/// The marks: of planes across the plan above it and below its dimensions, of those along it at the
/// left of its dimensions, which end at `left`, and at the right of what stands beside it.
/// Returns them, and the paper that each takes.
pub fn marks(
    view: &View,
    sections: &[Section],
    left: f64,
    beside: &[Rect],
) -> (Vec<Item>, Vec<Rect>) {
    let of = |s: &Section| ends(view, s, left, beside).map(|end| (s.letter, end));
    let all: Vec<(char, End)> = sections.iter().flat_map(of).collect();
    let items = all.iter().flat_map(|(letter, end)| end.items(*letter));
    (items.collect(), all.iter().map(|(_, end)| end.taken()).collect())
}

fn ends(view: &View, section: &Section, left: f64, beside: &[Rect]) -> [End; 2] {
    let o = view.outline();
    if section.wall == Side::Back {
        let y = view.point(P3::new(0.0, section.at, 0.0)).y;
        let level = |from: f64, to: f64| End {
            inner: P2::new(from, y),
            outer: P2::new(to, y),
            towards: P2::new(0.0, -1.0),
        };
        let row = Rect::new(o.right(), y - MARK - OFF, f64::MAX, MARK + 2.0 * OFF);
        let far = beside.iter().filter(|r| r.overlaps(&row)).map(Rect::right);
        let right = far.fold(o.right(), f64::max) + OFF;
        return [level(left - OFF, left - OFF - END), level(right, right + END)];
    }
    let x = view.point(P3::new(section.at, 0.0, 0.0)).x;
    let towards = P2::new(if section.wall == Side::Left { -1.0 } else { 1.0 }, 0.0);
    let upright =
        |from: f64, to: f64| End { inner: P2::new(x, from), outer: P2::new(x, to), towards };
    let (top, foot) = (o.y - OFF, o.bottom() + FIGURES);
    [upright(top, top - END), upright(foot, foot + END)]
}

/// What the marks above the plan take of its margin.
pub fn above(view: &View, sections: &[Section], high: f64) -> Vec<Rect> {
    let o = view.outline();
    let across = sections.iter().filter(|s| s.wall != Side::Back);
    let at = across.map(|s| view.point(P3::new(s.at, 0.0, 0.0)).x);
    at.map(|x| Rect::new(x - MARK, o.y - high, 2.0 * MARK, high)).collect()
}

/// What a sheet needs beside a plan for the marks of planes along it.
pub fn aside(sections: &[Section]) -> f64 {
    if sections.iter().any(|s| s.wall == Side::Back) { ASIDE } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draw::cupboard::view::Projection;
    use crate::model::Box3;

    /// The arrows look where the section looks: at the left wall to the left, at the back wall,
    /// which stands at the top of the plan, up the sheet.
    #[test]
    fn arrows_look_the_way_of_the_section() {
        let room = Box3 { x: 0.0, y: 0.0, z: 0.0, w: 1000.0, d: 800.0, h: 2400.0 };
        let view = View::new(Projection::Plan, 5.0, room, P2::new(60.0, 40.0));
        for (wall, x, y) in
            [(Side::Left, -1.0, 0.0), (Side::Right, 1.0, 0.0), (Side::Back, 0.0, -1.0)]
        {
            let section = Section { letter: 'A', wall, at: 300.0, upto: None };
            for end in ends(&view, &section, 40.0, &[]) {
                assert_eq!((end.towards.x, end.towards.y), (x, y));
                let o = view.outline();
                // Its wide end stands off the plan and points away from it.
                let out = |p: P2| o.gap_to(p);
                assert!(out(end.inner) > 0.0 && out(end.outer) > out(end.inner));
            }
        }
    }
}
