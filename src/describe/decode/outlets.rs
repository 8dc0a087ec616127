//! `outlets`: the taps, showers and machines, as one block or as a list that people type in one
//! breath (`bath, shower, 2 basins, kitchen sink`).

use super::fields::{Fields, Holds};
use super::hints::{self, bare};
use super::reader::Decoder;
use super::value::in_words;
use super::{kind_called, kind_words};
use crate::catalogue::Kind;
use crate::describe::facts::{Given, Mark, OutletFacts, Properties};
use crate::describe::nearest::as_meant;
use crate::describe::tree::{Node, Scalar, Value, begins_with_figure};
use crate::diagnostic::{Diagnostic, Severity};
use crate::model::{Datum, Span};

/// Outlets are named by their kind; a number says how many.
pub fn outlets(d: &mut Decoder, mut node: Node, all: &mut Vec<OutletFacts>) {
    let outlet_kinds: Vec<&str> = outlet_words().collect();
    for mut child in std::mem::take(&mut node.children) {
        // `{ bath, shower, basin 2 }`, `{ 2 baths; shower }`
        let list = child.args.iter().any(is_comma) || begins_with_figure(&child.name);
        if list && child.properties.is_empty() {
            let name = Value {
                scalar: Scalar::Text(child.name.clone()),
                span: child.name_span.clone(),
                note: None,
                typed: child.name.clone(),
            };
            let tokens: Vec<Value> = std::iter::once(name).chain(child.args).collect();
            let span = tokens[0].span.start..tokens[tokens.len() - 1].span.end;
            in_one_breath(d, &tokens, span, false, all);
            continue;
        }
        d.joined(&mut child, &|word| outlet(word).is_some() || is_refused(word));
        let span = child.name_span.clone();
        let Some(kind) = outlet(&child.name) else {
            if d.refused(&child.name, &span) {
                continue;
            }
            let known = outlet_kinds.iter().copied();
            let meant = d.meant("unknown-node", "no such outlet", &child.name, &span, known);
            let Some(kind) = meant.and_then(outlet) else { continue };
            all.push(one_of(kind, 1, &span));
            continue;
        };
        child.name = kind.key.clone();
        let mut fields = Fields::default().kind(kind);
        fields = fields.and(&[("count", Holds::Count), ("size", Holds::Tube)]);
        let mut p = d.properties(&mut child, &fields);
        let mut count = super::reader::take_number(&mut p, "count");
        // `basin x 3`
        child.args.retain(|a| !(bare(a).is_some_and(|w| w == "x" || w == "×")));
        if let Some(i) = child.args.iter().position(|a| matches!(a.scalar, Scalar::Number(_))) {
            let arg = child.args.remove(i);
            count = d.count(&child.name, &arg).or(count);
        } else if let Some(i) = child.args.iter().position(is_times)
            && let Some(n) = count_of(&child.args[i])
        {
            // `basin x3`
            let arg = child.args.remove(i);
            let meant = n.to_string();
            d.say(
                Diagnostic::warning(
                    "loose-figure",
                    arg.span.clone(),
                    format!("`{}` was read as {n} of them", arg.typed),
                )
                .label(format!("write `{meant}`"))
                .edit(arg.span.clone(), meant),
            );
            count = Some(Given { value: f64::from(n), span: arg.span, mark: Mark::default() });
        }
        let count = match count {
            Some(n) => Given { value: n.value as u32, span: n.span, mark: n.mark },
            None => Given { value: 1, span: span.clone(), mark: Default::default() },
        };
        // `shower "en suite"`: where it is.
        if let Some(room) = d.name(&mut child)
            && fields.has("room")
        {
            let room = Given {
                value: crate::model::Datum::Text(room.value),
                span: room.span,
                mark: room.mark,
            };
            p.entry("room".to_owned()).or_insert(room);
        }
        d.finish(child, &[]);
        if count.value > 0 {
            let key =
                Given { value: kind.key.clone(), span: span.clone(), mark: Default::default() };
            all.push(OutletFacts { kind: key, count, properties: p, span });
        }
    }
    // `outlets bath, shower, 2 basins`
    let args = std::mem::take(&mut node.args);
    if !args.is_empty() {
        let span = args[0].span.start..args[args.len() - 1].span.end;
        in_one_breath(d, &args, span, true, all);
    }
    let p = std::mem::take(&mut node.properties);
    for p in p {
        // `outlets bath=1 shower=2`
        match outlet(&p.key) {
            Some(kind) => {
                let Some(n) = d.count(&kind.key, &p.value) else { continue };
                if n.value < 1.0 {
                    continue;
                }
                all.push(OutletFacts {
                    kind: Given {
                        value: kind.key.clone(),
                        span: p.key_span.clone(),
                        mark: Default::default(),
                    },
                    count: Given { value: n.value as u32, span: n.span, mark: n.mark },
                    properties: Properties::new(),
                    span: p.key_span,
                });
            }
            None => d.unknown(
                "unknown-property",
                "no such outlet",
                &p.key,
                &p.key_span,
                outlet_kinds.iter().copied(),
            ),
        }
    }
    d.finish(node, &outlet_kinds);
}

fn is_refused(word: &str) -> bool {
    hints::REFUSED.iter().any(|(other, ..)| *other == word)
}

fn is_comma(value: &Value) -> bool {
    value.typed == ","
}

fn one_of(kind: Kind, count: u32, span: &Span) -> OutletFacts {
    let given = |value: String| Given { value, span: span.clone(), mark: Mark::default() };
    OutletFacts {
        kind: given(kind.key.clone()),
        count: Given { value: count, span: span.clone(), mark: Mark::default() },
        properties: Properties::new(),
        span: span.clone(),
    }
}

/// `x3`, `2x`, `×2`: a count, no name.
fn is_times(value: &Value) -> bool {
    let sign = |c: char| matches!(c, 'x' | 'X' | '×');
    let text = value.typed.trim_matches('"');
    (text.starts_with(sign) || text.ends_with(sign)) && count_of(value).is_some()
}

/// Whether every word of a line is an outlet or counts one.
pub fn is_list(tokens: &[Value]) -> bool {
    entries(tokens) > 0
}

/// Whether a line has outlets in it, whatever else.
pub fn any(tokens: &[Value]) -> bool {
    let mut all = Vec::new();
    in_one_breath(&mut Decoder::default(), tokens, 0..0, true, &mut all);
    !all.is_empty()
}

/// How many entries a list of outlets has; none where a word of it is no outlet.
pub fn entries(tokens: &[Value]) -> usize {
    let mut scratch = Decoder::default();
    let mut all = Vec::new();
    in_one_breath(&mut scratch, tokens, 0..0, true, &mut all);
    let wrong = scratch.said.iter().any(|d| d.severity == Severity::Error && d.code != ROOM);
    if wrong { 0 } else { all.len() }
}

/// `outside tap`: words that make one outlet though the first of them means something else.
pub fn is_compound(tokens: &[Value]) -> bool {
    longest(tokens).is_some_and(|(n, kind, _)| n > 1 && kind.is_some())
}

/// What is said of a room in a list of outlets.
const ROOM: &str = "room-of-outlets";
const ROOMS: [&str; 9] = [
    "ensuite",
    "ensuites",
    "en-suite",
    "en-suites",
    "bathroom",
    "bathrooms",
    "cloakroom",
    "shower-room",
    "utility",
];

/// How many words of a list name a room and nothing in it.
fn room_alone(tokens: &[Value]) -> usize {
    let parts = |t: &Value| is_comma(t) || bare(t).is_some_and(|w| JOINING.contains(&w.as_str()));
    let named = |n: &usize| {
        let words: Option<Vec<String>> = tokens.get(..*n).into_iter().flatten().map(bare).collect();
        let ends = tokens.get(*n).is_none_or(|t| parts(t) || count_of(t).is_some());
        ends && words.is_some_and(|w| ROOMS.contains(&w.join("-").as_str()))
    };
    [2, 1].into_iter().filter(|n| *n <= tokens.len()).find(named).unwrap_or(0)
}

/// `2 en suites`: rooms, and nothing that is in them.
pub fn is_room(tokens: &[Value]) -> bool {
    let rest = &tokens[tokens.first().and_then(count_of).map_or(0, |_| 1)..];
    !rest.is_empty() && room_alone(rest) == rest.len()
}

fn say_room(d: &mut Decoder, tokens: &[Value]) {
    let span = tokens[0].span.start..tokens[tokens.len() - 1].span.end;
    let words: Vec<&str> = tokens.iter().map(|t| t.typed.trim_matches('"')).collect();
    let name = words.join(" ");
    d.say(
        Diagnostic::error(ROOM, span, format!("`{name}` is a room: what is in it is not said"))
            .label("which outlets?")
            .help(format!(
                "name them, such as `shower \"{name}\"; basin \"{name}\"; wc \"{name}\"`"
            )),
    );
}

/// `2 sinks` and no basin in the house: one of them may be a basin.
pub fn no_basin(d: &mut Decoder, all: &[OutletFacts]) {
    let of = |key: &'static str| all.iter().filter(move |o| o.kind.value == key);
    let sinks: u32 = of("kitchen sink").map(|o| o.count.value).sum();
    let Some(first) = of("kitchen sink").next().filter(|_| sinks > 1) else { return };
    if of("basin").next().is_none() {
        d.say(
            Diagnostic::warning(
                "likely-slip",
                first.span.clone(),
                format!("{sinks} kitchen sinks and no basin"),
            )
            .label("is one of them a basin?")
            .help("if so, write `basin` for it"),
        );
    }
}

/// Words between outlets that say nothing of them.
const JOINING: [&str; 10] = ["and", "&", "+", "x", "1x", "plus", "over", "with", "a", "the"];
/// Words before an outlet that say where it is.
const WORDS_OF_A_ROOM: usize = 2;

/// A list without braces, or with commas inside them; said once, with the list as it is written.
fn in_one_breath(
    d: &mut Decoder,
    tokens: &[Value],
    span: Span,
    braces: bool,
    all: &mut Vec<OutletFacts>,
) {
    let mut read: Vec<String> = Vec::new();
    let mut unknown: Vec<&Value> = Vec::new();
    let plain = !tokens.iter().any(|t| is_comma(t) || matches!(t.scalar, Scalar::Number(_)));
    let mut joined = false;
    // `bath 1 shower 2 basins 3`: where the list ends with a number, numbers follow their word.
    let follow = tokens.last().is_some_and(|t| count_of(t).is_some());
    // `basin2`
    let tokens = &tokens.iter().flat_map(counted_word).collect::<Vec<Value>>()[..];
    let mut rest = tokens;
    while let Some(first) = rest.first() {
        let joins = bare(first).is_some_and(|w| JOINING.contains(&w.as_str()));
        if is_comma(first) || joins {
            rest = &rest[1..];
            continue;
        }
        let (before, words) = match count_of(first) {
            Some(n) => (Some(n), &rest[1..]),
            None => (None, rest),
        };
        let words = match words.first() {
            Some(x) if before.is_some() && bare(x).is_some_and(|w| w == "x") => &words[1..],
            _ => words,
        };
        let alone = room_alone(words);
        if alone > 0 {
            say_room(d, &words[..alone]);
            rest = &words[alone..];
            continue;
        }
        // `en suite shower`: where it is, before what it is.
        let room = (0..=WORDS_OF_A_ROOM.min(words.len()))
            .take_while(|n| words[..*n].iter().all(|t| bare(t).is_some() && !is_comma(t)))
            .find(|n| longest(&words[*n..]).is_some());
        let near = |t: &Value| {
            let word = bare(t)?;
            let near = as_meant(&word, outlet_words())?;
            Some((1, outlet(near), near.to_owned()))
        };
        let found = match room {
            Some(n) => longest(&words[n..]),
            None => words.first().and_then(near).inspect(|_| joined = true),
        };
        let Some((n, kind, name)) = found else {
            unknown.push(first);
            rest = &rest[1..];
            continue;
        };
        let (room, words) = words.split_at(room.unwrap_or(0));
        joined |= n > 1;
        let at = words[0].span.start..words[n - 1].span.end;
        rest = &words[n..];
        let mut count = before;
        // `loo x 2`
        let times = rest.first().and_then(bare).is_some_and(|w| w == "x" || w == "×");
        let times = usize::from(times && rest.get(1).is_some_and(|t| count_of(t).is_some()));
        if before.is_none()
            && let Some(after) = rest.get(times).and_then(count_of)
            && (follow || times > 0 || is_times(&rest[0]) || belongs_before(&rest[1..]))
        {
            count = Some(after);
            rest = &rest[times + 1..];
        }
        let Some(kind) = kind else {
            d.refused(&name, &at);
            continue;
        };
        let count = count.unwrap_or(1).min(1000);
        let word = kind.key.to_lowercase().replace(' ', "-");
        let text: Vec<&str> = room.iter().map(|t| t.typed.as_str()).collect();
        let room_said = match text.is_empty() || !kind.attrs.contains_key("room") {
            true => String::new(),
            false => format!(" \"{}\"", text.join(" ")),
        };
        joined |= !text.is_empty();
        let count_said = if count == 1 { String::new() } else { format!(" {count}") };
        read.push(format!("{word}{count_said}{room_said}"));
        if count > 0 {
            let mut outlet = one_of(kind, count, &at);
            if let (Some(first), true) = (room.first(), kind.attrs.contains_key("room")) {
                let text: Vec<&str> = room.iter().map(|t| t.typed.as_str()).collect();
                let given = Given {
                    value: Datum::Text(text.join(" ")),
                    span: first.span.clone(),
                    mark: Mark::default(),
                };
                outlet.properties.insert("room".to_owned(), given);
            }
            all.push(outlet);
        }
    }
    for value in &unknown {
        let word = value.typed.trim_matches('"');
        d.unknown("unknown-word", "no such outlet", word, &value.span, outlet_words());
    }
    if (plain && !joined) || !unknown.is_empty() || read.is_empty() {
        return;
    }
    let list = read.join("; ");
    let (meant, label) = match braces {
        true => (format!("{{ {list} }}"), "outlets stand in braces, parted by `;`"),
        false => (list, "outlets are parted by `;`"),
    };
    let said = format!("this list was read as `outlets {{ {} }}`", read.join("; "));
    d.say(Diagnostic::warning("no-braces", span.clone(), said).label(label).edit(span, meant));
}

/// `basin2` is `basin` and `2`.
fn counted_word(value: &Value) -> Vec<Value> {
    let apart = bare(value).and_then(|word| {
        let letters = word.trim_end_matches(|c: char| c.is_ascii_digit());
        let number: f64 = word[letters.len()..].parse().ok()?;
        outlet(letters).map(|_| (letters.to_owned(), number))
    });
    match apart {
        Some((word, number)) => vec![
            Value { scalar: Scalar::Text(word.clone()), typed: word, ..value.clone() },
            Value { scalar: Scalar::Number(number), typed: number.to_string(), ..value.clone() },
        ],
        None => vec![value.clone()],
    }
}

/// `2`, `two`, `2x`, `x2`.
fn count_of(value: &Value) -> Option<u32> {
    match &value.scalar {
        Scalar::Number(n) if *n >= 0.0 && n.fract() == 0.0 && *n <= 1000.0 => Some(*n as u32),
        Scalar::Text(t) => {
            let plain = t.trim_start_matches(['x', 'X', '×']).trim_end_matches(['x', 'X', '×']);
            let words = in_words(t).map(|n| n as u32);
            plain.parse().ok().filter(|n| *n <= 1000).or(words)
        }
        _ => None,
    }
}

/// Whether a number between two outlets counts the one before it: `basin 2, bath`, `basin 2 bath`
/// but `bath 2 basins`.
fn belongs_before(after: &[Value]) -> bool {
    let Some(next) = after.first() else { return true };
    let text = match &next.scalar {
        Scalar::Text(t) => t.to_lowercase(),
        _ => return true,
    };
    is_comma(next) || !(text.ends_with('s') && outlet(&text).is_some())
}

/// The longest run of words that makes an outlet, or one that is refused.
fn longest(tokens: &[Value]) -> Option<(usize, Option<Kind>, String)> {
    const MOST: usize = 3;
    for n in (1..=MOST.min(tokens.len())).rev() {
        let words: Option<Vec<String>> = tokens[..n]
            .iter()
            .map(|t| match &t.scalar {
                Scalar::Text(w) if !is_comma(t) => Some(w.to_lowercase().replace('_', "-")),
                _ => None,
            })
            .collect();
        let Some(words) = words else { continue };
        for word in [words.join("-"), words.join("")] {
            if is_refused(&word) {
                return Some((n, None, word));
            }
            if let Some(kind) = outlet(&word) {
                return Some((n, Some(kind), word));
            }
        }
    }
    None
}

/// The outlet that a word means: one, several, or another word for it.
fn outlet(word: &str) -> Option<Kind> {
    let ends = [word, word.strip_suffix('s').unwrap_or(""), word.strip_suffix("es").unwrap_or("")];
    ends.into_iter().find_map(|w| {
        let other =
            hints::OUTLETS.iter().find(|(other, _)| *other == w).map_or(w, |(_, real)| real);
        kind_called(other).filter(|k| is_outlet(*k))
    })
}

/// Outlets are the kinds that say how many there are.
pub fn is_outlet(kind: Kind) -> bool {
    kind.attrs.contains_key("count")
}

fn outlet_words() -> impl Iterator<Item = &'static str> {
    kind_words().filter(|w| Kind::called(w).is_some_and(is_outlet))
}
