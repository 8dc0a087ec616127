//! WAT: hot and cold water, kept apart from what would spoil it, balanced, in good supply.

mod backflow;
mod balance;
mod drinking;
pub mod service;
mod supply;
mod warmth;

use crate::check::rule::Rule;

pub const RULES: &[&[Rule]] = &[
    backflow::CHECK,
    balance::MIXERS,
    backflow::FILLING,
    backflow::CIRCULATION,
    drinking::RULES,
    backflow::PUMP,
    service::DRAIN,
    supply::MAIN,
    service::STRAINER,
    supply::SCALE,
    backflow::CROSSED,
    warmth::COLD,
    warmth::WAIT,
    service::SERVICE_VALVES,
    balance::RESIDUAL,
    backflow::OUTSIDE,
    supply::ACCUMULATOR,
];
