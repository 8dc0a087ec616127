//! Distances of a drawing and the effort spent on it.

use super::RouteOptions;

/// Distances in the unit of the graph; effort in steps, so that results never depend on the
/// machine.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Options {
    /// Least distance of symbols.
    pub spacing: i64,
    /// Least distance of parallel pipes.
    pub pitch: i64,
    /// Least distance of a pipe from a symbol that it does not join.
    pub clearance: i64,
    /// Least length of a pipe from a port to its first bend.
    pub stub: i64,
    /// Proportions of the sheet, width to height, where the drawing is to fit one.
    pub sheet: Option<(i64, i64)>,
    /// How much is tried: 1 is enough for most, more tries more shapes.
    pub effort: u32,
}

impl Options {
    pub fn for_spacing(spacing: i64) -> Options {
        let route = RouteOptions::for_spacing(spacing);
        Options {
            spacing: spacing.max(4),
            pitch: route.pitch,
            clearance: route.clearance,
            stub: route.pitch,
            sheet: None,
            effort: 1,
        }
    }

    pub fn route(&self) -> RouteOptions {
        RouteOptions {
            pitch: self.pitch,
            clearance: self.clearance,
            ..RouteOptions::for_spacing(self.spacing)
        }
    }
}
