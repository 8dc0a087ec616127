//! The facts in the order of the trade. In: facts as the file gives them. Out: the same facts,
//! each list sorted by what it says, so that nothing later depends on the order of the file.

use super::given::{fingerprint, name_of, text};
use crate::describe::facts::{
    CylinderFacts, DischargeFacts, EquipmentFacts, Facts, HeatedBy, OutletFacts, SourceFacts,
    SourceKind, ZoneFacts,
};

pub struct Survey<'a> {
    pub facts: &'a Facts,
    pub cylinders: Vec<&'a CylinderFacts>,
    pub sources: Vec<&'a SourceFacts>,
    pub zones: Vec<&'a ZoneFacts>,
    pub outlets: Vec<&'a OutletFacts>,
    pub discharges: Vec<&'a DischargeFacts>,
    pub equipment: Vec<&'a EquipmentFacts>,
    pub controls: Vec<&'a EquipmentFacts>,
}

/// Outlets in the order in which a schematic shows them.
const OUTLET_ORDER: [&str; 12] = [
    "bath",
    "shower",
    "basin",
    "bidet",
    "kitchen sink",
    "hot outlets",
    "cold outlets",
    "WC",
    "washing machine",
    "dishwasher",
    "outside tap",
    "hard tap",
];

impl<'a> Survey<'a> {
    pub fn of(facts: &'a Facts) -> Survey<'a> {
        let mut cylinders: Vec<_> = facts.cylinders.iter().collect();
        cylinders.sort_by_cached_key(|c| {
            (
                name_of(&c.name),
                fingerprint(&c.properties),
                format!("{:?}", c.heated.as_ref().map(|h| h.value)),
            )
        });
        let mut sources: Vec<_> = facts.sources.iter().collect();
        sources.sort_by_cached_key(|s| {
            (source_rank(s.kind.value), name_of(&s.name), fingerprint(&s.properties))
        });
        let mut zones: Vec<_> = facts.zones.iter().collect();
        zones.sort_by_cached_key(|z| {
            (zone_rank(z), floor_rank(z), name_of(&z.name), fingerprint(&z.properties))
        });
        let mut outlets: Vec<_> = facts.outlets.iter().collect();
        outlets.sort_by_cached_key(|o| {
            let rank = OUTLET_ORDER.iter().position(|k| *k == o.kind.value);
            (
                rank.unwrap_or(OUTLET_ORDER.len()),
                o.kind.value.clone(),
                fingerprint(&o.properties),
                o.count.value,
            )
        });
        let mut discharges: Vec<_> = facts.discharges.iter().collect();
        discharges.sort_by_cached_key(|d| {
            (name_of(&d.to), d.wall.as_ref().map(|w| w.value), fingerprint(&d.properties))
        });
        Survey {
            facts,
            cylinders,
            sources,
            zones,
            outlets,
            discharges,
            equipment: sorted(&facts.equipment),
            controls: sorted(&facts.controls),
        }
    }

    /// Equipment that a word names, whichever way it is written.
    pub fn equipment<'s>(
        &'s self,
        words: &'s [&str],
    ) -> impl Iterator<Item = &'a EquipmentFacts> + 's {
        self.equipment.iter().chain(&self.controls).copied().filter(move |e| named(e, words))
    }

    pub fn has(&self, words: &[&str]) -> bool {
        self.equipment(words).next().is_some()
    }

    /// The boiler or heat pump that heats the circuit.
    pub fn source(&self) -> Option<&'a SourceFacts> {
        self.sources.first().copied()
    }
}

/// A heat source with no coil and no zone gets a zone to heat.
pub fn something_to_heat(facts: &Facts) -> Option<Facts> {
    let electric = !facts.cylinders.is_empty()
        && facts
            .cylinders
            .iter()
            .all(|c| c.heated.as_ref().is_some_and(|h| h.value == HeatedBy::Electric));
    let idle = !facts.sources.is_empty() && facts.zones.is_empty() && electric;
    idle.then(|| {
        let mut facts = facts.clone();
        facts.zones.push(ZoneFacts::default());
        facts
    })
}

pub fn sorted(list: &[EquipmentFacts]) -> Vec<&EquipmentFacts> {
    let mut out: Vec<_> = list.iter().collect();
    out.sort_by_cached_key(|e| (word(e), name_of(&e.name), fingerprint(&e.properties)));
    out
}

/// True where one of the words is the item's, or the key of its kind.
pub fn named(e: &EquipmentFacts, words: &[&str]) -> bool {
    words.contains(&word(e).as_str()) || words.contains(&e.kind.as_str())
}

/// The trade word of an item of equipment, hyphens as spaces.
pub fn word(e: &EquipmentFacts) -> String {
    e.word.value.replace('-', " ")
}

fn source_rank(kind: SourceKind) -> u8 {
    match kind {
        SourceKind::HeatPump => 0,
        SourceKind::SystemBoiler => 1,
        SourceKind::RegularBoiler => 2,
        SourceKind::CombinationBoiler => 3,
        SourceKind::Uncontrolled => 4,
    }
}

/// Radiators first, then towel rails, then floors (common practice).
fn zone_rank(z: &ZoneFacts) -> u8 {
    match z.emitters.as_ref().map(|e| e.value.as_str()) {
        Some("underfloor") => 2,
        Some(e) if e.starts_with("towel") => 1,
        _ => 0,
    }
}

fn floor_rank(z: &ZoneFacts) -> String {
    text(&z.properties, "floor").map(|v| v.value).unwrap_or_default()
}
