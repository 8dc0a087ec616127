//! Expansion vessels. In: content and pressures. Out: the vessel an expert would order, its
//! charge and a generic body, until the file says otherwise.

use super::given::{attrs, name_of, place, text};
use super::net::Net;
use super::store::Store;
use super::survey::{Survey, word};
use crate::catalogue::Kind;
use crate::describe::facts::EquipmentFacts;
use crate::model::{Attrs, PartIx, Value};

#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Role {
    HotWater,
    Heating,
    Solar,
}

/// Stock sizes with a generic diameter and height, mm (common practice).
const STOCK: [(f64, f64, f64); 10] = [
    (8.0, 200.0, 320.0),
    (12.0, 270.0, 300.0),
    (18.0, 270.0, 400.0),
    (24.0, 290.0, 470.0),
    (35.0, 360.0, 480.0),
    (50.0, 380.0, 620.0),
    (80.0, 450.0, 720.0),
    (100.0, 450.0, 850.0),
    (150.0, 550.0, 950.0),
    (200.0, 600.0, 1050.0),
];

/// The vessel the file states for that role.
pub fn stated<'a>(survey: &Survey<'a>, role: Role) -> Option<&'a EquipmentFacts> {
    survey.equipment.iter().copied().find(|e| role_of(e) == Some(role))
}

fn role_of(e: &EquipmentFacts) -> Option<Role> {
    let w = word(e);
    if !w.contains("vessel") {
        return None;
    }
    let said = format!(
        "{w} {} {} {}",
        name_of(&e.name),
        text(&e.properties, "for").map(|v| v.value).unwrap_or_default(),
        text(&e.properties, "role").map(|v| v.value).unwrap_or_default(),
    );
    let said = said.replace('-', " ");
    Some(if said.contains("solar") {
        Role::Solar
    } else if said.contains("heating") || said.contains("primary") {
        Role::Heating
    } else {
        Role::HotWater
    })
}

/// The hot-water vessel with its size and charge.
pub fn hot_water(net: &mut Net, survey: &Survey, stores: &[Store]) -> PartIx {
    let ix = net.add("hot-water vessel", "hot-water vessel");
    let mut a = take(net, survey, Role::HotWater, ix, "hot-water vessel");
    let setting = group_setting(net);
    let litres: f64 = stores.iter().filter(|s| !s.air_gap).map(|s| s.litres).sum();
    let hottest = stores
        .iter()
        .map(|s| net.part(s.cylinder).hottest_stored().unwrap_or(60.0))
        .fold(60.0, f64::max);
    let relief = net
        .named(&format!("{}expansion relief valve", net.scope))
        .and_then(|v| net.part(v).number("setting"))
        .unwrap_or(6.0);
    // BS 7074-1 form: expansion over the share of the vessel that can be used.
    let expansion = litres * expanded(hottest);
    let usable = 1.0 - (setting.value + 1.0) / (relief * 0.9 + 1.0);
    let least = if usable > 0.05 { expansion / usable } else { 0.0 };
    let size = next_size(least.max(customary(litres)));
    net.ledger.fill(
        &mut a,
        "litres",
        "hot-water vessel",
        size,
        "l",
        "common practice by content, not less than the expansion to the hottest store needs",
    );
    if a.get("charge").is_none() {
        a.set_number(
            "charge",
            Value {
                value: setting.value,
                origin: crate::model::Origin::Derived {
                    method: "charge equals the reducing valve's setting (common practice)".into(),
                    from: vec!["reducing valve setting".into()],
                },
            },
        );
    }
    body(&mut a);
    net.part_mut(ix).attrs = a;
    ix
}

/// The heating vessel. `system` is the estimated content of the circuit, litres.
pub fn heating(net: &mut Net, survey: &Survey, system: f64) -> PartIx {
    let ix = net.add("heating vessel", "heating vessel");
    let mut a = take(net, survey, Role::Heating, ix, "heating vessel");
    // The BS 7074-1 factor for a 1 bar charge and a 3 bar valve, rounded up: an opening guess that
    // `size` judges.
    let size = next_size(system * 0.125);
    net.ledger.fill(
        &mut a,
        "litres",
        "heating vessel",
        size,
        "l",
        "common practice: an eighth of the heating water; judged in the calculations",
    );
    net.ledger.fill(
        &mut a,
        "charge",
        "heating vessel charge",
        1.0,
        "bar",
        "common practice: 1 bar for a house of two storeys",
    );
    body(&mut a);
    net.part_mut(ix).attrs = a;
    ix
}

pub fn solar(net: &mut Net, survey: &Survey, litres: f64) -> PartIx {
    let ix = net.add("solar vessel", "solar vessel");
    let mut a = take(net, survey, Role::Solar, ix, "solar vessel");
    net.ledger.fill(
        &mut a,
        "litres",
        "solar vessel",
        next_size(litres),
        "l",
        "common practice: takes the collector's content as steam, its expansion and a reserve",
    );
    net.ledger.fill(
        &mut a,
        "charge",
        "solar vessel charge",
        1.5,
        "bar",
        "common practice: static head and a margin",
    );
    body(&mut a);
    net.part_mut(ix).attrs = a;
    ix
}

fn take(net: &mut Net, survey: &Survey, role: Role, ix: PartIx, kind: &str) -> Attrs {
    let Some(facts) = stated(survey, role) else { return Attrs::default() };
    let part = net.part_mut(ix);
    part.span = facts.span.clone();
    part.place = place(&facts.place);
    part.declared = facts.declared.iter().map(|d| d.value.clone()).collect();
    attrs(&facts.properties, Kind::known(kind))
}

fn group_setting(net: &Net) -> Value<f64> {
    net.named(&format!("{}reducing valve", net.scope))
        .and_then(|v| net.part(v).attrs.quantity("setting"))
        .unwrap_or(Value::derived(3.0, "usual setting"))
}

/// Diameter and height of a stock vessel of that content.
fn body(a: &mut Attrs) {
    let litres = a.number("litres").unwrap_or(18.0);
    let (diameter, height) = stock_body(litres);
    for (key, v) in [("diameter", diameter), ("height", height)] {
        if a.get(key).is_none() {
            a.set_number(key, Value::derived(v, "generic vessel of that content"));
        }
    }
}

/// Diameter and height of a stocked vessel of that content, mm (common practice).
pub fn stock_body(litres: f64) -> (f64, f64) {
    let row = STOCK.iter().find(|r| litres <= r.0).unwrap_or(&STOCK[STOCK.len() - 1]);
    (row.1, row.2)
}

fn next_size(litres: f64) -> f64 {
    STOCK.iter().map(|r| r.0).find(|s| litres <= *s).unwrap_or(STOCK[STOCK.len() - 1].0)
}

/// What is supplied with a store of that content (common practice).
fn customary(litres: f64) -> f64 {
    match litres {
        l if l <= 80.0 => 8.0,
        l if l <= 125.0 => 12.0,
        l if l <= 180.0 => 18.0,
        l if l <= 250.0 => 24.0,
        l => l * 0.1,
    }
}

/// Expansion of water from 10 °C, as a share (IAPWS-IF97, rounded).
fn expanded(to: f64) -> f64 {
    const TABLE: [(f64, f64); 6] = [
        (50.0, 0.0118),
        (60.0, 0.0168),
        (65.0, 0.0195),
        (70.0, 0.0224),
        (80.0, 0.0287),
        (95.0, 0.0393),
    ];
    TABLE.iter().find(|r| to <= r.0).map_or(0.0393, |r| r.1)
}
