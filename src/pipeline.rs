//! The stages in their order. In: the text of a description. Out: everything that can be known of
//! it, and its sheets. Only this module knows all stages.

use crate::check::Report;
use crate::complete::complete;
use crate::describe::{Reading, read};
use crate::diagnostic::Diagnostic;
use crate::draw::frame::{TitleData, dress};
use crate::draw::scene::Sheet;
use crate::draw::{cupboard as scaled, documents, schematic, wiring};
use crate::layout;
use crate::layout::cupboard::plan::CupboardPlan;
use crate::model::System;
use crate::size::{Sized, size};
use crate::wire::Wiring;

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
    pub report: Report,
}

/// Text → project. Never panics, never touches a file.
pub fn work_out(text: &str) -> Outcome {
    let Reading { facts, mut diagnostics, readable } = read(text);
    if !readable {
        return Outcome { diagnostics, project: None };
    }
    let completed = complete(&facts);
    diagnostics.extend(completed.diagnostics);
    diagnostics.sort_by_key(|d| d.span.start);
    Outcome { diagnostics, project: Some(Project::of(&completed.system)) }
}

impl Project {
    /// A completed system → project.
    pub fn of(system: &System) -> Project {
        let sized = size(system);
        let cupboard = layout::cupboard::lay_out(&sized);
        let wiring = crate::wire::wire(&sized.system);
        let report = crate::check::check(&sized, Some(&wiring), cupboard.as_ref());
        Project { sized, wiring, cupboard, report }
    }

    pub fn system(&self) -> &System {
        &self.sized.system
    }

    /// Every sheet, dressed and numbered, in reading order.
    pub fn sheets(&self) -> Vec<Sheet> {
        let system = self.system();
        let data = TitleData::of(system);
        let plan = self.cupboard.as_ref();
        let drawn = layout::schematic::lay_out(&self.sized);
        let mut sheets = schematic::sheets(&self.sized, &drawn);
        if let Some(plan) = plan {
            sheets.extend(scaled::sheets(&self.sized, plan, &data));
            sheets.extend(documents::setting_out(system, plan, &data));
            sheets.extend(scaled::setting_out_sheets(system, plan, &data));
            sheets.push(scaled::isometric(system, plan, &data));
        }
        sheets.extend(wiring::sheets(&self.wiring, &data));
        sheets.extend(documents::building_control(&self.sized, &self.report, plan, &data));
        sheets.extend(documents::calculations(&self.sized, &data));
        sheets.extend(documents::findings(system, &self.report, &data));
        sheets.extend(documents::schedule(system, &[], &data));
        sheets.extend(documents::records(&self.sized, &data));
        sheets.push(documents::householder(&self.sized, plan, &data));
        let of = sheets.len();
        sheets.into_iter().enumerate().map(|(i, s)| dress(s, &data, i + 1, of)).collect()
    }
}
