//! `check`: findings, passes with their margins, assumptions.

use std::fmt::Write;

use serde::Serialize;

use super::args::Input;
use super::{ERRORS, UNREADABLE, Worked, say};
use crate::check::{Finding, Severity, in_the_open};
use crate::diagnostic::{Located, line_column};
use crate::draw::documents;
use crate::model::Assumption;

#[derive(Serialize)]
struct Placed<'a> {
    #[serde(flatten)]
    finding: &'a Finding,
    line: usize,
    column: usize,
}

#[derive(Serialize)]
struct Document<'a> {
    findings: Vec<Placed<'a>>,
    passes: Vec<Placed<'a>>,
    assumptions: &'a [Assumption],
    diagnostics: Vec<Located>,
}

pub fn check(input: &Input) -> u8 {
    let Some(w) = Worked::of(input) else { return UNREADABLE };
    let report = &w.project.report;
    let assumptions = &w.project.system().assumptions;
    if input.json {
        let placed = |all| with_places(&w.source.text, all);
        say::json(&Document {
            findings: placed(&report.findings),
            passes: placed(&report.passes),
            assumptions,
            diagnostics: w.source.records(),
        });
    } else {
        w.source.say();
        let mut text = String::new();
        for f in &report.findings {
            finding(&mut text, &w.source.name, &w.source.text, f);
        }
        if !report.passes.is_empty() {
            text.push_str("What holds:\n");
            for f in &report.passes {
                let figures = documents::against(f);
                let figures = if figures.is_empty() { figures } else { format!(": {figures}") };
                let _ = writeln!(text, "  {:<6} {}{figures}", f.rule, f.title);
            }
            text.push('\n');
        }
        if !assumptions.is_empty() {
            text.push_str("Assumed; tick each on site:\n");
            for a in assumptions {
                let _ = writeln!(
                    text,
                    "  [ ] {:<4} {}: {} — {}",
                    a.id,
                    a.what,
                    amount(&a.value, &a.unit),
                    in_the_open(&a.why)
                );
            }
            text.push('\n');
        }
        // What was said of the text stands far above by now: who reads the end alone must know.
        for r in report.remarks.iter().filter(|r| r.is_unread() || r.is_out_of_scope()) {
            let what = if r.is_unread() { "NOT READ" } else { "OUT OF SCOPE" };
            let _ = writeln!(text, "{what}: line {} `{}`: {}", r.line, r.typed, r.message);
        }
        let unread = match report.unread_lines() {
            0 => String::new(),
            n => format!(" ({} of the description not wholly read)", counted(n, "line")),
        };
        let learnt = match report.remarks.iter().filter(|r| r.is_as_meant()).count() {
            0 => String::new(),
            1 => "; 1 thing typed otherwise was read as meant, see above".to_owned(),
            n => format!("; {n} things typed otherwise were read as meant, see above"),
        };
        let _ = writeln!(
            text,
            "{}{unread}, {}, {}; {} hold; {} assumed{learnt}",
            counted(report.count(Severity::Error), "error"),
            counted(report.count(Severity::Warning), "warning"),
            counted(report.count(Severity::Advice), "advice"),
            counted(report.passes.len(), "rule"),
            counted(assumptions.len(), "value"),
        );
        say::out(&text);
    }
    if report.findings.iter().any(|f| f.severity == Severity::Error) {
        ERRORS
    } else {
        w.source.code()
    }
}

fn with_places<'a>(text: &str, all: &'a [Finding]) -> Vec<Placed<'a>> {
    all.iter()
        .map(|finding| {
            let (line, column) = line_column(text, finding.span.start);
            Placed { finding, line, column }
        })
        .collect()
}

fn finding(text: &mut String, file: &str, source: &str, f: &Finding) {
    let _ = writeln!(text, "{}[{}]: {}", say::severity(f.severity), f.rule, f.title);
    if f.span.end > f.span.start {
        let (line, column) = line_column(source, f.span.start);
        let _ = writeln!(text, "  at {file}:{line}:{column}");
    }
    if !f.places.is_empty() {
        let _ = writeln!(text, "  {}", f.places.join("; "));
    }
    let figures = documents::against(f);
    if !figures.is_empty() {
        let _ = writeln!(text, "  {figures}");
    }
    if f.assumed {
        text.push_str("  rests on an assumed value\n");
    }
    let _ = writeln!(text, "  mend: {}\n  source: {}\n", f.mend, f.source);
}

fn amount(value: &str, unit: &str) -> String {
    if unit.is_empty() { value.to_owned() } else { format!("{value} {unit}") }
}

fn counted(n: usize, what: &str) -> String {
    match (n, what) {
        (_, "advice") => format!("{n} advice"),
        (1, _) => format!("1 {what}"),
        _ => format!("{n} {what}s"),
    }
}
