//! The cupboard: places every part, routes every pipe, proves that it fits. In: the sized system.
//! Out: [`plan::CupboardPlan`] in real mm.

pub mod plan;
