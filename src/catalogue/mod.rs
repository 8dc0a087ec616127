//! The tables: kinds of parts, tubes, limits, hydraulics. In: TOML rows embedded in the program, each
//! with its source or mark. Out: typed rows. No logic beyond look-up; a kind is added in
//! `kinds.toml` alone.

pub mod electrical;
pub mod hydraulics;
mod kind;
pub mod limits;
mod tube;

pub use kind::{Closes, Flow, Kind, KindRow, Mount, PortSpec, RealPort, Symbol, Turns, kinds};
pub use tube::{Tube, tubes};
