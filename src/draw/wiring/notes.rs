//! What a circuit diagram says below its ladders: the caution, how it is drawn, its symbols. In: a
//! page with its ladders, the wiring. Out: the page with its notes.

use super::page::{Page, words};
use super::symbols::{self, ACTUATOR, Drawn, Used, Worked, dot, terminal};
use crate::draw::scene::Anchor;
use crate::draw::style::letters;
use crate::lettering::Weight;
use crate::model::Rect;
use crate::wire::netlist::{DeviceKind, Wiring};

/// Room for the row of symbols under the notes.
const LEGEND: f64 = 15.0;
/// Between two symbols of it.
const SPACE: f64 = 2.5;
/// From line to line of the words under one.
const PITCH: f64 = 3.4;

pub fn notes(page: &mut Page, w: &Wiring) {
    let caution = [
        "Mains electricity kills. A competent electrician connects and tests, to BS 7671 and the makers' instructions.",
        "Isolate every supply, lock off, prove dead before opening anything.",
    ];
    let valves = if has_valves(w) { ", valves shut" } else { "" };
    let centre = match w.device("X1") {
        Some(_) => " X1 = wiring centre; its numbers are this project's convention.",
        None => "",
    };
    let moves = match page.refers {
        true => "; \"contact: n\" names the rung of the contact that a load moves",
        false => "",
    };
    let mut texts = vec![
        format!(
            "Drawn with power off, timers off, thermostats cold, cut-outs healthy{valves}. Numbers at the left are rungs{moves}.{centre}"
        ),
        "Protective conductors run with every cable: see the terminal table.".to_owned(),
        "A number that is missing (Q, F, G, BT ...) is kept for a device that this job has not: nothing is left out.".to_owned(),
    ];
    if w.supplies.iter().filter(|s| !s.inside).count() > 1 {
        texts.insert(0, "More than one supply: each immersion heater has a circuit of its own. Label every enclosure that holds a second supply.".to_owned());
    }
    texts.extend(w.notes.iter().cloned());
    let deep = if page.legend.is_some() { 0.0 } else { legend_depth(page, page.foot.w) };
    page.notes(&caution, &texts, deep);
    let at = page.foot;
    let below = Rect::new(at.x, at.bottom() - deep, at.w, deep);
    legend(page, page.legend.unwrap_or(below));
}

/// The words under a symbol, on two lines where one row would else not hold them all: run together
/// they would be read as one sentence.
fn lines(text: &str, folded: bool) -> Vec<&str> {
    match text.rsplit_once(' ').filter(|_| folded) {
        Some((first, last)) => vec![first, last],
        None => vec![text],
    }
}

/// Width of a symbol with its words.
fn wide(text: &str, folded: bool) -> f64 {
    let width = |l: &str| crate::lettering::width(l, letters::SMALL, Weight::Regular);
    lines(text, folded).into_iter().map(width).fold(9.0, f64::max)
}

/// Width of all the symbols in one row.
fn whole(page: &Page, folded: bool) -> f64 {
    let all = page.used.iter().map(|u| wide(explained(*u), folded) + SPACE);
    all.sum::<f64>() + wide("joint", folded)
}

/// Depth of one row.
fn deep(folded: bool) -> f64 {
    LEGEND + if folded { 1.5 } else { 0.0 }
}

fn is_folded(page: &Page, width: f64) -> bool {
    whole(page, false) > width
}

/// One row of symbols, or two where one is not wide enough.
fn legend_depth(page: &Page, width: f64) -> f64 {
    let folded = is_folded(page, width);
    deep(folded) * (whole(page, folded) / width).ceil().clamp(1.0, 2.0)
}

/// The symbols on the sheet, each once.
fn legend(page: &mut Page, at: Rect) {
    let folded = is_folded(page, at.w);
    let mut y = at.y + ACTUATOR + 0.5;
    let mut x = at.x;
    let mut used: Vec<(Option<Used>, &str)> =
        page.used.iter().map(|u| (Some(*u), explained(*u))).collect();
    used.push((None, "joint"));
    for (used, text) in used {
        let wide = wide(text, folded);
        if x + wide > at.right() + 1e-6 && x > at.x {
            (x, y) = (at.x, y + deep(folded));
        }
        let mid = x + wide / 2.0;
        let through = |half: f64| symbols::line(&[(mid - half, y), (mid + half, y)]);
        match used {
            Some(Used::Contact(by)) => {
                let breaks = matches!(by, Worked::Thermostat | Worked::CutOut);
                page.symbols.extend(symbols::contact(mid, y, breaks, by));
            }
            Some(Used::Load(drawn)) => {
                let inside = if drawn == Drawn::Box { "~" } else { "" };
                page.symbols.extend(symbols::load(mid, y - 3.0, drawn, inside).0);
            }
            Some(Used::Fuse) => page.symbols.extend(symbols::fuse(mid, y)),
            Some(Used::Breaker) => page.symbols.extend(symbols::breaker(mid, y - 3.0)),
            Some(Used::Terminal) => page.symbols.extend([through(4.5), terminal(mid, y)]),
            None => {
                let up = symbols::line(&[(mid, y), (mid, y - 4.0)]);
                page.symbols.extend([through(4.5), up, dot(mid, y)]);
            }
        }
        for (i, line) in lines(text, folded).into_iter().enumerate() {
            let below = y + 4.2 + PITCH * i as f64;
            page.words.push(words(mid, below, line, Anchor::Middle).into());
        }
        x += wide + SPACE;
    }
}

fn explained(used: Used) -> &'static str {
    match used {
        Used::Contact(Worked::Timer) => "timer",
        Used::Contact(Worked::Thermostat) => "thermostat",
        Used::Contact(Worked::CutOut) => "cut-out, hand reset",
        Used::Contact(Worked::Position) => "valve's switch",
        Used::Contact(Worked::Relay) => "relay, controller",
        Used::Contact(Worked::Hand) => "switch, by hand",
        Used::Load(Drawn::ValveMotor | Drawn::Pump) => "motor",
        Used::Load(Drawn::Element) => "heater",
        Used::Load(Drawn::Coil) => "coil",
        Used::Load(Drawn::Box) => "electronics",
        Used::Fuse => "fuse",
        Used::Breaker => "circuit-breaker",
        Used::Terminal => "terminal of X1",
    }
}

/// True where a motor valve is wired.
pub fn has_valves(w: &Wiring) -> bool {
    use DeviceKind::{Diverter, MidPositionValve, ZoneValve};
    w.devices.iter().any(|d| matches!(d.kind, Diverter | MidPositionValve | ZoneValve))
}
