//! What a householder may need to know of what stands in the cupboard, in the order in which they
//! would act. In: the sized system and the cupboard. Out: at most twelve labels and the solids that
//! bear their numbers.

use super::super::words::{fill_range, spoken};
use crate::draw::frame::capital;
use crate::layout::cupboard::plan::{CupboardPlan, Owner, Solid};
use crate::model::stopping::runs_on;
use crate::model::{Part, System, UnitIx};
use crate::size::Sized;

/// A person reads no more than this.
const MOST: usize = 12;
/// So many taps are named, more are not.
const NAMED: usize = 3;

/// Which solids of a kind bear the number.
#[derive(Clone, Copy, PartialEq)]
enum Bears {
    Every,
    First,
}

/// Kinds that a person treats alike.
struct Known {
    /// Kind, what one is called, what several are.
    kinds: &'static [(&'static str, &'static str, &'static str)],
    bears: Bears,
    /// What to do with one, with several.
    one: &'static str,
    several: &'static str,
}

use Bears::{Every, First};

const fn known(
    kinds: &'static [(&'static str, &'static str, &'static str)],
    bears: Bears,
    one: &'static str,
    several: &'static str,
) -> Known {
    Known { kinds, bears, one, several }
}

pub const HEATING_SWITCH: &str = "fused connection unit";
pub const HEATER_SWITCH: &str = "double-pole switch";

const WORTH_KNOWING: [Known; 13] = [
    known(
        &[(HEATING_SWITCH, "heating switch", "heating switches")],
        Every,
        "switch off here first",
        "switch off every one here first",
    ),
    known(
        &[(HEATER_SWITCH, "water heater switch", "water heater switches")],
        Every,
        "switch off here too",
        "switch off every one here too",
    ),
    known(&[("stop valve", "stop tap", "stop taps")], First, "turn clockwise to stop", ""),
    known(
        &[("tundish", "drip cup", "drip cups")],
        Every,
        "water here means ring the engineer",
        "water in one means ring the engineer",
    ),
    known(
        &[
            ("temperature and pressure relief valve", "safety valve", "safety valves"),
            ("safety valve", "safety valve", "safety valves"),
            ("expansion relief valve", "safety valve", "safety valves"),
        ],
        Every,
        "never turn, never block",
        "never turn, never block",
    ),
    known(&[("cylinder", "hot water tank", "hot water tanks")], Every, "", ""),
    known(
        &[
            ("immersion heater", "electric heater", "electric heaters"),
            ("wiring centre", "wiring box", "wiring boxes"),
            ("relay box", "relay box", "relay boxes"),
        ],
        Every,
        "never take the cover off",
        "never take a cover off",
    ),
    known(
        &[("inlet group", "cold water control", "cold water controls")],
        First,
        "never turn or adjust",
        "never turn or adjust",
    ),
    known(
        &[
            ("hot-water vessel", "pressure ball", "pressure balls"),
            ("heating vessel", "pressure ball", "pressure balls"),
            ("solar vessel", "pressure ball", "pressure balls"),
        ],
        Every,
        "leave alone",
        "leave alone",
    ),
    known(&[("pressure gauge", "heating pressure", "heating pressure")], First, "", ""),
    known(
        &[("filling loop", "top-up hose", "top-up hoses")],
        First,
        "only as the engineer showed you",
        "only as the engineer showed you",
    ),
    known(
        &[
            ("buffer", "heating's own tank", "heating's own tanks"),
            ("volumiser", "heating's own tank", "heating's own tanks"),
        ],
        Every,
        "leave alone",
        "leave alone",
    ),
    known(
        &[
            ("zone valve", "motor valves", "motor valves"),
            ("three-port diverter", "motor valves", "motor valves"),
            ("mid-position valve", "motor valves", "motor valves"),
            ("pump", "pumps", "pumps"),
            ("secondary pump", "pumps", "pumps"),
            ("solar pump station", "pumps", "pumps"),
        ],
        First,
        "they work by themselves",
        "they work by themselves",
    ),
];

#[derive(Clone)]
pub struct Label<'a> {
    pub kind: &'static str,
    pub text: String,
    /// Each gets the number.
    pub solids: Vec<&'a Solid>,
}

/// The labels of what stands in the cupboard.
pub fn labels<'a>(sized: &'a Sized, plan: &'a CupboardPlan) -> Vec<Label<'a>> {
    let system = &sized.system;
    let mut labels: Vec<Label> = Vec::new();
    for row in WORTH_KNOWING {
        let mut solids: Vec<&Solid> = Vec::new();
        let mut names: Vec<(&str, &str, usize)> = Vec::new();
        for (kind, one, several) in row.kinds {
            let all: Vec<&Solid> = plan.solids.iter().filter(|s| is(system, s, kind)).collect();
            if all.is_empty() {
                continue;
            }
            match names.iter_mut().find(|n| n.0 == *one) {
                Some(name) => name.2 += all.len(),
                None => names.push((one, several, all.len())),
            }
            let most = if row.bears == Every { usize::MAX } else { 1 };
            solids.extend(all.into_iter().take(most));
        }
        if solids.is_empty() || labels.len() == MOST {
            continue;
        }
        let kind = row.kinds[0].0;
        let called: Vec<&str> = names.iter().map(|n| if n.2 > 1 { n.1 } else { n.0 }).collect();
        let called = capital(&spoken(&called));
        let does = if solids.len() > 1 { row.several } else { row.one };
        let text = match kind {
            HEATER_SWITCH if labels.is_empty() => {
                format!("{called}: {}", does.replace("here too", "here first"))
            }
            "stop valve" => format!("{called}: {}", stops(system, solids[0])),
            "cylinder" => match valves_within(system, &solids) {
                Some(inside) => format!("{}; {inside}", holds(system, plan, &called)),
                None => holds(system, plan, &called),
            },
            "pressure gauge" => format!("{called}: {} bar when cold", cold_fill(sized)),
            _ => format!("{called}: {does}"),
        };
        labels.push(Label { kind, text, solids });
    }
    labels
}

/// True where a solid is of that kind; a unit that holds the store stands for it.
fn is(system: &System, solid: &Solid, kind: &str) -> bool {
    let store = |p: &Part| p.kind.symbol.name == "cylinder";
    match solid.owner {
        Owner::Part(ix) => {
            let p = system.part(ix);
            p.kind.key == kind || (kind == "cylinder" && store(p))
        }
        Owner::Unit(ix) => {
            let holds = || system.parts.iter().any(|p| p.unit == Some(ix) && store(p));
            system.unit(ix).kind.key == kind || (kind == "cylinder" && holds())
        }
    }
}

fn holds(system: &System, plan: &CupboardPlan, called: &str) -> String {
    let litres: Vec<f64> =
        stores(system, Some(plan)).iter().filter_map(|c| c.number("litres")).collect();
    let alike = litres.windows(2).all(|p| p[0] == p[1]);
    match litres[..] {
        [one] => format!("{called}, {one:.0} litres"),
        [one, _, ..] if alike => format!("{called}, {one:.0} litres each"),
        [_, ..] => format!("{called}, {:.0} litres together", litres.iter().sum::<f64>()),
        [] => called.to_owned(),
    }
}

/// Safety valves that a made unit holds: not to be seen, but not to be forgotten.
fn valves_within(system: &System, solids: &[&Solid]) -> Option<&'static str> {
    let unit = |s: &&Solid| match s.owner {
        Owner::Unit(ix) => Some(ix),
        Owner::Part(_) => None,
    };
    let units: Vec<UnitIx> = solids.iter().filter_map(unit).collect();
    let within = |p: &&Part| p.unit.is_some_and(|u| units.contains(&u));
    let valves = system.parts.iter().filter(within).filter(|p| is_safety(&p.kind.key)).count();
    match valves {
        0 => None,
        1 => Some("its safety valve is inside: never take the cover off"),
        _ => Some("its safety valves are inside: never take the cover off"),
    }
}

fn is_safety(kind: &str) -> bool {
    const SAFETY: [&str; 3] =
        ["temperature and pressure relief valve", "safety valve", "expansion relief valve"];
    SAFETY.contains(&kind)
}

/// The stores in this cupboard; where none is drawn, those of the system.
pub fn stores<'a>(system: &'a System, plan: Option<&CupboardPlan>) -> Vec<&'a Part> {
    let stands = |part: &Part| {
        plan.is_some_and(|p| {
            p.solids.iter().any(|s| match s.owner {
                Owner::Part(ix) => system.part(ix).tag == part.tag,
                Owner::Unit(ix) => part.unit == Some(ix),
            })
        })
    };
    let all: Vec<&Part> =
        system.parts.iter().filter(|p| p.kind.symbol.name == "cylinder").collect();
    let here: Vec<&Part> = all.iter().copied().filter(|p| stands(p)).collect();
    if here.is_empty() { all } else { here }
}

/// The pressure to read on the gauge, as the records have it.
fn cold_fill(sized: &Sized) -> String {
    let window = sized.figures.iter().find(|f| f.id == "heating.fill").and_then(|f| {
        let of = |name: &str| f.inputs.iter().find(|i| i.name == name).map(|i| i.value);
        Some((of("lowest")?, of("highest")?))
    });
    let range = window.and_then(|(lowest, highest)| fill_range(lowest, highest));
    range.unwrap_or_else(|| "____".to_owned())
}

/// What closing a stop valve does: what is fed before it runs on.
fn stops(system: &System, valve: &Solid) -> String {
    let ports = match valve.owner {
        Owner::Part(ix) => runs_on(system, ix),
        Owner::Unit(_) => Vec::new(),
    };
    let fed = |hot: bool| -> Vec<String> {
        let mut names: Vec<String> = ports
            .iter()
            .filter(|p| (system.part(p.part).kind.ports[p.port].name == "hot") == hot)
            .map(|p| format!("the {}", system.part(p.part).kind.words))
            .collect();
        names.sort();
        names.dedup();
        names
    };
    let list = |names: &[String], what: &str| {
        if names.len() > NAMED {
            return format!("some {what} taps");
        }
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        format!("the {what} to {}", spoken(&names))
    };
    let stop = "turn clockwise to stop the water";
    match (&fed(false)[..], &fed(true)[..]) {
        ([], []) => stop.to_owned(),
        (cold, []) if cold.len() > NAMED => format!("{stop}; some cold taps run on"),
        (cold, []) => format!("{stop}; {} runs on", list(cold, "cold")),
        ([], hot) => format!("{stop}; {} runs on", list(hot, "hot")),
        (cold, hot) => format!("{stop}; {} and {} run on", list(cold, "cold"), list(hot, "hot")),
    }
}
