//! The electrician's sheets. In: the sized system and its wiring. Out: undressed A3 sheets: the
//! circuit diagram, the terminal diagram, the tables.

mod boxes;
mod chain;
mod circuit;
mod columns;
mod cores;
mod ladder;
mod lists;
mod names;
mod notes;
mod page;
mod symbols;
mod terminals;

pub use lists::{commissioning_rows, terminal_rows};

use super::frame::TitleData;
use super::scene::Sheet;
use crate::wire::Wiring;

/// All sheets of the wiring, in reading order; none where there is nothing to wire.
pub fn sheets(wiring: &Wiring, data: &TitleData) -> Vec<Sheet> {
    if wiring.devices.is_empty() {
        return Vec::new();
    }
    let mut sheets = circuit::circuit(wiring, data);
    sheets.extend(terminals::terminals(wiring, data));
    sheets.extend(lists::lists(wiring, data));
    sheets
}
