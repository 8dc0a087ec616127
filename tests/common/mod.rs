//! What several tests share: the examples, and the way from a text to its sheets.

#![allow(dead_code)]

use std::path::PathBuf;

use firstfix::draw::scene::Sheet;
use firstfix::pipeline::{Project, work_out};

pub fn folder(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join(name)
}

/// Name and text of each description in a folder, by name.
pub fn descriptions(folder: &std::path::Path) -> Vec<(String, String)> {
    let mut all: Vec<(String, String)> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == "kdl"))
        .map(|path| {
            let name = path.file_stem().unwrap().to_str().unwrap().to_owned();
            (name, std::fs::read_to_string(&path).unwrap())
        })
        .collect();
    all.sort();
    all
}

/// Every example, sound and faulty.
pub fn examples() -> Vec<(String, String)> {
    let mut all = descriptions(&folder("examples"));
    let faulty = folder("examples/faulty");
    if faulty.is_dir() {
        let named = |(name, text)| (format!("faulty-{name}"), text);
        all.extend(descriptions(&faulty).into_iter().map(named));
    }
    all
}

pub fn project(text: &str) -> Project {
    work_out(text).project.expect("the text can be read")
}

pub fn sheets(text: &str) -> Vec<Sheet> {
    project(text).sheets()
}
