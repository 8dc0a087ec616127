//! Figures with units. In: "2.35 m", "7 ft 9", "G1/2", "20 l/min", "1,5 bar". Out: the number in
//! the unit the field wants.

use super::source::is_fraction;

/// Why a text is no figure of the wanted unit.
#[derive(Clone, Debug, PartialEq)]
pub enum Fault {
    /// No figure at all.
    NoNumber,
    /// A unit nobody knows.
    UnknownUnit(String),
    /// A known unit of another quantity.
    WrongQuantity { given: String, is: &'static str },
}

struct UnitRow {
    words: &'static [&'static str],
    quantity: &'static str,
    /// In the quantity's base unit.
    factor: f64,
}

const fn row(words: &'static [&'static str], quantity: &'static str, factor: f64) -> UnitRow {
    UnitRow { words, quantity, factor }
}

/// Every unit that may be written. The first word is the one this program prints. Base units: mm,
/// bar, kW, l, l/min, m2, kg, h. Imperial: inch 25.4 mm, gallon 4.54609 l, of the
/// United States 3.785411784 l (exact by definition);
/// pound-force per square inch 0.0689476 bar, Btu/h 0.293071 W.
const UNITS: &[UnitRow] = &[
    row(&["mm", "millimetre", "millimetres", "mil"], "length", 1.0),
    row(&["cm", "centimetre", "centimetres"], "length", 10.0),
    row(&["m", "metre", "metres", "meter", "meters", "mtr", "mtrs"], "length", 1000.0),
    row(&["in", "inch", "inches", "\"", "″", "”", "''", "ins"], "length", 25.4),
    row(&["ft", "foot", "feet", "'", "′", "’"], "length", 304.8),
    row(&["bar", "bars", "barg"], "pressure", 1.0),
    row(&["mbar"], "pressure", 0.001),
    row(&["kPa"], "pressure", 0.01),
    row(&["MPa"], "pressure", 10.0),
    row(&["Pa"], "pressure", 1e-5),
    row(&["psi"], "pressure", 0.0689476),
    row(&["kW", "kilowatt", "kilowatts"], "power", 1.0),
    row(&["W", "watt", "watts"], "power", 0.001),
    row(&["MW"], "power", 1000.0),
    row(&["Btu/h", "btu", "btus", "btu/hr"], "power", 0.000_293_071),
    row(&["l", "litre", "litres", "liter", "liters", "ltr", "ltrs", "lt"], "volume", 1.0),
    row(&["ml"], "volume", 0.001),
    row(&["m3", "m³"], "volume", 1000.0),
    row(&["gal", "gallon", "gallons", "galls"], "volume", 4.54609),
    row(&["US gal", "US gallon", "US gallons", "usgal"], "volume", 3.785_411_784),
    row(
        &["l/min", "lpm", "litres/min", "litres a minute", "l/m", "ltr/min", "litre/min"],
        "flow",
        1.0,
    ),
    row(&["l/s", "litres/s", "l/sec", "kg/s"], "flow", 60.0),
    row(&["l/h", "l/hr"], "flow", 1.0 / 60.0),
    row(&["m3/h", "m³/h", "m3/hr"], "flow", 1000.0 / 60.0),
    row(&["gpm", "gal/min"], "flow", 4.54609),
    row(&["US gpm", "US gal/min", "usgpm"], "flow", 3.785_411_784),
    row(&["m2", "m²", "sqm", "sq m", "square metres"], "area", 1.0),
    row(&["cm2", "cm²"], "area", 1e-4),
    row(&["ft2", "ft²", "sq ft", "sqft", "square feet"], "area", 0.092_903_04),
    row(&["kg", "kilo", "kilos", "kgs"], "mass", 1.0),
    row(&["g"], "mass", 0.001),
    row(&["t", "tonne", "tonnes"], "mass", 1000.0),
    row(&["lb", "lbs"], "mass", 0.453_592_37),
    row(
        &["°C", "c", "degc", "deg c", "celsius", "℃", "ºc", "degrees c", "degrees", "deg", "degs"],
        "temperature",
        1.0,
    ),
    row(&["°F", "f", "degf", "deg f", "fahrenheit", "℉", "ºf"], "temperature", 1.0),
    row(&["h", "hr", "hrs", "hour", "hours"], "time", 1.0),
    row(&["min", "mins", "minute", "minutes"], "time", 1.0 / 60.0),
    row(&["s", "sec", "secs", "second", "seconds"], "time", 1.0 / 3600.0),
    row(&["A", "amp", "amps"], "current", 1.0),
    row(&["V", "volt", "volts"], "voltage", 1.0),
    row(&["°", "deg", "degree", "º"], "angle", 1.0),
    row(&["ppm", "mg/l"], "hardness", 1.0),
    row(&["°clark", "clark"], "hardness", 14.3),
    row(&["°dh", "dh"], "hardness", 17.8),
    row(&["%", "percent", "per cent"], "share", 1.0),
    row(&["kWh/day", "kwh/24h", "kwh/24 h", "kwh/d"], "loss a day", 1.0),
    row(&["turns", "turn"], "turns", 1.0),
    row(&["m/s"], "velocity", 1.0),
    row(&["Pa/m"], "gradient", 1.0),
];

fn unit_row(word: &str, wanted: &str) -> Option<&'static UnitRow> {
    let word = word.trim().trim_end_matches('.');
    let wanted_row = UNITS.iter().find(|u| u.words[0] == wanted);
    let fits = |u: &&UnitRow, exact: bool| {
        u.words.iter().any(|w| if exact { *w == word } else { w.eq_ignore_ascii_case(word) })
    };
    // `min`, `m`, `c` and `deg` mean what the field is about.
    let same = |u: &&UnitRow| wanted_row.is_some_and(|w| w.quantity == u.quantity);
    UNITS
        .iter()
        .find(|u| fits(u, true) && same(u))
        .or_else(|| UNITS.iter().find(|u| fits(u, false) && same(u)))
        .or_else(|| UNITS.iter().find(|u| fits(u, true)))
        .or_else(|| UNITS.iter().find(|u| fits(u, false)))
}

/// Whether a word is a unit at all.
pub fn is_unit(word: &str) -> bool {
    unit_row(word, "").is_some()
}

/// Whether a figure is in gallons, and nothing says which.
pub fn in_gallons(text: &str) -> bool {
    let unit = text.trim_start_matches(|c: char| c.is_ascii_digit() || " .,".contains(c));
    unit_row(unit, "").is_some_and(|u| matches!(u.words[0], "gal" | "gpm"))
}

/// Reads a figure in the wanted unit; a figure without a unit is in the wanted one already.
pub fn read(text: &str, wanted: &str) -> Result<f64, Fault> {
    if wanted == "1:n" {
        return read_fall(text);
    }
    let text = text.trim();
    let threaded = text.strip_prefix(['G', 'g', 'R', 'r']).map_or(text, str::trim_start);
    let mut rest = if wanted == "in" { threaded } else { text };
    let mut sum: Option<f64> = None;
    let mut last = 0.0;
    while !rest.is_empty() {
        let (mut number, after) = read_number(rest, wanted).ok_or(Fault::NoNumber)?;
        // "1 1/2", "1 ½"
        let mut after = after;
        if let Some((part, beyond)) = fraction_ahead(after) {
            number += part;
            after = beyond;
        }
        let end = after
            .char_indices()
            .find(|(i, c)| *i > 0 && starts_figure(&after[*i..], *c, &after[..*i]))
            .map_or(after.len(), |(i, _)| i);
        let unit = after[..end].trim().trim_matches(',').trim();
        rest = after[end..].trim_start();
        let value = if unit.is_empty() {
            // "7 ft 9": inches follow feet; "2 m 35": centimetres follow metres.
            if sum.is_none() {
                number
            } else if last == 304.8 {
                from_base(number * 25.4, wanted)
            } else if last == 1000.0 && wanted_quantity(wanted) == "length" {
                from_base(number * 10.0, wanted)
            } else {
                return Err(Fault::UnknownUnit(text.to_owned()));
            }
        } else {
            let (value, factor) = convert(number, unit, wanted)?;
            last = factor;
            value
        };
        sum = Some(sum.unwrap_or(0.0) + value);
    }
    sum.ok_or(Fault::NoNumber)
}

/// A figure in a named unit, as an annotation `(in)21` gives it.
pub fn read_in(number: f64, unit: &str, wanted: &str) -> Result<f64, Fault> {
    convert(number, unit, wanted).map(|(v, _)| v)
}

fn wanted_quantity(wanted: &str) -> &'static str {
    UNITS.iter().find(|u| u.words[0] == wanted).map_or("", |u| u.quantity)
}

fn from_base(base: f64, wanted: &str) -> f64 {
    base / UNITS.iter().find(|u| u.words[0] == wanted).map_or(1.0, |u| u.factor)
}

fn convert(number: f64, unit: &str, wanted: &str) -> Result<(f64, f64), Fault> {
    let Some(row) = unit_row(unit, wanted) else {
        return Err(Fault::UnknownUnit(unit.to_owned()));
    };
    let target = UNITS.iter().find(|u| u.words[0] == wanted);
    let quantity = target.map_or("plain number", |t| t.quantity);
    // A head of water, in metres of it: 0.0980665 bar each, by definition.
    if quantity == "pressure" && row.words[0] == "m" {
        return Ok((from_base(number * 0.098_066_5, wanted), row.factor));
    }
    if row.quantity != quantity {
        // Kv is a flow at one bar; its unit is written both ways.
        return Err(Fault::WrongQuantity { given: unit.to_owned(), is: row.quantity });
    }
    if row.words[0] == "°F" {
        return Ok((tidy((number - 32.0) / 1.8), 1.0));
    }
    let target = target.map_or(1.0, |t| t.factor);
    if row.factor == target {
        return Ok((number, row.factor));
    }
    Ok((tidy(number * row.factor / target), row.factor))
}

/// Rounds away the dust of a conversion.
fn tidy(x: f64) -> f64 {
    let scaled = x * 1e6;
    if scaled.abs() < 1e15 { scaled.round() / 1e6 } else { x }
}

fn starts_figure(rest: &str, c: char, before: &str) -> bool {
    let spaced = before.ends_with([' ', '\'', '’', '′']);
    (c.is_ascii_digit() && (spaced || before.ends_with("ft") || before.ends_with("m")))
        && !rest.is_empty()
        // "m2", "m3/h": digits that belong to the unit.
        && !(before.trim() == "m" && !spaced && (c == '2' || c == '3') && rest.len() <= 4
            && !rest[1..].starts_with(|c: char| c.is_ascii_digit()))
}

fn fraction_value(c: char) -> Option<f64> {
    Some(match c {
        '½' => 0.5,
        '¼' => 0.25,
        '¾' => 0.75,
        '⅛' => 0.125,
        '⅜' => 0.375,
        '⅝' => 0.625,
        '⅞' => 0.875,
        '⅓' => 1.0 / 3.0,
        '⅔' => 2.0 / 3.0,
        _ => return None,
    })
}

/// A fraction after a whole number: " 1/2", "½", "-1/2".
fn fraction_ahead(text: &str) -> Option<(f64, &str)> {
    let t = text.trim_start_matches([' ', '-']);
    let c = t.chars().next()?;
    if is_fraction(c) {
        return Some((fraction_value(c)?, &t[c.len_utf8()..]));
    }
    if t.len() == text.len() {
        return None;
    }
    plain_fraction(t)
}

fn plain_fraction(t: &str) -> Option<(f64, &str)> {
    let n = t.find(|c: char| !c.is_ascii_digit())?;
    let below = t[n..].strip_prefix(['/', '⁄'])?;
    let m = below.find(|c: char| !c.is_ascii_digit()).unwrap_or(below.len());
    let (top, bottom): (f64, f64) = (t[..n].parse().ok()?, below[..m].parse().ok()?);
    (bottom > 0.0 && m > 0).then(|| (top / bottom, &below[m..]))
}

/// One figure at the head of a text, and what follows it.
fn read_number<'a>(text: &'a str, wanted: &str) -> Option<(f64, &'a str)> {
    let (sign, t) = match text.chars().next()? {
        '-' | '−' | '–' => (-1.0, &text[text.chars().next()?.len_utf8()..]),
        '+' => (1.0, &text[1..]),
        _ => (1.0, text),
    };
    if let Some(value) = t.chars().next().and_then(fraction_value) {
        let n = t.chars().next().map_or(0, char::len_utf8);
        return Some((sign * value, &t[n..]));
    }
    if let Some((value, rest)) = plain_fraction(t) {
        return Some((sign * value, rest));
    }
    let mut end = 0;
    for (i, c) in t.char_indices() {
        let next_is_digit = t[i + c.len_utf8()..].starts_with(|c: char| c.is_ascii_digit());
        let part = c.is_ascii_digit() || (matches!(c, '.' | ',' | '·') && (next_is_digit || i > 0));
        if !part {
            break;
        }
        end = i + c.len_utf8();
    }
    let figure = t[..end].trim_end_matches(['.', ',']);
    let value = parse_figure(figure, wanted)?;
    let mut rest = &t[end..];
    let mut value = value;
    // 1.5e3
    if let Some(e) = rest.strip_prefix(['e', 'E']) {
        let n = e.find(|c: char| !c.is_ascii_digit() && c != '-' && c != '+').unwrap_or(e.len());
        if let Ok(power) = e[..n].parse::<i32>() {
            value = format!("{value}e{power}").parse().ok()?;
            rest = &e[n..];
        }
    }
    Some((sign * value, rest))
}

/// Digits with a decimal point, a decimal comma or thousands marks.
fn parse_figure(figure: &str, wanted: &str) -> Option<f64> {
    let figure = figure.replace('·', ".");
    if !figure.contains(',') {
        return figure.parse().ok();
    }
    if figure.contains('.') {
        // 1,981.5 or 1.981,5: the later mark is the decimal one.
        return if figure.rfind('.') > figure.rfind(',') {
            figure.replace(',', "").parse().ok()
        } else {
            figure.replace('.', "").replace(',', ".").parse().ok()
        };
    }
    let groups: Vec<&str> = figure.split(',').collect();
    let grouped = groups[1..].iter().all(|g| g.len() == 3)
        && !groups[0].is_empty()
        && groups[0].len() <= 3
        && !groups[0].starts_with('0');
    // Nobody gives thousandths of a millimetre, a litre or a watt.
    if grouped && (groups.len() > 2 || matches!(wanted, "mm" | "l" | "W" | "kPa" | "ppm" | "")) {
        return figure.replace(',', "").parse().ok();
    }
    if groups.len() == 2 { figure.replace(',', ".").parse().ok() } else { None }
}

/// A fall as the n of 1 in n: "1:200", "1 in 200", "5 mm/m".
fn read_fall(text: &str) -> Result<f64, Fault> {
    let t = text.trim().to_lowercase();
    let number = |s: &str| s.trim().parse::<f64>().ok().filter(|n| *n > 0.0);
    let ratio = t.strip_prefix('1').map(str::trim_start).and_then(|r| {
        r.strip_prefix(':').or_else(|| r.strip_prefix("in ")).or_else(|| r.strip_prefix('/'))
    });
    if let Some(n) = ratio.and_then(number) {
        return Ok(n);
    }
    if let Some(n) = t.strip_suffix("mm/m").and_then(number) {
        return Ok(1000.0 / n);
    }
    if let Some(n) = t.strip_suffix('%').and_then(number) {
        return Ok(100.0 / n);
    }
    number(&t).ok_or(Fault::NoNumber)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_people_write_become_the_fields_own() {
        for (text, wanted, expected) in [
            ("2.35 m", "mm", 2350.0),
            ("2,35m", "mm", 2350.0),
            ("1,981 mm", "mm", 1981.0),
            ("1,981", "mm", 1981.0),
            ("7 ft 9", "mm", 2362.2),
            ("7ft9in", "mm", 2362.2),
            ("7' 9\"", "mm", 2362.2),
            ("7’9 in", "mm", 2362.2),
            ("21 in", "mm", 533.4),
            ("21\"", "mm", 533.4),
            ("6 ft 9 1/2 in", "mm", 2070.1),
            ("2 m 35", "mm", 2350.0),
            ("1/2 in", "in", 0.5),
            ("G1/2", "in", 0.5),
            ("G¾", "in", 0.75),
            ("1 1/4", "in", 1.25),
            ("1¼", "in", 1.25),
            ("15 mm", "in", 0.590_551),
            ("½", "in", 0.5),
            ("20 l/min", "l/min", 20.0),
            ("0.4 l/s", "l/min", 24.0),
            ("1.2 m3/h", "l/min", 20.0),
            ("3 bar", "bar", 3.0),
            ("3,5 bar", "bar", 3.5),
            ("300 kPa", "bar", 3.0),
            ("10 m", "bar", 0.980_665),
            ("60 °C", "°C", 60.0),
            ("60C", "°C", 60.0),
            ("140 F", "°C", 60.0),
            ("3000 W", "kW", 3.0),
            ("3kW", "kW", 3.0),
            ("46 gallons", "l", 209.12014),
            ("90 deg", "°", 90.0),
            ("4.6", "m", 4.6),
            ("4600 mm", "m", 4.6),
            (".5", "m", 0.5),
            ("22.", "mm", 22.0),
            ("-40 mm", "mm", -40.0),
            ("−40", "mm", -40.0),
            ("1.5e3", "mm", 1500.0),
            ("5 sq m", "m2", 5.0),
            ("1:200", "1:n", 200.0),
            ("1 in 100", "1:n", 100.0),
            ("5 mm/m", "1:n", 200.0),
            ("30 min", "h", 0.5),
            ("15 l/m", "l/min", 15.0),
        ] {
            let got = read(text, wanted).unwrap_or_else(|e| panic!("{text} as {wanted}: {e:?}"));
            assert!((got - expected).abs() < 1e-6, "{text} as {wanted}: {got}");
        }
    }

    #[test]
    fn what_is_no_figure_of_that_unit_says_why() {
        assert_eq!(read("tall", "mm"), Err(Fault::NoNumber));
        assert_eq!(read("", "mm"), Err(Fault::NoNumber));
        assert_eq!(read("3 furlongs", "mm"), Err(Fault::UnknownUnit("furlongs".into())));
        assert_eq!(
            read("3 bar", "mm"),
            Err(Fault::WrongQuantity { given: "bar".into(), is: "pressure" })
        );
        assert!(read("1/0", "mm").is_err());
        assert!(read("1 2 3", "mm").is_err());
    }
}
