//! Heating and solar circuits: flows. In: the bench. Out: the heat, the flow and the temperature in
//! every pipe of a closed circuit, from the loads; then its size.
//!
//! What takes heat is a user: a radiator circuit, floor circuits, a cylinder's coil, a blending
//! set. Flow pipes gather the flows of the users below them; return pipes give back what entered.

use super::friction::flow_for;
use super::liquid::Liquid;
use super::work::Work;
use super::{gather, heating_pipes};
use crate::model::{Part, PartIx, PipeIx, Service, Water};

/// Design temperatures of a circuit, °C.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Temperatures {
    pub flow: f64,
    pub back: f64,
    pub assumed: bool,
}

impl Temperatures {
    pub fn fall(&self) -> f64 {
        (self.flow - self.back).max(1.0)
    }

    pub fn mean(&self) -> f64 {
        0.5 * (self.flow + self.back)
    }
}

/// Something that takes heat from a circuit.
#[derive(Clone, Debug)]
pub struct User {
    pub part: PartIx,
    /// Chamber in the circuit that feeds it.
    pub chamber: usize,
    pub kw: f64,
    pub temperatures: Temperatures,
    /// l/s.
    pub flow: f64,
    pub assumed: bool,
}

/// A closed circuit: what is joined by pipes of heating or solar water.
#[derive(Clone, Debug, Default)]
pub struct Circuit {
    pub sources: Vec<PartIx>,
    /// Output of the sources, kW; 0 where none is known.
    pub kw: f64,
    pub temperatures: Option<Temperatures>,
    /// Design flow of the sources, l/s; 0 where no output is known.
    pub flow: f64,
    pub solar: bool,
    pub liquid: Liquid,
    pub parts: Vec<PartIx>,
}

/// What later subsystems need of the circuits.
pub struct Heating {
    pub circuits: Vec<Circuit>,
    /// Circuit of each chamber, where it has one.
    pub of: Vec<Option<usize>>,
    pub users: Vec<User>,
    /// User of each chamber.
    pub user_at: Vec<Option<usize>>,
    /// Pipes that carry flow.
    pub live: Vec<bool>,
    /// kW in each pipe.
    pub kw: Vec<f64>,
    /// Behind a header or a blending set.
    pub secondary: Vec<bool>,
}

impl Heating {
    /// True where a user is fed by a solar circuit.
    pub fn is_solar(&self, user: usize) -> bool {
        let circuit = self.of[self.users[user].chamber];
        circuit.is_some_and(|c| self.circuits[c].solar)
    }
}

pub fn is_flow(service: Service) -> bool {
    matches!(service, Service::HeatingFlow | Service::FloorFlow | Service::SolarFlow)
}

pub fn is_closed(service: Service) -> bool {
    matches!(service.water(), Water::Primary | Water::Solar)
}

pub fn is_emitter(part: &Part) -> bool {
    matches!(
        part.kind.key.as_str(),
        "radiator circuit" | "underfloor circuits" | "towel rail circuit"
    )
}

pub fn is_separator(part: &Part) -> bool {
    part.kind.port("secondary flow").is_some() && part.kind.port("primary flow").is_some()
}

pub fn is_source(part: &Part) -> bool {
    part.kind.heats && part.kind.port("flow").is_some() && part.kind.port("return").is_some()
}

/// Finds flows and sizes the pipes.
pub fn heating(work: &mut Work) -> Heating {
    let mut heating = survey(work);
    gather::gather(work, &mut heating);
    for i in 0..work.system.pipes.len() {
        if heating.live[i] {
            heating_pipes::choose(work, PipeIx(i));
        }
    }
    heating_pipes::figures(work, &heating);
    heating
}

/// Circuits, their sources and users.
fn survey(work: &mut Work) -> Heating {
    let count = work.graph.chambers();
    let of = components(work);
    let circuits = of.iter().flatten().max().map_or(0, |m| m + 1);
    let mut heating = Heating {
        circuits: vec![Circuit::default(); circuits],
        of,
        users: Vec::new(),
        user_at: vec![None; count],
        live: vec![false; work.system.pipes.len()],
        kw: vec![0.0; work.system.pipes.len()],
        secondary: vec![false; work.system.pipes.len()],
    };
    for i in 0..work.system.parts.len() {
        let ix = PartIx(i);
        let part = &work.system.parts[i];
        if !is_source(part) {
            continue;
        }
        let Some(chamber) = work.graph.named(&work.system, ix, "flow") else { continue };
        let Some(circuit) = heating.of[chamber] else { continue };
        let c = &mut heating.circuits[circuit];
        c.sources.push(ix);
        c.solar |= part.kind.key == "solar collector";
        c.kw += part.number("kw").unwrap_or(0.0).max(0.0);
        if let Some(percent) = part.number("glycol").filter(|p| (0.0..=60.0).contains(p)) {
            c.liquid = Liquid::Glycol("propylene".to_owned(), percent);
        }
        let t = source_temperatures(part);
        c.temperatures =
            Some(c.temperatures.map_or(t, |old| if old.flow >= t.flow { old } else { t }));
    }
    for chamber in 0..count {
        if let Some(c) = heating.of[chamber] {
            let parts = &mut heating.circuits[c].parts;
            let part = work.graph.part[chamber];
            if parts.last() != Some(&part) {
                parts.push(part);
            }
        }
    }
    for c in 0..heating.circuits.len() {
        let circuit = &heating.circuits[c];
        if circuit.solar {
            let percent = work.aims.get("SIZE.solar-glycol");
            heating.circuits[c].liquid = Liquid::Glycol("propylene".to_owned(), percent);
        }
        let circuit = &heating.circuits[c];
        let Some(t) = circuit.temperatures else { continue };
        let (kw, solar) = (circuit.kw, circuit.solar);
        heating.circuits[c].flow = if solar {
            let areas = heating.circuits[c].sources.iter();
            let area: f64 = areas.map(|s| work.system.part(*s).number("area").unwrap_or(4.0)).sum();
            area * work.aims.get("SIZE.solar-flow") / 3600.0
        } else if kw > 0.0 {
            let liquid = circuit.liquid.clone();
            let properties = work.properties(&liquid, t.mean());
            flow_for(kw, t.fall(), &properties)
        } else {
            0.0
        };
    }
    users(work, &mut heating);
    heating
}

/// Chambers joined by pipes of closed circuits. A header joins its two sides: they share water.
fn components(work: &Work) -> Vec<Option<usize>> {
    let mut of: Vec<Option<usize>> = vec![None; work.graph.chambers()];
    let mut next = 0;
    for start in 0..of.len() {
        let touches = |c: usize| {
            let pipes = work.graph.into[c].iter().chain(&work.graph.out[c]);
            pipes.copied().filter(|p| is_closed(work.system.pipe(*p).service)).collect::<Vec<_>>()
        };
        if of[start].is_some() || touches(start).is_empty() {
            continue;
        }
        let mut queue = vec![start];
        while let Some(c) = queue.pop() {
            if of[c].replace(next).is_some() {
                continue;
            }
            for pipe in touches(c) {
                let (a, b) = work.graph.ends[pipe.0];
                queue.extend([a, b].into_iter().filter(|x| of[*x].is_none()));
            }
        }
        next += 1;
    }
    of
}

/// Headers and buffers, once the flows are known, as what the source's own pump has to reach.
pub fn separators(work: &Work, heating: &mut Heating) {
    for i in 0..work.system.parts.len() {
        let (ix, part) = (PartIx(i), &work.system.parts[i]);
        if !is_separator(part) {
            continue;
        }
        let Some(chamber) = work.graph.named(&work.system, ix, "primary flow") else { continue };
        let Some(temperatures) = heating.of[chamber].and_then(|c| heating.circuits[c].temperatures)
        else {
            continue;
        };
        let brought = || {
            let into = work.graph.into[chamber].iter();
            into.filter(|p| heating.live[p.0] && is_flow(work.system.pipe(**p).service))
        };
        let flow: f64 = brought().map(|p| work.flow[p.0]).sum();
        let kw: f64 = brought().map(|p| heating.kw[p.0]).sum();
        if flow > 0.0 {
            heating.users.push(User { part: ix, chamber, kw, temperatures, flow, assumed: false });
        }
    }
}

pub fn source_temperatures(part: &Part) -> Temperatures {
    let usual = match part.kind.key.as_str() {
        "heat pump" => (45.0, 40.0),
        "solar collector" => (65.0, 55.0),
        _ => (70.0, 50.0),
    };
    let flow = part.number("flow");
    let back = part.number("return");
    let assumed = flow.is_none()
        || back.is_none()
        || part.attrs.is_assumed("flow")
        || part.attrs.is_assumed("return");
    let fall = usual.0 - usual.1;
    let flow_value = flow.unwrap_or_else(|| back.map_or(usual.0, |b| b + fall));
    Temperatures { flow: flow_value, back: back.unwrap_or(flow_value - fall), assumed }
}

fn users(work: &mut Work, heating: &mut Heating) {
    for i in 0..work.system.parts.len() {
        let ix = PartIx(i);
        let part = work.system.parts[i].clone();
        let key = part.kind.key.as_str();
        let ports: &[&str] = if is_emitter(&part) || key == "blending set" {
            &["flow"]
        } else if key.ends_with("cylinder") {
            &["flow", "solar flow"]
        } else {
            continue;
        };
        for port in ports {
            let Some(chamber) = work.graph.named(&work.system, ix, port) else { continue };
            let Some(circuit) = heating.of[chamber] else { continue };
            if work.graph.into[chamber].is_empty() && work.graph.out[chamber].is_empty() {
                continue;
            }
            let user = user(work, &heating.circuits[circuit], ix, &part, port, chamber);
            heating.user_at[chamber] = Some(heating.users.len());
            heating.users.push(user);
        }
    }
}

fn user(
    work: &mut Work,
    circuit: &Circuit,
    ix: PartIx,
    part: &Part,
    port: &str,
    chamber: usize,
) -> User {
    let of_source =
        circuit.temperatures.unwrap_or(Temperatures { flow: 70.0, back: 50.0, assumed: true });
    let own = |key: &str| part.number(key);
    let mut temperatures = of_source;
    if is_emitter(part) {
        if let Some(flow) = own("flow") {
            temperatures.flow = flow;
            temperatures.back = own("return").unwrap_or(flow - of_source.fall());
            temperatures.assumed = part.attrs.is_assumed("flow");
        } else if part.kind.key == "underfloor circuits" {
            temperatures = Temperatures { flow: 40.0, back: 33.0, assumed: true };
        }
    }
    // A heat pump's flow rises while hot water calls.
    let rises = circuit.sources.iter().map(|s| work.system.part(*s));
    let rises = rises.filter_map(|s| s.number("hot-water-flow")).fold(f64::NAN, f64::max);
    if port == "flow" && part.kind.key.ends_with("cylinder") && !rises.is_nan() {
        temperatures.back = rises - of_source.fall();
        temperatures.flow = rises;
    }
    let mut flow = 0.0;
    let (kw, assumed) = if part.kind.key == "blending set" {
        // Known once the floor behind it is.
        (0.0, false)
    } else if part.kind.key.ends_with("cylinder") {
        let key = if port == "flow" { "coil-kw" } else { "solar-coil-kw" };
        let rated = own(key).unwrap_or(f64::INFINITY);
        let given = if circuit.kw > 0.0 { circuit.kw } else { f64::INFINITY };
        let kw = rated.min(given);
        if port == "solar flow" {
            flow = circuit.flow;
        }
        (if kw.is_finite() { kw } else { 3.0 }, part.attrs.is_assumed(key) || !kw.is_finite())
    } else {
        (own("kw").unwrap_or(0.0).max(0.0), part.attrs.is_assumed("kw") || own("kw").is_none())
    };
    if flow == 0.0 && kw > 0.0 {
        let properties = work.properties(&circuit.liquid, temperatures.mean());
        flow = flow_for(kw, temperatures.fall(), &properties);
    }
    User { part: ix, chamber, kw, temperatures, flow, assumed }
}
