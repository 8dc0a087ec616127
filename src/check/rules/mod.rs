//! The rules, a folder for each family, in the order of the catalogue.

mod circulation;
mod controls;
mod discharge;
mod drawings;
mod expansion;
mod fit;
mod heating;
mod records;
mod safety;
mod solar;
mod structure;
mod water;

use super::rule::Rule;

const FAMILIES: &[&[&[Rule]]] = &[
    safety::RULES,
    discharge::RULES,
    water::RULES,
    expansion::RULES,
    heating::RULES,
    controls::RULES,
    fit::RULES,
    structure::RULES,
    circulation::RULES,
    solar::RULES,
    drawings::RULES,
    records::RULES,
];

/// Every rule, in the order of the catalogue.
pub fn all() -> impl Iterator<Item = &'static Rule> {
    FAMILIES.iter().flat_map(|family| family.iter()).flat_map(|topic| topic.iter())
}

pub fn find(id: &str) -> Option<&'static Rule> {
    all().find(|r| r.id.eq_ignore_ascii_case(id))
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;

    #[test]
    fn every_rule_has_its_own_code_and_whole_papers() {
        let mut ids = BTreeSet::new();
        for r in all() {
            assert!(ids.insert(r.id), "{} stands twice", r.id);
            assert!(r.id.len() == 5 && r.id[3..].parse::<u32>().is_ok(), "{}", r.id);
            for text in [r.title, r.what, r.why, r.source, r.mend] {
                assert!(text.len() > 3 && text == text.trim(), "{}: {text:?}", r.id);
            }
            assert!(r.title.len() < 60, "{}: title too long", r.id);
        }
    }

    /// No family has a gap in its numbers.
    #[test]
    fn the_catalogue_is_whole() {
        let ids: BTreeSet<&str> = all().map(|r| r.id).collect();
        for (family, last) in [
            ("SAF", 15),
            ("DIS", 19),
            ("WAT", 20),
            ("EXP", 13),
            ("HTG", 21),
            ("CTL", 15),
            ("FIT", 14),
            ("STR", 4),
            ("SRT", 4),
            ("SOL", 4),
            ("DRW", 9),
            ("DOC", 6),
        ] {
            for n in 1..=last {
                let id = format!("{family}{n:02}");
                assert!(ids.contains(id.as_str()), "{id} is missing");
            }
        }
    }
}
