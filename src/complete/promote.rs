//! Parts that are facts. In: a file whose cylinder or heat source is stated as a part. Out: the same
//! file with the fact beside it, so that completion does not make a second one.

use crate::catalogue::Kind;
use crate::describe::facts::{
    CylinderFacts, Facts, Given, HeatedBy, PartFacts, SourceFacts, SourceKind,
};

/// A cylinder or heat source stated only as a part counts as the fact it is, so that it is not
/// made twice.
pub fn parts_as_facts(facts: &Facts) -> Option<Facts> {
    let mut out = facts.clone();
    let mut changed = false;
    for p in &facts.parts {
        let Some(kind) = Kind::called(&p.kind.value) else { continue };
        if facts.cylinders.is_empty() {
            let heated = match kind.key.as_str() {
                "indirect cylinder" => HeatedBy::Indirect,
                "direct cylinder" => HeatedBy::Electric,
                "twin-coil cylinder" => HeatedBy::Solar,
                _ => continue_source(&mut out, &mut changed, facts, p, kind),
            };
            if heated != HeatedBy::OutOfScope {
                out.cylinders.push(CylinderFacts {
                    name: Some(p.name.clone()),
                    heated: Some(Given { value: heated, ..same(&p.kind) }),
                    properties: p.properties.clone(),
                    declared: p.declared.clone(),
                    place: p.place.clone(),
                    span: p.span.clone(),
                    ..CylinderFacts::default()
                });
                changed = true;
            }
        } else {
            continue_source(&mut out, &mut changed, facts, p, kind);
        }
    }
    changed.then_some(out)
}

fn same(kind: &Given<String>) -> Given<HeatedBy> {
    Given { value: HeatedBy::Indirect, span: kind.span.clone(), mark: kind.mark.clone() }
}

/// The same for a heat source; `OutOfScope` says that it was no cylinder.
fn continue_source(
    out: &mut Facts,
    changed: &mut bool,
    facts: &Facts,
    p: &PartFacts,
    kind: Kind,
) -> HeatedBy {
    let source = match kind.key.as_str() {
        "system boiler" => SourceKind::SystemBoiler,
        "combination boiler" => SourceKind::CombinationBoiler,
        "heat pump" => SourceKind::HeatPump,
        "uncontrolled source" => SourceKind::Uncontrolled,
        _ => return HeatedBy::OutOfScope,
    };
    if facts.sources.is_empty() {
        out.sources.push(SourceFacts {
            name: Some(p.name.clone()),
            kind: Given { value: source, span: p.kind.span.clone(), mark: p.kind.mark.clone() },
            properties: p.properties.clone(),
            declared: p.declared.clone(),
            place: p.place.clone(),
            tails: Vec::new(),
            span: p.span.clone(),
        });
        *changed = true;
    }
    HeatedBy::OutOfScope
}
