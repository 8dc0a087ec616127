//! The best places for a few labels, proven. In: the places of each with their costs, the cheapest
//! first. Out: one place each, none over another, at the least sum; a label without a place costs
//! more than any place.
//!
//! Branch and bound: the bound is the cheapest place that is still free for every label left.

use crate::model::Rect;

/// A place and what it costs.
pub type Site = (Rect, f64);

/// What a label without a place costs.
const NOWHERE: f64 = 1e6;

pub fn clash(a: &Rect, b: &Rect) -> bool {
    a.grown(0.5).overlaps(b)
}

/// The sum of what places cost.
pub fn cost(sites: &[Vec<Site>], chosen: &[Option<usize>]) -> f64 {
    sites.iter().zip(chosen).map(|(s, c)| c.map_or(NOWHERE, |c| s[c].1)).sum()
}

struct Search<'a> {
    sites: &'a [Vec<Site>],
    /// Labels in the order in which they are decided.
    order: Vec<usize>,
    /// How many decided labels stand in each place.
    held: Vec<Vec<u16>>,
    now: Vec<Option<usize>>,
    best: Vec<Option<usize>>,
    least: f64,
    steps: usize,
}

/// Places at least as good as `start`, and whether they are proven to be the best.
pub fn assign(
    sites: &[Vec<Site>],
    start: &[Option<usize>],
    steps: usize,
) -> (Vec<Option<usize>>, bool) {
    let mut order: Vec<usize> = (0..sites.len()).collect();
    order.sort_by_key(|&i| (sites[i].len(), i));
    let mut search = Search {
        sites,
        order,
        held: sites.iter().map(|s| vec![0; s.len()]).collect(),
        now: vec![None; sites.len()],
        best: start.to_vec(),
        least: cost(sites, start),
        steps,
    };
    search.decide(0, 0.0);
    (search.best, search.steps > 0)
}

impl Search<'_> {
    /// What the labels not yet decided cost at least.
    fn bound(&self, from: usize) -> f64 {
        let least = |&i: &usize| {
            let free = self.sites[i].iter().zip(&self.held[i]).find(|(_, held)| **held == 0);
            free.map_or(NOWHERE, |(site, _)| site.1)
        };
        self.order[from..].iter().map(least).sum()
    }

    /// Enters or takes out what a label in a place keeps from the later ones.
    fn hold(&mut self, at: &Rect, from: usize, by: i16) {
        for &j in &self.order[from..] {
            for (site, held) in self.sites[j].iter().zip(&mut self.held[j]) {
                if clash(at, &site.0) {
                    *held = held.wrapping_add_signed(by);
                }
            }
        }
    }

    fn decide(&mut self, n: usize, sum: f64) {
        const HAIR: f64 = 1e-9;
        if self.steps == 0 {
            return;
        }
        self.steps -= 1;
        let Some(&i) = self.order.get(n) else {
            if sum + HAIR < self.least {
                self.least = sum;
                self.best.clone_from(&self.now);
            }
            return;
        };
        let places = (0..self.sites[i].len()).map(Some).chain([None]);
        for place in places {
            let price = match place {
                Some(c) if self.held[i][c] > 0 => continue,
                Some(c) => self.sites[i][c].1,
                None => NOWHERE,
            };
            if sum + price + HAIR >= self.least {
                continue;
            }
            self.now[i] = place;
            let at = place.map(|c| self.sites[i][c].0);
            if let Some(at) = at {
                self.hold(&at, n + 1, 1);
            }
            if sum + price + self.bound(n + 1) + HAIR < self.least {
                self.decide(n + 1, sum + price);
            }
            if let Some(at) = at {
                self.hold(&at, n + 1, -1);
            }
            self.now[i] = None;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every choice tried.
    fn by_force(sites: &[Vec<Site>], n: usize, now: &mut Vec<Option<usize>>, least: &mut f64) {
        if n == sites.len() {
            *least = least.min(cost(sites, now));
            return;
        }
        for place in (0..sites[n].len()).map(Some).chain([None]) {
            let free = place.is_none_or(|c| {
                (0..n).all(|j| now[j].is_none_or(|d| !clash(&sites[n][c].0, &sites[j][d].0)))
            });
            if free {
                now[n] = place;
                by_force(sites, n + 1, now, least);
            }
        }
        now[n] = None;
    }

    /// A small generator of our own (xorshift).
    fn next(state: &mut u64) -> f64 {
        *state ^= *state << 13;
        *state ^= *state >> 7;
        *state ^= *state << 17;
        (*state >> 40) as f64 / (1u64 << 24) as f64
    }

    #[test]
    fn small_groups_agree_with_every_choice_tried() {
        let mut state = 0x2545_F491_4F6C_DD1D;
        let mut crowded = 0;
        for case in 0..300 {
            let labels = 2 + case % 5;
            let sites: Vec<Vec<Site>> = (0..labels)
                .map(|_| {
                    let mut all: Vec<Site> = (0..1 + case % 4)
                        .map(|_| {
                            let (x, y) = (next(&mut state) * 20.0, next(&mut state) * 8.0);
                            (Rect::new(x, y, 8.0, 3.0), next(&mut state) * 10.0)
                        })
                        .collect();
                    all.sort_by(|a, b| a.1.total_cmp(&b.1));
                    all
                })
                .collect();
            let mut least = f64::MAX;
            by_force(&sites, 0, &mut vec![None; labels], &mut least);
            let (found, proven) = assign(&sites, &vec![None; labels], 1_000_000);
            assert!(proven, "case {case}");
            assert!((cost(&sites, &found) - least).abs() < 1e-6, "case {case}: {found:?}, {least}");
            crowded += usize::from(found.contains(&None));
        }
        assert!(crowded > 20, "{crowded} cases had too little room");
    }

    /// What it starts from is never made worse, however few the steps.
    #[test]
    fn a_short_search_keeps_what_it_has() {
        let at = |x: f64| Rect::new(x, 0.0, 8.0, 3.0);
        let sites = vec![vec![(at(0.0), 0.0), (at(20.0), 5.0)], vec![(at(2.0), 1.0)]];
        let start = vec![Some(1), Some(0)];
        assert_eq!(assign(&sites, &start, 1), (start, false));
    }
}
