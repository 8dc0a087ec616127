//! Tree → facts. One file for each family of nodes; what they share stands in `reader`. Every
//! fault is said, none stops the rest.

mod building;
mod cupboard;
mod cylinder;
mod discharge;
mod equipment;
mod fields;
mod heating;
mod hints;
mod job;
mod listed;
mod loose;
mod outlets;
mod plain;
mod reader;
mod turned;
mod value;
mod water;

use super::facts::Facts;
use super::nearest;
use super::tree::Node;
use super::words::{OTHER_WORDS, TOP};
use crate::catalogue::{Kind, Mount, kinds};
use crate::diagnostic::Diagnostic;
use crate::model::Side;
use reader::Decoder;

/// Lines whose decoders look at commas.
const WITH_COMMAS: [&str; 9] =
    ["job", "outlets", "main", "cupboard", "cylinder", "boiler", "heat-pump", "zone", "discharge"];

/// Decodes all nodes of a file.
pub fn decode(nodes: Vec<Node>) -> (Facts, Vec<Diagnostic>) {
    let mut d = Decoder::default();
    let mut facts = Facts::default();
    top(&mut d, nodes, &mut facts, true);
    listed::names(&mut d, &facts);
    seconds(&mut d, &facts);
    facts.refused = std::mem::take(&mut d.refused_values);
    (facts, d.said)
}

/// Decodes the nodes of a file, or of a flat that a building repeats.
fn top(d: &mut Decoder, nodes: Vec<Node>, facts: &mut Facts, whole_file: bool) {
    let nodes = d.plainly(nodes, whole_file.then_some(&facts.job));
    for mut node in nodes {
        d.turned(&mut node);
        d.joined(&mut node, &|word| is_known(word));
        if !is_known(&node.name) {
            let known = top_words();
            let others = OTHER_WORDS.iter().map(|(other, _)| *other);
            let near =
                nearest::as_meant(&node.name, known.iter().map(String::as_str).chain(others));
            if let Some(word) = near.map(str::to_owned) {
                d.read_as(&node.name, &node.name_span, &word, word.clone());
                node.name = word;
            }
        }
        let typed = node.name.clone();
        if typed == "house" {
            d.addressed(&mut node, whole_file.then_some(&mut facts.job));
        }
        if let Some((_, word)) = OTHER_WORDS.iter().find(|(other, _)| *other == typed) {
            node.name = (*word).to_owned();
        }
        if let Some((_, word)) = hints::OUTLETS.iter().find(|(other, _)| *other == typed) {
            node.name = (*word).to_owned();
        }
        let inner = equipment::inner_of(&node.name);
        d.unbraced(&mut node, &inner);
        // Where a comma parts nothing, it says nothing.
        if !WITH_COMMAS.contains(&node.name.as_str()) {
            node.args.retain(|a| a.typed != ",");
        }
        match node.name.as_str() {
            "job" if whole_file => job::job(d, node, &mut facts.job),
            "rules" if whole_file => job::rules(d, node, &mut facts.rules),
            "cupboard" => cupboard::cupboard(d, node, &mut facts.cupboard),
            "dwelling" => water::dwelling(d, node, &mut facts.dwelling),
            "main" => water::main(d, node, &mut facts.main),
            "cylinder" => cylinder::cylinder(d, node, &mut facts.cylinders),
            "boiler" | "heat-pump" | "uncontrolled" => {
                heating::source(d, node, &typed, &mut facts.sources);
            }
            "zone" => {
                for node in d.counted(node, &typed) {
                    heating::zone(d, node, &mut facts.zones);
                }
            }
            "outlets" => outlets::outlets(d, node, &mut facts.outlets),
            "discharge" => discharge::discharge(d, node, &mut facts.discharges),
            "secondary-return" => water::secondary(d, node, &mut facts.secondary_return),
            "controls" => equipment::controls(d, node, &mut facts.controls),
            "building" if whole_file => building::building(d, node, &mut facts.buildings),
            "part" => listed::part(d, node, &mut facts.parts),
            "unit" => listed::unit(d, node, &mut facts.units),
            "run" => listed::run(d, node, &mut facts.runs),
            "complete" if whole_file => listed::complete(d, node, &mut facts.as_listed),
            "assumption" if whole_file => job::assumption(d, node, &mut facts.assumptions),
            _ => equipment::equipment(d, node, facts),
        }
    }
}

/// Whether a word may begin a line, or is answered with a hint of its own.
fn is_known(word: &str) -> bool {
    TOP.contains(&word)
        || OTHER_WORDS.iter().any(|(other, _)| *other == word)
        || hints::OUTLETS.iter().any(|(other, _)| *other == word)
        || hints::REFUSED.iter().any(|(other, ..)| *other == word)
        || equipment::is_known(word)
}

/// Whether a line with that word is one of a description.
pub fn begins(word: &str) -> bool {
    is_known(word) || nearest::as_meant(word, TOP.iter().copied()).is_some()
}

/// A second boiler, store or discharge is drawn; nobody may get one by correcting a line below.
fn seconds(d: &mut Decoder, facts: &Facts) {
    let named = |name: &Option<_>| name.is_some();
    let sources: Vec<_> =
        facts.sources.iter().map(|s| ("boiler", named(&s.name), &s.span)).collect();
    let stores: Vec<_> =
        facts.cylinders.iter().map(|c| ("cylinder", named(&c.name), &c.span)).collect();
    let wanted = facts.cylinders.len().max(1);
    let discharges: Vec<_> =
        facts.discharges.iter().skip(wanted - 1).map(|x| ("discharge", false, &x.span)).collect();
    leaves_by(d, facts);
    outlets::no_basin(d, &facts.outlets);
    for all in [sources, stores, discharges] {
        for (word, _, span) in all.into_iter().skip(1).filter(|(_, named, _)| !named) {
            let said = match word {
                "discharge" => "a second `discharge`, and no second cylinder for it".to_owned(),
                _ => format!("a second `{word}`: both are drawn"),
            };
            d.say(
                Diagnostic::warning("second-line", span.clone(), said)
                    .label("the second one")
                    .help(match word {
                        "discharge" => {
                            "the first is drawn; delete the one that is wrong".to_owned()
                        }
                        _ => format!(
                            "two are meant: give each a name, `{word} \"first\"`; one corrects the \
                             other: delete the wrong one"
                        ),
                    }),
            );
        }
    }
}

/// A discharge that is to leave by a wall which nobody calls an outside one, while another is, or
/// by the side of the door.
fn leaves_by(d: &mut Decoder, facts: &Facts) {
    let walls = facts.cupboard.iter().flat_map(|c| &c.walls);
    let outside = walls.filter(|w| w.outside.as_ref().is_some_and(|o| o.value));
    let outside: Vec<Side> = outside.map(|w| w.side.value).collect();
    for wall in facts.discharges.iter().filter_map(|x| x.wall.as_ref()) {
        let known = outside.is_empty() && wall.value != Side::Front;
        if known || facts.cupboard.is_none() || outside.contains(&wall.value) {
            continue;
        }
        let side = wall.value.key();
        let said = match wall.value {
            Side::Front => "the discharge leaves by the side of the door".to_owned(),
            _ => format!("the discharge leaves by the {side} wall, which is not called outside"),
        };
        d.say(
            Diagnostic::warning("likely-slip", wall.span.clone(), said)
                .label("does it get outside there?")
                .help(format!("if so, say `wall \"{side}\" outside=#true` in the cupboard")),
        );
    }
}

/// Every word of the language, for the tests of what is said of it.
#[cfg(test)]
pub fn language() -> Vec<&'static str> {
    TOP.iter()
        .copied()
        .chain(equipment::words().map(|(w, _)| w))
        .chain(equipment::inner())
        .collect()
}

/// Every word that may begin a line at the top, for "did you mean".
fn top_words() -> Vec<String> {
    let mut words: Vec<String> = TOP.iter().map(|w| (*w).to_owned()).collect();
    words.extend(equipment::words().map(|(w, _)| w.to_owned()));
    let placed = |k: &&crate::catalogue::KindRow| k.mount != Mount::Line;
    words.extend(kinds().iter().filter(placed).map(|k| k.key.replace(' ', "-")));
    words
}

/// The kind a node's word means: `kitchen-sink`, `kitchen sink`, `combi`.
fn kind_called(word: &str) -> Option<Kind> {
    Kind::called(word).or_else(|| Kind::called(&word.replace('-', " "))).or_else(|| {
        let folded = word.to_lowercase().replace('-', " ");
        let same = |w: &String| w.to_lowercase().replace('-', " ") == folded;
        kinds()
            .iter()
            .find(|k| same(&k.key) || k.aka.iter().any(same))
            .and_then(|k| Kind::of(&k.key))
    })
}

/// Every trade word of the catalogue.
fn kind_words() -> impl Iterator<Item = &'static str> {
    kinds().iter().flat_map(|k| std::iter::once(&k.key).chain(&k.aka)).map(String::as_str)
}
