//! WAT: Water Supply (Water Fittings) Regulations 1999; common practice where the rule says so.

use firstfix::catalogue::Kind;
use firstfix::check::Severity::{Advice, Error, Warning};
use firstfix::model::{Datum, Service, Value};

use super::build::{Build, fires, silent, sound};
use super::systems::{direct, indirect};

#[test]
fn wat01_no_check_valve() {
    let mut b = indirect();
    b.take_out("NRV");
    let r = b.check();
    fires(&r, "WAT01", Error, "CYL");
    silent(&r, "WAT13");
}

#[test]
fn wat02_and_03_unbalanced_shower() {
    let mut b = indirect();
    let shower = b.ix("SHR");
    let cold = b.system.part(shower).kind.port("cold").unwrap();
    b.system.pipes.retain(|p| !(p.to.part == shower && p.to.port == cold));
    b.put_before("STR", "T-x", "tee");
    b.run(Service::ColdMain, &["T-x.branch", "SHR.cold"]);
    b.set("MAIN", "static", 4.2);
    let r = b.check();
    fires(&r, "WAT02", Error, "SHR");
    let f = fires(&r, "WAT03", Warning, "SHR");
    assert_eq!(f.found, Some(1.2));
    // More than twice is an error.
    b.set("MAIN", "static", 6.5);
    fires(&b.check(), "WAT03", Error, "SHR");
    // A main that is only assumed makes it advice.
    b.assume("MAIN", "static", 6.5);
    assert!(fires(&b.check(), "WAT03", Advice, "SHR").assumed);
}

#[test]
fn wat02_one_reducer_for_the_house_is_balance_enough() {
    let mut b = indirect();
    b.put_before("T-kit", "PRV0", "reducing valve");
    b.put_before("PRV0", "STR0", "strainer");
    b.set("PRV0", "setting", 3.0);
    sound(&b.check());
}

#[test]
fn wat04_filling_without_double_check() {
    let mut b = indirect();
    b.take_out("DCV");
    fires(&b.check(), "WAT04", Error, "FL");
    b.declare("FL", "double check valve inside");
    silent(&b.check(), "WAT04");
    b.word("FL", "connection", "permanent");
    fires(&b.check(), "WAT04", Error, "FL");
}

#[test]
fn wat13_cross_connection() {
    let mut b = indirect();
    b.take_out("DCV");
    b.get("FL").kind = Kind::known("lever valve");
    let r = b.check();
    fires(&r, "WAT13", Error, "T-fl");
    silent(&r, "WAT04");
}

/// A store with a return loop: pump, check valve, lagged pipe, timer.
pub fn looped() -> Build {
    let mut b = indirect();
    b.put_before("T-sh", "T-loop", "tee");
    b.add("SP", "secondary pump");
    b.add("NRV-R", "check valve");
    b.add("CTM", "circulation timer");
    let first =
        b.run(Service::HotReturn, &["T-loop.branch", "SP", "NRV-R", "CYL.secondary return"]);
    for p in &mut b.system.pipes[first..] {
        p.lagging = Some(Value::stated(20.0, 0..0));
    }
    b
}

#[test]
fn wat05_return_without_check_valve() {
    let mut b = looped();
    sound(&b.check());
    b.take_out("NRV-R");
    fires(&b.check(), "WAT05", Error, "SP");
}

#[test]
fn wat06_softener_and_drinking_tap() {
    let mut b = indirect();
    b.put_before("SV", "SFT", "softener");
    sound(&b.check());
    // The sink moved behind the softener.
    let sink = b.ix("SINK");
    let cold = b.system.part(sink).kind.port("cold").unwrap();
    b.system.pipes.retain(|p| !(p.to.part == sink && p.to.port == cold));
    b.put_before("STR", "T-soft", "tee");
    b.run(Service::ColdSoftened, &["T-soft.branch", "SINK.cold"]);
    fires(&b.check(), "WAT06", Warning, "SFT");
    b.add("HT", "hard tap");
    b.run(Service::ColdMain, &["T-kit.branch", "HT.cold"]);
    silent(&b.check(), "WAT06");
}

#[test]
fn wat07_booster_on_the_main() {
    let mut b = indirect();
    b.put_before("SV", "BP", "booster pump");
    b.set("BP", "litres-a-minute", 30.0);
    fires(&b.check(), "WAT07", Error, "BP");
    b.set("BP", "litres-a-minute", 12.0);
    silent(&b.check(), "WAT07");
    b.set("BP", "litres-a-minute", 30.0);
    b.put_before("BP", "BT", "break tank");
    silent(&b.check(), "WAT07");
}

#[test]
fn wat08_no_drain_or_stop() {
    let mut b = indirect();
    let dc = b.ix("DC");
    b.system.pipes.retain(|p| p.to.part != dc);
    fires(&b.check(), "WAT08", Warning, "CYL");
    let mut b = direct();
    b.take_out("SV");
    fires(&b.check(), "WAT08", Warning, "CYL");
}

/// What checks the flow between cock and store keeps the water in it; so does a cock that hangs above
/// the store's cold port, in the cupboard as it is laid out.
#[test]
fn wat08_drain_that_does_not_empty_the_store() {
    let mut b = indirect();
    silent(&b.check(), "WAT08");
    for (z, said) in [(180.0, false), (900.0, true)] {
        b.drained(("cold", 200.0), "DC", z);
        if said {
            fires(&b.check(), "WAT08", Warning, "DC");
        } else {
            silent(&b.check(), "WAT08");
        }
    }
    let mut b = indirect();
    b.put_before("CYL", "NRV9", "check valve");
    fires(&b.check(), "WAT08", Warning, "CYL");
}

/// A tee to the kitchen before the only stop valve: the sink runs on with it shut. Water Supply
/// (Water Fittings) Regulations 1999, Schedule 2, paragraph 11, from memory.
#[test]
fn wat08_tap_before_the_stop_valve() {
    let mut b = indirect();
    let (entry, sv) = (b.ix("SV-in"), b.ix("SV"));
    assert!(b.system.runs_past(entry).is_empty());
    let sink = b.ix("SINK");
    assert_eq!(b.system.runs_past(sv), [sink]);
    b.take_out("SV-in");
    fires(&b.check(), "WAT08", Warning, "SINK");
}

#[test]
fn wat09_weak_main() {
    let mut b = indirect();
    b.set("MAIN", "at", 20.0);
    b.set("MAIN", "dynamic", 1.2);
    let r = b.check();
    assert_eq!(fires(&r, "WAT09", Warning, "MAIN").margin, Some(-0.3));
    b.assume("MAIN", "dynamic", 1.2);
    fires(&b.check(), "WAT09", Advice, "MAIN");
    b.set("MAIN", "dynamic", 2.0);
    b.set("MAIN", "at", 15.0);
    fires(&b.check(), "WAT09", Warning, "MAIN");
    // By hand: 4 - (4 - 3.5) (20/12)^2 = 2.61 bar at 20 l/min from a reading at 12; and
    // 4 - (4 - 1.3) (20/30)^2 = 2.80 bar from one at 30.
    b.set("MAIN", "static", 4.0);
    for (dynamic, at, found) in [(3.5, 12.0, 2.61), (1.3, 30.0, 2.8)] {
        b.set("MAIN", "dynamic", dynamic);
        b.set("MAIN", "at", at);
        let r = b.check();
        silent(&r, "WAT09");
        assert!(r.passes.iter().any(|p| p.rule == "WAT09" && p.found == Some(found)));
    }
}

#[test]
fn wat10_strong_main() {
    let mut b = indirect();
    b.set("MAIN", "static", 10.5);
    fires(&b.check(), "WAT10", Warning, "MAIN");
    b.set("MAIN", "static", 9.0);
    b.set("PRV", "max-inlet", 8.0);
    fires(&b.check(), "WAT10", Warning, "PRV");
    let mut b = indirect();
    b.add("ACC", "accumulator");
    b.set("ACC", "max-pressure", 3.0);
    fires(&b.check(), "WAT10", Warning, "ACC");
    b.set("ACC", "max-pressure", 8.0);
    silent(&b.check(), "WAT10");
}

#[test]
fn wat11_no_strainer() {
    let mut b = indirect();
    b.take_out("STR");
    fires(&b.check(), "WAT11", Warning, "PRV");
}

#[test]
fn wat12_hard_water() {
    let mut b = indirect();
    b.set("MAIN", "hardness", 280.0);
    fires(&b.check(), "WAT12", Advice, "CYL");
    b.put_before("STR", "SCR", "scale reducer");
    silent(&b.check(), "WAT12");
}

/// Two bare pipes side by side on the back wall.
#[test]
fn wat14_cold_beside_hot() {
    let mut b = indirect();
    b.cupboard(1000.0, 800.0, 2400.0);
    b.route("PRV", "T-bal", &[[100.0, 30.0, 200.0], [100.0, 30.0, 1200.0]]);
    b.route("CYL", "T-sh", &[[150.0, 30.0, 200.0], [150.0, 30.0, 1200.0]]);
    // Centres 50 mm apart: 28 mm between the outsides.
    let r = b.check();
    let id = b.pipe("PRV", "T-bal").id.clone();
    let f = fires(&r, "WAT14", Warning, &id);
    assert_eq!(f.found, Some(28.0));
    b.plan.as_mut().unwrap().routes[1].lagging = 20.0;
    silent(&b.check(), "WAT14");
    b.plan.as_mut().unwrap().routes[1].lagging = 0.0;
    for p in &mut b.plan.as_mut().unwrap().routes[1].points {
        p.x = 175.0;
    }
    silent(&b.check(), "WAT14");
}

/// Guidance Table 8.1: 12 m of 22 mm; lagged pipe does not count.
#[test]
fn wat15_dead_leg() {
    let mut b = indirect();
    let widest = [("widest pipe", 22.0)];
    b.figure("outlet.dead-leg", "SINK", 12.0, &widest);
    silent(&b.check(), "WAT15");
    b.figure("outlet.dead-leg", "SINK", 12.5, &widest);
    let r = b.check();
    assert_eq!(fires(&r, "WAT15", Warning, "SINK").margin, Some(-0.5));
}

/// 12 m of 22 mm to a basin keeps to the length and still takes 38 s.
#[test]
fn wat16_waiting() {
    let mut b = indirect();
    b.figure("outlet.waiting", "SINK", 38.0, &[]);
    let r = b.check();
    assert_eq!(fires(&r, "WAT16", Warning, "SINK").margin, Some(-8.0));
    b.figure("outlet.waiting", "SINK", 30.0, &[]);
    silent(&b.check(), "WAT16");
    // 21.5 s of plug flow are 28 to 43 s with the heat that the pipe takes.
    b.figure("outlet.waiting", "SINK", 27.95, &[("V/q", 21.5), ("latest", 43.0)]);
    let r = b.check();
    assert_eq!(fires(&r, "WAT16", Advice, "SINK").margin, Some(-13.0));
    b.figure("outlet.waiting", "SINK", 18.2, &[("V/q", 14.0), ("latest", 28.0)]);
    silent(&b.check(), "WAT16");
}

#[test]
fn wat17_service_valves() {
    let mut b = indirect();
    b.put_before("SHR", "TMV", "blending valve");
    fires(&b.check(), "WAT17", Warning, "TMV");
    b.put_before("TMV", "IV1", "service valve");
    silent(&b.check(), "WAT17");
}

#[test]
fn wat18_residual_pressure() {
    let mut b = indirect();
    b.figure("outlet.pressure-hot", "SHR", 0.8, &[]);
    let r = b.check();
    assert_eq!(fires(&r, "WAT18", Warning, "SHR").margin, Some(-0.2));
    b.set("SHR", "min-pressure", 0.7);
    silent(&b.check(), "WAT18");
    // No pressure is less than none, and who has an accumulator is not sold another.
    b.figure("outlet.pressure-hot", "SHR", -0.3, &[]);
    b.add("ACC", "accumulator");
    let r = b.check();
    let f = fires(&r, "WAT18", Warning, "SHR");
    assert_eq!((f.found, f.margin), (Some(0.0), Some(-0.7)));
    assert!(f.title.contains("does not come") && !f.title.contains("-0.3"), "{}", f.title);
    assert!(f.mend.contains("ACC") && !f.mend.contains("fit an accumulator"), "{}", f.mend);
}

/// Boyle: 150 l charged to 3.5 bar hold 150 (1 - 4.5/5.4) = 25 l of water at 4.4 bar, 17 %; charged
/// to 2 bar 66.7 l, 44 %.
#[test]
fn wat20_accumulator_full_of_air() {
    let mut b = indirect();
    b.set("MAIN", "static", 4.4);
    b.add("ACC", "accumulator");
    b.set("ACC", "litres", 150.0);
    b.set("ACC", "charge", 3.5);
    let r = b.check();
    let f = fires(&r, "WAT20", Warning, "ACC");
    assert!((f.found.unwrap() - 16.667).abs() < 0.01, "{f:?}");
    assert!(f.title.starts_with("25 of 150 l"), "{}", f.title);
    b.set("ACC", "charge", 2.0);
    silent(&b.check(), "WAT20");
    b.assume("ACC", "charge", 4.4);
    fires(&b.check(), "WAT20", Advice, "ACC");
}

/// Northern Ireland wants cold water below 20 °C, the others 25 °C.
#[test]
fn wat14_nation() {
    let mut b = indirect();
    b.system.rules.jurisdiction = Value::stated("northern-ireland".to_owned(), 0..0);
    b.cupboard(1000.0, 800.0, 2400.0);
    b.route("PRV", "T-bal", &[[100.0, 30.0, 200.0], [100.0, 30.0, 1200.0]]);
    b.route("CYL", "T-sh", &[[150.0, 30.0, 200.0], [150.0, 30.0, 1200.0]]);
    let r = b.check();
    let id = b.pipe("PRV", "T-bal").id.clone();
    assert!(fires(&r, "WAT14", Warning, &id).title.contains("below 20 °C"));
    b.dwelling("floor-area", Datum::Number(90.0));
}

/// Water Supply (Water Fittings) Regulations 1999, Schedule 2, paragraph 15: fluid category 3 behind
/// a hose.
#[test]
fn wat19_outside_tap_on_the_main() {
    let mut b = indirect();
    b.put_before("STR", "T-ot", "tee");
    b.add("OT", "outside tap");
    b.run(Service::ColdMain, &["T-ot.branch", "OT.cold"]);
    fires(&b.check(), "WAT19", Error, "OT");
    // A double check valve before the branch guards the main, not the house from the hose.
    b.put_before("T-ot", "DCV-main", "double check valve");
    fires(&b.check(), "WAT19", Error, "OT");
    b.put_before("OT", "DCV-ot", "double check valve");
    silent(&b.check(), "WAT19");
    b.take_out("DCV-ot");
    b.declare("OT", "double check valve inside");
    silent(&b.check(), "WAT19");
}
