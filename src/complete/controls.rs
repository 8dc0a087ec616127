//! Controls: what the electrician wires. In: stores, users of heat, stated controls. Out: a
//! cylinder thermostat and an overheat cut-out for the coil (Approved Document G section 3: a
//! non-self-resetting cut-out for every source), a thermostat a zone, one programmer, one wiring
//! centre behind one fused connection unit, a double-pole switch for each immersion heater.

use super::circuit::User;
use super::given::{attrs, flag, number, place, text};
use super::net::Net;
use super::source::{derived, into_unit};
use super::store::Store;
use super::survey::{self, Survey};
use super::zones;
use crate::catalogue::Kind;
use crate::describe::facts::{EquipmentFacts, HeatedBy};
use crate::model::{Attrs, Part, PartIx, Value};

pub fn controls(
    net: &mut Net,
    survey: &Survey,
    stores: &[Store],
    users: &[User],
    source: Option<PartIx>,
) {
    for store in stores {
        if store.heated != HeatedBy::Electric
            && let Some(source) = source
        {
            coil(net, survey, store, source);
        }
        for im in &store.immersions {
            let switch = net.add("double-pole switch", &format!("{} switch", net.short(*im)));
            let mut a = Attrs::default();
            a.set_text("for", named(net, *im));
            net.ledger.fill(
                &mut a,
                "rating",
                "double-pole switch",
                20.0,
                "A",
                "common practice: 20 A for a 3 kW heater on its own circuit",
            );
            net.part_mut(switch).attrs = a;
        }
    }
    for user in users {
        if let Some(i) = user.zone {
            zone(net, survey, user, i);
        }
    }
    for facts in survey.equipment(&["boost diverter"]) {
        let ix = net.add("boost diverter", "boost diverter");
        let part = net.part_mut(ix);
        part.attrs = attrs(&facts.properties, Kind::known("boost diverter"));
        part.place = place(&facts.place);
        part.span = facts.span.clone();
    }
    if survey.facts.secondary_return.is_some() {
        circulation(net, survey);
    }
    frost(net, survey);
    alarm(net, survey);
    if source.is_some() {
        heart(net, survey, stores, users, source);
    }
}

/// A reference to a part, by name.
fn named(net: &Net, ix: PartIx) -> Value<String> {
    Value::derived(net.part(ix).name.clone(), "the part it serves")
}

fn stated<'a>(survey: &Survey<'a>, words: &[&str]) -> Option<&'a EquipmentFacts> {
    survey.controls.iter().chain(&survey.equipment).copied().find(|e| survey::named(e, words))
}

fn coil(net: &mut Net, survey: &Survey, store: &Store, source: PartIx) {
    let kind = Kind::known("cylinder thermostat");
    let thermostat = net.add_on("cylinder thermostat", "cylinder thermostat", store.cylinder);
    let facts = stated(survey, &["cylinder thermostat"]);
    let mut a = facts.map(|f| attrs(&f.properties, kind)).unwrap_or_default();
    let said = survey.cylinders.iter().find(|c| c.span == net.part(store.cylinder).span);
    if let Some(v) = said.and_then(|c| number(&c.properties, "thermostat")) {
        a.set_number("setting", v);
    }
    if a.get("setting").is_none() {
        let t = net.part(store.cylinder).number("stored").unwrap_or(60.0);
        a.set("setting", derived(t, "the stored temperature", &["stored temperature"]));
    }
    net.part_mut(thermostat).attrs = a;
    cut_out(net, survey, store, source, "overheat cut-out");
}

/// A non-self-resetting cut-out on the cylinder for one source of heat.
pub fn cut_out(net: &mut Net, survey: &Survey, store: &Store, guards: PartIx, name: &str) {
    let kind = Kind::known("overheat cut-out");
    let ix = net.add_on("overheat cut-out", name, store.cylinder);
    let facts = stated(survey, &["overheat cut-out"]);
    let mut a = facts.map(|f| attrs(&f.properties, kind)).unwrap_or_default();
    net.ledger.fill(
        &mut a,
        "setting",
        "overheat cut-out opens at",
        85.0,
        "°C",
        "common practice: 80 to 85 °C, below the relief valve",
    );
    net.ledger.fill_text(
        &mut a,
        "reset",
        "overheat cut-out reset",
        "manual",
        "Approved Document G section 3: not self-resetting",
    );
    a.set_text("guards", named(net, guards));
    net.part_mut(ix).attrs = a;
}

fn zone(net: &mut Net, survey: &Survey, user: &User, i: usize) {
    let Some(facts) = survey.zones.get(i) else { return };
    let at = net.part(user.part).place.elsewhere.clone();
    let name = &user.name;
    let thermostat = net.add("room thermostat", &format!("{name} thermostat"));
    let mut a = Attrs::default();
    for key in ["room", "wires"] {
        if let Some(v) = text(&facts.properties, key) {
            a.set_text(key, v);
        }
    }
    a.set_text("zone", named(net, user.part));
    net.ledger.fill(
        &mut a,
        "setting",
        "room thermostats set to",
        20.0,
        "°C",
        "common practice: living rooms",
    );
    // `thermostat="hall"`: where it hangs.
    let hangs = text(&facts.properties, "thermostat");
    if let Some(room) = &hangs {
        a.set_text("room", room.clone());
    }
    let part = net.part_mut(thermostat);
    part.attrs = a;
    part.place.elsewhere =
        hangs.map(|h| h.value).or_else(|| at.clone()).or_else(|| Some("the house".to_owned()));
    if net.part(user.part).kind.key == "underfloor circuits" {
        let controller = net.add("floor heating controller", &format!("{name} controller"));
        let circuits = number(&facts.properties, "rooms").map_or(1.0, |v| v.value);
        let part = net.part_mut(controller);
        part.place.elsewhere = at.clone();
        part.attrs.set("zones", derived(circuits, "rooms of the floor zone", &["rooms"]));
        // It stands in the feed of the floor's valve; without either there is nothing to stop.
        let valve = net.named(&format!("{name} valve")).is_some();
        if user.blending.is_some() || valve {
            let limit = net.add("floor limit thermostat", &format!("{name} limit thermostat"));
            let mut a = Attrs::default();
            match user.blending.and_then(|set| net.part(set).attrs.quantity("limit")) {
                Some(v) => a.set_number("setting", v),
                None => zones::floor_limit(net, &mut a, "setting"),
            }
            let part = net.part_mut(limit);
            part.place.elsewhere = at;
            part.attrs = a;
        }
    }
}

fn circulation(net: &mut Net, survey: &Survey) {
    let timer = net.add("circulation timer", "circulation timer");
    let mut a = stated(survey, &["circulation timer"])
        .map(|f| attrs(&f.properties, Kind::known("circulation timer")))
        .unwrap_or_default();
    let said = survey.facts.secondary_return.as_ref();
    if let Some(v) = said.and_then(|s| number(&s.properties, "hours")) {
        a.set_number("hours", v);
    }
    net.ledger.fill(
        &mut a,
        "hours",
        "secondary pump runs, hours a day",
        7.0,
        "h",
        "common practice: morning and evening, when people draw hot water; set on site",
    );
    net.part_mut(timer).attrs = a;
    let pump = net.named(&format!("{}secondary pump", net.scope));
    if let Some(pump) = pump {
        let stat = net.add_on("pipe thermostat", "return pipe thermostat", pump);
        let mut a = Attrs::default();
        if let Some(v) = said.and_then(|s| number(&s.properties, "temperature")) {
            a.set_number("setting", v);
        }
        net.ledger.fill(
            &mut a,
            "setting",
            "return pipe thermostat",
            55.0,
            "°C",
            "common practice: stops the pump when the return is hot; HSG274 Part 2 wants 50 °C",
        );
        net.part_mut(stat).attrs = a;
    }
}

fn frost(net: &mut Net, survey: &Survey) {
    let stated = stated(survey, &["frost thermostat"]);
    let asked = survey
        .controls
        .iter()
        .find(|c| survey::word(c) == "controls" && flag(&c.properties, "frost"));
    let Some(facts) = stated.or(asked.copied()) else { return };
    let kind = Kind::known("frost thermostat");
    let ix = net.add("frost thermostat", "frost thermostat");
    let mut a = attrs(&facts.properties, kind);
    net.ledger.fill(&mut a, "setting", "frost thermostat", 5.0, "°C", "common practice: 5 °C");
    let part = net.part_mut(ix);
    part.attrs = a;
    part.place = place(&facts.place);
    part.span = facts.span.clone();
    if part.place.elsewhere.is_none() {
        part.place.elsewhere = Some("the coldest pipe".to_owned());
    }
    let on = net
        .named(&format!("{}magnetic filter", net.scope))
        .or_else(|| net.named(&format!("{}bypass return tee", net.scope)));
    if let Some(on) = on {
        let pipe = net.add_on("pipe thermostat", "frost pipe thermostat", on);
        let mut a = Attrs::default();
        net.ledger.fill(
            &mut a,
            "setting",
            "frost pipe thermostat",
            25.0,
            "°C",
            "common practice: ends the frost call when the return is warm",
        );
        net.part_mut(pipe).attrs = a;
    }
}

/// Programmer, wiring centre and the one point of isolation.
fn heart(net: &mut Net, survey: &Survey, stores: &[Store], users: &[User], source: Option<PartIx>) {
    let programmer = net.add_elsewhere("programmer", "programmer", "the house");
    let facts = stated(survey, &["programmer", "time switch"]);
    let mut a = facts.map(|f| attrs(&f.properties, Kind::known("programmer"))).unwrap_or_default();
    if let Some(facts) = facts {
        let p = place(&facts.place);
        if p.elsewhere.is_some() {
            net.part_mut(programmer).place = p;
        }
        net.part_mut(programmer).span = facts.span.clone();
    }
    for facts in survey.controls.iter().filter(|c| survey::word(c) == "controls") {
        if let Some(v) = number(&facts.properties, "channels") {
            a.set_number("channels", v);
        }
        if let (Some(v), Some(source)) = (text(&facts.properties, "call"), source) {
            net.part_mut(source).attrs.set_text("call", v);
        }
    }
    if a.get("channels").is_none() {
        let zones = users.iter().filter(|u| u.zone.is_some()).count();
        let hot = stores.iter().any(|s| s.heated != HeatedBy::Electric);
        let n = zones + usize::from(hot);
        a.set("channels", derived(n as f64, "one for hot water and one a zone", &["zones"]));
    }
    net.part_mut(programmer).attrs = a;
    let before = net.parts.len();
    net.add("wiring centre", "wiring centre");
    if wants_relays(net, source) {
        net.add("relay box", "relay box");
    }
    into_unit(net, before, stores.iter().find_map(|s| s.unit));
    let fcu = net.add("fused connection unit", "fused connection unit");
    let mut a = Attrs::default();
    net.ledger.fill(
        &mut a,
        "fuse",
        "fuse of the heating controls",
        3.0,
        "A",
        "common practice: 3 A for heating controls, one point of isolation",
    );
    net.part_mut(fcu).attrs = a;
}

/// Relays keep the calls of pumps apart that only some users need, and close a call that bears no mains
/// (common practice, no source). A heat pump behind whose buffer a pump serves all zones needs none:
/// the buffer's thermostat calls it.
fn wants_relays(net: &Net, source: Option<PartIx>) -> bool {
    const FREE: [&str; 6] = ["volt-free", "voltfree", "volt free", "bus", "data", "elv"];
    let source = source.map(|ix| net.part(ix));
    let free = source.and_then(|p| p.text("call")).is_some_and(|c| FREE.contains(&c));
    let scope = net.scope.as_str();
    let count = |kind: &str| {
        let of = |p: &&Part| p.kind.key == kind && p.name.starts_with(scope);
        net.parts.iter().filter(of).count()
    };
    let buffered = source.is_some_and(|p| p.kind.key == "heat pump") && count("buffer") > 0;
    free || (count("pump") > 1 && !buffered)
}

/// A powered alarm where a discharge might not be noticed (Approved Document G 3.55).
fn alarm(net: &mut Net, survey: &Survey) {
    let asked = survey.discharges.iter().any(|d| flag(&d.properties, "alarm"));
    let needed = flag(&survey.facts.dwelling, "vulnerable-occupants");
    if !(asked || needed || survey.has(&["discharge alarm"])) {
        return;
    }
    if needed && !asked {
        net.ledger.stand(
            "discharge alarm",
            "one, at the tundish",
            "Approved Document G 3.55: somebody here may not notice a discharge",
        );
    }
    let ix = net.add("discharge alarm", "discharge alarm");
    let tundish = net.named(&format!("{}tundish", net.scope));
    if let Some(tundish) = tundish {
        let name = named(net, tundish);
        net.part_mut(ix).attrs.set_text("for", name);
    }
}
