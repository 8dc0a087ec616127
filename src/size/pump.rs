//! A pump's curve. In: a pump's attributes. Out: head at a flow.
//!
//! `curve` names points "flow l/s : head m" ("0:6 0.3:5.1 0.6:3.4"); without it the line runs
//! straight from `head` (m, against a shut valve) to `flow` (l/s, at no head). A pump that holds a
//! `constant-pressure` (m) gives that as far as its curve reaches.

use super::aims::Aims;
use crate::catalogue::hydraulics::hydraulics;
use crate::model::Part;

/// Head over flow.
#[derive(Clone, Debug, PartialEq)]
pub struct Curve {
    /// (l/s, kPa), by rising flow.
    points: Vec<(f64, f64)>,
    pub source: &'static str,
    pub assumed: bool,
}

/// kPa of a metre of water.
const METRE: f64 = 9.806_65;

impl Curve {
    pub fn of(part: &Part, aims: &Aims) -> Curve {
        // A source's own attributes of these names are temperatures.
        let is_pump = part.kind.attrs.contains_key("head");
        let held = part.number("constant-pressure").filter(|m| is_pump && *m > 0.0);
        let held = held.map(|m| m * METRE);
        if let Some(points) = part.text("curve").and_then(table) {
            return Curve { points, source: "the pump's table", assumed: false }.held_at(held);
        }
        let own = |key: &str| part.number(key).filter(|_| is_pump);
        let closed = own("head").map(|m| m * METRE);
        let open = own("flow").filter(|q| *q > 0.0);
        let assumed = closed.is_none()
            || part.attrs.is_assumed("head")
            || open.is_none()
            || part.attrs.is_assumed("flow");
        let closed = closed.unwrap_or(aims.get("SIZE.pump-closed"));
        // A stronger pump also passes more.
        let open =
            open.unwrap_or(aims.get("SIZE.pump-open") * closed / aims.get("SIZE.pump-closed"));
        Curve {
            points: vec![(0.0, closed), (open, 0.0)],
            source: "straight line from closed head to open flow, common practice",
            assumed,
        }
        .held_at(held)
    }

    /// The curve cut off at a head, kPa, that the pump's own control holds.
    fn held_at(self, kpa: Option<f64>) -> Curve {
        let Some(kpa) = kpa.filter(|kpa| *kpa < self.head_at(0.0)) else { return self };
        let mut points = vec![(0.0, kpa)];
        for pair in self.points.windows(2) {
            let ((q0, h0), (q1, h1)) = (pair[0], pair[1]);
            if h0 > kpa && h1 <= kpa {
                points.push((q0 + (q1 - q0) * (h0 - kpa) / (h0 - h1), kpa));
            }
            if h1 < kpa {
                points.push((q1, h1));
            }
        }
        Curve { points, source: "the pressure that the pump holds, then its curve", ..self }
    }

    /// The flow at which the curve ends, l/s.
    pub fn ends_at(&self) -> f64 {
        self.points.last().map_or(0.0, |p| p.0)
    }

    /// The curve's points, kPa, each lower than the one before by a hair at least, so that to every
    /// head belongs one flow.
    pub fn falling(&self) -> Vec<(f64, f64)> {
        /// kPa.
        const HAIR: f64 = 1e-3;
        let mut found: Vec<(f64, f64)> = Vec::with_capacity(self.points.len());
        for (q, h) in &self.points {
            match found.last() {
                Some(last) if *q <= last.0 + 1e-9 => {}
                Some(last) => found.push((*q, h.min(last.1 - HAIR))),
                None => found.push((*q, *h)),
            }
        }
        found
    }

    /// Head at `flow` l/s, kPa; 0 beyond the end.
    pub fn head_at(&self, flow: f64) -> f64 {
        let Some(first) = self.points.first() else { return 0.0 };
        if flow <= first.0 {
            return first.1;
        }
        for pair in self.points.windows(2) {
            let ((q0, h0), (q1, h1)) = (pair[0], pair[1]);
            if flow <= q1 {
                return h0 + (h1 - h0) * (flow - q0) / (q1 - q0).max(1e-9);
            }
        }
        0.0
    }
}

/// The weakest stocked pump, by its head in m, that gives `need` kPa at `flow` l/s.
pub fn pick(flow: f64, need: f64, aims: &Aims) -> Option<f64> {
    hydraulics().pump_heads.iter().copied().find(|head| {
        let closed = head * METRE;
        let open = aims.get("SIZE.pump-open") * closed / aims.get("SIZE.pump-closed");
        closed * (1.0 - flow / open) >= need
    })
}

fn table(text: &str) -> Option<Vec<(f64, f64)>> {
    let mut points = Vec::new();
    for word in text.split([' ', ';']).filter(|w| !w.is_empty()) {
        let (flow, head) = word.split_once(':')?;
        let (flow, head): (f64, f64) = (flow.parse().ok()?, head.parse().ok()?);
        if !flow.is_finite() || !head.is_finite() {
            return None;
        }
        points.push((flow, head * METRE));
    }
    points.sort_by(|a, b| a.0.total_cmp(&b.0));
    (points.len() >= 2).then_some(points)
}
