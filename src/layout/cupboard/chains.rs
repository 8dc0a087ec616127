//! Pipes strung together. In: the system. Out: which parts are placed as bodies and which sit in
//! a pipe's line, and the chains of pipes between bodies, tails and tee branches.

use std::collections::BTreeMap;

use crate::catalogue::Mount;
use crate::layout::space::Dir;
use crate::model::{PartIx, PipeIx, PortRef, Service, System, UnitIx};

use super::body::dir_of;
use super::plan::Owner;

/// How a part stands in the cupboard.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    /// Elsewhere, or inside a unit.
    Absent,
    /// Inside a unit in the cupboard.
    Inner(UnitIx),
    /// A body with a place of its own.
    Body,
    /// Two opposed ports, carried in the line.
    Inline,
    /// A tee: a, b through, branch to the side.
    Tee,
    /// One port, on a stub.
    Leaf,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Tip {
    /// Port of a body: the owner, and the port's index (for a unit: the unit's own port).
    Port(Owner, usize),
    /// Out of the cupboard through a tail.
    Tail(PipeIx),
    /// The branch of a tee.
    Branch(PartIx),
    /// A part with one port at the end of a stub.
    Leaf(PartIx),
    /// Nothing: the pipe ends in the open.
    Open(PortRef),
}

/// Pipes from tip to tip with the parts that sit between them.
#[derive(Clone, Debug)]
pub struct Chain {
    pub tips: [Tip; 2],
    /// Each pipe, and whether the chain follows it from its `from` to its `to`.
    pub pipes: Vec<(PipeIx, bool)>,
    /// Parts between pipe i and pipe i + 1.
    pub between: Vec<PartIx>,
    pub net: usize,
}

impl Chain {
    /// What it joins, by the names of the ports: the same on a later issue.
    pub fn joins(&self, sys: &System) -> String {
        let port = |r| sys.port_name(r);
        let ends = self.pipes.iter().map(|(p, forward)| {
            let (from, to) = (port(sys.pipe(*p).from), port(sys.pipe(*p).to));
            if *forward { format!("{from} {to}") } else { format!("{to} {from}") }
        });
        ends.collect::<Vec<_>>().join(" ")
    }

    /// True where it starts or ends at a cylinder's relief valve.
    pub fn relieves(&self, sys: &System) -> bool {
        self.tips.iter().any(|tip| {
            matches!(tip, Tip::Port(Owner::Part(p), _)
                if sys.part(*p).kind.key == "temperature and pressure relief valve")
        })
    }
}

/// A unit's own connections as used: its port index → the pipe joined there.
#[derive(Clone, Debug, Default)]
pub struct Unions(pub BTreeMap<PipeIx, (UnitIx, usize)>);

pub struct Strung {
    pub roles: Vec<Role>,
    pub chains: Vec<Chain>,
    pub unions: Unions,
    /// Pipes between a part and the body it is screwed into.
    pub direct: Vec<PipeIx>,
}

pub fn role(sys: &System, ix: PartIx) -> Role {
    let p = sys.part(ix);
    if !p.in_cupboard() {
        return Role::Absent;
    }
    if let Some(u) = p.unit {
        let unit = sys.unit(u);
        return if unit.place.elsewhere.is_none() { Role::Inner(u) } else { Role::Absent };
    }
    let stated = p.place.x.is_some() || p.place.y.is_some() || p.place.z.is_some();
    match p.kind.mount {
        Mount::Elsewhere if !stated && p.place.side.is_none() => return Role::Absent,
        Mount::Line => {}
        _ => return Role::Body,
    }
    let real: Vec<Option<Dir>> = p
        .kind
        .ports
        .iter()
        .map(|s| match s.real {
            Some(crate::catalogue::RealPort::Box { out, .. }) => Some(dir_of(out)),
            _ => None,
        })
        .collect();
    if p.kind.key == "tee" && real.len() == 3 {
        return Role::Tee;
    }
    let own_place = matches!(
        p.kind.key.as_str(),
        "zone valve"
            | "pump"
            | "secondary pump"
            | "magnetic filter"
            | "filling loop"
            | "flexible hose"
            | "air separator"
            | "bypass valve"
            | "tundish"
            | "meter"
    );
    match real.as_slice() {
        [Some(a), Some(b)] if *a == b.opposite() && !own_place && !stated => Role::Inline,
        [Some(_)] if !stated => Role::Leaf,
        _ => Role::Body,
    }
}

pub fn string(sys: &System) -> Strung {
    let mut roles: Vec<Role> = sys.part_ixs().map(|ix| role(sys, ix)).collect();
    header_tees(sys, &mut roles);
    let unions = unions(sys, &roles);
    let mut s = Strung { roles, chains: Vec::new(), unions, direct: Vec::new() };
    let mut used = vec![false; sys.pipes.len()];
    for pipe in sys.pipe_ixs() {
        let p = sys.pipe(pipe);
        let (a, b) = (s.roles[p.from.part.0], s.roles[p.to.part.0]);
        let same_unit = matches!((a, b), (Role::Inner(u), Role::Inner(v)) if u == v);
        if (a == Role::Absent && b == Role::Absent) || same_unit {
            used[pipe.0] = true;
        } else if sys.part(p.from.part).on == Some(p.to.part)
            || sys.part(p.to.part).on == Some(p.from.part)
        {
            used[pipe.0] = true;
            s.direct.push(pipe);
        }
    }
    for start in sys.pipe_ixs() {
        if used[start.0] {
            continue;
        }
        used[start.0] = true;
        let mut pipes = vec![(start, true)];
        let mut between = Vec::new();
        let (tail, ahead) = walk(sys, &s, start, true, &mut used);
        for (part, pipe, forward) in ahead {
            between.push(part);
            pipes.push((pipe, forward));
        }
        let (head, behind) = walk(sys, &s, start, false, &mut used);
        for (part, pipe, forward) in behind {
            between.insert(0, part);
            pipes.insert(0, (pipe, !forward));
        }
        s.chains.push(Chain { tips: [head, tail], pipes, between, net: 0 });
    }
    number_nets(&mut s.chains);
    s
}

/// Tees right at a zone valve's inlet belong to the row of valves and are placed with it.
fn header_tees(sys: &System, roles: &mut [Role]) {
    let free = |ix: PartIx| {
        let p = &sys.part(ix).place;
        sys.part(ix).kind.key == "zone valve" && p.x.is_none() && p.y.is_none() && p.z.is_none()
    };
    let tees: Vec<PartIx> = sys.part_ixs().filter(|ix| roles[ix.0] == Role::Tee).collect();
    for tee in tees {
        let Some(pipe) = sys.pipe_at(PortRef { part: tee, port: 2 }) else { continue };
        let far = sys.far_end(pipe, tee);
        if roles[far.part.0] == Role::Body && far.port == 0 && free(far.part) {
            roles[tee.0] = Role::Body;
        }
    }
}

/// Follows the line through inline parts and straight through tees.
fn walk(
    sys: &System,
    s: &Strung,
    start: PipeIx,
    forward: bool,
    used: &mut [bool],
) -> (Tip, Vec<(PartIx, PipeIx, bool)>) {
    let mut steps = Vec::new();
    let mut pipe = start;
    let p = sys.pipe(pipe);
    let mut port = if forward { p.to } else { p.from };
    loop {
        let part = port.part;
        let next = match s.roles[part.0] {
            Role::Absent => return (Tip::Tail(pipe), steps),
            Role::Inner(_) => {
                let tip = match s.unions.0.get(&pipe) {
                    Some((u, k)) => Tip::Port(Owner::Unit(*u), *k),
                    None => Tip::Open(port),
                };
                return (tip, steps);
            }
            Role::Body => return (Tip::Port(Owner::Part(part), port.port), steps),
            Role::Leaf => return (Tip::Leaf(part), steps),
            Role::Tee if port.port == 2 => return (Tip::Branch(part), steps),
            Role::Tee | Role::Inline => PortRef { part, port: 1 - port.port },
        };
        let Some(on) = sys.pipe_at(next).filter(|q| !used[q.0]) else {
            return (Tip::Open(port), steps);
        };
        used[on.0] = true;
        let q = sys.pipe(on);
        let along = q.from == next;
        steps.push((part, on, along));
        port = if along { q.to } else { q.from };
        pipe = on;
    }
}

fn number_nets(chains: &mut [Chain]) {
    let mut net: Vec<usize> = (0..chains.len()).collect();
    let host = |chains: &[Chain], tee: PartIx| chains.iter().position(|c| c.between.contains(&tee));
    // Joined until nothing changes: a chain belongs with the one whose tee it leaves.
    loop {
        let mut changed = false;
        for i in 0..chains.len() {
            for tip in chains[i].tips {
                if let Tip::Branch(tee) = tip
                    && let Some(j) = host(chains, tee)
                {
                    let low = net[i].min(net[j]);
                    changed |= net[i] != low || net[j] != low;
                    net[i] = low;
                    net[j] = low;
                }
            }
        }
        if !changed {
            break;
        }
    }
    for (c, n) in chains.iter_mut().zip(net) {
        c.net = n;
    }
}

/// Which of a unit's own connections each outer pipe uses.
fn unions(sys: &System, roles: &[Role]) -> Unions {
    let mut out = Unions::default();
    let mut taken: BTreeMap<UnitIx, Vec<usize>> = BTreeMap::new();
    for pass in 0..2 {
        for pipe in sys.pipe_ixs() {
            let p = sys.pipe(pipe);
            let (a, b) = (roles[p.from.part.0], roles[p.to.part.0]);
            let (u, enters, other) = match (a, b) {
                (Role::Inner(u), Role::Inner(v)) if u == v => continue,
                (Role::Inner(u), _) => (u, false, p.to.part),
                (_, Role::Inner(u)) => (u, true, p.from.part),
                _ => continue,
            };
            if out.0.contains_key(&pipe) {
                continue;
            }
            let kind = &sys.unit(u).kind;
            let vessel = sys.part(other).kind.key == "hot-water vessel"
                || p.run.contains("expansion")
                || p.run.contains("vessel");
            let wanted = if p.service == Service::Discharge1 {
                "relief"
            } else if vessel {
                "vessel"
            } else if p.service == Service::ColdBalanced {
                "balanced cold"
            } else if enters {
                "in"
            } else {
                "out"
            };
            let own = taken.entry(u).or_default();
            let named = kind.port(wanted).filter(|k| !own.contains(k));
            let port = match (pass, named) {
                (0, Some(k)) => k,
                (0, None) => continue,
                // Whatever is left; beyond the kind's own ports come further unions.
                _ => (0..).find(|k| !own.contains(k)).unwrap_or(0),
            };
            own.push(port);
            out.0.insert(pipe, (u, port));
        }
    }
    out
}
