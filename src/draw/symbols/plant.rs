//! Cylinders, vessels, tanks, heat sources, pumps, headers. Shapes after ISO 14617 and BS 1553-1
//! (from memory); sizes common practice.

use super::pad::Pad;
use crate::catalogue::Kind;

pub fn draw(name: &str, kind: Kind, pad: &mut Pad) -> bool {
    match name {
        "cylinder" => cylinder(kind, pad),
        "vessel" => vessel(kind, pad),
        "immersion" => {
            // The rod reaches into the store; the terminal box stands outside.
            pad.line(&[(0.0, 1.6), (-11.0, 1.6)]);
            pad.line(&[(0.0, 3.4), (-11.0, 3.4)]);
            pad.curve((-11.0, 1.6), &[[(-12.2, 1.6), (-12.2, 3.4), (-11.0, 3.4)]]);
            pad.rect(0.0, 0.0, 5.0, 5.0);
            pad.solid(&[(2.9, 0.8), (1.6, 2.8), (2.5, 2.8), (2.1, 4.3), (3.5, 2.2), (2.6, 2.2)]);
        }
        "boiler" => {
            pad.rect(0.0, 0.0, pad.w, pad.h);
            // Low in the case: the words stand over it.
            let y = pad.h - 3.6;
            flame(pad, pad.w / 2.0, y - 0.9);
            pad.line(&[(pad.w / 2.0 - 5.0, y), (pad.w / 2.0 + 5.0, y)]);
        }
        "heat-pump" => {
            pad.rect(0.0, 0.0, pad.w, pad.h);
            let (x, y) = (pad.w / 2.0, pad.h / 2.0);
            pad.circle(x, y, 6.5);
            for (dx, dy) in [(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)] {
                let blade = |along: f64, across: f64| {
                    (x + dx * along - dy * across, y + dy * along + dx * across)
                };
                pad.closed_curve(
                    blade(0.8, 0.0),
                    &[
                        [blade(2.0, -2.4), blade(5.0, -2.0), blade(5.6, 0.2)],
                        [blade(4.0, 1.0), blade(2.4, 0.8), blade(0.8, 0.0)],
                    ],
                );
            }
            pad.dot(x, y, 0.9);
        }
        "collector" => {
            let (w, h) = (pad.w, pad.h);
            pad.outline(&[(3.0, 0.0), (w, 0.0), (w, h), (0.0, h)]);
            let left = |y: f64| 3.0 - 3.0 * y / h;
            let mut line = vec![(w, 3.75), (left(3.75) + 2.0, 3.75)];
            line.extend([(left(6.2) + 2.0, 6.2), (w - 3.0, 6.2), (w - 3.0, 8.8)]);
            line.extend([(left(8.8) + 2.0, 8.8), (left(11.25) + 2.0, 11.25), (w, 11.25)]);
            pad.line(&line);
        }
        "match-mark" => {
            // A flag that points the way of the water.
            pad.outline(&[(0.0, 0.0), (5.0, 0.0), (7.5, 2.5), (5.0, 5.0), (0.0, 5.0)]);
        }
        "dwelling" => {
            pad.rect(0.0, 0.0, pad.w, pad.h);
        }
        "control" => {
            let (x, y) = (pad.w / 2.0, pad.h / 2.0);
            pad.circle(x, y, pad.w.min(pad.h) / 2.0);
        }
        "pump" => {
            pad.circle(5.0, 5.0, 5.0);
            pad.solid(&[(9.6, 5.0), (2.6, 1.2), (2.6, 8.8)]);
        }
        "tank" => {
            let (w, h) = (pad.w, pad.h);
            pad.rect(0.0, 0.0, w, h);
            pad.thin(&[(0.8, 5.4), (w - 0.8, 5.4)]);
            pad.line(&[(0.0, 2.5), (4.0, 2.5), (8.0, 4.6)]);
            pad.circle(9.4, 5.2, 1.6);
        }
        "header-low-loss" => {
            round_ended(pad, 0.0, pad.w, 0.0, pad.h, pad.w / 2.0);
            pad.thin(&[(pad.w / 2.0, 9.0), (pad.w / 2.0, pad.h - 9.0)]);
            pad.solid(&[
                (pad.w / 2.0, pad.h / 2.0 + 2.0),
                (pad.w / 2.0 - 1.0, pad.h / 2.0 - 1.0),
                (pad.w / 2.0 + 1.0, pad.h / 2.0 - 1.0),
            ]);
        }
        "buffer" => {
            round_ended(pad, 0.0, pad.w, 0.0, pad.h, 4.0);
            let mid = pad.h / 2.0;
            pad.dashed(&[(1.2, mid - 2.0), (pad.w - 1.2, mid - 2.0)]);
            pad.dashed(&[(1.2, mid + 2.0), (pad.w - 1.2, mid + 2.0)]);
        }
        _ => return false,
    }
    true
}

/// An upright body with rounded ends of this rise.
fn round_ended(pad: &mut Pad, x: f64, w: f64, y: f64, h: f64, rise: f64) {
    let (l, r, m) = (x, x + w, x + w / 2.0);
    let (kx, ky) = (0.5523 * w / 2.0, 0.5523 * rise);
    let (t, b) = (y + rise, y + h - rise);
    let straight = |from: (f64, f64), to: (f64, f64)| [from, to, to];
    pad.closed_curve(
        (l, t),
        &[
            [(l, t - ky), (m - kx, y), (m, y)],
            [(m + kx, y), (r, t - ky), (r, t)],
            straight((r, t), (r, b)),
            [(r, b + ky), (m + kx, y + h), (m, y + h)],
            [(m - kx, y + h), (l, b + ky), (l, b)],
            straight((l, b), (l, t)),
        ],
    );
}

fn cylinder(kind: Kind, pad: &mut Pad) {
    let (w, h) = (pad.w, pad.h);
    round_ended(pad, 0.0, w, 0.0, h, 5.0);
    for (flow, back) in [("flow", "return"), ("solar flow", "solar return")] {
        let at = |name: &str| kind.ports.iter().find(|p| p.name == name && p.side == 'W');
        if let (Some(f), Some(r)) = (at(flow), at(back)) {
            coil(pad, f.off, r.off, w);
        }
    }
    if let Some(p) = kind.ports.iter().find(|p| p.name == "relief" && p.side == 'E') {
        // The feeler of the relief valve.
        pad.dashed(&[(w, p.off), (w - 4.5, p.off)]);
        pad.dot(w - 5.0, p.off, 0.8);
    }
}

/// A zigzag between two ports on the left.
fn coil(pad: &mut Pad, top: f64, bottom: f64, w: f64) {
    let legs = (((bottom - top) / 4.0).round() as usize).max(2) * 2;
    let (near, far) = (3.2, w * 0.62);
    let pitch = (bottom - top) / legs as f64;
    let mut line = vec![(0.0, top), (near, top)];
    for i in 0..legs {
        let x = if i % 2 == 0 { far } else { near };
        line.push((x, top + pitch * (i + 1) as f64));
    }
    line.push((0.0, bottom));
    pad.line(&line);
}

fn vessel(kind: Kind, pad: &mut Pad) {
    let (cx, r) = (pad.w / 2.0, pad.w / 2.0);
    pad.line(&[(cx, 2.0 * r), (cx, pad.h)]);
    pad.circle(cx, r, r);
    pad.curve(
        (0.2, r),
        &[
            [(r * 0.35, r + 2.4), (r * 0.75, r + 2.4), (cx, r)],
            [(cx + r * 0.25, r - 2.4), (cx + r * 0.65, r - 2.4), (pad.w - 0.2, r)],
        ],
    );
    // The water side tells whose vessel it is.
    let letter = match kind.key.as_str() {
        "heating vessel" => "H",
        "solar vessel" => "S",
        "accumulator" => "A",
        _ => "HW",
    };
    pad.letters(cx, r + 3.6, letter, 2.5);
}

fn flame(pad: &mut Pad, x: f64, y: f64) {
    pad.closed_curve(
        (x, y),
        &[
            [(x - 4.6, y - 0.2), (x - 4.2, y - 4.6), (x - 1.4, y - 6.6)],
            [(x - 1.6, y - 5.0), (x - 0.8, y - 4.8), (x - 0.4, y - 5.6)],
            [(x + 0.4, y - 7.0), (x - 0.2, y - 8.2), (x - 0.6, y - 9.4)],
            [(x + 3.2, y - 8.0), (x + 5.4, y - 1.2), (x, y)],
        ],
    );
    pad.curve((x - 0.2, y - 0.6), &[[(x - 2.0, y - 2.0), (x - 0.6, y - 3.0), (x + 0.4, y - 4.4)]]);
}
