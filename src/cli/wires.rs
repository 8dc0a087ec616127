//! `wire`: terminals, cables, what runs when, and the proof for each cut-out.

use std::fmt::Write;

use serde::Serialize;

use super::args::Input;
use super::{UNREADABLE, Worked, say};
use crate::diagnostic::Located;
use crate::wire::netlist::{Wiring, device_of};
use crate::wire::table::StateTable;
use crate::wire::{Proof, WireFault};

#[derive(Serialize)]
struct Document<'a> {
    wiring: &'a Wiring,
    state_tables: Vec<StateTable>,
    proofs: Vec<Proof>,
    faults: Vec<WireFault>,
    diagnostics: Vec<Located>,
}

pub fn wire(input: &Input) -> u8 {
    let Some(w) = Worked::of(input) else { return UNREADABLE };
    let wiring = &w.project.wiring;
    if input.json {
        say::json(&Document {
            wiring,
            state_tables: wiring.state_tables(),
            proofs: wiring.proofs(),
            faults: wiring.faults(),
            diagnostics: w.source.records(),
        });
        return w.source.code();
    }
    w.source.say();
    say::out(&text(wiring));
    w.source.code()
}

fn text(w: &Wiring) -> String {
    let mut out = String::from("Devices\n");
    let rows: Vec<Vec<String>> = w
        .devices
        .iter()
        .map(|d| {
            vec![d.id.clone(), d.tag.clone().unwrap_or_default(), d.words.clone(), d.place.clone()]
        })
        .collect();
    out.push_str(&say::table(&["device", "tag", "what", "where"], &rows));
    out.push_str("\nTerminals\n");
    let mut rows = Vec::new();
    for d in &w.devices {
        for t in &d.terminals {
            let here = format!("{}:{}", d.id, t.name);
            let mut cores =
                w.conductors.iter().filter(|c| c.from == here || c.to == here).peekable();
            if cores.peek().is_none() {
                rows.push(vec![
                    here,
                    String::new(),
                    String::new(),
                    t.function.clone(),
                    String::new(),
                ]);
                continue;
            }
            for c in cores {
                rows.push(vec![
                    here.clone(),
                    c.cable.clone(),
                    c.core.words(),
                    c.function.clone(),
                    c.far(device_of(&here)).clone(),
                ]);
            }
        }
    }
    out.push_str(&say::table(&["terminal", "cable", "core", "function", "to"], &rows));
    out.push_str("\nCables\n");
    let rows: Vec<Vec<String>> = w
        .cables
        .iter()
        .map(|c| {
            vec![
                c.tag.clone(),
                c.construction.clone(),
                format!("{} x {} mm2", c.cores, say::number(c.mm2)),
                c.from.join(", "),
                c.to.join(", "),
            ]
        })
        .collect();
    out.push_str(&say::table(&["cable", "kind", "cores", "from", "to"], &rows));
    for t in w.state_tables() {
        let _ = writeln!(out, "\nWhat runs: {}", t.heading);
        let headings: Vec<&str> =
            t.given.iter().chain(&t.outputs).map(|c| c.words.as_str()).collect();
        let rows: Vec<Vec<String>> = t
            .rows
            .iter()
            .map(|r| {
                let given = r.given.iter().zip(&t.given).map(|(g, c)| match g {
                    Some(true) => c.yes.clone(),
                    Some(false) => c.no.clone(),
                    None => "either".to_owned(),
                });
                let runs = r
                    .runs
                    .iter()
                    .zip(&t.outputs)
                    .map(|(r, c)| if *r { c.yes.clone() } else { c.no.clone() });
                given.chain(runs).collect()
            })
            .collect();
        out.push_str(&say::table(&headings, &rows));
    }
    let proofs = w.proofs();
    if !proofs.is_empty() {
        out.push_str("\nWith the cut-out open\n");
        for p in proofs {
            let verdict = if p.holds { "stays dead" } else { "IS NOT STOPPED" };
            let by = if p.cut_out.is_empty() { "no cut-out" } else { &p.cut_out };
            let _ = writeln!(
                out,
                "  {} ({by}): {verdict}, {} combinations tried, live in {}",
                p.device, p.tried, p.live
            );
        }
    }
    for f in w.faults() {
        let _ = writeln!(out, "\n{}: {}", f.rule, f.what);
    }
    for note in &w.notes {
        let _ = writeln!(out, "\nNote: {note}");
    }
    out.push_str(
        "\nIsolate, lock off and prove dead before working. For licensed electricians; the maker's \
         instructions and the wiring regulations come first.\n",
    );
    out
}
