//! The net of lines on which pipes may run. In: places of the symbols. Out: coordinates of the
//! lines, and for each crossing of two lines who may use it.
//!
//! Lines go through every port in use, along the edges of symbols and at their clearance, and fill
//! the free room a pitch apart.

use std::collections::BTreeMap;

use super::RouteOptions;
use crate::layout::graph::{End, Graph, Placed};

/// Nobody may pass here.
pub(super) const BLOCKED: u32 = u32::MAX;
/// Anybody may.
pub(super) const FREE: u32 = 0;

pub(super) struct Grid {
    pub xs: Vec<i64>,
    pub ys: Vec<i64>,
    /// Per node and direction (0 along x, 1 along y): [`FREE`], [`BLOCKED`] or a port's number.
    pub owner: Vec<u32>,
    /// Number (from 1) and place (state) of every port in use.
    pub ports: BTreeMap<End, (u32, usize)>,
}

impl Grid {
    pub fn new(graph: &Graph, placed: &[Placed], o: &RouteOptions) -> Grid {
        let areas: Vec<_> = placed.iter().enumerate().map(|(i, at)| graph.area(i, at)).collect();
        let mut ends: Vec<End> =
            graph.pipes.iter().filter(|p| p.from != p.to).flat_map(|p| [p.from, p.to]).collect();
        ends.sort();
        ends.dedup();
        let (mut xs, mut ys) = (Vec::new(), Vec::new());
        for a in &areas {
            xs.extend([a.x - o.clearance, a.x, a.right(), a.right() + o.clearance]);
            ys.extend([a.y - o.clearance, a.y, a.bottom(), a.bottom() + o.clearance]);
        }
        for &end in &ends {
            let (side, at) = graph.port(end, &placed[end.symbol]);
            if side.is_horizontal() {
                ys.push(at.y);
            } else {
                xs.push(at.x);
            }
        }
        let margin = o.margin.min(graph.pipes.len() as i64 + 1);
        let xs = filled(xs, o.pitch, margin);
        let ys = filled(ys, o.pitch, margin);
        let mut grid =
            Grid { owner: vec![FREE; xs.len() * ys.len() * 2], xs, ys, ports: BTreeMap::new() };
        for a in &areas {
            let near = a.grown(o.clearance);
            let (i0, i1) = (
                grid.xs.partition_point(|&x| x <= near.x),
                grid.xs.partition_point(|&x| x < near.right()),
            );
            let (j0, j1) = (
                grid.ys.partition_point(|&y| y <= near.y),
                grid.ys.partition_point(|&y| y < near.bottom()),
            );
            for j in j0..j1 {
                for i in i0..i1 {
                    let n = grid.node(i, j) * 2;
                    grid.owner[n] = BLOCKED;
                    grid.owner[n + 1] = BLOCKED;
                }
            }
        }
        // Bodies stay closed even where a port of another symbol points into their clearance.
        let mut body = vec![false; grid.xs.len() * grid.ys.len()];
        for a in &areas {
            let (i0, i1) = (grid.column(a.x), grid.column(a.right()));
            let (j0, j1) = (grid.row(a.y), grid.row(a.bottom()));
            for j in j0..=j1 {
                for i in i0..=i1 {
                    body[grid.node(i, j)] = true;
                }
            }
        }
        for (n, &end) in ends.iter().enumerate() {
            grid.open(graph, placed, end, n as u32 + 1, o.clearance, &body);
        }
        grid
    }

    /// Opens the way straight out of a port to the pipes of that port.
    fn open(
        &mut self,
        graph: &Graph,
        placed: &[Placed],
        end: End,
        number: u32,
        clearance: i64,
        body: &[bool],
    ) {
        let (side, at) = graph.port(end, &placed[end.symbol]);
        let layer = usize::from(!side.is_horizontal());
        let (mut i, mut j) = (self.column(at.x), self.row(at.y));
        let first = self.node(i, j) * 2 + layer;
        self.ports.insert(end, (number, first));
        self.owner[first] = number;
        let (dx, dy) = side.step();
        loop {
            let (ni, nj) = (i as i64 + dx, j as i64 + dy);
            if ni < 0 || nj < 0 || ni >= self.xs.len() as i64 || nj >= self.ys.len() as i64 {
                break;
            }
            (i, j) = (ni as usize, nj as usize);
            let node = self.node(i, j);
            let state = node * 2 + layer;
            let far = (self.xs[i] - at.x).abs() + (self.ys[j] - at.y).abs();
            if far > clearance || body[node] {
                break;
            }
            if self.owner[state] == BLOCKED {
                self.owner[state] = number;
            }
            // At the end of the stub, still in the clearance of a neighbour: allow one corner.
            if far == clearance && self.owner[state ^ 1] == BLOCKED {
                self.owner[state ^ 1] = number;
            }
        }
    }

    pub fn node(&self, i: usize, j: usize) -> usize {
        j * self.xs.len() + i
    }

    pub fn column(&self, x: i64) -> usize {
        self.xs.partition_point(|&v| v < x)
    }

    pub fn row(&self, y: i64) -> usize {
        self.ys.partition_point(|&v| v < y)
    }
}

/// Sorted, with lines a pitch or a little more apart in every gap, and some round the outside.
fn filled(mut lines: Vec<i64>, pitch: i64, margin: i64) -> Vec<i64> {
    lines.sort_unstable();
    lines.dedup();
    let (Some(&lo), Some(&hi)) = (lines.first(), lines.last()) else {
        return Vec::new();
    };
    let mut out: Vec<i64> = (1..=margin).rev().map(|k| lo - k * pitch).collect();
    for pair in lines.windows(2) {
        out.push(pair[0]);
        let parts = (pair[1] - pair[0]) / pitch;
        for k in 1..parts {
            out.push(pair[0] + (pair[1] - pair[0]) * k / parts);
        }
    }
    out.push(hi);
    out.extend((1..=margin).map(|k| hi + k * pitch));
    out
}
