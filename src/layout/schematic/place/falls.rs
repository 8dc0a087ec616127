//! Heights of the discharge columns. In: the levels of the lines. Out: every relief valve at its
//! cylinder, every joint at or below what falls into it.

use super::*;

impl Placer<'_> {
    /// The discharge columns in sheet height, the further cylinders' first: they may fall into the
    /// column of the last.
    pub(super) fn set_discharges(&mut self, levels: &BTreeMap<Name, f64>, top: f64, base: f64) {
        for k in (0..self.discharges.len()).rev() {
            if let Some(relief) = self.relief_level(levels, self.discharges[k].store, top) {
                self.set_discharge(levels, k, relief, base);
            }
        }
    }

    /// y of a cylinder's relief port.
    fn relief_level(&self, levels: &BTreeMap<Name, f64>, store: PartIx, top: f64) -> Option<f64> {
        let relief = self.net.port_named(store, "relief")?.port;
        if self.store.is_some_and(|(main, _)| main == store) {
            return Some(top + self.net.spot(store, Pose::UPRIGHT).port(relief)?.0.y);
        }
        self.rungs.iter().find_map(|(upper, _, column)| {
            let (p, _) = column.canvas.spots.get(&store)?.port(relief)?;
            Some(levels.get(upper)? + p.y)
        })
    }

    /// One column: it starts at the relief port, and each joint into which something else falls
    /// stands level with what falls, or below it.
    fn set_discharge(&mut self, levels: &BTreeMap<Name, f64>, k: usize, relief: f64, base: f64) {
        let net = self.net;
        self.discharges[k].canvas.shift(0.0, relief);
        let cold = levels.get(&Name::Cold).copied().unwrap_or(0.0);
        // A joint of this column that another valve on the cold line falls into.
        let mut level: Option<(PartIx, usize, f64, usize)> = None;
        for (n, (name, column)) in self.hung.iter().enumerate() {
            if *name != Name::Cold {
                continue;
            }
            for (part, spot) in &column.canvas.spots {
                for i in net.joined(*part) {
                    let Some((_, far)) = net.join(PortRef { part: *part, port: i }) else {
                        continue;
                    };
                    let Some((q, e)) = spot.port(i) else { continue };
                    let here = self.discharges[k].canvas.has(far.part);
                    if here && e == Edge::E && level.is_none() {
                        level = Some((far.part, far.port, cold + q.y, n));
                    }
                }
            }
        }
        if let Some((joint, port, y, own)) = level {
            // Low enough to pass under whatever else hangs from the cold line; beside what stood,
            // just so.
            let under = if self.old.is_some() { 2.5 } else { 3.75 };
            let others = self
                .hung
                .iter()
                .enumerate()
                .filter(|(i, (n, c))| *n == Name::Cold && c.held == Held::Above && *i != own)
                .map(|(_, (_, c))| c.canvas.bounds().map_or(0.0, |b| b.bottom() + under))
                .fold(0.0, f64::max);
            let stood =
                self.old.and_then(|old| Some((old.before.centre(joint)?.y - base, old.firm)));
            let low = match stood {
                Some((stood, true)) => stood,
                Some((stood, false)) => stood.max(cold + others),
                None => y.max(cold + others),
            };
            let by = snap(low - y).max(0.0);
            self.hung[own].1.canvas.shift(0.0, by);
            self.hung[own].1.height += by;
            self.lower(k, joint, port, y + by);
        }
        // What another cylinder's discharge brings comes in from the left, below where it left.
        let mut brought: Vec<(PortRef, f64)> = Vec::new();
        for fall in self.discharges.iter().skip(k + 1) {
            for (part, spot) in &fall.canvas.spots {
                for i in net.joined(*part) {
                    let far = net.join(PortRef { part: *part, port: i }).map(|(_, far)| far);
                    let far = far.filter(|far| self.discharges[k].canvas.has(far.part));
                    if let (Some(far), Some((q, e))) = (far, spot.port(i)) {
                        let turn = if e == Edge::S { 7.5 } else { 0.0 };
                        brought.push((far, q.y + turn));
                    }
                }
            }
        }
        for (joint, y) in brought {
            self.lower(k, joint.part, joint.port, y);
        }
    }

    /// Sinks a joint of a discharge column, and all below it, to this level.
    fn lower(&mut self, k: usize, joint: PartIx, port: usize, y: f64) {
        let canvas = &mut self.discharges[k].canvas;
        let Some(spot) = canvas.spots.get_mut(&joint) else { return };
        if self.net.is_joint(joint) {
            spot.assign(port, Edge::W);
        }
        let from = spot.at.y;
        let by = snap(y - spot.at.centre().y);
        if by > 0.0 {
            for spot in canvas.spots.values_mut().filter(|s| s.at.y >= from) {
                spot.at.y += by;
            }
        }
    }
}
