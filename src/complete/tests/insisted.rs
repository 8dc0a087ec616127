//! Whatever parts and runs a file insists on: no panic, never two pipes on a port, every fault
//! said, and what was built reads back the same.

use std::collections::BTreeSet;

use proptest::prelude::*;

use super::{blind, electric, indirect, part, run};
use crate::complete::complete;
use crate::describe::{self, facts::*};

const STOPS: [&str; 26] = [
    "main",
    "store",
    "store.cold",
    "store.hot",
    "store.relief",
    "store.nonsense",
    "cold tee",
    "cold tee.branch",
    "cold tee.a>branch",
    "relief tee",
    "hot-water vessel",
    "lever valve",
    "lever valve.in",
    "tee",
    "tee.b",
    "tundish",
    "boiler",
    "boiler.flow",
    "zone valve",
    "upstairs",
    "stop valve",
    "programmer",
    "no such thing",
    "",
    ".",
    "V1.5",
];
const NAMES: [&str; 8] = [
    "expansion branch",
    "cold feed",
    "primary flow",
    "primary return",
    "discharge D1",
    "hot supply",
    "extra",
    "more",
];
const KINDS: [&str; 6] = ["lever valve", "tee", "indirect cylinder", "programmer", "pump", "bath"];

prop_compose! {
    fn insisted()(
        base in 0..3usize,
        runs in prop::collection::vec(
            (0..NAMES.len(), prop::collection::vec(0..STOPS.len(), 0..6)), 0..5),
        parts in prop::collection::vec((0..STOPS.len(), 0..KINDS.len()), 0..4),
        listed in any::<bool>(),
    ) -> Facts {
        let mut f = match base {
            0 => indirect(),
            1 => electric(),
            _ => Facts::default(),
        };
        f.runs = runs
            .iter()
            .map(|(n, s)| run(NAMES[*n], &s.iter().map(|i| STOPS[*i]).collect::<Vec<_>>()))
            .collect();
        // A part that is called like a port of another can't be told from it.
        let own = |name: &&str| !name.contains(".") || *name == "V1.5";
        f.parts = parts
            .iter()
            .map(|(n, k)| (STOPS[*n], KINDS[*k]))
            .filter(|(n, _)| own(n))
            .map(|(n, k)| part(n, k))
            .collect();
        f.as_listed = listed;
        f
    }
}

/// The first place where two texts differ, with what stands round it.
fn same(a: &str, b: &str, how: &str) -> Result<(), TestCaseError> {
    let at = a.bytes().zip(b.bytes()).position(|(x, y)| x != y);
    let Some(at) = at.or((a.len() != b.len()).then_some(a.len().min(b.len()))) else {
        return Ok(());
    };
    let cut = |t: &str| t.get(at.saturating_sub(200)..(at + 120).min(t.len())).map(str::to_owned);
    Err(TestCaseError::fail(format!("{how}:\n{:?}\n{:?}", cut(a), cut(b))))
}

proptest! {
    #![proptest_config(ProptestConfig {
        failure_persistence: None, ..ProptestConfig::with_cases(96)
    })]

    #[test]
    fn whatever_the_file_insists_on(facts in insisted()) {
        let done = complete(&facts);
        let mut ends = BTreeSet::new();
        for p in &done.system.pipes {
            prop_assert!(ends.insert(p.from), "two pipes at {}", done.system.port_name(p.from));
            prop_assert!(ends.insert(p.to), "two pipes at {}", done.system.port_name(p.to));
        }
        let mut tags = BTreeSet::new();
        prop_assert!(done.system.parts.iter().all(|p| !p.tag.is_empty() && tags.insert(&p.tag)));
        let mut turned = facts.clone();
        turned.parts.reverse();
        turned.runs.reverse();
        // Two of one name: which of them stands depends on where they are written.
        let unsaid = done.diagnostics.iter().all(|d| d.code != "duplicate-name");
        if unsaid && !facts.as_listed {
            same(&blind(&done.system), &blind(&complete(&turned).system), "turned")?;
        }
        let out = describe::print(&done.system);
        let again = describe::read(&out);
        if again.diagnostics.is_empty() {
            let again = complete(&again.facts).system;
            same(&blind(&done.system), &blind(&again), "read back")?;
        }
    }
}
