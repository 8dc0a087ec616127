//! What hangs on walls. In: a body and what the trade prefers for it. Out: the cheapest place that
//! is free, reachable and in line with its pipes; or a fault that says why there is none.

use crate::catalogue::{Closes, Kind, Mount};
use crate::layout::space::V;
use crate::model::{PartIx, Side, UnitIx};

use super::body::{Body, Stood};
use super::chains::{Role, Tip};
use super::lessons::Thing;
use super::place::Trade;
use super::plan::{Owner, Trouble};
use super::room::Wish;
use super::strapped;

impl Trade<'_> {
    pub(super) fn stated(&mut self) {
        let mut owners: Vec<Owner> = Vec::new();
        for ix in self.sys.part_ixs() {
            let p = self.sys.part(ix);
            let some = p.place.x.is_some() || p.place.y.is_some() || p.place.z.is_some();
            let hung = !matches!(p.kind.mount, Mount::Floor | Mount::On);
            if self.strung.roles[ix.0] == Role::Body && some && hung {
                owners.push(Owner::Part(ix));
            }
        }
        for u in (0..self.sys.units.len()).map(UnitIx) {
            let p = &self.sys.unit(u).place;
            let some = p.x.is_some() || p.y.is_some() || p.z.is_some();
            if some && p.elsewhere.is_none() && self.sys.unit(u).kind.mount != Mount::Floor {
                owners.push(Owner::Unit(u));
            }
        }
        for o in owners {
            self.hang(o, Prefs::default());
        }
    }

    pub(super) fn rest(&mut self) {
        loop {
            let waiting = self.sys.part_ixs().filter(|ix| {
                self.strung.roles[ix.0] == Role::Body
                    && !self.sys.part(*ix).kind.ports.is_empty()
                    && self.room.find(Owner::Part(*ix)).is_none()
            });
            // Next is what has most of its neighbours placed; of those, the bulkiest.
            let score = |ix: &PartIx| -> f64 {
                let k = &self.sys.part(*ix).kind;
                let known: f64 = (0..k.ports.len())
                    .filter_map(|p| self.target(Tip::Port(Owner::Part(*ix), p)))
                    .map(|t| if t.1 >= 0.7 { 1.0 } else { 0.3 })
                    .sum();
                known / k.ports.len() as f64 + (k.body.iter().product::<f64>() * 1e-9).min(0.2)
            };
            let next = waiting.max_by(|a, b| score(a).total_cmp(&score(b)).then(b.cmp(a)));
            let Some(ix) = next else { break };
            let key = self.sys.part(ix).kind.key.as_str();
            let mut prefs = Prefs { z: (500.0, 1700.0, 0.8), ..Prefs::default() };
            if key.ends_with("vessel") {
                prefs.rolls = &[0];
                prefs.z = (1600.0, 2300.0, 1.2);
                prefs.off = Some(15.0);
            } else if matches!(
                key,
                "safety valve"
                    | "expansion relief valve"
                    | "air separator"
                    | "low-loss header"
                    | "volumiser"
                    | "solar pump station"
                    | "tundish"
            ) {
                prefs.rolls = &[0];
            } else if key == "zone valve" {
                prefs.rolls = &[1, 0, 2, 3];
                prefs.z = (900.0, 1700.0, 0.5);
            } else if key == "magnetic filter" {
                prefs.z = (250.0, 700.0, 0.5);
            } else if key == "filling loop" {
                prefs.z = (300.0, 1500.0, 0.4);
            }
            self.hang(Owner::Part(ix), prefs);
        }
    }

    pub(super) fn electrics(&mut self) {
        let list: Vec<PartIx> = self
            .sys
            .part_ixs()
            .filter(|ix| {
                self.strung.roles[ix.0] == Role::Body
                    && self.sys.part(*ix).kind.ports.is_empty()
                    && !strapped::to_a_pipe(self.sys, *ix)
                    && self.room.find(Owner::Part(*ix)).is_none()
            })
            .collect();
        for ix in list {
            let prefs = Prefs {
                rolls: &[0],
                walls: Some(vec![(Side::Right, 0.0), (Side::Left, 0.0), (Side::Back, 100.0)]),
                z: (1000.0, 1450.0, 1.0),
                off: Some(0.0),
                dry: true,
                front: 0.5,
                ..Prefs::default()
            };
            self.hang(Owner::Part(ix), prefs);
        }
    }

    pub(super) fn hang(&mut self, owner: Owner, prefs: Prefs) {
        let body = match owner {
            Owner::Part(p) => self.body_of(p, 0.0, false),
            Owner::Unit(u) => self.unit_body(u),
        };
        let place = self.place_of(owner).clone();
        let stated = [&place.x, &place.y, &place.z]
            .map(|v| v.as_ref().map(|v| v.value).filter(|v| v.is_finite()));
        let room = self.room.size;
        let given = stated.iter().any(Option::is_some);
        let walls: Vec<(Side, f64)> = match (&place.side, stated) {
            (Some(s), _) => vec![(s.value, 0.0)],
            (None, [Some(x), None | Some(_), _]) if x < 200.0 && stated[1].is_some() => {
                vec![(Side::Left, 0.0), (Side::Back, 5.0)]
            }
            (None, [Some(x), Some(_), _]) if x > room.hi[0] - 200.0 => {
                vec![(Side::Right, 0.0), (Side::Back, 5.0)]
            }
            (None, [Some(_), ..]) => vec![(Side::Back, 0.0)],
            _ => prefs.walls.clone().unwrap_or_else(|| {
                vec![(Side::Back, 0.0), (Side::Right, 120.0), (Side::Left, 180.0)]
            }),
        };
        let stubs = |port: usize| self.stub(owner, port);
        let target =
            |port: usize| self.target(Tip::Port(owner, port)).map(|(at, w)| (at, w * prefs.weight));
        let far = |port: usize| {
            let (c, e) = *self.specs.by_tip.get(&Tip::Port(owner, port))?;
            self.located(self.strung.chains[c].tips[1 - e])
        };
        let need = |port: usize| self.specs.need(self.sys, Tip::Port(owner, port));
        let tether = prefs.near.map(|outlet| self.tether(outlet, &body));
        let mut wish = Wish {
            body: &body,
            stubs: &stubs,
            target: &target,
            walls: &walls,
            rolls: prefs.rolls,
            z: prefs.z,
            z_hard: if given { (0.0, room.hi[2]) } else { prefs.z_hard },
            off: prefs.off,
            dry: prefs.dry,
            front: prefs.front,
            stated,
            row: (1, 0.0),
            exact: prefs.weight,
            need: &need,
            far: &far,
            price: &|at| {
                self.lessons.price(Thing::Body(owner), at)
                    + tether.as_ref().map_or(0.0, |t| t(at))
                    + self.drips(&body, at)
            },
        };
        let mut found = self.room.best(&wish);
        if found.is_none() && prefs.dry {
            wish.dry = false;
            found = self.room.best(&wish);
        }
        let s = match found.and_then(|mut f| f.pop()) {
            Some(s) => s,
            None => {
                let u = |axis: usize| stated[axis].unwrap_or(room.hi[axis] / 2.0);
                let (side, _) = walls[0];
                let along = if matches!(side, Side::Left | Side::Right) { u(1) } else { u(0) };
                let z = stated[2].unwrap_or((prefs.z.0 + prefs.z.1) / 2.0);
                let mut s = self.room.on_wall(
                    &body,
                    side,
                    prefs.rolls[0],
                    along,
                    z,
                    prefs.off.unwrap_or(0.0),
                );
                if let (Some(y), Side::Back) = (stated[1], side) {
                    let mut corner = s.at.lo;
                    corner[1] = y - (s.at.hi[1] - s.at.lo[1]) / 2.0;
                    s = Stood::new(body.clone(), s.pose, corner, side);
                }
                if !given && let Some(spare) = self.room.spare(&body, s.at.centre(), &[]) {
                    s = spare;
                }
                let clash = self
                    .room
                    .stood
                    .iter()
                    .find(|o| o.slices().iter().any(|b| b.overlaps(&s.at)))
                    .map(|o| o.body.tag.clone());
                let what = match (given, clash) {
                    (true, Some(o)) => format!("{} is stated where {o} stands", body.tag),
                    (true, None) => {
                        format!("{} is stated where its pipes or a hand can't get to it", body.tag)
                    }
                    (false, _) => format!("no room on the walls for {}", body.tag),
                };
                let at = s.at;
                self.fault(Trouble::Place, what, &body.tag, at);
                s
            }
        };
        self.put(s);
    }
}

/// Price of a motor or a pump straight under a safety valve's outlet, mm (common practice, no
/// source: nothing electrical where it may drip).
const DRIPS: f64 = 250.0;

fn lets_water_out(key: &str) -> bool {
    matches!(key, "safety valve" | "expansion relief valve")
}

fn has_a_motor(key: &str) -> bool {
    let moved = |k: Kind| matches!(k.closes, Closes::ByMotor | Closes::Diverts);
    Kind::of(key).is_some_and(moved) || key.ends_with("pump")
}

impl Trade<'_> {
    /// What it costs a body to have its middle there, over or under what it should not drip on or
    /// be dripped on by.
    fn drips(&self, body: &Body, at: V) -> f64 {
        let (wet, motor) = (lets_water_out(&body.kind), has_a_motor(&body.kind));
        if !wet && !motor {
            return 0.0;
        }
        let half = body.size.map(|s| s / 2.0);
        let half = [half[0].max(half[2]), half[1]];
        let hit = |o: &&Stood| {
            let across = |i: usize| o.at.lo[i] < at[i] + half[i] && at[i] - half[i] < o.at.hi[i];
            let below = o.at.centre()[2] < at[2];
            let other = if below {
                wet && has_a_motor(&o.body.kind)
            } else {
                motor && lets_water_out(&o.body.kind)
            };
            other && across(0) && across(1)
        };
        DRIPS * self.room.stood.iter().filter(hit).count() as f64
    }
}

#[derive(Clone)]
pub(super) struct Prefs {
    pub walls: Option<Vec<(Side, f64)>>,
    pub rolls: &'static [usize],
    pub z: (f64, f64, f64),
    pub z_hard: (f64, f64),
    pub off: Option<f64>,
    pub dry: bool,
    pub front: f64,
    pub weight: f64,
    /// The relief's outlet that a tundish must be near.
    pub near: Option<V>,
}

impl Default for Prefs {
    fn default() -> Prefs {
        Prefs {
            walls: None,
            rolls: &[0, 1, 2, 3],
            z: (400.0, 1700.0, 0.4),
            z_hard: (120.0, 1e9),
            off: None,
            dry: false,
            front: 0.0,
            weight: 1.0,
            near: None,
        }
    }
}
