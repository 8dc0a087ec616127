//! The lists of a schematic. In: entries in their boxes. Out: marks.

use crate::catalogue::Kind;
use crate::draw::scene::{Anchor, Ink, Item, Seg, Shape, Stroke, Words};
use crate::draw::style::{pen, width};
use crate::draw::symbols;
use crate::layout::schematic::{Entry, HEIGHT, Lists, PITCH, Pose};
use crate::lettering::{Weight, fitted, wrap};
use crate::model::{P2, Rect};

/// Room for the picture at the left of an entry.
const PICTURE: f64 = 14.0;

pub fn draw(lists: &Lists) -> Vec<Item> {
    let mut items = Vec::new();
    for (at, entry) in &lists.entries {
        match entry {
            Entry::Heading(text) => {
                items.push(Words::new(P2::new(at.x, at.y + 4.2), *text, 2.5).bold().into());
                let y = at.y + 5.2;
                let rule = Stroke::solid(width::THIN, Ink::BLACK);
                items.push(Shape::line(&[P2::new(at.x, y), P2::new(at.right(), y)], rule).into());
            }
            Entry::Symbol(kind) => items.extend(symbol(*kind, *at)),
            Entry::Line(service) => {
                let y = at.y + at.h / 2.0;
                let ends = [P2::new(at.x, y), P2::new(at.x + PICTURE - 1.0, y)];
                items.push(Shape::line(&ends, pen(*service)).into());
                // "D1 discharge" says its letters once.
                let name = service.key().trim_end_matches(service.letters()).trim_end();
                let text = format!("{}  {name}", service.letters());
                items.extend(beside(*at, &text));
            }
            Entry::Tick(lines) => {
                let tick = Rect::new(at.x, at.y + 0.2, 2.6, 2.6);
                let thin = Stroke::solid(width::THIN, Ink::BLACK);
                items.push(Shape::rect(tick, Some(thin), None).into());
                items.extend(block(lines, at.x + 4.2, at.y));
            }
            Entry::Note(lines) => items.extend(block(lines, at.x, at.y)),
        }
    }
    items
}

fn block(lines: &[String], x: f64, y: f64) -> Vec<Item> {
    lines
        .iter()
        .enumerate()
        .map(|(i, line)| {
            let at = P2::new(x, y + HEIGHT + PITCH * i as f64);
            Words::new(at, line.clone(), HEIGHT).into()
        })
        .collect()
}

/// Text right of the picture, on two lines where one is too short.
fn beside(at: Rect, text: &str) -> Vec<Item> {
    let room = at.w - PICTURE - 1.5;
    let mut lines = wrap(text, HEIGHT, Weight::Regular, room);
    lines.truncate(2);
    let n = lines.len() as f64;
    let top = at.y + at.h / 2.0 - (HEIGHT + PITCH * (n - 1.0)) / 2.0;
    let lines: Vec<String> =
        lines.iter().map(|l| fitted(l, HEIGHT, Weight::Regular, room)).collect();
    block(&lines, at.x + PICTURE + 1.5, top)
}

/// The symbol, smaller where it is too large for the list, and its name.
fn symbol(kind: Kind, at: Rect) -> Vec<Item> {
    // The rod of a heater reaches out of its box.
    let reach = if kind.symbol.name == "immersion" { 12.5 } else { 0.0 };
    let (w, h) = (kind.symbol.w + reach, kind.symbol.h);
    let k = ((PICTURE - 1.0) / w).min((at.h - 0.8) / h).min(1.0);
    let on_paper = Rect::new(reach, 0.0, kind.symbol.w, h);
    let corner = P2::new(at.x + (PICTURE - w * k) / 2.0 - 0.5, at.y + (at.h - h * k) / 2.0);
    let mut items: Vec<Item> = symbols::draw(kind, on_paper, Pose::UPRIGHT)
        .into_iter()
        .filter_map(|item| scaled(item, k, corner))
        .collect();
    if kind.symbol.name == "control" {
        let y = at.y + at.h / 2.0 + HEIGHT / 2.0;
        let middle = P2::new(corner.x + w * k / 2.0, y);
        let letters = Words::new(middle, kind.tag.clone(), HEIGHT);
        items.push(letters.anchor(Anchor::Middle).into());
    }
    items.extend(beside(at, symbols::legend_name(&kind)));
    items
}

fn scaled(item: Item, k: f64, corner: P2) -> Option<Item> {
    let put = |p: P2| P2::new(corner.x + p.x * k, corner.y + p.y * k);
    match item {
        Item::Shape(mut shape) => {
            for seg in &mut shape.path {
                *seg = match *seg {
                    Seg::Move(p) => Seg::Move(put(p)),
                    Seg::Line(p) => Seg::Line(put(p)),
                    Seg::Cubic(a, b, c) => Seg::Cubic(put(a), put(b), put(c)),
                    Seg::Arc { radius, large, clockwise, to } => {
                        Seg::Arc { radius: radius * k, large, clockwise, to: put(to) }
                    }
                    Seg::Close => Seg::Close,
                };
            }
            if let Some(stroke) = &mut shape.stroke {
                stroke.width = stroke.width.min(width::SYMBOL) * k.max(0.72);
            }
            Some(shape.into())
        }
        // Letters keep their size, or they could not be read; too small a symbol goes without.
        Item::Words(mut words) if k > 0.7 => {
            words.at = put(P2::new(words.at.x, words.at.y - words.height / 2.0));
            words.at.y += words.height / 2.0;
            Some(words.into())
        }
        Item::Words(_) => None,
        group => Some(group),
    }
}
