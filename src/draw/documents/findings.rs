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
    let mut sources = Sources::default();
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
                // The title says so itself where it rests on an assumed value.
                let source = sources.number(&f.source);
                vec![f.rule.to_owned(), parts, f.title.clone(), against(f), f.mend.clone(), source]
            })
            .collect();
        if !rows.is_empty() {
            flow.strong(heading);
            let columns = [
                words("Rule", 16.0),
                words("Parts", 23.0),
                words("What", 48.0),
                words("Found, limit", 30.0),
                words("Mend", 45.0),
                words("Source", 15.0),
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
    flow.heading("Annex: what holds, and the room left");
    let rows: Vec<Vec<String>> = report
        .passes
        .iter()
        .map(|p| {
            vec![
                p.rule.to_owned(),
                p.parts.join(", "),
                p.title.clone(),
                against(p),
                sources.number(&p.source),
            ]
        })
        .collect();
    let columns = [
        words("Rule", 15.0),
        words("Parts", 30.0),
        words("What", 68.0),
        words("Found, limit", 48.0),
        words("Source", 15.0),
    ];
    flow.table(&columns, &rows);
    flow.heading("Sources, by number");
    sources.print(&mut flow);
    flow.finish()
}

/// "8.6 m, at most 9 m; 0.4 m to spare". The margin is said only where it is the distance between
/// the two that stand there.
pub fn against(f: &Finding) -> String {
    // A fall: the greater figure is the flatter pipe.
    let fall = f.unit == "1 in";
    let said = |v: f64| match fall {
        true => format!("1 in {}", plain(v)),
        false => format!("{} {}", plain(v), f.unit).trim().to_owned(),
    };
    let (Some(found), Some(limit)) = (f.found, f.limit) else {
        let margin = f.margin.filter(|_| !fall && f.found.is_none() && f.limit.is_none());
        return match (f.found, f.limit, margin) {
            (Some(found), ..) => said(found),
            (None, Some(limit), _) => format!("limit {}", said(limit)),
            (None, None, Some(m)) if m < 0.0 => format!("short by {}", said(-m)),
            (None, None, Some(m)) => format!("{} to spare", said(m)),
            (None, None, None) => String::new(),
        };
    };
    let Some(margin) = f.margin else {
        return format!("{}, limit {}", said(found), said(limit));
    };
    let holds = margin >= 0.0;
    let word = match (found.total_cmp(&limit).is_lt() == holds, fall) {
        _ if found == limit => "limit",
        (true, false) => "at most",
        (false, false) => "at least",
        (true, true) => "shallowest",
        (false, true) => "steepest",
    };
    let text = format!("{}, {word} {}", said(found), said(limit));
    let apart = (found - limit).abs();
    let agrees = (margin.abs() - apart).abs() <= 0.01 * apart.max(1e-9);
    match (agrees && !fall && apart > 0.0, holds) {
        (true, true) => format!("{text}; {} to spare", said(apart)),
        (true, false) => format!("{text}; out by {}", said(apart)),
        (false, _) => text,
    }
}

/// The sources of a list of rows, each named once under it and by number in the rows.
#[derive(Default)]
pub struct Sources(Vec<String>);

impl Sources {
    /// The number of a source, "" where none is given.
    pub fn number(&mut self, source: &str) -> String {
        if source.is_empty() {
            return String::new();
        }
        let at = self.0.iter().position(|s| s == source).unwrap_or_else(|| {
            self.0.push(source.to_owned());
            self.0.len() - 1
        });
        (at + 1).to_string()
    }

    /// The list, as paragraphs.
    pub fn print(&self, flow: &mut Flow) {
        for (i, source) in self.0.iter().enumerate() {
            flow.paragraph(&format!("{}  {source}", i + 1));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(found: f64, limit: f64, unit: &str, margin: f64) -> String {
        let (found, limit, margin) = (Some(found), Some(limit), Some(margin));
        against(&Finding {
            rule: "SAF01",
            severity: Severity::Error,
            title: String::new(),
            parts: Vec::new(),
            found,
            limit,
            unit: unit.to_owned(),
            margin,
            source: String::new(),
            mend: String::new(),
            assumed: false,
            span: crate::model::Span::default(),
        })
    }

    #[test]
    fn value_limit_and_margin_agree_with_each_other() {
        assert_eq!(said(8.5, 9.0, "m", 0.5), "8.5 m, at most 9 m; 0.5 m to spare");
        assert_eq!(said(3.0, 1.0, "bar", 2.0), "3 bar, at least 1 bar; 2 bar to spare");
        assert_eq!(said(10.0, 9.0, "m", -1.0), "10 m, at most 9 m; out by 1 m");
        assert_eq!(said(22.0, 28.0, "mm", -6.0), "22 mm, at least 28 mm; out by 6 mm");
        assert_eq!(said(100.0, 200.0, "1 in", 100.0), "1 in 100, shallowest 1 in 200");
        assert_eq!(said(6.0, 7.0, "bar", 2.0), "6 bar, at most 7 bar");
    }
}
