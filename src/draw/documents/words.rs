//! Figures as people read them. In: numbers with units. Out: short text.

use crate::model::{Attrs, Part, Place, System};

/// At most `places` decimals, no trailing noughts: "3", "3.5", "0.82".
pub fn figure(value: f64, places: usize) -> String {
    let text = format!("{value:.places$}");
    let text = if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    };
    if text == "-0" { "0".to_owned() } else { text }
}

/// A figure with as many decimals as its size deserves.
pub fn plain(value: f64) -> String {
    let size = value.abs();
    let places = if size >= 100.0 {
        0
    } else if size >= 10.0 {
        1
    } else if size >= 1.0 {
        2
    } else {
        3
    };
    figure(value, places)
}

/// "3 bar"; empty where the attribute is absent.
pub fn quantity(attrs: &Attrs, key: &str, unit: &str) -> String {
    attrs.number(key).map_or_else(String::new, |v| format!("{} {unit}", plain(v)))
}

/// "CYL1 hot water tank" in the trade's words: tag and kind, and the name where it says more.
pub fn called(part: &Part) -> String {
    if part.name == part.kind.key || part.name.starts_with(part.kind.key.as_str()) {
        format!("{} {}", part.tag, part.kind.key)
    } else {
        format!("{} {} ({})", part.tag, part.kind.key, part.name)
    }
}

pub fn whereabouts(place: &Place) -> String {
    place.elsewhere.clone().unwrap_or_else(|| "cupboard".to_owned())
}

/// Tags joined by commas.
pub fn tags<'a>(system: &'a System, wanted: impl Fn(&Part) -> bool + 'a) -> String {
    system.parts.iter().filter(|p| wanted(p)).map(|p| p.tag.as_str()).collect::<Vec<_>>().join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_carry_no_noise() {
        assert_eq!(figure(3.0, 2), "3");
        assert_eq!(figure(3.5, 2), "3.5");
        assert_eq!(figure(-0.001, 2), "0");
        assert_eq!(plain(1234.56), "1235");
        assert_eq!(plain(20.0), "20");
    }
}
