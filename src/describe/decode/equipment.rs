//! One line for one item of equipment, by its trade word; and the controls.

use super::fields::{Fields, Holds, METRES};
use super::reader::{Decoder, take_place};
use super::{kind_called, kind_words, outlets, top_words, water};
use crate::catalogue::Kind;
use crate::describe::facts::{EquipmentFacts, Facts, Given};
use crate::describe::tree::Node;
use crate::diagnostic::Diagnostic;
use crate::model::Datum;

/// Short words for equipment, and the kind each means (empty: it takes more than the word).
const WORDS: &[(&str, &str)] = &[
    ("softener", "softener"),
    ("scale-reducer", "scale reducer"),
    ("hard-tap", "hard tap"),
    ("booster", "booster pump"),
    ("accumulator", "accumulator"),
    ("break-tank", "break tank"),
    ("header", "low-loss header"),
    ("buffer", "buffer"),
    ("volumiser", "volumiser"),
    ("solar", "solar collector"),
    ("solar-station", "solar pump station"),
    ("vessel", ""),
    ("reducing-valve", "reducing valve"),
    ("expansion-relief", "expansion relief valve"),
    ("temperature-relief", "temperature and pressure relief valve"),
    ("safety-valve", "safety valve"),
    ("blending-valve", "blending valve"),
    ("boost-diverter", "boost diverter"),
    ("filter", "magnetic filter"),
    ("strainer", "strainer"),
    ("filling-loop", "filling loop"),
    ("bypass-valve", "bypass valve"),
    ("inlet-group", "inlet group"),
    ("tundish", "tundish"),
    ("diverter", "three-port diverter"),
    ("mid-position-valve", "mid-position valve"),
    ("zone-valve", "zone valve"),
    ("pump", "pump"),
    ("secondary-pump", "secondary pump"),
    ("frost", "frost thermostat"),
    ("discharge-alarm", "discharge alarm"),
    ("immersion", "immersion heater"),
    ("air-separator", "air separator"),
    ("drain", "drain cock"),
];

/// Other words for the short words.
const OTHER: &[(&str, &str)] = &[
    ("low-loss-header", "header"),
    ("solar-collector", "solar"),
    ("solar-panel", "solar"),
    ("solar-panels", "solar"),
    ("panel", "solar"),
    ("panels", "solar"),
    ("collector", "solar"),
    ("expansion-vessel", "vessel"),
    ("hot-water-vessel", "vessel"),
    ("heating-vessel", "vessel"),
    ("solar-vessel", "vessel"),
    ("expansion-relief-valve", "expansion-relief"),
    ("magnetic-filter", "filter"),
    ("three-port-diverter", "diverter"),
    ("mid-position", "mid-position-valve"),
    ("frost-thermostat", "frost"),
    ("frost-stat", "frost"),
    ("immersion-heater", "immersion"),
    ("booster-pump", "booster"),
    ("mixing-valve", "blending-valve"),
    ("reducer", "reducing-valve"),
    ("pressure-reducing-valve", "reducing-valve"),
    ("bypass", "bypass-valve"),
    ("drinking-tap", "hard-tap"),
    ("water-softener", "softener"),
    ("buffer-tank", "buffer"),
    ("erv", "expansion-relief"),
    ("tprv", "temperature-relief"),
    ("t&p", "temperature-relief"),
    ("t&p-valve", "temperature-relief"),
    ("exp-vessel", "vessel"),
    ("psv", "safety-valve"),
    ("abv", "bypass-valve"),
    ("auto-bypass", "bypass-valve"),
    ("mag-filter", "filter"),
];

/// Tag letters of the kinds that are controls.
const CONTROL_TAGS: &[&str] =
    &["PRG", "RT", "CT", "COT", "X", "FCU", "DPS", "UFC", "FLT", "PT", "FT", "CTM", "SC", "PVD"];

/// Words that belong inside another line.
const INNER: &[(&str, &str)] = &[
    ("door", "cupboard"),
    ("wall", "cupboard"),
    ("floor", "cupboard"),
    ("obstacle", "cupboard"),
    ("limit", "rules"),
    ("coil", "cylinder"),
    ("solar-coil", "cylinder"),
    ("port", "cylinder"),
    ("tail", "boiler"),
    ("declares", "cylinder"),
    ("leg", "secondary-return"),
    ("flat", "building"),
    ("stretch", "run"),
    ("address", "job"),
    ("client", "job"),
    ("revision", "job"),
    ("note", "job"),
];

/// What is said of a word that begins a line and is none of the language.
pub const NO_SUCH_WORD: &str = "this program does not know the word";

/// What to do with a line that says something, and nothing that is known.
const A_SENTENCE: &str = "begin the line with what it is about, `boiler 24 kW`, `main 3 bar 20 l/min`, \
     `zone \"upstairs\" 5 rads`; a remark goes behind `note`: `note \"key at the shop\"`";

/// The vessels a description may mean.
const VESSELS: &[(&str, &str)] =
    &[("hot water", "hot-water vessel"), ("heating", "heating vessel"), ("solar", "solar vessel")];

/// Words that stand in the braces of a line.
pub fn inner_of(parent: &str) -> Vec<&'static str> {
    let more = [("immersion", "cylinder"), ("tail", "cylinder"), ("tail", "main")];
    let all = INNER.iter().chain(&more).filter(|(_, p)| *p == parent && parent != "job");
    all.map(|(word, _)| *word).collect()
}

/// Whether a word begins a line of equipment, or belongs inside another line.
pub fn is_known(word: &str) -> bool {
    meaning(word).is_some() || INNER.iter().any(|(w, _)| *w == word)
}

/// Words that belong inside another line.
#[cfg(test)]
pub fn inner() -> impl Iterator<Item = &'static str> {
    INNER.iter().map(|(word, _)| *word)
}

pub fn words() -> impl Iterator<Item = (&'static str, &'static str)> {
    WORDS.iter().copied()
}

/// The short word and kind that a node's word means.
fn meaning(word: &str) -> Option<(String, String)> {
    let other = OTHER.iter().find(|(o, _)| *o == word).map_or(word, |(_, short)| *short);
    if let Some((short, kind)) = WORDS.iter().find(|(w, _)| *w == other) {
        return Some(((*short).to_owned(), (*kind).to_owned()));
    }
    let kind = kind_called(word)?;
    let short = WORDS.iter().find(|(_, k)| *k == kind.key).map(|(w, _)| (*w).to_owned());
    Some((short.unwrap_or_else(|| kind.key.replace(' ', "-")), kind.key.clone()))
}

/// A line of the top that none of the other families knows.
pub fn equipment(d: &mut Decoder, mut node: Node, facts: &mut Facts) {
    let typed = node.name.clone();
    if d.refused(&typed, &node.name_span) {
        return;
    }
    let Some((word, kind)) = meaning(&typed) else {
        if let Some((_, parent)) = INNER.iter().find(|(w, _)| *w == typed) {
            let message = format!("`{typed}` goes inside `{parent}`");
            d.say(
                Diagnostic::error("unknown-node", node.name_span.clone(), message)
                    .label("not at the top")
                    .help(format!("write it between the braces of `{parent} {{ … }}`")),
            );
            return;
        }
        let known = top_words();
        let known = known.iter().map(String::as_str);
        let said = d.said.len();
        d.unknown("unknown-node", NO_SUCH_WORD, &typed, &node.name_span, known);
        // No list of words helps whoever typed a sentence.
        let sentence = node.args.len() > 1 && node.properties.is_empty();
        if let Some(last) = d.said.get_mut(said).filter(|d| sentence && d.edit.is_none()) {
            last.help = Some(A_SENTENCE.to_owned());
        }
        return;
    };
    // An outlet on a line of its own counts as one in `outlets`, the hard tap excepted.
    if word != "hard-tap" && water::is_outlet_word(&typed) {
        let mut all = node.clone();
        all.name = "outlets".to_owned();
        all.args.clear();
        all.properties.clear();
        all.children = vec![node];
        return outlets::outlets(d, all, &mut facts.outlets);
    }
    if let Some((which, _)) =
        VESSELS.iter().find(|(_, k)| kind_called(&typed).is_some_and(|t| t.key == *k))
        && word == "vessel"
    {
        node.name = "vessel".to_owned();
        let which = which.to_string();
        if let Some(mut item) = item(d, node, "vessel", &[]) {
            let span = item.span.clone();
            let given = Given { value: Datum::Text(which), span, mark: Default::default() };
            item.properties.entry("for".to_owned()).or_insert(given);
            settle_vessel(d, &mut item);
            facts.equipment.push(item);
        }
        return;
    }
    let is_control = Kind::of(&kind).is_some_and(|k| {
        CONTROL_TAGS.contains(&k.tag.as_str()) && word != "frost" && word != "boost-diverter"
    });
    if let Some(mut item) = item(d, node, &word, &[]) {
        if word == "vessel" {
            settle_vessel(d, &mut item);
        }
        if is_control { facts.controls.push(item) } else { facts.equipment.push(item) }
    }
}

/// `vessel "heating" litres=18`: the name says for what, where nothing else does.
fn settle_vessel(d: &mut Decoder, item: &mut EquipmentFacts) {
    let folded = |t: &str| t.to_lowercase().replace(['-', '_'], " ").replace(" vessel", "");
    if !item.properties.contains_key("for")
        && let Some(name) = &item.name
        && VESSELS.iter().any(|(w, _)| *w == folded(&name.value))
    {
        let text = Datum::Text(folded(&name.value));
        let given = Given { value: text, span: name.span.clone(), mark: name.mark.clone() };
        item.properties.insert("for".to_owned(), given);
        item.name = None;
    }
    let Some(given) = item.properties.get_mut("for") else { return };
    let Datum::Text(text) = &given.value else { return };
    let text = folded(text);
    match VESSELS.iter().find(|(w, _)| *w == text) {
        Some((w, kind)) => {
            given.value = Datum::Text((*w).to_owned());
            item.kind = (*kind).to_owned();
        }
        None => {
            let span = given.span.clone();
            let known = VESSELS.iter().map(|(w, _)| *w);
            d.unknown("unknown-word", "no vessel is for", &text, &span, known);
            item.properties.remove("for");
        }
    }
}

/// Decodes one item under its short word.
pub fn item(
    d: &mut Decoder,
    mut node: Node,
    word: &str,
    more: &[(&'static str, Holds)],
) -> Option<EquipmentFacts> {
    let kind_key = WORDS
        .iter()
        .find(|(w, _)| *w == word)
        .map(|(_, k)| (*k).to_owned())
        .or_else(|| kind_called(word).map(|k| k.key.clone()))
        .unwrap_or_default();
    node.name = word.to_owned();
    let mut fields = Fields::new(more);
    let mut may_declare: Vec<&str> = Vec::new();
    // A vessel not yet known to be for heating or hot water carries what all vessels do.
    let known = if kind_key.is_empty() { "heating vessel" } else { &kind_key };
    if let Some(kind) = Kind::of(known) {
        fields = fields.kind(kind);
        may_declare.extend(kind.row().may_declare.iter().map(String::as_str));
    }
    let own_place = fields.has("place");
    let fields = fields.place().and(&[
        ("serves", Holds::Text),
        ("for", Holds::Text),
        ("size", Holds::Tube),
        ("length", METRES),
        ("distance", METRES),
        ("room", Holds::Text),
        ("zone", Holds::Text),
        ("pipes", Holds::Count),
        ("waste", Holds::Text),
    ]);
    let tails = d.tails(&mut node);
    let declared = d.declared(&mut node, &may_declare);
    d.loose(&mut node, &fields);
    let mut p = d.properties(&mut node, &fields);
    let name = d.name(&mut node);
    let place = take_place(&mut p, own_place);
    let span = node.name_span.clone();
    d.finish(node, &["tail", "declares"]);
    Some(EquipmentFacts {
        word: Given { value: word.to_owned(), span: span.clone(), mark: Default::default() },
        kind: kind_key,
        name,
        properties: p,
        declared,
        place,
        tails,
        span,
    })
}

/// `controls { programmer channels=3; room-thermostat "hall" }`.
pub fn controls(d: &mut Decoder, mut node: Node, all: &mut Vec<EquipmentFacts>) {
    let known: Vec<&str> = kind_words()
        .filter(|w| {
            Kind::called(w).is_some_and(|k| {
                CONTROL_TAGS.contains(&k.tag.as_str())
                    || matches!(k.tag.as_str(), "DV" | "MPV" | "ZV")
            })
        })
        .collect();
    for child in std::mem::take(&mut node.children) {
        match meaning(&child.name) {
            Some((word, _)) => all.extend(item(d, child, &word, &[])),
            None => d.unknown(
                "unknown-node",
                "no such control",
                &child.name,
                &child.name_span,
                known.iter().copied(),
            ),
        }
    }
    // What is said of the controls as a whole goes by the word itself.
    let fields = Fields::new(&[
        ("valves", Holds::Text),
        ("call", Holds::Text),
        ("channels", Holds::Count),
        ("wireless", Holds::Flag),
        ("frost", Holds::Flag),
        ("priority", Holds::Any),
        ("weather", Holds::Flag),
    ]);
    let p = d.properties(&mut node, &fields);
    let name = d.name(&mut node);
    if !p.is_empty() || name.is_some() {
        let span = node.name_span.clone();
        all.push(EquipmentFacts {
            word: Given {
                value: "controls".to_owned(),
                span: span.clone(),
                mark: Default::default(),
            },
            kind: String::new(),
            name,
            properties: p,
            declared: Vec::new(),
            place: Default::default(),
            tails: Vec::new(),
            span,
        });
    }
    d.finish(node, &known);
}
