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

/// Width of the boxes, the first at which they end above the sheet's strip.
const WIDTHS: [f64; 4] = [58.0, 64.0, 70.0, 76.0];

/// The boxes at the right of the sheet.
pub struct Boxes {
    /// Their column, down to the strip.
    pub room: Rect,
    pub items: Vec<Item>,
    /// Where the last of them ends.
    pub end: f64,
    pub said: String,
}

/// One box: its heading, its lines, and whether it is a warning.
type Text = (&'static str, Vec<String>, bool);

/// The boxes at the right of `whole`, no wider than they must be to end in it.
pub fn boxes(system: &System, plan: Option<&CupboardPlan>, labels: &[Label], whole: Rect) -> Boxes {
    let texts = texts(system, plan, labels);
    let each = texts.iter().map(|(heading, lines, _)| format!(" {heading}: {}", lines.join(" ")));
    let said: String = each.collect();
    let at = |w: f64| {
        let room = Rect::new(whole.right() - w, whole.y, w, whole.h);
        let (items, end) = drawn(&texts, room);
        Boxes { room, items, end, said: said.clone() }
    };
    let [.., widest] = WIDTHS;
    WIDTHS.into_iter().map(at).find(|b| b.end <= whole.bottom()).unwrap_or_else(|| at(widest))
}

/// Stop the water, never close, water in the cup, what it gives.
fn texts(system: &System, plan: Option<&CupboardPlan>, labels: &[Label]) -> [Text; 3] {
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
    [
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
    ]
}

/// The boxes one below the other, and where the last ends.
fn drawn(texts: &[Text], room: Rect) -> (Vec<Item>, f64) {
    const APART: f64 = 3.0;
    let mut items: Vec<Item> = Vec::new();
    let mut y = room.y;
    for (heading, lines, alarm) in texts {
        let ink = if *alarm { Ink::ALARM } else { Ink::BLACK };
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
        for text in lines {
            line(text, false, &mut y, Ink::BLACK);
        }
        y += 2.0;
        let frame = Rect::new(room.x, top, room.w, y - top);
        let weight = if *alarm { 1.0 } else { 0.35 };
        items.push(Shape::rect(frame, Some(Stroke::solid(weight, ink)), None).into());
        items.extend(inner);
        y += APART;
    }
    (items, y - APART)
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::complete::complete;
    use crate::describe::read;

    /// What does not end above the strip in narrow boxes does in wider ones.
    #[test]
    fn long_boxes_are_wider() {
        let text = "cylinder \"store\" litres=250 heated=\"indirect\" stored=50 cycle=\"weekly\"\n\
                    boiler kw=24\nmain static=3 at=25\noutlets { bath; kitchen-sink; wc }";
        let system = complete(&read(text).facts).system;
        let whole = Rect::new(20.0, 20.0, 260.0, 170.0);
        let texts = texts(&system, None, &[]);
        let narrow = Rect::new(0.0, whole.y, WIDTHS[0], whole.h);
        let end = drawn(&texts, narrow).1;
        let tight = Rect { h: end - 1.0 - whole.y, ..whole };
        let boxes = boxes(&system, None, &[], tight);
        assert!(boxes.room.w > WIDTHS[0] && boxes.end <= tight.bottom(), "{:?}", boxes.room);
        assert!((boxes.room.right() - tight.right()).abs() < 1e-9);
    }
}
