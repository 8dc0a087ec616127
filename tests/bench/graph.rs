//! Time of the graph engine on the fixtures and on random graphs: `cargo bench --bench graph`.

#[allow(dead_code)]
#[path = "../graphs/format.rs"]
mod format;
#[allow(dead_code)]
#[path = "../graphs/generate.rs"]
mod generate;

use firstfix::layout::graph::{self, Options};

fn main() {
    divan::main();
}

#[divan::bench(args = ["house", "plant-room", "forty-dwellings", "four-risers"], sample_count = 5)]
fn fixture(bencher: divan::Bencher, name: &str) {
    let path = format!("{}/tests/fixtures/graphs/{name}.json", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(path).expect("fixture");
    let read = format::read(&text).expect("fixture reads");
    let options = Options::for_spacing(read.spacing);
    bencher.bench(|| graph::draw(&read.graph, &options));
}

#[divan::bench(args = [30, 100, 300, 1000, 3000], sample_count = 3)]
fn growth(bencher: divan::Bencher, symbols: usize) {
    let g = generate::graph(1, symbols);
    let options = Options::for_spacing(100);
    bencher.bench(|| graph::draw(&g, &options));
}
