//! The safety discharge: the tundish with its gap, and the ways the pipe ends. Common practice.

use super::pad::Pad;

pub fn draw(name: &str, pad: &mut Pad) -> bool {
    match name {
        "tundish" => {
            // The end of the incoming pipe, the gap that must be seen, the funnel below it.
            pad.line(&[(3.75, 0.0), (3.75, 1.6)]);
            pad.line(&[(2.5, 1.6), (5.0, 1.6)]);
            pad.line(&[(0.3, 4.1), (3.1, 8.4), (3.1, 12.5)]);
            pad.line(&[(7.2, 4.1), (4.4, 8.4), (4.4, 12.5)]);
            pad.dashed(&[(3.75, 2.2), (3.75, 7.6)]);
        }
        "gully" => {
            // Grating, trap with its water.
            pad.line(&[(5.0, 0.0), (5.0, 2.0)]);
            pad.line(&[(0.0, 2.6), (1.4, 2.6), (1.4, 9.6), (8.6, 9.6), (8.6, 2.6), (10.0, 2.6)]);
            pad.dashed(&[(1.4, 2.6), (8.6, 2.6)]);
            pad.thin(&[(1.4, 5.6), (8.6, 5.6)]);
            pad.thin(&[(2.6, 6.9), (7.4, 6.9)]);
            pad.thin(&[(3.8, 8.2), (6.2, 8.2)]);
        }
        "outlet-low" => {
            pad.line(&[(5.0, 0.0), (5.0, 5.4)]);
            pad.solid(&[(5.0, 7.0), (4.0, 5.0), (6.0, 5.0)]);
            ground(pad, 8.0);
        }
        "hopper" => {
            pad.line(&[(5.0, 0.0), (5.0, 1.6)]);
            pad.line(&[(0.6, 3.4), (2.0, 7.2), (4.0, 7.2), (4.0, 10.0)]);
            pad.line(&[(9.4, 3.4), (8.0, 7.2), (6.0, 7.2), (6.0, 10.0)]);
            pad.dashed(&[(5.0, 2.2), (5.0, 6.6)]);
        }
        "soil-stack" => {
            pad.line(&[(6.4, 0.0), (6.4, 12.5)]);
            pad.line(&[(9.6, 0.0), (9.6, 12.5)]);
            pad.line(&[(5.0, 0.0), (5.0, 3.4), (6.4, 5.4)]);
            pad.thin(&[(8.0, 2.0), (8.0, 10.0)]);
            pad.solid(&[(8.0, 11.4), (7.3, 9.6), (8.7, 9.6)]);
        }
        _ => return false,
    }
    true
}

fn ground(pad: &mut Pad, y: f64) {
    pad.line(&[(0.0, y), (10.0, y)]);
    for i in 0..5 {
        let x = 1.8 + 2.0 * f64::from(i);
        pad.thin(&[(x, y), (x - 1.4, y + 1.6)]);
    }
}
