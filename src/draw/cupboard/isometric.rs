//! The pipework in isometric view (30° axes, after ISO 5456-3 and ISO 6412). In: the cupboard
//! plan. Out: one sheet; what is nearer hides what is farther, in an order that is worked out pair
//! by pair, so no body shows through another.

use std::collections::{BTreeMap, BTreeSet};

use super::callouts::{Callouts, has_a_face};
use super::eye::{
    COS, Eye, SIN, Thing, along, block_edges, block_face, block_faces, bounds, drum, drum_edges,
    drum_face, front_last, hole,
};
use super::labels::is_joint;
use super::margins::{Edge, Margin};
use super::pipework::{LABELLED, arrow, pipe_text};
use super::request::Request;
use super::section::kind_of;
use crate::draw::documents::listed;
use crate::draw::frame::{TitleData, drawing_space, title_block};
use crate::draw::scene::{Group, Ink, Item, Mark, Paper, Shape, Sheet, Stroke, Words};
use crate::draw::style::{letters, pen, width};
use crate::layout::cupboard::plan::{CupboardPlan, Form, Solid};
use crate::lettering::{Weight, fitted, wrap};
use crate::model::{Box3, P2, P3, Pipe, Rect, Side, System};

/// Worth the change of place: so many times as large.
const LARGER: f64 = 1.15;
/// Room for a column of labels on either side.
const LABELS: f64 = 30.0;
/// White kept along the edges of a body.
const EDGE: f64 = 1.0;

pub fn isometric(system: &System, plan: &CupboardPlan, data: &TitleData) -> Sheet {
    let paper = Paper::A3;
    let space = drawing_space(paper).grown(-5.0);
    let block = title_block(paper, data);
    let r = plan.room;
    let (across, down) = ((r.w + r.d) * COS, (r.w + r.d) * SIN + r.h);
    // Left of the title block and past its corner, or above it where that shows the room clearly
    // larger and the names find their place below.
    let named = named(system, plan);
    let below = Rect::new(space.x, block.y + 4.0, block.x - space.x - 6.0, block.h - 6.0);
    let over = (space.w, block.y - space.y - 14.0);
    let above_in = (across / (over.0 - 2.0 * LABELS)).max(down / over.1).max(1.0);
    let wide = space.w - 2.0 * LABELS - COLUMN - 4.0;
    let mut beside_in = (across / wide).max(down / (space.h - 12.0)).max(1.0);
    let eye_in = |scale: f64, left: f64| Eye {
        scale,
        at: P2::new(left + r.d * COS / scale, space.y + 10.0 + r.h / scale),
    };
    let spare = |scale: f64| ((block.x - space.x - 4.0 - across / scale) / 2.0).max(LABELS);
    while meets(&eye_in(beside_in, space.x + spare(beside_in)), &r, &block) {
        beside_in *= 1.01;
    }
    let above = above_in * LARGER < beside_in && rows_in(below) * 2 >= named.len();
    let scale = if above { above_in } else { beside_in };
    let left = space.x + if above { (over.0 - across / scale) / 2.0 } else { spare(scale) };
    let eye = eye_in(scale, left);
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
    let exits = plan.routes.iter().filter_map(|r| r.exit.as_ref());
    let holes = |near: bool| {
        let on = exits.clone().filter(move |e| (e.side == Side::Right) == near);
        on.map(|e| {
            let edge = Stroke::solid(width::SYMBOL, Ink::BLACK);
            Item::from(Shape::polygon(&hole(&eye, e), Some(edge), None))
        })
    };
    items.extend(holes(false));
    let mut things: Vec<Thing> = plan
        .solids
        .iter()
        .map(|s| {
            let kind = kind_of(system, s);
            let on_paper = bounds(&eye, &s.at);
            let round = is_round(s);
            let shapes = if round { drum(&eye, &s.at) } else { block_faces(&eye, &s.at) };
            // Bodies overlap on paper here by right: no mark that rules for flat sheets count.
            let mark = Mark::Of(s.tag.clone());
            let title = Some(format!("{}: {}", s.tag, kind.words));
            let items = vec![Group { mark, title, items: shapes }.into()];
            let edges = if round { drum_edges(&eye, &s.at) } else { block_edges(&eye, &s.at) };
            let kept_clear = if has_a_face(on_paper) {
                edges.into_iter().flat_map(|(p, q)| along(p, q, EDGE)).collect()
            } else {
                vec![on_paper]
            };
            Thing { bounds: s.at, round, items, on_paper, kept_clear }
        })
        .collect();
    let mut wanted: Vec<(usize, Request)> = Vec::new();
    let mut straights: Vec<Vec<Straight>> = Vec::new();
    let mut short: Vec<Straight> = Vec::new();
    for route in plan.routes.iter().filter(|r| r.routed) {
        let pipe = system.pipe(route.pipe);
        let mut own = Vec::new();
        for pair in route.points.windows(2) {
            let (thing, length, request) = piece(&eye, pair[0], pair[1], route.od, pipe);
            let of = if length > LABELLED || route.exit.is_some() { &mut own } else { &mut short };
            of.push((things.len(), length, request));
            things.push(thing);
        }
        straights.push(own);
    }
    // A service that has no long straight has its name on a short one.
    let service = |r: &Request| system.by_id(&r.of).map(|p| p.service);
    let long: BTreeSet<_> = straights.iter().flatten().map(|(.., r)| service(r)).collect();
    let mut others: BTreeMap<_, Vec<Straight>> = BTreeMap::new();
    for straight in short {
        others.entry(service(&straight.2)).or_default().push(straight);
    }
    others.retain(|service, _| !long.contains(service));
    straights.extend(others.into_values());
    for (i, s) in plan.solids.iter().enumerate().filter(|(_, s)| !is_joint(system, s)) {
        wanted.push((i, tag(&eye, s, &things[i])));
    }
    let order = front_last(&things);
    let mut place = vec![0; things.len()];
    for (at, i) in order.iter().enumerate() {
        place[*i] = at;
    }
    let later = |of: usize| {
        let place = &place;
        (0..place.len()).filter(move |j| place[*j] > place[of])
    };
    let hidden = |p: P2, of: usize| later(of).any(|j| eye.sees(p, &things[j]));
    let visible = |of: usize, request: Request| -> Option<Request> {
        let seen = |p: &P2| eye.sees(*p, &things[of]) && !hidden(*p, of);
        let mut points = request.everywhere().map(|r| r.anchor).filter(seen);
        let anchor = points.next()?;
        let also = points.collect();
        // On the face of what is nearer its label would be another's.
        let faces = later(of).map(|j| &things[j]).filter(|t| has_a_face(t.on_paper));
        let under = faces.map(|t| t.on_paper).filter(|r| r.overlaps(&things[of].on_paper));
        Some(Request { anchor, also, under: under.collect(), ..request })
    };
    let (mut requests, mut hidden_tags) = (Vec::new(), Vec::new());
    for (of, request) in wanted {
        let tag = request.of.clone();
        match visible(of, request) {
            Some(request) => requests.push(request),
            None => hidden_tags.push(tag),
        }
    }
    // A pipe is named once, on the longest of its straights that is seen.
    for own in straights {
        let text = own.first().map(|(.., request)| request.text.clone());
        let seen = own.into_iter().filter_map(|(of, l, request)| Some((l, visible(of, request)?)));
        let longest = seen.reduce(|a, b| if b.0 > a.0 { b } else { a });
        match longest {
            Some((_, request)) => requests.push(request),
            None => hidden_tags.extend(text.filter(|t| !hidden_tags.contains(t))),
        }
    }
    // A pipe like one that is seen needs no mention.
    hidden_tags.retain(|tag| !requests.iter().any(|r| r.text == *tag));
    let (mut obstacles, mut rings) = (Vec::new(), Vec::new());
    for (i, thing) in things.iter().enumerate() {
        let kept = thing.kept_clear.iter().copied();
        let edges = thing.kept_clear.len() > 1 && i < plan.solids.len();
        let seen = kept.filter(|r| r.w > 2.0 * EDGE || !hidden(r.centre(), i));
        if edges { rings.extend(seen) } else { obstacles.extend(seen) }
    }
    for i in &order {
        items.append(&mut things[*i].items);
    }
    items.extend(holes(true));
    items.extend(cut_away(&eye, r));
    let with_face = plan.solids.iter().zip(&things).filter(|(_, t)| has_a_face(t.on_paper));
    let faces = with_face.map(|(s, t)| (s.tag.clone(), t.on_paper)).collect();
    let faint = cut_edges(&eye, r).to_vec();
    let callouts = Callouts { requests, obstacles, rings, faces, faint, ..Callouts::default() };
    let whole = Rect::new(left, space.y + 10.0, across / scale, down / scale);
    let column = |x: f64, h: f64| Rect::new(x, space.y + 8.0, LABELS, h);
    let margin = |edge: Edge, at: Rect| Margin { edge, at, taken: Vec::new() };
    let deep = if above { over.1 } else { space.h - 12.0 };
    let margins = [
        margin(Edge::Left, column(whole.x - LABELS, deep)),
        margin(Edge::Right, column(whole.right(), block.y - space.y - 14.0)),
    ];
    items.extend(callouts.place(whole, &margins).items);
    let x = (block.x + 4.0).max(whole.right() + LABELS + 4.0);
    let right = Rect::new(x, space.y + 8.0, space.right() - x, block.y - space.y - 12.0);
    let list = if above { below } else { right };
    items.extend(unseen(&hidden_tags, list, named.len()));
    items.extend(names(named, list));
    Sheet {
        key: "isometric".to_owned(),
        title: "Isometric view of the pipework".to_owned(),
        description: format!("{} bodies and {} pipes.", plan.solids.len(), plan.routes.len()),
        paper,
        scale: None,
        items,
    }
}

/// Which thing it is, its length, and what wants to be said of it.
type Straight = (usize, f64, Request);

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

/// True for what stands as an upright drum.
fn is_round(solid: &Solid) -> bool {
    matches!(solid.form, Form::Upright | Form::Domed)
}

/// The tag of a body, on its face where that is wide enough.
fn tag(eye: &Eye, solid: &Solid, thing: &Thing) -> Request {
    const HALF: i32 = 3;
    let r = thing.on_paper;
    let c = r.centre();
    let mut steps: Vec<(i32, i32)> =
        (-HALF..=HALF).flat_map(|i| (-HALF..=HALF).map(move |j| (i, j))).collect();
    steps.sort_by_key(|(i, j)| (i * i + j * j, *j, *i));
    let part = |v: f64, i: i32| v * 0.42 * f64::from(i) / f64::from(HALF);
    let also = steps[1..].iter().map(|(i, j)| P2::new(c.x + part(r.w, *i), c.y + part(r.h, *j)));
    let face = if thing.round { drum_face(eye, &solid.at) } else { block_face(eye, &solid.at) };
    Request {
        also: also.collect(),
        is_tag: true,
        inside: has_a_face(r).then_some(face).filter(|f| f.w > 6.0 && f.h > 6.0),
        ..Request::new(&solid.tag, solid.tag.clone(), c)
    }
}

/// True where the room would come near the title block.
fn meets(eye: &Eye, r: &Box3, block: &Rect) -> bool {
    const APART: f64 = 5.0;
    // Along the edge of the floor that is nearest to the block.
    let edge = |i: i32| eye.point(P3::new(r.w, r.d * f64::from(i) / 40.0, 0.0));
    (0..=40).map(edge).any(|p| p.x > block.x - APART && p.y > block.y - APART)
}

/// What cannot be seen, below so many names.
fn unseen(tags: &[String], at: Rect, after: usize) -> Vec<Item> {
    if tags.is_empty() || after >= rows_in(at) {
        return Vec::new();
    }
    let text = format!("Not seen from here: {}", tags.join(", "));
    let rows = wrap(&text, letters::SMALL, Weight::Regular, COLUMN);
    let row = |(i, line): (usize, String)| {
        let y = at.y + (after + i) as f64 * ROW + letters::SMALL + ROW / 2.0;
        Words::new(P2::new(at.x, y), line, letters::SMALL).into()
    };
    rows.into_iter().enumerate().map(row).collect()
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

/// The edges of the wall at the right and the front, through which the eye looks.
fn cut_away(eye: &Eye, r: Box3) -> Vec<Item> {
    cut_edges(eye, r)
        .iter()
        .map(|(a, b)| [*a, *b])
        .map(|e| Shape::line(&e, Stroke::dashed(width::THIN, &[6.0, 3.0], Ink::GREY)).into())
        .collect()
}

fn cut_edges(eye: &Eye, r: Box3) -> [(P2, P2); 3] {
    let p = |x: f64, y: f64, z: f64| eye.point(P3::new(x, y, z));
    let near = p(r.w, r.d, r.h);
    [(p(r.w, 0.0, r.h), near), (near, p(r.w, r.d, 0.0)), (near, p(0.0, r.d, r.h))]
}

/// One straight of a pipe as a thing that hides what is behind it.
fn piece(eye: &Eye, a: P3, b: P3, od: f64, pipe: &Pipe) -> (Thing, f64, Request) {
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
    let at = |t: f64| P2::new(p.x + (q.x - p.x) * t, p.y + (q.y - p.y) * t);
    let request = Request {
        also: [0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.1, 0.9].map(at).to_vec(),
        half: thick / 2.0,
        upright: (p.x - q.x).abs() < 0.1,
        ..Request::new(&pipe.id, pipe_text(pipe), middle)
    };
    if length > LABELLED {
        items.push(arrow(&pipe.id, middle, p, q, style.ink, thick.min(1.6)));
    }
    let on_paper = bounds(eye, &bounds3);
    let kept_clear = along(p, q, thick);
    (Thing { bounds: bounds3, round: false, items, on_paper, kept_clear }, length, request)
}
