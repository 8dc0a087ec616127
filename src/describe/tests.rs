//! The language as a whole; details are tested beside their decoders.

use super::*;
use crate::describe::facts::*;
use crate::model::{Datum, Side};

const SKETCH: &str = r#"
job "Heron Cottage" number="HC-07" status="design" {
    address "Heron Cottage, Quay Lane, Little Saltby"
    revision "A" date="2026-11-25" note="first issue"
}
rules "england"
cupboard width=980 depth=760 height=2380 {
    door clear-width=762 clear-height=1981 from-left=110 hinge="right"
    wall "right" outside=#true
    floor "timber" build-up=18 joists="left-right" joist-size="47x220" centres=400
}
main static=4.2 dynamic=3.1 at=24 { tail x=80 y=60 size=22 }
cylinder "store" litres=210 heated="indirect" diameter=554 height=1530 x=470 y=330 {
    coil kw=21
}
boiler kw=24 flow=70 return=50 place="kitchen, below" {
    tail "flow" x=140 y=45 size=28
    tail "return" x=200 y=45 size=28
}
zone "upstairs radiators" kw=6.4 radiators=5
zone "ground floor" kw=5.1 underfloor=6
outlets { shower 2; bath; basin 3; kitchen-sink }
discharge wall="right" length=4.6 elbows=3 to="gully"

// insisting on something: a lever valve where none should be
run "expansion branch" "cold tee" "lever valve" "hot-water vessel"
"#;

fn number(p: &Properties, key: &str) -> Option<f64> {
    match p.get(key).map(|g| &g.value) {
        Some(Datum::Number(n)) => Some(*n),
        _ => None,
    }
}

#[test]
fn the_sketch_of_the_design_reads_without_a_word() {
    let r = read(SKETCH);
    assert_eq!(r.diagnostics, []);
    let f = r.facts;
    assert_eq!(f.job.name.unwrap().value, "Heron Cottage");
    assert_eq!(f.job.fields["address"].value, "Heron Cottage, Quay Lane, Little Saltby");
    assert_eq!(f.job.revisions[0].date, "2026-11-25");
    let c = f.cupboard.unwrap();
    assert_eq!(c.width.as_ref().unwrap().value, 980.0);
    assert_eq!(&SKETCH[c.width.unwrap().span], "980");
    assert_eq!(c.door.unwrap().hinge.unwrap().value, Side::Right);
    assert_eq!(number(&c.floor, "joist-depth"), Some(220.0));
    assert_eq!(f.main.unwrap().tails[0].size.as_ref().unwrap().value, "22");
    assert_eq!(number(&f.cylinders[0].properties, "coil-kw"), Some(21.0));
    assert_eq!(f.cylinders[0].heated.as_ref().unwrap().value, HeatedBy::Indirect);
    assert_eq!(f.sources[0].kind.value, SourceKind::SystemBoiler);
    assert_eq!(f.sources[0].place.elsewhere.as_ref().unwrap().value, "kitchen, below");
    assert_eq!(f.sources[0].tails.len(), 2);
    assert_eq!(f.zones[1].emitters.as_ref().unwrap().value, "underfloor");
    assert_eq!(number(&f.zones[1].properties, "circuits"), Some(6.0));
    let outlets: Vec<_> =
        f.outlets.iter().map(|o| (o.kind.value.as_str(), o.count.value)).collect();
    assert_eq!(outlets, [("shower", 2), ("bath", 1), ("basin", 3), ("kitchen sink", 1)]);
    assert_eq!(f.discharges[0].to.as_ref().unwrap().value, "trapped gully");
    assert_eq!(f.runs[0].stops.len(), 3);
}

#[test]
fn marks_say_where_values_came_from() {
    let r = read(
        "main static=(measured)4.2\ncylinder diameter=(A3)554 height=(derived)1530 litres=(derived: \"by need\")210",
    );
    // An annotation with a space must be quoted as a whole.
    assert!(r.diagnostics.iter().any(|d| d.code == "syntax") && r.facts.cylinders.is_empty());
    let r = read(
        "main static=(measured)4.2\ncylinder diameter=(A3)554 height=(in)60 litres=(\"derived: by need | outlets\")210",
    );
    assert_eq!(r.diagnostics, []);
    assert_eq!(r.facts.main.unwrap().properties["static"].mark, Mark::Measured);
    let c = &r.facts.cylinders[0].properties;
    assert_eq!(c["diameter"].mark, Mark::Assumed("A3".into()));
    assert_eq!(number(c, "height"), Some(1524.0));
    assert_eq!(c["litres"].mark, Mark::Derived("by need | outlets".into()));
}

#[test]
fn stops_name_their_ports() {
    let known = |n: &str| n == "cold tee" || n == "v1.5";
    let stop = |t, first| {
        let s = Stop::parse(t, first, known);
        (s.name, s.enter, s.leave)
    };
    assert_eq!(stop("cold tee", true), ("cold tee", None, None));
    assert_eq!(stop("v1.5", true), ("v1.5", None, None));
    assert_eq!(stop("cold tee.branch", true), ("cold tee", None, Some("branch")));
    assert_eq!(stop("cold tee.branch", false), ("cold tee", Some("branch"), None));
    assert_eq!(stop("v1.5.a>b", false), ("v1.5", Some("a"), Some("b")));
}

/// The same system with every place in the text taken out.
fn unplaced(text: &str) -> serde_json::Value {
    let completed = crate::complete::complete(&read(text).facts);
    let mut value = serde_json::to_value(&completed.system).unwrap();
    strip(&mut value);
    value
}

fn strip(value: &mut serde_json::Value) {
    match value {
        serde_json::Value::Object(map) => {
            map.remove("span");
            for key in ["stated", "measured"] {
                if map.contains_key(key) {
                    map.insert(key.to_owned(), serde_json::Value::Null);
                }
            }
            map.values_mut().for_each(strip);
        }
        serde_json::Value::Array(all) => all.iter_mut().for_each(strip),
        _ => {}
    }
}

#[test]
fn an_expanded_system_reads_back_as_itself() {
    let combination = "boiler kind=combination kw=30\nzone \"a\"\nzone \"b\"\nsoftener\n\
                       cylinder factory-fitted=#true expansion=internal\n\
                       secondary-return { leg length=8 }";
    for text in [SKETCH, "", "cylinder litres=150 heated=electric", combination] {
        let first = unplaced(text);
        let expanded = print(&crate::complete::complete(&read(text).facts).system);
        let again = read(&expanded);
        assert_eq!(again.diagnostics, [], "{expanded}");
        let second = unplaced(&expanded);
        assert!(first == second, "{text}");
        assert_eq!(format(&expanded).unwrap(), expanded);
    }
}

/// The text of every example, sound and faulty.
fn examples() -> Vec<(String, String)> {
    let root = std::path::Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/examples"));
    let mut all = Vec::new();
    for folder in [root.to_owned(), root.join("faulty")] {
        for entry in std::fs::read_dir(folder).into_iter().flatten() {
            let path = entry.unwrap().path();
            if path.extension().is_some_and(|e| e == "kdl") {
                all.push((path.display().to_string(), std::fs::read_to_string(path).unwrap()));
            }
        }
    }
    all.sort();
    all
}

#[test]
fn every_example_reads_without_a_word_and_is_tidy() {
    let all = examples();
    assert!(all.len() > 8);
    for (name, text) in all {
        assert_eq!(read(&text).diagnostics, [], "{name}");
        assert!(format(&text).unwrap() == text, "{name}: run `firstfix format --write` on it");
    }
}

#[test]
fn every_example_expands_to_itself() {
    for (name, text) in examples() {
        let expanded = print(&crate::complete::complete(&read(&text).facts).system);
        let again = read(&expanded);
        assert_eq!(again.diagnostics, [], "{name}");
        assert!(unplaced(&text) == unplaced(&expanded), "{name}");
        assert!(format(&expanded).unwrap() == expanded, "{name}");
    }
}

/// A comment put at every place where a word ends stays, and changes nothing else.
#[test]
fn comments_in_odd_places_stay() {
    let text = "job \"x\" number=1 {\n    address \"a\" // end\n}\nzone \"up\" kw=(measured)3\n";
    let tidy = format(text).unwrap();
    let mut tried = 0;
    for (at, _) in text.match_indices([' ', '\n']) {
        for comment in ["/* odd */", "// odd\n", "/-odd ", "\n/* odd */\n"] {
            let mut odd = text.to_owned();
            odd.insert_str(at, &format!(" {comment}"));
            let Ok(tidied) = format(&odd) else { continue };
            tried += 1;
            assert_eq!(tidied.matches("odd").count(), 1, "{odd:?} became {tidied:?}");
            assert_eq!(format(&tidied).unwrap(), tidied, "{odd:?}");
            let plain: String = tidied.replace("/* odd */", "").split_whitespace().collect();
            if comment == "/* odd */" {
                assert_eq!(plain, tidy.split_whitespace().collect::<String>(), "{odd:?}");
            }
        }
    }
    assert!(tried > 30, "only {tried} places could be read");
}
