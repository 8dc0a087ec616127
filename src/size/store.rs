//! The hot water store: reheat, daily demand, standing loss, mixing. Volumes in litres, power in
//! kW, temperatures in °C.

use libm::{cbrt, exp, pow};

use super::water;

/// Energy to warm `litres` from `cold` to `hot`, kWh; density and heat capacity at the middle.
pub fn energy(litres: f64, cold: f64, hot: f64) -> f64 {
    let w = water::water_at(0.5 * (cold + hot), 0.1015);
    litres * w.heat_per_litre() * (hot - cold) / 3600.0
}

/// Minutes to warm `litres` from `cold` to `hot` with `kw`.
pub fn reheat_minutes(litres: f64, cold: f64, hot: f64, kw: f64) -> f64 {
    energy(litres, cold, hot) / kw * 60.0
}

/// The shortcut of MIS 3005-D: t = V dT/(14.3 P).
pub fn reheat_shortcut(litres: f64, kelvin: f64, kw: f64) -> f64 {
    litres * kelvin / (14.3 * kw)
}

/// Persons in a dwelling of that floor area, m2 (SAP 2012, Table 1b).
pub fn persons_by_area(area: f64) -> f64 {
    if area <= 13.9 {
        return 1.0;
    }
    let a = area - 13.9;
    1.0 + 1.76 * (1.0 - exp(-0.000_349 * a * a)) + 0.0013 * a
}

/// Litres a day by SAP 2012: 25 N + 36.
pub fn daily_by_area(area: f64) -> f64 {
    25.0 * persons_by_area(area) + 36.0
}

/// SAP 2012, Tables 1c and 1d: monthly share of the mean day and temperature rise, K; days.
const MONTHS: [(f64, f64, f64); 12] = [
    (1.10, 41.2, 31.0),
    (1.06, 41.4, 28.0),
    (1.02, 40.1, 31.0),
    (0.98, 37.6, 30.0),
    (0.94, 36.4, 31.0),
    (0.90, 33.9, 30.0),
    (0.90, 30.4, 31.0),
    (0.94, 33.4, 31.0),
    (0.98, 33.5, 30.0),
    (1.02, 36.3, 31.0),
    (1.06, 39.4, 30.0),
    (1.10, 39.9, 31.0),
];

/// Energy in the hot water of a year by SAP 2012, kWh, for `daily` litres a day.
pub fn yearly_energy(daily: f64) -> f64 {
    MONTHS.iter().map(|(f, rise, days)| 4.190 * daily * f * days * rise / 3600.0).sum()
}

/// Litres a day by MIS 3005-D: 45 for each person; persons = the greater of bedrooms + 1 and
/// the occupants told.
pub fn daily_by_persons(bedrooms: f64, occupants: Option<f64>) -> f64 {
    45.0 * (bedrooms + 1.0).max(occupants.unwrap_or(0.0))
}

/// Standing loss by SAP 2012, Tables 2, 2a, 2b: factory foam of `insulation` mm, indirect or
/// immersion with a cylinder thermostat. kWh a day.
pub fn standing_loss_sap(litres: f64, insulation: f64) -> f64 {
    litres * sap_loss_factor(insulation) * sap_volume_factor(litres) * 0.60
}

/// SAP 2012, Table 2: kWh a litre and day.
pub fn sap_loss_factor(insulation: f64) -> f64 {
    0.005 + 0.55 / (insulation + 4.0)
}

/// SAP 2012, Table 2a.
pub fn sap_volume_factor(litres: f64) -> f64 {
    cbrt(120.0 / litres)
}

/// Greatest standing loss, kWh a day: 1.15 (0.2 + 0.051 V^(2/3)), Domestic Building Services
/// Compliance Guide, from memory.
pub fn standing_loss_limit(litres: f64) -> f64 {
    1.15 * (0.2 + 0.051 * pow(litres, 2.0 / 3.0))
}

/// Share of hot water in a blend.
pub fn hot_share(mixed: f64, hot: f64, cold: f64) -> f64 {
    ((mixed - cold) / (hot - cold)).clamp(0.0, 1.0)
}

/// Litres at `mixed` that a store gives without mixing inside: V (Ts - Tc)/(Tm - Tc).
pub fn mixed_volume(litres: f64, hot: f64, cold: f64, mixed: f64) -> f64 {
    litres * (hot - cold) / (mixed - cold)
}

/// Water from a blending valve of `hot` and `cold` flows at their temperatures.
pub fn blended(hot: (f64, f64), cold: (f64, f64)) -> f64 {
    (hot.0 * hot.1 + cold.0 * cold.1) / (hot.0 + cold.0)
}
