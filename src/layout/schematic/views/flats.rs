//! Flats by rule: the risers with every flat a box, and one flat of each type. In: the system. Out:
//! its views; of a single dwelling the system itself.

use std::collections::{BTreeMap, BTreeSet};

use super::View;
use super::cut::{Cut, IN, ON};
use crate::catalogue::Kind;
use crate::model::{Part, PartIx, PipeIx, PortRef, System};

const RISERS: &str = "risers";

/// Parts of one flat, by the name of the flat.
fn flat_of(part: &Part) -> Option<&str> {
    let start = part.name.find("flat ")?;
    let rest = &part.name[start + 5..];
    let number = rest.split(' ').next()?;
    let (floor, flat) = number.split_once('.')?;
    let whole =
        |s: &str| !s.is_empty() && s.trim_start_matches('-').chars().all(|c| c.is_ascii_digit());
    // The joint on the riser bears the flat's name and belongs to the riser.
    let own = whole(floor) && whole(flat) && rest.len() > number.len();
    let name = &part.name[..start + 5 + number.len()];
    (own && !part.name.ends_with("riser tee") && !part.name.ends_with("discharge D2 tee"))
        .then_some(name)
}

/// A flat of its type, drawn on a sheet of its own.
struct Typical {
    name: String,
    members: Vec<PartIx>,
    /// Numbers of the marks on the pipes that leave it.
    marks: BTreeMap<PipeIx, usize>,
}

pub fn views(system: &System) -> Vec<View> {
    let mut flats: BTreeMap<&str, Vec<PartIx>> = BTreeMap::new();
    for ix in system.part_ixs() {
        if let Some(flat) = flat_of(system.part(ix)) {
            flats.entry(flat).or_default().push(ix);
        }
    }
    if flats.len() < 2 {
        let name = "schematic".to_owned();
        let (key, title) = (name.clone(), "Schematic".to_owned());
        return vec![View { key, title, name, system: system.clone() }];
    }
    let types = typical(system, &flats);
    let mut out = vec![risers(system, &flats, &types)];
    out.extend(types.iter().enumerate().map(|(i, flat)| one_flat(system, flat, i + 1)));
    out
}

/// One type for each building: the first of its flats as the description counts them.
fn typical(system: &System, flats: &BTreeMap<&str, Vec<PartIx>>) -> Vec<Typical> {
    let mut types: BTreeMap<&str, &str> = BTreeMap::new();
    let first = |flat: &str| flats[flat].first().copied();
    for flat in flats.keys() {
        let building = flat.split("flat ").next().unwrap_or("");
        let known = types.entry(building).or_insert(flat);
        if first(flat) < first(known) {
            *known = flat;
        }
    }
    let mut next = 0;
    let single = types.len() == 1;
    let mut out = Vec::new();
    for (i, flat) in types.values().enumerate() {
        let members = flats[flat].clone();
        let inside: BTreeSet<PartIx> = members.iter().copied().collect();
        let mut marks = BTreeMap::new();
        for ix in system.pipe_ixs() {
            let pipe = system.pipe(ix);
            if inside.contains(&pipe.from.part) != inside.contains(&pipe.to.part) {
                next += 1;
                marks.insert(ix, next);
            }
        }
        let name =
            if single { "typical flat".to_owned() } else { format!("typical flat {}", i + 1) };
        out.push(Typical { name, members, marks });
    }
    out
}

fn one_flat(system: &System, flat: &Typical, n: usize) -> View {
    let mut cut = Cut::new(system, flat.members.iter().copied());
    for ix in system.pipe_ixs() {
        let pipe = system.pipe(ix);
        match (cut.port(pipe.from), cut.port(pipe.to), flat.marks.get(&ix)) {
            (Some(from), Some(to), _) => cut.pipe(pipe, from, to),
            (None, None, _) | (.., None) => {}
            (.., Some(mark)) => cut.pipe_to_mark(pipe, *mark, RISERS),
        }
    }
    let title = format!("Schematic: {}", flat.name);
    cut.done(format!("schematic-flat-{n}"), flat.name.clone(), title)
}

fn risers(system: &System, flats: &BTreeMap<&str, Vec<PartIx>>, types: &[Typical]) -> View {
    let inside: BTreeMap<PartIx, &str> =
        flats.iter().flat_map(|(f, parts)| parts.iter().map(|p| (*p, *f))).collect();
    let mut cut = Cut::new(system, system.part_ixs().filter(|p| !inside.contains_key(p)));
    let mut boxes: BTreeMap<&str, PartIx> = BTreeMap::new();
    // In the order of the system, not of the names.
    let mut order: Vec<&str> = flats.keys().copied().collect();
    order.sort_by_key(|f| flats[f].first().copied());
    for flat in order {
        let number = flat.rsplit(' ').next().unwrap_or("");
        let part = cut.add("flat", format!("FLAT {number}"), flat.to_owned());
        boxes.insert(flat, part);
    }
    let mut used: BTreeSet<PortRef> = BTreeSet::new();
    for ix in system.pipe_ixs() {
        let pipe = system.pipe(ix);
        let mut end = |port: PortRef| match inside.get(&port.part) {
            None => cut.port(port),
            Some(flat) => {
                let part = boxes[flat];
                let kind = Kind::known("flat");
                let falls = pipe.service.must_fall();
                let wanted =
                    if falls { ["discharge", "d", "e", "f"] } else { ["cold", "a", "b", "c"] };
                let port = wanted
                    .iter()
                    .filter_map(|n| kind.port(n))
                    .map(|port| PortRef { part, port })
                    .find(|p| !used.contains(p));
                port.inspect(|p| {
                    used.insert(*p);
                })
            }
        };
        if inside.get(&pipe.from.part).is_some_and(|f| inside.get(&pipe.to.part) == Some(f)) {
            continue;
        }
        let (Some(from), Some(to)) = (end(pipe.from), end(pipe.to)) else { continue };
        // The flat of which a sheet shows the inside bears that sheet's marks.
        let drawn = types.iter().find_map(|t| Some((*t.marks.get(&ix)?, &t.name)));
        let Some((n, name)) = drawn else {
            cut.pipe(pipe, from, to);
            continue;
        };
        let part = cut.mark(n, name);
        cut.pipe(pipe, from, PortRef { part, port: IN });
        let mut on = pipe.clone();
        on.id.push('b');
        cut.pipe(&on, PortRef { part, port: ON }, to);
    }
    cut.done("schematic".to_owned(), RISERS.to_owned(), format!("Schematic: {RISERS}"))
}
