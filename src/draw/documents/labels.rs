//! Labels to cut out and fix: what the store is, each valve's tag, what must never be closed. In:
//! the system. Out: sheets.

use super::words::spoken;
use crate::catalogue::Closes;
use crate::draw::frame::space_above_strip;
use crate::draw::scene::{Anchor, Ink, Item, Paper, Shape, Sheet, Stroke, Words};
use crate::draw::tables::Flow;
use crate::lettering::{self, Weight, wrap};
use crate::model::dwelling::{dwellings, scope_of};
use crate::model::stopping::{runs_on, stops_all, stored_behind};
use crate::model::{P2, Part, PartIx, Rect, System};

const LETTERS: f64 = 3.5;
const SMALL: f64 = 2.5;
/// Of the warning beside the cylinder: read from the door.
const LARGE: f64 = 6.0;
/// Labels side by side, the fewer where the letters are large.
const COLUMNS: [usize; 2] = [3, 2];
const PITCH: f64 = 1.5;
/// Above and below the words of a label, and between labels.
const PAD: f64 = 3.0;
const GAP: f64 = 2.0;
/// Left and right of the words of a label, together.
const INSIDE: f64 = 4.0;
const PAPER: Paper = Paper::A4_PORTRAIT;

/// A label: what stands large and what stands under it.
struct Label {
    heading: String,
    text: String,
}

/// The labels, in the largest letters that need no further sheet and that every word fits in.
pub fn labels(system: &System) -> Vec<Sheet> {
    let all = wanted(system);
    let least = set_out(system, &all, 1.0, COLUMNS[0]);
    let sizes = [2.8, 2.6, 2.4, 2.2, 2.0, 1.8, 1.6, 1.4, 1.2];
    let ways = sizes.into_iter().flat_map(|times| COLUMNS.map(|columns| (times, columns)));
    let fits = ways.filter(|(times, columns)| {
        let measure = Flow::within("labels", "", PAPER, space_above_strip(PAPER)).measure();
        let room = measure / *columns as f64 - GAP - INSIDE;
        all.iter()
            .flat_map(|l| l.heading.split(' '))
            .all(|word| lettering::width(word, LETTERS * times, Weight::Bold) <= room)
    });
    let mut sheets = fits.map(|(times, columns)| set_out(system, &all, times, columns));
    sheets.find(|s| s.len() == least.len()).unwrap_or(least)
}

/// A label for each part that somebody may touch.
fn wanted(system: &System) -> Vec<Label> {
    let flats = dwellings(system);
    let first = flats.first().map(|(_, parts)| parts);
    let home = flats.first().map(|(scope, _)| scope.as_str());
    let stoppers = stops_all(system, home);
    let parts = system
        .part_ixs()
        .filter(|ix| {
            // What stops or switches off everything has its label where it stands.
            let p = system.part(*ix);
            let entry = p.kind.key == "stop valve"
                || SWITCHES.contains(&p.kind.key.as_str())
                || stoppers.contains(ix);
            let drawn = first.is_none_or(|f| f.contains(ix) || scope_of(&p.name).is_none());
            p.in_cupboard() || (entry && drawn)
        })
        .filter_map(|ix| {
            let part = system.part(ix);
            let heading = format!("{} {}", part.tag, part.kind.key);
            let text = match part.kind.key.as_str() {
                "stop valve" => Some(stops(system, ix, &stoppers)),
                _ if stoppers.contains(&ix) => Some(also_stops(system, ix, &stoppers)),
                _ => wording(system, part),
            };
            text.map(|text| Label { heading, text })
        });
    // A cushion of air is no part that could bear a label, and is lost unless somebody renews it.
    let cushions = system.parts.iter().filter(|p| p.in_cupboard() && p.has_air_gap()).map(|p| {
        Label {
        heading: format!("{} air gap inside", p.tag),
        text: "Renew it every year as the maker says, and whenever the drip cup drips. Date of the \
               last: ________"
            .to_owned(),
    }
    });
    cushions.chain(parts).collect()
}

fn set_out(system: &System, all: &[Label], times: f64, columns: usize) -> Vec<Sheet> {
    let paper = PAPER;
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
        let lines = plate(whole);
        let depth = depth(&lines);
        flow.picture(depth + GAP, |room| {
            draw(Rect::new(room.x, room.y, whole, depth), &lines, true)
        });
        flow.picture(BLANKS_DEEP + GAP, |room| {
            installed(Rect::new(room.x, room.y, whole, BLANKS_DEEP))
        });
    }
    let wide = flow.measure() / columns as f64 - GAP;
    for row in all.chunks(columns) {
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

/// The marking that goes with the store: what it is, what its user and what its installer must
/// know (content of BS EN 12897 and Approved Document G, from memory; own words).
fn plate(wide: f64) -> Vec<Line> {
    let heading = "UNVENTED HOT WATER".to_owned();
    let text = "Under pressure. Do not remove or alter any valve. Call a certificated person.";
    let mut lines = set(&Label { heading, text: text.to_owned() }, wide, LARGE, LETTERS);
    let more = [
        "User: if water runs from the discharge pipe, switch off all that heats the water and call \
         the installer.",
        "Installer: this work comes under the Building Regulations. Fit and mend with proper parts \
         only, made for this store.",
    ];
    for text in more {
        let wrapped = wrap(text, LETTERS, Weight::Regular, wide - INSIDE);
        lines.extend(wrapped.into_iter().map(|l| (l, Weight::Regular, LETTERS)));
    }
    lines
}

/// Who fitted it: filled in on site, two blanks a line.
fn installed(frame: Rect) -> Vec<Item> {
    let mut items: Vec<Item> =
        vec![Shape::rect(frame, Some(Stroke::solid(1.0, Ink::BLACK)), None).into()];
    let half = frame.w / 2.0;
    let captions = ["Installed by", "Telephone", "Address", "Date of completion"];
    for (i, caption) in captions.iter().enumerate() {
        let x = frame.x + PAD + half * (i % 2) as f64;
        let y = frame.y + PAD + BLANK_PITCH * (1 + i / 2) as f64 - 1.5;
        let end = frame.x + half * (1 + i % 2) as f64 - PAD;
        let from = x + lettering::width(caption, LETTERS, Weight::Regular) + 2.0;
        items.push(Words::new(P2::new(x, y), *caption, LETTERS).into());
        let line = [P2::new(from, y + 0.8), P2::new(end, y + 0.8)];
        items.push(Shape::line(&line, Stroke::solid(0.25, Ink::BLACK)).into());
    }
    items
}

/// From one line to write on to the next, and the depth of two.
const BLANK_PITCH: f64 = 9.0;
const BLANKS_DEEP: f64 = 2.0 * BLANK_PITCH + 2.0 * PAD;

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

/// What a stop valve stops, by the graph: the building, the dwelling, the street's water alone, the
/// store alone; and what stops all where it does not.
fn stops(system: &System, valve: PartIx, all: &[PartIx]) -> String {
    let part = system.part(valve);
    let many = !dwellings(system).is_empty();
    let whole = many && scope_of(&part.name).is_none();
    let tags: Vec<&str> = all.iter().map(|v| system.part(*v).tag.as_str()).collect();
    let remedy = match tags[..] {
        [] => String::new(),
        [one] => format!(" {one} stops all."),
        _ => format!(" {} together stop all.", spoken(&tags)),
    };
    let stored = stored_behind(system, valve);
    if !stored.is_empty() && street_stops(system, valve) {
        let stores: Vec<String> = stored
            .iter()
            .map(|s| format!("{} ({})", system.part(*s).tag, system.part(*s).kind.words))
            .collect();
        let stores: Vec<&str> = stores.iter().map(String::as_str).collect();
        let run = if stores.len() > 1 { "still feed" } else { "still feeds" };
        return format!(
            "Turn clockwise to stop the street's water. {} {run} the taps.{remedy}",
            spoken(&stores)
        );
    }
    if whole {
        return "Turn clockwise to stop the water to every flat.".to_owned();
    }
    if runs_on(system, valve).is_empty() {
        let what = if many { "to this flat" } else { "" };
        return format!("Turn clockwise to stop the water {what}").trim().to_owned() + ".";
    }
    format!("Turn clockwise to stop the water to the hot water tank. Others still run.{remedy}")
}

/// With the valve shut nothing comes from the street, whatever a store still gives.
fn street_stops(system: &System, valve: PartIx) -> bool {
    let reached = system.reached(Some(valve), true);
    !reached.iter().any(|p| system.part(p.part).kind.symbol.name == "outlet")
}

/// A valve that is no stop tap and yet stops the water, alone or with others.
fn also_stops(system: &System, valve: PartIx, all: &[PartIx]) -> String {
    let others: Vec<&str> =
        all.iter().filter(|v| **v != valve).map(|v| system.part(*v).tag.as_str()).collect();
    match others[..] {
        [] => "Open in use. Turn across the pipe to stop all the water.".to_owned(),
        _ => format!("Open in use. Shut with {} to stop all the water.", spoken(&others)),
    }
}

/// A line of a label: its words, their weight and height.
type Line = (String, Weight, f64);

fn set(label: &Label, wide: f64, large: f64, small: f64) -> Vec<Line> {
    let room = wide - INSIDE;
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
