//! What must hold of every completed system, checked on facts made here and at random.

mod examples;
mod insisted;
mod variants;

use std::collections::{BTreeMap, BTreeSet};

use proptest::prelude::*;

use super::{Completed, complete};
use crate::catalogue::Closes;
use crate::describe::facts::{
    CylinderFacts, EquipmentFacts, Facts, Given, HeatedBy, MainFacts, Mark, OutletFacts, PartFacts,
    Properties, RunFacts, SecondaryFacts, SourceFacts, SourceKind, ZoneFacts,
};
use crate::model::{Datum, Origin, PartIx, PortRef, Service, System, Water};

fn given<T>(value: T) -> Given<T> {
    Given { value, span: 1..2, mark: Mark::Stated }
}

fn props(list: &[(&str, f64)]) -> Properties {
    list.iter().map(|(k, v)| ((*k).to_owned(), given(Datum::Number(*v)))).collect()
}

fn cylinder(heated: HeatedBy, litres: f64) -> CylinderFacts {
    CylinderFacts {
        heated: Some(given(heated)),
        properties: props(&[("litres", litres)]),
        span: 1..2,
        ..CylinderFacts::default()
    }
}

fn source(kind: SourceKind, kw: f64) -> SourceFacts {
    SourceFacts {
        name: None,
        kind: given(kind),
        properties: props(&[("kw", kw)]),
        declared: Vec::new(),
        place: Default::default(),
        tails: Vec::new(),
        span: 1..2,
    }
}

fn zone(name: &str, emitters: &str, kw: f64) -> ZoneFacts {
    ZoneFacts {
        name: Some(given(name.to_owned())),
        emitters: Some(given(emitters.to_owned())),
        properties: props(&[("kw", kw)]),
        span: 1..2,
        ..ZoneFacts::default()
    }
}

fn outlet(kind: &str, count: u32) -> OutletFacts {
    OutletFacts {
        kind: given(kind.to_owned()),
        count: given(count),
        properties: Properties::new(),
        span: 1..2,
    }
}

/// The kind a description's word means.
fn kind_of(word: &str) -> String {
    let key = match word {
        "header" => "low-loss header",
        "booster" => "booster pump",
        "solar" => "solar collector",
        "frost" => "frost thermostat",
        "leg" | "vessel" => "",
        other => other,
    };
    key.to_owned()
}

fn equipment(word: &str, list: &[(&str, f64)]) -> EquipmentFacts {
    EquipmentFacts {
        word: given(word.to_owned()),
        kind: kind_of(word),
        name: None,
        properties: props(list),
        declared: Vec::new(),
        place: Default::default(),
        tails: Vec::new(),
        span: 1..2,
    }
}

fn electric() -> Facts {
    Facts { cylinders: vec![cylinder(HeatedBy::Electric, 210.0)], ..Facts::default() }
}

fn indirect() -> Facts {
    Facts {
        main: Some(MainFacts {
            properties: props(&[("static", 4.2), ("dynamic", 3.1), ("at", 24.0)]),
            tails: Vec::new(),
            span: 1..2,
        }),
        cylinders: vec![cylinder(HeatedBy::Indirect, 210.0)],
        sources: vec![source(SourceKind::SystemBoiler, 24.0)],
        zones: vec![zone("upstairs", "radiators", 6.4), zone("ground floor", "underfloor", 5.1)],
        outlets: vec![
            outlet("shower", 2),
            outlet("bath", 1),
            outlet("basin", 3),
            outlet("kitchen sink", 1),
        ],
        ..Facts::default()
    }
}

/// The invariants of the graph.
fn sound(done: &Completed) -> Result<(), String> {
    let s = &done.system;
    let mut at: BTreeMap<PortRef, usize> = BTreeMap::new();
    for (i, p) in s.pipes.iter().enumerate() {
        for port in [p.from, p.to] {
            let part = s.parts.get(port.part.0).ok_or("a pipe ends at no part")?;
            let spec = part.kind.ports.get(port.port).ok_or("a pipe ends at no port")?;
            if at.insert(port, i).is_some() {
                return Err(format!("two pipes at {}", s.port_name(port)));
            }
            if let Some(own) = Service::from_key(&spec.service)
                && own.water() != p.service.water()
            {
                return Err(format!("{:?} at {}", p.service, s.port_name(port)));
            }
        }
        let flow = |port: PortRef| s.part(port.part).kind.ports[port.port].flow;
        if flow(p.from) == crate::catalogue::Flow::In || flow(p.to) == crate::catalogue::Flow::Out {
            return Err(format!("{} runs against the flow", p.run));
        }
    }
    for (i, part) in s.parts.iter().enumerate() {
        if let Some(key) = part.attrs.0.keys().find(|k| !part.kind.attrs.contains_key(*k)) {
            return Err(format!("{} carries {key}, which its kind does not", part.tag));
        }
        let strange = part.declared.iter().find(|d| !part.kind.may_declare.contains(d));
        if let Some(fact) = strange {
            return Err(format!("{} declares {fact:?}, which its kind does not", part.tag));
        }
        for (j, spec) in part.kind.ports.iter().enumerate() {
            let port = PortRef { part: PartIx(i), port: j };
            if !spec.optional && !at.contains_key(&port) {
                return Err(format!("nothing at {}", s.port_name(port)));
            }
            // One water through each part, but for those made to part two.
            let Some(p) = at.get(&port) else { continue };
            for other in part.kind.shares_water(j) {
                let other = PortRef { part: PartIx(i), port: other };
                if let Some(q) = at.get(&other) {
                    let (a, b) = (s.pipes[*p].service.water(), s.pipes[*q].service.water());
                    let parts_two = part.kind.key == "filling loop"
                        || part.kind.closes == Closes::Lifts
                        || part.kind.key == "tundish";
                    if a != b && !parts_two {
                        return Err(format!("{} mixes {a:?} and {b:?}", part.tag));
                    }
                }
            }
        }
    }
    unique(s.parts.iter().map(|p| &p.tag).chain(s.units.iter().map(|u| &u.tag)), "tag")?;
    unique(s.parts.iter().map(|p| &p.name), "name")?;
    unique(s.pipes.iter().map(|p| &p.id), "pipe")?;
    protected(s)?;
    runs_are_chains(s)?;
    tails(s)?;
    assumptions(s)
}

fn unique<'a>(all: impl Iterator<Item = &'a String>, what: &str) -> Result<(), String> {
    let mut seen = BTreeSet::new();
    for x in all {
        if x.is_empty() || !seen.insert(x) {
            return Err(format!("{what} {x:?} is empty or given twice"));
        }
    }
    Ok(())
}

/// Ports reached from a part with everything shut that can be shut.
fn reach(s: &System, from: PartIx, water: Water) -> BTreeSet<PartIx> {
    let mut seen = BTreeSet::from([from]);
    let mut todo = vec![from];
    while let Some(at) = todo.pop() {
        let kind = s.part(at).kind;
        if at != from && kind.closes != Closes::Never {
            continue;
        }
        for p in s.pipes_of(at) {
            if s.pipe(p).service.water() == water {
                let far = s.far_end(p, at).part;
                if seen.insert(far) {
                    todo.push(far);
                }
            }
        }
    }
    seen
}

/// EN 12828 (from memory) and several boiler leaflets: with every valve shut, each heat source
/// still reaches a safety valve and a vessel. Common practice for the store: relief and vessel
/// with no valve between.
fn protected(s: &System) -> Result<(), String> {
    for (ix, part) in s.parts.iter().enumerate().map(|(i, p)| (PartIx(i), p)) {
        let kind = part.kind.key.as_str();
        if ["system boiler", "combination boiler", "heat pump"].contains(&kind) {
            let seen = reach(s, ix, Water::Primary);
            let has = |key: &str| seen.iter().any(|p| s.part(*p).kind.key == key);
            if !(part.declares("internal safety valve") || has("safety valve")) {
                return Err(format!("{} reaches no safety valve", part.tag));
            }
            if !(part.declares("internal vessel") || has("heating vessel")) {
                return Err(format!("{} reaches no vessel", part.tag));
            }
        }
        if kind.ends_with("cylinder") {
            let seen = reach(s, ix, Water::Potable);
            let has = |key: &str| seen.iter().any(|p| s.part(*p).kind.key == key);
            if !has("expansion relief valve") || !has("temperature and pressure relief valve") {
                return Err(format!("{} reaches no relief", part.tag));
            }
            if !has("hot-water vessel") && !part.declares("air gap inside") {
                return Err(format!("{} reaches no vessel", part.tag));
            }
        }
    }
    Ok(())
}

/// A run is one chain, so that it can be printed as a list of stops.
fn runs_are_chains(s: &System) -> Result<(), String> {
    let mut runs: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
    for (i, p) in s.pipes.iter().enumerate() {
        runs.entry(&p.run).or_default().push(i);
    }
    for (run, pipes) in runs {
        for pair in pipes.windows(2) {
            if s.pipes[pair[0]].to.part != s.pipes[pair[1]].from.part {
                return Err(format!("run {run:?} is not one chain"));
            }
        }
    }
    Ok(())
}

/// A tail on every pipe that passes the cupboard's surface, and on no other.
fn tails(s: &System) -> Result<(), String> {
    if s.site.cupboard.is_none() {
        return Ok(());
    }
    for p in &s.pipes {
        let crosses = s.part(p.from.part).in_cupboard() != s.part(p.to.part).in_cupboard();
        if crosses != p.tail.is_some() {
            return Err(format!("{}: tail", p.run));
        }
    }
    Ok(())
}

/// Every assumed value is listed, every listed assumption numbered without a gap.
fn assumptions(s: &System) -> Result<(), String> {
    let ids: BTreeSet<&str> = s.assumptions.iter().map(|a| a.id.as_str()).collect();
    for part in &s.parts {
        for (key, v) in &part.attrs.0 {
            if let Origin::Assumed(id) = &v.origin
                && !ids.contains(id.as_str())
            {
                return Err(format!("{}.{key}: {id} is not listed", part.tag));
            }
        }
    }
    for (i, a) in s.assumptions.iter().enumerate() {
        if a.id != format!("A{}", i + 1) || a.why.is_empty() {
            return Err(format!("assumption {a:?}"));
        }
    }
    Ok(())
}

/// The runs in words, for a reader of a failure.
fn listing(s: &System) -> String {
    s.pipes
        .iter()
        .map(|p| {
            format!(
                "{}: {} -> {} ({:?})\n",
                p.run,
                s.port_name(p.from),
                s.port_name(p.to),
                p.service
            )
        })
        .collect()
}

/// A part stated by name and kind.
fn part(name: &str, kind: &str) -> PartFacts {
    PartFacts {
        tag: None,
        name: given(name.to_owned()),
        kind: given(kind.to_owned()),
        unit: None,
        on: None,
        properties: Properties::new(),
        declared: Vec::new(),
        place: Default::default(),
        span: 1..2,
    }
}

fn run(name: &str, stops: &[&str]) -> RunFacts {
    RunFacts {
        name: given(name.to_owned()),
        service: None,
        size: None,
        material: None,
        length: None,
        elbows: None,
        lagging: None,
        stops: stops.iter().map(|s| given((*s).to_owned())).collect(),
        stretches: Vec::new(),
        span: 1..2,
    }
}

fn blind(s: &System) -> String {
    // Spans say where in the file something stands; everything else must agree.
    let json = serde_json::to_string(s).unwrap();
    let mut out = String::new();
    let mut rest = json.as_str();
    while let Some(i) = rest.find("{\"start\":") {
        out.push_str(&rest[..i]);
        let end = rest[i..].find('}').map_or(rest.len(), |e| i + e + 1);
        rest = &rest[end..];
    }
    out.push_str(rest);
    out
}

fn any_source() -> impl Strategy<Value = SourceKind> {
    prop_oneof![
        Just(SourceKind::SystemBoiler),
        Just(SourceKind::CombinationBoiler),
        Just(SourceKind::RegularBoiler),
        Just(SourceKind::HeatPump),
    ]
}

prop_compose! {
    fn any_facts()(
        heated in prop_oneof![
            Just(HeatedBy::Indirect), Just(HeatedBy::Electric), Just(HeatedBy::Solar)
        ],
        litres in 90.0..400.0_f64,
        sources in prop::collection::vec((any_source(), 5.0..40.0_f64), 0..3),
        zones in prop::collection::btree_map("[a-z]{3,8}", (0..3usize, 1.0..9.0_f64), 0..5),
        taps in prop::collection::vec((0..10usize, 1..4u32), 0..7),
        words in prop::collection::btree_set(0..12usize, 0..4),
        legs in prop::option::of(0..4usize),
        flags in prop::collection::vec(any::<bool>(), 4),
        declared in prop::collection::btree_set(0..4usize, 0..3),
    ) -> Facts {
        const TAPS: [&str; 10] = ["bath", "shower", "basin", "bidet", "kitchen sink", "WC",
            "washing machine", "outside tap", "hot outlets", "cold outlets"];
        const WORDS: [&str; 12] = ["softener", "booster", "break tank", "accumulator", "header",
            "buffer", "volumiser", "three-port diverter", "mid-position valve", "solar",
            "blending valve", "frost"];
        const DECLARED: [&str; 4] =
            ["internal bypass", "internal vessel", "internal safety valve", "internal pump"];
        const EMITTERS: [&str; 3] = ["radiators", "underfloor", "towel rails"];
        let mut cyl = cylinder(heated, litres);
        cyl.factory_fitted = flags[0].then(|| given(true));
        cyl.expansion = flags[1].then(|| given("internal".to_owned()));
        let mut cylinders = vec![cyl];
        if flags[3] {
            let mut second = cylinder(heated, litres);
            second.name = Some(given("second".to_owned()));
            cylinders.push(second);
        }
        Facts {
            cylinders,
            sources: sources.into_iter().map(|(k, kw)| {
                let mut s = source(k, kw);
                s.declared = declared
                    .iter()
                    .map(|d| DECLARED[*d])
                    .filter(|d| k != SourceKind::HeatPump || *d != "internal bypass")
                    .map(|d| given(d.to_owned()))
                    .collect();
                s
            }).collect(),
            zones: zones.iter().map(|(n, (e, kw))| zone(n, EMITTERS[*e], *kw)).collect(),
            outlets: taps.into_iter().map(|(t, n)| outlet(TAPS[t], n)).collect(),
            equipment: words.iter().map(|w| equipment(WORDS[*w], &[])).collect(),
            secondary_return: legs.map(|n| SecondaryFacts {
                legs: (0..n).map(|i| equipment("leg", &[("length", 5.0 + i as f64)])).collect(),
                span: 1..2,
                ..SecondaryFacts::default()
            }),
            dwelling: [("new-dwelling".to_owned(), given(Datum::Flag(flags[2])))].into(),
            ..Facts::default()
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(128) })]

    #[test]
    fn whatever_is_stated_the_graph_is_sound(facts in any_facts()) {
        let done = complete(&facts);
        if let Err(e) = sound(&done) {
            return Err(TestCaseError::fail(format!("{e}\n{}", listing(&done.system))));
        }
    }

    #[test]
    fn the_order_of_the_file_changes_nothing(facts in any_facts()) {
        let a = complete(&facts);
        let mut turned = facts.clone();
        turned.cylinders.reverse();
        turned.sources.reverse();
        turned.zones.reverse();
        turned.outlets.reverse();
        turned.equipment.reverse();
        if let Some(s) = &mut turned.secondary_return {
            s.legs.reverse();
        }
        let b = complete(&turned);
        prop_assert_eq!(blind(&a.system), blind(&b.system));
    }
}
