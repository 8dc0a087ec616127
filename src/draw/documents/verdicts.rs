//! What stands against the design and what holds, for the surveyor. In: the report. Out: rows with
//! a plain verdict each.

use super::findings::{Sources, against};
use super::words::listed;
use crate::check::{Finding, Report, Severity};
use crate::draw::tables::{Flow, words};
use crate::model::System;

/// Families of rules that a surveyor of hot water storage asks about.
const ASKED: [&str; 2] = ["DIS", "SAF"];
/// Families whose findings speak of how a device is set or sized.
const SET: [&str; 4] = ["SAF", "EXP", "SOL", "HTG"];
/// Places that a row names.
const PLACES: usize = 4;

/// Every error and warning first, whatever it is about; then the discharge and the safety devices.
pub fn verdicts(flow: &mut Flow, system: &System, report: &Report) {
    let asked = |f: &&Finding| ASKED.iter().any(|family| f.rule.starts_with(family));
    let cups: Vec<&str> = system.of_kind("tundish").map(|(_, p)| p.tag.as_str()).collect();
    let mut sources = Sources::default();
    let mut row = |f: &Finding, what: String, verdict: &str| {
        let source = sources.number(&f.source);
        vec![f.rule.to_owned(), what, against(f), verdict.to_owned(), source]
    };
    let columns = [
        words("Rule", 15.0),
        words("What", 70.0),
        words("Found, limit", 48.0),
        words("Verdict", 25.0),
        words("Source", 15.0),
    ];
    let standing = report.findings.iter().filter(|f| f.severity != Severity::Advice);
    let fails: Vec<Vec<String>> = standing
        .map(|f| {
            let verdict = if f.severity == Severity::Error { "FAILS" } else { "FAILS (warning)" };
            row(f, of_its_places(f), verdict)
        })
        .collect();
    if !fails.is_empty() {
        flow.heading("What fails, by every rule");
        flow.table(&columns, &fails);
    }
    let advice = report.findings.iter().filter(asked).filter(|f| f.severity == Severity::Advice);
    let mut rows: Vec<Vec<String>> = advice
        .map(|f| {
            // It would fail, but on a figure that nobody has read yet.
            let verdict = if f.assumed { "to be proved" } else { "advice" };
            row(f, at_its_cup(&cups, f), verdict)
        })
        .collect();
    let holds = report.passes.iter().filter(asked);
    rows.extend(holds.map(|f| row(f, at_its_cup(&cups, f), "holds")));
    flow.heading(if fails.is_empty() {
        "The discharge and the safety devices against their limits"
    } else {
        "What holds of the discharge and the safety devices"
    });
    flow.table(&columns, &rows);
    sources.print(flow);
}

/// "FAILS EXP03" for a device whose setting or size a finding names; nothing where none does.
pub fn fails(report: &Report, tags: &[&str]) -> Option<String> {
    let about = |f: &&Finding| {
        f.severity != Severity::Advice
            && SET.iter().any(|family| f.rule.starts_with(family))
            && f.parts.iter().any(|p| tags.contains(&p.as_str()))
    };
    let mut rules: Vec<&str> = report.findings.iter().filter(about).map(|f| f.rule).collect();
    rules.dedup();
    (!rules.is_empty()).then(|| format!("FAILS {}", rules.join(", ")))
}

fn of_its_places(f: &Finding) -> String {
    let places = f.places.iter().take(PLACES).cloned().collect::<Vec<_>>().join("; ");
    let more = if f.places.len() > PLACES { "; …" } else { "" };
    if places.is_empty() { f.title.clone() } else { format!("{places}{more}: {}", f.title) }
}

/// What a finding says, by the tundish that it says it of where there are several.
fn at_its_cup(cups: &[&str], f: &Finding) -> String {
    let own: Vec<&str> = cups.iter().copied().filter(|c| f.parts.iter().any(|p| p == c)).collect();
    match own.len() {
        0 => f.title.clone(),
        n if n == cups.len() => f.title.clone(),
        _ => format!("{}: {}", listed(&own), f.title),
    }
}
