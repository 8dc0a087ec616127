//! What still collides. In: coordinates. Out: the pairs of things that stand too close, except
//! those that touch by design.

use super::*;

pub(super) fn gap(o: &Options, i: Thing, j: Thing) -> i64 {
    match (i, j) {
        (Thing::Symbol(_), Thing::Symbol(_)) => o.spacing,
        (Thing::Stroke(..), Thing::Stroke(..)) => o.pitch,
        _ => o.clearance,
    }
}

/// Pairs of things that lie over each other or too close.
pub(super) fn overlaps(s: &Strokes, o: &Options, at: &[Vec<i64>; 2]) -> Vec<(Thing, Thing)> {
    // (thing, least, greatest)
    let mut things: Vec<(Thing, [i64; 2], [i64; 2])> = Vec::new();
    for (k, &(w, h)) in s.size.iter().enumerate() {
        let (x, y) = (at[0][k], at[1][k]);
        things.push((Thing::Symbol(k), [x, y], [x + w, y + h]));
    }
    for k in &s.strokes {
        let (along, across) = (usize::from(!k.level), usize::from(k.level));
        let v = |axis: usize, c: Coord| at[axis][c.raw] + c.off;
        let (a, b, p) = (v(along, k.a), v(along, k.b), v(across, k.pos));
        let mut lo = [p, p];
        let mut hi = [p, p];
        lo[along] = a.min(b);
        hi[along] = a.max(b);
        things.push((Thing::Stroke(k.pipe, k.index), lo, hi));
    }
    things.sort_by_key(|t| (t.1[0], t.0));
    let reach = o.spacing.max(o.pitch).max(o.clearance);
    let mut out = Vec::new();
    for (n, a) in things.iter().enumerate() {
        for b in &things[n + 1..] {
            if b.1[0] >= a.2[0] + reach {
                break;
            }
            let g = gap(o, a.0, b.0);
            if b.1[0] < a.2[0] + g
                && b.1[1] < a.2[1] + g
                && a.1[1] < b.2[1] + g
                && !exempt(s, a.0, b.0)
            {
                out.push((a.0.min(b.0), a.0.max(b.0)));
            }
        }
    }
    out.sort();
    out
}

/// Pairs that touch by design.
pub(super) fn exempt(s: &Strokes, a: Thing, b: Thing) -> bool {
    match (a, b) {
        (Thing::Symbol(_), Thing::Symbol(_)) => false,
        (Thing::Symbol(k), t) | (t, Thing::Symbol(k)) => {
            stroke(s, t).is_some_and(|t| t.from == Some(k) || t.to == Some(k))
        }
        (Thing::Stroke(p, i), Thing::Stroke(q, j)) => {
            if p == q && i.abs_diff(j) <= 2 {
                return true;
            }
            let (Some(x), Some(y)) = (stroke(s, a), stroke(s, b)) else {
                return true;
            };
            let meet =
                [x.from, x.to].iter().flatten().any(|&k| y.from == Some(k) || y.to == Some(k));
            let (ix, iy) = (s.of_pipe[p].0 + i, s.of_pipe[q].0 + j);
            meet || s.crossing.contains(&(ix, iy)) || s.crossing.contains(&(iy, ix))
        }
    }
}
