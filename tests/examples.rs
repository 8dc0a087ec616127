//! The descriptions in `examples`: the sound ones raise no error and no warning; each faulty one
//! raises the rule it was written for, as an error or a warning.

mod common;

use std::collections::BTreeSet;
use std::path::Path;

use firstfix::check::{Severity, check};
use firstfix::complete::complete;
use firstfix::describe;
use firstfix::draw::scene::{Item, Mark};

/// Errors and warnings of one file, by rule. Rules that need the cupboard or a drawing are judged
/// elsewhere.
fn rules(path: &Path) -> Vec<(String, Severity)> {
    let text = std::fs::read_to_string(path).unwrap();
    let system = complete(&describe::read(&text).facts).system;
    let sized = firstfix::size::size(&system);
    let wiring = firstfix::wire::wire(&sized.system);
    check(&sized, Some(&wiring), None)
        .findings
        .into_iter()
        .filter(|f| f.severity != Severity::Advice)
        .map(|f| (f.rule.to_owned(), f.severity))
        .collect()
}

#[test]
fn sound_examples_raise_no_error_and_no_warning() {
    let dir = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples");
    let mut files: Vec<_> = std::fs::read_dir(dir)
        .unwrap()
        .map(|e| e.unwrap().path())
        .filter(|p| p.extension().is_some_and(|e| e == "kdl"))
        .collect();
    files.sort();
    assert!(files.len() >= 16);
    for path in files {
        assert_eq!(rules(&path), [], "{path:?}");
    }
}

/// Each variant of a system: a sound file, and a faulty one with the rules it was written to raise.
/// What lies outside the rules has no sound file: it is said, and raises none.
const VARIANTS: [(&str, &str, &str, &[&str]); 23] = [
    ("system boiler", "heron-cottage", "heron-cottage-shut-vessel", &["EXP02", "DIS04"]),
    (
        "retrofit, tight cupboard",
        "heron-cottage",
        "heron-cottage-tight-cupboard",
        &["FIT01", "FIT02", "STR02"],
    ),
    ("several zones", "mill-row", "mill-row-no-bypass", &["HTG01"]),
    ("combination boiler", "tern-house", "tern-house-coil-rating", &["DIS07"]),
    ("mid-position valve", "stoat-close", "stoat-close-no-two-port", &["SAF11"]),
    ("heat pump, volumiser", "otter-farm", "otter-farm-short-of-water", &["HTG12", "HTG13"]),
    ("heat pump, buffer", "badger-lodge", "badger-lodge-diverter-alone", &["SAF11"]),
    ("direct electric", "kiln-lane", "kiln-lane-wrong-order", &["SAF06", "EXP04", "DIS08"]),
    ("twin coil, solar", "swift-house", "swift-house-solar-to-drain", &["SOL03", "EXP03"]),
    ("boost diverter", "robin-bank", "robin-bank-no-cut-out", &["SAF02"]),
    ("secondary return", "lark-manor", "lark-manor-no-check-valve", &["WAT05", "SRT01"]),
    ("softener", "wren-villa", "wren-villa-soft-tap", &["WAT06"]),
    ("booster, break tank", "dipper-wharf", "dipper-wharf-pump-on-the-main", &["WAT07"]),
    ("accumulator", "teal-terrace", "teal-terrace-weak-accumulator", &["WAT10", "WAT18", "WAT20"]),
    ("low-loss header", "rook-hall", "rook-hall-shut-safety-valve", &["EXP09"]),
    ("air gap inside", "curlew-barn", "curlew-barn-cool-store", &["SAF09"]),
    ("factory-fitted unit", "plover-court", "plover-court-door", &["FIT01"]),
    ("two cylinders", "gull-hotel", "gull-hotel-valve-on-d1", &["SAF04"]),
    ("flats by rule", "sandpiper-court", "sandpiper-court-small-common-pipe", &["DIS09"]),
    ("horizontal cylinder", "bat-loft", "bat-loft-too-low", &["FIT01", "FIT02"]),
    ("parts and runs", "ouzel-mews", "ouzel-mews-vessel-before-check-valve", &["EXP05"]),
    ("thermal store, stove", "", "fox-inn-thermal-store", &[]),
    ("open-vented primary", "", "snipe-cottage-open-vented", &[]),
];

fn names(folder: &str) -> BTreeSet<String> {
    let dir = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
    std::fs::read_dir(dir)
        .unwrap()
        .map(|e| e.unwrap().path())
        .filter(|p| p.extension().is_some_and(|e| e == "kdl"))
        .map(|p| p.file_stem().unwrap().to_str().unwrap().to_owned())
        .collect()
}

/// Every variant has its two files, and every file its variant.
#[test]
fn each_variant_has_a_sound_and_a_faulty_file() {
    let sound: BTreeSet<String> =
        VARIANTS.iter().map(|v| v.1.to_owned()).filter(|n| !n.is_empty()).collect();
    let faulty: BTreeSet<String> = VARIANTS.iter().map(|v| v.2.to_owned()).collect();
    assert_eq!(sound, names("examples"));
    assert_eq!(faulty, names("examples/faulty"));
}

#[test]
fn faulty_examples_raise_what_they_were_written_for() {
    let dir = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/faulty");
    for (variant, sound, name, wanted) in VARIANTS {
        let found = rules(&dir.join(format!("{name}.kdl")));
        for rule in wanted {
            assert!(found.iter().any(|(r, _)| r == rule), "{name}: no {rule} in {found:?}");
        }
        assert_eq!(sound.is_empty(), wanted.is_empty(), "{variant}");
        if wanted.is_empty() {
            assert_eq!(found, [], "{name}");
        }
    }
}

/// What is to be drilled is named beside its cross and in its table, also where two walls only just
/// find room on one sheet, and where a wall takes more than a column of the table holds.
#[test]
fn every_mark_of_a_set_out_sheet_stands_in_its_table() {
    let text = include_str!("../examples/kiln-lane.kdl");
    let deep = text.replace("depth=850", "depth=1100");
    assert_ne!(text, deep);
    let of = |text: &str| -> Vec<firstfix::draw::scene::Sheet> {
        let sheets = firstfix::pipeline::work_out(text).project.expect("it reads").sheets();
        let set_out = |s: &firstfix::draw::scene::Sheet| {
            s.key.starts_with("setting-out-") && s.scale.is_some()
        };
        sheets.into_iter().filter(set_out).collect()
    };
    let shared = of(&deep);
    assert!(shared.iter().any(|s| s.key == "setting-out-left-right"));
    for sheet in shared.into_iter().chain(of(include_str!("../examples/mill-row.kdl"))) {
        let mut said = Vec::new();
        words(&sheet.items, &mut said);
        for mark in sheet.description.split(". ").filter_map(|d| d.split(' ').next()) {
            let times = said.iter().filter(|w| *w == mark).count();
            assert!(times >= 2, "{}: {mark} is said {times} times", sheet.key);
        }
    }
}

fn words(items: &[firstfix::draw::scene::Item], into: &mut Vec<String>) {
    use firstfix::draw::scene::Item;
    for item in items {
        match item {
            Item::Group(g) => words(&g.items, into),
            Item::Words(w) => into.push(w.text.clone()),
            Item::Shape(_) => {}
        }
    }
}

/// Words of a sheet, and the tags of the parts it shows.
fn shown(items: &[Item], words: &mut Vec<String>, tags: &mut BTreeSet<String>) {
    for item in items {
        match item {
            Item::Words(w) => words.push(w.text.clone()),
            Item::Group(g) => {
                if let Mark::Part { tag, .. } = &g.mark {
                    tags.insert(tag.clone());
                }
                shown(&g.items, words, tags);
            }
            Item::Shape(_) => {}
        }
    }
}

/// Whoever holds one drawing alone sees what stands against what it shows, and where to read more;
/// on a drawing of a sound job there is no such mark.
#[test]
fn findings_are_marked_where_they_stand() {
    let read = |name: &str| {
        let path = common::folder("examples").join(format!("{name}.kdl"));
        common::project(&std::fs::read_to_string(path).unwrap())
    };
    let faulty = read("faulty/kiln-lane-wrong-order");
    let sheets = faulty.sheets();
    let findings = sheets.iter().position(|s| s.key == "findings").unwrap() + 1;
    for key in ["schematic", "elevation", "plan"] {
        let sheet = sheets.iter().find(|s| s.key == key).unwrap();
        let (mut words, mut tags) = (Vec::new(), BTreeSet::new());
        shown(&sheet.items, &mut words, &mut tags);
        let grave = faulty.report.findings.iter().filter(|f| f.severity == Severity::Error);
        let here: Vec<_> = grave.filter(|f| f.parts.iter().any(|p| tags.contains(p))).collect();
        assert!(!here.is_empty(), "{key}");
        for f in here {
            assert!(words.iter().any(|w| w.contains(f.rule)), "{key}: {} is not marked", f.rule);
        }
        let number = format!("see sheet {findings}, findings");
        assert!(words.iter().filter(|w| w.contains(&number)).count() >= 2, "{key}: key and title");
        assert_eq!(firstfix::draw::quality::measure(sheet).hard_total, 0, "{key}");
    }
    for sheet in read("kiln-lane").sheets() {
        let mut words = Vec::new();
        shown(&sheet.items, &mut words, &mut BTreeSet::new());
        assert!(!words.iter().any(|w| w.contains("Findings marked") || w.contains("NOT VALID")));
    }
}
