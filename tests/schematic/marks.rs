//! Match marks where a schematic goes over several sheets, read from the SVG alone: each stands on
//! exactly two sheets, which name each other.

use std::collections::BTreeMap;

use firstfix::draw::frame::{TitleData, dress};
use firstfix::draw::schematic::sheets;
use firstfix::layout::schematic::{lay_out, lay_out_after};
use firstfix::render::{Typeface, svg};
use roxmltree::Document;

use super::plant::plant_room;
use super::{FLATS, HOUSE, hard, sized, sound};

/// A boiler on so many zones.
pub fn hall(zones: usize) -> String {
    let mut text = HOUSE.to_owned();
    for i in 0..zones {
        text += &format!("zone \"hall {i}\" kw=3 radiators=3\n");
    }
    text
}

/// The sheets of a schematic as files.
fn files(text: &str) -> Vec<String> {
    let sized = sized(text);
    let title = TitleData::of(&sized.system);
    let sheets = sheets(&sized, &lay_out(&sized));
    let of = sheets.len();
    let numbered = sheets.into_iter().enumerate();
    numbered.map(|(i, s)| svg(&dress(s, &title, i + 1, of), Typeface::Named)).collect()
}

/// The sheet's title, and each match mark on it with the words beside it.
fn marks(file: &str) -> (String, Vec<(String, String)>) {
    let doc = Document::parse(file).unwrap();
    let title = doc.root_element().children().find(|n| n.has_tag_name("title")).unwrap();
    let title = title.text().unwrap_or("").to_lowercase();
    let tags = doc
        .descendants()
        .filter(|n| n.attribute("data-kind") == Some("match mark"))
        .filter_map(|n| n.attribute("data-part"));
    let words = |tag: &str| -> String {
        let of_tag = |n: &roxmltree::Node| {
            n.has_tag_name("text") && n.attribute("data-label-of") == Some(tag)
        };
        let lines = doc.descendants().filter(of_tag).filter_map(|n| n.text());
        lines.filter(|l| *l != tag).collect::<Vec<_>>().join(" ")
    };
    let all = tags.map(|t| (t.to_owned(), words(t).to_lowercase())).collect();
    (title, all)
}

/// Faults of the marks over all sheets of one schematic, and how many marks there are.
fn faults(files: &[String]) -> (usize, Vec<String>) {
    let sheets: Vec<(String, Vec<(String, String)>)> = files.iter().map(|f| marks(f)).collect();
    let mut stands: BTreeMap<&str, Vec<(usize, &str)>> = BTreeMap::new();
    for (n, (_, marks)) in sheets.iter().enumerate() {
        for (tag, words) in marks {
            stands.entry(tag).or_default().push((n, words));
        }
    }
    let mut bad = Vec::new();
    for (tag, places) in &stands {
        let [(a, to_b), (b, to_a)] = places[..] else {
            bad.push(format!("{tag} stands {} times", places.len()));
            continue;
        };
        let names = |words: &str, sheet: usize| {
            let name = words.strip_prefix("to ").unwrap_or("nothing");
            sheets.iter().position(|(title, _)| title.contains(name)) == Some(sheet)
        };
        if a == b || !names(to_b, b) || !names(to_a, a) {
            bad.push(format!("{tag} on {a} says {to_b:?}, on {b} {to_a:?}"));
        }
    }
    for (n, (title, marks)) in sheets.iter().enumerate() {
        if files.len() > 1 && marks.is_empty() {
            bad.push(format!("sheet {n}, {title}, is joined to none"));
        }
    }
    (stands.len(), bad)
}

#[test]
fn every_mark_stands_on_two_sheets_that_name_each_other() {
    let cases =
        [("flats", FLATS.to_owned(), 2), ("hall", hall(14), 2), ("plant room", plant_room(34), 4)];
    for (name, text, least) in cases {
        let files = files(&text);
        assert!(files.len() >= least, "{name}: {} sheets", files.len());
        let (marks, bad) = faults(&files);
        assert!(marks >= 2 && bad.is_empty(), "{name}: {marks} marks, {bad:#?}");
        for file in &files {
            let wrong = hard::wrong(file);
            assert!(wrong.is_empty(), "{name}: {wrong:#?}");
        }
    }
    for (name, text) in sound() {
        let (_, bad) = faults(&files(&text));
        assert!(bad.is_empty(), "{name}: {bad:#?}");
    }
}

/// Nothing is lost between the sheets, and nothing but joints stands on two.
#[test]
fn every_part_stands_on_one_sheet() {
    for text in [hall(14), plant_room(34)] {
        let sized = sized(&text);
        let plan = lay_out(&sized);
        let mut stands: BTreeMap<&str, usize> = BTreeMap::new();
        for page in &plan.pages {
            for part in page.system.parts.iter().filter(|p| p.kind.key != "match mark") {
                *stands.entry(part.name.as_str()).or_default() += 1;
            }
        }
        assert!(stands.values().all(|n| *n == 1));
        assert_eq!(stands.len(), sized.system.parts.len());
        let pipes: usize = plan.pages.iter().map(|p| p.system.pipes.len()).sum();
        let marks = plan.pages.iter().flat_map(|p| &p.system.parts);
        let marks = marks.filter(|p| p.kind.key == "match mark").count();
        assert_eq!(pipes, sized.system.pipes.len() + marks / 2);
    }
}

/// After an edit every part is still on the sheet on which it was.
#[test]
fn an_edit_moves_no_part_to_another_sheet() {
    let old = sized(&hall(14));
    let before = lay_out(&old);
    let new = sized(&hall(14).replace("outlets { ", "outlets { outside-tap; "));
    let after = lay_out_after(&new, &before);
    assert_eq!(before.pages.len(), after.pages.len());
    for (a, b) in before.pages.iter().zip(&after.pages) {
        for part in a.system.parts.iter().filter(|p| p.kind.key != "match mark") {
            let there = b.system.parts.iter().any(|p| p.name == part.name);
            let gone = !new.system.parts.iter().any(|p| p.name == part.name);
            assert!(there || gone, "{} left {}", part.name, a.key);
        }
    }
}
