//! Bodies in a scaled view. In: placed solids. Out: their true outlines, with just enough inside
//! for an engineer to know them: domes, coil, boss, bow tie, motor head.

use super::view::{Projection, View};
use crate::draw::scene::{Group, Ink, Item, Mark, Seg, Shape, Stroke};
use crate::draw::style::width;
use crate::layout::cupboard::plan::{Form, Owner, Solid};
use crate::model::{P2, Part, Rect, System, Unit};

/// The part or unit a solid stands for.
pub enum Thing<'a> {
    Part(&'a Part),
    Unit(&'a Unit),
}

impl<'a> Thing<'a> {
    pub fn of(system: &'a System, solid: &Solid) -> Thing<'a> {
        match solid.owner {
            Owner::Part(ix) => Thing::Part(system.part(ix)),
            Owner::Unit(ix) => Thing::Unit(system.unit(ix)),
        }
    }

    pub fn kind(&self) -> crate::catalogue::Kind {
        match self {
            Thing::Part(p) => p.kind,
            Thing::Unit(u) => u.kind,
        }
    }
}

/// Radius of a cylinder's vessel within its lagging, seen from above, as a share of its width.
pub const WALL: f64 = 0.42;

/// Radius of a tapping, mm.
pub const TAPPING: f64 = 11.0;

/// How far the handles of a vessel's membrane hang, as a share of its height.
pub const SAG: f64 = 0.08;

/// The group of one body, with its mark and title.
pub fn body(system: &System, solid: &Solid, view: &View) -> Item {
    let thing = Thing::of(system, solid);
    let kind = thing.kind();
    let on_paper = view.rect(&solid.at);
    let mut items = vec![outline(solid, view)];
    items.extend(inside(system, &thing, solid, view, on_paper));
    let b = solid.at;
    Group {
        mark: Mark::Part {
            tag: solid.tag.clone(),
            kind: kind.key.clone(),
            on_paper,
            real: Some([b.x, b.y, b.z, b.w, b.d, b.h]),
        },
        title: Some(format!("{}: {}", solid.tag, kind.words)),
        items,
    }
    .into()
}

/// The bare outline, for people who need no engineer's detail.
pub fn plain_body(system: &System, solid: &Solid, view: &View) -> Item {
    let thing = Thing::of(system, solid);
    let title = Some(thing.kind().words.clone());
    let items = vec![outline(solid, view)];
    Group { mark: Mark::None, title, items }.into()
}

fn edge(w: f64) -> Stroke {
    Stroke::solid(w, Ink::BLACK)
}

fn outline(solid: &Solid, view: &View) -> Item {
    silhouette(solid, view, edge(width::OUTLINE), Some(Ink::WHITE)).into()
}

/// The shape of a body as the view sees it.
pub fn silhouette(solid: &Solid, view: &View, stroke: Stroke, fill: Option<Ink>) -> Shape {
    let (r, stroke) = (view.rect(&solid.at), Some(stroke));
    if is_round(solid.form, view) {
        return Shape::circle(r.centre(), r.w.min(r.h) / 2.0, stroke, fill);
    }
    let mut shape = match solid.form {
        Form::Domed | Form::Upright => domed(r, arches(solid.form, r), stroke),
        _ => Shape::rect(r, stroke, None),
    };
    shape.fill = fill;
    shape
}

/// How far down the arches of its top and its bottom reach, as a view from the side sees it.
fn arches(form: Form, r: Rect) -> (f64, f64) {
    match form {
        Form::Domed => (r.h * 0.28, r.h * 0.28),
        Form::Upright => ((r.h * 0.05).min(r.w * 0.14), 0.0),
        _ => (0.0, 0.0),
    }
}

/// True where a view shows a body as a circle.
fn is_round(form: Form, view: &View) -> bool {
    match form {
        Form::Upright | Form::Domed => view.projection == Projection::Plan,
        Form::Lying => matches!(view.projection, Projection::Left | Projection::Right),
        Form::Box => false,
    }
}

/// From where to where along an upright or level line its silhouette reaches.
pub fn covered(
    solid: &Solid,
    r: Rect,
    view: &View,
    line: f64,
    upright: bool,
) -> Option<(f64, f64)> {
    let inside =
        if upright { r.x < line && line < r.right() } else { r.y < line && line < r.bottom() };
    if !inside {
        return None;
    }
    if is_round(solid.form, view) {
        let (c, radius) = (r.centre(), r.w.min(r.h) / 2.0);
        let (off, middle) = if upright { (line - c.x, c.y) } else { (line - c.y, c.x) };
        let half = (radius * radius - off * off).max(0.0).sqrt();
        return (half > 0.0).then_some((middle - half, middle + half));
    }
    let (top, foot) = arches(solid.form, r);
    if upright {
        let low = 1.0 - rise((line - r.x) / r.w);
        return Some((r.y + top * low, r.bottom() - foot * low));
    }
    let low = |depth: f64, arch: f64| if depth < arch { 1.0 - depth / arch } else { 0.0 };
    let risen = low(line - r.y, top).max(low(r.bottom() - line, foot));
    let t = (1.0 - (1.0 - risen).max(0.0).sqrt()) / 2.0;
    let off = across_at(t) * r.w;
    Some((r.x + off, r.right() - off))
}

/// Points along the arches of a body that a view shows from the side.
pub fn arch_points(solid: &Solid, r: Rect, view: &View) -> Vec<P2> {
    const PIECES: i32 = 32;
    if is_round(solid.form, view) {
        return Vec::new();
    }
    let (top, foot) = arches(solid.form, r);
    let along = (0..=PIECES).map(|i| f64::from(i) / f64::from(PIECES));
    let at = |t: f64| (r.x + across_at(t) * r.w, 1.0 - 4.0 * t * (1.0 - t));
    let both = along.map(at).flat_map(|(x, low)| {
        [(top, r.y + top * low), (foot, r.bottom() - foot * low)].map(|(arch, y)| (arch, x, y))
    });
    both.filter(|(arch, ..)| *arch > 0.0).map(|(_, x, y)| P2::new(x, y)).collect()
}

/// How far across an arch a step along its curve lies, and how high it stands so far across, both
/// as shares.
fn across_at(t: f64) -> f64 {
    let back = 1.0 - t;
    3.0 * back * back * t * HANDLE + 3.0 * back * t * t * (1.0 - HANDLE) + t * t * t
}

fn rise(across: f64) -> f64 {
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..30 {
        let t = f64::midpoint(low, high);
        if across_at(t) < across { low = t } else { high = t }
    }
    4.0 * low * (1.0 - low)
}

/// Where the handles of an arch stand, as a share of its width.
const HANDLE: f64 = 0.12;

/// A body with an arched top (and bottom).
fn domed(r: Rect, (top, bottom): (f64, f64), stroke: Option<Stroke>) -> Shape {
    let (l, t, rt, b) = (r.x, r.y, r.right(), r.bottom());
    // A cubic whose handles stand a third in makes a smooth shallow dome.
    let arch = |x0: f64, x1: f64, y: f64, peak: f64| {
        let handle = (x1 - x0) * HANDLE;
        let lift = y + (peak - y) * 1.333;
        Seg::Cubic(P2::new(x0 + handle, lift), P2::new(x1 - handle, lift), P2::new(x1, y))
    };
    let mut path = vec![Seg::Move(P2::new(l, t + top)), arch(l, rt, t + top, t)];
    path.push(Seg::Line(P2::new(rt, b - bottom)));
    if bottom > 0.0 {
        path.push(arch(rt, l, b - bottom, b));
    } else {
        path.push(Seg::Line(P2::new(l, b)));
    }
    path.push(Seg::Close);
    Shape { mark: Mark::None, path, stroke, fill: None }
}

fn inside(system: &System, thing: &Thing, solid: &Solid, view: &View, r: Rect) -> Vec<Item> {
    let kind = thing.kind();
    let name = kind.symbol.name.as_str();
    let thin = || edge(width::THIN);
    let c = r.centre();
    if let Some(head) = motor_head(name, view, r) {
        let valve = bow_tie(Rect::new(r.x, r.y + r.h * 0.65, r.w, r.h * 0.3));
        let head = Shape::rect(head, Some(thin()), None).into();
        return std::iter::once(head).chain(valve).collect();
    }
    match name {
        "cylinder" if view.projection != Projection::Plan => cylinder(system, solid, view, r),
        "cylinder" if solid.form == Form::Lying => Vec::new(),
        "cylinder" => {
            let ring = Shape::circle(c, r.w.min(r.h) * WALL, Some(thin()), None);
            vec![ring.into()]
        }
        "vessel" => {
            if view.projection == Projection::Plan {
                return Vec::new();
            }
            let sag = r.h * SAG;
            let path = vec![
                Seg::Move(P2::new(r.x, c.y)),
                Seg::Cubic(
                    P2::new(r.x + r.w * 0.3, c.y + sag),
                    P2::new(r.x + r.w * 0.7, c.y + sag),
                    P2::new(r.right(), c.y),
                ),
            ];
            vec![Shape { mark: Mark::None, path, stroke: Some(thin()), fill: None }.into()]
        }
        "pump" => {
            let radius = r.w.min(r.h) * 0.42;
            vec![Shape::circle(c, radius, Some(edge(width::SYMBOL)), None).into()]
        }
        "gauge" => vec![Shape::circle(c, r.w.min(r.h) * 0.4, Some(thin()), None).into()],
        "tundish" if view.projection != Projection::Plan => {
            let (top, throat) = (r.y + r.h * 0.3, r.w * 0.22);
            let funnel = [
                P2::new(r.x, top),
                P2::new(c.x - throat, r.bottom()),
                P2::new(c.x + throat, r.bottom()),
                P2::new(r.right(), top),
            ];
            vec![Shape::line(&funnel, edge(width::SYMBOL)).into()]
        }
        n if n.starts_with("valve-") || n == "drain-cock" => bow_tie(r),
        _ => Vec::new(),
    }
}

/// The motor on a valve that is seen from the side; `name`: of its symbol.
fn motor_head(name: &str, view: &View, r: Rect) -> Option<Rect> {
    let motor = matches!(name, "valve-motor" | "valve-three-port");
    (motor && view.projection != Projection::Plan).then_some(Rect { h: r.h * 0.6, ..r })
}

/// Where words stand on a body: on a valve's motor, else anywhere on it.
pub fn face(system: &System, solid: &Solid, view: &View, r: Rect) -> Rect {
    let kind = Thing::of(system, solid).kind();
    motor_head(&kind.symbol.name, view, r).unwrap_or(r)
}

/// Two triangles tip to tip across the box.
fn bow_tie(r: Rect) -> Vec<Item> {
    let c = r.centre();
    let (w, h) = (r.w * 0.8, (r.h * 0.7).min(r.w * 0.55));
    let (l, rt, t, b) = (c.x - w / 2.0, c.x + w / 2.0, c.y - h / 2.0, c.y + h / 2.0);
    let path = [P2::new(l, t), P2::new(rt, b), P2::new(rt, t), P2::new(l, b)];
    vec![Shape::polygon(&path, Some(edge(width::THIN)), None).into()]
}

/// Coil, ports and boss of a cylinder.
fn cylinder(system: &System, solid: &Solid, view: &View, r: Rect) -> Vec<Item> {
    let hidden = || Stroke::dashed(width::THIN, &[2.0, 1.0], Ink::BLACK);
    let mut items: Vec<Item> =
        coils(system, solid, view, r).iter().map(|c| Shape::line(c, hidden()).into()).collect();
    for port in &solid.ports {
        let at = view.point(port.at);
        let radius = TAPPING / view.scale;
        let dot = Shape::circle(at, radius.max(0.6), Some(edge(width::THIN)), Some(Ink::WHITE));
        items.push(dot.into());
    }
    items
}

/// The coils of a cylinder that is seen upright, each from its flow down to its return.
pub fn coils(system: &System, solid: &Solid, view: &View, r: Rect) -> Vec<Vec<P2>> {
    let Owner::Part(ix) = solid.owner else { return Vec::new() };
    let kind = system.part(ix).kind;
    if kind.symbol.name != "cylinder" || view.projection == Projection::Plan {
        return Vec::new();
    }
    let height = |name: &str| {
        let port = kind.port(name)?;
        let placed = solid.ports.iter().find(|p| p.port == port)?;
        Some(view.point(placed.at).y)
    };
    const LEGS: usize = 6;
    let (left, right) = (r.x + r.w * 0.22, r.x + r.w * 0.78);
    [("flow", "return"), ("solar flow", "solar return")]
        .into_iter()
        .filter_map(|(top, bottom)| Some((height(top)?, height(bottom)?)))
        .map(|(a, b)| {
            let leg = |i: usize| {
                let y = a + (b - a) * i as f64 / LEGS as f64;
                P2::new(if i.is_multiple_of(2) { left } else { right }, y)
            };
            (0..=LEGS).map(leg).collect()
        })
        .collect()
}
