//! Sound systems to start from; each test breaks one thing.

use firstfix::model::{Datum, Service};

use super::build::Build;

/// A main of that static and dynamic pressure (bar) and flow (l/min), led through these stops, and
/// the group between it and the cylinder with a vessel of so many litres.
fn cold(b: &mut Build, main: [f64; 3], vessel: f64, stops: &[&str]) {
    use Service::*;
    for t in ["T-bal", "T-erv", "T-ev", "T-dc"] {
        b.add(t, "tee");
    }
    b.add("MAIN", "water main");
    for (key, value) in ["static", "dynamic", "at"].into_iter().zip(main) {
        b.set("MAIN", key, value);
    }
    b.add("SV", "stop valve");
    b.add("STR", "strainer");
    b.add("PRV", "reducing valve");
    b.set("PRV", "setting", 3.0);
    b.add("NRV", "check valve");
    b.add("ERV", "expansion relief valve");
    b.set("ERV", "setting", 6.0);
    b.add("EV", "hot-water vessel");
    b.set("EV", "litres", vessel);
    b.set("EV", "charge", 3.0);
    b.add("DC", "drain cock");
    b.run(ColdMain, stops);
    b.run(ColdBalanced, &["PRV", "T-bal.a"]);
    b.run(ColdFeed, &["T-bal.b", "NRV", "T-erv.a", "T-ev.a", "T-dc.a", "CYL.cold"]);
    b.run(ColdFeed, &["T-erv.branch", "ERV.in"]);
    b.run(ColdFeed, &["T-ev.branch", "EV.in"]);
    b.run(ColdFeed, &["T-dc.branch", "DC.in"]);
}

/// An indirect cylinder fed by a system boiler with two radiator zones, external vessel, its own
/// inlet group, one tundish for both reliefs as supplied with the package.
pub fn indirect() -> Build {
    let mut b = Build::new();
    use Service::*;
    b.add("CYL", "indirect cylinder");
    for (key, v) in [
        ("litres", 210.0),
        ("diameter", 550.0),
        ("height", 1500.0),
        ("coil-kw", 20.0),
        ("coil-pressure", 3.0),
        ("working-pressure", 7.0),
        ("stored", 60.0),
        ("port.relief.height", 1300.0),
    ] {
        b.set("CYL", key, v);
    }
    b.on("CYL", "TPRV", "temperature and pressure relief valve");
    b.on("CYL", "COT", "overheat cut-out");
    b.on("CYL", "CT", "cylinder thermostat");
    b.on("CYL", "IM", "immersion heater");
    b.set("IM", "kw", 3.0);
    b.set("IM", "length", 400.0);
    b.declare("IM", "own cut-out");
    b.declare("IM", "own thermostat");
    for t in ["T-fill", "T-D1", "T-psv", "T-hv", "T-fl", "T-z1"] {
        b.add(t, "tee");
    }
    for t in ["T-z2", "T-r1", "T-r2", "T-abv1", "T-abv2", "T-sh", "T-aav", "T-pdc", "T-kit"] {
        b.add(t, "tee");
    }
    // Cold.
    b.add("SV-in", "stop valve");
    cold(
        &mut b,
        [4.0, 3.0, 24.0],
        24.0,
        &["MAIN", "SV-in", "T-kit", "SV", "T-fill.a", "STR", "PRV"],
    );
    b.set("MAIN", "hardness", 120.0);
    b.add("SINK", "kitchen sink");
    b.add("SHR", "shower");
    b.run(ColdMain, &["T-kit.branch", "SINK.cold"]);
    b.run(ColdBalanced, &["T-bal.branch", "SHR.cold"]);
    b.run(HotWater, &["CYL.hot", "T-sh.a", "SHR.hot"]);
    b.run(HotWater, &["T-sh.branch", "SINK.hot"]);
    // Discharge.
    b.run(HotWater, &["CYL.relief", "TPRV.in"]);
    b.set("TPRV", "setting", 7.0);
    b.set("TPRV", "temperature", 90.0);
    b.set("TPRV", "outlet", 0.5);
    b.set("ERV", "outlet", 0.5);
    b.add("TUN", "tundish");
    b.declare("T-D1", "supplied with the package");
    b.run(Discharge1, &["TPRV.discharge", "T-D1.a", "TUN.in"]);
    b.run(Discharge1, &["ERV.discharge", "T-D1.branch"]);
    b.add("GY", "trapped gully");
    b.run(Discharge2, &["TUN.out", "GY.in"]);
    b.long("TPRV", "T-D1", 0.2, 1.0);
    b.long("T-D1", "TUN", 0.2, 0.0);
    b.long("TUN", "GY", 4.0, 3.0);
    b.set("TUN", "first-drop", 320.0);
    b.set("TUN", "fall", 100.0);
    b.get("GY").place.elsewhere = Some("outside".to_owned());
    // Heating.
    b.add("BLR", "system boiler");
    b.set("BLR", "kw", 24.0);
    b.set("BLR", "min-kw", 5.0);
    b.set("BLR", "flow", 70.0);
    b.set("BLR", "return", 50.0);
    b.get("BLR").place.elsewhere = Some("kitchen".to_owned());
    b.add("PSV", "safety valve");
    b.set("PSV", "setting", 3.0);
    b.add("HV", "heating vessel");
    b.set("HV", "litres", 18.0);
    b.set("HV", "charge", 1.0);
    b.add("P", "pump");
    b.add("ABV", "bypass valve");
    b.add("ZV1", "zone valve");
    b.add("ZV2", "zone valve");
    b.add("ZV3", "zone valve");
    b.add("RAD1", "radiator circuit");
    b.add("RAD2", "radiator circuit");
    b.set("RAD1", "kw", 6.0);
    b.set("RAD2", "kw", 5.0);
    b.word("RAD1", "room", "bedrooms");
    b.word("RAD1", "thermostatic-valves", "all");
    b.add("AAV", "automatic air vent");
    b.add("MF", "magnetic filter");
    b.add("PDC", "drain cock");
    b.run(
        HeatingFlow,
        &[
            "BLR.flow", "T-psv.a", "T-hv.a", "P", "T-abv1.a", "T-z1.a", "T-z2.a", "ZV1", "T-aav.a",
            "CYL.flow",
        ],
    );
    b.run(HeatingFlow, &["T-psv.branch", "PSV.in"]);
    b.run(HeatingFlow, &["T-hv.branch", "HV.in"]);
    b.run(HeatingFlow, &["T-aav.branch", "AAV.in"]);
    b.run(HeatingFlow, &["T-z1.branch", "ZV2", "RAD1.flow"]);
    b.run(HeatingFlow, &["T-z2.branch", "ZV3", "RAD2.flow"]);
    b.run(
        HeatingReturn,
        &["CYL.return", "T-r1.a", "T-r2.a", "T-abv2.a", "T-pdc.a", "T-fl.a", "MF", "BLR.return"],
    );
    b.run(HeatingReturn, &["RAD1.return", "T-r1.branch"]);
    b.run(HeatingReturn, &["RAD2.return", "T-r2.branch"]);
    b.run(HeatingFlow, &["T-abv1.branch", "ABV", "T-abv2.branch"]);
    b.run(HeatingReturn, &["T-pdc.branch", "PDC.in"]);
    // Filling.
    b.add("FL", "filling loop");
    b.add("DCV", "double check valve");
    b.word("FL", "connection", "temporary");
    b.run(Filling, &["T-fill.branch", "DCV", "FL", "T-fl.branch"]);
    b.add("PSV-end", "low-level outlet");
    b.run(Drain, &["PSV.discharge", "PSV-end.in"]);
    b.dwelling("floor-area", Datum::Number(95.0));
    b
}

/// A direct electric cylinder with two elements.
pub fn direct() -> Build {
    let mut b = Build::new();
    use Service::*;
    b.add("CYL", "direct cylinder");
    b.set("CYL", "litres", 170.0);
    b.set("CYL", "stored", 60.0);
    b.set("CYL", "working-pressure", 7.0);
    b.on("CYL", "TPRV", "temperature and pressure relief valve");
    b.set("TPRV", "setting", 7.0);
    b.set("TPRV", "outlet", 0.5);
    for (heater, cut_out) in [("IM1", "COT1"), ("IM2", "COT2")] {
        b.on("CYL", heater, "immersion heater");
        b.set(heater, "kw", 3.0);
        b.on(heater, cut_out, "overheat cut-out");
    }
    cold(&mut b, [3.5, 2.5, 25.0], 18.0, &["MAIN", "SV", "STR", "PRV"]);
    b.set("ERV", "outlet", 0.5);
    b.run(HotWater, &["CYL.relief", "TPRV.in"]);
    b.add("SHR", "shower");
    b.run(ColdBalanced, &["T-bal.branch", "SHR.cold"]);
    b.run(HotWater, &["CYL.hot", "SHR.hot"]);
    for (valve, tundish, end) in [("TPRV", "TUN1", "GY1"), ("ERV", "TUN2", "GY2")] {
        b.add(tundish, "tundish");
        b.add(end, "trapped gully");
        let from = format!("{valve}.discharge");
        b.run(Discharge1, &[&from, &format!("{tundish}.in")]);
        b.run(Discharge2, &[&format!("{tundish}.out"), &format!("{end}.in")]);
        b.long(valve, tundish, 0.4, 1.0);
        b.long(tundish, end, 3.0, 3.0);
        b.set(tundish, "first-drop", 300.0);
        b.set(tundish, "fall", 200.0);
    }
    b
}
