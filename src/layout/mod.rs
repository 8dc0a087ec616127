//! Where everything goes. In: the sized system and the wiring. Out: plans in mm: on paper for the
//! schematic and the wiring, in the room for the cupboard.
//!
//! `graph` and `space` are engines that know no plumbing: symbols with ports on a sheet, bodies
//! with ports in a room. `schematic` and `cupboard` bring the trade's knowledge to them.

pub mod cupboard;
pub mod graph;
pub mod schematic;
pub mod space;
pub mod wiring;
