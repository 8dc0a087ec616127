//! Figures as they are spoken and jotted down. In: the tokens of a line. Out: fewer tokens, each figure
//! one of them with its unit: `two hundred and ten litres`, `3ft 6`, `12 litres a minute`,
//! `110 x 85 x 235 cm`, `1200 w`.

use super::figures::{figure, words_of};
use crate::describe::decode::hints::bare;
use crate::describe::quantity;
use crate::describe::tree::{Scalar, Value};

const ONES: [&str; 20] = [
    "nought",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
    "thirteen",
    "fourteen",
    "fifteen",
    "sixteen",
    "seventeen",
    "eighteen",
    "nineteen",
];
const TENS: [&str; 8] =
    ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"];
/// A figure in a word up to this one may be a name or a count, and is left to whoever reads it.
const SMALL: usize = 12;
/// Words for litres behind a figure of a main, which flows in litres a minute.
const LITRES: [&str; 7] = ["l", "litre", "litres", "liter", "liters", "ltr", "ltrs"];

/// The tokens of a line about something, figures put together.
pub fn together(about: &str, tokens: Vec<Value>) -> Vec<Value> {
    let is = |t: &Value| bare(t).is_some_and(|w| w == "is" || w == "are");
    let mut all: Vec<Value> = tokens.into_iter().filter(|t| !is(t)).collect();
    all = in_figures(all);
    all = a_minute(all);
    all = feet_and_inches(all);
    match about {
        "cupboard" => one_unit(letters(all)),
        "main" => of_a_main(all),
        "cylinder" => in_full(all),
        "discharge" | "wall" => sides(all),
        "door" => hinges(sides(all)),
        _ => all,
    }
}

/// One token in the place of several.
fn one(tokens: &[Value], scalar: Scalar, typed: String) -> Value {
    let span = tokens[0].span.start..tokens[tokens.len() - 1].span.end;
    Value { scalar, span, note: None, typed }
}

fn replaced(
    tokens: Vec<Value>,
    find: impl Fn(&[Value]) -> Option<(usize, Vec<Value>)>,
) -> Vec<Value> {
    let mut out = Vec::with_capacity(tokens.len());
    let mut rest = &tokens[..];
    while let Some(first) = rest.first() {
        match find(rest) {
            Some((n, values)) => {
                out.extend(values);
                rest = &rest[n..];
            }
            None => {
                out.push(first.clone());
                rest = &rest[1..];
            }
        }
    }
    out
}

/// `two hundred and ten`, `twenty-four`, `two point four`.
fn in_figures(tokens: Vec<Value>) -> Vec<Value> {
    replaced(tokens, |rest| {
        let words: Vec<String> =
            rest.iter().map_while(|t| bare(t).filter(|_| t.note.is_none())).collect();
        let (n, value) = spoken(&words)?;
        let unit = rest.get(n).and_then(bare).is_some_and(|w| quantity::is_unit(&w));
        let small = n == 1 && value <= SMALL as f64;
        if small && !unit {
            return None;
        }
        Some((n, vec![one(&rest[..n], Scalar::Number(value), format!("{value}"))]))
    })
}

/// The longest spoken figure that some words begin with: how many words, and what it is.
fn spoken(words: &[String]) -> Option<(usize, f64)> {
    let small = |w: &str| ONES.iter().position(|o| *o == w).map(|n| n as f64);
    let tens = |w: &str| TENS.iter().position(|t| *t == w).map(|n| (n as f64 + 2.0) * 10.0);
    let below_hundred = |w: &str| -> Option<f64> {
        let (ten, one) = w.split_once('-').unwrap_or((w, ""));
        match (tens(ten), one) {
            (Some(n), "") => Some(n),
            (Some(n), one) => small(one).map(|o| n + o),
            (None, _) => small(w),
        }
    };
    // `two thousand` stands by itself; `three hundred` after it is begun anew.
    let (mut at, mut thousands, mut group, mut any) = (0, 0.0, 0.0, false);
    let mut fresh = true;
    while let Some(word) = words.get(at) {
        let next = words.get(at + 1).map(String::as_str);
        if let Some(n) = below_hundred(word) {
            // `one two` are two figures, `twenty four` is one.
            let goes_on = fresh || group % 100.0 == 0.0 || (group % 10.0 == 0.0 && n < 10.0);
            if !goes_on {
                break;
            }
            (group, fresh) = (group + n, false);
        } else if word == "hundred" && !fresh && group < 100.0 {
            group *= 100.0;
        } else if word == "thousand" && !fresh && thousands == 0.0 {
            (thousands, group, fresh) = (1000.0 * group, 0.0, true);
        } else if word == "and"
            && any
            && (fresh || group >= 100.0)
            && next.is_some_and(|w| below_hundred(w).is_some())
        {
            at += 1;
            continue;
        } else {
            break;
        }
        any = true;
        at += 1;
    }
    let whole = thousands + group;
    if !any {
        return None;
    }
    // `two point four`
    if words.get(at).is_some_and(|w| w == "point") {
        let digits: Vec<f64> = words[at + 1..].iter().map_while(|w| small(w)).collect();
        let fits = !digits.is_empty() && digits.iter().all(|d| *d < 10.0);
        if fits {
            let part: String = digits.iter().map(|d| format!("{d}")).collect();
            let value: f64 = format!("{whole}.{part}").parse().ok()?;
            return Some((at + 1 + digits.len(), value));
        }
    }
    Some((at, whole))
}

/// `ind`, `elec`: how a cylinder is heated, cut short.
fn in_full(tokens: Vec<Value>) -> Vec<Value> {
    const SHORT: [(&str, &str); 5] = [
        ("ind", "indirect"),
        ("indir", "indirect"),
        ("dir", "direct"),
        ("elec", "electric"),
        ("unv", "unvented"),
    ];
    let full = |t: Value| {
        let word = bare(&t).map(|w| w.trim_end_matches('.').to_owned());
        let found = SHORT.iter().find(|(short, _)| word.as_deref() == Some(*short));
        match found {
            Some((_, full)) => Value { scalar: Scalar::Text((*full).to_owned()), ..t },
            None => t,
        }
    };
    tokens.into_iter().map(full).collect()
}

/// `12 litres a minute`, `14 l per min`.
fn a_minute(tokens: Vec<Value>) -> Vec<Value> {
    replaced(tokens, |rest| {
        let [litres, per, minute, ..] = rest else { return None };
        let litre = |t: &str| LITRES.contains(&t);
        let minutes = bare(minute)
            .is_some_and(|w| ["min", "minute", "mins", "m"].contains(&w.trim_end_matches('.')));
        let each =
            bare(per).is_some_and(|w| ["a", "per", "p", "every", "an"].contains(&w.as_str()));
        if !minutes || !each {
            return None;
        }
        if bare(litres).is_some_and(|w| litre(&w)) {
            let text = "l/min".to_owned();
            return Some((3, vec![one(&rest[..3], Scalar::Text(text.clone()), text)]));
        }
        // `12l per min`: the figure and its unit are one word.
        let text = words_of(litres)?;
        let digits = text.trim_end_matches(|c: char| c.is_alphabetic() || c == ' ');
        let fits = !digits.is_empty() && litre(&text[digits.len()..].trim().to_lowercase());
        let text = format!("{digits} l/min");
        fits.then(|| (3, vec![one(&rest[..3], Scalar::Text(text.clone()), text)]))
    })
}

/// `3ft 6`, `8 ft 2 in`: inches behind feet.
fn feet_and_inches(tokens: Vec<Value>) -> Vec<Value> {
    const FEET: [&str; 4] = ["ft", "foot", "feet", "'"];
    const IN_A_FOOT: f64 = 12.0;
    replaced(tokens, |rest| {
        let value = figure(&rest[0], rest.get(1))?;
        let n = if value.span.end > rest[0].span.end { 2 } else { 1 };
        let text = value.typed.trim_matches('"').to_owned();
        let unit = text.trim_start_matches(|c: char| c.is_ascii_digit() || c == '.').trim();
        if !FEET.contains(&unit.to_lowercase().as_str()) {
            return None;
        }
        let inches = rest.get(n)?;
        let Scalar::Number(number) = inches.scalar else { return None };
        if !(0.0..IN_A_FOOT).contains(&number) || inches.note.is_some() {
            return None;
        }
        let worded = rest.get(n + 1).and_then(bare);
        let is_inch =
            worded.as_deref().is_some_and(|w| ["in", "ins", "inch", "inches"].contains(&w));
        let other = worded.as_deref().is_some_and(|w| !is_inch && quantity::is_unit(w));
        if other {
            return None;
        }
        let n = n + 1 + usize::from(is_inch);
        let text = format!("{text} {}", inches.typed);
        Some((n, vec![one(&rest[..n], Scalar::Text(text.clone()), text)]))
    })
}

/// `1200 w 900 d 2400 h`: which side of a cupboard it is, in a letter.
fn letters(tokens: Vec<Value>) -> Vec<Value> {
    const LETTERS: [(&str, &str); 3] = [("w", "wide"), ("d", "deep"), ("h", "high")];
    let mut out: Vec<Value> = Vec::with_capacity(tokens.len());
    for token in tokens {
        let after_figure = out.last().is_some_and(|last| {
            matches!(last.scalar, Scalar::Number(_)) || figure(last, None).is_some()
        });
        // `2400 mm h`: behind the unit.
        let after_unit = out.last().and_then(bare).is_some_and(|w| quantity::is_unit(&w));
        let word =
            bare(&token).and_then(|w| LETTERS.iter().find(|(l, _)| *l == w).map(|(_, word)| *word));
        match word.filter(|_| after_figure || after_unit) {
            Some(word) => out.push(Value { scalar: Scalar::Text(word.to_owned()), ..token }),
            None => out.push(token),
        }
    }
    out
}

/// `110 x 85 x 235 cm`: the unit behind the last of three is that of all.
fn one_unit(tokens: Vec<Value>) -> Vec<Value> {
    let plain: Vec<usize> =
        (0..tokens.len()).filter(|i| matches!(tokens[*i].scalar, Scalar::Number(_))).collect();
    let [a, b, c] = plain[..] else { return tokens };
    let times = |from: usize, to: usize| {
        tokens[from + 1..to]
            .iter()
            .all(|t| bare(t).is_some_and(|w| ["x", "×", "by"].contains(&w.as_str())))
    };
    let unit = tokens.get(c + 1).and_then(bare).filter(|w| quantity::is_unit(w));
    let Some(unit) = unit.filter(|_| times(a, b) && times(b, c)) else { return tokens };
    let mut out = Vec::with_capacity(tokens.len());
    for (i, token) in tokens.iter().enumerate() {
        if [a, b].contains(&i) {
            let text = format!("{} {unit}", token.typed);
            out.push(Value { scalar: Scalar::Text(text.clone()), typed: text, ..token.clone() });
        } else {
            out.push(token.clone());
        }
    }
    out
}

/// A main flows in litres a minute, whoever leaves the minute out; `dynamic pressure 2 bar` and
/// `flow rate 16` are `dynamic` and `flow`.
fn of_a_main(tokens: Vec<Value>) -> Vec<Value> {
    const SAYS_WHICH: [&str; 5] = ["static", "dynamic", "standing", "working", "running"];
    let which = tokens.iter().filter_map(bare).any(|w| SAYS_WHICH.contains(&w.as_str()));
    let mut out: Vec<Value> = Vec::with_capacity(tokens.len());
    for token in tokens {
        let word = bare(&token).unwrap_or_default();
        let before = out.last().and_then(bare).unwrap_or_default();
        let figure_before = out.last().is_some_and(|v| matches!(v.scalar, Scalar::Number(_)));
        if word == "pressure" && which || word == "rate" && before == "flow" || word == "water" {
            continue;
        }
        if figure_before && LITRES.contains(&word.as_str()) {
            out.push(Value { scalar: Scalar::Text("l/min".to_owned()), ..token });
            continue;
        }
        let litres = match &token.scalar {
            Scalar::Text(t) if t.starts_with(|c: char| c.is_ascii_digit()) => {
                let digits = t.trim_end_matches(|c: char| c.is_alphabetic() || c == ' ');
                let unit = t[digits.len()..].trim().to_lowercase();
                LITRES.contains(&unit.as_str()).then(|| format!("{digits} l/min"))
            }
            _ => None,
        };
        match litres {
            Some(text) => {
                let scalar = Scalar::Text(text.clone());
                out.push(Value { scalar, typed: text, ..token });
            }
            None => out.push(token),
        }
    }
    out
}

/// `RHS`, `right hand wall`.
fn sides(tokens: Vec<Value>) -> Vec<Value> {
    const SHORT: [(&str, &str); 10] = [
        ("rhs", "right"),
        ("rh", "right"),
        ("r/h", "right"),
        ("right-hand", "right"),
        ("rght", "right"),
        ("lhs", "left"),
        ("lh", "left"),
        ("l/h", "left"),
        ("left-hand", "left"),
        ("rear", "back"),
    ];
    let mut out: Vec<Value> = Vec::with_capacity(tokens.len());
    for token in tokens {
        let word = bare(&token).unwrap_or_default();
        let before = out.last().and_then(bare).unwrap_or_default();
        if word == "hand" && ["left", "right"].contains(&before.as_str()) {
            continue;
        }
        match SHORT.iter().find(|(short, _)| *short == word) {
            Some((_, side)) => {
                let scalar = Scalar::Text((*side).to_owned());
                out.push(Value { scalar, typed: (*side).to_owned(), ..token });
            }
            None => out.push(token),
        }
    }
    out
}

/// `left hinge`, `hinged left`: the side behind its word.
fn hinges(tokens: Vec<Value>) -> Vec<Value> {
    let hinge = |t: &Value| {
        bare(t).is_some_and(|w| ["hinge", "hinged", "hung", "hinges"].contains(&w.as_str()))
    };
    let side = |t: &Value| bare(t).is_some_and(|w| w == "left" || w == "right");
    replaced(tokens, |rest| {
        let [a, b, ..] = rest else { return None };
        let (word, side) = match (hinge(a), hinge(b)) {
            (true, _) if side(b) => (a, b),
            (_, true) if side(a) => (b, a),
            _ => return None,
        };
        let scalar = Scalar::Text("hinge".to_owned());
        Some((2, vec![Value { scalar, ..word.clone() }, side.clone()]))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_are_read_as_they_are_spoken() {
        for (said, meant) in [
            ("two hundred and ten", Some((4, 210.0))),
            ("eleven hundred", Some((2, 1100.0))),
            ("twenty four", Some((2, 24.0))),
            ("twenty-four", Some((1, 24.0))),
            ("two point four", Some((3, 2.4))),
            ("one two", Some((1, 1.0))),
            ("two thousand three hundred", Some((4, 2300.0))),
            ("three", Some((1, 3.0))),
            ("hundred", None),
            ("point five", None),
            ("upstairs", None),
        ] {
            let words: Vec<String> = said.split(' ').map(str::to_owned).collect();
            assert_eq!(spoken(&words), meant, "{said}");
        }
    }
}
