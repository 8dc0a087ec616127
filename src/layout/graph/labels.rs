//! Line jumps and places for texts. In: a finished drawing and the sizes of the texts. Out: for
//! each crossing the pipe that jumps; for each text a box that covers nothing, next to what it
//! names, or further off with a leader. No text is dropped.

use super::{Area, Drawing, Graph, Pt};

/// One pipe passes over another here.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Jump {
    /// The pipe that is drawn with the jump.
    pub pipe: usize,
    pub over: usize,
    pub at: Pt,
    /// True where the jumping piece is level.
    pub level: bool,
}

/// What a text belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Subject {
    Symbol(usize),
    Pipe(usize),
}

/// A text in its place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Label {
    pub of: Subject,
    pub area: Area,
    /// Where a leader must start on the subject, if the text stands away from it.
    pub leader: Option<Pt>,
}

/// The jumps of a drawing: the pipe of the lower rank jumps, of equal ones the level piece.
pub fn jumps(graph: &Graph, drawing: &Drawing) -> Vec<Jump> {
    let nets = super::measure::nets(graph);
    let (mut across, mut down) = (Vec::new(), Vec::new());
    for (pipe, route) in drawing.routes.iter().enumerate() {
        for leg in route.windows(2) {
            if leg[0].y == leg[1].y {
                across.push((pipe, leg[0].y, leg[0].x.min(leg[1].x), leg[0].x.max(leg[1].x)));
            } else {
                down.push((pipe, leg[0].x, leg[0].y.min(leg[1].y), leg[0].y.max(leg[1].y)));
            }
        }
    }
    down.sort_by_key(|d| (d.1, d.2, d.0));
    let mut out = Vec::new();
    for &(h, y, left, right) in &across {
        let first = down.partition_point(|d| d.1 <= left);
        for &(v, x, top, low) in &down[first..] {
            if x >= right {
                break;
            }
            if y <= top || y >= low || nets[h] == nets[v] {
                continue;
            }
            let level = graph.pipes[h].rank >= graph.pipes[v].rank;
            let (pipe, over) = if level { (h, v) } else { (v, h) };
            out.push(Jump { pipe, over, at: Pt::new(x, y), level });
        }
    }
    out.sort();
    out
}

/// Places the texts that the graph asks for; `gap` is the distance from what they name.
pub fn labels(graph: &Graph, drawing: &Drawing, gap: i64) -> Vec<Label> {
    let mut taken: Vec<Area> =
        drawing.placed.iter().enumerate().map(|(k, at)| graph.area(k, at)).collect();
    for leg in drawing.routes.iter().flat_map(|r| r.windows(2)) {
        let (a, b) = (leg[0], leg[1]);
        // One unit thick, so that a line through a box is seen.
        taken.push(Area {
            x: a.x.min(b.x),
            y: a.y.min(b.y),
            w: (a.x - b.x).abs().max(1),
            h: (a.y - b.y).abs().max(1),
        });
    }
    let mut wants: Vec<(Subject, Vec<Area>)> = Vec::new();
    for (k, symbol) in graph.symbols.iter().enumerate() {
        if let Some(size) = symbol.label {
            let area = graph.area(k, &drawing.placed[k]);
            wants.push((Subject::Symbol(k), around(area, size, gap)));
        }
    }
    for (k, pipe) in graph.pipes.iter().enumerate() {
        if let Some(size) = pipe.label {
            wants.push((Subject::Pipe(k), along(&drawing.routes[k], size, gap)));
        }
    }
    let free = |area: &Area, taken: &[Area]| !taken.iter().any(|t| t.overlaps(area));
    for want in &mut wants {
        want.1.retain(|a| free(a, &taken));
    }
    let mut out = Vec::new();
    // Always next the text with the fewest places left, in the place that hurts others least.
    while !wants.is_empty() {
        let k = (0..wants.len()).min_by_key(|&k| (wants[k].1.len(), wants[k].0)).unwrap_or(0);
        let (of, places) = wants.remove(k);
        let hurt = |a: &Area| -> usize {
            wants.iter().map(|w| w.1.iter().filter(|b| b.overlaps(a)).count()).sum()
        };
        let best = (0..places.len()).min_by_key(|&p| (hurt(&places[p]), p)).map(|p| places[p]);
        let label = match best {
            Some(area) => Label { of, area, leader: None },
            None => far(graph, drawing, of, gap, &taken),
        };
        taken.push(label.area);
        for want in &mut wants {
            want.1.retain(|a| !a.overlaps(&label.area));
        }
        out.push(label);
    }
    out.sort_by_key(|l| l.of);
    out
}

/// Above, below, right, left; first centred, then flush.
fn around(a: Area, (w, h): (i64, i64), gap: i64) -> Vec<Area> {
    let centre = (a.x + (a.w - w) / 2, a.y + (a.h - h) / 2);
    let mut at = Vec::new();
    for y in [a.y - gap - h, a.bottom() + gap] {
        for x in [centre.0, a.x, a.right() - w] {
            at.push((x, y));
        }
    }
    for x in [a.right() + gap, a.x - gap - w] {
        for y in [centre.1, a.y, a.bottom() - h] {
            at.push((x, y));
        }
    }
    if w < a.w && h < a.h {
        at.push(centre);
    }
    at.into_iter().map(|(x, y)| Area { x, y, w, h }).collect()
}

/// Beside the pieces of a pipe, the longest first, at their middle and quarters.
fn along(route: &[Pt], (w, h): (i64, i64), gap: i64) -> Vec<Area> {
    let mut legs: Vec<(Pt, Pt)> = route.windows(2).map(|l| (l[0], l[1])).collect();
    legs.sort_by_key(|(a, b)| -((a.x - b.x).abs() + (a.y - b.y).abs()));
    let mut out = Vec::new();
    for (a, b) in legs {
        for part in [2, 1, 3] {
            let (x, y) = (a.x + (b.x - a.x) * part / 4, a.y + (b.y - a.y) * part / 4);
            if a.y == b.y {
                out.push(Area { x: x - w / 2, y: y - gap - h, w, h });
                out.push(Area { x: x - w / 2, y: y + gap, w, h });
            } else {
                out.push(Area { x: x + gap, y: y - h / 2, w, h });
                out.push(Area { x: x - gap - w, y: y - h / 2, w, h });
            }
        }
    }
    out
}

/// The nearest free place, in growing rings; beyond the drawing there always is one.
fn far(graph: &Graph, drawing: &Drawing, of: Subject, gap: i64, taken: &[Area]) -> Label {
    let (from, (w, h)) = match of {
        Subject::Symbol(k) => {
            let a = graph.area(k, &drawing.placed[k]);
            (Pt::new(a.x + a.w / 2, a.y), graph.symbols[k].label.unwrap_or_default())
        }
        Subject::Pipe(k) => {
            let route = &drawing.routes[k];
            let leg =
                route.windows(2).max_by_key(|l| (l[0].x - l[1].x).abs() + (l[0].y - l[1].y).abs());
            let at = leg
                .map_or(Pt::default(), |l| Pt::new((l[0].x + l[1].x) / 2, (l[0].y + l[1].y) / 2));
            (at, graph.pipes[k].label.unwrap_or_default())
        }
    };
    let step = gap.max(h / 2).max(1);
    for ring in 1i64.. {
        for dy in -ring..=ring {
            for dx in -ring..=ring {
                if dx.abs().max(dy.abs()) != ring {
                    continue;
                }
                let area =
                    Area { x: from.x + dx * step - w / 2, y: from.y + dy * step - h / 2, w, h };
                if !taken.iter().any(|t| t.overlaps(&area)) {
                    return Label { of, area, leader: Some(from) };
                }
            }
        }
    }
    unreachable!("the plane has room")
}
