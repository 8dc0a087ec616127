//! Looking at the room from one side. In: real mm. Out: mm on paper, and how near a thing is.

use super::section::Section;
use crate::model::{Box3, P2, P3, Rect};

/// Scales for reductions that ISO 5455 lists.
pub const SCALES: [u32; 6] = [5, 10, 20, 50, 100, 200];

/// Where the eye stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Projection {
    /// At the door, facing the back wall.
    Front,
    /// Above, the door at the bottom.
    Plan,
    /// Inside, facing the left wall: the door at the left.
    Left,
    /// Inside, facing the right wall: the door at the right.
    Right,
}

impl Projection {
    /// Seen from where, in words.
    pub fn words(self) -> &'static str {
        match self {
            Projection::Front => "seen from the door, facing the back wall",
            Projection::Plan => "seen from above, door at the bottom",
            Projection::Left => "seen from inside, facing the left wall",
            Projection::Right => "seen from inside, facing the right wall",
        }
    }

    /// Real size of what the view shows of a room, across and up or down, mm.
    pub fn extent(self, room: &Box3) -> (f64, f64) {
        match self {
            Projection::Front => (room.w, room.h),
            Projection::Plan => (room.w, room.d),
            Projection::Left | Projection::Right => (room.d, room.h),
        }
    }

    /// Which real axes run along the paper: across, then up or down.
    pub fn axes(self) -> (char, char) {
        match self {
            Projection::Front => ('x', 'z'),
            Projection::Plan => ('x', 'y'),
            Projection::Left | Projection::Right => ('y', 'z'),
        }
    }
}

/// A projection at a scale, at a place on the sheet.
#[derive(Clone, Copy, Debug)]
pub struct View {
    pub projection: Projection,
    pub scale: f64,
    pub room: Box3,
    /// Top left corner of the room's outline on paper.
    pub at: P2,
    /// The plane before which nothing is shown.
    pub section: Option<Section>,
}

impl View {
    /// A view of the whole room.
    pub fn new(projection: Projection, scale: f64, room: Box3, at: P2) -> View {
        View { projection, scale, room, at, section: None }
    }

    /// Size of the room's outline on paper.
    pub fn size(&self) -> (f64, f64) {
        let (w, h) = self.projection.extent(&self.room);
        (w / self.scale, h / self.scale)
    }

    pub fn outline(&self) -> Rect {
        let (w, h) = self.size();
        Rect::new(self.at.x, self.at.y, w, h)
    }

    /// A real point on paper.
    pub fn point(&self, p: P3) -> P2 {
        let (u, v) = match self.projection {
            Projection::Front => (p.x, self.room.h - p.z),
            Projection::Plan => (p.x, p.y),
            Projection::Left => (self.room.d - p.y, self.room.h - p.z),
            Projection::Right => (p.y, self.room.h - p.z),
        };
        P2::new(self.at.x + u / self.scale, self.at.y + v / self.scale)
    }

    /// A real box on paper.
    pub fn rect(&self, b: &Box3) -> Rect {
        let a = self.point(P3::new(b.x, b.y, b.z));
        let c = self.point(P3::new(b.x + b.w, b.y + b.d, b.z + b.h));
        Rect::new(a.x.min(c.x), a.y.min(c.y), (a.x - c.x).abs(), (a.y - c.y).abs())
    }

    /// How near to the eye: greater is nearer.
    pub fn nearness(&self, p: P3) -> f64 {
        match self.projection {
            Projection::Front => p.y,
            Projection::Plan => p.z,
            // The eye is inside: what stands at the wall is the farthest.
            Projection::Left => p.x,
            Projection::Right => -p.x,
        }
    }

    /// The nearest face of a box.
    pub fn front_of(&self, b: &Box3) -> f64 {
        let far = P3::new(b.x + b.w, b.y + b.d, b.z + b.h);
        self.nearness(P3::new(b.x, b.y, b.z)).max(self.nearness(far))
    }
}

/// The coordinate of a point along an axis as [`Projection::axes`] names them.
pub fn along(axis: char, p: P3) -> f64 {
    match axis {
        'x' => p.x,
        'y' => p.y,
        _ => p.z,
    }
}

/// The largest listed scale at which `real` mm fit into `paper` mm both ways; the smallest listed
/// one where none does.
pub fn choose_scale(real: (f64, f64), paper: (f64, f64)) -> u32 {
    let fits = |s: &u32| {
        let s = f64::from(*s);
        real.0 / s <= paper.0 && real.1 / s <= paper.1
    };
    SCALES.into_iter().find(fits).unwrap_or(SCALES[SCALES.len() - 1])
}

#[cfg(test)]
mod tests {
    use super::*;

    /// ISO 5455 scales; a 900 × 2400 cupboard with 30 mm for two rows of dimensions goes on A3
    /// landscape at 1:10, a 1200 × 2400 one on A4 portrait above a 40 mm block only at 1:20.
    #[test]
    fn scales_follow_the_sheet() {
        assert_eq!(choose_scale((900.0, 2400.0), (390.0 - 30.0, 277.0 - 30.0)), 10);
        assert_eq!(choose_scale((1200.0, 2400.0), (180.0 - 30.0, 277.0 - 40.0 - 30.0)), 20);
    }

    #[test]
    fn a_point_lands_where_the_scale_says() {
        let room = Box3 { x: 0.0, y: 0.0, z: 0.0, w: 980.0, d: 760.0, h: 2380.0 };
        let view = View::new(Projection::Front, 10.0, room, P2::new(30.0, 20.0));
        let p = view.point(P3::new(460.0, 100.0, 1000.0));
        assert_eq!((p.x, p.y), (76.0, 158.0));
    }

    /// From inside the room, what is fixed to the wall that one faces lies behind what stands before it.
    #[test]
    fn the_wall_that_is_faced_is_farthest() {
        let room = Box3 { x: 0.0, y: 0.0, z: 0.0, w: 1000.0, d: 800.0, h: 2400.0 };
        let (left, middle, right) = (50.0, 500.0, 950.0);
        let near = |projection, x: f64| {
            View::new(projection, 10.0, room, P2::default()).nearness(P3::new(x, 400.0, 1000.0))
        };
        assert!(near(Projection::Left, left) < near(Projection::Left, middle));
        assert!(near(Projection::Right, right) < near(Projection::Right, middle));
    }
}
