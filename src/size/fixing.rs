//! Clips, joists, test pressures: small sums of the site. Lengths in m, diameters in mm.

use crate::catalogue::limits;
use crate::model::Ruleset;

/// Clips on a straight run of `metres` with one at each end and no more than `spacing` metres
/// between two.
pub fn clips(metres: f64, spacing: f64) -> u32 {
    (metres / spacing - 1e-9).ceil().max(0.0) as u32 + 1
}

/// Where a joist may be cut, and how far.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Joist {
    /// Greatest hole on the centre line, mm, and the stretch along the span it may lie in, mm.
    pub hole: f64,
    pub hole_zone: (f64, f64),
    /// Greatest notch, mm, and its stretch, mm.
    pub notch: f64,
    pub notch_zone: (f64, f64),
}

/// A solid timber joist of `depth` mm over `span` mm. Source: the rows STR02 of the limits.
pub fn joist(depth: f64, span: f64, rules: &Ruleset) -> Joist {
    let limit = |name: &str| limits::find(rules, &format!("STR02.{name}")).value;
    Joist {
        hole: (limit("hole-diameter") * depth).min(limit("hole-most")),
        hole_zone: (limit("hole-from") * span, limit("hole-to") * span),
        notch: (limit("notch-depth") * depth).min(limit("notch-most")),
        notch_zone: (limit("notch-from") * span, limit("notch-to") * span),
    }
}

/// Test pressure for `operating` bar by the Water Fittings Regulations, paragraph 12, and by
/// BS EN 806-4 where the design pressure is taken as that; bar. Source: the rows DOC06 of the limits.
pub fn test_pressures(operating: f64, rules: &Ruleset) -> (f64, f64) {
    let limit = |name: &str| limits::find(rules, &format!("DOC06.{name}")).value;
    let regulations = limit("test-factor") * operating;
    (regulations, limit("en806-factor") * regulations)
}
