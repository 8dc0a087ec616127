//! Marks where findings stand. In: the undressed sheets, the report, the system. Out: the same
//! sheets; a part or a pipe that an error or a warning names bears a flag with the rule's number,
//! in what is white of the sheet, and a key says what was found. A sheet of wiring that shows none
//! of them stays as it is; another says that nothing of them is to be marked there.

mod around;
mod key;
mod look;
mod place;
mod white;

use std::collections::BTreeMap;

use self::around::{Around, Target};
use self::key::Sayings;
use self::place::{Taken, Want, aims, set};
use self::white::White;
use super::frame::{TitleData, drawing_space, title_block};
use super::scene::{Group, Item, Mark, Sheet};
use crate::check::{Report, Severity};
use crate::model::{P2, Rect, System};

/// Sheets whose parts are marked, by the beginning of their keys.
const MARKED: [&str; 4] = ["schematic", "elevation", "plan", "wiring-circuit"];
/// Families of rules that an electrician looks for.
const ELECTRICAL: [&str; 2] = ["CTL", "SAF"];
/// A finding of many places is marked at so many of them.
const MOST: usize = 8;
/// Rules about the way in, which is drawn with the door.
const BY_THE_DOOR: [&str; 1] = ["FIT01"];
/// What the plan calls the drawing of a door too narrow.
pub const DOOR: &str = "door";
/// What stands at a part that no rule covers.
const OUT_OF_SCOPE: &str = "OUT OF SCOPE";

/// How grave it is, the gravest first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Grade {
    /// No rule covers it.
    Outside,
    Error,
    Warning,
}

/// What stands against one part or pipe.
#[derive(Clone, Debug)]
struct Stand {
    /// Tag or pipe id.
    of: String,
    /// The same as a reader knows it, where the sheet shows only what holds it.
    names: Vec<String>,
    codes: Vec<(&'static str, Grade)>,
    /// Marked only where a sheet shows nothing else of the finding: what else it names.
    instead_of: Vec<String>,
}

impl Stand {
    fn at(of: &str) -> Stand {
        let (names, codes, instead_of) = (Vec::new(), Vec::new(), Vec::new());
        Stand { of: of.to_owned(), names, codes, instead_of }
    }

    fn add(&mut self, code: &'static str, grade: Grade) {
        match self.codes.iter_mut().find(|(c, _)| *c == code) {
            Some(known) => known.1 = known.1.min(grade),
            None => self.codes.push((code, grade)),
        }
    }

    fn gravest(&self) -> Option<Grade> {
        self.codes.iter().map(|(_, grade)| *grade).min()
    }
}

/// Marks every sheet that shows what a finding names.
pub fn mark(sheets: &mut [Sheet], system: &System, report: &Report, data: &TitleData) {
    let all = stands(system, report);
    if all.is_empty() {
        return;
    }
    let sayings = Sayings::of(system, report);
    for sheet in sheets.iter_mut().filter(|s| MARKED.iter().any(|k| s.key.starts_with(k))) {
        one(sheet, system, &all, (&sayings, data));
    }
}

/// What stands against each part, the gravest first.
fn stands(system: &System, report: &Report) -> Vec<Stand> {
    let mut all: BTreeMap<String, Stand> = BTreeMap::new();
    let mut add = |of: &str, code: &'static str, grade: Grade| {
        all.entry(of.to_owned()).or_insert_with(|| Stand::at(of)).add(code, grade);
    };
    let outside = report.is_out_of_scope();
    for part in system.parts.iter().filter(|p| outside && p.lies_outside()) {
        add(&part.tag, OUT_OF_SCOPE, Grade::Outside);
    }
    let is_store = |tag: &str| {
        let part = system.by_tag(tag).map(|ix| system.part(ix));
        part.is_some_and(|p| p.is_store())
    };
    let mut stores: Vec<Stand> = Vec::new();
    for f in report.findings.iter().filter(|f| f.severity != Severity::Advice) {
        let grade = if f.severity == Severity::Error { Grade::Error } else { Grade::Warning };
        let (own, after): (Vec<_>, Vec<_>) =
            f.parts.iter().take(MOST).enumerate().partition(|(i, of)| *i == 0 || !is_store(of));
        own.iter().for_each(|(_, of)| add(of, f.rule, grade));
        // A store that is named after the culprit is where it stands, not what is wrong; but where
        // a sheet shows nothing else of it, there it is.
        for (_, of) in after {
            let instead_of = own.iter().map(|(_, of)| (*of).clone()).collect();
            let mut stand = Stand { instead_of, ..Stand::at(of) };
            stand.add(f.rule, grade);
            stores.push(stand);
        }
    }
    let mut all: Vec<Stand> = all.into_values().chain(stores).collect();
    all.sort_by_key(Stand::gravest);
    all
}

/// What is to be marked on one sheet.
struct Wanted {
    stand: Stand,
    targets: Vec<Target>,
    kin: Vec<String>,
}

fn wanted(system: &System, all: &[Stand], sheet: &Sheet, around: &Around) -> Vec<Wanted> {
    let shown = &around.targets;
    let mut wanted: Vec<Wanted> = Vec::new();
    let is_shown = |of: &String| names(system, of).iter().any(|n| shown.contains_key(n));
    for stand in all.iter().filter(|s| !s.instead_of.iter().any(is_shown)) {
        let at_the_door = |code: &str| shown.contains_key(DOOR) && BY_THE_DOOR.contains(&code);
        let codes: Vec<_> =
            stand.codes.iter().copied().filter(|(c, _)| belongs(c, &sheet.key)).collect();
        let door = codes.iter().copied().filter(|(c, _)| at_the_door(c)).collect();
        let names = names(system, &stand.of);
        for (codes, names) in [(door, vec![DOOR.to_owned()]), (codes, names)] {
            let found = names.iter().find_map(|n| shown.get(n).map(|t| (n.clone(), t.clone())));
            let Some((of, targets)) = found.filter(|_| !codes.is_empty()) else { continue };
            let at = match wanted.iter().position(|w| w.stand.of == of) {
                // Two parts of one unit.
                Some(at) => at,
                None => {
                    wanted.push(Wanted { stand: Stand::at(&of), targets, kin: names });
                    wanted.len() - 1
                }
            };
            let there = &mut wanted[at].stand;
            codes.into_iter().for_each(|(c, grade)| there.add(c, grade));
            if of != stand.of && of != DOOR {
                there.names.push(called(system, &stand.of));
            }
        }
    }
    wanted
}

fn one(sheet: &mut Sheet, system: &System, all: &[Stand], (sayings, data): (&Sayings, &TitleData)) {
    let around = Around::of(&sheet.items);
    let wanted = wanted(system, all, sheet, &around);
    if wanted.is_empty() && sheet.key.starts_with("wiring") {
        return;
    }
    let block = title_block(sheet.paper, data);
    let white = White::of(sheet.paper, &sheet.items, &[block]);
    let space = drawing_space(sheet.paper);
    let mut rules: BTreeMap<&'static str, Grade> = BTreeMap::new();
    for (code, grade) in wanted.iter().flat_map(|w| &w.stand.codes) {
        let known = rules.entry(*code).or_insert(*grade);
        *known = (*known).min(*grade);
    }
    let elsewhere: Vec<&str> = data
        .error_rules
        .iter()
        .chain(&data.warning_rules)
        .filter(|code| belongs(code, &sheet.key) && !rules.contains_key(*code))
        .copied()
        .collect();
    let mut also = Vec::new();
    if !elsewhere.is_empty() {
        let none = if rules.is_empty() { "none: nothing" } else { "Nothing" };
        also.push(format!("{none} here to mark for {}", elsewhere.join(", ")));
    }
    // What finds no room is told in the key, which then needs more.
    let mut crowded: Vec<String> = Vec::new();
    loop {
        let mut also = also.clone();
        if !crowded.is_empty() {
            also.push(format!("No room for a mark, red dots: {}", crowded.join("; ")));
        }
        let told = key::told(&rules, sayings, &also, &data.findings_at());
        let key = key::key(&white, key::Space { sheet: space, drawn: around.hull() }, &told);
        let mut taken = Taken::default();
        taken.boxes.push(block);
        taken.boxes.extend(key.iter().map(|(at, _)| *at));
        let (mut items, left) =
            flags(system, &wanted, (&white, &around), (space, sheet), &mut taken);
        if left.len() > crowded.len() {
            crowded = left;
            continue;
        }
        items.extend(key.into_iter().flat_map(|(_, items)| items));
        sheet.items.push(Group { mark: Mark::Layer("findings"), title: None, items }.into());
        break;
    }
    let said: Vec<String> = wanted
        .iter()
        .map(|w| format!("{} at {}", joined(&w.stand.codes), called(system, &w.stand.of)))
        .collect();
    if !said.is_empty() {
        sheet.description.push_str(&format!(" Findings: {}.", said.join("; ")));
    }
}

/// The flags of a sheet, and what found no room.
fn flags(
    system: &System,
    wanted: &[Wanted],
    on: (&White, &Around),
    (space, sheet): (Rect, &Sheet),
    taken: &mut Taken,
) -> (Vec<Item>, Vec<String>) {
    let (mut items, mut left) = (Vec::new(), Vec::new());
    for Wanted { stand, targets, kin } in wanted {
        let at = called(system, &stand.of);
        // On a circuit a part has several places, each on a rung of its own.
        for target in targets.iter().take(MOST) {
            let want = Want { of: &stand.of, kin, target };
            let (aims, seen) = aims(on.1, &want);
            let mut after = match stand.names.as_slice() {
                [one] => format!(" {one}"),
                _ => String::new(),
            };
            if !seen {
                let where_ = if sheet.key.starts_with("plan") { "below" } else { "behind" };
                let name = if after.is_empty() { format!(" {at}") } else { after };
                after = format!("{name} {where_}");
            }
            let faces = look::faces(&stand.codes, &after);
            let sizes: Vec<(f64, f64)> = faces.iter().map(|f| f.size).collect();
            let text = joined(&stand.codes);
            let Some(set) = set(on, space, taken, &want, (&aims, &sizes)) else {
                items.extend(look::dotted(&outline(target)));
                left.push(format!("{at} ({text})"));
                continue;
            };
            taken.boxes.push(set.at);
            taken.tails.extend(set.tail);
            let title = (format!("{text} stands at {at}"), seen);
            items.push(look::drawn(&stand.of, &faces[set.size], &set, title));
        }
    }
    (items, left)
}

fn outline(target: &Target) -> Vec<(P2, P2)> {
    match target {
        Target::Line(edges) => edges.clone(),
        Target::Body(r) => {
            let r = r.grown(0.8);
            let corners = [
                P2::new(r.x, r.y),
                P2::new(r.right(), r.y),
                P2::new(r.right(), r.bottom()),
                P2::new(r.x, r.bottom()),
            ];
            (0..4).map(|i| (corners[i], corners[(i + 1) % 4])).collect()
        }
    }
}

/// True where a rule has something to say to the reader of that sheet.
fn belongs(code: &str, key: &str) -> bool {
    !key.starts_with("wiring")
        || code == OUT_OF_SCOPE
        || ELECTRICAL.iter().any(|family| code.starts_with(family))
}

/// By what a sheet may know a part or a pipe: itself, else the unit or the body that holds it.
fn names(system: &System, of: &str) -> Vec<String> {
    let part = system.by_tag(of).map(|ix| system.part(ix));
    let unit = part.and_then(|p| p.unit).map(|u| system.unit(u).tag.clone());
    let host = part.and_then(|p| p.on).map(|h| system.part(h).tag.clone());
    [of.to_owned()].into_iter().chain(unit).chain(host).collect()
}

/// A tag as it is; of a pipe its size and its letters, for its id stands nowhere.
fn called(system: &System, of: &str) -> String {
    let pipe = system.by_id(of);
    pipe.map_or_else(
        || of.to_owned(),
        |p| {
            let size = p.size.as_ref().map_or("", |s| s.value.as_str());
            format!("{size} {}", p.service.letters()).trim().to_owned()
        },
    )
}

/// The numbers of several rules.
fn joined(codes: &[(&'static str, Grade)]) -> String {
    codes.iter().map(|(c, _)| *c).collect::<Vec<_>>().join(", ")
}
