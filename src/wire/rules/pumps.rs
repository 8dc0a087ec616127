//! Pumps that do not follow the pipework. In: the netlist and what the survey found behind each
//! pump. Out: a fault for a pump that nothing runs, and for one that rests while a valve behind it
//! is open: tried in every combination of the controls that move either.

use std::collections::BTreeSet;

use super::Finder;
use crate::wire::netlist::LoadRole;
use crate::wire::table::{Parts, Variable};

/// More inputs than these stay "on" in the trial.
const MOST: usize = 12;

impl Finder<'_> {
    /// S22 and S23.
    pub(super) fn pumps(&mut self) {
        let ways = self.w.pipework.pumps.clone();
        let parts = Parts::of(self.w);
        for way in &ways {
            let of = |role: fn(LoadRole) -> bool, tag: &str| {
                self.w.loads.iter().position(|l| {
                    let device = self.w.device(&l.device);
                    role(l.role) && device.is_some_and(|d| d.tag.as_deref() == Some(tag))
                })
            };
            let Some(pump) = of(|r| r == LoadRole::Pump, &way.tag) else {
                let what = format!("{} ({}) is wired nowhere: its water stands", way.tag, way.name);
                self.fault("S22", what, &[&way.tag]);
                continue;
            };
            let stands: Vec<&String> = way
                .valves
                .iter()
                .filter(|v| {
                    of(LoadRole::is_motor, v)
                        .is_some_and(|motor| self.rests_while(&parts, pump, motor))
                })
                .collect();
            let idle = way.of_source && self.idle_source(&parts, pump);
            if let Some(valve) = stands.first() {
                let what = format!("{} ({}) stands still while {valve} is open", way.tag, way.name);
                self.fault("S23", what, &[&way.tag, valve]);
            } else if idle {
                let what =
                    format!("{} ({}) stands still while the source fires", way.tag, way.name);
                self.fault("S23", what, &[&way.tag]);
            }
        }
    }

    fn idle_source(&self, parts: &Parts, pump: usize) -> bool {
        let calls = |i: &usize| self.w.loads[*i].role == LoadRole::Call;
        (0..self.w.loads.len()).filter(calls).any(|c| self.rests_while(parts, pump, c))
    }

    /// Some state of the controls in which a load runs and the pump does not.
    fn rests_while(&self, parts: &Parts, pump: usize, load: usize) -> bool {
        let mut inputs = BTreeSet::new();
        for v in [pump, load] {
            parts.roots(Variable::Load(v), &mut inputs);
        }
        let inputs: Vec<usize> = inputs.into_iter().take(MOST).collect();
        let mut state = vec![true; self.w.inputs.len()];
        (0..1usize << inputs.len()).any(|row| {
            inputs.iter().enumerate().for_each(|(k, i)| state[*i] = row >> k & 1 == 1);
            let runs = self.sim.run(&state).runs;
            runs[load] && !runs[pump]
        })
    }
}
