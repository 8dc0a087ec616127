//! The cupboard to scale: front elevation, plan, side elevations, setting-out sheets. In: the
//! sized system and the cupboard as placed and routed. Out: undressed sheets at an ISO 5455 scale.

mod around;
mod arrange;
mod bodies;
mod callouts;
mod choose;
mod clips;
mod crowd;
mod cutting;
mod dimension;
mod elevation;
mod eye;
mod guests;
mod isometric;
mod labels;
mod lists;
mod margins;
mod measured;
mod misread;
mod pipework;
mod request;
mod room;
mod scene;
mod section;
mod services;
mod sight;
mod spots;
mod surfaces;
mod taken;
mod view;
mod walls;

pub use bodies::plain_body;
pub use elevation::sheets;
pub use isometric::isometric;
pub use surfaces::hole_marks;
pub use view::{Projection, View};
pub use walls::setting_out_sheets;
