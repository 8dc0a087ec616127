//! Solar heat. In: the collector, the twin-coil store. Out: a sealed circuit of metal with its own
//! pump, check valve, vessel and safety valve, nothing to shut between collector and safety valve,
//! the relief led into a metal container; a second cut-out and the controller (Approved Document G
//! section 3: a cut-out for every source; the rest common practice).

use super::boost;
use super::controls::cut_out;
use super::net::Net;
use super::store::Store;
use super::survey::Survey;
use super::vessel;
use crate::describe::facts::HeatedBy;
use crate::model::{Attrs, PartIx, Service, Value};

const ROOF: &str = "the roof";

pub fn solar(net: &mut Net, survey: &Survey, stores: &[Store]) {
    let Some(store) = stores.iter().find(|s| s.heated == HeatedBy::Solar) else { return };
    let collector = collector(net, survey);
    let from = net.port(collector, "flow");
    net.tail_words.insert(from, "solar flow".to_owned());
    let mut flow = net.line("solar flow", Service::SolarFlow, from);
    let at = net.tee(&mut flow, "solar vent tee", Some(ROOF));
    let vent = net.add_elsewhere("automatic air vent", "solar air vent", ROOF);
    let to = net.port(vent, "in");
    let mut branch = net.line("solar air vent", Service::SolarFlow, at);
    net.end(&mut branch, to);
    net.tail_words.insert(flow.at, "solar flow".to_owned());
    let to = net.port(store.cylinder, "solar flow");
    net.end(&mut flow, to);
    let from = net.port(store.cylinder, "solar return");
    let mut back = net.line("solar return", Service::SolarReturn, from);
    let at = net.tee(&mut back, "solar drain tee", None);
    super::cold::drain_cock(net, at, "solar drain", Service::SolarReturn);
    let station = station(net, survey);
    net.through(&mut back, station);
    if !net.part(station).declares("check valve inside") {
        let check = net.add("check valve", "solar check valve");
        net.through(&mut back, check);
    }
    let at = net.tee(&mut back, "solar vessel tee", None);
    let vessel = vessel::solar(net, survey, expansion(net, collector));
    let to = net.port(vessel, "in");
    let mut branch = net.line("solar expansion", Service::SolarReturn, at);
    net.end(&mut branch, to);
    safety(net, &mut back);
    let to = net.port(collector, "return");
    net.tail_words.insert(to, "solar return".to_owned());
    net.end(&mut back, to);
    cut_out(net, survey, store, collector, "solar overheat cut-out");
    let controller = net.add("solar controller", "solar controller");
    for facts in survey.equipment(&["solar controller"]) {
        net.part_mut(controller).span = facts.span.clone();
    }
}

fn collector(net: &mut Net, survey: &Survey) -> PartIx {
    let ix = match survey.equipment(&["solar collector"]).next() {
        Some(facts) => {
            let ix = boost::item(net, facts, "solar collector", "solar collector");
            if facts.place.elsewhere.is_none() {
                net.part_mut(ix).place.elsewhere = Some(ROOF.to_owned());
            }
            ix
        }
        None => {
            net.ledger.stand(
                "solar collector",
                "one field on the roof",
                "the cylinder has a solar coil and nothing is named to heat it",
            );
            net.add_elsewhere("solar collector", "solar collector", ROOF)
        }
    };
    let mut a = std::mem::take(&mut net.part_mut(ix).attrs);
    net.ledger.fill(
        &mut a,
        "area",
        "solar collector area",
        4.0,
        "m2",
        "common practice: about 1 m2 a person",
    );
    let area = a.number("area").unwrap_or(4.0);
    net.ledger.fill(
        &mut a,
        "litres",
        "fluid in the solar collector",
        area,
        "l",
        "common practice: a litre for each square metre",
    );
    net.ledger.fill(
        &mut a,
        "kw",
        "output of the solar collector",
        area * 0.7,
        "kW",
        "common practice: 0.7 kW for each square metre in full sun",
    );
    net.part_mut(ix).attrs = a;
    ix
}

/// Opening guess for the vessel, litres: the collector as steam, a tenth of 15 l of circuit, a
/// reserve of 3 l, half of the vessel usable.
fn expansion(net: &Net, collector: PartIx) -> f64 {
    (net.part(collector).number("litres").unwrap_or(4.0) + 1.5 + 3.0) * 2.0
}

fn station(net: &mut Net, survey: &Survey) -> PartIx {
    let facts = survey.equipment(&["solar pump station"]).next();
    match facts {
        Some(facts) => {
            let ix = boost::item(net, facts, "solar pump station", "solar pump station");
            if facts.place.elsewhere.is_none() {
                net.part_mut(ix).place.elsewhere = None;
            }
            ix
        }
        None => net.add("solar pump station", "solar pump station"),
    }
}

fn safety(net: &mut Net, back: &mut super::net::Line) {
    let at = net.tee(back, "solar safety tee", None);
    let valve = net.add("safety valve", "solar safety valve");
    let mut a = Attrs::default();
    net.ledger.fill(
        &mut a,
        "setting",
        "solar safety valve opens at",
        6.0,
        "bar",
        "common practice: 6 bar, of a kind made for solar fluid",
    );
    net.part_mut(valve).attrs = a;
    let to = net.port(valve, "in");
    let mut branch = net.line("solar safety branch", Service::SolarReturn, at);
    net.end(&mut branch, to);
    let container = net.add("container", "solar fluid container");
    net.part_mut(container).attrs.set_text(
        "material",
        Value::derived("metal".to_owned(), "what comes may be hotter than 120 °C"),
    );
    let from = net.port(valve, "discharge");
    let to = net.port(container, "in");
    let mut out = net.line("solar discharge", Service::Drain, from);
    net.end(&mut out, to);
}
