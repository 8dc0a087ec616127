//! Joints, branch fittings, instruments, air and drain, treatment of the water. Shapes after
//! ISO 14617 and BS 1553-1 (from memory); sizes common practice.

use super::pad::Pad;

pub fn draw(name: &str, pad: &mut Pad) -> bool {
    match name {
        // The lines that meet are drawn by the schematic in their own pens.
        "tee" => pad.dot(1.25, 1.25, 0.8),
        "cap" => {
            pad.line(&[(0.0, 2.5), (1.4, 2.5)]);
            pad.solid(&[(1.4, 0.3), (2.2, 0.3), (2.2, 4.7), (1.4, 4.7)]);
        }
        "gauge" => {
            pad.line(&[(3.75, 7.5), (3.75, 10.0)]);
            pad.circle(3.75, 3.75, 3.75);
            pad.line(&[(3.75, 4.6), (6.0, 1.6)]);
            pad.dot(3.75, 4.6, 0.6);
            pad.thin(&[(1.2, 5.2), (2.0, 4.9)]);
            pad.thin(&[(1.6, 1.7), (2.2, 2.3)]);
            pad.thin(&[(6.3, 5.2), (5.5, 4.9)]);
        }
        "meter" => {
            pad.circle(5.0, 5.0, 5.0);
            pad.line(&[(1.5, 8.5), (8.5, 1.5)]);
            pad.letters(3.1, 3.6, "M", 2.5);
        }
        "air-separator" => {
            pad.rect(0.0, 3.75, 7.5, 8.75);
            pad.dashed(&[(1.2, 5.4), (6.3, 5.4)]);
            pad.dot(2.2, 9.6, 0.45);
            pad.dot(3.9, 8.2, 0.45);
            pad.dot(5.2, 9.9, 0.45);
            pad.line(&[(3.75, 3.75), (3.75, 2.9)]);
            pad.circle(3.75, 1.45, 1.45);
        }
        "air-vent" => {
            pad.line(&[(2.5, 7.5), (2.5, 5.4)]);
            pad.circle(2.5, 3.9, 1.5);
            pad.line(&[(2.5, 2.4), (2.5, 0.9)]);
            pad.solid(&[(2.5, 0.1), (1.7, 1.6), (3.3, 1.6)]);
        }
        "drain-cock" => {
            pad.outline(&[(2.5, 2.5), (0.3, 0.0), (4.7, 0.0)]);
            pad.outline(&[(2.5, 2.5), (0.3, 5.0), (4.7, 5.0)]);
            pad.line(&[(2.5, 5.0), (2.5, 7.3)]);
            pad.line(&[(1.3, 7.3), (3.7, 7.3)]);
        }
        "filter-magnetic" => {
            pad.line(&[(0.0, 2.5), (1.25, 2.5)]);
            pad.line(&[(8.75, 2.5), (10.0, 2.5)]);
            pad.rect(1.25, 0.0, 7.5, 7.5);
            pad.dashed(&[(1.6, 1.5), (8.4, 1.5)]);
            pad.line(&[(3.0, 3.3), (3.0, 5.0)]);
            pad.line(&[(7.0, 3.3), (7.0, 5.0)]);
            pad.curve((3.0, 5.0), &[[(3.0, 7.3), (7.0, 7.3), (7.0, 5.0)]]);
            pad.solid(&[(2.6, 3.2), (3.4, 3.2), (3.4, 3.9), (2.6, 3.9)]);
            pad.solid(&[(6.6, 3.2), (7.4, 3.2), (7.4, 3.9), (6.6, 3.9)]);
        }
        "softener" => {
            pad.rect(0.0, 0.0, 15.0, 15.0);
            pad.line(&[(0.0, 3.0), (15.0, 3.0)]);
            for (row, y) in [6.2, 8.6, 11.0, 13.2].into_iter().enumerate() {
                let shift = if row % 2 == 0 { 0.0 } else { 1.1 };
                for i in 0..5 {
                    let x = 2.4 + shift + 2.4 * f64::from(i);
                    if x < 13.6 {
                        pad.circle(x, y, 0.75);
                    }
                }
            }
        }
        "scale-reducer" => {
            pad.rect(0.0, 0.0, 10.0, 5.0);
            pad.line(&[(2.0, 1.0), (3.2, 4.0), (4.4, 1.0), (5.6, 4.0), (6.8, 1.0), (8.0, 4.0)]);
        }
        "unit" => pad.rect(0.0, 0.0, pad.w, pad.h),
        _ => return false,
    }
    true
}
