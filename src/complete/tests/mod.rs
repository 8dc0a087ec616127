//! What must hold of every completed system, checked on facts made here and at random.

mod examples;
mod insisted;

use std::collections::{BTreeMap, BTreeSet};

use proptest::prelude::*;

use super::{Completed, complete};
use crate::catalogue::Closes;
use crate::describe::facts::{
    BuildingFacts, CylinderFacts, EquipmentFacts, Facts, Given, HeatedBy, MainFacts, Mark,
    OutletFacts, PartFacts, Properties, RunFacts, SecondaryFacts, SourceFacts, SourceKind,
    ZoneFacts,
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

fn check(facts: &Facts) -> System {
    let done = complete(facts);
    if let Err(e) = sound(&done) {
        panic!("{e}\n{}", listing(&done.system));
    }
    assert!(done.diagnostics.is_empty(), "{:?}", done.diagnostics);
    done.system
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

/// Kinds met on the way from a part's port, tees left out.
fn way(s: &System, from: &str, port: &str) -> Vec<String> {
    let mut ix = s.by_name(from).unwrap();
    let mut port = s.part(ix).kind.port(port);
    let mut out = Vec::new();
    while let Some(p) = port.and_then(|port| s.pipe_at(PortRef { part: ix, port })) {
        let far = s.pipe(p).to;
        if far.part == ix {
            break;
        }
        ix = far.part;
        let kind = s.part(ix).kind;
        if kind.key != "tee" {
            out.push(kind.key.clone());
        }
        port = super::net::through_ports(kind)
            .filter(|t| t.0 == far.port && !kind.key.ends_with("cylinder"))
            .map(|t| t.1);
    }
    out
}

#[test]
fn nothing_stated_still_gives_a_sound_system() {
    check(&Facts::default());
}

#[test]
fn direct_electric() {
    let s = check(&electric());
    assert_eq!(s.of_kind("immersion heater").count(), 2);
    assert_eq!(s.of_kind("double-pole switch").count(), 2);
    assert_eq!(s.of_kind("zone valve").count(), 0);
    assert_eq!(s.of_kind("filling loop").count(), 0);
}

/// Order of the cold run: common practice (the usual combined inlet group).
#[test]
fn cold_run_in_the_order_of_the_trade() {
    let s = check(&indirect());
    let way = way(&s, "main", "out");
    assert_eq!(
        way,
        ["stop valve", "strainer", "reducing valve", "check valve", "indirect cylinder"]
    );
    let order: Vec<&str> = s
        .pipes
        .iter()
        .filter(|p| p.run == "cold feed")
        .map(|p| s.part(p.to.part).name.as_str())
        .collect();
    assert_eq!(
        order,
        [
            "reducing valve",
            "balanced cold tee",
            "check valve",
            "relief tee",
            "cold tee",
            "drain tee",
            "store"
        ]
    );
}

/// Order along the heating flow: common practice.
#[test]
fn primary_in_the_order_of_the_trade() {
    let s = check(&indirect());
    let order: Vec<&str> = s
        .pipes
        .iter()
        .filter(|p| p.run == "primary flow")
        .map(|p| s.part(p.to.part).name.as_str())
        .collect();
    assert_eq!(
        order,
        [
            "safety tee",
            "air separator",
            "vessel tee",
            "heating pump",
            "bypass tee",
            "hot water flow tee",
            "upstairs flow tee"
        ]
    );
    assert_eq!(s.of_kind("zone valve").count(), 3);
    assert_eq!(s.of_kind("room thermostat").count(), 2);
    assert_eq!(s.of_kind("blending set").count(), 1);
    assert_eq!(s.of_kind("overheat cut-out").count(), 1);
}

#[test]
fn four_zones_and_a_combination_boiler() {
    let mut f = indirect();
    f.sources = vec![source(SourceKind::CombinationBoiler, 30.0)];
    f.zones.push(zone("annex", "radiators", 3.0));
    f.zones.push(zone("bathrooms", "towel rails", 1.0));
    let s = check(&f);
    assert_eq!(s.of_kind("zone valve").count(), 5);
    assert_eq!(s.of_kind("pump").count(), 0);
}

#[test]
fn factory_fitted_unit_holds_its_parts() {
    let mut f = indirect();
    f.cylinders[0].factory_fitted = Some(given(true));
    let s = check(&f);
    assert_eq!(s.units.len(), 1);
    for kind in ["strainer", "pump", "zone valve", "bypass valve", "wiring centre"] {
        let (_, part) = s.of_kind(kind).next().unwrap();
        assert!(part.unit.is_some(), "{kind}");
    }
}

#[test]
fn an_air_gap_needs_no_vessel() {
    let mut f = electric();
    f.cylinders[0].expansion = Some(given("internal".to_owned()));
    let s = check(&f);
    assert_eq!(s.of_kind("hot-water vessel").count(), 0);
    assert_eq!(s.of_kind("expansion relief valve").count(), 1);
}

#[test]
fn secondary_return_of_up_to_six_legs() {
    for legs in 0..=6 {
        let mut f = indirect();
        let leg = |i: usize| {
            let mut e = equipment("leg", &[("length", 10.0 + i as f64)]);
            e.name = Some(given(format!("leg {i}")));
            e
        };
        f.secondary_return = Some(SecondaryFacts {
            legs: (0..legs).map(leg).collect(),
            span: 1..2,
            ..SecondaryFacts::default()
        });
        let s = check(&f);
        assert_eq!(s.of_kind("balancing valve").count(), if legs > 1 { legs } else { 0 });
        assert_eq!(s.of_kind("secondary pump").count(), 1);
    }
}

/// The drinking tap stands before the softener (common practice).
#[test]
fn hard_tap_before_the_softener() {
    let mut f = electric();
    f.equipment.push(equipment("softener", &[]));
    let s = check(&f);
    let (tap, _) = s.of_kind("hard tap").next().unwrap();
    let pipe = s.pipes_of(tap).next().unwrap();
    assert_eq!(s.pipe(pipe).service, Service::ColdMain);
    assert_eq!(s.of_kind("softener").count(), 1);
}

fn building(floors: f64, stacks: f64, flats: f64) -> Facts {
    let flat = Facts {
        cylinders: vec![cylinder(HeatedBy::Electric, 150.0)],
        outlets: vec![outlet("bath", 1), outlet("basin", 1), outlet("kitchen sink", 1)],
        ..Facts::default()
    };
    Facts {
        buildings: vec![BuildingFacts {
            name: None,
            properties: props(&[("floors", floors), ("stacks", stacks), ("flats-a-floor", flats)]),
            flat: Box::new(flat),
            span: 1..2,
        }],
        ..Facts::default()
    }
}

/// Older guidance to Approved Document G: at most six systems on one common discharge.
#[test]
fn flats_by_rule() {
    let s = check(&building(8.0, 2.0, 6.0));
    assert_eq!(s.of_kind("direct cylinder").count(), 48);
    assert_eq!(s.of_kind("tundish").count(), 48);
    assert_eq!(s.of_kind("water main").count(), 1);
    // Two stacks of 24 flats each, six to a pipe.
    assert_eq!(s.of_kind("trapped gully").count(), 8);
    let one = check(&building(1.0, 1.0, 1.0));
    assert_eq!(one.of_kind("direct cylinder").count(), 1);
}

#[test]
fn flats_beyond_number_are_said() {
    let done = complete(&building(200.0, 4.0, 200.0));
    assert!(done.diagnostics.iter().any(|d| d.code == "too-many"));
}

/// A stove can't be shut off: named, drawn, not ruled.
#[test]
fn out_of_scope_is_said_and_drawn() {
    let mut f = indirect();
    f.sources = vec![source(SourceKind::Uncontrolled, 8.0)];
    f.cylinders[0].heated = Some(given(HeatedBy::OutOfScope));
    let done = complete(&f);
    let said = done.diagnostics.iter().filter(|d| d.code == "out-of-scope").count();
    assert_eq!(said, 2);
    sound(&done).unwrap();
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

/// The example of the design: a lever valve where none should be.
#[test]
fn a_stated_run_takes_the_place_of_the_completed_one() {
    let mut f = indirect();
    f.runs.push(run("expansion branch", &["cold tee", "lever valve", "hot-water vessel"]));
    let done = complete(&f);
    assert!(done.diagnostics.is_empty(), "{:?}", done.diagnostics);
    let s = done.system;
    let names: Vec<&str> = s
        .pipes
        .iter()
        .filter(|p| p.run == "expansion branch")
        .flat_map(|p| [p.from, p.to])
        .map(|p| s.part(p.part).name.as_str())
        .collect();
    assert_eq!(names, ["cold tee", "lever valve", "lever valve", "hot-water vessel"]);
    assert_eq!(s.of_kind("hot-water vessel").count(), 1);
}

#[test]
fn a_run_through_a_part_with_no_free_port_is_said() {
    let mut f = indirect();
    f.runs.push(run("extra", &["stop valve", "hot outlets"]));
    let done = complete(&f);
    assert!(done.diagnostics.iter().any(|d| d.code == "no-free-port"), "{:?}", done.diagnostics);
}

#[test]
fn unknown_names_duplicate_names_and_lone_parts_are_said() {
    let mut f = indirect();
    f.runs.push(run("extra", &["stor", "bath"]));
    let part = |name: &str, kind: &str| PartFacts {
        tag: None,
        name: given(name.to_owned()),
        kind: given(kind.to_owned()),
        unit: None,
        on: None,
        properties: Properties::new(),
        declared: Vec::new(),
        place: Default::default(),
        span: 1..2,
    };
    f.parts = vec![part("spare", "lever valve"), part("spare", "lever valve")];
    let codes: Vec<&str> = complete(&f).diagnostics.iter().map(|d| d.code).collect();
    for code in ["unknown-part", "duplicate-name", "joined-to-nothing"] {
        assert!(codes.contains(&code), "{code}: {codes:?}");
    }
}

#[test]
fn parts_and_runs_alone_are_taken_as_listed() {
    let f = Facts {
        runs: vec![run("cold", &["water main", "stop valve", "cold outlets"])],
        ..Facts::default()
    };
    let done = complete(&f);
    assert!(done.diagnostics.is_empty(), "{:?}", done.diagnostics);
    assert_eq!(done.system.parts.len(), 3);
    assert_eq!(done.system.pipes.len(), 2);
    assert!(done.system.site.cupboard.is_none());
}

/// Adding a zone leaves the tags of what was there (plain tees are numbered along the pipes).
#[test]
fn a_small_edit_renumbers_nothing_else() {
    let before = check(&indirect());
    let mut f = indirect();
    f.zones.push(zone("workshop", "underfloor", 2.0));
    let after = check(&f);
    for p in &before.parts {
        if let Some(ix) = after.by_name(&p.name).filter(|_| p.kind.key != "tee") {
            assert_eq!(after.part(ix).tag, p.tag, "{}", p.name);
        }
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
