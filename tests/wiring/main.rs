//! Control wiring against tables worked out outside this program: netlists counted by hand,
//! truth tables and fault tables computed by a separate fixed-point program over the same printed
//! netlists ("computed" below means by that program, never by this one).

mod arrangements;
mod cases;
mod faults;
mod sheets;

use std::collections::BTreeSet;

use firstfix::wire::connect;
use firstfix::wire::netlist::Wiring;
use firstfix::wire::scheme::{
    Diverter, Floor, Frost, Immersion, Named, Room, Scheme, Secondary, Source, Store, Zone,
};
use firstfix::wire::simulate::Simulator;
use firstfix::wire::table::vector;

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
    s.space_pump = s.pump.take();
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
const IN_C: &str = "PHW CYL CO PC1 R1 PC2 R2 OVR";

fn all() -> [(&'static str, Scheme); 8] {
    [("A", a()), ("B", b()), ("C", c()), ("D", d()), ("E", e()), ("F", f()), ("G", g()), ("H", h())]
}

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
