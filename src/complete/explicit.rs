//! What the file insists on: parts, units and runs. In: the net as completed so far. Out: the net
//! with every stated part and run in it. A stated run takes the place of the completed run of the
//! same name; other runs are added. What can't be joined is left out and said.

use std::collections::{BTreeMap, BTreeSet};

use super::given::{all_attrs, maybe, place, value};
use super::net::Net;
use super::{ends, runs};
use crate::catalogue::{Kind, Mount};
use crate::describe::facts::{AssumptionFacts, Facts, Given, PartFacts, PlaceFacts, UnitFacts};
use crate::diagnostic::Diagnostic;
use crate::model::{PartIx, PipeIx, UnitIx};

/// What `finish` must leave out.
#[derive(Default)]
pub struct Outcome {
    pub dropped: BTreeSet<PartIx>,
}

/// The greatest number among the assumptions the file lists.
pub fn last_listed(listed: &[AssumptionFacts]) -> usize {
    listed
        .iter()
        .filter_map(|a| a.id.strip_prefix('A').and_then(|n| n.parse::<usize>().ok()))
        .filter(|n| *n < 1_000_000)
        .max()
        .unwrap_or(0)
}

/// True where the file states parts or runs and no facts: nothing to complete from.
pub fn only_parts(facts: &Facts) -> bool {
    (!facts.parts.is_empty() || !facts.runs.is_empty())
        && facts.main.is_none()
        && facts.cylinders.is_empty()
        && facts.sources.is_empty()
        && facts.zones.is_empty()
        && facts.outlets.is_empty()
        && facts.discharges.is_empty()
        && facts.secondary_return.is_none()
        && facts.equipment.is_empty()
        && facts.controls.is_empty()
        && facts.buildings.is_empty()
}

pub fn apply(net: &mut Net, facts: &Facts, listed: bool) -> Outcome {
    if listed && facts.as_listed {
        ignored_facts(net, facts);
    }
    let completed = net.parts.len();
    tag_completed(net);
    units(net, facts);
    let stated = parts(net, facts, listed);
    fitted(net, facts, &stated);
    let mut orphans = BTreeSet::new();
    replace_runs(net, facts, &mut orphans);
    let named = runs::lay(net, facts, listed);
    let mut dropped = BTreeSet::new();
    let joined: BTreeSet<PartIx> = (0..net.pipes.len())
        .map(PipeIx)
        .filter(|p| net.stands(*p))
        .flat_map(|p| [net.pipes[p.0].from.part, net.pipes[p.0].to.part])
        .collect();
    for ix in orphans {
        if !joined.contains(&ix) && !named.contains(&ix) && !stated.values().any(|s| *s == ix) {
            dropped.insert(ix);
        }
    }
    ends::loose_ends(net, completed, &joined, &mut dropped, listed);
    Outcome { dropped }
}

/// Completed parts have their tags before the file's parts come, so that a file may speak of them
/// by tag, and so that a stated part does not renumber them.
fn tag_completed(net: &mut Net) {
    let mut next: BTreeMap<String, u64> = BTreeMap::new();
    for part in &mut net.parts {
        let n = next.entry(part.kind.tag.clone()).or_insert(0);
        *n += 1;
        part.tag = format!("{}{n}", part.kind.tag);
    }
    for unit in &mut net.units {
        let n = next.entry(unit.kind.tag.clone()).or_insert(0);
        *n += 1;
        unit.tag = format!("{}{n}", unit.kind.tag);
    }
}

fn ignored_facts(net: &mut Net, facts: &Facts) {
    let mut say = |span: std::ops::Range<usize>, what: &str| {
        net.diagnostics.push(
            Diagnostic::warning(
                "not-completed",
                span,
                format!("this {what} is not used: `complete #false` takes parts and runs only"),
            )
            .label("a fact, not a part")
            .help(format!(
                "leave out `complete #false`, or write the {what} as a part: `firstfix expand` \
                 shows how"
            )),
        );
    };
    if let Some(m) = &facts.main {
        say(m.span.clone(), "main");
    }
    for c in &facts.cylinders {
        say(c.span.clone(), "cylinder");
    }
    for s in &facts.sources {
        say(s.span.clone(), "heat source");
    }
    for z in &facts.zones {
        say(z.span.clone(), "zone");
    }
    for o in &facts.outlets {
        say(o.span.clone(), "outlet");
    }
    for d in &facts.discharges {
        say(d.span.clone(), "discharge");
    }
    for e in facts.equipment.iter().chain(&facts.controls) {
        say(e.span.clone(), "equipment");
    }
    if let Some(s) = &facts.secondary_return {
        say(s.span.clone(), "secondary return");
    }
    for b in &facts.buildings {
        say(b.span.clone(), "building");
    }
}

fn units(net: &mut Net, facts: &Facts) {
    let mut list: Vec<&UnitFacts> = facts.units.iter().collect();
    list.sort_by_cached_key(|u| (u.name.value.clone(), u.span.start));
    let mut seen = BTreeSet::new();
    for u in list {
        if !seen.insert(u.name.value.clone()) {
            duplicate(net, &u.name, "unit");
            continue;
        }
        let Some(kind) = Kind::called(&u.kind.value) else { continue };
        let tag = u.tag.as_ref().map(|t| t.value.clone());
        let found = net
            .units
            .iter()
            .position(|x| x.name == u.name.value || tag.as_ref().is_some_and(|t| x.tag == *t));
        let ix = found.unwrap_or_else(|| net.add_unit(&kind.key, &u.name.value).0);
        let unit = &mut net.units[ix];
        unit.kind = kind;
        if let Some(tag) = tag {
            unit.tag = tag;
        }
        for (k, v) in all_attrs(&u.properties).0 {
            unit.attrs.0.insert(k, v);
        }
        unit.place = place(&u.place);
        unit.span = u.span.clone();
    }
}

fn duplicate(net: &mut Net, name: &Given<String>, what: &str) {
    net.diagnostics.push(
        Diagnostic::error(
            "duplicate-name",
            name.span.clone(),
            format!("two {what}s are called \"{}\"", name.value),
        )
        .label("this name is taken")
        .help(format!("give this {what} a name of its own, such as \"{} 2\"", name.value)),
    );
}

/// Stated parts, by name.
fn parts(net: &mut Net, facts: &Facts, listed: bool) -> BTreeMap<String, PartIx> {
    let mut list: Vec<&PartFacts> = facts.parts.iter().collect();
    list.sort_by_cached_key(|p| (p.name.value.clone(), p.span.start));
    let mut out: BTreeMap<String, PartIx> = BTreeMap::new();
    let mut tags: BTreeSet<String> = BTreeSet::new();
    for p in list {
        if out.contains_key(&p.name.value) {
            duplicate(net, &p.name, "part");
            continue;
        }
        if let Some(tag) = &p.tag
            && !tags.insert(tag.value.clone())
        {
            duplicate(net, tag, "part");
            continue;
        }
        let Some(kind) = Kind::called(&p.kind.value) else {
            net.diagnostics.push(
                Diagnostic::error(
                    "unknown-kind",
                    p.kind.span.clone(),
                    format!("no kind of part is called \"{}\"", p.kind.value),
                )
                .label("not in the catalogue"),
            );
            continue;
        };
        let ix = part(net, p, kind, listed);
        out.insert(p.name.value.clone(), ix);
    }
    out
}

fn part(net: &mut Net, p: &PartFacts, kind: Kind, listed: bool) -> PartIx {
    let tag = p.tag.as_ref().map(|t| t.value.as_str());
    let found = net
        .named(&p.name.value)
        .or_else(|| net.parts.iter().position(|x| tag == Some(&x.tag)).map(PartIx))
        .filter(|ix| same_ports(net.part(*ix).kind, kind));
    let fresh = found.is_none();
    let ix = match found {
        Some(ix) => {
            net.rename(ix, &p.name.value);
            ix
        }
        None => {
            if let Some(old) = net.named(&p.name.value) {
                // Another kind under a completed part's name: the completed one steps aside.
                let mut n = 2;
                while !net.rename(old, &format!("{} {n}", p.name.value)) {
                    n += 1;
                }
            }
            net.add_kind(kind, &p.name.value)
        }
    };
    if let Some(tag) = tag {
        for other in &mut net.parts {
            if other.tag == tag {
                other.tag = String::new();
            }
        }
        net.part_mut(ix).tag = tag.to_owned();
    }
    let part = net.part_mut(ix);
    part.kind = kind;
    part.span = p.span.clone();
    for (k, v) in all_attrs(&p.properties).0 {
        part.attrs.0.insert(k, v);
    }
    part.declared.extend(p.declared.iter().map(|d| d.value.clone()));
    put(&mut part.place, &p.place, kind, fresh, listed);
    ix
}

/// A part may change its kind where the new kind has the same ports (a stop valve for a lever
/// valve).
fn same_ports(a: Kind, b: Kind) -> bool {
    a == b
        || (a.ports.len() == b.ports.len()
            && a.ports.iter().zip(&b.ports).all(|(x, y)| x.name == y.name))
}

fn put(to: &mut crate::model::Place, from: &PlaceFacts, kind: Kind, fresh: bool, listed: bool) {
    let said = place(from);
    let inside = from.in_cupboard.as_ref().is_some_and(|c| c.value);
    if said.elsewhere.is_some() {
        to.elsewhere = said.elsewhere;
    } else if inside || said.x.is_some() || said.y.is_some() || said.z.is_some() {
        to.elsewhere = None;
    } else if fresh {
        to.elsewhere = (!listed && kind.mount == Mount::Elsewhere).then(|| "the house".to_owned());
    }
    to.x = said.x.or(to.x.take());
    to.y = said.y.or(to.y.take());
    to.z = said.z.or(to.z.take());
    to.side = said.side.or(to.side.take());
    to.turn = said.turn.or(to.turn.take());
    to.mirrored |= said.mirrored;
}

/// What a part is fitted into and which unit it comes in.
fn fitted(net: &mut Net, facts: &Facts, stated: &BTreeMap<String, PartIx>) {
    for p in &facts.parts {
        let Some(ix) = stated.get(&p.name.value).copied() else { continue };
        if net.part(ix).span != p.span {
            continue;
        }
        if let Some(on) = &p.on {
            match find(net, &on.value) {
                Some(host) if host != ix => net.part_mut(ix).on = Some(host),
                _ => net.diagnostics.push(
                    Diagnostic::error(
                        "unknown-part",
                        on.span.clone(),
                        format!("no part is called \"{}\"", on.value),
                    )
                    .label("nothing to fit it into")
                    .help(nearest(net, &on.value)),
                ),
            }
        }
        if let Some(unit) = &p.unit {
            let found = net.units.iter().position(|u| u.name == unit.value || u.tag == unit.value);
            match found {
                Some(u) => net.part_mut(ix).unit = Some(UnitIx(u)),
                None => net.diagnostics.push(
                    Diagnostic::error(
                        "unknown-unit",
                        unit.span.clone(),
                        format!("no unit is called \"{}\"", unit.value),
                    )
                    .label("add a unit of that name"),
                ),
            }
        }
    }
}

/// A part by name or tag.
pub fn find(net: &Net, text: &str) -> Option<PartIx> {
    net.named(text).or_else(|| {
        (!text.is_empty()).then(|| net.parts.iter().position(|p| p.tag == text).map(PartIx))?
    })
}

/// Help with the nearest known name.
pub fn nearest(net: &Net, text: &str) -> String {
    let names = net.parts.iter().map(|p| p.name.as_str());
    let best = names
        .map(|n| (distance(n, text), n))
        .min()
        .filter(|(d, n)| *d <= (n.len().max(text.len()) / 3).max(2));
    match best {
        Some((_, name)) => format!("did you mean \"{name}\"?"),
        None => "name a part of this file, or a kind of part".to_owned(),
    }
}

/// Edit distance, for names of usual length.
fn distance(a: &str, b: &str) -> usize {
    let (a, b): (Vec<char>, Vec<char>) =
        (a.chars().take(60).collect(), b.chars().take(60).collect());
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, x) in a.iter().enumerate() {
        let mut last = row[0];
        row[0] = i + 1;
        for (j, y) in b.iter().enumerate() {
            let next = (row[j + 1] + 1).min(row[j] + 1).min(last + usize::from(x != y));
            last = row[j + 1];
            row[j + 1] = next;
        }
    }
    row[b.len()]
}

/// Takes out the completed runs that the file states anew.
fn replace_runs(net: &mut Net, facts: &Facts, orphans: &mut BTreeSet<PartIx>) {
    let stated: BTreeSet<&str> = facts.runs.iter().map(|r| r.name.value.as_str()).collect();
    for i in 0..net.pipes.len() {
        if stated.contains(net.pipes[i].run.as_str()) {
            let (from, to) = (net.pipes[i].from, net.pipes[i].to);
            net.cut(PipeIx(i));
            orphans.extend([from.part, to.part]);
        }
    }
}

/// A stated value, kept with its place in the text.
pub fn stated_text(given: &Option<Given<String>>) -> Option<crate::model::Value<String>> {
    maybe(given)
}

pub fn stated_number(given: &Option<Given<f64>>) -> Option<crate::model::Value<f64>> {
    given.as_ref().map(value)
}
