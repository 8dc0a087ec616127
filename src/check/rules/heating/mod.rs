//! HTG: flow, heat and air in the heating circuits.

mod air;
mod bypass;
mod care;
mod controls;
mod direction;
mod flow;
mod heat_pump;
mod power;
mod temperature;

use crate::check::rule::Rule;

pub const RULES: &[&[Rule]] = &[
    bypass::RULES,
    flow::VELOCITY,
    flow::HEAD,
    controls::RULES,
    power::RULES,
    flow::HEADER,
    temperature::FLOOR,
    heat_pump::RULES,
    care::RULES,
    temperature::FLOW,
    direction::RULES,
    bypass::LEAST,
];
