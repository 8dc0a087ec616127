//! The one typeface of every sheet. In: words and a letter height. Out: widths in mm, the same
//! that the renderers draw, so that a box reserved in layout is the box on paper.
//!
//! The letter height is the height of a capital, as drawing standards count it.

use std::borrow::Cow;
use std::sync::LazyLock;

use rustybuzz::{Direction, Face, Script, ShapePlan, UnicodeBuffer, script};

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

/// A face with its plans for what nearly every line is: Latin letters, or figures alone. Making a
/// plan takes longer than setting a line.
struct Setting {
    face: Face<'static>,
    plans: Vec<(Option<Script>, ShapePlan)>,
}

impl Setting {
    fn new(data: &'static [u8]) -> Setting {
        let face = Face::from_slice(data, 0).expect("the embedded face is whole");
        let plan =
            |s: Option<Script>| (s, ShapePlan::new(&face, Direction::LeftToRight, s, None, &[]));
        let plans = [Some(script::LATIN), None].map(plan).into();
        Setting { face, plans }
    }

    /// Advance in the face's own units.
    fn advance(&self, text: &str) -> i64 {
        let mut buffer = UnicodeBuffer::new();
        buffer.push_str(text);
        buffer.guess_segment_properties();
        let script = Some(buffer.script()).filter(|s| *s != script::UNKNOWN);
        let plan = (buffer.direction() == Direction::LeftToRight)
            .then(|| self.plans.iter().find(|(s, _)| *s == script))
            .flatten();
        let shaped = match plan {
            Some((_, plan)) => rustybuzz::shape_with_plan(&self.face, plan, buffer),
            None => rustybuzz::shape(&self.face, &[], buffer),
        };
        shaped.glyph_positions().iter().map(|g| i64::from(g.x_advance)).sum()
    }
}

/// Advance of a line of text, mm, for capitals `height` mm high.
pub fn width(text: &str, height: f64, weight: Weight) -> f64 {
    static SETTINGS: LazyLock<[Setting; 2]> = LazyLock::new(|| [REGULAR, BOLD].map(Setting::new));
    let setting = &SETTINGS[match weight {
        Weight::Regular => 0,
        Weight::Bold => 1,
    }];
    let units = setting.advance(&printed(text));
    units as f64 / f64::from(setting.face.units_per_em()) * font_size(height)
}

/// Lines no wider than `room` mm, broken at spaces, a figure and its unit on one line where both
/// fit; a word that is wider stands alone.
pub fn wrap(text: &str, height: f64, weight: Weight, room: f64) -> Vec<String> {
    let fits = |text: &str| width(text, height, weight) <= room;
    let mut words: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        let joined = words
            .last()
            .filter(|figure| is_unit(word) && figure.ends_with(|c: char| c.is_numeric()))
            .map(|figure| format!("{figure} {word}"));
        match (joined.filter(|j| fits(j)), words.last_mut()) {
            (Some(joined), Some(last)) => *last = joined,
            _ => words.push(word.to_owned()),
        }
    }
    let mut lines: Vec<String> = Vec::new();
    for word in words {
        match lines.last_mut() {
            Some(line) if fits(&format!("{line} {word}")) => {
                line.push(' ');
                line.push_str(&word);
            }
            _ => lines.push(word),
        }
    }
    lines
}

/// A unit that means nothing without the figure before it.
fn is_unit(word: &str) -> bool {
    const UNITS: [&str; 34] = [
        "%", "A", "K", "Pa", "Pa/m", "V", "W", "bar", "days", "g", "h", "hours", "kN", "kPa", "kW",
        "kWh", "kg", "l", "l/kW", "l/min", "l/s", "litres", "m", "m/s", "mA", "min", "minutes",
        "mm", "mm²", "m²", "m³", "m³/h", "s", "°C",
    ];
    UNITS.contains(&word.trim_end_matches([',', ';', '.', ':', ')', '*', '?']))
}

/// The text, or as much of it as fits with an ellipsis, in `room` mm. Never smaller letters.
pub fn fitted(text: &str, height: f64, weight: Weight, room: f64) -> String {
    if width(text, height, weight) <= room {
        return text.to_owned();
    }
    let mut kept: Vec<char> = text.chars().collect();
    while kept.pop().is_some() {
        let cut: String = kept.iter().collect::<String>().trim_end().to_owned() + "…";
        if width(&cut, height, weight) <= room {
            return cut;
        }
    }
    String::new()
}

/// What is printed for a character that the face lacks.
pub const STAND_IN: char = '*';

/// True where both weights have a glyph for a character.
pub fn covers(c: char) -> bool {
    static FACES: LazyLock<[Face<'static>; 2]> = LazyLock::new(|| {
        [REGULAR, BOLD].map(|data| Face::from_slice(data, 0).expect("the embedded face is whole"))
    });
    (' '..='~').contains(&c) || FACES.iter().all(|face| face.glyph_index(c).is_some())
}

/// The text as it is printed: a stand-in for what would come out as an empty box, one for several
/// in a row (a picture may be made of many characters).
pub fn printed(text: &str) -> Cow<'_, str> {
    if text.chars().all(covers) {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len());
    let mut stands = false;
    for c in text.chars() {
        let kept = covers(c);
        if kept {
            out.push(c);
        } else if !stands {
            out.push(STAND_IN);
        }
        stands = !kept;
    }
    Cow::Owned(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// ISO 7200: a title longer than its field goes on in the supplementary title; letters never
    /// shrink below 2.5 mm.
    #[test]
    fn long_text_wraps_and_is_never_lost_by_wrapping() {
        let text = "Pipework schematic of the cylinder cupboard";
        let lines = wrap(text, 5.0, Weight::Bold, 60.0);
        assert!(lines.len() > 1);
        assert!(lines.iter().all(|l| width(l, 5.0, Weight::Bold) <= 60.0));
        assert_eq!(lines.join(" "), text);
    }

    /// ISO 80000-1: a unit follows its figure; parted, neither is read.
    #[test]
    fn a_unit_stays_with_its_figure_where_both_fit() {
        let room = |text| width(text, 2.5, Weight::Regular) + 0.1;
        let set = |text, room| wrap(text, 2.5, Weight::Regular, room);
        let text = "reducing valve setting: 3 bar, lever shut";
        let lines = set(text, room("reducing valve setting: 3"));
        assert_eq!(lines, ["reducing valve setting:", "3 bar, lever shut"]);
        assert_eq!(set("at 22 mm", room("mm")), ["at", "22", "mm"]);
        assert_eq!(set("zone A bar", room("zone A")), ["zone A", "bar"], "no figure before it");
    }

    /// Every character that the program itself prints must be in the face.
    #[test]
    fn the_face_has_what_drawings_print() {
        assert!("°→←↑↓≤≥∆µ½¼¾²³·×–—“”‘’″′Ø±≈…•✓£€".chars().all(covers));
    }

    #[test]
    fn what_the_face_lacks_is_printed_as_one_stand_in() {
        assert_eq!(printed("Dove Cottage"), "Dove Cottage");
        assert_eq!(printed("Dove \u{1f3e0}\u{fe0f} Cottage"), "Dove * Cottage");
        assert_eq!(width("\u{1f3e0}", 3.5, Weight::Regular), width("*", 3.5, Weight::Regular));
    }

    /// Kerning counts: the shaped width is not the sum of the advances.
    #[test]
    fn widths_are_shaped() {
        let apart: f64 =
            "AVATAR To".chars().map(|c| width(&c.to_string(), 3.5, Weight::Regular)).sum();
        assert!(width("AVATAR To", 3.5, Weight::Regular) < apart);
    }
}
