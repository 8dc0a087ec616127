//! Control wiring against tables worked out outside this program: netlists counted by hand,
//! truth tables and fault tables computed by a separate fixed-point program over the same printed
//! netlists ("computed" below means by that program, never by this one).

use std::collections::BTreeSet;

use firstfix::wire::netlist::Wiring;
use firstfix::wire::scheme::{
    Diverter, Floor, Frost, Immersion, Named, Room, Scheme, Secondary, Source, Store, Zone,
};
use firstfix::wire::simulate::Simulator;
use firstfix::wire::table::vector;
use firstfix::wire::{connect, load};

fn store() -> Store {
    Store {
        name: "hot water".into(),
        valve: Some(Named::default()),
        cut_out: Some(Named::default()),
        ..Store::default()
    }
}

fn zone(name: &str) -> Zone {
    Zone { name: name.into(), valve: Some(Named::default()), ..Zone::default() }
}

fn boiler(overrun: bool) -> Option<Source> {
    Some(Source { overrun, ..Source::default() })
}

fn unvented(mut s: Scheme) -> Scheme {
    s.pipework.unvented = true;
    s.pipework.open_with_valves_shut = true;
    s.pipework.jurisdiction = "england".into();
    s
}

/// A: cylinder and radiators, two-port valves, boiler without overrun.
fn a() -> Scheme {
    unvented(Scheme {
        source: boiler(false),
        stores: vec![store()],
        zones: vec![zone("radiators")],
        pump: Some(Named::default()),
        ..Scheme::default()
    })
}

/// B: A with floor heating.
fn b() -> Scheme {
    let mut s = a();
    let room = |n: &str| Room { name: n.into(), actuators: 1, ..Room::default() };
    s.zones.push(Zone {
        name: "floor heating".into(),
        valve: Some(Named::default()),
        floor: Some(Floor {
            pump: Some(Named::default()),
            rooms: vec![room("kitchen"), room("hall")],
            ..Floor::default()
        }),
        ..Zone::default()
    });
    s
}

/// C: cylinder and two radiator zones, boiler with pump overrun.
fn c() -> Scheme {
    unvented(Scheme {
        source: boiler(true),
        stores: vec![store()],
        zones: vec![zone("upstairs"), zone("downstairs")],
        pump: Some(Named::default()),
        ..Scheme::default()
    })
}

fn immersion(words: &str, circuit: &str) -> Immersion {
    Immersion {
        words: words.into(),
        circuit: circuit.into(),
        timer: circuit.is_empty().then(Named::default),
        cut_out: true,
        ..Immersion::default()
    }
}

/// D: direct electric, two immersion heaters on two circuits.
fn d() -> Scheme {
    unvented(Scheme {
        immersions: vec![
            immersion("lower immersion heater", ""),
            immersion("upper immersion heater", ""),
        ],
        ..Scheme::default()
    })
}

/// E: heat pump with diverter and buffer, two space zones.
fn e() -> Scheme {
    let mut s = c();
    s.source = Some(Source { heat_pump: true, ..Source::default() });
    s.stores[0].valve = None;
    s.diverter = Some(Diverter::default());
    s.buffer = Some(Named::default());
    s
}

/// F: A with secondary circulation.
fn f() -> Scheme {
    Scheme { secondary: Some(Secondary::default()), ..a() }
}

/// G: mid-position valve with the extra two-port valve.
fn g() -> Scheme {
    let mut s = a();
    s.zones[0].valve = None;
    s.mid_position = Some(Named::default());
    s
}

/// H: A with frost protection.
fn h() -> Scheme {
    Scheme { frost: Some(Frost::default()), ..a() }
}

/// "X1:7–Q1:BN" pairs, as a set that does not mind which end is named first.
fn pairs(text: &str) -> BTreeSet<(String, String)> {
    text.split([',', ';', '\n'])
        .map(str::trim)
        .filter(|t| !t.is_empty())
        .map(|t| {
            let (a, b) = t.split_once('-').unwrap_or_else(|| panic!("{t}"));
            order(a.trim(), b.trim())
        })
        .collect()
}

fn order(a: &str, b: &str) -> (String, String) {
    if a < b { (a.into(), b.into()) } else { (b.into(), a.into()) }
}

fn netlist(w: &Wiring) -> BTreeSet<(String, String)> {
    w.conductors.iter().map(|c| order(&c.from, &c.to)).collect()
}

fn same(w: &Wiring, printed: &[&str], count: usize) {
    let want: BTreeSet<_> = printed.iter().flat_map(|t| pairs(t)).collect();
    assert_eq!(want.len(), count, "the printed netlist");
    let have = netlist(w);
    let missing: Vec<_> = want.difference(&have).collect();
    let extra: Vec<_> = have.difference(&want).collect();
    assert!(missing.is_empty() && extra.is_empty(), "missing {missing:?}\nextra {extra:?}");
    assert_eq!(w.conductors.len(), count);
}

const W1: &str = "Q0:L-X1:1, Q0:N-X1:2, Q0:E-X1:3";
const W2: &str = "X1:1-K1:L, X1:2-K1:N, X1:3-K1:E, K1:3-X1:6, K1:4-X1:4";
const W3: &str = "X1:4-BT1:C, BT1:1-X1:5, X1:2-BT1:N, X1:3-BT1:E";
const W4: &str = "X1:6-BT2:C, BT2:1-F2:1, F2:2-X1:7, X1:3-BT2:E";
const W5: &str = "X1:7-Q1:BN, X1:2-Q1:BU, X1:1-Q1:GY, Q1:OG-X1:8, X1:3-Q1:GNYE";
const W6: &str = "X1:5-Q2:BN, X1:2-Q2:BU, X1:1-Q2:GY, Q2:OG-X1:8, X1:3-Q2:GNYE";
const W7: &str = "X1:8-G1:L, X1:2-G1:N, X1:3-G1:E";
const W8: &str = "X1:8-E1:SL, X1:2-E1:N, X1:3-E1:E";
const STAT2: &str = "X1:9-BT3:C, BT3:1-X1:10, X1:2-BT3:N, X1:3-BT3:E";
const VALVE3: &str = "X1:10-Q3:BN, X1:2-Q3:BU, X1:1-Q3:GY, Q3:OG-X1:8, X1:3-Q3:GNYE";

/// `4 x 11` written out.
fn times(n: usize, s: &str) -> String {
    s.repeat(n)
}

fn expect(w: &Wiring, inputs: &str, load: &str, want: &str, ones: usize) {
    let inputs: Vec<&str> = inputs.split_whitespace().collect();
    for i in &inputs {
        assert!(w.input(i).is_some(), "no input {i}");
    }
    assert!(w.load(load).is_some(), "no load {load}");
    let (hex, n) = vector(w, &inputs, load);
    assert_eq!(n, ones, "{load} ones");
    assert_eq!(hex, want, "{load}");
}

/// Runs one row; gives the loads' states in the order asked for.
fn row(w: &Wiring, inputs: &str, values: &str, loads: &str) -> String {
    let sim = Simulator::new(w);
    let mut state = vec![false; w.inputs.len()];
    for (id, v) in inputs.split_whitespace().zip(values.chars()) {
        state[w.input(id).expect(id)] = v == '1';
    }
    let s = sim.run(&state);
    assert!(s.settled);
    loads
        .split_whitespace()
        .map(|l| if s.runs[sim.load(l).expect(l)] { '1' } else { '0' })
        .collect()
}

const IN_A: &str = "PHW CYL CO PCH RM";

// ---- arrangements: printed netlists and computed tables ----

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
        "K2:L-BT31:C, BT31:1-K2:T1, K2:L-BT32:C, BT32:1-K2:T2",
        "K2:A1-Y1:1, K2:N-Y1:2, K2:A2-Y2:1, K2:N-Y2:2",
        "K2:VO-BT9:C, BT9:1-Q3:BN, K2:E-BT9:E",
        "X1:2-Q3:BU, X1:1-Q3:GY, Q3:OG-X1:8, X1:3-Q3:GNYE",
        "K2:PO-G3:L, K2:N-G3:N, K2:E-G3:E",
    ];
    let all = [&[W1, W2, W3, W4, W5, W6, W7, W8][..], &more].concat();
    same(&w, &all, 53);
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
        "K3:OUT-BT5:C, X1:3-BT5:E",
        "BT5:1-G2:L, X1:2-G2:N, X1:3-G2:E",
    ];
    same(&w, &[&[W1, W2, W3, W4, W5, W6, W7, W8][..], &more].concat(), 40);
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
    let frost = "X1:1-BT7:C, BT7:1-BT8:C, BT8:1-X1:5, X1:3-BT7:E";
    same(&w, &[W1, W2, W3, W4, W5, W6, W7, W8, frost], 36);
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

fn all() -> [(&'static str, Scheme); 8] {
    [("A", a()), ("B", b()), ("C", c()), ("D", d()), ("E", e()), ("F", f()), ("G", g()), ("H", h())]
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

// ---- faults: what each changes in the tables, and which static rule finds it ----

/// Moves one end of the conductor between two addresses.
fn move_end(w: &mut Wiring, from: &str, to: &str, end: &str, new: &str) {
    let i = w.between(from, to).unwrap_or_else(|| panic!("no {from}-{to}"));
    let c = &mut w.conductors[i];
    if c.from == end {
        c.from = new.into();
    } else {
        assert_eq!(c.to, end);
        c.to = new.into();
    }
}

/// Exchanges two terminals: what landed on one now lands on the other.
fn exchange(w: &mut Wiring, a: &str, b: &str) {
    for c in &mut w.conductors {
        for end in [&mut c.from, &mut c.to] {
            if *end == a {
                *end = b.into();
            } else if *end == b {
                *end = a.into();
            }
        }
    }
}

fn link(w: &mut Wiring, a: &str, b: &str) {
    let mut c = w.conductors[0].clone();
    (c.from, c.to, c.cable) = (a.into(), b.into(), String::new());
    w.conductors.push(c);
}

fn cut(w: &mut Wiring, a: &str, b: &str) {
    let i = w.between(a, b).unwrap_or_else(|| panic!("no {a}-{b}"));
    w.conductors.remove(i);
}

/// Rows, as bit strings, in which any of the loads differs from the sound netlist.
fn differing(sound: &Wiring, other: &Wiring, inputs: &str, loads: &str) -> Vec<String> {
    let n = inputs.split_whitespace().count();
    (0..1usize << n)
        .map(|r| format!("{r:0n$b}"))
        .filter(|r| row(sound, inputs, r, loads) != row(other, inputs, r, loads))
        .collect()
}

fn rules(w: &Wiring) -> BTreeSet<&'static str> {
    w.faults().iter().map(|f| f.rule).collect()
}

fn broken(s: &Scheme, change: impl FnOnce(&mut Wiring)) -> (Wiring, Wiring) {
    let sound = connect(s);
    let mut w = sound.clone();
    change(&mut w);
    (sound, w)
}

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

const IN_C: &str = "PHW CYL CO PC1 R1 PC2 R2 OVR";

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

// ---- the remaining check cases (numbers of the list they come from; computed) ----

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

// ---- the examples, from the text to the paper ----

fn examples() -> Vec<(String, Wiring, firstfix::draw::frame::TitleData)> {
    let mut list = Vec::new();
    for folder in ["examples", "examples/faulty"] {
        let dir = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
        let Ok(entries) = std::fs::read_dir(dir) else { continue };
        for e in entries {
            let path = e.expect("an entry").path();
            if path.extension().is_none_or(|x| x != "kdl") {
                continue;
            }
            let text = std::fs::read_to_string(&path).expect("an example");
            let facts = firstfix::describe::read(&text).facts;
            let system = firstfix::complete::complete(&facts).system;
            let data = firstfix::draw::frame::TitleData::of(&system);
            let name = path.strip_prefix(env!("CARGO_MANIFEST_DIR")).expect("inside");
            list.push((name.display().to_string(), firstfix::wire::wire(&system), data));
        }
    }
    list.sort_by(|a, b| a.0.cmp(&b.0));
    assert!(list.len() >= 8);
    list
}

#[test]
fn sound_examples_are_wired_without_a_fault() {
    for (name, w, _) in examples() {
        if name.contains("faulty") {
            continue;
        }
        assert!(w.faults().is_empty(), "{name}: {:?}", w.faults());
        assert!(!w.proofs().is_empty(), "{name}");
        assert!(w.proofs().iter().all(|p| p.holds), "{name}: {:?}", w.proofs());
        assert!(w.state_tables().iter().all(|t| t.whole), "{name}");
    }
}

#[test]
fn terminal_table_has_a_row_for_each_core_and_every_core_a_colour_in_words() {
    let arrangements = all().map(|(n, s)| (n.to_owned(), connect(&s)));
    let examples = examples().into_iter().map(|(n, w, _)| (n, w));
    for (name, w) in arrangements.into_iter().chain(examples) {
        let rows = firstfix::draw::wiring::terminal_rows(&w);
        assert_eq!(rows.len(), w.conductors.len(), "{name}");
        for r in &rows {
            assert!(r.iter().all(|c| !c.is_empty()), "{name}: {r:?}");
            let first = r[3].split(',').next().unwrap_or_default();
            let known =
                ["brown", "blue", "green-and-yellow", "black", "grey", "orange", "white", "red"];
            assert!(known.contains(&first), "{name}: {}", r[3]);
        }
        // Each cable's cores are in the table as often as the schedule says.
        for cable in &w.cables {
            let n = rows.iter().filter(|r| r[2] == cable.tag).count();
            assert_eq!(n, cable.used as usize, "{name} {}", cable.tag);
            assert!(cable.used <= cable.cores, "{name} {}", cable.tag);
        }
    }
}

/// Everything of a sheet that must keep clear of everything else.
#[derive(Default)]
struct Ink {
    /// What a conductor belongs to, and its ends.
    wires: Vec<(String, [firstfix::model::P2; 2])>,
    labels: Vec<firstfix::model::Rect>,
    symbols: Vec<firstfix::model::Rect>,
}

fn collect(items: &[firstfix::draw::scene::Item], ink: &mut Ink) {
    use firstfix::draw::scene::{Item, Mark, Seg};
    for i in items {
        match i {
            Item::Group(g) => {
                if let Mark::Part { on_paper, .. } = &g.mark {
                    ink.symbols.push(*on_paper);
                }
                collect(&g.items, ink);
            }
            Item::Words(w) => ink.labels.push(w.on_paper()),
            Item::Shape(s) => {
                let Mark::Of(of) = &s.mark else { continue };
                let points: Vec<_> = s
                    .path
                    .iter()
                    .filter_map(|s| match s {
                        Seg::Move(p) | Seg::Line(p) => Some(*p),
                        _ => None,
                    })
                    .collect();
                for p in points.windows(2) {
                    ink.wires.push((of.clone(), [p[0], p[1]]));
                }
            }
        }
    }
}

#[test]
fn no_conductor_runs_through_a_label_or_a_symbol_and_no_label_over_another() {
    use firstfix::draw::{frame, quality, wiring};
    use firstfix::model::Rect;
    let arrangements = all().map(|(n, s)| (n.to_owned(), connect(&s), frame::TitleData::default()));
    let mut faults = Vec::new();
    for (name, w, data) in arrangements.into_iter().chain(examples()) {
        let sheets = wiring::sheets(&w, &data);
        assert_eq!(sheets.is_empty(), w.devices.is_empty(), "{name}");
        for s in sheets {
            let mut ink = Ink::default();
            collect(&s.items, &mut ink);
            for (of, [a, b]) in &ink.wires {
                let strip =
                    Rect::new(a.x.min(b.x), a.y.min(b.y), (a.x - b.x).abs(), (a.y - b.y).abs());
                let wire = strip.grown(0.1);
                for l in &ink.labels {
                    if l.grown(-0.15).overlaps(&wire) {
                        faults.push(format!("{name} {}: {of} through a label at {l:?}", s.key));
                    }
                }
                for r in &ink.symbols {
                    if r.grown(-0.2).overlaps(&wire) {
                        faults.push(format!("{name} {}: {of} through a symbol at {r:?}", s.key));
                    }
                }
            }
            for (i, a) in ink.labels.iter().enumerate() {
                for b in &ink.labels[i + 1..] {
                    if a.grown(-0.1).overlaps(&b.grown(-0.1)) {
                        faults.push(format!("{name} {}: label over label {a:?} {b:?}", s.key));
                    }
                }
            }
            let dressed = frame::dress(s, &data, 1, 1);
            let q = quality::measure(&dressed);
            if q.hard_total > 0 {
                faults.push(format!("{name} {}: {:?}", q.sheet, q.hard));
            }
        }
    }
    assert!(faults.is_empty(), "{} faults\n{}", faults.len(), faults.join("\n"));
}

#[test]
fn tracks_of_the_terminal_diagram_equal_the_density() {
    // An interval set needs as many tracks as its densest column, and the left edge rule needs no
    // more (standard result on interval graphs).
    use firstfix::layout::wiring::strip::{crossings, density, members, strip};
    for (name, s) in all() {
        let w = connect(&s);
        if w.device("X1").is_none() {
            continue;
        }
        let list = members(&w, "X1");
        let plan = strip(&w, "X1", &list, false, 12, 140);
        assert_eq!(plan.depth, plan.density, "{name}");
        let count: usize = [true, false]
            .iter()
            .map(|top| {
                let mine: Vec<_> = plan.tracks.iter().filter(|t| t.top == *top).copied().collect();
                assert_eq!(density(&mine), plan.density[usize::from(!top)]);
                crossings(&mine)
            })
            .sum();
        assert_eq!(count, plan.crossings, "{name}");
        // No two uprights share a column: device pins even, strip pins odd.
        for t in &plan.tracks {
            assert!(t.from % 2 == 0 && (t.cell.is_none() || t.to % 2 != 0), "{name} {t:?}");
        }
        // Every core between a device and the centre has a track, but for the earths of the bus.
        let to_centre = w
            .conductors
            .iter()
            .filter(|c| c.touches("X1") && c.from != "X1:3" && c.to != "X1:3")
            .count();
        let routed = plan.tracks.iter().filter(|t| t.cell.is_some()).count();
        assert_eq!(routed, to_centre, "{name}");
    }
}
