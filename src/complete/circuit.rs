//! The users of heat: coils and zones. In: stores, zones, the primary flow. Out: a branch for
//! each with its own two-port zone valve, the coil first (its valve is the one the cut-out shuts),
//! then the zones in the usual order; returns collected, the coil's nearest the source.

use super::given::{attrs, flag, name_of, number, text};
use super::net::{Line, Net};
use super::source::{self, Heat, into_unit};
use super::store::Store;
use super::survey::Survey;
use super::tails;
use crate::catalogue::Kind;
use crate::describe::facts::{HeatedBy, SourceKind, ZoneFacts};
use crate::model::{Attrs, PartIx, PortRef, Service, UnitIx};

/// A user of heat as the controls need it.
pub struct User {
    pub name: String,
    /// Coil: the cylinder; zone: its emitters.
    pub part: PartIx,
    pub valve: Option<PartIx>,
    pub zone: Option<usize>,
    pub blending: Option<PartIx>,
}

/// One user while it is joined up: where its flow goes in, where its return comes out.
struct Rung<'a> {
    user: User,
    flow_in: PortRef,
    return_out: PortRef,
    facts: Option<&'a ZoneFacts>,
}

pub fn circuits(net: &mut Net, survey: &Survey, stores: &[Store], mut heat: Heat) -> Vec<User> {
    let rungs = rungs(net, survey, stores, &heat);
    let unit = heat.unit;
    let mut users = Vec::new();
    let count = rungs.len();
    let mut backs: Vec<(Line, String)> = Vec::new();
    for (i, mut rung) in rungs.into_iter().enumerate() {
        let name = rung.user.name.clone();
        let before = net.parts.len();
        let at = if i + 1 == count {
            heat.flow.at
        } else {
            net.tee(&mut heat.flow, &format!("{name} flow tee"), None)
        };
        let mut line = net.line(&format!("{name} flow"), Service::HeatingFlow, at);
        let always = rung.facts.is_some_and(|z| flag(&z.properties, "always-open"));
        if !always {
            let valve = net.add("zone valve", &format!("{name} valve"));
            zone_valve(net, survey, valve, rung.facts);
            net.through(&mut line, valve);
            rung.user.valve = Some(valve);
        }
        if rung.facts.is_none() {
            let at = net.tee(&mut line, &format!("{name} vent tee"), None);
            let vent = net.add("automatic air vent", &format!("{name} air vent"));
            let to = net.port(vent, "in");
            let mut branch = net.line(&format!("{name} air vent"), Service::HeatingFlow, at);
            net.end(&mut branch, to);
        }
        into_unit(net, before, unit);
        stretch(net, rung.facts, &mut line);
        let back = run_user(net, &mut line, &mut rung);
        backs.push((back, name));
        users.push(rung.user);
    }
    if let Some(line) = collect(net, backs, unit) {
        source::back(net, survey, &mut heat, line);
    }
    users
}

/// Returns joined from the farthest to the nearest.
fn collect(net: &mut Net, mut backs: Vec<(Line, String)>, unit: Option<UnitIx>) -> Option<Line> {
    let (mut line, _) = backs.pop()?;
    if backs.is_empty() {
        // A single user: its return is the primary return.
        line.run = net.line("primary return", line.service, line.at).run;
        return Some(line);
    }
    // Numbered from the source outwards, so that a further zone renumbers none before it.
    let before = net.parts.len();
    let tees: Vec<PartIx> =
        backs.iter().map(|(_, name)| net.add("tee", &format!("{name} return tee"))).collect();
    into_unit(net, before, unit);
    let mut joined = false;
    for ((mut other, _), tee) in backs.into_iter().zip(tees).rev() {
        if joined {
            net.through(&mut line, tee);
        } else {
            let a = net.port(tee, "a");
            net.end(&mut line, a);
            let b = net.port(tee, "b");
            line = net.line("primary return", Service::HeatingReturn, b);
            joined = true;
        }
        let branch = net.port(tee, "branch");
        net.end(&mut other, branch);
    }
    Some(line)
}

/// From the valve into the user and out again: the line of its return.
fn run_user(net: &mut Net, line: &mut Line, rung: &mut Rung) -> Line {
    let name = &rung.user.name;
    let (mut into, mut out) = (rung.flow_in, rung.return_out);
    if let Some(blending) = rung.user.blending {
        let flow = net.port(blending, "flow");
        net.end(line, flow);
        let from = net.port(blending, "floor flow");
        let mut floor = net.line(&format!("{name} floor flow"), Service::FloorFlow, from);
        net.end(&mut floor, into);
        let to = net.port(blending, "floor return");
        let mut floor = net.line(&format!("{name} floor return"), Service::FloorReturn, out);
        net.end(&mut floor, to);
        into = flow;
        out = net.port(blending, "return");
    } else {
        net.end(line, into);
    }
    if let Some(facts) = rung.facts {
        net.tail_words.insert(into, format!("{name} flow"));
        net.tail_words.insert(out, format!("{name} return"));
        tails::keep(net, into, &facts.tails, &["flow"]);
        tails::keep(net, out, &facts.tails, &["return"]);
    }
    let mut back = net.line(&format!("{name} return"), Service::HeatingReturn, out);
    stretch(net, rung.facts, &mut back);
    back
}

/// Length, elbows and size of the pipe to a zone, one way.
fn stretch(net: &mut Net, facts: Option<&ZoneFacts>, line: &mut Line) {
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

fn rungs<'a>(net: &mut Net, survey: &Survey<'a>, stores: &[Store], heat: &Heat) -> Vec<Rung<'a>> {
    let mut out = Vec::new();
    let coils: Vec<&Store> = stores.iter().filter(|s| s.heated != HeatedBy::Electric).collect();
    for store in &coils {
        let name = if coils.len() == 1 {
            "hot water".to_owned()
        } else {
            format!("{} hot water", net.short(store.cylinder))
        };
        out.push(Rung {
            flow_in: net.port(store.cylinder, "flow"),
            return_out: net.port(store.cylinder, "return"),
            user: User { name, part: store.cylinder, valve: None, zone: None, blending: None },
            facts: None,
        });
    }
    for (i, zone) in survey.zones.iter().enumerate() {
        out.push(zone_rung(net, zone, i, heat));
    }
    out
}

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

fn zone_rung<'a>(net: &mut Net, z: &'a ZoneFacts, i: usize, heat: &Heat) -> Rung<'a> {
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
    let place = text(&z.properties, "room").map_or_else(|| "the house".to_owned(), |r| r.value);
    let part = net.part_mut(ix);
    part.attrs = a;
    part.place.elsewhere = Some(place.clone());
    part.declared = z.declared.iter().map(|d| d.value.clone()).collect();
    part.span = z.span.clone();
    // A flow that the floor can bear needs no blending.
    let blending = (floor && heat.flow_temperature > flow + 5.0)
        .then(|| blending_set(net, z, &name, flow, &place));
    Rung {
        flow_in: net.port(ix, "flow"),
        return_out: net.port(ix, "return"),
        user: User { name, part: ix, valve: None, zone: Some(i), blending },
        facts: Some(z),
    }
}

fn blending_set(net: &mut Net, z: &ZoneFacts, name: &str, flow: f64, place: &str) -> PartIx {
    let ix = net.add_elsewhere("blending set", &format!("{name} blending set"), place);
    let mut a = Attrs::default();
    a.set("setting", source::derived(flow, "the floor's flow temperature", &["floor flow"]));
    if let Some(v) = number(&z.properties, "limit") {
        a.set_number("limit", v);
    }
    net.ledger.fill(
        &mut a,
        "limit",
        "floor heating limit thermostat",
        55.0,
        "°C",
        "common practice: 55 to 60 °C stops the floor's pump",
    );
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

fn zone_valve(net: &mut Net, survey: &Survey, valve: PartIx, zone: Option<&ZoneFacts>) {
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
