//! Diagnostics as text and as data. In: diagnostics and the text they speak of. Out: a string for
//! people, drawn as compilers draw it, or one plain record for programs.

use annotate_snippets::{AnnotationKind, Group, Level, Patch, Renderer, Snippet};
use serde::Serialize;

use super::{Diagnostic, Severity};
use crate::model::Span;

/// Lines longer than this, in bytes, are not drawn: no terminal shows them.
const LONGEST_LINE: usize = 600;
/// Lines shown around the one at fault, so that the place is recognised.
const AROUND: usize = 1;

/// Line and column, both from 1, of a byte offset; columns count characters.
pub fn line_column(text: &str, offset: usize) -> (usize, usize) {
    let offset = offset.min(text.len());
    let before = &text.as_bytes()[..offset];
    let line = before.iter().filter(|b| **b == b'\n').count() + 1;
    let start = before.iter().rposition(|b| *b == b'\n').map_or(0, |i| i + 1);
    let column = text.get(start..offset).map_or(1, |s| s.chars().count() + 1);
    (line, column)
}

/// What stands at a place, on one short line; of a value its name too.
pub fn shown(text: &str, span: &Span) -> String {
    const LONGEST: usize = 60;
    let mut at = whole_characters(text, span);
    if text[..at.start].ends_with('=') {
        let word = |c: char| c.is_whitespace() || "{;".contains(c);
        at.start = text[..at.start].rfind(word).map_or(0, |i| i + 1);
        while !text.is_char_boundary(at.start) {
            at.start += 1;
        }
    }
    let typed = text[at].split_whitespace().collect::<Vec<_>>().join(" ");
    let mut short: String = typed.chars().take(LONGEST).collect();
    if short.len() < typed.len() {
        short.push('…');
    }
    short
}

/// A diagnostic with its place spelt out; `end` is exclusive.
#[derive(Clone, Debug, Serialize)]
pub struct Located {
    pub file: String,
    pub code: &'static str,
    pub severity: Severity,
    pub message: String,
    pub label: String,
    pub help: Option<String>,
    pub line: usize,
    pub column: usize,
    pub end_line: usize,
    pub end_column: usize,
    /// Bytes of the text: first, and one past the last.
    pub bytes: [usize; 2],
    pub edit: Option<LocatedEdit>,
}

/// Replaces these bytes by that text.
#[derive(Clone, Debug, Serialize)]
pub struct LocatedEdit {
    pub bytes: [usize; 2],
    pub replacement: String,
}

/// The record that `--json` prints.
pub fn located(file: &str, text: &str, d: &Diagnostic) -> Located {
    let span = whole_characters(text, &d.span);
    let (line, column) = line_column(text, span.start);
    let (end_line, end_column) = line_column(text, span.end);
    Located {
        file: file.to_owned(),
        code: d.code,
        severity: d.severity,
        message: d.message.clone(),
        label: d.label.clone(),
        help: d.help.clone(),
        line,
        column,
        end_line,
        end_column,
        bytes: [span.start, span.end],
        edit: d.edit.as_ref().map(|e| {
            let span = whole_characters(text, &e.span);
            LocatedEdit { bytes: [span.start, span.end], replacement: e.replacement.clone() }
        }),
    }
}

/// One diagnostic as plain text.
pub fn to_text(file: &str, text: &str, d: &Diagnostic) -> String {
    draw(file, text, d, &Renderer::plain())
}

/// One diagnostic with the colours of a terminal.
pub fn to_colour(file: &str, text: &str, d: &Diagnostic) -> String {
    draw(file, text, d, &Renderer::styled())
}

fn draw(file: &str, text: &str, d: &Diagnostic, renderer: &Renderer) -> String {
    let span = whole_characters(text, &d.span);
    let (window, first_line) = window(text, &span);
    let shown = &text[window.clone()];
    if shown.split('\n').any(|line| line.len() > LONGEST_LINE) {
        return in_words(file, text, d);
    }
    let level = match d.severity {
        Severity::Error => Level::ERROR,
        Severity::Warning => Level::WARNING,
        Severity::Advice => Level::NOTE.with_name("advice"),
    };
    let here = |s: &Span| s.start - window.start..s.end.min(window.end) - window.start;
    let snippet = Snippet::source(shown)
        .path(file)
        .line_start(first_line)
        .annotation(AnnotationKind::Primary.span(here(&span)).label(d.label.as_str()));
    let title = level.primary_title(d.message.as_str()).id(d.code);
    let mut group = title.element(snippet);
    if let Some(help) = &d.help {
        group = group.element(Level::HELP.message(help.as_str()));
    }
    let mut report = vec![group];
    if let Some(edit) = &d.edit {
        let span = whole_characters(text, &edit.span);
        let inside = span.start >= window.start && span.end <= window.end;
        if inside && text[span.clone()] != edit.replacement {
            report.push(
                Group::with_title(Level::HELP.secondary_title("perhaps")).element(
                    Snippet::source(shown)
                        .path(file)
                        .line_start(first_line)
                        .patch(Patch::new(here(&span), edit.replacement.as_str())),
                ),
            );
        }
    }
    let mut out = renderer.render(&report);
    out.push('\n');
    out
}

/// Without a picture of the line.
fn in_words(file: &str, text: &str, d: &Diagnostic) -> String {
    let (line, column) = line_column(text, d.span.start);
    let severity = match d.severity {
        Severity::Error => "error",
        Severity::Warning => "warning",
        Severity::Advice => "advice",
    };
    let mut out = format!("{severity}[{}]: {}\n --> {file}:{line}:{column}\n", d.code, d.message);
    if !d.label.is_empty() {
        out.push_str(&format!("  = {}\n", d.label));
    }
    if let Some(help) = &d.help {
        out.push_str(&format!("  = help: {help}\n"));
    }
    out
}

/// The lines around a span, and the number of the first.
fn window(text: &str, span: &Span) -> (Span, usize) {
    let mut start = text[..span.start].rfind('\n').map_or(0, |i| i + 1);
    for _ in 0..AROUND {
        if start > 0 {
            start = text[..start - 1].rfind('\n').map_or(0, |i| i + 1);
        }
    }
    // A fault over many lines shows where it begins.
    let mut end = span.start;
    for _ in 0..=AROUND {
        if end < text.len() {
            end = text[end..].find('\n').map_or(text.len(), |i| end + i + 1);
        }
    }
    let first = text.as_bytes()[..start].iter().filter(|b| **b == b'\n').count() + 1;
    (start..end, first)
}

/// The span within the text, on the bounds of characters.
fn whole_characters(text: &str, span: &Span) -> Span {
    let mut start = span.start.min(text.len());
    while !text.is_char_boundary(start) {
        start -= 1;
    }
    let mut end = span.end.clamp(start, text.len());
    while !text.is_char_boundary(end) {
        end += 1;
    }
    start..end
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fault_is_drawn_under_its_characters() {
        let text = "job \"x\"\nbioler kw=24\nzone \"up\"\n";
        let d = Diagnostic::error("unknown-node", 8..14, "no such word: `bioler`")
            .label("did you mean `boiler`?")
            .edit(8..14, "boiler");
        let drawn = to_text("a.kdl", text, &d);
        assert!(drawn.starts_with("error[unknown-node]: no such word: `bioler`\n"), "{drawn}");
        assert!(drawn.contains("a.kdl:2:1"), "{drawn}");
        assert!(drawn.contains("^^^^^^ did you mean `boiler`?"), "{drawn}");
        assert!(drawn.contains("boiler kw=24"), "{drawn}");
    }

    #[test]
    fn what_stands_at_a_value_is_told_with_its_name() {
        let text = "cupboard width=36 {\n door \u{a0}clear-width=21\n}";
        assert_eq!(shown(text, &(15..17)), "width=36");
        let at = text.find("21").unwrap();
        assert_eq!(shown(text, &(at..at + 2)), "clear-width=21");
        assert_eq!(shown(text, &(0..8)), "cupboard");
    }

    #[test]
    fn places_count_characters_from_one_and_bytes_from_nought() {
        let text = "job \"Herön\"\nx ÿ";
        let l = located("a", text, &Diagnostic::error("c", 15..17, "m"));
        assert_eq!((l.line, l.column, l.end_line, l.end_column), (2, 3, 2, 4));
        assert_eq!(l.bytes, [15, 17]);
    }

    #[test]
    fn spans_outside_the_text_and_endless_lines_are_borne() {
        for (text, span) in [("", 0..0), ("ä", 1..1), ("a", 5..9), ("a\n", 2..2)] {
            let d = Diagnostic::error("c", span.clone(), "m").edit(span, "b");
            assert!(to_text("f", text, &d).contains("error[c]: m"));
        }
        let long = "x".repeat(10_000);
        assert!(to_text("f", &long, &Diagnostic::error("c", 3..4, "m")).len() < 200);
    }
}
