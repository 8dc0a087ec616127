//! The habits of the trade, as places: heat source left, flow above return, users between them
//! like rungs, the cylinder at their end; cold in from the lower left, hot away to the right,
//! discharge straight down beside the cylinder. In: the net. Out: a place for every symbol.
//!
//! The cylinder stands at the right end of the heating lines even where it is the first user: only
//! there can cold, hot and discharge reach it without crossing the heating.

mod finish;
mod risers;
mod rows;
mod settle;

use std::collections::{BTreeMap, BTreeSet};

use super::canvas::{Canvas, Spacing};
use super::columns::Columns;
use super::label::block_width;
use super::line::{Column, Held, Item, Line, column};
use super::net::{Net, snap};
use super::pose::{Edge, Pose};
use super::trunk::{COLD, FLOW, HOT, RETURN, Stop, component, last_user, reach, way_back};
use super::words;
use crate::catalogue::Closes;
use crate::model::{P2, PartIx, PortRef, Rect, Service};
use finish::finish;
use rows::rows;

/// Names of the long lines.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Name {
    /// Hot water coming back: above the hot line.
    HotReturn,
    Hot,
    /// Flow and return of a cylinder that leaves the lines before the zones: round the outside.
    OuterFlow,
    Flow,
    Return,
    OuterReturn,
    SolarFlow,
    SolarReturn,
    Cold,
    Branch(usize),
}

struct Placer<'a> {
    net: &'a Net<'a>,
    s: Spacing,
    taken: BTreeSet<PartIx>,
    lines: BTreeMap<Name, Line>,
    cols: Columns,
    /// Columns by the line above (or below) them.
    hung: Vec<(Name, Column)>,
    /// Columns between two lines.
    rungs: Vec<(Name, Name, Column)>,
    store: Option<(PartIx, usize)>,
    discharge: Option<(usize, Canvas)>,
    source: Option<PartIx>,
    /// The cylinder is the last user on the flow line.
    ends_at_store: bool,
    /// Where the circulation comes down to the cylinder.
    drop: Option<usize>,
}

/// Beyond this many parts on one sheet, habits are of no use.
const MOST: usize = 1200;

/// A place for every part.
pub fn place(net: &Net, s: Spacing) -> Canvas {
    if net.parts().count() > MOST {
        return rows(net, s);
    }
    if let Some(mut canvas) = risers::place(net, s) {
        finish(net, s, &mut canvas);
        return canvas;
    }
    let mut p = Placer {
        net,
        s,
        taken: BTreeSet::new(),
        lines: BTreeMap::new(),
        cols: Columns::default(),
        hung: Vec::new(),
        rungs: Vec::new(),
        store: None,
        discharge: None,
        source: None,
        ends_at_store: false,
        drop: None,
    };
    p.heating();
    p.solar();
    p.cold();
    p.hot();
    p.discharge();
    p.branches();
    p.hang_all();
    let mut canvas = p.settle();
    finish(net, s, &mut canvas);
    canvas
}

impl Placer<'_> {
    fn free(&self, part: PartIx) -> bool {
        !self.taken.contains(&part)
    }

    fn line(&mut self, name: Name, stops: &[Stop], run: Edge) {
        let mut items: Vec<Item> = Vec::new();
        for stop in stops {
            let place = self.cols.place();
            items.push(Item::stop(self.net, *stop, run, place));
            self.taken.insert(stop.part);
        }
        if run == Edge::W {
            items.reverse();
        }
        self.lines.insert(name, Line { y: 0.0, items });
    }

    fn place_of(&self, name: Name, part: PartIx) -> Option<usize> {
        self.lines.get(&name)?.items.iter().find(|i| i.part == Some(part)).map(|i| i.place)
    }

    /// The source, the flow line, the return line, the last user.
    fn heating(&mut self) {
        let net = self.net;
        let all: Vec<PortRef> = net
            .parts()
            .filter(|p| net.system.part(*p).kind.heats)
            .filter_map(|p| net.port_named(p, "flow"))
            .filter(|p| net.join(*p).is_some_and(|(x, _)| net.is_primary(x)))
            .collect();
        let best = all
            .iter()
            .filter_map(|from| {
                let found = reach(net, *from, &FLOW, &|_| true);
                let user = last_user(net, &found)?;
                let store = found.ends().any(|(p, _)| net.is_store(p.part));
                Some((store, *from, user, found))
            })
            .max_by_key(|(store, from, ..)| (*store, std::cmp::Reverse(*from)));
        let Some((_, from, user, found)) = best else { return };
        let source = from.part;
        let mut flow = found.way(user);
        flow.pop();
        self.source = Some(source);
        self.taken.insert(source);
        let back = way_back(net, user).and_then(|back| {
            let found = reach(net, back, &RETURN, &|_| true);
            let home = net.port_named(source, "return")?;
            let home = if found.arrives(home) {
                home
            } else {
                found.ends().max_by_key(|(p, c)| (*c, *p)).map(|(p, _)| p)?
            };
            Some(found.way(home))
        });
        let mut back: Vec<Stop> = back.unwrap_or_default();
        back.retain(|s| s.part != source);
        // What shuts or trims the last user hangs in its column.
        let mut tail: Vec<Stop> = Vec::new();
        while let Some(last) = flow.last() {
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
        // The source closes both lines on the left.
        let start = self.cols.place();
        for name in [Name::Flow, Name::Return] {
            if let Some(line) = self.lines.get_mut(&name) {
                line.items.insert(0, Item::corner(start));
            }
        }
        let canvas = column(net, self.s, from, Edge::S, &BTreeSet::new());
        let col = Column::new(self.net, start, canvas, Held::Both, self.s);
        self.rungs.push((Name::Flow, Name::Return, col));
        // The last user closes them on the right.
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
        self.sequence(Name::Flow);
        self.sequence(Name::Return);
        for (a, b) in shared {
            self.cols.tie(a, b);
        }
        if self.store.is_none() {
            self.outer();
        }
    }

    /// A cylinder that branches off before the zones.
    fn outer(&mut self) {
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

    /// The order on a line as demands.
    fn sequence(&mut self, name: Name) {
        let Some(line) = self.lines.get(&name) else { return };
        let mut demands = Vec::new();
        for pair in line.items.windows(2) {
            let gap = self.s.gap.max(self.words_between(&pair[0], &pair[1]));
            demands.push((pair[0].place, pair[1].place, pair[0].right + gap + pair[1].left));
        }
        for (l, r, by) in demands {
            self.cols.demand(l, r, by);
        }
    }

    /// Room for the words of a pipe that stands alone between two joints or changes.
    fn words_between(&self, a: &Item, b: &Item) -> f64 {
        let (Some(a), Some(b)) = (a.part, b.part) else { return 0.0 };
        let between = self.net.joined(a).into_iter().find_map(|i| {
            let (pipe, far) = self.net.join(PortRef { part: a, port: i })?;
            (far.part == b).then_some(pipe)
        });
        let Some(pipe) = between else { return 0.0 };
        let text = words::of_pipe(self.net.system.pipe(pipe));
        // Where the run goes on with the same words, it has room elsewhere.
        let goes_on = |part: PartIx| {
            self.net.in_line(part)
                && self.net.joined(part).into_iter().any(|i| {
                    self.net.join(PortRef { part, port: i }).is_some_and(|(p, _)| {
                        p != pipe && words::of_pipe(self.net.system.pipe(p)) == text
                    })
                })
        };
        let share = if goes_on(a) || goes_on(b) { 0.5 } else { 1.0 };
        block_width(&[text], false) * self.s.words * share
    }

    /// The solar circuit: its own pair of lines below the heating's.
    fn solar(&mut self) {
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

    fn any_store(&mut self) -> Option<(PartIx, usize)> {
        if self.store.is_none() {
            let part = self.net.parts().find(|p| self.net.is_store(*p) && self.free(*p))?;
            self.taken.insert(part);
            self.store = Some((part, self.cols.place()));
        }
        self.store
    }

    fn cold(&mut self) {
        let net = self.net;
        let store = self.any_store();
        let is_main = |p: &PartIx| {
            net.system.part(*p).kind.symbol.name == "main" && !net.joined(*p).is_empty()
        };
        // On a sheet of its own, a flat's cold water comes from a match mark.
        let is_mark = |p: &PartIx| {
            net.key(*p) == "match mark"
                && net.joined(*p).first().is_some_and(|i| {
                    let port = PortRef { part: *p, port: *i };
                    net.join(port).is_some_and(|(pipe, _)| {
                        COLD.contains(&net.service(pipe)) && net.system.pipe(pipe).from == port
                    })
                })
        };
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
        // The main's only port leaves to the right.
        if let Some(first) = self.lines.get_mut(&Name::Cold).and_then(|l| l.items.first_mut()) {
            let faces = |pose: &Pose| {
                net.spot(main, *pose).port(from.port).is_some_and(|(_, e)| e == Edge::E)
            };
            let pose = net.poses(main).into_iter().find(faces).unwrap_or(Pose::UPRIGHT);
            let spot = net.spot(main, pose).with_port_at(from.port, P2::new(0.0, 0.0));
            let dx = snap(spot.at.w / 2.0);
            let spot = spot.moved(dx, 0.0);
            (first.left, first.right) = (-spot.at.x, spot.at.right());
            first.spot = Some(spot);
        }
        let end = match store {
            Some((s, place)) if to.part == s => place,
            _ => self.cols.place(),
        };
        if let Some(line) = self.lines.get_mut(&Name::Cold) {
            line.items.push(Item::corner(end));
        }
        self.sequence(Name::Cold);
    }

    fn hot(&mut self) {
        let Some((store, place)) = self.store else { return };
        let net = self.net;
        let Some(from) = net.port_named(store, "hot").filter(|p| net.join(*p).is_some()) else {
            return;
        };
        let taken = self.taken.clone();
        let found = reach(net, from, &HOT, &|p| !taken.contains(&p));
        let Some(to) = straightest(net, &found) else { return };
        let mut stops = found.way(to);
        stops.pop();
        self.line(Name::Hot, &stops, Edge::E);
        let end = self.cols.place();
        if let Some(line) = self.lines.get_mut(&Name::Hot) {
            line.items.insert(0, Item::corner(place));
            line.items.push(Item::corner(end));
        }
        self.sequence(Name::Hot);
        self.last_hot(to, end);
        self.hot_return(store, place);
    }

    /// The circulation: from the last joint of the hot line back over it to the cylinder.
    fn hot_return(&mut self, store: PartIx, store_place: usize) {
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
            let half = net.size(store).0 / 2.0;
            self.cols.demand(store_place, drop, half + self.s.gap);
            self.drop = Some(drop);
            return;
        }
    }

    fn last_hot(&mut self, to: PortRef, end: usize) {
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

    /// From the cylinder's relief straight down.
    fn discharge(&mut self) {
        let Some((store, store_place)) = self.store else { return };
        let net = self.net;
        let Some(relief) = net.port_named(store, "relief") else { return };
        let Some((_, far)) = net.join(relief) else { return };
        if !self.free(far.part) {
            return;
        }
        let members = component(net, far.part, &self.taken);
        // Only what the water meets from here on.
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
        let (w, _) = net.size(store);
        self.cols.demand(store_place, place, w / 2.0 + self.s.gap.max(12.5));
        if let Some(drop) = self.drop {
            self.cols.demand(drop, place, self.s.gap);
        }
        self.discharge = Some((place, canvas));
    }

    /// Cold lines that leave the main one and feed several outlets.
    fn branches(&mut self) {
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
            let found = reach(net, port, &COLD, &|p| !taken.contains(&p));
            let Some(to) = straightest(net, &found) else { continue };
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

    /// The port of a joint on a line that no side has been given to.
    fn open_port(&self, name: Name, part: PartIx) -> Option<PortRef> {
        let line = self.lines.get(&name)?;
        let spot = line.items.iter().find(|i| i.part == Some(part))?.spot.as_ref()?;
        self.net
            .joined(part)
            .into_iter()
            .find(|i| spot.port(*i).is_none())
            .map(|port| PortRef { part, port })
    }

    fn assign(&mut self, name: Name, part: PartIx, port: usize, edge: Edge) {
        let net = self.net;
        let item = self
            .lines
            .get_mut(&name)
            .and_then(|l| l.items.iter_mut().find(|i| i.part == Some(part)));
        if let Some(spot) = item.and_then(|i| i.spot.as_mut()) {
            let open = spot.open_edges();
            if open.contains(&edge) {
                spot.assign(port, edge);
            } else if edge == Edge::N && net.is_flexible(part) && !net.is_joint(part) {
                // Turned over, the third way of the valve points up.
                let mut over = net.spot(part, Pose::new(false, 2));
                for (i, had) in spot.ports.iter().enumerate() {
                    if let Some((_, e)) = had {
                        over.assign(i, *e);
                    }
                }
                over.assign(port, Edge::N);
                let level = over.arm(Edge::W).map_or(0.0, |p| p.y);
                *spot = over.moved(spot.at.x, -level);
            } else if let Some(other) = open.first() {
                spot.assign(port, *other);
            }
        }
    }

    /// The line on which a part stands.
    fn line_of(&self, part: PartIx) -> Option<Name> {
        self.lines
            .iter()
            .find(|(_, l)| l.items.iter().any(|i| i.part == Some(part)))
            .map(|(n, _)| *n)
    }

    /// Hangs from every joint on every line what belongs there.
    fn hang_all(&mut self) {
        let mut names = vec![
            Name::Flow,
            Name::Return,
            Name::OuterFlow,
            Name::OuterReturn,
            Name::SolarFlow,
            Name::SolarReturn,
            Name::Cold,
            Name::Hot,
            Name::HotReturn,
        ];
        names.extend(self.lines.keys().filter(|n| matches!(n, Name::Branch(_))).copied());
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

    fn hang(&mut self, name: Name, port: PortRef, place: usize) {
        let net = self.net;
        let Some((_, far)) = net.join(port) else { return };
        if !self.free(far.part) {
            // A pipe to another line, or to something that already stands.
            if self.line_of(far.part).is_none() && name == Name::Cold {
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
            let there = self.place_of(other, there.part).unwrap_or(place);
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
                let Some(there) = self.place_of(*line, joint.part) else { continue };
                self.assign(*line, joint.part, joint.port, edge.opposite());
                if edge == Edge::S {
                    self.cols.tie_at(place, there, snap(p.x));
                }
            }
            let col = Column::new(net, upper, canvas, Held::Both, self.s);
            self.rungs.push((top, low, col));
        } else {
            let canvas = column(net, self.s, far, edge, &members);
            let held = if edge == Edge::S { Held::Above } else { Held::Below };
            self.hung.push((name, Column::new(net, place, canvas, held, self.s)));
        }
    }

    fn pendant_edge(&self, name: Name, part: PartIx) -> Edge {
        match self.net.system.part(part).kind.symbol.name.as_str() {
            "air-vent" | "vessel" | "gauge" => Edge::N,
            "drain-cock" => Edge::S,
            "valve-relief" if name == Name::Flow => Edge::N,
            "valve-relief" => Edge::S,
            _ => match name {
                Name::OuterFlow | Name::HotReturn => Edge::N,
                Name::Flow | Name::Hot | Name::Cold | Name::Branch(_) => Edge::S,
                Name::OuterReturn | Name::SolarFlow => Edge::S,
                Name::Return | Name::SolarReturn => Edge::N,
            },
        }
    }
}

/// Lines between which a column may run.
fn next_to(a: Name, b: Name) -> bool {
    let (a, b) = (a.min(b), a.max(b));
    matches!(
        (a, b),
        (Name::Flow, Name::Return)
            | (Name::OuterFlow, Name::OuterReturn)
            | (Name::Return, Name::Cold)
            | (Name::Hot, Name::Branch(_))
    )
}

/// The dead end that is reached straightest, and of those the farthest.
fn straightest(net: &Net, found: &super::trunk::Reach) -> Option<PortRef> {
    found
        .ends()
        .filter(|(p, _)| !net.is_joint(p.part))
        .max_by_key(|(p, c)| (std::cmp::Reverse(c / 100), c % 100, std::cmp::Reverse(*p)))
        .map(|(p, _)| p)
}
