//! Where beads may sit on a line. In: its corners and the bodies in the room. Out: the stretches
//! that hold a bead clear of every body, and the order and room of several on one line.

use super::shape::{Block, Dir, V, length};
use super::{Bead, Chain, End, Laid, Problem, Sitting};

/// Between two beads, mm.
pub const BETWEEN: f64 = 6.0;

/// The way a body in a line stands out: from the nearest of the back and side walls.
pub fn outward(room: &Block, at: V, along: Dir) -> Dir {
    let mut ways = [
        (at[1] - room.lo[1], Dir::FRONT),
        (at[0] - room.lo[0], Dir::RIGHT),
        (room.hi[0] - at[0], Dir::LEFT),
    ];
    ways.sort_by(|a, b| a.0.total_cmp(&b.0));
    ways.iter().map(|w| w.1).find(|w| w.axis() != along.axis()).unwrap_or(Dir::FRONT)
}

/// Room a bead takes.
pub fn bead_block(room: &Block, seat: &Sitting, length: f64, half: f64, reach: f64) -> Block {
    let out = outward(room, seat.at, seat.along);
    let mut by = [half; 3];
    by[seat.along.axis()] = length / 2.0;
    let mut block = Block::new(seat.at, seat.at).grown_each(by);
    let far = out.step(seat.at, reach);
    let axis = out.axis();
    block.lo[axis] = block.lo[axis].min(far[axis]);
    block.hi[axis] = block.hi[axis].max(far[axis]);
    block
}

/// The point a way along a polyline, and the direction there.
pub fn along(points: &[V], mut s: f64) -> Option<(V, Dir)> {
    for w in points.windows(2) {
        let l = length(w);
        if s <= l + 1e-9
            && let Some(dir) = Dir::between(w[0], w[1])
        {
            return Some((dir.step(w[0], s.min(l)), dir));
        }
        s -= l;
    }
    None
}

/// How far along a polyline a point of it lies.
pub fn position(points: &[V], at: V) -> Option<f64> {
    let mut s = 0.0;
    for w in points.windows(2) {
        if Block::around(w[0], w[1]).grown(0.01).distance(at) < 1e-9 {
            return Some(s + length(&[w[0], at]));
        }
        s += length(w);
    }
    None
}

/// Stretches along a polyline where a bead may have its centre: straight enough, inside the room
/// and clear of every body.
pub fn seats(p: &Problem, chain: &Chain, points: &[V], bead: &Bead) -> Vec<(f64, f64)> {
    let mut out = Vec::new();
    let n = points.len().saturating_sub(1);
    let mut s = 0.0;
    for (i, w) in points.windows(2).enumerate() {
        let l = length(w);
        let margin = |outer: bool, end: &End| match (outer, end) {
            (true, End::Port { .. }) => 8.0,
            (true, _) => 35.0 + chain.radius,
            _ => chain.run / 2.0,
        };
        let lo = margin(i == 0, &chain.ends[0]) + bead.length / 2.0;
        let hi = l - margin(i + 1 == n, &chain.ends[1]) - bead.length / 2.0;
        if lo <= hi + 1e-9
            && let Some(dir) = Dir::between(w[0], w[1])
        {
            free_of_bodies(p, w[0], dir, bead, (lo, hi.max(lo)), |a, b| out.push((s + a, s + b)));
        }
        s += l;
    }
    out
}

/// What is left of a stretch from a point in a direction once the bodies are taken out of it.
fn free_of_bodies(
    p: &Problem,
    from: V,
    dir: Dir,
    bead: &Bead,
    (lo, hi): (f64, f64),
    mut each: impl FnMut(f64, f64),
) {
    let axis = dir.axis();
    let at = |s: f64| Sitting { at: dir.step(from, s), along: dir, branch: None };
    let block = |s: f64| bead_block(&p.room, &at(s), bead.length, bead.half, bead.reach);
    // How it stands out does not change along a straight.
    let swept = block(lo).with(&block(hi));
    if !p.room.contains(&swept) {
        return;
    }
    let mut taken: Vec<(f64, f64)> = p
        .boxes
        .iter()
        .filter(|b| b.overlaps(&swept))
        .map(|b| {
            let (a, z) = (b.lo[axis] - from[axis], b.hi[axis] - from[axis]);
            let (a, z) = if dir.sign() > 0.0 { (a, z) } else { (-z, -a) };
            (a - bead.length / 2.0, z + bead.length / 2.0)
        })
        .collect();
    taken.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut from = lo;
    for (a, z) in taken {
        if a >= from - 1e-9 {
            each(from, a.min(hi));
        }
        from = from.max(z);
    }
    if from <= hi + 1e-9 {
        each(from, hi.max(from));
    }
}

/// Earliest and latest place of each bead, given those that sit already; `None` where there is
/// not enough straight length for all.
pub fn windows(p: &Problem, chain: &Chain, laid: &Laid) -> Option<Vec<(f64, f64)>> {
    let fixed: Vec<Option<f64>> = (0..chain.beads.len())
        .map(|b| laid.beads.get(b).copied().flatten().and_then(|s| position(&laid.points, s.at)))
        .collect();
    let mut out = Vec::new();
    let mut at = f64::NEG_INFINITY;
    for (b, bead) in chain.beads.iter().enumerate() {
        let from = at + bead.length / 2.0;
        let s = match fixed[b] {
            Some(s) => (s >= from - 1e-6).then_some(s)?,
            None => seats(p, chain, &laid.points, bead)
                .into_iter()
                .find(|(_, hi)| *hi >= from - 1e-9)
                .map(|(lo, _)| lo.max(from))?,
        };
        out.push((s, s));
        at = s + bead.length / 2.0 + BETWEEN;
    }
    let mut at = f64::INFINITY;
    for (b, bead) in chain.beads.iter().enumerate().rev() {
        let to = at - bead.length / 2.0;
        let s = match fixed[b] {
            Some(s) => (s <= to + 1e-6).then_some(s)?,
            None => seats(p, chain, &laid.points, bead)
                .into_iter()
                .rev()
                .find(|(lo, _)| *lo <= to + 1e-9)
                .map(|(_, hi)| hi.min(to))?,
        };
        out[b].1 = s;
        at = s - bead.length / 2.0 - BETWEEN;
    }
    Some(out)
}

/// What it costs a bead to sit in a space to be kept free, or where no hand comes to it, mm.
pub fn in_space(p: &Problem, bead: &Bead, seat: &Sitting) -> f64 {
    let whole = bead_whole(p, bead, seat);
    // A plain fitting needs no hand.
    let hidden = if bead.reach > 0.0 { hidden(p, &whole) } else { 0.0 };
    kept_free(p, &whole) + hidden
}

/// What it costs a body to be behind what pipes go round at the back, mm.
pub fn hidden(p: &Problem, body: &Block) -> f64 {
    const BEHIND: f64 = 4000.0;
    let behind = p.front_of.as_ref().is_some_and(|front| {
        let shared = |a: usize| body.hi[a].min(front.hi[a]) - body.lo[a].max(front.lo[a]);
        shared(0) > 0.0 && shared(2) > 0.0 && body.centre()[1] < front.centre()[1]
    });
    if behind { BEHIND } else { 0.0 }
}

/// A bead as it sits, with its branch where that is known.
pub fn bead_whole(p: &Problem, bead: &Bead, seat: &Sitting) -> Block {
    let own = bead_block(&p.room, seat, bead.length, bead.half, bead.reach);
    seat.branch.map_or(own, |way| own.with(&branch_block(bead, seat.at, seat.along, way)))
}

/// What it costs a body to stand in spaces to be kept free, mm: the more the deeper.
pub fn kept_free(p: &Problem, body: &Block) -> f64 {
    const EDGE: f64 = 500.0;
    const WHOLE: f64 = 2000.0;
    let spaces = p.spaces.iter().map(|(s, _)| s).filter(|s| s.overlaps(body));
    spaces.map(|s| EDGE + (WHOLE - EDGE) * (s.shared(body) / s.least()).min(1.0)).sum()
}

/// Room that a bead's branch takes beside its line.
pub fn branch_block(bead: &Bead, at: V, along: Dir, way: Dir) -> Block {
    let mut by = [bead.half; 3];
    by[along.axis()] = bead.length / 2.0;
    by[way.axis()] = 0.0;
    Block::around(at, way.step(at, bead.stub)).grown_each(by)
}

/// True where a branch bead with its branch on that side is clear of every body.
pub fn branch_fits(p: &Problem, bead: &Bead, at: V, along: Dir, way: Dir) -> bool {
    let block = branch_block(bead, at, along, way);
    p.room.contains(&block) && !p.boxes.iter().any(|b| b.overlaps(&block))
}

/// Seats the beads that no branch has seated, each in the middle of what is free for it.
pub fn seat_rest(p: &Problem, chain: &Chain, laid: &mut Laid, taken: &[Block]) {
    if !laid.found {
        return;
    }
    for b in 0..chain.beads.len() {
        if laid.beads[b].is_some() {
            continue;
        }
        let Some(windows) = windows(p, chain, laid) else { return };
        let (lo, hi) = windows[b];
        let bead = &chain.beads[b];
        let mut best: Option<(f64, Sitting)> = None;
        for (a, z) in seats(p, chain, &laid.points, bead) {
            let (a, z) = (a.max(lo), z.min(hi));
            if a > z + 1e-6 {
                continue;
            }
            let steps = ((z - a) / 10.0).ceil().max(1.0) as usize;
            for i in 0..=steps {
                let s = a + (z - a) * i as f64 / steps as f64;
                let Some((at, dir)) = along(&laid.points, s) else { continue };
                // To a whole mm, along the line only.
                let axis = dir.axis();
                let at = [0, 1, 2].map(|i| if i == axis { at[i].round() } else { at[i] });
                // A branch that nothing was found for still points somewhere.
                let branch = if bead.branch {
                    let fits =
                        |w: &Dir| w.axis() != dir.axis() && branch_fits(p, bead, at, dir, *w);
                    let Some(way) = Dir::ALL.into_iter().rev().find(fits) else { continue };
                    Some(way)
                } else {
                    None
                };
                let sitting = Sitting { at, along: dir, branch };
                let block = bead_block(&p.room, &sitting, bead.length, bead.half, bead.reach);
                let hits = taken.iter().filter(|t| t.overlaps(&block)).count();
                let cost =
                    1000.0 * hits as f64 + in_space(p, bead, &sitting) + (s - (a + z) / 2.0).abs();
                if best.as_ref().is_none_or(|(c, _)| cost < c - 1e-9) {
                    best = Some((cost, sitting));
                }
            }
        }
        laid.beads[b] = best.map(|b| b.1);
    }
}
