//! `cylinder`: the store with its coils, immersion heaters and ports.

use super::equipment;
use super::fields::{Fields, Holds, holds};
use super::reader::{Decoder, take_children, take_flag, take_place, take_text};
use crate::catalogue::Kind;
use crate::describe::facts::{CylinderFacts, Given, HeatedBy, Properties, Refused};
use crate::describe::tree::Node;
use crate::diagnostic::Diagnostic;
use crate::model::Datum;

const KINDS: [&str; 3] = ["indirect cylinder", "direct cylinder", "twin-coil cylinder"];

/// How a store is heated, in the words people use.
const HEATED: &[(&str, HeatedBy)] = &[
    ("indirect", HeatedBy::Indirect),
    ("boiler", HeatedBy::Indirect),
    ("heat pump", HeatedBy::Indirect),
    ("electric", HeatedBy::Electric),
    ("immersion", HeatedBy::Electric),
    ("immersion heater", HeatedBy::Electric),
    ("coil", HeatedBy::Indirect),
    ("heatpump", HeatedBy::Indirect),
    ("direct", HeatedBy::Electric),
    ("solar", HeatedBy::Solar),
    ("twin coil", HeatedBy::Solar),
    ("thermal store", HeatedBy::OutOfScope),
    ("open vented", HeatedBy::OutOfScope),
    ("vented", HeatedBy::OutOfScope),
];

pub fn cylinder(d: &mut Decoder, mut node: Node, all: &mut Vec<CylinderFacts>) {
    let kinds = KINDS.map(Kind::known);
    let mut fields = Fields::new(&[
        ("heated", Holds::Text),
        ("factory-fitted", Holds::Flag),
        ("expansion", Holds::Text),
        ("slim", Holds::Flag),
        ("off-peak", Holds::Flag),
        ("relief-pressure", Holds::Measure("bar")),
        ("relief-temperature", Holds::Measure("°C")),
        ("immersions", Holds::Count),
        ("hand", Holds::Text),
        ("thermostat", Holds::Measure("°C")),
        ("feet", Holds::Measure("mm")),
    ]);
    for kind in kinds {
        fields = fields.kind(kind);
    }
    let fields = fields.place();
    let mut c = CylinderFacts { span: node.name_span.clone(), ..CylinderFacts::default() };
    c.tails = d.tails(&mut node);
    let mut may_declare: Vec<&str> = Vec::new();
    for fact in kinds.iter().flat_map(|k| &k.row().may_declare) {
        if !may_declare.contains(&fact.as_str()) {
            may_declare.push(fact);
        }
    }
    c.declared = d.declared(&mut node, &may_declare);
    let mut inner = Properties::new();
    for (word, prefix) in [("coil", "coil"), ("solar-coil", "solar-coil")] {
        for child in take_children(&mut node, &[word]) {
            coil(d, child, prefix, &fields, &mut inner);
        }
    }
    for child in take_children(&mut node, &["immersion", "immersion-heater", "element"]) {
        c.immersions.extend(equipment::item(d, child, "immersion", &[]));
    }
    for child in take_children(&mut node, &["port"]) {
        port(d, child, &kinds, &mut inner);
    }
    d.loose(&mut node, &fields);
    let mut p = d.properties(&mut node, &fields);
    c.name = d.name(&mut node);
    c.heated = take_text(&mut p, "heated").and_then(|given| heated(d, given));
    c.factory_fitted = take_flag(&mut p, "factory-fitted");
    c.expansion = take_text(&mut p, "expansion");
    if let Some(e) = &mut c.expansion {
        match e.value.to_lowercase().as_str() {
            "external" | "vessel" | "external vessel" => e.value = "external".to_owned(),
            "internal" | "air gap" | "bubble" => e.value = "internal".to_owned(),
            _ => {
                let (word, span) = (e.value.clone(), e.span.clone());
                c.expansion = None;
                d.unknown(
                    "unknown-word",
                    "expansion is taken up by",
                    &word,
                    &span,
                    ["external", "internal"],
                );
            }
        }
    }
    c.place = take_place(&mut p, false);
    for (key, value) in inner {
        p.entry(key).or_insert(value);
    }
    holds_its_water(d, &mut p);
    c.properties = p;
    d.finish(node, &["coil", "solar-coil", "immersion", "port", "declares", "tail"]);
    all.push(c);
}

/// A body that is smaller than the water in it: one of its three figures is wrong.
fn holds_its_water(d: &mut Decoder, p: &mut Properties) {
    let figure = |key: &str| match p.get(key).map(|g| &g.value) {
        Some(Datum::Number(n)) => Some(*n),
        _ => None,
    };
    let (Some(litres), Some(dia), Some(height)) =
        (figure("litres"), figure("diameter"), figure("height"))
    else {
        return;
    };
    let room = std::f64::consts::FRAC_PI_4 * dia * dia * height / 1e6;
    if litres <= room {
        return;
    }
    let span = p["litres"].span.clone();
    let said =
        format!("{litres} l do not go into a body of {dia} x {height} mm: it holds {room:.0} l");
    d.say(
        Diagnostic::error("impossible-number", span, said)
            .label("more than its body holds")
            .help("read content, diameter and height off the plate or leaflet"),
    );
    for key in ["diameter", "height"] {
        let Some(given) = p.remove(key) else { continue };
        let Datum::Number(n) = given.value else { continue };
        d.refused_values.push(Refused {
            about: "cylinder".to_owned(),
            key: key.to_owned(),
            typed: n.to_string(),
            loose: false,
        });
    }
}

fn heated(d: &mut Decoder, given: Given<String>) -> Option<Given<HeatedBy>> {
    let folded = given.value.to_lowercase().replace('-', " ");
    // "unvented indirect cylinder": that it is fed from the main goes without saying here.
    let plain = |w: &&str| !["unvented", "mains", "pressure", "cylinder", "tank"].contains(w);
    let words: Vec<&str> = folded.split_whitespace().filter(plain).collect();
    let folded = words.join(" ");
    match HEATED.iter().find(|(word, _)| *word == folded) {
        Some((_, by)) => Some(Given { value: *by, span: given.span, mark: given.mark }),
        None => {
            let known = HEATED.iter().map(|(word, _)| *word);
            let what = "no way to heat a store";
            let meant = d.meant("unknown-word", what, &given.value, &given.span, known)?;
            let by = HEATED.iter().find(|(word, _)| *word == meant)?.1;
            Some(Given { value: by, span: given.span, mark: given.mark })
        }
    }
}

/// `coil kw=21 area=0.8`: attributes `coil-kw`, `coil-area`.
fn coil(d: &mut Decoder, mut node: Node, prefix: &str, fields: &Fields, all: &mut Properties) {
    let mut own = Fields::default();
    for field in &fields.0 {
        if let Some(key) = field.key.strip_prefix(prefix).and_then(|k| k.strip_prefix('-')) {
            own = own.and(&[(key, field.holds)]);
        }
    }
    d.loose(&mut node, &own);
    let p = d.properties(&mut node, &own);
    let p = p.into_iter().map(|(key, value)| (format!("{prefix}-{key}"), value)).collect();
    d.join("cylinder", all, p);
    d.finish(node, &[]);
}

/// `port "hot" height=1530 angle=0`: attributes `port.hot.height`, `port.hot.angle`.
pub fn port(d: &mut Decoder, mut node: Node, kinds: &[Kind], all: &mut Properties) {
    let span = node.name_span.clone();
    let name = d.name(&mut node);
    let mut names: Vec<&str> = Vec::new();
    let mut own = Fields::default();
    for kind in kinds {
        for (key, unit) in &kind.row().attrs {
            let Some((name, what)) = key.strip_prefix("port.").and_then(|k| k.rsplit_once('.'))
            else {
                continue;
            };
            if !names.contains(&name) {
                names.push(name);
            }
            own = own.and(&[(what, holds(what, unit))]);
        }
    }
    let p = d.properties(&mut node, &own);
    d.finish(node, &[]);
    let Some(name) = name else {
        d.say(
            Diagnostic::error("missing-value", span, "which port?")
                .label("such as `port \"hot\" height=1530`"),
        );
        return;
    };
    let folded = name.value.to_lowercase().replace('-', " ");
    if !names.contains(&folded.as_str()) {
        d.unknown("unknown-word", "no such port", &name.value, &name.span, names);
        return;
    }
    for (key, value) in p {
        all.insert(format!("port.{folded}.{key}"), value);
    }
}
