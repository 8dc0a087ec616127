//! What runs, for every combination of demands. In: a netlist. Out: small tables that together say
//! exactly what one table of all combinations would say.
//!
//! Why they are exact: take away the rails (line, neutral and earth nets) and the netlist falls
//! into parts that share no conductor. A load can only feel the contacts of its own part, and those
//! follow inputs or other loads. So each part's table, over its own inputs and the loads that move
//! its contacts, is complete; chained together they cover all combinations of the whole.

use std::collections::{BTreeMap, BTreeSet};

use serde::Serialize;

use super::netlist::{LoadRole, When, Wiring};
use super::simulate::Simulator;

/// Most variables of one small table; a part with more keeps its first ones and says so.
const MOST: usize = 12;

/// A column: an input, or a load that another table decides.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Column {
    pub id: String,
    pub words: String,
    /// What 1 and 0 mean.
    pub yes: String,
    pub no: String,
}

/// One row: `None` = either.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Row {
    pub given: Vec<Option<bool>>,
    pub runs: Vec<bool>,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct StateTable {
    /// "hot water", "upstairs radiators", "boiler".
    pub heading: String,
    pub given: Vec<Column>,
    pub outputs: Vec<Column>,
    pub rows: Vec<Row>,
    /// Combinations the rows stand for.
    pub combinations: usize,
    /// False where the part had too many variables to go through.
    pub whole: bool,
}

/// A variable of a part.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Variable {
    Input(usize),
    Load(usize),
}

/// Rows in counting order, the first input the most significant; four rows a hex digit, the first
/// in its top bit. Also how many rows run.
pub fn vector(wiring: &Wiring, inputs: &[&str], load: &str) -> (String, usize) {
    let sim = Simulator::new(wiring);
    let Some(index) = sim.load(load) else { return (String::new(), 0) };
    let at: Vec<Option<usize>> = inputs.iter().map(|i| wiring.input(i)).collect();
    let rows = 1usize << inputs.len().min(20);
    let mut bits = Vec::with_capacity(rows);
    let mut state = vec![false; wiring.inputs.len()];
    for row in 0..rows {
        for (k, i) in at.iter().enumerate() {
            if let Some(i) = i {
                state[*i] = row >> (inputs.len() - 1 - k) & 1 == 1;
            }
        }
        bits.push(sim.run(&state).runs[index]);
    }
    let hex = bits
        .chunks(4)
        .map(|c| {
            let n = c.iter().fold(0u32, |n, b| n << 1 | u32::from(*b)) << (4 - c.len());
            char::from_digit(n, 16).unwrap_or('?')
        })
        .collect();
    (hex, bits.iter().filter(|b| **b).count())
}

impl Wiring {
    /// The small tables, in the order in which demand becomes heat.
    pub fn state_tables(&self) -> Vec<StateTable> {
        let parts = Parts::of(self);
        let shown =
            |l: &LoadRole| !matches!(l, LoadRole::Sense | LoadRole::Coil | LoadRole::Supply);
        // Loads with their variables; a load whose variables are among another's joins its table.
        let mut tables: Vec<(BTreeSet<Variable>, Vec<usize>)> = Vec::new();
        for (i, load) in self.loads.iter().enumerate() {
            if shown(&load.role) {
                let vars = parts.variables(i);
                match tables.iter_mut().find(|t| t.0 == vars) {
                    Some(t) => t.1.push(i),
                    None => tables.push((vars, vec![i])),
                }
            }
        }
        let all = tables.clone();
        let mut kept: Vec<(BTreeSet<Variable>, Vec<usize>)> = Vec::new();
        for (k, (vars, loads)) in all.iter().enumerate() {
            let host = all.iter().enumerate().position(|(j, t)| {
                // What a table is told it does not tell.
                let given = loads.iter().any(|l| t.0.contains(&Variable::Load(*l)));
                j != k && !given && t.0.len() > vars.len() && t.0.is_superset(vars)
            });
            let home = host.map_or(vars, |h| &all[h].0);
            match kept.iter_mut().find(|t| t.0 == *home) {
                Some(t) => t.1.extend(loads),
                None => kept.push((home.clone(), loads.clone())),
            }
        }
        let sim = Simulator::new(self);
        let mut tables: Vec<StateTable> =
            kept.iter().map(|(vars, loads)| self.small_table(&sim, &parts, vars, loads)).collect();
        // Two of one group differ by what they decide.
        for i in 1..tables.len() {
            if tables[..i].iter().any(|t| t.heading == tables[i].heading) {
                let of: Vec<&str> = tables[i].outputs.iter().map(|o| o.words.as_str()).collect();
                tables[i].heading = format!("{}: {}", tables[i].heading, of.join(", "));
            }
        }
        tables
    }

    fn small_table(
        &self,
        sim: &Simulator,
        parts: &Parts,
        vars: &BTreeSet<Variable>,
        loads: &[usize],
    ) -> StateTable {
        let whole = vars.len() <= MOST;
        let vars: Vec<Variable> = vars.iter().copied().take(MOST).collect();
        let reachable = self.reachable(sim, parts, &vars);
        let mut outcomes: BTreeMap<usize, Vec<bool>> = BTreeMap::new();
        for row in 0..1usize << vars.len() {
            if reachable.as_ref().is_some_and(|r| !r.contains(&row)) {
                continue;
            }
            let mut inputs = vec![false; self.inputs.len()];
            let mut held = BTreeMap::new();
            for (k, v) in vars.iter().enumerate() {
                let bit = row >> (vars.len() - 1 - k) & 1 == 1;
                match v {
                    Variable::Input(i) => inputs[*i] = bit,
                    Variable::Load(l) => {
                        held.insert(*l, bit);
                    }
                }
            }
            let state = sim.run_with(&inputs, &held);
            outcomes.insert(row, loads.iter().map(|l| state.runs[*l]).collect());
        }
        let combinations = outcomes.len();
        let mut rows = Vec::new();
        let all: Vec<usize> = outcomes.keys().copied().collect();
        collapse(&vec![None; vars.len()], 0, &all, &outcomes, &mut rows);
        let heading = match vars.first() {
            Some(Variable::Input(i)) => self.inputs[*i].group.clone(),
            _ => "heat source and pump".to_owned(),
        };
        StateTable {
            heading,
            given: vars.iter().map(|v| self.column(*v)).collect(),
            outputs: loads.iter().map(|l| self.column(Variable::Load(*l))).collect(),
            rows,
            combinations,
            whole,
        }
    }

    /// Which combinations of the variables can occur at all, where that can be counted.
    fn reachable(
        &self,
        sim: &Simulator,
        parts: &Parts,
        vars: &[Variable],
    ) -> Option<BTreeSet<usize>> {
        if !vars.iter().any(|v| matches!(v, Variable::Load(_))) {
            return None;
        }
        let mut inputs = BTreeSet::new();
        vars.iter().for_each(|v| parts.roots(*v, &mut inputs));
        let inputs: Vec<usize> = inputs.into_iter().collect();
        if inputs.len() > 12 {
            return None;
        }
        let mut seen = BTreeSet::new();
        let mut state = vec![false; self.inputs.len()];
        for row in 0..1usize << inputs.len() {
            inputs.iter().enumerate().for_each(|(k, i)| state[*i] = row >> k & 1 == 1);
            let runs = sim.run(&state).runs;
            let key = vars.iter().fold(0, |key, v| {
                key << 1
                    | usize::from(match v {
                        Variable::Input(i) => state[*i],
                        Variable::Load(l) => runs[*l],
                    })
            });
            seen.insert(key);
        }
        Some(seen)
    }

    fn column(&self, v: Variable) -> Column {
        match v {
            Variable::Input(i) => {
                let input = &self.inputs[i];
                Column {
                    id: input.id.clone(),
                    words: input.words.clone(),
                    yes: input.yes.clone(),
                    no: input.no.clone(),
                }
            }
            Variable::Load(l) => {
                let load = &self.loads[l];
                let motor = load.role.is_motor() && load.device != "Q5";
                let (yes, no) = match load.role {
                    _ if motor && load.device == "Q4" => ("hot water", "at rest"),
                    _ if motor => ("open", "shut"),
                    LoadRole::Call => ("fires", "off"),
                    LoadRole::Actuator => ("open", "shut"),
                    _ => ("runs", "off"),
                };
                Column {
                    id: load.id.clone(),
                    words: load.words.trim_end_matches(" motor").to_owned(),
                    yes: yes.to_owned(),
                    no: no.to_owned(),
                }
            }
        }
    }
}

/// Rows that agree whatever the later variables are become one row with dashes.
fn collapse(
    prefix: &[Option<bool>],
    depth: usize,
    rows: &[usize],
    outcomes: &BTreeMap<usize, Vec<bool>>,
    out: &mut Vec<Row>,
) {
    let Some(first) = rows.first() else { return };
    if rows.iter().all(|r| outcomes[r] == outcomes[first]) {
        out.push(Row { given: prefix.to_vec(), runs: outcomes[first].clone() });
        return;
    }
    let width = prefix.len();
    for value in [true, false] {
        let mut next = prefix.to_vec();
        next[depth] = Some(value);
        let bit = |r: &usize| r >> (width - 1 - depth) & 1 == 1;
        let some: Vec<usize> = rows.iter().copied().filter(|r| bit(r) == value).collect();
        collapse(&next, depth + 1, &some, outcomes, out);
    }
}

/// The netlist without its rails, part by part.
pub struct Parts<'a> {
    wiring: &'a Wiring,
    /// For each load: the inputs and the loads that move contacts of its part.
    direct: Vec<(BTreeSet<usize>, BTreeSet<usize>)>,
}

impl<'a> Parts<'a> {
    pub fn of(wiring: &'a Wiring) -> Parts<'a> {
        // Nets of conductors alone, then contacts as edges between nets that are no rail.
        let mut index: BTreeMap<&str, usize> = BTreeMap::new();
        let mut addresses = Vec::new();
        for c in &wiring.conductors {
            addresses.extend([c.from.as_str(), c.to.as_str()]);
        }
        for c in &wiring.contacts {
            addresses.extend([c.a.as_str(), c.b.as_str()]);
        }
        for l in &wiring.loads {
            addresses.extend([l.line.as_str(), l.neutral.as_str()]);
            addresses.extend(l.also.as_deref());
        }
        for s in &wiring.supplies {
            addresses.extend([s.line.as_str(), s.neutral.as_str(), s.earth.as_str()]);
        }
        for a in addresses {
            let next = index.len();
            index.entry(a).or_insert(next);
        }
        let mut nets: Vec<usize> = (0..index.len()).collect();
        for c in &wiring.conductors {
            join(&mut nets, index[c.from.as_str()], index[c.to.as_str()]);
        }
        let mut net = |a: &str| find(&mut nets, index[a]);
        let rails: BTreeSet<usize> = wiring
            .supplies
            .iter()
            .flat_map(|s| [net(&s.line), net(&s.neutral), net(&s.earth)])
            .collect();
        let ends: Vec<(usize, usize)> =
            wiring.contacts.iter().map(|c| (net(&c.a), net(&c.b))).collect();
        let mut parts: Vec<usize> = (0..index.len()).collect();
        for (a, b) in &ends {
            if !rails.contains(a) && !rails.contains(b) {
                join(&mut parts, *a, *b);
            }
        }
        let direct = wiring
            .loads
            .iter()
            .map(|l| {
                let points: Vec<usize> =
                    [Some(l.line.as_str()), Some(&l.neutral), l.also.as_deref()]
                        .into_iter()
                        .flatten()
                        .map(&mut net)
                        .filter(|n| !rails.contains(n))
                        .collect();
                let homes: BTreeSet<usize> = points.iter().map(|n| find(&mut parts, *n)).collect();
                let (mut inputs, mut loads) = (BTreeSet::new(), BTreeSet::new());
                for (c, (a, b)) in wiring.contacts.iter().zip(&ends) {
                    let touches = [a, b]
                        .into_iter()
                        .any(|n| !rails.contains(n) && homes.contains(&find(&mut parts, *n)));
                    if touches {
                        follow(wiring, &c.when, &mut inputs, &mut loads);
                    }
                }
                (inputs, loads)
            })
            .collect();
        Parts { wiring, direct }
    }

    /// The variables of a load's table. Loads that only pass a demand on (a controller's input, a
    /// relay's coil) are seen through, and so are loads that the table's own inputs decide.
    pub fn variables(&self, load: usize) -> BTreeSet<Variable> {
        let mut inputs = BTreeSet::new();
        let mut loads = BTreeSet::new();
        let mut seen = BTreeSet::new();
        self.gather(load, &mut inputs, &mut loads, &mut seen);
        // A contact of its own behind it (a three-port valve's switch) does not decide it.
        loads.remove(&load);
        loads.retain(|l| {
            let mut of = BTreeSet::new();
            self.roots(Variable::Load(*l), &mut of);
            !of.is_subset(&inputs)
        });
        inputs
            .into_iter()
            .map(Variable::Input)
            .chain(loads.into_iter().map(Variable::Load))
            .collect()
    }

    fn gather(
        &self,
        load: usize,
        inputs: &mut BTreeSet<usize>,
        loads: &mut BTreeSet<usize>,
        seen: &mut BTreeSet<usize>,
    ) {
        if !seen.insert(load) {
            return;
        }
        let (own, drivers) = &self.direct[load];
        inputs.extend(own);
        for d in drivers {
            match self.wiring.loads[*d].role {
                LoadRole::Sense | LoadRole::Coil | LoadRole::Supply => {
                    self.gather(*d, inputs, loads, seen);
                }
                _ => {
                    loads.insert(*d);
                }
            }
        }
    }

    /// The inputs that decide a variable in the end.
    pub fn roots(&self, v: Variable, inputs: &mut BTreeSet<usize>) {
        let mut todo = vec![v];
        let mut seen = BTreeSet::new();
        while let Some(v) = todo.pop() {
            match v {
                Variable::Input(i) => {
                    inputs.insert(i);
                }
                Variable::Load(l) if seen.insert(l) => {
                    inputs.extend(&self.direct[l].0);
                    todo.extend(self.direct[l].1.iter().map(|l| Variable::Load(*l)));
                }
                Variable::Load(_) => {}
            }
        }
    }
}

fn follow(w: &Wiring, when: &When, inputs: &mut BTreeSet<usize>, loads: &mut BTreeSet<usize>) {
    match when {
        When::Always => {}
        When::Input(id, _) => inputs.extend(w.input(id)),
        When::Runs(id, _) => loads.extend(w.loads.iter().position(|l| l.id == *id)),
        When::All(of) | When::Any(of) => of.iter().for_each(|x| follow(w, x, inputs, loads)),
    }
}

fn find(nets: &mut [usize], mut p: usize) -> usize {
    while nets[p] != p {
        nets[p] = nets[nets[p]];
        p = nets[p];
    }
    p
}

fn join(nets: &mut [usize], a: usize, b: usize) {
    let (a, b) = (find(nets, a), find(nets, b));
    if a != b {
        nets[a.max(b)] = a.min(b);
    }
}
