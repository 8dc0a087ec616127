//! The users of heat and how they hang on the primary circuit. In: stores, zones, the primary
//! flow. Out: a branch for each with its own two-port zone valve, the coil first (its valve is the
//! one the cut-out shuts), then the zones in the usual order; returns collected, the coil's
//! nearest the source. Where the file says so: a three-port valve between hot water and heating, a
//! buffer, or a header with a pump for each circuit.

use super::net::{Line, Net};
use super::source::{self, Heat, into_unit};
use super::space;
use super::store::Store;
use super::survey::Survey;
use super::tails;
use super::zones::{stretch, zone_rung, zone_valve};
use crate::describe::facts::{HeatedBy, ZoneFacts};
use crate::model::{PartIx, PortRef, Service, UnitIx};

/// A user of heat as the controls need it.
pub struct User {
    pub name: String,
    /// Coil: the cylinder; zone: its emitters.
    pub part: PartIx,
    pub zone: Option<usize>,
    pub blending: Option<PartIx>,
}

/// One user while it is joined up: where its flow goes in, where its return comes out.
pub struct Rung<'a> {
    pub user: User,
    pub flow_in: PortRef,
    pub return_out: PortRef,
    pub facts: Option<&'a ZoneFacts>,
    /// No valve of its own.
    pub always_open: bool,
    /// A pump of its own, by that name.
    pub pump: Option<String>,
}

/// What hangs on a header: one user, or coils in parallel on one branch.
pub enum Branch<'a> {
    One(Rung<'a>),
    Coils(Vec<Rung<'a>>),
    /// A part that water passes through, always open: in and out.
    Through(String, PortRef, PortRef),
}

pub fn circuits(net: &mut Net, survey: &Survey, stores: &[Store], mut heat: Heat) -> Vec<User> {
    let coils = coils(net, stores);
    let zones: Vec<Rung> =
        survey.zones.iter().enumerate().map(|(i, z)| zone_rung(net, z, i, &heat)).collect();
    let mut users = Vec::new();
    let flow = heat.flow.clone();
    let back = space::arrange(net, survey, &mut heat, flow, coils, zones, &mut users);
    if let Some(line) = back {
        source::back(net, survey, &mut heat, line);
    }
    users
}

fn coils<'a>(net: &Net, stores: &[Store]) -> Vec<Rung<'a>> {
    let coils: Vec<&Store> = stores.iter().filter(|s| s.heated != HeatedBy::Electric).collect();
    coils
        .iter()
        .map(|store| Rung {
            flow_in: net.port(store.cylinder, "flow"),
            return_out: net.port(store.cylinder, "return"),
            user: User {
                name: if coils.len() == 1 {
                    "hot water".to_owned()
                } else {
                    format!("{} hot water", net.short(store.cylinder))
                },
                part: store.cylinder,
                zone: None,
                blending: None,
            },
            facts: None,
            always_open: false,
            pump: None,
        })
        .collect()
}

/// Hangs branches on a flow line between two headers; returns the line that their returns make,
/// called `back`.
pub fn fan_out(
    net: &mut Net,
    survey: &Survey,
    unit: Option<UnitIx>,
    flow: &mut Line,
    branches: Vec<Branch>,
    back: &str,
    users: &mut Vec<User>,
) -> Option<Line> {
    let count = branches.len();
    let mut backs = Vec::new();
    for (i, branch) in branches.into_iter().enumerate() {
        let name = branch.name();
        let before = net.parts.len();
        let at =
            if i + 1 == count { flow.at } else { net.tee(flow, &format!("{name} flow tee"), None) };
        into_unit(net, before, unit);
        let line = net.line(&format!("{name} flow"), Service::HeatingFlow, at);
        let back = match branch {
            Branch::One(rung) => {
                let back = run(net, survey, unit, line, &rung);
                users.push(rung.user);
                back
            }
            Branch::Coils(rungs) => parallel(net, survey, unit, line, rungs, users)?,
            Branch::Through(name, enter, leave) => {
                let mut line = line;
                net.end(&mut line, enter);
                net.line(&format!("{name} return"), Service::HeatingReturn, leave)
            }
        };
        backs.push((back, name));
    }
    collect(net, backs, unit, back)
}

impl Branch<'_> {
    fn name(&self) -> String {
        match self {
            Branch::One(rung) => rung.user.name.clone(),
            Branch::Coils(_) => "hot water".to_owned(),
            Branch::Through(name, ..) => name.clone(),
        }
    }
}

/// One user: its pump if it has one, its valve, itself.
fn run(net: &mut Net, survey: &Survey, unit: Option<UnitIx>, mut line: Line, rung: &Rung) -> Line {
    let name = &rung.user.name;
    let before = net.parts.len();
    if let Some(pump) = &rung.pump {
        let ix = net.add("pump", pump);
        source::pump_attrs(net, survey, ix);
        net.through(&mut line, ix);
        let check = net.add("check valve", &format!("{name} check valve"));
        net.through(&mut line, check);
    }
    if !rung.always_open {
        let valve = net.add("zone valve", &format!("{name} valve"));
        zone_valve(net, survey, valve, rung.facts);
        net.through(&mut line, valve);
    }
    if rung.facts.is_none() {
        let at = net.tee(&mut line, &format!("{name} vent tee"), None);
        let vent = net.add("automatic air vent", &format!("{name} air vent"));
        let to = net.port(vent, "in");
        let mut branch = net.line(&format!("{name} air vent"), Service::HeatingFlow, at);
        net.end(&mut branch, to);
    }
    into_unit(net, before, unit);
    stretch(net, rung.facts, &mut line);
    join(net, &mut line, rung)
}

/// Coils on one branch: the first on the flow is the last on the return, so that every way is as
/// long (reverse return, common practice).
fn parallel(
    net: &mut Net,
    survey: &Survey,
    unit: Option<UnitIx>,
    mut flow: Line,
    rungs: Vec<Rung>,
    users: &mut Vec<User>,
) -> Option<Line> {
    let count = rungs.len();
    let mut back: Option<Line> = None;
    for (i, rung) in rungs.into_iter().enumerate() {
        let name = rung.user.name.clone();
        let line = if i + 1 == count {
            flow.clone()
        } else {
            let at = net.tee(&mut flow, &format!("{name} flow tee"), None);
            net.line(&format!("{name} flow"), Service::HeatingFlow, at)
        };
        let mut own = run(net, survey, unit, line, &rung);
        users.push(rung.user);
        back = Some(match back {
            None => own,
            Some(mut line) => {
                let at = net.tee(&mut line, &format!("{name} reverse return tee"), None);
                net.end(&mut own, at);
                line
            }
        });
    }
    back
}

/// From the valve into the user and out again: the line of its return.
fn join(net: &mut Net, line: &mut Line, rung: &Rung) -> Line {
    let name = &rung.user.name;
    let (mut into, mut out) = (rung.flow_in, rung.return_out);
    if let Some(blending) = rung.user.blending {
        let flow = net.port(blending, "flow");
        net.end(line, flow);
        let from = net.port(blending, "floor flow");
        let mut floor = net.line(&format!("{name} floor flow"), Service::FloorFlow, from);
        net.end(&mut floor, into);
        let to = net.port(blending, "floor return");
        let mut floor = net.line(&format!("{name} floor return"), Service::FloorReturn, out);
        net.end(&mut floor, to);
        into = flow;
        out = net.port(blending, "return");
    } else {
        net.end(line, into);
    }
    if let Some(facts) = rung.facts {
        net.tail_words.insert(into, format!("{name} flow"));
        net.tail_words.insert(out, format!("{name} return"));
        tails::keep(net, into, &facts.tails, &["flow", ""]);
        tails::keep(net, out, &facts.tails, &["return"]);
    }
    let mut back = net.line(&format!("{name} return"), Service::HeatingReturn, out);
    stretch(net, rung.facts, &mut back);
    back
}

/// Returns joined from the farthest to the nearest.
fn collect(
    net: &mut Net,
    mut backs: Vec<(Line, String)>,
    unit: Option<UnitIx>,
    back: &str,
) -> Option<Line> {
    let (mut line, _) = backs.pop()?;
    if backs.is_empty() {
        // A single user: its return is the whole return.
        line.run = net.line(back, line.service, line.at).run;
        return Some(line);
    }
    // Numbered from the source outwards, so that a further zone renumbers none before it.
    let before = net.parts.len();
    let tees: Vec<PartIx> =
        backs.iter().map(|(_, name)| net.add("tee", &format!("{name} return tee"))).collect();
    into_unit(net, before, unit);
    let mut joined = false;
    for ((mut other, _), tee) in backs.into_iter().zip(tees).rev() {
        if joined {
            net.through(&mut line, tee);
        } else {
            let a = net.port(tee, "a");
            net.end(&mut line, a);
            let b = net.port(tee, "b");
            line = net.line(back, Service::HeatingReturn, b);
            joined = true;
        }
        let branch = net.port(tee, "branch");
        net.end(&mut other, branch);
    }
    Some(line)
}
