//! Symbols of circuit diagrams after IEC 60617, drawn lying in a horizontal conductor: contacts,
//! what works them, motors, pumps, elements, fuses. In: a centre on the line. Out: items in mm,
//! the module being 2.5 mm. Figures of the standard are from memory, sizes are the project's own.

use crate::draw::scene::{Anchor, Ink, Item, Shape, Stroke, Words};
use crate::draw::style::width;
use crate::model::{P2, Rect};

/// Half the length of a contact's gap.
pub const HALF: f64 = 3.0;
/// Height of what works a contact, above the line.
pub const ACTUATOR: f64 = 7.2;
pub const MOTOR: f64 = 4.0;

/// A symbol that a legend explains.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Used {
    Contact(Worked),
    Load(Drawn),
    Fuse,
    Breaker,
    Terminal,
}

/// What works a contact.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Worked {
    Timer,
    Thermostat,
    CutOut,
    Position,
    Relay,
    Hand,
}

/// What a load is drawn as.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Drawn {
    ValveMotor,
    Pump,
    Element,
    Coil,
    /// A box for electronics and calls.
    Box,
}

fn pen() -> Stroke {
    Stroke::solid(width::SYMBOL, Ink::BLACK)
}

fn thin() -> Stroke {
    Stroke::solid(width::THIN, Ink::BLACK)
}

pub fn line(points: &[(f64, f64)]) -> Item {
    stroke(points, pen())
}

pub fn stroke(points: &[(f64, f64)], s: Stroke) -> Item {
    let points: Vec<P2> = points.iter().map(|p| P2::new(p.0, p.1)).collect();
    Shape::line(&points, s).into()
}

pub fn dashed(points: &[(f64, f64)]) -> Item {
    stroke(points, Stroke::dashed(width::THIN, &[1.2, 0.8], Ink::BLACK))
}

/// A contact with its centre at (x, y): make, or break where it opens when worked.
pub fn contact(x: f64, y: f64, breaks: bool, by: Worked) -> Vec<Item> {
    let (l, r) = (x - HALF, x + HALF);
    let mut items = Vec::new();
    // Where the blade is at its middle: the link meets it there.
    let mid = if breaks {
        items.push(line(&[(r, y), (r, y - 2.6)]));
        items.push(line(&[(l, y), (r + 1.2, y - 2.6 * (2.0 * HALF + 1.2) / (2.0 * HALF))]));
        y - 1.3
    } else {
        items.push(line(&[(l, y), (l + 5.6, y - 3.2)]));
        y - 3.2 * HALF / 5.6
    };
    let top = y - ACTUATOR;
    match by {
        Worked::Thermostat | Worked::CutOut => {
            let side = 4.0;
            items.push(dashed(&[(x, mid), (x, top + side)]));
            let r = Rect::new(x - side / 2.0, top, side, side);
            items.push(Shape::rect(r, Some(thin()), None).into());
            let shift = if by == Worked::CutOut { -0.8 } else { 0.0 };
            theta(&mut items, x + shift, top + side / 2.0);
            if by == Worked::CutOut {
                // Greater than; and the notch that must be reset by hand.
                let (gx, gy) = (x + 0.9, top + side / 2.0);
                items.push(stroke(
                    &[(gx - 0.4, gy - 0.9), (gx + 0.6, gy), (gx - 0.4, gy + 0.9)],
                    thin(),
                ));
                let ny = (mid + top + side) / 2.0;
                items.push(stroke(&[(x, ny - 0.8), (x + 1.1, ny), (x, ny + 0.8)], thin()));
            }
        }
        Worked::Timer => {
            let c = P2::new(x, top + 2.1);
            items.push(dashed(&[(x, mid), (x, top + 4.2)]));
            items.push(Shape::circle(c, 2.1, Some(thin()), None).into());
            items.push(stroke(&[(x, c.y - 1.6), (x, c.y), (x + 1.2, c.y)], thin()));
        }
        Worked::Position => {
            items.push(dashed(&[(x, mid), (x, top + 4.0)]));
            let c = P2::new(x, top + 2.0);
            items.push(Shape::circle(c, 2.0, Some(thin()), None).into());
            items.push(letters(x, c.y + 1.25, "M"));
        }
        Worked::Relay => {
            items.push(dashed(&[(x, mid), (x, top + 3.4)]));
            let r = Rect::new(x - 3.0, top + 0.4, 6.0, 3.0);
            items.push(Shape::rect(r, Some(thin()), None).into());
        }
        Worked::Hand => {
            items.push(dashed(&[(x, mid), (x, top + 2.0)]));
            items.push(stroke(&[(x - 1.5, top + 2.0), (x + 1.5, top + 2.0)], pen()));
        }
    }
    items
}

/// The letter theta: a temperature.
fn theta(items: &mut Vec<Item>, x: f64, y: f64) {
    use crate::draw::scene::Seg;
    let (rx, ry) = (0.75, 1.25);
    let k = 0.5523;
    let at = |dx: f64, dy: f64| P2::new(x + dx, y + dy);
    let path = vec![
        Seg::Move(at(-rx, 0.0)),
        Seg::Cubic(at(-rx, -ry * k), at(-rx * k, -ry), at(0.0, -ry)),
        Seg::Cubic(at(rx * k, -ry), at(rx, -ry * k), at(rx, 0.0)),
        Seg::Cubic(at(rx, ry * k), at(rx * k, ry), at(0.0, ry)),
        Seg::Cubic(at(-rx * k, ry), at(-rx, ry * k), at(-rx, 0.0)),
        Seg::Close,
    ];
    items.push(Shape { path, stroke: Some(thin()), ..Shape::default() }.into());
    items.push(stroke(&[(x - rx, y), (x + rx, y)], thin()));
}

fn letters(x: f64, y: f64, text: &str) -> Item {
    Words::new(P2::new(x, y), text, 2.5).anchor(Anchor::Middle).into()
}

/// A load with its centre at (x, y); gives its half width too.
pub fn load(x: f64, y: f64, drawn: Drawn, inside: &str) -> (Vec<Item>, f64) {
    let mut items = Vec::new();
    match drawn {
        Drawn::ValveMotor | Drawn::Pump => {
            let c = P2::new(x, y);
            items.push(Shape::circle(c, MOTOR, Some(pen()), None).into());
            items.push(letters(x, y - 0.1, "M"));
            items.push(letters(x, y + 3.0, "1~"));
            (items, MOTOR)
        }
        Drawn::Element => {
            let (w, h) = (5.0, 1.9);
            let r = Rect::new(x - w, y - h, 2.0 * w, 2.0 * h);
            items.push(Shape::rect(r, Some(pen()), None).into());
            for i in 1..4 {
                let bar = x - w + f64::from(i) * w / 2.0;
                items.push(line(&[(bar, y - h), (bar, y + h)]));
            }
            (items, w)
        }
        Drawn::Coil => {
            let r = Rect::new(x - 3.75, y - 2.5, 7.5, 5.0);
            items.push(Shape::rect(r, Some(pen()), None).into());
            (items, 3.75)
        }
        Drawn::Box => {
            let r = Rect::new(x - 5.0, y - 3.75, 10.0, 7.5);
            items.push(Shape::rect(r, Some(pen()), None).into());
            items.push(letters(x, y + 1.25, inside));
            (items, 5.0)
        }
    }
}

/// A fuse in a horizontal line.
pub fn fuse(x: f64, y: f64) -> Vec<Item> {
    let r = Rect::new(x - 3.75, y - 1.25, 7.5, 2.5);
    vec![Shape::rect(r, Some(pen()), None).into(), line(&[(x - 3.75, y), (x + 3.75, y)])]
}

/// A circuit-breaker in an upright line with its middle at (x, y): a make contact with the cross
/// of a breaker on its fixed side, which stands above.
pub fn breaker(x: f64, y: f64) -> Vec<Item> {
    let (top, foot) = (y - HALF, y + HALF);
    let cross = 0.9;
    vec![
        line(&[(x, foot), (x - 3.2, top + 0.4)]),
        line(&[(x - cross, top - cross), (x + cross, top + cross)]),
        line(&[(x - cross, top + cross), (x + cross, top - cross)]),
    ]
}

/// A terminal: an open circle on its conductor.
pub fn terminal(x: f64, y: f64) -> Item {
    Shape::circle(P2::new(x, y), 0.9, Some(pen()), Some(Ink::WHITE)).into()
}

/// A junction.
pub fn dot(x: f64, y: f64) -> Item {
    Shape::circle(P2::new(x, y), 0.6, None, Some(Ink::BLACK)).into()
}
