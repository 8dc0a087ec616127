//! More pressure or flow than the main gives. In: booster, break tank, accumulator. Out: the run
//! from the main through them. A pump that draws more than 12 l/min straight from the main needs
//! the water company's word (Water Supply (Water Fittings) Regulations 1999, reg. 5); behind a
//! break tank it does not touch the main.

use super::given::{attrs, place};
use super::net::{Line, Net};
use super::survey::Survey;
use crate::catalogue::Kind;
use crate::describe::facts::EquipmentFacts;
use crate::model::{PartIx, Service};

const BOOSTERS: [&str; 3] = ["booster", "booster set", "booster pump"];

pub fn stated(survey: &Survey) -> bool {
    survey.has(&BOOSTERS) || survey.has(&["accumulator", "break tank"])
}

pub fn booster(net: &mut Net, survey: &Survey, line: &mut Line) {
    let house = "the house";
    let tank = survey.equipment(&["break tank"]).next();
    if let Some(facts) = tank {
        let valve = net.add_elsewhere("service valve", "break tank service valve", house);
        net.through(line, valve);
        let ix = item(net, facts, "break tank", "break tank");
        fill(net, ix, "litres", "break tank", 250.0, "l");
        let mut a = std::mem::take(&mut net.part_mut(ix).attrs);
        for (key, what, value) in [
            ("overflow", "break tank overflow", "overflow to outside"),
            ("warning-pipe", "break tank warning pipe", "warning pipe in sight"),
        ] {
            let why = "Water Supply (Water Fittings) Regulations 1999, schedule 2, paragraph 16 \
                       (from memory): a cistern has both; to be proved on site";
            net.ledger.fill_text(&mut a, key, what, value, why);
        }
        net.part_mut(ix).attrs = a;
        net.through(line, ix);
        line.serving(Service::ColdBoosted);
    }
    let pump = survey.equipment(&BOOSTERS).next();
    if pump.is_some() || tank.is_some() {
        let valve = net.add_elsewhere("lever valve", "booster valve in", house);
        net.through(line, valve);
        let ix = match pump {
            Some(facts) => item(net, facts, "booster pump", "booster"),
            None => {
                net.ledger.stand(
                    "booster pump",
                    "one, after the break tank",
                    "a break tank has no pressure of its own",
                );
                let ix = net.add("booster pump", "booster");
                net.part_mut(ix).place.elsewhere = Some(house.to_owned());
                ix
            }
        };
        fill(net, ix, "head", "booster head", 30.0, "m");
        fill(
            net,
            ix,
            "litres-a-minute",
            "booster flow",
            if tank.is_some() { 40.0 } else { 12.0 },
            "l/min",
        );
        net.through(line, ix);
        line.serving(Service::ColdBoosted);
        let check = net.add_elsewhere("check valve", "booster check valve", house);
        net.through(line, check);
        let valve = net.add_elsewhere("lever valve", "booster valve out", house);
        net.through(line, valve);
    }
    if let Some(facts) = survey.equipment(&["accumulator"]).next() {
        if pump.is_none() && tank.is_none() {
            // Filled by the main at night, kept from flowing back by day.
            let check = net.add_elsewhere("check valve", "accumulator check valve", house);
            net.through(line, check);
        }
        let at = net.tee(line, "accumulator tee", Some(house));
        let ix = item(net, facts, "accumulator", "accumulator");
        fill(net, ix, "litres", "accumulator", 300.0, "l");
        fill(net, ix, "charge", "accumulator charge", 1.5, "bar");
        let valve = net.add_elsewhere("lever valve", "accumulator valve", house);
        let mut branch = net.line("accumulator branch", line.service, at);
        net.through(&mut branch, valve);
        let to = net.port(ix, "in");
        net.end(&mut branch, to);
    }
}

/// A part for an equipment line; elsewhere unless the line places it in the cupboard.
pub fn item(net: &mut Net, facts: &EquipmentFacts, kind: &str, name: &str) -> PartIx {
    let kind = Kind::known(kind);
    let ix = net.add_kind(kind, name);
    let part = net.part_mut(ix);
    part.attrs = attrs(&facts.properties, kind);
    part.place = place(&facts.place);
    part.declared = facts.declared.iter().map(|d| d.value.clone()).collect();
    part.span = facts.span.clone();
    let inside = part.place.x.is_some()
        || part.place.z.is_some()
        || facts.place.in_cupboard.as_ref().is_some_and(|c| c.value);
    if part.place.elsewhere.is_none() && !inside {
        part.place.elsewhere = Some("the house".to_owned());
    }
    ix
}

fn fill(net: &mut Net, ix: PartIx, key: &str, what: &str, value: f64, unit: &str) {
    let mut a = std::mem::take(&mut net.part_mut(ix).attrs);
    net.ledger.fill(&mut a, key, what, value, unit, "common practice: usual size; read the plate");
    net.part_mut(ix).attrs = a;
}
