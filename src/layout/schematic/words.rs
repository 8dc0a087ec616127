//! What is written beside a symbol and along a pipe. In: a part, a pipe. Out: short lines: the
//! tag, then the settings that matter there.

use crate::model::{Part, PartIx, Pipe, System};

/// A number without needless decimals.
pub fn plain(v: f64) -> String {
    let text = format!("{v:.2}");
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
    if part.kind.key == "tee" {
        return Vec::new();
    }
    let mut lines = vec![part.tag.clone()];
    let n = |key: &str| part.number(key);
    match part.kind.key.as_str() {
        "temperature and pressure relief valve" => {
            let t = n("temperature").map(|t| format!("{} °C", plain(t)));
            let p = n("setting").map(bar);
            let both: Vec<String> = t.into_iter().chain(p).collect();
            lines.push(both.join(" "));
        }
        "hot-water vessel" | "heating vessel" | "solar vessel" | "accumulator" => {
            lines.extend(n("litres").map(|v| format!("{} l", plain(v))));
            lines.extend(n("charge").map(|v| format!("{} charge", bar(v))));
        }
        "indirect cylinder" | "direct cylinder" | "twin-coil cylinder" => {
            lines.extend(n("litres").map(|v| format!("{} l", plain(v))));
            lines.extend(n("stored").map(|v| format!("{} °C", plain(v))));
            lines.extend(n("coil-kw").map(|v| format!("coil {} kW", plain(v))));
        }
        "system boiler" | "combination boiler" | "heat pump" | "uncontrolled source" => {
            lines.extend(n("kw").map(|v| format!("{} kW", plain(v))));
            if let (Some(f), Some(r)) = (n("flow"), n("return")) {
                lines.push(format!("{}/{} °C", plain(f), plain(r)));
            }
        }
        "radiator circuit" | "underfloor circuits" | "towel rail circuit" => {
            lines.push(named(part));
            lines.extend(n("kw").map(|v| format!("{} kW", plain(v))));
            lines.extend(n("radiators").map(|v| format!("{} radiators", plain(v))));
            lines.extend(n("circuits").map(|v| format!("{} circuits", plain(v))));
        }
        "solar collector" => lines.extend(n("area").map(|v| format!("{} m²", plain(v)))),
        "water main" => {
            lines.extend(n("static").map(|v| format!("{} static", bar(v))));
            if let (Some(d), Some(at)) = (n("dynamic"), n("at")) {
                lines.push(format!("{} at {} l/min", bar(d), plain(at)));
            }
        }
        "pump" => lines.extend(n("head").map(|v| format!("{} m", plain(v)))),
        "buffer" | "volumiser" | "break tank" => {
            lines.extend(n("litres").map(|v| format!("{} l", plain(v))));
        }
        "immersion heater" => lines.extend(n("kw").map(|v| format!("{} kW", plain(v)))),
        _ => {
            let unit = part.kind.attrs.get("setting").map(String::as_str);
            match (n("setting"), unit) {
                (Some(v), Some("bar")) => lines.push(bar(v)),
                (Some(v), Some(unit)) => lines.push(format!("{} {unit}", plain(v))),
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

/// The name the description gave it.
fn named(part: &Part) -> String {
    part.name.clone()
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

/// "22 F": size and service letters.
pub fn of_pipe(pipe: &Pipe) -> String {
    let size = pipe.size.as_ref().map_or("", |s| s.value.as_str());
    format!("{size} {}", pipe.service.letters()).trim().to_owned()
}
