//! The limits and aims that sizing needs, looked up once. In: the job's rules. Out: values with
//! their sources.

use std::collections::BTreeMap;

use crate::catalogue::limits::{self, Limit};
use crate::model::Ruleset;

/// Limits by id.
#[derive(Clone, Debug)]
pub struct Aims(BTreeMap<&'static str, Limit>);

/// Rules whose limits the sums use.
const RULES: [&str; 9] = ["SIZE", "HTG", "WAT", "EXP", "SRT", "DIS", "STR01", "SAF09", "SAF10"];

impl Aims {
    pub fn of(rules: &Ruleset) -> Aims {
        let mut all = BTreeMap::new();
        for row in limits::rows() {
            let id = row.id.as_str();
            if RULES.iter().any(|r| id.starts_with(r)) && !all.contains_key(id) {
                all.insert(id, limits::find(rules, id));
            }
        }
        Aims(all)
    }

    /// The limit of that id.
    ///
    /// # Panics
    /// Where the table lacks the id: a fault of the program, caught by a test.
    pub fn limit(&self, id: &str) -> &Limit {
        self.0.get(id).unwrap_or_else(|| panic!("the table of limits lacks {id:?}"))
    }

    pub fn get(&self, id: &str) -> f64 {
        self.limit(id).value
    }
}
