//! Sensible cupboards by number. In: a seed. Out: a description; and, of a laid-out cupboard, what
//! an eye that knows nothing of the placer and router would say: room enough or not, and what
//! stands in what.

use firstfix::layout::cupboard::plan::{CupboardPlan, Form, Solid};
use firstfix::model::{Box3, Side, System};

/// Numbers from a seed (the 64-bit mixer of Steele, Lea and Flood, "Fast splittable pseudorandom
/// number generators", 2014).
pub struct Dice(u64);

impl Dice {
    pub fn new(seed: u64) -> Dice {
        Dice(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ 0x5DEE_CE66_D1CE_4E5B)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// A multiple of `step` from `lo` to `hi`.
    fn between(&mut self, lo: u64, hi: u64, step: u64) -> u64 {
        lo + self.next() % ((hi - lo) / step + 1) * step
    }

    fn one_in(&mut self, n: u64) -> bool {
        self.next().is_multiple_of(n)
    }
}

/// Litres, diameter and height of common cylinders, mm.
const CYLINDERS: [(u64, u64, u64); 8] = [
    (90, 475, 960),
    (120, 475, 1210),
    (120, 545, 1010),
    (150, 545, 1210),
    (170, 545, 1340),
    (210, 545, 1610),
    (250, 580, 1700),
    (300, 580, 1980),
];

/// A description: direct, or with a boiler and one, two or four heating zones.
pub fn text(seed: u64) -> String {
    let mut d = Dice::new(seed);
    let width = d.between(700, 1500, 10);
    let depth = d.between(550, 1000, 10);
    let height = d.between(2000, 2700, 10);
    let zones = [0, 1, 2, 4][d.between(0, 3, 1) as usize];
    // Beside the cylinder room for the valves, over it for the relief.
    let fits: Vec<_> = CYLINDERS
        .iter()
        .filter(|c| c.1 + 20 <= depth && c.1 + 180 <= width && c.2 + 350 <= height)
        .collect();
    let (litres, diameter, tall) = *fits[d.between(0, fits.len() as u64 - 1, 1) as usize];
    let wall = ["left", "right", "back"][d.between(0, 2, 1) as usize];
    let door = (width - 60).min(926);
    let from = (width - door) / 2;
    let hinge = if d.one_in(2) { "left" } else { "right" };
    let mut out = format!(
        "job \"Cupboard {seed}\" number=\"C-{seed}\"\n\
         cupboard width={width} depth={depth} height={height} {{\n\
         \x20   door clear-width={door} clear-height=1981 from-left={from} hinge=\"{hinge}\"\n\
         \x20   wall \"{wall}\" outside=#true\n}}\n"
    );
    // Tails in a row along the back wall, on the far side of the wall the discharge leaves by.
    let tail = |place: u64| {
        let x = 80 + 75 * place;
        let x = if wall == "left" { width - x } else { x };
        format!("x={x} y=60")
    };
    let stated = d.one_in(2);
    let main = if stated { format!(" {{ tail {} }}", tail(0)) } else { String::new() };
    out += &format!("main static=4.0 dynamic=3.0 at=25{main}\n");
    let heat = if zones == 0 { "electric" } else { "indirect" };
    out += &format!(
        "cylinder \"store\" litres={litres} heated=\"{heat}\" diameter={diameter} height={tall}"
    );
    out += if zones == 0 { " {\n    immersion kw=3\n}\n" } else { " {\n    coil kw=18\n}\n" };
    if zones > 0 {
        let size = if zones > 2 { 28 } else { 22 };
        let tails = if stated || d.one_in(3) {
            format!(
                " {{\n    tail \"flow\" {} size={size}\n    tail \"return\" {} size={size}\n}}",
                tail(1),
                tail(2)
            )
        } else {
            String::new()
        };
        out += &format!("boiler kw=24 flow=70 return=50 place=\"kitchen\"{tails}\n");
        for z in 1..=zones {
            out += &format!("zone \"zone {z}\" kw={} radiators=4\n", 2 + z % 3);
        }
    }
    out += "outlets { bath; shower; basin 2; kitchen-sink; wc 2 }\n";
    let length = d.between(2, 5, 1);
    out += &format!("discharge wall=\"{wall}\" length={length}.0 elbows=2 to=\"gully\"\n");
    out
}

fn meet(a: &Box3, b: &Box3, by: f64) -> bool {
    let lap = |a: f64, al: f64, b: f64, bl: f64| a + by < b + bl && b + by < a + al;
    lap(a.x, a.w, b.x, b.w) && lap(a.y, a.d, b.y, b.d) && lap(a.z, a.h, b.z, b.h)
}

/// A looser check than placing, that knows no trade: somewhere the cylinder's foot stands clear of
/// the tails the description states, and what hangs on walls, with 40 mm round it, covers no more
/// than half of their face, of which the standing bodies hide theirs.
pub fn roomy(sys: &System, plan: &CupboardPlan) -> bool {
    foot_has_room(sys, plan) && walls_have_room(plan) && vessels_have_room(sys, plan)
}

/// Circles' middles that a cylinder may stand on.
fn feet(sys: &System, plan: &CupboardPlan, r: f64, step: f64) -> Vec<(f64, f64)> {
    let number = |v: &Option<firstfix::model::Value<f64>>| v.as_ref().map(|v| v.value);
    let stated: Vec<(f64, f64)> = sys
        .pipes
        .iter()
        .filter_map(|p| p.tail.as_ref())
        .filter(|t| number(&t.z).unwrap_or(0.0) < 1.0)
        .filter_map(|t| Some((number(&t.x)?, number(&t.y)?)))
        .collect();
    let steps =
        |size: f64| (0..).map(move |i| r + step * f64::from(i)).take_while(move |v| v + r <= size);
    // 20 mm from a tail's middle to the foot's edge: half a tube and its hole.
    let clear =
        |c: &(f64, f64)| stated.iter().all(|t| libm::hypot(t.0 - c.0, t.1 - c.1) >= r + 20.0);
    steps(plan.room.w).flat_map(|x| steps(plan.room.d).map(move |y| (x, y))).filter(clear).collect()
}

fn cylinder(plan: &CupboardPlan) -> Option<Box3> {
    let foot = plan.solids.iter().find(|s| s.fixed_to == Side::Floor && s.form == Form::Upright);
    foot.map(|s| s.at)
}

/// A vessel's diameter and its length. One that found no place is laid down wherever there is room, but
/// on a wall it hangs upright.
fn upright(b: &Box3) -> (f64, f64) {
    let mut sides = [b.w, b.d, b.h];
    sides.sort_by(f64::total_cmp);
    let across = sides[1];
    (across, b.w + b.d + b.h - 2.0 * across)
}

/// Somewhere the cylinder stands so that each vessel by itself goes into a corner beside it, or over
/// it.
fn vessels_have_room(sys: &System, plan: &CupboardPlan) -> bool {
    let Some(tank) = cylinder(plan) else { return true };
    let (r, room) = (tank.w / 2.0, plan.room);
    let feet = feet(sys, plan, r, 10.0);
    plan.solids.iter().filter(|s| s.form == Form::Domed).all(|s| {
        let (across, long) = upright(&s.at);
        let over = room.h - (tank.z + tank.h) >= long;
        // From a corner's vessel the tank is furthest off; off is what is left of its middle.
        let beside = |(x, y): &(f64, f64)| {
            [*x, room.w - x].into_iter().any(|x| {
                [*y, room.d - y].into_iter().any(|y| {
                    let off = ((x - across).max(0.0), (y - across).max(0.0));
                    libm::hypot(off.0, off.1) >= r
                })
            })
        };
        over || feet.iter().any(beside)
    })
}

fn foot_has_room(sys: &System, plan: &CupboardPlan) -> bool {
    cylinder(plan).is_none_or(|tank| !feet(sys, plan, tank.w / 2.0, 5.0).is_empty())
}

fn walls_have_room(plan: &CupboardPlan) -> bool {
    let r = plan.room;
    let (mut walls, mut hung) = ((r.w + 2.0 * r.d) * r.h, 0.0);
    for s in &plan.solids {
        let b = s.at;
        match s.fixed_to {
            Side::Floor if s.form == Form::Upright => walls -= b.w * b.h,
            Side::Back => hung += (b.w + 80.0) * (b.h + 80.0),
            Side::Left | Side::Right => hung += (b.d + 80.0) * (b.h + 80.0),
            _ => {}
        }
    }
    hung <= 0.5 * walls
}

/// Everything that stands in something else: bodies, and pipes that share no part with it.
pub fn collisions(sys: &System, plan: &CupboardPlan) -> Vec<String> {
    let mut out = Vec::new();
    let solids: &[Solid] = &plan.solids;
    for (i, a) in solids.iter().enumerate() {
        for b in &solids[i + 1..] {
            if meet(&a.at, &b.at, 0.5) {
                out.push(format!("{} in {}", a.tag, b.tag));
            }
        }
    }
    let routed: Vec<_> = plan.routes.iter().filter(|r| r.routed).collect();
    let tags = |pipe| {
        let p = sys.pipe(pipe);
        let mut tags = Vec::new();
        for end in [p.from.part, p.to.part] {
            let part = sys.part(end);
            tags.push(part.tag.clone());
            tags.extend(part.on.map(|on| sys.part(on).tag.clone()));
            tags.extend(part.unit.map(|u| sys.unit(u).tag.clone()));
        }
        tags
    };
    let straights = |r: &firstfix::layout::cupboard::plan::Route| -> Vec<Box3> {
        let by = r.od / 2.0 + r.lagging;
        r.points
            .windows(2)
            .map(|w| {
                let lo = |a: f64, b: f64| a.min(b) - if (a - b).abs() > 0.01 { 0.0 } else { by };
                let size = |a: f64, b: f64| {
                    (a - b).abs().max(2.0 * by * f64::from(u8::from((a - b).abs() <= 0.01)))
                };
                Box3 {
                    x: lo(w[0].x, w[1].x),
                    y: lo(w[0].y, w[1].y),
                    z: lo(w[0].z, w[1].z),
                    w: size(w[0].x, w[1].x),
                    d: size(w[0].y, w[1].y),
                    h: size(w[0].z, w[1].z),
                }
            })
            .collect()
    };
    for (i, r) in routed.iter().enumerate() {
        let own = tags(r.pipe);
        let boxes = straights(r);
        for s in solids.iter().filter(|s| !own.contains(&s.tag)) {
            let hit = |b: &Box3| s.blocks().iter().any(|p| meet(p, b, 0.5));
            if boxes.iter().any(hit) {
                out.push(format!("{} through {}", sys.pipe(r.pipe).id, s.tag));
            }
        }
        for o in &routed[i + 1..] {
            let other = tags(o.pipe);
            let joined = own.iter().any(|t| other.contains(t));
            if !joined && boxes.iter().any(|a| straights(o).iter().any(|b| meet(a, b, 0.5))) {
                out.push(format!("{} through {}", sys.pipe(r.pipe).id, sys.pipe(o.pipe).id));
            }
        }
    }
    out
}
