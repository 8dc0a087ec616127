//! Real bodies. In: a part or unit with its kind's row and its own attributes. Out: its size and
//! ports in its own frame (x right, y to the front, z up, from its least corner), and the same
//! turned into the room.

use crate::catalogue::{Mount, RealPort};
use crate::layout::space::{Block, Dir, V};
use crate::model::{Part, Side, System};

use super::plan::{Form, Owner};

/// A body in its own frame.
#[derive(Clone, Debug)]
pub struct Body {
    pub owner: Owner,
    pub tag: String,
    pub kind: String,
    pub form: Form,
    pub size: V,
    pub ports: Vec<LocalPort>,
    pub mount: Mount,
    /// Hand space in front, mm.
    pub access: f64,
}

#[derive(Clone, Debug)]
pub struct LocalPort {
    /// Index into the kind's ports.
    pub port: usize,
    pub at: V,
    pub out: Dir,
}

/// Where a body's own right, front and up point in the room.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pose(pub [Dir; 3]);

/// A body in the room.
#[derive(Clone, Debug)]
pub struct Stood {
    pub body: Body,
    pub pose: Pose,
    pub at: Block,
    pub ports: Vec<LocalPort>,
    pub fixed_to: Side,
}

impl Pose {
    /// Upright against a wall, facing away from it.
    pub fn against(side: Side) -> Pose {
        match side {
            Side::Left => Pose([Dir::BACK, Dir::RIGHT, Dir::UP]),
            Side::Right => Pose([Dir::FRONT, Dir::LEFT, Dir::UP]),
            Side::Front => Pose([Dir::LEFT, Dir::BACK, Dir::UP]),
            _ => Pose([Dir::RIGHT, Dir::FRONT, Dir::UP]),
        }
    }

    /// Turned by quarter turns about its own front: 1 sends what pointed right down.
    pub fn rolled(self, quarters: usize) -> Pose {
        let mut p = self;
        for _ in 0..quarters % 4 {
            p = Pose([p.0[2].opposite(), p.0[1], p.0[0]]);
        }
        p
    }

    fn dir(&self, local: Dir) -> Dir {
        let d = self.0[local.axis()];
        if local.sign() > 0.0 { d } else { d.opposite() }
    }

    /// Extent in the room of a size in the body's own frame.
    pub fn extent(&self, size: V) -> V {
        let mut out = [0.0; 3];
        for i in 0..3 {
            out[self.0[i].axis()] = size[i];
        }
        out
    }

    /// A point of the body, from the least corner of its extent in the room.
    pub fn point(&self, size: V, at: V) -> V {
        let mut out = [0.0; 3];
        for i in 0..3 {
            let d = self.0[i];
            out[d.axis()] = if d.sign() > 0.0 { at[i] } else { size[i] - at[i] };
        }
        out
    }
}

pub fn dir_of(side: Side) -> Dir {
    match side {
        Side::Left => Dir::LEFT,
        Side::Right => Dir::RIGHT,
        Side::Front => Dir::FRONT,
        Side::Back => Dir::BACK,
        Side::Floor => Dir::DOWN,
        Side::Ceiling => Dir::UP,
    }
}

pub fn side_of(dir: Dir) -> Side {
    match dir {
        Dir::LEFT => Side::Left,
        Dir::RIGHT => Side::Right,
        Dir::FRONT => Side::Front,
        Dir::BACK => Side::Back,
        Dir::DOWN => Side::Floor,
        _ => Side::Ceiling,
    }
}

/// Unit vector of a clock angle: 0 faces the door, clockwise seen from above.
pub fn clock(angle: f64) -> (f64, f64) {
    let a = angle.to_radians();
    (-libm::sin(a), libm::cos(a))
}

/// The axis direction nearest to a clock angle.
pub fn clock_dir(angle: f64) -> Dir {
    let (x, y) = clock(angle);
    if y.abs() >= x.abs() - 1e-9 {
        if y > 0.0 { Dir::FRONT } else { Dir::BACK }
    } else if x > 0.0 {
        Dir::RIGHT
    } else {
        Dir::LEFT
    }
}

fn is_round(key: &str) -> bool {
    key.ends_with("cylinder") || matches!(key, "buffer" | "accumulator" | "volumiser")
}

pub fn is_cylinder(key: &str) -> bool {
    key.ends_with("cylinder")
}

/// The body of a part, with `turn` degrees clockwise and mirrored if so for round ones.
pub fn of_part(sys: &System, ix: crate::model::PartIx, turn: f64, mirrored: bool) -> Body {
    let part = sys.part(ix);
    let k = &part.kind;
    let mut size = k.body;
    let domed = k.key.ends_with("vessel");
    let round = is_round(&k.key);
    if let Some(d) = sane(part, "diameter") {
        size[0] = d;
        size[1] = d;
    }
    if let Some(h) = sane(part, "height")
        && k.key != "immersion heater"
    {
        size[2] = h;
    }
    let lying = round && part.attrs.flag("horizontal");
    let form = match (domed, round, lying) {
        (true, ..) => Form::Domed,
        (_, true, true) => Form::Lying,
        (_, true, false) => Form::Upright,
        _ => Form::Box,
    };
    let (d, h) = (size[0], size[2]);
    let ports = k
        .ports
        .iter()
        .enumerate()
        .filter_map(|(i, spec)| {
            let (at, out) = match spec.real? {
                RealPort::Round { height, angle } => {
                    let angle = if mirrored { -angle } else { angle } + turn;
                    let (x, y) = clock(angle);
                    let at = [d / 2.0 + d / 2.0 * x, d / 2.0 + d / 2.0 * y, height * h];
                    (at, clock_dir(angle))
                }
                RealPort::Top { radius, angle } => {
                    let (x, y) = clock(angle + turn);
                    let r = radius * d / 2.0;
                    ([d / 2.0 + r * x, d / 2.0 + r * y, h], Dir::UP)
                }
                RealPort::Box { x, y, z, out } => {
                    let s = [size[0] / k.body[0], size[1] / k.body[1], size[2] / k.body[2]];
                    ([x * s[0], y * s[1], z * s[2]], dir_of(out))
                }
            };
            Some(LocalPort { port: i, at: at.map(f64::round), out })
        })
        .collect();
    let mut body = Body {
        owner: Owner::Part(ix),
        tag: part.tag.clone(),
        kind: k.key.clone(),
        form,
        size,
        ports,
        mount: k.mount,
        access: k.access,
    };
    if lying {
        lay_down(&mut body);
    }
    body
}

/// An attribute that can be a size; anything else is left to a finding.
fn sane(part: &Part, key: &str) -> Option<f64> {
    part.number(key).filter(|v| v.is_finite() && *v >= 20.0 && *v <= 20_000.0)
}

/// A cylinder on its side: its axis along x, its foot to the left, what faced the door still
/// facing it, and its relief in the top.
fn lay_down(body: &mut Body) {
    let [d, _, h] = body.size;
    body.size = [h, d, d];
    for p in &mut body.ports {
        let [x, y, z] = p.at;
        if p.out == Dir::UP {
            p.at = [h, y, d / 2.0];
            p.out = Dir::RIGHT;
        } else {
            p.at = [z, y.max(d * 0.75), d - x];
            p.out = Dir::FRONT;
            if z > 0.8 * h {
                p.at = [z, d / 2.0, d];
                p.out = Dir::UP;
            }
        }
        p.at = p.at.map(f64::round);
    }
}

impl Stood {
    /// Stands a body with the least corner of its extent at a point.
    pub fn new(body: Body, pose: Pose, corner: V, fixed_to: Side) -> Stood {
        let e = pose.extent(body.size);
        let at = Block::new(corner, [0, 1, 2].map(|i| corner[i] + e[i]));
        let ports = body
            .ports
            .iter()
            .map(|p| {
                let rel = pose.point(body.size, p.at);
                LocalPort {
                    port: p.port,
                    at: [0, 1, 2].map(|i| corner[i] + rel[i]),
                    out: pose.dir(p.out),
                }
            })
            .collect();
        Stood { body, pose, at, ports, fixed_to }
    }

    pub fn port(&self, port: usize) -> Option<&LocalPort> {
        self.ports.iter().find(|p| p.port == port)
    }

    /// Blocks that together hold the body: a round one is sliced across x.
    pub fn slices(&self) -> Vec<Block> {
        match self.body.form {
            Form::Upright => slices(&self.at, 0, 1, 32),
            Form::Lying => slices(&self.at, 2, 1, 32),
            Form::Box | Form::Domed => vec![self.at],
        }
    }
}

/// Slices of a round body across axis `a`, each as wide along `b` as the circle is there.
fn slices(at: &Block, a: usize, b: usize, n: usize) -> Vec<Block> {
    let (ca, cb) = (at.centre()[a], at.centre()[b]);
    let r = (at.hi[a] - at.lo[a]) / 2.0;
    (0..n)
        .map(|i| {
            let lo = -r + 2.0 * r * i as f64 / n as f64;
            let hi = -r + 2.0 * r * (i + 1) as f64 / n as f64;
            let nearest = if lo <= 0.0 && hi >= 0.0 { 0.0 } else { lo.abs().min(hi.abs()) };
            let half = (r * r - nearest * nearest).max(0.0).sqrt();
            let mut s = *at;
            s.lo[a] = ca + lo;
            s.hi[a] = ca + hi;
            s.lo[b] = cb - half;
            s.hi[b] = cb + half;
            s
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The room's rule: 0 degrees faces the door, clockwise from above, so 90 faces left.
    #[test]
    fn clock_angles_face_where_they_should() {
        assert_eq!(clock_dir(0.0), Dir::FRONT);
        assert_eq!(clock_dir(90.0), Dir::LEFT);
        assert_eq!(clock_dir(-90.0), Dir::RIGHT);
        assert_eq!(clock_dir(180.0), Dir::BACK);
    }

    #[test]
    fn a_quarter_turn_sends_right_down() {
        let p = Pose::against(Side::Back).rolled(1);
        assert_eq!(p.dir(Dir::RIGHT), Dir::DOWN);
        assert_eq!(p.dir(Dir::FRONT), Dir::FRONT);
        assert_eq!(p.dir(Dir::UP), Dir::RIGHT);
        let q = Pose::against(Side::Back).rolled(3);
        assert_eq!(q.dir(Dir::RIGHT), Dir::UP);
    }

    /// A person in the room who faces the left wall has the back wall on the right hand.
    #[test]
    fn on_the_side_walls_right_is_right() {
        assert_eq!(Pose::against(Side::Left).dir(Dir::RIGHT), Dir::BACK);
        assert_eq!(Pose::against(Side::Right).dir(Dir::RIGHT), Dir::FRONT);
    }
}
