//! The graph while it grows. In: parts and lines, one after another, in the order of the trade.
//! Out: parts and pipes without tags or ids, which [`super::finish`] gives them.
//!
//! Every run is one chain of pipes: it starts at a named port, passes through its parts from the
//! port that takes the water to the port that gives it (a tee from `a` to `b`) and ends at a named
//! port. Branches are runs of their own. So a run can be printed, and replaced, as a list of stops.

use std::collections::{BTreeMap, BTreeSet};

use super::assume::Ledger;
use crate::catalogue::{Flow, Kind};
use crate::diagnostic::Diagnostic;
use crate::model::{
    Attrs, Part, PartIx, Pipe, PipeIx, Place, PortRef, Service, Span, Tail, Unit, UnitIx, Value,
};

/// Nothing in the text made it.
pub const NO_SPAN: Span = 0..0;

#[derive(Default)]
pub struct Net {
    pub parts: Vec<Part>,
    pub pipes: Vec<Pipe>,
    pub units: Vec<Unit>,
    pub ledger: Ledger,
    pub diagnostics: Vec<Diagnostic>,
    /// Before every name made here: empty, or "flat 2.1 " in a building.
    pub scope: String,
    names: BTreeMap<String, PartIx>,
    taken: BTreeMap<PortRef, PipeIx>,
    runs: BTreeSet<String>,
    /// Tails that the facts state, by part and the word for the pipe on it.
    pub tails: BTreeMap<(PartIx, usize), Tail>,
    /// Words for a tail nothing states, by the port outside the cupboard.
    pub tail_words: BTreeMap<PortRef, String>,
    /// Sizes the tails state.
    pub tail_sizes: BTreeMap<PortRef, Value<String>>,
}

/// A run on its way: where it has come to.
#[derive(Clone, Debug)]
pub struct Line {
    pub run: String,
    pub service: Service,
    pub at: PortRef,
    /// For the next pipe only.
    pub length: Option<Value<f64>>,
    pub elbows: Option<Value<f64>>,
    pub size: Option<Value<String>>,
    pub material: Option<Value<String>>,
    pub lagging: Option<Value<f64>>,
    /// For the pipes of the whole run.
    pub span: Span,
}

impl Line {
    pub fn serving(&mut self, service: Service) -> &mut Self {
        self.service = service;
        self
    }

    pub fn length(&mut self, length: Option<Value<f64>>) -> &mut Self {
        self.length = length;
        self
    }

    pub fn elbows(&mut self, elbows: Option<Value<f64>>) -> &mut Self {
        self.elbows = elbows;
        self
    }

    pub fn size(&mut self, size: Option<Value<String>>) -> &mut Self {
        if size.is_some() {
            self.size = size;
        }
        self
    }
}

impl Net {
    /// The scoped, free form of a name: numbered from 2 where it is taken.
    fn free_name(&self, name: &str) -> String {
        let base = format!("{}{name}", self.scope);
        if !self.names.contains_key(&base) {
            return base;
        }
        (2..).map(|n| format!("{base} {n}")).find(|n| !self.names.contains_key(n)).unwrap_or(base)
    }

    /// Adds a part in the cupboard.
    pub fn add(&mut self, kind: &str, name: &str) -> PartIx {
        self.add_kind(Kind::known(kind), name)
    }

    pub fn add_kind(&mut self, kind: Kind, name: &str) -> PartIx {
        let name = self.free_name(name);
        let ix = PartIx(self.parts.len());
        self.names.insert(name.clone(), ix);
        self.parts.push(Part {
            tag: String::new(),
            name,
            kind,
            unit: None,
            on: None,
            attrs: Attrs::default(),
            declared: Default::default(),
            place: Place::default(),
            span: NO_SPAN,
        });
        ix
    }

    /// Adds a part that stands elsewhere, in words.
    pub fn add_elsewhere(&mut self, kind: &str, name: &str, place: &str) -> PartIx {
        let ix = self.add(kind, name);
        self.parts[ix.0].place.elsewhere = Some(place.to_owned());
        ix
    }

    /// Adds a part fitted into another.
    pub fn add_on(&mut self, kind: &str, name: &str, on: PartIx) -> PartIx {
        let ix = self.add(kind, name);
        self.parts[ix.0].on = Some(on);
        self.parts[ix.0].place.elsewhere = self.parts[on.0].place.elsewhere.clone();
        self.parts[ix.0].unit = self.parts[on.0].unit;
        ix
    }

    pub fn add_unit(&mut self, kind: &str, name: &str) -> UnitIx {
        let base = format!("{}{name}", self.scope);
        let mut free = base.clone();
        let mut n = 2;
        while self.units.iter().any(|u| u.name == free) {
            free = format!("{base} {n}");
            n += 1;
        }
        self.units.push(Unit {
            tag: String::new(),
            name: free,
            kind: Kind::known(kind),
            attrs: Attrs::default(),
            place: Place::default(),
            span: NO_SPAN,
        });
        UnitIx(self.units.len() - 1)
    }

    pub fn part(&self, ix: PartIx) -> &Part {
        &self.parts[ix.0]
    }

    pub fn part_mut(&mut self, ix: PartIx) -> &mut Part {
        &mut self.parts[ix.0]
    }

    /// A part's name without the scope before it.
    pub fn short(&self, ix: PartIx) -> String {
        let name = &self.parts[ix.0].name;
        name.strip_prefix(self.scope.as_str()).unwrap_or(name).to_owned()
    }

    pub fn named(&self, name: &str) -> Option<PartIx> {
        self.names.get(name).copied()
    }

    /// Gives a part another name; false where the name is taken.
    pub fn rename(&mut self, ix: PartIx, name: &str) -> bool {
        if self.names.contains_key(name) {
            return self.names.get(name) == Some(&ix);
        }
        self.names.remove(&self.parts[ix.0].name);
        self.names.insert(name.to_owned(), ix);
        self.parts[ix.0].name = name.to_owned();
        true
    }

    /// A port by name.
    ///
    /// # Panics
    /// Where the kind has no such port: a fault of the program, caught by the tests.
    pub fn port(&self, ix: PartIx, name: &str) -> PortRef {
        let kind = self.parts[ix.0].kind;
        let port = kind.port(name).unwrap_or_else(|| panic!("{} has no port {name:?}", kind.key));
        PortRef { part: ix, port }
    }

    pub fn try_port(&self, ix: PartIx, name: &str) -> Option<PortRef> {
        self.parts[ix.0].kind.port(name).map(|port| PortRef { part: ix, port })
    }

    pub fn pipe_at(&self, port: PortRef) -> Option<PipeIx> {
        self.taken.get(&port).copied()
    }

    pub fn is_free(&self, port: PortRef) -> bool {
        !self.taken.contains_key(&port)
    }

    /// Starts a run at a port; its name is numbered where it is taken.
    pub fn line(&mut self, run: &str, service: Service, from: PortRef) -> Line {
        let base = format!("{}{run}", self.scope);
        let mut run = base.clone();
        let mut n = 2;
        while !self.runs.insert(run.clone()) {
            run = format!("{base} {n}");
            n += 1;
        }
        Line {
            run,
            service,
            at: from,
            length: None,
            elbows: None,
            size: None,
            material: None,
            lagging: None,
            span: NO_SPAN,
        }
    }

    /// Joins the line to a port and leaves it there.
    pub fn end(&mut self, line: &mut Line, to: PortRef) -> PipeIx {
        let ix = PipeIx(self.pipes.len());
        self.taken.insert(line.at, ix);
        self.taken.insert(to, ix);
        let material = match line.material.take() {
            Some(material) => material,
            None => self.ledger.material(),
        };
        self.pipes.push(Pipe {
            id: String::new(),
            run: line.run.clone(),
            service: line.service,
            from: line.at,
            to,
            size: line.size.take(),
            material,
            length: line.length.take(),
            elbows: line.elbows.take(),
            lagging: line.lagging.take(),
            tail: None,
            span: line.span.clone(),
        });
        ix
    }

    /// Joins the line to a part and goes on from its far side.
    pub fn through(&mut self, line: &mut Line, part: PartIx) -> PipeIx {
        let (enter, leave) = through_ports(self.parts[part.0].kind).unwrap_or((0, 0));
        let ix = self.end(line, PortRef { part, port: enter });
        line.at = PortRef { part, port: leave };
        ix
    }

    /// Adds a tee in the line; the line goes on through it. Returns its branch.
    pub fn tee(&mut self, line: &mut Line, name: &str, place: Option<&str>) -> PortRef {
        let tee = self.add("tee", name);
        self.parts[tee.0].place.elsewhere = place.map(str::to_owned);
        self.through(line, tee);
        self.port(tee, "branch")
    }

    /// Takes a pipe out of the graph's ports; [`super::finish`] drops it.
    pub fn cut(&mut self, ix: PipeIx) {
        let (from, to) = (self.pipes[ix.0].from, self.pipes[ix.0].to);
        for port in [from, to] {
            if self.taken.get(&port) == Some(&ix) {
                self.taken.remove(&port);
            }
        }
    }

    /// True where the pipe is still part of the graph.
    pub fn stands(&self, ix: PipeIx) -> bool {
        self.taken.get(&self.pipes[ix.0].from) == Some(&ix)
    }
}

/// The ports by which a run enters and leaves a part it passes through.
pub fn through_ports(kind: Kind) -> Option<(usize, usize)> {
    let named = |a: &str, b: &str| Some((kind.port(a)?, kind.port(b)?));
    named("in", "out")
        .or_else(|| named("a", "b"))
        .or_else(|| named("common", "rest"))
        .or_else(|| named("common", "heating"))
        .or_else(|| named("hot", "mixed"))
        .or_else(|| named("in", "discharge"))
        .or_else(|| {
            if kind.ports.len() < 2 {
                return None;
            }
            let enter = kind.ports.iter().position(|p| p.flow == Flow::In)?;
            let leave = kind.ports.iter().position(|p| p.flow == Flow::Out)?;
            Some((enter, leave))
        })
}
