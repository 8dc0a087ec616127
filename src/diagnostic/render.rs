//! Diagnostics as text. In: diagnostics and the text they speak of. Out: a string for people.

use super::{Diagnostic, Severity};

/// Line and column, both from 1, of a byte offset; columns count characters.
pub fn line_column(text: &str, offset: usize) -> (usize, usize) {
    let offset = offset.min(text.len());
    let before = &text.as_bytes()[..offset];
    let line = before.iter().filter(|b| **b == b'\n').count() + 1;
    let start = before.iter().rposition(|b| *b == b'\n').map_or(0, |i| i + 1);
    let column = text.get(start..offset).map_or(1, |s| s.chars().count() + 1);
    (line, column)
}

/// One diagnostic as plain text.
pub fn to_text(file: &str, text: &str, d: &Diagnostic) -> String {
    let (line, column) = line_column(text, d.span.start);
    let severity = match d.severity {
        Severity::Error => "error",
        Severity::Warning => "warning",
        Severity::Advice => "advice",
    };
    let mut out = format!("{severity}: {}\n  at {file}:{line}:{column}\n", d.message);
    if let Some(help) = &d.help {
        out.push_str(&format!("  help: {help}\n"));
    }
    out
}
