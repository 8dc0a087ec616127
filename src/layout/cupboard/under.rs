//! Tails that nobody stated, under the pipes that come down to them. In: a cupboard with its lines
//! laid. Out: the same with such a tail where its pipe comes down, so that it does not turn twice
//! more just above the floor; or where a pipe that found no way finds one.

use crate::layout::space::{self, Answer, Block, End, Laid, Problem, V, length};
use crate::model::{Cupboard, PipeIx, Side, System};

use super::chains::{Strung, Tip};
use super::ends::Specs;
use super::judge;
use super::place::Placed;
use super::room::{Keep, Why};
use super::tails::{self, CHUCK, SLEEVE, TailAt};

/// Where so much follows straight on what a tail needs itself, its pipe comes down there, mm.
const COMES_DOWN: f64 = 300.0;

/// Moves each tail that the description leaves open to where its line comes out shorter or out of
/// the way, if nothing else comes out worse. Lines that lay on an earlier issue stay.
pub fn shift(
    sys: &System,
    strung: &Strung,
    specs: &Specs,
    placed: &mut Placed,
    problem: &mut Problem,
    answer: &mut Answer,
    before: &[Option<Laid>],
) {
    for end in ends(strung) {
        let Some((own, tail)) = Open::at(sys, strung, specs, placed, end) else { continue };
        let stood = before.get(end.0).is_some_and(Option::is_some);
        let soon = own.straight + COMES_DOWN;
        let ill = turns(answer, end, soon) || space::is_in_the_way(problem, &answer.laid[end.0]);
        if stood || !ill {
            continue;
        }
        own.shift(placed, problem, answer, tail);
    }
}

/// Moves such a tail of a line that found no way to where it finds one among the others.
pub fn rescue(
    sys: &System,
    strung: &Strung,
    specs: &Specs,
    placed: &mut Placed,
    problem: &mut Problem,
    answer: &mut Answer,
) {
    for end in ends(strung).filter(|(c, _)| !answer.laid[*c].found).collect::<Vec<_>>() {
        if let Some((own, tail)) = Open::at(sys, strung, specs, placed, end) {
            own.shift(placed, problem, answer, tail);
        }
    }
}

fn ends(strung: &Strung) -> impl Iterator<Item = (usize, usize)> {
    (0..strung.chains.len()).flat_map(|c| [(c, 0), (c, 1)])
}

/// A tail whose place the description leaves open, at least in part.
struct Open<'a> {
    sys: &'a System,
    strung: &'a Strung,
    specs: &'a Specs,
    end: (usize, usize),
    pipe: PipeIx,
    given: [Option<f64>; 3],
    /// What its pipe runs straight from it, mm.
    straight: f64,
}

impl<'a> Open<'a> {
    /// The tail at an end, where it stands, if its place is open.
    fn at(
        sys: &'a System,
        strung: &'a Strung,
        specs: &'a Specs,
        placed: &Placed,
        end: (usize, usize),
    ) -> Option<(Open<'a>, TailAt)> {
        let Tip::Tail(pipe) = strung.chains[end.0].tips[end.1] else { return None };
        let tail = placed.tails.get(&pipe).copied()?;
        let straight = tails::straight(specs, &placed.room, pipe, tail.side);
        let given = tails::stated(sys, &placed.room.size, pipe);
        let open = given.iter().any(Option::is_none);
        open.then_some((Open { sys, strung, specs, end, pipe, given, straight }, tail))
    }

    /// Moves it to where its line lies better, if nothing else comes out worse.
    fn shift(&self, placed: &mut Placed, problem: &mut Problem, answer: &mut Answer, tail: TailAt) {
        let keep = self.take(placed, problem, &tail);
        let poor = |a: &Answer| {
            let wound = judge::winding(self.sys, self.strung, a);
            let lost = a.laid.iter().filter(|l| !l.found).count();
            (lost, judge::too_far(self.sys, self.strung, a), wound, judge::blemishes(problem, a))
        };
        let needs = |at: V| self.fits(placed, problem.near, &tail, at);
        let laid = space::moved(problem, answer, self.end, &needs);
        let now = laid.map(|laid| Answer { laid, ..answer.clone() });
        let mut at = tail.at;
        if let Some(now) = now.filter(|now| poor(now) <= poor(answer)) {
            at = along(&now, self.end)[0];
            *answer = now;
        }
        self.put(placed, problem, TailAt { at, ..tail }, keep);
    }

    /// Takes a tail and what it keeps for itself out of the room and the task.
    fn take(&self, placed: &mut Placed, problem: &mut Problem, tail: &TailAt) -> Option<Keep> {
        placed.tails.remove(&self.pipe);
        let round = self.round(placed, tail);
        problem.solids.retain(|b| !round.contains(b));
        problem.boxes.retain(|b| !round.contains(b));
        let stub = self.stub(tail);
        let own = |k: &Keep| k.why == Why::Stub && k.block == stub;
        let at = placed.room.keeps.iter().position(own);
        at.map(|i| placed.room.keeps.remove(i))
    }

    /// Puts it in again, where it now is.
    fn put(&self, placed: &mut Placed, p: &mut Problem, tail: TailAt, keep: Option<Keep>) {
        let round = self.round(placed, &tail);
        p.boxes.extend(&round);
        p.solids.extend(round);
        if let End::Port { at, .. } = &mut p.chains[self.end.0].ends[self.end.1] {
            *at = tail.at;
        }
        placed.room.keeps.extend(keep.map(|k| Keep { block: self.stub(&tail), ..k }));
        placed.tails.insert(self.pipe, tail);
    }

    fn stub(&self, tail: &TailAt) -> Block {
        let radius = self.specs.outer(self.end.0);
        tails::stub_block(tail, self.straight + radius, radius)
    }

    /// What sits right at it.
    fn round(&self, placed: &Placed, tail: &TailAt) -> Vec<Block> {
        let (room, chain) = (&placed.room.size, &self.strung.chains[self.end.0]);
        self.specs.end_blocks(self.sys, chain, self.end, room, tail.at, tail.out)
    }

    /// What would sit right at it there; `None` where it may not be: through a joist, away from the
    /// walls, at another height in a wall, too near to another tail.
    fn fits(&self, placed: &Placed, near: f64, tail: &TailAt, at: V) -> Option<Vec<Block>> {
        let moved = TailAt { at, ..*tail };
        let radius = self.specs.outer(self.end.0);
        let joists = self.sys.site.cupboard.as_ref().and_then(Cupboard::joists);
        let joists = joists.filter(|_| tail.side == Side::Floor);
        let cut = joists.and_then(|j| j.under([at[0], at[1]], radius + SLEEVE)).is_some();
        let room = &placed.room.size;
        let edge = |v: V| (v[1] - room.lo[1]).min(v[0] - room.lo[0]).min(room.hi[0] - v[0]);
        let beside = match tail.side {
            Side::Floor | Side::Ceiling => {
                let least = (radius + SLEEVE + CHUCK).min(edge(tail.at));
                (least..=near.max(edge(tail.at))).contains(&edge(at))
            }
            _ => (at[2] - tail.at[2]).abs() < 0.5,
        };
        let as_given = (0..3).all(|a| self.given[a].is_none_or(|v| (v - at[a]).abs() < 0.5));
        let there = (&placed.room, &placed.tails);
        let free = || tails::free(self.sys, self.strung, self.specs, there, &moved, self.pipe);
        (as_given && beside && !cut && free()).then(|| self.round(placed, &moved))
    }
}

/// The corners of a line from one of its ends.
fn along(answer: &Answer, (c, e): (usize, usize)) -> Vec<V> {
    let mut points = answer.laid[c].points.clone();
    if e == 1 {
        points.reverse();
    }
    points
}

/// A pipe that turns sooner than that after its tail, and again.
fn turns(answer: &Answer, end: (usize, usize), soon: f64) -> bool {
    let points = along(answer, end);
    answer.laid[end.0].found && points.len() > 3 && length(&points[..2]) < soon
}
