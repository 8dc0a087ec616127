//! `list` and `expand`: what to buy, and the system written out.

use std::collections::BTreeMap;

use serde::Serialize;

use super::args::{Input, List};
use super::{Source, UNREADABLE, Worked, say};
use crate::complete::complete;
use crate::describe;
use crate::diagnostic::Located;
use crate::layout::cupboard::takeoff::Line;
use crate::model::System;

#[derive(Serialize)]
struct Document {
    parts: Vec<Item>,
    pipes: Vec<PipeItem>,
    /// What the routes in the cupboard need.
    takeoff: Vec<Line>,
    diagnostics: Vec<Located>,
}

/// Parts of a kind, in a unit or not.
#[derive(Serialize)]
struct Item {
    count: usize,
    kind: String,
    /// Tag of the factory-made unit that brings them; empty: to be bought.
    unit: String,
    tags: Vec<String>,
}

/// Pipe of a size.
#[derive(Serialize)]
struct PipeItem {
    material: String,
    size: String,
    stretches: usize,
    /// Metres that are known.
    metres: f64,
    /// Stretches without a length.
    unmeasured: usize,
}

pub fn list(a: &List) -> u8 {
    let input = &a.input;
    let Some(w) = Worked::of(input) else { return UNREADABLE };
    let system = w.project.system();
    let (parts, pipes) = (parts(system), pipes(system));
    if input.json {
        let takeoff = w.project.takeoff.clone();
        say::json(&Document { parts, pipes, takeoff, diagnostics: w.source.records() });
        return w.source.code();
    }
    if a.csv {
        say::out(&csv(&parts, &w.project.takeoff));
        return w.source.code();
    }
    w.source.say();
    let rows: Vec<Vec<String>> = parts
        .iter()
        .map(|i| {
            let unit = if i.unit.is_empty() { String::new() } else { format!("in {}", i.unit) };
            vec![i.count.to_string(), i.kind.clone(), i.tags.join(", "), unit]
        })
        .collect();
    let mut text = say::table(&["no.", "part", "tags", ""], &rows);
    let rows: Vec<Vec<String>> = pipes
        .iter()
        .map(|p| {
            let rest = match p.unmeasured {
                0 => String::new(),
                1 => "1 stretch without a length".to_owned(),
                n => format!("{n} stretches without a length"),
            };
            vec![p.material.clone(), p.size.clone(), say::number(p.metres), rest]
        })
        .collect();
    text.push('\n');
    text.push_str(&say::table(&["pipe", "size", "metres", ""], &rows));
    if !w.project.takeoff.is_empty() {
        let rows: Vec<Vec<String>> = w.project.takeoff.iter().map(|l| l.row().to_vec()).collect();
        text.push('\n');
        text.push_str(&say::table(&["in the cupboard", "size", "quantity", "", "remark"], &rows));
    }
    say::out(&text);
    w.source.code()
}

/// RFC 4180: a heading row, then parts to buy, then what the routes need.
fn csv(parts: &[Item], takeoff: &[Line]) -> String {
    let quoted = |field: &str| {
        if field.contains(['"', ',', '\n', '\r']) {
            format!("\"{}\"", field.replace('"', "\"\""))
        } else {
            field.to_owned()
        }
    };
    let heading = ["what", "size", "quantity", "unit", "remark"].map(str::to_owned);
    let bought = parts.iter().filter(|i| i.unit.is_empty()).map(|i| {
        let tags = i.tags.join(" ");
        [i.kind.clone(), String::new(), i.count.to_string(), "off".to_owned(), tags]
    });
    std::iter::once(heading)
        .chain(bought)
        .chain(takeoff.iter().map(Line::row))
        .map(|row| row.map(|f| quoted(&f)).join(",") + "\r\n")
        .collect()
}

fn parts(system: &System) -> Vec<Item> {
    let mut all: BTreeMap<(String, String), Vec<String>> = BTreeMap::new();
    for p in &system.parts {
        let unit = p.unit.map(|u| system.unit(u).tag.clone()).unwrap_or_default();
        all.entry((unit, p.kind.key.clone())).or_default().push(p.tag.clone());
    }
    for u in &system.units {
        all.entry((String::new(), u.kind.key.clone())).or_default().push(u.tag.clone());
    }
    all.into_iter()
        .map(|((unit, kind), tags)| Item { count: tags.len(), kind, unit, tags })
        .collect()
}

fn pipes(system: &System) -> Vec<PipeItem> {
    let mut all: BTreeMap<(String, String), PipeItem> = BTreeMap::new();
    for p in &system.pipes {
        let size = p.size.as_ref().map_or_else(|| "not sized".to_owned(), |s| s.value.clone());
        let material = p.material.value.clone();
        let item = all.entry((material.clone(), size.clone())).or_insert(PipeItem {
            material,
            size,
            stretches: 0,
            metres: 0.0,
            unmeasured: 0,
        });
        item.stretches += 1;
        match &p.length {
            Some(l) => item.metres += l.value,
            None => item.unmeasured += 1,
        }
    }
    all.into_values().collect()
}

#[derive(Serialize)]
struct Expanded<'a> {
    text: &'a str,
    system: &'a System,
    diagnostics: Vec<Located>,
}

/// The completed system, written out. Sizes the file leaves open stay open: sizing them is for the
/// stage that follows, whichever of the two texts it gets.
pub fn expand(input: &Input) -> u8 {
    let Some(mut source) = Source::of(&input.file) else { return UNREADABLE };
    if source.readable {
        let reading = describe::read(&source.text);
        source.readable = reading.readable;
        source.diagnostics = reading.diagnostics;
        if reading.readable {
            let completed = complete(&reading.facts);
            source.diagnostics.extend(completed.diagnostics);
            source.diagnostics.sort_by_key(|d| d.span.start);
            crate::diagnostic::once(&mut source.diagnostics);
            let (system, text) = (&completed.system, describe::print(&completed.system));
            if input.json {
                say::json(&Expanded { text: &text, system, diagnostics: source.records() });
            } else {
                source.say();
                say::out(&text);
            }
            return source.code();
        }
    }
    source.refuse(input.json);
    UNREADABLE
}
