//! How each service looks: line width, dashes and colour. In: a service. Out: a stroke. Every pair
//! of services that can stand on one sheet differs in dashes or width as well as in colour, so a
//! black-and-white print keeps the meaning.

use super::scene::{Ink, Stroke};
use crate::model::Service;

/// Widths of lines on paper, mm.
pub mod width {
    pub const FRAME: f64 = 0.7;
    pub const SYMBOL: f64 = 0.35;
    pub const OUTLINE: f64 = 0.5;
    pub const THIN: f64 = 0.25;
}

/// Heights of letters, mm.
pub mod letters {
    pub const SMALL: f64 = 2.5;
    pub const LABEL: f64 = 2.5;
    pub const TAG: f64 = 2.5;
    pub const HEADING: f64 = 3.5;
    pub const TITLE: f64 = 5.0;
}

/// A body drawn to scale that is at least so wide and so high, mm on paper, carries on its face the
/// labels of what stands before or behind it; they keep off its edge.
pub const FACE: f64 = 25.0;

/// The pen for a pipe's centre line.
pub fn pen(service: Service) -> Stroke {
    let (width, dash, ink): (f64, &[f64], &'static str) = match service {
        Service::HeatingFlow => (0.7, &[], "b00020"),
        Service::HeatingReturn => (0.7, &[5.0, 1.5], "003f8c"),
        Service::FloorFlow => (0.5, &[8.0, 1.2, 2.0, 1.2], "007a33"),
        Service::FloorReturn => (0.5, &[3.0, 1.2], "007a33"),
        Service::ColdMain => (0.5, &[], "0072b2"),
        Service::ColdBoosted => (0.5, &[9.0, 1.2, 1.2, 1.2, 1.2, 1.2, 1.2, 1.2], "0072b2"),
        Service::ColdSoftened => (0.5, &[12.0, 1.2], "0072b2"),
        Service::ColdBalanced => (0.5, &[10.0, 1.2, 1.2, 1.2], "0072b2"),
        Service::ColdFeed => (0.5, &[6.0, 1.2, 1.2, 1.2, 1.2, 1.2], "0072b2"),
        Service::HotWater => (0.7, &[10.0, 1.5], "a34a00"),
        Service::HotBlended => (0.7, &[6.0, 1.5, 1.5, 1.5], "a34a00"),
        Service::HotReturn => (0.5, &[8.0, 1.5, 1.0, 1.5], "a0007a"),
        Service::SolarFlow => (0.5, &[4.0, 1.0, 4.0, 2.5], "7a6000"),
        Service::SolarReturn => (0.5, &[2.5, 1.0, 2.5, 2.5], "7a6000"),
        Service::Filling => (0.35, &[4.0, 1.0], "5a5a5a"),
        Service::Discharge1 => (0.5, &[6.0, 1.2, 1.0, 1.2, 1.0, 1.2], "7b3f00"),
        Service::Discharge2 => (0.7, &[6.0, 1.5, 1.2, 1.5, 1.2, 1.5], "7b3f00"),
        Service::Drain => (0.35, &[1.0, 1.0], "5a5a5a"),
    };
    Stroke { width, dash: dash.to_vec(), ink: Ink(ink), round: false }
}
