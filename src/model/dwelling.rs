//! Repeated dwellings. In: a system with many flats. Out: the parts of each, and what a stop valve
//! leaves running in its own.

use std::collections::{BTreeMap, BTreeSet};

use super::{PartIx, PortRef, System};

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

/// The ports of taps and appliances that the main still runs to with a valve shut: of the valve's
/// own dwelling where there are several, the neighbours' being none of its business. What a source
/// heats on its way, as a combination boiler does, runs on with it.
pub fn runs_on(system: &System, valve: PartIx) -> Vec<PortRef> {
    let home = scope_of(&system.part(valve).name);
    let mut ports = system.reached(Some(valve), true);
    ports.retain(|p| {
        let part = system.part(p.part);
        let own = home.is_none_or(|h| part.name.starts_with(h));
        part.kind.symbol.name == "outlet" && own
    });
    ports
}
