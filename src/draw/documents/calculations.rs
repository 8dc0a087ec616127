//! The calculations sheet: every figure with formula, inputs, source and result, so that a person
//! can follow it by hand. In: the figures. Out: sheets.

use super::words::{listed, plain};
use crate::check::in_the_open;
use crate::draw::frame::{TitleData, capital};
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
        // Figures that agree in all but what they speak of share a row.
        let mut same: Vec<(Vec<String>, Vec<&str>)> = Vec::new();
        for f in sized.figures.iter().filter(of_group) {
            let row = row(f);
            match same.iter_mut().find(|(r, _)| *r == row) {
                Some((_, about)) => about.push(&f.about),
                None => same.push((row, vec![&f.about])),
            }
        }
        let rows: Vec<Vec<String>> = same
            .into_iter()
            .map(|(mut row, mut about)| {
                about.retain(|a| !a.is_empty());
                if !about.is_empty() {
                    row[0] = format!("{}: {}", listed(&about), row[0]);
                }
                row
            })
            .collect();
        let columns = [
            words("What", 38.0),
            words("Working", 58.0),
            words("Result", 48.0),
            words("Source", 28.0),
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
            let (what, how) = (capital(&f.quantity), typeset(&f.formula));
            flow.paragraph(&format!("{what}: {how} ({}).", in_the_open(&f.source)));
        }
    }
    let mut rows: Vec<(Vec<String>, Vec<&str>)> = Vec::new();
    let flows = |id: &str| of_pipes.iter().any(|f| f.about == id);
    for pipe in sized.system.pipes.iter().filter(|p| flows(&p.id)) {
        let figure = |id: &str| of_pipes.iter().find(|f| f.id == id && f.about == pipe.id);
        let value = |id: &str| figure(id).map_or_else(String::new, |f| plain(f.value));
        let size = pipe.size.as_ref().map_or("", |s| s.value.as_str());
        let results = ["pipe.velocity", "pipe.velocity-alone"].into_iter().filter_map(figure);
        let follows: Vec<&str> = results.map(|f| f.result.as_str()).collect();
        let row = vec![
            format!("{} {size}", pipe.service.letters()),
            value("pipe.flow"),
            value("pipe.velocity"),
            value("pipe.gradient"),
            follows.join("; "),
        ];
        match rows.iter_mut().find(|(r, _)| *r == row) {
            Some((_, ids)) => ids.push(&pipe.id),
            None => rows.push((row, vec![&pipe.id])),
        }
    }
    let rows: Vec<Vec<String>> = rows
        .into_iter()
        .map(|(row, ids)| std::iter::once(listed(&ids)).chain(row).collect())
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
        .map(|i| {
            let unit = if i.unit == "elbows" && i.value == 1.0 { "elbow" } else { &i.unit };
            format!("{} = {} {unit}", i.name, followed(i.value)).trim().to_owned()
        })
        .collect();
    let mut working = f.formula.clone();
    if !inputs.is_empty() {
        working = format!("{working}; {}", inputs.join(", "));
    }
    // "1 elbow".
    let unit = match (f.value, f.unit.as_str()) {
        (1.0, "elbows") => "elbow",
        (_, unit) => unit,
    };
    let value = format!("{} {unit}", plain(f.value)).trim().to_owned();
    // The words of a result often say the value themselves.
    let mut result = match f.result.trim() {
        "" => value,
        words if says(words, &value) || says_rounded(words, f.value, &f.unit) => words.to_owned(),
        words if rounded(words, f.value, &f.unit).is_some() => {
            value + rounded(words, f.value, &f.unit).unwrap_or_default()
        }
        words => format!("{value}: {words}"),
    };
    if f.assumed && !result.contains("assumed value") {
        result.push_str(" (rests on an assumed value)");
    }
    vec![f.quantity.clone(), typeset(&working), typeset(&result), typeset(&in_the_open(&f.source))]
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

/// True where the words name the value, as a figure of its own.
fn says(words: &str, value: &str) -> bool {
    let edge = |c: Option<char>| c.is_none_or(|c| !c.is_alphanumeric() && c != '.');
    words.match_indices(value).any(|(at, _)| {
        let next = words[at + value.len()..].chars().next();
        let ends = next.is_none_or(|c| !c.is_alphanumeric());
        edge(words[..at].chars().next_back()) && ends
    })
}

/// True where the words name the value in fewer digits: with its unit, as per cent, or as so much "of"
/// something in that unit.
fn says_rounded(words: &str, value: f64, unit: &str) -> bool {
    let words: Vec<&str> =
        words.split(' ').map(|w| w.trim_end_matches([';', ',', ':', '.'])).collect();
    let is = |number: &str, value: f64| {
        let places = number.split_once('.').map_or(0, |(_, places)| places.len());
        number.starts_with(|c: char| c.is_ascii_digit()) && number == format!("{value:.places$}")
    };
    words.windows(2).enumerate().any(|(i, w)| match w[1] {
        "%" => unit.is_empty() && is(w[0], value * 100.0),
        "of" => !unit.is_empty() && words.get(i + 3) == Some(&unit) && is(w[0], value),
        next => !unit.is_empty() && next == unit && is(w[0], value),
    })
}

/// Where the words begin with the value, only in fewer digits: what follows it.
fn rounded<'a>(words: &'a str, value: f64, unit: &str) -> Option<&'a str> {
    let (number, rest) = words.split_once(' ')?;
    let places = number.split_once('.').map_or(0, |(_, places)| places.len());
    let rest = rest.strip_prefix(unit)?;
    let ends = rest.chars().next().is_none_or(|c| !c.is_alphanumeric());
    (!unit.is_empty() && ends && number == format!("{value:.places$}")).then_some(rest)
}

/// Typed algebra with the signs the typeface has; a Greek letter that it lacks as the word it
/// stands for.
fn typeset(text: &str) -> String {
    let signs = text
        .replace("f/d rho v", "f/d × rho × v")
        .replace("V rho cp", "V × rho × cp")
        .replace("q rho cp", "q × rho × cp")
        .replace("n rho cp", "n × rho × cp")
        .replace("rho cp", "rho × cp")
        .replace("× cp dT", "× cp × dT")
        .replace("rho g h", "rho × g × h")
        .replace("pi d^2", "pi × d^2")
        .replace("pi v", "pi × v")
        .replace("^2", "²")
        .replace("^3", "³")
        .replace("m3/h", "m³/h")
        .replace("/m3", "/m³")
        .replace("m2", "m²")
        .replace(" dT", " ∆T")
        .replace(" x ", " × ");
    let mut said = String::new();
    let mut word = String::new();
    for c in signs.chars().chain([' ']) {
        if c.is_alphanumeric() {
            word.push(c);
            continue;
        }
        said.push_str(match word.as_str() {
            "rho" => "density",
            "nu" => "viscosity",
            "zeta" => "loss factor",
            other => other,
        });
        word.clear();
        said.push(c);
    }
    said.pop();
    said
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_letter_that_the_typeface_lacks_is_a_word() {
        assert_eq!(typeset("q = P/(rho cp dT)"), "q = P/(density × cp × ∆T)");
        assert_eq!(typeset("f/d rho v^2/2, v d/nu"), "f/d × density × v²/2, v d/viscosity");
        assert_eq!(typeset("rhombus"), "rhombus");
    }

    #[test]
    fn a_value_is_said_once() {
        assert!(says("10 elbows left", "10 elbows"));
        assert!(says("0 bar apart", "0 bar"));
        assert!(!says("10 bar apart", "0 bar"));
        assert!(!says("22 mm passes: 3.1 of 9 m", "3.1 m"));
        assert!(says_rounded("index loop by CYL1: 7.8 kPa", 7.79, "kPa"));
        assert!(says_rounded("57.4 %", 0.574, ""));
        assert!(says_rounded("61.2 of 40 l", 61.23, "l"));
        assert!(!says_rounded("12 kW into a coil of 12 kW", 1.0, ""));
        assert!(!says_rounded("17.8 kPa", 7.8, "kPa"));
        assert_eq!(rounded("12 s, within 30 s", 12.1, "s"), Some(", within 30 s"));
        assert_eq!(rounded("90 % of its flow", 90.4, "%"), Some(" of its flow"));
        assert_eq!(rounded("13 s, within 30 s", 12.1, "s"), None);
        assert_eq!(rounded("12 min", 12.1, "m"), None);
    }
}
