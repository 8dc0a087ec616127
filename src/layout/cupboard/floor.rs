//! What stands on the floor: cylinders, units, buffers, tanks. In: the room and the bodies. Out:
//! each in its place, largest first, turned so that its ports face open space.

use crate::catalogue::Mount;
use crate::layout::space::Dir;
use crate::model::{PartIx, Side, UnitIx};

use super::body::{self, Body, LocalPort, Pose, Stood, is_cylinder};
use super::chains::{Role, Tip};
use super::lessons::Thing;
use super::passage::Passage;
use super::place::Trade;
use super::plan::{Form, Owner, Trouble};
use super::room::{Keep, Why};
use super::tails::{self};

/// Between a standing body and the door, mm (common practice).
const FRONT: f64 = 10.0;
/// Price from which a place is too near to where it left another body no room, mm.
const SHUNNED: f64 = 350.0;
/// Height over a row of unions in which their pipes turn to the walls, mm (common practice).
const TURN: f64 = 350.0;

impl Trade<'_> {
    /// `flipped`: from the end of the room that they would rather leave free.
    pub(super) fn floor_bodies(&mut self, flipped: bool) {
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
        // Several cylinders spread over the width where it is free, so that what they share goes
        // between them.
        let loose = |b: &Body| is_cylinder(&b.kind) && self.place_of(b.owner).x.is_none();
        let many = bodies.iter().filter(|b| loose(b)).count();
        let taken: f64 = bodies.iter().map(|b| b.size[0]).sum();
        let spread = many > 1 && taken + 400.0 * many as f64 <= self.room.size.hi[0];
        let wanted: Vec<Option<f64>> = bodies
            .iter()
            .scan(0, |i, b| {
                let share = (spread && loose(b)).then(|| {
                    *i += 1;
                    (*i - 1) as f64 / (many as f64 - 1.0)
                });
                Some(share)
            })
            .collect();
        for (b, share) in bodies.into_iter().zip(wanted) {
            self.floor_body(b, share, flipped);
        }
    }

    /// `share`: how far along the free width it would rather stand.
    fn floor_body(&mut self, b: Body, share: Option<f64>, flipped: bool) {
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
        // Where a tail is in its way, further to the front.
        let further = [back, (spare / 2.0).max(back), (spare - FRONT).max(back)];
        let ys = y.map_or_else(|| further.map(|f| f.round() + d / 2.0).to_vec(), |y| vec![y]);
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
        if x.is_none() && (self.exit() == Some(Side::Left)) != flipped {
            for v in &mut xs {
                *v = room.hi[0] - *v;
            }
        }
        if let (Some(share), Some(a)) = (share, xs.first().copied()) {
            // As far from the other wall as from this one.
            let wanted = a + share * (room.hi[0] - 2.0 * a);
            xs.sort_by(|p, q| (p - wanted).abs().total_cmp(&(q - wanted).abs()));
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
        let leaves = |s: &Stood| self.way_out(s).is_none_or(|out| self.relief_leaves(s, &out));
        // A cylinder turns until its ports have room; what can't turn needs it beside its ports.
        let beside = |t: &Self, s: &Stood| {
            if is_cylinder(&b.kind) {
                Vec::new()
            } else {
                t.room.stubs_of(s, &|p| t.stub(b.owner, p))
            }
        };
        // Of a round one's box pipes may come up in the corners; the discharge must get out past it.
        let free = |(round, with_ports, other): (bool, bool, bool)| {
            let mut places = ys.iter().flat_map(|y| xs.iter().map(|x| stand(self, *x, *y)));
            places.find(|s| {
                let price = || self.lessons.price(Thing::Foot(b.owner), s.at.centre());
                if other && price() > SHUNNED {
                    return false;
                }
                let stubs = if with_ports { beside(self, s) } else { Vec::new() };
                let faults = if round {
                    self.room.faults_round(s, &stubs)
                } else {
                    self.room.faults(s, &stubs)
                };
                faults == 0 && self.fitted_clear(s) && (!with_ports || leaves(s))
            })
        };
        let wishes = [(false, true), (true, true), (false, false), (true, false)];
        let wishes = [true, false].into_iter().flat_map(|o| wishes.map(|(r, p)| (r, p, o)));
        let s = match wishes.into_iter().find_map(free) {
            Some(s) => s,
            None => {
                let s = stand(self, xs[0], ys[0]);
                let clash = self
                    .room
                    .stood
                    .iter()
                    .find(|o| o.slices().iter().any(|a| s.slices().iter().any(|b| a.overlaps(b))))
                    .map(|o| o.body.tag.clone());
                // What of it is too much, and by how much.
                let beyond = [
                    (w - room.hi[0], "wide"),
                    (d - room.hi[1], "deep"),
                    (h + base - room.hi[2], "tall"),
                ];
                let beyond: Vec<String> = beyond
                    .iter()
                    .filter(|(by, _)| *by > 0.0)
                    .map(|(by, how)| format!("{by:.0} mm too {how}"))
                    .collect();
                let trouble = if beyond.is_empty() { Trouble::Place } else { Trouble::Size };
                let what = match (trouble == Trouble::Size, clash) {
                    (true, _) => {
                        format!("{} does not go into the cupboard: {}", b.tag, beyond.join(", "))
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
                self.fault(trouble, what, &b.tag, at);
                s
            }
        };
        self.put(s.clone());
        self.fitted(&s);
        // Over a row of unions the pipes turn to the walls: nothing hangs there.
        if s.ports.iter().filter(|p| p.out == Dir::UP).count() > 3 {
            let mut block = s.at;
            block.lo[1] = self.room.size.lo[1];
            block.lo[2] = s.at.hi[2];
            block.hi[2] = (s.at.hi[2] + TURN).min(self.room.size.hi[2]);
            let text = String::new();
            self.room.keeps.push(Keep { block, why: Why::Lane, owner: None, text });
        }
    }

    /// The wall by which the discharge leaves.
    fn exit(&self) -> Option<Side> {
        self.exit_pipe().map(|p| tails::side(self.sys, p))
    }

    pub(super) fn best_turn(&self, part: PartIx, x: f64, y: f64, base: f64) -> (f64, bool) {
        let place = &self.sys.part(part).place;
        if let Some(t) = &place.turn {
            return (t.value, place.mirrored);
        }
        let mut best = (f64::INFINITY, 0.0, false);
        let mut out: Option<Option<Passage>> = None;
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
                let out = out.get_or_insert_with(|| self.way_out(&s));
                if out.as_ref().is_some_and(|out| !self.relief_leaves(&s, out)) {
                    cost += 450.0;
                }
                if cost < best.0 - 1e-9 {
                    best = (cost, turn, mirrored);
                }
            }
        }
        (best.1, best.2)
    }

    /// Where the discharge gets out past a body and what stands already.
    fn way_out(&self, s: &Stood) -> Option<Passage> {
        let mut blocks = s.slices();
        let standing = self.room.stood.iter().filter(|o| o.body.mount == Mount::Floor);
        blocks.extend(standing.flat_map(Stood::slices));
        Passage::to(self.exit()?, &self.room.size, &blocks)
    }

    /// True where the relief screwed into a body, if any, lets go where its discharge gets out.
    fn relief_leaves(&self, host: &Stood, out: &Passage) -> bool {
        let reliefs = self
            .fitted_on(host)
            .into_iter()
            .filter(|ix| self.sys.part(*ix).kind.key == "temperature and pressure relief valve");
        reliefs.filter_map(|ix| self.seat_on(ix, host)).all(|(_, s)| out.leaves(s.at.centre()))
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
        let (mut nth, mut fallen) = (0, 0.0);
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
                    let y = (size[1] * 0.3 - 90.0 * fallen).max(40.0);
                    fallen += 1.0;
                    // Towards the wall by which it leaves.
                    let left = self.exit() == Some(Side::Left);
                    let x = if left { 0.0 } else { size[0] };
                    let at = [x, y, size[2] * 0.45].map(f64::round);
                    let out = if left { Dir::LEFT } else { Dir::RIGHT };
                    ports.push(LocalPort { port: i, at, out });
                } else {
                    let x = size[0] * nth as f64 / (extra as f64 + 1.0);
                    // In two rows, so that neighbours have room for their fittings.
                    let deep = if nth % 2 == 0 { 0.25 } else { 0.5 };
                    let at = [x, size[1] * deep, size[2]].map(f64::round);
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
}
