//! What the drawing rules ask of sheets. In: drawn sheets and the system. Out:
//! [`DrawingFacts`] for `check`.

use super::frame::TitleData;
use super::quality::measure;
use super::scene::{Item, SCALE_BAR, Sheet};
use crate::check::{DrawingFacts, SheetFacts};
use crate::model::System;

/// Words of the trade that a householder's sheet must not hold; "bar" stands on their gauge.
const TRADE_WORDS: [&str; 9] =
    ["tundish", "PRV", "ERV", "T&P", "isolat", "unvented", "D1", "D2", "mm"];

/// Facts of the drawings. `assumed` sheets list every assumption, so none is unlisted.
pub fn facts(system: &System, sheets: &[Sheet]) -> DrawingFacts {
    let title = TitleData::of(system);
    // A design may have blanks to be filled in by hand; what is filed as built may not.
    let filed = title.status.to_lowercase().starts_with("as");
    let blank: Vec<String> = title.missing().into_iter().map(str::to_owned).collect();
    let (missing, blank) = if filed { (blank, Vec::new()) } else { (Vec::new(), blank) };
    let householder = sheets.iter().find(|s| s.key == "householder");
    DrawingFacts {
        sheets: sheets.iter().map(|s| sheet(s, &missing, &blank)).collect(),
        labels: sheets.iter().any(|s| s.key == "labels"),
        householder: householder.is_some(),
        trade_words: householder.map_or_else(Vec::new, trade_words),
        ..DrawingFacts::default()
    }
}

fn sheet(sheet: &Sheet, missing: &[String], blank: &[String]) -> SheetFacts {
    let quality = measure(sheet);
    let hard = &quality.hard;
    let mut texts = Vec::new();
    words(&sheet.items, &mut texts);
    SheetFacts {
        name: sheet.key.clone(),
        unlabelled: vec![sheet.key.clone(); hard.run_without_label_or_arrow],
        missing_fields: missing.to_vec(),
        blank_fields: blank.to_vec(),
        least_text: texts.iter().map(|(_, h)| *h).fold(f64::MAX, f64::min),
        overlaps: hard.label_over_label + hard.label_over_symbol + hard.label_over_pipe,
        scaled: sheet.scale.is_some(),
        scale_bar: has_scale_bar(&sheet.items),
        scale_error: if hard.length_off_scale == 0 { 0.0 } else { f64::INFINITY },
        ..SheetFacts::default()
    }
}

/// True where a group says that it is the scale bar.
fn has_scale_bar(items: &[Item]) -> bool {
    items.iter().any(|item| match item {
        Item::Group(g) => g.title.as_deref() == Some(SCALE_BAR) || has_scale_bar(&g.items),
        _ => false,
    })
}

/// Every line of text with the height of its letters.
fn words(items: &[Item], into: &mut Vec<(String, f64)>) {
    for item in items {
        match item {
            Item::Group(g) => words(&g.items, into),
            Item::Words(w) => into.push((w.text.clone(), w.height)),
            Item::Shape(_) => {}
        }
    }
}

fn trade_words(sheet: &Sheet) -> Vec<String> {
    let mut texts = Vec::new();
    words(&sheet.items, &mut texts);
    TRADE_WORDS
        .iter()
        .filter(|w| {
            texts.iter().any(|(t, _)| {
                t.split(|c: char| !c.is_alphanumeric() && c != '&')
                    .any(|part| part == **w || (w.len() > 4 && part.to_lowercase().starts_with(*w)))
            })
        })
        .map(|w| (*w).to_owned())
        .collect()
}
