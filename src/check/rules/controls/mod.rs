//! CTL: the electrical half, told from the netlist: its simulation, its proofs and its own rules.

mod cables;
mod supply;
mod wiring;

use crate::check::rule::Rule;

pub const RULES: &[&[Rule]] = &[
    wiring::INTERLOCKS,
    supply::FUSES,
    wiring::BOILER,
    cables::RULES,
    supply::NOTICE,
    wiring::NEUTRAL,
];
