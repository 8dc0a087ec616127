//! Headings, paragraphs and tables down two columns of A3 sheets. In: texts and rows. Out: pages.

use super::page::{PITCH, Page, words};
use crate::draw::frame::TitleData;
use crate::draw::scene::{Anchor, Ink, Shape, Stroke};
use crate::draw::style::{letters, width};
use crate::lettering::{Weight, fitted, wrap};
use crate::model::{P2, Rect};

const BETWEEN: f64 = 8.0;
const PAD: f64 = 1.0;
const ROW: f64 = 4.9;
/// Room for the notes on a small sheet.
const SMALL_NOTES: f64 = 34.0;
/// A table up to this depth stays in one piece.
const KEPT: f64 = 100.0;

/// Two columns a page; tables break between rows and repeat their heads.
pub struct Columns<'a> {
    data: &'a TitleData,
    pages: Vec<Page>,
    column: usize,
    y: f64,
    /// A heading that waits for what it heads.
    waits: Option<String>,
    /// Depth of the note that goes with the last row of a table.
    noted: f64,
}

impl<'a> Columns<'a> {
    pub fn new(data: &'a TitleData) -> Columns<'a> {
        let page = Page::new(data);
        let y = page.room.y;
        Columns { data, pages: vec![page], column: 0, y, waits: None, noted: 0.0 }
    }

    pub fn width(&self) -> f64 {
        self.pages.last().map_or(0.0, |p| (p.room.w - BETWEEN) / 2.0)
    }

    fn x(&self) -> f64 {
        let w = self.width();
        self.pages.last().map_or(0.0, |p| p.room.x) + self.column as f64 * (w + BETWEEN)
    }

    fn left(&self) -> f64 {
        self.pages.last().map_or(0.0, |p| p.room.bottom()) - self.y
    }

    fn turn(&mut self) {
        if self.column == 0 {
            self.column = 1;
        } else {
            self.column = 0;
            self.pages.push(Page::new(self.data));
        }
        self.y = self.pages.last().map_or(0.0, |p| p.room.y);
    }

    fn top(&self) -> bool {
        self.pages.last().is_some_and(|p| self.y <= p.room.y)
    }

    pub fn heading(&mut self, text: &str) {
        self.waits = Some(text.to_owned());
    }

    /// Makes room for something of a depth, with the heading that waits above it.
    fn need(&mut self, depth: f64) {
        let head = if self.waits.is_some() { letters::HEADING + 5.5 } else { 0.0 };
        if self.left() < depth + head && !self.top() {
            self.turn();
        }
        let Some(text) = self.waits.take() else { return };
        if !self.top() {
            self.y += 3.5;
        }
        let (x, y, w) = (self.x(), self.y, self.width());
        let text = fitted(&text, letters::HEADING, Weight::Bold, w);
        if let Some(p) = self.pages.last_mut() {
            p.tell(format!("{text}."));
            p.heading(P2::new(x, y + letters::HEADING), &text);
        }
        self.y += letters::HEADING + 2.0;
    }

    pub fn paragraph(&mut self, text: &str) {
        let h = letters::SMALL;
        let lines = wrap(text, h, Weight::Regular, self.width());
        let depth = lines.len() as f64 * h * PITCH;
        self.need(depth);
        for line in lines {
            let (x, y, w) = (self.x(), self.y, self.width());
            let line = fitted(&line, h, Weight::Regular, w);
            if let Some(p) = self.pages.last_mut() {
                p.words.push(words(x, y + h, line, Anchor::Start).into());
            }
            self.y += h * PITCH;
        }
        self.y += 1.6;
    }

    /// A table stretched over the column.
    pub fn table(&mut self, heads: &[(&str, f64)], rows: &[Vec<String>]) {
        let total: f64 = heads.iter().map(|h| h.1).sum();
        let k = self.width() / total;
        let heads: Vec<(&str, f64)> = heads.iter().map(|(h, w)| (*h, w * k)).collect();
        self.exact(&heads, rows);
    }

    /// A table, and a note to it that does not stand in another column than its last row.
    pub fn table_with_note(&mut self, heads: &[(&str, f64)], rows: &[Vec<String>], note: &str) {
        let lines = wrap(note, letters::SMALL, Weight::Regular, self.width()).len();
        self.noted = 2.5 + lines as f64 * letters::SMALL * PITCH;
        self.table(heads, rows);
        self.noted = 0.0;
        self.paragraph(note);
    }

    pub fn exact(&mut self, heads: &[(&str, f64)], rows: &[Vec<String>]) {
        let widths: Vec<f64> = heads.iter().map(|h| h.1).collect();
        // Each cell as the lines it takes, measured once.
        let set = |row: &[&str], weight: Weight| -> Vec<Vec<String>> {
            row.iter()
                .zip(&widths)
                .map(|(t, w)| {
                    let room = w - 2.0 * PAD;
                    let lines = wrap(t, letters::SMALL, weight, room);
                    lines.iter().map(|l| fitted(l, letters::SMALL, weight, room)).collect()
                })
                .collect()
        };
        let depth_of = |row: &[Vec<String>]| {
            let n = row.iter().map(Vec::len).max().unwrap_or(1).max(1);
            ROW + (n - 1) as f64 * letters::SMALL * PITCH
        };
        let head = set(&heads.iter().map(|h| h.0).collect::<Vec<_>>(), Weight::Bold);
        let rows: Vec<Vec<Vec<String>>> = rows
            .iter()
            .map(|r| set(&r.iter().map(String::as_str).collect::<Vec<_>>(), Weight::Regular))
            .collect();
        // A table that fits into one column is not cut.
        let first = depth_of(&head) + rows.first().map_or(0.0, |r| depth_of(r));
        let noted = self.noted;
        let whole = depth_of(&head) + rows.iter().map(|r| depth_of(r)).sum::<f64>() + noted;
        let column = self.pages.last().map_or(0.0, |p| p.room.h) - 12.0;
        self.need(if whole < column.min(KEPT) { whole } else { first });
        self.row(&head, &widths, Weight::Bold, depth_of(&head));
        for (i, row) in rows.iter().enumerate() {
            let depth = depth_of(row);
            // Nor does the last row stand alone in the next column.
            let both = i > 0
                && i + 2 == rows.len()
                && self.left() < depth + depth_of(&rows[i + 1]) + noted;
            if self.left() < depth || both {
                self.turn();
                self.row(&head, &widths, Weight::Bold, depth_of(&head));
            }
            self.row(row, &widths, Weight::Regular, depth);
        }
        self.y += 2.5;
    }

    fn row(&mut self, row: &[Vec<String>], widths: &[f64], weight: Weight, depth: f64) {
        let (mut x, y) = (self.x(), self.y);
        let Some(page) = self.pages.last_mut() else { return };
        for (lines, w) in row.iter().zip(widths) {
            let cell = Rect::new(x, y, *w, depth);
            let pen = Stroke::solid(width::THIN, Ink::BLACK);
            page.symbols.push(Shape::rect(cell, Some(pen), None).into());
            for (i, line) in lines.iter().enumerate() {
                let at = y + 3.6 + i as f64 * letters::SMALL * PITCH;
                let mut words = words(x + PAD, at, line.clone(), Anchor::Start);
                words.weight = weight;
                page.words.push(words.into());
            }
            x += w;
        }
        self.y += depth;
    }

    /// The last sheet is a small one where what it holds fits on it.
    pub fn finish(mut self) -> Vec<Page> {
        let small = Page::small(self.data, SMALL_NOTES);
        let many = self.pages.len() > 1;
        if let Some(last) = self.pages.last_mut().filter(|_| many && self.column == 0) {
            let column = (last.room.w - BETWEEN) / 2.0;
            if self.y <= small.room.bottom() && column <= small.room.w {
                last.onto(&small);
            }
        }
        self.pages
    }
}
