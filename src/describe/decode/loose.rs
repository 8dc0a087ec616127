//! What stands loose on a line. In: a node whose arguments are figures, words and pairs of both, as
//! people type them (`5 rads`, `right wall`, `3 m`, `flow 70`). Out: the same node with the
//! properties they mean, and one remark that shows how to write them. What is none of those is left
//! for the node's decoder.

mod figures;
mod line;
mod spelt;
mod words;

pub use self::figures::figure;
pub use self::spelt::together;

use self::figures::{apart, words_of};
use self::line::{Line, Read};
use self::words::{MAIN_FIGURE, WORDS_OF_A_NAME};
use super::fields::{Field, Fields};
use super::hints::bare;
use super::reader::Decoder;
use crate::catalogue::tubes;
use crate::describe::facts::Refused;
use crate::describe::nearest::listed;
use crate::describe::tree::{Node, Property, Scalar, Value};
use crate::diagnostic::Diagnostic;
use crate::model::Span;

/// Words that no thing is called by.
const NO_NAMES: [&str; 21] = [
    "is", "are", "or", "of", "with", "the", "and", "about", "approx", "has", "by", "at", "@",
    "from", "in", "an", "cyl", "which", "unvented", "off", "for",
];
/// Words that make a name of what follows them say the opposite: never read as one.
const DENYING: [&str; 8] = ["no", "not", "without", "none", "out", "coming", "removed", "old"];
impl Decoder {
    /// Figures and words that stand loose on a line, or in the place of its name, made the
    /// properties they mean.
    pub(super) fn loose(&mut self, node: &mut Node, fields: &Fields) {
        let args = together(&node.name, std::mem::take(&mut node.args));
        let args: Vec<Value> = args.into_iter().flat_map(|v| apart(&node.name, v)).collect();
        let mut left: Vec<Value> = Vec::new();
        let mut line = Line { node, fields, read: Vec::new() };
        let mut at = 0;
        while at < args.len() {
            match line.take(&args[at..]) {
                Some((n, read)) => {
                    line.read.extend(read);
                    at += n;
                }
                None => {
                    left.push(args[at].clone());
                    at += 1;
                }
            }
        }
        let mut read = line.read;
        left.retain(|v| v.typed != ",");
        bare_figures(node, fields, &mut left, &mut read);
        self.ask_which(node, fields, &read, &left);
        let mut kept = Vec::new();
        let mut rest = left.into_iter().peekable();
        while let Some(value) = rest.next() {
            let Some(figure) = figure(&value, rest.peek()) else {
                kept.push(value);
                continue;
            };
            if figure.span.end > value.span.end {
                rest.next();
            }
            self.which_figure(node, fields, &figure);
        }
        kept.retain(|v| !bare(v).is_some_and(|w| NO_NAMES.contains(&w.as_str())));
        self.times(node, fields, &mut kept);
        self.as_name(node, &mut kept, &read);
        self.say_read(node, &kept, &read);
        for r in read {
            let property = |key: &str, value: Value| Property {
                key: key.to_owned(),
                key_span: r.span.clone(),
                value: Value { span: r.span.clone(), ..value },
            };
            if let Some((_, ret)) = r.meant.split_once(" return=") {
                let scalar = Scalar::Number(ret.parse().unwrap_or(0.0));
                let value = Value { scalar, typed: ret.to_owned(), ..r.value.clone() };
                node.properties.push(property("return", value));
            }
            node.properties.push(property(r.key, r.value.clone()));
        }
        node.args = kept;
        // `zone 1 "upstairs"`: a number before a name counts, no more.
        if node.args.len() == 2
            && (node.name == "zone" || node.args[1].typed.starts_with('"'))
            && matches!(node.args[0].scalar, Scalar::Number(_))
            && matches!(node.args[1].scalar, Scalar::Text(_))
        {
            node.args.remove(0);
        }
    }

    /// One remark for what stands together, with the words to write in its place.
    fn say_read(&mut self, node: &Node, kept: &[Value], read: &[Read]) {
        let others: Vec<usize> = kept
            .iter()
            .map(|v| v.span.start)
            .chain(node.properties.iter().map(|p| p.key_span.start))
            .chain(node.children.iter().map(|c| c.name_span.start))
            .chain([node.name_span.start])
            // A line that was joined to this one is mended where it stands.
            .chain(node.joins.iter().map(|j| j.at.saturating_sub(1)))
            .collect();
        let mut groups: Vec<Vec<&Read>> = Vec::new();
        for r in read {
            let together = |g: &&mut Vec<&Read>| {
                let last = g[g.len() - 1].span.end;
                !others.iter().any(|o| (last..r.span.start).contains(o))
            };
            match groups.last_mut().filter(together) {
                Some(group) => group.push(r),
                None => groups.push(vec![r]),
            }
        }
        for group in groups {
            let join = |part: fn(&Read) -> &str| -> String {
                group.iter().map(|r| part(r)).collect::<Vec<_>>().join(" ")
            };
            let (typed, meant) = (join(|r| &r.typed), join(|r| &r.meant));
            let span = group[0].span.start..group[group.len() - 1].span.end;
            let mut d = Diagnostic::warning(
                "loose-figure",
                span.clone(),
                format!("`{typed}` was read as `{meant}`"),
            )
            .label("values are given by name")
            .edit(span, meant);
            if node.name == "main" && group.iter().any(|r| r.key == "static") {
                d = d.help("`static` is the pressure with no tap open, `dynamic` while `at` flows");
            }
            self.say(d);
        }
    }

    /// `job 5 Mill View`: all that stands there is the name.
    pub(super) fn all_is_name(&mut self, node: &mut Node) {
        if node.args.len() < 2 {
            return;
        }
        let words: Vec<&str> = node.args.iter().map(|v| v.typed.trim_matches('"')).collect();
        let name = words.join(" ").replace(" ,", ",");
        let span = node.args[0].span.start..node.args[node.args.len() - 1].span.end;
        let within = |p: &Property| span.contains(&p.key_span.start);
        if node.properties.iter().any(within) {
            return;
        }
        self.say_name(&node.name, &name, &span);
        let typed = format!("\"{name}\"");
        node.args = vec![Value { scalar: Scalar::Text(name), span, note: None, typed }];
    }

    fn say_name(&mut self, about: &str, name: &str, span: &Span) {
        let said = format!("`{name}` was read as the name of this {about}");
        self.say(
            Diagnostic::warning("loose-figure", span.clone(), said)
                .label("a name goes in quotes")
                .edit(span.clone(), format!("\"{name}\"")),
        );
    }

    /// `immersion 3kw x2`: a line is one thing; `boiler 24 or 28`: a figure is no name.
    fn times(&mut self, node: &Node, fields: &Fields, kept: &mut Vec<Value>) {
        let count = |v: &Value| {
            let text = v.typed.trim_start_matches(['x', 'X', '×']);
            text.len() < v.typed.len() && text.parse::<u32>().is_ok()
        };
        let sources = ["boiler", "cylinder", "heat-pump"].contains(&node.name.as_str());
        let figure = |v: &Value| {
            sources && v.note.is_none() && v.typed.starts_with(|c: char| c.is_ascii_digit())
        };
        // `boiler 1 "garage"`: a number before a name counts, no more.
        if kept.len() == 2 && kept[1].typed.starts_with('"') {
            return;
        }
        kept.retain(|v| {
            let is = count(v);
            if is {
                let said = format!("`{}` of one `{}` can't be read", v.typed, node.name);
                self.say(
                    Diagnostic::error("unexpected-value", v.span.clone(), said)
                        .label("how many of what?")
                        .help("each thing has a line of its own: write the line once more"),
                );
            } else if figure(v) {
                self.which_figure(node, fields, v);
                return false;
            }
            !is
        });
    }

    /// `zone back bedroom`: words typed without quotes that can only be the name.
    fn as_name(&mut self, node: &Node, kept: &mut Vec<Value>, read: &[Read]) {
        let words: Option<Vec<String>> =
            kept.iter().map(|v| bare(v).and_then(|_| words_of(v))).collect();
        let Some(words) = words else { return };
        // A zone may be called by one word, which nobody doubts.
        let least = if node.name == "zone" { 2 } else { 1 };
        let named = (least..=WORDS_OF_A_NAME).contains(&words.len());
        let denies = words.iter().any(|w| DENYING.contains(&w.to_lowercase().as_str()));
        let vessel = node.name == "vessel" && ["heating", "hot water"].contains(&&*words.join(" "));
        let takes_one =
            vessel || ["zone", "boiler", "cylinder", "heat-pump"].contains(&node.name.as_str());
        if !named || denies || !takes_one {
            return;
        }
        let span = kept[0].span.start..kept[kept.len() - 1].span.end;
        let others = node.properties.iter().map(|p| p.key_span.start);
        let others = others.chain(read.iter().map(|r| r.span.start)).chain([node.name_span.start]);
        if others.into_iter().any(|o| span.contains(&o)) {
            return;
        }
        let name = words.join(" ");
        self.say_name(&node.name, &name, &span);
        let typed = format!("\"{name}\"");
        *kept = vec![Value { scalar: Scalar::Text(name), span, note: None, typed }];
    }

    /// Figures that are left on a line stand beside what is assumed in their place: each could have
    /// been what the line is about.
    fn ask_which(&mut self, node: &Node, fields: &Fields, read: &[Read], left: &[Value]) {
        let is_figure = |v: &&Value| {
            let digits = v.typed.starts_with(|c: char| c.is_ascii_digit());
            digits && (matches!(v.scalar, Scalar::Number(_)) || figure(v, None).is_some())
        };
        let typed: Vec<&str> =
            left.iter().filter(is_figure).map(|v| v.typed.trim_matches('"')).collect();
        // A number before a name counts, no more.
        let counts = left.len() == 2 && left[1].typed.starts_with('"');
        if typed.is_empty() || counts {
            return;
        }
        let line = Line { node, fields, read: Vec::new() };
        let open = |key: &&str| !line.is_given(key) && !read.iter().any(|r| r.key == *key);
        for key in about(&node.name).into_iter().filter(open) {
            let (about, key) = (node.name.clone(), key.to_owned());
            let typed = typed.join(" ").chars().take(40).collect();
            self.refused_values.push(Refused { about, key, typed, loose: true });
        }
    }

    /// A figure that could be several things, or nothing.
    fn which_figure(&mut self, node: &Node, fields: &Fields, value: &Value) {
        let text = value.typed.trim_matches('"');
        let line = Line { node, fields, read: Vec::new() };
        let keys: Vec<&str> = line.candidates(text).iter().map(|f| f.key).take(6).collect();
        let said = format!("`{text}` is a figure, no name for `{}`", node.name);
        let d =
            Diagnostic::error("loose-figure", value.span.clone(), said).label("a figure of what?");
        self.say(match keys.is_empty() {
            true => d,
            false => d.help(format!("say which: {}", listed(keys))),
        });
    }
}

/// The figures that a line is about, in the order in which people say them.
fn about(node: &str) -> Vec<&'static str> {
    match node {
        "main" => vec!["static", "dynamic", "at"],
        "cupboard" => vec!["width", "depth", "height"],
        _ => MAIN_FIGURE.iter().filter(|(about, _)| *about == node).map(|(_, key)| *key).collect(),
    }
}

/// `cylinder 170`, `main 3.5 2.5 22`: numbers without a unit that can only be what the line is
/// about.
fn bare_figures(node: &Node, fields: &Fields, left: &mut Vec<Value>, read: &mut Vec<Read>) {
    let line = Line { node, fields, read: Vec::new() };
    let given: Vec<&str> = read.iter().map(|r| r.key).collect();
    let open = |key: &str| line.open(key).filter(|f| f.key == key && !given.contains(&f.key));
    let numbers: Vec<(usize, f64)> = left
        .iter()
        .enumerate()
        .filter(|(i, v)| v.note.is_none() && figure(v, left.get(i + 1)).is_none())
        .filter_map(|(i, v)| if let Scalar::Number(n) = v.scalar { Some((i, n)) } else { None })
        .collect();
    let plain: Vec<f64> = numbers.iter().map(|(_, n)| *n).collect();
    let keys: Vec<&str> = match (node.name.as_str(), &plain[..]) {
        // The pressure with no tap open is the higher one; no main flows less than it has bar.
        ("main", [a, b, c]) if a >= b && c > a => vec!["static", "dynamic", "at"],
        ("main", [a, b]) if a < b => vec!["static", "at"],
        ("main", [a, b]) if a > b => vec!["static", "dynamic"],
        ("main", [_]) => vec!["static"],
        ("cupboard", [_, _]) => vec!["width", "depth"],
        // 22 may be a tube as well as metres.
        ("discharge", [n]) if tubes().iter().any(|t| t.size == n.to_string()) => return,
        ("zone", _) => return,
        (node, [_]) => about(node).into_iter().take(1).collect(),
        _ => return,
    };
    let fields: Vec<Field> = keys.iter().filter_map(|key| open(key)).collect();
    if fields.len() != numbers.len() {
        return;
    }
    for ((at, _), field) in numbers.iter().zip(fields) {
        let value = left[*at].clone();
        read.push(Read::of(std::slice::from_ref(&value), field, value.clone()));
    }
    read.sort_by_key(|r| r.span.start);
    for (at, _) in numbers.iter().rev() {
        left.remove(*at);
    }
}
