//! A pump's curve. In: a pump's attributes. Out: head at a flow.
//!
//! `curve` names points "flow l/s : head m" ("0:6 0.3:5.1 0.6:3.4"); without it the line runs
//! straight from `head` (m, against a shut valve) to `flow` (l/s, at no head).

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
        if let Some(points) = part.text("curve").and_then(table) {
            return Curve { points, source: "the pump's table", assumed: false };
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
