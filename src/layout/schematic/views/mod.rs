//! What each sheet of a schematic shows. In: the whole system. Out: that system, or for flats by
//! rule one view of the risers, each flat a box, and one of a flat of each type; or, where the
//! largest sheet is too small, its pieces. A match mark stands wherever a pipe goes on on another
//! sheet, and the same mark stands there.

mod cut;
mod flats;
mod halves;
mod split;

pub use flats::views;
pub use split::{last_mark, pieces_as_before, split_until};

use crate::model::System;

/// What one sheet shows.
#[derive(Clone)]
pub struct View {
    pub key: String,
    pub title: String,
    /// How match marks on other sheets call it: part of its title.
    pub name: String,
    pub system: System,
}
