//! Safety discharge. In: the relief valves and what is known of the route outside. Out: D1 from
//! each valve, joined above the tundish, and D2 to its end (Approved Document G 3.50 to 3.63).

use super::given::{attrs, maybe, number, text, value};
use super::net::Net;
use super::store::Store;
use super::survey::Survey;
use super::tails;
use crate::catalogue::Kind;
use crate::describe::facts::DischargeFacts;
use crate::model::{Attrs, Datum, PartIx, PortRef, Service, Side, Value};

/// Builds D1, tundishes and D2. `open`: the first tundish's outlet is left to a building's common
/// pipe, and returned.
pub fn discharge(
    net: &mut Net,
    survey: &Survey,
    stores: &[Store],
    relief: PortRef,
    open: bool,
) -> Option<PortRef> {
    let none = DischargeFacts::default();
    let mut outs = Vec::new();
    for (i, store) in stores.iter().enumerate() {
        let facts = survey.discharges.get(i).or(survey.discharges.first()).copied();
        let facts = facts.unwrap_or(&none);
        let expansion = (i == 0).then_some(relief);
        outs.push((tundish(net, facts, store, expansion, i), facts));
    }
    end(net, survey, &outs, open)
}

/// D1 to its tundish; returns the tundish's outlet.
fn tundish(
    net: &mut Net,
    facts: &DischargeFacts,
    store: &Store,
    expansion: Option<PortRef>,
    i: usize,
) -> PortRef {
    let numbered = |name: &str| if i == 0 { name.to_owned() } else { format!("{name} {}", i + 1) };
    let from = net.port(store.relief, "discharge");
    let mut line = net.line(&numbered("discharge D1"), Service::Discharge1, from);
    if let Some(from) = expansion {
        let at = net.tee(&mut line, &numbered("discharge tee"), None);
        net.part_mut(at.part).declared.insert("supplied with the package".to_owned());
        net.ledger.stand(
            "tee that joins both discharge pipes above the tundish",
            "supplied with the package",
            "Approved Document G 3.53: a manifold for other valves belongs to the unit or package",
        );
        let mut branch = net.line("expansion relief discharge", Service::Discharge1, from);
        net.end(&mut branch, at);
    }
    let tundish = net.add("tundish", &numbered("tundish"));
    let kind = Kind::known("tundish");
    let mut a = attrs(&facts.properties, kind);
    if let Some(v) = text(&facts.properties, "tundish-place") {
        a.set_text("place", v);
    }
    net.ledger.fill_text(
        &mut a,
        "visible",
        "tundish seen from",
        "the cupboard door",
        "Approved Document G 3.55: discharge must be seen at the tundish",
    );
    let part = net.part_mut(tundish);
    part.attrs = a;
    part.place.x = number(&facts.properties, "tundish-x");
    part.place.y = number(&facts.properties, "tundish-y");
    part.place.z = number(&facts.properties, "tundish-z");
    part.declared = facts
        .declared
        .iter()
        .map(|d| d.value.clone())
        .filter(|d| kind.may_declare.contains(d))
        .collect();
    part.span = facts.span.clone();
    line.length(number(&facts.properties, "d1-length").map(|v| v.map(|mm| mm / 1000.0)));
    line.size(text(&facts.properties, "d1-size"));
    let to = net.port(tundish, "in");
    net.end(&mut line, to);
    net.port(tundish, "out")
}

fn end(
    net: &mut Net,
    survey: &Survey,
    outs: &[(PortRef, &DischargeFacts)],
    open: bool,
) -> Option<PortRef> {
    let (&(first, facts), rest) = outs.split_first()?;
    if open && rest.is_empty() {
        return Some(first);
    }
    let mut line = net.line("discharge D2", Service::Discharge2, first);
    // Further stores join the first one's pipe, unless each has an end of its own.
    let shared = survey.discharges.len() < outs.len();
    for (i, (from, facts)) in rest.iter().enumerate() {
        let mut other = net.line(&format!("discharge D2 {}", i + 2), Service::Discharge2, *from);
        if shared {
            let at = net.tee(&mut line, &format!("discharge D2 tee {}", i + 2), None);
            net.end(&mut other, at);
        } else {
            let to = termination(net, survey, facts, i + 2);
            run_out(net, &mut other, facts, from.part, to);
        }
    }
    let to = termination(net, survey, facts, 1);
    run_out(net, &mut line, facts, first.part, to);
    None
}

fn termination(net: &mut Net, survey: &Survey, facts: &DischargeFacts, n: usize) -> PortRef {
    let kind = match facts.to.as_ref() {
        Some(to) => Kind::called(&to.value)
            .filter(|k| k.port("in").is_some())
            .unwrap_or(Kind::known("open end")),
        None => {
            net.ledger.stand(
                "discharge ends at",
                "trapped gully",
                "common practice: below the grating, above the water seal",
            );
            Kind::known("trapped gully")
        }
    };
    let name = if n == 1 { kind.key.clone() } else { format!("{} {n}", kind.key) };
    let ix = net.add_kind(kind, &name);
    let mut a = attrs(&facts.properties, kind);
    if a.get("height-above-ground").is_none() && kind.key == "low-level outlet" {
        net.ledger.fill(
            &mut a,
            "height-above-ground",
            "discharge ends above the ground",
            75.0,
            "mm",
            "Approved Document G 3.62: up to 100 mm above the surface",
        );
    }
    if a.get("guard").is_none() && kind.key == "low-level outlet" {
        let v = net.ledger.flag(
            "guard at the end of the discharge",
            "wire cage",
            "Approved Document G 3.62: guarded where people can reach it",
        );
        a.set("guard", v);
    }
    let part = net.part_mut(ix);
    part.place.elsewhere = Some("outside".to_owned());
    part.attrs = a;
    part.declared = facts
        .declared
        .iter()
        .map(|d| d.value.clone())
        .filter(|d| kind.may_declare.contains(d))
        .collect();
    part.span = facts.span.clone();
    let _ = survey;
    let port = net.port(ix, "in");
    let wall = outside_wall(survey, facts);
    tails::keep_with_side(net, port, &facts.tails, &["discharge", "D2", ""], wall);
    if let (Some(z), Some(tail)) =
        (number(&facts.properties, "exit-z"), net.tails.get_mut(&(port.part, port.port)))
    {
        tail.z.get_or_insert(z);
    }
    net.tail_words.insert(port, "discharge".to_owned());
    port
}

/// The wall the discharge leaves by: the one stated, else an outside wall of the cupboard.
fn outside_wall(survey: &Survey, facts: &DischargeFacts) -> Option<Value<Side>> {
    if let Some(wall) = maybe(&facts.wall) {
        return Some(wall);
    }
    let cupboard = survey.facts.cupboard.as_ref()?;
    cupboard
        .walls
        .iter()
        .filter(|w| w.outside.as_ref().is_some_and(|o| o.value))
        .map(|w| w.side.value)
        .min()
        .map(|side| Value::derived(side, "the outside wall of the cupboard"))
}

/// The pipe from the tundish to its end, with what is known of its length, elbows and fall.
fn run_out(
    net: &mut Net,
    line: &mut super::net::Line,
    facts: &DischargeFacts,
    tundish: PartIx,
    to: PortRef,
) {
    let length = number(&facts.properties, "length").unwrap_or_else(|| {
        net.ledger.number(
            "length of the discharge pipe D2",
            4.0,
            "m",
            "common practice: to a gully below; measure the route",
        )
    });
    let elbows = number(&facts.properties, "elbows").unwrap_or_else(|| {
        net.ledger.number(
            "elbows in the discharge pipe D2",
            3.0,
            "",
            "common practice: below the tundish, at the wall, at the ground",
        )
    });
    line.length(Some(length)).elbows(Some(elbows));
    line.size(
        text(&facts.properties, "size")
            .or_else(|| facts.tails.iter().find_map(|t| t.size.as_ref()).map(value)),
    );
    line.material = text(&facts.properties, "material");
    net.end(line, to);
    let mut a: Attrs = std::mem::take(&mut net.part_mut(tundish).attrs);
    for key in ["fall", "first-drop"] {
        if let Some(v) = number(&facts.properties, key) {
            a.set_number(key, v);
        }
    }
    if a.get("fall").is_none() {
        let v = net.ledger.number(
            "fall of the discharge pipe D2, 1 in",
            100.0,
            "",
            "Approved Document G 3.56: 1 in 200 or more; twice that is set out",
        );
        a.set("fall", v.map(Datum::Number));
    }
    net.part_mut(tundish).attrs = a;
}
