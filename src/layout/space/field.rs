//! What each edge of the grid costs. In: the problem, and where the other chains lie. Out:
//! prices for one chain at a time: blocked by bodies, dearer away from walls, in service spaces,
//! too near to a neighbour, or across another in the front view.

use super::grid::Grid;
use super::lay::Aim;
use super::search::Prices;
use super::shape::{Block, V};
use super::{Chain, Problem};

/// From here up an extra price means "not at all".
pub const HARD: f32 = 1e7;
/// Price of crossing another chain in the front view, mm.
const CROSSING: f32 = 70.0;
/// Price per mm of lying over another chain in the front view.
const OVER: f32 = 0.8;
/// Clear of a body's face.
pub const CLEAR: f64 = 8.0;

struct Class {
    radius: f64,
    standoff: f64,
    blocked: Vec<u8>,
}

pub struct Field {
    classes: Vec<Class>,
    /// While a way is sought at all, and where it is laid for looks; that is empty where no line is.
    rate: [[Vec<f32>; 3]; 2],
    extra: [Vec<f32>; 3],
    touched: Vec<(u8, u32)>,
    pub history: [Vec<f32>; 3],
    /// Front view: prices of x edges and z edges by (x line, z line).
    front: [Vec<f32>; 2],
    front_touched: Vec<(u8, u32)>,
}

impl Field {
    pub fn new(grid: &Grid, p: &Problem, aim: Aim) -> Field {
        let n = grid.nodes();
        let d = grid.dims();
        let flat = || vec![0.0f32; d[0] * d[2]];
        let mut field = Field {
            classes: Vec::new(),
            rate: [false, true].map(|looks| match looks && aim == Aim::Way {
                true => Default::default(),
                false => [0, 1, 2].map(|axis| rates(grid, p, axis, looks)),
            }),
            extra: [0; 3].map(|_| vec![0.0; n]),
            touched: Vec::new(),
            history: [0; 3].map(|_| vec![0.0; n]),
            front: [flat(), flat()],
            front_touched: Vec::new(),
        };
        for chain in &p.chains {
            if field.class(chain).is_none() {
                let blocked = blocked(grid, p, chain);
                let (radius, standoff) = (chain.radius, chain.standoff);
                field.classes.push(Class { radius, standoff, blocked });
            }
        }
        field
    }

    fn class(&self, chain: &Chain) -> Option<usize> {
        self.classes.iter().position(|c| {
            (c.radius - chain.radius).abs() < 1e-9 && (c.standoff - chain.standoff).abs() < 1e-9
        })
    }

    pub fn clear(&mut self) {
        for (axis, edge) in self.touched.drain(..) {
            self.extra[usize::from(axis)][edge as usize] = 0.0;
        }
        for (axis, edge) in self.front_touched.drain(..) {
            self.front[usize::from(axis)][edge as usize] = 0.0;
        }
    }

    /// Adds a price to every edge along `axis` that enters the block: `fixed` once and `rate`
    /// for each mm.
    pub fn mark(&mut self, grid: &Grid, block: &Block, axis: usize, fixed: f32, rate: f32) {
        let stride = grid.strides()[axis];
        let d = grid.dims()[axis];
        let lines = &grid.lines[axis];
        let (extra, touched) = (&mut self.extra[axis], &mut self.touched);
        grid.edges_in(block, axis, |edge| {
            if extra[edge] == 0.0 {
                touched.push((axis as u8, edge as u32));
            }
            let i = edge / stride % d;
            extra[edge] += fixed + rate * (lines[i + 1] - lines[i]) as f32;
        });
    }

    /// Remembers that these edges were fought over.
    pub fn remember(&mut self, grid: &Grid, block: &Block, by: f32) {
        for axis in 0..3 {
            let history = &mut self.history[axis];
            grid.edges_in(block, axis, |edge| history[edge] += by);
        }
    }

    /// Marks what crosses or covers a stretch of another chain in the front view.
    pub fn mark_front(&mut self, grid: &Grid, a: V, b: V, radius: f64) {
        let nx = grid.dims()[0];
        let (x, z) = (&grid.lines[0], &grid.lines[2]);
        let block = Block::around(a, b);
        let wide = block.grown(radius);
        let upright = (a[2] - b[2]).abs() > 1e-6;
        let level = (a[0] - b[0]).abs() > 1e-6;
        let mut put = |axis: usize, i: usize, k: usize, price: f32| {
            let at = k * nx + i;
            if self.front[axis][at] == 0.0 {
                self.front_touched.push((axis as u8, at as u32));
            }
            self.front[axis][at] += price;
        };
        if upright {
            // Level edges that cross it.
            if let Some(i) = x.partition_point(|c| *c <= a[0]).checked_sub(1)
                && i + 1 < x.len()
            {
                for (k, c) in z.iter().enumerate() {
                    if *c > block.lo[2] && *c < block.hi[2] {
                        put(0, i, k, CROSSING);
                    }
                }
            }
            for (i, c) in x.iter().enumerate() {
                if *c > wide.lo[0] && *c < wide.hi[0] {
                    for k in 0..z.len().saturating_sub(1) {
                        let shared = z[k + 1].min(block.hi[2]) - z[k].max(block.lo[2]);
                        if shared > 0.0 {
                            put(1, i, k, OVER * shared as f32);
                        }
                    }
                }
            }
        }
        if level {
            if let Some(k) = z.partition_point(|c| *c <= a[2]).checked_sub(1)
                && k + 1 < z.len()
            {
                for (i, c) in x.iter().enumerate() {
                    if *c > block.lo[0] && *c < block.hi[0] {
                        put(1, i, k, CROSSING);
                    }
                }
            }
            for (k, c) in z.iter().enumerate() {
                if *c > wide.lo[2] && *c < wide.hi[2] {
                    for i in 0..nx.saturating_sub(1) {
                        let shared = x[i + 1].min(block.hi[0]) - x[i].max(block.lo[0]);
                        if shared > 0.0 {
                            put(0, i, k, OVER * shared as f32);
                        }
                    }
                }
            }
        }
    }

    pub fn prices<'a>(&'a self, grid: &'a Grid, chain: &Chain, aim: Aim) -> ChainPrices<'a> {
        let d = grid.dims();
        let class = self.class(chain).unwrap_or(0);
        ChainPrices {
            field: self,
            class,
            blocked: &self.classes[class].blocked,
            nx: d[0],
            aim,
            falls: chain.fall != super::Fall::Free,
            looks: aim == Aim::Short && chain.for_looks(),
            z: &grid.lines[2],
        }
    }
}

/// The prices as one chain meets them.
pub struct ChainPrices<'a> {
    field: &'a Field,
    class: usize,
    blocked: &'a [u8],
    nx: usize,
    /// What falls does so at once: level runs are dearer the higher they are.
    falls: bool,
    /// Laid for looks.
    looks: bool,
    z: &'a [f64],
    aim: Aim,
}

impl Prices for ChainPrices<'_> {
    fn floor(&self, axis: usize, lower: usize, length: f32) -> Option<f32> {
        let rate = &self.field.rate[usize::from(self.looks)];
        let rate = if self.aim == Aim::Short { rate[axis][lower] } else { 1.0 };
        (self.blocked[lower] >> axis & 1 == 0).then_some(length * rate)
    }

    fn class(&self) -> usize {
        let rates = usize::from(self.aim == Aim::Short) + usize::from(self.looks);
        3 * self.class + rates
    }

    #[inline]
    fn edge(&self, axis: usize, lower: usize, at: [usize; 3], length: f32) -> Option<f32> {
        let f = self.field;
        if self.blocked[lower] >> axis & 1 == 1 {
            return None;
        }
        if self.aim == Aim::Alone {
            return Some(length);
        }
        let extra = f.extra[axis][lower];
        if extra >= HARD {
            return None;
        }
        let front = match axis {
            _ if self.aim == Aim::Short => 0.0,
            0 => f.front[0][at[2] * self.nx + at[0]],
            2 => f.front[1][at[2] * self.nx + at[0]],
            _ => 0.0,
        };
        let low =
            if self.falls && axis != 2 { length * 0.0006 * self.z[at[2]] as f32 } else { 0.0 };
        let rate = f.rate[usize::from(self.looks)][axis][lower];
        Some(low + length * rate + extra + f.history[axis][lower] + front)
    }
}

fn blocked(grid: &Grid, p: &Problem, chain: &Chain) -> Vec<u8> {
    let mut out = vec![0u8; grid.nodes()];
    for solid in &p.solids {
        let grown = solid.grown(chain.radius + CLEAR);
        for axis in 0..3 {
            grid.edges_in(&grown, axis, |edge| out[edge] |= 1 << axis);
        }
    }
    // Edges along a wall closer than the stand-off; an edge straight off the wall is a stub and
    // is not searched.
    let room = p.room.grown(-chain.standoff);
    let d = grid.dims();
    let near = |axis: usize, i: usize| {
        let c = grid.lines[axis][i];
        c < room.lo[axis] - 1e-6 || c > room.hi[axis] + 1e-6
    };
    for k in 0..d[2] {
        for j in 0..d[1] {
            for i in 0..d[0] {
                let at = [i, j, k];
                let node = grid.node(at);
                for axis in 0..3 {
                    let mut next = at;
                    next[axis] += 1;
                    let bad = (0..3).any(|a| near(a, at[a]))
                        || next[axis] >= d[axis]
                        || near(axis, next[axis]);
                    if bad {
                        out[node] |= 1 << axis;
                    }
                }
            }
        }
    }
    out
}

fn rates(grid: &Grid, p: &Problem, axis: usize, looks: bool) -> Vec<f32> {
    let d = grid.dims();
    let mut out: Vec<f32> =
        (0..grid.nodes()).map(|n| p.rate(grid.point(n), axis, looks) as f32).collect();
    // An edge counts as inside where its middle is.
    let middles: Vec<Vec<f64>> = (0..3)
        .map(|a| {
            let lines = &grid.lines[a];
            let next = |i: usize| lines.get(i + 1).filter(|_| a == axis).unwrap_or(&lines[i]);
            (0..d[a]).map(|i| (lines[i] + next(i)) / 2.0).collect()
        })
        .collect();
    for (block, price) in p.tolls(looks) {
        let range = |a: usize| {
            let (lo, hi) = (block.lo[a], block.hi[a]);
            let m = &middles[a];
            m.partition_point(|c| *c <= lo)..m.partition_point(|c| *c < hi)
        };
        for k in range(2) {
            for j in range(1) {
                for i in range(0) {
                    out[grid.node([i, j, k])] += price as f32;
                }
            }
        }
    }
    out
}
