//! DIS: from the relief valves through the tundish to a safe place outside.

mod below;
mod end;
mod heights;
mod size;
mod tundish;

use crate::check::rule::Rule;

pub const RULES: &[&[Rule]] = &[
    tundish::DISTANCE,
    tundish::PLACE,
    heights::FIRST_DROP,
    size::TOO_SMALL,
    below::FALL,
    heights::OUTLET_TOO_LOW,
    below::MATERIAL,
    end::STACK,
    size::COMMON,
    size::ABOVE,
    tundish::ELECTRICS,
    heights::BUDGET,
    tundish::UNSEEN,
    end::TERMINATION,
    size::BEYOND,
    size::NO_ELBOW_LEFT,
    below::FROST,
    below::UNDERSTATED,
];
