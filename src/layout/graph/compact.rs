//! Tightens a legal drawing. In: a drawing. Out: the same drawing with everything as near as the
//! distances allow, pipes as short as may be, and jogs gone where both ends can be brought level.
//!
//! One axis at a time: whatever could collide when moved along the axis keeps its order.

use std::collections::BTreeMap;

use super::measure::merged;
use super::simplex::{Arc, minimise};
use super::{Drawing, Graph, Options, Placed, Pt};

/// Pull between symbols that should be level: as strong as a few pipes.
const LEVEL: i64 = 80;

/// A unit that moves as one on the axis, or a part of one: unknown and constant.
#[derive(Clone, Copy)]
struct Coord {
    raw: usize,
    off: i64,
}

struct Stroke {
    pipe: usize,
    index: usize,
    /// Extent on the axis as coordinates, the lesser first, and its value on the other axis.
    lo: Coord,
    hi: Coord,
    /// Extent on the other axis as numbers.
    side: (i64, i64),
    along: bool,
    /// Least length, and weight of its length.
    least: i64,
    weight: i64,
    symbols: [Option<usize>; 2],
}

/// Repeats both axes until nothing is gained, at most `rounds` times. Gates are symbols at the left
/// and right edges, which everything else keeps between.
pub fn compact(graph: &Graph, drawing: &mut Drawing, o: &Options, rounds: usize, gates: &[usize]) {
    // Every pair of things is looked at, which is too much for a very large drawing.
    if graph.symbols.len() + graph.pipes.len() > 4000 {
        return;
    }
    let mut last = i64::MAX;
    for _ in 0..rounds {
        for axis in 0..2 {
            once(graph, drawing, o, axis, gates);
        }
        let now = size(drawing);
        if now >= last {
            break;
        }
        last = now;
    }
}

/// Length of pipe, with each corner weighed as some length.
fn size(drawing: &Drawing) -> i64 {
    drawing
        .routes
        .iter()
        .map(|r| {
            let length: i64 =
                r.windows(2).map(|p| (p[0].x - p[1].x).abs() + (p[0].y - p[1].y).abs()).sum();
            length + 1000 * r.len() as i64
        })
        .sum()
}

fn on(p: Pt, axis: usize) -> i64 {
    if axis == 0 { p.x } else { p.y }
}

fn once(graph: &Graph, drawing: &mut Drawing, o: &Options, axis: usize, gates: &[usize]) {
    for route in &mut drawing.routes {
        *route = merged(route);
    }
    let n = graph.symbols.len();
    let mut at: Vec<i64> = drawing.placed.iter().map(|p| on(Pt::new(p.x, p.y), axis)).collect();
    // Unknown of every corner: that of the stroke across the axis on which it lies.
    let mut corners: Vec<Vec<Coord>> = Vec::new();
    let mut same: Vec<(Coord, Coord, usize)> = Vec::new();
    for (i, pipe) in graph.pipes.iter().enumerate() {
        let route = &drawing.routes[i];
        let mut mine = Vec::new();
        if route.len() < 2 {
            corners.push(mine);
            continue;
        }
        let end = |at: &[i64], s: usize, p: Pt| Coord { raw: s, off: on(p, axis) - at[s] };
        let last = route.len() - 1;
        for k in 0..=last {
            let coord = if k == 0 {
                end(&at, pipe.from.symbol, route[0])
            } else if on(route[k], axis) == on(route[k - 1], axis) {
                // Same value as the corner before: one stroke across the axis.
                mine[k - 1]
            } else if k == last {
                end(&at, pipe.to.symbol, route[last])
            } else {
                at.push(on(route[k], axis));
                Coord { raw: at.len() - 1, off: 0 }
            };
            mine.push(coord);
        }
        // The last stroke across hangs on the other symbol.
        let goal = end(&at, pipe.to.symbol, route[last]);
        if mine[last].raw != goal.raw {
            same.push((mine[last], goal, i));
        }
        corners.push(mine);
    }
    let (group, off) = groups(at.len(), &same);
    let count = group.iter().max().map_or(0, |g| g + 1);
    let mut value = vec![0i64; count];
    for k in 0..at.len() {
        value[group[k]] = at[k] - off[k];
    }
    let strokes = strokes(graph, drawing, o, axis, &corners);
    let mut arcs: BTreeMap<(usize, usize), Arc> = BTreeMap::new();
    let mut add = |a: Coord, b: Coord, least: i64, weight: i64| {
        let (u, v) = (group[a.raw], group[b.raw]);
        if u == v {
            return;
        }
        let shift = off[a.raw] + a.off - off[b.raw] - b.off;
        let now = value[v] - value[u];
        // Never ask for more than there is: the drawing at hand is legal.
        let least = (least + shift).min(now);
        let arc = arcs.entry((u, v)).or_insert(Arc { from: u, to: v, least, weight: 0 });
        arc.least = arc.least.max(least);
        arc.weight += weight;
    };
    for s in &strokes {
        if s.along {
            add(s.lo, s.hi, s.least, s.weight);
        }
    }
    // Wishes that hold are kept; symbols of one line are drawn to it.
    for (k, symbol) in graph.symbols.iter().enumerate() {
        let half = |s: usize| {
            let a = graph.area(s, &drawing.placed[s]);
            Coord { raw: s, off: if axis == 0 { a.w / 2 } else { a.h / 2 } }
        };
        let middle = |c: Coord| at[c.raw] + c.off;
        let keep = if axis == 0 { &symbol.hint.left_of } else { &symbol.hint.above };
        for &o in keep {
            if middle(half(k)) < middle(half(o)) {
                add(half(k), half(o), 1, 0);
            }
        }
        for &o in symbol.hint.level_with.iter().filter(|_| axis == 1) {
            let (a, b) = (half(k), half(o));
            let (a, b) = if middle(a) <= middle(b) { (a, b) } else { (b, a) };
            add(a, b, 0, LEVEL);
        }
    }
    // Things that could meet.
    let mut things: Vec<(i64, Thing)> = Vec::new();
    for k in 0..n {
        let area = graph.area(k, &drawing.placed[k]);
        let (w, side) = if axis == 0 {
            (area.w, (area.y, area.bottom()))
        } else {
            (area.h, (area.x, area.right()))
        };
        things.push((
            at[k],
            Thing {
                symbol: Some(k),
                stroke: 0,
                lo: Coord { raw: k, off: 0 },
                hi: Coord { raw: k, off: w },
                side,
            },
        ));
    }
    for (k, s) in strokes.iter().enumerate() {
        things.push((
            at[s.lo.raw] + s.lo.off,
            Thing { symbol: None, stroke: k, lo: s.lo, hi: s.hi, side: s.side },
        ));
    }
    things.sort_by_key(|t| (t.0, t.1.symbol.is_none(), t.1.symbol, t.1.stroke));
    let place = |c: Coord| at[c.raw] + c.off;
    let gate = |t: &Thing| t.symbol.is_some_and(|s| gates.contains(&s));
    for (n1, (_, a)) in things.iter().enumerate() {
        for (_, b) in &things[n1 + 1..] {
            let gap = match (a.symbol, b.symbol) {
                (Some(_), Some(_)) => o.spacing,
                (None, None) => o.pitch,
                _ => o.clearance,
            };
            let walls = if axis == 0 { gate(a) || gate(b) } else { gate(a) && gate(b) };
            if !walls && (a.side.0 >= b.side.1 + gap || b.side.0 >= a.side.1 + gap) {
                continue;
            }
            if place(a.hi) > place(b.lo) || skip(&strokes, a, b) {
                continue;
            }
            add(a.hi, b.lo, gap, 0);
        }
    }
    let arcs: Vec<Arc> = arcs.into_values().collect();
    minimise(&mut value, &arcs, 4000);
    let least = value.iter().min().copied().unwrap_or(0);
    let new = |c: Coord| value[group[c.raw]] + off[c.raw] + c.off - least;
    for k in 0..n {
        let v = new(Coord { raw: k, off: 0 });
        let p: &mut Placed = &mut drawing.placed[k];
        if axis == 0 {
            p.x = v;
        } else {
            p.y = v;
        }
    }
    for (i, mine) in corners.iter().enumerate() {
        for (k, &c) in mine.iter().enumerate() {
            let pt = &mut drawing.routes[i][k];
            if axis == 0 {
                pt.x = new(c);
            } else {
                pt.y = new(c);
            }
        }
        drawing.routes[i] = merged(&drawing.routes[i]);
    }
}

struct Thing {
    symbol: Option<usize>,
    stroke: usize,
    lo: Coord,
    hi: Coord,
    side: (i64, i64),
}

/// Pairs that touch by design or are held by the pipe's own shape.
fn skip(strokes: &[Stroke], a: &Thing, b: &Thing) -> bool {
    match (a.symbol, b.symbol) {
        (Some(_), Some(_)) => false,
        (Some(s), None) => strokes[b.stroke].symbols.contains(&Some(s)),
        (None, Some(s)) => strokes[a.stroke].symbols.contains(&Some(s)),
        (None, None) => {
            let (x, y) = (&strokes[a.stroke], &strokes[b.stroke]);
            if x.pipe == y.pipe && x.index.abs_diff(y.index) <= 2 {
                return true;
            }
            let meet = |s: &Option<usize>| s.is_some() && y.symbols.contains(s);
            x.symbols.iter().any(meet)
        }
    }
}

fn strokes(
    graph: &Graph,
    drawing: &Drawing,
    o: &Options,
    axis: usize,
    corners: &[Vec<Coord>],
) -> Vec<Stroke> {
    let mut out = Vec::new();
    for (i, pipe) in graph.pipes.iter().enumerate() {
        let (route, mine) = (&drawing.routes[i], &corners[i]);
        let legs = mine.len().saturating_sub(1);
        for k in 0..legs {
            let (a, b) = (route[k], route[k + 1]);
            let along = on(a, axis) != on(b, axis);
            let forward = on(a, axis) < on(b, axis);
            let (lo, hi) = if forward { (mine[k], mine[k + 1]) } else { (mine[k + 1], mine[k]) };
            let other = 1 - axis;
            let side = (on(a, other).min(on(b, other)), on(a, other).max(on(b, other)));
            let (first, last) = (k == 0, k + 1 == legs);
            // A piece between two that go on the same way may vanish.
            let jog = !first && !last && {
                let before = (on(a, other) - on(route[k - 1], other)).signum();
                let after = (on(route[k + 2], other) - on(b, other)).signum();
                before == after
            };
            let least = match (first, last) {
                (true, true) => o.spacing,
                (false, false) if jog => 0,
                (false, false) => o.pitch,
                _ => o.stub,
            };
            let rank = i64::from(pipe.rank.min(4));
            let weight = if jog { 60 } else { 12 - 2 * rank };
            out.push(Stroke {
                pipe: i,
                index: k,
                lo,
                hi,
                side,
                along,
                least,
                weight,
                symbols: [first.then_some(pipe.from.symbol), last.then_some(pipe.to.symbol)],
            });
        }
    }
    out
}

/// Unknowns that are the same up to a constant, as groups without gaps in their numbers.
fn groups(n: usize, same: &[(Coord, Coord, usize)]) -> (Vec<usize>, Vec<i64>) {
    let mut group: Vec<usize> = (0..n).collect();
    let mut off = vec![0i64; n];
    let mut members: Vec<Vec<usize>> = (0..n).map(|k| vec![k]).collect();
    for &(a, b, _) in same {
        let (ga, gb) = (group[a.raw], group[b.raw]);
        if ga == gb {
            continue;
        }
        let shift = off[a.raw] + a.off - b.off - off[b.raw];
        let (keep, gone, by) =
            if members[ga].len() >= members[gb].len() { (ga, gb, shift) } else { (gb, ga, -shift) };
        for m in std::mem::take(&mut members[gone]) {
            group[m] = keep;
            off[m] += by;
            members[keep].push(m);
        }
    }
    let mut number = vec![usize::MAX; n];
    let mut next = 0;
    for g in &mut group {
        if number[*g] == usize::MAX {
            number[*g] = next;
            next += 1;
        }
        *g = number[*g];
    }
    (group, off)
}
