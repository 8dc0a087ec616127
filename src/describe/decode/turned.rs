//! Lines whose word does not stand first: `2 baths 1 shower`, `210 litre cylinder`, `new boiler 24 kW`,
//! `9 rads`; and a house that is an address. In: a node as typed. Out: the same node with its word in
//! its place, and a remark; what means nothing stays as it is.

use super::hints::bare;
use super::outlets;
use super::reader::Decoder;
use super::value::in_words;
use crate::describe::facts::{Given, JobFacts, Mark};
use crate::describe::tree::{Node, Property, Scalar, Value, begins_with_figure};
use crate::describe::words::begins_a_matter;
use crate::diagnostic::Diagnostic;

/// Words before the word of a line that say nothing of the thing.
const BEFORE: [&str; 5] = ["new", "existing", "proposed", "the", "a"];
/// So many words of a line are looked through for its word, and so many make one.
const LOOKED: usize = 5;
const JOINED: usize = 3;
/// Emitters that stand without their zone, and the property that counts them.
const EMITTERS: [(&str, &str); 5] = [
    ("rads", "radiators"),
    ("radiators", "radiators"),
    ("radiator", "radiators"),
    ("ufh", "underfloor"),
    ("underfloor", "underfloor"),
];

impl Decoder {
    /// Finds the word of a line that begins with a figure or with a word of no weight. `zones`: whether
    /// the text has zones, to one of which emitters alone may belong.
    pub(super) fn turned(&mut self, node: &mut Node, zones: bool) {
        let figure = begins_with_figure(&node.name);
        let counts = figure || in_words(&node.name).is_some();
        let weightless = BEFORE.contains(&node.name.as_str());
        if !zones {
            self.emitters(node);
        }
        if !(counts || weightless) || node.args.is_empty() {
            return;
        }
        if counts && outlets::is_list(&node_and_args(node)) {
            let first = node.name_span.start..node.name_span.start;
            node.args = node_and_args(node);
            node.name = "outlets".to_owned();
            self.in_front("outlets", first);
            return;
        }
        node.args.retain(|a| a.typed != ",");
        let Some((at, n, word)) = word_of(&node.args) else { return };
        let span = node.args[at].span.start..node.args[at + n - 1].span.end;
        let end = node.args.get(at + n).map_or(span.end, |next| next.span.start);
        let first = node.name_span.clone();
        let mut args = if weightless { Vec::new() } else { vec![value_of(node)] };
        args.extend(node.args.drain(..at));
        args.extend(node.args.drain(n..));
        let to_the_next = node.args.first().map_or(first.end, |a| a.span.start);
        node.args = args;
        node.name = word.clone();
        node.name_span = span.clone();
        if weightless && at == 0 {
            // What is left out is told, no more: the rest of the line is as typed.
            self.say(
                Diagnostic::warning("two-words", first.clone(), "this word says nothing here")
                    .label("left out")
                    .edit(first.start..to_the_next, ""),
            );
            return;
        }
        self.in_front(&word, first.start..first.start);
        self.say(
            Diagnostic::warning(
                "two-words",
                span.clone(),
                format!("`{word}` is what the line is about"),
            )
            .label("stands first")
            .edit(span.start..end, ""),
        );
    }

    /// The word of a line that stood further on.
    fn in_front(&mut self, word: &str, at: crate::model::Span) {
        self.say(
            Diagnostic::warning(
                "two-words",
                at.clone(),
                format!("this line was read as `{word} …`"),
            )
            .label(format!("write `{word}` in front"))
            .edit(at, format!("{word} ")),
        );
    }

    /// `9 rads`, `rads 9`: one zone of so many.
    fn emitters(&mut self, node: &mut Node) {
        let all = node_and_args(node);
        let is_count = |v: &Value| {
            matches!(v.scalar, Scalar::Number(n) if n >= 1.0 && n.fract() == 0.0)
                || matches!(&v.scalar, Scalar::Text(t) if count_of(t).is_some())
        };
        let [a, b] = &all[..] else { return };
        let (count, word) = match (is_count(a), is_count(b)) {
            (true, false) => (a, b),
            (false, true) => (b, a),
            _ => return,
        };
        let typed = word.typed.to_lowercase();
        let Some((_, key)) = EMITTERS.iter().find(|(w, _)| *w == typed) else { return };
        if !node.properties.is_empty() || !node.children.is_empty() {
            return;
        }
        let number = match &count.scalar {
            Scalar::Number(n) => *n,
            Scalar::Text(t) => count_of(t).unwrap_or(1.0),
            _ => return,
        };
        let span = a.span.start..b.span.end;
        let meant = format!("zone {key}={number}");
        let said = format!("`{} {}` was read as `{meant}`", a.typed, b.typed);
        self.say(
            Diagnostic::warning("loose-figure", span.clone(), said)
                .label("radiators and floors belong to a zone")
                .edit(span, meant),
        );
        let value = Value { scalar: Scalar::Number(number), ..count.clone() };
        node.properties =
            vec![Property { key: (*key).to_owned(), key_span: word.span.clone(), value }];
        node.args = Vec::new();
        node.name_span = word.span.clone();
        node.name = "zone".to_owned();
    }

    /// `House 22 Mill Lane, 3 bed semi`: up to the comma it is where the job is.
    pub(super) fn addressed(&mut self, node: &mut Node, job: Option<&mut JobFacts>) {
        let end = node.args.iter().position(|a| a.typed == ",").unwrap_or(node.args.len());
        let head = &node.args[..end];
        // A number and then words with capitals, or in quotes, is no number of bedrooms.
        let named =
            |v: &Value| matches!(&v.scalar, Scalar::Text(t) if t.starts_with(char::is_uppercase));
        let address = match head {
            [one] => one.typed.starts_with('"'),
            [first, rest @ ..] => {
                let starts = named(first) || first.typed.starts_with(|c: char| c.is_ascii_digit());
                starts && rest.iter().any(named) && rest.iter().all(|v| bare(v).is_some())
            }
            [] => false,
        };
        let shouted = head.iter().all(|v| v.typed == v.typed.to_uppercase());
        if let Some(job) = job.filter(|j| address && !shouted && j.name.is_none()) {
            let words: Vec<&str> = head.iter().map(|v| v.typed.trim_matches('"')).collect();
            let name = words.join(" ");
            let span = head[0].span.start..head[end - 1].span.end;
            let said = format!("`{name}` was read as the name of this job");
            let rest = if end < node.args.len() { "\ndwelling" } else { "" };
            let typed = node.name_span.start..span.end;
            self.say(
                Diagnostic::warning("loose-figure", typed.clone(), said)
                    .label("it is the name of the job")
                    .edit(typed, format!("job \"{name}\"{rest}")),
            );
            job.name = Some(Given { value: name, span, mark: Mark::default() });
            node.args.drain(..end);
        }
        node.args.retain(|a| a.typed != ",");
    }
}

fn count_of(text: &str) -> Option<f64> {
    let digits = text.chars().all(|c| c.is_ascii_digit());
    if digits { text.parse().ok().filter(|n| *n >= 1.0) } else { in_words(text) }
}

/// What stands in the place of the word, as a value.
fn value_of(node: &Node) -> Value {
    let scalar = match node.name.parse::<f64>() {
        Ok(n) => Scalar::Number(n),
        Err(_) => Scalar::Text(node.name.clone()),
    };
    Value { scalar, span: node.name_span.clone(), note: None, typed: node.name.clone() }
}

fn node_and_args(node: &Node) -> Vec<Value> {
    std::iter::once(value_of(node)).chain(node.args.iter().cloned()).collect()
}

/// Where the first word stands that may begin a line, of how many typed ones it is made, and what it
/// is.
fn word_of(args: &[Value]) -> Option<(usize, usize, String)> {
    for at in 0..LOOKED.min(args.len()) {
        for n in (1..=JOINED.min(args.len() - at)).rev() {
            let words: Option<Vec<String>> = args[at..at + n].iter().map(bare).collect();
            let Some(word) = words.map(|w| w.join("-")) else { continue };
            if begins_a_matter(&word) {
                return Some((at, n, word));
            }
        }
    }
    None
}
