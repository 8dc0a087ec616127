//! The picture for the cupboard door: their own cupboard from the front, at most twelve plain
//! labels in the order a person would act, what to turn and what never to close. In: the sized
//! system and the cupboard. Out: one sheet. No abbreviations, no pipe sizes, no lid to open.

use super::words::figure;
use crate::draw::cupboard::{Projection, View, plain_body};
use crate::draw::frame::space_above_strip;
use crate::draw::scene::{Anchor, Group, Ink, Item, Mark, Paper, Shape, Sheet, Stroke, Words};
use crate::layout::cupboard::plan::{CupboardPlan, Owner, Solid};
use crate::lettering::{Weight, wrap};
use crate::model::{P2, Part, Rect, Service, System, Water};
use crate::size::Sized;

/// 14 point letters: 4.94 mm em, 3.45 mm capitals.
const LETTERS: f64 = 3.5;
const LINE: f64 = 5.4;
const BALLOON: f64 = 3.4;
/// Width of the picture of a cupboard that is not wide, and of the boxes at the right.
const PICTURE: f64 = 104.0;
const BOXES: f64 = 58.0;
/// From so many times its height a cupboard is wide.
const WIDE: f64 = 1.4;
/// A person reads no more than this.
const MOST: usize = 12;

/// What a householder may need to know of a kind, in the order in which they would act.
/// The words for several give the number to each of them; else it goes to one of a kind.
const WORTH_KNOWING: [(&str, &str, Option<&str>); 14] = [
    (
        "fused connection unit",
        "Heating switch: switch off here first",
        Some("Heating switches: switch off every one here first"),
    ),
    (
        "double-pole switch",
        "Water heater switch: switch off here too",
        Some("Water heater switches: switch off every one here too"),
    ),
    ("stop valve", "Stop tap: turn clockwise to stop the water", None),
    (
        "tundish",
        "Drip cup: water here means ring the engineer",
        Some("Drip cups: water in one means ring the engineer"),
    ),
    (
        "temperature and pressure relief valve",
        "Safety valve: never turn, never block",
        Some("Safety valves: never turn, never block"),
    ),
    ("cylinder", "Hot water tank", Some("Hot water tank")),
    (
        "immersion heater",
        "Electric heater: never take the cover off",
        Some("Electric heaters: never take a cover off"),
    ),
    ("inlet group", "Cold water control: never turn or adjust", None),
    ("hot-water vessel", "Pressure ball for hot water: leave alone", None),
    ("pressure gauge", "Heating pressure: about 1 to 1.5 when cold", None),
    ("filling loop", "Top-up hose: only as the engineer showed you", None),
    ("heating vessel", "Pressure ball for heating: leave alone", None),
    ("zone valve", "Motor valves: they work by themselves", None),
    ("wiring centre", "Wiring box: never open", None),
];

struct Label<'a> {
    kind: &'static str,
    text: String,
    /// Each gets the number.
    solids: Vec<&'a Solid>,
}

/// The householder's sheet.
pub fn householder(sized: &Sized, plan: Option<&CupboardPlan>) -> Sheet {
    let system = &sized.system;
    let paper = Paper::A4_LANDSCAPE;
    let space = space_above_strip(paper).grown(-5.0);
    let mut items: Vec<Item> = Vec::new();
    let mut said = String::from("Your hot water cupboard, seen from the door.");
    let labels = plan.map_or_else(Vec::new, |p| labels(system, p));
    let title = Words::new(P2::new(space.x, space.y + 4.0), "Your hot water cupboard", 5.0);
    items.push(title.bold().into());
    let whole = Rect::new(space.x, space.y + 8.0, space.w, space.h - 8.0);
    // The picture takes the left; words stand at its right, or below a cupboard that is wide and
    // low.
    let wide = plan.is_some_and(|p| p.room.w > WIDE * p.room.h);
    let beside = Rect::new(whole.right() - BOXES, whole.y, BOXES, whole.h);
    let picture_w = if wide { beside.x - 6.0 - whole.x } else { PICTURE };
    let picture = Rect::new(whole.x, whole.y, picture_w, whole.h);
    if let Some(plan) = plan {
        items.extend(draw_picture(system, plan, &labels, picture));
    }
    let (columns, lists) = if wide {
        let high = plan.map_or(0.0, |p| picture_w * p.room.h / p.room.w) + 6.0;
        (2, Rect::new(whole.x, whole.y + high, picture_w, whole.h - high))
    } else {
        let left = picture.right() + 6.0;
        (1, Rect::new(left, whole.y, beside.x - 6.0 - left, whole.h))
    };
    let column_w = lists.w / f64::from(columns);
    let each = labels.len().div_ceil(columns as usize).max(1);
    for (k, part) in labels.chunks(each).enumerate() {
        let left = lists.x + k as f64 * column_w;
        let mut y = lists.y + LETTERS;
        for (i, label) in part.iter().enumerate() {
            let n = k * each + i + 1;
            said.push_str(&format!(" {n}: {}.", label.text));
            items.extend(balloon(n, P2::new(left + BALLOON, y - LETTERS / 2.0)));
            for line in wrap(&label.text, LETTERS, Weight::Regular, column_w - 10.0) {
                items.push(Words::new(P2::new(left + 9.0, y), line, LETTERS).into());
                y += LINE;
            }
            // Balloons of labels of one line keep apart.
            y += 1.9;
        }
    }
    let right = beside;
    let tap = labels.iter().position(|l| l.kind == "stop valve").map(|i| i + 1);
    let stores = stores(system, plan);
    items.extend(boxes(system, &stores, tap, right, &mut said));
    Sheet {
        key: "householder".to_owned(),
        title: "Customer guide".to_owned(),
        description: said,
        paper,
        scale: None,
        items,
    }
}

/// The labels of what stands in the cupboard, each kind once.
fn labels<'a>(system: &'a System, plan: &'a CupboardPlan) -> Vec<Label<'a>> {
    let mut labels = Vec::new();
    for (kind, one, several) in WORTH_KNOWING {
        let matches = |s: &&Solid| match s.owner {
            Owner::Part(ix) => {
                let k = system.part(ix).kind;
                k.key == kind || (kind == "cylinder" && k.symbol.name == "cylinder")
            }
            Owner::Unit(ix) => system.unit(ix).kind.key == kind,
        };
        let most = if several.is_some() { usize::MAX } else { 1 };
        let solids: Vec<&Solid> = plan.solids.iter().filter(matches).take(most).collect();
        if solids.is_empty() || labels.len() == MOST {
            continue;
        }
        let mut text = several.filter(|_| solids.len() > 1).unwrap_or(one).to_owned();
        if kind == "double-pole switch" && labels.is_empty() {
            text = text.replace("here too", "here first");
        }
        if kind == "cylinder" {
            let litres: Vec<f64> =
                stores(system, Some(plan)).iter().filter_map(|c| c.number("litres")).collect();
            let alike = litres.windows(2).all(|p| p[0] == p[1]);
            text = match litres[..] {
                [one] => format!("{text}, {one:.0} litres"),
                [one, _, ..] if alike => format!("{text}s, {one:.0} litres each"),
                [_, ..] => format!("{text}s, {:.0} litres together", litres.iter().sum::<f64>()),
                [] => text,
            };
        }
        labels.push(Label { kind, text, solids });
    }
    labels
}

/// The stores in this cupboard; where none is drawn, those of the system.
fn stores<'a>(system: &'a System, plan: Option<&CupboardPlan>) -> Vec<&'a Part> {
    let stands = |part: &Part| {
        plan.is_some_and(|p| {
            p.solids.iter().any(|s| match s.owner {
                Owner::Part(ix) => system.part(ix).tag == part.tag,
                Owner::Unit(_) => false,
            })
        })
    };
    let all: Vec<&Part> =
        system.parts.iter().filter(|p| p.kind.symbol.name == "cylinder").collect();
    let here: Vec<&Part> = all.iter().copied().filter(|p| stands(p)).collect();
    if here.is_empty() { all } else { here }
}

fn draw_picture(system: &System, plan: &CupboardPlan, labels: &[Label], room: Rect) -> Vec<Item> {
    let scale = (plan.room.w / room.w).max(plan.room.h / room.h).max(1.0);
    let view = View::new(Projection::Front, scale, plan.room, P2::new(room.x, room.y));
    let mut items: Vec<Item> =
        vec![Shape::rect(view.outline(), Some(Stroke::solid(0.7, Ink::BLACK)), None).into()];
    let mut stack: Vec<(f64, Vec<Item>)> = plan
        .solids
        .iter()
        .map(|s| (view.front_of(&s.at), vec![plain_body(system, s, &view)]))
        .collect();
    for route in plan.routes.iter().filter(|r| r.routed) {
        let service = system.pipe(route.pipe).service;
        let points: Vec<P2> = route.points.iter().map(|p| view.point(*p)).collect();
        let depth = route.points.iter().map(|p| view.nearness(*p)).fold(f64::MAX, f64::min);
        stack.push((depth, vec![Shape::line(&points, simple_pen(service)).into()]));
    }
    stack.sort_by(|a, b| a.0.total_cmp(&b.0));
    items.extend(stack.into_iter().flat_map(|(_, i)| i));
    let mut taken: Vec<Rect> = Vec::new();
    for (i, label) in labels.iter().enumerate() {
        for solid in &label.solids {
            let c = view.rect(&solid.at).centre();
            let at = free_spot(c, view.outline(), &taken);
            if (at.x - c.x).abs() + (at.y - c.y).abs() > 1.0 {
                items.push(Shape::line(&[c, at], Stroke::solid(0.25, Ink::BLACK)).into());
            }
            taken.push(Rect::new(at.x - BALLOON, at.y - BALLOON, 2.0 * BALLOON, 2.0 * BALLOON));
            items.extend(balloon(i + 1, at));
        }
    }
    vec![Group { mark: Mark::None, title: Some("Your cupboard".to_owned()), items }.into()]
}

/// The nearest place on a small grid where a balloon touches no other.
fn free_spot(wanted: P2, view: Rect, taken: &[Rect]) -> P2 {
    const STEP: f64 = 1.2;
    let mut places: Vec<(i64, i64, i64)> =
        (-16..=16_i64).flat_map(|i| (-16..=16_i64).map(move |j| (i * i + j * j, i, j))).collect();
    places.sort();
    places
        .into_iter()
        .map(|(_, i, j)| P2::new(wanted.x + i as f64 * STEP, wanted.y + j as f64 * STEP))
        .find(|p| {
            let spot = Rect::new(p.x - BALLOON, p.y - BALLOON, 2.0 * BALLOON, 2.0 * BALLOON);
            let within = spot.x > view.x
                && spot.right() < view.right()
                && spot.y > view.y
                && spot.bottom() < view.bottom();
            within && !taken.iter().any(|t| t.grown(0.6).overlaps(&spot))
        })
        .unwrap_or(wanted)
}

fn balloon(n: usize, at: P2) -> Vec<Item> {
    let edge = Stroke::solid(0.5, Ink::BLACK);
    vec![
        Shape::circle(at, BALLOON, Some(edge), Some(Ink::WHITE)).into(),
        Words::new(P2::new(at.x, at.y + 1.4), n.to_string(), 2.8)
            .bold()
            .anchor(Anchor::Middle)
            .into(),
    ]
}

/// Three looks only: cold, hot, heating; safety pipes dotted.
fn simple_pen(service: Service) -> Stroke {
    let (width, dash, ink): (f64, &[f64], &'static str) = match (service.water(), service) {
        (Water::Primary | Water::Solar, _) => (1.0, &[4.0, 1.2, 1.2, 1.2], "b00020"),
        (Water::Discharge, _) => (0.8, &[1.2, 1.2], "000000"),
        (_, Service::HotWater | Service::HotBlended | Service::HotReturn) => {
            (1.0, &[4.0, 1.5], "a34a00")
        }
        _ => (1.0, &[], "0072b2"),
    };
    Stroke { width, dash: dash.to_vec(), ink: Ink(ink), round: false }
}

/// The boxes at the right: stop the water, never close, water in the cup, what it gives.
fn boxes(
    system: &System,
    stores: &[&Part],
    tap: Option<usize>,
    room: Rect,
    said: &mut String,
) -> Vec<Item> {
    let phone =
        system.job.fields.get("phone").cloned().unwrap_or_else(|| "____________".to_owned());
    let service =
        system.job.fields.get("next-service").cloned().unwrap_or_else(|| "____________".to_owned());
    let stored = stores.iter().find_map(|c| c.number("stored"));
    let litres: f64 = stores.iter().filter_map(|c| c.number("litres")).sum();
    let electric = |p: &&Part| p.kind.key == "immersion heater";
    let heating = system.parts.iter().any(|p| p.kind.heats && !electric(&p));
    let off = match (heating, system.parts.iter().any(|p| electric(&p))) {
        (true, true) => "the heating and the water heater",
        (true, false) => "the heating",
        (false, _) => "the water heater",
    };
    let except = tap.map_or_else(String::new, |n| format!(", except the stop tap ({n})"));
    let mut good = Vec::new();
    if let Some(t) = stored {
        good.push(format!("Water is kept at {} °C: do not turn it down.", figure(t, 0)));
    }
    if litres > 0.0 {
        good.push(match stores {
            [_] => format!("The tank holds {litres:.0} litres."),
            _ => format!("The tanks hold {litres:.0} litres together."),
        });
    }
    good.push(format!("Next service: {service}"));
    let texts: [(&str, Vec<String>, bool); 3] = [
        (
            "If water runs in the drip cup",
            vec![
                format!(
                    "Switch off {off}. Leave the water on. Do not touch the pipe: it may be \
                     scalding."
                ),
                format!("Ring: {phone}"),
            ],
            true,
        ),
        (
            "Never",
            vec![format!(
                "Never close or cap a lever, valve or pipe by the tank or the pressure \
                     balls{except}. Never take off a cover."
            )],
            true,
        ),
        ("Good to know", good, false),
    ];
    let mut items: Vec<Item> = Vec::new();
    let mut y = room.y;
    for (heading, lines, alarm) in texts {
        let ink = if alarm { Ink::ALARM } else { Ink::BLACK };
        let top = y;
        let mut inner: Vec<Item> = Vec::new();
        let mut line = |text: &str, bold: bool, y: &mut f64, ink: Ink| {
            let weight = if bold { Weight::Bold } else { Weight::Regular };
            for l in wrap(text, LETTERS, weight, room.w - 6.0) {
                let mut w = Words::new(P2::new(room.x + 3.0, *y + LETTERS), l, LETTERS).ink(ink);
                w.weight = weight;
                inner.push(w.into());
                *y += LINE;
            }
        };
        y += 2.5;
        line(heading, true, &mut y, ink);
        for text in &lines {
            line(text, false, &mut y, Ink::BLACK);
        }
        y += 2.0;
        said.push_str(&format!(" {heading}: {}", lines.join(" ")));
        let frame = Rect::new(room.x, top, room.w, y - top);
        let weight = if alarm { 1.0 } else { 0.35 };
        items.push(Shape::rect(frame, Some(Stroke::solid(weight, ink)), None).into());
        items.extend(inner);
        y += 3.0;
    }
    items
}
