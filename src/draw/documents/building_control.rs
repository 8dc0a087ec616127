//! The sheet for building control: what the surveyor measures with a tape and asks for in words.
//! In: the sized system, the report, the cupboard. Out: sheets. Names of makes are blanks: the
//! installer fills them in.

use super::verdicts::{ends_badly, fails, of_discharge, uncut, verdicts, within_sources};
use super::words::{self, called, listed, own, plain, together};
use crate::check::Report;
use crate::draw::frame::{TitleData, nation};
use crate::draw::scene::{Anchor, Ink, Item, Paper, Shape, Sheet, Stroke, Words};
use crate::draw::style::{letters, width};
use crate::draw::tables::{Flow, words as text};
use crate::layout::cupboard::plan::{CupboardPlan, HeightChain};
use crate::model::{Attrs, P2, Part, Rect, Service, System, whole_mm};
use crate::size::Sized;

/// What this sheet prints of a part and nobody may have read yet.
const PRINTED: [&str; 6] = ["litres", "working-pressure", "kw", "setting", "temperature", "charge"];

/// "7 bar*": with the star of what is assumed.
fn quantity(attrs: &Attrs, key: &str, unit: &str) -> String {
    let said = words::quantity(attrs, key, unit);
    if said.is_empty() || !attrs.is_assumed(key) {
        return said;
    }
    // The star stands at the figure with its unit, not after all its words.
    match said.match_indices(' ').nth(1) {
        Some((at, _)) => format!("{}*{}", &said[..at], &said[at..]),
        None => format!("{said}*"),
    }
}

/// What somebody fills in and signs, before and after what is asked of each store.
const SIGNED: [&str; 3] = [
    "Installer, name and card number",
    "Designer, if another",
    "Route: scheme certificate, or building notice number",
];
const SIGNED_LAST: [&str; 2] = ["Date of completion", "Signature"];
/// So many stores have a line each for what they are.
const MOST_STORES: usize = 4;
/// From one row of what is signed to the next, mm.
const WHO_ROW: f64 = 10.5;

/// So many cylinders have a line each for their serial number.
const MOST_SERIALS: usize = 12;

pub fn building_control(
    sized: &Sized,
    report: &Report,
    plan: Option<&CupboardPlan>,
    data: &TitleData,
) -> Vec<Sheet> {
    let begun = || Flow::new("building-control", "Notification drawing", Paper::A4_PORTRAIT, data);
    Flow::fewest(begun, |flow| written(flow, &sized.system, report, plan))
}

fn written(flow: &mut Flow, system: &System, report: &Report, plan: Option<&CupboardPlan>) {
    let outside: Vec<&str> =
        system.parts.iter().filter(|p| p.lies_outside()).map(|p| p.tag.as_str()).collect();
    if !outside.is_empty() {
        let tags = listed(&outside);
        flow.strong(&format!(
            "OUT OF SCOPE: no rule here covers {tags}. Do not rely on this sheet for it."
        ));
    }
    flow.heading(&format!("{}: particulars", work(system)));
    flow.table(&[text("", 60.0), text("", 112.0)], &particulars(system));
    flow.heading("Heat sources and their safety devices");
    flow.table(
        &[
            text("Source", 40.0),
            text("Input", 18.0),
            text("Control thermostat", 36.0),
            text("Overheat cut-out", 42.0),
            text("Relief", 36.0),
        ],
        &sources(system, report),
    );
    flow.heading("Settings");
    flow.table(
        &[text("Device", 92.0), text("Setting", 40.0), text("As found", 40.0)],
        &settings(system, report),
    );
    if system.parts.iter().any(|p| PRINTED.iter().any(|key| p.attrs.is_assumed(key))) {
        flow.paragraph("* assumed, to be proved on site: see the sheet of findings.");
    }
    let chains = plan.map_or(&[][..], |p| &p.heights);
    for chain in chains {
        match chains {
            [_] => flow.heading("The discharge, to measure with a tape"),
            _ => {
                flow.heading(&format!("The discharge at {}, to measure with a tape", chain.tundish))
            }
        }
        let depth = 12.0 + LEVEL * chain.links.len() as f64;
        flow.picture(depth, |room| heights_picture(chain, room));
        of_discharge(report, &chain.tundish).for_each(|line| flow.strong(&line));
    }
    verdicts(flow, system, report);
    flow.heading("Where it ends");
    flow.paragraph(&terminations(system, report));
    let cups: Vec<&str> = system.of_kind("tundish").map(|(_, p)| p.tag.as_str()).collect();
    for captions in photographed(&cups) {
        flow.picture(24.0, |room| photo_boxes(&captions, room));
    }
    flow.heading("Who");
    let covered: Vec<&str> = system
        .parts
        .iter()
        .filter(|p| p.is_store() && !p.lies_outside())
        .map(|p| p.tag.as_str())
        .collect();
    if covered.is_empty() && !outside.is_empty() {
        flow.strong(
            "Nothing here is to be signed: no store on this sheet is one that its rules cover. Ask \
             building control what they want for it.",
        );
        return;
    }
    flow.paragraph(
        "Certificate to the occupier, notice to building control: within 30 days (Building \
         Regulations 2010, regulation 20, England).",
    );
    let captions = to_sign(&covered);
    flow.picture(WHO_ROW * captions.len().div_ceil(2) as f64, |room| lines(&captions, room));
}

fn pair(what: &str, value: impl Into<String>) -> Vec<String> {
    vec![what.to_owned(), value.into()]
}

fn particulars(system: &System) -> Vec<Vec<String>> {
    let field = |key: &str| system.job.fields.get(key).cloned().unwrap_or_default();
    let mut rows = vec![
        pair(
            "Site",
            Some(field("address")).filter(|a| !a.is_empty()).unwrap_or(system.job.name.clone()),
        ),
        pair("Work", format!("{}, {}", work(system), system.job.name)),
        pair(
            "Rules",
            format!("{} {}", nation(&system.rules.jurisdiction.value), system.rules.edition.value)
                .trim(),
        ),
    ];
    let cylinders: Vec<&Part> = system.parts.iter().filter(|p| p.is_store()).collect();
    // Stores that are alike share their rows.
    let mut groups: Vec<(String, Vec<&Part>)> = Vec::new();
    for part in &cylinders {
        let heated = match part.kind.key.as_str() {
            _ if part.lies_outside() => "OUT OF SCOPE: not an unvented cylinder",
            "direct cylinder" => "direct, electric",
            "twin-coil cylinder" => "indirect, two coils",
            _ => "indirect",
        };
        // What is drawn for the sake of drawing says nothing of what another store bears.
        let pressure = match part.lies_outside() {
            true => String::new(),
            false => quantity(&part.attrs, "working-pressure", "bar greatest working pressure"),
        };
        let how = [quantity(&part.attrs, "litres", "litres"), heated.to_owned(), pressure];
        let how: Vec<String> = how.into_iter().filter(|t| !t.is_empty()).collect();
        let how = how.join(", ");
        match groups.iter_mut().find(|(h, g)| *h == how && g[0].kind.key == part.kind.key) {
            Some((_, group)) => group.push(part),
            None => groups.push((how, vec![part])),
        }
    }
    for (how, group) in groups {
        let tags: Vec<&str> = group.iter().map(|p| p.tag.as_str()).collect();
        let tags = listed(&tags);
        let each = if group.len() > 1 { "each " } else { "" };
        let named = match group[..] {
            [one] if one.lies_outside() => format!("{} {}", one.tag, one.name),
            _ => together(&group),
        };
        rows.push(pair(&named, format!("{each}{how}")));
        // One make and model may serve them all; each has a serial number of its own.
        match group.len() {
            1 => rows.push(pair(&format!("{tags}: make, model, serial"), "")),
            n => {
                rows.push(pair(&format!("{tags}: make, model"), ""));
                if n > MOST_SERIALS {
                    rows.push(pair(
                        &format!("{tags}: serials"),
                        "on a list, to go with this sheet",
                    ));
                } else {
                    let serial = |p: &&Part| pair(&format!("{}: serial", p.tag), "");
                    rows.extend(group.iter().map(serial));
                }
            }
        }
        let part = group[0];
        let expansion = if part.has_air_gap() {
            "air gap inside the cylinder".to_owned()
        } else {
            let of = group.iter().map(|c| own(system, &cylinders, c, "hot-water vessel"));
            let vessels = once(of);
            match vessels.len() {
                1 if group.len() > 1 => format!("{}, for both together", vessels[0])
                    .replace("both", if group.len() == 2 { "both" } else { "all" }),
                n if n > 1 && n == group.len() => format!("one each: {}", listed(&vessels)),
                _ => format!("{each}{}", listed(&vessels)),
            }
        };
        rows.push(pair(&format!("{tags}: room for expansion"), expansion));
    }
    rows
}

/// What is stored, as the notice calls it.
fn work(system: &System) -> &'static str {
    let mut stores = system.parts.iter().filter(|p| p.is_store()).peekable();
    match stores.peek().is_some() && stores.all(Part::lies_outside) {
        true => "Hot water storage OUT OF SCOPE of these rules",
        false => "Unvented hot water storage",
    }
}

/// The tags of several lists of parts, each once.
fn once<'a>(lists: impl Iterator<Item = Vec<&'a Part>>) -> Vec<&'a str> {
    let mut tags: Vec<&str> = Vec::new();
    for part in lists.flatten() {
        if !tags.contains(&part.tag.as_str()) {
            tags.push(&part.tag);
        }
    }
    tags
}

/// What guards a source: cut-outs and thermostats fitted to it or named for it.
fn guards(system: &System, source: &Part, kind: &str) -> String {
    let mut found: Vec<String> = system
        .parts
        .iter()
        .filter(|p| p.kind.key == kind && p.text("guards") == Some(source.name.as_str()))
        .map(|p| with_setting(p, "°C"))
        .collect();
    if found.is_empty()
        && source.declares(match kind {
            "overheat cut-out" => "own cut-out",
            _ => "own thermostat",
        })
    {
        found.push("in its head".to_owned());
    }
    if found.is_empty() && source.kind.key != "immersion heater" {
        found = system
            .parts
            .iter()
            .filter(|p| p.kind.key == kind && p.on.is_some() && p.text("guards").is_none())
            .map(|p| with_setting(p, "°C"))
            .collect();
    }
    found.join(", ")
}

fn with_setting(part: &Part, unit: &str) -> String {
    format!("{} {}", part.tag, quantity(&part.attrs, "setting", unit)).trim().to_owned()
}

fn sources(system: &System, report: &Report) -> Vec<Vec<String>> {
    const RELIEF: &str = "temperature and pressure relief valve";
    let cylinders: Vec<&Part> = system.parts.iter().filter(|p| p.is_store()).collect();
    // Sources that are alike in all share a row; each has the relief of its own store.
    let mut groups: Vec<([String; 3], Vec<&Part>)> = Vec::new();
    for p in system.parts.iter().filter(|p| p.kind.heats) {
        let mut cut_out = guards(system, p, "overheat cut-out");
        let missing = report.findings.iter().any(|f| f.rule == "SAF02" && f.parts.contains(&p.tag));
        if missing && p.kind.key == "immersion heater" {
            cut_out = "NONE".to_owned();
        } else if !cut_out.is_empty() {
            cut_out.push_str(", reset by hand");
        }
        if let Some(fails) = uncut(system, report, p) {
            cut_out = format!("{cut_out}: {fails}").trim_start_matches(": ").to_owned();
        }
        // A collector's pump is worked by its own controller, not by the cylinder's thermostat.
        let control = match p.kind.key.as_str() {
            "solar collector" => {
                let own = system.of_kind("solar controller").map(|(_, c)| called(c));
                own.collect::<Vec<_>>().join(", ")
            }
            _ => guards(system, p, "cylinder thermostat"),
        };
        // A switch on the store stops no stove.
        let (control, cut_out) = match p.lies_outside() {
            true => ("OUT OF SCOPE".to_owned(), "OUT OF SCOPE".to_owned()),
            false => (control, cut_out),
        };
        let says = [quantity(&p.attrs, "kw", "kW"), control, cut_out];
        match groups.iter_mut().find(|(s, g)| *s == says && g[0].kind.key == p.kind.key) {
            Some((_, group)) => group.push(p),
            None => groups.push((says, vec![p])),
        }
    }
    groups
        .into_iter()
        .map(|([kw, thermostat, cut_out], group)| {
            let of = group.iter().map(|p| {
                let store = p.on.map(|ix| system.part(ix));
                let store = store.filter(|s| cylinders.iter().any(|c| c.tag == s.tag));
                match store {
                    Some(store) => own(system, &cylinders, store, RELIEF),
                    None => own(system, &[], p, RELIEF),
                }
            });
            let relief = once(of);
            let degrees =
                relief.first().and_then(|t| system.by_tag(t)).map_or_else(String::new, |ix| {
                    quantity(&system.part(ix).attrs, "temperature", "°C")
                });
            let relief = match group[0].lies_outside() {
                true => "OUT OF SCOPE".to_owned(),
                false => format!("{} {degrees}", listed(&relief)).trim().to_owned(),
            };
            vec![together(&group), kw, thermostat, cut_out, relief]
        })
        .collect()
}

fn settings(system: &System, report: &Report) -> Vec<Vec<String>> {
    let mut groups: Vec<(String, Vec<&Part>)> = Vec::new();
    for kind in [
        "reducing valve",
        "expansion relief valve",
        "temperature and pressure relief valve",
        "hot-water vessel",
        "accumulator",
        "safety valve",
        "heating vessel",
        "solar vessel",
    ] {
        for p in system.of_kind(kind).map(|(_, p)| p) {
            let mut setting = quantity(&p.attrs, "setting", "bar");
            if kind.ends_with("vessel") || kind == "accumulator" {
                let both = [("charge", "bar"), ("litres", "litres")];
                let both = both.map(|(key, unit)| quantity(&p.attrs, key, unit));
                let both: Vec<String> = both.into_iter().filter(|t| !t.is_empty()).collect();
                setting = both.join(", ");
                if p.number("charge").is_some() {
                    setting = format!("charge {setting}");
                }
            }
            if let Some(t) = p.number("temperature") {
                let star = if p.attrs.is_assumed("temperature") { "*" } else { "" };
                setting = format!("{} °C{star}, {setting}", plain(t));
            }
            if let Some(fails) = fails(report, &[&p.tag]) {
                setting = format!("{setting}: {fails}");
            }
            match groups.iter_mut().find(|(s, g)| *s == setting && g[0].kind.key == kind) {
                Some((_, group)) => group.push(p),
                None => groups.push((setting, vec![p])),
            }
        }
    }
    let own = groups.into_iter().map(|(setting, group)| (together(&group), setting));
    own.chain(within_sources(system, report))
        .map(|(device, setting)| vec![device, setting, String::new()])
        .collect()
}

fn terminations(system: &System, report: &Report) -> String {
    let mut groups: Vec<(String, Vec<&Part>)> = Vec::new();
    for p in system.pipes.iter().filter(|p| p.service == Service::Discharge2) {
        let part = system.part(p.to.part);
        if part.kind.ports.len() != 1 {
            continue;
        }
        let size = p.size.as_ref().map_or("?", |s| s.value.as_str());
        let fails =
            ends_badly(report, &[&p.id, &part.tag]).map_or(String::new(), |f| format!(": {f}"));
        let by = format!("by {size} mm {}{fails}", p.material.value);
        match groups.iter_mut().find(|(b, g)| *b == by && g[0].kind.key == part.kind.key) {
            Some((_, group)) => group.push(part),
            None => groups.push((by, vec![part])),
        }
    }
    let said = |(by, group): &(String, Vec<&Part>)| format!("{}, {by}", together(group));
    let ends: Vec<String> = groups.iter().map(said).collect();
    if ends.is_empty() {
        "No end is stated: say where the discharge ends before work starts.".to_owned()
    } else {
        format!(
            "The discharge ends at: {}. The end must be seen, and safe for people near it.",
            ends.join("; ")
        )
    }
}

/// From one level of the heights chain to the next, mm.
const LEVEL: f64 = 7.0;

/// The heights chain as a stack of levels, each with its height above the floor.
fn heights_picture(chain: &HeightChain, room: Rect) -> Vec<Item> {
    let thin = || Stroke::solid(width::THIN, Ink::BLACK);
    let mut items: Vec<Item> = Vec::new();
    let x = room.x + 60.0;
    let top = room.y + 8.0;
    let n = chain.links.len();
    for (i, link) in chain.links.iter().enumerate() {
        let y = top + LEVEL * i as f64;
        items.push(
            Shape::line(&[P2::new(room.x + 4.0, y), P2::new(room.right() - 4.0, y)], thin()).into(),
        );
        let level = format!("{} above FFL", whole_mm(link.z));
        items.push(Words::new(P2::new(room.x + 4.0, y - 1.2), level, letters::SMALL).bold().into());
        if i + 1 < n {
            let pipe = Stroke::solid(width::FRAME, Ink::BLACK);
            items.push(Shape::line(&[P2::new(x, y), P2::new(x, y + LEVEL)], pipe).into());
        }
        let colon = if link.says.is_empty() { "" } else { ": " };
        let what = format!("{}{colon}{}", link.what, link.says);
        // On the line of its own height, or it is read against the next.
        let mut words = Words::new(P2::new(x + 4.0, y - 1.2), what, letters::SMALL);
        if let Some(short) = link.slack.filter(|s| *s < -0.5) {
            words.text.push_str(&format!(", FAILS: {} short", whole_mm(-short)));
            words = words.bold();
        }
        items.push(words.into());
    }
    let y = top + LEVEL * (n - 1) as f64 + 4.5;
    items.push(
        Words::new(P2::new(room.x + 4.0, y), "Not to scale; mm.", letters::SMALL)
            .ink(Ink::GREY)
            .into(),
    );
    items
}

/// What is asked of whoever signs: of each store its own.
fn to_sign(stores: &[&str]) -> Vec<String> {
    let asked = "make, model, type approval";
    let own: Vec<String> = match stores {
        [] => Vec::new(),
        [_] => vec![format!("Cylinder: {asked}")],
        some if some.len() <= MOST_STORES => some.iter().map(|t| format!("{t}: {asked}")).collect(),
        many => vec![format!("{}: {asked}", listed(many))],
    };
    let plain = |all: &[&str]| all.iter().map(|s| (*s).to_owned()).collect::<Vec<_>>();
    [plain(&SIGNED), own, plain(&SIGNED_LAST)].concat()
}

/// Lines to write on, two in a row, each under what it is for.
fn lines(captions: &[String], room: Rect) -> Vec<Item> {
    let gap = 8.0;
    let w = (room.w - gap) / 2.0;
    let each = |(i, caption): (usize, &String)| {
        let (x, y) = (room.x + (w + gap) * (i % 2) as f64, room.y + WHO_ROW * (i / 2) as f64);
        let ends = [P2::new(x, y + WHO_ROW - 1.0), P2::new(x + w, y + WHO_ROW - 1.0)];
        let above = P2::new(x, y + letters::SMALL + 0.5);
        [
            Words::new(above, caption.clone(), letters::SMALL).into(),
            Shape::line(&ends, Stroke::solid(width::THIN, Ink::BLACK)).into(),
        ]
    };
    captions.iter().enumerate().flat_map(each).collect()
}

/// A row of photographs for each tundish, up to a few.
fn photographed(cups: &[&str]) -> Vec<[String; 3]> {
    const ROWS: usize = 4;
    let row = |cup: &str| {
        ["tundish", "pipe through the wall", "the end outside"].map(|what| format!("{cup}{what}"))
    };
    match cups.len() {
        2..=ROWS => cups.iter().map(|c| row(&format!("{c}, "))).collect(),
        _ => vec![row("")],
    }
}

fn photo_boxes(captions: &[String; 3], room: Rect) -> Vec<Item> {
    let gap = 6.0;
    let w = (room.w - 2.0 * gap) / 3.0;
    captions
        .iter()
        .enumerate()
        .flat_map(|(i, caption)| {
            let frame = Rect::new(room.x + (w + gap) * i as f64, room.y, w, room.h - 2.0);
            let text = format!("Photo: {caption}");
            let at = P2::new(frame.centre().x, frame.bottom() - 2.0);
            let edge = Stroke::dashed(width::THIN, &[2.0, 1.5], Ink::BLACK);
            [
                Shape::rect(frame, Some(edge), None).into(),
                Words::new(at, text, letters::SMALL).anchor(Anchor::Middle).into(),
            ]
        })
        .collect()
}
