//! The plan of the room as a level pipe meets it. In: what stands, the wall it leaves by. Out:
//! whether it gets there from a place, so that a relief and its tundish are not put where a
//! discharge could only go on through the cylinder.

use crate::layout::space::{Block, V};
use crate::model::Side;

/// Side of a cell, mm: finer than the narrowest gap a pipe passes.
const CELL: f64 = 10.0;
/// Of the middle of a 28 mm tube from a body and, on its clip, from a wall, mm (common practice).
const BODY: f64 = 22.0;
const WALL: f64 = 29.0;

pub struct Passage {
    lo: [f64; 2],
    cells: [usize; 2],
    reached: Vec<bool>,
}

impl Passage {
    /// All that is joined with a wall past the blocks; `None` where the pipe leaves by the floor.
    pub fn to(side: Side, room: &Block, blocks: &[Block]) -> Option<Passage> {
        let size = room.size();
        let cells = [0, 1].map(|a| (size[a] / CELL).ceil() as usize + 1);
        let lo = [room.lo[0], room.lo[1]];
        let middle = |i: usize, a: usize| lo[a] + i as f64 * CELL;
        let free = |i: usize, j: usize| {
            let (x, y) = (middle(i, 0), middle(j, 1));
            let off = |b: &Block, v: f64, a: usize| (b.lo[a] - v).max(v - b.hi[a]);
            // Into the wall it leaves by it may go.
            let inside = (side == Side::Left || x >= lo[0] + WALL)
                && (side == Side::Right || x <= room.hi[0] - WALL)
                && (side == Side::Back || y >= lo[1] + WALL)
                && y <= room.hi[1] - WALL;
            inside && blocks.iter().all(|b| off(b, x, 0).max(off(b, y, 1)) >= BODY)
        };
        let (last_x, last_y) = (cells[0] - 1, cells[1] - 1);
        let mut open: Vec<[usize; 2]> = match side {
            Side::Left => (0..=last_y).map(|j| [0, j]).collect(),
            Side::Right => (0..=last_y).map(|j| [last_x, j]).collect(),
            Side::Back => (0..=last_x).map(|i| [i, 0]).collect(),
            _ => return None,
        };
        let mut reached = vec![false; cells[0] * cells[1]];
        open.retain(|c| free(c[0], c[1]));
        while let Some([i, j]) = open.pop() {
            if std::mem::replace(&mut reached[j * cells[0] + i], true) {
                continue;
            }
            let mut go = |i: usize, j: usize| {
                if i <= last_x && j <= last_y && !reached[j * cells[0] + i] && free(i, j) {
                    open.push([i, j]);
                }
            };
            go(i + 1, j);
            go(i, j + 1);
            go(i.wrapping_sub(1), j);
            go(i, j.wrapping_sub(1));
        }
        Some(Passage { lo, cells, reached })
    }

    /// Whether a pipe that comes down within a hand of a place gets out.
    pub fn leaves(&self, at: V) -> bool {
        const HAND: i64 = 3;
        let [i, j] = [0, 1].map(|a| ((at[a] - self.lo[a]) / CELL).round() as i64);
        (-HAND..=HAND).any(|di| {
            (-HAND..=HAND).any(|dj| {
                let (i, j) = (i + di, j + dj);
                let inside = |v: i64, a: usize| v >= 0 && (v as usize) < self.cells[a];
                inside(i, 0)
                    && inside(j, 1)
                    && self.reached[j as usize * self.cells[0] + i as usize]
            })
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cylinder_as_deep_as_its_cupboard_parts_it() {
        let room = Block::new([0.0; 3], [930.0, 600.0, 2400.0]);
        let cylinder = Block::new([245.0, 17.0, 0.0], [790.0, 562.0, 1200.0]);
        let plan = Passage::to(Side::Right, &room, &[cylinder]).unwrap();
        assert!(plan.leaves([860.0, 300.0, 0.0]));
        assert!(!plan.leaves([120.0, 300.0, 0.0]));
    }

    #[test]
    fn a_deeper_one_lets_a_pipe_by_in_front() {
        let room = Block::new([0.0; 3], [930.0, 660.0, 2400.0]);
        let cylinder = Block::new([245.0, 17.0, 0.0], [790.0, 562.0, 1200.0]);
        let plan = Passage::to(Side::Right, &room, &[cylinder]).unwrap();
        assert!(plan.leaves([120.0, 300.0, 0.0]));
    }
}
