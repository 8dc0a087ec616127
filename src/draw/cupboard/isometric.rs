//! The pipework in isometric view (30° axes, after ISO 5456-3 and ISO 6412). In: the cupboard
//! plan. Out: one sheet; what is nearer hides what is farther, in an order that is worked out pair
//! by pair, so no body shows through another.

use std::collections::BTreeSet;

use super::callouts::{Callouts, Request, has_a_face, kept_clear};
use super::labels::is_joint;
use super::margins::{Edge, Margin};
use super::pipework::{LABELLED, arrow, pipe_text};
use super::section::kind_of;
use crate::draw::documents::listed;
use crate::draw::frame::{TitleData, drawing_space, title_block};
use crate::draw::scene::{Group, Ink, Item, Mark, Paper, Seg, Shape, Sheet, Stroke, Words};
use crate::draw::style::{letters, pen, width};
use crate::layout::cupboard::plan::{CupboardPlan, Form};
use crate::lettering::{Weight, fitted};
use crate::model::{Box3, P2, P3, Rect, System};

/// Cosine and sine of 30°, by table so that no machine differs.
const COS: f64 = 0.866_025_403_784_438_6;
const SIN: f64 = 0.5;
/// Handle length that makes a cubic follow a quarter of an ellipse.
const QUARTER: f64 = 0.552_284_749_830_793_6;
/// Half axes of a circle of radius 1 that lies level: √1.5 across, √0.5 up.
const MAJOR: f64 = 1.224_744_871_391_589;
const MINOR: f64 = std::f64::consts::FRAC_1_SQRT_2;

/// Worth the change of place: so many times as large.
const LARGER: f64 = 1.15;
/// Room for a column of labels on either side.
const LABELS: f64 = 30.0;

struct Eye {
    scale: f64,
    at: P2,
}

impl Eye {
    /// The eye stands beyond the door at the right, above: x runs right and down, y left and down.
    fn point(&self, p: P3) -> P2 {
        let u = (p.x - p.y) * COS;
        let v = (p.x + p.y) * SIN - p.z;
        P2::new(self.at.x + u / self.scale, self.at.y + v / self.scale)
    }

    /// True where the sight line through a point on paper passes the box.
    fn sees(&self, p: P2, b: &Box3) -> bool {
        let (u, v) = ((p.x - self.at.x) * self.scale / COS, (p.y - self.at.y) * self.scale);
        // Where the line meets the floor; it runs on by as much in x, in y and in z.
        let foot = [(2.0 * v + u) / 2.0, (2.0 * v - u) / 2.0, 0.0];
        let low = [b.x - foot[0], b.y - foot[1], b.z - foot[2]];
        let high = [low[0] + b.w, low[1] + b.d, low[2] + b.h];
        let from = low.into_iter().fold(f64::MIN, f64::max);
        let to = high.into_iter().fold(f64::MAX, f64::min);
        from < to
    }
}

/// Something with extent that hides and is hidden.
struct Thing {
    bounds: Box3,
    items: Vec<Item>,
    on_paper: Rect,
    /// Where no label may stand.
    kept_clear: Vec<Rect>,
}

pub fn isometric(system: &System, plan: &CupboardPlan, data: &TitleData) -> Sheet {
    let paper = Paper::A3;
    let space = drawing_space(paper).grown(-5.0);
    let block = title_block(paper, data);
    let r = plan.room;
    let (across, down) = ((r.w + r.d) * COS, (r.w + r.d) * SIN + r.h);
    // Left of the title block, or above it where that shows the room clearly larger and the names
    // find their place below.
    let named = named(system, plan);
    let beside = (block.x - space.x - 4.0, space.h - 12.0);
    let over = (space.w, block.y - space.y - 14.0);
    let scale_in =
        |room: (f64, f64)| (across / (room.0 - 2.0 * LABELS)).max(down / room.1).max(1.0);
    let below = Rect::new(space.x, block.y + 4.0, block.x - space.x - 6.0, block.h - 6.0);
    let above = scale_in(over) * LARGER < scale_in(beside) && rows_in(below) * 2 >= named.len();
    let room = if above { over } else { beside };
    let scale = scale_in(room);
    let left = space.x + (room.0 - across / scale) / 2.0;
    let eye = Eye { scale, at: P2::new(left + r.d * COS / scale, space.y + 10.0 + r.h / scale) };
    let mut items = vec![
        Words::new(
            P2::new(space.x, space.y + 3.5),
            "ISOMETRIC VIEW, from beyond the door, at the right, above",
            letters::HEADING,
        )
        .bold()
        .into(),
    ];
    items.extend(walls(&eye, r));
    let mut things: Vec<Thing> = plan
        .solids
        .iter()
        .map(|s| {
            let kind = kind_of(system, s);
            let on_paper = bounds(&eye, &s.at);
            let shapes = match s.form {
                Form::Upright | Form::Domed => drum(&eye, &s.at),
                _ => block_faces(&eye, &s.at),
            };
            // Bodies overlap on paper here by right: no mark that rules for flat sheets count.
            let mark = Mark::Of(s.tag.clone());
            let title = Some(format!("{}: {}", s.tag, kind.words));
            let group = Group { mark, title, items: shapes };
            let kept_clear = kept_clear(on_paper);
            Thing { bounds: s.at, items: vec![group.into()], on_paper, kept_clear }
        })
        .collect();
    let mut wanted: Vec<(usize, Request)> = Vec::new();
    for route in plan.routes.iter().filter(|r| r.routed) {
        let pipe = system.pipe(route.pipe);
        for pair in route.points.windows(2) {
            let (thing, request) = piece(&eye, pair[0], pair[1], route.od, pipe);
            wanted.extend(request.map(|r| (things.len(), r)));
            things.push(thing);
        }
    }
    for (i, s) in plan.solids.iter().enumerate().filter(|(_, s)| !is_joint(system, s)) {
        let r = things[i].on_paper;
        let c = r.centre();
        let quarter = |u: f64, v: f64| P2::new(c.x + u * r.w / 4.0, c.y + v * r.h / 4.0);
        let request = Request {
            of: s.tag.clone(),
            text: s.tag.clone(),
            anchor: c,
            also: [(0.0, -1.0), (0.0, 1.0), (-1.0, 0.0), (1.0, 0.0)]
                .map(|(u, v)| quarter(u, v))
                .to_vec(),
            inside: has_a_face(r).then_some(r),
            half: 0.0,
            upright: false,
            reach: 0.0,
            over: Vec::new(),
            under: Vec::new(),
        };
        wanted.push((i, request));
    }
    let order = front_last(&things);
    for i in &order {
        items.append(&mut things[*i].items);
    }
    let callouts = Callouts {
        requests: visible(&eye, &things, &order, wanted),
        obstacles: things.iter().flat_map(|t| t.kept_clear.iter().copied()).collect(),
        ..Callouts::default()
    };
    let whole = Rect::new(left, space.y + 10.0, across / scale, down / scale);
    let column = |x: f64, h: f64| Rect::new(x, space.y + 8.0, LABELS, h);
    let margin = |edge: Edge, at: Rect| Margin { edge, at, taken: Vec::new() };
    let deep = if above { over.1 } else { space.h - 12.0 };
    let margins = [
        margin(Edge::Left, column(whole.x - LABELS, deep)),
        margin(Edge::Right, column(whole.right(), block.y - space.y - 14.0)),
    ];
    items.extend(callouts.place(whole, &margins).items);
    let right = Rect::new(block.x + 4.0, space.y + 8.0, block.w - 8.0, block.y - space.y - 12.0);
    items.extend(names(named, if above { below } else { right }));
    Sheet {
        key: "isometric".to_owned(),
        title: "Isometric view of the pipework".to_owned(),
        description: format!("{} bodies and {} pipes.", plan.solids.len(), plan.routes.len()),
        paper,
        scale: None,
        items,
    }
}

/// What the letters mean and what each tag stands for.
fn named(system: &System, plan: &CupboardPlan) -> Vec<(String, String)> {
    let services: BTreeSet<_> = plan.routes.iter().map(|r| system.pipe(r.pipe).service).collect();
    let mut rows: Vec<(String, String)> =
        services.into_iter().map(|s| (s.letters().to_owned(), s.words().to_owned())).collect();
    // Things of one kind share a row, in the order of the system.
    let mut kinds: Vec<(String, Vec<&str>)> = Vec::new();
    for s in plan.solids.iter().filter(|s| !is_joint(system, s)) {
        let name = kind_of(system, s).key.clone();
        match kinds.iter_mut().find(|(k, _)| *k == name) {
            Some((_, tags)) => tags.push(&s.tag),
            None => kinds.push((name, vec![&s.tag])),
        }
    }
    rows.extend(kinds.into_iter().map(|(name, mut tags)| {
        tags.sort_by_key(|t| (t.len(), *t));
        (listed(&tags), name)
    }));
    rows
}

/// Between the rows of names, and width of their columns.
const ROW: f64 = 4.6;
const COLUMN: f64 = 86.0;

fn rows_in(at: Rect) -> usize {
    ((at.h / ROW) as usize).max(1)
}

/// The names in columns: the page teaches.
fn names(rows: Vec<(String, String)>, at: Rect) -> Vec<Item> {
    let deep = rows_in(at);
    let mut items: Vec<Item> = Vec::new();
    for (i, (tag, name)) in rows.into_iter().enumerate() {
        let x = at.x + (i / deep) as f64 * COLUMN;
        let y = at.y + (i % deep) as f64 * ROW + letters::SMALL;
        if x + COLUMN > at.right() + 8.0 {
            break;
        }
        let tag = fitted(&tag, letters::SMALL, Weight::Bold, 24.0);
        items.push(Words::new(P2::new(x, y), tag, letters::SMALL).bold().into());
        let name = fitted(&name, letters::SMALL, Weight::Regular, COLUMN - 28.0);
        items.push(Words::new(P2::new(x + 26.0, y), name, letters::SMALL).into());
    }
    items
}

/// What of the requests speaks of something that can be seen, at points where it can be seen: what
/// is painted later hides what it covers.
fn visible(
    eye: &Eye,
    things: &[Thing],
    order: &[usize],
    wanted: Vec<(usize, Request)>,
) -> Vec<Request> {
    let mut place = vec![0; things.len()];
    for (at, i) in order.iter().enumerate() {
        place[*i] = at;
    }
    let seen = |p: P2, of: usize| {
        let later = |j: &usize| place[*j] > place[of];
        eye.sees(p, &things[of].bounds)
            && !(0..things.len()).filter(later).any(|j| eye.sees(p, &things[j].bounds))
    };
    let shown = |(of, request): (usize, Request)| {
        let mut points = request.everywhere().map(|r| r.anchor).filter(|p| seen(*p, of));
        let anchor = points.next()?;
        let also = points.collect();
        Some(Request { anchor, also, ..request })
    };
    wanted.into_iter().filter_map(shown).collect()
}

/// Floor and the two far walls.
fn walls(eye: &Eye, r: Box3) -> Vec<Item> {
    let p = |x: f64, y: f64, z: f64| eye.point(P3::new(x, y, z));
    let thin = || Some(Stroke::solid(width::THIN, Ink::GREY));
    let floor = [p(0.0, 0.0, 0.0), p(r.w, 0.0, 0.0), p(r.w, r.d, 0.0), p(0.0, r.d, 0.0)];
    let back = [p(0.0, 0.0, 0.0), p(r.w, 0.0, 0.0), p(r.w, 0.0, r.h), p(0.0, 0.0, r.h)];
    let left = [p(0.0, 0.0, 0.0), p(0.0, r.d, 0.0), p(0.0, r.d, r.h), p(0.0, 0.0, r.h)];
    [floor, back, left].iter().map(|f| Shape::polygon(f, thin(), None).into()).collect()
}

fn corners(b: &Box3) -> [P3; 8] {
    std::array::from_fn(|i| {
        P3::new(
            b.x + if i & 1 == 1 { b.w } else { 0.0 },
            b.y + if i & 2 == 2 { b.d } else { 0.0 },
            b.z + if i & 4 == 4 { b.h } else { 0.0 },
        )
    })
}

fn bounds(eye: &Eye, b: &Box3) -> Rect {
    let points = corners(b).map(|c| eye.point(c));
    let xs = points.iter().map(|p| p.x);
    let ys = points.iter().map(|p| p.y);
    let (x, y) = (xs.clone().fold(f64::MAX, f64::min), ys.clone().fold(f64::MAX, f64::min));
    Rect::new(x, y, xs.fold(f64::MIN, f64::max) - x, ys.fold(f64::MIN, f64::max) - y)
}

/// The three faces that the eye sees.
fn block_faces(eye: &Eye, b: &Box3) -> Vec<Item> {
    let c = corners(b).map(|c| eye.point(c));
    let edge = || Some(Stroke::solid(width::SYMBOL, Ink::BLACK));
    let face = |i: [usize; 4]| -> Item {
        Shape::polygon(&i.map(|k| c[k]), edge(), Some(Ink::WHITE)).into()
    };
    // Top, the face towards the door, the face towards the right.
    vec![face([4, 5, 7, 6]), face([2, 3, 7, 6]), face([1, 3, 7, 5])]
}

/// An upright drum in its box.
fn drum(eye: &Eye, b: &Box3) -> Vec<Item> {
    let radius = b.w.min(b.d) / 2.0;
    let centre = |z: f64| eye.point(P3::new(b.x + b.w / 2.0, b.y + b.d / 2.0, z));
    let (top, bottom) = (centre(b.z + b.h), centre(b.z));
    let (a, h) = (radius * MAJOR / eye.scale, radius * MINOR / eye.scale);
    let edge = || Some(Stroke::solid(width::SYMBOL, Ink::BLACK));
    let mut side =
        vec![Seg::Move(P2::new(top.x - a, top.y)), Seg::Line(P2::new(bottom.x - a, bottom.y))];
    side.extend(half_ellipse(bottom, -a, h));
    side.push(Seg::Line(P2::new(top.x + a, top.y)));
    side.push(Seg::Close);
    let mut lid = vec![Seg::Move(P2::new(top.x - a, top.y))];
    lid.extend(half_ellipse(top, -a, -h));
    lid.extend(half_ellipse(top, a, h));
    lid.push(Seg::Close);
    [side, lid]
        .map(|path| Shape { mark: Mark::None, path, stroke: edge(), fill: Some(Ink::WHITE) }.into())
        .into()
}

/// From the end at `a` round to the end at `-a`, bulging by `h`.
fn half_ellipse(c: P2, a: f64, h: f64) -> [Seg; 2] {
    let p = |x: f64, y: f64| P2::new(c.x + x, c.y + y);
    let k = QUARTER;
    [
        Seg::Cubic(p(a, h * k), p(a * k, h), p(0.0, h)),
        Seg::Cubic(p(-a * k, h), p(-a, h * k), p(-a, 0.0)),
    ]
}

/// One straight of a pipe as a thing that hides what is behind it.
fn piece(eye: &Eye, a: P3, b: P3, od: f64, pipe: &crate::model::Pipe) -> (Thing, Option<Request>) {
    let half = od / 2.0;
    let bounds3 = Box3 {
        x: a.x.min(b.x) - half,
        y: a.y.min(b.y) - half,
        z: a.z.min(b.z) - half,
        w: (a.x - b.x).abs() + od,
        d: (a.y - b.y).abs() + od,
        h: (a.z - b.z).abs() + od,
    };
    let (p, q) = (eye.point(a), eye.point(b));
    let style = pen(pipe.service);
    let thick = (od / eye.scale).max(0.7);
    let of = || Mark::Of(pipe.id.clone());
    let line = |w: f64, ink: Ink, dash: &[f64]| -> Item {
        let stroke = Stroke { width: w, dash: dash.to_vec(), ink, round: true };
        Shape::line(&[p, q], stroke).mark(of()).into()
    };
    let mut items = vec![line(thick, style.ink, &[])];
    if thick > 1.0 {
        items.push(line(thick - 0.6, Ink::WHITE, &[]));
        items.push(line(0.25, style.ink, &style.dash));
    }
    let length = (a.x - b.x).abs() + (a.y - b.y).abs() + (a.z - b.z).abs();
    let middle = P2::new((p.x + q.x) / 2.0, (p.y + q.y) / 2.0);
    let request = (length > LABELLED).then(|| Request {
        of: pipe.id.clone(),
        text: pipe_text(pipe),
        anchor: middle,
        also: [0.3, 0.7, 0.15, 0.85]
            .map(|t| P2::new(p.x + (q.x - p.x) * t, p.y + (q.y - p.y) * t))
            .to_vec(),
        inside: None,
        half: thick / 2.0,
        upright: (p.x - q.x).abs() < 0.1,
        reach: 0.0,
        over: Vec::new(),
        under: Vec::new(),
    });
    if request.is_some() {
        items.push(arrow(&pipe.id, middle, p, q, style.ink, thick.min(1.6)));
    }
    let on_paper = bounds(eye, &bounds3);
    let kept_clear = along(p, q, thick);
    (Thing { bounds: bounds3, items, on_paper, kept_clear }, request)
}

/// A pipe that runs aslant, as squares along it.
fn along(p: P2, q: P2, thick: f64) -> Vec<Rect> {
    let (dx, dy) = (q.x - p.x, q.y - p.y);
    let steps = (dx.abs().max(dy.abs()) / thick).ceil().max(1.0);
    (0..=steps as usize)
        .map(|i| {
            let t = i as f64 / steps;
            Rect::new(p.x + dx * t - thick / 2.0, p.y + dy * t - thick / 2.0, thick, thick)
        })
        .collect()
}

/// An order in which to paint: farther before nearer for every pair that overlaps on paper.
fn front_last(things: &[Thing]) -> Vec<usize> {
    const HAIR: f64 = 1.0;
    // True where a is certainly before b, seen from the eye.
    let nearer = |a: &Box3, b: &Box3| {
        a.x >= b.x + b.w - HAIR || a.y >= b.y + b.d - HAIR || a.z >= b.z + b.h - HAIR
    };
    let n = things.len();
    let mut waits_for: Vec<Vec<usize>> = vec![Vec::new(); n];
    for i in 0..n {
        for j in i + 1..n {
            if !things[i].on_paper.overlaps(&things[j].on_paper) {
                continue;
            }
            let (a, b) = (&things[i].bounds, &things[j].bounds);
            match (nearer(a, b), nearer(b, a)) {
                (true, false) => waits_for[i].push(j),
                (false, true) => waits_for[j].push(i),
                _ => {}
            }
        }
    }
    let middle = |b: &Box3| b.x + b.y + b.z + (b.w + b.d + b.h) / 2.0;
    let mut left: Vec<usize> = (0..n).collect();
    left.sort_by(|i, j| {
        middle(&things[*i].bounds).total_cmp(&middle(&things[*j].bounds)).then(i.cmp(j))
    });
    let mut done = vec![false; n];
    let mut order = Vec::with_capacity(n);
    while !left.is_empty() {
        // Among those that wait for nothing the farthest; in a ring, simply the farthest.
        let next = left.iter().position(|i| waits_for[*i].iter().all(|j| done[*j])).unwrap_or(0);
        let i = left.remove(next);
        done[i] = true;
        order.push(i);
    }
    order
}

#[cfg(test)]
mod tests {
    use super::*;

    fn thing(bounds: Box3) -> Thing {
        let eye = Eye { scale: 10.0, at: P2::default() };
        let on_paper = super::bounds(&eye, &bounds);
        Thing { bounds, items: Vec::new(), on_paper, kept_clear: Vec::new() }
    }

    /// ISO 5456-3: the three axes meet at 120° and unit lengths along them are equal on paper.
    #[test]
    fn axes_are_equal_and_120_degrees_apart() {
        let eye = Eye { scale: 1.0, at: P2::default() };
        let axes = [P3::new(1.0, 0.0, 0.0), P3::new(0.0, 1.0, 0.0), P3::new(0.0, 0.0, 1.0)]
            .map(|p| eye.point(p));
        for (i, a) in axes.iter().enumerate() {
            let b = axes[(i + 1) % 3];
            assert!((a.x * a.x + a.y * a.y - 1.0).abs() < 1e-12);
            assert!((a.x * b.x + a.y * b.y + 0.5).abs() < 1e-12);
        }
    }

    #[test]
    fn the_nearer_is_painted_last() {
        let far = Box3 { x: 0.0, y: 0.0, z: 0.0, w: 100.0, d: 100.0, h: 2000.0 };
        let near = Box3 { x: 100.0, y: 150.0, z: 0.0, w: 50.0, d: 50.0, h: 50.0 };
        assert_eq!(front_last(&[thing(near), thing(far)]), [1, 0]);
        assert_eq!(front_last(&[thing(far), thing(near)]), [0, 1]);
    }
}
