//! Flats by rule. In: a building, the type its flats follow. Out: the same system once for each
//! flat, cold risers with a stop valve at each flat, and common discharge pipes: not more than six
//! systems on one, so that a discharge can be traced (older guidance to Approved Document G).

use super::given::{flag, name_of, number, text};
use super::net::{Line, Net};
use super::survey::Survey;
use super::{Feed, dwelling};
use crate::catalogue::Kind;
use crate::describe::facts::{BuildingFacts, Facts, Given};
use crate::diagnostic::Diagnostic;
use crate::model::{Origin, PartIx, PortRef, Service, Value};

/// More would be no dwelling block but a slip of the pen.
const MOST_FLATS: usize = 400;
const SYSTEMS_ON_ONE_PIPE: usize = 6;

pub fn buildings(net: &mut Net, facts: &Facts, main: PortRef) {
    let list = sorted(facts);
    let count = list.len();
    let mut line = net.line("cold main", Service::ColdMain, main);
    let stop = net.add_elsewhere("stop valve", "building stop valve", "the plant room");
    net.through(&mut line, stop);
    let survey = Survey::of(facts);
    if super::boost::stated(&survey) {
        super::boost::booster(net, &survey, &mut line);
    }
    for (i, b) in list.into_iter().enumerate() {
        let name = match name_of(&b.name) {
            n if n.is_empty() && count > 1 => format!("building {}", i + 1),
            n => n,
        };
        if i + 1 == count {
            // The last building takes the end of the main.
            stacks(net, b, &name, line.clone(), i == 0);
        } else {
            let at = net.tee(&mut line, &format!("{name} cold tee"), Some("the plant room"));
            let branch = net.line(&format!("{name} cold"), line.service, at);
            stacks(net, b, &name, branch, i == 0);
        }
    }
}

/// The buildings in an order that does not depend on the file.
pub fn sorted(facts: &Facts) -> Vec<&BuildingFacts> {
    let mut list: Vec<&BuildingFacts> = facts.buildings.iter().collect();
    list.sort_by_cached_key(|b| (name_of(&b.name), super::given::fingerprint(&b.properties)));
    list
}

/// A flat of the building.
struct Flat {
    name: String,
    /// The first of its type: drawn in its cupboard, the others on the schematic only.
    typical: bool,
    /// Storeys above the main.
    storey: i64,
}

fn stacks(net: &mut Net, b: &BuildingFacts, name: &str, mut line: Line, first_building: bool) {
    let whole = |key: &str, least: usize| {
        number(&b.properties, key).map(|v| (v.value.max(least as f64)).min(200.0) as usize)
    };
    let stacks = whole("stacks", 1).unwrap_or(1);
    let floors = whole("floors", 1).unwrap_or_else(|| {
        net.ledger.stand("floors of the building", "3", "the description does not say how many");
        3
    });
    let each = whole("flats-a-floor", 1).unwrap_or(stacks);
    if floors * each > MOST_FLATS {
        net.diagnostics.push(
            Diagnostic::error(
                "too-many",
                b.span.clone(),
                format!("{} flats are more than one building can repeat here", floors * each),
            )
            .label(format!("at most {MOST_FLATS}"))
            .help("write one building for each block"),
        );
        return;
    }
    let first =
        number(&b.properties, "first-floor").map_or(0, |v| v.value.clamp(0.0, 200.0) as i64);
    let prefix = if name.is_empty() { String::new() } else { format!("{name} ") };
    let riser_size = text(&b.properties, "riser-size");
    let height = number(&b.properties, "storey-height").map(|v| v.map(|mm| mm / 1000.0));
    let height = height.unwrap_or_else(|| {
        net.ledger.number("storey height", 2.7, "m", "common practice: floor to floor in flats")
    });
    for s in 0..stacks {
        let mut riser = if s + 1 == stacks {
            let at = line.at;
            let mut riser = line.clone();
            riser.run = net.line(&format!("{prefix}cold riser {}", s + 1), line.service, at).run;
            riser
        } else {
            let tee = format!("{prefix}riser {} tee", s + 1);
            let at = net.tee(&mut line, &tee, Some("the plant room"));
            net.line(&format!("{prefix}cold riser {}", s + 1), line.service, at)
        };
        let mut flats = Vec::new();
        for f in 0..floors {
            for n in (0..each).filter(|n| n % stacks == s) {
                let floor = first + f as i64;
                flats.push(Flat {
                    name: format!("{prefix}flat {floor}.{}", n + 1),
                    typical: first_building && f == 0 && n == 0,
                    storey: floor,
                });
            }
        }
        stack(
            net,
            b,
            &mut riser,
            &flats,
            &riser_size,
            &height,
            &format!("{prefix}stack {}", s + 1),
        );
    }
}

fn stack(
    net: &mut Net,
    b: &BuildingFacts,
    riser: &mut Line,
    flats: &[Flat],
    riser_size: &Option<Value<String>>,
    height: &Value<f64>,
    stack: &str,
) {
    let shared =
        !b.properties.contains_key("shared-discharge") || flag(&b.properties, "shared-discharge");
    let survey = Survey::of(&b.flat);
    let shaft = "the riser shaft";
    let mut outs: Vec<PortRef> = Vec::new();
    for (i, flat) in flats.iter().enumerate() {
        riser.size(riser_size.clone()).length(Some(height.clone()));
        let from = if i + 1 == flats.len() {
            riser.at
        } else {
            net.tee(riser, &format!("{} riser tee", flat.name), Some(shaft))
        };
        let before = net.parts.len();
        net.scope = format!("{} ", flat.name);
        let out = dwelling(net, &survey, Feed { from, discharge: shared });
        net.scope = String::new();
        if let Some(out) = out.filter(|_| shared) {
            outs.push(out);
        }
        if !(flat.typical && b.flat.cupboard.is_some()) {
            settle(net, before, &flat.name);
        }
        lift(net, before, flat.storey, height);
    }
    for (i, group) in outs.chunks(SYSTEMS_ON_ONE_PIPE).enumerate() {
        common(net, b, group, &format!("{stack} discharge {}", i + 1), height);
    }
}

/// Parts of a flat stand in that flat.
fn settle(net: &mut Net, before: usize, flat: &str) {
    for part in &mut net.parts[before..] {
        part.place.elsewhere = Some(flat.to_owned());
    }
    for unit in &mut net.units {
        if unit.name.starts_with(&format!("{flat} ")) {
            unit.place.elsewhere = Some(flat.to_owned());
        }
    }
}

/// What sets a pressure or uses one stands as high above the main as its storey: the stated height
/// of an outlet is over its own floor.
fn lift(net: &mut Net, before: usize, storey: i64, height: &Value<f64>) {
    let above = storey as f64 * height.value * 1000.0;
    if above == 0.0 {
        return;
    }
    for part in &mut net.parts[before..] {
        if part.kind.key != "reducing valve" && !part.kind.attrs.contains_key("min-pressure") {
            continue;
        }
        let own = part.attrs.number("height").unwrap_or(0.0);
        let origin = match &height.origin {
            assumed if assumed.is_assumed() => assumed.clone(),
            _ => Origin::Derived {
                method: "storeys times the storey's height".to_owned(),
                from: vec!["storey height".to_owned()],
            },
        };
        part.attrs.set_number("height", Value { value: own + above, origin });
    }
}

/// One pipe for the discharges of a stack, from the top flat down to its end.
fn common(net: &mut Net, b: &BuildingFacts, outs: &[PortRef], name: &str, height: &Value<f64>) {
    let Some((top, rest)) = outs.split_last() else { return };
    let length = number_of_flat(b, "length");
    // The top flat's own pipe drops to the joint below; every other joins at its own floor.
    let branch = |net: &mut Net, from: PortRef, drops: bool| {
        let flat = net.part(from.part).name.clone();
        let flat = flat.strip_suffix(" tundish").unwrap_or(&flat).to_owned();
        let mut line = net.line(&format!("{flat} discharge D2"), Service::Discharge2, from);
        let length = length.clone().unwrap_or_else(|| {
            net.ledger.number(
                "discharge pipe from a tundish to the common pipe",
                1.5,
                "m",
                "common practice: the shaft stands beside the cupboard",
            )
        });
        let elbows = number_of_flat(b, "elbows").unwrap_or_else(|| {
            net.ledger.number(
                "elbows from a tundish to the common pipe",
                2.0,
                "",
                "common practice: below the tundish and at the shaft",
            )
        });
        let size = b.flat.discharges.iter().find_map(|d| text(&d.properties, "size"));
        let length = match drops {
            true => Value { value: length.value + height.value, origin: length.origin },
            false => length,
        };
        line.length(Some(length)).elbows(Some(elbows)).size(size);
        line
    };
    let size = text(&b.properties, "discharge-size");
    let mut down = branch(net, *top, !rest.is_empty());
    let last = net.add_elsewhere("common discharge pipe", name, "outside, low level");
    let wanted = b.flat.discharges.first().and_then(|d| d.to.as_ref());
    // The shared pipe ends where the flat's own would.
    let kind = wanted
        .and_then(|w| Kind::called(&w.value))
        .filter(|k| k.port("in").is_some())
        .unwrap_or(Kind::known("trapped gully"));
    net.part_mut(last).kind = kind;
    let to = net.port(last, "in");
    let mut started = false;
    for from in rest.iter().rev() {
        let mut own = branch(net, *from, false);
        let tee: PartIx = net.add("tee", &format!("{} tee", own.run));
        net.part_mut(tee).place.elsewhere = Some("the riser shaft".to_owned());
        if started {
            // A straight drop beside the flats.
            let none = Value::derived(0.0, "the shaft drops straight");
            down.size(size.clone()).length(Some(height.clone())).elbows(Some(none));
            net.through(&mut down, tee);
        } else {
            let a = net.port(tee, "a");
            net.end(&mut down, a);
            let b = net.port(tee, "b");
            down = net.line(name, Service::Discharge2, b);
            started = true;
        }
        let at = net.port(tee, "branch");
        net.end(&mut own, at);
    }
    let length = number(&b.properties, "discharge-length").unwrap_or_else(|| height.clone());
    let elbows = number(&b.properties, "discharge-elbows").unwrap_or_else(|| {
        net.ledger.number(
            "elbows in the common discharge pipe below the lowest flat",
            2.0,
            "",
            "common practice: at the wall and at the ground",
        )
    });
    down.size(size).length(Some(length)).elbows(Some(elbows));
    net.end(&mut down, to);
}

fn number_of_flat(b: &BuildingFacts, key: &str) -> Option<Value<f64>> {
    b.flat.discharges.iter().find_map(|d| number(&d.properties, key))
}

/// A flat's facts with what the file says of the whole house: rules that depend on the dwelling.
pub fn with_dwelling(facts: &Facts) -> Option<Facts> {
    if facts.buildings.is_empty() || facts.dwelling.is_empty() {
        return None;
    }
    let mut out = facts.clone();
    for b in &mut out.buildings {
        for (key, v) in &facts.dwelling {
            b.flat.dwelling.entry(key.clone()).or_insert_with(|| Given {
                value: v.value.clone(),
                span: v.span.clone(),
                mark: v.mark.clone(),
            });
        }
    }
    Some(out)
}
