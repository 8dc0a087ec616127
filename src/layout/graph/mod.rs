//! A drawing engine that knows no plumbing. In: symbols with ports at exact offsets, pipes between
//! ports, what may be mirrored or turned ([`Graph`]). Out: where every symbol stands and how every
//! pipe runs, all in right angles ([`Drawing`]), and the figures it is judged by ([`measure`]).
//!
//! Lengths are whole numbers in any unit the caller likes (hundredths of a millimetre are a good
//! choice); y grows downwards. Everything is deterministic: ties are broken by index, and budgets
//! are counted in steps.

// Lists here are parallel to one another; an index says more than an iterator over one of them.
#![allow(clippy::needless_range_loop)]

mod blocks;
mod clusters;
mod column;
pub mod compact;
mod draw;
mod halve;
pub mod hints;
mod labels;
mod layered;
mod measure;
mod options;
pub mod plane;
mod pose;
pub mod route;
pub mod scores;
pub mod simplex;

pub use column::column;
pub use draw::{draw, score};
pub use halve::{Lump, halve};
pub use labels::{Jump, Label, Subject, jumps, labels};
pub use measure::{Measures, measure};
pub use options::Options;
pub use pose::Pose;
pub use route::{RouteOptions, Routing, route};

/// A side of a symbol, clockwise from the top.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Side {
    N,
    E,
    S,
    W,
}

/// A point of a drawing.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Pt {
    pub x: i64,
    pub y: i64,
}

/// A place on a symbol's edge where pipes may end.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Port {
    pub id: String,
    pub side: Side,
    /// From the top (east and west sides) or from the left (north and south sides).
    pub off: i64,
}

/// Which changes of posture a symbol allows.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Transforms {
    /// Left and right may be exchanged.
    pub mirror_x: bool,
    /// Top and bottom may be exchanged.
    pub mirror_y: bool,
    /// It may be turned by quarter turns.
    pub turn: bool,
}

/// Wishes of the caller; the engine follows them where it can.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Hint {
    /// Half of the drawing in which it should stand.
    pub side: Option<Side>,
    /// Symbols that should stand further right, below, or centred on the same horizontal line.
    pub left_of: Vec<usize>,
    pub above: Vec<usize>,
    pub level_with: Vec<usize>,
}

/// A box with ports.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Symbol {
    pub id: String,
    pub w: i64,
    pub h: i64,
    pub ports: Vec<Port>,
    pub transforms: Transforms,
    /// Symbols with the same name here are drawn together.
    pub block: Option<String>,
    pub hint: Hint,
    /// Width and height of the text that must stand beside it.
    pub label: Option<(i64, i64)>,
}

/// One end of a pipe: indices of the symbol and of the port on it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct End {
    pub symbol: usize,
    pub port: usize,
}

/// A line between two ports.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pipe {
    pub id: String,
    pub from: End,
    pub to: End,
    /// 0 is the most important; bends and crossings of low ranks cost more.
    pub rank: u8,
    /// Width and height of the text that must stand along it.
    pub label: Option<(i64, i64)>,
}

/// What is to be drawn.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Graph {
    pub symbols: Vec<Symbol>,
    pub pipes: Vec<Pipe>,
}

/// Where a symbol stands: its top left corner after the change of posture.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Placed {
    pub x: i64,
    pub y: i64,
    pub pose: Pose,
}

/// A rectangle: least corner and extent.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Area {
    pub x: i64,
    pub y: i64,
    pub w: i64,
    pub h: i64,
}

/// A finished drawing, index for index with the [`Graph`].
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Drawing {
    pub placed: Vec<Placed>,
    /// Corners of each pipe from its first port to its last.
    pub routes: Vec<Vec<Pt>>,
}

impl Side {
    pub const ALL: [Side; 4] = [Side::N, Side::E, Side::S, Side::W];

    /// Quarter turns clockwise from north.
    pub fn quarter(self) -> usize {
        self as usize
    }

    pub fn from_quarter(q: usize) -> Side {
        Side::ALL[q % 4]
    }

    /// Unit step outwards.
    pub fn step(self) -> (i64, i64) {
        [(0, -1), (1, 0), (0, 1), (-1, 0)][self as usize]
    }

    pub fn is_horizontal(self) -> bool {
        matches!(self, Side::E | Side::W)
    }
}

impl Pt {
    pub fn new(x: i64, y: i64) -> Pt {
        Pt { x, y }
    }
}

impl Area {
    pub fn right(&self) -> i64 {
        self.x + self.w
    }

    pub fn bottom(&self) -> i64 {
        self.y + self.h
    }

    /// True where the interiors meet.
    pub fn overlaps(&self, o: &Area) -> bool {
        self.x < o.right() && o.x < self.right() && self.y < o.bottom() && o.y < self.bottom()
    }

    pub fn grown(&self, by: i64) -> Area {
        Area { x: self.x - by, y: self.y - by, w: self.w + 2 * by, h: self.h + 2 * by }
    }
}

impl Graph {
    /// The box of a symbol where it stands.
    pub fn area(&self, symbol: usize, at: &Placed) -> Area {
        let s = &self.symbols[symbol];
        let (w, h) = at.pose.size(s.w, s.h);
        Area { x: at.x, y: at.y, w, h }
    }

    /// Side and place of a port where its symbol stands.
    pub fn port(&self, end: End, at: &Placed) -> (Side, Pt) {
        let s = &self.symbols[end.symbol];
        let port = &s.ports[end.port];
        let (side, off) = at.pose.port(s.w, s.h, port.side, port.off);
        let (w, h) = at.pose.size(s.w, s.h);
        let pt = match side {
            Side::N => Pt::new(at.x + off, at.y),
            Side::E => Pt::new(at.x + w, at.y + off),
            Side::S => Pt::new(at.x + off, at.y + h),
            Side::W => Pt::new(at.x, at.y + off),
        };
        (side, pt)
    }
}
