//! A pad to draw one symbol on. In: lines and letters in the upright symbol's own mm. Out: items
//! on the sheet, mirrored and turned, the letters never.

use crate::draw::scene::{Anchor, Ink, Item, Seg, Shape, Stroke, Words};
use crate::draw::style::width;
use crate::layout::schematic::Pose;
use crate::model::{P2, Rect};

pub struct Pad {
    /// Extent before the turn.
    pub w: f64,
    pub h: f64,
    at: P2,
    pose: Pose,
    items: Vec<Item>,
}

impl Pad {
    pub fn new(on_paper: Rect, pose: Pose) -> Pad {
        let (w, h) = pose.extent(on_paper.w, on_paper.h);
        Pad { w, h, at: P2::new(on_paper.x, on_paper.y), pose, items: Vec::new() }
    }

    /// Forget the posture: a picture that stays upright.
    pub fn upright(&mut self) {
        self.pose = Pose::UPRIGHT;
    }

    pub fn pose(&self) -> Pose {
        self.pose
    }

    pub fn done(self) -> Vec<Item> {
        self.items
    }

    fn put(&self, x: f64, y: f64) -> P2 {
        let p = self.pose.point(P2::new(x, y), self.w, self.h);
        P2::new(self.at.x + p.x, self.at.y + p.y)
    }

    fn points(&self, points: &[(f64, f64)]) -> Vec<P2> {
        points.iter().map(|&(x, y)| self.put(x, y)).collect()
    }

    fn pen(width: f64) -> Option<Stroke> {
        Some(Stroke::solid(width, Ink::BLACK))
    }

    /// An open line.
    pub fn line(&mut self, points: &[(f64, f64)]) {
        self.stroke(points, Stroke::solid(width::SYMBOL, Ink::BLACK));
    }

    pub fn thin(&mut self, points: &[(f64, f64)]) {
        self.stroke(points, Stroke::solid(width::THIN, Ink::BLACK));
    }

    pub fn dashed(&mut self, points: &[(f64, f64)]) {
        self.stroke(points, Stroke::dashed(width::THIN, &[0.9, 0.6], Ink::BLACK));
    }

    fn stroke(&mut self, points: &[(f64, f64)], mut stroke: Stroke) {
        stroke.round = stroke.dash.is_empty();
        self.items.push(Shape::line(&self.points(points), stroke).into());
    }

    /// A closed outline, white inside so that nothing shows through.
    pub fn outline(&mut self, points: &[(f64, f64)]) {
        let p = self.points(points);
        self.items.push(Shape::polygon(&p, Self::pen(width::SYMBOL), Some(Ink::WHITE)).into());
    }

    pub fn solid(&mut self, points: &[(f64, f64)]) {
        let p = self.points(points);
        let fill = Some(Ink::BLACK);
        self.items.push(Shape::polygon(&p, Self::pen(width::THIN), fill).into());
    }

    pub fn rect(&mut self, x: f64, y: f64, w: f64, h: f64) {
        self.outline(&[(x, y), (x + w, y), (x + w, y + h), (x, y + h)]);
    }

    pub fn circle(&mut self, x: f64, y: f64, r: f64) {
        let c = self.put(x, y);
        let fill = Some(Ink::WHITE);
        self.items.push(Shape::circle(c, r, Self::pen(width::SYMBOL), fill).into());
    }

    pub fn dot(&mut self, x: f64, y: f64, r: f64) {
        let c = self.put(x, y);
        self.items.push(Shape::circle(c, r, None, Some(Ink::BLACK)).into());
    }

    /// A smooth line: the start, then cubic pieces (two handles and an end each).
    pub fn curve(&mut self, start: (f64, f64), pieces: &[[(f64, f64); 3]]) {
        let shape = self.curved(start, pieces, false);
        self.items.push(shape.into());
    }

    /// A smooth closed outline, white inside.
    pub fn closed_curve(&mut self, start: (f64, f64), pieces: &[[(f64, f64); 3]]) {
        let shape = self.curved(start, pieces, true);
        self.items.push(shape.into());
    }

    fn curved(&self, start: (f64, f64), pieces: &[[(f64, f64); 3]], close: bool) -> Shape {
        let mut path = vec![Seg::Move(self.put(start.0, start.1))];
        for [a, b, c] in pieces {
            path.push(Seg::Cubic(self.put(a.0, a.1), self.put(b.0, b.1), self.put(c.0, c.1)));
        }
        if close {
            path.push(Seg::Close);
        }
        Shape {
            path,
            stroke: Some(Stroke::solid(width::SYMBOL, Ink::BLACK)),
            fill: close.then_some(Ink::WHITE),
            ..Shape::default()
        }
    }

    /// Letters centred on a point, upright whatever the turn.
    pub fn letters(&mut self, x: f64, y: f64, text: &str, height: f64) {
        let c = self.put(x, y);
        let at = P2::new(c.x, c.y + height / 2.0);
        self.items.push(Words::new(at, text, height).anchor(Anchor::Middle).into());
    }

    /// The two triangles of a valve, tip to tip at (x, y), each `half` long and 2M wide.
    pub fn bow_tie(&mut self, x: f64, y: f64, half: f64) {
        self.outline(&[(x, y), (x - half, y - 2.5), (x - half, y + 2.5)]);
        self.outline(&[(x, y), (x + half, y - 2.5), (x + half, y + 2.5)]);
    }

    /// A spring on a stem: up from (x, from) to (x, to).
    pub fn spring(&mut self, x: f64, from: f64, to: f64) {
        let n = 6;
        let lead = (from - to) * 0.12;
        let pitch = (from - to - 2.0 * lead) / f64::from(n);
        let mut line = vec![(x, from), (x, from - lead)];
        for i in 0..n {
            let side = if i % 2 == 0 { 1.1 } else { -1.1 };
            line.push((x + side, from - lead - pitch * (f64::from(i) + 0.5)));
        }
        line.push((x, to + lead));
        line.push((x, to));
        self.line(&line);
    }

    /// Half a circle over (x, y), bulging away from the top edge.
    pub fn dome(&mut self, x: f64, y: f64, r: f64) {
        let k = 0.5523 * r;
        self.closed_curve(
            (x - r, y),
            &[
                [(x - r, y - k), (x - k, y - r), (x, y - r)],
                [(x + k, y - r), (x + r, y - k), (x + r, y)],
            ],
        );
    }
}
