//! Repeated dwellings. In: a system with many flats. Out: the parts of each.

use std::collections::{BTreeMap, BTreeSet};

use super::{PartIx, System};

/// Repeated dwellings by the scope that their parts' names begin with ("block A flat 0.1 "), each
/// with its parts; empty for a single dwelling.
pub fn dwellings(system: &System) -> Vec<(String, BTreeSet<PartIx>)> {
    let mut list: BTreeMap<String, BTreeSet<PartIx>> = BTreeMap::new();
    for ix in system.part_ixs() {
        if let Some(scope) = scope_of(&system.part(ix).name) {
            list.entry(scope.to_owned()).or_default().insert(ix);
        }
    }
    list.into_iter().collect()
}

/// "block A flat 0.1 " of "block A flat 0.1 store".
pub fn scope_of(name: &str) -> Option<&str> {
    let at = match name.strip_prefix("flat ") {
        Some(_) => "flat ".len(),
        None => name.find(" flat ")? + " flat ".len(),
    };
    let token = name[at..].split(' ').next()?;
    let (floor, stack) = token.split_once('.')?;
    let number = |t: &str| !t.is_empty() && t.bytes().all(|b| b.is_ascii_digit());
    let end = at + token.len() + 1;
    (number(floor) && number(stack) && name.len() > end).then(|| &name[..end])
}
