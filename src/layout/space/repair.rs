//! What the negotiation left. In: lines some of which found no way or touch. Out: the same, fewer of
//! them wrong: a net that has no way is laid as if the others gave way, those that it then touches
//! are laid again round it, and so on (ejection chains: Glover, 1996). What brings nothing is undone.

use std::collections::VecDeque;

use super::field::HARD;
use super::negotiate::State;
use super::{End, Laid};

/// Chains of ejections in all, for each net, and nets in one.
const CHAINS: usize = 48;
const EACH: usize = 4;
const LONG: usize = 12;
/// Bends from which a line is thought to wind, and nets that are tried.
const WINDING: usize = 5;
const UNWOUND: usize = 10;
/// What it costs to touch a net that may still be laid again.
const SOFT: f32 = 1.0;
/// Price of an edge where a line lay from which a branch found no way, mm.
const SHUN: f32 = 40.0;

impl State<'_> {
    pub(super) fn repair(&mut self) {
        let n = self.nets.len();
        let mut tries = vec![0; n];
        let mut before = self.bad();
        for _ in 0..CHAINS {
            let wrong = (0..n).filter(|n| tries[*n] < EACH && self.wrong(*n) > 0);
            let Some(next) = wrong.min_by_key(|n| (tries[*n], *n)) else { break };
            let kept = self.laid.clone();
            self.eject(next, tries[next], vec![false; n]);
            tries[next] += 1;
            let after = self.bad();
            if after > before {
                self.take(kept);
            } else if after < before {
                tries.fill(0);
                before = after;
            }
        }
    }

    /// The lines that wind most are laid again as if the others gave way; kept if all together come
    /// out shorter.
    pub(super) fn unwind(&mut self, kept: &[bool]) {
        let bends = |l: &Laid| l.points.len().saturating_sub(2);
        let mut order: Vec<usize> = (0..self.nets.len()).collect();
        let most = |n: &usize| self.nets[*n].iter().map(|c| bends(&self.laid[*c])).max();
        order.retain(|n| most(n) >= Some(WINDING) && !kept[*n]);
        order.sort_by_key(|n| (std::cmp::Reverse(most(n)), *n));
        for n in order.into_iter().take(UNWOUND) {
            let laid = self.laid.clone();
            let before = (self.bad(), self.cost());
            self.eject(n, 0, kept.to_vec());
            if (self.bad(), self.cost()) >= before {
                self.take(laid);
            }
        }
    }

    fn cost(&self) -> f64 {
        (0..self.laid.len()).map(|c| self.price(c)).sum()
    }

    fn bad(&self) -> usize {
        (0..self.nets.len()).map(|n| self.wrong(n)).sum()
    }

    /// Lays a net as if all that is not firm gave way, then those that it touches, and so on.
    fn eject(&mut self, first: usize, variant: usize, mut firm: Vec<bool>) {
        let mut queue = VecDeque::from([first]);
        let mut soft = SOFT * (1 + variant) as f32;
        for _ in 0..LONG {
            let Some(n) = queue.pop_front() else { return };
            let of = self.of_nets(&firm);
            if !self.lay_net(n, &|o| if of[o] { HARD } else { soft }, variant) {
                self.shun(n);
            }
            firm[n] = true;
            let loose = (0..firm.len()).filter(|o| !firm[*o] && self.meet(n, *o));
            let touched: Vec<usize> = loose.filter(|o| !queue.contains(o)).collect();
            queue.extend(touched);
            soft *= 1.5;
        }
    }

    /// Lines that a branch found no way from had better lie elsewhere next time.
    fn shun(&mut self, n: usize) {
        for &c in self.nets[n].iter().filter(|c| !self.laid[**c].found) {
            for end in &self.p.chains[c].ends {
                let End::Branch { chain, .. } = end else { continue };
                for piece in &self.pieces[*chain] {
                    self.field.remember(&self.grid, &piece.block, SHUN);
                }
            }
        }
    }

    fn meet(&self, n: usize, o: usize) -> bool {
        self.nets[n].iter().any(|a| self.nets[o].iter().any(|b| self.touch(*a, *b).is_some()))
    }
}
