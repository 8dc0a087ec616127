//! Bodies with ports in a room → right-angled centre lines that touch nothing. In: solid blocks,
//! service spaces, and chains: stretches between two ends that carry beads in a set order. Out:
//! for each chain its corners and where its beads sit, or that no way was found.
//!
//! The engine knows no plumbing. A chain has a radius; a bead takes some straight length; a
//! branch bead is where another chain starts. Chains joined by branches form a net and are laid
//! together. Everything is counted in steps, so the same input gives the same answer anywhere.

mod berths;
mod conflict;
mod cost;
mod field;
mod grid;
mod kept;
mod lay;
mod leaf;
mod negotiate;
mod repair;
mod runs;
mod search;
mod seats;
mod shape;
#[cfg(test)]
mod tests;

pub use berths::moved;
pub use cost::is_in_the_way;
pub use field::CLEAR;
pub use grid::Grid;
pub use negotiate::{Answer, polish, solve, solve_from};
pub use seats::{along, bead_block, bead_whole, outward, position};
pub use shape::{Block, Dir, V, add, length, manhattan};

/// The whole task.
#[derive(Clone, Debug, Default)]
pub struct Problem {
    pub room: Block,
    /// What nothing may pass through, as blocks (a round body is sliced).
    pub solids: Vec<Block>,
    /// Bodies whole, for what sits in a line: no bead may share room with one.
    pub boxes: Vec<Block>,
    /// Spaces to keep out of where possible, with the price in mm per mm inside.
    pub spaces: Vec<(Block, f64)>,
    /// The ways of a hand or an eye to what stands, with the price in mm of each mm across.
    pub ways: Vec<(Block, f64)>,
    pub chains: Vec<Chain>,
    /// Preferred coordinates on each axis, besides those of the ends.
    pub lines: [Vec<f64>; 3],
    /// What chains of opposite warmth keep between them where they can.
    pub apart: f64,
    /// Distance from a wall within which a run counts as carried by it.
    pub near: f64,
    /// The block to go round at the back rather than in front of, if any: runs between it and
    /// the front of the room cost more, and so does what a hand must come to behind it.
    pub front_of: Option<Block>,
    /// Rounds of rip-up and re-route, and states a search may open.
    pub rounds: usize,
    pub states: usize,
}

/// One stretch.
#[derive(Clone, Debug)]
pub struct Chain {
    /// Chains with the same net number are laid together.
    pub net: usize,
    /// Outer radius.
    pub radius: f64,
    /// From a wall's face to the centre line, at least.
    pub standoff: f64,
    /// Free space to a parallel neighbour and to one that it crosses.
    pub gap: [f64; 2],
    pub ends: [End; 2],
    pub beads: Vec<Bead>,
    pub fall: Fall,
    /// Least straight length between two bends.
    pub run: f64,
    /// Laid first where greater.
    pub rank: i32,
    /// Warms its neighbours (1), must not be warmed (-1), or neither.
    pub warmth: i8,
}

impl Chain {
    /// What must fall goes as straight as it can, whatever it crosses.
    fn for_looks(&self) -> bool {
        self.fall == Fall::Free
    }
}

/// How a chain may go, from its first end to its last.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Fall {
    #[default]
    Free,
    /// Never up.
    Down,
    /// Never down.
    Up,
}

#[derive(Clone, Debug)]
pub enum End {
    /// A fixed point that must be left straight for a length.
    Port { at: V, out: Dir, straight: f64 },
    /// A branch bead of another chain of the same net.
    Branch { chain: usize, bead: usize },
    /// A small body on a short stub of a branch bead: its length along the stub, half its width,
    /// the ways it may point, best first, and how high it would rather be.
    Leaf { stub: f64, length: f64, half: f64, ways: Vec<Dir>, level: Level },
}

/// The height that a small body would rather have.
#[derive(Clone, Copy, Debug, Default)]
pub enum Level {
    #[default]
    Any,
    /// At the foot of the line it leaves: the price of each mm above its lowest point.
    Foot(f64),
    /// At the top of the line it leaves: the price of each mm below its highest point.
    Top(f64),
    /// Between two heights: the price of each mm outside.
    Between(f64, f64, f64),
}

/// Something that sits in a chain's line.
#[derive(Clone, Debug)]
pub struct Bead {
    /// Straight length it takes.
    pub length: f64,
    /// Half its width across the line.
    pub half: f64,
    /// How far it stands out of the line to the front; 0 for a plain fitting.
    pub reach: f64,
    /// Another chain starts here.
    pub branch: bool,
    /// Distance from its centre to its branch port.
    pub stub: f64,
}

/// A chain as laid.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Laid {
    /// Corners from first end to last; the bare link where `found` is false.
    pub points: Vec<V>,
    /// Where each bead's centre sits and which way the line runs there; `None` where there was
    /// no straight length for it.
    pub beads: Vec<Option<Sitting>>,
    pub found: bool,
    pub cost: f64,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sitting {
    pub at: V,
    pub along: Dir,
    /// Which way the branch leaves, once it is laid.
    pub branch: Option<Dir>,
}
