//! The row of zone valves. In: the valves and the tees they hang on. Out: one height, an even
//! pitch, the header straight above the inlets, in the header's own order.

use crate::layout::space::{Block, Dir, V};
use crate::model::{PartIx, Side};

use super::body::Stood;
use super::chains::{Role, Tip};
use super::lessons::Thing;
use super::place::Trade;
use super::plan::Owner;
use super::room::{Keep, Stub, Why, Wish};

impl Trade<'_> {
    /// Zone valves in a row at one height and even pitch, in the order of their header.
    pub(super) fn bank(&mut self) {
        let valves = self.headers();
        let n = valves.len();
        if n < 2 {
            return;
        }
        for rows in 1..=3usize {
            let per = n.div_ceil(rows);
            if rows > 1 && per < 2 {
                break;
            }
            let before = (self.room.stood.len(), self.room.keeps.len());
            let all = valves.chunks(per).all(|chunk| self.row(chunk));
            if all {
                return;
            }
            self.room.stood.truncate(before.0);
            self.room.keeps.truncate(before.1);
        }
    }

    fn row(&mut self, hung: &[Hung]) -> bool {
        let valves: Vec<PartIx> = hung.iter().map(|h| h.valve).collect();
        let body = self.body_of(valves[0], 0.0, false);
        let owners: Vec<Owner> = valves.iter().map(|v| Owner::Part(*v)).collect();
        let mean = |port: usize| -> Option<(V, f64)> {
            let mut sum = [0.0; 3];
            let (mut n, mut w) = (0.0, 0.0);
            for o in &owners {
                if let Some((at, weight)) = self.target(Tip::Port(*o, port)) {
                    for i in 0..3 {
                        sum[i] += at[i];
                    }
                    n += 1.0;
                    w += weight;
                }
            }
            (n > 0.0).then(|| (sum.map(|s| s / n), 0.35 * w / n))
        };
        let widest = owners
            .iter()
            .flat_map(|o| (0..2).filter_map(|p| self.stub(*o, p)))
            .map(|s| s.radius)
            .fold(11.0, f64::max);
        let pitch = (body.size[2] + 16.0).max(2.0 * widest + 26.0);
        let pitch = (pitch / 5.0).ceil() * 5.0;
        // Room for the header over the inlets.
        let stubs = |port: usize| {
            let own = self.stub(owners[0], port)?;
            Some(if port == 0 { Stub { straight: HEADER + 60.0, radius: 30.0 } } else { own })
        };
        let wish = Wish {
            body: &body,
            stubs: &stubs,
            target: &mean,
            walls: &[(Side::Back, 0.0), (Side::Right, 400.0), (Side::Left, 450.0)],
            rolls: &[1],
            z: (1250.0, 1750.0, 2.0),
            z_hard: (400.0, self.room.size.hi[2] - 140.0),
            off: None,
            dry: false,
            front: 0.0,
            stated: [None; 3],
            row: (valves.len(), pitch),
            exact: 1.0,
            need: &|_| 0.0,
            far: &|_| None,
            price: &|at| owners.iter().map(|o| self.lessons.price(Thing::Body(*o), at)).sum(),
        };
        let Some(row) = self.room.best(&wish) else { return false };
        // In the header's order or against it: whichever brings each valve nearer to what it
        // feeds.
        let spread = |order: &[PartIx]| -> f64 {
            row.iter()
                .zip(order)
                .map(|(s, v)| {
                    let owner = Owner::Part(*v);
                    let far = |port: usize, w: f64| {
                        let (to, weight) = self.target(Tip::Port(owner, port))?;
                        let at = s.port(port)?.at;
                        Some(w * weight * ((at[0] - to[0]).abs() + (at[1] - to[1]).abs()))
                    };
                    far(0, 0.5).unwrap_or(0.0) + far(1, 1.0).unwrap_or(0.0)
                })
                .sum()
        };
        // Where the header's entry comes too near a wall, its pipe can't turn into it.
        let walled = |end: usize| -> f64 {
            let (first, last) = (&row[0], &row[row.len() - 1]);
            let (own, other) = if end == 0 { (first, last) } else { (last, first) };
            let axis = own.pose.0[2].axis();
            let (at, far) = (own.at.centre()[axis], other.at.centre()[axis]);
            let size = &self.room.size;
            let free = if at < far { at - size.lo[axis] } else { size.hi[axis] - at };
            if free < ENTRY { 10.0 * (ENTRY - free) } else { 0.0 }
        };
        let backwards: Vec<PartIx> = valves.iter().rev().copied().collect();
        let turned = spread(&backwards) + walled(1) < spread(&valves) + walled(0) - 1e-6;
        // The header's lane: nobody else's body.
        let lane = row
            .iter()
            .filter_map(|s| s.port(0))
            .map(|p| Block::around(p.at, p.out.step(p.at, HEADER + 60.0)).grown(30.0))
            .reduce(|a, b| a.with(&b));
        if let Some(block) = lane {
            let block = block.grown(30.0);
            self.room.keeps.push(Keep { block, why: Why::Lane, owner: None, text: String::new() });
        }
        let mut order: Vec<Hung> = hung.to_vec();
        if turned {
            order.reverse();
        }
        for (s, h) in row.into_iter().zip(order) {
            let mut s = s;
            s.body.owner = Owner::Part(h.valve);
            s.body.tag = self.sys.part(h.valve).tag.clone();
            if let Some((tee, entry)) = h.tee {
                self.over(&s, tee, entry, turned);
            }
            self.put(s);
        }
        true
    }

    /// A header's tee over a valve's inlet, its entry towards the header's source.
    fn over(&mut self, valve: &Stood, tee: PartIx, entry: usize, turned: bool) {
        let owner = Owner::Part(tee);
        let Some(&(c, _)) = self.specs.by_tip.get(&Tip::Port(owner, 2)) else { return };
        let od = self.specs.od[c].max(
            self.specs.by_tip.get(&Tip::Port(owner, entry)).map_or(0.0, |(c, _)| self.specs.od[*c]),
        );
        let Some(inlet) = valve.port(0) else { return };
        let body = super::drawn::tee(self.body_of(tee, 0.0, false), od);
        let l = super::ends::tee_length(od);
        // Along the row; the entry faces the row's first end.
        let first = Dir::of(valve.pose.0[2].axis(), true);
        let along = if (entry == 0) != turned { first } else { first.opposite() };
        let branch = inlet.out.opposite();
        let third = (0..3).find(|a| *a != along.axis() && *a != branch.axis()).unwrap_or(1);
        let pose = super::body::Pose([along, Dir::of(third, true), branch.opposite()]);
        let centre = inlet.out.step(inlet.at, HEADER);
        let local = [l / 2.0, od / 2.0 + 2.0, l / 2.0];
        let mut stood = super::drawn::centred(body, pose, centre, local);
        stood.fixed_to = valve.fixed_to;
        self.put(stood);
    }

    /// Valves in the order of their headers, each with its tee and the tee's port towards the
    /// source.
    fn headers(&self) -> Vec<Hung> {
        let waiting: Vec<PartIx> = self
            .sys
            .of_kind("zone valve")
            .filter(|(ix, _)| {
                self.strung.roles[ix.0] == Role::Body && self.room.find(Owner::Part(*ix)).is_none()
            })
            .map(|(ix, _)| ix)
            .collect();
        let tee_of = |valve: PartIx| -> Option<PartIx> {
            match self.other(Tip::Port(Owner::Part(valve), 0))? {
                Tip::Port(Owner::Part(t), 2) if self.sys.part(t).kind.key == "tee" => Some(t),
                _ => None,
            }
        };
        let tees: Vec<(PartIx, PartIx)> =
            waiting.iter().filter_map(|v| Some((tee_of(*v)?, *v))).collect();
        let is_tee = |p: PartIx| tees.iter().any(|(t, _)| *t == p);
        let mut out: Vec<Hung> = Vec::new();
        // A header starts at a tee that has something else on one of its through ports.
        for &(start, _) in &tees {
            for entry in 0..2 {
                let from = self.other(Tip::Port(Owner::Part(start), entry));
                let inside = matches!(from, Some(Tip::Port(Owner::Part(p), _))
                    if is_tee(p) || waiting.contains(&p));
                if inside || out.iter().any(|h| h.tee.is_some_and(|t| t.0 == start)) {
                    continue;
                }
                let (mut tee, mut port) = (start, entry);
                while let Some(valve) = tees.iter().find(|(t, _)| *t == tee).map(|t| t.1) {
                    out.push(Hung { valve, tee: Some((tee, port)) });
                    match self.other(Tip::Port(Owner::Part(tee), 1 - port)) {
                        Some(Tip::Port(Owner::Part(p), q))
                            if is_tee(p)
                                && q < 2
                                && !out.iter().any(|h| h.tee.is_some_and(|t| t.0 == p)) =>
                        {
                            tee = p;
                            port = q;
                        }
                        Some(Tip::Port(Owner::Part(p), 0)) if waiting.contains(&p) => {
                            if !out.iter().any(|h| h.valve == p) {
                                out.push(Hung { valve: p, tee: None });
                            }
                            break;
                        }
                        _ => break,
                    }
                }
            }
        }
        for v in waiting {
            if !out.iter().any(|h| h.valve == v) {
                out.push(Hung { valve: v, tee: tee_of(v).map(|t| (t, 0)) });
            }
        }
        out
    }

    /// The other end of the chain that starts at a tip.
    fn other(&self, tip: Tip) -> Option<Tip> {
        let (c, e) = *self.specs.by_tip.get(&tip)?;
        Some(self.strung.chains[c].tips[1 - e])
    }
}

/// From a valve's inlet to the header's centre line, mm.
const HEADER: f64 = 80.0;

/// From the first tee's middle to the wall beyond it, mm: half the tee, a nipple, an elbow on its
/// clip.
const ENTRY: f64 = 120.0;

/// A valve with the tee it hangs on.
#[derive(Clone, Copy, Debug)]
struct Hung {
    valve: PartIx,
    /// The tee and its port towards the source.
    tee: Option<(PartIx, usize)>,
}
