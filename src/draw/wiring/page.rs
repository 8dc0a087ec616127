//! One sheet of a wiring drawing while it is being filled. In: symbols, conductors, labels. Out:
//! an undressed sheet whose groups follow the SVG contract: conductors under symbols under words.

use std::collections::BTreeSet;

use super::symbols::Used;
use crate::draw::frame::{TitleData, drawing_space, space_above_block, title_block};
use crate::draw::scene::{Anchor, Group, Ink, Item, Mark, Paper, Shape, Sheet, Stroke, Words};
use crate::draw::style::{letters, width};
use crate::lettering::{Weight, fitted, wrap};
use crate::model::{P2, Rect};

/// Space between the frame and the drawing.
const INSET: f64 = 4.0;
/// From one baseline to the next, as a multiple of the letter height.
pub const PITCH: f64 = 1.6;

pub struct Page {
    paper: Paper,
    /// Above the title block, over the whole width.
    pub room: Rect,
    /// Left of the title block, for notes.
    pub foot: Rect,
    /// For the legend where it does not stand under the notes.
    pub legend: Option<Rect>,
    pub wires: Vec<Item>,
    pub symbols: Vec<Item>,
    pub words: Vec<Item>,
    said: Vec<String>,
    /// Terminals whose names found no room beside them: the notes say them.
    pub unsaid: Vec<String>,
    /// True where a load names the rungs of the contacts it moves: the notes explain it.
    pub refers: bool,
    /// What the legend must explain.
    pub used: BTreeSet<Used>,
}

/// The sheets `key`, `key-2`, … of a run of pages, each with its notes.
pub fn sheets_of(
    pages: Vec<Page>,
    key: &str,
    title: &str,
    notes: impl Fn(&mut Page),
) -> Vec<Sheet> {
    let many = pages.len() > 1;
    pages
        .into_iter()
        .enumerate()
        .map(|(i, mut page)| {
            notes(&mut page);
            let key = if i == 0 { key.to_owned() } else { format!("{key}-{}", i + 1) };
            let title = if many { format!("{title}, part {}", i + 1) } else { title.to_owned() };
            page.finish(&key, &title)
        })
        .collect()
}

impl Page {
    pub fn new(data: &TitleData) -> Page {
        Page::on(Paper::A3, data)
    }

    pub fn on(paper: Paper, data: &TitleData) -> Page {
        let (space, above) = (drawing_space(paper), space_above_block(paper, data));
        let block = title_block(paper, data);
        let room = Rect::new(
            above.x + INSET,
            above.y + INSET,
            above.w - 2.0 * INSET,
            above.h - 2.0 * INSET,
        );
        let foot =
            Rect::new(space.x + INSET, block.y, space.w - block.w - 2.0 * INSET, block.h - INSET);
        Page {
            paper,
            room,
            foot,
            legend: None,
            wires: Vec::new(),
            symbols: Vec::new(),
            words: Vec::new(),
            said: Vec::new(),
            unsaid: Vec::new(),
            refers: false,
            used: BTreeSet::new(),
        }
    }

    /// A4, with the notes over the whole width above the title block and the legend beside it.
    pub fn small(data: &TitleData, notes: f64) -> Page {
        let mut page = Page::on(Paper::A4_LANDSCAPE, data);
        page.legend = Some(page.foot);
        let r = page.room;
        page.foot = Rect::new(r.x, r.bottom() - notes, r.w, notes);
        page.room = Rect { h: r.h - notes, ..r };
        page
    }

    /// A symbol of a part, with the box it fills.
    pub fn part(&mut self, tag: &str, kind: &str, title: &str, on_paper: Rect, items: Vec<Item>) {
        let mark = Mark::Part { tag: tag.to_owned(), kind: kind.to_owned(), on_paper, real: None };
        self.symbols.push(Group { mark, title: Some(title.to_owned()), items }.into());
    }

    /// True where a part whose tag begins so is on the page.
    pub fn holds(&self, begins: &str) -> bool {
        self.symbols.iter().any(|item| match item {
            Item::Group(g) => matches!(&g.mark, Mark::Part { tag, .. } if tag.starts_with(begins)),
            _ => false,
        })
    }

    /// A conductor, named by what it joins.
    pub fn wire(&mut self, of: &str, title: &str, points: &[P2], stroke: Stroke) {
        let shape = Shape::line(points, stroke).mark(Mark::Of(of.to_owned()));
        let group =
            Group { mark: Mark::None, title: Some(title.to_owned()), items: vec![shape.into()] };
        self.wires.push(group.into());
    }

    /// A label with its box.
    pub fn label(&mut self, of: &str, words: Words) {
        let on_paper = words.on_paper();
        self.words.push(words.mark(Mark::Label { of: of.to_owned(), on_paper }).into());
    }

    pub fn heading(&mut self, at: P2, text: &str) {
        self.words.push(Words::new(at, text, letters::HEADING).bold().into());
    }

    /// For people who can't see the sheet.
    pub fn tell(&mut self, text: impl Into<String>) {
        self.said.push(text.into());
    }

    /// Paragraphs down a box, as many lines as fit; gives the depth used.
    pub fn paragraphs(&mut self, at: Rect, texts: &[String]) -> f64 {
        let h = letters::SMALL;
        let mut y = at.y;
        for text in texts {
            let lines = wrap(text, h, Weight::Regular, at.w);
            for line in lines {
                if y + h * 1.4 > at.bottom() {
                    return y - at.y;
                }
                let line = fitted(&line, h, Weight::Regular, at.w);
                self.words.push(Words::new(P2::new(at.x, y + h), line, h).into());
                y += h * PITCH;
            }
            y += h * 0.35;
        }
        y - at.y
    }

    /// A boxed warning down a box; gives the depth used.
    pub fn caution(&mut self, at: Rect, texts: &[&str]) -> f64 {
        let h = letters::SMALL;
        let lines: Vec<String> =
            texts.iter().flat_map(|t| wrap(t, h, Weight::Bold, at.w - 4.0)).collect();
        let depth = lines.len() as f64 * h * PITCH + 2.4;
        let edge = Stroke::solid(width::FRAME, Ink::BLACK);
        self.symbols.push(Shape::rect(Rect::new(at.x, at.y, at.w, depth), Some(edge), None).into());
        for (i, line) in lines.iter().enumerate() {
            let line = fitted(line, h, Weight::Bold, at.w - 4.0);
            let p = P2::new(at.x + 2.0, at.y + 1.6 + h + i as f64 * h * PITCH);
            self.words.push(Words::new(p, line, h).bold().into());
        }
        depth
    }

    pub fn finish(self, key: &str, title: &str) -> Sheet {
        let layer = |name: &'static str, items: Vec<Item>| -> Item {
            Group { mark: Mark::Layer(name), title: None, items }.into()
        };
        Sheet {
            key: key.to_owned(),
            title: title.to_owned(),
            description: self.said.join(" "),
            paper: self.paper,
            scale: None,
            items: vec![
                layer("pipes", self.wires),
                layer("symbols", self.symbols),
                layer("labels", self.words),
            ],
        }
    }
}

/// Words at a point.
pub fn words(x: f64, y: f64, text: impl Into<String>, anchor: Anchor) -> Words {
    Words::new(P2::new(x, y), text, letters::SMALL).anchor(anchor)
}

/// The same, cut to fit a width.
pub fn short(x: f64, y: f64, text: &str, anchor: Anchor, room: f64) -> Words {
    words(x, y, fitted(text, letters::SMALL, Weight::Regular, room), anchor)
}
