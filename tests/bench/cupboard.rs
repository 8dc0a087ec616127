//! Placing and routing a cupboard, on one core: `cargo bench --bench cupboard`. Aims: a domestic
//! one under 100 ms, a plant room under 5 s.

use firstfix::complete::complete;
use firstfix::describe::read;
use firstfix::layout::cupboard::lay_out;
use firstfix::size::size;

/// Direct; one, two and three zones; a heat pump; two cylinders; a low-loss header with four pumps.
const JOBS: [&str; 7] = [
    "kiln-lane",
    "tern-house",
    "teal-terrace",
    "heron-cottage",
    "curlew-barn",
    "gull-hotel",
    "rook-hall",
];

fn main() {
    divan::main();
}

#[divan::bench(args = JOBS, sample_count = 10, sample_size = 1)]
fn place_and_route(bencher: divan::Bencher, name: &str) {
    let path = format!("{}/examples/{name}.kdl", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(path).expect("the example is there");
    let sized = size(&complete(&read(&text).facts).system);
    bencher.bench(|| lay_out(&sized));
}
