//! The schematic: where every symbol, pipe and label goes on paper. In: the sized system. Out: a
//! plan in mm. Knows the trade's habits; which way is up for a vent, left for a boiler.

mod assign;
mod before;
mod canvas;
mod columns;
mod exact;
mod fit;
mod label;
mod leader;
mod line;
mod lists;
mod loose;
mod marks;
mod net;
mod outline;
mod place;
mod plan;
mod pose;
mod route;
mod straighten;
mod trunk;
mod views;
mod words;

pub use before::{NEAR, moved};
pub use fit::{lay_out, lay_out_after, paper};
pub use label::{HEIGHT, PITCH};
pub use lists::{Entry, Lists, lists};
pub use plan::{About, Arrow, Jump, Label, Page, PlacedSymbol, SchematicPlan, Sheet, UnitFrame};
pub use pose::{Edge, Pose};
pub use route::rank;
