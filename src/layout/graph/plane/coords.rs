//! Lengths for a shape. In: a [`Plane`] with its [`Shape`]. Out: a legal drawing with every port at
//! its exact place, if the search finds one.
//!
//! Only what the shape says is demanded at first. Things found lying over each other are then
//! ordered, left or right or above or below, until none do; where that is impossible a straight
//! pipe gets a jog.

mod overlap;

use overlap::{gap, overlaps};

use super::Frame;
use super::core::Core;
use super::order::{Diff, Orders, Outcome};
use super::planarise::Plane;
use super::shape::{Shape, Shaper};
use super::strokes::{Coord, Stroke, Strokes};
use crate::layout::graph::{Drawing, Graph, Options, Placed, Pt};

/// Why a pair is known: by things that keep their names when a pipe gets a jog.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Thing {
    Symbol(usize),
    Stroke(usize, usize),
}

pub struct Realised {
    pub drawing: Drawing,
    /// Per pipe: whether its first and its last stroke got a jog.
    pub jogs: Vec<[bool; 2]>,
    pub steps: u64,
}

/// Groups of unknowns on one axis that move as one, with each unknown's place in its group.
struct Rigid {
    group: Vec<usize>,
    off: Vec<i64>,
    /// Neighbours in the tree of straight pipes.
    tree: Vec<Vec<(usize, usize)>>,
}

/// How much sooner a straight pipe is given a jog than a bent one.
const STRAIGHT: i64 = 10;

/// What is to be given lengths.
pub struct Task<'a> {
    pub graph: &'a Graph,
    pub core: &'a Core,
    pub plane: &'a Plane,
    pub shape: &'a Shape,
    pub shaper: &'a Shaper<'a>,
    pub frame: Option<&'a Frame>,
}

/// Finds lengths; gives up after `steps`.
pub fn realise(task: &Task, options: &Options, steps: u64) -> Option<Realised> {
    let &Task { graph, core, plane, shape, shaper, frame } = task;
    let mut jogs = vec![[false; 2]; graph.pipes.len()];
    let mut pairs: Vec<(Thing, Thing)> = Vec::new();
    let mut used = 0;
    loop {
        let strokes = Strokes::new(graph, core, plane, shape, shaper, &jogs);
        let (result, blame) =
            attempt(graph, &strokes, options, frame, &mut pairs, (&mut used, steps));
        if let Some(at) = result {
            return Some(Realised { drawing: drawing(graph, &strokes, &at), jogs, steps: used });
        }
        let mut worst: Option<(i64, usize, usize)> = None;
        for (p, b) in blame.iter().enumerate() {
            let rank = i64::from(graph.pipes[p].rank.min(4));
            for end in 0..2 {
                let weight = b[end] * (10 + rank);
                if weight > 0 && !jogs[p][end] && worst.is_none_or(|w| weight > w.0) {
                    worst = Some((weight, p, end));
                }
            }
        }
        match worst {
            Some((_, p, end)) if used < steps => jogs[p][end] = true,
            _ => return None,
        }
    }
}

fn drawing(graph: &Graph, s: &Strokes, at: &[Vec<i64>; 2]) -> Drawing {
    let value = |axis: usize, c: Coord| at[axis][c.raw] + c.off;
    let placed = (0..graph.symbols.len())
        .map(|k| Placed { x: at[0][k], y: at[1][k], pose: s.pose[k] })
        .collect();
    let routes = graph
        .pipes
        .iter()
        .enumerate()
        .map(|(p, pipe)| {
            let (first, count) = s.of_pipe[p];
            let mut route = Vec::new();
            for stroke in &s.strokes[first..first + count] {
                let (along, across) = (usize::from(!stroke.level), usize::from(stroke.level));
                let pos = value(across, stroke.pos);
                for c in [stroke.a, stroke.b] {
                    let v = value(along, c);
                    route.push(if stroke.level { Pt::new(v, pos) } else { Pt::new(pos, v) });
                }
            }
            // Strokes follow the run, which may go against the pipe.
            let walked_from = s.strokes.get(first).and_then(|k| k.from);
            let mut route = crate::layout::graph::measure::merged(&route);
            let from = graph.port(
                pipe.from,
                &Placed {
                    x: at[0][pipe.from.symbol],
                    y: at[1][pipe.from.symbol],
                    pose: s.pose[pipe.from.symbol],
                },
            );
            if walked_from.is_some() && route.first() != Some(&from.1) {
                route.reverse();
            }
            route
        })
        .collect();
    Drawing { placed, routes }
}

impl Rigid {
    /// Joins what straight pipes hold together; names pipes that cannot be straight.
    fn new(graph: &Graph, s: &Strokes, axis: usize) -> (Rigid, Vec<usize>) {
        let n = s.raws[axis];
        let mut rigid =
            Rigid { group: (0..n).collect(), off: vec![0; n], tree: vec![Vec::new(); n] };
        let mut order: Vec<_> = s.straight.iter().filter(|t| t.1 == axis).collect();
        order.sort_by_key(|t| (graph.pipes[t.0].rank, t.0));
        let mut members: Vec<Vec<usize>> = (0..n).map(|k| vec![k]).collect();
        let mut bent = Vec::new();
        for &&(pipe, _, a, b) in &order {
            // a.raw + a.off = b.raw + b.off
            let (ga, gb) = (rigid.group[a.raw], rigid.group[b.raw]);
            let shift = rigid.off[a.raw] + a.off - b.off - rigid.off[b.raw];
            if ga == gb {
                if shift != 0 {
                    bent.push(pipe);
                }
                continue;
            }
            rigid.tree[a.raw].push((b.raw, pipe));
            rigid.tree[b.raw].push((a.raw, pipe));
            let (keep, gone, by) = if members[ga].len() >= members[gb].len() {
                (ga, gb, shift)
            } else {
                (gb, ga, -shift)
            };
            for m in std::mem::take(&mut members[gone]) {
                rigid.group[m] = keep;
                rigid.off[m] += by;
                members[keep].push(m);
            }
        }
        // Number the groups without gaps.
        let mut number = vec![usize::MAX; n];
        let mut next = 0;
        for k in 0..n {
            let g = rigid.group[k];
            if number[g] == usize::MAX {
                number[g] = next;
                next += 1;
            }
            rigid.group[k] = number[g];
        }
        (rigid, bent)
    }

    fn count(&self) -> usize {
        self.group.iter().max().map_or(0, |g| g + 1)
    }

    /// Pipes on the way from one member to another.
    fn between(&self, from: usize, to: usize) -> Vec<usize> {
        let mut back = std::collections::BTreeMap::from([(from, (from, usize::MAX))]);
        let mut queue = std::collections::VecDeque::from([from]);
        while let Some(k) = queue.pop_front() {
            if k == to {
                break;
            }
            for &(m, pipe) in &self.tree[k] {
                back.entry(m).or_insert_with(|| {
                    queue.push_back(m);
                    (k, pipe)
                });
            }
        }
        let mut out = Vec::new();
        let mut at = to;
        while at != from {
            let Some(&(k, pipe)) = back.get(&at) else {
                return Vec::new();
            };
            out.push(pipe);
            at = k;
        }
        out
    }
}

/// Builds differences between coordinates.
struct Builder<'a> {
    rigid: &'a [Rigid; 2],
}

impl Builder<'_> {
    /// `b` at least `w` after `a`.
    fn diff(&self, axis: usize, a: Coord, b: Coord, w: i64) -> Diff {
        let r = &self.rigid[axis];
        Diff {
            axis,
            u: r.group[a.raw],
            v: r.group[b.raw],
            w: w + a.off + r.off[a.raw] - b.off - r.off[b.raw],
            members: (a.raw, b.raw),
        }
    }
}

/// Extent of a thing: on each axis its possible least and greatest coordinates.
struct Extent {
    lo: [Vec<Coord>; 2],
    hi: [Vec<Coord>; 2],
}

fn extent(s: &Strokes, thing: Thing) -> Extent {
    match thing {
        Thing::Symbol(k) => {
            let c = |off| Coord { raw: k, off };
            let (w, h) = s.size[k];
            Extent { lo: [vec![c(0)], vec![c(0)]], hi: [vec![c(w)], vec![c(h)]] }
        }
        Thing::Stroke(pipe, index) => {
            let k = &s.strokes[s.of_pipe[pipe].0 + index];
            let (lo, hi) = match k.ahead {
                Some(true) => (vec![k.a], vec![k.b]),
                Some(false) => (vec![k.b], vec![k.a]),
                None => (vec![k.a, k.b], vec![k.a, k.b]),
            };
            let pos = vec![k.pos];
            if k.level {
                Extent { lo: [lo, pos.clone()], hi: [hi, pos] }
            } else {
                Extent { lo: [pos.clone(), lo], hi: [pos, hi] }
            }
        }
    }
}

#[allow(clippy::type_complexity)]
fn attempt(
    graph: &Graph,
    s: &Strokes,
    options: &Options,
    frame: Option<&Frame>,
    pairs: &mut Vec<(Thing, Thing)>,
    (used, steps): (&mut u64, u64),
) -> (Option<[Vec<i64>; 2]>, Vec<[i64; 2]>) {
    let mut blame = vec![[0i64; 2]; graph.pipes.len()];
    let (rx, bent_x) = Rigid::new(graph, s, 0);
    let (ry, bent_y) = Rigid::new(graph, s, 1);
    if let Some(&p) = bent_x.first().or(bent_y.first()) {
        blame[p][0] = 1;
        return (None, blame);
    }
    let rigid = [rx, ry];
    let b = Builder { rigid: &rigid };
    let mut orders = Orders::new([rigid[0].count(), rigid[1].count()]);
    let mut ok = true;
    let mut base = base(s, &b, options);
    if let Some(frame) = frame {
        border(s, &b, options, frame, &mut base);
    }
    for &(d, _) in &base {
        ok &= orders.always(d);
    }
    let mut solved = false;
    if ok {
        pairs.retain(|&(i, j)| [i, j].iter().all(|t| exists(s, *t)));
        let mut known: std::collections::BTreeSet<(Thing, Thing)> = pairs.iter().copied().collect();
        for &(i, j) in pairs.iter() {
            separate(s, &b, options, &mut orders, i, j);
        }
        for _ in 0..60 {
            orders.relax();
            let before = orders.steps;
            let outcome = orders.search(600);
            *used += orders.steps - before + 200;
            if outcome != Outcome::Solved || *used > steps {
                break;
            }
            let at = raw(s, &rigid, &orders);
            let mut new = overlaps(s, options, &at);
            new.retain(|p| known.insert(*p));
            if new.is_empty() {
                solved = true;
                break;
            }
            orders.ground();
            for &(i, j) in &new {
                separate(s, &b, options, &mut orders, i, j);
            }
            pairs.extend(new);
        }
    }
    if solved {
        return (Some(raw(s, &rigid, &orders)), blame);
    }
    for (&(axis, from, to), &times) in &orders.blame {
        for pipe in rigid[axis].between(from, to) {
            blame[pipe][0] += i64::from(times) * STRAIGHT;
        }
    }
    // A stroke that is too short for what it must pass: free the port's stroke next to it.
    for (k, &times) in orders.blame_always.iter().enumerate() {
        let Some(stroke) = s.strokes.get(base[k].1) else {
            continue;
        };
        let last = s.of_pipe[stroke.pipe].1 - 1;
        if stroke.index == 1 {
            blame[stroke.pipe][0] += i64::from(times);
        }
        if stroke.index + 1 == last {
            blame[stroke.pipe][1] += i64::from(times);
        }
    }
    (None, blame)
}

fn exists(s: &Strokes, t: Thing) -> bool {
    match t {
        Thing::Symbol(_) => true,
        Thing::Stroke(p, k) => k < s.of_pipe[p].1,
    }
}

fn raw(s: &Strokes, rigid: &[Rigid; 2], orders: &Orders) -> [Vec<i64>; 2] {
    [0, 1].map(|axis| {
        (0..s.raws[axis])
            .map(|k| orders.at[axis][rigid[axis].group[k]] + rigid[axis].off[k])
            .collect()
    })
}

/// What the shape itself demands.
fn base(s: &Strokes, b: &Builder, o: &Options) -> Vec<(Diff, usize)> {
    let mut out = Vec::new();
    for (n, k) in s.strokes.iter().enumerate() {
        let along = usize::from(!k.level);
        let least = match (k.from, k.to) {
            (Some(_), Some(_)) => o.spacing,
            (None, None) => o.pitch,
            _ => o.stub,
        };
        match k.ahead {
            Some(true) => out.push((b.diff(along, k.a, k.b, least), n)),
            Some(false) => out.push((b.diff(along, k.b, k.a, least), n)),
            None => {}
        }
    }
    for &(level, upright) in &s.crossing {
        for (n, other) in [(level, upright), (upright, level)] {
            let one = n;
            let (one, other) = (&s.strokes[one], &s.strokes[other]);
            // `one` reaches over `other` on both sides.
            let along = usize::from(!one.level);
            let (lo, hi) = match one.ahead {
                Some(false) => (one.b, one.a),
                _ => (one.a, one.b),
            };
            out.push((b.diff(along, lo, other.pos, o.pitch), n));
            out.push((b.diff(along, other.pos, hi, o.pitch), n));
        }
    }
    out
}

/// Keeps gates outside everything else on their side, one above the other.
fn border(s: &Strokes, b: &Builder, o: &Options, f: &Frame, out: &mut Vec<(Diff, usize)>) {
    let none = usize::MAX;
    let gates: Vec<usize> = f.gates().collect();
    for (side, west) in [(&f.west, true), (&f.east, false)] {
        for &gate in side {
            let (lo, hi) = (Coord { raw: gate, off: 0 }, Coord { raw: gate, off: s.size[gate].0 });
            let first = Coord { raw: side[0], off: 0 };
            if gate != side[0] {
                out.push((b.diff(0, lo, first, 0), none));
                out.push((b.diff(0, first, lo, 0), none));
            }
            for k in 0..s.size.len() {
                if gates.contains(&k) {
                    continue;
                }
                let (l, r) = (Coord { raw: k, off: 0 }, Coord { raw: k, off: s.size[k].0 });
                let d =
                    if west { b.diff(0, hi, l, o.spacing) } else { b.diff(0, r, lo, o.spacing) };
                out.push((d, none));
            }
            for k in &s.strokes {
                if !k.level {
                    let d = if west {
                        b.diff(0, hi, k.pos, o.pitch)
                    } else {
                        b.diff(0, k.pos, lo, o.pitch)
                    };
                    out.push((d, none));
                }
            }
        }
    }
}

fn separate(s: &Strokes, b: &Builder, o: &Options, orders: &mut Orders, i: Thing, j: Thing) {
    let gap = gap(o, i, j);
    let (ei, ej) = (extent(s, i), extent(s, j));
    let mut vars = Vec::new();
    for axis in 0..2 {
        for (first, second) in [(&ei, &ej), (&ej, &ei)] {
            let mut diffs = Vec::new();
            for &hi in &first.hi[axis] {
                for &lo in &second.lo[axis] {
                    diffs.push(b.diff(axis, hi, lo, gap));
                }
            }
            vars.extend(orders.bundle(&diffs));
        }
    }
    orders.one_of(&vars);
}

fn stroke(s: &Strokes, t: Thing) -> Option<&Stroke> {
    match t {
        Thing::Stroke(p, k) => s.strokes.get(s.of_pipe[p].0 + k),
        Thing::Symbol(_) => None,
    }
}
