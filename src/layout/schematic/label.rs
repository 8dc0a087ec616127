//! Where the words go. In: symbols, pipes, arrows, frames and what is to be written. Out: a box
//! for every label that touches nothing; a leader where there was no room beside; none dropped.

use super::assign::choose;
use super::canvas::Canvas;
use super::leader::led;
use super::net::{GRID, Net};
use super::outline::ROUND;
use super::plan::{About, Arrow, Jump, Label, UnitFrame};
use super::pose::Edge;
use super::words;
use crate::lettering::{DESCENT, Weight, font_size, width};
use crate::model::{P2, PartIx, PipeIx, PortRef, Rect};

pub const HEIGHT: f64 = 2.5;
/// From baseline to baseline.
pub const PITCH: f64 = 3.6;

/// Height of a block of lines, from cap line to descender.
pub fn block_height(lines: usize) -> f64 {
    HEIGHT + font_size(HEIGHT) * DESCENT + PITCH * (lines.max(1) - 1) as f64
}

pub fn block_width(lines: &[String], bold_first: bool) -> f64 {
    let weight = |i: usize| if i == 0 && bold_first { Weight::Bold } else { Weight::Regular };
    lines.iter().enumerate().map(|(i, l)| width(l, HEIGHT, weight(i))).fold(0.0, f64::max)
}

pub struct Field<'a> {
    pub net: &'a Net<'a>,
    pub canvas: &'a Canvas,
    pub pipes: &'a [Vec<P2>],
    pub arrows: &'a [Arrow],
    pub jumps: &'a [Jump],
    pub frames: &'a [UnitFrame],
    /// Where words may stand.
    pub room: Rect,
}

#[derive(Clone)]
pub struct Candidate {
    pub at: Rect,
    pub cost: f64,
    upwards: bool,
    lean: i8,
    /// The words in the narrower of their two shapes.
    folded: bool,
}

pub struct Wanted {
    pub about: About,
    lines: Vec<String>,
    /// The same in shorter lines.
    folded: Option<Vec<String>>,
    plain: bool,
    pub candidates: Vec<Candidate>,
    /// Places inside the symbol itself.
    within: Vec<Candidate>,
    /// Where a leader would end.
    anchors: Vec<P2>,
}

pub fn strip(a: P2, b: P2, half: f64) -> Rect {
    let (x, y) = (a.x.min(b.x), a.y.min(b.y));
    Rect::new(x, y, (a.x - b.x).abs(), (a.y - b.y).abs()).grown(half)
}

/// Puts every label somewhere.
pub fn place_labels(f: &Field) -> Vec<Label> {
    let fixed = obstacles(f);
    let mut wanted: Vec<Wanted> = Vec::new();
    for part in f.net.parts() {
        let lines = words::of_part(f.net.system, part);
        let bubble = f.net.system.part(part).kind.symbol.name == "control";
        if bubble && lines.len() > 1 {
            // The tag in the bubble, the setting beside it.
            wanted.extend(beside_part(f, part, lines[..1].to_vec(), false));
            wanted.extend(beside_part(f, part, lines[1..].to_vec(), true));
        } else {
            wanted.extend(beside_part(f, part, lines, false));
        }
    }
    wanted.extend(f.frames.iter().map(|frame| beside_frame(f, frame)));
    let chains = chains(f.net);
    wanted.extend(chains.iter().map(|chain| along_chain(f, chain)));
    let legs = legs(f);
    for w in &mut wanted {
        if let About::Part(part) = w.about {
            w.candidates.retain(|c| !cut_off(f, &legs, part, c.at));
        }
        w.candidates.retain(|c| inside(f.room, c.at) && !fixed.iter().any(|o| o.overlaps(&c.at)));
        w.candidates.append(&mut w.within);
        w.candidates.sort_by(|a, b| a.cost.total_cmp(&b.cost));
    }
    let chosen = choose(&wanted);
    let mut placed: Vec<Rect> =
        wanted.iter().zip(&chosen).filter_map(|(w, c)| c.map(|c| w.candidates[c].at)).collect();
    let mut out = Vec::new();
    for (w, c) in wanted.into_iter().zip(chosen) {
        let Wanted { about, lines, folded, plain, candidates, anchors, .. } = w;
        let narrow = folded.unwrap_or_else(|| lines.clone());
        let label = match c.map(|c| candidates[c].clone()) {
            Some(c) => {
                let Candidate { at, upwards, lean, folded, .. } = c;
                let lines = if folded { narrow } else { lines };
                Label { about, lines, at, upwards, lean, plain, leader: None }
            }
            None => {
                let bold = !matches!(about, About::Pipe(_));
                let (w, h) = (block_width(&narrow, bold), block_height(narrow.len()));
                let (at, leader) = led(f, &fixed, &placed, &anchors, w, h);
                placed.push(at);
                let leader = Some(leader);
                Label { about, lines: narrow, at, upwards: false, lean: 0, plain, leader }
            }
        };
        out.push(label);
    }
    again(f, &fixed, &chains, &mut out);
    out
}

/// A long run says its size again where the reader would have to look for it, if there is room.
fn again(f: &Field, fixed: &[Rect], chains: &[Vec<PipeIx>], labels: &mut Vec<Label>) {
    const FAR: f64 = 50.0;
    for chain in chains {
        for ix in chain {
            let here = &f.pipes[ix.0];
            let own = |l: &&Label| matches!(l.about, About::Pipe(p) if chain.contains(&p));
            let told = labels.iter().filter(own).any(|l| {
                here.windows(2).any(|w| l.at.grown(FAR).overlaps(&strip(w[0], w[1], 0.1)))
            });
            if told {
                continue;
            }
            let mut one = along_chain(f, &[*ix]);
            one.candidates.sort_by(|a, b| a.cost.total_cmp(&b.cost));
            let free = |c: &&Candidate| {
                inside(f.room, c.at)
                    && !fixed.iter().any(|o| o.overlaps(&c.at))
                    && !labels.iter().any(|l| l.at.grown(1.0).overlaps(&c.at) || struck(l, c.at))
            };
            if let Some(c) = one.candidates.iter().find(free) {
                let (about, lines) = (one.about, one.lines.clone());
                let Candidate { at, upwards, lean, .. } = *c;
                labels.push(Label { about, lines, at, upwards, lean, plain: true, leader: None });
            }
        }
    }
}

/// The leader of a label runs through these words.
fn struck(label: &Label, at: Rect) -> bool {
    label.leader.is_some_and(|[a, b]| strip(a, b, 0.5).overlaps(&at))
}

/// Every straight piece of pipe with the parts that its pipe joins.
fn legs(f: &Field) -> Vec<([PartIx; 2], Rect)> {
    let mut all = Vec::new();
    for (pipe, points) in f.net.system.pipes.iter().zip(f.pipes) {
        let ends = [pipe.from.part, pipe.to.part];
        all.extend(points.windows(2).map(|w| (ends, strip(w[0], w[1], 0.0))));
    }
    all
}

/// A foreign pipe or symbol lies between the words and the symbol they speak of.
fn cut_off(f: &Field, legs: &[([PartIx; 2], Rect)], part: PartIx, words: Rect) -> bool {
    let Some(own) = f.canvas.spots.get(&part).map(|s| s.at) else { return false };
    // Only where both face each other; words at a corner touch nothing between.
    let (l, r) = (own.x.max(words.x), own.right().min(words.right()));
    let (t, b) = (own.y.max(words.y), own.bottom().min(words.bottom()));
    let between = if l < r {
        let top = own.bottom().min(words.bottom());
        Rect::new(l, top, r - l, own.y.max(words.y) - top)
    } else if t < b {
        let left = own.right().min(words.right());
        Rect::new(left, t, own.x.max(words.x) - left, b - t)
    } else {
        return false;
    };
    if between.w <= 0.0 || between.h <= 0.0 {
        return false;
    }
    legs.iter().any(|(ends, leg)| !ends.contains(&part) && leg.grown(0.1).overlaps(&between))
        || f.canvas.spots.iter().any(|(p, s)| *p != part && s.at.overlaps(&between))
}

pub fn inside(room: Rect, at: Rect) -> bool {
    at.x >= room.x && at.y >= room.y && at.right() <= room.right() && at.bottom() <= room.bottom()
}

fn obstacles(f: &Field) -> Vec<Rect> {
    let mut all: Vec<Rect> = f.canvas.spots.values().map(|s| s.at.grown(0.25)).collect();
    for points in f.pipes {
        all.extend(points.windows(2).map(|w| strip(w[0], w[1], 0.6)));
    }
    all.extend(f.jumps.iter().map(|j| Rect::at(j.at).grown(1.6)));
    all.extend(f.arrows.iter().map(|a| Rect::at(a.at).grown(1.5)));
    for frame in f.frames {
        all.extend(frame.edges.iter().map(|[a, b]| strip(*a, *b, 0.4)));
    }
    all
}

/// Along the outline of a unit, inside or outside.
fn beside_frame(f: &Field, frame: &UnitFrame) -> Wanted {
    let unit = f.net.system.unit(frame.unit);
    // Every outline says whose it is: a nameless one could be any other unit's.
    let lines = vec![match (frame.alone, frame.largest) {
        (true, _) => format!("{} {}", unit.tag, unit.kind.key),
        (_, true) => format!("{} {}, part", unit.tag, unit.kind.key),
        _ => format!("{}, part", unit.tag),
    }];
    let (w, h) = (block_width(&lines, true), block_height(1));
    let mut candidates = Vec::new();
    let level = frame.edges.iter().filter(|[a, b]| a.y == b.y);
    for (n, [a, b]) in level.enumerate() {
        let long = (b.x - a.x).abs();
        for (k, y) in [a.y + 0.8, a.y - h - 0.6].into_iter().enumerate() {
            for step in 0..9 {
                let x = a.x.min(b.x) + 0.8 + (long - w - 1.6) * f64::from(step) / 8.0;
                // Low edges first: words above a line hide what they speak of.
                let low = (frame.at.bottom() - a.y) * 0.02 + (60.0 - long).max(0.0) * 0.05;
                let cost = low + k as f64 * 0.3 + f64::from(step) * 0.1 + n as f64 * 0.001;
                let at = Rect::new(x, y, w, h);
                candidates.push(Candidate { at, cost, upwards: false, lean: -1, folded: false });
            }
        }
    }
    let anchors = frame.edges.iter().map(|[a, _]| *a).collect();
    let about = About::Unit(frame.unit);
    Wanted { about, lines, folded: None, plain: false, candidates, within: Vec::new(), anchors }
}

/// The eight places round a symbol, at two distances; the sides without pipes first.
fn beside_part(f: &Field, part: PartIx, lines: Vec<String>, plain: bool) -> Option<Wanted> {
    let spot = f.canvas.spots.get(&part)?;
    if lines.is_empty() {
        return None;
    }
    let folded = words::folded(&lines);
    let (w, h) = (block_width(&lines, !plain), block_height(lines.len()));
    let r = spot.at;
    let busy =
        |e: Edge| f.net.joined(part).into_iter().any(|i| spot.port(i).is_some_and(|(_, x)| x == e));
    let mut candidates = Vec::new();
    for lines in std::iter::once(&lines).chain(&folded) {
        let is_folded = folded.as_ref() == Some(lines);
        let (w, h) = (block_width(lines, !plain), block_height(lines.len()));
        for (n, edge) in [Edge::E, Edge::N, Edge::S, Edge::W].into_iter().enumerate() {
            let side = if busy(edge) { 6.0 } else { 0.0 } + n as f64 * 0.6;
            // As they are usually written, unless that costs another side.
            let side = side + if is_folded { 1.2 } else { 0.0 };
            for (k, gap) in [1.0, 2.2, 4.0, 6.5].into_iter().enumerate() {
                for (m, slide) in [0.0, 0.35, -0.35, 0.7, -0.7].into_iter().enumerate() {
                    let cost = side + k as f64 * 1.5 + m as f64 * 0.7;
                    let (at, lean) = beside(r, edge, gap, slide, w, h);
                    candidates.push(Candidate {
                        at,
                        cost,
                        upwards: false,
                        lean,
                        folded: is_folded,
                    });
                }
            }
        }
    }
    let c = r.centre();
    // Inside, where the symbol has room for it.
    let symbol = f.net.system.part(part).kind.symbol.name.as_str();
    let inside = match symbol {
        // Between the top and the uppermost coil.
        "cylinder" => {
            let flow = f.net.port_named(part, "flow").and_then(|port| spot.port(port.port));
            let coil = flow.map_or(r.h * 0.5, |(p, _)| (p.y - r.y).min(r.h * 0.5));
            // A heater that is put in higher stands in the way as a coil does.
            let put_in = f.canvas.spots.iter().filter(|(p, s)| {
                f.net.system.part(**p).on == Some(part) && s.at.grown(0.5).overlaps(&r)
            });
            let coil = put_in.map(|(_, s)| s.at.y - r.y).fold(coil, f64::min);
            let top = r.y + 3.6 + ((coil - 5.0 - h) / 2.0).max(0.0);
            if h + 4.2 < coil { vec![top] } else { Vec::new() }
        }
        "control" if !plain && w < r.w - 0.4 => vec![c.y - h / 2.0 + 0.4],
        "buffer" if w < r.w - 1.5 => vec![r.y + r.h * 0.12],
        "dwelling" => vec![c.y - h / 2.0],
        "boiler" if h < r.h - 15.4 => vec![r.y + 1.4],
        _ => Vec::new(),
    };
    let mut within = Vec::new();
    for (k, y) in inside.into_iter().enumerate() {
        // The feeler of the relief valve takes the right of a cylinder.
        let shift = if symbol == "cylinder" { 1.6 } else { 0.0 };
        let at = Rect::new(c.x - w / 2.0 - shift, y, w, h);
        let cost = -5.0 + k as f64;
        within.push(Candidate { at, cost, upwards: false, lean: 0, folded: false });
    }
    let anchors = vec![
        P2::new(c.x, r.y),
        P2::new(r.right(), c.y),
        P2::new(c.x, r.bottom()),
        P2::new(r.x, c.y),
    ];
    let about = About::Part(part);
    Some(Wanted { about, lines, folded, plain, candidates, within, anchors })
}

/// A box of words on one side of a symbol, and the side to which they lean.
fn beside(r: Rect, edge: Edge, gap: f64, slide: f64, w: f64, h: f64) -> (Rect, i8) {
    let c = r.centre();
    let (down, along) = (slide * (r.h + h) / 2.0, slide * (r.w + w) / 2.0);
    let (x, y, lean) = match edge {
        Edge::E => (r.right() + gap, c.y - h / 2.0 + down, -1),
        Edge::W => (r.x - gap - w, c.y - h / 2.0 + down, 1),
        Edge::N => (c.x - w / 2.0 + along, r.y - gap - h, 0),
        Edge::S => (c.x - w / 2.0 + along, r.bottom() + gap, 0),
    };
    let lean = match lean {
        0 if slide > 0.0 => -1,
        0 if slide < 0.0 => 1,
        other => other,
    };
    (Rect::new(x, y, w, h), lean)
}

/// Pipes that carry one label: same words, joined end to end through symbols in a line.
pub fn chains(net: &Net) -> Vec<Vec<PipeIx>> {
    let system = net.system;
    let n = system.pipes.len();
    let mut group: Vec<usize> = (0..n).collect();
    fn root(group: &[usize], mut i: usize) -> usize {
        while group[i] != i {
            i = group[i];
        }
        i
    }
    for part in net.parts() {
        let joined = net.joined(part);
        // Water that has come to rest in a tank is another run.
        let rests = net.system.part(part).kind.symbol.name == "tank";
        if !net.in_line(part) || joined.len() != 2 || rests {
            continue;
        }
        let pipe = |port: usize| net.join(PortRef { part, port }).map(|(p, _)| p.0);
        let (Some(a), Some(b)) = (pipe(joined[0]), pipe(joined[1])) else { continue };
        if words::of_pipe(&system.pipes[a]) == words::of_pipe(&system.pipes[b]) {
            let (a, b) = (root(&group, a), root(&group, b));
            group[a.max(b)] = a.min(b);
        }
    }
    let mut out: Vec<Vec<PipeIx>> = vec![Vec::new(); n];
    for i in 0..n {
        out[root(&group, i)].push(PipeIx(i));
    }
    out.retain(|c| !c.is_empty());
    out
}

/// The run goes on behind this part with the same words.
pub fn goes_on(net: &Net, pipe: PipeIx, part: PartIx) -> bool {
    let text = words::of_pipe(net.system.pipe(pipe));
    net.in_line(part)
        && net.joined(part).into_iter().any(|port| {
            let next = net.join(PortRef { part, port });
            next.is_some_and(|(p, _)| p != pipe && words::of_pipe(net.system.pipe(p)) == text)
        })
}

/// Length that a pipe needs for its words, where no other bears them for it.
pub fn room_of_lone(net: &Net, pipe: PipeIx) -> f64 {
    let row = net.system.pipe(pipe);
    if goes_on(net, pipe, row.from.part) || goes_on(net, pipe, row.to.part) {
        return 0.0;
    }
    room_of(net, pipe)
}

/// Length that a pipe needs for its words, on the grid.
pub fn room_of(net: &Net, pipe: PipeIx) -> f64 {
    const WHITE: f64 = 0.6;
    let row = net.system.pipe(pipe);
    let unit = |p: PartIx| net.system.part(p).unit;
    // The last joint of a unit may stand outside its outline.
    let last = |p: PartIx| {
        let ends = net.joined(p).into_iter().filter_map(|port| net.join(PortRef { part: p, port }));
        let mut others = ends.filter(|(other, _)| *other != pipe);
        net.is_joint(p) && unit(p).is_some() && others.all(|(_, far)| unit(far.part) != unit(p))
    };
    let leaves = unit(row.from.part) != unit(row.to.part);
    // Where it leaves a unit, the outline takes a piece of it.
    let cut = leaves || last(row.from.part) || last(row.to.part);
    let outline = if cut { 3.0 * ROUND } else { 0.0 };
    let w = block_width(&[words::of_pipe(row)], false) + WHITE + outline;
    (w / GRID - 1e-9).ceil() * GRID
}

fn along_chain(f: &Field, chain: &[PipeIx]) -> Wanted {
    let pipe = f.net.system.pipe(chain[0]);
    let lines = vec![words::of_pipe(pipe)];
    let (w, h) = (block_width(&lines, false), block_height(1));
    let mut candidates = Vec::new();
    let mut anchors = Vec::new();
    let mut about = chain[0];
    let mut longest = 0.0;
    const OVER: f64 = 0.3;
    for ix in chain {
        for leg in f.pipes[ix.0].windows(2) {
            let (a, b) = (leg[0], leg[1]);
            let len = (a.x - b.x).abs() + (a.y - b.y).abs();
            if len > longest {
                longest = len;
                about = *ix;
                anchors = vec![P2::new((a.x + b.x) / 2.0, (a.y + b.y) / 2.0)];
            }
        }
    }
    for ix in chain {
        for leg in f.pipes[ix.0].windows(2) {
            let (a, b) = (leg[0], leg[1]);
            let len = (a.x - b.x).abs() + (a.y - b.y).abs();
            let off_pipe = if *ix == about { 0.0 } else { 1.5 };
            let short = (longest - len).min(40.0) * 0.08 + off_pipe;
            for (k, t) in [0.5, 0.3, 0.7, 0.15, 0.85].into_iter().enumerate() {
                let p = P2::new(a.x + (b.x - a.x) * t, a.y + (b.y - a.y) * t);
                let cost = short + k as f64 * 0.5;
                for (far, gap) in [0.9, 2.0].into_iter().enumerate() {
                    let cost = cost + far as f64 * 2.0;
                    let mut add = |x: f64, y: f64, w: f64, h: f64, more: f64, up: bool, lean| {
                        candidates.push(Candidate {
                            at: Rect::new(x, y, w, h),
                            cost: cost + more,
                            upwards: up,
                            lean,
                            folded: false,
                        });
                    };
                    if a.y == b.y {
                        let tight = if len < w { 1.0 } else { 0.0 };
                        add(p.x - w / 2.0, p.y - gap - h + 0.5, w, h, tight, false, 0);
                        add(p.x - w / 2.0, p.y + gap, w, h, tight + 0.4, false, 0);
                        // Over the end of a short one.
                        let (lo, hi) = (a.x.min(b.x), a.x.max(b.x));
                        if k == 0 && len < w {
                            for (x, lean) in [(lo + OVER, -1), (hi - w - OVER, 1)] {
                                add(x, p.y - gap - h + 0.5, w, h, 2.5, false, lean);
                                add(x, p.y + gap, w, h, 2.9, false, lean);
                            }
                        }
                    } else {
                        add(p.x + gap, p.y - h / 2.0, w, h, 0.3, false, -1);
                        add(p.x - gap - w, p.y - h / 2.0, w, h, 0.5, false, 1);
                        add(p.x - gap - h, p.y - w / 2.0, h, w, 1.2, true, 0);
                        add(p.x + gap, p.y - w / 2.0, h, w, 1.4, true, 0);
                    }
                }
            }
        }
    }
    let about = About::Pipe(about);
    Wanted { about, lines, folded: None, plain: true, candidates, within: Vec::new(), anchors }
}
