//! What people really hand in: every fault is said at its characters, nothing panics, and what
//! can be kept is kept.

use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::path::Path;

use firstfix::describe::{Reading, format, read};
use firstfix::diagnostic::{Diagnostic, Severity, located, to_text};
use firstfix::pipeline::work_out;
use proptest::prelude::*;

const GOOD: &str = include_str!("../src/cli/starter.kdl");

/// A text for each code, and the characters it must point at.
const FAULTS: &[(&str, &str, &str)] = &[
    ("syntax", "cylinder [litres]", "["),
    ("too-deep", "", ""),
    ("empty-file", "// nothing yet", ""),
    ("too-large", "", ""),
    ("not-text", "job \u{0}", "\u{0}"),
    ("unclosed-brace", "cupboard width=980 {", "{"),
    ("stray-brace", "dwelling bedrooms=3\n}", "}"),
    ("unclosed-quote", "job \"Heron\nboiler kw=24", "\""),
    ("unclosed-comment", "boiler kw=24 /* for now", "/*"),
    ("bare-number", "cupboard width=980mm", "980mm"),
    ("unknown-node", "gadget litres=210", "gadget"),
    ("unknown-property", "cylinder liters-x=210", "liters-x"),
    ("unknown-word", "cylinder heated=\"gas\"", "\"gas\""),
    ("unknown-kind", "part \"x\" \"levr valve\"", "\"levr valve\""),
    ("unknown-mark", "cylinder litres=(guess)210", "guess"),
    ("unknown-unit", "cylinder litres=\"210 bottles\"", "\"210 bottles\""),
    ("unknown-size", "discharge size=23", "23"),
    ("unknown-stretch", "run \"r\" \"tee\" \"lever valve\" { stretch 2 size=15 }", "2"),
    ("wrong-unit", "cupboard width=\"3 bar\"", "\"3 bar\""),
    ("wrong-value", "cupboard width=#true", "#true"),
    ("not-a-number", "cupboard width=wide", "wide"),
    ("empty-value", "cylinder litres=#null", "#null"),
    ("missing-value", "cupboard { wall outside=#true }", "wall"),
    ("unexpected-value", "cupboard width=28 mm", "mm"),
    ("given-twice", "boiler kw=24 kw=30", "kw"),
    ("duplicate-name", "zone \"up\"\nzone \"up\"", "\"up\""),
    ("impossible-number", "cylinder litres=-210", "-210"),
    ("likely-slip", "boiler kw=1.5", "1.5"),
    ("loose-figure", "boiler 24kW", "24kW"),
    ("two-words", "outlets { kitchen sink }", "kitchen sink"),
    ("no-braces", "cylinder litres=210 — coil kw=20", "coil"),
    ("second-line", "boiler kw=24\nboiler kw=30", "boiler"),
    ("flow-below-return", "boiler flow=50 return=70", "50 return=70"),
    ("misspelt", "cupbord width=900", "cupbord"),
    ("not-printable", "job \"Dove \u{1f3e0}\"", "\"Dove \u{1f3e0}\""),
    ("two-figures", "boiler 24-30kw", "24-30kw"),
    ("which-gallon", "cylinder litres=\"45 gal\"", "\"45 gal\""),
];

fn found<'a>(reading: &'a Reading, code: &str) -> Option<&'a Diagnostic> {
    reading.diagnostics.iter().find(|d| d.code == code)
}

#[test]
fn every_fault_points_at_its_characters() {
    for (code, text, at) in FAULTS {
        if text.is_empty() {
            continue;
        }
        let reading = read(text);
        let d = found(&reading, code)
            .unwrap_or_else(|| panic!("{text:?} is not {code}: {:?}", reading.diagnostics));
        assert_eq!(&text[d.span.clone()], *at, "{code}");
        assert!(!d.message.is_empty() && !d.label.is_empty(), "{code} says too little");
    }
}

#[test]
fn every_code_has_an_example() {
    let mut used = BTreeSet::new();
    codes(Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/src/describe")), &mut used);
    let shown: BTreeSet<String> = FAULTS.iter().map(|f| f.0.to_owned()).collect();
    assert!(used.len() > 20, "the search for codes finds too few");
    assert_eq!(used, shown);
}

/// The first string after each call that makes a diagnostic, in every file of a folder.
fn codes(folder: &Path, all: &mut BTreeSet<String>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            codes(&path, all);
            continue;
        }
        let text = std::fs::read_to_string(&path).unwrap();
        let text = text.split("#[cfg(test)]").next().unwrap();
        for call in ["Diagnostic::error(", "Diagnostic::warning(", ".unknown("] {
            for (at, _) in text.match_indices(call) {
                let rest = &text[at + call.len()..];
                let Some(code) = rest.trim_start().strip_prefix('"') else { continue };
                all.insert(code.split('"').next().unwrap().to_owned());
            }
        }
        // `("not-a-number", format!(…))`: code and message chosen together.
        for (at, _) in text.match_indices("\", format!(") {
            let before = &text[..at];
            if let Some(code) = before.rfind("(\"").map(|i| &before[i + 2..])
                && code.contains('-')
                && code.chars().all(|c| c.is_ascii_lowercase() || c == '-')
            {
                all.insert(code.to_owned());
            }
        }
    }
}

#[test]
fn all_faults_are_said_at_once() {
    let mut text = String::new();
    for (code, example, _) in FAULTS {
        let keeps = !matches!(*code, "syntax" | "not-text" | "unclosed-comment" | "unclosed-brace");
        if keeps && !example.is_empty() {
            let _ = writeln!(text, "{example}");
        }
    }
    let reading = read(&text);
    assert!(reading.readable);
    let said: BTreeSet<&str> = reading.diagnostics.iter().map(|d| d.code).collect();
    assert!(said.len() > 14 && reading.diagnostics.len() > 18, "{said:?}");
}

/// A figure that is thrown away is replaced by an assumed one, which must say so.
#[test]
fn what_is_assumed_in_place_of_a_refused_value_says_so() {
    for (text, what, typed) in [
        ("cupboard width=1000 depth=36 height=2300", "cupboard depth", "depth=36"),
        ("discharge length=3000", "length of the discharge pipe D2", "length=3000"),
        ("boiler flow=50 return=70", "flow temperature of the heat source", "flow=50"),
    ] {
        let system = firstfix::complete::complete(&read(text).facts).system;
        let a = system.assumptions.iter().find(|a| a.what == what).unwrap();
        assert!(a.why.starts_with(&format!("{typed} was given and REFUSED")), "{}", a.why);
    }
}

/// A store that is assumed must hold its water.
#[test]
fn an_assumed_store_is_large_enough_for_its_content() {
    for litres in [60, 210, 500, 800, 2100, 3000] {
        for more in ["", "slim=#true", "diameter=900"] {
            let text = format!("cylinder litres={litres} {more}");
            let system = firstfix::complete::complete(&read(&text).facts).system;
            let store = system.parts.iter().find(|p| p.tag == "CYL1").unwrap();
            let (d, h) = (store.number("diameter").unwrap(), store.number("height").unwrap());
            let room = std::f64::consts::FRAC_PI_4 * d * d * h / 1e6;
            assert!(room > f64::from(litres) * 1.1, "{text}: {d} x {h} holds {room} l");
        }
    }
}

#[test]
fn phones_type_as_they_like() {
    let phone = GOOD
        .replace('"', "”")
        .replace(" { ", "\u{a0}{\u{2009}")
        .replace("Sample", "Sam\u{200b}ple")
        .replace("# ", "#\u{feff} ")
        .replace("boiler kind", "Boiler kind");
    let (typed, plain) = (read(&phone), read(GOOD));
    assert_eq!(plain.diagnostics, []);
    assert_eq!(typed.diagnostics, []);
    assert_eq!(typed.facts.job.name.unwrap().value, plain.facts.job.name.unwrap().value);
    assert_eq!(typed.facts.outlets.len(), plain.facts.outlets.len());
    assert_eq!(typed.facts.sources.len(), 1);
}

#[test]
fn figures_that_mean_nothing_are_refused_and_the_rest_is_kept() {
    for n in
        ["-210", "0", "1e300", "-1e300", "#nan", "#inf", "#-inf", "nan", "99999999999999999999"]
    {
        let text = format!("cylinder litres={n} diameter=554");
        let reading = read(&text);
        assert!(reading.readable, "{text}");
        assert!(reading.diagnostics.iter().any(|d| d.severity == Severity::Error), "{text}");
        let c = &reading.facts.cylinders[0];
        assert!(!c.properties.contains_key("litres"), "{text}");
        assert!(c.properties.contains_key("diameter"), "{text}");
    }
}

#[test]
fn slips_are_asked_about_with_the_likely_meaning() {
    for (text, label) in [
        ("boiler kw=1.5", "was 15 meant"),
        ("cupboard { door clear-width=21 }", "was 21 in meant (533 mm)"),
        ("cupboard width=2.35", "was 2.35 m meant"),
        ("cylinder height=\"3.5 m\"", "usual:"),
        ("cylinder { immersion kw=3000 }", "was 3000 W meant"),
        ("main static=420", "was 420 kPa meant"),
    ] {
        let reading = read(text);
        assert!(reading.diagnostics[0].label.contains(label), "{:?}", reading.diagnostics);
    }
}

#[test]
fn large_deep_and_binary_texts_are_refused_quickly() {
    let deep = "a {\n".repeat(30_000);
    for (text, code) in [
        ("x ".repeat(2_000_000), "too-large"),
        (deep, "too-deep"),
        ("/*\n".repeat(30_000), "too-deep"),
        ("\u{7f}ELF\u{0}\u{1}".to_owned(), "not-text"),
    ] {
        let reading = read(&text);
        assert!(!reading.readable);
        assert_eq!(reading.diagnostics[0].code, code);
        let _ = to_text("x", &text, &reading.diagnostics[0]);
    }
}

/// Texts made to hurt: many faults in a row once took all of the parser's stack, and endless lines
/// all of its time.
#[test]
fn hostile_texts_are_refused_in_time() {
    for piece in [
        "=", "a=", "a \\", "\\", "(", "/-", "#", "\"\" ", "x ", ";", "28mm ", "a=1 ", "\u{b}6", "“",
    ] {
        for end in ["", "\n"] {
            let text = format!("{piece}{end}").repeat(if end.is_empty() { 9000 } else { 3000 });
            let reading = read(&text);
            assert!(reading.diagnostics.len() < 20_000, "{piece:?}");
            let _ = format(&text);
        }
        let block = format!("cupboard {{\n{}\n}}", format!("{piece}\n").repeat(4000));
        let _ = read(&block);
    }
}

#[test]
fn a_line_that_cannot_be_read_leaves_the_others_readable() {
    let text = "job \"x\"\ncylinder [\n\nboiler kw=24 retrun=50\nzone )\n";
    let reading = read(text);
    assert!(reading.readable);
    let said: Vec<_> = reading.diagnostics.iter().map(|d| d.code).collect();
    assert_eq!(said, ["syntax", "misspelt", "syntax"]);
    assert_eq!(reading.facts.job.name.unwrap().value, "x");
    for whole in
        ["a 1 \\\n 2", "/-\nboiler [ ]", "a 1 \\ // why\n 2", "a {\n b\n}; c", "/- a {\n [\n}"]
    {
        let said = read(whole).diagnostics;
        let syntax = said.iter().filter(|d| d.code == "syntax").count();
        assert_eq!(syntax, usize::from(whole.contains('[')), "{whole:?}");
    }
}

#[test]
fn an_empty_text_is_said_to_be_empty() {
    for text in ["", "\n\n", "// nothing yet", "\u{feff}", "/- boiler kw=24", "/* a\n */"] {
        let outcome = work_out(text);
        let said: Vec<_> = outcome.diagnostics.iter().map(|d| d.code).collect();
        assert_eq!(said, ["empty-file"], "{text:?}");
        assert!(outcome.project.is_none(), "{text:?}");
    }
    assert!(work_out("cylinder").project.is_some());
}

#[test]
fn what_the_graph_refuses_is_said_with_its_place() {
    for (text, code) in [
        // No free port: the third pipe on a two-port valve.
        (
            "part \"v\" \"lever valve\"\nrun \"a\" \"water main\" \"v\" \"capped end\"\n\
             run \"b\" \"tee\" \"v\"",
            "no-free-port",
        ),
        ("complete #false\npart \"v\" \"lever valve\"", "joined-to-nothing"),
        ("run \"a\" \"no such thing\" \"lever valve\"", "unknown-part"),
        ("run \"a\" \"tee.sideways\" \"lever valve\"", "unknown-port"),
    ] {
        let outcome = work_out(text);
        let d = outcome.diagnostics.iter().find(|d| d.code == code);
        let d = d.unwrap_or_else(|| panic!("{code}: {:?}", outcome.diagnostics));
        assert!(d.span.end > d.span.start, "{code} has no place");
    }
}

/// Never a panic, and every place lies within the text, on whole characters.
fn survives(text: &str) {
    let reading = read(text);
    for d in &reading.diagnostics {
        assert!(text.get(d.span.clone()).is_some(), "{:?} of {text:?}", d.span);
        if let Some(e) = &d.edit {
            assert!(text.get(e.span.clone()).is_some(), "edit {:?} of {text:?}", e.span);
        }
        let _ = to_text("x", text, d);
        let _ = located("x", text, d);
    }
    if let Ok(tidied) = format(text) {
        assert_eq!(format(&tidied).as_deref(), Ok(tidied.as_str()), "not settled: {text:?}");
    }
}

/// Pieces that faults are made of.
fn scrap() -> impl Strategy<Value = String> {
    prop_oneof![
        prop::sample::select(vec![
            "{",
            "}",
            "\"",
            "“",
            "”",
            "'",
            "’",
            "#",
            "\\",
            "/*",
            "*/",
            "//",
            "/-",
            "=",
            "(",
            ")",
            ";",
            "\n",
            " ",
            "\u{a0}",
            "\u{200b}",
            "\u{202e}",
            "\u{2028}",
            "-",
            "–",
            "½",
            "28mm",
            "3/4",
            ".5",
            "5%",
            "21\"",
            "7'9\"",
            "1e999",
            "0x",
            "#true",
            "true",
            "#\"\"#",
            "\"\"\"",
            "<script>",
            "../",
            "😀",
            "é",
            "\t",
            "\r\n",
            "tee",
            "cylinder",
            "run",
            "part",
            "tail",
            "x",
            "🏳\u{200d}🌈",
        ])
        .prop_map(str::to_owned),
        any::<char>().prop_map(String::from),
        "[a-z]{1,8}",
        any::<f64>().prop_map(|f| f.to_string()),
    ]
}

/// A good description with pieces cut out, put in and doubled.
fn mutated(good: &'static str) -> impl Strategy<Value = String> {
    let edit = (any::<prop::sample::Index>(), 0usize..40, scrap(), any::<bool>());
    prop::collection::vec(edit, 1..6).prop_map(move |edits| {
        let mut text: Vec<char> = good.chars().collect();
        for (at, n, piece, double) in edits {
            let at = at.index(text.len() + 1);
            let end = (at + n).min(text.len());
            let cut: Vec<char> = text[at..end].to_vec();
            let mut put: Vec<char> = piece.chars().collect();
            if double {
                put.extend(cut.iter().chain(&cut));
            }
            text.splice(at..end, put);
        }
        text.into_iter().collect()
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn arbitrary_text_is_borne(text in any::<String>()) {
        survives(&text);
    }

    #[test]
    fn arbitrary_scraps_are_borne(scraps in prop::collection::vec(scrap(), 0..40)) {
        survives(&scraps.concat());
        survives(&scraps.join(" "));
    }

    #[test]
    fn mutated_descriptions_are_borne(text in mutated(GOOD)) {
        survives(&text);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 6, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn mutated_descriptions_go_through_all_stages(text in mutated(GOOD)) {
        if let Some(project) = work_out(&text).project {
            let _ = project.sheets();
        }
    }
}
