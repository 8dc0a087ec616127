//! The room while it fills up. In: bodies with the stubs that their pipes need. Out: where each
//! may stand: inside, clear of the rest, with a hand's way to it, and the cheapest such place.

use crate::layout::space::{Block, V, manhattan};
use crate::model::Side;

use super::body::{Body, Pose, Stood};
use super::plan::{Access, Owner};

/// What must stay free, and why.
#[derive(Clone, Debug)]
pub struct Keep {
    pub block: Block,
    pub why: Why,
    pub owner: Option<Owner>,
    pub text: String,
}

impl Keep {
    /// Neither pipe nor fitting may enter.
    pub fn is_solid(&self) -> bool {
        match self.why {
            Why::Door | Why::Obstacle => true,
            Why::Access => self.text.starts_with("withdraw"),
            Why::Stub | Why::Lane => false,
        }
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Why {
    /// The first straight of a pipe: nobody else's body or stub.
    Stub,
    /// Service space: no body.
    Access,
    /// The door's sweep, or something built in.
    Door,
    Obstacle,
    /// Where pipes will run: no body.
    Lane,
}

/// What a port of a body needs: straight length, outer radius.
#[derive(Clone, Copy, Debug)]
pub struct Stub {
    pub straight: f64,
    pub radius: f64,
}

/// Between a tundish and what is electrical, seen from above, mm (common practice).
const DRY: f64 = 105.0;

pub struct Room {
    pub size: Block,
    /// Distance of the wall plane's centre lines from the wall.
    pub plane: f64,
    /// Between bodies.
    pub gap: f64,
    pub stood: Vec<Stood>,
    pub keeps: Vec<Keep>,
}

/// A wish for a body that is still to be placed.
pub struct Wish<'a> {
    pub body: &'a Body,
    pub stubs: &'a dyn Fn(usize) -> Option<Stub>,
    /// Where the pipe on a port wants to go.
    pub target: &'a dyn Fn(usize) -> Option<(V, f64)>,
    pub walls: &'a [(Side, f64)],
    pub rolls: &'a [usize],
    /// Preferred heights of its middle, and the price of each mm outside.
    pub z: (f64, f64, f64),
    /// Its middle may never be outside these.
    pub z_hard: (f64, f64),
    /// From the wall's face to the body's back; `None`: so that its line lies in the wall plane.
    pub off: Option<f64>,
    /// No water above it.
    pub dry: bool,
    /// Price of each mm away from the front.
    pub front: f64,
    /// Fixed coordinates from the description: x, y, z of its middle.
    pub stated: [Option<f64>; 3],
    /// How many alike in a row, at which pitch.
    pub row: (usize, f64),
    /// Weights from 0.7 of this up are known places, below it guesses.
    pub exact: f64,
    /// Straight length that what sits between a port and its other end will need.
    pub need: &'a dyn Fn(usize) -> f64,
    /// Where the far end of a port's line is, if it is placed.
    pub far: &'a dyn Fn(usize) -> Option<V>,
    /// What it costs besides to have its middle there.
    pub price: &'a dyn Fn(V) -> f64,
}

impl Room {
    pub fn on_wall(&self, body: &Body, side: Side, roll: usize, u: f64, z: f64, off: f64) -> Stood {
        let pose = Pose::against(side).rolled(roll);
        let e = pose.extent(body.size);
        let mut corner = [0.0, 0.0, z - e[2] / 2.0];
        match side {
            Side::Left => {
                corner[0] = self.size.lo[0] + off;
                corner[1] = u - e[1] / 2.0;
            }
            Side::Right => {
                corner[0] = self.size.hi[0] - off - e[0];
                corner[1] = u - e[1] / 2.0;
            }
            Side::Front => {
                corner[0] = u - e[0] / 2.0;
                corner[1] = self.size.hi[1] - off - e[1];
            }
            _ => {
                corner[0] = u - e[0] / 2.0;
                corner[1] = self.size.lo[1] + off;
            }
        }
        Stood::new(body.clone(), pose, corner.map(|c| (c * 2.0).round() / 2.0), side)
    }

    /// Service space in front of a body: towards the room from what it is fixed to.
    pub fn access_of(&self, s: &Stood) -> Option<Block> {
        if s.body.access <= 0.0 || super::body::is_cylinder(&s.body.kind) {
            return None;
        }
        let mut b = s.at;
        // What is screwed into a body stands out along its own right.
        let on = s.body.mount == crate::catalogue::Mount::On;
        let front = s.pose.0[if on { 0 } else { 1 }];
        let axis = front.axis();
        if front.sign() > 0.0 {
            b.lo[axis] = s.at.hi[axis];
            b.hi[axis] = (s.at.hi[axis] + s.body.access).min(self.size.hi[axis]);
        } else {
            b.hi[axis] = s.at.lo[axis];
            b.lo[axis] = (s.at.lo[axis] - s.body.access).max(self.size.lo[axis]);
        }
        (b.hi[axis] > b.lo[axis] + 1.0).then_some(b)
    }

    /// What lies between a body and the door.
    pub fn before(&self, body: &Block) -> Option<Block> {
        let mut b = *body;
        (b.lo[1], b.hi[1]) = (body.hi[1], self.size.hi[1]);
        (b.hi[1] > b.lo[1] + 1.0).then_some(b)
    }

    pub fn stubs_of(&self, s: &Stood, stubs: &dyn Fn(usize) -> Option<Stub>) -> Vec<Block> {
        s.ports
            .iter()
            .filter_map(|p| {
                let stub = stubs(p.port)?;
                let tip = p.out.step(p.at, stub.straight);
                // A clip's width round the tube.
                let mut by = [stub.radius + 10.0; 3];
                by[p.out.axis()] = 0.0;
                let mut b = Block::around(p.at, tip).grown_each(by);
                // Room for the elbow at its end.
                if p.out.sign() > 0.0 {
                    b.hi[p.out.axis()] += stub.radius + 12.0;
                } else {
                    b.lo[p.out.axis()] -= stub.radius + 12.0;
                }
                Some(b)
            })
            .collect()
    }

    /// How badly a body would stand there: 0 = well.
    pub fn faults(&self, s: &Stood, stubs: &[Block]) -> usize {
        self.faults_of(s, stubs, &[s.at])
    }

    /// The same where pipes may come up in the corners of a round body's box.
    pub fn faults_round(&self, s: &Stood, stubs: &[Block]) -> usize {
        self.faults_of(s, stubs, &s.slices())
    }

    fn faults_of(&self, s: &Stood, stubs: &[Block], foot: &[Block]) -> usize {
        let mut bad = 0;
        if !self.size.contains(&s.at) {
            bad += 4;
        }
        let gap = self.gap;
        let own = s.slices();
        let access = self.access_of(s);
        for o in &self.stood {
            let near = o.at.grown(gap + 1.0);
            let touches = near.overlaps(&s.at);
            let stubbed = stubs.iter().any(|b| near.overlaps(b));
            let reached = access.is_some_and(|a| near.overlaps(&a));
            if !touches && !stubbed && !reached {
                continue;
            }
            // Round bodies too keep others out of their whole box: hand room, and plain to prove.
            let apart = if o.slices().len() > 1 || own.len() > 1 { 4.0 } else { gap };
            if touches && s.at.grown(apart).overlaps(&o.at) {
                bad += 3;
            }
            let inside = |slice: &Block| {
                stubs.iter().any(|b| b.overlaps(slice)) || access.is_some_and(|a| a.overlaps(slice))
            };
            if o.slices().iter().any(inside) {
                bad += 1;
            }
        }
        for k in &self.keeps {
            let hit = match k.why {
                Why::Stub => {
                    foot.iter().any(|b| b.overlaps(&k.block))
                        || stubs.iter().any(|b| b.grown(4.0).overlaps(&k.block))
                }
                Why::Access | Why::Lane => k.block.overlaps(&s.at),
                Why::Door | Why::Obstacle => {
                    k.block.overlaps(&s.at) || stubs.iter().any(|b| b.overlaps(&k.block))
                }
            };
            bad += usize::from(hit);
        }
        for b in stubs {
            if !self.size.contains(b) {
                bad += 2;
            }
        }
        bad
    }

    /// True where a hand can come straight from the front to the middle of the body.
    pub fn reachable(&self, s: &Stood) -> bool {
        let c = s.at.centre();
        let hand = 35.0;
        let way = Block::new(
            [c[0] - hand, s.at.hi[1] + 1.0, c[2] - hand],
            [c[0] + hand, self.size.hi[1], c[2] + hand],
        );
        if way.hi[1] <= way.lo[1] {
            return true;
        }
        !self
            .stood
            .iter()
            .any(|o| o.at.overlaps(&way) && o.slices().iter().any(|b| b.overlaps(&way)))
    }

    fn water_above(&self, s: &Stood) -> bool {
        let mut up = s.at.grown(20.0);
        up.lo[2] = s.at.hi[2];
        up.hi[2] = self.size.hi[2];
        // Nothing electrical under or beside a tundish either.
        let mut beside = s.at.grown(DRY);
        beside.lo[2] = s.at.lo[2];
        beside.hi[2] = self.size.hi[2];
        self.stood.iter().any(|o| o.body.kind == "tundish" && o.at.overlaps(&beside))
            || self.stood.iter().any(|o| !o.body.ports.is_empty() && o.at.overlaps(&up))
            || self.keeps.iter().any(|k| k.why == Why::Stub && k.block.overlaps(&up))
    }

    /// The best places for a row of alike bodies.
    pub fn best(&self, w: &Wish) -> Option<Vec<Stood>> {
        let (n, pitch) = w.row;
        let mut best: Option<(f64, Vec<Stood>)> = None;
        // What each port asks for, once.
        let ports = 0..w.body.ports.iter().map(|p| p.port + 1).max().unwrap_or(0);
        let targets: Vec<_> = ports.clone().map(|p| (w.target)(p)).collect();
        let reach: Vec<_> =
            ports.clone().map(|p| (w.stubs)(p).map_or(60.0, |s| s.straight)).collect();
        let far: Vec<_> = ports.clone().map(|p| (w.far)(p)).collect();
        let need: Vec<_> = ports.map(|p| (w.need)(p)).collect();
        for &(side, wall_price) in w.walls {
            let along = if matches!(side, Side::Left | Side::Right) { 1 } else { 0 };
            for &roll in w.rolls {
                let pose = Pose::against(side).rolled(roll);
                let e = pose.extent(w.body.size);
                let front_size = w.body.size[1];
                let off = w.off.unwrap_or_else(|| {
                    let axis = w.body.ports.first().map_or(front_size / 2.0, |p| p.at[1]);
                    (self.plane - axis).max(0.0)
                });
                let across = along;
                let off = match (side, w.stated[0], w.stated[1]) {
                    (Side::Back, _, Some(y)) => y - e[1] / 2.0,
                    (Side::Left, Some(x), _) => x - e[0] / 2.0,
                    (Side::Right, Some(x), _) => self.size.hi[0] - x - e[0] / 2.0,
                    _ => off,
                };
                let lo = self.size.lo[across] + e[across] / 2.0;
                let hi = self.size.hi[across] - e[across] / 2.0 - pitch * (n as f64 - 1.0);
                // In line with what its pipes go to, so that they run straight.
                let probe = self.on_wall(w.body, side, roll, 0.0, 0.0, off);
                let line = |axis: usize| -> Vec<f64> {
                    let off = |p: &super::body::LocalPort| {
                        let (to, weight) = targets[p.port]?;
                        (weight >= 0.7 * w.exact && n == 1).then(|| to[axis] - p.at[axis])
                    };
                    probe.ports.iter().filter_map(off).collect()
                };
                let mut us: Vec<f64> = match w.stated[across] {
                    Some(u) => vec![u],
                    None => steps(lo + 5.0, hi - 5.0, 20.0),
                };
                if w.stated[across].is_none() {
                    us.extend(line(across).into_iter().filter(|u| *u >= lo && *u <= hi));
                }
                let mut zs: Vec<f64> = match w.stated[2] {
                    Some(z) => vec![z],
                    None => steps(
                        (self.size.lo[2] + e[2] / 2.0).max(w.z_hard.0),
                        (self.size.hi[2] - e[2] / 2.0).min(w.z_hard.1),
                        20.0,
                    ),
                };
                if w.stated[2].is_none() {
                    let lo = (self.size.lo[2] + e[2] / 2.0).max(w.z_hard.0);
                    let hi = (self.size.hi[2] - e[2] / 2.0).min(w.z_hard.1);
                    zs.extend(line(2).into_iter().filter(|z| *z >= lo && *z <= hi));
                }
                for &z in &zs {
                    let outside = (w.z.0 - z).max(z - w.z.1).max(0.0) * w.z.2;
                    for &u in &us {
                        let base = wall_price + outside;
                        if best.as_ref().is_some_and(|(c, _)| *c <= base) {
                            continue;
                        }
                        let row: Vec<Stood> = (0..n)
                            .map(|i| self.on_wall(w.body, side, roll, u + pitch * i as f64, z, off))
                            .collect();
                        let mut cost = base;
                        for s in &row {
                            cost += (w.price)(s.at.centre()) / n as f64;
                            cost += w.front * (self.size.hi[1] - s.at.centre()[1]) / n as f64;
                            for p in &s.ports {
                                if let Some((to, weight)) = targets[p.port] {
                                    let tip = p.out.step(p.at, reach[p.port]);
                                    let away = manhattan(tip, to);
                                    // A jog shorter than two elbows.
                                    let jogs = (0..3)
                                        .filter(|a| {
                                            let d = (tip[*a] - to[*a]).abs();
                                            weight >= 0.7 * w.exact && d > 0.5 && d < 60.0
                                        })
                                        .count();
                                    cost += 130.0 * jogs as f64;
                                    cost += weight * away;
                                    // Too near for its fittings is worse than far.
                                    let end = far[p.port].map_or(away, |e| manhattan(tip, e));
                                    cost += 4.0 * (need[p.port] - end).max(0.0);
                                }
                            }
                        }
                        if best.as_ref().is_some_and(|(c, _)| *c <= cost) {
                            continue;
                        }
                        let ok = row.iter().all(|s| {
                            self.faults(s, &self.stubs_of(s, w.stubs)) == 0
                                && (s.body.access <= 0.0 || self.reachable(s))
                                && !(w.dry && self.water_above(s))
                        });
                        if ok {
                            best = Some((cost, row));
                        }
                    }
                }
            }
        }
        best.map(|b| b.1)
    }

    /// The last resort for a body that has no proper place: clear of everything, nearest to a
    /// point, on a wall if one has room for it, else anywhere.
    pub fn spare(&self, body: &Body, near: V, taken: &[Block]) -> Option<Stood> {
        let axis = body.ports.first().map_or(body.size[1] / 2.0, |p| p.at[1]);
        let off = (self.plane - axis).max(0.0);
        let clear = |s: &Stood| {
            let b = s.at.grown(1.0);
            self.size.contains(&s.at)
                && !self.stood.iter().any(|o| o.at.overlaps(&b))
                && !self.keeps.iter().any(|k| k.is_solid() && k.block.overlaps(&b))
                && !taken.iter().any(|t| t.overlaps(&b))
        };
        let mut best: Option<(f64, Stood)> = None;
        let mut look = |s: Stood| {
            let far = manhattan(s.at.centre(), near);
            if best.as_ref().is_none_or(|(b, _)| far < *b - 1e-9) && clear(&s) {
                best = Some((far, s));
            }
        };
        let range = |a: usize, step| steps(self.size.lo[a], self.size.hi[a], step);
        for side in [Side::Back, Side::Left, Side::Right] {
            let along = usize::from(side != Side::Back);
            for roll in 0..2 {
                for z in range(2, 20.0) {
                    for u in range(along, 20.0) {
                        look(self.on_wall(body, side, roll, u, z, off));
                    }
                }
            }
        }
        if best.is_none() {
            let mut look = |s: Stood| {
                let far = manhattan(s.at.centre(), near);
                if best.as_ref().is_none_or(|(b, _)| far < *b - 1e-9) && clear(&s) {
                    best = Some((far, s));
                }
            };
            for y in range(1, 40.0) {
                for z in range(2, 40.0) {
                    for x in range(0, 40.0) {
                        look(self.on_wall(body, Side::Back, 0, x, z, y));
                    }
                }
            }
        }
        best.map(|b| b.1)
    }

    /// Takes a body in, with its stubs and its service space.
    pub fn put(&mut self, s: Stood, stubs: &dyn Fn(usize) -> Option<Stub>) {
        for block in self.stubs_of(&s, stubs) {
            let owner = Some(s.body.owner);
            self.keeps.push(Keep { block, why: Why::Stub, owner, text: String::new() });
        }
        if let Some(block) = self.access_of(&s) {
            let owner = Some(s.body.owner);
            let text = format!("hand and tool {:.0}", s.body.access);
            self.keeps.push(Keep { block, why: Why::Access, owner, text });
        }
        self.stood.push(s);
    }

    pub fn access_list(&self, owner: Owner) -> Vec<Access> {
        self.keeps
            .iter()
            .filter(|k| k.why == Why::Access && k.owner == Some(owner))
            .map(|k| Access { at: super::to_box(&k.block), why: k.text.clone() })
            .collect()
    }

    pub fn find(&self, owner: Owner) -> Option<&Stood> {
        self.stood.iter().find(|s| s.body.owner == owner)
    }
}

/// Round numbers from `lo` to `hi`.
fn steps(lo: f64, hi: f64, step: f64) -> Vec<f64> {
    if hi < lo {
        return Vec::new();
    }
    let first = (lo / step).ceil();
    let n = ((hi / step).floor() - first).max(-1.0) as i64 + 1;
    (0..n).map(|i| (first + i as f64) * step).collect()
}
