//! The stores of a system. In: the bench with heating flows. Out: reheat by coil, immersion heater
//! and heat pump, standing loss, mixed water, daily demand, filled weight and what the floor bears.

use std::collections::BTreeMap;

use super::heating::Heating;
use super::note::{Note, plain};
use super::store;
use super::work::Work;
use crate::model::{Part, PartIx};

pub fn cylinders(work: &mut Work, heating: &Heating) {
    let mut mass = 0.0;
    let mut heaters: BTreeMap<PartIx, Vec<PartIx>> = BTreeMap::new();
    for (i, part) in work.system.parts.iter().enumerate() {
        if let Some(host) = part.on.filter(|_| part.kind.key == "immersion heater") {
            heaters.entry(host).or_default().push(PartIx(i));
        }
    }
    for i in 0..work.system.parts.len() {
        let part = work.system.parts[i].clone();
        if !part.kind.key.ends_with("cylinder") {
            if part.in_cupboard() {
                mass += filled(&part);
            }
            continue;
        }
        let Some(litres) = part.number("litres").filter(|l| *l > 0.0) else { continue };
        let t = Store {
            litres,
            hot: part.number("stored").unwrap_or(work.aims.get("SIZE.store-hot")),
            cold: work.aims.get("SIZE.store-cold"),
            assumed: part.attrs.is_assumed("litres"),
        };
        by_coil(work, heating, PartIx(i), &part, &t);
        for heater in heaters.get(&PartIx(i)).into_iter().flatten() {
            by_immersion(work, *heater, &t);
        }
        losses(work, &part, &t);
        mixed(work, &part, &t);
        let own = weight(work, &part, &t);
        if part.in_cupboard() {
            mass += own;
        }
    }
    daily(work);
    floor(work, mass);
}

struct Store {
    litres: f64,
    hot: f64,
    cold: f64,
    assumed: bool,
}

/// Filled mass of a part other than a store, kg.
fn filled(part: &Part) -> f64 {
    let water = match part.kind.key.as_str() {
        "buffer" | "volumiser" | "break tank" => part.number("litres").unwrap_or(0.0),
        _ => 0.0,
    };
    part.number("mass").unwrap_or(part.kind.mass).max(water)
}

fn by_coil(work: &mut Work, heating: &Heating, ix: PartIx, part: &Part, t: &Store) {
    for user in heating.users.iter().filter(|u| u.part == ix && u.kw > 0.0) {
        let circuit = heating.of[user.chamber].map(|c| &heating.circuits[c]);
        let solar = circuit.is_some_and(|c| c.solar);
        if solar {
            continue;
        }
        let minutes = store::reheat_minutes(t.litres, t.cold, t.hot, user.kw);
        let short = store::reheat_shortcut(t.litres, t.hot - t.cold, user.kw);
        work.figures.push(
            Note::new("store.reheat-coil", &part.tag, "time to warm the whole store by its coil")
                .by("heat balance", "t = V rho cp (Th - Tc)/P", "arithmetic; IAPWS-IF97")
                .with("V", t.litres, "l")
                .with("Th", t.hot, "°C")
                .with("Tc", t.cold, "°C")
                .with("P", user.kw, "kW")
                .with("by V dT/(14.3 P), MIS 3005-D", short, "min")
                .assumed(t.assumed || user.assumed)
                .gives(minutes, "min", format!("{} min", plain(minutes, 0))),
        );
        let output = circuit.map_or(0.0, |c| c.kw);
        let rated = part.number("coil-kw").unwrap_or(0.0);
        if output > 0.0 && rated > 0.0 {
            work.figures.push(
                Note::new("store.coil-match", &part.tag, "source output against the coil's rating")
                    .by("ratio", "source kW/coil kW", "common practice")
                    .with("source", output, "kW")
                    .with("coil", rated, "kW")
                    .assumed(user.assumed)
                    .gives(
                        output / rated,
                        "",
                        format!(
                            "{} kW into a coil of {} kW: {}",
                            plain(output, 1),
                            plain(rated, 1),
                            match output > rated * 1.005 {
                                true => "more than the coil takes, the source throttles or cycles",
                                false => "the coil takes it",
                            }
                        ),
                    ),
            );
        }
        if let (Some(area), true) = (part.number("coil-area"), output > 0.0) {
            let limit = work.aims.limit("HTG13.area").clone();
            work.figures.push(
                Note::new("store.coil-area", &part.tag, "coil surface for each kW of the source")
                    .by("ratio", "area/kW", &limit.source)
                    .with("area", area, "m2")
                    .with("source", output, "kW")
                    .with("for a heat pump at least", limit.value, "m2/kW")
                    .gives(area / output, "m2/kW", format!("{} m2/kW", plain(area / output, 2))),
            );
        }
    }
}

fn by_immersion(work: &mut Work, heater: PartIx, t: &Store) {
    let part = work.system.part(heater);
    let Some(kw) = part.number("kw").filter(|kw| *kw > 0.0) else { return };
    let upper = part.text("position") == Some("upper");
    let (tag, rated) = (part.tag.clone(), part.attrs.is_assumed("kw"));
    let share = if upper { work.aims.get("SIZE.upper-share") } else { 1.0 };
    let litres = t.litres * share;
    let minutes = store::reheat_minutes(litres, t.cold, t.hot, kw);
    work.figures.push(
        Note::new("store.reheat-immersion", &tag, "time to warm what the heater reaches")
            .by("heat balance", "t = V rho cp (Th - Tc)/P", "arithmetic; IAPWS-IF97")
            .with("V", litres, "l")
            .with("share of the store", share, "")
            .with("Th", t.hot, "°C")
            .with("Tc", t.cold, "°C")
            .with("P", kw, "kW")
            .assumed(t.assumed || rated || upper)
            .gives(minutes, "min", format!("{} min", plain(minutes, 0))),
    );
}

fn losses(work: &mut Work, part: &Part, t: &Store) {
    let declared = part.number("standing-loss");
    let foam = part.number("insulation").filter(|mm| *mm > 0.0);
    let thickness = foam.unwrap_or(work.aims.get("SIZE.store-foam"));
    let sap = store::standing_loss_sap(t.litres, thickness);
    let limit = store::standing_loss_limit(t.litres);
    let (value, source, formula) = match declared {
        Some(kwh) => (kwh, "BS EN 12897, as declared", "declared by the maker"),
        None => (
            sap,
            "SAP 2012, Tables 2, 2a, 2b",
            "V L VF 0.6, L = 0.005 + 0.55/(t + 4), VF = (120/V)^(1/3)",
        ),
    };
    let word = if value <= limit { "within" } else { "OVER" };
    work.figures.push(
        Note::new("store.standing-loss", &part.tag, "standing loss")
            .by("standing loss", formula, source)
            .with("V", t.litres, "l")
            .with("t", thickness, "mm")
            .with("greatest, 1.15(0.2 + 0.051 V^(2/3))", limit, "kWh/day")
            .assumed(declared.is_none() && foam.is_none())
            .gives(
                value,
                "kWh/day",
                format!("{} kWh a day, {word} {}", plain(value, 2), plain(limit, 2)),
            ),
    );
}

fn mixed(work: &mut Work, part: &Part, t: &Store) {
    let mixed = work.aims.get("SIZE.store-mixed");
    if t.hot <= mixed {
        return;
    }
    let ideal = store::mixed_volume(t.litres, t.hot, t.cold, mixed);
    let real = ideal * work.aims.get("SIZE.v40-share");
    work.figures.push(
        Note::new("store.v40", &part.tag, "water at 40 °C from a full store")
            .by(
                "mixing",
                "V (Th - Tc)/(40 - Tc), of which about 80 % comes",
                "BS EN 12897 term; common practice",
            )
            .with("V", t.litres, "l")
            .with("Th", t.hot, "°C")
            .with("Tc", t.cold, "°C")
            .with("ideal", ideal, "l")
            .assumed(t.assumed)
            .gives(
                real,
                "l",
                format!("about {} l ({} l without mixing inside)", plain(real, 0), plain(ideal, 0)),
            ),
    );
}

/// Filled mass, and the pressure on its footprint; returns kg.
fn weight(work: &mut Work, part: &Part, t: &Store) -> f64 {
    let empty = part.number("mass");
    let mass = empty.unwrap_or(t.litres * work.aims.get("SIZE.store-empty")) + t.litres;
    work.figures.push(
        Note::new("store.mass", &part.tag, "filled mass")
            .by("sum", "empty + water", "common practice where the maker states no empty mass")
            .with("water", t.litres, "kg")
            .with("empty", mass - t.litres, "kg")
            .assumed(empty.is_none() || t.assumed)
            .gives(
                mass,
                "kg",
                format!("{} kg, {} kN", plain(mass, 0), plain(mass * 0.009_806_65, 2)),
            ),
    );
    if let Some(d) = part.number("diameter").filter(|d| *d > 0.0) {
        let area = std::f64::consts::FRAC_PI_4 * d * d / 1e6;
        let load = mass * 0.009_806_65 / area;
        work.figures.push(
            Note::new("store.floor-pressure", &part.tag, "load under the store itself")
                .by("ratio", "weight/footprint", "arithmetic")
                .with("weight", mass * 0.009_806_65, "kN")
                .with("footprint", area, "m2")
                .assumed(empty.is_none() || t.assumed || part.attrs.is_assumed("diameter"))
                .gives(load, "kN/m2", format!("{} kN/m2 on its footprint", plain(load, 1))),
        );
    }
    mass
}

/// Everything heavy in the cupboard over the cupboard's floor.
fn floor(work: &mut Work, mass: f64) {
    let Some(cupboard) = &work.system.site.cupboard else { return };
    let area = cupboard.width.value * cupboard.depth.value / 1e6;
    if area <= 0.0 || mass <= 0.0 {
        return;
    }
    let assumed = cupboard.width.origin.is_assumed() || cupboard.depth.origin.is_assumed();
    let limit = work.aims.limit("STR01.spread").clone();
    let load = mass * 0.009_806_65 / area;
    let kind = cupboard.floor.attrs.text("kind").unwrap_or_default();
    let most = plain(limit.value, 1);
    let judged = match load > limit.value {
        _ if kind.contains("solid") || kind.contains("concrete") => {
            "a solid floor: not judged here".to_owned()
        }
        false => format!("within {most} kN/m2, a dwelling's floor"),
        true if kind.is_empty() => {
            format!(
                "OVER {most} kN/m2, a dwelling's floor; this one is not described: to be judged"
            )
        }
        true => format!("OVER {most} kN/m2, a dwelling's floor: to be judged by an engineer"),
    };
    work.figures.push(
        Note::new("cupboard.floor-load", "cupboard", "filled parts over the cupboard's floor")
            .by("ratio", "weight/(width x depth)", &limit.source)
            .with("mass", mass, "kg")
            .with("floor", area, "m2")
            .with("floors are designed for", limit.value, "kN/m2")
            .assumed(assumed)
            .gives(
                load,
                "kN/m2",
                format!("{} kN/m2 spread over the cupboard; {judged}", plain(load, 1)),
            ),
    );
}

/// Hot water of a day.
fn daily(work: &mut Work) {
    let dwelling = &work.system.site.dwelling;
    let bedrooms = dwelling.number("bedrooms");
    let occupants = dwelling.number("occupants");
    let area = dwelling.number("floor-area").filter(|a| *a > 0.0);
    if let (Some(beds), _) | (None, Some(beds)) = (bedrooms, occupants.map(|o| o - 1.0)) {
        let litres = store::daily_by_persons(beds, occupants);
        work.figures.push(
            Note::new("daily.persons", "dwelling", "hot water of a day by persons")
                .by("MIS 3005-D", "45 l x max(bedrooms + 1, occupants)", "MIS 3005-D")
                .with("persons", litres / 45.0, "")
                .gives(litres, "l", format!("{} l a day", plain(litres, 0))),
        );
    }
    if let Some(area) = area {
        let litres = store::daily_by_area(area);
        let yearly = store::yearly_energy(litres);
        work.figures.push(
            Note::new("daily.area", "dwelling", "hot water of a day by floor area")
                .by("SAP 2012", "25 N + 36, N from the floor area", "SAP 2012, Table 1b")
                .with("A", area, "m2")
                .with("N", store::persons_by_area(area), "")
                .gives(
                    litres,
                    "l",
                    format!("{} l a day, {} kWh a year", plain(litres, 0), plain(yearly, 0)),
                ),
        );
    }
}
