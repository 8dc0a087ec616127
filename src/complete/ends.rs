//! Ports left open. In: the net with everything the file insists on. Out: open tees of a completed
//! system capped, parts that nothing joins any more dropped, and what the file leaves open said.

use std::collections::BTreeSet;

use super::net::{NO_SPAN, Net};
use crate::catalogue::Flow;
use crate::diagnostic::Diagnostic;
use crate::model::{PartIx, PortRef, Service};

/// Ports that nothing is joined to: a stated part joined to nothing is said, an open tee in a
/// completed system is capped.
pub fn loose_ends(
    net: &mut Net,
    completed: usize,
    joined: &BTreeSet<PartIx>,
    dropped: &mut BTreeSet<PartIx>,
    listed: bool,
) {
    if !listed {
        dropped.extend(adrift(net, completed));
    }
    for i in 0..net.parts.len() {
        let ix = PartIx(i);
        if dropped.contains(&ix) {
            continue;
        }
        let kind = net.part(ix).kind;
        let required: Vec<usize> =
            (0..kind.ports.len()).filter(|p| !kind.ports[*p].optional).collect();
        if required.is_empty() {
            continue;
        }
        if !joined.contains(&ix) {
            if net.part(ix).span != NO_SPAN || listed {
                let span = net.part(ix).span.clone();
                let name = net.part(ix).name.clone();
                net.diagnostics.push(
                    Diagnostic::warning(
                        "joined-to-nothing",
                        span,
                        format!("\"{name}\" is joined to nothing"),
                    )
                    .label("no run names it")
                    .help("name it in a run, or take it out"),
                );
            } else {
                dropped.insert(ix);
            }
            continue;
        }
        let open: Vec<usize> =
            required.into_iter().filter(|p| net.is_free(PortRef { part: ix, port: *p })).collect();
        for port in open {
            let at = PortRef { part: ix, port };
            if !listed && (kind.key == "tee" || i < completed) {
                cap(net, at);
            } else {
                let name = net.part(ix).name.clone();
                let span = net.part(ix).span.clone();
                net.diagnostics.push(
                    Diagnostic::warning(
                        "open-port",
                        span,
                        format!("nothing is joined to \"{name}\" at \"{}\"", kind.ports[port].name),
                    )
                    .label("an open end")
                    .help(format!("start or end a run at \"{name}.{}\"", kind.ports[port].name)),
                );
            }
        }
    }
}

/// Fittings that only serve the pipe they hang on, with their tees, where a stated run has taken
/// that pipe's place: nothing needs them any more.
fn adrift(net: &mut Net, completed: usize) -> Vec<PartIx> {
    const SERVE: [&str; 3] = ["automatic air vent", "drain cock", "pressure gauge"];
    let mut gone = Vec::new();
    for ix in
        (0..completed).map(PartIx).filter(|ix| net.part(*ix).kind.key == "tee").collect::<Vec<_>>()
    {
        let at = |net: &Net, port: &str| net.port(ix, port);
        if !net.is_free(at(net, "a")) || !net.is_free(at(net, "b")) {
            continue;
        }
        let Some(pipe) = net.pipe_at(at(net, "branch")) else { continue };
        let far = [net.pipes[pipe.0].from, net.pipes[pipe.0].to].map(|p| p.part);
        let Some(end) = far.into_iter().find(|p| *p != ix) else { continue };
        if end.0 < completed && SERVE.contains(&net.part(end).kind.key.as_str()) {
            net.cut(pipe);
            gone.extend([ix, end]);
        }
    }
    gone
}

/// Puts a cap on an open port.
pub fn cap(net: &mut Net, at: PortRef) {
    let service = service_at(net, at).unwrap_or(Service::ColdMain);
    let scope = std::mem::take(&mut net.scope);
    let name = net.part(at.part).name.clone();
    let port = net.part(at.part).kind.ports[at.port].name.clone();
    let ix = net.add("capped end", &format!("{name} {port} cap"));
    let elsewhere = net.part(at.part).place.elsewhere.clone();
    let unit = net.part(at.part).unit;
    let part = net.part_mut(ix);
    part.place.elsewhere = elsewhere;
    part.unit = unit;
    let end = net.port(ix, "in");
    // The pipe points the way water would go.
    let inward = net.part(at.part).kind.ports[at.port].flow == Flow::In;
    let (from, to) = if inward { (end, at) } else { (at, end) };
    let mut line = net.line(&format!("{name} {port} cap"), service, from);
    net.end(&mut line, to);
    net.scope = scope;
}

/// The service at a port: the port's own, or that of a pipe that shares its water.
pub fn service_at(net: &Net, at: PortRef) -> Option<Service> {
    let kind = net.part(at.part).kind;
    if let Some(s) = Service::from_key(&kind.ports[at.port].service) {
        return Some(s);
    }
    let pipe = |port: usize| net.pipe_at(PortRef { part: at.part, port });
    kind.shares_water(at.port).into_iter().find_map(pipe).map(|p| net.pipes[p.0].service)
}
