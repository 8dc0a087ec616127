//! What phones and word processors do to a text, undone. In: the text as typed. Out: a text the
//! parser can take, a map back to the typed characters, and what is wrong with quotes and braces.
//!
//! Every later span goes through [`Source::span`], so that messages point at what was typed.

mod figure;
mod quotes;
mod scan;

pub(super) use figure::is_fraction;
pub(super) use scan::is_invisible;

use crate::diagnostic::Diagnostic;
use crate::model::Span;

/// Larger texts are refused: a description is typed by people.
pub const LARGEST: usize = 2_000_000;
/// Deeper nesting is refused: the language needs four levels.
pub const DEEPEST: usize = 24;
/// Longer lines, in bytes, are refused: no hand wrote them.
pub const LONGEST_LINE: usize = 20_000;

/// The text of a file. Two-byte text, as some editors save it, is taken too.
///
/// # Errors
/// What can be shown of the text, and what is wrong with it.
pub fn text_of(bytes: &[u8]) -> Result<String, (String, Box<Diagnostic>)> {
    let pairs = |from: fn([u8; 2]) -> u16| {
        let units: Vec<u16> = bytes[2..].chunks_exact(2).map(|p| from([p[0], p[1]])).collect();
        String::from_utf16_lossy(&units)
    };
    match bytes {
        [0xff, 0xfe, ..] => return Ok(pairs(u16::from_le_bytes)),
        [0xfe, 0xff, ..] => return Ok(pairs(u16::from_be_bytes)),
        _ => {}
    }
    match std::str::from_utf8(bytes) {
        Ok(text) => Ok(text.to_owned()),
        // Cut off where reading stopped, in the middle of a letter: too large, and said so later.
        Err(e) if bytes.len() > LARGEST && e.valid_up_to() + 4 > bytes.len() => {
            Ok(String::from_utf8_lossy(bytes).into_owned())
        }
        Err(e) => {
            let shown = String::from_utf8_lossy(bytes).into_owned();
            let at = e.valid_up_to();
            let fault = if bytes.contains(&0) {
                Diagnostic::error("not-text", at..at, "this is not a text file")
                    .label("from here on")
                    .help("a description is plain text, such as `firstfix new` prints")
            } else {
                Diagnostic::error("not-text", at..at + 3, "this letter can't be read")
                    .label("not in UTF-8")
                    .help("save the file as UTF-8 text")
            };
            Err((shown, Box::new(fault)))
        }
    }
}

/// The text the parser sees.
#[derive(Debug, Default)]
pub struct Source {
    pub clean: String,
    /// Where one line of the top ends and the next may begin: offsets in `clean`.
    pub cuts: Vec<usize>,
    /// For each byte of `clean`, where its typed characters start and end.
    pub(in crate::describe::source) from: Vec<(u32, u32)>,
    /// The text as typed.
    pub typed: String,
}

impl Source {
    /// The typed characters behind a span of the clean text.
    pub fn span(&self, clean: Span) -> Span {
        let start = self.from.get(clean.start).map_or(self.typed.len(), |m| m.0 as usize);
        if clean.end <= clean.start {
            return start..start;
        }
        let end = match self.from.get(clean.end - 1) {
            Some(m) => m.1 as usize,
            None => self.typed.len(),
        };
        start..end.max(start)
    }

    /// Appends text that stands for the typed bytes `from..to`.
    fn push(&mut self, text: &str, from: usize, to: usize) {
        self.clean.push_str(text);
        self.from.resize(self.clean.len(), (from as u32, to as u32));
    }
}

/// Undoes what keyboards did. `Err`: the text can't be a description at all.
pub fn clean(text: &str) -> Result<(Source, Vec<Diagnostic>), Box<Diagnostic>> {
    if text.len() > LARGEST {
        let message = format!("this is longer than a description may be: {LARGEST} characters");
        let fault = Diagnostic::error("too-large", 0..0, message)
            .label("is this the right file?")
            .help("repeat flats with `building { flat { … } }` instead of copying them");
        return Err(Box::new(fault));
    }
    let mut start = 0;
    for line in text.split_inclusive('\n') {
        if line.len() > LONGEST_LINE {
            let first = line.chars().next().map_or(0, char::len_utf8);
            let message = format!("this line is longer than {LONGEST_LINE} characters");
            let fault = Diagnostic::error("too-large", start..start + first, message)
                .label("begins here")
                .help("break it where a value ends: with `\\` at the end, or into a block");
            return Err(Box::new(fault));
        }
        start += line.len();
    }
    if let Some(at) = text.find('\0') {
        let fault = Diagnostic::error("not-text", at..at + 1, "this is not a text file")
            .label("a zero byte stands here")
            .help("a description is plain text, such as `firstfix new` prints");
        return Err(Box::new(fault));
    }
    scan::scan(text)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cleaned(text: &str) -> String {
        clean(text).unwrap().0.clean
    }

    #[test]
    fn quotes_dashes_and_spaces_of_phones_become_plain() {
        assert_eq!(cleaned("cylinder “store” litres=210"), "cylinder \"store\" litres=210");
        assert_eq!(cleaned("kitchen–sink\u{a0}2"), "kitchen-sink 2");
        assert_eq!(cleaned("\u{feff}bo\u{200b}iler"), "boiler");
        assert_eq!(cleaned("tail z=−40"), "tail z=-40");
        assert_eq!(cleaned("job ‘Heron Cottage’"), "job \"Heron Cottage\"");
        assert_eq!(cleaned("job 'Heron Cottage'"), "job \"Heron Cottage\"");
        assert_eq!(cleaned("job \"Heron’s “Rest”\""), "job \"Heron’s “Rest”\"");
        assert_eq!(cleaned("job \"Heron” number=1"), "job \"Heron\" number=1");
    }

    #[test]
    fn numbers_that_the_parser_refuses_are_quoted() {
        for (typed, expected) in [
            ("pipe size=28mm", "pipe size=\"28mm\""),
            ("valve size=3/4", "valve size=\"3/4\""),
            ("a b=.5", "a b=\".5\""),
            ("a b=5%", "a b=\"5%\""),
            ("a b=22.", "a b=\"22.\""),
            ("a b=2,35", "a b=\"2,35\""),
            ("a 2026-11-25", "a \"2026-11-25\""),
            ("a b=1½", "a b=\"1½\""),
            ("door clear-width=21\" x=1", "door clear-width=\"21 in\" x=1"),
            ("door h=7'9\"", "door h=\"7'9 in\""),
            ("a b=-1.5e3 c=0x1f 1_000", "a b=-1.5e3 c=0x1f 1_000"),
        ] {
            assert_eq!(cleaned(typed), expected);
        }
    }

    #[test]
    fn spans_go_back_to_the_typed_characters() {
        let typed = "job “Herön”\u{a0}number=2";
        let (source, _) = clean(typed).unwrap();
        let at = source.clean.find("number").unwrap();
        assert_eq!(&typed[source.span(at..at + 8)], "number=2");
        let at = source.clean.find('"').unwrap();
        assert_eq!(&typed[source.span(at..at + 8)], "“Herön”");
    }

    #[test]
    fn strings_and_comments_keep_what_they_hold() {
        for text in [
            "a \"28mm {\" // 28mm {{{ “\nb",
            "a /* 3/4 { /* } */ \" */ b=1",
            "a #\"x \" y\"# b",
            "a \"\"\"\n  28mm }\n  \"\"\"",
            "a \"x \\\" 28mm\" b",
        ] {
            assert_eq!(cleaned(text), text);
        }
    }

    #[test]
    fn braces_and_quotes_that_do_not_match_are_named_and_mended() {
        let (source, said) = clean("a {\n b\n").unwrap();
        assert_eq!(said[0].code, "unclosed-brace");
        assert_eq!(said[0].span, 2..3);
        assert!(source.clean.ends_with('}'));
        let (_, said) = clean("a\n}\nb").unwrap();
        assert_eq!((said[0].code, said[0].span.clone()), ("stray-brace", 2..3));
        let (source, said) = clean("job \"Heron {\n a\n}").unwrap();
        assert_eq!(said[0].code, "unclosed-quote");
        assert_eq!(source.clean, "job \"Heron \"{\n a\n}");
    }

    #[test]
    fn deep_nesting_large_files_and_binary_files_are_refused() {
        assert_eq!(clean(&"a{\n".repeat(100_000)).unwrap_err().code, "too-deep");
        assert_eq!(clean(&"/*\n".repeat(100_000)).unwrap_err().code, "too-deep");
        assert_eq!(clean(&" ".repeat(LARGEST + 1)).unwrap_err().code, "too-large");
        assert_eq!(clean("PK\u{3}\0").unwrap_err().code, "not-text");
    }
}
