//! Component graph → scheme. In: the system. Out: the demands that must be wired: which valve opens
//! the way to which user, found by following the water, and which control belongs to it.

mod pumps;
mod zones;

use std::collections::BTreeSet;

use super::dwellings::alike;
use super::netlist::Pipework;
use super::scheme::{
    Call, Diverter, Frost, Immersion, Named, Scheme, Secondary, Solar, Source, Store,
};
use crate::catalogue::Closes;
use crate::model::dwelling::dwellings;
use crate::model::{Part, PartIx, PortRef, System};

const EMITTERS: [&str; 3] = ["radiator circuit", "underfloor circuits", "towel rail circuit"];
const COIL_STORES: [&str; 2] = ["indirect cylinder", "twin-coil cylinder"];
const SOURCES: [&str; 3] = ["system boiler", "combination boiler", "heat pump"];

/// What the system needs wired.
pub fn survey(system: &System) -> Scheme {
    let dwellings = dwellings(system);
    let only = dwellings.first().map(|(_, parts)| parts.clone());
    let scope = dwellings.first().map(|(name, _)| name.clone()).unwrap_or_default();
    let mut g = Graph { system, taken: BTreeSet::new(), only, scope };
    let mut s = Scheme {
        supply_unit: g.first("fused connection unit"),
        fuse: g.number("fused connection unit", "fuse"),
        centre: g.first("wiring centre"),
        relay_box: g.all("relay box").first().map(|ix| g.named(*ix)),
        centre_ways: g.number("wiring centre", "terminals").map(|n| n as u32),
        source: g.source(),
        ..Scheme::default()
    };
    g.users(&mut s);
    g.extras(&mut s);
    s.programmer = g.first("programmer");
    s.channels = g.number("programmer", "channels").map(|n| n as u32);
    s.immersions = g.immersions(&s);
    s.pipework = g.pipework(&s);
    s.pipework.pumps = g.pump_ways(&s);
    g.remarks(&mut s);
    alike(system, &dwellings, &mut s);
    s
}

struct Graph<'a> {
    system: &'a System,
    /// Controls that have found their use.
    taken: BTreeSet<PartIx>,
    /// The parts of the one dwelling that is wired, where there are several.
    only: Option<BTreeSet<PartIx>>,
    /// What their names begin with.
    scope: String,
}

/// What a walk along the water met.
#[derive(Default)]
struct Met {
    emitters: Vec<PartIx>,
    /// Cylinders entered by their coil.
    stores: Vec<PartIx>,
    buffers: Vec<PartIx>,
    valves: Vec<PartIx>,
}

impl<'a> Graph<'a> {
    fn named(&self, ix: PartIx) -> Named {
        let p = self.system.part(ix);
        Named {
            tag: Some(p.tag.clone()),
            place: p.place.elsewhere.clone().unwrap_or_default(),
            watts: p.number("watts"),
            setting: p.number("setting"),
        }
    }

    fn all(&self, kind: &str) -> Vec<PartIx> {
        let mine = |ix: &PartIx| self.only.as_ref().is_none_or(|o| o.contains(ix));
        let mut found: Vec<PartIx> =
            self.system.of_kind(kind).map(|(ix, _)| ix).filter(mine).collect();
        found.sort_by_key(|ix| (self.system.part(*ix).tag.len(), &self.system.part(*ix).tag));
        found
    }

    /// What people call a part, without the dwelling it is in.
    fn called(&self, ix: PartIx) -> String {
        let name = &self.system.part(ix).name;
        name.strip_prefix(self.scope.as_str()).unwrap_or(name).to_owned()
    }

    /// The first unused part of a kind, or a nameless one.
    fn first(&mut self, kind: &str) -> Named {
        self.take(kind, |_| true).map(|ix| self.named(ix)).unwrap_or_default()
    }

    /// The first unused part of a kind that fits.
    fn take(&mut self, kind: &str, fits: impl Fn(&Part) -> bool) -> Option<PartIx> {
        let ix = self
            .all(kind)
            .into_iter()
            .find(|ix| !self.taken.contains(ix) && fits(self.system.part(*ix)))?;
        self.taken.insert(ix);
        Some(ix)
    }

    /// The part that fits best, else the first unused one that belongs to nothing else.
    fn take_or(
        &mut self,
        kind: &str,
        fits: impl Fn(&Part) -> bool,
        free: impl Fn(&Part) -> bool,
    ) -> Option<PartIx> {
        self.take(kind, fits).or_else(|| self.take(kind, free))
    }

    fn number(&self, kind: &str, attr: &str) -> Option<f64> {
        self.all(kind).first().and_then(|ix| self.system.part(*ix).number(attr))
    }

    /// Follows the water from a port, downstream or upstream, through everything that is no user,
    /// no source and no other motor valve.
    fn follow(&self, from: PortRef, down: bool, past: bool) -> Met {
        let mut met = Met::default();
        let mut seen = BTreeSet::new();
        let mut todo = vec![from];
        while let Some(port) = todo.pop() {
            let Some(pipe) = self.system.pipe_at(port) else { continue };
            let p = self.system.pipe(pipe);
            let far = if down { p.to } else { p.from };
            if far == port || !seen.insert((far.part, far.port)) {
                continue;
            }
            let part = self.system.part(far.part);
            let key = part.kind.key.as_str();
            if EMITTERS.contains(&key) {
                met.emitters.push(far.part);
            } else if COIL_STORES.contains(&key) {
                met.stores.push(far.part);
            } else if key == "buffer" || key == "low-loss header" {
                met.buffers.push(far.part);
            } else if matches!(part.kind.closes, Closes::ByMotor | Closes::Diverts) {
                met.valves.push(far.part);
                if past {
                    for next in part.kind.shares_water(far.port) {
                        todo.push(PortRef { part: far.part, port: next });
                    }
                }
            } else if !SOURCES.contains(&key) && key != "bypass valve" {
                for next in part.kind.shares_water(far.port) {
                    todo.push(PortRef { part: far.part, port: next });
                }
            }
        }
        for list in [&mut met.emitters, &mut met.stores, &mut met.buffers, &mut met.valves] {
            list.sort();
            list.dedup();
        }
        met
    }

    fn walk_from(&self, part: PartIx, port: &str, down: bool) -> Met {
        self.follow_from(part, port, down, false)
    }

    fn follow_from(&self, part: PartIx, port: &str, down: bool, past: bool) -> Met {
        match self.system.part(part).kind.port(port) {
            Some(port) => self.follow(PortRef { part, port }, down, past),
            None => Met::default(),
        }
    }

    /// Whom a two-port valve or a pump serves: on the flow side, or else on the return side.
    fn served(&self, part: PartIx) -> Met {
        let down = self.walk_from(part, "out", true);
        if !down.emitters.is_empty() || !down.stores.is_empty() || !down.valves.is_empty() {
            return down;
        }
        self.walk_from(part, "in", false)
    }

    fn source(&mut self) -> Option<Source> {
        let ix = SOURCES.iter().find_map(|k| self.all(k).first().copied())?;
        let p = self.system.part(ix);
        let yes = |k: &str| {
            p.attrs.flag(k) || p.text(k).is_some_and(|t| !matches!(t, "no" | "none" | "false"))
        };
        let call = match p.text("call").unwrap_or_default() {
            "volt-free" | "voltfree" | "volt free" => Call::VoltFree,
            "bus" | "data" | "elv" => Call::Bus,
            _ => Call::Mains,
        };
        Some(Source {
            named: Named { watts: None, setting: None, ..self.named(ix) },
            heat_pump: p.kind.key == "heat pump",
            permanent: p.kind.key != "heat pump",
            overrun: p.declares("pump overrun") || yes("overrun"),
            call,
        })
    }

    fn users(&mut self, s: &mut Scheme) {
        let valves = self.all("zone valve");
        let serves: Vec<(PartIx, Met)> = valves.iter().map(|v| (*v, self.served(*v))).collect();
        if let Some(dv) = self.all("three-port diverter").first().copied() {
            let rest = self.walk_from(dv, "rest", true);
            let rests_on_cylinder = !rest.stores.is_empty();
            s.diverter = Some(Diverter { named: self.named(dv), rests_on_cylinder });
        }
        s.mid_position = self.all("mid-position valve").first().map(|ix| self.named(*ix));
        if s.source.as_ref().is_some_and(|p| p.heat_pump) {
            s.buffer = self.all("buffer").first().map(|ix| self.named(*ix));
        }
        let mut stores = Vec::new();
        for key in COIL_STORES {
            for ix in self.all(key) {
                stores.push(ix);
                let valve = serves.iter().find(|(_, m)| m.stores.contains(&ix)).map(|(v, _)| *v);
                let store = self.store(ix, valve);
                s.stores.push(store);
            }
        }
        let many = s.stores.len() > 1;
        if let (false, Some(store)) = (many, s.stores.first_mut()) {
            store.name = "hot water".to_owned();
        }
        let zones = self.zones(s, &serves);
        self.pumps(s, &pumps::Users { stores, zones });
    }

    fn store(&mut self, ix: PartIx, valve: Option<PartIx>) -> Store {
        let on = |p: &Part| p.on == Some(ix);
        let thermostat = self.take_or("cylinder thermostat", on, |p| p.on.is_none());
        let system = self.system;
        let guards_coil = |p: &Part| !guards_kind(system, p, &["solar", "immersion"]);
        let cut_out = self.take_or(
            "overheat cut-out",
            |p| on(p) && guards_coil(p),
            |p| p.on.is_none() && guards_coil(p),
        );
        Store {
            name: self.called(ix),
            named: self.named(ix),
            valve: valve.map(|v| self.named(v)),
            thermostat: thermostat.map(|t| self.named(t)).unwrap_or_default(),
            cut_out: cut_out.map(|t| self.named(t)),
        }
    }

    fn extras(&mut self, s: &mut Scheme) {
        if let Some(pump) = self.all("secondary pump").first().copied() {
            let timer = self.first("circulation timer");
            let pipe = self.take_or(
                "pipe thermostat",
                |p| p.on == Some(pump),
                |p| !p.name.contains("frost"),
            );
            s.secondary = Some(Secondary {
                pump: self.named(pump),
                timer,
                thermostat: pipe.map(|ix| self.named(ix)).unwrap_or_default(),
            });
        }
        if let Some(air) = self.all("frost thermostat").first().copied() {
            let pipe = self.first("pipe thermostat");
            s.frost = Some(Frost { air: self.named(air), pipe });
        }
        if let Some(pump) = self.all("solar pump station").first().copied() {
            let controller = self.first("solar controller");
            let system = self.system;
            let cut_out = self.take("overheat cut-out", |p| guards_kind(system, p, &["solar"]));
            s.solar = Some(Solar {
                controller,
                pump: self.named(pump),
                cut_out: cut_out.map(|ix| self.named(ix)),
            });
        }
    }

    fn immersions(&mut self, s: &Scheme) -> Vec<Immersion> {
        let heaters = self.all("immersion heater");
        let many = heaters.len() > 1;
        let mut list = Vec::new();
        for (i, ix) in heaters.iter().enumerate() {
            let part = self.system.part(*ix);
            // The only one needs no telling from another.
            let position = match (many, part.text("position"), i) {
                (false, ..) => "",
                (true, Some(stated), _) => stated,
                (true, None, 0) => "lower",
                (true, None, 1) => "upper",
                _ => "",
            };
            let mine = |key: &'static str| {
                move |p: &Part| p.text(key).is_some_and(|t| t == part.name || t == part.tag)
            };
            let free = |p: &Part| p.text("for").is_none();
            let switch = self.take_or("double-pole switch", mine("for"), free);
            let wants_surplus = part.text("diverter").is_some() || part.attrs.flag("diverter");
            let diverter = (wants_surplus || i == 0)
                .then(|| self.take("boost diverter", |_| true))
                .flatten()
                .map(|d| self.named(d));
            // A time switch of its own, where the heater is the system's source.
            let timer = (s.source.is_none() && diverter.is_none())
                .then(|| self.take("programmer", |_| true))
                .flatten()
                .map(|t| self.named(t));
            let guarded = self.system.parts.iter().any(|p| {
                p.kind.key == "overheat cut-out" && (p.on == Some(*ix) || mine("guards")(p))
            });
            list.push(Immersion {
                named: Named { watts: None, ..self.named(*ix) },
                words: format!("{position} immersion heater").trim().to_owned(),
                kw: part.number("kw").filter(|k| *k > 0.0),
                volts: part.number("volts").filter(|v| *v > 0.0),
                circuit: part.text("circuit").unwrap_or_default().to_owned(),
                switch: switch.map(|t| self.named(t)).unwrap_or_default(),
                timer,
                diverter,
                cut_out: guarded || part.declares("own cut-out"),
            });
        }
        list
    }

    fn pipework(&self, s: &Scheme) -> Pipework {
        let has = |k: &str| !self.all(k).is_empty();
        let source_bypass = SOURCES
            .iter()
            .flat_map(|k| self.all(k))
            .any(|ix| self.system.part(ix).declares("internal bypass"));
        let loose = EMITTERS.iter().flat_map(|k| self.all(k)).any(|e| self.always_open(e));
        Pipework {
            open_with_valves_shut: has("bypass valve")
                || has("low-loss header")
                || has("buffer")
                || source_bypass
                || loose
                || s.mid_position.is_some()
                || s.diverter.is_some(),
            unvented: ["indirect cylinder", "direct cylinder", "twin-coil cylinder"]
                .into_iter()
                .any(has),
            jurisdiction: self.system.rules.jurisdiction.value.clone(),
            like_for_like: false,
            own_water: has("combination boiler"),
            pumps: Vec::new(),
        }
    }

    fn remarks(&self, s: &mut Scheme) {
        for ix in self.all("booster pump") {
            s.notes.push(format!(
                "{}: own fused supply to the maker's instructions, not on this sheet.",
                self.system.part(ix).tag
            ));
        }
        for ix in self.all("uncontrolled source") {
            s.notes.push(format!(
                "{}: cannot be switched off by wiring; its heat must have a safe way out.",
                self.system.part(ix).tag
            ));
        }
        if s.source.as_ref().is_some_and(|p| p.call == Call::Bus) {
            s.notes.push(
                "The call goes over the maker's data line: use the maker's own interface in place of the relay contact shown.".to_owned(),
            );
        }
    }
}

/// True where a word names one of the parts, by tag or by name.
fn named_by(system: &System, word: &str, parts: &[PartIx]) -> bool {
    parts.iter().map(|p| system.part(*p)).any(|p| p.tag == word || p.name == word)
}

/// True where what a cut-out guards is of one of these kinds, or is called so.
fn guards_kind(system: &System, cut_out: &Part, kinds: &[&str]) -> bool {
    let Some(word) = cut_out.text("guards") else { return false };
    let kind = system
        .by_tag(word)
        .or_else(|| system.by_name(word))
        .map_or(word, |ix| system.part(ix).kind.key.as_str());
    kinds.iter().any(|k| kind.contains(k))
}
