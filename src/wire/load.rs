//! Sums: what the controls draw, what an element draws, which cable carries it and what it loses.
//! Figures come from `catalogue::electrical` and the limits table.

use serde::Serialize;

use super::netlist::{DeviceKind, LoadRole, Wiring, device_of};
use crate::catalogue::electrical::{cord, electrical, flat, flats};

/// Installation methods of BS 7671 Table 4D5.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub enum Method {
    /// Above a ceiling, up to 100 mm of insulation.
    M100,
    /// Above a ceiling, more insulation.
    M101,
    /// In a stud wall, touching the lining.
    M102,
    /// In a stud wall, not touching it.
    M103,
    /// Clipped direct.
    C,
    /// In conduit in an insulated wall.
    A,
}

/// One way of the power budget.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Draw {
    pub device: String,
    pub words: String,
    pub watts: f64,
}

/// What one supply has to carry.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Budget {
    pub supply: String,
    pub draws: Vec<Draw>,
    pub watts: f64,
    pub amps: f64,
    pub fuse: f64,
    /// Watts left below the fuse.
    pub margin: f64,
}

/// Current of an element, A: its resistance is fixed by the power and voltage it is marked with.
pub fn element_amps(kw: f64, marked_volts: f64, volts: f64) -> f64 {
    let ohms = marked_volts * marked_volts / (kw * 1000.0);
    volts / ohms
}

/// Power it then takes, kW.
pub fn element_kw(kw: f64, marked_volts: f64, volts: f64) -> f64 {
    kw * volts * volts / (marked_volts * marked_volts)
}

/// Voltage lost along a flat cable, V; metres one way. `None` for a size not in the table.
pub fn volt_drop(mm2: f64, amps: f64, metres: f64) -> Option<f64> {
    flat(mm2).map(|c| c.drop * amps * metres / 1000.0)
}

/// Longest run of a flat cable within a drop of that many per cent, m.
pub fn longest(mm2: f64, amps: f64, percent: f64) -> Option<f64> {
    let volts = electrical("volts").value * percent / 100.0;
    flat(mm2).map(|c| volts * 1000.0 / (c.drop * amps))
}

/// What a flat cable carries, A.
pub fn flat_carries(mm2: f64, method: Method) -> Option<f64> {
    flat(mm2).map(|c| match method {
        Method::M100 => c.m100,
        Method::M101 => c.m101,
        Method::M102 => c.m102,
        Method::M103 => c.m103,
        Method::C => c.c,
        Method::A => c.a,
    })
}

/// What a cord carries in a cupboard at 40 degrees C, A.
pub fn cord_carries_warm(mm2: f64, heat_resistant: bool) -> Option<f64> {
    let factor = if heat_resistant { 1.0 } else { electrical("ordinary-cord-at-40").value };
    cord(mm2).map(|c| c.amps * factor)
}

/// The usual circuit-breaker at or above a current, A.
pub fn breaker_for(amps: f64) -> f64 {
    [16.0, 20.0, 32.0, 40.0, 50.0].into_iter().find(|b| *b >= amps).unwrap_or(63.0)
}

/// The thinnest flat cable, 2.5 mm2 or more, that carries a breaker's current behind a lining
/// (method 100).
pub fn flat_for(breaker: f64) -> f64 {
    flats()
        .iter()
        .find(|c| c.mm2 >= 2.5 && c.m100 >= breaker)
        .or(flats().last())
        .map_or(2.5, |c| c.mm2)
}

/// The cord to an immersion head: 1.5 mm2 up to 16 A, then 2.5 mm2.
pub fn cord_for(breaker: f64) -> f64 {
    if cord(1.5).is_some_and(|c| c.amps >= breaker) { 1.5 } else { 2.5 }
}

/// Fuse of the controls, A, from the limits table.
pub fn controls_fuse() -> f64 {
    crate::catalogue::limits::rows().iter().find(|r| r.id == "CTL05.fuse").map_or(0.0, |r| r.value)
}

impl Wiring {
    /// Circuits that must be notified: new ones, in a nation whose rule the program knows
    /// (Building Regulations, Part P, England, from 6 April 2013). Like-for-like work is not.
    pub fn notifiable(&self) -> Vec<&str> {
        if self.pipework.like_for_like || self.pipework.jurisdiction != "england" {
            return Vec::new();
        }
        self.supplies.iter().filter(|s| s.new_circuit).map(|s| s.name.as_str()).collect()
    }

    /// What each supply of the house has to carry with everything running.
    pub fn budgets(&self) -> Vec<Budget> {
        self.supplies
            .iter()
            .filter(|s| !s.inside)
            .map(|s| {
                let elements = self.elements_of(&s.line);
                let draws: Vec<Draw> = if elements.is_empty() {
                    self.devices
                        .iter()
                        .filter(|d| d.watts > 0.0 && d.kind != DeviceKind::ImmersionHeater)
                        .map(|d| Draw {
                            device: d.id.clone(),
                            words: d.words.clone(),
                            watts: d.watts * f64::from(d.count),
                        })
                        .collect()
                } else {
                    elements
                };
                // Elements behind a changeover switch never run together.
                let exclusive = self.of_kind(DeviceKind::ChangeoverSwitch).next().is_some();
                let watts = match (exclusive, s.new_circuit) {
                    (true, true) => draws.iter().map(|d| d.watts).fold(0.0, f64::max),
                    _ => draws.iter().map(|d| d.watts).sum(),
                };
                Budget {
                    supply: s.name.clone(),
                    draws,
                    watts,
                    amps: watts / s.volts,
                    fuse: s.fuse,
                    margin: s.fuse * s.volts - watts,
                }
            })
            .collect()
    }

    /// Elements that the conductors and contacts join to a supply's line.
    fn elements_of(&self, line: &str) -> Vec<Draw> {
        let sim = super::simulate::Simulator::new(self);
        let mut net = sim.reached(line, |_| true);
        self.loads
            .iter()
            .filter(|l| l.role == LoadRole::Element)
            .filter(|l| net.holds(&l.line))
            .filter_map(|l| {
                let d = self.device(device_of(&l.line))?;
                Some(Draw { device: d.id.clone(), words: d.words.clone(), watts: d.watts })
            })
            .collect()
    }
}
