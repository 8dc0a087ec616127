//! The cupboard. In: what the survey measured. Out: finished surfaces, with an expert's defaults
//! for what was not measured.

use super::given::{all_attrs, flag, maybe, value};
use super::net::Net;
use crate::describe::facts::{CupboardFacts, DoorFacts, Facts, Maybe};
use crate::model::{Box3, Cupboard, Door, Floor, Obstacle, Side, Site, Value, Wall};

/// The smallest cupboard in which a domestic cylinder and its fittings can be reached.
const PLAUSIBLE: [(&str, f64); 3] =
    [("cupboard width", 1000.0), ("cupboard depth", 800.0), ("cupboard height", 2350.0)];
const WHY: &str = "common practice: smallest plausible cupboard; measure it";

pub fn site(net: &mut Net, facts: &Facts, listed: bool) -> Site {
    let dwelling = &facts.dwelling;
    let none = CupboardFacts::default();
    // In a building the first flat's cupboard stands for its type.
    let first = super::building::sorted(facts).first().map(|b| &*b.flat);
    let facts = first.filter(|_| facts.cupboard.is_none()).unwrap_or(facts);
    let cupboard = match &facts.cupboard {
        Some(c) => Some(c),
        None if listed || first.is_some() || schematic_only(facts) => None,
        None => Some(&none),
    };
    let mut dwelling = all_attrs(dwelling);
    if first.is_some() && dwelling.get("kind").is_none() {
        dwelling.set_text("kind", Value::derived("flat".to_owned(), "the building is of flats"));
    }
    Site { cupboard: cupboard.map(|c| cupboard_of(net, facts, c)), dwelling }
}

/// A plant room drawn as a schematic only.
fn schematic_only(facts: &Facts) -> bool {
    flag(&facts.dwelling, "schematic-only")
}

fn cupboard_of(net: &mut Net, facts: &Facts, c: &CupboardFacts) -> Cupboard {
    let size = |net: &mut Net, given: &Maybe<f64>, i: usize| match given {
        Some(g) => value(g),
        None => net.ledger.number(PLAUSIBLE[i].0, PLAUSIBLE[i].1, "mm", WHY),
    };
    let width = size(net, &c.width, 0);
    let depth = size(net, &c.depth, 1);
    let height = size(net, &c.height, 2);
    let datum = match &c.datum {
        Some(d) => value(d),
        None => net.ledger.text(
            "cupboard sizes taken to",
            "finish",
            "common practice: sizes are read to finished faces unless said otherwise",
        ),
    };
    let none = DoorFacts::default();
    let door = door_of(net, c.door.as_ref().unwrap_or(&none), width.value, height.value);
    let mut walls: Vec<Wall> = c
        .walls
        .iter()
        .map(|w| Wall {
            side: w.side.value,
            outside: w.outside.as_ref().is_some_and(|o| o.value),
            attrs: all_attrs(&w.properties),
        })
        .collect();
    walls.sort_by_key(|w| w.side);
    walls.dedup_by_key(|w| w.side);
    let stated: Option<Side> =
        facts.discharges.iter().filter_map(|d| d.wall.as_ref()).map(|w| w.value).min();
    if walls.iter().all(|w| !w.outside) && stated.is_none() && !facts.as_listed {
        net.ledger.stand(
            "outside wall",
            "back",
            "no wall is said to be an outside wall; the discharge must leave by one",
        );
    }
    let mut obstacles: Vec<Obstacle> = c
        .obstacles
        .iter()
        .map(|o| {
            let n = |i: usize| o.numbers[i].value;
            Obstacle {
                name: o.name.value.clone(),
                at: Box3 { x: n(0), y: n(1), z: n(2), w: n(3), d: n(4), h: n(5) },
                span: o.span.clone(),
            }
        })
        .collect();
    obstacles.sort_by(|a, b| {
        let key = |o: &Obstacle| {
            (o.name.clone(), [o.at.x, o.at.y, o.at.z, o.at.w, o.at.d, o.at.h].map(f64::to_bits))
        };
        key(a).cmp(&key(b))
    });
    Cupboard {
        width,
        depth,
        height,
        datum,
        door: Some(door),
        walls,
        floor: floor_of(net, c),
        obstacles,
    }
}

/// The floor as described; joists of which only the centres are told begin somewhere.
fn floor_of(net: &mut Net, c: &CupboardFacts) -> Floor {
    let mut attrs = all_attrs(&c.floor);
    let centres = attrs.number("centres").filter(|c| *c >= 50.0 && attrs.get("joists").is_some());
    if let Some(centres) = centres {
        net.ledger.fill(
            &mut attrs,
            "first",
            "middle of the first joist from the wall",
            centres / 2.0,
            "mm",
            "only supposed: half a spacing; find the joists before anything is drilled",
        );
    }
    Floor { attrs }
}

fn door_of(net: &mut Net, d: &DoorFacts, width: f64, height: f64) -> Door {
    let clear_width = match maybe(&d.clear_width) {
        Some(v) => v,
        None => net.ledger.number(
            "clear width of the door",
            762.0_f64.min(width),
            "mm",
            "common practice: the usual internal door leaf, or the cupboard's width",
        ),
    };
    let clear_height = match maybe(&d.clear_height) {
        Some(v) => v,
        None => net.ledger.number(
            "clear height of the door",
            1981.0_f64.min(height),
            "mm",
            "common practice: the usual internal door leaf, or the cupboard's height",
        ),
    };
    let from_left = match maybe(&d.from_left) {
        Some(v) => v,
        None => Value::derived(
            ((width - clear_width.value) / 2.0).max(0.0).round(),
            "door in the middle of the front",
        ),
    };
    let hinge = match maybe(&d.hinge) {
        Some(v) => v,
        None => {
            let id = net.ledger.assume(
                "door hung on",
                "left",
                "",
                "common practice: not said; only the swing on the plan depends on it",
            );
            Value::assumed(Side::Left, &id)
        }
    };
    Door {
        clear_width,
        clear_height,
        from_left,
        hinge,
        inward: d.inward.as_ref().is_some_and(|i| i.value),
    }
}
