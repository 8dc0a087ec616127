//! The whole line, from the text: sound examples raise neither error nor warning, and one changed
//! line of one raises what it should.

use firstfix::check::Severity::{Advice, Error, Warning};
use firstfix::check::{Report, check};
use firstfix::complete::complete;
use firstfix::describe::read;
use firstfix::size::size;
use firstfix::wire::wire;

use super::build::{fires, list, silent, sound};

fn judge(text: &str) -> Report {
    let reading = read(text);
    assert!(reading.readable, "{:?}", reading.diagnostics);
    let system = complete(&reading.facts).system;
    let sized = size(&system);
    check(&sized, Some(&wire(&sized.system)), None)
}

fn text_of(name: &str) -> String {
    let path = format!("{}/examples/{name}.kdl", env!("CARGO_MANIFEST_DIR"));
    std::fs::read_to_string(path).unwrap_or_else(|e| panic!("{name}: {e}"))
}

#[test]
fn sound_examples_raise_nothing() {
    let folder = format!("{}/examples", env!("CARGO_MANIFEST_DIR"));
    let mut seen = 0;
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|e| e == "kdl") {
            let report = judge(&std::fs::read_to_string(&path).unwrap());
            let bad = report.findings.iter().any(|f| f.severity != Advice);
            assert!(!bad, "{}:\n{}", path.display(), list(&report));
            assert!(report.passes.len() > 20, "{}", path.display());
            seen += 1;
        }
    }
    assert!(seen > 0);
}

/// A vessel that this program chose is not refused on its next sheet; joists of which only the centres
/// are known are told among the assumptions.
#[test]
fn what_is_assumed_is_not_refused() {
    let folder = format!("{}/examples", env!("CARGO_MANIFEST_DIR"));
    let mut joists = 0;
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_none_or(|e| e != "kdl") {
            continue;
        }
        let system = complete(&read(&std::fs::read_to_string(&path).unwrap()).facts).system;
        let sized = size(&system);
        let report = check(&sized, None, None);
        for (_, vessel) in sized.system.of_kind("heating vessel") {
            let chosen = vessel.attrs.is_assumed("litres");
            let refused = report
                .findings
                .iter()
                .find(|f| ["EXP06", "EXP14"].contains(&f.rule) && f.parts.contains(&vessel.tag));
            assert!(!chosen || refused.is_none(), "{}: {refused:?}", path.display());
        }
        let floor = sized.system.site.cupboard.as_ref().map(|c| &c.floor.attrs);
        if floor.is_some_and(|f| f.is_assumed("first")) {
            joists += 1;
            let told = |a: &firstfix::model::Assumption| a.what.contains("first joist");
            assert!(sized.system.assumptions.iter().any(told), "{}", path.display());
        }
    }
    assert!(joists > 0);
}

/// Where figure, limit and margin all stand on one line, the margin is the way from the one to the
/// other: a reader takes them for that.
#[test]
fn margins_agree_with_what_stands_beside_them() {
    let folder = format!("{}/examples", env!("CARGO_MANIFEST_DIR"));
    let mut seen = 0;
    for folder in [folder.clone(), format!("{folder}/faulty")] {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.extension().is_none_or(|e| e != "kdl") {
                continue;
            }
            let report = judge(&std::fs::read_to_string(&path).unwrap());
            for f in report.findings.iter().chain(&report.passes) {
                // No sheet bears the id of a pipe.
                let id = |w: &str| {
                    let n = w.trim_end_matches([',', ':', ';', '.']).strip_prefix('p');
                    n.is_some_and(|n| !n.is_empty() && n.bytes().all(|b| b.is_ascii_digit()))
                };
                let words = f.title.split(' ').chain(f.mend.split(' '));
                let told = words.chain(f.places.iter().map(String::as_str));
                assert_eq!(told.filter(|w| id(w)).count(), 0, "{}: {f:?}", path.display());
                let (Some(found), Some(limit), Some(margin)) = (f.found, f.limit, f.margin) else {
                    continue;
                };
                let (apart, most) = ((found - limit).abs(), found.abs().max(limit.abs()));
                let agrees = (margin.abs() - apart).abs() <= 0.006 + 0.01 * most;
                assert!(agrees, "{}: {f:?}", path.display());
                seen += 1;
            }
        }
    }
    assert!(seen > 1000, "{seen}");
}

/// A small sound job to spoil line by line.
const JOB: &str = r#"
job "Sedge House"
rules "england"
main static=4.0 dynamic=3.0 at=24
cylinder "store" litres=210 heated="indirect" {
    coil kw=20
}
boiler kw=32 flow=70 return=50
zone "upstairs" kw=6 radiators=5
zone "downstairs" kw=5 radiators=4
outlets { shower 1; bath; basin 2; kitchen-sink }
discharge length=4 elbows=3 to="trapped gully"
"#;

fn spoilt(from: &str, to: &str) -> Report {
    assert!(JOB.contains(from), "{from}");
    judge(&JOB.replace(from, to))
}

#[test]
fn the_job_itself_is_sound() {
    sound(&judge(JOB));
}

/// Approved Document G, the worked example: 7 m and four elbows.
#[test]
fn a_stated_discharge_too_small() {
    let line = "length=4 elbows=3";
    let r = spoilt(line, "length=7 elbows=4 size=22");
    let f = fires(&r, "DIS04", Error, "TUN1");
    assert_eq!((f.found, f.limit), (Some(10.2), Some(9.0)));
    assert!(!f.span.is_empty(), "it points at the text");
    // Left to the program, the next size is taken.
    silent(&spoilt(line, "length=7 elbows=4"), "DIS04");
    // With one elbow to spare at most, the size is named.
    fires(&spoilt(line, "length=6.2 elbows=3 size=22"), "DIS17", Warning, "TUN1");
}

#[test]
fn a_shallow_fall_a_short_drop_a_waste_pipe() {
    fires(&spoilt("elbows=3", "elbows=3 fall=250"), "DIS05", Error, "TUN1");
    fires(&spoilt("elbows=3", "elbows=3 first-drop=250"), "DIS03", Error, "TUN1");
    fires(&spoilt("elbows=3", "elbows=3 d1-length=650"), "DIS01", Error, "TUN1");
    silent(&spoilt("elbows=3", "elbows=3 d1-length=550"), "DIS01");
}

#[test]
fn ends_that_are_none() {
    fires(&spoilt("trapped gully", "soil stack"), "DIS08", Error, "SS1");
    let r = spoilt("trapped gully", "outside");
    assert!(r.findings.iter().any(|f| f.rule == "DIS15" && f.severity == Error), "{}", list(&r));
}

/// What is insisted on is drawn and judged.
#[test]
fn a_lever_valve_at_the_vessel() {
    let r = judge(&format!(
        "{JOB}\nrun \"expansion branch\" \"cold tee\" \"lever valve\" \"hot-water vessel\"\n"
    ));
    assert!(r.findings.iter().any(|f| f.rule == "EXP02" && f.severity == Error), "{}", list(&r));
}

#[test]
fn nation_and_override() {
    let far = JOB.replace("elbows=3", "elbows=3 d1-length=650");
    let r = judge(&far.replace("rules \"england\"", "rules \"scotland\""));
    let f = fires(&r, "DIS01", Error, "TUN1");
    assert!(f.source.contains("Technical Handbook"), "{}", f.source);
    let r = judge(
        &JOB.replace("elbows=3", "elbows=3 d1-length=550")
            .replace("rules \"england\"", "rules \"england\" edition=\"1992\""),
    );
    assert_eq!(fires(&r, "DIS01", Error, "TUN1").limit, Some(500.0));
}

#[test]
fn a_slip_of_the_keyboard() {
    let r = spoilt("boiler kw=32", "boiler kw=1.5");
    fires(&r, "FIT11", Error, "BLR1");
}

/// Radiators that were lost on the way leave a boiler without heating: that is said.
#[test]
fn a_source_without_a_zone_is_told() {
    silent(&judge(JOB), "HTG22");
    let zones = ["zone \"upstairs\" kw=6 radiators=5\n", "zone \"downstairs\" kw=5 radiators=4\n"];
    let none = zones.iter().fold(JOB.to_owned(), |text, zone| text.replace(zone, ""));
    fires(&judge(&none), "HTG22", Advice, "BLR1");
}

/// What is typed and what was read on site are told apart where the main holds.
#[test]
fn a_main_as_typed_is_not_called_measured() {
    let said = |text: &str| {
        let r = judge(text);
        r.passes.iter().find(|f| f.rule == "DOC05").expect("it holds").title.clone()
    };
    assert!(said(JOB).ends_with("not marked as measured"));
    let marked = JOB.replace(
        "static=4.0 dynamic=3.0 at=24",
        "static=(measured)4.0 dynamic=(measured)3.0 at=(measured)24",
    );
    assert!(said(&marked).ends_with("at a stated flow, measured"));
}

/// A mend names the word to write, and not what is assumed already.
#[test]
fn a_cool_store_is_mended_by_what_helps() {
    let text = "cylinder litres=250 heated=\"indirect\"\nheat-pump kw=8 flow=50\nzone \"all\" underfloor=6";
    let mend = &fires(&judge(text), "SAF09", Warning, "CYL1").mend.clone();
    assert!(mend.contains("`stored=60`") && mend.contains("immersion kw=3"), "{mend}");
    assert!(!mend.contains("cycle="), "{mend}");
    let with = judge(&text.replace("\"indirect\"", "\"indirect\" { immersion kw=3 }"));
    fires(&with, "SAF09", Advice, "CYL1");
}

#[test]
fn a_main_nobody_measured_is_advice() {
    let r = spoilt("main static=4.0 dynamic=3.0 at=24", "main static=4.0");
    let f = r.findings.iter().find(|f| f.rule == "DOC05").expect("not measured");
    assert!(f.severity == Advice && f.assumed);
}

#[test]
fn same_words_every_time() {
    let once = judge(&text_of("heron-cottage"));
    let twice = judge(&text_of("heron-cottage"));
    assert_eq!(once.findings, twice.findings);
    assert_eq!(once.passes, twice.passes);
}

/// The faulty examples: what each is there to show, at the part that is to blame.
#[test]
fn faulty_examples_raise_what_they_show() {
    let expected = [
        ("badger-lodge-diverter-alone", "SAF11", Error, "DV1"),
        ("bat-loft-too-low", "FIT01", Error, "CYL1"),
        ("bat-loft-too-low", "FIT02", Error, "CYL1"),
        ("curlew-barn-cool-store", "SAF09", Warning, "CYL1"),
        ("curlew-barn-cool-store", "EXP10", Advice, "EV1"),
        ("dipper-wharf-pump-on-the-main", "WAT07", Error, "BP1"),
        ("gull-hotel-valve-on-d1", "SAF04", Error, "LV1"),
        ("heron-cottage-shut-vessel", "EXP02", Error, "LV1"),
        ("heron-cottage-shut-vessel", "DIS04", Error, "TUN1"),
        ("heron-cottage-tight-cupboard", "FIT01", Error, "CYL1"),
        ("heron-cottage-tight-cupboard", "FIT02", Error, "CYL1"),
        ("kiln-lane-wrong-order", "SAF06", Error, "PRV1"),
        ("kiln-lane-wrong-order", "DIS08", Error, "SS1"),
        ("kiln-lane-wrong-order", "EXP04", Warning, "EV1"),
        ("lark-manor-no-check-valve", "WAT05", Error, "SP1"),
        ("lark-manor-no-check-valve", "SRT01", Error, "SP1"),
        ("mill-row-no-bypass", "HTG01", Error, "BLR1"),
        ("otter-farm-short-of-water", "HTG12", Warning, "HP1"),
        ("ouzel-mews-vessel-before-check-valve", "EXP05", Error, "EV1"),
        ("plover-court-door", "FIT01", Error, "CYL1"),
        ("robin-bank-no-cut-out", "SAF02", Error, "IM1"),
        ("robin-bank-no-cut-out", "CTL01", Error, "IM1"),
        ("rook-hall-shut-safety-valve", "EXP09", Error, "LV1"),
        ("sandpiper-court-small-common-pipe", "DIS09", Error, "TUN1"),
        ("stoat-close-no-two-port", "SAF11", Error, "MPV1"),
        ("stoat-close-no-two-port", "CTL01", Error, "MPV1"),
        ("swift-house-solar-to-drain", "SOL03", Error, "PSV2"),
        ("tern-house-coil-rating", "DIS07", Error, "TUN1"),
        ("tern-house-coil-rating", "SAF12", Warning, "CYL1"),
        ("teal-terrace-weak-accumulator", "WAT10", Warning, "ACC1"),
        ("teal-terrace-weak-accumulator", "WAT20", Warning, "ACC1"),
        ("wren-villa-soft-tap", "WAT06", Warning, "HT1"),
    ];
    let mut reports = std::collections::BTreeMap::new();
    for (name, rule, severity, part) in expected {
        let path = format!("{}/examples/faulty/{name}.kdl", env!("CARGO_MANIFEST_DIR"));
        let report =
            reports.entry(name).or_insert_with(|| judge(&std::fs::read_to_string(&path).unwrap()));
        fires(report, rule, severity, part);
    }
}

/// What lies outside the rules is said by the reader and judged by no rule of its family: a thermal
/// store on a stove, an open-vented primary.
#[test]
fn what_lies_outside_is_not_judged() {
    for (name, silent_families) in [
        (
            "fox-inn-thermal-store",
            &["SAF", "DIS", "EXP", "HTG", "CTL01", "CTL02", "CTL03", "CTL08"][..],
        ),
        (
            "snipe-cottage-open-vented",
            &["EXP06", "EXP08", "EXP09", "EXP12", "HTG01", "HTG15", "CTL03"],
        ),
    ] {
        let path = format!("{}/examples/faulty/{name}.kdl", env!("CARGO_MANIFEST_DIR"));
        let text = std::fs::read_to_string(path).unwrap();
        let completed = complete(&read(&text).facts);
        assert!(completed.diagnostics.iter().any(|d| d.code == "out-of-scope"), "{name}");
        let report = judge(&text);
        let judged = report.findings.iter().chain(&report.passes);
        let wrong: Vec<&str> = judged
            .map(|f| f.rule)
            .filter(|r| *r != "HTG04" && silent_families.iter().any(|s| r.starts_with(s)))
            .collect();
        assert_eq!(wrong, Vec::<&str>::new(), "{name}");
        assert!(report.findings.iter().all(|f| f.severity == Advice), "{name}:\n{}", list(&report));
    }
}

/// Facts that only some rules ask for can be written, and silence what they cover.
#[test]
fn facts_for_the_building_and_the_records() {
    let r = judge(&format!("{JOB}dwelling vulnerable-occupants=#true exposed-pipes=#true\n"));
    silent(&r, "DIS14");
    fires(&r, "DIS18", Warning, "TUN1");
    let cupboard = |floor: &str| {
        format!(
            "{JOB}cupboard width=1200 depth=900 height=2400 {{\n  floor \"timber\" {floor}\n}}\n"
        )
    };
    let joists = "joist-depth=225 span=3500 hole=40";
    fires(&judge(&cupboard(&format!("{joists} hole-at=500"))), "STR02", Warning, "floor");
    silent(&judge(&cupboard(&format!("{joists} hole-at=1000"))), "STR02");
    silent(&judge(&cupboard("spreader=#true")), "STR01");
    let built = JOB.replace(
        "job \"Sedge House\"",
        "job \"Sedge House\" status=\"as-built\" {\n test-start \"7.5 bar\"\n test-end \"7.5 bar\"\n \
         test-time \"1 h\"\n route \"registered installer\"\n}",
    );
    let r = judge(&built);
    fires(&r, "HTG15", Warning, "BLR1");
    silent(&judge(&built.replace("test-time", "inhibitor \"1 l\"\n test-time")), "HTG15");
    silent(&r, "DOC01");
    silent(&r, "DOC06");
}

/// What the electrician wires is a part with a tag: a floor on the source's own water has its limit
/// thermostat in the feed of its valve, as one behind a blending set has.
#[test]
fn every_floor_with_a_valve_has_its_limit_thermostat() {
    for source in ["heat-pump kw=8 flow=40 return=35", "boiler kw=18"] {
        let text = format!(
            "cylinder litres=210 heated=\"indirect\"\n{source}\nzone \"ground floor\" kw=4 underfloor=5\n"
        );
        let system = complete(&read(&text).facts).system;
        let limits = system.parts.iter().filter(|p| p.kind.key == "floor limit thermostat");
        let settings: Vec<Option<f64>> = limits.map(|p| p.number("setting")).collect();
        assert_eq!(settings, [Some(55.0)], "{source}");
    }
}
