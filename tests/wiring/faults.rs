//! Wiring faults: what each changes in the tables, and which static rule finds it. Counts of rows
//! are computed, apart from this program, over the printed netlists.

use firstfix::wire::netlist::PumpWay;
use firstfix::wire::scheme::SharedPump;

use super::*;

const OUT_A: &str = "MQ1 MQ2 BLR PG1";

#[test]
fn sound_arrangements_have_no_fault() {
    for (name, s) in all() {
        let faults = connect(&s).faults();
        assert!(faults.is_empty(), "{name}: {faults:?}");
    }
}

#[test]
fn f1_cut_out_bypassed() {
    let trips = ["11000", "11001", "11010", "11011"];
    let (sound, w) = broken(&a(), |w| move_end(w, "X1:7", "Q1:BN", "X1:7", "BT2:1"));
    assert_eq!(differing(&sound, &w, IN_A, "MQ1"), trips);
    assert_eq!(differing(&sound, &w, IN_A, "BLR"), trips[..3]);
    assert!(rules(&w).contains("S4"));
    let (sound, w) = broken(&a(), |w| link(w, "F2:1", "F2:2"));
    assert_eq!(differing(&sound, &w, IN_A, "MQ1"), trips);
    let fault = w.faults().into_iter().find(|f| f.rule == "S4").expect("S4");
    assert!(fault.what.contains("cut-out F2 bypassed"), "{}", fault.what);
    let proof = &w.proofs()[0];
    assert!(!proof.holds && !proof.no_path && proof.live > 0);
}

#[test]
fn f2_brown_and_grey_exchanged() {
    let (sound, w) = broken(&a(), |w| exchange(w, "Q1:BN", "Q1:GY"));
    assert_eq!(vector(&w, &["PHW", "CYL", "CO", "PCH", "RM"], "MQ1"), ("ffffffff".into(), 32));
    assert_eq!(vector(&w, &["PHW", "CYL", "CO", "PCH", "RM"], "BLR").0, "1111111f");
    assert_eq!(differing(&sound, &w, IN_A, "MQ1").len(), 28);
    let found = rules(&w);
    assert!(found.contains("S4") && found.contains("S11"), "{found:?}");
    let (sound, w) = broken(&a(), |w| exchange(w, "Q2:BN", "Q2:GY"));
    assert_eq!(differing(&sound, &w, IN_A, OUT_A).len(), 24);
    assert!(rules(&w).contains("S11"));
}

#[test]
fn f3_orange_and_grey_exchanged_shows_in_no_row() {
    let (sound, w) = broken(&a(), |w| exchange(w, "Q1:OG", "Q1:GY"));
    assert!(differing(&sound, &w, IN_A, OUT_A).is_empty());
    assert!(rules(&w).contains("S11"));
}

#[test]
fn f4_brown_and_orange_exchanged() {
    let (sound, w) = broken(&a(), |w| exchange(w, "Q1:BN", "Q1:OG"));
    for r in ["11100", "11101", "11110"] {
        assert_eq!(row(&w, IN_A, r, "MQ1 BLR"), "00", "{r}");
    }
    assert_eq!(row(&w, IN_A, "11011", "MQ1"), "1");
    assert_eq!(differing(&sound, &w, IN_A, OUT_A).len(), 10);
    assert!(rules(&w).contains("S4"));
}

#[test]
fn f5_permanent_line_on_the_call() {
    let (sound, w) = broken(&a(), |w| link(w, "X1:1", "X1:8"));
    assert_eq!(differing(&sound, &w, IN_A, "BLR").len(), 21);
    assert_eq!(vector(&w, &["PHW", "CYL", "CO", "PCH", "RM"], "BLR").1, 32);
    let faults = w.faults();
    assert!(faults.iter().any(|f| f.what.contains("boiler permanently called")), "{faults:?}");
    let (_, w) = broken(&c(), |w| link(w, "E1:SL", "E1:L"));
    let inputs = ["PHW", "CYL", "CO", "PC1", "R1", "PC2", "R2", "OVR"];
    assert_eq!(vector(&w, &inputs, "BLR").1, 256);
}

#[test]
fn f6_browns_of_two_valves_crossed() {
    let (sound, w) = broken(&a(), |w| exchange(w, "Q1:BN", "Q2:BN"));
    assert_eq!(differing(&sound, &w, IN_A, OUT_A).len(), 10);
    assert!(differing(&sound, &w, IN_A, "BLR").is_empty());
    assert!(rules(&w).contains("S4"));
}

#[test]
fn f7_oranges_on_one_node_may_be_crossed() {
    let (sound, w) = broken(&a(), |w| exchange(w, "Q1:OG", "Q2:OG"));
    assert!(differing(&sound, &w, IN_A, OUT_A).is_empty());
    assert!(w.faults().is_empty(), "{:?}", w.faults());
    // Where the oranges go to different inputs it shows.
    let inputs = "PHW CYL CO PC1 R1 PC2 R2 BUF";
    let (sound, w) = broken(&e(), |w| exchange(w, "Q2:OG", "Q4:NO"));
    assert_eq!(differing(&sound, &w, inputs, "MQ4 MQ2 MQ3 HPHW HPCH PG4").len(), 80);
}

#[test]
fn f8_orange_crossed_with_a_brown() {
    let (sound, w) = broken(&a(), |w| exchange(w, "Q1:OG", "Q2:BN"));
    let rows = |l: &str| vector(&w, &["PHW", "CYL", "CO", "PCH", "RM"], l).1;
    assert_eq!((rows("MQ2"), rows("BLR")), (0, 0));
    assert_eq!(differing(&sound, &w, IN_A, "BLR").len(), 11);
    assert!(rules(&w).contains("S11"));
    let (_, w) = broken(&a(), |w| exchange(w, "Q2:OG", "Q1:BN"));
    let rows = |l: &str| vector(&w, &["PHW", "CYL", "CO", "PCH", "RM"], l).1;
    assert_eq!((rows("MQ1"), rows("BLR")), (0, 0));
}

#[test]
fn f9_f10_thermostats_and_programmer_exchanged() {
    let (sound, w) = broken(&a(), |w| {
        for c in &mut w.contacts {
            if c.device == "BT2" {
                c.b = if c.b == "BT2:1" { "BT2:2".into() } else { "BT2:1".into() };
            }
        }
    });
    assert_eq!(differing(&sound, &w, IN_A, "MQ1").len(), 8);
    let (sound, w) = broken(&a(), |w| {
        use firstfix::wire::netlist::When;
        let c = w.contacts.iter_mut().find(|c| c.device == "BT1").expect("BT1");
        c.when = When::Input("RM".into(), false);
    });
    assert_eq!(differing(&sound, &w, IN_A, "MQ2").len(), 16);
    let (sound, w) = broken(&a(), |w| exchange(w, "K1:3", "K1:4"));
    assert_eq!(differing(&sound, &w, IN_A, OUT_A).len(), 10);
}

#[test]
fn f11_thermostat_neutral_on_its_call() {
    let (_, w) = broken(&a(), |w| exchange(w, "BT1:N", "BT1:1"));
    let sim = Simulator::new(&w);
    let mut shorts = 0;
    for bits in 0..32usize {
        let state: Vec<bool> =
            IN_A.split(' ').enumerate().fold(vec![false; w.inputs.len()], |mut s, (k, id)| {
                s[w.input(id).expect(id)] = bits >> (4 - k) & 1 == 1;
                s
            });
        let r = sim.run(&state);
        if r.short {
            shorts += 1;
            assert!(bits & 0b11 == 0b11 && r.runs.iter().all(|x| !x));
        }
    }
    assert_eq!(shorts, 8);
    assert!(rules(&w).contains("S20"));
}

#[test]
fn f12_cut_out_in_the_boiler_call() {
    let (sound, w) = broken(&a(), |w| {
        cut(w, "BT2:1", "F2:1");
        move_end(w, "F2:2", "X1:7", "F2:2", "BT2:1");
        move_end(w, "X1:8", "E1:SL", "X1:8", "F2:2");
        link(w, "X1:8", "F2:1");
    });
    let rows = differing(&sound, &w, IN_A, "MQ1 BLR");
    assert_eq!(rows, ["00011", "01011", "10011", "11000", "11001", "11010", "11011"]);
    assert_eq!(row(&w, IN_A, "11000", "MQ1"), "1");
    assert!(rules(&w).contains("S4"));
}

#[test]
fn f13_room_thermostat_on_the_call() {
    let (sound, w) = broken(&a(), |w| move_end(w, "BT1:1", "X1:5", "X1:5", "X1:8"));
    assert_eq!(differing(&sound, &w, IN_A, "MQ2").len(), 8);
    assert!(differing(&sound, &w, IN_A, "BLR").is_empty());
    assert!(rules(&w).contains("S5"));
}

#[test]
fn f14_demand_linked_to_the_call() {
    let (sound, w) = broken(&a(), |w| link(w, "X1:7", "X1:8"));
    assert_eq!(differing(&sound, &w, IN_A, OUT_A).len(), 7);
    assert_eq!(row(&w, IN_A, "11011", "MQ1"), "1");
    let found = rules(&w);
    assert!(found.contains("S4") && found.contains("S5"), "{found:?}");
    let (sound, w) = broken(&a(), |w| link(w, "X1:5", "X1:8"));
    assert!(!differing(&sound, &w, IN_A, "MQ2").is_empty());
}

#[test]
fn f15_a_core_left_off() {
    let (sound, w) = broken(&a(), |w| cut(w, "Q1:OG", "X1:8"));
    assert_eq!(differing(&sound, &w, IN_A, OUT_A).len(), 3);
    assert!(rules(&w).contains("S11"));
    let (sound, w) = broken(&a(), |w| cut(w, "X1:2", "Q1:BU"));
    assert_eq!(differing(&sound, &w, IN_A, OUT_A).len(), 4);
    assert!(rules(&w).contains("S1"));
    for n in ["E1:N", "G1:N"] {
        let (sound, w) = broken(&a(), |w| cut(w, "X1:2", n));
        assert_eq!(differing(&sound, &w, IN_A, OUT_A).len(), 11, "{n}");
        assert!(rules(&w).contains("S1"));
    }
}

#[test]
fn f16_thermostat_and_cut_out_in_the_neutral() {
    let (sound, w) = broken(&a(), |w| {
        // Line straight to the motor; the chain in its blue core.
        move_end(w, "X1:6", "BT2:C", "X1:6", "Q1:BU");
        move_end(w, "F2:2", "X1:7", "X1:7", "X1:2");
        move_end(w, "X1:2", "Q1:BU", "Q1:BU", "X1:2");
        move_end(w, "X1:7", "Q1:BN", "X1:7", "X1:6");
    });
    assert!(differing(&sound, &w, IN_A, "MQ1 MQ2 BLR").is_empty());
    let found = rules(&w);
    assert!(found.contains("S1") && found.contains("S3") && found.contains("S4"), "{found:?}");
}

#[test]
fn f17_f18_polarity_and_missing_earth_show_in_no_row() {
    let (sound, w) = broken(&a(), |w| {
        for c in w.conductors.iter_mut().filter(|c| c.cable == "W1") {
            match c.from.as_str() {
                "Q0:L" => c.from = "Q0:N".into(),
                "Q0:N" => c.from = "Q0:L".into(),
                _ => {}
            }
        }
    });
    assert!(differing(&sound, &w, IN_A, OUT_A).is_empty());
    let found = rules(&w);
    assert!(found.contains("S1") && found.contains("S10"), "{found:?}");
    let (sound, w) = broken(&a(), |w| cut(w, "X1:3", "G1:E"));
    assert!(differing(&sound, &w, IN_A, OUT_A).is_empty());
    assert!(rules(&w).contains("S2"));
}

#[test]
fn f19_f20_overrun_wrongly_wired() {
    let (sound, w) = broken(&c(), |w| link(w, "X1:8", "X1:11"));
    assert_eq!(differing(&sound, &w, IN_C, "BLR").len(), 63);
    assert_eq!(row(&w, IN_C, "00000001", "BLR PG1"), "11");
    assert!(rules(&w).contains("S12"));
    let (sound, w) = broken(&c(), |w| move_end(w, "X1:1", "E1:L", "X1:1", "X1:8"));
    let rows = differing(&sound, &w, IN_C, "BLR PG1");
    assert!(rows.len() == 63 && rows.iter().all(|r| r.ends_with('1')));
    assert!(rules(&w).contains("S12"));
    let (sound, w) = broken(&c(), |w| move_end(w, "X1:11", "G1:L", "X1:11", "X1:8"));
    assert_eq!(differing(&sound, &w, IN_C, "PG1").len(), 63);
    assert!(rules(&w).contains("S12"));
}

#[test]
fn f21_floor_pump_and_limit() {
    let inputs = "PHW CYL CO PCH RM U1 U2 ULIM";
    let (sound, w) = broken(&b(), |w| move_end(w, "K2:PO", "G3:L", "K2:PO", "X1:8"));
    assert_eq!(differing(&sound, &w, inputs, "PG3").len(), 85);
    let (sound, w) = broken(&b(), |w| link(w, "BT9:C", "BT9:1"));
    assert_eq!(differing(&sound, &w, inputs, "MQ3").len(), 96);
}

#[test]
fn f22_diverter_switch_exchanged() {
    let inputs = "PHW CYL CO PC1 R1 PC2 R2 BUF";
    let (sound, w) = broken(&e(), |w| exchange(w, "Q4:NO", "Q4:NC"));
    assert_eq!(differing(&sound, &w, inputs, "HPHW").len(), 256);
    let (sound, w) = broken(&e(), |w| move_end(w, "X1:1", "Q4:C", "X1:1", "X1:7"));
    assert_eq!(differing(&sound, &w, inputs, "HPCH").len(), 112);
    assert!(rules(&w).contains("S11"));
}

#[test]
fn f23_secondary_timer_and_pipe_thermostat() {
    let inputs = "PHW CYL CO PCH RM TS PIPE";
    let (sound, w) = broken(&f(), |w| move_end(w, "X1:1", "K3:L", "X1:1", "X1:8"));
    assert_eq!(differing(&sound, &w, inputs, "PG2").len(), 21);
    let (sound, w) = broken(&f(), |w| link(w, "BT5:C", "BT5:1"));
    assert_eq!(differing(&sound, &w, inputs, "PG2").len(), 32);
}

#[test]
fn f24_calls_of_two_rooms_crossed() {
    let (sound, w) = broken(&c(), |w| exchange(w, "BT1:1", "BT3:1"));
    assert_eq!(differing(&sound, &w, IN_C, "MQ2 MQ3").len(), 96);
}

#[test]
fn f25_a_valve_sticks() {
    let w = connect(&a());
    let sim = Simulator::new(&w);
    let q1 = sim.load("MQ1").expect("MQ1");
    let boiler = sim.load("BLR").expect("BLR");
    for (stuck, rows) in [(true, 21), (false, 4 - 1)] {
        let held = std::collections::BTreeMap::from([(q1, stuck)]);
        let n = (0..32usize)
            .filter(|bits| {
                let mut s = vec![false; w.inputs.len()];
                for (k, id) in IN_A.split(' ').enumerate() {
                    s[w.input(id).expect(id)] = bits >> (4 - k) & 1 == 1;
                }
                sim.run(&s).runs[boiler] != sim.run_with(&s, &held).runs[boiler]
            })
            .count();
        // Computed: stuck open 21 rows; stuck shut 4 rows in the valve column, of which the
        // boiler column shows 3 (in the fourth the heating calls too).
        assert_eq!(n, rows, "stuck {stuck}");
    }
}

#[test]
fn f26_grey_fed_from_the_demand() {
    let (sound, w) = broken(&a(), |w| move_end(w, "X1:1", "Q1:GY", "X1:1", "X1:7"));
    assert!(differing(&sound, &w, IN_A, OUT_A).is_empty());
    let found = rules(&w);
    assert!(found.contains("S11"), "{found:?}");
    // Healthy it looks right; with the valve stuck open any heating call drives its own motor.
    let sim = Simulator::new(&w);
    let q1 = sim.load("MQ1").expect("MQ1");
    let held = std::collections::BTreeMap::from([(q1, true)]);
    let n = (0..32usize)
        .filter(|bits| {
            let mut s = vec![false; w.inputs.len()];
            for (k, id) in IN_A.split(' ').enumerate() {
                s[w.input(id).expect(id)] = bits >> (4 - k) & 1 == 1;
            }
            sim.run(&s).runs[q1] != sim.run_with(&s, &held).runs[q1]
        })
        .count();
    assert_eq!(n, 7);
}

/// Common practice, no source: what moves a user's water runs while its valve is open.
#[test]
fn pumps_that_do_not_follow_the_pipework() {
    let named = |tag: &str| Named { tag: Some(tag.into()), ..Named::default() };
    let mut s = a();
    s.pump = Some(named("P1"));
    s.stores[0].valve = Some(named("ZV1"));
    let way = PumpWay {
        tag: "P1".into(),
        name: "heating pump".into(),
        valves: vec!["ZV1".into()],
        of_source: true,
        own: false,
    };
    s.pipework.pumps = vec![way.clone()];
    let sound = connect(&s);
    assert!(sound.faults().is_empty(), "{:?}", sound.faults());
    // On the zone's demand it stands still while the store's valve is open.
    let (_, w) = broken(&s, |w| move_end(w, "X1:8", "G1:L", "X1:8", "X1:5"));
    assert!(rules(&w).contains("S23"));
    s.pipework.pumps.push(PumpWay { tag: "P2".into(), name: "second pump".into(), ..way });
    assert!(rules(&connect(&s)).contains("S22"));
}

/// Behind a header the store has a pump of its own: its valve runs it, and it calls the source.
#[test]
fn a_pump_of_one_user_runs_with_its_valve() {
    let mut s = a();
    s.pumps.push(SharedPump {
        named: Named { tag: Some("P2".into()), ..Named::default() },
        words: "hot water pump".into(),
        zones: Vec::new(),
        stores: vec![0],
    });
    let w = connect(&s);
    assert!(w.faults().is_empty(), "{:?}", w.faults());
    // PHW CYL CO PCH RM; MQ1 MQ2 BLR PG4 PG1.
    assert_eq!(row(&w, IN_A, "11100", "MQ1 MQ2 BLR PG4 PG1"), "10111");
    assert_eq!(row(&w, IN_A, "00011", "MQ1 MQ2 BLR PG4 PG1"), "01101");
    assert_eq!(row(&w, IN_A, "11000", "MQ1 MQ2 BLR PG4 PG1"), "00000");
}

/// A combination boiler that also feeds a tap needs its permanent line (makers' instructions).
#[test]
fn a_combination_boiler_without_a_permanent_line() {
    let mut s = a();
    s.pipework.own_water = true;
    assert!(rules(&connect(&s)).contains("S12"));
    s.source.as_mut().expect("a boiler").permanent = true;
    let w = connect(&s);
    assert!(w.faults().is_empty(), "{:?}", w.faults());
    assert!(w.between("X1:1", "E1:L").is_some());
}

/// A head without a cut-out is drawn without one.
#[test]
fn a_head_without_cut_out_has_none_drawn() {
    let mut s = d();
    s.immersions[0].cut_out = false;
    let w = connect(&s);
    assert!(w.device("F11").is_none() && w.device("F12").is_some());
    assert!(rules(&w).contains("S16"));
}
