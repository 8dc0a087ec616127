//! The schedule for the merchant: parts by kind, and what the take-off counted. In: the system and
//! rows of the take-off. Out: sheets.

use std::collections::BTreeMap;

use super::words::{plain, whereabouts};
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
        if part.kind.mount == crate::catalogue::Mount::Elsewhere
            && part.kind.mass == 0.0
            && !part.kind.heats
        {
            continue;
        }
        let unit = part.unit.map_or_else(String::new, |u| system.unit(u).tag.clone());
        let key = (part.kind.key.clone(), data_of(part), unit);
        rows.entry(key).or_default().push(part);
    }
    let rows: Vec<Vec<String>> = rows
        .into_iter()
        .map(|((kind, what, unit), parts)| {
            let tags: Vec<&str> = parts.iter().map(|p| p.tag.as_str()).collect();
            let place = whereabouts(&parts[0].place);
            let place = if unit.is_empty() { place } else { format!("in {unit}") };
            vec![parts.len().to_string(), kind, what, tags.join(", "), place]
        })
        .collect();
    let columns = [
        figures("No.", 10.0),
        words("Part", 44.0),
        words("Data", 52.0),
        words("Tags", 42.0),
        words("Where", 24.0),
    ];
    flow.table(&columns, &rows);
    if !takeoff.is_empty() {
        flow.heading("Pipe, fittings, clips, lagging");
        let rows: Vec<Vec<String>> = takeoff.iter().map(|r| r.to_vec()).collect();
        let columns = [
            words("What", 52.0),
            words("Size", 24.0),
            figures("Quantity", 22.0),
            words("Unit", 16.0),
            words("Remark", 58.0),
        ];
        flow.table(&columns, &rows);
    }
    flow.finish()
}

/// The attributes that tell one part of a kind from another: "litres 210, coil-kw 21".
fn data_of(part: &Part) -> String {
    let mut said = Vec::new();
    for (key, value) in &part.attrs.0 {
        if key.starts_with("port.") {
            continue;
        }
        let unit = part.kind.attrs.get(key).map_or("", String::as_str);
        let text = match &value.value {
            Datum::Number(n) => format!("{key} {} {unit}", plain(*n)),
            Datum::Text(t) => format!("{key} {t}"),
            Datum::Flag(true) => key.clone(),
            Datum::Flag(false) => continue,
        };
        said.push(text.trim().to_owned());
    }
    said.join(", ")
}
