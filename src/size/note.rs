//! How a figure is written down: built up field by field, so that none is forgotten.

use super::{Figure, Input};

/// A figure in the making.
pub struct Note(Figure);

impl Note {
    pub fn new(id: &str, about: &str, quantity: &str) -> Note {
        Note(Figure {
            id: id.to_owned(),
            about: about.to_owned(),
            quantity: quantity.to_owned(),
            value: 0.0,
            unit: String::new(),
            method: String::new(),
            formula: String::new(),
            source: String::new(),
            inputs: Vec::new(),
            result: String::new(),
            assumed: false,
        })
    }

    /// The method's name, its formula, and where it is published.
    pub fn by(mut self, method: &str, formula: &str, source: &str) -> Note {
        self.0.method = method.to_owned();
        self.0.formula = formula.to_owned();
        self.0.source = source.to_owned();
        self
    }

    pub fn with(mut self, name: &str, value: f64, unit: &str) -> Note {
        // Adding nought makes an empty sum a plain nought.
        let value = value + 0.0;
        self.0.inputs.push(Input { name: name.to_owned(), value, unit: unit.to_owned() });
        self
    }

    pub fn assumed(mut self, assumed: bool) -> Note {
        self.0.assumed |= assumed;
        self
    }

    /// The value, its unit and what follows from it.
    pub fn gives(mut self, value: f64, unit: &str, result: impl Into<String>) -> Figure {
        self.0.value = value + 0.0;
        self.0.unit = unit.to_owned();
        self.0.result = result.into();
        self.0
    }
}

/// A number for a sentence: `digits` decimals at most, no trailing noughts.
pub fn plain(value: f64, digits: usize) -> String {
    let text = format!("{value:.digits$}");
    if !text.contains('.') {
        return text;
    }
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}
