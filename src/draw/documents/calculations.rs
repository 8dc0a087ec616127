//! The calculations sheet: every figure with formula, inputs, source and result, so that a person
//! can follow it by hand. In: the figures. Out: sheets.

use super::words::plain;
use crate::draw::frame::TitleData;
use crate::draw::scene::{Paper, Sheet};
use crate::draw::tables::{Flow, words};
use crate::size::{Figure, Sized};

/// The calculations, A4, as many sheets as they take.
pub fn calculations(sized: &Sized, data: &TitleData) -> Vec<Sheet> {
    let mut flow = Flow::new("calculations", "Calculations", Paper::A4_PORTRAIT, data);
    let mut groups: Vec<&str> = Vec::new();
    for figure in &sized.figures {
        let group = group_of(figure);
        if !groups.contains(&group) {
            groups.push(group);
        }
    }
    for group in groups {
        flow.heading(&capital(&group.replace('-', " ")));
        let rows: Vec<Vec<String>> =
            sized.figures.iter().filter(|f| group_of(f) == group).map(row).collect();
        let columns = [
            words("What", 40.0),
            words("Working", 62.0),
            words("Result", 34.0),
            words("Source", 36.0),
        ];
        flow.table(&columns, &rows);
    }
    flow.finish()
}

/// `discharge` of `discharge.equivalent-length`.
fn group_of(figure: &Figure) -> &str {
    figure.id.split('.').next().unwrap_or(&figure.id)
}

fn row(f: &Figure) -> Vec<String> {
    let inputs: Vec<String> = f
        .inputs
        .iter()
        .map(|i| format!("{} = {} {}", i.name, plain(i.value), i.unit).trim().to_owned())
        .collect();
    let about = if f.about.is_empty() { String::new() } else { format!("{}: ", f.about) };
    let mut working = f.formula.clone();
    if !inputs.is_empty() {
        working = format!("{working}; {}", inputs.join(", "));
    }
    let value = format!("{} {}", plain(f.value), f.unit);
    let mut result = value.trim().to_owned();
    if !f.result.is_empty() {
        result = format!("{result}. {}", f.result);
    }
    if f.assumed {
        result.push_str(" (rests on an assumed value)");
    }
    vec![format!("{about}{}", f.quantity), working, result, f.source.clone()]
}

pub fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |c| c.to_uppercase().collect::<String>() + chars.as_str())
}
