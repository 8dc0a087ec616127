//! The engine by itself, in a bare room.

use super::shape::{Block, Dir, V};
use super::{Bead, Chain, End, Fall, Problem, solve};

fn room() -> Problem {
    Problem {
        room: Block::new([0.0; 3], [1000.0, 700.0, 2300.0]),
        near: 120.0,
        rounds: 20,
        states: 200_000,
        ..Problem::default()
    }
}

fn chain(net: usize, a: End, b: End) -> Chain {
    Chain {
        net,
        radius: 11.0,
        standoff: 26.0,
        gap: [22.0, 8.0],
        ends: [a, b],
        beads: Vec::new(),
        fall: Fall::Free,
        run: 40.0,
        rank: 0,
        warmth: 0,
    }
}

fn port(at: V, out: Dir) -> End {
    End::Port { at, out, straight: 60.0 }
}

#[test]
fn two_that_want_the_same_place_both_get_through() {
    let mut p = room();
    p.chains = vec![
        chain(0, port([100.0, 45.0, 0.0], Dir::UP), port([500.0, 45.0, 0.0], Dir::UP)),
        chain(1, port([300.0, 45.0, 0.0], Dir::UP), port([700.0, 45.0, 0.0], Dir::UP)),
    ];
    let a = solve(&p);
    assert!(a.laid.iter().all(|l| l.found), "{a:?}");
}

#[test]
fn what_may_only_fall_never_rises() {
    let mut p = room();
    let mut c =
        chain(0, port([100.0, 45.0, 900.0], Dir::DOWN), port([900.0, 700.0, 300.0], Dir::BACK));
    c.fall = Fall::Down;
    p.chains = vec![c];
    let a = solve(&p);
    assert!(a.laid[0].found);
    for w in a.laid[0].points.windows(2) {
        assert!(w[1][2] <= w[0][2] + 1e-9);
    }
}

#[test]
fn a_branch_leaves_its_trunk_square_and_straight() {
    let mut p = room();
    let mut trunk = chain(0, port([100.0, 45.0, 0.0], Dir::UP), port([800.0, 45.0, 0.0], Dir::UP));
    trunk.beads = vec![Bead { length: 48.0, half: 15.0, reach: 0.0, branch: true, stub: 24.0 }];
    p.chains =
        vec![trunk, chain(0, End::Branch { chain: 0, bead: 0 }, port([450.0, 45.0, 0.0], Dir::UP))];
    let a = solve(&p);
    assert!(a.laid.iter().all(|l| l.found), "{a:?}");

    let seat = a.laid[0].beads[0].unwrap();
    assert_eq!(seat.at[0], 450.0);
    assert_eq!(seat.branch, Some(Dir::DOWN));
    assert_eq!(a.laid[1].points[0], seat.at);
    assert_eq!(a.laid[1].points.len(), 2);
}
