//! The heat source and its primary circuit. In: the boiler or heat pump. Out: safety valve, air
//! separator, vessel, pump and bypass in order along the flow (common practice: source → air
//! separator → pump → bypass → zone valves), filter, filling and drain on the return. Nothing that
//! can be shut stands between the source and its safety valve or vessel (EN 12828, from memory).

use super::cold::Cold;
use super::given::{attrs, flag, number, text};
use super::net::{Line, Net};
use super::store::Store;
use super::survey::Survey;
use super::{boiler, boost, cold, space, tails, vessel};
use crate::catalogue::Kind;
use crate::describe::facts::{HeatedBy, SourceFacts, SourceKind};
use crate::model::{Attrs, Datum, Origin, PartIx, PortRef, Service, UnitIx, Value};

/// The primary circuit so far: its flow on its way to the users, and what its return still needs.
pub struct Heat {
    pub source: PartIx,
    /// Further sources beside it.
    beside: Vec<PartIx>,
    pub kind: SourceKind,
    pub flow: Line,
    bypass: Option<PortRef>,
    filling: Option<PortRef>,
    /// A vessel still to be put on the return, at the suction of a pump inside the source.
    vessel_on_return: bool,
    pub unit: Option<UnitIx>,
    /// Content of the circuit as estimated, litres.
    litres: f64,
    pub flow_temperature: f64,
    pub return_temperature: f64,
    pub has_coil: bool,
    /// Left by a buffer of two or three pipes: the branch for the coil, and its own return.
    pub open_branch: Option<PortRef>,
    pub open_return: Option<Line>,
}

/// True where the job has a primary circuit at all.
pub fn needed(survey: &Survey, stores: &[Store]) -> bool {
    !survey.sources.is_empty()
        || !survey.zones.is_empty()
        || stores.iter().any(|s| s.heated != HeatedBy::Electric)
}

pub fn source(
    net: &mut Net,
    survey: &Survey,
    stores: &[Store],
    cold: &Cold,
    kitchen: Option<PortRef>,
) -> Option<Heat> {
    if !needed(survey, stores) {
        return None;
    }
    let assumed;
    let facts = match survey.source() {
        Some(f) => f,
        None => {
            net.ledger.stand(
                "heat source",
                "a system boiler",
                "the description names none, and the coil or the zones need one",
            );
            assumed = SourceFacts {
                name: None,
                kind: crate::describe::facts::Given {
                    value: SourceKind::SystemBoiler,
                    span: 0..0,
                    mark: Default::default(),
                },
                properties: Default::default(),
                declared: Vec::new(),
                place: Default::default(),
                tails: Vec::new(),
                span: 0..0,
            };
            &assumed
        }
    };
    let ix = boiler::part(net, survey, facts);
    boiler::own_hot_outlet(net, ix, cold.boiler, kitchen);
    let (flow_t, return_t) = temperatures(net, ix);
    let unit = stores.iter().find_map(|s| s.unit);
    let litres = content(survey, net, ix, stores);
    let from = net.port(ix, "flow");
    let to = net.port(ix, "return");
    let name = net.short(ix);
    net.tail_words.insert(from, format!("{name} flow"));
    net.tail_words.insert(to, format!("{name} return"));
    tails::keep(net, from, &facts.tails, &["flow"]);
    tails::keep(net, to, &facts.tails, &["return"]);
    let mut line = net.line("primary flow", Service::HeatingFlow, from);
    lengths(net, facts, &mut line);
    let declares = |net: &Net, what: &str| net.part(ix).declares(what);
    if !declares(net, "internal safety valve") {
        safety_valve(net, &mut line);
    }
    let beside = beside(net, survey, &mut line);
    let air = net.add("air separator", "air separator");
    net.through(&mut line, air);
    let inside = declares(net, "internal vessel");
    let own = net.part(ix).number("vessel").unwrap_or(8.0);
    // A source's own vessel serves up to the content that an eighth of the water allows.
    let stated = vessel::stated(survey, vessel::Role::Heating).is_some();
    let wanted = !inside || stated || litres * 0.125 > own;
    let pump_inside = declares(net, "internal pump");
    if wanted && !pump_inside {
        let at = net.tee(&mut line, "vessel tee", None);
        expansion(net, survey, at, litres, Service::HeatingFlow);
    }
    let before = net.parts.len();
    if !pump_inside {
        let pump = net.add("pump", "heating pump");
        pump_attrs(net, survey, pump);
        net.through(&mut line, pump);
    }
    let bypass = bypass_wanted(net, survey, ix).then(|| net.tee(&mut line, "bypass tee", None));
    into_unit(net, before, unit);
    Some(Heat {
        source: ix,
        beside,
        kind: facts.kind.value,
        flow: line,
        bypass,
        filling: cold.filling,
        vessel_on_return: wanted && pump_inside,
        unit,
        litres,
        flow_temperature: flow_t,
        return_temperature: return_t,
        has_coil: stores.iter().any(|s| s.heated != HeatedBy::Electric),
        open_branch: None,
        open_return: None,
    })
}

/// Further sources, each with its own safety valve, and a check valve so that an idle one is not
/// heated backwards; their flows join before the air separator.
fn beside(net: &mut Net, survey: &Survey, line: &mut Line) -> Vec<PartIx> {
    let mut out = Vec::new();
    for facts in survey.sources.iter().skip(1) {
        let ix = boiler::part(net, survey, facts);
        boiler::own_hot_outlet(net, ix, None, None);
        let name = net.short(ix);
        let from = net.port(ix, "flow");
        let to = net.port(ix, "return");
        net.tail_words.insert(from, format!("{name} flow"));
        net.tail_words.insert(to, format!("{name} return"));
        tails::keep(net, from, &facts.tails, &["flow"]);
        tails::keep(net, to, &facts.tails, &["return"]);
        let mut own = net.line(&format!("{name} flow"), Service::HeatingFlow, from);
        lengths(net, facts, &mut own);
        if !net.part(ix).declares("internal safety valve") {
            safety_valve(net, &mut own);
        }
        let check = net.add("check valve", &format!("{name} check valve"));
        net.through(&mut own, check);
        let at = net.tee(line, &format!("{name} flow tee"), None);
        net.end(&mut own, at);
        out.push(ix);
    }
    out
}

/// Everything made since `before` belongs to the factory-fitted unit, if there is one.
pub fn into_unit(net: &mut Net, before: usize, unit: Option<UnitIx>) {
    let Some(unit) = unit else { return };
    for part in &mut net.parts[before..] {
        if part.place.elsewhere.is_none() && part.unit.is_none() {
            part.unit = Some(unit);
        }
    }
}

fn temperatures(net: &Net, ix: PartIx) -> (f64, f64) {
    let a = &net.part(ix).attrs;
    (a.number("flow").unwrap_or(70.0), a.number("return").unwrap_or(50.0))
}

/// Content of the heating circuit, litres: 8 l a kW of radiators and a litre a kW of pipe, the
/// coil and the boiler (a boiler leaflet's rule).
fn content(survey: &Survey, net: &Net, source: PartIx, stores: &[Store]) -> f64 {
    let zones: f64 = survey.zones.iter().map(|z| super::zones::zone_kw(z)).sum();
    let coils: f64 = stores.iter().filter_map(|s| net.part(s.cylinder).number("coil-litres")).sum();
    let buffers: f64 = survey
        .equipment(&["buffer", "volumiser"])
        .filter_map(|e| number(&e.properties, "litres"))
        .map(|v| v.value)
        .sum();
    zones * 9.0 + coils + buffers + net.part(source).number("water").unwrap_or(3.0)
}

fn lengths(net: &mut Net, facts: &SourceFacts, line: &mut Line) {
    let length = number(&facts.properties, "length").unwrap_or_else(|| {
        net.ledger.number(
            "pipe between heat source and cupboard, one way",
            6.0,
            "m",
            "common practice: a floor below; measure it",
        )
    });
    let elbows = number(&facts.properties, "elbows").unwrap_or_else(|| {
        net.ledger.number(
            "elbows between heat source and cupboard, one way",
            4.0,
            "",
            "common practice: a floor below; count them",
        )
    });
    line.length(Some(length)).elbows(Some(elbows)).size(text(&facts.properties, "size"));
}

fn safety_valve(net: &mut Net, line: &mut Line) {
    let at = net.tee(line, "safety tee", None);
    let valve = net.add("safety valve", "safety valve");
    let mut a = Attrs::default();
    net.ledger.fill(
        &mut a,
        "setting",
        "heating safety valve opens at",
        3.0,
        "bar",
        "common practice: 3 bar on a domestic sealed circuit",
    );
    net.part_mut(valve).attrs = a;
    let to = net.port(valve, "in");
    let mut branch = net.line("safety branch", Service::HeatingFlow, at);
    net.end(&mut branch, to);
    let drain = net.add_elsewhere("drain point", "safety valve drain", "outside, in sight");
    let from = net.port(valve, "discharge");
    let to = net.port(drain, "in");
    net.tail_words.insert(to, "safety valve discharge".to_owned());
    let mut out = net.line("safety valve discharge", Service::Drain, from);
    net.end(&mut out, to);
}

/// Gauge and vessel on one branch, nothing between them and the circuit.
fn expansion(net: &mut Net, survey: &Survey, at: PortRef, litres: f64, service: Service) {
    let mut line = net.line("heating expansion", service, at);
    let gauge_at = net.tee(&mut line, "gauge tee", None);
    let gauge = net.add("pressure gauge", "pressure gauge");
    let mut a = Attrs::default();
    a.set_number("range", Value::derived(4.0, "gauge of 0 to 4 bar for a 3 bar valve"));
    net.part_mut(gauge).attrs = a;
    let to = net.port(gauge, "in");
    let mut branch = net.line("gauge", service, gauge_at);
    net.end(&mut branch, to);
    let vessel = vessel::heating(net, survey, litres);
    let to = net.port(vessel, "in");
    net.end(&mut line, to);
}

pub fn pump_attrs(net: &mut Net, survey: &Survey, pump: PartIx) {
    let kind = Kind::known("pump");
    let mut a = Attrs::default();
    for facts in survey.equipment(&["pump", "heating pump"]) {
        let b = attrs(&facts.properties, kind);
        for (key, v) in b.0 {
            a.0.entry(key).or_insert(v);
        }
        net.part_mut(pump).span = facts.span.clone();
    }
    net.ledger.fill(
        &mut a,
        "head",
        "heating pump head",
        6.0,
        "m",
        "common practice: domestic 6 m pump",
    );
    net.part_mut(pump).attrs = a;
}

/// An automatic bypass is left out where another way stays open with every valve shut.
fn bypass_wanted(net: &Net, survey: &Survey, source: PartIx) -> bool {
    let part = net.part(source);
    let open = survey.zones.iter().any(|z| flag(&z.properties, "always-open"));
    !part.declares("internal bypass") && !open && !space::always_open(survey)
}

/// The return, from the last header tee back to the source.
pub fn back(net: &mut Net, survey: &Survey, heat: &mut Heat, mut line: Line) {
    let before = net.parts.len();
    if let Some(at) = heat.bypass {
        let valve = net.add("bypass valve", "bypass valve");
        let mut a = Attrs::default();
        for facts in survey.equipment(&["bypass valve", "bypass"]) {
            a = attrs(&facts.properties, Kind::known("bypass valve"));
            net.part_mut(valve).span = facts.span.clone();
        }
        net.ledger.fill(
            &mut a,
            "setting",
            "bypass valve setting",
            0.2,
            "bar",
            "common practice: just above the loss at design flow; set on site",
        );
        net.part_mut(valve).attrs = a;
        let mut bypass = net.line("bypass", Service::HeatingFlow, at);
        net.through(&mut bypass, valve);
        bypass.serving(Service::HeatingReturn);
        let to = net.tee(&mut line, "bypass return tee", None);
        net.end(&mut bypass, to);
        into_unit(net, before, heat.unit);
    }
    let loose = net.parts.len();
    volumiser(net, survey, heat, &mut line);
    let volumised = net.parts.len() > loose;
    let in_unit = heat.unit.filter(|_| !volumised);
    if in_unit.is_some() {
        let before = net.parts.len();
        drain(net, &mut line);
        into_unit(net, before, in_unit);
    }
    if let Some(at) = heat.filling {
        fill(net, survey, &mut line, at);
    }
    let filter = net.add("magnetic filter", "magnetic filter");
    net.through(&mut line, filter);
    if heat.vessel_on_return {
        let at = net.tee(&mut line, "vessel tee", None);
        expansion(net, survey, at, heat.litres, Service::HeatingReturn);
    }
    for ix in &heat.beside {
        let name = net.short(*ix);
        let at = net.tee(&mut line, &format!("{name} return tee"), None);
        let mut own = net.line(&format!("{name} return"), Service::HeatingReturn, at);
        let to = net.port(*ix, "return");
        net.end(&mut own, to);
    }
    // Last before the source: where the line goes down to the floor.
    if in_unit.is_none() {
        drain(net, &mut line);
    }
    if let Some(facts) = survey.source() {
        lengths(net, facts, &mut line);
    }
    let to = net.port(heat.source, "return");
    net.end(&mut line, to);
}

fn drain(net: &mut Net, line: &mut Line) {
    let at = net.tee(line, "heating drain tee", None);
    cold::drain_cock(net, at, "heating drain", Service::HeatingReturn);
}

/// More water in the part of the circuit that never shuts: behind the bypass.
fn volumiser(net: &mut Net, survey: &Survey, heat: &Heat, line: &mut Line) {
    let facts = survey.equipment(&["volumiser"]).next();
    let least = net.part(heat.source).number("min-litres");
    if facts.is_none() && (least.is_none() || space::buffer(survey).is_some()) {
        return;
    }
    let ix = match facts {
        Some(facts) => {
            let ix = boost::item(net, facts, "volumiser", "volumiser");
            if facts.place.elsewhere.is_none() {
                net.part_mut(ix).place.elsewhere = None;
            }
            ix
        }
        None => {
            net.ledger.stand(
                "volumiser",
                "one, on the return",
                "the heat pump needs more open water than the circuit keeps with its zones shut",
            );
            net.add("volumiser", "volumiser")
        }
    };
    let mut a = std::mem::take(&mut net.part_mut(ix).attrs);
    let litres = least.unwrap_or(25.0).max(25.0);
    net.ledger.fill(&mut a, "litres", "volumiser", litres, "l", "common practice: 25 to 40 l");
    net.part_mut(ix).attrs = a;
    net.through(line, ix);
}

/// Filling loop with double check valve (Water Fittings Regulations, fluid category 3).
fn fill(net: &mut Net, survey: &Survey, line: &mut Line, at: PortRef) {
    net.tail_words.insert(at, "filling".to_owned());
    let loop_ = net.add("filling loop", "filling loop");
    let mut a = Attrs::default();
    let mut inside = false;
    for facts in survey.equipment(&["filling loop"]) {
        a = attrs(&facts.properties, Kind::known("filling loop"));
        inside |= facts.declared.iter().any(|d| d.value == "double check valve inside");
        net.part_mut(loop_).span = facts.span.clone();
    }
    net.ledger.fill_text(
        &mut a,
        "connection",
        "filling loop",
        "temporary",
        "Water Supply (Water Fittings) Regulations: hose taken off after filling",
    );
    net.part_mut(loop_).attrs = a;
    let mut filling = net.line("filling", Service::Filling, at);
    if inside {
        net.part_mut(loop_).declared.insert("double check valve inside".to_owned());
    } else {
        let check = net.add("double check valve", "filling double check valve");
        net.through(&mut filling, check);
    }
    let to = net.port(loop_, "cold");
    net.end(&mut filling, to);
    let to = net.tee(line, "filling return tee", None);
    let from = net.port(loop_, "heating");
    let mut filled = net.line("filling to heating", Service::HeatingReturn, from);
    net.end(&mut filled, to);
}

/// A derived number.
pub fn derived(value: f64, method: &str, from: &[&str]) -> Value<Datum> {
    Value {
        value: Datum::Number(value),
        origin: Origin::Derived {
            method: method.to_owned(),
            from: from.iter().map(|s| (*s).to_owned()).collect(),
        },
    }
}
