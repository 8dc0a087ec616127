//! A closed circuit as a network of pipes, users, pumps and bypasses. In: the loops that begin at
//! one start. Out: the network of those of them that are open, ready for the solver.

use std::collections::BTreeMap;

use super::friction::{friction, velocity, velocity_head};
use super::heating::Heating;
use super::index::{Loop, inside_pump, is_pump};
use super::legs::{Leg, legs};
use super::network::{Element, GRAVITY, Link, Network, Node, Solution};
use super::pump::Curve;
use super::water::Properties;
use super::work::Work;
use crate::catalogue::hydraulics;
use crate::model::{PartIx, PipeIx};

/// What moves the water.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Drive {
    /// This flow goes round, l/s, whatever pumps and bypasses would do.
    Forced(f64),
    /// Pumps run on their curves, bypasses open at their settings.
    Pumps,
}

/// The loops of one start, with every element worked out once for all states of the valves.
pub struct Circuit<'a> {
    pub start: PartIx,
    pub loops: Vec<&'a Loop>,
    pipes: BTreeMap<PipeIx, Piece>,
    users: Vec<User>,
    /// Pumps in the pipes, by the chamber in which they stand.
    pumps: BTreeMap<usize, Pump>,
    /// The pump inside the start.
    pub own: Option<Curve>,
    source: Element,
    /// Further sources.
    pub legs: Vec<Leg>,
    bypasses: Vec<Bypass>,
    tags: BTreeMap<usize, String>,
    liquid: Properties,
}

/// A pipe with the parts that count as its own.
struct Piece {
    element: Element,
    from: usize,
    to: usize,
    /// Behind the user.
    back: bool,
}

struct User {
    chamber: usize,
    element: Element,
    /// l/s: what a blending set draws, whose own valve holds its temperature.
    holds: Option<f64>,
}

struct Pump {
    part: PartIx,
    back: bool,
    curve: Curve,
}

/// An automatic bypass with the pipes on either side of it, from the flow to the return.
struct Bypass {
    part: PartIx,
    from: usize,
    to: usize,
    elements: Vec<Element>,
}

/// The network of one state, and which of its links is what.
pub struct State {
    pub network: Network,
    /// What each loop's user gets.
    pub users: Vec<Share>,
    pub pumps: Vec<(PartIx, usize)>,
    /// Link through the start and through each further source: its own pump, or its loss.
    pub sources: Vec<(PartIx, usize)>,
    /// Link of each pipe.
    pub pipes: Vec<(PipeIx, usize)>,
    pub bypasses: Vec<(PartIx, usize)>,
}

/// What a user gets in a state.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Share {
    /// Nothing: a valve is shut.
    Shut,
    /// This flow, l/s, whatever the rest does.
    Held(f64),
    /// The flow of that link.
    Link(usize),
}

impl Share {
    /// l/s.
    pub fn of(self, solution: &Solution) -> f64 {
        match self {
            Share::Shut => 0.0,
            Share::Held(flow) => flow,
            Share::Link(link) => solution.flow[link].max(0.0),
        }
    }
}

impl<'a> Circuit<'a> {
    /// `loops` all begin at the same start.
    pub fn of(work: &mut Work, heating: &Heating, loops: Vec<&'a Loop>) -> Option<Circuit<'a>> {
        let first = *loops.first()?;
        let user = &heating.users[first.user];
        let liquid = heating.of[user.chamber].map(|c| heating.circuits[c].liquid.clone());
        let liquid = work.properties(&liquid.unwrap_or_default(), user.temperatures.mean());
        let mut pipes = BTreeMap::new();
        let mut pumps = BTreeMap::new();
        let mut tags = BTreeMap::new();
        for l in &loops {
            for (i, pipe) in l.pipes.iter().enumerate() {
                if pipes.contains_key(pipe) {
                    continue;
                }
                let (from, to) = work.graph.ends[pipe.0];
                let back = i >= l.turn;
                let element = pipe_element(work, *pipe, l.losses[i]);
                pipes.insert(*pipe, Piece { element, from, to, back });
                for chamber in [from, to] {
                    tags.insert(chamber, work.tag(work.graph.part[chamber]));
                }
                let part = work.graph.part[to];
                if is_pump(work.system.part(part)) {
                    let curve = Curve::of(work.system.part(part), &work.aims);
                    pumps.insert(to, Pump { part, back, curve });
                }
            }
        }
        let users = loops.iter().map(|l| {
            let user = &heating.users[l.user];
            let pa = (l.loss - l.losses.iter().sum::<f64>() - l.source).max(1.0);
            let blends = work.system.part(user.part).kind.key == "blending set";
            User {
                chamber: user.chamber,
                element: Element::Stated { pa, flow: user.flow },
                holds: blends.then_some(user.flow),
            }
        });
        let users = users.collect();
        let circuit = heating.of[user.chamber]?;
        let legs = legs(work, heating, first.start, circuit, &|chamber, back| {
            let of_line = |p: &Piece| p.back == back && (p.from == chamber || p.to == chamber);
            pipes.values().any(of_line)
        })?;
        for (pipe, back, loss) in legs.iter().flat_map(|leg| &leg.pipes) {
            let (from, to) = work.graph.ends[pipe.0];
            let element = pipe_element(work, *pipe, *loss);
            pipes.insert(*pipe, Piece { element, from, to, back: *back });
            for chamber in [from, to] {
                tags.insert(chamber, work.tag(work.graph.part[chamber]));
            }
            let part = work.graph.part[to];
            if is_pump(work.system.part(part)) {
                let curve = Curve::of(work.system.part(part), &work.aims);
                pumps.insert(to, Pump { part, back: *back, curve });
            }
        }
        let own = inside_pump(work, first.start).filter(|_| pumps.is_empty());
        let most = loops.iter().map(|l| work.flow[l.pipes[0].0]).fold(1e-3, f64::max);
        // A header loses next to nothing.
        let loss = loops.iter().map(|l| l.source).fold(1.0, f64::max);
        let source = Element::Stated { pa: loss, flow: most };
        let bypasses = bypasses(work, &pipes);
        let start = first.start;
        Some(Circuit {
            start,
            loops,
            pipes,
            users,
            pumps,
            own,
            source,
            legs,
            bypasses,
            tags,
            liquid,
        })
    }

    pub fn has_bypass(&self) -> bool {
        !self.bypasses.is_empty()
    }

    /// Setting, bar, and Kv of each bypass.
    pub fn bypass_settings(&self) -> Vec<(f64, f64)> {
        let elements = self.bypasses.iter().flat_map(|b| &b.elements);
        let of = |e: &Element| match e {
            Element::Bypass { pa, kv } => Some((pa / 1e5, *kv)),
            _ => None,
        };
        elements.filter_map(of).collect()
    }

    pub fn is_driven(&self) -> bool {
        self.own.is_some() || !self.pumps.is_empty()
    }

    /// The curve of a pump of the circuit, or of the one inside its start.
    pub fn curve(&self, part: PartIx) -> Option<&Curve> {
        let in_pipes = self.pumps.values().find(|p| p.part == part).map(|p| &p.curve);
        in_pipes.or_else(|| self.own_of(part))
    }

    /// The curve of the pump inside a source.
    pub fn own_of(&self, source: PartIx) -> Option<&Curve> {
        if source == self.start {
            return self.own.as_ref();
        }
        self.legs.iter().find(|leg| leg.source == source)?.own.as_ref()
    }

    /// The pump stands in a further source or on its way to the lines: it drives them all.
    pub fn is_beside(&self, pump: PartIx) -> bool {
        let in_pipes = |leg: &Leg| {
            let meets = |(chamber, p): (&usize, &Pump)| {
                p.part == pump && leg.pipes.iter().any(|(pipe, ..)| self.pipes[pipe].to == *chamber)
            };
            self.pumps.iter().any(meets)
        };
        self.legs.iter().any(|leg| leg.source == pump || in_pipes(leg))
    }

    /// The network with these loops open.
    pub fn state(&self, open: &[bool], drive: Drive) -> State {
        let mut draft = Draft::default();
        let pumped = drive == Drive::Pumps;
        let mut users = vec![Share::Shut; self.loops.len()];
        for (i, l) in self.loops.iter().enumerate().filter(|(i, _)| open[*i]) {
            let user = &self.users[i];
            let ends = [(user.chamber, false, false), (user.chamber, true, false)];
            let [from, to] = ends.map(|place| self.node(&mut draft, place));
            users[i] = match user.holds {
                Some(flow) => {
                    draft.nodes[from].demand += flow;
                    draft.nodes[to].demand -= flow;
                    Share::Held(flow)
                }
                None => Share::Link(draft.link(from, to, user.element.clone())),
            };
            for pipe in &l.pipes {
                self.pipe(&mut draft, *pipe, pumped);
            }
        }
        let (mut bypasses, mut pumps, mut sources) = (Vec::new(), Vec::new(), Vec::new());
        if pumped {
            for leg in &self.legs {
                for (pipe, ..) in &leg.pipes {
                    self.pipe(&mut draft, *pipe, pumped);
                }
            }
            for bypass in &self.bypasses {
                bypasses.extend(self.bypass(&mut draft, bypass));
            }
            for (chamber, pump) in &self.pumps {
                let Some(from) = draft.index.get(&(*chamber, pump.back, false)).copied() else {
                    continue;
                };
                let to = self.node(&mut draft, (*chamber, pump.back, true));
                let element = Element::Pump { curve: self.metres(&pump.curve) };
                pumps.push((pump.part, draft.link(from, to, element)));
            }
        }
        let pipes = &self.loops[0].pipes;
        let (first, last) = (self.pipes[&pipes[0]].from, self.pipes[&pipes[pipes.len() - 1]].to);
        let out = self.node(&mut draft, (first, false, false));
        let home = self.node(&mut draft, (last, true, false));
        draft.nodes[out].fixed = Some(0.0);
        match drive {
            Drive::Forced(flow) => draft.nodes[home].demand = flow,
            Drive::Pumps => {
                let element = match &self.own {
                    Some(curve) => Element::Pump { curve: self.metres(curve) },
                    None => self.source.clone(),
                };
                sources.push((self.start, draft.link(home, out, element)));
                for leg in &self.legs {
                    let [out, home] = [(leg.ends.0, false, false), (leg.ends.1, true, false)]
                        .map(|place| self.node(&mut draft, place));
                    let element = match &leg.own {
                        Some(curve) => Element::Pump { curve: self.metres(curve) },
                        None => leg.element.clone(),
                    };
                    sources.push((leg.source, draft.link(home, out, element)));
                }
            }
        }
        let network = Network { nodes: draft.nodes, links: draft.links, liquid: self.liquid };
        let pipes = draft.pipes.into_iter().collect();
        State { network, users, pumps, sources, pipes, bypasses }
    }

    fn node(&self, draft: &mut Draft, place: Place) -> usize {
        if let Some(node) = draft.index.get(&place) {
            return *node;
        }
        let name = self.tags.get(&place.0).cloned().unwrap_or_default();
        let node = draft.fresh(name);
        draft.index.insert(place, node);
        node
    }

    fn pipe(&self, draft: &mut Draft, pipe: PipeIx, pumped: bool) {
        if draft.pipes.contains_key(&pipe) {
            return;
        }
        let piece = &self.pipes[&pipe];
        // Water leaves a pump by its other side.
        let behind = pumped && self.pumps.contains_key(&piece.from);
        let from = self.node(draft, (piece.from, piece.back, behind));
        let to = self.node(draft, (piece.to, piece.back, false));
        let link = draft.link(from, to, piece.element.clone());
        draft.pipes.insert(pipe, link);
    }

    /// A bypass, with the way to it and home from it, which is that of any loop past it.
    fn bypass(&self, draft: &mut Draft, bypass: &Bypass) -> Option<(PartIx, usize)> {
        let meets = |l: &Loop, c: usize| l.pipes.iter().position(|p| self.pipes[p].from == c);
        let (pipes, to, from) = self.loops.iter().find_map(|l| {
            let (to, from) = (meets(l, bypass.from)?, meets(l, bypass.to)?);
            (to < l.turn && l.turn <= from).then_some((&l.pipes, to, from))
        })?;
        for pipe in pipes[..to].iter().chain(&pipes[from..]) {
            self.pipe(draft, *pipe, true);
        }
        let mut at = self.node(draft, (bypass.from, false, false));
        let end = self.node(draft, (bypass.to, true, false));
        let mut link = None;
        for (i, element) in bypass.elements.iter().enumerate() {
            let next = match i + 1 < bypass.elements.len() {
                true => draft.fresh("bypass".to_owned()),
                false => end,
            };
            let new = draft.link(at, next, element.clone());
            if matches!(element, Element::Bypass { .. }) {
                link = Some((bypass.part, new));
            }
            at = next;
        }
        link
    }

    /// A curve in l/s and metres of the circuit's liquid.
    fn metres(&self, curve: &Curve) -> Vec<(f64, f64)> {
        let of_kpa = 1000.0 / (self.liquid.rho * GRAVITY);
        curve.falling().into_iter().map(|(q, kpa)| (q, kpa * of_kpa)).collect()
    }
}

/// A chamber; whether it is met behind the user; whether behind the pump that stands in it.
type Place = (usize, bool, bool);

/// A network in the making.
#[derive(Default)]
struct Draft {
    nodes: Vec<Node>,
    links: Vec<Link>,
    index: BTreeMap<Place, usize>,
    /// With the link of each.
    pipes: BTreeMap<PipeIx, usize>,
}

impl Draft {
    fn fresh(&mut self, name: String) -> usize {
        self.nodes.push(Node { name, ..Node::default() });
        self.nodes.len() - 1
    }

    fn link(&mut self, from: usize, to: usize, element: Element) -> usize {
        let name = self.nodes[from].name.clone();
        self.links.push(Link { name, from, to, element });
        self.links.len() - 1
    }
}

/// A pipe with the part that goes with it: the one it splits off at, or runs into.
fn pipe_element(work: &mut Work, pipe: PipeIx, loss: f64) -> Element {
    let run = work.runs[pipe.0];
    let flow = work.flow[pipe.0].max(1e-3);
    let properties = work.properties_in(pipe);
    let Some(tube) = work.tubes[pipe.0] else {
        return Element::Stated { pa: 1.0, flow };
    };
    let head = velocity_head(velocity(flow, tube.bore()), properties.rho);
    let straight = friction(flow, tube.bore(), tube.roughness, &properties).gradient * run.metres;
    Element::Pipe {
        bore: tube.bore(),
        roughness: tube.roughness,
        metres: run.metres.max(0.01),
        zeta: ((loss - straight) / head).max(0.0),
    }
}

fn bypasses(work: &Work, pipes: &BTreeMap<PipeIx, Piece>) -> Vec<Bypass> {
    let mut found = Vec::new();
    for i in 0..work.system.parts.len() {
        let (ix, part) = (PartIx(i), &work.system.parts[i]);
        if part.kind.key != "bypass valve" {
            continue;
        }
        let chamber = |port: &str| work.graph.named(&work.system, ix, port);
        let (Some(enter), Some(leave)) = (chamber("in"), chamber("out")) else { continue };
        let (Some(a), Some(b)) =
            (work.graph.into[enter].first().copied(), work.graph.out[leave].first().copied())
        else {
            continue;
        };
        let (from, to) = (work.graph.from(a), work.graph.to(b));
        let on = |chamber: usize, back: bool| {
            pipes.values().any(|p| p.back == back && (p.from == chamber || p.to == chamber))
        };
        let (Some(setting), Some(kv)) =
            (part.number("setting"), part.number("kv").or(part.kind.kv))
        else {
            continue;
        };
        if !on(from, false) || !on(to, true) || setting <= 0.0 || kv <= 0.0 {
            continue;
        }
        let valve = Element::Bypass { pa: setting * 1e5, kv };
        let elements = [branch(work, a), Some(valve), branch(work, b)];
        let elements = elements.into_iter().flatten().collect();
        found.push(Bypass { part: ix, from, to, elements });
    }
    found
}

/// A pipe to or from a bypass: its length, its elbows, and the tee at which it turns off.
fn branch(work: &Work, pipe: PipeIx) -> Option<Element> {
    let tube = work.tubes[pipe.0]?;
    let run = work.runs[pipe.0];
    let zeta = |name: &str| hydraulics::zeta(name, tube.od);
    Some(Element::Pipe {
        bore: tube.bore(),
        roughness: tube.roughness,
        metres: run.metres.max(0.01),
        zeta: run.elbows * zeta("elbow") + zeta("tee branch"),
    })
}
