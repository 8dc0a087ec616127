//! The key to the marks of a sheet. In: the rules that stand on it, the white of the sheet. Out:
//! where the key stands, and its lines.

use std::collections::BTreeMap;

use super::white::White;
use super::{OUT_OF_SCOPE, TRIANGLE, triangle};
use crate::check::explain;
use crate::draw::frame::TitleData;
use crate::draw::scene::{Ink, Item, Shape, Stroke, Words};
use crate::draw::style::letters;
use crate::lettering::{Weight, wrap};
use crate::model::{P2, Rect};

/// From one line to the next.
const PITCH: f64 = 4.6;
/// Its widths, the better first, and the white round it, mm.
const WIDTHS: [f64; 3] = [92.0, 70.0, 48.0];
const ROUND: f64 = 2.0;
/// Steps in which places are tried, mm.
const STEP: f64 = 2.0;

/// The key in the free place that is best to find: low on the sheet, far right.
///
/// `told`: what it says, the best first; the next is taken where there is no room for the one before.
pub fn key(white: &White, space: Rect, told: &[Vec<Told>]) -> Option<(Rect, Vec<Item>)> {
    // Narrow outside what is drawn before wide inside it.
    let ways = || [false, true].into_iter().flat_map(|among| WIDTHS.map(|wide| (among, wide)));
    told.iter().flat_map(|told| ways().map(move |way| (told, way))).find_map(
        |(told, (among, wide))| {
            let lines = broken(told, wide);
            let high = PITCH * (lines.len() as f64 + 1.0) + 2.0;
            let at = free_place(white, space, (wide, high), among)?;
            Some((at, drawn(&lines, at)))
        },
    )
}

/// What is told of a mark: whether it is grave, and the words. No mark for what is said of all.
pub type Told = (Option<bool>, String);

/// A line of the key; no mark where it goes on from the one above. `x`: of its words, from the edge.
struct Line {
    mark: Option<bool>,
    x: f64,
    text: String,
}

/// What is told of the marks: each rule with what it found, with what it is called, or none of them.
pub fn told(
    rules: &BTreeMap<&'static str, bool>,
    words: &BTreeMap<&'static str, String>,
    data: &TitleData,
) -> [Vec<Told>; 3] {
    let each = |of: &dyn Fn(&str) -> Option<String>| -> Vec<Told> {
        let mut graver: Vec<_> = rules.iter().collect();
        graver.sort_by_key(|(_, grave)| !**grave);
        let line = |(code, grave): (&&'static str, &bool)| {
            let said = of(code).unwrap_or_else(|| "a finding of this rule stands here".to_owned());
            (Some(*grave), format!("{code}: {said}"))
        };
        graver.into_iter().map(line).collect()
    };
    let found = each(&|code| words.get(code).cloned());
    let called = each(&|code| {
        explain(code).map(|rule| rule.title.to_owned()).or_else(|| words.get(code).cloned())
    });
    // What no rule covers is neither.
    let ruled = || rules.iter().filter(|(code, _)| **code != OUT_OF_SCOPE).map(|(_, grave)| *grave);
    let looks = match (ruled().any(|g| g), ruled().any(|g| !g)) {
        (true, true) => "full: error, hollow: warning; ",
        (true, false) => "errors; ",
        (false, true) => "hollow: warnings; ",
        (false, false) => "",
    };
    [found, called, Vec::new()].map(|mut told| {
        told.push((None, format!("{looks}{}", data.findings_at())));
        told
    })
}

/// The same in lines that a key so wide has room for.
fn broken(told: &[Told], wide: f64) -> Vec<Line> {
    let mut lines = Vec::new();
    for (mark, text) in told {
        let x = 1.5 + if mark.is_some() { TRIANGLE.0 + 1.2 } else { 0.0 };
        let own = wrap(text, letters::SMALL, Weight::Regular, wide - 1.0 - x);
        let first = |i: usize| mark.filter(|_| i == 0);
        lines.extend(own.into_iter().enumerate().map(|(i, text)| Line { mark: first(i), x, text }));
    }
    lines
}

/// Low on the sheet and far right; `among`: also between what is drawn.
fn free_place(white: &White, space: Rect, (wide, high): (f64, f64), among: bool) -> Option<Rect> {
    let inside = space.grown(-2.0);
    let columns = ((inside.w - wide) / STEP).floor().max(0.0) as usize;
    let rows = ((inside.h - high) / STEP).floor().max(0.0) as usize;
    let drawn = Rect::holding(white.boxes.iter().map(|(_, r)| *r)).filter(|_| !among);
    let mut best: Option<(f64, Rect)> = None;
    for row in 0..=rows {
        for column in 0..=columns {
            let (down, left) = (STEP * row as f64, STEP * column as f64);
            let (x, y) = (inside.right() - wide - left, inside.bottom() - high - down);
            let at = Rect::new(x, y, wide, high);
            let cost = down + 0.6 * left;
            if best.is_none_or(|(b, _)| cost < b)
                && !drawn.is_some_and(|d| d.overlaps(&at))
                && white.is_free(&at.grown(ROUND))
            {
                best = Some((cost, at));
            }
        }
    }
    best.map(|(_, at)| at)
}

fn drawn(lines: &[Line], at: Rect) -> Vec<Item> {
    let h = letters::SMALL;
    let mut items: Vec<Item> =
        vec![Shape::rect(at, Some(Stroke::solid(0.35, Ink::ALARM)), None).into()];
    let mut y = at.y + 1.2 + h;
    let words = |x: f64, y: f64, text: &str| Words::new(P2::new(x, y), text, h);
    items.push(words(at.x + 1.5, y, "Findings marked here").bold().ink(Ink::ALARM).into());
    for Line { mark, x, text } in lines {
        y += PITCH;
        items.extend(mark.iter().flat_map(|grave| {
            triangle(P2::new(at.x + 1.5, y - h - 0.2), *grave).into_iter().map(Item::Shape)
        }));
        items.push(words(at.x + x, y, text).into());
    }
    items
}
