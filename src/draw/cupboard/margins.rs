//! Margins beside a view, which take the labels that find no room in it. In: a margin, a text.
//! Out: the rows in which it may stand, each with its leader's way in.

use super::callouts::{HEIGHT, ROW};
use crate::draw::scene::{Anchor, Words};
use crate::lettering::{Weight, width};
use crate::model::{P2, Rect};

/// From the view to the text.
const AWAY: f64 = 7.0;
/// Above the view, where nothing fans out.
const NEAR: f64 = 4.0;
/// Leaders run straight from here to the text.
const STUB: f64 = 1.5;
/// White between a leader and its text.
const GAP: f64 = 0.8;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Edge {
    Left,
    Right,
    /// Its texts read upwards.
    Top,
}

/// Room for labels beside a view.
#[derive(Clone, Debug)]
pub struct Margin {
    pub edge: Edge,
    /// Where texts stand, from the edge of the view on.
    pub at: Rect,
    /// What texts keep off.
    pub taken: Vec<Rect>,
}

/// A row of a margin for one text: its leader comes in over the elbow.
pub struct Row {
    pub words: Words,
    /// The box of the letters.
    pub at: Rect,
    pub elbow: P2,
    pub end: P2,
    /// 0 next to the view, 1 beyond the texts of the first rank, and so on.
    pub rank: usize,
}

impl Margin {
    /// The rows for a text, in order along the margin. `deep` is the length of the longest text.
    pub fn rows(&self, text: &str, view: Rect, deep: f64, ranks: usize) -> Vec<Row> {
        // Half steps: a label may stand between two that another rank or view would take.
        let step = ROW / 2.0;
        let length = if self.edge == Edge::Top { self.at.w } else { self.at.h };
        let n = ((length - ROW) / step).max(0.0) as usize + 1;
        let wide = width(text, HEIGHT, Weight::Regular);
        let mut rows = Vec::new();
        for rank in 0..ranks {
            let off = rank as f64 * (deep + 4.0);
            for i in 0..n {
                let along = ROW / 2.0 + step * i as f64;
                rows.push(self.row((text, wide), view, along, off, rank));
            }
        }
        rows.retain(|r| !self.taken.iter().any(|t| t.overlaps(&r.at)));
        rows
    }

    fn row(&self, text: (&str, f64), view: Rect, along: f64, off: f64, rank: usize) -> Row {
        let (x, y) = (self.at.x + along, self.at.y + along);
        let words = |x: f64, y: f64| Words::new(P2::new(x, y), text.0, HEIGHT);
        let (words, elbow, end) = match self.edge {
            Edge::Right => {
                let at = view.right() + AWAY + off;
                let words = words(at, y + HEIGHT / 2.0);
                (words, P2::new(view.right() + STUB, y), P2::new(at - GAP, y))
            }
            Edge::Left => {
                let at = view.x - AWAY - off;
                let words = words(at, y + HEIGHT / 2.0).anchor(Anchor::End);
                // Level from the wall on: the dimensions' lines run so too.
                (words, P2::new(view.x, y), P2::new(at + GAP, y))
            }
            Edge::Top => {
                let at = view.y - NEAR - off;
                let words = words(x + HEIGHT / 2.0, at).upwards();
                (words, P2::new(x, view.y - STUB), P2::new(x, at + GAP))
            }
        };
        let at = words.of_width(text.1);
        Row { words, at, elbow, end, rank }
    }

    /// True where the text of a row ends within the margin.
    pub fn holds(&self, row: &Row) -> bool {
        match self.edge {
            Edge::Left => row.at.x >= self.at.x,
            Edge::Right => row.at.right() <= self.at.right(),
            Edge::Top => row.at.y >= self.at.y,
        }
    }

    /// How far a row lies from the level of a point.
    pub fn off(&self, from: P2, row: &Row) -> f64 {
        match self.edge {
            Edge::Top => (from.x - row.elbow.x).abs(),
            _ => (from.y - row.elbow.y).abs(),
        }
    }
}
