//! Small systems by hand: parts by kind, runs in the order in which the water meets them.

use std::collections::BTreeMap;

use firstfix::catalogue::{Flow, Kind};
use firstfix::check::{DrawingFacts, Finding, Report, Severity};
use firstfix::layout::cupboard::plan::{CupboardPlan, Form, Held, Owner, PlacedPort, Route, Solid};
use firstfix::model::*;
use firstfix::size::{Figure, Input, Sized};
use firstfix::wire::Wiring;

pub struct Build {
    pub system: System,
    pub figures: Vec<Figure>,
    pub plan: Option<CupboardPlan>,
    pub wiring: Option<Wiring>,
    pub drawing: Option<DrawingFacts>,
}

fn stated<T>(value: T) -> Value<T> {
    Value::stated(value, 1..2)
}

impl Build {
    pub fn new() -> Build {
        let rules = Ruleset {
            jurisdiction: stated("england".to_owned()),
            edition: stated(String::new()),
            overrides: BTreeMap::new(),
            span: 0..0,
        };
        let system = System {
            job: Job::default(),
            rules,
            site: Site::default(),
            parts: Vec::new(),
            pipes: Vec::new(),
            units: Vec::new(),
            assumptions: Vec::new(),
        };
        Build { system, figures: Vec::new(), plan: None, wiring: None, drawing: None }
    }

    pub fn ix(&self, name: &str) -> PartIx {
        self.system.by_name(name).unwrap_or_else(|| panic!("no part {name}"))
    }

    pub fn get(&mut self, name: &str) -> &mut Part {
        let ix = self.ix(name);
        &mut self.system.parts[ix.0]
    }

    /// Adds a part of a kind under a name of its own, which is its tag too.
    pub fn add(&mut self, name: &str, kind: &str) -> &mut Part {
        assert!(self.system.by_name(name).is_none(), "{name} stands already");
        self.system.parts.push(Part {
            tag: name.to_owned(),
            name: name.to_owned(),
            kind: Kind::known(kind),
            unit: None,
            on: None,
            attrs: Attrs::default(),
            declared: Default::default(),
            place: Place::default(),
            span: 1..2,
        });
        self.system.parts.last_mut().unwrap()
    }

    pub fn on(&mut self, host: &str, name: &str, kind: &str) -> &mut Part {
        let host = self.ix(host);
        let part = self.add(name, kind);
        part.on = Some(host);
        part
    }

    pub fn set(&mut self, name: &str, key: &str, value: f64) {
        self.get(name).attrs.set_number(key, stated(value));
    }

    pub fn assume(&mut self, name: &str, key: &str, value: f64) {
        self.get(name).attrs.set_number(key, Value::assumed(value, "A1"));
    }

    pub fn word(&mut self, name: &str, key: &str, value: &str) {
        self.get(name).attrs.set_text(key, stated(value.to_owned()));
    }

    pub fn flag(&mut self, name: &str, key: &str, value: bool) {
        self.get(name).attrs.set(key, stated(Datum::Flag(value)));
    }

    pub fn declare(&mut self, name: &str, fact: &str) {
        self.get(name).declared.insert(fact.to_owned());
    }

    pub fn dwelling(&mut self, key: &str, value: Datum) {
        self.system.site.dwelling.set(key, stated(value));
    }

    fn free(&self, part: PartIx, leaving: bool) -> usize {
        let kind = self.system.part(part).kind;
        let bad = if leaving { Flow::In } else { Flow::Out };
        (0..kind.ports.len())
            .find(|p| {
                kind.ports[*p].flow != bad
                    && self.system.pipe_at(PortRef { part, port: *p }).is_none()
            })
            .unwrap_or_else(|| panic!("no free port on {}", self.system.part(part).name))
    }

    /// `name`, `name.port`; a kind's key makes a part of that name.
    fn stop(&mut self, stop: &str, leaving: bool) -> PortRef {
        let (name, port) = match stop.rsplit_once('.') {
            Some((n, p)) => (n, Some(p)),
            None => (stop, None),
        };
        if self.system.by_name(name).is_none() {
            self.add(name, name);
        }
        let part = self.ix(name);
        let port = match port {
            Some(p) => self.system.part(part).kind.port(p).unwrap_or_else(|| panic!("{stop}")),
            None => self.free(part, leaving),
        };
        PortRef { part, port }
    }

    /// Joins the stops with 22 mm copper of 1 m, no elbows. Returns the index of the first pipe.
    pub fn run(&mut self, service: Service, stops: &[&str]) -> usize {
        let first = self.system.pipes.len();
        for (i, pair) in stops.windows(2).enumerate() {
            // Past the first stop a port named is the one entered; the way out is free.
            let name = pair[0].rsplit_once('.').map_or(pair[0], |(n, _)| n);
            let from = self.stop(if i == 0 { pair[0] } else { name }, true);
            let to = self.stop(pair[1], false);
            let id = format!("p{}", self.system.pipes.len() + 1);
            self.system.pipes.push(Pipe {
                id,
                run: service.key().to_owned(),
                service,
                from,
                to,
                size: Some(stated("22".to_owned())),
                material: stated("copper".to_owned()),
                length: Some(stated(1.0)),
                elbows: Some(stated(0.0)),
                lagging: None,
                tail: None,
                span: 1..2,
            });
        }
        first
    }

    /// Takes a part out of the middle of its run.
    pub fn take_out(&mut self, name: &str) {
        let part = self.ix(name);
        let into = self.system.pipes.iter().position(|p| p.to.part == part).unwrap();
        let from = self.system.pipes.iter().position(|p| p.from.part == part).unwrap();
        self.system.pipes[into].to = self.system.pipes[from].to;
        self.system.pipes.remove(from);
    }

    /// Puts a part into the pipe that leads to another part.
    pub fn put_before(&mut self, before: &str, name: &str, kind: &str) {
        let part = self.ix(before);
        let pipe = self.system.pipes.iter().position(|p| p.to.part == part).unwrap();
        self.put_in(pipe, name, kind);
    }

    fn put_in(&mut self, pipe: usize, name: &str, kind: &str) {
        self.add(name, kind);
        let part = self.ix(name);
        let enter = PortRef { part, port: self.free(part, false) };
        let mut second = self.system.pipes[pipe].clone();
        self.system.pipes[pipe].to = enter;
        let leave = PortRef { part, port: self.free(part, true) };
        second.from = leave;
        second.id = format!("p{}", self.system.pipes.len() + 1);
        self.system.pipes.push(second);
    }

    pub fn pipe(&mut self, from: &str, to: &str) -> &mut Pipe {
        let (from, to) = (self.ix(from), self.ix(to));
        self.system.pipes.iter_mut().find(|p| p.from.part == from && p.to.part == to).unwrap()
    }

    /// Length in m and elbows of the pipe between two parts.
    pub fn long(&mut self, from: &str, to: &str, length: f64, elbows: f64) {
        let p = self.pipe(from, to);
        p.length = Some(stated(length));
        p.elbows = Some(stated(elbows));
    }

    pub fn sized(&mut self, from: &str, to: &str, size: &str) {
        self.pipe(from, to).size = Some(stated(size.to_owned()));
    }

    /// A figure as `size` would hand it on.
    pub fn figure(&mut self, id: &str, about: &str, value: f64, inputs: &[(&str, f64)]) {
        self.figures.retain(|f| f.id != id || f.about != about);
        self.figures.push(Figure {
            id: id.to_owned(),
            about: about.to_owned(),
            quantity: id.to_owned(),
            value,
            unit: String::new(),
            method: String::new(),
            formula: String::new(),
            source: String::new(),
            inputs: inputs
                .iter()
                .map(|(name, value)| Input {
                    name: (*name).to_owned(),
                    value: *value,
                    unit: String::new(),
                })
                .collect(),
            result: String::new(),
            assumed: false,
        });
    }

    /// A cupboard of that size with a door of 760 by 2000 in the middle of its front.
    pub fn cupboard(&mut self, width: f64, depth: f64, height: f64) -> &mut Cupboard {
        self.system.site.cupboard = Some(Cupboard {
            width: stated(width),
            depth: stated(depth),
            height: stated(height),
            datum: stated("finish".to_owned()),
            door: Some(Door {
                clear_width: stated(760.0),
                clear_height: stated(2000.0),
                from_left: stated((width - 760.0) / 2.0),
                hinge: stated(Side::Left),
                inward: false,
            }),
            walls: Vec::new(),
            floor: Floor::default(),
            obstacles: Vec::new(),
        });
        self.system.site.cupboard.as_mut().unwrap()
    }

    fn plan(&mut self) -> &mut CupboardPlan {
        let room = self.system.site.cupboard.as_ref().map(Cupboard::room).unwrap_or_default();
        self.plan.get_or_insert_with(|| CupboardPlan { room, ..CupboardPlan::default() })
    }

    /// A cupboard with the store, the named port of it at a height, and a drain cock at another, mm.
    pub fn drained(&mut self, (port, at): (&str, f64), cock: &str, z: f64) {
        let of =
            |b: &Build, name: &str, port: &str| b.system.part(b.ix(name)).kind.port(port).unwrap();
        let (inlet, store_port) = (of(self, cock, "in"), of(self, "CYL", port));
        self.plan = None;
        self.cupboard(1000.0, 800.0, 2300.0);
        let placed =
            |port: usize, z: f64| PlacedPort { port, at: P3::new(0.0, 0.0, z), out: Side::Back };
        let store = self.body("CYL", Form::Upright, [100.0, 100.0, 0.0, 550.0, 550.0, 1500.0]);
        store.ports.push(placed(store_port, at));
        let body = self.body(cock, Form::Box, [800.0, 100.0, z - 50.0, 40.0, 60.0, 50.0]);
        body.ports.push(placed(inlet, z));
    }

    /// Places a part's body: least corner and extent.
    pub fn body(&mut self, name: &str, form: Form, at: [f64; 6]) -> &mut Solid {
        let ix = self.ix(name);
        let [x, y, z, w, d, h] = at;
        let solid = Solid {
            owner: Owner::Part(ix),
            tag: name.to_owned(),
            form,
            at: Box3 { x, y, z, w, d, h },
            fixed_to: Side::Floor,
            held: Held::To(Side::Floor),
            access: Vec::new(),
            ports: Vec::new(),
        };
        let plan = self.plan();
        plan.solids.push(solid);
        plan.solids.last_mut().unwrap()
    }

    /// Routes the pipe between two parts through these points.
    pub fn route(&mut self, from: &str, to: &str, points: &[[f64; 3]]) -> &mut Route {
        let (from, to) = (self.ix(from), self.ix(to));
        let is = |p: &Pipe| p.from.part == from && p.to.part == to;
        let pipe = PipeIx(self.system.pipes.iter().position(is).unwrap());
        let route =
            Route::new(pipe, points.iter().map(|[x, y, z]| P3::new(*x, *y, *z)).collect(), 22.0);
        let plan = self.plan();
        plan.routes.push(route);
        plan.routes.last_mut().unwrap()
    }

    /// The wiring worked out from the system.
    pub fn wire(&mut self) -> &mut Wiring {
        self.wiring = Some(firstfix::wire::wire(&self.system));
        self.wiring.as_mut().unwrap()
    }

    pub fn check(&self) -> Report {
        let sized = Sized { system: self.system.clone(), figures: self.figures.clone() };
        firstfix::check::check_drawn(
            &sized,
            self.wiring.as_ref(),
            self.plan.as_ref(),
            self.drawing.as_ref(),
        )
    }
}

/// The findings of a rule.
pub fn of<'r>(report: &'r Report, rule: &str) -> Vec<&'r Finding> {
    report.findings.iter().filter(|f| f.rule == rule).collect()
}

/// Fails unless the rule fires with that severity on that part, and returns the finding.
#[track_caller]
pub fn fires<'r>(report: &'r Report, rule: &str, severity: Severity, part: &str) -> &'r Finding {
    let hit = report
        .findings
        .iter()
        .find(|f| f.rule == rule && f.severity == severity && f.parts.iter().any(|p| p == part));
    hit.unwrap_or_else(|| panic!("{rule} {severity:?} on {part} is missing:\n{}", list(report)))
}

#[track_caller]
pub fn silent(report: &Report, rule: &str) {
    assert!(of(report, rule).is_empty(), "{rule} is a false alarm:\n{}", list(report));
}

#[track_caller]
pub fn sound(report: &Report) {
    let bad = report.findings.iter().any(|f| f.severity != Severity::Advice);
    assert!(!bad, "a false alarm on a sound system:\n{}", list(report));
}

pub fn list(report: &Report) -> String {
    report
        .findings
        .iter()
        .map(|f| format!("  {} {:?} {:?} {}\n", f.rule, f.severity, f.parts, f.title))
        .collect()
}
