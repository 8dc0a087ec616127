//! The water engineer's tables. In: `hydraulics.toml` and `glycol.toml`. Out: typed rows.

use std::sync::LazyLock;

use serde::Deserialize;

/// Loss factor of a fitting on the velocity head, by the nominal size of the pipe it sits in.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FittingRow {
    pub name: String,
    d15: f64,
    d22: f64,
    d28: f64,
    d35: f64,
    pub mark: String,
}

impl FittingRow {
    /// The factor in a pipe of that outside diameter, mm.
    pub fn zeta(&self, od: f64) -> f64 {
        match od {
            d if d < 18.5 => self.d15,
            d if d < 25.0 => self.d22,
            d if d < 31.5 => self.d28,
            _ => self.d35,
        }
    }
}

/// What an outlet asks for: flows in l/s, loading units.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct OutletRow {
    /// Key of the kind.
    pub kind: String,
    /// EN 806-3, Table 2.
    pub en: f64,
    pub en_least: f64,
    pub en_units: u32,
    /// BS 8558 (flows) and BS 6700, Table D.1 (units).
    pub bs: f64,
    pub bs_least: f64,
    pub bs_units: f64,
    /// Draws hot as well as cold.
    #[serde(default)]
    pub hot: bool,
    #[serde(default)]
    pub bath: bool,
}

/// Greatest loading units that a bore carries (EN 806-3, Tables 3).
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CarriesRow {
    pub family: String,
    /// mm.
    pub bore: f64,
    pub units: u32,
    /// Only up to that length, m.
    pub length: Option<f64>,
    /// Greatest single outlet, loading units.
    pub single: Option<u32>,
    pub mark: String,
}

/// A point of the curve from loading units to design flow, l/s.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CurveRow {
    pub method: String,
    pub units: f64,
    pub flow: f64,
    pub mark: String,
}

/// Greatest loss of a pipe, W/m at 60 °C in still air at 15 °C.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LaggingRow {
    pub od: f64,
    pub loss: f64,
}

/// The vessel that suppliers fit to a store of up to so many litres.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CustomaryVesselRow {
    pub store: f64,
    pub vessel: f64,
    pub mark: String,
}

/// Sizes of vessels as stocked, litres.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct VesselSizes {
    pub heating: Vec<f64>,
    pub potable: Vec<f64>,
    pub solar: Vec<f64>,
    pub source: String,
    pub mark: String,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Hydraulics {
    pub fitting: Vec<FittingRow>,
    pub outlet: Vec<OutletRow>,
    pub carries: Vec<CarriesRow>,
    pub flow_curve: Vec<CurveRow>,
    /// Heads of circulating pumps as stocked, m.
    pub pump_heads: Vec<f64>,
    pub lagging_limit: Vec<LaggingRow>,
    pub customary_vessel: Vec<CustomaryVesselRow>,
    pub vessel_sizes: VesselSizes,
}

/// A mixture of water and glycol at 0, 10, … 100 °C.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct GlycolRow {
    /// "propylene" or "ethylene".
    pub glycol: String,
    /// Percent by mass.
    pub percent: f64,
    /// Freezing point, °C.
    pub freeze: f64,
    /// kg/m3.
    pub rho: [f64; 11],
    /// mPa s.
    pub mu: [f64; 11],
    /// J/(kg K).
    pub cp: [f64; 11],
    pub source: String,
    pub mark: String,
}

#[derive(Deserialize)]
struct GlycolTable {
    mix: Vec<GlycolRow>,
}

/// The tables.
///
/// # Panics
/// Where the embedded table does not parse: a fault of the program, caught by a test.
pub fn hydraulics() -> &'static Hydraulics {
    static TABLE: LazyLock<Hydraulics> = LazyLock::new(|| {
        toml::from_str(include_str!("hydraulics.toml"))
            .unwrap_or_else(|e| panic!("hydraulics.toml: {e}"))
    });
    &TABLE
}

/// Loss factor of a fitting in a pipe of that outside diameter, mm.
///
/// # Panics
/// Where the table lacks the fitting: a fault of the program, caught by a test.
pub fn zeta(fitting: &str, od: f64) -> f64 {
    let row = hydraulics().fitting.iter().find(|f| f.name == fitting);
    row.unwrap_or_else(|| panic!("the catalogue lacks the fitting {fitting:?}")).zeta(od)
}

/// Mixtures, by glycol and percent, weakest first.
///
/// # Panics
/// Where the embedded table does not parse: a fault of the program, caught by a test.
pub fn glycols() -> &'static [GlycolRow] {
    static TABLE: LazyLock<Vec<GlycolRow>> = LazyLock::new(|| {
        let table: GlycolTable = toml::from_str(include_str!("glycol.toml"))
            .unwrap_or_else(|e| panic!("glycol.toml: {e}"));
        table.mix
    });
    &TABLE
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::Kind;

    #[test]
    fn the_tables_parse_and_name_kinds_that_exist() {
        for o in &hydraulics().outlet {
            assert!(Kind::of(&o.kind).is_some(), "{}", o.kind);
        }
        assert_eq!(zeta("elbow", 22.0), 0.9);
        assert_eq!(glycols().len(), 12);
    }
}
