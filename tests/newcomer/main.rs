//! What people type who have not read how: on a phone, in one breath, with a word wrong. It is read
//! as meant where it can mean one thing, and answered with a line to copy where it can't.

use firstfix::describe::{Reading, read};
use firstfix::diagnostic::{Diagnostic, Severity};
use firstfix::pipeline::work_out;

mod words;

fn found<'a>(reading: &'a Reading, code: &str) -> Option<&'a Diagnostic> {
    reading.diagnostics.iter().find(|d| d.code == code)
}

#[test]
fn the_nearest_known_word_is_offered() {
    for (text, word) in [
        ("cylnider litres=210", "cylinder"),
        ("outlets { showr 2 }", "shower"),
        ("boiler kw=24 retrun=50", "return"),
        ("part \"x\" \"isolating vlave\"", "isolating valve"),
        ("discharge to=\"gulley\"", "gully"),
        ("run \"r\" tee tee service=\"hot wter\"", "hot water"),
    ] {
        let reading = read(text);
        let d = &reading.diagnostics[0];
        assert!(d.label.contains(word), "{text}: {}", d.label);
        let edit = d.edit.as_ref().unwrap();
        let mut mended = text.to_owned();
        mended.replace_range(edit.span.clone(), &edit.replacement);
        assert_eq!(read(&mended).diagnostics, [], "{mended}");
    }
}

/// What can't be read is answered with what to write.
#[test]
fn what_cannot_be_read_is_answered_with_the_words_to_write() {
    for (text, code, hint) in [
        ("PRV 3bar", "unknown-node", "reducing-valve setting=3"),
        ("outlets { power shower }", "unknown-node", "write `shower`"),
        ("outlets { electric shower }", "unknown-node", "heats its own"),
        ("main \"3 bar\"", "loose-figure", "`static`"),
        ("outlets { hot tub }", "unknown-node", "`bath`"),
        ("place x=3", "unknown-node", "tundish-z"),
        ("zone \"up\" kw=3\nradiators 7", "unknown-node", "zone"),
        ("outlets { bath; kitchen-sink 2 }", "likely-slip", "basin"),
        ("zone \"all\" underfloor six pipes", "unexpected-value", "underfloor=6"),
        ("cupboard width=900\ncupboard width=1000", "given-twice", "building"),
        ("cylinder litres=80 cupboard=\"back room\"", "unknown-property", "one cupboard"),
        ("boiler kw=24\nboiler kw=30", "second-line", "delete the wrong one"),
        ("discharge wall=left\ndischarge wall=right", "second-line", "delete"),
        ("job \"x\" date=12/11/26", "bare-number", "year first"),
        ("main at=\"5 gpm\"", "which-gallon", "US gpm"),
        ("discharge to=\"the garden\"", "unknown-word", "gully"),
        ("cupboard \"back room\" width=900", "unexpected-value", "bears no name"),
        ("cupboard width=900\ndischarge wall=\"front\"", "likely-slip", "outside=#true"),
        (
            "cupboard width=900 { wall \"left\" outside=#true }\ndischarge wall=\"right\"",
            "likely-slip",
            "outside=#true",
        ),
        ("cylinder litres=400 diameter=300 height=900", "impossible-number", "plate"),
        ("bath, ensuite, kitchen sink", "room-of-outlets", "shower \"ensuite\""),
        ("2 en suites", "room-of-outlets", "wc"),
        ("hard water area", "unknown-node", "hardness"),
        ("thermostat hall", "unknown-node", "zone"),
        ("mains 10-15 l/min", "two-figures", "lower"),
        ("discharge 3-4m", "two-figures", "higher"),
        ("boiler 24-30kw", "two-figures", "plate"),
        ("cylinder 200-250 l", "two-figures", "plate"),
    ] {
        let reading = read(text);
        let d = found(&reading, code)
            .unwrap_or_else(|| panic!("{text:?} is not {code}: {:?}", reading.diagnostics));
        assert!(d.help.as_deref().is_some_and(|h| h.contains(hint)), "{text}: {d:?}");
        let edit = d.edit.as_ref().map_or("", |e| e.replacement.as_str());
        assert!(!edit.contains("shower shower"), "{text}");
    }
    assert_eq!(read("cylinder litres=\"45 gal\"\nmain at=\"5 gpm\"").diagnostics.len(), 1);
    assert_eq!(read("main at=\"5 US gpm\"").diagnostics, []);
}

/// Whoever pastes what is offered has done with that line.
#[test]
fn what_is_offered_can_be_pasted() {
    for typed in [
        "main 3.5 bar 22 l/min",
        "cylinder 210 litres indirect",
        "discharge right wall 3m 2 elbows gully",
        "zone upstairs 6kw 5 rads",
        "boiler 24kw 70/50 in kitchen",
        "cupboard 1.1m wide 80cm deep 2.35m high",
        "outlets bath, shower, 2 basins, kitchen sink, loo",
        "outlets { bath, shower, basin 2 }",
        "cyl 210",
        "main 3.5 2.5 22",
        "9 rads",
        "1 bath 1 shower 2 toilets",
        "210 litre cylinder indirect",
        "new cylinder litres=170",
        "cyclinder 210 litres indirect coil 20kw",
        "cupbord widht=1.1m depth=80cm",
        "hot water cylinder 210 litres",
        "cupbord width=900",
        "discharge lenght=2",
        "cylinder heated=\"electirc\"",
        "cupboard width=1,050 depth=800 height=2,300",
        "discharge length=2,5",
    ] {
        let mut text = typed.to_owned();
        let reading = read(&text);
        assert_eq!(reading.diagnostics.len(), 1, "{typed}: {:?}", reading.diagnostics);
        let edit = reading.diagnostics[0].edit.clone().unwrap();
        text.replace_range(edit.span, &edit.replacement);
        let pasted = read(&text);
        assert_eq!(pasted.diagnostics, [], "{text}");
        let system = |r: Reading| firstfix::complete::complete(&r.facts).system.digest();
        assert_eq!(system(pasted), system(reading), "{text}");
    }
}

/// Several words wrong on a line: one message, and a right line that reads without a murmur.
#[test]
fn a_line_with_faults_is_answered_once_with_a_right_one() {
    for typed in [
        "cylinder big 210 blue tank thing",
        "discharge goes somewhere, nobody knows",
        "outlets bath thing, other thing",
        "main good pressure round here",
        "boiler [24kw]",
        "zone )",
        "cylinder litre-age=210 warmed=\"gas\" colour=\"blue\"",
    ] {
        let said = read(typed).diagnostics;
        let errors: Vec<_> = said.iter().filter(|d| d.severity == Severity::Error).collect();
        assert_eq!(errors.len(), 1, "{typed}: {said:?}");
        let help = errors[0].help.as_deref().unwrap_or("");
        let right =
            help.strip_prefix("a right line: ").unwrap_or_else(|| panic!("{typed}: {help}"));
        assert_eq!(read(right).diagnostics, [], "{right}");
    }
}

/// One brace left out is one fault: what follows it is read.
#[test]
fn a_missing_brace_is_said_alone() {
    let text = "job \"Tired St\"\n\
        cupboard width=1100 depth=850 height=2350 { wall \"right\" outside=#true\n\
        main static=3.8 dynamic=2.8 at=24\n\
        cylinder litres=210 heated=\"indirect\" { coil kw=20 }\n\
        outlets { bath\n\
        boiler kw=24\n";
    let reading = read(text);
    let said: Vec<_> = reading.diagnostics.iter().map(|d| d.code).collect();
    assert_eq!(said, ["unclosed-brace", "unclosed-brace"], "{:?}", reading.diagnostics);
    let first = &reading.diagnostics[0];
    assert!(first.help.as_deref().unwrap().contains("before line 3"));
    // All of it is read: no sheet says that something is missing.
    assert!(reading.diagnostics.iter().all(|d| d.severity == Severity::Warning));
    let facts = &reading.facts;
    assert!(facts.main.is_some() && facts.cylinders.len() == 1 && facts.sources.len() == 1);
    let mut mended = text.to_owned();
    for d in reading.diagnostics.iter().rev() {
        let edit = d.edit.clone().unwrap();
        mended.replace_range(edit.span, &edit.replacement);
    }
    assert_eq!(read(&mended).diagnostics, [], "{mended}");
    // Blocks may hold words that begin lines elsewhere.
    let building = "building \"A\" floors=2 {\n flat {\n cylinder litres=150\n main static=3\n}\n}";
    assert_eq!(read(building).diagnostics, []);
}

#[test]
fn no_figure_is_printed_with_hundreds_of_noughts() {
    let said = read("discharge length=1e300").diagnostics;
    assert!(said[0].message.contains("1e300") && said[0].message.len() < 90, "{}", said[0].message);
}

/// Three figures of a line that want quotes are one remark, with one mend.
#[test]
fn figures_with_units_are_said_once_a_line() {
    let text = "main static=3.8bar dynamic=2.8bar at=24l/min";
    let said = read(text).diagnostics;
    assert_eq!(said.len(), 1, "{said:?}");
    let mut mended = text.to_owned();
    let edit = said[0].edit.clone().unwrap();
    mended.replace_range(edit.span, &edit.replacement);
    assert_eq!(read(&mended).diagnostics, [], "{mended}");
}

/// A second zone of one name is drawn: nothing may say that it is not.
#[test]
fn what_is_drawn_is_not_called_unread() {
    let outcome = work_out("zone \"rads\" kw=3\nzone \"rads\" kw=4\nboiler kw=24");
    let project = outcome.project.unwrap();
    assert_eq!(outcome.diagnostics[0].code, "duplicate-name");
    assert_eq!(project.report.unread_lines(), 0);
}

/// A line that can't be read is named and left out; the others stand, in a block too.
#[test]
fn a_line_that_cannot_be_read_stops_no_other() {
    let text =
        "cupboard {\n  width 1100\n  depth ]800\n  height 2300\n}\n)boo\ncylinder litres=210\n";
    let reading = read(text);
    assert!(reading.readable);
    let faults: Vec<&Diagnostic> =
        reading.diagnostics.iter().filter(|d| d.code == "syntax").collect();
    let lines: Vec<usize> =
        faults.iter().map(|d| text[..d.span.start].matches('\n').count() + 1).collect();
    assert_eq!(lines, [3, 6], "{:?}", reading.diagnostics);
    let cupboard = reading.facts.cupboard.as_ref().expect("the rest of the block");
    let of = |v: &Option<firstfix::describe::facts::Given<f64>>| v.as_ref().map(|v| v.value);
    assert_eq!(
        (of(&cupboard.width), of(&cupboard.depth), of(&cupboard.height)),
        (Some(1100.0), None, Some(2300.0))
    );
    assert_eq!(reading.facts.cylinders.len(), 1);
    // What is no description at all is none still.
    assert!(!read(&")\n".repeat(30)).readable);
    assert!(!read("(thing\n").readable);
}

/// A figure that no name could be found for stands beside what is assumed in its place.
#[test]
fn a_count_of_zones_is_so_many_zones() {
    for text in ["2 zones", "zones 2", "two zones"] {
        let reading = read(text);
        assert_eq!(reading.facts.zones.len(), 2, "{text}");
        assert!(reading.facts.zones.iter().all(|z| z.name.is_none()), "{text}");
        let said = found(&reading, "loose-figure").expect("a remark");
        assert!(said.message.contains("2 zones"), "{}", said.message);
    }
    // The second zone, not two of them.
    assert_eq!(read("zone 2 kw=5").facts.zones.len(), 1);
}

#[test]
fn a_loose_figure_that_was_dropped_stands_beside_the_assumption() {
    let text = "main 3.5 2.5 22 7\ncylinder litres=210";
    let system = firstfix::complete::complete(&read(text).facts).system;
    let of = |what: &str| system.assumptions.iter().find(|a| a.what == what).expect("assumed");
    for what in ["static pressure of the main", "dynamic pressure of the main"] {
        assert!(of(what).why.starts_with("`3.5 2.5 22 7` was typed"), "{}", of(what).why);
    }
    let read = firstfix::complete::complete(&read("main 3.5 2.5 22").facts).system;
    assert!(!read.assumptions.iter().any(|a| a.why.contains("NOT READ")));
}

/// Of a line that is partly unread, the rest is told: it was not lost.
#[test]
fn what_was_read_of_a_wrong_line_is_told() {
    let said = read("cupboard about 900 x 700 x 2.3m, hello there world").diagnostics;
    assert_eq!(said.len(), 1, "{said:?}");
    assert!(said[0].message.contains("width=900"), "{}", said[0].message);
}

/// One line, one mend: whoever takes what is shown has mended all of it.
#[test]
fn several_mends_of_a_line_are_one() {
    for text in [
        "cupboard width=0.95 depth=0.8 height=2.35",
        "discharge wall=\"back\" length=2500 elbows=2 size=22mm",
    ] {
        let said = read(text).diagnostics;
        let edits: Vec<_> = said.iter().filter_map(|d| d.edit.clone()).collect();
        assert_eq!(edits.len(), 1, "{said:?}");
        let mut mended = text.to_owned();
        mended.replace_range(edits[0].span.clone(), &edits[0].replacement);
        assert_eq!(read(&mended).diagnostics, [], "{mended}");
    }
    // A boiler to come out is none of the system.
    let reading = read("combi coming out\nnew system boiler 18kw");
    assert_eq!(reading.facts.sources.len(), 1, "{:?}", reading.facts.sources);
    assert_eq!(reading.facts.job.notes.len(), 1);
}

/// What nobody put in quotes becomes no name unsaid, and what could be a figure none at all.
#[test]
fn no_word_becomes_a_name_in_silence() {
    for text in ["cylinder 210 blue", "boiler 24kw lodge"] {
        assert!(
            found(&read(text), "loose-figure").is_some_and(|d| d.message.contains("as")),
            "{text}"
        );
    }
    for text in
        ["boiler is 24 or 28 kw", "cylinder is a big one", "immersion 3kw x2", "tundish 1400 high"]
    {
        let reading = read(text);
        let names = reading.facts.sources.iter().map(|s| &s.name);
        let names = names.chain(reading.facts.cylinders.iter().map(|c| &c.name));
        let names = names.chain(reading.facts.equipment.iter().map(|e| &e.name));
        let odd: Vec<&str> = names
            .flatten()
            .map(|n| n.value.as_str())
            .filter(|n| ["is", "24", "x2", "high"].contains(n))
            .collect();
        assert_eq!(odd, Vec::<&str>::new(), "{text}");
    }
    // Two zones and eleven radiators: nobody says whose.
    let reading = read("2 zones\n11 rads");
    assert_eq!(reading.facts.zones.len(), 2);
    assert!(found(&reading, "unknown-node").is_some_and(|d| d.help.is_some()));
}

/// Whatever people type, every line of it is read or said, and nothing falls over.
#[test]
fn every_line_is_read_or_said() {
    for text in JOTTED.split("\n\n").map(str::trim) {
        let reading = read(text);
        let system = firstfix::complete::complete(&reading.facts).system;
        assert!(!system.parts.is_empty());
        for (i, line) in text.lines().enumerate() {
            let start: usize = text.lines().take(i).map(|l| l.len() + 1).sum();
            let said = reading
                .diagnostics
                .iter()
                .any(|d| (start..=start + line.len()).contains(&d.span.start));
            let by_the_book = QUIET.contains(&line.trim());
            assert!(said || by_the_book, "{line:?} of {text:?}: {:?}", reading.diagnostics);
        }
    }
}

/// Lines that are read without a word, or said with the line above them.
const QUIET: &[&str] = &[
    "cylinder:",
    "main:",
    "cupboard:",
    "static 3.5",
    "width 1100",
    "zone 1 upstairs",
    "zone 2 downstairs",
    "Cylinder",
    "Boiler",
    "Mains",
    "9",
    "outlets = bath shower basin sink wc",
    "cylinder litres = 210",
    "boiler kw = 24",
];

/// As jotted down on site, with nothing but the front page of the manual read; parted by empty lines.
const JOTTED: &str = include_str!("../fixtures/jotted.txt");
