//! The schematic: where every symbol, pipe and label goes on paper. In: the sized system. Out: a
//! plan in mm. Knows the trade's habits; which way is up for a vent, left for a boiler.

mod pose;

pub use pose::{Edge, Pose};
