//! `building`: flats by rule, not by copying.

use super::fields::{Fields, Holds, METRES, MM};
use super::reader::{Decoder, take_children};
use super::top;
use crate::describe::facts::{BuildingFacts, Facts};
use crate::describe::tree::Node;
use crate::diagnostic::Diagnostic;

pub fn building(d: &mut Decoder, mut node: Node, all: &mut Vec<BuildingFacts>) {
    let span = node.name_span.clone();
    let mut flat = Facts::default();
    let mut flats = 0;
    for mut child in take_children(&mut node, &["flat", "dwelling-type"]) {
        flats += 1;
        if flats > 1 {
            d.say(
                Diagnostic::error(
                    "given-twice",
                    child.name_span.clone(),
                    "a building repeats one type of flat",
                )
                .label("the second type")
                .help("write one `building` for each type of flat"),
            );
            continue;
        }
        let name = d.name(&mut child);
        flat.job.name = name;
        let children = std::mem::take(&mut child.children);
        top(d, children, &mut flat, false);
        d.finish(child, &[]);
    }
    let fields = Fields::new(&[
        ("floors", Holds::Count),
        ("stacks", Holds::Count),
        ("flats-a-floor", Holds::Count),
        ("storey-height", MM),
        ("first-floor", Holds::Count),
        ("riser-size", Holds::Tube),
        ("discharge-size", Holds::Tube),
        ("discharge-length", METRES),
        ("discharge-elbows", Holds::Count),
        ("shared-discharge", Holds::Flag),
    ]);
    let properties = d.properties(&mut node, &fields);
    let name = d.name(&mut node);
    d.finish(node, &["flat"]);
    all.push(BuildingFacts { name, properties, flat: Box::new(flat), span });
}
