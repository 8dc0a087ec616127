//! How a symbol stands on the sheet: mirrored left to right, then turned clockwise by quarters.
//! In: points and ports of the upright symbol. Out: where they come to lie.

use crate::catalogue::PortSpec;
use crate::model::P2;

/// A side of a box on the sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Edge {
    N,
    E,
    S,
    W,
}

impl Edge {
    pub const ALL: [Edge; 4] = [Edge::N, Edge::E, Edge::S, Edge::W];

    pub fn of(letter: char) -> Edge {
        match letter {
            'N' => Edge::N,
            'E' => Edge::E,
            'S' => Edge::S,
            _ => Edge::W,
        }
    }

    pub fn opposite(self) -> Edge {
        self.turned(2)
    }

    /// Clockwise by quarters.
    pub fn turned(self, quarters: u8) -> Edge {
        Edge::ALL[(self as usize + usize::from(quarters)) % 4]
    }

    /// Unit step away from the box.
    pub fn step(self) -> (f64, f64) {
        match self {
            Edge::N => (0.0, -1.0),
            Edge::E => (1.0, 0.0),
            Edge::S => (0.0, 1.0),
            Edge::W => (-1.0, 0.0),
        }
    }

    pub fn horizontal(self) -> bool {
        matches!(self, Edge::E | Edge::W)
    }
}

/// Mirror first, then quarters clockwise.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Pose {
    pub mirror: bool,
    /// Quarter turns clockwise, 0 to 3.
    pub turn: u8,
}

impl Pose {
    pub const UPRIGHT: Pose = Pose { mirror: false, turn: 0 };

    pub const fn new(mirror: bool, turn: u8) -> Pose {
        Pose { mirror, turn: turn % 4 }
    }

    /// Extent after the turn of a symbol `w` × `h` before it.
    pub fn extent(self, w: f64, h: f64) -> (f64, f64) {
        if self.turn % 2 == 1 { (h, w) } else { (w, h) }
    }

    /// Where a point of the upright symbol comes to lie in the turned box.
    pub fn point(self, p: P2, w: f64, h: f64) -> P2 {
        let x = if self.mirror { w - p.x } else { p.x };
        match self.turn % 4 {
            0 => P2::new(x, p.y),
            1 => P2::new(h - p.y, x),
            2 => P2::new(w - x, h - p.y),
            _ => P2::new(p.y, w - x),
        }
    }

    pub fn edge(self, edge: Edge) -> Edge {
        let edge = match edge {
            Edge::E if self.mirror => Edge::W,
            Edge::W if self.mirror => Edge::E,
            other => other,
        };
        edge.turned(self.turn)
    }

    /// Where a port lies in the turned box, and the side it leaves by.
    pub fn port(self, port: &PortSpec, w: f64, h: f64) -> (P2, Edge) {
        let edge = Edge::of(port.side);
        let p = match edge {
            Edge::N => P2::new(port.off, 0.0),
            Edge::S => P2::new(port.off, h),
            Edge::W => P2::new(0.0, port.off),
            Edge::E => P2::new(w, port.off),
        };
        (self.point(p, w, h), self.edge(edge))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_quarter_turn_takes_the_top_to_the_right() {
        let pose = Pose::new(false, 1);
        assert_eq!(pose.edge(Edge::N), Edge::E);
        assert_eq!(pose.point(P2::new(2.0, 0.0), 6.0, 10.0), P2::new(10.0, 2.0));
        assert_eq!(Pose::new(true, 0).edge(Edge::N), Edge::N);
        assert_eq!(Pose::new(true, 1).edge(Edge::W), Edge::S);
    }

    #[test]
    fn ports_stay_on_their_edges() {
        for kind in crate::catalogue::kinds() {
            for pose in (0..8).map(|i| Pose::new(i > 3, i % 4)) {
                let (w, h) = (kind.symbol.w, kind.symbol.h);
                let (tw, th) = pose.extent(w, h);
                for port in &kind.ports {
                    let (p, edge) = pose.port(port, w, h);
                    let on = match edge {
                        Edge::N => p.y == 0.0,
                        Edge::S => p.y == th,
                        Edge::W => p.x == 0.0,
                        Edge::E => p.x == tw,
                    };
                    assert!(on, "{} {}", kind.key, port.name);
                }
            }
        }
    }
}
