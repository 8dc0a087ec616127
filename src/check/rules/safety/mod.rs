//! SAF: what keeps stored water from boiling and a store from bursting.

mod coil_valve;
mod relief;
mod settings;
mod sources;
mod temperature;

use crate::check::rule::Rule;

pub const RULES: &[&[Rule]] = &[
    relief::TEMPERATURE_RELIEF,
    sources::CUT_OUTS,
    coil_valve::SHUT_OFF,
    relief::FREE_WAY,
    settings::PRESSURES,
    sources::SIZE,
    temperature::RULES,
    coil_valve::DIVERTER,
    settings::COIL,
    coil_valve::RETURN,
    sources::SECOND_CUT_OUT,
    sources::LABEL,
];
