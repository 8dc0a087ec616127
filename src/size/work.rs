//! The bench the sizing works on. In: a system. Out: its graph, the limits, and for every pipe its
//! length, tube and flow, filled by the subsystems one after another.

use std::collections::BTreeMap;

use super::aims::Aims;
use super::friction::{Friction, fitting_loss, friction, valve_loss};
use super::graph::Graph;
use super::liquid::Liquid;
use super::water::Properties;
use super::{Figure, Sized};
use crate::catalogue::{Tube, hydraulics, tubes};
use crate::model::{Assumption, Origin, Part, PartIx, PipeIx, PortRef, Service, System, Value};

/// Where a length comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Known {
    /// Stated, or measured on the real route.
    Yes,
    /// An assumption of the description or an allowance made here.
    Allowance,
}

/// How far the water goes in a pipe.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Run {
    pub metres: f64,
    pub elbows: f64,
    pub known: Known,
}

/// Everything the subsystems share.
pub struct Work {
    pub system: System,
    pub graph: Graph,
    pub aims: Aims,
    pub figures: Vec<Figure>,
    pub runs: Vec<Run>,
    pub tubes: Vec<Option<&'static Tube>>,
    /// Design flow, l/s.
    pub flow: Vec<f64>,
    /// Mean temperature of the water, °C.
    pub celsius: Vec<f64>,
    pub liquid: Vec<Liquid>,
    properties: BTreeMap<(u8, u64, u64), Properties>,
}

impl Work {
    pub fn on(system: &System) -> Work {
        let count = system.pipes.len();
        let mut work = Work {
            graph: Graph::of(system),
            aims: Aims::of(&system.rules),
            figures: Vec::new(),
            runs: Vec::with_capacity(count),
            tubes: vec![None; count],
            flow: vec![0.0; count],
            celsius: vec![10.0; count],
            liquid: vec![Liquid::Water; count],
            properties: BTreeMap::new(),
            system: system.clone(),
        };
        // A second call, with the routes measured, sizes afresh what an earlier one sized.
        for pipe in &mut work.system.pipes {
            if pipe.size.as_ref().is_some_and(|s| is_ours(&s.origin)) {
                pipe.size = None;
            }
        }
        for i in 0..count {
            let run = work.measure(PipeIx(i));
            work.runs.push(run);
            work.say_length(PipeIx(i), run);
            let pipe = &work.system.pipes[i];
            let stated = pipe.size.as_ref().map(|s| s.value.clone());
            work.tubes[i] = stated.and_then(|s| tube_called(&s, &pipe.material.value));
        }
        work
    }

    pub fn done(self) -> Sized {
        Sized { system: self.system, figures: self.figures }
    }

    /// Writes the length into the pipe, so that lists and sheets have the one that the figures
    /// rest on: as told of what it leads to, or as allowed, which is an assumption like any other.
    /// What lies within the cupboard is measured on its route.
    fn say_length(&mut self, pipe: PipeIx, run: Run) {
        let p = self.system.pipe(pipe);
        let within = [p.from, p.to].iter().all(|e| self.system.part(e.part).in_cupboard());
        if within || p.length.is_some() {
            return;
        }
        let far = self.system.part(p.to.part);
        let (what, id) = if is_outlet(far) {
            ("pipe to each outlet from where it branches off", "SIZE.outlet-allowance")
        } else if [p.from, p.to].iter().any(|e| self.system.part(e.part).in_cupboard()) {
            ("pipe from the cupboard to the first joint or part outside", "SIZE.heating-allowance")
        } else {
            ("pipe from one joint or part to the next outside", "SIZE.water-allowance")
        };
        let origin = match run.known {
            Known::Yes => Origin::derived("the distance stated of what it leads to"),
            Known::Allowance => {
                let why = format!("{}; measure it", self.aims.limit(id).source);
                Origin::Assumed(self.assume(what, run.metres, "m", &why))
            }
        };
        let pipe = &mut self.system.pipes[pipe.0];
        pipe.length = Some(Value { value: run.metres, origin });
        let elbows = || Value { value: run.elbows, origin: Origin::derived("elbows by length") };
        pipe.elbows.get_or_insert_with(elbows);
    }

    /// The id of an assumption, listed once.
    fn assume(&mut self, what: &str, value: f64, unit: &str, why: &str) -> String {
        let list = &mut self.system.assumptions;
        let value = super::note::plain(value, 2);
        if let Some(row) = list.iter().find(|a| a.what == what && a.value == value) {
            return row.id.clone();
        }
        let id = next_id(list);
        list.push(Assumption {
            id: id.clone(),
            what: what.to_owned(),
            value,
            unit: unit.to_owned(),
            why: why.to_owned(),
        });
        id
    }

    /// The length that is known, else an allowance by where the two ends are.
    fn measure(&self, pipe: PipeIx) -> Run {
        let p = self.system.pipe(pipe);
        let (from, to) = (self.system.part(p.from.part), self.system.part(p.to.part));
        let elbow = self.aims.get("SIZE.allowance-elbows");
        if let Some(length) = &p.length {
            let metres = length.value.max(0.0);
            let elbows = match &p.elbows {
                Some(e) => e.value.max(0.0),
                None => (metres * elbow).ceil(),
            };
            let known = if length.origin.is_assumed() { Known::Allowance } else { Known::Yes };
            return Run { metres, elbows, known };
        }
        let far = if from.in_cupboard() { to } else { from };
        let told = far.number("distance").or_else(|| match p.service {
            Service::HeatingFlow | Service::HeatingReturn => far.number("length"),
            _ => None,
        });
        if let Some(metres) = told {
            let elbows = p.elbows.as_ref().map(|e| e.value);
            let elbows = elbows.or_else(|| far.number("elbows")).unwrap_or(metres * elbow);
            return Run { metres, elbows: elbows.ceil(), known: Known::Yes };
        }
        let id = if from.in_cupboard() && to.in_cupboard() {
            "SIZE.inside-allowance"
        } else if p.service == Service::Discharge2 {
            "SIZE.discharge-length"
        } else if is_outlet(to) {
            "SIZE.outlet-allowance"
        } else if from.in_cupboard() == to.in_cupboard() {
            "SIZE.water-allowance"
        } else {
            "SIZE.heating-allowance"
        };
        let metres = self.aims.get(id);
        let elbows = match (&p.elbows, p.service) {
            (Some(e), _) => e.value,
            (None, Service::Discharge2) if id == "SIZE.discharge-length" => {
                self.aims.get("SIZE.discharge-elbows")
            }
            // The allowance inside the cupboard is one elbow for every second pipe at most.
            (None, _) => (metres * elbow).floor(),
        };
        Run { metres, elbows, known: Known::Allowance }
    }

    /// The liquid's properties at a temperature, computed once for each.
    pub fn properties(&mut self, liquid: &Liquid, celsius: f64) -> Properties {
        let key = match liquid {
            Liquid::Water => (0, 0, celsius.to_bits()),
            Liquid::Glycol(name, percent) => {
                (name.len() as u8, percent.to_bits(), celsius.to_bits())
            }
        };
        *self.properties.entry(key).or_insert_with(|| liquid.at(celsius))
    }

    pub fn properties_in(&mut self, pipe: PipeIx) -> Properties {
        let liquid = self.liquid[pipe.0].clone();
        self.properties(&liquid, self.celsius[pipe.0])
    }

    /// Friction at the design flow in the tube chosen.
    pub fn friction_in(&mut self, pipe: PipeIx) -> Friction {
        let properties = self.properties_in(pipe);
        let Some(tube) = self.tubes[pipe.0] else { return Friction::default() };
        friction(self.flow[pipe.0], tube.bore(), tube.roughness, &properties)
    }

    /// Loss along a pipe at `flow` l/s, its elbows in, Pa.
    pub fn pipe_loss(&mut self, pipe: PipeIx, flow: f64) -> f64 {
        let properties = self.properties_in(pipe);
        let Some(tube) = self.tubes[pipe.0] else { return 0.0 };
        if flow <= 0.0 {
            return 0.0;
        }
        let f = friction(flow, tube.bore(), tube.roughness, &properties);
        let run = self.runs[pipe.0];
        let elbow = if tube.material == "copper" || tube.material == "steel" {
            "elbow"
        } else {
            "plastic elbow"
        };
        let zeta = run.elbows * hydraulics::zeta(elbow, tube.od);
        f.gradient * run.metres + fitting_loss(zeta, f.velocity, properties.rho)
    }

    /// Loss through a part that the water enters by `enter` and leaves by `leave`, Pa. Parts whose
    /// loss depends on more than their Kv or zeta (sources, coils, circuits) are not asked here.
    pub fn part_loss(&mut self, enter: PipeIx, leave: PipeIx, flow: f64) -> f64 {
        if flow <= 0.0 {
            return 0.0;
        }
        let ports = (self.system.pipe(enter).to, self.system.pipe(leave).from);
        let part = self.system.part(ports.0.part);
        let Some(tube) = self.tubes[enter.0] else { return 0.0 };
        if let Some(kv) = valve_kv(part, tube) {
            return valve_loss(kv, flow);
        }
        let zeta = part_zeta(part, ports, tube);
        let properties = self.properties_in(enter);
        let velocity = super::friction::velocity(flow, tube.bore());
        fitting_loss(zeta, velocity, properties.rho)
    }

    /// Gives a pipe the size of `tube`, unless the description states one.
    pub fn give(&mut self, pipe: PipeIx, tube: &'static Tube, method: &str, from: Vec<String>) {
        if self.system.pipes[pipe.0].size.is_some() {
            return;
        }
        self.tubes[pipe.0] = Some(tube);
        self.system.pipes[pipe.0].size = Some(Value {
            value: tube.size.clone(),
            origin: Origin::Derived { method: format!("{SIZED}{method}"), from },
        });
    }

    /// Takes back a size given here.
    pub fn forget(&mut self, pipe: PipeIx) {
        if !self.is_stated(pipe) {
            self.system.pipes[pipe.0].size = None;
            self.tubes[pipe.0] = None;
        }
    }

    /// Puts a better value in the place of an assumed one, in the part and in the list of
    /// assumptions; what is stated or measured stands.
    pub fn reassume(&mut self, ix: PartIx, key: &str, value: f64, why: &str) {
        let Some(old) = self.system.part(ix).attrs.get(key) else { return };
        let Origin::Assumed(id) = old.origin.clone() else { return };
        let shared = self.system.parts.iter().enumerate().any(|(i, p)| {
            p.attrs.0.iter().any(|(k, v)| {
                (PartIx(i) != ix || k != key) && v.origin == Origin::Assumed(id.clone())
            })
        });
        let list = &mut self.system.assumptions;
        let text = super::note::plain(value, 2);
        let id = match list.iter_mut().find(|a| a.id == id) {
            Some(row) if !shared => {
                row.value = text;
                row.why = why.to_owned();
                id
            }
            Some(row) => {
                let mut own = row.clone();
                own.id = next_id(list);
                own.value = text;
                own.why = why.to_owned();
                let id = own.id.clone();
                list.push(own);
                id
            }
            None => id,
        };
        self.system.parts[ix.0].attrs.set_number(key, Value::assumed(value, &id));
    }

    /// True where the pipe's size is not of this stage's making.
    pub fn is_stated(&self, pipe: PipeIx) -> bool {
        self.system.pipe(pipe).size.as_ref().is_some_and(|s| !is_ours(&s.origin))
    }

    /// Tubes the pipe may be made of, smallest first.
    pub fn choices(&self, pipe: PipeIx) -> Vec<&'static Tube> {
        of_material(&self.system.pipe(pipe).material.value)
    }

    pub fn tag(&self, part: PartIx) -> String {
        self.system.part(part).tag.clone()
    }
}

/// The next free id of an assumption.
fn next_id(list: &[Assumption]) -> String {
    let number = |a: &Assumption| a.id.trim_start_matches('A').parse::<usize>().ok();
    format!("A{}", list.iter().filter_map(number).max().unwrap_or(0) + 1)
}

/// Merchant's sizes of a material, smallest first; copper where the table lacks it.
pub fn of_material(material: &str) -> Vec<&'static Tube> {
    let of = |m: &str| tubes().iter().filter(|t| t.material == m && t.default).collect::<Vec<_>>();
    let mut all = of(material);
    if all.is_empty() {
        all = of("copper");
    }
    all.sort_by(|a, b| a.bore().total_cmp(&b.bore()));
    all
}

/// The tube that a size means in a material: "22" in PB is "PB 22".
pub fn tube_called(size: &str, material: &str) -> Option<&'static Tube> {
    let size = size.trim().trim_end_matches("mm").trim();
    let of = || tubes().iter().filter(|t| t.material == material);
    of().find(|t| t.size == size)
        .or_else(|| of().find(|t| t.size.rsplit(' ').next() == Some(size)))
        .or_else(|| Tube::called(size))
}

/// Outside diameter that a designation means, mm: "22", "PB 15", "G3/4".
pub fn diameter_of(designation: &str) -> Option<f64> {
    match designation {
        "" => None,
        "G1/2" => Some(15.0),
        "G3/4" => Some(22.0),
        "G1" => Some(28.0),
        other => Tube::called(other).map(|t| t.od),
    }
}

/// How the method of a size begins that this stage gave.
const SIZED: &str = "sized: ";

fn is_ours(origin: &Origin) -> bool {
    matches!(origin, Origin::Derived { method, .. } if method.starts_with(SIZED))
}

pub fn is_outlet(part: &Part) -> bool {
    super::demand::outlet(&part.kind.key).is_some()
}

/// Kv of a valve in a pipe: as stated, else the kind's; the kind's is that of a 22 mm valve, and a
/// valve of a larger pipe passes more by the square of the bore.
fn valve_kv(part: &Part, tube: &Tube) -> Option<f64> {
    let of_kind = || {
        let bore = Tube::called("22").map_or(20.2, Tube::bore);
        let larger = (tube.bore() / bore).max(1.0);
        part.kind.kv.map(|kv| kv * larger * larger)
    };
    part.number("kv").or_else(of_kind).filter(|kv| *kv > 0.0)
}

fn part_zeta(part: &Part, ports: (PortRef, PortRef), tube: &Tube) -> f64 {
    let key = part.kind.key.as_str();
    match key {
        "tee" => {
            let branch = part.kind.port("branch");
            let turned = Some(ports.0.port) == branch || Some(ports.1.port) == branch;
            hydraulics::zeta(if turned { "tee branch" } else { "tee through" }, tube.od)
        }
        "lever valve" | "service valve" | "stop valve" | "check valve" | "strainer" => {
            hydraulics::zeta(key, tube.od)
        }
        _ if key.ends_with("cylinder") || key == "buffer" || key == "volumiser" => {
            hydraulics::zeta("into vessel", tube.od) + hydraulics::zeta("out of vessel", tube.od)
        }
        _ => part.kind.zeta.unwrap_or(0.0),
    }
}
