//! Which of its places each label takes. In: places with their costs, the best first. Out: one
//! place each, none over another; `None` for a label for which none is left.
//!
//! A quick search first. Then small groups of labels that can meet are settled exactly, and large
//! ones a few labels at a time with the rest held.

use super::exact::{self, Site, clash};
use super::label::{Candidate, Wanted};
use super::plan::About;
use crate::model::Rect;

/// How many neighbours one after another may make way for a label.
const DEPTH: usize = 3;
/// Places looked at in making way for one label.
const BUDGET: usize = 30_000;
/// Labels of the largest group that is settled exactly, and steps for it.
const GROUP: usize = 12;
const PROOF: usize = 20_000;
/// Labels of a larger group that are settled at once, and steps for them.
const WINDOW: usize = 7;
const STEPS: usize = 800;
/// Sweeps in which every label looks for a better place.
const SWEEPS: usize = 6;

/// White between the words of two symbols on one line, and of one under the other, mm: clearly
/// more than between words and lines of one name.
const BESIDE: f64 = 2.5;
const UNDER: f64 = 1.5;

fn beside(a: &Rect, b: &Rect) -> bool {
    let (apart, level) =
        (gap(a.x, a.right(), b.x, b.right()), gap(a.y, a.bottom(), b.y, b.bottom()));
    apart < BESIDE && level < -1.0
}

fn stacked(a: &Rect, b: &Rect) -> bool {
    let (apart, over) =
        (gap(a.y, a.bottom(), b.y, b.bottom()), gap(a.x, a.right(), b.x, b.right()));
    apart < UNDER && over < -1.0
}

/// White between two spans; less than nought where they overlap.
fn gap(a0: f64, a1: f64, b0: f64, b1: f64) -> f64 {
    (b0 - a1).max(a0 - b1)
}

struct Choice<'a> {
    wanted: &'a [Wanted],
    chosen: Vec<Option<usize>>,
    budget: usize,
}

/// The labels with the fewest places first; then those without one ask others to make way; then
/// each takes the best place that has become free.
pub fn choose(wanted: &[Wanted]) -> Vec<Option<usize>> {
    let mut all = Choice { wanted, chosen: vec![None; wanted.len()], budget: 0 };
    let mut order: Vec<usize> = (0..wanted.len()).collect();
    order.sort_by_key(|&i| {
        let part = matches!(wanted[i].about, About::Part(_));
        (wanted[i].candidates.len().min(12), !part, i)
    });
    for &i in &order {
        all.chosen[i] = all.free(i, usize::MAX);
        if all.chosen[i].is_none() {
            all.make_way(i);
        }
    }
    for &i in &order {
        if all.chosen[i].is_none() {
            all.make_way(i);
        }
    }
    for _ in 0..SWEEPS {
        let mut better = false;
        for &i in &order {
            let Some(now) = all.chosen[i] else { continue };
            if let Some(c) = all.free(i, now) {
                all.chosen[i] = Some(c);
                better = true;
            }
        }
        if !better {
            break;
        }
    }
    all.settle_groups();
    all.part_company();
    all.chosen
}

impl Choice<'_> {
    fn at(&self, i: usize) -> Option<&Candidate> {
        self.chosen[i].map(|c| &self.wanted[i].candidates[c])
    }

    /// Labels that stand in the way of a place.
    fn rivals(&self, i: usize, at: Rect) -> impl Iterator<Item = usize> {
        let stands = move |j: &usize| *j != i && self.at(*j).is_some_and(|c| clash(&at, &c.at));
        (0..self.wanted.len()).filter(stands)
    }

    /// The best place of a label before its place `below` that nothing stands in.
    fn free(&self, i: usize, below: usize) -> Option<usize> {
        let candidates = self.wanted[i].candidates.iter().take(below);
        candidates.into_iter().position(|c| self.rivals(i, c.at).next().is_none())
    }

    /// Labels that may meet, by group.
    fn groups(&self) -> Vec<Vec<usize>> {
        let n = self.wanted.len();
        let mut group: Vec<usize> = (0..n).collect();
        for i in 0..n {
            for j in 0..i {
                if group[i] != group[j] && self.may_meet(i, j) {
                    let (keep, gone) = (group[i].min(group[j]), group[i].max(group[j]));
                    group.iter_mut().filter(|g| **g == gone).for_each(|g| *g = keep);
                }
            }
        }
        let mut out: Vec<Vec<usize>> = vec![Vec::new(); n];
        for i in 0..n {
            out[group[i]].push(i);
        }
        out.retain(|g| g.len() > 1);
        out
    }

    fn may_meet(&self, i: usize, j: usize) -> bool {
        let places = |k: usize| &self.wanted[k].candidates;
        places(i).iter().any(|a| places(j).iter().any(|b| clash(&a.at, &b.at)))
    }

    fn settle_groups(&mut self) {
        for group in self.groups() {
            if group.len() <= GROUP {
                self.settle_exactly(&group, PROOF);
                continue;
            }
            // First those that stand worst.
            let mut order = group.clone();
            let cost = |i: &usize| self.at(*i).map_or(f64::MAX, |c| c.cost);
            order.sort_by(|a, b| cost(b).total_cmp(&cost(a)).then(a.cmp(b)));
            for i in order {
                let best = self.wanted[i].candidates.first().map_or(0.0, |c| c.cost);
                if self.at(i).is_some_and(|c| c.cost <= best) {
                    continue;
                }
                let window = self.neighbours(i, &group);
                self.settle_exactly(&window, STEPS);
            }
        }
    }

    /// A label and those that stand nearest to its places.
    fn neighbours(&self, i: usize, group: &[usize]) -> Vec<usize> {
        let mut near: Vec<(usize, usize)> = group
            .iter()
            .filter(|j| **j != i)
            .filter_map(|&j| {
                let at = self.at(j)?.at;
                let hit = self.wanted[i].candidates.iter().position(|c| clash(&c.at, &at))?;
                Some((hit, j))
            })
            .collect();
        near.sort_unstable();
        near.truncate(WINDOW - 1);
        std::iter::once(i).chain(near.into_iter().map(|(_, j)| j)).collect()
    }

    /// The words of two symbols that could be read as one line, or as lines of one name, move
    /// apart where that costs little.
    fn part_company(&mut self) {
        const BEAR: f64 = 5.0;
        for i in 0..self.wanted.len() {
            let Some(now) = self.at(i).filter(|c| self.crowded(i, c.at)) else { continue };
            let most = now.cost + BEAR;
            let places = self.wanted[i].candidates.iter();
            let apart = places
                .take_while(|c| c.cost <= most)
                .position(|c| self.rivals(i, c.at).next().is_none() && !self.crowded(i, c.at));
            self.chosen[i] = apart.or(self.chosen[i]);
        }
    }

    /// A place so near the words of another symbol that both read on.
    fn crowded(&self, i: usize, at: Rect) -> bool {
        let about = |k: usize| self.wanted[k].about;
        let names = |k: usize| !matches!(about(k), About::Pipe(_));
        let reads_on = |j: usize| {
            let Some(other) = self.at(j).filter(|_| names(j) && about(j) != about(i)) else {
                return false;
            };
            beside(&at, &other.at) || stacked(&at, &other.at)
        };
        names(i) && (0..self.wanted.len()).any(reads_on)
    }

    /// The best places of these labels among those that the others leave.
    fn settle_exactly(&mut self, group: &[usize], steps: usize) {
        let held: Vec<Rect> = (0..self.wanted.len())
            .filter(|j| !group.contains(j))
            .filter_map(|j| self.at(j).map(|c| c.at))
            .collect();
        let open: Vec<Vec<usize>> = group
            .iter()
            .map(|&i| {
                let places = &self.wanted[i].candidates;
                let free = |c: &usize| !held.iter().any(|h| clash(&places[*c].at, h));
                (0..places.len()).filter(free).collect()
            })
            .collect();
        let sites: Vec<Vec<Site>> = group
            .iter()
            .zip(&open)
            .map(|(&i, open)| {
                let places = &self.wanted[i].candidates;
                open.iter().map(|&c| (places[c].at, places[c].cost)).collect()
            })
            .collect();
        let start: Vec<Option<usize>> = group
            .iter()
            .zip(&open)
            .map(|(&i, open)| self.chosen[i].and_then(|c| open.iter().position(|o| *o == c)))
            .collect();
        let (found, _) = exact::assign(&sites, &start, steps);
        for ((&i, open), c) in group.iter().zip(&open).zip(found) {
            self.chosen[i] = c.map(|c| open[c]);
        }
    }

    fn make_way(&mut self, i: usize) {
        self.budget = BUDGET;
        for depth in 1..=DEPTH {
            let before = self.chosen.clone();
            if self.settle(i, depth, &mut Vec::new()) {
                return;
            }
            self.chosen = before;
        }
    }

    /// Finds a place for a label; those in `fixed` have theirs already.
    fn settle(&mut self, i: usize, depth: usize, fixed: &mut Vec<usize>) -> bool {
        for c in 0..self.wanted[i].candidates.len() {
            if self.budget == 0 {
                return false;
            }
            self.budget -= 1;
            let at = self.wanted[i].candidates[c].at;
            let rivals: Vec<usize> = self.rivals(i, at).take(3).collect();
            let fits = rivals.len() <= if depth == 0 { 0 } else { 2 };
            if !fits || rivals.iter().any(|r| fixed.contains(r)) {
                continue;
            }
            let (before, held) = (self.chosen.clone(), fixed.len());
            self.chosen[i] = Some(c);
            fixed.push(i);
            for r in &rivals {
                self.chosen[*r] = None;
            }
            if rivals.iter().all(|r| self.settle(*r, depth - 1, fixed)) {
                return true;
            }
            fixed.truncate(held);
            self.chosen = before;
        }
        false
    }
}
