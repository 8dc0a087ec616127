//! Cold water, from the street to the cylinder. In: main, softener, group. Out: the run to the
//! cold boss in the trade's order (common practice): stop valve → strainer → reducing valve →
//! balanced cold tee → check valve → relief tee → vessel tee → drain cock → cylinder, with no
//! valve between relief, vessel and cylinder.

use super::given::{all_attrs, attrs, number, place};
use super::net::{Line, Net};
use super::outlets::Outlets;
use super::store::{Store, outlet};
use super::survey::Survey;
use super::{boost, tails, vessel};
use crate::catalogue::Kind;
use crate::model::{Attrs, HOUSE, PartIx, PortRef, Service, Value};

/// What later subsystems join to.
pub struct Cold {
    /// Branch for cold that balances the hot.
    pub balanced: Option<PortRef>,
    /// Branch of unsoftened main for the filling loop.
    pub filling: Option<PortRef>,
    /// Branch of cold for a combination boiler's own hot outlet.
    pub boiler: Option<PortRef>,
    /// Where the expansion relief valve discharges.
    pub relief: PortRef,
}

pub fn supply(
    net: &mut Net,
    survey: &Survey,
    stores: &[Store],
    outlets: &Outlets,
    source: PortRef,
    filled: bool,
) -> Cold {
    let softener = survey.equipment(&["softener", "water softener"]).next();
    let mut line = net.line("cold main", Service::ColdMain, source);
    let house = HOUSE;
    let mut filling = None;
    let boosted = boost::stated(survey);
    // Where anything branches off before the cupboard, the stop valve of the whole dwelling stands
    // before the first branch (Water Supply (Water Fittings) Regulations 1999, Schedule 2,
    // paragraph 11, from memory).
    let branched =
        outlets.kitchen.is_some() || !outlets.hard.is_empty() || !outlets.main.is_empty();
    if softener.is_some() || boosted || branched {
        let stop = net.add_elsewhere("stop valve", "house stop valve", house);
        net.through(&mut line, stop);
        net.ledger.stand(
            "house stop valve",
            "one where the main comes in, before the first branch",
            "Water Fittings Regulations, Schedule 2, paragraph 11, from memory; find the one there is",
        );
        // Heating is filled with unsoftened water (common practice).
        if filled && softener.is_some() {
            filling = Some(net.tee(&mut line, "filling tee", Some(house)));
        }
    }
    if boosted {
        boost::booster(net, survey, &mut line);
    }
    branches(net, &mut line, &outlets.hard, "cold to ", house);
    let boiler = outlets.kitchen.map(|_| net.tee(&mut line, "boiler cold tee", Some(house)));
    if let Some(facts) = softener {
        soften(net, &mut line, facts, house);
    }
    branches(net, &mut line, &outlets.main, "cold to ", house);
    let unit = stores.first().and_then(|s| s.unit);
    let stop = net.add("stop valve", "stop valve");
    net.through(&mut line, stop);
    if !boosted && survey.facts.main.as_ref().is_some_and(too_strong) {
        let first = net.add("reducing valve", "entry reducing valve");
        net.ledger.stand(
            "entry reducing valve",
            "5 bar, after the stop valve",
            "common practice: the main is above what the fittings are made for",
        );
        net.part_mut(first)
            .attrs
            .set_number("setting", Value::derived(5.0, "above the group's own setting"));
        net.through(&mut line, first);
    }
    if filled && filling.is_none() {
        filling = Some(net.tee(&mut line, "filling tee", None));
    }
    hard_water(net, survey, &mut line, softener.is_some());
    let before = net.parts.len();
    let (mut line, balanced, relief) = group(net, survey, stores, outlets, line);
    let own = unit.unwrap_or_else(|| net.add_unit("inlet group", "inlet group"));
    for ix in (before..net.parts.len()).map(PartIx) {
        net.part_mut(ix).unit = Some(own);
    }
    if let Some(at) = relief.1 {
        let vessel = vessel::hot_water(net, survey, stores);
        let mut branch = net.line("expansion branch", Service::ColdFeed, at);
        let to = net.port(vessel, "in");
        net.end(&mut branch, to);
    }
    let before = net.parts.len();
    let drain = net.tee(&mut line, "drain tee", None);
    drain_cock(net, drain, "cylinder drain", Service::ColdFeed);
    // Where group and cylinder are piped together at the works, so is what empties the cylinder.
    for ix in (before..net.parts.len()).map(PartIx).filter(|_| unit.is_some()) {
        net.part_mut(ix).unit = unit;
    }
    feed(net, line, stores);
    Cold { balanced, filling, boiler, relief: relief.0 }
}

/// A main above 10 bar is reduced where it enters (common practice).
fn too_strong(main: &crate::describe::facts::MainFacts) -> bool {
    number(&main.properties, "static").is_some_and(|v| v.value > 10.0)
}

/// Hard water and no softener: a scale reducer on the way to the cylinder.
fn hard_water(net: &mut Net, survey: &Survey, line: &mut Line, softened: bool) {
    // Approved Document L (from memory): scale control above 200 ppm of calcium carbonate.
    const HARD: f64 = 200.0;
    let said = number(&survey.facts.dwelling, "hardness")
        .or_else(|| survey.facts.main.as_ref().and_then(|m| number(&m.properties, "hardness")));
    let hard = said.is_some_and(|h| h.value > HARD) && !softened;
    if !(hard || survey.has(&["scale reducer"])) {
        return;
    }
    if hard && !survey.has(&["scale reducer"]) {
        net.ledger.stand(
            "scale reducer",
            "one, before the inlet group",
            "Approved Document L (from memory): water above 200 ppm needs scale control",
        );
    }
    let ix = net.add("scale reducer", "scale reducer");
    net.through(line, ix);
}

/// The street: where the water comes from, with what was measured.
pub fn main(net: &mut Net, survey: &Survey) -> PortRef {
    let ix = net.add_elsewhere("water main", "main", "the street");
    let out = net.port(ix, "out");
    let mut a = Attrs::default();
    if let Some(facts) = &survey.facts.main {
        a = attrs(&facts.properties, Kind::known("water main"));
        for (key, v) in all_attrs(&facts.properties).0 {
            a.0.entry(key).or_insert(v);
        }
        net.part_mut(ix).span = facts.span.clone();
        tails::keep(net, out, &facts.tails, &["main", "cold", ""]);
    }
    let why = "common practice, for the sketch only: NOT MEASURED; measure static and dynamic \
               pressure at a stated flow";
    net.ledger.fill(&mut a, "static", "static pressure of the main", 3.0, "bar", why);
    net.ledger.fill(&mut a, "dynamic", "dynamic pressure of the main", 2.0, "bar", why);
    net.ledger.fill(&mut a, "at", "flow at the dynamic pressure", 20.0, "l/min", why);
    net.part_mut(ix).attrs = a;
    net.tail_words.insert(out, "main".to_owned());
    out
}

/// A tee for each outlet on the way.
pub fn branches(net: &mut Net, line: &mut Line, ports: &[PortRef], run: &str, at: &str) {
    for port in ports {
        let short = net.short(port.part);
        let branch = net.tee(line, &format!("{short} cold tee"), Some(at));
        let mut to = net.line(&format!("{run}{short}"), line.service, branch);
        guard(net, &mut to, port.part, at);
        net.end(&mut to, *port);
    }
}

/// A hose may lie in anything: a double check valve on the outside tap's own pipe (Water Supply
/// (Water Fittings) Regulations 1999, Schedule 2, paragraph 15, from memory).
fn guard(net: &mut Net, line: &mut Line, tap: PartIx, at: &str) {
    const INSIDE: &str = "double check valve inside";
    if net.part(tap).kind.key != "outside tap" || net.part(tap).declares(INSIDE) {
        return;
    }
    let name = format!("{} double check valve", net.short(tap));
    let valve = net.add_elsewhere("double check valve", &name, at);
    net.through(line, valve);
    net.ledger.stand(
        "outside tap's double check valve",
        "one on its own pipe, indoors",
        "Water Fittings Regulations, Schedule 2, paragraph 15, from memory; none is needed where \
         the tap has its own",
    );
}

fn soften(
    net: &mut Net,
    line: &mut Line,
    facts: &crate::describe::facts::EquipmentFacts,
    house: &str,
) {
    let kind = Kind::known("softener");
    let ix = net.add_kind(kind, "softener");
    {
        let part = net.part_mut(ix);
        part.attrs = attrs(&facts.properties, kind);
        part.place = place(&facts.place);
        part.span = facts.span.clone();
        part.declared = facts.declared.iter().map(|d| d.value.clone()).collect();
        if part.place.elsewhere.is_none() && part.place.x.is_none() {
            part.place.elsewhere = Some(house.to_owned());
        }
    }
    let at = net.part(ix).place.elsewhere.clone();
    let at = at.as_deref();
    // Inlet, outlet and bypass valve, so that the softener can be taken out (common practice).
    let tee_in = net.add("tee", "softener tee in");
    let tee_out = net.add("tee", "softener tee out");
    for tee in [tee_in, tee_out] {
        net.part_mut(tee).place.elsewhere = at.map(str::to_owned);
    }
    net.through(line, tee_in);
    if !net.part(ix).declares("check valve inside") {
        let check = net.add("check valve", "softener check valve");
        net.part_mut(check).place.elsewhere = at.map(str::to_owned);
        net.through(line, check);
    }
    let valve = |net: &mut Net, name: &str| {
        let v = net.add("lever valve", name);
        net.part_mut(v).place.elsewhere = at.map(str::to_owned);
        v
    };
    let raw = line.service;
    let inlet = valve(net, "softener inlet valve");
    net.through(line, inlet);
    net.through(line, ix);
    line.serving(Service::ColdSoftened);
    let outlet = valve(net, "softener outlet valve");
    net.through(line, outlet);
    net.through(line, tee_out);
    let from = net.port(tee_in, "branch");
    let mut bypass = net.line("softener bypass", raw, from);
    let by = valve(net, "softener bypass valve");
    net.through(&mut bypass, by);
    let to = net.port(tee_out, "branch");
    net.end(&mut bypass, to);
}

type Expansion = (PortRef, Option<PortRef>);

/// The inlet group, its members real parts. Returns the line behind it, the balanced branch, the
/// relief valve's discharge and the vessel's branch.
fn group(
    net: &mut Net,
    survey: &Survey,
    stores: &[Store],
    outlets: &Outlets,
    mut line: Line,
) -> (Line, Option<PortRef>, Expansion) {
    let softened = line.service;
    let strainer = net.add("strainer", "strainer");
    let to = net.port(strainer, "in");
    net.end(&mut line, to);
    let from = net.port(strainer, "out");
    let mut line = net.line("cold feed", softened, from);
    let reducing = net.add("reducing valve", "reducing valve");
    let mut a = equipment_attrs(survey, &["reducing valve"], "reducing valve");
    net.ledger.fill(
        &mut a,
        "setting",
        "reducing valve setting",
        3.0,
        "bar",
        "common practice: 3.0 bar, larger groups 3.5; read the group",
    );
    net.ledger.fill(
        &mut a,
        "max-inlet",
        "reducing valve's highest inlet pressure",
        12.0,
        "bar",
        "common practice: 12 to 16 bar; read the group",
    );
    let setting = a.number("setting").unwrap_or(3.0);
    net.part_mut(reducing).attrs = a;
    net.through(&mut line, reducing);
    line.serving(Service::ColdBalanced);
    let balanced =
        (!outlets.balanced.is_empty()).then(|| net.tee(&mut line, "balanced cold tee", None));
    let check = net.add("check valve", "check valve");
    net.through(&mut line, check);
    line.serving(Service::ColdFeed);
    let at = net.tee(&mut line, "relief tee", None);
    let valve = net.add("expansion relief valve", "expansion relief valve");
    let mut a = equipment_attrs(
        survey,
        &["expansion relief", "expansion relief valve"],
        "expansion relief valve",
    );
    net.ledger.fill(
        &mut a,
        "setting",
        "expansion relief valve opens at",
        if setting > 4.5 { 8.0 } else { 6.0 },
        "bar",
        "common practice: 6 bar with a 3 to 3.5 bar reducing valve; read the group",
    );
    let litres: f64 = stores.iter().map(|s| s.litres).fold(0.0, f64::max);
    outlet(net, survey, &mut a, litres);
    net.part_mut(valve).attrs = a;
    let mut branch = net.line("expansion relief", Service::ColdFeed, at);
    let to = net.port(valve, "in");
    net.end(&mut branch, to);
    let external = stores.iter().any(|s| !s.air_gap);
    let stated = vessel::stated(survey, vessel::Role::HotWater).is_some();
    let vessel = (external || stated).then(|| net.tee(&mut line, "cold tee", None));
    let discharge = net.port(valve, "discharge");
    (line, balanced, (discharge, vessel))
}

/// Attributes of the equipment line that names the part.
fn equipment_attrs(survey: &Survey, words: &[&str], kind: &str) -> Attrs {
    let mut a = Attrs::default();
    for facts in survey.equipment(words) {
        for (key, v) in attrs(&facts.properties, Kind::known(kind)).0 {
            a.0.entry(key).or_insert(v);
        }
    }
    a
}

pub fn drain_cock(net: &mut Net, at: PortRef, name: &str, service: Service) {
    let cock = net.add("drain cock", name);
    net.part_mut(cock).place.elsewhere = net.part(at.part).place.elsewhere.clone();
    let to = net.port(cock, "in");
    let mut line = net.line(name, service, at);
    net.end(&mut line, to);
}

/// From the group to the cold boss, or to several: the first in is the last out on the hot side
/// (reverse return).
fn feed(net: &mut Net, mut line: Line, stores: &[Store]) {
    for (i, store) in stores.iter().enumerate() {
        let to = net.port(store.cylinder, "cold");
        if i + 1 == stores.len() {
            net.end(&mut line, to);
        } else {
            let short = net.short(store.cylinder);
            let at = net.tee(&mut line, &format!("{short} cold feed tee"), None);
            let mut branch = net.line(&format!("{short} cold feed"), Service::ColdFeed, at);
            net.end(&mut branch, to);
        }
    }
}
