//! What stands against the design and what holds, for the surveyor. In: the report. Out: rows with
//! a plain verdict each, and what of it concerns a device, a source or a tundish.

use super::findings::{Sources, against};
use super::words::listed;
use crate::check::{Finding, Report, Severity, explain};
use crate::draw::tables::{Flow, words};
use crate::model::{Part, System};

/// Families of rules that a surveyor of hot water storage asks about.
const ASKED: [&str; 2] = ["DIS", "SAF"];
/// Families whose findings speak of how a device is set or sized.
const SET: [&str; 4] = ["SAF", "EXP", "SOL", "HTG"];
/// Rules of what must take the heat away from a store that is too hot.
const CUTS: [&str; 4] = ["CTL01", "SAF02", "SAF03", "SAF11"];
/// Of two rules about one fact: what holds by the first is not to be read without the second.
const TOGETHER: [(&str, &str); 6] = [
    ("DIS15", "DIS08"),
    ("DIS13", "DIS03"),
    ("DIS04", "DIS19"),
    ("SAF02", "CTL01"),
    ("SAF02", "SAF11"),
    ("SAF03", "SAF11"),
];
/// Rules that a surveyor asks of every discharge.
const EVERY: [&str; 9] =
    ["DIS01", "DIS02", "DIS03", "DIS04", "DIS05", "DIS06", "DIS07", "DIS12", "DIS15"];
/// Places that a row names.
const PLACES: usize = 4;

/// Every error and warning first, whatever it is about; then the discharge and the safety devices.
pub fn verdicts(flow: &mut Flow, system: &System, report: &Report) {
    let asked = |f: &&Finding| ASKED.iter().any(|family| f.rule.starts_with(family));
    let cups: Vec<&str> = system.of_kind("tundish").map(|(_, p)| p.tag.as_str()).collect();
    let stores = system.parts.iter().filter(|p| p.is_store()).map(|p| p.tag.as_str()).collect();
    let several = [cups, stores];
    let mut sources = Sources::default();
    let mut row = |f: &Finding, what: String, verdict: &str| {
        let source = sources.number(&f.source);
        vec![f.rule.to_owned(), what, against(f), verdict.to_owned(), source]
    };
    let columns = [
        words("Rule", 14.5),
        words("What", 73.0),
        words("Found, limit", 56.0),
        words("Verdict", 19.0),
        words("Src", 9.5),
    ];
    let unread = unread(report);
    if !unread.is_empty() {
        flow.heading("Not read, or not as it was written");
        flow.table(
            &[words("Line", 13.0), words("What stands there", 60.0), words("", 98.0)],
            &unread,
        );
    }
    let fails: Vec<Vec<String>> = standing(report)
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
            row(f, at_its_own(&several, f), verdict)
        })
        .collect();
    let holds = || report.passes.iter().filter(asked);
    rows.extend(holds().map(|f| {
        let star = if f.assumed { "*" } else { "" };
        let verdict = match failing_with(report, f) {
            Some(rule) => format!("holds{star}; {rule} FAILS"),
            None => format!("holds{star}"),
        };
        row(f, at_its_own(&several, f), &verdict)
    }));
    flow.heading(if fails.is_empty() {
        "The discharge and the safety devices against their limits"
    } else {
        "What holds of the discharge and the safety devices"
    });
    if !unread.is_empty() {
        flow.paragraph(
            "Of what was not read nothing is known here: what holds was judged without it.",
        );
    }
    flow.table(&columns, &rows);
    if holds().any(|f| f.assumed) {
        flow.paragraph("* rests on an assumed value: to be proved on site.");
    }
    let has = |rule: &str| holds().any(|f| f.rule == rule);
    if has("DIS04") && has("DIS19") {
        flow.paragraph(
            "DIS04 governs the size; DIS19 only holds the drawing against the elbows that are stated.",
        );
    }
    let silent = silent(report);
    if !silent.is_empty() {
        flow.paragraph(&format!("Not judged, {}: {}.", why_silent(system), silent.join("; ")));
    }
    flow.whole(&sources.running());
}

/// Rules that every discharge is asked by and that neither fail nor hold.
fn silent(report: &Report) -> Vec<String> {
    let said = |rule: &&str| report.findings.iter().chain(&report.passes).any(|f| f.rule == *rule);
    let title = |rule: &str| explain(rule).map(|e| format!("{rule} ({})", e.title));
    EVERY.iter().filter(|r| !said(r)).filter_map(|r| title(r)).collect()
}

/// Why a rule of every discharge says nothing.
fn why_silent(system: &System) -> String {
    let stores = || system.parts.iter().filter(|p| p.is_store());
    let outside: Vec<&str> =
        stores().filter(|p| p.lies_outside()).map(|p| p.tag.as_str()).collect();
    match outside.is_empty() || stores().any(|p| !p.lies_outside()) {
        true => "for want of the parts, places or heights that they speak of".to_owned(),
        false => format!(
            "for they speak of unvented stores and {} is OUT OF SCOPE: nothing is said of how its \
             discharge stands to these limits",
            listed(&outside)
        ),
    }
}

fn standing(report: &Report) -> impl Iterator<Item = &Finding> {
    report.findings.iter().filter(|f| f.severity != Severity::Advice)
}

/// The lines of the description that were left out.
fn unread(report: &Report) -> Vec<Vec<String>> {
    let lines = report.remarks.iter().filter(|r| r.is_unread());
    lines.map(|r| vec![r.line.to_string(), r.typed.clone(), r.message.clone()]).collect()
}

/// The rule that fails about the same fact of the same part.
fn failing_with(report: &Report, holds: &Finding) -> Option<&'static str> {
    let same = |f: &&Finding| {
        TOGETHER.contains(&(holds.rule, f.rule)) && f.parts.iter().any(|p| holds.parts.contains(p))
    };
    standing(report).find(same).map(|f| f.rule)
}

/// "FAILS EXP03" for a device whose setting or size a finding names; nothing where none does.
pub fn fails(report: &Report, tags: &[&str]) -> Option<String> {
    let about = |f: &&Finding| {
        SET.iter().any(|family| f.rule.starts_with(family))
            && f.parts.iter().any(|p| tags.contains(&p.as_str()))
    };
    named(standing(report).filter(about))
}

/// The same for where a discharge ends.
pub fn ends_badly(report: &Report, tags: &[&str]) -> Option<String> {
    let about = |f: &&Finding| {
        f.rule.starts_with("DIS") && f.parts.iter().any(|p| tags.contains(&p.as_str()))
    };
    named(standing(report).filter(about))
}

/// The same for a source whose heat is not cut off.
pub fn uncut(system: &System, report: &Report, source: &Part) -> Option<String> {
    let immersed = source.kind.key == "immersion heater";
    let concerns = |f: &&Finding| {
        let parts = || f.parts.iter().filter_map(|t| system.by_tag(t)).map(|ix| system.part(ix));
        // What names a source, or what guards one, is said of that one.
        let mut heaters = parts().filter(|p| p.kind.heats).peekable();
        let mut guarded = parts().filter_map(|p| p.text("guards")).peekable();
        CUTS.contains(&f.rule)
            && match (heaters.peek().is_some(), guarded.peek().is_some()) {
                (true, _) => heaters.any(|p| p.tag == source.tag),
                (_, true) => guarded.any(|name| name == source.name),
                _ => !immersed && source.kind.key != "solar collector",
            }
    };
    named(standing(report).filter(concerns))
}

fn named<'a>(about: impl Iterator<Item = &'a Finding>) -> Option<String> {
    let mut rules: Vec<&str> = about.map(|f| f.rule).collect();
    rules.sort_unstable();
    rules.dedup();
    (!rules.is_empty()).then(|| format!("FAILS {}", rules.join(", ")))
}

/// What fails of a discharge, by its tundish.
pub fn of_discharge<'a>(report: &'a Report, tundish: &'a str) -> impl Iterator<Item = String> {
    let about = move |f: &&Finding| {
        ASKED.iter().any(|family| f.rule.starts_with(family))
            && f.parts.iter().any(|p| p == tundish)
    };
    standing(report).filter(about).map(|f| {
        let verdict = if f.severity == Severity::Error { "FAILS" } else { "FAILS (warning)" };
        format!("{verdict} {}: {}", f.rule, f.title)
    })
}

/// Safety valves of the heating that fail and have no part of their own: where, how set, and what.
pub fn within_sources(system: &System, report: &Report) -> Vec<(String, String)> {
    let source = |f: &Finding| {
        let parts = f.parts.iter().filter_map(|tag| system.by_tag(tag));
        parts.map(|ix| system.part(ix)).find(|p| p.kind.heats && !p.declares("outside these rules"))
    };
    let own = |f: &Finding| {
        let part = source(f)?;
        let star = if part.attrs.is_assumed("valve-setting") { "*" } else { "" };
        let plain = super::words::plain;
        let set = f.found.map_or(String::new(), |v| format!("{} {}{star}: ", plain(v), f.unit));
        Some((format!("safety valve in {}", part.tag), set + "FAILS " + f.rule))
    };
    standing(report).filter(|f| f.rule == "SAF12").filter_map(own).collect()
}

fn of_its_places(f: &Finding) -> String {
    let places = f.places.iter().take(PLACES).cloned().collect::<Vec<_>>().join("; ");
    let more = if f.places.len() > PLACES { "; …" } else { "" };
    if places.is_empty() { f.title.clone() } else { format!("{places}{more}: {}", f.title) }
}

/// What a finding says, by the tundish or else the store that it says it of, where there are
/// several: "the coil" of two stores is neither's.
fn at_its_own(several: &[Vec<&str>], f: &Finding) -> String {
    let own = |tags: &Vec<&'_ str>| -> Vec<String> {
        let named = tags.iter().filter(|t| f.parts.iter().any(|p| p == *t));
        named.map(|t| (*t).to_owned()).collect()
    };
    let of = several.iter().filter(|tags| tags.len() > 1).map(own).find(|own| !own.is_empty());
    match of {
        Some(own) => {
            let own: Vec<&str> = own.iter().map(String::as_str).collect();
            format!("{}: {}", listed(&own), f.title)
        }
        None => f.title.clone(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(rule: &'static str, parts: &[&str]) -> Finding {
        Finding {
            title: format!("what {rule} says"),
            parts: parts.iter().map(|p| (*p).to_owned()).collect(),
            ..Finding::blank(rule)
        }
    }

    /// An end that one rule accepts and another refuses is not told as accepted; another store's
    /// end is its own affair.
    #[test]
    fn what_holds_is_told_with_what_fails_of_the_same() {
        let report = Report {
            findings: vec![said("DIS08", &["SS1", "TUN1"])],
            passes: vec![said("DIS15", &["SS1", "TUN1"]), said("DIS15", &["GY1", "TUN2"])],
            ..Report::default()
        };
        let with = |i: usize| failing_with(&report, &report.passes[i]);
        assert_eq!((with(0), with(1)), (Some("DIS08"), None));
        let of = |cup: &'static str| of_discharge(&report, cup).collect::<Vec<_>>();
        assert_eq!(of("TUN1"), ["FAILS DIS08: what DIS08 says"]);
        assert!(of("TUN2").is_empty());
        assert_eq!(ends_badly(&report, &["SS1"]).as_deref(), Some("FAILS DIS08"));
        assert_eq!(ends_badly(&report, &["GY1"]), None);
        let silent = silent(&report);
        assert!(silent.iter().any(|s| s.starts_with("DIS06 ")), "{silent:?}");
        assert!(!silent.iter().any(|s| s.starts_with("DIS15 ")), "{silent:?}");
    }

    /// With two stores "the coil" is neither's; with one it needs no tag.
    #[test]
    fn of_several_each_is_named() {
        let coil = said("SAF02", &["CYL2", "COT2"]);
        let cups = || vec!["TUN1", "TUN2"];
        let two = [cups(), vec!["CYL1", "CYL2"]];
        assert_eq!(at_its_own(&two, &coil), "CYL2: what SAF02 says");
        let both = said("DIS02", &["TUN1", "CYL1", "TUN2", "CYL2"]);
        assert_eq!(at_its_own(&two, &both), "TUN1, TUN2: what DIS02 says");
        assert_eq!(at_its_own(&[vec!["TUN1"], vec!["CYL2"]], &coil), "what SAF02 says");
    }

    fn worked(text: &str) -> (System, Report) {
        let system = crate::complete::complete(&crate::describe::read(text).facts).system;
        let sized = crate::size::size(&system);
        let report = crate::check::check(&sized, None, None);
        (sized.system, report)
    }

    /// The reason why nothing is judged is the true one.
    #[test]
    fn what_is_out_of_scope_is_not_said_to_want_parts() {
        let (system, _) = worked("cylinder litres=250 heated=\"thermal store\"\nstove kw=8");
        assert!(why_silent(&system).contains("CYL1 is OUT OF SCOPE"), "{}", why_silent(&system));
        let (system, _) = worked("cylinder litres=250 heated=\"indirect\"\nboiler kw=24");
        assert!(why_silent(&system).starts_with("for want of"));
    }

    /// The setting of a valve inside a boiler that nobody has read bears its star, and the coil that
    /// is rated below it is the culprit.
    #[test]
    fn an_assumed_valve_inside_a_source_bears_its_star() {
        let text =
            "cylinder litres=210 heated=\"indirect\" { coil kw=20 pressure=2.5 }\ncombi kw=24";
        let (system, report) = worked(text);
        let found = report.findings.iter().find(|f| f.rule == "SAF12").expect("it fails");
        assert_eq!(found.parts, ["CYL1", "BLR1"]);
        let (device, setting) = within_sources(&system, &report).remove(0);
        assert_eq!(
            (device.as_str(), setting.as_str()),
            ("safety valve in BLR1", "3 bar*: FAILS SAF12")
        );
        let read = text.replace("kw=24", "kw=24 valve-setting=3");
        let (system, report) = worked(&read);
        assert_eq!(within_sources(&system, &report)[0].1, "3 bar: FAILS SAF12");
    }
}
