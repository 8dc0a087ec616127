//! Repeated dwellings. In: a system with many flats. Out: the parts of each, and what to say of
//! those that one stands for.

use std::collections::{BTreeMap, BTreeSet};

use super::scheme::Scheme;
use crate::model::{PartIx, System};

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
fn scope_of(name: &str) -> Option<&str> {
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

/// One dwelling stands for those that have the same controls.
pub fn alike(system: &System, dwellings: &[(String, BTreeSet<PartIx>)], s: &mut Scheme) {
    let [(first, parts), rest @ ..] = dwellings else { return };
    if rest.is_empty() {
        return;
    }
    let signature = |parts: &BTreeSet<PartIx>| {
        let mut kinds: Vec<&str> =
            parts.iter().map(|ix| system.part(*ix).kind.key.as_str()).collect();
        kinds.sort_unstable();
        kinds
    };
    let own = signature(parts);
    let (same, other): (Vec<_>, Vec<_>) = rest.iter().partition(|(_, p)| signature(p) == own);
    let names = |list: &[&(String, BTreeSet<PartIx>)]| {
        list.iter().map(|(n, _)| n.trim()).collect::<Vec<_>>().join(", ")
    };
    s.notes.push(format!(
        "Drawn for {}; wired alike, each from its own consumer unit: {}.",
        first.trim(),
        if same.is_empty() { "none".to_owned() } else { names(&same) }
    ));
    if !other.is_empty() {
        s.notes.push(format!("Not alike, to be drawn on their own: {}.", names(&other)));
    }
}
