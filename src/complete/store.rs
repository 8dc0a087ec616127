//! The stores. In: what is known of each cylinder. Out: the cylinder with its immersion heaters,
//! its relief valve and the sizes an expert would expect until the leaflet is at hand.

use super::given::{attrs, flag, name_of, number, place, text};
use super::net::Net;
use super::survey::{Survey, sorted};
use super::tails;
use crate::catalogue::Kind;
use crate::describe::facts::{CylinderFacts, HeatedBy, SourceKind};
use crate::diagnostic::Diagnostic;
use crate::model::{Attrs, PartIx, Service, UnitIx, Value};

/// A cylinder of the job.
pub struct Store {
    pub cylinder: PartIx,
    pub heated: HeatedBy,
    pub relief: PartIx,
    pub immersions: Vec<PartIx>,
    /// The works-made unit that everything round the cylinder belongs to, if it is one.
    pub unit: Option<UnitIx>,
    /// Expansion taken up inside.
    pub air_gap: bool,
    pub litres: f64,
}

/// Generic sizes by content: litres, diameter, height, mm (common practice, vary by 60 mm).
const GENERIC: [(f64, f64, f64); 9] = [
    (90.0, 480.0, 1000.0),
    (120.0, 545.0, 1060.0),
    (150.0, 545.0, 1270.0),
    (180.0, 545.0, 1480.0),
    (210.0, 555.0, 1530.0),
    (250.0, 580.0, 1560.0),
    (300.0, 610.0, 1790.0),
    (400.0, 710.0, 1850.0),
    (500.0, 760.0, 1950.0),
];

/// No assumed store is taller, mm.
const TALLEST: f64 = 2200.0;

pub fn stores(net: &mut Net, survey: &Survey) -> Vec<Store> {
    if survey.cylinders.is_empty() {
        net.ledger.stand(
            "cylinder",
            "one mains-pressure cylinder",
            "the description names no cylinder; the whole job hangs on one",
        );
        let none = CylinderFacts::default();
        return vec![store(net, survey, &none)];
    }
    survey.cylinders.iter().map(|c| store(net, survey, c)).collect()
}

fn store(net: &mut Net, survey: &Survey, facts: &CylinderFacts) -> Store {
    let heated = heated_by(net, survey, facts);
    let kind = Kind::known(match heated {
        HeatedBy::Electric => "direct cylinder",
        HeatedBy::Solar => "twin-coil cylinder",
        HeatedBy::Indirect | HeatedBy::OutOfScope => "indirect cylinder",
    });
    let name = match name_of(&facts.name) {
        n if n.is_empty() => "store".to_owned(),
        n => n,
    };
    let cylinder = net.add_kind(kind, &name);
    let mut a = attrs(&facts.properties, kind);
    let litres = fill_size(net, survey, facts, &mut a);
    let internal = facts.expansion.as_ref().is_some_and(|e| e.value == "internal")
        || facts.declared.iter().any(|d| d.value.contains("air gap"));
    fill_ratings(net, survey, &mut a, heated);
    cylinder_tails(net, facts, cylinder);
    let part = net.part_mut(cylinder);
    part.attrs = a;
    part.place = place(&facts.place);
    part.place.mirrored |= text(&facts.properties, "hand").is_some_and(|h| h.value == "left");
    part.span = facts.span.clone();
    part.declared = facts.declared.iter().map(|d| d.value.clone()).collect();
    if heated == HeatedBy::OutOfScope {
        part.declared.insert("outside these rules".to_owned());
    }
    if internal {
        part.declared.insert("air gap inside".to_owned());
    }
    let unit = facts.factory_fitted.as_ref().is_some_and(|f| f.value).then(|| {
        let unit = net.add_unit("factory-fitted unit", "hot water unit");
        net.units[unit.0].span = facts.span.clone();
        net.units[unit.0].place = place(&facts.place);
        net.part_mut(cylinder).unit = Some(unit);
        unit
    });
    let relief = relief(net, survey, facts, cylinder, litres);
    let immersions = immersions(net, survey, facts, cylinder, heated);
    Store { cylinder, heated, relief, immersions, unit, air_gap: internal, litres }
}

fn cylinder_tails(net: &mut Net, facts: &CylinderFacts, cylinder: PartIx) {
    for (port, words) in [("hot", ["hot", "hot water"]), ("cold", ["cold", "cold feed"])] {
        let at = net.port(cylinder, port);
        tails::keep(net, at, &facts.tails, &words);
    }
}

fn heated_by(net: &mut Net, survey: &Survey, facts: &CylinderFacts) -> HeatedBy {
    match facts.heated.as_ref() {
        Some(h) if h.value == HeatedBy::OutOfScope => {
            net.diagnostics.push(
                Diagnostic::warning(
                    "out-of-scope",
                    h.span.clone(),
                    "this store is not a mains-pressure cylinder: its own rules are not applied",
                )
                .label("outside what the rules cover")
                .help(
                    "it is drawn as an indirect cylinder; an open-vented store or a thermal store \
                     needs its own design",
                ),
            );
            HeatedBy::OutOfScope
        }
        // A collector beside a boiler's coil: the store has a second coil for it.
        Some(h) if h.value == HeatedBy::Indirect && survey.has(&["solar collector"]) => {
            HeatedBy::Solar
        }
        Some(h) => h.value,
        None if survey.sources.is_empty() && survey.zones.is_empty() => {
            if survey.has(&["solar collector"]) {
                HeatedBy::Solar
            } else {
                net.ledger.stand(
                    "cylinder heated by",
                    "electric immersion heaters",
                    "no boiler, heat pump or zone is named",
                );
                HeatedBy::Electric
            }
        }
        None if survey.has(&["solar collector"]) => HeatedBy::Solar,
        None => HeatedBy::Indirect,
    }
}

/// Content, diameter and height; returns the content.
fn fill_size(net: &mut Net, survey: &Survey, facts: &CylinderFacts, a: &mut Attrs) -> f64 {
    let (guess, why) = guess_litres(survey);
    net.ledger.fill(a, "litres", "cylinder content", guess, "l", why);
    let litres = a.number("litres").unwrap_or(guess);
    let (mut d, mut h) = generic(litres);
    if flag(&facts.properties, "slim") {
        // As much water on a smaller footprint.
        (d, h) = (475.0, round10(h * (d / 475.0) * (d / 475.0)));
        if h > TALLEST {
            (d, h) = (round5(d * (h / TALLEST).sqrt()), TALLEST);
        }
    }
    if a.get("diameter").is_none() || a.get("height").is_none() {
        let why = "common practice: a generic cylinder of that content; confirm from the leaflet";
        // A stated diameter with the content gives the height, and the other way round.
        let (d, h) = match (a.number("diameter"), a.number("height")) {
            (Some(stated), None) => (stated, round10(h * (d / stated) * (d / stated))),
            (None, Some(stated)) => (round5(d * (h / stated.max(1.0)).sqrt()), stated),
            _ => (d, h),
        };
        net.ledger.fill(a, "diameter", "cylinder diameter", d, "mm", why);
        net.ledger.fill(a, "height", "cylinder height", h.max(400.0), "mm", why);
    }
    litres
}

fn guess_litres(survey: &Survey) -> (f64, &'static str) {
    if let Some(beds) = number(&survey.facts.dwelling, "bedrooms") {
        let litres = match beds.value {
            b if b < 2.0 => 150.0,
            b if b < 3.0 => 180.0,
            b if b < 4.0 => 210.0,
            b if b < 5.0 => 250.0,
            _ => 300.0,
        };
        return (litres, "common practice: by the number of bedrooms");
    }
    let count = |kind: &str| -> u32 {
        survey.outlets.iter().filter(|o| o.kind.value == kind).map(|o| o.count.value).sum()
    };
    let rooms = count("bath").saturating_add(count("shower"));
    match rooms {
        0 => (210.0, "common practice: a usual family house"),
        1 => (150.0, "common practice: one bath or shower"),
        2 => (210.0, "common practice: two baths or showers"),
        3 => (250.0, "common practice: three baths or showers"),
        _ => (300.0, "common practice: four or more baths or showers"),
    }
}

/// Diameter and height by straight interpolation between generic sizes.
fn generic(litres: f64) -> (f64, f64) {
    let first = GENERIC[0];
    let last = GENERIC[GENERIC.len() - 1];
    if litres.is_nan() || litres <= first.0 {
        return (first.1, first.2);
    }
    if litres > last.0 {
        // Larger ones grow alike in every direction, up to what a door head lets through.
        let grown = libm::cbrt(litres / last.0);
        let height = round10((last.2 * grown).min(TALLEST));
        let wider = (litres / last.0 * last.2 / height).sqrt();
        return (round5(last.1 * wider), height);
    }
    for pair in GENERIC.windows(2) {
        let ((l0, d0, h0), (l1, d1, h1)) = (pair[0], pair[1]);
        if litres <= l1 {
            let t = (litres - l0) / (l1 - l0);
            return (round5(d0 + t * (d1 - d0)), round10(h0 + t * (h1 - h0)));
        }
    }
    (last.1, last.2)
}

fn round5(x: f64) -> f64 {
    (x / 5.0).round() * 5.0
}

fn round10(x: f64) -> f64 {
    (x / 10.0).round() * 10.0
}

fn fill_ratings(net: &mut Net, survey: &Survey, a: &mut Attrs, heated: HeatedBy) {
    let heat_pump = survey.source().is_some_and(|s| s.kind.value == SourceKind::HeatPump);
    net.ledger.fill(
        a,
        "working-pressure",
        "cylinder's rated pressure",
        7.0,
        "bar",
        "common practice: the rating that goes with a 7 bar relief valve; read the plate",
    );
    if heat_pump && heated != HeatedBy::Electric {
        net.ledger.fill(
            a,
            "stored",
            "stored temperature",
            50.0,
            "°C",
            "common practice: a heat pump stores at 50 °C with a weekly hot cycle",
        );
        if a.number("stored").is_some_and(|t| t < 60.0) {
            net.ledger.fill_text(
                a,
                "cycle",
                "hot cycle",
                "weekly to 60 °C",
                "HSG274 Part 2: stored below 60 °C needs a regular hot cycle",
            );
        }
    } else {
        net.ledger.fill(
            a,
            "stored",
            "stored temperature",
            60.0,
            "°C",
            "HSG274 Part 2: stored at 60 °C or more",
        );
    }
    if heated == HeatedBy::Electric {
        return;
    }
    let source_kw = survey.source().and_then(|s| number(&s.properties, "kw")).map(|v| v.value);
    let kw = source_kw.unwrap_or(20.0).clamp(1.0, 20.0);
    net.ledger.fill(
        a,
        "coil-kw",
        "coil rating",
        kw,
        "kW",
        "common practice: what the source gives, up to 20 kW for a domestic coil; read the plate",
    );
    net.ledger.fill(
        a,
        "coil-pressure",
        "coil's rated pressure",
        3.0,
        "bar",
        "common practice: 3 bar working pressure; read the plate",
    );
    net.ledger.fill(a, "coil-litres", "water in the coil", 6.0, "l", "common practice: 3 to 8 l");
    if heat_pump {
        let kw = source_kw.unwrap_or(8.0);
        net.ledger.fill(
            a,
            "coil-area",
            "coil surface",
            (kw * 0.25).max(2.5),
            "m2",
            "common practice: at least 0.25 m2 for each kW of heat pump; confirm from the leaflet",
        );
    }
    if heated == HeatedBy::Solar {
        net.ledger.fill(
            a,
            "solar-litres",
            "content below the upper coil",
            (a.number("litres").unwrap_or(250.0) * 0.4).round(),
            "l",
            "common practice: two fifths of a twin-coil store belong to the solar coil",
        );
        net.ledger.fill(
            a,
            "max-stored",
            "highest stored temperature",
            85.0,
            "°C",
            "common practice: limit of the solar controller",
        );
    }
}

/// The combined relief valve on the cylinder's own boss. Approved Document G section 3 wants it
/// on every unvented store, fitted at the works.
fn relief(
    net: &mut Net,
    survey: &Survey,
    facts: &CylinderFacts,
    cylinder: PartIx,
    litres: f64,
) -> PartIx {
    let valve =
        net.add_on("temperature and pressure relief valve", "temperature relief valve", cylinder);
    let mut a = Attrs::default();
    if let Some(v) = number(&facts.properties, "relief-pressure") {
        a.set_number("setting", v);
    }
    if let Some(v) = number(&facts.properties, "relief-temperature") {
        a.set_number("temperature", v);
    }
    // Never above what the cylinder is rated for.
    let rated = net.part(cylinder).number("working-pressure").unwrap_or(7.0);
    net.ledger.fill(
        &mut a,
        "setting",
        "temperature and pressure relief valve, pressure",
        rated.clamp(1.0, 7.0),
        "bar",
        "common practice: 7 bar and 90 °C; read the valve",
    );
    net.ledger.fill(
        &mut a,
        "temperature",
        "temperature and pressure relief valve, temperature",
        90.0,
        "°C",
        "common practice: 7 bar and 90 °C; read the valve",
    );
    outlet(net, survey, &mut a, litres);
    net.part_mut(valve).attrs = a;
    let from = net.port(cylinder, "relief");
    let to = net.port(valve, "in");
    let mut line = net.line("temperature relief", Service::HotWater, from);
    net.end(&mut line, to);
    valve
}

/// Size of a discharge valve's outlet, inch, by content (common practice; ask).
pub fn outlet(net: &mut Net, survey: &Survey, a: &mut Attrs, litres: f64) {
    let said = survey.discharges.iter().find_map(|d| number(&d.properties, "outlet"));
    if let Some(v) = said.filter(|_| a.get("outlet").is_none()) {
        a.set_number("outlet", v);
    }
    let inch = if litres > 250.0 { 0.75 } else { 0.5 };
    net.ledger.fill(
        a,
        "outlet",
        "outlet of the safety valves",
        inch,
        "in",
        "common practice: G 1/2 up to 250 l, G 3/4 above; look at the valve",
    );
}

fn immersions(
    net: &mut Net,
    survey: &Survey,
    facts: &CylinderFacts,
    cylinder: PartIx,
    heated: HeatedBy,
) -> Vec<PartIx> {
    let kind = Kind::known("immersion heater");
    let stated = sorted(&facts.immersions);
    let mut out = Vec::new();
    for (i, im) in stated.iter().enumerate() {
        let name = match name_of(&im.name) {
            n if n.is_empty() => default_immersion_name(i, stated.len()).to_owned(),
            n => n,
        };
        let ix = net.add_on("immersion heater", &name, cylinder);
        let part = net.part_mut(ix);
        part.attrs = attrs(&im.properties, kind);
        part.declared = im.declared.iter().map(|d| d.value.clone()).collect();
        part.span = im.span.clone();
        out.push(ix);
    }
    // `immersions=2`: so many, whether or not each has its line.
    let wanted = number(&facts.properties, "immersions").map_or(0.0, |v| v.value).clamp(0.0, 6.0);
    while (out.len() as f64) < wanted {
        let name = default_immersion_name(out.len(), (wanted as usize).max(stated.len()));
        out.push(net.add_on("immersion heater", name, cylinder));
    }
    if out.is_empty() && survey.has(&["boost diverter"]) {
        net.ledger.stand(
            "immersion heaters",
            "one, for surplus solar electricity",
            "a boost diverter is named and no heater for it to feed",
        );
        out.push(net.add_on("immersion heater", "immersion heater", cylinder));
    }
    if out.is_empty() && heated == HeatedBy::Electric {
        net.ledger.stand(
            "immersion heaters",
            "two, lower and upper",
            "common practice: a direct electric cylinder has a main and a boost heater",
        );
        for name in ["lower immersion heater", "upper immersion heater"] {
            out.push(net.add_on("immersion heater", name, cylinder));
        }
    }
    let count = out.len();
    for (i, ix) in out.iter().enumerate() {
        let mut a = std::mem::take(&mut net.part_mut(*ix).attrs);
        net.ledger.fill(
            &mut a,
            "kw",
            "immersion heater rating",
            3.0,
            "kW",
            "common practice: 3 kW",
        );
        net.ledger.fill(
            &mut a,
            "length",
            "immersion heater length",
            400.0,
            "mm",
            "common practice: a side-entry element; decides the withdrawal space",
        );
        let position = if count > 1 && i + 1 == count { "upper" } else { "lower" };
        if a.get("position").is_none() {
            a.set_text("position", Value::derived(position.to_owned(), "order of the heaters"));
        }
        if flag(&facts.properties, "off-peak") && a.get("circuit").is_none() {
            a.set_text("circuit", Value::derived("off-peak".to_owned(), "off-peak stated"));
        }
        net.part_mut(*ix).attrs = a;
        let declared = &mut net.part_mut(*ix).declared;
        if declared.is_empty() {
            declared.insert("own thermostat".to_owned());
            declared.insert("own cut-out".to_owned());
            net.ledger.stand(
                "immersion heater controls",
                "thermostat and cut-out in each head",
                "BS EN 60335-2-73 (from memory): each heater has its own non-self-resetting cut-out",
            );
        }
    }
    out
}

fn default_immersion_name(i: usize, count: usize) -> &'static str {
    match (i, count) {
        (_, 1) => "immersion heater",
        (0, _) => "lower immersion heater",
        (1, _) => "upper immersion heater",
        _ => "immersion heater",
    }
}
