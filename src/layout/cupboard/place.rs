//! Placing in the trade's order. In: the system, its chains and ends. Out: the room with every
//! body in it, the tails, and the heights chain: cylinder first, what is screwed into it, the
//! tundish under the relief, the group above the tundish, the valves in a row, vessels on
//! brackets, pumps and the rest near what they serve, electrics last and dry.

use crate::catalogue::Mount;
use crate::layout::space::{Block, Dir, V};
use crate::model::{PartIx, Place, Service, Side, System, UnitIx};

use super::body::{self, Body, LocalPort, Pose, Stood, is_cylinder};
use super::chains::{Role, Strung, Tip};
use super::ends::Specs;
use super::heights;
use super::plan::{Fault, Form, Owner};
use super::room::{Keep, Room, Stub, Why, Wish};
use super::tails::{self, Tails};

pub struct Placed {
    pub room: Room,
    pub tails: Tails,
    pub heights: Option<heights::Chain>,
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
}

/// One way of going about it.
#[derive(Clone, Copy, Debug)]
pub struct Way {
    /// The zones' tails before the rest of the bodies, or after.
    pub tails_early: bool,
    /// Between bodies, mm.
    pub gap: f64,
}

/// Tried in this order until one leaves nothing open.
pub const WAYS: [Way; 4] = [
    Way { tails_early: true, gap: 26.0 },
    Way { tails_early: false, gap: 26.0 },
    Way { tails_early: true, gap: 50.0 },
    Way { tails_early: false, gap: 50.0 },
];

/// Places everything.
pub fn place(sys: &System, strung: &Strung, specs: &Specs, way: Way) -> Option<Placed> {
    let cupboard = sys.site.cupboard.as_ref()?;
    let r = cupboard.room();
    let ok = |v: f64| if v.is_finite() { v.clamp(100.0, 100_000.0) } else { 1000.0 };
    let size = Block::new([0.0; 3], [ok(r.w), ok(r.d), ok(r.h)]);
    let standoff = (0..specs.od.len()).map(|c| standoff(specs, c)).fold(0.0, f64::max);
    let plane = standoff.clamp(50.0, 75.0).ceil();
    let room = Room { size, plane, gap: way.gap, stood: Vec::new(), keeps: Vec::new() };
    let mut t =
        Trade { sys, strung, specs, room, tails: Tails::new(), heights: None, faults: Vec::new() };
    t.built_in();
    t.tails = tails::fixed(sys, strung, &t.room, &mut t.faults);
    t.reserve_tails();
    t.floor_bodies();
    t.fitted();
    t.stated();
    t.discharge();
    t.groups();
    t.bank();
    if way.tails_early {
        t.leave_tails(true);
    }
    t.rest();
    t.electrics();
    t.leave_tails(false);
    Some(Placed { room: t.room, tails: t.tails, heights: t.heights, faults: t.faults })
}

/// Centre line to wall: bare tube on a clip 15 mm clear, lagging 10 mm clear (common practice).
pub fn standoff(specs: &Specs, chain: usize) -> f64 {
    specs.od[chain] / 2.0 + (specs.lagging[chain] + 10.0).max(15.0)
}

impl Trade<'_> {
    fn built_in(&mut self) {
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

    /// Where the end of a tip's straight is, if its body or tail is placed.
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

    /// Where the pipe on a port or tail wants to go, and how much that matters.
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

    fn reserve_tails(&mut self) {
        for (pipe, t) in &self.tails {
            let straight = tails::straight(self.specs, &self.room, *pipe, t.side);
            let radius = self.specs.stub(Tip::Tail(*pipe)).map_or(15.0, |s| s.radius);
            let block = tails::stub_block(t, straight + radius, radius);
            self.room.keeps.push(Keep { block, why: Why::Stub, owner: None, text: String::new() });
        }
    }

    pub(super) fn body_of(&self, part: PartIx, turn: f64, mirrored: bool) -> Body {
        body::of_part(self.sys, part, turn, mirrored)
    }

    fn place_of(&self, owner: Owner) -> &Place {
        match owner {
            Owner::Part(p) => &self.sys.part(p).place,
            Owner::Unit(u) => &self.sys.unit(u).place,
        }
    }

    fn fault(&mut self, what: String, tag: &str, at: Block) {
        let at = Some(super::to_box(&at));
        self.faults.push(Fault { what, parts: vec![tag.to_owned()], pipe: None, at });
    }

    pub(super) fn put(&mut self, s: Stood) {
        let owner = s.body.owner;
        let specs = self.specs;
        self.room.put(s, &|port| specs.stub(Tip::Port(owner, port)));
    }

    /// Cylinders, units on the floor, buffers, tanks: largest first, from the left.
    fn floor_bodies(&mut self) {
        let mut bodies: Vec<Body> = Vec::new();
        for ix in self.sys.part_ixs() {
            let part = self.sys.part(ix);
            if self.strung.roles[ix.0] == Role::Body && part.kind.mount == Mount::Floor {
                bodies.push(self.body_of(ix, 0.0, false));
            }
        }
        for u in (0..self.sys.units.len()).map(UnitIx) {
            let unit = self.sys.unit(u);
            if unit.place.elsewhere.is_none() && unit.kind.mount == Mount::Floor {
                bodies.push(self.unit_body(u));
            }
        }
        let volume = |b: &Body| b.size.iter().product::<f64>();
        bodies.sort_by(|a, b| volume(b).total_cmp(&volume(a)).then(a.tag.cmp(&b.tag)));
        for b in bodies {
            self.floor_body(b);
        }
    }

    fn floor_body(&mut self, b: Body) {
        let room = self.room.size;
        let place = self.place_of(b.owner).clone();
        let [w, d, h] = b.size;
        let base = place.z.as_ref().map_or(0.0, |z| z.value).clamp(0.0, room.hi[2]);
        let spare = room.hi[1] - d;
        let back =
            if spare >= 200.0 { (self.room.plane * 2.0).min(spare - 100.0) } else { spare * 0.3 };
        let back = back.clamp(0.0, 110.0).round();
        let wide = room.hi[0] - w;
        let side_gap = if wide > 500.0 { 60.0 } else { (wide * 0.12).clamp(0.0, 45.0) }.round();
        let x = place.x.as_ref().map(|v| v.value);
        let y = place.y.as_ref().map(|v| v.value);
        let ys = y.map_or_else(|| vec![back + d / 2.0], |y| vec![y]);
        let mut xs = x.map_or_else(
            || {
                let mut v = side_gap + w / 2.0;
                let mut out = Vec::new();
                while v <= room.hi[0] - w / 2.0 {
                    out.push(v);
                    v += 20.0;
                }
                out
            },
            |x| vec![x],
        );
        // The free strip lies towards the wall through which the discharge leaves.
        let exit = self.strung.chains.iter().flat_map(|c| c.tips).find_map(|t| match t {
            Tip::Tail(p) if self.sys.pipe(p).service == Service::Discharge2 => {
                Some(tails::side(self.sys, p))
            }
            _ => None,
        });
        if x.is_none() && exit == Some(Side::Left) {
            for v in &mut xs {
                *v = room.hi[0] - *v;
            }
        }
        if xs.is_empty() {
            xs.push(room.hi[0] / 2.0);
        }
        let stand = |t: &Self, x: f64, y: f64| -> Stood {
            let mut body = b.clone();
            if is_cylinder(&body.kind)
                && let Owner::Part(p) = body.owner
            {
                let (turn, mirrored) = t.best_turn(p, x, y, base);
                body = t.body_of(p, turn, mirrored);
            }
            let corner = [x - w / 2.0, y - d / 2.0, base];
            Stood::new(body, Pose::against(Side::Back), corner, Side::Floor)
        };
        let mut found = None;
        for &y in &ys {
            for &x in &xs {
                let s = stand(self, x, y);
                let clear = self.room.faults(&s, &[]) == 0;
                if clear {
                    found = Some(s);
                    break;
                }
            }
        }
        let s = match found {
            Some(s) => s,
            None => {
                let s = stand(self, xs[0], ys[0]);
                let clash = self
                    .room
                    .stood
                    .iter()
                    .find(|o| o.slices().iter().any(|a| s.slices().iter().any(|b| a.overlaps(b))))
                    .map(|o| o.body.tag.clone());
                let over = w > room.hi[0] || d > room.hi[1] || h + base > room.hi[2];
                let what = match (over, clash) {
                    (true, _) => {
                        format!("{} ({w:.0} x {d:.0} x {h:.0}) is larger than the cupboard", b.tag)
                    }
                    (false, Some(o)) => format!("{} stands where {o} stands", b.tag),
                    (false, None) if !self.room.size.contains(&s.at) => {
                        format!("{} stands through a wall", b.tag)
                    }
                    _ => format!(
                        "{} stands in the way of a tail, a door or something built in",
                        b.tag
                    ),
                };
                let at = s.at;
                self.fault(what, &b.tag, at);
                s
            }
        };
        self.put(s);
    }

    /// Turn and hand of a cylinder so that its ports face open space.
    fn best_turn(&self, part: PartIx, x: f64, y: f64, base: f64) -> (f64, bool) {
        let place = &self.sys.part(part).place;
        if let Some(t) = &place.turn {
            return (t.value, place.mirrored);
        }
        let mut best = (f64::INFINITY, 0.0, false);
        let hands: &[bool] = if place.mirrored { &[true] } else { &[false, true] };
        for &mirrored in hands {
            for turn in [0.0, 15.0, -15.0, 30.0, -30.0, 45.0, -45.0, 60.0, -60.0] {
                let b = self.body_of(part, turn, mirrored);
                let corner = [x - b.size[0] / 2.0, y - b.size[1] / 2.0, base];
                let s = Stood::new(b, Pose::against(Side::Back), corner, Side::Floor);
                let mut cost = f64::abs(turn) * 1.5 + if mirrored { 25.0 } else { 0.0 };
                for p in &s.ports {
                    if self.specs.by_tip.contains_key(&Tip::Port(s.body.owner, p.port))
                        || self.strung.direct.iter().any(|q| {
                            let q = self.sys.pipe(*q);
                            [q.from, q.to].iter().any(|r| r.part == part && r.port == p.port)
                        })
                    {
                        let axis = p.out.axis();
                        let free = if p.out.sign() > 0.0 {
                            self.room.size.hi[axis] - p.at[axis]
                        } else {
                            p.at[axis] - self.room.size.lo[axis]
                        };
                        // A port that faces a wall nearer than 120 mm can't be made
                        // (common practice).
                        cost += if free < 120.0 { 400.0 } else { 0.0 };
                        cost += (400.0 - free).max(0.0) * 0.15;
                        cost += if p.out == Dir::BACK { 500.0 } else { 0.0 };
                        cost += if p.out == Dir::FRONT { 20.0 } else { 0.0 };
                    }
                }
                if cost < best.0 - 1e-9 {
                    best = (cost, turn, mirrored);
                }
            }
        }
        (best.1, best.2)
    }

    pub fn unit_body(&self, u: UnitIx) -> Body {
        let unit = self.sys.unit(u);
        let k = &unit.kind;
        let mut size = k.body;
        for (i, key) in ["width", "depth", "height"].into_iter().enumerate() {
            if let Some(v) = unit.attrs.number(key).filter(|v| v.is_finite() && *v > 20.0) {
                size[i] = v;
            }
        }
        let mut ports = Vec::new();
        let used: Vec<usize> =
            self.strung.unions.0.values().filter(|(v, _)| *v == u).map(|(_, k)| *k).collect();
        let extra = used.iter().filter(|i| **i >= k.ports.len()).count();
        let mut nth = 0;
        for &i in &used {
            if let Some(crate::catalogue::RealPort::Box { x, y, z, out }) =
                k.ports.get(i).and_then(|p| p.real)
            {
                let s = [0, 1, 2].map(|a| size[a] / k.body[a]);
                let at = [x * s[0], y * s[1], z * s[2]].map(f64::round);
                ports.push(LocalPort { port: i, at, out: body::dir_of(out) });
            } else {
                // Unions in a row along the top, or out of the side where the pipe must fall.
                let falls = self
                    .strung
                    .unions
                    .0
                    .iter()
                    .any(|(p, v)| *v == (u, i) && self.sys.pipe(*p).service.must_fall());
                nth += 1;
                if falls {
                    let at = [size[0], size[1] * 0.6, size[2] * 0.45].map(f64::round);
                    ports.push(LocalPort { port: i, at, out: Dir::RIGHT });
                } else {
                    let x = size[0] * nth as f64 / (extra as f64 + 1.0);
                    let at = [x, size[1] * 0.3, size[2]].map(f64::round);
                    ports.push(LocalPort { port: i, at, out: Dir::UP });
                }
            }
        }
        Body {
            owner: Owner::Unit(u),
            tag: unit.tag.clone(),
            kind: k.key.clone(),
            form: Form::Box,
            size,
            ports,
            mount: k.mount,
            access: k.access,
        }
    }

    /// What is screwed into another body: relief, immersion, thermostats.
    fn fitted(&mut self) {
        for ix in self.sys.part_ixs() {
            let part = self.sys.part(ix);
            if self.strung.roles[ix.0] != Role::Body || part.kind.mount != Mount::On {
                continue;
            }
            let host = part.on.or_else(|| {
                let joined = |q: &crate::model::Pipe| {
                    if q.from.part == ix {
                        Some(q.to.part)
                    } else if q.to.part == ix {
                        Some(q.from.part)
                    } else {
                        None
                    }
                };
                self.sys
                    .pipes
                    .iter()
                    .filter_map(joined)
                    .find(|p| is_cylinder(&self.sys.part(*p).kind.key))
            });
            let host = host.or_else(|| {
                self.sys.part_ixs().find(|p| {
                    self.strung.roles[p.0] == Role::Body && is_cylinder(&self.sys.part(*p).kind.key)
                })
            });
            let Some(host) = host.and_then(|h| self.room.find(Owner::Part(h))).cloned() else {
                continue;
            };
            self.fit(ix, &host);
        }
    }

    fn fit(&mut self, ix: PartIx, host: &Stood) {
        let part = self.sys.part(ix);
        let body = self.body_of(ix, 0.0, false);
        let Owner::Part(host_ix) = host.body.owner else { return };
        // Onto the port it is piped to, if there is one.
        let direct = self.strung.direct.iter().map(|q| self.sys.pipe(*q)).find_map(|q| {
            [(q.from, q.to), (q.to, q.from)]
                .into_iter()
                .find(|(a, b)| a.part == host_ix && b.part == ix)
                .map(|(a, _)| a.port)
        });
        if let Some(port) = direct.and_then(|p| host.port(p)) {
            let s = screwed(&body, port.at, port.out, &host.at);
            self.put(s);
            return;
        }
        let [_, _, h] = host.body.size;
        let key = part.kind.key.as_str();
        let height = part.number("height").filter(|v| *v > 0.0 && *v < h).map(|v| v / h);
        let place = part.text("position").unwrap_or("");
        let wanted = height.unwrap_or(match (key, place) {
            ("immersion heater", "upper") => 0.6,
            ("immersion heater", _) => 0.3,
            ("cylinder thermostat", _) => 0.45,
            _ => 0.53,
        });
        let angle = part.number("angle").unwrap_or(0.0);
        let mut best: Option<(f64, Stood)> = None;
        for da in [0.0, 15.0, -15.0, 30.0, -30.0] {
            for step in 0..16 {
                let dz = f64::from(step / 2) * 35.0 * if step % 2 == 0 { 1.0 } else { -1.0 };
                let z = wanted * h + dz;
                if z < 60.0 || z > h - 60.0 {
                    continue;
                }
                let s = on_round(&body, host, z, angle + da);
                let bad = self.fitted_clash(&s, host_ix);
                let cost = dz.abs() + 4.0 * f64::abs(da) + 10_000.0 * bad as f64;
                if best.as_ref().is_none_or(|(c, _)| cost < *c - 1e-9) {
                    best = Some((cost, s));
                }
            }
        }
        let Some((_, s)) = best else { return };
        if key == "immersion heater" {
            let long = part.number("length").filter(|v| *v > 0.0).unwrap_or(350.0);
            let mut block = s.at;
            let out = s.pose.0[0];
            let a = out.axis();
            // 50 mm beyond the element's own length (common practice).
            if out.sign() > 0.0 {
                block.lo[a] = s.at.hi[a];
                block.hi[a] = s.at.hi[a] + long + 50.0;
            } else {
                block.hi[a] = s.at.lo[a];
                block.lo[a] = s.at.lo[a] - long - 50.0;
            }
            let (owner, text) = (Some(s.body.owner), format!("withdraw element {long:.0}"));
            self.room.keeps.push(Keep { block, why: Why::Access, owner, text });
            let mut s = s;
            s.body.access = 0.0;
            self.room.stood.push(s);
        } else {
            self.put(s);
        }
    }

    fn fitted_clash(&self, s: &Stood, host: PartIx) -> usize {
        let solid = self
            .room
            .stood
            .iter()
            .filter(|o| o.body.owner != Owner::Part(host) && o.at.grown(8.0).overlaps(&s.at))
            .count();
        let kept = self
            .room
            .keeps
            .iter()
            .filter(|k| k.why == Why::Stub && k.block.grown(6.0).overlaps(&s.at))
            .count();
        solid + kept
    }

    /// Bodies whose place the description gives, in whole or in part.
    fn stated(&mut self) {
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

    /// Tundish under the relief, the exit hole below it.
    fn discharge(&mut self) {
        let outlet = self
            .sys
            .part_ixs()
            .filter(|ix| {
                let key = &self.sys.part(*ix).kind.key;
                key == "temperature and pressure relief valve"
            })
            .filter_map(|ix| {
                let s = self.room.find(Owner::Part(ix))?;
                s.ports.iter().find(|p| self.sys.part(ix).kind.ports[p.port].name == "discharge")
            })
            .map(|p| p.at)
            .min_by(|a, b| a[2].total_cmp(&b[2]));
        let tundishes: Vec<PartIx> = self
            .sys
            .part_ixs()
            .filter(|ix| {
                self.sys.part(*ix).kind.key == "tundish" && self.strung.roles[ix.0] == Role::Body
            })
            .collect();
        let Some(outlet) = outlet else {
            return;
        };
        let Some(&tundish) = tundishes.first() else { return };
        let body = self.body_of(tundish, 0.0, false);
        let joins = self.strung.chains.iter().any(|c| {
            c.pipes.iter().any(|(p, _)| self.sys.pipe(*p).service == Service::Discharge1)
                && c.between.iter().any(|b| self.strung.roles[b.0] == Role::Tee)
        });
        let exit_pipe = self.strung.chains.iter().flat_map(|c| c.tips).find_map(|t| match t {
            Tip::Tail(p) if self.sys.pipe(p).service == Service::Discharge2 => Some(p),
            _ => None,
        });
        let side = exit_pipe.map_or(Side::Floor, |p| tails::side(self.sys, p));
        let floor = matches!(side, Side::Floor);
        let z = exit_pipe
            .and_then(|p| self.sys.pipe(p).tail.as_ref())
            .and_then(|t| t.z.as_ref())
            .map(|z| z.value)
            .filter(|_| !floor);
        let level = (self.room.size.hi[0] + self.room.size.hi[1]) / 2.0;
        let mut c = heights::solve(outlet[2], joins, body.size[2], z, level);
        c.through_floor = floor;
        self.heights = Some(c);
        if self.room.find(Owner::Part(tundish)).is_none() {
            let mid = c.tundish_in - body.size[2] / 2.0;
            let walls: Vec<(Side, f64)> = [Side::Right, Side::Left, Side::Back]
                .into_iter()
                .map(|s| (s, if s == side { 0.0 } else { 40.0 }))
                .collect();
            let prefs = Prefs {
                walls: Some(walls),
                rolls: &[0],
                z: (mid, mid, 3.0),
                z_hard: (heights::STRAIGHT + 80.0, outlet[2] - 40.0 - body.size[2] / 2.0),
                weight: 1.6,
                ..Prefs::default()
            };
            let before = (self.room.stood.len(), self.room.keeps.len(), self.faults.len());
            self.hang(Owner::Part(tundish), prefs);
            let inlet = self.room.find(Owner::Part(tundish)).and_then(|s| s.port(0)).map(|p| p.at);
            let far = inlet.is_none_or(|p| {
                crate::layout::space::manhattan(p, outlet) > heights::FIRST_PIPE - 50.0
            });
            if far {
                // No wall is near enough: carried by its pipe, straight below the relief.
                let mut corner = outlet;
                corner[0] -= body.size[0] / 2.0;
                corner[1] -= body.size[1] / 2.0;
                corner[2] = c.tundish_in - body.size[2];
                let s = Stood::new(body.clone(), Pose::against(Side::Back), corner, Side::Back);
                let kept =
                    (self.room.stood.split_off(before.0), self.room.keeps.split_off(before.1));
                let stubs = self.room.stubs_of(&s, &|port| self.stub(Owner::Part(tundish), port));
                if self.room.faults(&s, &stubs) == 0 {
                    self.faults.truncate(before.2);
                    self.put(s);
                } else {
                    self.room.stood.extend(kept.0);
                    self.room.keeps.extend(kept.1);
                }
            }
        }
        if let Some(s) = self.room.find(Owner::Part(tundish)) {
            let c = self.heights.as_mut();
            if let Some(c) = c {
                c.tundish_in = s.at.hi[2];
                c.tundish_out = s.at.lo[2];
                c.run = c.tundish_out - heights::STRAIGHT - heights::BEND;
            }
        }
        if let Some(pipe) = exit_pipe
            && !self.tails.contains_key(&pipe)
        {
            self.tail(pipe, None);
        }
        if let Some(pipe) = exit_pipe
            && let (Some(a), Some(b)) =
                (self.located(Tip::Port(Owner::Part(tundish), 1)), self.located(Tip::Tail(pipe)))
            && (0..2).all(|i| (a[i] - b[i]).abs() < 60.0)
        {
            let block = Block::around(a, b)
                .grown(self.specs.outer(self.specs.by_tip[&Tip::Tail(pipe)].0) + 8.0);
            self.room.keeps.push(Keep { block, why: Why::Stub, owner: None, text: String::new() });
        }
        if let (Some(pipe), Some(c)) = (exit_pipe, self.heights.as_mut())
            && let Some(t) = self.tails.get(&pipe)
        {
            c.exit = t.at[2];
        }
    }

    /// Inlet groups and other units on a wall, the loose expansion relief.
    fn groups(&mut self) {
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

    /// Everything else that holds water.
    fn rest(&mut self) {
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

    fn electrics(&mut self) {
        let list: Vec<PartIx> = self
            .sys
            .part_ixs()
            .filter(|ix| {
                self.strung.roles[ix.0] == Role::Body
                    && self.sys.part(*ix).kind.ports.is_empty()
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

    fn hang(&mut self, owner: Owner, prefs: Prefs) {
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
                self.fault(what, &body.tag, at);
                s
            }
        };
        self.put(s);
    }

    /// Places one tail and reserves its stub.
    fn tail(&mut self, pipe: crate::model::PipeIx, beside: Option<V>) {
        let placer = tails::Placer {
            sys: self.sys,
            specs: self.specs,
            exit: self
                .heights
                .map_or(150.0, |h| (h.run - h.level * heights::FALL - 20.0).max(60.0)),
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
        let t = placer.place(&self.room, &self.tails, pipe, target, beside, (row, second));
        let straight = tails::straight(self.specs, &self.room, pipe, t.side);
        let radius = self.specs.outer(c);
        let block = tails::stub_block(&t, straight + radius, radius);
        self.room.keeps.push(Keep { block, why: Why::Stub, owner: None, text: String::new() });
        self.tails.insert(pipe, t);
    }

    /// Tails without a place: each below what it serves, returns beside their flows.
    fn leave_tails(&mut self, zones: bool) {
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
        if zones {
            // Below the valves that are hung already, and their returns: what comes later must
            // leave room for these.
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

#[derive(Clone)]
struct Prefs {
    walls: Option<Vec<(Side, f64)>>,
    rolls: &'static [usize],
    z: (f64, f64, f64),
    z_hard: (f64, f64),
    off: Option<f64>,
    dry: bool,
    front: f64,
    weight: f64,
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
        }
    }
}

/// Boss between a body and what is screwed into it, mm (common practice).
pub const BOSS: f64 = 10.0;

/// A body with its own left end on a port, pointing away from it.
fn screwed(body: &Body, at: V, out: Dir, host: &Block) -> Stood {
    let pose = Pose([out, if out.axis() == 1 { Dir::RIGHT } else { Dir::FRONT }, Dir::UP]);
    let pose = if out == Dir::UP { Pose([Dir::UP, Dir::FRONT, Dir::LEFT]) } else { pose };
    let e = pose.extent(body.size);
    let mut corner = [0, 1, 2].map(|i| at[i] - e[i] / 2.0);
    let a = out.axis();
    // Clear of the host's own box, so that no two boxes share room.
    corner[a] = if out.sign() > 0.0 {
        (at[a] + BOSS).max(host.hi[a].ceil())
    } else {
        (at[a] - BOSS).min(host.lo[a].floor()) - e[a]
    };
    Stood::new(body.clone(), pose, corner.map(f64::round), Side::Floor)
}

/// A body standing out from a round one at a height and clock angle.
fn on_round(body: &Body, host: &Stood, z: f64, angle: f64) -> Stood {
    let c = host.at.centre();
    let r = (host.at.hi[1] - host.at.lo[1]) / 2.0;
    let out = body::clock_dir(angle);
    let (x, y) = body::clock(angle);
    let pose = Pose([out, if out.axis() == 1 { Dir::RIGHT } else { Dir::FRONT }, Dir::UP]);
    // A box stands out by its depth: its own front points along `out`.
    let size = [body.size[1], body.size[0], body.size[2]];
    let mut b = body.clone();
    b.size = size;
    let e = pose.extent(size);
    let (a, l) = if out.axis() == 1 { (1, 0) } else { (0, 1) };
    let lateral = if l == 0 { c[0] + r * x } else { c[1] + r * y };
    let surface = r;
    let mut corner = [0.0, 0.0, host.at.lo[2] + z - e[2] / 2.0];
    corner[l] = lateral - e[l] / 2.0;
    corner[a] = if out.sign() > 0.0 { c[a] + surface } else { c[a] - surface - e[a] };
    Stood::new(b, pose, corner.map(|v| (v * 2.0).round() / 2.0), host.fixed_to)
}
