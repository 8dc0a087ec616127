//! Underfloor heating, headers, open volume. In: the bench with flows. Out: circuits with their
//! flow and loss, primary draw against secondary flow, mixing in headers, what stays open for a
//! heat pump.

use super::friction::{flow_for, friction, valve_loss};
use super::heating::{Heating, User, is_closed, is_flow, is_separator};
use super::liquid::Liquid;
use super::note::{Note, plain};
use super::volume;
use super::work::Work;
use crate::catalogue::{Closes, Tube};
use crate::model::{PartIx, PipeIx};

/// Circuits of a floor: how many, how long each, m.
struct Circuits {
    count: f64,
    metres: f64,
    assumed: bool,
}

fn circuits(work: &Work, user: &User) -> Option<Circuits> {
    let part = work.system.part(user.part);
    if part.kind.key != "underfloor circuits" {
        return None;
    }
    let metres = volume::floor_pipe(part);
    let greatest = work.aims.get("SIZE.floor-circuit");
    let stated = part.number("circuits").filter(|n| *n >= 1.0);
    let pipe = metres.or(stated.map(|n| n * 80.0))?;
    let count = stated.unwrap_or((pipe / greatest).ceil()).max(1.0);
    let assumed = metres.is_none() || stated.is_none() || part.attrs.is_assumed("area");
    Some(Circuits { count, metres: pipe / count, assumed })
}

/// Loss of one floor circuit at its share of the flow, Pa.
pub fn circuit_loss(work: &Work, user: &User) -> Option<f64> {
    let c = circuits(work, user)?;
    let tube = Tube::called("UFH 16")?;
    let properties = Liquid::Water.at(user.temperatures.mean());
    let flow = user.flow / c.count;
    let f = friction(flow, tube.bore(), tube.roughness, &properties);
    Some(f.gradient * c.metres + valve_loss(work.aims.get("SIZE.floor-valve"), flow))
}

pub fn floors(work: &mut Work, heating: &Heating) {
    for user in &heating.users {
        if let Some(c) = circuits(work, user) {
            circuit_figures(work, user, &c);
        }
        if work.system.part(user.part).kind.key == "blending set" && user.flow > 0.0 {
            mixing_figures(work, heating, user);
        }
    }
    headers(work, heating);
    open_volume(work, heating);
}

fn circuit_figures(work: &mut Work, user: &User, c: &Circuits) {
    let Some(loss) = circuit_loss(work, user) else { return };
    let tag = work.tag(user.part);
    let flow = user.flow / c.count;
    work.figures.push(
        Note::new("floor.circuit", &tag, "loss of a floor circuit at its flow")
            .by(
                "Darcy-Weisbach",
                "q = P/(n rho cp dT); dp = R L + (Q/Kv)^2, 16 x 2 pipe",
                "Colebrook-White",
            )
            .with("Kv of its manifold valves", work.aims.get("SIZE.floor-valve"), "m3/h")
            .with("circuits", c.count, "")
            .with("length of each", c.metres, "m")
            .with("flow in each", flow * 60.0, "l/min")
            .assumed(c.assumed || user.temperatures.assumed)
            .gives(
                loss / 1000.0,
                "kPa",
                format!(
                    "{} circuits of {} m, {} l/min each, {} kPa",
                    plain(c.count, 0),
                    plain(c.metres, 0),
                    plain(flow * 60.0, 2),
                    plain(loss / 1000.0, 1)
                ),
            ),
    );
}

/// Secondary flow of a blending set against what it draws from the primary.
fn mixing_figures(work: &mut Work, heating: &Heating, user: &User) {
    let secondary: f64 = work.graph.out[user.chamber]
        .iter()
        .filter(|p| heating.live[p.0] && is_flow(work.system.pipe(**p).service))
        .map(|p| work.flow[p.0])
        .sum();
    let tag = work.tag(user.part);
    let share = if secondary > 0.0 { user.flow / secondary } else { 0.0 };
    work.figures.push(
        Note::new("floor.primary-draw", &tag, "what the blending set draws from the primary")
            .by("heat balance", "q1 = P/(rho cp (T flow - T floor return))", "arithmetic")
            .with("P", user.kw, "kW")
            .with("T flow", user.temperatures.flow, "°C")
            .with("T floor return", user.temperatures.back, "°C")
            .with("secondary flow", secondary, "l/s")
            .assumed(user.temperatures.assumed)
            .gives(
                user.flow,
                "l/s",
                format!(
                    "{} l/min of primary for {} l/min in the floor ({} %)",
                    plain(user.flow * 60.0, 1),
                    plain(secondary * 60.0, 1),
                    plain(share * 100.0, 0)
                ),
            ),
    );
}

/// Primary against secondary flow in headers and four-port buffers.
fn headers(work: &mut Work, heating: &Heating) {
    for i in 0..work.system.parts.len() {
        let part = &work.system.parts[i];
        if !is_separator(part) {
            continue;
        }
        let ix = PartIx(i);
        let (tag, bore) = (part.tag.clone(), part.number("bore"));
        let at = |port: &str| -> f64 {
            let Some(number) = work.system.part(ix).kind.port(port) else { return 0.0 };
            let pipes = work.system.pipes.iter().enumerate();
            pipes
                .filter(|(_, p)| [p.from, p.to].iter().any(|e| e.part == ix && e.port == number))
                .map(|(n, _)| work.flow[n])
                .sum()
        };
        let (primary, secondary) = (at("primary flow"), at("secondary flow"));
        let chamber = work.graph.named(&work.system, ix, "primary flow");
        let circuit = chamber.and_then(|c| heating.of[c]).map(|c| &heating.circuits[c]);
        let Some(t) = circuit.and_then(|c| c.temperatures) else { continue };
        if primary <= 0.0 || secondary <= 0.0 {
            continue;
        }
        // What the primary lacks comes round from the secondary return.
        let back = t.flow - t.fall() * (primary / secondary).min(1.0);
        let mixed = if secondary > primary {
            (primary * t.flow + (secondary - primary) * back) / secondary
        } else {
            t.flow
        };
        let word = if secondary > primary * 1.001 {
            "secondary draws MORE than the primary gives"
        } else {
            "at the design flows the primary covers the secondary"
        };
        work.figures.push(
            Note::new("header.flow-temperature", &tag, "temperature that leaves for the secondary")
                .by("mixing", "T = (q1 T1 + (q2 - q1) T return)/q2 where q2 > q1", "arithmetic")
                .with("q1", primary, "l/s")
                .with("q2", secondary, "l/s")
                .with("T1", t.flow, "°C")
                .with("T return", back, "°C")
                .assumed(t.assumed)
                .gives(mixed, "°C", format!("{word}: {} °C", plain(mixed, 1))),
        );
        let most = work.aims.limit("SIZE.header").clone();
        let q = primary.max(secondary) / 1000.0;
        let need = (4.0 * q / (std::f64::consts::PI * most.value)).sqrt() * 1000.0;
        let mut note = Note::new("header.bore", &tag, "bore that keeps the header slow")
            .by("continuity", "d = sqrt(4 q/(pi v))", &most.source)
            .with("q", q * 1000.0, "l/s")
            .with("v", most.value, "m/s");
        if let Some(bore) = bore {
            note = note.with("stated bore", bore, "mm");
        }
        work.figures.push(note.gives(need, "mm", format!("{} mm", plain(need, 0))));
    }
}

/// Water that a heat pump can always reach with every motorised valve shut.
fn open_volume(work: &mut Work, heating: &Heating) {
    for i in 0..work.system.parts.len() {
        let part = work.system.parts[i].clone();
        if part.kind.key != "heat pump" {
            continue;
        }
        let Some(start) = work.graph.named(&work.system, PartIx(i), "flow") else { continue };
        let Some(end) = work.graph.named(&work.system, PartIx(i), "return") else { continue };
        let there = reach(work, start, true);
        let home = reach(work, end, false);
        let mut litres = 0.0;
        for chamber in 0..work.graph.chambers() {
            if there[chamber] && home[chamber] {
                let user = heating.user_at[chamber].map(|u| &heating.users[u]);
                litres += volume::of_part(work, work.graph.part[chamber], user).0;
            }
        }
        for n in 0..work.system.pipes.len() {
            let (a, b) = work.graph.ends[n];
            if there[a] && home[b] && is_closed(work.system.pipes[n].service) {
                litres += volume::of_pipe(work, PipeIx(n));
            }
        }
        let stated = part.number("min-litres");
        let kw = part.number("kw").unwrap_or(0.0);
        let limit = work.aims.limit("SIZE.buffer-heat-pump").clone();
        let wanted = stated.unwrap_or(kw * limit.value);
        let word = if litres >= wanted { "enough" } else { "TOO LITTLE" };
        let properties = work.properties(&Liquid::Water, 40.0);
        work.figures.push(
            Note::new(
                "heat-pump.open-volume",
                &part.tag,
                "water that stays open with every valve shut",
            )
            .by(
                "sum over the graph",
                "pipes and vessels reached without a motorised valve",
                &limit.source,
            )
            .with("wanted", wanted, "l")
            .with("output", kw, "kW")
            .with("flow at 5 K", flow_for(kw.max(0.0), 5.0, &properties) * 60.0, "l/min")
            .assumed(stated.is_none())
            .gives(
                litres,
                "l",
                format!("{} of {} l: {word}", plain(litres, 1), plain(wanted, 0)),
            ),
        );
    }
}

/// Chambers of closed circuits that the water reaches from a chamber with every motorised valve
/// shut, the bypass lifted; with the flow, or against it.
fn reach(work: &Work, start: usize, with: bool) -> Vec<bool> {
    let graph = &work.graph;
    let mut seen = vec![false; graph.chambers()];
    let mut queue = vec![start];
    while let Some(chamber) = queue.pop() {
        let part = work.system.part(graph.part[chamber]);
        let lifted = part.kind.key == "bypass valve";
        let shut = graph.shut[graph.part[chamber].0] && !lifted;
        if seen[chamber] || part.kind.closes == Closes::ByMotor || shut {
            continue;
        }
        seen[chamber] = true;
        for pipe in if with { &graph.out[chamber] } else { &graph.into[chamber] } {
            if is_closed(work.system.pipe(*pipe).service) {
                queue.push(if with { graph.to(*pipe) } else { graph.from(*pipe) });
            }
        }
    }
    seen
}
