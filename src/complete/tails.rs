//! Tails: where a pipe passes the cupboard's surface. In: what the facts say of each. Out: a tail
//! on every pipe with exactly one end in the cupboard.

use super::given::{maybe, name_of};
use super::net::Net;
use crate::describe::facts::TailFacts;
use crate::model::{PortRef, Side, Tail, Value};

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
    for i in 0..net.pipes.len() {
        let (from, to) = (net.pipes[i].from, net.pipes[i].to);
        let inside = |net: &Net, p: PortRef| net.part(p.part).in_cupboard();
        let (near, far) = match (inside(net, from), inside(net, to)) {
            (true, false) => (from, to),
            (false, true) => (to, from),
            _ => {
                net.pipes[i].tail = None;
                continue;
            }
        };
        if net.pipes[i].tail.is_some() {
            continue;
        }
        let known = [far, near].iter().find_map(|p| net.tails.get(&(p.part, p.port)).cloned());
        let word = [far, near].iter().find_map(|p| net.tail_words.get(p).cloned());
        let mut tail =
            known.unwrap_or(Tail { name: String::new(), side: None, x: None, y: None, z: None });
        tail.name = word.unwrap_or_else(|| net.pipes[i].run.clone());
        net.pipes[i].tail = Some(tail);
        if net.pipes[i].size.is_none() {
            let size = [far, near].iter().find_map(|p| net.tail_sizes.get(p).cloned());
            net.pipes[i].size = size;
        }
    }
}
