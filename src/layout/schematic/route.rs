//! Pipes for placed symbols. In: the canvas. Out: the corners of every pipe, in mm, and the
//! figures of the drawing.

use super::canvas::Canvas;
use super::net::Net;
use super::pose::Edge;
use super::straighten::straighten;
use crate::layout::graph::{
    Drawing, End, Graph, Measures, Pipe, Placed, Port, Pt, RouteOptions, Side, Symbol, measure,
    route,
};
use crate::model::{P2, PortRef, Service, Water};

/// Hundredths of a millimetre.
const UNIT: f64 = 100.0;
/// Least distance of parallel pipes and of a pipe from a foreign symbol, mm.
const PITCH: f64 = 3.75;
const CLEAR: f64 = 2.5;

pub struct Routed {
    pub pipes: Vec<Vec<P2>>,
    pub measures: Measures,
    pub failed: usize,
}

/// How important a pipe is: 0 first.
pub fn rank(service: Service) -> u8 {
    match service.water() {
        Water::Primary => 0,
        Water::Potable => 1,
        Water::Solar => 2,
        Water::Discharge if service == Service::Drain => 4,
        Water::Discharge => 3,
    }
}

/// A pipe with so many bends goes a long way round.
const WINDING: usize = 4;
/// Joints whose branch is tried on the other side, the longest ways round first, on sheets of at
/// most so many parts: each try routes everything again.
const TRIES: usize = 2;
const MOST_PARTS: usize = 200;

/// Routes every pipe; where one winds, the joint at its end may let it go on another side.
pub fn route_turned(net: &Net, canvas: &mut Canvas) -> Routed {
    let mut best = route_all(net, canvas);
    if net.parts().count() > MOST_PARTS {
        return best;
    }
    let pipes = net.system.pipes.iter().zip(&best.pipes);
    let mut winding: Vec<(usize, [PortRef; 2])> = pipes
        .map(|(pipe, points)| (points.len(), [pipe.from, pipe.to]))
        .filter(|(points, _)| *points >= WINDING + 2)
        .collect();
    winding.sort_by_key(|(points, ends)| (std::cmp::Reverse(*points), *ends));
    let ends: Vec<PortRef> = winding
        .into_iter()
        .flat_map(|(_, ends)| ends)
        .filter(|end| net.is_joint(end.part) && net.joined(end.part).len() == 3)
        .take(TRIES)
        .collect();
    for end in ends {
        let Some(kept) = canvas.spots.get(&end.part).cloned() else { continue };
        for edge in kept.open_edges() {
            let mut turned = kept.clone();
            turned.ports[end.port] = None;
            turned.assign(end.port, edge);
            canvas.put(end.part, turned);
            let found = route_all(net, canvas);
            if harm(&found) < harm(&best) {
                best = found;
                break;
            }
            canvas.put(end.part, kept.clone());
        }
    }
    best
}

/// What is wrong, then what a reader has to bear.
fn harm(routed: &Routed) -> (usize, usize) {
    const CROSSING: usize = 4;
    let m = &routed.measures;
    (routed.failed + m.hard(), m.crossings * CROSSING + m.bends)
}

fn whole(v: f64) -> i64 {
    (v * UNIT).round() as i64
}

fn side(edge: Edge) -> Side {
    [Side::N, Side::E, Side::S, Side::W][edge as usize]
}

fn route_all(net: &Net, canvas: &Canvas) -> Routed {
    let mut graph = Graph::default();
    let mut placed = Vec::new();
    for part in net.parts() {
        let row = net.system.part(part);
        let Some(spot) = canvas.spots.get(&part) else {
            graph.symbols.push(Symbol::default());
            placed.push(Placed::default());
            continue;
        };
        let ports = spot
            .ports
            .iter()
            .zip(&row.kind.ports)
            .map(|(port, spec)| {
                let (p, edge) = port.unwrap_or((P2::new(0.0, 0.0), Edge::W));
                let off = if edge.horizontal() { p.y } else { p.x };
                Port { id: spec.name.clone(), side: side(edge), off: whole(off) }
            })
            .collect();
        graph.symbols.push(Symbol {
            id: row.tag.clone(),
            w: whole(spot.at.w),
            h: whole(spot.at.h),
            ports,
            ..Symbol::default()
        });
        placed.push(Placed { x: whole(spot.at.x), y: whole(spot.at.y), ..Placed::default() });
    }
    for ix in net.system.pipe_ixs() {
        let pipe = net.system.pipe(ix);
        let end = |p: crate::model::PortRef| End { symbol: p.part.0, port: p.port };
        graph.pipes.push(Pipe {
            id: pipe.id.clone(),
            from: end(pipe.from),
            to: end(pipe.to),
            rank: rank(pipe.service),
            label: None,
        });
    }
    let mut options = RouteOptions::for_spacing(whole(PITCH) * 2);
    options.pitch = whole(PITCH);
    options.clearance = whole(CLEAR);
    let found = route(&graph, &placed, &options);
    let mm = |p: &Pt| P2::new(p.x as f64 / UNIT, p.y as f64 / UNIT);
    let mut pipes: Vec<Vec<P2>> =
        found.routes.iter().map(|r| merged(r.iter().map(mm).collect())).collect();
    straighten(net, canvas, &mut pipes);
    let back = |p: &P2| Pt::new(whole(p.x), whole(p.y));
    let routes = pipes.iter().map(|r| r.iter().map(back).collect()).collect();
    let measures = measure(&graph, &Drawing { placed, routes }, whole(CLEAR));
    Routed { pipes, measures, failed: found.failed.len() }
}

/// Doubled points and points on a straight line taken out.
fn merged(points: Vec<P2>) -> Vec<P2> {
    let mut out: Vec<P2> = Vec::new();
    for p in points {
        if out.last() == Some(&p) {
            continue;
        }
        if let [.., a, b] = out[..]
            && ((a.x == b.x && b.x == p.x) || (a.y == b.y && b.y == p.y))
        {
            out.pop();
        }
        out.push(p);
    }
    out
}
