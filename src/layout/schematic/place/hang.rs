//! What hangs from the lines. In: the joints on every line. Out: columns between two lines, below
//! one or standing on one.

use super::*;
use crate::layout::schematic::outline::ROUND;

impl Placer<'_> {
    /// Hangs from every joint on every line what belongs there.
    pub(super) fn hang_all(&mut self) {
        let mut names = vec![
            Name::Flow,
            Name::Return,
            Name::OuterFlow,
            Name::OuterReturn,
            Name::SolarFlow,
            Name::SolarReturn,
            // A tap stands under the hot line, even where it alone has the branch of the cold.
            Name::Hot,
            Name::Cold,
            Name::HotReturn,
        ];
        let more = |n: &&Name| matches!(n, Name::Branch(_) | Name::HotLeg(_));
        names.extend(self.lines.keys().filter(more).copied());
        for name in names {
            let Some(line) = self.lines.get(&name) else { continue };
            let joints: Vec<(PartIx, usize)> = line
                .items
                .iter()
                .filter_map(|i| Some((i.part?, i.place)))
                .filter(|(p, _)| self.net.is_flexible(*p))
                .collect();
            for (joint, place) in joints {
                if let Some(port) = self.open_port(name, joint) {
                    self.hang(name, port, place);
                }
            }
        }
    }

    pub(super) fn hang(&mut self, name: Name, port: PortRef, place: usize) {
        let net = self.net;
        let Some((_, far)) = net.join(port) else { return };
        if !self.free(far.part) {
            // A pipe to another line, or to something that already stands.
            if net.is_store(far.part) {
                self.assign(name, port.part, port.port, Edge::N);
            } else if self.line_of(far.part).is_none() && name == Name::Cold {
                let edge = if Some(far.part) == self.source { Edge::N } else { Edge::S };
                self.assign(name, port.part, port.port, edge);
                let col = Column::new(net, place, Canvas::default(), Held::Above, self.s);
                self.hung.push((name, col));
            }
            if let Some(other) = self.line_of(far.part) {
                let edge = if other > name { Edge::S } else { Edge::N };
                self.assign(name, port.part, port.port, edge);
                if let (true, Some(there)) = (next_to(name, other), self.place_of(other, far.part))
                {
                    self.assign(other, far.part, far.port, edge.opposite());
                    if self.cols.tie(place, there) {
                        let both =
                            Column::new(self.net, place, Canvas::default(), Held::Both, self.s);
                        self.rungs.push((name.min(other), name.max(other), both));
                    }
                }
            }
            return;
        }
        let members = component(net, far.part, &self.taken);
        // Where else does it end?
        let mut links: Vec<(Name, PortRef, PartIx)> = Vec::new();
        for part in &members {
            for i in net.joined(*part) {
                let Some((_, other)) = net.join(PortRef { part: *part, port: i }) else { continue };
                if other != port
                    && let Some(line) = self.line_of(other.part)
                {
                    links.push((line, other, *part));
                }
            }
        }
        let link = links.iter().find(|(l, ..)| *l != name && next_to(name, *l)).copied();
        let edge = match link {
            Some((other, ..)) if other > name => Edge::S,
            Some(_) => Edge::N,
            None => self.pendant_edge(name, far.part),
        };
        self.assign(name, port.part, port.port, edge);
        self.taken.extend(&members);
        if let Some((other, there, _)) = link {
            let linked = there;
            let (top, low) = (name.min(other), name.max(other));
            // Built from the upper line downwards, whichever came first.
            let (first, last) = if edge == Edge::S {
                (far, net.join(there).map(|(_, p)| p))
            } else {
                let first = net.join(there).map_or(far, |(_, p)| p);
                (first, Some(far).filter(|f| f.part != first.part || f.port != first.port))
            };
            let canvas = column(net, self.s, first, Edge::S, &members);
            self.assign(other, there.part, there.port, edge.opposite());
            let below = last
                .and_then(|l| canvas.spots.get(&l.part)?.port(l.port))
                .map_or(0.0, |(p, e)| p.x + e.step().0 * self.s.gap);
            let there = self.place_at(other, there).unwrap_or(place);
            let (upper, lower) = if edge == Edge::S { (place, there) } else { (there, place) };
            if !self.cols.tie_at(upper, lower, snap(below)) {
                self.cols.tie(upper, lower);
            }
            // Further ends on the same line come under their own ports.
            for (line, joint, _) in links.iter().filter(|(l, j, _)| *l == other && *j != linked) {
                let Some((_, end)) = net.join(*joint) else { continue };
                let Some((p, _)) = canvas.spots.get(&end.part).and_then(|s| s.port(end.port))
                else {
                    continue;
                };
                let Some(there) = self.place_at(*line, *joint) else { continue };
                self.assign(*line, joint.part, joint.port, edge.opposite());
                if edge == Edge::S {
                    self.cols.tie_at(place, there, snap(p.x));
                }
            }
            self.beside_store(upper, &canvas);
            let col = Column::new(net, upper, canvas, Held::Both, self.s);
            self.rungs.push((top, low, col));
        } else {
            let mut canvas = column(net, self.s, far, edge, &members);
            // On a tight sheet the outline goes round it.
            if edge == Edge::N && self.s.drop > 5.0 {
                self.clear_of_unit(name, port.part, &mut canvas);
            }
            if edge == Edge::N {
                self.beside_next(name, place, &canvas);
            }
            let held = if edge == Edge::S { Held::Above } else { Held::Below };
            self.hung.push((name, Column::new(net, place, canvas, held, self.s)));
        }
    }

    /// What stands on a unit's line and is no part of it stands clear of the unit's outline.
    fn clear_of_unit(&self, name: Name, joint: PartIx, canvas: &mut Canvas) {
        let unit = |p: PartIx| self.net.system.part(p).unit;
        let Some(own) = unit(joint) else { return };
        if canvas.spots.keys().any(|p| unit(*p) == Some(own)) {
            return;
        }
        let Some(line) = self.lines.get(&name) else { return };
        let top = line
            .items
            .iter()
            .filter(|i| i.part.is_some_and(|p| unit(p) == Some(own)))
            .filter_map(|i| i.spot.as_ref())
            .map(|s| s.at.y)
            .fold(0.0, f64::min);
        let low = canvas.bounds().map_or(0.0, |b| b.bottom());
        let by = snap(low - (top - ROUND - GRID));
        if by > 0.0 {
            canvas.shift(0.0, -by);
        }
    }

    /// What stands low on a line stands beside the next symbol in that line.
    fn beside_next(&mut self, name: Name, place: usize, canvas: &Canvas) {
        let Some(line) = self.lines.get(&name) else { return };
        let after = line.items.iter().skip_while(|i| i.place != place).nth(1);
        let Some((next, spot)) = after.and_then(|i| Some((i, i.spot.as_ref()?))) else { return };
        let right = canvas
            .spots
            .values()
            .filter(|s| s.at.bottom() > spot.at.y - GRID)
            .map(|s| s.at.right())
            .fold(0.0, f64::max);
        self.cols.demand(place, next.place, right + 2.0 * GRID + next.left);
    }

    fn fed_from_source(&self, part: PartIx) -> bool {
        self.net.joined(part).into_iter().any(|port| {
            let far = self.net.join(PortRef { part, port }).map(|(_, far)| far.part);
            far.is_some() && far == self.source
        })
    }

    pub(super) fn pendant_edge(&self, name: Name, part: PartIx) -> Edge {
        match self.net.system.part(part).kind.symbol.name.as_str() {
            "air-vent" | "vessel" | "gauge" => Edge::N,
            "drain-cock" => Edge::S,
            "valve-relief" if name == Name::Flow => Edge::N,
            "valve-relief" => Edge::S,
            // Its hot water comes down from the boiler.
            "outlet" if name == Name::Cold && self.fed_from_source(part) => Edge::N,
            _ => match name {
                Name::OuterFlow | Name::HotReturn => Edge::N,
                Name::Flow | Name::Hot | Name::Cold => Edge::S,
                Name::HotLeg(_) | Name::Branch(_) => Edge::S,
                Name::OuterReturn | Name::SolarFlow => Edge::S,
                Name::Return | Name::SolarReturn => Edge::N,
            },
        }
    }
}
