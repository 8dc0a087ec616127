//! The network solver against a public reference solver, and against the two laws of every network.

use std::collections::BTreeMap;

use firstfix::size::network::{Element, Link, Network, Node, Solution};
use firstfix::size::water;
use proptest::prelude::*;

const COPPER: f64 = 0.0015;
const GRAVITY: f64 = 9.806_65;

fn node(name: &str, height: f64, demand: f64) -> Node {
    Node { name: name.to_owned(), height, demand, fixed: None }
}

fn network(
    celsius: f64,
    nodes: &[(&str, f64, f64)],
    fixed: (&str, f64),
    pipes: &[(&str, &str, &str, f64, f64, f64)],
) -> Network {
    let liquid = water::water(celsius);
    let mut all = vec![node(fixed.0, 0.0, 0.0)];
    all[0].fixed = Some(fixed.1 * liquid.rho * GRAVITY);
    all.extend(nodes.iter().map(|(n, height, demand)| node(n, *height, *demand)));
    let at = |name: &str| all.iter().position(|n| n.name == name).unwrap();
    let links = pipes
        .iter()
        .map(|(name, from, to, metres, bore, zeta)| Link {
            name: (*name).to_owned(),
            from: at(from),
            to: at(to),
            element: Element::Pipe { bore: *bore, roughness: COPPER, metres: *metres, zeta: *zeta },
        })
        .collect();
    Network { nodes: all, links, liquid }
}

/// A looped cold-water network of copper tube, four loops, invented.
fn cold() -> Network {
    network(
        10.0,
        &[
            ("a", 0.0, 0.0),
            ("b", 1.0, 0.15),
            ("c", 1.0, 0.2),
            ("d", 3.0, 0.1),
            ("e", 3.0, 0.3),
            ("f", 0.5, 0.0),
            ("g", 6.0, 0.2),
        ],
        ("main", 30.0),
        &[
            ("p1", "main", "a", 12.0, 32.6, 4.0),
            ("p2", "a", "b", 8.0, 26.2, 2.0),
            ("p3", "b", "c", 10.0, 20.2, 3.0),
            ("p4", "a", "d", 9.0, 26.2, 1.5),
            ("p5", "d", "e", 7.0, 20.2, 2.5),
            ("p6", "c", "e", 6.0, 13.6, 2.0),
            ("p7", "b", "d", 5.0, 20.2, 1.0),
            ("p8", "e", "g", 4.0, 20.2, 2.0),
            ("p9", "a", "f", 3.0, 20.2, 0.0),
            ("p10", "f", "c", 11.0, 20.2, 4.0),
        ],
    )
}

/// A heating circuit of two loops in reverse return, driven by a pump, invented.
fn heating() -> Network {
    let mut net = network(
        60.0,
        &[
            ("return", 0.0, 0.0),
            ("flow", 0.0, 0.0),
            ("f1", 0.0, 0.0),
            ("f2", 2.5, 0.0),
            ("r1", 0.0, 0.0),
            ("r2", 2.5, 0.0),
            ("out", 0.0, 0.0),
        ],
        ("vessel", 10.0),
        &[
            ("vessel-pipe", "vessel", "return", 1.0, 13.6, 0.0),
            ("boiler", "out", "flow", 6.0, 26.2, 14.0),
            ("main-flow-1", "flow", "f1", 8.0, 26.2, 4.0),
            ("main-flow-2", "f1", "f2", 7.0, 20.2, 3.0),
            ("radiators-1", "f1", "r1", 24.0, 13.6, 22.0),
            ("radiators-2", "f2", "r2", 18.0, 13.6, 30.0),
            ("main-return-1", "r1", "r2", 7.0, 20.2, 3.0),
            ("main-return-2", "r2", "return", 12.0, 26.2, 6.0),
        ],
    );
    let at = |name: &str| net.nodes.iter().position(|n| n.name == name).unwrap();
    let pump = Link {
        name: "pump".to_owned(),
        from: at("return"),
        to: at("out"),
        element: Element::Pump { curve: vec![(0.0, 6.0), (0.15, 5.6), (0.30, 4.8), (0.60, 2.0)] },
    };
    net.links.push(pump);
    net
}

/// Largest imbalance at a node (l/s) and largest error of loss along a link (Pa).
fn errors(net: &Network, s: &Solution) -> (f64, f64) {
    let mut balance: Vec<f64> = net.nodes.iter().map(|n| -n.demand).collect();
    let mut loss: f64 = 0.0;
    for (link, q) in net.links.iter().zip(&s.flow) {
        balance[link.from] -= q;
        balance[link.to] += q;
        let head = |i: usize| s.pressure[i] + net.liquid.rho * GRAVITY * net.nodes[i].height;
        let fall = head(link.from) - head(link.to);
        loss = loss.max((fall - link.element.loss(*q, &net.liquid).0).abs());
    }
    let free = net.nodes.iter().zip(&balance).filter(|(n, _)| n.fixed.is_none());
    (free.map(|(_, b)| b.abs()).fold(0.0, f64::max), loss)
}

/// Stored results of the package wntr 1.5.0 (tests/reference/network_reference.py): pressures and
/// flows within 0.5 %.
#[test]
fn against_the_reference_solver() {
    let mut count = 0;
    let solved: BTreeMap<&str, (Network, Solution)> = [("cold", cold()), ("heating", heating())]
        .map(|(name, net)| {
            let s = net.solve().unwrap();
            (name, (net, s))
        })
        .into();
    for line in include_str!("reference/network_reference.csv").lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        let (net, s) = &solved[cells[0]];
        let wanted: f64 = cells[3].parse().unwrap();
        let found = match cells[1] {
            "head" => {
                let i = net.nodes.iter().position(|n| n.name == cells[2]).unwrap();
                s.pressure[i] / (net.liquid.rho * GRAVITY) + net.nodes[i].height
            }
            _ => s.flow[net.links.iter().position(|l| l.name == cells[2]).unwrap()],
        };
        let tolerance = (wanted.abs() * 0.005).max(1e-6);
        assert!((found - wanted).abs() <= tolerance, "{line}: found {found}");
        count += 1;
    }
    assert_eq!(count, 33);
}

/// Flow balances at every node to 1e-6 l/s, losses close round every loop to 1 Pa.
#[test]
fn both_laws_hold() {
    for net in [cold(), heating()] {
        let (balance, loss) = errors(&net, &net.solve().unwrap());
        assert!(balance < 1e-6, "{balance}");
        assert!(loss < 0.1, "{loss}");
    }
}

/// Two like branches side by side carry half each.
#[test]
fn like_branches_share_alike() {
    let net = network(
        10.0,
        &[("a", 0.0, 0.0), ("b", 0.0, 0.4)],
        ("main", 20.0),
        &[
            ("in", "main", "a", 2.0, 26.2, 0.0),
            ("one", "a", "b", 5.0, 20.2, 1.0),
            ("two", "a", "b", 5.0, 20.2, 1.0),
        ],
    );
    let s = net.solve().unwrap();
    assert!((s.flow[1] - 0.2).abs() < 1e-6 && (s.flow[2] - 0.2).abs() < 1e-6, "{:?}", s.flow);
}

/// A tree needs no steps: its flows are sums, its pressures plain.
#[test]
fn a_tree_is_worked_out_directly() {
    let net = network(
        10.0,
        &[("a", 0.0, 0.1), ("b", 2.0, 0.2), ("c", 0.0, 0.0)],
        ("main", 20.0),
        &[
            ("in", "main", "a", 3.0, 20.2, 0.0),
            ("up", "a", "b", 3.0, 20.2, 0.0),
            ("blind", "a", "c", 3.0, 20.2, 0.0),
        ],
    );
    let s = net.solve().unwrap();
    assert!((s.flow[0] - 0.3).abs() < 1e-12 && s.flow[2] == 0.0);
    let (balance, loss) = errors(&net, &s);
    assert!(balance < 1e-12 && loss < 1e-6);
}

/// A check valve against the flow stays shut.
#[test]
fn a_check_valve_holds() {
    let mut net = network(
        10.0,
        &[("a", 0.0, 0.0), ("b", 0.0, 0.3)],
        ("main", 20.0),
        &[("in", "main", "a", 2.0, 26.2, 0.0), ("one", "a", "b", 5.0, 13.6, 1.0)],
    );
    let wrong = Link { name: "check".into(), from: 2, to: 1, element: Element::Check { kv: 3.0 } };
    net.links.push(wrong);
    let s = net.solve().unwrap();
    assert!(s.flow[2].abs() < 1e-4 && (s.flow[1] - 0.3).abs() < 1e-4, "{:?}", s.flow);
}

#[test]
fn what_has_no_solution_is_told_in_a_sentence() {
    let mut net = cold();
    net.nodes[0].fixed = None;
    let told = net.solve().unwrap_err().to_string();
    assert!(told.starts_with("nothing holds the pressure"), "{told}");
    let mut net = cold();
    net.links[0].element = Element::Valve { kv: 0.0 };
    assert_eq!(net.solve().unwrap_err().to_string(), "p1: a size that cannot be");
    let mut net = cold();
    net.nodes[2].demand = f64::NAN;
    assert!(net.solve().unwrap_err().to_string().contains("not a number"));
}

/// A ladder: two mains with rungs, as long as wanted.
fn ladder(rungs: usize, demands: &[f64], bores: &[f64]) -> Network {
    let liquid = water::water(20.0);
    let mut nodes = vec![node("main", 0.0, 0.0)];
    nodes[0].fixed = Some(3e5);
    let mut links = Vec::new();
    let bore = |i: usize| bores[i % bores.len()];
    let mut pipe = |from: usize, to: usize| {
        let i = links.len();
        links.push(Link {
            name: format!("p{i}"),
            from,
            to,
            element: Element::Pipe {
                bore: bore(i),
                roughness: COPPER,
                metres: 1.0 + (i % 7) as f64,
                zeta: (i % 3) as f64,
            },
        });
    };
    for r in 0..rungs {
        let demand = demands[r % demands.len()];
        nodes.push(node(&format!("l{r}"), (r % 4) as f64, demand));
        nodes.push(node(&format!("r{r}"), 0.0, 0.0));
        let (left, right) = (2 * r + 1, 2 * r + 2);
        pipe(left, right);
        if r == 0 {
            pipe(0, left);
        } else {
            pipe(left - 2, left);
            pipe(right, right - 2);
        }
    }
    Network { nodes, links, liquid }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// Whatever the sizes and demands: flow balance to 1e-6 l/s, loops closed to 1 Pa.
    #[test]
    fn both_laws_hold_everywhere(
        rungs in 1_usize..12,
        demands in proptest::collection::vec(0.0_f64..0.3, 1..5),
        bores in proptest::collection::vec(10.0_f64..50.0, 1..6),
    ) {
        let net = ladder(rungs, &demands, &bores);
        let s = net.solve().unwrap();
        let (balance, loss) = errors(&net, &s);
        prop_assert!(balance < 1e-6, "{}", balance);
        prop_assert!(loss < 0.5, "{}", loss);
    }

    /// A longer pipe at the head of the network never gives more pressure anywhere.
    #[test]
    fn a_longer_pipe_never_gives_more_pressure(more in 0.0_f64..50.0) {
        let net = cold();
        let before = net.solve().unwrap();
        let mut longer = net.clone();
        if let Element::Pipe { metres, .. } = &mut longer.links[0].element {
            *metres += more;
        }
        let after = longer.solve().unwrap();
        for (b, a) in before.pressure.iter().zip(&after.pressure) {
            prop_assert!(*a <= b + 1.0);
        }
    }
}
