//! Words as people type them. In: a node as typed. Out: the same node in this language's words,
//! with a remark on what was read otherwise; or the hint for what can't be read. All of it is
//! tables: a word more is a row more. The words are the trade's own, no source.

use super::reader::Decoder;
use crate::describe::quantity;
use crate::describe::tree::{Node, Property, Scalar, Value};
use crate::diagnostic::Diagnostic;
use crate::model::Span;

/// Other words for outlets.
pub const OUTLETS: &[(&str, &str)] = &[
    ("tub", "bath"),
    ("bathtub", "bath"),
    ("hand-basin", "basin"),
    ("wash-basin", "basin"),
    ("wash-hand-basin", "basin"),
    ("cloakroom-basin", "basin"),
    ("vanity-basin", "basin"),
    ("sink-unit", "kitchen-sink"),
    ("utility-sink", "kitchen-sink"),
    ("loo", "wc"),
    ("lavatory", "wc"),
    ("mixer-shower", "shower"),
    ("wet-room", "shower"),
    ("bib-tap", "outside-tap"),
    ("bib-cock", "outside-tap"),
    ("washer", "washing-machine"),
    ("w/m", "washing-machine"),
    ("washing-m/c", "washing-machine"),
    ("d/w", "dishwasher"),
    ("w/c", "wc"),
    ("whb", "basin"),
    ("k-sink", "kitchen-sink"),
    ("k/sink", "kitchen-sink"),
    ("ks", "kitchen-sink"),
    ("belfast-sink", "kitchen-sink"),
    ("shwr", "shower"),
    ("wm", "washing-machine"),
    ("dw", "dishwasher"),
    ("kit-sink", "kitchen-sink"),
];

/// What can't be read, and what to write: the word, what to say, the word to put in its place
/// where one will do.
pub const REFUSED: &[(&str, &str, &str)] = &[
    (
        "prv",
        "PRV means two things: write `reducing-valve setting=3` for the pressure reducing valve, \
         `expansion-relief setting=6` for the pressure relief valve",
        "",
    ),
    (
        "power-shower",
        "a power shower has a pump of its own, which must not draw from the main: on a \
         mains-pressure cylinder write `shower`",
        "shower",
    ),
    ("pumped-shower", "a pump must not draw from the main: write `shower`", "shower"),
    ("shower-pump", "a pump must not draw from the main: leave it out", ""),
    (
        "electric-shower",
        "an electric shower heats its own cold water, no outlet of the cylinder: leave it out, or \
         count it among `cold-outlets`",
        "cold-outlets",
    ),
    (
        "place",
        "things are placed on their own line: `vessel \"heating\" x=600 z=1900 side=\"back\"`, \
         x from the left wall, y from the back wall, z from the floor; `place=\"loft\"` for what \
         stands elsewhere; the tundish by `tundish-x`, `tundish-y`, `tundish-z` of `discharge`",
        "",
    ),
    ("radiator", "radiators belong to a zone: `zone \"upstairs\" kw=6 radiators=5`", ""),
    ("radiators", "radiators belong to a zone: `zone \"upstairs\" kw=6 radiators=5`", ""),
    ("rads", "radiators belong to a zone: `zone \"upstairs\" kw=6 radiators=5`", ""),
    ("ufh", "underfloor heating is a zone: `zone \"ground floor\" kw=5 underfloor=6`", ""),
    ("underfloor", "underfloor heating is a zone: `zone \"ground floor\" kw=5 underfloor=6`", ""),
    ("trv", "radiator valves are taken as fitted: leave the line out", ""),
    ("trvs", "radiator valves are taken as fitted: leave the line out", ""),
    (
        "thermostat",
        "a room thermostat is its zone's: `zone \"upstairs\" thermostat=\"landing\"`",
        "",
    ),
    (
        "hard-water",
        "how hard the water is belongs to the house: `dwelling hardness=300`, in ppm",
        "",
    ),
    ("pipe", "pipes follow from the parts; to insist on one, write `run`", ""),
    ("immersion-only", "write `cylinder litres=210 heated=\"electric\"`", ""),
];

/// Keys that a node does not carry, and what to write: the node or `*`, the key, the words.
const KEYS: &[(&str, &str, &str)] = &[
    ("cylinder", "size", "say `litres=210`, or `diameter=` and `height=`"),
    ("cylinder", "cupboard", "a description holds one cupboard: everything stands in it"),
    ("cylinder", "flow", "the flow and return temperature belong to the `boiler`"),
    ("cylinder", "boiler", "the boiler has a line of its own: `boiler kw=24`"),
    ("cylinder", "temperature", "say `stored=60`"),
    ("cylinder", "temp", "say `stored=60`"),
    ("cylinder", "pressure", "say `working-pressure=7`; the main's pressure belongs to `main`"),
    ("main", "pressure", "say `static=` (no tap open) and `dynamic=` (at a flow, `at=`)"),
    ("boiler", "temperature", "say `flow=70 return=50`"),
    ("boiler", "pressure", "the heating vessel's charge: `vessel \"heating\" charge=1`"),
    ("zone", "temperature", "say `flow=` and `return=`"),
    ("zone", "temp", "say `flow=` and `return=`"),
    ("discharge", "height", "say `exit-z=` for the height at which it leaves the room"),
    ("*", "cupboard", "a description holds one cupboard: everything stands in it"),
    ("*", "make", "leave the maker out: put it on the label or into a `note`"),
    ("*", "place", "say `x=`, `y=`, `z=` and `side=`"),
];

/// Why a line may stand once only, by its word.
const ONCE: &[(&str, &str)] = &[
    (
        "cupboard",
        "a description holds one cupboard: write a file for each; flats that are alike stand in \
         one `building { flat { … } }`",
    ),
    ("main", "a description has one supply: put its figures into one line"),
    ("job", "put both into one block: `job \"name\" { note \"…\" }`"),
];

/// Lines that bear no name, and where it goes.
const NAMELESS: &[(&str, &str)] = &[
    ("cupboard", "a cupboard bears no name: put it into the job's, or leave it out"),
    ("discharge", "a discharge bears no name: `to=` says where it ends, `wall=` where it leaves"),
    ("main", "the main bears no name: leave it out"),
];

/// What is to be said of a word in the place of a name where there is none.
pub fn nameless(word: &str) -> Option<&'static str> {
    NAMELESS.iter().find(|(w, _)| *w == word).map(|(_, says)| *says)
}

/// What `once` says of a second line of that word.
pub fn once(word: &str) -> &'static str {
    let row = ONCE.iter().find(|(w, _)| *w == word);
    row.map_or("put both into one line or block", |(_, says)| says)
}

/// What to write instead of a key that a node does not carry.
pub fn key(about: &str, key: &str) -> Option<&'static str> {
    let row = |wanted: &str| KEYS.iter().find(|(w, k, _)| *w == wanted && *k == key);
    row(about).or_else(|| row("*")).map(|(_, _, says)| *says)
}

/// A word typed without quotes, as nodes are named.
pub fn bare(value: &Value) -> Option<String> {
    match &value.scalar {
        Scalar::Text(t) if !value.typed.starts_with(['"', '#']) && value.note.is_none() => {
            Some(t.to_lowercase().replace('_', "-"))
        }
        _ => None,
    }
}

impl Decoder {
    /// `kitchen sink`: words typed apart that make one known word.
    pub(super) fn joined(&mut self, node: &mut Node, known: &dyn Fn(&str) -> bool) {
        node.args.retain(|a| a.typed.trim() != "-");
        if known(&node.name) {
            return;
        }
        const MOST: usize = 3;
        for n in (1..=MOST.min(node.args.len())).rev() {
            let words: Option<Vec<String>> = node.args[..n].iter().map(bare).collect();
            let Some(words) = words else { continue };
            let apart = format!("{} {}", node.name, words.join(" "));
            let ways = [apart.replace(' ', "-"), apart.replace(' ', "")];
            let Some(word) = ways.into_iter().find(|w| known(w)) else { continue };
            let span = node.name_span.start..node.args[n - 1].span.end;
            node.args.drain(..n);
            node.name = word.clone();
            node.name_span = span.clone();
            if !REFUSED.iter().any(|(w, ..)| *w == word) {
                let said = format!("`{apart}` was read as one word");
                self.say(
                    Diagnostic::warning("two-words", span.clone(), said)
                        .label(format!("write `{word}`"))
                        .edit(span, word),
                );
            }
            return;
        }
    }

    /// Says why a known word can't be read; false where the word is none of those.
    pub(super) fn refused(&mut self, word: &str, span: &Span) -> bool {
        let Some((_, says, instead)) = REFUSED.iter().find(|(w, ..)| *w == word) else {
            return false;
        };
        let said = format!("`{}` can't be taken as it stands", word.replace('-', " "));
        let mut d = Diagnostic::error("unknown-node", span.clone(), said)
            .label(if instead.is_empty() {
                "not known here".into()
            } else {
                format!("write `{instead}`")
            })
            .help(*says);
        if !instead.is_empty() {
            d = d.edit(span.clone(), *instead);
        }
        self.say(d);
        true
    }

    /// `coil kw=20` that stands behind its line instead of in braces.
    pub(super) fn unbraced(&mut self, node: &mut Node, inner: &[&str]) {
        let place = |a: &Value| bare(a).is_some_and(|w| inner.contains(&w.as_str()));
        // `twin coil` is a kind of cylinder.
        let kind = |at: usize| {
            at > 0
                && bare(&node.args[at - 1])
                    .is_some_and(|w| ["twin", "single", "dual", "double"].contains(&w.as_str()))
        };
        if (0..node.args.len()).any(kind) {
            return;
        }
        while let Some(at) = node.args.iter().rposition(place) {
            // `20kW coil`: the figure stands before its word.
            let before = (at > 0 && at + 1 == node.args.len())
                .then(|| super::loose::figure(&node.args[at - 1], None))
                .flatten();
            let word = node.args.remove(at);
            let from = word.span.start;
            let mut args = node.args.split_off(at);
            args.retain(|a| a.typed != ",");
            let counted = before.is_some();
            if let Some(value) = before {
                node.args.pop();
                args.push(value);
            }
            let (properties, kept): (Vec<Property>, Vec<Property>) =
                std::mem::take(&mut node.properties)
                    .into_iter()
                    .partition(|p: &Property| p.key_span.start > from);
            node.properties = kept;
            let name = bare(&word).unwrap_or_default();
            let d = Diagnostic::warning(
                "no-braces",
                word.span.clone(),
                format!("`{name}` was read as standing inside `{}`", node.name),
            )
            .label(format!("write `{{ {name} … }}`"))
            .help("what belongs to a line stands behind it in braces");
            // In the right order the figure is read without a word.
            self.say(match args.first().filter(|_| counted) {
                Some(figure) => {
                    let text = figure.typed.trim_matches('"');
                    let number = quantity::read(text, "kW").unwrap_or_default();
                    let span = figure.span.start..word.span.end;
                    d.edit(span, format!("{{ {name} kw={number} }}"))
                }
                None => d,
            });
            let properties = match counted {
                true => args
                    .drain(..)
                    .map(|value| Property {
                        key: "kw".to_owned(),
                        key_span: value.span.clone(),
                        value,
                    })
                    .chain(properties)
                    .collect(),
                false => properties,
            };
            let name_span = word.span;
            node.children.push(Node {
                typed: name.clone(),
                name,
                name_span,
                args,
                properties,
                children: Vec::new(),
                joins: Vec::new(),
            });
        }
    }
}
