//! The sheet as it was last issued. In: its plan. Out: where each part stood, by its name, so that
//! what an edit does not concern can stay where its readers look for it.

use std::collections::BTreeMap;

use super::net::{Net, snap};
use super::plan::{Page, Sheet};
use crate::model::{P2, PartIx, Rect};

/// Places on an earlier issue of the same sheet.
pub struct Before<'a> {
    at: BTreeMap<&'a str, P2>,
    pub sheet: Sheet,
    pub assumed_listed: bool,
    pub spacing: (usize, usize),
    pub bounds: Rect,
}

impl<'a> Before<'a> {
    pub fn of(page: &'a Page) -> Before<'a> {
        let at = page
            .symbols
            .iter()
            .filter(|s| s.at.w > 0.0)
            .map(|s| (page.system.part(s.part).name.as_str(), s.at.centre()))
            .collect();
        let Page { sheet, assumed_listed, spacing, bounds, .. } = *page;
        Before { at, sheet, assumed_listed, spacing, bounds }
    }

    /// The middle of the symbol, mm on the sheet.
    pub fn centre(&self, net: &Net, part: PartIx) -> Option<P2> {
        self.at.get(net.system.part(part).name.as_str()).copied()
    }
}

/// The middle one of some places, on the grid.
pub fn middle(mut all: Vec<f64>) -> Option<f64> {
    all.sort_by(f64::total_cmp);
    all.get(all.len() / 2).map(|v| snap(*v))
}

/// How far each part that stands on both issues has moved, mm, with its name on the later one.
pub fn moved<'a>(before: &Page, after: &'a Page) -> Vec<(&'a str, f64)> {
    let old = Before::of(before);
    after
        .symbols
        .iter()
        .filter_map(|s| {
            let name = after.system.part(s.part).name.as_str();
            let (p, q) = (*old.at.get(name)?, s.at.centre());
            let (dx, dy) = (p.x - q.x, p.y - q.y);
            Some((name, (dx * dx + dy * dy).sqrt()))
        })
        .collect()
}
