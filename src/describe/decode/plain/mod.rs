//! Lines as people say them, before each is decoded. In: the nodes of a file in their order. Out:
//! nodes that begin with a word of the language: a line in several breaths is several lines, a line
//! that goes on with the one above is joined to it, remarks and addresses go to the job. Each is said
//! with the words to write instead; what means nothing stays as it is.

mod breaths;
mod parts;
mod ranges;
mod remarks;
mod words;
mod zones;

use super::hints::bare;
use super::loose::{figure, together};
use super::reader::Decoder;
use super::turned::{count_in, node_and_args, word_of};
use super::{is_known, nearest, outlets, top_words};
use crate::describe::facts::JobFacts;
use crate::describe::quantity;
use crate::describe::tree::{Join, Node, Scalar, Value};
use crate::describe::words::OTHER_WORDS;
use crate::diagnostic::Diagnostic;
use crate::model::Span;
use words::{FILLERS, NEED_THEIR_LINE, OF_THE_CUPBOARD, OF_THE_DWELLING, OWN};

/// What the lines so far have been about.
struct Above {
    /// The lines read so far.
    out: Vec<Node>,
    /// Whether the text has zones by name, to one of which emitters alone may belong.
    zones: bool,
    /// The names of the zones so far.
    named: Vec<String>,
    /// A remark or an address may be put into the job: false in a flat that is repeated.
    job: bool,
    /// Whether the job has a name.
    has_name: bool,
}

impl Decoder {
    /// Every line of a text as one that begins with its word.
    pub(super) fn plainly(&mut self, nodes: Vec<Node>, job: Option<&JobFacts>) -> Vec<Node> {
        let is_zone = |n: &Node| matches!(n.name.as_str(), "zone" | "zones" | "heating-zone");
        let job_named = |n: &Node| n.name == "job" && !n.args.is_empty();
        let mut above = Above {
            out: Vec::new(),
            zones: nodes.iter().any(|n| is_zone(n) || counts_zones(n)),
            named: nodes.iter().filter(|n| is_zone(n)).filter_map(first_words).collect(),
            job: job.is_some(),
            has_name: job.is_none_or(|j| j.name.is_some()) || nodes.iter().any(job_named),
        };
        for mut node in nodes {
            self.careful_ends(&mut node);
            for node in self.in_parts(node) {
                self.one_line(node, &mut above);
            }
        }
        above.out
    }

    fn one_line(&mut self, node: Node, above: &mut Above) {
        let by_the_book = !node.children.is_empty() || !node.properties.is_empty();
        let node = if by_the_book { Some(node) } else { self.as_said(node, above) };
        let Some(node) = node else { return };
        match into_cupboard(&node, above) {
            Some(at) => self.inside(node, at, above),
            None => above.out.push(node),
        }
    }

    /// A line without properties or braces. Nothing where it was put elsewhere.
    fn as_said(&mut self, node: Node, above: &mut Above) -> Option<Node> {
        if above.job {
            let taken = self.remark(node, above);
            let node = match taken {
                Ok(()) => return None,
                Err(node) => *node,
            };
            return self.as_a_matter(node, above);
        }
        self.as_a_matter(node, above)
    }

    fn as_a_matter(&mut self, mut node: Node, above: &mut Above) -> Option<Node> {
        self.joined(&mut node, &is_known);
        if node.name == "no" && !node.args.is_empty() {
            self.denied(&node);
            return None;
        }
        let zones = self.zones_named(&node, above);
        if let Some(lines) = zones.or_else(|| self.zones_in(&node, above)) {
            above.out.extend(lines);
            return None;
        }
        // To which zone they belong, nobody says: answered by its own hint.
        if above.zones && zones::is_emitters(&node_and_args(&node)) {
            node.name = "rads".to_owned();
            return Some(node);
        }
        if let Some(wall) = self.outside_wall(&node) {
            return Some(wall);
        }
        let tokens = node_and_args(&node);
        let entries = outlets::entries(&tokens);
        let some = is_figure(&tokens[0]) && word_of(&node.args).is_none() && outlets::any(&tokens);
        let one = !is_known(&node.name) || outlets::is_compound(&tokens);
        let list = entries > 1 || (entries == 1 && one) || some || outlets::is_room(&tokens);
        if real(&node.name) != "outlets" && list && !is_filler(&tokens[0]) {
            let at = node.name_span.start;
            self.in_front("outlets", at..at);
            node.args = tokens;
            node.name = "outlets".to_owned();
            return Some(node);
        }
        if self.is_a_matter(&node) && !is_figure(&tokens[0]) {
            return Some(node);
        }
        // `Radiators` on one line, `9` on the next.
        if let Some(last) = above.out.last().filter(|n| n.args.is_empty())
            && words::EMITTERS.iter().any(|(w, _)| *w == last.name)
            && tokens.len() == 1
            && count_in(&tokens[0]).is_some()
        {
            let mut heading = above.out.pop()?;
            heading.args = tokens;
            match self.zones_in(&heading, above) {
                Some(lines) => above.out.extend(lines),
                None => above.out.push(heading),
            }
            return None;
        }
        // A heading, and what it is about on the lines below it.
        if let Some(last) = above.out.last()
            && last.args.is_empty()
            && last.properties.is_empty()
            && last.children.is_empty()
            && goes_on(&last.name, &tokens)
        {
            self.goes_with(tokens, above.out.len() - 1, above);
            return None;
        }
        let skipped = tokens.iter().take_while(|t| is_filler(t)).count();
        let rest = &tokens[skipped..];
        let first = rest.first()?;
        // `turned` finds the word of the line further on.
        let heated = bare(first).is_some_and(|w| w == "heated");
        let turned = !heated && word_of(rest).is_some();
        let about = match (turned, dwelling_in(rest), matter_of(rest)) {
            (true, ..) if skipped == 0 => return Some(node),
            (true, ..) => return Some(self.without(node, skipped)),
            (_, true, _) => Some("dwelling"),
            (_, _, Some(of)) => of_these(of, first, above),
            _ => None,
        };
        let Some(about) = about else { return Some(node) };
        let at = above.out.iter().rposition(|n| n.name == about || real(&n.name) == about);
        // The main's figures may stand on several lines, the dwelling's too.
        if !matches!(about, "main" | "dwelling")
            && let Some(at) = at
        {
            self.goes_with(rest.to_vec(), at, above);
            return None;
        }
        let span = first.span.start..first.span.start;
        self.in_front(about, node.name_span.start..span.end);
        node.args = rest.to_vec();
        node.name = about.to_owned();
        node.name_span = first.span.clone();
        Some(node)
    }

    /// A line that goes on with one above it.
    fn goes_with(&mut self, tokens: Vec<Value>, at: usize, above: &mut Above) {
        let last = at + 1 == above.out.len();
        let node = &mut above.out[at];
        let about = node.name.clone();
        let from = tokens[0].span.start;
        let end = node.args.last().map_or(node.name_span.end, |a| a.span.end);
        let alone = last && node.children.is_empty() && node.properties.is_empty();
        let typed = bare(&tokens[0]).unwrap_or_else(|| tokens[0].typed.clone());
        let d = Diagnostic::warning(
            "two-words",
            tokens[0].span.clone(),
            format!("`{typed} …` was read as part of the line of the `{about}`"),
        )
        .label("goes on with it");
        self.say(match alone {
            true => d.edit(end..from, " "),
            false => d.help(format!("write it into the line of the `{about}`")),
        });
        node.joins.push(Join { at: from });
        node.args.extend(tokens);
    }

    /// A line without the words before what it is about.
    fn without(&mut self, mut node: Node, skipped: usize) -> Node {
        let tokens = node_and_args(&node);
        let first = &tokens[skipped];
        let span = node.name_span.start..first.span.start;
        self.say(
            Diagnostic::warning("two-words", span.clone(), "these words say nothing here")
                .label("left out")
                .edit(span, ""),
        );
        node.typed = first.typed.trim_matches('"').to_owned();
        node.name = node.typed.to_lowercase();
        node.name_span = first.span.clone();
        node.args = tokens[skipped + 1..].to_vec();
        node
    }

    /// `outside wall = right`, `the right hand wall is outside`.
    fn outside_wall(&mut self, node: &Node) -> Option<Node> {
        let tokens = node_and_args(node);
        let words: Vec<String> = tokens.iter().map(bare).collect::<Option<_>>()?;
        let has = |word: &str| words.iter().any(|w| w == word);
        let sides: Vec<&String> = words
            .iter()
            .filter(|w| matches!(w.as_str(), "left" | "right" | "back" | "front" | "rear"))
            .collect();
        let other = |w: &&String| {
            !FILLERS.contains(&w.as_str())
                && !["wall", "outside", "external", "hand", "on", "side", "=", "rear"]
                    .contains(&w.as_str())
                && !sides.contains(w)
        };
        let [side] = sides[..] else { return None };
        let outside = has("outside") || has("external");
        if node.name == "wall" || !has("wall") || !outside || words.iter().any(|w| other(&w)) {
            return None;
        }
        let side = if side == "rear" { "back" } else { side };
        let span = node.name_span.start..tokens[tokens.len() - 1].span.end;
        let meant = format!("wall \"{side}\" outside=#true");
        self.say(
            Diagnostic::warning("two-words", span.clone(), format!("read as `{meant}`"))
                .label("write it so, in the braces of the `cupboard`")
                .edit(span.clone(), meant),
        );
        let text = |t: &str| Value {
            scalar: Scalar::Text(t.to_owned()),
            span: span.clone(),
            note: None,
            typed: t.to_owned(),
        };
        let outside = crate::describe::tree::Property {
            key: "outside".to_owned(),
            key_span: span.clone(),
            value: Value { scalar: Scalar::Flag(true), ..text("#true") },
        };
        Some(Node {
            name: "wall".to_owned(),
            typed: "wall".to_owned(),
            name_span: span.clone(),
            args: vec![text(side)],
            properties: vec![outside],
            children: Vec::new(),
            joins: Vec::new(),
        })
    }

    /// A door or a wall that stands outside the braces of its cupboard.
    fn inside(&mut self, node: Node, at: usize, above: &mut Above) {
        let said = format!("`{}` was read as standing inside `cupboard`", node.name);
        self.say(
            Diagnostic::warning("two-words", node.name_span.clone(), said)
                .label("belongs to the cupboard")
                .help(format!("write it between the braces of `cupboard … {{ {} … }}`", node.name)),
        );
        above.out[at].children.push(node);
    }

    /// `no boiler`: what there is not says nothing of what there is.
    fn denied(&mut self, node: &Node) {
        let tokens = node_and_args(node);
        let text: Vec<&str> = tokens.iter().map(|t| t.typed.trim_matches('"')).collect();
        let text = text.join(" ").replace(" ,", ",");
        let span = span_of(&tokens);
        self.say(
            Diagnostic::error(
                "unknown-node",
                span.clone(),
                format!("`{text}` says what there is not"),
            )
            .label("not read")
            .help(
                "say what there is: a store without a boiler is `cylinder heated=\"electric\"`; \
                 as a remark it goes behind `note`",
            )
            .edit(span, format!("note \"{text}\"")),
        );
    }

    fn is_a_matter(&self, node: &Node) -> bool {
        let known = top_words();
        let own = OWN.iter().any(|(word, _)| *word == node.name);
        let further = word_of(&node.args).is_some();
        is_known(&node.name)
            || (!own && !further)
                && nearest::as_meant(&node.name, known.iter().map(String::as_str)).is_some()
    }
}

/// The cupboard's line that a door or a wall belongs to.
fn into_cupboard(node: &Node, above: &Above) -> Option<usize> {
    let of_it = OF_THE_CUPBOARD.contains(&node.name.as_str());
    let cupboard = |n: &Node| real(&n.name) == "cupboard";
    above.out.iter().rposition(cupboard).filter(|_| of_it)
}

/// The language's own word for another one.
fn real(word: &str) -> &str {
    OTHER_WORDS.iter().find(|(other, _)| *other == word).map_or(word, |(_, real)| real)
}

/// `2 zones`, `maybe 2 zones`.
fn counts_zones(node: &Node) -> bool {
    node.args.iter().filter_map(bare).any(|w| w == "zones" || w == "zone")
}

fn first_words(node: &Node) -> Option<String> {
    node.args.iter().find_map(|v| match &v.scalar {
        Scalar::Text(t) => Some(t.to_lowercase()),
        _ => None,
    })
}

fn is_filler(value: &Value) -> bool {
    bare(value).is_some_and(|w| FILLERS.contains(&w.trim_end_matches('.')) || w == "~")
}

fn is_figure(value: &Value) -> bool {
    value.typed.trim_start_matches('"').starts_with(|c: char| c.is_ascii_digit())
}

/// A line that can only go on with the heading above it.
fn goes_on(heading: &str, tokens: &[Value]) -> bool {
    let heading = real(heading);
    let headings = ["cylinder", "boiler", "main", "heat-pump", "cupboard", "discharge"];
    let named = tokens.iter().skip(1).any(|t| t.typed.starts_with(|c: char| c.is_uppercase()));
    let own = bare(&tokens[0])
        .is_some_and(|w| OWN.iter().any(|(word, of)| *word == w && of.contains(&heading)));
    headings.contains(&heading) && (own || (is_figure(&tokens[0]) && !named))
}

/// The line, of those that a word may belong to, which it goes on with.
fn of_these(of: &[&'static str], first: &Value, above: &Above) -> Option<&'static str> {
    let last = above.out.last().map(|n| real(&n.name).to_owned());
    let below = of.iter().find(|w| last.as_deref() == Some(**w)).copied();
    let needs = bare(first).is_some_and(|w| NEED_THEIR_LINE.contains(&w.as_str()));
    below.or_else(|| of.first().copied().filter(|_| !needs))
}

/// `3 bed semi`, `2 bathrooms 1 ensuite`.
fn dwelling_in(tokens: &[Value]) -> bool {
    let counted = |pair: &[Value]| {
        count_in(&pair[0]).is_some()
            && bare(&pair[1]).is_some_and(|w| OF_THE_DWELLING.iter().any(|(word, _)| *word == w))
    };
    tokens.len() >= 2 && counted(&tokens[..2])
}

/// The lines that a line's words belong to where it doesn't say so.
fn matter_of(tokens: &[Value]) -> Option<&'static [&'static str]> {
    let tokens = &together("", tokens.to_vec());
    let own = |t: &Value| {
        let word = bare(t)?;
        OWN.iter().find(|(own, _)| *own == word).map(|(_, of)| *of)
    };
    let first = tokens.first()?;
    if let Some(of) = own(first) {
        return Some(of);
    }
    if !is_figure(first) {
        return None;
    }
    let text = figure(first, tokens.get(1)).map(|v| v.typed.trim_matches('"').to_owned());
    let is = |unit: &str| text.as_deref().is_some_and(|t| quantity::read(t, unit).is_ok());
    // Metres are of length, whatever a head of water is measured in.
    if (is("bar") && !is("mm")) || is("l/min") {
        return Some(&["main"]);
    }
    let of_store = ["indirect", "direct", "unvented", "twin"];
    if is("l") || tokens.iter().filter_map(bare).any(|w| of_store.contains(&w.as_str())) {
        return Some(&["cylinder"]);
    }
    let sizes = first.typed.trim_matches('"').split(['x', 'X', '×']).count() == 3;
    sizes.then_some(&["cupboard"])
}

/// Where the tokens of a line begin and end.
fn span_of(tokens: &[Value]) -> Span {
    tokens[0].span.start..tokens[tokens.len() - 1].span.end
}

fn is_comma(value: &Value) -> bool {
    value.typed == ","
}
