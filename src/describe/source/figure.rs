//! Words that begin like a number: what the parser would refuse (`28mm`, `3/4`, `.5`, `5%`, `21"`)
//! is put in quotes, so that the decoder can read its unit, and answered with the mend.

use super::scan::{Scanner, is_boundary, is_curly, is_dash, is_invisible};
use crate::describe::quantity::is_unit;
use crate::diagnostic::Diagnostic;

impl Scanner<'_> {
    pub(super) fn number_starts(&self) -> bool {
        let mut chars = self.rest().chars().filter(|c| !is_invisible(*c));
        let mut c = chars.next();
        if self.peek() != c {
            return false;
        }
        if c.is_some_and(|c| c == '+' || c == '-' || is_dash(c)) {
            c = chars.next();
        }
        if c == Some('.') || c == Some(',') {
            c = chars.next();
        }
        c.is_some_and(|c| c.is_ascii_digit() || is_fraction(c))
    }

    /// A word that begins like a number. What the parser would refuse is put in quotes, so that
    /// the decoder can read its unit, and is answered with the mend.
    pub(super) fn number(&mut self) {
        let rest = self.rest();
        let mut end = rest.len();
        let mut before = ' ';
        for (i, c) in rest.char_indices() {
            let after = rest[i + c.len_utf8()..].chars().next();
            let stops = match c {
                '/' => {
                    let both = |f: fn(char) -> bool| f(before) && after.is_some_and(f);
                    !both(|c| c.is_ascii_digit()) && !both(char::is_alphabetic)
                }
                // `2,35` is a figure, `2, basin` a list.
                ',' => !after.is_some_and(|c| c.is_ascii_digit()),
                '"' | '#' | '\\' | '[' | ']' => true,
                c => is_boundary(c) || is_curly(c),
            };
            if stops {
                end = i;
                break;
            }
            before = c;
        }
        let mut word: String = rest[..end].chars().filter(|c| !is_invisible(*c)).collect();
        word = word.chars().map(|c| if is_dash(c) { '-' } else { c }).collect();
        let (from, mut to) = (self.at, self.at + end);
        // 21" and 7'9": a mark right behind a figure, with nothing after it, means inches.
        let mut marks = rest[end..].chars();
        let mark = marks.next().filter(|c| *c == '"' || is_curly(*c));
        if let Some(c) = mark.filter(|_| marks.next().is_none_or(is_boundary)) {
            to += c.len_utf8();
            word.push_str(" in");
        }
        // `22 l/min`: the parser can't take the stroke in the unit.
        if mark.is_none() {
            let spaces = rest[end..].len() - rest[end..].trim_start_matches(' ').len();
            let unit: String = rest[end + spaces..]
                .chars()
                .take_while(|c| c.is_alphanumeric() || matches!(c, '/' | '³' | '²'))
                .collect();
            if spaces > 0 && unit.contains('/') && is_unit(&unit) {
                to += spaces + unit.len();
                word = format!("{word} {unit}");
            }
        }
        if is_number(&word) {
            self.out.push(&word, from, to);
        } else {
            let typed = &self.text[from..to];
            self.out.push(&format!("\"{}\"", word.replace('"', "")), from, to);
            self.said.push(bare_number(typed, &word, from, to));
        }
        self.at = to;
    }
}

pub fn is_fraction(c: char) -> bool {
    matches!(c, '½' | '¼' | '¾' | '⅛' | '⅜' | '⅝' | '⅞' | '⅓' | '⅔')
}

/// True for what the parser takes as a number.
fn is_number(word: &str) -> bool {
    let digits = |s: &str| {
        s.starts_with(|c: char| c.is_ascii_digit())
            && s.chars().all(|c| c.is_ascii_digit() || c == '_')
    };
    let unsigned = word.strip_prefix(['+', '-']).unwrap_or(word);
    let radix = |prefix: &str, ok: fn(&char) -> bool| {
        unsigned.strip_prefix(prefix).is_some_and(|s| {
            s.chars().next().is_some_and(|c| ok(&c)) && s.chars().all(|c| ok(&c) || c == '_')
        })
    };
    if radix("0x", char::is_ascii_hexdigit)
        || radix("0o", |c| matches!(c, '0'..='7'))
        || radix("0b", |c| matches!(c, '0' | '1'))
    {
        // Larger whole numbers overflow the parser.
        return unsigned.len() < 30;
    }
    let (mantissa, exponent) = match unsigned.split_once(['e', 'E']) {
        Some((m, e)) => (m, Some(e)),
        None => (unsigned, None),
    };
    let (whole, part) = match mantissa.split_once('.') {
        Some((w, p)) => (w, Some(p)),
        None => (mantissa, None),
    };
    let exponent_fits = |e: &str| digits(e.strip_prefix(['+', '-']).unwrap_or(e)) && e.len() <= 5;
    digits(whole)
        && whole.len() < 30
        && part.is_none_or(digits)
        && exponent.is_none_or(exponent_fits)
}

/// `1,050` may be a thousand and fifty: that is for the decoder to say, which knows what is asked for.
fn thousands(word: &str) -> bool {
    word.contains('.') || word.split_once(',').is_some_and(|(_, part)| part.len() == 3)
}

fn bare_number(typed: &str, word: &str, from: usize, to: usize) -> Diagnostic {
    let number: String =
        word.chars().take_while(|c| c.is_ascii_digit() || matches!(c, '.' | ',')).collect();
    let unit = word[number.len()..].trim();
    let mend = if word.starts_with(['.', ',']) {
        format!("0.{}", &word[1..])
    } else if !unit.is_empty() && unit.chars().all(|c| c.is_alphabetic() || c == '²' || c == '³')
    {
        format!("\"{number} {unit}\"")
    } else if unit.is_empty() && word.ends_with('.') {
        word.trim_end_matches('.').to_owned()
    } else if unit.is_empty() && word.matches(',').count() == 1 && !thousands(word) {
        word.replace(',', ".")
    } else {
        format!("\"{}\"", word.replace('"', ""))
    };
    let date = ['/', '-', '.'].iter().any(|mark| {
        let parts: Vec<&str> = word.split(*mark).collect();
        parts.len() == 3
            && parts.iter().all(|p| !p.is_empty() && p.bytes().all(|b| b.is_ascii_digit()))
    });
    let (what, help) = match date {
        true => ("a date needs quotes", "best with the year first: \"2026-11-12\""),
        false => (
            "a figure with anything beside digits needs quotes",
            "a plain number is in the trade's unit; with a unit it goes in quotes: \"28 mm\"",
        ),
    };
    Diagnostic::warning("bare-number", from..to, format!("`{typed}` was read as meant, but {what}"))
        .label(format!("write {mend}"))
        .help(help)
        .edit(from..to, mend)
}
