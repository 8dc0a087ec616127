//! A line that goes on from one matter to the next without a comma: `210l cyl 24kw boiler 3bar`. In: the
//! tokens of a line. Out: where each matter begins; nothing where a part has no figure of its own or
//! a word could go with either.

use super::words::EMITTERS;
use super::{is_figure, real};
use crate::describe::decode::hints::bare;
use crate::describe::decode::loose::figure;
use crate::describe::decode::outlets;
use crate::describe::decode::turned::count_in;
use crate::describe::quantity;
use crate::describe::tree::Value;
use crate::describe::words::{OF_LITRES, begins_a_matter};

/// Matters that people jot down one behind another, each with its figures.
const JOTTED: [&str; 5] = ["cylinder", "boiler", "heat-pump", "main", "zone"];
/// Before a matter's word these make it a word of the part before: `heated by the boiler`.
const TIES: [&str; 14] = [
    "by", "from", "off", "in", "to", "the", "for", "with", "of", "on", "at", "twin", "via", "near",
];
/// Words between a figure and the word of its matter.
const OF_ITS_KIND: [&str; 10] = [
    "system",
    "combi",
    "gas",
    "oil",
    "indirect",
    "direct",
    "unvented",
    "new",
    "condensing",
    "litre",
];
/// So many entries make a list of outlets.
const LIST: usize = 2;

/// The tokens in parts, where the line holds several matters.
pub fn breaths(tokens: &[Value]) -> Option<Vec<Vec<Value>>> {
    let mut starts: Vec<(usize, &'static str)> = Vec::new();
    let mut at = 0;
    while at < tokens.len() {
        let now = starts.last().map(|(_, about)| *about);
        // `cylinder 210 l 7 bar`: one matter's pressure may be its own.
        let of_main = starts.len() > 1;
        match begins(tokens, at, of_main) {
            Some((about, n)) if now != Some(about) => {
                starts.push((at, about));
                at += n;
            }
            Some((_, n)) => at += n,
            None if at == 0 => return None,
            None => at += 1,
        }
    }
    // Each once, each with a figure or a list of its own.
    let mut abouts: Vec<&str> = starts.iter().map(|(_, about)| *about).collect();
    abouts.sort_unstable();
    let twice = abouts.windows(2).any(|p| p[0] == p[1]);
    let ends = starts.iter().skip(1).map(|(at, _)| *at).chain([tokens.len()]);
    let parts: Vec<Vec<Value>> =
        starts.iter().zip(ends).map(|((from, _), to)| tokens[*from..to].to_vec()).collect();
    let told = parts
        .iter()
        .zip(&starts)
        .all(|(part, (_, about))| *about == "outlets" || part.iter().any(is_figure));
    (parts.len() > 1 && !twice && told).then_some(parts)
}

/// What begins at a token, and how many tokens say so.
fn begins(tokens: &[Value], at: usize, bar_of_main: bool) -> Option<(&'static str, usize)> {
    let rest = &tokens[at..];
    let tied = at > 0 && bare(&tokens[at - 1]).is_some_and(|w| TIES.contains(&w.as_str()));
    let word = |i: usize| rest.get(i).and_then(bare);
    let jotted = |i: usize| -> Option<&'static str> {
        let word = word(i).filter(|w| begins_a_matter(w))?;
        JOTTED.into_iter().find(|j| *j == real(&word))
    };
    let emitter = |i: usize| word(i).is_some_and(|w| EMITTERS.iter().any(|(e, _)| *e == w));
    if tied {
        return None;
    }
    if let Some(about) = jotted(0) {
        return Some((about, 1));
    }
    // `buffer 50l`
    if let Some(own) = word(0).and_then(|w| OF_LITRES.into_iter().find(|o| *o == w))
        && rest.get(1).is_some_and(is_figure)
    {
        return Some((own, 1));
    }
    if outlets::entries(rest) >= LIST {
        return Some(("outlets", rest.len()));
    }
    if !is_figure(&rest[0]) {
        return None;
    }
    if count_in(&rest[0]).is_some() && emitter(1) {
        return Some(("zone", 2));
    }
    // `210 l cyl`, `24 kW system boiler`: the figure stands before its word.
    let value = figure(&rest[0], rest.get(1));
    let n = if value.as_ref().is_some_and(|v| v.span.end > rest[0].span.end) { 2 } else { 1 };
    let kind = |i: &usize| word(*i).is_some_and(|w| OF_ITS_KIND.contains(&w.as_str()));
    let kinds = (n..rest.len()).take_while(kind).count();
    if let Some(about) = jotted(n + kinds) {
        // `boiler 24kw cylinder 210`, `coil 20kw boiler`: the figure belongs to the word before it.
        let words_first = !is_figure(&tokens[0]);
        let before = at > 0
            && bare(&tokens[at - 1])
                .is_some_and(|w| words_first && begins_a_matter(&w) || w == "coil");
        let after = words_first && rest.get(n + kinds + 1).is_some_and(is_figure);
        return (!before && !after).then_some((about, n + kinds + 1));
    }
    let text = value.map(|v| v.typed.trim_matches('"').to_owned())?;
    let bar = quantity::read(&text, "bar").is_ok() && quantity::read(&text, "mm").is_err();
    let of_main = bar && bar_of_main || quantity::read(&text, "l/min").is_ok();
    of_main.then_some(("main", n))
}
