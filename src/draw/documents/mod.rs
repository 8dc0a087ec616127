//! The sheets that are words and tables: building control, calculations, findings, setting-out
//! table, schedule, records, the householder's card. In: what the stages before found out. Out:
//! undressed sheets. Nothing here is worked out anew: every figure is read from a stage.

mod building_control;
mod calculations;
mod commissioning;
mod findings;
mod householder;
mod labels;
mod records;
mod schedule;
mod setting_out;
mod verdicts;
mod words;

pub use building_control::building_control;
pub use calculations::calculations;
pub use findings::{against, findings};
pub use householder::{householder, say_not_valid};
pub use labels::labels;
pub use records::records;
pub use schedule::{Row, schedule};
pub use setting_out::setting_out;
pub use words::listed;
