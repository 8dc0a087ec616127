//! The command line. In: arguments and files. Out: files, text on standard output, messages on
//! standard error, an exit code. The only part of the program that prints or touches files.
//!
//! Exit codes: 0 done; 1 done, but the description has errors (`check`: a finding of that
//! severity stands; `format --check`: not tidy); 2 the file can't be read, or wrong usage.

mod args;
mod explain;
mod figures;
mod files;
mod judge;
mod lists;
mod say;
mod sheets;
mod text;
mod wires;

use std::ffi::OsString;
use std::path::Path;

use clap::Parser;

use crate::describe;
use crate::diagnostic::{Diagnostic, Located, Severity, any_error, line_column};
use crate::pipeline::{self, Project};
use args::{Command, Input, Typed};

const DONE: u8 = 0;
const ERRORS: u8 = 1;
const UNREADABLE: u8 = 2;

/// Runs the program; the result is its exit code.
pub fn run(arguments: impl IntoIterator<Item = OsString>) -> u8 {
    let typed = match Typed::try_parse_from(arguments) {
        Ok(typed) => typed,
        Err(e) => {
            // Help and version go to standard output and are no errors.
            let _ = e.print();
            return if e.use_stderr() { UNREADABLE } else { DONE };
        }
    };
    match typed.command {
        Command::Draw(a) => sheets::draw(&a),
        Command::Check(a) => judge::check(&a),
        Command::Size(a) => figures::size(&a),
        Command::Wire(a) => wires::wire(&a),
        Command::List(a) => lists::list(&a),
        Command::Expand(a) => lists::expand(&a),
        Command::New(a) => text::new(a.json),
        Command::Explain(a) => explain::explain(a.rule.as_deref(), a.json),
        Command::Format(a) => text::format(&a),
    }
}

/// A description as read, with what there is to say of it.
struct Source {
    name: String,
    text: String,
    diagnostics: Vec<Diagnostic>,
    readable: bool,
}

impl Source {
    /// Reads a file; one that isn't there is said here.
    fn of(path: &Path) -> Option<Source> {
        let file = match files::read(path) {
            Ok(file) => file,
            Err(e) => {
                say::remark(&format!("error: {e}"));
                return None;
            }
        };
        let name = file.name;
        match describe::text_of(&file.bytes) {
            Ok(text) => Some(Source { name, text, diagnostics: Vec::new(), readable: true }),
            Err((text, fault)) => {
                Some(Source { name, text, diagnostics: vec![*fault], readable: false })
            }
        }
    }

    /// Says what there is to say, for people.
    fn say(&self) {
        say::diagnostics(&self.name, &self.text, &self.diagnostics);
    }

    fn records(&self) -> Vec<Located> {
        say::records(&self.name, &self.text, &self.diagnostics)
    }

    /// Says why there is no result.
    fn refuse(&self, json: bool) {
        if json {
            say::json(&say::Unreadable { diagnostics: self.records() });
            return;
        }
        self.say();
        // The lines that keep everything from being read, last, where the eye is.
        let errors = || self.diagnostics.iter().filter(|d| d.severity == Severity::Error);
        let whole = !errors().any(|d| d.code == "syntax");
        let wrong = errors().filter(|d| whole || d.code == "syntax");
        let mut lines: Vec<usize> =
            wrong.map(|d| line_column(&self.text, d.span.start).0).collect();
        lines.dedup();
        let (first, one) = (lines.first().copied().unwrap_or(1), lines.len() < 2);
        let (what, it) = if one {
            (format!("line {first}"), "it")
        } else {
            let all: Vec<String> = lines.iter().map(usize::to_string).collect();
            (format!("lines {}", all.join(", ")), "them")
        };
        say::remark(&format!(
            "nothing was worked out or drawn, for {what} can't be read: mend {it} as shown above, \
             then run this again"
        ));
    }

    fn code(&self) -> u8 {
        match (self.readable, any_error(&self.diagnostics)) {
            (false, _) => UNREADABLE,
            (true, true) => ERRORS,
            (true, false) => DONE,
        }
    }
}

/// A description and what it came to.
struct Worked {
    source: Source,
    project: Project,
}

impl Worked {
    /// Works a description out; where it can't be read, that is said here.
    fn of(input: &Input) -> Option<Worked> {
        Worked::after(input, None)
    }

    /// The same, beside the layouts of an earlier issue.
    fn after(input: &Input, earlier: Option<&pipeline::Issued>) -> Option<Worked> {
        let mut source = Source::of(&input.file)?;
        let mut project = None;
        if source.readable {
            let outcome = pipeline::work_out_watched(&source.text, earlier, &say::stage);
            say::no_more_stages();
            source.diagnostics = outcome.diagnostics;
            source.readable = outcome.project.is_some();
            project = outcome.project;
        }
        match project {
            Some(project) => Some(Worked { source, project }),
            None => {
                source.refuse(input.json);
                None
            }
        }
    }
}
