//! Loss of pressure by friction, fittings and valves. In: flow, bore, roughness, liquid. Out:
//! velocity, Reynolds number, friction factor, Pa/m.
//!
//! Darcy-Weisbach with the exact root of Colebrook-White from Re 4000, 64/Re below Re 2320, and
//! between the two a straight line in Re.

use libm::log10;

use super::water::Properties;

const LAMINAR_TO: f64 = 2320.0;
const TURBULENT_FROM: f64 = 4000.0;

/// What a flow does in a pipe.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Friction {
    /// m/s.
    pub velocity: f64,
    pub reynolds: f64,
    /// Darcy factor.
    pub factor: f64,
    /// Pa/m.
    pub gradient: f64,
}

/// Velocity of `flow` l/s in a bore of `bore` mm, m/s.
pub fn velocity(flow: f64, bore: f64) -> f64 {
    let d = bore / 1000.0;
    4.0 * flow / 1000.0 / (std::f64::consts::PI * d * d)
}

/// Friction of `flow` l/s in a pipe of `bore` mm and `roughness` mm.
pub fn friction(flow: f64, bore: f64, roughness: f64, liquid: &Properties) -> Friction {
    let velocity = velocity(flow.abs(), bore);
    let d = bore / 1000.0;
    let reynolds = velocity * d / liquid.nu();
    let factor = darcy(reynolds, roughness / bore);
    let gradient = factor / d * velocity_head(velocity, liquid.rho);
    Friction { velocity, reynolds, factor, gradient }
}

/// Darcy's friction factor; `relative` is roughness over bore.
pub fn darcy(reynolds: f64, relative: f64) -> f64 {
    if reynolds <= 0.0 {
        0.0
    } else if reynolds < LAMINAR_TO {
        64.0 / reynolds
    } else if reynolds < TURBULENT_FROM {
        let (low, high) = (64.0 / LAMINAR_TO, colebrook(TURBULENT_FROM, relative));
        low + (high - low) * (reynolds - LAMINAR_TO) / (TURBULENT_FROM - LAMINAR_TO)
    } else {
        colebrook(reynolds, relative)
    }
}

/// The exact root of Colebrook-White, by Newton's method on 1/sqrt(f).
pub fn colebrook(reynolds: f64, relative: f64) -> f64 {
    let (rough, smooth) = (relative / 3.7, 2.51 / reynolds);
    let per_ten = std::f64::consts::LOG10_E;
    let mut x = 7.0;
    for _ in 0..30 {
        let inner = rough + smooth * x;
        let error = x + 2.0 * log10(inner);
        let step = error / (1.0 + 2.0 * per_ten * smooth / inner);
        x -= step;
        if step.abs() < 1e-13 * x {
            break;
        }
    }
    1.0 / (x * x)
}

/// The power of the flow by which friction grows where it stands: 1 in laminar flow, up to 2 in
/// rough pipes.
pub fn exponent(at: &Friction, relative: f64) -> f64 {
    let (reynolds, factor) = (at.reynolds, at.factor);
    if reynolds < LAMINAR_TO {
        1.0
    } else if reynolds < TURBULENT_FROM {
        let (low, high) = (64.0 / LAMINAR_TO, colebrook(TURBULENT_FROM, relative));
        2.0 + reynolds / factor * (high - low) / (TURBULENT_FROM - LAMINAR_TO)
    } else {
        // d(ln f)/d(ln Re) from Colebrook-White as it stands.
        let smooth = 2.51 / reynolds;
        let inner = relative / 3.7 + smooth / factor.sqrt();
        let share = 2.0 * std::f64::consts::LOG10_E * smooth / inner;
        2.0 - 2.0 * share / (1.0 + share)
    }
}

/// Pressure of a velocity, Pa.
pub fn velocity_head(velocity: f64, rho: f64) -> f64 {
    rho * velocity * velocity / 2.0
}

/// Loss of a fitting with the factor `zeta` on the velocity head, Pa.
pub fn fitting_loss(zeta: f64, velocity: f64, rho: f64) -> f64 {
    zeta * velocity_head(velocity, rho)
}

/// Loss of a valve of that Kv (m3/h at 1 bar) at `flow` l/s, Pa.
pub fn valve_loss(kv: f64, flow: f64) -> f64 {
    let ratio = flow * 3.6 / kv;
    ratio * ratio * 1e5
}

/// Kv of a loss factor in a bore of `bore` mm.
pub fn kv_of_zeta(zeta: f64, bore: f64) -> f64 {
    // 3600 s/h x pi/4 x sqrt(2 x 1e5 / 1000) m/s, in mm2.
    3600.0 * std::f64::consts::FRAC_PI_4 * 200f64.sqrt() * 1e-6 * bore * bore / zeta.sqrt()
}

/// Kv of valves one after the other.
pub fn kv_in_series(kvs: &[f64]) -> f64 {
    1.0 / kvs.iter().map(|kv| 1.0 / (kv * kv)).sum::<f64>().sqrt()
}

/// The flow that loses `gradient` Pa/m, l/s.
pub fn flow_at_gradient(gradient: f64, bore: f64, roughness: f64, liquid: &Properties) -> f64 {
    let (mut low, mut high) = (0.0, bore * bore / 100.0);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if friction(middle, bore, roughness, liquid).gradient < gradient {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

/// The flow that carries `kw` at a fall of `kelvin`, l/s.
pub fn flow_for(kw: f64, kelvin: f64, liquid: &Properties) -> f64 {
    kw / (liquid.heat_per_litre() * kelvin)
}

/// The heat that `flow` l/s carries at a fall of `kelvin`, kW.
pub fn heat_of(flow: f64, kelvin: f64, liquid: &Properties) -> f64 {
    flow * liquid.heat_per_litre() * kelvin
}
