//! The schedule for the merchant: parts by kind, and what the take-off counted. In: the system and
//! rows of the take-off. Out: sheets.

use std::collections::BTreeMap;

use super::words::{listed, plain, whereabouts};
use crate::draw::frame::TitleData;
use crate::draw::scene::{Paper, Sheet};
use crate::draw::tables::{Flow, figures, words};
use crate::model::{Datum, Part, System};

/// One row of the take-off: what, size, how many, unit, remark.
pub type Row = [String; 5];

pub fn schedule(system: &System, takeoff: &[Row], data: &TitleData) -> Vec<Sheet> {
    let mut flow = Flow::new("schedule", "Schedule of parts", Paper::A4_PORTRAIT, data);
    flow.paragraph(
        "Parts of a factory-made unit are in its price: they are listed with the unit's tag. Check \
         against the maker's list before ordering.",
    );
    flow.heading("Parts");
    let mut rows: BTreeMap<(String, String, String), Vec<&Part>> = BTreeMap::new();
    for part in &system.parts {
        // What the customer has or the job ends at; and the tees, which the take-off counts.
        let control = matches!(part.kind.symbol.name.as_str(), "control" | "blending-set");
        let other = part.kind.mount == crate::catalogue::Mount::Elsewhere
            && part.kind.mass == 0.0
            && !part.kind.heats
            && !control;
        if other || (part.kind.key == "tee" && !takeoff.is_empty() && part.unit.is_none()) {
            continue;
        }
        let unit = part.unit.map_or_else(String::new, |u| system.unit(u).kind.key.clone());
        let key = (part.kind.key.clone(), data_of(part), unit);
        rows.entry(key).or_default().push(part);
    }
    let rows: Vec<Vec<String>> = rows
        .into_iter()
        .map(|((kind, what, unit), parts)| {
            let tags: Vec<&str> = parts.iter().map(|p| p.tag.as_str()).collect();
            let place = whereabouts(&parts[0].place);
            let mut units: Vec<&str> = Vec::new();
            for unit in parts.iter().filter_map(|p| p.unit).map(|u| system.unit(u).tag.as_str()) {
                if !units.contains(&unit) {
                    units.push(unit);
                }
            }
            let place = if unit.is_empty() { place } else { format!("in {}", listed(&units)) };
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
    flow.table(&columns, &rows);
    if !takeoff.is_empty() {
        let lagged = takeoff.iter().any(|r| r[0] == "lagging");
        flow.heading(match lagged {
            true => "Pipe, fittings, clips, lagging",
            false => "Pipe, fittings, clips",
        });
        flow.paragraph(
            "What the cupboard takes, and the pipe to where it leaves; the rest of the house and \
             the cables (wiring tables) are not counted here.",
        );
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
    flow.finish()
}

/// The attributes that tell one part of a kind from another: "210 litres, coil 21 kW".
fn data_of(part: &Part) -> String {
    let mut said = Vec::new();
    for (key, value) in &part.attrs.0 {
        // Whom a switch serves is for the wiring.
        if key.starts_with("port.") || key == "for" {
            continue;
        }
        let unit = match part.kind.attrs.get(key).map_or("", String::as_str) {
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
            (Datum::Text(t), _) => format!("{name} {t}"),
            (Datum::Flag(true), _) => name,
            (Datum::Flag(false), _) => continue,
        });
    }
    said.join(", ")
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
        _ => key.replace('-', " "),
    }
}
