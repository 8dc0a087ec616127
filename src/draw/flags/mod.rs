//! Marks where findings stand. In: the undressed sheets, the report, the system. Out: the same
//! sheets; a part or a pipe that an error or a warning names bears a triangle with the rule's
//! number, in what is white of the sheet, and a key says what it means. A sheet that shows none of
//! them stays as it is.

mod key;
mod place;
mod white;

use std::collections::BTreeMap;

use self::place::{Flag, Set, Target, set};
use self::white::{White, straights};
use super::frame::{TitleData, drawing_space, title_block};
use super::scene::{Group, Ink, Item, Mark, Shape, Sheet, Stroke, Words};
use crate::check::{Finding, Report, Severity, explain};
use crate::lettering::Weight;
use crate::model::{P2, Rect, System};

/// Sheets whose parts are marked, by the beginning of their keys.
const MARKED: [&str; 4] = ["schematic", "elevation", "plan", "wiring-circuit"];
/// Families of rules that an electrician looks for.
const ELECTRICAL: [&str; 2] = ["CTL", "SAF"];
/// A finding of many places is marked at so many of them.
const MOST: usize = 8;
/// Rules about the way in, which is drawn with the door.
const BY_THE_DOOR: [&str; 1] = ["FIT01"];
/// What the plan calls the drawing of a door too narrow.
pub const DOOR: &str = "door";
/// What stands at a part that no rule covers.
const OUT_OF_SCOPE: &str = "OUT OF SCOPE";

/// Height of a mark's letters, and its triangle, mm.
const LETTERS: f64 = 2.5;
const TRIANGLE: (f64, f64) = (3.2, 2.8);

/// What stands against one part or pipe.
#[derive(Clone, Debug)]
struct Stand {
    /// Tag or pipe id.
    of: String,
    /// Rules, each with whether what it finds is an error.
    codes: Vec<(&'static str, bool)>,
}

impl Stand {
    fn add(&mut self, code: &'static str, grave: bool) {
        match self.codes.iter_mut().find(|(c, _)| *c == code) {
            Some(known) => known.1 |= grave,
            None => self.codes.push((code, grave)),
        }
    }

    fn is_grave(&self) -> bool {
        self.codes.iter().any(|(_, grave)| *grave)
    }
}

/// Marks every sheet that shows what a finding names.
pub fn mark(sheets: &mut [Sheet], system: &System, report: &Report, data: &TitleData) {
    let all = stands(system, report);
    if all.is_empty() {
        return;
    }
    let words = words(report);
    for sheet in sheets.iter_mut().filter(|s| MARKED.iter().any(|k| s.key.starts_with(k))) {
        one(sheet, system, &all, (&words, data));
    }
}

/// What the key says of each rule: its finding where there is one, else what its findings are called.
fn words(report: &Report) -> BTreeMap<&'static str, String> {
    let mut by_rule: BTreeMap<&'static str, Vec<&Finding>> = BTreeMap::new();
    for f in report.findings.iter().filter(|f| f.severity != Severity::Advice) {
        by_rule.entry(f.rule).or_default().push(f);
    }
    let said = |(rule, all): (&'static str, Vec<&Finding>)| {
        let mut called: Vec<&str> = all.iter().map(|f| f.heading).collect();
        called.dedup();
        let said = match &all[..] {
            [only] => only.title.clone(),
            _ if called.iter().all(|c| !c.is_empty()) => called.join("; "),
            _ => explain(rule).map_or_else(String::new, |rule| rule.title.to_owned()),
        };
        (rule, said)
    };
    let mut out: BTreeMap<_, _> = by_rule.into_iter().map(said).collect();
    out.insert(OUT_OF_SCOPE, "no rule covers it, do not rely on this sheet for it".to_owned());
    out
}

/// What stands against each part, the gravest first.
fn stands(system: &System, report: &Report) -> Vec<Stand> {
    let mut all: BTreeMap<String, Stand> = BTreeMap::new();
    let mut add = |of: &str, code: &'static str, grave: bool| {
        let new = || Stand { of: of.to_owned(), codes: Vec::new() };
        all.entry(of.to_owned()).or_insert_with(new).add(code, grave);
    };
    let outside = report.is_out_of_scope();
    for part in system.parts.iter().filter(|p| outside && p.lies_outside()) {
        add(&part.tag, OUT_OF_SCOPE, true);
    }
    for f in report.findings.iter().filter(|f| f.severity != Severity::Advice) {
        for of in f.parts.iter().take(MOST) {
            add(of, f.rule, f.severity == Severity::Error);
        }
    }
    let mut all: Vec<Stand> = all.into_values().collect();
    all.sort_by_key(|s| !s.is_grave());
    all
}

fn one(
    sheet: &mut Sheet,
    system: &System,
    all: &[Stand],
    (words, data): (&BTreeMap<&'static str, String>, &TitleData),
) {
    let shown = targets(&sheet.items);
    let mut wanted: Vec<(Stand, Vec<Target>)> = Vec::new();
    for stand in all {
        let at_the_door = |code: &str| shown.contains_key(DOOR) && BY_THE_DOOR.contains(&code);
        let codes = stand.codes.iter().copied().filter(|(c, _)| belongs(c, &sheet.key));
        let (door, own): (Vec<_>, Vec<_>) = codes.partition(|(c, _)| at_the_door(c));
        let names = names(system, &stand.of);
        for (codes, names) in [(door, vec![DOOR.to_owned()]), (own, names)] {
            let found = names.into_iter().find_map(|n| shown.get(&n).map(|t| (n, t.clone())));
            let Some((of, targets)) = found.filter(|_| !codes.is_empty()) else { continue };
            match wanted.iter_mut().find(|(s, _)| s.of == of) {
                // Two parts of one unit.
                Some((there, _)) => codes.into_iter().for_each(|(c, grave)| there.add(c, grave)),
                None => wanted.push((Stand { of, codes }, targets)),
            }
        }
    }
    if wanted.is_empty() {
        return;
    }
    let space = drawing_space(sheet.paper);
    let block = title_block(sheet.paper, data);
    let mut items = Vec::new();
    let mut taken: Vec<Rect> = vec![block];
    let listed: BTreeMap<&'static str, bool> = {
        let mut listed = BTreeMap::new();
        for (stand, _) in &wanted {
            for (code, grave) in &stand.codes {
                *listed.entry(*code).or_insert(false) |= *grave;
            }
        }
        listed
    };
    let white = White::of(sheet.paper, &sheet.items, sheet.scale.is_some(), &[block]);
    let key = key::key(&white, space, &key::told(&listed, words, data));
    taken.extend(key.as_ref().map(|(at, _)| *at));
    let mut said = Vec::new();
    for (stand, targets) in &wanted {
        let text = joined(&stand.codes);
        let at = called(system, &stand.of);
        said.push(format!("{text} at {at}"));
        // On a circuit a part has several places, each on a rung of its own.
        for target in targets.iter().take(MOST) {
            let flag = Flag::new(&stand.of, &text, target);
            let Some(place) = set(&white, space, &taken, &flag) else { continue };
            taken.push(place.at);
            items.extend(drawn(stand, &text, &place, &at));
        }
    }
    items.extend(key.into_iter().flat_map(|(_, items)| items));
    sheet.description.push_str(&format!(" Findings: {}.", said.join("; ")));
    sheet.items.push(Group { mark: Mark::Layer("findings"), title: None, items }.into());
}

/// True where a rule has something to say to the reader of that sheet.
fn belongs(code: &str, key: &str) -> bool {
    !key.starts_with("wiring")
        || code == OUT_OF_SCOPE
        || ELECTRICAL.iter().any(|family| code.starts_with(family))
}

/// By what a sheet may know a part or a pipe: itself, else the unit or the body that holds it.
fn names(system: &System, of: &str) -> Vec<String> {
    let part = system.by_tag(of).map(|ix| system.part(ix));
    let unit = part.and_then(|p| p.unit).map(|u| system.unit(u).tag.clone());
    let host = part.and_then(|p| p.on).map(|h| system.part(h).tag.clone());
    [of.to_owned()].into_iter().chain(unit).chain(host).collect()
}

/// A tag as it is; of a pipe its size and its letters, for its id stands nowhere.
fn called(system: &System, of: &str) -> String {
    let pipe = system.pipes.iter().find(|p| p.id == of);
    pipe.map_or_else(
        || of.to_owned(),
        |p| {
            let size = p.size.as_ref().map_or("", |s| s.value.as_str());
            format!("{size} {}", p.service.letters()).trim().to_owned()
        },
    )
}

/// Several numbers in one mark.
fn joined(codes: &[(&'static str, bool)]) -> String {
    const SHOWN: usize = 4;
    let mut text = codes.iter().take(SHOWN).map(|(c, _)| *c).collect::<Vec<_>>().join(", ");
    if codes.len() > SHOWN {
        text.push_str(&format!(" +{}", codes.len() - SHOWN));
    }
    text
}

/// Everything on the sheet that has a name.
fn targets(items: &[Item]) -> BTreeMap<String, Vec<Target>> {
    let mut all = BTreeMap::new();
    collect(items, &mut all);
    all
}

fn collect(items: &[Item], into: &mut BTreeMap<String, Vec<Target>>) {
    for item in items {
        match item {
            Item::Group(g) => {
                match &g.mark {
                    Mark::Part { tag, on_paper, .. } => {
                        into.entry(tag.clone()).or_default().push(Target::Body(*on_paper));
                    }
                    Mark::Of(name) => {
                        let edges: Vec<(P2, P2)> = outlines(&g.items);
                        if !edges.is_empty() {
                            into.entry(name.clone()).or_default().push(Target::Line(edges));
                        }
                    }
                    _ => {}
                }
                collect(&g.items, into);
            }
            Item::Shape(Shape { mark: Mark::Pipe { id, .. }, path, .. }) => {
                let edges = straights(path);
                if !edges.is_empty() {
                    let list = into.entry(id.clone()).or_default();
                    match list.first_mut() {
                        Some(Target::Line(first)) => first.extend(edges),
                        _ => list.push(Target::Line(edges)),
                    }
                }
            }
            _ => {}
        }
    }
}

fn outlines(items: &[Item]) -> Vec<(P2, P2)> {
    let of = |item: &Item| match item {
        Item::Shape(s) => straights(&s.path),
        _ => Vec::new(),
    };
    items.iter().flat_map(of).collect()
}

/// The triangle, its number, and a line to what it speaks of.
fn drawn(stand: &Stand, text: &str, set: &Set, at: &str) -> Vec<Item> {
    let mut items = Vec::new();
    let of = || Mark::Of(stand.of.clone());
    if let Some((from, to)) = set.leader {
        let line = Stroke::solid(0.35, Ink::ALARM);
        items.push(Shape::line(&[from, to], line).mark(of()).into());
        items.push(Shape::circle(to, 0.55, None, Some(Ink::ALARM)).mark(of()).into());
    }
    items.extend(
        triangle(P2::new(set.at.x, set.at.y), stand.is_grave()).into_iter().map(Item::Shape),
    );
    let line = P2::new(set.at.x + TRIANGLE.0 + 0.6, set.at.y + LETTERS + 0.2);
    let words = Words::new(line, text, LETTERS).bold().ink(Ink::ALARM).halo();
    let on_paper = words.on_paper();
    items.push(words.mark(Mark::Label { of: stand.of.clone(), on_paper }).into());
    let title = Some(format!("{text} stands at {at}"));
    vec![Group { mark: Mark::None, title, items }.into()]
}

/// A triangle on its base with a stroke and a dot in it, told in grey by its shape: full for an
/// error, hollow for a warning.
fn triangle(at: P2, full: bool) -> Vec<Shape> {
    let (w, h) = TRIANGLE;
    let corners =
        [P2::new(at.x + w / 2.0, at.y), P2::new(at.x + w, at.y + h), P2::new(at.x, at.y + h)];
    let (ground, sign) = if full { (Ink::ALARM, Ink::WHITE) } else { (Ink::WHITE, Ink::ALARM) };
    let x = at.x + w / 2.0;
    let stroke = [P2::new(x, at.y + 0.95), P2::new(x, at.y + 1.85)];
    vec![
        Shape::polygon(&corners, Some(Stroke::solid(0.3, Ink::ALARM)), Some(ground)),
        Shape::line(&stroke, Stroke::solid(0.4, sign)),
        Shape::circle(P2::new(x, at.y + 2.3), 0.22, None, Some(sign)),
    ]
}

/// Size of a mark.
fn size(text: &str) -> (f64, f64) {
    let w = crate::lettering::width(text, LETTERS, Weight::Bold);
    (TRIANGLE.0 + 0.6 + w, 3.4)
}
