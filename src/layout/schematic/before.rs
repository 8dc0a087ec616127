//! The sheet as it was last issued. In: its plan. Out: where each part stood, so that what an edit
//! does not concern can stay where its readers look for it.

use std::collections::{BTreeMap, BTreeSet};

use super::net::{Net, snap};
use super::plan::{Page, PlacedSymbol, Sheet};
use crate::catalogue::Kind;
use crate::model::{P2, PartIx, PortRef, Rect, System};

/// What moves less is still found where it was, mm.
pub const NEAR: f64 = 2.0;

/// Places on an earlier issue of the same sheet.
pub struct Before {
    /// By the part's place in the later system.
    at: Vec<Option<P2>>,
    pub sheet: Sheet,
    pub assumed_listed: bool,
    pub spacing: (usize, usize),
    pub reserved: bool,
    pub bounds: Rect,
}

impl Before {
    /// What of the page stands in this later system, and where it stood.
    pub fn of(page: &Page, system: &System) -> Before {
        let stood: BTreeMap<PartIx, P2> =
            page.symbols.iter().filter(|s| s.at.w > 0.0).map(|s| (s.part, s.at.centre())).collect();
        let at = same_parts(&page.system, system)
            .into_iter()
            .map(|old| old.and_then(|old| stood.get(&old).copied()))
            .collect();
        let Page { sheet, assumed_listed, spacing, reserved, bounds, .. } = *page;
        Before { at, sheet, assumed_listed, spacing, reserved, bounds }
    }

    /// How many of its parts stand elsewhere on a later page.
    pub fn shifted(&self, page: &Page) -> usize {
        let far = |s: &&PlacedSymbol| self.centre(s.part).is_some_and(|c| off(c, s.at) > NEAR);
        page.symbols.iter().filter(far).count()
    }

    /// The middle of the symbol, mm on the sheet.
    pub fn centre(&self, part: PartIx) -> Option<P2> {
        *self.at.get(part.0)?
    }
}

/// How what is new is fitted in between what stood.
#[derive(Clone, Copy)]
pub struct Beside<'a> {
    pub before: &'a Before,
    /// By how much the drawing may grow to the left and to the right, mm.
    pub left: f64,
    pub right: f64,
    /// No line leaves its level; what has no room between two finds a place of its own.
    pub firm: bool,
}

/// For each part of the later system the part of the earlier one that it is: by its name; renamed,
/// by what it joins or is fitted to; without pipes, in the order of those of its kind.
pub fn same_parts(old: &System, new: &System) -> Vec<Option<PartIx>> {
    let (named, names) = (by_name(old), by_name(new));
    let mut found: Vec<Option<PartIx>> = vec![None; new.parts.len()];
    let mut gone: BTreeSet<PartIx> = old.part_ixs().collect();
    for ix in new.part_ixs() {
        let part = new.part(ix);
        let alone = names.get(part.name.as_str()).is_some_and(|all| all.len() == 1);
        let same = named.get(part.name.as_str()).filter(|_| alone);
        if let Some([same]) = same.map(Vec::as_slice)
            && old.part(*same).kind == part.kind
        {
            found[ix.0] = Some(*same);
            gone.remove(same);
        }
    }
    let (was, is) = (Net::new(old), Net::new(new));
    loop {
        let mut more = false;
        for part in new.part_ixs() {
            let Some(stood) = found[part.0] else { continue };
            for port in is.joined(part) {
                let far = is.join(PortRef { part, port }).map(|(_, far)| far);
                let before = was.join(PortRef { part: stood, port }).map(|(_, far)| far);
                let (Some(far), Some(before)) = (far, before) else { continue };
                let same = far.port == before.port
                    && found[far.part.0].is_none()
                    && new.part(far.part).kind == old.part(before.part).kind;
                if same && gone.remove(&before.part) {
                    found[far.part.0] = Some(before.part);
                    more = true;
                }
            }
        }
        if !more {
            break;
        }
    }
    let host_of = |ix: PartIx| new.part(ix).on.map(|on| found[on.0]);
    let pipeless: Vec<(PartIx, Kind, Option<Option<PartIx>>)> = new
        .part_ixs()
        .filter(|p| found[p.0].is_none() && is.joined(*p).is_empty())
        .map(|p| (p, new.part(p).kind, host_of(p)))
        .collect();
    for (part, kind, host) in pipeless {
        let like = gone.iter().copied().find(|o| {
            let fits = match host {
                Some(host) => old.part(*o).on == host,
                None => old.part(*o).on.is_none(),
            };
            old.part(*o).kind == kind && fits && was.joined(*o).is_empty()
        });
        if let Some(like) = like {
            gone.remove(&like);
            found[part.0] = Some(like);
        }
    }
    found
}

/// Parts by name; match marks share theirs.
fn by_name(system: &System) -> BTreeMap<&str, Vec<PartIx>> {
    let mut all: BTreeMap<&str, Vec<PartIx>> = BTreeMap::new();
    for ix in system.part_ixs() {
        all.entry(system.part(ix).name.as_str()).or_default().push(ix);
    }
    all
}

/// The middle one of some places, on the grid.
pub fn middle(mut all: Vec<f64>) -> Option<f64> {
    all.sort_by(f64::total_cmp);
    all.get(all.len() / 2).map(|v| snap(*v))
}

/// How far each part that stands on both issues has moved, mm, with what it is on the later one.
pub fn moved(before: &Page, after: &Page) -> Vec<(PartIx, f64)> {
    let old = Before::of(before, &after.system);
    after.symbols.iter().filter_map(|s| Some((s.part, off(old.centre(s.part)?, s.at)))).collect()
}

/// From where a symbol stood to its middle, mm.
fn off(stood: P2, at: Rect) -> f64 {
    let c = at.centre();
    let (dx, dy) = (stood.x - c.x, stood.y - c.y);
    (dx * dx + dy * dy).sqrt()
}
