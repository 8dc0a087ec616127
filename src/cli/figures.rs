//! `size`: every figure with its working.

use std::collections::BTreeMap;
use std::fmt::Write;

use serde::Serialize;

use super::args::Input;
use super::{UNREADABLE, Worked, say};
use crate::diagnostic::Located;
use crate::size::Figure;

/// One figure as programs read it: inputs by name.
#[derive(Serialize)]
struct Record<'a> {
    id: &'a str,
    about: &'a str,
    quantity: &'a str,
    value: f64,
    unit: &'a str,
    method: &'a str,
    formula: &'a str,
    source: &'a str,
    inputs: BTreeMap<&'a str, Amount<'a>>,
    result: &'a str,
    assumed: bool,
}

#[derive(Serialize)]
struct Amount<'a> {
    value: f64,
    unit: &'a str,
}

#[derive(Serialize)]
struct Document<'a> {
    figures: Vec<Record<'a>>,
    diagnostics: Vec<Located>,
}

fn record(f: &Figure) -> Record<'_> {
    Record {
        id: &f.id,
        about: &f.about,
        quantity: &f.quantity,
        value: f.value,
        unit: &f.unit,
        method: &f.method,
        formula: &f.formula,
        source: &f.source,
        inputs: f
            .inputs
            .iter()
            .map(|i| (i.name.as_str(), Amount { value: i.value, unit: &i.unit }))
            .collect(),
        result: &f.result,
        assumed: f.assumed,
    }
}

pub fn size(input: &Input) -> u8 {
    let Some(w) = Worked::of(input) else { return UNREADABLE };
    let figures = &w.project.sized.figures;
    if input.json {
        say::json(&Document {
            figures: figures.iter().map(record).collect(),
            diagnostics: w.source.records(),
        });
        return w.source.code();
    }
    w.source.say();
    let mut text = String::new();
    for f in figures {
        let _ = writeln!(text, "{} — {}: {} {}", f.about, f.quantity, say::number(f.value), f.unit);
        let _ = writeln!(text, "    {}: {}", f.method, f.formula);
        let inputs: Vec<String> = f
            .inputs
            .iter()
            .map(|i| {
                format!("{} = {} {}", i.name, say::number(i.value), i.unit).trim_end().to_owned()
            })
            .collect();
        if !inputs.is_empty() {
            let _ = writeln!(text, "    {}", inputs.join(", "));
        }
        if !f.result.is_empty() {
            let _ = writeln!(text, "    {}", f.result);
        }
        let assumed = if f.assumed { "; rests on an assumed value" } else { "" };
        let _ = writeln!(text, "    source: {}{assumed}\n", f.source);
    }
    say::out(&text);
    w.source.code()
}
