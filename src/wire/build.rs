//! Putting a netlist together: devices from templates, cables, conductors. Names are handed out
//! here, so that no two things share one.

use super::netlist::{
    Actuator, Cable, Colour, Conductor, Contact, Core, Device, DeviceKind, Guard, Input, Load,
    LoadRole, Role, Terminal, When, Wiring, device_of,
};
use super::scheme::Named;

pub const BN: Core = Core { colour: Colour::BN, sleeve: None };
pub const BU: Core = Core { colour: Colour::BU, sleeve: None };
pub const GNYE: Core = Core { colour: Colour::GNYE, sleeve: None };
pub const GY: Core = Core { colour: Colour::GY, sleeve: None };
pub const OG: Core = Core { colour: Colour::OG, sleeve: None };
pub const BK: Core = Core { colour: Colour::BK, sleeve: None };
pub const WH: Core = Core { colour: Colour::WH, sleeve: None };
/// Black, grey or blue used as a line: sleeved brown at both ends.
pub const BK_BN: Core = Core { colour: Colour::BK, sleeve: Some(Colour::BN) };
pub const OG_BN: Core = Core { colour: Colour::OG, sleeve: Some(Colour::BN) };
pub const WH_BN: Core = Core { colour: Colour::WH, sleeve: Some(Colour::BN) };
pub const GY_BN: Core = Core { colour: Colour::GY, sleeve: Some(Colour::BN) };
pub const BU_BN: Core = Core { colour: Colour::BU, sleeve: Some(Colour::BN) };
/// Grey used as a neutral: sleeved blue at both ends.
pub const GY_BU: Core = Core { colour: Colour::GY, sleeve: Some(Colour::BU) };

/// Constructions of cable.
pub const FLEX_3: &str = "3-core flex";
pub const FLEX_4: &str = "4-core flex";
pub const FLEX_5: &str = "5-core flex";
pub const FLEX_7: &str = "7-core flex";
pub const TWIN: &str = "flat twin and earth";
pub const TRIPLE: &str = "flat 3-core and earth";
pub const VALVE: &str = "5-core valve flex";

/// Where a device stands that the description has not: it is found, or chosen, on site.
pub const NOWHERE: &str = "place not stated";

#[derive(Default)]
pub struct Builder {
    pub wiring: Wiring,
    /// Where relays stand.
    pub relays: Named,
}

impl Builder {
    /// The first of the wanted names that is free, then the next free number.
    pub fn free(&self, letters: &str, wanted: &[u32]) -> String {
        let mut numbers = wanted.iter().copied().chain(50..);
        numbers
            .find_map(|n| {
                let id = format!("{letters}{n}");
                (self.wiring.device(&id).is_none() && self.wiring.cable(&id).is_none())
                    .then_some(id)
            })
            .unwrap_or_default()
    }

    pub fn device(
        &mut self,
        id: &str,
        kind: DeviceKind,
        words: impl Into<String>,
        named: &Named,
        terminals: &[(&str, Role, &str)],
    ) -> &mut Device {
        self.wiring.devices.push(Device {
            id: id.to_owned(),
            tag: named.tag.clone(),
            kind,
            words: words.into(),
            // What no part stands for has no place in the cupboard either.
            place: match (&named.tag, named.place.is_empty()) {
                (None, true) => NOWHERE.to_owned(),
                _ => named.place.clone(),
            },
            terminals: terminals.iter().map(|t| terminal(t.0, t.1, t.2)).collect(),
            housed_with: None,
            class_one: terminals.iter().any(|t| t.1 == Role::Earth),
            hot: false,
            spring_return: false,
            count: 1,
            watts: named.watts.unwrap_or(0.0),
            rests_on_cylinder: false,
        });
        let last = self.wiring.devices.len() - 1;
        &mut self.wiring.devices[last]
    }

    /// A way of the wiring centre, made on first use.
    pub fn way(&mut self, number: u32, function: &str) -> String {
        let name = number.to_string();
        if let Some(x) = self.wiring.devices.iter_mut().find(|d| d.id == "X1")
            && !x.terminals.iter().any(|t| t.name == name)
        {
            x.terminals.push(terminal(&name, Role::Way, function));
        }
        format!("X1:{name}")
    }

    /// A way beyond the fourteen of the convention.
    pub fn new_way(&mut self, function: &str) -> String {
        let used = self.wiring.device("X1").map_or(0, |x| {
            x.terminals.iter().filter_map(|t| t.name.parse().ok()).max().unwrap_or(0)
        });
        self.way(used.max(14) + 1, function)
    }

    pub fn cable(&mut self, tag: &str, construction: &str, cores: u32, mm2: f64) -> &mut Cable {
        self.wiring.cables.push(Cable {
            tag: tag.to_owned(),
            construction: construction.to_owned(),
            cores,
            used: 0,
            mm2,
            heat_resistant: false,
            from: Vec::new(),
            to: Vec::new(),
            count: 1,
            length: None,
            makers_flex: false,
            at_works: None,
        });
        let last = self.wiring.cables.len() - 1;
        &mut self.wiring.cables[last]
    }

    /// A core of a cable, or a link where the cable's tag is empty.
    pub fn join(&mut self, cable: &str, from: &str, to: &str, core: Core, function: &str) {
        self.wiring.conductors.push(Conductor {
            from: from.to_owned(),
            to: to.to_owned(),
            cable: cable.to_owned(),
            core,
            function: function.to_owned(),
            parked: false,
        });
    }

    /// A core that ends in a terminal with nothing behind it.
    pub fn park(&mut self, cable: &str, from: &str, to: &str, core: Core, function: &str) {
        self.join(cable, from, to, core, function);
        if let Some(c) = self.wiring.conductors.last_mut() {
            c.parked = true;
        }
    }

    pub fn contact(&mut self, a: &str, b: &str, by: Actuator, when: When, words: &str) {
        self.wiring.contacts.push(Contact {
            device: device_of(a).to_owned(),
            a: a.to_owned(),
            b: b.to_owned(),
            when,
            by,
            breaks: matches!(by, Actuator::Thermostat | Actuator::CutOut),
            words: words.to_owned(),
        });
    }

    pub fn load(&mut self, id: &str, role: LoadRole, words: &str, line: &str, neutral: &str) {
        self.wiring.loads.push(Load {
            id: id.to_owned(),
            device: device_of(line).to_owned(),
            role,
            words: words.to_owned(),
            line: line.to_owned(),
            neutral: neutral.to_owned(),
            also: None,
            watts: 0.0,
        });
    }

    pub fn guard(&mut self, load: &str, cut_out: &str) {
        let guard = Guard { load: load.to_owned(), cut_out: cut_out.to_owned() };
        self.wiring.guards.push(guard);
    }

    pub fn input(&mut self, id: &str, device: &str, group: &str, words: &str, yes: &str, no: &str) {
        self.wiring.inputs.push(Input {
            id: id.to_owned(),
            words: words.to_owned(),
            yes: yes.to_owned(),
            no: no.to_owned(),
            device: device.to_owned(),
            group: group.to_owned(),
            cut_out: false,
        });
    }

    /// Fills each cable's ends and counts its cores once all conductors are known. Ends of one
    /// cable: the devices met first and last along its conductors.
    pub fn finish(mut self) -> Wiring {
        for cable in &mut self.wiring.cables {
            let mine = self.wiring.conductors.iter().filter(|c| c.cable == cable.tag);
            for c in mine {
                cable.used += 1;
                // The wiring centre and the hubs stand at the near end, whichever way drawn.
                let (mut near, mut far) = (device_of(&c.from), device_of(&c.to));
                if rank(far) < rank(near) {
                    std::mem::swap(&mut near, &mut far);
                }
                for (list, id) in [(&mut cable.from, near), (&mut cable.to, far)] {
                    if !list.iter().any(|d| d == id) {
                        list.push(id.to_owned());
                    }
                }
            }
        }
        self.wiring.cables.retain(|c| c.used > 0);
        self.wiring
    }
}

fn rank(device: &str) -> u8 {
    match device {
        d if d.starts_with("CU") => 0,
        "Q0" => 1,
        "X1" => 2,
        d if d.starts_with('K') => 3,
        _ => 4,
    }
}

pub fn terminal(name: &str, role: Role, function: &str) -> Terminal {
    Terminal { name: name.to_owned(), role, function: function.to_owned() }
}

/// A contact that follows an input.
pub fn on(input: &str) -> When {
    When::Input(input.to_owned(), true)
}

pub fn off(input: &str) -> When {
    When::Input(input.to_owned(), false)
}

pub fn runs(load: &str) -> When {
    When::Runs(load.to_owned(), true)
}

pub fn rests(load: &str) -> When {
    When::Runs(load.to_owned(), false)
}
