//! The parser's edge. In: the cleaned text. Out: a plain tree of nodes with typed spans, words
//! folded as phones capitalise them; or the parser's complaints in trade words. Nobody else knows
//! the parser.

use kdl::{KdlDiagnostic, KdlDocument, KdlEntry, KdlIdentifier, KdlNode, KdlValue};

use super::facts::{Given, Mark};
use super::source::Source;
use crate::diagnostic::Diagnostic;
use crate::lettering::{STAND_IN, covers};
use crate::model::Span;

/// Faults of syntax shown at most; a text with more of them is no description.
pub const SYNTAX_FAULTS: usize = 20;
/// Lines that can't be read are taken out of a block up to so many; then it is left out as a whole.
const LINES_OF_A_BLOCK: usize = 4;

#[derive(Clone, Debug, PartialEq)]
pub enum Scalar {
    Number(f64),
    Text(String),
    Flag(bool),
    Null,
}

/// A value with its annotation, taken apart or not.
#[derive(Clone, Debug)]
pub struct Value {
    pub scalar: Scalar,
    pub span: Span,
    pub note: Option<Given<String>>,
    /// As typed: `2.10` where the number is 2.1.
    pub typed: String,
}

#[derive(Clone, Debug)]
pub struct Property {
    pub key: String,
    pub key_span: Span,
    pub value: Value,
}

#[derive(Clone, Debug)]
pub struct Node {
    pub name: String,
    /// The name as typed, before its letters were folded.
    pub typed: String,
    pub name_span: Span,
    pub args: Vec<Value>,
    pub properties: Vec<Property>,
    pub children: Vec<Node>,
    /// Where lines begin that were joined to this one.
    pub joins: Vec<Join>,
}

/// A line of the text that goes on with an earlier one.
#[derive(Clone, Copy, Debug)]
pub struct Join {
    /// Its first byte.
    pub at: usize,
}

/// Stack for each byte of a text in the worst case: the parser takes some 280 bytes for each fault
/// it meets (measured), a fault takes a byte or two.
const STACK_A_BYTE: usize = 400;
/// Texts up to this length, in bytes, are parsed on the stack at hand.
const SHORT: usize = 2000;

/// The nodes that can be read, and what is wrong with the others. Every line of the top is parsed
/// by itself, and a block once more without the line that is wrong, so that a fault in one line
/// leaves the others readable.
pub fn parse(source: &Source) -> (Vec<Node>, Vec<Diagnostic>) {
    let mut all = Vec::new();
    let mut said: Vec<Diagnostic> = Vec::new();
    let mut start = 0;
    for end in source.cuts.iter().copied().chain([source.clean.len()]) {
        let piece = &source.clean[start..end];
        let edge = Edge { source, base: start };
        start = end;
        if piece.trim().is_empty() {
            continue;
        }
        if said.len() < SYNTAX_FAULTS {
            all.extend(edge.read(piece, &mut said));
        }
    }
    said.sort_by_key(|d| d.span.start);
    // What follows on the same line mostly follows from the first.
    let mut line = (0, 0);
    said.retain(|d| {
        let first = !(line.0..line.1).contains(&d.span.start);
        if first {
            let at = d.span.start.min(source.typed.len());
            let rest = source.typed.get(at..).unwrap_or("");
            line = (at, at + rest.find('\n').unwrap_or(rest.len()) + 1);
        }
        first
    });
    said.truncate(SYNTAX_FAULTS);
    (all, said)
}

/// A file that holds nothing describes nothing: a job made of assumptions alone helps nobody.
pub fn nothing(text: &str) -> Diagnostic {
    let message = match text.trim_matches(|c: char| c.is_whitespace() || c == '\u{feff}').is_empty()
    {
        true => "this file is empty: nothing is described",
        false => "nothing but comments stands here: nothing is described",
    };
    Diagnostic::error("empty-file", 0..0, message)
        .label("there is nothing to draw")
        .help("one line is enough to begin with, such as `cylinder litres=210 heated=\"indirect\"`; `firstfix new` prints a sample")
}

/// What the sheets' typeface can't print, said once for each text that holds it.
pub fn not_printable(nodes: &[Node], said: &mut Vec<Diagnostic>) {
    for node in nodes {
        let values = node.args.iter().chain(node.properties.iter().map(|p| &p.value));
        for value in values {
            let Scalar::Text(text) = &value.scalar else { continue };
            if text.chars().all(covers) {
                continue;
            }
            said.push(
                Diagnostic::warning(
                    "not-printable",
                    value.span.clone(),
                    "a sign in these words is not in the typeface of the sheets",
                )
                .label(format!("`{STAND_IN}` is printed in its place"))
                .help("the title of the files keeps it; write a word instead to have it printed"),
            );
        }
        not_printable(&node.children, said);
    }
}

/// The parser goes as deep as it meets faults: long texts get a stack of their own.
fn parse_piece(piece: &str) -> Result<KdlDocument, Vec<KdlDiagnostic>> {
    let parse = || KdlDocument::parse_v2(piece).map_err(|e| e.diagnostics);
    if piece.len() <= SHORT {
        return parse();
    }
    std::thread::scope(|scope| {
        std::thread::Builder::new()
            .stack_size(piece.len() * STACK_A_BYTE + (4 << 20))
            .spawn_scoped(scope, parse)
            .ok()
            .and_then(|thread| thread.join().ok())
            .unwrap_or_else(|| Err(Vec::new()))
    })
}

/// The parser's spans count from the beginning of a piece.
#[derive(Clone, Copy)]
struct Edge<'a> {
    source: &'a Source,
    base: usize,
}

impl Edge<'_> {
    /// The nodes of a piece; of a block with a line in it that can't be read, the others.
    fn read(self, piece: &str, said: &mut Vec<Diagnostic>) -> Vec<Node> {
        let faults = match parse_piece(piece) {
            Ok(document) => return self.top(&document),
            Err(faults) => faults,
        };
        if let Some((kept, wrong)) = self.without_wrong_lines(piece)
            && let Ok(document) = parse_piece(&kept)
        {
            said.extend(wrong);
            return self.top(&document);
        }
        // Nothing of it is read.
        let lines = piece.trim().lines().count();
        let whole = |mut d: Diagnostic| {
            if lines > 1 {
                d.message = format!("{}: the whole block of {lines} lines is left out", d.message);
            }
            d
        };
        match faults.first() {
            Some(first) => said.push(whole(self.syntax_fault(first))),
            None => {
                let span = self.source.span(self.base..self.base + 1);
                let d = Diagnostic::error("syntax", span, "this can't be read");
                said.push(whole(d.label("from here on")));
            }
        }
        Vec::new()
    }

    /// A block with the lines made blank that can't be read by themselves, and what is wrong with
    /// them. All bytes stay where they are. The parser itself blames the block's first brace.
    fn without_wrong_lines(self, piece: &str) -> Option<(String, Vec<Diagnostic>)> {
        // What goes on over several lines can't be judged line by line.
        let goes_on = ["\\\n", "\"\"\"", "/*"].iter().any(|sign| piece.contains(sign));
        if goes_on || !piece.contains('{') || piece.trim().lines().count() < 2 {
            return None;
        }
        let (mut kept, mut wrong) = (String::with_capacity(piece.len()), Vec::new());
        for line in piece.split_inclusive('\n') {
            let edge = Edge { base: self.base + kept.len(), ..self };
            let fault = match line.trim().is_empty() || line.contains(['{', '}']) {
                true => None,
                false => parse_piece(line).err().and_then(|faults| faults.into_iter().next()),
            };
            match fault {
                Some(fault) => {
                    wrong.push(edge.syntax_fault(&fault));
                    kept.push_str(&" ".repeat(line.trim_end_matches('\n').len()));
                    kept.push_str(&line[line.trim_end_matches('\n').len()..]);
                }
                None => kept.push_str(line),
            }
            if wrong.len() > LINES_OF_A_BLOCK {
                return None;
            }
        }
        (!wrong.is_empty()).then_some((kept, wrong))
    }

    fn syntax_fault(self, d: &KdlDiagnostic) -> Diagnostic {
        let source = self.source;
        let text = &source.clean;
        let mut start = (self.base + d.span.offset()).min(text.len());
        while !text.is_char_boundary(start) {
            start -= 1;
        }
        let mut end = (start + d.span.len()).min(text.len());
        while !text.is_char_boundary(end) {
            end -= 1;
        }
        // The parser may blame half the file: point at its first line.
        let skipped = text[start..end].len() - text[start..end].trim_start().len();
        if skipped < end - start {
            start += skipped;
        }
        let line = text[start..].find('\n').map_or(text.len(), |i| start + i);
        let end = end.min(line).max(start);
        let what = &text[start..end];
        let (message, help) = if what.starts_with('{')
            || text[..start].trim_end().ends_with('{') && what.is_empty()
        {
            (
                "a brace stands where a word was expected".to_owned(),
                Some("`{` goes on the same line as the word it belongs to".to_owned()),
            )
        } else if what.contains(['[', ']', '(', ')']) {
            (
                "brackets have no meaning here".to_owned(),
                Some("words with brackets go in quotes: \"kitchen (below)\"".to_owned()),
            )
        } else if what.contains('\\') {
            (
                "a backslash means something special inside quotes".to_owned(),
                Some("write `/`, or `\\\\` for the backslash itself".to_owned()),
            )
        } else {
            // The parser's own words name its grammar ("expected identifier string"): nobody's.
            let help = if what.contains('/') {
                "a figure with its unit, and words with a `/`, go in quotes: \"22 l/min\""
            } else {
                "each line is a word, then values and name=value pairs; words with spaces go in quotes"
            };
            ("this can't be read".to_owned(), Some(help.to_owned()))
        };
        let mut fault = Diagnostic::error("syntax", source.span(start..end), message).label("here");
        fault.help = help;
        fault
    }

    /// On a line of the top a comma may part matters as well: it is kept until that is known.
    fn top(self, document: &KdlDocument) -> Vec<Node> {
        document.nodes().iter().map(|n| self.node(n, false, true)).collect()
    }

    fn nodes(self, document: &KdlDocument, listing: bool) -> Vec<Node> {
        document.nodes().iter().map(|n| self.node(n, listing, listing)).collect()
    }

    fn node(self, n: &KdlNode, listing: bool, commas: bool) -> Node {
        let name = fold(n.name().value());
        // A line that begins with a figure may be a list; one that begins with a house, an address.
        let listing = listing
            || matches!(name.as_str(), "outlets" | "outlet" | "taps" | "house")
            || begins_with_figure(&name);
        let mut args = Vec::new();
        let mut properties = Vec::new();
        for e in n.entries() {
            let (span, note, typed) = self.value_place(e);
            let value = Value { scalar: scalar(e.value()), span, note, typed };
            match e.name() {
                None if value.typed == "," && !(listing || commas) => {}
                None => args.push(value),
                Some(key) => properties.push(Property {
                    key: fold(key.value()),
                    key_span: self.identifier_span(key),
                    value,
                }),
            }
        }
        Node {
            name,
            typed: n.name().value().to_owned(),
            name_span: self.identifier_span(n.name()),
            args,
            properties,
            children: n.children().map(|d| self.nodes(d, listing)).unwrap_or_default(),
            joins: Vec::new(),
        }
    }

    fn identifier_span(self, id: &KdlIdentifier) -> Span {
        let start = self.base + id.span().offset();
        self.source.span(start..start + id.span().len())
    }

    /// Where the value of an entry stands: the tail of the entry's own span.
    fn value_place(self, e: &KdlEntry) -> (Span, Option<Given<String>>, String) {
        let source = self.source;
        let start = self.base + e.span().offset();
        let end = (start + e.span().len()).min(source.clean.len());
        let whole = source.clean.get(start..end).unwrap_or("");
        let written = e.format().map_or("", |f| f.value_repr.as_str());
        let (from, to) = match whole.rfind(written).filter(|_| !written.is_empty()) {
            Some(i) => (start + i, start + i + written.len()),
            None => (start, end),
        };
        let note = e.ty().map(|t| Given {
            value: t.value().to_owned(),
            span: self.identifier_span(t),
            mark: Mark::Stated,
        });
        (source.span(from..to), note, written.to_owned())
    }
}

/// A figure stands where the word of the line ought to.
pub fn begins_with_figure(name: &str) -> bool {
    name.starts_with(|c: char| c.is_ascii_digit())
}

/// Phones capitalise the first word of a line; nobody remembers which names take an underscore.
fn fold(word: &str) -> String {
    word.trim().to_lowercase().replace('_', "-")
}

fn scalar(value: &KdlValue) -> Scalar {
    match value {
        KdlValue::String(s) => Scalar::Text(plain(s)),
        KdlValue::Integer(i) => Scalar::Number(*i as f64),
        KdlValue::Float(f) => Scalar::Number(*f),
        KdlValue::Bool(b) => Scalar::Flag(*b),
        KdlValue::Null => Scalar::Null,
    }
}

/// A user's words without control characters (escapes can bring them in) and doubled spaces.
fn plain(text: &str) -> String {
    let shown = |c: char| if c.is_whitespace() { ' ' } else { c };
    let kept: String =
        text.chars().filter(|c| !super::source::is_invisible(*c)).map(shown).collect();
    kept.split_whitespace().collect::<Vec<_>>().join(" ")
}
