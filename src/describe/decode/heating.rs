//! What makes heat and what gives it off: boilers, heat pumps, zones.

use super::fields::{Fields, Holds};
use super::reader::{Decoder, take_place, take_text};
use crate::catalogue::Kind;
use crate::describe::facts::{Given, Properties, Refused, SourceFacts, SourceKind, ZoneFacts};
use crate::describe::tree::Node;
use crate::diagnostic::Diagnostic;
use crate::model::Datum;

const BOILERS: &[(&str, SourceKind)] = &[
    ("system", SourceKind::SystemBoiler),
    ("combination", SourceKind::CombinationBoiler),
    ("combi", SourceKind::CombinationBoiler),
    ("regular", SourceKind::RegularBoiler),
    ("heat only", SourceKind::RegularBoiler),
    ("conventional", SourceKind::RegularBoiler),
];

pub fn source(d: &mut Decoder, mut node: Node, typed: &str, all: &mut Vec<SourceFacts>) {
    let mut kind = match (node.name.as_str(), typed) {
        ("heat-pump", _) => SourceKind::HeatPump,
        ("uncontrolled", _) => SourceKind::Uncontrolled,
        (_, "combination-boiler" | "combi" | "combi-boiler") => SourceKind::CombinationBoiler,
        (_, "regular-boiler") => SourceKind::RegularBoiler,
        _ => SourceKind::SystemBoiler,
    };
    let row = Kind::known(match kind {
        SourceKind::HeatPump => "heat pump",
        SourceKind::Uncontrolled => "uncontrolled source",
        // A boiler's kind may follow in its line: the combination boiler's row has everything.
        _ => "combination boiler",
    });
    let may_declare: Vec<&str> = row.row().may_declare.iter().map(String::as_str).collect();
    let fields =
        Fields::default().kind(row).and(&[("kind", Holds::Text), ("hot", Holds::Text)]).place();
    let tails = d.tails(&mut node);
    let declared = d.declared(&mut node, &may_declare);
    d.loose(&mut node, &fields);
    let mut p = d.properties(&mut node, &fields);
    swapped(d, &node.name, &mut p);
    let name = d.name(&mut node);
    let mut kind_span = node.name_span.clone();
    if let Some(given) = take_text(&mut p, "kind") {
        let folded = given.value.to_lowercase().replace('-', " ");
        let folded = folded.trim_end_matches(" boiler");
        match BOILERS.iter().find(|(word, _)| *word == folded) {
            Some((_, k)) if node.name == "boiler" => {
                kind = *k;
                kind_span = given.span;
            }
            _ => {
                let known = BOILERS.iter().map(|(word, _)| *word);
                d.unknown("unknown-word", "no such boiler", &given.value, &given.span, known);
            }
        }
    }
    let place = take_place(&mut p, false);
    all.push(SourceFacts {
        name,
        kind: Given { value: kind, span: kind_span, mark: Default::default() },
        properties: p,
        declared,
        place,
        tails,
        span: node.name_span.clone(),
    });
    d.finish(node, &["tail", "declares"]);
}

/// A flow that is no hotter than its return carries no heat: the two are taken for swapped, and
/// neither is used.
fn swapped(d: &mut Decoder, about: &str, p: &mut Properties) {
    let figure = |key: &str| match p.get(key).map(|g| (&g.value, &g.span)) {
        Some((Datum::Number(n), span)) => Some((*n, span.clone())),
        _ => None,
    };
    let (Some((flow, at)), Some((ret, to))) = (figure("flow"), figure("return")) else { return };
    if flow > ret {
        return;
    }
    let span = at.start.min(to.start)..at.end.max(to.end);
    let said =
        format!("flow {flow} °C and return {ret} °C of this {about}: no heat would be given off");
    d.say(
        Diagnostic::error("flow-below-return", span, said)
            .label("are the two swapped?")
            .help(format!("the flow is the hotter one: `flow={ret} return={flow}`")),
    );
    for (key, value) in [("flow", flow), ("return", ret)] {
        p.remove(key);
        d.refused_values.push(Refused {
            about: about.to_owned(),
            key: key.to_owned(),
            typed: value.to_string(),
            loose: false,
        });
    }
}

/// Emitters, with the property that counts them in a fact line and the attribute it stands for.
const EMITTERS: &[(&str, &str, &str)] = &[
    ("radiators", "radiators", "radiators"),
    ("underfloor", "underfloor", "circuits"),
    ("towel-rails", "towel rails", "radiators"),
];

pub fn zone(d: &mut Decoder, mut node: Node, all: &mut Vec<ZoneFacts>) {
    let fields = Fields::new(&[
        ("emitters", Holds::Text),
        ("underfloor", Holds::Any),
        ("towel-rails", Holds::Any),
        ("pumped", Holds::Flag),
        ("thermostat", Holds::Text),
        ("size", Holds::Tube),
        ("valve-size", Holds::Tube),
        ("rooms", Holds::Count),
        ("limit", Holds::Measure("°C")),
        ("lowest", Holds::Flag),
    ])
    .kind(Kind::known("radiator circuit"))
    .kind(Kind::known("underfloor circuits"))
    .and(&[("place", Holds::Text)]);
    let tails = d.tails(&mut node);
    let declared = d.declared(&mut node, &[]);
    d.loose(&mut node, &fields);
    let mut p = d.properties(&mut node, &fields);
    swapped(d, &node.name, &mut p);
    let name = d.name(&mut node);
    let mut emitters = take_text(&mut p, "emitters");
    if let Some(e) = &mut emitters {
        let folded = e.value.to_lowercase().replace('-', " ");
        let known = EMITTERS.iter().find(|(_, words, _)| {
            *words == folded
                || words.trim_end_matches('s') == folded
                || (*words == "underfloor" && (folded.starts_with("under") || folded == "ufh"))
                || (*words == "radiators" && folded == "rads")
        });
        match known {
            Some((_, words, _)) => e.value = (*words).to_owned(),
            None => {
                let (word, span) = (e.value.clone(), e.span.clone());
                emitters = None;
                let known = EMITTERS.iter().map(|(_, words, _)| *words);
                d.unknown("unknown-word", "no such emitters", &word, &span, known);
            }
        }
    }
    for (key, words, attr) in EMITTERS {
        let Some(given) = p.get(*key).cloned() else { continue };
        if *key != *attr {
            p.remove(*key);
        }
        if emitters.is_none() && given.value != Datum::Flag(false) {
            emitters = Some(Given {
                value: (*words).to_owned(),
                span: given.span.clone(),
                mark: Default::default(),
            });
        }
        if *key != *attr
            && let Datum::Number(_) = given.value
        {
            p.insert((*attr).to_owned(), given);
        }
    }
    all.push(ZoneFacts {
        name,
        emitters,
        properties: p,
        declared,
        tails,
        span: node.name_span.clone(),
    });
    d.finish(node, &["tail"]);
}
