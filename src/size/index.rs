//! Loops of a closed circuit. In: the bench with heating pipes sized. Out: the loss round each
//! user's loop, the index loop, the duty of each pump against its curve, the setting of each bypass.

use std::collections::BTreeMap;

use super::friction::valve_loss;
use super::heating::{Heating, is_flow, is_separator, is_source};
use super::note::{Note, plain};
use super::pump::{self, Curve};
use super::work::{Known, Work};
use crate::model::{Part, PartIx, PipeIx};

/// From where the water is driven, to a user, and back.
pub struct Loop {
    /// Index of the user.
    pub user: usize,
    /// Pipes in the order of the water.
    pub pipes: Vec<PipeIx>,
    /// Index in `pipes` of the first behind the user.
    pub turn: usize,
    /// Source, header or blending set where it begins and ends.
    pub start: PartIx,
    /// Loss of each pipe with the part at its end, or, where it splits off at a tee, the part at its
    /// start, Pa.
    pub losses: Vec<f64>,
    /// Loss in the source, Pa.
    pub source: f64,
    /// All of it, with user and source, Pa.
    pub loss: f64,
    pub known: bool,
}

pub fn loops(work: &mut Work, heating: &Heating) -> Vec<Loop> {
    let mut all = Vec::new();
    for user in 0..heating.users.len() {
        if heating.users[user].flow > 0.0
            && let Some(found) = follow(work, heating, user)
        {
            all.push(found);
        }
    }
    write_losses(work, heating, &all);
    pumps(work, heating, &all);
    bypasses(work, &all);
    super::states::states(work, heating, &all);
    super::natural::natural(work, heating, &all);
    all
}

fn follow(work: &mut Work, heating: &Heating, user: usize) -> Option<Loop> {
    let chamber = heating.users[user].chamber;
    let largest = |pipes: &[PipeIx], flow: bool| {
        let of = |p: &&PipeIx| heating.live[p.0] && is_flow(work.system.pipe(**p).service) == flow;
        let by_flow = |a: &&PipeIx, b: &&PipeIx| work.flow[a.0].total_cmp(&work.flow[b.0]);
        pipes.iter().filter(of).max_by(by_flow).copied()
    };
    let is_start = |c: usize| {
        let part = work.system.part(work.graph.part[c]);
        is_source(part) || is_separator(part) || part.kind.key == "blending set"
    };
    let mut pipes = Vec::new();
    let mut at = chamber;
    let start = loop {
        let above = largest(&work.graph.into[at], true)?;
        if pipes.contains(&above) {
            return None;
        }
        pipes.push(above);
        at = work.graph.from(above);
        if is_start(at) {
            break work.graph.part[at];
        }
    };
    pipes.reverse();
    let turn = pipes.len();
    at = chamber;
    loop {
        let next = largest(&work.graph.out[at], false)?;
        if pipes.contains(&next) {
            return None;
        }
        pipes.push(next);
        at = work.graph.to(next);
        if is_start(at) {
            break;
        }
    }
    let mut losses: Vec<f64> = Vec::with_capacity(pipes.len());
    for pipe in &pipes {
        losses.push(work.pipe_loss(*pipe, work.flow[pipe.0]));
    }
    for i in 1..pipes.len() {
        let (pipe, next) = (pipes[i - 1], pipes[i]);
        let part = work.system.part(work.graph.part[work.graph.to(pipe)]);
        if i == turn || is_pump(part) {
            continue;
        }
        let flow = work.flow[pipe.0].min(work.flow[next.0]);
        let splits = work.flow[next.0] < work.flow[pipe.0];
        losses[if splits { i } else { i - 1 }] += work.part_loss(pipe, next, flow);
    }
    let known = pipes.iter().all(|p| work.runs[p.0].known == Known::Yes);
    let source = start_loss(work, start);
    let loss = losses.iter().sum::<f64>() + user_loss(work, heating, user) + source;
    Some(Loop { user, pipes, turn, start, losses, source, loss, known })
}

pub fn is_pump(part: &Part) -> bool {
    matches!(part.kind.key.as_str(), "pump" | "solar pump station")
}

/// Loss through what takes the heat, Pa.
fn user_loss(work: &Work, heating: &Heating, user: usize) -> f64 {
    let user = &heating.users[user];
    let part = work.system.part(user.part);
    if let Some(kpa) = part.number("loss") {
        return kpa * 1000.0;
    }
    match part.kind.key.as_str() {
        "radiator circuit" | "towel rail circuit" => work.aims.get("SIZE.loss-radiators") * 1000.0,
        "underfloor circuits" => super::floor::circuit_loss(work, user).unwrap_or(0.0),
        // A header or a buffer loses next to nothing.
        _ if is_separator(part) => 0.0,
        _ => match part.number("kv").or(part.kind.kv) {
            Some(kv) => valve_loss(kv, user.flow),
            None => work.aims.get("SIZE.loss-coil") * 1000.0,
        },
    }
}

/// Loss through the source, Pa; none where its own pump makes it good, none in a header.
pub fn start_loss(work: &Work, start: PartIx) -> f64 {
    let part = work.system.part(start);
    if !is_source(part) || part.declares("internal pump") {
        return 0.0;
    }
    let usual =
        if part.kind.key == "heat pump" { "SIZE.loss-heat-pump" } else { "SIZE.loss-boiler" };
    part.number("loss").unwrap_or(work.aims.get(usual)) * 1000.0
}

/// The curve of the pump inside a source or a blending set.
pub fn inside_pump(work: &Work, start: PartIx) -> Option<Curve> {
    let part = work.system.part(start);
    let inside = part.declares("internal pump") || part.kind.key == "blending set";
    inside.then(|| Curve::of(part, &work.aims))
}

fn write_losses(work: &mut Work, heating: &Heating, all: &[Loop]) {
    let mut worst: BTreeMap<PartIx, usize> = BTreeMap::new();
    for (i, l) in all.iter().enumerate() {
        let tag = work.tag(heating.users[l.user].part);
        let solar = heating.is_solar(l.user);
        let each: Vec<String> = l
            .pipes
            .iter()
            .zip(&l.losses)
            .map(|(p, pa)| format!("{} {}", work.system.pipe(*p).id, plain(pa / 1000.0, 2)))
            .collect();
        let user = user_loss(work, heating, l.user) / 1000.0;
        let start = start_loss(work, l.start) / 1000.0;
        let metres: f64 = l.pipes.iter().map(|p| work.runs[p.0].metres).sum();
        let elbows: f64 = l.pipes.iter().map(|p| work.runs[p.0].elbows).sum();
        work.figures.push(
            Note::new(
                if solar { "solar.loop" } else { "heating.loop" },
                &tag,
                if solar {
                    "loss round the solar loop at design flow"
                } else {
                    "loss round the loop at design flow"
                },
            )
            .by(
                "sum round the loop",
                "pipes + elbows + valves + user + source",
                "Colebrook-White; Kv and zeta of the catalogue",
            )
            .with("pipe", metres, "m")
            .with("elbows", elbows, "")
            .with("pipes and fittings", l.losses.iter().sum::<f64>() / 1000.0, "kPa")
            .with("user", user, "kPa")
            .with("source", start, "kPa")
            .assumed(!l.known)
            .gives(
                l.loss / 1000.0,
                "kPa",
                format!(
                    "{} kPa; pipes with what stands in them, kPa: {}",
                    plain(l.loss / 1000.0, 1),
                    each.join(", ")
                ),
            ),
        );
        let worse = worst.get(&l.start).is_none_or(|w| all[*w].loss < l.loss);
        if worse {
            worst.insert(l.start, i);
        }
    }
    for (start, i) in worst {
        let user = work.tag(heating.users[all[i].user].part);
        let tag = work.tag(start);
        work.figures.push(
            Note::new("heating.index", &tag, "index loop")
                .by("greatest loss", "the loop that asks most of the pump", "common practice")
                .assumed(!all[i].known)
                .gives(
                    all[i].loss / 1000.0,
                    "kPa",
                    format!("index loop by {user}: {} kPa", plain(all[i].loss / 1000.0, 1)),
                ),
        );
    }
}

fn pumps(work: &mut Work, heating: &Heating, all: &[Loop]) {
    // Pump → (loop with the greatest loss, flow through it).
    let mut duty: BTreeMap<PartIx, (usize, f64)> = BTreeMap::new();
    for (i, l) in all.iter().enumerate() {
        let mut on: Vec<(PartIx, f64)> = l
            .pipes
            .iter()
            .map(|p| (work.graph.part[work.graph.to(*p)], work.flow[p.0]))
            .filter(|(part, _)| is_pump(work.system.part(*part)))
            .collect();
        let start = work.system.part(l.start);
        let own = start.declares("internal pump") || start.declares("pump inside");
        if on.is_empty() && (own || start.kind.key == "blending set") {
            let first = l.pipes.first().map_or(0.0, |p| work.flow[p.0]);
            on.push((l.start, first));
        }
        for (part, flow) in on {
            let entry = duty.entry(part).or_insert((i, flow));
            if all[entry.0].loss < l.loss {
                entry.0 = i;
            }
            entry.1 = entry.1.max(flow);
        }
    }
    for (part, (worst, flow)) in duty {
        let index = work.tag(heating.users[all[worst].user].part);
        let need = all[worst].loss / 1000.0;
        // A pump that is only assumed is chosen for its duty.
        if is_pump(work.system.part(part))
            && Curve::of(work.system.part(part), &work.aims).head_at(flow) < need
            && let Some(head) = pump::pick(flow, need, &work.aims)
        {
            let why = "the weakest stocked pump that drives the index loop; read the pump";
            work.reassume(part, "head", head, why);
        }
        let curve = Curve::of(work.system.part(part), &work.aims);
        let has = curve.head_at(flow);
        let word = if has >= need { "enough" } else { "TOO LITTLE" };
        let tag = work.tag(part);
        work.figures.push(
            Note::new("pump.duty", &tag, "head at the flow of all loops together")
                .by(
                    "index loop against the curve",
                    "head needed = index loop; head given = curve",
                    curve.source,
                )
                .with("flow", flow, "l/s")
                .with("head given", has, "kPa")
                .with("head against a shut valve", curve.head_at(0.0), "kPa")
                .assumed(!all[worst].known || curve.assumed)
                .gives(
                    need,
                    "kPa",
                    format!(
                        "{} l/min at {} kPa (index {index}); the pump gives {} kPa: {word}",
                        plain(flow * 60.0, 1),
                        plain(need, 1),
                        plain(has, 1)
                    ),
                ),
        );
    }
}

/// The setting of each automatic bypass: just above the loss, at design flow, between its two tees.
fn bypasses(work: &mut Work, all: &[Loop]) {
    for i in 0..work.system.parts.len() {
        let part = &work.system.parts[i];
        if part.kind.key != "bypass valve" {
            continue;
        }
        let tag = part.tag.clone();
        let ends = (
            work.graph.named(&work.system, PartIx(i), "in"),
            work.graph.named(&work.system, PartIx(i), "out"),
        );
        let (Some(enter), Some(leave)) = ends else { continue };
        let (Some(a), Some(b)) = (work.graph.into[enter].first(), work.graph.out[leave].first())
        else {
            continue;
        };
        let (a, b) = (work.graph.from(*a), work.graph.to(*b));
        let mut most: f64 = 0.0;
        let mut known = true;
        for l in all {
            let at = |c: usize| l.pipes.iter().position(|p| work.graph.from(*p) == c);
            let (Some(first), Some(last)) = (at(a), at(b)) else { continue };
            if first >= last {
                continue;
            }
            let inside: f64 = l.losses[first..last].iter().sum();
            let outside = l.losses.iter().sum::<f64>();
            let between = l.loss - outside - start_loss(work, l.start) + inside;
            most = most.max(between);
            known &= l.known;
        }
        if most <= 0.0 {
            continue;
        }
        let bar = most / 1e5 * work.aims.get("SIZE.bypass-above");
        let setting = ((bar * 20.0).ceil() / 20.0).max(work.aims.get("SIZE.bypass-least"));
        let why = "just above the loss between its tees at design flow";
        work.reassume(PartIx(i), "setting", setting, why);
        let stated = work.system.parts[i].number("setting");
        let limit = work.aims.limit("SIZE.bypass-above").clone();
        let mut note = Note::new("bypass.setting", &tag, "setting of the automatic bypass")
            .by(
                "just above the loss at design flow",
                "loss between its tees x 1.1, up to 0.05 bar",
                &limit.source,
            )
            .with("loss between its tees", most / 1e5, "bar")
            .with("factor", limit.value, "")
            .assumed(!known);
        if let Some(stated) = stated {
            note = note.with("stated setting", stated, "bar");
        }
        work.figures.push(note.gives(setting, "bar", format!("set to {} bar", plain(setting, 2))));
    }
}
