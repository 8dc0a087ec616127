//! Each variant of the job: what is fitted, and in which order.

use super::{
    cylinder, electric, equipment, given, indirect, listing, outlet, part, props, run, sound,
    source, zone,
};
use crate::complete::{complete, net};
use crate::describe::facts::{BuildingFacts, Facts, HeatedBy, SecondaryFacts, SourceKind};
use crate::describe::read;
use crate::model::{PortRef, Service, System};

fn check(facts: &Facts) -> System {
    let done = complete(facts);
    if let Err(e) = sound(&done) {
        panic!("{e}\n{}", listing(&done.system));
    }
    assert!(done.diagnostics.is_empty(), "{:?}", done.diagnostics);
    done.system
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
        port = net::through_ports(kind)
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
    // The first stops the house, the second the cylinder: the kitchen sink branches off between.
    assert_eq!(
        way,
        [
            "stop valve",
            "stop valve",
            "strainer",
            "reducing valve",
            "check valve",
            "indirect cylinder"
        ]
    );
    let stop = s.by_name("house stop valve").expect("a stop valve of the house");
    assert!(s.runs_past(stop).is_empty());
    let own = s.by_name("stop valve").expect("the cylinder's own");
    let runs: Vec<&str> = s.runs_past(own).iter().map(|p| s.part(*p).name.as_str()).collect();
    assert_eq!(runs, ["kitchen sink"]);
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

/// The neighbours' taps run on whatever a flat's own valve does.
#[test]
fn a_flats_stop_valve_stops_that_flat() {
    use crate::model::stopping::runs_on;
    let facts = read(concat!(
        "main static=5 dynamic=4 at=60\n",
        "building floors=3 stacks=1 flats-a-floor=1 {\n",
        "    flat \"a\" {\n        cylinder litres=150 heated=\"electric\"\n",
        "        outlets { bath; kitchen-sink; wc }\n    }\n}\n",
    ));
    let s = check(&facts.facts);
    let own = s.by_name("flat 1.1 house stop valve").expect("the flat's own");
    assert!(runs_on(&s, own).is_empty());
    assert!(!s.runs_past(own).is_empty(), "the neighbours run on");
    let tank = s.by_name("flat 1.1 stop valve").expect("the tank's");
    let names: Vec<&str> = runs_on(&s, tank).iter().map(|p| s.part(p.part).name.as_str()).collect();
    assert_eq!(names, ["flat 1.1 kitchen sink", "flat 1.1 WC"]);
}

/// The tags' names of what stops all the water of an example.
fn stoppers(example: &str) -> Vec<String> {
    use crate::model::stopping::stops_all;
    let dir = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("examples");
    let text = std::fs::read_to_string(dir.join(example)).expect("an example");
    let s = check(&read(&text).facts);
    stops_all(&s, None).into_iter().map(|v| s.part(v).name.clone()).collect()
}

/// By the graph: the street's tap leaves a break tank with its pump, or a pressure store, running.
#[test]
fn stored_water_is_stopped_where_it_comes_from() {
    assert_eq!(stoppers("heron-cottage.kdl"), ["house stop valve"]);
    assert_eq!(stoppers("dipper-wharf.kdl"), ["booster valve out"]);
    assert_eq!(stoppers("teal-terrace.kdl"), ["house stop valve", "accumulator valve"]);
}

/// A combination boiler is fed before the cylinder's stop valve: what it heats runs on.
#[test]
fn a_combination_boilers_hot_tap_runs_on() {
    use crate::model::stopping::runs_on;
    let text = std::fs::read_to_string(
        std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/tern-house.kdl"),
    )
    .expect("an example");
    let s = check(&read(&text).facts);
    let valve = s.by_name("stop valve").expect("the cylinder's");
    let hot = |p: &crate::model::PortRef| s.part(p.part).kind.ports[p.port].name == "hot";
    let taps: Vec<&str> = runs_on(&s, valve)
        .iter()
        .filter(|p| hot(p))
        .map(|p| s.part(p.part).kind.key.as_str())
        .collect();
    assert_eq!(taps, ["kitchen sink"]);
}

/// Water Supply (Water Fittings) Regulations 1999, Schedule 2, paragraph 15.
#[test]
fn an_outside_tap_gets_a_double_check_valve() {
    let mut facts = indirect();
    facts.outlets.push(outlet("outside tap", 1));
    let s = check(&facts);
    let tap = s.of_kind("outside tap").next().expect("the tap").0;
    let pipe = s.pipes_of(tap).next().expect("its pipe");
    assert_eq!(s.part(s.pipe(pipe).from.part).kind.key, "double check valve");
}
