//! Pipes at true diameter, the nearer in front. In: the routes and a view. Out: for each route a
//! bare centre line that scripts can read, and stretches in one plane, each with its depth, that
//! look like pipe: two edges, the service's own centre line, lagging, bends, ends, an arrow.

use super::sight::Sight;
use super::view::View;
use crate::draw::scene::{Ink, Item, Mark, Seg, Shape, Stroke};
use crate::draw::style::{pen, width};
use crate::layout::cupboard::plan::Route;
use crate::model::{P2, P3, Pipe, PipeIx, PortRef, Rect, System};

/// Below this a pipe is one bold line: its two edges would run together (mm on paper).
const LEAST_DOUBLE: f64 = 1.0;
/// White on both sides of the nearer pipe, which breaks the farther one.
pub const BREAK: f64 = 0.6;
/// Straight runs longer than this are labelled and get an arrow (mm real).
pub const LABELLED: f64 = 300.0;
/// Shorter pieces bear no label of their own.
pub const PIECE: f64 = 40.0;

/// Something to be painted at a depth.
pub struct Layer {
    pub nearness: f64,
    pub items: Vec<Item>,
}

/// A straight run in the plane of the paper, for labels and dimensions.
#[derive(Clone, Debug)]
pub struct Run {
    pub id: String,
    pub pipe: PipeIx,
    pub from: P2,
    pub to: P2,
    pub real_from: P3,
    pub real_to: P3,
    pub half: f64,
    pub nearness: f64,
    /// What the view shows of it.
    pub sight: Sight,
}

impl Run {
    pub fn upright(&self) -> bool {
        (self.from.x - self.to.x).abs() < (self.from.y - self.to.y).abs()
    }

    /// A point on it, from 0 where it starts to 1.
    pub fn at(&self, t: f64) -> P2 {
        let (a, b) = (self.from, self.to);
        P2::new(a.x + (b.x - a.x) * t, a.y + (b.y - a.y) * t)
    }

    /// Where its line stands across the way it runs.
    pub fn across(&self) -> f64 {
        if self.upright() { self.from.x } else { self.from.y }
    }

    /// From where to where it reaches along the paper.
    pub fn span(&self) -> (f64, f64) {
        let (a, b) =
            if self.upright() { (self.from.y, self.to.y) } else { (self.from.x, self.to.x) };
        (a.min(b), a.max(b))
    }

    /// The point of its line so far along the paper, and how far along a point lies.
    pub fn on(&self, along: f64) -> P2 {
        if self.upright() { P2::new(self.from.x, along) } else { P2::new(along, self.from.y) }
    }

    pub fn along(&self, p: P2) -> f64 {
        if self.upright() { p.y } else { p.x }
    }

    /// What it covers from there to there.
    pub fn piece(&self, from: f64, to: f64) -> Rect {
        let (p, d) = (self.on(from), to - from);
        if self.upright() {
            Rect::new(p.x - self.half, p.y, 2.0 * self.half, d)
        } else {
            Rect::new(p.x, p.y - self.half, d, 2.0 * self.half)
        }
    }

    pub fn real_length(&self) -> f64 {
        let (a, b) = (self.real_from, self.real_to);
        (a.x - b.x).abs() + (a.y - b.y).abs() + (a.z - b.z).abs()
    }

    /// What the run covers on paper.
    pub fn strip(&self) -> Rect {
        let x = self.from.x.min(self.to.x) - self.half;
        let y = self.from.y.min(self.to.y) - self.half;
        let w = (self.from.x - self.to.x).abs() + 2.0 * self.half;
        let h = (self.from.y - self.to.y).abs() + 2.0 * self.half;
        Rect::new(x, y, w, h)
    }
}

/// `22 F`: what stands beside a pipe.
pub fn pipe_text(pipe: &Pipe) -> String {
    let size = pipe.size.as_ref().map_or("?", |s| s.value.as_str());
    format!("{size} {}", pipe.service.letters())
}

/// The bare centre line of a route, under everything: the contract's `data-pipe`.
pub fn centre_line(system: &System, route: &Route, view: &View) -> Item {
    let pipe = system.pipe(route.pipe);
    let points: Vec<P2> = route.points.iter().map(|p| view.point(*p)).collect();
    let real = route.points.iter().map(|p| [p.x, p.y, p.z]).collect();
    let stroke = if route.routed {
        Stroke::solid(width::THIN, pen(pipe.service).ink)
    } else {
        Stroke::dashed(0.7, &[3.0, 1.5], Ink::ALARM)
    };
    // What the plane of a section cuts off ends in the plane.
    let end = |at: Option<&P3>, port: PortRef| match (&view.section, at) {
        (Some(section), Some(p)) if section.cuts(*p) => section.end(),
        _ => system.port_name(port),
    };
    let mark = Mark::Pipe {
        id: pipe.id.clone(),
        service: pipe.service.key(),
        size: pipe.size.as_ref().map_or_else(String::new, |s| s.value.clone()),
        from: end(route.points.first(), pipe.from),
        to: end(route.points.last(), pipe.to),
        real: Some(real),
    };
    Shape::line(&merged(&points), stroke).mark(mark).into()
}

/// Points without repeats.
fn merged(points: &[P2]) -> Vec<P2> {
    let mut out: Vec<P2> = Vec::new();
    for p in points {
        if out.last().is_none_or(|q| (q.x - p.x).abs() + (q.y - p.y).abs() > 1e-9) {
            out.push(*p);
        }
    }
    if out.len() == 1 {
        out.push(out[0]);
    }
    out
}

/// Stretches of the route that lie in one plane parallel to the paper, and the points where it
/// runs towards the eye.
pub fn layers(system: &System, route: &Route, view: &View) -> (Vec<Layer>, Vec<Run>) {
    let (mut layers, mut runs) = (Vec::new(), Vec::new());
    if !route.routed || route.points.len() < 2 {
        return (layers, runs);
    }
    let pipe = system.pipe(route.pipe);
    let mut plane: Vec<P3> = vec![route.points[0]];
    for pair in route.points.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        if (view.nearness(a) - view.nearness(b)).abs() > 0.5 {
            paint_plane(pipe, route, view, &plane, &mut layers, &mut runs);
            layers.push(end_on(pipe, route, view, a, b));
            plane = vec![b];
        } else {
            plane.push(b);
        }
    }
    paint_plane(pipe, route, view, &plane, &mut layers, &mut runs);
    (layers, runs)
}

fn paint_plane(
    pipe: &Pipe,
    route: &Route,
    view: &View,
    plane: &[P3],
    layers: &mut Vec<Layer>,
    runs: &mut Vec<Run>,
) {
    if plane.len() < 2 {
        return;
    }
    let nearness = view.nearness(plane[0]) + route.od / 2.0;
    let points = merged(&plane.iter().map(|p| view.point(*p)).collect::<Vec<_>>());
    let od = route.od / view.scale;
    let style = pen(pipe.service);
    let mut items = look(pipe, &points, od, true);
    if route.lagging > 0.0 && od >= LEAST_DOUBLE {
        let half = (route.od / 2.0 + route.lagging) / view.scale;
        for pair in points.windows(2) {
            items.extend(lagging(pair[0], pair[1], half, style.ink, &pipe.id));
        }
    }
    for pair in straightened(plane).windows(2) {
        runs.push(Run {
            id: pipe.id.clone(),
            pipe: route.pipe,
            from: view.point(pair[0]),
            to: view.point(pair[1]),
            real_from: pair[0],
            real_to: pair[1],
            half: od.max(0.7) / 2.0,
            nearness,
            sight: Sight::default(),
        });
    }
    layers.push(Layer { nearness, items });
}

/// How a pipe looks along a line: two edges and its service's own centre line; with white on both
/// sides where it lies before others.
pub fn look(pipe: &Pipe, points: &[P2], od: f64, before: bool) -> Vec<Item> {
    let style = pen(pipe.service);
    let mut items: Vec<Item> = Vec::new();
    let mut line = |width: f64, ink: Ink, dash: &[f64]| {
        let stroke = Stroke { width, dash: dash.to_vec(), ink, round: false };
        items.push(Shape::line(points, stroke).mark(Mark::Of(pipe.id.clone())).into());
    };
    let single = od < LEAST_DOUBLE;
    if before {
        line(if single { 0.7 } else { od } + 2.0 * BREAK, Ink::WHITE, &[]);
    }
    if single {
        line(0.7, style.ink, &style.dash);
    } else {
        line(od, style.ink, &[]);
        line(od - 2.0 * width::SYMBOL, Ink::WHITE, &[]);
        line(width::THIN, style.ink, &style.dash);
    }
    items
}

/// A straight stroke as wide as a pipe.
pub fn wide_line((a, b): (P2, P2), wide: f64, ink: Ink) -> Item {
    Shape::line(&[a, b], Stroke::solid(wide, ink)).into()
}

/// Where a pipe is broken off to show another behind it: a thin wave across it.
pub fn break_line(at: P2, half: f64, upright: bool, ink: Ink) -> Shape {
    const SWING: f64 = 1.2;
    let reach = half + 0.7;
    let p = |across: f64, along: f64| {
        if upright {
            P2::new(at.x + across, at.y + along)
        } else {
            P2::new(at.x + along, at.y + across)
        }
    };
    let path = vec![
        Seg::Move(p(-reach, 0.0)),
        Seg::Cubic(p(-reach / 3.0, -SWING), p(reach / 3.0, SWING), p(reach, 0.0)),
    ];
    Shape { mark: Mark::None, path, stroke: Some(Stroke::solid(width::THIN, ink)), fill: None }
}

/// Without points in the middle of a straight.
fn straightened(plane: &[P3]) -> Vec<P3> {
    let along = |a: P3, b: P3| {
        let d = [(b.x - a.x), (b.y - a.y), (b.z - a.z)];
        d.map(|v| if v.abs() < 0.5 { 0 } else { v.signum() as i8 })
    };
    let mut out: Vec<P3> = Vec::new();
    for p in plane {
        if let [.., a, b] = out[..]
            && along(a, b) == along(b, *p)
        {
            out.pop();
        }
        out.push(*p);
    }
    out
}

/// The dashed outline of lagging along one straight.
fn lagging(a: P2, b: P2, half: f64, ink: Ink, id: &str) -> Vec<Item> {
    let along = if (a.x - b.x).abs() > (a.y - b.y).abs() { (0.0, half) } else { (half, 0.0) };
    [1.0, -1.0]
        .into_iter()
        .map(|s| {
            let shift = |p: P2| P2::new(p.x + s * along.0, p.y + s * along.1);
            let stroke = Stroke::dashed(width::THIN * 0.72, &[1.6, 1.0], ink);
            Shape::line(&[shift(a), shift(b)], stroke).mark(Mark::Of(id.to_owned())).into()
        })
        .collect()
}

/// A pipe that runs towards the eye: a ring.
fn end_on(pipe: &Pipe, route: &Route, view: &View, a: P3, b: P3) -> Layer {
    let style = pen(pipe.service);
    let edge = Stroke::solid(width::SYMBOL, style.ink);
    let radius = (route.od / view.scale / 2.0).max(0.5) - width::SYMBOL / 2.0;
    let ring = Shape::circle(view.point(b), radius, Some(edge), Some(Ink::WHITE));
    Layer {
        nearness: view.nearness(a).max(view.nearness(b)) + route.od / 2.0 + 0.1,
        items: vec![ring.mark(Mark::Of(pipe.id.clone())).into()],
    }
}

/// A filled arrowhead, 3:1, at a point, in the direction of flow.
pub fn arrow(id: &str, at: P2, from: P2, to: P2, ink: Ink, size: f64) -> Item {
    let (dx, dy) = (to.x - from.x, to.y - from.y);
    let n = dx.abs().max(dy.abs()).max(1e-9);
    let (ux, uy) = (dx / n, dy / n);
    let (l, w) = (size * 1.5, size * 0.5);
    let tip = P2::new(at.x + ux * l / 2.0, at.y + uy * l / 2.0);
    let base = P2::new(at.x - ux * l / 2.0, at.y - uy * l / 2.0);
    let corners =
        [tip, P2::new(base.x - uy * w, base.y + ux * w), P2::new(base.x + uy * w, base.y - ux * w)];
    let direction = if ux.abs() > uy.abs() {
        if ux > 0.0 { 0.0 } else { 180.0 }
    } else if uy > 0.0 {
        90.0
    } else {
        270.0
    };
    Shape::polygon(&corners, None, Some(ink))
        .mark(Mark::Arrow { of: id.to_owned(), direction })
        .into()
}
