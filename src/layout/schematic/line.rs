//! One long line across the sheet, and what hangs on it. In: the stops of a line. Out: symbols
//! with their posture for a line that runs right or left, and columns of symbols hung from it.

use std::collections::BTreeSet;

use super::canvas::{Canvas, Spacing};
use super::net::{Net, Spot, snap};
use super::pose::Edge;
use super::trunk::Stop;
use super::words;
use crate::model::{P2, PartIx, PortRef};

/// A symbol on a line, or a corner where the line turns into a column.
#[derive(Clone, Debug)]
pub struct Item {
    pub part: Option<PartIx>,
    /// Relative to the item's place on the line.
    pub spot: Option<Spot>,
    pub left: f64,
    pub right: f64,
    /// Index among the columns.
    pub place: usize,
}

#[derive(Clone, Debug, Default)]
pub struct Line {
    pub y: f64,
    /// From left to right.
    pub items: Vec<Item>,
}

/// Where a column is held.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Held {
    /// Hangs from the line above.
    Above,
    /// Stands on the line below.
    Below,
    /// Between both.
    Both,
}

/// Symbols that hang from a line or stand on one: the line is y = 0, the axis x = 0.
#[derive(Clone, Debug)]
pub struct Column {
    pub place: usize,
    pub canvas: Canvas,
    pub held: Held,
    pub left: f64,
    pub right: f64,
    pub height: f64,
}

impl Item {
    pub fn corner(place: usize) -> Item {
        Item { part: None, spot: None, left: 0.0, right: 0.0, place }
    }

    /// A stop of a line whose water runs towards `run` (E or W).
    pub fn stop(net: &Net, stop: Stop, run: Edge, place: usize) -> Item {
        let spot = on_line(net, stop, run);
        let (left, right) = (-spot.at.x, spot.at.right());
        Item { part: Some(stop.part), spot: Some(spot), left, right, place }
    }
}

/// The symbol on the line y = 0, centred on x = 0.
fn on_line(net: &Net, stop: Stop, run: Edge) -> Spot {
    let back = run.opposite();
    let fits = |spot: &Spot, port: usize, edge: Edge| match spot.port(port) {
        Some((_, e)) => e == edge,
        None => spot.arm(edge).is_some(),
    };
    let poses = net.poses(stop.part);
    let score = |spot: &Spot| {
        let enters = fits(spot, stop.enter, back);
        let leaves = stop.leave.is_none_or(|l| fits(spot, l, run));
        u8::from(enters) + u8::from(leaves)
    };
    let mut best: Option<(u8, Spot)> = None;
    for pose in poses {
        let spot = net.spot(stop.part, pose);
        let s = score(&spot);
        if best.as_ref().is_none_or(|(b, _)| s > *b) {
            best = Some((s, spot));
        }
    }
    let mut spot = best.map_or_else(|| net.spot(stop.part, Default::default()), |(_, s)| s);
    if net.is_flexible(stop.part) {
        spot.assign(stop.enter, back);
        if let Some(leave) = stop.leave {
            spot.assign(leave, run);
        }
    }
    let level = spot.port(stop.enter).map_or(spot.at.h / 2.0, |(p, _)| p.y);
    let middle = snap(spot.at.w / 2.0);
    spot.moved(-middle, -level)
}

/// A column that starts with `first`, entered by its port; `exit` is the side of the line from
/// which it goes (S hangs, N stands).
pub fn column(
    net: &Net,
    s: Spacing,
    first: PortRef,
    exit: Edge,
    members: &BTreeSet<PartIx>,
) -> Canvas {
    let mut canvas = Canvas::default();
    let (_, down) = exit.step();
    let entry = exit.opposite();
    let mut best: Option<(u32, Spot)> = None;
    for (n, pose) in net.poses(first.part).into_iter().enumerate() {
        let mut spot = net.spot(first.part, pose);
        if net.is_flexible(first.part) {
            spot.assign(first.port, entry);
        }
        let faces = spot.port(first.port).is_some_and(|(_, e)| e == entry);
        let aside = spot.port(first.port).is_some_and(|(_, e)| e == Edge::W);
        let cost = n as u32 + if faces { 0 } else { 100 } + if faces || aside { 0 } else { 50 };
        if best.as_ref().is_none_or(|(c, _)| cost < *c) {
            let to = if faces {
                P2::new(0.0, down * (s.drop + 1.25))
            } else {
                P2::new(s.gap, down * (s.drop + 7.5))
            };
            best = Some((cost, spot.with_port_at(first.port, to)));
        }
    }
    if let Some((_, spot)) = best {
        canvas.put(first.part, spot);
    }
    canvas.grow(net, s, &|p| members.contains(&p));
    // What stands on a line keeps above it, discharges and all.
    if exit == Edge::N {
        let low = canvas.bounds().map_or(0.0, |b| b.bottom());
        let over = snap(low + 3.75 + s.drop.min(5.0) - 5.0);
        if over > 0.0 {
            canvas.shift(0.0, -over);
        }
    }
    // What hangs from a line keeps below it.
    if exit == Edge::S {
        // Beside the axis it also keeps below the symbols that sit in the line.
        let over = canvas
            .spots
            .values()
            .map(|s| if s.at.centre().x.abs() > 5.0 { 7.5 } else { 3.75 } - s.at.y)
            .fold(0.0, f64::max);
        let over = snap(over);
        if over > 0.0 {
            canvas.shift(0.0, over);
        }
    }
    canvas
}

impl Column {
    pub fn new(net: &Net, place: usize, canvas: Canvas, held: Held, s: Spacing) -> Column {
        let all = canvas.bounds().unwrap_or_default();
        // The widest words stand right of the axis, where the next column has but a pipe; with
        // room to spare, right of the symbol.
        let left = snap(-all.x).max(2.5);
        let mut right = snap(all.right()).max(2.5);
        for (part, spot) in &canvas.spots {
            let words = words::room(net.system, *part);
            right = right.max(snap(words - 5.0));
            let roomy = s.words >= 1.0 || (s.reserved && s.words > 0.0);
            if roomy && net.size(*part).0 >= 17.5 && spot.at.centre().x.abs() < 2.5 {
                right = right.max(snap(spot.at.right() + words));
            }
        }
        let height = match held {
            Held::Below => -all.y,
            _ => all.bottom(),
        } + s.clear;
        Column { place, canvas, held, left, right, height }
    }

    /// The bigger things of a column between two lines sink towards the lower one.
    pub fn stretch(&mut self, net: &Net, by: f64) {
        let user = self
            .canvas
            .spots
            .iter()
            .max_by(|a, b| {
                let area = |s: &Spot| s.at.w * s.at.h;
                let tall = |p: &PartIx| !net.in_line(*p);
                (tall(a.0), area(a.1)).partial_cmp(&(tall(b.0), area(b.1))).unwrap()
            })
            .map(|(_, s)| s.at.y);
        let Some(from) = user else { return };
        for spot in self.canvas.spots.values_mut() {
            if spot.at.y >= from - 5.0 {
                spot.at.y += by;
            }
        }
        self.height += by;
    }
}
