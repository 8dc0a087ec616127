//! What every example came to, against what it came to when somebody looked at it. Each example is
//! a test of its own. `BLESS=1 cargo test --test golden` writes what is new: look at the pictures
//! before committing them.
//!
//! For each example: the findings as text, and the drawings as SVG with the typeface by name and as
//! PNG. Of a faulty example only the findings, the schematic and the elevation are kept. Files that
//! nothing makes any more are an error too. Every sheet, kept or not, is also held to what must be
//! nought, counted from its text alone; of a faulty example these are the marks of its findings.

#[path = "../common/mod.rs"]
mod common;
mod flags;
mod hard;
mod names;

use std::collections::BTreeMap;
use std::path::PathBuf;

use firstfix::check::{Finding, Severity};
use firstfix::pipeline::Project;
use firstfix::render::{Typeface, png, svg};
use libtest_mimic::{Arguments, Failed, Trial};

/// Dots an inch of the pictures: enough to see a knot, small enough to keep.
const DPI: f64 = 60.0;
/// Drawings that are kept, by the beginning of their key.
const KEPT: [&str; 8] = [
    "schematic",
    "elevation",
    "plan",
    "isometric",
    "setting-out-",
    "wiring-",
    "building-control",
    "householder",
];
/// Those kept as pictures too.
const PICTURES: [&str; 6] =
    ["schematic", "elevation", "plan", "isometric", "wiring-circuit", "householder"];
const OF_FAULTY: [&str; 2] = ["schematic", "elevation"];

fn main() {
    let arguments = Arguments::from_args();
    let trials = common::examples()
        .into_iter()
        .map(|(name, text)| Trial::test(name.clone(), move || compare(&name, &text)))
        .collect();
    libtest_mimic::run(&arguments, trials).exit();
}

fn compare(name: &str, text: &str) -> Result<(), Failed> {
    let folder = common::folder("golden").join(name);
    let (made, bad) = made(name, &common::project(text))?;
    if std::env::var_os("BLESS").is_some() {
        bless(&folder, &made)?;
    }
    let mut wrong = bad;
    for (file, bytes) in &made {
        match std::fs::read(folder.join(file)) {
            Ok(kept) if kept == *bytes => {}
            Ok(_) => wrong.push(format!("{file} differs")),
            Err(_) => wrong.push(format!("{file} is not kept")),
        }
    }
    for kept in kept(&folder) {
        if !made.contains_key(&kept) {
            wrong.push(format!("{kept} is kept, but nothing makes it"));
        }
    }
    if wrong.is_empty() {
        return Ok(());
    }
    let actual = common::folder("target/golden").join(name);
    write(&actual, &made)?;
    Err(format!(
        "{}\nwhat came out is in {}; look at it, and if it is right: BLESS=1 cargo test --test golden",
        wrong.join("\n"),
        actual.display()
    )
    .into())
}

type Files = BTreeMap<String, Vec<u8>>;

/// The files to keep, and what is wrong with any sheet.
fn made(name: &str, project: &Project) -> Result<(Files, Vec<String>), Failed> {
    let faulty = name.starts_with("faulty-");
    let among = |key: &str, list: &[&str]| list.iter().any(|k| key.starts_with(k));
    let mut files = Files::new();
    let mut bad = Vec::new();
    files.insert("findings.txt".to_owned(), findings(project).into_bytes());
    for sheet in project.sheets() {
        let text = svg(&sheet, Typeface::Named);
        // A faulty example may show bodies and labels in each other's way: that is its point.
        match faulty {
            true => bad.extend(flags::wrong(&text, &project.report)),
            false => {
                bad.extend(hard::wrong(&text));
                bad.extend(names::wrong(&text));
            }
        }
        let kept = if faulty { &OF_FAULTY[..] } else { &KEPT[..] };
        if !among(&sheet.key, kept) {
            continue;
        }
        if among(&sheet.key, &PICTURES) {
            files.insert(format!("{}.png", sheet.key), png(&sheet, DPI)?);
        }
        files.insert(format!("{}.svg", sheet.key), text.into_bytes());
    }
    let complaint = project.report.findings.iter().find(|f| f.severity != Severity::Advice);
    // A sound example gives no error and no warning.
    if let Some(f) = complaint.filter(|_| !faulty) {
        bad.push(format!("{}: {}", f.rule, f.title));
    }
    Ok((files, bad))
}

fn findings(project: &Project) -> String {
    let line = |f: &Finding| {
        let margin = f.margin.map_or_else(String::new, |m| format!(" [margin {m:.3} {}]", f.unit));
        let assumed = if f.assumed { " (assumed)" } else { "" };
        format!("{} {:?} {}: {}{margin}{assumed}\n", f.rule, f.severity, f.parts.join(" "), f.title)
    };
    let report = &project.report;
    let found: String = report.findings.iter().map(line).collect();
    let passed: String = report.passes.iter().map(line).collect();
    format!("findings\n{found}\npasses\n{passed}")
}

fn kept(folder: &PathBuf) -> Vec<String> {
    let Ok(entries) = std::fs::read_dir(folder) else { return Vec::new() };
    entries.filter_map(|e| e.ok()?.file_name().into_string().ok()).collect()
}

fn write(folder: &PathBuf, files: &Files) -> Result<(), Failed> {
    std::fs::create_dir_all(folder)?;
    for (file, bytes) in files {
        std::fs::write(folder.join(file), bytes)?;
    }
    Ok(())
}

fn bless(folder: &PathBuf, made: &Files) -> Result<(), Failed> {
    write(folder, made)?;
    for old in kept(folder).into_iter().filter(|k| !made.contains_key(k)) {
        std::fs::remove_file(folder.join(old))?;
    }
    Ok(())
}
