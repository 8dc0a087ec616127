//! The stages in their order. In: the text of a description. Out: everything that can be known of
//! it, and its sheets. Only this module knows all stages.

use crate::check::{Remark, Report, Severity, check_drawn};
use crate::complete::complete;
use crate::describe::{Reading, read};
use crate::diagnostic::{self, Diagnostic};
use crate::draw::frame::{TitleData, dress};
use crate::draw::scene::Sheet;
use crate::draw::{cupboard as scaled, documents, flags, schematic, told, wiring as wiring_sheets};
use crate::layout;
use crate::layout::cupboard::plan::CupboardPlan;
use crate::layout::cupboard::takeoff::{Line, measured_lengths, takeoff};
use crate::layout::schematic::SchematicPlan;
use crate::model::{Origin, System, Value};
use crate::size::{Sized, size};
use crate::wire::Wiring;

/// How often sizes and routes may be worked out from each other before the last answer stands.
const ROUNDS: usize = 2;

/// What a text came to.
#[derive(Clone, Debug)]
pub struct Outcome {
    /// Faults of the text and of what it describes, in the order of the text.
    pub diagnostics: Vec<Diagnostic>,
    /// `None` only where the text can't be read.
    pub project: Option<Project>,
}

/// A job, worked out as far as it goes.
#[derive(Clone, Debug)]
pub struct Project {
    pub sized: Sized,
    pub wiring: Wiring,
    /// `None` without a cupboard.
    pub cupboard: Option<CupboardPlan>,
    /// What the routes need from the merchant; empty without a cupboard.
    pub takeoff: Vec<Line>,
    pub schematic: SchematicPlan,
    /// Undressed sheets that do not depend on the report.
    drawn: Vec<Sheet>,
    pub report: Report,
}

/// Drawings without marks of what is wrong: whoever looks for one there is told so.
const UNMARKED: [&str; 6] = [
    "isometric",
    "setting-out-back",
    "setting-out-left",
    "setting-out-right",
    "setting-out-floor",
    "setting-out-ceiling",
];

/// Text → project. Never panics, never touches a file.
pub fn work_out(text: &str) -> Outcome {
    work_out_after(text, None)
}

/// A job's layouts as they were issued.
#[derive(Clone, Debug)]
pub struct Issued {
    pub schematic: SchematicPlan,
    pub cupboard: Option<CupboardPlan>,
}

/// The stages that may take a while, in their order.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stage {
    Cupboard,
    Wiring,
    Schematic,
    Rules,
}

/// Text → project, laid out so that what an edit does not concern stands where it stood on an
/// earlier issue.
pub fn work_out_after(text: &str, earlier: Option<&Issued>) -> Outcome {
    work_out_watched(text, earlier, &|_| {})
}

/// The same, and tells somebody who waits which stage begins.
pub fn work_out_watched(text: &str, earlier: Option<&Issued>, watch: &dyn Fn(Stage)) -> Outcome {
    let Reading { facts, mut diagnostics, readable } = read(text);
    if !readable {
        return Outcome { diagnostics, project: None };
    }
    let completed = complete(&facts);
    diagnostics.extend(completed.diagnostics);
    diagnostics.sort_by_key(|d| d.span.start);
    diagnostic::once(&mut diagnostics);
    let mut project = Project::after(&completed.system, earlier, watch);
    project.report.remarks = remarks(text, &diagnostics);
    Outcome { diagnostics, project: Some(project) }
}

/// What was said of the text, for the sheets.
fn remarks(text: &str, diagnostics: &[Diagnostic]) -> Vec<Remark> {
    let remark = |d: &Diagnostic| Remark {
        code: d.code,
        severity: d.severity,
        line: diagnostic::line_column(text, d.span.start).0,
        typed: diagnostic::shown(text, &d.span),
        message: d.message.clone(),
        help: match &d.help {
            // A question under the characters is the better half of what helps.
            Some(help) if d.label.ends_with('?') => format!("{} {help}", d.label),
            Some(help) => help.clone(),
            None => d.label.clone(),
        },
    };
    diagnostics.iter().map(remark).collect()
}

/// Text → its layouts alone, as they were issued after still earlier ones. What is wrong with the
/// text where it can't be read.
pub fn issued(text: &str, earlier: Option<&Issued>) -> Result<Issued, Vec<Diagnostic>> {
    let Reading { facts, diagnostics, readable } = read(text);
    if !readable {
        return Err(diagnostics);
    }
    let (sized, cupboard) = sized_and_routed(&complete(&facts).system, earlier);
    Ok(Issued { schematic: on_paper(&sized, earlier), cupboard })
}

fn on_paper(sized: &Sized, earlier: Option<&Issued>) -> SchematicPlan {
    match earlier {
        Some(earlier) => layout::schematic::lay_out_after(sized, &earlier.schematic),
        None => layout::schematic::lay_out(sized),
    }
}

impl Project {
    /// A completed system → project.
    pub fn of(system: &System) -> Project {
        Project::after(system, None, &|_| {})
    }

    fn after(system: &System, earlier: Option<&Issued>, watch: &dyn Fn(Stage)) -> Project {
        watch(Stage::Cupboard);
        let (sized, cupboard) = sized_and_routed(system, earlier);
        let takeoff = cupboard.as_ref().map_or_else(Vec::new, |plan| takeoff(&sized, plan));
        watch(Stage::Wiring);
        let wiring = crate::wire::wire(&sized.system);
        watch(Stage::Schematic);
        let schematic = on_paper(&sized, earlier);
        let drawn = drawn(&sized, &schematic, cupboard.as_ref(), &wiring);
        watch(Stage::Rules);
        let told = told::facts(&sized.system, &drawn);
        let report = check_drawn(&sized, Some(&wiring), cupboard.as_ref(), Some(&told));
        Project { sized, wiring, cupboard, takeoff, schematic, drawn, report }
    }

    pub fn system(&self) -> &System {
        &self.sized.system
    }

    /// Every sheet, dressed and numbered, in reading order.
    pub fn sheets(&self) -> Vec<Sheet> {
        let system = self.system();
        let mut data = TitleData::of(system);
        let rules = |severity| {
            let of = self.report.findings.iter().filter(move |f| f.severity == severity);
            let mut rules: Vec<&'static str> = of.map(|f| f.rule).collect();
            rules.dedup();
            rules
        };
        data.errors = self.report.errors();
        data.error_rules = rules(Severity::Error);
        data.warnings = self.report.warnings();
        data.warning_rules = rules(Severity::Warning);
        data.unread = self.report.unread_lines();
        data.out_of_scope = self.report.is_out_of_scope();
        let plan = self.cupboard.as_ref();
        let (for_the_door, mut sheets): (Vec<Sheet>, Vec<Sheet>) =
            self.drawn.iter().cloned().partition(|s| s.key == "householder" || s.key == "labels");
        sheets.extend(documents::building_control(&self.sized, &self.report, plan, &data));
        sheets.extend(documents::calculations(&self.sized, &data));
        sheets.extend(documents::findings(system, &self.report, &data));
        let rows: Vec<documents::Row> = self.takeoff.iter().map(Line::row).collect();
        sheets.extend(documents::schedule(system, &rows, &self.wiring, &data));
        sheets.extend(documents::records(&self.sized, &data));
        sheets.extend(for_the_door);
        data.findings_sheet = sheets.iter().position(|s| s.key == "findings").map_or(0, |i| i + 1);
        for sheet in sheets.iter_mut().filter(|s| s.key == "householder") {
            documents::say_not_valid(sheet, &self.report);
        }
        flags::mark(&mut sheets, system, &self.report, &data);
        let of = sheets.len();
        let dressed = |(i, sheet): (usize, Sheet)| {
            let unmarked = UNMARKED.iter().any(|key| sheet.key.starts_with(key));
            dress(sheet, &TitleData { unmarked, ..data.clone() }, i + 1, of)
        };
        sheets.into_iter().enumerate().map(dressed).collect()
    }
}

/// The sheets that do not depend on what the rules find.
fn drawn(
    sized: &Sized,
    on_paper: &SchematicPlan,
    plan: Option<&CupboardPlan>,
    wiring: &Wiring,
) -> Vec<Sheet> {
    let system = &sized.system;
    let data = TitleData::of(system);
    let mut sheets = schematic::sheets(sized, on_paper);
    if let Some(plan) = plan {
        sheets.extend(scaled::sheets(sized, plan, &data));
        sheets.extend(documents::setting_out(system, plan, &data));
        sheets.extend(scaled::setting_out_sheets(system, plan, &data));
        sheets.push(scaled::isometric(system, plan, &data));
    }
    sheets.extend(wiring_sheets::sheets(wiring, &data));
    sheets.extend(documents::labels(system));
    sheets.push(documents::householder(sized, plan));
    sheets
}

/// Sizes decide diameters, diameters decide routes, routes decide lengths, lengths decide sizes:
/// round until the sizes stand, at most [`ROUNDS`] times. What the file states is never touched.
fn sized_and_routed(system: &System, earlier: Option<&Issued>) -> (Sized, Option<CupboardPlan>) {
    let mut sized = size(system);
    let lay_out = |sized: &Sized| {
        layout::cupboard::lay_out_after(sized, earlier.and_then(|e| e.cupboard.as_ref()))
    };
    let Some(mut plan) = lay_out(&sized) else { return (sized, None) };
    for _ in 0..ROUNDS {
        let again = size(&with_measured_lengths(system, &plan));
        let same = same_sizes(&again.system, &sized.system);
        sized = again;
        if same {
            break;
        }
        if let Some(next) = lay_out(&sized) {
            plan = next;
        }
    }
    (sized, Some(plan))
}

fn same_sizes(a: &System, b: &System) -> bool {
    let sizes = |s: &System| -> Vec<Option<String>> {
        s.pipes.iter().map(|p| p.size.as_ref().map(|v| v.value.clone())).collect()
    };
    sizes(a) == sizes(b)
}

/// The system with the length and elbows of the real route wherever the file states none. A pipe
/// that leaves the cupboard is not measured: most of it is elsewhere.
fn with_measured_lengths(system: &System, plan: &CupboardPlan) -> System {
    const HOW: &str = "measured on the route in the cupboard";
    let mut system = system.clone();
    for (ix, metres, elbows) in measured_lengths(plan) {
        let pipe = &mut system.pipes[ix.0];
        if pipe.tail.is_some() {
            continue;
        }
        pipe.length.get_or_insert_with(|| Value { value: metres, origin: Origin::derived(HOW) });
        let elbows = elbows as f64;
        pipe.elbows.get_or_insert_with(|| Value { value: elbows, origin: Origin::derived(HOW) });
    }
    system
}
