//! Which pump carries whose water. In: the graph. Out: the source's own pump, the pumps that only
//! some users need, and for every pump the motor valves behind it, so that a rule can look.
//!
//! Common practice, no source: a pump between a heat source and its header, buffer or first branch
//! runs with the source; one behind a header or a buffer runs with the users it serves. A heat
//! pump's own pump is driven by the heat pump's control (makers' instructions, from memory).

use std::collections::BTreeSet;

use super::{Graph, Met};
use crate::catalogue::Closes;
use crate::model::PartIx;
use crate::wire::netlist::PumpWay;
use crate::wire::scheme::{Scheme, SharedPump};

/// The users of a scheme in its own order.
pub struct Users {
    pub stores: Vec<PartIx>,
    pub zones: Vec<Vec<PartIx>>,
}

impl Graph<'_> {
    /// Whom a pump reaches: on the flow side, or else on the return side, past motor valves.
    pub(super) fn reach(&self, pump: PartIx) -> Met {
        let down = self.follow_from(pump, "out", true, true);
        if !down.emitters.is_empty() || !down.stores.is_empty() || !down.buffers.is_empty() {
            return down;
        }
        self.follow_from(pump, "in", false, true)
    }

    /// Gives every pump that no zone or floor has taken its place in the scheme.
    pub(super) fn pumps(&mut self, s: &mut Scheme, users: &Users) {
        let heat_pump = s.source.as_ref().is_some_and(|p| p.heat_pump);
        let free: Vec<(PartIx, Met)> = self
            .all("pump")
            .into_iter()
            .filter(|p| !self.taken.contains(p))
            .map(|p| (p, self.reach(p)))
            .collect();
        let everybody: BTreeSet<PartIx> =
            users.stores.iter().chain(users.zones.iter().flatten()).copied().collect();
        let serves = |met: &Met| -> BTreeSet<PartIx> {
            met.stores.iter().chain(&met.emitters).copied().collect()
        };
        let first = free
            .iter()
            .find(|(_, met)| !met.buffers.is_empty())
            .or_else(|| free.iter().find(|(_, met)| serves(met).is_superset(&everybody)))
            .map(|(p, _)| *p);
        for (pump, met) in &free {
            self.taken.insert(*pump);
            let named = self.named(*pump);
            if Some(*pump) == first {
                s.pump = Some(named);
                continue;
            }
            let its = serves(met);
            let zones: Vec<usize> = (0..users.zones.len())
                .filter(|i| users.zones[*i].iter().any(|e| its.contains(e)))
                .collect();
            let stores: Vec<usize> =
                (0..users.stores.len()).filter(|i| its.contains(&users.stores[*i])).collect();
            let all_zones = !zones.is_empty() && zones.len() == users.zones.len();
            if heat_pump && s.buffer.is_some() && all_zones && s.space_pump.is_none() {
                s.space_pump = Some(named);
            } else {
                let words = self.called(*pump);
                s.pumps.push(SharedPump { named, words, zones, stores });
            }
        }
        // The largest first: a pump behind another calls it.
        s.pumps.sort_by_key(|p| std::cmp::Reverse(p.zones.len() + p.stores.len()));
    }

    /// Every pump of the heating, with the motor valves whose water it moves.
    pub(super) fn pump_ways(&self, s: &Scheme) -> Vec<PumpWay> {
        self.all("pump")
            .into_iter()
            .map(|ix| {
                let met = self.reach(ix);
                let tag = self.system.part(ix).tag.clone();
                let of_source = s.pump.as_ref().is_some_and(|p| p.tag.as_ref() == Some(&tag));
                let heat_pump = s.source.as_ref().is_some_and(|p| p.heat_pump);
                let shuts = |v: &PartIx| self.system.part(*v).kind.closes == Closes::ByMotor;
                let valves = met.valves.iter().copied().filter(shuts);
                PumpWay {
                    name: self.called(ix),
                    valves: valves.map(|v| self.system.part(v).tag.clone()).collect(),
                    of_source,
                    own: of_source && heat_pump,
                    tag,
                }
            })
            .collect()
    }
}
