//! Tails: where a pipe passes the cupboard's surface. In: what the facts say of each. Out: a tail
//! on every pipe with exactly one end in the cupboard.

use std::collections::BTreeMap;

use super::given::{maybe, name_of};
use super::net::Net;
use crate::describe::facts::TailFacts;
use crate::model::{Pipe, PortRef, Side, Tail, Value};

/// Keeps the first tail that goes by one of the words for the pipe on this port.
pub fn keep(net: &mut Net, port: PortRef, tails: &[TailFacts], words: &[&str]) {
    keep_with_side(net, port, tails, words, None);
}

pub fn keep_with_side(
    net: &mut Net,
    port: PortRef,
    tails: &[TailFacts],
    words: &[&str],
    side: Option<Value<Side>>,
) {
    let found = words.iter().find_map(|w| tails.iter().find(|t| name_of(&t.name) == *w));
    let tail = match (found, &side) {
        (Some(t), _) => of(t),
        (None, Some(_)) => Tail { name: String::new(), side: None, x: None, y: None, z: None },
        (None, None) => return,
    };
    let tail = Tail { side: tail.side.or(side), ..tail };
    net.tails.insert((port.part, port.port), tail);
    if let Some(size) = found.and_then(|t| t.size.as_ref()) {
        net.tail_sizes.insert(port, super::given::value(size));
    }
}

/// A tail as stated; the surface follows from which coordinates are given.
pub fn of(t: &TailFacts) -> Tail {
    let side = maybe(&t.side).or_else(|| {
        let side = match (t.x.is_some(), t.y.is_some(), t.z.is_some()) {
            (true, true, false) => Side::Floor,
            (true, false, true) => Side::Back,
            _ => return None,
        };
        Some(Value::derived(side, "the coordinates given"))
    });
    Tail { name: name_of(&t.name), side, x: maybe(&t.x), y: maybe(&t.y), z: maybe(&t.z) }
}

/// Puts a tail on every pipe that passes the cupboard's surface.
pub fn apply(net: &mut Net) {
    for (pipe, ports) in passing(net) {
        let Some(ports) = ports else {
            net.pipes[pipe].tail = None;
            continue;
        };
        if net.pipes[pipe].tail.is_some() {
            continue;
        }
        // A stated tail is one hole: a run that comes back a second time makes another.
        let known = ports.iter().find_map(|p| net.tails.remove(&(p.part, p.port)));
        let word = ports.iter().find_map(|p| net.tail_words.get(p).cloned());
        let mut tail =
            known.unwrap_or(Tail { name: String::new(), side: None, x: None, y: None, z: None });
        tail.name = word.unwrap_or_else(|| net.pipes[pipe].run.clone());
        net.pipes[pipe].tail = Some(tail);
        let size = ports.iter().find_map(|p| net.tail_sizes.remove(p));
        let pipe = &mut net.pipes[pipe];
        pipe.size = pipe.size.take().or(size);
    }
}

/// Every pipe, and of one that passes the cupboard's surface the ports at which its tail may have
/// been stated: its own ends, the outer first, then those of the same run further out, because
/// outlets may tee off on the way.
fn passing(net: &Net) -> Vec<(usize, Option<Vec<PortRef>>)> {
    let mut leaving = BTreeMap::new();
    let mut entering = BTreeMap::new();
    for pipe in &net.pipes {
        leaving.insert((pipe.from.part, pipe.run.as_str()), (pipe.from, pipe.to));
        entering.insert((pipe.to.part, pipe.run.as_str()), (pipe.to, pipe.from));
    }
    let ports = |pipe: &Pipe| {
        let inside = |p: PortRef| net.part(p.part).in_cupboard();
        let (near, far, onwards) = match (inside(pipe.from), inside(pipe.to)) {
            (true, false) => (pipe.from, pipe.to, &leaving),
            (false, true) => (pipe.to, pipe.from, &entering),
            _ => return None,
        };
        let mut ports = vec![far, near];
        let mut at = far;
        // A run in a ring comes round once.
        for _ in 0..onwards.len() {
            match onwards.get(&(at.part, pipe.run.as_str())) {
                Some((back, next)) if !inside(at) => {
                    ports.extend([*back, *next]);
                    at = *next;
                }
                _ => break,
            }
        }
        Some(ports)
    };
    net.pipes.iter().map(ports).enumerate().collect()
}
