//! The ledger of assumptions. In: what was filled in, and why. Out: ids, and the list the sheets
//! print with a box to tick. The same assumption made twice is one line.

use std::collections::BTreeMap;

use crate::model::{Assumption, Attrs, Datum, Value};

#[derive(Default)]
pub struct Ledger {
    pub list: Vec<Assumption>,
    index: BTreeMap<(String, String), usize>,
    /// Ids that stand on their own: no value carries them, yet they must be printed.
    pub standing: Vec<String>,
    /// Numbers up to here are taken by the text itself.
    pub first: usize,
}

impl Ledger {
    /// Records an assumption; returns its id.
    pub fn assume(&mut self, what: &str, value: &str, unit: &str, why: &str) -> String {
        let key = (what.to_owned(), value.to_owned());
        if let Some(i) = self.index.get(&key) {
            return self.list[*i].id.clone();
        }
        let id = format!("A{}", self.first + self.list.len() + 1);
        self.index.insert(key, self.list.len());
        self.list.push(Assumption {
            id: id.clone(),
            what: what.to_owned(),
            value: value.to_owned(),
            unit: unit.to_owned(),
            why: why.to_owned(),
        });
        id
    }

    /// An assumption about what is there rather than about a figure.
    pub fn stand(&mut self, what: &str, value: &str, why: &str) {
        let id = self.assume(what, value, "", why);
        if !self.standing.contains(&id) {
            self.standing.push(id);
        }
    }

    pub fn number(&mut self, what: &str, value: f64, unit: &str, why: &str) -> Value<f64> {
        let id = self.assume(what, &plain(value), unit, why);
        Value::assumed(value, &id)
    }

    pub fn text(&mut self, what: &str, value: &str, why: &str) -> Value<String> {
        let id = self.assume(what, value, "", why);
        Value::assumed(value.to_owned(), &id)
    }

    /// Fills in an attribute unless it is there.
    pub fn fill(
        &mut self,
        attrs: &mut Attrs,
        key: &str,
        what: &str,
        value: f64,
        unit: &str,
        why: &str,
    ) {
        if attrs.get(key).is_none() {
            let value = self.number(what, value, unit, why);
            attrs.set_number(key, value);
        }
    }

    pub fn fill_text(&mut self, attrs: &mut Attrs, key: &str, what: &str, value: &str, why: &str) {
        if attrs.get(key).is_none() {
            let value = self.text(what, value, why);
            attrs.set_text(key, value);
        }
    }

    /// What every pipe is made of where nothing says otherwise.
    pub fn material(&mut self) -> Value<String> {
        self.text(
            "pipe material",
            "copper",
            "common practice: half-hard copper tube in a cylinder cupboard",
        )
    }

    pub fn flag(&mut self, what: &str, value: &str, why: &str) -> Value<Datum> {
        let id = self.assume(what, value, "", why);
        Value::assumed(Datum::Flag(true), &id)
    }
}

/// A number as the trade writes it: no trailing noughts.
pub fn plain(value: f64) -> String {
    let text = format!("{value:.3}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}
