//! What takes the heat: radiators, floors, the set that blends for a floor. Common practice.

use super::pad::Pad;

pub fn draw(name: &str, pad: &mut Pad) -> bool {
    match name {
        "radiators" => {
            pad.rect(0.0, 0.0, pad.w, pad.h);
            pad.thin(&[(0.0, 1.6), (pad.w, 1.6)]);
            pad.thin(&[(0.0, pad.h - 1.6), (pad.w, pad.h - 1.6)]);
            for i in 1..8 {
                let x = pad.w / 8.0 * f64::from(i);
                pad.thin(&[(x, 1.6), (x, pad.h - 1.6)]);
            }
        }
        "underfloor" => {
            // Two manifold bars, and the pipe that winds through the floor.
            pad.line(&[(0.0, 2.5), (3.0, 2.5)]);
            pad.line(&[(0.0, 10.0), (3.0, 10.0)]);
            pad.rect(3.0, 0.0, 1.8, 5.0);
            pad.rect(3.0, 7.5, 1.8, 5.0);
            pad.rect(6.2, 0.0, 16.3, 12.5);
            let line = [
                (4.8, 2.5),
                (20.6, 2.5),
                (20.6, 5.0),
                (8.2, 5.0),
                (8.2, 7.5),
                (20.6, 7.5),
                (20.6, 10.0),
                (4.8, 10.0),
            ];
            pad.line(&line);
        }
        "blending-set" => {
            let (w, h) = (pad.w, pad.h);
            pad.rect(0.0, 0.0, w, h);
            pad.thin(&[(5.0, 0.0), (5.0, 2.5), (w, 2.5)]);
            pad.thin(&[(5.0, h), (5.0, 10.0), (w, 10.0)]);
            // The valve, the pump, and the water that goes round again.
            pad.thin(&[(8.2, 10.0), (8.2, 2.5)]);
            pad.solid(&[(8.2, 5.0), (7.5, 6.8), (8.9, 6.8)]);
            pad.outline(&[(5.0, 5.2), (3.6, 3.4), (6.4, 3.4)]);
            pad.outline(&[(5.0, 5.2), (3.6, 7.0), (6.4, 7.0)]);
            pad.thin(&[(5.0, 7.0), (5.0, 10.0)]);
            pad.circle(13.0, 2.5, 2.0);
            pad.solid(&[(14.8, 2.5), (12.1, 1.1), (12.1, 3.9)]);
        }
        _ => return false,
    }
    true
}
