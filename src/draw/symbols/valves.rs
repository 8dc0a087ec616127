//! Valves and fittings that sit in a line. Shapes after ISO 14617 and BS 1553-1 (from memory);
//! sizes common practice: module 2.5 mm, bow tie 3M long and 2M wide.

use super::pad::Pad;

pub fn draw(name: &str, pad: &mut Pad) -> bool {
    match name {
        "valve-stop" => {
            pad.bow_tie(3.75, 2.5, 3.75);
            pad.dot(3.75, 2.5, 1.0);
        }
        "valve-lever" => {
            lever(pad);
        }
        "valve-lockable" => {
            pad.bow_tie(3.75, 5.0, 3.75);
            pad.line(&[(3.75, 5.0), (3.75, 2.5)]);
            pad.rect(2.25, 0.0, 3.0, 2.5);
            pad.line(&[(2.25, 0.0), (5.25, 2.5)]);
            pad.line(&[(2.25, 2.5), (5.25, 0.0)]);
        }
        "valve-slot" => {
            pad.bow_tie(3.75, 2.5, 3.75);
            pad.line(&[(3.75, 0.6), (3.75, 4.4)]);
        }
        "valve-balancing" => {
            pad.bow_tie(3.75, 5.0, 3.75);
            pad.line(&[(3.75, 5.0), (3.75, 2.2), (2.2, 2.2), (5.3, 2.2)]);
            for x in [1.0, 6.5] {
                pad.line(&[(x, 3.2), (x, 1.2)]);
                pad.line(&[(x - 0.7, 1.2), (x + 0.7, 1.2)]);
            }
        }
        "valve-motor" => {
            pad.bow_tie(3.75, 10.0, 3.75);
            pad.line(&[(3.75, 10.0), (3.75, 5.0)]);
            motor(pad, 3.75, 2.5);
            // The spring that shuts it without power.
            pad.thin(&[
                (3.75, 6.0),
                (5.0, 6.0),
                (5.6, 5.3),
                (5.6, 6.9),
                (6.3, 5.3),
                (6.3, 6.9),
                (7.0, 5.3),
                (7.0, 6.9),
            ]);
        }
        "valve-check" => check(pad, 3.75, 2.5),
        "valve-double-check" => {
            pad.line(&[(5.0, 2.5), (7.5, 2.5)]);
            check_sized(pad, 2.5, 2.5, 2.5);
            check_sized(pad, 10.0, 2.5, 2.5);
            // The test point between the two.
            pad.line(&[(6.25, 2.5), (6.25, 0.9)]);
            pad.line(&[(5.5, 0.9), (7.0, 0.9)]);
        }
        "strainer" => {
            pad.rect(0.0, 0.0, 7.5, 5.0);
            pad.dashed(&[(0.4, 0.4), (7.1, 4.6)]);
            pad.outline(&[(3.0, 5.0), (5.5, 5.0), (6.6, 7.5), (4.1, 7.5)]);
        }
        "valve-reducing" => {
            pad.bow_tie(3.75, 7.5, 3.75);
            pad.line(&[(3.75, 7.5), (3.75, 4.0)]);
            pad.dome(3.75, 4.0, 1.9);
            pad.line(&[(3.75, 2.1), (3.75, 1.6)]);
            pad.line(&[(2.4, 1.6), (5.1, 1.2), (2.4, 0.7), (5.1, 0.2)]);
            pad.dashed(&[(5.65, 3.4), (6.9, 3.4), (6.9, 5.1)]);
        }
        "valve-bypass" => {
            pad.bow_tie(3.75, 7.5, 3.75);
            pad.spring(3.75, 7.5, 0.6);
            pad.line(&[(2.6, 0.4), (4.9, 0.4)]);
            pad.dashed(&[(0.5, 5.2), (0.5, 3.0), (7.0, 3.0), (7.0, 5.2)]);
        }
        "valve-three-port" => {
            pad.outline(&[(5.0, 10.0), (1.25, 7.5), (1.25, 12.5)]);
            pad.line(&[(0.0, 10.0), (1.25, 10.0)]);
            pad.outline(&[(5.0, 10.0), (8.75, 7.5), (8.75, 12.5)]);
            pad.line(&[(8.75, 10.0), (10.0, 10.0)]);
            pad.outline(&[(5.0, 10.0), (2.5, 13.75), (7.5, 13.75)]);
            pad.line(&[(5.0, 13.75), (5.0, 15.0)]);
            pad.line(&[(5.0, 10.0), (5.0, 5.0)]);
            motor(pad, 5.0, 2.5);
        }
        "valve-blending" => {
            pad.outline(&[(5.0, 7.5), (1.25, 5.0), (1.25, 10.0)]);
            pad.line(&[(0.0, 7.5), (1.25, 7.5)]);
            pad.outline(&[(5.0, 7.5), (8.75, 5.0), (8.75, 10.0)]);
            pad.line(&[(8.75, 7.5), (10.0, 7.5)]);
            pad.outline(&[(5.0, 7.5), (2.5, 11.25), (7.5, 11.25)]);
            pad.line(&[(5.0, 11.25), (5.0, 12.5)]);
            pad.line(&[(5.0, 7.5), (5.0, 4.0)]);
            pad.rect(3.0, 0.0, 4.0, 4.0);
            pad.letters(5.0, 2.0, "T", 2.5);
        }
        "valve-relief" => {
            angle_relief(pad, 2.5);
        }
        "valve-relief-tp" => {
            angle_relief(pad, 5.0);
            // The feeler in the stored water.
            pad.dashed(&[(5.0, 2.2), (1.2, 2.2), (1.2, 8.6)]);
            pad.dot(1.2, 9.3, 0.9);
        }
        "filling-loop" => {
            pad.line(&[(12.4, 5.0), (13.1, 5.0)]);
            pad.line(&[(18.1, 5.0), (18.8, 5.0)]);
            small_lever(pad, 3.1);
            pad.curve(
                (6.2, 5.0),
                &[[(7.2, 1.6), (8.4, 1.6), (9.4, 5.0)], [(10.4, 8.4), (11.4, 8.4), (12.4, 5.0)]],
            );
            check_sized(pad, 15.6, 5.0, 2.5);
            small_lever(pad, 21.9);
        }
        "hose" => pad.curve(
            (0.0, 2.5),
            &[
                [(1.2, -0.8), (3.0, -0.8), (4.2, 2.5)],
                [(5.4, 5.8), (7.1, 5.8), (8.3, 2.5)],
                [(9.5, -0.8), (11.3, -0.8), (12.5, 2.5)],
            ],
        ),
        _ => return false,
    }
    true
}

fn lever(pad: &mut Pad) {
    pad.bow_tie(3.75, 5.0, 3.75);
    pad.circle(3.75, 5.0, 1.1);
    pad.line(&[(3.75, 3.9), (3.75, 1.6)]);
    pad.line(&[(1.6, 1.6), (5.9, 1.6)]);
}

fn small_lever(pad: &mut Pad, x: f64) {
    pad.bow_tie(x, 5.0, 3.1);
    pad.line(&[(x, 5.0), (x, 1.6)]);
    pad.line(&[(x - 1.6, 1.6), (x + 1.6, 1.6)]);
}

/// Flow from white to black.
fn check(pad: &mut Pad, x: f64, y: f64) {
    check_sized(pad, x, y, 3.75);
}

fn check_sized(pad: &mut Pad, x: f64, y: f64, half: f64) {
    pad.bow_tie(x, y, half);
    pad.solid(&[(x, y), (x + half, y - 2.5), (x + half, y + 2.5)]);
}

fn motor(pad: &mut Pad, x: f64, y: f64) {
    pad.circle(x, y, 2.5);
    pad.letters(x, y, "M", 2.5);
}

/// Angle body: inlet below, outlet to the right, spring over it.
fn angle_relief(pad: &mut Pad, x: f64) {
    pad.outline(&[(x, 7.5), (x - 2.5, 11.25), (x + 2.5, 11.25)]);
    pad.outline(&[(x, 7.5), (x + 3.75, 5.0), (x + 3.75, 10.0)]);
    pad.spring(x, 7.5, 0.6);
    pad.line(&[(x - 1.3, 0.3), (x + 1.3, 0.3)]);
}
