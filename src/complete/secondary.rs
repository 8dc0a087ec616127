//! Secondary return: hot water kept moving so that distant taps run hot at once. In: the legs the
//! file states. Out: loops back to the cylinder's own boss: a balancing valve on each leg where
//! there are several, then valve → bronze pump → check valve → valve (common practice; HSG274
//! Part 2 for the temperatures that `size` and `check` hold it to).

use super::given::{attrs, name_of, number, text};
use super::hot::serve;
use super::net::{Line, Net};
use super::store::Store;
use super::survey::sorted;
use super::tails;
use crate::catalogue::Kind;
use crate::describe::facts::{EquipmentFacts, SecondaryFacts};
use crate::model::{HOUSE, PortRef, Service};

pub fn circulate(
    net: &mut Net,
    facts: &SecondaryFacts,
    mut hot: Line,
    ports: &[PortRef],
    stores: &[Store],
) {
    let legs: Vec<Option<&EquipmentFacts>> = match sorted(&facts.legs) {
        legs if legs.is_empty() => vec![None],
        legs => legs.into_iter().map(Some).collect(),
    };
    let shares = share(net, ports, legs.len());
    let mut backs = Vec::new();
    for (i, (leg, ports)) in legs.iter().zip(&shares).enumerate() {
        let name = match leg.map(|l| name_of(&l.name)) {
            Some(n) if !n.is_empty() => n,
            _ if legs.len() == 1 => String::new(),
            _ => format!("leg {}", i + 1),
        };
        let line = if i + 1 == legs.len() {
            hot.clone()
        } else {
            let at = net.tee(&mut hot, &format!("{name} tee"), None);
            net.tail_words.insert(at, format!("{name} hot"));
            net.line(&format!("{name} hot"), hot.service, at)
        };
        backs.push((leg_out(net, facts, *leg, line, ports, &name), name, *leg));
    }
    let line = gather(net, backs);
    home(net, facts, line, stores);
}

/// Outlets shared out among the legs in order; a leg without any gets taps of its own.
fn share(net: &mut Net, ports: &[PortRef], legs: usize) -> Vec<Vec<PortRef>> {
    let mut out = vec![Vec::new(); legs.max(1)];
    let each = ports.len().div_ceil(legs.max(1)).max(1);
    for (i, port) in ports.iter().enumerate() {
        out[(i / each).min(legs.max(1) - 1)].push(*port);
    }
    for ports in &mut out {
        if ports.is_empty() {
            let ix = net.add_elsewhere("hot outlets", "hot outlets", HOUSE);
            ports.push(net.port(ix, "hot"));
        }
    }
    out
}

/// The leg's outgoing pipe with its outlets; returns the line that comes back from its far end.
fn leg_out(
    net: &mut Net,
    facts: &SecondaryFacts,
    leg: Option<&EquipmentFacts>,
    mut line: Line,
    ports: &[PortRef],
    name: &str,
) -> Line {
    let props = leg.map_or(&facts.properties, |l| &l.properties);
    let length = number(props, "length").unwrap_or_else(|| {
        net.ledger.number(
            "length of each leg of the secondary circuit, one way",
            12.0,
            "m",
            "common practice: a family house; measure it",
        )
    });
    let size = text(props, "size");
    let lagging = number(props, "lagging").unwrap_or_else(|| {
        net.ledger.number(
            "lagging of the secondary circuit",
            20.0,
            "mm",
            "common practice: flow and return are lagged all the way",
        )
    });
    line.length(Some(length.clone())).size(size);
    line.lagging = Some(lagging.clone());
    let (last, before) = match ports.split_last() {
        Some((last, before)) => (Some(*last), before),
        None => (None, ports),
    };
    for port in before {
        let short = net.short(port.part);
        let at = net.tee(&mut line, &format!("{short} hot tee"), Some(HOUSE));
        let mut branch = net.line(&format!("hot to {short}"), line.service, at);
        net.end(&mut branch, *port);
    }
    let word = if name.is_empty() { "far".to_owned() } else { name.to_owned() };
    let at = net.tee(&mut line, &format!("{word} end tee"), Some(HOUSE));
    if let Some(last) = last {
        let branch = net.line(&format!("hot to {}", net.short(last.part)), line.service, at);
        serve(net, branch, &[last], "hot", "");
    }
    let run =
        if name.is_empty() { "secondary return".to_owned() } else { format!("{name} return") };
    let mut back = net.line(&run, Service::HotReturn, line.at);
    back.length(Some(length)).size(text(props, "return-size"));
    back.lagging = Some(lagging);
    net.tail_words.insert(line.at, run);
    for set in [leg.map(|l| &l.tails), Some(&facts.tails)].into_iter().flatten() {
        tails::keep(net, line.at, set, &["return", "secondary return", name, ""]);
    }
    back
}

/// All legs (there is always one) joined into one return, each with its balancing valve.
fn gather(net: &mut Net, mut backs: Vec<(Line, String, Option<&EquipmentFacts>)>) -> Line {
    let several = backs.len() > 1;
    if several {
        for (line, name, leg) in &mut backs {
            let ix = net.add("balancing valve", &format!("{name} balancing valve"));
            if let Some(leg) = leg {
                let a = attrs(&leg.properties, Kind::known("balancing valve"));
                net.part_mut(ix).attrs = a;
            }
            net.through(line, ix);
        }
    }
    let (mut line, _, _) = backs.remove(backs.len() - 1);
    for (mut other, name, _) in backs.into_iter().rev() {
        let tee = net.add("tee", &format!("{name} return tee"));
        if line.run.ends_with("secondary return") {
            net.through(&mut line, tee);
        } else {
            let a = net.port(tee, "a");
            net.end(&mut line, a);
            let b = net.port(tee, "b");
            line = net.line("secondary return", Service::HotReturn, b);
        }
        let branch = net.port(tee, "branch");
        net.end(&mut other, branch);
    }
    line
}

/// Valve, pump, check valve, valve, and into the store (or stores).
fn home(net: &mut Net, facts: &SecondaryFacts, mut line: Line, stores: &[Store]) {
    let inlet = net.add("lever valve", "secondary pump valve in");
    net.through(&mut line, inlet);
    let pump = net.add("secondary pump", "secondary pump");
    let kind = Kind::known("secondary pump");
    let mut a = attrs(&facts.properties, kind);
    net.ledger.fill_text(
        &mut a,
        "body",
        "secondary pump body",
        "bronze",
        "common practice: only bronze or stainless steel in potable water",
    );
    let part = net.part_mut(pump);
    part.attrs = a;
    part.span = facts.span.clone();
    net.through(&mut line, pump);
    let check = net.add("check valve", "secondary check valve");
    net.through(&mut line, check);
    let outlet = net.add("lever valve", "secondary pump valve out");
    net.through(&mut line, outlet);
    for (i, store) in stores.iter().enumerate() {
        let to = net.port(store.cylinder, "secondary return");
        if i + 1 == stores.len() {
            net.end(&mut line, to);
        } else {
            let short = net.short(store.cylinder);
            let at = net.tee(&mut line, &format!("{short} secondary tee"), None);
            let mut branch = net.line(&format!("{short} secondary return"), Service::HotReturn, at);
            net.end(&mut branch, to);
        }
    }
}
