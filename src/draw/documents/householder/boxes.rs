//! The boxes beside the picture: what to do when the cup drips, what never to do, what is good to
//! know. In: the system, the labels of the picture. Out: marks.

use super::super::words::{figure, spoken};
use super::known::{HEATER_SWITCH, HEATING_SWITCH, Label, stores};
use super::{LETTERS, LINE};
use crate::catalogue::limits;
use crate::draw::scene::{Ink, Item, Shape, Stroke, Words};
use crate::layout::cupboard::plan::{CupboardPlan, Owner, Solid};
use crate::lettering::{Weight, wrap};
use crate::model::dwelling::{dwellings, scope_of};
use crate::model::stopping::{runs_on, stops_all};
use crate::model::{P2, Part, PartIx, Rect, System};

/// Room to write.
const BLANK: &str = "____________";

/// The boxes at the right: stop the water, never close, water in the cup, what it gives; and where
/// they end.
pub fn boxes(
    system: &System,
    plan: Option<&CupboardPlan>,
    labels: &[Label],
    room: Rect,
    aloud: &mut String,
) -> (Vec<Item>, f64) {
    let stores = stores(system, plan);
    let label = |kind: &str| labels.iter().find(|l| l.kind == kind);
    let tap = labels.iter().position(|l| l.kind == "stop valve").map(|i| i + 1);
    let phone = system.job.fields.get("phone").cloned().unwrap_or_else(|| BLANK.to_owned());
    let service =
        system.job.fields.get("next-service").cloned().unwrap_or_else(|| BLANK.to_owned());
    let stored = stores.iter().find_map(|c| Some((*c, c.number("stored")?)));
    let litres: f64 = stores.iter().filter_map(|c| c.number("litres")).sum();
    let electric = |p: &&Part| p.kind.key == "immersion heater";
    let heating = system.parts.iter().any(|p| p.kind.heats && !electric(&p));
    let heaters = plan.map_or_else(
        || system.parts.iter().filter(electric).count(),
        |p| p.solids.iter().filter(|s| part(system, s).is_some_and(|p| electric(&p))).count(),
    );
    let heaters = match heaters {
        0 => "",
        1 => "the water heater",
        _ => "every water heater",
    };
    let off = match (heating, heaters) {
        (true, "") => "the heating".to_owned(),
        (true, heaters) => format!("the heating and {heaters}"),
        (false, "") => "the water heater".to_owned(),
        (false, heaters) => heaters.to_owned(),
    };
    // A switch that is not in the picture: where to look for it.
    let mut elsewhere = Vec::new();
    let wanted = [
        (heating, HEATING_SWITCH, "heating switch"),
        (!heaters.is_empty(), HEATER_SWITCH, "water heater switch"),
    ];
    for (needed, kind, words) in wanted {
        if needed && label(kind).is_none() {
            let place = system.of_kind(kind).find_map(|(_, p)| p.place.elsewhere.clone());
            elsewhere.push(format!("The {words} is here: {}", place.unwrap_or(BLANK.to_owned())));
        }
    }
    let cup = match label("tundish") {
        Some(l) if l.solids.len() > 1 => "If water runs in a drip cup",
        _ => "If water runs in the drip cup",
    };
    let tap_here = label("stop valve").and_then(|l| l.solids.first()).and_then(|s| match s.owner {
        Owner::Part(ix) => Some(ix),
        Owner::Unit(_) => None,
    });
    let except = tap.map_or_else(String::new, |n| format!(", except the stop tap ({n})"));
    let balls = labels.iter().find(|l| l.kind == "hot-water vessel").map_or(0, |l| l.solids.len());
    let balls = match balls {
        0 => "",
        1 => " or the pressure ball",
        _ => " or the pressure balls",
    };
    let tank = if stores.len() > 1 { "the tanks" } else { "the tank" };
    let mut good = Vec::new();
    if let Some((store, t)) = stored {
        good.push(kept_at(system, store, t));
    }
    good.extend(stores.iter().find_map(|c| hotter_by_sun(system, c)));
    if stores.iter().any(|c| c.has_air_gap()) {
        good.push("The tank holds a cushion of air: the engineer renews it every year.".to_owned());
    }
    if litres > 0.0 {
        good.push(match stores[..] {
            [_] => format!("The tank holds {litres:.0} litres."),
            _ => format!("The tanks hold {litres:.0} litres together."),
        });
    }
    good.extend(tap_here.and_then(|tap| stops_everything(system, tap)));
    let inside = |p: &Part| p.kind.heats && p.declares("internal safety valve");
    if let Some(source) = system.parts.iter().find(|p| inside(p)) {
        good.push(format!("The heating's safety valve is inside the {}.", source.kind.words));
    }
    good.push(format!("Next service: {service}"));
    let mut alarm = vec![format!("Switch off {off}.")];
    alarm.extend(elsewhere);
    alarm.push("Leave the water on. Do not touch the pipe: it may be scalding.".to_owned());
    alarm.push(format!("Ring: {phone}"));
    let texts: [(&str, Vec<String>, bool); 3] = [
        (cup, alarm, true),
        (
            "Never",
            vec![format!(
                "Never close or cap a lever, valve or pipe by {tank}{balls}{except}. Never take off \
                 a cover."
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
        aloud.push_str(&format!(" {heading}: {}", lines.join(" ")));
        let frame = Rect::new(room.x, top, room.w, y - top);
        let weight = if alarm { 1.0 } else { 0.35 };
        items.push(Shape::rect(frame, Some(Stroke::solid(weight, ink)), None).into());
        items.extend(inner);
        y += 3.0;
    }
    (items, y)
}

/// How warm the water is kept. Where that is too cool, nobody is told to leave it so.
fn kept_at(system: &System, store: &Part, stored: f64) -> String {
    let least = limits::find(&system.rules, "SAF09.stored").value;
    let t = figure(stored, 0);
    let cycle = store.text("cycle").is_some_and(|c| !["", "none", "no"].contains(&c.trim()));
    if stored >= least {
        format!("Water is kept at {t} °C: do not turn it down.")
    } else if cycle || store.attrs.flag("cycle") {
        format!(
            "Water is kept at {t} °C and must be made hotter every so often against germs: ask your \
             installer what does it, and leave both settings alone."
        )
    } else {
        format!(
            "Water is kept at {t} °C. Below {} °C germs may grow: ask your installer before you use it.",
            figure(least, 0)
        )
    }
}

/// A store that the sun may heat beyond what it is kept at.
fn hotter_by_sun(system: &System, store: &Part) -> Option<String> {
    let (kept, most) = (store.number("stored")?, store.number("max-stored")?);
    let t = figure(most, 0);
    let blended = system.of_kind("blending valve").next().is_some();
    let so = if blended {
        "a valve blends it for the taps: never turn that one."
    } else {
        "it may scald at the taps."
    };
    (most > kept).then(|| format!("In the sun the tank may reach {t} °C: {so}"))
}

/// Where the water of the whole home is stopped, where the tap in the cupboard leaves some running.
fn stops_everything(system: &System, tap: PartIx) -> Option<String> {
    if runs_on(system, tap).is_empty() {
        return None;
    }
    let home = if dwellings(system).is_empty() { "house" } else { "flat" };
    let all = stops_all(system, scope_of(&system.part(tap).name));
    let here =
        |marked: String| format!("The stop tap of the whole {home}{marked} is here: {BLANK}");
    if all.is_empty() {
        return Some(here(String::new()));
    }
    if let [one] = all[..]
        && system.part(one).kind.key == "stop valve"
    {
        return Some(here(format!(", marked {},", system.part(one).tag)));
    }
    // A pump or a pressure store keeps the water coming with the street's tap shut.
    let each: Vec<String> = all
        .iter()
        .map(|v| format!("the {} marked {}", system.part(*v).kind.words, system.part(*v).tag))
        .collect();
    let each: Vec<&str> = each.iter().map(String::as_str).collect();
    let (both, are) = match all.len() {
        1 => ("", "It is"),
        2 => (" both", "They are"),
        _ => (" all of them:", "They are"),
    };
    Some(format!(
        "To stop all water in the {home}, close{both} {}. {are} here: {BLANK}",
        spoken(&each)
    ))
}

fn part<'a>(system: &'a System, solid: &Solid) -> Option<&'a Part> {
    match solid.owner {
        Owner::Part(ix) => Some(system.part(ix)),
        Owner::Unit(_) => None,
    }
}
