//! Cold and hot water: `dwelling`, `main`, `outlets`, `secondary-return`.

use super::fields::{Fields, Holds, KW, LITRES_A_MINUTE, METRES, MM, SQUARE_METRES};
use super::reader::{Decoder, take_children};
use super::{hints, kind_called, kind_words};
use crate::catalogue::{Kind, kinds};
use crate::describe::facts::{
    EquipmentFacts, Given, MainFacts, OutletFacts, Properties, SecondaryFacts,
};
use crate::describe::tree::{Node, Scalar};

pub fn dwelling(d: &mut Decoder, mut node: Node, all: &mut Properties) {
    let fields = Fields::new(&[
        ("floor-area", SQUARE_METRES),
        ("bedrooms", Holds::Count),
        ("bathrooms", Holds::Count),
        ("occupants", Holds::Count),
        ("storeys", Holds::Count),
        ("new-dwelling", Holds::Flag),
        ("whole-new-system", Holds::Flag),
        ("hardness", Holds::Measure("ppm")),
        ("heat-loss", KW),
        ("postcode", Holds::Text),
        ("schematic-only", Holds::Flag),
        ("exposed-pipes", Holds::Flag),
        ("vulnerable-occupants", Holds::Flag),
        ("fire-stopped", Holds::Flag),
        ("kind", Holds::Text),
        // How demand is counted ("BS 8558"; else EN 806-3), the flow at which every outlet must
        // have its pressure, the height of the highest emitter above the heating vessel.
        ("loading-units", Holds::Text),
        ("simultaneous", LITRES_A_MINUTE),
        ("static-height", METRES),
    ]);
    let p = d.properties(&mut node, &fields);
    d.join("dwelling", all, p);
    d.finish(node, &[]);
}

pub fn main(d: &mut Decoder, mut node: Node, slot: &mut Option<MainFacts>) {
    if !d.once(slot.is_some(), &node) {
        return;
    }
    let tails = d.tails(&mut node);
    let fields = Fields::default().kind(Kind::known("water main")).and(&[
        ("length", METRES),
        ("elbows", Holds::Count),
        ("shared", Holds::Flag),
        ("place", Holds::Text),
    ]);
    d.loose(&mut node, &fields);
    let mut p = d.properties(&mut node, &fields);
    crate::describe::decode::listed::settle_size(&mut p);
    *slot = Some(MainFacts { properties: p, tails, span: node.name_span.clone() });
    d.finish(node, &["tail"]);
}

/// Outlets are named by their kind; a number says how many.
pub fn outlets(d: &mut Decoder, mut node: Node, all: &mut Vec<OutletFacts>) {
    let outlet_kinds: Vec<&str> = outlet_words().collect();
    for mut child in std::mem::take(&mut node.children) {
        let refused = |w: &str| hints::REFUSED.iter().any(|(other, ..)| *other == w);
        d.joined(&mut child, &|word| outlet(word).is_some() || refused(word));
        let span = child.name_span.clone();
        let Some(kind) = outlet(&child.name) else {
            if d.refused(&child.name, &span) {
                continue;
            }
            d.unknown(
                "unknown-node",
                "no such outlet",
                &child.name,
                &span,
                outlet_kinds.iter().copied(),
            );
            continue;
        };
        child.name = kind.key.clone();
        let mut fields = Fields::default().kind(kind);
        fields = fields.and(&[("count", Holds::Count), ("size", Holds::Tube)]);
        let mut p = d.properties(&mut child, &fields);
        let mut count = super::reader::take_number(&mut p, "count");
        if let Some(i) = child.args.iter().position(|a| matches!(a.scalar, Scalar::Number(_))) {
            let arg = child.args.remove(i);
            count = d.count(&child.name, &arg).or(count);
        }
        let count = match count {
            Some(n) => Given { value: n.value as u32, span: n.span, mark: n.mark },
            None => Given { value: 1, span: span.clone(), mark: Default::default() },
        };
        // `shower "en suite"`: where it is.
        if let Some(room) = d.name(&mut child)
            && fields.has("room")
        {
            let room = Given {
                value: crate::model::Datum::Text(room.value),
                span: room.span,
                mark: room.mark,
            };
            p.entry("room".to_owned()).or_insert(room);
        }
        d.finish(child, &[]);
        if count.value > 0 {
            let key =
                Given { value: kind.key.clone(), span: span.clone(), mark: Default::default() };
            all.push(OutletFacts { kind: key, count, properties: p, span });
        }
    }
    // `outlets bath shower`: one of each.
    for value in std::mem::take(&mut node.args) {
        let Some(word) = d.words("outlets", &value) else { continue };
        match outlet(&word.value) {
            Some(kind) => all.push(OutletFacts {
                kind: Given {
                    value: kind.key.clone(),
                    span: word.span.clone(),
                    mark: word.mark.clone(),
                },
                count: Given { value: 1, span: word.span.clone(), mark: word.mark },
                properties: Properties::new(),
                span: word.span,
            }),
            None => d.unknown(
                "unknown-word",
                "no such outlet",
                &word.value,
                &word.span,
                outlet_kinds.iter().copied(),
            ),
        }
    }
    let p = std::mem::take(&mut node.properties);
    for p in p {
        // `outlets bath=1 shower=2`
        match outlet(&p.key) {
            Some(kind) => {
                let Some(n) = d.count(&kind.key, &p.value) else { continue };
                if n.value < 1.0 {
                    continue;
                }
                all.push(OutletFacts {
                    kind: Given {
                        value: kind.key.clone(),
                        span: p.key_span.clone(),
                        mark: Default::default(),
                    },
                    count: Given { value: n.value as u32, span: n.span, mark: n.mark },
                    properties: Properties::new(),
                    span: p.key_span,
                });
            }
            None => d.unknown(
                "unknown-property",
                "no such outlet",
                &p.key,
                &p.key_span,
                outlet_kinds.iter().copied(),
            ),
        }
    }
    d.finish(node, &outlet_kinds);
}

/// The outlet that a word means: one, several, or another word for it.
fn outlet(word: &str) -> Option<Kind> {
    let ends = [word, word.strip_suffix('s').unwrap_or(""), word.strip_suffix("es").unwrap_or("")];
    ends.into_iter().find_map(|w| {
        let other =
            hints::OUTLETS.iter().find(|(other, _)| *other == w).map_or(w, |(_, real)| real);
        kind_called(other).filter(|k| is_outlet(*k))
    })
}

/// Outlets are the kinds that say how many there are.
fn is_outlet(kind: Kind) -> bool {
    kind.attrs.contains_key("count")
}

fn outlet_words() -> impl Iterator<Item = &'static str> {
    kind_words().filter(|w| Kind::called(w).is_some_and(is_outlet))
}

/// Names of the kinds of outlets, for other files' questions.
pub fn is_outlet_word(word: &str) -> bool {
    kind_called(word).is_some_and(is_outlet) && !kinds().is_empty()
}

pub fn secondary(d: &mut Decoder, mut node: Node, slot: &mut Option<SecondaryFacts>) {
    if !d.once(slot.is_some(), &node) {
        return;
    }
    let tails = d.tails(&mut node);
    let leg_fields = Fields::new(&[
        ("length", METRES),
        ("size", Holds::Tube),
        ("return-size", Holds::Tube),
        ("return-length", METRES),
        ("lagging", MM),
        ("elbows", Holds::Count),
        ("to", Holds::Text),
        ("flow", LITRES_A_MINUTE),
        ("distance", METRES),
    ]);
    let mut legs = Vec::new();
    for mut leg in take_children(&mut node, &["leg", "loop"]) {
        let span = leg.name_span.clone();
        leg.name = "leg".to_owned();
        let tails = d.tails(&mut leg);
        let properties = d.properties(&mut leg, &leg_fields);
        let name = d.name(&mut leg);
        d.finish(leg, &["tail"]);
        legs.push(EquipmentFacts {
            word: Given { value: "leg".to_owned(), span: span.clone(), mark: Default::default() },
            kind: String::new(),
            name,
            properties,
            declared: Vec::new(),
            place: Default::default(),
            tails,
            span,
        });
    }
    let fields = leg_fields.and(&[
        ("timer", Holds::Any),
        ("hours", Holds::Measure("h")),
        ("pump", Holds::Any),
        ("temperature", Holds::Measure("°C")),
        ("thermostat", Holds::Any),
    ]);
    let properties = d.properties(&mut node, &fields);
    *slot = Some(SecondaryFacts { properties, legs, tails, span: node.name_span.clone() });
    d.finish(node, &["leg", "tail"]);
}
