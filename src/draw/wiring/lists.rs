//! The electrician's tables: terminals, cables, what runs when, the cut-out's proof, power and
//! fuses. In: the netlist. Out: undressed A3 sheets in two columns.

use super::columns::Columns;
use super::names::name;
use super::notes::has_valves;
use super::page::{Page, sheets_of};
use crate::draw::frame::{TitleData, capital};
use crate::draw::scene::Sheet;
use crate::wire::netlist::{Actuator, Conductor, DeviceKind, When, Wiring, device_of, terminal_of};
use crate::wire::simulate::Simulator;
use crate::wire::table::{Parts, StateTable, Variable};

/// Undressed sheets `wiring-tables`, `wiring-tables-2`, ….
pub fn lists(w: &Wiring, data: &TitleData) -> Vec<Sheet> {
    let mut c = Columns::new(data);
    terminal_table(&mut c, w);
    cable_schedule(&mut c, w);
    commissioning(&mut c, w);
    for t in w.state_tables() {
        state_table(&mut c, &t);
    }
    proofs(&mut c, w);
    power(&mut c, w);
    sheets_of(c.finish(), "wiring-tables", "Wiring: tables", |page| notes(page, w))
}

/// One row for each conductor, in the order of the wiring centre's ways, then as wired.
pub fn terminal_rows(w: &Wiring) -> Vec<[String; 6]> {
    let way = |c: &Conductor| -> Option<u32> {
        [&c.from, &c.to]
            .into_iter()
            .filter(|a| device_of(a) == "X1")
            .find_map(|a| terminal_of(a).parse().ok())
    };
    let mut order: Vec<usize> = (0..w.conductors.len()).collect();
    order.sort_by_key(|i| (way(&w.conductors[*i]).unwrap_or(u32::MAX), *i));
    order
        .into_iter()
        .map(|i| {
            let c = &w.conductors[i];
            let at = match (device_of(&c.from) == "X1", device_of(&c.to) == "X1") {
                (true, _) => c.from.clone(),
                (_, true) => c.to.clone(),
                _ => c.from.clone(),
            };
            let cable = if c.cable.is_empty() { "link".to_owned() } else { c.cable.clone() };
            [at.clone(), c.from.clone(), cable, c.core.words(), net(w, &at, c), c.to.clone()]
        })
        .collect()
}

/// What a net is called: a terminal of the wiring centre names all that lands on it, so that every
/// table has one word for it; a parked core says so.
fn net(w: &Wiring, at: &str, c: &Conductor) -> String {
    let way = w.ways().into_iter().find(|(n, _)| device_of(at) == "X1" && terminal_of(at) == *n);
    match way {
        Some((_, name)) if !c.function.contains("parked") => name.to_owned(),
        _ => c.function.clone(),
    }
}

fn terminal_table(c: &mut Columns, w: &Wiring) {
    let rows: Vec<Vec<String>> = terminal_rows(w).into_iter().map(Vec::from).collect();
    c.heading("Terminal table: a row for each core");
    c.table(
        &[
            ("Terminal", 16.0),
            ("From", 18.0),
            ("Cable", 12.0),
            ("Core, colour", 41.0),
            ("Function", 77.0),
            ("To", 18.0),
        ],
        &rows,
    );
}

fn cable_schedule(c: &mut Columns, w: &Wiring) {
    c.heading("Cable schedule");
    let ends = |list: &[String]| list.iter().map(|d| name(w, d)).collect::<Vec<_>>().join(", ");
    let number = |tag: &str| {
        let digits: String = tag.chars().filter(char::is_ascii_digit).collect();
        (digits.parse::<u32>().unwrap_or(u32::MAX), tag.to_owned())
    };
    let mut cables: Vec<_> = w.cables.iter().collect();
    cables.sort_by_key(|k| number(&k.tag));
    let rows: Vec<Vec<String>> = cables
        .into_iter()
        .map(|k| {
            let mut what = k.construction.clone();
            if k.count > 1 {
                what = format!("{} × {what}", k.count);
            }
            if k.at_works.is_some() {
                what.push_str(", made at the works");
            }
            vec![
                k.tag.clone(),
                what,
                format!("{} of {}", k.used, k.cores),
                figure(k.mm2),
                if k.heat_resistant { "Y" } else { "N" }.to_owned(),
                ends(&k.from),
                ends(&k.to),
                if k.at_works.is_some() {
                    "–".to_owned()
                } else {
                    k.length.map(figure).unwrap_or_default()
                },
            ]
        })
        .collect();
    c.table_with_note(
        &[
            ("Cable", 12.0),
            ("Type", 44.0),
            ("Cores used", 19.0),
            ("mm²", 10.0),
            ("Heat-res.", 17.0),
            ("From", 30.0),
            ("To", 36.0),
            ("m", 11.0),
        ],
        &rows,
        "Heat-resistant: 85 °C or more at the conductor. Length to be measured on site. Valve and actuator cords and sensing leads are the makers' own. Every unused core is parked in an insulated terminal at both ends.",
    );
}

/// Calls by group and what runs, in the order for commissioning.
pub fn commissioning_rows(w: &Wiring) -> (Vec<String>, Vec<Vec<String>>) {
    let sim = Simulator::new(w);
    let shown: Vec<usize> = (0..w.loads.len())
        .filter(|i| {
            use crate::wire::netlist::LoadRole::{Coil, Sense, Supply};
            !matches!(w.loads[*i].role, Sense | Coil | Supply)
        })
        .collect();
    // A group that only holds something on is no demand.
    let mut groups: Vec<&str> = Vec::new();
    for i in &w.inputs {
        if i.id != "OVR" && !groups.contains(&i.group.as_str()) {
            groups.push(&i.group);
        }
    }
    let mut columns = vec!["Set".to_owned()];
    columns.extend(shown.iter().map(|i| {
        let load = &w.loads[*i];
        let alone = shown.iter().filter(|j| w.loads[**j].device == load.device).count() == 1;
        let name = name(w, &load.device);
        // Two calls of one device differ by the terminal they come in at.
        if alone { name } else { format!("{name} {}", terminal_of(&load.line)) }
    }));
    let healthy: Vec<bool> = w.inputs.iter().map(|i| i.cut_out).collect();
    let mut rows: Vec<(String, Vec<bool>)> = vec![("nothing calls".to_owned(), healthy.clone())];
    let called = |group: &str| -> Vec<bool> {
        let shared = shared_timers(w, group);
        (0..w.inputs.len())
            .map(|k| healthy[k] || w.inputs[k].group == group || shared.contains(&k))
            .collect()
    };
    for g in &groups {
        rows.push((format!("{g} calls, alone"), called(g)));
    }
    if groups.len() > 1 {
        let all = w.inputs.iter().map(|i| i.id != "OVR").collect();
        rows.push(("everything calls".to_owned(), all));
    }
    for (k, input) in w.inputs.iter().enumerate() {
        // A high limit holds its contact closed and opens it for a time; a cut-out until reset.
        let limit = w.device(&input.device).is_some_and(|d| d.kind == DeviceKind::LimitThermostat);
        let word = match (input.cut_out, limit) {
            (true, _) => "TRIPPED",
            (false, true) => "TOO HOT",
            (false, false) => continue,
        };
        let mut state = called(&input.group);
        state[k] = !state[k];
        rows.push((format!("{} calls, {} {word}", input.group, input.device), state));
    }
    let rows = rows
        .into_iter()
        .map(|(what, state)| {
            let runs = sim.run(&state).runs;
            let mut row = vec![what];
            row.extend(shown.iter().map(|i| if runs[*i] { "ON" } else { "–" }.to_owned()));
            row
        })
        .collect();
    (columns, rows)
}

/// Timers of another group without which nothing of this one is fed.
fn shared_timers(w: &Wiring, group: &str) -> Vec<usize> {
    let parts = Parts::of(w);
    let timer = |k: &usize| {
        w.contacts.iter().any(|c| {
            c.by == Actuator::Timer
                && matches!(&c.when, When::Input(id, _) if w.input(id) == Some(*k))
        })
    };
    let mut timers: Vec<usize> = Vec::new();
    for load in 0..w.loads.len() {
        let inputs: Vec<usize> = parts
            .variables(load)
            .into_iter()
            .filter_map(|v| if let Variable::Input(k) = v { Some(k) } else { None })
            .collect();
        if w.loads[load].role.is_motor() && inputs.iter().any(|k| w.inputs[*k].group == group) {
            timers.extend(inputs.into_iter().filter(timer));
        }
    }
    timers
}

fn commissioning(c: &mut Columns, w: &Wiring) {
    let (columns, rows) = commissioning_rows(w);
    c.heading("Calls and what runs: test in this order, tick each row");
    let n = columns.len() - 1;
    let first = 52.0;
    // As many columns as can be read; the rest in a second table.
    let per = (((c.width() - first - 10.0) / 11.4) as usize).max(1);
    for part in 0..n.div_ceil(per) {
        let range = part * per + 1..((part + 1) * per).min(n) + 1;
        let mut heads: Vec<(&str, f64)> = vec![("Set", first)];
        let w = ((c.width() - first - 10.0) / range.len() as f64).min(24.0);
        heads.extend(columns[range.clone()].iter().map(|h| (h.as_str(), w)));
        heads.push(("Tick", 10.0));
        let rows: Vec<Vec<String>> = rows
            .iter()
            .map(|r| {
                let mut row = vec![r[0].clone()];
                row.extend(r[range.clone()].iter().cloned());
                row.push(String::new());
                row
            })
            .collect();
        c.exact(&heads, &rows);
    }
}

fn state_table(c: &mut Columns, t: &StateTable) {
    let title = format!("State table: {} ({} combinations)", t.heading, t.combinations);
    c.heading(&title);
    let n = t.given.len() + t.outputs.len();
    let w = (c.width() / n as f64).min(46.0);
    let heads: Vec<(String, f64)> = t
        .given
        .iter()
        .map(|g| (g.words.clone(), w))
        .chain(t.outputs.iter().map(|o| (format!("→ {}", o.words), w)))
        .collect();
    let heads: Vec<(&str, f64)> = heads.iter().map(|(h, w)| (h.as_str(), *w)).collect();
    let rows: Vec<Vec<String>> = t
        .rows
        .iter()
        .map(|r| {
            let given = r.given.iter().zip(&t.given).map(|(v, col)| match v {
                Some(true) => col.yes.clone(),
                Some(false) => col.no.clone(),
                None => "either".to_owned(),
            });
            let runs = r
                .runs
                .iter()
                .zip(&t.outputs)
                .map(|(v, col)| if *v { col.yes.to_uppercase() } else { col.no.clone() });
            given.chain(runs).collect()
        })
        .collect();
    c.exact(&heads, &rows);
}

fn proofs(c: &mut Columns, w: &Wiring) {
    c.heading("Proof: an open cut-out stops the heat");
    for p in w.proofs() {
        let load = w.load(&p.load).map_or("", |l| l.words.as_str());
        let text = if p.cut_out.is_empty() {
            format!("{load}: NO CUT-OUT.")
        } else if p.holds {
            format!(
                "{}: with {} open, {load} is dead in all {} combinations of the other controls, and no path leads from any line to it past the cut-out. Path: {}.",
                name(w, &p.device),
                name(w, &p.cut_out),
                p.tried,
                p.chain.join(" – ")
            )
        } else {
            format!(
                "{}: NOT PROVED: with {} open, {load} is live in {} of {} combinations{}.",
                name(w, &p.device),
                name(w, &p.cut_out),
                p.live,
                p.tried,
                if p.no_path { "" } else { "; a path leads past the cut-out" }
            )
        };
        c.paragraph(&text);
    }
    c.paragraph(if has_valves(w) {
        "A valve that sticks open is beyond the cut-out: the temperature relief valve is the last defence."
    } else {
        "A contact that welds shut is beyond the cut-out: the temperature relief valve is the last defence."
    });
}

fn power(c: &mut Columns, w: &Wiring) {
    c.heading("Power, fuses and circuit-breakers");
    let own = |name: &str| w.supplies.iter().any(|s| s.name == name && s.new_circuit);
    let mut rows = Vec::new();
    for b in w.budgets() {
        rows.push(vec![
            capital(&b.supply),
            format!("{:.0} W", b.watts),
            format!("{:.2} A", b.amps),
            format!("{} {} A", if own(&b.supply) { "breaker" } else { "fuse" }, figure(b.fuse)),
            format!("{:.0} W left", b.margin),
        ]);
    }
    let heads =
        [("Supply", 62.0), ("Demand", 25.0), ("Current", 25.0), ("Device", 26.0), ("Margin", 30.0)];
    if w.notifiable().is_empty() {
        c.table(&heads, &rows);
    } else {
        c.table_with_note(&heads, &rows, "A new circuit is notifiable (Building Regulations, Part P, England): installation certificate from the electrician. Circuits in a house are protected by a 30 mA residual current device (BS 7671).");
    }
}

fn figure(v: f64) -> String {
    let text = format!("{v:.2}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

fn notes(page: &mut Page, w: &Wiring) {
    let caution = [
        "Isolate every supply, lock off, prove dead. Connect and test to BS 7671 and the makers' instructions; competent electrician only.",
    ];
    let centre = if w.device("X1").is_some() { " X1 = wiring centre." } else { "" };
    let mut texts = vec![
        format!("ON = runs or opens; – = off or shut; either = makes no difference.{centre} Tags after designations are those of the other sheets."),
        "Altering an older house: red was line, black neutral; old blue was a phase, blue is now neutral. Pipework is no earth path: plastic parts break it. Keep any bonding clamp found.".to_owned(),
    ];
    if w.device("X1").is_some() {
        texts.push("Demand: the devices' own figures where stated, else common allowances (boiler 150 W, pump 60 W, valve 6 W, programmer 5 W: common practice).".to_owned());
    }
    texts.extend(w.made_at_works());
    texts.extend(w.notes.iter().cloned());
    page.notes(&caution, &texts, 0.0);
}
