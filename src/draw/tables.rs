//! Text and tables that flow down a sheet and on to the next. In: headings, paragraphs, rows.
//! Out: undressed sheets of one paper size, as many as it takes, `key`, `key-2`, `key-3`, …

use super::frame::{TitleData, space_above_block};
use super::scene::{Anchor, Ink, Item, Paper, Shape, Sheet, Stroke, Words};
use super::style::{letters, width};
use crate::lettering::{Weight, fitted, wrap};
use crate::model::{P2, Rect};

/// Space between the frame and the text.
const INSET: f64 = 4.0;
/// From one baseline to the next, as a multiple of the letter height (ISO 3098 type B, capitals
/// without accents and lower case: 15/10).
const PITCH: f64 = 1.65;
/// White over and under a row of a table, the better first.
const PADS: [f64; 3] = [1.2, 0.9, 0.6];
const CELL_PAD: f64 = PADS[0];
/// A last sheet on which less of its height is filled takes some of what is on those before it.
const LITTLE: f64 = 0.35;
/// How much less of each sheet is filled for that, of its height, at a time and at the most.
const SHORTER: (f64, i32) = (0.05, 10);
/// So many rows of a table go on to its last sheet at least, where as many stay before.
const FEW: usize = 6;
/// What may stay white for their sake, of the height of a sheet.
const HOLE: f64 = 0.15;

/// A column: its heading and its width in mm.
#[derive(Clone, Debug)]
pub struct Column {
    pub heading: &'static str,
    pub w: f64,
    /// Figures stand at the right of their column.
    pub figures: bool,
}

/// A column of words.
pub const fn words(heading: &'static str, w: f64) -> Column {
    Column { heading, w, figures: false }
}

/// A column of figures.
pub const fn figures(heading: &'static str, w: f64) -> Column {
    Column { heading, w, figures: true }
}

/// A text that fills sheets from the top.
pub struct Flow<'a> {
    key: &'a str,
    title: &'a str,
    description: String,
    paper: Paper,
    room: Rect,
    height: f64,
    /// White over and under a row.
    pad: f64,
    y: f64,
    items: Vec<Item>,
    done: Vec<Vec<Item>>,
    /// A heading that waits for what it heads: it never stands alone at the foot of a sheet.
    waits: Option<Head>,
}

/// A heading, and the lines that lead in to what it heads.
struct Head {
    text: String,
    lead: Vec<Words>,
    /// Of the lead's lines, mm; they are drawn from nought down.
    deep: f64,
}

/// A longer paragraph under a heading stands for itself.
const LEAD: usize = 4;

impl<'a> Flow<'a> {
    pub fn new(key: &'a str, title: &'a str, paper: Paper, data: &TitleData) -> Flow<'a> {
        Flow::within(key, title, paper, space_above_block(paper, data))
    }

    /// A text that keeps to a space of the paper.
    pub fn within(key: &'a str, title: &'a str, paper: Paper, space: Rect) -> Flow<'a> {
        let room = Rect::new(
            space.x + INSET,
            space.y + INSET,
            space.w - 2.0 * INSET,
            space.h - 2.0 * INSET,
        );
        Flow {
            key,
            title,
            description: String::new(),
            paper,
            room,
            height: letters::SMALL,
            pad: CELL_PAD,
            y: room.y,
            items: Vec::new(),
            done: Vec::new(),
            waits: None,
        }
    }

    /// What is written on as few sheets as closer rows allow, at the roomiest spacing that takes no
    /// more; where little is left for the last of them, each bears a like share.
    pub fn fewest(begun: impl Fn() -> Flow<'a>, write: impl Fn(&mut Flow)) -> Vec<Sheet> {
        let written = |pad: f64, shorter: f64| {
            let mut flow = Flow { pad, ..begun() };
            let whole = flow.room.h;
            flow.room.h *= 1.0 - shorter;
            write(&mut flow);
            flow.need(0.0);
            (flow.done.len(), (flow.y - flow.room.y) / whole, flow)
        };
        let mut all: Vec<_> = PADS.into_iter().map(|pad| (pad, written(pad, 0.0))).collect();
        let least = all.iter().map(|(_, (sheets, ..))| *sheets).min().unwrap_or(0);
        all.retain(|(_, (sheets, ..))| *sheets == least);
        let (pad, (sheets, filled, flow)) = all.remove(0);
        if sheets == 0 || filled >= LITTLE {
            return flow.finish();
        }
        let shorter = (1..=SHORTER.1).map(|i| written(pad, SHORTER.0 * f64::from(i)));
        shorter.take_while(|w| w.0 == sheets).last().map_or(flow, |w| w.2).finish()
    }

    /// Bigger letters from here on, mm.
    pub fn letters(&mut self, height: f64) {
        self.height = height;
    }

    /// Width of the text, mm.
    pub fn measure(&self) -> f64 {
        self.room.w
    }

    /// Depth left on this sheet, mm.
    pub fn left(&self) -> f64 {
        self.room.bottom() - self.y
    }

    /// Under a heading that waits it goes with it.
    pub fn gap(&mut self, mm: f64) {
        match &mut self.waits {
            Some(head) => head.deep += mm,
            None => self.y += mm,
        }
    }

    /// Starts a new sheet unless `mm` are left on this one, for what comes and for the heading that
    /// waits for it; then prints that heading.
    pub fn need(&mut self, mm: f64) {
        let h = self.height.max(letters::HEADING);
        let head = self.waits.as_ref().map_or(0.0, |w| h * (1.0 + PITCH) + w.deep);
        if self.left() < mm + head && self.y > self.room.y {
            self.turn_over();
        }
        let Some(head) = self.waits.take() else { return };
        if self.y > self.room.y {
            self.y += h;
        }
        self.items.push(Words::new(P2::new(self.room.x, self.y + h), head.text, h).bold().into());
        self.y += h * PITCH;
        for mut words in head.lead {
            words.at.y += self.y;
            self.items.push(words.into());
        }
        self.y += head.deep;
    }

    fn turn_over(&mut self) {
        self.done.push(std::mem::take(&mut self.items));
        self.y = self.room.y;
    }

    /// A drawing of that depth in the flow: `draw` gets the box it may fill.
    pub fn picture(&mut self, depth: f64, draw: impl FnOnce(Rect) -> Vec<Item>) {
        self.need(depth);
        let room = Rect::new(self.room.x, self.y, self.room.w, depth);
        self.items.extend(draw(room));
        self.y += depth;
    }

    pub fn heading(&mut self, text: &str) {
        self.need(0.0);
        let h = self.height.max(letters::HEADING);
        let text = fitted(text, h, Weight::Bold, self.room.w);
        self.say(&text);
        self.waits = Some(Head { text, lead: Vec::new(), deep: 0.0 });
    }

    /// A paragraph that is not torn between two sheets.
    pub fn whole(&mut self, text: &str) {
        let lines = wrap(text, self.height, Weight::Regular, self.room.w).len();
        self.need((self.height * PITCH * lines as f64).min(self.room.h));
        self.paragraph(text);
    }

    pub fn paragraph(&mut self, text: &str) {
        self.inked(text, Ink::BLACK, Weight::Regular);
    }

    pub fn strong(&mut self, text: &str) {
        self.inked(text, Ink::BLACK, Weight::Bold);
    }

    fn inked(&mut self, text: &str, ink: Ink, weight: Weight) {
        self.say(text);
        let h = self.height;
        let lines = wrap(text, h, weight, self.room.w);
        let x = self.room.x;
        let (weighed, measure) = (weight, self.room.w);
        let set = |line: String, y: f64| -> Words {
            let line = fitted(&line, h, weighed, measure);
            let mut words = Words::new(P2::new(x, y + h), line, h).ink(ink);
            words.weight = weighed;
            words
        };
        // What leads in to a table goes with it.
        if let Some(head) = self.waits.as_mut().filter(|w| w.lead.len() + lines.len() <= LEAD) {
            for line in lines {
                head.lead.push(set(line, head.deep));
                head.deep += h * PITCH;
            }
            head.deep += h * 0.4;
            return;
        }
        // Neither the first nor the last line of a paragraph stands alone.
        let count = lines.len();
        let together = if count <= 3 { count } else { 2 };
        self.need(h * PITCH * together as f64);
        for (i, line) in lines.into_iter().enumerate() {
            let last_two = i > 0 && i + 2 == count;
            self.need(h * PITCH * if last_two { 2.0 } else { 1.0 });
            self.items.push(set(line, self.y).into());
            self.y += h * PITCH;
        }
        self.y += h * 0.4;
    }

    /// Short paragraphs in two columns of like length, down the first and then the second; on every
    /// sheet that they reach.
    pub fn in_two_columns(&mut self, texts: &[String]) {
        const APART: f64 = 6.0;
        let (h, column) = (self.height, (self.room.w - APART) / 2.0);
        texts.iter().for_each(|text| self.say(text));
        let wrapped = |t: &String| wrap(t, h, Weight::Regular, column);
        let all: Vec<Vec<String>> = texts.iter().map(wrapped).collect();
        let deep = |lines: &Vec<String>| h * (PITCH * lines.len() as f64 + 0.4);
        let mut rest = &all[..];
        while !rest.is_empty() {
            self.need(rest.iter().take(2).map(deep).fold(0.0, f64::max));
            // As many as two columns hold, then the shortest columns that hold as many.
            let held = |depth: f64| -> (usize, usize) {
                let fill = |list: &[Vec<String>]| {
                    let mut left = depth;
                    let fits = |t: &&Vec<String>| {
                        left -= deep(t);
                        left > -1e-6
                    };
                    list.iter().take_while(fits).count()
                };
                let first = fill(rest);
                (first, fill(&rest[first..]))
            };
            let most = held(self.left());
            let total = most.0 + most.1;
            let steps = (1..).map(|i| h * f64::from(i)).take_while(|d| *d < self.left());
            let even = steps.map(|d| (d, held(d))).find(|(_, (a, b))| a + b >= total);
            let (depth, (first, second)) = even.unwrap_or((self.left(), most));
            if first + second == 0 {
                // Deeper than a sheet: down the whole width.
                self.paragraph(&rest[0].join(" "));
                rest = &rest[1..];
                continue;
            }
            let columns = [&rest[..first], &rest[first..first + second]];
            for (k, list) in columns.into_iter().enumerate() {
                let x = self.room.x + k as f64 * (column + APART);
                let mut y = self.y;
                for lines in list {
                    for line in lines {
                        let line = fitted(line, h, Weight::Regular, column);
                        self.items.push(Words::new(P2::new(x, y + h), line, h).into());
                        y += h * PITCH;
                    }
                    y += h * 0.4;
                }
            }
            self.y += depth;
            rest = &rest[first + second..];
        }
    }

    /// A boxed warning.
    pub fn caution(&mut self, text: &str) {
        self.say(text);
        let h = self.height;
        let lines = wrap(text, h, Weight::Bold, self.room.w - 4.0);
        let depth = lines.len() as f64 * h * PITCH + 2.5;
        self.need(depth + h);
        let frame = Rect::new(self.room.x, self.y, self.room.w, depth);
        let edge = Stroke::solid(width::FRAME, Ink::BLACK);
        self.items.push(Shape::rect(frame, Some(edge), None).into());
        for (i, line) in lines.iter().enumerate() {
            let line = fitted(line, h, Weight::Bold, self.room.w - 4.0);
            let at = P2::new(frame.x + 2.0, frame.y + 1.8 + h + i as f64 * h * PITCH);
            self.items.push(Words::new(at, line, h).bold().into());
        }
        self.y += depth + h * 0.8;
    }

    /// A line with a caption and room to write on it.
    pub fn blank(&mut self, caption: &str) {
        self.say(caption);
        let h = self.height;
        self.need(h * 3.2);
        self.y += h * 1.2;
        let text = fitted(caption, h, Weight::Regular, self.room.w * 0.45);
        let y = self.y + h;
        self.items.push(Words::new(P2::new(self.room.x, y), text, h).into());
        let from = P2::new(self.room.x + self.room.w * 0.47, y + 0.8);
        let to = P2::new(self.room.right(), y + 0.8);
        self.items.push(Shape::line(&[from, to], Stroke::solid(width::THIN, Ink::BLACK)).into());
        self.y += h * PITCH;
    }

    /// Lines to write on that stay together.
    pub fn blanks(&mut self, captions: &[&str]) {
        let each = self.height * (1.2 + PITCH);
        self.need(each * captions.len() as f64 + self.height);
        for caption in captions {
            self.blank(caption);
        }
    }

    /// A ruled table; the heading row is repeated on every sheet it reaches. An empty text in a
    /// cell leaves room to write.
    pub fn table(&mut self, columns: &[Column], rows: &[Vec<String>]) {
        if rows.is_empty() {
            return;
        }
        let total: f64 = columns.iter().map(|c| c.w).sum();
        let stretch = self.room.w / total;
        let widths: Vec<f64> = columns.iter().map(|c| c.w * stretch).collect();
        let heading: Vec<String> = columns.iter().map(|c| c.heading.to_owned()).collect();
        let headed = heading.iter().any(|h| !h.is_empty());
        let head_depth = if headed { self.depth(&heading, &widths, Weight::Bold) } else { 0.0 };
        let depths: Vec<f64> =
            rows.iter().map(|row| self.depth(row, &widths, Weight::Regular)).collect();
        // Neither the first nor the last row stands alone on a sheet, unless it is many lines deep.
        let deep = depths[0] > 3.0 * self.height * PITCH;
        // Of three rows that is all.
        let together = match rows.len() {
            _ if deep => 1,
            3 => 3,
            _ => 2,
        };
        self.need(head_depth + depths.iter().take(together).sum::<f64>());
        if headed {
            self.ruled(&heading, columns, &widths, Weight::Bold);
        }
        for (i, row) in rows.iter().enumerate() {
            let rest = &depths[i..];
            let over = self.left() < rest.iter().sum();
            let last_two = i > 1 && rest.len() == 2 && over;
            // A few that would stand alone on the last sheet take some before them along, as long as
            // these leave no great hole.
            let few = rest.len() <= FEW
                && i >= FEW
                && over
                && self.left() < HOLE * self.room.h
                && rest.iter().sum::<f64>() < self.room.h / 2.0;
            if self.left() < depths[i] || last_two || few {
                self.turn_over();
                if headed {
                    self.ruled(&heading, columns, &widths, Weight::Bold);
                }
            }
            self.say(&row.join(", "));
            self.ruled(row, columns, &widths, Weight::Regular);
        }
        self.y += self.height;
    }

    fn depth(&self, row: &[String], widths: &[f64], weight: Weight) -> f64 {
        let most = row
            .iter()
            .zip(widths)
            .map(|(text, w)| self.lines(text, weight, w - 2.0 * CELL_PAD).len())
            .max()
            .unwrap_or(1)
            .max(1);
        most as f64 * self.height * PITCH + 2.0 * self.pad
    }

    /// A cell's lines; what would not fit on a whole sheet is cut and says so.
    fn lines(&self, text: &str, weight: Weight, room: f64) -> Vec<String> {
        let mut lines = wrap(text, self.height, weight, room);
        let most = ((self.room.h * 0.8) / (self.height * PITCH)) as usize;
        if lines.len() > most {
            lines.truncate(most);
            lines.push("… and more".to_owned());
        }
        lines
    }

    fn ruled(&mut self, row: &[String], columns: &[Column], widths: &[f64], weight: Weight) {
        let (h, depth) = (self.height, self.depth(row, widths, weight));
        let thin = || Stroke::solid(width::THIN, Ink::BLACK);
        let mut x = self.room.x;
        for ((text, column), w) in row.iter().zip(columns).zip(widths) {
            let cell = Rect::new(x, self.y, *w, depth);
            self.items.push(Shape::rect(cell, Some(thin()), None).into());
            let room = w - 2.0 * CELL_PAD;
            for (i, line) in self.lines(text, weight, room).iter().enumerate() {
                let line = fitted(line, h, weight, room);
                let y = self.y + self.pad + h * (1.1 + i as f64 * PITCH);
                let mut words = if column.figures && weight == Weight::Regular {
                    Words::new(P2::new(x + w - CELL_PAD, y), line, h).anchor(Anchor::End)
                } else {
                    Words::new(P2::new(x + CELL_PAD, y), line, h)
                };
                words.weight = weight;
                self.items.push(words.into());
            }
            x += w;
        }
        self.y += depth;
    }

    fn say(&mut self, text: &str) {
        if !self.description.is_empty() {
            self.description.push(' ');
        }
        self.description.push_str(text);
        if !text.ends_with(['.', ':', '!', '?']) {
            self.description.push('.');
        }
    }

    /// The sheets.
    pub fn finish(mut self) -> Vec<Sheet> {
        self.need(0.0);
        if !self.items.is_empty() || self.done.is_empty() {
            self.done.push(std::mem::take(&mut self.items));
        }
        let many = self.done.len() > 1;
        let description = self.description;
        self.done
            .into_iter()
            .enumerate()
            .map(|(i, items)| Sheet {
                key: if i == 0 { self.key.to_owned() } else { format!("{}-{}", self.key, i + 1) },
                title: if many {
                    format!("{}, part {}", self.title, i + 1)
                } else {
                    self.title.to_owned()
                },
                description: description.clone(),
                paper: self.paper,
                scale: None,
                items,
            })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn texts(sheet: &Sheet) -> Vec<String> {
        let of = |i: &Item| match i {
            Item::Words(w) => Some(w.text.clone()),
            _ => None,
        };
        sheet.items.iter().filter_map(of).collect()
    }

    /// A small sheet with something on it down to a depth, mm.
    fn filled_to(depth: f64) -> Flow<'static> {
        let space = Rect::new(0.0, 0.0, 180.0, 120.0);
        let mut flow = Flow::within("t", "T", Paper::A4_PORTRAIT, space);
        flow.gap(depth);
        flow.items.push(Words::new(P2::new(0.0, 0.0), "above", 2.5).into());
        flow
    }

    /// However much stands above: a heading with its words is on the sheet of its first two rows.
    #[test]
    fn a_heading_goes_with_its_table() {
        for filled in 0..60 {
            let mut flow = filled_to(f64::from(filled) * 2.0);
            flow.heading("Cable");
            flow.paragraph("What leads in.");
            let rows: Vec<Vec<String>> = (0..3).map(|i| vec![format!("row {i}")]).collect();
            flow.table(&[words("Head", 100.0)], &rows);
            let sheets = flow.finish();
            let of = |text: &str| sheets.iter().position(|s| texts(s).iter().any(|t| t == text));
            assert_eq!(of("Cable"), of("row 0"), "{filled}");
            assert_eq!(of("Cable"), of("What leads in."), "{filled}");
            assert_eq!(of("Cable"), of("row 1"), "{filled}");
        }
    }

    /// Rows that go over by a few stand closer; where that does not help, no sheet is left with a few.
    #[test]
    fn no_last_sheet_bears_a_few_rows() {
        let space = Rect::new(0.0, 0.0, 180.0, 240.0);
        for n in 20..120 {
            let begun = || Flow::within("t", "T", Paper::A4_PORTRAIT, space);
            let rows: Vec<Vec<String>> = (0..n).map(|i| vec![format!("row {i}")]).collect();
            let write = |flow: &mut Flow| flow.table(&[words("Head", 100.0)], &rows);
            let rows_on = |s: &Sheet| texts(s).iter().filter(|t| t.starts_with("row")).count();
            let counts: Vec<usize> = Flow::fewest(begun, write).iter().map(rows_on).collect();
            assert_eq!(counts.iter().sum::<usize>(), n, "{n}");
            // 2.5 mm letters at 1.65 and twice 0.6 of white: 43 rows go on a sheet with its heading.
            assert_eq!(counts.len(), n.div_ceil(42).max(1).min(n.div_ceil(41)), "{n}: {counts:?}");
            if let [first, .., last] = counts[..] {
                assert!(3 * last >= first, "{n}: {counts:?}");
            }
        }
    }

    #[test]
    fn lines_to_sign_on_stay_together() {
        for filled in 0..60 {
            let mut flow = filled_to(f64::from(filled) * 2.0);
            flow.heading("Signed");
            flow.blanks(&["Installer", "Date", "Signature"]);
            let sheets = flow.finish();
            let of = |text: &str| sheets.iter().position(|s| texts(s).iter().any(|t| t == text));
            assert_eq!(of("Signed"), of("Signature"), "{filled}");
        }
    }
}
