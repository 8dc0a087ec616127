//! A part of the system, and a factory-made unit that holds parts.

use std::collections::BTreeSet;

use serde::Serialize;

use super::{Attrs, Side, Span, Value};
use crate::catalogue::Kind;

/// Where stands what is neither in the cupboard nor said to be in a room.
pub const HOUSE: &str = "the house";

/// Index of a part in [`super::System::parts`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
pub struct PartIx(pub usize);

/// Index of a unit in [`super::System::units`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
pub struct UnitIx(pub usize);

/// Where a part stands. Anything left out is for the cupboard layout to decide.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Place {
    /// `None`: in the cupboard. `Some`: elsewhere, in words ("kitchen, below").
    pub elsewhere: Option<String>,
    /// Centre (upright cylinders, vessels) or fixing centre, mm.
    pub x: Option<Value<f64>>,
    pub y: Option<Value<f64>>,
    pub z: Option<Value<f64>>,
    /// The surface it is fixed to.
    pub side: Option<Value<Side>>,
    /// Clockwise turn seen from above, degrees; 0 = as in the catalogue, facing the door.
    pub turn: Option<Value<f64>>,
    pub mirrored: bool,
}

/// One part: a valve, a vessel, a tee, a thermostat.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Part {
    /// Unique on all sheets: `V1`, `PRV1`, `CYL1`.
    pub tag: String,
    /// What the description calls it; unique too. Defaults to the kind's key, numbered.
    pub name: String,
    pub kind: Kind,
    /// The factory-made unit it comes in, if any.
    pub unit: Option<UnitIx>,
    /// The part it is fitted into (an immersion heater, a thermostat pocket), if any.
    pub on: Option<PartIx>,
    pub attrs: Attrs,
    /// What the maker declares: "internal bypass", "air gap inside".
    pub declared: BTreeSet<String>,
    pub place: Place,
    /// The node in the description that made it; empty for parts that completion added.
    #[serde(skip)]
    pub span: Span,
}

impl Part {
    pub fn number(&self, key: &str) -> Option<f64> {
        self.attrs.number(key)
    }

    pub fn text(&self, key: &str) -> Option<&str> {
        self.attrs.text(key)
    }

    pub fn declares(&self, fact: &str) -> bool {
        self.declared.contains(fact)
    }

    /// A thermal store, an open-vented store or primary, a stove: no rule covers it.
    pub fn lies_outside(&self) -> bool {
        self.declares("outside these rules")
            || self.declares("open-vented primary")
            || self.kind.key == "uncontrolled source"
    }

    /// A store whose water swells into a cushion of air that it holds itself.
    pub fn has_air_gap(&self) -> bool {
        self.is_store()
            && (self.declares("air gap inside") || self.text("expansion") == Some("internal"))
    }

    /// A hot-water cylinder of whatever kind.
    pub fn is_store(&self) -> bool {
        self.kind.symbol.name == "cylinder"
    }

    /// The hottest that a store's water gets, °C: kept, let by the sun, or in its hot cycle.
    pub fn hottest_stored(&self) -> Option<f64> {
        const CYCLE: f64 = 60.0;
        let none = |c: &str| ["", "none", "no"].contains(&c.trim());
        let cycle = match self.text("cycle") {
            Some(words) if !none(words) => {
                let figures = words.split(|c: char| !c.is_ascii_digit() && c != '.');
                let degrees = figures.filter_map(|w| w.parse::<f64>().ok());
                Some(
                    degrees.filter(|t| (45.0..100.0).contains(t)).reduce(f64::max).unwrap_or(CYCLE),
                )
            }
            Some(_) => None,
            None => self.attrs.flag("cycle").then_some(CYCLE),
        };
        [self.number("stored"), self.number("max-stored"), cycle]
            .into_iter()
            .flatten()
            .reduce(f64::max)
    }

    pub fn in_cupboard(&self) -> bool {
        self.place.elsewhere.is_none()
    }
}

/// A factory-made unit: one body (an inlet control group) or a frame (a cylinder with its group,
/// pump and valves fitted at the works). Its parts are in the graph and on the schematic; in the
/// cupboard it is one solid.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Unit {
    pub tag: String,
    pub name: String,
    pub kind: Kind,
    pub attrs: Attrs,
    pub place: Place,
    #[serde(skip)]
    pub span: Span,
}
