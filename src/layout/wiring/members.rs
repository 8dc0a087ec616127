//! Which devices stand round a strip, and which share a housing. In: the netlist. Out: groups of
//! designations.

use std::collections::BTreeSet;

use crate::wire::netlist::{DeviceKind, Wiring, device_of};

/// The boxes that belong to a hub: housings with a core to it, in the order of the netlist.
pub fn members(w: &Wiring, hub: &str) -> Vec<Vec<String>> {
    let own = group_of(w, hub);
    let hubs: BTreeSet<&str> =
        w.of_kind(DeviceKind::FloorController).map(|d| d.id.as_str()).collect();
    let mut list: Vec<Vec<String>> = Vec::new();
    for d in &w.devices {
        if own.contains(&d.id) || list.iter().any(|g| g.contains(&d.id)) {
            continue;
        }
        let g = group_of(w, &d.id);
        let joined = w.conductors.iter().any(|c| {
            let (a, b) = (device_of(&c.from), device_of(&c.to));
            let mine = |x: &str| g.iter().any(|y| y == x);
            let hubs_own = |x: &str| own.iter().any(|y| y == x);
            // A device of another hub that only fetches its earth here stays with that hub.
            (mine(a) && hubs_own(b)) || (mine(b) && hubs_own(a))
        });
        let linked = hub == "X1"
            && !hubs.contains(d.id.as_str())
            && w.conductors.iter().any(|c| {
                let (a, b) = (device_of(&c.from), device_of(&c.to));
                let near = |x: &str| {
                    w.conductors.iter().any(|k| k.touches(x) && k.touches("X1"))
                        && !hubs.contains(x)
                };
                g.iter().any(|y| (y == a && near(b)) || (y == b && near(a)))
            })
            && !w.conductors.iter().any(|c| c.touches(&d.id) && hubs.iter().any(|h| c.touches(h)));
        if joined || linked {
            list.push(g);
        }
    }
    list
}

/// A device with what shares its housing.
pub fn group_of(w: &Wiring, id: &str) -> Vec<String> {
    let host = w.device(id).and_then(|d| d.housed_with.clone()).unwrap_or_else(|| id.to_owned());
    let mut g = vec![host.clone()];
    g.extend(
        w.devices.iter().filter(|d| d.housed_with.as_ref() == Some(&host)).map(|d| d.id.clone()),
    );
    g
}
