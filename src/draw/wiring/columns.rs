//! Headings, paragraphs and tables down two columns of A3 sheets. In: texts and rows. Out: pages, the
//! last one with its columns of like length.

use super::page::{PITCH, Page, words};
use crate::draw::frame::TitleData;
use crate::draw::scene::{Anchor, Ink, Shape, Stroke};
use crate::draw::style::{letters, width};
use crate::lettering::{Weight, fitted, wrap};
use crate::model::{P2, Rect};

const BETWEEN: f64 = 8.0;
const PAD: f64 = 1.0;
/// A row of one line, the roomier first: the closer ones where they save a sheet.
const ROWS: [f64; 2] = [4.9, 4.4];
/// Room for the notes on a small sheet.
const SMALL_NOTES: f64 = 34.0;
/// A table up to this depth stays in one piece.
const KEPT: f64 = 100.0;

/// By so much the last page's columns are lengthened until everything stands on it, mm.
const STEP: f64 = 4.0;
/// So many rows of a table that is cut stand in its last column at least.
const FEW: usize = 3;

/// What flows down the columns.
enum Block {
    Heading(String),
    Paragraph(String),
    /// Heads with their widths, rows, and the depth of the note that goes with the last of them.
    Table(Vec<(String, f64)>, Vec<Vec<String>>, f64),
}

/// Texts and tables in their order.
pub struct Columns<'a> {
    data: &'a TitleData,
    blocks: Vec<Block>,
    width: f64,
}

impl<'a> Columns<'a> {
    pub fn new(data: &'a TitleData) -> Columns<'a> {
        let width = (Page::new(data).room.w - BETWEEN) / 2.0;
        Columns { data, blocks: Vec::new(), width }
    }

    pub fn width(&self) -> f64 {
        self.width
    }

    pub fn heading(&mut self, text: &str) {
        self.blocks.push(Block::Heading(text.to_owned()));
    }

    pub fn paragraph(&mut self, text: &str) {
        self.blocks.push(Block::Paragraph(text.to_owned()));
    }

    /// A table stretched over the column.
    pub fn table(&mut self, heads: &[(&str, f64)], rows: &[Vec<String>]) {
        self.stretched(heads, rows, 0.0);
    }

    /// A table, and a note to it that does not stand in another column than its last row.
    pub fn table_with_note(&mut self, heads: &[(&str, f64)], rows: &[Vec<String>], note: &str) {
        let lines = wrap(note, letters::SMALL, Weight::Regular, self.width).len();
        self.stretched(heads, rows, 2.5 + lines as f64 * letters::SMALL * PITCH);
        self.paragraph(note);
    }

    fn stretched(&mut self, heads: &[(&str, f64)], rows: &[Vec<String>], noted: f64) {
        let total: f64 = heads.iter().map(|h| h.1).sum();
        let k = self.width / total;
        let heads = heads.iter().map(|(h, w)| ((*h).to_owned(), w * k)).collect();
        self.blocks.push(Block::Table(heads, rows.to_vec(), noted));
    }

    pub fn exact(&mut self, heads: &[(&str, f64)], rows: &[Vec<String>]) {
        let heads = heads.iter().map(|(h, w)| ((*h).to_owned(), *w)).collect();
        self.blocks.push(Block::Table(heads, rows.to_vec(), 0.0));
    }

    /// The pages. The last is a small one where what it holds fits on it, else its columns share
    /// what it holds.
    pub fn finish(self) -> Vec<Page> {
        let sheets = |row: f64| self.laid(row, None).pages.len();
        let least = ROWS.map(sheets).into_iter().min().unwrap_or(0);
        let row = ROWS.into_iter().find(|row| sheets(*row) == least).unwrap_or(ROWS[0]);
        let laid = self.laid(row, None);
        let many = laid.pages.len() > 1;
        let used = laid.y - laid.pages.last().map_or(0.0, |p| p.room.y);
        if laid.column > 0 {
            return laid.pages;
        }
        let small = Page::small(self.data, SMALL_NOTES);
        let fits = laid.y <= small.room.bottom() && self.width <= small.room.w;
        if many && fits {
            let mut pages = laid.pages;
            if let Some(last) = pages.last_mut() {
                last.onto(&small);
            }
            return pages;
        }
        let last = laid.pages.len() - 1;
        let depths = (0..).map(|i| used / 2.0 + STEP * f64::from(i)).take_while(|d| *d < used);
        let shared = depths.map(|depth| self.laid(row, Some((last, depth))));
        let fits = |l: &Laid| l.pages.len() == last + 1 && !l.overran;
        shared.into_iter().find(fits).unwrap_or(laid).pages
    }

    /// `limit`: the columns of that page end at that depth.
    fn laid(&self, row: f64, limit: Option<(usize, f64)>) -> Laid<'a> {
        let mut laid = Laid::new(self.data, row, limit);
        for block in &self.blocks {
            match block {
                Block::Heading(text) => laid.heading(text),
                Block::Paragraph(text) => laid.paragraph(text),
                Block::Table(heads, rows, noted) => laid.table(heads, rows, *noted),
            }
        }
        laid
    }
}

/// Two columns a page; tables break between rows and repeat their heads.
struct Laid<'a> {
    data: &'a TitleData,
    /// Depth of a row of one line.
    one: f64,
    pages: Vec<Page>,
    column: usize,
    y: f64,
    /// A heading that waits for what it heads.
    waits: Option<String>,
    limit: Option<(usize, f64)>,
    /// True where something stands beyond the limit.
    overran: bool,
}

impl<'a> Laid<'a> {
    fn new(data: &'a TitleData, one: f64, limit: Option<(usize, f64)>) -> Laid<'a> {
        let page = Page::new(data);
        let y = page.room.y;
        Laid { data, one, pages: vec![page], column: 0, y, waits: None, limit, overran: false }
    }

    fn width(&self) -> f64 {
        self.pages.last().map_or(0.0, |p| (p.room.w - BETWEEN) / 2.0)
    }

    fn x(&self) -> f64 {
        let w = self.width();
        self.pages.last().map_or(0.0, |p| p.room.x) + self.column as f64 * (w + BETWEEN)
    }

    fn left(&self) -> f64 {
        let page = self.pages.last().map_or(Rect::default(), |p| p.room);
        let limit = self.limit.filter(|(at, _)| at + 1 == self.pages.len());
        limit.map_or(page.bottom(), |(_, depth)| page.y + depth.min(page.h)) - self.y
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

    fn heading(&mut self, text: &str) {
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

    fn paragraph(&mut self, text: &str) {
        let h = letters::SMALL;
        let lines = wrap(text, h, Weight::Regular, self.width());
        let depth = lines.len() as f64 * h * PITCH;
        self.need(depth);
        self.overran |= self.left() < depth - 1e-6;
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

    fn table(&mut self, heads: &[(String, f64)], rows: &[Vec<String>], noted: f64) {
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
        let one = self.one;
        let depth_of = |row: &[Vec<String>]| {
            let n = row.iter().map(Vec::len).max().unwrap_or(1).max(1);
            one + (n - 1) as f64 * letters::SMALL * PITCH
        };
        let head = set(&heads.iter().map(|h| h.0.as_str()).collect::<Vec<_>>(), Weight::Bold);
        let rows: Vec<Vec<Vec<String>>> = rows
            .iter()
            .map(|r| set(&r.iter().map(String::as_str).collect::<Vec<_>>(), Weight::Regular))
            .collect();
        // A table that fits into one column is not cut.
        let first = depth_of(&head) + rows.first().map_or(0.0, |r| depth_of(r));
        let whole = depth_of(&head) + rows.iter().map(|r| depth_of(r)).sum::<f64>() + noted;
        let column = self.pages.last().map_or(0.0, |p| p.room.h) - 12.0;
        self.need(if whole < column.min(KEPT) { whole } else { first });
        self.row(&head, &widths, Weight::Bold, depth_of(&head));
        for (i, row) in rows.iter().enumerate() {
            let depth = depth_of(row);
            // Nor do its last rows stand alone in the next column.
            let rest = &rows[i..];
            let few = i >= FEW
                && rest.len() <= FEW
                && rest.len() > 1
                && self.left() < rest.iter().map(|r| depth_of(r)).sum::<f64>() + noted;
            if self.left() < depth || few {
                self.turn();
                self.row(&head, &widths, Weight::Bold, depth_of(&head));
            }
            self.row(row, &widths, Weight::Regular, depth);
        }
        self.y += 2.5;
    }

    fn row(&mut self, row: &[Vec<String>], widths: &[f64], weight: Weight, depth: f64) {
        self.overran |= self.left() < depth - 1e-6;
        let (mut x, y) = (self.x(), self.y);
        let Some(page) = self.pages.last_mut() else { return };
        for (lines, w) in row.iter().zip(widths) {
            let cell = Rect::new(x, y, *w, depth);
            let pen = Stroke::solid(width::THIN, Ink::BLACK);
            page.symbols.push(Shape::rect(cell, Some(pen), None).into());
            for (i, line) in lines.iter().enumerate() {
                let at =
                    y + (self.one + letters::SMALL) / 2.0 - 0.1 + i as f64 * letters::SMALL * PITCH;
                let mut words = words(x + PAD, at, line.clone(), Anchor::Start);
                words.weight = weight;
                page.words.push(words.into());
            }
            x += w;
        }
        self.y += depth;
    }
}
