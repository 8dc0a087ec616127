//! Where a system too large for one sheet is best cut in two. In: parts that hang together. Out:
//! two halves of about equal size with few pipes between them, each in one piece where possible.
//!
//! What belongs together is never parted: a unit from the factory, what is fitted to a part, a
//! relief valve and its discharge, what hangs on a single pipe. Then moves of single lumps, the
//! best first, from several starts (Fiduccia and Mattheyses 1982, from memory).

use std::collections::{BTreeMap, BTreeSet};

use crate::model::{PartIx, PortRef, Service, System};

/// Starts from which the halves are improved.
const STARTS: usize = 10;
/// Rounds of moves from one start.
const ROUNDS: usize = 8;

/// A lump: parts that stay together, the number of pipes to each other lump.
struct Lump {
    parts: Vec<PartIx>,
    near: BTreeMap<usize, usize>,
}

/// The second half of these parts; `None` where nothing can be cut.
pub(super) fn second_half(system: &System, members: &[PartIx]) -> Option<BTreeSet<PartIx>> {
    let lumps = lumps(system, members);
    // Without pipes they go with the first half.
    let piped: Vec<usize> = (0..lumps.len()).filter(|l| !lumps[*l].near.is_empty()).collect();
    if piped.len() < 2 {
        return None;
    }
    let starts = STARTS.min(piped.len());
    let mut best: Option<(usize, Vec<bool>)> = None;
    for k in 0..starts {
        let start = piped[k * piped.len() / starts];
        let mut halves = half_from(&lumps, &piped, start);
        for _ in 0..ROUNDS {
            if !improve(&lumps, &piped, &mut halves) {
                break;
            }
        }
        let harm = harm(&lumps, &piped, &halves);
        let both = piped.iter().any(|l| halves[*l]) && piped.iter().any(|l| !halves[*l]);
        if both && best.as_ref().is_none_or(|(least, _)| harm < *least) {
            best = Some((harm, halves));
        }
    }
    let (_, halves) = best?;
    // The half with the first part comes first.
    let first = piped.iter().copied().min_by_key(|l| lumps[*l].parts[0])?;
    let second = !halves[first];
    let taken = piped.into_iter().filter(|l| halves[*l] == second);
    Some(taken.flat_map(|l| lumps[l].parts.iter().copied()).collect())
}

fn lumps(system: &System, members: &[PartIx]) -> Vec<Lump> {
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
    let mut number: BTreeMap<PartIx, usize> = BTreeMap::new();
    let mut lumps: Vec<Lump> = Vec::new();
    for part in members {
        let n = *number.entry(find(&root, *part)).or_insert(lumps.len());
        if n == lumps.len() {
            lumps.push(Lump { parts: Vec::new(), near: BTreeMap::new() });
        }
        lumps[n].parts.push(*part);
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
    lumps
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

fn weight(lump: &Lump) -> usize {
    lump.parts.len()
}

/// About half of everything, what is nearest to the start first.
fn half_from(lumps: &[Lump], piped: &[usize], start: usize) -> Vec<bool> {
    let all: usize = piped.iter().map(|l| weight(&lumps[*l])).sum();
    let mut inside = vec![false; lumps.len()];
    let mut open = std::collections::VecDeque::from([start]);
    let mut seen = BTreeSet::from([start]);
    let mut sum = 0;
    while let Some(l) = open.pop_front() {
        if 2 * sum >= all {
            break;
        }
        inside[l] = true;
        sum += weight(&lumps[l]);
        open.extend(lumps[l].near.keys().copied().filter(|n| seen.insert(*n)));
        if open.is_empty() {
            open.extend(piped.iter().copied().find(|n| seen.insert(*n)));
        }
    }
    inside
}

/// Cut pipes, pieces beyond the two, and how unequal the halves are beyond what is borne.
fn harm(lumps: &[Lump], piped: &[usize], halves: &[bool]) -> usize {
    let cut: usize = piped
        .iter()
        .filter(|l| halves[**l])
        .flat_map(|l| &lumps[*l].near)
        .filter(|(n, _)| !halves[**n])
        .map(|(_, pipes)| *pipes)
        .sum();
    let mut seen: BTreeSet<usize> = BTreeSet::new();
    let mut pieces: usize = 0;
    for &l in piped {
        if !seen.insert(l) {
            continue;
        }
        pieces += 1;
        let mut open = vec![l];
        while let Some(a) = open.pop() {
            let same = |n: &usize| halves[*n] == halves[a];
            open.extend(lumps[a].near.keys().copied().filter(same).filter(|n| seen.insert(*n)));
        }
    }
    let (of, all) = shares(lumps, piped, halves);
    let least = of.min(all - of);
    // From a third to a half is as good as even.
    let off = (all / 3).saturating_sub(least) * 300 / all.max(1);
    100 * cut + 60 * pieces.saturating_sub(2) + 30 * off + (all / 2 - least) * 50 / all.max(1)
}

fn shares(lumps: &[Lump], piped: &[usize], halves: &[bool]) -> (usize, usize) {
    let sum = |of: &dyn Fn(&usize) -> bool| -> usize {
        piped.iter().filter(|l| of(l)).map(|l| weight(&lumps[*l])).sum()
    };
    (sum(&|l| halves[*l]), sum(&|_| true))
}

/// One round: every lump changes sides once, the best first; what came before the best state stays.
fn improve(lumps: &[Lump], piped: &[usize], halves: &mut Vec<bool>) -> bool {
    let (mut of, all) = shares(lumps, piped, halves);
    let least = all / 4;
    let mut free: BTreeSet<usize> = piped.iter().copied().collect();
    let mut best = (harm(lumps, piped, halves), halves.clone());
    let before = best.0;
    let mut now = halves.clone();
    let gain = |now: &[bool], l: usize| -> i64 {
        let signed =
            |(n, p): (&usize, &usize)| if now[*n] == now[l] { -(*p as i64) } else { *p as i64 };
        lumps[l].near.iter().map(signed).sum()
    };
    loop {
        let fits = |l: &usize| {
            let w = weight(&lumps[*l]);
            let after = if now[*l] { of.saturating_sub(w) } else { of + w };
            after.min(all.saturating_sub(after)) >= least
        };
        let next =
            free.iter().copied().filter(fits).max_by_key(|l| (gain(&now, *l), usize::MAX - l));
        let Some(l) = next else { break };
        free.remove(&l);
        of = if now[l] { of - weight(&lumps[l]) } else { of + weight(&lumps[l]) };
        now[l] = !now[l];
        let harm = harm(lumps, piped, &now);
        if harm < best.0 {
            best = (harm, now.clone());
        }
    }
    let better = best.0 < before;
    *halves = best.1;
    better
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
