//! Quotations as keyboards make them: straight, curly, single, raw, and those that nobody closed.

use super::scan::{Scanner, is_boundary, is_curly, is_newline, is_single};
use crate::diagnostic::Diagnostic;

impl Scanner<'_> {
    /// A string with straight quotes: plain, raw or over several lines.
    pub(super) fn string(&mut self) {
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
    pub(super) fn curly(&mut self, opening: char) {
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
    pub(super) fn single(&mut self, opening: char) {
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
}
