//! The netlist as plain data: devices with terminals, conductors between them, contacts that open
//! and close, loads that run. Nothing here decides anything.
//!
//! An address names a terminal: `Q1:BN` is terminal BN of device Q1 (reference designations as in
//! IEC 81346, class letters of its 2009 edition).

use std::collections::BTreeMap;

use serde::Serialize;

/// `Q1:BN`.
pub type Address = String;

/// The device part of an address.
pub fn device_of(address: &str) -> &str {
    address.split_once(':').map_or(address, |(d, _)| d)
}

/// The terminal part of an address.
pub fn terminal_of(address: &str) -> &str {
    address.split_once(':').map_or("", |(_, t)| t)
}

/// Everything an electrician has to wire.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Wiring {
    pub supplies: Vec<Supply>,
    pub devices: Vec<Device>,
    pub conductors: Vec<Conductor>,
    pub cables: Vec<Cable>,
    pub contacts: Vec<Contact>,
    pub loads: Vec<Load>,
    /// What people and water decide: timers, thermostats, cut-outs.
    pub inputs: Vec<Input>,
    /// Which cut-out has to stop which load.
    pub guards: Vec<Guard>,
    /// What the pipework does, as far as the wiring must know.
    pub pipework: Pipework,
    /// Ways of the wiring centre, where somebody has said.
    pub box_ways: Option<u32>,
    /// Remarks for the sheet.
    pub notes: Vec<String>,
}

/// A way of heat into a store, and the cut-out meant to stop it.
#[derive(Clone, Debug, Serialize)]
pub struct Guard {
    /// The valve motor, element or pump that lets heat in.
    pub load: String,
    /// The cut-out's device; empty where there is none.
    pub cut_out: String,
}

/// Facts of the pipework that some wiring rules rest on.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Pipework {
    /// Water can pass the pump with every motor valve shut.
    pub open_with_valves_shut: bool,
    /// Some cylinder is fed at mains pressure.
    pub unvented: bool,
    pub jurisdiction: String,
    /// The job alters an existing circuit only.
    pub like_for_like: bool,
    /// The boiler heats water for an outlet of its own.
    pub own_water: bool,
    /// Every pump of the heating.
    pub pumps: Vec<PumpWay>,
}

/// A pump and what its water passes.
#[derive(Clone, Debug, Default, Serialize)]
pub struct PumpWay {
    pub tag: String,
    pub name: String,
    /// Tags of the motor valves whose water it moves.
    pub valves: Vec<String>,
    /// It moves the source's own water.
    pub of_source: bool,
    /// The source's own control drives it.
    pub own: bool,
}

/// A circuit of the house: its live pole, neutral and earth as they arrive.
#[derive(Clone, Debug, Serialize)]
pub struct Supply {
    /// "heating controls", "lower immersion heater".
    pub name: String,
    pub line: Address,
    pub neutral: Address,
    pub earth: Address,
    /// The device that isolates it, both poles.
    pub isolator: String,
    /// Fuse or circuit-breaker, A.
    pub fuse: f64,
    pub volts: f64,
    /// A circuit of its own from the consumer unit.
    pub new_circuit: bool,
    /// A low-voltage loop inside a device, not a circuit of the house.
    pub inside: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum DeviceKind {
    SupplyUnit,
    ConsumerUnit,
    DoublePoleSwitch,
    WiringCentre,
    Programmer,
    TimeSwitch,
    RoomThermostat,
    CylinderThermostat,
    CutOut,
    ZoneValve,
    MidPositionValve,
    Diverter,
    Boiler,
    HeatPump,
    Pump,
    SecondaryPump,
    FloorController,
    FloorActuator,
    LimitThermostat,
    PipeThermostat,
    FrostThermostat,
    BufferThermostat,
    Relay,
    SolarController,
    BoostDiverter,
    /// A clamp round a cable that tells a control what flows in it.
    SensingClamp,
    ChangeoverSwitch,
    ImmersionHeater,
    ImmersionThermostat,
}

/// What a terminal is made for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Role {
    /// Permanent line, 230 V.
    Line,
    Neutral,
    Earth,
    /// A contact or a load at 230 V.
    Switched,
    /// A call input that takes 230 V.
    Call,
    /// A contact or call that must stay free of mains.
    VoltFree,
    /// A data line.
    Bus,
    /// Nothing inside: a core is parked there.
    Parked,
    /// A way of a wiring centre.
    Way,
}

#[derive(Clone, Debug, Serialize)]
pub struct Terminal {
    pub name: String,
    pub role: Role,
    /// "timed hot water, after the programmer".
    pub function: String,
}

#[derive(Clone, Debug, Serialize)]
pub struct Device {
    /// `Q1`.
    pub id: String,
    /// Tag of the part it is on every other sheet.
    pub tag: Option<String>,
    pub kind: DeviceKind,
    /// "hot water zone valve".
    pub words: String,
    /// Where it stands, if not in the cupboard.
    pub place: String,
    pub terminals: Vec<Terminal>,
    /// It shares a housing with this device (a cut-out with its thermostat).
    pub housed_with: Option<String>,
    /// Metal that must be earthed.
    pub class_one: bool,
    /// Stands in the warm cupboard or on hot parts: its cable must stand heat.
    pub hot: bool,
    /// Closed by a spring without power.
    pub spring_return: bool,
    /// How many alike are joined in parallel here (floor actuators).
    pub count: u32,
    pub watts: f64,
    /// The port that is open without power leads to the cylinder.
    pub rests_on_cylinder: bool,
}

/// A colour of insulation by its code (IEC 60757).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub enum Colour {
    BN,
    BU,
    GNYE,
    BK,
    GY,
    OG,
    WH,
    RD,
}

impl Colour {
    pub fn code(self) -> &'static str {
        match self {
            Colour::BN => "BN",
            Colour::BU => "BU",
            Colour::GNYE => "GNYE",
            Colour::BK => "BK",
            Colour::GY => "GY",
            Colour::OG => "OG",
            Colour::WH => "WH",
            Colour::RD => "RD",
        }
    }

    pub fn words(self) -> &'static str {
        match self {
            Colour::BN => "brown",
            Colour::BU => "blue",
            Colour::GNYE => "green-and-yellow",
            Colour::BK => "black",
            Colour::GY => "grey",
            Colour::OG => "orange",
            Colour::WH => "white",
            Colour::RD => "red",
        }
    }
}

/// A core: its insulation and the sleeve that re-marks it at both ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct Core {
    pub colour: Colour,
    pub sleeve: Option<Colour>,
}

impl Core {
    /// "black, sleeved brown".
    pub fn words(self) -> String {
        match self.sleeve {
            Some(s) => format!("{}, sleeved {}", self.colour.words(), s.words()),
            None => self.colour.words().to_owned(),
        }
    }

    /// What the core says of itself once sleeved.
    pub fn marked(self) -> Colour {
        self.sleeve.unwrap_or(self.colour)
    }
}

/// One core of a cable, or a link without a cable.
#[derive(Clone, Debug, Serialize)]
pub struct Conductor {
    pub from: Address,
    pub to: Address,
    /// Tag of the cable; empty for a link made at the works.
    pub cable: String,
    pub core: Core,
    /// "hot water valve motor".
    pub function: String,
    /// It only parks an unused core.
    pub parked: bool,
}

impl Conductor {
    pub fn touches(&self, device: &str) -> bool {
        device_of(&self.from) == device || device_of(&self.to) == device
    }

    /// The far end, seen from a device.
    pub fn far(&self, device: &str) -> &Address {
        if device_of(&self.from) == device { &self.to } else { &self.from }
    }
}

#[derive(Clone, Debug, Serialize)]
pub struct Cable {
    /// `W5`.
    pub tag: String,
    pub construction: String,
    pub cores: u32,
    /// Cores that are joined at both ends.
    pub used: u32,
    /// Cross-section of a core, mm2.
    pub mm2: f64,
    /// Stands at least 85 degrees C at the conductor.
    pub heat_resistant: bool,
    pub from: Vec<String>,
    pub to: Vec<String>,
    /// How many alike.
    pub count: u32,
    /// Metres, where somebody has said.
    pub length: Option<f64>,
    /// A flexible cord that is part of the device.
    pub makers_flex: bool,
    /// The factory-made unit that holds both its ends, which comes wired.
    pub at_works: Option<String>,
}

/// When a contact is closed.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum When {
    Always,
    /// An input has this value.
    Input(String, bool),
    /// A load runs, or does not.
    Runs(String, bool),
    All(Vec<When>),
    Any(Vec<When>),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Actuator {
    Timer,
    Thermostat,
    CutOut,
    /// A valve's position switch.
    Position,
    /// A contact of a controller.
    Output,
    DoublePole,
    Manual,
}

#[derive(Clone, Debug, Serialize)]
pub struct Contact {
    pub device: String,
    pub a: Address,
    pub b: Address,
    pub when: When,
    pub by: Actuator,
    /// Opens when operated (thermostats and cut-outs on a rise).
    pub breaks: bool,
    /// "opens at 60 °C", "closed while the valve is open".
    pub words: String,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum LoadRole {
    /// A motor that opens the way to the cylinder's coil.
    CylinderMotor,
    /// A motor that opens the way to a heating circuit.
    HeatingMotor,
    /// Fires the heat source.
    Call,
    Pump,
    Element,
    Coil,
    /// An input of a controller.
    Sense,
    Actuator,
    /// Electronics that only need their supply.
    Supply,
}

#[derive(Clone, Debug, Serialize)]
pub struct Load {
    /// `MQ1`.
    pub id: String,
    pub device: String,
    pub role: LoadRole,
    pub words: String,
    pub line: Address,
    pub neutral: Address,
    /// This must be live too.
    pub also: Option<Address>,
    /// What it takes from its supply when it runs, W; 0 where the device's own figure counts.
    pub watts: f64,
}

impl LoadRole {
    pub fn is_motor(self) -> bool {
        matches!(self, LoadRole::CylinderMotor | LoadRole::HeatingMotor)
    }
}

#[derive(Clone, Debug, Serialize)]
pub struct Input {
    /// `PHW`.
    pub id: String,
    /// "hot water timer".
    pub words: String,
    /// "on" when true, "off" when false.
    pub yes: String,
    pub no: String,
    pub device: String,
    /// Inputs of one group decide one demand together.
    pub group: String,
    pub cut_out: bool,
}

impl Wiring {
    pub fn device(&self, id: &str) -> Option<&Device> {
        self.devices.iter().find(|d| d.id == id)
    }

    pub fn load(&self, id: &str) -> Option<&Load> {
        self.loads.iter().find(|l| l.id == id)
    }

    pub fn input(&self, id: &str) -> Option<usize> {
        self.inputs.iter().position(|i| i.id == id)
    }

    pub fn cable(&self, tag: &str) -> Option<&Cable> {
        self.cables.iter().find(|c| c.tag == tag)
    }

    pub fn terminal(&self, address: &str) -> Option<&Terminal> {
        let device = self.device(device_of(address))?;
        device.terminals.iter().find(|t| t.name == terminal_of(address))
    }

    pub fn of_kind(&self, kind: DeviceKind) -> impl Iterator<Item = &Device> {
        self.devices.iter().filter(move |d| d.kind == kind)
    }

    /// The conductor between two addresses, whichever way round.
    pub fn between(&self, a: &str, b: &str) -> Option<usize> {
        self.conductors
            .iter()
            .position(|c| (c.from == a && c.to == b) || (c.from == b && c.to == a))
    }

    /// How many conductors end on each terminal.
    pub fn occupancy(&self) -> BTreeMap<&str, usize> {
        let mut count = BTreeMap::new();
        for c in &self.conductors {
            *count.entry(c.from.as_str()).or_insert(0) += 1;
            *count.entry(c.to.as_str()).or_insert(0) += 1;
        }
        count
    }

    /// Ways that a wiring centre must have so that no screw takes more than `screws` cores.
    pub fn ways_needed(&self, screws: usize) -> usize {
        let occupancy = self.occupancy();
        self.ways()
            .iter()
            .map(|(n, _)| {
                let cores = occupancy.get(format!("X1:{n}").as_str()).copied().unwrap_or(0);
                cores.div_ceil(screws.max(1))
            })
            .sum()
    }

    /// The wiring centre's ways in the order of their numbers: number and function.
    pub fn ways(&self) -> Vec<(&str, &str)> {
        let mut ways: Vec<(&str, &str)> = self
            .of_kind(DeviceKind::WiringCentre)
            .flat_map(|d| &d.terminals)
            .map(|t| (t.name.as_str(), t.function.as_str()))
            .collect();
        ways.sort_by_key(|(n, _)| n.parse::<u32>().unwrap_or(u32::MAX));
        ways
    }

    /// The tag a reader knows from the other sheets, else the designation.
    pub fn tag_of<'a>(&'a self, id: &'a str) -> &'a str {
        self.device(id).and_then(|d| d.tag.as_deref()).unwrap_or(id)
    }
}
