//! Cold and hot water: `dwelling`, `main`, `secondary-return`.

use super::fields::{Fields, Holds, KW, LITRES_A_MINUTE, METRES, MM, SQUARE_METRES};
use super::outlets::is_outlet;
use super::reader::{Decoder, take_children};
use super::{hints, kind_called};
use crate::catalogue::{Kind, kinds};
use crate::describe::facts::{EquipmentFacts, Given, MainFacts, Properties, SecondaryFacts};
use crate::describe::tree::Node;
use crate::diagnostic::Diagnostic;

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
    d.loose(&mut node, &fields);
    let p = d.properties(&mut node, &fields);
    d.join("dwelling", all, p);
    d.finish(node, &[]);
}

pub fn main(d: &mut Decoder, mut node: Node, slot: &mut Option<MainFacts>) {
    let tails = d.tails(&mut node);
    let fields = Fields::default().kind(Kind::known("water main")).and(&[
        ("length", METRES),
        ("elbows", Holds::Count),
        ("shared", Holds::Flag),
        ("place", Holds::Text),
    ]);
    pressure_alone(d, &mut node);
    d.loose(&mut node, &fields);
    let mut p = d.properties(&mut node, &fields);
    crate::describe::decode::listed::settle_size(&mut p);
    // The pressure may stand on one line, the flow on the next.
    match slot {
        Some(first) => {
            d.join("main", &mut first.properties, p);
            first.tails.extend(tails);
        }
        None => {
            *slot = Some(MainFacts { properties: p, tails, span: node.name_span.clone() });
        }
    }
    d.finish(node, &["tail"]);
}

/// `main pressure=3.5`: one pressure, and nobody says which. Taken as the higher of the two, it
/// promises nothing at the taps.
fn pressure_alone(d: &mut Decoder, node: &mut Node) {
    let given = |key: &str| node.properties.iter().any(|p| p.key == key);
    if given("static") || given("standing") {
        return;
    }
    let Some(p) = node.properties.iter_mut().find(|p| p.key == "pressure") else { return };
    p.key = "static".to_owned();
    let said = "`pressure` was read as `static`, the pressure with no tap open";
    d.say(
        Diagnostic::warning("loose-figure", p.key_span.clone(), said)
            .label("which of the two was read?")
            .help("`static` with no tap open, `dynamic` while the flow `at` runs: give both")
            .edit(p.key_span.clone(), "static"),
    );
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
    node.args.retain(|a| !hints::bare(a).is_some_and(|w| w == "return" || w == "loop"));
    d.loose(&mut node, &fields);
    let properties = d.properties(&mut node, &fields);
    *slot = Some(SecondaryFacts { properties, legs, tails, span: node.name_span.clone() });
    d.finish(node, &["leg", "tail"]);
}
