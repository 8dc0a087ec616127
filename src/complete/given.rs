//! Facts as values. In: what the text gives, with its mark. Out: values with their origin, and
//! keys by which facts are put into an order that does not depend on the file.

use std::fmt::Write as _;

use crate::catalogue::Kind;
use crate::describe::facts::{Given, Mark, Maybe, PlaceFacts, Properties};
use crate::model::{Attrs, Datum, Origin, Place, Span, Value};

fn origin(mark: &Mark, span: &Span) -> Origin {
    mark.origin(span)
}

pub fn value<T: Clone>(given: &Given<T>) -> Value<T> {
    Value { value: given.value.clone(), origin: origin(&given.mark, &given.span) }
}

pub fn maybe<T: Clone>(given: &Maybe<T>) -> Option<Value<T>> {
    given.as_ref().map(value)
}

/// A property that is a number.
pub fn number(props: &Properties, key: &str) -> Option<Value<f64>> {
    let given = props.get(key)?;
    match given.value {
        Datum::Number(n) => Some(Value { value: n, origin: origin(&given.mark, &given.span) }),
        _ => None,
    }
}

/// A property as words; a number is written plainly.
pub fn text(props: &Properties, key: &str) -> Option<Value<String>> {
    let given = props.get(key)?;
    let words = match &given.value {
        Datum::Text(t) => t.clone(),
        Datum::Number(n) => super::assume::plain(*n),
        Datum::Flag(b) => b.to_string(),
    };
    Some(Value { value: words, origin: origin(&given.mark, &given.span) })
}

pub fn flag(props: &Properties, key: &str) -> bool {
    matches!(props.get(key).map(|g| &g.value), Some(Datum::Flag(true)))
}

/// Every property the kind may carry, as attributes.
pub fn attrs(props: &Properties, kind: Kind) -> Attrs {
    let mut out = Attrs::default();
    for (key, given) in props {
        if kind.attrs.contains_key(key) {
            let origin = origin(&given.mark, &given.span);
            out.set(key, Value { value: given.value.clone(), origin });
        }
    }
    out
}

/// Every property, as attributes, whatever its name.
pub fn all_attrs(props: &Properties) -> Attrs {
    let mut out = Attrs::default();
    for (key, given) in props {
        out.set(
            key,
            Value { value: given.value.clone(), origin: origin(&given.mark, &given.span) },
        );
    }
    out
}

pub fn place(facts: &PlaceFacts) -> Place {
    Place {
        elsewhere: facts.elsewhere.as_ref().map(|g| g.value.clone()),
        x: maybe(&facts.x),
        y: maybe(&facts.y),
        z: maybe(&facts.z),
        side: maybe(&facts.side),
        turn: maybe(&facts.turn),
        mirrored: facts.mirrored.as_ref().is_some_and(|m| m.value),
    }
}

/// What properties say, spans left out: for sorting.
pub fn fingerprint(props: &Properties) -> String {
    let mut out = String::new();
    for (key, given) in props {
        let _ = write!(out, "{key}={:?};", given.value);
    }
    out
}

pub fn name_of(name: &Maybe<String>) -> String {
    name.as_ref().map(|n| n.value.clone()).unwrap_or_default()
}
