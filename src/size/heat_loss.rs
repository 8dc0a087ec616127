//! Heat lost by a pipe to still air. In: diameters, lagging, temperatures. Out: W/m.
//!
//! EN ISO 12241 for a horizontal pipe indoors; the wall of a metal pipe is left out.

use libm::{cbrt, log, pow};

const STEFAN_BOLTZMANN: f64 = 5.670_374e-8;
const KELVIN: f64 = 273.15;

/// A pipe in air.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lagged {
    /// Outside diameter of the pipe, mm.
    pub od: f64,
    /// Thickness of the lagging, mm; 0 = bare.
    pub thickness: f64,
    /// Conductivity of the lagging, W/(m K).
    pub conductivity: f64,
    /// Emissivity of the surface.
    pub emissivity: f64,
    /// °C.
    pub inside: f64,
    pub air: f64,
}

impl Lagged {
    /// Outside diameter with lagging, m.
    fn outer(&self) -> f64 {
        (self.od + 2.0 * self.thickness) / 1000.0
    }

    /// Resistance of the lagging of a metre, m K/W.
    fn resistance(&self) -> f64 {
        if self.thickness <= 0.0 {
            return 0.0;
        }
        log(self.outer() * 1000.0 / self.od) / (2.0 * std::f64::consts::PI * self.conductivity)
    }

    /// Loss of a metre with the coefficient at the surface given, W/m.
    pub fn loss_with(&self, coefficient: f64) -> f64 {
        (self.inside - self.air)
            / (self.resistance() + 1.0 / (std::f64::consts::PI * self.outer() * coefficient))
    }

    /// Loss of a metre, W/m, and the temperature of the surface, °C.
    pub fn loss(&self) -> (f64, f64) {
        if self.inside <= self.air {
            return (0.0, self.inside);
        }
        // The surface temperature by halving: what comes through the lagging falls with it, what
        // leaves the surface rises with it.
        let (mut low, mut high) = (self.air, self.inside);
        for _ in 0..60 {
            let surface = 0.5 * (low + high);
            let leaves = std::f64::consts::PI
                * self.outer()
                * self.coefficient(surface)
                * (surface - self.air);
            let comes = match self.resistance() {
                0.0 => f64::INFINITY,
                r => (self.inside - surface) / r,
            };
            if leaves < comes {
                low = surface;
            } else {
                high = surface;
            }
        }
        let surface = if self.thickness > 0.0 { 0.5 * (low + high) } else { self.inside };
        (self.loss_with(self.coefficient(surface)), surface)
    }

    /// Convection and radiation at the surface, W/(m2 K).
    fn coefficient(&self, surface: f64) -> f64 {
        let difference = (surface - self.air).max(1e-6);
        let d = self.outer();
        let convection = if d * d * d * difference <= 10.0 {
            1.25 * pow(difference / d, 0.25)
        } else {
            1.21 * cbrt(difference)
        };
        let (t1, t2) = (surface + KELVIN, self.air + KELVIN);
        let radiation = self.emissivity * STEFAN_BOLTZMANN * (t1 * t1 + t2 * t2) * (t1 + t2);
        convection + radiation
    }
}

/// The least lagging, mm, with which a pipe loses no more than `limit` W/m; `None` where 200 mm do
/// not suffice.
pub fn thickness_for(limit: f64, pipe: &Lagged) -> Option<f64> {
    let at = |thickness: f64| Lagged { thickness, ..*pipe }.loss().0;
    let (mut low, mut high) = (0.0, 200.0);
    if at(high) > limit {
        return None;
    }
    for _ in 0..50 {
        let middle = 0.5 * (low + high);
        if at(middle) > limit {
            low = middle;
        } else {
            high = middle;
        }
    }
    Some(high)
}
