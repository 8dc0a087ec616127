//! Everything so far → findings. In: the sized system, the wiring, the cupboard. Out: findings
//! and passes, each with its figure, limit, margin, source and mend.
//!
//! A rule is a row of its family's table: papers that `explain` prints and a function that judges.
//! It reads a [`Context`], which knows the graph, and hands in verdicts; [`report`] groups them.

mod context;
mod discharge;
mod drawing;
mod known;
mod report;
mod rule;
mod space;
mod store;
mod walk;

mod rules;

pub use context::Context;
pub use drawing::{DrawingFacts, SheetFacts};
pub use report::{Finding, Remark, Report, in_the_open};
pub use rule::{Explanation, Rule};
pub use walk::{Reached, Way};

pub use crate::diagnostic::Severity;
use crate::layout::cupboard::plan::CupboardPlan;
use crate::size::Sized;
use crate::wire::Wiring;
use report::Verdicts;

/// Judges the system by every rule. Wiring and cupboard are given where they have been worked out;
/// rules that need what is missing keep silent.
pub fn check(sized: &Sized, wiring: Option<&Wiring>, cupboard: Option<&CupboardPlan>) -> Report {
    check_drawn(sized, wiring, cupboard, None)
}

/// The same once the sheets have been drawn, with what can only be told of a drawing.
pub fn check_drawn(
    sized: &Sized,
    wiring: Option<&Wiring>,
    cupboard: Option<&CupboardPlan>,
    drawing: Option<&DrawingFacts>,
) -> Report {
    let cx = Context::new(sized, wiring, cupboard, drawing);
    let mut report = Report::default();
    for rule in rules::all() {
        (rule.run)(&cx, &mut Verdicts::new(rule, &mut report));
    }
    report.arrange(&|id| rules::find(id).map_or("", |r| r.title));
    report.name_pipes(&|id| cx.pipe_called(id).map(|pipe| cx.pipe_words(pipe)));
    report
}

/// A rule in plain words; `None` where no rule has that id.
pub fn explain(id: &str) -> Option<Explanation> {
    rules::find(id).map(Rule::explanation)
}

/// Every rule: id, severity, title, in the order of the catalogue.
pub fn catalogue() -> Vec<(&'static str, Severity, &'static str)> {
    rules::all().map(|r| (r.id, r.severity, r.title)).collect()
}
