//! Postures: mirrored left-right, then top-bottom, then turned clockwise by quarter turns.

use super::{Side, Transforms};

/// A posture of a symbol. The mirrors come first, then the turn.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Pose {
    pub mirror_x: bool,
    pub mirror_y: bool,
    /// Quarter turns clockwise, 0 to 3.
    pub turn: u8,
}

impl Pose {
    /// Every posture that differs in effect from the earlier ones, the plainest first.
    pub fn allowed(t: Transforms) -> Vec<Pose> {
        let mut out: Vec<Pose> = Vec::new();
        for turn in 0..if t.turn { 4 } else { 1 } {
            for mirror_y in [false, true] {
                for mirror_x in [false, true] {
                    let pose = Pose { mirror_x, mirror_y, turn };
                    let permitted = (!mirror_x || t.mirror_x) && (!mirror_y || t.mirror_y);
                    if permitted && !out.iter().any(|p| p.effect() == pose.effect()) {
                        out.push(pose);
                    }
                }
            }
        }
        out
    }

    /// True where the ports run round the symbol against the clock of the original.
    pub fn reversed(self) -> bool {
        self.mirror_x != self.mirror_y
    }

    /// The same effect as one left-right mirror at most and a turn.
    fn effect(self) -> (bool, u8) {
        // Both mirrors are half a turn; a top-bottom mirror is a left-right one and half a turn.
        let half = if self.mirror_y { 2 } else { 0 };
        (self.reversed(), (self.turn + half) % 4)
    }

    pub fn size(self, w: i64, h: i64) -> (i64, i64) {
        if self.turn.is_multiple_of(2) { (w, h) } else { (h, w) }
    }

    /// Side and offset of a port of a symbol of size (w, h) in this posture.
    pub fn port(self, w: i64, h: i64, side: Side, off: i64) -> (Side, i64) {
        let (mut side, mut off) = (side, off);
        if self.mirror_x {
            match side {
                Side::E => side = Side::W,
                Side::W => side = Side::E,
                _ => off = w - off,
            }
        }
        if self.mirror_y {
            match side {
                Side::N => side = Side::S,
                Side::S => side = Side::N,
                _ => off = h - off,
            }
        }
        let (mut w, mut h) = (w, h);
        for _ in 0..self.turn {
            // (x, y) in a box w by h goes to (h - y, x) in a box h by w.
            (side, off) = match side {
                Side::N => (Side::E, off),
                Side::E => (Side::S, h - off),
                Side::S => (Side::W, off),
                Side::W => (Side::N, h - off),
            };
            (w, h) = (h, w);
        }
        (side, off)
    }
}
