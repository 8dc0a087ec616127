//! Water in a closed circuit. In: the bench with sizes. Out: litres of each pipe and part.

use super::heating::{Heating, User, is_closed};
use super::note::{Note, plain};
use super::work::{Known, Work};
use crate::model::{Part, PartIx, PipeIx};

/// What a circuit holds, and whether any of it is only assumed.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Volume {
    pub pipes: f64,
    pub emitters: f64,
    pub rest: f64,
    pub assumed: bool,
}

impl Volume {
    pub fn litres(&self) -> f64 {
        self.pipes + self.emitters + self.rest
    }
}

/// Litres in a pipe.
pub fn of_pipe(work: &Work, pipe: PipeIx) -> f64 {
    work.tubes[pipe.0].map_or(0.0, |t| t.content() * work.runs[pipe.0].metres)
}

/// Metres of floor pipe that area and spacing ask for.
pub fn floor_pipe(part: &Part) -> Option<f64> {
    let area = part.number("area")?;
    let spacing = part.number("spacing").filter(|s| *s > 0.0).unwrap_or(150.0);
    Some(area * 1000.0 / spacing)
}

/// Litres in a part of a closed circuit, and whether that is only a rule of thumb.
pub fn of_part(work: &Work, ix: PartIx, user: Option<&User>) -> (f64, bool) {
    let part = work.system.part(ix);
    let key = part.kind.key.as_str();
    if let Some(litres) = part.number("water") {
        return (litres, part.attrs.is_assumed("water"));
    }
    match key {
        "radiator circuit" | "towel rail circuit" => {
            let kw = part.number("kw").unwrap_or(0.0);
            (kw * work.aims.get("SIZE.volume-radiators"), true)
        }
        "underfloor circuits" => match floor_pipe(part) {
            Some(metres) => (metres * work.aims.get("SIZE.volume-floor"), false),
            None => {
                let circuits = part.number("circuits").unwrap_or(1.0);
                (circuits * 80.0 * work.aims.get("SIZE.volume-floor"), true)
            }
        },
        "buffer" | "volumiser" => {
            (part.number("litres").unwrap_or(0.0), part.attrs.is_assumed("litres"))
        }
        "solar collector" => {
            let stated = part.number("litres");
            (stated.unwrap_or(part.number("area").unwrap_or(4.0)), stated.is_none())
        }
        _ if key.ends_with("cylinder") && user.is_some() => {
            let litres = part.number("coil-litres");
            (litres.unwrap_or(work.aims.get("SIZE.volume-coil")), litres.is_none())
        }
        _ if part.kind.heats && part.kind.port("flow").is_some() => {
            (work.aims.get("SIZE.volume-boiler"), true)
        }
        _ => (0.0, false),
    }
}

/// The volume of every circuit.
pub fn volumes(work: &mut Work, heating: &Heating) -> Vec<Volume> {
    let mut all = vec![Volume::default(); heating.circuits.len()];
    for i in 0..work.system.pipes.len() {
        let pipe = PipeIx(i);
        if let Some(c) = heating.of[work.graph.from(pipe)]
            && is_closed(work.system.pipe(pipe).service)
        {
            all[c].pipes += of_pipe(work, pipe);
            all[c].assumed |= work.runs[i].known == Known::Allowance;
        }
    }
    for chamber in 0..work.graph.chambers() {
        let Some(c) = heating.of[chamber] else { continue };
        let user = heating.user_at[chamber].map(|u| &heating.users[u]);
        let (litres, assumed) = of_part(work, work.graph.part[chamber], user);
        let emitter = super::heating::is_emitter(work.system.part(work.graph.part[chamber]));
        *(if emitter { &mut all[c].emitters } else { &mut all[c].rest }) += litres;
        all[c].assumed |= assumed;
    }
    for (c, v) in all.iter().enumerate() {
        let Some(source) = heating.circuits[c].sources.first() else { continue };
        let tag = work.tag(*source);
        work.figures.push(
            Note::new("system.volume", &tag, "water in the circuit")
                .by("sum over the graph", "pipes + emitters + source, coil, stores", "arithmetic")
                .with("pipes", v.pipes, "l")
                .with("emitters", v.emitters, "l")
                .with("source, coil, stores", v.rest, "l")
                .assumed(v.assumed)
                .gives(v.litres(), "l", format!("{} l", plain(v.litres(), 1))),
        );
    }
    all
}
