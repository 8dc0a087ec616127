//! The words in a device's box on the terminal diagram. In: the netlist and the box. Out: its lines,
//! and the depth they need.

use super::names::name;
use crate::draw::style::letters;
use crate::layout::wiring::strip::{DeviceBox, Pin};
use crate::lettering::{Weight, wrap};
use crate::wire::netlist::{Wiring, terminal_of};

/// From one line to the next.
pub const BOX_LINE: f64 = 3.6;

/// A terminal's name: with its device's where several share a box.
pub fn pin_name(b: &DeviceBox, p: &Pin) -> String {
    if b.devices.len() > 1 { p.address.clone() } else { terminal_of(&p.address).to_owned() }
}

/// What the terminals' names take of a box's depth.
pub fn band(b: &DeviceBox) -> f64 {
    let long =
        |p: &Pin| crate::lettering::width(&pin_name(b, p), letters::SMALL, Weight::Regular) + 1.6;
    b.pins.iter().map(long).fold(0.0, f64::max)
}

/// What the earths' names take of it.
pub fn edge(b: &DeviceBox) -> f64 {
    if b.earths.is_empty() { 0.6 } else { 3.8 }
}

/// Beside the terminals' names a line may go on if it is short enough.
pub fn beside(b: &DeviceBox, half: f64, text: &str, weight: Weight) -> bool {
    let end = 0.8 + crate::lettering::width(text, letters::SMALL, weight);
    b.pins.first().is_none_or(|p| end < f64::from(p.x - b.x) * half - 3.0)
}

/// The depth at which no word of a box is lost.
pub fn needed(w: &Wiring, b: &DeviceBox, half: f64) -> f64 {
    let lines = box_words(w, b, f64::from(b.w) * half - 1.6);
    let plain = |(text, bold): &&(String, bool)| {
        let weight = if *bold { Weight::Bold } else { Weight::Regular };
        !(b.top && beside(b, half, text, weight))
    };
    // The lines that must stand clear of the terminals' names, and all of them.
    let clear = lines.iter().rposition(|l| plain(&l)).map_or(0, |i| i + 1);
    let of = |n: usize| edge(b) + BOX_LINE * n as f64;
    (of(clear) + band(b)).max(of(lines.len()))
}

/// What a box says: names, cables, what it is and where.
pub fn box_words(w: &Wiring, b: &DeviceBox, room: f64) -> Vec<(String, bool)> {
    let first = &b.devices[0];
    let mut lines: Vec<(String, bool)> =
        vec![(b.devices.iter().map(|d| name(w, d)).collect::<Vec<_>>().join(", "), true)];
    let mut cables: Vec<&str> = b
        .pins
        .iter()
        .chain(&b.earths)
        .map(|p| w.conductors[p.conductor].cable.as_str())
        .filter(|c| !c.is_empty())
        .collect();
    cables.sort_unstable();
    cables.dedup();
    let plural = if cables.len() > 1 { "cables" } else { "cable" };
    lines.push((format!("{plural} {}", cables.join(", ")), false));
    let mut said = w.device(first).map(|d| d.words.clone()).unwrap_or_default();
    let place = w.device(first).map(|d| d.place.clone()).unwrap_or_default();
    if !place.is_empty() {
        said = format!("{said} ({place})");
    }
    lines
        .extend(wrap(&said, letters::SMALL, Weight::Regular, room).into_iter().map(|l| (l, false)));
    lines
}
