//! What a pipe carries. The letters are those a trade drawing prints beside the pipe; the line
//! style that goes with each stands in `draw::style`.

use serde::Serialize;

/// The class of water, for rules that must keep classes apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Water {
    /// Wholesome, cold or hot.
    Potable,
    /// Heating water in a closed circuit.
    Primary,
    /// Solar fluid in a closed circuit.
    Solar,
    /// Safety discharge, drain, waste: open-ended.
    Discharge,
}

/// The service of a pipe.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Service {
    ColdMain,
    /// Behind a break tank or a booster pump.
    ColdBoosted,
    ColdSoftened,
    ColdBalanced,
    ColdFeed,
    HotWater,
    HotBlended,
    HotReturn,
    HeatingFlow,
    HeatingReturn,
    FloorFlow,
    FloorReturn,
    SolarFlow,
    SolarReturn,
    Filling,
    Discharge1,
    Discharge2,
    Drain,
}

impl Service {
    /// Every service, in the order of a legend.
    pub const ALL: [Service; 18] = [
        Service::ColdMain,
        Service::ColdBoosted,
        Service::ColdSoftened,
        Service::ColdBalanced,
        Service::ColdFeed,
        Service::HotWater,
        Service::HotBlended,
        Service::HotReturn,
        Service::HeatingFlow,
        Service::HeatingReturn,
        Service::FloorFlow,
        Service::FloorReturn,
        Service::SolarFlow,
        Service::SolarReturn,
        Service::Filling,
        Service::Discharge1,
        Service::Discharge2,
        Service::Drain,
    ];

    /// The word a description uses: `service="hot water"`. Also the value of `data-service`.
    pub fn key(self) -> &'static str {
        match self {
            Service::ColdMain => "cold main",
            Service::ColdBoosted => "boosted cold",
            Service::ColdSoftened => "softened cold",
            Service::ColdBalanced => "balanced cold",
            Service::ColdFeed => "cold feed",
            Service::HotWater => "hot water",
            Service::HotBlended => "blended hot",
            Service::HotReturn => "hot return",
            Service::HeatingFlow => "heating flow",
            Service::HeatingReturn => "heating return",
            Service::FloorFlow => "floor flow",
            Service::FloorReturn => "floor return",
            Service::SolarFlow => "solar flow",
            Service::SolarReturn => "solar return",
            Service::Filling => "filling",
            Service::Discharge1 => "discharge D1",
            Service::Discharge2 => "discharge D2",
            Service::Drain => "drain",
        }
    }

    pub fn from_key(key: &str) -> Option<Service> {
        Service::ALL.into_iter().find(|s| s.key() == key)
    }

    /// The letters printed beside the pipe.
    pub fn letters(self) -> &'static str {
        match self {
            Service::ColdMain => "MCW",
            Service::ColdBoosted => "PCW",
            Service::ColdSoftened => "SCW",
            Service::ColdBalanced => "BCW",
            Service::ColdFeed => "CWF",
            Service::HotWater => "HWS",
            Service::HotBlended => "BHW",
            Service::HotReturn => "HWR",
            Service::HeatingFlow => "F",
            Service::HeatingReturn => "R",
            Service::FloorFlow => "UF",
            Service::FloorReturn => "UR",
            Service::SolarFlow => "SF",
            Service::SolarReturn => "SR",
            Service::Filling => "FILL",
            Service::Discharge1 => "D1",
            Service::Discharge2 => "D2",
            Service::Drain => "DR",
        }
    }

    /// What it is, in words a householder knows.
    pub fn words(self) -> &'static str {
        match self {
            Service::ColdMain => "cold water from the street",
            Service::ColdBoosted => "cold water from the booster set",
            Service::ColdSoftened => "softened cold water",
            Service::ColdBalanced => "cold water at reduced pressure",
            Service::ColdFeed => "cold water to the hot water tank",
            Service::HotWater => "hot water to the taps",
            Service::HotBlended => "hot water at a safe temperature",
            Service::HotReturn => "hot water coming back round",
            Service::HeatingFlow => "heating, going out",
            Service::HeatingReturn => "heating, coming back",
            Service::FloorFlow => "floor heating, going out",
            Service::FloorReturn => "floor heating, coming back",
            Service::SolarFlow => "from the solar panel",
            Service::SolarReturn => "to the solar panel",
            Service::Filling => "filling the heating",
            Service::Discharge1 => "safety pipe to the drip cup",
            Service::Discharge2 => "safety pipe to outside",
            Service::Drain => "drain",
        }
    }

    pub fn water(self) -> Water {
        match self {
            Service::HeatingFlow
            | Service::HeatingReturn
            | Service::FloorFlow
            | Service::FloorReturn => Water::Primary,
            Service::SolarFlow | Service::SolarReturn => Water::Solar,
            Service::Discharge1 | Service::Discharge2 | Service::Drain => Water::Discharge,
            _ => Water::Potable,
        }
    }

    /// Warms its neighbours (1), must not be warmed (-1), or neither.
    pub fn warmth(self) -> i8 {
        match self {
            Service::ColdMain
            | Service::ColdBoosted
            | Service::ColdSoftened
            | Service::ColdBalanced => -1,
            Service::HotWater | Service::HotReturn | Service::SolarFlow => 1,
            s => i8::from(s.water() == Water::Primary),
        }
    }

    /// True for the two safety-discharge services, which may only fall.
    pub fn must_fall(self) -> bool {
        self.water() == Water::Discharge
    }
}
