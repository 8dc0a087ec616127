//! A plain drawing in columns, for graphs that the plane cannot do within the effort. In: a
//! connected graph. Out: a legal drawing, if the router finds room for all pipes.
//!
//! Columns by distance from the symbol furthest out, orders by the mean of the neighbours, room
//! between the columns by the number of pipes that pass there.

use std::collections::VecDeque;

use super::{Drawing, Graph, Options, Placed, Pose, RouteOptions, measure, route};

const NONE: usize = usize::MAX;

/// Symbols of the largest graph that is routed, and steps of the router for each try.
const LARGEST: usize = 300;
const STEPS: u64 = 8_000_000;

/// The best of a few widths, or nothing.
pub fn layered(graph: &Graph, o: &Options) -> Option<Drawing> {
    if graph.symbols.len() > LARGEST {
        return None;
    }
    let columns = order(graph, columns(graph));
    for loose in [2, 4, 8] {
        let placed = place(graph, o, &columns, loose);
        let route_options = RouteOptions { steps: STEPS, ..o.route() };
        let routing = route(graph, &placed, &route_options);
        if !routing.failed.is_empty() || routing.pitch < o.pitch {
            continue;
        }
        let drawing = Drawing { placed, routes: routing.routes };
        if measure(graph, &drawing, o.pitch).hard() == 0 {
            return Some(drawing);
        }
    }
    None
}

fn neighbours(graph: &Graph) -> Vec<Vec<usize>> {
    let mut out = vec![Vec::new(); graph.symbols.len()];
    for p in &graph.pipes {
        if p.from.symbol != p.to.symbol {
            out[p.from.symbol].push(p.to.symbol);
            out[p.to.symbol].push(p.from.symbol);
        }
    }
    out
}

fn distances(at: &[Vec<usize>], from: usize) -> Vec<usize> {
    let mut dist = vec![NONE; at.len()];
    dist[from] = 0;
    let mut queue = VecDeque::from([from]);
    while let Some(v) = queue.pop_front() {
        for &w in &at[v] {
            if dist[w] == NONE {
                dist[w] = dist[v] + 1;
                queue.push_back(w);
            }
        }
    }
    dist
}

/// Symbols by their distance from one that lies far out.
fn columns(graph: &Graph) -> Vec<Vec<usize>> {
    let at = neighbours(graph);
    let mut far = 0;
    for _ in 0..2 {
        let dist = distances(&at, far);
        far = (0..at.len())
            .filter(|&v| dist[v] != NONE)
            .max_by_key(|&v| (dist[v], std::cmp::Reverse(v)))
            .unwrap_or(0);
    }
    let dist = distances(&at, far);
    let mut columns: Vec<Vec<usize>> = Vec::new();
    for v in 0..at.len() {
        let d = if dist[v] == NONE { 0 } else { dist[v] };
        if columns.len() <= d {
            columns.resize(d + 1, Vec::new());
        }
        columns[d].push(v);
    }
    columns
}

/// Sweeps forth and back, each column by the mean place of its neighbours.
fn order(graph: &Graph, mut columns: Vec<Vec<usize>>) -> Vec<Vec<usize>> {
    let at = neighbours(graph);
    let mut place = vec![0i64; graph.symbols.len()];
    let mark = |columns: &[Vec<usize>], place: &mut [i64]| {
        for column in columns {
            for (k, &v) in column.iter().enumerate() {
                place[v] = (2 * k as i64 + 1) * 10_000 / (2 * column.len() as i64);
            }
        }
    };
    mark(&columns, &mut place);
    for sweep in 0..12 {
        for k in 0..columns.len() {
            let c = if sweep % 2 == 0 { k } else { columns.len() - 1 - k };
            let mean = |v: usize| -> i64 {
                let sum: i64 = at[v].iter().map(|&w| place[w]).sum();
                if at[v].is_empty() { place[v] } else { sum / at[v].len() as i64 }
            };
            let mut keyed: Vec<(i64, usize)> = columns[c].iter().map(|&v| (mean(v), v)).collect();
            keyed.sort_unstable();
            columns[c] = keyed.into_iter().map(|k| k.1).collect();
            mark(&columns[c..=c], &mut place);
        }
    }
    columns
}

fn place(graph: &Graph, o: &Options, columns: &[Vec<usize>], loose: i64) -> Vec<Placed> {
    let mut column_of = vec![0; graph.symbols.len()];
    for (c, column) in columns.iter().enumerate() {
        for &v in column {
            column_of[v] = c;
        }
    }
    let mut degree = vec![0i64; graph.symbols.len()];
    let mut passing = vec![0i64; columns.len() + 1];
    for p in &graph.pipes {
        degree[p.from.symbol] += 1;
        degree[p.to.symbol] += 1;
        let (a, b) = (column_of[p.from.symbol], column_of[p.to.symbol]);
        for n in &mut passing[a.min(b)..=a.max(b)] {
            *n += 1;
        }
    }
    let mut placed = vec![Placed::default(); graph.symbols.len()];
    // Postures that let most ports look at their neighbours' column.
    for v in 0..graph.symbols.len() {
        let wish = |pose: Pose| -> i64 {
            let mut good = 0;
            for p in &graph.pipes {
                for (mine, other) in [(p.from, p.to), (p.to, p.from)] {
                    if mine.symbol != v {
                        continue;
                    }
                    let at = Placed { pose, ..Placed::default() };
                    let side = graph.port(mine, &at).0;
                    let ahead = column_of[other.symbol] as i64 - column_of[v] as i64;
                    good += side.step().0 * ahead.signum();
                }
            }
            good
        };
        if degree[v] <= 12 && graph.symbols.len() <= 2000 {
            placed[v].pose = Pose::allowed(graph.symbols[v].transforms)
                .into_iter()
                .enumerate()
                .max_by_key(|&(k, pose)| (wish(pose), std::cmp::Reverse(k)))
                .map_or(Pose::default(), |c| c.1);
        }
    }
    let mut x = 0;
    for (c, column) in columns.iter().enumerate() {
        let widest = column.iter().map(|&v| graph.area(v, &placed[v]).w).max().unwrap_or(0);
        let mut heights = 0;
        for &v in column {
            heights += graph.area(v, &placed[v]).h + o.spacing + o.pitch * loose * degree[v] / 2;
        }
        let mut y = -heights / 2;
        for &v in column {
            let area = graph.area(v, &placed[v]);
            placed[v].x = x + (widest - area.w) / 2;
            placed[v].y = y;
            y += area.h + o.spacing + o.pitch * loose * degree[v] / 2;
        }
        x += widest + 2 * o.spacing + o.pitch * loose * passing[c].min(60) / 4;
    }
    placed
}
