//! Zones: radiators, towel rails, floors. In: what is known of each zone. Out: its emitters, a
//! blending set where the circuit is hotter than a floor may be, and its zone valve.

use super::circuit::{Rung, User};
use super::given::{attrs, flag, name_of, number, text};
use super::net::{Line, Net};
use super::source::{self, Heat};
use super::survey::Survey;
use crate::catalogue::Kind;
use crate::describe::facts::{SourceKind, ZoneFacts};
use crate::model::{Attrs, PartIx};

/// What a zone takes, kW, as stated or guessed.
pub fn zone_kw(z: &ZoneFacts) -> f64 {
    number(&z.properties, "kw").map_or_else(|| guess_kw(z).0, |v| v.value)
}

fn guess_kw(z: &ZoneFacts) -> (f64, &'static str) {
    let n = |key: &str| number(&z.properties, key).map(|v| v.value);
    if let Some(r) = n("radiators") {
        return (r * 1.3, "common practice: 1.3 kW a radiator");
    }
    if let Some(c) = n("circuits") {
        return (c * 0.9, "common practice: 0.9 kW a floor circuit");
    }
    if let Some(a) = n("area") {
        return (a * 0.05, "common practice: 50 W for each square metre");
    }
    (5.0, "common practice: one floor of a usual house")
}

pub fn zone_rung<'a>(net: &mut Net, z: &'a ZoneFacts, i: usize, heat: &Heat) -> Rung<'a> {
    let emitters = z.emitters.as_ref().map_or("radiators", |e| e.value.as_str());
    let floor = emitters == "underfloor";
    let kind = Kind::known(match emitters {
        "underfloor" => "underfloor circuits",
        e if e.starts_with("towel") => "towel rail circuit",
        _ => "radiator circuit",
    });
    let name = match name_of(&z.name) {
        n if n.is_empty() => emitters.to_owned(),
        n => n,
    };
    if z.span.is_empty() {
        net.ledger.stand(
            "heating zone",
            "one zone of radiators",
            "a heat source is named and nothing for it to heat",
        );
    }
    let ix = net.add_kind(kind, &name);
    let name = net.short(ix);
    let mut a = attrs(&z.properties, kind);
    let (kw, why) = guess_kw(z);
    net.ledger.fill(&mut a, "kw", &format!("heat of {name}"), kw, "kW", why);
    let heat_pump = heat.kind == SourceKind::HeatPump;
    let (flow, ret) = match (floor, heat_pump) {
        (true, true) => (35.0, 30.0),
        (true, false) => (40.0, 33.0),
        (false, _) => (heat.flow_temperature, heat.return_temperature),
    };
    if floor {
        let why = "common practice: floor heating";
        net.ledger.fill(&mut a, "flow", "flow temperature of floor heating", flow, "°C", why);
        net.ledger.fill(&mut a, "return", "return temperature of floor heating", ret, "°C", why);
    } else {
        for (key, v) in [("flow", flow), ("return", ret)] {
            if a.get(key).is_none() {
                a.set(key, source::derived(v, "the heat source's own", &["heat source"]));
            }
        }
    }
    if kind.key == "radiator circuit" {
        net.ledger.fill_text(
            &mut a,
            "thermostatic-valves",
            "radiators with thermostatic valves",
            "all but one",
            "Approved Document L, Volume 1 (from memory): none in the room of the thermostat",
        );
    }
    let place = ["place", "room"]
        .iter()
        .find_map(|k| text(&z.properties, k))
        .map_or_else(|| "the house".to_owned(), |r| r.value);
    let part = net.part_mut(ix);
    part.attrs = a;
    part.place.elsewhere = Some(place.clone());
    part.declared = z.declared.iter().map(|d| d.value.clone()).collect();
    part.span = z.span.clone();
    // A flow that the floor can bear needs no blending.
    let flow = net.part(ix).number("flow").unwrap_or(flow);
    let blending = (floor && heat.flow_temperature > flow + 5.0)
        .then(|| blending_set(net, z, &name, flow, &place));
    Rung {
        flow_in: net.port(ix, "flow"),
        return_out: net.port(ix, "return"),
        user: User { name, part: ix, zone: Some(i), blending },
        facts: Some(z),
        always_open: flag(&z.properties, "always-open")
            || text(&z.properties, "always-open").is_some_and(|v| v.value == "yes"),
        pump: None,
    }
}

/// Where nothing is said of the flow at which a floor is stopped.
pub fn floor_limit(net: &mut Net, a: &mut Attrs, key: &str) {
    let why = "common practice: 55 to 60 °C takes the feed off the floor's zone valve";
    net.ledger.fill(a, key, "floor heating limit thermostat", 55.0, "°C", why);
}

fn blending_set(net: &mut Net, z: &ZoneFacts, name: &str, flow: f64, place: &str) -> PartIx {
    let ix = net.add_elsewhere("blending set", &format!("{name} blending set"), place);
    let mut a = Attrs::default();
    a.set("setting", source::derived(flow, "the floor's flow temperature", &["floor flow"]));
    if let Some(v) = number(&z.properties, "limit") {
        a.set_number("limit", v);
    }
    floor_limit(net, &mut a, "limit");
    let part = net.part_mut(ix);
    part.attrs = a;
    part.declared.insert("pump inside".to_owned());
    net.ledger.stand(
        "pump of the floor heating",
        "inside the blending set",
        "common practice: the set at the manifold brings its own pump",
    );
    ix
}

/// Length, elbows and size of the pipe to a zone, one way.
pub fn stretch(net: &mut Net, facts: Option<&ZoneFacts>, line: &mut Line) {
    let Some(z) = facts else { return };
    let length = number(&z.properties, "length").unwrap_or_else(|| {
        net.ledger.number(
            "pipe to the middle of a heating zone, one way",
            10.0,
            "m",
            "common practice: a usual house; measure the longest",
        )
    });
    let elbows = number(&z.properties, "elbows").unwrap_or_else(|| {
        net.ledger.number(
            "elbows to the middle of a heating zone, one way",
            6.0,
            "",
            "common practice: a usual house; count them",
        )
    });
    line.length(Some(length)).elbows(Some(elbows)).size(text(&z.properties, "size"));
}

pub fn zone_valve(net: &mut Net, survey: &Survey, valve: PartIx, zone: Option<&ZoneFacts>) {
    let mut a = Attrs::default();
    for facts in survey.equipment(&["zone valve", "zone valves"]) {
        a = attrs(&facts.properties, Kind::known("zone valve"));
    }
    if let Some(size) = zone.and_then(|z| text(&z.properties, "valve-size")) {
        a.set_text("size", size);
    }
    let part = net.part_mut(valve);
    part.attrs = a;
}
