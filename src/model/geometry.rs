//! Points and boxes. Real space: x right from the left wall, y from the back wall towards the
//! door, z up from finished floor level, mm. Sheet space: mm on paper, origin top left, y down.

use serde::Serialize;

/// A point on a sheet, mm on paper.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct P2 {
    pub x: f64,
    pub y: f64,
}

/// A point in the room, mm.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct P3 {
    pub x: f64,
    pub y: f64,
    pub z: f64,
}

/// A rectangle on a sheet.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Rect {
    pub x: f64,
    pub y: f64,
    pub w: f64,
    pub h: f64,
}

/// A box in the room: its least corner and its extent.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Box3 {
    pub x: f64,
    pub y: f64,
    pub z: f64,
    pub w: f64,
    pub d: f64,
    pub h: f64,
}

impl P2 {
    pub const fn new(x: f64, y: f64) -> P2 {
        P2 { x, y }
    }
}

impl P3 {
    pub const fn new(x: f64, y: f64, z: f64) -> P3 {
        P3 { x, y, z }
    }
}

impl Rect {
    pub const fn new(x: f64, y: f64, w: f64, h: f64) -> Rect {
        Rect { x, y, w, h }
    }

    /// Of no size, at a point.
    pub const fn at(p: P2) -> Rect {
        Rect::new(p.x, p.y, 0.0, 0.0)
    }

    /// The box of a segment.
    pub fn between(a: P2, b: P2) -> Rect {
        let (x, y) = (a.x.min(b.x), a.y.min(b.y));
        Rect::new(x, y, a.x.max(b.x) - x, a.y.max(b.y) - y)
    }

    pub fn right(&self) -> f64 {
        self.x + self.w
    }

    pub fn bottom(&self) -> f64 {
        self.y + self.h
    }

    pub fn centre(&self) -> P2 {
        P2::new(self.x + self.w / 2.0, self.y + self.h / 2.0)
    }

    /// True where the interiors share more than a hair.
    pub fn overlaps(&self, other: &Rect) -> bool {
        const HAIR: f64 = 1e-6;
        self.x < other.right() - HAIR
            && other.x < self.right() - HAIR
            && self.y < other.bottom() - HAIR
            && other.y < self.bottom() - HAIR
    }

    /// True where the other lies wholly inside.
    pub fn holds(&self, other: &Rect) -> bool {
        other.x >= self.x
            && other.y >= self.y
            && other.right() <= self.right()
            && other.bottom() <= self.bottom()
    }

    /// The least that holds all of them.
    pub fn holding(all: impl IntoIterator<Item = Rect>) -> Option<Rect> {
        all.into_iter().reduce(|a, b| {
            let (x, y) = (a.x.min(b.x), a.y.min(b.y));
            Rect::new(x, y, a.right().max(b.right()) - x, a.bottom().max(b.bottom()) - y)
        })
    }

    pub fn grown(&self, by: f64) -> Rect {
        Rect::new(self.x - by, self.y - by, self.w + 2.0 * by, self.h + 2.0 * by)
    }

    /// Right-angled to the other on each axis, then across; 0 where they meet.
    pub fn gap(&self, other: &Rect) -> f64 {
        let x = (self.x - other.right()).max(other.x - self.right()).max(0.0);
        let y = (self.y - other.bottom()).max(other.y - self.bottom()).max(0.0);
        (x * x + y * y).sqrt()
    }

    /// How far a point lies from it; 0 inside.
    pub fn gap_to(&self, p: P2) -> f64 {
        self.gap(&Rect::at(p))
    }

    /// Its nearest point to another.
    pub fn nearest(&self, p: P2) -> P2 {
        P2::new(p.x.clamp(self.x, self.right()), p.y.clamp(self.y, self.bottom()))
    }

    /// From where to where, of its length, a segment lies inside; from beyond to where it does not.
    /// Along an edge is inside (clipping of Liang and Barsky, 1984).
    pub fn clips(&self, p: P2, q: P2) -> (f64, f64) {
        let (mut from, mut to) = (0.0_f64, 1.0_f64);
        for (d, near, far) in [
            (q.x - p.x, self.x - p.x, self.right() - p.x),
            (q.y - p.y, self.y - p.y, self.bottom() - p.y),
        ] {
            if d.abs() < 1e-12 {
                if near > 0.0 || far < 0.0 {
                    return (1.0, 0.0);
                }
                continue;
            }
            let (a, c) = (near / d, far / d);
            from = from.max(a.min(c));
            to = to.min(a.max(c));
        }
        (from, to)
    }

    /// True where a segment passes through.
    pub fn is_passed(&self, p: P2, q: P2) -> bool {
        let (from, to) = self.clips(p, q);
        from < to
    }
}

/// From a point to a segment.
pub fn to_segment(p: P2, a: P2, b: P2) -> f64 {
    let (dx, dy) = (b.x - a.x, b.y - a.y);
    let long = dx * dx + dy * dy;
    let t = if long > 0.0 { ((p.x - a.x) * dx + (p.y - a.y) * dy) / long } else { 0.0 };
    let t = t.clamp(0.0, 1.0);
    libm::hypot(p.x - (a.x + t * dx), p.y - (a.y + t * dy))
}

/// True where two segments cross; to touch at an end is no crossing.
pub fn cross(a: P2, b: P2, c: P2, d: P2) -> bool {
    let turn = |p: P2, q: P2, r: P2| (q.x - p.x) * (r.y - p.y) - (q.y - p.y) * (r.x - p.x);
    turn(a, b, c) * turn(a, b, d) < 0.0 && turn(c, d, a) * turn(c, d, b) < 0.0
}

impl Box3 {
    /// The least that holds all within so much of a straight.
    pub fn around(a: P3, b: P3, by: f64) -> Box3 {
        Box3 {
            x: a.x.min(b.x) - by,
            y: a.y.min(b.y) - by,
            z: a.z.min(b.z) - by,
            w: (a.x - b.x).abs() + 2.0 * by,
            d: (a.y - b.y).abs() + 2.0 * by,
            h: (a.z - b.z).abs() + 2.0 * by,
        }
    }

    pub fn middle(&self) -> P3 {
        P3::new(self.x + self.w / 2.0, self.y + self.d / 2.0, self.z + self.h / 2.0)
    }

    pub fn overlaps(&self, o: &Box3) -> bool {
        const HAIR: f64 = 1e-6;
        self.x < o.x + o.w - HAIR
            && o.x < self.x + self.w - HAIR
            && self.y < o.y + o.d - HAIR
            && o.y < self.y + self.d - HAIR
            && self.z < o.z + o.h - HAIR
            && o.z < self.z + self.h - HAIR
    }
}

/// Whole millimetres as every sheet prints them, half a millimetre up: one value never reads two
/// ways.
pub fn whole_mm(value: f64) -> String {
    // What was added up from halves may lie a hair below its half.
    let mm = (value + 0.5 + 1e-6).floor();
    format!("{:.0}", if mm == 0.0 { 0.0 } else { mm })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 838.5 is 839 on every sheet; nought has no sign.
    #[test]
    fn halves_go_up() {
        assert_eq!(whole_mm(838.5), "839");
        assert_eq!(whole_mm(837.5), "838");
        assert_eq!(whole_mm(372.5 - 1e-9), "373");
        assert_eq!(whole_mm(-0.2), "0");
    }
}
