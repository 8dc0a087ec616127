//! The liquid in a circuit: water, or water with glycol. In: what it is and its temperature.
//! Out: its properties. Source of the mixtures: the tables of `catalogue::hydraulics`.

use libm::{exp, log};

use super::water::{self, Properties};
use crate::catalogue::hydraulics::{GlycolRow, glycols};

/// What flows in a circuit.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum Liquid {
    #[default]
    Water,
    /// Glycol by name and percent by mass.
    Glycol(String, f64),
}

impl Liquid {
    /// Properties at `celsius`. A glycol the tables lack counts as water.
    pub fn at(&self, celsius: f64) -> Properties {
        match self {
            Liquid::Water => water::water(celsius),
            Liquid::Glycol(name, percent) => {
                mixture(name, *percent, celsius).unwrap_or_else(|| water::water(celsius))
            }
        }
    }

    /// By what share it grows from `cold` to `hot` degrees C.
    pub fn expansion(&self, cold: f64, hot: f64) -> f64 {
        match self {
            Liquid::Water => water::expansion(cold, hot),
            Liquid::Glycol(..) => self.at(cold).rho / self.at(hot).rho - 1.0,
        }
    }
}

/// A mixture by mass, between the rows of the table; beyond its ends the end is taken. `None`
/// where the table lacks the glycol.
fn mixture(name: &str, percent: f64, celsius: f64) -> Option<Properties> {
    let rows: Vec<&GlycolRow> = glycols().iter().filter(|r| r.glycol == name).collect();
    let (first, last) = (rows.first()?, rows.last()?);
    if percent <= 0.0 {
        return Some(water::water(celsius));
    }
    if percent < first.percent {
        let share = percent / first.percent;
        return Some(between(water::water(celsius), of_row(first, celsius), share));
    }
    if percent >= last.percent {
        return Some(of_row(last, celsius));
    }
    let upper = rows.iter().position(|r| r.percent > percent)?;
    let (low, high) = (rows[upper - 1], rows[upper]);
    let share = (percent - low.percent) / (high.percent - low.percent);
    Some(between(of_row(low, celsius), of_row(high, celsius), share))
}

/// Viscosity goes by its logarithm, the rest straight.
fn between(a: Properties, b: Properties, share: f64) -> Properties {
    let mix = |x: f64, y: f64| x + (y - x) * share;
    Properties {
        rho: mix(a.rho, b.rho),
        mu: exp(mix(log(a.mu), log(b.mu))),
        cp: mix(a.cp, b.cp),
        k: mix(a.k, b.k),
    }
}

fn of_row(row: &GlycolRow, celsius: f64) -> Properties {
    let at = celsius.clamp(0.0, 100.0) / 10.0;
    let low = (at.floor() as usize).min(row.rho.len() - 2);
    let share = at - low as f64;
    let mix = |cells: &[f64]| cells[low] + (cells[low + 1] - cells[low]) * share;
    let mu = exp(log(row.mu[low]) + (log(row.mu[low + 1]) - log(row.mu[low])) * share);
    // Conductivity is not tabulated for mixtures; nothing that uses them asks for it.
    Properties { rho: mix(&row.rho), mu, cp: mix(&row.cp), k: water::water(celsius).k }
}
