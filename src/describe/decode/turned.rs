//! Lines whose word does not stand first: `2 baths 1 shower`, `210 litre cylinder`, `new boiler 24 kW`,
//! and a house that is an address. In: a node as typed. Out: the same node with its word in
//! its place, and a remark; what means nothing stays as it is.

use super::hints::bare;
use super::outlets;
use super::reader::Decoder;
use super::value::in_words;
use crate::describe::facts::{Given, JobFacts, Mark};
use crate::describe::tree::{Node, Scalar, Value, begins_with_figure};
use crate::describe::words::{OF_LITRES, begins_a_matter};
use crate::diagnostic::Diagnostic;

/// Words before the word of a line that say nothing of the thing.
const BEFORE: [&str; 5] = ["new", "existing", "proposed", "the", "a"];
/// Words of a cylinder's that may stand before its word.
const OF_A_CYLINDER: [&str; 4] = ["unvented", "indirect", "direct", "vented"];
/// So many words of a line are looked through for its word, and so many make one.
const LOOKED: usize = 5;
const JOINED: usize = 3;

impl Decoder {
    /// Finds the word of a line that begins with a figure or with a word of no weight.
    pub(super) fn turned(&mut self, node: &mut Node) {
        let figure = begins_with_figure(&node.name);
        let counts = figure || in_words(&node.name).is_some();
        let weightless = BEFORE.contains(&node.name.as_str());
        let of_it = OF_A_CYLINDER.contains(&node.name.as_str());
        if !(counts || weightless || of_it) || node.args.is_empty() {
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
        if word == "zones" && is_count_alone(node) {
            // Told once it is known how many.
            return;
        }
        if weightless && at == 0 {
            // What is left out is told, no more: the rest of the line is as typed.
            self.say(
                Diagnostic::warning("two-words", first.clone(), "this word says nothing here")
                    .label("left out")
                    .edit(first.start..to_the_next, ""),
            );
            return;
        }
        // What says nothing is left out.
        let gone = if weightless { to_the_next.min(span.start) } else { first.start };
        self.in_front(&word, first.start..gone);
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
    pub(super) fn in_front(&mut self, word: &str, at: crate::model::Span) {
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

    /// `2 zones`: so many lines of one zone each.
    pub(super) fn counted(&mut self, node: Node, typed: &str) -> Vec<Node> {
        let number = node.args.first().and_then(count_in).filter(|n| (1..=MOST_ZONES).contains(n));
        let Some(number) = number.filter(|_| typed == "zones" && is_count_alone(&node)) else {
            return vec![node];
        };
        let (word, count) = (&node.name_span, &node.args[0].span);
        let span = word.start.min(count.start)..word.end.max(count.end);
        let lines = vec!["zone"; number].join("\n");
        self.say(
            Diagnostic::warning(
                "loose-figure",
                span.clone(),
                format!("read as {number} zones without names"),
            )
            .label("each zone is a line of its own")
            .edit(span, lines),
        );
        let one = Node { name: "zone".to_owned(), args: Vec::new(), ..node };
        vec![one; number]
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

/// More zones than that are no count of zones in one cupboard.
const MOST_ZONES: usize = 12;

/// True where a count is all that a line has besides its word.
fn is_count_alone(node: &Node) -> bool {
    let bare = node.properties.is_empty() && node.children.is_empty();
    bare && matches!(&node.args[..], [one] if count_in(one).is_some())
}

pub fn count_in(value: &Value) -> Option<usize> {
    let number = match &value.scalar {
        Scalar::Number(n) => Some(*n).filter(|n| *n >= 1.0 && n.fract() == 0.0 && *n < 1e6),
        Scalar::Text(t) if !value.typed.starts_with('"') => count_of(t),
        _ => None,
    };
    number.map(|n| n as usize)
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

pub fn node_and_args(node: &Node) -> Vec<Value> {
    std::iter::once(value_of(node)).chain(node.args.iter().cloned()).collect()
}

/// Where the first word stands that may begin a line, of how many typed ones it is made, and what it
/// is.
pub fn word_of(args: &[Value]) -> Option<(usize, usize, String)> {
    for at in 0..LOOKED.min(args.len()) {
        for n in (1..=JOINED.min(args.len() - at)).rev() {
            let words: Option<Vec<String>> = args[at..at + n].iter().map(bare).collect();
            let Some(word) = words.map(|w| w.join("-")) else { continue };
            if begins_a_matter(&word) || OF_LITRES.contains(&word.as_str()) {
                return Some((at, n, word));
            }
        }
    }
    None
}
