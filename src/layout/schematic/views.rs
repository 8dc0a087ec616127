//! What each sheet of a schematic shows. In: the whole system. Out: that system, or for flats by
//! rule one view of the risers, each flat a box, and one of a flat of each type, with match marks
//! where its pipes go on on the other sheet.

use std::collections::{BTreeMap, BTreeSet};

use crate::catalogue::Kind;
use crate::model::{Part, PartIx, Pipe, Place, PortRef, System};

pub struct View {
    pub key: String,
    pub title: String,
    pub system: System,
}

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

pub fn views(system: &System) -> Vec<View> {
    let mut flats: BTreeMap<&str, Vec<PartIx>> = BTreeMap::new();
    for ix in system.part_ixs() {
        if let Some(flat) = flat_of(system.part(ix)) {
            flats.entry(flat).or_default().push(ix);
        }
    }
    if flats.len() < 2 {
        let (key, title) = ("schematic".to_owned(), "Schematic".to_owned());
        return vec![View { key, title, system: system.clone() }];
    }
    let mut out = vec![risers(system, &flats)];
    // One type for each building: the first of its flats as the description counts them.
    let mut types: BTreeMap<&str, &str> = BTreeMap::new();
    let first = |flat: &str| flats[flat].first().copied();
    for flat in flats.keys() {
        let building = flat.split("flat ").next().unwrap_or("");
        let known = types.entry(building).or_insert(flat);
        if first(flat) < first(known) {
            *known = flat;
        }
    }
    for (i, flat) in types.values().enumerate() {
        out.push(one_flat(system, &flats[flat], i + 1));
    }
    out
}

/// A system being cut out of another.
struct Cut<'a> {
    whole: &'a System,
    parts: Vec<Part>,
    pipes: Vec<Pipe>,
    new: BTreeMap<PartIx, PartIx>,
}

impl<'a> Cut<'a> {
    fn new(whole: &'a System, keep: impl Iterator<Item = PartIx>) -> Cut<'a> {
        let mut cut = Cut { whole, parts: Vec::new(), pipes: Vec::new(), new: BTreeMap::new() };
        for ix in keep {
            cut.new.insert(ix, PartIx(cut.parts.len()));
            cut.parts.push(whole.part(ix).clone());
        }
        for part in &mut cut.parts {
            part.on = part.on.and_then(|on| cut.new.get(&on).copied());
        }
        cut
    }

    fn add(&mut self, kind: &str, tag: String, name: String) -> PartIx {
        self.parts.push(Part {
            tag,
            name,
            kind: Kind::known(kind),
            unit: None,
            on: None,
            attrs: Default::default(),
            declared: BTreeSet::new(),
            place: Place::default(),
            span: 0..0,
        });
        PartIx(self.parts.len() - 1)
    }

    fn port(&self, port: PortRef) -> Option<PortRef> {
        self.new.get(&port.part).map(|part| PortRef { part: *part, port: port.port })
    }

    fn pipe(&mut self, pipe: &Pipe, from: PortRef, to: PortRef) {
        self.pipes.push(Pipe { from, to, ..pipe.clone() });
    }

    fn done(self, key: &str, title: String) -> View {
        let system = System { parts: self.parts, pipes: self.pipes, ..self.whole.clone() };
        View { key: key.to_owned(), title, system }
    }
}

fn one_flat(system: &System, members: &[PartIx], n: usize) -> View {
    let mut cut = Cut::new(system, members.iter().copied());
    let mut marks = 0;
    for pipe in &system.pipes {
        let (from, to) = (cut.port(pipe.from), cut.port(pipe.to));
        match (from, to) {
            (Some(from), Some(to)) => cut.pipe(pipe, from, to),
            (None, None) => {}
            (inside_from, inside_to) => {
                marks += 1;
                let part = cut.add("match mark", format!("MM{marks}"), "to the risers".to_owned());
                let mark = PortRef { part, port: 0 };
                cut.pipe(pipe, inside_from.unwrap_or(mark), inside_to.unwrap_or(mark));
            }
        }
    }
    cut.done(&format!("schematic-flat-{n}"), "Schematic: typical flat".to_owned())
}

fn risers(system: &System, flats: &BTreeMap<&str, Vec<PartIx>>) -> View {
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
    for pipe in &system.pipes {
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
        cut.pipe(pipe, from, to);
    }
    cut.done("schematic", "Schematic: risers".to_owned())
}
