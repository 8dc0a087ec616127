//! What the file says of a part that is fitted anyway. In: equipment and control lines. Out: their
//! figures, places and declared facts on the completed parts they name; a line that finds no part
//! is said.

use std::collections::BTreeSet;

use super::given::{attrs, name_of, place, text};
use super::net::{NO_SPAN, Net};
use super::survey::{Survey, word};
use crate::catalogue::Kind;
use crate::describe::facts::EquipmentFacts;
use crate::diagnostic::Diagnostic;
use crate::model::PartIx;

pub fn apply(net: &mut Net, survey: &Survey) {
    let mut claimed: BTreeSet<PartIx> = BTreeSet::new();
    for facts in survey.equipment.iter().chain(&survey.controls) {
        if facts.kind.is_empty() {
            continue;
        }
        if facts.kind == "inlet group" {
            group(net, facts);
            continue;
        }
        if let Some(ix) = meant(net, facts, &claimed) {
            claimed.insert(ix);
            put(net, ix, facts);
        } else if !used(net, facts) {
            net.diagnostics.push(
                Diagnostic::warning(
                    "not-placed",
                    facts.span.clone(),
                    format!("this job has no place for a {}", word(facts)),
                )
                .label("left out")
                .help(format!(
                    "name it in a run, between the parts it stands between: run \"…\" \"…\" \"{}\" \"…\"",
                    facts.kind
                )),
            );
        }
    }
}

/// A part that this line has made, or given its figures to.
fn used(net: &Net, facts: &EquipmentFacts) -> bool {
    net.parts.iter().any(|p| p.span == facts.span && p.kind.key == facts.kind)
}

/// The part of its kind that no line has named yet; by what it serves where that is said.
fn meant(net: &Net, facts: &EquipmentFacts, claimed: &BTreeSet<PartIx>) -> Option<PartIx> {
    let serves =
        ["zone", "serves", "for"].iter().find_map(|k| text(&facts.properties, k)).map(|v| v.value);
    let name = name_of(&facts.name);
    let parts = || {
        let free = |(i, p): &(usize, &crate::model::Part)| {
            p.kind.key == facts.kind && !claimed.contains(&PartIx(*i))
        };
        net.parts.iter().enumerate().filter(free).map(|(_, p)| p)
    };
    let chosen = serves
        .as_ref()
        .and_then(|s| parts().find(|p| p.text("zone") == Some(s) || p.name.contains(s.as_str())))
        .or_else(|| parts().find(|p| p.name == name))
        // The part this line made, else the next one that no line has named.
        .or_else(|| parts().find(|p| p.span == facts.span))
        .or_else(|| parts().find(|p| p.span == NO_SPAN))
        .or_else(|| parts().next())?;
    net.named(&chosen.name)
}

fn put(net: &mut Net, ix: PartIx, facts: &EquipmentFacts) {
    let Some(kind) = Kind::of(&facts.kind) else { return };
    let said = attrs(&facts.properties, kind);
    let at = place(&facts.place);
    let inside = facts.place.in_cupboard.as_ref().is_some_and(|c| c.value);
    let part = net.part_mut(ix);
    for (key, v) in said.0 {
        // What the part serves stays as completed: the line may use another word for it.
        if !matches!(key.as_str(), "zone" | "for" | "guards") || part.attrs.get(&key).is_none() {
            part.attrs.0.insert(key, v);
        }
    }
    part.declared.extend(facts.declared.iter().map(|d| d.value.clone()));
    part.span = facts.span.clone();
    if at.elsewhere.is_some() {
        part.place.elsewhere = at.elsewhere;
    } else if inside || at.x.is_some() || at.y.is_some() || at.z.is_some() {
        part.place.elsewhere = None;
    }
    part.place.x = at.x.or(part.place.x.take());
    part.place.y = at.y.or(part.place.y.take());
    part.place.z = at.z.or(part.place.z.take());
    part.place.side = at.side.or(part.place.side.take());
    part.place.turn = at.turn.or(part.place.turn.take());
    part.place.mirrored |= at.mirrored;
    let name = name_of(&facts.name);
    if !name.is_empty() {
        net.rename(ix, &name);
    }
}

/// The inlet group as a body: its place, and the setting of its reducing valve.
fn group(net: &mut Net, facts: &EquipmentFacts) {
    let Some(unit) = net.units.iter().position(|u| u.kind.key == "inlet group") else { return };
    let kind = net.units[unit].kind;
    let said = attrs(&facts.properties, kind);
    if let Some(setting) = said.quantity("setting") {
        let reducing = net
            .parts
            .iter()
            .position(|p| p.unit.is_some_and(|u| u.0 == unit) && p.kind.key == "reducing valve");
        if let Some(i) = reducing {
            net.parts[i].attrs.set_number("setting", setting);
        }
    }
    let unit = &mut net.units[unit];
    for (key, v) in said.0 {
        unit.attrs.0.insert(key, v);
    }
    unit.place = place(&facts.place);
    unit.span = facts.span.clone();
}
