//! Seeded random systems as a customer would describe them, over the variants of the trade: source,
//! cylinder, zones, outlets, treatment of the water, circulation, discharge. In: a seed. Out: the
//! text, which completion makes into a whole system.

use std::fmt::Write as _;

use super::generate::Dice;

fn one_of<'a>(dice: &mut Dice, words: &[&'a str]) -> &'a str {
    words[dice.below(words.len())]
}

/// True once in `n`.
fn once_in(dice: &mut Dice, n: usize) -> bool {
    dice.below(n) == 0
}

/// The facts of one system.
pub fn system(seed: u64) -> String {
    let dice = &mut Dice::new(seed + 1);
    // The first numbers of neighbouring seeds resemble each other.
    for _ in 0..8 {
        dice.below(2);
    }
    let mut t = format!("job \"Random {seed}\" number=\"R-{seed}\"\n");
    if once_in(dice, 12) {
        return flats(dice, t);
    }
    let (bar, flow) = (2 + dice.below(4), 18 + dice.below(20));
    let _ = writeln!(t, "main static={bar}.5 dynamic={bar}.0 at={flow}");
    water(dice, &mut t);
    let electric = once_in(dice, 5);
    let solar = !electric && once_in(dice, 6);
    cylinders(dice, &mut t, electric, solar);
    if !electric {
        source(dice, &mut t);
    }
    if solar {
        let _ = writeln!(t, "solar area={}", 3 + dice.below(3));
    }
    outlets(dice, &mut t);
    if once_in(dice, 4) {
        circulation(dice, &mut t);
    }
    if once_in(dice, 5) {
        t.push_str("blending-valve setting=50\n");
    }
    if !once_in(dice, 8) {
        let wall = one_of(dice, &["left", "right", "back"]);
        let to = one_of(dice, &["gully", "hopper", "low-level outlet"]);
        let (length, elbows) = (1 + dice.below(5), dice.below(5));
        let _ =
            writeln!(t, "discharge wall=\"{wall}\" length={length} elbows={elbows} to=\"{to}\"");
    }
    t
}

/// What stands between the main and the cylinder.
fn water(dice: &mut Dice, t: &mut String) {
    match dice.below(8) {
        0 => t.push_str("softener litres=10\n"),
        1 => t.push_str("accumulator litres=300 charge=2.0\n"),
        2 => t.push_str("break-tank litres=300\nbooster litres-a-minute=45 head=35\n"),
        3 => t.push_str("scale-reducer\n"),
        _ => {}
    }
}

fn cylinders(dice: &mut Dice, t: &mut String, electric: bool, solar: bool) {
    let two = !electric && !solar && once_in(dice, 8);
    let names = if two { &["first store", "second store"][..] } else { &["store"][..] };
    let litres = 120 + 30 * dice.below(8);
    let heated = match (electric, solar) {
        (true, _) => "electric",
        (_, true) => "solar",
        _ => "indirect",
    };
    let more = match dice.below(6) {
        0 => " expansion=\"internal\"",
        1 if !two => " factory-fitted=#true",
        2 if electric => " horizontal=#true",
        _ => "",
    };
    for name in names {
        let _ = write!(t, "cylinder \"{name}\" litres={litres} heated=\"{heated}\"{more} {{ ");
        if !electric {
            let _ = write!(t, "coil kw={}; ", 12 + dice.below(12));
        }
        if solar {
            t.push_str("solar-coil kw=4; ");
        }
        let rods = if electric { 1 + dice.below(2) } else { usize::from(once_in(dice, 4)) };
        for _ in 0..rods {
            t.push_str("immersion kw=3; ");
        }
        t.push_str("}\n");
    }
}

fn source(dice: &mut Dice, t: &mut String) {
    match dice.below(8) {
        0 | 1 => {
            let _ = writeln!(t, "heat-pump kw={} flow=45 return=40", 6 + dice.below(8));
            match dice.below(4) {
                0 => t.push_str("three-port-diverter size=28\nbuffer litres=100\n"),
                1 => t.push_str("volumiser litres=50\n"),
                2 => t.push_str("buffer litres=80\n"),
                _ => {}
            }
        }
        2 => {
            let hot = one_of(dice, &["", " hot=\"kitchen\"", " hot=\"capped\""]);
            let declares = [
                "",
                " { declares \"internal pump\" \"internal vessel\" \"internal safety valve\" }",
                " { declares \"internal pump\" \"internal vessel\" \"internal bypass\" }",
            ];
            let declares = one_of(dice, &declares);
            let _ = writeln!(t, "combi kw={}{hot}{declares}", 24 + dice.below(12));
        }
        3 => t.push_str("boiler kw=30\nlow-loss-header\n"),
        4 => t.push_str("boiler kw=18\nmid-position-valve\n"),
        5 => t.push_str("boiler kw=24 { declares \"internal safety valve\" }\n"),
        _ => {
            let _ = writeln!(t, "boiler kw={}", 15 + dice.below(25));
        }
    }
    for n in 0..dice.below(6) {
        let emitters = match dice.below(4) {
            0 => format!("underfloor={}", 2 + dice.below(6)),
            1 => format!("towel-rails={}", 1 + dice.below(3)),
            _ => format!("radiators={}", 2 + dice.below(8)),
        };
        let _ = writeln!(t, "zone \"zone {}\" kw={} {emitters}", n + 1, 1 + dice.below(8));
    }
}

fn outlets(dice: &mut Dice, t: &mut String) {
    let all = [
        "bath",
        "shower",
        "basin",
        "kitchen-sink",
        "wc",
        "washing-machine",
        "dishwasher",
        "outside-tap",
    ];
    let mut list: Vec<String> = Vec::new();
    for word in all {
        if !once_in(dice, 3) {
            let n = 1 + dice.below(4);
            list.push(if n == 1 { word.to_owned() } else { format!("{word} {n}") });
        }
    }
    if list.is_empty() {
        list.push("basin".to_owned());
    }
    let _ = writeln!(t, "outlets {{ {} }}", list.join("; "));
}

fn circulation(dice: &mut Dice, t: &mut String) {
    let legs = dice.below(4);
    if legs < 2 {
        t.push_str("secondary-return\n");
        return;
    }
    t.push_str("secondary-return {\n");
    for n in 0..legs {
        let _ = writeln!(t, "    leg \"leg {}\" length={}", n + 1, 8 + dice.below(12));
    }
    t.push_str("}\n");
}

/// A building of flats by rule.
fn flats(dice: &mut Dice, mut t: String) -> String {
    let (floors, stacks) = (2 + dice.below(6), 1 + dice.below(3));
    let on_floor = stacks * (1 + dice.below(2));
    t.push_str("main static=6 dynamic=4.5 at=60\n");
    let _ = writeln!(
        t,
        "building \"block\" floors={floors} stacks={stacks} flats-a-floor={on_floor} {{\n    \
         flat \"type 1\" {{\n        cylinder litres=150 heated=\"electric\""
    );
    outlets(dice, &mut t);
    t.push_str("    }\n}\n");
    t
}
