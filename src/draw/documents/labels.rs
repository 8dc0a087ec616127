//! Labels to cut out and fix: what the store is, each valve's tag, what must never be closed. In:
//! the system. Out: sheets.

use crate::catalogue::Closes;
use crate::draw::frame::space_above_strip;
use crate::draw::scene::{Anchor, Ink, Item, Paper, Shape, Sheet, Stroke, Words};
use crate::draw::tables::Flow;
use crate::lettering::{Weight, wrap};
use crate::model::dwelling::{dwellings, runs_on, scope_of};
use crate::model::{P2, Part, Rect, System};

const LETTERS: f64 = 3.5;
const SMALL: f64 = 2.5;
/// Of the warning beside the cylinder: read from the door.
const LARGE: f64 = 6.0;
const COLUMNS: usize = 3;
const PITCH: f64 = 1.5;
/// Above and below the words of a label, and between labels.
const PAD: f64 = 3.0;
const GAP: f64 = 2.0;

/// A label: what stands large and what stands under it.
struct Label {
    heading: String,
    text: String,
}

/// The labels, in the largest letters that need no further sheet.
pub fn labels(system: &System) -> Vec<Sheet> {
    let least = set_out(system, 1.0);
    let larger = [1.8, 1.6, 1.4, 1.2].into_iter().map(|times| set_out(system, times));
    larger.into_iter().find(|s| s.len() == least.len()).unwrap_or(least)
}

fn set_out(system: &System, times: f64) -> Vec<Sheet> {
    let paper = Paper::A4_PORTRAIT;
    let mut flow = Flow::within("labels", "Labels to cut out", paper, space_above_strip(paper));
    flow.heading("Fix one to each part; the first beside the cylinder");
    flow.paragraph(
        "Letters and number, such as TPRV1, are the part's tag on the drawings and in the lists: \
         the label carries both the tag and the part's name.",
    );
    let flats = dwellings(system);
    if let [(first, _), _, ..] = &flats[..] {
        flow.paragraph(&format!(
            "Of {}: the other {} flats want the same with their own tags.",
            first.trim(),
            flats.len() - 1
        ));
    }
    flow.gap(2.0);
    let whole = flow.measure() - GAP;
    if system.parts.iter().any(|p| p.kind.symbol.name == "cylinder") {
        let warning = Label {
            heading: "UNVENTED HOT WATER".to_owned(),
            text: "Under pressure. Do not remove or alter any valve. Call a certificated person."
                .to_owned(),
        };
        let lines = set(&warning, whole, LARGE, LETTERS);
        let depth = depth(&lines);
        flow.picture(depth + GAP, |room| {
            draw(Rect::new(room.x, room.y, whole, depth), &lines, true)
        });
    }
    let first = flats.first().map(|(_, parts)| parts);
    let texts: Vec<Label> = system
        .part_ixs()
        .filter(|ix| {
            // What stops or switches off everything has its label where it stands.
            let p = system.part(*ix);
            let entry = p.kind.key == "stop valve" || SWITCHES.contains(&p.kind.key.as_str());
            let drawn = first.is_none_or(|f| f.contains(ix) || scope_of(&p.name).is_none());
            p.in_cupboard() || (entry && drawn)
        })
        .filter_map(|ix| {
            let part = system.part(ix);
            let heading = format!("{} {}", part.tag, part.kind.key);
            wording(system, part).map(|text| Label { heading, text })
        })
        .collect();
    let wide = flow.measure() / COLUMNS as f64 - GAP;
    for row in texts.chunks(COLUMNS) {
        let row: Vec<Vec<Line>> =
            row.iter().map(|l| set(l, wide, LETTERS * times, SMALL * times)).collect();
        let deep = row.iter().map(|lines| depth(lines)).fold(0.0, f64::max);
        flow.picture(deep + GAP, |room| {
            let frame = |i: usize| Rect::new(room.x + (wide + GAP) * i as f64, room.y, wide, deep);
            row.iter().enumerate().flat_map(|(i, lines)| draw(frame(i), lines, false)).collect()
        });
    }
    flow.finish()
}

const SWITCHES: [&str; 2] = ["fused connection unit", "double-pole switch"];

/// What a part's label says; most parts need none.
fn wording(system: &System, part: &Part) -> Option<String> {
    let kind = part.kind.key.as_str();
    let text = match (kind, part.kind.closes) {
        (
            "temperature and pressure relief valve" | "expansion relief valve" | "safety valve",
            _,
        ) => "Safety valve. Never remove, cap or block.",
        ("tundish", _) => "Water here: switch off all that heats the water and ring the engineer.",
        ("stop valve", _) => return Some(stops(system, part)),
        ("lockable valve", _) => "Never close. For service only.",
        ("balancing valve", _) => "Set by the engineer: leave as it is.",
        ("hot-water vessel" | "heating vessel", _) => {
            "Check the charge every year, water side empty."
        }
        ("solar vessel", _) => "Check the charge every year, fluid side empty.",
        ("blending valve", _) => "Set by the engineer: leave as it is.",
        ("fused connection unit", _) => "Heating and its controls. Switch off before any cover.",
        ("double-pole switch", _) => return Some(switches(system, part)),
        ("filling loop", _) => "Take the hose off after filling.",
        ("drain cock", _) => return None,
        (_, Closes::ByHand) if part.name.contains("bypass") => "Shut in use.",
        (_, Closes::ByHand) => "Open in use.",
        _ => return None,
    };
    Some(text.to_owned())
}

/// What a heater's switch is for.
fn switches(system: &System, part: &Part) -> String {
    let named = part.text("for").and_then(|t| system.by_name(t).or_else(|| system.by_tag(t)));
    let heater = named.map_or_else(String::new, |ix| format!(" {}", system.part(ix).tag));
    format!("Electric water heater{heater}. Switch off before any cover.")
}

/// What a stop valve stops, by the graph: the building, the dwelling, the store alone.
fn stops(system: &System, part: &Part) -> String {
    let Some(valve) = system.by_tag(&part.tag) else { return String::new() };
    let many = !dwellings(system).is_empty();
    if many && scope_of(&part.name).is_none() {
        return "Turn clockwise to stop the water to every flat.".to_owned();
    }
    if runs_on(system, valve).is_empty() {
        let what = if many { "to this flat" } else { "" };
        return format!("Turn clockwise to stop the water {what}").trim().to_owned() + ".";
    }
    let own = |p: &Part| scope_of(&p.name) == scope_of(&part.name);
    let all =
        system.of_kind("stop valve").find(|(ix, p)| own(p) && runs_on(system, *ix).is_empty());
    let all = all.map_or_else(String::new, |(_, p)| format!(" {} stops all.", p.tag));
    format!("Turn clockwise to stop the water to the hot water tank. Others still run.{all}")
}

/// A line of a label: its words, their weight and height.
type Line = (String, Weight, f64);

fn set(label: &Label, wide: f64, large: f64, small: f64) -> Vec<Line> {
    let room = wide - 4.0;
    let of = |text: &str, weight: Weight, h: f64| -> Vec<Line> {
        wrap(text, h, weight, room).into_iter().map(|l| (l, weight, h)).collect()
    };
    let mut lines = of(&label.heading, Weight::Bold, large);
    lines.extend(of(&label.text, Weight::Regular, small));
    lines
}

fn depth(lines: &[Line]) -> f64 {
    2.0 * PAD + lines.iter().map(|(_, _, h)| h * PITCH).sum::<f64>()
}

/// The words of a label in the middle of its frame, across and down.
fn draw(frame: Rect, lines: &[Line], warning: bool) -> Vec<Item> {
    let edge = Stroke::solid(if warning { 1.0 } else { 0.5 }, Ink::BLACK);
    let mut items: Vec<Item> = vec![Shape::rect(frame, Some(edge), None).into()];
    let mut y = frame.y + PAD + (frame.h - depth(lines)) / 2.0;
    for (text, weight, h) in lines {
        let at = P2::new(frame.centre().x, y + h * (1.0 + PITCH) / 2.0);
        let mut words = Words::new(at, text.clone(), *h).anchor(Anchor::Middle);
        words.weight = *weight;
        items.push(words.into());
        y += h * PITCH;
    }
    items
}
