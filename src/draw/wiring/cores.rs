//! How a core looks: its own colour inside a black outline, its letters beside it (IEC 60757), so
//! that a black-and-white print keeps the meaning. In: a conductor and its way. Out: marks on a page.

use super::page::Page;
use crate::draw::scene::{Ink, Stroke};
use crate::model::P2;
use crate::wire::netlist::{Colour, Conductor, Core};

/// "BN", or "BK/BN" for black sleeved brown.
pub fn code(core: Core) -> String {
    match core.sleeve {
        Some(s) => format!("{}/{}", core.colour.code(), s.code()),
        None => core.colour.code().to_owned(),
    }
}

fn paint(colour: Colour) -> Option<(&'static str, f64)> {
    match colour {
        Colour::BN => Some(("8a4a1c", 0.55)),
        Colour::BU => Some(("2f6fd0", 0.55)),
        Colour::GNYE => Some(("2e9b45", 0.55)),
        Colour::GY => Some(("a8a8a8", 0.55)),
        Colour::OG => Some(("f08a1d", 0.55)),
        Colour::WH => Some(("ffffff", 0.55)),
        Colour::RD => Some(("d03030", 0.55)),
        Colour::BK => None,
    }
}

/// A core in its own colour inside a black outline.
pub fn core(page: &mut Page, c: &Conductor, points: &[P2]) {
    let of = if c.cable.is_empty() { "link" } else { &c.cable };
    let title = format!("{of}, {}: {} to {}, {}", c.core.words(), c.from, c.to, c.function);
    page.wire(of, &title, points, Stroke::solid(0.9, Ink::BLACK));
    if let Some((ink, wide)) = paint(c.core.colour) {
        page.wire(of, &title, points, Stroke::solid(wide, Ink(ink)));
    }
    if c.core.colour == Colour::GNYE {
        let yellow = Stroke::dashed(0.55, &[1.2, 1.2], Ink("ffe14d"));
        page.wire(of, &title, points, yellow);
    }
}
