//! Lines with many beads. In: a chain whose cheapest ways leave too little straight. Out: a way by
//! a straight that holds them all, along one of the preferred planes.

use super::lay::{Task, corners, open_gates, seat, tidy};
use super::search::{Gate, Rules};
use super::seats::windows;
use super::shape::{Block, Dir, V};
use super::{Chain, End, Laid};

/// Straights that are tried for a line with many beads.
const RUNS: usize = 6;

impl Task<'_> {
    /// A way by a straight that is long enough for all beads, where the cheapest ways had none:
    /// to its one end, along it, and on from the other.
    pub fn by_run(
        &mut self,
        c: usize,
        (a, b): (usize, usize),
        laid: &mut [Laid],
        rules: &Rules,
        long: f64,
    ) -> Option<Laid> {
        let chain = &self.p.chains[c];
        let from = self.gates(c, a, laid, 0.0, true);
        let to = self.gates(c, b, laid, 0.0, false);
        let sources = open_gates(&from, rules.forbidden);
        let targets = open_gates(&to, rules.forbidden);
        let points =
            |list: &[Gate]| -> Vec<V> { list.iter().map(|g| self.grid.point(g.node)).collect() };
        let (start, goal) =
            (Block::holding(&points(&sources))?, Block::holding(&points(&targets))?);
        let mut runs = self.runs(chain, rules, long, &start, &goal);
        runs.sort_by(|x, y| x.cost.total_cmp(&y.cost).then(x.tag.cmp(&y.tag)));
        let mut tried = 0;
        for run in runs.iter().take(400) {
            let prices = self.field.prices(self.grid, chain, self.aim);
            let head = self.grid.point(run.node);
            let Some((end, _)) = self.walk(head, run.heading, long, &prices) else { continue };
            tried += 1;
            if tried > RUNS {
                break;
            }
            let into = [Gate { node: run.node, heading: run.heading, cost: 0.0, tag: 0 }];
            let out = [Gate { node: end, heading: run.heading, cost: 0.0, tag: 0 }];
            let Some(first) = self.search.run(self.grid, &prices, rules, &sources, &into) else {
                continue;
            };
            let Some(then) = self.search.run(self.grid, &prices, rules, &out, &targets) else {
                continue;
            };
            let (s, t) = (&from[first.source], &to[then.target]);
            let mut points = vec![s.root];
            points.extend(corners(self.grid, &first));
            points.extend(corners(self.grid, &then));
            points.push(t.root);
            tidy(&mut points);
            if (a, b) == (1, 0) {
                points.reverse();
            }
            let beads = vec![None; chain.beads.len()];
            let cost = first.cost + long + then.cost;
            let done = Laid { points, beads, found: true, cost };
            if meets_itself(chain, &done.points) || windows(self.p, chain, &done).is_none() {
                continue;
            }
            for (end, gate) in [(a, s), (b, t)] {
                if let End::Branch { chain: parent, bead } = &chain.ends[end] {
                    let out = if end == a { gate.heading } else { gate.heading.opposite() };
                    seat(&mut laid[*parent], *bead, gate.root, out);
                }
            }
            return Some(done);
        }
        None
    }

    /// Straights along the preferred planes, with what a way by them comes to at least.
    fn runs(
        &self,
        chain: &Chain,
        rules: &Rules,
        long: f64,
        start: &Block,
        goal: &Block,
    ) -> Vec<Gate> {
        let lines = &self.grid.lines;
        let planes: Vec<Vec<usize>> = (0..3)
            .map(|axis| {
                let on = |c: &f64| self.p.lines[axis].iter().any(|l| (l - c).abs() < 20.0);
                (0..lines[axis].len()).filter(|i| on(&lines[axis][*i])).collect()
            })
            .collect();
        let mut out = Vec::new();
        for heading in Dir::ALL {
            if rules.forbidden >> heading.0 & 1 == 1 {
                continue;
            }
            let axis = heading.axis();
            let (u, v) = ((axis + 1) % 3, (axis + 2) % 3);
            for i in 0..lines[axis].len() {
                for &j in &planes[u] {
                    for &k in &planes[v] {
                        let mut at = [0; 3];
                        at[axis] = i;
                        at[u] = j;
                        at[v] = k;
                        let node = self.grid.node(at);
                        let head = self.grid.point(node);
                        let tail = heading.step(head, long);
                        if !self.p.room.grown(-chain.radius).contains(&Block::new(tail, tail)) {
                            continue;
                        }
                        let cost = start.distance(head) + goal.distance(tail);
                        out.push(Gate { node, heading, cost, tag: node * 6 + heading.0 as usize });
                    }
                }
            }
        }
        out
    }
}

/// True where a line comes too near to itself.
pub fn meets_itself(chain: &Chain, points: &[V]) -> bool {
    let straights: Vec<Block> = points.windows(2).map(|w| Block::around(w[0], w[1])).collect();
    straights.iter().enumerate().any(|(i, a)| {
        straights[i + 1..]
            .iter()
            .enumerate()
            .any(|(k, b)| k > 0 && a.grown(2.0 * chain.radius + chain.gap[1]).overlaps(b))
    })
}
