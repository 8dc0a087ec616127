//! From text to sheets, stage by stage, on the house of the README and on the largest examples.
//! `cargo bench --bench sheets`. Aims on one core: completing, checking and sizing a house under
//! 5 ms; placing and routing a cupboard under 100 ms; text to all SVGs under 50 ms beside that.

use firstfix::check::check;
use firstfix::complete::complete;
use firstfix::describe::read;
use firstfix::draw::scene::Sheet;
use firstfix::layout;
use firstfix::pipeline::work_out;
use firstfix::render::{Typeface, pdf, png, svg};
use firstfix::size::size;
use firstfix::wire::wire;

const JOBS: [&str; 3] = ["heron-cottage", "lark-manor", "teal-terrace"];

fn main() {
    divan::main();
}

fn text(name: &str) -> String {
    let path = format!("{}/examples/{name}.kdl", env!("CARGO_MANIFEST_DIR"));
    std::fs::read_to_string(path).expect("the example is there")
}

fn sheets(name: &str) -> Vec<Sheet> {
    work_out(&text(name)).project.expect("the example can be read").sheets()
}

#[divan::bench(args = JOBS)]
fn describe(bencher: divan::Bencher, name: &str) {
    let text = text(name);
    bencher.bench(|| read(&text));
}

#[divan::bench(args = JOBS)]
fn complete_size_check(bencher: divan::Bencher, name: &str) {
    let facts = read(&text(name)).facts;
    bencher.bench(|| {
        let sized = size(&complete(&facts).system);
        let wiring = wire(&sized.system);
        check(&sized, Some(&wiring), None)
    });
}

#[divan::bench(args = JOBS)]
fn schematic(bencher: divan::Bencher, name: &str) {
    let sized = size(&complete(&read(&text(name)).facts).system);
    bencher.bench(|| layout::schematic::lay_out(&sized));
}

#[divan::bench(args = JOBS, sample_count = 10)]
fn cupboard(bencher: divan::Bencher, name: &str) {
    let sized = size(&complete(&read(&text(name)).facts).system);
    bencher.bench(|| layout::cupboard::lay_out(&sized));
}

#[divan::bench(args = JOBS, sample_count = 10)]
fn text_to_all_svgs(bencher: divan::Bencher, name: &str) {
    let text = text(name);
    bencher.bench(|| {
        let project = work_out(&text).project.expect("the example can be read");
        project.sheets().iter().map(|s| svg(s, Typeface::Embedded).len()).sum::<usize>()
    });
}

#[divan::bench(args = JOBS, sample_count = 10)]
fn one_png(bencher: divan::Bencher, name: &str) {
    let sheets = sheets(name);
    bencher.bench(|| png(&sheets[0], 150.0).map(|b| b.len()).unwrap_or_default());
}

#[divan::bench(args = JOBS, sample_count = 5)]
fn one_pdf_of_all(bencher: divan::Bencher, name: &str) {
    let sheets = sheets(name);
    bencher.bench(|| pdf(&sheets, name, "0").map(|b| b.len()).unwrap_or_default());
}
