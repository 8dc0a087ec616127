//! Expansion vessels of a system. In: the bench with volumes. Out: for each vessel the least size
//! by the published methods, which of them governs, the stocked size, the cold fill.

use super::heating::Heating;
use super::liquid::Liquid;
use super::note::{Note, plain};
use super::vessel::{self, HeatingVessel};
use super::volume::{self, Volume};
use super::work::Work;
use crate::catalogue::Closes;
use crate::catalogue::hydraulics::hydraulics;
use crate::model::{Origin, Part, PartIx, PipeIx, Value, Water};

pub fn vessels(work: &mut Work, heating: &Heating, volumes: &[Volume]) {
    for (c, volume) in volumes.iter().enumerate() {
        if heating.circuits[c].solar {
            solar(work, heating, c, volume);
        } else {
            closed(work, heating, c, volume);
        }
    }
    for i in 0..work.system.parts.len() {
        if work.system.parts[i].kind.key == "hot-water vessel" {
            potable(work, PartIx(i));
        }
    }
}

/// Parts of a kind in a circuit.
fn of_kind(work: &Work, heating: &Heating, circuit: usize, key: &str) -> Vec<PartIx> {
    let of = heating.circuits[circuit].parts.iter().copied();
    of.filter(|p| work.system.part(*p).kind.key == key).collect()
}

/// Height of water above the vessel as pressure, bar, and whether it is only assumed.
fn static_head(work: &Work) -> (f64, bool) {
    match work.system.site.dwelling.number("static-height") {
        Some(metres) => (vessel::static_bar(metres), false),
        None => (vessel::static_bar(work.aims.get("SIZE.static-height")), true),
    }
}

/// Highest working pressure below a safety valve: EN 12828.
fn below_valve(work: &Work, setting: f64) -> f64 {
    let margin = work.aims.get("EXP06.valve-margin");
    if setting <= 5.0 { setting - margin } else { setting * 0.9 }
}

fn closed(work: &mut Work, heating: &Heating, circuit: usize, volume: &Volume) {
    let vessels = of_kind(work, heating, circuit, "heating vessel");
    let sources = heating.circuits[circuit].sources.clone();
    let about = match vessels.first().or(sources.first()) {
        Some(ix) => work.tag(*ix),
        None => return,
    };
    let Some(temperatures) = heating.circuits[circuit].temperatures else { return };
    let valve = of_kind(work, heating, circuit, "safety valve")
        .first()
        .and_then(|v| work.system.part(*v).number("setting"));
    // A valve inside the source, as its plate says or as assumed.
    let inside = || sources.iter().find_map(|s| work.system.part(*s).number("valve-setting"));
    let setting = valve.or_else(inside).unwrap_or(work.aims.get("SIZE.safety-valve"));
    let (head, head_assumed) = static_head(work);
    let charge = vessels.first().and_then(|v| work.system.part(*v).attrs.quantity("charge"));
    let least_charge =
        (head + work.aims.get("EXP12.margin")).max(work.aims.get("SIZE.vessel-least-charge"));
    let p0 = charge.as_ref().map_or(least_charge, |c| c.value);
    let cold = work.aims.get("SIZE.store-cold");
    let system = volume.litres();
    let reserve =
        (system * work.aims.get("EXP06.reserve-share")).max(work.aims.get("EXP06.reserve-least"));
    let v = HeatingVessel {
        system,
        expansion: heating.circuits[circuit].liquid.expansion(cold, temperatures.flow),
        charge: p0,
        highest: below_valve(work, setting),
        reserve,
    };
    let internal: f64 = sources.iter().filter_map(|s| work.system.part(*s).number("vessel")).sum();
    let assumed = volume.assumed
        || temperatures.assumed
        || charge.is_none_or(|c| c.origin.is_assumed())
        || vessels.iter().any(|v| work.system.part(*v).attrs.is_assumed("litres"));
    let en = v.least();
    work.figures.push(
        Note::new("heating-vessel.en12828", &about, "least heating vessel by EN 12828")
            .by(
                "EN 12828, Annex D",
                "Vn = (e V + Vwr)(pe + 1)/(pe - p0)",
                "EN 12828, Annex D (from memory)",
            )
            .with("V", system, "l")
            .with("e", v.expansion, "")
            .with("Vwr", reserve, "l")
            .with("pe", v.highest, "bar")
            .with("p0", p0, "bar")
            .assumed(assumed)
            .gives(finite(en), "l", format!("{} l", plain(en, 1))),
    );
    let bs = by_factor(work, &about, &v, temperatures.flow, setting, assumed);
    let need = en.max(bs);
    let governs = if en >= bs { "EN 12828 governs" } else { "BS 7074-1 governs" };
    let sizes = &hydraulics().vessel_sizes.heating;
    let pick = vessel::pick(need - internal, sizes);
    let window = work.aims.get("EXP14.window");
    // What is chosen here is not refused by the next sheet: one can fill it, too.
    let fillable = sizes.iter().copied().filter(|s| *s >= need - internal - 1e-9).find(|s| {
        let (lowest, highest) = v.fill(s + internal);
        highest - lowest >= window
    });
    choose(work, &vessels, fillable.or(pick));
    let given: f64 = vessels.iter().filter_map(|v| work.system.part(*v).number("litres")).sum();
    let has = given + internal;
    let word = if has + 1e-9 >= need { "enough" } else { "TOO SMALL" };
    let picked =
        pick.map_or("beyond the stocked sizes".to_owned(), |p| format!("fit {} l", plain(p, 0)));
    let text = if has + 1e-9 >= need {
        format!("{governs}: {} l; {} l fitted: {word}", plain(need, 1), plain(has, 0))
    } else if has > 0.0 {
        format!("{governs}: {} l; {} l fitted: {word}; {picked}", plain(need, 1), plain(has, 0))
    } else {
        format!("{governs}: {} l; {picked}", plain(need, 1))
    };
    work.figures.push(
        Note::new("heating-vessel.volume", &about, "heating vessel")
            .by("the larger of both methods", "max(EN 12828, BS 7074-1)", "EN 12828; BS 7074-1")
            .with("EN 12828", finite(en), "l")
            .with("BS 7074-1", finite(bs), "l")
            .with("fitted", given, "l")
            .with("inside the source", internal, "l")
            .with("stocked size", pick.unwrap_or(0.0), "l")
            .assumed(assumed)
            .gives(finite(need), "l", text),
    );
    fill(
        work,
        &about,
        &v,
        if has > 0.0 { has } else { pick.unwrap_or(need) },
        (head, head_assumed, least_charge),
        assumed,
    );
}

/// A vessel that is only assumed, and too small to hold or to fill, becomes the stocked size that is
/// not.
fn choose(work: &mut Work, vessels: &[PartIx], pick: Option<f64>) {
    let ([only], Some(litres)) = (vessels, pick) else { return };
    let attrs = &work.system.part(*only).attrs;
    if !attrs.is_assumed("litres") || attrs.number("litres").is_some_and(|has| has + 1e-9 >= litres)
    {
        return;
    }
    let why = "the least stocked size that EN 12828 and BS 7074-1 allow and that leaves room to fill \
               it; read the vessel";
    work.reassume(*only, "litres", litres, why);
    let (diameter, height) = crate::complete::stock_body(litres);
    for (key, mm) in [("diameter", diameter), ("height", height)] {
        let attrs = &mut work.system.parts[only.0].attrs;
        if attrs.get(key).is_some_and(|v| matches!(v.origin, Origin::Derived { .. })) {
            attrs.set_number(key, Value::derived(mm, "generic vessel of that content"));
        }
    }
}

/// BS 7074-1 style: a factor on the system's volume.
fn by_factor(
    work: &mut Work,
    about: &str,
    v: &HeatingVessel,
    hot: f64,
    setting: f64,
    assumed: bool,
) -> f64 {
    let rows: Vec<(f64, f64)> = [0.5, 1.0, 1.5]
        .into_iter()
        .map(|charge| (charge, work.aims.get(&format!("EXP06.factor-{charge:.1}"))))
        .collect();
    let cooler = hot < work.aims.get("EXP06.cooler-below");
    let share = if cooler { work.aims.get("EXP06.cooler-share") } else { 1.0 };
    let litres = vessel::by_factor(v.system, v.charge, &rows) * share;
    let limit = work.aims.limit("EXP06.factor-1.0").source.clone();
    work.figures.push(
        Note::new("heating-vessel.bs7074", about, "least heating vessel by the factor method")
            .by(
                "BS 7074-1 factor for a 3 bar valve",
                "V = factor x system, x 0.8 below 88 °C",
                &limit,
            )
            .with("system", v.system, "l")
            .with("charge", v.charge, "bar")
            .with("factor", litres / v.system.max(1e-9) / share, "")
            .with("share for cooler water", share, "")
            .with("safety valve", setting, "bar")
            .assumed(assumed)
            .gives(finite(litres), "l", format!("{} l", plain(litres, 1))),
    );
    litres
}

fn fill(
    work: &mut Work,
    about: &str,
    v: &HeatingVessel,
    litres: f64,
    (head, head_assumed, least_charge): (f64, bool, f64),
    assumed: bool,
) {
    let limit = work.aims.limit("EXP12.margin").clone();
    let (lowest, highest) = v.fill(litres);
    if lowest.is_finite() && highest.is_finite() && lowest > -1.0 {
        let middle = 0.5 * (lowest + highest);
        let text = if highest >= lowest {
            let narrow = highest - lowest < work.aims.get("EXP14.window");
            let more =
                if narrow { "; a narrow window: the next size is easier to fill" } else { "" };
            let (from, to) = (plain(lowest, 2), plain(highest, 2));
            format!("fill cold to between {from} and {to} bar{more}")
        } else {
            format!("no room: lowest {} above highest {} bar", plain(lowest, 2), plain(highest, 2))
        };
        work.figures.push(
            Note::new("heating.fill", about, "cold fill")
                .by(
                    "EN 12828, Annex D",
                    "lowest Vn(p0 + 1)/(Vn - Vwr) - 1; highest (pe + 1)/(1 + Ve(pe + 1)/(Vn(p0 + 1))) - 1",
                    "EN 12828, Annex D (from memory)",
                )
                .with("Vn", litres, "l")
                .with("Vwr", v.reserve, "l")
                .with("Ve", v.expansion * v.system, "l")
                .with("p0", v.charge, "bar")
                .with("pe", v.highest, "bar")
                .with("lowest", lowest, "bar")
                .with("highest", highest, "bar")
                .assumed(assumed)
                .gives(middle, "bar", text),
        );
    }
    work.figures.push(
        Note::new("heating.least-charge", about, "least charge of the heating vessel")
            .by("static head and a margin", "p0 = rho g h + 0.3, no less than 0.5", &limit.source)
            .with("static head", head, "bar")
            .with("margin", limit.value, "bar")
            .with("charge", v.charge, "bar")
            .assumed(head_assumed)
            .gives(least_charge, "bar", format!("{} bar or more", plain(least_charge, 2))),
    );
}

fn solar(work: &mut Work, heating: &Heating, circuit: usize, volume: &Volume) {
    let vessels = of_kind(work, heating, circuit, "solar vessel");
    let sources = &heating.circuits[circuit].sources;
    let Some(about) = vessels.first().or(sources.first()).map(|ix| work.tag(*ix)) else { return };
    let collector: f64 = sources.iter().map(|s| volume::of_part(work, *s, None).0).sum::<f64>()
        * work.aims.get("SIZE.solar-steam");
    let liquid = heating.circuits[circuit].liquid.clone();
    let hot = work.aims.get("SIZE.solar-hot").min(100.0);
    let expansion = liquid.expansion(work.aims.get("SIZE.store-cold"), hot);
    let system = volume.litres();
    let expanded = expansion * system;
    let reserve =
        (system * work.aims.get("EXP06.reserve-share")).max(work.aims.get("EXP06.reserve-least"));
    let valve = of_kind(work, heating, circuit, "safety valve");
    let setting = valve
        .first()
        .and_then(|v| work.system.part(*v).number("setting"))
        .unwrap_or(work.aims.get("SIZE.solar-valve"));
    let charge = vessels.first().and_then(|v| work.system.part(*v).number("charge")).unwrap_or(1.5);
    let highest = setting * 0.9;
    let need = vessel::solar(expanded, collector, reserve, charge, highest);
    let given: f64 = vessels.iter().filter_map(|v| work.system.part(*v).number("litres")).sum();
    let pick = vessel::pick(need, &hydraulics().vessel_sizes.solar);
    let (word, instead) = match given + 1e-9 >= need {
        true => ("enough", String::new()),
        false => ("TOO SMALL", format!("; fit {} l", plain(pick.unwrap_or(need), 0))),
    };
    work.figures.push(
        Note::new("solar-vessel.volume", &about, "solar vessel")
            .by(
                "steam, expansion and reserve",
                "V = (e V + steam + reserve)(pe + 1)/(pe - p0)",
                "common practice; EN 12976 and EN 12977 leave it to the maker",
            )
            .with("system", system, "l")
            .with("e", expansion, "")
            .with("steam", collector, "l")
            .with("reserve", reserve, "l")
            .with("pe", highest, "bar")
            .with("p0", charge, "bar")
            .with("fitted", given, "l")
            .with("stocked size", pick.unwrap_or(0.0), "l")
            .assumed(true)
            .gives(
                finite(need),
                "l",
                format!("{} l; {} l fitted: {word}{instead}", plain(need, 1), plain(given, 0)),
            ),
    );
}

/// The vessel of the stores behind one check valve.
fn potable(work: &mut Work, ix: PartIx) {
    let part = work.system.part(ix).clone();
    let reach = behind_check(work, ix);
    let stores: Vec<&Part> = reach
        .parts
        .iter()
        .map(|p| work.system.part(*p))
        .filter(|p| p.kind.key.ends_with("cylinder"))
        .filter(|p| !p.declares("air gap inside") && !p.declares("twin air gap"))
        .collect();
    if stores.is_empty() {
        return;
    }
    let litres: f64 = stores.iter().filter_map(|p| p.number("litres")).sum();
    let hot = stores.iter().map(|p| p.hottest_stored().unwrap_or(60.0)).fold(f64::NAN, f64::max);
    let cold = work.aims.get("SIZE.store-cold");
    let assumed =
        stores.iter().any(|p| p.attrs.is_assumed("litres")) || part.attrs.is_assumed("litres");
    let vessels: f64 = reach
        .parts
        .iter()
        .map(|p| work.system.part(*p))
        .filter(|p| p.kind.key == "hot-water vessel")
        .filter_map(|p| p.number("litres"))
        .sum();
    let setting = |key: &str, parts: &[PartIx]| {
        let mut of = parts.iter().map(|p| work.system.part(*p)).filter(|p| p.kind.key == key);
        of.find_map(|p| p.number("setting"))
    };
    let charge =
        part.number("charge").or_else(|| setting("reducing valve", &reach.edge)).unwrap_or(3.0);
    let relief = setting("expansion relief valve", &reach.parts).unwrap_or(6.0);
    let highest = relief * (1.0 - work.aims.get("EXP03.relief-share"));
    let system = litres + reach.loop_litres;
    let share = Liquid::Water.expansion(cold, hot);
    let expanded = system * share;
    let least = vessel::potable(expanded, charge, highest);
    let customary = vessel::customary(litres);
    let sizes = &hydraulics().vessel_sizes.potable;
    let pick = vessel::pick(least.max(customary.unwrap_or(0.0)), sizes);
    let word = if vessels + 1e-9 >= least { "enough" } else { "TOO SMALL" };
    let customary_text =
        customary.map_or(String::new(), |c| format!(", customary {} l", plain(c, 0)));
    let mut note = Note::new("hot-vessel.volume", &part.tag, "least hot-water vessel")
        .by(
            "expansion over the share of the vessel that can take it",
            "V = e Vs/(1 - (p0 + 1)/(pe + 1))",
            "BS 7074-1 form; IAPWS-IF97",
        )
        .with("Vs", system, "l")
        .with("of it in the circulation", reach.loop_litres, "l")
        .with("e", share, "")
        .with("hottest", hot, "°C")
        .with("p0", charge, "bar")
        .with("pe", highest, "bar")
        .with("fitted", vessels, "l");
    if let Some(c) = customary {
        note = note.with("customary", c, "l");
    }
    let note = note.with("stocked size", pick.unwrap_or(0.0), "l").assumed(assumed).gives(
        finite(least),
        "l",
        format!(
            "{} l by expansion{customary_text}; {} l fitted: {word}",
            plain(least, 1),
            plain(vessels, 0)
        ),
    );
    work.figures.push(note);
    work.figures.push(
        Note::new("hot-vessel.expansion", &part.tag, "water that expansion makes")
            .by("expansion", "e Vs, e = rho cold/rho hot - 1", "IAPWS-IF97")
            .with("Vs", system, "l")
            .with("cold", cold, "°C")
            .with("hottest", hot, "°C")
            .assumed(assumed)
            .gives(expanded, "l", format!("{} l", plain(expanded, 2))),
    );
}

/// What shares the vessel's water.
struct Reach {
    parts: Vec<PartIx>,
    /// Check and reducing valves at its edge, and what stands one step behind them.
    edge: Vec<PartIx>,
    loop_litres: f64,
}

/// Everything joined to the vessel without a check valve between.
fn behind_check(work: &Work, vessel: PartIx) -> Reach {
    let mut reach = Reach { parts: Vec::new(), edge: Vec::new(), loop_litres: 0.0 };
    let Some(start) = work.graph.named(&work.system, vessel, "in") else { return reach };
    let mut seen = vec![false; work.graph.chambers()];
    let mut pipes = std::collections::BTreeSet::<PipeIx>::new();
    let mut queue = vec![start];
    while let Some(chamber) = queue.pop() {
        if std::mem::replace(&mut seen[chamber], true) {
            continue;
        }
        let ix = work.graph.part[chamber];
        let part = work.system.part(ix);
        if part.kind.closes == Closes::Check {
            reach.edge.extend(above(work, chamber));
            continue;
        }
        if part.kind.key == "reducing valve" {
            reach.edge.push(ix);
            continue;
        }
        reach.parts.push(ix);
        for pipe in work.graph.into[chamber].iter().chain(&work.graph.out[chamber]) {
            let service = work.system.pipe(*pipe).service;
            // Relief valves stand shut and a tundish is an air gap: what hangs on one discharge
            // pipe shares no water.
            if service.water() == Water::Discharge {
                continue;
            }
            if service == crate::model::Service::HotReturn {
                pipes.insert(*pipe);
            }
            let (a, b) = work.graph.ends[pipe.0];
            queue.extend([a, b]);
        }
    }
    reach.loop_litres = pipes.iter().map(|p| volume::of_pipe(work, *p)).sum();
    reach
}

/// Parts above a check valve as far as the reducing valve.
fn above(work: &Work, chamber: usize) -> Vec<PartIx> {
    let mut found = Vec::new();
    let mut at = chamber;
    for _ in 0..50 {
        let Some(pipe) = work.graph.into[at].first() else { break };
        at = work.graph.from(*pipe);
        let ix = work.graph.part[at];
        found.push(ix);
        if work.system.part(ix).kind.key == "reducing valve" {
            break;
        }
    }
    found
}

/// JSON knows no infinity.
fn finite(litres: f64) -> f64 {
    if litres.is_finite() { litres } else { 0.0 }
}
