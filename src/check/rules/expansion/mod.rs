//! EXP: room for water that grows.

mod heating_vessel;
mod hot_vessel;
mod isolation;
mod vessel_size;

use crate::check::rule::Rule;

pub const RULES: &[&[Rule]] = &[
    hot_vessel::PROVISION,
    vessel_size::HOT,
    hot_vessel::CHARGE,
    vessel_size::HEATING,
    hot_vessel::FIXING,
    heating_vessel::POSITION,
    isolation::RULES,
    hot_vessel::REDUNDANT,
    vessel_size::LOOP,
    heating_vessel::FILL,
    vessel_size::SOLAR,
    heating_vessel::WINDOW,
];
