//! Two figures where one is asked: `10-15 l/min`, `3 to 4 m`, `2 or 3 bends`. In: a line. Out: the
//! same with the careful one of the two, and a remark that says which was taken. Which one is careful
//! depends on what the line is about; where that is not plain the line stays as it is.

use super::real;
use super::words::{EMITTERS, OWN};
use crate::describe::decode::hints::bare;
use crate::describe::decode::reader::Decoder;
use crate::describe::decode::turned::node_and_args;
use crate::describe::quantity;
use crate::describe::tree::{Node, Scalar, Value, begins_with_figure};
use crate::diagnostic::Diagnostic;

/// Words between two figures of which one is meant.
const BETWEEN: [&str; 5] = ["to", "or", "-", "–", "/"];
const BENDS: [&str; 4] = ["elbows", "elbow", "bends", "bend"];

struct Range {
    /// So many tokens.
    tokens: usize,
    low: f64,
    high: f64,
    /// Unit behind the second figure; empty where it has none.
    unit: String,
}

#[derive(Clone, Copy, PartialEq)]
enum Careful {
    Lower,
    Higher,
}

impl Decoder {
    /// One figure in the place of two.
    pub(super) fn careful_ends(&mut self, node: &mut Node) {
        // `8-10 rads`
        if begins_with_figure(&node.name)
            && let Some((which, r)) = chosen(node, &node_and_args(node)[..1], &node.args)
        {
            let value = self.taken(&node_and_args(node)[..1], &r, which);
            node.name.clone_from(&value.typed);
            node.typed = value.typed;
        }
        let mut out = Vec::with_capacity(node.args.len());
        let args = std::mem::take(&mut node.args);
        let mut rest = &args[..];
        while let Some(first) = rest.first() {
            let Some(r) = range(rest) else {
                out.push(first.clone());
                rest = &rest[1..];
                continue;
            };
            let (own, after) = rest.split_at(r.tokens);
            // The unit may stand apart.
            let unit = after.first().and_then(bare).filter(|w| quantity::is_unit(w));
            match careful(node, &r, after) {
                Some(which) => {
                    out.push(self.taken(own, &r, which));
                    rest = after;
                }
                None if asks(node, own) && (unit.is_some() || !r.unit.is_empty()) => {
                    let apart = usize::from(r.unit.is_empty());
                    self.which(&rest[..r.tokens + apart]);
                    rest = &after[apart..];
                }
                None => {
                    out.push(first.clone());
                    rest = &rest[1..];
                }
            }
        }
        node.args = out;
    }

    /// Neither of the two is taken.
    fn which(&mut self, tokens: &[Value]) {
        let span = tokens[0].span.start..tokens[tokens.len() - 1].span.end;
        let typed: Vec<&str> = tokens.iter().map(|t| t.typed.trim_matches('"')).collect();
        self.say(
            Diagnostic::error(
                "two-figures",
                span,
                format!("`{}` is two figures, and neither was taken", typed.join(" ")),
            )
            .label("which of them?")
            .help("write the one that is fitted, as its plate says"),
        );
    }

    fn taken(&mut self, tokens: &[Value], r: &Range, which: Careful) -> Value {
        let span = tokens[0].span.start..tokens[tokens.len() - 1].span.end;
        let typed: Vec<&str> = tokens.iter().map(|t| t.typed.trim_matches('"')).collect();
        let (n, why) = match which {
            Careful::Lower => (r.low, "the lower one: no more is promised than the main gives"),
            Careful::Higher => (r.high, "the higher one: what serves it serves the other too"),
        };
        let text = format!("{n} {}", r.unit).trim().to_owned();
        self.say(
            Diagnostic::warning(
                "two-figures",
                span.clone(),
                format!("`{}` is two figures: `{text}` was taken", typed.join(" ")),
            )
            .label("which of them?")
            .help(why),
        );
        let scalar = if r.unit.is_empty() { Scalar::Number(n) } else { Scalar::Text(text.clone()) };
        Value { scalar, span, note: None, typed: text }
    }
}

/// The two figures of some tokens, and which of them is the careful one.
fn chosen(node: &Node, tokens: &[Value], after: &[Value]) -> Option<(Careful, Range)> {
    let r = range(tokens)?;
    Some((careful(node, &r, after)?, r))
}

/// Things of which one figure is right and nobody can say which: never a name.
fn asks(node: &Node, own: &[Value]) -> bool {
    let either = own.get(1).and_then(bare).is_some_and(|w| w == "or" || w == "/");
    !either && ["boiler", "heat-pump", "cylinder", "vessel"].contains(&real(&node.name))
}

/// The two figures that some tokens begin with.
fn range(tokens: &[Value]) -> Option<Range> {
    let text = |v: &Value| v.typed.trim_matches('"').to_owned();
    let first = tokens.first().filter(|v| v.note.is_none())?;
    // `10-15 l/min` as one word.
    if let Some((low, high)) = text(first).split_once(['-', '–'])
        && let Ok(low) = low.trim().parse::<f64>()
        && let Some((high, unit)) = with_unit(high)
    {
        return ordered(1, low, high, unit);
    }
    let [low, between, high, ..] = tokens else { return None };
    let (low, low_unit) = with_unit(&text(low))?;
    let joins = bare(between).is_some_and(|w| BETWEEN.contains(&w.as_str()));
    let (high, unit) = with_unit(&text(high)).filter(|_| joins)?;
    let same = low_unit.is_empty() || unit.is_empty() || low_unit == unit;
    let unit = if unit.is_empty() { low_unit } else { unit };
    same.then(|| ordered(3, low, high, unit))?
}

fn ordered(tokens: usize, low: f64, high: f64, unit: String) -> Option<Range> {
    (low > 0.0 && low < high).then_some(Range { tokens, low, high, unit })
}

/// `15 l/min`, `15l/min`, `15`: the figure, and what stands behind it.
fn with_unit(text: &str) -> Option<(f64, String)> {
    let text = text.trim();
    let digits = text.trim_end_matches(|c: char| !c.is_ascii_digit());
    let digits = match digits.find(|c: char| !c.is_ascii_digit() && c != '.') {
        Some(at) => &digits[..at],
        None => digits,
    };
    let unit = text[digits.len()..].trim();
    let known = unit.is_empty() || quantity::is_unit(unit);
    Some((digits.parse().ok().filter(|_| known)?, unit.to_owned()))
}

/// Which of the two is on the safe side, by what the line is about and what they count.
fn careful(node: &Node, r: &Range, after: &[Value]) -> Option<Careful> {
    let about = real(&node.name);
    let next = after.first().and_then(bare).unwrap_or_default();
    let unit = if r.unit.is_empty() { next.as_str() } else { r.unit.as_str() };
    let is =
        |wanted: &str| !unit.is_empty() && quantity::read(&format!("1 {unit}"), wanted).is_ok();
    let of_main = about == "main"
        || OWN.iter().any(|(word, of)| *word == node.name && of.first() == Some(&"main"));
    let counts = |words: &[&str]| words.contains(&next.as_str());
    let emitters = EMITTERS.iter().any(|(word, _)| *word == next || *word == node.name);
    match about {
        // Litres of a main are litres a minute.
        _ if of_main && (is("bar") || is("l/min") || is("l")) => Some(Careful::Lower),
        "discharge" if is("mm") || counts(&BENDS) => Some(Careful::Higher),
        "secondary-return" if is("mm") => Some(Careful::Higher),
        "zone" if is("kW") => Some(Careful::Higher),
        _ if emitters && r.unit.is_empty() => Some(Careful::Higher),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::with_unit;

    #[test]
    fn a_figure_and_its_unit_are_taken_apart() {
        assert_eq!(with_unit("15 l/min"), Some((15.0, "l/min".to_owned())));
        assert_eq!(with_unit("3.5m"), Some((3.5, "m".to_owned())));
        assert_eq!(with_unit("4"), Some((4.0, String::new())));
        assert_eq!(with_unit("4 lodges"), None);
        assert_eq!(with_unit("lodge"), None);
    }
}
