//! The scanner behind [`super::clean`]: knows strings, comments, braces and numbers, no more.

use super::{DEEPEST, Source};
use crate::diagnostic::Diagnostic;

pub(super) struct Scanner<'a> {
    pub(super) text: &'a str,
    pub(super) at: usize,
    pub(super) out: Source,
    pub(super) said: Vec<Diagnostic>,
    /// Where each open brace stands.
    open: Vec<usize>,
    carry: Carry,
}

/// What keeps a node going past the end of its line.
#[derive(Clone, Copy, PartialEq)]
enum Carry {
    No,
    /// A `\`: to the next line.
    Line,
    /// A `/-`: to the node it takes out.
    Node,
}

/// Marks that open or close a quotation on some keyboard.
pub(super) fn is_curly(c: char) -> bool {
    matches!(c, '“' | '”' | '„' | '‟' | '″' | '«' | '»')
}

fn is_single(c: char) -> bool {
    matches!(c, '\'' | '‘' | '’' | '‚' | '′')
}

/// Dropped everywhere: nobody sees them, and the parser refuses most of them.
pub fn is_invisible(c: char) -> bool {
    matches!(c,
        '\u{ad}' | '\u{200b}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}'
        | '\u{2060}' | '\u{2066}'..='\u{2069}' | '\u{feff}')
        || (c.is_control() && !matches!(c, '\n' | '\r' | '\t' | '\u{85}' | '\u{b}' | '\u{c}'))
}

/// Spaces that are not the space bar's.
pub fn is_odd_space(c: char) -> bool {
    c != ' ' && c != '\t' && !is_newline(c) && c.is_whitespace()
}

fn is_newline(c: char) -> bool {
    matches!(c, '\n' | '\r' | '\u{85}' | '\u{b}' | '\u{c}' | '\u{2028}' | '\u{2029}')
}

pub(super) fn is_dash(c: char) -> bool {
    matches!(c, '‐' | '‑' | '‒' | '–' | '—' | '―' | '−')
}

/// Ends a bare word.
pub(super) fn is_boundary(c: char) -> bool {
    c.is_whitespace() || matches!(c, '{' | '}' | '(' | ')' | ';' | '=')
}

pub(super) fn scan(text: &str) -> Result<(Source, Vec<Diagnostic>), Box<Diagnostic>> {
    let mut s = Scanner {
        text,
        at: 0,
        out: Source { typed: text.to_owned(), ..Source::default() },
        said: Vec::new(),
        open: Vec::new(),
        carry: Carry::No,
    };
    s.out.clean.reserve(text.len());
    s.out.from.reserve(text.len());
    while let Some(c) = s.peek() {
        // Whether a new word may begin here.
        let fresh = s.text[..s.at]
            .chars()
            .next_back()
            .is_none_or(|c| is_boundary(c) || c == '/' || is_dash(c) || is_invisible(c));
        let comment = s.rest().starts_with("//") || s.rest().starts_with("/*");
        if !comment && !c.is_whitespace() && !is_invisible(c) {
            s.carry = if c == '\\' { Carry::Line } else { Carry::No };
        }
        match c {
            '/' if s.rest().starts_with("//") => s.line_comment(),
            '/' if s.rest().starts_with("/*") => s.block_comment()?,
            '"' | '#' if s.rest().trim_start_matches('#').starts_with('"') => s.string(),
            '{' => s.brace()?,
            '}' => s.close(),
            c if is_curly(c) => s.curly(c),
            c if is_single(c) && fresh => s.single(c),
            _ if fresh && s.number_starts() => s.number(),
            c if fresh && c.is_alphabetic() => s.word(),
            ';' => {
                s.copy();
                s.cut();
            }
            c if is_newline(c) => {
                s.copy();
                match s.carry {
                    Carry::No => s.cut(),
                    Carry::Line if c != '\r' => s.carry = Carry::No,
                    _ => {}
                }
                continue;
            }
            '/' if s.rest()[1..].starts_with(|c| c == '-' || is_dash(c)) => {
                s.copy();
                s.copy();
                s.carry = Carry::Node;
                continue;
            }
            _ => s.copy(),
        }
    }
    for at in std::mem::take(&mut s.open).into_iter().rev() {
        s.said.push(
            Diagnostic::error("unclosed-brace", at..at + 1, "this brace is never closed")
                .label("opened here")
                .help("add a `}` where it ends"),
        );
        let end = s.text.len();
        s.out.push("\n}", end, end);
    }
    Ok((s.out, s.said))
}

impl<'a> Scanner<'a> {
    pub(super) fn rest(&self) -> &'a str {
        &self.text[self.at..]
    }

    pub(super) fn peek(&self) -> Option<char> {
        self.rest().chars().next()
    }

    /// A line of the top ends here.
    fn cut(&mut self) {
        if self.open.is_empty() {
            self.out.cuts.push(self.out.clean.len());
        }
    }

    /// One character outside strings.
    fn copy(&mut self) {
        let Some(c) = self.peek() else { return };
        let (from, to) = (self.at, self.at + c.len_utf8());
        self.at = to;
        let mut buffer = [0; 4];
        match c {
            c if is_invisible(c) => {}
            // A joiner between letters is no part of a word of this language.
            '\u{200c}' | '\u{200d}' => {}
            c if is_odd_space(c) => self.out.push(" ", from, to),
            c if is_dash(c) => self.out.push("-", from, to),
            c => self.out.push(c.encode_utf8(&mut buffer), from, to),
        }
    }

    /// One character inside strings and comments, where dashes and joiners mean themselves.
    fn copy_text(&mut self) {
        let Some(c) = self.peek() else { return };
        let (from, to) = (self.at, self.at + c.len_utf8());
        self.at = to;
        let mut buffer = [0; 4];
        match c {
            c if is_invisible(c) => {}
            c if is_odd_space(c) => self.out.push(" ", from, to),
            c => self.out.push(c.encode_utf8(&mut buffer), from, to),
        }
    }

    fn copy_until(&mut self, end: usize) {
        while self.at < end {
            self.copy_text();
        }
    }

    fn line_comment(&mut self) {
        let end = self.rest().find(is_newline).map_or(self.text.len(), |i| self.at + i);
        self.copy_until(end);
    }

    fn block_comment(&mut self) -> Result<(), Box<Diagnostic>> {
        let start = self.at;
        let mut depth = 0;
        loop {
            let rest = self.rest();
            if rest.starts_with("/*") {
                depth += 1;
                if depth > DEEPEST {
                    return Err(Box::new(too_deep(self.at)));
                }
                self.copy_until(self.at + 2);
            } else if rest.starts_with("*/") {
                depth -= 1;
                self.copy_until(self.at + 2);
                if depth == 0 {
                    return Ok(());
                }
            } else if rest.is_empty() {
                self.said.push(
                    Diagnostic::error(
                        "unclosed-comment",
                        start..start + 2,
                        "this comment never ends",
                    )
                    .label("begins here")
                    .help("add `*/` where it ends"),
                );
                let end = self.text.len();
                for _ in 0..depth {
                    self.out.push("*/", end, end);
                }
                return Ok(());
            } else {
                self.copy_text();
            }
        }
    }

    /// A string with straight quotes: plain, raw or over several lines.
    fn string(&mut self) {
        let rest = self.rest();
        let hashes = rest.len() - rest.trim_start_matches('#').len();
        let quotes = if rest[hashes..].starts_with("\"\"\"") { 3 } else { 1 };
        let body = hashes + quotes;
        if hashes > 0 || quotes == 3 {
            let end = format!("{}{}", "\"".repeat(quotes), "#".repeat(hashes));
            match self.find_close(&rest[body..], &end, hashes == 0) {
                Some(i) => self.copy_until(self.at + body + i + end.len()),
                None => self.unclosed_block(body, &end),
            }
            return;
        }
        let line = rest[1..].find(is_newline).map_or(rest.len(), |i| i + 1);
        let mut straight = None;
        let mut curly = None;
        let mut opened = false;
        let mut escaped = false;
        for (i, c) in rest[1..line].char_indices() {
            let after = rest[1 + i + c.len_utf8()..line].chars().next();
            if escaped {
                escaped = false;
                continue;
            }
            match c {
                '\\' => escaped = true,
                '"' => {
                    straight = Some(1 + i);
                    break;
                }
                '“' | '„' | '«' => opened = true,
                '”' | '»' if !opened && curly.is_none() && after.is_none_or(is_boundary) => {
                    curly = Some((1 + i, c.len_utf8()));
                }
                _ => {}
            }
        }
        // `"Heron” number="7"`: closed by the curly one where the straight ones then pair up.
        let pairs_up = |i: usize| rest[i..line].matches('"').count().is_multiple_of(2);
        match (straight, curly) {
            (_, Some((i, n))) if pairs_up(i) => {
                self.copy_until(self.at + i);
                self.out.push("\"", self.at, self.at + n);
                self.at += n;
            }
            (Some(i), _) => self.copy_until(self.at + i + 1),
            (None, _) => self.unclosed_quote(1, line),
        }
    }

    fn find_close(&self, body: &str, end: &str, escapes: bool) -> Option<usize> {
        let mut escaped = false;
        body.char_indices()
            .find(|(i, c)| {
                if escaped {
                    escaped = false;
                    return false;
                }
                escaped = escapes && *c == '\\';
                body[*i..].starts_with(end)
            })
            .map(|(i, _)| i)
    }

    /// A quotation that the line's end cuts off: closed before a brace that opens a block.
    fn unclosed_quote(&mut self, opening: usize, line: usize) {
        let start = self.at;
        self.said.push(
            Diagnostic::error(
                "unclosed-quote",
                start..start + opening,
                "this quotation mark has no partner on its line",
            )
            .label("opened here")
            .help("add a `\"` where the words end"),
        );
        let words = self.rest()[opening..line].trim_end();
        let words = words.strip_suffix('{').unwrap_or(words);
        let end = start + opening + words.len();
        self.out.push("\"", start, start + opening);
        self.at += opening;
        while self.at < end {
            match self.peek() {
                // An escape that would swallow the closing mark is no escape.
                Some('\\') => {
                    self.out.push("/", self.at, self.at + 1);
                    self.at += 1;
                }
                Some('"') => {
                    self.out.push("'", self.at, self.at + 1);
                    self.at += 1;
                }
                _ => self.copy_text(),
            }
        }
        self.out.push("\"", end, end);
    }

    fn unclosed_block(&mut self, opening: usize, end: &str) {
        self.said.push(
            Diagnostic::error(
                "unclosed-quote",
                self.at..self.at + opening,
                "this quotation never ends",
            )
            .label("opened here")
            .help(format!("add `{end}` where it ends")),
        );
        // Nothing after it can be trusted: the rest is left out.
        self.at = self.text.len();
        self.out.push("\"\"", self.at, self.at);
    }

    /// A string opened by a typographic mark.
    fn curly(&mut self, opening: char) {
        let rest = self.rest();
        let n = opening.len_utf8();
        let line = rest[n..].find(is_newline).map_or(rest.len(), |i| i + n);
        let close = rest[n..line].char_indices().find(|(_, c)| is_curly(*c) || *c == '"');
        match close {
            Some((i, c)) => self.requote(n, n + i, c.len_utf8()),
            None => self.unclosed_quote(n, line),
        }
    }

    /// `'Heron Cottage'`: closed by a single mark before a boundary, or no string at all.
    fn single(&mut self, opening: char) {
        let rest = self.rest();
        let n = opening.len_utf8();
        let line = rest[n..].find(is_newline).map_or(rest.len(), |i| i + n);
        let close = rest[n..line].char_indices().find(|(i, c)| {
            let after = rest[n + i + c.len_utf8()..line].chars().next();
            is_single(*c) && after.is_none_or(is_boundary)
        });
        match close {
            Some((i, c)) => self.requote(n, n + i, c.len_utf8()),
            None => self.copy(),
        }
    }

    /// Copies a quotation with straight marks instead of its own.
    fn requote(&mut self, opening: usize, close: usize, closing: usize) {
        let end = self.at + close;
        self.out.push("\"", self.at, self.at + opening);
        self.at += opening;
        while self.at < end {
            match self.peek() {
                Some(c @ ('"' | '\\')) => {
                    self.out.push(&format!("\\{c}"), self.at, self.at + 1);
                    self.at += 1;
                }
                _ => self.copy_text(),
            }
        }
        self.out.push("\"", end, end + closing);
        self.at = end + closing;
    }

    fn brace(&mut self) -> Result<(), Box<Diagnostic>> {
        self.open.push(self.at);
        if self.open.len() > DEEPEST {
            return Err(Box::new(too_deep(self.at)));
        }
        self.copy();
        Ok(())
    }

    fn close(&mut self) {
        if self.open.pop().is_some() {
            return self.copy();
        }
        let at = self.at;
        self.said.push(
            Diagnostic::error("stray-brace", at..at + 1, "this brace closes nothing")
                .label("nothing is open here")
                .help("take it out")
                .edit(at..at + 1, ""),
        );
        self.out.push(" ", at, at + 1);
        self.at += 1;
    }

    fn word(&mut self) {
        let rest = self.rest();
        let end = rest
            .char_indices()
            .find(|(_, c)| is_boundary(*c) || is_curly(*c) || matches!(c, '"' | '/' | '\\' | '#'))
            .map_or(rest.len(), |(i, _)| i);
        let (from, to) = (self.at, self.at + end);
        let keyword = match &rest[..end] {
            "true" => "#true",
            "false" => "#false",
            "null" | "nan" | "inf" => {
                // Reserved by the parser: as a word in quotes the decoder can speak of it.
                self.out.push(&format!("\"{}\"", &rest[..end]), from, to);
                self.at = to;
                return;
            }
            _ => {
                while self.at < to {
                    self.copy();
                }
                return;
            }
        };
        self.out.push(keyword, from, to);
        self.at = to;
    }
}

fn too_deep(at: usize) -> Diagnostic {
    Diagnostic::error("too-deep", at..at + 1, "this is nested too deeply to be a description")
        .label(format!("level {} begins here", DEEPEST + 1))
        .help("look for a `}` that is missing further up")
}
