//! The picture for the cupboard door: their own cupboard from the front, at most twelve plain
//! labels in the order a person would act, what to turn and what never to close. In: the sized
//! system and the cupboard. Out: one sheet. No abbreviations, no pipe sizes, no lid to open.

mod boxes;
mod known;
mod marks;

use self::boxes::{Boxes, boxes};
use self::known::{Label, labels};
use self::marks::{Face, Wanted, face, places};
use crate::check::Report;
use crate::draw::cupboard::{Projection, View, plain_body};
use crate::draw::frame::space_above_strip;
use crate::draw::scene::{Anchor, Group, Ink, Item, Mark, Paper, Shape, Sheet, Stroke, Words};
use crate::layout::cupboard::plan::{CupboardPlan, Owner, Solid};
use crate::lettering::{self, Weight, wrap};
use crate::model::{P2, Rect, Service, System, Water};
use crate::size::Sized;

/// 14 point letters: 4.94 mm em, 3.45 mm capitals.
const LETTERS: f64 = 3.5;
const TITLE_LETTERS: f64 = 5.0;
const TITLE: &str = "Your hot water cupboard";
const LINE: f64 = 5.4;
const BALLOON: f64 = 3.4;
/// The least width of the picture of a cupboard that is not wide, and of the words between it and the
/// boxes.
const PICTURE: f64 = 104.0;
const NARROWEST: f64 = 52.0;
/// How much lower the picture may become, in steps, mm.
const SHRINK: f64 = 4.0;
const SHRINKS: u32 = 8;
/// From so many times its height a cupboard is wide.
const WIDE: f64 = 1.4;
/// The householder's sheet.
pub fn householder(sized: &Sized, plan: Option<&CupboardPlan>) -> Sheet {
    let system = &sized.system;
    let paper = Paper::A4_LANDSCAPE;
    let space = space_above_strip(paper).grown(-5.0);
    let mut items: Vec<Item> = Vec::new();
    let mut said = String::from("Your hot water cupboard, seen from the door.");
    let title = Words::new(P2::new(space.x, space.y + 4.0), TITLE, TITLE_LETTERS);
    items.push(title.bold().into());
    let whole = Rect::new(space.x, space.y + 8.0, space.w, space.h - 8.0);
    // The picture takes the left; words stand at its right, or below a cupboard that is wide and
    // low.
    let wide = plan.is_some_and(|p| p.room.w > WIDE * p.room.h);
    let all = plan.map_or_else(Vec::new, |p| labels(sized, p));
    // The boxes say nothing that depends on how large the picture is.
    let Boxes { room: beside, items: boxes, end: boxes_end, said: said_in_boxes } =
        boxes(system, plan, &all, whole);
    let room = |w: f64, h: f64| Rect::new(whole.x, whole.y, w, h);
    let picture_w = match plan {
        _ if wide => beside.x - 6.0 - whole.x,
        Some(plan) => widest(system, plan, &all, whole, beside.x - 6.0),
        None => PICTURE,
    };
    // A picture without its key says little: it gives up some of its height where the key finds no
    // room otherwise.
    let with_height = |n: u32| {
        let picture = room(picture_w, whole.h - SHRINK * f64::from(n));
        let labels = plan.map_or_else(|| all.clone(), |p| hidden_said(system, p, picture, &all));
        let lists = Lists::of(plan, picture, whole, beside, wide, &labels);
        let key = plan.and_then(|p| {
            let rooms = rooms_for_key(p, picture, &lists, whole, beside, boxes_end);
            let looks = looks(system, p);
            rooms.into_iter().find(|r| key_depth(&looks, r.w) <= r.h)
        });
        (picture, labels, lists, key)
    };
    let mut tried = (0..=SHRINKS).map(with_height);
    let (picture, labels, lists, room_for_key) =
        tried.find(|(.., key)| key.is_some()).unwrap_or_else(|| with_height(0));
    if let Some(plan) = plan {
        let view = view(plan, picture);
        items.extend(draw_picture(system, plan, &labels, &view, picture));
    }
    for (n, label, at) in lists.placed(&labels) {
        said.push_str(&format!(" {n}: {}.", label.text));
        items.extend(balloon(n, P2::new(at.x + BALLOON, at.y - LETTERS / 2.0)));
        let wrapped = wrap(&label.text, LETTERS, Weight::Regular, words_of(lists.column));
        for (i, line) in wrapped.into_iter().enumerate() {
            let y = at.y + LINE * i as f64;
            items.push(Words::new(P2::new(at.x + 9.0, y), line, LETTERS).into());
        }
    }
    if let (Some(plan), Some(room)) = (plan, room_for_key) {
        items.extend(key(&looks(system, plan), room));
    }
    items.extend(boxes);
    said.push_str(&said_in_boxes);
    Sheet {
        key: "householder".to_owned(),
        title: "Customer guide".to_owned(),
        description: said,
        paper,
        scale: None,
        items,
    }
}

/// Where the words stand: in one column beside the picture, or in two below a wide one.
struct Lists {
    room: Rect,
    columns: usize,
    /// Width of a column.
    column: f64,
    /// Where the words of each column end.
    ends: Vec<f64>,
}

impl Lists {
    fn of(
        plan: Option<&CupboardPlan>,
        picture: Rect,
        whole: Rect,
        beside: Rect,
        wide: bool,
        labels: &[Label],
    ) -> Lists {
        let (columns, room) = if wide {
            let foot = plan.map_or(whole.y, |p| view(p, picture).outline().bottom());
            let high = foot - whole.y + 6.0;
            (2, Rect::new(whole.x, whole.y + high, picture.w, whole.h - high))
        } else {
            let left = picture.right() + 6.0;
            (1, Rect::new(left, whole.y, beside.x - 6.0 - left, whole.h))
        };
        let column = room.w / columns as f64;
        let mut lists = Lists { room, columns, column, ends: vec![room.y; columns] };
        let each = lists.each(labels);
        for (k, part) in labels.chunks(each).enumerate() {
            let depth = |l: &Label| {
                let lines = wrap(&l.text, LETTERS, Weight::Regular, words_of(column)).len();
                lines as f64 * LINE + BETWEEN
            };
            lists.ends[k] = room.y + part.iter().map(depth).sum::<f64>();
        }
        lists
    }

    fn each(&self, labels: &[Label]) -> usize {
        labels.len().div_ceil(self.columns).max(1)
    }

    /// Each label with its number, and where its first line begins.
    fn placed<'a>(&self, labels: &'a [Label<'a>]) -> Vec<(usize, &'a Label<'a>, P2)> {
        let each = self.each(labels);
        let mut all = Vec::new();
        for (k, part) in labels.chunks(each).enumerate() {
            let mut at = P2::new(self.room.x + k as f64 * self.column, self.room.y + LETTERS);
            for (i, label) in part.iter().enumerate() {
                all.push((k * each + i + 1, label, at));
                let lines = wrap(&label.text, LETTERS, Weight::Regular, words_of(self.column));
                // Balloons of labels of one line keep apart.
                at.y += lines.len() as f64 * LINE + BETWEEN;
            }
        }
        all
    }
}

/// Where the key may stand, the better first: under the picture, below a column of words, across the
/// foot of the sheet, below the boxes.
fn rooms_for_key(
    plan: &CupboardPlan,
    picture: Rect,
    lists: &Lists,
    whole: Rect,
    beside: Rect,
    boxes_end: f64,
) -> Vec<Rect> {
    const APART: f64 = 3.0;
    let foot = view(plan, picture).outline().bottom() + APART;
    let down_to_foot = |x: f64, y: f64, w: f64| Rect::new(x, y, w, whole.bottom() - y);
    let mut rooms = Vec::new();
    if lists.columns == 1 {
        rooms.push(down_to_foot(picture.x, foot, lists.room.x - 1.0 - picture.x));
    }
    for (k, end) in lists.ends.iter().enumerate().rev() {
        let x = lists.room.x + k as f64 * lists.column;
        rooms.push(down_to_foot(x, *end, lists.column));
    }
    let words = lists.ends.iter().copied().fold(foot, f64::max);
    rooms.push(down_to_foot(whole.x, words, lists.room.right() - whole.x));
    rooms.push(down_to_foot(whole.x, words.max(boxes_end + APART), whole.w));
    rooms.push(down_to_foot(beside.x, boxes_end + APART, beside.w));
    rooms
}

/// The labels, those of what is not to be seen in a picture of that size with what it is behind.
fn hidden_said<'a>(
    system: &System,
    plan: &CupboardPlan,
    picture: Rect,
    labels: &[Label<'a>],
) -> Vec<Label<'a>> {
    let mut said = labels.to_vec();
    say_hidden(system, plan, &view(plan, picture), &mut said);
    said
}

/// Says at the top of a sheet that is drawn already whether it may hang on the door, in plain words.
pub fn say_not_valid(sheet: &mut Sheet, report: &Report) {
    let stands = report.errors() + report.unread_lines() > 0;
    let text = if report.errors() > 0 {
        "NOT VALID. The design has faults: do not use this sheet."
    } else if stands {
        "NOT VALID. Not all of the description was read: do not use this sheet."
    } else if report.is_out_of_scope() {
        "NOT VALID. Nobody has checked all of this: do not use this sheet."
    } else if report.warnings() > 0 {
        "Not settled yet: ask your installer before you use this sheet."
    } else {
        return;
    };
    let grave = stands || report.is_out_of_scope();
    let space = space_above_strip(sheet.paper).grown(-5.0);
    let title = lettering::width(TITLE, TITLE_LETTERS, Weight::Bold);
    let at = Rect::new(space.x + title + 6.0, space.y - 4.2, space.w - title - 6.0, 8.4);
    let (edge, ink, full) = if grave { (1.4, Ink::ALARM, 5.5) } else { (0.5, Ink::BLACK, LETTERS) };
    // As large as goes into the box.
    let wide = lettering::width(text, full, Weight::Bold);
    let height = (full * (at.w - 6.0) / wide).min(full);
    let line = Words::new(P2::new(at.centre().x, at.centre().y + height / 2.0), text, height);
    sheet.items.push(Shape::rect(at, Some(Stroke::solid(edge, ink)), Some(Ink::WHITE)).into());
    sheet.items.push(line.bold().ink(ink).anchor(Anchor::Middle).into());
    sheet.description = format!("{text} {}", sheet.description);
}

/// What stands too high for the cupboard is drawn over it, below the heading.
fn view(plan: &CupboardPlan, room: Rect) -> View {
    let over = plan.solids.iter().map(|s| s.at.z + s.at.h - plan.room.h).fold(0.0, f64::max);
    let scale = (plan.room.w / room.w).max((plan.room.h + over) / room.h).max(1.0);
    View::new(Projection::Front, scale, plan.room, P2::new(room.x, room.y + over / scale))
}

/// How wide the picture may be so that it fills the height and the words still find room beside it,
/// up to `right`.
fn widest(system: &System, plan: &CupboardPlan, labels: &[Label], whole: Rect, right: f64) -> f64 {
    const STEP: f64 = 2.0;
    let full = whole.h * plan.room.w / plan.room.h;
    let fits = |w: &f64| {
        // A number may stand right of the cupboard.
        let column = right - (whole.x + w + 6.0);
        let picture = Rect::new(whole.x, whole.y, *w, whole.h);
        let said = hidden_said(system, plan, picture, labels);
        let lines = |l: &Label| wrap(&l.text, LETTERS, Weight::Regular, words_of(column)).len();
        let words: f64 = said.iter().map(|l| lines(l) as f64 * LINE + BETWEEN).sum();
        column >= NARROWEST && words <= whole.h
    };
    let tried = (0..).map(|i| PICTURE + STEP * f64::from(i)).take_while(|w| *w <= full);
    tried.filter(fits).fold(PICTURE, f64::max)
}

/// Between the words of two labels; what of a column the words of one have.
const BETWEEN: f64 = 2.5;

fn words_of(column: f64) -> f64 {
    column - 13.0
}

/// Between the rows of the key to the pipes.
const PENS: f64 = 5.4;

/// How pipes look in the picture, each look once, with what it carries in plain words.
fn looks(system: &System, plan: &CupboardPlan) -> Vec<(Look, Service)> {
    let services = plan.routes.iter().map(|r| system.pipe(r.pipe).service);
    let mut looks: Vec<(Look, Service)> = services.map(|s| (Look::of(s), s)).collect();
    looks.sort_by_key(|(look, _)| *look);
    looks.dedup_by_key(|(look, _)| *look);
    looks
}

/// Length of a line in the key, and where its words begin.
const PEN: (f64, f64) = (10.5, 12.5);

/// How wide a column of the key is, and how many go beside each other.
fn key_columns(looks: &[(Look, Service)], wide: f64) -> (f64, usize) {
    let words = |l: &(Look, Service)| lettering::width(l.0.words(), LETTERS, Weight::Regular);
    let column = PEN.1 + looks.iter().map(words).fold(0.0, f64::max) + 3.0;
    (column, ((wide + 3.0) / column).floor().max(1.0) as usize)
}

fn key_depth(looks: &[(Look, Service)], wide: f64) -> f64 {
    PENS * looks.len().div_ceil(key_columns(looks, wide).1) as f64
}

/// The key at the foot of a room.
fn key(looks: &[(Look, Service)], room: Rect) -> Vec<Item> {
    let (column, columns) = key_columns(looks, room.w);
    let top = room.bottom() - key_depth(looks, room.w) + PENS / 2.0;
    let row = |(i, (look, service)): (usize, &(Look, Service))| -> [Item; 2] {
        let (x, y) = (room.x + (i % columns) as f64 * column, top + PENS * (i / columns) as f64);
        let line = [P2::new(x, y), P2::new(x + PEN.0, y)];
        let words = Words::new(P2::new(x + PEN.1, y + LETTERS / 2.0), look.words(), LETTERS);
        [Shape::line(&line, simple_pen(*service)).into(), words.into()]
    };
    looks.iter().enumerate().flat_map(row).collect()
}

/// Whoever looks for a part that is not to be seen is told what it is behind.
fn say_hidden(system: &System, plan: &CupboardPlan, view: &View, labels: &mut [Label]) {
    let outlines = outlines(plan, view);
    let bodies: Vec<Rect> = outlines.iter().map(|(_, r)| *r).collect();
    let mut said: Vec<Vec<String>> = Vec::new();
    for label in &*labels {
        let mut behind: Vec<String> = Vec::new();
        for solid in &label.solids {
            let Some(i) = outlines.iter().position(|(s, _)| std::ptr::eq(*s, *solid)) else {
                continue;
            };
            let Face::Behind(cover) = face(&bodies, i) else { continue };
            let cover = outlines[cover].0;
            let n = labels.iter().position(|l| l.solids.iter().any(|s| std::ptr::eq(*s, cover)));
            let words = match cover.owner {
                Owner::Part(ix) => &system.part(ix).kind.words,
                Owner::Unit(ix) => &system.unit(ix).kind.words,
            };
            behind.push(match n {
                Some(n) => format!("the {words} ({})", n + 1),
                None => format!("the {words}"),
            });
        }
        said.push(behind);
    }
    for (label, behind) in labels.iter_mut().zip(said) {
        let one = if label.solids.len() > 1 { "one is " } else { "" };
        for what in behind {
            label.text.push_str(&format!("; {one}behind {what}"));
        }
    }
}

fn draw_picture(
    system: &System,
    plan: &CupboardPlan,
    labels: &[Label],
    view: &View,
    room: Rect,
) -> Vec<Item> {
    let mut items: Vec<Item> =
        vec![Shape::rect(view.outline(), Some(Stroke::solid(0.7, Ink::BLACK)), None).into()];
    let mut stack: Vec<(f64, Vec<Item>)> = plan
        .solids
        .iter()
        .map(|s| (view.front_of(&s.at), vec![plain_body(system, s, view)]))
        .collect();
    for route in plan.routes.iter().filter(|r| r.routed) {
        let service = system.pipe(route.pipe).service;
        let points: Vec<P2> = route.points.iter().map(|p| view.point(*p)).collect();
        let depth = route.points.iter().map(|p| view.nearness(*p)).fold(f64::MAX, f64::min);
        // What runs in front hides what runs behind it: dots on another line would be read as one.
        let pen = simple_pen(service);
        let casing = Stroke::solid(pen.width + 2.0 * CASING, Ink::WHITE);
        let lines = vec![Shape::line(&points, casing).into(), Shape::line(&points, pen).into()];
        stack.push((depth, lines));
    }
    stack.sort_by(|a, b| a.0.total_cmp(&b.0));
    items.extend(stack.into_iter().flat_map(|(_, i)| i));
    items.extend(numbers(plan, labels, view, room));
    vec![Group { mark: Mark::None, title: Some("Your cupboard".to_owned()), items }.into()]
}

/// White on either side of a pipe.
const CASING: f64 = 0.35;

/// The outlines in the picture, the nearest last, each with its solid.
fn outlines<'a>(plan: &'a CupboardPlan, view: &View) -> Vec<(&'a Solid, Rect)> {
    let mut list: Vec<(f64, &Solid)> =
        plan.solids.iter().map(|s| (view.front_of(&s.at), s)).collect();
    list.sort_by(|a, b| a.0.total_cmp(&b.0));
    list.into_iter().map(|(_, s)| (s, view.rect(&s.at))).collect()
}

/// A part that is not to be seen has its number beside what stands before it.
fn numbers(plan: &CupboardPlan, labels: &[Label], view: &View, room: Rect) -> Vec<Item> {
    let outlines = outlines(plan, view);
    let bodies: Vec<Rect> = outlines.iter().map(|(_, r)| *r).collect();
    let mut wanted: Vec<Wanted> = Vec::new();
    let mut bears: Vec<(usize, bool)> = Vec::new();
    for (n, label) in labels.iter().enumerate() {
        for solid in &label.solids {
            let Some(i) = outlines.iter().position(|(s, _)| std::ptr::eq(*s, *solid)) else {
                continue;
            };
            let own = bodies[i];
            let (at, seen, hidden) = match face(&bodies, i) {
                Face::Seen(at, seen) => (at, seen, false),
                Face::Behind(_) => (own.centre(), Vec::new(), true),
            };
            let before = bodies[i + 1..].iter().filter(|b| b.overlaps(&own));
            wanted.push(Wanted { at, seen, own, covers: before.copied().collect() });
            bears.push((n + 1, hidden));
        }
    }
    let inside = view.outline();
    // Beside the cupboard, too, where the words leave room.
    let all =
        Rect::new(inside.x, inside.y, (room.right() + 4.0 - inside.x).max(inside.w), inside.h);
    let places = places(&wanted, &bodies, BALLOON, inside, all);
    let mut items: Vec<Item> = Vec::new();
    for (set, (_, hidden)) in places.iter().zip(&bears).filter(|(s, _)| s.beside) {
        let pen = match hidden {
            true => Stroke::dashed(0.25, &[1.0, 0.8], Ink::BLACK),
            false => Stroke::solid(0.25, Ink::BLACK),
        };
        items.push(Shape::line(&[set.end, set.at], pen).into());
        if !hidden {
            items.push(Shape::circle(set.end, 0.5, None, Some(Ink::BLACK)).into());
        }
    }
    for ((n, _), set) in bears.iter().zip(&places) {
        items.extend(balloon(*n, set.at));
    }
    items
}

fn balloon(n: usize, at: P2) -> Vec<Item> {
    let edge = Stroke::solid(0.5, Ink::BLACK);
    vec![
        Shape::circle(at, BALLOON, Some(edge), Some(Ink::WHITE)).into(),
        Words::new(P2::new(at.x, at.y + 1.4), n.to_string(), 2.8)
            .bold()
            .anchor(Anchor::Middle)
            .into(),
    ]
}

/// All that a householder tells apart of what pipes carry.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Look {
    Cold,
    Hot,
    Flow,
    Return,
    Solar,
    Safety,
}

impl Look {
    fn of(service: Service) -> Look {
        match (service.water(), service) {
            (Water::Solar, _) => Look::Solar,
            (_, Service::HeatingReturn | Service::FloorReturn) => Look::Return,
            (Water::Primary, _) => Look::Flow,
            (Water::Discharge, _) => Look::Safety,
            (_, Service::HotWater | Service::HotBlended | Service::HotReturn) => Look::Hot,
            _ => Look::Cold,
        }
    }

    fn words(self) -> &'static str {
        match self {
            Look::Cold => "cold water",
            Look::Hot => "hot water",
            Look::Flow => "heating, going out",
            Look::Return => "heating, coming back",
            Look::Solar => "solar heating",
            Look::Safety => "safety pipe",
        }
    }
}

fn simple_pen(service: Service) -> Stroke {
    let (width, dash, ink): (f64, &[f64], &'static str) = match Look::of(service) {
        Look::Flow => (1.0, &[4.0, 1.2, 1.2, 1.2], "b00020"),
        Look::Return => (0.7, &[1.8, 0.9], "003f8c"),
        Look::Solar => (0.8, &[3.0, 0.8, 0.8, 0.8, 0.8, 0.8], "6b3d00"),
        Look::Safety => (0.8, &[1.2, 1.2], "000000"),
        Look::Hot => (1.0, &[4.0, 1.5], "a34a00"),
        Look::Cold => (1.0, &[], "0072b2"),
    };
    Stroke { width, dash: dash.to_vec(), ink: Ink(ink), round: false }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::layout::cupboard::plan::{Form, Held};
    use crate::model::{Box3, PartIx, Side};

    /// A tank too tall for its cupboard is drawn whole, below the heading and above the words.
    #[test]
    fn a_tall_tank_stays_in_the_picture() {
        let room = Box3 { x: 0.0, y: 0.0, z: 0.0, w: 900.0, d: 600.0, h: 1000.0 };
        let tank = Solid {
            owner: Owner::Part(PartIx(0)),
            tag: "CYL1".to_owned(),
            form: Form::Upright,
            at: Box3 { x: 100.0, y: 20.0, z: 0.0, w: 500.0, d: 500.0, h: 1200.0 },
            fixed_to: Side::Floor,
            held: Held::To(Side::Floor),
            access: Vec::new(),
            ports: Vec::new(),
        };
        let plan = CupboardPlan { room, solids: vec![tank], ..CupboardPlan::default() };
        let picture = Rect::new(20.0, 30.0, 104.0, 160.0);
        let view = view(&plan, picture);
        let drawn = view.rect(&plan.solids[0].at);
        assert!(drawn.y >= picture.y - 1e-9 && view.outline().bottom() <= picture.bottom());
        assert!(view.outline().y > drawn.y);
    }
}
