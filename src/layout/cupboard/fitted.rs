//! What is screwed into another body: reliefs, immersion heaters, thermostats. In: the host as it
//! stands. Out: each on its boss, clear of the host's box, with the space to withdraw it.

use crate::catalogue::Mount;
use crate::layout::space::{Block, Dir, V};
use crate::model::{PartIx, Side, System};

use super::body::{self, Body, Pose, Stood, is_cylinder};
use super::chains::{Role, Strung};
use super::place::Trade;
use super::plan::Owner;
use super::room::{Keep, Why};

impl Trade<'_> {
    /// Puts what is screwed into a body where it belongs.
    pub(super) fn fitted(&mut self, host: &Stood) {
        for ix in self.fitted_on(host) {
            let Some((_, s)) = self.seat_on(ix, host) else { continue };
            if self.sys.part(ix).kind.key == "immersion heater" {
                self.room.keeps.push(self.withdrawal(ix, &s));
                let mut s = s;
                s.body.access = 0.0;
                self.room.stood.push(s);
            } else {
                self.put(s);
            }
        }
    }

    /// True where all that is screwed into a body has room there.
    pub(super) fn fitted_clear(&self, host: &Stood) -> bool {
        self.fitted_on(host).into_iter().all(|ix| self.seat_on(ix, host).is_none_or(|s| s.0 == 0))
    }

    /// Parts screwed into a body.
    pub(super) fn fitted_on(&self, host: &Stood) -> Vec<PartIx> {
        let Owner::Part(host) = host.body.owner else { return Vec::new() };
        self.sys
            .part_ixs()
            .filter(|ix| {
                let on = self.sys.part(*ix).kind.mount == Mount::On;
                on && self.strung.roles[ix.0] == Role::Body
                    && self::host(self.sys, self.strung, *ix) == Some(host)
            })
            .collect()
    }

    /// The best place for a part on its host, and how much is in its way there.
    pub(super) fn seat_on(&self, ix: PartIx, host: &Stood) -> Option<(usize, Stood)> {
        let part = self.sys.part(ix);
        let body = self.body_of(ix, 0.0, false);
        let Owner::Part(host_ix) = host.body.owner else { return None };
        // Onto the port it is piped to, if there is one.
        let direct = self.strung.direct.iter().map(|q| self.sys.pipe(*q)).find_map(|q| {
            [(q.from, q.to), (q.to, q.from)]
                .into_iter()
                .find(|(a, b)| a.part == host_ix && b.part == ix)
                .map(|(a, _)| a.port)
        });
        if let Some(port) = direct.and_then(|p| host.port(p)) {
            let s = screwed(&body, port.at, port.out, &host.at);
            return Some((self.fitted_clash(&s, host_ix), s));
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
        let mut best: Option<(f64, usize, Stood)> = None;
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
                if best.as_ref().is_none_or(|(c, ..)| cost < *c - 1e-9) {
                    best = Some((cost, bad, s));
                }
            }
        }
        best.map(|(_, bad, s)| (bad, s))
    }

    /// The space in which an element is drawn out.
    fn withdrawal(&self, ix: PartIx, s: &Stood) -> Keep {
        let long = self.sys.part(ix).number("length").filter(|v| *v > 0.0).unwrap_or(350.0);
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
        Keep { block, why: Why::Access, owner, text }
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
}

/// The body that a part is fitted to; one that names none goes to the first cylinder it is piped
/// to, or the first there is.
pub fn host(sys: &System, strung: &Strung, ix: PartIx) -> Option<PartIx> {
    let cylinder = |p: PartIx| is_cylinder(&sys.part(p).kind.key);
    let joined = |q: &crate::model::Pipe| {
        let far = if q.from.part == ix {
            q.to.part
        } else if q.to.part == ix {
            q.from.part
        } else {
            return None;
        };
        cylinder(far).then_some(far)
    };
    let piped = || sys.pipes.iter().find_map(joined);
    let any = || sys.part_ixs().find(|p| strung.roles[p.0] == Role::Body && cylinder(*p));
    sys.part(ix).on.or_else(piped).or_else(any)
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
