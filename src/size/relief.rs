//! The safety discharge of a system. In: the bench. Out: sizes of D1 and D2 with what is left of
//! the table, each way. Approved Document G, Table 3.1 and paragraphs 3.50 to 3.59.

use std::collections::BTreeMap;

use super::discharge::{self, Trial, least, tenths, trials};
use super::note::{Note, plain};
use super::work::{Known, Work, diameter_of};
use crate::catalogue::Tube;
use crate::model::{Datum, Part, PartIx, PipeIx, Service};

const TABLE: &str = "Approved Document G, Table 3.1";

/// Sizes every discharge pipe.
pub fn relief(work: &mut Work) {
    let outlets = first_pipes(work);
    let mut of_tundish: BTreeMap<usize, Path> = BTreeMap::new();
    for i in 0..work.system.parts.len() {
        if work.system.parts[i].kind.key == "tundish"
            && let Some(path) = path(work, PartIx(i), &outlets)
        {
            of_tundish.insert(i, path);
        }
    }
    let mut used: BTreeMap<usize, usize> = BTreeMap::new();
    for pipe in of_tundish.values().flat_map(|p| &p.pipes) {
        *used.entry(pipe.0).or_default() += 1;
    }
    let mut own: BTreeMap<usize, Vec<String>> = BTreeMap::new();
    for (part, path) in &of_tundish {
        let alone: Vec<PipeIx> =
            path.pipes.iter().copied().take_while(|p| used[&p.0] == 1).collect();
        let size = write(work, PartIx(*part), &measure(work, path, &alone));
        for pipe in &path.pipes {
            own.entry(pipe.0).or_default().push(size.clone());
        }
    }
    shared(work, &own);
}

/// Gives D1 its size; for every chamber the largest valve outlet that discharges into it.
fn first_pipes(work: &mut Work) -> Vec<Option<&'static str>> {
    let mut largest: Vec<Option<&'static str>> = vec![None; work.graph.chambers()];
    for i in 0..work.system.parts.len() {
        let part = &work.system.parts[i];
        let Some(start) = work.graph.named(&work.system, PartIx(i), "discharge") else { continue };
        let starts: Vec<PipeIx> = work.graph.out[start]
            .iter()
            .copied()
            .filter(|p| work.system.pipe(*p).service == Service::Discharge1)
            .collect();
        let key = outlet_of(part);
        let mut queue = starts;
        let mut steps = 0;
        while let Some(pipe) = queue.pop() {
            steps += 1;
            if steps > work.system.pipes.len() {
                break;
            }
            let to = work.graph.to(pipe);
            largest[to] = Some(largest[to].map_or(key, |k| larger(k, key)));
            let next = work.graph.out[to].iter().copied();
            queue.extend(next.filter(|p| work.system.pipe(*p).service == Service::Discharge1));
        }
    }
    for i in 0..work.system.pipes.len() {
        if work.system.pipes[i].service != Service::Discharge1 {
            continue;
        }
        let pipe = PipeIx(i);
        let from = work.system.pipe(pipe).from.part;
        let behind = largest[work.graph.from(pipe)];
        let key = behind.unwrap_or_else(|| outlet_of(work.system.part(from)));
        let size = discharge_d1(key);
        if let Some(tube) = Tube::called(size) {
            work.give(
                pipe,
                tube,
                "not smaller than the valve's outlet (Approved Document G 3.51)",
                vec![format!("outlet {key}")],
            );
        }
    }
    largest
}

/// Metal pipe of the valve's outlet size.
fn discharge_d1(outlet: &str) -> &'static str {
    trials(outlet, 0, 0).first().map_or("15", |t| t.row.d1.as_str())
}

/// The outlet of a safety valve: stated in inches as a number or a word, else G1/2.
fn outlet_of(part: &Part) -> &'static str {
    match part.attrs.get("outlet").map(|v| &v.value) {
        Some(Datum::Number(n)) if *n > 0.9 => "G1",
        Some(Datum::Number(n)) if *n > 0.6 => "G3/4",
        Some(Datum::Text(t)) => discharge::outlet_key(t),
        _ => "G1/2",
    }
}

fn larger(a: &'static str, b: &'static str) -> &'static str {
    let od = |key: &str| diameter_of(key).unwrap_or(0.0);
    if od(a) >= od(b) { a } else { b }
}

/// D2 from a tundish to its end.
struct Path {
    outlet: &'static str,
    assumed: bool,
    pipes: Vec<PipeIx>,
    /// Tenths of a metre, elbows.
    length: i64,
    elbows: i64,
    known: bool,
}

fn path(work: &Work, tundish: PartIx, outlets: &[Option<&'static str>]) -> Option<Path> {
    let mut chamber = work.graph.named(&work.system, tundish, "out")?;
    let inlet = work.graph.named(&work.system, tundish, "in")?;
    let mut pipes = Vec::new();
    loop {
        let next = work.graph.out[chamber]
            .iter()
            .copied()
            .find(|p| work.system.pipe(*p).service == Service::Discharge2 && !pipes.contains(p));
        let Some(pipe) = next else { break };
        pipes.push(pipe);
        chamber = work.graph.to(pipe);
    }
    if pipes.is_empty() {
        return None;
    }
    let assumed = work.system.parts.iter().any(|p| {
        p.attrs.is_assumed("outlet") && p.kind.key == "temperature and pressure relief valve"
    });
    Some(Path {
        outlet: outlets[inlet].unwrap_or("G1/2"),
        assumed,
        pipes,
        length: 0,
        elbows: 0,
        known: true,
    })
}

/// The path with its length and elbows: as far as it is the tundish's own, since a pipe that
/// several share is larger by paragraph 3.59; all of it where none is its own.
fn measure(work: &Work, path: &Path, alone: &[PipeIx]) -> Path {
    let pipes = if alone.is_empty() { &path.pipes[..] } else { alone };
    let (mut metres, mut elbows, mut known) = (0.0, 0.0, true);
    for pipe in pipes {
        let run = work.runs[pipe.0];
        metres += run.metres;
        elbows += run.elbows;
        known &= run.known == Known::Yes;
    }
    Path {
        outlet: path.outlet,
        assumed: path.assumed,
        pipes: pipes.to_vec(),
        length: tenths(metres),
        elbows: elbows.ceil() as i64,
        known,
    }
}

/// Writes the figures of one tundish's pipe; returns its size: the stated one, else the least.
fn write(work: &mut Work, tundish: PartIx, path: &Path) -> String {
    let all = trials(path.outlet, path.length, path.elbows);
    let least = least(path.outlet, path.length, path.elbows);
    let beyond = all.last().map_or("54", |t| t.row.d2.as_str());
    let needed = least.map_or(beyond, |t| t.row.d2.as_str());
    let stated = path.pipes.iter().find(|p| work.is_stated(**p)).copied();
    let stated_size = stated.and_then(|p| work.tubes[p.0]).map(|t| t.size.as_str());
    let judged = match stated_size {
        Some(size) => all.iter().find(|t| t.row.d2 == size).copied(),
        None => least,
    };
    let tag = work.tag(tundish);
    let result = verdict(&all, judged, least, stated_size);
    let shown = judged.or(least).or(all.last().copied());
    let resistance = shown.map_or(0.0, |t| t.resistance as f64 / 10.0);
    let mut note = Note::new(
        "discharge.equivalent-length",
        &tag,
        "length and elbows of the discharge pipe as straight pipe",
    )
    .by("discharge table", "R = L + n r, against the size's greatest", TABLE)
    .with(if path.known { "L" } else { "L (allowance)" }, path.length as f64 / 10.0, "m")
    .with("n", path.elbows as f64, "elbows")
    .assumed(!path.known || path.assumed);
    if let Some(t) = shown {
        note = note.with("r", t.row.elbow, "m").with("greatest", t.row.reach, "m");
    }
    work.figures.push(note.gives(resistance, "m", result.clone()));
    let od = |size: &str| Tube::called(size).map_or(0.0, |t| t.od);
    work.figures.push(
        Note::new("discharge.size", &tag, "least size of the discharge pipe below the tundish")
            .by("discharge table", "first size whose R is no more than its greatest", TABLE)
            .with("L", path.length as f64 / 10.0, "m")
            .with("n", path.elbows as f64, "elbows")
            .assumed(!path.known || path.assumed)
            .gives(if least.is_some() { od(needed) } else { 0.0 }, "mm", result),
    );
    if let Some(t) = judged {
        work.figures.push(
            Note::new("discharge.elbows-left", &tag, "elbows that may still be added")
                .by("discharge table", "(greatest - R)/r, whole", TABLE)
                .with("greatest", t.row.reach, "m")
                .with("R", t.resistance as f64 / 10.0, "m")
                .with("r", t.row.elbow, "m")
                .assumed(!path.known || path.assumed)
                .gives(
                    t.elbows_left() as f64,
                    "elbows",
                    format!("{} elbows left", t.elbows_left()),
                ),
        );
    }
    stated_size.unwrap_or(needed).to_owned()
}

fn verdict(
    all: &[Trial],
    judged: Option<Trial>,
    least: Option<Trial>,
    stated: Option<&str>,
) -> String {
    let one = |t: &Trial| {
        format!("{}: {} of {} m", t.row.d2, plain(t.resistance as f64 / 10.0, 1), t.row.reach)
    };
    let mut words = Vec::new();
    match (judged, stated) {
        (Some(t), _) if t.passes() => words.push(format!(
            "{} mm passes: {} of {} m, {} m or {} elbows left",
            t.row.d2,
            plain(t.resistance as f64 / 10.0, 1),
            t.row.reach,
            plain(t.metres_left(), 1),
            t.elbows_left()
        )),
        (Some(t), _) => words.push(format!("{} mm FAILS: {}", t.row.d2, one(&t))),
        (None, Some(size)) => words.push(format!("{size} is not a size of the table")),
        (None, None) => words.push(
            "beyond the table: no size of it suffices; the pipe needs its own calculation"
                .to_owned(),
        ),
    }
    if let (Some(least), Some(_)) = (least, stated) {
        words.push(format!("least size {} mm", least.row.d2));
    }
    let others: Vec<String> =
        all.iter().filter(|t| judged.is_none_or(|j| j.row.d2 != t.row.d2)).map(one).collect();
    if !others.is_empty() {
        words.push(format!("others: {}", others.join(", ")));
    }
    words.join("; ")
}

/// Gives every D2 pipe its size; a pipe that several tundishes share is one size above the largest
/// of theirs (paragraph 3.59).
fn shared(work: &mut Work, own: &BTreeMap<usize, Vec<String>>) {
    for (pipe, sizes) in own {
        let sizes: Vec<&str> = sizes.iter().map(String::as_str).collect();
        let pipe = PipeIx(*pipe);
        let size = discharge::common(&sizes).unwrap_or("54");
        let Some(tube) = Tube::called(size) else { continue };
        let (method, from) = if sizes.len() > 1 {
            (
                "shared by several systems: one size above the largest (Approved Document G 3.59)",
                vec![format!("{} systems, largest {}", sizes.len(), largest(&sizes))],
            )
        } else {
            (
                "smallest size of the discharge table that suffices (Approved Document G, Table 3.1)",
                vec![],
            )
        };
        if sizes.len() > 1 {
            let id = work.system.pipe(pipe).id.clone();
            let od = |s: &str| Tube::called(s).map_or(0.0, |t| t.od);
            work.figures.push(
                Note::new("discharge.common-size", &id, "least size of the shared discharge pipe")
                    .by(
                        "common discharge pipe",
                        "one size above the largest single pipe",
                        "Approved Document G 3.59",
                    )
                    .with("systems", sizes.len() as f64, "")
                    .with("largest single", od(largest(&sizes)), "mm")
                    .gives(tube.od, "mm", format!("{size} mm or larger")),
            );
        }
        work.give(pipe, tube, method, from);
    }
    // A D2 that starts at no tundish still gets a size.
    for i in 0..work.system.pipes.len() {
        if work.system.pipes[i].service == Service::Discharge2
            && let Some(tube) = Tube::called("22")
        {
            work.give(PipeIx(i), tube, "smallest size of the discharge table", vec![]);
        }
    }
}

fn largest<'a>(sizes: &[&'a str]) -> &'a str {
    let od = |s: &str| Tube::called(s).map_or(0.0, |t| t.od);
    sizes.iter().max_by(|a, b| od(a).total_cmp(&od(b))).copied().unwrap_or("22")
}
