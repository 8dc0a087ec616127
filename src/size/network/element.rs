//! What a link loses. In: a flow. Out: loss in Pa, positive along the flow, and its slope.

use super::GRAVITY;
use crate::size::friction::{exponent, fitting_loss, friction, valve_loss};
use crate::size::water::Properties;

/// Below this flow, l/s, losses that go by the square run straight, so that their slope never
/// vanishes.
const STRAIGHT: f64 = 1e-4;
/// What a shut check valve lets through: Pa for each l/s.
const SHUT: f64 = 1e10;

#[derive(Clone, Debug, PartialEq)]
pub enum Element {
    /// Bore and roughness in mm, length in m, sum of loss factors.
    Pipe { bore: f64, roughness: f64, metres: f64, zeta: f64 },
    /// Kv, m3/h.
    Valve { kv: f64 },
    /// Kv of a valve that passes water one way only.
    Check { kv: f64 },
    /// An automatic bypass: shut up to `pa`, then open by its Kv; one way only.
    Bypass { pa: f64, kv: f64 },
    /// Flow l/s and head in metres of the liquid, by rising flow; straight between the points and
    /// beyond the last.
    Pump { curve: Vec<(f64, f64)> },
    /// A loss of `pa` at `flow`, by the square: a coil, a source, a circuit that states it.
    Stated { pa: f64, flow: f64 },
}

impl Element {
    /// False where a number makes no sense.
    pub fn is_sound(&self) -> bool {
        let positive = |x: f64| x.is_finite() && x > 0.0;
        match self {
            Element::Pipe { bore, roughness, metres, zeta } => {
                positive(*bore)
                    && roughness.is_finite()
                    && (0.0..*bore).contains(roughness)
                    && metres.is_finite()
                    && zeta.is_finite()
                    && *metres >= 0.0
                    && *zeta >= 0.0
                    && metres + zeta > 0.0
            }
            Element::Valve { kv } | Element::Check { kv } => positive(*kv),
            Element::Bypass { pa, kv } => positive(*pa) && positive(*kv),
            Element::Pump { curve } => {
                curve.len() >= 2
                    && curve.iter().all(|(q, h)| q.is_finite() && h.is_finite())
                    && curve.windows(2).all(|w| w[1].0 > w[0].0 && w[1].1 < w[0].1)
            }
            Element::Stated { pa, flow } => positive(*pa) && positive(*flow),
        }
    }

    /// Loss, Pa, and slope, Pa/(l/s), at a flow in l/s of either sign.
    pub fn loss(&self, flow: f64, liquid: &Properties) -> (f64, f64) {
        match self {
            Element::Pipe { bore, roughness, metres, zeta } => {
                let at = |q: f64| {
                    let f = friction(q, *bore, *roughness, liquid);
                    let (straight, bends) =
                        (f.gradient * metres, fitting_loss(*zeta, f.velocity, liquid.rho));
                    let n = exponent(&f, roughness / bore);
                    (straight + bends, (n * straight + 2.0 * bends) / q)
                };
                odd(flow, at)
            }
            Element::Valve { kv } => odd(flow, square(valve_loss(*kv, 1.0))),
            Element::Check { kv } => {
                if flow < 0.0 {
                    (SHUT * flow, SHUT)
                } else {
                    odd(flow, square(valve_loss(*kv, 1.0)))
                }
            }
            Element::Bypass { pa, kv } => {
                if flow < 0.0 {
                    (pa + SHUT * flow, SHUT)
                } else {
                    let (loss, slope) = odd(flow, square(valve_loss(*kv, 1.0)));
                    (pa + loss, slope)
                }
            }
            Element::Stated { pa, flow: at } => odd(flow, square(pa / (at * at))),
            Element::Pump { curve } => {
                let i = curve.iter().position(|p| p.0 > flow).unwrap_or(curve.len() - 1).max(1);
                let (a, b) = (curve[i - 1], curve[i]);
                let slope = (b.1 - a.1) / (b.0 - a.0);
                let head = a.1 + slope * (flow - a.0);
                (-head * GRAVITY * liquid.rho, -slope * GRAVITY * liquid.rho)
            }
        }
    }
}

/// Loss and slope of what loses by the square of the flow.
fn square(at_one: f64) -> impl Fn(f64) -> (f64, f64) {
    move |q| (at_one * q * q, 2.0 * at_one * q)
}

/// A loss, with its slope, that changes sign with the flow; straight near no flow.
fn odd(flow: f64, at: impl Fn(f64) -> (f64, f64)) -> (f64, f64) {
    let q = flow.abs();
    if q < STRAIGHT {
        let slope = at(STRAIGHT).0 / STRAIGHT;
        return (slope * flow, slope);
    }
    let (loss, slope) = at(q);
    (loss * flow.signum(), slope.max(1e-6))
}
