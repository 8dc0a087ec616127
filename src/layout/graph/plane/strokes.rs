//! Boxes and straight strokes with unknown coordinates. In: a [`Plane`] with its [`Shape`], and the
//! pipes that get a jog. Out: every symbol's posture, every pipe's strokes with their directions,
//! and which coordinates are the same thing ([`Strokes`]).

use super::core::Core;
use super::map::NONE;
use super::planarise::Plane;
use super::shape::{Shape, Shaper};
use crate::layout::graph::{End, Graph, Placed, Pose, Side};

/// A coordinate: that of an unknown plus a constant.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Coord {
    pub raw: usize,
    pub off: i64,
}

#[derive(Clone, Debug)]
pub struct Stroke {
    pub pipe: usize,
    pub index: usize,
    pub level: bool,
    /// Across the stroke: y of a level one, x of an upright one.
    pub pos: Coord,
    /// Along it, from start to end.
    pub a: Coord,
    pub b: Coord,
    /// True where the end has the greater coordinate; nothing where both may be.
    pub ahead: Option<bool>,
    /// Symbols at its start and end.
    pub from: Option<usize>,
    pub to: Option<usize>,
}

#[derive(Clone, Debug, Default)]
pub struct Strokes {
    pub pose: Vec<Pose>,
    pub size: Vec<(i64, i64)>,
    pub strokes: Vec<Stroke>,
    /// First stroke of each pipe, and the number of strokes.
    pub of_pipe: Vec<(usize, usize)>,
    /// Strokes that cross: (level, upright).
    pub crossing: Vec<(usize, usize)>,
    /// Unknowns on each axis; those of the symbols come first.
    pub raws: [usize; 2],
    /// Pipes that are one stroke, with their axis and the two coordinates that are one.
    pub straight: Vec<(usize, usize, Coord, Coord)>,
}

/// A run as walked: turns of its strokes, and the crossings on each stroke.
struct Walk {
    turns: Vec<i64>,
    /// (stroke of the run, crossing vertex).
    crossings: Vec<(usize, usize)>,
}

fn walk(plane: &Plane, shape: &Shape, run: usize, start: usize) -> Walk {
    let map = &plane.map;
    let mut out = Walk { turns: Vec::new(), crossings: Vec::new() };
    let mut h = start;
    loop {
        let t = shape.turns[h / 2] * if h.is_multiple_of(2) { 1 } else { -1 };
        for _ in 0..t.abs() {
            out.turns.push(t.signum());
        }
        let v = map.org[h ^ 1];
        if map.symbol[v] != NONE {
            return out;
        }
        out.crossings.push((out.turns.len(), v));
        // Straight on through a crossing.
        h = map.cw[map.cw[h ^ 1]];
        debug_assert_eq!(map.run[h / 2], run);
    }
}

impl Strokes {
    pub fn new(
        graph: &Graph,
        core: &Core,
        plane: &Plane,
        shape: &Shape,
        shaper: &Shaper,
        jogs: &[[bool; 2]],
    ) -> Strokes {
        let n = graph.symbols.len();
        let mut s = Strokes {
            pose: shape.pose.clone(),
            raws: [n, n],
            of_pipe: vec![(0, 0); graph.pipes.len()],
            ..Strokes::default()
        };
        let map = &plane.map;
        let mut start = vec![NONE; core.runs.len()];
        for e in 0..map.run.len() {
            if !map.alive(e) {
                continue;
            }
            let r = map.run[e];
            let run = &core.runs[r];
            for h in [2 * e, 2 * e + 1] {
                if map.symbol[map.org[h]] == run.from.symbol && map.port[h] == run.from.port {
                    start[r] = h;
                }
            }
        }
        // First the postures of the beads, which follow the strokes they sit on.
        let mut plans = Vec::new();
        for (r, run) in core.runs.iter().enumerate() {
            if start[r] == NONE {
                plans.push(None);
                continue;
            }
            let walked = walk(plane, shape, r, start[r]);
            let first = shaper.side(shape, start[r]).quarter() as i64;
            let mut heading = vec![first];
            for &t in &walked.turns {
                heading.push((heading[heading.len() - 1] + t).rem_euclid(4));
            }
            let home = home(&heading, &walked.crossings);
            for bead in &run.beads {
                let back = Side::from_quarter((heading[home] + 2) as usize % 4);
                let poses = Pose::allowed(graph.symbols[bead.symbol].transforms);
                let pose = poses.into_iter().find(|&pose| {
                    let placed = Placed { pose, ..Placed::default() };
                    let end = End { symbol: bead.symbol, port: bead.enter };
                    graph.port(end, &placed).0 == back
                });
                s.pose[bead.symbol] = pose.unwrap_or_default();
            }
            plans.push(Some((walked, heading, home)));
        }
        s.size = (0..n)
            .map(|k| {
                let symbol = &graph.symbols[k];
                s.pose[k].size(symbol.w, symbol.h)
            })
            .collect();
        let mut on_crossing: Vec<Vec<usize>> = vec![Vec::new(); map.symbol.len()];
        for (r, run) in core.runs.iter().enumerate() {
            let Some((walked, heading, home)) = &plans[r] else {
                continue;
            };
            for (k, &(pipe, reversed)) in run.pipes.iter().enumerate() {
                // Strokes of the run that this pipe has: beads all sit on the home stroke.
                let lo = if k == 0 { 0 } else { *home };
                let hi = if k + 1 == run.pipes.len() { heading.len() - 1 } else { *home };
                let p = &graph.pipes[pipe];
                let (from, to) = if reversed { (p.to, p.from) } else { (p.from, p.to) };
                let first = s.strokes.len();
                s.pipe(graph, pipe, from, to, &heading[lo..=hi], jogs[pipe]);
                let count = s.strokes.len() - first;
                s.of_pipe[pipe] = (first, count);
                for &(stroke, c) in &walked.crossings {
                    let mine = if stroke < *home { k == 0 } else { k + 1 == run.pipes.len() };
                    if mine {
                        let jogs = jogs[pipe];
                        let bent = hi > lo;
                        let shift = if bent && jogs[0] && stroke >= lo { 2 } else { 0 };
                        let at = (stroke - lo.min(stroke) + shift).min(count - 1);
                        on_crossing[c].push(first + at);
                    }
                }
            }
        }
        for pair in on_crossing {
            if let [a, b] = pair[..] {
                match (s.strokes[a].level, s.strokes[b].level) {
                    (true, false) => s.crossing.push((a, b)),
                    (false, true) => s.crossing.push((b, a)),
                    _ => {}
                }
            }
        }
        s
    }

    fn raw(&mut self, axis: usize) -> Coord {
        self.raws[axis] += 1;
        Coord { raw: self.raws[axis] - 1, off: 0 }
    }

    /// Place of a port as unknowns on both axes.
    fn port(&self, graph: &Graph, end: End) -> [Coord; 2] {
        let placed = Placed { pose: self.pose[end.symbol], ..Placed::default() };
        let at = graph.port(end, &placed).1;
        [at.x, at.y].map(|off| Coord { raw: end.symbol, off })
    }

    fn pipe(
        &mut self,
        graph: &Graph,
        pipe: usize,
        from: End,
        to: End,
        heading: &[i64],
        jog: [bool; 2],
    ) {
        let (a, b) = (self.port(graph, from), self.port(graph, to));
        let straight = heading.len() == 1;
        let level0 = heading[0] % 2 == 1;
        let mut kinds: Vec<(bool, Option<bool>)> =
            heading.iter().map(|&h| (h % 2 == 1, Some(h == 1 || h == 2))).collect();
        if straight && (jog[0] || jog[1]) {
            kinds = vec![kinds[0], (!level0, None), kinds[0]];
        } else if !straight {
            if jog[0] {
                kinds.splice(0..0, [kinds[0], (!kinds[0].0, None)]);
            }
            if jog[1] {
                let last = kinds[kinds.len() - 1];
                kinds.extend([(!last.0, None), last]);
            }
        } else {
            let axis = usize::from(level0);
            self.straight.push((pipe, axis, a[axis], b[axis]));
        }
        let n = kinds.len();
        // Coordinate across each stroke.
        let mut across = Vec::new();
        for (k, &(level, _)) in kinds.iter().enumerate() {
            let axis = usize::from(level);
            across.push(if k == 0 {
                a[axis]
            } else if k + 1 == n {
                b[axis]
            } else {
                self.raw(axis)
            });
        }
        for (k, &(level, ahead)) in kinds.iter().enumerate() {
            let along = usize::from(!level);
            self.strokes.push(Stroke {
                pipe,
                index: k,
                level,
                pos: across[k],
                a: if k == 0 { a[along] } else { across[k - 1] },
                b: if k + 1 == n { b[along] } else { across[k + 1] },
                ahead,
                from: (k == 0).then_some(from.symbol),
                to: (k + 1 == n).then_some(to.symbol),
            });
        }
    }
}

/// The stroke of a run on which its fittings sit: a level one if there is one, without crossings
/// rather than with them.
fn home(heading: &[i64], crossings: &[(usize, usize)]) -> usize {
    (0..heading.len())
        .min_by_key(|&k| {
            let crossed = crossings.iter().filter(|c| c.0 == k).count();
            (crossed, heading[k] % 2 == 0, k.abs_diff(heading.len() / 2))
        })
        .unwrap_or(0)
}
