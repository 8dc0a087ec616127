//! System → what the electrician wires. In: the component graph. Out: [`Wiring`]: devices,
//! terminals, conductors with their colours, cables; what runs in every combination of demands;
//! the proof that an open cut-out leaves the cylinder's valve dead; faults and sums.
//!
//! `survey` reads the demands off the graph, `heating`, `hot_side`, `floor` and `immersion` connect
//! them, `simulate` runs the result, `table` and `proof` read it, `rules` finds what no table can.

mod build;
pub mod dwellings;
mod floor;
mod heating;
mod hot_side;
mod immersion;
pub mod load;
pub mod netlist;
mod proof;
mod rules;
pub mod scheme;
pub mod simulate;
mod source;
mod survey;
pub mod table;

pub use netlist::Wiring;
pub use proof::Proof;
pub use rules::{RULES, WireFault};
use scheme::Scheme;
pub use survey::survey;

use crate::model::System;

/// The netlist of a system: what its parts need wired, connected.
pub fn wire(system: &System) -> Wiring {
    let mut wiring = connect(&survey(system));
    at_the_works(&mut wiring, system);
    wiring
}

/// What runs between parts of one factory-made unit comes with it: no run for the electrician.
fn at_the_works(wiring: &mut Wiring, system: &System) {
    let unit_of = |device: &String| -> Option<String> {
        let tag = wiring.device(device)?.tag.as_deref()?;
        let unit = system.part(system.by_tag(tag)?).unit?;
        Some(system.unit(unit).tag.clone())
    };
    let of = |cable: &netlist::Cable| -> Option<String> {
        let mut ends = cable.from.iter().chain(&cable.to).map(unit_of);
        let first = ends.next()??;
        ends.all(|u| u.as_ref() == Some(&first)).then_some(first)
    };
    let made: Vec<Option<String>> = wiring.cables.iter().map(of).collect();
    for (cable, unit) in wiring.cables.iter_mut().zip(made) {
        cable.at_works = unit;
    }
}

impl Wiring {
    /// What the electrician is told of the cables that come with a unit.
    pub fn made_at_works(&self) -> Vec<String> {
        let mut units: Vec<(&str, Vec<&str>)> = Vec::new();
        for cable in &self.cables {
            let Some(unit) = cable.at_works.as_deref() else { continue };
            match units.iter_mut().find(|(u, _)| *u == unit) {
                Some((_, tags)) => tags.push(&cable.tag),
                None => units.push((unit, vec![&cable.tag])),
            }
        }
        let said = |(unit, mut tags): (&str, Vec<&str>)| {
            tags.sort_by_key(|t| t.trim_start_matches('W').parse::<u32>().unwrap_or(u32::MAX));
            format!(
                "{}: made at the works within {unit}. No run to make: check them against the \
                 maker's diagram.",
                tags.join(", ")
            )
        };
        units.into_iter().map(said).collect()
    }
}

/// The netlist of a scheme.
pub fn connect(s: &Scheme) -> Wiring {
    let place = match s.relay_box.as_ref().and_then(|r| r.tag.as_deref()) {
        Some(tag) => format!("in {tag}"),
        None => "beside the wiring centre".to_owned(),
    };
    let relays = scheme::Named { place, ..scheme::Named::default() };
    let mut b = build::Builder { relays, ..build::Builder::default() };
    b.wiring.pipework = s.pipework.clone();
    b.wiring.notes = s.notes.clone();
    b.wiring.box_ways = s.centre_ways;
    let controls = s.source.is_some()
        || s.secondary.is_some()
        || s.solar.is_some()
        || !s.zones.is_empty()
        || !s.stores.is_empty();
    if controls {
        controls_of(&mut b, s);
    }
    immersion::immersions(&mut b, s);
    b.finish()
}

fn controls_of(b: &mut build::Builder, s: &Scheme) {
    heating::supply(b, s);
    let pump = s.source.as_ref().is_some_and(|p| p.heat_pump);
    let call = "X1:8".to_owned();
    if s.source.is_some() || !s.zones.is_empty() || !s.stores.is_empty() {
        heating::programmer(b, s);
    }
    // A heat pump keeps hot water and space heating apart; a boiler has one call.
    let water = if pump { b.way(12, "hot water call") } else { call.clone() };
    b.way(8, "switched line from the valves' switches");
    let shared = source::SharedWays::new(b, s, (&water, &call));
    for (i, st) in s.stores.iter().enumerate() {
        heating::store(b, s, i, st, &shared.store(i, &water));
    }
    let mut first = None;
    let mut timed = 0;
    for (i, z) in s.zones.iter().enumerate() {
        let call = shared.zone(i, &call);
        match &z.floor {
            Some(f) => floor::floor(b, z, f, &call),
            None => {
                let demand = heating::zone(b, s, timed, z, &call);
                timed += 1;
                first.get_or_insert(demand);
            }
        }
    }
    if let Some(demand) = &first {
        hot_side::mid_position(b, s, demand, &call);
    }
    hot_side::diverter(b, s, &water);
    let space = hot_side::buffer(b, s);
    if pump {
        let to_space = space.clone().unwrap_or_else(|| call.clone());
        let water = (!s.stores.is_empty()).then_some(water.as_str());
        hot_side::heat_pump(b, s, &to_space, water);
        hot_side::space_pump(b, s, &call);
        hot_side::own_pump(b, s);
    } else {
        source::boiler(b, s, &call);
    }
    if let Some(sec) = &s.secondary {
        hot_side::secondary(b, sec);
    }
    if let Some(f) = &s.frost {
        let demand = first.unwrap_or_else(|| call.clone());
        hot_side::frost(b, f, &demand);
    }
    if let Some(solar) = &s.solar {
        hot_side::solar(b, solar);
    }
    // A way that nothing lands on is no way.
    let used: Vec<String> =
        b.wiring.conductors.iter().flat_map(|c| [c.from.clone(), c.to.clone()]).collect();
    if let Some(x) = b.wiring.devices.iter_mut().find(|d| d.id == "X1") {
        x.terminals.retain(|t| used.contains(&format!("X1:{}", t.name)));
    }
}
