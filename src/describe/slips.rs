//! Likely slips of the pen. In: a figure and what it is for. Out: nothing, a question with the
//! likely meaning, or "impossible". The ranges are common practice, no source: wide enough that
//! no sound job meets them.

use crate::diagnostic::Diagnostic;
use crate::model::Span;

/// `about` is the node's word, or `*`; bounds in the field's own unit.
struct Range {
    about: &'static str,
    key: &'static str,
    /// Outside these: impossible.
    possible: (f64, f64),
    /// Outside these: asked about.
    usual: (f64, f64),
}

const fn range(
    about: &'static str,
    key: &'static str,
    possible: (f64, f64),
    usual: (f64, f64),
) -> Range {
    Range { about, key, possible, usual }
}

/// First match counts.
const RANGES: &[Range] = &[
    range("cupboard", "width", (200.0, 50_000.0), (400.0, 10_000.0)),
    range("cupboard", "depth", (200.0, 50_000.0), (350.0, 10_000.0)),
    range("cupboard", "height", (300.0, 20_000.0), (800.0, 6000.0)),
    range("door", "clear-width", (150.0, 6000.0), (350.0, 3000.0)),
    range("door", "clear-height", (300.0, 8000.0), (700.0, 4000.0)),
    range("door", "from-left", (0.0, 50_000.0), (0.0, 10_000.0)),
    range("floor", "build-up", (0.0, 500.0), (0.0, 300.0)),
    range("floor", "centres", (100.0, 2000.0), (250.0, 800.0)),
    range("wall", "thickness", (5.0, 2000.0), (10.0, 1000.0)),
    range("cylinder", "litres", (5.0, 20_000.0), (30.0, 3000.0)),
    range("cylinder", "diameter", (150.0, 4000.0), (300.0, 1500.0)),
    range("cylinder", "height", (200.0, 6000.0), (500.0, 2600.0)),
    range("cylinder", "working-pressure", (0.3, 20.0), (1.5, 10.0)),
    range("cylinder", "stored", (20.0, 99.0), (40.0, 90.0)),
    range("cylinder", "relief-pressure", (0.5, 25.0), (3.0, 12.0)),
    range("cylinder", "relief-temperature", (30.0, 110.0), (80.0, 100.0)),
    range("cylinder", "coil-kw", (0.1, 1000.0), (2.0, 300.0)),
    range("coil", "kw", (0.1, 1000.0), (2.0, 300.0)),
    range("boiler", "kw", (0.1, 3000.0), (4.0, 600.0)),
    range("heat-pump", "kw", (0.1, 1000.0), (2.0, 200.0)),
    range("uncontrolled", "kw", (0.1, 500.0), (1.0, 60.0)),
    range("immersion", "kw", (0.1, 60.0), (0.5, 12.0)),
    range("zone", "radiators", (0.0, 1000.0), (0.0, 40.0)),
    range("zone", "kw", (0.01, 2000.0), (0.1, 300.0)),
    range("zone", "flow", (15.0, 110.0), (25.0, 85.0)),
    range("zone", "return", (10.0, 110.0), (20.0, 80.0)),
    range("*", "flow-temperature", (15.0, 110.0), (25.0, 90.0)),
    range("main", "static", (0.05, 25.0), (0.5, 10.0)),
    range("main", "dynamic", (0.05, 25.0), (0.3, 10.0)),
    range("main", "at", (0.5, 1000.0), (2.0, 300.0)),
    range("main", "hardness", (0.0, 2000.0), (0.0, 700.0)),
    range("discharge", "length", (0.0, 200.0), (0.0, 60.0)),
    range("discharge", "elbows", (0.0, 200.0), (0.0, 40.0)),
    range("discharge", "fall", (1.0, 5000.0), (1.0, 1000.0)),
    range("reducing-valve", "setting", (0.3, 16.0), (1.0, 6.0)),
    range("expansion-relief", "setting", (0.5, 25.0), (3.0, 12.0)),
    range("temperature-relief", "setting", (0.5, 25.0), (3.0, 12.0)),
    range("temperature-relief", "temperature", (30.0, 110.0), (80.0, 100.0)),
    range("blending-valve", "setting", (20.0, 90.0), (30.0, 60.0)),
    range("vessel", "litres", (0.1, 10_000.0), (1.0, 1000.0)),
    range("vessel", "charge", (0.0, 16.0), (0.3, 8.0)),
    range("solar", "area", (0.2, 2000.0), (1.0, 200.0)),
    range("dwelling", "floor-area", (5.0, 100_000.0), (15.0, 5000.0)),
    range("dwelling", "bedrooms", (0.0, 500.0), (0.0, 30.0)),
    range("dwelling", "occupants", (0.0, 5000.0), (0.0, 60.0)),
    range("run", "length", (0.0, 2000.0), (0.0, 300.0)),
    range("*", "lagging", (0.0, 500.0), (0.0, 150.0)),
    range("*", "litres", (0.01, 100_000.0), (0.0, 20_000.0)),
    range("*", "kw", (0.001, 10_000.0), (0.0, 5000.0)),
    range("*", "diameter", (10.0, 6000.0), (0.0, 6000.0)),
    range("*", "radiators", (0.0, 1000.0), (0.0, 100.0)),
    range("*", "circuits", (0.0, 1000.0), (0.0, 60.0)),
    range("*", "angle", (-360.0, 360.0), (-360.0, 360.0)),
    range("*", "turn", (-360.0, 360.0), (-360.0, 360.0)),
    range("*", "x", (-20_000.0, 100_000.0), (-20_000.0, 100_000.0)),
    range("*", "y", (-20_000.0, 100_000.0), (-20_000.0, 100_000.0)),
    range("*", "z", (-20_000.0, 100_000.0), (-20_000.0, 100_000.0)),
];

/// Below zero makes sense for these alone.
fn may_be_negative(key: &str, unit: &str) -> bool {
    matches!(key, "floor" | "height-above" | "storey" | "height-above-ground") || unit == "°C"
}

/// What is to be said of a figure.
pub enum Verdict {
    Fine,
    /// Kept, and asked about.
    Asked(Diagnostic),
    /// Thrown away.
    Impossible(Diagnostic),
}

/// Looks at one figure. `unit` may be empty.
pub fn look(about: &str, key: &str, unit: &str, value: f64, span: &Span, typed: &str) -> Verdict {
    let shown = |v: f64| {
        let n = number(v);
        if unit.is_empty() || unit == "1:n" { n } else { format!("{n} {unit}") }
    };
    let what = format!("`{key}` of this {}", about.replace('-', " "));
    let impossible = |why: String| Diagnostic::error("impossible-number", span.clone(), why);
    if !value.is_finite() {
        return Verdict::Impossible(
            impossible(format!("`{typed}` is no number that can be measured"))
                .label(format!("expected: {what}")),
        );
    }
    let row = RANGES.iter().find(|r| (r.about == about || r.about == "*") && r.key == key);
    let (possible, usual) = match row {
        Some(r) => (r.possible, r.usual),
        None if may_be_negative(key, unit) => ((-1000.0, 1e6), (-1000.0, 1e6)),
        None => ((0.0, 1e6), (0.0, 1e6)),
    };
    let fits = |v: f64, (low, high): (f64, f64)| v >= low && v <= high;
    if fits(value, possible) && fits(value, usual) {
        return Verdict::Fine;
    }
    let meant = likely(unit, value).into_iter().find(|(v, _)| row.is_some() && fits(*v, usual));
    let bounds = match row {
        Some(r) => format!("usual: {} to {}", shown(r.usual.0), shown(r.usual.1)),
        None if value < 0.0 => "it can't be less than nothing".to_owned(),
        None => "that is more than anything in a building".to_owned(),
    };
    let question = meant.as_ref().map(|(v, how)| format!("was {how} meant ({})?", shown(*v)));
    let fault = |d: Diagnostic| {
        let d = d.label(question.clone().unwrap_or_else(|| bounds.clone()));
        match &meant {
            Some((v, _)) => d.help(bounds.clone()).edit(span.clone(), number(*v)),
            None => d,
        }
    };
    if fits(value, possible) {
        let said = format!("{what} is unusual: {}", shown(value));
        return Verdict::Asked(fault(Diagnostic::warning("likely-slip", span.clone(), said)));
    }
    let said = format!("{what} can't be {}", shown(value));
    Verdict::Impossible(fault(impossible(said)))
}

/// Other figures that the hand may have meant, the likeliest first.
fn likely(unit: &str, value: f64) -> Vec<(f64, String)> {
    let n = number(value);
    let mut all = Vec::new();
    match unit {
        "mm" => {
            // Nobody cuts to a tenth of a millimetre.
            all.push(((value * 1000.0).round(), format!("{n} m")));
            all.push(((value * 25.4).round(), format!("{n} in")));
            all.push(((value * 10.0).round(), format!("{n} cm")));
        }
        "m" => all.push((value / 1000.0, format!("{n} mm"))),
        "kW" => all.push((value / 1000.0, format!("{n} W"))),
        "bar" => {
            all.push((value / 100.0, format!("{n} kPa")));
            all.push((tidy(value * 0.0689476), format!("{n} psi")));
        }
        "°C" => all.push((tidy((value - 32.0) / 1.8), format!("{n} °F"))),
        "l/min" => all.push((value * 60.0, format!("{n} l/s"))),
        _ => {}
    }
    for factor in [10.0, 0.1, 100.0, 0.01] {
        let v = tidy(value * factor);
        all.push((v, number(v)));
    }
    all.push((-value, number(-value)));
    all
}

fn tidy(v: f64) -> f64 {
    (v * 1000.0).round() / 1000.0
}

/// A figure without needless digits.
pub fn number(v: f64) -> String {
    let v = if v.abs() < 1e12 { tidy(v) } else { v };
    match v.abs() {
        0.0 => "0".to_owned(),
        // Nobody counts noughts.
        size if size >= 1e12 => format!("{v:e}"),
        _ => format!("{v}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(about: &str, key: &str, unit: &str, value: f64) -> Option<Diagnostic> {
        match look(about, key, unit, value, &(0..1), "") {
            Verdict::Fine => None,
            Verdict::Asked(d) | Verdict::Impossible(d) => Some(d),
        }
    }

    #[test]
    fn the_slips_of_the_trade_are_asked_about() {
        let d = said("boiler", "kw", "kW", 1.5).unwrap();
        assert_eq!(d.code, "likely-slip");
        assert_eq!(d.label, "was 15 meant (15 kW)?");
        let d = said("cylinder", "height", "mm", 3500.0).unwrap();
        assert_eq!(d.code, "likely-slip");
        let d = said("door", "clear-width", "mm", 21.0).unwrap();
        assert_eq!(d.code, "impossible-number");
        assert_eq!(d.label, "was 21 in meant (533 mm)?");
        let d = said("cupboard", "height", "mm", 2.35).unwrap();
        assert_eq!(d.label, "was 2.35 m meant (2350 mm)?");
        for bad in [f64::NAN, f64::INFINITY, -210.0, 0.0, 1e30] {
            assert_eq!(said("cylinder", "litres", "l", bad).unwrap().code, "impossible-number");
        }
    }

    #[test]
    fn sound_figures_pass() {
        for (about, key, unit, value) in [
            ("boiler", "kw", "kW", 24.0),
            ("cylinder", "litres", "l", 210.0),
            ("cylinder", "height", "mm", 1530.0),
            ("door", "clear-width", "mm", 762.0),
            ("tail", "x", "mm", -40.0),
            ("immersion", "kw", "kW", 3.0),
            ("shower", "floor", "", -1.0),
        ] {
            assert!(said(about, key, unit, value).is_none(), "{about} {key}");
        }
    }
}
