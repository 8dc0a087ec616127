//! Demand for cold and hot water. In: outlets. Out: loading units, design flow, the size that
//! carries them; waiting time. EN 806-3, or BS 8558/BS 6700 where the job chooses it.

use libm::{exp, log};

use crate::catalogue::hydraulics::{OutletRow, hydraulics};

/// How demand is counted.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Method {
    #[default]
    En806,
    Bs8558,
}

impl Method {
    pub fn source(self) -> &'static str {
        match self {
            Method::En806 => "EN 806-3, Table 2",
            Method::Bs8558 => "BS 8558 and BS 6700, Table D.1",
        }
    }

    fn curve(self) -> &'static str {
        match self {
            Method::En806 => "EN 806-3",
            Method::Bs8558 => "BS 6700",
        }
    }

    pub fn units(self, row: &OutletRow) -> f64 {
        match self {
            Method::En806 => f64::from(row.en_units),
            Method::Bs8558 => row.bs_units,
        }
    }

    /// Flow the outlet is designed for, l/s.
    pub fn flow(self, row: &OutletRow) -> f64 {
        match self {
            Method::En806 => row.en,
            Method::Bs8558 => row.bs,
        }
    }

    pub fn least_flow(self, row: &OutletRow) -> f64 {
        match self {
            Method::En806 => row.en_least,
            Method::Bs8558 => row.bs_least,
        }
    }
}

/// What the outlet of a kind asks for; `None` for kinds that draw nothing.
pub fn outlet(kind: &str) -> Option<&'static OutletRow> {
    hydraulics().outlet.iter().find(|o| o.kind == kind)
}

/// One outlet of an appliance: which, and its design flow, l/s.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Single {
    /// Appliance, and which of several alike.
    pub appliance: (usize, u32),
    pub flow: f64,
}

/// Outlets behind a pipe, summed. An appliance whose hot and cold are both behind the pipe counts
/// once: it draws its flow by one or the other or mixed.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Demand {
    pub units: f64,
    /// Sum of the design flows, l/s.
    pub all: f64,
    /// The two appliances with the largest flows.
    pub first: Single,
    pub second: Single,
    pub outlets: u32,
    pub bath: bool,
}

impl Demand {
    /// `count` outlets of an appliance numbered `appliance`, `flow` l/s each.
    pub fn of(row: &OutletRow, method: Method, appliance: usize, flow: f64, count: u32) -> Demand {
        let single =
            |n: u32| Single { appliance: (appliance, n), flow: if count > n { flow } else { 0.0 } };
        Demand {
            units: method.units(row) * f64::from(count),
            all: flow * f64::from(count),
            first: single(0),
            second: single(1),
            outlets: count,
            bath: row.bath && count > 0,
        }
    }

    pub fn and(self, other: Demand) -> Demand {
        let mut singles = [self.first, self.second, other.first, other.second];
        singles.sort_by(|a, b| b.flow.total_cmp(&a.flow));
        let first = singles[0];
        let second = singles[1..].iter().find(|s| s.appliance != first.appliance);
        Demand {
            units: self.units + other.units,
            all: self.all + other.all,
            first,
            second: second.copied().unwrap_or_default(),
            outlets: self.outlets + other.outlets,
            bath: self.bath || other.bath,
        }
    }

    /// Without what an appliance counts twice where its hot and cold come together.
    pub fn less(self, twice: Demand) -> Demand {
        Demand {
            units: (self.units - twice.units).max(0.0),
            all: (self.all - twice.all).max(0.0),
            outlets: self.outlets.saturating_sub(twice.outlets),
            ..self
        }
    }

    /// The same demand drawn through one of several pipes side by side.
    pub fn share(self, of: f64) -> Demand {
        let part = |s: Single| Single { flow: s.flow * of, ..s };
        Demand {
            units: self.units * of,
            all: self.all * of,
            first: part(self.first),
            second: part(self.second),
            ..self
        }
    }

    /// Design flow, l/s: the curve, but no less than the two largest outlets together nor, with a
    /// bath among 16 units or more, 0.6 l/s; and no more than all outlets at once.
    pub fn design_flow(&self, method: Method) -> f64 {
        if self.outlets == 0 || self.units <= 0.0 {
            return 0.0;
        }
        let mut flow = curve(self.units, method).max(self.first.flow + self.second.flow);
        if method == Method::En806 && self.bath && self.units >= 16.0 {
            flow = flow.max(0.6);
        }
        flow.min(self.all)
    }
}

/// Design flow of loading units between the points of the curve, log-log, l/s.
pub fn curve(units: f64, method: Method) -> f64 {
    if units <= 0.0 {
        return 0.0;
    }
    let points: Vec<(f64, f64)> = hydraulics()
        .flow_curve
        .iter()
        .filter(|p| p.method == method.curve())
        .map(|p| (p.units, p.flow))
        .collect();
    let above = points.iter().position(|p| p.0 >= units).unwrap_or(points.len() - 1).max(1);
    let (a, b) = (points[above - 1], points[above]);
    let slope = (log(b.1) - log(a.1)) / (log(b.0) - log(a.0));
    exp(log(a.1) + slope * (log(units) - log(a.0)))
}

/// Greatest loading units that a bore carries over `length` m in a family of the tables
/// (EN 806-3, Tables 3): the row of the next smaller or equal bore. 0 where the bore is below all.
pub fn carries(family: &str, bore: f64, length: f64) -> u32 {
    let rows = || hydraulics().carries.iter().filter(|r| r.family == family);
    let Some(of_bore) = rows().map(|r| r.bore).filter(|b| *b <= bore + 0.05).max_by(f64::total_cmp)
    else {
        return 0;
    };
    rows()
        .filter(|r| r.bore == of_bore && r.length.is_none_or(|l| length <= l))
        .map(|r| r.units)
        .max()
        .unwrap_or(0)
}

/// Which family of the tables a material belongs to.
pub fn family(material: &str) -> &'static str {
    match material {
        "PB" | "PE-X" | "MDPE" => "PB",
        "multilayer" => "multilayer",
        "steel" => "steel",
        _ => "copper",
    }
}

/// Seconds until the water of a pipe has run off at `flow` l/s.
pub fn waiting(content: f64, flow: f64) -> f64 {
    if flow > 0.0 { content / flow } else { f64::INFINITY }
}
