//! One value: its mark, its unit, whether it can be meant. In: a value of the tree and the field it
//! stands in. Out: the datum in the field's unit, or a fault.

use super::fields::{Field, Holds};
use super::reader::Decoder;
use crate::catalogue::{Tube, tubes};
use crate::describe::facts::{Given, Mark};
use crate::describe::nearest::listed;
use crate::describe::quantity::{self, Fault};
use crate::describe::slips::{self, Verdict};
use crate::describe::tree::{Scalar, Value};
use crate::diagnostic::Diagnostic;
use crate::model::{Datum, Side, Span};

impl Decoder {
    /// One value in its field's unit.
    pub(super) fn datum(
        &mut self,
        about: &str,
        field: Field,
        value: &Value,
    ) -> Option<Given<Datum>> {
        let (mark, unit) = self.mark(value)?;
        let wanted = match field.holds {
            Holds::Measure(unit) => unit,
            _ => "",
        };
        let given = |datum: Datum| Some(Given { value: datum, span: value.span.clone(), mark });
        match (field.holds, &value.scalar) {
            (_, Scalar::Null) => {
                self.say(
                    Diagnostic::error("empty-value", value.span.clone(), "nothing is said here")
                        .label(format!("`{}` was expected", field.key))
                        .help("leave out what you don't know: it is assumed and listed"),
                );
                None
            }
            (Holds::Measure(_) | Holds::Number | Holds::Count, Scalar::Number(n)) => {
                let n = match unit {
                    Some(u) => {
                        self.checked(field, &value.span, quantity::read_in(*n, &u, wanted))?
                    }
                    None => *n,
                };
                given(Datum::Number(self.sound(about, field, n, value)?))
            }
            (Holds::Count, Scalar::Text(t)) if in_words(t).is_some() => {
                given(Datum::Number(in_words(t)?))
            }
            (Holds::Measure(_) | Holds::Number | Holds::Count, Scalar::Text(t)) => {
                let n = self.checked(field, &value.span, quantity::read(t, wanted))?;
                self.gallons(t, &value.span);
                given(Datum::Number(self.sound(about, field, n, value)?))
            }
            (Holds::Flag, Scalar::Flag(b)) => given(Datum::Flag(*b)),
            (Holds::Flag, Scalar::Text(t)) if yes_no(t).is_some() => given(Datum::Flag(yes_no(t)?)),
            (Holds::Text, Scalar::Text(t)) if t.is_empty() => None,
            (Holds::Text, Scalar::Text(t)) => given(Datum::Text(t.clone())),
            (Holds::Text, Scalar::Number(_)) => given(Datum::Text(value.typed.clone())),
            (Holds::Any, Scalar::Number(n)) => {
                given(Datum::Number(self.sound(about, field, *n, value)?))
            }
            (Holds::Any, Scalar::Text(t)) => given(match yes_no(t) {
                Some(b) => Datum::Flag(b),
                None => Datum::Text(t.clone()),
            }),
            (Holds::Any, Scalar::Flag(b)) => given(Datum::Flag(*b)),
            (Holds::Side, Scalar::Text(t)) => match Side::from_key(&t.to_lowercase()) {
                Some(side) => given(Datum::Text(side.key().to_owned())),
                None => {
                    let sides = Side::ALL.map(Side::key);
                    self.unknown("unknown-word", "no such side", t, &value.span, sides);
                    None
                }
            },
            (Holds::Tube, Scalar::Text(_) | Scalar::Number(_)) => {
                let text = match &value.scalar {
                    Scalar::Text(t) => t.clone(),
                    _ => value.typed.clone(),
                };
                given(Datum::Text(self.tube(&text, &value.span)?))
            }
            (holds, _) => {
                let expected = match holds {
                    Holds::Measure(unit) => format!("a figure in {unit}"),
                    Holds::Count => "a whole number".to_owned(),
                    Holds::Number => "a figure".to_owned(),
                    Holds::Flag => "`#true` or `#false`".to_owned(),
                    Holds::Text | Holds::Any => "words in quotes".to_owned(),
                    Holds::Side => listed(Side::ALL.map(Side::key)),
                    Holds::Tube => "the size of a tube, such as 22".to_owned(),
                };
                self.say(
                    Diagnostic::error(
                        "wrong-value",
                        value.span.clone(),
                        format!("`{}` is no value for `{}`", value.typed, field.key),
                    )
                    .label(format!("expected {expected}")),
                );
                None
            }
        }
    }

    /// The provenance mark of a value, and the unit where the annotation names one instead.
    fn mark(&mut self, value: &Value) -> Option<(Mark, Option<String>)> {
        let Some(note) = &value.note else { return Some((Mark::Stated, None)) };
        let text = note.value.trim();
        let numbered = |id: &str| {
            id.strip_prefix(['A', 'a'])
                .is_some_and(|n| !n.is_empty() && n.chars().all(|c| c.is_ascii_digit()))
        };
        let mark = match text {
            "stated" => Mark::Stated,
            "measured" => Mark::Measured,
            "assumed" => Mark::Assumed(String::new()),
            "derived" => Mark::Derived(String::new()),
            _ if text.starts_with("derived:") => {
                Mark::Derived(text["derived:".len()..].trim().to_owned())
            }
            _ if numbered(text) => Mark::Assumed(text.to_uppercase()),
            _ if quantity::is_unit(text) => return Some((Mark::Stated, Some(text.to_owned()))),
            _ => {
                let known = ["measured", "derived", "stated", "A1"];
                self.unknown("unknown-mark", "no such mark", text, &note.span, known);
                return Some((Mark::Stated, None));
            }
        };
        Some((mark, None))
    }

    fn checked(&mut self, field: Field, span: &Span, read: Result<f64, Fault>) -> Option<f64> {
        let unit = match field.holds {
            Holds::Measure("1:n") => "a fall such as 1:200",
            Holds::Measure(unit) => unit,
            _ => "a plain number",
        };
        let fault = match read {
            Ok(n) => return Some(n),
            Err(fault) => fault,
        };
        let (code, message) = match &fault {
            Fault::NoNumber => ("not-a-number", format!("`{}` needs a figure", field.key)),
            Fault::UnknownUnit(u) => {
                ("unknown-unit", format!("`{u}` is no unit this program knows"))
            }
            Fault::WrongQuantity { given, is } => {
                ("wrong-unit", format!("`{given}` is a unit of {is}, which `{}` is not", field.key))
            }
        };
        self.say(Diagnostic::error(code, span.clone(), message).label(format!("expected {unit}")));
        None
    }

    /// Gallons are of two sizes: says once which are meant.
    fn gallons(&mut self, text: &str, span: &Span) {
        if !quantity::in_gallons(text) || std::mem::replace(&mut self.gallons, true) {
            return;
        }
        self.say(
            Diagnostic::warning("which-gallon", span.clone(), "gallons are read as imperial ones")
                .label("4.546 litres each, also in gpm")
                .help(
                    "a US gallon is 3.785 litres: write \"5 US gpm\" or \"45 US gal\", or give litres",
                ),
        );
    }

    /// Asks about likely slips; drops what is impossible.
    fn sound(&mut self, about: &str, field: Field, n: f64, value: &Value) -> Option<f64> {
        let unit = match field.holds {
            Holds::Measure(unit) => unit,
            _ => "",
        };
        if field.holds == Holds::Count && (n.fract() != 0.0 || !(0.0..=1e6).contains(&n)) {
            self.say(
                Diagnostic::error(
                    "impossible-number",
                    value.span.clone(),
                    match field.key {
                        "count" => format!("there can't be {} of `{about}`", slips::number(n)),
                        key => format!("{} is no number of {key}", slips::number(n)),
                    },
                )
                .label("expected a whole number"),
            );
            return None;
        }
        match slips::look(about, field.key, unit, n, &value.span, &value.typed) {
            Verdict::Fine => Some(n),
            Verdict::Asked(d) => {
                self.say(d);
                Some(n)
            }
            Verdict::Impossible(d) => {
                self.say(d);
                None
            }
        }
    }

    /// A tube's designation as the catalogue writes it: `22 mm` → `22`, `pb 15` → `PB 15`.
    fn tube(&mut self, text: &str, span: &Span) -> Option<String> {
        let plain = text.trim().trim_end_matches("mm").trim_end();
        let same = |t: &&Tube| t.size.eq_ignore_ascii_case(plain);
        if let Some(t) = tubes().iter().find(same) {
            return Some(t.size.clone());
        }
        // "15 PB", "25 mm MDPE"
        let mut words: Vec<&str> = plain.split_whitespace().filter(|w| *w != "mm").collect();
        let first = 1.min(words.len());
        words.rotate_left(first);
        let turned = words.iter().map(|w| w.trim_end_matches("mm")).collect::<Vec<_>>().join(" ");
        if let Some(t) = tubes().iter().find(|t| t.size.eq_ignore_ascii_case(&turned)) {
            return Some(t.size.clone());
        }
        // A thread rather than a tube: "G3/4".
        if plain.starts_with(['G', 'R']) && plain[1..].starts_with(|c: char| c.is_ascii_digit()) {
            return Some(plain.to_owned());
        }
        // A bare size of another material ("16", "32") is settled by its material later on.
        if tubes().iter().any(|t| t.size.rsplit(' ').next() == Some(plain)) {
            return Some(plain.to_owned());
        }
        let of_copper: Vec<&str> =
            tubes().iter().filter(|t| t.material == "copper").map(|t| t.size.as_str()).collect();
        let of_copper = listed(of_copper);
        self.say(
            Diagnostic::error(
                "unknown-size",
                span.clone(),
                format!("there is no tube of size `{text}`"),
            )
            .label("expected an outside diameter, mm")
            .help(format!("copper: {of_copper}; others with their letters: `PB 15`, `MDPE 25`")),
        );
        None
    }
}

/// How many, in a word: "two".
pub fn in_words(text: &str) -> Option<f64> {
    const WORDS: [&str; 13] = [
        "none", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
        "eleven", "twelve",
    ];
    WORDS.iter().position(|w| w.eq_ignore_ascii_case(text.trim())).map(|n| n as f64)
}

pub fn yes_no(text: &str) -> Option<bool> {
    match text.to_lowercase().as_str() {
        "yes" | "true" | "y" => Some(true),
        "no" | "false" | "n" => Some(false),
        _ => None,
    }
}
