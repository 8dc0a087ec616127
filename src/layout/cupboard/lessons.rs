//! What one try teaches the next. In: a cupboard in which some line found no way, or one of an
//! earlier issue. Out: places that what it joins had better not take again, or had better keep; and
//! lines that need more room between their ends.

use std::collections::BTreeMap;

use crate::catalogue::Mount;
use crate::layout::space::{Answer, Laid, V, manhattan};
use crate::model::{PartIx, PipeIx, System, UnitIx};

use super::chains::{Strung, Tip};
use super::ends::Specs;
use super::place::Placed;
use super::plan::{CupboardPlan, Owner, Trouble};

/// Price of standing where a line found no way before, mm, and how far that reaches.
const PRICE: f64 = 700.0;
const REACH: f64 = 220.0;
/// Price of each mm from where a thing stood on an earlier issue, and how far that reaches.
const PULL: f64 = 4.0;
const FAR: f64 = 150.0;
/// More room between the ends of a line that had too little straight for its fittings, mm.
const MORE: f64 = 150.0;

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Thing {
    Body(Owner),
    /// A standing body, where it left another no room.
    Foot(Owner),
    Tail(PipeIx),
}

#[derive(Clone, Debug, Default)]
pub struct Lessons {
    shunned: BTreeMap<Thing, Vec<V>>,
    stood: BTreeMap<Thing, V>,
}

impl Lessons {
    /// What it costs a thing to be there.
    pub fn price(&self, thing: Thing, at: V) -> f64 {
        let price = |v: &V| PRICE * (1.0 - manhattan(*v, at) / REACH).max(0.0);
        let pull = |v: &V| PULL * manhattan(*v, at).min(FAR);
        self.shunned.get(&thing).map_or(0.0, |list| list.iter().map(price).sum())
            + self.stood.get(&thing).map_or(0.0, pull)
    }

    /// Where a thing stood on an earlier issue.
    pub fn stood(&self, thing: Thing) -> Option<V> {
        self.stood.get(&thing).copied()
    }

    /// Where things stood on an earlier issue.
    pub fn of(sys: &System, strung: &Strung, earlier: &CupboardPlan) -> Lessons {
        let mut out = Lessons::default();
        let tag = |owner: Owner| match owner {
            Owner::Part(p) => &sys.part(p).tag,
            Owner::Unit(u) => &sys.unit(u).tag,
        };
        let owners = sys.part_ixs().map(Owner::Part);
        for owner in owners.chain((0..sys.units.len()).map(|u| Owner::Unit(UnitIx(u)))) {
            if let Some(s) = earlier.solids.iter().find(|s| s.tag == *tag(owner)) {
                let b = s.at;
                let at = [b.x + b.w / 2.0, b.y + b.d / 2.0, b.z + b.h / 2.0];
                out.stood.insert(Thing::Body(owner), at);
            }
        }
        for chain in &strung.chains {
            let Some(Laid { points, .. }) = earlier.line(&chain.joins(sys)) else { continue };
            for (tip, at) in chain.tips.iter().zip([points.first(), points.last()]) {
                if let (Tip::Tail(pipe), Some(at)) = (tip, at) {
                    out.stood.insert(Thing::Tail(*pipe), *at);
                }
            }
        }
        out
    }

    /// Takes in how a try came out.
    pub fn learn(
        &mut self,
        sys: &System,
        strung: &Strung,
        specs: &mut Specs,
        placed: &Placed,
        answer: &Answer,
    ) {
        if placed.faults.iter().any(|f| f.trouble == Trouble::Place) {
            let standing = placed.room.stood.iter().filter(|s| s.body.mount == Mount::Floor);
            for s in standing {
                self.shunned.entry(Thing::Foot(s.body.owner)).or_default().push(s.at.centre());
            }
        }
        let host = |tee: PartIx| strung.chains.iter().position(|c| c.between.contains(&tee));
        for (c, chain) in strung.chains.iter().enumerate().filter(|(c, _)| !answer.laid[*c].found) {
            let mut parents = chain.tips.iter().filter_map(|t| match t {
                Tip::Branch(tee) => host(*tee),
                _ => None,
            });
            if parents.clone().any(|p| !answer.laid[p].found) {
                continue;
            }
            // A stub that finds no room wants more of the line it leaves.
            let line = if chain.tips.iter().any(|t| matches!(t, Tip::Leaf(_))) {
                parents.next().unwrap_or(c)
            } else {
                c
            };
            specs.extra[line] += MORE;
            for tip in strung.chains[line].tips {
                match tip {
                    Tip::Port(owner, _) => self.shun(sys, placed, owner),
                    Tip::Tail(pipe) => {
                        if let Some(t) = placed.tails.get(&pipe) {
                            self.shunned.entry(Thing::Tail(pipe)).or_default().push(t.at);
                        }
                    }
                    _ => {}
                }
            }
        }
    }

    fn shun(&mut self, sys: &System, placed: &Placed, owner: Owner) {
        let mount = match owner {
            Owner::Part(p) => sys.part(p).kind.mount,
            Owner::Unit(u) => sys.unit(u).kind.mount,
        };
        if let Some(s) = placed.room.find(owner).filter(|_| mount != Mount::On) {
            self.shunned.entry(Thing::Body(owner)).or_default().push(s.at.centre());
        }
    }
}
