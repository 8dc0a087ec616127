//! The terminal diagram: every core from its device to the terminal it lands on, with its colour in
//! letters at both ends. In: netlist and strip plan. Out: undressed sheets. Immersion heaters, whose
//! circuits pass no strip, are drawn as chains.

use super::boxes::{BOX_LINE, band, beside, box_words, edge, needed, pin_name};
use super::chain::{CHAIN, chain, row};
use super::cores::{code, core};
use super::names::name;
use super::page::{Page, sheets_of, words};
use super::symbols::dot;
use crate::draw::frame::{TitleData, capital};
use crate::draw::scene::{Anchor, Ink, Paper, Shape, Sheet, Stroke, Words};
use crate::draw::style::{letters, width};
use crate::layout::wiring::members::members;
use crate::layout::wiring::strip::{DeviceBox, Far, Pin, StripPlan, strip};
use crate::layout::wiring::tracks::Track;
use crate::lettering::{Weight, fitted};
use crate::model::{P2, Rect};
use crate::wire::netlist::{DeviceKind, Wiring, terminal_of};

/// Half a pin pitch, mm: the least at which labels clear each other, and the most that looks well.
const LEAST_HALF: f64 = 2.6;
const MOST_HALF: f64 = 4.2;
/// Least width of a device, half pitches.
const LEAST_BOX: i32 = 12;
/// Least depth of a device's box; more where its words need it.
const BOX: f64 = 27.0;
const STRIP: f64 = 10.0;
/// Room for the labels of cores at devices and of addresses at the strip.
const AT_DEVICE: f64 = 10.0;
/// The same where a core leaves for another sheet and says whither.
const AT_DEVICE_AWAY: f64 = 17.5;
const AT_STRIP: f64 = 13.0;
/// From an outer edge to the earth bus.
const BUS: f64 = 6.0;
const TRACK: f64 = 2.6;
/// Room for the letters of an earth beside its core.
const GNYE_WIDTH: f64 = 9.0;
/// A level stretch from this length carries the core's letters once more.
const LONG: f64 = 24.0;
/// Devices in a row for which a small sheet is wide enough.
const ON_A4: usize = 3;
/// Room for the notes on a small sheet.
const SMALL_NOTES: f64 = 28.0;
/// Between two diagrams on one sheet.
const GAP: f64 = 4.0;

/// Undressed sheets `wiring-terminals`, `wiring-terminals-2`, ….
pub fn terminals(w: &Wiring, data: &TitleData) -> Vec<Sheet> {
    // A heater or two without a wiring centre leave an A3 empty.
    let strips =
        w.device("X1").is_some() || w.of_kind(DeviceKind::FloorController).next().is_some();
    let short = w.supplies.iter().filter(|s| s.new_circuit).all(|s| row(w, s).len() <= ON_A4);
    let small = !strips && short && w.of_kind(DeviceKind::ChangeoverSwitch).next().is_none();
    let paper = if small { Paper::A4_LANDSCAPE } else { Paper::A3 };
    let mut pages = vec![Page::on(paper, data)];
    let mut room = pages[0].room;
    let mut y = room.y;
    let most = ((room.w - 14.0) / LEAST_HALF) as i32;
    let hubs: Vec<String> = w
        .of_kind(DeviceKind::FloorController)
        .map(|d| d.id.clone())
        .chain(w.of_kind(DeviceKind::ChangeoverSwitch).map(|_| "Q11".to_owned()))
        .collect();
    let mut plans: Vec<(StripPlan, String)> = Vec::new();
    if w.device("X1").is_some() {
        for (i, part) in split(w, members(w, "X1"), most).into_iter().enumerate() {
            let title = if i == 0 { "Wiring centre X1" } else { "Wiring centre X1, continued" };
            plans.push((strip(w, "X1", &part, false, LEAST_BOX, most), title.to_owned()));
        }
    }
    for hub in &hubs {
        let mut list = members(w, hub);
        list.retain(|g| !g.iter().any(|d| d == "X1"));
        let words = w.device(hub).map(|d| capital(&d.words)).unwrap_or_default();
        let title = format!("{words}, {}", name(w, hub));
        plans.push((strip(w, hub, &list, true, LEAST_BOX, most), title));
    }
    let chains: Vec<_> =
        w.supplies.iter().filter(|s| s.new_circuit && !hubs.contains(&s.isolator)).collect();
    for (i, (plan, title)) in plans.iter().enumerate() {
        // What is to come on the same sheet, if it fits, keeps its room.
        let rest = |w_room: f64| -> f64 {
            let plans = plans[i + 1..].iter();
            plans.map(|(p, _)| depth(w, p, TRACK, w_room) + GAP).sum::<f64>()
                + chains.len() as f64 * (CHAIN + 1.0)
                + GAP
        };
        if y + depth(w, plan, TRACK, room.w) > room.bottom() && y > room.y {
            // A small sheet where it holds all that is left.
            let page = Page::small(data, SMALL_NOTES);
            let r = page.room;
            let left = depth(w, plan, TRACK, r.w) + rest(r.w) - GAP;
            let fits = chains.is_empty() && left <= r.h && wide(plan, LEAST_HALF) <= r.w;
            pages.push(if fits { page } else { Page::on(paper, data) });
            room = pages[pages.len() - 1].room;
            y = room.y;
        }
        let rest = rest(room.w);
        if let Some(page) = pages.last_mut() {
            y = draw(page, w, plan, y, title, rest) + GAP;
        }
    }
    for s in chains {
        if y + CHAIN > room.bottom() + 1.0 && y > room.y {
            pages.push(Page::on(paper, data));
            y = room.y;
        }
        if let Some(page) = pages.last_mut() {
            chain(page, w, s, y);
            y += CHAIN;
        }
    }
    let (key, title) = ("wiring-terminals", "Wiring: terminal diagram");
    sheets_of(pages, key, title, |page| notes(page, w))
}

/// As many boxes as two sides of a sheet hold.
fn split(w: &Wiring, members: Vec<Vec<String>>, most: i32) -> Vec<Vec<Vec<String>>> {
    let width = |g: &Vec<String>| {
        let n = w.conductors.iter().filter(|c| g.iter().any(|d| c.touches(d))).count() as i32;
        (2 * n).max(LEAST_BOX) + 3
    };
    let total: i32 = members.iter().map(width).sum();
    let parts = (total / (2 * most - 16)).max(0) + 1;
    let share = total / parts + 1;
    let mut list: Vec<Vec<Vec<String>>> = vec![Vec::new()];
    let mut sum = 0;
    for g in members {
        let w = width(&g);
        if sum + w > share && list.len() < parts as usize {
            list.push(Vec::new());
            sum = 0;
        }
        sum += w;
        if let Some(last) = list.last_mut() {
            last.push(g);
        }
    }
    list
}

fn sides(plan: &StripPlan) -> (bool, bool) {
    (plan.boxes.iter().any(|b| b.top), plan.boxes.iter().any(|b| !b.top))
}

/// What a plan takes of a sheet's width.
fn wide(plan: &StripPlan, half: f64) -> f64 {
    14.0 + f64::from(plan.width) * half
}

/// Half a pin pitch in a room that wide.
fn half_pitch(plan: &StripPlan, room: f64) -> f64 {
    ((room - 14.0) / f64::from(plan.width.max(1))).clamp(LEAST_HALF, MOST_HALF)
}

/// As deep as the device with the most words needs.
fn box_depth(w: &Wiring, plan: &StripPlan, half: f64) -> f64 {
    plan.boxes.iter().map(|b| needed(w, b, half)).fold(BOX, f64::max)
}

/// Room for labels at the devices of a side.
fn at_device(plan: &StripPlan, top: bool) -> f64 {
    let away = plan
        .boxes
        .iter()
        .filter(|b| b.top == top)
        .flat_map(|b| &b.pins)
        .any(|p| p.far != Far::Routed);
    if away { AT_DEVICE_AWAY } else { AT_DEVICE }
}

/// From the strip to the outer edge of a side's devices, and the bus beyond.
fn reach(plan: &StripPlan, top: bool, track: f64, boxes: f64) -> f64 {
    let n = plan.depth[usize::from(!top)] as f64;
    BUS + boxes + at_device(plan, top) + AT_STRIP + n * track
}

fn depth(w: &Wiring, plan: &StripPlan, track: f64, room: f64) -> f64 {
    let (above, below) = sides(plan);
    let boxes = box_depth(w, plan, half_pitch(plan, room));
    let side = |yes: bool, top: bool| if yes { reach(plan, top, track, boxes) } else { 3.0 };
    8.0 + side(above, true) + STRIP + side(below, false)
}

struct Frame {
    x0: f64,
    half: f64,
    /// Strip's top and bottom.
    strip: (f64, f64),
    track: f64,
    depth: [usize; 2],
    /// Room for labels at the devices, above and below.
    labels: [f64; 2],
    boxes: f64,
}

impl Frame {
    fn x(&self, half: i32) -> f64 {
        self.x0 + f64::from(half) * self.half
    }

    /// Inner edge of the boxes of a side.
    fn inner(&self, top: bool) -> f64 {
        let i = usize::from(!top);
        let d = self.labels[i] + AT_STRIP + self.depth[i] as f64 * self.track;
        if top { self.strip.0 - d } else { self.strip.1 + d }
    }

    fn outer(&self, top: bool) -> f64 {
        if top { self.inner(true) - self.boxes } else { self.inner(false) + self.boxes }
    }

    fn edge(&self, top: bool) -> f64 {
        if top { self.strip.0 } else { self.strip.1 }
    }

    fn track(&self, top: bool, k: usize) -> f64 {
        let d = self.labels[usize::from(!top)] + (k as f64 + 0.5) * self.track;
        if top { self.inner(true) + d } else { self.inner(false) - d }
    }
}

/// Draws one plan from a height down; gives the height below it.
fn draw(page: &mut Page, w: &Wiring, plan: &StripPlan, top: f64, title: &str, rest: f64) -> f64 {
    page.heading(P2::new(page.room.x, top + 4.0), title);
    let (above, below) = sides(plan);
    // Spare height goes to the tracks, up to half as much again.
    let spare = page.room.bottom() - top - depth(w, plan, TRACK, page.room.w);
    let spare = if spare >= rest { spare - rest } else { spare };
    let n = (plan.depth[0] + plan.depth[1]).max(1) as f64;
    let track = if above && below { TRACK + (spare / n).clamp(0.0, 1.6) } else { TRACK };
    let half = half_pitch(plan, page.room.w);
    let boxes = box_depth(w, plan, half);
    let down = if above { 8.0 + reach(plan, true, track, boxes) } else { 8.0 };
    let strip_top = top + down;
    let spare = page.room.w - wide(plan, half);
    let f = Frame {
        x0: page.room.x + 12.0 + spare.max(0.0) / 2.0,
        half,
        strip: (strip_top, strip_top + STRIP),
        track,
        depth: plan.depth,
        labels: [at_device(plan, true), at_device(plan, false)],
        boxes,
    };
    for t in &plan.tracks {
        let c = &w.conductors[t.conductor];
        let (x0, x1, y) = (f.x(t.from), f.x(t.to), f.track(t.top, t.track));
        let end = if t.cell.is_none() { f.inner(t.top) } else { f.edge(t.top) };
        let points =
            [P2::new(x0, f.inner(t.top)), P2::new(x0, y), P2::new(x1, y), P2::new(x1, end)];
        let Some((x, text)) = along_the_way(w, &f, plan, t) else {
            core(page, c, &points);
            continue;
        };
        // The core stops on either side of its letters.
        let gap = half_of(&text) * if x1 > x0 { 1.0 } else { -1.0 };
        core(page, c, &[points[0], points[1], P2::new(x - gap, y)]);
        core(page, c, &[P2::new(x + gap, y), points[2], points[3]]);
        let label = words(x, y + letters::SMALL / 2.0, text, Anchor::Middle);
        page.label(&c.cable, label);
    }
    for b in &plan.boxes {
        device(page, w, &f, b);
    }
    for c in &plan.cells {
        let r = Rect::new(f.x(c.x), f.strip.0, f64::from(c.w) * f.half, STRIP);
        let pen = Stroke::solid(width::SYMBOL, Ink::BLACK);
        let number = terminal_of(&c.address);
        page.part(
            &c.address,
            "terminal",
            &c.function,
            r,
            vec![Shape::rect(r, Some(pen), Some(Ink::WHITE)).into()],
        );
        let mid = r.centre();
        let says = fitted(&c.function, letters::SMALL, Weight::Regular, r.w - 1.0);
        let whole = says == c.function;
        let y = if whole { r.y + 4.3 } else { mid.y + 1.6 };
        let mut big = Words::new(P2::new(mid.x, y), number, 3.0).anchor(Anchor::Middle).bold();
        big.height = 3.0;
        page.label(&c.address, big);
        if whole {
            page.label(&c.address, words(mid.x, r.bottom() - 1.6, says, Anchor::Middle));
        } else {
            page.unsaid.push(format!("{} {}", terminal_of(&c.address), c.function));
        }
        for s in &c.stubs {
            let Far::Stub(far) = &s.far else { continue };
            let k = &w.conductors[s.conductor];
            let x = f.x(s.x);
            core(page, k, &[P2::new(x, f.strip.0), P2::new(x, f.strip.0 - AT_STRIP + 1.0)]);
            upright(page, x, f.strip.0 - 1.0, true, far, &k.cable);
        }
    }
    for t in &plan.tracks {
        let Some(cell) = t.cell else { continue };
        let c = &w.conductors[t.conductor];
        let far = if c.from == plan.cells[cell].address { &c.to } else { &c.from };
        let y = if t.top { f.edge(true) - 1.0 } else { f.edge(false) + 1.0 };
        upright(page, f.x(t.to), y, t.top, far, &c.cable);
    }
    buses(page, w, &f, plan);
    if below { f.outer(false) + BUS } else { f.strip.1 }
}

/// Half of what a core's letters take of its way.
fn half_of(text: &str) -> f64 {
    crate::lettering::width(text, letters::SMALL, Weight::Regular) / 2.0 + 0.6
}

/// Where the letters of a core stand again on its long level stretch, for prints without colour: as
/// near the middle as may be, where no other core passes.
fn along_the_way(w: &Wiring, f: &Frame, plan: &StripPlan, t: &Track) -> Option<(f64, String)> {
    const STEP: f64 = 2.0;
    const BESIDE: f64 = 4.0;
    let (a, b) = (f.x(t.from).min(f.x(t.to)), f.x(t.from).max(f.x(t.to)));
    if b - a < LONG {
        return None;
    }
    let text = code(w.conductors[t.conductor].core);
    let half = half_of(&text) + 0.6;
    let y = f.track(t.top, t.track);
    // Uprights of the others where they pass this level: from the device to the strip.
    let passes = |x: f64| {
        plan.tracks.iter().filter(|o| o.top == t.top && !std::ptr::eq(*o, t)).any(|o| {
            let level = f.track(o.top, o.track);
            let ends = [(f.x(o.from), f.inner(o.top)), (f.x(o.to), f.edge(o.top))];
            ends.into_iter().any(|(at, end)| {
                // Their own letters stand at their left.
                at > x - half
                    && at - BESIDE < x + half
                    && y > level.min(end) - letters::SMALL
                    && y < level.max(end) + letters::SMALL
            })
        })
    };
    let middle = f64::midpoint(a, b);
    let reach = ((b - a) / 2.0 - half - BESIDE) / STEP;
    (0..=reach.max(0.0) as i32)
        .flat_map(|i| [middle + f64::from(i) * STEP, middle - f64::from(i) * STEP])
        .find(|x| !passes(*x))
        .map(|x| (x, text))
}

/// A label along an upright core: from the strip or the device's edge outwards.
fn upright(page: &mut Page, x: f64, y: f64, up: bool, text: &str, of: &str) {
    let anchor = if up { Anchor::Start } else { Anchor::End };
    page.label(of, words(x - 0.9, y, text, anchor).upwards());
}

fn device(page: &mut Page, w: &Wiring, f: &Frame, b: &DeviceBox) {
    let (inner, outer) = (f.inner(b.top), f.outer(b.top));
    let r = Rect::new(f.x(b.x), inner.min(outer), f64::from(b.w) * f.half, f.boxes);
    let first = &b.devices[0];
    let tag = w.tag_of(first).to_owned();
    let what: Vec<&str> =
        b.devices.iter().filter_map(|d| w.device(d)).map(|d| d.words.as_str()).collect();
    let pen = Stroke::solid(width::SYMBOL, Ink::BLACK);
    let shape = Shape::rect(r, Some(pen), Some(Ink::WHITE));
    page.part(&tag, "device", &what.join("; "), r, vec![shape.into()]);
    // Terminal names along the inner edge, upright; the device's own name in what is left.
    let band = band(b);
    for p in &b.pins {
        let text = pin_name(b, p);
        let x = f.x(p.x) + 1.25;
        let (y, anchor) =
            if b.top { (inner - 0.9, Anchor::Start) } else { (inner + 0.9, Anchor::End) };
        page.label(&tag, words(x, y, text, anchor).upwards());
        // The core's letters outside, beside it.
        let c = &w.conductors[p.conductor];
        let code = code(c.core);
        let text = match &p.far {
            Far::Routed => code,
            Far::Stub(far) => format!("{code} {far}"),
        };
        let y = if b.top { inner + 1.0 } else { inner - 1.0 };
        let x = f.x(p.x);
        let anchor = if b.top { Anchor::End } else { Anchor::Start };
        if p.far != Far::Routed {
            let reach = AT_DEVICE_AWAY - 1.0;
            let end = if b.top { inner + reach } else { inner - reach };
            core(page, c, &[P2::new(x, inner), P2::new(x, end)]);
        }
        page.label(&c.cable, words(x - 0.9, y, text, anchor).upwards());
    }
    let mut y = if b.top { r.y } else { r.y + band };
    let low = if b.top { r.bottom() - band } else { r.bottom() };
    let edge = edge(b);
    if b.top {
        y += edge;
    }
    let low = if b.top { low } else { low - edge };
    let room = r.w - 1.6;
    for (text, bold) in box_words(w, b, room) {
        let weight = if bold { Weight::Bold } else { Weight::Regular };
        let text = fitted(&text, letters::SMALL, weight, room);
        if y + 3.4 > low + 1e-6 && !(beside(b, f.half, &text, weight) && y + 3.4 <= r.bottom()) {
            break;
        }
        let mut line = words(r.x + 0.8, y + 2.9, text, Anchor::Start);
        line.weight = weight;
        page.label(&tag, line);
        y += BOX_LINE;
    }
    for p in &b.earths {
        let x = f.x(p.x);
        let y = if b.top { outer + 3.3 } else { outer - 0.8 };
        page.label(&tag, words(x, y, terminal_of(&p.address), Anchor::Middle));
    }
}

/// One earth bus along the outer side of each row, in from the left.
fn buses(page: &mut Page, w: &Wiring, f: &Frame, plan: &StripPlan) {
    let Some(cell) = plan.cells.iter().find(|c| c.earth) else { return };
    let into = P2::new(f.x(cell.x), f64::midpoint(f.strip.0, f.strip.1));
    for top in [true, false] {
        let pins: Vec<_> =
            plan.boxes.iter().filter(|b| b.top == top).flat_map(|b| &b.earths).collect();
        let Some(last) = pins.iter().map(|p| p.x).max() else { continue };
        let y = if top { f.outer(true) - BUS + 1.5 } else { f.outer(false) + BUS - 1.5 };
        let side = f.x0 - if top { 4.0 } else { 7.0 };
        let enter = into.y + if top { -2.0 } else { 2.0 };
        let c = &w.conductors[pins[0].conductor];
        let points =
            [P2::new(f.x(last), y), P2::new(side, y), P2::new(side, enter), P2::new(into.x, enter)];
        core(page, c, &points);
        for p in &pins {
            let c = &w.conductors[p.conductor];
            core(page, c, &[P2::new(f.x(p.x), f.outer(top)), P2::new(f.x(p.x), y)]);
            page.symbols.push(dot(f.x(p.x), y));
            // Of earths side by side the last one carries the letters.
            let gap = |q: &Pin| f.x(q.x) - f.x(p.x);
            if pins.iter().any(|q| gap(q) > 0.0 && gap(q) < GNYE_WIDTH) {
                continue;
            }
            let ty = if top { f.outer(true) - 0.9 } else { f.outer(false) + 3.4 };
            page.label(&c.cable, words(f.x(p.x) + 1.0, ty, "GNYE", Anchor::Start));
        }
    }
}

fn notes(page: &mut Page, w: &Wiring) {
    let caution = [
        "Isolate every supply, lock off, prove dead. Connect to BS 7671 and the makers' instructions; a maker's terminal marks go before those shown.",
    ];
    let codes = "Cores: BN brown, BU blue, GNYE green-and-yellow, BK black, GY grey, OG orange, WH white (IEC 60757). BK/BN = black, sleeved brown at both ends; so with the other pairs. Beside the strip stands the far end of each core, beside the device and along a long run its colour. A plain crossing is no joint.".to_owned();
    let occupancy = w.occupancy();
    let most = crate::catalogue::electrical::electrical("screws-a-terminal").value as usize;
    // Of the strip on this sheet alone.
    let ways = if page.holds("X1:") { w.ways() } else { Vec::new() };
    let full: Vec<String> = ways
        .iter()
        .filter_map(|(n, _)| {
            let n = format!("X1:{n}");
            let count = occupancy.get(n.as_str()).copied().unwrap_or(0);
            (count > most)
                .then(|| format!("{n} takes {count} cores: {} bridged ways", count.div_ceil(most)))
        })
        .collect();
    let mut texts = vec![codes];
    texts.extend(w.made_at_works());
    if !page.unsaid.is_empty() {
        texts.push(format!("Terminals too narrow for their names: {}.", page.unsaid.join(", ")));
    }
    if !full.is_empty() {
        texts.push(format!("{}.", full.join("; ")));
    }
    page.notes(&caution, &texts, 0.0);
}
