//! System → figures. In: the component graph. Out: the same graph with every pipe sized, and each
//! figure with its working: formula, inputs, source, result.

mod accumulator;
mod aims;
mod branches;
mod circuit;
mod circulation;
mod cylinder;
pub mod demand;
pub mod discharge;
mod expansion;
pub mod fixing;
mod floor;
pub mod friction;
mod gather;
mod graph;
pub mod heat_loss;
mod heating;
mod heating_pipes;
mod index;
mod legs;
pub mod liquid;
mod natural;
pub mod network;
mod note;
mod parallel;
mod pressure;
mod pump;
mod relief;
mod states;
pub mod store;
mod supply;
pub mod vessel;
mod volume;
mod waiting;
pub mod water;
mod work;

use serde::Serialize;

use crate::model::System;

/// Sizes every pipe and writes every figure of the system. Never fails: what the system lacks
/// brings no figure, what it leaves open gets an allowance that the figure names.
pub fn size(system: &System) -> Sized {
    let mut work = work::Work::on(system);
    relief::relief(&mut work);
    let supply = supply::supply(&mut work);
    let mut heating = heating::heating(&mut work);
    circulation::circulation(&mut work);
    branches::branches(&mut work);
    pressure::pressures(&mut work, &supply);
    waiting::waiting(&mut work, &supply);
    heating::separators(&work, &mut heating);
    index::loops(&mut work, &heating);
    floor::floors(&mut work, &heating);
    let volumes = volume::volumes(&mut work, &heating);
    expansion::vessels(&mut work, &heating, &volumes);
    cylinder::cylinders(&mut work, &heating);
    work.done()
}

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
