//! Emitters without their zone, zones without their lines: `9 rads upstairs`, `ufh downstairs 8
//! circuits`, `two zones up and down`. In: a line. Out: a zone for each place, or one.

use super::words::{COUNTING, EMITTERS, PLACES};
use super::{Above, is_comma, is_filler, span_of};
use crate::describe::decode::hints::bare;
use crate::describe::decode::loose::figure;
use crate::describe::decode::reader::Decoder;
use crate::describe::decode::turned::{count_in, node_and_args};
use crate::describe::quantity;
use crate::describe::tree::{Node, Property, Scalar, Value};
use crate::diagnostic::Diagnostic;
use crate::model::Span;

/// Emitters of one place.
struct Emitters<'a> {
    key: &'static str,
    count: Option<(f64, &'a Value)>,
    kw: Option<Value>,
    /// The words of the place.
    place: Vec<&'a Value>,
}

impl Decoder {
    /// `two zones up and down`: a zone for each place that is named.
    pub(super) fn zones_named(&mut self, node: &Node, above: &mut Above) -> Option<Vec<Node>> {
        let tokens = node_and_args(node);
        let skipped = tokens.iter().take_while(|t| is_filler(t)).count();
        let mut rest = &tokens[skipped..];
        let count = rest.first().and_then(count_in).filter(|n| *n <= MOST_NAMED);
        rest = &rest[usize::from(count.is_some())..];
        let plural = rest.first().and_then(bare).is_some_and(|w| w == "zones");
        let names = plural.then(|| places(&rest[1..]))?.filter(|names| names.len() > 1)?;
        let count = count.unwrap_or(names.len());
        // The first place of this line was taken for a name.
        let own = super::first_words(node);
        let taken = |n: &String| above.named.contains(n) && own.as_ref() != Some(n);
        if count < names.len() || names.iter().any(|(n, _)| taken(n)) {
            return None;
        }
        let span = span_of(&tokens);
        let typed: Vec<&str> = tokens.iter().map(|t| t.typed.trim_matches('"')).collect();
        let mut lines: Vec<String> = names.iter().map(|(n, _)| format!("zone \"{n}\"")).collect();
        lines.resize(count, "zone".to_owned());
        let message =
            format!("`{}` was read as `{}`", typed.join(" ").replace(" ,", ","), lines.join("; "));
        self.say(
            Diagnostic::warning("loose-figure", span.clone(), message)
                .label("each zone is a line of its own")
                .edit(span.clone(), lines.join("\n")),
        );
        let zone = |args: Vec<Value>, name_span: Span| Node {
            name: "zone".to_owned(),
            typed: "zone".to_owned(),
            name_span,
            args,
            properties: Vec::new(),
            children: Vec::new(),
            joins: Vec::new(),
        };
        let mut all = Vec::new();
        for (name, at) in names {
            let typed = format!("\"{name}\"");
            above.named.push(name.clone());
            let value = Value { scalar: Scalar::Text(name), span: at.clone(), note: None, typed };
            all.push(zone(vec![value], at));
        }
        all.resize_with(count, || zone(Vec::new(), span.clone()));
        Some(all)
    }

    /// The zones that a line of emitters means.
    pub(super) fn zones_in(&mut self, node: &Node, above: &mut Above) -> Option<Vec<Node>> {
        let tokens = node_and_args(node);
        let mut said = Vec::new();
        let mut carried = None;
        for part in tokens.split(is_comma) {
            let one = emitters(part, carried)?;
            carried = Some(one.key);
            said.push((one, part));
        }
        let named = |e: &Emitters| !e.place.is_empty();
        let name = |e: &Emitters| {
            e.place.iter().map(|v| v.typed.trim_matches('"')).collect::<Vec<_>>().join(" ")
        };
        // With zones by name, a count alone may belong to any of them.
        let open = |e: &Emitters| match named(e) {
            true => !above.named.contains(&name(e).to_lowercase()),
            false => !above.zones,
        };
        let counted = |e: &Emitters| e.count.is_some() || e.kw.is_some();
        if said.is_empty() || !said.iter().all(|(e, _)| counted(e) && open(e)) {
            return None;
        }
        let lines: Vec<String> = said.iter().map(|(e, _)| as_written(e, &name(e))).collect();
        let meant = lines.join("\n");
        let span = span_of(&tokens);
        let typed: Vec<&str> = tokens.iter().map(|t| t.typed.trim_matches('"')).collect();
        let message =
            format!("`{}` was read as `{}`", typed.join(" ").replace(" ,", ","), lines.join("; "));
        self.say(
            Diagnostic::warning("loose-figure", span.clone(), message)
                .label("radiators and floors belong to a zone")
                .edit(span, meant),
        );
        let mut all = Vec::new();
        for (e, part) in said {
            let span = span_of(part);
            let text = name(&e);
            let mut args = Vec::new();
            if named(&e) {
                above.named.push(text.to_lowercase());
                let typed = format!("\"{text}\"");
                let at = e.place[0].span.start..e.place[e.place.len() - 1].span.end;
                args.push(Value { scalar: Scalar::Text(text), span: at, note: None, typed });
            }
            let property = |key: &str, value: Value| Property {
                key: key.to_owned(),
                key_span: value.span.clone(),
                value,
            };
            let counted = e.count.map(|(n, v)| {
                property(e.key, Value { scalar: Scalar::Number(n), note: None, ..v.clone() })
            });
            let kw = e.kw.map(|v| property("kw", v));
            all.push(Node {
                name: "zone".to_owned(),
                typed: "zone".to_owned(),
                name_span: span,
                args,
                properties: counted.into_iter().chain(kw).collect(),
                children: Vec::new(),
                joins: Vec::new(),
            });
        }
        Some(all)
    }
}

/// More zones than that are no count of zones in one cupboard.
const MOST_NAMED: usize = 12;
/// Words that go with the next to make one place: `ground floor`.
const GO_ON: [&str; 11] = [
    "ground", "first", "second", "top", "1st", "2nd", "living", "dining", "front", "back", "whole",
];

/// The places that some words name, and where they stand; nothing where a word is none.
fn places(tokens: &[Value]) -> Option<Vec<(String, Span)>> {
    const PARTING: [&str; 5] = [",", "and", "&", "+", "/"];
    let mut all: Vec<(String, Span)> = Vec::new();
    let mut goes_on = false;
    for token in tokens {
        let word = match token.typed.as_str() {
            "," => ",".to_owned(),
            _ => bare(token)?,
        };
        if PARTING.contains(&word.as_str()) {
            goes_on = false;
            continue;
        }
        // `up`, `down` of a house are its storeys.
        let said = match word.as_str() {
            "up" => "upstairs",
            "down" => "downstairs",
            word => PLACES.contains(&word).then_some(word)?,
        };
        let floor = matches!(said, "floor" | "room" | "rooms");
        match all.last_mut().filter(|_| goes_on || floor) {
            Some((name, at)) => {
                *name = format!("{name} {said}");
                at.end = token.span.end;
            }
            None => all.push((said.to_owned(), token.span.clone())),
        }
        goes_on = GO_ON.contains(&said);
    }
    Some(all)
}

fn as_written(e: &Emitters, name: &str) -> String {
    let name = if name.is_empty() { String::new() } else { format!(" \"{name}\"") };
    let count = e.count.as_ref().map_or(String::new(), |(n, _)| format!(" {}={n}", e.key));
    let kw = e.kw.as_ref().and_then(|v| quantity::read(v.typed.trim_matches('"'), "kW").ok());
    let kw = kw.map_or(String::new(), |n| format!(" kw={n}"));
    format!("zone{name}{count}{kw}")
}

/// One place's emitters, where every word says so. `carried`: what the part before was about.
fn emitters<'a>(tokens: &'a [Value], carried: Option<&'static str>) -> Option<Emitters<'a>> {
    let mut found = Emitters { key: "", count: None, kw: None, place: Vec::new() };
    let skipped = tokens.iter().take_while(|t| is_filler(t)).count();
    let mut rest = &tokens[skipped..];
    // `2 zones: upstairs 5 rads, …`
    if let [count, zones, _, ..] = rest
        && count_in(count).is_some()
        && bare(zones).is_some_and(|w| w == "zones" || w == "zone")
    {
        rest = &rest[2..];
    }
    while let Some(first) = rest.first() {
        let kw = figure(first, rest.get(1))
            .filter(|v| quantity::read(v.typed.trim_matches('"'), "kW").is_ok());
        if let Some(value) = kw {
            let n = if value.span.end > first.span.end { 2 } else { 1 };
            found.kw.is_none().then_some(())?;
            found.kw = Some(value);
            rest = &rest[n..];
            continue;
        }
        if let Some(n) = count_in(first).filter(|_| found.count.is_none()) {
            found.count = Some((n as f64, first));
            rest = &rest[1..];
            continue;
        }
        let word = bare(first)?;
        let joined = rest.get(1).and_then(bare).map(|next| format!("{word}-{next}"));
        let emitter = |w: &str| EMITTERS.iter().find(|(e, _)| *e == w).map(|(_, key)| *key);
        if let Some(key) = joined.as_deref().and_then(emitter) {
            found.key = key;
            rest = &rest[2..];
        } else if let Some(key) = emitter(&word) {
            (found.key.is_empty() || found.key == key).then_some(())?;
            found.key = key;
            rest = &rest[1..];
        } else if PLACES.contains(&word.as_str()) {
            found.place.push(first);
            rest = &rest[1..];
        } else if COUNTING.contains(&word.as_str()) || is_filler(first) {
            rest = &rest[1..];
        } else {
            return None;
        }
    }
    if found.key.is_empty() {
        found.key = carried?;
    }
    Some(found)
}

/// Whether a part of a line says emitters and nothing else.
pub fn is_emitters(tokens: &[Value]) -> bool {
    emitters(tokens, None).is_some_and(|e| e.count.is_some())
}
