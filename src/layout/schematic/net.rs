//! The system as a drawing sees it: symbols with ports, and which pipe joins which. In: the
//! component graph. Out: look-ups by part and port, in the order of the graph.

use super::pose::{Edge, Pose};
use crate::catalogue::Turns;
use crate::model::{P2, PartIx, PipeIx, PortRef, Rect, Service, System, Water};

/// All positions are kept on this grid, mm.
pub const GRID: f64 = 1.25;

pub fn snap(v: f64) -> f64 {
    (v / GRID).round() * GRID
}

pub struct Net<'a> {
    pub system: &'a System,
    /// For each part, for each port: the pipe there and the port at its other end.
    joins: Vec<Vec<Option<(PipeIx, PortRef)>>>,
}

/// A symbol that stands somewhere.
#[derive(Clone, Debug, PartialEq)]
pub struct Spot {
    pub at: Rect,
    pub pose: Pose,
    /// Where each port lies relative to the box, and by which side its pipe leaves. `None` for a
    /// port of a joint whose side is still open.
    pub ports: Vec<Option<(P2, Edge)>>,
    /// For joints and three-port valves: where an arm on each side (N, E, S, W) would end.
    arms: [Option<P2>; 4],
}

impl<'a> Net<'a> {
    pub fn new(system: &'a System) -> Net<'a> {
        let mut joins: Vec<Vec<Option<(PipeIx, PortRef)>>> =
            system.parts.iter().map(|p| vec![None; p.kind.ports.len()]).collect();
        for ix in system.pipe_ixs() {
            let pipe = system.pipe(ix);
            for (near, far) in [(pipe.from, pipe.to), (pipe.to, pipe.from)] {
                let slot = joins.get_mut(near.part.0).and_then(|p| p.get_mut(near.port));
                if let Some(slot @ None) = slot {
                    *slot = Some((ix, far));
                }
            }
        }
        Net { system, joins }
    }

    pub fn parts(&self) -> impl Iterator<Item = PartIx> + use<> {
        (0..self.joins.len()).map(PartIx)
    }

    pub fn join(&self, port: PortRef) -> Option<(PipeIx, PortRef)> {
        *self.joins.get(port.part.0)?.get(port.port)?
    }

    pub fn key(&self, part: PartIx) -> &str {
        &self.system.part(part).kind.key
    }

    /// Ports of a part that a pipe joins.
    pub fn joined(&self, part: PartIx) -> Vec<usize> {
        let ports = &self.joins[part.0];
        (0..ports.len()).filter(|&i| ports[i].is_some()).collect()
    }

    pub fn service(&self, pipe: PipeIx) -> Service {
        self.system.pipe(pipe).service
    }

    pub fn port_named(&self, part: PartIx, name: &str) -> Option<PortRef> {
        let port = self.system.part(part).kind.port(name)?;
        Some(PortRef { part, port })
    }

    /// A joint, whose arms may point any way.
    pub fn is_joint(&self, part: PartIx) -> bool {
        self.key(part) == "tee"
    }

    /// Joints and three-port valves: any port may take any of the symbol's sides.
    pub fn is_flexible(&self, part: PartIx) -> bool {
        let name = self.system.part(part).kind.symbol.name.as_str();
        name == "tee" || name == "valve-three-port"
    }

    pub fn is_store(&self, part: PartIx) -> bool {
        self.system.part(part).kind.symbol.name == "cylinder"
    }

    /// A symbol that may be drawn as tall as the rails it joins.
    pub fn stretches(&self, part: PartIx) -> bool {
        matches!(self.system.part(part).kind.symbol.name.as_str(), "header-low-loss" | "buffer")
            && self.system.part(part).kind.ports.len() == 4
    }

    /// Where a pipe goes on on another sheet.
    pub fn is_mark(&self, part: PartIx) -> bool {
        self.key(part) == "match mark"
    }

    /// A mark from which water of one of these services comes, by the port from which it does.
    pub fn comes_from(&self, part: PartIx, services: &[Service]) -> Option<PortRef> {
        let port = *self.joined(part).first()?;
        let port = PortRef { part, port };
        let (pipe, _) = self.join(port)?;
        let comes = self.system.pipe(pipe).from == port && services.contains(&self.service(pipe));
        (comes && self.is_mark(part)).then_some(port)
    }

    /// Exactly two ports joined, and water passes between them.
    pub fn in_line(&self, part: PartIx) -> bool {
        let ports = &self.system.part(part).kind.ports;
        ports.len() == 2 && !self.is_flexible(part)
    }

    pub fn size(&self, part: PartIx) -> (f64, f64) {
        let s = &self.system.part(part).kind.symbol;
        (s.w, s.h)
    }

    /// Postures that the symbol allows, the plainest first.
    pub fn poses(&self, part: PartIx) -> Vec<Pose> {
        // Air leaves upwards.
        if self.system.part(part).kind.symbol.name == "air-vent" {
            return vec![Pose::UPRIGHT];
        }
        match self.system.part(part).kind.turns {
            Turns::Fixed => vec![Pose::UPRIGHT],
            Turns::Mirror => vec![Pose::UPRIGHT, Pose::new(true, 0)],
            Turns::Free => [
                (false, 0),
                (true, 0),
                (false, 1),
                (true, 1),
                (true, 3),
                (false, 3),
                (true, 2),
                (false, 2),
            ]
            .map(|(m, t)| Pose::new(m, t))
            .to_vec(),
        }
    }

    /// The symbol in a posture with its upper left corner at the origin.
    pub fn spot(&self, part: PartIx, pose: Pose) -> Spot {
        let (w, h) = self.size(part);
        let (tw, th) = pose.extent(w, h);
        let rows = &self.system.part(part).kind.ports;
        let mut arms = [None; 4];
        if self.is_flexible(part) {
            for row in rows {
                let (p, edge) = pose.port(row, w, h);
                arms[edge as usize] = Some(p);
            }
            if self.is_joint(part) {
                let (x, y) = (tw / 2.0, th / 2.0);
                arms = [(x, 0.0), (tw, y), (x, th), (0.0, y)].map(|(x, y)| Some(P2::new(x, y)));
            }
            let ports = vec![None; rows.len()];
            return Spot { at: Rect::new(0.0, 0.0, tw, th), pose, ports, arms };
        }
        let ports = rows.iter().map(|p| Some(pose.port(p, w, h))).collect();
        Spot { at: Rect::new(0.0, 0.0, tw, th), pose, ports, arms }
    }

    /// Pipes of the heating circuits.
    pub fn is_primary(&self, pipe: PipeIx) -> bool {
        self.service(pipe).water() == Water::Primary
    }
}

impl Spot {
    /// The middle of a joint's arm, or of the first port's level for others.
    pub fn port(&self, i: usize) -> Option<(P2, Edge)> {
        let (p, edge) = (*self.ports.get(i)?)?;
        Some((P2::new(self.at.x + p.x, self.at.y + p.y), edge))
    }

    pub fn moved(mut self, dx: f64, dy: f64) -> Spot {
        self.at.x += dx;
        self.at.y += dy;
        self
    }

    /// So that port `i` lies at `to`.
    pub fn with_port_at(self, i: usize, to: P2) -> Spot {
        match self.port(i) {
            Some((p, _)) => self.moved(to.x - p.x, to.y - p.y),
            None => {
                let c = self.at.centre();
                self.moved(to.x - c.x, to.y - c.y)
            }
        }
    }

    /// Gives a joint's port a side, where that side is free.
    pub fn assign(&mut self, i: usize, edge: Edge) {
        if let (Some(p), None) = (self.arms[edge as usize], self.ports[i]) {
            self.ports[i] = Some((p, edge));
        }
    }

    /// Sides that a port of a joint may still take.
    pub fn open_edges(&self) -> Vec<Edge> {
        Edge::ALL
            .into_iter()
            .filter(|e| self.arms[*e as usize].is_some())
            .filter(|e| !self.ports.iter().flatten().any(|(_, used)| used == e))
            .collect()
    }

    /// Where the end of a joint's arm would lie.
    pub fn arm(&self, edge: Edge) -> Option<P2> {
        self.arms[edge as usize].map(|p| P2::new(self.at.x + p.x, self.at.y + p.y))
    }
}
