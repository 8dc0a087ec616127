//! Everything that is said: diagnostics on standard error, results on standard output.

use std::io::{IsTerminal, Write};

use serde::Serialize;

use crate::diagnostic::{Diagnostic, Located, Severity, located, to_colour};
use crate::pipeline::Stage;

/// Diagnostics drawn at most; the rest is counted.
const DRAWN: usize = 40;

/// A line for people on standard error.
pub fn remark(text: &str) {
    let _ = writeln!(anstream::stderr(), "{text}");
}

/// What is being worked at, for somebody who waits at a terminal: one line that the next one takes
/// the place of. A file or a pipe gets none of it.
pub fn stage(stage: Stage) {
    transient(match stage {
        Stage::Cupboard => "placing the parts in the cupboard and finding ways for the pipes …",
        Stage::Wiring => "working out the wiring …",
        Stage::Schematic => "laying out the schematic …",
        Stage::Rules => "checking …",
    });
}

/// Takes the line away.
pub fn no_more_stages() {
    transient("");
}

/// Writes over the line that stands there.
pub fn transient(text: &str) {
    let mut stderr = std::io::stderr().lock();
    if stderr.is_terminal() {
        let _ = write!(stderr, "\r\u{1b}[K{text}");
        let _ = stderr.flush();
    }
}

/// A result on standard output. A reader that has gone away is no fault.
pub fn out(text: &str) {
    let mut stdout = anstream::stdout().lock();
    let _ = stdout.write_all(text.as_bytes());
    let _ = stdout.flush();
}

/// One JSON document on standard output.
pub fn json(value: &impl Serialize) {
    match serde_json::to_string_pretty(value) {
        Ok(text) => out(&format!("{text}\n")),
        Err(e) => remark(&format!("error: the result can't be written as JSON: {e}")),
    }
}

/// Draws diagnostics on standard error.
pub fn diagnostics(file: &str, text: &str, all: &[Diagnostic]) {
    let mut stderr = anstream::stderr().lock();
    for d in all.iter().take(DRAWN) {
        let _ = writeln!(stderr, "{}", to_colour(file, text, d));
    }
    if all.len() > DRAWN {
        let _ = writeln!(stderr, "and {} more like these", all.len() - DRAWN);
    }
}

/// Diagnostics as records.
pub fn records(file: &str, text: &str, all: &[Diagnostic]) -> Vec<Located> {
    all.iter().map(|d| located(file, text, d)).collect()
}

pub fn severity(s: Severity) -> &'static str {
    match s {
        Severity::Error => "error",
        Severity::Warning => "warning",
        Severity::Advice => "advice",
    }
}

/// A figure with as many digits as it takes to follow a sum with it: three decimals, and of what is
/// less than 1 four digits that count.
pub fn number(v: f64) -> String {
    let mut unit = 1000.0;
    let mut size = v.abs();
    while size > 1e-9 && size < 1.0 {
        size *= 10.0;
        unit *= 10.0;
    }
    let v = (v * unit).round() / unit;
    if v == 0.0 { "0".to_owned() } else { format!("{v}") }
}

/// Rows under headings, each column as wide as its widest word.
pub fn table(headings: &[&str], rows: &[Vec<String>]) -> String {
    let mut widths: Vec<usize> = headings.iter().map(|h| h.chars().count()).collect();
    for row in rows {
        for (w, cell) in widths.iter_mut().zip(row) {
            *w = (*w).max(cell.chars().count());
        }
    }
    let mut text = String::new();
    let line = |cells: &mut dyn Iterator<Item = &str>| {
        let mut line = String::new();
        for (cell, width) in cells.zip(&widths) {
            line.push_str(cell);
            line.extend(std::iter::repeat_n(' ', width + 2 - cell.chars().count()));
        }
        format!("{}\n", line.trim_end())
    };
    text.push_str(&line(&mut headings.iter().copied()));
    let rules: Vec<String> = widths.iter().map(|w| "-".repeat(*w)).collect();
    text.push_str(&line(&mut rules.iter().map(String::as_str)));
    for row in rows {
        text.push_str(&line(&mut row.iter().map(String::as_str)));
    }
    text
}

/// What `--json` prints where there is nothing else to print.
#[derive(Serialize)]
pub struct Unreadable {
    pub diagnostics: Vec<Located>,
}
