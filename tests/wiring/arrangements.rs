//! Eight arrangements: printed netlists and computed tables.

use firstfix::wire::load;

use super::*;

#[test]
fn a_two_zones() {
    let w = connect(&a());
    same(&w, &[W1, W2, W3, W4, W5, W6, W7, W8], 32);
    expect(&w, IN_A, "MQ1", "0000000f", 4);
    expect(&w, IN_A, "MQ2", "11111111", 8);
    expect(&w, IN_A, "BLR", "1111111f", 11);
    expect(&w, IN_A, "PG1", "1111111f", 11);
    let printed = "00000:000 00001:000 00010:000 00011:011 00100:000 00101:000 00110:000 00111:011 \
        01000:000 01001:000 01010:000 01011:011 01100:000 01101:000 01110:000 01111:011 \
        10000:000 10001:000 10010:000 10011:011 10100:000 10101:000 10110:000 10111:011 \
        11000:000 11001:000 11010:000 11011:011 11100:101 11101:101 11110:101 11111:111";
    for r in printed.split_whitespace() {
        let (given, want) = r.split_once(':').expect("a row");
        assert_eq!(row(&w, IN_A, given, "MQ1 MQ2 BLR"), want, "row {given}");
    }
    let occupancy = w.occupancy();
    for (way, n) in [("X1:1", 4), ("X1:2", 7), ("X1:3", 8), ("X1:8", 4)] {
        assert_eq!(occupancy[way], n, "{way}");
    }
}

#[test]
fn b_three_zones_one_of_them_floor_heating() {
    let w = connect(&b());
    let more = [
        "X1:1-K2:L, X1:2-K2:N, X1:3-K2:E",
        "K2:L-BT31:C, BT31:1-K2:T1, K2:E-BT31:E, K2:L-BT32:C, BT32:1-K2:T2, K2:E-BT32:E",
        "K2:A1-Y1:1, K2:N-Y1:2, K2:A2-Y2:1, K2:N-Y2:2",
        "K2:VO-X1:15, X1:15-BT9:C, BT9:1-X1:16, X1:3-BT9:E",
        "X1:16-Q3:BN, X1:2-Q3:BU, X1:1-Q3:GY, Q3:OG-X1:8, X1:3-Q3:GNYE",
        "K2:PO-G3:L, K2:N-G3:N, K2:E-G3:E",
    ];
    let all = [&[W1, W2, W3, W4, W5, W6, W7, W8][..], &more].concat();
    same(&w, &all, 57);
    let inputs = "PHW CYL CO PCH RM U1 U2 ULIM";
    let (hex, ones) = vector(&w, &inputs.split(' ').collect::<Vec<_>>(), "MQ1");
    assert_eq!((hex.len(), ones), (64, 32));
    expect(&w, inputs, "MQ3", &times(32, "15"), 96);
    expect(&w, inputs, "PG3", &times(32, "3f"), 192);
    expect(&w, inputs, "ACT1", &times(32, "0f"), 128);
    expect(&w, inputs, "ACT2", &times(32, "33"), 128);
    let call = times(7, "151515ff") + "ffffffff";
    expect(&w, inputs, "BLR", &call, 151);
    expect(&w, inputs, "PG1", &call, 151);
    // The floor group on its own: U1 U2 ULIM -> MQ3 PG3 ACT1 ACT2.
    for r in "000:0000 001:0000 010:0101 011:1101 100:0110 101:1110 110:0111 111:1111".split(' ') {
        let (given, want) = r.split_once(':').expect("a row");
        assert_eq!(row(&w, "U1 U2 ULIM", given, "MQ3 PG3 ACT1 ACT2"), want, "row {given}");
    }
}

#[test]
fn c_two_radiator_zones_and_pump_overrun() {
    let w = connect(&c());
    let boiler = "X1:1-E1:L, X1:2-E1:N, X1:3-E1:E, X1:8-E1:SL, E1:PL-X1:11";
    let pump = "X1:11-G1:L, X1:2-G1:N, X1:3-G1:E";
    same(&w, &[W1, W2, "K1:5-X1:9", W3, W4, W5, W6, STAT2, VALVE3, boiler, pump], 44);
    let inputs = "PHW CYL CO PC1 R1 PC2 R2 OVR";
    let ones = |l: &str| vector(&w, &inputs.split(' ').collect::<Vec<_>>(), l).1;
    assert_eq!((ones("MQ1"), ones("MQ2"), ones("MQ3")), (32, 64, 64));
    expect(&w, inputs, "BLR", &(times(7, "030303ff") + "ffffffff"), 130);
    expect(&w, inputs, "PG1", &(times(7, "575757ff") + "ffffffff"), 193);
}

#[test]
fn d_direct_electric_on_two_circuits() {
    let w = connect(&d());
    let circuit = |n: u32, u: u32| {
        format!(
            "CU{n}:L-Q{u}:1, CU{n}:N-Q{u}:3, CU{n}:E-Q{u}:E, Q{u}:2-K{u}:L, Q{u}:4-K{u}:N, \
             Q{u}:E-K{u}:E, K{u}:OUT-F{u}:1, K{u}:N-E{u}:2, K{u}:E-E{u}:E, F{u}:2-BT{u}:1, \
             BT{u}:2-E{u}:1"
        )
    };
    same(&w, &[&circuit(1, 11), &circuit(2, 12)], 22);
    let inputs = "DPLO TSLO STLO COLO DPUP TSUP STUP COUP";
    expect(&w, inputs, "HLO", &(times(60, "0") + "ffff"), 16);
    expect(&w, inputs, "HUP", &times(16, "0001"), 16);
    // 3 kW at 230 V is 13.04 A; both together 26.09 A (Ohm's law).
    let budgets = w.budgets();
    assert_eq!(budgets.len(), 2);
    let amps: f64 = budgets.iter().map(|b| b.amps).sum();
    assert!((budgets[0].amps - 13.04).abs() < 0.005, "{}", budgets[0].amps);
    assert!((amps - 26.09).abs() < 0.005, "{amps}");
}

#[test]
fn d2_one_circuit_with_changeover_never_heats_both() {
    let mut s = d();
    s.immersions = vec![
        immersion("lower immersion heater", "shared"),
        immersion("upper immersion heater", "shared"),
    ];
    let w = connect(&s);
    let inputs = ["DPLO", "BATH", "STLO", "COLO", "STUP", "COUP"];
    let sim = Simulator::new(&w);
    let mut both = 0;
    let mut any = [0, 0];
    for bits in 0..64 {
        let mut state = vec![false; w.inputs.len()];
        for (k, id) in inputs.iter().enumerate() {
            state[w.input(id).expect(id)] = bits >> (5 - k) & 1 == 1;
        }
        let r = sim.run(&state).runs;
        let (lo, up) = (r[sim.load("HLO").expect("HLO")], r[sim.load("HUP").expect("HUP")]);
        both += usize::from(lo && up);
        any[0] += usize::from(lo);
        any[1] += usize::from(up);
        assert_eq!(lo, bits >> 2 & 0b1111 == 0b1111, "lower, row {bits:06b}");
    }
    assert_eq!((both, any), (0, [4, 4]));
    assert!((w.budgets()[0].amps - 13.04).abs() < 0.005);
}

#[test]
fn e_heat_pump_with_diverter_and_buffer() {
    let w = connect(&e());
    let more = [
        "X1:8-G4:L, X1:2-G4:N, X1:3-G4:E",
        "X1:7-Q4:BN, X1:2-Q4:BU, X1:3-Q4:GNYE, X1:1-Q4:C, Q4:NO-X1:12, Q4:NC-X1:13",
        "X1:13-BT6:C, BT6:1-X1:14, X1:3-BT6:E",
        "X1:12-E2:SLHW, X1:14-E2:SLCH, X1:2-E2:N, X1:3-E2:E",
    ];
    let all = [&[W1, W2, "K1:5-X1:9", W3, W4, W6, STAT2, VALVE3][..], &more].concat();
    same(&w, &all, 47);
    let inputs = "PHW CYL CO PC1 R1 PC2 R2 BUF";
    let ones = |l: &str| vector(&w, &inputs.split(' ').collect::<Vec<_>>(), l).1;
    assert_eq!((ones("MQ4"), ones("HPHW")), (32, 32));
    expect(&w, inputs, "HPCH", &(times(56, "5") + &times(8, "0")), 112);
    expect(&w, inputs, "PG4", &times(8, "030303ff"), 112);
    for r in "00:000 01:011 10:101 11:101".split(' ') {
        let (given, want) = r.split_once(':').expect("a row");
        let g = if &given[..1] == "1" { "111" } else { "000" };
        let values = format!("{g}0000{}", &given[1..]);
        let got = row(&w, inputs, &values, "HPHW HPCH");
        let run = if got.contains('1') { "1" } else { "0" };
        assert_eq!(got + run, want, "MQ4 BUF {given}");
    }
}

#[test]
fn f_secondary_circulation() {
    let w = connect(&f());
    let more = [
        "X1:1-K3:L, X1:2-K3:N, X1:3-K3:E",
        "K3:OUT-X1:15, X1:15-BT5:C, BT5:1-X1:16, X1:3-BT5:E",
        "X1:16-G2:L, X1:2-G2:N, X1:3-G2:E",
    ];
    same(&w, &[&[W1, W2, W3, W4, W5, W6, W7, W8][..], &more].concat(), 42);
    let inputs = "PHW CYL CO PCH RM TS PIPE";
    expect(&w, inputs, "PG2", &times(32, "1"), 32);
    expect(&w, inputs, "BLR", &(times(7, "000f") + "ffff"), 44);
    expect(&w, inputs, "PG1", &(times(7, "000f") + "ffff"), 44);
    let ones = |l: &str| vector(&w, &inputs.split(' ').collect::<Vec<_>>(), l).1;
    assert_eq!((ones("MQ1"), ones("MQ2")), (16, 32));
}

#[test]
fn g_mid_position_with_the_extra_valve() {
    let w = connect(&g());
    let valve = "X1:5-Q5:WH, X1:9-Q5:GY, Q5:OG-X1:8, X1:2-Q5:BU, X1:3-Q5:GNYE";
    same(&w, &[W1, W2, "K1:1-X1:9", W3, W4, "BT2:2-X1:9", W5, valve, W7, W8], 34);
    expect(&w, IN_A, "MQ1", "0000000f", 4);
    expect(&w, IN_A, "WH", "11111111", 8);
    expect(&w, IN_A, "GR", "ffffff00", 24);
    expect(&w, IN_A, "BLR", "1111110f", 10);
    expect(&w, IN_A, "PG1", "1111110f", 10);
}

#[test]
fn h_frost_protection() {
    let w = connect(&h());
    let frost = "X1:1-BT7:C, BT7:1-X1:15, X1:3-BT7:E, X1:15-BT8:C, BT8:1-X1:5, X1:3-BT8:E";
    same(&w, &[W1, W2, W3, W4, W5, W6, W7, W8, frost], 38);
    let inputs = "PHW CYL CO PCH RM FR PS";
    expect(&w, inputs, "MQ2", &times(8, "111f"), 56);
    expect(&w, inputs, "BLR", &(times(7, "111f") + "ffff"), 65);
    let ones = |l: &str| vector(&w, &inputs.split(' ').collect::<Vec<_>>(), l).1;
    assert_eq!(ones("MQ1"), 16);
    // Back-feed: with frost calling and the room cold, K1:4 is live though its channel is off.
    let sim = Simulator::new(&w);
    for (room, live) in [(true, true), (false, false)] {
        let mut state = vec![false; w.inputs.len()];
        for id in ["FR", "PS"] {
            state[w.input(id).expect(id)] = true;
        }
        state[w.input("RM").expect("RM")] = room;
        let s = sim.run(&state);
        assert_eq!(sim.live(&s, "K1:4"), live);
    }
}

#[test]
fn every_sound_arrangement_settles_fast_and_never_shorts() {
    // Computed: no row shorted; at most one re-evaluation for each stage of controller, valve, call.
    for (name, s) in all() {
        let w = connect(&s);
        let sim = Simulator::new(&w);
        for bits in 0..1usize << w.inputs.len() {
            let state: Vec<bool> = (0..w.inputs.len()).map(|k| bits >> k & 1 == 1).collect();
            let r = sim.run(&state);
            assert!(r.settled && !r.short && r.rounds <= 3, "{name} {bits:b}: {} rounds", r.rounds);
        }
    }
}

#[test]
fn the_small_tables_say_what_one_big_table_would() {
    for (name, s) in all() {
        let w = connect(&s);
        let sim = Simulator::new(&w);
        let tables = w.state_tables();
        for bits in 0..1usize << w.inputs.len() {
            let state: Vec<bool> = (0..w.inputs.len()).map(|k| bits >> k & 1 == 1).collect();
            let runs = sim.run(&state).runs;
            let value = |id: &str| match w.input(id) {
                Some(i) => state[i],
                None => runs[sim.load(id).expect(id)],
            };
            for t in &tables {
                let hits: Vec<_> = t
                    .rows
                    .iter()
                    .filter(|r| {
                        r.given
                            .iter()
                            .zip(&t.given)
                            .all(|(g, c)| g.is_none_or(|g| g == value(&c.id)))
                    })
                    .collect();
                assert_eq!(hits.len(), 1, "{name} {} {bits:b}", t.heading);
                for (c, v) in t.outputs.iter().zip(&hits[0].runs) {
                    assert_eq!(value(&c.id), *v, "{name} {} {} {bits:b}", t.heading, c.id);
                }
            }
        }
    }
}

#[test]
fn an_open_cut_out_leaves_the_cylinder_dead_in_every_arrangement() {
    for (name, s) in all() {
        let proofs = connect(&s).proofs();
        assert!(!proofs.is_empty(), "{name}");
        for p in proofs {
            assert!(p.holds, "{name}: {p:?}");
        }
    }
}

#[test]
fn sums_of_an_immersion_heater() {
    // Ohm's law; mV/A/m from BS 7671 Table 4D5 (from memory).
    let amps = load::element_amps(3.0, 230.0, 230.0);
    assert!((amps - 13.04).abs() < 0.005);
    assert!((load::element_amps(3.0, 240.0, 230.0) - 11.98).abs() < 0.005);
    assert!((load::element_kw(3.0, 240.0, 230.0) - 2.755).abs() < 0.0005);
    assert!((load::element_amps(3.0, 230.0, 253.0) - 14.35).abs() < 0.005);
    let drop = |mm2| load::volt_drop(mm2, amps, 20.0).expect("a size of the table");
    assert!((drop(2.5) - 4.70).abs() < 0.01 && (drop(2.5) / 230.0 * 100.0 - 2.04).abs() < 0.01);
    assert!((drop(1.5) - 7.57).abs() < 0.01);
    assert!((drop(1.0) - 11.48).abs() < 0.01 && (drop(1.0) / 230.0 * 100.0 - 4.99).abs() < 0.01);
    let carries = load::flat_carries(1.0, load::Method::M100).expect("1.0 mm2");
    assert!(carries < amps, "1.0 mm2 fails on current");
    assert!((load::longest(2.5, amps, 5.0).expect("2.5") - 48.98).abs() < 0.02);
    assert!((load::longest(1.5, amps, 5.0).expect("1.5") - 30.40).abs() < 0.02);
    // Ordinary cord at 40 degC: 0.82 of 16 A.
    let warm = load::cord_carries_warm(1.5, false).expect("1.5");
    assert!((warm - 13.12).abs() < 0.005 && warm >= amps);
    assert!(load::cord_carries_warm(1.0, false).expect("1.0") < amps);
}

/// The same netlists from a few lines of description, through the completed graph.
#[test]
fn descriptions_come_out_as_the_printed_arrangements() {
    let frost = "X1:1-BT7:C, BT7:1-X1:15, X1:3-BT7:E, X1:15-BT8:C, BT8:1-X1:5, X1:3-BT8:E";
    let valve = "X1:5-Q5:WH, X1:9-Q5:GY, Q5:OG-X1:8, X1:2-Q5:BU, X1:3-Q5:GNYE";
    let overrun = "X1:1-E1:L, X1:2-E1:N, X1:3-E1:E, X1:8-E1:SL, E1:PL-X1:11";
    let circulation = "X1:1-K3:L, X1:2-K3:N, X1:3-K3:E, K3:OUT-X1:15, X1:15-BT5:C, X1:3-BT5:E, \
        BT5:1-X1:16, X1:16-G2:L, \
        X1:2-G2:N, X1:3-G2:E";
    // A described boiler has its permanent line besides: its frost protection lives on it.
    const LIVE: &str = "X1:1-E1:L";
    let plain = [W1, W2, W3, W4, W5, W6, W7, W8, LIVE];
    let one = "boiler kw=18\nzone \"radiators\" kw=7 radiators=7\n";
    let two = "boiler kw=18 overrun=#true\nzone \"up\" kw=4 radiators=4\nzone \"down\" kw=4 radiators=4\n";
    let pump = "X1:11-G1:L, X1:2-G1:N, X1:3-G1:E";
    let cases: [(&str, String, Vec<&str>, usize); 5] = [
        ("A", one.to_owned(), plain.to_vec(), 33),
        (
            "C",
            two.to_owned(),
            vec![W1, W2, "K1:5-X1:9", W3, W4, W5, W6, STAT2, VALVE3, overrun, pump],
            44,
        ),
        (
            "F",
            format!("{one}secondary-return length=20\n"),
            [&plain[..], &[circulation]].concat(),
            43,
        ),
        (
            "G",
            format!("{one}mid-position-valve\n"),
            vec![W1, W2, "K1:1-X1:9", W3, W4, "BT2:2-X1:9", W5, valve, W7, W8, LIVE],
            35,
        ),
        ("H", format!("{one}frost\n"), [&plain[..], &[frost]].concat(), 39),
    ];
    for (name, text, printed, count) in cases {
        let text = format!("cylinder \"store\" litres=180 heated=\"indirect\"\n{text}");
        let reading = firstfix::describe::read(&text);
        assert!(reading.diagnostics.is_empty(), "{name}: {:?}", reading.diagnostics);
        let system = firstfix::complete::complete(&reading.facts).system;
        let w = firstfix::wire::wire(&system);
        same(&w, &printed, count);
        assert!(w.faults().is_empty(), "{name}: {:?}", w.faults());
    }
}

/// A pump before the parting of store and heating must run on either call, or no water carries the
/// heat.
#[test]
fn the_heat_pumps_own_pump_runs_on_either_call() {
    let w = connect(&Scheme { pump: Some(Named::default()), ..e() });
    let inputs = "PHW CYL CO PC1 R1 PC2 R2 BUF";
    for values in ["11100000", "00000001", "11111111", "00000000", "00011000"] {
        let got = row(&w, inputs, values, "HPHW HPCH PG1");
        let (calls, pump) = got.split_at(2);
        assert_eq!(pump == "1", calls.contains('1'), "{values}: {got}");
    }
    expect(&w, inputs, "PG4", &times(8, "030303ff"), 112);
}
