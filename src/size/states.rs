//! States of the zone valves. In: the loops of a circuit. Out: for each combination of open valves
//! the point at which the pump runs: its flow, its head, what every open user and the bypass get;
//! and the least flow that the source ever gets while anything calls for heat.

use std::collections::{BTreeMap, BTreeSet};

use super::circuit::{Circuit, Drive};
use super::friction::velocity;
use super::heating::{Heating, is_separator, is_source};
use super::index::Loop;
use super::note::{Note, plain};
use super::work::Work;
use crate::catalogue::Closes;
use crate::model::{PartIx, PipeIx};

/// Gates of a circuit, of which each combination is looked at up to this many; of more only all
/// together and each alone.
const MOST_GATES: usize = 5;

/// Where a motor lets water through: a zone valve, or one way of a three-port valve.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Gate {
    part: PartIx,
    /// The port of a three-port valve.
    way: Option<usize>,
}

/// What the pump does in one state.
struct Point {
    name: String,
    open: Vec<bool>,
    /// With flow, l/s, and head, kPa.
    pumps: Vec<(PartIx, f64, f64)>,
    /// With flow, l/s.
    sources: Vec<(PartIx, f64)>,
    users: Vec<f64>,
    bypass: f64,
}

/// Writes the operating points of every circuit.
pub fn states(work: &mut Work, heating: &Heating, all: &[Loop]) {
    let mut by_start: BTreeMap<PartIx, Vec<&Loop>> = BTreeMap::new();
    for l in all {
        let part = work.system.part(l.start);
        if !heating.is_solar(l.user) && (is_separator(part) || is_source(part)) {
            by_start.entry(l.start).or_default().push(l);
        }
    }
    let starts: Vec<(PartIx, Option<usize>)> =
        by_start.iter().map(|(s, l)| (*s, heating.of[heating.users[l[0].user].chamber])).collect();
    for (start, loops) in by_start {
        let gates: Vec<BTreeSet<Gate>> = loops.iter().map(|l| gates(work, l)).collect();
        let own = heating.of[heating.users[loops[0].user].chamber];
        let is_other = |(s, c): &(PartIx, Option<usize>)| {
            *s != start && *c == own && is_source(work.system.part(*s))
        };
        // Sources that feed different users have no lines in common.
        let apart = is_source(work.system.part(start)) && starts.iter().any(is_other);
        let circuit = if apart { None } else { Circuit::of(work, heating, loops) };
        let Some(circuit) = circuit else {
            let about = work.tag(start);
            work.figures.push(
                Note::new("operating.point", &about, "where the pump runs")
                    .by("network solver", "head given = head lost", "global gradient method")
                    .gives(
                        0.0,
                        "l/min",
                        "no answer: the sources do not meet on one flow and return",
                    ),
            );
            continue;
        };
        let combinations = combinations(work, &gates, circuit.has_bypass());
        if circuit.is_driven() {
            run(work, heating, &circuit, combinations);
        }
    }
}

/// Solves and writes each state.
fn run(
    work: &mut Work,
    heating: &Heating,
    circuit: &Circuit,
    combinations: Vec<(String, Vec<bool>)>,
) {
    let mut points = Vec::new();
    // Most flow of each pipe, and the state in which it has it.
    let mut fastest: BTreeMap<PipeIx, (f64, usize)> = BTreeMap::new();
    for (name, open) in combinations {
        let state = circuit.state(&open, Drive::Pumps);
        let solved = match state.network.solve() {
            Ok(solved) => solved,
            Err(why) => {
                let about = format!("{}: {name}", work.tag(circuit.start));
                work.figures.push(
                    Note::new("operating.point", &about, "where the pump runs")
                        .by("network solver", "head given = head lost", "global gradient method")
                        .gives(0.0, "l/min", format!("no solution: {why}")),
                );
                continue;
            }
        };
        let flow = |link: usize| solved.flow[link].max(0.0);
        let runs = |(part, link): &(PartIx, usize)| {
            let link_of = &state.network.links[*link];
            let head = solved.pressure[link_of.to] - solved.pressure[link_of.from];
            (*part, flow(*link), head / 1000.0)
        };
        let mut pumps: Vec<(PartIx, f64, f64)> = state.pumps.iter().map(runs).collect();
        let own = |(part, _): &&(PartIx, usize)| circuit.own_of(*part).is_some();
        pumps.extend(state.sources.iter().filter(own).map(runs));
        for (pipe, link) in &state.pipes {
            let most = fastest.entry(*pipe).or_insert((0.0, points.len()));
            if flow(*link) > most.0 {
                *most = (flow(*link), points.len());
            }
        }
        points.push(Point {
            name,
            open,
            pumps,
            sources: state.sources.iter().map(|(part, link)| (*part, flow(*link))).collect(),
            users: state.users.iter().map(|share| share.of(&solved)).collect(),
            bypass: state.bypasses.iter().map(|(_, link)| flow(*link)).sum(),
        });
    }
    let mut said: BTreeMap<(PartIx, Vec<usize>), (usize, f64)> = BTreeMap::new();
    for (i, point) in points.iter().enumerate() {
        for (part, flow, _) in &point.pumps {
            // Of states that differ only in what other pumps drive, the one with the least flow.
            let worst =
                said.entry((*part, driven(work, circuit, *part, point))).or_insert((i, *flow));
            if *flow < worst.1 {
                *worst = (i, *flow);
            }
        }
    }
    for ((part, driven), (i, _)) in said {
        write(work, heating, circuit, (part, &driven), &points[i]);
    }
    least(work, heating, circuit, &points);
    for (pipe, (flow, i)) in fastest {
        velocity_in(work, circuit, pipe, flow, &points[i]);
    }
}

/// What a pipe carries in the state in which it carries most, where that is more than the design
/// flow for which it was sized: a zone alone gets all that its pump gives.
fn velocity_in(work: &mut Work, circuit: &Circuit, pipe: PipeIx, flow: f64, point: &Point) {
    let Some(tube) = work.tubes[pipe.0] else { return };
    if flow <= work.flow[pipe.0] * 1.001 {
        return;
    }
    let limit = work.aims.limit("HTG03.velocity").clone();
    let v = velocity(flow, tube.bore());
    let word = if v <= limit.value { "passes" } else { "FAILS" };
    let guessed = circuit.loops.iter().any(|l| !l.known)
        || point.pumps.iter().any(|(p, ..)| circuit.curve(*p).is_none_or(|c| c.assumed));
    let id = work.system.pipe(pipe).id.clone();
    work.figures.push(
        Note::new("pipe.velocity-alone", &id, "velocity in the state with most flow")
            .by("continuity at the operating point", "v = 4 q/(pi d^2)", &limit.source)
            .with("q", flow, "l/s")
            .with("design flow", work.flow[pipe.0], "l/s")
            .with("d", tube.bore(), "mm")
            .with("limit", limit.value, "m/s")
            .assumed(guessed)
            .gives(
                v,
                "m/s",
                format!(
                    "{} {word} with {} open: {} of {} m/s",
                    tube.size,
                    point.name,
                    plain(v, 2),
                    plain(limit.value, 2)
                ),
            ),
    );
}

/// Open loops that the pump drives.
fn driven(work: &Work, circuit: &Circuit, pump: PartIx, point: &Point) -> Vec<usize> {
    let drives = |pipes: &[PipeIx]| {
        pump == circuit.start
            || circuit.is_beside(pump)
            || pipes.iter().any(|p| work.graph.part[work.graph.to(*p)] == pump)
    };
    (0..circuit.loops.len())
        .filter(|i| point.open[*i] && drives(&circuit.loops[*i].pipes))
        .collect()
}

fn write(
    work: &mut Work,
    heating: &Heating,
    circuit: &Circuit,
    (part, driven): (PartIx, &[usize]),
    point: &Point,
) {
    let Some(curve) = circuit.curve(part) else { return };
    let Some((_, flow, head)) = point.pumps.iter().find(|p| p.0 == part).copied() else { return };
    let asked: f64 = driven.iter().map(|i| heating.users[circuit.loops[*i].user].flow).sum();
    if driven.is_empty() && point.bypass <= 0.0 {
        return;
    }
    let about = format!("{}: {}", work.tag(part), point.name);
    let mut note = Note::new("operating.point", &about, "where the pump runs")
        .by(
            "pump's curve against the network",
            "head given by the curve at q = head lost round every open loop at its share of q",
            &format!("{}; Colebrook-White", curve.source),
        )
        .with("head against a shut valve", curve.head_at(0.0), "kPa")
        .with("flow at the curve's end", curve.ends_at(), "l/s")
        .with("q", flow, "l/s")
        .with("head at q", head, "kPa")
        .with("asked", asked * 60.0, "l/min")
        .assumed(curve.assumed);
    let mut words = vec![format!("{} l/min at {} kPa", plain(flow * 60.0, 1), plain(head, 1))];
    if driven.is_empty() {
        words.push("no user is open".to_owned());
    }
    for i in driven {
        let l = circuit.loops[*i];
        let user = work.tag(heating.users[l.user].part);
        note = note.with(&user, point.users[*i] * 60.0, "l/min").assumed(!l.known);
        words.push(format!(
            "{user} gets {} of {}",
            plain(point.users[*i] * 60.0, 1),
            plain(heating.users[l.user].flow * 60.0, 1)
        ));
    }
    for (setting, kv) in circuit.bypass_settings() {
        note = note.with("bypass opens at", setting, "bar").with("Kv of the bypass", kv, "m3/h");
    }
    if !circuit.legs.is_empty() {
        for (source, flow) in &point.sources {
            let tag = work.tag(*source);
            note = note.with(&tag, flow * 60.0, "l/min");
            words.push(format!("through {tag} {}", plain(flow * 60.0, 1)));
        }
    }
    if circuit.has_bypass() {
        note = note.with("bypass", point.bypass * 60.0, "l/min");
        words.push(format!("bypass passes {}", plain(point.bypass * 60.0, 1)));
    }
    work.figures.push(note.gives(flow * 60.0, "l/min", words.join("; ")));
}

/// The least flow that a source gets in any state in which something is open.
fn least(work: &mut Work, heating: &Heating, circuit: &Circuit, points: &[Point]) {
    if !is_source(work.system.part(circuit.start)) {
        return;
    }
    for i in 0..points.first().map_or(0, |p| p.sources.len()) {
        least_of(work, heating, circuit, points, i);
    }
}

/// The same of one source among them.
fn least_of(work: &mut Work, heating: &Heating, circuit: &Circuit, points: &[Point], i: usize) {
    let calling = points.iter().filter(|p| p.open.iter().any(|o| *o));
    let least = calling.min_by(|a, b| a.sources[i].1.total_cmp(&b.sources[i].1));
    let Some(worst) = least else { return };
    let (source, flow) = worst.sources[i];
    let part = work.system.part(source);
    let (tag, wanted) = (part.tag.clone(), part.number("min-flow"));
    let guessed = part.attrs.is_assumed("min-flow")
        || circuit.loops.iter().any(|l| !l.known || heating.users[l.user].assumed)
        || worst.pumps.iter().any(|(p, _, _)| circuit.curve(*p).is_none_or(|c| c.assumed));
    let flow = flow * 60.0;
    let mut note = Note::new("operating.least", &tag, "least flow through the source")
        .by(
            "least of all states",
            "flow through the open users + flow through the bypass",
            "arithmetic",
        )
        .with("users", worst.users.iter().sum::<f64>() * 60.0, "l/min")
        .with("bypass", worst.bypass * 60.0, "l/min")
        .assumed(guessed);
    let mut text = format!("{} l/min with {} open", plain(flow, 1), worst.name);
    if let Some(wanted) = wanted {
        note = note.with("least flow of the source", wanted, "l/min");
        let word = if flow >= wanted { "enough" } else { "TOO LITTLE" };
        text = format!("{text}, {} l/min needed: {word}", plain(wanted, 1));
    }
    work.figures.push(note.gives(flow, "l/min", text));
}

/// What must be open for the loop.
fn gates(work: &Work, l: &Loop) -> BTreeSet<Gate> {
    let mut found = BTreeSet::new();
    for (i, pipe) in l.pipes.iter().enumerate() {
        let enter = work.system.pipe(*pipe).to;
        let kind = &work.system.part(enter.part).kind;
        match kind.closes {
            Closes::ByMotor => {
                found.insert(Gate { part: enter.part, way: None });
            }
            Closes::Diverts => {
                let leave = l.pipes.get(i + 1).map(|next| work.system.pipe(*next).from.port);
                let common = kind.port("common");
                let mut met = [Some(enter.port), leave].into_iter().flatten();
                let way = met.rfind(|p| Some(*p) != common);
                found.insert(Gate { part: enter.part, way });
            }
            _ => {}
        }
    }
    found
}

/// Every state in which another set of loops is open, with a name that tells the open valves.
fn combinations(
    work: &Work,
    of_loops: &[BTreeSet<Gate>],
    bypass: bool,
) -> Vec<(String, Vec<bool>)> {
    let gates: Vec<Gate> =
        of_loops.iter().flatten().copied().collect::<BTreeSet<_>>().into_iter().collect();
    let every = (1_usize << gates.len().min(MOST_GATES)) - 1;
    let sets: Vec<Vec<Gate>> = if gates.len() <= MOST_GATES {
        (0..=every)
            .map(|s| (0..gates.len()).filter(|i| s >> i & 1 == 1).map(|i| gates[i]).collect())
            .collect()
    } else {
        let alone = gates.iter().map(|g| vec![*g]);
        std::iter::once(Vec::new()).chain(alone).chain([gates.clone()]).collect()
    };
    let mut seen = BTreeSet::new();
    let mut found = Vec::new();
    for set in sets {
        if !possible(work, &gates, &set) {
            continue;
        }
        let open: Vec<bool> =
            of_loops.iter().map(|needs| needs.iter().all(|g| set.contains(g))).collect();
        if !(bypass || open.contains(&true)) || !seen.insert(open.clone()) {
            continue;
        }
        let names: Vec<String> = set.iter().map(|g| name(work, *g)).collect();
        let name = match names.is_empty() {
            true if open.contains(&true) => "no zone valve".to_owned(),
            true => "all shut".to_owned(),
            false => names.join("+"),
        };
        found.push((name, open));
    }
    found
}

/// A diverter has one way open at a time, a mid-position valve one or both.
fn possible(work: &Work, gates: &[Gate], open: &[Gate]) -> bool {
    let ways = |of: &[Gate], part: PartIx| of.iter().filter(|g| g.part == part).count();
    gates.iter().filter(|g| g.way.is_some()).all(|g| {
        let (all, now) = (ways(gates, g.part), ways(open, g.part));
        let one_at_a_time = work.system.part(g.part).kind.key == "three-port diverter";
        (now > 0 || all < 2) && (now < 2 || !one_at_a_time)
    })
}

fn name(work: &Work, gate: Gate) -> String {
    let part = work.system.part(gate.part);
    match gate.way {
        Some(port) => format!("{} {}", part.tag, part.kind.ports[port].name),
        None => part.tag.clone(),
    }
}
