//! Seeded random port graphs. The numbers come from a small generator of our own, so that every
//! machine draws the same graphs.

use firstfix::layout::graph::{End, Graph, Pipe, Placed, Port, Pose, Side, Symbol, Transforms};

/// A small generator (xorshift, 64 bits).
pub struct Dice(u64);

impl Dice {
    pub fn new(seed: u64) -> Dice {
        Dice(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1)
    }

    pub fn below(&mut self, n: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        ((self.0 >> 16) % n.max(1) as u64) as usize
    }
}

/// A symbol of a random sort: fitting in line, tee, or box with several ports.
pub fn symbol(dice: &mut Dice, n: usize) -> Symbol {
    let port = |id: &str, side, off| Port { id: id.into(), side, off };
    let id = format!("s{n}");
    match dice.below(4) {
        0 => Symbol {
            id,
            w: 150,
            h: 100,
            ports: vec![port("a", Side::W, 50), port("b", Side::E, 50)],
            transforms: Transforms { mirror_x: true, mirror_y: true, turn: true },
            ..Symbol::default()
        },
        1 => Symbol {
            id,
            w: 40,
            h: 40,
            ports: vec![port("a", Side::W, 20), port("b", Side::E, 20), port("c", Side::S, 20)],
            transforms: Transforms { mirror_x: true, mirror_y: true, turn: true },
            ..Symbol::default()
        },
        2 => Symbol {
            id,
            w: 200,
            h: 200,
            ports: vec![port("a", Side::N, 100)],
            transforms: Transforms::default(),
            ..Symbol::default()
        },
        _ => {
            let w = 200 + 100 * dice.below(3) as i64;
            let h = 200 + 100 * dice.below(4) as i64;
            let mut ports = Vec::new();
            for side in Side::ALL {
                let long = if side.is_horizontal() { h } else { w };
                for k in 0..dice.below(3) as i64 {
                    let off = 50 + k * 100 + dice.below(3) as i64 * 10;
                    if off < long {
                        ports.push(port(&format!("p{}", ports.len()), side, off));
                    }
                }
            }
            if ports.is_empty() {
                ports.push(port("p0", Side::E, 100));
            }
            Symbol {
                id,
                w,
                h,
                ports,
                transforms: Transforms {
                    mirror_x: dice.below(2) == 0,
                    mirror_y: false,
                    turn: false,
                },
                ..Symbol::default()
            }
        }
    }
}

/// A random graph of `n` symbols; most ports are used at most once, pipes join near neighbours in
/// the list more often than far ones.
pub fn graph(seed: u64, n: usize) -> Graph {
    let mut dice = Dice::new(seed);
    for _ in 0..8 {
        dice.below(2);
    }
    let symbols: Vec<Symbol> = (0..n).map(|i| symbol(&mut dice, i)).collect();
    let mut free: Vec<End> = Vec::new();
    for (s, symbol) in symbols.iter().enumerate() {
        for port in 0..symbol.ports.len() {
            free.push(End { symbol: s, port });
        }
    }
    let mut pipes = Vec::new();
    while free.len() > 1 {
        let from = free.remove(0);
        if dice.below(8) == 0 {
            continue;
        }
        let reach = free.len().min(6);
        let pick = if dice.below(10) == 0 { dice.below(free.len()) } else { dice.below(reach) };
        let to = free.remove(pick);
        pipes.push(Pipe {
            id: format!("e{}", pipes.len()),
            from,
            to,
            rank: dice.below(4) as u8,
            label: None,
        });
    }
    Graph { symbols, pipes }
}

/// Puts the symbols on a square of cells, in order, each a little out of line.
pub fn spread(graph: &Graph, seed: u64, cell: i64) -> Vec<Placed> {
    let mut dice = Dice::new(seed);
    let mut across = 1;
    while across * across < graph.symbols.len() {
        across += 1;
    }
    (0..graph.symbols.len())
        .map(|i| {
            let poses = Pose::allowed(graph.symbols[i].transforms);
            Placed {
                x: (i % across) as i64 * cell + dice.below(5) as i64 * 25,
                y: (i / across) as i64 * cell + dice.below(5) as i64 * 25,
                pose: poses[dice.below(poses.len())],
            }
        })
        .collect()
}
