//! Labels to cut out and fix: what the store is, each valve's tag, what must never be closed. In:
//! the system. Out: sheets.

use crate::catalogue::Closes;
use crate::draw::frame::TitleData;
use crate::draw::scene::{Anchor, Ink, Item, Paper, Shape, Sheet, Stroke, Words};
use crate::draw::tables::Flow;
use crate::lettering::{Weight, wrap};
use crate::model::{P2, Part, Rect, System};

/// Height of a label and of its letters, mm.
const LABEL: f64 = 24.0;
const LETTERS: f64 = 3.5;
const COLUMNS: usize = 3;

pub fn labels(system: &System, data: &TitleData) -> Vec<Sheet> {
    let mut flow = Flow::new("labels", "Labels to cut out", Paper::A4_PORTRAIT, data);
    flow.heading("Fix one to each part; the first beside the cylinder");
    let mut texts: Vec<(String, String)> = Vec::new();
    if system.parts.iter().any(|p| p.kind.symbol.name == "cylinder") {
        texts.push((
            "UNVENTED HOT WATER".to_owned(),
            "Under pressure. Do not remove or alter any valve. Call a certificated person."
                .to_owned(),
        ));
    }
    for part in system.parts.iter().filter(|p| p.in_cupboard()) {
        if let Some(text) = wording(part) {
            texts.push((format!("{} {}", part.tag, part.kind.key), text.to_owned()));
        }
    }
    for row in texts.chunks(COLUMNS) {
        flow.picture(LABEL + 2.0, |room| {
            row.iter().enumerate().flat_map(|(i, text)| label(room, i, text)).collect()
        });
    }
    flow.finish()
}

/// What a part's label says; most parts need none.
fn wording(part: &Part) -> Option<&'static str> {
    let kind = part.kind.key.as_str();
    match (kind, part.kind.closes) {
        (
            "temperature and pressure relief valve" | "expansion relief valve" | "safety valve",
            _,
        ) => Some("Safety valve. Never remove, cap or block."),
        ("tundish", _) => Some("Water here: switch off the heaters and ring the engineer."),
        ("stop valve", _) => Some("Turn clockwise to stop the water."),
        ("lockable valve", _) => Some("Never close. For service only."),
        ("hot-water vessel" | "heating vessel" | "solar vessel", _) => {
            Some("Check the charge every year, water side empty.")
        }
        ("filling loop", _) => Some("Take the hose off after filling."),
        ("drain cock", _) => None,
        (_, Closes::ByHand) => Some("Open in use."),
        _ => None,
    }
}

fn label(room: Rect, column: usize, (heading, text): &(String, String)) -> Vec<Item> {
    let w = room.w / COLUMNS as f64;
    let frame = Rect::new(room.x + w * column as f64, room.y, w - 2.0, LABEL);
    let edge = Stroke::solid(0.5, Ink::BLACK);
    let mut items: Vec<Item> = vec![Shape::rect(frame, Some(edge), None).into()];
    let mut y = frame.y + 5.0;
    let mut line = |text: String, weight: Weight, y: &mut f64, h: f64| {
        let mut words = Words::new(P2::new(frame.centre().x, *y), text, h).anchor(Anchor::Middle);
        words.weight = weight;
        items.push(words.into());
        *y += h * 1.5;
    };
    for l in wrap(heading, LETTERS, Weight::Bold, frame.w - 4.0) {
        line(l, Weight::Bold, &mut y, LETTERS);
    }
    for l in wrap(text, 2.5, Weight::Regular, frame.w - 4.0) {
        line(l, Weight::Regular, &mut y, 2.5);
    }
    items
}
