//! Distances in the cupboard. In: routes and bodies as laid out. Out: gaps, overlaps, what stands
//! in the way. All mm.

use crate::layout::cupboard::plan::{Form, Route, Solid};
use crate::model::{Box3, P3};

/// Length over which two straight stretches run side by side, and the gap between their outsides.
fn beside(a: (P3, P3), b: (P3, P3), radii: f64) -> Option<(f64, f64)> {
    let axis = |s: (P3, P3)| {
        let d = [(s.1.x - s.0.x).abs(), (s.1.y - s.0.y).abs(), (s.1.z - s.0.z).abs()];
        let main = (0..3).max_by(|i, j| d[*i].total_cmp(&d[*j]))?;
        let straight = (0..3).all(|i| i == main || d[i] < 0.5);
        straight.then_some(main)
    };
    let along = axis(a)?;
    if axis(b)? != along {
        return None;
    }
    let of = |p: P3, i: usize| [p.x, p.y, p.z][i];
    let span = |s: (P3, P3)| {
        let (lo, hi) = (of(s.0, along), of(s.1, along));
        (lo.min(hi), lo.max(hi))
    };
    let (sa, sb) = (span(a), span(b));
    let length = sa.1.min(sb.1) - sa.0.max(sb.0);
    let square: f64 = (0..3)
        .filter(|i| *i != along)
        .map(|i| {
            let d = of(a.0, i) - of(b.0, i);
            d * d
        })
        .sum();
    (length > 0.0).then(|| (length, square.sqrt() - radii))
}

/// Total length of two routes side by side closer than `within`, and the least gap there.
pub fn company(a: &Route, b: &Route, within: f64) -> (f64, f64) {
    let radii = (a.od + b.od) / 2.0;
    let (mut length, mut least) = (0.0, f64::INFINITY);
    for p in a.points.windows(2) {
        for q in b.points.windows(2) {
            if let Some((l, gap)) = beside((p[0], p[1]), (q[0], q[1]), radii)
                && gap < within
            {
                length += l;
                least = least.min(gap);
            }
        }
    }
    (length, least)
}

/// Gap from a point to a box seen from above and from the side: 0 inside.
pub fn gap_to_box(p: P3, b: &Box3) -> f64 {
    let along = |v: f64, lo: f64, w: f64| (lo - v).max(v - (lo + w)).max(0.0);
    let (x, y, z) = (along(p.x, b.x, b.w), along(p.y, b.y, b.d), along(p.z, b.z, b.h));
    (x * x + y * y + z * z).sqrt()
}

/// Deepest common extent of two bodies along any axis, mm; 0 where they do not meet. Round bodies
/// are taken as round.
pub fn sunk(a: &Solid, b: &Solid) -> f64 {
    let along = |a0: f64, aw: f64, b0: f64, bw: f64| (a0 + aw).min(b0 + bw) - a0.max(b0);
    let dz = along(a.at.z, a.at.h, b.at.z, b.at.h);
    let dx = along(a.at.x, a.at.w, b.at.x, b.at.w);
    let dy = along(a.at.y, a.at.d, b.at.y, b.at.d);
    if dx <= 0.0 || dy <= 0.0 || dz <= 0.0 {
        return 0.0;
    }
    let round = |s: &Solid| matches!(s.form, Form::Upright | Form::Domed);
    let flat = match (round(a), round(b)) {
        (true, true) => {
            let (ca, cb) = (axis(&a.at), axis(&b.at));
            a.at.w / 2.0 + b.at.w / 2.0 - across(ca.0 - cb.0, ca.1 - cb.1)
        }
        (true, false) => a.at.w / 2.0 - from_axis(axis(&a.at), &b.at),
        (false, true) => b.at.w / 2.0 - from_axis(axis(&b.at), &a.at),
        (false, false) => dx.min(dy),
    };
    flat.min(dz).max(0.0)
}

/// Axis of a round body seen from above.
pub fn axis(b: &Box3) -> (f64, f64) {
    (b.x + b.w / 2.0, b.y + b.d / 2.0)
}

/// Distance from an axis to a box, seen from above.
fn from_axis(c: (f64, f64), b: &Box3) -> f64 {
    gap_to_box(P3::new(c.0, c.1, b.z), b)
}

fn across(x: f64, y: f64) -> f64 {
    (x * x + y * y).sqrt()
}

/// How deep a pipe runs into a body, mm; its first and last stretch are left out where it joins
/// the body.
pub fn pierced(route: &Route, solid: &Solid) -> f64 {
    let radius = route.od / 2.0;
    let mut worst: f64 = 0.0;
    for w in route.points.windows(2) {
        worst = worst.max(stretch(w[0], w[1], radius, solid));
    }
    worst
}

/// A straight stretch is right-angled, so its box is the stretch itself.
fn stretch(a: P3, b: P3, radius: f64, solid: &Solid) -> f64 {
    let at = Box3::around(a, b, radius);
    let pipe = Solid { at, form: Form::Box, ..solid.clone() };
    sunk(&pipe, solid)
}
