//! One sheet of a wiring drawing while it is being filled. In: symbols, conductors, labels. Out:
//! an undressed sheet whose groups follow the SVG contract: conductors under symbols under words.

use std::collections::BTreeSet;

use super::symbols::Used;
use crate::draw::frame::{TitleData, drawing_space, space_above_block, title_block};
use crate::draw::scene::{Anchor, Group, Ink, Item, Mark, Paper, Seg, Shape, Sheet, Stroke, Words};
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
    /// Notes that stand here, and those that found no room.
    noted: Vec<String>,
    over: Vec<String>,
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
    let mut pages = pages;
    pages.iter_mut().for_each(&notes);
    // What stands on another of the sheets is not said again.
    let mut over: Vec<String> = Vec::new();
    for text in pages.iter().flat_map(|p| &p.over) {
        if !over.contains(text) && !pages.iter().any(|p| p.noted.contains(text)) {
            over.push(text.clone());
        }
    }
    if let (false, Some(last)) = (over.is_empty(), pages.last()) {
        let mut page = last.like();
        let at = P2::new(page.room.x, page.room.y + 10.0);
        page.heading(P2::new(at.x, page.room.y + letters::HEADING), "Notes, continued");
        let mut y = at.y;
        for text in over {
            let lines = wrap(&text, letters::SMALL, Weight::Regular, page.room.w);
            y = page.lines(P2::new(at.x, y), page.room.w, lines) + letters::SMALL * 0.35;
        }
        pages.push(page);
    }
    let many = pages.len() > 1;
    pages
        .into_iter()
        .enumerate()
        .map(|(i, page)| {
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
        Page::empty(paper, room, foot, None)
    }

    fn empty(paper: Paper, room: Rect, foot: Rect, legend: Option<Rect>) -> Page {
        Page {
            paper,
            room,
            foot,
            legend,
            wires: Vec::new(),
            symbols: Vec::new(),
            words: Vec::new(),
            said: Vec::new(),
            unsaid: Vec::new(),
            noted: Vec::new(),
            over: Vec::new(),
            refers: false,
            used: BTreeSet::new(),
        }
    }

    /// An empty page of the same paper.
    fn like(&self) -> Page {
        Page::empty(self.paper, self.room, self.foot, self.legend)
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

    /// The caution and the notes at the foot, above what is kept below them. They are never cut:
    /// where the foot is too low they begin higher, in what the drawing leaves free, and what has no
    /// room there goes on on a sheet of its own.
    pub fn notes(&mut self, caution: &[&str], texts: &[String], below: f64) {
        let h = letters::SMALL;
        let line = h * PITCH;
        let set = |text: &String, w: f64| wrap(text, h, Weight::Regular, w);
        let deep = |w: f64| -> f64 {
            let lines: usize = texts.iter().map(|t| set(t, w).len()).sum();
            lines as f64 * line + texts.len() as f64 * h * 0.35
        };
        let boxed = caution_lines(caution, self.foot.w).len() as f64 * line + 2.4;
        let wanted = boxed + 2.0 + deep(self.foot.w) + below;
        let free = (self.foot.y - self.lowest() - 3.0).max(0.0);
        let more = (wanted - self.foot.h).clamp(0.0, free);
        self.foot = Rect { y: self.foot.y - more, h: self.foot.h + more, ..self.foot };
        let used = self.caution(self.foot, caution);
        let bottom = self.foot.bottom() - below;
        let mut y = self.foot.y + used + 2.0;
        for (i, text) in texts.iter().enumerate() {
            let lines = set(text, self.foot.w);
            if y + (lines.len() - 1) as f64 * line + h * 1.4 > bottom {
                self.over = texts[i..].to_vec();
                return;
            }
            self.noted.push(text.clone());
            y = self.lines(P2::new(self.foot.x, y), self.foot.w, lines) + h * 0.35;
        }
    }

    /// Lines down from a point; gives where the next begins.
    fn lines(&mut self, at: P2, w: f64, lines: Vec<String>) -> f64 {
        let h = letters::SMALL;
        let mut y = at.y;
        for line in lines {
            let line = fitted(&line, h, Weight::Regular, w);
            self.words.push(Words::new(P2::new(at.x, y + h), line, h).into());
            y += h * PITCH;
        }
        y
    }

    /// How far down the drawing reaches, left of the title block.
    fn lowest(&self) -> f64 {
        let all = self.wires.iter().chain(&self.symbols).chain(&self.words);
        all.map(bottom_of).fold(self.room.y, f64::max)
    }

    /// The same drawing on another paper.
    pub fn onto(&mut self, other: &Page) {
        (self.paper, self.room, self.foot, self.legend) =
            (other.paper, other.room, other.foot, other.legend);
    }

    /// A boxed warning down a box; gives the depth used.
    pub fn caution(&mut self, at: Rect, texts: &[&str]) -> f64 {
        let h = letters::SMALL;
        let lines = caution_lines(texts, at.w);
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

fn caution_lines(texts: &[&str], w: f64) -> Vec<String> {
    texts.iter().flat_map(|t| wrap(t, letters::SMALL, Weight::Bold, w - 4.0)).collect()
}

fn bottom_of(item: &Item) -> f64 {
    match item {
        Item::Group(g) => g.items.iter().map(bottom_of).fold(f64::MIN, f64::max),
        Item::Words(w) => w.on_paper().bottom(),
        Item::Shape(s) => s.path.iter().map(seg_bottom).fold(f64::MIN, f64::max),
    }
}

fn seg_bottom(seg: &Seg) -> f64 {
    match seg {
        Seg::Move(p) | Seg::Line(p) | Seg::Cubic(_, _, p) => p.y,
        Seg::Arc { radius, to, .. } => to.y + radius,
        Seg::Close => f64::MIN,
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

#[cfg(test)]
mod tests {
    use super::*;

    fn said(items: &[Item], into: &mut String) {
        for item in items {
            match item {
                Item::Group(g) => said(&g.items, into),
                Item::Words(w) => {
                    into.push_str(&w.text);
                    into.push(' ');
                }
                Item::Shape(_) => {}
            }
        }
    }

    /// A note that one sheet of two has no room for stands on the other, and needs no third.
    #[test]
    fn a_note_of_another_sheet_is_not_said_again() {
        let data = TitleData::default();
        let mut full = Page::new(&data);
        full.symbols.push(Shape::rect(full.room, None, None).into());
        let notes: Vec<String> = (0..20)
            .map(|i| format!("{} end-of-{i}.", "A note of many words. ".repeat(9)))
            .collect();
        let alone = |pages: Vec<Page>| {
            sheets_of(pages, "k", "T", |page| page.notes(&["Take care."], &notes, 0.0)).len()
        };
        let mut again = Page::new(&data);
        again.symbols.push(Shape::rect(again.room, None, None).into());
        assert_eq!(alone(vec![full]), 2);
        assert_eq!(alone(vec![again, Page::new(&data)]), 2);
    }

    /// The last word of every note is on some sheet, whether or not the drawing leaves room.
    #[test]
    fn no_note_is_cut() {
        let data = TitleData::default();
        for count in [1, 10, 40, 90] {
            for full in [true, false] {
                let mut page = Page::new(&data);
                if full {
                    let at = Rect { h: page.room.h, ..page.room };
                    page.symbols.push(Shape::rect(at, None, None).into());
                }
                let notes: Vec<String> = (0..count)
                    .map(|i| format!("{} end-of-{i}.", "A note of many words. ".repeat(12)))
                    .collect();
                let sheets = sheets_of(vec![page], "k", "T", |page| {
                    page.notes(&["Take care."], &notes, 0.0)
                });
                let mut text = String::new();
                sheets.iter().for_each(|s| said(&s.items, &mut text));
                for i in 0..count {
                    assert!(text.contains(&format!("end-of-{i}.")), "{count} {full}: {i}");
                }
            }
        }
    }
}
