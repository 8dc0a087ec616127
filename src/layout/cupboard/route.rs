//! The task of the router. In: the room, the chains and their ends. Out: the same as the engine takes
//! them, without the trade: solids, spaces, chains with beads, planes along the walls.

use crate::catalogue::Mount;
use crate::layout::space::{self, Bead, Block, Dir, End, Fall, Level, Problem, V};
use crate::model::System;

use super::body::{self, Stood};
use super::chains::{Chain, Role, Strung, Tip};
use super::ends::{NIPPLE, Specs, tee_length};
use super::place::{Placed, standoff};
use super::plan::{Form, Owner};
use super::room::{Room, Why};

/// Between a bare cold and a bare hot pipe side by side, mm (common practice, no source).
const APART: f64 = 55.0;

/// Between parallel pipes, mm: bare, lagged, and where room is short, for a joint's socket and a
/// spanner's jaw or for fingers round the lagging (common practice, no source).
const GAP: f64 = 25.0;
const LAGGED: f64 = 20.0;
const SNUG: f64 = 12.0;

/// Price of each mm that a drain cock hangs above the foot of its line: what lies below it can't be
/// emptied.
const SINK: f64 = 12.0;

/// Price of each mm that an air vent's tee is below the top of its line: what air gathers there it
/// never lets out.
const VENT: f64 = 4.0;

/// Heights between which a gauge is read by one who stands, mm, and the price of each mm outside
/// (common practice, no source).
const READ: (f64, f64) = (700.0, 1700.0);
const UNREAD: f64 = 2.0;

/// Price of a pipe across the way from the door to what a hand must come to, and to what must be
/// seen, mm.
const REACHED: f64 = 300.0;
const SEEN: f64 = 1200.0;

/// Half a tube, by which it covers a body beside its own middle line, mm.
const TUBE: f64 = 12.0;

/// The way from the door to a body, with what each mm across it costs.
fn way_to(room: &Room, body: &Block, price: f64) -> Option<(Block, f64)> {
    let size = body.size();
    let mut way = room.before(body)?;
    for a in [0, 2] {
        (way.lo[a], way.hi[a]) = (way.lo[a] - TUBE, way.hi[a] + TUBE);
    }
    Some((way, price / (size[0].min(size[2]) + 2.0 * TUBE)))
}

/// The task as the engine takes it; `snug`: pipes nearer to one another than they would rather be.
pub fn problem(
    sys: &System,
    strung: &Strung,
    specs: &Specs,
    placed: &Placed,
    snug: bool,
) -> Problem {
    let room = &placed.room;
    let mut p = Problem {
        room: room.size,
        apart: APART,
        near: room.plane + 75.0,
        rounds: 14,
        states: 30_000,
        ..Problem::default()
    };
    for s in &room.stood {
        p.solids.extend(s.slices());
        p.boxes.push(s.at);
        if body::is_cylinder(&s.body.kind) && s.body.form == Form::Upright {
            p.front_of = Some(s.at);
        }
    }
    for k in &room.keeps {
        match k.why {
            _ if k.is_solid() => {
                p.solids.push(k.block);
                p.boxes.push(k.block);
            }
            Why::Access => p.spaces.push((k.block, 2.5)),
            _ => {}
        }
    }
    let served = |s: &&Stood| s.body.access > 0.0 && s.body.mount != Mount::Floor;
    for s in room.stood.iter().filter(served) {
        let price = if s.body.kind == "tundish" { SEEN } else { REACHED };
        p.ways.extend(way_to(room, &s.at, price));
    }
    for s in room.stood.iter().filter(|s| s.body.kind == "wiring centre") {
        let mut above = s.at.grown(10.0);
        above.lo[2] = s.at.hi[2];
        above.hi[2] = room.size.hi[2];
        p.spaces.push((above, 1.5));
    }
    for c in 0..strung.chains.len() {
        let mut chain = chain(sys, strung, specs, placed, c);
        if snug {
            chain.gap[0] = SNUG;
        }
        p.chains.push(chain);
    }
    // What sits right at an end never moves either.
    for c in 0..strung.chains.len() {
        for e in 0..2 {
            let blocks = end_blocks(sys, strung, specs, placed, c, e);
            for (part, block) in specs.ends[c][e].beads.iter().zip(blocks) {
                if sys.part(*part).kind.access > 0.0 {
                    p.ways.extend(way_to(room, &block, REACHED));
                }
                p.solids.push(block);
                p.boxes.push(block);
            }
        }
    }
    // Planes along the walls, a pitch apart, for the widest pipe.
    let widest = (0..specs.od.len()).map(|c| specs.outer(c)).fold(11.0, f64::max);
    let pitch = (2.0 * widest + 25.0).ceil();
    let planes = |lo: f64, hi: f64, both: bool, n: u32| {
        let mut out = Vec::new();
        for i in 0..n {
            out.push(lo + room.plane + pitch * f64::from(i));
            if both {
                out.push(hi - room.plane - pitch * f64::from(i));
            }
        }
        out
    };
    let (lo, hi) = (room.size.lo, room.size.hi);
    p.lines = [
        planes(lo[0], hi[0], true, 4),
        planes(lo[1], hi[1], true, 4),
        planes(lo[2] + 40.0, hi[2], true, 6),
    ];
    p
}

/// Room that the fittings right at a chain's end take.
fn end_blocks(
    sys: &System,
    strung: &Strung,
    specs: &Specs,
    placed: &Placed,
    c: usize,
    e: usize,
) -> Vec<Block> {
    match end(sys, strung, specs, placed, c, e) {
        End::Port { at, out, .. } => {
            specs.end_blocks(sys, &strung.chains[c], (c, e), &placed.room.size, at, out)
        }
        _ => Vec::new(),
    }
}

/// Fittings at an end that would stand in a body, in the door's way or in one another go further
/// along their line, wherever there is room.
pub fn freed(sys: &System, strung: &Strung, specs: &Specs, placed: &Placed) -> Specs {
    let mut out = specs.clone();
    let room = &placed.room;
    let mut taken: Vec<Block> = room.stood.iter().map(|s| s.at).collect();
    taken.extend(room.keeps.iter().filter(|k| k.is_solid()).map(|k| k.block));
    for c in 0..strung.chains.len() {
        for e in 0..2 {
            let blocks = end_blocks(sys, strung, specs, placed, c, e);
            let free = |b: &Block| room.size.contains(b) && !taken.iter().any(|t| t.overlaps(b));
            if blocks.iter().all(free) {
                taken.extend(blocks);
            } else {
                out.free_end(sys, strung, c, e);
            }
        }
    }
    out
}

fn chain(sys: &System, strung: &Strung, specs: &Specs, placed: &Placed, c: usize) -> space::Chain {
    let own = &strung.chains[c];
    let od = specs.od[c];
    let lagged = specs.lagging[c] > 0.0;
    let ends = [0, 1].map(|e| end(sys, strung, specs, placed, c, e));
    let beads = specs.free[c]
        .iter()
        .map(|p| {
            let tee = strung.roles[p.0] == Role::Tee;
            let [l, d, h] = sys.part(*p).kind.body;
            let length = if tee { tee_length(od) } else { l } + NIPPLE;
            Bead {
                length,
                half: if tee { od / 2.0 + 2.0 } else { h / 2.0 },
                reach: if tee { 0.0 } else { d - h / 2.0 },
                branch: tee,
                stub: tee_length(od) / 2.0,
            }
        })
        .collect();
    let falls = own.pipes.iter().any(|(p, _)| sys.pipe(*p).service.must_fall());
    let forward = own.pipes.first().is_none_or(|(_, f)| *f);
    let fall = match (falls, forward) {
        (false, _) => Fall::Free,
        (true, true) => Fall::Down,
        (true, false) => Fall::Up,
    };
    space::Chain {
        net: own.net,
        radius: specs.outer(c),
        standoff: standoff(specs, c).min(placed.room.plane),
        gap: [if lagged { LAGGED } else { GAP }, 8.0],
        ends,
        beads,
        fall,
        run: (1.6 * od).max(30.0),
        rank: if falls { 1000 } else { od as i32 },
        warmth: if lagged { 0 } else { sys.pipe(own.pipes[0].0).service.warmth() },
    }
}

pub fn end(
    sys: &System,
    strung: &Strung,
    specs: &Specs,
    placed: &Placed,
    c: usize,
    e: usize,
) -> End {
    let tip = strung.chains[c].tips[e];
    let spec = &specs.ends[c][e];
    let od = specs.od[c];
    let loose = |long: f64, half: f64, ways: Vec<Dir>| End::Leaf {
        stub: 30.0,
        length: long,
        half,
        ways,
        level: Level::Any,
    };
    match tip {
        Tip::Port(owner, port) => match placed.room.find(owner).and_then(|s| s.port(port)) {
            Some(p) => End::Port { at: p.at, out: p.out, straight: spec.straight },
            None => loose(od, od / 2.0, vec![Dir::DOWN]),
        },
        Tip::Tail(pipe) => match placed.tails.get(&pipe) {
            Some(t) => {
                let straight = super::tails::straight(specs, &placed.room, pipe, t.side);
                End::Port { at: t.at, out: t.out, straight }
            }
            None => loose(od, od / 2.0, vec![Dir::DOWN]),
        },
        Tip::Branch(tee) => {
            let host = specs
                .free
                .iter()
                .enumerate()
                .find_map(|(i, beads)| Some((i, beads.iter().position(|b| *b == tee)?)));
            match host {
                Some((chain, bead)) if chain != c => End::Branch { chain, bead },
                _ => loose(od, od / 2.0, vec![Dir::DOWN, Dir::FRONT]),
            }
        }
        Tip::Leaf(part) => {
            let k = &sys.part(part).kind;
            let out = k.ports.first().and_then(|p| match p.real {
                Some(crate::catalogue::RealPort::Box { out, .. }) => Some(body::dir_of(out)),
                _ => None,
            });
            let out = out.unwrap_or(Dir::UP);
            let long = k.body[out.axis()];
            let half = [0, 1, 2]
                .into_iter()
                .filter(|a| *a != out.axis())
                .map(|a| k.body[a])
                .fold(0.0, f64::max)
                / 2.0;
            let level = match k.key.as_str() {
                "drain cock" => Level::Foot(SINK),
                "automatic air vent" => Level::Top(VENT),
                "pressure gauge" => Level::Between(READ.0, READ.1, UNREAD),
                _ => Level::Any,
            };
            let mut ways = vec![out.opposite()];
            // A float lets air out only where its body stands upright.
            if !matches!(level, Level::Top(_)) {
                let others = [Dir::FRONT, Dir::RIGHT, Dir::LEFT, Dir::UP, Dir::DOWN];
                ways.extend(others.into_iter().filter(|d| *d != out.opposite()));
            }
            End::Leaf { stub: 30.0, length: long, half, ways, level }
        }
        Tip::Open(_) => loose(25.0, od / 2.0 + 4.0, vec![Dir::DOWN, Dir::FRONT, Dir::UP]),
    }
}

/// What an unrouted chain runs into: the first body on the bare way, if any. What it begins and ends
/// at is in nobody's way.
pub fn blocker(
    sys: &System,
    chain: &Chain,
    placed: &Placed,
    points: &[V],
) -> Option<(String, Block)> {
    let (a, b) = (*points.first()?, *points.last()?);
    let own: Vec<Owner> = chain.tips.iter().flat_map(|tip| joined_to(sys, *tip)).collect();
    for t in 1..20 {
        let f = f64::from(t) / 20.0;
        let at = [0, 1, 2].map(|i| a[i] + (b[i] - a[i]) * f);
        let probe = Block::new(at, at).grown(12.0);
        let hit = placed
            .room
            .stood
            .iter()
            .filter(|s| !own.contains(&s.body.owner))
            .find(|s| s.at.overlaps(&probe) && s.slices().iter().any(|x| x.overlaps(&probe)));
        if let Some(s) = hit {
            return Some((s.body.tag.clone(), s.at));
        }
    }
    None
}

/// The body at a tip, with what it is screwed to or comes in.
fn joined_to(sys: &System, tip: Tip) -> Vec<Owner> {
    let part = match tip {
        Tip::Port(Owner::Part(part), _) | Tip::Leaf(part) => part,
        Tip::Port(unit, _) => return vec![unit],
        _ => return Vec::new(),
    };
    let p = sys.part(part);
    let host = p.on.into_iter().flat_map(|h| {
        [Some(Owner::Part(h)), sys.part(h).unit.map(Owner::Unit)].into_iter().flatten()
    });
    [Owner::Part(part)].into_iter().chain(p.unit.map(Owner::Unit)).chain(host).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A pipe from the relief valve on a cylinder is not told that its cylinder stands in its way.
    #[test]
    fn the_body_that_holds_an_end_is_left_out() {
        let reading =
            crate::describe::read("cylinder litres=210 heated=\"indirect\"\nboiler kw=24");
        let sys = crate::complete::complete(&reading.facts).system;
        let named = |tag: &str| sys.by_tag(tag).unwrap_or_else(|| panic!("no {tag}"));
        let (valve, store) = (named("TPRV1"), named("CYL1"));
        let own = joined_to(&sys, Tip::Port(Owner::Part(valve), 1));
        assert!(own.contains(&Owner::Part(valve)) && own.contains(&Owner::Part(store)), "{own:?}");
        assert!(!own.contains(&Owner::Part(named("TUN1"))));
    }
}
