//! The pipework in isometric view (30° axes, after ISO 5456-3 and ISO 6412). In: the cupboard
//! plan. Out: one sheet, seen from the side on which less is hidden.

use std::collections::BTreeSet;

use super::callouts::{Callouts, has_a_face};
use super::eye::{COS, Eye, SIN, hole};
use super::labels::is_joint;
use super::margins::{Edge, Margin};
use super::scene::Scene;
use super::section::kind_of;
use crate::draw::documents::listed;
use crate::draw::frame::{TitleData, drawing_space, title_block};
use crate::draw::scene::{Ink, Item, Paper, Shape, Sheet, Stroke, Words};
use crate::draw::style::{letters, width};
use crate::layout::cupboard::plan::CupboardPlan;
use crate::lettering::{Weight, fitted, wrap};
use crate::model::{Box3, P2, P3, Rect, Side, System};

/// Worth the change of place: so many times as large.
const LARGER: f64 = 1.15;
/// Room for a column of labels on either side.
const LABELS: f64 = 30.0;
/// The view from the side on which less is hidden.
pub fn isometric(system: &System, plan: &CupboardPlan, data: &TitleData) -> Sheet {
    let [right, left] = [false, true].map(|from_left| seen_from(system, plan, data, from_left));
    if left.1 < right.1 { left.0 } else { right.0 }
}

/// The sheet as seen from one side, and how much that side hides.
fn seen_from(
    system: &System,
    plan: &CupboardPlan,
    data: &TitleData,
    from_left: bool,
) -> (Sheet, f64) {
    let plan = &if from_left { mirrored(plan) } else { plan.clone() };
    let side = if from_left { "left" } else { "right" };
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
    // What lies left of the far corner on paper.
    let aside = if from_left { r.w } else { r.d };
    let eye_in = |scale: f64, left: f64| Eye {
        scale,
        at: P2::new(left + aside * COS / scale, space.y + 10.0 + r.h / scale),
        from_left,
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
            format!("ISOMETRIC VIEW, from beyond the door, at the {side}, above"),
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
    let scene = Scene::new(system, plan, &eye);
    let (requests, unseen_names) = scene.requests(system, plan);
    let (obstacles, rings) = scene.kept_clear();
    let with_face = plan.solids.iter().zip(&scene.things).filter(|(_, t)| has_a_face(t.on_paper));
    let faces = with_face.map(|(s, t)| (s.tag.clone(), t.on_paper)).collect();
    let pipes = scene.pipes(system);
    let hides = scene.hides();
    items.extend(scene.painted());
    items.extend(holes(true));
    items.extend(cut_away(&eye, r));
    let faint = cut_edges(&eye, r).to_vec();
    let callouts =
        Callouts { requests, obstacles, pipes, rings, faces, faint, ..Callouts::default() };
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
    items.extend(unseen(&unseen_names, list, named.len()));
    items.extend(names(named, list));
    let sheet = Sheet {
        key: "isometric".to_owned(),
        title: "Isometric view of the pipework".to_owned(),
        description: format!("{} bodies and {} pipes.", plan.solids.len(), plan.routes.len()),
        paper,
        scale: None,
        items,
    };
    (sheet, hides)
}

/// The room as a mirror beside it shows it.
fn mirrored(plan: &CupboardPlan) -> CupboardPlan {
    let wide = plan.room.w;
    let point = |p: P3| P3::new(wide - p.x, p.y, p.z);
    let side = |side: Side| match side {
        Side::Left => Side::Right,
        Side::Right => Side::Left,
        other => other,
    };
    let mut plan = plan.clone();
    for solid in &mut plan.solids {
        solid.at.x = wide - solid.at.x - solid.at.w;
    }
    for route in &mut plan.routes {
        route.points.iter_mut().for_each(|p| *p = point(*p));
        if let Some(exit) = &mut route.exit {
            (exit.at, exit.side) = (point(exit.at), side(exit.side));
        }
    }
    plan
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
