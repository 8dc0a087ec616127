//! One ladder of the circuit diagram. In: its plan, the rails, the rows that stand on this sheet.
//! Out: on a page, head, rails, rungs, contacts, loads with their words; how deep all this is.

use super::names::{name, works};
use super::page::{Page, short, words};
use super::symbols::{self, ACTUATOR, Drawn, HALF, Used, Worked, dot, terminal};
use crate::draw::frame::capital;
use crate::draw::scene::{Anchor, Ink, Stroke};
use crate::draw::style::{letters, width};
use crate::layout::wiring::ladder::{Cell, Element, Ladder};
use crate::lettering::{Weight, fitted, wrap};
use crate::model::{P2, Rect};
use crate::wire::netlist::{Actuator, Contact, LoadRole, Supply, When, Wiring, terminal_of};

/// Room above and below the line of a rung: at a contact, at a load, at the bare line with the
/// names of its terminals, for each line of words beyond the first.
const ABOVE: f64 = ACTUATOR + 0.4;
const ABOVE_LOAD: f64 = 5.8;
const ABOVE_LINE: f64 = 4.6;
const BELOW: f64 = 8.8;
const BELOW_LINE: f64 = 1.0;
const MORE: f64 = 3.7;
/// Room for a circuit's head, and under its last rung.
const HEAD: f64 = 17.0;
/// What a circuit-breaker above its switch takes more.
const BREAKER: f64 = 4.5;
/// Where no supply is drawn: a ladder that goes on, or a device's own loop.
const SHORT_HEAD: f64 = 11.0;
const TAIL: f64 = 1.0;
/// Where the rails stand from the sides of the drawing.
const LEFT: f64 = 12.0;
const RIGHT: f64 = 34.0;
/// Half the length of a fuse.
const FUSE: f64 = 3.75;
/// Width kept for a load before the neutral.
const LOAD: f64 = 58.0;

pub struct Drawing<'a> {
    w: &'a Wiring,
    plan: &'a Ladder,
    numbers: &'a [(Element, usize)],
    rails: (f64, f64),
    /// From one level to the next.
    step: f64,
    /// Room above and below the line, for each row and each column of it; the last is the loads'.
    room: Vec<Vec<(f64, f64)>>,
    /// The number of the first rung.
    pub first: usize,
    /// The rows on this sheet, the last one excluded.
    pub rows: (usize, usize),
}

impl<'a> Drawing<'a> {
    pub fn new(
        w: &'a Wiring,
        plan: &'a Ladder,
        numbers: &'a [(Element, usize)],
        at: &Rect,
    ) -> Drawing<'a> {
        let rails = (at.x + LEFT, at.right() - RIGHT);
        let step = (rails.1 - rails.0 - LOAD) / (plan.levels - 1).max(1) as f64;
        let mut d =
            Drawing { w, plan, numbers, rails, step, room: Vec::new(), first: 1, rows: (0, 0) };
        let line = (ABOVE_LINE, BELOW_LINE);
        d.room = vec![vec![line; plan.levels + 1]; plan.rows];
        for cell in &plan.cells {
            let (column, above) = match cell.element {
                Element::Contact(_) => (cell.from.min(plan.levels), ABOVE),
                Element::Load(_) => (plan.levels, ABOVE_LOAD),
            };
            let lines = d.caption(cell.element).len().max(1);
            d.room[cell.row][column] = (above, BELOW + MORE * (lines - 1) as f64);
        }
        d
    }

    fn above(&self, row: usize) -> f64 {
        self.room[row].iter().map(|c| c.0).fold(0.0, f64::max)
    }

    fn below(&self, row: usize) -> f64 {
        self.room[row].iter().map(|c| c.1).fold(0.0, f64::max)
    }

    /// The lines of the rows from one on, under one another: as near as what stands in one column
    /// lets them.
    fn lines(&self, from: usize) -> impl Iterator<Item = (usize, f64)> {
        let mut y = 0.0;
        (from..self.plan.rows).map(move |row| {
            y += if row == from {
                self.above(row)
            } else {
                let columns = self.room[row - 1].iter().zip(&self.room[row]);
                columns.map(|(upper, lower)| upper.1 + lower.0).fold(0.0, f64::max)
            };
            (row, y)
        })
    }

    /// How many rows from one on fit into a depth, with the head and what follows the last.
    pub fn fits(&self, from: usize, depth: f64) -> usize {
        let depth = depth - self.head_depth(from > 0) - TAIL;
        self.lines(from).take_while(|(row, y)| y + self.below(*row) <= depth).count()
    }

    /// The depth of the whole ladder.
    pub fn depth(&self) -> f64 {
        let last = self.lines(0).last().map_or(0.0, |(row, y)| y + self.below(row));
        self.head_depth(false) + last + TAIL
    }

    fn head_depth(&self, again: bool) -> f64 {
        let supply = &self.w.supplies[self.plan.supply];
        match (again || supply.inside, supply.new_circuit) {
            (true, _) => SHORT_HEAD,
            (false, true) => HEAD + BREAKER,
            (false, false) => HEAD,
        }
    }

    /// `more`: the part on which the ladder goes on.
    pub fn onto(&self, page: &mut Page, top: f64, more: Option<usize>) -> f64 {
        let (l, r) = self.rails;
        let again = self.rows.0 > 0;
        let supply = &self.w.supplies[self.plan.supply];
        let deep = self.head_depth(again);
        let head = top + deep - 2.0;
        self.head(page, supply, (l, r), top, head, again);
        let lines: Vec<f64> = self
            .lines(self.rows.0)
            .take(self.rows.1 - self.rows.0)
            .map(|(_, y)| top + deep + y)
            .collect();
        let y_of = |row: usize| lines[row - self.rows.0];
        // Where the ladder goes on, the rails pass the words under the last rung.
        let last = self.rows.1 - 1;
        let foot = y_of(last) + if more.is_some() { self.below(last) - 0.4 } else { 3.0 };
        let rail = || Stroke::solid(width::FRAME, Ink::BLACK);
        for (x, name) in [(l, &supply.line), (r, &supply.neutral)] {
            let what = if x == l { "line rail" } else { "neutral rail" };
            page.wire(name, what, &[P2::new(x, head), P2::new(x, foot)], rail());
            let Some(part) = more else { continue };
            let tip = foot + 1.2;
            page.symbols.push(symbols::line(&[
                (x - 1.2, tip - 2.4),
                (x, tip),
                (x + 1.2, tip - 2.4),
            ]));
            page.label(
                name,
                words(x + 2.2, tip + 2.2, format!("on in part {part}"), Anchor::Start),
            );
        }
        let x_of = |level: usize| {
            if level >= self.plan.levels { r } else { l + level as f64 * self.step }
        };
        for riser in &self.plan.risers {
            self.riser(page, x_of(riser.level), riser, &y_of);
        }
        for cell in self.plan.cells.iter().filter(|c| (self.rows.0..self.rows.1).contains(&c.row)) {
            let (x0, x1, y) = (x_of(cell.from), x_of(cell.to), y_of(cell.row));
            match cell.element {
                Element::Contact(c) => self.contact(page, cell, &self.w.contacts[c], (x0, x1), y),
                Element::Load(i) => self.load(page, i, (x0, r), y),
            }
            if cell.from == 0 {
                page.symbols.push(dot(l, y));
            }
        }
        for row in self.rows.0..self.rows.1 {
            let n = (self.first + row - self.rows.0).to_string();
            page.words.push(words(l - 3.0, y_of(row) + 1.25, n, Anchor::End).bold().into());
        }
        y_of(last) + self.below(last) + TAIL
    }

    /// Supply, isolator and fuse; the rails start here.
    fn head(&self, page: &mut Page, s: &Supply, rails: (f64, f64), top: f64, y: f64, again: bool) {
        let (l, r) = rails;
        let pen = || Stroke::solid(width::SYMBOL, Ink::BLACK);
        let title = format!("{}{}", capital(&s.name), if again { ", continued" } else { "" });
        page.heading(P2::new(page.room.x, top + 4.0), &title);
        if again || s.inside {
            let left = if s.inside { s.line.clone() } else { "L".to_owned() };
            let right = if s.inside { "inside" } else { "N" };
            page.label(&s.line, words(l + 2.0, y + 2.3, left, Anchor::Start).bold());
            page.label(&s.neutral, words(r - 2.0, y + 2.3, right, Anchor::End).bold());
            return;
        }
        let mid = f64::midpoint(l, r);
        let (li, ni) = (mid - 5.0, mid + 5.0);
        let supply_y = top + 6.6;
        page.label(
            &s.line,
            words(mid, top + 3.4, format!("supply {} V 50 Hz", s.volts), Anchor::Middle),
        );
        for (x, name) in [(li, "L"), (ni, "N")] {
            page.symbols.push(terminal(x, supply_y));
            let side = if x < mid { Anchor::End } else { Anchor::Start };
            let dx = if x < mid { -2.0 } else { 2.0 };
            page.label(&s.line, words(x + dx, supply_y + 1.25, name, side).bold());
        }
        // In the order of the current: a circuit-breaker stands before the switch, the fuse of a
        // connection unit behind its own.
        let (lp, np) = (mid - 20.0, mid + 20.0);
        // Above the link of the switch: crossing it, it would pass for a pole of it.
        let breaker = P2::new(li, y - 3.8 - HALF);
        let fuse = P2::new(mid - 46.0, y);
        let mut down = P2::new(li, supply_y + 0.9);
        if s.new_circuit {
            let in_ = P2::new(li, breaker.y - HALF);
            page.wire(&s.line, "line", &[down, in_], pen());
            down = P2::new(li, breaker.y + HALF);
        }
        page.wire(&s.line, "line", &[down, P2::new(li, y), P2::new(lp + HALF, y)], pen());
        if s.new_circuit {
            page.wire(&s.line, "line", &[P2::new(lp - HALF, y), P2::new(l, y)], pen());
        } else {
            let ends = [fuse.x + FUSE, fuse.x - FUSE];
            page.wire(&s.line, "line", &[P2::new(lp - HALF, y), P2::new(ends[0], y)], pen());
            page.wire(&s.line, "line", &[P2::new(ends[1], y), P2::new(l, y)], pen());
        }
        page.wire(
            &s.neutral,
            "neutral",
            &[P2::new(ni, supply_y + 0.9), P2::new(ni, y), P2::new(np - HALF, y)],
            pen(),
        );
        page.wire(&s.neutral, "neutral", &[P2::new(np + HALF, y), P2::new(r, y)], pen());
        let isolator = self.w.device(&s.isolator);
        let name = isolator.map(|d| name(self.w, &d.id)).unwrap_or_default();
        let words_of = isolator.map(|d| d.words.clone()).unwrap_or_default();
        // Both poles move together: the link is dashed between them.
        let tag = self.w.tag_of(&s.isolator).to_owned();
        for (x, to) in [(lp, -2.6), (np, 2.6)] {
            let from = if to < 0.0 { HALF } else { -HALF };
            let blade = vec![symbols::line(&[(x + from, y), (x + to, y - 3.2)])];
            let on_paper = Rect::new(x - HALF, y - 3.4, 2.0 * HALF, 3.4);
            page.part(&tag, "isolator", &words_of, on_paper, blade);
        }
        page.symbols.push(symbols::dashed(&[(lp, y - 1.7), (np, y - 1.7)]));
        page.label(&tag, words(np + 6.0, y - 2.0, format!("{name}  both poles"), Anchor::Start));
        if s.new_circuit {
            page.used.insert(Used::Breaker);
            let source = crate::wire::netlist::device_of(&s.line);
            let on_paper = Rect::new(li - 3.2, breaker.y - HALF, 4.1, 2.0 * HALF);
            let symbol = symbols::breaker(breaker.x, breaker.y);
            page.part(source, "circuit-breaker", "circuit-breaker", on_paper, symbol);
            let way = self::name(self.w, source);
            let text = format!("{way}: circuit-breaker, {} A", s.fuse);
            page.label(source, words(li - 4.2, breaker.y + 1.25, text, Anchor::End));
        } else {
            page.used.insert(Used::Fuse);
            let on_paper = Rect::new(fuse.x - FUSE, y - 1.25, 2.0 * FUSE, 2.5);
            page.part(&tag, "fuse", "fuse, BS 1362", on_paper, symbols::fuse(fuse.x, y));
            let text = format!("fuse, BS 1362, {} A", s.fuse);
            page.label(&tag, words(fuse.x - 6.0, y - 2.0, text, Anchor::End));
        }
        let text = format!("L {}", if s.new_circuit { "" } else { "(X1:1)" });
        page.label(&s.line, words(l + 2.0, y - 2.0, text.trim(), Anchor::Start).bold());
        let text = format!("{} N", if s.new_circuit { "" } else { "(X1:2)" });
        page.label(&s.neutral, words(r - 2.0, y - 2.0, text.trim(), Anchor::End).bold());
    }

    fn riser(
        &self,
        page: &mut Page,
        x: f64,
        riser: &crate::layout::wiring::ladder::Riser,
        y_of: &dyn Fn(usize) -> f64,
    ) {
        let rows: Vec<usize> =
            riser.rows.iter().copied().filter(|r| (self.rows.0..self.rows.1).contains(r)).collect();
        let (Some(first), Some(last)) = (rows.first(), rows.last()) else { return };
        let (y0, y1) = (y_of(*first), y_of(*last));
        let name = riser.ways.first().cloned().unwrap_or_else(|| "net".to_owned());
        if last > first {
            let pen = Stroke::solid(width::SYMBOL, Ink::BLACK);
            page.wire(&name, &name, &[P2::new(x, y0), P2::new(x, y1)], pen);
            for r in &rows {
                page.symbols.push(dot(x, y_of(*r)));
            }
        }
        if !riser.ways.is_empty() {
            page.used.insert(Used::Terminal);
            page.symbols.push(terminal(x, y0));
            page.label(&name, words(x + 1.6, y0 - 1.6, riser.ways.join(" "), Anchor::Start).bold());
        }
    }

    fn contact(&self, page: &mut Page, cell: &Cell, c: &Contact, xs: (f64, f64), y: f64) {
        let (x0, x1) = xs;
        let step = self.step;
        let x = x0 + step / 2.0 + 4.0;
        let pen = || Stroke::solid(width::SYMBOL, Ink::BLACK);
        let (near, far) = if cell.reversed { (&c.b, &c.a) } else { (&c.a, &c.b) };
        page.wire(near, near, &[P2::new(x0, y), P2::new(x - HALF, y)], pen());
        page.wire(far, far, &[P2::new(x + HALF, y), P2::new(x1, y)], pen());
        let by = match c.by {
            Actuator::Timer => Worked::Timer,
            Actuator::Thermostat => Worked::Thermostat,
            Actuator::CutOut => Worked::CutOut,
            Actuator::Position => Worked::Position,
            Actuator::Output => Worked::Relay,
            Actuator::DoublePole | Actuator::Manual => Worked::Hand,
        };
        page.used.insert(Used::Contact(by));
        let tag = self.w.tag_of(&c.device).to_owned();
        let top = if by == Worked::Hand { ACTUATOR - 2.0 } else { ACTUATOR };
        let on_paper = Rect::new(x - HALF, y - top, 2.0 * HALF + 1.2, top);
        let title = format!("{}: {}", self.words_of(&c.device), c.words);
        page.part(&tag, "contact", &title, on_paper, symbols::contact(x, y, c.breaks, by));
        let name = name(self.w, &c.device);
        page.label(
            &tag,
            short(x - HALF - 1.2, y - 3.6, &name, Anchor::End, step / 2.0 - 12.0).bold(),
        );
        page.label(&tag, words(x - HALF - 0.6, y + 3.6, terminal_of(near), Anchor::End));
        page.label(&tag, words(x + HALF + 0.6, y + 3.6, terminal_of(far), Anchor::Start));
        self.words_below(page, &tag, cell.element, x, y);
    }

    /// What stands under a symbol, as lines.
    fn caption(&self, e: Element) -> Vec<String> {
        let (text, room) = match e {
            Element::Contact(i) => {
                let c = &self.w.contacts[i];
                let rung = self.moved_by(&c.when).map(|r| format!(", rung {r}"));
                let text = match c.by {
                    Actuator::Position | Actuator::Output | Actuator::Timer => c.words.clone(),
                    _ => format!("{}: {}", self.words_of(&c.device), c.words),
                };
                (text + &rung.unwrap_or_default(), self.step - 10.5)
            }
            Element::Load(i) => {
                let l = &self.w.loads[i];
                let many = self.w.device(&l.device).map_or(1, |d| d.count);
                let text = match many {
                    1 => l.words.clone(),
                    n => format!("{n} × {}", l.words),
                };
                (text, LOAD - 3.0)
            }
        };
        let mut lines = wrap(&text, letters::SMALL, Weight::Regular, room);
        if lines.len() > 2 {
            let rest = lines[1..].join(" ");
            lines.truncate(1);
            lines.push(rest);
        }
        lines.iter().map(|l| fitted(l, letters::SMALL, Weight::Regular, room)).collect()
    }

    fn words_below(&self, page: &mut Page, tag: &str, e: Element, x: f64, y: f64) {
        for (i, line) in self.caption(e).into_iter().enumerate() {
            page.label(tag, words(x, y + 6.9 + MORE * i as f64, line, Anchor::Middle));
        }
    }

    fn load(&self, page: &mut Page, index: usize, xs: (f64, f64), y: f64) {
        let (x0, r) = xs;
        let l = &self.w.loads[index];
        let x = r - LOAD / 2.0;
        let drawn = match l.role {
            LoadRole::CylinderMotor | LoadRole::HeatingMotor => Drawn::ValveMotor,
            LoadRole::Pump => Drawn::Pump,
            LoadRole::Element => Drawn::Element,
            LoadRole::Coil => Drawn::Coil,
            LoadRole::Actuator => Drawn::Element,
            LoadRole::Call | LoadRole::Sense | LoadRole::Supply => Drawn::Box,
        };
        let inside = match l.role {
            LoadRole::Call => "call",
            LoadRole::Sense => "in",
            _ => "~",
        };
        // A pump and a valve's motor look alike.
        let looks = if drawn == Drawn::Pump { Drawn::ValveMotor } else { drawn };
        page.used.insert(Used::Load(looks));
        let (items, half) = symbols::load(x, y, drawn, inside);
        let pen = || Stroke::solid(width::SYMBOL, Ink::BLACK);
        page.wire(&l.line, &l.line, &[P2::new(x0, y), P2::new(x - half, y)], pen());
        page.wire(&l.neutral, &l.neutral, &[P2::new(x + half, y), P2::new(r, y)], pen());
        page.symbols.push(dot(r, y));
        let tag = self.w.tag_of(&l.device).to_owned();
        let high = if drawn == Drawn::Element { 1.9 } else { symbols::MOTOR };
        let on_paper = Rect::new(x - half, y - high, 2.0 * half, 2.0 * high);
        page.part(&tag, "load", &l.words, on_paper, items);
        let name = name(self.w, &l.device);
        page.label(&tag, words(x - half - 1.2, y - 2.0, name, Anchor::End).bold());
        page.label(&tag, words(x - half - 0.8, y + 3.6, terminal_of(&l.line), Anchor::End));
        let inside = self.w.supplies[self.plan.supply].inside;
        let back = if inside { "" } else { terminal_of(&l.neutral) };
        if !back.is_empty() {
            page.label(&tag, words(x + half + 0.8, y + 3.6, back, Anchor::Start));
        }
        self.words_below(page, &tag, Element::Load(index), x, y);
        let moves = self.moves(&l.id);
        if !moves.is_empty() {
            let list: Vec<String> = moves.iter().map(usize::to_string).collect();
            page.refers = true;
            let text = format!("contact: {}", list.join(", "));
            page.label(&tag, short(r + 2.0, y + 1.25, &text, Anchor::Start, RIGHT - 4.0));
        }
    }

    fn words_of(&self, device: &str) -> String {
        self.w.device(device).map(|d| d.words.clone()).unwrap_or_default()
    }

    /// The rung of the load that works a contact.
    fn moved_by(&self, when: &When) -> Option<String> {
        let mut of = Vec::new();
        works(when, &mut of);
        let mut rungs: Vec<usize> = of
            .iter()
            .filter_map(|id| self.w.loads.iter().position(|l| l.id == *id))
            .filter_map(|i| self.number(Element::Load(i)))
            .collect();
        rungs.sort_unstable();
        rungs.dedup();
        let list: Vec<String> = rungs.iter().map(usize::to_string).collect();
        (!list.is_empty()).then(|| list.join(", "))
    }

    fn moves(&self, load: &str) -> Vec<usize> {
        let mut rungs: Vec<usize> = self
            .w
            .contacts
            .iter()
            .enumerate()
            .filter(|(_, c)| {
                let mut of = Vec::new();
                works(&c.when, &mut of);
                of.contains(&load)
            })
            .filter_map(|(i, _)| self.number(Element::Contact(i)))
            .collect();
        rungs.sort_unstable();
        rungs.dedup();
        rungs
    }

    fn number(&self, e: Element) -> Option<usize> {
        self.numbers.iter().find(|(x, _)| *x == e).map(|(_, n)| *n)
    }
}
