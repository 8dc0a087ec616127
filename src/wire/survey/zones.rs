//! The heating's zones: which emitters a valve or a pump serves, their thermostats, the controls
//! of a heated floor. In: the graph. Out: zones of the scheme.

use std::collections::BTreeSet;

use super::{EMITTERS, Graph, Met, named_by};
use crate::model::{Part, PartIx};
use crate::wire::scheme::{Floor, Named, Room, Scheme, Zone};

impl Graph<'_> {
    /// Radiators and rails first, floors after: the programmer's channels go to the former.
    pub(super) fn zones(&mut self, s: &mut Scheme, serves: &[(PartIx, Met)]) -> Vec<Vec<PartIx>> {
        let mut done: BTreeSet<PartIx> = BTreeSet::new();
        let mut found: Vec<(Option<PartIx>, Vec<PartIx>)> = Vec::new();
        for (valve, met) in serves {
            if met.stores.is_empty() && !met.emitters.is_empty() {
                done.extend(&met.emitters);
                found.push((Some(*valve), met.emitters.clone()));
            }
        }
        let mut loose: Vec<PartIx> = EMITTERS.iter().flat_map(|k| self.all(k)).collect();
        loose.retain(|e| !done.contains(e) && !self.always_open(*e));
        let heats = s.source.is_some();
        // Users with no valve: each pump of its own makes a zone, the rest are one zone together.
        let pumps: Vec<(PartIx, Met)> =
            self.all("pump").into_iter().map(|p| (p, self.served(p))).collect();
        for (pump, met) in &pumps {
            let mine: Vec<PartIx> =
                met.emitters.iter().copied().filter(|e| loose.contains(e)).collect();
            let alone = met.stores.is_empty() && met.valves.is_empty();
            if alone && !mine.is_empty() && mine.len() < loose.len().max(2) {
                loose.retain(|e| !mine.contains(e));
                found.push((Some(*pump), mine));
            }
        }
        if heats && !loose.is_empty() {
            found.push((None, loose));
        }
        let floor = |g: &Graph, e: &[PartIx]| {
            e.iter().all(|e| g.system.part(*e).kind.key == "underfloor circuits")
        };
        found.sort_by_key(|(_, e)| {
            (floor(self, e), e.first().map(|e| self.system.part(*e).tag.clone()))
        });
        for (by, emitters) in &found {
            let zone = self.zone(*by, emitters, floor(self, emitters));
            s.zones.push(zone);
        }
        found.into_iter().map(|(_, emitters)| emitters).collect()
    }

    pub(super) fn always_open(&self, e: PartIx) -> bool {
        let p = self.system.part(e);
        p.attrs.flag("always-open") || p.text("always-open") == Some("yes")
    }

    pub(super) fn zone(&mut self, by: Option<PartIx>, emitters: &[PartIx], floor: bool) -> Zone {
        let name =
            emitters.first().map(|e| self.called(*e)).unwrap_or_else(|| "heating".to_owned());
        let system = self.system;
        let is = |kind: &str| by.filter(|ix| self.system.part(*ix).kind.key == kind);
        let (valve, pump) = (is("zone valve"), is("pump"));
        if let Some(p) = pump {
            self.taken.insert(p);
        }
        let mine = |p: &Part| p.text("zone").is_some_and(|z| named_by(system, z, emitters));
        let mut zone = Zone {
            name: name.clone(),
            valve: valve.map(|v| self.named(v)),
            pump: pump.map(|p| self.named(p)),
            ..Zone::default()
        };
        if floor {
            zone.floor = Some(self.floor(&name, emitters));
        } else {
            let stat = self.take_or("room thermostat", mine, |p| p.text("zone").is_none());
            if let Some(ix) = stat {
                let p = self.system.part(ix);
                zone.two_wire = p.number("wires") == Some(2.0) || p.text("wires") == Some("2");
                zone.thermostat = self.named(ix);
            }
        }
        zone
    }

    pub(super) fn floor(&mut self, zone: &str, emitters: &[PartIx]) -> Floor {
        let system = self.system;
        let controller = self.first("floor heating controller");
        let limit = self.first("floor limit thermostat");
        let circuits: u32 = emitters
            .iter()
            .filter_map(|e| self.system.part(*e).number("circuits"))
            .map(|n| n.clamp(1.0, 60.0) as u32)
            .sum::<u32>()
            .max(1);
        let mut stats = Vec::new();
        while let Some(ix) = self.take("room thermostat", |p| {
            p.text("zone").is_some_and(|z| named_by(system, z, emitters))
        }) {
            stats.push(ix);
        }
        stats.truncate(circuits as usize);
        let rooms = stats.len().max(1) as u32;
        let rooms = (0..rooms)
            .map(|i| {
                let ix = stats.get(i as usize);
                let room = ix.and_then(|ix| self.system.part(*ix).text("room"));
                Room {
                    name: room.map_or_else(
                        || if rooms == 1 { zone.to_owned() } else { format!("{zone} {}", i + 1) },
                        str::to_owned,
                    ),
                    thermostat: ix.map(|ix| self.named(*ix)).unwrap_or_default(),
                    actuators: circuits / rooms + u32::from(i < circuits % rooms),
                }
            })
            .collect();
        // The mixer's pump: a part of its own that serves only this floor, or inside the set.
        let own = self.all("pump").into_iter().find(|p| {
            let met = self.served(*p);
            !self.taken.contains(p)
                && met.stores.is_empty()
                && met.valves.is_empty()
                && !met.emitters.is_empty()
                && met.emitters.iter().all(|e| emitters.contains(e))
        });
        let set = self.all("blending set").into_iter().find(|b| {
            self.walk_from(*b, "floor flow", true).emitters.iter().any(|e| emitters.contains(e))
        });
        let pump = match (own, set) {
            (Some(p), _) => {
                self.taken.insert(p);
                Some(self.named(p))
            }
            (None, Some(b)) => Some(Named { setting: None, ..self.named(b) }),
            (None, None) => None,
        };
        Floor { controller, limit, pump, rooms }
    }
}
