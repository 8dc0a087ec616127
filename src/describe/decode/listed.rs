//! The second layer: `part`, `unit`, `run`, `complete`; and the check that names mean one thing.

use std::collections::BTreeMap;

use super::cylinder::port;
use super::fields::{Fields, Holds, METRES, MM};
use super::reader::{Decoder, take_children, take_flag, take_number, take_place, take_text};
use super::{kind_called, kind_words};
use crate::catalogue::{Tube, tubes};
use crate::describe::facts::{
    Facts, Given, Maybe, PartFacts, Properties, RunFacts, StretchFacts, UnitFacts,
};
use crate::describe::tree::{Node, Scalar};
use crate::diagnostic::Diagnostic;
use crate::model::{Datum, Service, Span};

struct Body {
    tag: Maybe<String>,
    name: Given<String>,
    kind: Given<String>,
    unit: Maybe<String>,
    on: Maybe<String>,
    properties: Properties,
    declared: Vec<Given<String>>,
    place: crate::describe::facts::PlaceFacts,
    span: Span,
}

/// `part "cold tee" "tee" x=40 …`; with one word it is both name and kind.
fn body(d: &mut Decoder, mut node: Node) -> Option<Body> {
    let span = node.name_span.clone();
    let what = node.name.clone();
    let first = d.name(&mut node);
    let mut second = if matches!(node.args.first(), Some(v) if matches!(v.scalar, Scalar::Text(_)))
    {
        d.name(&mut node)
    } else {
        None
    };
    if second.is_none()
        && let Some(i) = node.properties.iter().position(|p| p.key == "kind")
    {
        let p = node.properties.remove(i);
        second = d.words(&what, &p.value);
    }
    let Some(name) = first.clone().or_else(|| second.clone()) else {
        d.say(
            Diagnostic::error("missing-value", span, format!("what is this {what} called?"))
                .label(format!("such as `{what} \"cold tee\" \"tee\"`")),
        );
        return None;
    };
    let kind_word = second.clone().unwrap_or_else(|| name.clone());
    let Some(kind) = kind_called(&kind_word.value) else {
        let explained = if second.is_some() {
            "the catalogue has no such kind".to_owned()
        } else {
            format!("this {what} needs its kind beside its name, and none is called so")
        };
        d.unknown("unknown-kind", &explained, &kind_word.value, &kind_word.span, kind_words());
        return None;
    };
    let mut fields =
        Fields::new(&[("tag", Holds::Text), ("unit", Holds::Text), ("on", Holds::Text)]).kind(kind);
    let own_place = fields.has("place");
    fields = fields.place();
    let may_declare: Vec<&str> = kind.row().may_declare.iter().map(String::as_str).collect();
    let declared = d.declared(&mut node, &may_declare);
    let mut inner = Properties::new();
    for child in take_children(&mut node, &["port"]) {
        port(d, child, &[kind], &mut inner);
    }
    let mut p = d.properties(&mut node, &fields);
    p.extend(inner);
    let body = Body {
        tag: take_text(&mut p, "tag"),
        kind: Given { value: kind.key.clone(), span: kind_word.span, mark: kind_word.mark },
        name,
        unit: take_text(&mut p, "unit"),
        on: take_text(&mut p, "on"),
        place: take_place(&mut p, own_place),
        properties: p,
        declared,
        span,
    };
    d.finish(node, &["declares", "port"]);
    Some(body)
}

pub fn part(d: &mut Decoder, node: Node, all: &mut Vec<PartFacts>) {
    let Some(b) = body(d, node) else { return };
    all.push(PartFacts {
        tag: b.tag,
        name: b.name,
        kind: b.kind,
        unit: b.unit,
        on: b.on,
        properties: b.properties,
        declared: b.declared,
        place: b.place,
        span: b.span,
    });
}

pub fn unit(d: &mut Decoder, node: Node, all: &mut Vec<UnitFacts>) {
    let Some(b) = body(d, node) else { return };
    all.push(UnitFacts {
        tag: b.tag,
        name: b.name,
        kind: b.kind,
        properties: b.properties,
        declared: b.declared,
        place: b.place,
        span: b.span,
    });
}

fn pipe_fields() -> Fields {
    Fields::new(&[
        ("service", Holds::Text),
        ("size", Holds::Tube),
        ("material", Holds::Text),
        ("length", METRES),
        ("elbows", Holds::Count),
        ("lagging", MM),
    ])
}

/// A size and a material as the catalogue names the tube: `15` of `PB` is `PB 15`.
pub fn settle_size(p: &mut Properties) {
    let text = |key: &str| match p.get(key).map(|g| &g.value) {
        Some(Datum::Text(t)) => Some(t.clone()),
        _ => None,
    };
    let (size, material) = (text("size"), text("material"));
    if let Some(material) = material {
        let known = tubes().iter().find(|t| t.material.eq_ignore_ascii_case(&material));
        if let (Some(t), Some(given)) = (known, p.get_mut("material")) {
            given.value = Datum::Text(t.material.clone());
        }
        let Some(size) = size else { return };
        let fits = |t: &&Tube| {
            t.material.eq_ignore_ascii_case(&material)
                && (t.size == size || t.size.rsplit(' ').next() == Some(size.as_str()))
        };
        if let (Some(t), Some(given)) = (tubes().iter().find(fits), p.get_mut("size")) {
            given.value = Datum::Text(t.size.clone());
        }
    }
}

fn service_of(d: &mut Decoder, given: Maybe<String>) -> Maybe<String> {
    let mut given = given?;
    let folded = given.value.to_lowercase();
    let found = Service::ALL.into_iter().find(|s| {
        s.key().to_lowercase() == folded
            || s.key().to_lowercase().replace(' ', "-") == folded
            || s.letters() == given.value
    });
    match found {
        Some(s) => {
            given.value = s.key().to_owned();
            Some(given)
        }
        None => {
            let known = Service::ALL.map(Service::key);
            d.unknown("unknown-word", "no pipe carries", &given.value, &given.span, known);
            None
        }
    }
}

pub fn run(d: &mut Decoder, mut node: Node, all: &mut Vec<RunFacts>) {
    let span = node.name_span.clone();
    let stretch_nodes = take_children(&mut node, &["stretch"]);
    let mut p = d.properties(&mut node, &pipe_fields());
    settle_size(&mut p);
    let name = d.name(&mut node);
    let mut stops = Vec::new();
    for value in std::mem::take(&mut node.args) {
        // `cold main -> stop valve`: arrows are for the eye.
        if matches!(value.typed.as_str(), "->" | "→" | ">") {
            continue;
        }
        stops.extend(d.words("run", &value));
    }
    let Some(name) = name else {
        d.say(
            Diagnostic::error("missing-value", span, "a run needs a name, then its parts")
                .label("such as `run \"cold feed\" \"stop valve\" \"strainer\"`"),
        );
        return;
    };
    if stops.len() < 2 {
        d.say(
            Diagnostic::error("missing-value", span, "a run goes from one part to another")
                .label(format!("{} named here", ["no part is", "only one part is"][stops.len()]))
                .help("its name comes first, then at least two parts in the order of the flow"),
        );
        return;
    }
    let mut stretches: Vec<StretchFacts> = Vec::new();
    for child in stretch_nodes {
        let Some(s) = stretch(d, child, &stops) else { continue };
        if stretches.iter().any(|other| other.after == s.after) {
            d.say(
                Diagnostic::error("given-twice", s.span, "this stretch is described twice")
                    .label("the second time"),
            );
            continue;
        }
        stretches.push(s);
    }
    let service = take_text(&mut p, "service");
    let run = RunFacts {
        name,
        service: service_of(d, service),
        size: take_text(&mut p, "size"),
        material: take_text(&mut p, "material"),
        length: take_number(&mut p, "length"),
        elbows: take_number(&mut p, "elbows"),
        lagging: take_number(&mut p, "lagging"),
        stops,
        stretches,
        span,
    };
    d.finish(node, &["stretch"]);
    all.push(run);
}

/// `stretch 2 size=22 length=1.4 { tail x=80 z=120 }`: what differs for the second stretch.
fn stretch(d: &mut Decoder, mut node: Node, stops: &[Given<String>]) -> Option<StretchFacts> {
    let span = node.name_span.clone();
    let mut tails = take_children(&mut node, &["tail"]);
    let fields = pipe_fields().and(&[("id", Holds::Text)]);
    let mut p = d.properties(&mut node, &fields);
    settle_size(&mut p);
    let after = match node.args.first().cloned() {
        Some(value) => {
            node.args.remove(0);
            match &value.scalar {
                Scalar::Number(n) if *n >= 1.0 && *n < stops.len() as f64 && n.fract() == 0.0 => {
                    Some(*n as usize - 1)
                }
                // By the part it leaves.
                Scalar::Text(t) => stops[..stops.len() - 1].iter().position(|s| s.value == *t),
                _ => None,
            }
            .or_else(|| {
                d.say(
                    Diagnostic::error(
                        "unknown-stretch",
                        value.span.clone(),
                        "this run has no such stretch",
                    )
                    .label(format!("expected 1 to {}", stops.len() - 1))
                    .help("stretch 1 leaves the first part named, 2 the second, and so on"),
                );
                None
            })
        }
        None if stops.len() == 2 => Some(0),
        None => {
            d.say(
                Diagnostic::error("missing-value", span.clone(), "which stretch?")
                    .label("such as `stretch 2 size=22`"),
            );
            None
        }
    };
    if tails.len() > 1 {
        let second = tails.remove(1);
        d.once(true, &second);
    }
    let tail = tails.into_iter().next().map(|t| d.tail(t));
    let service = take_text(&mut p, "service");
    let s = StretchFacts {
        after: after?,
        id: take_text(&mut p, "id"),
        service: service_of(d, service),
        size: take_text(&mut p, "size"),
        material: take_text(&mut p, "material"),
        length: take_number(&mut p, "length"),
        elbows: take_number(&mut p, "elbows"),
        lagging: take_number(&mut p, "lagging"),
        tail,
        span,
    };
    d.finish(node, &["tail"]);
    Some(s)
}

pub fn complete(d: &mut Decoder, mut node: Node, as_listed: &mut bool) {
    let fields = Fields::new(&[("complete", Holds::Flag)]);
    if !node.args.is_empty() {
        let value = node.args.remove(0);
        let key_span = node.name_span.clone();
        node.properties.push(crate::describe::tree::Property {
            key: "complete".to_owned(),
            key_span,
            value,
        });
    }
    let mut p = d.properties(&mut node, &fields);
    if let Some(flag) = take_flag(&mut p, "complete") {
        *as_listed = !flag.value;
    }
    d.finish(node, &[]);
}

/// Parts, units, cylinders, sources, zones and named equipment share one set of names.
pub fn names(d: &mut Decoder, facts: &Facts) {
    let add = |g: &Maybe<String>| g.as_ref().map(|g| (g.value.clone(), g.span.clone()));
    let mut named: Vec<(String, Span)> = Vec::new();
    named.extend(facts.cylinders.iter().filter_map(|c| add(&c.name)));
    named.extend(facts.sources.iter().filter_map(|s| add(&s.name)));
    named.extend(facts.zones.iter().filter_map(|z| add(&z.name)));
    named.extend(facts.equipment.iter().chain(&facts.controls).filter_map(|e| add(&e.name)));
    named.extend(facts.parts.iter().map(|p| (p.name.value.clone(), p.name.span.clone())));
    named.extend(facts.units.iter().map(|u| (u.name.value.clone(), u.name.span.clone())));
    let all: Vec<(&str, &Span)> = named.iter().map(|(n, s)| (n.as_str(), s)).collect();
    said_twice(d, "name", &all);
    let tags = facts.parts.iter().map(|p| &p.tag).chain(facts.units.iter().map(|u| &u.tag));
    let tags: Vec<(&str, &Span)> = tags.flatten().map(|t| (t.value.as_str(), &t.span)).collect();
    said_twice(d, "tag", &tags);
}

fn said_twice(d: &mut Decoder, what: &str, all: &[(&str, &Span)]) {
    let mut seen: BTreeMap<&str, &Span> = BTreeMap::new();
    for (name, span) in all {
        if seen.contains_key(name) {
            d.say(
                Diagnostic::error(
                    "duplicate-name",
                    (*span).clone(),
                    format!("the {what} `{name}` is taken already"),
                )
                .label("the second one of that name")
                .help("give one of the two another name"),
            );
        } else {
            seen.insert(name, span);
        }
    }
}
