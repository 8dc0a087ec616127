//! The scanner behind [`super::clean`]: knows strings, comments, braces and numbers, no more.

use super::{DEEPEST, Source};
use crate::describe::quantity::is_unit;
use crate::describe::words::begins_a_matter;
use crate::diagnostic::Diagnostic;

pub(super) struct Scanner<'a> {
    pub(super) text: &'a str,
    pub(super) at: usize,
    pub(super) out: Source,
    pub(super) said: Vec<Diagnostic>,
    /// Where each open brace stands.
    open: Vec<usize>,
    /// Where a line begins a matter of its own inside a brace: the line's word, the outermost brace.
    matters: Vec<(usize, usize)>,
    /// Words before which every brace is closed: found by an earlier pass.
    closes: &'a [usize],
    carry: Carry,
    /// Brackets that close words, each left out like the one that opened them.
    closing: Vec<usize>,
    /// Where in the clean text the word of a line or of a block's entry was last due.
    due: usize,
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

pub(super) fn is_single(c: char) -> bool {
    matches!(c, '\'' | '‘' | '’' | '‚' | '′')
}

/// Dropped everywhere: nobody sees them, and the parser refuses most of them.
pub fn is_invisible(c: char) -> bool {
    matches!(c,
        '\u{ad}' | '\u{200b}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}'
        | '\u{2060}' | '\u{2066}'..='\u{2069}' | '\u{feff}')
        || (c.is_control() && !matches!(c, '\n' | '\r' | '\t' | '\u{85}' | '\u{b}' | '\u{c}'))
}

/// Little pictures, ticks and arrows that phones put into a line.
pub(super) fn is_ornament(c: char) -> bool {
    matches!(c, '\u{1f000}'..='\u{1faff}' | '\u{2600}'..='\u{27bf}' | '\u{2b00}'..='\u{2bff}'
        | '\u{fe0e}' | '\u{fe0f}' | '\u{20e3}')
}

/// Spaces that are not the space bar's.
pub fn is_odd_space(c: char) -> bool {
    c != ' ' && c != '\t' && !is_newline(c) && c.is_whitespace()
}

pub(super) fn is_newline(c: char) -> bool {
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
    /// Braces that are closed where the next matter begins; those beyond stay open to the end.
    const MOST: usize = 8;
    let mut closes: Vec<usize> = Vec::new();
    loop {
        let s = pass(text, &closes)?;
        match s.next_matter() {
            Some(at) if closes.len() < MOST => closes.push(at),
            _ => return Ok(s.finish()),
        }
    }
}

/// One pass over the whole text.
fn pass<'a>(text: &'a str, closes: &'a [usize]) -> Result<Scanner<'a>, Box<Diagnostic>> {
    let mut s = Scanner {
        text,
        at: 0,
        out: Source { typed: text.to_owned(), ..Source::default() },
        said: Vec::new(),
        open: Vec::new(),
        matters: Vec::new(),
        closes,
        carry: Carry::No,
        closing: Vec::new(),
        due: 0,
    };
    s.out.clean.reserve(text.len());
    s.out.from.reserve(text.len());
    while let Some(c) = s.peek() {
        if s.closes.contains(&s.at) {
            s.close_all();
        }
        // Whether a new word may begin here.
        let fresh = s.text[..s.at]
            .chars()
            .next_back()
            .is_none_or(|c| is_boundary(c) || "/,:".contains(c) || is_dash(c) || is_invisible(c));
        let comment = s.rest().starts_with("//") || s.rest().starts_with("/*");
        if !comment && !c.is_whitespace() && !is_invisible(c) {
            s.carry = if c == '\\' { Carry::Line } else { Carry::No };
        }
        match c {
            '/' if s.rest().starts_with("//") => s.line_comment(),
            '/' if s.rest().starts_with("/*") => s.block_comment()?,
            '"' | '#' if s.rest().trim_start_matches('#').starts_with('"') => s.string(),
            '{' => {
                s.brace()?;
                s.due = s.out.clean.len();
            }
            '}' => {
                s.close();
                s.due = s.out.clean.len();
            }
            '(' if s.around_words() => s.blank(),
            ')' if s.closing.contains(&s.at) => {
                // The bracket belongs to the word that it closes.
                let end = s.at + 1;
                if let Some(last) = s.out.from.last_mut() {
                    last.1 = end as u32;
                }
                s.at = end;
            }
            '?' | '!' if s.rest()[1..].chars().next().is_none_or(char::is_whitespace) => s.blank(),
            c if is_curly(c) => s.curly(c),
            c if is_single(c) && fresh => s.single(c),
            _ if fresh && s.number_starts() && s.starts_a_line() => s.number_for_a_word(),
            _ if fresh && s.number_starts() => s.number(),
            c if fresh && c.is_alphabetic() => s.word(),
            ';' => {
                s.copy();
                s.cut();
                s.due = s.out.clean.len();
            }
            // `width: 1100`, `main = 3.5 bar`: only signs of what follows.
            ':' | '=' if s.only_points(c) => s.blank(),
            '-' | '*' | '•' | '–' if s.is_bullet(c) => {
                s.out.push(" ", s.at, s.at + c.len_utf8());
                s.at += c.len_utf8();
            }
            // A word of its own: a list's decoder needs it, the others leave it out; `up / down` too.
            c if c == ',' || (c == '/' && s.stands_alone()) => {
                s.out.push(" , ", s.at, s.at + 1);
                s.at += 1;
            }
            c if is_newline(c) => {
                s.copy();
                match s.carry {
                    Carry::No => {
                        s.cut();
                        s.due = s.out.clean.len();
                    }
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
    Ok(s)
}

impl<'a> Scanner<'a> {
    pub(super) fn rest(&self) -> &'a str {
        &self.text[self.at..]
    }

    pub(super) fn peek(&self) -> Option<char> {
        self.rest().chars().next()
    }

    /// With a space on either side.
    fn stands_alone(&self) -> bool {
        self.text[..self.at].ends_with(' ') && self.rest()[1..].starts_with(' ')
    }

    /// What stands before on the line.
    fn before(&self) -> &'a str {
        let before = self.text[..self.at].rsplit('\n').next().unwrap_or("");
        before.trim_matches(|c: char| c.is_whitespace() || is_ornament(c))
    }

    /// A colon at the end of a word; a sign of equality behind the word that begins a line, or with a
    /// space before it and a figure with its unit behind, which no name=value pair has.
    fn only_points(&self, c: char) -> bool {
        let rest = &self.rest()[1..];
        let ends = rest.chars().next().is_none_or(char::is_whitespace);
        let before = self.before();
        let spaced = ends && self.text[..self.at].ends_with(' ');
        let words = !before.contains(|c: char| "{}\"".contains(c));
        let one_word = !before.contains([' ', '=']);
        let mut next = rest.split_whitespace();
        let first = next.next().unwrap_or("");
        let figure = first.starts_with(|c: char| c.is_ascii_digit());
        let unit = first.trim_end_matches(',').ends_with(char::is_alphabetic)
            || next.next().is_some_and(|w| is_unit(w.trim_end_matches(',')));
        match c {
            ':' => ends,
            _ => begins_a_matter(before) || (spaced && words && (one_word || !figure || unit)),
        }
    }

    /// `24kW (kitchen)`: brackets around words, no mark before a value.
    fn around_words(&mut self) -> bool {
        let line = self.rest().split('\n').next().unwrap_or("");
        let Some(end) = line.find(')') else { return false };
        let within = &line[1..end];
        let after = line[end + 1..].chars().next();
        let words = !within.is_empty() && !within.contains(['(', '"', '[', ']', '{', '}']);
        // A mark stands right behind the sign of equality, whatever the spaces.
        let ends = after.is_none_or(|c| c.is_whitespace() || ",;}".contains(c))
            && !self.before().ends_with('=');
        if words && ends {
            self.closing.push(self.at + end);
        }
        words && ends
    }

    /// A sign that says nothing here.
    fn blank(&mut self) {
        self.out.push(" ", self.at, self.at + 1);
        self.at += 1;
    }

    /// `- boiler 24 kW`: the line of a list.
    fn is_bullet(&self, c: char) -> bool {
        self.before().is_empty() && self.rest()[c.len_utf8()..].starts_with(' ')
    }

    /// True where the word of a line or of a block's entry is due.
    fn starts_a_line(&self) -> bool {
        self.out.clean[self.due..].trim().is_empty()
    }

    /// `2 baths`: a figure in the place of a word. The parser takes it in quotes, so that the decoder
    /// can look for the word behind it.
    fn number_for_a_word(&mut self) {
        let rest = self.rest();
        let stops = |c: char| is_boundary(c) || is_curly(c) || "\"\\#,:".contains(c);
        let end = rest.find(stops).unwrap_or(rest.len());
        let word: String = rest[..end].chars().filter(|c| !is_invisible(*c)).collect();
        self.out.push(&format!("\"{word}\""), self.at, self.at + end);
        self.at += end;
    }

    /// The word before which the outermost brace that never closes ought to.
    fn next_matter(&self) -> Option<usize> {
        let brace = *self.open.first()?;
        let line = self.text[..brace].rfind('\n').map_or(0, |i| i + 1);
        let owner = self.text[line..brace].split_whitespace().next().unwrap_or("");
        // A building holds whole descriptions.
        if matches!(owner.to_lowercase().as_str(), "building" | "flat") {
            return None;
        }
        self.matters.iter().find(|(_, outer)| *outer == brace).map(|(at, _)| *at)
    }

    /// Closes every brace before a word that can stand in none of them, and says so.
    fn close_all(&mut self) {
        let at = self.at;
        let line = self.text[..at].matches('\n').count() + 1;
        let begins = self.text[..at].rfind('\n').map_or(0, |i| i + 1);
        for brace in std::mem::take(&mut self.open).into_iter().rev() {
            self.said.push(
                // All that stands there is read: only the mend is wanted.
                Diagnostic::warning(
                    "unclosed-brace",
                    brace..brace + 1,
                    "this brace is never closed",
                )
                .label("opened here")
                .help(format!(
                    "it was closed before line {line}, which starts a new matter: all of it was \
                         read"
                ))
                .edit(begins..begins, "}\n"),
            );
            self.out.push("}", at, at);
        }
        self.out.push("\n", at, at);
        self.cut();
    }

    fn finish(mut self) -> (Source, Vec<Diagnostic>) {
        for at in std::mem::take(&mut self.open).into_iter().rev() {
            self.said.push(
                Diagnostic::error("unclosed-brace", at..at + 1, "this brace is never closed")
                    .label("opened here")
                    .help("add a `}` where it ends"),
            );
            let end = self.text.len();
            self.out.push("\n}", end, end);
        }
        (self.out, self.said)
    }

    /// A line of the top ends here.
    fn cut(&mut self) {
        if self.open.is_empty() {
            self.out.cuts.push(self.out.clean.len());
        }
    }

    /// One character outside strings.
    pub(super) fn copy(&mut self) {
        let Some(c) = self.peek() else { return };
        let (from, to) = (self.at, self.at + c.len_utf8());
        self.at = to;
        let mut buffer = [0; 4];
        match c {
            c if is_invisible(c) => {}
            // What adorns a line on a phone is no word of it.
            c if is_ornament(c) => self.out.push(" ", from, to),
            // A joiner between letters is no part of a word of this language.
            '\u{200c}' | '\u{200d}' => {}
            c if is_odd_space(c) => self.out.push(" ", from, to),
            c if is_dash(c) => self.out.push("-", from, to),
            c => self.out.push(c.encode_utf8(&mut buffer), from, to),
        }
    }

    /// One character inside strings and comments, where dashes and joiners mean themselves.
    pub(super) fn copy_text(&mut self) {
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

    pub(super) fn copy_until(&mut self, end: usize) {
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
        let stops = |c: char| is_boundary(c) || is_curly(c) || "\"\\#,:".contains(c);
        let end = rest.find(|c| stops(c) || c == '/').unwrap_or(rest.len());
        // `2 zones?`
        let end = rest[..end].trim_end_matches(['?', '!']).len();
        // `w/m`, `m/c`: the parser can't take the stroke.
        if let Some(more) = rest[end..].strip_prefix('/')
            && more.starts_with(char::is_alphabetic)
        {
            let end = end + 1 + more.find(|c| stops(c) || c == '/').unwrap_or(more.len());
            self.out.push(&format!("\"{}\"", &rest[..end]), self.at, self.at + end);
            self.at += end;
            return;
        }
        let (from, to) = (self.at, self.at + end);
        if let Some(outer) = self.open.first()
            && self.before().is_empty()
            && begins_a_matter(&rest[..end])
        {
            self.matters.push((from, *outer));
        }
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
