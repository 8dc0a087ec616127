//! A sparse grid. In: exact coordinates (ends of chains) and preferred ones (planes, faces,
//! pitches). Out: lines on each axis, nodes where they meet, and the edges that a block touches.

use super::shape::{Block, Dir, V};

#[derive(Clone, Debug)]
pub struct Grid {
    pub lines: [Vec<f64>; 3],
}

/// An edge as it is gone along.
#[derive(Clone, Copy, Debug)]
pub struct Step {
    /// The node it comes to, and its place on the lines.
    pub next: usize,
    pub there: [usize; 3],
    /// Its lower node, by which its price is known, and that one's place.
    pub lower: usize,
    pub low: [usize; 3],
    /// mm.
    pub length: f64,
}

impl Grid {
    /// Exact lines are all kept; preferred ones give way where one is within `merge` already.
    pub fn new(room: &Block, exact: [Vec<f64>; 3], preferred: [Vec<f64>; 3], merge: f64) -> Grid {
        let mut lines = exact;
        for (axis, wanted) in preferred.into_iter().enumerate() {
            let own = &mut lines[axis];
            own.retain(|c| *c >= room.lo[axis] && *c <= room.hi[axis]);
            own.sort_by(f64::total_cmp);
            own.dedup_by(|a, b| (*a - *b).abs() < 1e-6);
            for c in wanted {
                if c < room.lo[axis] || c > room.hi[axis] {
                    continue;
                }
                let i = own.partition_point(|o| *o < c);
                let clear = |o: Option<&f64>| o.is_none_or(|o| (*o - c).abs() >= merge);
                if clear(own.get(i)) && clear(i.checked_sub(1).and_then(|i| own.get(i))) {
                    own.insert(i, c);
                }
            }
        }
        Grid { lines }
    }

    #[inline]
    pub fn dims(&self) -> [usize; 3] {
        [self.lines[0].len(), self.lines[1].len(), self.lines[2].len()]
    }

    pub fn nodes(&self) -> usize {
        self.dims().iter().product()
    }

    #[inline]
    pub fn node(&self, i: [usize; 3]) -> usize {
        let d = self.dims();
        (i[2] * d[1] + i[1]) * d[0] + i[0]
    }

    #[inline]
    pub fn index(&self, node: usize) -> [usize; 3] {
        let d = self.dims();
        [node % d[0], node / d[0] % d[1], node / (d[0] * d[1])]
    }

    #[inline]
    pub fn strides(&self) -> [usize; 3] {
        let d = self.dims();
        [1, d[0], d[0] * d[1]]
    }

    pub fn point(&self, node: usize) -> V {
        let i = self.index(node);
        [self.lines[0][i[0]], self.lines[1][i[1]], self.lines[2][i[2]]]
    }

    /// The edge that leaves a node along a way; `None` where the lines end.
    #[inline]
    pub fn step(&self, node: usize, at: [usize; 3], way: Dir) -> Option<Step> {
        let axis = way.axis();
        let stride = self.strides()[axis];
        let lines = &self.lines[axis];
        let (mut there, mut low) = (at, at);
        let (next, lower) = if way.sign() > 0.0 {
            there[axis] += 1;
            (node + stride, node)
        } else {
            there[axis] = at[axis].checked_sub(1)?;
            low[axis] = there[axis];
            (node - stride, node - stride)
        };
        let length = lines.get(low[axis] + 1)? - lines[low[axis]];
        Some(Step { next, there, lower, low, length })
    }

    /// The node at a point whose coordinates are all lines.
    pub fn find(&self, p: V) -> Option<usize> {
        let mut at = [0; 3];
        for axis in 0..3 {
            let lines = &self.lines[axis];
            let i = lines.partition_point(|c| *c < p[axis] - 1e-6);
            if lines.get(i).is_none_or(|c| (*c - p[axis]).abs() > 1e-6) {
                return None;
            }
            at[axis] = i;
        }
        Some(self.node(at))
    }

    /// Lines strictly inside an interval: first and one past the last.
    fn inside(&self, axis: usize, lo: f64, hi: f64) -> (usize, usize) {
        const HAIR: f64 = 1e-6;
        let lines = &self.lines[axis];
        (lines.partition_point(|c| *c <= lo + HAIR), lines.partition_point(|c| *c < hi - HAIR))
    }

    /// Nodes inside a block.
    pub fn within(&self, b: &Block) -> Vec<usize> {
        let range = [0, 1, 2].map(|a| self.inside(a, b.lo[a], b.hi[a]));
        let mut out = Vec::new();
        for k in range[2].0..range[2].1 {
            for j in range[1].0..range[1].1 {
                out.extend((range[0].0..range[0].1).map(|i| self.node([i, j, k])));
            }
        }
        out
    }

    /// Calls `each` with the lower node of every edge along `axis` that enters the block.
    pub fn edges_in(&self, b: &Block, axis: usize, mut each: impl FnMut(usize)) {
        let mut range = [(0, 0); 3];
        for (a, r) in range.iter_mut().enumerate() {
            *r = self.inside(a, b.lo[a], b.hi[a]);
        }
        // Along the edge's own axis the edge that ends inside counts too.
        let n = self.lines[axis].len();
        let (first, end) = range[axis];
        range[axis] = (first.saturating_sub(1), end.min(n.saturating_sub(1)));
        for k in range[2].0..range[2].1 {
            for j in range[1].0..range[1].1 {
                for i in range[0].0..range[0].1 {
                    each(self.node([i, j, k]));
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_edge_that_jumps_a_block_is_found() {
        let room = Block::new([0.0; 3], [100.0; 3]);
        let exact = [vec![0.0, 50.0, 100.0], vec![0.0, 50.0], vec![0.0, 50.0]];
        let grid = Grid::new(&room, exact, Default::default(), 10.0);
        let block = Block::new([60.0, 40.0, 40.0], [90.0, 60.0, 60.0]);
        let mut found = Vec::new();
        grid.edges_in(&block, 0, |n| found.push(grid.index(n)));
        assert_eq!(found, [[1, 1, 1]]);
        found.clear();
        grid.edges_in(&block, 1, |n| found.push(grid.index(n)));
        assert!(found.is_empty());
    }

    #[test]
    fn preferred_lines_give_way() {
        let room = Block::new([0.0; 3], [100.0; 3]);
        let grid = Grid::new(
            &room,
            [vec![50.0, 52.0], vec![], vec![]],
            [vec![55.0, 70.0, 200.0], vec![], vec![]],
            10.0,
        );
        assert_eq!(grid.lines[0], [50.0, 52.0, 70.0]);
    }
}
