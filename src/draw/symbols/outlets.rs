//! What the water is for: taps and appliances, as small pictures; and where it comes from. One
//! name in the catalogue, one picture for each kind. Common practice.

use super::pad::Pad;
use crate::catalogue::Kind;
use crate::layout::schematic::Edge;

pub fn draw(name: &str, kind: Kind, pad: &mut Pad) -> bool {
    match name {
        "main" => {
            // The pipe in the ground, and the arrow that comes out of it.
            pad.circle(3.75, 5.0, 3.75);
            pad.line(&[(1.1, 2.4), (6.4, 7.6)]);
            pad.line(&[(1.1, 7.6), (6.4, 2.4)]);
            pad.line(&[(7.5, 5.0), (10.0, 5.0)]);
        }
        "outlet" => outlet(kind, pad),
        _ => return false,
    }
    true
}

fn outlet(kind: Kind, pad: &mut Pad) {
    // Stubs, so that the picture may be smaller than its box.
    let pose = pad.pose();
    pad.upright();
    for p in &kind.ports {
        match pose.edge(Edge::of(p.side)) {
            Edge::N => pad.line(&[(p.off, 0.0), (p.off, 1.5)]),
            Edge::S => pad.line(&[(p.off, pad.h), (p.off, pad.h - 1.5)]),
            Edge::W => pad.line(&[(0.0, p.off), (1.5, p.off)]),
            Edge::E => pad.line(&[(pad.w, p.off), (pad.w - 1.5, p.off)]),
        }
    }
    match kind.key.as_str() {
        "bath" => {
            pad.closed_curve(
                (0.3, 3.2),
                &[
                    [(0.6, 7.6), (1.4, 8.5), (3.0, 8.5)],
                    [(4.0, 8.5), (6.0, 8.5), (7.2, 8.5)],
                    [(8.8, 8.5), (9.5, 7.6), (9.7, 3.2)],
                ],
            );
            pad.line(&[(0.0, 3.2), (10.0, 3.2)]);
            pad.line(&[(5.0, 1.5), (5.0, 3.2)]);
        }
        "shower" => {
            pad.line(&[(5.0, 1.5), (5.0, 2.6)]);
            pad.outline(&[(2.4, 4.4), (3.6, 2.4), (6.4, 2.4), (7.6, 4.4)]);
            for (i, x) in [3.0, 4.3, 5.7, 7.0].into_iter().enumerate() {
                let lean = (i as f64 - 1.5) * 0.35;
                pad.thin(&[(x, 5.2), (x + lean * 0.5, 6.4)]);
                pad.thin(&[(x + lean, 7.0), (x + lean * 1.4, 8.2)]);
            }
        }
        "basin" => {
            pad.closed_curve(
                (0.6, 3.4),
                &[[(0.8, 7.2), (3.0, 8.5), (5.0, 8.5)], [(7.0, 8.5), (9.2, 7.2), (9.4, 3.4)]],
            );
            pad.line(&[(5.0, 1.5), (5.0, 4.6)]);
            pad.dot(5.0, 6.6, 0.55);
        }
        "bidet" => {
            pad.closed_curve(
                (2.0, 2.4),
                &[[(0.6, 6.0), (2.6, 8.5), (5.0, 8.5)], [(7.4, 8.5), (9.4, 6.0), (8.0, 2.4)]],
            );
            pad.dot(5.0, 5.6, 0.55);
        }
        "kitchen sink" => {
            pad.rect(0.2, 2.2, 9.6, 6.3);
            pad.rect(1.1, 3.1, 4.4, 4.5);
            for i in 0..4 {
                let y = 3.6 + 1.2 * f64::from(i);
                pad.thin(&[(6.5, y), (9.0, y)]);
            }
            pad.dot(3.3, 5.3, 0.55);
        }
        "WC" => {
            pad.rect(1.6, 1.2, 6.8, 2.0);
            pad.closed_curve(
                (2.6, 3.2),
                &[[(1.2, 6.4), (3.0, 8.5), (5.0, 8.5)], [(7.0, 8.5), (8.8, 6.4), (7.4, 3.2)]],
            );
        }
        "washing machine" => {
            pad.rect(1.0, 0.8, 8.0, 7.7);
            pad.line(&[(1.0, 2.4), (9.0, 2.4)]);
            pad.circle(5.0, 5.4, 2.3);
        }
        "dishwasher" => {
            pad.rect(1.0, 0.8, 8.0, 7.7);
            pad.line(&[(1.0, 2.4), (9.0, 2.4)]);
            for i in 0..4 {
                let x = 2.6 + 1.6 * f64::from(i);
                pad.thin(&[(x, 6.8), (x, 4.2)]);
            }
            pad.thin(&[(2.0, 6.8), (8.0, 6.8)]);
        }
        // A tap, seen from the side; the drop says which way.
        _ => {
            let side = kind.ports.first().map_or(Edge::S, |p| pose.edge(Edge::of(p.side)));
            let (base, y) = if side == Edge::N { (1.5, 3.6) } else { (8.5, 4.6) };
            pad.line(&[(5.0, base), (5.0, y)]);
            pad.line(&[(1.6, y), (6.8, y)]);
            pad.curve((6.8, y), &[[(8.4, y), (8.8, y + 0.6), (8.8, y + 2.0)]]);
            pad.line(&[(3.4, y), (3.4, y - 1.8)]);
            pad.line(&[(2.0, y - 1.8), (4.8, y - 1.8)]);
            pad.dot(8.8, y + 3.2, 0.5);
        }
    }
}
