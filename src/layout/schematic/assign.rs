//! Which of its places each label takes. In: places with their costs, the best first. Out: one
//! place each, none over another; `None` for a label for which none is left.

use super::label::{Candidate, Wanted};
use super::plan::About;
use crate::model::Rect;

/// How many neighbours one after another may make way for a label.
const DEPTH: usize = 3;
/// Places looked at in making way for one label.
const BUDGET: usize = 30_000;
/// Sweeps in which every label looks for a better place.
const SWEEPS: usize = 6;

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
    all.chosen
}

fn clash(a: &Rect, b: &Rect) -> bool {
    a.grown(0.5).overlaps(b)
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
