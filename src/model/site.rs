//! The cupboard and what surrounds it, as finished surfaces in real space.

use serde::{Deserialize, Serialize};

use super::{Attrs, Box3, Span, Value};

/// A surface of the cupboard, seen from the door.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Side {
    Back,
    Left,
    Right,
    Front,
    Floor,
    Ceiling,
}

impl Side {
    pub const ALL: [Side; 6] =
        [Side::Back, Side::Left, Side::Right, Side::Front, Side::Floor, Side::Ceiling];

    pub fn key(self) -> &'static str {
        match self {
            Side::Back => "back",
            Side::Left => "left",
            Side::Right => "right",
            Side::Front => "front",
            Side::Floor => "floor",
            Side::Ceiling => "ceiling",
        }
    }

    pub fn from_key(key: &str) -> Option<Side> {
        Side::ALL.into_iter().find(|s| s.key() == key)
    }
}

/// Clear door opening in the front.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Door {
    pub clear_width: Value<f64>,
    pub clear_height: Value<f64>,
    /// From the left wall's face to the opening's left edge.
    pub from_left: Value<f64>,
    /// Left or right.
    pub hinge: Value<Side>,
    /// True: opens inwards, so its sweep takes room.
    pub inward: bool,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Wall {
    pub side: Side,
    /// An outside wall, through which the discharge may leave.
    pub outside: bool,
    /// `thickness` mm, `material`, and so on.
    pub attrs: Attrs,
}

/// `kind` "timber" or "solid", `build-up` mm, `joists` "left-right" or "front-back",
/// `joist-width`, `joist-depth`, `centres`, `first`, `span` mm: what is known of the floor.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Floor {
    pub attrs: Attrs,
}

/// Something in the way: a steel, a boxed-in duct, a shelf.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Obstacle {
    pub name: String,
    pub at: Box3,
    #[serde(skip)]
    pub span: Span,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Cupboard {
    pub width: Value<f64>,
    pub depth: Value<f64>,
    pub height: Value<f64>,
    /// "finish" or "stud": what the sizes were taken to.
    pub datum: Value<String>,
    pub door: Option<Door>,
    pub walls: Vec<Wall>,
    pub floor: Floor,
    pub obstacles: Vec<Obstacle>,
}

/// The joists under a floor, as far as its facts tell.
#[derive(Clone, Debug, PartialEq)]
pub struct Joists {
    /// 0 where they lie one behind the other along x, 1 along y.
    pub axis: usize,
    /// Their middles, mm along that axis.
    pub middles: Vec<f64>,
    /// Half their width, mm; 0 where it is not stated.
    pub half: f64,
    /// True where the first one's place is only supposed: half a spacing from the datum.
    pub supposed: bool,
}

impl Joists {
    /// The joist that a hole of a radius round a point of the floor would cut, by its middle.
    pub fn under(&self, at: [f64; 2], radius: f64) -> Option<f64> {
        let meets = |m: &&f64| (at[self.axis] - **m).abs() < self.half + radius;
        self.middles.iter().find(meets).copied()
    }
}

impl Cupboard {
    /// `None` where the floor's facts state no joists.
    pub fn joists(&self) -> Option<Joists> {
        let floor = &self.floor.attrs;
        let centres = floor.number("centres").filter(|c| *c >= 50.0)?;
        // Joists that run left to right are met going from the back to the front.
        let (axis, span) = match floor.text("joists")? {
            "left-right" => (1, self.depth.value),
            _ => (0, self.width.value),
        };
        let stated = floor.quantity("first");
        let first = stated.as_ref().map_or(centres / 2.0, |v| v.value);
        let half = floor.number("joist-width").unwrap_or(0.0) / 2.0;
        let middles = (0..)
            .map(|i| first + f64::from(i) * centres)
            .take_while(|at| at - half < span)
            .collect();
        Some(Joists { axis, middles, half, supposed: stated.is_none_or(|v| v.origin.is_assumed()) })
    }

    /// The finished room as a box at the origin.
    pub fn room(&self) -> Box3 {
        Box3 {
            x: 0.0,
            y: 0.0,
            z: 0.0,
            w: self.width.value,
            d: self.depth.value,
            h: self.height.value,
        }
    }
}

/// Everything about the place that is not a part or a pipe.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Site {
    /// `None` for plant rooms and whole buildings drawn as schematics only.
    pub cupboard: Option<Cupboard>,
    /// `floor-area` m2, `bedrooms`, `occupants`, `new-dwelling`, `hardness` ppm, …
    pub dwelling: Attrs,
}
