//! The search proper. In: choices made so far. Out: what follows from them, what a contradiction
//! teaches, and the next choice.

use super::*;

impl Orders {
    /// Follows what is forced. Gives a clause all of whose literals are false, if one appears.
    pub(super) fn propagate(&mut self) -> Option<Vec<Lit>> {
        while self.head < self.trail.len() {
            let lit = self.trail[self.head];
            self.head += 1;
            if lit.is_multiple_of(2) {
                let v = lit / 2;
                for k in 0..self.bundles[v].len() {
                    let d = self.bundles[v][k];
                    if let Err(mut clause) = self.enter(d, v) {
                        // Take back the part of the bundle that went in.
                        for d in self.bundles[v][..k].iter().rev() {
                            self.out[d.axis][d.u].pop();
                        }
                        if !clause.contains(&(2 * v + 1)) {
                            clause.push(2 * v + 1);
                        }
                        self.head -= 1;
                        return Some(clause);
                    }
                }
            }
            self.entered = self.head;
            // Clauses that watch the literal that has become false.
            let gone = lit ^ 1;
            let mut list = std::mem::take(&mut self.watch[gone]);
            let mut k = 0;
            while k < list.len() {
                let c = list[k];
                if self.clauses[c][0] == gone {
                    self.clauses[c].swap(0, 1);
                }
                let first = self.clauses[c][0];
                if self.truth(first) == 1 {
                    k += 1;
                    continue;
                }
                let other =
                    (2..self.clauses[c].len()).find(|&i| self.truth(self.clauses[c][i]) != -1);
                if let Some(i) = other {
                    self.clauses[c].swap(1, i);
                    let lit = self.clauses[c][1];
                    self.watch[lit].push(c);
                    list.swap_remove(k);
                    continue;
                }
                if self.truth(first) == -1 {
                    self.watch[gone].append(&mut list);
                    return Some(self.clauses[c].clone());
                }
                self.push(first, c);
                k += 1;
            }
            self.watch[gone].append(&mut list);
        }
        None
    }

    /// Learns from a contradiction and goes back to where the lesson says something new.
    pub(super) fn learn(&mut self, mut clause: Vec<Lit>) {
        // The contradiction may lie wholly below the present level.
        let top = clause.iter().map(|l| self.level[l / 2]).max().unwrap_or(0);
        if top == 0 {
            self.dead = true;
            self.back_to(0);
            // An empty clause: the next search says so.
            return;
        }
        if top < self.marks.len() {
            self.back_to(top);
        }
        let level = self.marks.len();
        let mut seen: BTreeMap<usize, ()> = BTreeMap::new();
        let mut lesson: Vec<Lit> = Vec::new();
        let mut open = 0;
        let mut at = self.trail.len();
        let asserting;
        loop {
            for &lit in &clause {
                let v = lit / 2;
                if self.level[v] == 0 || seen.contains_key(&v) {
                    continue;
                }
                seen.insert(v, ());
                if self.level[v] == level {
                    open += 1;
                } else {
                    lesson.push(lit);
                }
            }
            loop {
                at -= 1;
                if seen.contains_key(&(self.trail[at] / 2)) {
                    break;
                }
            }
            let lit = self.trail[at];
            open -= 1;
            if open == 0 {
                asserting = lit ^ 1;
                break;
            }
            let reason = self.reason[lit / 2];
            if reason == NONE {
                // Only the decision itself has no reason, and then nothing else is open.
                asserting = lit ^ 1;
                break;
            }
            self.raise(reason);
            clause = self.clauses[reason].clone();
            clause.retain(|&l| l != lit);
        }
        let back = lesson.iter().map(|l| self.level[l / 2]).max().unwrap_or(0);
        self.back_to(back);
        let mut lits = vec![asserting];
        // The second watch must be of the level gone back to.
        lesson.sort_by_key(|l| (std::cmp::Reverse(self.level[l / 2]), *l));
        lits.extend(lesson);
        let c = self.add_clause(lits);
        self.bump *= 1.05;
        if self.bump > 1e100 {
            for choice in &mut self.choices {
                choice.1 *= 1e-100;
            }
            self.bump *= 1e-100;
        }
        if self.truth(asserting) == 0 {
            self.push(asserting, c);
        }
    }

    pub(super) fn raise(&mut self, clause: usize) {
        let k = self.choice_of[clause];
        if k != NONE {
            self.choices[k].1 += self.bump;
        }
    }

    pub(super) fn decide(&mut self) -> Option<(Lit, usize)> {
        let level = self.marks.len();
        let mut at = self.settled[level];
        let k = loop {
            let &k = self.queue.get(at)?;
            let c = self.choices[k].0;
            if self.clauses[c].iter().all(|&l| self.truth(l) != 1) {
                break k;
            }
            at += 1;
        };
        self.settled[level] = at;
        let (c, _, saved) = self.choices[k];
        if saved != NONE && self.truth(saved) == 0 {
            return Some((saved, k));
        }
        let lit = self.clauses[c]
            .iter()
            .copied()
            .filter(|&l| self.truth(l) == 0)
            .min_by_key(|&l| (self.strain(l / 2), l))?;
        Some((lit, k))
    }

    /// How far things would have to move at once.
    pub(super) fn strain(&self, var: usize) -> i64 {
        self.bundles[var]
            .iter()
            .map(|d| (self.at[d.axis][d.u] + d.w - self.at[d.axis][d.v]).max(0))
            .sum()
    }
}
