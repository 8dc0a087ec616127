//! Design 2.7: what an edit does not concern stays where it stood.

use std::collections::{BTreeMap, BTreeSet};

use firstfix::draw::frame::{TitleData, dress};
use firstfix::draw::quality::measure;
use firstfix::draw::schematic::sheets;
use firstfix::layout::schematic::{NEAR, SchematicPlan, lay_out, lay_out_after, moved};
use firstfix::model::{PortRef, System};
use firstfix::render::{Typeface, svg};

use super::{jobs, sized, sound};

/// The schematic's sheets as files.
fn drawn(text: &str) -> Vec<String> {
    let sized = sized(text);
    let title = TitleData::of(&sized.system);
    sheets(&sized, &lay_out(&sized))
        .into_iter()
        .map(|sheet| svg(&dress(sheet, &title, 1, 1), Typeface::Named))
        .collect()
}

/// The facts of a text the other way round.
fn backwards(text: &str) -> String {
    let mut facts: kdl::KdlDocument = text.parse().unwrap();
    facts.nodes_mut().reverse();
    facts.to_string()
}

#[test]
fn facts_in_another_order_give_the_same_bytes() {
    for (name, text) in sound() {
        assert_eq!(drawn(&text), drawn(&backwards(&text)), "{name}");
    }
}

/// Every zone under another name; names decide the order of zones, so the order of names stays.
fn renamed(text: &str) -> String {
    let zones = text.lines().filter_map(|l| l.strip_prefix("zone \"")?.split('"').next());
    zones.fold(text.to_owned(), |text, zone| {
        text.replace(&format!("\"{zone}\""), &format!("\"{zone}, as the owner calls it\""))
    })
}

fn same_places(name: &str, before: &SchematicPlan, after: &SchematicPlan) {
    assert_eq!(before.pages.len(), after.pages.len(), "{name}");
    for (a, b) in before.pages.iter().zip(&after.pages) {
        let far = moved(a, b).iter().filter(|(_, mm)| *mm > 0.0).count();
        assert!(far == 0 && a.sheet == b.sheet, "{name}: {far} parts moved");
        let turned = a.symbols.iter().zip(&b.symbols).find(|(a, b)| a != b);
        assert!(turned.is_none(), "{name}: {turned:?}");
        let other = a.pipes.iter().zip(&b.pipes).find(|(a, b)| a != b);
        assert!(other.is_none(), "{name}: {other:?}");
    }
}

#[test]
fn a_part_renamed_moves_nothing() {
    let mut zones = 0;
    for (name, text) in sound() {
        let (old, new) = (sized(&text), sized(&renamed(&text)));
        zones += new.system.parts.iter().filter(|p| p.name.contains("calls it")).count();
        let before = lay_out(&old);
        same_places(&name, &before, &lay_out(&new));
        same_places(&name, &before, &lay_out_after(&new, &before));
    }
    assert!(zones > 50, "{zones} parts bear a new name");
}

/// The same text after itself is the same drawing.
#[test]
fn nothing_changed_moves_nothing() {
    for (name, text) in sound() {
        let sized = sized(&text);
        let before = lay_out(&sized);
        let after = lay_out_after(&sized, &before);
        for (a, b) in before.pages.iter().zip(&after.pages) {
            let far: Vec<_> = moved(a, b).into_iter().filter(|(_, mm)| *mm > 0.0).collect();
            assert!(far.is_empty() && a.sheet == b.sheet, "{name}: {far:?}");
        }
    }
}

/// One edit each, as a customer's change of mind makes it.
fn edits(text: &str) -> Vec<(&'static str, String)> {
    let mut all = Vec::new();
    if text.contains("complete #false") || text.contains("building ") {
        return all;
    }
    if text.contains("\nzone ") {
        let zone = "zone \"a room more\" kw=1 radiators=1\n";
        all.push(("a zone more", format!("{text}\n{zone}")));
    }
    let mut zones: Vec<&str> = text.lines().filter(|l| l.starts_with("zone ")).collect();
    if let (Some(last), true) = (zones.pop(), !zones.is_empty()) {
        all.push(("a zone less", text.replace(&format!("{last}\n"), "")));
    }
    if !text.contains("outside-tap") {
        all.push(("a tap more", text.replace("outlets { ", "outlets { outside-tap; ")));
    }
    if text.contains("; wc") {
        let (head, tail) = text.split_once("; wc").unwrap();
        let rest = tail.trim_start_matches([' ', '1', '2', '3', '4', '5', '6', '7', '8', '9']);
        let rest = if rest.starts_with([';', '}']) { rest.to_owned() } else { format!(" {rest}") };
        all.push(("the WC less", format!("{head} {rest}")));
    }
    if !text.contains("scale-reducer") && !text.contains("softener") {
        all.push(("a scale reducer more", format!("{text}\nscale-reducer\n")));
    }
    // Where the water expands inside there is no expansion branch to put a valve in.
    let inside = text.contains("factory-fitted") || text.contains("expansion=\"internal\"");
    if !text.contains("\nrun ") && !inside {
        let run = "run \"expansion branch\" \"cold tee\" \"check valve 9\" \"hot-water vessel\"";
        let part = "part \"check valve 9\" kind=\"check valve\"";
        all.push(("a valve put in", format!("{text}\n{part}\n{run}\n")));
    }
    all
}

/// Parts that an edit brings, takes away or joins anew, by name.
fn concerned(before: &System, after: &System) -> BTreeSet<String> {
    let ends = |s: &System| -> BTreeSet<(String, String)> {
        let name = |p: PortRef| s.part(p.part).name.clone();
        s.pipes
            .iter()
            .flat_map(|p| [(name(p.from), name(p.to)), (name(p.to), name(p.from))])
            .collect()
    };
    let (a, b) = (ends(before), ends(after));
    let mut all: BTreeSet<String> =
        a.symmetric_difference(&b).flat_map(|(p, q)| [p.clone(), q.clone()]).collect();
    let names =
        |s: &System| -> BTreeSet<String> { s.parts.iter().map(|p| p.name.clone()).collect() };
    all.extend(names(before).symmetric_difference(&names(after)).cloned());
    all
}

/// What an edit did to one sheet.
struct Steady {
    job: String,
    edit: &'static str,
    /// Parts that it does not concern, and those of them that moved.
    still: usize,
    far: Vec<String>,
    /// The sheet had no room left.
    other_sheet: bool,
}

fn steadiness() -> Vec<Steady> {
    let mut all = Vec::new();
    for (job, text) in jobs() {
        let old = sized(&text);
        let before = lay_out(&old);
        for (edit, edited) in edits(&text) {
            let new = sized(&edited);
            let after = lay_out_after(&new, &before);
            let title = TitleData::of(&new.system);
            for sheet in sheets(&new, &after) {
                let hard = measure(&dress(sheet, &title, 1, 1)).hard;
                assert_eq!(hard.total(), 0, "{job}, {edit}: {hard:?}");
            }
            let touched = concerned(&old.system, &new.system);
            let (a, b) = (&before.pages[0], &after.pages[0]);
            let (mut still, mut far) = (0, Vec::new());
            for (part, mm) in moved(a, b) {
                let name = &b.system.part(part).name;
                if !touched.contains(name) {
                    still += 1;
                    far.extend((mm > NEAR).then(|| format!("{name} {mm:.1}")));
                }
            }
            let other_sheet = a.sheet != b.sheet;
            all.push(Steady { job: job.clone(), edit, still, far, other_sheet });
        }
    }
    all
}

fn sums(all: &[Steady]) -> BTreeMap<&'static str, (usize, usize)> {
    let mut sums: BTreeMap<&str, (usize, usize)> = BTreeMap::new();
    for s in all {
        let sum = sums.entry(s.edit).or_default();
        *sum = (sum.0 + s.still, sum.1 + s.far.len());
    }
    sums
}

/// Most sheets have room for one thing more between what stands; on a full one something gives way.
#[test]
fn an_edit_leaves_the_rest_in_place() {
    let all = steadiness();
    for (edit, (still, far)) in sums(&all) {
        assert!(still > 300 && far * 10 <= still, "{edit}: {far} of {still} moved");
    }
    let calm = all.iter().filter(|s| s.far.is_empty()).count();
    assert!(calm * 2 > all.len(), "{calm} of {} edits move nothing else", all.len());
}

#[test]
#[ignore = "prints how much moves after each edit"]
fn steady() {
    let all = steadiness();
    for s in &all {
        let Steady { job, edit, still, far, other_sheet } = s;
        let sheet = if *other_sheet { " OTHER SHEET" } else { "" };
        let named = far.iter().take(8).cloned().collect::<Vec<_>>().join(", ");
        println!("{job}, {edit}: {} of {still} moved{sheet} {named}", far.len());
    }
    for (edit, (still, far)) in sums(&all) {
        println!("{edit}: {far} of {still}");
    }
}
