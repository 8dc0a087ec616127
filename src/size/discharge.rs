//! Safety-discharge pipes. In: the valve's outlet, length and elbows of the pipe below the tundish.
//! Out: the least size, what is left of it, the sizes each way. Approved Document G, Table 3.1 and
//! paragraphs 3.58 and 3.59. All lengths are whole tenths of a metre, so that "up to" means it.

use crate::catalogue::Tube;
use crate::catalogue::limits::{DischargeRow, discharge_rows};

/// One size of the table, tried.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Trial {
    pub row: &'static DischargeRow,
    /// Length and elbows as straight pipe, tenths of a metre.
    pub resistance: i64,
    /// What the size allows, tenths of a metre.
    pub reach: i64,
    pub elbow: i64,
}

impl PartialEq for DischargeRow {
    fn eq(&self, other: &DischargeRow) -> bool {
        self.outlet == other.outlet && self.d2 == other.d2
    }
}

impl Trial {
    pub fn passes(&self) -> bool {
        self.resistance <= self.reach
    }

    /// Whole elbows that may still be added; negative where it already fails.
    pub fn elbows_left(&self) -> i64 {
        (self.reach - self.resistance).div_euclid(self.elbow)
    }

    /// Straight pipe that may still be added, metres.
    pub fn metres_left(&self) -> f64 {
        (self.reach - self.resistance) as f64 / 10.0
    }
}

/// Tenths of a metre, rounded up: a pipe of 5.81 m counts as 5.9 m.
pub fn tenths(metres: f64) -> i64 {
    (metres * 10.0 - 1e-6).ceil() as i64
}

/// Every size of the table for that outlet ("G1/2"), smallest first.
pub fn trials(outlet: &str, length: i64, elbows: i64) -> Vec<Trial> {
    discharge_rows(outlet)
        .map(|row| {
            let elbow = (row.elbow * 10.0).round() as i64;
            let reach = (row.reach * 10.0).round() as i64;
            Trial { row, resistance: length + elbows * elbow, reach, elbow }
        })
        .collect()
}

/// The least size below the tundish; `None` where no size of the table suffices, so that the pipe
/// needs its own calculation.
pub fn least(outlet: &str, length: i64, elbows: i64) -> Option<Trial> {
    trials(outlet, length, elbows).into_iter().find(Trial::passes)
}

/// A size of a pipe that several systems share, tried with the whole way of one of them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shared {
    pub size: &'static str,
    /// Length and elbows as straight pipe, tenths of a metre.
    pub resistance: i64,
    pub reach: i64,
    pub elbow: i64,
}

impl Shared {
    pub fn passes(&self) -> bool {
        self.resistance <= self.reach
    }
}

/// Sizes for the whole way from a tundish of that valve outlet to the end: those of its own rows,
/// then each larger size of the table for 9 m more ("and so on", paragraph 3.58).
pub fn shared(outlet: &str, length: i64, elbows: i64) -> Vec<Shared> {
    let of = |row: &'static DischargeRow, reach: i64| {
        let elbow = (row.elbow * 10.0).round() as i64;
        Shared { size: &row.d2, resistance: length + elbows * elbow, reach, elbow }
    };
    let mut all: Vec<Shared> = trials(outlet, 0, 0).iter().map(|t| of(t.row, t.reach)).collect();
    let step = all.first().map_or(0, |s| s.reach);
    let mut rows: Vec<&'static DischargeRow> =
        ["G1/2", "G3/4", "G1"].into_iter().flat_map(discharge_rows).collect();
    rows.sort_by(|a, b| diameter(&a.d2).total_cmp(&diameter(&b.d2)));
    for row in rows {
        let last = all.last().map_or((0.0, 0), |s| (diameter(s.size), s.reach));
        if diameter(&row.d2) > last.0 {
            all.push(of(row, last.1 + step));
        }
    }
    all
}

fn diameter(size: &str) -> f64 {
    Tube::called(size).map_or(0.0, |t| t.od)
}

/// The next size of copper above that one.
pub fn size_above(size: &str) -> Option<&'static str> {
    let all = copper();
    let at = all.iter().position(|t| t.size == size)?;
    all.get(at + 1).map(|t| t.size.as_str())
}

/// The next size of copper below that one.
pub fn size_below(size: &str) -> Option<&'static str> {
    let all = copper();
    let at = all.iter().position(|t| t.size == size)?;
    at.checked_sub(1).map(|i| all[i].size.as_str())
}

/// A pipe that several systems share: at least one size above the largest of their own
/// (paragraph 3.59). `None` beyond the sizes of copper.
pub fn common<'a>(own: &[&'a str]) -> Option<&'a str> {
    let largest = own.iter().max_by(|a, b| diameter(a).total_cmp(&diameter(b)))?;
    if own.len() == 1 { Some(largest) } else { size_above(largest) }
}

fn copper() -> Vec<&'static Tube> {
    crate::catalogue::tubes().iter().filter(|t| t.material == "copper" && t.default).collect()
}

/// "G1/2" from what a maker or a person writes: `1/2`, `G 1/2`, `1/2 in`, `15`.
pub fn outlet_key(text: &str) -> &'static str {
    let bare: String = text.chars().filter(|c| c.is_ascii_digit() || "/.".contains(*c)).collect();
    match bare.as_str() {
        "3/4" | "0.75" | "22" | "20" => "G3/4",
        "1" | "1.0" | "28" | "25" => "G1",
        _ => "G1/2",
    }
}
