//! The commissioning record: every setting and reading with its design value, and a blank beside it.
//! In: the sized system. Out: a table in the flow.

use super::records::{MOST_FLATS, has_solar, heats};
use super::words::{called, figure, gauge, plain};
use crate::draw::tables::{Flow, words};
use crate::model::dwelling::dwellings;
use crate::model::{Part, PartIx, System};
use crate::size::{Figure, Sized};

/// What is measured, and what it should be.
type Asked = (String, String);

pub fn commissioning(flow: &mut Flow, sized: &Sized) {
    let system = &sized.system;
    flow.heading("Commissioning: measure, do not copy");
    let mut asked: Vec<Asked> = Vec::new();
    supply(&mut asked, sized);
    settings(&mut asked, system);
    heating(&mut asked, sized);
    floors(&mut asked, sized);
    sources(&mut asked, sized);
    circulation(&mut asked, sized);
    farthest(&mut asked, sized);
    if heats(system) {
        asked.push(("Inhibitor: name, dose, date".to_owned(), String::new()));
    }
    if has_solar(system) {
        let what = "Solar fluid: name, frost protection to °C, pressure cold";
        asked.push((what.to_owned(), String::new()));
    }
    let rows: Vec<Vec<String>> = asked
        .into_iter()
        .map(|(what, design)| vec![what, design, String::new(), String::new()])
        .collect();
    let columns = [
        words("What", 82.0),
        words("Design", 28.0),
        words("Measured", 34.0),
        words("Date, initials", 28.0),
    ];
    flow.table(&columns, &rows);
}

/// How long the longest wait of each dwelling is, against its sum.
fn farthest(asked: &mut Vec<Asked>, sized: &Sized) {
    let what = "Hot water at the farthest tap: seconds to 50 °C";
    let longest = |own: &dyn Fn(&str) -> bool| {
        let waits = sized.figures.iter().filter(|f| f.id == "outlet.waiting" && own(&f.about));
        let longest = waits.max_by(|a, b| a.value.total_cmp(&b.value));
        let latest = longest.and_then(|f| f.inputs.iter().find(|i| i.name == "latest"));
        longest.zip(latest).map_or_else(String::new, |(f, latest)| {
            format!("{} to {} s", figure(f.value, 0), figure(latest.value, 0))
        })
    };
    let flats = dwellings(&sized.system);
    if !(2..=MOST_FLATS).contains(&flats.len()) {
        asked.push((what.to_owned(), longest(&|_| true)));
        return;
    }
    for (name, parts) in &flats {
        let own = |tag: &str| parts.iter().any(|p| sized.system.part(*p).tag == tag);
        asked.push((format!("{}: h{}", name.trim(), &what[1..]), longest(&own)));
    }
}

/// One row for each part of a kind: what is read, against an attribute.
fn each(asked: &mut Vec<Asked>, system: &System, row: (&str, &str, &str, &str)) {
    let (kind, key, unit, what) = row;
    for (_, part) in system.of_kind(kind) {
        asked.push((format!("{}: {what}", called(part)), number(part, key, unit)));
    }
}

/// The street, and what lifts or stores its pressure.
fn supply(asked: &mut Vec<Asked>, sized: &Sized) {
    let system = &sized.system;
    each(asked, system, ("water main", "static", "bar", "static pressure"));
    for (_, main) in system.of_kind("water main") {
        let name = called(main);
        asked.push((format!("{name}: pressure while running"), number(main, "dynamic", "bar")));
        asked.push((format!("{name}: flow at that pressure"), number(main, "at", "l/min")));
    }
    for (_, tank) in system.of_kind("break tank") {
        let name = called(tank);
        asked.push((format!("{name}: float valve shuts, level held below it"), String::new()));
        for (key, what) in [("overflow", "overflow runs"), ("warning-pipe", "warning pipe runs")] {
            let design = tank.text(key).unwrap_or_default().to_owned();
            asked.push((format!("{name}: {what}, seen to end there"), design));
        }
    }
    for (_, pump) in system.of_kind("booster pump") {
        let name = called(pump);
        let bar = about(sized, "booster.pressure", &pump.tag);
        let bar = bar.map_or_else(String::new, |f| format!("{} bar", gauge(f.value)));
        asked.push((format!("{name}: outlet pressure, taps shut"), bar));
        let flow = number(pump, "litres-a-minute", "l/min");
        asked.push((format!("{name}: flow with taps open"), flow));
    }
    each(asked, system, ("accumulator", "charge", "bar", "charge, water side empty"));
}

fn settings(asked: &mut Vec<Asked>, system: &System) {
    const LIFTS: &str = "lifts by hand, seats again";
    const RELIEF: &str = "temperature and pressure relief valve";
    let rows: [(&str, &str, &str, &str); 12] = [
        ("reducing valve", "setting", "bar", "outlet pressure, no flow"),
        ("hot-water vessel", "charge", "bar", "charge, water side empty"),
        ("expansion relief valve", "setting", "bar", LIFTS),
        (RELIEF, "setting", "bar", LIFTS),
        ("cylinder thermostat", "setting", "°C", "setting"),
        ("overheat cut-out", "setting", "°C", "trips and stays tripped until reset"),
        ("heating vessel", "charge", "bar", "charge, water side empty"),
        ("solar vessel", "charge", "bar", "charge, fluid side empty"),
        ("safety valve", "setting", "bar", LIFTS),
        ("bypass valve", "setting", "bar", "setting with all zones shut"),
        ("blending valve", "setting", "°C", "temperature at the outlet"),
        ("frost thermostat", "setting", "°C", "setting"),
    ];
    for part in system.parts.iter().filter(|p| p.has_air_gap()) {
        let what = "air gap inside, made as the maker says; renewed every year";
        asked.push((format!("{}: {what}", called(part)), String::new()));
    }
    for row in rows {
        let before = asked.len();
        each(asked, system, row);
        if row.0 == RELIEF {
            // It lifts at either.
            for ((_, part), (_, design)) in system.of_kind(RELIEF).zip(&mut asked[before..]) {
                if let Some(t) = part.number("temperature") {
                    design.push_str(&format!(", {} °C", plain(t)));
                }
            }
        }
    }
}

fn heating(asked: &mut Vec<Asked>, sized: &Sized) {
    let system = &sized.system;
    for figure in sized.figures.iter().filter(|f| f.id == "heating.fill") {
        let of = |name: &str| figure.inputs.iter().find(|i| i.name == name).map(|i| i.value);
        if let (Some(low), Some(high)) = (of("lowest"), of("highest")) {
            let range = super::words::fill_range(low, high);
            let range = range.map_or_else(String::new, |r| format!("{r} bar"));
            asked.push(("Heating circuit: pressure after filling, cold".to_owned(), range));
        }
    }
    for (_, p) in system.of_kind("immersion heater").filter(|(_, p)| p.declares("own cut-out")) {
        let what = format!("{}: its own cut-out trips and stays tripped", called(p));
        asked.push((what, String::new()));
    }
    for p in system.parts.iter().filter(|p| p.text("cycle").is_some()) {
        let cycle = p.text("cycle").unwrap_or_default();
        let what = format!("{}: hot cycle, what starts it, first one seen", called(p));
        asked.push((what, cycle.to_owned()));
    }
    let tests = [
        ("tundish", "watched while a relief valve is lifted"),
        ("zone valve", "opens, calls, closes"),
        ("mid-position valve", "hot water alone, heating alone, both; calls"),
        ("three-port diverter", "goes over to hot water, and back; calls"),
        ("boost diverter", "heats on surplus alone, its clamp the right way round"),
    ];
    for (kind, what) in tests {
        for (_, p) in system.of_kind(kind) {
            asked.push((format!("{}: {what}", called(p)), String::new()));
        }
    }
}

/// Blending set, high limit, and the flow of every circuit of a heated floor.
fn floors(asked: &mut Vec<Asked>, sized: &Sized) {
    let system = &sized.system;
    each(asked, system, ("blending set", "setting", "°C", "flow temperature to the floor"));
    for (_, limit) in system.of_kind("floor limit thermostat") {
        let what = format!("{}: trips, the floor's valve shuts", called(limit));
        asked.push((what, number(limit, "setting", "°C")));
    }
    for (_, floor) in system.of_kind("underfloor circuits") {
        let name = called(floor);
        asked.push((format!("{name}: return temperature"), number(floor, "return", "°C")));
        let worked = about(sized, "floor.circuit", &floor.tag);
        let each = worked.and_then(|f| f.inputs.iter().find(|i| i.name == "flow in each"));
        let each = each.map_or_else(String::new, |i| format!("{} l/min", figure(i.value, 2)));
        let count = floor.number("circuits").unwrap_or(1.0).clamp(1.0, MOST_CIRCUITS) as usize;
        for n in 1..=count {
            asked.push((format!("{name}: flow in circuit {n}"), each.clone()));
        }
    }
}

/// A manifold has no more ways than that.
const MOST_CIRCUITS: f64 = 16.0;

fn sources(asked: &mut Vec<Asked>, sized: &Sized) {
    let heats = |p: &&Part| p.kind.heats && p.kind.port("flow").is_some();
    for part in sized.system.parts.iter().filter(heats) {
        let worked = |key: &str| {
            let of = about(sized, "heating.source-flow", &part.tag);
            let input = of.and_then(|f| f.inputs.iter().find(|i| i.name == key));
            input.map_or_else(String::new, |i| format!("{} °C", plain(i.value)))
        };
        for (key, what) in [("flow", "flow temperature"), ("return", "return temperature")] {
            let stated = number(part, key, "°C");
            let design = if stated.is_empty() { worked(key) } else { stated };
            asked.push((format!("{}: {what}", called(part)), design));
        }
        if let Some(t) = part.number("hot-water-flow") {
            let what = format!("{}: flow temperature while hot water calls", called(part));
            asked.push((what, format!("{} °C", plain(t))));
        }
    }
}

/// The hot water that is kept moving: flow of each leg, and how warm it comes back.
fn circulation(asked: &mut Vec<Asked>, sized: &Sized) {
    let system = &sized.system;
    let flow = |f: &Figure| format!("{} l/min", figure(f.value * 60.0, 2));
    for leg in sized.figures.iter().filter(|f| f.id == "circulation.flow") {
        let valve =
            system.of_kind("balancing valve").find(|(ix, _)| on_run(system, *ix, &leg.about));
        let what = match valve {
            Some((_, valve)) => format!("{}: balanced flow", called(valve)),
            None => format!("{}: flow", crate::draw::frame::capital(&leg.about)),
        };
        asked.push((what, flow(leg)));
    }
    for (_, pump) in system.of_kind("secondary pump") {
        let back = about(sized, "circulation.return-temperature", &pump.tag);
        if let Some(back) = back {
            let what = format!("{}: temperature of the return at the store", called(pump));
            asked.push((what, format!("{} °C", figure(back.value, 1))));
        }
    }
    each(asked, system, ("pipe thermostat", "setting", "°C", "setting"));
    each(asked, system, ("circulation timer", "hours", "h a day", "times set, from and to"));
}

/// A part that stands in a run of pipe.
fn on_run(system: &System, part: PartIx, run: &str) -> bool {
    system.pipes_of(part).any(|p| system.pipe(p).run == run)
}

fn about<'a>(sized: &'a Sized, id: &str, tag: &str) -> Option<&'a Figure> {
    sized.figures.iter().find(|f| f.id == id && f.about == tag)
}

fn number(part: &Part, key: &str, unit: &str) -> String {
    part.number(key).map_or_else(String::new, |v| format!("{} {unit}", plain(v)))
}
