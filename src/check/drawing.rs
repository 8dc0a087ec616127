//! What can only be told of a finished drawing. In: filled by whoever has drawn the sheets. Out:
//! what the rules of drawings and records read.

/// Everything the drawing rules look at.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct DrawingFacts {
    pub sheets: Vec<SheetFacts>,
    /// Assumption ids that no sheet lists.
    pub unlisted_assumptions: Vec<String>,
    /// Tags that stand on one sheet and are missing from another that should show them, with that
    /// sheet's name.
    pub missing_parts: Vec<(String, String)>,
    /// Tags whose as-built change is not marked on a sheet.
    pub unmarked_changes: Vec<String>,
    /// The revision letter was not raised though something changed.
    pub revision_not_raised: bool,
    /// The label sheet (unvented, valve tags, what never to close) is among the sheets.
    pub labels: bool,
    /// The householder's picture is among the sheets, and the trade words found on it.
    pub householder: bool,
    pub trade_words: Vec<String>,
}

/// One sheet.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SheetFacts {
    /// "schematic", "elevation", …
    pub name: String,
    /// Ids of pipes without size, service letters or flow arrow.
    pub unlabelled: Vec<String>,
    /// Fields of the title block left empty: "revision", "status", "datum", "viewpoint", …
    pub missing_fields: Vec<String>,
    /// Fields left as blanks to be filled in by hand.
    pub blank_fields: Vec<String>,
    /// Least height of text on paper, mm.
    pub least_text: f64,
    /// What only a colour tells: "hot and cold".
    pub colour_only: Vec<String>,
    /// Labels that lie over a line, a symbol or another label.
    pub overlaps: usize,
    /// Crossings drawn without a gap.
    pub gapless_crossings: usize,
    /// Drawn to scale.
    pub scaled: bool,
    pub scale_bar: bool,
    /// How far the worst scaled length is off on paper, mm.
    pub scale_error: f64,
}
