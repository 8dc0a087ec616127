//! The safety discharge in the room. In: the reliefs that stand already. Out: each tundish near
//! and below its relief, the hole where the pipe leaves, and the heights chain.

use crate::layout::space::{Block, Dir, V, manhattan};
use crate::model::{PartIx, PipeIx, Service, Side};

use super::body::{Body, LocalPort, Pose, Stood};
use super::chains::{Role, Tip};
use super::hang::Prefs;
use super::heights;
use super::place::Trade;
use super::plan::Owner;
use super::room::{Keep, Why};
use super::tails;

/// A tundish stands as much nearer to its relief than the rules allow, for a pipe that has to go
/// round something, and costs so much for each mm beyond.
const NEAR: f64 = 50.0;
const TETHER: f64 = 8.0;

impl Trade<'_> {
    /// What it costs a tundish to have its middle too far from its relief.
    pub(super) fn tether(&self, outlet: V, body: &Body) -> impl Fn(V) -> f64 + use<> {
        let (half, most) = (body.size[2] / 2.0, heights::first_pipe(self.sys) - NEAR);
        move |at: V| {
            let inlet = [at[0], at[1], at[2] + half];
            TETHER * (manhattan(inlet, outlet) - most).max(0.0)
        }
    }

    /// Outlet of the relief on a cylinder that drips into a tundish, if it stands already.
    fn relief_of(&self, tundish: Owner) -> Option<LocalPort> {
        let (c, e) = *self.specs.by_tip.get(&Tip::Port(tundish, 0))?;
        let chain = &self.strung.chains[c];
        let Tip::Port(relief, port) = chain.tips[1 - e] else { return None };
        let outlet = self.room.find(relief)?.port(port)?.clone();
        chain.relieves(self.sys).then_some(outlet)
    }

    /// The discharge where it leaves the room.
    pub(super) fn exit_pipe(&self) -> Option<PipeIx> {
        self.strung.chains.iter().flat_map(|c| c.tips).find_map(|t| match t {
            Tip::Tail(p) if self.sys.pipe(p).service == Service::Discharge2 => Some(p),
            _ => None,
        })
    }

    pub(super) fn discharge(&mut self) {
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
        let exit_pipe = self.exit_pipe();
        let side = exit_pipe.map_or(Side::Floor, |p| tails::side(self.sys, p));
        let floor = matches!(side, Side::Floor);
        let z = exit_pipe
            .and_then(|p| self.sys.pipe(p).tail.as_ref())
            .and_then(|t| t.z.as_ref())
            .map(|z| z.value)
            .filter(|_| !floor);
        let level = (self.room.size.hi[0] + self.room.size.hi[1]) / 2.0;
        let c = heights::solve(outlet[2], joins, body.size[2], z, level);
        self.heights = Some(c);
        self.hang_tundish(tundish, outlet, c.tundish_in, side);
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
        // Further ones drip into the same pipe: each below its own relief, high enough above it.
        for other in tundishes.into_iter().skip(1) {
            let Some(outlet) = self.relief_of(Owner::Part(other)).map(|p| p.at) else { continue };
            let high = self.body_of(other, 0.0, false).size[2];
            let c = heights::solve(outlet[2], false, high, z.or(self.common_run()), 2.0 * level);
            self.hang_tundish(other, outlet, c.tundish_in, side);
        }
    }

    /// Height at which what the first tundish lets go runs to its hole.
    fn common_run(&self) -> Option<f64> {
        let pipe = self.exit_pipe()?;
        let through_wall = !matches!(tails::side(self.sys, pipe), Side::Floor | Side::Ceiling);
        self.tails.get(&pipe).map(|t| t.at[2]).filter(|_| through_wall)
    }

    /// Hangs a tundish near the relief that drips into it, its inlet at a height.
    fn hang_tundish(&mut self, tundish: PartIx, outlet: V, inlet_at: f64, side: Side) {
        let owner = Owner::Part(tundish);
        if self.room.find(owner).is_some() {
            return;
        }
        let body = self.body_of(tundish, 0.0, false);
        let mid = inlet_at - body.size[2] / 2.0;
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
        self.hang(owner, prefs.clone());
        let inlet = self.room.find(owner).and_then(|s| s.port(0)).map(|p| p.at);
        let far = inlet.is_none_or(|p| manhattan(p, outlet) > heights::first_pipe(self.sys) - NEAR);
        if !far {
            return;
        }
        // No wall that it likes is near enough: carried by its pipe, straight below the relief, or
        // where it likes less.
        self.room.stood.truncate(before.0);
        self.room.keeps.truncate(before.1);
        self.faults.truncate(before.2);
        let down = self.relief_of(owner).is_none_or(|p| p.out == Dir::DOWN);
        let below = |inlet: f64| {
            let mut corner = outlet;
            corner[0] -= body.size[0] / 2.0;
            corner[1] -= body.size[1] / 2.0;
            corner[2] = inlet - body.size[2];
            Stood::new(body.clone(), Pose::against(Side::Back), corner, Side::Back)
        };
        let highest = outlet[2] - heights::ELBOWS;
        let inlets = (0..).map(|i| inlet_at + 10.0 * f64::from(i)).take_while(|z| *z <= highest);
        // Above it the pipe comes straight down: only below it must there be room for a stub.
        let clear = inlets.map(below).find(|s| {
            let stubs = self.room.stubs_of(s, &|port| self.stub(owner, port).filter(|_| port == 1));
            self.room.faults(s, &stubs) == 0
        });
        match clear {
            Some(s) => self.put(s),
            None => {
                // Out of its side it needs no second elbow.
                let highest = if down { highest } else { outlet[2] - heights::ELBOWS / 2.0 };
                let z_hard = (prefs.z_hard.0, highest - body.size[2] / 2.0);
                self.hang(owner, Prefs { near: Some(outlet), z_hard, ..prefs });
            }
        }
    }
}
