//! What the title block and the rules need to know about the job.

use std::collections::BTreeMap;

use serde::Serialize;

use super::{Span, Value};

#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Revision {
    pub index: String,
    pub date: String,
    pub note: String,
    pub by: String,
}

/// The job as the title block prints it.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Job {
    pub name: String,
    pub number: String,
    /// survey, design, first fix, as-built.
    pub status: String,
    /// address, client, drawn, checked, approved, owner, installer, card, designer, route, phone,
    /// next-service, …
    pub fields: BTreeMap<String, String>,
    pub revisions: Vec<Revision>,
    pub notes: Vec<String>,
}

/// Which limits apply.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Ruleset {
    /// england, wales, scotland, northern-ireland.
    pub jurisdiction: Value<String>,
    /// Edition of the building regulations guidance; empty = the newest in the table.
    pub edition: Value<String>,
    /// Limits the job overrides: limit id → value, with the reason given.
    pub overrides: BTreeMap<String, (Value<f64>, String)>,
    #[serde(skip)]
    pub span: Span,
}
