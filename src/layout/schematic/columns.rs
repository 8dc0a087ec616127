//! Where along a line everything stands: x from the order on each line, from what must stand one
//! above the other, and from the width of what hangs between two lines.

use super::net::GRID;
use crate::layout::graph::simplex::{Arc, minimise};

/// Left-to-right demands on a set of places.
#[derive(Clone, Debug, Default)]
pub struct Columns {
    /// Each place stands for itself or for another it is tied to.
    same: Vec<usize>,
    /// From a place: (place to its right, least distance). Kept at the place that stands for it.
    right: Vec<Vec<(usize, f64)>>,
    /// The leftmost places that meet every demand so far.
    x: Vec<f64>,
}

impl Columns {
    pub fn place(&mut self) -> usize {
        self.same.push(self.same.len());
        self.right.push(Vec::new());
        self.x.push(0.0);
        self.same.len() - 1
    }

    pub fn len(&self) -> usize {
        self.same.len()
    }

    fn root(&self, mut i: usize) -> usize {
        while self.same[i] != i {
            i = self.same[i];
        }
        i
    }

    /// Moves places to the right until every demand behind `from` holds. False where they chase
    /// each other in a ring.
    fn settle(&mut self, from: usize) -> bool {
        let n = self.same.len();
        let mut open = std::collections::VecDeque::from([from]);
        let mut steps = 0;
        while let Some(l) = open.pop_front() {
            steps += 1;
            if steps > 4 * n * n + 16 || self.x[l] > 1e7 {
                return false;
            }
            for k in 0..self.right[l].len() {
                let (r, by) = self.right[l][k];
                let r = self.root(r);
                if r == l {
                    if by > 1e-9 {
                        return false;
                    }
                    continue;
                }
                if self.x[l] + by > self.x[r] + 1e-9 {
                    // A place that pushes itself has no end.
                    if r == from && steps > 1 {
                        return false;
                    }
                    self.x[r] = self.x[l] + by;
                    open.push_back(r);
                }
            }
        }
        true
    }

    /// `right` stands at least `by` to the right of `left`. Refused where it contradicts.
    pub fn demand(&mut self, left: usize, right: usize, by: f64) -> bool {
        let by = (by / GRID - 1e-9).ceil() * GRID;
        let l = self.root(left);
        let r = self.root(right);
        if l == r {
            return by <= 1e-9;
        }
        self.right[l].push((r, by));
        if self.x[l] + by <= self.x[r] + 1e-9 {
            return true;
        }
        let kept = self.x.clone();
        if self.settle(l) {
            return true;
        }
        self.x = kept;
        self.right[l].pop();
        false
    }

    /// Both stand on one vertical. Refused where it contradicts.
    pub fn tie(&mut self, a: usize, b: usize) -> bool {
        let (a, b) = (self.root(a), self.root(b));
        if a == b {
            return true;
        }
        let kept = self.clone();
        self.same[b] = a;
        let moved = std::mem::take(&mut self.right[b]);
        self.right[a].extend(moved);
        self.x[a] = self.x[a].max(self.x[b]);
        if self.settle(a) {
            return true;
        }
        *self = kept;
        false
    }

    /// `b` stands exactly `by` to the right of `a`. Refused where it contradicts.
    pub fn tie_at(&mut self, a: usize, b: usize, by: f64) -> bool {
        let by = (by / GRID).round() * GRID;
        if by == 0.0 {
            return self.tie(a, b);
        }
        let kept = self.clone();
        if self.demand(a, b, by) && self.pull(b, a, -by) {
            return true;
        }
        *self = kept;
        false
    }

    /// A demand of a negative distance: the other may not fall behind.
    fn pull(&mut self, left: usize, right: usize, by: f64) -> bool {
        let (l, r) = (self.root(left), self.root(right));
        self.right[l].push((r, by));
        let mut turns = 0;
        // Two places that hold each other settle by turns.
        while self.x[l] + by > self.x[r] + 1e-9 {
            self.x[r] = self.x[l] + by;
            turns += 1;
            if turns > 64 || !self.settle_pair(r, l) {
                return false;
            }
        }
        true
    }

    fn settle_pair(&mut self, from: usize, other: usize) -> bool {
        let before = self.x[other];
        self.settle(from) && self.x[other] < before + 1e6
    }

    /// The leftmost places that meet every demand.
    pub fn solve(&self) -> Vec<f64> {
        (0..self.same.len()).map(|i| self.x[self.root(i)]).collect()
    }

    /// Places that meet every demand between `least` and `most`, and stand where they stood, as
    /// far as that can be: `wanted` is where what hangs at each place stood. `None` where there is
    /// no room.
    pub fn held(&self, wanted: &[Vec<f64>], least: f64, most: f64) -> Option<Vec<f64>> {
        let n = self.same.len();
        let roots: Vec<usize> = (0..n).filter(|i| self.same[*i] == *i).collect();
        let mut wish: Vec<Vec<f64>> = vec![Vec::new(); n];
        for (i, w) in wanted.iter().enumerate() {
            wish[self.root(i)].extend(w);
        }
        let weight: Vec<usize> = wish.iter().map(Vec::len).collect();
        let wish: Vec<Option<f64>> = wish.into_iter().map(super::before::middle).collect();
        // From the right: the last place of each at which all behind it still has room.
        let mut latest = vec![most; n];
        self.relax(&roots, |l, r, by| {
            let at = latest[r] - by;
            let tighter = at < latest[l] - 1e-9;
            latest[l] = latest[l].min(at);
            tighter
        })?;
        let mut x: Vec<f64> =
            (0..n).map(|i| wish[i].map_or(f64::MIN, |w| w.min(latest[i]))).collect();
        let first = wish.iter().flatten().copied().fold(f64::INFINITY, f64::min).max(least);
        for i in &roots {
            x[*i] = x[*i].max(if first.is_finite() { first.min(latest[*i]) } else { self.x[*i] });
        }
        self.relax(&roots, |l, r, by| {
            let at = x[l] + by;
            let later = at > x[r] + 1e-9;
            x[r] = x[r].max(at);
            later
        })?;
        if roots.iter().any(|i| x[*i] > latest[*i] + 1e-6 || x[*i] < least - 1e-6) {
            return None;
        }
        self.ease(&mut x, &roots, &wish, &weight, (least, most));
        // What is new stands midway between what stood.
        for i in roots.iter().filter(|i| wish[**i].is_none()) {
            let ahead = self.right[*i].iter().map(|(r, by)| x[self.root(*r)] - by);
            let high = ahead.fold(f64::INFINITY, f64::min);
            if high.is_finite() && high > x[*i] {
                x[*i] = super::net::snap((x[*i] + high) / 2.0 - GRID / 2.0).max(x[*i]);
            }
        }
        Some((0..n).map(|i| x[self.root(i)]).collect())
    }

    /// Moves places that meet every demand so that the sum of all distances from where they stood
    /// is least: rather a few symbols on one side of what is new than all on the other.
    fn ease(
        &self,
        x: &mut [f64],
        roots: &[usize],
        wish: &[Option<f64>],
        weight: &[usize],
        (least, most): (f64, f64),
    ) {
        const ROUNDS: usize = 4000;
        const AGAIN: usize = 3;
        const SCALE: i64 = 1000;
        let n = self.same.len();
        let whole = |v: f64| (v / GRID).round() as i64;
        let mut at: Vec<i64> = x.iter().map(|v| whole(*v)).collect();
        // The left edge of the sheet, then for each wish the lesser of place and wish.
        at.push(0);
        let mut arcs = Vec::new();
        for &l in roots {
            for &(r, by) in &self.right[l] {
                let r = self.root(r);
                if r != l {
                    arcs.push(Arc { from: l, to: r, least: whole(by), weight: 0 });
                }
            }
            arcs.push(Arc { from: n, to: l, least: whole(least).min(at[l]), weight: 0 });
            arcs.push(Arc { from: l, to: n, least: -whole(most).max(at[l]), weight: 0 });
        }
        let mut wished = Vec::new();
        for &l in roots {
            let Some(w) = wish[l].map(whole) else { continue };
            let (low, weight) = (at.len(), weight[l] as i64);
            at.push(at[l].min(w));
            wished.push((l, w, arcs.len(), weight));
            arcs.push(Arc { from: low, to: l, least: 0, weight });
            arcs.push(Arc { from: low, to: n, least: -w, weight });
        }
        minimise(&mut at, &arcs, ROUNDS);
        // What gives way anyhow may give more way, if that leaves others in place.
        for _ in 0..AGAIN {
            for &(l, w, k, weight) in &wished {
                let off = (at[l] - at[n] - w).abs();
                for arc in &mut arcs[k..k + 2] {
                    arc.weight = SCALE * weight / (off + 1);
                }
            }
            minimise(&mut at, &arcs, ROUNDS);
        }
        for &l in roots {
            x[l] = (at[l] - at[n]) as f64 * GRID;
        }
    }

    /// Applies a rule to every demand until nothing changes; `None` where it never ends.
    fn relax(
        &self,
        roots: &[usize],
        mut rule: impl FnMut(usize, usize, f64) -> bool,
    ) -> Option<()> {
        for _ in 0..self.same.len() + 2 {
            let mut changed = false;
            for &l in roots {
                for &(r, by) in &self.right[l] {
                    let r = self.root(r);
                    changed |= r != l && rule(l, r, by);
                }
            }
            if !changed {
                return Some(());
            }
        }
        None
    }

    /// Places that meet every demand, with the slack shared out: each place midway between what
    /// its neighbours allow, the outermost where they must be.
    pub fn spread(&self) -> Vec<f64> {
        let n = self.same.len();
        let mut x = self.x.clone();
        let mut left: Vec<Vec<(usize, f64)>> = vec![Vec::new(); n];
        let mut right: Vec<Vec<(usize, f64)>> = vec![Vec::new(); n];
        for l in (0..n).filter(|i| self.same[*i] == *i) {
            for &(r, by) in &self.right[l] {
                let r = self.root(r);
                if r != l {
                    right[l].push((r, by));
                    left[r].push((l, by));
                }
            }
        }
        const SWEEPS: usize = 160;
        for _ in 0..SWEEPS {
            for i in (0..n).filter(|i| self.same[*i] == *i) {
                let low =
                    left[i].iter().map(|(l, by)| x[*l] + by).fold(f64::NEG_INFINITY, f64::max);
                let high = right[i].iter().map(|(r, by)| x[*r] - by).fold(f64::INFINITY, f64::min);
                if low.is_finite() && high.is_finite() && low <= high {
                    x[i] = (low + high) / 2.0;
                }
            }
        }
        // Rounded down together, no demand in whole grid steps breaks.
        (0..n).map(|i| (x[self.root(i)] / GRID + 1e-6).floor() * GRID).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ties_that_contradict_are_refused() {
        let mut c = Columns::default();
        let p: Vec<usize> = (0..4).map(|_| c.place()).collect();
        assert!(c.demand(p[0], p[1], 10.0));
        assert!(c.demand(p[2], p[3], 10.0));
        assert!(c.tie(p[0], p[3]));
        assert!(!c.tie(p[1], p[2]));
        let x = c.solve();
        assert_eq!((x[2], x[3], x[0], x[1]), (0.0, 10.0, 10.0, 20.0));
        assert!(!c.demand(p[1], p[2], 1.0));
    }

    #[test]
    fn slack_is_shared_out() {
        let mut c = Columns::default();
        let p: Vec<usize> = (0..4).map(|_| c.place()).collect();
        c.demand(p[0], p[1], 10.0);
        c.demand(p[1], p[2], 10.0);
        c.demand(p[0], p[3], 50.0);
        c.demand(p[2], p[3], 10.0);
        let x = c.spread();
        assert_eq!(x, [0.0, 16.25, 32.5, 50.0]);
    }
}
