//! The plain data every stage shares: the component graph with its parts, pipes, site and job.
//! Nothing here decides anything. Lengths are mm, pressures gauge bar, powers kW, volumes litres,
//! temperatures degrees C, flows l/s, unless a name says otherwise.

pub mod dwelling;
mod geometry;
mod job;
mod part;
mod pipe;
mod service;
mod site;
pub mod stopping;
mod system;
mod value;

pub use geometry::{Box3, P2, P3, Rect, cross, to_segment, whole_mm};
pub use job::{Job, Revision, Ruleset};
pub use part::{HOUSE, Part, PartIx, Place, Unit, UnitIx};
pub use pipe::{Pipe, PipeIx, PortRef, Tail};
pub use service::{Service, Water};
pub use site::{Cupboard, Door, Floor, Obstacle, Side, Site, Wall};
pub use system::System;
pub use value::{Assumption, Attrs, Datum, Origin, Span, Value};
