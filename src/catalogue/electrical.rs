//! Cords, cables and what devices take. In: `electrical.toml`. Out: typed rows.

use std::sync::LazyLock;

use serde::Deserialize;

/// A flexible cord.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cord {
    pub mm2: f64,
    pub amps: f64,
}

/// Flat twin-and-earth cable: current by installation method, loss in mV per A and m.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Flat {
    pub mm2: f64,
    /// Cross-section of the protective conductor, mm2.
    pub earth: f64,
    pub m100: f64,
    pub m101: f64,
    pub m102: f64,
    pub m103: f64,
    pub c: f64,
    pub a: f64,
    pub drop: f64,
}

/// One figure with its source.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ElectricalFigure {
    pub id: String,
    pub value: f64,
    pub unit: String,
    pub source: String,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    cord: Vec<Cord>,
    flat: Vec<Flat>,
    figure: Vec<ElectricalFigure>,
}

/// # Panics
/// Where the embedded table does not parse: a fault of the program, caught by a test.
fn table() -> &'static Table {
    static TABLE: LazyLock<Table> = LazyLock::new(|| {
        toml::from_str(include_str!("electrical.toml"))
            .unwrap_or_else(|e| panic!("electrical.toml: {e}"))
    });
    &TABLE
}

/// The cord of that cross-section.
pub fn cord(mm2: f64) -> Option<&'static Cord> {
    table().cord.iter().find(|c| c.mm2 == mm2)
}

/// The flat cable of that cross-section.
pub fn flat(mm2: f64) -> Option<&'static Flat> {
    table().flat.iter().find(|c| c.mm2 == mm2)
}

/// All flat cables, thinnest first.
pub fn flats() -> &'static [Flat] {
    &table().flat
}

/// A figure that the program itself names.
///
/// # Panics
/// Where the table lacks it: a fault of the program, caught by a test.
pub fn electrical(id: &str) -> &'static ElectricalFigure {
    table()
        .figure
        .iter()
        .find(|f| f.id == id)
        .unwrap_or_else(|| panic!("electrical.toml lacks {id:?}"))
}
