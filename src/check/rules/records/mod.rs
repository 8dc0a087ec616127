//! DOC: what must be on paper by the end of the job.

use crate::check::report::{Verdicts, say};
use crate::check::rule::Rule;
use crate::check::{Context, Severity};
use crate::model::{Attrs, Datum, Origin};

pub const RULES: &[&[Rule]] = &[&[
    Rule {
        id: "DOC01",
        severity: Severity::Error,
        title: "no route of notification",
        what: "An unvented store and no statement of how the work is notified: by a registered \
               installer's scheme, by building notice or by full plans. Advice until the job is \
               as-built.",
        why: "Certificate and notice are due within 30 days of completion.",
        source: "Building Regulations 2010, regulations 12 and 20",
        mend: "state the route in the job",
        run: route,
    },
    Rule {
        id: "DOC02",
        severity: Severity::Warning,
        title: "measured values copied from the design",
        what: "Commissioning values that all equal the design's to the last digit.",
        why: "Nobody measured.",
        source: "common practice",
        mend: "measure and enter the readings",
        run: copied,
    },
    Rule {
        id: "DOC03",
        severity: Severity::Warning,
        title: "no label sheet",
        what: "A set of sheets for an unvented store without the labels for valves and store.",
        why: "The next engineer does not know what must stay open.",
        source: "common practice",
        mend: "print the label sheet",
        run: labels,
    },
    Rule {
        id: "DOC04",
        severity: Severity::Warning,
        title: "no householder's sheet, or one in trade words",
        what: "A set of sheets without the householder's picture, or one that uses words of the \
               trade.",
        why: "They can't act on what they don't understand.",
        source: "common practice",
        mend: "print the householder's sheet in plain words",
        run: householder,
    },
    Rule {
        id: "DOC05",
        severity: Severity::Warning,
        title: "main not measured",
        what: "A main without static pressure, or without a flowing pressure at a stated flow. A \
               figure that is typed counts as read; `(measured)` says that somebody read it on site.",
        why: "Every sum of hot water rests on it.",
        source: "common practice",
        mend: "measure static, and dynamic at a timed flow",
        run: measured,
    },
    Rule {
        id: "DOC06",
        severity: Severity::Warning,
        title: "pressure test not recorded",
        what: "An as-built job without the pressure test's start, end and time.",
        why: "A leak that shows later has no record to stand against.",
        source: "Water Supply (Water Fittings) Regulations 1999, Schedule 2 paragraph 12",
        mend: "enter both readings and the time",
        run: pressure_test,
    },
]];

fn field<'c>(cx: &'c Context, keys: &[&str]) -> Option<&'c str> {
    let fields = &cx.system.job.fields;
    keys.iter().filter_map(|k| fields.get(*k)).map(|f| f.trim()).find(|f| !f.is_empty())
}

fn as_built(cx: &Context) -> bool {
    let status = cx.system.job.status.to_lowercase();
    status.contains("as-built") || status.contains("as built")
}

fn has_notifiable_store(cx: &Context) -> bool {
    cx.stores.iter().any(|s| s.needs_safety(cx))
}

fn route(cx: &Context, out: &mut Verdicts) {
    if !has_notifiable_store(cx) {
        return;
    }
    let days = cx.limit("DOC01.days");
    match field(cx, &["route", "notification"]) {
        Some(route) => out.pass(say(format!("notified by: {route}"))),
        None => {
            let s = say(format!(
                "how the work is notified is not stated; papers are due {} days after completion",
                days.value
            ))
            .limit(&days)
            .on_all(cx, cx.stores.iter().map(|s| s.cylinder));
            out.fail(if as_built(cx) { s } else { s.severity(Severity::Advice) });
        }
    }
}

/// Pairs of a design value and its measured twin: `stored` and `stored.measured`.
fn pairs(attrs: &Attrs) -> impl Iterator<Item = (f64, f64)> + '_ {
    attrs.0.iter().filter_map(|(key, value)| {
        let design = key.strip_suffix(".measured").or_else(|| key.strip_prefix("measured."))?;
        let Datum::Number(reading) = value.value else { return None };
        Some((attrs.number(design)?, reading))
    })
}

fn copied(cx: &Context, out: &mut Verdicts) {
    let all: Vec<(f64, f64)> = cx.system.parts.iter().flat_map(|p| pairs(&p.attrs)).collect();
    // One reading may well hit the design value; three do not.
    if all.len() >= 3 && all.iter().all(|(d, m)| (d - m).abs() < 1e-9) {
        let touched: Vec<_> = cx
            .system
            .part_ixs()
            .filter(|p| pairs(&cx.system.part(*p).attrs).next().is_some())
            .collect();
        out.fail(
            say(format!("all {} readings equal the design values", all.len())).on_all(cx, touched),
        );
    } else if !all.is_empty() {
        out.pass(say(format!("{} readings entered", all.len())));
    }
}

fn labels(cx: &Context, out: &mut Verdicts) {
    let Some(drawing) = cx.drawing.filter(|_| has_notifiable_store(cx)) else { return };
    if drawing.labels {
        out.pass(say("the label sheet is among the sheets"));
    } else {
        out.fail(say("no label sheet").on_all(cx, cx.stores.iter().map(|s| s.cylinder)));
    }
}

fn householder(cx: &Context, out: &mut Verdicts) {
    let Some(drawing) = cx.drawing else { return };
    if !drawing.householder {
        out.fail(say("no householder's sheet"));
    } else if !drawing.trade_words.is_empty() {
        let words = drawing.trade_words.join(", ");
        out.fail(say(format!("trade words on the householder's sheet: {words}")));
    } else {
        out.pass(say("the householder's sheet is in plain words"));
    }
}

fn measured(cx: &Context, out: &mut Verdicts) {
    for main in cx.of("water main") {
        let attrs = &cx.system.part(main).attrs;
        let mut missing = Vec::new();
        let mut assumed = false;
        for key in ["static", "dynamic", "at"] {
            match attrs.get(key).map(|v| &v.origin) {
                None => missing.push(key),
                Some(Origin::Assumed(_)) => {
                    missing.push(key);
                    assumed = true;
                }
                Some(_) => {}
            }
        }
        if missing.is_empty() {
            let read =
                |key: &&str| matches!(attrs.get(key).map(|v| &v.origin), Some(Origin::Measured(_)));
            let how = match ["static", "dynamic", "at"].iter().all(read) {
                true => "measured",
                false => "as typed, not marked as measured",
            };
            let title = format!("static and dynamic pressure at a stated flow, {how}");
            out.pass(say(title).on(cx, main));
        } else {
            let words: Vec<&str> = missing
                .iter()
                .map(|k| match *k {
                    "static" => "static pressure",
                    "dynamic" => "dynamic pressure",
                    _ => "the flow it was read at",
                })
                .collect();
            let title = format!("NOT MEASURED: {}", words.join(", "));
            out.fail(say(title).on(cx, main).assumed(assumed));
        }
    }
}

fn pressure_test(cx: &Context, out: &mut Verdicts) {
    if !as_built(cx) || cx.system.pipes.is_empty() {
        return;
    }
    let start = field(cx, &["test-start", "pressure-test-start"]);
    let end = field(cx, &["test-end", "pressure-test-end"]);
    let time = field(cx, &["test-time", "test-minutes", "pressure-test-time"]);
    match (start, end, time) {
        (Some(start), Some(end), Some(time)) => {
            out.pass(say(format!("pressure test: {start} to {end} in {time}")));
        }
        _ => out.fail(say("pressure test without start, end and time")),
    }
}
