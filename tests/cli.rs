//! The real program in a fresh folder: what it prints, what it writes, how it exits.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use assert_cmd::Command;
use serde_json::Value;
use tempfile::TempDir;

/// A sound job without a cupboard.
const JOB: &str = r#"job "Heron Cottage" number="HC-07" { route "competent person scheme" }
rules "england"
dwelling schematic-only=#true
main static=(measured)4.2 dynamic=(measured)3.1 at=24
cylinder "store" litres=210 heated="indirect" diameter=554 height=1530 { coil kw=21 }
boiler kw=24 flow=70 return=50 place="kitchen, below"
zone "upstairs" kw=6.4 radiators=5
zone "ground floor" kw=5.1 underfloor=6
outlets { shower 2; bath; basin 3; kitchen-sink }
discharge wall="right" length=4.6 elbows=3 to="gully"
"#;

fn firstfix(folder: &Path, arguments: &[&str]) -> (i32, String, String) {
    let output = Command::cargo_bin("firstfix")
        .unwrap()
        .current_dir(folder)
        .args(arguments)
        .env("NO_COLOR", "1")
        .output()
        .unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (output.status.code().unwrap(), text(output.stdout), text(output.stderr))
}

fn folder_with(text: &str) -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("job.kdl"), text).unwrap();
    folder
}

fn names(folder: &Path) -> BTreeSet<String> {
    fs::read_dir(folder)
        .unwrap()
        .map(|e| e.unwrap().file_name().to_string_lossy().into_owned())
        .collect()
}

#[test]
fn what_new_prints_is_sound_and_tidy() {
    let folder = tempfile::tempdir().unwrap();
    let (code, text, said) = firstfix(folder.path(), &["new"]);
    assert_eq!((code, said.as_str()), (0, ""));
    fs::write(folder.path().join("job.kdl"), &text).unwrap();
    let (code, _, said) = firstfix(folder.path(), &["expand", "job.kdl"]);
    assert_eq!((code, said.as_str()), (0, ""));
    assert_eq!(firstfix(folder.path(), &["format", "job.kdl", "--check"]).0, 0);
}

#[test]
fn draw_writes_every_sheet_and_names_each_on_a_line() {
    let folder = folder_with(JOB);
    let arguments = ["draw", "job.kdl", "-o", "sheets", "--formats", "svg,pdf"];
    let (code, text, said) = firstfix(folder.path(), &arguments);
    assert_eq!((code, said.as_str()), (0, ""));
    let written = names(&folder.path().join("sheets"));
    let svgs = written.iter().filter(|n| n.ends_with(".svg")).count();
    assert!(svgs > 3);
    assert!(written.contains("all-sheets.pdf"));
    assert_eq!(written.len(), svgs + 1, "{written:?}");
    for line in text.lines().rev().take(svgs) {
        assert!(line.contains(".svg"), "{line}");
    }
    for name in written.iter().filter(|n| n.ends_with(".svg")) {
        let svg = fs::read_to_string(folder.path().join("sheets").join(name)).unwrap();
        roxmltree::Document::parse(&svg).unwrap();
    }
}

#[test]
fn draw_takes_sheets_by_name_and_pictures_by_density() {
    let folder = folder_with(JOB);
    let draw = |sheets: &str, dpi: &str| {
        firstfix(
            folder.path(),
            &["draw", "job.kdl", "--sheets", sheets, "--formats", "png", "--dpi", dpi],
        )
    };
    assert_eq!(draw("householder", "50").0, 0);
    assert_eq!(names(&folder.path().join("out")), BTreeSet::from(["householder.png".to_owned()]));
    let (code, _, said) = draw("housholder", "50");
    assert_eq!(code, 2);
    assert!(said.contains("did you mean householder?"), "{said}");
    assert_eq!(draw("householder", "5000").0, 2);
    assert_eq!(names(&folder.path().join("out")).len(), 1);
}

#[test]
fn after_an_edit_the_rest_stays() {
    let folder = folder_with(JOB);
    let zone = "zone \"loft\" kw=1.2 radiators=1\n";
    fs::write(folder.path().join("edited.kdl"), format!("{JOB}{zone}")).unwrap();
    let draw = |more: &[&str]| {
        let mut all = vec!["draw", "edited.kdl", "--sheets", "schematic", "--formats", "svg"];
        all.extend(more);
        firstfix(folder.path(), &all)
    };
    let (code, out, said) = draw(&["--after", "job.kdl"]);
    assert_eq!((code, said.as_str()), (0, ""));
    assert!(out.contains("parts of the schematic"), "{out}");
    let (_, out, _) = draw(&["--after", "job.kdl", "--json"]);
    let value: Value = serde_json::from_str(&out).unwrap();
    let parts = value["stayed"]["parts"].as_u64().unwrap();
    let moved = value["stayed"]["moved"].as_array().unwrap().len() as u64;
    assert!(parts > 40 && moved * 3 < parts, "{moved} of {parts} moved");
    // The same file after itself, and after a chain of issues, is the same drawing.
    let svg = || fs::read(folder.path().join("out/schematic.svg")).unwrap();
    draw(&["--after", "job.kdl"]);
    let first = svg();
    draw(&["--after", "job.kdl", "--after", "edited.kdl"]);
    assert_eq!(first, svg());
    let (_, out, _) = draw(&["--after", "job.kdl", "--after", "edited.kdl"]);
    assert!(out.contains("stand where they stood"), "{out}");
    assert_eq!(draw(&["--after", "missing.kdl"]).0, 2);
    fs::write(folder.path().join("broken.kdl"), "}{").unwrap();
    let (code, out, said) = draw(&["--after", "broken.kdl"]);
    assert_eq!((code, out.as_str()), (2, ""));
    assert!(said.contains("broken.kdl"), "{said}");
}

#[test]
fn an_expanded_file_gives_the_same_bytes() {
    same_when_expanded(JOB);
}

/// Facts with a cupboard, facts with a factory-fitted unit, and parts and runs alone.
#[test]
fn an_expanded_cupboard_gives_the_same_bytes() {
    same_when_expanded(include_str!("../examples/heron-cottage.kdl"));
    same_when_expanded(include_str!("../examples/sandpiper-court.kdl"));
    same_when_expanded(include_str!("../examples/ouzel-mews.kdl"));
}

fn same_when_expanded(text: &str) {
    let folder = folder_with(text);
    let (code, expanded, _) = firstfix(folder.path(), &["expand", "job.kdl"]);
    assert_eq!(code, 0);
    fs::write(folder.path().join("all.kdl"), &expanded).unwrap();
    for (file, out) in [("job.kdl", "a"), ("all.kdl", "b")] {
        let (code, _, said) =
            firstfix(folder.path(), &["draw", file, "-o", out, "--formats", "svg"]);
        assert_eq!((code, said.as_str()), (0, ""), "{file}");
    }
    let (a, b) = (folder.path().join("a"), folder.path().join("b"));
    assert_eq!(names(&a), names(&b));
    for name in names(&a) {
        assert!(fs::read(a.join(&name)).unwrap() == fs::read(b.join(&name)).unwrap(), "{name}");
    }
    let (_, again, _) = firstfix(folder.path(), &["expand", "all.kdl"]);
    assert_eq!(again, expanded);
}

#[test]
fn json_is_one_document_on_standard_output() {
    let folder = folder_with(&format!("{JOB}\nbiolr kw=1\n"));
    for (arguments, keys) in [
        (vec!["check", "job.kdl"], vec!["findings", "passes", "assumptions", "diagnostics"]),
        (vec!["size", "job.kdl"], vec!["figures", "diagnostics"]),
        (vec!["wire", "job.kdl"], vec!["wiring", "state_tables", "proofs", "faults"]),
        (vec!["list", "job.kdl"], vec!["parts", "pipes"]),
        (vec!["expand", "job.kdl"], vec!["text", "system"]),
        (
            vec!["draw", "job.kdl", "--formats", "svg", "--sheets", "schedule"],
            vec!["sheets", "files"],
        ),
    ] {
        let mut arguments = arguments;
        arguments.push("--json");
        let (code, text, said) = firstfix(folder.path(), &arguments);
        assert_eq!((code, said.as_str()), (1, ""), "{arguments:?}");
        let value: Value = serde_json::from_str(&text).unwrap();
        for key in keys {
            assert!(value.get(key).is_some(), "{arguments:?} lacks {key}");
        }
        let d = &value["diagnostics"][0];
        assert_eq!(d["code"], "unknown-node");
        let line = JOB.lines().count() + 2;
        assert_eq!((d["line"].as_u64(), d["column"].as_u64()), (Some(line as u64), Some(1)));
        assert_eq!(d["end_column"].as_u64(), Some(6));
        assert_eq!(d["edit"]["replacement"], "boiler");
    }
    for arguments in
        [vec!["new", "--json"], vec!["explain", "--json"], vec!["explain", "SAF01", "--json"]]
    {
        let (code, text, _) = firstfix(folder.path(), &arguments);
        assert_eq!(code, 0);
        serde_json::from_str::<Value>(&text).unwrap();
    }
}

#[test]
fn draw_json_gives_the_figures_of_quality() {
    let folder = folder_with(JOB);
    let arguments = ["draw", "job.kdl", "--formats", "svg", "--sheets", "schedule", "--json"];
    let (_, text, _) = firstfix(folder.path(), &arguments);
    let value: Value = serde_json::from_str(&text).unwrap();
    assert!(value["sheets"][0]["quality"]["hard-total"].is_u64(), "{text}");
}

#[test]
fn check_exits_by_what_stands() {
    let sound = folder_with(JOB);
    assert_eq!(firstfix(sound.path(), &["check", "job.kdl"]).0, 0);
    let faulty = folder_with(&format!("{JOB}\ngadget size=3\n"));
    assert_eq!(firstfix(faulty.path(), &["check", "job.kdl"]).0, 1);
    let unreadable = folder_with("cylinder [");
    let (code, text, said) = firstfix(unreadable.path(), &["check", "job.kdl"]);
    assert_eq!((code, text.as_str()), (2, ""));
    assert!(said.contains("job.kdl:1:10"), "{said}");
    let (code, _, said) = firstfix(unreadable.path(), &["check", "no-such.kdl"]);
    assert_eq!(code, 2);
    assert!(said.contains("there is no file no-such.kdl"), "{said}");
    assert_eq!(firstfix(unreadable.path(), &["check", "."]).0, 2);
    assert_eq!(firstfix(unreadable.path(), &["fly"]).0, 2);
    assert_eq!(firstfix(unreadable.path(), &["--help"]).0, 0);
}

#[test]
fn standard_input_is_a_file_called_dash() {
    let folder = tempfile::tempdir().unwrap();
    let run = |arguments: &[&str], text: &str| {
        let output = Command::cargo_bin("firstfix")
            .unwrap()
            .current_dir(folder.path())
            .args(arguments)
            .write_stdin(text)
            .output()
            .unwrap();
        (output.status.code(), String::from_utf8(output.stdout).unwrap())
    };
    assert_eq!(run(&["format", "-"], "a   {\nb}"), (Some(0), "a {\n    b }\n".to_owned()));
    assert_eq!(run(&["check", "-"], "cylinder [").0, Some(2));
    assert_eq!(run(&["check", "-"], JOB).0, Some(0));
}

#[test]
fn format_writes_only_when_told_and_only_tidied() {
    let folder = folder_with("boiler   kw=24 // the old one\n");
    let file = folder.path().join("job.kdl");
    assert_eq!(firstfix(folder.path(), &["format", "job.kdl", "--check"]).0, 1);
    let (_, text, _) = firstfix(folder.path(), &["format", "job.kdl"]);
    assert_eq!(text, "boiler kw=24 // the old one\n");
    assert!(fs::read_to_string(&file).unwrap().contains("   "));
    let (code, text, _) = firstfix(folder.path(), &["format", "job.kdl", "--write"]);
    assert_eq!((code, text.as_str()), (0, ""));
    assert_eq!(fs::read_to_string(&file).unwrap(), "boiler kw=24 // the old one\n");
    fs::write(&file, "boiler {").unwrap();
    assert_eq!(firstfix(folder.path(), &["format", "job.kdl", "--write"]).0, 2);
    assert_eq!(fs::read_to_string(&file).unwrap(), "boiler {");
    assert_eq!(names(folder.path()).len(), 1, "something was left behind");
}

#[test]
fn explain_lists_and_explains() {
    let folder = tempfile::tempdir().unwrap();
    let (code, text, _) = firstfix(folder.path(), &["explain"]);
    assert_eq!(code, 0);
    assert!(text.lines().any(|l| l.starts_with("DIS04")), "{text}");
    let (code, text, _) = firstfix(folder.path(), &["explain", "dis4"]);
    assert_eq!(code, 0);
    assert!(text.contains("Approved Document G"), "{text}");
    let (code, _, said) = firstfix(folder.path(), &["explain", "DSI04"]);
    assert_eq!(code, 2);
    assert!(said.contains("DIS04"), "{said}");
}

#[test]
fn names_from_the_text_never_lead_out_of_the_folder_nor_into_the_markup() {
    let nasty = "../../etc/<script>alert('x')</script> \\\" & 😀 \u{5d0}\u{5d1} /x";
    let text = format!(
        "job \"{nasty}\" number=\"../..\" status=\"<b>\" {{ address \"{nasty}\" }}\n\
         cylinder \"{nasty}\" litres=150\nboiler \"../boiler\" kw=24 place=\"../../<i>\"\n\
         zone \"<script>\" kw=3\n"
    );
    let folder = tempfile::tempdir().unwrap();
    let inner = folder.path().join("a").join("b");
    fs::create_dir_all(&inner).unwrap();
    fs::write(inner.join("job.kdl"), text).unwrap();
    let (code, _, said) = firstfix(&inner, &["draw", "job.kdl", "--formats", "svg"]);
    // Letters that the typeface lacks are spoken of, no more.
    assert!(code == 0 && !said.contains("error"), "{said}");
    assert_eq!(names(folder.path()).len(), 1);
    assert_eq!(names(&folder.path().join("a")).len(), 1);
    assert_eq!(names(&inner).len(), 2);
    for name in names(&inner.join("out")) {
        let svg = fs::read_to_string(inner.join("out").join(&name)).unwrap();
        let tree = roxmltree::Document::parse(&svg).unwrap_or_else(|e| panic!("{name}: {e}"));
        let scripts = tree.descendants().filter(|n| n.has_tag_name("script")).count();
        assert_eq!(scripts, 0, "{name}");
        assert!(!svg.contains("<script"), "{name}");
    }
}

#[test]
fn files_appear_whole_or_not_at_all() {
    let folder = folder_with(JOB);
    // The last file to be put in place can't be: none is.
    fs::create_dir_all(folder.path().join("out").join("all-sheets.pdf")).unwrap();
    let (code, text, said) = firstfix(folder.path(), &["draw", "job.kdl", "--formats", "svg,pdf"]);
    assert_eq!((code, text.as_str()), (2, ""));
    assert!(said.contains("all-sheets.pdf"), "{said}");
    assert_eq!(names(&folder.path().join("out")).len(), 1);
    let (code, _, _) = firstfix(folder.path(), &["draw", "job.kdl", "-o", "job.kdl"]);
    assert_eq!(code, 2);
    assert_eq!(fs::read_to_string(folder.path().join("job.kdl")).unwrap(), JOB);
    // Unreadable texts leave no folder behind.
    fs::write(folder.path().join("bad.kdl"), "cylinder [").unwrap();
    assert_eq!(firstfix(folder.path(), &["draw", "bad.kdl", "-o", "none"]).0, 2);
    assert!(!folder.path().join("none").exists());
}

#[test]
fn large_binary_and_foreign_files_are_answered() {
    let folder = tempfile::tempdir().unwrap();
    let large = fs::File::create(folder.path().join("large.kdl")).unwrap();
    large.set_len(50_000_000).unwrap();
    fs::write(folder.path().join("spaces.kdl"), " ".repeat(5_000_000)).unwrap();
    fs::write(folder.path().join("binary.kdl"), [0x7f, b'E', b'L', b'F', 0, 0xff, 0xfe]).unwrap();
    fs::write(folder.path().join("latin.kdl"), b"job \"Her\xf6n\"\n").unwrap();
    for (file, word) in [
        ("large.kdl", "longer than a description"),
        ("spaces.kdl", "longer than a description"),
        ("binary.kdl", "not a text file"),
        ("latin.kdl", "UTF-8"),
    ] {
        let (code, text, said) = firstfix(folder.path(), &["draw", file]);
        assert_eq!((code, text.as_str()), (2, ""), "{file}");
        assert!(said.contains(word), "{file}: {said}");
        assert!(said.len() < 3000, "{file} says {} bytes", said.len());
    }
    let wide: Vec<u8> =
        std::iter::once(0xfeffu16).chain(JOB.encode_utf16()).flat_map(u16::to_le_bytes).collect();
    fs::write(folder.path().join("wide.kdl"), wide).unwrap();
    assert_eq!(firstfix(folder.path(), &["check", "wide.kdl"]).0, 0);
    assert!(!folder.path().join("out").exists());
}

/// Who reads the last line only, or one sheet only, must learn that something was left out.
#[test]
fn what_was_not_read_is_counted_and_stands_on_the_sheets() {
    let text = JOB.replace("kitchen-sink }", "hot plate 2 }").replace("static", "stood");
    let folder = folder_with(&text);
    let (code, out, _) = firstfix(folder.path(), &["check", "job.kdl"]);
    assert_eq!(code, 1);
    let last = out.lines().last().unwrap();
    assert!(last.starts_with("2 errors (2 lines of the description not wholly read)"), "{last}");
    assert!(out.contains("NOT READ: line 4 `stood`"), "{out}");
    let arguments = ["draw", "job.kdl", "--sheets", "findings,schematic", "--formats", "svg"];
    let (code, out, _) = firstfix(folder.path(), &arguments);
    assert_eq!(code, 1);
    assert!(out.trim_end().ends_with("2 lines of the description were not wholly read: see above"));
    let sheet = |key: &str| {
        let svg = fs::read_to_string(folder.path().join(format!("out/{key}.svg"))).unwrap();
        let document = roxmltree::Document::parse(&svg).unwrap();
        let texts = document.descendants().filter(|n| n.is_text()).filter_map(|n| n.text());
        texts.map(str::trim).collect::<Vec<_>>().join(" ")
    };
    let schematic = sheet("schematic");
    assert!(schematic.contains("2 lines of the description not read"), "{schematic}");
    let findings = sheet("findings");
    for said in ["NOT READ of the description: line 4", "stood", "hot"] {
        assert!(findings.contains(said), "{said}: {findings}");
    }
}

#[test]
fn an_empty_file_is_refused() {
    for text in ["", "// later\n"] {
        let folder = folder_with(text);
        for command in ["check", "draw", "size"] {
            let (code, out, said) = firstfix(folder.path(), &[command, "job.kdl"]);
            assert_eq!((code, out.as_str()), (2, ""), "{command}");
            assert!(said.contains("nothing is described"), "{said}");
        }
    }
}

/// A stove is drawn, and nobody may take the drawing for a sound one.
#[test]
fn what_is_out_of_scope_is_counted_and_stands_on_the_sheets() {
    let folder = folder_with(&JOB.replace("boiler kw=24 flow=70 return=50", "uncontrolled kw=8"));
    let (_, out, _) = firstfix(folder.path(), &["check", "job.kdl"]);
    let last = out.lines().last().unwrap();
    assert!(last.contains(" warning") && !last.contains("0 warnings"), "{last}");
    assert!(out.contains("OUT OF SCOPE: line 6"), "{out}");
    firstfix(folder.path(), &["draw", "job.kdl", "--sheets", "findings", "--formats", "svg"]);
    let files = names(&folder.path().join("out"));
    let first = files.iter().find(|n| n.starts_with("findings")).unwrap();
    let svg = fs::read_to_string(folder.path().join("out").join(first)).unwrap();
    assert!(svg.contains("OUT OF SCOPE"));
}
