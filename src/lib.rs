//! From a few facts about a mains-pressure cylinder to checked, sized, labelled drawings.
//!
//! The stages, in the order in which the data flows; each knows those before it and none after:
//!
//! 1. [`describe`]: text → [`describe::facts::Facts`], every value with its place in the text.
//! 2. [`complete`]: facts → [`model::System`], the component graph, every value with its origin.
//! 3. [`size`]: system → sizes and figures with their working.
//! 4. [`wire`]: system → netlist, state table, terminals.
//! 5. [`layout`]: where every symbol, part, pipe and label goes.
//! 6. [`check`]: findings and passes with margins, from the graph, the figures and the cupboard.
//! 7. [`draw`]: sheets in mm on paper.
//! 8. [`render`]: SVG, PNG, PDF.
//!
//! Beneath them lie [`model`] (plain data), [`catalogue`] (tables), [`lettering`] (the typeface)
//! and [`diagnostic`] (what is said about a text). The library touches no files and prints
//! nothing; [`cli`] does.

pub mod catalogue;
pub mod check;
pub mod cli;
pub mod complete;
pub mod describe;
pub mod diagnostic;
pub mod draw;
pub mod layout;
pub mod lettering;
pub mod model;
pub mod pipeline;
pub mod render;
pub mod size;
pub mod wire;
