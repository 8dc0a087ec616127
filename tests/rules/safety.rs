//! SAF: Approved Document G, section 3; HSG274; common practice where the rule says so.

use firstfix::check::Severity::{Advice, Error, Warning};
use firstfix::model::{Datum, Service};

use super::build::{fires, silent, sound};
use super::systems::{direct, indirect};

#[test]
fn saf01_store_without_relief() {
    let mut b = indirect();
    b.get("TPRV").on = None;
    let at = b.ix("TPRV");
    b.system.pipes.retain(|p| p.to.part != at);
    fires(&b.check(), "SAF01", Error, "CYL");
    // 15 l or less is outside the rule.
    b.set("CYL", "litres", 10.0);
    silent(&b.check(), "SAF01");
}

#[test]
fn saf01_relief_below_the_top_fifth() {
    let mut b = indirect();
    b.set("CYL", "port.relief.height", 1000.0);
    fires(&b.check(), "SAF01", Warning, "CYL");
    b.assume("CYL", "port.relief.height", 1000.0);
    assert!(fires(&b.check(), "SAF01", Advice, "CYL").assumed);
}

#[test]
fn saf02_source_without_cut_out() {
    let mut b = direct();
    b.get("COT2").on = Some(b.ix("CYL"));
    fires(&b.check(), "SAF02", Error, "IM2");
    b.word("COT2", "guards", "IM2");
    silent(&b.check(), "SAF02");
    b.word("COT2", "reset", "automatic");
    fires(&b.check(), "SAF02", Error, "COT2");

    let mut b = indirect();
    b.word("COT", "guards", "IM");
    fires(&b.check(), "SAF02", Error, "CYL");
}

#[test]
fn saf03_coil_without_motor_valve() {
    let mut b = indirect();
    b.take_out("ZV1");
    let r = b.check();
    fires(&r, "SAF03", Error, "CYL");
    silent(&r, "SAF11");
    silent(&r, "SAF13");
}

#[test]
fn saf04_valve_between_relief_and_tundish() {
    let mut b = indirect();
    b.put_before("TUN", "LV", "lever valve");
    fires(&b.check(), "SAF04", Error, "LV");
    let mut b = indirect();
    b.put_before("TPRV", "NRV9", "check valve");
    fires(&b.check(), "SAF04", Error, "NRV9");
}

#[test]
fn saf05_valve_between_store_and_expansion_relief() {
    let mut b = indirect();
    b.put_before("T-ev", "LV", "lever valve");
    fires(&b.check(), "SAF05", Error, "LV");
    // Upstream of the group it does no harm.
    let mut b = indirect();
    b.put_before("STR", "LV", "lever valve");
    sound(&b.check());
    let mut b = indirect();
    let erv = b.ix("ERV");
    b.system.pipes.retain(|p| p.to.part != erv);
    fires(&b.check(), "SAF05", Error, "CYL");
}

#[test]
fn saf06_pressures_out_of_order() {
    let mut b = indirect();
    b.set("PRV", "setting", 5.5);
    b.set("EV", "charge", 5.5);
    let r = b.check();
    let f = fires(&r, "SAF06", Error, "PRV");
    assert_eq!(f.found, Some(0.5));
    assert_eq!(f.margin, Some(-0.5));
    // The expansion relief has to open first; level with the other it may not, above it will not.
    let mut b = indirect();
    b.set("ERV", "setting", 7.0);
    b.set("TPRV", "setting", 7.0);
    let r = b.check();
    let f = fires(&r, "SAF06", Warning, "TPRV");
    assert_eq!((f.found, f.limit, f.margin), (Some(7.0), Some(7.0), Some(0.0)));
    b.set("TPRV", "setting", 6.0);
    let r = b.check();
    assert_eq!(fires(&r, "SAF06", Error, "TPRV").margin, Some(-1.0));
    let mut b = indirect();
    b.assume("TPRV", "setting", 10.0);
    assert!(fires(&b.check(), "SAF06", Advice, "TPRV").assumed);
}

#[test]
fn saf07_stove_on_the_coil() {
    let mut b = indirect();
    b.add("UCS", "uncontrolled source");
    b.put_before("T-aav", "T-u", "tee");
    b.run(Service::HeatingFlow, &["UCS.flow", "T-u.branch"]);
    fires(&b.check(), "SAF07", Error, "UCS");
}

#[test]
fn saf08_beyond_a_package() {
    let mut b = indirect();
    b.set("CYL", "litres", 600.0);
    fires(&b.check(), "SAF08", Warning, "CYL");
    b.system.job.fields.insert("designer".to_owned(), "R. Penhale".to_owned());
    silent(&b.check(), "SAF08");
    let mut b = indirect();
    b.set("CYL", "coil-kw", 50.0);
    let r = b.check();
    assert_eq!(fires(&r, "SAF08", Warning, "CYL").found, Some(53.0));
}

#[test]
fn saf09_store_too_cool() {
    let mut b = indirect();
    b.set("CYL", "stored", 50.0);
    fires(&b.check(), "SAF09", Warning, "CYL");
    b.word("CYL", "cycle", "weekly to 60 °C");
    silent(&b.check(), "SAF09");
    // Somebody must be able to do it: the element, or a boiler that is hotter than 60 °C.
    b.get("IM").on = None;
    b.set("BLR", "flow", 55.0);
    fires(&b.check(), "SAF09", Warning, "CYL");
    b.set("BLR", "flow", 70.0);
    silent(&b.check(), "SAF09");
    // An element that only a hand switch starts does no weekly cycle by itself.
    let cylinder = b.ix("CYL");
    b.get("IM").on = Some(cylinder);
    b.set("BLR", "flow", 55.0);
    let r = b.check();
    assert!(fires(&r, "SAF09", Advice, "CYL").title.contains("nothing drawn starts it"));
}

/// What holds on an assumed value says so: a surveyor reads a line without it as proved.
#[test]
fn what_holds_on_an_assumed_value_is_marked() {
    let text = "cylinder litres=210 heated=\"electric\"\noutlets { bath; basin }\n";
    let judge = |text: &str| {
        let system = firstfix::complete::complete(&firstfix::describe::read(text).facts).system;
        firstfix::check::check(&firstfix::size::size(&system), None, None)
    };
    let pass = |text: &str, rule: &str| {
        let r = judge(text);
        r.passes.iter().find(|f| f.rule == rule).unwrap_or_else(|| panic!("{rule}")).assumed
    };
    assert!(pass(text, "SAF09"));
    assert!(!pass(&text.replace("litres=210", "litres=210 stored=60"), "SAF09"));
}

#[test]
fn saf10_bath_of_a_new_dwelling() {
    let mut b = indirect();
    b.add("BTH", "bath");
    b.put_before("SINK", "T-bath", "tee");
    b.run(Service::HotWater, &["T-bath", "BTH.hot"]);
    silent(&b.check(), "SAF10");
    b.dwelling("new-dwelling", Datum::Flag(true));
    fires(&b.check(), "SAF10", Error, "BTH");
    b.put_before("BTH", "TMV", "blending valve");
    b.set("TMV", "setting", 50.0);
    fires(&b.check(), "SAF10", Error, "BTH");
    b.set("TMV", "setting", 48.0);
    silent(&b.check(), "SAF10");
}

#[test]
fn saf11_diverter_alone() {
    let mut b = indirect();
    b.take_out("ZV1");
    b.put_before("T-aav", "DV", "three-port diverter");
    let r = b.check();
    fires(&r, "SAF11", Error, "DV");
    silent(&r, "SAF03");
}

#[test]
fn saf12_safety_valve_over_coil_rating() {
    let mut b = indirect();
    b.set("PSV", "setting", 6.0);
    fires(&b.check(), "SAF12", Warning, "PSV");
    // What the plate of the coil says counts, though the valve's is not read.
    let mut b = indirect();
    b.set("CYL", "coil-pressure", 2.5);
    b.assume("PSV", "setting", 3.0);
    fires(&b.check(), "SAF12", Warning, "PSV");
    b.assume("CYL", "coil-pressure", 2.5);
    fires(&b.check(), "SAF12", Advice, "PSV");
}

#[test]
fn saf13_motor_valve_on_the_return() {
    let mut b = indirect();
    b.take_out("ZV1");
    b.put_before("T-r1", "ZV9", "zone valve");
    fires(&b.check(), "SAF13", Warning, "ZV9");
}

#[test]
fn saf14_solar_pump_without_cut_out() {
    let mut b = solar_store();
    sound(&b.check());
    b.word("COT-S", "guards", "boiler");
    fires(&b.check(), "SAF14", Error, "CYL");
}

/// A twin-coil cylinder with both coils fed.
pub fn solar_store() -> super::build::Build {
    use Service::*;
    let mut b = indirect();
    b.get("CYL").kind = firstfix::catalogue::Kind::known("twin-coil cylinder");
    b.on("CYL", "COT-S", "overheat cut-out");
    b.word("COT-S", "guards", "solar");
    b.set("CYL", "solar-litres", 90.0);
    b.set("CYL", "max-stored", 65.0);
    b.add("SOL", "solar collector");
    b.set("SOL", "area", 4.0);
    b.add("SPS", "solar pump station");
    b.declare("SPS", "check valve inside");
    for t in ["T-s1", "T-s2"] {
        b.add(t, "tee");
    }
    b.add("PSV-S", "safety valve");
    b.set("PSV-S", "setting", 6.0);
    b.add("SEV", "solar vessel");
    b.set("SEV", "litres", 25.0);
    b.add("CON", "container");
    b.run(SolarFlow, &["SOL.flow", "CYL.solar flow"]);
    b.run(SolarReturn, &["CYL.solar return", "T-s1.a", "T-s2.a", "SPS", "SOL.return"]);
    b.run(SolarReturn, &["T-s1.branch", "PSV-S.in"]);
    b.run(SolarReturn, &["T-s2.branch", "SEV.in"]);
    b.run(Drain, &["PSV-S.discharge", "CON.in"]);
    b
}
