//! What the program has to say about a description. In: a fault with its place in the text.
//! Out: one plain struct; `render` draws it as text or as JSON. Nobody here prints.

mod render;

pub use render::{Located, LocatedEdit, line_column, located, shown, to_colour, to_text};

use std::collections::BTreeSet;

use serde::Serialize;

use crate::model::Span;

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Severity {
    Error,
    Warning,
    Advice,
}

/// A change to the text that would mend the fault.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Edit {
    pub span: Span,
    pub replacement: String,
}

/// A fault in the description: a text that can't be read, a word nobody knows, a likely slip.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Diagnostic {
    /// Named after the fault: `unknown-node`, `likely-slip`.
    pub code: &'static str,
    pub severity: Severity,
    /// One sentence: what is wrong.
    pub message: String,
    /// The exact characters.
    pub span: Span,
    /// What stands there or what was expected there, shown under the characters.
    pub label: String,
    /// What to do about it.
    pub help: Option<String>,
    pub edit: Option<Edit>,
}

impl Diagnostic {
    pub fn error(code: &'static str, span: Span, message: impl Into<String>) -> Diagnostic {
        Diagnostic::new(Severity::Error, code, span, message.into())
    }

    pub fn warning(code: &'static str, span: Span, message: impl Into<String>) -> Diagnostic {
        Diagnostic::new(Severity::Warning, code, span, message.into())
    }

    fn new(severity: Severity, code: &'static str, span: Span, message: String) -> Diagnostic {
        Diagnostic { code, severity, message, span, label: String::new(), help: None, edit: None }
    }

    pub fn label(mut self, label: impl Into<String>) -> Diagnostic {
        self.label = label.into();
        self
    }

    pub fn help(mut self, help: impl Into<String>) -> Diagnostic {
        self.help = Some(help.into());
        self
    }

    pub fn edit(mut self, span: Span, replacement: impl Into<String>) -> Diagnostic {
        self.edit = Some(Edit { span, replacement: replacement.into() });
        self
    }
}

/// Two stages may find the same fault at the same characters: it is said once.
pub fn once(all: &mut Vec<Diagnostic>) {
    let mut seen = BTreeSet::new();
    all.retain(|d| seen.insert((d.code, d.span.start, d.span.end)));
}

/// True where any is an error.
pub fn any_error(diagnostics: &[Diagnostic]) -> bool {
    diagnostics.iter().any(|d| d.severity == Severity::Error)
}
