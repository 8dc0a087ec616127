//! An end that may be elsewhere. In: lines as laid, one end, and where else on its face it may be.
//! Out: the same with that end where its line comes out shorter and with fewer bends.

use super::lay::{Aim, Piece};
use super::negotiate::State;
use super::shape::{Block, V, manhattan};
use super::{Answer, End, Laid, Problem};

/// What a line must come out cheaper for its end to be moved, mm.
const WORTH: f64 = 150.0;
/// Price of each mm that an end is moved: what it joins beyond is somewhere.
const AWAY: f64 = 0.6;

/// Where else an end of a chain may be.
pub struct Berths {
    pub end: (usize, usize),
    pub at: Vec<V>,
}

/// What it costs an end to be there rather than where it was.
pub fn off(was: V, at: V) -> f64 {
    AWAY * manhattan(was, at)
}

/// Lays the net of a chain once more among the others, its end wherever it is allowed to be; all
/// lines as they are then, or `None` where that is no better. `needs`: what stands round the end in
/// such a place; `None` where it may not be. What stands round it now must not be in the task.
pub fn moved(
    p: &Problem,
    answer: &Answer,
    (c, e): (usize, usize),
    needs: &dyn Fn(V) -> Option<Vec<Block>>,
) -> Option<Vec<Laid>> {
    let End::Port { at, .. } = p.chains[c].ends[e] else { return None };
    let mut s = State::new(p, Aim::Short);
    s.take(answer.laid.clone());
    let n = s.nets.iter().position(|n| n.contains(&c))?;
    let places = s.places((c, e), n, needs).into_iter().chain([at]);
    s.berths = Some(Berths { end: (c, e), at: places.collect() });
    // Nobody else need keep clear of where it was.
    s.stubs[c].retain(|piece| piece.ends.0 != at);
    let price = |s: &State| s.nets[n].iter().map(|c| s.price(*c)).sum::<f64>();
    let lost = |s: &State| s.nets[n].iter().filter(|c| !s.laid[**c].found).count();
    let (open, before) = (lost(&s), price(&s));
    let end = |laid: &Laid| if e == 0 { laid.points.first() } else { laid.points.last() }.copied();
    s.improve(n);
    let to = end(&s.laid[c]).filter(|to| *to != at)?;
    // A line that had none is worth any way.
    if lost(&s) >= open && price(&s) + off(at, to) > before - WORTH {
        return None;
    }
    // Nor may its own net run through what stands there.
    let own = |q: &Piece| q.ends.0 == to || q.ends.1 == to;
    let round = needs(to)?;
    let mut others = s.nets[n].iter().flat_map(|c| &s.pieces[*c]).filter(|q| !own(q));
    let struck = others.any(|q| round.iter().any(|b| b.overlaps(&q.block)));
    (!struck).then_some(s.laid)
}

impl State<'_> {
    /// Points of the grid on the face of an end from which its first straight is clear of all but
    /// its own net.
    fn places(
        &self,
        (c, e): (usize, usize),
        n: usize,
        needs: &dyn Fn(V) -> Option<Vec<Block>>,
    ) -> Vec<V> {
        let chain = &self.p.chains[c];
        let End::Port { at, out, straight } = chain.ends[e] else { return Vec::new() };
        let (a, b) = [(1, 2), (0, 2), (0, 1)][out.axis()];
        let mut by = [chain.radius; 3];
        by[out.axis()] = 0.0;
        let others = (0..self.pieces.len()).filter(|o| !self.nets[n].contains(o));
        let others: Vec<&Piece> = others.flat_map(|o| &self.pieces[o]).collect();
        let clear = |v: &V| {
            let stub = Block::around(*v, out.step(*v, straight)).grown_each(by);
            let gap = |q: &Piece| chain.gap[usize::from(q.axis != Some(out.axis()))];
            !self.p.solids.iter().any(|s| s.overlaps(&stub))
                && !others.iter().any(|q| q.block.overlaps(&stub.grown(gap(q))))
                && needs(*v).is_some_and(|round| {
                    let solids = self.p.solids.iter();
                    let mut all = solids.chain(others.iter().map(|q| &q.block));
                    !all.any(|o| round.iter().any(|b| b.overlaps(o)))
                })
        };
        let mut out = Vec::new();
        for u in &self.grid.lines[a] {
            for w in &self.grid.lines[b] {
                let mut v = at;
                (v[a], v[b]) = (*u, *w);
                if clear(&v) {
                    out.push(v);
                }
            }
        }
        out
    }
}
