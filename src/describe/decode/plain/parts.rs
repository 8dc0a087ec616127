//! A line in several breaths: `cylinder 210 litres, boiler 24kW, 8 rads`. In: a line. Out: a line for
//! each part that stands by itself; commas part it, and where there are none the words.

use super::breaths::breaths;
use super::remarks::is_going;
use super::words::GOING;
use super::{dwelling_in, is_comma, is_filler, matter_of, real, span_of};
use crate::describe::decode::hints::bare;
use crate::describe::decode::outlets;
use crate::describe::decode::reader::Decoder;
use crate::describe::decode::turned::{node_and_args, word_of};
use crate::describe::tree::{Node, Property, Value};
use crate::describe::words::begins_a_matter;
use crate::diagnostic::Diagnostic;

/// Lines in which a comma parts words of one matter.
const WHOLE: [&str; 14] = [
    "job", "outlets", "outlet", "taps", "controls", "rules", "run", "part", "unit", "note",
    "address", "client", "customer", "building",
];

impl Decoder {
    pub(super) fn in_parts(&mut self, node: Node) -> Vec<Node> {
        let commas = node.args.iter().any(is_comma);
        if WHOLE.contains(&node.name.as_str()) || !node.children.is_empty() {
            return vec![node];
        }
        let tokens = node_and_args(&node);
        if !commas {
            return match breaths(&tokens) {
                Some(parts) => self.lines_of(&node, &parts),
                None => vec![node],
            };
        }
        let mut parts: Vec<Vec<Value>> = Vec::new();
        for part in tokens.split(is_comma).filter(|part| !part.is_empty()) {
            match parts.last_mut() {
                Some(last) if !is_going(last) && !stands_alone(part, about(last)) => {
                    let comma =
                        tokens.iter().rfind(|t| is_comma(t) && t.span.end <= part[0].span.start);
                    last.extend(comma.cloned());
                    last.extend(part.iter().cloned());
                }
                _ => parts.push(part.to_vec()),
            }
        }
        // A list of outlets that begins with one is a list still.
        if parts.len() < 2 || outlets::entries(&tokens) > 1 {
            return vec![node];
        }
        self.lines_of(&node, &parts)
    }

    /// A node for each part of a line, each but the first told.
    fn lines_of(&mut self, node: &Node, parts: &[Vec<Value>]) -> Vec<Node> {
        let mut all: Vec<Node> = Vec::new();
        for (i, part) in parts.iter().enumerate() {
            let end = parts.get(i + 1).map_or(usize::MAX, |next| next[0].span.start);
            let within = |p: &&Property| (part[0].span.start..end).contains(&p.key_span.start);
            let properties = node.properties.iter().filter(within).cloned().collect();
            if i > 0 {
                let from = parts[i - 1].last().map_or(0, |v| v.span.end);
                let mut last = from;
                for p in node.properties.iter().filter(|p| p.value.span.end <= part[0].span.start) {
                    last = last.max(p.value.span.end);
                }
                self.say(
                    Diagnostic::warning(
                        "two-words",
                        span_of(part),
                        "this was read as a line of its own",
                    )
                    .label("one matter a line")
                    .edit(last..part[0].span.start, "\n"),
                );
            }
            let name = part[0].typed.trim_matches('"');
            all.push(Node {
                name: if i == 0 { node.name.clone() } else { name.to_lowercase() },
                typed: if i == 0 { node.typed.clone() } else { name.to_owned() },
                name_span: part[0].span.clone(),
                args: part[1..].to_vec(),
                properties,
                children: Vec::new(),
                joins: Vec::new(),
            });
        }
        all
    }
}

/// The word that a part is about, the language's own.
fn about(part: &[Value]) -> String {
    let skipped = part.iter().take_while(|t| is_filler(t)).count();
    let rest = &part[skipped..];
    let first = rest.first().and_then(bare).unwrap_or_default();
    if begins_a_matter(&first) {
        return real(&first).to_owned();
    }
    word_of(rest).map_or(first, |(.., word)| real(&word).to_owned())
}

/// Whether a part of a line is about something else than the line so far.
fn stands_alone(part: &[Value], so_far: String) -> bool {
    let skipped = part.iter().take_while(|t| is_filler(t)).count();
    let rest = &part[skipped..];
    let Some(first) = rest.first() else { return false };
    let text: Vec<String> = part.iter().filter_map(bare).collect();
    let text = format!(" {} ", text.join(" "));
    if GOING.iter().any(|going| text.contains(going)) {
        return true;
    }
    // `indirect, boiler` says how the store is heated.
    let word = bare(first).unwrap_or_default();
    if begins_a_matter(&word) {
        return rest.len() > 1 && real(&word) != so_far;
    }
    if super::is_figure(first)
        && let Some((.., word)) = word_of(rest)
    {
        return real(&word) != so_far;
    }
    if let Some(of) = matter_of(rest) {
        return !of.contains(&so_far.as_str());
    }
    if dwelling_in(rest) {
        return so_far != "dwelling";
    }
    super::zones::is_emitters(rest) && so_far != "zone" || outlets::entries(rest) > 0
}
