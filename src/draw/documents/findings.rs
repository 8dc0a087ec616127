//! What is wrong, what holds and by how much, what was assumed. In: the report and the system.
//! Out: sheets.

use super::words::plain;
use crate::check::{Finding, Report, Severity};
use crate::draw::frame::TitleData;
use crate::draw::scene::{Paper, Sheet};
use crate::draw::tables::{Flow, words};
use crate::model::System;

/// Findings, passes with margins, assumptions with a box to tick.
pub fn findings(system: &System, report: &Report, data: &TitleData) -> Vec<Sheet> {
    let mut flow = Flow::new("findings", "Findings and assumptions", Paper::A4_PORTRAIT, data);
    flow.heading("To put right or to think about");
    if report.findings.is_empty() {
        flow.paragraph("Nothing found. The passes below say how much room is left.");
    }
    for (severity, heading) in [
        (Severity::Error, "Errors: put right before work starts"),
        (Severity::Warning, "Warnings"),
        (Severity::Advice, "Advice"),
    ] {
        let rows: Vec<Vec<String>> = report
            .findings
            .iter()
            .filter(|f| f.severity == severity)
            .map(|f| {
                let parts = f.parts.join(", ");
                let mut what = f.title.clone();
                if f.assumed {
                    what.push_str(" (rests on an assumed value)");
                }
                vec![f.rule.to_owned(), parts, what, against(f), f.mend.clone(), f.source.clone()]
            })
            .collect();
        if !rows.is_empty() {
            flow.strong(heading);
            let columns = [
                words("Rule", 13.0),
                words("Parts", 22.0),
                words("What", 42.0),
                words("Found / limit", 26.0),
                words("Mend", 38.0),
                words("Source", 31.0),
            ];
            flow.table(&columns, &rows);
        }
    }
    flow.heading("What was assumed: tick on site");
    if system.assumptions.is_empty() {
        flow.paragraph("Nothing: every value is stated, measured or worked out.");
    }
    let rows: Vec<Vec<String>> = system
        .assumptions
        .iter()
        .map(|a| {
            let value = format!("{} {}", a.value, a.unit).trim().to_owned();
            vec![a.id.clone(), a.what.clone(), value, a.why.clone(), String::new()]
        })
        .collect();
    let columns = [
        words("No.", 10.0),
        words("What", 48.0),
        words("Value", 30.0),
        words("Why", 62.0),
        words("Tick", 12.0),
    ];
    flow.table(&columns, &rows);
    flow.heading("What holds, and the room left");
    let rows: Vec<Vec<String>> = report
        .passes
        .iter()
        .map(|p| {
            vec![
                p.rule.to_owned(),
                p.parts.join(", "),
                p.title.clone(),
                against(p),
                p.source.clone(),
            ]
        })
        .collect();
    let columns = [
        words("Rule", 13.0),
        words("Parts", 28.0),
        words("What", 62.0),
        words("Found / limit", 32.0),
        words("Source", 37.0),
    ];
    flow.table(&columns, &rows);
    flow.finish()
}

/// "8.6 of 9 m, 0.4 left".
pub fn against(f: &Finding) -> String {
    let mut text = match (f.found, f.limit) {
        (Some(found), Some(limit)) => {
            format!("{} against {} {}", plain(found), plain(limit), f.unit)
        }
        (Some(found), None) => format!("{} {}", plain(found), f.unit),
        (None, Some(limit)) => format!("limit {} {}", plain(limit), f.unit),
        (None, None) => String::new(),
    };
    if let Some(margin) = f.margin {
        let left = if margin >= 0.0 { "left" } else { "short" };
        text = format!("{}; {} {} {left}", text.trim(), plain(margin.abs()), f.unit);
    }
    text.trim().trim_start_matches("; ").to_owned()
}
