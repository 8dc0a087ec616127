//! Text → facts. In: a KDL 2 description. Out: [`facts::Facts`] with spans, and every fault of the
//! text at once. Nothing is filled in, nothing is judged.

mod decode;
pub mod facts;
mod format;
mod lines;
mod nearest;
mod print;
mod quantity;
mod samples;
mod slips;
mod source;
mod tree;
mod words;

#[cfg(test)]
mod tests;

pub use format::format;
pub use nearest::nearest;
pub use print::print;
pub use source::{LARGEST, text_of};

use crate::diagnostic::Diagnostic;
use facts::Facts;

/// What a text says.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Reading {
    pub facts: Facts,
    /// In the order of the text.
    pub diagnostics: Vec<Diagnostic>,
    /// False where nothing of the text is a description, or too many of its lines can't be parsed.
    /// Else a line that can't be read, or a word of it, is left out and said; the rest stands.
    pub readable: bool,
}

/// Remarks on a figure that say all there is to say of how it is written.
const ONE_FIGURE: [&str; 2] = ["loose-figure", "two-figures"];

/// Reads a description. All spans are byte ranges of this text, as typed.
pub fn read(text: &str) -> Reading {
    let (source, mut diagnostics) = match source::clean(text) {
        Ok(cleaned) => cleaned,
        Err(fault) => {
            return Reading { diagnostics: vec![*fault], ..Reading::default() };
        }
    };
    let (nodes, faults) = tree::parse(&source);
    let begins = nodes.iter().any(|n| decode::begins(&n.name));
    let mut readable = faults.is_empty() || (begins && faults.len() < tree::SYNTAX_FAULTS);
    diagnostics.extend(faults);
    if nodes.is_empty() && diagnostics.is_empty() {
        readable = false;
        diagnostics.push(tree::nothing(text));
    }
    tree::not_printable(&nodes, &mut diagnostics);
    let (facts, faults) = decode::decode(nodes);
    // A figure that was read as the property it means is not told to go in quotes besides.
    let within =
        |f: &Diagnostic, d: &Diagnostic| f.span.start <= d.span.start && d.span.end <= f.span.end;
    let mended = |f: &Diagnostic, d: &Diagnostic| {
        f.code == "no-braces"
            && f.edit
                .as_ref()
                .is_some_and(|e| e.span.start <= d.span.start && d.span.end <= e.span.end)
    };
    let loose = |d: &Diagnostic| {
        faults.iter().any(|f| mended(f, d) || (ONE_FIGURE.contains(&f.code) && within(f, d)))
    };
    diagnostics.retain(|d| d.code != "bare-number" || !loose(d));
    diagnostics.extend(faults);
    diagnostics.sort_by_key(|d| d.span.start);
    let diagnostics = lines::join(text, diagnostics);
    Reading { facts, diagnostics, readable }
}
