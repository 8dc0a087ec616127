//! The open side as lines: cold in, hot away, circulation, cold branches, discharge. In: the net and
//! the cylinder. Out: their lines and the column of the discharge.

use super::*;

impl Placer<'_> {
    pub(super) fn any_store(&mut self) -> Option<(PartIx, usize)> {
        if self.store.is_none() {
            let part = self.net.parts().find(|p| self.net.is_store(*p) && self.free(*p))?;
            self.taken.insert(part);
            self.store = Some((part, self.cols.place()));
        }
        self.store
    }

    pub(super) fn cold(&mut self) {
        let net = self.net;
        let store = self.any_store();
        let is_main = |p: &PartIx| {
            net.system.part(*p).kind.symbol.name == "main" && !net.joined(*p).is_empty()
        };
        // On a sheet of its own, the cold water comes from a match mark.
        let is_mark = |p: &PartIx| net.comes_from(*p, &COLD).is_some() && self.free(*p);
        let main = net.parts().find(is_main).or_else(|| net.parts().find(is_mark));
        let Some(main) = main else { return };
        let from = PortRef { part: main, port: net.joined(main)[0] };
        let goal = store.and_then(|(s, _)| net.port_named(s, "cold"));
        let taken = self.taken.clone();
        let found =
            reach(net, from, &COLD, &|p| !taken.contains(&p) || goal.is_some_and(|g| g.part == p));
        let to = match goal {
            Some(goal) if found.arrives(goal) => Some(goal),
            _ => straightest(net, &found),
        };
        let Some(to) = to else { return };
        let mut stops = found.way(to);
        stops.pop();
        stops.insert(0, Stop { part: main, enter: from.port, leave: None });
        self.line(Name::Cold, &stops, Edge::E);
        self.starts(Name::Cold, from, Edge::E);
        let end = match store {
            Some((s, place)) if to.part == s => place,
            _ => self.cols.place(),
        };
        if let Some(line) = self.lines.get_mut(&Name::Cold) {
            line.items.push(Item::corner(end));
        }
        self.sequence(Name::Cold);
    }

    pub(super) fn hot(&mut self) {
        let net = self.net;
        let from = match self.store {
            Some((store, _)) => net.port_named(store, "hot").filter(|p| net.join(*p).is_some()),
            None => net.parts().find_map(|p| net.comes_from(p, &HOT)),
        };
        let Some(from) = from else { return };
        let taken = self.taken.clone();
        let found = reach(net, from, &HOT, &|p| !taken.contains(&p));
        let Some(to) = straightest(net, &found) else { return };
        let mut stops = found.way(to);
        stops.pop();
        if self.store.is_none() {
            stops.insert(0, Stop { part: from.part, enter: from.port, leave: None });
        }
        self.line(Name::Hot, &stops, Edge::E);
        let end = self.cols.place();
        if let Some(line) = self.lines.get_mut(&Name::Hot) {
            if let Some((_, place)) = self.store {
                line.items.insert(0, Item::corner(place));
            }
            line.items.push(Item::corner(end));
        }
        if self.store.is_none() {
            self.starts(Name::Hot, from, Edge::E);
        }
        self.sequence(Name::Hot);
        self.last_hot(to, end);
        if let Some((store, place)) = self.store {
            self.hot_return(store, place);
        }
        self.hot_legs();
    }

    /// Branches of the hot line that feed several outlets, each a line of its own under it.
    fn hot_legs(&mut self) {
        let net = self.net;
        let Some(line) = self.lines.get(&Name::Hot) else { return };
        let joints: Vec<(usize, PartIx, usize)> = line
            .items
            .iter()
            .enumerate()
            .filter_map(|(n, i)| Some((n, i.part?, i.place)))
            .filter(|(_, p, _)| net.is_joint(*p))
            .collect();
        for (n, joint, place) in joints {
            let Some(port) = self.open_port(Name::Hot, joint) else { continue };
            let taken = self.taken.clone();
            let found = reach(net, port, &HOT, &|p| !taken.contains(&p));
            let Some(to) = straightest(net, &found) else { continue };
            let mut stops: Vec<Stop> =
                found.way(to).into_iter().filter(|s| s.leave.is_some()).collect();
            if stops.len() < 2 || !stops.iter().all(|s| net.is_joint(s.part)) {
                continue;
            }
            // Where the circulation leaves, the last outlet hangs as the others do.
            let goes_back = |s: &Stop| {
                net.joined(s.part).into_iter().any(|port| {
                    let pipe = net.join(PortRef { part: s.part, port }).map(|(pipe, _)| pipe);
                    pipe.is_some_and(|p| net.service(p) == Service::HotReturn)
                })
            };
            let ends = stops.last().is_some_and(goes_back);
            if let (true, Some(last)) = (ends, stops.last_mut()) {
                last.leave = None;
            }
            let name = Name::HotLeg(n);
            self.line(name, &stops, Edge::E);
            let end = (!ends).then(|| self.cols.place());
            if let Some(line) = self.lines.get_mut(&name) {
                line.items.insert(0, Item::corner(place));
                line.items.extend(end.map(Item::corner));
            }
            self.sequence(name);
            self.assign(Name::Hot, joint, port.port, Edge::S);
            let col = Column::new(net, place, Canvas::default(), Held::Above, self.s);
            self.hung.push((Name::Hot, col));
            // The hot line's own outlets come after those of the leg.
            let last = self.lines.get(&name).and_then(|l| Some(l.items.last()?.place));
            let next = self.lines.get(&Name::Hot).and_then(|l| Some(l.items.get(n + 1)?.place));
            if let (Some(last), Some(next)) = (last, next) {
                self.cols.demand(last, next, 2.0 * self.s.gap);
            }
        }
    }

    /// The circulation: from the last joint of the hot line back over it to the cylinder.
    pub(super) fn hot_return(&mut self, store: PartIx, store_place: usize) {
        let net = self.net;
        let Some(goal) = net.port_named(store, "secondary return") else { return };
        let Some(line) = self.lines.get(&Name::Hot) else { return };
        let joints: Vec<(PartIx, usize)> =
            line.items.iter().filter_map(|i| Some((i.part?, i.place))).collect();
        for (joint, place) in joints.into_iter().rev() {
            let Some(port) = self.open_port(Name::Hot, joint) else { continue };
            let taken = self.taken.clone();
            let found =
                reach(net, port, &[Service::HotReturn], &|p| p == store || !taken.contains(&p));
            if !found.arrives(goal) {
                continue;
            }
            let mut stops = found.way(goal);
            stops.pop();
            self.line(Name::HotReturn, &stops, Edge::W);
            let drop = self.cols.place();
            if let Some(line) = self.lines.get_mut(&Name::HotReturn) {
                line.items.insert(0, Item::corner(drop));
                line.items.push(Item::corner(place));
            }
            self.sequence(Name::HotReturn);
            self.assign(Name::Hot, joint, port.port, Edge::N);
            // Down left of the cylinder, where neither its hot water nor its discharge is crossed,
            // and right of what heats it.
            let half = net.size(store).0 / 2.0;
            self.cols.tie_at(drop, store_place, half + BESIDE_STORE);
            for name in [Name::Flow, Name::OuterFlow] {
                let last = self.lines.get(&name).and_then(|l| l.items.last());
                if let Some(last) = last.map(|i| i.place) {
                    self.cols.demand(last, drop, BESIDE_STORE);
                }
            }
            self.comes_back = true;
            return;
        }
    }

    pub(super) fn last_hot(&mut self, to: PortRef, end: usize) {
        // Cold lines are not known yet; the members are limited to what hangs on the hot side.
        let members = component(self.net, to.part, &self.taken);
        let members: BTreeSet<PartIx> = members
            .into_iter()
            .filter(|p| *p == to.part || self.net.key(*p) == "blending valve")
            .collect();
        self.taken.extend(&members);
        let canvas = column(self.net, self.s, to, Edge::S, &members);
        let col = Column::new(self.net, end, canvas, Held::Above, self.s);
        self.hung.push((Name::Hot, col));
    }

    /// From every cylinder's relief straight down.
    pub(super) fn discharges(&mut self) {
        let Some((main, _)) = self.store else { return };
        let net = self.net;
        let others: Vec<PartIx> =
            net.parts().filter(|p| net.is_store(*p) && self.free(*p)).collect();
        for store in std::iter::once(main).chain(others) {
            self.discharge(store);
        }
    }

    fn discharge(&mut self, store: PartIx) {
        let net = self.net;
        let Some(relief) = net.port_named(store, "relief") else { return };
        let Some((_, far)) = net.join(relief) else { return };
        if !self.free(far.part) {
            return;
        }
        // Only what the water meets from here on.
        let mut others = self.taken.clone();
        others.insert(store);
        let members = component(net, far.part, &others);
        let mut canvas = Canvas::default();
        let pose = net
            .poses(far.part)
            .into_iter()
            .find(|pose| {
                net.spot(far.part, *pose).port(far.port).is_some_and(|(_, e)| e == Edge::W)
            })
            .unwrap_or(Pose::UPRIGHT);
        let mut spot = net.spot(far.part, pose);
        if net.is_flexible(far.part) {
            spot.assign(far.port, Edge::W);
        }
        canvas.put(far.part, spot.with_port_at(far.port, P2::new(0.0, 0.0)));
        canvas.grow(net, self.s, &|p| members.contains(&p));
        self.taken.extend(&members);
        let place = self.cols.place();
        if let Some((_, store_place)) = self.store.filter(|(main, _)| *main == store) {
            let (w, _) = net.size(store);
            self.cols.demand(store_place, place, w / 2.0 + self.s.gap.max(12.5));
        }
        self.discharges.push(Fall { store, place, canvas });
    }

    /// A further cylinder hangs at `place`: its cold joint stands under it, its discharge right of
    /// it and before whatever leads to the next cylinder.
    pub(super) fn beside_store(&mut self, place: usize, canvas: &Canvas) {
        let net = self.net;
        for (store, spot) in canvas.spots.iter().filter(|(p, _)| net.is_store(**p)) {
            let port = |name: &str| {
                let port = net.port_named(*store, name)?;
                Some((net.join(port)?.1, spot.port(port.port)?.0))
            };
            if let Some((joint, p)) = port("cold")
                && let Some(there) = self.place_of(Name::Cold, joint.part)
            {
                self.assign(Name::Cold, joint.part, joint.port, Edge::N);
                self.cols.tie_at(place, there, snap(p.x));
            }
            let fall = self.discharges.iter().find(|f| f.store == *store);
            if let (Some(fall), Some((_, p))) = (fall.map(|f| f.place), port("relief")) {
                self.cols.demand(place, fall, snap(p.x) + self.s.gap.max(12.5));
                for name in [Name::OuterFlow, Name::Flow] {
                    let Some(line) = self.lines.get(&name) else { continue };
                    // The line may end left of this cylinder; then nothing is asked of it.
                    if let Some(end) = line.items.last().filter(|i| i.part.is_none()) {
                        self.cols.demand(fall, end.place, 2.0 * self.s.gap + 6.25);
                        break;
                    }
                }
            }
        }
    }

    /// Cold lines that leave the main one and feed several outlets.
    pub(super) fn branches(&mut self) {
        let net = self.net;
        let joints: Vec<(PartIx, usize)> = match self.lines.get(&Name::Cold) {
            Some(line) => line
                .items
                .iter()
                .filter_map(|i| Some((i.part?, i.place)))
                .filter(|(p, _)| net.is_joint(*p))
                .collect(),
            None => return,
        };
        for (joint, place) in joints.into_iter().rev() {
            let Some(port) = self.open_port(Name::Cold, joint) else { continue };
            let taken = self.taken.clone();
            // The outlet at the end of the hot line stands already.
            let is_outlet = |p: PartIx| net.system.part(p).kind.symbol.name == "outlet";
            let found = reach(net, port, &COLD, &|p| !taken.contains(&p) || is_outlet(p));
            let Some(to) = self.farthest_outlet(&found) else { continue };
            let stops = found.way(to);
            if !stops.iter().any(|s| net.is_joint(s.part)) {
                continue;
            }
            // What the outlets stand on is part of the line; the outlets are not.
            let stops: Vec<Stop> = stops.into_iter().filter(|s| s.leave.is_some()).collect();
            let name = Name::Branch(self.lines.len());
            self.line(name, &stops, Edge::E);
            let (start, end) = (place, self.cols.place());
            if let Some(line) = self.lines.get_mut(&name) {
                line.items.insert(0, Item::corner(start));
                line.items.push(Item::corner(end));
            }
            self.sequence(name);
            self.assign(Name::Cold, joint, port.port, Edge::S);
            let col = Column::new(self.net, place, Canvas::default(), Held::Above, self.s);
            self.hung.push((Name::Cold, col));
        }
    }

    /// The dead end behind the most joints, and of those the one whose hot water comes last: then
    /// cold and hot meet the outlets in one order.
    fn farthest_outlet(&self, found: &Reach) -> Option<PortRef> {
        let joints =
            |to: PortRef| found.way(to).iter().filter(|s| self.net.is_joint(s.part)).count();
        found
            .ends()
            .filter(|(p, _)| !self.net.is_joint(p.part) && self.ends_cold(*p))
            .max_by_key(|(p, c)| {
                let dear = std::cmp::Reverse(c / 100);
                (joints(*p), self.hot_order(p.part), dear, c % 100, std::cmp::Reverse(*p))
            })
            .map(|(p, _)| p)
    }

    /// No cold pipe goes on from here.
    fn ends_cold(&self, at: PortRef) -> bool {
        let net = self.net;
        net.joined(at.part).into_iter().filter(|i| *i != at.port).all(|port| {
            let pipe = net.join(PortRef { part: at.part, port }).map(|(pipe, _)| pipe);
            pipe.is_none_or(|p| !COLD.contains(&net.service(p)))
        })
    }

    /// How far along the hot line, and then along its leg, an outlet is fed.
    fn hot_order(&self, outlet: PartIx) -> (usize, usize, bool) {
        let net = self.net;
        let position = |name: Name, part: PartIx| {
            self.lines.get(&name)?.items.iter().position(|i| i.part == Some(part))
        };
        let (mut seen, mut open) = (BTreeSet::from([outlet]), vec![outlet]);
        while let Some(part) = open.pop() {
            for port in net.joined(part) {
                let Some((pipe, far)) = net.join(PortRef { part, port }) else { continue };
                if !HOT.contains(&net.service(pipe)) {
                    continue;
                }
                // What the line ends in already stands, and comes after all that hangs from it.
                match self.line_of(far.part) {
                    Some(Name::HotLeg(n)) => {
                        let own = position(Name::HotLeg(n), far.part).unwrap_or(0);
                        return (n, own + 1, !self.free(outlet));
                    }
                    Some(name) => {
                        return (position(name, far.part).unwrap_or(0), 0, !self.free(outlet));
                    }
                    None if seen.insert(far.part) => open.push(far.part),
                    None => {}
                }
            }
        }
        (0, 0, false)
    }
}
