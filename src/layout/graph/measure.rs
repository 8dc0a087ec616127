//! The figures by which a drawing is judged, counted from the drawing alone. In: graph and
//! drawing. Out: faults that must not be (hard) and what should be low (soft).

use super::{Drawing, Graph, Pt};

/// Counts and lengths of one drawing.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Measures {
    // Faults: each must be 0.
    pub symbol_overlaps: usize,
    pub pipes_through_symbols: usize,
    pub ends_off_port: usize,
    pub wrong_sides: usize,
    pub collinear: usize,
    pub too_close: usize,
    /// A corner of one pipe lying on another pipe.
    pub touches: usize,
    pub slanting: usize,
    // Lower is better.
    pub crossings: usize,
    pub bends: usize,
    pub length: i64,
    pub width: i64,
    pub height: i64,
    /// Pipes between ports that face each other, and how many of them are one straight line.
    pub facing: usize,
    pub straight: usize,
}

impl Measures {
    /// Faults of all kinds together.
    pub fn hard(&self) -> usize {
        self.symbol_overlaps
            + self.pipes_through_symbols
            + self.ends_off_port
            + self.wrong_sides
            + self.collinear
            + self.too_close
            + self.touches
            + self.slanting
    }
}

/// A straight piece of a pipe, ends in ascending order.
#[derive(Clone, Copy)]
struct Piece {
    pipe: usize,
    /// The coordinate that stays: y of a horizontal piece, x of a vertical one.
    at: i64,
    lo: i64,
    hi: i64,
}

/// The corners with doubled points and points on a straight line taken out.
pub fn merged(route: &[Pt]) -> Vec<Pt> {
    let mut out: Vec<Pt> = Vec::with_capacity(route.len());
    for &p in route {
        if out.last() == Some(&p) {
            continue;
        }
        if let [.., a, b] = out[..] {
            let on_x = a.x == b.x && b.x == p.x && (b.y - a.y).signum() == (p.y - b.y).signum();
            let on_y = a.y == b.y && b.y == p.y && (b.x - a.x).signum() == (p.x - b.x).signum();
            if on_x || on_y {
                out.pop();
            }
        }
        out.push(p);
    }
    out
}

/// Judges a drawing. `pitch` is the least distance of parallel pipes.
pub fn measure(graph: &Graph, drawing: &Drawing, pitch: i64) -> Measures {
    let mut m = Measures::default();
    let areas: Vec<_> =
        drawing.placed.iter().enumerate().map(|(i, at)| graph.area(i, at)).collect();
    // Symbols by their left edge, so that each is compared only with those it may meet.
    let mut by_left: Vec<usize> = (0..areas.len()).collect();
    by_left.sort_by_key(|&i| (areas[i].x, i));
    let widest = areas.iter().map(|a| a.w).max().unwrap_or(0);
    for (n, &i) in by_left.iter().enumerate() {
        for &j in &by_left[n + 1..] {
            if areas[j].x >= areas[i].right() {
                break;
            }
            m.symbol_overlaps += usize::from(areas[i].overlaps(&areas[j]));
        }
    }
    let (mut across, mut down) = (Vec::new(), Vec::new());
    let mut reach: Option<(Pt, Pt)> = None;
    let mut extend = |p: Pt| {
        let (lo, hi) = reach.unwrap_or((p, p));
        reach =
            Some((Pt::new(lo.x.min(p.x), lo.y.min(p.y)), Pt::new(hi.x.max(p.x), hi.y.max(p.y))));
    };
    for a in &areas {
        extend(Pt::new(a.x, a.y));
        extend(Pt::new(a.right(), a.bottom()));
    }
    for (i, pipe) in graph.pipes.iter().enumerate() {
        if pipe.from == pipe.to {
            continue;
        }
        let route = merged(&drawing.routes[i]);
        let (from_side, from) = graph.port(pipe.from, &drawing.placed[pipe.from.symbol]);
        let (to_side, to) = graph.port(pipe.to, &drawing.placed[pipe.to.symbol]);
        m.ends_off_port += usize::from(route.first() != Some(&from));
        m.ends_off_port += usize::from(route.last() != Some(&to));
        m.bends += route.len().saturating_sub(2);
        let opposite = (from_side.quarter() + 2) % 4 == to_side.quarter();
        let (dx, dy) = from_side.step();
        let ahead = (to.x - from.x) * dx + (to.y - from.y) * dy > 0;
        if opposite && ahead {
            m.facing += 1;
            m.straight += usize::from(route.len() == 2);
        }
        if let [a, b, ..] = route[..] {
            m.wrong_sides += usize::from(toward(a, b) != from_side.step());
        }
        if let [.., a, b] = route[..] {
            m.wrong_sides += usize::from(toward(b, a) != to_side.step());
        }
        for leg in route.windows(2) {
            let (a, b) = (leg[0], leg[1]);
            extend(b);
            m.length += (a.x - b.x).abs() + (a.y - b.y).abs();
            if a.y == b.y {
                across.push(Piece { pipe: i, at: a.y, lo: a.x.min(b.x), hi: a.x.max(b.x) });
            } else if a.x == b.x {
                down.push(Piece { pipe: i, at: a.x, lo: a.y.min(b.y), hi: a.y.max(b.y) });
            } else {
                m.slanting += 1;
            }
            let (lo, hi) = (a.x.min(b.x), a.x.max(b.x));
            let (top, low) = (a.y.min(b.y), a.y.max(b.y));
            let first = by_left.partition_point(|&k| areas[k].x < lo - widest);
            for &k in &by_left[first..] {
                let s = &areas[k];
                if s.x > hi {
                    break;
                }
                // Within the symbol, or along its edge.
                let inside = lo < s.right() && s.x < hi && top < s.bottom() && s.y < low;
                let level = top == low && lo < s.right() && s.x < hi;
                let upright = lo == hi && top < s.bottom() && s.y < low;
                let through = inside
                    || level && top >= s.y && top <= s.bottom()
                    || upright && lo >= s.x && lo <= s.right();
                m.pipes_through_symbols += usize::from(through);
            }
        }
    }
    let nets = nets(graph);
    parallel(&mut m, &mut across, pitch, &nets);
    parallel(&mut m, &mut down, pitch, &nets);
    crossings(&mut m, &across, &down, &nets);
    if let Some((lo, hi)) = reach {
        m.width = hi.x - lo.x;
        m.height = hi.y - lo.y;
    }
    m
}

fn toward(a: Pt, b: Pt) -> (i64, i64) {
    ((b.x - a.x).signum(), (b.y - a.y).signum())
}

/// Pipes that share a port are one net: they may run together and do not cross each other.
pub(super) fn nets(graph: &Graph) -> Vec<usize> {
    let mut first = std::collections::BTreeMap::new();
    let mut net: Vec<usize> = (0..graph.pipes.len()).collect();
    fn root(net: &mut [usize], mut i: usize) -> usize {
        while net[i] != i {
            net[i] = net[net[i]];
            i = net[i];
        }
        i
    }
    for (i, pipe) in graph.pipes.iter().enumerate() {
        for end in [pipe.from, pipe.to] {
            let other = *first.entry(end).or_insert(i);
            let (a, b) = (root(&mut net, i), root(&mut net, other));
            net[a.max(b)] = a.min(b);
        }
    }
    (0..net.len()).map(|i| root(&mut net, i)).collect()
}

fn parallel(m: &mut Measures, pieces: &mut [Piece], pitch: i64, nets: &[usize]) {
    pieces.sort_by_key(|p| (p.at, p.lo, p.pipe));
    let longest = pieces.iter().map(|p| p.hi - p.lo).max().unwrap_or(0);
    // Lines of pieces with the same coordinate; only neighbours on near lines can meet.
    let lines: Vec<&[Piece]> = pieces.chunk_by(|a, b| a.at == b.at).collect();
    for (n, line) in lines.iter().enumerate() {
        for other in &lines[n..] {
            if other[0].at - line[0].at >= pitch.max(1) {
                break;
            }
            for (k, a) in line.iter().enumerate() {
                let same = other[0].at == a.at;
                let first =
                    if same { k + 1 } else { other.partition_point(|b| b.lo < a.lo - longest) };
                for b in &other[first..] {
                    if b.lo >= a.hi {
                        break;
                    }
                    if nets[a.pipe] == nets[b.pipe] || b.hi <= a.lo {
                        continue;
                    }
                    if same {
                        m.collinear += 1;
                    } else {
                        m.too_close += 1;
                    }
                }
            }
        }
    }
}

fn crossings(m: &mut Measures, across: &[Piece], down: &[Piece], nets: &[usize]) {
    // `down` is sorted by x.
    for h in across {
        let first = down.partition_point(|v| v.at < h.lo);
        for v in &down[first..] {
            if v.at > h.hi {
                break;
            }
            if h.at < v.lo || h.at > v.hi {
                continue;
            }
            let within = v.at > h.lo && v.at < h.hi && h.at > v.lo && h.at < v.hi;
            if nets[h.pipe] != nets[v.pipe] {
                if within {
                    m.crossings += 1;
                } else {
                    m.touches += 1;
                }
            } else if h.pipe == v.pipe && within {
                m.crossings += 1;
            }
        }
    }
}
