//! System → text. In: a completed system. Out: the same system as a description that lists
//! everything: parts, units, runs stretch by stretch, site, job, rules, assumptions. Read again,
//! it gives the same system, each value with the same origin.

use std::fmt::Write;

use crate::catalogue::Flow;
use crate::model::{
    Attrs, Cupboard, Datum, Job, Origin, Part, Pipe, Place, PortRef, Ruleset, System, Tail, Unit,
    Value,
};

/// A line grows no longer than this before its values go on lines of their own.
const WIDTH: usize = 100;

/// The whole system, written out.
pub fn print(system: &System) -> String {
    let mut out = String::from(
        "// Everything is listed here; nothing will be added when this file is read.\n\
         // A mark before a value says where it came from: (A1) assumed, (measured), (\"derived: …\").\n\
         complete #false\n",
    );
    job(&mut out, &system.job);
    rules(&mut out, &system.rules);
    if let Some(c) = &system.site.cupboard {
        cupboard(&mut out, c);
    }
    if !system.site.dwelling.0.is_empty() {
        out.push('\n');
        node(&mut out, 0, "dwelling".to_owned(), &attrs(&system.site.dwelling), &[]);
    }
    section(&mut out, "Units", system.units.len());
    for u in &system.units {
        unit(&mut out, u);
    }
    section(&mut out, "Parts", system.parts.len());
    for p in &system.parts {
        part(&mut out, system, p);
    }
    section(&mut out, "Pipes", system.pipes.len());
    let mut rest = system.pipes.as_slice();
    while !rest.is_empty() {
        let n = chain(rest);
        run(&mut out, system, &rest[..n]);
        rest = &rest[n..];
    }
    section(&mut out, "Assumptions", system.assumptions.len());
    for a in &system.assumptions {
        let head = format!("assumption {}", quoted(&a.id));
        let values = [("what", &a.what), ("value", &a.value), ("unit", &a.unit), ("why", &a.why)];
        let values: Vec<_> = values
            .iter()
            .filter(|(_, v)| !v.is_empty())
            .map(|(k, v)| ((*k).to_owned(), quoted(v)))
            .collect();
        // One line each, however long: they read as a list.
        out.push_str(&line(&head, &values));
        out.push('\n');
    }
    out
}

fn section(out: &mut String, title: &str, items: usize) {
    if items > 0 {
        let _ = write!(out, "\n// {title}\n");
    }
}

/// A key and its value as written.
type Written = (String, String);

/// One node: on a line where it fits, else with its values beneath it. `inner` are finished
/// child lines.
fn node(out: &mut String, depth: usize, head: String, values: &[Written], inner: &[String]) {
    let indent = "    ".repeat(depth);
    let whole = line(&head, values);
    let fits = indent.len() + whole.chars().count() <= WIDTH;
    let (first, beneath): (String, &[Written]) = if fits { (whole, &[]) } else { (head, values) };
    let _ = write!(out, "{indent}{first}");
    if beneath.is_empty() && inner.is_empty() {
        out.push('\n');
        return;
    }
    out.push_str(" {\n");
    for (key, value) in beneath {
        let _ = writeln!(out, "{indent}    {} {value}", word(key));
    }
    for l in inner {
        let _ = writeln!(out, "{indent}    {l}");
    }
    let _ = writeln!(out, "{indent}}}");
}

fn line(head: &str, values: &[Written]) -> String {
    let mut text = head.to_owned();
    for (key, value) in values {
        let _ = write!(text, " {}={value}", word(key));
    }
    text
}

/// A name of a node or property, in quotes only where it must be.
fn word(text: &str) -> String {
    let plain = text.starts_with(|c: char| c.is_ascii_alphabetic())
        && text.chars().all(|c| c.is_ascii_alphanumeric() || c == '-' || c == '.')
        && !matches!(text, "true" | "false" | "null" | "inf" | "nan");
    if plain { text.to_owned() } else { quoted(text) }
}

fn quoted(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 2);
    out.push('"');
    for c in text.chars() {
        match c {
            '"' | '\\' => {
                out.push('\\');
                out.push(c);
            }
            c if c.is_control() => out.push(' '),
            c => out.push(c),
        }
    }
    out.push('"');
    out
}

fn number(n: f64) -> String {
    // Never `-0`, and always something that reads as a number.
    if n == 0.0 { "0".to_owned() } else { format!("{n}") }
}

/// The annotation that carries an origin.
fn mark(origin: &Origin) -> String {
    match origin {
        Origin::Stated(_) => String::new(),
        Origin::Measured(_) => "(measured)".to_owned(),
        Origin::Assumed(id) if id.is_empty() => "(assumed)".to_owned(),
        Origin::Assumed(id) => format!("({id})"),
        Origin::Derived { method, from } => {
            let mut how = vec![method.as_str()];
            how.extend(from.iter().map(String::as_str));
            let how: Vec<String> =
                how.iter().map(|h| h.replace('|', "/").trim().to_owned()).collect();
            format!("({})", quoted(&format!("derived: {}", how.join(" | "))))
        }
    }
}

fn figure(v: &Value<f64>) -> String {
    format!("{}{}", mark(&v.origin), number(v.value))
}

fn text(v: &Value<String>) -> String {
    format!("{}{}", mark(&v.origin), quoted(&v.value))
}

fn datum(v: &Value<Datum>) -> String {
    let value = match &v.value {
        Datum::Number(n) => number(*n),
        Datum::Text(t) => quoted(t),
        Datum::Flag(b) => format!("#{b}"),
    };
    format!("{}{value}", mark(&v.origin))
}

fn attrs(attrs: &Attrs) -> Vec<Written> {
    attrs.0.iter().map(|(k, v)| (k.clone(), datum(v))).collect()
}

/// Adds a value that may not be there.
fn put<T>(
    values: &mut Vec<Written>,
    key: &str,
    v: &Option<Value<T>>,
    write: impl Fn(&Value<T>) -> String,
) {
    if let Some(v) = v {
        values.push((key.to_owned(), write(v)));
    }
}

fn job(out: &mut String, job: &Job) {
    if *job == Job::default() {
        return;
    }
    out.push('\n');
    let mut head = "job".to_owned();
    if !job.name.is_empty() {
        let _ = write!(head, " {}", quoted(&job.name));
    }
    for (key, value) in [("number", &job.number), ("status", &job.status)] {
        if !value.is_empty() {
            let _ = write!(head, " {key}={}", quoted(value));
        }
    }
    let mut inner = Vec::new();
    for (key, value) in &job.fields {
        inner.push(format!("{} {}", word(key), quoted(value)));
    }
    for r in &job.revisions {
        let head = format!("revision {}", quoted(&r.index));
        let values = [("date", &r.date), ("note", &r.note), ("by", &r.by)];
        let values: Vec<_> = values
            .iter()
            .filter(|(_, v)| !v.is_empty())
            .map(|(k, v)| ((*k).to_owned(), quoted(v)))
            .collect();
        inner.push(line(&head, &values));
    }
    inner.extend(job.notes.iter().map(|n| format!("note {}", quoted(n))));
    node(out, 0, head, &[], &inner);
}

fn rules(out: &mut String, rules: &Ruleset) {
    out.push('\n');
    let mut head = format!("rules {}", text(&rules.jurisdiction));
    if !rules.edition.value.is_empty() {
        let _ = write!(head, " edition={}", text(&rules.edition));
    }
    let inner: Vec<String> = rules
        .overrides
        .iter()
        .map(|(id, (value, reason))| {
            let mut l = format!("limit {} {}", quoted(id), figure(value));
            if !reason.is_empty() {
                let _ = write!(l, " reason={}", quoted(reason));
            }
            l
        })
        .collect();
    node(out, 0, head, &[], &inner);
}

fn cupboard(out: &mut String, c: &Cupboard) {
    out.push('\n');
    let values = [
        ("width".to_owned(), figure(&c.width)),
        ("depth".to_owned(), figure(&c.depth)),
        ("height".to_owned(), figure(&c.height)),
        ("datum".to_owned(), text(&c.datum)),
    ];
    let mut inner = Vec::new();
    if let Some(d) = &c.door {
        let hinge = format!("{}{}", mark(&d.hinge.origin), quoted(d.hinge.value.key()));
        inner.push(line(
            "door",
            &[
                ("clear-width".to_owned(), figure(&d.clear_width)),
                ("clear-height".to_owned(), figure(&d.clear_height)),
                ("from-left".to_owned(), figure(&d.from_left)),
                ("hinge".to_owned(), hinge),
                ("inward".to_owned(), format!("#{}", d.inward)),
            ],
        ));
    }
    for w in &c.walls {
        let head = format!("wall {} outside=#{}", quoted(w.side.key()), w.outside);
        inner.push(line(&head, &attrs(&w.attrs)));
    }
    if !c.floor.attrs.0.is_empty() {
        inner.push(line("floor", &attrs(&c.floor.attrs)));
    }
    for o in &c.obstacles {
        let b = &o.at;
        let numbers =
            [("x", b.x), ("y", b.y), ("z", b.z), ("width", b.w), ("depth", b.d), ("height", b.h)];
        let numbers: Vec<_> = numbers.iter().map(|(k, n)| ((*k).to_owned(), number(*n))).collect();
        inner.push(line(&format!("obstacle {}", quoted(&o.name)), &numbers));
    }
    node(out, 0, "cupboard".to_owned(), &values, &inner);
}

fn place(place: &Place) -> Vec<Written> {
    let mut values = Vec::new();
    if let Some(elsewhere) = &place.elsewhere {
        values.push(("elsewhere".to_owned(), quoted(elsewhere)));
    }
    put(&mut values, "x", &place.x, figure);
    put(&mut values, "y", &place.y, figure);
    put(&mut values, "z", &place.z, figure);
    put(&mut values, "side", &place.side, |s| {
        format!("{}{}", mark(&s.origin), quoted(s.value.key()))
    });
    put(&mut values, "turn", &place.turn, figure);
    if place.mirrored {
        values.push(("mirrored".to_owned(), "#true".to_owned()));
    }
    values
}

/// Attributes as values, those of ports as lines of their own, then what the maker declares.
fn body<'a>(
    all: &Attrs,
    declared: impl Iterator<Item = &'a String>,
) -> (Vec<Written>, Vec<String>) {
    let mut values = Vec::new();
    let mut ports: Vec<(String, Vec<Written>)> = Vec::new();
    for (key, value) in &all.0 {
        let Some((name, what)) = key.strip_prefix("port.").and_then(|k| k.rsplit_once('.')) else {
            values.push((key.clone(), datum(value)));
            continue;
        };
        let written = (what.to_owned(), datum(value));
        match ports.iter_mut().find(|(n, _)| n == name) {
            Some((_, all)) => all.push(written),
            None => ports.push((name.to_owned(), vec![written])),
        }
    }
    let mut inner: Vec<String> =
        ports.iter().map(|(name, all)| line(&format!("port {}", quoted(name)), all)).collect();
    inner.extend(declared.map(|fact| format!("declares {}", quoted(fact))));
    (values, inner)
}

fn unit(out: &mut String, u: &Unit) {
    let mut head =
        format!("unit {} {} tag={}", quoted(&u.name), quoted(&u.kind.key), quoted(&u.tag));
    head = line(&head, &place(&u.place));
    let (values, inner) = body(&u.attrs, std::iter::empty());
    node(out, 0, head, &values, &inner);
}

fn part(out: &mut String, system: &System, p: &Part) {
    let mut head =
        format!("part {} {} tag={}", quoted(&p.name), quoted(&p.kind.key), quoted(&p.tag));
    if let Some(unit) = p.unit {
        let _ = write!(head, " unit={}", quoted(&system.unit(unit).name));
    }
    if let Some(on) = p.on {
        let _ = write!(head, " on={}", quoted(&system.part(on).name));
    }
    head = line(&head, &place(&p.place));
    let (values, inner) = body(&p.attrs, p.declared.iter());
    node(out, 0, head, &values, &inner);
}

/// How many pipes from here on are one unbroken line of the same run.
fn chain(pipes: &[Pipe]) -> usize {
    let joined = |a: &Pipe, b: &Pipe| a.run == b.run && a.to.part == b.from.part && a.to != b.from;
    1 + pipes.windows(2).take_while(|w| joined(&w[0], &w[1])).count()
}

fn run(out: &mut String, system: &System, pipes: &[Pipe]) {
    let mut head = format!("run {}", quoted(&pipes[0].run));
    for i in 0..=pipes.len() {
        let enter = i.checked_sub(1).map(|i| pipes[i].to);
        let leave = pipes.get(i).map(|p| p.from);
        let _ = write!(head, " {}", quoted(&stop(system, enter, leave)));
    }
    let service = pipes[0].service;
    let same_service = pipes.iter().all(|p| p.service == service);
    let material = text(&pipes[0].material);
    let same_material = pipes.iter().all(|p| text(&p.material) == material);
    if same_service {
        let _ = write!(head, " service={}", quoted(service.key()));
    }
    if same_material {
        let _ = write!(head, " material={material}");
    }
    let mut inner = Vec::new();
    for (i, p) in pipes.iter().enumerate() {
        let mut values = vec![("id".to_owned(), quoted(&p.id))];
        if !same_service {
            values.push(("service".to_owned(), quoted(p.service.key())));
        }
        if !same_material {
            values.push(("material".to_owned(), text(&p.material)));
        }
        put(&mut values, "size", &p.size, text);
        put(&mut values, "length", &p.length, figure);
        put(&mut values, "elbows", &p.elbows, figure);
        put(&mut values, "lagging", &p.lagging, figure);
        let mut l = line(&format!("stretch {}", i + 1), &values);
        if let Some(t) = &p.tail {
            let _ = write!(l, " {{ {} }}", tail(t));
        }
        inner.push(l);
    }
    node(out, 0, head, &[], &inner);
}

fn tail(t: &Tail) -> String {
    let mut head = "tail".to_owned();
    if !t.name.is_empty() {
        let _ = write!(head, " {}", quoted(&t.name));
    }
    let mut values = Vec::new();
    put(&mut values, "side", &t.side, |s| format!("{}{}", mark(&s.origin), quoted(s.value.key())));
    put(&mut values, "x", &t.x, figure);
    put(&mut values, "y", &t.y, figure);
    put(&mut values, "z", &t.z, figure);
    line(&head, &values)
}

/// A stop with the ports that do not go without saying: a part with two ports is entered by the
/// first and left by the second.
fn stop(system: &System, enter: Option<PortRef>, leave: Option<PortRef>) -> String {
    let Some(part) = enter.or(leave).map(|p| system.part(p.part)) else { return String::new() };
    let ports = &part.kind.ports;
    let against = [Flow::Out, Flow::In];
    let usual = |port: usize, which: usize| {
        ports.len() == 1 || ports.len() == 2 && port == which && ports[port].flow != against[which]
    };
    let plain = enter.is_none_or(|p| usual(p.port, 0)) && leave.is_none_or(|p| usual(p.port, 1));
    let name = |p: PortRef| ports[p.port].name.as_str();
    match (enter, leave) {
        _ if plain => part.name.clone(),
        (Some(e), Some(l)) => format!("{}.{}>{}", part.name, name(e), name(l)),
        (Some(one), None) | (None, Some(one)) => format!("{}.{}", part.name, name(one)),
        (None, None) => part.name.clone(),
    }
}
