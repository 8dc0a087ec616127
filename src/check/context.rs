//! What every rule reads. In: the sized system and what else is known. Out: look-ups, the stores
//! and the safety discharges, found once.

use std::cell::OnceCell;
use std::collections::{BTreeMap, BTreeSet};

pub use super::known::{Known, assumed, flag_of, number_of};

use super::discharge::{self, Discharge};
use super::drawing::DrawingFacts;
use super::store::{self, Store};
use super::walk::Way;
use crate::catalogue::limits::{self, Limit};
use crate::catalogue::{Closes, Mount, Tube};
use crate::layout::cupboard::plan::{CupboardPlan, Owner, Route, Solid};
use crate::layout::cupboard::takeoff;
use crate::model::{PartIx, Pipe, PipeIx, PortRef, Service, System, Water};
use crate::size::{Figure, Sized};
use crate::wire::{WireFault, Wiring};

pub struct Context<'a> {
    pub sized: &'a Sized,
    pub system: &'a System,
    pub wiring: Option<&'a Wiring>,
    pub cupboard: Option<&'a CupboardPlan>,
    pub drawing: Option<&'a DrawingFacts>,
    /// Every hot-water store that these rules cover.
    pub stores: Vec<Store>,
    /// Every tundish of such a store or of the heating, with what leads to it and from it.
    pub discharges: Vec<Discharge>,
    circulating: BTreeSet<PartIx>,
    wire_faults: OnceCell<Vec<WireFault>>,
    joined: Vec<Vec<Option<PipeIx>>>,
    ids: BTreeMap<&'a str, PipeIx>,
    tags: BTreeMap<&'a str, PartIx>,
    figures: BTreeMap<(&'a str, &'a str), &'a Figure>,
    fitted: BTreeMap<PartIx, Vec<PartIx>>,
    kinds: BTreeMap<&'a str, Vec<PartIx>>,
    solids: BTreeMap<Owner, usize>,
    routes: BTreeMap<PipeIx, usize>,
}

/// Kinds whose store the unvented rules speak of.
pub const CYLINDERS: [&str; 3] = ["indirect cylinder", "direct cylinder", "twin-coil cylinder"];

impl<'a> Context<'a> {
    pub fn new(
        sized: &'a Sized,
        wiring: Option<&'a Wiring>,
        cupboard: Option<&'a CupboardPlan>,
        drawing: Option<&'a DrawingFacts>,
    ) -> Context<'a> {
        let system = &sized.system;
        let mut joined: Vec<Vec<Option<PipeIx>>> =
            system.parts.iter().map(|p| vec![None; p.kind.ports.len()]).collect();
        for (ix, pipe) in system.pipes.iter().enumerate() {
            for port in [pipe.from, pipe.to] {
                if let Some(slot) =
                    joined.get_mut(port.part.0).and_then(|ports| ports.get_mut(port.port))
                {
                    *slot = Some(PipeIx(ix));
                }
            }
        }
        let ids =
            system.pipes.iter().enumerate().map(|(i, p)| (p.id.as_str(), PipeIx(i))).collect();
        let tags =
            system.parts.iter().enumerate().map(|(i, p)| (p.tag.as_str(), PartIx(i))).collect();
        let mut fitted: BTreeMap<PartIx, Vec<PartIx>> = BTreeMap::new();
        let mut kinds: BTreeMap<&str, Vec<PartIx>> = BTreeMap::new();
        for (ix, part) in system.parts.iter().enumerate() {
            if let Some(host) = part.on {
                fitted.entry(host).or_default().push(PartIx(ix));
            }
            let key: &'a str = part.kind.row().key.as_str();
            kinds.entry(key).or_default().push(PartIx(ix));
        }
        let figures =
            sized.figures.iter().map(|f| ((f.id.as_str(), f.about.as_str()), f)).collect();
        let enumerated = |plan: &'a CupboardPlan| plan.solids.iter().enumerate();
        let solids = cupboard.into_iter().flat_map(enumerated).map(|(i, s)| (s.owner, i)).collect();
        let routes = cupboard
            .into_iter()
            .flat_map(|plan| plan.routes.iter().enumerate())
            .map(|(i, r)| (r.pipe, i))
            .collect();
        let mut cx = Context {
            sized,
            system,
            wiring,
            cupboard,
            drawing,
            stores: Vec::new(),
            discharges: Vec::new(),
            circulating: BTreeSet::new(),
            wire_faults: OnceCell::new(),
            joined,
            ids,
            tags,
            figures,
            fitted,
            kinds,
            solids,
            routes,
        };
        let (within, outside): (Vec<Store>, Vec<Store>) =
            store::find(&cx).into_iter().partition(|s| !cx.is_outside(s.cylinder));
        cx.stores = within;
        // What a store outside these rules discharges lies outside them too.
        cx.discharges = discharge::find(&cx);
        cx.discharges.retain(|d| {
            let of_it =
                |v: PartIx| outside.iter().any(|s| s.reliefs.contains(&v) || s.cold_side.has(v));
            !d.valves.iter().any(|v| of_it(v.valve))
        });
        cx.circulating = circulating(&cx);
        cx
    }

    pub fn limit(&self, id: &str) -> Limit {
        limits::find(&self.system.rules, id)
    }

    // ---- parts ----

    pub fn key(&self, part: PartIx) -> &'static str {
        self.system.part(part).kind.row().key.as_str()
    }

    pub fn is(&self, part: PartIx, key: &str) -> bool {
        self.key(part) == key
    }

    pub fn is_any(&self, part: PartIx, keys: &[&str]) -> bool {
        keys.contains(&self.key(part))
    }

    pub fn tag(&self, part: PartIx) -> &str {
        &self.system.part(part).tag
    }

    pub fn by_tag(&self, tag: &str) -> Option<PartIx> {
        self.tags.get(tag).copied()
    }

    /// Parts of a kind, in the order of the job.
    pub fn of(&self, key: &str) -> Vec<PartIx> {
        self.kinds.get(key).cloned().unwrap_or_default()
    }

    pub fn of_any(&self, keys: &[&str]) -> Vec<PartIx> {
        let mut all: Vec<PartIx> = keys.iter().flat_map(|k| self.of(k)).collect();
        all.sort();
        all
    }

    /// Parts fitted to that part's body.
    pub fn on(&self, host: PartIx) -> &[PartIx] {
        self.fitted.get(&host).map_or(&[], Vec::as_slice)
    }

    pub fn declares(&self, part: PartIx, fact: &str) -> bool {
        self.system.part(part).declares(fact)
    }

    pub fn closes(&self, part: PartIx) -> Closes {
        self.system.part(part).kind.closes
    }

    /// A lever, a screw, a motor: what can stop the water for somebody's ends.
    pub fn can_shut(&self, part: PartIx) -> bool {
        matches!(self.closes(part), Closes::ByHand | Closes::ByMotor | Closes::Diverts)
    }

    pub fn is_check(&self, part: PartIx) -> bool {
        self.closes(part) == Closes::Check || self.declares(part, "check valve inside")
    }

    /// Lets water pass in both directions at all times: neither closes nor checks, and is no
    /// consumer, vessel or relief.
    pub fn is_open(&self, part: PartIx) -> bool {
        self.closes(part) == Closes::Never && !self.is_check(part)
    }

    /// The sources of heat for the primary circuit that these rules cover.
    pub fn sources(&self) -> Vec<PartIx> {
        let mut all = self.all_sources();
        all.retain(|s| !self.is_outside(*s));
        all
    }

    fn all_sources(&self) -> Vec<PartIx> {
        self.of_any(&["system boiler", "combination boiler", "heat pump", "uncontrolled source"])
    }

    /// A thermal store, an open-vented store or primary, a stove: said to lie outside these rules.
    pub fn is_outside(&self, part: PartIx) -> bool {
        self.system.part(part).lies_outside()
    }

    /// No heating that these rules cover, though there is some: its vessels, its filling and its
    /// controls are drawn as a sealed circuit's would be and are not judged.
    pub fn heating_outside(&self) -> bool {
        !self.all_sources().is_empty() && self.sources().is_empty()
    }

    /// The parts that use water at an outlet.
    pub fn outlets(&self) -> Vec<PartIx> {
        self.of_any(&OUTLETS)
    }

    pub fn emitters(&self) -> Vec<PartIx> {
        self.of_any(&EMITTERS)
    }

    pub fn number(&self, part: PartIx, key: &str) -> Option<Known> {
        number_of(&self.system.part(part).attrs, key)
    }

    /// The part's figure, or what the unit it comes in says.
    pub fn number_or_unit(&self, part: PartIx, key: &str) -> Option<Known> {
        self.number(part, key).or_else(|| {
            let unit = self.system.part(part).unit?;
            number_of(&self.system.unit(unit).attrs, key)
        })
    }

    pub fn text(&self, part: PartIx, key: &str) -> Option<&str> {
        self.system.part(part).text(key)
    }

    pub fn flag(&self, part: PartIx, key: &str) -> Option<bool> {
        flag_of(&self.system.part(part).attrs, key)
    }

    pub fn is_assumed(&self, part: PartIx, key: &str) -> bool {
        self.system.part(part).attrs.is_assumed(key)
    }

    /// The measures of a store's body, from which the drawing takes its heights, are not all known.
    pub fn body_assumed(&self, part: PartIx) -> bool {
        let part = self.system.part(part);
        let of_unit = part.unit.map(|u| &self.system.unit(u).attrs);
        let measure = |key: &str| ["height", "diameter"].contains(&key) || key.starts_with("port.");
        std::iter::once(&part.attrs)
            .chain(of_unit)
            .flat_map(|a| &a.0)
            .any(|(key, v)| measure(key) && v.origin.is_assumed())
    }

    /// Comes in a factory-made unit.
    pub fn factory(&self, part: PartIx) -> bool {
        self.system.part(part).unit.is_some()
    }

    /// The part was added by completion, not named in the description.
    pub fn added(&self, part: PartIx) -> bool {
        self.system.part(part).span.is_empty()
    }

    /// Height of the part's fixing centre where the description or the cupboard gives it, mm.
    pub fn height(&self, part: PartIx) -> Option<Known> {
        if let Some(z) = &self.system.part(part).place.z {
            return Some(Known::of(z));
        }
        let solid = self.solid(part)?;
        Some(Known { value: solid.at.z + solid.at.h / 2.0, assumed: false, span: 0..0 })
    }

    pub fn dwelling_number(&self, key: &str) -> Option<Known> {
        number_of(&self.system.site.dwelling, key)
    }

    pub fn dwelling_flag(&self, key: &str) -> bool {
        flag_of(&self.system.site.dwelling, key) == Some(true)
    }

    // ---- ports and pipes ----

    pub fn port(&self, part: PartIx, name: &str) -> Option<PortRef> {
        let port = self.system.part(part).kind.port(name)?;
        Some(PortRef { part, port })
    }

    pub fn pipe_at(&self, port: PortRef) -> Option<PipeIx> {
        *self.joined.get(port.part.0)?.get(port.port)?
    }

    pub fn pipe_on(&self, part: PartIx, port: &str) -> Option<&Pipe> {
        self.pipe_at(self.port(part, port)?).map(|ix| self.system.pipe(ix))
    }

    pub fn pipe_id(&self, pipe: PipeIx) -> &'a str {
        &self.system.pipe(pipe).id
    }

    /// A pipe as it is found on the sheets: "22 MCW, MN1 to SV2". Tees bear no tag: what is told
    /// is the next part beyond them.
    pub fn pipe_words(&self, pipe: PipeIx) -> String {
        let p = self.system.pipe(pipe);
        let size = p.size.as_ref().map_or("", |s| s.value.as_str());
        let label = format!("{size} {}", p.service.letters());
        let (from, to) = (self.tagged(p.from.part, Way::Up), self.tagged(p.to.part, Way::Down));
        format!("{}, {} to {}", label.trim(), self.tag(from), self.tag(to))
    }

    /// The part itself, or the first with a tag on the sheets up or down the flow.
    fn tagged(&self, mut part: PartIx, way: Way) -> PartIx {
        const FAR: usize = 40;
        for _ in 0..FAR {
            if !self.is(part, "tee") {
                break;
            }
            let next = self.pipes_of(part).find_map(|x| {
                let p = self.system.pipe(x);
                match way {
                    Way::Up => (p.to.part == part).then_some(p.from.part),
                    _ => (p.from.part == part).then_some(p.to.part),
                }
            });
            match next {
                Some(next) => part = next,
                None => break,
            }
        }
        part
    }

    /// The pipe of that id.
    pub fn pipe_called(&self, id: &str) -> Option<PipeIx> {
        self.ids.get(id).copied()
    }

    /// The pipes that meet a part, in the order of its ports.
    pub fn pipes_of(&self, part: PartIx) -> impl Iterator<Item = PipeIx> + '_ {
        self.joined[part.0].iter().flatten().copied()
    }

    pub fn tube(&self, pipe: PipeIx) -> Option<&'static Tube> {
        Tube::called(&self.system.pipe(pipe).size.as_ref()?.value)
    }

    /// Length of a pipe, m: as stated; where that is missing or assumed, as routed in the cupboard.
    /// A pipe that leaves it is never shorter than what it shows inside.
    pub fn length(&self, pipe: PipeIx) -> Option<Known> {
        let given = self.system.pipe(pipe).length.as_ref().map(Known::of);
        let route = self.route(pipe).filter(|r| r.routed);
        let Some(route) = route.filter(|_| given.as_ref().is_none_or(|g| g.assumed)) else {
            return given;
        };
        let mm: f64 = route.points.windows(2).map(|w| distance(w[0], w[1])).sum();
        match (&route.exit, given) {
            (None, _) => Some(Known { value: mm / 1000.0, assumed: false, span: 0..0 }),
            (Some(_), Some(g)) => Some(Known { value: g.value.max(mm / 1000.0), ..g }),
            (Some(_), None) => None,
        }
    }

    /// Elbows along a pipe: as stated; where that is missing or assumed, as routed. Of an assumed
    /// number one is the first bend inside, the others lie beyond the wall.
    pub fn elbows(&self, pipe: PipeIx) -> Option<Known> {
        let given = self.system.pipe(pipe).elbows.as_ref().map(Known::of);
        let route = self.route(pipe).filter(|r| r.routed);
        let Some(route) = route.filter(|_| given.as_ref().is_none_or(|g| g.assumed)) else {
            return given;
        };
        let inside = takeoff::elbows(route) as f64;
        match (&route.exit, given) {
            (None, _) => Some(Known { value: inside, assumed: false, span: 0..0 }),
            (Some(_), Some(g)) => Some(Known { value: inside + (g.value - 1.0).max(0.0), ..g }),
            (Some(_), None) => None,
        }
    }

    /// Length, m, and elbows of a pipe within the cupboard, as routed.
    pub fn inside(&self, pipe: PipeIx) -> Option<(f64, f64)> {
        let route = self.route(pipe).filter(|r| r.routed)?;
        Some((self.cupboard?.way(&[pipe])? / 1000.0, takeoff::elbows(route) as f64))
    }

    /// The classes of water in the pipes on a part.
    pub fn waters(&self, part: PartIx) -> Vec<Water> {
        let mut all: Vec<Water> =
            self.pipes_of(part).map(|p| self.system.pipe(p).service.water()).collect();
        all.sort();
        all.dedup();
        all
    }

    pub fn carries(&self, part: PartIx, service: Service) -> bool {
        self.pipes_of(part).any(|p| self.system.pipe(p).service == service)
    }

    /// Some hot water is kept moving by a pump.
    pub fn has_circulation(&self) -> bool {
        !self.circulating.is_empty()
    }

    /// On a loop of hot water that is kept hot by a circulating pump.
    pub fn circulates(&self, part: PartIx) -> bool {
        self.circulating.contains(&part)
    }

    /// What the netlist's own rules find.
    pub fn wire_faults(&self) -> &[WireFault] {
        self.wire_faults.get_or_init(|| self.wiring.map(Wiring::faults).unwrap_or_default())
    }

    // ---- figures and the cupboard ----

    pub fn figure(&self, id: &str, about: &str) -> Option<&'a Figure> {
        self.figures.get(&(id, about)).copied()
    }

    /// Every figure of an id, in a fixed order.
    pub fn figures<'s>(&'s self, id: &'s str) -> impl Iterator<Item = &'a Figure> + 's {
        self.figures.range((id, "")..).take_while(move |(k, _)| k.0 == id).map(|(_, f)| *f)
    }

    pub fn solid(&self, part: PartIx) -> Option<&'a Solid> {
        let unit = self.system.part(part).unit;
        let ix = self
            .solids
            .get(&Owner::Part(part))
            .or_else(|| unit.and_then(|u| self.solids.get(&Owner::Unit(u))))?;
        self.cupboard?.solids.get(*ix)
    }

    pub fn route(&self, pipe: PipeIx) -> Option<&'a Route> {
        self.cupboard?.routes.get(*self.routes.get(&pipe)?)
    }

    /// Where a port is in the room, if the cupboard layout has placed it.
    pub fn port_place(&self, port: PortRef) -> Option<crate::model::P3> {
        let solid = self.solid(port.part)?;
        if solid.owner != Owner::Part(port.part) {
            return None;
        }
        solid.ports.iter().find(|p| p.port == port.port).map(|p| p.at)
    }

    /// Body that stands in the cupboard by its kind or by the description.
    pub fn stands_in_cupboard(&self, part: PartIx) -> bool {
        let p = self.system.part(part);
        let placed = p.place.x.is_some() || p.place.z.is_some() || p.place.side.is_some();
        p.in_cupboard() && (p.kind.mount != Mount::Elsewhere || placed)
    }
}

/// Every part on a way from a store's hot port round to where the return comes back.
fn circulating(cx: &Context) -> BTreeSet<PartIx> {
    let returns = |p: &Pipe| p.service == Service::HotReturn;
    let mut all = BTreeSet::new();
    for pipe in cx.system.pipes.iter().filter(|p| returns(p)) {
        // Against the flow from the return to the store; what is met on the hot side is on the way.
        let up = cx.walk(Way::Up, [pipe.to], |p| !cx.is_any(p, &CYLINDERS));
        if let Some(store) = up.parts.iter().copied().find(|p| cx.is_any(*p, &CYLINDERS)) {
            all.extend(up.between(store));
        }
    }
    all
}

pub const OUTLETS: [&str; 12] = [
    "bath",
    "shower",
    "basin",
    "bidet",
    "kitchen sink",
    "WC",
    "washing machine",
    "dishwasher",
    "outside tap",
    "hard tap",
    "hot outlets",
    "cold outlets",
];

pub const EMITTERS: [&str; 3] = ["radiator circuit", "underfloor circuits", "towel rail circuit"];

pub fn distance(a: crate::model::P3, b: crate::model::P3) -> f64 {
    let (dx, dy, dz) = (a.x - b.x, a.y - b.y, a.z - b.z);
    (dx * dx + dy * dy + dz * dz).sqrt()
}
