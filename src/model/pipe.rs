//! A pipe: one stretch between two ports, drawn from → to in the direction of flow.

use serde::Serialize;

use super::{PartIx, Service, Side, Span, Value};

/// Index of a pipe in [`super::System::pipes`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
pub struct PipeIx(pub usize);

/// A port of a part: index into the kind's ports.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
pub struct PortRef {
    pub part: PartIx,
    pub port: usize,
}

/// Where a pipe passes through the cupboard's surface on its way to a part elsewhere.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Tail {
    /// "flow", "return", "main", …
    pub name: String,
    pub side: Option<Value<Side>>,
    pub x: Option<Value<f64>>,
    pub y: Option<Value<f64>>,
    pub z: Option<Value<f64>>,
}

/// One stretch of pipe between two ports.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Pipe {
    /// Unique: `p1`, `p2`, … in the order of the job.
    pub id: String,
    /// The run it belongs to: "cold feed", "expansion branch".
    pub run: String,
    pub service: Service,
    pub from: PortRef,
    pub to: PortRef,
    /// Designation of the tube: "22" (copper, outside diameter), "PB 15". Filled by `size` where
    /// nothing states it.
    pub size: Option<Value<String>>,
    /// "copper", "PB", "PE-X", …; the catalogue's pipe table lists them.
    pub material: Value<String>,
    /// True length including what lies outside the cupboard, metres.
    pub length: Option<Value<f64>>,
    /// Elbows and bends along the pipe.
    pub elbows: Option<Value<f64>>,
    /// Thickness of lagging, mm; 0 = bare.
    pub lagging: Option<Value<f64>>,
    /// Set where exactly one end is in the cupboard.
    pub tail: Option<Tail>,
    #[serde(skip)]
    pub span: Span,
}
