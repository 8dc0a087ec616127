//! The terminal diagram: a strip of terminals across the sheet, devices above and below it, each
//! core on its own track. In: the netlist and the device whose terminals are the strip. Out: boxes,
//! pins, tracks, all as multiples of half a pin pitch; `draw` turns them into mm.
//!
//! Crossings depend only on the order of the boxes and, for a given order, on the order of the
//! tracks. Orders are searched by exchange and insertion within a budget of steps. Device pins
//! stand on even, strip pins on odd half pitches, so no two uprights share a column and the left
//! edge rule needs no more tracks than the densest column.

use super::members::group_of;
use super::tracks::{Track, crossings, density, left_edge, order_tracks};
use crate::wire::netlist::{DeviceKind, Role, Wiring, device_of, terminal_of};

/// Half pitches between neighbouring boxes at least, and at the ends of a box.
const GAP: i32 = 3;
/// Evaluations of an order at most.
const BUDGET: usize = 1500;

/// Where the far end of a pin's core goes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Far {
    /// To the strip or to another pin of this diagram, along a track.
    Routed,
    /// To this address, elsewhere.
    Stub(String),
}

#[derive(Clone, Debug)]
pub struct Pin {
    /// `Q1:BN`.
    pub address: String,
    pub conductor: usize,
    pub x: i32,
    pub far: Far,
}

/// A device, or several in one housing.
#[derive(Clone, Debug)]
pub struct DeviceBox {
    pub devices: Vec<String>,
    pub top: bool,
    pub x: i32,
    pub w: i32,
    /// On the side of the strip.
    pub pins: Vec<Pin>,
    /// Protective conductors, on the outer side, joined by a bus.
    pub earths: Vec<Pin>,
}

#[derive(Clone, Debug)]
pub struct StripCell {
    pub address: String,
    pub function: String,
    pub x: i32,
    pub w: i32,
    pub earth: bool,
    /// Cores that leave for somewhere else than this diagram.
    pub stubs: Vec<Pin>,
}

#[derive(Clone, Debug)]
pub struct StripPlan {
    pub hub: String,
    pub cells: Vec<StripCell>,
    pub boxes: Vec<DeviceBox>,
    pub tracks: Vec<Track>,
    /// Tracks above and below, and the densest column of each side.
    pub depth: [usize; 2],
    pub density: [usize; 2],
    pub crossings: usize,
    /// Half pitches from the leftmost to the rightmost box.
    pub width: i32,
}

/// The plan round one hub; `members` in the order of the netlist. One side only where asked;
/// boxes at least `least` half pitches wide, no side wider than `most` if that can be had.
pub fn strip(
    w: &Wiring,
    hub: &str,
    members: &[Vec<String>],
    one_side: bool,
    least: i32,
    most: i32,
) -> StripPlan {
    let s = Search::new(w, hub, members, least);
    let n = members.len();
    // Start: first half above, second half below, in the order given.
    let half = if one_side { n } else { n.div_ceil(2) };
    let mut order: Vec<(usize, bool)> = (0..n).map(|i| (i, i < half)).collect();
    let mut best = s.cost(&order, most);
    let mut spent = 0;
    let mut improved = true;
    while improved && spent < BUDGET {
        improved = false;
        for i in 0..n {
            for j in 0..n {
                for flip in [false, true] {
                    if (i == j && !flip) || (one_side && flip) {
                        continue;
                    }
                    let mut next = order.clone();
                    let mut moved = next.remove(i);
                    moved.1 ^= flip;
                    next.insert(j, moved);
                    let swapped = (i < j && !flip).then(|| {
                        let mut next = order.clone();
                        next.swap(i, j);
                        next
                    });
                    for next in [Some(next), swapped].into_iter().flatten() {
                        if spent == BUDGET {
                            break;
                        }
                        spent += 1;
                        let cost = s.cost(&next, most);
                        if cost < best {
                            (best, order) = (cost, next);
                            improved = true;
                        }
                    }
                }
            }
        }
    }
    s.plan(&order)
}

/// Where a core of a member goes.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum To {
    Cell(usize),
    Member(usize),
    Away,
}

struct Spec {
    conductor: usize,
    to: To,
    /// The conductor's `from` end is here.
    starts: bool,
}

struct Search<'a> {
    w: &'a Wiring,
    hub: &'a str,
    members: &'a [Vec<String>],
    cells: Vec<StripCell>,
    /// For each member: its cores in the order of the strip, and its protective conductors.
    pins: Vec<Vec<Spec>>,
    earths: Vec<Vec<Spec>>,
    least: i32,
}

/// An arrangement in numbers only.
struct Arranged {
    /// For each member: its left end, its width.
    boxes: Vec<(i32, i32)>,
    /// Left end and width of each cell.
    cells: Vec<(i32, i32)>,
    tracks: Vec<Track>,
    /// First column of each cell's stubs.
    stubs: Vec<i32>,
    width: i32,
}

impl<'a> Search<'a> {
    fn new(w: &'a Wiring, hub: &'a str, members: &'a [Vec<String>], least: i32) -> Search<'a> {
        let group = group_of(w, hub);
        let in_group = |a: &str| group.iter().any(|g| g == device_of(a));
        let earthy = |a: &str| {
            w.terminal(a)
                .is_some_and(|t| t.role == Role::Earth || (t.role == Role::Way && t.name == "3"))
        };
        let cells = cells_of(w, &group, members, &earthy);
        let hubs: Vec<&str> =
            w.of_kind(DeviceKind::FloorController).map(|d| d.id.as_str()).collect();
        let mut pins: Vec<Vec<Spec>> = Vec::new();
        let mut earths: Vec<Vec<Spec>> = Vec::new();
        for devices in members {
            let own = |a: &str| devices.iter().any(|d| d == device_of(a));
            let (mut p, mut e) = (Vec::new(), Vec::new());
            for (k, c) in w.conductors.iter().enumerate() {
                let starts = own(&c.from);
                if starts == own(&c.to) {
                    continue;
                }
                let (near, far) = if starts { (&c.from, &c.to) } else { (&c.to, &c.from) };
                let member = members.iter().position(|m| m.iter().any(|d| d == device_of(far)));
                let to = match (in_group(far), member) {
                    (true, _) => {
                        cells.iter().position(|c| c.address == *far).map_or(To::Away, To::Cell)
                    }
                    (false, Some(m)) => To::Member(m),
                    (false, None) => To::Away,
                };
                // Another hub's own devices have a diagram of their own.
                if to == To::Away && hubs.contains(&device_of(near)) {
                    continue;
                }
                let spec = Spec { conductor: k, to, starts };
                if in_group(far) && earthy(far) { e.push(spec) } else { p.push(spec) }
            }
            p.sort_by_key(|s| (s.to, s.conductor));
            pins.push(p);
            earths.push(e);
        }
        Search { w, hub, members, cells, pins, earths, least }
    }

    /// Crossings first, then length; a side wider than the sheet is worse than any crossing.
    fn cost(&self, order: &[(usize, bool)], most: i32) -> i64 {
        let a = self.arrange(order);
        let length: i64 = a.tracks.iter().map(|t| i64::from((t.from - t.to).abs())).sum();
        let over = i64::from((a.width - most).max(0));
        let routed = a.tracks.iter().filter(|t| t.cell.is_none()).count();
        let between =
            self.pins.iter().flatten().filter(|p| matches!(p.to, To::Member(_))).count() / 2;
        let mut n = 0;
        let mut depth = 0;
        for top in [true, false] {
            let mut mine: Vec<Track> = a.tracks.iter().filter(|t| t.top == top).copied().collect();
            depth += left_edge(&mut mine);
            n += crossings(&mine);
        }
        let split = between.saturating_sub(routed) as i64;
        over * 100_000 + n as i64 * 60 + length + split * 400 + depth as i64 * 20
    }

    fn width_of(&self, m: usize) -> i32 {
        let n = self.pins[m].len().max(self.earths[m].len()).max(1) as i32;
        (2 * n + 2).max(self.least)
    }

    /// First column of `n` pins in a box.
    fn first(x: i32, w: i32, n: usize) -> i32 {
        x + (w - 2 * (n as i32 - 1)) / 2 / 2 * 2
    }

    fn arrange(&self, order: &[(usize, bool)]) -> Arranged {
        let n = self.members.len();
        let mut top_of = vec![true; n];
        order.iter().for_each(|(m, top)| top_of[*m] = *top);
        let routed = |m: usize, s: &Spec| match s.to {
            To::Cell(_) => true,
            To::Member(o) => top_of[o] == top_of[m],
            To::Away => false,
        };
        // Cells by how many cores land on each.
        let mut counts = vec![[0i32; 2]; self.cells.len()];
        for (m, pins) in self.pins.iter().enumerate() {
            for p in pins {
                if let To::Cell(c) = p.to {
                    counts[c][usize::from(!top_of[m])] += 1;
                }
            }
        }
        let mut cells = Vec::new();
        let mut x = 0;
        for (c, count) in self.cells.iter().zip(&counts) {
            let most = (count[0] + c.stubs.len() as i32).max(count[1]).max(1);
            let w = (2 * most).max(4);
            cells.push((x, w));
            x += w;
        }
        let strip = x;
        let side = |top: bool| -> (i32, i32) {
            let mine = order.iter().filter(|o| o.1 == top);
            let n = mine.clone().count() as i32;
            (mine.map(|o| self.width_of(o.0)).sum::<i32>() + GAP * (n - 1).max(0), n)
        };
        let sides = [side(true), side(false)];
        let width = sides[0].0.max(sides[1].0).max(strip);
        let mut boxes = vec![(0, 0); n];
        for top in [true, false] {
            let (used, count) = sides[usize::from(!top)];
            if count == 0 {
                continue;
            }
            let gap = (GAP + (width - used) / (count + 1)) / 2 * 2;
            let used = used + (gap - GAP) * (count - 1);
            let mut x = ((width - used) / 2).max(0) / 2 * 2;
            for (m, _) in order.iter().filter(|o| o.1 == top) {
                let w = self.width_of(*m);
                boxes[*m] = (x, w);
                x += (w + gap + 1) / 2 * 2;
            }
        }
        let off = (width - strip).max(0) / 2 / 2 * 2;
        cells.iter_mut().for_each(|c| c.0 += off);
        let mut tracks: Vec<Track> = Vec::new();
        for (m, pins) in self.pins.iter().enumerate() {
            let first = Self::first(boxes[m].0, boxes[m].1, pins.len());
            for (k, p) in pins.iter().enumerate().filter(|(_, p)| routed(m, p)) {
                let x = first + 2 * k as i32;
                let cell = match p.to {
                    To::Cell(c) => Some(c),
                    _ => None,
                };
                match tracks.iter_mut().find(|t| cell.is_none() && t.conductor == p.conductor) {
                    Some(t) => t.to = x,
                    None => tracks.push(Track {
                        conductor: p.conductor,
                        top: top_of[m],
                        from: x,
                        to: x,
                        track: 0,
                        cell,
                    }),
                }
            }
        }
        // Strip pins of one terminal in the order of their devices.
        let mut stubs = vec![0; self.cells.len()];
        let mut by_cell: Vec<usize> =
            (0..tracks.len()).filter(|i| tracks[*i].cell.is_some()).collect();
        by_cell.sort_by_key(|i| {
            let t = &tracks[*i];
            (t.cell, !t.top, t.from, t.conductor)
        });
        let mut next: Vec<[i32; 2]> = Vec::new();
        for (i, c) in self.cells.iter().enumerate() {
            let (x, w) = cells[i];
            let above = counts[i][0] + c.stubs.len() as i32;
            let start = |n: i32| x + (w - 2 * n) / 2 / 2 * 2 + 1;
            stubs[i] = start(above);
            next.push([start(above) + 2 * c.stubs.len() as i32, start(counts[i][1])]);
        }
        for i in by_cell {
            let t = &mut tracks[i];
            let slot = &mut next[t.cell.unwrap_or(0)][usize::from(!t.top)];
            t.to = *slot;
            *slot += 2;
        }
        Arranged { boxes, cells, tracks, stubs, width }
    }

    fn plan(&self, order: &[(usize, bool)]) -> StripPlan {
        let a = self.arrange(order);
        let far_of = |s: &Spec| {
            let c = &self.w.conductors[s.conductor];
            if s.starts { (c.from.clone(), c.to.clone()) } else { (c.to.clone(), c.from.clone()) }
        };
        let boxes = order
            .iter()
            .map(|(m, top)| {
                let (x, w) = a.boxes[*m];
                let pins_of = |specs: &[Spec]| -> Vec<Pin> {
                    let first = Self::first(x, w, specs.len());
                    specs
                        .iter()
                        .enumerate()
                        .map(|(k, s)| {
                            let (address, far) = far_of(s);
                            let routed = match s.to {
                                To::Cell(_) => true,
                                To::Member(o) => order.iter().any(|(m, t)| *m == o && t == top),
                                To::Away => false,
                            };
                            Pin {
                                address,
                                conductor: s.conductor,
                                x: first + 2 * k as i32,
                                far: if routed { Far::Routed } else { Far::Stub(far) },
                            }
                        })
                        .collect()
                };
                DeviceBox {
                    devices: self.members[*m].clone(),
                    top: *top,
                    x,
                    w,
                    pins: pins_of(&self.pins[*m]),
                    earths: pins_of(&self.earths[*m]),
                }
            })
            .collect();
        let mut cells = self.cells.clone();
        for (i, c) in cells.iter_mut().enumerate() {
            (c.x, c.w) = a.cells[i];
            for (k, s) in c.stubs.iter_mut().enumerate() {
                s.x = a.stubs[i] + 2 * k as i32;
            }
        }
        let mut plan = StripPlan {
            hub: self.hub.to_owned(),
            cells,
            boxes,
            tracks: Vec::new(),
            depth: [0, 0],
            density: [0, 0],
            crossings: 0,
            width: a.width,
        };
        for top in [true, false] {
            let i = usize::from(!top);
            let mut mine: Vec<Track> = a.tracks.iter().filter(|t| t.top == top).copied().collect();
            plan.depth[i] = left_edge(&mut mine);
            plan.density[i] = density(&mine);
            order_tracks(&mut mine, plan.depth[i]);
            plan.crossings += crossings(&mine);
            plan.tracks.extend(mine);
        }
        plan
    }
}

/// The strip's cells in order, earth first: its bus comes in from the side. A core to a device
/// outside the diagram leaves as a stub.
fn cells_of(
    w: &Wiring,
    group: &[String],
    members: &[Vec<String>],
    earthy: &dyn Fn(&str) -> bool,
) -> Vec<StripCell> {
    let inside = |a: &str| group.iter().any(|g| g == device_of(a));
    let mut cells: Vec<StripCell> = Vec::new();
    for id in group {
        let Some(d) = w.device(id) else { continue };
        for t in &d.terminals {
            let address = format!("{id}:{}", t.name);
            let mut stubs = Vec::new();
            let mut used = false;
            for (k, c) in w.conductors.iter().enumerate() {
                let far = match (c.from == address, c.to == address) {
                    (true, false) => &c.to,
                    (false, true) => &c.from,
                    _ => continue,
                };
                if inside(far) {
                    continue;
                }
                let here = members.iter().any(|m| m.iter().any(|d| d == device_of(far)));
                // What the wiring centre feeds stands on this sheet or on its next part.
                if !here && id == "X1" {
                    continue;
                }
                used = true;
                if !here {
                    stubs.push(Pin {
                        address: address.clone(),
                        conductor: k,
                        x: 0,
                        far: Far::Stub(far.clone()),
                    });
                }
            }
            if used {
                let earth = earthy(&address);
                let function = t.function.clone();
                cells.push(StripCell { address, function, x: 0, w: 0, earth, stubs });
            }
        }
    }
    let number = |c: &StripCell| terminal_of(&c.address).parse::<u32>().unwrap_or(0);
    cells.sort_by_key(|c| (!c.earth, number(c)));
    cells
}
