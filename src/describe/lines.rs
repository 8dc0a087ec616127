//! Many faults of one line, made one. In: what was said, in the order of the text. Out: the same
//! with one message a line where several words of it can't be read, and a right line beside it:
//! who mends one word after another gets from one wrong line to the next.

use super::samples::sample_for;
use crate::diagnostic::{Diagnostic, Edit, Severity};

/// Faults of form: each says of a word or two that they can't stand there.
const OF_FORM: [&str; 7] = [
    "syntax",
    "unexpected-value",
    "unknown-node",
    "unknown-word",
    "unknown-property",
    "loose-figure",
    "wrong-value",
];
/// What is said where there is no right line to show.
const BY_NAME: &str = "values are given by name, `width=980`; words with spaces go in quotes";
/// Words quoted of a line at most.
const QUOTED: usize = 4;

/// True of a fault after which part of a line stays unread.
fn of_form(d: &Diagnostic) -> bool {
    d.severity == Severity::Error && OF_FORM.contains(&d.code)
}

/// A line of the text, and the word that it begins with.
struct Line<'a> {
    start: usize,
    end: usize,
    word: &'a str,
}

/// The line around a byte.
fn line_at(text: &str, at: usize) -> Line<'_> {
    let mut at = at.min(text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    let line = text[..at].rfind('\n').map_or(0, |i| i + 1);
    let (mut start, mut end) = (line, text[at..].find('\n').map_or(text.len(), |i| at + i));
    // `boiler 24; zone 7`: each for itself, what stands in braces with its line.
    let mut depth = 0;
    for (i, c) in text[line..end].char_indices().map(|(i, c)| (line + i, c)) {
        match c {
            '{' => depth += 1,
            '}' => depth -= 1,
            ';' if depth == 0 && i < at => start = i + 1,
            ';' if depth == 0 => {
                end = i;
                break;
            }
            _ => {}
        }
    }
    let begins =
        text[start..end].trim_start_matches(|c: char| c.is_whitespace() || "-*•–".contains(c));
    let word = begins.split(|c: char| c.is_whitespace() || "{;=".contains(c)).next().unwrap_or("");
    Line { start, end, word }
}

/// A right line to show for a wrong one: of a zone with a floor in it, one with a floor.
fn right_line(text: &str, line: &Line) -> Option<&'static str> {
    let typed = text.get(line.start..line.end).unwrap_or("");
    sample_for(line.word, typed)
}

/// Joins what was said of each line. `all` is in the order of the text.
pub fn join(text: &str, all: Vec<Diagnostic>) -> Vec<Diagnostic> {
    let mut out: Vec<Diagnostic> = Vec::with_capacity(all.len());
    let mut rest = all.into_iter().peekable();
    while let Some(first) = rest.next() {
        let line = line_at(text, first.span.start);
        let mut said = vec![first];
        while let Some(next) = rest.next_if(|d| (line.start..=line.end).contains(&d.span.start)) {
            said.push(next);
        }
        one_line(text, &line, said, &mut out);
    }
    out
}

fn one_line(text: &str, line: &Line, said: Vec<Diagnostic>, out: &mut Vec<Diagnostic>) {
    let faults = said.iter().filter(|d| of_form(d)).count();
    let right = right_line(text, line);
    let alone = said.iter().any(|d| d.code == "syntax");
    if faults == 0 || (faults == 1 && !alone) {
        let told = |mut d: Diagnostic| {
            if of_form(&d) && d.help.is_none() && d.edit.is_none() {
                d.help = right.map(in_words).or_else(|| Some(BY_NAME.to_owned()));
            }
            d
        };
        let said = readings_at_once(text, said).into_iter().map(told).collect();
        out.extend(one_mend(text, line, alike_at_once(text, said)));
        return;
    }
    let (faults, others): (Vec<_>, Vec<_>) = said.into_iter().partition(of_form);
    // A line that is to be written again needs no mend of its quotes; but what was read of it all the
    // same is told, or whoever typed it takes it for lost.
    let (learnt, others): (Vec<_>, Vec<_>) = others.into_iter().partition(is_reading);
    let typed = |d: &Diagnostic| text.get(d.span.clone()).unwrap_or("").trim().to_owned();
    let more: Vec<String> = faults[1..].iter().map(typed).filter(|t| !t.is_empty()).collect();
    let mut first = faults.into_iter().next().expect("there are faults");
    if !more.is_empty() {
        let shown: Vec<String> = more.iter().take(QUOTED).map(|t| format!("`{t}`")).collect();
        let beyond = if more.len() > QUOTED { ", …" } else { "" };
        first.message = format!("{}; nor {}{beyond}", first.message, shown.join(", "));
    }
    let read: Vec<String> = learnt.iter().filter_map(|d| reading(text, d)).collect();
    if !read.is_empty() {
        first.message =
            format!("{}. Read of this line all the same: {}", first.message, read.join("; "));
    }
    first.edit = first.edit.filter(|_| right.is_none());
    first.help = right.map(in_words).or(first.help).or_else(|| Some(BY_NAME.to_owned()));
    out.push(first);
    out.extend(others);
}

/// "`18kw` as `kw=18`".
fn reading(text: &str, d: &Diagnostic) -> Option<String> {
    let edit = d.edit.as_ref()?;
    let typed = text.get(edit.span.clone())?.trim();
    let meant = edit.replacement.lines().next().unwrap_or("").trim();
    (!typed.is_empty() && !meant.is_empty()).then(|| format!("`{typed}` as `{meant}`"))
}

/// Figures that can't be, told of one line in one message.
fn alike_at_once(text: &str, said: Vec<Diagnostic>) -> Vec<Diagnostic> {
    const ALIKE: &str = "impossible-number";
    let is = |d: &Diagnostic| d.code == ALIKE && d.severity == Severity::Error && d.edit.is_some();
    let (alike, mut others): (Vec<_>, Vec<_>) = said.into_iter().partition(is);
    match (alike.len() > 1).then(|| mended(text, &alike)).flatten() {
        Some(edit) => {
            let joined = |part: fn(&Diagnostic) -> &str, by: &str| {
                alike.iter().map(part).collect::<Vec<_>>().join(by)
            };
            let span = alike[0].span.start..alike[alike.len() - 1].span.end;
            let d = Diagnostic::error(ALIKE, span, joined(|d| &d.message, "; "))
                .label(joined(|d| &d.label, " "))
                .edit(edit.span, edit.replacement);
            others.push(d);
        }
        None => others.extend(alike),
    }
    others.sort_by_key(|d| d.span.start);
    others
}

/// Several mends of one line, each of the line as it was typed, undo one another: the first shows them
/// all.
fn one_mend(text: &str, line: &Line, mut said: Vec<Diagnostic>) -> Vec<Diagnostic> {
    let within = |e: &Edit| line.start <= e.span.start && e.span.end <= line.end;
    let own: Vec<usize> =
        (0..said.len()).filter(|i| said[*i].edit.as_ref().is_some_and(within)).collect();
    if own.len() < 2 {
        return said;
    }
    let with: Vec<Diagnostic> = own.iter().map(|i| said[*i].clone()).collect();
    let Some(edit) = mended(text, &with) else { return said };
    for i in &own[1..] {
        said[*i].edit = None;
    }
    said[own[0]].edit = Some(edit);
    said
}

/// What is read, though it is written otherwise.
fn is_reading(d: &Diagnostic) -> bool {
    const READ: [&str; 5] = ["bare-number", "loose-figure", "two-words", "no-braces", "misspelt"];
    d.severity == Severity::Warning && READ.contains(&d.code)
}

/// What was read otherwise than typed on one line, in one remark with the whole mend: one after
/// another they would be as many rounds.
fn readings_at_once(text: &str, said: Vec<Diagnostic>) -> Vec<Diagnostic> {
    let (read, mut others): (Vec<_>, Vec<_>) = said.into_iter().partition(is_reading);
    match (read.len() > 1).then(|| mended(text, &read)).flatten() {
        Some(edit) => {
            let typed = text.get(edit.span.clone()).unwrap_or("").trim();
            // What goes on two lines is told on one.
            let meant = edit.replacement.trim().replace('\n', "; ");
            let message = format!("`{typed}` was read as `{meant}`");
            let misspelt = read.iter().any(|d| d.code == "misspelt");
            let code = if misspelt { "misspelt" } else { read[0].code };
            let help = read.iter().find_map(|d| d.help.clone());
            // A line that goes on with the one above begins with that line's end.
            let whole = text.get(edit.span.clone()).unwrap_or("");
            let blank = whole.len() - whole.trim_start().len();
            let d = Diagnostic::warning(code, edit.span.start + blank..edit.span.end, message)
                .label("written as shown below it is read without a word")
                .edit(edit.span, edit.replacement);
            others.push(Diagnostic { help, ..d });
        }
        None => others.extend(read),
    }
    others.sort_by_key(|d| d.span.start);
    others
}

/// The edits of several remarks as one; nothing where one lacks its own or two overlap.
fn mended(text: &str, read: &[Diagnostic]) -> Option<Edit> {
    let mut edits: Vec<Edit> = Vec::new();
    let mut close_at = None;
    for d in read {
        match &d.edit {
            Some(edit) => edits.push(edit.clone()),
            // `coil kw=20` without braces goes on to the end of its line.
            None if d.code == "no-braces" && close_at.is_none() => {
                let end = text[d.span.end..].find('\n').map_or(text.len(), |i| d.span.end + i);
                let rest = text.get(d.span.end..end)?;
                if rest.contains(['{', '}', ';']) || rest.contains("//") {
                    return None;
                }
                close_at = Some(d.span.end + rest.trim_end().len());
                let word = text.get(d.span.clone())?.to_lowercase();
                edits.push(Edit { span: d.span.clone(), replacement: format!("{{ {word}") });
            }
            None => return None,
        }
    }
    edits.extend(close_at.map(|at| Edit { span: at..at, replacement: " }".to_owned() }));
    edits.sort_by_key(|e| (e.span.start, e.span.end));
    let mut all = edits.first()?.clone();
    for next in &edits[1..] {
        // Two that overlap can't both be made.
        let between = text.get(all.span.end..next.span.start)?;
        all.replacement = format!("{}{between}{}", all.replacement, next.replacement);
        all.span.end = next.span.end;
    }
    Some(all)
}

fn in_words(right: &str) -> String {
    format!("a right line: {right}")
}
