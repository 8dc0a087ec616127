//! The circuit diagram as a ladder: line on the left, neutral on the right, one rung a demand. In:
//! the netlist. Out: a grid: which contact or load stands in which row and column, which net runs
//! down beside which rows. No millimetres here.
//!
//! A net that is no rail stands at its level, the most contacts on a way from the line; contacts
//! stand right after the net they start from, loads at the neutral. Rows are handed out depth
//! first, so that a net's rows lie together and its riser crosses nothing it need not.

use std::collections::{BTreeMap, BTreeSet};

use crate::wire::netlist::{Actuator, Wiring};

/// Contact or load, by index.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Element {
    Contact(usize),
    Load(usize),
}

/// An element in its place. `from` and `to` are levels: the line is 0, the neutral `levels`.
#[derive(Clone, Debug)]
pub struct Cell {
    pub element: Element,
    pub row: usize,
    pub from: usize,
    pub to: usize,
    /// A contact's terminal on the side of the line.
    pub reversed: bool,
}

/// A net between two elements.
#[derive(Clone, Debug)]
pub struct Riser {
    pub level: usize,
    pub rows: Vec<usize>,
    /// Terminals of the wiring centre on it, in order.
    pub ways: Vec<String>,
}

/// One circuit of the house.
#[derive(Clone, Debug)]
pub struct Ladder {
    /// Index of the supply.
    pub supply: usize,
    pub rows: usize,
    /// Contacts in the longest chain, loads after them.
    pub levels: usize,
    pub cells: Vec<Cell>,
    pub risers: Vec<Riser>,
    /// The first row of each part that hangs together, so that a sheet can be turned there.
    pub starts: Vec<usize>,
}

/// One ladder for each circuit of the house, and one for each loop that a device feeds itself.
pub fn ladders(w: &Wiring) -> Vec<Ladder> {
    let nets = Nets::of(w);
    (0..w.supplies.len()).map(|s| Grid::new(w, &nets, s).finish()).collect()
}

/// Nets of conductors, with the poles of double-pole switches taken as joined: those are drawn at
/// the head of their circuit.
struct Nets {
    of: BTreeMap<String, usize>,
    ways: BTreeMap<usize, Vec<String>>,
}

impl Nets {
    fn of(w: &Wiring) -> Nets {
        let mut root: BTreeMap<String, String> = BTreeMap::new();
        fn find(root: &BTreeMap<String, String>, a: &str) -> String {
            let mut at = a.to_owned();
            while let Some(up) = root.get(&at) {
                at = up.clone();
            }
            at
        }
        let joined = w.conductors.iter().map(|c| (&c.from, &c.to)).chain(
            w.contacts.iter().filter(|c| c.by == Actuator::DoublePole).map(|c| (&c.a, &c.b)),
        );
        for (a, b) in joined {
            let (a, b) = (find(&root, a), find(&root, b));
            if a != b {
                let (low, high) = if a < b { (a, b) } else { (b, a) };
                root.insert(high, low);
            }
        }
        let mut ids: BTreeMap<String, usize> = BTreeMap::new();
        let mut of = BTreeMap::new();
        let mut ways: BTreeMap<usize, Vec<String>> = BTreeMap::new();
        let addresses: BTreeSet<&String> = w
            .conductors
            .iter()
            .flat_map(|c| [&c.from, &c.to])
            .chain(w.contacts.iter().flat_map(|c| [&c.a, &c.b]))
            .chain(w.loads.iter().flat_map(|l| [&l.line, &l.neutral]))
            .chain(w.supplies.iter().flat_map(|s| [&s.line, &s.neutral, &s.earth]))
            .collect();
        for a in addresses {
            let top = find(&root, a);
            let next = ids.len();
            let id = *ids.entry(top).or_insert(next);
            of.insert(a.clone(), id);
            if a.starts_with("X1:") {
                ways.entry(id).or_default().push(a.clone());
            }
        }
        Nets { of, ways }
    }

    fn at(&self, address: &str) -> usize {
        self.of.get(address).copied().unwrap_or(usize::MAX)
    }
}

struct Grid<'a> {
    w: &'a Wiring,
    supply: usize,
    line: usize,
    neutral: usize,
    /// Contacts as directed edges between nets: contact, from, to, reversed.
    edges: Vec<(usize, usize, usize, bool)>,
    /// Loads on each net.
    loads: BTreeMap<usize, Vec<usize>>,
    level: BTreeMap<usize, usize>,
    cells: Vec<Cell>,
    /// Rows in which something joins a net.
    rows: BTreeMap<usize, BTreeSet<usize>>,
    placed: BTreeSet<usize>,
    done: BTreeSet<usize>,
    next: usize,
    nets: &'a Nets,
}

impl<'a> Grid<'a> {
    fn new(w: &'a Wiring, nets: &'a Nets, supply: usize) -> Grid<'a> {
        let s = &w.supplies[supply];
        let (line, neutral) = (nets.at(&s.line), nets.at(&s.neutral));
        let rails: BTreeSet<usize> = w
            .supplies
            .iter()
            .flat_map(|s| [nets.at(&s.line), nets.at(&s.neutral), nets.at(&s.earth)])
            .collect();
        // Undirected contacts reachable from the line without passing a rail.
        let ends: Vec<(usize, usize, usize)> = w
            .contacts
            .iter()
            .enumerate()
            .filter(|(_, c)| c.by != Actuator::DoublePole)
            .map(|(i, c)| (i, nets.at(&c.a), nets.at(&c.b)))
            .filter(|(_, a, b)| a != b)
            .collect();
        let mut distance: BTreeMap<usize, usize> = BTreeMap::from([(line, 0)]);
        let mut queue = std::collections::VecDeque::from([line]);
        while let Some(at) = queue.pop_front() {
            for (_, a, b) in &ends {
                for (x, y) in [(a, b), (b, a)] {
                    if *x == at && !distance.contains_key(y) && !rails.contains(y) {
                        distance.insert(*y, distance[&at] + 1);
                        queue.push_back(*y);
                    }
                }
            }
        }
        let mut edges = Vec::new();
        for (i, a, b) in &ends {
            let (Some(da), Some(db)) = (distance.get(a), distance.get(b)) else { continue };
            // Equally far: from the common terminal outwards.
            let back = db < da;
            edges.push(if back { (*i, *b, *a, true) } else { (*i, *a, *b, false) });
        }
        let mut loads: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for (i, l) in w.loads.iter().enumerate() {
            if nets.at(&l.neutral) == neutral {
                loads.entry(nets.at(&l.line)).or_default().push(i);
            }
        }
        // A contact that leads to no load (an unused throw) is no rung.
        loop {
            let before = edges.len();
            let outs: BTreeSet<usize> =
                edges.iter().map(|e: &(usize, usize, usize, bool)| e.1).collect();
            edges.retain(|e| loads.contains_key(&e.2) || outs.contains(&e.2));
            if edges.len() == before {
                break;
            }
        }
        let mut g = Grid {
            w,
            supply,
            line,
            neutral,
            edges,
            loads,
            level: BTreeMap::from([(line, 0)]),
            cells: Vec::new(),
            rows: BTreeMap::new(),
            placed: BTreeSet::from([line]),
            done: BTreeSet::new(),
            next: 0,
            nets,
        };
        g.levels();
        g
    }

    /// Longest way from the line, by repeated relaxation; the direction of edges has no cycle.
    fn levels(&mut self) {
        for _ in 0..=self.edges.len() {
            let mut changed = false;
            for (_, a, b, _) in &self.edges {
                if let Some(la) = self.level.get(a).copied()
                    && self.level.get(b).is_none_or(|lb| *lb < la + 1)
                {
                    self.level.insert(*b, la + 1);
                    changed = true;
                }
            }
            if !changed {
                break;
            }
        }
    }

    fn depth(&self) -> usize {
        self.level.values().copied().max().unwrap_or(0) + 1
    }

    fn row(&mut self) -> usize {
        self.next += 1;
        self.next - 1
    }

    fn finish(mut self) -> Ladder {
        let levels = self.depth();
        let mut starts = Vec::new();
        // Parts in the order of their first load.
        let mut roots: Vec<(usize, Element)> = Vec::new();
        for l in self.loads.get(&self.line).cloned().unwrap_or_default() {
            roots.push((l, Element::Load(l)));
        }
        for (c, a, b, _) in self.edges.clone() {
            if a == self.line {
                roots.push((self.first_load(b), Element::Contact(c)));
            }
        }
        roots.sort();
        for (_, root) in roots {
            match root {
                Element::Load(l) => {
                    let row = self.row();
                    starts.push(row);
                    self.cells.push(Cell {
                        element: Element::Load(l),
                        row,
                        from: 0,
                        to: levels,
                        reversed: false,
                    });
                }
                Element::Contact(c) if !self.done.contains(&c) => {
                    let row = self.row();
                    let joins = self.edges.iter().any(|e| e.0 == c && self.placed.contains(&e.2));
                    if !joins {
                        starts.push(row);
                    }
                    self.contact(c, row);
                }
                Element::Contact(_) => {}
            }
        }
        let risers = self
            .rows
            .iter()
            .filter(|(net, _)| **net != self.line && **net != self.neutral)
            .map(|(net, rows)| Riser {
                level: self.level.get(net).copied().unwrap_or(0),
                rows: rows.iter().copied().collect(),
                ways: self.nets.ways.get(net).cloned().unwrap_or_default(),
            })
            .collect();
        Ladder { supply: self.supply, rows: self.next, levels, cells: self.cells, risers, starts }
    }

    fn first_load(&self, net: usize) -> usize {
        let mut seen = BTreeSet::new();
        let mut todo = vec![net];
        let mut best = self.w.loads.len();
        while let Some(n) = todo.pop() {
            if !seen.insert(n) {
                continue;
            }
            best = best.min(self.loads.get(&n).and_then(|l| l.first().copied()).unwrap_or(best));
            todo.extend(self.edges.iter().filter(|e| e.1 == n).map(|e| e.2));
        }
        best
    }

    /// Places a contact in a row and goes on from where it ends.
    fn contact(&mut self, c: usize, row: usize) {
        let Some((_, a, b, reversed)) = self.edges.iter().find(|e| e.0 == c).copied() else {
            return;
        };
        self.done.insert(c);
        let (from, to) = (self.level[&a], self.level[&b]);
        self.cells.push(Cell { element: Element::Contact(c), row, from, to, reversed });
        self.rows.entry(a).or_default().insert(row);
        self.rows.entry(b).or_default().insert(row);
        if !self.placed.insert(b) {
            return;
        }
        let mut free = vec![row];
        // Other ways in from the line, each on a row of its own.
        let ins: Vec<usize> = self
            .edges
            .iter()
            .filter(|e| e.1 == self.line && e.2 == b && !self.done.contains(&e.0))
            .map(|e| e.0)
            .collect();
        for c in ins {
            let row = self.row();
            self.contact(c, row);
            free.push(row);
        }
        free.reverse();
        let levels = self.depth();
        for l in self.loads.get(&b).cloned().unwrap_or_default() {
            let row = free.pop().unwrap_or_else(|| self.row());
            self.cells.push(Cell {
                element: Element::Load(l),
                row,
                from: to,
                to: levels,
                reversed: false,
            });
            self.rows.entry(b).or_default().insert(row);
        }
        let outs: Vec<usize> = self
            .edges
            .iter()
            .filter(|e| e.1 == b && !self.done.contains(&e.0))
            .map(|e| e.0)
            .collect();
        for c in outs {
            if !self.done.contains(&c) {
                let row = free.pop().unwrap_or_else(|| self.row());
                self.contact(c, row);
            }
        }
    }
}
