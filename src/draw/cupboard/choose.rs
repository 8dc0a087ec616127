//! Which place each label takes. In: for each label the places it may take, with what each costs by
//! itself. Out: one place each, so that the sum of the costs and of what the labels do to each
//! other is low: boxes that touch, leaders over labels, leaders over leaders.

use super::callouts::CLEAR;
use super::margins::Edge;
use crate::draw::scene::Words;
use crate::model::{P2, Rect, cross};

/// What a pair of labels weighs that touch, a leader over a label, two leaders that cross, two that
/// end in one place: nobody could tell which is whose.
const TOUCH: f64 = 1000.0;
const OVER: f64 = 200.0;
const CROSS: f64 = 30.0;
const ONE_END: f64 = 12.0;
/// A leader that passes between a thing and the words beside it: they are read as the leader's.
const BETWEEN: f64 = 20.0;
/// Two texts in one line, so near that they read as one.
const AS_ONE: f64 = 14.0;
/// Ends nearer than this are one place, mm; texts in one line that are twice as near read as one.
const APART: f64 = 2.0;
/// Rounds of moving one label, or two that are in each other's way. Each lowers the sum, so few are
/// needed.
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
    /// All that it and its leader take.
    extent: Rect,
    /// Of words that stand by their thing without a leader, that thing.
    tie: Option<P2>,
    /// True where nothing is said.
    pub silent: bool,
}

impl Place {
    pub fn new(words: Words, at: Rect, leader: Vec<P2>, cost: f64, edge: Option<Edge>) -> Place {
        let around = |e: Rect, p: &P2| {
            let (x, y) = (e.x.min(p.x), e.y.min(p.y));
            Rect::new(x, y, e.right().max(p.x) - x, e.bottom().max(p.y) - y)
        };
        let extent = leader.iter().fold(at, around).grown(CLEAR.max(APART));
        Place { words, at, leader, cost, edge, extent, tie: None, silent: false }
    }

    /// Words that stand by what they speak of.
    pub fn tied(mut self, to: P2) -> Place {
        self.tie = Some(to);
        self
    }

    /// What it costs to say nothing.
    pub fn silent(cost: f64) -> Place {
        let words = Words::new(P2::default(), String::new(), 0.0);
        Place { silent: true, ..Place::new(words, Rect::default(), Vec::new(), cost, None) }
    }

    /// True where two texts stand one behind the other in a line.
    fn reads_on(&self, other: &Place) -> bool {
        const IN_LINE: f64 = 1.0;
        let (a, b) = (&self.at, &other.at);
        let up = self.words.upwards;
        let (off, gap) = if up {
            (a.centre().x - b.centre().x, (b.y - a.bottom()).max(a.y - b.bottom()))
        } else {
            (a.centre().y - b.centre().y, (b.x - a.right()).max(a.x - b.right()))
        };
        up == other.words.upwards && off.abs() < IN_LINE && gap < 2.0 * APART
    }

    fn segments(&self) -> impl Iterator<Item = (P2, P2)> + '_ {
        self.leader.windows(2).map(|p| (p[0], p[1]))
    }

    /// What two labels do to each other.
    fn against(&self, other: &Place) -> f64 {
        let mut sum = 0.0;
        if self.silent || other.silent || !self.extent.overlaps(&other.extent) {
            return sum;
        }
        if self.at.grown(CLEAR).overlaps(&other.at) {
            sum += TOUCH;
        } else if self.reads_on(other) {
            sum += AS_ONE;
        }
        let over =
            |a: &Place, b: &Place| a.segments().any(|(p, q)| b.at.grown(0.3).is_passed(p, q));
        sum += OVER * f64::from(u8::from(over(self, other)) + u8::from(over(other, self)));
        let parts = |a: &Place, b: &Place| {
            b.tie.is_some_and(|t| a.segments().any(|(p, q)| cross(p, q, b.at.centre(), t)))
        };
        sum += BETWEEN * f64::from(u8::from(parts(self, other)) + u8::from(parts(other, self)));
        if self.segments().any(|(a, b)| other.segments().any(|(c, d)| cross(a, b, c, d))) {
            sum += CROSS;
        }
        if let ([p, ..], [q, ..]) = (&self.leader[..], &other.leader[..])
            && (p.x - q.x).abs().max((p.y - q.y).abs()) < APART
        {
            sum += ONE_END;
        }
        sum
    }
}

/// For each label the number of its place; `lines` are in the way of all.
pub fn choose(places: &[Vec<Place>], lines: &[(P2, P2)]) -> Vec<usize> {
    let mut chosen: Vec<Option<usize>> = vec![None; places.len()];
    for i in 0..places.len() {
        chosen[i] = best(places, lines, &chosen, i);
    }
    for _ in 0..ROUNDS {
        let before = chosen.clone();
        for i in 0..places.len() {
            chosen[i] = best(places, lines, &chosen, i);
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

/// The place that adds least to the sum.
fn best(
    places: &[Vec<Place>],
    lines: &[(P2, P2)],
    chosen: &[Option<usize>],
    i: usize,
) -> Option<usize> {
    let others: Vec<&Place> = (0..places.len())
        .filter(|j| *j != i)
        .filter_map(|j| chosen[j].map(|k| &places[j][k]))
        .collect();
    let mut least: Option<(usize, f64)> = None;
    for (k, place) in places[i].iter().enumerate() {
        let enough = least.map_or(f64::MAX, |l| l.1);
        let sum = alone(place, lines, &others, enough);
        if sum < enough {
            least = Some((k, sum));
        }
    }
    least.map(|l| l.0)
}

/// True where a label would stand better but for another.
fn kept_from(places: &[Place], now: usize, by: &Place) -> bool {
    /// What is hardly better is not looked for.
    const WORTH: f64 = 1.0;
    places.iter().any(|p| p.cost + WORTH < places[now].cost && p.against(by) > 0.0)
}

/// What a place costs among others; at least `enough` where it costs that or more.
fn alone(place: &Place, lines: &[(P2, P2)], others: &[&Place], enough: f64) -> f64 {
    let mut sum = place.cost;
    if sum >= enough {
        return sum;
    }
    if place.silent {
        return sum;
    }
    let near = place.at.grown(CLEAR);
    sum += OVER * lines.iter().filter(|(p, q)| near.is_passed(*p, *q)).count() as f64;
    for other in others {
        if sum >= enough {
            break;
        }
        sum += place.against(other);
    }
    sum
}

/// Two labels that are, or would be, in each other's way take the best pair of places there is for
/// them while the others stay: also one that is best for neither alone.
fn untangle(
    places: &[Vec<Place>],
    lines: &[(P2, P2)],
    chosen: &mut [Option<usize>],
    i: usize,
    j: usize,
) {
    let (Some(a), Some(b)) = (chosen[i], chosen[j]) else { return };
    let between = places[i][a].against(&places[j][b]);
    if between <= 0.0
        && !kept_from(&places[i], a, &places[j][b])
        && !kept_from(&places[j], b, &places[i][a])
    {
        return;
    }
    let others: Vec<&Place> = (0..places.len())
        .filter(|n| *n != i && *n != j)
        .filter_map(|n| chosen[n].map(|m| &places[n][m]))
        .collect();
    let alone = |place: &Place, enough: f64| alone(place, lines, &others, enough);
    let now = alone(&places[i][a], f64::MAX) + alone(&places[j][b], f64::MAX) + between;
    // What is dearer by itself than both are now can't be in a better pair.
    let ranked = |of: &[Place]| {
        let costs = of.iter().map(|place| alone(place, now)).enumerate();
        let mut all: Vec<(usize, f64)> = costs.filter(|(_, cost)| *cost < now).collect();
        all.sort_by(|p, q| p.1.total_cmp(&q.1));
        all
    };
    let (first, second) = (ranked(&places[i]), ranked(&places[j]));
    let mut least = now - 1e-9;
    for (k, one) in &first {
        for (m, two) in &second {
            if one + two >= least {
                break;
            }
            let sum = one + two + places[i][*k].against(&places[j][*m]);
            if sum < least {
                least = sum;
                (chosen[i], chosen[j]) = (Some(*k), Some(*m));
            }
        }
    }
}

/// How much of the segment lies in the box, mm.
pub fn within(p: P2, q: P2, b: &Rect) -> f64 {
    let (from, to) = b.clips(p, q);
    (to - from).max(0.0) * ((q.x - p.x).abs() + (q.y - p.y).abs())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn place(x: f64, y: f64, from: P2, cost: f64) -> Place {
        let words = Words::new(P2::new(x, y), "PG1", 2.5);
        let at = words.on_paper();
        let leader = vec![from, P2::new(x - 0.8, y)];
        Place::new(words, at, leader, cost, Some(Edge::Right))
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

    /// Leaders cross, and no move of one label alone helps: for each the free place costs more than
    /// the crossing, or is taken by the other. Both must give way.
    #[test]
    fn two_labels_give_way_together() {
        let (upper, lower) = (P2::new(0.0, 10.0), P2::new(0.0, 20.0));
        let places = [
            vec![place(30.0, 22.0, upper, 1.0), place(30.0, 12.0, upper, 3.0)],
            vec![place(30.0, 8.0, lower, 1.0), place(30.0, 20.0, lower, 3.0)],
        ];
        // Each second place touches or is crossed by the other's first.
        for (i, k) in [(0, 1), (1, 1)] {
            let other = &places[1 - i][0];
            assert!(places[i][k].against(other) + 2.0 > places[i][0].against(other));
        }
        assert_eq!(choose(&places, &[]), [1, 1]);
    }

    /// Every pair of labels with three places each, by brute force: the search finds what there is.
    #[test]
    fn no_pair_of_places_is_better() {
        let rows = [8.0, 11.0, 14.0, 17.0, 20.0, 23.0];
        let from = [P2::new(0.0, 10.0), P2::new(4.0, 20.0)];
        for n in 0..rows.len().pow(6) {
            let row = |i: u32| rows[n / rows.len().pow(i) % rows.len()];
            let of = |at: P2, i: u32| {
                let some = [(i, 1.0), (i + 1, 9.0), (i + 2, 4.0)];
                some.map(|(i, cost)| place(30.0, row(i), at, cost)).to_vec()
            };
            let places = [of(from[0], 0), of(from[1], 3)];
            let sum = |k: usize, m: usize| {
                let (a, b) = (&places[0][k], &places[1][m]);
                a.cost + b.cost + a.against(b)
            };
            let least = (0..9).map(|i| sum(i / 3, i % 3)).fold(f64::MAX, f64::min);
            let found = choose(&places, &[]);
            assert!(sum(found[0], found[1]) <= least + 1e-9, "{n}: {found:?}");
        }
    }

    /// A leader that would pass between a valve and its name takes the longer way.
    #[test]
    fn no_leader_parts_a_name_from_its_thing() {
        let valve = P2::new(20.0, 12.0);
        let words = Words::new(P2::new(24.0, 13.0), "SV2", 2.5);
        let at = words.on_paper();
        let name = Place::new(words, at, Vec::new(), 1.0, None).tied(valve);
        let through = vec![P2::new(22.5, 0.0), P2::new(22.5, 30.0)];
        let clear = vec![P2::new(12.0, 0.0), P2::new(12.0, 30.0)];
        let led = |leader: Vec<P2>, cost: f64| {
            let words = Words::new(P2::new(20.0, 33.0), "DC1", 2.5);
            let at = words.on_paper();
            Place::new(words, at, leader, cost, None)
        };
        let places = [vec![name], vec![led(through, 10.0), led(clear, 16.0)]];
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
