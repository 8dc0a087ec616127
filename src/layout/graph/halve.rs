//! Where a graph is best cut in two. In: lumps with weights, and how many pipes join them. Out: two
//! halves of about equal weight with few pipes between them, each in one piece where possible.
//!
//! Moves of single lumps, the best first, from several starts (Fiduccia and Mattheyses 1982, from
//! memory).

use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet, VecDeque};

/// Starts from which the halves are improved, and rounds of moves from each.
const STARTS: usize = 10;
const ROUNDS: usize = 8;

/// What is not parted.
#[derive(Clone, Debug, Default)]
pub struct Lump {
    pub weight: usize,
    /// Pipes to each other lump.
    pub near: BTreeMap<usize, usize>,
}

/// Per lump whether it belongs to the half without the first; lumps without pipes stay with the
/// first. `None` where nothing can be cut.
pub fn halve(lumps: &[Lump]) -> Option<Vec<bool>> {
    let piped: Vec<usize> = (0..lumps.len()).filter(|l| !lumps[*l].near.is_empty()).collect();
    let first = *piped.first()?;
    let starts = STARTS.min(piped.len());
    let mut best: Option<(usize, Vec<bool>)> = None;
    for k in 0..starts {
        let mut halves = half_from(lumps, &piped, piped[k * piped.len() / starts]);
        for _ in 0..ROUNDS {
            if !improve(lumps, &piped, &mut halves) {
                break;
            }
        }
        let both = piped.iter().any(|l| halves[*l]) && piped.iter().any(|l| !halves[*l]);
        let harm =
            harm(lumps, &piped, &halves) + 60 * pieces(lumps, &piped, &halves).saturating_sub(2);
        if both && best.as_ref().is_none_or(|(least, _)| harm < *least) {
            best = Some((harm, halves));
        }
    }
    let (_, mut halves) = best?;
    let second = !halves[first];
    for half in &mut halves {
        *half = *half == second;
    }
    for l in (0..lumps.len()).filter(|l| lumps[*l].near.is_empty()) {
        halves[l] = false;
    }
    Some(halves)
}

/// About half of everything, what is nearest to the start first.
fn half_from(lumps: &[Lump], piped: &[usize], start: usize) -> Vec<bool> {
    let all: usize = piped.iter().map(|l| lumps[*l].weight).sum();
    let mut inside = vec![false; lumps.len()];
    let mut open = VecDeque::from([start]);
    let mut seen = BTreeSet::from([start]);
    let mut sum = 0;
    while let Some(l) = open.pop_front() {
        if 2 * sum >= all {
            break;
        }
        inside[l] = true;
        sum += lumps[l].weight;
        open.extend(lumps[l].near.keys().copied().filter(|n| seen.insert(*n)));
        if open.is_empty() {
            open.extend(piped.iter().copied().find(|n| seen.insert(*n)));
        }
    }
    inside
}

/// What unequal halves cost; from a third to a half is as good as even.
fn uneven(of: usize, all: usize) -> usize {
    let least = of.min(all - of);
    let off = (all / 3).saturating_sub(least) * 300 / all.max(1);
    30 * off + (all / 2 - least) * 50 / all.max(1)
}

fn harm(lumps: &[Lump], piped: &[usize], halves: &[bool]) -> usize {
    let here = || piped.iter().filter(|l| halves[**l]);
    let across = here().flat_map(|l| &lumps[*l].near).filter(|(n, _)| !halves[**n]);
    let cut: usize = across.map(|(_, pipes)| *pipes).sum();
    let all: usize = piped.iter().map(|l| lumps[*l].weight).sum();
    100 * cut + uneven(here().map(|l| lumps[*l].weight).sum(), all)
}

/// Connected pieces of both halves.
fn pieces(lumps: &[Lump], piped: &[usize], halves: &[bool]) -> usize {
    let mut seen: BTreeSet<usize> = BTreeSet::new();
    let mut pieces = 0;
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
    pieces
}

/// Pipes that are no longer cut, less those that then are, if a lump changes sides.
fn gain(lumps: &[Lump], halves: &[bool], l: usize) -> i64 {
    let signed = |(n, p): (&usize, &usize)| {
        let pipes = i64::try_from(*p).unwrap_or(0);
        if halves[*n] == halves[l] { -pipes } else { pipes }
    };
    lumps[l].near.iter().map(signed).sum()
}

/// One round: every lump changes sides once, the best first; what came before the best state stays.
fn improve(lumps: &[Lump], piped: &[usize], halves: &mut [bool]) -> bool {
    let all: usize = piped.iter().map(|l| lumps[*l].weight).sum();
    let mut of: usize = piped.iter().filter(|l| halves[**l]).map(|l| lumps[*l].weight).sum();
    let mut now = halves.to_owned();
    let before = i64::try_from(harm(lumps, piped, halves)).unwrap_or(i64::MAX);
    let mut cut = before - i64::try_from(uneven(of, all)).unwrap_or(0);
    let mut gains: BTreeMap<usize, i64> =
        piped.iter().map(|&l| (l, gain(lumps, &now, l))).collect();
    let mut queue: BTreeSet<(i64, Reverse<usize>)> =
        gains.iter().map(|(&l, &g)| (g, Reverse(l))).collect();
    let mut best = (before, 0);
    let mut moves: Vec<usize> = Vec::new();
    loop {
        let after = |l: usize| {
            let w = lumps[l].weight;
            if now[l] { of - w } else { of + w }
        };
        let fits = |l: usize| after(l).min(all - after(l)) * 4 >= all;
        let next = queue.iter().rev().find(|(_, l)| fits(l.0)).copied();
        let Some((g, Reverse(l))) = next else { break };
        queue.remove(&(g, Reverse(l)));
        gains.remove(&l);
        of = after(l);
        now[l] = !now[l];
        moves.push(l);
        cut -= 100 * g;
        for &n in lumps[l].near.keys() {
            if let Some(old) = gains.get_mut(&n) {
                queue.remove(&(*old, Reverse(n)));
                *old = gain(lumps, &now, n);
                queue.insert((*old, Reverse(n)));
            }
        }
        let harm = cut + i64::try_from(uneven(of, all)).unwrap_or(0);
        if harm < best.0 {
            best = (harm, moves.len());
        }
    }
    for &l in &moves[..best.1] {
        halves[l] = !halves[l];
    }
    best.0 < before
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lumps(n: usize, joins: &[(usize, usize)]) -> Vec<Lump> {
        let mut lumps = vec![Lump { weight: 1, ..Lump::default() }; n];
        for &(a, b) in joins {
            *lumps[a].near.entry(b).or_default() += 1;
            *lumps[b].near.entry(a).or_default() += 1;
        }
        lumps
    }

    /// Two rings joined by one pipe come apart there, whatever the numbering.
    #[test]
    fn the_only_bridge_is_cut() {
        for step in [1, 3, 7, 11] {
            let name = |k: usize| k * step % 20;
            let ring = |from: usize| (0..10).map(move |k| (from + k, from + (k + 1) % 10));
            let all: Vec<(usize, usize)> =
                ring(0).chain(ring(10)).chain([(3, 14)]).map(|(a, b)| (name(a), name(b))).collect();
            let halves = halve(&lumps(20, &all)).expect("two halves");
            assert!(!halves[0]);
            for k in 0..10 {
                assert_eq!(halves[name(k)], halves[name(0)], "{step}: {k}");
                assert_ne!(halves[name(10 + k)], halves[name(0)], "{step}: {k}");
            }
        }
    }

    #[test]
    fn loose_lumps_stay_with_the_first() {
        let halves = halve(&lumps(6, &[(1, 2), (2, 3), (3, 4)])).expect("two halves");
        assert_eq!((halves[0], halves[1], halves[5]), (false, false, false));
        assert!(halve(&lumps(3, &[])).is_none());
    }
}
