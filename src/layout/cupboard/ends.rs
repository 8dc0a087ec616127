//! What every end of every chain needs. In: the strung system. Out: tube and lagging of each
//! chain, the straight length at each end, and which fittings sit right at that end.

use std::collections::BTreeMap;

use crate::catalogue::{RealPort, Tube};
use crate::layout::space::{self, Block, Dir, Sitting, V};
use crate::model::{PartIx, Service, System};

use super::chains::{Chain, Role, Strung, Tip};
use super::heights::{BEND, STRAIGHT};
use super::plan::Owner;
use super::room::Stub;

/// Between two fittings in a line, mm (common practice).
pub const NIPPLE: f64 = 10.0;

#[derive(Clone, Debug)]
pub struct EndSpec {
    pub straight: f64,
    /// Fittings from the end outward.
    pub beads: Vec<PartIx>,
}

#[derive(Clone)]
pub struct Specs {
    pub ends: Vec<[EndSpec; 2]>,
    /// Half the width of the widest fitting at each end.
    pub wide: Vec<[f64; 2]>,
    pub od: Vec<f64>,
    pub lagging: Vec<f64>,
    /// Parts left to sit anywhere between the ends.
    pub free: Vec<Vec<PartIx>>,
    /// More straight length than they need by themselves, mm: what earlier tries taught.
    pub extra: Vec<f64>,
    pub by_tip: BTreeMap<Tip, (usize, usize)>,
}

impl Specs {
    pub fn outer(&self, chain: usize) -> f64 {
        self.od[chain] / 2.0 + self.lagging[chain]
    }

    /// Straight length that the free fittings of a tip's chain need.
    pub fn need(&self, sys: &System, tip: Tip) -> f64 {
        let Some(&(c, _)) = self.by_tip.get(&tip) else { return 0.0 };
        let each = |p: &PartIx| line_length(sys, *p, self.od[c]) + 2.0 * NIPPLE;
        let all: f64 = self.free[c].iter().map(each).sum();
        if all > 0.0 { all + 80.0 + self.extra[c] } else { self.extra[c] }
    }

    /// Lets the fittings at an end sit anywhere along their line.
    pub fn free_end(&mut self, sys: &System, strung: &Strung, c: usize, e: usize) {
        let mut beads = std::mem::take(&mut self.ends[c][e].beads);
        if e == 0 {
            beads.append(&mut self.free[c]);
            self.free[c] = beads;
        } else {
            beads.reverse();
            self.free[c].append(&mut beads);
        }
        self.wide[c][e] = 0.0;
        let (od, outer) = (self.od[c], self.outer(c));
        self.ends[c][e].straight = straight(sys, &strung.chains[c], e, &[], od, outer);
    }

    /// Room that the fittings right at a chain's end take, if it ends there.
    pub fn end_blocks(
        &self,
        sys: &System,
        chain: &Chain,
        (c, e): (usize, usize),
        room: &Block,
        at: V,
        out: Dir,
    ) -> Vec<Block> {
        let mut s = start_gap(sys, chain, e);
        let mut blocks = Vec::new();
        for part in &self.ends[c][e].beads {
            let [l, d, h] = sys.part(*part).kind.body;
            let long = line_length(sys, *part, self.od[c]);
            let seat = Sitting { at: out.step(at, s + long / 2.0), along: out, branch: None };
            blocks.push(space::bead_block(room, &seat, l, h / 2.0, d - h / 2.0));
            s += long + NIPPLE;
        }
        blocks
    }

    pub fn stub(&self, tip: Tip) -> Option<Stub> {
        let (c, e) = *self.by_tip.get(&tip)?;
        Some(Stub {
            straight: self.ends[c][e].straight,
            radius: self.outer(c).max(self.wide[c][e]),
        })
    }
}

/// From a chain's end to its first fitting, mm.
pub fn start_gap(sys: &System, own: &Chain, e: usize) -> f64 {
    match own.tips[e] {
        // Out of a round body's box first.
        Tip::Port(Owner::Part(p), _) if super::body::is_cylinder(&sys.part(p).kind.key) => 60.0,
        Tip::Tail(_) => 40.0,
        _ => 20.0,
    }
}

/// Outside diameter of a pipe, mm.
pub fn od(sys: &System, pipe: crate::model::PipeIx) -> f64 {
    let p = sys.pipe(pipe);
    let named = p.size.as_ref().and_then(|s| Tube::called(&s.value)).map(|t| t.od);
    named.unwrap_or(match p.service {
        Service::Discharge1 | Service::Drain | Service::Filling => 15.0,
        _ => 22.0,
    })
}

/// Length along the line and distance from its back to the line, of an inline part.
pub fn line_length(sys: &System, part: PartIx, od: f64) -> f64 {
    let k = &sys.part(part).kind;
    if k.key == "tee" { tee_length(od) } else { k.body[0] }
}

/// Overall length of a tee's run, mm (common practice).
pub fn tee_length(od: f64) -> f64 {
    (1.1 * od + 22.0).round()
}

/// How far a pipe runs straight from its end, mm, with the fittings that sit there.
fn straight(sys: &System, chain: &Chain, e: usize, beads: &[PartIx], od: f64, outer: f64) -> f64 {
    let fittings: f64 = beads.iter().map(|p| line_length(sys, *p, od) + NIPPLE).sum();
    let base = match od {
        d if d <= 22.5 => 50.0,
        d if d <= 28.5 => 60.0,
        d => 2.2 * d,
    };
    let mut straight = base.max(outer + 12.0) + fittings;
    // The branch of a tee takes some of a short link's length.
    if matches!(chain.tips[1 - e], Tip::Branch(_)) && beads.is_empty() {
        straight += 20.0;
    }
    if !beads.is_empty() {
        straight += 40.0;
    }
    if let Tip::Port(Owner::Part(p), port) = chain.tips[e] {
        let part = sys.part(p);
        if part.kind.key == "tundish" && part.kind.ports[port].name == "out" {
            // The elbow takes its own height.
            straight = straight.max(STRAIGHT + BEND.max(od));
        }
        if part.kind.key == "tee" && beads.is_empty() {
            straight = (outer + 12.0).max(25.0);
        }
        if matches!(part.kind.ports[port].real, Some(RealPort::Top { .. })) {
            straight = straight.max(100.0);
        }
    }
    straight.ceil()
}

pub fn specs(sys: &System, strung: &Strung) -> Specs {
    let mut s = Specs {
        ends: Vec::new(),
        wide: Vec::new(),
        od: Vec::new(),
        lagging: Vec::new(),
        free: Vec::new(),
        extra: vec![0.0; strung.chains.len()],
        by_tip: BTreeMap::new(),
    };
    for (c, chain) in strung.chains.iter().enumerate() {
        let od = chain.pipes.iter().map(|(p, _)| od(sys, *p)).fold(8.0, f64::max);
        let lagging = chain
            .pipes
            .iter()
            .filter_map(|(p, _)| sys.pipe(*p).lagging.as_ref())
            .map(|v| if v.value.is_finite() { v.value.clamp(0.0, 100.0) } else { 0.0 })
            .fold(0.0, f64::max);
        let outer = od / 2.0 + lagging;
        let mut beads = chain.between.clone();
        let mut at_end = [Vec::new(), Vec::new()];
        let tee = |p: &PartIx| strung.roles[p.0] == Role::Tee;
        let fixed = |t: &Tip| matches!(t, Tip::Port(..) | Tip::Tail(_));
        if beads.iter().any(tee) {
            if fixed(&chain.tips[0]) {
                while beads.first().is_some_and(|b| !tee(b)) {
                    at_end[0].push(beads.remove(0));
                }
            }
            if fixed(&chain.tips[1]) {
                while beads.last().is_some_and(|b| !tee(b)) {
                    at_end[1].extend(beads.pop());
                }
            }
        } else if !beads.is_empty() {
            let score = |t: &Tip| match t {
                Tip::Tail(_) => 2,
                Tip::Port(Owner::Part(p), _) => {
                    let key = &sys.part(*p).kind.key;
                    let pump = key.contains("pump") || key == "magnetic filter";
                    if pump { 3 } else { 1 }
                }
                Tip::Port(..) => 1,
                _ => 0,
            };
            let (a, b) = (score(&chain.tips[0]), score(&chain.tips[1]));
            if a == 0 && b == 0 {
                // Between two tees: anywhere.
            } else if a >= b {
                at_end[0].append(&mut beads);
            } else {
                beads.reverse();
                at_end[1].append(&mut beads);
            }
        }
        let ends = [0, 1].map(|e| {
            let own = std::mem::take(&mut at_end[e]);
            EndSpec { straight: straight(sys, chain, e, &own, od, outer), beads: own }
        });
        for e in 0..2 {
            s.by_tip.insert(chain.tips[e], (c, e));
        }
        let half = |p: &PartIx| sys.part(*p).kind.body[2] / 2.0;
        let wide = |e: usize| ends[e].beads.iter().map(half).fold(0.0, f64::max);
        s.wide.push([wide(0), wide(1)]);
        s.ends.push(ends);
        s.od.push(od);
        s.lagging.push(lagging);
        s.free.push(beads);
    }
    s
}
