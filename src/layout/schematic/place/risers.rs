//! Risers of a building: every flat a box at its height, the cold riser left of it, the common
//! discharge right of it, straight down to where it ends.

use super::*;

/// A flat's cold comes by `tee` (none at the top of a riser).
struct Floor {
    flat: PortRef,
    tee: Option<(PartIx, usize, usize)>,
}

/// Room for a match mark and its words on a flat's pipe, mm.
const MARKED: f64 = 30.0;

/// The far end of a pipe, past the match marks on it.
fn past(net: &Net, from: PortRef) -> Option<PortRef> {
    let (_, mut far) = net.join(from)?;
    while net.is_mark(far.part) && net.joined(far.part).len() == 2 {
        far = net.join(PortRef { part: far.part, port: 1 - far.port })?.1;
    }
    Some(far)
}

/// Pipe between a riser and a flat, or a flat and its discharge.
fn reach_of_flat(net: &Net, least: f64) -> f64 {
    if net.parts().any(|p| net.is_mark(p) && net.joined(p).len() == 2) {
        least.max(MARKED)
    } else {
        least
    }
}

/// `None` where the sheet shows no flats.
pub fn place(net: &Net, s: Spacing) -> Option<Canvas> {
    let is_flat = |p: PartIx| net.key(p) == "flat";
    if !net.parts().any(is_flat) {
        return None;
    }
    let main = net
        .parts()
        .find(|p| net.system.part(*p).kind.symbol.name == "main" && !net.joined(*p).is_empty())
        .or_else(|| net.parts().find(|p| net.comes_from(*p, &COLD).is_some()))?;
    let mut canvas = Canvas::default();
    // Along the bottom: main, valves, one joint for each further riser.
    let mut x = 0.0;
    let mut from = PortRef { part: main, port: net.joined(main)[0] };
    let spot = net.spot(main, Pose::UPRIGHT).with_port_at(from.port, P2::new(x, 0.0));
    canvas.put(main, spot);
    let mut guard = net.parts().count() * 2 + 4;
    loop {
        guard = guard.checked_sub(1)?;
        let Some(at) = past(net, from) else { break };
        if canvas.has(at.part) {
            break;
        }
        let leads_to_flat = |port: usize| {
            past(net, PortRef { part: at.part, port }).is_some_and(|f| is_flat(f.part))
        };
        let others: Vec<usize> =
            net.joined(at.part).into_iter().filter(|p| *p != at.port).collect();
        if is_flat(at.part) || (net.is_joint(at.part) && others.iter().any(|p| leads_to_flat(*p))) {
            // The rest is a riser of its own.
            x = riser(net, s, &mut canvas, from, at, snap(x + s.gap + 2.5));
            break;
        }
        if net.is_joint(at.part) && others.len() == 2 {
            // The branch goes up, the run goes on.
            let (run, up) =
                if others[0] < others[1] { (others[0], others[1]) } else { (others[1], others[0]) };
            x = snap(x + s.gap + 2.5);
            let mut joint = net.spot(at.part, Pose::UPRIGHT);
            joint.assign(at.port, Edge::W);
            joint.assign(run, Edge::E);
            joint.assign(up, Edge::N);
            let (w, h) = (joint.at.w, joint.at.h);
            canvas.put(at.part, joint.moved(x - w / 2.0, -h / 2.0));
            let start = PortRef { part: at.part, port: up };
            if let Some(first) = past(net, start) {
                x = riser(net, s, &mut canvas, start, first, x);
            }
            from = PortRef { part: at.part, port: run };
            continue;
        }
        let [leave] = others[..] else { break };
        let stop = Stop { part: at.part, enter: at.port, leave: Some(leave) };
        let item = Item::stop(net, stop, Edge::E, 0);
        let (left, right, placed) = (item.left, item.right, item.spot?);
        x = snap(x + s.gap + left);
        canvas.put(at.part, placed.moved(x, 0.0));
        x = snap(x + right);
        from = PortRef { part: at.part, port: leave };
    }
    let _ = x;
    discharges(net, s, &mut canvas);
    marks(net, &mut canvas);
    Some(canvas)
}

/// From the main to the ground floor, over its own storey: where the discharges end, mm.
const GROUND: f64 = 15.0;

/// Height of a floor on paper.
fn storey(s: Spacing) -> f64 {
    snap(12.5 + s.drop + s.band / 4.0)
}

/// One riser upwards at x. Returns how far right it reaches.
fn riser(net: &Net, s: Spacing, canvas: &mut Canvas, from: PortRef, first: PortRef, x: f64) -> f64 {
    let mut floors: Vec<Floor> = Vec::new();
    let mut at = first;
    let mut guard = net.parts().count() + 2;
    while guard > 0 {
        guard -= 1;
        if net.key(at.part) == "flat" {
            floors.push(Floor { flat: at, tee: None });
            break;
        }
        let others: Vec<usize> =
            net.joined(at.part).into_iter().filter(|p| *p != at.port).collect();
        // At the last joint both ways lead to a flat: the branch is the nearer.
        let flat = others.iter().rev().find_map(|p| {
            let far = past(net, PortRef { part: at.part, port: *p })?;
            (net.key(far.part) == "flat").then_some((*p, far))
        });
        let Some((to_flat, flat)) = flat else { break };
        floors.push(Floor { flat, tee: Some((at.part, at.port, to_flat)) });
        let Some(on) = others.iter().find(|p| **p != to_flat) else { break };
        let Some(next) = past(net, PortRef { part: at.part, port: *on }) else { break };
        at = next;
    }
    let _ = from;
    let mut right = x;
    for (i, floor) in floors.iter().enumerate() {
        let y = -snap(storey(s) * (i as f64 + 1.0) + GROUND);
        if let Some((tee, below, to_flat)) = floor.tee {
            let mut joint = net.spot(tee, Pose::UPRIGHT);
            joint.assign(below, Edge::S);
            joint.assign(to_flat, Edge::E);
            if let Some(on) = net.joined(tee).into_iter().find(|p| *p != below && *p != to_flat) {
                joint.assign(on, Edge::N);
            }
            let (w, h) = (joint.at.w, joint.at.h);
            canvas.put(tee, joint.moved(x - w / 2.0, y - h / 2.0));
        }
        let spot = net.spot(floor.flat.part, Pose::UPRIGHT);
        let to = P2::new(snap(x + reach_of_flat(net, s.gap.max(13.75))), y);
        let spot = spot.with_port_at(floor.flat.port, to);
        right = right.max(spot.at.right());
        canvas.put(floor.flat.part, spot);
    }
    // Room for the discharge of each group of flats.
    snap(right + reach_of_flat(net, 12.5) + 25.0 + s.gap)
}

/// Common discharge pipes: joints level with their flats, in one vertical for each pipe.
fn discharges(net: &Net, s: Spacing, canvas: &mut Canvas) {
    // Ends, each with the chain of joints above it from the lowest up.
    let ends: Vec<PartIx> = net
        .parts()
        .filter(|p| !canvas.has(*p) && !net.is_joint(*p) && net.joined(*p).len() == 1)
        .collect();
    let mut used: BTreeMap<i64, usize> = BTreeMap::new();
    for end in ends {
        let mut at = PortRef { part: end, port: net.joined(end)[0] };
        let mut chain: Vec<(PartIx, usize, usize, PartIx)> = Vec::new();
        let mut top: Option<PartIx> = None;
        while let Some(far) = past(net, at) {
            if net.key(far.part) == "flat" {
                top = Some(far.part);
                break;
            }
            let flat = net.joined(far.part).into_iter().find_map(|p| {
                let f = past(net, PortRef { part: far.part, port: p })?;
                (p != far.port && canvas.has(f.part) && p == 2).then_some((p, f.part))
            });
            let Some((branch, flat)) = flat else { break };
            if chain.iter().any(|c| c.0 == far.part) {
                break;
            }
            chain.push((far.part, far.port, branch, flat));
            let on = net.joined(far.part).into_iter().find(|p| *p != far.port && *p != branch);
            let Some(on) = on else { break };
            at = PortRef { part: far.part, port: on };
        }
        let flats: Vec<PartIx> = chain.iter().map(|c| c.3).chain(top).collect();
        let Some(right) = flats
            .iter()
            .filter_map(|f| canvas.spots.get(f))
            .map(|s| s.at.right())
            .fold(None, |a: Option<f64>, r| Some(a.map_or(r, |a| a.max(r))))
        else {
            continue;
        };
        // Each further pipe of a stack runs a step further right.
        let n = used.entry((right * 4.0) as i64).or_insert(0);
        let x = snap(right + reach_of_flat(net, s.gap.max(12.5)) + 13.75 * *n as f64);
        *n += 1;
        for (tee, down, branch, flat) in &chain {
            let level = canvas
                .spots
                .get(flat)
                .and_then(|f| {
                    let far = past(net, PortRef { part: *tee, port: *branch })?;
                    f.port(far.port)
                })
                .map_or(0.0, |(p, _)| p.y);
            let mut joint = net.spot(*tee, Pose::UPRIGHT);
            joint.assign(*down, Edge::S);
            joint.assign(*branch, Edge::W);
            let on = net.joined(*tee).into_iter().find(|p| p != down && p != branch);
            if let Some(on) = on {
                joint.assign(on, Edge::N);
            }
            let (w, h) = (joint.at.w, joint.at.h);
            canvas.put(*tee, joint.moved(x - w / 2.0, level - h / 2.0));
        }
        let spot = net.spot(end, Pose::UPRIGHT);
        let port = net.joined(end)[0];
        // Outside at ground level, clear of the main below.
        let y = -snap(storey(s) + GROUND) + 12.5;
        canvas.put(end, spot.with_port_at(port, P2::new(x, y)));
    }
}

/// Match marks on the pipes of a flat, beside its box.
fn marks(net: &Net, canvas: &mut Canvas) {
    const OFF: f64 = 5.0;
    for mark in net.parts().filter(|p| net.is_mark(*p)) {
        for port in net.joined(mark) {
            let far = net.join(PortRef { part: mark, port }).map(|(_, far)| far);
            let flat = far.and_then(|far| canvas.spots.get(&far.part)?.port(far.port));
            let Some((p, edge)) = flat.filter(|_| far.is_some_and(|f| net.key(f.part) == "flat"))
            else {
                continue;
            };
            let to = P2::new(p.x + edge.step().0 * OFF, p.y);
            // The water runs to the right on both sides.
            canvas.put(mark, net.spot(mark, Pose::UPRIGHT).with_port_at(port, to));
        }
    }
}
