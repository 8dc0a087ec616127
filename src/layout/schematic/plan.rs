//! The finished plan of a schematic: everything in mm on its sheet. In: nothing. Out: the data
//! that `draw` turns into marks.

use super::pose::Pose;
use crate::layout::graph::Measures;
use crate::model::{P2, PartIx, PipeIx, Rect, System, UnitIx};

/// A symbol on the sheet.
#[derive(Clone, Debug, PartialEq)]
pub struct PlacedSymbol {
    pub part: PartIx,
    pub at: Rect,
    pub pose: Pose,
}

/// What a label speaks of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum About {
    Part(PartIx),
    Pipe(PipeIx),
    Unit(UnitIx),
}

/// A few lines of text in a place of their own.
#[derive(Clone, Debug, PartialEq)]
pub struct Label {
    pub about: About,
    pub lines: Vec<String>,
    /// The box of all lines.
    pub at: Rect,
    /// Read from the right of the sheet.
    pub upwards: bool,
    /// Lines lean to this side of the box: -1 left, 0 middle, 1 right.
    pub lean: i8,
    /// The first line is no tag: all lines in plain letters.
    pub plain: bool,
    /// From the text to what it speaks of, where it could not stand beside it.
    pub leader: Option<[P2; 2]>,
}

/// A flow arrow.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Arrow {
    pub pipe: PipeIx,
    /// Middle of the arrow.
    pub at: P2,
    /// Degrees: 0 = to the right, 90 = down the sheet.
    pub direction: f64,
    pub length: f64,
}

/// A pipe hops over another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Jump {
    pub pipe: PipeIx,
    pub at: P2,
    /// The hopping pipe runs across the sheet.
    pub horizontal: bool,
}

/// An outline round what comes from the factory in one piece, or round a part of it.
#[derive(Clone, Debug, PartialEq)]
pub struct UnitFrame {
    pub unit: UnitIx,
    /// The box of the whole outline.
    pub at: Rect,
    /// The straight pieces of the outline.
    pub edges: Vec<[P2; 2]>,
    /// It goes round all of the unit; else the unit has several outlines, of which one is largest.
    pub alone: bool,
    pub largest: bool,
}

/// The paper it is drawn on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sheet {
    A4Upright,
    A4Across,
    A3,
    A2,
    A1,
    A0,
    /// From the roll: width and height, mm.
    Roll(u32, u32),
}

/// All sheets of a schematic: one, or for repeated flats the risers and each type of flat.
#[derive(Clone, Debug, PartialEq)]
pub struct SchematicPlan {
    pub pages: Vec<Page>,
}

/// One sheet: symbols by part, pipes by pipe, in the order of its system.
#[derive(Clone, Debug, PartialEq)]
pub struct Page {
    /// File stem: "schematic", "schematic-flat-1".
    pub key: String,
    pub title: String,
    /// What this sheet shows: the whole system, or a part of it with match marks.
    pub system: System,
    pub sheet: Sheet,
    /// How wide everything is spread, across and down: steps of the fitting.
    pub spacing: (usize, usize),
    /// Every run was given room for its words before anything was spread.
    pub reserved: bool,
    /// What the labels print and nobody has proved is listed on the sheet.
    pub assumed_listed: bool,
    pub symbols: Vec<PlacedSymbol>,
    pub pipes: Vec<Vec<P2>>,
    pub labels: Vec<Label>,
    pub arrows: Vec<Arrow>,
    pub jumps: Vec<Jump>,
    pub frames: Vec<UnitFrame>,
    /// How many words find no place beside what they speak of, counted with names of a usual
    /// length: a part renamed changes no paper.
    pub led: usize,
    /// Length of their leaders, mm.
    pub leaders: f64,
    /// The drawing without lists and title block.
    pub bounds: Rect,
    /// Counted on the routed drawing, in hundredths of a millimetre.
    pub measures: Measures,
}
