//! Pressure at every outlet. In: the bench with sizes, and the demand. Out: flowing and static
//! pressure hot and cold, the index outlet, the balance at mixers. Gauge bar.

use super::accumulator;
use super::note::{Note, plain};
use super::supply::Supply;
use super::vessel::static_bar;
use super::work::{Work, is_outlet};
use crate::model::{Part, PartIx, PipeIx};

/// Pressure in every chamber of wholesome water, as a gauge at the height of the main would show it:
/// each part that stands higher has less by its own column.
pub struct Pressures {
    pub flowing: Vec<Option<f64>>,
    pub standing: Vec<Option<f64>>,
    /// What last set the flowing pressure on the way, and to what.
    set: Vec<Option<(&'static str, f64)>>,
    /// The lift of what set it, bar.
    set_at: Vec<f64>,
}

/// What the main gives: static pressure, and dynamic pressure at a flow.
pub struct Main {
    pub standing: f64,
    pub dynamic: f64,
    /// l/s.
    pub at: f64,
    pub measured: bool,
}

impl Main {
    fn of(part: &Part) -> Option<Main> {
        let standing = part.number("static").or(part.number("dynamic"))?;
        let dynamic = part.number("dynamic").unwrap_or(standing);
        let at = part.number("at").unwrap_or(20.0).max(0.1) / 60.0;
        let assumed = |key: &str| part.attrs.get(key).is_none() || part.attrs.is_assumed(key);
        let measured = !["static", "dynamic", "at"].iter().any(|k| assumed(k));
        Some(Main { standing, dynamic, at, measured })
    }

    fn pressure(&self, flow: f64) -> f64 {
        self.standing - (self.standing - self.dynamic) * (flow / self.at) * (flow / self.at)
    }
}

const CURVE: &str = "common practice: loss in a service pipe goes by the square of the flow";

/// Walks from the main to the outlets.
pub fn pressures(work: &mut Work, supply: &Supply) -> Pressures {
    let chambers = work.graph.chambers();
    let mut p = Pressures {
        flowing: vec![None; chambers],
        standing: vec![None; chambers],
        set: vec![None; chambers],
        set_at: vec![0.0; chambers],
    };
    let taken = simultaneous(work, supply);
    let mut measured = true;
    let mut notes = Vec::new();
    for i in 0..work.system.parts.len() {
        let part = &work.system.parts[i];
        if part.kind.key != "water main" {
            continue;
        }
        let (Some(main), Some(chamber)) =
            (Main::of(part), work.graph.named(&work.system, PartIx(i), "out"))
        else {
            continue;
        };
        let flow: f64 = work.graph.out[chamber].iter().map(|q| taken[q.0]).sum();
        let alone = main.pressure(flow);
        let helped = accumulator::relieved(work, &main, flow);
        let pressure = helped.as_ref().map_or(alone, |h| h.pressure.max(alone));
        notes.extend(helped.map(|h| h.figure(&main, flow, alone)));
        p.flowing[chamber] = Some(pressure);
        p.standing[chamber] = Some(main.standing);
        p.set[chamber] = Some(("main", pressure));
        measured &= main.measured;
        notes.push(
            Note::new("main.pressure", &part.tag, "pressure of the main at the simultaneous flow")
                .by(
                    "curve of the service pipe",
                    "p = ps - (ps - pd)(q/qd)^2; q as stated, or the usual, or the largest outlet; \
                     not the design flow that sizes the pipe",
                    &format!("{CURVE}; q: {}", work.aims.limit("SIZE.simultaneous").source),
                )
                .with("ps", main.standing, "bar")
                .with("pd", main.dynamic, "bar")
                .with("q simultaneous", flow, "l/s")
                .with("qd", main.at, "l/s")
                .assumed(!main.measured)
                .gives(
                    alone,
                    "bar",
                    stamp(
                        main.measured,
                        format!("{} bar at {} l/min", plain(alone, 2), plain(flow * 60.0, 1)),
                    ),
                ),
        );
    }
    work.figures.extend(notes);
    let mut downwards = supply.upwards.clone();
    downwards.reverse();
    for pipe in downwards {
        if supply.live[pipe.0] {
            step(work, supply, &taken, &mut p, pipe);
        }
    }
    boosted(work, &p);
    outlets(work, &p, measured);
    p
}

/// What stands behind each booster with all taps shut: the pipe up to the reducing valve is tested
/// for that, not for the street's pressure.
fn boosted(work: &mut Work, p: &Pressures) {
    let mut notes = Vec::new();
    for (ix, pump) in work.system.of_kind("booster pump") {
        let chamber = work.graph.named(&work.system, ix, "in");
        let (Some(before), Some(head)) = (chamber.and_then(|c| p.standing[c]), pump.number("head"))
        else {
            continue;
        };
        let lift = static_bar(head);
        let after = before + lift;
        notes.push(
            Note::new("booster.pressure", &pump.tag, "standing pressure behind the booster")
                .by("sum", "p = p before + rho g h", "physics; h as stated or read off the plate")
                .with("p before", before, "bar")
                .with("h", head, "m")
                .assumed(pump.attrs.is_assumed("head"))
                .gives(after, "bar", format!("{} bar with all taps shut", plain(after, 2))),
        );
    }
    work.figures.extend(notes);
}

/// The flow in every pipe while its outlets are in use together: the stated simultaneous flow, or
/// NHBC's 0.3 l/s, in the pipes of one dwelling; the design flow where several share a pipe or
/// where stores stand side by side. Never less than the largest single outlet.
fn simultaneous(work: &Work, supply: &Supply) -> Vec<f64> {
    let count = |wanted: &dyn Fn(&str) -> bool| {
        work.system.parts.iter().filter(|p| wanted(&p.kind.key)).count()
    };
    let groups = count(&|k| k == "reducing valve");
    let stores = count(&|k| k.ends_with("cylinder"));
    let stated = work.system.site.dwelling.number("simultaneous").map(|l_min| l_min / 60.0);
    let most = stated.unwrap_or(work.aims.get("SIZE.simultaneous"));
    let mut below = vec![0_usize; work.system.pipes.len()];
    let mut taken = vec![0.0; work.system.pipes.len()];
    for pipe in &supply.upwards {
        let to = work.graph.to(*pipe);
        let own = usize::from(work.system.part(work.graph.part[to]).kind.key == "reducing valve");
        let further: usize = work.graph.out[to].iter().map(|p| below[p.0]).sum();
        below[pipe.0] = own + further;
        let design = work.flow[pipe.0];
        let shared = below[pipe.0] > 1 || stores > groups.max(1);
        let single = supply.demand[pipe.0].first.flow;
        taken[pipe.0] = if shared { design } else { design.min(most.max(single)) };
    }
    taken
}

/// Carries pressure along one pipe.
fn step(work: &mut Work, supply: &Supply, taken: &[f64], p: &mut Pressures, pipe: PipeIx) {
    let (from, to) = work.graph.ends[pipe.0];
    let (Some(flowing), Some(standing)) = (p.flowing[from], p.standing[from]) else { return };
    let (flowing, standing) = behind(work, supply, taken, from, pipe, (flowing, standing));
    let part = work.system.part(work.graph.part[from]);
    let (set, set_at) = match part.kind.key.as_str() {
        "reducing valve" => (Some(("behind the reducing valve", flowing)), lift_of(part)),
        "booster pump" => (Some(("behind the booster", flowing)), 0.0),
        _ => (p.set[from], p.set_at[from]),
    };
    let flowing = flowing - work.pipe_loss(pipe, taken[pipe.0]) / 1e5;
    // Where pipes meet, the worse way counts.
    if p.flowing[to].is_none_or(|known| flowing < known) {
        p.flowing[to] = Some(flowing);
        p.set[to] = set;
        p.set_at[to] = set_at;
    }
    p.standing[to] = Some(p.standing[to].map_or(standing, |known| known.min(standing)));
}

/// Pressures behind the part, on the way into `pipe`.
fn behind(
    work: &mut Work,
    supply: &Supply,
    taken: &[f64],
    chamber: usize,
    pipe: PipeIx,
    (flowing, standing): (f64, f64),
) -> (f64, f64) {
    let enter = work.graph.into[chamber].iter().copied().find(|q| supply.live[q.0]);
    let part = work.system.part(work.graph.part[chamber]);
    let key = part.kind.key.clone();
    let setting = part.number("setting");
    let column = lift_of(part);
    let head = part.number("head").unwrap_or(0.0);
    let stated_loss = part.number("loss");
    let loss = match (enter, stated_loss) {
        (_, Some(bar)) if key == "softener" => bar,
        (Some(enter), _) => {
            let flow = if key == "tee" { taken[enter.0] } else { taken[pipe.0] };
            work.part_loss(enter, pipe, flow) / 1e5
        }
        (None, _) => 0.0,
    };
    match key.as_str() {
        "reducing valve" => {
            // The valve keeps its setting at its own height.
            let most = setting.unwrap_or(f64::INFINITY) + column;
            ((flowing - loss).min(most), standing.min(most))
        }
        "booster pump" => {
            let lift = static_bar(head);
            (flowing - loss + lift, standing + lift)
        }
        "break tank" => (0.0, 0.0),
        _ => (flowing - loss, standing),
    }
}

/// The column of water between the main and the part, bar.
fn lift_of(part: &Part) -> f64 {
    static_bar(part.number("height").unwrap_or(0.0) / 1000.0)
}

/// The least pressure an outlet wants, bar.
fn wanted(work: &Work, part: &Part) -> f64 {
    part.number("min-pressure").unwrap_or_else(|| {
        work.aims.get(if part.kind.key == "shower" { "WAT18.shower" } else { "WAT18.outlet" })
    })
}

fn outlets(work: &mut Work, p: &Pressures, measured: bool) {
    let mut index: Option<(f64, String, &str)> = None;
    for i in 0..work.system.parts.len() {
        if !is_outlet(&work.system.parts[i]) {
            continue;
        }
        let part = work.system.parts[i].clone();
        let lift = lift_of(&part);
        let want = wanted(work, &part);
        let at = |all: &[Option<f64>], port: &str| {
            let chamber = work.graph.named(&work.system, PartIx(i), port)?;
            all[chamber].map(|bar| bar - lift)
        };
        let mut standing = Vec::new();
        let mut flowing = Vec::new();
        for (port, id) in [("hot", "outlet.pressure-hot"), ("cold", "outlet.pressure-cold")] {
            let (Some(bar), Some(still)) = (at(&p.flowing, port), at(&p.standing, port)) else {
                continue;
            };
            flowing.push(bar);
            standing.push(still);
            let margin = bar - want;
            if index.as_ref().is_none_or(|(least, ..)| margin < *least) {
                index = Some((margin, part.tag.clone(), port));
            }
            let word = if margin >= 0.0 { "enough" } else { "TOO LITTLE" };
            let mut note = Note::new(id, &part.tag, &format!("flowing pressure, {port}")).by(
                "sum of losses on the way",
                "p = p where it was last set - losses since - lift",
                "Colebrook-White; Kv and zeta of the catalogue",
            );
            let mut since = lift;
            let chamber = work.graph.named(&work.system, PartIx(i), port);
            if let Some((what, from)) = chamber.and_then(|c| p.set[c]) {
                // Set at the height of what set it: only the lift since then is left to lose.
                let set_at = chamber.map_or(0.0, |c| p.set_at[c]);
                note = note.with(what, from - set_at, "bar").with(
                    "losses since",
                    from - bar - lift,
                    "bar",
                );
                since = lift - set_at;
            }
            work.figures.push(
                note.with("static here", still, "bar")
                    .with("lift", since, "bar")
                    .with("wanted", want, "bar")
                    .assumed(!measured)
                    .gives(
                        bar,
                        "bar",
                        stamp(
                            measured,
                            format!(
                                "{} bar of {} bar wanted: {word}",
                                plain(bar, 2),
                                plain(want, 2)
                            ),
                        ),
                    ),
            );
        }
        if let ([hot, cold], [hot_flowing, cold_flowing]) = (&standing[..], &flowing[..]) {
            let ratio = hot.max(*cold) / hot.min(*cold).max(1e-3);
            work.figures.push(
                Note::new("mixer.difference", &part.tag, "hot against cold, standing")
                    .by(
                        "difference",
                        "|p hot - p cold|",
                        &work.aims.limit("WAT03.difference").source,
                    )
                    .with("hot", *hot, "bar")
                    .with("cold", *cold, "bar")
                    .with("ratio", ratio, "")
                    .with("flowing difference", (hot_flowing - cold_flowing).abs(), "bar")
                    .assumed(!measured)
                    .gives(
                        (hot - cold).abs(),
                        "bar",
                        stamp(
                            measured,
                            format!(
                                "{} bar apart, {} : 1",
                                plain((hot - cold).abs(), 2),
                                plain(ratio, 2)
                            ),
                        ),
                    ),
            );
        }
    }
    if let Some((margin, tag, port)) = index {
        let limit = work.aims.limit("WAT18.outlet").source.clone();
        work.figures.push(
            Note::new("outlet.index", &tag, "outlet with the least pressure to spare")
                .by("least margin", "flowing pressure less pressure wanted", &limit)
                .assumed(!measured)
                .gives(
                    margin,
                    "bar",
                    stamp(
                        measured,
                        format!("index outlet, {port}: {} bar to spare", plain(margin, 2)),
                    ),
                ),
        );
    }
}

/// What rests on a main that nobody measured says so.
fn stamp(measured: bool, text: String) -> String {
    if measured { text } else { format!("NOT MEASURED: {text}") }
}
