//! The graph engine, judged from its drawings alone.

#[path = "graphs/generate.rs"]
mod generate;

use firstfix::layout::graph::{self, Drawing, RouteOptions};

#[test]
fn routes_on_given_places_break_no_rule() {
    for seed in 0..60 {
        let g = generate::graph(seed, 8 + (seed as usize % 5) * 6);
        let placed = generate::spread(&g, seed, 900);
        let options = RouteOptions::for_spacing(100);
        let routing = graph::route(&g, &placed, &options);
        assert_eq!(routing.failed, Vec::<usize>::new(), "seed {seed}");
        let drawing = Drawing { placed, routes: routing.routes };
        let m = graph::measure(&g, &drawing, routing.pitch);
        assert_eq!(m.hard(), 0, "seed {seed}: {m:?}");
    }
}
