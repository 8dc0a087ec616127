//! What stops the water. In: a system. Out: the taps that run on with valves shut, and the valves
//! that, shut together, stop all of them. Water comes from the street, and from what is stored under
//! pressure or behind a pump: a break tank, an accumulator.

use std::collections::BTreeMap;

use super::dwelling::scope_of;
use super::{PartIx, PortRef, System, Water};
use crate::catalogue::Closes;

/// What gives water of its own with the street's shut off.
const STORES: [&str; 2] = ["break tank", "accumulator"];

/// More valves than that are not shut at once to stop the water.
const MOST: usize = 3;
/// Of so many valves the sets are tried.
const TRIED: usize = 24;

/// The ports of taps and appliances that run on with a valve shut: of the valve's own dwelling where
/// there are several, the neighbours' being none of its business. What a source heats on its way, as
/// a combination boiler does, runs on with it.
pub fn runs_on(system: &System, valve: PartIx) -> Vec<PortRef> {
    run_on(system, &[valve], scope_of(&system.part(valve).name))
}

/// Stored water that still runs to the dwelling's taps with a valve shut, by what stores it.
pub fn stored_behind(system: &System, valve: PartIx) -> Vec<PartIx> {
    let home = scope_of(&system.part(valve).name);
    let runs = |store: &PartIx| {
        let starts = starts_of(system, *store, &[valve]);
        !taps(system, system.runs_from(starts, &[valve], true), home).is_empty()
    };
    stores(system).into_iter().filter(runs).collect()
}

/// The fewest valves that, shut together, leave no tap of a dwelling running: of as many the stop
/// valves, then those nearest to the taps, so that no pump is left without water. Empty where no
/// such valves are found.
pub fn stops_all(system: &System, home: Option<&str>) -> Vec<PartIx> {
    let all = run_on(system, &[], home);
    if all.is_empty() {
        return Vec::new();
    }
    let mut valves: Vec<(usize, PartIx)> = system
        .part_ixs()
        .filter(|ix| {
            let part = system.part(*ix);
            let ours = scope_of(&part.name).is_none() || scope_of(&part.name) == home;
            let drinks =
                system.pipes_of(*ix).any(|p| system.pipe(p).service.water() == Water::Potable);
            ours && drinks && part.kind.closes == Closes::ByHand && part.kind.ports.len() == 2
        })
        .map(|ix| {
            // A store's water comes back by the valve that it was filled by.
            let back = stores(system)
                .iter()
                .any(|s| starts_of(system, *s, &[]).iter().any(|p| p.part == ix));
            let fed = taps(system, system.runs_from(ports(system, ix), &[], true), home).len();
            (if back { all.len() } else { fed }, ix)
        })
        .filter(|(feeds, _)| *feeds > 0)
        .collect();
    // What feeds most stands nearest to the sources: it is tried first where there are many.
    valves.sort_by_key(|(feeds, ix)| (all.len() - (*feeds).min(all.len()), *ix));
    valves.truncate(TRIED);
    let valves: Vec<PartIx> = valves.into_iter().map(|(_, ix)| ix).collect();
    for count in 1..=MOST.min(valves.len()) {
        let mut sets: Vec<Vec<PartIx>> = Vec::new();
        choose(&valves, count, 0, &mut Vec::new(), &mut sets);
        sets.retain(|set| run_on(system, set, home).is_empty());
        let best = sets.into_iter().min_by_key(|set| {
            let other = set.iter().filter(|v| system.part(**v).kind.key != "stop valve").count();
            // The nearer to the taps, the more valves stand before it.
            let after: usize = set.iter().map(|v| stands_before(system, *v, &valves)).sum();
            (other, std::cmp::Reverse(after), set.clone())
        });
        if let Some(best) = best {
            return best;
        }
    }
    Vec::new()
}

/// Every set of so many.
fn choose(
    of: &[PartIx],
    count: usize,
    from: usize,
    chosen: &mut Vec<PartIx>,
    out: &mut Vec<Vec<PartIx>>,
) {
    if chosen.len() == count {
        out.push(chosen.clone());
        return;
    }
    for i in from..of.len() {
        chosen.push(of[i]);
        choose(of, count, i + 1, chosen, out);
        chosen.pop();
    }
}

/// How many of the valves the water passes before this one.
fn stands_before(system: &System, valve: PartIx, valves: &[PartIx]) -> usize {
    let to: BTreeMap<PortRef, PortRef> = system.pipes.iter().map(|p| (p.to, p.from)).collect();
    let mut todo = ports(system, valve);
    let mut seen = vec![valve];
    while let Some(port) = todo.pop() {
        let Some(from) = to.get(&port) else { continue };
        if !seen.contains(&from.part) {
            seen.push(from.part);
            todo.extend(ports(system, from.part));
        }
    }
    seen.iter().filter(|p| valves.contains(p)).count() - usize::from(valves.contains(&valve))
}

fn ports(system: &System, part: PartIx) -> Vec<PortRef> {
    (0..system.part(part).kind.ports.len()).map(|port| PortRef { part, port }).collect()
}

fn run_on(system: &System, shut: &[PartIx], home: Option<&str>) -> Vec<PortRef> {
    let mut starts = system.mains();
    for store in stores(system) {
        starts.extend(starts_of(system, store, shut));
    }
    taps(system, system.runs_from(starts, shut, true), home)
}

fn taps(system: &System, mut ports: Vec<PortRef>, home: Option<&str>) -> Vec<PortRef> {
    ports.retain(|p| {
        let part = system.part(p.part);
        part.kind.symbol.name == "outlet" && home.is_none_or(|h| part.name.starts_with(h))
    });
    ports
}

fn stores(system: &System) -> Vec<PartIx> {
    STORES.iter().flat_map(|kind| system.of_kind(kind)).map(|(ix, _)| ix).collect()
}

/// Where the water of a store sets out: at its own ports, and, where it comes back by the pipe that
/// fills it, at every part on the way up to what passes one way only.
fn starts_of(system: &System, store: PartIx, shut: &[PartIx]) -> Vec<PortRef> {
    let mut starts = ports(system, store);
    let out = |p: &PortRef| system.part(p.part).kind.port("out") == Some(p.port);
    if starts.iter().any(out) {
        starts.retain(out);
        return starts;
    }
    let above: BTreeMap<PortRef, PortRef> = system.pipes.iter().map(|p| (p.to, p.from)).collect();
    let mut at = starts.clone();
    while let Some(port) = at.pop() {
        let Some(from) = above.get(&port) else { continue };
        let kind = &system.part(from.part).kind;
        if shut.contains(&from.part) || kind.closes == Closes::Check || kind.ports.len() < 2 {
            continue;
        }
        let next = kind.shares_water(from.port).into_iter();
        let next: Vec<PortRef> = next.map(|port| PortRef { part: from.part, port }).collect();
        for port in next {
            if !starts.contains(&port) {
                starts.push(port);
                at.push(port);
            }
        }
    }
    starts
}
