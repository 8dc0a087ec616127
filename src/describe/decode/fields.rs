//! Which properties a node may carry, and the unit of each.

use crate::catalogue::{Kind, KindRow};

/// What a property holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Holds {
    /// A figure in this unit.
    Measure(&'static str),
    /// A whole number, zero or more.
    Count,
    /// A figure without a unit.
    Number,
    /// `#true` or `#false`.
    Flag,
    Text,
    /// Figure, word or yes/no, as the catalogue leaves open.
    Any,
    /// A surface of the cupboard.
    Side,
    /// The designation of a tube.
    Tube,
}

pub const MM: Holds = Holds::Measure("mm");
pub const METRES: Holds = Holds::Measure("m");
pub const KW: Holds = Holds::Measure("kW");
pub const LITRES_A_MINUTE: Holds = Holds::Measure("l/min");
pub const SQUARE_METRES: Holds = Holds::Measure("m2");
pub const DEGREES: Holds = Holds::Measure("°");

#[derive(Clone, Copy, Debug)]
pub struct Field {
    pub key: &'static str,
    pub holds: Holds,
}

/// The properties that one node may carry.
#[derive(Clone, Debug, Default)]
pub struct Fields(pub Vec<Field>);

/// Other ways of writing a property's name.
const ALIASES: &[(&str, &str)] = &[
    ("capacity", "litres"),
    ("volume", "litres"),
    ("liters", "litres"),
    ("litre", "litres"),
    ("output", "kw"),
    ("power", "kw"),
    ("dia", "diameter"),
    ("ø", "diameter"),
    ("tall", "height"),
    ("high", "height"),
    ("long", "length"),
    ("wide", "width"),
    ("deep", "depth"),
    ("bends", "elbows"),
    ("insulation", "lagging"),
    ("wall", "side"),
    ("set", "setting"),
    ("flow-temperature", "flow"),
    ("return-temperature", "return"),
    ("pipe", "size"),
    ("circuit", "circuits"),
    ("loops", "circuits"),
    ("rads", "radiators"),
    ("type", "heated"),
    ("type", "kind"),
    ("type", "emitters"),
    ("coil", "coil-kw"),
    ("flow", "at"),
    ("location", "place"),
    ("where", "place"),
    ("rating", "kw"),
    ("cap", "litres"),
    ("l", "litres"),
    ("bed", "bedrooms"),
    ("beds", "bedrooms"),
    ("stat", "thermostat"),
    ("into", "to"),
    ("ends", "to"),
    ("terminates", "to"),
    ("len", "length"),
    ("metres", "length"),
    ("standing", "static"),
    ("working", "dynamic"),
    ("running", "dynamic"),
    ("opened", "dynamic"),
    ("pressure", "static"),
    ("bedroom", "bedrooms"),
    ("bathroom", "bathrooms"),
    ("ports", "circuits"),
    ("ceiling", "height"),
];

impl Fields {
    pub fn new(fields: &[(&'static str, Holds)]) -> Fields {
        Fields::default().and(fields)
    }

    pub fn and(mut self, fields: &[(&'static str, Holds)]) -> Fields {
        for (key, holds) in fields {
            self.add(key, *holds);
        }
        self
    }

    /// What the catalogue lets this kind carry.
    pub fn kind(mut self, kind: Kind) -> Fields {
        let row: &'static KindRow = kind.row();
        for (key, unit) in &row.attrs {
            self.add(key, holds(key, unit));
        }
        self
    }

    /// Where a part stands.
    pub fn place(self) -> Fields {
        let elsewhere = if self.has("place") { "elsewhere" } else { "place" };
        self.and(&[
            ("elsewhere", Holds::Text),
            (elsewhere, Holds::Text),
            ("x", MM),
            ("y", MM),
            ("z", MM),
            ("side", Holds::Side),
            ("turn", DEGREES),
            ("mirrored", Holds::Flag),
        ])
    }

    fn add(&mut self, key: &'static str, holds: Holds) {
        if !self.has(key) {
            self.0.push(Field { key, holds });
        }
    }

    pub fn has(&self, key: &str) -> bool {
        self.0.iter().any(|f| f.key == key)
    }

    /// The field of that name, or of the name it is another word for.
    pub fn find(&self, key: &str) -> Option<Field> {
        let exact = |key: &str| self.0.iter().find(|f| f.key == key).copied();
        exact(key).or_else(|| {
            ALIASES.iter().filter(|(alias, _)| *alias == key).find_map(|(_, real)| exact(real))
        })
    }

    /// True where a key as typed means that field.
    pub fn is(&self, typed: &str, key: &str) -> bool {
        self.find(typed).is_some_and(|f| f.key == key)
    }

    pub fn keys(&self) -> impl Iterator<Item = &'static str> {
        self.0.iter().map(|f| f.key)
    }
}

/// What an attribute of the catalogue holds.
pub fn holds(key: &str, unit: &'static str) -> Holds {
    match (key, unit) {
        ("size", _) => Holds::Tube,
        ("radiators" | "circuits" | "elbows" | "count" | "channels" | "zones" | "terminals", _) => {
            Holds::Count
        }
        ("horizontal" | "mirrored", _) => Holds::Flag,
        ("make" | "serial" | "room" | "label" | "expansion" | "material", _) => Holds::Text,
        (_, "") => Holds::Any,
        (_, unit) => Holds::Measure(unit),
    }
}
