//! What a cupboard with every line found still leaves to be desired. In: the task and its answer.
//! Out: how many things a surveyor or a spanner would not like; another try may do better.

use crate::layout::space::{Answer, Block, Chain, Laid, Problem, bead_whole, length};
use crate::model::{Service, System};

use super::chains::Strung;
use super::heights::first_pipe;

/// What a hand needs of the space kept for it, mm (common practice).
const HAND: f64 = 60.0;
/// Longest company of bare cold and hot pipes nearer than they should be, mm.
const COMPANY: f64 = 300.0;
/// What a spanner needs between two pipes, and from what length side by side, mm (common practice;
/// a hair less, for pipes laid just so far apart).
const SPANNER: f64 = 19.5;
const SIDE_BY_SIDE: f64 = 150.0;

/// Reliefs whose pipe to the tundish is longer than the rules in force allow.
pub fn too_far(sys: &System, strung: &Strung, answer: &Answer) -> usize {
    let most = first_pipe(sys) + 0.5;
    let laid = answer.laid.iter().zip(&strung.chains).filter(|(l, _)| l.found);
    laid.filter(|(laid, own)| {
        let first = own.pipes.iter().any(|(q, _)| sys.pipe(*q).service == Service::Discharge1);
        own.relieves(sys) && first && length(&laid.points) > most
    })
    .count()
}

/// Discharge pipes below a tundish that turn more often here than the description states for the
/// whole way.
pub fn winding(sys: &System, strung: &Strung, answer: &Answer) -> usize {
    let laid = answer.laid.iter().zip(&strung.chains).filter(|(l, _)| l.found);
    laid.filter(|(laid, own)| {
        let stated = own.pipes.iter().map(|(q, _)| {
            let pipe = sys.pipe(*q);
            let elbows = pipe.elbows.as_ref().filter(|v| v.origin.span().is_some())?;
            (pipe.service == Service::Discharge2).then_some(elbows.value)
        });
        let most: Option<f64> = stated.sum();
        most.is_some_and(|most| laid.points.len().saturating_sub(2) as f64 > most)
    })
    .count()
}

pub fn blemishes(p: &Problem, answer: &Answer) -> usize {
    let mut n = 0;
    for (c, laid) in answer.laid.iter().enumerate().filter(|(_, l)| l.found) {
        n += crowded(p, &p.chains[c], laid);
        let colder = |o: &usize| p.chains[*o].warmth > 0 && p.chains[c].warmth < 0;
        let hot = (0..p.chains.len()).filter(|o| colder(o) && answer.laid[*o].found);
        let along = |o: usize, apart: f64| beside(p, (c, laid), (o, &answer.laid[o]), apart);
        n += hot.filter(|o| along(*o, p.apart) > COMPANY).count();
        let found = |o: &usize| answer.laid[*o].found;
        n += (0..c).filter(found).filter(|o| along(*o, SPANNER) > SIDE_BY_SIDE).count();
    }
    n
}

/// Fittings of a line that stand in a space kept for a hand and leave it too little.
fn crowded(p: &Problem, chain: &Chain, laid: &Laid) -> usize {
    let seated = chain.beads.iter().zip(&laid.beads);
    let blocks = seated.filter_map(|(bead, seat)| Some(bead_whole(p, bead, seat.as_ref()?)));
    blocks
        .filter(|b| p.spaces.iter().any(|(s, _)| s.overlaps(b) && s.least() - s.shared(b) < HAND))
        .count()
}

/// Length over which two lines run side by side with less between them than they should.
fn beside(p: &Problem, (a, la): (usize, &Laid), (b, lb): (usize, &Laid), apart: f64) -> f64 {
    let near = apart + p.chains[a].radius + p.chains[b].radius;
    let mut sum = 0.0;
    for x in la.points.windows(2) {
        for y in lb.points.windows(2) {
            let (x, y) = (Block::around(x[0], x[1]), Block::around(y[0], y[1]));
            let long = |q: &Block| (0..3).find(|i| q.size()[*i] > 1.0);
            let Some(axis) = long(&x).filter(|axis| long(&y) == Some(*axis)) else { continue };
            let shared = x.hi[axis].min(y.hi[axis]) - x.lo[axis].max(y.lo[axis]);
            let off: f64 = (0..3)
                .filter(|i| *i != axis)
                .map(|i| (x.lo[i] - y.lo[i]).powi(2))
                .sum::<f64>()
                .sqrt();
            if shared > 0.0 && off < near {
                sum += shared;
            }
        }
    }
    sum
}
