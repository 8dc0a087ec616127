//! Hot water, from the cylinder to the taps. In: stores, outlets, the balanced cold branch. Out:
//! the hot and balanced cold runs, blending where scalding must be prevented, and the secondary
//! return.

use super::given::{attrs, flag, place, text};
use super::net::{Line, Net};
use super::outlets::Outlets;
use super::secondary;
use super::store::Store;
use super::survey::Survey;
use super::tails;
use crate::catalogue::Kind;
use crate::describe::facts::{EquipmentFacts, HeatedBy};
use crate::model::{Attrs, HOUSE, PartIx, PortRef, Service};

pub fn distribution(
    net: &mut Net,
    survey: &Survey,
    stores: &[Store],
    outlets: &Outlets,
    balanced: Option<PortRef>,
) {
    let mut cold = balanced.map(|at| {
        net.tail_words.insert(at, "balanced cold".to_owned());
        for facts in &survey.cylinders {
            tails::keep(net, at, &facts.tails, &["balanced cold", "cold supply"]);
        }
        net.line("balanced cold", Service::ColdBalanced, at)
    });
    let Some(mut hot) = collect(net, stores) else { return };
    if stores.len() > 1 {
        net.ledger.stand(
            "hot pipes of the cylinders",
            "joined: all serve every tap together",
            "nothing says otherwise; two systems of their own take a description each",
        );
    }
    let whole_house = survey
        .equipment(&["blending valve", "thermostatic mixing valve", "mixing valve"])
        .find(|e| text(&e.properties, "for").is_none_or(|f| f.value != "bath"));
    let solar = stores.iter().any(|s| s.heated == HeatedBy::Solar);
    if (whole_house.is_some() || solar)
        && let Some(cold) = cold.as_mut()
    {
        let why = "common practice: a solar store may reach 85 °C, so the hot supply is blended";
        let valve = blending(net, whole_house, "blending valve", 55.0, why);
        let at = net.tee(cold, "blending cold tee", None);
        blend(net, &mut hot, valve, at);
    }
    let at_bath = survey
        .equipment(&["blending valve", "thermostatic mixing valve", "mixing valve"])
        .find(|e| text(&e.properties, "for").is_some_and(|f| f.value == "bath"));
    let new = flag(&survey.facts.dwelling, "new-dwelling");
    let mut ports = outlets.hot.clone();
    let mut cold_ports = outlets.balanced.clone();
    if !outlets.baths.is_empty() && (at_bath.is_some() || (new && whole_house.is_none())) {
        let why =
            "Building Regulations G3(4): hot water to a bath in a new dwelling not over 48 °C";
        for bath in &outlets.baths {
            let valve = blending(net, at_bath, "bath blending valve", 46.0, why);
            net.part_mut(valve).place.elsewhere = Some(HOUSE.to_owned());
            let from = net.port(valve, "mixed");
            let mut to_bath = net.line("blended hot to bath", Service::HotBlended, from);
            let bath_hot = net.port(*bath, "hot");
            net.end(&mut to_bath, bath_hot);
            let (hot_valve, cold_valve) = service_valves(net, valve);
            for (before, port, service) in
                [(hot_valve, "hot", Service::HotWater), (cold_valve, "cold", Service::ColdBalanced)]
            {
                let from = net.port(before, "out");
                let to = net.port(valve, port);
                let mut line = net.line(&format!("{port} to bath blending valve"), service, from);
                net.end(&mut line, to);
            }
            let hot_in = net.port(hot_valve, "in");
            for p in ports.iter_mut().filter(|p| **p == bath_hot) {
                *p = hot_in;
            }
            cold_ports.push(net.port(cold_valve, "in"));
        }
    }
    match &survey.facts.secondary_return {
        Some(facts) => secondary::circulate(net, facts, hot, &ports, stores),
        None => serve(net, hot, &ports, "hot", ""),
    }
    if let Some(cold) = cold {
        serve(net, cold, &cold_ports, "balanced cold", "");
    }
}

/// The hot side of all stores: the first store's water joins first (reverse return).
fn collect(net: &mut Net, stores: &[Store]) -> Option<Line> {
    let first = stores.first()?;
    let from = net.port(first.cylinder, "hot");
    net.tail_words.insert(from, "hot".to_owned());
    let mut line = net.line("hot supply", Service::HotWater, from);
    for store in &stores[1..] {
        let short = net.short(store.cylinder);
        let at = net.tee(&mut line, &format!("{short} hot tee"), None);
        let from = net.port(store.cylinder, "hot");
        let mut branch = net.line(&format!("{short} hot"), Service::HotWater, from);
        net.end(&mut branch, at);
    }
    Some(line)
}

fn blending(
    net: &mut Net,
    facts: Option<&EquipmentFacts>,
    name: &str,
    setting: f64,
    why: &str,
) -> PartIx {
    let kind = Kind::known("blending valve");
    let ix = net.add_kind(kind, name);
    let mut a = Attrs::default();
    if let Some(facts) = facts {
        a = attrs(&facts.properties, kind);
        let part = net.part_mut(ix);
        part.place = place(&facts.place);
        part.span = facts.span.clone();
    } else {
        net.ledger.stand(name, "one", why);
    }
    net.ledger.fill(&mut a, "setting", &format!("{name} set to"), setting, "°C", why);
    net.ledger.fill_text(
        &mut a,
        "type",
        &format!("type of the {name}"),
        "2",
        "common practice: a thermostatic blending valve of the domestic bath type",
    );
    net.part_mut(ix).attrs = a;
    ix
}

/// Takes the hot line through a blending valve; `cold` is the branch that cools it.
fn blend(net: &mut Net, hot: &mut Line, valve: PartIx, cold: PortRef) {
    let (hot_valve, cold_valve) = service_valves(net, valve);
    net.through(hot, hot_valve);
    let hot_in = net.port(valve, "hot");
    net.end(hot, hot_in);
    let mixed = net.port(valve, "mixed");
    net.tail_words.insert(mixed, "hot".to_owned());
    *hot = net.line("blended hot supply", Service::HotBlended, mixed);
    let to = net.port(valve, "cold");
    let mut branch = net.line("cold to blending valve", Service::ColdBalanced, cold);
    net.through(&mut branch, cold_valve);
    net.end(&mut branch, to);
}

/// A blending valve can be shut off by itself, hot and cold (Water Supply (Water Fittings)
/// Regulations 1999, Schedule 2, from memory).
fn service_valves(net: &mut Net, valve: PartIx) -> (PartIx, PartIx) {
    let name = net.short(valve);
    let place = net.part(valve).place.elsewhere.clone();
    let mut add = |side: &str| {
        let ix = net.add("service valve", &format!("{name} {side} service valve"));
        net.part_mut(ix).place.elsewhere.clone_from(&place);
        ix
    };
    (add("hot"), add("cold"))
}

/// Tees to every outlet on the way; the last one takes the end of the line.
pub fn serve(net: &mut Net, mut line: Line, ports: &[PortRef], what: &str, leg: &str) {
    for (i, port) in ports.iter().enumerate() {
        let short = net.short(port.part);
        let service = line.service;
        let distance = outlet_distance(net, *port);
        if i + 1 == ports.len() {
            if i > 0 {
                // The last stretch is the last outlet's own branch.
                let mut branch = net.line(&format!("{what} to {short}"), service, line.at);
                branch.length(distance);
                net.end(&mut branch, *port);
            } else {
                line.length(distance);
                net.end(&mut line, *port);
            }
        } else {
            let at = net.tee(&mut line, &format!("{leg}{short} {what} tee"), Some(HOUSE));
            let mut branch = net.line(&format!("{what} to {short}"), service, at);
            branch.length(distance);
            net.end(&mut branch, *port);
        }
    }
}

/// The stated length of pipe to an outlet.
pub fn outlet_distance(net: &Net, port: PortRef) -> Option<crate::model::Value<f64>> {
    net.part(port.part).attrs.quantity("distance")
}
