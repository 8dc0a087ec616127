//! Very many parts on one sheet: row by row in the order in which they are joined.

use std::collections::{BTreeSet, VecDeque};

use super::finish::sides;
use super::*;

pub fn rows(net: &Net, s: Spacing) -> Canvas {
    let mut order: Vec<PartIx> = Vec::new();
    let mut seen: BTreeSet<PartIx> = BTreeSet::new();
    for start in net.parts() {
        let mut open = VecDeque::from([start]);
        while let Some(part) = open.pop_front() {
            if !seen.insert(part) {
                continue;
            }
            order.push(part);
            for i in net.joined(part) {
                if let Some((_, far)) = net.join(PortRef { part, port: i }) {
                    open.push_back(far.part);
                }
            }
        }
    }
    let across = ((order.len() as f64 * 1.6).sqrt().ceil() as usize).max(1);
    let mut canvas = Canvas::default();
    let (mut y, mut i) = (0.0, 0);
    while i < order.len() {
        let row = &order[i..(i + across).min(order.len())];
        let (mut x, mut tall) = (0.0, 0.0_f64);
        for part in row {
            let spot = net.spot(*part, Pose::UPRIGHT);
            tall = tall.max(spot.at.h);
            let w = spot.at.w;
            canvas.put(*part, spot.moved(snap(x), snap(y)));
            x = snap(x + w + s.gap + 10.0);
        }
        y = snap(y + tall + s.drop + 12.5);
        i += across;
    }
    sides(net, &mut canvas);
    canvas
}
