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
/// Between two symbols of it, and where one row would else not hold them.
const SPACE: f64 = 2.5;
const LEAST_SPACE: f64 = 1.0;

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

/// Width of a symbol with its words.
fn wide(text: &str) -> f64 {
    crate::lettering::width(text, letters::SMALL, Weight::Regular).max(9.0)
}

/// Width of all the symbols in one row.
fn whole(page: &Page, space: f64) -> f64 {
    page.used.iter().map(|u| wide(explained(*u)) + space).sum::<f64>() + wide("joint")
}

/// Closer together where that saves a row: the notes above need the room.
fn space(page: &Page, width: f64) -> f64 {
    let closer = whole(page, SPACE) > width && whole(page, LEAST_SPACE) <= width;
    if closer { LEAST_SPACE } else { SPACE }
}

/// One row of symbols, or two where one is not wide enough.
fn legend_depth(page: &Page, width: f64) -> f64 {
    LEGEND * (whole(page, space(page, width)) / width).ceil().clamp(1.0, 2.0)
}

/// The symbols on the sheet, each once.
fn legend(page: &mut Page, at: Rect) {
    let space = space(page, at.w);
    let mut y = at.y + ACTUATOR + 0.5;
    let mut x = at.x;
    let mut used: Vec<(Option<Used>, &str)> =
        page.used.iter().map(|u| (Some(*u), explained(*u))).collect();
    used.push((None, "joint"));
    for (used, text) in used {
        let wide = wide(text);
        if x + wide > at.right() + 1e-6 && x > at.x {
            (x, y) = (at.x, y + LEGEND);
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
        page.words.push(words(mid, y + 4.2, text, Anchor::Middle).into());
        x += wide + space;
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
