//! What stands beside a view: the scale bar, the key to its lines and letters, the heights chain
//! and the tails in figures. In: the system, the plan, a place on the sheet. Out: their items.

use super::arrange::{Free, Wish};
use super::pipework::{break_line, pipe_text};
use super::section::ghost_line;
use super::view::{Projection, View};
use crate::draw::scene::{Anchor, Group, Ink, Item, Mark, SCALE_BAR, Shape, Stroke, Words};
use crate::draw::style::{letters, pen, width};
use crate::layout::cupboard::plan::{CupboardPlan, Owner, Solid};
use crate::lettering::{Weight, fitted, width as text_width, wrap};
use crate::model::{P2, Rect, Service, System, whole_mm};

/// Said of a pipe that the program could not lead to its end.
pub const UNROUTED: &str = "unrouted";

/// Between rows of figures.
pub const STEP: f64 = 4.4;

/// Width of a column of the key.
pub const KEY: f64 = 80.0;

/// Width of the table of tails.
pub const TAILS: f64 = 73.0;

/// Height of the scale bar with its figures.
const BAR: f64 = 11.0;

/// The line round what has no room or is in the way: dots, that nobody takes it for a pipe.
pub fn in_the_way() -> Stroke {
    Stroke { width: 0.9, dash: vec![0.01, 1.7], ink: Ink::ALARM, round: true }
}

fn scale_length(scale: f64) -> f64 {
    if scale < 10.0 { 500.0 } else { 1000.0 }
}

/// 1000 mm real (500 on large scales): it survives a copy at another size.
pub fn scale_bar(at: P2, scale: f64) -> Vec<Item> {
    let mm = |real: f64| at.x + real / scale;
    let mut items: Vec<Item> = Vec::new();
    let long = scale_length(scale);
    let step = long / 10.0;
    for i in 0..10 {
        let (x0, x1) = (mm(f64::from(i) * step), mm(f64::from(i + 1) * step));
        let fill = if i % 2 == 0 { Some(Ink::BLACK) } else { Some(Ink::WHITE) };
        let cell = Rect::new(x0, at.y, x1 - x0, 1.6);
        items.push(Shape::rect(cell, Some(Stroke::solid(width::THIN, Ink::BLACK)), fill).into());
    }
    for real in [0.0, long / 2.0, long] {
        let text = format!("{real:.0}");
        let words = Words::new(P2::new(mm(real), at.y - 1.2), text, letters::SMALL);
        items.push(words.anchor(Anchor::Middle).into());
    }
    items.push(Words::new(P2::new(mm(long) + 5.0, at.y + 1.9), "mm", letters::SMALL).into());
    vec![Group { mark: Mark::None, title: Some(SCALE_BAR.to_owned()), items }.into()]
}

/// Rows of figures, from the top of a room down to `foot`.
struct Rows {
    room: Rect,
    foot: f64,
    y: f64,
    items: Vec<Item>,
}

impl Rows {
    fn line(&mut self, cells: &[(f64, Anchor, &str)], bold: bool) {
        let rest = [(0.0, Anchor::Start, "… the rest: see the setting-out table")];
        let cells = if self.y > self.foot - STEP { &rest[..] } else { cells };
        if self.y > self.foot {
            return;
        }
        for (x, anchor, text) in cells {
            let weight = if bold { Weight::Bold } else { Weight::Regular };
            let free = if *anchor == Anchor::Start { self.room.w - x } else { *x };
            let text = fitted(text, letters::SMALL, weight, free);
            let at = P2::new(self.room.x + x, self.y);
            let mut words = Words::new(at, text, letters::SMALL).anchor(*anchor);
            words.weight = weight;
            self.items.push(words.into());
        }
        self.y += STEP;
    }
}

/// What the chain takes in width.
pub fn heights_width(plan: &CupboardPlan) -> f64 {
    let (items, _) = heights(plan, Rect::new(0.0, 0.0, KEY, 0.0), f64::MAX);
    let right = |item: &Item| match item {
        Item::Words(words) => words.on_paper().right(),
        _ => 0.0,
    };
    items.iter().map(right).fold(0.0, f64::max).ceil()
}

/// The heights chain in figures, down to `foot`; and where it ends.
pub fn heights(plan: &CupboardPlan, room: Rect, foot: f64) -> (Vec<Item>, f64) {
    let mut rows = Rows { room, foot, y: room.y, items: Vec::new() };
    for chain in &plan.heights {
        let head = match plan.heights.as_slice() {
            [_] => "Heights above FFL, and the room each has".to_owned(),
            _ => format!("Heights above FFL at {}, and the room each has", chain.tundish),
        };
        rows.line(&[(0.0, Anchor::Start, &head)], true);
        for link in &chain.links {
            let z = whole_mm(link.z);
            let slack = link.slack.map(|s| {
                format!(", {} {}", if s < 0.0 { "short by" } else { "slack" }, whole_mm(s.abs()))
            });
            let text = format!("{}{}", link.what, slack.unwrap_or_default());
            rows.line(&[(12.0, Anchor::End, &z), (15.0, Anchor::Start, &text)], false);
        }
        rows.y += STEP / 2.0;
    }
    (rows.items, rows.y)
}

/// Heights chain and tails in figures, down to `foot`; and where they end.
pub fn tables(system: &System, plan: &CupboardPlan, room: Rect, foot: f64) -> (Vec<Item>, f64) {
    let (mut items, y) = heights(plan, room, foot);
    let (more, y) = tails(system, plan, Rect { y, ..room }, foot);
    items.extend(more);
    (items, y)
}

/// The tails in figures, down to `foot`; and where they end.
pub fn tails(system: &System, plan: &CupboardPlan, room: Rect, foot: f64) -> (Vec<Item>, f64) {
    let mut rows = Rows { room, foot, y: room.y, items: Vec::new() };
    let mut tails: Vec<_> = plan
        .routes
        .iter()
        .filter_map(|r| r.exit.as_ref().map(|e| (system.pipe(r.pipe), e)))
        .collect();
    tails.sort_by(|(p, a), (q, b)| {
        a.at.z.total_cmp(&b.at.z).then(a.at.x.total_cmp(&b.at.x)).then(p.id.cmp(&q.id))
    });
    if !tails.is_empty() {
        let columns = [(40.0, "x"), (50.0, "y"), (60.0, "z")];
        let mut heading = vec![(0.0, Anchor::Start, "Tail"), (17.0, Anchor::Start, "through")];
        heading.extend(columns.iter().map(|(x, name)| (*x, Anchor::End, *name)));
        heading.push((TAILS, Anchor::End, "hole Ø"));
        rows.line(&heading, true);
        for (pipe, e) in tails {
            let text = pipe_text(pipe);
            let [x, yy, z, core] = [e.at.x, e.at.y, e.at.z, e.core].map(whole_mm);
            rows.line(
                &[
                    (0.0, Anchor::Start, &text),
                    (17.0, Anchor::Start, e.side.key()),
                    (40.0, Anchor::End, &x),
                    (50.0, Anchor::End, &yy),
                    (60.0, Anchor::End, &z),
                    (TAILS, Anchor::End, &core),
                ],
                false,
            );
            let moved: Vec<String> =
                e.moved(pipe).iter().map(|(n, v)| format!("{n} {}", whole_mm(*v))).collect();
            if !moved.is_empty() {
                let text = format!("! moved: stated {}; measure it again", moved.join(", "));
                rows.line(&[(3.0, Anchor::Start, &text)], true);
            }
        }
    }
    (rows.items, rows.y)
}

/// What hides what, in lines of a list; none where there is no room for it.
pub fn unseen(
    hidden: &[(String, Vec<String>)],
    title: &str,
    beyond: &str,
    free: &mut Free,
) -> Option<Vec<Item>> {
    if hidden.is_empty() {
        return Some(Vec::new());
    }
    let lines_of = |wide: f64| {
        let mut lines = vec![title.to_owned()];
        for (by, tags) in hidden {
            let text = format!("{beyond} {by}: {}", tags.join(", "));
            lines.extend(wrap(&text, letters::SMALL, Weight::Regular, wide));
        }
        lines
    };
    // Where only a narrow strip is left, in more lines.
    let (lines, at) = [KEY, KEY * 0.6].into_iter().find_map(|wide| {
        let lines = lines_of(wide);
        let at = free.take(wide, STEP * lines.len() as f64, Wish::Beside)?;
        Some((lines, at))
    })?;
    let mut items: Vec<Item> = Vec::new();
    for (i, line) in lines.into_iter().enumerate() {
        let at = P2::new(at.x, at.y + 3.0 + STEP * i as f64);
        let mut words = Words::new(at, line, letters::SMALL);
        words.weight = if i == 0 { Weight::Bold } else { Weight::Regular };
        items.push(words.into());
    }
    Some(items)
}

/// Length of a line in the key.
const SAMPLE: f64 = 16.0;

/// What a row of the key explains.
enum Sample {
    Line(Stroke),
    Ring,
    Break,
    Fall,
    Clip,
}

impl Sample {
    /// Drawn from a point to the right.
    fn drawn(self, p: P2) -> Vec<Item> {
        let thin = || Stroke::solid(width::THIN, Ink::BLACK);
        let at = |x: f64| P2::new(p.x + x, p.y);
        let middle = at(SAMPLE / 2.0);
        match self {
            Sample::Line(stroke) => vec![Shape::line(&[p, at(SAMPLE)], stroke).into()],
            Sample::Ring => {
                vec![Shape::circle(middle, 1.0, Some(thin()), Some(Ink::WHITE)).into()]
            }
            Sample::Break => [(0.0, 4.5, 4.5), (11.5, SAMPLE, 11.5)]
                .into_iter()
                .flat_map(|(from, to, end)| {
                    let line = Shape::line(&[at(from), at(to)], thin());
                    [line.into(), break_line(at(end), 0.7, false, Ink::BLACK).into()]
                })
                .collect(),
            Sample::Fall => {
                let words = Words::new(P2::new(middle.x, p.y + 1.2), "1:n →", letters::SMALL);
                vec![words.anchor(Anchor::Middle).into()]
            }
            Sample::Clip => {
                let tick = [P2::new(middle.x, p.y - 1.8), P2::new(middle.x, p.y + 1.8)];
                vec![Shape::line(&tick, Stroke::solid(width::SYMBOL, Ink::BLACK)).into()]
            }
        }
    }
}

/// The scale bar, and below it what the lines and the letters mean, of those that the view has, in
/// as few columns as find room. `windows`: where lies what pipes are broken off for, if any are;
/// `ghosts`: whether outlines of what lies before a cutting plane are drawn.
pub fn key(
    system: &System,
    plan: &CupboardPlan,
    view: &View,
    (windows, ghosts): (Option<&str>, bool),
    free: &mut Free,
) -> Option<Vec<Item>> {
    const PITCH: f64 = 4.6;
    let projection = view.projection;
    let flat = projection == Projection::Plan;
    let cupboard = system.site.cupboard.as_ref();
    let door = cupboard.is_some_and(|c| c.door.is_some());
    let joists = cupboard.is_some_and(|c| c.floor.attrs.text("joists").is_some());
    let lagged = plan.routes.iter().any(|r| r.lagging > 0.0);
    let chain = [6.0, 0.75, 0.5, 0.75, 0.5, 0.75];
    let grey = |dash: &[f64]| Stroke::dashed(width::THIN, dash, Ink::GREY);
    let opening = Stroke::dashed(width::THIN, &[6.0, 1.5, 1.0, 1.5, 1.0, 1.5], Ink::BLACK);
    let hidden = Stroke::dashed(width::THIN, &[2.4, 0.9], Ink::BLACK);
    let unrouted = plan.routes.iter().any(|r| !r.routed);
    let red = Stroke::dashed(0.7, &[3.0, 1.5], Ink::ALARM);
    let blocked = plan.faults.iter().any(|f| f.at.is_some());
    let lines = [
        (blocked, "round what has no room or is in the way", in_the_way()),
        (unrouted, "unrouted, what it joins: no free way found", red),
        (ghosts, "before the cutting plane, outline", ghost_line()),
        (true, "behind a body: fix before the cylinder", hidden),
        (lagged, "lagging", Stroke::dashed(0.18, &[1.6, 1.0], Ink::BLACK)),
        (
            door && projection == Projection::Front && view.section.is_none(),
            "door opening",
            opening,
        ),
        (projection != Projection::Front, "space to keep clear", grey(&chain)),
        (flat && joists, "joists", grey(&[6.0, 0.75, 0.75, 0.75])),
    ];
    let mut rows: Vec<(String, Sample)> = lines
        .into_iter()
        .filter(|(shown, ..)| *shown)
        .map(|(_, text, stroke)| (text.to_owned(), Sample::Line(stroke)))
        .collect();
    let services: std::collections::BTreeSet<_> =
        plan.routes.iter().map(|r| system.pipe(r.pipe).service).collect();
    let of = |s: Service| (format!("{}: {}", s.letters(), s.words()), Sample::Line(pen(s)));
    let discharges = services.contains(&Service::Discharge2);
    rows.extend(services.into_iter().map(of));
    let tapped = |s: &Solid| {
        let Owner::Part(ix) = s.owner else { return false };
        system.part(ix).is_store() && !s.ports.is_empty()
    };
    if plan.solids.iter().any(tapped) {
        rows.push(("connection of the cylinder; without a pipe: capped".to_owned(), Sample::Ring));
    }
    if let Some(beyond) = windows {
        rows.push((format!("broken off to show a pipe {beyond}"), Sample::Break));
    }
    if discharges {
        rows.push(("falls 1 in n, the way of the arrow".to_owned(), Sample::Fall));
    }
    rows.push(("clip".to_owned(), Sample::Clip));
    let long = |text: &str| text_width(text, letters::SMALL, Weight::Regular);
    let column = SAMPLE + 7.0 + rows.iter().map(|r| long(&r.0)).fold(0.0, f64::max);
    let (deep, at) = (1..=4).find_map(|columns| {
        let deep = rows.len().div_ceil(columns);
        let bar = scale_length(view.scale) / view.scale + 16.0;
        let wide = (columns as f64 * column).max(bar);
        Some((deep, free.take(wide, BAR + deep as f64 * PITCH, Wish::Under)?))
    })?;
    let bar = scale_bar(P2::new(at.x + 2.0, at.y + 5.0), view.scale);
    let at = P2::new(at.x, at.y + BAR + PITCH / 2.0);
    let mut items = Vec::new();
    let mut samples = Vec::new();
    for (i, (text, sample)) in rows.into_iter().enumerate() {
        let p = P2::new(at.x + (i / deep) as f64 * column, at.y + (i % deep) as f64 * PITCH);
        let words = P2::new(p.x + SAMPLE + 3.0, p.y + 1.2);
        items.push(Words::new(words, text, letters::SMALL).into());
        samples.extend(sample.drawn(p));
    }
    items.extend(samples);
    let title = Some("Key to the lines".to_owned());
    let group = Group { mark: Mark::None, title, items };
    Some(bar.into_iter().chain([group.into()]).collect())
}
