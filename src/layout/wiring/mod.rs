//! Where the wiring goes on paper. In: the netlist. Out: the ladder of the circuit diagram, the
//! strip and tracks of the terminal diagram.

pub mod ladder;
pub mod members;
pub mod strip;
pub mod tracks;
