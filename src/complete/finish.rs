//! The last step: tags, ids and order. In: the net. Out: the system, in an order that follows
//! from what is in it and not from the file: parts by kind and number, pipes by number.

use std::collections::{BTreeMap, BTreeSet};

use super::assume::Ledger;
use super::explicit::Outcome;
use super::given::{maybe, value};
use super::net::Net;
use super::{Completed, tails};
use crate::catalogue::{Kind, kinds};
use crate::describe::facts::Facts;
use crate::model::{
    Attrs, Job, Origin, PartIx, PipeIx, Place, Revision, Ruleset, Site, System, UnitIx, Value,
};

pub fn finish(
    mut net: Net,
    facts: &Facts,
    site: Site,
    listed: bool,
    outcome: Outcome,
) -> Completed {
    if site.cupboard.is_some() {
        tails::apply(&mut net);
    }
    let rules = rules(&mut net.ledger, facts, listed);
    let mut system = compact(&mut net, facts, site, rules, &outcome);
    assumptions(&mut system, &net.ledger, facts);
    refused(&mut system, facts);
    let mut diagnostics = net.diagnostics;
    diagnostics.sort_by(|a, b| {
        (a.span.start, a.span.end, a.code, &a.message).cmp(&(
            b.span.start,
            b.span.end,
            b.code,
            &b.message,
        ))
    });
    diagnostics.dedup();
    Completed { system, diagnostics }
}

/// Letters and number of a tag: `ZV12` → ("ZV", 12).
fn split(tag: &str) -> (&str, u64) {
    let at = tag.trim_end_matches(|c: char| c.is_ascii_digit()).len();
    (&tag[..at], tag[at..].parse().unwrap_or(u64::MAX))
}

fn rank(kind: Kind) -> usize {
    kinds().iter().position(|k| k.key == kind.key).unwrap_or(usize::MAX)
}

/// Drops what was cut, gives tags and ids, and sorts.
fn compact(net: &mut Net, facts: &Facts, site: Site, rules: Ruleset, outcome: &Outcome) -> System {
    let mut taken: BTreeSet<String> = BTreeSet::new();
    taken.extend(net.parts.iter().map(|p| p.tag.clone()).filter(|t| !t.is_empty()));
    taken.extend(net.units.iter().map(|u| u.tag.clone()).filter(|t| !t.is_empty()));
    let mut next: BTreeMap<String, u64> = BTreeMap::new();
    let mut tag = |letters: &str, taken: &mut BTreeSet<String>| {
        let n = next.entry(letters.to_owned()).or_insert(0);
        loop {
            *n += 1;
            let tag = format!("{letters}{n}");
            if taken.insert(tag.clone()) {
                return tag;
            }
        }
    };
    for (i, part) in net.parts.iter_mut().enumerate() {
        if part.tag.is_empty() && !outcome.dropped.contains(&PartIx(i)) {
            part.tag = tag(&part.kind.tag, &mut taken);
        }
    }
    for unit in &mut net.units {
        if unit.tag.is_empty() {
            unit.tag = tag(&unit.kind.tag, &mut taken);
        }
    }
    let used: BTreeSet<UnitIx> = net
        .parts
        .iter()
        .enumerate()
        .filter(|(i, _)| !outcome.dropped.contains(&PartIx(*i)))
        .filter_map(|(_, p)| p.unit)
        .collect();
    let mut unit_order: Vec<UnitIx> = (0..net.units.len())
        .map(UnitIx)
        .filter(|u| used.contains(u) || !net.units[u.0].span.is_empty())
        .collect();
    unit_order.sort_by(|a, b| {
        let key = |u: &UnitIx| {
            let unit = &net.units[u.0];
            let (letters, n) = split(&unit.tag);
            (rank(unit.kind), letters.to_owned(), n)
        };
        key(a).cmp(&key(b))
    });
    let mut order: Vec<PartIx> =
        (0..net.parts.len()).map(PartIx).filter(|p| !outcome.dropped.contains(p)).collect();
    order.sort_by_cached_key(|p| {
        let part = &net.parts[p.0];
        let (letters, n) = split(&part.tag);
        (rank(part.kind), letters.to_owned(), n)
    });
    let part_at: BTreeMap<PartIx, PartIx> =
        order.iter().enumerate().map(|(i, p)| (*p, PartIx(i))).collect();
    let unit_at: BTreeMap<UnitIx, UnitIx> =
        unit_order.iter().enumerate().map(|(i, u)| (*u, UnitIx(i))).collect();
    let parts = order
        .iter()
        .map(|p| {
            let mut part = net.parts[p.0].clone();
            part.unit = part.unit.and_then(|u| unit_at.get(&u).copied());
            part.on = part.on.and_then(|o| part_at.get(&o).copied());
            part
        })
        .collect();
    let mut pipes: Vec<_> = (0..net.pipes.len())
        .map(PipeIx)
        .filter(|p| net.stands(*p))
        .filter_map(|p| {
            let mut pipe = net.pipes[p.0].clone();
            pipe.from.part = *part_at.get(&pipe.from.part)?;
            pipe.to.part = *part_at.get(&pipe.to.part)?;
            Some(pipe)
        })
        .collect();
    // The pipes of a run one after another, as they are printed.
    let mut first: BTreeMap<String, usize> = BTreeMap::new();
    for (i, pipe) in pipes.iter().enumerate() {
        first.entry(pipe.run.clone()).or_insert(i);
    }
    pipes.sort_by_key(|p| first.get(&p.run).copied().unwrap_or(usize::MAX));
    let mut ids: BTreeSet<String> =
        pipes.iter().map(|p| p.id.clone()).filter(|i| !i.is_empty()).collect();
    let mut n = 0u64;
    for pipe in &mut pipes {
        if pipe.id.is_empty() {
            loop {
                n += 1;
                let id = format!("p{n}");
                if ids.insert(id.clone()) {
                    pipe.id = id;
                    break;
                }
            }
        }
    }
    pipes.sort_by_cached_key(|p| {
        let (letters, n) = split(&p.id);
        (letters.to_owned(), n, p.id.clone())
    });
    System {
        job: job(facts),
        rules,
        site,
        parts,
        pipes,
        units: unit_order.iter().map(|u| net.units[u.0].clone()).collect(),
        assumptions: Vec::new(),
    }
}

fn rules(ledger: &mut Ledger, facts: &Facts, listed: bool) -> Ruleset {
    let jurisdiction = match maybe(&facts.rules.jurisdiction) {
        Some(v) => v,
        None if listed => Value::derived("england".to_owned(), "where nothing else is said"),
        None => ledger.text(
            "rules of",
            "england",
            "the description names no nation; Wales, Scotland and Northern Ireland differ",
        ),
    };
    let edition = maybe(&facts.rules.edition)
        .unwrap_or_else(|| Value::derived(String::new(), "the newest in the table"));
    let mut overrides = BTreeMap::new();
    for (id, limit, why) in &facts.rules.limits {
        overrides.insert(id.value.clone(), (value(limit), why.clone()));
    }
    Ruleset { jurisdiction, edition, overrides, span: 0..0 }
}

fn job(facts: &Facts) -> Job {
    let j = &facts.job;
    let words = |m: &crate::describe::facts::Maybe<String>| {
        m.as_ref().map(|g| g.value.clone()).unwrap_or_default()
    };
    let mut revisions: Vec<Revision> = j
        .revisions
        .iter()
        .map(|r| Revision {
            index: r.index.clone(),
            date: r.date.clone(),
            note: r.note.clone(),
            by: r.by.clone(),
        })
        .collect();
    revisions.sort_by(|a, b| (&a.index, &a.date, &a.note).cmp(&(&b.index, &b.date, &b.note)));
    let status = words(&j.status);
    let notes = j.notes.iter().map(|n| n.value.clone()).collect();
    Job {
        name: words(&j.name),
        number: words(&j.number),
        status: if status.is_empty() { "design".to_owned() } else { status },
        fields: j.fields.iter().map(|(k, v)| (k.clone(), v.value.clone())).collect(),
        revisions,
        notes,
    }
}

/// Keeps the assumptions that some value still rests on, and those that stand on their own;
/// numbers them without gaps.
fn assumptions(system: &mut System, ledger: &Ledger, facts: &Facts) {
    let mut used: BTreeSet<String> = ledger.standing.iter().cloned().collect();
    visit(system, &mut |origin| {
        if let Origin::Assumed(id) = origin {
            used.insert(id.clone());
        }
    });
    let mut renamed = BTreeMap::new();
    let mut list: Vec<_> = facts
        .assumptions
        .iter()
        .map(|a| crate::model::Assumption {
            id: a.id.clone(),
            what: a.what.clone(),
            value: a.value.clone(),
            unit: a.unit.clone(),
            why: a.why.clone(),
        })
        .collect();
    list.sort_by(|a, b| split(&a.id).1.cmp(&split(&b.id).1).then_with(|| a.id.cmp(&b.id)));
    let mut n = ledger.first;
    for a in ledger.list.iter().filter(|a| used.contains(&a.id)) {
        n += 1;
        let id = format!("A{n}");
        renamed.insert(a.id.clone(), id.clone());
        list.push(crate::model::Assumption { id, ..a.clone() });
    }
    visit(system, &mut |origin| {
        if let Origin::Assumed(id) = origin
            && let Some(new) = renamed.get(id)
        {
            id.clone_from(new);
        }
    });
    system.assumptions = list;
}

/// Every origin in the system.
fn visit(system: &mut System, f: &mut dyn FnMut(&mut Origin)) {
    fn attrs(a: &mut Attrs, f: &mut dyn FnMut(&mut Origin)) {
        for v in a.0.values_mut() {
            f(&mut v.origin);
        }
    }
    fn one<T>(v: &mut Option<Value<T>>, f: &mut dyn FnMut(&mut Origin)) {
        if let Some(v) = v {
            f(&mut v.origin);
        }
    }
    fn place(p: &mut Place, f: &mut dyn FnMut(&mut Origin)) {
        one(&mut p.x, f);
        one(&mut p.y, f);
        one(&mut p.z, f);
        one(&mut p.side, f);
        one(&mut p.turn, f);
    }
    for part in &mut system.parts {
        attrs(&mut part.attrs, f);
        place(&mut part.place, f);
    }
    for unit in &mut system.units {
        attrs(&mut unit.attrs, f);
        place(&mut unit.place, f);
    }
    for pipe in &mut system.pipes {
        one(&mut pipe.size, f);
        f(&mut pipe.material.origin);
        one(&mut pipe.length, f);
        one(&mut pipe.elbows, f);
        one(&mut pipe.lagging, f);
        if let Some(tail) = &mut pipe.tail {
            one(&mut tail.side, f);
            one(&mut tail.x, f);
            one(&mut tail.y, f);
            one(&mut tail.z, f);
        }
    }
    f(&mut system.rules.jurisdiction.origin);
    f(&mut system.rules.edition.origin);
    for (v, _) in system.rules.overrides.values_mut() {
        f(&mut v.origin);
    }
    attrs(&mut system.site.dwelling, f);
    if let Some(c) = &mut system.site.cupboard {
        for v in [&mut c.width, &mut c.depth, &mut c.height] {
            f(&mut v.origin);
        }
        f(&mut c.datum.origin);
        attrs(&mut c.floor.attrs, f);
        for wall in &mut c.walls {
            attrs(&mut wall.attrs, f);
        }
        if let Some(d) = &mut c.door {
            for v in [&mut d.clear_width, &mut d.clear_height, &mut d.from_left] {
                f(&mut v.origin);
            }
            f(&mut d.hinge.origin);
        }
    }
}

/// What an assumption stands in for, by the words it is called by: the node, the property.
const STANDS_FOR: &[(&str, &str, &str)] = &[
    ("cupboard", "width", "cupboard width"),
    ("cupboard", "depth", "cupboard depth"),
    ("cupboard", "height", "cupboard height"),
    ("door", "clear-width", "clear width of the door"),
    ("door", "clear-height", "clear height of the door"),
    ("main", "static", "static pressure of the main"),
    ("main", "dynamic", "dynamic pressure of the main"),
    ("main", "at", "flow at the dynamic pressure"),
    ("cylinder", "litres", "cylinder content"),
    ("cylinder", "diameter", "cylinder diameter"),
    ("cylinder", "height", "cylinder height"),
    ("cylinder", "stored", "stored temperature"),
    ("cylinder", "working-pressure", "cylinder's rated pressure"),
    ("cylinder", "coil-kw", "coil rating"),
    ("coil", "kw", "coil rating"),
    ("boiler", "kw", "output of the heat source"),
    ("heat-pump", "kw", "output of the heat source"),
    ("boiler", "flow", "flow temperature of the heat source"),
    ("boiler", "return", "return temperature of the heat source"),
    ("heat-pump", "flow", "flow temperature of the heat source"),
    ("heat-pump", "return", "return temperature of the heat source"),
    ("discharge", "length", "length of the discharge pipe D2"),
    ("discharge", "elbows", "elbows in the discharge pipe D2"),
    ("discharge", "fall", "fall of the discharge pipe D2, 1 in"),
    ("discharge", "to", "discharge ends at"),
    ("dwelling", "bedrooms", "cylinder content"),
];

/// Where a value was given and refused, what is assumed in its place says so.
fn refused(system: &mut System, facts: &Facts) {
    for r in &facts.refused {
        let row = STANDS_FOR.iter().find(|(about, key, _)| *about == r.about && *key == r.key);
        let Some((.., what)) = row else { continue };
        for a in system.assumptions.iter_mut().filter(|a| a.what == *what) {
            a.why = match r.loose {
                true => format!("`{}` was typed on that line and NOT READ; {}", r.typed, a.why),
                false => format!("{}={} was given and REFUSED; {}", r.key, r.typed, a.why),
            };
        }
    }
}
