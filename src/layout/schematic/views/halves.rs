//! Where a system too large for one sheet is best cut in two. In: parts that hang together. Out:
//! two halves of about equal size with few pipes between them.
//!
//! What belongs together is never parted: a unit from the factory, what is fitted to a part, a
//! relief valve and its discharge, what hangs on a single pipe, a cylinder and the branch that
//! heats it, the outlets with the pipes that bring them hot and balanced cold.

use std::collections::{BTreeMap, BTreeSet};

use crate::layout::graph::{Lump, halve};
use crate::model::{PartIx, PortRef, Service, System};

/// The second half of these parts; `None` where nothing can be cut.
pub(super) fn second_half(system: &System, members: &[PartIx]) -> Option<BTreeSet<PartIx>> {
    let (parts, lumps) = lumps(system, members);
    let second = halve(&lumps)?;
    let taken = parts.into_iter().zip(second).filter(|(_, second)| *second);
    Some(taken.flat_map(|(parts, _)| parts).collect())
}

/// Parts that stay together, and the pipes between them.
fn lumps(system: &System, members: &[PartIx]) -> (Vec<Vec<PartIx>>, Vec<Lump>) {
    let inside: BTreeSet<PartIx> = members.iter().copied().collect();
    let mut root: BTreeMap<PartIx, PartIx> = members.iter().map(|p| (*p, *p)).collect();
    fn find(root: &BTreeMap<PartIx, PartIx>, mut p: PartIx) -> PartIx {
        while root[&p] != p {
            p = root[&p];
        }
        p
    }
    let join = |root: &mut BTreeMap<PartIx, PartIx>, a: PartIx, b: PartIx| {
        if inside.contains(&a) && inside.contains(&b) {
            let (a, b) = (find(root, a), find(root, b));
            root.insert(a.max(b), a.min(b));
        }
    };
    let mut unit_of: BTreeMap<usize, PartIx> = BTreeMap::new();
    let mut pipes: BTreeMap<PartIx, usize> = BTreeMap::new();
    for pipe in &system.pipes {
        for PortRef { part, .. } in [pipe.from, pipe.to] {
            *pipes.entry(part).or_default() += 1;
        }
    }
    for part in members {
        let row = system.part(*part);
        if let Some(unit) = row.unit {
            let first = *unit_of.entry(unit.0).or_insert(*part);
            join(&mut root, first, *part);
        }
        if let Some(with) = row.on.or_else(|| served_by(system, *part, &pipes)) {
            join(&mut root, with, *part);
        }
    }
    for pipe in &system.pipes {
        let ends = [pipe.from.part, pipe.to.part];
        // After the tundish it may go on on another sheet.
        let falls = matches!(pipe.service, Service::Discharge1 | Service::Drain);
        let relieves = ends.iter().any(|p| system.part(*p).kind.symbol.name == "valve-relief");
        if falls || relieves || ends.iter().any(|p| pipes[p] == 1) {
            join(&mut root, ends[0], ends[1]);
        }
    }
    let is_store = |p: PartIx| system.part(p).kind.symbol.name == "cylinder";
    for pipe in &system.pipes {
        let ends = [pipe.from.part, pipe.to.part];
        let spreads =
            matches!(pipe.service, Service::HotWater | Service::HotBlended | Service::ColdBalanced);
        if spreads && !ends.iter().any(|p| is_store(*p)) {
            join(&mut root, ends[0], ends[1]);
        }
    }
    for store in members.iter().copied().filter(|p| is_store(*p)) {
        for part in heating_branch(system, store, &pipes) {
            join(&mut root, store, part);
        }
    }
    let mut number: BTreeMap<PartIx, usize> = BTreeMap::new();
    let mut lumps: Vec<Lump> = Vec::new();
    let mut parts: Vec<Vec<PartIx>> = Vec::new();
    for part in members {
        let n = *number.entry(find(&root, *part)).or_insert(lumps.len());
        if n == lumps.len() {
            lumps.push(Lump::default());
            parts.push(Vec::new());
        }
        lumps[n].weight += 1;
        parts[n].push(*part);
    }
    for pipe in &system.pipes {
        if !inside.contains(&pipe.from.part) || !inside.contains(&pipe.to.part) {
            continue;
        }
        let (a, b) = (number[&find(&root, pipe.from.part)], number[&find(&root, pipe.to.part)]);
        if a != b {
            *lumps[a].near.entry(b).or_default() += 1;
            *lumps[b].near.entry(a).or_default() += 1;
        }
    }
    (parts, lumps)
}

/// What stands on the way to a cylinder's coil, from the cylinder to where that way leaves the
/// line from which others are heated too.
fn heating_branch(system: &System, store: PartIx, pipes: &BTreeMap<PartIx, usize>) -> Vec<PartIx> {
    let mut way: Vec<PartIx> = Vec::new();
    let mut at = store;
    loop {
        let brings = |p: &&crate::model::Pipe| {
            p.to.part == at && p.service == Service::HeatingFlow && !way.contains(&p.from.part)
        };
        let Some(pipe) = system.pipes.iter().find(brings) else { return way };
        let next = pipe.from.part;
        let goes_on = |p: &&crate::model::Pipe| {
            let ends = [p.from.part, p.to.part];
            ends.contains(&next) && ends.iter().all(|p| *p == next || pipes[p] > 1)
        };
        let is_source = system.part(next).kind.heats;
        if is_source || system.pipes.iter().filter(goes_on).count() > 2 {
            return way;
        }
        way.push(next);
        at = next;
    }
}

/// The part that a thermostat or switch without pipes bears the name of: "zone 3 thermostat".
fn served_by(system: &System, part: PartIx, pipes: &BTreeMap<PartIx, usize>) -> Option<PartIx> {
    if pipes.contains_key(&part) {
        return None;
    }
    let name = system.part(part).name.as_str();
    let serves = |p: &PartIx| {
        let rest = name.strip_prefix(system.part(*p).name.as_str());
        rest.is_some_and(|r| r.starts_with(' '))
    };
    let served = system.part_ixs().filter(|p| pipes.contains_key(p)).filter(serves);
    served.max_by_key(|p| (system.part(*p).name.len(), std::cmp::Reverse(*p)))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cut(text: &str) -> (System, BTreeSet<PartIx>) {
        let system = crate::complete::complete(&crate::describe::read(text).facts).system;
        let all: Vec<PartIx> = system.part_ixs().collect();
        let second = second_half(&system, &all).unwrap_or_default();
        (system, second)
    }

    /// A cylinder with zones: few pipes are cut, and no discharge ever.
    #[test]
    fn few_pipes_are_cut_and_no_discharge() {
        let mut text = String::from("cylinder litres=300 heated=\"indirect\"\nboiler kw=40\n");
        text.push_str("outlets { bath; basin; shower }\n");
        for i in 0..10 {
            text.push_str(&format!("zone \"zone {i}\" kw=3 radiators=3\n"));
        }
        let (system, second) = cut(&text);
        assert!(
            second.len() * 4 >= system.parts.len(),
            "{} of {}",
            second.len(),
            system.parts.len()
        );
        let cut =
            |p: &&crate::model::Pipe| second.contains(&p.from.part) != second.contains(&p.to.part);
        let pipes: Vec<_> = system.pipes.iter().filter(cut).collect();
        assert!((1..=4).contains(&pipes.len()), "{} pipes", pipes.len());
        assert!(pipes.iter().all(|p| p.service != Service::Discharge1));
    }

    /// Nothing to cut is no harm.
    #[test]
    fn a_single_part_is_not_cut() {
        assert!(cut("complete #false\npart \"a\" kind=\"pump\"\n").1.is_empty());
    }
}
