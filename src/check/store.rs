//! A hot-water store as the rules see it. In: the graph. Out: for each cylinder its reliefs,
//! elements, switches, coils, and what its water can expand into.

use super::context::CYLINDERS;
use super::{Context, Reached, Way};
use crate::catalogue::Closes;
use crate::model::{PartIx, PortRef};

/// One cylinder.
pub struct Store {
    pub cylinder: PartIx,
    /// Temperature and pressure reliefs that act on it.
    pub reliefs: Vec<PartIx>,
    pub immersions: Vec<PartIx>,
    /// Overheat cut-outs on the cylinder or on its elements.
    pub cut_outs: Vec<PartIx>,
    pub thermostats: Vec<PartIx>,
    pub coils: Vec<Coil>,
    /// What its cold side can expand into: every part up to the first check or reducing valve,
    /// those included.
    pub cold_side: Reached,
    /// The same, and on beyond checks and reducers to the store's own stop valve or the main.
    pub cold_supply: Reached,
}

/// One heat exchanger in the store.
pub struct Coil {
    pub flow: PortRef,
    pub back: PortRef,
    pub solar: bool,
    /// What feeds it: sources met against the flow.
    pub sources: Vec<PartIx>,
    /// Every part met against the flow, from the flow port to the sources.
    pub flow_side: Reached,
    /// Every part met with the flow, from the return port to the sources.
    pub return_side: Reached,
}

pub fn find(cx: &Context) -> Vec<Store> {
    cx.of_any(&CYLINDERS).into_iter().map(|c| of(cx, c)).collect()
}

fn of(cx: &Context, cylinder: PartIx) -> Store {
    let fitted = cx.on(cylinder);
    let on_it =
        |key: &str| -> Vec<PartIx> { fitted.iter().copied().filter(|p| cx.is(*p, key)).collect() };
    let immersions = on_it("immersion heater");
    let mut cut_outs = on_it("overheat cut-out");
    let mut thermostats = on_it("cylinder thermostat");
    for heater in &immersions {
        for part in cx.on(*heater) {
            match cx.key(*part) {
                "overheat cut-out" => cut_outs.push(*part),
                "cylinder thermostat" => thermostats.push(*part),
                _ => {}
            }
        }
    }
    let mut reliefs = on_it("temperature and pressure relief valve");
    let to_relief = cx.walk_from(Way::Any, cylinder, &["relief", "hot"], |p| !leaves_store(cx, p));
    for part in &to_relief.parts {
        let fits = cx.is(*part, "temperature and pressure relief valve");
        let own = cx.system.part(*part).on.is_none_or(|host| host == cylinder);
        if fits && own && !reliefs.contains(part) {
            reliefs.push(*part);
        }
    }
    let cold_side = cx.walk_from(Way::Any, cylinder, &["cold"], |p| {
        !cx.is_check(p) && !cx.is(p, "reducing valve") && !leaves_store(cx, p)
    });
    // Past the reducing valve the first stop valve is the store's own; beyond it lies the building.
    let reduced = std::cell::Cell::new(false);
    let cold_supply = cx.walk_from(Way::Any, cylinder, &["cold"], |p| {
        if cx.is(p, "reducing valve") {
            reduced.set(true);
        }
        let past = reduced.get() && cx.closes(p) == Closes::ByHand;
        !past && !leaves_store(cx, p)
    });
    let coils = [("flow", "return", false), ("solar flow", "solar return", true)]
        .into_iter()
        .filter_map(|(flow, back, solar)| {
            Some(coil(cx, cx.port(cylinder, flow)?, cx.port(cylinder, back)?, solar))
        })
        .collect();
    Store { cylinder, reliefs, immersions, cut_outs, thermostats, coils, cold_side, cold_supply }
}

fn coil(cx: &Context, flow: PortRef, back: PortRef, solar: bool) -> Coil {
    let stops = |p: PartIx| {
        let kind = &cx.system.part(p).kind;
        !kind.heats && kind.closes != Closes::Lifts && !cx.is(p, "filling loop")
    };
    let flow_side = cx.walk(Way::Up, [flow], stops);
    let return_side = cx.walk(Way::Down, [back], stops);
    let sources =
        flow_side.parts.iter().copied().filter(|p| cx.system.part(*p).kind.heats).collect();
    Coil { flow, back, solar, sources, flow_side, return_side }
}

/// Beyond these the water is no longer the store's: outlets, blending valves, reliefs, other
/// stores, the filling of the heating, a tank with an air gap.
fn leaves_store(cx: &Context, part: PartIx) -> bool {
    cx.closes(part) == Closes::Lifts
        || cx.system.part(part).kind.heats
        || cx.is_any(part, &CYLINDERS)
        || cx.is_any(part, &super::context::OUTLETS)
        || cx.is_any(part, &["filling loop", "blending valve", "break tank", "water main"])
}

impl Store {
    /// Litres, if known.
    pub fn litres(&self, cx: &Context) -> Option<super::context::Known> {
        cx.number(self.cylinder, "litres")
    }

    /// Unvented and over the volume from which the safety devices are asked for. A store of
    /// unknown volume counts as one.
    pub fn needs_safety(&self, cx: &Context) -> bool {
        let least = cx.limit("SAF01.volume").value;
        self.litres(cx).is_none_or(|l| l.value > least)
    }

    /// The expansion of its water is taken up inside it.
    pub fn air_gap(&self, cx: &Context) -> bool {
        cx.declares(self.cylinder, "air gap inside")
            || cx.declares(self.cylinder, "twin air gap")
            || cx.text(self.cylinder, "expansion") == Some("internal")
    }

    pub fn vessels(&self, cx: &Context) -> Vec<PartIx> {
        self.cold_side.parts.iter().copied().filter(|p| cx.is(*p, "hot-water vessel")).collect()
    }

    /// The first reducing valve met against the flow.
    pub fn reducing_valve(&self, cx: &Context) -> Option<PartIx> {
        self.cold_supply.parts.iter().copied().find(|p| cx.is(*p, "reducing valve"))
    }

    pub fn expansion_reliefs(&self, cx: &Context) -> Vec<PartIx> {
        let parts = self.cold_side.parts.iter().copied();
        parts.filter(|p| cx.is(*p, "expansion relief valve")).collect()
    }
}
