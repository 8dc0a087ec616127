//! Limits. In: `limits.toml` and the job's rule set. Out: the one value that applies, with the
//! source to print beside it. Nothing else in the program holds a limit.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use serde::Deserialize;

use crate::model::Ruleset;

/// One row of `limits.toml`.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct LimitRow {
    /// `DIS01.length`: the rule's code and the name of the figure.
    pub id: String,
    /// What it limits, in words.
    pub what: String,
    pub value: f64,
    /// Unit, or empty for a pure number.
    pub unit: String,
    /// england, wales, scotland, northern-ireland, or any.
    #[serde(default = "any")]
    pub jurisdiction: String,
    /// The year from which the row holds; 0 = always.
    #[serde(default)]
    pub since: u32,
    /// The edition as it is printed beside the source.
    #[serde(default)]
    pub edition: String,
    /// The standard itself.
    pub source: String,
    /// "standard", "common practice" or "from memory".
    pub mark: String,
}

/// One row of the table of discharge pipes.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DischargeRow {
    /// Thread of the safety valve's outlet: "G1/2".
    pub outlet: String,
    /// Least size between valve and tundish.
    pub d1: String,
    /// Size below the tundish.
    pub d2: String,
    /// Greatest resistance that size may have, as metres of straight pipe.
    pub reach: f64,
    /// Resistance of one elbow or bend, metres.
    pub elbow: f64,
    pub source: String,
    pub mark: String,
}

/// The limit that applies to a job.
#[derive(Clone, Debug, PartialEq)]
pub struct Limit {
    pub id: &'static str,
    pub value: f64,
    pub unit: &'static str,
    /// Ready to print: standard, edition and nation, and what the job overrides.
    pub source: String,
    pub mark: String,
    /// Set where the job overrides the limit: the reason it gives.
    pub overridden: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Document {
    jurisdiction: String,
    /// The English document it stands for.
    of: String,
    title: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    document: Vec<Document>,
    discharge: Vec<DischargeRow>,
    limit: Vec<LimitRow>,
}

fn any() -> String {
    "any".to_owned()
}

fn table() -> &'static Table {
    static TABLE: LazyLock<Table> = LazyLock::new(|| {
        toml::from_str(include_str!("limits.toml")).unwrap_or_else(|e| panic!("limits.toml: {e}"))
    });
    &TABLE
}

/// All rows, in the order of the table.
///
/// # Panics
/// Where the embedded table does not parse: a fault of the program, caught by a test.
pub fn rows() -> &'static [LimitRow] {
    &table().limit
}

/// True where a job may override that id.
pub fn is_known(id: &str) -> bool {
    !of_id(id).is_empty()
}

/// The rows of an id.
fn of_id(id: &str) -> &'static [&'static LimitRow] {
    static BY_ID: LazyLock<BTreeMap<&str, Vec<&LimitRow>>> = LazyLock::new(|| {
        let mut all: BTreeMap<&str, Vec<&LimitRow>> = BTreeMap::new();
        for row in rows() {
            all.entry(&row.id).or_default().push(row);
        }
        all
    });
    BY_ID.get(id).map_or(&[], Vec::as_slice)
}

/// The limit of that id under the job's nation and edition, or as the job overrides it.
///
/// # Panics
/// Where the table lacks the id: a fault of the program, caught by a test.
pub fn find(ruleset: &Ruleset, id: &str) -> Limit {
    let row = choose(&ruleset.jurisdiction.value, year(&ruleset.edition.value), id)
        .unwrap_or_else(|| panic!("the table of limits lacks {id:?}"));
    let mut limit = Limit {
        id: &row.id,
        value: row.value,
        unit: &row.unit,
        source: printed_source(row, &ruleset.jurisdiction.value),
        mark: row.mark.clone(),
        overridden: None,
    };
    if let Some((value, reason)) = ruleset.overrides.get(id) {
        limit.source = format!("overridden by the job: {reason} (else {})", limit.source);
        limit.value = value.value;
        limit.overridden = Some(reason.clone());
    }
    limit
}

/// The rows of the discharge table for a valve outlet, smallest pipe first; empty where the table
/// does not know the outlet. Source: Approved Document G, Table 3.1.
pub fn discharge_rows(outlet: &str) -> impl Iterator<Item = &'static DischargeRow> {
    table().discharge.iter().filter(move |r| r.outlet == outlet)
}

/// The row of that id for a nation and a year: the nation's own, else the one for all, else
/// England's; of these the newest not after the year (the oldest where all are after it).
fn choose(nation: &str, year: Option<u32>, id: &str) -> Option<&'static LimitRow> {
    [nation, "any", "england"].into_iter().find_map(|of| {
        let of_nation = || of_id(id).iter().copied().filter(move |r| r.jurisdiction == of);
        let in_force = |r: &&LimitRow| year.is_none_or(|y| r.since <= y);
        of_nation()
            .filter(in_force)
            .max_by_key(|r| r.since)
            .or_else(|| of_nation().min_by_key(|r| r.since))
    })
}

/// The first year named in an edition: "2015 with 2016 amendments" → 2015.
fn year(edition: &str) -> Option<u32> {
    edition.split(|c: char| !c.is_ascii_digit()).find(|w| w.len() == 4)?.parse().ok()
}

fn printed_source(row: &LimitRow, nation: &str) -> String {
    let mut text = row.source.clone();
    if !row.edition.is_empty() && !row.source.contains(&row.edition) {
        text = format!("{text}, {}", row.edition);
    }
    if row.jurisdiction != "any" {
        text = format!("{text} ({})", nation_name(&row.jurisdiction));
        if row.jurisdiction != nation {
            let stands_for = |d: &&Document| d.jurisdiction == nation && text.starts_with(&d.of);
            let own = table().document.iter().find(stands_for);
            let read = own.map_or("the local text", |d| &d.title);
            text = format!("{text}; taken over, read {read}");
        }
    }
    if row.mark == "from memory" {
        text = format!("{text}, from memory");
    }
    text
}

fn nation_name(key: &str) -> &str {
    match key {
        "england" => "England",
        "wales" => "Wales",
        "scotland" => "Scotland",
        "northern-ireland" => "Northern Ireland",
        other => other,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::Value;

    fn rules(nation: &str, edition: &str) -> Ruleset {
        Ruleset {
            jurisdiction: Value::stated(nation.to_owned(), 0..0),
            edition: Value::stated(edition.to_owned(), 0..0),
            overrides: BTreeMap::new(),
            span: 0..0,
        }
    }

    #[test]
    fn every_row_is_whole_and_no_two_compete() {
        let marks = ["standard", "common practice", "from memory"];
        for (i, r) in rows().iter().enumerate() {
            assert!(r.value.is_finite() && r.value > 0.0, "{}", r.id);
            assert!(!r.source.is_empty() && !r.what.is_empty(), "{}", r.id);
            assert!(marks.contains(&r.mark.as_str()), "{}: mark {}", r.id, r.mark);
            let twin = rows()[..i]
                .iter()
                .find(|o| o.id == r.id && o.jurisdiction == r.jurisdiction && o.since == r.since);
            assert!(twin.is_none(), "{} stands twice", r.id);
        }
    }

    /// Approved Document G: 500 mm in the 1992 text, 600 mm since 2010.
    #[test]
    fn the_edition_decides_the_pipe_to_the_tundish() {
        assert_eq!(find(&rules("england", ""), "DIS01.length").value, 600.0);
        assert_eq!(find(&rules("england", "2010"), "DIS01.length").value, 600.0);
        let old = find(&rules("england", "2000 amendments"), "DIS01.length");
        assert_eq!(old.value, 500.0);
        assert!(old.source.contains("1992 edition"), "{}", old.source);
    }

    /// Water Fittings Regulations: 25 °C, in Northern Ireland 20 °C.
    #[test]
    fn the_nation_decides_how_warm_cold_water_may_be() {
        assert_eq!(find(&rules("england", ""), "WAT14.cold").value, 25.0);
        assert_eq!(find(&rules("northern-ireland", ""), "WAT14.cold").value, 20.0);
    }

    #[test]
    fn a_figure_taken_over_from_england_says_so() {
        let limit = find(&rules("scotland", ""), "DIS03.drop");
        assert_eq!(limit.value, 300.0);
        assert!(limit.source.contains("read Technical Handbook"), "{}", limit.source);
    }

    #[test]
    fn an_override_wins_and_is_named() {
        let mut rules = rules("england", "");
        let given = (Value::stated(550.0, 0..0), "agreed with the inspector".to_owned());
        rules.overrides.insert("DIS01.length".to_owned(), given);
        let limit = find(&rules, "DIS01.length");
        assert_eq!(limit.value, 550.0);
        assert!(limit.source.starts_with("overridden by the job: agreed with the inspector"));
    }

    /// Approved Document G, Table 3.1, all nine rows.
    #[test]
    fn discharge_table() {
        let of = |outlet: &str| -> Vec<(String, f64, f64)> {
            discharge_rows(outlet).map(|r| (r.d2.clone(), r.reach, r.elbow)).collect()
        };
        let row = |s: &str, reach, elbow| (s.to_owned(), reach, elbow);
        assert_eq!(of("G1/2"), [row("22", 9.0, 0.8), row("28", 18.0, 1.0), row("35", 27.0, 1.4)]);
        assert_eq!(of("G3/4"), [row("28", 9.0, 1.0), row("35", 18.0, 1.4), row("42", 27.0, 1.7)]);
        assert_eq!(of("G1"), [row("35", 9.0, 1.4), row("42", 18.0, 1.7), row("54", 27.0, 2.3)]);
    }
}
