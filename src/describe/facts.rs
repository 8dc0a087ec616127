//! Facts: what the description says, decoded, units made the program's own, every value with its
//! place in the text. Nothing is filled in here: what is absent is `None`.

use std::collections::BTreeMap;

use crate::model::{Datum, Origin, Side, Span, Value};

/// A value as given in the text.
#[derive(Clone, Debug, PartialEq)]
pub struct Given<T> {
    pub value: T,
    pub span: Span,
    /// How the text marks it: `(measured)`, `(A3)`, `(derived)`; nothing = stated.
    pub mark: Mark,
}

/// The type annotation before a value.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum Mark {
    #[default]
    Stated,
    Measured,
    Assumed(String),
    /// How it was worked out, and from what: `size by velocity | flow | velocity limit`.
    Derived(String),
}

impl Mark {
    /// The origin that this mark gives a value standing at that place of the text.
    pub fn origin(&self, span: &Span) -> Origin {
        match self {
            Mark::Stated => Origin::Stated(span.clone()),
            Mark::Measured => Origin::Measured(span.clone()),
            Mark::Assumed(id) => Origin::Assumed(id.clone()),
            Mark::Derived(how) => {
                let mut words = how.split('|').map(|w| w.trim().to_owned());
                let method = words.next().unwrap_or_default();
                Origin::Derived { method, from: words.collect() }
            }
        }
    }
}

impl<T> Given<T> {
    /// The model's value with its provenance.
    pub fn into_value(self) -> Value<T> {
        Value { origin: self.mark.origin(&self.span), value: self.value }
    }
}

pub type Maybe<T> = Option<Given<T>>;

/// Properties that are kept by name: the attributes of a part, of a wall, of the floor. The
/// catalogue says which names a kind may carry; `describe` has checked them and their units.
pub type Properties = BTreeMap<String, Given<Datum>>;

#[derive(Clone, Debug, Default, PartialEq)]
pub struct Facts {
    pub job: JobFacts,
    pub rules: RulesFacts,
    pub cupboard: Option<CupboardFacts>,
    /// `floor-area`, `bedrooms`, `occupants`, `new-dwelling`, …
    pub dwelling: Properties,
    pub main: Option<MainFacts>,
    pub cylinders: Vec<CylinderFacts>,
    pub sources: Vec<SourceFacts>,
    pub zones: Vec<ZoneFacts>,
    pub outlets: Vec<OutletFacts>,
    pub discharges: Vec<DischargeFacts>,
    pub secondary_return: Option<SecondaryFacts>,
    /// softener, booster, accumulator, break-tank, header, buffer, volumiser, solar, vessel,
    /// reducing-valve, expansion-relief, blending-valve, boost-diverter, frost, … : one fact line
    /// for one item of equipment.
    pub equipment: Vec<EquipmentFacts>,
    pub controls: Vec<EquipmentFacts>,
    /// Repeated dwellings.
    pub buildings: Vec<BuildingFacts>,
    pub parts: Vec<PartFacts>,
    pub units: Vec<UnitFacts>,
    pub runs: Vec<RunFacts>,
    /// `complete #false`: the file lists everything; nothing is to be added.
    pub as_listed: bool,
    /// Values that were given and could not be taken.
    pub refused: Vec<Refused>,
    /// Assumptions that an expanded file carries: id, what, value, unit, why.
    pub assumptions: Vec<AssumptionFacts>,
}

/// A value that was given and thrown away: what is assumed in its place must say so.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Refused {
    /// The node's word and the property.
    pub about: String,
    pub key: String,
    pub typed: String,
    /// It stood on the line without a name: the property is one that it could have been.
    pub loose: bool,
}

#[derive(Clone, Debug, Default, PartialEq)]
pub struct JobFacts {
    pub name: Maybe<String>,
    pub number: Maybe<String>,
    pub status: Maybe<String>,
    /// address, client, drawn, checked, approved, owner, installer, card, designer, route, phone…
    pub fields: BTreeMap<String, Given<String>>,
    pub revisions: Vec<RevisionFacts>,
    pub notes: Vec<Given<String>>,
}

#[derive(Clone, Debug, Default, PartialEq)]
pub struct RevisionFacts {
    pub index: String,
    pub date: String,
    pub note: String,
    pub by: String,
}

#[derive(Clone, Debug, Default, PartialEq)]
pub struct RulesFacts {
    pub jurisdiction: Maybe<String>,
    pub edition: Maybe<String>,
    /// limit id → value and reason.
    pub limits: Vec<(Given<String>, Given<f64>, String)>,
}

#[derive(Clone, Debug, Default, PartialEq)]
pub struct CupboardFacts {
    pub width: Maybe<f64>,
    pub depth: Maybe<f64>,
    pub height: Maybe<f64>,
    pub datum: Maybe<String>,
    pub door: Option<DoorFacts>,
    pub walls: Vec<WallFacts>,
    pub floor: Properties,
    pub obstacles: Vec<ObstacleFacts>,
    pub span: Span,
}

#[derive(Clone, Debug, Default, PartialEq)]
pub struct DoorFacts {
    pub clear_width: Maybe<f64>,
    pub clear_height: Maybe<f64>,
    pub from_left: Maybe<f64>,
    pub hinge: Maybe<Side>,
    pub inward: Maybe<bool>,
    pub span: Span,
}

#[derive(Clone, Debug, PartialEq)]
pub struct WallFacts {
    pub side: Given<Side>,
    pub outside: Maybe<bool>,
    pub properties: Properties,
}

#[derive(Clone, Debug, PartialEq)]
pub struct ObstacleFacts {
    pub name: Given<String>,
    /// x, y, z, width, depth, height in mm.
    pub numbers: [Given<f64>; 6],
    pub span: Span,
}

/// A tail: where a pipe comes through a surface.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct TailFacts {
    pub name: Maybe<String>,
    pub side: Maybe<Side>,
    pub x: Maybe<f64>,
    pub y: Maybe<f64>,
    pub z: Maybe<f64>,
    pub size: Maybe<String>,
    pub span: Span,
}

#[derive(Clone, Debug, Default, PartialEq)]
pub struct PlaceFacts {
    pub elsewhere: Maybe<String>,
    /// `place="cupboard"`: in the cupboard, also where its kind usually stands elsewhere. Neither
    /// said: the kind's usual place; in a file with `complete #false` the cupboard.
    pub in_cupboard: Maybe<bool>,
    pub x: Maybe<f64>,
    pub y: Maybe<f64>,
    pub z: Maybe<f64>,
    pub side: Maybe<Side>,
    pub turn: Maybe<f64>,
    pub mirrored: Maybe<bool>,
}

#[derive(Clone, Debug, Default, PartialEq)]
pub struct MainFacts {
    pub properties: Properties,
    pub tails: Vec<TailFacts>,
    pub span: Span,
}

/// What heats a store.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum HeatedBy {
    /// A coil fed by a boiler or a heat pump.
    Indirect,
    Electric,
    /// Two coils: solar below, boiler above.
    Solar,
    /// A thermal store or an open-vented store: outside what the rules cover.
    OutOfScope,
}

#[derive(Clone, Debug, Default, PartialEq)]
pub struct CylinderFacts {
    pub name: Maybe<String>,
    pub heated: Maybe<HeatedBy>,
    /// True: supplied with its group, pump and valves fitted at the works.
    pub factory_fitted: Maybe<bool>,
    /// "external" or "internal" (an air gap inside).
    pub expansion: Maybe<String>,
    /// litres, diameter, height, working-pressure, stored, coil-kw, coil-area, `port.X.height`, …
    pub properties: Properties,
    pub immersions: Vec<EquipmentFacts>,
    pub declared: Vec<Given<String>>,
    pub place: PlaceFacts,
    pub tails: Vec<TailFacts>,
    pub span: Span,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SourceKind {
    SystemBoiler,
    CombinationBoiler,
    RegularBoiler,
    HeatPump,
    Uncontrolled,
}

#[derive(Clone, Debug, PartialEq)]
pub struct SourceFacts {
    pub name: Maybe<String>,
    pub kind: Given<SourceKind>,
    /// kw, flow, return, min-flow, …
    pub properties: Properties,
    pub declared: Vec<Given<String>>,
    pub place: PlaceFacts,
    pub tails: Vec<TailFacts>,
    pub span: Span,
}

#[derive(Clone, Debug, Default, PartialEq)]
pub struct ZoneFacts {
    pub name: Maybe<String>,
    /// "radiators", "underfloor", "towel rails".
    pub emitters: Maybe<String>,
    /// kw, radiators, circuits, flow, return, area, room, length, elbows, pumped, …
    pub properties: Properties,
    pub declared: Vec<Given<String>>,
    pub tails: Vec<TailFacts>,
    pub span: Span,
}

#[derive(Clone, Debug, PartialEq)]
pub struct OutletFacts {
    /// Key of the kind: "shower", "bath".
    pub kind: Given<String>,
    pub count: Given<u32>,
    pub properties: Properties,
    pub span: Span,
}

#[derive(Clone, Debug, Default, PartialEq)]
pub struct DischargeFacts {
    pub wall: Maybe<Side>,
    /// Kind of the termination: "trapped gully", …
    pub to: Maybe<String>,
    /// length m, elbows, size, material, fall, first-drop mm, outlet in, d1-length mm, tundish-z…
    pub properties: Properties,
    pub declared: Vec<Given<String>>,
    pub tails: Vec<TailFacts>,
    pub span: Span,
}

#[derive(Clone, Debug, Default, PartialEq)]
pub struct SecondaryFacts {
    pub properties: Properties,
    /// One for each leg: name, length, size, return-size, lagging.
    pub legs: Vec<EquipmentFacts>,
    pub tails: Vec<TailFacts>,
    pub span: Span,
}

/// One item of equipment named by its trade word.
#[derive(Clone, Debug, PartialEq)]
pub struct EquipmentFacts {
    /// The node's word: "softener", "vessel", "immersion".
    pub word: Given<String>,
    /// Key of the catalogue's kind that the word means; empty where it takes more than the word
    /// to know ("vessel", "leg").
    pub kind: String,
    pub name: Maybe<String>,
    pub properties: Properties,
    pub declared: Vec<Given<String>>,
    pub place: PlaceFacts,
    pub tails: Vec<TailFacts>,
    pub span: Span,
}

/// Flats by rule: a type, repeated.
#[derive(Clone, Debug, PartialEq)]
pub struct BuildingFacts {
    pub name: Maybe<String>,
    /// floors, stacks, flats-a-floor, storey-height, …
    pub properties: Properties,
    /// The type every flat follows; its own cylinder, zones, outlets.
    pub flat: Box<Facts>,
    pub span: Span,
}

#[derive(Clone, Debug, PartialEq)]
pub struct PartFacts {
    /// Tag and name; an expanded file has both.
    pub tag: Maybe<String>,
    pub name: Given<String>,
    pub kind: Given<String>,
    pub unit: Maybe<String>,
    pub on: Maybe<String>,
    pub properties: Properties,
    pub declared: Vec<Given<String>>,
    pub place: PlaceFacts,
    pub span: Span,
}

#[derive(Clone, Debug, PartialEq)]
pub struct UnitFacts {
    pub tag: Maybe<String>,
    pub name: Given<String>,
    pub kind: Given<String>,
    pub properties: Properties,
    pub declared: Vec<Given<String>>,
    pub place: PlaceFacts,
    pub span: Span,
}

/// Parts in the order in which the water meets them.
#[derive(Clone, Debug, PartialEq)]
pub struct RunFacts {
    pub name: Given<String>,
    pub service: Maybe<String>,
    pub size: Maybe<String>,
    pub material: Maybe<String>,
    pub length: Maybe<f64>,
    pub elbows: Maybe<f64>,
    pub lagging: Maybe<f64>,
    /// Part names, or kinds; `name.port` where the port matters (see [`Stop`]).
    pub stops: Vec<Given<String>>,
    /// What differs for one stretch: the index of its first stop, then size, length, … and tail.
    pub stretches: Vec<StretchFacts>,
    pub span: Span,
}

/// A stop of a run, taken apart: `cold tee`, `cold tee.branch` (at the start of a run the port by
/// which the water leaves, elsewhere the one by which it enters), or `cold tee.a>branch` (enters
/// by `a`, leaves by `branch`). A part's own name may hold a dot: try the whole text as a name first.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stop<'a> {
    pub name: &'a str,
    pub enter: Option<&'a str>,
    pub leave: Option<&'a str>,
}

impl<'a> Stop<'a> {
    /// `first`: it is the first stop of its run. `is_name`: whether a text is a part's name or kind.
    pub fn parse(text: &'a str, first: bool, is_name: impl Fn(&str) -> bool) -> Stop<'a> {
        let whole = Stop { name: text, enter: None, leave: None };
        if is_name(text) {
            return whole;
        }
        let Some((name, ports)) = text.rsplit_once('.') else { return whole };
        let some = |port: &'a str| Some(port.trim()).filter(|p| !p.is_empty());
        match ports.split_once('>') {
            Some((enter, leave)) => Stop { name, enter: some(enter), leave: some(leave) },
            None if first => Stop { name, enter: None, leave: some(ports) },
            None => Stop { name, enter: some(ports), leave: None },
        }
    }
}

#[derive(Clone, Debug, Default, PartialEq)]
pub struct StretchFacts {
    /// Index of the stop it leaves, from 0.
    pub after: usize,
    pub id: Maybe<String>,
    pub service: Maybe<String>,
    pub size: Maybe<String>,
    pub material: Maybe<String>,
    pub length: Maybe<f64>,
    pub elbows: Maybe<f64>,
    pub lagging: Maybe<f64>,
    pub tail: Option<TailFacts>,
    pub span: Span,
}

#[derive(Clone, Debug, PartialEq)]
pub struct AssumptionFacts {
    pub id: String,
    pub what: String,
    pub value: String,
    pub unit: String,
    pub why: String,
}
