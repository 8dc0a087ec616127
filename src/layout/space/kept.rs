//! Lines of an earlier issue. In: chains as they lay before. Out: those whose ends are still there
//! and that still run clear of every body, laid so again.

use super::lay::pieces;
use super::negotiate::State;
use super::shape::{Block, Dir, V};
use super::{Chain, End, Laid, Problem};

impl State<'_> {
    /// Takes what still holds of what lay before.
    pub(super) fn keep(&mut self, before: Vec<Option<Laid>>) {
        if before.len() != self.p.chains.len() {
            return;
        }
        self.before = vec![None; before.len()];
        // A branch holds only on a line that holds.
        for c in self.nets.concat() {
            let parents = self.p.chains[c].ends.iter().all(|e| match e {
                End::Branch { chain, .. } => self.before[*chain].is_some(),
                _ => true,
            });
            let own = before[c].as_ref().filter(|l| parents && holds(self.p, c, l));
            self.before[c] = own.cloned();
        }
        // Nor a line whose branches are others now.
        loop {
            let loose = |c: &usize| {
                self.before[*c].is_some()
                    && self.p.chains.iter().zip(&self.before).any(|(o, b)| {
                        let on = |e: &End| matches!(e, End::Branch { chain, .. } if chain == c);
                        b.is_none() && o.ends.iter().any(on)
                    })
            };
            let Some(c) = (0..before.len()).find(loose) else { break };
            self.before[c] = None;
        }
        for c in 0..before.len() {
            if let Some(laid) = self.before[c].clone() {
                self.pieces[c] = pieces(self.p, &self.p.chains[c], &laid);
                self.laid[c] = laid;
            }
        }
    }

    /// For each net, whether all of it lies as it lay.
    pub(super) fn kept(&self) -> Vec<bool> {
        self.nets.iter().map(|n| n.iter().all(|c| self.before[*c].is_some())).collect()
    }

    /// For each chain, what is said of its net.
    pub(super) fn of_nets(&self, said: &[bool]) -> Vec<bool> {
        let mut out = vec![false; self.p.chains.len()];
        for (net, said) in self.nets.iter().zip(said) {
            for c in net {
                out[*c] = *said;
            }
        }
        out
    }

    /// For each chain, whether it still lies as it lay.
    pub(super) fn still_kept(&self) -> Vec<bool> {
        self.laid.iter().zip(&self.before).map(|(l, b)| b.as_ref() == Some(l)).collect()
    }
}

/// True where a line's ends are where they were and it is clear of every body.
fn holds(p: &Problem, c: usize, laid: &Laid) -> bool {
    let chain = &p.chains[c];
    laid.found
        && laid.beads.len() == chain.beads.len()
        && joined(chain, laid)
        && clear(p, chain, laid)
}

fn joined(chain: &Chain, laid: &Laid) -> bool {
    let n = laid.points.len();
    if n < 2 {
        return false;
    }
    let tips = [(laid.points[0], laid.points[1]), (laid.points[n - 1], laid.points[n - 2])];
    chain.ends.iter().zip(tips).all(|(end, (tip, next))| match end {
        End::Port { at, out, .. } => {
            (0..3).all(|i| (at[i] - tip[i]).abs() < 1e-6) && Dir::between(tip, next) == Some(*out)
        }
        _ => true,
    })
}

/// What sits right at its ends is a body too, and its own.
fn clear(p: &Problem, chain: &Chain, laid: &Laid) -> bool {
    let mut points: Vec<V> = laid.points.clone();
    let n = points.len();
    for (end, i) in chain.ends.iter().zip([0, n - 1]) {
        if let End::Port { at, out, straight } = end {
            points[i] = out.step(*at, *straight);
        }
    }
    let lines = points.windows(2).map(|w| Block::around(w[0], w[1]).grown(chain.radius - 1.0));
    let bodies = pieces(p, chain, laid).into_iter().filter(|q| q.axis.is_none());
    lines.into_iter().all(|b| !p.solids.iter().any(|s| s.overlaps(&b)))
        && bodies.into_iter().all(|q| !p.boxes.iter().any(|s| s.overlaps(&q.block)))
        && points.iter().all(|v| p.room.contains(&Block::new(*v, *v)))
}
