//! What stands loose on a line. In: a node whose arguments are figures, words and pairs of both, as
//! people type them (`5 rads`, `right wall`, `3 m`, `flow 70`). Out: the same node with the
//! properties they mean, and one remark that shows how to write them. What is none of those is left
//! for the node's decoder.

mod line;

use self::line::{Line, MAIN_FIGURE, Read, WORDS_OF_A_NAME, apart, figure, words_of};
use super::fields::Fields;
use super::hints::bare;
use super::reader::Decoder;
use crate::describe::nearest::listed;
use crate::describe::tree::{Node, Property, Scalar, Value};
use crate::diagnostic::Diagnostic;
use crate::model::Span;

/// Words that make a name of what follows them say the opposite: never read as one.
const DENYING: [&str; 4] = ["no", "not", "without", "none"];
impl Decoder {
    /// Figures and words that stand loose on a line, or in the place of its name, made the
    /// properties they mean.
    pub(super) fn loose(&mut self, node: &mut Node, fields: &Fields) {
        let args: Vec<Value> =
            std::mem::take(&mut node.args).into_iter().flat_map(|v| apart(&node.name, v)).collect();
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
        let read = line.read;
        if left.len() == 1 && self.unnamed(node, &left[0]) {
            left.clear();
        }
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
        self.as_name(node, &mut kept);
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
        let name = words.join(" ");
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
                .label("a name of several words goes in quotes")
                .edit(span.clone(), format!("\"{name}\"")),
        );
    }

    /// `zone back bedroom`: words typed without quotes that can only be the name.
    fn as_name(&mut self, node: &Node, kept: &mut Vec<Value>) {
        let words: Option<Vec<String>> =
            kept.iter().map(|v| bare(v).and_then(|_| words_of(v))).collect();
        let Some(words) = words else { return };
        let named = (2..=WORDS_OF_A_NAME).contains(&words.len());
        let denies = words.iter().any(|w| DENYING.contains(&w.to_lowercase().as_str()));
        let takes_one = ["zone", "boiler", "cylinder", "heat-pump"].contains(&node.name.as_str());
        if !named || denies || !takes_one {
            return;
        }
        let span = kept[0].span.start..kept[kept.len() - 1].span.end;
        let others = node.properties.iter().map(|p| p.key_span.start);
        if others.into_iter().any(|o| span.contains(&o)) {
            return;
        }
        let name = words.join(" ");
        self.say_name(&node.name, &name, &span);
        let typed = format!("\"{name}\"");
        *kept = vec![Value { scalar: Scalar::Text(name), span, note: None, typed }];
    }

    /// `cylinder 170`: a number without a unit where the line has a figure that it could be.
    fn unnamed(&mut self, node: &Node, value: &Value) -> bool {
        let Scalar::Number(_) = value.scalar else { return false };
        let main = MAIN_FIGURE.iter().find(|(about, _)| *about == node.name);
        let Some((_, key)) = main.filter(|(about, _)| *about != "zone") else { return false };
        let said = format!("`{}` alone is no name for `{}`", value.typed, node.name);
        let meant = format!("{key}={}", value.typed);
        self.say(
            Diagnostic::error("loose-figure", value.span.clone(), said)
                .label(format!("is `{meant}` meant?"))
                .help("values are given by name; a name that is a number goes in quotes")
                .edit(value.span.clone(), meant),
        );
        true
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
