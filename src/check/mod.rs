//! Everything so far → findings. In: the sized system, the wiring, the cupboard. Out: findings
//! and passes, each with its figure, limit, margin, source and mend.

use serde::Serialize;

pub use crate::diagnostic::Severity;
use crate::model::Span;

/// What a rule has to say of some parts: a finding where it fails, a pass where it holds.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Finding {
    /// `DIS04`.
    pub rule: &'static str,
    pub severity: Severity,
    pub title: String,
    /// Tags.
    pub parts: Vec<String>,
    pub found: Option<f64>,
    pub limit: Option<f64>,
    pub unit: String,
    /// Room left where it passes, what is missing (negative) where it fails, in `unit`.
    pub margin: Option<f64>,
    /// "Approved Document G 2015 with 2016 amendments, Table 3.1 (England)".
    pub source: String,
    pub mend: String,
    /// It rests on an assumed value; severity has dropped to advice.
    pub assumed: bool,
    #[serde(skip)]
    pub span: Span,
}

#[derive(Clone, Debug, Default)]
pub struct Report {
    pub findings: Vec<Finding>,
    pub passes: Vec<Finding>,
}
