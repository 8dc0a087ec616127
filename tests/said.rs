//! What the sheets say of a job, against what is so: a statement that is false or missing is found here.

mod common;

use std::collections::BTreeSet;

use firstfix::check::Finding;
use firstfix::draw::scene::{Item, Sheet};
use firstfix::model::{PartIx, Service, System};
use firstfix::pipeline::Project;
use firstfix::wire::netlist::DeviceKind;

fn example(name: &str) -> Project {
    let path = common::folder("examples").join(format!("{name}.kdl"));
    common::project(&std::fs::read_to_string(path).unwrap())
}

/// Completed and wired, without layout.
fn wired(text: &str) -> (System, firstfix::wire::Wiring) {
    let system = firstfix::complete::complete(&firstfix::describe::read(text).facts).system;
    let wiring = firstfix::wire::wire(&system);
    (system, wiring)
}

fn words(items: &[Item], into: &mut Vec<String>) {
    for item in items {
        match item {
            Item::Group(g) => words(&g.items, into),
            Item::Words(w) => into.push(w.text.clone()),
            Item::Shape(_) => {}
        }
    }
}

/// All words of the sheets whose key begins so, one after another.
fn said(sheets: &[Sheet], key: &str) -> String {
    let mut all = Vec::new();
    sheets.iter().filter(|s| s.key.starts_with(key)).for_each(|s| words(&s.items, &mut all));
    all.join(" ")
}

/// Behind a break tank or a pump no pipe is called the street's, before them none is anything else.
#[test]
fn water_of_a_booster_set_is_not_called_the_streets() {
    for name in ["dipper-wharf", "heron-cottage", "teal-terrace"] {
        let path = common::folder("examples").join(format!("{name}.kdl"));
        let (system, _) = wired(&std::fs::read_to_string(path).unwrap());
        let lifts = |ix: PartIx| {
            ["break tank", "booster pump"].contains(&system.part(ix).kind.key.as_str())
        };
        // With the water, from the street and from what lifts it.
        let behind = |from: &dyn Fn(PartIx) -> bool, past: bool| -> BTreeSet<usize> {
            let mut met: BTreeSet<usize> = BTreeSet::new();
            let mut at: Vec<PartIx> = system.part_ixs().filter(|ix| from(*ix)).collect();
            while let Some(part) = at.pop() {
                for (i, pipe) in system.pipes.iter().enumerate() {
                    if pipe.from.part == part && met.insert(i) && (past || !lifts(pipe.to.part)) {
                        at.push(pipe.to.part);
                    }
                }
            }
            met
        };
        let lifted = behind(&lifts, true);
        assert_eq!(lifted.is_empty(), name != "dipper-wharf", "{name}");
        for i in &lifted {
            assert_ne!(
                system.pipes[*i].service,
                Service::ColdMain,
                "{name}: {}",
                system.pipes[*i].id
            );
        }
        let street = behind(&|ix| system.part(ix).kind.key == "water main", false);
        for i in street {
            assert_ne!(system.pipes[i].service, Service::ColdBoosted, "{name}");
        }
    }
    assert!(!Service::ColdBoosted.words().contains("street"));
}

/// Relays stand in a box of the cupboard wherever there are any, and nowhere else.
#[test]
fn relays_have_a_box_that_is_drawn() {
    let more = [
        "cylinder litres=210 heated=\"indirect\"\nboiler kw=24\ncontrols call=\"volt-free\"\nzone kw=5",
        "cylinder litres=210 heated=\"indirect\"\nboiler kw=24\nlow-loss-header\nzone kw=5",
        "cylinder litres=210 heated=\"indirect\"\nboiler kw=24\nbuffer litres=50\nzone kw=5",
        "cylinder litres=250 heated=\"heat pump\"\nheat-pump kw=8\nbuffer litres=50\nzone kw=5",
        "cylinder litres=250 heated=\"heat pump\"\nheat-pump kw=8\nzone kw=5",
    ];
    let more = more.map(|text| (text.to_owned(), text.to_owned()));
    for (name, text) in common::examples().into_iter().chain(more) {
        let (system, wiring) = wired(&text);
        let relays: Vec<_> = wiring.of_kind(DeviceKind::Relay).collect();
        let boxes: Vec<&str> = system.of_kind("relay box").map(|(_, p)| p.tag.as_str()).collect();
        if system.of_kind("wiring centre").next().is_some() {
            assert_eq!(boxes.is_empty(), relays.is_empty(), "{name}: {}", relays.len());
        }
        for r in relays.iter().filter(|_| !boxes.is_empty()) {
            assert!(boxes.iter().any(|b| r.place == format!("in {b}")), "{name}: {}", r.place);
        }
    }
    let hall = example("rook-hall");
    assert!(hall.cupboard.as_ref().unwrap().solids.iter().any(|s| s.tag == "RLB1"));
    let sheets = hall.sheets();
    for key in ["elevation", "setting-out", "wiring-terminals", "schedule"] {
        assert!(said(&sheets, key).contains("RLB1"), "{key}");
    }
}

/// What a part of no description is, stands nowhere: no list may say that it is in the cupboard.
#[test]
fn what_has_no_place_is_said_to_have_none() {
    let mews = example("ouzel-mews");
    let switch = mews.wiring.of_kind(DeviceKind::DoublePoleSwitch).next().expect("a switch");
    assert_eq!((switch.tag.as_deref(), switch.place.as_str()), (None, "place not stated"));
    let parts = said(&mews.sheets(), "schedule");
    let at = parts.find("double-pole switch").expect("its row");
    assert!(parts[at..].starts_with("double-pole switch rating as its circuit Q11 place not"));
}

/// The surplus of the roof is measured at the meter: the clamp is wired, its cores reach the control.
#[test]
fn the_clamp_of_a_surplus_control_is_wired() {
    let bank = example("robin-bank");
    let w = &bank.wiring;
    let clamp = w.of_kind(DeviceKind::SensingClamp).next().expect("a clamp");
    let control = w.of_kind(DeviceKind::BoostDiverter).next().expect("a control");
    let own = w.conductors.iter().filter(|c| c.touches(&clamp.id)).count();
    let to = w.conductors.iter().filter(|c| c.touches(&clamp.id) && c.touches(&control.id));
    assert_eq!((own, to.count()), (2, 2));
    // The circuit's own cables are of one section, whatever the lead is.
    let fixed = w.cables.iter().filter(|c| c.construction == "flat twin and earth");
    let sections: Vec<f64> = fixed.map(|c| c.mm2).collect();
    assert_eq!(sections, [2.5, 2.5]);
    let sheets = bank.sheets();
    for key in ["wiring-terminals", "wiring-tables"] {
        assert!(said(&sheets, key).contains(&clamp.id), "{key}");
    }
}

/// A surveyor finds every device that is set, of the heating too, with its figure.
#[test]
fn every_relief_valve_and_vessel_stands_in_settings() {
    for name in ["dipper-wharf", "badger-lodge"] {
        let job = example(name);
        let text = said(&job.sheets(), "building-control");
        let kinds = ["reducing valve", "safety valve", "heating vessel", "hot-water vessel"];
        for kind in kinds {
            for (_, part) in job.system().of_kind(kind) {
                let row = format!("{} {kind}", part.tag);
                assert!(text.contains(&row), "{name}: {row}");
            }
        }
    }
}

/// Of heights that are drawn from a cylinder nobody has measured nothing is proved.
#[test]
fn what_is_drawn_from_assumed_measures_bears_a_star() {
    const DRAWN: [&str; 4] = ["DIS01", "DIS03", "DIS06", "DIS13"];
    let wharf = example("dipper-wharf");
    let holds = |job: &Project, rule: &str| -> Vec<bool> {
        let of = |f: &&Finding| f.rule == rule;
        job.report.passes.iter().filter(of).map(|f| f.assumed).collect()
    };
    for rule in DRAWN.into_iter().chain(["DIS04"]) {
        let stars = holds(&wharf, rule);
        assert!(!stars.is_empty() && stars.iter().all(|s| *s), "{rule}: {stars:?}");
    }
    // Its height and diameter are stated, and so is the outlet of its valve.
    let mews = example("ouzel-mews");
    for rule in DRAWN.into_iter().chain(["DIS04"]) {
        let stars = holds(&mews, rule);
        assert!(!stars.is_empty() && !stars.contains(&true), "{rule}: {stars:?}");
    }
}

/// The sums of a circulation suppose all of it lagged: what of it is drawn bare is bought lagging for.
#[test]
fn all_of_a_circulation_is_lagged() {
    let manor = example("lark-manor");
    let plan = manor.cupboard.as_ref().unwrap();
    let back = |r: &&firstfix::layout::cupboard::plan::Route| {
        manor.system().pipe(r.pipe).service == Service::HotReturn
    };
    let run = |p: &[firstfix::model::P3]| {
        (p[0].x - p[1].x).abs() + (p[0].y - p[1].y).abs() + (p[0].z - p[1].z).abs()
    };
    let drawn: f64 =
        plan.routes.iter().filter(back).flat_map(|r| r.points.windows(2).map(run)).sum();
    let rows = manor.takeoff.iter().filter(|l| l.what == "lagging" && l.size.starts_with("15"));
    let bought: f64 =
        rows.filter(|l| l.remark.contains("in the cupboard")).map(|l| l.quantity).sum();
    assert!(drawn > 500.0 && bought * 1000.0 >= drawn, "{bought} m for {drawn} mm");
}

/// 45 °C come to a floor that asks for 40 and has no blending set: 5 K, and the sheet says so.
#[test]
fn water_warmer_than_asked_is_told() {
    let lodge = example("badger-lodge");
    let flow = lodge.sized.figures.iter().find(|f| f.id == "heating.flow" && f.about == "UFH1");
    let told = &flow.expect("the floor's flow").result;
    assert!(told.contains("up to 5 K warmer than the 40 °C asked"), "{told}");
    let hall = example("rook-hall");
    let blended = hall.sized.figures.iter().filter(|f| f.id == "heating.flow");
    assert!(blended.into_iter().all(|f| !f.result.contains("warmer")));
    let text = said(&lodge.sheets(), "calculations");
    assert!(text.contains("no user is open; bypass passes"), "the row that nobody asks for");
}
