//! Tidying a description. In: a text. Out: the same nodes in the same order with the same
//! comments, indented by braces, one space between words, no blank lines in a row.
//!
//! Done on the tokens of the text rather than by the parser's own printer, which loses comments
//! behind a value. What a keyboard did to quotes and spaces is undone on the way.

use super::tree::Node;
use super::{source, tree};
use crate::diagnostic::Diagnostic;

const INDENT: &str = "    ";

#[derive(Clone, Debug, PartialEq)]
enum Token<'a> {
    /// A word, a number, a string: printed as it stands.
    Word(&'a str),
    LineComment(&'a str),
    BlockComment(&'a str),
    /// One of `{ } ( ) ; =`, `/-` or the `\` that carries a line on.
    Mark(&'a str),
    Newline,
}

/// The tidied text, or why it can't be read.
///
/// # Errors
/// The faults of syntax, where the text has any: it is left alone then.
pub fn format(text: &str) -> Result<String, Vec<Diagnostic>> {
    let (cleaned, said) = source::clean(text).map_err(|fault| vec![*fault])?;
    if crate::diagnostic::any_error(&said) {
        return Err(said);
    }
    let (before, faults) = tree::parse(&cleaned);
    if !faults.is_empty() {
        return Err(faults);
    }
    let tidied = lay_out(&tokens(&cleaned.clean));
    // Never trusted: a tidied text that says something else is not handed out.
    let same = source::clean(&tidied)
        .ok()
        .map(|(again, _)| tree::parse(&again))
        .is_some_and(|(after, faults)| faults.is_empty() && same_all(&before, &after));
    Ok(if same { tidied } else { text.to_owned() })
}

fn same_all(a: &[Node], b: &[Node]) -> bool {
    let same_values = |x: &tree::Value, y: &tree::Value| {
        x.typed == y.typed && x.note.as_ref().map(|n| &n.value) == y.note.as_ref().map(|n| &n.value)
    };
    a.len() == b.len()
        && a.iter().zip(b).all(|(x, y)| {
            x.name == y.name
                && x.args.len() == y.args.len()
                && x.args.iter().zip(&y.args).all(|(x, y)| same_values(x, y))
                && x.properties.len() == y.properties.len()
                && x.properties
                    .iter()
                    .zip(&y.properties)
                    .all(|(x, y)| x.key == y.key && same_values(&x.value, &y.value))
                && same_all(&x.children, &y.children)
        })
}

fn is_newline(c: char) -> bool {
    matches!(c, '\n' | '\r' | '\u{85}' | '\u{b}' | '\u{c}' | '\u{2028}' | '\u{2029}')
}

fn tokens(text: &str) -> Vec<Token<'_>> {
    let mut all = Vec::new();
    let mut rest = text;
    while let Some(c) = rest.chars().next() {
        let (token, n) = if rest.starts_with("//") {
            let n = rest.find(is_newline).unwrap_or(rest.len());
            (Some(Token::LineComment(rest[..n].trim_end())), n)
        } else if rest.starts_with("/*") {
            let n = block_comment(rest);
            (Some(Token::BlockComment(&rest[..n])), n)
        } else if rest.starts_with("/-") {
            (Some(Token::Mark("/-")), 2)
        } else if rest.starts_with("\r\n") {
            (Some(Token::Newline), 2)
        } else if is_newline(c) {
            (Some(Token::Newline), c.len_utf8())
        } else if c.is_whitespace() {
            (None, c.len_utf8())
        } else if matches!(c, '{' | '}' | '(' | ')' | ';' | '=' | '\\') {
            (Some(Token::Mark(&rest[..1])), 1)
        } else {
            let n = string(rest).unwrap_or_else(|| word(rest));
            (Some(Token::Word(&rest[..n])), n)
        };
        all.extend(token);
        rest = &rest[n..];
    }
    all
}

fn block_comment(text: &str) -> usize {
    let mut depth = 0usize;
    let mut at = 0;
    while at < text.len() {
        if text[at..].starts_with("/*") {
            depth += 1;
            at += 2;
        } else if text[at..].starts_with("*/") {
            depth -= 1;
            at += 2;
            if depth == 0 {
                return at;
            }
        } else {
            at += text[at..].chars().next().map_or(1, char::len_utf8);
        }
    }
    text.len()
}

/// The length of the string that begins here, if one does.
fn string(text: &str) -> Option<usize> {
    let hashes = text.len() - text.trim_start_matches('#').len();
    let body = &text[hashes..];
    if !body.starts_with('"') {
        return None;
    }
    let quotes = if body.starts_with("\"\"\"") { 3 } else { 1 };
    let end = format!("{}{}", "\"".repeat(quotes), "#".repeat(hashes));
    let mut escaped = false;
    for (i, c) in body[quotes..].char_indices() {
        if escaped {
            escaped = false;
        } else if c == '\\' && hashes == 0 {
            escaped = true;
        } else if body[quotes + i..].starts_with(&end) {
            return Some(hashes + quotes + i + end.len());
        }
    }
    Some(text.len())
}

fn word(text: &str) -> usize {
    let ends = |(i, c): &(usize, char)| {
        c.is_whitespace()
            || is_newline(*c)
            || matches!(c, '{' | '}' | '(' | ')' | ';' | '=' | '\\' | '"')
            || text[*i..].starts_with("//")
            || text[*i..].starts_with("/*")
    };
    let n = text.char_indices().find(ends).map_or(text.len(), |(i, _)| i);
    // Always onwards, whatever stands here.
    n.max(text.chars().next().map_or(1, char::len_utf8))
}

fn lay_out(tokens: &[Token]) -> String {
    let mut out = String::new();
    let mut depth = 0usize;
    let mut carried = false;
    let mut blank = false;
    let mut opened = true;
    for line in tokens.split(|t| *t == Token::Newline) {
        if line.is_empty() {
            blank = !out.is_empty();
            continue;
        }
        let closing = line.iter().take_while(|t| **t == Token::Mark("}")).count();
        let begins = depth.saturating_sub(closing);
        if blank && !opened && closing == 0 {
            out.push('\n');
        }
        blank = false;
        for _ in 0..begins + usize::from(carried) {
            out.push_str(INDENT);
        }
        for (i, token) in line.iter().enumerate() {
            if i > 0 && spaced(&line[i - 1], token) {
                out.push(' ');
            }
            match token {
                Token::Word(t)
                | Token::LineComment(t)
                | Token::BlockComment(t)
                | Token::Mark(t) => {
                    out.push_str(t);
                }
                Token::Newline => {}
            }
            match token {
                Token::Mark("{") => depth += 1,
                Token::Mark("}") => depth = depth.saturating_sub(1),
                _ => {}
            }
        }
        out.push('\n');
        opened = line.last() == Some(&Token::Mark("{"));
        let last =
            line.iter().rfind(|t| !matches!(t, Token::LineComment(_) | Token::BlockComment(_)));
        carried = last == Some(&Token::Mark("\\"));
    }
    out
}

/// Whether a space goes between two neighbours.
fn spaced(left: &Token, right: &Token) -> bool {
    !matches!(
        (left, right),
        (Token::Mark("=" | "(" | ")" | "/-"), _)
            | (_, Token::Mark("=" | ")" | ";"))
            | (Token::Mark("{"), Token::Mark("}"))
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tidied(text: &str) -> String {
        let once = format(text).unwrap();
        assert_eq!(format(&once).unwrap(), once, "tidying twice changes more");
        once
    }

    #[test]
    fn spacing_and_indentation_are_put_right() {
        assert_eq!(
            tidied(
                "\n\n\ncupboard   width = 980\tdepth=760{\n door\n\n\n\n  wall \"right\"  \n\n}\n\n\nx;y  ;z"
            ),
            "cupboard width=980 depth=760 {\n    door\n\n    wall \"right\"\n}\n\nx; y; z\n"
        );
        assert_eq!(tidied("a{b{c}}"), "a { b { c } }\n");
        assert_eq!(tidied("a {\n}"), "a {\n}\n");
        assert_eq!(tidied("a x=( in ) 21"), "a x=(in)21\n");
        assert_eq!(tidied("a 1 \\\n 2 \\ // why\n   3\nb"), "a 1 \\\n    2 \\ // why\n    3\nb\n");
        assert_eq!(tidied(""), "");
        assert_eq!(tidied("a\r\nb"), "a\nb\n");
        assert_eq!(tidied("job “Heron”\u{a0}size=28mm"), "job \"Heron\" size=\"28mm\"\n");
    }

    #[test]
    fn every_comment_stays_where_it_was() {
        let text = "// head\n/* block\n   kept as it is */\njob \"x\" // behind a value\n\
                    cupboard width=980 /* wide */ depth=760 { // behind a brace\n\
                    // alone inside\n    door // last\n    // at the end\n} // behind the closing\n\
                    /- zone \"off\" kw=3 { tail x=1 }\nzone /-\"old\" \"new\" /-kw=2 kw=3\n\
                    zone \"y\" /-{ tail }\n// tail";
        let once = tidied(text);
        for comment in [
            "// head",
            "/* block\n   kept as it is */",
            "job \"x\" // behind a value",
            "/* wide */",
            "{ // behind a brace",
            "    // alone inside",
            "    door // last",
            "    // at the end",
            "} // behind the closing",
            "/-zone \"off\" kw=3 { tail x=1 }",
            "/-\"old\"",
            "/-kw=2",
            "/-{ tail }",
            "// tail\n",
        ] {
            assert!(once.contains(comment), "{comment} is gone:\n{once}");
        }
    }

    #[test]
    fn strings_keep_every_character() {
        for text in [
            "a \"x   =  {  } ; // no \\\" comment\"\n",
            "a #\"raw \\ \" {\"# b\n",
            "a \"\"\"\n    several\n      lines\n    \"\"\"\n",
        ] {
            assert_eq!(tidied(text), text);
        }
    }

    #[test]
    fn a_text_that_cannot_be_read_is_left_alone() {
        assert_eq!(format("a {").unwrap_err()[0].code, "unclosed-brace");
        assert!(format("a (").is_err());
    }
}
