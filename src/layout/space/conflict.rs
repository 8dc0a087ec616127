//! What touches what. In: lines as laid. Out: where two come too close; and, at the end, only lines
//! that touch nothing.

use super::lay::Piece;
use super::negotiate::{State, bare};
use super::seats;
use super::shape::{Block, V};
use super::{End, Sitting};

impl State<'_> {
    /// Chains of a net that were not found or touch another.
    pub(super) fn wrong(&self, n: usize) -> usize {
        let net = &self.nets[n];
        let touched =
            |c: usize| (0..self.p.chains.len()).any(|o| o != c && self.touch(c, o).is_some());
        net.iter().filter(|c| !self.laid[**c].found || touched(**c)).count()
    }

    /// For each chain, one that it touches.
    pub(super) fn clashes(&self) -> Vec<Option<usize>> {
        let n = self.p.chains.len();
        let mut out = vec![None; n];
        for a in 0..n {
            for b in a + 1..n {
                if self.touch(a, b).is_some() {
                    out[a] = out[a].or(Some(b));
                    out[b] = out[b].or(Some(a));
                }
            }
        }
        out
    }

    /// Where two chains come too close.
    pub(super) fn touch(&self, a: usize, b: usize) -> Option<Block> {
        let joints: Vec<V> = [(a, b), (b, a)].into_iter().flat_map(|j| self.joints(j)).collect();
        let siblings = self.p.chains[a].net == self.p.chains[b].net;
        for x in &self.pieces[a] {
            for y in &self.pieces[b] {
                let gap = match (x.axis, y.axis) {
                    (Some(i), Some(j)) if i == j => {
                        self.p.chains[a].gap[0].min(self.p.chains[b].gap[0])
                    }
                    _ => self.p.chains[a].gap[1],
                };
                if x.block.grown(gap - 0.2).overlaps(&y.block) {
                    if joints.iter().any(|j| on(*j, x) && on(*j, y)) {
                        continue;
                    }
                    if siblings && x.axis.is_none() && y.axis.is_none() {
                        continue;
                    }
                    if self.is_stub(a, x) && self.is_stub(b, y) {
                        continue;
                    }
                    return Some(Block::around(
                        [0, 1, 2].map(|i| x.block.lo[i].max(y.block.lo[i])),
                        [0, 1, 2].map(|i| x.block.hi[i].min(y.block.hi[i])),
                    ));
                }
            }
        }
        None
    }

    /// Where a chain branches from another.
    fn joints(&self, (c, parent): (usize, usize)) -> Vec<V> {
        let bead = |e: &End| match e {
            End::Branch { chain, bead } if *chain == parent => Some(*bead),
            _ => None,
        };
        let beads = self.p.chains[c].ends.iter().filter_map(bead);
        beads.filter_map(|b| Some(self.laid[parent].beads.get(b)?.as_ref()?.at)).collect()
    }

    fn is_stub(&self, c: usize, piece: &Piece) -> bool {
        self.stubs[c].iter().any(|s| s.block.grown(1.0).contains(&piece.block))
    }

    /// Takes out what still touches another, what has no seat for a bead and what hangs on either,
    /// so that nothing that counts as found stands in anything.
    pub(super) fn settle(&mut self) {
        let n = self.p.chains.len();
        for c in 0..n {
            let own = &self.laid[c];
            let seated = |s: &Sitting| seats::position(&own.points, s.at).is_some();
            if own.found && !own.beads.iter().all(|s| s.as_ref().is_some_and(seated)) {
                self.take_out(c);
            }
        }
        loop {
            let mut hits = vec![0usize; n];
            for a in 0..n {
                for b in a + 1..n {
                    if self.touch(a, b).is_some() {
                        hits[a] += 1;
                        hits[b] += 1;
                    }
                }
            }
            // Most is mended where much is touched and little hangs on it.
            let worst = (0..n).filter(|c| hits[*c] > 0).max_by(|a, b| {
                let price = |c: usize| hits[c] as f64 / self.family(c).len() as f64;
                price(*a).total_cmp(&price(*b)).then(b.cmp(a))
            });
            match worst {
                Some(c) => self.take_out(c),
                None => break,
            }
        }
    }

    /// A chain and all that branch from it.
    fn family(&self, c: usize) -> Vec<usize> {
        let mut out = vec![c];
        let mut i = 0;
        while i < out.len() {
            let from = out[i];
            for o in 0..self.p.chains.len() {
                let hangs = |e: &End| matches!(e, End::Branch { chain, .. } if *chain == from);
                if !out.contains(&o) && self.p.chains[o].ends.iter().any(hangs) {
                    out.push(o);
                }
            }
            i += 1;
        }
        out
    }

    fn take_out(&mut self, c: usize) {
        for o in self.family(c) {
            self.laid[o] = bare(&self.p.chains[o]);
            self.pieces[o].clear();
        }
    }
}

/// True where a piece's middle line passes through a point.
fn on(p: V, piece: &Piece) -> bool {
    Block::around(piece.ends.0, piece.ends.1).distance(p) < 1e-6
}
