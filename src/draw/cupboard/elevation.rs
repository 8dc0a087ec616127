//! The elevation, the plan, and sections that look at a side wall which has something to show. In: the
//! sized system, the cupboard plan, the title data. Out: undressed sheets.

use super::arrange::{DIMENSIONS, Free, OVER_DATUM, Way, Wish, foot_of, ways};
use super::bodies::{body, silhouette};
use super::clips::ticks;
use super::cutting::{above, aside, marks};
use super::guests::{Guest, hosted};
use super::labels::{Beside, LABELS, Labelled, TOP, beyond, labels, margins};
use super::lists::{
    KEY, STEP, TAILS, heights, heights_width, in_the_way, key, tables, tails, unseen,
};
use super::measured::{dimensions, features};
use super::pipework::{Layer, Run, centre_line, layers};
use super::room::{accesses, door_plan, room};
use super::section::{Section, ghost_line, outlined, sections, seen};
use super::sight::{broken, look_at};
use super::view::{Projection, View};
use super::walls::{any_on_the_wall, on_the_wall};
use crate::draw::frame::{TitleData, capital, drawing_space, title_block};
use crate::draw::quality::measure;
use crate::draw::scene::{Ink, Item, Mark, Shape, Sheet, Stroke, Words};
use crate::draw::style::{letters, pen, width};
use crate::layout::cupboard::plan::{CupboardPlan, Solid};
use crate::model::{P2, Rect, Side, System, whole_mm};
use crate::size::Sized;

/// Width of the table of a wall.
const WALL_TABLE: f64 = 108.0;
/// What a table weighs that another sheet has to give, mm of leader for each label.
const LEFT_OUT: f64 = 2.0;
/// What is hidden and stands in no list.
const UNSAID: f64 = 6.0;
/// Each other label near a label.
const CROWDED: f64 = 1.2;
/// What it is worth that another view needs no sheet of its own.
const GUEST: f64 = 6.0;
/// That its heights are not level with those of the view beside it.
const UNEVEN: f64 = 3.0;
/// Lines that nobody can tell apart.
const WITHOUT_KEY: f64 = 50.0;

/// One drawing of the room.
pub struct Wanted {
    pub projection: Projection,
    pub key: String,
    title: String,
    pub heading: String,
    pub section: Option<Section>,
}

/// A sheet that may be drawn, what it costs its reader, and which views it has beside its own.
struct Made {
    sheet: Sheet,
    cost: f64,
    guests: Vec<String>,
}

/// The elevation, the plan, and the sections that have something to show: on the white of the plan
/// or of the elevation where that has room, else on sheets of their own.
///
/// Where a section through the crowd would leave a pipe without its name, it is left out: what it
/// shows stands in the setting-out table too.
pub fn sheets(sized: &Sized, plan: &CupboardPlan, data: &TitleData) -> Vec<Sheet> {
    let few = sections(&sized.system, plan, false);
    let all = sections(&sized.system, plan, true);
    if all.len() > few.len() {
        let with = set(sized, plan, data, &all);
        if with.iter().all(|sheet| measure(sheet).hard_total == 0) {
            return with;
        }
    }
    set(sized, plan, data, &few)
}

/// The sheets of a cupboard with those sections.
fn set(sized: &Sized, plan: &CupboardPlan, data: &TitleData, cuts: &[Section]) -> Vec<Sheet> {
    let whole = |projection, key: &str, heading: &str| Wanted {
        projection,
        key: key.to_owned(),
        title: format!("Cupboard {key}"),
        heading: heading.to_owned(),
        section: None,
    };
    let mut apart: Vec<Wanted> = cuts
        .iter()
        .map(|section| Wanted {
            projection: section.projection(),
            key: format!("elevation-{}", section.wall.key()),
            title: format!("Section {}, {} wall", section.name(), section.wall.key()),
            heading: format!("SECTION {}", section.name()),
            section: Some(*section),
        })
        .collect();
    let mut drawn = |wanted: &Wanted| {
        let mut made = sheet(sized, plan, data, wanted, cuts, &apart);
        let (here, rest): (Vec<Wanted>, Vec<Wanted>) =
            std::mem::take(&mut apart).into_iter().partition(|w| made.guests.contains(&w.key));
        apart = rest;
        let names: Vec<String> = here.iter().filter_map(|w| w.section).map(|s| s.name()).collect();
        match &names[..] {
            [] => {}
            [one] => made.sheet.title.push_str(&format!(", section {one}")),
            all => made.sheet.title.push_str(&format!(", {}", all.join(", "))),
        }
        made.sheet
    };
    let flat = drawn(&whole(Projection::Plan, "plan", "PLAN"));
    let upright = drawn(&whole(Projection::Front, "elevation", "ELEVATION"));
    let own = apart.iter().map(|w| sheet(sized, plan, data, w, cuts, &[]).sheet);
    [upright, flat].into_iter().chain(own).collect()
}

/// The sheet on the paper and at the scale at which it reads best.
fn sheet(
    sized: &Sized,
    plan: &CupboardPlan,
    data: &TitleData,
    wanted: &Wanted,
    cuts: &[Section],
    apart: &[Wanted],
) -> Made {
    let flat = wanted.projection == Projection::Plan;
    let beside = if flat { aside(cuts) } else { 0.0 };
    let above = above_of(wanted.projection, plan);
    let room = wanted.section.map_or(plan.room, |s| s.room(&plan.room));
    let mut ways = ways(wanted.projection, &room, above, beside, data);
    if !apart.is_empty() {
        let pushed: Vec<Way> = ways.iter().filter_map(Way::pushed).collect();
        ways.extend(pushed);
    }
    let composed = |apart: &[Wanted]| {
        let made = ways.iter().map(|way| composed(sized, plan, data, wanted, (cuts, apart), way));
        made.min_by(|a, b| a.cost.total_cmp(&b.cost)).expect("there is always a way")
    };
    let with = composed(apart);
    if with.guests.is_empty() {
        return with;
    }
    let without = composed(&[]);
    if without.cost < with.cost { without } else { with }
}

/// How far what does not fit reaches over a view's outline, mm.
pub fn above_of(projection: Projection, plan: &CupboardPlan) -> f64 {
    if projection == Projection::Plan {
        return 0.0;
    }
    let over = plan.solids.iter().map(|s| s.at.z + s.at.h - plan.room.h);
    over.fold(0.0, f64::max)
}

/// The sheet on one paper at one scale, and what it costs its reader.
fn composed(
    sized: &Sized,
    plan: &CupboardPlan,
    data: &TitleData,
    wanted: &Wanted,
    (cuts, apart): (&[Section], &[Wanted]),
    way: &Way,
) -> Made {
    let system = &sized.system;
    let flat = wanted.projection == Projection::Plan;
    let space = drawing_space(way.paper);
    let block = title_block(way.paper, data);
    let room = wanted.section.map_or(plan.room, |s| s.room(&plan.room));
    let mut view = View::new(wanted.projection, f64::from(way.scale), room, way.at);
    view.section = wanted.section;
    let cut_down = wanted.section.map(|s| seen(system, plan, &s));
    let shown = cut_down.as_ref().unwrap_or(plan);
    let o = view.outline();
    let meets = o.right() + LABELS > block.x && o.bottom() > block.y;
    let foot = if meets { block.y - 3.0 } else { o.bottom() };
    let ghosts = wanted.section.map_or_else(Vec::new, |s| outlined(system, plan, &s));
    let marks_at = if flat { above(&view, cuts, TOP) } else { Vec::new() };
    let aside = if flat { aside(cuts) } else { 0.0 };
    let right = LABELS.min(space.right() - 1.0 - aside - o.right());
    let beside = Beside { foot, right, left: way.left, top: way.top, marks: marks_at };
    let drawn = draw(sized, shown, &view, &ghosts, &beside);
    let heading = format!("{}, {}", wanted.heading, wanted.projection.words());
    let over = if flat { OVER_DATUM } else { 0.0 };
    let heading = Words::new(P2::new(o.x, o.y - 4.0 - over), heading, letters::HEADING).bold();
    let mut round = [&drawn.beside[..], &beside.marks[..]].concat();
    // What does not fit under the ceiling is drawn over it.
    round.extend(shown.solids.iter().map(|s| view.rect(&s.at)).filter(|r| r.y < o.y - 0.5));
    let words = clear_of(heading, &round, space);
    round.push(words.on_paper());
    let mut items: Vec<Item> = vec![words.into()];
    items.extend(drawn.items);
    if flat {
        let left = o.x - drawn.left - DIMENSIONS;
        let (cutting, taken) = marks(&view, cuts, left, &drawn.beside);
        round.extend(taken);
        items.extend(cutting);
    }
    let mut free = Free::around(&view, foot_of(wanted.projection), space, block, &round);
    let mut guests: Vec<Guest> = Vec::new();
    for guest in apart {
        guests.extend(hosted(sized, plan, guest, &view, &mut free));
    }
    if way.wide && guests.is_empty() {
        free = free.in_a_row();
    }
    let windows = drawn.windows.then(|| beyond(&view));
    let ghosts = !ghosts.is_empty() || guests.iter().any(|g| g.ghosts);
    let key = key(system, shown, &view, (windows, ghosts), &mut free);
    let unread = key.is_none();
    items.extend(key.into_iter().flatten());
    let (lists, left_out) = in_figures(system, plan, &view, &mut free);
    items.extend(lists);
    let unseen = unseen(&drawn.hidden, "Not seen from here", beyond(&view), &mut free);
    let unsaid = unseen.is_none();
    items.extend(unseen.into_iter().flatten());
    let used = guests.iter().map(|g| g.size.0 * g.size.1).sum();
    let hosts = guests.iter().map(|g| g.key.clone()).collect();
    let uneven = guests.iter().filter(|g| g.uneven).count();
    let more = GUEST * guests.len() as f64 - UNEVEN * uneven as f64;
    items.extend(guests.into_iter().map(|g| g.drawn));
    if flat {
        items.extend(door_plan(system, plan, &mut free, view.scale));
    }
    let weight = |what: bool, weight: f64| if what { weight } else { 0.0 };
    let cost = way.cost(&view, drawn.cost, used, space, block) - more
        + LEFT_OUT * left_out as f64
        + weight(unread, WITHOUT_KEY)
        + weight(unsaid, UNSAID);
    let sheet = Sheet {
        key: wanted.key.clone(),
        title: wanted.title.clone(),
        description: describe(system, shown),
        paper: way.paper,
        scale: Some(way.scale),
        items,
    };
    Made { sheet, cost, guests: hosts }
}

/// The heading of a view above it: a little to the right of what stands there, else over it, and
/// where that would leave the paper beside it.
fn clear_of(heading: Words, round: &[Rect], space: Rect) -> Words {
    const APART: f64 = 2.5;
    const A_LITTLE: f64 = 40.0;
    let hit = |words: &Words| {
        let own = words.on_paper();
        let over = |r: &&Rect| r.grown(APART - 0.1).overlaps(&own);
        round.iter().filter(over).copied().collect::<Vec<_>>()
    };
    let aside = |mut words: Words| {
        while let Some(last) = hit(&words).iter().map(Rect::right).reduce(f64::max) {
            words.at.x += last + APART - words.on_paper().x;
        }
        words
    };
    let mut over = heading.clone();
    while let Some(first) = hit(&over).iter().map(|r| r.y).reduce(f64::min) {
        over.at.y -= over.on_paper().bottom() + APART - first;
    }
    let beside = aside(heading.clone());
    if beside.at.x - heading.at.x < A_LITTLE && beside.on_paper().right() < space.right() {
        return beside;
    }
    if over.on_paper().y > space.y + 1.0 {
        return over;
    }
    let highest = heading.at.y.min(space.y + 2.0 + heading.height);
    aside(Words { at: P2::new(heading.at.x, highest), ..heading })
}

/// Heights and tails in figures, and of a section what is on its wall: as one list, or in two where
/// only that finds room. Returns how many lists other sheets have to give.
fn in_figures(
    system: &System,
    plan: &CupboardPlan,
    view: &View,
    free: &mut Free,
) -> (Vec<Item>, usize) {
    type List<'a> = Box<dyn Fn(Rect, f64) -> (Vec<Item>, f64) + 'a>;
    let (wide, whole, parts): (f64, List, Vec<(&str, f64, List)>) = match view.section {
        // What is on the back wall has a sheet of its own.
        Some(section) if section.wall == Side::Back || !any_on_the_wall(system, plan, &section) => {
            return (Vec::new(), 0);
        }
        Some(section) => {
            let list = move |room, foot| on_the_wall(system, plan, view, &section, room, foot);
            (WALL_TABLE, Box::new(list), Vec::new())
        }
        None => (
            TAILS.max(heights_width(plan)),
            Box::new(|room, foot| tables(system, plan, room, foot)),
            vec![
                ("heights", heights_width(plan), Box::new(|room, foot| heights(plan, room, foot))),
                ("tails", TAILS, Box::new(|room, foot| tails(system, plan, room, foot))),
            ],
        ),
    };
    let mut items = Vec::new();
    let mut put = |wide: f64, list: &List, free: &mut Free| {
        let high = list(Rect::new(0.0, 0.0, wide, 0.0), f64::MAX).1 + STEP;
        let Some(at) = free.take(wide, high, Wish::Beside) else { return false };
        items.extend(list(Rect::new(at.x, at.y + 3.0, wide, 0.0), at.bottom()).0);
        true
    };
    if put(wide, &whole, free) {
        return (items, 0);
    }
    let mut left_out: Vec<&str> = Vec::new();
    for (name, wide, list) in &parts {
        if !put(*wide, list, free) {
            left_out.push(name);
        }
    }
    if parts.is_empty()
        && let Some(at) = free.largest(wide)
    {
        items.extend(whole(Rect::new(at.x, at.y + 3.0, wide, 0.0), at.bottom()).0);
        return (items, 1);
    }
    if !left_out.is_empty()
        && let Some(at) = free.take(KEY, STEP, Wish::Beside)
    {
        let note = format!("{} in figures: see the setting-out table.", left_out.join(" and "));
        items.push(Words::new(P2::new(at.x, at.y + 3.0), capital(&note), letters::SMALL).into());
    }
    (items, left_out.len())
}

/// A view with its dimensions and labels.
pub struct Drawn {
    pub items: Vec<Item>,
    /// What a label costs on average, mm of leader.
    pub cost: f64,
    /// What stands in the margins, and how deep in the left one.
    pub beside: Vec<Rect>,
    left: f64,
    pub hidden: Vec<(String, Vec<String>)>,
    /// True where a pipe is broken off to show another behind it.
    windows: bool,
}

pub fn draw(
    sized: &Sized,
    plan: &CupboardPlan,
    view: &View,
    outlined: &[&Solid],
    beside: &Beside,
) -> Drawn {
    let system = &sized.system;
    let mut items: Vec<Item> = Vec::new();
    items.extend(room(system, view));
    items.extend(accesses(plan, view));
    for route in &plan.routes {
        items.push(centre_line(system, route, view));
    }
    let (painted, runs, windows) = painted(system, plan, view);
    items.extend(painted);
    items.extend(behind(system, &runs));
    items.extend(links(system, plan, view));
    let tick = |(a, b)| line(a, b, Stroke::solid(width::SYMBOL, Ink::BLACK));
    items.extend(ticks(plan, view, &runs).into_iter().map(tick));
    for solid in outlined {
        let shape = silhouette(solid, view, ghost_line(), None);
        items.push(shape.mark(Mark::Of(solid.tag.clone())).into());
    }
    let (across, heights) = features(plan, view, &runs);
    let levels: Vec<f64> = heights.iter().map(|f| f.paper).collect();
    let margins = margins(view, beside, &levels);
    let Labelled { placed, arrows, hidden } = labels(system, plan, view, &runs, outlined, &margins);
    items.extend(arrows);
    items.extend(placed.items);
    items.extend(faults(plan, view));
    items.extend(dimensions(view, placed.left, across, heights));
    let cost = placed.cost / (placed.count.max(1)) as f64 + CROWDED * placed.crowd;
    Drawn { items, cost, beside: placed.beside, left: placed.left, hidden, windows }
}

/// Everything with a depth, farthest first; the straights; whether pipes are broken off to show others.
fn painted(system: &System, plan: &CupboardPlan, view: &View) -> (Vec<Item>, Vec<Run>, bool) {
    let mut stack: Vec<Layer> = plan
        .solids
        .iter()
        .map(|s| Layer { nearness: view.front_of(&s.at), items: vec![body(system, s, view)] })
        .collect();
    let mut runs = Vec::new();
    for route in &plan.routes {
        let (layers, straights) = layers(system, route, view);
        stack.extend(layers);
        runs.extend(straights);
    }
    let bodies: Vec<(&Solid, Rect)> = plan.solids.iter().map(|s| (s, view.rect(&s.at))).collect();
    let windows = look_at(system, &mut runs, &bodies, view);
    let opened = !windows.is_empty();
    stack.extend(windows);
    // Stable: equal depths keep the order of the graph.
    stack.sort_by(|a, b| a.nearness.total_cmp(&b.nearness));
    (stack.into_iter().flat_map(|l| l.items).collect(), runs, opened)
}

fn line(a: P2, b: P2, stroke: Stroke) -> Item {
    Shape::line(&[a, b], stroke).into()
}

/// Pipes behind a body, as hidden lines over it.
fn behind(system: &System, runs: &[Run]) -> Vec<Item> {
    let mut items = Vec::new();
    for run in runs {
        let Some(pipe) = system.by_id(&run.id) else { continue };
        for (a, b) in broken(run) {
            let stroke = Stroke::dashed(width::THIN, &[2.4, 0.9], pen(pipe.service).ink);
            items.push(Shape::line(&[a, b], stroke).mark(Mark::Of(run.id.clone())).into());
        }
    }
    items
}

/// What joins what where no route was found, over everything: it is no pipe.
fn links(system: &System, plan: &CupboardPlan, view: &View) -> Vec<Item> {
    let unrouted = plan.routes.iter().filter(|r| !r.routed && r.points.len() > 1);
    unrouted
        .map(|r| {
            let points: Vec<P2> = r.points.iter().map(|p| view.point(*p)).collect();
            let stroke = Stroke::dashed(0.7, &[3.0, 1.5], Ink::ALARM);
            let of = Mark::Of(system.pipe(r.pipe).id.clone());
            Shape::line(&points, stroke).mark(of).into()
        })
        .collect()
}

/// What can't be done, outlined in red.
fn faults(plan: &CupboardPlan, view: &View) -> Vec<Item> {
    plan.faults
        .iter()
        .filter_map(|f| f.at)
        .map(|b| Shape::rect(view.rect(&b), Some(in_the_way()), None).into())
        .collect()
}

/// The view in words.
fn describe(system: &System, plan: &CupboardPlan) -> String {
    let [w, d, h] = [plan.room.w, plan.room.d, plan.room.h].map(whole_mm);
    let mut text = format!("Cupboard {w} wide, {d} deep, {h} high, mm.");
    for solid in &plan.solids {
        let b = solid.at;
        let [x, y, z] = [b.x + b.w / 2.0, b.y + b.d / 2.0, b.z].map(whole_mm);
        text.push_str(&format!(" {} at x {x}, y {y}, z {z}.", solid.tag));
    }
    text.push_str(&format!(" {} pipes.", plan.routes.len().min(system.pipes.len())));
    text
}
