//! Records that are filled in on site: pressure test, commissioning. Design values are printed,
//! the measured ones are blanks: nothing is copied from design to measurement. In: the sized
//! system. Out: sheets.

use super::words::{called, figure, plain};
use crate::draw::frame::TitleData;
use crate::draw::scene::{Paper, Sheet};
use crate::draw::tables::{Flow, words};
use crate::model::dwelling::dwellings;
use crate::model::{Part, PartIx, Service, System, Water};
use crate::size::Sized;
use crate::size::fixing::test_pressures;

/// So many flats have a row each in the pressure test.
const MOST_FLATS: usize = 12;

pub fn records(sized: &Sized, data: &TitleData) -> Vec<Sheet> {
    let mut flow = Flow::new("records", "Test and commissioning records", Paper::A4_PORTRAIT, data);
    pressure_test(&mut flow, sized);
    commissioning(&mut flow, sized);
    flow.heading("Signed");
    flow.blanks(&["Installer, name and card number", "Date", "Handed to, name", "Signature"]);
    flow.finish()
}

fn pressure_test(flow: &mut Flow, sized: &Sized) {
    let system = &sized.system;
    flow.heading("Pressure test, before anything is covered");
    flow.paragraph(
        "Blank off the cylinder, the vessels, the reducing valve and every relief valve; test with \
         water, not air. Write both ends of the test and the time.",
    );
    let reduced = system.of_kind("reducing valve").find_map(|(_, p)| p.number("setting"));
    let main = system.of_kind("water main").find_map(|(_, p)| p.number("static"));
    let relief = |solar: bool| {
        let valves =
            system.of_kind("safety valve").filter(|(ix, _)| is_solar(system, *ix) == solar);
        valves.filter_map(|(_, p)| p.number("setting")).next()
    };
    let (heating, solar) = (relief(false), relief(true));
    let has = |w: Water| system.pipes.iter().any(|p| p.service.water() == w);
    let mut rows = Vec::new();
    let mut section = |what: &str, working: Option<f64>| {
        let test =
            working.map_or_else(String::new, |p| figure(test_pressures(p, &system.rules).0, 2));
        let working = working.map_or_else(String::new, |p| figure(p, 2));
        let mut row = vec![what.to_owned(), working, test];
        row.extend(std::iter::repeat_n(String::new(), 5));
        rows.push(row);
    };
    section("Cold main up to the reducing valve", main);
    let flats = dwellings(system);
    match flats.len() {
        2..=MOST_FLATS => {
            for (name, _) in &flats {
                section(
                    &format!("{}: cold and hot after its reducing valve", name.trim()),
                    reduced,
                );
            }
        }
        0 | 1 => section("Cold and hot after the reducing valve", reduced),
        n => section(
            &format!(
                "Cold and hot after the reducing valve: a row for each of {n} flats, on a list"
            ),
            reduced,
        ),
    }
    if has(Water::Primary) && heats(system) {
        // A valve inside the source is set by its maker.
        match (heating, system.parts.iter().find(|p| p.declares("internal safety valve"))) {
            (None, Some(source)) => section(
                &format!(
                    "Heating circuit, relief blanked off. Working: setting of the valve inside {}, \
                     by its maker; test: 1.5 times that",
                    source.tag
                ),
                source.number("setting"),
            ),
            _ => section("Heating circuit, relief blanked off", heating),
        }
    }
    if has_solar(system) {
        section("Solar circuit, relief blanked off, with its own fluid, collector cold", solar);
    }
    let columns = [
        words("Section", 44.0),
        words("Working bar", 18.0),
        words("Test bar", 18.0),
        words("Start bar", 18.0),
        words("Start time", 18.0),
        words("End bar", 18.0),
        words("End time", 18.0),
        words("Initials", 18.0),
    ];
    flow.table(&columns, &rows);
    flow.paragraph(
        "Test pressure: 1.5 times the highest working pressure, Water Supply (Water Fittings) \
         Regulations 1999, Schedule 2, paragraph 12. BS EN 806-4 may ask for more: say which was used.",
    );
}

fn commissioning(flow: &mut Flow, sized: &Sized) {
    let system = &sized.system;
    flow.heading("Commissioning: measure, do not copy");
    let mut rows: Vec<Vec<String>> = Vec::new();
    let mut ask = |what: String, design: String| {
        rows.push(vec![what, design, String::new(), String::new()]);
    };
    let settings: [(&str, &str, &str, &str); 13] = [
        ("water main", "static", "bar", "static pressure"),
        ("water main", "dynamic", "bar", "pressure while running"),
        ("reducing valve", "setting", "bar", "outlet pressure, no flow"),
        ("hot-water vessel", "charge", "bar", "charge, water side empty"),
        ("expansion relief valve", "setting", "bar", "lifts by hand, seats again"),
        ("temperature and pressure relief valve", "setting", "bar", "lifts by hand, seats again"),
        ("cylinder thermostat", "setting", "°C", "setting"),
        ("overheat cut-out", "setting", "°C", "trips and stays tripped until reset"),
        ("heating vessel", "charge", "bar", "charge, water side empty"),
        ("solar vessel", "charge", "bar", "charge, fluid side empty"),
        ("safety valve", "setting", "bar", "lifts by hand, seats again"),
        ("bypass valve", "setting", "bar", "setting with all zones shut"),
        ("blending valve", "setting", "°C", "temperature at the outlet"),
    ];
    for (kind, key, unit, what) in settings {
        for (_, part) in system.of_kind(kind) {
            let design =
                part.number(key).map_or_else(String::new, |v| format!("{} {unit}", plain(v)));
            ask(format!("{}: {what}", called(part)), design);
            if key == "dynamic" {
                ask(
                    format!("{}: flow at that pressure", called(part)),
                    number(part, "at", "l/min"),
                );
            }
        }
    }
    for figure in sized.figures.iter().filter(|f| f.id == "heating.fill") {
        let of = |name: &str| figure.inputs.iter().find(|i| i.name == name).map(|i| i.value);
        if let (Some(low), Some(high)) = (of("lowest"), of("highest")) {
            let range = if low <= high {
                format!("{} to {} bar", figure_of(low), figure_of(high))
            } else {
                String::new()
            };
            ask("Heating circuit: pressure after filling, cold".to_owned(), range);
        }
    }
    for (_, p) in system.of_kind("immersion heater").filter(|(_, p)| p.declares("own cut-out")) {
        ask(format!("{}: its own cut-out trips and stays tripped", called(p)), String::new());
    }
    for (_, p) in system.parts.iter().enumerate().filter(|(_, p)| p.text("cycle").is_some()) {
        let cycle = p.text("cycle").unwrap_or_default();
        let what = format!("{}: hot cycle, what starts it, first one seen", called(p));
        ask(what, cycle.to_owned());
    }
    for (_, p) in system.of_kind("tundish") {
        ask(format!("{}: watched while a relief valve is lifted", called(p)), String::new());
    }
    for (_, p) in system.of_kind("zone valve") {
        ask(format!("{}: opens, calls, closes", called(p)), String::new());
    }
    for part in system.parts.iter().filter(|p| p.kind.heats && p.kind.port("flow").is_some()) {
        let worked = |key: &str| {
            let of = sized.figures.iter().filter(|f| f.about == part.tag);
            let of = of.filter(|f| f.id == "heating.source-flow");
            let mut inputs = of.flat_map(|f| &f.inputs).filter(|i| i.name == key);
            inputs.next().map_or_else(String::new, |i| format!("{} °C", plain(i.value)))
        };
        for (key, what) in [("flow", "flow temperature"), ("return", "return temperature")] {
            let stated = number(part, key, "°C");
            let design = if stated.is_empty() { worked(key) } else { stated };
            ask(format!("{}: {what}", called(part)), design);
        }
        if let Some(t) = part.number("hot-water-flow") {
            let what = format!("{}: flow temperature while hot water calls", called(part));
            ask(what, format!("{} °C", plain(t)));
        }
    }
    ask("Hot water at the farthest tap: seconds to 50 °C".to_owned(), String::new());
    if heats(system) {
        ask("Inhibitor: name, dose, date".to_owned(), String::new());
    }
    if has_solar(system) {
        ask("Solar fluid: name, frost protection to °C, pressure cold".to_owned(), String::new());
    }
    let columns = [
        words("What", 82.0),
        words("Design", 28.0),
        words("Measured", 34.0),
        words("Date, initials", 28.0),
    ];
    flow.table(&columns, &rows);
}

/// A bar figure to two places.
fn figure_of(value: f64) -> String {
    figure(value, 2)
}

/// A sealed heating circuit, not a solar one alone.
fn heats(system: &System) -> bool {
    system.pipes.iter().any(|p| p.service == Service::HeatingFlow)
}

fn has_solar(system: &System) -> bool {
    system.pipes.iter().any(|p| p.service == Service::SolarFlow)
}

/// On the solar circuit.
fn is_solar(system: &System, part: PartIx) -> bool {
    let solar = |s: Service| matches!(s, Service::SolarFlow | Service::SolarReturn);
    system.pipes_of(part).any(|p| solar(system.pipe(p).service))
}

fn number(part: &Part, key: &str, unit: &str) -> String {
    part.number(key).map_or_else(String::new, |v| format!("{} {unit}", plain(v)))
}
