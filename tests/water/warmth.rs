//! Heat loss of pipes and stores, daily demand, what waits in a pipe, against published figures.

use firstfix::catalogue::Tube;
use firstfix::size::friction::flow_for;
use firstfix::size::heat_loss::{Lagged, thickness_for};
use firstfix::size::{demand, store, water};

use super::{near, within};

pub fn pipe(od: f64, thickness: f64, emissivity: f64) -> Lagged {
    Lagged { od, thickness, conductivity: 0.035, emissivity, inside: 60.0, air: 15.0 }
}

/// EN ISO 12241: bare 22 mm copper at 60 °C in air at 15 °C.
#[test]
fn loss_of_a_bare_pipe() {
    within(pipe(22.0, 0.0, 0.2).loss().0, 30.4, 2.0);
    within(pipe(22.0, 0.0, 0.9).loss().0, 45.3, 2.0);
    within(pipe(15.0, 0.0, 0.2).loss().0, 22.5, 2.0);
}

/// EN ISO 12241: 22 mm with 20 mm of lagging.
#[test]
fn loss_of_a_lagged_pipe() {
    let p = pipe(22.0, 20.0, 0.9);
    let (loss, surface) = p.loss();
    within(loss, 8.49, 2.0);
    within(surface, 20.0, 2.0);
    within(p.loss_with(10.0), 8.61, 2.0);
    for (od, thickness, wanted) in
        [(15.0, 9.0, 9.94), (15.0, 20.0, 6.85), (28.0, 25.0, 8.75), (42.0, 30.0, 10.18)]
    {
        within(pipe(od, thickness, 0.9).loss().0, wanted, 2.0);
    }
}

/// BS 5422, domestic table, from memory: 7.89 W/m for 15 mm.
#[test]
fn lagging_to_meet_a_limit() {
    near(thickness_for(7.89, &pipe(15.0, 0.0, 0.05)).unwrap(), 11.3, 0.3);
}

/// SAP 2012, Tables 2, 2a, 2b: 210 l with 50 mm of factory foam.
#[test]
fn standing_loss() {
    within(store::sap_loss_factor(50.0), 0.01519, 0.2);
    within(store::sap_volume_factor(210.0), 0.8298, 0.2);
    within(store::standing_loss_sap(210.0, 50.0), 1.588, 0.2);
}

/// 210 l from 10 to 60 °C by 3 kW; MIS 3005-D's shortcut.
#[test]
fn reheat() {
    within(store::reheat_minutes(210.0, 10.0, 60.0, 3.0), 244.0, 1.0);
    within(store::reheat_shortcut(210.0, 50.0, 3.0), 244.8, 0.1);
    within(store::reheat_minutes(210.0, 10.0, 60.0, 20.0), 36.6, 1.0);
}

/// SAP 2012, Tables 1b to 1d: 100 m2.
#[test]
fn daily_demand_by_area() {
    within(store::persons_by_area(100.0), 2.740, 0.2);
    within(store::daily_by_area(100.0), 104.5, 0.2);
    within(store::yearly_energy(store::daily_by_area(100.0)), 1648.0, 0.2);
}

/// MIS 3005-D: 45 l for each person.
#[test]
fn daily_demand_by_persons() {
    assert_eq!(store::daily_by_persons(3.0, Some(5.0)), 225.0);
    assert_eq!(store::daily_by_persons(3.0, None), 180.0);
}

/// 12 m of 22 mm copper to a basin: within the length of the guidance to the Water Fittings
/// Regulations, yet over 30 s.
#[test]
fn dead_leg() {
    let content = 12.0 * Tube::called("22").unwrap().content();
    near(content, 3.85, 0.01);
    let seconds = demand::waiting(content, 0.1);
    near(seconds, 38.5, 0.6);
    assert!(seconds > 30.0);
}

/// 20 m of 22 mm and 20 m of 15 mm with 20 mm of lagging, 5 K: 0.89 l/min.
#[test]
fn secondary_return() {
    let loss = 20.0 * pipe(22.0, 20.0, 0.9).loss().0 + 20.0 * pipe(15.0, 20.0, 0.9).loss().0;
    within(loss, 306.8, 1.0);
    let flow = flow_for(loss / 1000.0, 5.0, &water::water(57.0));
    within(flow, 0.0149, 1.0);
    within(flow * 60.0, 0.89, 1.0);
}

/// Mixing by heat: 48 °C from 60 and 10 takes 0.760 of hot; 210 l at 60 °C give 350 l at 40 °C.
#[test]
fn mixing() {
    near(store::hot_share(48.0, 60.0, 10.0), 0.760, 0.0005);
    near(store::hot_share(41.0, 60.0, 10.0), 0.620, 0.0005);
    near(store::mixed_volume(210.0, 60.0, 10.0, 40.0), 350.0, 0.01);
    near(store::blended((0.3, 60.0), (0.1, 10.0)), 47.5, 1e-9);
}
