//! Completing, sizing and checking, without layout and drawing. `cargo bench --bench sums`. Aims on
//! one core: the largest domestic examples under 5 ms, a plant room of 300 parts under 50 ms, 48
//! flats by rule (about 2,000 parts) under 500 ms, growth no worse than n log n up to 10,000 parts.

#[path = "../graphs/plant.rs"]
mod plant;

use firstfix::check::check;
use firstfix::complete::complete;
use firstfix::describe::facts::Facts;
use firstfix::describe::read;
use firstfix::size::size;
use firstfix::wire::wire;

use plant::plant_room;

const HOUSES: [&str; 4] = ["lark-manor", "mill-row", "rook-hall", "gull-hotel"];
/// Flats that come to about 100, 1,000 and 10,000 parts.
const GROWTH: [usize; 3] = [2, 24, 240];

fn main() {
    for (what, facts) in [("plant room", facts(&plant_room(34))), ("48 flats", flats(48))] {
        let parts = complete(&facts).system.parts.len();
        assert!(parts >= if what == "plant room" { 300 } else { 1500 }, "{what}: {parts} parts");
    }
    divan::main();
}

fn facts(text: &str) -> Facts {
    let reading = read(text);
    assert!(reading.readable, "{:?}", reading.diagnostics);
    reading.facts
}

fn house(name: &str) -> Facts {
    let path = format!("{}/examples/{name}.kdl", env!("CARGO_MANIFEST_DIR"));
    facts(&std::fs::read_to_string(path).expect("the example is there"))
}

/// So many flats, two on each of `stacks` at every floor.
fn flats(count: usize) -> Facts {
    let (floors, each) = match count {
        2 => (1, 2),
        24 => (6, 4),
        48 => (6, 8),
        _ => (12, 20),
    };
    facts(&format!(
        "main static=(measured)6.0 dynamic=(measured)5.0 at=(measured)120\n\
         building \"block\" floors={floors} stacks={stacks} flats-a-floor={each} {{\n flat {{\n  \
         cylinder litres=150 heated=\"electric\"\n  \
         outlets {{ bath; shower; basin 2; kitchen-sink; wc 2; washing-machine }}\n  \
         discharge length=1.5 elbows=2\n }}\n}}\n",
        stacks = each / 2,
    ))
}

fn sums(bencher: divan::Bencher, facts: &Facts) {
    bencher.bench(|| check(&size(&complete(facts).system), None, None));
}

#[divan::bench(args = HOUSES)]
fn domestic(bencher: divan::Bencher, name: &str) {
    sums(bencher, &house(name));
}

#[divan::bench(args = HOUSES)]
fn domestic_with_wiring(bencher: divan::Bencher, name: &str) {
    let facts = house(name);
    bencher.bench(|| {
        let sized = size(&complete(&facts).system);
        let wiring = wire(&sized.system);
        check(&sized, Some(&wiring), None)
    });
}

#[divan::bench(sample_count = 10)]
fn plant_room_of_300(bencher: divan::Bencher) {
    sums(bencher, &facts(&plant_room(34)));
}

#[divan::bench(sample_count = 5)]
fn flats_48(bencher: divan::Bencher) {
    sums(bencher, &flats(48));
}

#[divan::bench(args = GROWTH, sample_count = 3)]
fn growth(bencher: divan::Bencher, count: usize) {
    sums(bencher, &flats(count));
}

#[divan::bench(args = GROWTH, sample_count = 3)]
fn growth_complete(bencher: divan::Bencher, count: usize) {
    let facts = flats(count);
    bencher.bench(|| complete(&facts));
}

#[divan::bench(args = GROWTH, sample_count = 3)]
fn growth_size(bencher: divan::Bencher, count: usize) {
    let system = complete(&flats(count)).system;
    bencher.bench(|| size(&system));
}

#[divan::bench(args = GROWTH, sample_count = 3)]
fn growth_check(bencher: divan::Bencher, count: usize) {
    let sized = size(&complete(&flats(count)).system);
    bencher.bench(|| check(&sized, None, None));
}
