//! Placing in the trade's order. In: the system, its chains and ends. Out: the room with every
//! body in it, the tails, and the heights chain: cylinder first, what is screwed into it, the
//! tundish under the relief, the group above the tundish, the valves in a row, vessels on
//! brackets, pumps and the rest near what they serve, electrics last and dry.

use crate::catalogue::Mount;
use crate::layout::space::{self, Block, V};
use crate::model::{PartIx, Place, Service, Side, System, UnitIx};

use super::body::{self, Body, Stood};
use super::chains::{Role, Strung, Tip};
use super::ends::Specs;
use super::hang::Prefs;
use super::heights;
use super::lessons::{Lessons, Thing};
use super::plan::{Fault, Owner, Trouble};
use super::room::{Keep, Room, Stub, Why};
use super::tails::{self, Tails};

pub struct Placed {
    pub room: Room,
    pub tails: Tails,
    pub faults: Vec<Fault>,
}

pub struct Trade<'a> {
    pub sys: &'a System,
    pub strung: &'a Strung,
    pub specs: &'a Specs,
    pub room: Room,
    pub tails: Tails,
    pub heights: Option<heights::Chain>,
    pub faults: Vec<Fault>,
    pub lessons: &'a Lessons,
}

/// Which of the tails without a place are given one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Which {
    /// Those with fittings right at the wall or floor, towards what is placed already.
    Fitted,
    /// Below the valves that are hung already, and their returns: what comes later must leave
    /// room for these.
    Zones,
    All,
}

/// One way of going about it.
#[derive(Clone, Copy, Debug)]
pub struct Way {
    /// The zones' tails before the rest of the bodies, or after.
    pub tails_early: bool,
    /// Between bodies, mm.
    pub gap: f64,
    /// The standing bodies from the other end of the room.
    pub flipped: bool,
    /// Pipes as near side by side as a joint on one of them allows.
    pub snug: bool,
}

const FIRST: Way = Way { tails_early: true, gap: 26.0, flipped: false, snug: false };
const LATE: Way = Way { tails_early: false, ..FIRST };
const SNUG: Way = Way { snug: true, ..FIRST };
const LATE_SNUG: Way = Way { snug: true, ..LATE };

/// Tried in this order until one leaves nothing open.
pub const WAYS: [Way; 8] = [
    FIRST,
    LATE,
    SNUG,
    LATE_SNUG,
    Way { flipped: true, ..SNUG },
    Way { gap: 50.0, ..SNUG },
    Way { flipped: true, ..LATE_SNUG },
    Way { gap: 50.0, ..LATE_SNUG },
];

/// Places everything.
pub fn place(
    sys: &System,
    strung: &Strung,
    specs: &Specs,
    way: Way,
    lessons: &Lessons,
) -> Option<Placed> {
    let cupboard = sys.site.cupboard.as_ref()?;
    let r = cupboard.room();
    let ok = |v: f64| if v.is_finite() { v.clamp(100.0, 100_000.0) } else { 1000.0 };
    let size = Block::new([0.0; 3], [ok(r.w), ok(r.d), ok(r.h)]);
    // A hole in the row of tails is as far from the wall as its drill needs.
    let off = |c: usize| standoff(specs, c).max(specs.od[c] / 2.0 + tails::SLEEVE + tails::CHUCK);
    let plane = (0..specs.od.len()).map(off).fold(0.0, f64::max).clamp(50.0, 75.0).ceil();
    let room = Room { size, plane, gap: way.gap, stood: Vec::new(), keeps: Vec::new() };
    let mut t = Trade {
        sys,
        strung,
        specs,
        room,
        tails: Tails::new(),
        heights: None,
        faults: Vec::new(),
        lessons,
    };
    t.built_in();
    t.tails = tails::fixed(sys, strung, &t.room, &mut t.faults);
    t.reserve_tails();
    t.floor_bodies(way.flipped);
    t.stated();
    t.discharge();
    t.groups();
    t.leave_tails(Which::Fitted);
    t.bank();
    if way.tails_early {
        t.leave_tails(Which::Zones);
    }
    t.rest();
    t.electrics();
    t.leave_tails(Which::All);
    Some(Placed { room: t.room, tails: t.tails, faults: t.faults })
}

/// Centre line to wall: bare tube on a clip 15 mm clear, lagging 10 mm clear (common practice).
pub fn standoff(specs: &Specs, chain: usize) -> f64 {
    specs.od[chain] / 2.0 + (specs.lagging[chain] + 10.0).max(15.0)
}

impl Trade<'_> {
    pub(super) fn built_in(&mut self) {
        let Some(c) = self.sys.site.cupboard.as_ref() else { return };
        for o in &c.obstacles {
            let at = Block::new(
                [o.at.x, o.at.y, o.at.z],
                [o.at.x + o.at.w, o.at.y + o.at.d, o.at.z + o.at.h],
            );
            let text = o.name.clone();
            self.room.keeps.push(Keep { block: at, why: Why::Obstacle, owner: None, text });
        }
        if let Some(d) = c.door.as_ref().filter(|d| d.inward) {
            let (w, h) = (d.clear_width.value, d.clear_height.value);
            let x0 = d.from_left.value;
            let right = d.hinge.value == Side::Right;
            // The quarter circle of the sweep in strips.
            let n = 8;
            for i in 0..n {
                let a = w * f64::from(i) / f64::from(n);
                let b = w * f64::from(i + 1) / f64::from(n);
                let deep = (w * w - a * a).max(0.0).sqrt();
                let (lo, hi) = if right { (x0 + w - b, x0 + w - a) } else { (x0 + a, x0 + b) };
                let y = self.room.size.hi[1];
                let block = Block::new([lo, y - deep, 0.0], [hi, y, h]);
                let text = "door swing".to_owned();
                self.room.keeps.push(Keep { block, why: Why::Door, owner: None, text });
            }
        }
    }

    pub(super) fn stub(&self, owner: Owner, port: usize) -> Option<Stub> {
        self.specs.stub(Tip::Port(owner, port))
    }

    pub fn located(&self, tip: Tip) -> Option<V> {
        let straight = self.specs.stub(tip).map_or(60.0, |s| s.straight);
        match tip {
            Tip::Port(owner, port) => {
                let p = self.room.find(owner)?.port(port)?.clone();
                Some(p.out.step(p.at, straight))
            }
            Tip::Tail(pipe) => {
                let t = self.tails.get(&pipe)?;
                Some(t.out.step(t.at, straight))
            }
            _ => None,
        }
    }

    pub fn target(&self, tip: Tip) -> Option<(V, f64)> {
        let (c, e) = *self.specs.by_tip.get(&tip)?;
        let chain = &self.strung.chains[c];
        // The first branch on the way is nearer than the far end.
        let mut tees: Vec<PartIx> =
            chain.between.iter().copied().filter(|b| self.strung.roles[b.0] == Role::Tee).collect();
        if e == 1 {
            tees.reverse();
        }
        for tee in tees {
            let branch = self.specs.by_tip.get(&Tip::Branch(tee));
            let far = branch.map(|(b, end)| self.strung.chains[*b].tips[1 - end]);
            if let Some(at) = far.and_then(|t| self.located(t)) {
                return Some((at, 0.8));
            }
        }
        if let Some(at) = self.located(chain.tips[1 - e]) {
            return Some((at, 1.0));
        }
        // From a tee: between what the tee has on either side.
        if let Tip::Branch(tee) = chain.tips[1 - e]
            && let Some(host) = self.strung.chains.iter().find(|h| h.between.contains(&tee))
            && let Some(i) = host.between.iter().position(|b| *b == tee)
        {
            let of = |b: &PartIx| {
                let (c, e) = *self.specs.by_tip.get(&Tip::Branch(*b))?;
                self.located(self.strung.chains[c].tips[1 - e])
            };
            let before =
                host.between[..i].iter().rev().find_map(of).or_else(|| self.located(host.tips[0]));
            let after =
                host.between[i + 1..].iter().find_map(of).or_else(|| self.located(host.tips[1]));
            match (before, after) {
                (Some(a), Some(b)) => return Some(([0, 1, 2].map(|i| (a[i] + b[i]) / 2.0), 0.8)),
                (Some(a), None) | (None, Some(a)) => return Some((a, 0.7)),
                (None, None) => {}
            }
        }
        // Somewhere along its net.
        let mut sum = [0.0; 3];
        let mut n = 0.0;
        for other in self.strung.chains.iter().filter(|o| o.net == chain.net) {
            for t in other.tips {
                if t != tip
                    && let Some(at) = self.located(t)
                {
                    for i in 0..3 {
                        sum[i] += at[i];
                    }
                    n += 1.0;
                }
            }
        }
        (n > 0.0).then(|| (sum.map(|s| s / n), 0.45))
    }

    pub(super) fn reserve_tails(&mut self) {
        for (pipe, t) in &self.tails {
            let straight = tails::straight(self.specs, &self.room, *pipe, t.side);
            let radius = self.specs.stub(Tip::Tail(*pipe)).map_or(15.0, |s| s.radius);
            let block = tails::stub_block(t, straight + radius, radius + space::CLEAR);
            self.room.keeps.push(Keep { block, why: Why::Stub, owner: None, text: String::new() });
        }
    }

    pub(super) fn body_of(&self, part: PartIx, turn: f64, mirrored: bool) -> Body {
        body::of_part(self.sys, part, turn, mirrored)
    }

    pub(super) fn place_of(&self, owner: Owner) -> &Place {
        match owner {
            Owner::Part(p) => &self.sys.part(p).place,
            Owner::Unit(u) => &self.sys.unit(u).place,
        }
    }

    pub(super) fn fault(&mut self, trouble: Trouble, what: String, tag: &str, at: Block) {
        let at = Some(super::to_box(&at));
        self.faults.push(Fault { trouble, what, parts: vec![tag.to_owned()], pipe: None, at });
    }

    pub(super) fn put(&mut self, s: Stood) {
        let owner = s.body.owner;
        let specs = self.specs;
        self.room.put(s, &|port| specs.stub(Tip::Port(owner, port)));
    }

    pub(super) fn groups(&mut self) {
        // The relief's own outlet, its pipe, the tee into the first pipe, the tundish.
        let above = self.heights.map_or(300.0, |h| h.tundish_in + 200.0);
        let mut owners: Vec<Owner> = (0..self.sys.units.len())
            .map(UnitIx)
            .filter(|u| {
                let unit = self.sys.unit(*u);
                unit.place.elsewhere.is_none() && unit.kind.mount != Mount::Floor
            })
            .map(Owner::Unit)
            .collect();
        owners.extend(
            self.sys
                .of_kind("expansion relief valve")
                .filter(|(ix, _)| self.strung.roles[ix.0] == Role::Body)
                .map(|(ix, _)| Owner::Part(ix)),
        );
        for o in owners {
            if self.room.find(o).is_some() {
                continue;
            }
            let half = match o {
                Owner::Part(_) => 20.0,
                Owner::Unit(u) => self.unit_body(u).size[2] / 2.0,
            };
            let above = above + half;
            let prefs = Prefs {
                rolls: &[0],
                z: (above, above + 300.0, 1.0),
                z_hard: (above, self.room.size.hi[2]),
                weight: 0.8,
                ..Prefs::default()
            };
            self.hang(o, prefs);
        }
    }

    pub(super) fn tail(&mut self, pipe: crate::model::PipeIx, beside: Option<V>) {
        let placer = tails::Placer {
            sys: self.sys,
            strung: self.strung,
            specs: self.specs,
            exit: self
                .heights
                .map_or(150.0, |h| (h.run - h.level * heights::FALL - 20.0).max(60.0)),
            stood: self.lessons.stood(Thing::Tail(pipe)),
        };
        let (c, _) = self.specs.by_tip[&Tip::Tail(pipe)];
        let target = self.target(Tip::Tail(pipe)).filter(|t| beside.is_none() || t.1 >= 1.0);
        let widest = (0..self.specs.od.len()).map(|c| self.specs.outer(c)).fold(11.0, f64::max);
        let row = (2.0 * widest + 25.0).ceil();
        let _ = c;
        let returns = matches!(
            self.sys.pipe(pipe).service,
            Service::HeatingReturn | Service::FloorReturn | Service::SolarReturn
        );
        let second = if returns { row } else { 0.0 };
        let t = placer.place(&self.room, &self.tails, pipe, target, beside, (row, second), &|at| {
            self.lessons.price(Thing::Tail(pipe), at)
        });
        let straight = tails::straight(self.specs, &self.room, pipe, t.side);
        let radius = self.specs.outer(c);
        let block = tails::stub_block(&t, straight + radius, radius);
        self.room.keeps.push(Keep { block, why: Why::Stub, owner: None, text: String::new() });
        self.tails.insert(pipe, t);
    }

    pub(super) fn leave_tails(&mut self, which: Which) {
        let mut list: Vec<crate::model::PipeIx> = self
            .strung
            .chains
            .iter()
            .flat_map(|c| c.tips)
            .filter_map(|t| match t {
                Tip::Tail(p) if !self.tails.contains_key(&p) => Some(p),
                _ => None,
            })
            .collect();
        if which == Which::Fitted {
            list.retain(|p| {
                let tip = Tip::Tail(*p);
                let (c, e) = self.specs.by_tip[&tip];
                !self.specs.ends[c][e].beads.is_empty()
                    && self.target(tip).is_some_and(|t| t.1 >= 0.7)
            });
        }
        if which == Which::Zones {
            let fed: Vec<usize> = list
                .iter()
                .filter(|p| self.target(Tip::Tail(**p)).is_some_and(|t| t.1 >= 1.0))
                .filter(|p| {
                    let s = self.sys.pipe(**p).service;
                    matches!(s, Service::HeatingFlow | Service::FloorFlow)
                })
                .map(|p| tails::serves(self.sys, self.strung, *p))
                .collect();
            list.retain(|p| {
                let s = self.sys.pipe(*p).service;
                let heating = s.water() == crate::model::Water::Primary;
                heating && fed.contains(&tails::serves(self.sys, self.strung, *p))
            });
        }
        list.sort_by_key(|p| (tails::order(self.sys.pipe(*p).service), *p));
        for pipe in list {
            let serves = tails::serves(self.sys, self.strung, pipe);
            let service = self.sys.pipe(pipe).service;
            let returns = matches!(
                service,
                Service::HeatingReturn
                    | Service::FloorReturn
                    | Service::SolarReturn
                    | Service::HotReturn
            );
            let pair = self
                .tails
                .iter()
                .find(|(q, _)| returns && tails::serves(self.sys, self.strung, **q) == serves)
                .map(|(_, t)| t.at);
            self.tail(pipe, pair);
        }
    }
}
