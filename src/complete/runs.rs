//! Stated runs. In: names of parts in the order in which the water meets them. Out: pipes from
//! port to port; what can't be joined is said, with the characters and the mend.

use std::collections::BTreeSet;

use super::ends::service_at;
use super::explicit::{find, nearest, stated_number, stated_text};
use super::net::{Line, Net, through_ports};
use super::tails;
use crate::catalogue::{Flow, Kind, Mount};
use crate::describe::facts::{Facts, Given, RunFacts, Stop, StretchFacts};
use crate::diagnostic::Diagnostic;
use crate::model::{PartIx, PortRef, Service, Value};

/// Lays every stated run; returns the parts they name.
pub fn lay(net: &mut Net, facts: &Facts, listed: bool) -> BTreeSet<PartIx> {
    let mut list: Vec<&RunFacts> = facts.runs.iter().collect();
    list.sort_by_cached_key(|r| {
        let stops: Vec<String> = r.stops.iter().map(|s| s.value.clone()).collect();
        (r.name.value.clone(), stops, r.span.start)
    });
    let mut named = BTreeSet::new();
    let mut seen = BTreeSet::new();
    for run in list {
        if !seen.insert(run.name.value.clone()) && !listed {
            net.diagnostics.push(
                Diagnostic::error(
                    "duplicate-name",
                    run.name.span.clone(),
                    format!("two runs are called \"{}\"", run.name.value),
                )
                .label("this name is taken")
                .help("give each run a name of its own"),
            );
            continue;
        }
        if run.stops.len() < 2 {
            net.diagnostics.push(
                Diagnostic::error(
                    "short-run",
                    run.span.clone(),
                    format!("run \"{}\" needs at least two parts to join", run.name.value),
                )
                .label("one end only"),
            );
        }
        one(net, run, listed, &mut named);
    }
    named
}

/// A stop that was found: the part, and the ports the text insists on.
struct Found<'a> {
    part: PartIx,
    enter: Option<usize>,
    leave: Option<usize>,
    text: &'a Given<String>,
}

fn one(net: &mut Net, run: &RunFacts, listed: bool, named: &mut BTreeSet<PartIx>) {
    let mut stops = Vec::new();
    for (i, stop) in run.stops.iter().enumerate() {
        let found = resolve(net, stop, i == 0, listed);
        if let Some(f) = &found {
            named.insert(f.part);
        }
        stops.push(found);
    }
    let stated = run.service.as_ref().and_then(|s| Service::from_key(&s.value));
    let target = stops.last().and_then(|s| s.as_ref()).and_then(|f| target(net, f));
    let mut carried: Option<Service> = None;
    // The port by which the water enters each part, so that it leaves by one that shares it.
    let mut entered: Option<usize> = None;
    for i in 0..stops.len().saturating_sub(1) {
        let (Some(a), Some(b)) = (&stops[i], &stops[i + 1]) else {
            entered = None;
            continue;
        };
        let stretch = run.stretches.iter().find(|s| s.after == i);
        let said = stretch
            .and_then(|s| s.service.as_ref())
            .and_then(|s| Service::from_key(&s.value))
            .or(stated);
        let last = i + 2 == stops.len();
        let guess = said.or(carried);
        let Some(from) = leave(net, a, entered, guess) else {
            entered = None;
            continue;
        };
        let service_from = service_at(net, from);
        // A run that starts at a plain tee carries what the port at its end is made for.
        let plain = net.part(from.part).kind.ports[from.port].service.is_empty();
        let service_from = match (service_from, target) {
            (Some(s), Some(t)) if plain && s.water() == t.water() => Some(t),
            (s, _) => s,
        };
        let guess = said.or(service_from).or(carried);
        let Some(to) = enter(net, b, guess, last, from) else {
            entered = None;
            continue;
        };
        let service = said
            .or(service_from)
            .or_else(|| service_at(net, to))
            .or(carried)
            .unwrap_or(Service::ColdMain);
        pipe(net, run, stretch, i, service, from, to);
        carried = Some(service);
        entered = Some(to.port);
    }
}

/// The service that the end of a run is made for, where its port is named or its only one.
fn target(net: &Net, f: &Found) -> Option<Service> {
    let kind = net.part(f.part).kind;
    let port = f.enter.or((kind.ports.len() == 1).then_some(0))?;
    Service::from_key(&kind.ports[port].service)
}

fn pipe(
    net: &mut Net,
    run: &RunFacts,
    stretch: Option<&StretchFacts>,
    i: usize,
    service: Service,
    from: PortRef,
    to: PortRef,
) {
    let mut line = Line {
        run: run.name.value.clone(),
        service,
        at: from,
        length: None,
        elbows: None,
        size: None,
        material: None,
        lagging: None,
        span: run.span.clone(),
    };
    // What is said of the whole run is counted once, in its first stretch.
    let first = i == 0;
    let counted = |v: Option<Value<f64>>| match (first, v) {
        (true, v) => v,
        (false, Some(_)) => Some(Value::derived(0.0, "counted in the first stretch of the run")),
        (false, None) => None,
    };
    line.length = counted(stated_number(&run.length));
    line.elbows = counted(stated_number(&run.elbows));
    line.size = stated_text(&run.size);
    line.material = stated_text(&run.material);
    line.lagging = stated_number(&run.lagging);
    if let Some(s) = stretch {
        line.length = stated_number(&s.length).or(line.length);
        line.elbows = stated_number(&s.elbows).or(line.elbows);
        line.size = stated_text(&s.size).or(line.size);
        line.material = stated_text(&s.material).or(line.material);
        line.lagging = stated_number(&s.lagging).or(line.lagging);
    }
    let ix = net.end(&mut line, to);
    if let Some(s) = stretch {
        if let Some(id) = &s.id {
            net.pipes[ix.0].id.clone_from(&id.value);
        }
        if let Some(tail) = &s.tail {
            net.pipes[ix.0].tail = Some(tails::of(tail));
            if net.pipes[ix.0].size.is_none() {
                net.pipes[ix.0].size = stated_text(&tail.size);
            }
        }
    }
}

fn resolve<'a>(
    net: &mut Net,
    text: &'a Given<String>,
    first: bool,
    listed: bool,
) -> Option<Found<'a>> {
    let stop =
        Stop::parse(&text.value, first, |t| find(net, t).is_some() || Kind::called(t).is_some());
    let part = match find(net, stop.name) {
        Some(ix) => ix,
        None => match Kind::called(stop.name) {
            Some(kind) => {
                let ix = net.add_kind(kind, stop.name);
                let part = net.part_mut(ix);
                part.span = text.span.clone();
                if kind.mount == Mount::Elsewhere && !listed {
                    part.place.elsewhere = Some("the house".to_owned());
                }
                ix
            }
            None => {
                net.diagnostics.push(
                    Diagnostic::error(
                        "unknown-part",
                        text.span.clone(),
                        format!("no part and no kind of part is called \"{}\"", stop.name),
                    )
                    .label("unknown here")
                    .help(nearest(net, stop.name)),
                );
                return None;
            }
        },
    };
    let mut port = |name: Option<&str>| -> Result<Option<usize>, ()> {
        let Some(name) = name else { return Ok(None) };
        let kind = net.part(part).kind;
        if let Some(p) = kind.port(name) {
            return Ok(Some(p));
        }
        let known: Vec<&str> = kind.ports.iter().map(|p| p.name.as_str()).collect();
        net.diagnostics.push(
            Diagnostic::error(
                "unknown-port",
                text.span.clone(),
                format!("a {} has no port \"{name}\"", kind.key),
            )
            .label("no such port")
            .help(if known.is_empty() {
                "no pipe can be joined to it".to_owned()
            } else {
                format!("its ports: {}", known.join(", "))
            }),
        );
        Err(())
    };
    let enter = port(stop.enter).ok()?;
    let leave = port(stop.leave).ok()?;
    Some(Found { part, enter, leave, text })
}

/// The port by which the run leaves a part.
fn leave(
    net: &mut Net,
    f: &Found,
    entered: Option<usize>,
    service: Option<Service>,
) -> Option<PortRef> {
    let kind = net.part(f.part).kind;
    if let Some(port) = f.leave {
        return free(net, f, port);
    }
    if let Some(enter) = entered
        && let Some((a, b)) = through_ports(kind)
        && a == enter
        && net.is_free(PortRef { part: f.part, port: b })
    {
        return Some(PortRef { part: f.part, port: b });
    }
    let shares = entered.map(|e| kind.shares_water(e));
    let wanted = |p: &usize| match &shares {
        Some(s) => s.contains(p) || (kind.inside.is_empty() && Some(*p) != entered),
        None => true,
    };
    choose(net, f, service, Flow::In, wanted, entered.is_none())
}

/// The port by which the run enters a part.
fn enter(
    net: &mut Net,
    f: &Found,
    service: Option<Service>,
    last: bool,
    from: PortRef,
) -> Option<PortRef> {
    let kind = net.part(f.part).kind;
    if let Some(port) = f.enter {
        let at = free(net, f, port)?;
        if at == from {
            net.diagnostics.push(
                Diagnostic::error(
                    "no-free-port",
                    f.text.span.clone(),
                    "a pipe can't end where it begins",
                )
                .label("the port it leaves by")
                .help("name another port or another part"),
            );
            return None;
        }
        return Some(at);
    }
    if !last
        && let Some((a, _)) = through_ports(kind)
        && net.is_free(PortRef { part: f.part, port: a })
        && from.part != f.part
        && kind.ports.len() <= 3
    {
        return Some(PortRef { part: f.part, port: a });
    }
    let taken = (from.part == f.part).then_some(from.port);
    choose(net, f, service, Flow::Out, |p| Some(*p) != taken, last)
}

/// The best free port: one made for that service, then one for that water, then one whose flow
/// fits; a tee at the end of a run is joined at its branch.
fn choose(
    net: &mut Net,
    f: &Found,
    service: Option<Service>,
    not: Flow,
    wanted: impl Fn(&usize) -> bool,
    at_end: bool,
) -> Option<PortRef> {
    let kind = net.part(f.part).kind;
    let best = (0..kind.ports.len())
        .filter(|p| net.is_free(PortRef { part: f.part, port: *p }))
        .filter(wanted)
        .min_by_key(|p| {
            let spec = &kind.ports[*p];
            let own = Service::from_key(&spec.service);
            let fit = match (own, service) {
                (Some(o), Some(s)) if o == s => 0,
                (None, _) => 1,
                (Some(o), Some(s)) if o.water() == s.water() => 2,
                (_, None) => 1,
                _ => 4,
            };
            let flow = match spec.flow {
                x if x == not => 3,
                Flow::Either => 1,
                _ => 0,
            };
            let branch = u8::from(at_end && kind.key == "tee" && spec.name != "branch");
            (flow == 3, fit, flow, branch, *p)
        });
    if let Some(port) = best {
        return Some(PortRef { part: f.part, port });
    }
    let name = net.part(f.part).name.clone();
    net.diagnostics.push(
        Diagnostic::error(
            "no-free-port",
            f.text.span.clone(),
            format!("\"{name}\" has no free port for this run"),
        )
        .label(format!("a {} whose ports are taken", kind.key))
        .help(format!(
            "put a tee before it, or name another part: part \"{name} 2\" kind=\"{}\"",
            kind.key
        )),
    );
    None
}

fn free(net: &mut Net, f: &Found, port: usize) -> Option<PortRef> {
    let at = PortRef { part: f.part, port };
    if net.is_free(at) {
        return Some(at);
    }
    let part = net.part(f.part);
    let (name, spec) = (part.name.clone(), part.kind.ports[port].name.clone());
    let run = net.pipe_at(at).map(|p| net.pipes[p.0].run.clone()).unwrap_or_default();
    net.diagnostics.push(
        Diagnostic::error(
            "no-free-port",
            f.text.span.clone(),
            format!("\"{name}\" has no free port for this run: \"{spec}\" is taken by \"{run}\""),
        )
        .label("taken")
        .help("a port takes one pipe: put a tee in the other run and start from its branch"),
    );
    None
}
