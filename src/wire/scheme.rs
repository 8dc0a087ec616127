//! What the system needs wired, before any wire is drawn: the demands, what answers them, what
//! guards them. In: read off the graph by `survey`, or written by hand. Out: what `wire` connects.

use serde::Serialize;

use super::netlist::Pipework;

/// A thing that may have a part in the graph.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Named {
    /// The tag that other sheets use.
    pub tag: Option<String>,
    /// Where it stands, if not in the cupboard.
    pub place: String,
    pub watts: Option<f64>,
    /// What it is set to, degrees C.
    pub setting: Option<f64>,
}

#[derive(Clone, Debug, Default, Serialize)]
pub struct Scheme {
    pub fuse: Option<f64>,
    pub supply_unit: Named,
    pub centre: Named,
    /// Ways of the wiring centre, where somebody has said.
    pub centre_ways: Option<u32>,
    /// The box that holds the relays, where there is one.
    pub relay_box: Option<Named>,
    pub programmer: Named,
    /// Channels the programmer has; `None`: as many as are needed.
    pub channels: Option<u32>,
    pub source: Option<Source>,
    pub stores: Vec<Store>,
    pub zones: Vec<Zone>,
    pub mid_position: Option<Named>,
    pub diverter: Option<Diverter>,
    /// A buffer with its thermostat: heating zones draw on it and do not call the source.
    pub buffer: Option<Named>,
    /// The pump that carries the source's water to all its circuits; a heat pump's is driven by
    /// the heat pump's own control.
    pub pump: Option<Named>,
    /// A heat pump's pump that serves all heating zones and nothing else.
    pub space_pump: Option<Named>,
    /// Pumps that only some users need; the one of most users first.
    pub pumps: Vec<SharedPump>,
    pub secondary: Option<Secondary>,
    pub frost: Option<Frost>,
    pub solar: Option<Solar>,
    pub immersions: Vec<Immersion>,
    pub pipework: Pipework,
    pub notes: Vec<String>,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Call {
    /// 230 V switched live.
    #[default]
    Mains,
    /// A loop that must stay free of mains.
    VoltFree,
    /// A data line to the maker's own control.
    Bus,
}

#[derive(Clone, Debug, Default, Serialize)]
pub struct Source {
    pub named: Named,
    pub heat_pump: bool,
    /// It wants a permanent line beside its call.
    pub permanent: bool,
    pub overrun: bool,
    pub call: Call,
}

#[derive(Clone, Debug, Default, Serialize)]
pub struct Store {
    pub name: String,
    pub named: Named,
    /// The spring-return two-port valve before its coil.
    pub valve: Option<Named>,
    pub thermostat: Named,
    /// The hand-reset cut-out that guards the coil.
    pub cut_out: Option<Named>,
}

#[derive(Clone, Debug, Default, Serialize)]
pub struct Zone {
    pub name: String,
    pub valve: Option<Named>,
    /// A pump of its own.
    pub pump: Option<Named>,
    pub thermostat: Named,
    /// The thermostat has no neutral (battery or bimetal).
    pub two_wire: bool,
    pub floor: Option<Floor>,
}

/// A pump behind a header or a buffer that runs while one of its users calls.
#[derive(Clone, Debug, Default, Serialize)]
pub struct SharedPump {
    pub named: Named,
    /// "hot water pump".
    pub words: String,
    /// Its users, by their place in the scheme.
    pub zones: Vec<usize>,
    pub stores: Vec<usize>,
}

#[derive(Clone, Debug, Default, Serialize)]
pub struct Floor {
    pub controller: Named,
    pub limit: Named,
    pub pump: Option<Named>,
    pub rooms: Vec<Room>,
}

#[derive(Clone, Debug, Default, Serialize)]
pub struct Room {
    pub name: String,
    pub thermostat: Named,
    /// Actuators in parallel on this room's output.
    pub actuators: u32,
}

#[derive(Clone, Debug, Default, Serialize)]
pub struct Diverter {
    pub named: Named,
    /// The port open without power leads to the cylinder: fitted the wrong way round.
    pub rests_on_cylinder: bool,
}

#[derive(Clone, Debug, Default, Serialize)]
pub struct Secondary {
    pub pump: Named,
    pub timer: Named,
    pub thermostat: Named,
}

#[derive(Clone, Debug, Default, Serialize)]
pub struct Frost {
    pub air: Named,
    pub pipe: Named,
}

#[derive(Clone, Debug, Default, Serialize)]
pub struct Solar {
    pub controller: Named,
    pub pump: Named,
    pub cut_out: Option<Named>,
}

#[derive(Clone, Debug, Default, Serialize)]
pub struct Immersion {
    pub named: Named,
    /// "lower immersion heater".
    pub words: String,
    pub kw: Option<f64>,
    /// The voltage its power is marked for.
    pub volts: Option<f64>,
    /// Immersions of one circuit share a switch and exclude each other.
    pub circuit: String,
    pub switch: Named,
    /// A time switch or a boost timer in its feed.
    pub timer: Option<Named>,
    /// A control that feeds it surplus solar electricity.
    pub diverter: Option<Named>,
    /// It has a non-self-resetting cut-out of its own.
    pub cut_out: bool,
}
