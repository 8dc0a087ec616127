//! Orders of things on two axes. In: differences that must hold, and choices of which at least one
//! must (left of, right of, above, below). Out: coordinates, or nothing.
//!
//! A search with learning: each choice that is made adds differences to one of two graphs; a cycle
//! of positive length in a graph is a contradiction, and what took part in it is learnt as a
//! clause (differences after Cotton and Maler, 2006).

mod learn;

use std::collections::BTreeMap;

/// `v` lies at least `w` after `u` on an axis. The members say which thing of a rigid group meant.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Diff {
    pub axis: usize,
    pub u: usize,
    pub v: usize,
    pub w: i64,
    pub members: (usize, usize),
}

#[derive(Clone, Copy)]
struct Arc {
    v: usize,
    w: i64,
    /// Variable that brought it, or [`BASE`] and more for what always holds.
    why: usize,
    members: (usize, usize),
}

/// Arcs that always hold are numbered downwards from the top.
const BASE: usize = usize::MAX / 2;
const NONE: usize = usize::MAX;

/// A literal: 2 * variable, + 1 where denied.
type Lit = usize;

#[derive(Default)]
pub struct Orders {
    pub at: [Vec<i64>; 2],
    out: [Vec<Vec<Arc>>; 2],
    bundles: Vec<Vec<Diff>>,
    known: BTreeMap<Vec<(usize, usize, usize, i64)>, usize>,
    value: Vec<i8>,
    level: Vec<usize>,
    reason: Vec<usize>,
    trail: Vec<Lit>,
    /// Literals of the trail whose differences are in the graphs.
    entered: usize,
    head: usize,
    marks: Vec<usize>,
    /// Per level: how many of the choices in `queue` are known to be settled there.
    settled: Vec<usize>,
    /// Choices by weight, the heaviest first.
    queue: Vec<usize>,
    clauses: Vec<Vec<Lit>>,
    watch: Vec<Vec<usize>>,
    /// Clauses among which decisions are made, with their weight and last chosen literal.
    choices: Vec<(usize, f64, usize)>,
    choice_of: Vec<usize>,
    bump: f64,
    /// How often a contradiction ran through a rigid group from one member to another.
    pub blame: BTreeMap<(usize, usize, usize), u32>,
    /// How often each difference that always holds took part, in the order given.
    pub blame_always: Vec<u32>,
    pub conflicts: usize,
    pub steps: u64,
    dead: bool,
    // Scratch of the relaxation.
    gain: [Vec<i64>; 2],
    from: [Vec<(usize, usize)>; 2],
}

/// Outcome of a search.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    Solved,
    Impossible,
    GaveUp,
}

impl Orders {
    pub fn new(groups: [usize; 2]) -> Orders {
        let mut o = Orders { bump: 1.0, ..Orders::default() };
        for (axis, &n) in groups.iter().enumerate() {
            o.at[axis] = vec![0; n];
            o.out[axis] = vec![Vec::new(); n];
            o.gain[axis] = vec![0; n];
            o.from[axis] = vec![(NONE, NONE); n];
        }
        o
    }

    /// A difference that always holds. False where it contradicts the others.
    pub fn always(&mut self, d: Diff) -> bool {
        let number = self.blame_always.len();
        self.blame_always.push(0);
        if d.u == d.v {
            if d.w > 0 {
                self.blame_always[number] += 1;
                *self.blame.entry((d.axis, d.members.0, d.members.1)).or_default() += 1;
                self.dead = true;
            }
            return d.w <= 0;
        }
        match self.enter(d, BASE + number) {
            Ok(()) => true,
            Err(_) => {
                self.dead = true;
                false
            }
        }
    }

    /// A variable for differences that hold together, or nothing where they never can.
    pub fn bundle(&mut self, diffs: &[Diff]) -> Option<usize> {
        let mut diffs: Vec<Diff> = diffs.to_vec();
        if let Some(d) = diffs.iter().find(|d| d.u == d.v && d.w > 0) {
            *self.blame.entry((d.axis, d.members.0, d.members.1)).or_default() += 1;
            return None;
        }
        diffs.retain(|d| d.u != d.v);
        diffs.sort();
        let key: Vec<_> = diffs.iter().map(|d| (d.axis, d.u, d.v, d.w)).collect();
        if let Some(&v) = self.known.get(&key) {
            return Some(v);
        }
        let v = self.bundles.len();
        self.known.insert(key, v);
        self.bundles.push(diffs);
        self.value.push(0);
        self.level.push(0);
        self.reason.push(NONE);
        self.watch.push(Vec::new());
        self.watch.push(Vec::new());
        Some(v)
    }

    /// At least one of these must hold.
    pub fn one_of(&mut self, vars: &[usize]) {
        debug_assert!(self.marks.is_empty());
        let mut lits: Vec<Lit> = vars.iter().map(|v| 2 * v).collect();
        lits.dedup();
        if lits.iter().any(|&l| self.truth(l) == 1) {
            return;
        }
        lits.retain(|&l| self.truth(l) == 0);
        if lits.is_empty() {
            self.dead = true;
            return;
        }
        let c = self.add_clause(lits);
        self.choices.push((c, self.bump, NONE));
        self.choice_of.push(NONE);
        self.choice_of[c] = self.choices.len() - 1;
    }

    fn add_clause(&mut self, lits: Vec<Lit>) -> usize {
        let c = self.clauses.len();
        if lits.len() == 1 {
            self.clauses.push(lits);
        } else {
            self.watch[lits[0]].push(c);
            self.watch[lits[1]].push(c);
            self.clauses.push(lits);
        }
        while self.choice_of.len() <= c {
            self.choice_of.push(NONE);
        }
        c
    }

    /// Takes back every decision, so that clauses may be added.
    pub fn ground(&mut self) {
        self.back_to(0);
    }

    /// Sets the coordinates back to the least that the fixed differences allow.
    pub fn relax(&mut self) {
        self.back_to(0);
        for axis in 0..2 {
            let n = self.at[axis].len();
            let mut at = vec![0i64; n];
            for _ in 0..=n {
                let mut moved = false;
                for u in 0..n {
                    for a in &self.out[axis][u] {
                        if at[u] + a.w > at[a.v] {
                            at[a.v] = at[u] + a.w;
                            moved = true;
                        }
                    }
                }
                if !moved {
                    break;
                }
            }
            self.at[axis] = at;
        }
    }

    pub fn search(&mut self, conflicts: usize) -> Outcome {
        if self.dead {
            return Outcome::Impossible;
        }
        self.back_to(0);
        for c in 0..self.clauses.len() {
            if let [lit] = self.clauses[c][..] {
                match self.truth(lit) {
                    -1 => return Outcome::Impossible,
                    0 => self.push(lit, c),
                    _ => {}
                }
            }
        }
        let limit = self.conflicts + conflicts;
        self.sort_choices();
        let mut sorted = self.conflicts;
        loop {
            if let Some(clause) = self.propagate() {
                self.conflicts += 1;
                if self.marks.is_empty() {
                    self.dead = true;
                    return Outcome::Impossible;
                }
                self.learn(clause);
                if self.dead {
                    return Outcome::Impossible;
                }
                if self.conflicts > limit {
                    return Outcome::GaveUp;
                }
                if self.conflicts >= sorted + 64 {
                    sorted = self.conflicts;
                    self.back_to(0);
                    self.sort_choices();
                }
                continue;
            }
            match self.decide() {
                None => return Outcome::Solved,
                Some((lit, choice)) => {
                    self.choices[choice].2 = lit;
                    self.marks.push(self.trail.len());
                    self.settled.push(self.settled[self.marks.len() - 1]);
                    self.push(lit, NONE);
                }
            }
        }
    }

    fn truth(&self, lit: Lit) -> i8 {
        let v = self.value[lit / 2];
        if lit.is_multiple_of(2) { v } else { -v }
    }

    fn push(&mut self, lit: Lit, reason: usize) {
        let v = lit / 2;
        self.value[v] = if lit.is_multiple_of(2) { 1 } else { -1 };
        self.level[v] = self.marks.len();
        self.reason[v] = reason;
        self.trail.push(lit);
    }

    fn back_to(&mut self, level: usize) {
        if self.marks.len() <= level {
            return;
        }
        let keep = self.marks[level];
        while self.trail.len() > keep {
            let Some(lit) = self.trail.pop() else { break };
            let v = lit / 2;
            self.value[v] = 0;
            if self.trail.len() < self.entered {
                self.entered = self.trail.len();
                if lit.is_multiple_of(2) {
                    for d in self.bundles[v].iter().rev() {
                        self.out[d.axis][d.u].pop();
                    }
                }
            }
        }
        self.head = self.head.min(keep);
        self.marks.truncate(level);
        self.settled.truncate(level + 1);
    }

    /// Puts the choices in the order of their weight; only without decisions.
    fn sort_choices(&mut self) {
        let choices = &self.choices;
        self.queue = (0..choices.len()).collect();
        self.queue.sort_by(|&a, &b| choices[b].1.total_cmp(&choices[a].1).then(a.cmp(&b)));
        self.settled = vec![0];
    }

    /// Puts a difference into its graph and moves things until all hold again. Where they cannot,
    /// gives the denied literals of the cycle.
    fn enter(&mut self, d: Diff, why: usize) -> Result<(), Vec<Lit>> {
        let axis = d.axis;
        let need = self.at[axis][d.u] + d.w - self.at[axis][d.v];
        if need > 0 {
            let mut open = std::collections::BinaryHeap::new();
            let mut touched = vec![d.v];
            let mut done: Vec<(usize, i64)> = Vec::new();
            self.gain[axis][d.v] = need;
            self.from[axis][d.v] = (d.u, NONE);
            open.push((need, d.v));
            let mut cycle = false;
            'outer: while let Some((g, u)) = open.pop() {
                if g != self.gain[axis][u] {
                    continue;
                }
                self.steps += 1;
                done.push((u, self.at[axis][u]));
                self.at[axis][u] += g;
                self.gain[axis][u] = i64::MIN;
                let here = self.at[axis][u];
                for k in 0..self.out[axis][u].len() {
                    let a = self.out[axis][u][k];
                    let more = here + a.w - self.at[axis][a.v];
                    if more <= 0 || self.gain[axis][a.v] == i64::MIN || more <= self.gain[axis][a.v]
                    {
                        continue;
                    }
                    if a.v == d.u {
                        self.from[axis][a.v] = (u, k);
                        cycle = true;
                        break 'outer;
                    }
                    self.gain[axis][a.v] = more;
                    self.from[axis][a.v] = (u, k);
                    touched.push(a.v);
                    open.push((more, a.v));
                }
            }
            for &t in &touched {
                self.gain[axis][t] = 0;
            }
            if cycle {
                for &(u, old) in done.iter().rev() {
                    self.at[axis][u] = old;
                }
                return Err(self.explain(d, why));
            }
        }
        self.out[axis][d.u].push(Arc { v: d.v, w: d.w, why, members: d.members });
        Ok(())
    }

    fn explain(&mut self, d: Diff, why: usize) -> Vec<Lit> {
        let axis = d.axis;
        let mut lits = Vec::new();
        if why < BASE {
            lits.push(2 * why + 1);
        } else {
            self.blame_always[why - BASE] += 1;
        }
        // Backwards from u to v, then the new difference closes the cycle.
        let mut passes = vec![d.members];
        let mut at = d.u;
        while at != d.v {
            let (u, k) = self.from[axis][at];
            let a = self.out[axis][u][k];
            if a.why >= BASE {
                self.blame_always[a.why - BASE] += 1;
            } else if !lits.contains(&(2 * a.why + 1)) {
                lits.push(2 * a.why + 1);
            }
            passes.push(a.members);
            at = u;
        }
        // Each difference ends at a member of a group that the one before it in the list leaves.
        for k in 0..passes.len() {
            let entered = passes[(k + 1) % passes.len()].1;
            let left = passes[k].0;
            if entered != left {
                *self.blame.entry((axis, entered, left)).or_default() += 1;
            }
        }
        lits
    }
}
