//! Sizes of heating and solar pipes. In: flows. Out: the smallest tube within the limits, and the
//! figures that say so.

use super::friction::{flow_for, friction};
use super::heating::{Heating, User, is_emitter, source_temperatures};
use super::note::{Note, plain};
use super::work::{Work, diameter_of};
use crate::catalogue::Tube;
use crate::model::{PipeIx, Service};

/// Limits of a heating pipe of that outside diameter.
fn limits(work: &Work, tube: &Tube) -> (f64, f64) {
    let large = tube.material == "copper" && tube.od > 28.5;
    let velocity = work.aims.get(if large { "SIZE.heating-large" } else { "HTG03.quiet" });
    (velocity, work.aims.get("HTG03.gradient"))
}

pub fn choose(work: &mut Work, pipe: PipeIx) {
    let properties = work.properties_in(pipe);
    let flow = work.flow[pipe.0];
    let p = work.system.pipe(pipe);
    let maker = [p.from, p.to]
        .iter()
        .filter_map(|e| diameter_of(&work.system.part(e.part).kind.ports[e.port].size))
        .fold(work.aims.get("SIZE.least-size"), f64::max);
    let choices = work.choices(pipe);
    let mut below: Option<&Tube> = None;
    for tube in choices.iter().copied() {
        let (velocity, gradient) = limits(work, tube);
        let f = friction(flow, tube.bore(), tube.roughness, &properties);
        let last = choices.last().is_some_and(|l| std::ptr::eq(*l, tube));
        let fits = f.velocity <= velocity && f.gradient <= gradient;
        if tube.od >= maker - 0.5 && (fits || last) {
            let mut from = vec![
                format!("{} l/s", plain(flow, 3)),
                format!(
                    "{} m/s and {} Pa/m in {}",
                    plain(f.velocity, 2),
                    plain(f.gradient, 0),
                    tube.size
                ),
            ];
            if let Some(below) = below {
                let b = friction(flow, below.bore(), below.roughness, &properties);
                from.push(format!(
                    "{} would have {} m/s and {} Pa/m",
                    below.size,
                    plain(b.velocity, 2),
                    plain(b.gradient, 0)
                ));
            }
            let method = format!(
                "smallest size within {} m/s and {} Pa/m, no less than the maker's connection",
                plain(velocity, 2),
                plain(gradient, 0)
            );
            work.give(pipe, tube, &method, from);
            return;
        }
        below = Some(tube);
    }
}

/// By how much the source's water is warmer than an emitter asks, where nothing blends it.
fn warmer(work: &Work, heating: &Heating, user: &User) -> Option<f64> {
    let circuit = &heating.circuits[heating.of[user.chamber]?];
    let mut into = work.system.pipes.iter().filter(|p| p.to.part == user.part);
    let straight = into.any(|p| p.service == Service::HeatingFlow);
    let more = circuit.temperatures?.flow - user.temperatures.flow;
    (straight && is_emitter(work.system.part(user.part)) && more > 0.5).then_some(more)
}

pub fn figures(work: &mut Work, heating: &Heating) {
    for (number, user) in heating.users.iter().enumerate() {
        let part = work.system.part(user.part);
        if user.kw <= 0.0 {
            continue;
        }
        let tag = part.tag.clone();
        let fall = user.temperatures.fall();
        let id = if heating.is_solar(number) { "solar.flow" } else { "heating.flow" };
        let liquid = heating.of[user.chamber].map(|c| heating.circuits[c].liquid.clone());
        let liquid = liquid.unwrap_or_default();
        let heat = work.properties(&liquid, user.temperatures.mean()).heat_per_litre();
        let note = Note::new(id, &tag, "design flow");
        // The collectors' own flow passes the coil, whatever its heat: the fall follows.
        let note = if heating.is_solar(number) && user.flow > 0.0 {
            note.by(
                "flow of the collectors",
                "q = q' A, so that dT = P/(rho cp q)",
                &work.aims.limit("SIZE.solar-flow").source,
            )
            .with("q'", work.aims.get("SIZE.solar-flow"), "l/(h m2)")
            .with("A", user.flow * 3600.0 / work.aims.get("SIZE.solar-flow"), "m2")
            .with("P", user.kw, "kW")
            .with("rho cp", heat, "kJ/(l K)")
            .with("dT", user.kw / (heat * user.flow), "K")
        } else {
            note.by("heat balance", "q = P/(rho cp dT)", "arithmetic; IAPWS-IF97")
                .with("P", user.kw, "kW")
                .with("flow", user.temperatures.flow, "°C")
                .with("return", user.temperatures.back, "°C")
                .with("dT", fall, "K")
                .with("rho cp", heat, "kJ/(l K)")
        };
        let warmer = warmer(work, heating, user).map_or(String::new(), |more| {
            format!(
                "; with no blending set water comes up to {} K warmer than the {} °C asked",
                plain(more, 0),
                plain(user.temperatures.flow, 0)
            )
        });
        work.figures.push(note.assumed(user.assumed || user.temperatures.assumed).gives(
            user.flow,
            "l/s",
            format!("{} l/s = {} l/min{warmer}", plain(user.flow, 3), plain(user.flow * 60.0, 1)),
        ));
    }
    for circuit in &heating.circuits {
        for source in &circuit.sources {
            let part = work.system.part(*source);
            let t = source_temperatures(part);
            let Some(kw) = part.number("kw").filter(|kw| *kw > 0.0) else { continue };
            let tag = part.tag.clone();
            let assumed = part.attrs.is_assumed("kw") || part.attrs.is_assumed("flow") || t.assumed;
            let properties = work.properties(&circuit.liquid, t.mean());
            let flow = flow_for(kw, t.fall(), &properties);
            // A collector's flow goes by its area; what it is heated by follows.
            if circuit.solar {
                continue;
            }
            work.figures.push(
                Note::new("heating.source-flow", &tag, "flow at full output")
                    .by("heat balance", "q = P/(rho cp dT)", "arithmetic; IAPWS-IF97")
                    .with("P", kw, "kW")
                    .with("flow", t.flow, "°C")
                    .with("return", t.back, "°C")
                    .with("dT", t.fall(), "K")
                    .with("rho cp", properties.heat_per_litre(), "kJ/(l K)")
                    .assumed(assumed)
                    .gives(
                        flow,
                        "l/s",
                        format!("{} l/s = {} l/min", plain(flow, 3), plain(flow * 60.0, 1)),
                    ),
            );
        }
    }
    for i in 0..work.system.pipes.len() {
        if heating.live[i] && work.flow[i] > 0.0 {
            pipe_figures(work, heating, PipeIx(i));
        }
    }
}

fn pipe_figures(work: &mut Work, heating: &Heating, pipe: PipeIx) {
    let Some(tube) = work.tubes[pipe.0] else { return };
    let f = work.friction_in(pipe);
    let (flow, kw) = (work.flow[pipe.0], heating.kw[pipe.0]);
    let id = work.system.pipe(pipe).id.clone();
    work.figures.push(
        Note::new("pipe.flow", &id, "design flow")
            .by("sum of the users below", "no more than the source gives", "arithmetic")
            .with("heat", kw, "kW")
            .gives(flow, "l/s", format!("{} l/s", plain(flow, 3))),
    );
    let limit = work.aims.limit("HTG03.velocity").clone();
    let word = if f.velocity <= limit.value { "passes" } else { "FAILS" };
    let next = neighbours(work, pipe, tube);
    work.figures.push(
        Note::new("pipe.velocity", &id, "velocity")
            .by("continuity", "v = 4 q/(pi d^2)", &limit.source)
            .with("q", flow, "l/s")
            .with("d", tube.bore(), "mm")
            .with("limit", limit.value, "m/s")
            .gives(
                f.velocity,
                "m/s",
                format!(
                    "{} {word}: {} of {} m/s; {next}",
                    tube.size,
                    plain(f.velocity, 2),
                    plain(limit.value, 2)
                ),
            ),
    );
    let limit = work.aims.limit("HTG03.gradient").clone();
    let word = if f.gradient <= limit.value { "passes" } else { "FAILS" };
    let note = Note::new("pipe.gradient", &id, "loss a metre").by(
        "Darcy-Weisbach with Colebrook-White",
        super::supply::GRADIENT,
        &limit.source,
    );
    let note = super::supply::working(work, pipe, note);
    let run = work.runs[pipe.0];
    work.figures.push(
        note.with(super::supply::length_word(run.known), run.metres, "m")
            .with("elbows", run.elbows, "")
            .with("limit", limit.value, "Pa/m")
            .gives(
                f.gradient,
                "Pa/m",
                format!(
                    "{} {word}: {} of {} Pa/m",
                    tube.size,
                    plain(f.gradient, 0),
                    plain(limit.value, 0)
                ),
            ),
    );
}

/// What the next size each way would do.
fn neighbours(work: &mut Work, pipe: PipeIx, tube: &Tube) -> String {
    let properties = work.properties_in(pipe);
    let choices = work.choices(pipe);
    let at = choices.iter().position(|t| t.bore() >= tube.bore() - 1e-9).unwrap_or(0);
    let flow = work.flow[pipe.0];
    [at.checked_sub(1), Some(at + 1)]
        .into_iter()
        .flatten()
        .filter_map(|i| choices.get(i))
        .map(|t| {
            let f = friction(flow, t.bore(), t.roughness, &properties);
            format!("{} {} m/s {} Pa/m", t.size, plain(f.velocity, 2), plain(f.gradient, 0))
        })
        .collect::<Vec<_>>()
        .join(", ")
}
