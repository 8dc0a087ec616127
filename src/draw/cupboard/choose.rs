//! Which place each label takes. In: for each label the places it may take, with what each costs by
//! itself. Out: one place each, so that the sum of the costs and of what the labels do to each
//! other is low: boxes that touch, leaders over labels, leaders over leaders.

use super::callouts::CLEAR;
use super::margins::Edge;
use crate::draw::scene::Words;
use crate::model::{P2, Rect};

/// What a pair of labels weighs that touch, a leader over a label, two leaders that cross.
const TOUCH: f64 = 1000.0;
const OVER: f64 = 200.0;
const CROSS: f64 = 30.0;
/// Rounds of moving one label at a time. Each lowers the sum, so few are needed.
const ROUNDS: usize = 8;

/// A place for a label.
#[derive(Clone, Debug)]
pub struct Place {
    pub words: Words,
    /// The box of the letters.
    pub at: Rect,
    /// From the thing to the label; empty where the label stands by it.
    pub leader: Vec<P2>,
    pub cost: f64,
    /// The margin it stands in.
    pub edge: Option<Edge>,
}

impl Place {
    fn segments(&self) -> impl Iterator<Item = (P2, P2)> + '_ {
        self.leader.windows(2).map(|p| (p[0], p[1]))
    }

    /// What two labels do to each other.
    fn against(&self, other: &Place) -> f64 {
        let mut sum = 0.0;
        if self.at.grown(CLEAR).overlaps(&other.at) {
            sum += TOUCH;
        }
        let over = |a: &Place, b: &Place| a.segments().any(|(p, q)| passes(p, q, &b.at.grown(0.3)));
        sum += OVER * f64::from(u8::from(over(self, other)) + u8::from(over(other, self)));
        if self.segments().any(|(a, b)| other.segments().any(|(c, d)| meet(a, b, c, d))) {
            sum += CROSS;
        }
        sum
    }
}

/// For each label the number of its place; `lines` are in the way of all.
pub fn choose(places: &[Vec<Place>], lines: &[(P2, P2)]) -> Vec<usize> {
    let mut chosen: Vec<Option<usize>> = vec![None; places.len()];
    for i in 0..places.len() {
        chosen[i] = best(places, lines, &chosen, i, &[]).map(|b| b.0);
    }
    for _ in 0..ROUNDS {
        let before = chosen.clone();
        for i in 0..places.len() {
            chosen[i] = best(places, lines, &chosen, i, &[i]).map(|b| b.0);
        }
        for i in 0..places.len() {
            for j in i + 1..places.len() {
                untangle(places, lines, &mut chosen, i, j);
            }
        }
        if chosen == before {
            break;
        }
    }
    chosen.into_iter().map(|c| c.unwrap_or(0)).collect()
}

/// The place that adds least to the sum, the labels `without` left out; and what it adds.
fn best(
    places: &[Vec<Place>],
    lines: &[(P2, P2)],
    chosen: &[Option<usize>],
    i: usize,
    without: &[usize],
) -> Option<(usize, f64)> {
    let others: Vec<&Place> = (0..places.len())
        .filter(|j| *j != i && !without.contains(j))
        .filter_map(|j| chosen[j].map(|k| &places[j][k]))
        .collect();
    let mut least: Option<(usize, f64)> = None;
    for (k, place) in places[i].iter().enumerate() {
        let enough = least.map_or(f64::MAX, |l| l.1);
        let mut sum = place.cost;
        if sum >= enough {
            continue;
        }
        let near = place.at.grown(CLEAR);
        sum += OVER * lines.iter().filter(|(p, q)| passes(*p, *q, &near)).count() as f64;
        for other in &others {
            sum += place.against(other);
            if sum >= enough {
                break;
            }
        }
        if sum < enough {
            least = Some((k, sum));
        }
    }
    least
}

/// Two labels that are in each other's way are placed anew, in either order, where that is better.
fn untangle(
    places: &[Vec<Place>],
    lines: &[(P2, P2)],
    chosen: &mut [Option<usize>],
    i: usize,
    j: usize,
) {
    let (Some(a), Some(b)) = (chosen[i], chosen[j]) else { return };
    let between = places[i][a].against(&places[j][b]);
    if between <= 0.0 {
        return;
    }
    let alone = |chosen: &[Option<usize>], i: usize, k: usize, other: usize| {
        let rest = (0..places.len()).filter(|n| *n != i && *n != other);
        let place = &places[i][k];
        place.cost
            + rest.filter_map(|n| chosen[n].map(|m| place.against(&places[n][m]))).sum::<f64>()
    };
    let now = alone(chosen, i, a, j) + alone(chosen, j, b, i) + between;
    for (first, second) in [(i, j), (j, i)] {
        let mut trial = chosen.to_vec();
        trial[second] = None;
        let Some((k, cost)) = best(places, lines, &trial, first, &[second]) else { continue };
        trial[first] = Some(k);
        let Some((m, more)) = best(places, lines, &trial, second, &[]) else { continue };
        if cost + more < now - 1e-9 {
            chosen[first] = Some(k);
            chosen[second] = Some(m);
            return;
        }
    }
}

/// True where the segment enters the box.
pub fn passes(p: P2, q: P2, b: &Rect) -> bool {
    // Liang and Barsky: clip the segment against the four edges.
    let (dx, dy) = (q.x - p.x, q.y - p.y);
    let (mut from, mut to) = (0.0_f64, 1.0_f64);
    for (d, near, far) in [(dx, b.x - p.x, b.right() - p.x), (dy, b.y - p.y, b.bottom() - p.y)] {
        if d.abs() < 1e-12 {
            if near > 0.0 || far < 0.0 {
                return false;
            }
            continue;
        }
        let (a, c) = (near / d, far / d);
        from = from.max(a.min(c));
        to = to.min(a.max(c));
    }
    from < to
}

/// True where two segments cross.
pub fn meet(a: P2, b: P2, c: P2, d: P2) -> bool {
    let turn = |p: P2, q: P2, r: P2| (q.x - p.x) * (r.y - p.y) - (q.y - p.y) * (r.x - p.x);
    turn(a, b, c) * turn(a, b, d) < 0.0 && turn(c, d, a) * turn(c, d, b) < 0.0
}

#[cfg(test)]
mod tests {
    use super::*;

    fn place(x: f64, y: f64, from: P2, cost: f64) -> Place {
        let words = Words::new(P2::new(x, y), "PG1", 2.5);
        let at = words.on_paper();
        let leader = vec![from, P2::new(x - 0.8, y)];
        Place { words, at, leader, cost, edge: Some(Edge::Right) }
    }

    /// Two things, two rows: the upper, placed first, takes the row that the lower needs, and gives
    /// it back so that the leaders don't cross.
    #[test]
    fn leaders_do_not_cross_where_they_need_not() {
        let (upper, lower) = (P2::new(0.0, 10.0), P2::new(0.0, 20.0));
        let rows = |from: P2, first: f64, second: f64| {
            vec![place(30.0, 12.0, from, first), place(30.0, 18.0, from, second)]
        };
        let places = [rows(upper, 3.0, 1.0), rows(lower, 5.0, 1.0)];
        assert_eq!(choose(&places, &[]), [0, 1]);
    }

    #[test]
    fn labels_do_not_touch() {
        let from = P2::new(0.0, 0.0);
        let places = [
            vec![place(30.0, 10.0, from, 1.0)],
            vec![place(31.0, 11.0, from, 1.0), place(30.0, 40.0, from, 50.0)],
        ];
        assert_eq!(choose(&places, &[]), [0, 1]);
    }
}
