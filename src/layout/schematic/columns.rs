//! Where along a line everything stands: x from the order on each line, from what must stand one
//! above the other, and from the width of what hangs between two lines.

/// Left-to-right demands on a set of places.
#[derive(Clone, Debug, Default)]
pub struct Columns {
    /// Each place stands for itself or for another it is tied to.
    same: Vec<usize>,
    /// (left, right, least distance).
    apart: Vec<(usize, usize, f64)>,
}

impl Columns {
    pub fn place(&mut self) -> usize {
        self.same.push(self.same.len());
        self.same.len() - 1
    }

    fn root(&self, mut i: usize) -> usize {
        while self.same[i] != i {
            i = self.same[i];
        }
        i
    }

    /// `right` stands at least `by` to the right of `left`. Refused where it contradicts.
    pub fn demand(&mut self, left: usize, right: usize, by: f64) -> bool {
        self.apart.push((left, right, by));
        if self.solve().is_some() {
            return true;
        }
        self.apart.pop();
        false
    }

    /// Both stand on one vertical. Refused where it contradicts.
    pub fn tie(&mut self, a: usize, b: usize) -> bool {
        let (a, b) = (self.root(a), self.root(b));
        if a == b {
            return true;
        }
        let kept = self.same.clone();
        self.same[b] = a;
        if self.solve().is_some() {
            return true;
        }
        self.same = kept;
        false
    }

    /// `b` stands exactly `by` to the right of `a`. Refused where it contradicts.
    pub fn tie_at(&mut self, a: usize, b: usize, by: f64) -> bool {
        if by == 0.0 {
            return self.tie(a, b);
        }
        let kept = self.apart.len();
        if self.demand(a, b, by) && self.demand(b, a, -by) {
            return true;
        }
        self.apart.truncate(kept);
        false
    }

    /// The leftmost places that meet every demand, or `None` where they contradict.
    pub fn solve(&self) -> Option<Vec<f64>> {
        let n = self.same.len();
        let roots: Vec<usize> = (0..n).map(|i| self.root(i)).collect();
        let mut x = vec![0.0; n];
        for round in 0..=n + 1 {
            let mut moved = false;
            for &(l, r, by) in &self.apart {
                let (l, r) = (roots[l], roots[r]);
                if x[l] + by > x[r] + 1e-9 {
                    x[r] = x[l] + by;
                    moved = true;
                }
            }
            if !moved {
                return Some(roots.iter().map(|&r| x[r]).collect());
            }
            if round == n + 1 {
                return None;
            }
        }
        None
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
        let x = c.solve().unwrap();
        assert_eq!((x[2], x[3], x[0], x[1]), (0.0, 10.0, 10.0, 20.0));
        assert!(!c.demand(p[1], p[2], 1.0));
    }
}
