//! The calculations sheet: every figure with formula, inputs, source and result, so that a person
//! can follow it by hand. In: the figures. Out: sheets.

use super::words::plain;
use crate::draw::frame::TitleData;
use crate::draw::scene::{Paper, Sheet};
use crate::draw::tables::{Flow, figures, words};
use crate::size::{Figure, Sized};

/// The calculations, A4, as many sheets as they take.
pub fn calculations(sized: &Sized, data: &TitleData) -> Vec<Sheet> {
    let mut flow = Flow::new("calculations", "Calculations", Paper::A4_PORTRAIT, data);
    let mut groups: Vec<&str> = Vec::new();
    for figure in sized.figures.iter().filter(|f| !has_table(f)) {
        let group = group_of(figure);
        if !groups.contains(&group) {
            groups.push(group);
        }
    }
    for group in groups {
        flow.heading(&capital(&group.replace('-', " ")));
        let of_group = |f: &&Figure| group_of(f) == group && !has_table(f);
        let rows: Vec<Vec<String>> = sized.figures.iter().filter(of_group).map(row).collect();
        let columns = [
            words("What", 40.0),
            words("Working", 62.0),
            words("Result", 34.0),
            words("Source", 36.0),
        ];
        flow.table(&columns, &rows);
    }
    states(&mut flow, sized);
    pipes(&mut flow, sized);
    flow.finish()
}

/// Told in a table of its own, where each formula is said once.
fn has_table(figure: &Figure) -> bool {
    is_of_a_pipe(figure) || figure.id == STATE
}

const STATE: &str = "operating.point";

/// Where each pump runs in every state of the zone valves, a table a pump.
fn states(flow: &mut Flow, sized: &Sized) {
    let mut pumps: Vec<(&str, Vec<(&str, &Figure)>)> = Vec::new();
    for f in sized.figures.iter().filter(|f| f.id == STATE) {
        let (pump, state) = f.about.split_once(": ").unwrap_or((&f.about, ""));
        match pumps.last_mut() {
            Some((last, rows)) if *last == pump => rows.push((state, f)),
            _ => pumps.push((pump, vec![(state, f)])),
        }
    }
    for (pump, rows) in pumps {
        let first = rows[0].1;
        let input = |f: &Figure, name: &str| {
            f.inputs.iter().find(|i| i.name == name).map_or_else(String::new, |i| plain(i.value))
        };
        // What is the same in every state.
        let fixed: Vec<String> = first
            .inputs
            .iter()
            .filter(|i| rows.iter().all(|(_, f)| f.inputs.contains(i)))
            .map(|i| format!("{} = {} {}", i.name, plain(i.value), i.unit))
            .collect();
        let assumed =
            if rows.iter().any(|(_, f)| f.assumed) { " Rests on assumed values." } else { "" };
        flow.heading(&format!("Where {pump} runs"));
        flow.paragraph(&format!(
            "{}; {} ({}).{assumed}",
            capital(&first.formula),
            fixed.join(", "),
            first.source
        ));
        let rows: Vec<Vec<String>> = rows
            .iter()
            .map(|(state, f)| {
                let gets = f.result.split_once("; ").map_or("", |(_, rest)| rest);
                vec![
                    (*state).to_owned(),
                    plain(f.value),
                    input(f, "head at q"),
                    input(f, "asked"),
                    gets.to_owned(),
                ]
            })
            .collect();
        let columns = [
            words("Open", 42.0),
            figures("l/min", 16.0),
            figures("kPa", 16.0),
            figures("asked", 16.0),
            words("Each gets, of what it asks, l/min", 82.0),
        ];
        flow.table(&columns, &rows);
    }
}

fn is_of_a_pipe(figure: &Figure) -> bool {
    group_of(figure) == "pipe"
}

/// Every pipe's flow, velocity and loss a metre: pipes that agree in all share a row, and each
/// formula is said once.
fn pipes(flow: &mut Flow, sized: &Sized) {
    let of_pipes: Vec<&Figure> = sized.figures.iter().filter(|f| is_of_a_pipe(f)).collect();
    if of_pipes.is_empty() {
        return;
    }
    flow.heading("Pipes");
    let mut said: Vec<(&str, &str)> = Vec::new();
    for f in &of_pipes {
        let way = (f.formula.as_str(), f.source.as_str());
        if !said.contains(&way) {
            said.push(way);
            flow.paragraph(&format!("{}: {} ({}).", capital(&f.quantity), f.formula, f.source));
        }
    }
    let mut rows: Vec<(Vec<String>, Vec<&str>)> = Vec::new();
    for pipe in &sized.system.pipes {
        let figure = |id: &str| of_pipes.iter().find(|f| f.id == id && f.about == pipe.id);
        let value = |id: &str| figure(id).map_or_else(String::new, |f| plain(f.value));
        let size = pipe.size.as_ref().map_or("", |s| s.value.as_str());
        let row = vec![
            format!("{} {size}", pipe.service.letters()),
            value("pipe.flow"),
            value("pipe.velocity"),
            value("pipe.gradient"),
            figure("pipe.velocity").map_or_else(String::new, |f| f.result.clone()),
        ];
        match rows.iter_mut().find(|(r, _)| *r == row) {
            Some((_, ids)) => ids.push(&pipe.id),
            None => rows.push((row, vec![&pipe.id])),
        }
    }
    let rows: Vec<Vec<String>> = rows
        .into_iter()
        .map(|(row, ids)| std::iter::once(ids.join(", ")).chain(row).collect())
        .collect();
    let columns = [
        words("Pipes", 40.0),
        words("Service, size", 24.0),
        figures("l/s", 16.0),
        figures("m/s", 16.0),
        figures("Pa/m", 16.0),
        words("What follows", 60.0),
    ];
    flow.table(&columns, &rows);
}

/// `discharge` of `discharge.equivalent-length`.
fn group_of(figure: &Figure) -> &str {
    figure.id.split('.').next().unwrap_or(&figure.id)
}

fn row(f: &Figure) -> Vec<String> {
    let inputs: Vec<String> = f
        .inputs
        .iter()
        .map(|i| format!("{} = {} {}", i.name, followed(i.value), i.unit).trim().to_owned())
        .collect();
    let about = if f.about.is_empty() { String::new() } else { format!("{}: ", f.about) };
    let mut working = f.formula.clone();
    if !inputs.is_empty() {
        working = format!("{working}; {}", inputs.join(", "));
    }
    let value = format!("{} {}", plain(f.value), f.unit);
    let mut result = value.trim().to_owned();
    if !f.result.is_empty() && f.result != result.trim() {
        result = format!("{result}. {}", f.result);
    }
    if f.assumed {
        result.push_str(" (rests on an assumed value)");
    }
    vec![format!("{about}{}", f.quantity), working, result, f.source.clone()]
}

/// An input: of what is less than 0.1 three digits that count, so that the sum can be followed.
fn followed(value: f64) -> String {
    let mut places = 3;
    let mut size = value.abs();
    while size > 1e-9 && size < 0.1 {
        size *= 10.0;
        places += 1;
    }
    if places == 3 { plain(value) } else { super::words::figure(value, places) }
}

pub fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |c| c.to_uppercase().collect::<String>() + chars.as_str())
}
