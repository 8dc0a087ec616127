//! The one typeface of every sheet. In: words and a letter height. Out: widths in mm, the same
//! that the renderers draw, so that a box reserved in layout is the box on paper.
//!
//! The letter height is the height of a capital, as drawing standards count it.

use std::sync::LazyLock;

use rustybuzz::{Face, UnicodeBuffer};

/// Regular and semi-bold of IBM Plex Sans Condensed, SIL Open Font License 1.1.
pub static REGULAR: &[u8] = include_bytes!("fonts/IBMPlexSansCondensed-Regular.ttf");
pub static BOLD: &[u8] = include_bytes!("fonts/IBMPlexSansCondensed-SemiBold.ttf");

/// The family's name, as the font tables and the SVG say it.
pub const FAMILY: &str = "IBM Plex Sans Condensed";

/// Capital height as a share of the em.
pub const CAP_HEIGHT: f64 = 0.698;
/// Depth below the baseline as a share of the em, for the letters that descend.
pub const DESCENT: f64 = 0.22;

#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Weight {
    #[default]
    Regular,
    Bold,
}

/// SVG font-size that gives capitals of this height, mm.
pub fn font_size(height: f64) -> f64 {
    height / CAP_HEIGHT
}

/// Advance of a line of text, mm, for capitals `height` mm high.
pub fn width(text: &str, height: f64, weight: Weight) -> f64 {
    static FACES: LazyLock<[Face<'static>; 2]> = LazyLock::new(|| {
        [REGULAR, BOLD].map(|data| Face::from_slice(data, 0).expect("the embedded face is whole"))
    });
    let face = &FACES[match weight {
        Weight::Regular => 0,
        Weight::Bold => 1,
    }];
    let mut buffer = UnicodeBuffer::new();
    buffer.push_str(text);
    let shaped = rustybuzz::shape(face, &[], buffer);
    let units: i64 = shaped.glyph_positions().iter().map(|g| i64::from(g.x_advance)).sum();
    units as f64 / f64::from(face.units_per_em()) * font_size(height)
}

/// True where the face has a glyph for every character.
pub fn covers(text: &str) -> bool {
    let face = Face::from_slice(REGULAR, 0).expect("the embedded face is whole");
    text.chars().all(|c| face.glyph_index(c).is_some())
}
