//! Directions, vectors and blocks of the engine. In and out: plain numbers in mm.

/// x, y, z.
pub type V = [f64; 3];

/// One of the six ways along the axes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Dir(pub u8);

impl Dir {
    pub const RIGHT: Dir = Dir(0);
    pub const LEFT: Dir = Dir(1);
    pub const FRONT: Dir = Dir(2);
    pub const BACK: Dir = Dir(3);
    pub const UP: Dir = Dir(4);
    pub const DOWN: Dir = Dir(5);
    pub const ALL: [Dir; 6] = [Dir::RIGHT, Dir::LEFT, Dir::FRONT, Dir::BACK, Dir::UP, Dir::DOWN];

    pub fn axis(self) -> usize {
        usize::from(self.0 >> 1)
    }

    pub fn sign(self) -> f64 {
        if self.0 & 1 == 0 { 1.0 } else { -1.0 }
    }

    pub fn opposite(self) -> Dir {
        Dir(self.0 ^ 1)
    }

    pub fn of(axis: usize, positive: bool) -> Dir {
        Dir((axis as u8) << 1 | u8::from(!positive))
    }

    /// The way from one point to another that differs from it on one axis only.
    pub fn between(a: V, b: V) -> Option<Dir> {
        let axis = (0..3).max_by(|&i, &j| (b[i] - a[i]).abs().total_cmp(&(b[j] - a[j]).abs()))?;
        let step = b[axis] - a[axis];
        (step.abs() > 1e-6).then(|| Dir::of(axis, step > 0.0))
    }

    pub fn step(self, from: V, by: f64) -> V {
        let mut to = from;
        to[self.axis()] += self.sign() * by;
        to
    }
}

pub fn add(a: V, b: V) -> V {
    [a[0] + b[0], a[1] + b[1], a[2] + b[2]]
}

pub fn manhattan(a: V, b: V) -> f64 {
    (0..3).map(|i| (a[i] - b[i]).abs()).sum()
}

/// Length of a polyline.
pub fn length(points: &[V]) -> f64 {
    points.windows(2).map(|w| manhattan(w[0], w[1])).sum()
}

#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Block {
    pub lo: V,
    pub hi: V,
}

impl Block {
    pub fn new(lo: V, hi: V) -> Block {
        Block { lo, hi }
    }

    /// The block that just holds two points.
    pub fn around(a: V, b: V) -> Block {
        let lo = [a[0].min(b[0]), a[1].min(b[1]), a[2].min(b[2])];
        let hi = [a[0].max(b[0]), a[1].max(b[1]), a[2].max(b[2])];
        Block { lo, hi }
    }

    /// The block that just holds some points.
    pub fn holding(points: &[V]) -> Option<Block> {
        let first = Block::new(*points.first()?, *points.first()?);
        Some(points.iter().fold(first, |b, p| b.with(&Block::new(*p, *p))))
    }

    /// The block that just holds this and another.
    pub fn with(&self, o: &Block) -> Block {
        Block::new(
            [0, 1, 2].map(|i| self.lo[i].min(o.lo[i])),
            [0, 1, 2].map(|i| self.hi[i].max(o.hi[i])),
        )
    }

    pub fn grown(&self, by: f64) -> Block {
        Block { lo: self.lo.map(|c| c - by), hi: self.hi.map(|c| c + by) }
    }

    pub fn grown_each(&self, by: V) -> Block {
        let mut out = *self;
        for (i, b) in by.into_iter().enumerate() {
            out.lo[i] -= b;
            out.hi[i] += b;
        }
        out
    }

    pub fn size(&self) -> V {
        [0, 1, 2].map(|i| self.hi[i] - self.lo[i])
    }

    pub fn centre(&self) -> V {
        [0, 1, 2].map(|i| (self.hi[i] + self.lo[i]) / 2.0)
    }

    /// The least of its three sizes.
    pub fn least(&self) -> f64 {
        self.size().into_iter().fold(f64::INFINITY, f64::min)
    }

    /// How deep one that overlaps stands in it: the least of what they share on each axis.
    pub fn shared(&self, other: &Block) -> f64 {
        let on = |i: usize| self.hi[i].min(other.hi[i]) - self.lo[i].max(other.lo[i]);
        on(0).min(on(1)).min(on(2))
    }

    /// True where the interiors share more than a hair.
    pub fn overlaps(&self, o: &Block) -> bool {
        const HAIR: f64 = 1e-6;
        (0..3).all(|i| self.lo[i] < o.hi[i] - HAIR && o.lo[i] < self.hi[i] - HAIR)
    }

    pub fn contains(&self, o: &Block) -> bool {
        const HAIR: f64 = 1e-6;
        (0..3).all(|i| self.lo[i] <= o.lo[i] + HAIR && o.hi[i] <= self.hi[i] + HAIR)
    }

    /// Right-angled distance from a point.
    pub fn distance(&self, p: V) -> f64 {
        (0..3).map(|i| (self.lo[i] - p[i]).max(p[i] - self.hi[i]).max(0.0)).sum()
    }
}
