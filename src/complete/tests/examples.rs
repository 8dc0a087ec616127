//! The descriptions in `examples`: read without a word, completed to sound systems, written out and
//! read again the same.

use std::path::{Path, PathBuf};

use super::{blind, listing, sound};
use crate::complete::complete;
use crate::describe::{self, facts::Facts};

fn files(folder: &str) -> Vec<PathBuf> {
    let dir = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
    let mut all: Vec<PathBuf> = std::fs::read_dir(dir)
        .unwrap()
        .map(|e| e.unwrap().path())
        .filter(|p| p.extension().is_some_and(|e| e == "kdl"))
        .collect();
    all.sort();
    all
}

fn both() -> Vec<PathBuf> {
    let mut all = files("examples");
    all.extend(files("examples/faulty"));
    all
}

#[test]
fn examples_read_without_a_word_and_complete_to_sound_graphs() {
    for path in both() {
        let text = std::fs::read_to_string(&path).unwrap();
        let reading = describe::read(&text);
        assert_eq!(reading.diagnostics, [], "{path:?}");
        let done = complete(&reading.facts);
        let scope: Vec<_> = done.diagnostics.iter().filter(|d| d.code != "out-of-scope").collect();
        assert!(scope.is_empty(), "{path:?}: {scope:?}");
        if path.to_string_lossy().contains("faulty") {
            continue;
        }
        if let Err(e) = sound(&done) {
            panic!("{path:?}: {e}\n{}", listing(&done.system));
        }
    }
}

/// The same file with every list of facts turned round.
fn turned(facts: &Facts) -> Facts {
    let mut f = facts.clone();
    f.cylinders.reverse();
    f.sources.reverse();
    f.zones.reverse();
    f.outlets.reverse();
    f.discharges.reverse();
    f.equipment.reverse();
    f.controls.reverse();
    f.parts.reverse();
    f.runs.reverse();
    if let Some(s) = &mut f.secondary_return {
        s.legs.reverse();
    }
    f
}

#[test]
fn the_order_of_an_example_changes_nothing() {
    for path in both() {
        let facts = describe::read(&std::fs::read_to_string(&path).unwrap()).facts;
        let (a, b) = (complete(&facts), complete(&turned(&facts)));
        assert_eq!(blind(&a.system), blind(&b.system), "{path:?}");
    }
}

#[test]
fn what_is_written_out_reads_back_the_same() {
    for path in both() {
        let text = std::fs::read_to_string(&path).unwrap();
        let done = complete(&describe::read(&text).facts);
        let out = describe::print(&done.system);
        let again = describe::read(&out);
        assert_eq!(again.diagnostics, [], "{path:?}\n{out}");
        let again = complete(&again.facts);
        assert_eq!(again.diagnostics, [], "{path:?}");
        assert_eq!(blind(&done.system), blind(&again.system), "{path:?}");
        assert_eq!(out, describe::print(&again.system), "{path:?}");
    }
}

#[test]
fn a_tail_stated_of_the_main_is_kept_though_outlets_tee_off_before_the_cupboard() {
    let text = r#"
        cupboard width=1150 depth=900 height=2400
        main static=4 dynamic=3 at=24 { tail x=1040 y=210 size=22 }
        cylinder "store" litres=150 heated="electric" diameter=554 height=1200
        outlets { shower; bath; kitchen-sink }
        discharge wall="right" length=3
    "#;
    let reading = describe::read(text);
    assert_eq!(reading.diagnostics, []);
    let system = complete(&reading.facts).system;
    let stated: Vec<_> = system
        .pipes
        .iter()
        .filter_map(|p| Some((p.tail.as_ref()?, p.size.as_ref()?)))
        .filter_map(|(t, size)| Some((t.x.as_ref()?.value, t.y.as_ref()?.value, &size.value)))
        .collect();
    assert_eq!(stated, [(1040.0, 210.0, &"22".to_owned())]);
    let main = system.pipes.iter().find(|p| p.tail.as_ref().is_some_and(|t| t.x.is_some()));
    assert!(!system.part(main.unwrap().from.part).in_cupboard(), "it comes in from outside");
}
