//! The heat source itself. In: what is known of it. Out: the part with its figures, what is inside
//! it, where it stands; and a word where it lies outside what the rules cover.

use super::ends;
use super::given::{attrs, flag, name_of, number, place};
use super::net::Net;
use super::survey::Survey;
use crate::catalogue::Kind;
use crate::describe::facts::{SourceFacts, SourceKind};
use crate::diagnostic::Diagnostic;
use crate::model::{Attrs, PartIx, PortRef, Service};

/// What a heat pump's water must be above the store, K (common practice, no source).
const ABOVE_STORE: f64 = 5.0;

/// What a safety valve inside a source opens at, bar (common practice, no source).
const INSIDE: f64 = 3.0;

/// The source as a part, its own figures filled in.
pub fn part(net: &mut Net, survey: &Survey, facts: &SourceFacts) -> PartIx {
    let (key, name) = match facts.kind.value {
        SourceKind::SystemBoiler | SourceKind::RegularBoiler => ("system boiler", "boiler"),
        SourceKind::CombinationBoiler => ("combination boiler", "boiler"),
        SourceKind::HeatPump => ("heat pump", "heat pump"),
        SourceKind::Uncontrolled => ("uncontrolled source", "stove"),
    };
    let kind = Kind::known(key);
    let name = match name_of(&facts.name) {
        n if n.is_empty() => name.to_owned(),
        n => n,
    };
    let ix = net.add_kind(kind, &name);
    let mut a = attrs(&facts.properties, kind);
    let heat_pump = facts.kind.value == SourceKind::HeatPump;
    let mut declared: std::collections::BTreeSet<String> =
        facts.declared.iter().map(|d| d.value.clone()).collect();
    if facts.kind.value == SourceKind::CombinationBoiler {
        let own = ["internal pump", "internal vessel", "internal safety valve"];
        if own.iter().any(|d| !declared.contains(*d)) {
            net.ledger.stand(
                "inside the combination boiler",
                "pump, 8 l vessel and safety valve",
                "common practice: a combination boiler has its own; look behind the cover",
            );
            declared.extend(own.map(str::to_owned));
        }
    }
    if declared.contains("internal safety valve") && kind.row().attrs.contains_key("valve-setting")
    {
        net.ledger.fill(
            &mut a,
            "valve-setting",
            "setting of the safety valve inside the heat source",
            INSIDE,
            "bar",
            "common practice: usual for a sealed heating; read the plate of the valve",
        );
    }
    let loads = survey.zones.iter().filter_map(|z| number(&z.properties, "kw")).map(|v| v.value);
    let kw = if heat_pump { 8.0 } else { 24.0_f64.max(loads.sum::<f64>().min(60.0).ceil()) };
    net.ledger.fill(
        &mut a,
        "kw",
        "output of the heat source",
        kw,
        "kW",
        "common practice: usual domestic size; read the label",
    );
    let new = flag(&survey.facts.dwelling, "whole-new-system")
        || flag(&survey.facts.dwelling, "new-dwelling");
    let (flow, ret, why) = match (heat_pump, new) {
        (true, _) => (50.0, 45.0, "common practice: heat pump, 5 K"),
        (false, true) => {
            (55.0, 45.0, "Approved Document L, Volume 1, 5.10: a whole new system flows at 55 °C")
        }
        (false, false) => (70.0, 50.0, "common practice: condensing boiler on existing radiators"),
    };
    net.ledger.fill(&mut a, "flow", "flow temperature of the heat source", flow, "°C", why);
    net.ledger.fill(&mut a, "return", "return temperature of the heat source", ret, "°C", why);
    if heat_pump {
        hot_water_flow(net, &mut a);
    }
    net.ledger.fill(
        &mut a,
        "water",
        "water in the heat source",
        3.0,
        "l",
        "common practice: 2 to 5 l",
    );
    if declared.contains("internal vessel") {
        net.ledger.fill(
            &mut a,
            "vessel",
            "vessel inside the heat source",
            8.0,
            "l",
            "common practice: 8 l; read the label",
        );
    }
    if say_scope(net, facts) {
        declared.insert("outside these rules".to_owned());
    }
    let part = net.part_mut(ix);
    part.attrs = a;
    part.declared = declared;
    part.span = facts.span.clone();
    let p = place(&facts.place);
    let stands_inside =
        p.x.is_some() || p.z.is_some() || facts.place.in_cupboard.as_ref().is_some_and(|c| c.value);
    part.place = p;
    if part.place.elsewhere.is_none() && !stands_inside {
        let at = if heat_pump { "outside" } else { "the kitchen" };
        part.place.elsewhere = Some(at.to_owned());
        net.ledger.stand(
            "place of the heat source",
            at,
            "common practice: not in the cupboard; say where it stands",
        );
    }
    ix
}

/// A heat pump's flow rises while hot water calls: its heating flow may be cooler than the store.
fn hot_water_flow(net: &mut Net, a: &mut Attrs) {
    let stored = net
        .parts
        .iter()
        .filter(|p| p.kind.port("flow").is_some() && p.kind.symbol.name == "cylinder")
        .filter_map(|p| p.number("stored"))
        .fold(f64::NAN, f64::max);
    if stored.is_nan() || a.number("flow").is_some_and(|f| f >= stored + ABOVE_STORE) {
        return;
    }
    net.ledger.fill(
        a,
        "hot-water-flow",
        "flow temperature of the heat pump while hot water calls",
        stored + ABOVE_STORE,
        "°C",
        "common practice: 5 K above the store; set it in the heat pump's control, read the maker's limit",
    );
}

/// A combination boiler beside a cylinder: its own hot outlet feeds the kitchen alone, or is
/// capped (common practice).
pub fn own_hot_outlet(net: &mut Net, ix: PartIx, cold: Option<PortRef>, kitchen: Option<PortRef>) {
    let (Some(hot), Some(cold_in)) = (net.try_port(ix, "hot"), net.try_port(ix, "cold")) else {
        return;
    };
    match (cold, kitchen) {
        (Some(from), Some(to)) => {
            let service = ends::service_at(net, from).unwrap_or(Service::ColdMain);
            let mut line = net.line("cold to boiler", service, from);
            net.end(&mut line, cold_in);
            let mut line = net.line("boiler hot to kitchen", Service::HotWater, hot);
            net.end(&mut line, to);
        }
        _ => {
            // The cold first: capped after the hot, it would be taken to bear the same water.
            ends::cap(net, cold_in);
            ends::cap(net, hot);
            net.ledger.stand(
                "combination boiler's own hot outlet",
                "capped",
                "common practice: the cylinder serves all taps; say hot=\"kitchen\" to keep it",
            );
        }
    }
}

/// Says what the rules do not cover; true where it does.
fn say_scope(net: &mut Net, facts: &SourceFacts) -> bool {
    let vented = facts.declared.iter().find(|d| d.value.contains("vent"));
    let (span, what) = match (facts.kind.value, vented) {
        (SourceKind::Uncontrolled, _) => {
            (facts.kind.span.clone(), "a source that cannot be shut off, such as a stove,")
        }
        (_, Some(d)) => (d.span.clone(), "an open-vented primary circuit"),
        _ => return false,
    };
    net.diagnostics.push(
        Diagnostic::warning(
            "out-of-scope",
            span,
            format!("{what} is outside what the rules here cover"),
        )
        .label("drawn as far as possible, as a sealed circuit")
        .help("it needs a design of its own by a specialist; do not rely on these sheets for it"),
    );
    true
}
