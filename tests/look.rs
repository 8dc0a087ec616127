//! For the eye: `LOOK=file.kdl OUT=folder DPI=100 cargo test --test look -- --ignored` leaves every
//! sheet as a picture.

#![allow(clippy::print_stdout)]

mod common;

use firstfix::render::{Typeface, png, svg};

#[test]
#[ignore = "for the eye"]
fn look() {
    let file = std::env::var("LOOK").unwrap();
    let out = std::env::var("OUT").unwrap();
    let dpi = std::env::var("DPI").map_or(90.0, |d| d.parse().unwrap());
    let text = std::fs::read_to_string(&file).unwrap();
    std::fs::create_dir_all(&out).unwrap();
    let outcome = firstfix::pipeline::work_out(&text);
    for d in &outcome.diagnostics {
        println!("{:?} {} {}", d.severity, d.code, d.message);
    }
    for sheet in outcome.project.unwrap().sheets() {
        std::fs::write(format!("{out}/{}.png", sheet.key), png(&sheet, dpi).unwrap()).unwrap();
        std::fs::write(format!("{out}/{}.svg", sheet.key), svg(&sheet, Typeface::Named)).unwrap();
        let q = firstfix::draw::quality::measure(&sheet);
        let bad: Vec<String> = serde_json::to_value(&q.hard)
            .unwrap()
            .as_object()
            .unwrap()
            .iter()
            .filter(|(_, n)| n.as_u64() != Some(0))
            .map(|(k, n)| format!("{k} {n}"))
            .collect();
        println!("{}: {} | {:?}", q.sheet, bad.join(", "), q.soft);
    }
}

#[test]
#[ignore = "for the eye"]
fn figures() {
    let text = std::fs::read_to_string(std::env::var("LOOK").unwrap()).unwrap();
    let project = common::project(&text);
    for f in &project.sized.figures {
        println!(
            "{} | {} | {} | {} {} | {} | {}",
            f.id, f.about, f.quantity, f.value, f.unit, f.result, f.source
        );
    }
    for f in &project.report.findings {
        println!(
            "FINDING {} {:?} {:?} {} assumed={}",
            f.rule, f.severity, f.parts, f.title, f.assumed
        );
    }
}
