//! The engine by itself, in a bare room.

use super::shape::{Block, Dir, V, length};
use super::{Bead, Chain, End, Fall, Laid, Level, Problem, moved, polish, solve};

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

/// A line that falls into another goes down beside it, not out to where that one begins and back:
/// with fewer bends it could meet it 700 mm away.
#[test]
fn a_falling_branch_joins_near_the_end_of_its_trunk() {
    let mut p = room();
    p.lines = [0, 1, 2].map(|a| (1..p.room.hi[a] as usize / 25).map(|i| 25.0 * i as f64).collect());
    let ends = [port([800.0, 45.0, 1300.0], Dir::DOWN), port([100.0, 45.0, 1000.0], Dir::UP)];
    let mut trunk = chain(0, ends[0].clone(), ends[1].clone());
    trunk.beads = vec![Bead { length: 48.0, half: 15.0, reach: 0.0, branch: true, stub: 24.0 }];
    let relief = port([100.0, 45.0, 1600.0], Dir::DOWN);
    p.chains = vec![trunk, chain(0, relief, End::Branch { chain: 0, bead: 0 })];
    p.chains.iter_mut().for_each(|c| c.fall = Fall::Down);
    let laid = polish(&p, solve(&p)).laid;
    assert!(laid.iter().all(|l| l.found), "{laid:?}");
    let seat = laid[0].beads[0].unwrap();
    assert!(seat.at[0] < 300.0, "{laid:?}");
}

/// Two ports that miss each other by less than two elbows take: the way goes far enough aside for
/// its fittings.
#[test]
fn no_two_bends_are_nearer_than_their_fittings() {
    let mut p = room();
    let ends = [port([400.0, 300.0, 0.0], Dir::UP), port([420.0, 300.0, 1500.0], Dir::DOWN)];
    p.chains = vec![chain(0, ends[0].clone(), ends[1].clone())];
    let laid = &solve(&p).laid[0];
    assert!(laid.found);
    let inner = &laid.points[1..laid.points.len() - 1];
    assert!(inner.len() >= 2);
    for w in inner.windows(2) {
        assert!(length(w) >= p.chains[0].run - 1e-6, "{:?}", laid.points);
    }
}

/// From one half of the room to the other by a gap under the ceiling: with few states the true
/// distance must lead the way.
#[test]
fn a_way_far_round_a_body_is_found() {
    let mut p = room();
    p.states = 20_000;
    p.solids = vec![Block::new([450.0, 0.0, 0.0], [550.0, 700.0, 2150.0])];
    p.boxes = p.solids.clone();
    p.lines = [0, 1, 2].map(|a| (1..p.room.hi[a] as usize / 25).map(|i| 25.0 * i as f64).collect());
    let ends = [port([100.0, 45.0, 0.0], Dir::UP), port([900.0, 45.0, 0.0], Dir::UP)];
    p.chains = vec![chain(0, ends[0].clone(), ends[1].clone())];
    let laid = &solve(&p).laid[0];
    assert!(laid.found);
    assert!(laid.points.iter().any(|q| q[2] > 2150.0));
}

/// Walled in on all sides: no way, and said so.
#[test]
fn a_port_walled_in_has_no_way() {
    let mut p = room();
    let wall = |lo: V, hi: V| Block::new(lo, hi);
    p.solids = vec![
        wall([700.0, 0.0, 0.0], [720.0, 700.0, 500.0]),
        wall([700.0, 0.0, 500.0], [1000.0, 700.0, 520.0]),
    ];
    p.boxes = p.solids.clone();
    let ends = [port([100.0, 45.0, 0.0], Dir::UP), port([900.0, 45.0, 0.0], Dir::UP)];
    p.chains = vec![chain(0, ends[0].clone(), ends[1].clone())];
    assert!(!solve(&p).laid[0].found);
}

/// What belongs at the foot of its line hangs there, what is read hangs between its heights; what has
/// no such wish hangs where it points the better way, here from the high stretch.
#[test]
fn a_small_body_hangs_at_the_height_it_would_rather_have() {
    let tip = |level: Level| {
        let mut p = room();
        p.lines[2] = vec![800.0];
        let ends = [port([100.0, 45.0, 1500.0], Dir::RIGHT), port([800.0, 45.0, 250.0], Dir::UP)];
        let mut trunk = chain(0, ends[0].clone(), ends[1].clone());
        trunk.beads = vec![Bead { length: 48.0, half: 15.0, reach: 0.0, branch: true, stub: 24.0 }];
        let ways = vec![Dir::DOWN, Dir::FRONT, Dir::RIGHT, Dir::LEFT];
        let leaf = End::Leaf { stub: 30.0, length: 50.0, half: 30.0, ways, level };
        p.chains = vec![trunk, chain(0, End::Branch { chain: 0, bead: 0 }, leaf)];
        let a = solve(&p);
        assert!(a.laid.iter().all(|l| l.found), "{a:?}");
        a.laid[1].points.last().unwrap()[2]
    };
    for (level, low, high) in [
        (Level::Any, 1000.0, 2300.0),
        (Level::Foot(12.0), 0.0, 400.0),
        (Level::Between(700.0, 900.0, 12.0), 700.0, 900.0),
    ] {
        let z = tip(level);
        assert!(z > low && z < high, "{level:?}: {z}");
    }
}

/// Down to an end straight below, but for a body in between: the end goes to where the line comes
/// down, unless it must stay or something that comes with it has no room.
#[test]
fn an_end_goes_to_where_its_line_comes_down() {
    let mut p = room();
    p.solids = vec![Block::new([450.0, 0.0, 400.0], [550.0, 300.0, 600.0])];
    p.boxes = p.solids.clone();
    p.lines[0] = vec![640.0];
    let ends = [port([500.0, 45.0, 1500.0], Dir::DOWN), port([500.0, 45.0, 0.0], Dir::UP)];
    p.chains = vec![chain(0, ends[0].clone(), ends[1].clone())];
    let answer = solve(&p);
    let foot = |laid: &Laid| *laid.points.last().unwrap();
    let bends = |laid: &Laid| laid.points.len() - 2;
    assert_eq!((foot(&answer.laid[0]), bends(&answer.laid[0])), ([500.0, 45.0, 0.0], 4));
    let by_wall = |at: V| (at[1] < 50.0).then(Vec::new);
    let now = moved(&p, &answer, (0, 1), &by_wall).expect("a better end");
    assert_eq!(bends(&now[0]), 2);
    assert!(foot(&now[0])[0] != 500.0 && foot(&now[0])[1] < 50.0, "{:?}", now[0].points);
    assert!(moved(&p, &answer, (0, 1), &|_| None).is_none());
    let wide = |at: V| Some(vec![Block::around(at, at).grown_each([60.0, 60.0, 450.0])]);
    let now = moved(&p, &answer, (0, 1), &wide).expect("further off");
    assert!((foot(&now[0])[0] - 500.0).abs() > 110.0, "{:?}", now[0].points);
}

/// An end from which there is no way at all goes to where there is one.
#[test]
fn an_end_that_is_walled_in_goes_to_where_it_finds_a_way() {
    let mut p = room();
    let beside = |x: f64| Block::new([x - 20.0, 0.0, 0.0], [x + 20.0, 700.0, 2300.0]);
    p.solids = vec![beside(440.0), beside(560.0)];
    p.boxes = p.solids.clone();
    p.chains = vec![chain(0, port([100.0, 45.0, 0.0], Dir::UP), port([500.0, 45.0, 0.0], Dir::UP))];
    let answer = solve(&p);
    assert!(!answer.laid[0].found);
    let now = moved(&p, &answer, (0, 1), &|_| Some(Vec::new())).expect("an end with a way");
    let foot = now[0].points.last().unwrap();
    assert!(now[0].found && foot[0] < 420.0, "{:?}", now[0].points);
}

/// A line laid for looks goes round the way to what stands, though another is shorter.
#[test]
fn a_line_keeps_off_the_way_to_what_stands() {
    let mut p = room();
    p.lines[2] = vec![600.0, 1400.0];
    let way = Block::new([300.0, 100.0, 1000.0], [500.0, 700.0, 1200.0]);
    let ends = [port([100.0, 300.0, 0.0], Dir::UP), port([900.0, 300.0, 1100.0], Dir::LEFT)];
    p.chains = vec![chain(0, ends[0].clone(), ends[1].clone())];
    let across = |p: &Problem| {
        let laid = &polish(p, solve(p)).laid[0];
        assert!(laid.found);
        laid.points.windows(2).any(|w| Block::around(w[0], w[1]).overlaps(&way))
    };
    assert!(across(&p));
    p.ways = vec![(way, 20.0)];
    assert!(!across(&p));
}

/// Where it is shorter to go under a body than before it, but not much, a line stays level.
#[test]
fn a_line_goes_round_rather_than_under() {
    let mut p = room();
    p.solids = vec![Block::new([450.0, 0.0, 750.0], [550.0, 120.0, 850.0])];
    p.boxes = p.solids.clone();
    let ends = [port([100.0, 45.0, 800.0], Dir::RIGHT), port([900.0, 45.0, 800.0], Dir::LEFT)];
    p.chains = vec![chain(0, ends[0].clone(), ends[1].clone())];
    let laid = &polish(&p, solve(&p)).laid[0];
    assert!(laid.found);
    assert!(laid.points.iter().all(|v| v[2] == 800.0), "{:?}", laid.points);
}

/// A vent stands by the top of its line, though it has a level stretch only at the foot.
#[test]
fn a_vent_stands_by_the_top_of_its_line() {
    let root = |level: Level| {
        let mut p = room();
        p.lines[2] = (1..15).map(|i| 100.0 * f64::from(i)).collect();
        let ends = [port([200.0, 45.0, 1500.0], Dir::DOWN), port([900.0, 45.0, 250.0], Dir::LEFT)];
        let mut trunk = chain(0, ends[0].clone(), ends[1].clone());
        trunk.beads = vec![Bead { length: 48.0, half: 15.0, reach: 0.0, branch: true, stub: 24.0 }];
        let ways = vec![Dir::UP];
        let leaf = End::Leaf { stub: 30.0, length: 50.0, half: 20.0, ways, level };
        p.chains = vec![trunk, chain(0, End::Branch { chain: 0, bead: 0 }, leaf)];
        let a = polish(&p, solve(&p));
        assert!(a.laid.iter().all(|l| l.found), "{a:?}");
        a.laid[1].points[0][2]
    };
    assert!(root(Level::Any) < 300.0);
    assert!(root(Level::Top(4.0)) > 1200.0);
}
