//! What a rule is. In: nothing. Out: the row every rule fills, and what `explain` prints of it.

use serde::Serialize;

use super::report::Verdicts;
use super::{Context, Severity};
use crate::catalogue::limits;

/// One rule: its papers and the function that judges.
pub struct Rule {
    /// `DIS04`.
    pub id: &'static str,
    /// The gravest it can be; a finding on an assumed value drops to advice.
    pub severity: Severity,
    /// Names the fault, not the cure.
    pub title: &'static str,
    /// What it finds.
    pub what: &'static str,
    /// Why it matters.
    pub why: &'static str,
    /// The standard itself, "common practice" or "from memory".
    pub source: &'static str,
    pub mend: &'static str,
    pub run: fn(&Context, &mut Verdicts),
}

/// A rule in plain words.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Explanation {
    pub id: &'static str,
    pub severity: Severity,
    pub title: &'static str,
    pub what: &'static str,
    pub why: &'static str,
    pub source: &'static str,
    pub mend: &'static str,
    /// The figures it uses: what, value, unit, nation and edition, source.
    pub limits: Vec<String>,
}

impl Rule {
    pub(super) fn explanation(&self) -> Explanation {
        Explanation {
            id: self.id,
            severity: self.severity,
            title: self.title,
            what: self.what,
            why: self.why,
            source: self.source,
            mend: self.mend,
            limits: limits::rows()
                .iter()
                .filter(|row| row.id.split('.').next() == Some(self.id))
                .map(limit_line)
                .collect(),
        }
    }
}

fn limit_line(row: &limits::LimitRow) -> String {
    let unit = if row.unit.is_empty() { String::new() } else { format!(" {}", row.unit) };
    let scope = match (row.jurisdiction.as_str(), row.edition.as_str()) {
        ("any", "") => String::new(),
        ("any", edition) => format!(", {edition}"),
        (nation, "") => format!(" ({nation})"),
        (nation, edition) => format!(" ({nation}, {edition})"),
    };
    format!("{}: {} {}{unit}{scope}; {}, {}", row.id, row.what, row.value, row.source, row.mark)
}

impl std::fmt::Display for Explanation {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let severity = match self.severity {
            Severity::Error => "error",
            Severity::Warning => "warning",
            Severity::Advice => "advice",
        };
        writeln!(f, "{} ({severity}): {}", self.id, self.title)?;
        for (head, text) in [
            ("What it finds", self.what),
            ("Why it matters", self.why),
            ("Source", self.source),
            ("Mend", self.mend),
        ] {
            writeln!(f, "\n{head}\n    {text}")?;
        }
        if !self.limits.is_empty() {
            writeln!(f, "\nLimits")?;
            for line in &self.limits {
                writeln!(f, "    {line}")?;
            }
        }
        Ok(())
    }
}
