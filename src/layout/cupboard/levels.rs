//! The heights of each safety discharge as it was laid. In: the graph, bodies and routes. Out: for
//! each tundish a chain from the relief outlet to the hole in the wall, top first.
//!
//! Falls are drawn level on the right-angled grid. Here every run has its true height: the last
//! ends in the hole, one above a drop begins where it is drawn.

use std::collections::BTreeSet;

use super::heights::{BEND, FALL, STRAIGHT, first_pipe};
use super::plan::{CupboardPlan, HeightChain, HeightLink, Owner, Route, Solid};
use crate::model::{P3, PartIx, PipeIx, Service, Side, System, whole_mm};

/// One chain for each tundish in the room that a store's relief drips into.
pub fn chains(sys: &System, plan: &CupboardPlan) -> Vec<HeightChain> {
    let tundishes = sys.part_ixs().filter(|ix| sys.part(*ix).kind.key == "tundish");
    tundishes.filter_map(|ix| chain(sys, plan, ix)).collect()
}

/// What a chain is made of.
struct Laid {
    /// Outlet of an expansion relief valve that joins above the tundish.
    group: Option<f64>,
    /// What the relief's outlet is called, its height, and the length of its pipe.
    relief: (&'static str, f64, f64),
    /// Longest pipe allowed from the relief to the tundish.
    longest: f64,
    tundish: (f64, f64),
    /// From the tundish's outlet to the end.
    below: Vec<P3>,
    /// Points of `below` at which another pipe joins, with the tee's tag.
    tees: Vec<(usize, String)>,
    exit: Option<Side>,
    one_in: f64,
}

fn chain(sys: &System, plan: &CupboardPlan, tundish: PartIx) -> Option<HeightChain> {
    let solid = plan.solids.iter().find(|s| s.owner == Owner::Part(tundish))?;
    let inlets = inlets(sys, tundish);
    let is_relief = |v: &PartIx| sys.part(*v).kind.key == "temperature and pressure relief valve";
    // Inside a unit the pipe begins where it leaves it.
    let drawn = |pipes: &[PipeIx]| -> Vec<PipeIx> {
        pipes.iter().copied().filter(|p| plan.route(*p).is_some()).collect()
    };
    let start = |pipes: &[PipeIx]| Some(plan.route(*pipes.first()?)?.points.first()?.z);
    let reliefs = inlets.iter().filter(|(v, _)| is_relief(v)).filter_map(|(v, pipes)| {
        let pipes = drawn(pipes);
        let name =
            if sys.part(*v).unit.is_some() { "unit's discharge outlet" } else { "relief outlet" };
        let long = plan.way(&pipes).unwrap_or(0.0);
        Some((pipes.first().copied(), (name, start(&pipes)?, long)))
    });
    let reliefs: Vec<_> = reliefs.collect();
    // Of several the one farthest from its tundish.
    let relief = reliefs.iter().map(|r| r.1).max_by(|a, b| a.2.total_cmp(&b.2))?;
    let group = inlets
        .iter()
        .filter(|(v, _)| !is_relief(v))
        .map(|(_, pipes)| drawn(pipes))
        .filter(|pipes| !reliefs.iter().any(|r| r.0 == pipes.first().copied()))
        .filter_map(|pipes| start(&pipes))
        .reduce(f64::min);
    // What the tundish carries of it, else another one, else the flattest that is allowed.
    let fall = |ix: PartIx| sys.part(ix).number("fall").filter(|n| *n > 0.0);
    let stated = || sys.of_kind("tundish").find_map(|(ix, _)| fall(ix));
    let one_in = fall(tundish).or_else(stated).unwrap_or(1.0 / FALL);
    let (below, tees, exit) = below(sys, plan, tundish, solid);
    let laid = Laid {
        group,
        relief,
        longest: first_pipe(sys),
        tundish: (solid.at.z + solid.at.h, solid.at.z),
        below,
        tees,
        exit,
        one_in,
    };
    Some(HeightChain { tundish: solid.tag.clone(), links: links(&laid) })
}

/// The valves that drip into a tundish, each with the pipes from its outlet down.
fn inlets(sys: &System, tundish: PartIx) -> Vec<(PartIx, Vec<PipeIx>)> {
    let into = |part: PartIx| {
        sys.pipe_ixs().filter(move |p| {
            let pipe = sys.pipe(*p);
            pipe.to.part == part && pipe.service == Service::Discharge1
        })
    };
    let mut out = Vec::new();
    let mut met = BTreeSet::from([tundish]);
    let mut open: Vec<Vec<PipeIx>> = into(tundish).map(|p| vec![p]).collect();
    while let Some(path) = open.pop() {
        let part = sys.pipe(path[0]).from.part;
        if !met.insert(part) {
            continue;
        }
        if sys.part(part).kind.key.ends_with("valve") {
            out.push((part, path));
            continue;
        }
        open.extend(into(part).map(|p| [&[p], path.as_slice()].concat()));
    }
    out.sort();
    out
}

type Below = (Vec<P3>, Vec<(usize, String)>, Option<Side>);

/// The way from a tundish's outlet to where it leaves the room, with the tees on it.
fn below(sys: &System, plan: &CupboardPlan, tundish: PartIx, solid: &Solid) -> Below {
    let b = solid.at;
    let mut points = vec![P3::new(b.x + b.w / 2.0, b.y + b.d / 2.0, b.z)];
    let mut tees = Vec::new();
    let mut met = BTreeSet::new();
    let mut part = tundish;
    let next = |part: PartIx| {
        sys.pipe_ixs().find(|p| {
            let pipe = sys.pipe(*p);
            pipe.from.part == part && pipe.service == Service::Discharge2
        })
    };
    while met.insert(part)
        && let Some(pipe) = next(part)
        && let Some(route) = plan.route(pipe)
    {
        if part != tundish {
            tees.push((points.len(), joining(sys, part, pipe, tundish)));
        }
        lead(route, &mut points);
        if let Some(exit) = &route.exit {
            return (points, tees, Some(exit.side));
        }
        part = sys.pipe(pipe).to.part;
    }
    (points, tees, None)
}

/// Which other tundishes drain into a tee: it bears no tag on any sheet. `on`: the pipe that leads
/// away.
fn joining(sys: &System, tee: PartIx, on: PipeIx, but: PartIx) -> String {
    let mut found = BTreeSet::new();
    let mut met = BTreeSet::from([sys.pipe(on).to.part]);
    let mut open = vec![tee];
    while let Some(part) = open.pop() {
        if !met.insert(part) {
            continue;
        }
        if sys.part(part).kind.key == "tundish" {
            found.insert(sys.part(part).tag.as_str());
            continue;
        }
        let into = sys.pipes.iter().filter(|p| p.to.part == part);
        open.extend(into.filter(|p| p.service == Service::Discharge2).map(|p| p.from.part));
    }
    found.remove(sys.part(but).tag.as_str());
    found.into_iter().collect::<Vec<_>>().join(", ")
}

/// Adds a route; one that found no way falls first and runs then.
fn lead(route: &Route, points: &mut Vec<P3>) {
    let last = points.last().copied().unwrap_or_default();
    if route.routed {
        points.extend(route.points.iter().filter(|p| **p != last));
    } else if let Some(end) = route.points.last() {
        points.extend([P3::new(last.x, last.y, end.z), *end]);
    }
}

fn sideways(a: P3, b: P3) -> f64 {
    (a.x - b.x).abs() + (a.y - b.y).abs()
}

/// True height of each point. From the hole upwards each must be so much higher than the next as
/// the run between them falls; a run that ends above a drop begins where it is drawn.
fn true_heights(below: &[P3], one_in: f64) -> Vec<f64> {
    let fall = |i: usize| sideways(below[i], below[i + 1]) / one_in;
    let mut t: Vec<f64> = below.iter().map(|p| p.z).collect();
    for i in (1..below.len().saturating_sub(1)).rev() {
        t[i] = t[i + 1] + fall(i);
    }
    for i in 1..below.len().saturating_sub(1) {
        let from_above = t[i - 1] - fall(i - 1);
        let drops = below[i - 1].z - below[i].z > 0.5;
        t[i] = if drops { t[i].max(below[i].z) } else { t[i].max(from_above) };
    }
    t
}

fn links(c: &Laid) -> Vec<HeightLink> {
    let mut out = Vec::new();
    let mut link =
        |what: &str, says: String, z: f64, (drop, slack): (f64, Option<f64>), how: &str| {
            let mend = if slack.is_some_and(|s| s < 0.0) { how.to_owned() } else { String::new() };
            out.push(HeightLink { what: what.to_owned(), z, drop, slack, says, mend });
        };
    let (inlet, outlet) = c.tundish;
    let above = |z: f64| format!("{} above the tundish inlet", whole_mm(z - inlet));
    // What has no limit but that it stands higher has no slack; it may be short.
    let short = |over: f64| Some(over).filter(|o| *o < 0.0);
    if let Some(z) = c.group {
        let how = "raise the inlet group above the tundish";
        link("expansion relief outlet", above(z), z, (z - inlet, short(z - inlet)), how);
    }
    let (name, relief, long) = c.relief;
    let how = "bring the tundish nearer, or turn the cylinder";
    link(name, above(relief), relief, (relief - inlet, Some(c.longest - long)), how);
    let how = "lower the tundish below the relief outlet";
    let says = format!("the tundish is {} high", whole_mm(inlet - outlet));
    link("tundish inlet", says, inlet, (inlet - outlet, short(relief - inlet)), how);
    let t = true_heights(&c.below, c.one_in);
    let level = |i: usize| sideways(c.below[i], c.below[i + 1]) > 0.5;
    let last = t.len() - 1;
    let bend = (0..last).find(|i| level(*i));
    let straight = match bend {
        Some(i) => outlet - t[i] - BEND,
        None => outlet - t[last],
    };
    let how = "stand the cylinder on a plinth, shorten the first pipe, or leave by another wall";
    let mut says = format!("{}, at least {STRAIGHT:.0}", whole_mm(straight));
    if bend.is_some() {
        says.push_str(&format!(", then {BEND:.0} of bend"));
    }
    let room = (straight, Some(straight - STRAIGHT));
    link(HeightChain::STRAIGHT, says, outlet, room, how);
    let mut i = bend.unwrap_or(last);
    let mut joined = false;
    while i < last {
        let runs = level(i);
        let tee = |j: usize| c.tees.iter().find(|(at, _)| *at == j);
        let end = (i + 1..last).find(|j| level(*j) != runs || tee(*j).is_some()).unwrap_or(last);
        let start = match tee(i).filter(|_| joined) {
            Some((_, joins)) if joins.is_empty() => "tee".to_owned(),
            Some((_, joins)) => format!("tee with the pipe of {joins}"),
            None => "bend".to_owned(),
        };
        let way = if runs { format!("falling 1:{:.0}", c.one_in) } else { "straight down".into() };
        let drop = t[i] - t[end];
        // The fall of a short run is none to measure.
        let says = if drop < 0.5 { String::new() } else { format!("{} down", whole_mm(drop)) };
        link(&format!("{start}, then {way}"), says, t[i], (drop, None), "");
        (i, joined) = (end, true);
    }
    let end = match c.exit {
        Some(Side::Floor) => "through the floor",
        Some(_) => "exit hole, centre",
        None => "end",
    };
    link(end, String::new(), t[last], (0.0, None), "");
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn laid(below: &[[f64; 3]], one_in: f64) -> Laid {
        let out = below[0][2];
        Laid {
            group: None,
            relief: ("relief outlet", out + 240.0, 150.0),
            longest: 600.0,
            tundish: (out + 90.0, out),
            below: below.iter().map(|p| P3::new(p[0], p[1], p[2])).collect(),
            tees: Vec::new(),
            exit: Some(Side::Right),
            one_in,
        }
    }

    /// A tee is told by the tundish whose pipe it takes up.
    #[test]
    fn a_tee_is_named_by_what_joins_there() {
        let text = "cylinder \"a\" litres=210 heated=\"indirect\"\ncylinder \"b\" litres=210 \
                    heated=\"indirect\"\nboiler kw=30\ndischarge length=4 elbows=2";
        let sys = crate::complete::complete(&crate::describe::read(text).facts).system;
        let of = |p: &&crate::model::Pipe| p.service == Service::Discharge2;
        let is_tee = |ix: PartIx| sys.part(ix).kind.key == "tee";
        let away = sys.pipe_ixs().find(|p| of(&sys.pipe(*p)) && is_tee(sys.pipe(*p).from.part));
        let away = away.expect("both drain into one pipe");
        let tee = sys.pipe(away).from.part;
        let cup = |tag: &str| sys.by_tag(tag).expect("a tundish");
        assert_eq!(joining(&sys, tee, away, cup("TUN1")), "TUN2");
        assert_eq!(joining(&sys, tee, away, cup("TUN2")), "TUN1");
    }

    /// 10 m at 1:200 drops 50 mm (Approved Document G 3.56).
    #[test]
    fn ten_metres_fall_fifty() {
        let way = [[0.0, 50.0, 700.0], [0.0, 50.0, 200.0], [10_000.0, 50.0, 200.0]];
        let links = links(&laid(&way, 200.0));
        let run = links.iter().find(|l| l.what.contains("falling")).unwrap();
        assert_eq!((run.z, run.drop), (250.0, 50.0));
        assert!(links.iter().filter_map(|l| l.slack).all(|s| s >= 0.0));
    }

    /// 250 mm below the tundish can't hold 300 mm straight (Approved Document G 3.56).
    #[test]
    fn a_short_chain_says_so() {
        let way = [[0.0, 50.0, 700.0], [0.0, 50.0, 450.0], [600.0, 50.0, 450.0]];
        let links = links(&laid(&way, 200.0));
        assert!(links.iter().any(|l| l.slack.is_some_and(|s| s < 0.0) && !l.mend.is_empty()));
    }

    /// A pipe that turns, drops again and runs on has every bend in its chain, in order from the
    /// top: at 1:100 the half metre before the drop falls 5 mm, the last metre 10 mm.
    #[test]
    fn each_bend_is_in_the_chain() {
        let way = [
            [0.0, 50.0, 1000.0],
            [0.0, 50.0, 660.0],
            [500.0, 50.0, 660.0],
            [500.0, 50.0, 600.0],
            [1500.0, 50.0, 600.0],
        ];
        let links = links(&laid(&way, 100.0));
        let bends: Vec<_> = links.iter().filter(|l| l.what.starts_with("bend")).collect();
        let heights: Vec<f64> = bends.iter().map(|l| l.z).collect();
        assert_eq!(heights, [660.0, 655.0, 610.0]);
        assert_eq!(links.last().map(|l| (l.z, l.slack)), Some((600.0, None)));
    }
}
