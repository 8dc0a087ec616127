//! The examples, from the text to the paper.

use firstfix::check::Severity;

use super::*;

fn examples() -> Vec<(String, Wiring, firstfix::draw::frame::TitleData)> {
    let mut list = Vec::new();
    for folder in ["examples", "examples/faulty"] {
        let dir = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
        let Ok(entries) = std::fs::read_dir(dir) else { continue };
        for e in entries {
            let path = e.expect("an entry").path();
            if path.extension().is_none_or(|x| x != "kdl") {
                continue;
            }
            let text = std::fs::read_to_string(&path).expect("an example");
            let facts = firstfix::describe::read(&text).facts;
            let system = firstfix::complete::complete(&facts).system;
            let data = firstfix::draw::frame::TitleData::of(&system);
            let name = path.strip_prefix(env!("CARGO_MANIFEST_DIR")).expect("inside");
            list.push((name.display().to_string(), firstfix::wire::wire(&system), data));
        }
    }
    list.sort_by(|a, b| a.0.cmp(&b.0));
    assert!(list.len() >= 8);
    list
}

#[test]
fn sound_examples_are_wired_without_a_fault() {
    for (name, w, _) in examples() {
        if name.contains("faulty") {
            continue;
        }
        let faults: Vec<_> =
            w.faults().into_iter().filter(|f| f.severity != Severity::Advice).collect();
        assert!(faults.is_empty(), "{name}: {faults:?}");
        assert!(!w.proofs().is_empty(), "{name}");
        assert!(w.proofs().iter().all(|p| p.holds), "{name}: {:?}", w.proofs());
        assert!(w.state_tables().iter().all(|t| t.whole), "{name}");
    }
}

#[test]
fn terminal_table_has_a_row_for_each_core_and_every_core_a_colour_in_words() {
    let arrangements = all().map(|(n, s)| (n.to_owned(), connect(&s)));
    let examples = examples().into_iter().map(|(n, w, _)| (n, w));
    for (name, w) in arrangements.into_iter().chain(examples) {
        let rows = firstfix::draw::wiring::terminal_rows(&w);
        assert_eq!(rows.len(), w.conductors.len(), "{name}");
        for r in &rows {
            assert!(r.iter().all(|c| !c.is_empty()), "{name}: {r:?}");
            let first = r[3].split(',').next().unwrap_or_default();
            let known =
                ["brown", "blue", "green-and-yellow", "black", "grey", "orange", "white", "red"];
            assert!(known.contains(&first), "{name}: {}", r[3]);
        }
        // Each cable's cores are in the table as often as the schedule says.
        for cable in &w.cables {
            let n = rows.iter().filter(|r| r[2] == cable.tag).count();
            assert_eq!(n, cable.used as usize, "{name} {}", cable.tag);
            assert!(cable.used <= cable.cores, "{name} {}", cable.tag);
        }
    }
}

/// Everything of a sheet that must keep clear of everything else.
#[derive(Default)]
struct Ink {
    /// What a conductor belongs to, and its ends.
    wires: Vec<(String, [firstfix::model::P2; 2])>,
    labels: Vec<firstfix::model::Rect>,
    symbols: Vec<firstfix::model::Rect>,
}

fn collect(items: &[firstfix::draw::scene::Item], ink: &mut Ink) {
    use firstfix::draw::scene::{Item, Mark, Seg};
    for i in items {
        match i {
            Item::Group(g) => {
                if let Mark::Part { on_paper, .. } = &g.mark {
                    ink.symbols.push(*on_paper);
                }
                collect(&g.items, ink);
            }
            Item::Words(w) => ink.labels.push(w.on_paper()),
            Item::Shape(s) => {
                let Mark::Of(of) = &s.mark else { continue };
                let points: Vec<_> = s
                    .path
                    .iter()
                    .filter_map(|s| match s {
                        Seg::Move(p) | Seg::Line(p) => Some(*p),
                        _ => None,
                    })
                    .collect();
                for p in points.windows(2) {
                    ink.wires.push((of.clone(), [p[0], p[1]]));
                }
            }
        }
    }
}

#[test]
fn no_conductor_runs_through_a_label_or_a_symbol_and_no_label_over_another() {
    use firstfix::draw::{frame, quality, wiring};
    use firstfix::model::Rect;
    let arrangements = all().map(|(n, s)| (n.to_owned(), connect(&s), frame::TitleData::default()));
    let mut faults = Vec::new();
    for (name, w, data) in arrangements.into_iter().chain(examples()) {
        let sheets = wiring::sheets(&w, &data);
        assert_eq!(sheets.is_empty(), w.devices.is_empty(), "{name}");
        for s in sheets {
            let mut ink = Ink::default();
            collect(&s.items, &mut ink);
            for (of, [a, b]) in &ink.wires {
                let strip =
                    Rect::new(a.x.min(b.x), a.y.min(b.y), (a.x - b.x).abs(), (a.y - b.y).abs());
                let wire = strip.grown(0.1);
                for l in &ink.labels {
                    if l.grown(-0.15).overlaps(&wire) {
                        faults.push(format!("{name} {}: {of} through a label at {l:?}", s.key));
                    }
                }
                for r in &ink.symbols {
                    if r.grown(-0.2).overlaps(&wire) {
                        faults.push(format!("{name} {}: {of} through a symbol at {r:?}", s.key));
                    }
                }
            }
            for (i, a) in ink.labels.iter().enumerate() {
                for b in &ink.labels[i + 1..] {
                    if a.grown(-0.1).overlaps(&b.grown(-0.1)) {
                        faults.push(format!("{name} {}: label over label {a:?} {b:?}", s.key));
                    }
                }
            }
            let dressed = frame::dress(s, &data, 1, 1);
            let q = quality::measure(&dressed);
            if q.hard_total > 0 {
                faults.push(format!("{name} {}: {:?}", q.sheet, q.hard));
            }
        }
    }
    assert!(faults.is_empty(), "{} faults\n{}", faults.len(), faults.join("\n"));
}

#[test]
fn tracks_of_the_terminal_diagram_equal_the_density() {
    // An interval set needs as many tracks as its densest column, and the left edge rule needs no
    // more (standard result on interval graphs).
    use firstfix::layout::wiring::members::members;
    use firstfix::layout::wiring::strip::strip;
    use firstfix::layout::wiring::tracks::{crossings, density};
    for (name, s) in all() {
        let w = connect(&s);
        if w.device("X1").is_none() {
            continue;
        }
        let list = members(&w, "X1");
        let plan = strip(&w, "X1", &list, false, 12, 140);
        assert_eq!(plan.depth, plan.density, "{name}");
        let count: usize = [true, false]
            .iter()
            .map(|top| {
                let mine: Vec<_> = plan.tracks.iter().filter(|t| t.top == *top).copied().collect();
                assert_eq!(density(&mine), plan.density[usize::from(!top)]);
                crossings(&mine)
            })
            .sum();
        assert_eq!(count, plan.crossings, "{name}");
        // No two uprights share a column: device pins even, strip pins odd.
        for t in &plan.tracks {
            assert!(t.from % 2 == 0 && (t.cell.is_none() || t.to % 2 != 0), "{name} {t:?}");
        }
        // Every core between a device and the centre has a track, but for the earths of the bus.
        let to_centre = w
            .conductors
            .iter()
            .filter(|c| c.touches("X1") && c.from != "X1:3" && c.to != "X1:3")
            .count();
        let routed = plan.tracks.iter().filter(|t| t.cell.is_some()).count();
        assert_eq!(routed, to_centre, "{name}");
    }
}

#[test]
fn eighteen_zones_are_wired_and_drawn_all_the_same() {
    let mut s = c();
    s.zones = (1..=18).map(|n| zone(&format!("zone {n}"))).collect();
    let w = connect(&s);
    assert!(w.faults().is_empty(), "{:?}", w.faults());
    assert!(w.proofs().iter().all(|p| p.holds));
    let data = firstfix::draw::frame::TitleData::default();
    for s in firstfix::draw::wiring::sheets(&w, &data) {
        let q = firstfix::draw::quality::measure(&firstfix::draw::frame::dress(s, &data, 1, 1));
        assert_eq!(q.hard_total, 0, "{} {:?}", q.sheet, q.hard);
    }
}

/// Every pump of the pipework runs while a valve behind it is open, and the tables show it. What
/// pumps there are is read off the parts, not off the wiring.
#[test]
fn every_pump_is_in_the_tables() {
    for name in ["rook-hall", "badger-lodge", "otter-farm", "mill-row", "swift-house"] {
        let path = format!("{}/examples/{name}.kdl", env!("CARGO_MANIFEST_DIR"));
        let text = std::fs::read_to_string(path).expect("an example");
        let system = firstfix::complete::complete(&firstfix::describe::read(&text).facts).system;
        let w = firstfix::wire::wire(&system);
        let tables = w.state_tables();
        for (_, pump) in system.of_kind("pump") {
            let device = w.devices.iter().find(|d| d.tag.as_ref() == Some(&pump.tag));
            let device = device.unwrap_or_else(|| panic!("{name}: {} is wired nowhere", pump.tag));
            let load = w.loads.iter().find(|l| l.device == device.id).expect("a load");
            let shown = tables.iter().any(|t| {
                let at = t.outputs.iter().position(|o| o.id == load.id);
                at.is_some_and(|k| t.rows.iter().any(|r| r.runs[k]))
            });
            assert!(shown, "{name}: {} runs in no row", pump.tag);
        }
    }
}

/// A hot water call alone moves water through the coil: the heat pump's own pump and, behind a
/// header, the store's.
#[test]
fn a_hot_water_call_runs_the_pump_of_the_coil() {
    for (name, pumps) in
        [("badger-lodge", &["P1"][..]), ("otter-farm", &["P1"]), ("rook-hall", &["P1", "P2"])]
    {
        let w = &examples().into_iter().find(|e| e.0.ends_with(&format!("/{name}.kdl"))).unwrap().1;
        let (columns, rows) = firstfix::draw::wiring::commissioning_rows(w);
        let row = rows.iter().find(|r| r[0].starts_with("hot water calls, alone")).expect("a row");
        for pump in pumps {
            let k =
                columns.iter().position(|c| c.ends_with(&format!(" {pump}"))).expect("a column");
            assert_eq!(row[k], "ON", "{name} {pump}");
        }
    }
}

/// Two stores share one timer: the second one's call, alone, still opens its valve.
#[test]
fn a_shared_timer_is_set_in_the_test_of_each_store() {
    let w = examples().into_iter().find(|e| e.0.ends_with("/gull-hotel.kdl")).unwrap().1;
    let (_, rows) = firstfix::draw::wiring::commissioning_rows(&w);
    let row = rows.iter().find(|r| r[0].starts_with("second store calls, alone")).expect("a row");
    assert!(row.iter().any(|c| c == "ON"), "{row:?}");
    let tripped =
        rows.iter().find(|r| r[0].starts_with("second store") && r[0].contains("TRIPPED"));
    let tripped = tripped.expect("a row");
    assert!(!tripped.iter().any(|c| c == "ON"), "{tripped:?}");
}

/// What a table is told it does not tell.
#[test]
fn no_load_is_both_input_and_output_of_a_table() {
    for (name, w, _) in examples() {
        for t in w.state_tables() {
            let both = t.outputs.iter().find(|o| t.given.iter().any(|g| g.id == o.id));
            assert!(both.is_none(), "{name}: {both:?}");
        }
    }
}

/// The top flat of a riser has no tee on it, and is wired as the others.
#[test]
fn flats_of_one_type_are_wired_alike() {
    let (_, w, _) = examples().into_iter().find(|e| e.0.contains("sandpiper")).expect("flats");
    assert!(w.notes.iter().any(|n| n.contains("wired alike")), "{:?}", w.notes);
    assert!(w.notes.iter().all(|n| !n.contains("Not alike")), "{:?}", w.notes);
}
