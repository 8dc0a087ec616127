//! Records that are filled in on site: pressure test, commissioning (the latter in a file of its own). Design values are printed,
//! the measured ones are blanks: nothing is copied from design to measurement. In: the sized
//! system. Out: sheets.

use super::commissioning::commissioning;
use super::words::{figure, listed};
use crate::draw::frame::TitleData;
use crate::draw::scene::{Paper, Sheet};
use crate::draw::tables::{Flow, words};
use crate::model::dwelling::dwellings;
use crate::model::{Part, PartIx, Service, System, Water};
use crate::size::Sized;
use crate::size::fixing::test_pressures;

/// So many flats have a row each in the pressure test.
pub const MOST_FLATS: usize = 12;

pub fn records(sized: &Sized, data: &TitleData) -> Vec<Sheet> {
    let mut flow = Flow::new("records", "Test and commissioning records", Paper::A4_PORTRAIT, data);
    pressure_test(&mut flow, sized);
    commissioning(&mut flow, sized);
    flow.heading("Signed");
    flow.blanks(&["Installer, name and card number", "Date", "Handed to, name", "Signature"]);
    flow.finish()
}

/// The cold pipe before the reducing valve, cut where something changes its pressure: from what, to
/// what, its working pressure where that is not the main's.
fn supply_sections(sized: &Sized) -> Vec<(String, String, Option<f64>)> {
    let system = &sized.system;
    let tags = |kind: &str| -> Option<String> {
        let tags: Vec<&str> = system.of_kind(kind).map(|(_, p)| p.tag.as_str()).collect();
        (!tags.is_empty()).then(|| listed(&tags))
    };
    let (street, valve) = ("Cold main".to_owned(), "the reducing valve".to_owned());
    let Some(pump) = tags("booster pump") else { return vec![(street, valve, None)] };
    let behind = sized.figures.iter().filter(|f| f.id == "booster.pressure").map(|f| f.value);
    let behind = behind.fold(None, |most: Option<f64>, v| Some(most.map_or(v, |m| m.max(v))));
    let first = match tags("break tank") {
        Some(tank) => format!("the float valve of {tank}"),
        None => format!("the booster {pump}"),
    };
    vec![(street, first, None), (format!("Booster {pump}"), valve, behind)]
}

/// What cold and hot water behind the reducing valve may come to, bar: the valve keeps its setting,
/// water that is heated grows until the expansion relief opens.
fn highest_behind_the_reducer(system: &System) -> Option<f64> {
    let behind =
        |p: &&Part| ["expansion relief valve", "reducing valve"].contains(&p.kind.key.as_str());
    system.parts.iter().filter(behind).filter_map(|p| p.number("setting")).reduce(f64::max)
}

fn pressure_test(flow: &mut Flow, sized: &Sized) {
    let system = &sized.system;
    flow.heading("Pressure test, before anything is covered");
    flow.paragraph(
        "Blank off the cylinder, the vessels, the reducing valve, every relief valve and whatever is \
         not made for the test pressure; test with water, not air. Write both ends of the test and \
         the time.",
    );
    let reduced = highest_behind_the_reducer(system);
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
    let up_to = supply_sections(sized);
    for (from, to, bar) in &up_to {
        section(&format!("{from} up to {to}"), bar.or(main));
    }
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
                    "Heating circuit, relief blanked off. Working: setting of the valve inside {}{}; \
                     test: 1.5 times that",
                    source.tag,
                    match source.attrs.is_assumed("valve-setting") {
                        true => ", assumed: read its plate first",
                        false => "",
                    }
                ),
                source.number("valve-setting"),
            ),
            _ => section("Heating circuit, relief blanked off", heating),
        }
    }
    if has_solar(system) {
        section("Solar circuit, relief blanked off, with its own fluid, collector cold", solar);
    }
    let columns = [
        words("Section", 44.0),
        words("Highest bar", 18.0),
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
         Regulations 1999, Schedule 2, paragraph 12. Highest working pressure: before the reducing \
         valve with all taps shut; after it the expansion relief's setting, to which the heated water \
         may bring it; of a closed circuit its safety valve's setting. BS EN 806-4 tests at 1.1 times \
         the design pressure, which may be more: say which was used.",
    );
}

/// A sealed heating circuit, not a solar one alone.
pub fn heats(system: &System) -> bool {
    system.pipes.iter().any(|p| p.service == Service::HeatingFlow)
}

pub fn has_solar(system: &System) -> bool {
    system.pipes.iter().any(|p| p.service == Service::SolarFlow)
}

/// On the solar circuit.
fn is_solar(system: &System, part: PartIx) -> bool {
    let solar = |s: Service| matches!(s, Service::SolarFlow | Service::SolarReturn);
    system.pipes_of(part).any(|p| solar(system.pipe(p).service))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Water Supply (Water Fittings) Regulations 1999, Schedule 2, paragraph 12: 1.5 times the maximum
    /// operating pressure; behind a 3 bar reducer and a 6 bar relief that is 9 bar, not 4.5.
    #[test]
    fn what_the_heated_water_may_come_to_is_tested() {
        let text = "cylinder litres=210 heated=\"electric\"\noutlets { bath; basin }\n";
        let system = crate::complete::complete(&crate::describe::read(text).facts).system;
        let relief = system.of_kind("expansion relief valve").next().unwrap().1.number("setting");
        let highest = highest_behind_the_reducer(&system);
        assert_eq!((highest, highest), (relief, Some(6.0)));
        assert_eq!(test_pressures(6.0, &system.rules).0, 9.0);
    }
}
