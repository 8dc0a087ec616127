//! Values as rules read them: a number with whether it is assumed and where it stands, a yes or no.
//! In: attributes. Out: what a verdict needs.

use crate::model::{Attrs, Datum, Origin, Span, Value};

/// A number with what a verdict needs to know of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Known {
    pub value: f64,
    pub assumed: bool,
    pub span: Span,
}

impl Known {
    pub fn of(value: &Value<f64>) -> Known {
        Known {
            value: value.value,
            assumed: value.origin.is_assumed(),
            span: value.origin.span().unwrap_or_default(),
        }
    }
}

pub fn number_of(attrs: &Attrs, key: &str) -> Option<Known> {
    attrs.quantity(key).map(|v| Known::of(&v))
}

/// A yes or no, also where the description writes the word.
pub fn flag_of(attrs: &Attrs, key: &str) -> Option<bool> {
    match &attrs.get(key)?.value {
        Datum::Flag(flag) => Some(*flag),
        Datum::Text(word) => match word.as_str() {
            "yes" | "true" => Some(true),
            "no" | "false" => Some(false),
            _ => None,
        },
        Datum::Number(n) => Some(*n != 0.0),
    }
}

/// True where the value rests on an assumption.
pub fn assumed<T>(value: Option<&Value<T>>) -> bool {
    value.is_some_and(|v| matches!(v.origin, Origin::Assumed(_)))
}
