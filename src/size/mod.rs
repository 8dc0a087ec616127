//! System → figures. In: the component graph. Out: the same graph with every pipe sized, and each
//! figure with its working: formula, inputs, source, result.

pub mod demand;
pub mod discharge;
pub mod fixing;
pub mod friction;
pub mod heat_loss;
pub mod liquid;
pub mod store;
pub mod vessel;
pub mod water;

use serde::Serialize;

use crate::model::System;

/// One computed figure, as `size --json` prints it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Figure {
    /// Stable: `discharge.equivalent-length`, `hot-vessel.volume`, …; unique with `about`.
    pub id: String,
    /// The tag, pipe id or run it speaks of.
    pub about: String,
    /// "equivalent length of the discharge pipe".
    pub quantity: String,
    pub value: f64,
    pub unit: String,
    /// The method's name and its formula, as a person would write it.
    pub method: String,
    pub formula: String,
    /// Standard, "common practice" or "from memory".
    pub source: String,
    /// The formula's letters or words, each with value and unit, in the order of the formula.
    pub inputs: Vec<Input>,
    /// What follows: "28 mm passes: 11.0 of 18 m, 7 elbows left".
    pub result: String,
    /// True where any input is only assumed.
    pub assumed: bool,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Input {
    pub name: String,
    pub value: f64,
    pub unit: String,
}

/// The system with sizes, and the figures behind them.
#[derive(Clone, Debug)]
pub struct Sized {
    pub system: System,
    pub figures: Vec<Figure>,
}

impl Sized {
    /// The value of a figure.
    pub fn value(&self, id: &str, about: &str) -> Option<f64> {
        self.figures.iter().find(|f| f.id == id && f.about == about).map(|f| f.value)
    }
}
