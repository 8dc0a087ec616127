//! `discharge`: the way of the safety discharge from the tundish to where it ends.

use super::fields::{Fields, Holds, METRES, MM};
use super::reader::{Decoder, take_side, take_text};
use crate::catalogue::{Kind, KindRow, kinds};
use crate::describe::facts::{DischargeFacts, Given};
use crate::describe::tree::Node;

/// Kinds in which a discharge may end.
fn terminations() -> impl Iterator<Item = &'static KindRow> {
    kinds().iter().filter(|k| k.attrs.contains_key("height-above-ground"))
}

/// Every word for where a discharge may end.
pub fn ends() -> impl Iterator<Item = &'static str> {
    terminations().flat_map(|k| std::iter::once(&k.key).chain(&k.aka)).map(String::as_str)
}

/// The kind that a word for the end of a discharge means.
pub fn termination(word: &str) -> Option<&'static KindRow> {
    let folded = word.to_lowercase().replace('-', " ");
    let same = |w: &str| w.to_lowercase().replace('-', " ") == folded;
    terminations().find(|k| same(&k.key) || k.aka.iter().any(|a| same(a)))
}

pub fn discharge(d: &mut Decoder, mut node: Node, all: &mut Vec<DischargeFacts>) {
    let end = Kind::known("trapped gully");
    let mut may_declare: Vec<&str> = end.row().may_declare.iter().map(String::as_str).collect();
    may_declare.extend(Kind::known("tundish").row().may_declare.iter().map(String::as_str));
    let fields = Fields::new(&[
        ("wall", Holds::Side),
        ("to", Holds::Text),
        ("length", METRES),
        ("elbows", Holds::Count),
        ("size", Holds::Tube),
        ("material", Holds::Text),
        ("fall", Holds::Measure("1:n")),
        ("first-drop", MM),
        ("outlet", Holds::Measure("in")),
        ("d1-length", MM),
        ("d1-size", Holds::Tube),
        ("tundish-x", MM),
        ("tundish-y", MM),
        ("tundish-z", MM),
        ("tundish-place", Holds::Text),
        ("exit-z", MM),
        ("shared", Holds::Flag),
        ("visible", Holds::Any),
        ("alarm", Holds::Flag),
        ("distance", MM),
    ])
    .kind(end);
    let tails = d.tails(&mut node);
    let declared = d.declared(&mut node, &may_declare);
    d.loose(&mut node, &fields);
    let mut p = d.properties(&mut node, &fields);
    super::listed::settle_size(&mut p);
    let wall = take_side(&mut p, "wall");
    let mut to = take_text(&mut p, "to");
    if let Some(given) = &to {
        match termination(&given.value) {
            Some(k) => {
                to = Some(Given {
                    value: k.key.clone(),
                    span: given.span.clone(),
                    mark: given.mark.clone(),
                });
            }
            None => {
                let known: Vec<&str> = terminations()
                    .flat_map(|k| std::iter::once(&k.key).chain(&k.aka))
                    .map(String::as_str)
                    .collect();
                let what = "no discharge ends in";
                let meant = d.meant("unknown-word", what, &given.value, &given.span, known);
                to = meant.and_then(termination).map(|k| Given {
                    value: k.key.clone(),
                    span: given.span.clone(),
                    mark: given.mark.clone(),
                });
            }
        }
    }
    all.push(DischargeFacts {
        wall,
        to,
        properties: p,
        declared,
        tails,
        span: node.name_span.clone(),
    });
    d.finish(node, &["tail", "declares"]);
}
