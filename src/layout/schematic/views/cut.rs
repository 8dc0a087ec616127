//! A system being cut out of another. In: the parts to keep. Out: a system of its own with match
//! marks for what is left out.

use std::collections::{BTreeMap, BTreeSet};

use super::View;
use crate::catalogue::Kind;
use crate::model::{Part, PartIx, Pipe, Place, PortRef, System};

/// Ports of a match mark: the pipe comes in by its back and goes on from its point.
pub(super) const IN: usize = 0;
pub(super) const ON: usize = 1;

pub(super) struct Cut<'a> {
    whole: &'a System,
    parts: Vec<Part>,
    pipes: Vec<Pipe>,
    new: BTreeMap<PartIx, PartIx>,
}

impl<'a> Cut<'a> {
    pub(super) fn new(whole: &'a System, keep: impl Iterator<Item = PartIx>) -> Cut<'a> {
        let mut cut = Cut { whole, parts: Vec::new(), pipes: Vec::new(), new: BTreeMap::new() };
        for ix in keep {
            cut.new.insert(ix, PartIx(cut.parts.len()));
            cut.parts.push(whole.part(ix).clone());
        }
        for part in &mut cut.parts {
            part.on = part.on.and_then(|on| cut.new.get(&on).copied());
        }
        cut
    }

    pub(super) fn add(&mut self, kind: &str, tag: String, name: String) -> PartIx {
        self.parts.push(Part {
            tag,
            name,
            kind: Kind::known(kind),
            unit: None,
            on: None,
            attrs: Default::default(),
            declared: BTreeSet::new(),
            place: Place::default(),
            span: 0..0,
        });
        PartIx(self.parts.len() - 1)
    }

    pub(super) fn port(&self, port: PortRef) -> Option<PortRef> {
        self.new.get(&port.part).map(|part| PortRef { part: *part, port: port.port })
    }

    pub(super) fn pipe(&mut self, pipe: &Pipe, from: PortRef, to: PortRef) {
        self.pipes.push(Pipe { from, to, ..pipe.clone() });
    }

    /// A mark with this number, which names the sheet where the pipe goes on.
    pub(super) fn mark(&mut self, n: usize, other: &str) -> PartIx {
        self.add("match mark", format!("MM{n}"), format!("to {other}"))
    }

    /// A pipe of which one end is here: the other end becomes the mark.
    pub(super) fn pipe_to_mark(&mut self, pipe: &Pipe, n: usize, other: &str) {
        let (from, to) = (self.port(pipe.from), self.port(pipe.to));
        let part = self.mark(n, other);
        let from = from.unwrap_or(PortRef { part, port: ON });
        let to = to.unwrap_or(PortRef { part, port: IN });
        self.pipe(pipe, from, to);
    }

    pub(super) fn done(self, key: String, name: String, title: String) -> View {
        let system = System { parts: self.parts, pipes: self.pipes, ..self.whole.clone() };
        View { key, title, name, system }
    }
}
