//! The graph without its in-line fittings. In: one graph. Out: symbols at which a pipe may turn or
//! part, joined by runs; a run is a chain of pipes and the fittings that sit on it like beads.
//!
//! A fitting that may be turned and has its two pipes straight across takes any direction a pipe
//! has, so it decides nothing about the shape of a drawing.

use crate::layout::graph::{End, Graph};

/// A chain of pipes between two symbols that are not beads.
#[derive(Clone, Debug)]
pub struct Run {
    pub from: End,
    pub to: End,
    /// Pipes in order; true where the pipe is walked from its end to its start.
    pub pipes: Vec<(usize, bool)>,
    /// Symbols between them, with the port at which each is entered and left.
    pub beads: Vec<Bead>,
    pub rank: u8,
}

#[derive(Clone, Copy, Debug)]
pub struct Bead {
    pub symbol: usize,
    pub enter: usize,
    pub leave: usize,
}

#[derive(Clone, Debug, Default)]
pub struct Core {
    pub runs: Vec<Run>,
    /// Per symbol: true for those that are not beads.
    pub stands: Vec<bool>,
    /// Per symbol: ports in use, clockwise from the top left corner of the plain posture.
    pub used: Vec<Vec<usize>>,
}

/// Ports of a symbol that are in use, clockwise from the top left corner.
fn clockwise(graph: &Graph, symbol: usize, mut ports: Vec<usize>) -> Vec<usize> {
    let s = &graph.symbols[symbol];
    ports.sort_by_key(|&p| {
        let port = &s.ports[p];
        let q = port.side.quarter();
        (q, if q < 2 { port.off } else { -port.off }, p)
    });
    ports
}

pub fn core(graph: &Graph) -> Core {
    let mut ends: Vec<Vec<(usize, usize)>> = vec![Vec::new(); graph.symbols.len()];
    for (i, pipe) in graph.pipes.iter().enumerate() {
        if pipe.from == pipe.to {
            continue;
        }
        ends[pipe.from.symbol].push((pipe.from.port, i));
        ends[pipe.to.symbol].push((pipe.to.port, i));
    }
    let is_bead = |s: usize| {
        let symbol = &graph.symbols[s];
        let [(p, i), (q, j)] = ends[s][..] else {
            return false;
        };
        let (a, b) = (&symbol.ports[p], &symbol.ports[q]);
        p != q
            && i != j
            && symbol.transforms.turn
            && (a.side.quarter() + 2) % 4 == b.side.quarter()
            && a.off == b.off
    };
    let mut stands: Vec<bool> = (0..graph.symbols.len()).map(|s| !is_bead(s)).collect();
    let mut walked = vec![false; graph.pipes.len()];
    let mut runs = Vec::new();
    let walk = |start: End, first: usize, stands: &[bool], walked: &mut [bool]| -> Run {
        let mut run = Run {
            from: start,
            to: start,
            pipes: Vec::new(),
            beads: Vec::new(),
            rank: graph.pipes[first].rank,
        };
        let (mut at, mut pipe) = (start, first);
        loop {
            walked[pipe] = true;
            let p = &graph.pipes[pipe];
            let back = p.from != at;
            run.pipes.push((pipe, back));
            run.rank = run.rank.min(p.rank);
            let reached = if back { p.from } else { p.to };
            if stands[reached.symbol] {
                run.to = reached;
                return run;
            }
            let Some(&(leave, next)) = ends[reached.symbol].iter().find(|e| e.0 != reached.port)
            else {
                run.to = reached;
                return run;
            };
            run.beads.push(Bead { symbol: reached.symbol, enter: reached.port, leave });
            at = End { symbol: reached.symbol, port: leave };
            pipe = next;
        }
    };
    for s in 0..graph.symbols.len() {
        if !stands[s] {
            continue;
        }
        for &(port, pipe) in &ends[s] {
            if !walked[pipe] {
                runs.push(walk(End { symbol: s, port }, pipe, &stands, &mut walked));
            }
        }
    }
    // Rings of beads alone: let one of them stand.
    for i in 0..graph.pipes.len() {
        if walked[i] || graph.pipes[i].from == graph.pipes[i].to {
            continue;
        }
        let from = graph.pipes[i].from;
        stands[from.symbol] = true;
        runs.push(walk(from, i, &stands, &mut walked));
    }
    let used = (0..graph.symbols.len())
        .map(|s| {
            let mut ports: Vec<usize> = ends[s].iter().map(|e| e.0).collect();
            ports.sort_unstable();
            ports.dedup();
            clockwise(graph, s, ports)
        })
        .collect();
    Core { runs, stands, used }
}
