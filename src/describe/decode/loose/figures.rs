//! What a token of a line is: a figure with its unit, a side, a count in a word, several figures in
//! one word. In: a value as typed. Out: the same taken apart, or in the unit that it can only be in.

use crate::describe::decode::fields::{Field, Holds};
use crate::describe::decode::hints::bare;
use crate::describe::decode::value::in_words;
use crate::describe::quantity;
use crate::describe::tree::{Scalar, Value};
use crate::model::Side;

/// Sizes of a cupboard below this, without a unit, are metres.
const METRES_BELOW: f64 = 10.0;

/// No cupboard, door or cylinder is ten millimetres high: such a figure without a unit is in metres.
pub fn in_metres(about: &str, field: Field, value: Value) -> Value {
    let of_metres = ["cupboard", "door", "cylinder"].contains(&about);
    let size = ["width", "depth", "height", "diameter", "clear-width", "clear-height"];
    match value.scalar {
        Scalar::Number(n)
            if of_metres
                && size.contains(&field.key)
                && n > 0.0
                && n < METRES_BELOW
                && value.note.is_none() =>
        {
            let typed = format!("{} m", value.typed);
            Value { scalar: Scalar::Text(typed.clone()), typed, ..value }
        }
        _ => value,
    }
}

/// `1100x850x2350` as its three figures, `2x` as two, `w900` of a cupboard as its width.
pub fn apart(about: &str, value: Value) -> Vec<Value> {
    let Scalar::Text(text) = &value.scalar else { return vec![value] };
    let number = |part: &str| -> Option<Value> {
        let n: f64 = part.trim().trim_end_matches("mm").parse().ok()?;
        let typed = part.trim().trim_end_matches("mm").to_owned();
        Some(Value { scalar: Scalar::Number(n), typed, ..value.clone() })
    };
    let whole = |n: &Value| matches!(n.scalar, Scalar::Number(n) if n.fract() == 0.0 && n >= 0.0);
    if let Some(n) = text.strip_suffix(['x', 'X', '×']).and_then(number).filter(whole) {
        return vec![n];
    }
    // `3,5` and `.5`, which the parser takes for words.
    let digits = text.chars().all(|c| c.is_ascii_digit() || ".,".contains(c));
    if digits && let Some(n) = number(&text.replacen(',', ".", 1)) {
        return vec![n];
    }
    let parts: Vec<&str> = text.split(['x', 'X', '×']).collect();
    let numbers: Vec<Value> = parts.iter().filter_map(|p| number(p)).collect();
    if parts.len() == 3 && numbers.len() == parts.len() {
        return numbers;
    }
    let lower = text.to_lowercase();
    let letters = [('w', "width"), ('d', "depth"), ('h', "height")];
    for (letter, key) in letters.iter().filter(|_| about == "cupboard") {
        let figure = lower.strip_prefix(*letter).or_else(|| lower.strip_suffix(*letter));
        let Some(figure) = figure.and_then(number) else { continue };
        let word = Scalar::Text((*key).to_owned());
        return vec![Value { scalar: word, typed: (*key).to_owned(), ..value.clone() }, figure];
    }
    vec![value]
}

pub fn side_of(value: &Value) -> Option<Side> {
    match &value.scalar {
        Scalar::Text(t) => Side::from_key(&t.to_lowercase()),
        _ => None,
    }
}

pub fn words_of(value: &Value) -> Option<String> {
    match &value.scalar {
        Scalar::Text(t) => Some(t.clone()),
        _ => None,
    }
}

pub fn is_number(value: &Value) -> bool {
    match &value.scalar {
        Scalar::Number(_) => true,
        Scalar::Text(t) => bare(value).is_some() && in_words(t).is_some(),
        _ => false,
    }
}

/// "170 l" for litres is 170; in another unit it stays in its quotes.
pub fn plainly(text: &str, field: Field) -> String {
    let number: String = text.chars().take_while(|c| c.is_ascii_digit() || *c == '.').collect();
    let same = match field.holds {
        Holds::Measure(unit) => {
            quantity::read(text, unit).ok() == number.parse().ok() && !number.is_empty()
        }
        _ => false,
    };
    if same { number } else { format!("\"{text}\"") }
}

/// A figure with its unit in the place of a name: `"170 l"`, `24kW`, or `170 l` as two words.
pub fn figure(value: &Value, next: Option<&Value>) -> Option<Value> {
    if value.note.is_some() {
        return None;
    }
    match &value.scalar {
        Scalar::Number(_) => {
            let unit = next.and_then(bare_unit)?;
            Some(Value {
                scalar: Scalar::Text(format!("{} {unit}", value.typed)),
                span: value.span.start..next?.span.end,
                note: None,
                typed: format!("{} {unit}", value.typed),
            })
        }
        Scalar::Text(t) => {
            let unit = t.trim_start_matches(|c: char| c.is_ascii_digit() || ".,".contains(c));
            // `3A` names a flat, `250L` does not.
            let litres = unit == "L" && t.len() > 2;
            let names_a_flat = unit.len() == 1
                && unit != "M"
                && !litres
                && unit.chars().all(|c| c.is_ascii_uppercase());
            // `3ft 6`, `2'6 in`
            let feet = unit.contains("ft") || unit.starts_with(['\'', '’', '′']);
            let known = quantity::is_unit(unit.trim()) || (feet && quantity::read(t, "mm").is_ok());
            let is = unit.len() < t.len() && !names_a_flat && known;
            (is && !unit.trim().is_empty()).then(|| Value { typed: t.clone(), ..value.clone() })
        }
        _ => None,
    }
}

pub fn bare_unit(value: &Value) -> Option<String> {
    match &value.scalar {
        // The scanner puts a unit with a stroke in quotes.
        Scalar::Text(t) if quantity::is_unit(t) && (bare(value).is_some() || t.contains('/')) => {
            Some(t.clone())
        }
        _ => None,
    }
}
