//! Text → facts. In: a KDL 2 description. Out: [`facts::Facts`] with spans, and every fault of the
//! text at once. Nothing is filled in, nothing is judged.

pub mod facts;
