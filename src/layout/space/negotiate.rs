//! All nets together. In: the problem. Out: every chain laid so that none touches another, or a
//! word on which could not be. Overlap is allowed at first and gets dearer from round to round
//! (negotiated congestion); then each net is laid once more among the others for neatness.

use super::berths::Berths;
use super::cost;
use super::field::{Field, HARD};
use super::grid::Grid;
use super::lay::{Aim, Piece, Task, pieces};
use super::leaf;
use super::search::Search;
use super::seats;
use super::shape::Block;
use super::{End, Laid, Problem};

/// Rounds in which what lies as it lay before does not give way.
const KEEP: usize = 3;
/// Gaps between a body and a wall that one pipe may pass, mm.
const NARROW: (f64, f64) = (40.0, 90.0);
/// Price per mm of lying beside a chain of opposite warmth.
const WARMED: f32 = 1.2;

#[derive(Clone, Debug, Default)]
pub struct Answer {
    pub laid: Vec<Laid>,
    pub rounds: usize,
    /// For each chain, length and bends of the shortest way between its own ends with nobody
    /// else in the room.
    pub least: Vec<(f64, usize)>,
    /// Chains that lie where they lay before, which nothing concerns.
    pub kept: Vec<bool>,
}

pub(super) struct State<'a> {
    pub(super) p: &'a Problem,
    pub(super) grid: Grid,
    pub(super) field: Field,
    /// What costs besides: for what must fall, and where lines are laid for looks.
    tolls: [Vec<(Block, f64)>; 2],
    search: Search,
    pub(super) laid: Vec<Laid>,
    pub(super) pieces: Vec<Vec<Piece>>,
    /// Stubs of fixed ends, which never move.
    pub(super) stubs: Vec<Vec<Piece>>,
    pub(super) nets: Vec<Vec<usize>>,
    pub(super) aim: Aim,
    /// Where else an end may be, while one is moved.
    pub(super) berths: Option<Berths>,
    /// Lines as they lay before, where that still holds.
    pub(super) before: Vec<Option<Laid>>,
}

/// Lays every chain.
pub fn solve(p: &Problem) -> Answer {
    solve_from(p, Vec::new())
}

/// Lays every chain, those first as they lay before whose ends are where they were; they give way
/// only where another finds none.
pub fn solve_from(p: &Problem, before: Vec<Option<Laid>>) -> Answer {
    let mut s = State::new(p, Aim::Way);
    s.keep(before);
    let mut kept = s.kept();
    let order: Vec<usize> = (0..s.nets.len()).collect();
    let mut pressure = 0.35f32;
    let mut rounds = 0;
    let mut best: Option<(usize, Vec<Laid>)> = None;
    let mut stale = 0;
    let mut hopeless = vec![0usize; s.nets.len()];
    for round in 0..p.rounds {
        rounds = round + 1;
        let clashes = s.clashes();
        let wrong = |n: &usize| {
            (round < 2 && !kept[*n])
                || s.nets[*n].iter().any(|c| clashes[*c].is_some() || !s.laid[*c].found)
        };
        let todo: Vec<usize> =
            order.iter().copied().filter(wrong).filter(|n| hopeless[*n] < 4).collect();
        for n in todo {
            // What must fall keeps to its way; the others give.
            let firm = s.nets[n].iter().any(|c| p.chains[*c].fall != super::Fall::Free);
            let pressure = if firm { pressure * 0.15 } else { pressure };
            let held = s.of_nets(&kept);
            let keep = round < KEEP && !kept[n];
            let price = |o: usize| if keep && held[o] { HARD } else { pressure };
            let all = s.lay_net(n, &price, hopeless[n]);
            hopeless[n] = if all { 0 } else { hopeless[n] + 1 };
            kept[n] = false;
        }
        let clashes = s.clashes();
        let bad = clashes.iter().flatten().count() + 2 * s.laid.iter().filter(|l| !l.found).count();
        stale = if best.as_ref().is_none_or(|(b, _)| bad < *b) { 0 } else { stale + 1 };
        if best.as_ref().is_none_or(|(b, _)| bad <= *b) {
            best = Some((bad, s.laid.clone()));
        }
        if stale >= 4 {
            break;
        }
        if bad == 0 && round >= 1 {
            break;
        }
        s.remember(&clashes);
        pressure *= 1.7;
    }
    if let Some((_, laid)) = best {
        s.take(laid);
    }
    // Where something is still wrong, each once more with the others standing firm.
    for _ in 0..2 {
        if (0..s.nets.len()).any(|n| s.wrong(n) > 0) {
            for n in 0..s.nets.len() {
                s.improve(n);
            }
        }
    }
    s.repair();
    s.settle();
    let kept = s.still_kept();
    Answer { laid: s.laid, rounds, least: Vec::new(), kept }
}

/// Lays each net once more among the others, which stand firm, and tells what each chain might
/// have had alone.
pub fn polish(p: &Problem, answer: Answer) -> Answer {
    let mut s = State::new(p, Aim::Short);
    s.keep(answer.laid.iter().zip(&answer.kept).map(|(l, k)| k.then(|| l.clone())).collect());
    s.take(answer.laid);
    let kept = s.kept();
    for _ in 0..2 {
        let mut moved = false;
        for n in (0..s.nets.len()).filter(|n| !kept[*n]) {
            moved |= s.improve(n);
        }
        if !moved {
            break;
        }
    }
    s.unwind(&kept);
    s.settle();
    s.field.clear();
    let least = (0..p.chains.len())
        .map(|c| {
            let mut task = Task {
                p,
                grid: &s.grid,
                field: &mut s.field,
                search: &mut s.search,
                aim: Aim::Alone,
                taken: Vec::new(),
                berths: None,
                variant: 0,
            };
            task.alone(c, &s.laid)
        })
        .collect();
    Answer { laid: s.laid, least, ..answer }
}

pub(super) fn bare(chain: &super::Chain) -> Laid {
    let at = |e: &End| match e {
        End::Port { at, .. } => Some(*at),
        _ => None,
    };
    let points = chain.ends.iter().filter_map(at).collect();
    Laid { points, beads: vec![None; chain.beads.len()], found: false, cost: f64::INFINITY }
}

fn stubs(chain: &super::Chain) -> Vec<Piece> {
    let mut out = Vec::new();
    for end in &chain.ends {
        if let End::Port { at, out: way, straight } = end {
            let tip = way.step(*at, *straight);
            let mut by = [chain.radius; 3];
            by[way.axis()] = 0.0;
            let block = Block::around(*at, tip).grown_each(by);
            out.push(Piece { block, axis: Some(way.axis()), ends: (*at, tip) });
        }
    }
    out
}

/// Nets in the order in which they are laid, each with its chains, those branched from first.
fn nets(p: &Problem) -> Vec<Vec<usize>> {
    let mut ids: Vec<usize> = p.chains.iter().map(|c| c.net).collect();
    ids.sort_unstable();
    ids.dedup();
    let mut nets: Vec<Vec<usize>> = Vec::new();
    for id in ids {
        let own: Vec<usize> = (0..p.chains.len()).filter(|c| p.chains[*c].net == id).collect();
        let mut done: Vec<usize> = Vec::new();
        while done.len() < own.len() {
            let ready = own.iter().copied().find(|c| {
                !done.contains(c)
                    && p.chains[*c].ends.iter().all(|e| match e {
                        End::Branch { chain, .. } => done.contains(chain),
                        _ => true,
                    })
            });
            match ready {
                Some(c) => done.push(c),
                // Chains that wait for each other: nothing can be laid first.
                None => done
                    .extend(own.iter().copied().filter(|c| !done.contains(c)).collect::<Vec<_>>()),
            }
        }
        // Small bodies on stubs last.
        let leaf = |c: &usize| p.chains[*c].ends.iter().any(|e| matches!(e, End::Leaf { .. }));
        done.sort_by_key(leaf);
        nets.push(done);
    }
    nets.sort_by_key(|n| std::cmp::Reverse(n.iter().map(|c| p.chains[*c].rank).max().unwrap_or(0)));
    nets
}

fn grid(p: &Problem) -> Grid {
    let mut exact: [Vec<f64>; 3] = Default::default();
    let mut preferred = p.lines.clone();
    for chain in &p.chains {
        for end in &chain.ends {
            if let End::Port { at, out, straight } = end {
                let tip = out.step(*at, *straight);
                for axis in 0..3 {
                    exact[axis].push(at[axis]);
                }
                exact[out.axis()].push(tip[out.axis()]);
            }
        }
    }
    for solid in &p.boxes {
        for (axis, own) in preferred.iter_mut().enumerate() {
            for by in [20.0, 32.0] {
                own.push((solid.lo[axis] - by).floor());
                own.push((solid.hi[axis] + by).ceil());
            }
        }
    }
    // Between a body and a wall near it a pipe goes by in the middle.
    for solid in &p.boxes {
        for (axis, own) in exact.iter_mut().enumerate() {
            let gaps = [(p.room.lo[axis], solid.lo[axis]), (solid.hi[axis], p.room.hi[axis])];
            for (a, b) in gaps {
                if (NARROW.0..NARROW.1).contains(&(b - a)) {
                    own.push(((a + b) / 2.0).round());
                }
            }
        }
    }
    let pitch = 50.0;
    for axis in 0..3 {
        let own = exact[axis].clone();
        for by in [pitch, -pitch] {
            preferred[axis].extend(own.iter().map(|c| c + by));
        }
    }
    Grid::new(&p.room, exact, preferred, 20.0)
}

impl<'a> State<'a> {
    pub(super) fn new(p: &'a Problem, aim: Aim) -> State<'a> {
        let grid = grid(p);
        let field = Field::new(&grid, p, aim);
        State {
            p,
            field,
            grid,
            tolls: [false, true].map(|looks| p.tolls(looks)),
            search: Search::default(),
            laid: p.chains.iter().map(bare).collect(),
            pieces: vec![Vec::new(); p.chains.len()],
            stubs: p.chains.iter().map(stubs).collect(),
            nets: nets(p),
            aim,
            berths: None,
            before: vec![None; p.chains.len()],
        }
    }

    pub(super) fn take(&mut self, laid: Vec<Laid>) {
        self.laid = laid;
        for c in 0..self.p.chains.len() {
            self.pieces[c] = pieces(self.p, &self.p.chains[c], &self.laid[c]);
        }
    }

    /// Marks what everybody else occupies, for chain `c`; `skip` are laid aside for later.
    fn mark(&mut self, c: usize, pressure: &dyn Fn(usize) -> f32, skip: &[usize]) {
        self.field.clear();
        for o in 0..self.p.chains.len() {
            if o == c || skip.contains(&o) {
                continue;
            }
            self.mark_one(c, o, pressure(o));
        }
    }

    fn mark_one(&mut self, c: usize, o: usize, pressure: f32) {
        let chain = &self.p.chains[c];
        mark_pieces(&mut self.field, &self.grid, chain, &self.pieces[o], pressure);
        if i32::from(self.p.chains[o].warmth) * i32::from(chain.warmth) < 0 {
            for piece in &self.pieces[o] {
                if let Some(axis) = piece.axis {
                    let grown = piece.block.grown(chain.radius + self.p.apart);
                    self.field.mark(&self.grid, &grown, axis, 0.0, WARMED);
                }
            }
        }
        let front = self.p.chains[o].net != chain.net;
        for piece in &self.pieces[o] {
            if front {
                let r = self.p.chains[o].radius + chain.radius;
                self.field.mark_front(&self.grid, piece.ends.0, piece.ends.1, r);
            }
        }
        // What can never move is simply in the way; but two that start side by side, nearer than
        // they should, do not shut each other in.
        for stub in &self.stubs[o] {
            let apart = self.stubs[c]
                .iter()
                .map(|own| {
                    let line = Block::around(own.ends.0, own.ends.1);
                    (0..3)
                        .map(|i| (stub.block.lo[i] - line.hi[i]).max(line.lo[i] - stub.block.hi[i]))
                        .fold(0.0, f64::max)
                })
                .fold(f64::INFINITY, f64::min);
            let grown = stub.block.grown((chain.radius + 3.0).min(apart - 0.1).max(0.0));
            for axis in 0..3 {
                self.field.mark(&self.grid, &grown, axis, HARD, 0.0);
            }
        }
    }

    /// `pressure`: what it costs to touch each other chain.
    pub(super) fn lay_net(
        &mut self,
        n: usize,
        pressure: &dyn Fn(usize) -> f32,
        variant: usize,
    ) -> bool {
        let net = self.nets[n].clone();
        for &c in &net {
            self.laid[c] = bare(&self.p.chains[c]);
            self.pieces[c].clear();
        }
        let mut all = true;
        for &c in &net {
            let parents: Vec<usize> = self.p.chains[c]
                .ends
                .iter()
                .filter_map(|e| match e {
                    End::Branch { chain, .. } => Some(*chain),
                    _ => None,
                })
                .collect();
            self.mark(c, pressure, &parents);
            let leaf = self.p.chains[c].ends.iter().any(|e| matches!(e, End::Leaf { .. }));
            let taken: Vec<Block> = if leaf {
                let others = (0..self.p.chains.len()).filter(|o| *o != c);
                others.flat_map(|o| self.pieces[o].iter().map(|q| q.block)).collect()
            } else {
                Vec::new()
            };
            let (p, grid) = (self.p, &self.grid);
            let parent_pieces: Vec<Piece> =
                parents.iter().flat_map(|o| self.pieces[*o].clone()).collect();
            let chain = &p.chains[c];
            let mut task = Task {
                p,
                grid,
                field: &mut self.field,
                search: &mut self.search,
                aim: self.aim,
                taken,
                berths: self.berths.as_ref(),
                variant,
            };
            let found = task.lay(c, &mut self.laid, |field| {
                mark_pieces(field, grid, chain, &parent_pieces, pressure(c).max(2.0));
            });
            all &= found;
            self.pieces[c] = pieces(p, chain, &self.laid[c]);
        }
        for &c in &net {
            let taken: Vec<Block> = (0..self.laid.len())
                .filter(|o| *o != c)
                .flat_map(|o| self.pieces[o].iter().map(|q| q.block))
                .collect();
            seats::seat_rest(self.p, &self.p.chains[c], &mut self.laid[c], &taken);
            self.pieces[c] = pieces(self.p, &self.p.chains[c], &self.laid[c]);
        }
        all
    }

    fn remember(&mut self, clashes: &[Option<usize>]) {
        for a in 0..clashes.len() {
            for b in a + 1..clashes.len() {
                if (clashes[a].is_some() && clashes[b].is_some())
                    && let Some(at) = self.touch(a, b)
                {
                    let r = self.p.chains[a].radius.max(self.p.chains[b].radius);
                    self.field.remember(&self.grid, &at.grown(r), 40.0);
                }
            }
        }
    }

    /// What a chain as laid costs, mm.
    pub(super) fn price(&self, c: usize) -> f64 {
        let chain = &self.p.chains[c];
        let tolls = &self.tolls[usize::from(chain.for_looks())];
        cost::cost(self.p, tolls, chain, &self.laid[c])
            + leaf::level_cost(self.p, c, &self.laid)
            + cost::joined(self.p, c, &self.laid)
    }

    /// Lays a net again among the others, which stand firm; keeps the better.
    pub(super) fn improve(&mut self, n: usize) -> bool {
        let net = self.nets[n].clone();
        let before: Vec<Laid> = net.iter().map(|c| self.laid[*c].clone()).collect();
        let bad_before = self.wrong(n);
        let cost_before: f64 = net.iter().map(|c| self.price(*c)).sum();
        let history = std::mem::take(&mut self.field.history);
        self.field.history = [0; 3].map(|_| vec![0.0; self.grid.nodes()]);
        self.lay_net(n, &|_| HARD, 0);
        self.field.history = history;
        let bad_after = self.wrong(n);
        let cost_after: f64 = net.iter().map(|c| self.price(*c)).sum();
        let better =
            bad_after < bad_before || (bad_after == bad_before && cost_after < cost_before - 1e-6);
        if !better {
            for (c, old) in net.iter().zip(before) {
                self.laid[*c] = old;
                self.pieces[*c] = pieces(self.p, &self.p.chains[*c], &self.laid[*c]);
            }
        }
        better
    }
}

fn mark_pieces(
    field: &mut Field,
    grid: &Grid,
    chain: &super::Chain,
    pieces: &[Piece],
    pressure: f32,
) {
    for piece in pieces {
        for axis in 0..3 {
            let gap = if piece.axis == Some(axis) { chain.gap[0] } else { chain.gap[1] };
            let grown = piece.block.grown(chain.radius + gap);
            if pressure >= HARD {
                field.mark(grid, &grown, axis, HARD, 0.0);
            } else {
                field.mark(grid, &grown, axis, 60.0 * pressure, 2.5 * pressure);
            }
        }
    }
}
