//! What is wrong, what holds and by how much, what was assumed. In: the report and the system.
//! Out: sheets.

use super::words::{figure, plain};
use crate::check::{Finding, Remark, Report, Severity, in_the_open};
use crate::draw::frame::TitleData;
use crate::draw::scene::{Paper, Sheet};
use crate::draw::tables::{Flow, words};
use crate::model::{System, whole_mm};

/// Findings, passes with margins, assumptions with a box to tick.
pub fn findings(system: &System, report: &Report, data: &TitleData) -> Vec<Sheet> {
    let mut flow = Flow::new("findings", "Findings and assumptions", Paper::A4_PORTRAIT, data);
    flow.heading("In short");
    for line in in_short(system, report) {
        flow.paragraph(&line);
    }
    of_the_text(&mut flow, report);
    if !report.findings.is_empty() {
        flow.heading("To put right or to think about");
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
                let parts = f.places.join("; ");
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
            vec![a.id.clone(), a.what.clone(), value, in_the_open(&a.why), String::new()]
        })
        .collect();
    let columns = [
        words("No.", 9.0),
        words("What", 52.0),
        words("Value", 26.0),
        words("Why", 77.0),
        words("Tick", 9.0),
    ];
    flow.table(&columns, &rows);
    flow.heading("Annex: what holds, and the least room left");
    let (figures, plain): (Vec<_>, Vec<_>) =
        in_groups(&report.passes).into_iter().partition(|g| measured(g[0]));
    let rows: Vec<Vec<String>> = figures
        .into_iter()
        .map(|group| {
            let tightest = group.iter().copied().min_by(|a, b| room(a).total_cmp(&room(b)));
            let tightest = tightest.unwrap_or(group[0]);
            let mut parts = some(&tightest.places);
            if group.len() > 1 {
                parts = format!("{} places, least at {parts}", group.len());
            }
            vec![
                tightest.rule.to_owned(),
                parts,
                tightest.title.clone(),
                against(tightest),
                sources.number(&tightest.source),
            ]
        })
        .collect();
    let columns = [
        words("Rule", 14.0),
        words("Where", 44.0),
        words("What", 58.0),
        words("Found, limit", 45.0),
        words("Source", 15.0),
    ];
    flow.table(&columns, &rows);
    let also: Vec<String> = plain
        .iter()
        .map(|g| {
            let source = sources.number(&g[0].source);
            format!("{} {} ({source})", g[0].rule, g[0].title).replace(" ()", "")
        })
        .collect();
    if !also.is_empty() {
        flow.heading("Holds too, where there is no figure to compare (number of the source)");
        flow.paragraph(&format!("{}.", also.join("; ")));
    }
    flow.heading("Sources, by number");
    sources.print(&mut flow);
    flow.finish()
}

/// What was said of the description itself: what was left out first, and what no rule covers.
fn of_the_text(flow: &mut Flow, report: &Report) {
    let rows = |keep: &dyn Fn(&Remark) -> bool| -> Vec<Vec<String>> {
        let kept = report.remarks.iter().filter(|r| keep(r));
        kept.map(|r| vec![r.line.to_string(), r.typed.clone(), r.message.clone(), r.help.clone()])
            .collect()
    };
    let unread = match report.unread_lines() {
        1 => {
            "1 line of the description was not wholly read: the words that stand here were left out"
                .to_owned()
        }
        n => format!(
            "{n} lines of the description were not wholly read: the words that stand here were left \
             out"
        ),
    };
    let asked = |r: &Remark| !r.is_unread() && !r.is_out_of_scope() && !r.is_as_meant();
    let groups: [(&str, Vec<Vec<String>>); 3] = [
        (&unread, rows(&Remark::is_unread)),
        ("Out of scope: do not rely on these sheets for it", rows(&Remark::is_out_of_scope)),
        ("Asked about the description", rows(&asked)),
    ];
    if groups.iter().all(|(_, rows)| rows.is_empty()) {
        return;
    }
    flow.heading("The description");
    let columns =
        [words("Line", 11.0), words("Typed", 42.0), words("What", 66.0), words("Mend", 58.0)];
    for (heading, rows) in groups {
        if !rows.is_empty() {
            flow.strong(heading);
            flow.table(&columns, &rows);
        }
    }
}

/// The point of it all in a few lines.
fn in_short(system: &System, report: &Report) -> Vec<String> {
    let of = |severity| report.count(severity);
    let many = |n: usize, one: &str, more: &str| match n {
        0 => format!("no {one}"),
        1 => format!("1 {one}"),
        n => format!("{n} {more}"),
    };
    let mut lines = vec![format!(
        "Found: {}, {}, {}. Assumed: {}. What holds stands in the annex: {}.",
        many(of(Severity::Error), "error", "errors"),
        many(of(Severity::Warning), "warning", "warnings"),
        many(of(Severity::Advice), "piece of advice", "pieces of advice"),
        many(system.assumptions.len(), "value", "values"),
        many(report.passes.len(), "check", "checks"),
    )];
    let unread = report.remarks.iter().filter(|r| r.is_unread());
    let unread: Vec<String> = unread.map(|r| format!("line {} `{}`", r.line, r.typed)).collect();
    if !unread.is_empty() {
        lines.push(format!("NOT READ of the description: {}.", unread.join("; ")));
    }
    if report.is_out_of_scope() {
        lines.push("OUT OF SCOPE in part: do not rely on these sheets for it.".to_owned());
    }
    let mut near: Vec<&Finding> =
        report.passes.iter().filter(|p| room(p) > 0.0 && room(p) < NEAR).collect();
    near.sort_by(|a, b| room(a).total_cmp(&room(b)));
    // One of each rule, the nearest.
    let mut said: Vec<&Finding> = Vec::new();
    for f in near {
        if said.len() < 3 && !said.iter().any(|g| g.rule == f.rule) {
            said.push(f);
        }
    }
    if !said.is_empty() {
        let text: Vec<String> = said
            .iter()
            .map(|f| format!("{} {} ({})", f.rule, against(f), some(&f.places)))
            .collect();
        lines.push(format!("Holds, but with little room: {}.", text.join("; ")));
    }
    lines
}

/// A pass with less of its limit to spare than this is worth a word on the first page.
const NEAR: f64 = 0.1;

/// What is left of the limit, as a share of it; large where there is no limit.
fn room(f: &Finding) -> f64 {
    match (f.margin, f.limit) {
        (Some(margin), Some(limit)) if limit.abs() > 1e-9 => margin / limit.abs(),
        _ => f64::MAX,
    }
}

/// The first few tags.
fn some(parts: &[String]) -> String {
    const SHOWN: usize = 3;
    let first = parts.iter().take(SHOWN).cloned().collect::<Vec<_>>().join("; ");
    if parts.len() > SHOWN { format!("{first}; …") } else { first }
}

fn measured(f: &Finding) -> bool {
    f.margin.is_some() && f.limit.is_some()
}

/// Passes of one rule with a figure and one limit stand together; those without a figure where they
/// say the same.
fn in_groups(passes: &[Finding]) -> Vec<Vec<&Finding>> {
    let alike = |a: &Finding, b: &Finding| {
        a.rule == b.rule
            && a.source == b.source
            && measured(a) == measured(b)
            && if measured(a) { a.limit == b.limit && a.unit == b.unit } else { a.title == b.title }
    };
    let mut groups: Vec<Vec<&Finding>> = Vec::new();
    for pass in passes {
        match groups.iter_mut().find(|g| alike(g[0], pass)) {
            Some(group) => group.push(pass),
            None => groups.push(vec![pass]),
        }
    }
    groups
}

/// "8.6 m, at most 9 m; 0.4 m to spare". The margin is said only where it is the distance between
/// the two that stand there.
pub fn against(f: &Finding) -> String {
    // A fall: the greater figure is the flatter pipe.
    let fall = f.unit == "1 in";
    // Millimetres are whole, as on the drawings.
    let shown = |v: f64| if f.unit == "mm" { whole_mm(v) } else { plain(v) };
    let with_unit = |n: String| {
        // One of what is counted: "1 elbow".
        let counted = ["elbows", "pipes", "places", "sheets"].contains(&f.unit.as_str());
        let unit = if n == "1" && counted { f.unit.trim_end_matches('s') } else { &f.unit };
        format!("{n} {unit}").trim().to_owned()
    };
    let said = |v: f64| match fall {
        true => format!("1 in {}", plain(v)),
        false => with_unit(shown(v)),
    };
    let (Some(found), Some(limit)) = (f.found, f.limit) else {
        let margin = f.margin.filter(|_| !fall && f.found.is_none() && f.limit.is_none());
        return match (f.found, f.limit, margin) {
            (Some(found), ..) => said(found),
            // A limit alone stands in the sentence.
            (None, Some(_), None) => String::new(),
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
    // What is to spare is the difference of the figures as they are printed.
    let printed = |v: f64| shown(v).parse::<f64>().unwrap_or(v);
    let apart = with_unit(figure((printed(found) - printed(limit)).abs(), 3));
    match (agrees && !fall && found != limit, holds) {
        (true, true) => format!("{text}; {apart} to spare"),
        (true, false) => format!("{text}; out by {apart}"),
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

    /// The list as one running text.
    pub fn running(&self) -> String {
        let named = |(i, source): (usize, &String)| format!("{} {source}", i + 1);
        let all: Vec<String> = self.0.iter().enumerate().map(named).collect();
        if all.is_empty() { String::new() } else { format!("Sources: {}.", all.join("; ")) }
    }

    /// The list, a line each, in two columns.
    pub fn print(&self, flow: &mut Flow) {
        let named = |(i, source): (usize, &String)| format!("{} {source}.", i + 1);
        let all: Vec<String> = self.0.iter().enumerate().map(named).collect();
        flow.in_two_columns(&all);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(found: f64, limit: f64, unit: &str, margin: f64) -> String {
        let (found, limit, margin) = (Some(found), Some(limit), Some(margin));
        let unit = unit.to_owned();
        against(&Finding { found, limit, unit, margin, ..Finding::blank("SAF01") })
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
