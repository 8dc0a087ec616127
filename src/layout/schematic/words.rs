//! What is written beside a symbol and along a pipe. In: a part, a pipe. Out: short lines: the
//! tag, then the settings that matter there.

use super::label::HEIGHT;
use crate::lettering::{Weight, width};
use crate::model::{Origin, Part, PartIx, Pipe, System};

/// A number as a drawing says it: three digits that count, no needless ones. What was given in
/// gallons or pounds is not made more exact by its conversion.
pub fn plain(v: f64) -> String {
    let places = match v.abs() {
        size if size >= 100.0 => 0,
        size if size >= 10.0 => 1,
        _ => 2,
    };
    let text = format!("{v:.places$}");
    if !text.contains('.') {
        return text;
    }
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

fn bar(v: f64) -> String {
    if (v * 10.0).fract().abs() < 1e-9 {
        format!("{v:.1} bar")
    } else {
        format!("{} bar", plain(v))
    }
}

/// Lines beside a part; the first is its tag. Joints carry none.
pub fn of_part(system: &System, ix: PartIx) -> Vec<String> {
    let part = system.part(ix);
    match part.kind.key.as_str() {
        "tee" => return Vec::new(),
        "match mark" => return vec![part.tag.clone(), part.name.clone()],
        "flat" => return vec![part.tag.clone()],
        _ => {}
    }
    let mut lines = vec![part.tag.clone()];
    let n = |key: &str| part.number(key);
    let star = |keys: &[&str]| {
        if keys.iter().any(|k| part.attrs.is_assumed(k)) { "*" } else { "" }
    };
    match part.kind.key.as_str() {
        "temperature and pressure relief valve" => {
            let t = n("temperature").map(|t| format!("{} °C", plain(t)));
            let p = n("setting").map(bar);
            let both: Vec<String> = t.into_iter().chain(p).collect();
            lines.push(both.join(" ") + star(&["temperature", "setting"]));
        }
        "hot-water vessel" | "heating vessel" | "solar vessel" | "accumulator" => {
            lines.extend(n("litres").map(|v| format!("{} l{}", plain(v), star(&["litres"]))));
            lines.extend(n("charge").map(|v| format!("{} charge{}", bar(v), star(&["charge"]))));
        }
        "indirect cylinder" | "direct cylinder" | "twin-coil cylinder" => {
            lines.extend(n("litres").map(|v| format!("{} l{}", plain(v), star(&["litres"]))));
            lines.extend(n("stored").map(|v| format!("{} °C{}", plain(v), star(&["stored"]))));
            lines.extend(
                n("coil-kw").map(|v| format!("coil {} kW{}", plain(v), star(&["coil-kw"]))),
            );
            // Where no vessel stands beside it, the reader looks for what takes the expansion.
            if part.declared.contains("air gap inside") {
                lines.push("air gap inside".to_owned());
            }
        }
        "system boiler" | "combination boiler" | "heat pump" | "uncontrolled source" => {
            lines.extend(n("kw").map(|v| format!("{} kW{}", plain(v), star(&["kw"]))));
            if let (Some(f), Some(r)) = (n("flow"), n("return")) {
                let star = star(&["flow", "return"]);
                lines.push(format!("{}/{} °C{star}", plain(f), plain(r)));
            }
            let rises = n("hot-water-flow");
            lines.extend(rises.map(|t| format!("HW {} °C{}", plain(t), star(&["hot-water-flow"]))));
        }
        "radiator circuit" | "underfloor circuits" | "towel rail circuit" => {
            lines.push(named(part));
            lines.extend(n("kw").map(|v| format!("{} kW{}", plain(v), star(&["kw"]))));
            let number = |key: &str| Some(format!("{} {key}{}", plain(n(key)?), star(&[key])));
            lines.extend(number("radiators"));
            lines.extend(number("circuits"));
        }
        "solar collector" => {
            lines.extend(n("area").map(|v| format!("{} m²{}", plain(v), star(&["area"]))));
        }
        "water main" => {
            lines.extend(n("static").map(|v| format!("{} static{}", bar(v), star(&["static"]))));
            if let (Some(d), Some(at)) = (n("dynamic"), n("at")) {
                let star = star(&["dynamic", "at"]);
                lines.push(format!("{} at {} l/min{star}", bar(d), plain(at)));
            }
        }
        "pump" => {
            lines.extend(n("head").map(|v| format!("{} m{}", plain(v), star(&["head"]))));
        }
        "booster pump" => {
            lines.extend(n("head").map(|v| format!("{} m{}", plain(v), star(&["head"]))));
            let flow = n("litres-a-minute");
            lines.extend(flow.map(|v| format!("{} l/min{}", plain(v), star(&["litres-a-minute"]))));
        }
        "buffer" | "volumiser" => {
            lines.extend(n("litres").map(|v| format!("{} l{}", plain(v), star(&["litres"]))));
        }
        "break tank" => {
            lines.extend(n("litres").map(|v| format!("{} l{}", plain(v), star(&["litres"]))));
            let words = |key: &str| Some(format!("{}{}", part.text(key)?, star(&[key])));
            lines.extend(words("overflow"));
            lines.extend(words("warning-pipe"));
        }
        "immersion heater" => {
            lines.extend(n("kw").map(|v| format!("{} kW{}", plain(v), star(&["kw"]))));
        }
        _ => {
            let unit = part.kind.attrs.get("setting").map(String::as_str);
            match (n("setting"), unit) {
                (Some(v), Some("bar")) => lines.push(bar(v) + star(&["setting"])),
                (Some(v), Some(unit)) => {
                    lines.push(format!("{} {unit}{}", plain(v), star(&["setting"])));
                }
                _ => {}
            }
            if part.kind.symbol.name == "outlet" {
                let count = n("count").filter(|c| *c > 1.0);
                let name = named(part);
                lines.push(match count {
                    Some(c) => format!("{name} × {}", plain(c)),
                    None => name,
                });
            }
        }
    }
    lines.retain(|l| !l.is_empty());
    lines.into_iter().map(short).collect()
}

/// The same words in shorter lines, where one is long and has a place to break it.
pub fn folded(lines: &[String]) -> Option<Vec<String>> {
    const LONG: usize = 12;
    let mut out: Vec<String> = Vec::new();
    for (i, line) in lines.iter().enumerate() {
        let is_long = line.chars().count() >= LONG;
        match break_of(line).filter(|_| is_long && i > 0) {
            Some(at) => out.extend([line[..at].to_owned(), line[at + 1..].to_owned()]),
            None => out.push(line.clone()),
        }
    }
    (out.len() > lines.len()).then_some(out)
}

/// The space at which a line is best broken: between two values, or in the middle of a name. A
/// number keeps its unit.
fn break_of(line: &str) -> Option<usize> {
    let degrees = || line.find("°C ").map(|i| i + "°C".len());
    if let Some(at) = line.find(" at ").or_else(degrees).or_else(|| line.find(" charge")) {
        return Some(at);
    }
    if line.starts_with(|c: char| c.is_ascii_digit()) {
        return None;
    }
    let middle = line.len() / 2;
    line.match_indices(' ')
        .map(|(i, _)| i)
        .filter(|i| !line[i + 1..].starts_with('×'))
        .min_by_key(|i| i.abs_diff(middle))
}

/// The name the description gave it, without the flat it stands in.
fn named(part: &Part) -> String {
    let name = part.name.as_str();
    let Some(start) = name.find("flat ") else { return name.to_owned() };
    let rest = &name[start + 5..];
    match rest.split_once(' ') {
        Some((number, own)) if number.contains('.') => own.to_owned(),
        _ => name.to_owned(),
    }
}

/// The system with a usual name for every part whose label prints its name.
pub fn with_usual_names(system: &System) -> System {
    const USUAL: &str = "first floor, north";
    let mut system = system.clone();
    for part in &mut system.parts {
        let emitter = part.kind.key.ends_with("circuit") || part.kind.key.ends_with("circuits");
        if emitter || part.kind.symbol.name == "outlet" {
            USUAL.clone_into(&mut part.name);
        }
    }
    system
}

/// Width to keep free for the words of a part, mm. Names count with a usual length, whatever they
/// are, so that a part renamed moves nothing.
pub fn room(system: &System, ix: PartIx) -> f64 {
    const OUTLET: f64 = 16.0;
    const EMITTER: f64 = 23.0;
    let part = system.part(ix);
    match part.kind.key.as_str() {
        "radiator circuit" | "underfloor circuits" | "towel rail circuit" => EMITTER,
        _ if part.kind.symbol.name == "outlet" => OUTLET,
        _ => of_part(system, ix).iter().map(|l| width(l, HEIGHT, Weight::Bold)).fold(0.0, f64::max),
    }
}

/// Long names end in an ellipsis: a label is no place for a story.
fn short(line: String) -> String {
    const MOST: usize = 26;
    if line.chars().count() <= MOST {
        return line;
    }
    let mut cut: String = line.chars().take(MOST - 1).collect();
    cut.push('…');
    cut
}

/// The attributes that a label may print.
const PRINTED: [&str; 19] = [
    "setting",
    "temperature",
    "litres",
    "charge",
    "stored",
    "coil-kw",
    "kw",
    "flow",
    "return",
    "static",
    "dynamic",
    "at",
    "head",
    "litres-a-minute",
    "area",
    "radiators",
    "circuits",
    "overflow",
    "warning-pipe",
];

/// The assumptions behind what the labels print, by id.
pub fn assumed(system: &System) -> std::collections::BTreeSet<String> {
    let mut ids = std::collections::BTreeSet::new();
    for part in &system.parts {
        for key in PRINTED {
            if let Some(Origin::Assumed(id)) = part.attrs.get(key).map(|v| &v.origin) {
                ids.insert(id.clone());
            }
        }
    }
    ids
}

/// "22 F": size and service letters.
pub fn of_pipe(pipe: &Pipe) -> String {
    let size = pipe.size.as_ref().map_or("", |s| s.value.as_str());
    format!("{size} {}", pipe.service.letters()).trim().to_owned()
}
