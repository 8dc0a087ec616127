//! Draws any port graph with the bare engine: `portgraph GRAPH.json`, or
//! `portgraph --generate SYMBOLS SEED` for a random graph to try it on. Forms: see `format`.

#[path = "format.rs"]
#[allow(dead_code)]
mod format;
#[path = "generate.rs"]
#[allow(dead_code)]
mod generate;

use std::io::Write;
use std::process::ExitCode;
use std::time::Instant;

use firstfix::layout::graph;

const USAGE: &str = "usage: portgraph GRAPH.json\n       portgraph --generate SYMBOLS SEED";

fn main() -> ExitCode {
    let args: Vec<String> = std::env::args().skip(1).collect();
    match run(&args) {
        Ok(text) => {
            let _ = writeln!(std::io::stdout(), "{text}");
            ExitCode::SUCCESS
        }
        Err(message) => {
            let _ = writeln!(std::io::stderr(), "portgraph: {message}");
            ExitCode::from(2)
        }
    }
}

fn run(args: &[String]) -> Result<String, String> {
    match args {
        [word, symbols, seed] if word == "--generate" => {
            let symbols = symbols.parse().map_err(|_| USAGE)?;
            let seed = seed.parse().map_err(|_| USAGE)?;
            let g = generate::graph(seed, symbols);
            Ok(format::write_graph(&g, 100))
        }
        [path] => {
            let text = std::fs::read_to_string(path).map_err(|e| format!("{path}: {e}"))?;
            let read = format::read(&text).map_err(|e| format!("{path}: {e}"))?;
            let start = Instant::now();
            let options = read.options();
            let drawing = graph::draw(&read.graph, &options);
            let ms = start.elapsed().as_secs_f64() * 1000.0;
            let m = graph::measure(&read.graph, &drawing, options.pitch);
            Ok(format::write(&read.graph, &drawing, &m, ms))
        }
        _ => Err(USAGE.into()),
    }
}
