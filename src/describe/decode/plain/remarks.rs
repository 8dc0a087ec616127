//! Lines that are no part of the system: an address, a name, what is to come out. In: a line. Out: the
//! job's own words, or the line as it was.

use super::words::{GOING, OF_THE_JOB, STREETS, TAKING, TITLES};
use super::{Above, is_comma, is_figure, span_of};
use crate::describe::decode::hints::bare;
use crate::describe::decode::reader::Decoder;
use crate::describe::decode::turned::node_and_args;
use crate::describe::tree::{Node, Scalar, Value};
use crate::describe::words::begins_a_matter;
use crate::diagnostic::Diagnostic;

impl Decoder {
    /// Puts a line that is the job's into the job.
    pub(super) fn remark(&mut self, node: Node, above: &mut Above) -> Result<(), Box<Node>> {
        let mut tokens = node_and_args(&node);
        tokens[0].typed.clone_from(&node.typed);
        let plain = tokens.iter().all(|t| t.note.is_none());
        let of_the_job = OF_THE_JOB.iter().find(|(word, _)| *word == node.name);
        if let Some((_, key)) = of_the_job.filter(|_| tokens.len() > 1) {
            let right = *key == node.name && tokens.len() == 2 && tokens[1].typed.starts_with('"');
            self.of_the_job(&node, &tokens[1..], key, !right, above);
            return Ok(());
        }
        if !plain {
            return Err(Box::new(node));
        }
        if is_going(&tokens) {
            self.of_the_job(&node, &tokens, "note", true, above);
            return Ok(());
        }
        let key = match (is_postcode(&tokens), is_address(&tokens)) {
            (true, _) => "postcode",
            (_, true) if above.has_name => "address",
            (_, true) => "name",
            _ => return Err(Box::new(node)),
        };
        let given =
            |n: &Node, key: &str| n.name == "job" && n.children.iter().any(|c| c.name == key);
        // A second line of the address goes on with it.
        if key == "address"
            && let Some(job) = above.out.iter_mut().rfind(|n| given(n, "address"))
            && let Some(child) = job.children.iter_mut().find(|c| c.name == "address")
        {
            child.args.push(as_text(&tokens, &node));
            let said = format!("`{}` was read as more of the address", words(&tokens));
            self.say(
                Diagnostic::warning("loose-figure", span_of(&tokens), said)
                    .label("one line of the job holds the address"),
            );
            return Ok(());
        }
        self.of_the_job(&node, &tokens, key, true, above);
        Ok(())
    }

    fn of_the_job(
        &mut self,
        node: &Node,
        tokens: &[Value],
        key: &'static str,
        say: bool,
        above: &mut Above,
    ) {
        let value = as_text(tokens, node);
        let text = words(tokens);
        let span = node.name_span.start..span_of(tokens).end;
        let meant = match key {
            "name" => format!("job \"{text}\""),
            "note" => format!("note \"{text}\""),
            _ => format!("job {{ {key} \"{text}\" }}"),
        };
        if say {
            let what = match key {
                "name" => format!("`{text}` was read as the name of this job"),
                "note" => format!("`{text}` was read as a note: nothing is drawn for it"),
                _ => format!("`{text}` was read as the job's {key}"),
            };
            let label = match key {
                "name" => "it is the name of the job",
                "note" => "a note in the papers",
                _ => "it belongs to the job",
            };
            self.say(
                Diagnostic::warning("loose-figure", span.clone(), what)
                    .label(label)
                    .edit(span.clone(), meant),
            );
        }
        let mut job = Node {
            name: "job".to_owned(),
            typed: "job".to_owned(),
            name_span: node.name_span.clone(),
            args: Vec::new(),
            properties: Vec::new(),
            children: Vec::new(),
            joins: Vec::new(),
        };
        if key == "name" {
            above.has_name = true;
            job.args.push(value);
        } else {
            let child =
                Node { name: key.to_owned(), args: vec![value], name_span: span, ..job.clone() };
            job.children.push(child);
        }
        above.out.push(job);
    }
}

/// The words of a line as one text.
fn as_text(tokens: &[Value], node: &Node) -> Value {
    let text = words(tokens);
    let typed = format!("\"{text}\"");
    let span = match tokens.is_empty() {
        true => node.name_span.clone(),
        false => span_of(tokens),
    };
    Value { scalar: Scalar::Text(text), span, note: None, typed }
}

fn words(tokens: &[Value]) -> String {
    let all: Vec<&str> = tokens.iter().map(|t| t.typed.trim_matches('"')).collect();
    all.join(" ").replace(" ,", ",")
}

/// `combi coming out`, `old tank to go`: of what goes or stays, nothing is drawn.
pub fn is_going(tokens: &[Value]) -> bool {
    let text = format!(" {} ", words(tokens).to_lowercase().replace(',', " "));
    let first = tokens.first().and_then(bare).unwrap_or_default();
    let out = text.ends_with(" out ")
        && !["discharge", "d1", "d2", "door", "pipe"].contains(&first.as_str())
        && tokens.iter().any(|t| bare(t).is_some_and(|w| begins_a_matter(&w)));
    tokens.len() > 1
        && (out || GOING.iter().any(|g| text.contains(g)) || TAKING.contains(&first.as_str()))
}

/// `22 Orchard Close`, `Mrs Patel, 14 Mill Rd`, `Orchard Cottage`.
fn is_address(tokens: &[Value]) -> bool {
    let known = |t: &Value| bare(t).is_some_and(|w| begins_a_matter(&w) && w != "house");
    let word = |t: &Value| bare(t).map(|w| w.trim_end_matches('.').to_owned());
    if tokens.len() < 2 || tokens.iter().any(known) {
        return false;
    }
    let titled = word(&tokens[0]).is_some_and(|w| TITLES.contains(&w.as_str()));
    let street = |at: usize| {
        at > 0
            && word(&tokens[at]).is_some_and(|w| STREETS.contains(&w.as_str()))
            && bare(&tokens[at - 1]).is_some_and(|w| w.len() > 1 && w != ",")
    };
    let street = (0..tokens.len()).any(street);
    let numbered = is_figure(&tokens[0]);
    let capital = |t: &Value| t.typed.starts_with(char::is_uppercase);
    let capitals = tokens.iter().filter(|t| bare(t).is_some() && !is_comma(t)).all(capital);
    // `3 bed house` counts rooms; `flat on 2nd floor` says where.
    titled || (street && (numbered || capitals)) && !super::dwelling_in(tokens)
}

/// `SY12 9QQ`: letters, a figure or two, a space, a figure, two letters.
fn is_postcode(tokens: &[Value]) -> bool {
    let [out, inward] = tokens else { return false };
    let (out, inward) = (out.typed.trim_matches('"'), inward.typed.trim_matches('"'));
    let letters = out.chars().take_while(char::is_ascii_alphabetic).count();
    let digits = out.chars().skip(letters).take_while(char::is_ascii_digit).count();
    let inner: Vec<bool> = inward.chars().map(|c| c.is_ascii_digit()).collect();
    (1..=2).contains(&letters)
        && (1..=2).contains(&digits)
        && out.len() <= letters + digits + 1
        && inner == [true, false, false]
        && inward.chars().skip(1).all(|c| c.is_ascii_alphabetic())
}
