//! Sheets as files: the same bytes twice, sizes as ISO 216 says, text that stays text.

use firstfix::draw::frame::{TitleData, dress};
use firstfix::draw::scene::{Paper, Sheet, Words};
use firstfix::model::P2;
use firstfix::render::{Typeface, pdf, png, svg};

fn sheet() -> Sheet {
    let words = Words::new(P2::new(40.0, 60.0), "<script>alert(\"½″ & °C\")</script>\u{1}", 3.5);
    let sheet = Sheet {
        key: "try".to_owned(),
        title: "Pipework schematic".to_owned(),
        description: "A trial.".to_owned(),
        paper: Paper::A3,
        scale: Some(10),
        items: vec![words.into()],
    };
    let title = TitleData {
        job: "Wren House, Tern Street, a long name that has to wrap".to_owned(),
        revisions: vec![["A", "2026-11-25", "first issue", "KB"].map(str::to_owned)],
        ..TitleData::default()
    };
    dress(sheet, &title, 1, 3)
}

#[test]
fn svg_is_whole_xml_and_text_is_escaped() {
    let text = svg(&sheet(), Typeface::Embedded);
    assert_eq!(text, svg(&sheet(), Typeface::Embedded));
    let tree = roxmltree::Document::parse(&text).expect("well-formed");
    let root = tree.root_element();
    assert_eq!(root.attribute("viewBox"), Some("0 0 420 297"));
    assert_eq!(root.first_element_child().unwrap().tag_name().name(), "title");
    assert!(!text.contains("<script>alert"));
    assert!(root.descendants().any(|n| n.text().is_some_and(|t| t.contains("<script>alert"))));
}

/// ISO 216 A3 at 300 dots an inch: 4961 × 3508; 300 / 25.4 mm = 11811 dots a metre.
#[test]
fn png_has_the_size_and_resolution_asked_for() {
    let bytes = png(&sheet(), 300.0).unwrap();
    let word = |at: usize| u32::from_be_bytes(bytes[at..at + 4].try_into().unwrap());
    assert_eq!((word(16), word(20)), (4961, 3508));
    assert_eq!(&bytes[37..41], b"pHYs");
    assert_eq!(word(41), 11811);
}

#[test]
fn pdf_is_the_same_twice() {
    let sheets = [sheet(), sheet()];
    let a = pdf(&sheets, "Try", "0badf00d").unwrap();
    assert!(a.starts_with(b"%PDF-"));
    assert_eq!(a, pdf(&sheets, "Try", "0badf00d").unwrap());
}

/// `cargo test --test render -- --ignored look` leaves a picture under target/ to look at.
#[test]
#[ignore = "for the eye"]
fn look() {
    std::fs::write("target/look.png", png(&sheet(), 100.0).unwrap()).unwrap();
}
