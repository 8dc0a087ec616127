//! The schedule for the merchant: parts by kind, and what the take-off counted. In: the system and
//! rows of the take-off. Out: sheets.

use std::collections::{BTreeMap, BTreeSet};

use super::words::{listed, plain, whereabouts};
use crate::catalogue::Kind;
use crate::draw::frame::TitleData;
use crate::draw::scene::{Paper, Sheet};
use crate::draw::tables::{Flow, figures, words};
use crate::model::dwelling::{dwellings, scope_of};
use crate::model::{Attrs, Datum, Part, System, Unit};
use crate::wire::Wiring;
use crate::wire::netlist::DeviceKind;

/// One row of the take-off: what, size, how many, unit, remark.
pub type Row = [String; 5];

pub fn schedule(system: &System, takeoff: &[Row], wiring: &Wiring, data: &TitleData) -> Vec<Sheet> {
    let mut flow = Flow::new("schedule", "Schedule of parts", Paper::A4_PORTRAIT, data);
    flow.paragraph(
        "A factory-made unit is one thing to order: what is said to be \"in\" its tag comes with it \
         and is in its price. Check against the maker's list before ordering.",
    );
    flow.heading("Parts");
    let flats = dwellings(system);
    if flats.len() > 1 {
        flow.paragraph(&format!("Parts of all {} dwellings and of what they share.", flats.len()));
    }
    let in_drawn: BTreeSet<&str> = system
        .of_kind("tee")
        .filter(|(_, p)| p.in_cupboard())
        .map(|(_, p)| without_scope(&p.name))
        .collect();
    let mut rows: BTreeMap<(String, String, String), Vec<&Part>> = BTreeMap::new();
    for ix in system.part_ixs() {
        let part = system.part(ix);
        let key = part.kind.key.as_str();
        if part.kind.mount == crate::catalogue::Mount::Elsewhere
            && part.kind.mass == 0.0
            && !part.kind.heats
            && !matches!(part.kind.symbol.name.as_str(), "control" | "blending-set" | "softener")
        {
            continue;
        }
        // Tees of the cupboard stand below, by size; so do those of every flat that is like it.
        let drawn = in_drawn.contains(without_scope(&part.name));
        if key == "tee" && part.unit.is_none() && drawn && !takeoff.is_empty() {
            continue;
        }
        // What is alike in every dwelling shares a row.
        let scope = flats.iter().find(|(_, parts)| parts.contains(&ix)).map(|(name, _)| name);
        let unit = part.unit.map_or_else(String::new, |u| match scope {
            Some(_) => format!("each {}", system.unit(u).kind.key),
            None => system.unit(u).tag.clone(),
        });
        let data = data_of(system, part.kind, &part.attrs, Some(part));
        let data = scope.map_or_else(|| data.clone(), |name| data.replace(name.as_str(), ""));
        let key = (key.to_owned(), data, unit);
        rows.entry(key).or_default().push(part);
    }
    let mut rows: Vec<Vec<String>> = rows
        .into_iter()
        .map(|((kind, what, unit), parts)| {
            let tags: Vec<&str> = parts.iter().map(|p| p.tag.as_str()).collect();
            let place = if unit.is_empty() { stand(&parts) } else { format!("in {unit}") };
            vec![parts.len().to_string(), kind, what, listed(&tags), place]
        })
        .collect();
    let columns = [
        figures("No.", 9.0),
        words("Part", 42.0),
        words("Data", 66.0),
        words("Tags", 32.0),
        words("Where", 23.0),
    ];
    rows.extend(units(system));
    rows.extend(bought(wiring));
    rows.sort_by(|a, b| a[1].cmp(&b[1]));
    flow.table(&columns, &rows);
    if !takeoff.is_empty() {
        let lagged = takeoff.iter().any(|r| r[0] == "lagging");
        flow.heading(match lagged {
            true => "Pipe, fittings, clips, lagging",
            false => "Pipe, fittings, clips",
        });
        flow.paragraph(&match flats.first() {
            Some((name, _)) if flats.len() > 1 => format!(
                "Of the one cupboard that is drawn, {}: take it {} times. Pipe outside the cupboard \
                 is that of all dwellings and risers, by the lengths stated or assumed (A-numbers: \
                 see the findings).",
                name.trim(),
                flats.len()
            ),
            _ => "Of the cupboard, as routed. Pipe outside the cupboard is by the lengths stated or \
                  assumed (A-numbers: see the findings): measure it; its fittings and clips are in \
                  no row. Lagging is listed where a thickness is given. Lengths of tube are from the \
                  middle of one fitting to the middle of the next: cut them shorter by what the \
                  fittings take. Fitting to fitting: too near for tube, use one with a plain end."
                .to_owned(),
        });
        let rows: Vec<Vec<String>> = takeoff.iter().map(|r| r.to_vec()).collect();
        let columns = [
            words("What", 28.0),
            words("Size", 26.0),
            figures("Quantity", 18.0),
            words("Unit", 12.0),
            words("Remark", 88.0),
        ];
        flow.table(&columns, &rows);
    }
    cables(&mut flow, wiring, flats.first().map(|(name, _)| (name.trim(), flats.len())));
    flow.finish()
}

/// The factory-made units themselves, what is alike in one row.
fn units(system: &System) -> Vec<Vec<String>> {
    let mut rows: Vec<([String; 3], Vec<&Unit>)> = Vec::new();
    for unit in &system.units {
        let holds =
            system.parts.iter().any(|p| p.unit.is_some_and(|u| system.unit(u).tag == unit.tag));
        if !holds {
            continue;
        }
        let data = data_of(system, unit.kind, &unit.attrs, None);
        let key = [unit.kind.key.clone(), data, whereabouts(&unit.place)];
        match rows.iter_mut().find(|(k, _)| *k == key) {
            Some((_, units)) => units.push(unit),
            None => rows.push((key, vec![unit])),
        }
    }
    let row = |([kind, data, place], units): ([String; 3], Vec<&Unit>)| {
        let tags: Vec<&str> = units.iter().map(|u| u.tag.as_str()).collect();
        let with = "with all that is in it";
        let data = if data.is_empty() { with.to_owned() } else { format!("{data}, {with}") };
        vec![units.len().to_string(), kind, data, listed(&tags), place]
    };
    rows.into_iter().map(row).collect()
}

/// What the wiring wants bought beside the parts of the graph: relays, switches of circuits.
fn bought(wiring: &Wiring) -> Vec<Vec<String>> {
    let volts = wiring.supplies.first().map_or(0.0, |s| s.volts);
    let kinds = [
        (
            DeviceKind::Relay,
            "relay",
            format!("coil {} V a.c., one contact, enclosed", plain(volts)),
        ),
        (DeviceKind::DoublePoleSwitch, "double-pole switch", "rating as its circuit".to_owned()),
    ];
    let mut rows = Vec::new();
    for (kind, name, what) in kinds {
        let mut places: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
        for d in wiring.of_kind(kind).filter(|d| d.tag.is_none()) {
            places.entry(&d.place).or_default().push(&d.id);
        }
        rows.extend(places.into_iter().map(|(place, tags)| {
            vec![
                tags.len().to_string(),
                name.to_owned(),
                what.clone(),
                listed(&tags),
                place.to_owned(),
            ]
        }));
    }
    rows
}

/// A part's name without the flat it is in.
fn without_scope(name: &str) -> &str {
    scope_of(name).map_or(name, |scope| &name[scope.len()..])
}

/// Where parts stand that share a row: each place with what stands there.
fn stand(parts: &[&Part]) -> String {
    const MOST: usize = 3;
    let mut places: BTreeMap<String, Vec<&str>> = BTreeMap::new();
    for part in parts {
        places.entry(whereabouts(&part.place)).or_default().push(&part.tag);
    }
    match places.len() {
        1 => places.into_keys().next().unwrap_or_default(),
        n if n > MOST => format!("in {n} places"),
        _ => {
            let each: Vec<String> =
                places.iter().map(|(p, tags)| format!("{p}: {}", listed(tags))).collect();
            each.join("; ")
        }
    }
}

/// Cable by its make: how many runs; lengths are known on site only.
fn cables(flow: &mut Flow, wiring: &Wiring, flats: Option<(&str, usize)>) {
    let mut kinds: BTreeMap<(String, String, bool), (u32, Vec<&str>)> = BTreeMap::new();
    for c in wiring.cables.iter().filter(|c| !c.makers_flex && c.at_works.is_none()) {
        let key = (c.construction.clone(), plain(c.mm2), c.heat_resistant);
        let entry = kinds.entry(key).or_default();
        entry.0 += c.count;
        entry.1.push(&c.tag);
    }
    if kinds.is_empty() {
        return;
    }
    flow.heading("Cable");
    let times = match flats {
        Some((name, n)) if n > 1 => format!("Of {name}: take it {n} times. "),
        _ => String::new(),
    };
    flow.paragraph(&format!(
        "{times}Lengths are measured on site. Cords that come with a device, and what a factory-made \
         unit is wired with at the works, are not listed."
    ));
    let rows: Vec<Vec<String>> = kinds
        .into_iter()
        .map(|((what, mm2, hot), (runs, mut tags))| {
            tags.sort_by_key(|t| t.trim_start_matches('W').parse::<u32>().unwrap_or(u32::MAX));
            let what = if hot { format!("{what}, heat-resistant") } else { what };
            vec![what, format!("{mm2} mm²"), runs.to_string(), listed(&tags), String::new()]
        })
        .collect();
    let columns = [
        words("Type", 62.0),
        words("Cores", 18.0),
        figures("Runs", 12.0),
        words("Tags", 56.0),
        words("m", 24.0),
    ];
    flow.table(&columns, &rows);
}

/// The attributes that tell one part of a kind from another: "210 litres, coil 21 kW".
fn data_of(system: &System, kind: Kind, attrs: &Attrs, part: Option<&Part>) -> String {
    let mut said = Vec::new();
    // A tundish is ordered by the pipe below it.
    let outlet = part.filter(|p| p.kind.key == "tundish").and_then(|p| below(system, p));
    said.extend(outlet.map(|size| format!("for {size} mm pipe below")));
    for (key, value) in &attrs.0 {
        // Whom a switch serves is for the wiring.
        let lifted = key == "height" && !kind.attrs.contains_key("diameter");
        let said_elsewhere = key.starts_with("port.") || key == "for" || lifted;
        if said_elsewhere || (kind.key == "tundish" && key == "size") {
            continue;
        }
        let unit = match kind.attrs.get(key).map_or("", String::as_str) {
            "l" => "litres",
            "m2" => "m²",
            "m3/h" => "m³/h",
            unit => unit,
        };
        let name = in_words(key);
        said.push(match (&value.value, key.as_str()) {
            (Datum::Number(n), "fall") => format!("fall 1 in {}", plain(*n)),
            (Datum::Number(n), "kw" | "litres" | "watts") => format!("{} {unit}", plain(*n)),
            (Datum::Number(n), "outlet") => format!("{} in outlet", in_inches(*n)),
            (Datum::Number(n), _) => format!("{name} {} {unit}", plain(*n)).trim().to_owned(),
            (Datum::Text(t), "visible") => format!("seen from {t}"),
            (Datum::Text(t), "guards") => format!("guards the {t}"),
            (Datum::Text(t), "connection") => format!("{t} connection"),
            (Datum::Text(t), "reset") if t == "manual" => "reset by hand".to_owned(),
            (Datum::Text(t), _) if t.starts_with(&name) => t.clone(),
            (Datum::Text(t), _) => format!("{name} {t}"),
            (Datum::Flag(true), _) => name,
            (Datum::Flag(false), _) => continue,
        });
    }
    said.join(", ")
}

/// The size of the pipe that leaves a part.
fn below(system: &System, part: &Part) -> Option<String> {
    let ix = system.by_tag(&part.tag)?;
    let leaving = system.pipes.iter().find(|p| p.from.part == ix)?;
    leaving.size.as_ref().map(|s| s.value.clone())
}

/// Threads are called by their fractions.
fn in_inches(n: f64) -> String {
    match n {
        0.5 => "½".to_owned(),
        0.75 => "¾".to_owned(),
        _ => plain(n),
    }
}

/// An attribute's key as the trade says it.
fn in_words(key: &str) -> String {
    match key {
        "coil-kw" | "coil-litres" => "coil".to_owned(),
        "coil-area" => "coil surface".to_owned(),
        "solar-coil-kw" => "solar coil".to_owned(),
        "working-pressure" => "greatest working pressure".to_owned(),
        "max-inlet" => "greatest inlet pressure".to_owned(),
        "max-pressure" => "greatest pressure".to_owned(),
        "max-stored" => "greatest stored".to_owned(),
        "min-flow" => "least flow".to_owned(),
        "min-kw" => "least output".to_owned(),
        "min-litres" => "least volume".to_owned(),
        "water" => "water content".to_owned(),
        "kv" => "Kv".to_owned(),
        "litres-a-minute" => "flow".to_owned(),
        _ => key.replace('-', " "),
    }
}
