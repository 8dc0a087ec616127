//! Figures as people read them. In: numbers with units. Out: short text.

use crate::model::{Attrs, Part, Place, System, whole_mm};

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
        // Halves go up, as on every drawing.
        return whole_mm(value);
    } else if size >= 10.0 {
        1
    } else if size >= 1.0 {
        2
    } else {
        3
    };
    figure(value, places)
}

/// A pressure in bar as a gauge shows it.
pub fn gauge(bar: f64) -> String {
    format!("{bar:.1}")
}

/// The pressures that a gauge may show between two limits: inward of them in tenths; where no two
/// tenths lie between, the one that does, or the one nearest to the middle. `None` where the limits
/// leave nothing.
pub fn fill_range(lowest: f64, highest: f64) -> Option<String> {
    if lowest > highest {
        return None;
    }
    let from = (lowest * 10.0 - 1e-6).ceil() / 10.0;
    let to = (highest * 10.0 + 1e-6).floor() / 10.0;
    Some(match from.total_cmp(&to) {
        std::cmp::Ordering::Less => format!("{} to {}", gauge(from), gauge(to)),
        std::cmp::Ordering::Equal => gauge(from),
        std::cmp::Ordering::Greater => {
            format!("about {}", gauge(f64::midpoint(lowest, highest)))
        }
    })
}

/// "3 bar"; empty where the attribute is absent.
pub fn quantity(attrs: &Attrs, key: &str, unit: &str) -> String {
    attrs.number(key).map_or_else(String::new, |v| format!("{} {unit}", plain(v)))
}

/// "CYL1 hot water tank" in the trade's words: tag and kind, and the name where it says more.
pub fn called(part: &Part) -> String {
    let of_kind = |word: &str| part.kind.key.split(' ').any(|w| w == word);
    let says_no_more = part.name.split(' ').all(of_kind);
    if says_no_more || part.name.starts_with(part.kind.key.as_str()) {
        format!("{} {}", part.tag, part.kind.key)
    } else {
        format!("{} {} ({})", part.tag, part.kind.key, part.name)
    }
}

pub fn whereabouts(place: &Place) -> String {
    place.elsewhere.clone().unwrap_or_else(|| "cupboard".to_owned())
}

/// Tags as people list them: "EV1, EV3", and three or more in a row as "EV1 to EV8".
pub fn listed(tags: &[&str]) -> String {
    let split = |t: &str| -> Option<(String, u32)> {
        let at = t.find(|c: char| c.is_ascii_digit())?;
        Some((t[..at].to_owned(), t[at..].parse().ok()?))
    };
    let follows = |a: &str, b: &str| match (split(a), split(b)) {
        (Some(a), Some(b)) => a.0 == b.0 && a.1 + 1 == b.1,
        _ => false,
    };
    let mut runs: Vec<Vec<&str>> = Vec::new();
    for tag in tags {
        match runs.last_mut() {
            Some(run) if run.last().is_some_and(|last| follows(last, tag)) => run.push(tag),
            _ => runs.push(vec![tag]),
        }
    }
    let said: Vec<String> = runs
        .iter()
        .map(|run| match run[..] {
            [first, _, .., last] => format!("{first} to {last}"),
            _ => run.join(", "),
        })
        .collect();
    said.join(", ")
}

/// "a", "a and b", "a, b and c".
pub fn spoken(names: &[&str]) -> String {
    match names {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [rest @ .., last] => format!("{} and {last}", rest.join(", ")),
    }
}

/// Several parts of a kind in one breath: the one by its name, more by their tags and number.
pub fn together(parts: &[&Part]) -> String {
    match parts {
        [] => String::new(),
        [one] => called(one),
        [first, ..] => {
            let tags: Vec<&str> = parts.iter().map(|p| p.tag.as_str()).collect();
            format!("{} {} (× {})", listed(&tags), first.kind.key, parts.len())
        }
    }
}

/// Of a kind's parts the ones that belong to an owner: fitted on it, or named for the same
/// dwelling, or, where there are as many of one as of the other, the one in the same place of the
/// order; all of them where nothing tells them apart.
pub fn own<'a>(system: &'a System, owners: &[&Part], owner: &Part, kind: &'a str) -> Vec<&'a Part> {
    let all: Vec<&Part> = system.of_kind(kind).map(|(_, p)| p).collect();
    let on = |p: &&&Part| p.on.is_some_and(|ix| system.part(ix).tag == owner.tag);
    let fitted: Vec<&Part> = all.iter().filter(on).copied().collect();
    if !fitted.is_empty() {
        return fitted;
    }
    let shared = |p: &Part| {
        let words = p.name.split(' ').zip(owner.name.split(' '));
        words.take_while(|(a, b)| a == b).count()
    };
    let most = all.iter().map(|p| shared(p)).max().unwrap_or(0);
    let near: Vec<&Part> = all.iter().filter(|p| shared(p) == most).copied().collect();
    if most > 0 && near.len() < all.len() {
        return near;
    }
    let place = owners.iter().position(|o| o.tag == owner.tag);
    match place.and_then(|i| all.get(i)) {
        Some(one) if all.len() == owners.len() => vec![one],
        _ => all,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tags_in_a_row_are_said_as_a_run() {
        assert_eq!(listed(&["EV1", "EV2", "EV3", "EV5"]), "EV1 to EV3, EV5");
        assert_eq!(listed(&["EV1", "EV2"]), "EV1, EV2");
        assert_eq!(listed(&[]), "");
    }

    /// "temperature relief valve" says no more of a "temperature and pressure relief valve".
    #[test]
    fn a_name_is_said_where_it_says_more() {
        let text = "cylinder \"store\" litres=210 heated=\"electric\"";
        let system = crate::complete::complete(&crate::describe::read(text).facts).system;
        let of = |kind: &str| called(system.of_kind(kind).next().unwrap().1);
        let relief = "temperature and pressure relief valve";
        assert_eq!(of(relief), format!("TPRV1 {relief}"));
        assert_eq!(of("direct cylinder"), "CYL1 direct cylinder (store)");
    }

    /// The limits are taken inward, so that what the gauge may show is within them.
    #[test]
    fn a_gauge_shows_what_the_sheet_says() {
        assert_eq!(fill_range(1.18, 2.14).as_deref(), Some("1.2 to 2.1"));
        assert_eq!(fill_range(1.667, 1.75).as_deref(), Some("1.7"));
        assert_eq!(fill_range(1.72, 1.78).as_deref(), Some("about 1.8"));
        assert_eq!(fill_range(2.0, 1.0), None);
    }

    #[test]
    fn figures_carry_no_noise() {
        assert_eq!(figure(3.0, 2), "3");
        assert_eq!(figure(3.5, 2), "3.5");
        assert_eq!(figure(-0.001, 2), "0");
        assert_eq!(plain(1234.56), "1235");
        assert_eq!(plain(20.0), "20");
        assert_eq!(plain(354.5), "355");
    }
}
