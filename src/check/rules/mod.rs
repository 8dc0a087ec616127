//! The rules, a folder for each family, in the order of the catalogue.

mod discharge;
mod expansion;
mod heating;
mod safety;
mod water;

use super::rule::Rule;

const FAMILIES: &[&[&[Rule]]] =
    &[safety::RULES, discharge::RULES, water::RULES, expansion::RULES, heating::RULES];

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
}
