//! What no line claims: the rest of every branch, systems that hang on nothing, what is fitted
//! into a cylinder, controls. In: a canvas with the lines on it. Out: the canvas with every part.

use super::*;

pub fn finish(net: &Net, s: Spacing, canvas: &mut Canvas, old: Option<&Before>) {
    fitted(net, canvas);
    canvas.grow(net, s, &|_| true);
    // Systems that hang on nothing that stands: where they stood, or below, each by itself.
    loop {
        let seed = net
            .parts()
            .filter(|p| !canvas.has(*p) && !net.joined(*p).is_empty())
            .max_by_key(|p| (net.joined(*p).len().min(3), std::cmp::Reverse(*p)));
        let Some(seed) = seed else { break };
        let mut own = Canvas::default();
        own.put(seed, net.spot(seed, Pose::UPRIGHT));
        own.grow(net, s, &|_| true);
        fitted(net, &mut own);
        let stood = old.and_then(|old| where_it_stood(canvas, &own, old));
        if let Some((dx, dy)) = stood {
            canvas.merge(&own, dx, dy);
            continue;
        }
        let (all, b) = (canvas.bounds().unwrap_or_default(), own.bounds().unwrap_or_default());
        let below = snap(all.bottom() + 3.0 * s.drop - b.y);
        canvas.merge(&own, snap(all.x - b.x), below);
    }
    fitted(net, canvas);
    sides(net, canvas);
}

/// How far a system by itself has to move to stand where one of its parts stood, if that is free.
fn where_it_stood(canvas: &Canvas, own: &Canvas, old: &Before) -> Option<(f64, f64)> {
    let free = |dx: f64, dy: f64| {
        own.spots.values().all(|s| canvas.free(s.clone().moved(dx, dy).at, GRID, None))
    };
    own.spots.iter().find_map(|(part, spot)| {
        let (was, is) = (old.centre(*part)?, spot.at.centre());
        let (dx, dy) = (snap(was.x - is.x), snap(was.y - is.y));
        free(dx, dy).then_some((dx, dy))
    })
}

/// Heaters and thermostats at the wall of what they are fitted into.
fn fitted(net: &Net, canvas: &mut Canvas) {
    // Heaters have their height; thermostats find theirs between them.
    let is_rod = |p: &PartIx| net.system.part(*p).kind.symbol.name == "immersion";
    let (rods, others): (Vec<PartIx>, Vec<PartIx>) = net.parts().partition(is_rod);
    for part in rods.into_iter().chain(others) {
        let Some(host) = net.system.part(part).on else { continue };
        if canvas.has(part) || !net.joined(part).is_empty() {
            continue;
        }
        let Some(at) = canvas.spots.get(&host).map(|s| s.at) else { continue };
        let rod = is_rod(&part);
        let spot = net.spot(part, Pose::UPRIGHT);
        let (w, h) = (spot.at.w, spot.at.h);
        let ports: Vec<P2> = canvas.spots[&host]
            .ports
            .iter()
            .flatten()
            .map(|(p, _)| P2::new(at.x + p.x, at.y + p.y))
            .collect();
        let mut best: Option<(f64, Rect)> = None;
        let stub = if rod { 0.0 } else { 2.5 };
        let steps = ((at.h - 10.0 - h) / 1.25).max(0.0) as usize;
        for (n, x) in [at.right() + stub, at.x - stub - w].into_iter().enumerate() {
            if rod && n == 1 {
                continue;
            }
            for step in 0..=steps {
                let y = at.y + 5.0 + 1.25 * step as f64;
                let spot = Rect::new(x, y, w, h);
                // A setting stands over or under its thermostat.
                let over = if rod { 2.0 } else { 4.5 };
                let wide = Rect::new(x - 2.0, y - over, w + 4.0, h + 2.0 * over);
                let clear = canvas.spots.iter().all(|(p, s)| *p == host || !s.at.overlaps(&wide))
                    && ports.iter().all(|p| {
                        p.y < y - 2.0
                            || p.y > y + h + 2.0
                            || (p.x < at.centre().x) != (x < at.centre().x)
                    });
                if !clear {
                    continue;
                }
                let share = (y + h / 2.0 - at.y) / at.h;
                let wish = if rod { rod_level(net, host, part) } else { 0.45 };
                let cost = (share - wish).abs() + n as f64 * 0.2;
                if best.is_none_or(|(c, _)| cost < c) {
                    best = Some((cost, spot));
                }
            }
        }
        if let Some((_, at)) = best {
            canvas.put(part, spot.moved(at.x, at.y));
        }
    }
}

/// How far down a cylinder a heater stands: as it says, else one low and the next in the middle.
fn rod_level(net: &Net, host: PartIx, part: PartIx) -> f64 {
    let word = net.system.part(part).text("position").unwrap_or("");
    if word.contains("top") || word.contains("upper") {
        return 0.36;
    }
    if word.contains("bottom") || word.contains("lower") {
        return 0.8;
    }
    let before = net
        .parts()
        .filter(|p| *p < part && net.system.part(*p).on == Some(host))
        .filter(|p| net.system.part(*p).kind == net.system.part(part).kind)
        .count();
    if before == 0 { 0.8 } else { 0.5 }
}

/// Gives every joint's remaining port the side that looks towards what it joins.
pub fn sides(net: &Net, canvas: &mut Canvas) {
    let centres: BTreeMap<PartIx, P2> =
        canvas.spots.iter().map(|(p, s)| (*p, s.at.centre())).collect();
    for part in net.parts() {
        for i in net.joined(part) {
            let Some((_, far)) = net.join(PortRef { part, port: i }) else { continue };
            let Some(spot) = canvas.spots.get_mut(&part) else { continue };
            if spot.port(i).is_some() {
                continue;
            }
            let (here, there) = (spot.at.centre(), centres[&far.part]);
            let towards = |e: &Edge| {
                let (dx, dy) = e.step();
                let (x, y) = (there.x - here.x, there.y - here.y);
                let n = (x * x + y * y).sqrt().max(1.0);
                ((dx * x + dy * y) / n * 1000.0) as i64
            };
            if let Some(edge) = spot.open_edges().into_iter().max_by_key(towards) {
                spot.assign(i, edge);
            }
        }
    }
}
