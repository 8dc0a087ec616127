//! The component graph, with the walks every later stage needs.

use std::collections::{BTreeMap, BTreeSet};

use serde::Serialize;

use super::{
    Assumption, Job, Part, PartIx, Pipe, PipeIx, PortRef, Ruleset, Service, Site, Unit, UnitIx,
};

/// Parts joined by pipes, in a canonical order that does not depend on the order of the file.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct System {
    pub job: Job,
    pub rules: Ruleset,
    pub site: Site,
    pub parts: Vec<Part>,
    pub pipes: Vec<Pipe>,
    pub units: Vec<Unit>,
    pub assumptions: Vec<Assumption>,
}

impl System {
    pub fn part(&self, ix: PartIx) -> &Part {
        &self.parts[ix.0]
    }

    pub fn pipe(&self, ix: PipeIx) -> &Pipe {
        &self.pipes[ix.0]
    }

    pub fn unit(&self, ix: UnitIx) -> &Unit {
        &self.units[ix.0]
    }

    pub fn part_ixs(&self) -> impl Iterator<Item = PartIx> + use<> {
        (0..self.parts.len()).map(PartIx)
    }

    pub fn pipe_ixs(&self) -> impl Iterator<Item = PipeIx> + use<> {
        (0..self.pipes.len()).map(PipeIx)
    }

    /// Parts of a kind, by the kind's key.
    pub fn of_kind<'a>(&'a self, key: &'a str) -> impl Iterator<Item = (PartIx, &'a Part)> + 'a {
        self.parts
            .iter()
            .enumerate()
            .filter(move |(_, p)| p.kind.key == key)
            .map(|(i, p)| (PartIx(i), p))
    }

    pub fn by_tag(&self, tag: &str) -> Option<PartIx> {
        self.parts.iter().position(|p| p.tag == tag).map(PartIx)
    }

    /// The pipe of an id.
    pub fn by_id(&self, id: &str) -> Option<&Pipe> {
        self.pipes.iter().find(|p| p.id == id)
    }

    pub fn by_name(&self, name: &str) -> Option<PartIx> {
        self.parts.iter().position(|p| p.name == name).map(PartIx)
    }

    /// `TAG.port` of a port.
    pub fn port_name(&self, port: PortRef) -> String {
        let part = self.part(port.part);
        format!("{}.{}", part.tag, part.kind.ports[port.port].name)
    }

    /// The pipe on a port, if one is joined there. A port takes one pipe.
    pub fn pipe_at(&self, port: PortRef) -> Option<PipeIx> {
        self.pipes.iter().position(|p| p.from == port || p.to == port).map(PipeIx)
    }

    /// Pipes that meet a part, in order.
    pub fn pipes_of(&self, part: PartIx) -> impl Iterator<Item = PipeIx> + '_ {
        self.pipes
            .iter()
            .enumerate()
            .filter(move |(_, p)| p.from.part == part || p.to.part == part)
            .map(|(i, _)| PipeIx(i))
    }

    /// The other end of a pipe.
    pub fn far_end(&self, pipe: PipeIx, near: PartIx) -> PortRef {
        let p = self.pipe(pipe);
        if p.from.part == near { p.to } else { p.from }
    }

    /// Where the main runs to, with a valve shut: the ports of outlets and of sources that heat
    /// water themselves; `on`: through such a source to what it feeds, too.
    pub fn reached(&self, shut: Option<PartIx>, on: bool) -> Vec<PortRef> {
        let shut: Vec<PartIx> = shut.into_iter().collect();
        self.runs_from(self.mains(), &shut, on)
    }

    /// Where the street's water enters.
    pub fn mains(&self) -> Vec<PortRef> {
        self.of_kind("water main")
            .filter_map(|(part, p)| p.kind.port("out").map(|port| PortRef { part, port }))
            .collect()
    }

    /// Where water that leaves by those ports runs to, with some valves shut.
    pub fn runs_from(&self, mut todo: Vec<PortRef>, shut: &[PartIx], on: bool) -> Vec<PortRef> {
        let from: BTreeMap<PortRef, PortRef> = self.pipes.iter().map(|p| (p.from, p.to)).collect();
        let mut seen: BTreeSet<PortRef> = BTreeSet::new();
        let mut found: Vec<PortRef> = Vec::new();
        while let Some(port) = todo.pop() {
            let Some(to) = from.get(&port) else { continue };
            if shut.contains(&to.part) || !seen.insert(*to) {
                continue;
            }
            let kind = &self.part(to.part).kind;
            let outlet = kind.symbol.name == "outlet";
            if outlet || kind.heats {
                found.push(*to);
            }
            if !outlet && (on || !kind.heats) {
                let next = kind.shares_water(to.port);
                todo.extend(next.into_iter().map(|port| PortRef { part: to.part, port }));
            }
        }
        found.sort();
        found
    }

    /// What the main still runs to with a valve shut: outlets and sources that heat water
    /// themselves.
    pub fn runs_past(&self, valve: PartIx) -> Vec<PartIx> {
        let mut found: Vec<PartIx> =
            self.reached(Some(valve), false).into_iter().map(|p| p.part).collect();
        found.sort();
        found.dedup();
        found
    }

    /// Eight hex digits that stand for the content: the same for the same facts in any order.
    pub fn digest(&self) -> String {
        // FNV-1a, 64 bits, folded to 32; places in the text are left out by `serde(skip)`.
        let text = serde_json::to_string(self).unwrap_or_default();
        let hash = text.bytes().fold(0xcbf2_9ce4_8422_2325_u64, |h, b| {
            (h ^ u64::from(b)).wrapping_mul(0x0100_0000_01b3)
        });
        format!("{:08x}", (hash >> 32) ^ (hash & 0xffff_ffff))
    }

    pub fn services(&self) -> Vec<Service> {
        let mut all: Vec<Service> = self.pipes.iter().map(|p| p.service).collect();
        all.sort();
        all.dedup();
        all
    }
}
