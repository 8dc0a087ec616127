//! The closed circuits as lines: heating, a cylinder that branches off early, solar. In: the net.
//! Out: pairs of lines, flow over return, closed by their source on the left.

use super::*;

impl Placer<'_> {
    /// The source, the flow line, the return line, the last user.
    pub(super) fn heating(&mut self) {
        let net = self.net;
        let heats = net
            .parts()
            .filter(|p| net.system.part(*p).kind.heats)
            .filter_map(|p| net.port_named(p, "flow"))
            .filter(|p| net.join(*p).is_some_and(|(x, _)| net.is_primary(x)));
        // On a sheet of its own, the flow comes from a match mark.
        let marks = net.parts().filter_map(|p| net.comes_from(p, &FLOW));
        let all: Vec<PortRef> = heats.chain(marks).collect();
        let best = all
            .iter()
            .filter_map(|from| {
                let found = reach(net, *from, &FLOW, &|_| true);
                let user = last_user(net, &found)?;
                let store = found.ends().any(|(p, _)| net.is_store(p.part));
                Some((!net.is_mark(from.part), store, *from, user, found))
            })
            .max_by_key(|(heats, store, from, ..)| (*heats, *store, std::cmp::Reverse(*from)));
        let Some((heats, _, from, user, found)) = best else { return };
        let source = from.part;
        let mut flow = found.way(user);
        self.source = heats.then_some(source);
        self.taken.insert(source);
        let goes_on = net.is_mark(user.part);
        let returns = if goes_on {
            net.parts().find_map(|p| net.comes_from(p, &RETURN))
        } else {
            flow.pop();
            way_back(net, user)
        };
        let back = returns.and_then(|back| {
            let found = reach(net, back, &RETURN, &|_| true);
            let home = net.port_named(source, "return").filter(|home| found.arrives(*home));
            let farthest = || {
                let ends = found.ends().max_by_key(|(p, c)| (net.is_mark(p.part), *c, *p));
                ends.map(|(p, _)| p)
            };
            Some(found.way(home.or_else(farthest)?))
        });
        let mut back: Vec<Stop> = back.unwrap_or_default();
        if !heats {
            flow.insert(0, Stop { part: source, enter: from.port, leave: None });
        }
        if let Some(mark) = returns.filter(|_| goes_on) {
            back.insert(0, Stop { part: mark.part, enter: mark.port, leave: None });
        }
        back.retain(|s| s.part != source);
        // What shuts or trims the last user hangs in its column.
        let mut tail: Vec<Stop> = Vec::new();
        while let Some(last) = flow.last().filter(|_| !goes_on) {
            let closes = net.system.part(last.part).kind.closes;
            let small = matches!(closes, Closes::ByMotor | Closes::ByHand | Closes::Check);
            if !small || !net.in_line(last.part) || tail.len() == 2 {
                break;
            }
            tail.insert(0, *last);
            flow.pop();
        }
        self.line(Name::Flow, &flow, Edge::E);
        self.line(Name::Return, &back, Edge::W);
        // A header on both lines has one place.
        let shared: Vec<(usize, usize)> = self.lines[&Name::Flow]
            .items
            .iter()
            .filter_map(|i| Some((i.place, self.place_of(Name::Return, i.part?)?)))
            .collect();
        let shared = [shared, self.marks_over_marks()].concat();
        // The source closes both lines on the left.
        if heats {
            let start = self.cols.place();
            for name in [Name::Flow, Name::Return] {
                if let Some(line) = self.lines.get_mut(&name) {
                    line.items.insert(0, Item::corner(start));
                }
            }
            let canvas = column(net, self.s, from, Edge::S, &BTreeSet::new());
            let col = Column::new(self.net, start, canvas, Held::Both, self.s);
            self.rungs.push((Name::Flow, Name::Return, col));
        } else {
            self.starts(Name::Flow, from, Edge::E);
        }
        if let Some(mark) = returns.filter(|_| goes_on) {
            self.starts(Name::Return, mark, Edge::W);
        }
        if !goes_on {
            self.last_user_of_heating(user, &tail);
        }
        self.sequence(Name::Flow);
        self.sequence(Name::Return);
        for (a, b) in shared {
            self.cols.tie(a, b);
        }
        if self.store.is_none() {
            self.outer();
        }
    }

    /// Marks at the same end of both lines stand one over the other.
    fn marks_over_marks(&self) -> Vec<(usize, usize)> {
        let (Some(flow), Some(back)) = (self.lines.get(&Name::Flow), self.lines.get(&Name::Return))
        else {
            return Vec::new();
        };
        let is_mark = |i: &&Item| i.part.is_some_and(|p| self.net.is_mark(p));
        let pair = |a: Option<&Item>, b: Option<&Item>| {
            Some((a.filter(is_mark)?.place, b.filter(is_mark)?.place))
        };
        let first = pair(flow.items.first(), back.items.first());
        let last = pair(flow.items.last(), back.items.last());
        first.into_iter().chain(last).collect()
    }

    /// The last user closes flow and return on the right; `tail` hangs in its column.
    fn last_user_of_heating(&mut self, user: PortRef, tail: &[Stop]) {
        let net = self.net;
        let end = self.cols.place();
        if let Some(line) = self.lines.get_mut(&Name::Flow) {
            line.items.push(Item::corner(end));
        }
        let members: BTreeSet<PartIx> = tail.iter().map(|s| s.part).collect();
        self.taken.extend(&members);
        let first = tail.first().map(|s| PortRef { part: s.part, port: s.enter });
        if net.is_store(user.part) {
            self.store = Some((user.part, self.cols.place()));
            self.ends_at_store = true;
            self.taken.insert(user.part);
            let canvas =
                first.map_or_else(Canvas::default, |f| column(net, self.s, f, Edge::S, &members));
            let col = Column::new(self.net, end, canvas, Held::Above, self.s);
            self.hung.push((Name::Flow, col));
        } else {
            let mut members = members;
            members.extend(component(net, user.part, &self.taken));
            self.taken.extend(&members);
            let canvas = column(net, self.s, first.unwrap_or(user), Edge::S, &members);
            let col = Column::new(self.net, end, canvas, Held::Both, self.s);
            self.rungs.push((Name::Flow, Name::Return, col));
            if let Some(line) = self.lines.get_mut(&Name::Return) {
                line.items.push(Item::corner(end));
            }
        }
    }

    /// A cylinder that branches off before the zones.
    pub(super) fn outer(&mut self) {
        let net = self.net;
        let Some(line) = self.lines.get(&Name::Flow) else { return };
        let joints: Vec<(PartIx, usize)> = line
            .items
            .iter()
            .filter_map(|i| Some((i.part?, i.place)))
            .filter(|(p, _)| net.is_flexible(*p))
            .collect();
        for (joint, place) in joints {
            let Some(port) = self.open_port(Name::Flow, joint) else { continue };
            let taken = self.taken.clone();
            let found = reach(net, port, &FLOW, &|p| !taken.contains(&p));
            let Some(user) = last_user(net, &found).filter(|u| net.is_store(u.part)) else {
                continue;
            };
            let Some(back) = way_back(net, user) else { continue };
            let home = reach(net, back, &RETURN, &|p| {
                !taken.contains(&p) || self.place_of(Name::Return, p).is_some()
            });
            let end = home
                .ends()
                .filter(|(p, _)| self.place_of(Name::Return, p.part).is_some())
                .min_by_key(|(p, c)| (*c, *p))
                .map(|(p, _)| p);
            let Some(end) = end else { continue };
            let mut flow = found.way(user);
            flow.pop();
            let mut back = home.way(end);
            back.pop();
            let there = self.place_of(Name::Return, end.part);
            self.taken.insert(user.part);
            self.line(Name::OuterFlow, &flow, Edge::E);
            self.line(Name::OuterReturn, &back, Edge::W);
            let corner = self.cols.place();
            let store = self.cols.place();
            for (name, start) in [(Name::OuterFlow, Some(place)), (Name::OuterReturn, there)] {
                if let (Some(line), Some(start)) = (self.lines.get_mut(&name), start) {
                    line.items.insert(0, Item::corner(start));
                }
            }
            if let Some(line) = self.lines.get_mut(&Name::OuterFlow) {
                line.items.push(Item::corner(corner));
            }
            self.sequence(Name::OuterFlow);
            self.sequence(Name::OuterReturn);
            self.assign(Name::Flow, joint, port.port, Edge::N);
            self.assign(Name::Return, end.part, end.port, Edge::S);
            self.hung.push((
                Name::OuterFlow,
                Column::new(self.net, corner, Canvas::default(), Held::Above, self.s),
            ));
            let half = net.size(user.part).0 / 2.0;
            self.cols.tie_at(corner, store, half + snap(self.s.gap.max(11.25)));
            self.store = Some((user.part, store));
            return;
        }
    }

    /// The solar circuit: its own pair of lines below the heating's.
    pub(super) fn solar(&mut self) {
        let Some((store, store_place)) = self.any_store() else { return };
        let net = self.net;
        let (Some(inlet), Some(outlet)) =
            (net.port_named(store, "solar flow"), net.port_named(store, "solar return"))
        else {
            return;
        };
        let panel = net.parts().find(|p| {
            let symbol = net.system.part(*p).kind.symbol.name.as_str();
            symbol == "collector" && self.free(*p) && !net.joined(*p).is_empty()
        });
        let Some(panel) = panel else { return };
        let (Some(from), Some(home)) =
            (net.port_named(panel, "flow"), net.port_named(panel, "return"))
        else {
            return;
        };
        let taken = self.taken.clone();
        let may = |p: PartIx| p == store || !taken.contains(&p);
        let out = reach(net, from, &[Service::SolarFlow], &may);
        let back = reach(net, outlet, &[Service::SolarReturn], &may);
        if !out.arrives(inlet) || !back.arrives(home) {
            return;
        }
        let (mut out, mut back) = (out.way(inlet), back.way(home));
        out.pop();
        back.pop();
        self.taken.insert(panel);
        self.line(Name::SolarFlow, &out, Edge::E);
        self.line(Name::SolarReturn, &back, Edge::W);
        let start = self.cols.place();
        let half = net.size(store).0 / 2.0;
        let mut before: Option<usize> = None;
        for name in [Name::SolarFlow, Name::SolarReturn] {
            let end = self.cols.place();
            if let Some(line) = self.lines.get_mut(&name) {
                line.items.insert(0, Item::corner(start));
                line.items.push(Item::corner(end));
            }
            self.sequence(name);
            // The upper line turns first.
            let turns = if before.is_none() { 2.0 } else { 1.0 };
            self.cols.tie_at(end, store_place, half + snap(turns * self.s.gap + 2.5));
            before = Some(end);
        }
        let mut canvas = Canvas::default();
        let spot = net.spot(panel, Pose::UPRIGHT);
        let w = spot.at.w;
        canvas.put(panel, spot.moved(-snap(w + self.s.gap), 0.0));
        let col = Column::new(net, start, canvas, Held::Both, self.s);
        self.rungs.push((Name::SolarFlow, Name::SolarReturn, col));
    }
}
