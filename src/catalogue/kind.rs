//! Kinds of parts. In: `kinds.toml`. Out: [`Kind`], a cheap reference to a row.

use std::collections::BTreeMap;
use std::ops::Deref;
use std::sync::LazyLock;

use serde::{Deserialize, Serialize};

use crate::model::Side;

/// A kind of part: a reference to its row. Equal where the rows are the same.
#[derive(Clone, Copy)]
pub struct Kind(&'static KindRow);

/// One row of `kinds.toml`.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct KindRow {
    /// The trade's name, as a description writes it: "lever valve".
    pub key: String,
    /// Letters of the tag: `LV` gives LV1, LV2, …
    pub tag: String,
    /// What a householder would call it.
    pub words: String,
    /// Other trade words that mean it.
    #[serde(default)]
    pub aka: Vec<String>,
    pub symbol: Symbol,
    /// How the symbol may be turned on a schematic.
    #[serde(default)]
    pub turns: Turns,
    /// Real body, mm: width, depth, height. Cylinders and vessels override it by their attributes.
    pub body: [f64; 3],
    pub mount: Mount,
    #[serde(default)]
    pub ports: Vec<PortSpec>,
    /// Sets of ports that share water inside the part. Empty: all ports share it.
    #[serde(default)]
    pub inside: Vec<Vec<String>>,
    /// What can stop the water.
    #[serde(default)]
    pub closes: Closes,
    /// Loss of pressure fully open: Kv in m3/h.
    pub kv: Option<f64>,
    /// Loss of pressure as a factor on the velocity head of the pipe.
    pub zeta: Option<f64>,
    /// Attributes a part of this kind may carry, with their units ("" for words and yes/no).
    #[serde(default)]
    pub attrs: BTreeMap<String, String>,
    /// Facts a maker may declare of it.
    #[serde(default)]
    pub may_declare: Vec<String>,
    /// Free space in front of the body for a hand and a tool, mm; 0 = none needed.
    #[serde(default)]
    pub access: f64,
    /// Filled mass where it matters for fixing, kg; 0 = carried by its pipe.
    #[serde(default)]
    pub mass: f64,
    /// Gives heat to the store or the circuit.
    #[serde(default)]
    pub heats: bool,
    /// Has live parts in it: a motor, a switch, an element, a joint of wires.
    #[serde(default)]
    pub electric: bool,
    /// "standard", "common practice", "from memory": where body and loss come from.
    #[serde(default)]
    pub mark: String,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Symbol {
    /// Which drawing in `draw::symbols`.
    pub name: String,
    /// Box on paper, mm, untransformed.
    pub w: f64,
    pub h: f64,
}

/// Transforms a symbol allows.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Turns {
    /// Stays as drawn.
    #[default]
    Fixed,
    /// Left-right mirror only.
    Mirror,
    /// Any quarter turn and mirror: fittings in a line, tees.
    Free,
}

/// How a part is held in the cupboard.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Mount {
    /// Carried by the pipe it sits in.
    Line,
    /// Screwed to a wall or on a bracket.
    Wall,
    Floor,
    /// Fitted to another part's body (`Part::on`).
    On,
    /// Never in the cupboard of its own accord (a boiler, a bath) unless placed there.
    Elsewhere,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Closes {
    #[default]
    Never,
    /// A lever, a screw, a wheel: somebody can shut it.
    ByHand,
    /// Spring-return motor, shut without power.
    ByMotor,
    /// A motor that sends the water one way or the other.
    Diverts,
    /// Passes one way only, in → out.
    Check,
    /// Shut until pressure or temperature lifts it, or a differential opens it.
    Lifts,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Flow {
    In,
    Out,
    #[default]
    Either,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct PortSpec {
    pub name: String,
    /// N, E, S or W of the symbol's box.
    pub side: char,
    /// From the box's top (E, W) or left (N, S), mm on paper.
    pub off: f64,
    #[serde(default)]
    pub flow: Flow,
    /// Service the port is for, by [`crate::model::Service::key`]; empty = any.
    #[serde(default)]
    pub service: String,
    /// Thread or tube size the maker gives it: "22", "G3/4"; empty = the pipe's.
    #[serde(default)]
    pub size: String,
    pub real: Option<RealPort>,
    /// A port that may stay unused (capped) without a finding.
    #[serde(default)]
    pub optional: bool,
}

/// Where a port is on the real body.
#[derive(Clone, Copy, Debug, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case", untagged)]
pub enum RealPort {
    /// On the side of a round body: height as a share of the body's, clock angle in degrees
    /// (0 faces the door, clockwise from above).
    Round { height: f64, angle: f64 },
    /// On the top of a round body: share of the radius from the axis, clock angle.
    Top { radius: f64, angle: f64 },
    /// On a box, mm from its least corner, and the way the pipe leaves.
    Box { x: f64, y: f64, z: f64, out: Side },
}

impl Kind {
    /// The kind of that exact key.
    pub fn of(key: &str) -> Option<Kind> {
        kinds().iter().find(|k| k.key == key).map(Kind)
    }

    /// The kind of that key or other trade word.
    pub fn called(word: &str) -> Option<Kind> {
        Kind::of(word)
            .or_else(|| kinds().iter().find(|k| k.aka.iter().any(|a| a == word)).map(Kind))
    }

    /// The kind of a key that the program itself names.
    ///
    /// # Panics
    /// Where the catalogue lacks the key: a fault of the program, caught by a test.
    pub fn known(key: &str) -> Kind {
        Kind::of(key).unwrap_or_else(|| panic!("the catalogue lacks the kind {key:?}"))
    }

    /// The row itself, which lives as long as the program.
    pub fn row(self) -> &'static KindRow {
        self.0
    }

    pub fn port(&self, name: &str) -> Option<usize> {
        self.ports.iter().position(|p| p.name == name)
    }

    /// The ports that share water with this one inside the part, itself left out.
    pub fn shares_water(&self, port: usize) -> Vec<usize> {
        let name = &self.ports[port].name;
        let others = |i: &usize| *i != port;
        match self.inside.iter().find(|set| set.contains(name)) {
            Some(set) => set.iter().filter_map(|n| self.port(n)).filter(others).collect(),
            None if self.inside.is_empty() => (0..self.ports.len()).filter(others).collect(),
            None => Vec::new(),
        }
    }
}

impl Deref for Kind {
    type Target = KindRow;

    fn deref(&self) -> &KindRow {
        self.0
    }
}

impl PartialEq for Kind {
    fn eq(&self, other: &Kind) -> bool {
        self.0.key == other.0.key
    }
}

impl Eq for Kind {}

impl std::fmt::Debug for Kind {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "Kind({})", self.0.key)
    }
}

impl Serialize for Kind {
    fn serialize<S: serde::Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        s.serialize_str(&self.0.key)
    }
}

#[derive(Deserialize)]
struct Table {
    kind: Vec<KindRow>,
}

/// All kinds, in the order of the table.
///
/// # Panics
/// Where the embedded table does not parse: a fault of the program, caught by a test.
pub fn kinds() -> &'static [KindRow] {
    static KINDS: LazyLock<Vec<KindRow>> = LazyLock::new(|| {
        let table: Table = toml::from_str(include_str!("kinds.toml"))
            .unwrap_or_else(|e| panic!("kinds.toml: {e}"));
        table.kind
    });
    &KINDS
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;
    use crate::model::Service;

    #[test]
    fn every_row_is_whole_and_every_word_means_one_kind() {
        let mut words = BTreeSet::new();
        for k in kinds() {
            for word in std::iter::once(&k.key).chain(&k.aka) {
                assert!(words.insert(word.clone()), "{word} means two kinds");
            }
            for p in &k.ports {
                let along = match p.side {
                    'N' | 'S' => k.symbol.w,
                    'E' | 'W' => k.symbol.h,
                    other => panic!("{}: side {other}", k.key),
                };
                assert!((0.0..=along).contains(&p.off), "{}.{}: off", k.key, p.name);
                assert!(
                    p.service.is_empty() || Service::from_key(&p.service).is_some(),
                    "{}.{}: service {}",
                    k.key,
                    p.name,
                    p.service
                );
            }
            for name in k.inside.iter().flatten() {
                assert!(k.ports.iter().any(|p| p.name == *name), "{}: inside {name}", k.key);
            }
            assert!(k.body.iter().all(|s| *s > 0.0), "{}: body", k.key);
        }
    }
}
