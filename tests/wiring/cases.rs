//! The remaining check cases (their numbers in the list of computed cases).

use super::*;

#[test]
fn case_9_floor_limit_open() {
    assert_eq!(row(&connect(&b()), "U1 U2 ULIM", "100", "PG3 ACT1 ACT2 MQ3 BLR"), "11000");
}

#[test]
fn case_11_overrun_without_a_bypass() {
    let mut s = c();
    let w = connect(&s);
    assert_eq!(row(&w, IN_C, "00000001", "PG1 BLR MQ1 MQ2 MQ3"), "10000");
    assert!(!rules(&w).contains("S18"));
    s.pipework.open_with_valves_shut = false;
    assert_eq!(rules(&connect(&s)), BTreeSet::from(["S18"]));
}

#[test]
fn case_14_hot_water_first_and_the_cut_out_sends_the_diverter_home() {
    let inputs = "PHW CYL CO BUF";
    let w = connect(&e());
    assert_eq!(row(&w, inputs, "1111", "HPHW HPCH"), "10");
    assert_eq!(row(&w, inputs, "1101", "HPHW HPCH"), "01");
}

#[test]
fn cases_15_to_17() {
    let w = connect(&f());
    assert_eq!(row(&w, "TS PIPE", "11", "PG2 BLR"), "10");
    assert_eq!(row(&connect(&g()), IN_A, "11011", "BLR"), "0");
    assert_eq!(row(&connect(&a()), IN_A, "11011", "BLR"), "1");
    assert_eq!(row(&connect(&h()), "FR PS CO", "111", "MQ2 BLR MQ1"), "110");
}

#[test]
fn f_h_frost_on_the_call_opens_no_valve() {
    let (sound, w) = broken(&h(), |w| move_end(w, "BT8:1", "X1:5", "X1:5", "X1:8"));
    let rows = differing(&sound, &w, "PHW CYL CO PCH RM FR PS", "MQ2");
    assert_eq!(rows.len(), 24);
    let found = rules(&w);
    assert!(found.contains("S19") && found.contains("S5"), "{found:?}");
}

#[test]
fn case_22_two_core_cord_on_a_pump() {
    let (_, w) = broken(&a(), |w| {
        cut(w, "X1:3", "G1:E");
        let cable = w.cables.iter_mut().find(|c| c.tag == "W7").expect("W7");
        cable.cores = 2;
    });
    assert_eq!(rules(&w), BTreeSet::from(["S2"]));
}

#[test]
fn case_23_overrun_boiler_on_three_cores() {
    let (_, w) = broken(&c(), |w| {
        cut(w, "X1:1", "E1:L");
        cut(w, "E1:PL", "X1:11");
        move_end(w, "X1:11", "G1:L", "X1:11", "X1:8");
    });
    let faults = w.faults();
    let what = "an overrun boiler needs L, N, E, SL, PL";
    assert!(faults.iter().any(|f| f.rule == "S12" && f.what.contains(what)), "{faults:?}");
}

#[test]
fn case_24_mains_on_a_volt_free_call() {
    use firstfix::wire::scheme::Call;
    let mut s = a();
    s.source = Some(Source { call: Call::VoltFree, ..Source::default() });
    let sound = connect(&s);
    assert!(sound.faults().is_empty(), "{:?}", sound.faults());
    // Same boiler column through the relay as on a 230 V call.
    let inputs = ["PHW", "CYL", "CO", "PCH", "RM"];
    assert_eq!(vector(&sound, &inputs, "BLR").0, "1111111f");
    let (_, w) = broken(&s, |w| {
        let i = w.conductors.iter().position(|c| c.to == "E1:S1").expect("S1");
        w.conductors[i].from = "X1:8".into();
    });
    assert!(rules(&w).contains("S8"));
}

#[test]
fn case_25_immersion_without_its_own_cut_out() {
    let mut s = a();
    s.immersions = vec![Immersion { cut_out: false, ..immersion("backup immersion heater", "") }];
    assert_eq!(rules(&connect(&s)), BTreeSet::from(["S16"]));
    s.immersions[0].cut_out = true;
    assert!(connect(&s).faults().is_empty());
}

#[test]
fn case_26_mid_position_valve_alone() {
    let mut s = g();
    s.stores[0].valve = None;
    let found = rules(&connect(&s));
    assert!(found.contains("S17"), "{found:?}");
}

#[test]
fn case_28_power_budget() {
    let mut s = c();
    s.secondary = Some(Secondary::default());
    let w = connect(&s);
    let b = &w.budgets()[0];
    // 150 + 2 x 60 + 3 x 6 + 5 = 293 W, 1.27 A of 3 A.
    assert!((b.watts - 293.0).abs() < 1e-9, "{}", b.watts);
    assert!((b.amps - 1.27).abs() < 0.005 && b.fuse == 3.0);
}

#[test]
fn case_27_what_is_notifiable() {
    // Building Regulations, Part P, England: a new circuit is, like-for-like work is not.
    assert_eq!(connect(&d()).notifiable().len(), 2);
    assert!(connect(&a()).notifiable().is_empty());
    let mut s = d();
    s.pipework.like_for_like = true;
    assert!(connect(&s).notifiable().is_empty());
}
