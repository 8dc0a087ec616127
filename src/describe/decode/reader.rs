//! What every node decoder shares: taking properties, names, tails and places off a node, and
//! saying what is left over.

use std::collections::btree_map::Entry;

use super::fields::{Field, Fields, Holds, MM};
use super::hints;
use crate::describe::facts::{Given, Maybe, PlaceFacts, Properties, Refused, TailFacts};
use crate::describe::nearest::{as_meant, listed, nearest};
use crate::describe::quantity;
use crate::describe::slips;
use crate::describe::tree::{Node, Property, Scalar, Value};
use crate::diagnostic::Diagnostic;
use crate::model::{Datum, Side, Span};

/// Faults that are said of one file.
const MOST: usize = 500;
/// Words that are listed in full when none of them is near.
const LISTED: usize = 14;

#[derive(Debug, Default)]
pub struct Decoder {
    pub said: Vec<Diagnostic>,
    /// Values that were thrown away; something is assumed in their place.
    pub refused_values: Vec<Refused>,
    /// Gallons are spoken of once.
    pub(super) gallons: bool,
}

/// A known word as it is written where another stood: words in quotes stay so, names of nodes and
/// properties take hyphens.
fn in_its_place(code: &str, word: &str) -> String {
    match code {
        "unknown-word" | "unknown-kind" => format!("\"{word}\""),
        _ => word.replace(' ', "-"),
    }
}

impl Decoder {
    pub fn say(&mut self, d: Diagnostic) {
        // A file that is no description at all has a fault in every line: the first tell enough.
        if self.said.len() < MOST {
            self.said.push(d);
        }
    }

    /// A word nobody knows, with the nearest known one.
    pub fn unknown<'a>(
        &mut self,
        code: &'static str,
        what: &str,
        word: &str,
        span: &Span,
        known: impl IntoIterator<Item = &'a str>,
    ) {
        if self.said.len() >= MOST {
            return;
        }
        let known: Vec<&str> = known.into_iter().collect();
        let mut d = Diagnostic::error(code, span.clone(), format!("{what}: `{word}`"));
        match nearest(word, known.iter().copied()) {
            Some(near) => {
                let replacement = in_its_place(code, near);
                d = d.label(format!("did you mean `{near}`?")).edit(span.clone(), replacement);
            }
            None => d = d.label("not known here"),
        }
        if !known.is_empty() && known.len() <= LISTED {
            d = d.help(format!("known: {}", listed(known)));
        } else if d.edit.is_none() && !known.is_empty() && code != "unknown-property" {
            d = d.help(format!("such as {}", listed(known.into_iter().take(LISTED))));
        }
        self.say(d);
    }

    /// The word that a misspelt one can only mean, and says so; else says that nobody knows it.
    pub fn meant<'a>(
        &mut self,
        code: &'static str,
        what: &str,
        word: &str,
        span: &Span,
        known: impl IntoIterator<Item = &'a str>,
    ) -> Option<&'a str> {
        let known: Vec<&str> = known.into_iter().collect();
        let Some(near) = as_meant(word, known.iter().copied()) else {
            self.unknown(code, what, word, span, known);
            return None;
        };
        self.read_as(word, span, near, in_its_place(code, near));
        Some(near)
    }

    /// A misspelt word that was read as the only one near it.
    pub fn read_as(&mut self, word: &str, span: &Span, near: &str, replacement: String) {
        let said = format!("`{word}` was read as `{near}`");
        self.say(
            Diagnostic::warning("misspelt", span.clone(), said)
                .label(format!("write `{near}`"))
                .edit(span.clone(), replacement),
        );
    }

    /// Takes all properties off a node, converted to their fields' units. Children of the form
    /// `kw 21` count as properties too.
    pub fn properties(&mut self, node: &mut Node, fields: &Fields) -> Properties {
        let about = node.name.clone();
        let mut all = Properties::new();
        for p in std::mem::take(&mut node.properties) {
            match fields.find(&p.key) {
                Some(field) => self.put(&mut all, &about, field, &p.key_span, &p.value),
                None => {
                    if let Some(field) = self.no_such_property(&about, &p, fields) {
                        self.put(&mut all, &about, field, &p.key_span, &p.value);
                    }
                }
            }
        }
        let children = std::mem::take(&mut node.children);
        for child in children {
            // `{ place x=600 y=450 }`
            if child.name == "place" && child.args.is_empty() && fields.has("x") {
                for p in child.properties {
                    match fields.find(&p.key) {
                        Some(field) => self.put(&mut all, &about, field, &p.key_span, &p.value),
                        None => {
                            self.no_such_property("place", &p, fields);
                        }
                    }
                }
                continue;
            }
            let plain =
                child.args.len() == 1 && child.properties.is_empty() && child.children.is_empty();
            match fields.find(&child.name).filter(|_| plain) {
                Some(field) => {
                    self.put(&mut all, &about, field, &child.name_span, &child.args[0]);
                }
                None => node.children.push(child),
            }
        }
        all
    }

    /// Says that a node has no such property; where it is only misspelt, which one is meant.
    fn no_such_property(&mut self, about: &str, p: &Property, fields: &Fields) -> Option<Field> {
        let what = format!("`{about}` has no such property");
        if let Some(says) = hints::key(about, &p.key) {
            let said = format!("{what}: `{}`", p.key);
            self.say(
                Diagnostic::error("unknown-property", p.key_span.clone(), said)
                    .label("not known here")
                    .help(says),
            );
            return None;
        }
        let key = self.meant("unknown-property", &what, &p.key, &p.key_span, fields.keys())?;
        fields.find(key)
    }

    /// Adds what one of several lines of the same node says.
    pub fn join(&mut self, about: &str, all: &mut Properties, more: Properties) {
        for (key, value) in more {
            match all.entry(key) {
                Entry::Vacant(slot) => {
                    slot.insert(value);
                }
                Entry::Occupied(first) => self.twice(about, first.key(), first.get(), &value.span),
            }
        }
    }

    fn twice(&mut self, about: &str, key: &str, first: &Given<Datum>, span: &Span) {
        let first = match &first.value {
            Datum::Number(n) => slips::number(*n),
            Datum::Text(t) => format!("\"{t}\""),
            Datum::Flag(b) => format!("#{b}"),
        };
        let message = format!("`{key}` is given twice for this `{about}`");
        self.say(
            Diagnostic::error("given-twice", span.clone(), message)
                .label("the second time")
                .help(format!("the first says {first}; keep one of the two")),
        );
    }

    fn put(&mut self, all: &mut Properties, about: &str, field: Field, key: &Span, value: &Value) {
        if let Some(first) = all.get(field.key) {
            let first = first.clone();
            self.twice(about, field.key, &first, key);
            return;
        }
        match self.datum(about, field, value) {
            Some(given) => {
                all.insert(field.key.to_owned(), given);
            }
            None => self.refused_values.push(Refused {
                about: about.to_owned(),
                key: field.key.to_owned(),
                typed: value.typed.trim_matches('"').chars().take(40).collect(),
                loose: false,
            }),
        }
    }

    /// Takes the first argument as a name.
    pub fn name(&mut self, node: &mut Node) -> Maybe<String> {
        if node.args.is_empty() {
            return None;
        }
        let value = node.args.remove(0);
        let given = self.words(&node.name, &value)?;
        Some(given)
    }

    /// A value as words.
    pub fn words(&mut self, about: &str, value: &Value) -> Maybe<String> {
        let field = Field { key: "name", holds: Holds::Text };
        if value.scalar == Scalar::Text(String::new()) {
            self.say(
                Diagnostic::error("empty-value", value.span.clone(), "an empty name")
                    .label(format!("a name for this `{about}` was expected")),
            );
            return None;
        }
        let given = self.datum(about, field, value)?;
        take_text_of(given)
    }

    /// A value as a figure without a unit.
    pub fn number(&mut self, about: &str, key: &'static str, value: &Value) -> Maybe<f64> {
        number_of(self.datum(about, Field { key, holds: Holds::Number }, value)?)
    }

    /// A value as "how many".
    pub fn count(&mut self, about: &str, value: &Value) -> Maybe<f64> {
        number_of(self.datum(about, Field { key: "count", holds: Holds::Count }, value)?)
    }

    /// `declares "air gap inside"`: takes such children off a node.
    pub fn declared(&mut self, node: &mut Node, may_declare: &[&str]) -> Vec<Given<String>> {
        let mut all: Vec<Given<String>> = Vec::new();
        for child in take_children(node, &["declares", "declare", "declared"]) {
            let mut child = child;
            for value in std::mem::take(&mut child.args) {
                let Some(mut fact) = self.words("declares", &value) else { continue };
                let folded = fact.value.to_lowercase();
                match may_declare.iter().find(|m| m.to_lowercase() == folded) {
                    Some(known) => {
                        fact.value = (*known).to_owned();
                        if !all.iter().any(|a| a.value == fact.value) {
                            all.push(fact);
                        }
                    }
                    None => {
                        let what = format!("a maker declares no such thing of `{}`", node.name);
                        self.unknown(
                            "unknown-word",
                            &what,
                            &fact.value,
                            &fact.span,
                            may_declare.iter().copied(),
                        );
                    }
                }
            }
            self.finish(child, &[]);
        }
        all
    }

    /// Takes the `tail` children off a node.
    pub fn tails(&mut self, node: &mut Node) -> Vec<TailFacts> {
        take_children(node, &["tail", "tails"]).into_iter().map(|t| self.tail(t)).collect()
    }

    pub fn tail(&mut self, mut node: Node) -> TailFacts {
        let fields = Fields::new(&[
            ("x", MM),
            ("y", MM),
            ("z", MM),
            ("side", Holds::Side),
            ("size", Holds::Tube),
        ]);
        node.name = "tail".to_owned();
        let mut p = self.properties(&mut node, &fields);
        let tail = TailFacts {
            name: self.name(&mut node),
            side: take_side(&mut p, "side"),
            x: take_number(&mut p, "x"),
            y: take_number(&mut p, "y"),
            z: take_number(&mut p, "z"),
            size: take_text(&mut p, "size"),
            span: node.name_span.clone(),
        };
        self.finish(node, &[]);
        tail
    }

    /// Says what is left on a node after its decoder took what it knows.
    pub fn finish(&mut self, node: Node, children: &[&str]) {
        let mut before_unit = false;
        for value in &node.args {
            let unit = matches!(&value.scalar, Scalar::Text(t) if quantity::is_unit(t));
            let mut d = Diagnostic::error(
                "unexpected-value",
                value.span.clone(),
                format!("`{}` takes no `{}` here", node.name, shown(&value.typed)),
            )
            .label("what is this?");
            let quoted = value.typed.starts_with('"');
            d = if let Some(says) = hints::nameless(&node.name).filter(|_| quoted) {
                d.help(says)
            } else if unit || before_unit {
                d.help("a figure and its unit go together in quotes: \"28 mm\"")
            } else {
                d
            };
            before_unit = unit;
            self.say(d);
        }
        for child in &node.children {
            if self.refused(&child.name, &child.name_span) {
                continue;
            }
            let what = format!("`{}` holds no such line", node.name);
            self.unknown(
                "unknown-node",
                &what,
                &child.name,
                &child.name_span,
                children.iter().copied(),
            );
        }
        for p in &node.properties {
            let what = format!("`{}` has no such property", node.name);
            self.unknown("unknown-property", &what, &p.key, &p.key_span, []);
        }
    }

    /// A node that may stand once only.
    pub fn once(&mut self, already: bool, node: &Node) -> bool {
        if already {
            self.say(
                Diagnostic::error(
                    "given-twice",
                    node.name_span.clone(),
                    format!("a description has one `{}`", node.name),
                )
                .label("the second one")
                .help(hints::once(&node.name)),
            );
        }
        !already
    }
}

/// At most a line of what was typed.
fn shown(typed: &str) -> String {
    let mut short: String = typed.chars().take(40).collect();
    if short.len() < typed.len() {
        short.push('…');
    }
    short.trim_matches('"').to_owned()
}

pub fn take_children(node: &mut Node, names: &[&str]) -> Vec<Node> {
    let (taken, kept) = std::mem::take(&mut node.children)
        .into_iter()
        .partition(|c| names.contains(&c.name.as_str()));
    node.children = kept;
    taken
}

pub fn take_number(p: &mut Properties, key: &str) -> Maybe<f64> {
    p.remove(key).and_then(number_of)
}

fn number_of(given: Given<Datum>) -> Maybe<f64> {
    match given.value {
        Datum::Number(value) => Some(Given { value, span: given.span, mark: given.mark }),
        _ => None,
    }
}

fn take_text_of(given: Given<Datum>) -> Maybe<String> {
    match given.value {
        Datum::Text(value) => Some(Given { value, span: given.span, mark: given.mark }),
        _ => None,
    }
}

pub fn take_text(p: &mut Properties, key: &str) -> Maybe<String> {
    p.remove(key).and_then(take_text_of)
}

pub fn take_flag(p: &mut Properties, key: &str) -> Maybe<bool> {
    let given = p.remove(key)?;
    match given.value {
        Datum::Flag(value) => Some(Given { value, span: given.span, mark: given.mark }),
        _ => None,
    }
}

pub fn take_side(p: &mut Properties, key: &str) -> Maybe<Side> {
    let text = take_text(p, key)?;
    let value = Side::from_key(&text.value)?;
    Some(Given { value, span: text.span, mark: text.mark })
}

/// Takes where a part stands; `place` is left alone where the kind has an attribute of that name.
pub fn take_place(p: &mut Properties, own_place: bool) -> PlaceFacts {
    let mut elsewhere = take_text(p, "elsewhere");
    if elsewhere.is_none() && !own_place {
        elsewhere = take_text(p, "place");
    }
    let here =
        |e: &Given<String>| matches!(e.value.as_str(), "cupboard" | "in the cupboard" | "here");
    let in_cupboard = elsewhere.as_ref().filter(|e| here(e)).map(|e| Given {
        value: true,
        span: e.span.clone(),
        mark: e.mark.clone(),
    });
    PlaceFacts {
        elsewhere: elsewhere.filter(|e| !here(e)),
        in_cupboard,
        x: take_number(p, "x"),
        y: take_number(p, "y"),
        z: take_number(p, "z"),
        side: take_side(p, "side"),
        turn: take_number(p, "turn"),
        mirrored: take_flag(p, "mirrored"),
    }
}
