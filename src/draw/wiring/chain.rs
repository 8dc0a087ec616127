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
use crate::wire::netlist::{Conductor, Wiring, terminal_of};

/// Depth of one chain, mm.
pub const CHAIN: f64 = 44.0;

/// Consumer unit, switch, timer, head: the devices of a circuit in the order of its cores.
pub fn row(w: &Wiring, s: &crate::wire::netlist::Supply) -> Vec<Vec<String>> {
    let mut row: Vec<Vec<String>> = vec![vec![crate::wire::netlist::device_of(&s.line).to_owned()]];
    loop {
        let last = row.last().cloned().unwrap_or_default();
        let next = w.conductors.iter().find_map(|c| {
            let from = last.iter().any(|d| c.from.starts_with(&format!("{d}:")));
            let to = crate::wire::netlist::device_of(&c.to).to_owned();
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
pub fn chain(page: &mut Page, w: &Wiring, s: &crate::wire::netlist::Supply, top: f64) {
    page.heading(P2::new(page.room.x, top + 4.0), &capital(&s.name));
    let row = row(w, s);
    let (bw, bh) = (52.0, 32.0);
    let y = top + 10.0;
    let step = (page.room.w - bw) / (row.len() - 1).max(1) as f64;
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
        let r = Rect::new(*x, y, bw, bh);
        let tag = w.tag_of(&g[0]).to_owned();
        let what = w.device(&g[0]).map(|d| d.words.clone()).unwrap_or_default();
        let pen = Stroke::solid(width::SYMBOL, Ink::BLACK);
        page.part(
            &tag,
            "device",
            &what,
            r,
            vec![Shape::rect(r, Some(pen), Some(Ink::WHITE)).into()],
        );
        let mut lines = vec![g.iter().map(|d| name(w, d)).collect::<Vec<_>>().join(", ")];
        lines.extend(wrap(&what, letters::SMALL, Weight::Regular, bw - 3.0).into_iter().take(2));
        for (i, l) in lines.iter().enumerate() {
            let weight = if i == 0 { Weight::Bold } else { Weight::Regular };
            let text = fitted(l, letters::SMALL, weight, bw - 3.0);
            let mut line = words(r.x + 1.5, r.y + 3.6 + 3.8 * i as f64, text, Anchor::Start);
            line.weight = weight;
            page.label(&tag, line);
        }
    }
}
