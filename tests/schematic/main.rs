//! The schematic of whole jobs: nothing hard may ever be wrong, whatever the job.
#![allow(clippy::print_stdout)]

#[path = "../graphs/generate.rs"]
#[allow(dead_code)]
mod generate;
#[path = "../golden/hard.rs"]
mod hard;
mod marks;
#[path = "../graphs/plant.rs"]
mod plant;
mod steady;
#[path = "../graphs/systems.rs"]
mod systems;

use firstfix::complete::complete;
use firstfix::describe::read;
use firstfix::draw::frame::{TitleData, dress};
use firstfix::draw::quality::measure;
use firstfix::draw::schematic::sheets;
use firstfix::layout::schematic::{lay_out, paper};
use firstfix::render::{Typeface, png, svg};
use firstfix::size::{Sized, size};

const HOUSE: &str = r#"
job "Heron Cottage" number="HC-07" status="design" {
    address "Heron Cottage, Quay Lane, Little Saltby"
    revision "A" date="2026-11-25" note="first issue"
}
rules "england"
main static=4.2 dynamic=3.1 at=24
cylinder "store" litres=210 heated="indirect" diameter=554 height=1530 { coil kw=21 }
boiler kw=24 flow=70 return=50 place="kitchen, below"
zone "upstairs radiators" kw=6.4 radiators=5
zone "ground floor" kw=5.1 underfloor=6
outlets { shower 2; bath; basin 3; kitchen-sink }
discharge wall="right" length=4.6 elbows=3 to="gully"
"#;

const ELECTRIC: &str = r#"
job "Gull Flat" number="GF-01"
cylinder litres=150 heated="electric" { immersion kw=3; immersion kw=3 }
outlets { shower; basin; kitchen-sink }
"#;

const FOUR: &str = r#"
job "Tern House" number="TH-02"
cylinder litres=300 heated="indirect" { coil kw=30 }
combi-boiler kw=35
zone "ground floor" kw=5 radiators=5
zone "first floor" kw=6 radiators=6
zone "annexe" kw=3 radiators=3
zone "extension" kw=4 underfloor=4
outlets { shower 3; bath 2; basin 4; kitchen-sink; wc 4; washing-machine }
secondary-return
softener
"#;

const PUMP: &str = r#"
job "Plover Barn" number="PB-03"
cylinder litres=250 heated="indirect"
heat-pump kw=9 flow=50 return=45
zone "ground floor" kw=5 underfloor=6
zone "bedrooms" kw=3 radiators=4
buffer litres=50
outlets { shower 2; bath; basin 3; kitchen-sink }
"#;

const UNIT: &str = r#"
job "Curlew Court" number="CC-04"
cylinder litres=210 heated="indirect" factory-fitted=#true expansion="internal"
boiler kw=18
zone "radiators" kw=7 radiators=7
outlets { shower; bath; basin 2; kitchen-sink }
"#;

const SOLAR: &str = r#"
job "Dunlin" number="DN-05"
cylinder litres=250 heated="solar"
boiler kw=18
solar area=4
zone "radiators" kw=7 radiators=7
outlets { shower; bath; basin 2; kitchen-sink }
"#;

const FLATS: &str = r#"
job "Sedge Wharf" number="SW-08"
main static=6 dynamic=4.5 at=60
building "Sedge Wharf" floors=5 stacks=2 flats-a-floor=4 {
    flat {
        cylinder litres=120 heated="electric" { immersion kw=3 }
        outlets { shower; basin; kitchen-sink }
    }
}
"#;

const CASES: [(&str, &str); 7] = [
    ("flats", FLATS),
    ("house", HOUSE),
    ("electric", ELECTRIC),
    ("four", FOUR),
    ("pump", PUMP),
    ("unit", UNIT),
    ("solar", SOLAR),
];

/// The examples and the cases of this file.
fn jobs() -> Vec<(String, String)> {
    let mut jobs: Vec<(String, String)> =
        CASES.iter().map(|(n, t)| ((*n).to_owned(), (*t).to_owned())).collect();
    jobs.extend(sound());
    jobs.extend(texts("examples/faulty"));
    jobs
}

/// The sound examples.
fn sound() -> Vec<(String, String)> {
    texts("examples")
}

fn texts(folder: &str) -> Vec<(String, String)> {
    let folder = format!("{}/{folder}", env!("CARGO_MANIFEST_DIR"));
    let mut jobs = Vec::new();
    let mut files: Vec<_> = std::fs::read_dir(folder)
        .unwrap()
        .map(|f| f.unwrap().path())
        .filter(|p| p.extension().is_some_and(|e| e == "kdl"))
        .collect();
    files.sort();
    for file in files {
        let name = file.file_stem().unwrap().to_string_lossy().into_owned();
        jobs.push((name, std::fs::read_to_string(&file).unwrap()));
    }
    jobs
}

fn sized(text: &str) -> Sized {
    size(&complete(&read(text).facts).system)
}

/// Recounted from the marks: design figures that must be nought on every sheet.
#[test]
fn nothing_hard_is_wrong() {
    for (name, text) in jobs() {
        let sized = sized(&text);
        let plan = lay_out(&sized);
        let title = TitleData::of(&sized.system);
        for sheet in sheets(&sized, &plan) {
            let quality = measure(&dress(sheet, &title, 1, 1));
            assert_eq!(quality.hard_total, 0, "{name}: {:?}", quality.hard);
            // Common practice, no source: words further off are no longer read with their pipe.
            let far = quality.soft.label_distance;
            assert!(far <= 4.0, "{name}: words stand {far} mm off");
        }
    }
}

/// What is wrong with the schematic of a text, counted from its SVG alone.
fn recount(text: &str) -> Vec<String> {
    let sized = sized(text);
    let plan = lay_out(&sized);
    let title = TitleData::of(&sized.system);
    let mut bad = Vec::new();
    for page in &plan.pages {
        for (pipe, points) in page.system.pipes.iter().zip(&page.pipes) {
            if points.len() < 2 {
                bad.push(format!("{}: no way for {}", page.key, pipe.id));
            }
        }
    }
    for sheet in sheets(&sized, &plan) {
        bad.extend(hard::wrong(&svg(&dress(sheet, &title, 1, 1), Typeface::Named)));
    }
    bad
}

fn random_systems(seeds: std::ops::Range<u64>) {
    let mut failed = 0;
    for seed in seeds {
        let text = systems::system(seed);
        let bad = recount(&text);
        if !bad.is_empty() {
            failed += 1;
            println!("seed {seed}: {bad:#?}\n{text}");
        }
    }
    assert_eq!(failed, 0);
}

/// Real systems of every variant, recounted from the sheet: everything hard is nought.
#[test]
fn random_systems_are_drawn() {
    random_systems(0..16);
}

#[test]
#[ignore = "takes minutes; run in release"]
fn a_thousand_random_systems_are_drawn() {
    let range = std::env::var("SEEDS").unwrap_or_else(|_| "0..1000".to_owned());
    let (first, end) = range.split_once("..").expect("SEEDS=FIRST..END");
    random_systems(first.parse().unwrap()..end.parse().unwrap());
}

/// What can be read on A4 is not lost on A3; what goes on A3 fills it.
#[test]
fn the_paper_fits_the_drawing() {
    let mut small = 0;
    for (name, text) in sound() {
        for page in lay_out(&sized(&text)).pages {
            let (w, h) = paper(page.sheet);
            let long = (page.bounds.w / (w - 30.0)).max(page.bounds.h / (h - 20.0));
            assert!(long > 0.66, "{name}, {}: {long:.2} of {:?}", page.key, page.sheet);
            small += usize::from(w.max(h) < 400.0);
        }
    }
    assert!(small > 0, "nothing on A4");
}

/// Whatever the runs: a sheet, and nothing over anything.
#[test]
fn odd_runs_are_drawn() {
    let mut chain = String::from("complete #false\nrun \"long\" \"water main\"");
    for i in 0..150 {
        chain.push_str(&format!(" \"lever valve {i}\""));
    }
    let parts: String =
        (0..150).map(|i| format!("part \"lever valve {i}\" kind=\"lever valve\"\n")).collect();
    let cases = [
        String::new(),
        "complete #false\n".to_owned(),
        format!("{parts}{chain}\n"),
        "complete #false\npart \"a\" kind=\"pump\"\npart \"b\" kind=\"tee\"\n".to_owned(),
        "complete #false\nrun \"ring\" \"pump\" \"check valve\" \"pump\" service=\"heating flow\"\n"
            .to_owned(),
        "complete #false\nrun \"one\" \"boiler\" \"pump\" \"radiator circuit\" \"boiler\"\nrun \"two\" \"water main\" \"stop valve\" \"outside tap\"\n"
            .to_owned(),
    ];
    for text in cases {
        let sized = sized(&text);
        let plan = lay_out(&sized);
        let title = TitleData::of(&sized.system);
        for sheet in sheets(&sized, &plan) {
            let hard = measure(&dress(sheet, &title, 1, 1)).hard;
            assert_eq!(hard.symbol_over_symbol, 0, "{text}");
            assert_eq!(hard.pipe_through_symbol, 0, "{text}");
            assert_eq!(hard.label_over_label, 0, "{text}");
            assert_eq!(hard.text_outside_frame, 0, "{text}");
        }
    }
}

#[test]
#[ignore = "draws pictures to be looked at"]
fn look() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/target/looks");
    std::fs::create_dir_all(folder).unwrap();
    let only = std::env::var("CASE").unwrap_or_default();
    let large = [("hall", marks::hall(20)), ("plant", plant::plant_room(34))];
    let large = large.map(|(name, text)| (name.to_owned(), text));
    for (name, text) in jobs().into_iter().chain(large) {
        if !only.is_empty() && !only.split(',').any(|o| o == name) {
            continue;
        }
        let sized = sized(&text);
        let plan = lay_out(&sized);
        for page in &plan.pages {
            let led = page.labels.iter().filter(|l| l.leader.is_some()).count();
            println!(
                "{name} {}: {} parts, {} pipes, {:?} {:?} crossings {} bends {} labels {} led {led}",
                page.key,
                page.system.parts.len(),
                page.system.pipes.len(),
                page.sheet,
                page.bounds,
                page.measures.crossings,
                page.measures.bends,
                page.labels.len(),
            );
        }
        let title = TitleData::of(&sized.system);
        for sheet in sheets(&sized, &plan) {
            let sheet = dress(sheet, &title, 1, 1);
            let quality = measure(&sheet);
            let soft = &quality.soft;
            println!(
                "  hard {} used {:.2} words off {:.2} mm",
                quality.hard_total, soft.used_share, soft.label_distance
            );
            let file = format!("{folder}/{name}-{}.png", sheet.key);
            std::fs::write(file, png(&sheet, 150.0).unwrap()).unwrap();
        }
    }
}
