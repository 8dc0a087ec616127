//! The job's own lines: `job`, `rules`, `assumption`.

use super::fields::{Fields, Holds};
use super::reader::{Decoder, take_children, take_number, take_text};
use crate::describe::facts::{AssumptionFacts, Given, JobFacts, RevisionFacts, RulesFacts};
use crate::describe::tree::Node;
use crate::diagnostic::Diagnostic;

/// What the title block and the forms have room for.
const JOB_FIELDS: &[&str] = &[
    "address",
    "approved",
    "authority",
    "card",
    "checked",
    "client",
    "date",
    "designer",
    "designer-card",
    "drawn",
    "email",
    "inhibitor",
    "insurer",
    "installer",
    "next-service",
    "notified",
    "owner",
    "phone",
    "postcode",
    "route",
    "site",
    "start",
    "test-end",
    "test-start",
    "test-time",
    "title",
    "water-company",
];

const JURISDICTIONS: &[&str] = &["england", "wales", "scotland", "northern-ireland"];

pub fn job(d: &mut Decoder, mut node: Node, job: &mut JobFacts) {
    for mut child in take_children(&mut node, &["revision", "rev"]) {
        let fields =
            Fields::new(&[("date", Holds::Text), ("note", Holds::Text), ("by", Holds::Text)]);
        let mut p = d.properties(&mut child, &fields);
        let mut text = |key: &str| take_text(&mut p, key).map(|g| g.value).unwrap_or_default();
        let (date, note, by) = (text("date"), text("note"), text("by"));
        let index = d.name(&mut child).map(|g| g.value).unwrap_or_default();
        job.revisions.push(RevisionFacts { index, date, note, by });
        d.finish(child, &[]);
    }
    for mut child in take_children(&mut node, &["note", "notes"]) {
        for value in std::mem::take(&mut child.args) {
            job.notes.extend(d.words("note", &value));
        }
        d.finish(child, &[]);
    }
    // `address "Heron Cottage" "Quay Lane"`: lines joined.
    for child in &mut node.children {
        if child.args.len() > 1 && JOB_FIELDS.contains(&child.name.as_str()) {
            let lines: Vec<Given<String>> =
                child.args.iter().filter_map(|v| d.words("address", v)).collect();
            let joined: Vec<&str> = lines.iter().map(|l| l.value.as_str()).collect();
            let joined = joined.join(", ");
            child.args.truncate(1);
            child.args[0].scalar = crate::describe::tree::Scalar::Text(joined);
        }
    }
    let mut fields =
        Fields::new(&[("name", Holds::Text), ("number", Holds::Text), ("status", Holds::Text)]);
    for key in JOB_FIELDS {
        fields = fields.and(&[(key, Holds::Text)]);
    }
    let mut p = d.properties(&mut node, &fields);
    d.all_is_name(&mut node);
    let name = d.name(&mut node).or_else(|| take_text(&mut p, "name"));
    // What one line of the job says, another may add to, not say again.
    let again = |slot: &Option<Given<String>>, more: &Option<Given<String>>| {
        slot.is_some() && more.is_some()
    };
    let (number, status) = (take_text(&mut p, "number"), take_text(&mut p, "status"));
    let twice = again(&job.name, &name) || again(&job.number, &number);
    d.once(twice || again(&job.status, &status), &node);
    job.name = job.name.take().or(name);
    job.number = job.number.take().or(number);
    job.status = job.status.take().or(status);
    for key in JOB_FIELDS {
        if let Some(given) = take_text(&mut p, key) {
            d.once(job.fields.contains_key(*key), &node);
            job.fields.entry((*key).to_owned()).or_insert(given);
        }
    }
    let known: Vec<&str> = JOB_FIELDS.iter().copied().chain(["revision", "note"]).collect();
    d.finish(node, &known);
}

pub fn rules(d: &mut Decoder, mut node: Node, rules: &mut RulesFacts) {
    if !d.once(*rules != RulesFacts::default(), &node) {
        return;
    }
    for mut child in take_children(&mut node, &["limit"]) {
        let fields = Fields::new(&[("value", Holds::Number), ("reason", Holds::Text)]);
        // A limit may be written in its unit; which unit that is, the limits' table knows.
        let mut p = d.properties(&mut child, &fields);
        let id = d.name(&mut child);
        let mut value = take_number(&mut p, "value");
        if value.is_none() && !child.args.is_empty() {
            let arg = child.args.remove(0);
            value = d.number("limit", "value", &arg);
        }
        let reason = take_text(&mut p, "reason").map(|g| g.value).unwrap_or_default();
        let span = child.name_span.clone();
        d.finish(child, &[]);
        match (id, value) {
            (Some(id), Some(value)) => rules.limits.push((id, value, reason)),
            _ => d.say(
                Diagnostic::error("missing-value", span, "a limit needs its name and its value")
                    .label("such as `limit \"discharge fall\" 200 reason=\"…\"`"),
            ),
        }
    }
    let fields = Fields::new(&[("jurisdiction", Holds::Text), ("edition", Holds::Text)]);
    let mut p = d.properties(&mut node, &fields);
    rules.jurisdiction = d.name(&mut node).or_else(|| take_text(&mut p, "jurisdiction"));
    if let Some(j) = &mut rules.jurisdiction {
        let folded = j.value.to_lowercase().replace(' ', "-");
        if JURISDICTIONS.contains(&folded.as_str()) {
            j.value = folded;
        } else {
            let (word, span) = (j.value.clone(), j.span.clone());
            rules.jurisdiction = None;
            d.unknown(
                "unknown-word",
                "no such set of rules",
                &word,
                &span,
                JURISDICTIONS.iter().copied(),
            );
        }
    }
    rules.edition = take_text(&mut p, "edition");
    d.finish(node, &["limit"]);
}

pub fn assumption(d: &mut Decoder, mut node: Node, all: &mut Vec<AssumptionFacts>) {
    let fields = Fields::new(&[
        ("what", Holds::Text),
        ("value", Holds::Text),
        ("unit", Holds::Text),
        ("why", Holds::Text),
    ]);
    let mut p = d.properties(&mut node, &fields);
    let id = d.name(&mut node).map(|g| g.value);
    let mut text = |key: &str| take_text(&mut p, key).map(|g| g.value).unwrap_or_default();
    let (what, value, unit, why) = (text("what"), text("value"), text("unit"), text("why"));
    let span = node.name_span.clone();
    d.finish(node, &[]);
    match id {
        Some(id) => all.push(AssumptionFacts { id, what, value, unit, why }),
        None => d.say(
            Diagnostic::error("missing-value", span, "an assumption needs its number")
                .label("such as `assumption \"A1\" what=\"cylinder diameter\"`"),
        ),
    }
}
