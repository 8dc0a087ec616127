//! Taps and appliances. In: the outlets the file lists. Out: their parts, and which supply each
//! of their ports is for: hot, balanced cold, main, or hard water before a softener.

use super::given::{attrs, text, value};
use super::net::Net;
use super::survey::Survey;
use crate::catalogue::Kind;
use crate::describe::facts::SourceKind;
use crate::model::{Datum, PartIx, PortRef, Value};

#[derive(Default)]
pub struct Outlets {
    pub hot: Vec<PortRef>,
    /// Cold that must balance the hot at a mixer: after the reducing valve (common practice).
    pub balanced: Vec<PortRef>,
    /// Cold straight from the main.
    pub main: Vec<PortRef>,
    /// Cold from the main, never softened: drinking taps, outside taps.
    pub hard: Vec<PortRef>,
    pub baths: Vec<PartIx>,
    /// The kitchen sink's hot, if a combination boiler is to feed it.
    pub kitchen: Option<PortRef>,
}

pub fn outlets(net: &mut Net, survey: &Survey, softened: bool) -> Outlets {
    let mut out = Outlets::default();
    for facts in &survey.outlets {
        let Some(kind) = Kind::called(&facts.kind.value) else { continue };
        let word = text(&facts.properties, "room").map(|r| r.value);
        let name = match &word {
            Some(room) if !room.is_empty() => format!("{room} {}", kind.key),
            _ => kind.key.clone(),
        };
        let ix = add(net, &mut out, kind, &name, word.as_deref().unwrap_or("the house"));
        let mut a = attrs(&facts.properties, kind);
        a.set("count", value(&facts.count).map(|n| Datum::Number(f64::from(n))));
        let part = net.part_mut(ix);
        part.attrs = a;
        part.span = facts.span.clone();
    }
    if survey.outlets.is_empty() {
        net.ledger.stand(
            "outlets",
            "hot and cold taps, one of each shown",
            "the description names no outlets",
        );
        for key in ["hot outlets", "cold outlets"] {
            add(net, &mut out, Kind::known(key), key, "the house");
        }
    }
    let fed_by_boiler = survey.source().is_some_and(|s| {
        s.kind.value == SourceKind::CombinationBoiler
            && text(&s.properties, "hot").is_some_and(|h| h.value.contains("kitchen"))
    });
    if fed_by_boiler {
        let sink = |p: &PortRef| net.part(p.part).kind.key == "kitchen sink";
        if let Some(i) = out.hot.iter().position(sink) {
            out.kitchen = Some(out.hot.remove(i));
        }
    }
    if out.hot.is_empty() {
        add(net, &mut out, Kind::known("hot outlets"), "hot outlets", "the house");
    }
    if softened && out.hard.is_empty() {
        net.ledger.stand(
            "hard water tap",
            "one, before the softener",
            "common practice: a drinking tap stays on unsoftened water",
        );
        add(net, &mut out, Kind::known("hard tap"), "hard tap", "kitchen");
    }
    out
}

fn add(net: &mut Net, out: &mut Outlets, kind: Kind, name: &str, place: &str) -> PartIx {
    let ix = net.add_kind(kind, name);
    net.part_mut(ix).place.elsewhere = Some(place.to_owned());
    net.part_mut(ix)
        .attrs
        .set("count", Value::derived(Datum::Number(1.0), "one line of the schematic"));
    if let Some(hot) = net.try_port(ix, "hot") {
        out.hot.push(hot);
    }
    if let Some(cold) = net.try_port(ix, "cold") {
        match kind.key.as_str() {
            "kitchen sink" | "outside tap" | "hard tap" => out.hard.push(cold),
            "WC" | "washing machine" | "dishwasher" => out.main.push(cold),
            _ => out.balanced.push(cold),
        }
    }
    if kind.key == "bath" {
        out.baths.push(ix);
    }
    ix
}
