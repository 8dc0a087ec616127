//! Expansion vessels. In: volumes, temperatures, pressures. Out: the least vessel by each published
//! method and the size to fit. Pressures are gauge bar, volumes litres.

use crate::catalogue::hydraulics::hydraulics;

/// A heating vessel by EN 12828.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HeatingVessel {
    /// Water in the system.
    pub system: f64,
    /// Growth of the water as a share.
    pub expansion: f64,
    /// Gas charge, gauge bar.
    pub charge: f64,
    /// Highest working pressure, gauge bar.
    pub highest: f64,
    /// Water reserve, litres.
    pub reserve: f64,
}

impl HeatingVessel {
    pub fn expanded(&self) -> f64 {
        self.expansion * self.system
    }

    /// (pe + 1)/(pe - p0); infinite where the charge leaves no room.
    pub fn pressure_factor(&self) -> f64 {
        if self.highest <= self.charge {
            return f64::INFINITY;
        }
        (self.highest + 1.0) / (self.highest - self.charge)
    }

    /// Vn = (Ve + Vwr)(pe + 1)/(pe - p0).
    pub fn least(&self) -> f64 {
        (self.expanded() + self.reserve) * self.pressure_factor()
    }

    /// For vessels up to 15 l: a fifth of the vessel is the reserve; Vn = Ve K/(1 - 0.2 K).
    pub fn least_by_fifth(&self) -> f64 {
        let k = self.pressure_factor();
        let room = 1.0 - 0.2 * k;
        if room <= 0.0 { f64::INFINITY } else { self.expanded() * k / room }
    }

    /// Lowest and highest cold fill that a vessel of `litres` allows.
    pub fn fill(&self, litres: f64) -> (f64, f64) {
        let lowest = litres * (self.charge + 1.0) / (litres - self.reserve) - 1.0;
        let share = self.expanded() * (self.highest + 1.0) / (litres * (self.charge + 1.0));
        (lowest, (self.highest + 1.0) / (1.0 + share) - 1.0)
    }
}

/// BS 7074-1 style: vessel = factor x system, the factor by the charge between the rows given
/// (charge, factor); beyond the last row the line goes on.
pub fn by_factor(system: f64, charge: f64, rows: &[(f64, f64)]) -> f64 {
    let factor = match rows.iter().position(|r| r.0 >= charge) {
        Some(0) => rows[0].1,
        Some(i) => line(rows[i - 1], rows[i], charge),
        None => match rows {
            [.., a, b] => line(*a, *b, charge),
            [only] => only.1,
            [] => f64::INFINITY,
        },
    };
    factor * system
}

fn line(a: (f64, f64), b: (f64, f64), x: f64) -> f64 {
    a.1 + (b.1 - a.1) * (x - a.0) / (b.0 - a.0)
}

/// The vessel of a mains-pressure store: V = Ve/a, a = 1 - (p0 + 1)/(pe + 1).
pub fn potable(expanded: f64, charge: f64, highest: f64) -> f64 {
    let acceptance = acceptance(charge, highest);
    if acceptance <= 0.0 { f64::INFINITY } else { expanded / acceptance }
}

/// The share of a vessel that can take water.
pub fn acceptance(charge: f64, highest: f64) -> f64 {
    1.0 - (charge + 1.0) / (highest + 1.0)
}

/// A solar vessel: what the fluid grows by, the collector's content that turns to steam, and the
/// reserve, all times the pressure factor.
pub fn solar(expanded: f64, steam: f64, reserve: f64, charge: f64, highest: f64) -> f64 {
    if highest <= charge {
        return f64::INFINITY;
    }
    (expanded + steam + reserve) * (highest + 1.0) / (highest - charge)
}

/// The smallest of the stocked sizes that holds at least `litres`; `None` beyond them.
pub fn pick(litres: f64, sizes: &[f64]) -> Option<f64> {
    sizes.iter().copied().find(|s| *s >= litres - 1e-9)
}

/// What suppliers fit to a store of that many litres; `None` beyond their range.
pub fn customary(store: f64) -> Option<f64> {
    hydraulics().customary_vessel.iter().find(|r| store <= r.store).map(|r| r.vessel)
}

/// Pressure of a column of water, bar a metre, at 10 °C.
pub fn static_bar(metres: f64) -> f64 {
    super::water::water(10.0).rho * 9.806_65 * metres / 1e5
}
