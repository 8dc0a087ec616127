//! The cupboard, from whole descriptions.

use firstfix::complete::complete;
use firstfix::describe::read;
use firstfix::layout::cupboard::{lay_out, plan::CupboardPlan};
use firstfix::model::System;
use firstfix::size::Sized;

fn laid(text: &str) -> (System, CupboardPlan) {
    let reading = read(text);
    let system = complete(&reading.facts).system;
    let sized = Sized { system, figures: Vec::new() };
    let plan = lay_out(&sized).expect("a cupboard");
    (sized.system, plan)
}

/// Approved Document G 3.56: at least 300 mm straight below the tundish before any bend.
#[test]
fn the_discharge_falls_straight_below_the_tundish() {
    let (sys, plan) = laid(include_str!("cupboards/two_zones.kdl"));
    let d2 = plan
        .routes
        .iter()
        .find(|r| sys.pipe(r.pipe).service == firstfix::model::Service::Discharge2)
        .expect("a discharge pipe");
    assert!(d2.routed);
    let (a, b) = (d2.points[0], d2.points[1]);
    assert!((a.x - b.x).abs() + (a.y - b.y).abs() < 1e-6 && a.z - b.z >= 300.0);
    assert!(d2.points.windows(2).all(|w| w[1].z <= w[0].z + 1e-6));
}

#[test]
fn a_system_without_a_cupboard_has_no_plan() {
    let reading = read("cylinder \"store\" litres=210\n");
    let mut system = complete(&reading.facts).system;
    system.site.cupboard = None;
    assert!(lay_out(&Sized { system, figures: Vec::new() }).is_none());
}
