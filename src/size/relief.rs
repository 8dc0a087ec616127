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
    let mut own: BTreeMap<usize, Vec<Joined>> = BTreeMap::new();
    for (part, path) in &of_tundish {
        let alone: Vec<PipeIx> =
            path.pipes.iter().copied().take_while(|p| used[&p.0] == 1).collect();
        let size = write(work, PartIx(*part), &measure(work, path, &alone));
        let joined =
            Joined { tundish: PartIx(*part), size, whole: measure(work, path, &path.pipes) };
        for pipe in &path.pipes {
            own.entry(pipe.0).or_default().push(joined.clone());
        }
    }
    shared(work, &own);
}

/// A tundish's way to the end, as a pipe on it sees it.
#[derive(Clone)]
struct Joined {
    tundish: PartIx,
    /// Of the tundish's own pipe.
    size: String,
    whole: Path,
}

/// A valve's outlet, and whether it is only assumed.
type Outlet = (&'static str, bool);

/// Gives D1 its size; for every chamber the largest valve outlet that discharges into it.
fn first_pipes(work: &mut Work) -> Vec<Option<Outlet>> {
    let mut largest: Vec<Option<Outlet>> = vec![None; work.graph.chambers()];
    for i in 0..work.system.parts.len() {
        let part = &work.system.parts[i];
        let Some(start) = work.graph.named(&work.system, PartIx(i), "discharge") else { continue };
        let starts: Vec<PipeIx> = work.graph.out[start]
            .iter()
            .copied()
            .filter(|p| work.system.pipe(*p).service == Service::Discharge1)
            .collect();
        let outlet = (outlet_of(part), part.attrs.is_assumed("outlet"));
        let mut queue = starts;
        let mut steps = 0;
        while let Some(pipe) = queue.pop() {
            steps += 1;
            if steps > work.system.pipes.len() {
                break;
            }
            let to = work.graph.to(pipe);
            largest[to] = Some(largest[to].map_or(outlet, |known| larger(known, outlet)));
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
        let key = behind.map_or_else(|| outlet_of(work.system.part(from)), |o| o.0);
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

fn larger(a: Outlet, b: Outlet) -> Outlet {
    let od = |outlet: Outlet| diameter_of(outlet.0).unwrap_or(0.0);
    if od(a) >= od(b) { a } else { b }
}

/// D2 from a tundish to its end.
#[derive(Clone)]
struct Path {
    outlet: &'static str,
    assumed: bool,
    pipes: Vec<PipeIx>,
    /// Tenths of a metre, elbows.
    length: i64,
    elbows: i64,
    known: bool,
}

fn path(work: &Work, tundish: PartIx, outlets: &[Option<Outlet>]) -> Option<Path> {
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
    let (outlet, assumed) = outlets[inlet].unwrap_or(("G1/2", false));
    Some(Path { outlet, assumed, pipes, length: 0, elbows: 0, known: true })
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
                    match t.elbows_left() {
                        1 => "1 elbow left".to_owned(),
                        n => format!("{n} elbows left"),
                    },
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

/// Gives every D2 pipe its size. A pipe that several tundishes share is one size above the largest
/// of theirs (paragraph 3.59), and large enough for the longest way that leads through it (3.58).
fn shared(work: &mut Work, own: &BTreeMap<usize, Vec<Joined>>) {
    for (pipe, joined) in own {
        let pipe = PipeIx(*pipe);
        let sizes: Vec<&str> = joined.iter().map(|j| j.size.as_str()).collect();
        let above = discharge::common(&sizes).unwrap_or("54");
        let Some(above) = Tube::called(above) else { continue };
        if let [_] = joined[..] {
            let why = "smallest size of the discharge table that suffices (Approved Document G, \
                       Table 3.1)";
            work.give(pipe, above, why, vec![]);
            continue;
        }
        if let Some(tube) = common(work, pipe, joined, above) {
            let why = "shared by several systems: one size above the largest (Approved Document G \
                       3.59) and enough for the longest way through it (3.58)";
            let from = vec![format!("{} systems, largest {}", sizes.len(), largest(&sizes))];
            work.give(pipe, tube, why, from);
        }
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

/// The least size of a shared pipe, with its figure.
fn common(
    work: &mut Work,
    pipe: PipeIx,
    joined: &[Joined],
    above: &'static Tube,
) -> Option<&'static Tube> {
    let od = |size: &str| Tube::called(size).map_or(0.0, |t| t.od);
    // For each system the least size that its whole way allows; the largest of these governs.
    let tried = joined.iter().map(|j| {
        let all = discharge::shared(j.whole.outlet, j.whole.length, j.whole.elbows);
        let fits = |s: &&discharge::Shared| od(s.size) >= above.od - 0.5;
        let least = all.iter().filter(fits).find(|s| s.passes()).copied();
        (j, least.or(all.last().copied()))
    });
    let far = |s: &Option<discharge::Shared>| s.map_or((0.0, 0), |s| (od(s.size), s.resistance));
    let by = |a: &(f64, i64), b: &(f64, i64)| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1));
    let longest = tried.max_by(|a, b| by(&far(&a.1), &far(&b.1)));
    let Some((governs, Some(least))) = longest else { return Some(above) };
    let sizes: Vec<&str> = joined.iter().map(|j| j.size.as_str()).collect();
    let id = work.system.pipe(pipe).id.clone();
    let tag = work.tag(governs.tundish);
    let metres = |tenths: i64| tenths as f64 / 10.0;
    let word = if least.passes() { "or larger" } else { "is BEYOND the table: own calculation" };
    work.figures.push(
        Note::new("discharge.common-size", &id, "least size of the shared discharge pipe")
            .by(
                "common discharge pipe",
                "one size above the largest single pipe, and R = L + n r of the longest whole way \
                 no more than the size's greatest",
                "Approved Document G 3.58, 3.59 and Table 3.1",
            )
            .with("systems", joined.len() as f64, "")
            .with("largest single", od(largest(&sizes)), "mm")
            .with("L", metres(governs.whole.length), "m")
            .with("n", governs.whole.elbows as f64, "elbows")
            .with("r", metres(least.elbow), "m")
            .with("greatest", metres(least.reach), "m")
            .assumed(joined.iter().any(|j| !j.whole.known || j.whole.assumed))
            .gives(
                od(least.size),
                "mm",
                format!(
                    "{} mm {word}; longest way from {tag}: {} of {} m",
                    least.size,
                    plain(metres(least.resistance), 1),
                    plain(metres(least.reach), 1)
                ),
            ),
    );
    Tube::called(least.size)
}

fn largest<'a>(sizes: &[&'a str]) -> &'a str {
    let od = |s: &str| Tube::called(s).map_or(0.0, |t| t.od);
    sizes.iter().max_by(|a, b| od(a).total_cmp(&od(b))).copied().unwrap_or("22")
}
