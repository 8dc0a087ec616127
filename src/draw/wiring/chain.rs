//! An immersion heater's circuit as a chain of devices. In: the netlist and the circuit. Out: boxes
//! in a row on a page, three cores between neighbours.

use super::cores::{code, core};
use super::names::name;
use super::page::{Page, words};
use crate::draw::frame::capital;
use crate::draw::scene::{Anchor, Ink, Shape, Stroke};
use crate::draw::style::{letters, width};
use crate::lettering::{Weight, fitted, wrap};
use crate::model::{P2, Rect};
use crate::wire::netlist::{Conductor, DeviceKind, Supply, Wiring, device_of, terminal_of};

/// Depth of one chain, mm.
pub const CHAIN: f64 = 44.0;
/// Width of the box of a device beside the chain, and what parts it from the chain's last.
const BESIDE: f64 = 42.0;
const APART: f64 = 6.0;

/// What is joined to a device of the chain and stands in none of its places: which place, and the
/// device.
fn beside(w: &Wiring, row: &[Vec<String>]) -> Vec<(usize, String)> {
    let place = |a: &str| row.iter().position(|g| g.iter().any(|d| d == device_of(a)));
    let mut all: Vec<(usize, String)> = Vec::new();
    for c in w.conductors.iter().filter(|c| !c.cable.is_empty() && place(&c.from).is_none()) {
        let own = device_of(&c.from).to_owned();
        if let Some(at) = place(&c.to)
            && w.device(&own).is_some_and(|d| d.kind == DeviceKind::SensingClamp)
            && !all.iter().any(|(_, d)| *d == own)
        {
            all.push((at, own));
        }
    }
    all
}

/// Consumer unit, switch, timer, head: the devices of a circuit in the order of its cores.
pub fn row(w: &Wiring, s: &Supply) -> Vec<Vec<String>> {
    let mut row: Vec<Vec<String>> = vec![vec![device_of(&s.line).to_owned()]];
    loop {
        let last = row.last().cloned().unwrap_or_default();
        let next = w.conductors.iter().find_map(|c| {
            let from = last.iter().any(|d| c.from.starts_with(&format!("{d}:")));
            let to = device_of(&c.to).to_owned();
            let fresh = !row.iter().any(|g| g.contains(&to));
            (from && fresh && !c.cable.is_empty()).then_some(to)
        });
        match next {
            Some(d) => row.push(crate::layout::wiring::members::group_of(w, &d)),
            None => break,
        }
    }
    row
}

/// Consumer unit, switch, timer, head in a row, three cores between neighbours.
pub fn chain(page: &mut Page, w: &Wiring, s: &Supply, top: f64) {
    page.heading(P2::new(page.room.x, top + 4.0), &capital(&s.name));
    let row = row(w, s);
    let y = top + 10.0;
    let beside = beside(w, &row);
    // Beside a further box the others are narrower, so that a cable's words keep their room.
    let (bw, bh) = (if beside.is_empty() { 52.0 } else { 44.0 }, 32.0);
    let kept = (BESIDE + APART) * beside.len() as f64;
    let step = (page.room.w - bw - kept) / (row.len() - 1).max(1) as f64;
    let step = step.min(bw + 70.0);
    let xs: Vec<f64> = (0..row.len()).map(|i| page.room.x + i as f64 * step).collect();
    for (i, pair) in row.windows(2).enumerate() {
        let between: Vec<&Conductor> = w
            .conductors
            .iter()
            .filter(|c| {
                pair[0].iter().any(|d| c.touches(d)) && pair[1].iter().any(|d| c.touches(d))
            })
            .collect();
        for (k, c) in between.iter().enumerate() {
            let cy = y + 15.0 + 6.5 * k as f64;
            let (x0, x1) = (xs[i] + bw, xs[i + 1]);
            core(page, c, &[P2::new(x0, cy), P2::new(x1, cy)]);
            page.label(&c.cable, words(x0 + 1.5, cy - 1.2, code(c.core), Anchor::Start));
            page.label(&c.cable, words(x1 - 1.5, cy - 1.2, code(c.core), Anchor::End));
            let (a, b) = (w.tag_of(&pair[0][0]), w.tag_of(&pair[1][0]));
            page.label(a, words(x0 - 1.5, cy + 1.2, terminal_of(&c.from), Anchor::End));
            let far = if pair[1].len() > 1 { c.to.clone() } else { terminal_of(&c.to).to_owned() };
            page.label(b, words(x1 + 1.5, cy + 1.2, far, Anchor::Start));
        }
        if let Some(cable) = between.first().and_then(|c| w.cable(&c.cable)) {
            let text = format!("{}  {}, {} mm²", cable.tag, cable.construction, cable.mm2);
            let mid = f64::midpoint(xs[i] + bw, xs[i + 1]);
            page.label(&cable.tag, words(mid, y + 4.0, text, Anchor::Middle));
            if cable.heat_resistant {
                page.label(&cable.tag, words(mid, y + 7.8, "heat-resistant", Anchor::Middle));
            }
        }
    }
    for (g, x) in row.iter().zip(&xs) {
        device(page, w, g, Rect::new(*x, y, bw, bh));
    }
    let mut x = xs[xs.len() - 1] + bw + APART;
    for (at, own) in &beside {
        aside(page, w, own, Rect::new(x, y, BESIDE, bh), xs[*at] + bw);
        x += BESIDE + APART;
    }
}

/// The box of a device, or of several in one housing, with what it is.
fn device(page: &mut Page, w: &Wiring, group: &[String], r: Rect) {
    let tag = w.tag_of(&group[0]).to_owned();
    let what = w.device(&group[0]).map_or_else(String::new, |d| match d.kind {
        DeviceKind::SensingClamp => format!("{}, {}", d.words, d.place),
        _ => d.words.clone(),
    });
    let pen = Stroke::solid(width::SYMBOL, Ink::BLACK);
    page.part(&tag, "device", &what, r, vec![Shape::rect(r, Some(pen), Some(Ink::WHITE)).into()]);
    let mut lines = vec![group.iter().map(|d| name(w, d)).collect::<Vec<_>>().join(", ")];
    lines.extend(wrap(&what, letters::SMALL, Weight::Regular, r.w - 3.0).into_iter().take(2));
    for (i, l) in lines.iter().enumerate() {
        let weight = if i == 0 { Weight::Bold } else { Weight::Regular };
        let text = fitted(l, letters::SMALL, weight, r.w - 3.0);
        let mut line = words(r.x + 1.5, r.y + 3.6 + 3.8 * i as f64, text, Anchor::Start);
        line.weight = weight;
        page.label(&tag, line);
    }
}

/// What stands beside the chain: its cores go over the boxes between to the device that it is joined
/// to, whose right edge is at `right`.
fn aside(page: &mut Page, w: &Wiring, own: &str, r: Rect, right: f64) {
    device(page, w, &[own.to_owned()], r);
    // From the right edge of either box, and how high over both: no core crosses another.
    const PINS: [(f64, f64, f64); 2] = [(11.5, 5.0, 5.0), (5.0, 11.5, 2.5)];
    let cores: Vec<&Conductor> = w.conductors.iter().filter(|c| c.touches(own)).collect();
    let mut colours: Vec<String> = Vec::new();
    for (c, (there, here, over)) in cores.iter().zip(PINS) {
        let (x0, x1) = (right - there, r.right() - here);
        let way =
            [P2::new(x1, r.y), P2::new(x1, r.y - over), P2::new(x0, r.y - over), P2::new(x0, r.y)];
        core(page, c, &way);
        let (a, b) = (w.tag_of(own), w.tag_of(device_of(&c.to)));
        page.label(a, words(x1, r.y + 3.2, terminal_of(&c.from), Anchor::Middle));
        page.label(b, words(x0, r.y + 3.2, terminal_of(&c.to), Anchor::Middle));
        colours.push(format!("{} {}", terminal_of(&c.from), code(c.core)));
    }
    if let Some(cable) = cores.first().and_then(|c| w.cable(&c.cable)) {
        let text = format!("{}  {}: {}", cable.tag, cable.construction, colours.join(", "));
        let mid = f64::midpoint(right, r.x);
        page.label(&cable.tag, words(mid, r.y - 5.8, text, Anchor::Middle));
    }
}
