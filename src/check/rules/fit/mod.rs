//! FIT: whether it goes in, fits, and can be served. From the cupboard as laid out where there is
//! one, else from the site's own numbers.

pub mod bodies;
mod door;
mod pipes;
mod ports;
mod slips;
mod withdrawal;

use crate::check::rule::Rule;

pub const RULES: &[&[Rule]] = &[
    door::RULES,
    withdrawal::RULES,
    bodies::OVERLAP,
    bodies::ACCESS,
    bodies::OVERHEAD,
    pipes::SPACING,
    bodies::DOOR_SWEEP,
    pipes::TAILS,
    ports::RULES,
    slips::RULES,
    pipes::ORDER,
    slips::DATUM,
    bodies::HIDDEN,
];
