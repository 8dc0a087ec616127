//! The cupboard as placed and routed, real mm. In: nothing of its own. Out: what the elevation,
//! the plan, the setting-out sheets, the take-off and the rules read.

use crate::layout::space::Laid;
use crate::model::{Box3, P3, PartIx, Pipe, PipeIx, Side, UnitIx};

#[derive(Clone, Debug, Default)]
pub struct CupboardPlan {
    pub room: Box3,
    pub solids: Vec<Solid>,
    pub routes: Vec<Route>,
    /// Of each tundish the heights from relief outlet to exit hole.
    pub heights: Vec<HeightChain>,
    /// What could not be placed or routed, and what blocks it.
    pub faults: Vec<Fault>,
    /// For the quality figures: length and elbows of the routes, and of each pipe routed alone.
    pub length: f64,
    pub elbows: usize,
    pub least_length: f64,
    pub least_elbows: usize,
    /// How it was gone about and what came of each line, for a later issue to keep to.
    pub way: usize,
    pub lines: Vec<Line>,
}

impl CupboardPlan {
    /// What came of the line that joins these ports.
    pub fn line(&self, joins: &str) -> Option<&Laid> {
        self.lines.iter().find(|l| l.joins == joins).map(|l| &l.laid)
    }

    pub fn route(&self, pipe: PipeIx) -> Option<&Route> {
        self.routes.iter().find(|r| r.pipe == pipe)
    }

    /// Length of the way through these pipes in their order, with the bodies of the fittings
    /// between them, mm. `None` where one of them was not led from end to end.
    pub fn way(&self, pipes: &[PipeIx]) -> Option<f64> {
        let routes: Vec<&Route> = pipes
            .iter()
            .map(|p| self.route(*p).filter(|r| r.routed && r.points.len() > 1))
            .collect::<Option<_>>()?;
        let own = |r: &&Route| r.points.windows(2).map(|w| right_angled(w[0], w[1])).sum::<f64>();
        let ends = |r: &Route| [r.points[0], r.points[r.points.len() - 1]];
        let between = |w: &[&Route]| {
            let pairs = ends(w[0]).into_iter().flat_map(|a| ends(w[1]).map(|b| (a, b)));
            pairs.map(|(a, b)| right_angled(a, b)).fold(f64::INFINITY, f64::min)
        };
        (!routes.is_empty()).then(|| {
            routes.iter().map(own).sum::<f64>() + routes.windows(2).map(between).sum::<f64>()
        })
    }
}

/// Length of pipe from one point to the other, along the walls.
fn right_angled(a: P3, b: P3) -> f64 {
    (a.x - b.x).abs() + (a.y - b.y).abs() + (a.z - b.z).abs()
}

/// A stretch of pipes as it was laid.
#[derive(Clone, Debug)]
pub struct Line {
    /// The ports it joins, in their order.
    pub joins: String,
    pub laid: Laid,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Owner {
    Part(PartIx),
    Unit(UnitIx),
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Form {
    Box,
    /// Round about a vertical axis through the box's middle.
    Upright,
    /// Round about a horizontal axis along x.
    Lying,
    /// A vessel: domed at both ends, upright.
    Domed,
}

/// A body in the room.
#[derive(Clone, Debug)]
pub struct Solid {
    pub owner: Owner,
    pub tag: String,
    pub form: Form,
    pub at: Box3,
    /// The surface its back is turned to.
    pub fixed_to: Side,
    pub held: Held,
    /// Free space the part needs for service: a hand, a withdrawal, a lifted head.
    pub access: Vec<Access>,
    pub ports: Vec<PlacedPort>,
}

#[cfg(test)]
impl Solid {
    /// A plain box on the back wall.
    pub fn at_the_back(part: PartIx, tag: String, at: Box3) -> Solid {
        Solid {
            owner: Owner::Part(part),
            tag,
            form: Form::Box,
            at,
            fixed_to: Side::Back,
            held: Held::To(Side::Back),
            access: Vec::new(),
            ports: Vec::new(),
        }
    }
}

/// What carries a body.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Held {
    /// Standing on it, or screwed to it.
    To(Side),
    /// Screwed into or strapped to another body, or a pipe: its tag.
    On(String),
    /// The pipe in whose line it sits.
    Line,
}

impl Held {
    pub fn words(&self) -> String {
        match self {
            Held::To(Side::Floor) => "floor".to_owned(),
            Held::To(Side::Ceiling) => "ceiling".to_owned(),
            Held::To(side) => format!("{} wall", side.key()),
            Held::On(tag) => format!("on {tag}"),
            Held::Line => "in the line".to_owned(),
        }
    }
}

#[derive(Clone, Debug)]
pub struct Access {
    pub at: Box3,
    /// "withdraw element 600", "hand and spanner".
    pub why: String,
}

#[derive(Clone, Debug)]
pub struct PlacedPort {
    /// Index into the kind's ports.
    pub port: usize,
    pub at: P3,
    /// The way a pipe leaves.
    pub out: Side,
}

/// The centre line of one pipe inside the cupboard, from its `from` end to its `to` end.
#[derive(Clone, Debug)]
pub struct Route {
    pub pipe: PipeIx,
    pub points: Vec<P3>,
    /// Outside diameter of the tube, thickness of its lagging, mm.
    pub od: f64,
    pub lagging: f64,
    pub clips: Vec<P3>,
    /// Some of it lies behind a body and must go in first.
    pub before_cylinder: bool,
    /// Where it leaves the room, if it does.
    pub exit: Option<Exit>,
    /// False: no way was found; `points` is the bare link between its ends.
    pub routed: bool,
}

impl Route {
    /// A bare routed pipe that stays in the room.
    pub fn new(pipe: PipeIx, points: Vec<P3>, od: f64) -> Route {
        Route {
            pipe,
            points,
            od,
            lagging: 0.0,
            clips: Vec::new(),
            before_cylinder: false,
            exit: None,
            routed: true,
        }
    }
}

#[derive(Clone, Debug)]
pub struct Exit {
    pub side: Side,
    pub at: P3,
    /// Core or sleeve, mm.
    pub core: f64,
}

impl Exit {
    /// What the description states of a tail and the plan could not keep: the coordinate's name and
    /// the figure stated.
    pub fn moved(&self, pipe: &Pipe) -> Vec<(&'static str, f64)> {
        const KEPT: f64 = 1.0;
        let Some(tail) = &pipe.tail else { return Vec::new() };
        // Across the surface that it goes through there is nothing to choose.
        let through = match self.side {
            Side::Left | Side::Right => "x",
            Side::Back | Side::Front => "y",
            Side::Floor | Side::Ceiling => "z",
        };
        [("x", &tail.x, self.at.x), ("y", &tail.y, self.at.y), ("z", &tail.z, self.at.z)]
            .into_iter()
            .filter(|(name, ..)| *name != through)
            .filter_map(|(name, stated, at)| Some((name, stated.as_ref()?.value, at)))
            .filter(|(_, stated, at)| (stated - at).abs() > KEPT)
            .map(|(name, stated, _)| (name, stated))
            .collect()
    }
}

/// The heights from a relief valve past its tundish to where the pipe leaves the room.
#[derive(Clone, Debug)]
pub struct HeightChain {
    /// Tag of the tundish.
    pub tundish: String,
    /// Top first.
    pub links: Vec<HeightLink>,
}

impl HeightChain {
    /// The link from a tundish's outlet down to where its first bend begins.
    pub const STRAIGHT: &str = "tundish outlet, straight below";

    /// Upright pipe below the tundish before any bend, mm.
    pub fn straight(&self) -> Option<f64> {
        self.links.iter().find(|l| l.what == Self::STRAIGHT).map(|l| l.drop)
    }
}

/// One link of the heights chain.
#[derive(Clone, Debug)]
pub struct HeightLink {
    pub what: String,
    /// Height of its upper end above finished floor, mm.
    pub z: f64,
    /// What the link takes, mm.
    pub drop: f64,
    /// The room it still has before its limit is broken (negative: short), where it has a limit.
    pub slack: Option<f64>,
    /// The link as a person with a tape reads it.
    pub says: String,
    pub mend: String,
}

/// What the layout could not do.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Trouble {
    /// A body is larger than the room.
    Size,
    /// A body has no place.
    Place,
    /// A pipe has no free way.
    Way,
    /// A tail is stated where none can be.
    Tail,
}

#[derive(Clone, Debug)]
pub struct Fault {
    pub trouble: Trouble,
    pub what: String,
    pub parts: Vec<String>,
    pub pipe: Option<PipeIx>,
    /// The thing in the way, to be outlined in red.
    pub at: Option<Box3>,
}
