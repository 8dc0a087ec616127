//! Placed things → sheets. In: the system, its sizes and findings, and the layouts. Out:
//! [`scene::Sheet`]s in mm on paper. No file format is known here.

pub mod cupboard;
pub mod documents;
pub mod flags;
pub mod frame;
pub mod quality;
pub mod scene;
pub mod schematic;
pub mod style;
pub mod symbols;
pub mod tables;
pub mod told;
pub mod wiring;
