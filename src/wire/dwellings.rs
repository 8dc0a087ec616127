//! What to say of repeated dwellings that one stands for. In: the parts of each. Out: notes.

use std::collections::BTreeSet;

use super::scheme::Scheme;
use crate::catalogue::Closes;
use crate::model::{PartIx, System};

/// Symbols of joints and taps: a flat with one more is wired as the others. The top flat of a riser
/// has no tee on it.
const UNWIRED: [&str; 3] = ["tee", "cap", "outlet"];

/// One dwelling stands for those that have the same controls.
pub fn alike(system: &System, dwellings: &[(String, BTreeSet<PartIx>)], s: &mut Scheme) {
    let [(first, parts), rest @ ..] = dwellings else { return };
    if rest.is_empty() {
        return;
    }
    let signature = |parts: &BTreeSet<PartIx>| {
        let mut kinds: Vec<&str> = parts
            .iter()
            .map(|ix| &system.part(*ix).kind)
            .filter(|k| k.closes != Closes::ByHand && !UNWIRED.contains(&k.symbol.name.as_str()))
            .map(|k| k.key.as_str())
            .collect();
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
