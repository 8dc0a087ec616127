//! The key to the marks of a sheet. In: what is to be told, the white of the sheet. Out: where the
//! key stands, and its lines; in several blocks where one finds no room.

use std::collections::BTreeMap;

use super::look::{SIGN, sign};
use super::white::White;
use super::{Grade, OUT_OF_SCOPE};
use crate::check::{Finding, Report, Severity};
use crate::draw::scene::{Ink, Item, Shape, Stroke, Words};
use crate::draw::style::letters;
use crate::lettering::{Weight, wrap};
use crate::model::{P2, Rect, System};

/// From one line to the next.
const PITCH: f64 = 4.4;
/// Its widths, the better first, and the white round it, mm.
const WIDTHS: [f64; 6] = [92.0, 120.0, 70.0, 58.0, 150.0, 48.0];
const ROUND: f64 = 1.5;
/// Steps in which places are tried, mm.
const STEP: f64 = 1.0;
/// As many letters of a finding are told where there is room for all, for less, and for little.
const LETTERS: [usize; 3] = [usize::MAX, 90, 55];
/// What stands over it.
const HEAD: &str = "Findings marked here";
/// As many findings of a rule are told.
const TOLD: usize = 3;

/// Where a key may stand, and where it would stand among what is drawn.
#[derive(Clone, Copy)]
pub struct Space {
    pub sheet: Rect,
    pub drawn: Option<Rect>,
}

/// What it costs to stand there, mm away from the corner.
const AMONG: f64 = 500.0;

/// What is told of a mark: its grade, and the words. None for what is said of all.
pub type Told = (Option<Grade>, String);

/// The key in the free places that are best to find: low on the sheet, far right; in as few blocks as
/// will do, for one block alone looks whole.
///
/// `told`: what it says, the best first; another is taken where it needs fewer blocks.
pub fn key(white: &White, space: Space, told: &[Vec<Told>]) -> Vec<(Rect, Vec<Item>)> {
    let mut best: Vec<(Rect, Vec<Line>)> = Vec::new();
    // How the marks look is told last, and left out where it alone would need a block: the title block
    // names the sheet of findings too.
    let bare = told.iter().filter_map(|t| match t.split_last() {
        Some(((None, _), others)) if !others.is_empty() => Some(others),
        _ => None,
    });
    for told in told.iter().map(Vec::as_slice).chain(bare) {
        let Some(found) = blocks(white, space, told) else { continue };
        if best.is_empty() || found.len() < best.len() {
            best = found;
        }
        if best.len() < 2 {
            break;
        }
    }
    let of = best.len();
    let head = |i: usize| match of {
        1 => HEAD.to_owned(),
        _ => format!("{HEAD}, {} of {of}", i + 1),
    };
    let each = |(i, (at, lines)): (usize, (Rect, Vec<Line>))| (at, drawn(&head(i), &lines, at));
    best.into_iter().enumerate().map(each).collect()
}

/// As much as goes into each place, the best place first.
fn blocks(white: &White, space: Space, told: &[Told]) -> Option<Vec<(Rect, Vec<Line>)>> {
    let mut out: Vec<(Rect, Vec<Line>)> = Vec::new();
    let mut rest = told;
    while !rest.is_empty() {
        let taken: Vec<Rect> = out.iter().map(|(r, _)| *r).collect();
        let most = (1..=rest.len()).rev();
        let (n, found) =
            most.filter_map(|n| Some((n, block(white, space, &rest[..n], &taken)?))).next()?;
        out.push(found);
        rest = &rest[n..];
    }
    Some(out)
}

fn block(white: &White, space: Space, told: &[Told], taken: &[Rect]) -> Option<(Rect, Vec<Line>)> {
    let placed = |wide: &f64| {
        let lines = broken(told, *wide);
        let high = PITCH * (lines.len() as f64 + 1.0) + 2.0;
        Some((free_place(white, space, (*wide, high), taken)?, lines))
    };
    // Narrow outside what is drawn before wide inside it.
    let outside = |(at, _): &(Rect, Vec<Line>)| !space.drawn.is_some_and(|d| d.overlaps(at));
    let mut inside = None;
    for found in WIDTHS.iter().filter_map(placed) {
        if outside(&found) {
            return Some(found);
        }
        inside = inside.or(Some(found));
    }
    inside
}

/// A line of the key; no mark where it goes on from the one above. `x`: of its words, from the edge.
struct Line {
    mark: Option<Grade>,
    x: f64,
    text: String,
}

/// What the findings of each rule say: whole, at length and in short.
pub struct Sayings(BTreeMap<&'static str, [String; 3]>);

impl Sayings {
    pub fn of(system: &System, report: &Report) -> Sayings {
        let mut by_rule: BTreeMap<&'static str, Vec<&Finding>> = BTreeMap::new();
        for f in report.findings.iter().filter(|f| f.severity != Severity::Advice) {
            by_rule.entry(f.rule).or_default().push(f);
        }
        let each = by_rule.into_iter().map(|(rule, all)| (rule, said(&all)));
        let mut out: BTreeMap<_, _> = each.collect();
        let lie = system.parts.iter().filter(|p| p.lies_outside());
        let named: Vec<String> = lie.map(|p| format!("{} {}", p.tag, p.name)).collect();
        let outside = format!(
            "no rule covers {}, do not rely on this sheet for {}",
            if named.is_empty() { "it".to_owned() } else { named.join(", ") },
            if named.len() > 1 { "them" } else { "it" }
        );
        out.insert(OUT_OF_SCOPE, [outside.clone(), outside.clone(), outside]);
        Sayings(out)
    }
}

fn said(all: &[&Finding]) -> [String; 3] {
    let mut titles: Vec<&str> = Vec::new();
    for f in all {
        if !titles.contains(&f.title.as_str()) {
            titles.push(&f.title);
        }
    }
    let more = |told: usize| match titles.len().saturating_sub(told) {
        0 => String::new(),
        n => format!(" (and {n} more)"),
    };
    [(LETTERS[0], TOLD), (LETTERS[1], TOLD), (LETTERS[2], 1)].map(|(letters, told)| {
        let listed: Vec<String> = titles.iter().take(told).map(|t| shortened(t, letters)).collect();
        format!("{}{}", listed.join("; "), more(told))
    })
}

/// At most so many letters, cut at a word.
fn shortened(text: &str, most: usize) -> String {
    if text.chars().count() <= most {
        return text.to_owned();
    }
    let mut out = String::new();
    for word in text.split(' ') {
        if out.chars().count() + word.chars().count() + 1 > most {
            break;
        }
        if !out.is_empty() {
            out.push(' ');
        }
        out.push_str(word);
    }
    format!("{} …", out.trim_end_matches([',', ':', ';', '.']))
}

/// What is told of the marks: whole, at length and in short. `also`: what else is to be said.
pub fn told(
    rules: &BTreeMap<&'static str, Grade>,
    sayings: &Sayings,
    also: &[String],
    at: &str,
) -> [Vec<Told>; 3] {
    let mut graver: Vec<_> = rules.iter().collect();
    graver.sort_by_key(|(_, grade)| **grade);
    let has = |grade: Grade| rules.values().any(|g| *g == grade);
    let mut looks = Vec::new();
    if has(Grade::Error) {
        looks.push("full triangle: error");
    }
    if has(Grade::Warning) {
        looks.push("hollow: warning");
    }
    looks.push(at);
    [0, 1, 2].map(|short| {
        let line = |(code, grade): &(&&'static str, &Grade)| {
            let said = sayings.0.get(*code).map_or("", |s| s[short].as_str());
            (Some(**grade), format!("{code}: {said}"))
        };
        let mut told: Vec<Told> = graver.iter().map(line).collect();
        told.extend(also.iter().map(|text| (None, text.clone())));
        told.push((None, looks.join(", ")));
        told
    })
}

/// The same in lines that a key so wide has room for.
fn broken(told: &[Told], wide: f64) -> Vec<Line> {
    let mut lines = Vec::new();
    for (mark, text) in told {
        let x = 1.5 + if mark.is_some() { SIGN.0 + 1.2 } else { 0.0 };
        let own = wrap(text, letters::SMALL, Weight::Regular, wide - 1.0 - x);
        let first = |i: usize| mark.filter(|_| i == 0);
        lines.extend(own.into_iter().enumerate().map(|(i, text)| Line { mark: first(i), x, text }));
    }
    lines
}

/// Low on the sheet and far right.
fn free_place(
    white: &White,
    space: Space,
    (wide, high): (f64, f64),
    taken: &[Rect],
) -> Option<Rect> {
    let inside = space.sheet.grown(-2.0);
    if wide > inside.w || high > inside.h {
        return None;
    }
    let columns = ((inside.w - wide) / STEP).floor() as usize;
    let rows = ((inside.h - high) / STEP).floor() as usize;
    let mut best: Option<(f64, Rect)> = None;
    for row in 0..=rows {
        for column in 0..=columns {
            let (down, left) = (STEP * row as f64, STEP * column as f64);
            let (x, y) = (inside.right() - wide - left, inside.bottom() - high - down);
            let at = Rect::new(x, y, wide, high);
            let among = space.drawn.is_some_and(|d| d.overlaps(&at));
            let cost = down + 0.6 * left + if among { AMONG } else { 0.0 };
            let round = at.grown(ROUND);
            if best.is_none_or(|(b, _)| cost < b)
                && !taken.iter().any(|t| t.overlaps(&round))
                && white.is_free(&round)
            {
                best = Some((cost, at));
            }
        }
    }
    best.map(|(_, at)| at)
}

fn drawn(head: &str, lines: &[Line], at: Rect) -> Vec<Item> {
    let h = letters::SMALL;
    let mut items: Vec<Item> =
        vec![Shape::rect(at, Some(Stroke::solid(0.35, Ink::ALARM)), None).into()];
    let mut y = at.y + 1.2 + h;
    let words = |x: f64, y: f64, text: &str| Words::new(P2::new(x, y), text, h);
    items.push(words(at.x + 1.5, y, head).bold().ink(Ink::ALARM).into());
    for Line { mark, x, text } in lines {
        y += PITCH;
        items.extend(mark.iter().flat_map(|grade| {
            sign(P2::new(at.x + 1.5, y - h - 0.2), *grade).into_iter().map(Item::Shape)
        }));
        items.push(words(at.x + x, y, text).into());
    }
    items
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draw::scene::Paper;

    /// Where one block finds no room, two do: nothing that is told is lost.
    #[test]
    fn a_key_goes_into_two_blocks() {
        let space = Space { sheet: Rect::new(20.0, 10.0, 180.0, 277.0), drawn: None };
        // Two white strips of 30 mm, each too low for all.
        let full = |y: f64, h: f64| Rect::new(0.0, y, 210.0, h);
        let kept = [full(0.0, 100.0), full(130.0, 60.0), full(220.0, 77.0)];
        let white = White::of(Paper::A4_PORTRAIT, &[], &kept);
        let line = |n: usize| (Some(Grade::Error), format!("WAT0{n}: {}", "words ".repeat(24)));
        let told: Vec<Told> = (1..4).map(line).collect();
        let placed = key(&white, space, &[told]);
        assert!(placed.len() > 1);
        let texts: Vec<&str> = placed
            .iter()
            .flat_map(|(_, items)| items)
            .filter_map(|i| if let Item::Words(w) = i { Some(w.text.as_str()) } else { None })
            .collect();
        for n in 1..4 {
            assert!(texts.iter().any(|t| t.starts_with(&format!("WAT0{n}"))), "{texts:?}");
        }
        for (r, _) in &placed {
            assert!(white.is_free(r));
        }
    }

    #[test]
    fn a_finding_is_cut_at_a_word() {
        assert_eq!(shortened("tundish 632 mm above", 14), "tundish 632 mm …");
        assert_eq!(shortened("short", 14), "short");
    }
}
