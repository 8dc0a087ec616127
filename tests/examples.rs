//! The descriptions in `examples`: the sound ones raise no error and no warning; each faulty one
//! raises the rule it was written for, as an error or a warning.

use std::collections::BTreeSet;
use std::path::Path;

use firstfix::check::{Severity, check};
use firstfix::complete::complete;
use firstfix::describe;

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
    ("accumulator", "teal-terrace", "teal-terrace-weak-accumulator", &["WAT10", "WAT18"]),
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
