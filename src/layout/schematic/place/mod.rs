//! The habits of the trade, as places: heat source left, flow above return, users between them
//! like rungs, the cylinder at their end; cold in from the lower left, hot away to the right,
//! discharge straight down beside the cylinder. In: the net. Out: a place for every symbol.
//!
//! The cylinder stands at the right end of the heating lines even where it is the first user: only
//! there can cold, hot and discharge reach it without crossing the heating.

mod falls;
mod finish;
mod hang;
mod heating;
mod risers;
mod rows;
mod settle;
mod water;

use std::collections::{BTreeMap, BTreeSet};

use super::before::{Before, Beside, middle};
use super::canvas::{Canvas, Spacing};
use super::columns::Columns;
use super::label::{block_width, chains, goes_on, room_of};
use super::line::{Column, Held, Item, Line, column};
use super::net::{GRID, Net, Spot, snap};
use super::pose::{Edge, Pose};
use super::trunk::{COLD, FLOW, HOT, RETURN, Reach, Stop, component, last_user, reach, way_back};
use super::words;
use crate::catalogue::Closes;
use crate::model::{P2, PartIx, PipeIx, PortRef, Rect, Service};
use finish::finish;
use rows::rows;

/// Names of the long lines.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Name {
    /// Hot water coming back: above the hot line.
    HotReturn,
    Hot,
    /// A leg of the circulation: below the hot line, its outlets before those of the line.
    HotLeg(usize),
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
    old: Option<Beside<'a>>,
    /// Pipes that carry one label.
    runs: Vec<Vec<PipeIx>>,
    taken: BTreeSet<PartIx>,
    lines: BTreeMap<Name, Line>,
    cols: Columns,
    /// Columns by the line above (or below) them.
    hung: Vec<(Name, Column)>,
    /// Columns between two lines.
    rungs: Vec<(Name, Name, Column)>,
    store: Option<(PartIx, usize)>,
    /// Straight down beside each cylinder, the one at the end of the lines first.
    discharges: Vec<Fall>,
    source: Option<PartIx>,
    /// The cylinder is the last user on the flow line.
    ends_at_store: bool,
    /// The circulation comes down beside the cylinder.
    comes_back: bool,
}

/// What leaves a cylinder's relief valve, in a column of its own.
struct Fall {
    store: PartIx,
    place: usize,
    canvas: Canvas,
}

/// Shortest pipe between two symbols in a line, mm.
const LEAST: f64 = 5.0;

/// The circulation comes down so far left of the cylinder, mm.
const BESIDE_STORE: f64 = 5.0;

/// Beyond this many parts on one sheet, habits are of no use.
const MOST: usize = 1200;

/// A place for every part.
pub fn place(net: &Net, s: Spacing) -> Canvas {
    if net.parts().count() > MOST {
        return rows(net, s);
    }
    if let Some(mut canvas) = risers::place(net, s) {
        finish(net, s, &mut canvas, None);
        return canvas;
    }
    let mut canvas = Placer::new(net, s, None).placed().unwrap_or_default();
    finish(net, s, &mut canvas, None);
    canvas
}

/// A place for every part, on the sheet itself, for those of an earlier issue where they stood.
/// `None` where there is no room for it.
pub fn place_after(net: &Net, s: Spacing, old: Beside) -> Option<Canvas> {
    if net.parts().count() > MOST || net.parts().any(|p| net.key(p) == "flat") {
        return None;
    }
    let mut canvas = Placer::new(net, s, Some(old)).placed()?;
    finish(net, s, &mut canvas, Some(old.before));
    Some(canvas)
}

impl<'a> Placer<'a> {
    fn new(net: &'a Net<'a>, s: Spacing, old: Option<Beside<'a>>) -> Placer<'a> {
        Placer {
            net,
            s,
            old,
            runs: if s.reserved { chains(net) } else { Vec::new() },
            taken: BTreeSet::new(),
            lines: BTreeMap::new(),
            cols: Columns::default(),
            hung: Vec::new(),
            rungs: Vec::new(),
            store: None,
            discharges: Vec::new(),
            source: None,
            ends_at_store: false,
            comes_back: false,
        }
    }

    fn placed(mut self) -> Option<Canvas> {
        self.heating();
        self.solar();
        self.cold();
        self.hot();
        self.discharges();
        self.branches();
        self.hang_all();
        self.settle()
    }
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

    /// The part in which a line starts, its port towards the line, which runs to `run`.
    fn starts(&mut self, name: Name, from: PortRef, run: Edge) {
        let net = self.net;
        let items = self.lines.get_mut(&name).map(|l| &mut l.items);
        let Some(item) = items.and_then(|all| all.iter_mut().find(|i| i.part == Some(from.part)))
        else {
            return;
        };
        let faces =
            |pose: &Pose| net.spot(from.part, *pose).port(from.port).is_some_and(|(_, e)| e == run);
        let pose = net.poses(from.part).into_iter().find(faces).unwrap_or(Pose::UPRIGHT);
        let spot = net.spot(from.part, pose).with_port_at(from.port, P2::new(0.0, 0.0));
        let dx = snap(spot.at.w / 2.0) * run.step().0;
        let spot = spot.moved(dx, 0.0);
        (item.left, item.right) = (-spot.at.x, spot.at.right());
        item.spot = Some(spot);
    }

    fn place_of(&self, name: Name, part: PartIx) -> Option<usize> {
        self.lines.get(&name)?.items.iter().find(|i| i.part == Some(part)).map(|i| i.place)
    }

    /// Where a pipe from this port of a line leaves it: at the corner, where the line ends there.
    fn place_at(&self, name: Name, port: PortRef) -> Option<usize> {
        let items = &self.lines.get(&name)?.items;
        let i = items.iter().position(|i| i.part == Some(port.part))?;
        let edge = items[i].spot.as_ref().and_then(|s| s.port(port.port)).map(|(_, e)| e);
        let corner = match edge {
            Some(Edge::E) => items.get(i + 1),
            Some(Edge::W) => i.checked_sub(1).and_then(|i| items.get(i)),
            _ => None,
        };
        Some(corner.filter(|c| c.part.is_none()).unwrap_or(&items[i]).place)
    }

    /// The order on a line as demands.
    fn sequence(&mut self, name: Name) {
        let Some(line) = self.lines.get(&name) else { return };
        let mut demands = Vec::new();
        for pair in line.items.windows(2) {
            // Beside what stood, what is new makes do with the least.
            let gap = match self.old {
                Some(_) => LEAST,
                None => self.s.gap.max(self.words_between(name, &pair[0], &pair[1])),
            };
            demands.push((pair[0].place, pair[1].place, pair[0].right + gap + pair[1].left));
        }
        for (l, r, by) in demands {
            self.cols.demand(l, r, by);
        }
    }

    /// Room for the words of a pipe that stands alone between two joints or changes.
    fn words_between(&self, name: Name, a: &Item, b: &Item) -> f64 {
        let (Some(a), Some(b)) = (a.part, b.part) else { return 0.0 };
        let between = self.net.joined(a).into_iter().find_map(|i| {
            let (pipe, far) = self.net.join(PortRef { part: a, port: i })?;
            (far.part == b).then_some(pipe)
        });
        let Some(pipe) = between else { return 0.0 };
        if self.s.reserved && self.bears(name, pipe) {
            return room_of(self.net, pipe);
        }
        let text = words::of_pipe(self.net.system.pipe(pipe));
        // Where the run goes on with the same words, it has room elsewhere.
        let elsewhere = goes_on(self.net, pipe, a) || goes_on(self.net, pipe, b);
        let share = if elsewhere { 0.5 } else { 1.0 };
        let share = if self.s.reserved { share * 0.5 } else { share };
        block_width(&[text], false) * self.s.words * share
    }

    /// Of the pipes of its run on this line, the one that is given the room for the words: rather
    /// one that crosses no outline of a unit.
    fn bears(&self, name: Name, pipe: PipeIx) -> bool {
        let Some(line) = self.lines.get(&name) else { return false };
        let on_line = |p: PartIx| line.items.iter().any(|i| i.part == Some(p));
        let run = self.runs.iter().find(|run| run.contains(&pipe));
        let ends = |p: &PipeIx| {
            let row = self.net.system.pipe(*p);
            [row.from.part, row.to.part]
        };
        let crosses = |p: &PipeIx| {
            let [a, b] = ends(p).map(|p| self.net.system.part(p).unit);
            a != b
        };
        let all = run.into_iter().flatten().copied().filter(|p| ends(p).into_iter().all(on_line));
        all.min_by_key(|p| (crosses(p), *p)) == Some(pipe)
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
}

/// Lines between which a column may run.
fn next_to(a: Name, b: Name) -> bool {
    let (a, b) = (a.min(b), a.max(b));
    matches!(
        (a, b),
        (Name::Flow, Name::Return)
            | (Name::OuterFlow, Name::OuterReturn)
            | (Name::Return, Name::Cold)
            | (Name::Hot | Name::HotLeg(_), Name::Branch(_))
            | (Name::HotReturn, Name::HotLeg(_))
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
