//! A value and where it came from. In: what the description states or completion decides.
//! Out: values that every sheet can mark as stated, measured, assumed or derived.

use std::collections::BTreeMap;
use std::ops::Range;

use serde::Serialize;

/// Byte range in the description; empty at 0 for what no text states.
pub type Span = Range<usize>;

/// Where a value came from.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Origin {
    /// Written in the description.
    Stated(#[serde(skip)] Span),
    /// Written in the description as a reading taken on site.
    Measured(#[serde(skip)] Span),
    /// An expert's default; the id names the assumption (`A1`, `A2`, …).
    Assumed(String),
    /// Worked out: by which method, from which values.
    Derived { method: String, from: Vec<String> },
}

impl Origin {
    /// True where the value rests on an assumption.
    pub fn is_assumed(&self) -> bool {
        matches!(self, Origin::Assumed(_))
    }

    /// A derived origin from a method alone.
    pub fn derived(method: &str) -> Origin {
        Origin::Derived { method: method.to_owned(), from: Vec::new() }
    }

    /// Where the text states it, if it does.
    pub fn span(&self) -> Option<Span> {
        match self {
            Origin::Stated(span) | Origin::Measured(span) => Some(span.clone()),
            _ => None,
        }
    }
}

/// A value with its provenance.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Value<T> {
    pub value: T,
    pub origin: Origin,
}

impl<T> Value<T> {
    pub fn stated(value: T, span: Span) -> Self {
        Value { value, origin: Origin::Stated(span) }
    }

    pub fn assumed(value: T, id: &str) -> Self {
        Value { value, origin: Origin::Assumed(id.to_owned()) }
    }

    pub fn derived(value: T, method: &str) -> Self {
        Value { value, origin: Origin::derived(method) }
    }

    /// The same provenance on another value.
    pub fn map<U>(self, f: impl FnOnce(T) -> U) -> Value<U> {
        Value { value: f(self.value), origin: self.origin }
    }
}

/// One attribute's value: a number in the attribute's own unit, a word, or a yes/no.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(untagged)]
pub enum Datum {
    Number(f64),
    Text(String),
    Flag(bool),
}

/// Named attributes in a fixed order. Which names a kind may carry, and their units, stand in
/// the catalogue.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
#[serde(transparent)]
pub struct Attrs(pub BTreeMap<String, Value<Datum>>);

impl Attrs {
    pub fn get(&self, key: &str) -> Option<&Value<Datum>> {
        self.0.get(key)
    }

    /// A number, whatever its provenance.
    pub fn number(&self, key: &str) -> Option<f64> {
        match self.0.get(key).map(|v| &v.value) {
            Some(Datum::Number(n)) => Some(*n),
            _ => None,
        }
    }

    /// A number with its provenance.
    pub fn quantity(&self, key: &str) -> Option<Value<f64>> {
        let v = self.0.get(key)?;
        match v.value {
            Datum::Number(n) => Some(Value { value: n, origin: v.origin.clone() }),
            _ => None,
        }
    }

    pub fn text(&self, key: &str) -> Option<&str> {
        match self.0.get(key).map(|v| &v.value) {
            Some(Datum::Text(t)) => Some(t),
            _ => None,
        }
    }

    /// True only where the attribute is stated as true.
    pub fn flag(&self, key: &str) -> bool {
        matches!(self.0.get(key).map(|v| &v.value), Some(Datum::Flag(true)))
    }

    pub fn is_assumed(&self, key: &str) -> bool {
        self.0.get(key).is_some_and(|v| v.origin.is_assumed())
    }

    pub fn set(&mut self, key: &str, value: Value<Datum>) {
        self.0.insert(key.to_owned(), value);
    }

    pub fn set_number(&mut self, key: &str, value: Value<f64>) {
        self.set(key, value.map(Datum::Number));
    }

    pub fn set_text(&mut self, key: &str, value: Value<String>) {
        self.set(key, value.map(Datum::Text));
    }
}

/// An expert's default that was filled in, listed on the sheets with a box to tick on site.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Assumption {
    /// `A1`, `A2`, … in the order of the job, never of the file.
    pub id: String,
    /// What was assumed, in the trade's words: "cylinder diameter".
    pub what: String,
    /// The value as printed: "554".
    pub value: String,
    /// Its unit, or empty.
    pub unit: String,
    /// Why this value.
    pub why: String,
}
