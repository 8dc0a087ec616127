//! What the wiring's sheets call a device, and which loads a condition speaks of. In: the netlist.
//! Out: words and identifiers.

use crate::wire::netlist::{DeviceKind, When, Wiring};

/// The loads that work a contact.
pub fn works<'a>(when: &'a When, of: &mut Vec<&'a str>) {
    match when {
        When::Runs(id, _) => of.push(id),
        When::All(list) | When::Any(list) => list.iter().for_each(|w| works(w, of)),
        When::Always | When::Input(..) => {}
    }
}

/// "Q1 ZV1": designation, then the tag of the other sheets.
pub fn name(w: &Wiring, id: &str) -> String {
    let device = w.device(id);
    if device.is_some_and(|d| d.kind == DeviceKind::ConsumerUnit) {
        // One consumer unit, a way of it for each circuit.
        return format!("CU, way {}", id.trim_start_matches("CU"));
    }
    match device.and_then(|d| d.tag.as_deref()) {
        Some(tag) if tag != id => format!("{id} {tag}"),
        _ => id.to_owned(),
    }
}
